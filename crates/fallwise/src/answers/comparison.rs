//! Two surveys of one lateral beside each other: rows and plain sentences.

use serde::{Deserialize, Serialize};

use super::Answers;
use crate::prelude::*;
use crate::{adjust::Shared, units::Said};

/// What changed from one survey to another.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Comparison {
    /// Version of this form.
    pub schema: String,
    /// Version of the library that computed it.
    pub version: String,
    /// The one sentence that matters.
    pub sentence: String,
    /// What the two surveys have in common beside the pipe, as stated.
    pub shared: Shared,
    /// First station that both surveyed, m.
    pub from_m: f64,
    /// Last station that both surveyed, m.
    pub to_m: f64,
    /// Slopes over the common length, then reach by reach.
    pub slopes: Vec<SlopeChange>,
    /// Heights at the breaks of both, by station.
    pub heights: Vec<HeightChange>,
    /// Heights at the nodes of both profiles, by station: what pictures are drawn from.
    pub profile: Vec<HeightChange>,
    /// What the heights are: `elevation` (in the datum of both jobs) or `relative` (to the first common station).
    pub heights_are: String,
    /// Bellies of either survey.
    pub bellies: Vec<BellyChange>,
    /// Findings of both, subject by subject.
    pub findings: Vec<FindingChange>,
    /// Odd but usable input.
    pub warnings: Vec<String>,
    /// What the intervals do not cover.
    pub not_covered: Vec<String>,
    /// Cautions that go with every output.
    pub cautions: Vec<String>,
    /// The sentences above with their figures kept apart, so that another language can say them; each prints as it stands above.
    #[serde(default)]
    pub said: Vec<Said>,
    /// The first survey.
    pub before: Box<Answers>,
    /// The second survey: the pipe as it was left.
    pub after: Box<Answers>,
}

/// Change of a slope along the flow.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SlopeChange {
    /// Of what: `surveyed by both`, or a reach of the second survey.
    pub name: String,
    /// Start, m.
    pub from_m: f64,
    /// End, m.
    pub to_m: f64,
    /// Slope of the first survey, with what the second says of a shared zero.
    pub before: f64,
    /// Its standard deviation.
    pub before_sd: f64,
    /// Slope of the second, with what the first says of it.
    pub after: f64,
    /// Its standard deviation.
    pub after_sd: f64,
    /// Second less first.
    pub change: f64,
    /// Its standard deviation: what a shared zero does to both alike is not in it.
    pub change_sd: f64,
    /// Low end of its interval.
    pub change_low: f64,
    /// High end of its interval.
    pub change_high: f64,
    /// `changed` where the interval leaves out no change, else `not shown`.
    pub verdict: String,
    /// One plain sentence.
    pub sentence: String,
}

/// Change of a height.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct HeightChange {
    /// Station, m.
    pub station_m: f64,
    /// Height of the invert in the first survey, m, with what the second says of a shared zero.
    pub before_m: f64,
    /// Its standard deviation, m.
    pub before_sd_m: f64,
    /// Height in the second, m, with what the first says of it.
    pub after_m: f64,
    /// Its standard deviation, m.
    pub after_sd_m: f64,
    /// Second less first, m.
    pub change_m: f64,
    /// Its standard deviation, m: what a shared zero does to both alike is not in it.
    pub change_sd_m: f64,
    /// Low end of its interval, m.
    pub change_low_m: f64,
    /// High end of its interval, m.
    pub change_high_m: f64,
}

/// A belly before and after.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BellyChange {
    /// Start of the stretch, m.
    pub from_m: f64,
    /// End of the stretch, m.
    pub to_m: f64,
    /// Number among the pools of the first survey, if it has one there.
    pub before: Option<usize>,
    /// Number among the pools of the second survey, if it has one there.
    pub after: Option<usize>,
    /// `not found again`, `not surveyed again`, `new`, `not surveyed before`, `there in both`.
    pub verdict: String,
    /// One plain sentence.
    pub sentence: String,
}

/// A finding before and after.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct FindingChange {
    /// What it is about.
    pub subject: String,
    /// Finding of the first survey, if it has one of that subject.
    pub before: Option<String>,
    /// Finding of the second.
    pub after: Option<String>,
}
