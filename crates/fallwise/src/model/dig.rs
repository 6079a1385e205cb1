//! Where somebody means to dig, and what is seen on the surface that a place can be taped out from.

use serde::{Deserialize, Serialize};

use super::Place;
use crate::error::Error;
use crate::prelude::*;

/// Something on the surface that does not move and can be found again: the corner of a house, a post, a cover.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Landmark {
    /// What it is, so that somebody finds it. No two have the same.
    pub name: String,
    /// East, m, in the job's local axes.
    pub east_m: f64,
    /// North, m.
    pub north_m: f64,
    /// Standard deviation of each of the two, m. Default [`Landmark::SD_M`].
    #[serde(default = "Landmark::default_sd_m")]
    pub sd_m: f64,
}

impl Landmark {
    /// Default standard deviation of a landmark, m: a tape held to a corner (our choice).
    pub const SD_M: f64 = 0.05;

    /// A landmark known as well as is usual.
    pub fn new(name: impl Into<String>, east_m: f64, north_m: f64) -> Self {
        Self { name: name.into(), east_m, north_m, sd_m: Self::SD_M }
    }

    fn default_sd_m() -> f64 {
        Self::SD_M
    }
}

/// A dig that somebody plans. It becomes one sheet, which may say that nobody may dig by it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Dig {
    /// Station, m, in the lateral's stationing.
    pub station_m: f64,
    /// Standard deviation of the station, m: how well what is looked for belongs to it. Default [`Place::SD_M`].
    #[serde(default = "Dig::default_station_sd_m")]
    pub station_sd_m: f64,
    /// Name; empty: where it is.
    #[serde(default)]
    pub name: String,
    /// What is wanted there, in plain words.
    #[serde(default)]
    pub wanted: String,
}

impl Dig {
    /// A dig at a station had from the counter, as well as is usual.
    pub fn new(station_m: f64) -> Self {
        Self { station_m, station_sd_m: Place::SD_M, name: String::new(), wanted: String::new() }
    }

    fn default_station_sd_m() -> f64 {
        Place::SD_M
    }
}

/// Choices of a dig sheet. Every default is our choice.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub struct DigOptions {
    /// Most that half of the 95 % interval across the pipe may be, m. Default 0.5 m.
    pub across_m: f64,
    /// A place measured from the surface must lie within this along the pipe, m. Default 3 m.
    pub tie_within_m: f64,
    /// One-sided probability that the top of the pipe is not above the shallow end. Default 0.99.
    pub confidence: f64,
    /// How much before the shallow end it is dug by hand, m. Default 0.3 m.
    pub margin_m: f64,
}

impl Default for DigOptions {
    fn default() -> Self {
        Self { across_m: 0.5, tie_within_m: 3.0, confidence: 0.99, margin_m: 0.3 }
    }
}

impl DigOptions {
    /// Refuses a number that cannot be.
    ///
    /// # Errors
    /// [`Error::Value`] naming the first.
    pub fn validate(&self) -> Result<(), Error> {
        let sizes = [("across_m", self.across_m), ("tie_within_m", self.tie_within_m), ("margin_m", self.margin_m)];
        for (field, size) in sizes {
            if !(size.is_finite() && size >= 0.0) {
                return Err(Error::value(field, size, "a number, 0 or more"));
            }
        }
        if !(self.confidence > 0.5 && self.confidence < 1.0) {
            return Err(Error::value("confidence", self.confidence, "above 0.5 and below 1"));
        }
        Ok(())
    }
}
