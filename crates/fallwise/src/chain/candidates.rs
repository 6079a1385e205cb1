//! Where breaks may be, and what the readings under the head say of each.

use super::average::Averaging;
use crate::math;
use crate::prelude::*;

/// Readings to either side of a break that was found at which it may lie as well.
const NEIGHBOURS: usize = 3;
/// Candidates that are there whatever the readings say.
const PLAIN: usize = 100;
/// Every so many readings one of them, at least.
const PLAIN_STEP: usize = 10;
/// Odds of a break about a noted joint (our choice), and the part of them that is at its very place.
const JOINT_ODDS: f64 = 1.0;
const AT_JOINT: f64 = 0.5;
/// Pipe on either side of a break from which the mean there is guessed while the break is under the head, m. Our choice.
const BESIDE_M: f64 = 0.5;

/// Readings with weight, and their sums from the first on.
pub(super) struct Sums {
    pub(super) station_m: Vec<f64>,
    pub(super) value: Vec<f64>,
    w: Vec<f64>,
    wy: Vec<f64>,
    wyy: Vec<f64>,
}

impl Sums {
    /// Of values counted from about their middle, so that squares lose no digits.
    pub(super) fn new(station_m: Vec<f64>, value: Vec<f64>, weight: &[f64]) -> Self {
        let mut sums = Self { station_m, value, w: vec![0.0], wy: vec![0.0], wyy: vec![0.0] };
        let (mut w, mut wy, mut wyy) = (0.0, 0.0, 0.0);
        for (v, weight) in sums.value.iter().zip(weight) {
            w += weight;
            wy += weight * v;
            wyy += weight * v * v;
            sums.w.push(w);
            sums.wy.push(wy);
            sums.wyy.push(wyy);
        }
        sums
    }

    /// Weight, mean and sum of squares about it of readings a to b.
    pub(super) fn of(&self, a: usize, b: usize) -> (f64, f64, f64) {
        let w = self.w[b] - self.w[a];
        let y = self.wy[b] - self.wy[a];
        let mean = y / w;
        (w, mean, (self.wyy[b] - self.wyy[a] - y * mean).max(0.0))
    }
}

/// A place where a break may be.
#[derive(Debug, Clone, Copy)]
pub(super) struct Candidate {
    /// The reading (with weight) that begins the segment after it.
    pub(super) reading: usize,
    pub(super) station_m: f64,
    /// Its share of the prior of one break.
    pub(super) share: f64,
    /// Odds of a break on top of that, of a noted joint.
    pub(super) odds: f64,
    /// How far a break that it stands for may lie before and after it, m.
    pub(super) slip_m: (f64, f64),
    /// A break in any case.
    pub(super) hard: bool,
    /// Readings up to here are clear of the head while the break is under it (exclusive), and from here on.
    pub(super) clear: (usize, usize),
    /// Logarithm of what the readings under the head say for a break, against none.
    pub(super) log_ramp: f64,
}

