//! Design flow of waste water from what discharges into a drain, by EN 12056-2.

use serde::Serialize;

use crate::prelude::*;
use crate::{
    error::Error,
    model::{Discharge, System, Use},
};

/// What discharges.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Fixture {
    /// Its name.
    pub name: &'static str,
    /// Discharge units, l/s, in systems I to IV; absent where none is given or it is not permitted, two where the document gives a range.
    pub units_l_s: [Option<(f64, f64)>; 4],
}

#[expect(clippy::unnecessary_wraps, reason = "as the rows of the table have it")]
const fn one(x: f64) -> Option<(f64, f64)> {
    Some((x, x))
}

const fn row(name: &'static str, units_l_s: [Option<(f64, f64)>; 4]) -> Fixture {
    Fixture { name, units_l_s }
}

/// EN 12056-2:2000, table 2 (values seen in a copy of the standard).
const FIXTURES: [Fixture; 19] = [
    row("wash basin", [one(0.5), one(0.3), one(0.3), one(0.3)]),
    row("bidet", [one(0.5), one(0.3), one(0.3), one(0.3)]),
    row("shower without plug", [one(0.6), one(0.4), one(0.4), one(0.4)]),
    row("shower with plug", [one(0.8), one(0.5), one(1.3), one(0.5)]),
    row("urinal with cistern", [one(0.8), one(0.5), one(0.4), one(0.5)]),
    row("urinal with flushing valve", [one(0.5), one(0.3), None, one(0.3)]),
    row("slab urinal, per person", [one(0.2), one(0.2), one(0.2), one(0.2)]),
    row("bath", [one(0.8), one(0.6), one(1.3), one(0.5)]),
    row("kitchen sink", [one(0.8), one(0.6), one(1.3), one(0.5)]),
    row("dishwasher", [one(0.8), one(0.6), one(0.2), one(0.5)]),
    row("washing machine up to 6 kg", [one(0.8), one(0.6), one(0.6), one(0.5)]),
    row("washing machine up to 12 kg", [one(1.5), one(1.2), one(1.2), one(1.0)]),
    row("WC with 4.0 l cistern", [None, one(1.8), None, None]),
    row("WC with 6.0 l cistern", [one(2.0), one(1.8), Some((1.2, 1.7)), one(2.0)]),
    row("WC with 7.5 l cistern", [one(2.0), one(1.8), Some((1.4, 1.8)), one(2.0)]),
    row("WC with 9.0 l cistern", [one(2.5), one(2.0), Some((1.6, 2.0)), one(2.5)]),
    row("floor gully DN 50", [one(0.8), one(0.9), None, one(0.6)]),
    row("floor gully DN 70", [one(1.5), one(0.9), None, one(1.0)]),
    row("floor gully DN 100", [one(2.0), one(1.2), None, one(1.3)]),
];

/// What the document has discharge units for.
pub fn fixtures() -> &'static [Fixture] {
    &FIXTURES
}

/// Discharge units of a fixture in a system, l/s: the lower and the upper value, which are one but where the document gives a range.
///
/// # Errors
/// [`Error::Unknown`] for a name that the document does not have; [`Error::Value`] where it has none for that system.
pub fn discharge_unit_l_s(name: &str, system: System) -> Result<(f64, f64), Error> {
    let Some(fixture) = FIXTURES.iter().find(|f| f.name.eq_ignore_ascii_case(name.trim())) else {
        return Err(Error::unknown("fixture", name, FIXTURES.iter().map(|f| f.name)));
    };
    fixture.units_l_s[system as usize].ok_or_else(|| {
        let system = ["I", "II", "III", "IV"][system as usize];
        Error::value(
            "fixture",
            fixture.name,
            format!("a fixture that EN 12056-2 has a discharge unit for in system {system}"),
        )
    })
}

