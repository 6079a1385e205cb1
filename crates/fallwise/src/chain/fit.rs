//! The exact penalised optimum of a piecewise-constant mean, by functional pruning.
//!
//! Minimised is the sum of w (y - mean of its segment)^2 plus a penalty for each break, over all segmentations. For
//! every possible mean mu of the segment now running, the best cost so far is the lower envelope of parabolas, one for
//! each place where that segment may have begun. A place whose parabola is nowhere lowest can never be the answer and
//! is dropped (FPOP: Maidstone, Hocking, Rigaill, Fearnhead 2017, Statistics and Computing 27:519-533). A handful
//! remain at any time, however many readings and however few breaks.
//!
//! Three choices keep it precise. A parabola is held as a (mu - m)^2 + c, where a reading is added without any
//! cancellation; c is counted from the best cost so far, so that it stays of the size of the penalty; the values are
//! centred on their median.
//!
//! Not modelled: minimum length, noise that is correlated from reading to reading.

use std::ops::Range;

use crate::error::{Error, require_finite, require_length};
use crate::math;

/// The least noise assumed, as a part of the largest departure from the median: without it noise-free readings would
/// have no penalty and split everywhere.
pub const LEAST_NOISE: f64 = 1e-9;

/// Values up to here and weights within these bounds keep every square and sum far from overflow.
const LARGEST_VALUE: f64 = 1e100;
const WEIGHTS: Range<f64> = 1e-50..1e50;
const PENALTIES: Range<f64> = 1e-12..1e50;

/// A break costs this part more than the penalty, so that of equal costs the one with fewer breaks is taken: ten times
/// closer than the 1e-9 to which the optimum is promised.
const FEWER: f64 = 1e-10;
/// Costs nearer than this part of the penalty are equal, and the earlier break is taken: well below `FEWER`, well
/// above rounding.
const EQUAL: f64 = 1e-11;

/// How to fit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FitOptions {
    /// Noise of a reading of weight 1, in the unit of the values; absent: estimated as [`math::spread_sd`] does for
    /// unrounded readings. Give it for readings shown to a coarse resolution.
    pub noise_sd: Option<f64>,
    /// Penalty for a break in units of the noise variance; absent: [`default_penalty`].
    pub penalty: Option<f64>,
}

/// A penalised segmentation.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Index of the first reading of each segment; begins with 0. Apart from the first and from hard breaks it is a
    /// reading with weight.
    pub starts: Vec<usize>,
    /// Weighted mean of each segment.
    pub means: Vec<f64>,
    /// Sum of weighted squares plus penalties (none for hard breaks), in units of the data squared.
    pub cost: f64,
    /// Penalty of one break, in units of the data squared.
    pub penalty: f64,
    /// Noise of a reading of weight 1, as used.
    pub noise_sd: f64,
}

/// Penalty for a break among `count` readings, in units of the noise variance: 3 ln n.
///
/// 2 ln n is Schwarz's criterion with two parameters a break, its place and the new mean (Yao 1988, Statistics and
/// Probability Letters 6:181-189, from memory). It counts the place as if it were a regular parameter; allowing for
/// the many places a break could be makes it about 3 ln n (Zhang and Siegmund 2007, Biometrics 63:22-32, from memory).
/// The higher one is taken: a break that is not there costs a survey more than a faint one missed. Of 1,000 runs of
/// pure noise, its sd estimated, 128, 30, 11 were broken at 2 ln n for 100, 600, 2,000 readings, and 11, 0, 0 at 3 ln n.
pub fn default_penalty(count: usize) -> f64 {
    3.0 * math::ln(count.max(2) as f64)
}

