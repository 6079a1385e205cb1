//! The reaches as they were surveyed, their pieces, and their slopes in draws.

use super::super::{
    Lateral,
    answers::{BACKWARD_M, reach_name},
};
use crate::prelude::*;
use crate::{
    adjust::{Ensemble, Estimate, Posterior},
    model::{FeatureKind, Pipe},
    profile::{Draws, Profile},
    rules,
    units::Said,
};

/// Over less than this share of depth over slope a flow does not become uniform: P. G. Samuels, Backwater lengths in rivers, Proc. Inst. Civil
/// Engineers 87 (1989) 571 (from memory). Shorter pieces are taken together with the next.
const BACKWATER: f64 = 0.7;
/// Nor over less than this, m (our choice).
const SHORT_M: f64 = 1.0;
/// Filling that is reckoned with where none is given, for the length of pieces alone.
const HALF: f64 = 0.5;
/// What was not seen counts from here on, m: the length of a head (our choice, that of findings).
const UNSEEN_M: f64 = 0.15;

/// A piece of one slope.
#[derive(Debug, Clone, Copy)]
pub(super) struct Piece {
    pub(super) from_m: f64,
    pub(super) to_m: f64,
    pub(super) slope: Estimate,
}

/// What was surveyed of a reach.
pub(super) struct Stretch<'a> {
    /// Number of the reach, from 1.
    pub(super) number: usize,
    pub(super) name: Said,
    pub(super) pipe: &'a Pipe,
    pub(super) from_m: f64,
    pub(super) to_m: f64,
    /// Mean slope along the flow, drops left out.
    pub(super) mean: Option<Estimate>,
    pub(super) pieces: Vec<Piece>,
    /// Mean slope in each draw.
    pub(super) mean_draws: Vec<f64>,
    /// Slope of the flattest piece in each draw.
    pub(super) least_draws: Vec<f64>,
    /// Where it runs backwards in the best estimate, m, traps left out.
    pub(super) backward_m: Vec<(f64, f64)>,
    /// Whether part of it was not seen.
    pub(super) unseen: bool,
}

impl Stretch<'_> {
    /// The flattest of several pieces in the best estimate.
    pub(super) fn flattest(&self) -> Option<Piece> {
        let flattest = self.pieces.iter().copied().min_by(|a, b| a.slope.value.total_cmp(&b.slope.value));
        flattest.filter(|_| self.pieces.len() > 1)
    }

    pub(super) fn longest_backward_m(&self) -> Option<(f64, f64)> {
        self.backward_m.iter().copied().max_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)))
    }
}

impl Lateral {
    /// The surveyed reaches with a posterior: that of the lateral, or what it would be without some ties.
    pub(super) fn stretches(&self, posterior: &Posterior, profile: &Profile, filling: Option<f64>) -> Vec<Stretch<'_>> {
        let flow = self.job.flow;
        let (first, last) = self.surveyed_m();
        let backward = rules::backward_m(profile, &self.job, (first, last));
        let slope = |from_m, to_m| posterior.slope(&self.layout, profile, flow, from_m, to_m);
        let mut stretches: Vec<Stretch<'_>> = (self.job.reaches.iter().enumerate())
            .filter(|(_, r)| r.from_m < last && r.to_m > first)
            .map(|(i, reach)| {
                let (from_m, to_m) = (reach.from_m.max(first), reach.to_m.min(last));
                let mean = slope(from_m, to_m);
                let depth_m = reach.pipe.bore.map_or(0.0, |b| b.height_m() * filling.unwrap_or(HALF));
                let falls = mean.map(|mean| mean.value).filter(|slope| *slope > 0.0);
                let short_m = falls.map_or(SHORT_M, |slope| SHORT_M.max(BACKWATER * depth_m / slope));
                let ends = self.ends(from_m, to_m, short_m);
                let pieces = ends.iter().zip(ends.iter().skip(1));
                let inside = |(a, b): &(f64, f64), least: f64| b.min(to_m) - a.max(from_m) >= least;
                Stretch {
                    number: i + 1,
                    name: reach_name(i, reach),
                    pipe: &reach.pipe,
                    from_m,
                    to_m,
                    mean,
                    pieces: pieces
                        .filter_map(|(&from_m, &to_m)| Some(Piece { from_m, to_m, slope: slope(from_m, to_m)? }))
                        .collect(),
                    mean_draws: Vec::new(),
                    least_draws: Vec::new(),
                    backward_m: backward.iter().copied().filter(|s| inside(s, BACKWARD_M)).collect(),
                    unseen: self.unseen_m.iter().any(|s| inside(s, UNSEEN_M)),
                }
            })
            .collect();
        let draws = Ensemble { posterior, ..self.ensemble() };
        draws.for_each(&mut |drawn| {
            let slope = |from_m, to_m| drawn.slope_between(from_m, to_m).map(|s| flow.sign() * s);
            for stretch in &mut stretches {
                let mean = slope(stretch.from_m, stretch.to_m);
                stretch.mean_draws.push(mean.unwrap_or(f64::NAN));
                let each = stretch.pieces.iter().filter_map(|p| slope(p.from_m, p.to_m));
                stretch.least_draws.push(each.chain(mean).reduce(f64::min).unwrap_or(f64::NAN));
            }
        });
        stretches
    }

    /// Ends of the pieces of a stretch: its noted joints, or, where it has none, the breaks of its segments.
    fn ends(&self, from_m: f64, to_m: f64, short_m: f64) -> Vec<f64> {
        let inside = |s: &f64| *s > from_m && *s < to_m;
        let joints = self.job.features.iter().filter(|f| f.kind == FeatureKind::Joint).map(|f| f.station_m);
        let mut inner: Vec<f64> = joints.filter(inside).collect();
        if inner.is_empty() {
            inner = self.chain.breaks_m.iter().copied().filter(inside).collect();
        }
        inner.sort_by(f64::total_cmp);
        let mut ends = vec![from_m];
        for station_m in inner {
            if station_m - ends.last().copied().unwrap_or(from_m) >= short_m && to_m - station_m >= short_m {
                ends.push(station_m);
            }
        }
        ends.push(to_m);
        ends
    }
}
