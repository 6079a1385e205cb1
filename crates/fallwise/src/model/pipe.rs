//! Pipes, their two sizes, and reaches.
//!
//! A pipe has a *bore* (inside, for volumes and flow) and a *nominal size* (a name, for rules); the one is never looked
//! up from the other.

use serde::{Deserialize, Serialize};

use crate::{error::Error, section::Bore};

/// A pipe as laid. Unknown parts stay absent; what needs them is then "not determined".
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Pipe {
    /// Name, such as a standard and class.
    pub name: String,
    /// Inside of the pipe.
    pub bore: Option<Bore>,
    /// Nominal size, for rules.
    pub nominal: Option<Nominal>,
    /// Material, in plain words.
    pub material: Option<String>,
    /// Wall thickness, m.
    pub wall_m: Option<f64>,
    /// Length of one laid piece, m.
    pub stick_m: Option<f64>,
}

/// A nominal size: a name that looks like a number.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Nominal {
    /// The number.
    pub size: f64,
    /// What it counts.
    pub unit: SizeUnit,
}

/// What a nominal size counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum SizeUnit {
    /// Inches, as in "4 in".
    Inch,
    /// DN or millimetres, as in "DN 100".
    Dn,
}

/// A stretch of one bore, material, place and owner.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reach {
    /// Start, m.
    pub from_m: f64,
    /// End, m.
    pub to_m: f64,
    /// Name, such as "under the house".
    #[serde(default)]
    pub name: String,
    /// The pipe.
    #[serde(default)]
    pub pipe: Pipe,
    /// Who owns it.
    #[serde(default)]
    pub owner: Option<String>,
    /// Facts that rules ask for and that hold for this reach only; they go before the job's.
    #[serde(default)]
    pub facts: std::collections::BTreeMap<String, String>,
}

/// One row of the table of standard pipes.
#[derive(Debug, Clone, PartialEq)]
pub struct StandardPipe {
    /// Standard and class as asked for, such as "SDR 35".
    pub class: &'static str,
    /// Size as asked for, such as "4 in".
    pub size: &'static str,
    /// Outside diameter, m.
    pub outside_m: f64,
    /// Wall, m.
    pub wall_m: f64,
    /// Material.
    pub material: &'static str,
    /// The standard.
    pub source: &'static str,
    /// How sure the value is: "published" or "from memory".
    pub mark: &'static str,
}

/// The table of standard pipes.
pub fn standard_pipes() -> &'static [StandardPipe] {
    &[]
}

impl Pipe {
    /// A pipe by standard class and size, such as `("SDR 35", "4 in")`.
    ///
    /// # Errors
    /// [`Error::Unknown`] with the nearest known class or size.
    pub fn standard(class: &str, size: &str) -> Result<Self, Error> {
        let _ = size;
        Err(Error::unknown("pipe", class, []))
    }
}