/// Penalised optimum of a piecewise-constant mean: exact to 1e-9 of its cost, in linear memory.
///
/// `values` and `weights` go together; a reading of weight 0 is passed over. `hard_breaks` are indices (growing, from 1
/// to the last) of readings that begin a segment in any case: the stretches between them are separate problems, and
/// the penalty does not count them. Of segmentations that cost the same the one with the fewest breaks is taken, of
/// those the one whose last break is earliest, then the last but one, and so on. The unit of the values does not
/// matter, nor does a constant added to them. The noise used is at least [`LEAST_NOISE`] of the largest departure from
/// the median (and a few roundings of the largest value).
///
/// ```
/// # use fallwise::chain::{FitOptions, fit};
/// let found = fit(&[0.1, 0.0, 0.1, 5.0, 5.1, 5.0], &[1.0; 6], &[], &FitOptions::default())?;
/// assert_eq!(found.starts, [0, 3]);
/// # Ok::<(), fallwise::Error>(())
/// ```
///
/// # Errors
/// [`Error::TooFew`] without a value; [`Error::Length`] unless there are as many weights; [`Error::Value`] for a value
/// beyond 1e100, a weight that is neither 0 nor within 1e-50 to 1e50, hard breaks that do not grow or leave a stretch
/// without weight, noise that is negative or beyond 1e100, a penalty not within 1e-12 to 1e50.
pub fn fit(values: &[f64], weights: &[f64], hard_breaks: &[usize], options: &FitOptions) -> Result<Fit, Error> {
    if values.is_empty() {
        return Err(Error::TooFew { field: "values".to_owned(), found: 0, needed: 1 });
    }
    require_length("weights", weights.len(), "values", values.len())?;
    require_values("values", values)?;
    require_weights("weights", weights)?;
    let stretches = stretches(weights, hard_breaks)?;

    let seen: Vec<usize> = (0..values.len()).filter(|&i| weights[i] > 0.0).collect();
    let w: Vec<f64> = seen.iter().map(|&i| weights[i]).collect();
    let mut z: Vec<f64> = seen.iter().map(|&i| values[i]).collect();
    let centre = math::median(&mut z.clone());
    let largest = z.iter().fold(0.0, |most: f64, v| most.max(v.abs()));
    for v in &mut z {
        *v -= centre;
    }
    let departure = z.iter().fold(0.0, |most: f64, v| most.max(v.abs()));

    let noise_sd = match options.noise_sd {
        Some(sd) if !(0.0..=LARGEST_VALUE).contains(&sd) => {
            return Err(Error::value("noise_sd", sd, "a number from 0 to 1e100"));
        }
        Some(sd) => sd,
        None => math::spread_sd(&z, &w, 0.0),
    };
    // Four roundings of the largest value: what a constant offset has cost the readings before they came here. The
    // last figure only keeps the penalty a normal number when all values are 0.
    let noise_sd = noise_sd.max(LEAST_NOISE * departure).max(4.0 * f64::EPSILON * largest).max(1e-100);
    let factor = options.penalty.unwrap_or_else(|| default_penalty(seen.len()));
    if !PENALTIES.contains(&factor) {
        return Err(Error::value("penalty", factor, "a number from 1e-12 to 1e50"));
    }
    let penalty = factor * noise_sd * noise_sd;

    let mut found = Fit { starts: Vec::new(), means: Vec::new(), cost: 0.0, penalty, noise_sd };
    let mut search = Search::default();
    let mut from = 0;
    for stretch in stretches {
        let to = from + seen[from..].partition_point(|&i| i < stretch.end);
        let begins = search.optimum(&z[from..to], &w[from..to], penalty);
        let ends = begins.iter().skip(1).copied().chain([to - from]);
        for (&begin, end) in begins.iter().zip(ends) {
            let (z, w) = (&z[from + begin..from + end], &w[from + begin..from + end]);
            let mean = weighted_mean(z, w);
            found.starts.push(if begin == 0 { stretch.start } else { seen[from + begin] });
            found.means.push(mean + centre);
            found.cost += z.iter().zip(w).map(|(z, w)| w * ((z - mean) * (z - mean))).sum::<f64>();
        }
        found.cost += penalty * (begins.len() - 1) as f64;
        from = to;
    }
    Ok(found)
}

/// The parabola of the segments that begin at `start`, where it is the lowest: a (mu - m)^2 + c up to `right`.
#[derive(Debug, Clone, Copy)]
struct Piece {
    /// Sum of weights.
    a: f64,
    /// Weighted mean.
    m: f64,
    /// Cost at `m`, counted from the best cost up to the reading before.
    c: f64,
    /// Upper end; the lower end is that of the piece before.
    right: f64,
    /// First reading of the segment.
    start: usize,
}

impl Piece {
    /// With one more reading in the segment.
    #[inline]
    fn with(self, value: f64, weight: f64) -> Self {
        let a = self.a + weight;
        let share = weight / a;
        let d = value - self.m;
        Self { a, m: self.m + share * d, c: self.c + (self.a * share) * (d * d), ..self }
    }
}

/// Work space: the envelope before and after a reading, and where the best last segment up to each reading begins.
#[derive(Debug, Default)]
struct Search {
    envelope: Vec<Piece>,
    next: Vec<Piece>,
    begin: Vec<usize>,
}

