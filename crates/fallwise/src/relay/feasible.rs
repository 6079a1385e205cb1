//! Which pieces meet what is asked, and how surely.

use super::{Asked, Connection, Line, MeasuredOver, Passed, Piece, Shortfall, Span};
use crate::prelude::*;
use crate::{
    error::Error,
    math::normal_quantile,
    rules::{at_least, roundoff},
};

/// What a node is to a new pipe that passes it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Bend {
    /// Nothing.
    Free,
    /// It may bend here; if it does not, it passes at most so far above the present invert, m.
    May(f64),
    /// It bends here, at the present invert.
    Must,
}

/// A line with the limits that hold; proofs lift some of them.
#[derive(Clone)]
pub(super) struct Setup<'a> {
    pub(super) line: Line<'a>,
    pub(super) asked: Asked,
    pub(super) bend: Vec<Bend>,
    pub(super) may_dig: Vec<bool>,
    /// Whether greatest slopes hold.
    pub(super) steepest: bool,
    /// Horizontal distance of each node from the first, m.
    pub(super) along_m: Vec<f64>,
    /// Variances of the falls between each node and those after it, m2; not a number where not determined.
    variance_m2: Vec<Vec<f64>>,
    /// Standard deviations that the confidence takes.
    z: f64,
}

/// Horizontal distance of each node from the first, m.
pub(super) fn along_m(spans: &[Span]) -> Vec<f64> {
    let sums = spans.iter().scan(0.0, |x, span| {
        *x += span.level_m;
        Some(*x)
    });
    core::iter::once(0.0).chain(sums).collect()
}

impl<'a> Setup<'a> {
    /// The limits as given.
    ///
    /// # Errors
    /// [`Error::Value`] for a standard deviation that is none.
    pub(super) fn new(line: Line<'a>, asked: Asked) -> Result<Self, Error> {
        let nodes = line.nodes.len();
        let mut variance_m2 = Vec::with_capacity(nodes);
        for from in 0..nodes {
            let mut row = Vec::with_capacity(nodes - from - 1);
            for to in from + 1..nodes {
                row.push(match (line.fall_sd_m)(from, to) {
                    None => f64::NAN,
                    Some(sd) if (0.0..1e6).contains(&sd) => sd * sd,
                    Some(sd) => {
                        let expected = format!("a standard deviation from 0 up of the fall to node {to}, m");
                        return Err(Error::at("fall_sd_m", from, sd, expected));
                    }
                });
            }
            variance_m2.push(row);
        }
        let by_reach = matches!(asked.measured_over, MeasuredOver::Reach { .. });
        let meets = line.spans.iter().zip(line.spans.iter().skip(1)).map(|(a, b)| by_reach && a.reach != b.reach);
        let reach_ends = core::iter::once(false).chain(meets).chain([false]);
        let bend = line.nodes.iter().zip(reach_ends).map(|(node, reach_end)| match node.connection {
            Some(Connection::Kept) => Bend::Must,
            _ if reach_end => Bend::Must,
            Some(Connection::NotAbove { above_m }) => Bend::May(above_m),
            None => Bend::Free,
        });
        Ok(Self {
            bend: bend.collect(),
            may_dig: line.spans.iter().map(|span| span.may_dig).collect(),
            steepest: true,
            along_m: along_m(line.spans),
            variance_m2,
            z: normal_quantile(asked.confidence).max(0.0),
            line,
            asked,
        })
    }

    pub(super) fn nodes(&self) -> usize {
        self.line.nodes.len()
    }

    pub(super) fn last(&self) -> usize {
        self.nodes().saturating_sub(1)
    }

    fn height_m(&self, node: usize) -> f64 {
        self.line.nodes.get(node).map_or(f64::NAN, |n| n.height_m)
    }

    pub(super) fn fall_m(&self, from: usize, to: usize) -> f64 {
        self.height_m(from) - self.height_m(to)
    }

    /// Horizontal length, m.
    pub(super) fn level_m(&self, from: usize, to: usize) -> f64 {
        let at = |node: usize| self.along_m.get(node).copied().unwrap_or(f64::NAN);
        at(to) - at(from)
    }

    /// Variance of the fall, m2; not a number where not determined.
    fn variance_m2(&self, from: usize, to: usize) -> f64 {
        let place = to.checked_sub(from + 1);
        place.and_then(|place| self.variance_m2.get(from)?.get(place)).copied().unwrap_or(f64::NAN)
    }

    fn fall_sd_m(&self, from: usize, to: usize) -> Option<f64> {
        Some(self.variance_m2(from, to).sqrt()).filter(|sd| sd.is_finite())
    }

