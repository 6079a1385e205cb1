//! Drainage fixture units of the plumbing codes of the United States, and the most of them that a drain may have.
//!
//! The code as adopted locally governs: states and cities amend both codes, and none of that is here. Where the two codes
//! disagree, as on the domestic clothes washer, both values stand. Nothing here goes into what a lateral carries; the count of
//! units is a rule of a code, not hydraulics.

use serde::{Deserialize, Serialize};

use super::mark::{DOCUMENT, MEMORY, SECONDARY};
use crate::prelude::*;
use crate::{
    error::Error,
    model::{Nominal, SizeUnit},
    units::to_gal_per_min,
};

/// A plumbing code of the United States.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum PlumbingCode {
    /// International Plumbing Code.
    Ipc,
    /// Uniform Plumbing Code.
    Upc,
}

impl PlumbingCode {
    /// As a word.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Ipc => "ipc",
            Self::Upc => "upc",
        }
    }
}

/// What one code says of one fixture.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FixtureUnits {
    /// The fixture; WC by the water of one flush, US gallons.
    pub fixture: &'static str,
    /// The code.
    pub code: PlumbingCode,
    /// Drainage fixture units.
    pub units: f64,
    /// The document that gives them.
    pub source: &'static str,
    /// How sure they are: "seen in a secondary source" or "from memory". None was seen in the code itself.
    pub mark: &'static str,
}

const fn ipc(fixture: &'static str, units: f64) -> FixtureUnits {
    const SOURCE: &str = "International Plumbing Code, 2018 and 2021, table 709.1";
    FixtureUnits { fixture, code: PlumbingCode::Ipc, units, source: SOURCE, mark: MEMORY }
}

const fn upc(fixture: &'static str, units: f64) -> FixtureUnits {
    const SOURCE: &str = "Uniform Plumbing Code, table 702.1, private use";
    FixtureUnits { fixture, code: PlumbingCode::Upc, units, source: SOURCE, mark: SECONDARY }
}

const BATHTUB: &str = "bathtub";
const CLOTHES_WASHER: &str = "clothes washer, domestic";
const DISHWASHER: &str = "dishwasher, domestic";
const KITCHEN_SINK: &str = "kitchen sink, domestic";
const LAUNDRY_SINK: &str = "laundry sink";
const LAVATORY: &str = "lavatory";
const WC_PRIVATE: &str = "WC of 1.6 gal, private";

static FIXTURE_UNITS: [FixtureUnits; 25] = [
    upc("bar sink", 1.0),
    ipc(BATHTUB, 2.0),
    upc(BATHTUB, 2.0),
    ipc(CLOTHES_WASHER, 2.0),
    upc(CLOTHES_WASHER, 3.0),
    ipc(DISHWASHER, 2.0),
    upc(DISHWASHER, 2.0),
    ipc(KITCHEN_SINK, 2.0),
    upc(KITCHEN_SINK, 2.0),
    ipc(LAUNDRY_SINK, 2.0),
    upc(LAUNDRY_SINK, 2.0),
    ipc(LAVATORY, 1.0),
    upc(LAVATORY, 1.0),
    ipc("shower up to 5.7 gal/min", 2.0),
    upc("shower", 2.0),
    ipc(WC_PRIVATE, 3.0),
    upc(WC_PRIVATE, 3.0),
    ipc("WC above 1.6 gal, private", 4.0),
    ipc("WC of 1.6 gal, public", 4.0),
    ipc("WC above 1.6 gal, public", 6.0),
    ipc("bathroom group with WC of 1.6 gal", 5.0),
    ipc("bathroom group with WC above 1.6 gal", 6.0),
    ipc("floor drain, 2 in", 2.0),
    ipc("urinal", 4.0),
    ipc("urinal up to 1 gal", 2.0),
];

/// What the codes have fixture units for, one row a fixture and code.
pub fn fixture_units() -> &'static [FixtureUnits] {
    &FIXTURE_UNITS
}

