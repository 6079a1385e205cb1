//! Functional pruning: the best last segment for every mean it could have, reading by reading.
//!
//! For every possible mean mu of the segment now running, the best cost so far is the lower envelope of one function
//! for each place where that segment may have begun. A place whose function is nowhere lowest can never be the answer
//! and is dropped (FPOP: Maidstone, Hocking, Rigaill, Fearnhead 2017, Statistics and Computing 27:519-533).
//!
//! - **Squares**: the functions are parabolas, and a handful remain at any time, however many readings and however few
//!   breaks.
//! - **Biweight**: a reading adds a parabola within the threshold and a constant beyond it, so that the functions are
//!   parabolas in pieces, cut where a reading's threshold lies (Fearnhead and Rigaill 2019, Journal of the American
//!   Statistical Association 114:169-183). Pieces that cannot win are dropped just the same.
//! - **Least length**: a segment that is too short may not end yet, so its start must not win as if it could. But any
//!   two starts have the readings after the later one in common, and can be compared without them. So the envelope
//!   stays behind by the least length less one and is pruned there as ever; the readings between, the window, are
//!   summed apart, and added only to find the cost of ending now. Nothing is approximated. (Our own arrangement; with
//!   inequality pruning, delayed starts are common.)
//!
//! Two things keep it precise. A piece is held as a (mu - m)^2 + c, where a reading is added without any cancellation.
//! And c is counted from the least cost so far, so that it stays of the size of the penalty.

use crate::prelude::*;
use alloc::collections::VecDeque;
use core::cmp::Ordering;
use core::ops::Range;

/// A break costs this part more than the penalty, so that of equal costs the one with fewer breaks is taken: ten times
/// closer than the 1e-9 to which the optimum is promised.
const FEWER: f64 = 1e-10;
/// Costs nearer than this part of the penalty are equal, and the earlier break is taken: well below `FEWER`, well
/// above rounding.
const EQUAL: f64 = 1e-11;

/// What a segmentation costs and which are allowed.
#[derive(Debug)]
pub(super) struct Rules {
    /// Cost of a break.
    pub(super) penalty: f64,
    /// A reading farther than this from the mean counts as if it were this far; infinite for squares.
    pub(super) threshold: f64,
    /// Least number of readings in a segment.
    pub(super) least: usize,
}

/// A segment of the optimum: its first reading, and the mean that makes its cost least.
#[derive(Debug, Clone, Copy)]
pub(super) struct Segment {
    pub(super) begin: usize,
    pub(super) mean: f64,
}

/// Part of the cost of the segments that begin at `start`: a (mu - m)^2 + c from the end of the piece before to `right`.
///
/// With the biweight loss the parabola is that cost within the piece and above it elsewhere, since a reading that is
/// cut off in one place and not in the other always counts with the larger of its two costs. So the least c of all
/// pieces is the least cost, whether or not every m lies in its piece.
#[derive(Debug, Clone, Copy)]
struct Piece {
    /// Sum of the weights of the readings that are not cut off; 0 where all are.
    a: f64,
    /// Their weighted mean; where there are none, the first reading.
    m: f64,
    /// Cost at `m`, counted from the least cost of the readings before the last one.
    c: f64,
    /// Upper end.
    right: f64,
    /// First reading of the segment.
    start: usize,
}

impl Piece {
    /// With one more reading, which is not cut off.
    #[inline]
    fn with(self, value: f64, weight: f64) -> Self {
        let a = self.a + weight;
        let share = weight / a;
        let d = value - self.m;
        Self { a, m: self.m + share * d, c: self.c + (self.a * share) * (d * d), ..self }
    }

    fn cost(&self, mean: f64) -> f64 {
        self.a * ((mean - self.m) * (mean - self.m)) + self.c
    }

    /// With all the readings of another piece.
    fn with_all(self, other: &Self) -> Self {
        let sum = if other.a > 0.0 { self.with(other.m, other.a) } else { self };
        Self { c: sum.c + other.c, ..sum }
    }
}

/// A reading: what it adds to the cost of a mean.
#[derive(Debug, Clone, Copy)]
struct Reading<const CUT_OFF: bool> {
    value: f64,
    weight: f64,
    /// Nearer than this it adds weight (mu - value)^2,
    from: f64,
    to: f64,
    /// and elsewhere this.
    cut_off: f64,
}

impl<const CUT_OFF: bool> Reading<CUT_OFF> {
    fn new(value: f64, weight: f64, threshold: f64) -> Self {
        let (from, to) = (value - threshold, value + threshold);
        Self { value, weight, from, to, cut_off: weight * (threshold * threshold) }
    }

