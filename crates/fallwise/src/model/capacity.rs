//! What the pipes have to carry, and by which formula that is reckoned.

use alloc::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::error::Error;
use crate::prelude::*;

/// What the pipes have to carry. Nothing of it is guessed: what is missing, the answers name. Roughness belongs to the pipe
/// ([`Pipe::manning_n`](super::Pipe::manning_n), [`Pipe::roughness_m`](super::Pipe::roughness_m)); here stands that of all pipes that give none.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub struct Capacity {
    /// Formula of friction; absent: that for which the pipe gives its roughness.
    pub formula: Option<Formula>,
    /// Manning's n of pipes that give none, s/m^(1/3), the same number in metres and in feet.
    pub manning_n: Option<f64>,
    /// Equivalent sand roughness of pipes that give none, m, for Colebrook and White.
    pub roughness_m: Option<f64>,
    /// Kinematic viscosity of the water, m2/s, for Colebrook and White; absent: 1.31e-6, that of EN 12056-2, water of 10 degrees Celsius.
    pub viscosity_m2_s: Option<f64>,
    /// Flow to carry, m3/s. Either this or `discharge`.
    pub flow_m3_s: Option<f64>,
    /// What discharges into the drain, from which the flow is reckoned by EN 12056-2.
    pub discharge: Option<Discharge>,
    /// How deep the flow may stand, as a share of the bore: 0.5 is half full, 1 full.
    pub filling: Option<f64>,
    /// Velocity at that flow from which the pipe is taken to keep itself clean, m/s.
    pub least_velocity_m_s: Option<f64>,
    /// Mean boundary shear at that flow from which it is, Pa.
    pub least_shear_pa: Option<f64>,
}

/// A formula of friction.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Formula {
    /// Manning's, with one n at all depths.
    Manning,
    /// That of Colebrook and White.
    ColebrookWhite,
}

impl Formula {
    /// As a word.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Manning => "manning",
            Self::ColebrookWhite => "colebrook_white",
        }
    }
}

/// What discharges into the drain (EN 12056-2).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Discharge {
    /// How often what discharges is used.
    pub frequency: Use,
    /// System of the drainage; needed for `fixtures`.
    #[serde(default)]
    pub system: Option<System>,
    /// How many of each fixture, by the names of [`fixtures`](crate::hydraulics::fixtures). Where the document gives a range of discharge units,
    /// the upper end is taken.
    #[serde(default)]
    pub fixtures: BTreeMap<String, u32>,
    /// Discharge units given one by one, m3/s (the document prints litres a second).
    #[serde(default)]
    pub units_m3_s: Vec<f64>,
    /// What flows all the time, m3/s: added as it is.
    #[serde(default)]
    pub continuous_m3_s: Option<f64>,
}

/// System of the drainage, by how full its branches may run (EN 12056-2:2000, 4.2, from memory): I half full, II at 0.7, III full, IV with
/// black and grey water apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum System {
    /// Single stack, branches half full.
    #[serde(alias = "i")]
    I,
    /// Single stack, branches of small bore.
    #[serde(alias = "ii")]
    II,
    /// Single stack, branches full.
    #[serde(alias = "iii")]
    III,
    /// Separate stacks for black and grey water.
    #[serde(alias = "iv")]
    IV,
}

/// How often what discharges is used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Use {
    /// Dwelling, guesthouse, office.
    Intermittent,
    /// Hospital, school, restaurant, hotel.
    Frequent,
    /// Public toilets and showers.
    Congested,
    /// Laboratory.
    Special,
}

impl Use {
    /// The factor K (EN 12056-2:2000, table 3).
    pub fn factor(self) -> f64 {
        match self {
            Self::Intermittent => 0.5,
            Self::Frequent => 0.7,
            Self::Congested => 1.0,
            Self::Special => 1.2,
        }
    }
}

/// More than this of one fixture is a mistake.
const MOST_FIXTURES: u32 = 100_000;

impl Capacity {
    /// Refuses numbers that no drain has.
    ///
    /// # Errors
    /// [`Error::Value`] naming the first that is out of its range, or two that exclude each other.
    pub fn validate(&self) -> Result<(), Error> {
        roughness(self.manning_n, "manning_n", self.roughness_m, "roughness_m")?;
        within(
            "viscosity_m2_s",
            self.viscosity_m2_s,
            1e-8,
            1e-2,
            "a viscosity between 1e-8 and 1e-2 m2/s (water: 1.3e-6)",
        )?;
        within("flow_m3_s", self.flow_m3_s, 1e-9, 1e3, "a flow above 0, up to 1000 m3/s")?;
        within("filling", self.filling, 0.01, 1.0, "a share of the bore between 0.01 and 1")?;
        within("least_velocity_m_s", self.least_velocity_m_s, 0.0, 100.0, "a velocity of 0 to 100 m/s")?;
        within("least_shear_pa", self.least_shear_pa, 0.0, 1e5, "a shear of 0 to 100,000 Pa")?;
        let Some(discharge) = &self.discharge else { return Ok(()) };
        if self.flow_m3_s.is_some() {
            return Err(Error::value("discharge", "given beside a flow", "either `flow` or `discharge`"));
        }
        if let Some(units) = discharge.units_m3_s.iter().find(|units| !(0.0..=1e3).contains(*units)) {
            return Err(Error::value("discharge.units_m3_s", units, "discharge units from 0 up"));
        }
        if let Some((name, count)) = discharge.fixtures.iter().find(|(_, count)| **count > MOST_FIXTURES) {
            return Err(Error::value("discharge.fixtures", format!("{count} of \"{name}\""), "at most 100,000 of one"));
        }
        within("discharge.continuous_m3_s", discharge.continuous_m3_s, 0.0, 1e3, "a flow from 0 up")
    }
}

/// Refuses roughnesses that no pipe has; each with the name it goes by.
pub(crate) fn roughness(n: Option<f64>, n_name: &str, roughness_m: Option<f64>, name: &str) -> Result<(), Error> {
    within(n_name, n, 0.001, 1.0, "Manning's n between 0.001 and 1")?;
    within(name, roughness_m, 0.0, 1.0, "a roughness between 0 and 1 m (1.5 mm is 0.0015)")
}

fn within(field: &str, value: Option<f64>, least: f64, most: f64, expected: &str) -> Result<(), Error> {
    match value.filter(|v| !(least..=most).contains(v)) {
        Some(value) => Err(Error::value(field, value, expected)),
        None => Ok(()),
    }
}
