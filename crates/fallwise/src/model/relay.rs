//! What may be re-laid, and what that costs.

use serde::{Deserialize, Serialize};

use crate::error::Error;
use crate::prelude::*;

/// What a plan of re-laying is asked for: limits, costs, and how the trench is dug. Absent in a job: no plan is made.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub struct RelayChoice {
    /// Least slope asked for; absent: that of the rulebook for each reach.
    pub min_slope: Option<f64>,
    /// Probability with which each piece, kept or new, falls as asked, from 0.5 to below 1. Default 0.95.
    pub confidence: f64,
    /// Over what the slope of pipe that stays is measured.
    pub kept: KeptOver,
    /// Least length of a trench, m.
    pub min_length_m: f64,
    /// Greatest length of a trench, m.
    pub max_length_m: Option<f64>,
    /// What it costs.
    pub costs: RelayCosts,
    /// What comes on top by surface.
    pub surfaces: Vec<RelaySurface>,
    /// Stretches that must not be dug.
    pub keep_out: Vec<KeepOut>,
    /// Connections that a new pipe may pass below; all others keep their inverts.
    pub connections: Vec<MovableConnection>,
    /// Width of the trench at its bottom, m; absent: no volume is given.
    pub width_m: Option<f64>,
    /// How far each side of the trench goes out for each metre up; 0: vertical.
    pub batter: f64,
    /// Bedding below the pipe, m. Default 0.1 m, our choice.
    pub bedding_m: f64,
}

impl Default for RelayChoice {
    fn default() -> Self {
        Self {
            min_slope: None,
            confidence: 0.95,
            kept: KeptOver::default(),
            min_length_m: 0.0,
            max_length_m: None,
            costs: RelayCosts::default(),
            surfaces: Vec::new(),
            keep_out: Vec::new(),
            connections: Vec::new(),
            width_m: None,
            batter: 0.0,
            bedding_m: 0.1,
        }
    }
}

/// Over what the slope of pipe that stays is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum KeptOver {
    /// Between neighbouring joints: under this measure a belly has to go.
    #[default]
    Piece,
    /// The mean of each reach; between joints it must only not run backwards.
    Reach,
}

/// What re-laying costs, in any money.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub struct RelayCosts {
    /// What the money is called, such as `USD`.
    pub currency: String,
    /// For each trench: setting up, two cuts, two couplings.
    pub per_trench: f64,
    /// For each metre of trench.
    pub per_m: f64,
    /// For each metre of trench and each metre of its depth.
    pub per_m_depth: f64,
}

/// What a surface adds to the costs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct RelaySurface {
    /// What it is, such as `lawn`.
    #[serde(default)]
    pub name: String,
    /// Start, m.
    pub from_m: f64,
    /// End, m.
    pub to_m: f64,
    /// For each metre of trench, such as reinstating it.
    #[serde(default)]
    pub per_m: f64,
    /// For each metre of trench and each metre of its depth.
    #[serde(default)]
    pub per_m_depth: f64,
}

/// A stretch that must not be dug.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct KeepOut {
    /// Start, m.
    pub from_m: f64,
    /// End, m.
    pub to_m: f64,
    /// Why, such as `below the house`.
    #[serde(default)]
    pub reason: String,
}

/// A connection that the new pipe may pass below.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct MovableConnection {
    /// Station of the connection, m, as noted among the features.
    pub station_m: f64,
    /// How far its invert lies above that of the pipe now, m, less the drop that it needs; 0: the new pipe may lie lower but not higher.
    #[serde(default)]
    pub above_m: f64,
}

/// Beyond this no station or length is a drain's, m.
const FAR_M: f64 = 1e6;
/// Most that anything costs, in any money.
const MOST_COST: f64 = 1e12;

impl RelayChoice {
    /// Refuses numbers that cannot be.
    ///
    /// # Errors
    /// [`Error::Value`] with the field; [`Error::Overlap`] for surfaces that do.
    pub fn validate(&self) -> Result<(), Error> {
        let within =
            |field: &str, value: Option<f64>, range: core::ops::RangeInclusive<f64>, expected: &str| match value
                .filter(|value| !range.contains(value))
            {
                Some(value) => Err(Error::value(field, value, expected)),
                None => Ok(()),
            };
        within("relay.min_slope", self.min_slope, 0.0..=1.0, "a slope from 0 to 1")?;
        if !(0.5..1.0).contains(&self.confidence) {
            return Err(Error::value("relay.confidence", self.confidence, "a probability from 0.5 to below 1"));
        }
        within("relay.min_length_m", Some(self.min_length_m), 0.0..=FAR_M, "a length from 0 up, m")?;
        let longer = "a length above 0 and not below min_length_m, m";
        within("relay.max_length_m", self.max_length_m, self.min_length_m.max(1e-3)..=FAR_M, longer)?;
        within("relay.width_m", self.width_m, 1e-3..=1000.0, "a width above 0 and up to 1000 m")?;
        within("relay.batter", Some(self.batter), 0.0..=1000.0, "length out over length up, from 0 to 1000")?;
        within("relay.bedding_m", Some(self.bedding_m), 0.0..=10.0, "a thickness from 0 to 10 m")?;
        let cost = "a cost from 0 to 1e12";
        within("relay.costs.per_trench", Some(self.costs.per_trench), 0.0..=MOST_COST, cost)?;
        within("relay.costs.per_m", Some(self.costs.per_m), 0.0..=MOST_COST, cost)?;
        within("relay.costs.per_m_depth", Some(self.costs.per_m_depth), 0.0..=MOST_COST, cost)?;
        for (i, s) in self.surfaces.iter().enumerate() {
            in_order("relay.surfaces", i, s.from_m, s.to_m)?;
            for (field, value) in [("relay.surfaces.per_m", s.per_m), ("relay.surfaces.per_m_depth", s.per_m_depth)] {
                if !(0.0..=MOST_COST).contains(&value) {
                    return Err(Error::at(field, i, value, cost));
                }
            }
        }
        let mut ordered: Vec<&RelaySurface> = self.surfaces.iter().collect();
        ordered.sort_by(|a, b| a.from_m.total_cmp(&b.from_m));
        if let Some((a, b)) = ordered.iter().zip(ordered.iter().skip(1)).find(|(a, b)| b.from_m < a.to_m) {
            return Err(Error::Overlap {
                what: "relay.surfaces".to_owned(),
                first_m: a.from_m,
                second_m: b.from_m,
                expected: "each station below one surface at most".to_owned(),
            });
        }
        for (i, k) in self.keep_out.iter().enumerate() {
            in_order("relay.keep_out", i, k.from_m, k.to_m)?;
        }
        for (i, c) in self.connections.iter().enumerate() {
            if c.station_m.is_nan() || c.station_m.abs() > FAR_M {
                return Err(Error::at("relay.connections.station_m", i, c.station_m, "a station, m"));
            }
            if !(0.0..=10.0).contains(&c.above_m) {
                return Err(Error::at("relay.connections.above_m", i, c.above_m, "a height from 0 to 10 m"));
            }
        }
        Ok(())
    }
}

fn in_order(field: &str, i: usize, from_m: f64, to_m: f64) -> Result<(), Error> {
    if from_m.abs() <= FAR_M && to_m.abs() <= FAR_M && from_m < to_m {
        return Ok(());
    }
    Err(Error::at(field, i, format!("{from_m} to {to_m} m"), "from_m below to_m"))
}