    fn cost(&self, mean: f64) -> f64 {
        (self.weight * ((mean - self.value) * (mean - self.value))).min(self.cut_off)
    }

    /// Adds itself to a piece that begins at `left`, in up to three parts.
    #[inline]
    fn add_to(&self, piece: Piece, left: f64, pieces: &mut Vec<Piece>) {
        let near = |right: f64| Piece { right, ..piece }.with(self.value, self.weight);
        if !CUT_OFF || (self.from <= left && piece.right <= self.to) {
            pieces.push(near(piece.right));
            return;
        }
        let far = Piece { c: piece.c + self.cut_off, ..piece };
        let (from, to) = (left.max(self.from), piece.right.min(self.to));
        if from >= to {
            pieces.push(far);
            return;
        }
        if left < from {
            pieces.push(Piece { right: from, ..far });
        }
        pieces.push(near(to));
        if to < piece.right {
            pieces.push(far);
        }
    }
}

/// Work space for one stretch after the other.
#[derive(Debug, Default)]
pub(super) struct Search {
    /// Lower envelope, and the next one.
    envelope: Vec<Piece>,
    next: Vec<Piece>,
    /// Cost of the readings between the envelope and the end of the segment, for every mean.
    window: Vec<Piece>,
    /// Least costs of all readings up to those ends that the envelope has not come to, counted as its own; empty where it
    /// is never behind.
    ahead: VecDeque<f64>,
    /// The best last segment for each end, from the least number of readings on.
    last: Vec<Segment>,
}

impl Search {
    /// Segments of the optimum of one stretch, which is not empty. If it is shorter than the least length, it is one.
    pub(super) fn optimum(&mut self, values: &[f64], weights: &[f64], rules: &Rules) -> Vec<Segment> {
        if rules.threshold.is_finite() {
            self.optimum_of::<true>(values, weights, rules)
        } else {
            self.optimum_of::<false>(values, weights, rules)
        }
    }

    /// Whether readings can be cut off is known beforehand, so that squares need not look: a third of their time.
    fn optimum_of<const CUT_OFF: bool>(&mut self, values: &[f64], weights: &[f64], rules: &Rules) -> Vec<Segment> {
        let least = rules.least.clamp(1, values.len());
        let (low, high) = values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), &v| (l.min(v), h.max(v)));
        let a_break = rules.penalty * (1.0 + FEWER);
        let equal = rules.penalty * EQUAL;
        let reading = |i: usize| Reading::<CUT_OFF>::new(values[i], weights[i], rules.threshold);
        let blank = |start: usize, c: f64| Piece { a: 0.0, m: values[start], c, right: high, start };
        self.envelope.clear();
        self.envelope.push(blank(0, 0.0));
        self.ahead.clear();
        self.last.clear();
        self.last.reserve(values.len());
        // What costs are counted from: the least so far, whether or not the last segment is long enough.
        let mut floor = 0.0;
        for start in 0..=values.len() - least {
            // The best cost up to here; none where the readings up to here are too few for a segment.
            let best = if start < least { f64::INFINITY } else { self.ahead.pop_front().unwrap_or(floor) };
            let shift = best.min(floor);
            self.ahead.iter_mut().for_each(|cost| *cost -= shift);
            let best = best - shift;
            let fresh = blank(start, best + a_break);
            self.next.clear();
            advance(&self.envelope, &mut self.next, low, shift, best + (a_break + equal), fresh, &reading(start));
            core::mem::swap(&mut self.envelope, &mut self.next);
            let mut lowest = Piece { c: f64::INFINITY, ..fresh };
            let mut compare = |piece: &Piece| {
                let better = match piece.start.cmp(&lowest.start) {
                    Ordering::Less => piece.c <= lowest.c + equal,
                    Ordering::Equal => piece.c < lowest.c, // another mean of the same segment
                    Ordering::Greater => piece.c < lowest.c - equal,
                };
                if better {
                    lowest = *piece;
                }
            };
            if least == 1 {
                self.envelope.iter().for_each(&mut compare);
                floor = lowest.c;
            } else {
                // No mean is of use that costs more than that of the best segment up to the reading before.
                let mean = self.last.last().map_or(fresh.m, |last| last.mean.max(low).min(high));
                let window = (start + 1..start + least).map(reading);
                let low = self.sum_window(window, blank(start, 0.0), low, mean, equal);
                sums(&self.envelope, &self.window, low).for_each(|piece| compare(&piece));
                floor = self.envelope.iter().map(|piece| piece.c).fold(f64::INFINITY, f64::min);
                self.ahead.push_back(lowest.c);
            }
            self.last.push(Segment { begin: lowest.start, mean: lowest.m });
        }
        let mut segments = Vec::new();
        let mut end = values.len();
        while end > 0 {
            // A segment that does not begin the stretch leaves at least the least number before it.
            let segment = self.last[end - least];
            segments.push(segment);
            end = segment.begin;
        }
        segments.reverse();
        segments
    }

    /// Puts the cost of `readings` into the window, for those means that could cost less, envelope and all, than `mean`
    /// does, or as little but for `equal`. Returns where these begin.
    fn sum_window<const CUT_OFF: bool>(
        &mut self,
        readings: impl Iterator<Item = Reading<CUT_OFF>> + Clone,
        blank: Piece,
        low: f64,
        mean: f64,
        equal: f64,
    ) -> f64 {
        let (mut low, mut high, mut most) = (low, blank.right, f64::INFINITY);
        if CUT_OFF {
            let here = self.envelope.iter().find(|piece| mean <= piece.right).map_or(0.0, |piece| piece.cost(mean));
            // A thousandth for rounding; what is kept in vain does no harm.
            most = 1.001 * (here + readings.clone().map(|reading| reading.cost(mean)).sum::<f64>() + equal);
            let (kept, from) = hull(&self.envelope, low, most);
            (low, high) = (from, self.envelope[..kept.end].last().map_or(high, |piece| piece.right));
        }
        self.window.clear();
        self.window.push(Piece { right: high, ..blank });
        for reading in readings {
            self.next.clear();
            let mut left = low;
            for piece in &self.window {
                reading.add_to(*piece, left, &mut self.next);
                left = piece.right;
            }
            core::mem::swap(&mut self.window, &mut self.next);
            if CUT_OFF {
                let (kept, from) = hull(&self.window, low, most);
                low = from;
                self.window.truncate(kept.end);
                self.window.drain(..kept.start);
            }
        }
        low
    }
}