    /// Whether a stretch may end at a node.
    pub(super) fn may_end(&self, node: usize) -> bool {
        node == 0 || node == self.last() || self.line.nodes.get(node).is_some_and(|n| n.may_end)
    }

    /// Whether a stretch may be as long as this.
    pub(super) fn may_measure(&self, level_m: f64) -> bool {
        // Lengths are sums: ten sticks of 0.1 m are one metre.
        let tolerance_m = roundoff(level_m);
        level_m >= self.asked.min_length_m - tolerance_m
            && self.asked.max_length_m.is_none_or(|most| level_m <= most + tolerance_m)
    }

    /// Whether a slope lies within its limits as surely as asked, with that much more fall.
    fn meets(&self, (from, to): (usize, usize), (min, max): (f64, f64), more_m: f64) -> bool {
        let (level_m, sd) = (self.level_m(from, to), self.variance_m2(from, to).sqrt());
        let slope = (self.fall_m(from, to) + more_m) / level_m;
        if max == f64::INFINITY {
            return slope - min + roundoff(min) >= self.z * sd / level_m;
        }
        self.chance(slope, Some(sd / level_m), min, max).is_some_and(|p| p >= self.asked.confidence)
    }

    /// Probability that a slope lies within its limits; absent without a standard deviation.
    #[allow(clippy::unused_self, reason = "reads as the others do")]
    fn chance(&self, slope: f64, sd: Option<f64>, min: f64, max: f64) -> Option<f64> {
        let below = 1.0 - at_least(slope, sd, min)?;
        let above = if max < f64::INFINITY { 1.0 - at_least(-slope, sd, -max)? } else { 0.0 };
        Some((1.0 - below - above).max(0.0))
    }

    /// Limits of a span's slope: of new pipe.
    fn limits(&self, span: usize) -> (f64, f64) {
        let Some(span) = self.line.spans.get(span) else { return (f64::NAN, f64::NAN) };
        (span.min_slope, span.max_slope.filter(|_| self.steepest).unwrap_or(f64::INFINITY))
    }

    /// The strictest limits between two nodes.
    fn strictest(&self, from: usize, to: usize) -> (f64, f64) {
        (from..to).map(|span| self.limits(span)).fold((f64::NEG_INFINITY, f64::INFINITY), tighter)
    }

    /// Limits of the slope of a span that stays.
    fn kept_limits(&self, span: usize) -> (f64, f64) {
        match self.asked.measured_over {
            MeasuredOver::Piece => self.limits(span),
            MeasuredOver::Reach { kept_min_slope } => (kept_min_slope, f64::INFINITY),
        }
    }

    /// Whether a span may stay as it is.
    pub(super) fn may_keep(&self, span: usize) -> bool {
        self.line.spans.get(span).is_some_and(|s| s.may_stay)
            && self.meets((span, span + 1), self.kept_limits(span), 0.0)
    }

