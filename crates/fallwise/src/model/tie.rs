//! What is known independently of the run: levels, distances, located points, water, checks of the head.
//!
//! Each tie has its own standard deviation, and its own way to be wrong. What has a standard deviation of 0 holds exactly.
//!
//! | tie | how it goes wrong |
//! | --- | --- |
//! | invert | the staff stood on debris or on the benching, not on the flow line; another datum |
//! | plan position | the locator showed a neighbouring pipe or cable; a coordinate of another system |
//! | azimuth | a compass beside iron or a live cable; magnetic north taken for grid north |
//! | located depth | the locator gives the depth of the transmitter, not of the invert, and in steel, beside cables or at a bend too much or too little; its error grows with depth |
//! | height difference | the same staff, but two datums; a turning point that moved |
//! | length | taped over ground that is not level; taped to the chamber's wall rather than to its centre |
//! | reversal check | the head rolled between the two readings; the surface moved |
//! | level check | the surface was not level: a spirit level is good to some hundredths of a degree |
//! | water level | the water moved, or it was two pools with a sill between; foam or grease at the edge; an edge seen ahead of the lens |
//! | water depth | depth read beside the head, which lifts the water, or off the middle of the pipe |

use serde::{Deserialize, Serialize};

use core::f64::consts::FRAC_PI_2;

use super::TiltPositive;
use crate::error::Error;
use crate::prelude::*;

/// Coordinates and elevations lie within this, m: beyond it a double no longer holds a micrometre.
const FAR_M: f64 = 1e9;

/// Something known independently of the run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Tie {
    /// Name for tables and messages; empty: what it is and where.
    #[serde(default)]
    pub name: String,
    /// What is known.
    pub known: Known,
}

/// Where in the lateral something was measured.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Place {
    /// Station, m.
    pub station_m: f64,
    /// Standard deviation of the station, m: how well the place belongs to it. Default [`Place::SD_M`].
    #[serde(default = "Place::default_sd_m")]
    pub sd_m: f64,
    /// Whether the station was taped rather than had from the counter: then it is a true distance from the start of the first
    /// run, does not move with the counter's scale, and so says something of it.
    #[serde(default)]
    pub taped: bool,
}

