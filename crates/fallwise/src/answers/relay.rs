//! Rows of a plan of re-laying.

use crate::prelude::*;
use serde::{Deserialize, Serialize};

/// What to re-lay at least cost under the costs given, or why there is no such plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RelayAnswer {
    /// `plan`, `as_it_is` (nothing has to be re-laid), `no_plan` (there is none) or `refused` (it cannot be told; the sentences say why).
    pub outcome: String,
    /// What came of it and what to know of it, in whole sentences, most important first.
    pub sentences: Vec<String>,
    /// Probability asked of each piece.
    pub confidence: f64,
    /// What the money is called.
    pub currency: String,
    /// Of all stretches, under the costs given; absent without a plan.
    pub cost: Option<f64>,
    /// Probability that all pieces and connections are as asked together; absent without draws.
    pub joint_probability: Option<f64>,
    /// Low bound of it, however errors hang together.
    pub joint_low: Option<f64>,
    /// High bound of it.
    pub joint_high: Option<f64>,
    /// Lowering of the last invert with which there would be a plan, m.
    pub lower_outlet_m: Option<f64>,
    /// Stretches to re-lay, along the flow: one trench each.
    pub stretches: Vec<RelayStretchRow>,
    /// All of the pipe as it would be, along the flow.
    pub pieces: Vec<RelayPieceRow>,
    /// Inverts where a stretch may begin, along the flow.
    pub nodes: Vec<RelayNodeRow>,
    /// What an estimator prices.
    pub quantities: Vec<RelayQuantityRow>,
    /// Sections of which each by itself proves that there is no plan.
    pub short: Vec<RelayShortRow>,
}

/// A stretch to re-lay.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RelayStretchRow {
    /// Number, from 1, along the flow.
    pub number: usize,
    /// Station of its upstream end, m.
    pub from_m: f64,
    /// Station of its downstream end, m.
    pub to_m: f64,
    /// Length of trench, m, level.
    pub length_m: f64,
    /// Length of new pipe, m.
    pub pipe_m: f64,
    /// Sticks of it; absent where their length is not known.
    pub sticks: Option<u64>,
    /// Greatest depth of the trench, m: to the deep end of the interval, wall and bedding with it; absent without ground.
    pub max_depth_m: Option<f64>,
    /// Volume to dig, m3, by the same depths; absent without ground or width.
    pub volume_m3: Option<f64>,
    /// Surface to reinstate, m2.
    pub surface_m2: Option<f64>,
    /// Its cost under the costs given.
    pub cost: f64,
    /// One plain sentence.
    pub sentence: String,
}

/// A piece of even slope after the plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RelayPieceRow {
    /// Station of its upstream end, m.
    pub from_m: f64,
    /// Station of its downstream end, m.
    pub to_m: f64,
    /// Laid anew.
    pub new: bool,
    /// Slope along the flow.
    pub slope: f64,
    /// Its standard deviation.
    pub slope_sd: f64,
    /// Least slope asked of it; absent where none is, as of a drop or a trap.
    pub min_slope: Option<f64>,
    /// Greatest slope, where there is a limit.
    pub max_slope: Option<f64>,
    /// Probability that it falls as asked.
    pub probability: f64,
}

/// An invert where a stretch may begin or bend.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RelayNodeRow {
    /// Station, m.
    pub station_m: f64,
    /// Invert now, best estimate, m above the lowest station.
    pub height_m: f64,
    /// Invert after the plan, m above the same; absent without a plan.
    pub new_height_m: Option<f64>,
    /// Elevation of the invert now, m, where the datum is known.
    pub elevation_m: Option<f64>,
    /// Elevation after the plan, m.
    pub new_elevation_m: Option<f64>,
    /// Ground above it, m, in the datum.
    pub ground_m: Option<f64>,
    /// Depth from the ground to the bottom of a trench at the invert now, m: deep end of the interval, wall and bedding with it.
    pub trench_m: Option<f64>,
    /// Whether a stretch may end here.
    pub may_end: bool,
    /// `kept` or `not_above` where a connection binds the new pipe.
    pub connection: Option<String>,
}

/// A quantity to price.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RelayQuantityRow {
    /// Number of the stretch, from 1.
    pub stretch: usize,
    /// What is to be priced.
    pub item: String,
    /// How much; absent where it is not determined.
    pub quantity: Option<f64>,
    /// `m`, `m2`, `m3` or `each`.
    pub unit: String,
    /// What one of it costs, as the job says; absent of what has no price there.
    pub rate: Option<f64>,
    /// Quantity times rate; those of a trench add up to its cost.
    pub amount: Option<f64>,
}

/// The fall of a section against what is asked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RelayShortRow {
    /// Station of its upstream end, m.
    pub from_m: f64,
    /// Station of its downstream end, m.
    pub to_m: f64,
    /// Fall between the two inverts, m.
    pub fall_m: f64,
    /// Its standard deviation, m.
    pub fall_sd_m: Option<f64>,
    /// The steepest even slope there is between them.
    pub slope: f64,
    /// Fall that is asked for, m.
    pub asked_m: f64,
    /// What is missing, with what the errors take, m; absent where the standard deviation is not determined.
    pub missing_m: Option<f64>,
    /// One plain sentence.
    pub sentence: String,
}
