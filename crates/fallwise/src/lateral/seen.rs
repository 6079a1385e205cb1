//! What of the pipe the readings saw.
//!
//! A reading speaks of the pipe about it. Where two lie further apart than half as far again as readings of their run
//! usually do, and more than a metre and a half, what lies between was not seen: a belly fits in. However far apart they
//! usually are, a reading speaks of one stick at most. (Our choice.)

use crate::prelude::*;
use crate::{
    condition::Trace,
    math,
    model::AsBuilt,
    said,
    units::{Part, Said},
};

/// Readings as close as this leave nothing unseen, m: a backfall that our own limit forbids does not fit between two heads.
const CLOSE_M: f64 = 1.5;
/// Readings further apart than this do, whatever is usual, m: the longest sticks are 20 ft (common practice, no source).
const STICK_M: f64 = 6.5;
/// More than this times the usual spacing is a gap.
const USUAL: f64 = 1.5;

/// Stretches between readings, of all runs together, that no run saw, m; of inverts, those further apart than a stick.
pub(super) fn unseen_m(traces: &[Trace], as_built: &[AsBuilt]) -> Vec<(f64, f64)> {
    let mut seen: Vec<(f64, f64)> = if traces.is_empty() {
        let stations: Vec<f64> = as_built.iter().map(|a| a.station_m).collect();
        close_pairs(&stations, STICK_M).collect()
    } else {
        traces.iter().flat_map(|t| close_pairs(&t.station_m, limit_m(&t.station_m))).collect()
    };
    let stations = || {
        let inverts = as_built.iter().filter(|_| traces.is_empty()).map(|a| a.station_m);
        traces.iter().flat_map(|t| t.station_m.iter().copied()).chain(inverts)
    };
    let (Some(first), Some(last)) = (stations().reduce(f64::min), stations().reduce(f64::max)) else {
        return Vec::new();
    };
    seen.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut unseen = Vec::new();
    let mut upto = first;
    for (from_m, to_m) in seen.into_iter().chain([(last, last)]) {
        if from_m > upto {
            unseen.push((upto, from_m));
        }
        upto = upto.max(to_m);
    }
    unseen
}

/// Stretches with others, in order, overlapping ones as one.
pub(super) fn joined(unseen_m: Vec<(f64, f64)>, others: impl Iterator<Item = (f64, f64)>) -> Vec<(f64, f64)> {
    let mut all: Vec<(f64, f64)> = unseen_m.into_iter().chain(others).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut joined: Vec<(f64, f64)> = Vec::with_capacity(all.len());
    for (from_m, to_m) in all {
        match joined.last_mut() {
            Some(last) if from_m <= last.1 => last.1 = last.1.max(to_m),
            _ => joined.push((from_m, to_m)),
        }
    }
    joined
}

/// Median distance between successive stations, m; nothing of fewer than two.
pub(super) fn usual_spacing_m(station_m: &[f64]) -> Option<f64> {
    let mut spacings: Vec<f64> = station_m.windows(2).map(|pair| pair[1] - pair[0]).collect();
    (!spacings.is_empty()).then(|| math::median(&mut spacings))
}

/// A warning for each unseen stretch.
pub(super) fn told(unseen_m: &[(f64, f64)], inverts: bool) -> Vec<Said> {
    let told = |&(from_m, to_m): &(f64, f64)| {
        let (from, to) = (Part::Number(from_m, 2), Part::Number(to_m, 2));
        if inverts {
            said!(
                "between {from} m and {to} m the inverts are too far apart to show the shape of the pipe: only the mean \
                 slope is known there",
                from = from,
                to = to
            )
        } else {
            said!(
                "between {from} m and {to} m there are no readings: what is shown there joins the readings on either \
                 side, and findings leave it undecided",
                from = from,
                to = to
            )
        }
    };
    unseen_m.iter().map(told).collect()
}

fn limit_m(station_m: &[f64]) -> f64 {
    usual_spacing_m(station_m).map_or(CLOSE_M, |usual| (USUAL * usual).clamp(CLOSE_M, STICK_M))
}

/// Pairs of successive stations at most `limit_m` apart.
fn close_pairs(station_m: &[f64], limit_m: f64) -> impl Iterator<Item = (f64, f64)> {
    // A rounding of stations must not part readings that lie just at the limit.
    station_m.windows(2).map(|pair| (pair[0], pair[1])).filter(move |(a, b)| b - a <= limit_m + 1e-9)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn inverts(station_m: &[f64]) -> Vec<AsBuilt> {
        station_m.iter().map(|&station_m| AsBuilt { station_m, invert_m: 0.0, sd_m: None }).collect()
    }

    #[test]
    fn readings_speak_of_a_stick_at_most() {
        let close: Vec<f64> = (0..40).map(|i| 0.1 * f64::from(i)).collect();
        let sticks = [1.5, 4.5, 7.5, 52.5, 55.5];
        let sparse = [0.0, 10.0, 20.0];
        let pairs = |s: &[f64]| close_pairs(s, limit_m(s)).count();
        assert_eq!((pairs(&close), pairs(&sticks), pairs(&sparse)), (39, 3, 0));
    }

    #[test]
    fn inverts_further_apart_than_a_stick_hide_the_pipe() {
        assert_eq!(unseen_m(&[], &inverts(&[0.0, 6.0, 60.0])), [(6.0, 60.0)]);
        assert_eq!(unseen_m(&[], &inverts(&[0.0, 3.0, 6.0])), []);
        assert_eq!(unseen_m(&[], &[]), []);
    }
}