/// The envelope with one more reading: the old pieces where they cost at most `limit`, `fresh` everywhere else. Costs of
/// the old pieces are counted from `shift` on.
fn advance<const CUT_OFF: bool>(
    old: &[Piece],
    new: &mut Vec<Piece>,
    low: f64,
    shift: f64,
    limit: f64,
    fresh: Piece,
    reading: &Reading<CUT_OFF>,
) {
    let mut left = low;
    // Where the part that begins afresh begins, if the last part does.
    let mut afresh: Option<f64> = None;
    for piece in old {
        let (right, c) = (piece.right, piece.c - shift);
        let reach = (left - piece.m).abs().max((right - piece.m).abs());
        let piece = Piece { c, ..*piece };
        let (from, to) = if c + piece.a * (reach * reach) <= limit {
            (left, right)
        } else {
            let half = ((limit - c).max(0.0) / piece.a).sqrt();
            (left.max(piece.m - half), right.min(piece.m + half))
        };
        if c <= limit && from <= to {
            if left < from {
                afresh = afresh.or(Some(left));
            }
            if let Some(left) = afresh.take() {
                reading.add_to(Piece { right: from, ..fresh }, left, new);
            }
            reading.add_to(Piece { right: to, ..piece }, from, new);
            if to < right {
                afresh = Some(to);
            }
        } else {
            afresh = afresh.or(Some(left));
        }
        left = right;
    }
    if let Some(left) = afresh {
        reading.add_to(fresh, left, new);
    }
}

/// The pieces from the first to the last that somewhere cost at most `most`, and where the first of them begins.
fn hull(pieces: &[Piece], low: f64, most: f64) -> (Range<usize>, f64) {
    let mut kept: Option<(Range<usize>, f64)> = None;
    let mut left = low;
    for (i, piece) in pieces.iter().enumerate() {
        if piece.cost(piece.m.max(left).min(piece.right)) <= most {
            kept = Some(kept.map_or((i..i + 1, left), |(range, from)| (range.start..i + 1, from)));
        }
        left = piece.right;
    }
    // There is one; if rounding hid it, all are kept.
    kept.unwrap_or((0..pieces.len(), low))
}

/// Sums of two piecewise costs from `low` to where the first of them ends; of `costs` remains where each segment begins.
fn sums<'a>(costs: &'a [Piece], others: &'a [Piece], low: f64) -> impl Iterator<Item = Piece> + 'a {
    let (mut i, mut k) = (costs.partition_point(|piece| piece.right < low), 0);
    core::iter::from_fn(move || {
        let (cost, other) = (costs.get(i)?, others.get(k)?);
        if cost.right <= other.right {
            i += 1;
        }
        if other.right <= cost.right {
            k += 1;
        }
        Some(cost.with_all(other))
    })
}
