//! Rows of what the pipe carries.

use crate::prelude::*;
use serde::{Deserialize, Serialize};

/// What the lateral carries, as a whole.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CarryingRow {
    /// Flow to carry, m3/s; absent where the job gives none.
    pub flow_m3_s: Option<f64>,
    /// Where it comes from: `given`, `discharge_units`, or empty.
    pub flow_from: String,
    /// How deep the flow may stand, as a share of the bore; absent where the job does not say.
    pub filling: Option<f64>,
    /// `carries`, `does_not_carry`, `not_decided` or `input_missing`, by the joint probability over the reaches.
    pub verdict: String,
    /// Probability that every piece of every reach carries the flow in uniform flow; absent without draws or where input is missing.
    pub probability: Option<f64>,
    /// The reach that carries least, by its number in the job, from 1; one that is level or runs backwards goes before all.
    pub limiting_reach: Option<usize>,
    /// Bellies found in the reaches.
    pub bellies_found: usize,
    /// Bellies possible in the reaches.
    pub bellies_possible: usize,
    /// One or more plain sentences.
    pub sentence: String,
}

/// What a reach carries in uniform flow.
///
/// Figures are those of the mean slope of the reach, drops left out, but for those of the flattest piece. `sd` is propagated from the
/// standard deviation of the slope; the ends of an interval are the figures at the ends of the slope's, which is exact, since every one of them
/// goes one way with the slope. An end is absent where no uniform flow is defined at that end.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CapacityRow {
    /// Number of the reach in the job, from 1.
    pub reach: usize,
    /// Its name.
    pub name: String,
    /// Start of what was surveyed of it, m.
    pub from_m: f64,
    /// End, m.
    pub to_m: f64,
    /// Bore (its height), m.
    pub bore_m: Option<f64>,
    /// `manning`, `colebrook_white`, or empty where it is not known which.
    pub formula: String,
    /// Manning's n, where that formula is taken.
    pub manning_n: Option<f64>,
    /// Roughness, m, where that of Colebrook and White is taken.
    pub roughness_m: Option<f64>,
    /// Viscosity, m2/s, with it.
    pub viscosity_m2_s: Option<f64>,
    /// What the job does not give and this row lacks, such as `bore, filling`; empty where nothing is missing.
    pub missing: String,
    /// Mean slope along the flow, drops left out.
    pub slope: Option<f64>,
    /// Its standard deviation.
    pub slope_sd: Option<f64>,
    /// Low end of its interval.
    pub slope_low: Option<f64>,
    /// High end of its interval.
    pub slope_high: Option<f64>,
    /// Start of its flattest piece (from joint to joint; where no joint was noted, a segment), m.
    pub flattest_from_m: Option<f64>,
    /// End of that piece, m.
    pub flattest_to_m: Option<f64>,
    /// Slope of that piece.
    pub flattest_slope: Option<f64>,
    /// Its standard deviation.
    pub flattest_slope_sd: Option<f64>,
    /// Low end of its interval.
    pub flattest_slope_low: Option<f64>,
    /// High end of its interval.
    pub flattest_slope_high: Option<f64>,
    /// The most it carries with a free surface, m3/s.
    pub most_m3_s: Option<f64>,
    /// Its standard deviation, m3/s.
    pub most_sd_m3_s: Option<f64>,
    /// Low end of its interval, m3/s.
    pub most_low_m3_s: Option<f64>,
    /// High end of its interval, m3/s.
    pub most_high_m3_s: Option<f64>,
    /// Depth at which it carries the most, m.
    pub most_depth_m: Option<f64>,
    /// How deep the flow may stand, as a share of the bore.
    pub filling: Option<f64>,
    /// What it carries at that filling, m3/s.
    pub filled_m3_s: Option<f64>,
    /// Its standard deviation, m3/s.
    pub filled_sd_m3_s: Option<f64>,
    /// Low end of its interval, m3/s.
    pub filled_low_m3_s: Option<f64>,
    /// High end of its interval, m3/s.
    pub filled_high_m3_s: Option<f64>,
    /// What its flattest piece carries at that filling, m3/s.
    pub flattest_filled_m3_s: Option<f64>,
    /// Its standard deviation, m3/s.
    pub flattest_filled_sd_m3_s: Option<f64>,
    /// Low end of its interval, m3/s.
    pub flattest_filled_low_m3_s: Option<f64>,
    /// High end of its interval, m3/s.
    pub flattest_filled_high_m3_s: Option<f64>,
    /// Flow to carry, m3/s.
    pub flow_m3_s: Option<f64>,
    /// `carries`: every piece does, with a probability of 0.95 or more, and nothing runs backwards; `does_not_carry`: not even at the mean slope,
    /// by the same measure; `not_decided`; `input_missing`; `no_uniform_flow`: the reach is level or runs backwards.
    pub verdict: String,
    /// Probability that the flow is carried at the mean slope.
    pub probability: Option<f64>,
    /// Probability that every piece carries it.
    pub every_piece_probability: Option<f64>,
    /// State of the depth of that flow: `one`, `two`, `above_capacity`, `no_fall`, `backfall`; empty without a flow.
    pub state: String,
    /// Depth at which that flow is uniform, the lower one of two, m.
    pub depth_m: Option<f64>,
    /// Its standard deviation, m.
    pub depth_sd_m: Option<f64>,
    /// Low end of its interval, m.
    pub depth_low_m: Option<f64>,
    /// High end of its interval, m.
    pub depth_high_m: Option<f64>,
    /// Depth over bore.
    pub depth_over_bore: Option<f64>,
    /// The upper one of two depths, m.
    pub upper_depth_m: Option<f64>,
    /// By how much an error of the flow, as a share of it, shows in the depth, as a share of that: large near the most it carries.
    pub condition: Option<f64>,
    /// Velocity of that flow, m/s.
    pub velocity_m_s: Option<f64>,
    /// Its standard deviation, m/s.
    pub velocity_sd_m_s: Option<f64>,
    /// Low end of its interval, m/s.
    pub velocity_low_m_s: Option<f64>,
    /// High end of its interval, m/s.
    pub velocity_high_m_s: Option<f64>,
    /// Critical depth of that flow, m: it does not depend on the slope and has no error of its own.
    pub critical_depth_m: Option<f64>,
    /// Froude number of that flow: above 1 it shoots, below it streams.
    pub froude: Option<f64>,
    /// Its standard deviation.
    pub froude_sd: Option<f64>,
    /// Low end of its interval.
    pub froude_low: Option<f64>,
    /// High end of its interval.
    pub froude_high: Option<f64>,
    /// Mean boundary shear of that flow, Pa.
    pub shear_pa: Option<f64>,
    /// Its standard deviation, Pa.
    pub shear_sd_pa: Option<f64>,
    /// Low end of its interval, Pa.
    pub shear_low_pa: Option<f64>,
    /// High end of its interval, Pa.
    pub shear_high_pa: Option<f64>,
    /// Whether that flow reaches the velocity asked for over every piece: `yes`, `no` (not over the flattest), `not_decided`; empty where not
    /// asked, or nothing can be said.
    pub clean_by_velocity: String,
    /// Probability that it does over every piece.
    pub clean_by_velocity_probability: Option<f64>,
    /// Whether it reaches the shear asked for over every piece.
    pub clean_by_shear: String,
    /// Probability that it does over every piece.
    pub clean_by_shear_probability: Option<f64>,
    /// Numbers of the pools that stand in it, found or possible, such as `1, 3`; those of traps left out.
    pub pools: String,
    /// Bellies found in it.
    pub bellies_found: usize,
    /// Bellies possible in it.
    pub bellies_possible: usize,
    /// Whether it is the reach that carries least.
    pub limiting: bool,
    /// What it comes to, the bellies with it, in plain sentences.
    pub sentence: String,
}

