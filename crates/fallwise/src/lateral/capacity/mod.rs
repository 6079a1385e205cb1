//! What the lateral carries: uniform flow, reach by reach, with what the error of the slope makes of it.
//!
//! # Which slope
//! Uniform flow is the flow that a long straight pipe comes to. Along a reach of changing slope it lies between two bounds: over short pieces
//! the water surface evens the slopes out, and the *mean* slope counts; over long ones the flow is uniform piece by piece, and the *flattest*
//! piece counts. So both are given, and a verdict keeps to the side that it can carry: the reach *carries* a flow where every piece does, it
//! *does not carry* it where not even the mean slope does, and between the two nothing is decided. Pieces are those between noted joints, or,
//! where none was noted in the reach, the segments found in the readings; those over which no flow
//! becomes uniform (shorter than 0.7 of depth over slope, or than a metre) are taken together with the next.
//! Drops are left out. Where the reach runs backwards, no flow is uniform: then nothing is called carried.
//!
//! # How sure
//! Each figure goes one way with the slope, so the ends of its interval are the figures at the ends of the slope's. Probabilities are those
//! of the slope reaching the slope that the flow needs, counted in the draws (or from the standard deviations, without draws) and judged as
//! findings are: from 0.95 on, and up to 0.05. Where a tie may be wrong, a verdict that would be another without it is left open. Errors of bore,
//! roughness and flow are not in the intervals.
//!
//! | file | what |
//! | --- | --- |
//! | `stretch` | the reaches, their pieces, and their slopes in draws |
//! | `wall` | friction, or what is missing |
//! | `figure`, `chance` | figures of a slope with an error; probabilities |
//! | `verdict` | what is carried, and kept clean |
//! | `row` | the row of a reach |
//! | `needed` | what it would take |
//! | `sentence` | all of it in words |

mod chance;
mod figure;
mod needed;
mod row;
mod sentence;
mod stretch;
mod verdict;
mod wall;

use super::{Lateral, told::Told};
use crate::prelude::*;
use crate::{
    answers::{Carrying, CarryingRow},
    error::Error,
    hydraulics::design_flow_m3_s,
    model::{Capacity, Job},
    pool::{PoolEstimate, PoolState},
    said,
    units::Said,
};
use verdict::{Verdict, decide};

/// What a computation of all reaches shares.
struct Asked<'a> {
    capacity: &'a Capacity,
    flow_m3_s: Option<f64>,
    words: crate::units::Words,
}

/// Pools of a reach, by their numbers, those of traps left out.
#[derive(Debug, Clone, Default)]
struct Bellies {
    found: Vec<usize>,
    possible: Vec<usize>,
}

impl Bellies {
    fn of(pools: &[PoolEstimate], from_m: f64, to_m: f64) -> Self {
        let mut bellies = Self::default();
        for (i, p) in pools.iter().enumerate() {
            let ends_m = p.pool.as_ref().map_or((p.from_m, p.to_m), |pool| (pool.from_m, pool.to_m));
            if ends_m.0 >= to_m || ends_m.1 <= from_m {
                continue;
            }
            match p.state {
                PoolState::Found => bellies.found.push(i + 1),
                PoolState::Possible => bellies.possible.push(i + 1),
                PoolState::Intended => {}
            }
        }
        bellies
    }
}

/// What no interval of a capacity covers: said wherever capacities are.
pub fn not_covered() -> [Said; 4] {
    [
        said!(
            "What a reach carries is reckoned for uniform flow in a pipe without deposits, of the bore and roughness given: blockages, roots, offset joints \
             and bends are not in it, and errors of bore and roughness are not in the intervals."
        ),
        said!(
            "An old pipe is rougher than a new one (common practice, no source): which roughness is right for it is not known from a survey of its slope."
        ),
        said!(
            "Whether a drain is large enough for what it has to take is for a licensed designer under the code in force. A size that a flow needs is no size to \
             lay: codes set a least size besides."
        ),
        said!("The flow is taken to be the same in every reach: what other drains bring in on the way is not in it."),
    ]
}

impl Lateral {
    /// What each surveyed reach carries in uniform flow, whether that is enough, and what it would take.
    ///
    /// # Errors
    /// [`Error::Value`] or [`Error::Unknown`] for what cannot be asked: see [`Capacity::validate`] and [`design_flow_m3_s`].
    ///
    /// # Example
    /// ```
    /// use fallwise::{Bore, Lateral, Pipe, model::Capacity};
    ///
    /// let pipe = Pipe { bore: Some(Bore::circle(0.1)?), manning_n: Some(0.013), ..Pipe::default() };
    /// let lateral = Lateral::from_segments(vec![0.0, 10.0, 20.0], vec![0.02, 0.01], pipe)?;
    /// let asked = Capacity { flow_m3_s: Some(0.002), filling: Some(0.5), ..Capacity::default() };
    /// let carrying = lateral.capacity(&asked)?;
    /// let row = &carrying.reaches[0];
    /// assert_eq!(row.verdict, "carries");
    /// // Half full, its flattest piece carries half of what it does full.
    /// assert!((row.flattest_filled_m3_s.unwrap() - 0.00258).abs() < 1e-5);
    /// # Ok::<(), fallwise::Error>(())
    /// ```
    pub fn capacity(&self, asked: &Capacity) -> Result<Carrying, Error> {
        self.capacity_told(asked, &self.pools(), &mut Told::default())
    }

