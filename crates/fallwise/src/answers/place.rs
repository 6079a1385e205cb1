//! Places on the surface: digs, what they are taped out from, and back from a point to the pipe.

use crate::prelude::*;
use serde::{Deserialize, Serialize};

/// Where a place of the pipe lies, how sure that is, how deep it lies, and whether anybody may dig by it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct DigRow {
    /// Number of the dig, from 1, in the order of the job; 0 of a place that was asked for.
    pub number: usize,
    /// Its name; empty where it has none.
    pub name: String,
    /// What is wanted there, in the words of the job.
    pub wanted: String,
    /// Station, m.
    pub station_m: f64,
    /// Standard deviation of the station, m; it is in every figure beside it.
    pub station_sd_m: f64,
    /// Whether nobody may dig by it.
    pub refused: bool,
    /// Why, in words for tables: `no_plan`, `too_wide`, `no_tie`, `no_depth`, `not_surveyed`, `not_seen`, `contradicted`,
    /// `not_stated`, with a space between; empty where it is not refused.
    pub reasons: String,
    /// What the sheet says first: not to dig and what is missing, or the shallow end.
    pub sentence: String,
    /// The shallow end: with the confidence asked the top of the pipe is not above this, m below the ground; 0 is the ground. Absent
    /// where the depth is not known, and where it is refused.
    pub expect_from_m: Option<f64>,
    /// From here on it is dug by hand, m below the ground; 0 is the ground. Absent as that.
    pub by_hand_from_m: Option<f64>,
    /// East, m; absent where the plan is not determined.
    pub east_m: Option<f64>,
    /// Standard deviation of east, m.
    pub east_sd_m: Option<f64>,
    /// North, m.
    pub north_m: Option<f64>,
    /// Standard deviation of north, m.
    pub north_sd_m: Option<f64>,
    /// Correlation of the errors of east and north, -1 to 1.
    pub east_north_correlation: Option<f64>,
    /// Longer half axis of the ellipse that holds the place with 95 %, m.
    pub ellipse_major_m: Option<f64>,
    /// Its shorter half axis, m.
    pub ellipse_minor_m: Option<f64>,
    /// Azimuth of its longer axis, rad, from 0 to below π.
    pub ellipse_azimuth_rad: Option<f64>,
    /// Half of the 95 % interval across the pipe, m.
    pub across_m: Option<f64>,
    /// Half of the 95 % interval along the pipe, m.
    pub along_m: Option<f64>,
    /// Longitude, rad, WGS 84; absent where the job has no origin.
    pub longitude_rad: Option<f64>,
    /// Latitude, rad.
    pub latitude_rad: Option<f64>,
    /// Azimuth of the pipe looking along growing station, rad.
    pub azimuth_rad: Option<f64>,
    /// Elevation of the invert, m.
    pub elevation_m: Option<f64>,
    /// Its standard deviation, m.
    pub elevation_sd_m: Option<f64>,
    /// Low end of its interval, m.
    pub elevation_low_m: Option<f64>,
    /// High end of its interval, m.
    pub elevation_high_m: Option<f64>,
    /// Elevation of the ground, m.
    pub ground_m: Option<f64>,
    /// Its standard deviation, m.
    pub ground_sd_m: Option<f64>,
    /// Ground to the invert, m.
    pub depth_m: Option<f64>,
    /// Its standard deviation, m.
    pub depth_sd_m: Option<f64>,
    /// Low end of its interval, m.
    pub depth_low_m: Option<f64>,
    /// High end of its interval, m.
    pub depth_high_m: Option<f64>,
    /// Ground to the crown, the inside top of the pipe, m.
    pub crown_m: Option<f64>,
    /// Its standard deviation, m.
    pub crown_sd_m: Option<f64>,
    /// Low end of its interval, m.
    pub crown_low_m: Option<f64>,
    /// High end of its interval, m.
    pub crown_high_m: Option<f64>,
    /// Ground to the outside top of the pipe, m; to the crown where the job gives no wall.
    pub cover_m: Option<f64>,
    /// Its standard deviation, m.
    pub cover_sd_m: Option<f64>,
    /// Low end of its two-sided interval, m.
    pub cover_low_m: Option<f64>,
    /// High end of it, m.
    pub cover_high_m: Option<f64>,
    /// The nearest place that was measured from the surface: its number among the ties, from 1; 0 where a run starts. Absent where
    /// there is none.
    pub tie_number: Option<usize>,
    /// What it is called; empty where there is none.
    pub tie_name: String,
    /// How far it is along the pipe, m.
    pub tie_away_m: Option<f64>,
    /// The first of the two landmarks that it is best taped out from; empty where no two can be used.
    pub first_landmark: String,
    /// The second.
    pub second_landmark: String,
    /// Distance from the first, m.
    pub from_first_m: Option<f64>,
    /// Standard deviation of that, m, with those of the place and of the landmark.
    pub from_first_sd_m: Option<f64>,
    /// Distance from the second, m.
    pub from_second_m: Option<f64>,
    /// Standard deviation of that, m.
    pub from_second_sd_m: Option<f64>,
    /// Along the line from the first landmark to the second, m; negative before the first.
    pub tape_along_m: Option<f64>,
    /// Square off that line to the right, m; negative to the left.
    pub tape_right_m: Option<f64>,
    /// How far the peg may stand from where the figures put the place, m, by the errors of landmarks and tapes alone: one standard
    /// deviation.
    pub set_out_sd_m: Option<f64>,
    /// How it is taped out, in one sentence; empty where there is no plan or there are no landmarks to use.
    pub setting_out: String,
}

/// How far a dig is from a landmark.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct TapeRow {
    /// Number of the dig, from 1; 0 of a place that was asked for.
    pub dig: usize,
    /// The landmark.
    pub landmark: String,
    /// East of the landmark, m.
    pub east_m: f64,
    /// North of the landmark, m.
    pub north_m: f64,
    /// Level distance from the landmark to the place, m.
    pub distance_m: f64,
    /// Its standard deviation, m, with those of the place and of the landmark.
    pub distance_sd_m: f64,
    /// Azimuth from the landmark to the place, rad.
    pub azimuth_rad: f64,
}

/// The place of the pipe that is nearest to a point on the surface.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct NearestRow {
    /// Station, m.
    pub station_m: f64,
    /// Its standard deviation, m; absent beyond an end, where it is that of the end itself. The point asked for has no error.
    pub station_sd_m: Option<f64>,
    /// East there, m.
    pub east_m: f64,
    /// North there, m.
    pub north_m: f64,
    /// How far the point lies from there, m.
    pub away_m: f64,
    /// Square off the pipe to the right looking along growing station, m; negative to the left.
    pub right_m: f64,
    /// Its standard deviation, m: that of the place across the pipe. Absent where the plan has no error that is known.
    pub right_sd_m: Option<f64>,
    /// How far the point lies beyond the end that is nearest, along the pipe's direction there, m: positive past the last station,
    /// negative before the first; 0 where it lies beside the pipe.
    pub beyond_m: f64,
    /// One plain sentence.
    pub sentence: String,
}