/// What it would take to carry the flow, and what is there: facts in a fixed order, no ranking.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct NeededRow {
    /// Number of the reach in the job, from 1.
    pub reach: usize,
    /// Its name.
    pub name: String,
    /// `slope_for_flow`, `slope_for_velocity`, `slope_for_shear` (of this bore, with the fall over this length), `fall_there_is`,
    /// `fall_missing`, `bore_for_flow` (at this slope), `size_for_flow` (the least standard size of a class at this slope).
    pub kind: String,
    /// Slope needed, where the row is about one: of this bore and flow, exact but for what the formula leaves out.
    pub slope: Option<f64>,
    /// Fall needed, there, or missing (negative: to spare), m.
    pub fall_m: Option<f64>,
    /// Its standard deviation, m; 0 for what is needed.
    pub fall_sd_m: Option<f64>,
    /// Low end of its interval, m.
    pub fall_low_m: Option<f64>,
    /// High end of its interval, m.
    pub fall_high_m: Option<f64>,
    /// Bore, m.
    pub bore_m: Option<f64>,
    /// Standard deviation of a bore that is needed, from that of the slope, m; absent for a standard size.
    pub bore_sd_m: Option<f64>,
    /// Low end of its interval, m.
    pub bore_low_m: Option<f64>,
    /// High end of its interval, m; absent where the slope may be level.
    pub bore_high_m: Option<f64>,
    /// Standard size, such as `SDR 35 6 in`.
    pub size: String,
    /// What that size carries at the filling, m3/s.
    pub carries_m3_s: Option<f64>,
    /// Its standard deviation, m3/s.
    pub carries_sd_m3_s: Option<f64>,
    /// Low end of its interval, m3/s.
    pub carries_low_m3_s: Option<f64>,
    /// High end of its interval, m3/s.
    pub carries_high_m3_s: Option<f64>,
    /// One plain sentence.
    pub sentence: String,
}

/// What a lateral carries: as a whole, reach by reach, and what it would take.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Carrying {
    /// As a whole.
    pub whole: CarryingRow,
    /// One row a surveyed reach.
    pub reaches: Vec<CapacityRow>,
    /// What it would take, in a fixed order.
    pub needed: Vec<NeededRow>,
}