/// Flow of waste water that a drain is designed for, m3/s: K times the root of the sum of the discharge units, but never less than the
/// largest of them (EN 12056-2:2000, 6.3).
///
/// # Errors
/// [`Error::Value`] for no units, or one that is negative or not finite.
///
/// # Example
/// One dwelling in system I: a WC of 6 l, a basin, a bath, a sink and a washing machine. The WC alone governs.
/// ```
/// use fallwise::hydraulics::{Use, waste_water_flow_m3_s};
///
/// let flow = waste_water_flow_m3_s(&[2.0, 0.5, 0.8, 0.8, 0.8], Use::Intermittent)?;
/// assert_eq!(flow, 0.002);
/// # Ok::<(), fallwise::Error>(())
/// ```
pub fn waste_water_flow_m3_s(units_l_s: &[f64], used: Use) -> Result<f64, Error> {
    if units_l_s.is_empty() {
        return Err(Error::value("units_l_s", "none", "at least one discharge unit"));
    }
    for (i, unit) in units_l_s.iter().enumerate() {
        if !(0.0..=1e6).contains(unit) {
            return Err(Error::at("units_l_s", i, unit, "a discharge unit from 0 up, l/s"));
        }
    }
    let sum = crate::math::sum(units_l_s);
    let largest = units_l_s.iter().copied().fold(0.0, f64::max);
    Ok(0.001 * (used.factor() * sum.sqrt()).max(largest))
}

/// The flow that a drain is designed for by EN 12056-2, m3/s: waste water by [`waste_water_flow_m3_s`], and what flows all the time added.
///
/// # Errors
/// [`Error::Unknown`] for a fixture that the document does not have; [`Error::Value`] for fixtures without a system or with no discharge unit in
/// it, or nothing that discharges.
///
/// # Example
/// ```
/// use fallwise::{hydraulics::design_flow_m3_s, model::{Discharge, System, Use}};
///
/// let fixtures = [("WC with 6.0 l cistern", 16), ("wash basin", 16), ("bath", 16), ("kitchen sink", 16), ("washing machine up to 6 kg", 16)];
/// let discharge = Discharge {
///     frequency: Use::Intermittent,
///     system: Some(System::I),
///     fixtures: fixtures.map(|(name, count)| (name.to_owned(), count)).into(),
///     units_m3_s: vec![],
///     continuous_m3_s: None,
/// };
/// assert!((design_flow_m3_s(&discharge)? - 0.004427).abs() < 1e-6); // sixteen dwellings
/// # Ok::<(), fallwise::Error>(())
/// ```
pub fn design_flow_m3_s(discharge: &Discharge) -> Result<f64, Error> {
    Ok(design_flow(discharge)?.flow_m3_s)
}

/// A design flow, and how it comes about.
#[derive(Debug, Clone, Copy)]
pub(crate) struct DesignFlow {
    pub(crate) flow_m3_s: f64,
    /// Sum of the discharge units, m3/s.
    pub(crate) sum_m3_s: f64,
    /// The largest unit is more than K times the root of the sum.
    pub(crate) largest_governs: bool,
}

/// See [`design_flow_m3_s`].
pub(crate) fn design_flow(discharge: &Discharge) -> Result<DesignFlow, Error> {
    let (mut sum, mut largest) = (0.0, 0.0_f64);
    let mut add = |units_l_s: f64, count: f64| {
        if count > 0.0 {
            sum += count * units_l_s;
            largest = largest.max(units_l_s);
        }
    };
    for (name, &count) in &discharge.fixtures {
        let Some(system) = discharge.system else {
            return Err(Error::value("discharge.system", "nothing", "the system, I to IV, where fixtures are given"));
        };
        add(discharge_unit_l_s(name, system).map_err(|e| named(e, name))?.1, f64::from(count));
    }
    discharge.units_m3_s.iter().for_each(|units| add(1000.0 * units, 1.0));
    let continuous = discharge.continuous_m3_s.unwrap_or(0.0);
    let by_sum = discharge.frequency.factor() * sum.sqrt();
    let flow_m3_s = 0.001 * by_sum.max(largest) + continuous;
    if flow_m3_s > 0.0 && flow_m3_s.is_finite() {
        return Ok(DesignFlow { flow_m3_s, sum_m3_s: 0.001 * sum, largest_governs: largest > by_sum });
    }
    Err(Error::value("discharge", "nothing that discharges", "fixtures, discharge units or a continuous flow"))
}

/// The error of a fixture with its place in the job.
fn named(error: Error, name: &str) -> Error {
    match error {
        Error::Value { expected, .. } => Error::value("discharge.fixtures", name, expected),
        other => other,
    }
}