/// Drainage fixture units of a fixture by a code.
///
/// # Errors
/// [`Error::Unknown`] for a name that neither code has here; [`Error::Value`] where only the other has it.
///
/// # Example
/// ```
/// use fallwise::hydraulics::{PlumbingCode, fixture_units_of};
///
/// // The codes disagree.
/// assert_eq!(fixture_units_of("clothes washer, domestic", PlumbingCode::Ipc)?, 2.0);
/// assert_eq!(fixture_units_of("clothes washer, domestic", PlumbingCode::Upc)?, 3.0);
/// # Ok::<(), fallwise::Error>(())
/// ```
pub fn fixture_units_of(fixture: &str, code: PlumbingCode) -> Result<f64, Error> {
    let of_name = || FIXTURE_UNITS.iter().filter(|row| row.fixture.eq_ignore_ascii_case(fixture.trim()));
    if let Some(row) = of_name().find(|row| row.code == code) {
        return Ok(row.units);
    }
    if let Some(row) = of_name().next() {
        let expected = format!("a fixture with units in the table of the {}", code.as_str().to_uppercase());
        return Err(Error::value("fixture", row.fixture, expected));
    }
    let mut known: Vec<&str> = FIXTURE_UNITS.iter().map(|row| row.fixture).collect();
    known.dedup(); // rows of one fixture stand together
    Err(Error::unknown("fixture", fixture, known))
}

/// Units by the size of the outlet, IPC 709.2 (from memory), sizes in inches.
const OUTLETS: [(f64, f64); 6] = [(1.25, 1.0), (1.5, 2.0), (2.0, 3.0), (2.5, 4.0), (3.0, 5.0), (4.0, 6.0)];

/// Drainage fixture units of a fixture that is in no table, by the size of its outlet or trap (IPC 709.2, from memory).
///
/// Outlets below 1 1/4 in count as that. Nothing for a size that the table does not have.
///
/// # Errors
/// [`Error::Value`] for a size that is not in inches, or not above 0.
pub fn outlet_fixture_units(outlet: Nominal) -> Result<Option<f64>, Error> {
    let size = inches("outlet", outlet)?.max(OUTLETS[0].0);
    Ok(OUTLETS.iter().find(|row| row.0 == size).map(|row| row.1))
}

/// Fixture units that 1 US gallon a minute of continuous flow counts for: International Plumbing Code, 709.3 (from memory).
pub const FIXTURE_UNITS_PER_GAL_PER_MIN: f64 = 2.0;

/// Drainage fixture units that a continuous flow counts for, such as of a pump.
///
/// How many go to 1 US gallon a minute differs: [`FIXTURE_UNITS_PER_GAL_PER_MIN`], 2, in the model code; 1 by an amendment
/// (Municipal Code of Chicago, 18-29-709.3).
///
/// # Errors
/// [`Error::Value`] for a flow or a number of units that is negative or not finite.
///
/// # Example
/// ```
/// use fallwise::{hydraulics::{FIXTURE_UNITS_PER_GAL_PER_MIN, continuous_fixture_units}, units::gal_per_min};
///
/// let units = continuous_fixture_units(gal_per_min(10.0), FIXTURE_UNITS_PER_GAL_PER_MIN)?;
/// assert!((units - 20.0).abs() < 1e-12);
/// # Ok::<(), fallwise::Error>(())
/// ```
pub fn continuous_fixture_units(flow_m3_s: f64, units_per_gal_per_min: f64) -> Result<f64, Error> {
    super::require_flow(flow_m3_s)?;
    if !(0.0..=1e6).contains(&units_per_gal_per_min) {
        return Err(Error::value("units_per_gal_per_min", units_per_gal_per_min, "fixture units from 0 up"));
    }
    let units = units_per_gal_per_min * to_gal_per_min(flow_m3_s);
    if units.is_finite() { Ok(units) } else { Err(Error::value("flow_m3_s", flow_m3_s, "a flow in m3/s")) }
}

