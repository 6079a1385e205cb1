//! From pools and findings to their rows.

use super::{FindingRow, NextRow, PoolRow};
use crate::prelude::*;
use crate::{
    pool::{self, PoolEstimate},
    rules::{Finding, Rule},
    units::Words,
    what_next::Candidate,
};

/// Pools as rows, numbered from 1 in the order given.
///
/// # Example
/// ```
/// use fallwise::{Bore, Flow, Profile, answers::pool_rows, pool::{Terms, from_draws}, units::Words};
///
/// let drain = Profile {
///     station_m: vec![0.0, 2.0, 3.0],
///     height_m: vec![0.04, 0.0, 0.01],
///     tilt_rad: vec![0.02, -0.01],
///     reach: vec![0, 0],
///     at_drop: vec![],
///     scale: 1.0,
/// };
/// let bores = [Some(Bore::Circle { diameter_m: 0.1 })];
/// let draws = [drain.clone(), drain.clone()];
/// let found = from_draws(&drain, &draws[..], &bores, Flow::Increasing, None, Terms::default());
/// let row = &pool_rows(&found, Words::Uk)[0];
/// assert_eq!(row.state, "found");
/// assert!(row.sentence.contains("can hold water 10 mm deep")); // its sill is the last surveyed point
/// ```
pub fn pool_rows(estimates: &[PoolEstimate], words: Words) -> Vec<PoolRow> {
    estimates.iter().enumerate().map(|(index, estimate)| pool_row(index + 1, estimate, words)).collect()
}

fn pool_row(number: usize, estimate: &PoolEstimate, words: Words) -> PoolRow {
    let pool = estimate.pool.as_ref();
    // A stretch where only draws show water holds none in the best estimate.
    let volume_m3 = match pool {
        Some(pool) => pool.volume_m3,
        None => estimate.volume_m3.map(|_| 0.0),
    };
    PoolRow {
        number,
        state: estimate.state.as_str().to_owned(),
        exists_probability: estimate.exists_probability,
        from_m: pool.map_or(estimate.from_m, |pool| pool.from_m),
        to_m: pool.map_or(estimate.to_m, |pool| pool.to_m),
        length_m: pool.map_or(0.0, |pool| pool.length_m),
        sill_station_m: pool.map(|pool| pool.sill_station_m),
        level_m: pool.map(|pool| pool.level_m),
        deepest_station_m: pool.map(|pool| pool.deepest_station_m),
        depth_m: pool.map_or(0.0, |pool| pool.depth_m),
        depth_sd_m: estimate.depth_m.map(|spread| spread.sd),
        depth_low_m: estimate.depth_m.and_then(|spread| spread.low),
        depth_high_m: estimate.depth_m.map(|spread| spread.high),
        depth_over_bore: pool.and_then(|pool| pool.depth_over_bore),
        full_bore_length_m: pool.and_then(|pool| pool.full_bore_length_m),
        volume_m3,
        volume_sd_m3: estimate.volume_m3.map(|spread| spread.sd),
        volume_low_m3: estimate.volume_m3.and_then(|spread| spread.low),
        volume_high_m3: estimate.volume_m3.map(|spread| spread.high),
        sill_is_last_point: pool.is_some_and(|pool| pool.sill_is_last_point),
        touches_upstream_end: pool.is_some_and(|pool| pool.touches_upstream_end),
        sentence: pool::sentence(estimate, words).to_string(),
    }
}

impl From<Candidate> for NextRow {
    fn from(candidate: Candidate) -> Self {
        Self {
            measurement: candidate.measurement,
            station_m: candidate.station_m,
            to_m: candidate.to_m,
            sentence: candidate.sentence.to_string(),
            hazard: candidate.hazard.to_string(),
            undecided_now: candidate.undecided_now,
            expected_decided: candidate.expected_decided,
        }
    }
}

impl From<&Finding> for FindingRow {
    fn from(finding: &Finding) -> Self {
        let rule = finding.rule.as_ref();
        let cited = |part: fn(&Rule) -> &String| rule.map(part).cloned().unwrap_or_default();
        Self {
            subject: finding.subject.to_string(),
            pool: finding.pool,
            reach: finding.reach,
            from_m: finding.from_m,
            to_m: finding.to_m,
            finding: finding.verdict.word().to_owned(),
            reason: finding.verdict.reason().map(|reason| reason.word().to_owned()),
            quantity: finding.quantity.word().to_owned(),
            value: finding.value,
            value_sd: finding.value_sd,
            value_low: finding.value_low,
            value_high: finding.value_high,
            required: finding.required,
            requirement: finding.requirement.to_string(),
            probability: finding.probability,
            document: cited(|r| &r.document),
            edition: cited(|r| &r.edition),
            clause: cited(|r| &r.clause),
            force: rule.map(|r| r.force.word().to_owned()).unwrap_or_default(),
            confirmed: rule.is_some_and(|r| r.confirmed),
            sentence: finding.sentence.to_string(),
        }
    }
}

#[cfg(test)]
#[path = "rows_tests.rs"]
mod tests;
