//! Published roughness of pipes: Manning's n, and the equivalent sand roughness of Colebrook and White.
//!
//! Nothing here chooses a roughness, and nothing takes one from here by itself: the table is for the engineer who chooses one.
//! Where documents disagree, both rows stand.

use serde::Serialize;

use super::mark::{DOCUMENT, MEMORY, PRACTICE, SECONDARY};
use crate::prelude::*;
use crate::{
    error::Error,
    model::Formula::{self, ColebrookWhite, Manning},
};

/// One row of the table of roughness: what a document says of a material.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Roughness {
    /// The material, or "sewer" where the document goes by use alone.
    pub material: &'static str,
    /// Its condition, joints or use; empty where the document says no more than the material.
    pub condition: &'static str,
    /// Which formula the values are for, and with it their unit: Manning's n in s/m^(1/3), the roughness of Colebrook and White
    /// in m.
    pub formula: Formula,
    /// Lower end of a range, or what the document calls good; alone, the least that it allows in design.
    pub low: Option<f64>,
    /// The usual value, or the only one.
    pub usual: Option<f64>,
    /// Upper end of a range, or what the document calls poor.
    pub high: Option<f64>,
    /// The document that gives the values.
    pub source: &'static str,
    /// How sure they are: "seen in the document", "seen in a secondary source", "from memory" or "common practice, no source".
    pub mark: &'static str,
}

const CHOW: &str = "V. T. Chow, Open-Channel Hydraulics (1959), table 5-6";
const BRATER_KING: &str = "E. F. Brater, H. W. King, Handbook of Hydraulics, 6th ed. (1976)";
const WINCHESTER: &str =
    "Winchester, Indiana, code of ordinances, table 4 (values of the Federal Highway Administration)";
const AUSTIN: &str = "Austin, Texas, Drainage Criteria Manual, table 5-2 (storm drains)";
const TEN_STATES: &str = "Recommended Standards for Wastewater Facilities (Ten States Standards), 33.42";
const BURIED_PIPE: &str = "Buried Pipe Design, table 5.1";
const COLLECTION: &str = "a collection of common values that does not name its documents";
const WALLINGFORD: &str =
    "HR Wallingford and D. I. H. Barr, Tables for the Hydraulic Design of Pipes, Sewers and Channels, appendix 1";
const EN_16933: &str = "BS EN 16933-2, national guidance";
const EN_12056: &str = "EN 12056-2:2000, annex B";
const NO_DOCUMENT: &str = "none";
const MEMORY_AND_SECONDARY: &str = "from memory; the same values seen in a secondary source";

/// Lower, usual and upper value.
type Values = [Option<f64>; 3];

const fn usual(value: f64) -> Values {
    [None, Some(value), None]
}

const fn least(value: f64) -> Values {
    [Some(value), None, None]
}

const fn range(low: f64, high: f64) -> Values {
    [Some(low), None, Some(high)]
}

const fn three(low: f64, usual: f64, high: f64) -> Values {
    [Some(low), Some(usual), Some(high)]
}

/// Usual and poor.
const fn from_usual(usual: f64, high: f64) -> Values {
    [None, Some(usual), Some(high)]
}

const fn n(
    material: &'static str,
    condition: &'static str,
    [low, usual, high]: Values,
    source: &'static str,
    mark: &'static str,
) -> Roughness {
    Roughness { material, condition, formula: Manning, low, usual, high, source, mark }
}

/// A row whose values are in micrometres: whole numbers, so that the metres are those of the decimal number.
const fn sand_um(
    material: &'static str,
    condition: &'static str,
    [low, usual, high]: Values,
    source: &'static str,
    mark: &'static str,
) -> Roughness {
    let (low, usual, high) = (metres(low), metres(usual), metres(high));
    Roughness { material, condition, formula: ColebrookWhite, low, usual, high, source, mark }
}

const fn metres(micrometres: Option<f64>) -> Option<f64> {
    match micrometres {
        Some(um) => Some(um / 1e6),
        None => None,
    }
}

const PVC: &str = "PVC";
const POLYETHYLENE: &str = "polyethylene";
const PLASTIC: &str = "plastic";
const CLAY: &str = "vitrified clay";
const CAST_IRON: &str = "cast iron";
const DUCTILE_IRON: &str = "ductile iron";
const WROUGHT_IRON: &str = "wrought iron";
const CONCRETE: &str = "concrete";
const ASBESTOS_CEMENT: &str = "asbestos cement";
const PITCH_FIBRE: &str = "pitch fibre";
const BRICK: &str = "brick";
const SEWER: &str = "sewer";

const SLIMED_SLOW: &str = "slimed sewer, about 0.75 m/s half full";
const SLIMED_FAST: &str = "slimed sewer, about 1.2 m/s half full";