/// What is known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
#[non_exhaustive]
pub enum Known {
    /// Elevation of the invert, levelled.
    Invert {
        /// Where.
        at: Place,
        /// Elevation, m, in the job's datum.
        elevation_m: f64,
        /// Standard deviation, m.
        sd_m: f64,
    },
    /// Position in plan, such as a located point.
    Plan {
        /// Where.
        at: Place,
        /// East, m.
        east_m: f64,
        /// North, m.
        north_m: f64,
        /// Standard deviation of each of the two, m.
        sd_m: f64,
    },
    /// Direction of the pipe in plan.
    Azimuth {
        /// Where.
        at: Place,
        /// Azimuth along growing station, rad, clockwise from grid north.
        azimuth_rad: f64,
        /// Standard deviation, rad.
        sd_rad: f64,
    },
    /// Depth that a locator shows under known ground, of a transmitter behind the head.
    Depth {
        /// Station of the *head* when the depth was taken.
        at: Place,
        /// Depth below the ground, m.
        depth_m: f64,
        /// Standard deviation of that, m; absent: [`depth_sd_m`].
        #[serde(default)]
        sd_m: Option<f64>,
        /// Elevation of the ground there, m; absent: from the job's ground.
        #[serde(default)]
        ground_m: Option<f64>,
        /// Standard deviation of the ground, m; absent: that of the job's ground, else 0.
        #[serde(default)]
        ground_sd_m: Option<f64>,
        /// How far behind the head's station the transmitter is, along the cable, m, seen the way the *first* run went: negative where the
        /// depth was taken in a run the other way.
        #[serde(default)]
        behind_m: f64,
        /// How high above the invert the transmitter lies, m. Default 0.05 m, the axis of a 100 mm pipe.
        #[serde(default = "default_above_m")]
        above_m: f64,
    },
    /// How much higher the invert is at one place than at another.
    HeightDifference {
        /// From here.
        from: Place,
        /// To here.
        to: Place,
        /// Rise from the first to the second, m; negative where it falls.
        rise_m: f64,
        /// Standard deviation, m.
        sd_m: f64,
    },
    /// True length of the pipe between two stations of the counter.
    Length {
        /// From here, m.
        from_m: f64,
        /// To here, m.
        to_m: f64,
        /// True length, m.
        length_m: f64,
        /// Standard deviation, m.
        sd_m: f64,
    },
    /// Zero error of the head by reversal: two readings on one steady spot, the second turned end for end.
    ReversalCheck(ReversalCheck),
    /// Zero error of the head on a surface whose tilt is known.
    LevelCheck {
        /// What the head read, rad.
        reading_rad: f64,
        /// Tilt of the surface the way the head looked, rad, positive down. 0: level.
        #[serde(default)]
        surface_rad: f64,
        /// Standard deviation of the two together, rad.
        sd_rad: f64,
        /// What the head shows as positive; absent: as in the runs.
        #[serde(default)]
        tilt_positive: Option<TiltPositive>,
    },
    /// The two edges of one still pool: they are at one height. Never that the pool is full.
    WaterLevel {
        /// One edge.
        from: Place,
        /// The other.
        to: Place,
        /// Standard deviation of the level at each edge, m (film, meniscus); absent: by how it was seen.
        #[serde(default)]
        level_sd_m: Option<f64>,
        /// How the edges were seen.
        #[serde(default)]
        seen: Seen,
        /// Use it although the job says that water was running.
        #[serde(default)]
        although_running: bool,
    },
    /// Depth of still water at one place, and an edge of the same water.
    WaterDepth {
        /// Where the depth was seen.
        at: Place,
        /// Depth, m, upright.
        depth_m: f64,
        /// Its standard deviation, m.
        sd_m: f64,
        /// An edge of the same water.
        edge: Place,
        /// Standard deviation of the level at the edge, m; absent: by how it was seen.
        #[serde(default)]
        level_sd_m: Option<f64>,
        /// How the edge was seen.
        #[serde(default)]
        seen: Seen,
        /// Use it although the job says that water was running.
        #[serde(default)]
        although_running: bool,
    },
}

/// How the edge of water was seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum Seen {
    /// As the line where water meets the pipe.
    #[default]
    Edge,
    /// As the lens went under or came out: sharper.
    Lens,
}

impl Seen {
    /// Standard deviation of the level at an edge, m: 3 mm for a line seen, 2 mm for the lens (our choice).
    pub fn level_sd_m(self) -> f64 {
        match self {
            Self::Edge => 0.003,
            Self::Lens => 0.002,
        }
    }
}

/// Two readings of the head laid on one steady spot, the second turned end for end: half their sum is the zero error.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ReversalCheck {
    /// First reading, rad, as the head showed it.
    pub first_rad: f64,
    /// Second reading, rad.
    pub second_rad: f64,
    /// Standard deviation of each reading, rad; absent: from the step of the display and how well a head can be laid twice.
    #[serde(default)]
    pub sd_rad: Option<f64>,
    /// What the head shows as positive; absent: as in the runs.
    #[serde(default)]
    pub tilt_positive: Option<TiltPositive>,
}

/// What as-built inverts are for where there is a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum AsBuiltUse {
    /// To be compared with what was measured.
    #[default]
    Compare,
    /// To be used as ties: for drawings that record what was levelled after laying, never for a design.
    Use,
}

impl Place {
    /// Default standard deviation of a station, m: a counter that is read to a tenth of a foot, and a head whose place in the
    /// opening is judged by eye (our choice).
    pub const SD_M: f64 = 0.05;

