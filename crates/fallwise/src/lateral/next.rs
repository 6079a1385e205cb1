//! What to measure next: the proposals that this lateral allows, and what each would decide.

use super::{Lateral, OUTCOME_DRAWS, ties};
use crate::prelude::*;
use crate::{
    adjust::{self, Ensemble, Posterior},
    condition::reversal_check_sd_rad,
    model::{Feature, FeatureKind, Known, Place, Tie, Toward, depth_sd_m},
    pool::{PoolEstimate, PoolState},
    rules::{Check, Rulebook},
    what_next::{Candidate, Measure, Proposal, outcomes, rank},
};

/// What a staff read through an opening and a level between two openings are good to, m (our choice).
const LEVELLED_SD_M: f64 = 0.007;
/// An opening lies this near an end of the survey, m (our choice).
const NEAR_M: f64 = 1.0;
/// Depth of a pipe under ground that is not given, m, for what a located depth is good to (our choice).
const USUAL_DEPTH_M: f64 = 1.0;
/// Water shallower than this has no edges that are worth a measurement, m (our choice).
const WORTH_M: f64 = 0.01;
/// A proposal that leaves more than this share of the standard deviations that findings turn on decides nothing (our choice).
const NOTHING_GAINED: f64 = 0.9;

impl Lateral {
    /// The measurements that would decide what is undecided, best first.
    pub fn what_next(&self, book: &Rulebook) -> Vec<Candidate> {
        let pools = self.pools();
        match self.check_told(book, &pools) {
            Ok(check) => self.what_next_after(book, &check, &pools),
            Err(_) => Vec::new(),
        }
    }

    pub(super) fn what_next_after(&self, book: &Rulebook, check: &Check, pools: &[PoolEstimate]) -> Vec<Candidate> {
        let words = self.job.report.words;
        rank(self.proposals(pools), check.undecided(), words, &mut |proposal| {
            let terms = ties::terms(&self.job, &self.layout, &self.traces);
            let predicted = self.posterior.predicted(&terms, &proposal.tie)?;
            let with = |value: f64| {
                let known: Vec<Tie> = self.known.all.iter().cloned().chain([proposal.with_result(value)]).collect();
                Some(self.base().with_ties(&terms, &known).ok()?.0)
            };
            // The posterior moves straight with the result, so two are enough.
            let (low, high) = (with(predicted.value - predicted.sd)?, with(predicted.value + predicted.sd)?);
            if !self.gains(&low) {
                return None;
            }
            let mut remaining = 0.0;
            let nodes = outcomes();
            for outcome in nodes {
                let posterior = low.towards(&high, 0.5 + 0.5 * outcome);
                remaining += self.undecided(book, &posterior)? as f64 / nodes.len() as f64;
            }
            Some(remaining)
        })
    }

    /// Whether a posterior is enough surer than the present one to decide anything.
    fn gains(&self, posterior: &Posterior) -> bool {
        let (first_m, last_m) = self.surveyed_m();
        let profile = self.layout.profile(&posterior.tilt_rad, posterior.scale, Some(&posterior.step_rise_m));
        let slope =
            |p: &Posterior, profile| p.slope(&self.layout, profile, self.job.flow, first_m, last_m).map(|s| s.sd);
        let zero = |p: &Posterior| p.parameter(adjust::ZERO).map(|z| z.sd);
        let less = |after: Option<f64>, before: Option<f64>| {
            after.zip(before).is_none_or(|(after, before)| after < NOTHING_GAINED * before)
        };
        less(slope(posterior, &profile), slope(&self.posterior, &self.profile))
            || less(zero(posterior), zero(&self.posterior))
    }

    /// How many findings a posterior leaves undecided.
    fn undecided(&self, book: &Rulebook, posterior: &Posterior) -> Option<usize> {
        let profile = self.layout.profile(&posterior.tilt_rad, posterior.scale, Some(&posterior.step_rise_m));
        let count = self.job.report.draws.min(OUTCOME_DRAWS);
        let draws = Ensemble { posterior, count, ..self.ensemble() };
        let pools = self.pools_for(book, &profile, &draws);
        Some(self.check_of(book, &profile, &draws, &pools).ok()?.undecided())
    }

    fn proposals(&self, pools: &[PoolEstimate]) -> Vec<Proposal> {
        let mut proposals = Vec::new();
        let (first_m, last_m) = self.surveyed_m();
        if self.job.runs.is_empty() {
            return proposals;
        }
        let check_sd_rad = reversal_check_sd_rad(ties::step_rad(&self.traces));
        let zero_sd_rad = self.posterior.parameter(adjust::ZERO).map_or(0.0, |z| z.sd);
        if !ties::checked(&self.job) && zero_sd_rad > check_sd_rad {
            proposals.push(Proposal::reversal(check_sd_rad));
        }
        let towards = |toward: Toward| self.job.runs.iter().any(|r| r.toward == toward);
        let opening = |at_m: f64| {
            // Where a drain joins a main there is seldom an opening: to reach it somebody would dig, or go into a chamber.
            let near = |f: &Feature| f.kind == FeatureKind::Cleanout && (f.station_m - at_m).abs() <= NEAR_M;
            self.job.features.iter().any(near)
                || self.job.runs.iter().any(|r| (r.start_station_m - at_m).abs() <= NEAR_M)
        };
        let both_open = opening(first_m) && opening(last_m);
        if both_open && !(towards(Toward::Increasing) && towards(Toward::Decreasing)) {
            let other_m = if towards(Toward::Increasing) { last_m } else { first_m };
            proposals.push(Proposal::other_end(other_m, self.job.instrument.seating_sd_rad));
        }
        let deepest = pools.iter().filter(|p| p.state == PoolState::Found).filter_map(|p| p.pool.as_ref());
        let deepest = deepest.filter(|p| p.depth_m >= WORTH_M && !p.sill_is_last_point && !p.touches_upstream_end);
        if let Some(pool) = deepest.max_by(|a, b| a.depth_m.total_cmp(&b.depth_m))
            && !ties::terms(&self.job, &self.layout, &self.traces).water_runs
        {
            let sd_m = core::f64::consts::SQRT_2 * crate::model::Seen::Lens.level_sd_m();
            proposals.push(Proposal::heights(Measure::WaterLevel, pool.from_m, pool.to_m, Place::SD_M, sd_m));
        }
        let levelled = |tie: &Tie| matches!(tie.known, Known::Invert { .. } | Known::HeightDifference { .. });
        if both_open && self.known.all.iter().filter(|t| levelled(t)).count() < 2 {
            proposals.push(Proposal::heights(Measure::Level, first_m, last_m, Place::SD_M, LEVELLED_SD_M));
        }
        if !self.known.all.iter().any(|t| matches!(t.known, Known::Depth { .. })) {
            let sd_m = core::f64::consts::SQRT_2 * depth_sd_m(USUAL_DEPTH_M);
            proposals.push(Proposal::heights(Measure::Locate, first_m, last_m, Place::SD_M, sd_m));
        }
        proposals
    }
}