    /// Nodes that one new piece may reach from a node, in order, with the limits of its slope, whether it meets them or not.
    pub(super) fn within_reach(&self, from: usize) -> impl Iterator<Item = (usize, (f64, f64))> + '_ {
        let mut limits = (f64::NEG_INFINITY, f64::INFINITY);
        let diggable = (from..self.last()).take_while(|span| self.may_dig.get(*span) == Some(&true));
        // The last one at which it must bend is still reached.
        let passes = move |span: &usize| *span == from || self.bend.get(*span) != Some(&Bend::Must);
        diggable.take_while(passes).map(move |span| {
            limits = tighter(limits, self.limits(span));
            (span + 1, limits)
        })
    }

    /// Nodes to which a new piece from a node can be laid, in order.
    pub(super) fn laid_from(&self, from: usize) -> impl Iterator<Item = usize> + '_ {
        let connections: Vec<(usize, f64)> = self.may_bend(from + 1).collect();
        self.within_reach(from).filter_map(move |(to, limits)| {
            let clear = || {
                connections.iter().take_while(|(k, _)| *k < to).all(|(k, above_m)| self.clears(from, to, *k, *above_m))
            };
            (self.meets((from, to), limits, 0.0) && clear()).then_some(to)
        })
    }

    /// Nodes from one on that a new pipe passes below or bends at.
    fn may_bend(&self, first: usize) -> impl Iterator<Item = (usize, f64)> + '_ {
        self.bend.iter().enumerate().skip(first).filter_map(|(k, bend)| match bend {
            Bend::May(above_m) => Some((k, *above_m)),
            Bend::Free | Bend::Must => None,
        })
    }

    /// How far a new piece lies below the limit of a connection that it passes, m, and the variance of that, m2.
    ///
    /// With t of the length passed, that is height k less (1 - t) height i and t height j. The weights add up to zero, so that the variance
    /// is minus half the sum of the products of two weights with the variance of the difference of the two heights.
    fn below_m(&self, from: usize, to: usize, k: usize, above_m: f64) -> (f64, f64) {
        let t = self.level_m(from, k) / self.level_m(from, to);
        let below = above_m - (1.0 - t) * self.fall_m(from, k) + t * self.fall_m(k, to);
        let variance = (1.0 - t) * self.variance_m2(from, k) + t * self.variance_m2(k, to)
            - t * (1.0 - t) * self.variance_m2(from, to);
        // What is left of a difference of variances may fall below zero by its rounding.
        (below, if variance < 0.0 { 0.0 } else { variance })
    }

    /// Whether a new piece passes a connection below its limit as surely as asked.
    fn clears(&self, from: usize, to: usize, k: usize, above_m: f64) -> bool {
        let (below_m, variance) = self.below_m(from, to, k, above_m);
        below_m + roundoff(0.0) >= self.z * variance.sqrt()
    }

    /// The least that a fall must grow by for its slope to be as asked, m; negative where it could be less.
    fn least_more_m(&self, (from, to): (usize, usize), (min, max): (f64, f64)) -> Option<f64> {
        let (level_m, fall_m) = (self.level_m(from, to), self.fall_m(from, to));
        let meets = |more_m: f64| self.meets((from, to), (min, max), more_m);
        let least_m = min * level_m + self.z * self.fall_sd_m(from, to)? - fall_m;
        if meets(least_m) {
            return Some(least_m);
        }
        // Between two limits the probability rises up to the middle of them.
        let (mut low, mut high) = (least_m, 0.5 * (min + max) * level_m - fall_m);
        if !(high > low && meets(high)) {
            return None;
        }
        for _ in 0..60 {
            let middle = 0.5 * low + 0.5 * high;
            if meets(middle) {
                high = middle;
            } else {
                low = middle;
            }
        }
        Some(high)
    }

    /// Least lowering of the last invert with which a new piece to it, and the mean of the last reach, are as asked, m.
    pub(super) fn lowering_m(&self, from: usize, limits: (f64, f64), reach: Option<(usize, usize)>) -> Option<f64> {
        let last = self.last();
        let mut least_m = self.least_more_m((from, last), limits)?.max(0.0);
        if let Some((first, _)) = reach {
            least_m = least_m.max(self.least_more_m((first, last), self.strictest(first, last))?);
        }
        for (k, above_m) in self.may_bend(from + 1).take_while(|(k, _)| *k < last) {
            let (below_m, variance) = self.below_m(from, last, k, above_m);
            let missing_m = self.z * variance.sqrt() - below_m;
            // Passing below a connection at t of the length gains t of the lowering.
            if missing_m > roundoff(0.0) {
                least_m = least_m.max(missing_m * self.level_m(from, last) / self.level_m(from, k));
            } else if missing_m.is_nan() {
                return None;
            }
        }
        let reach_meets = reach.is_none_or(|reach| self.reach_meets(reach, least_m));
        (reach_meets && self.meets((from, last), limits, least_m)).then_some(least_m)
    }

    /// A piece between two nodes with its figures.
    pub(super) fn piece(&self, from: usize, to: usize, new: bool) -> Piece {
        let limits = if new { self.strictest(from, to) } else { self.kept_limits(from) };
        let mut piece = self.measured(from, to, limits);
        piece.new = new;
        if new {
            let passed = self.may_bend(from + 1).take_while(|(k, _)| *k < to).map(|(node, above_m)| {
                let (drop_m, variance) = self.below_m(from, to, node, above_m);
                let sd = variance.sqrt();
                let probability = at_least(drop_m, Some(sd), 0.0).unwrap_or(0.0);
                Passed { node, above_m, drop_m, drop_sd_m: sd, probability }
            });
            piece.passes = passed.collect();
        }
        piece
    }

    fn measured(&self, from: usize, to: usize, (min, max): (f64, f64)) -> Piece {
        let level_m = self.level_m(from, to);
        let (slope, sd) = (self.fall_m(from, to) / level_m, self.fall_sd_m(from, to).map(|sd| sd / level_m));
        Piece {
            from,
            to,
            new: false,
            slope,
            slope_sd: sd.unwrap_or(f64::INFINITY),
            min_slope: min,
            max_slope: Some(max).filter(|max| max.is_finite()),
            probability: self.chance(slope, sd, min, max).unwrap_or(0.0),
            passes: Vec::new(),
        }
    }

    /// First and last node of each reach, where means of reaches are measured.
    pub(super) fn reaches(&self) -> Vec<(usize, usize)> {
        if self.asked.measured_over == MeasuredOver::Piece {
            return Vec::new();
        }
        let reach = |span: usize| self.line.spans.get(span).map(|s| s.reach);
        let mut ends = vec![0];
        ends.extend((1..self.last()).filter(|node| reach(node - 1) != reach(*node)));
        ends.push(self.last());
        ends.iter().copied().zip(ends.iter().copied().skip(1)).collect()
    }

    /// Whether the mean of a reach is as asked, with that much more fall.
    pub(super) fn reach_meets(&self, (from, to): (usize, usize), more_m: f64) -> bool {
        self.meets((from, to), self.strictest(from, to), more_m)
    }

    /// The mean of a reach with its figures.
    pub(super) fn reach(&self, (from, to): (usize, usize)) -> Piece {
        self.measured(from, to, self.strictest(from, to))
    }

    /// The fall between two nodes against the fall that is asked for.
    pub(super) fn shortfall(&self, (from, to): (usize, usize), asked_m: f64) -> Shortfall {
        let (fall_m, sd, level_m) = (self.fall_m(from, to), self.fall_sd_m(from, to), self.level_m(from, to));
        let missing = |sd: f64| {
            let missing_m = asked_m + self.z * sd - fall_m;
            if missing_m <= roundoff(asked_m / level_m) * level_m { 0.0 } else { missing_m }
        };
        let slope = fall_m / level_m;
        Shortfall { from, to, fall_m, fall_sd_m: sd, slope, asked_m, missing_m: sd.map(missing) }
    }

    /// Fall that the least slopes ask for between two nodes, m.
    pub(super) fn asked_fall_m(&self, (from, to): (usize, usize)) -> f64 {
        (from..to).map(|span| self.limits(span).0 * self.level_m(span, span + 1)).sum()
    }

    /// The fall that must be there between two inverts that stay, whatever is re-laid, m.
    pub(super) fn least_fall_m(&self, (from, to): (usize, usize)) -> f64 {
        let least = |span: usize| self.limits(span).0.min(self.kept_limits(span).0);
        (from..to).map(|span| least(span) * self.level_m(span, span + 1)).sum()
    }

    /// Neighbouring inverts that no plan moves.
    pub(super) fn sections(&self) -> Vec<(usize, usize)> {
        let stays = |span: Option<&bool>| span == Some(&false);
        let fixed = |node: &usize| {
            self.bend.get(*node) == Some(&Bend::Must)
                || stays(self.may_dig.get(*node))
                || node.checked_sub(1).is_some_and(|span| stays(self.may_dig.get(span)))
        };
        let mut ends = vec![0];
        ends.extend((1..self.last()).filter(fixed));
        ends.push(self.last());
        ends.iter().copied().zip(ends.iter().copied().skip(1)).collect()
    }
}