    /// A place had from the counter, as well as is usual.
    pub fn new(station_m: f64) -> Self {
        Self { station_m, sd_m: Self::SD_M, taped: false }
    }

    /// A place whose station is exact.
    pub fn exact(station_m: f64) -> Self {
        Self { station_m, sd_m: 0.0, taped: false }
    }

    fn default_sd_m() -> f64 {
        Self::SD_M
    }

    fn validate(&self, field: &str) -> Result<(), Error> {
        far(field, self.station_m)?;
        size("station_sd_m", self.sd_m)
    }
}

/// Refuses what is no number, or none that is allowed.
fn number(field: &str, value: f64, allowed: core::ops::RangeInclusive<f64>, expected: &str) -> Result<(), Error> {
    if allowed.contains(&value) { Ok(()) } else { Err(Error::value(field, value, expected)) }
}

/// A coordinate, elevation or the like.
fn far(field: &str, value: f64) -> Result<(), Error> {
    number(field, value, -FAR_M..=FAR_M, "a number within 1e9 of 0")
}

/// A standard deviation of a length.
fn size(field: &str, value: f64) -> Result<(), Error> {
    number(field, value, 0.0..=FAR_M, "a number from 0 to 1e9")
}

fn angle(field: &str, value: f64) -> Result<(), Error> {
    number(field, value, -FRAC_PI_2..=FRAC_PI_2, "an angle within a quarter turn, in rad")
}

fn angle_sd(field: &str, value: f64) -> Result<(), Error> {
    number(field, value, 0.0..=FRAC_PI_2, "0 to a quarter turn, in rad")
}

/// Default standard deviation of a located depth, m: 5 % of the depth (common practice, no source), and not below 50 mm (our
/// choice).
pub fn depth_sd_m(depth_m: f64) -> f64 {
    (0.05 * depth_m.abs()).max(0.05)
}

/// Height of a transmitter above the invert, m.
pub const TRANSMITTER_ABOVE_M: f64 = 0.05;

fn default_above_m() -> f64 {
    TRANSMITTER_ABOVE_M
}

impl Tie {
    /// A tie without a name.
    pub fn new(known: Known) -> Self {
        Self { name: String::new(), known }
    }