/// The candidates in order; the first and the last are the ends.
pub(super) fn candidates(sums: &Sums, of: &Averaging<'_>, found: [&[usize]; 2], hard: &[usize]) -> Vec<Candidate> {
    let n = sums.value.len();
    let mut places: Vec<usize> = hard.to_vec();
    let joints: Vec<usize> = of.joints_m.iter().map(|at| sums.station_m.partition_point(|s| s < at)).collect();
    for &start in found.iter().flat_map(|starts| starts.iter().skip(1)).chain(&joints) {
        places.extend(start.saturating_sub(NEIGHBOURS)..=start + NEIGHBOURS);
    }
    let odds = |place: usize| -> f64 {
        let near = joints.iter().map(|joint| joint.abs_diff(place)).filter(|off| *off <= NEIGHBOURS);
        let beside = JOINT_ODDS * (1.0 - AT_JOINT) / (2 * NEIGHBOURS) as f64;
        near.map(|off| if off == 0 { JOINT_ODDS * AT_JOINT } else { beside }).sum()
    };
    // Laid from both ends, so that a run read the other way has the same ones.
    let plain = (n / PLAIN_STEP).min(PLAIN);
    places.extend((1..=plain / 2).map(|k| k * n / plain).flat_map(|p| [p, n - p]));
    places.retain(|p| (1..n).contains(p));
    places.extend([0, n]);
    places.sort_unstable();
    places.dedup();
    let station = |p: usize| match (hard.binary_search(&p), p) {
        (Ok(k), _) => of.hard_breaks_m[k],
        (_, 0) => of.ends_m.0,
        (_, p) if p == n => of.ends_m.1,
        (_, p) => 0.5 * sums.station_m[p - 1] + 0.5 * sums.station_m[p],
    };
    let place = |i: usize| places.get(i).copied();
    // Where the readings that one candidate stands for end and those of the next begin: at a reading, or between two.
    let limit = |one: usize, other: usize| {
        let middle = usize::midpoint(one, other);
        let before = if (one + other) % 2 == 1 { middle } else { middle.saturating_sub(1) };
        0.5 * sums.station_m[before.min(n - 1)] + 0.5 * sums.station_m[middle.min(n - 1)]
    };
    // A reading half a head away is of one side alone, whichever way its station was rounded.
    let half = 0.5 * of.head_length_m * (1.0 - 1e-6);
    places
        .iter()
        .enumerate()
        .map(|(i, &p)| {
            let is_hard = p == 0 || p == n || hard.binary_search(&p).is_ok();
            let before = i.checked_sub(1).and_then(place).unwrap_or(p);
            let after = place(i + 1).unwrap_or(p);
            let station_m = station(p);
            let slip_m = ((station_m - limit(before, p)).max(0.0), (limit(p, after) - station_m).max(0.0));
            let under = (
                sums.station_m.partition_point(|s| *s < station_m - half).min(p),
                sums.station_m.partition_point(|s| *s <= station_m + half).max(p),
            );
            Candidate {
                reading: p,
                station_m,
                share: (slip_m.0 + slip_m.1) / (of.ends_m.1 - of.ends_m.0),
                odds: if is_hard { 0.0 } else { odds(p) },
                slip_m: if is_hard { (0.0, 0.0) } else { slip_m },
                hard: is_hard,
                // At the ends of the survey nothing is under the head but the pipe's own end.
                clear: if p == 0 || p == n || half <= 0.0 { (p, p) } else { under },
                log_ramp: 0.0,
            }
        })
        .collect()
}

/// What the readings under the head say for a break at each candidate: that they lie on the line between the means of
/// the pipe on either side.
pub(super) fn ramps(
    candidates: &mut [Candidate],
    sums: &Sums,
    weight: &[f64],
    starts: &[usize],
    against: &[f64],
    head_length_m: f64,
    half: f64,
) {
    let n = sums.value.len();
    // A certain break needs no reason.
    for c in candidates.iter_mut().filter(|c| c.clear.0 < c.clear.1 && !c.hard) {
        let (a, b) = c.clear;
        // Beside the head, but not beyond the next break of the optimum.
        let reach_m = (0.5 * head_length_m + BESIDE_M) * (1.0 + 1e-6);
        let left_from = sums.station_m.partition_point(|s| *s < c.station_m - reach_m);
        let right_to = sums.station_m.partition_point(|s| *s <= c.station_m + reach_m);
        let before = starts.partition_point(|s| *s < a).checked_sub(1).map_or(0, |k| starts[k]);
        let after = starts.get(starts.partition_point(|s| *s <= b)).copied().unwrap_or(n);
        let (left_from, right_to) = (left_from.max(before), right_to.min(after));
        if left_from >= a || right_to <= b {
            continue;
        }
        let (left, right) = (sums.of(left_from, a).1, sums.of(b, right_to).1);
        // A break that the candidate stands for lies up to a spacing away, which moves what is read under the head.
        let moved = (right - left) * (c.slip_m.0 + c.slip_m.1) / head_length_m;
        let variance = 0.5 / half;
        let wide = variance + moved * moved / 12.0;
        let log: f64 = (a..b)
            .map(|i| {
                let share = ((sums.station_m[i] - c.station_m) / head_length_m + 0.5).clamp(0.0, 1.0);
                let off = sums.value[i] - (left + share * (right - left));
                weight[i] * (0.5 * off * off / wide + 0.5 * math::ln(wide / variance))
            })
            .sum();
        c.log_ramp = half * (against[b] - against[a]) - log;
    }
}