impl Search {
    /// First readings of the optimal segments of one stretch, which is not empty.
    fn optimum(&mut self, values: &[f64], weights: &[f64], penalty: f64) -> Vec<usize> {
        self.begin.clear();
        self.begin.reserve(values.len());
        self.envelope.clear();
        let (low, high) = values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), &v| (l.min(v), h.max(v)));
        let a_break = penalty * (1.0 + FEWER);
        let equal = penalty * EQUAL;
        let mut best = 0.0;
        for (start, (&value, &weight)) in values.iter().zip(weights).enumerate() {
            // A segment that begins at this reading fits it exactly.
            let fresh = Piece { a: weight, m: value, c: a_break, right: high, start };
            self.next.clear();
            if start == 0 {
                self.next.push(Piece { c: 0.0, ..fresh });
            }
            advance(&self.envelope, &mut self.next, low, best, a_break + equal, fresh);
            std::mem::swap(&mut self.envelope, &mut self.next);
            let mut lowest = fresh;
            lowest.c = f64::INFINITY;
            for piece in &self.envelope {
                if piece.c < lowest.c - equal || (piece.c <= lowest.c + equal && piece.start < lowest.start) {
                    lowest = *piece;
                }
            }
            best = lowest.c;
            self.begin.push(lowest.start);
        }
        let mut starts = Vec::new();
        let mut end = values.len();
        while end > 0 {
            end = self.begin[end - 1]; // at most end - 1, so this ends
            starts.push(end);
        }
        starts.reverse();
        starts
    }
}

/// The envelope with one more reading: the old pieces where they cost at most `limit`, `fresh` everywhere else.
fn advance(old: &[Piece], new: &mut Vec<Piece>, low: f64, best: f64, limit: f64, fresh: Piece) {
    let mut left = low;
    let mut fresh_is_last = false;
    let begin_afresh = |new: &mut Vec<Piece>, fresh_is_last: &mut bool, right: f64| match new.last_mut() {
        Some(last) if *fresh_is_last => last.right = right,
        _ => {
            new.push(Piece { right, ..fresh });
            *fresh_is_last = true;
        }
    };
    for piece in old {
        let (right, c) = (piece.right, piece.c - best);
        let reach = (left - piece.m).abs().max((right - piece.m).abs());
        let piece = Piece { c, ..*piece };
        if c + piece.a * (reach * reach) <= limit {
            new.push(piece.with(fresh.m, fresh.a));
            fresh_is_last = false;
        } else {
            let half = ((limit - c).max(0.0) / piece.a).sqrt();
            let (from, to) = (left.max(piece.m - half), right.min(piece.m + half));
            if c <= limit && from <= to {
                if left < from {
                    begin_afresh(new, &mut fresh_is_last, from);
                }
                new.push(Piece { right: to, ..piece }.with(fresh.m, fresh.a));
                fresh_is_last = false;
                if to < right {
                    begin_afresh(new, &mut fresh_is_last, right);
                }
            } else {
                begin_afresh(new, &mut fresh_is_last, right);
            }
        }
        left = right;
    }
}

/// Ranges of readings between hard breaks, each with some weight.
fn stretches(weights: &[f64], hard_breaks: &[usize]) -> Result<Vec<Range<usize>>, Error> {
    let mut stretches = Vec::with_capacity(hard_breaks.len() + 1);
    let mut start = 0;
    for (i, &end) in hard_breaks.iter().enumerate() {
        if end <= start || end >= weights.len() {
            return Err(Error::at("hard_breaks", i, end, "growing indices of readings, from 1 to the last"));
        }
        stretches.push(start..end);
        start = end;
    }
    stretches.push(start..weights.len());
    let empty = |range: &Range<usize>| weights[range.clone()].iter().all(|&w| w <= 0.0);
    match stretches.iter().find(|range| empty(range)) {
        Some(range) => Err(Error::at("weights", range.start, "0", "a positive weight in every stretch")),
        None => Ok(stretches),
    }
}

/// Weighted mean; the weights are not all 0.
pub(super) fn weighted_mean(values: &[f64], weights: &[f64]) -> f64 {
    let total: f64 = weights.iter().sum();
    let about = |origin: f64| values.iter().zip(weights).map(|(v, w)| w * (v - origin)).sum::<f64>() / total;
    // The second round takes away the rounding of the first.
    let mean = about(0.0);
    mean + about(mean)
}

/// Refuses values that are not finite or whose squares could overflow.
pub(super) fn require_values(field: &str, values: &[f64]) -> Result<(), Error> {
    require_finite(field, values)?;
    match values.iter().position(|v| v.abs() > LARGEST_VALUE) {
        Some(i) => Err(Error::at(field, i, values[i], "a number within 1e100 of 0")),
        None => Ok(()),
    }
}

/// Refuses weights that are neither 0 nor within bounds.
pub(super) fn require_weights(field: &str, weights: &[f64]) -> Result<(), Error> {
    // Both zeros are 0; NaN is in no range.
    match weights.iter().position(|w| !(*w == 0.0 || WEIGHTS.contains(w))) {
        Some(i) => Err(Error::at(field, i, weights[i], "0, or a weight from 1e-50 to 1e50")),
        None => Ok(()),
    }
}