    /// What it is, in one word: that of the job's text form.
    pub fn kind(&self) -> &'static str {
        match &self.known {
            Known::Invert { .. } => "invert",
            Known::Plan { .. } => "plan",
            Known::Azimuth { .. } => "azimuth",
            Known::Depth { .. } => "depth",
            Known::HeightDifference { .. } => "height_difference",
            Known::Length { .. } => "length",
            Known::ReversalCheck(_) => "reversal_check",
            Known::LevelCheck { .. } => "level_check",
            Known::WaterLevel { .. } => "water_level",
            Known::WaterDepth { .. } => "water_depth",
        }
    }

    /// Whether it says something of the head rather than of the pipe.
    pub fn is_of_head(&self) -> bool {
        matches!(self.known, Known::ReversalCheck(_) | Known::LevelCheck { .. })
    }

    /// Refuses a number that cannot be.
    ///
    /// # Errors
    /// [`Error::Value`] naming the first.
    pub fn validate(&self) -> Result<(), Error> {
        match &self.known {
            Known::Invert { at, elevation_m, sd_m } => {
                at.validate("station_m")?;
                far("elevation_m", *elevation_m)?;
                size("sd_m", *sd_m)
            }
            Known::Plan { at, east_m, north_m, sd_m } => {
                at.validate("station_m")?;
                far("east_m", *east_m)?;
                far("north_m", *north_m)?;
                size("sd_m", *sd_m)
            }
            Known::Azimuth { at, azimuth_rad, sd_rad } => {
                at.validate("station_m")?;
                let turn = "an azimuth of at most a turn and a half, in rad";
                number("azimuth_rad", *azimuth_rad, -10.0..=10.0, turn)?;
                angle_sd("sd_rad", *sd_rad)
            }
            Known::Depth { at, depth_m, sd_m, ground_m, ground_sd_m, behind_m, above_m } => {
                at.validate("station_m")?;
                number("depth_m", *depth_m, 0.0..=100.0, "a depth of 0 to 100 m")?;
                sd_m.map_or(Ok(()), |sd| size("sd_m", sd))?;
                ground_m.map_or(Ok(()), |ground| far("ground_m", ground))?;
                ground_sd_m.map_or(Ok(()), |sd| size("ground_sd_m", sd))?;
                number("behind_m", *behind_m, -10.0..=10.0, "within 10 m of the head")?;
                number("above_m", *above_m, -10.0..=10.0, "within 10 m of the invert")
            }
            Known::HeightDifference { from, to, rise_m, sd_m } => {
                from.validate("from_m")?;
                to.validate("to_m")?;
                far("rise_m", *rise_m)?;
                size("sd_m", *sd_m)
            }
            Known::Length { from_m, to_m, length_m, sd_m } => {
                far("from_m", *from_m)?;
                far("to_m", *to_m)?;
                far("length_m", *length_m)?;
                if *length_m <= 0.0 || to_m <= from_m {
                    let expected = "a positive length, from the lower station to the higher";
                    return Err(Error::value("length_m", length_m, expected));
                }
                size("sd_m", *sd_m)
            }
            Known::ReversalCheck(check) => {
                angle("first_rad", check.first_rad)?;
                angle("second_rad", check.second_rad)?;
                check.sd_rad.map_or(Ok(()), |sd| angle_sd("sd_rad", sd))
            }
            Known::LevelCheck { reading_rad, surface_rad, sd_rad, .. } => {
                angle("reading_rad", *reading_rad)?;
                angle("surface_rad", *surface_rad)?;
                angle_sd("sd_rad", *sd_rad)
            }
            Known::WaterLevel { from, to, level_sd_m, .. } => {
                from.validate("from_m")?;
                to.validate("to_m")?;
                level_sd_m.map_or(Ok(()), |sd| size("level_sd_m", sd))
            }
            Known::WaterDepth { at, depth_m, sd_m, edge, level_sd_m, .. } => {
                at.validate("station_m")?;
                edge.validate("edge_m")?;
                number("depth_m", *depth_m, 0.0..=10.0, "a depth of 0 to 10 m")?;
                size("sd_m", *sd_m)?;
                level_sd_m.map_or(Ok(()), |sd| size("level_sd_m", sd))
            }
        }
    }

    /// Standard deviations of these stations, m.
    pub(crate) fn station_sds_m(&self) -> [f64; 2] {
        match &self.known {
            Known::Invert { at, .. } | Known::Plan { at, .. } | Known::Azimuth { at, .. } | Known::Depth { at, .. } => {
                [at.sd_m, 0.0]
            }
            Known::HeightDifference { from, to, .. } | Known::WaterLevel { from, to, .. } => [from.sd_m, to.sd_m],
            Known::WaterDepth { at, edge, .. } => [at.sd_m, edge.sd_m],
            Known::Length { .. } | Known::ReversalCheck(_) | Known::LevelCheck { .. } => [0.0; 2],
        }
    }

    /// Stations that it speaks of, m.
    pub fn stations_m(&self) -> (Option<f64>, Option<f64>) {
        match &self.known {
            Known::Invert { at, .. } | Known::Plan { at, .. } | Known::Azimuth { at, .. } | Known::Depth { at, .. } => {
                (Some(at.station_m), None)
            }
            Known::HeightDifference { from, to, .. } | Known::WaterLevel { from, to, .. } => {
                (Some(from.station_m), Some(to.station_m))
            }
            Known::WaterDepth { at, edge, .. } => (Some(at.station_m), Some(edge.station_m)),
            Known::Length { from_m, to_m, .. } => (Some(*from_m), Some(*to_m)),
            Known::ReversalCheck(_) | Known::LevelCheck { .. } => (None, None),
        }
    }
}