/// The tighter of two pairs of limits.
fn tighter(one: (f64, f64), other: (f64, f64)) -> (f64, f64) {
    (one.0.max(other.0), one.1.min(other.1))
}

/// Whether a piece and what it passes are as asked at given heights of the nodes.
pub(super) fn holds(piece: &Piece, along_m: &[f64], heights_m: &[f64]) -> bool {
    let at = |node: usize| Some((*along_m.get(node)?, *heights_m.get(node)?));
    let Some(((x0, h0), (x1, h1))) = at(piece.from).zip(at(piece.to)) else { return false };
    let slope = (h0 - h1) / (x1 - x0);
    let min = piece.min_slope;
    slope >= min - roundoff(min)
        && piece.max_slope.is_none_or(|max| slope <= max + roundoff(max))
        && piece.passes.iter().all(|passed| {
            let Some((x, h)) = at(passed.node) else { return false };
            let new_m = h0 + (h1 - h0) * ((x - x0) / (x1 - x0));
            new_m <= h + passed.above_m + roundoff(0.0)
        })
}

/// Bounds of the probability that all pieces, what they pass, and reaches are as asked.
pub(super) fn joint_bounds<'p>(pieces: impl Iterator<Item = &'p Piece>) -> (f64, f64) {
    let each = pieces.flat_map(|p| core::iter::once(p.probability).chain(p.passes.iter().map(|c| c.probability)));
    let (misses, least) = each.fold((0.0, 1.0_f64), |(misses, least), p| (misses + (1.0 - p), least.min(p)));
    ((1.0 - misses).max(0.0), least)
}