/// The most fixture units that one code allows a building drain or sewer of one size at one slope.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DrainUnits {
    /// The code.
    pub code: PlumbingCode,
    /// Nominal size of the drain, in inches.
    pub nominal: Nominal,
    /// The slope that heads the column, fall over length.
    pub slope: f64,
    /// The most drainage fixture units.
    pub most_units: u32,
    /// The document that gives them.
    pub source: &'static str,
    /// How sure they are: "seen in the document" or "seen in a secondary source".
    pub mark: &'static str,
}

/// A size in inches, and the most units in the columns of [`SLOPES`].
type Row = (f64, [Option<u32>; 4]);

/// 1/16, 1/8, 1/4 and 1/2 in/ft. Codes write 1 % and 2 % beside the middle two, which are 1.0417 % and 2.0833 %.
const SLOPES: [f64; 4] = [1.0 / 192.0, 1.0 / 96.0, 1.0 / 48.0, 1.0 / 24.0];

const IPC_SOURCE: &str = "International Plumbing Code, 2018, table 710.1(1)";
const IPC_DRAINS: [Row; 12] = [
    (1.25, [None, None, Some(1), Some(1)]),
    (1.5, [None, None, Some(3), Some(3)]),
    (2.0, [None, None, Some(21), Some(26)]),
    (2.5, [None, None, Some(24), Some(31)]),
    (3.0, [None, Some(36), Some(42), Some(50)]),
    (4.0, [None, Some(180), Some(216), Some(250)]),
    (5.0, [None, Some(390), Some(480), Some(575)]),
    (6.0, [None, Some(700), Some(840), Some(1000)]),
    (8.0, [Some(1400), Some(1600), Some(1920), Some(2300)]),
    (10.0, [Some(2500), Some(2900), Some(3500), Some(4200)]),
    (12.0, [Some(3900), Some(4600), Some(5600), Some(6700)]),
    (15.0, [Some(7000), Some(8300), Some(10_000), Some(12_000)]),
];

/// The number of the table is from memory; the row of 1 1/2 in has footnotes that are not here.
const UPC_SOURCE: &str = "Uniform Plumbing Code, table 703.2, horizontal";
const UPC_DRAINS: [Row; 5] = [
    (1.5, [None, None, Some(1), None]),
    (2.0, [None, None, Some(8), None]),
    (2.5, [None, None, Some(14), None]),
    (3.0, [None, None, Some(35), None]),
    (4.0, [None, None, Some(216), None]),
];

/// Least size of a drain that serves a WC, in inches.
const BELOW_WC_IN: f64 = 3.0;

/// The table of a code, sizes ascending, with its source and mark.
fn drains(code: PlumbingCode) -> (&'static [Row], &'static str, &'static str) {
    match code {
        PlumbingCode::Ipc => (&IPC_DRAINS, IPC_SOURCE, DOCUMENT),
        PlumbingCode::Upc => (&UPC_DRAINS, UPC_SOURCE, SECONDARY),
    }
}

/// What the codes allow building drains and sewers, one row a code, size and slope; sizes and slopes ascending.
///
/// The UPC is here for 1/4 in/ft alone, and without the footnotes of its row for 1 1/2 in.
pub fn drain_units() -> Vec<DrainUnits> {
    let mut all = vec![];
    for code in [PlumbingCode::Ipc, PlumbingCode::Upc] {
        let (rows, source, mark) = drains(code);
        for &(size, units) in rows {
            for (slope, units) in SLOPES.into_iter().zip(units) {
                let nominal = Nominal::inches(size);
                all.extend(units.map(|most_units| DrainUnits { code, nominal, slope, most_units, source, mark }));
            }
        }
    }
    all
}