    /// The same with pools that are known, its sentences kept.
    pub(super) fn capacity_told(
        &self,
        capacity: &Capacity,
        pools: &[PoolEstimate],
        told: &mut Told,
    ) -> Result<Carrying, Error> {
        capacity.validate()?;
        let flow_m3_s = match &capacity.discharge {
            Some(discharge) => Some(design_flow_m3_s(discharge)?),
            None => capacity.flow_m3_s,
        };
        let asked = Asked { capacity, flow_m3_s, words: self.words_of() };
        let stretches = self.stretches(&self.posterior, &self.profile, capacity.filling);
        let mut decided = stretches.iter().map(|s| decide(&asked, s)).collect::<Result<Vec<_>, Error>>()?;
        let mut joint = verdict::joint(&stretches, &decided);
        for left_out in self.explanations() {
            let posterior = self.without_ties(&left_out)?;
            let profile = self.layout.profile(&posterior.tilt_rad, posterior.scale, Some(&posterior.step_rise_m));
            let others = self.stretches(&posterior, &profile, capacity.filling);
            for (one, other) in decided.iter_mut().zip(&others) {
                if verdict::leave_open(one, &decide(&asked, other)?, &self.named(&left_out)) {
                    joint = None;
                }
            }
        }
        let bellies: Vec<Bellies> = stretches.iter().map(|s| Bellies::of(pools, s.from_m, s.to_m)).collect();
        let mut reaches = Vec::with_capacity(stretches.len());
        let mut needed = Vec::new();
        for ((stretch, decided), bellies) in stretches.iter().zip(&decided).zip(&bellies) {
            let mut row = row::of(&asked, stretch, decided, bellies)?;
            row.sentence = told.row(sentence::of_reach(&asked, stretch, decided, bellies, &row));
            row.name = told.row(stretch.name.clone());
            needed.extend(self.needed(&asked, stretch, &row, told)?);
            reaches.push(row);
        }
        let limiting = limiting(&reaches, &stretches);
        if let Some(row) = limiting.and_then(|i| reaches.get_mut(i)) {
            row.limiting = true;
        }
        let mut whole = CarryingRow {
            flow_m3_s,
            flow_from: match (&capacity.discharge, flow_m3_s) {
                (Some(_), _) => "discharge_units",
                (None, Some(_)) => "given",
                (None, None) => "",
            }
            .to_owned(),
            filling: capacity.filling,
            verdict: verdict::of_whole(&decided, joint).as_str().to_owned(),
            probability: joint.and_then(chance::Chance::value),
            limiting_reach: limiting.and_then(|i| reaches.get(i)).map(|row| row.reach),
            bellies_found: bellies.iter().map(|b| b.found.len()).sum(),
            bellies_possible: bellies.iter().map(|b| b.possible.len()).sum(),
            sentence: String::new(),
        };
        let verdict = verdict::of_whole(&decided, joint);
        let failing = (stretches.iter().zip(&decided)).find(|(_, d)| d.verdict == Verdict::DoesNotCarry);
        let mut said = sentence::of_whole(
            &asked,
            &whole,
            verdict,
            failing.map(|(s, _)| &s.name),
            limiting.and_then(|i| reaches.get(i).zip(stretches.get(i))),
        );
        if let Some(at_odds) = flow_m3_s.and_then(|flow| self.at_odds(&stretches, flow)) {
            said.push(at_odds);
        }
        whole.sentence = told.row(said);
        Ok(Carrying { whole, reaches, needed })
    }

    /// Where the slope's rule was chosen for less flow than this, by the fact `peak_flow = "below 1 l/s"`.
    fn at_odds(&self, stretches: &[stretch::Stretch<'_>], flow_m3_s: f64) -> Option<Said> {
        stretches.iter().find_map(|stretch| {
            let reach = self.job.reaches.get(stretch.number - 1)?;
            let fact = reach.facts.get("peak_flow").or_else(|| self.job.rules.facts.get("peak_flow"))?;
            let most: f64 = fact.trim().strip_prefix("below ")?.strip_suffix(" l/s")?.trim().parse().ok()?;
            (1000.0 * flow_m3_s > most).then(|| sentence::at_odds(self.words_of(), &stretch.name, fact, flow_m3_s))
        })
    }

    fn words_of(&self) -> crate::units::Words {
        let Job { report, .. } = &self.job;
        report.words
    }
}

/// The reach that carries least: the first that is level or runs backwards somewhere, else the one whose flattest piece carries least.
fn limiting(rows: &[crate::answers::CapacityRow], stretches: &[stretch::Stretch<'_>]) -> Option<usize> {
    let none = |(row, stretch): (&crate::answers::CapacityRow, &stretch::Stretch<'_>)| {
        row.verdict == Verdict::NoUniformFlow.as_str() || (row.most_m3_s.is_some() && !stretch.backward_m.is_empty())
    };
    if let Some(i) = rows.iter().zip(stretches).position(none) {
        return Some(i);
    }
    let least = |row: &crate::answers::CapacityRow| row.flattest_filled_m3_s.or(row.filled_m3_s).or(row.most_m3_s);
    let known = rows.iter().enumerate().filter_map(|(i, row)| Some((i, least(row)?)));
    known.reduce(|least, next| if next.1 < least.1 { next } else { least }).map(|(i, _)| i)
}

#[cfg(test)]
mod capacity_tests;
