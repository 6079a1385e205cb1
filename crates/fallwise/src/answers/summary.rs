//! One row a lateral, for whoever has many.

use crate::prelude::*;
use serde::{Deserialize, Serialize};

use super::Answers;

/// The main figures of one lateral.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SummaryRow {
    /// The one sentence that matters.
    pub sentence: String,
    /// The lateral's own finding: `meets`, `fails` or `undecided`; absent without a rulebook.
    pub finding: Option<String>,
    /// Why undecided; else absent.
    pub reason: Option<String>,
    /// First surveyed station, m.
    pub from_m: f64,
    /// Last surveyed station, m.
    pub to_m: f64,
    /// True length along the pipe, m.
    pub length_m: f64,
    /// Its standard deviation, m.
    pub length_sd_m: f64,
    /// Mean slope along the flow, drops left out.
    pub slope: Option<f64>,
    /// Its standard deviation.
    pub slope_sd: Option<f64>,
    /// Low end of its interval.
    pub slope_low: Option<f64>,
    /// High end of its interval.
    pub slope_high: Option<f64>,
    /// Fall along the flow, m, drops and steps included.
    pub fall_m: f64,
    /// Its standard deviation, m.
    pub fall_sd_m: f64,
    /// Low end of its interval, m.
    pub fall_low_m: f64,
    /// High end of its interval, m.
    pub fall_high_m: f64,
    /// Bellies found: traps and what is only possible left out.
    pub pools_found: usize,
    /// Bellies that are possible but not certain from this data.
    pub pools_possible: usize,
    /// Station where the deepest of them is deepest, m.
    pub pool_station_m: Option<f64>,
    /// Depth of the deepest of them, m.
    pub pool_depth_m: Option<f64>,
    /// Its standard deviation, m.
    pub pool_depth_sd_m: Option<f64>,
    /// The next measurement, in one sentence, if one would help.
    pub next: Option<String>,
    /// How many warnings there are.
    pub warnings: usize,
}

impl From<&Answers> for SummaryRow {
    fn from(answers: &Answers) -> Self {
        let total = &answers.total;
        let found = || answers.pools.iter().filter(|pool| pool.state == "found");
        let deepest = found().max_by(|a, b| a.depth_m.total_cmp(&b.depth_m));
        let own = answers.findings.first();
        Self {
            sentence: answers.sentence.clone(),
            finding: own.map(|finding| finding.finding.clone()),
            reason: own.and_then(|finding| finding.reason.clone()),
            from_m: answers.from_m,
            to_m: answers.to_m,
            length_m: total.length_m,
            length_sd_m: total.length_sd_m,
            slope: total.slope,
            slope_sd: total.slope_sd,
            slope_low: total.slope_low,
            slope_high: total.slope_high,
            fall_m: total.fall_m,
            fall_sd_m: total.fall_sd_m,
            fall_low_m: total.fall_low_m,
            fall_high_m: total.fall_high_m,
            pools_found: found().count(),
            pools_possible: answers.pools.iter().filter(|pool| pool.state == "possible").count(),
            pool_station_m: deepest.and_then(|pool| pool.deepest_station_m),
            pool_depth_m: deepest.map(|pool| pool.depth_m),
            pool_depth_sd_m: deepest.and_then(|pool| pool.depth_sd_m),
            next: answers.next.as_ref().map(|next| next.sentence.clone()),
            warnings: answers.warnings.len(),
        }
    }
}