/// The most drainage fixture units that a code allows a building drain or sewer of a size at a slope.
///
/// The column is the steepest that is not steeper than the slope: a pipe at 2.00 % counts as 1/8 in/ft, since 1/4 in/ft is
/// 2.0833 %. Nothing where the table has no figure: a size that it does not have, a slope below its columns, or none for that
/// size there.
///
/// # Errors
/// [`Error::Value`] for a size that is not in inches or not above 0, or a slope that is not finite.
///
/// # Example
/// ```
/// use fallwise::{hydraulics::{PlumbingCode::Ipc, most_fixture_units}, model::Nominal, units::{in_per_ft, percent}};
///
/// let four = Nominal::inches(4.0);
/// assert_eq!(most_fixture_units(four, in_per_ft(0.25), Ipc)?, Some(216));
/// assert_eq!(most_fixture_units(four, percent(2.0), Ipc)?, Some(180)); // a little less than 1/4 in/ft
/// assert_eq!(most_fixture_units(four, in_per_ft(1.0 / 16.0), Ipc)?, None);
/// # Ok::<(), fallwise::Error>(())
/// ```
pub fn most_fixture_units(nominal: Nominal, slope: f64, code: PlumbingCode) -> Result<Option<u32>, Error> {
    let size = inches("nominal", nominal)?;
    let Some(column) = column(slope, code)? else { return Ok(None) };
    Ok(drains(code).0.iter().find(|row| row.0 == size).and_then(|row| row.1[column]))
}

/// The smallest building drain or sewer that a code allows for so many drainage fixture units at a slope.
///
/// One that serves a WC has at least 3 in: by the footnote of the IPC's table, and in the UPC from memory. How many WCs the UPC
/// allows on 3 in is not counted. Nothing where no size of the table will do, or it has none at such a slope (see
/// [`most_fixture_units`]).
///
/// # Errors
/// [`Error::Value`] for units that are negative or not finite, or a slope that is not finite.
///
/// # Example
/// ```
/// use fallwise::{hydraulics::{PlumbingCode::{Ipc, Upc}, drain_for_fixture_units}, model::Nominal, units::in_per_ft};
///
/// let inches = |size| Some(Nominal::inches(size));
/// assert_eq!(drain_for_fixture_units(12.0, in_per_ft(0.25), false, Ipc)?, inches(2.0));
/// assert_eq!(drain_for_fixture_units(12.0, in_per_ft(0.25), true, Ipc)?, inches(3.0)); // a WC
/// assert_eq!(drain_for_fixture_units(12.0, in_per_ft(0.25), false, Upc)?, inches(2.5)); // the codes disagree
/// # Ok::<(), fallwise::Error>(())
/// ```
pub fn drain_for_fixture_units(
    units: f64,
    slope: f64,
    serves_wc: bool,
    code: PlumbingCode,
) -> Result<Option<Nominal>, Error> {
    if !(0.0..f64::INFINITY).contains(&units) {
        return Err(Error::value("units", units, "drainage fixture units from 0 up"));
    }
    let Some(column) = column(slope, code)? else { return Ok(None) };
    let least = if serves_wc { BELOW_WC_IN } else { 0.0 };
    let enough = |row: &&Row| row.0 >= least && row.1[column].is_some_and(|most| f64::from(most) >= units);
    Ok(drains(code).0.iter().find(enough).map(|row| Nominal::inches(row.0)))
}

/// The steepest column of a code that is not steeper than a slope.
fn column(slope: f64, code: PlumbingCode) -> Result<Option<usize>, Error> {
    /// Slopes that were converted from other units are off by some last places; nobody measures so well.
    const LAST_PLACES: f64 = 1e-12;
    if !slope.is_finite() {
        return Err(Error::value("slope", slope, "a slope, fall over length"));
    }
    let rows = drains(code).0;
    let has = |column: usize| rows.iter().any(|row| row.1[column].is_some());
    Ok((0..SLOPES.len()).rev().find(|&c| has(c) && SLOPES[c] * (1.0 - LAST_PLACES) <= slope))
}

/// A nominal size in inches; another is refused, since the codes know no other.
fn inches(field: &str, nominal: Nominal) -> Result<f64, Error> {
    if nominal.unit == SizeUnit::Inch && nominal.size > 0.0 && nominal.size.is_finite() {
        return Ok(nominal.size);
    }
    Err(Error::value(field, nominal, "a nominal size in inches, such as 4 in"))
}