static ROUGHNESSES: [Roughness; 43] = [
    n(PVC, "", usual(0.010), WINCHESTER, DOCUMENT),
    n(PVC, "smooth inside", range(0.009, 0.011), COLLECTION, SECONDARY),
    n(POLYETHYLENE, "", usual(0.011), WINCHESTER, DOCUMENT),
    n(PLASTIC, "smooth wall", least(0.010), AUSTIN, DOCUMENT),
    n(CLAY, "", usual(0.013), WINCHESTER, DOCUMENT),
    n(CLAY, "sewer pipe", three(0.011, 0.014, 0.017), CHOW, MEMORY_AND_SECONDARY),
    n(CLAY, "sewer pipe", range(0.010, 0.017), BRATER_KING, SECONDARY),
    n(CLAY, "sewer pipe", range(0.013, 0.015), COLLECTION, SECONDARY),
    n(CAST_IRON, "", usual(0.013), WINCHESTER, DOCUMENT),
    n(CAST_IRON, "new", usual(0.012), COLLECTION, SECONDARY),
    n(CAST_IRON, "coated", range(0.010, 0.014), BRATER_KING, SECONDARY),
    n(CAST_IRON, "uncoated", range(0.011, 0.015), BRATER_KING, SECONDARY),
    n(DUCTILE_IRON, "new", usual(0.012), COLLECTION, SECONDARY),
    n(CONCRETE, "", usual(0.013), WINCHESTER, DOCUMENT),
    n(CONCRETE, "", least(0.012), AUSTIN, DOCUMENT),
    n(CONCRETE, "", range(0.010, 0.017), BRATER_KING, SECONDARY),
    n(ASBESTOS_CEMENT, "", usual(0.010), BURIED_PIPE, SECONDARY),
    n(ASBESTOS_CEMENT, "", usual(0.011), COLLECTION, SECONDARY),
    n(BRICK, "", usual(0.015), WINCHESTER, DOCUMENT),
    n(PITCH_FIBRE, "bituminised fibre that has kept its shape", range(0.011, 0.013), NO_DOCUMENT, PRACTICE),
    n(SEWER, "coated with slime, with bends", three(0.012, 0.013, 0.016), CHOW, MEMORY_AND_SECONDARY),
    n(SEWER, "for design", usual(0.013), TEN_STATES, MEMORY),
    sand_um(PVC, "unplasticised, cemented joints", usual(30.0), WALLINGFORD, SECONDARY),
    sand_um(PVC, "unplasticised, spigot and socket joints every 6 m to 9 m", usual(60.0), WALLINGFORD, SECONDARY),
    sand_um(PVC, SLIMED_SLOW, from_usual(600.0, 1500.0), WALLINGFORD, MEMORY),
    sand_um(PVC, SLIMED_FAST, from_usual(150.0, 300.0), WALLINGFORD, MEMORY),
    sand_um(CLAY, "sleeve joints", three(30.0, 60.0, 150.0), WALLINGFORD, SECONDARY),
    sand_um(CLAY, "O-ring joints, bore below 150 mm", usual(30.0), WALLINGFORD, SECONDARY),
    sand_um(CLAY, "O-ring joints, bore above 150 mm", usual(60.0), WALLINGFORD, SECONDARY),
    sand_um(CLAY, SLIMED_SLOW, from_usual(1500.0, 3000.0), WALLINGFORD, MEMORY),
    sand_um(CLAY, SLIMED_FAST, from_usual(300.0, 600.0), WALLINGFORD, MEMORY),
    sand_um(CAST_IRON, "coated", three(60.0, 150.0, 300.0), WALLINGFORD, SECONDARY),
    sand_um(CAST_IRON, "uncoated", three(150.0, 300.0, 600.0), WALLINGFORD, SECONDARY),
    sand_um(WROUGHT_IRON, "rusty", three(150.0, 600.0, 3000.0), WALLINGFORD, SECONDARY),
    sand_um(CONCRETE, "precast, O-ring joints", three(60.0, 150.0, 600.0), WALLINGFORD, SECONDARY),
    sand_um(CONCRETE, "spun precast, O-ring joints", three(60.0, 150.0, 300.0), WALLINGFORD, SECONDARY),
    sand_um(CONCRETE, SLIMED_SLOW, from_usual(3000.0, 6000.0), WALLINGFORD, MEMORY),
    sand_um(CONCRETE, SLIMED_FAST, from_usual(1500.0, 3000.0), WALLINGFORD, MEMORY),
    sand_um(PITCH_FIBRE, "the lower value for a full bore", [Some(3.0), Some(30.0), None], WALLINGFORD, SECONDARY),
    sand_um(BRICK, "well pointed", three(1500.0, 3000.0, 6000.0), WALLINGFORD, SECONDARY),
    sand_um(SEWER, "surface water, for design", usual(600.0), EN_16933, MEMORY_AND_SECONDARY),
    sand_um(SEWER, "foul water, for design", usual(1500.0), EN_16933, MEMORY_AND_SECONDARY),
    sand_um(SEWER, "drain of a building, for design", usual(1000.0), EN_12056, MEMORY),
];

/// What documents say of the roughness of pipes, one row a statement. The library chooses none of them.
///
/// No row is for a pipe that is deformed, or that has roots or deposits in it. Values from memory are to be confirmed before
/// anything rests on them.
pub fn roughnesses() -> &'static [Roughness] {
    &ROUGHNESSES
}

/// What documents say of one material, in both formulas.
///
/// # Errors
/// [`Error::Unknown`] for a material that the table does not have, with the nearest that it has.
///
/// # Example
/// ```
/// use fallwise::{hydraulics::roughness_of, model::Formula};
///
/// let clay = roughness_of("vitrified clay")?;
/// let n: Vec<_> = clay.iter().filter(|row| row.formula == Formula::Manning).filter_map(|row| row.usual).collect();
/// assert_eq!(n, [0.013, 0.014]); // two documents that disagree
/// # Ok::<(), fallwise::Error>(())
/// ```
pub fn roughness_of(material: &str) -> Result<Vec<&'static Roughness>, Error> {
    let rows: Vec<_> = ROUGHNESSES.iter().filter(|r| r.material.eq_ignore_ascii_case(material.trim())).collect();
    if rows.is_empty() {
        let mut known: Vec<&str> = vec![];
        for row in &ROUGHNESSES {
            if !known.contains(&row.material) {
                known.push(row.material);
            }
        }
        return Err(Error::unknown("material", material, known));
    }
    Ok(rows)
}
