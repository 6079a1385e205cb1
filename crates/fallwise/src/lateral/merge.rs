//! The readings of all runs as one, for finding segments only. The adjustment takes the readings as they are.
//!
//! Offsets of runs are not breaks. So each run is shifted: the differences of all pairs of runs that overlap, each the
//! median over their common ground with the number of readings behind it as weight, are met by shifts in the sense of
//! least squares; the shifts of runs that hang together add up to nothing. No run is the first among them, so their order
//! does not matter, and a run that overlaps only the second is tied through it.

use crate::prelude::*;
use crate::{condition::Trace, math};

/// What the fit sees.
#[derive(Debug, Default)]
pub(super) struct Merged {
    pub(super) station_m: Vec<f64>,
    pub(super) tilt_rad: Vec<f64>,
    pub(super) weight: Vec<f64>,
    /// What a reading scatters by: the fit must not see less noise than that.
    pub(super) noise_sd_rad: f64,
}

/// Readings of all runs by station.
pub(super) fn merge(traces: &[Trace]) -> Merged {
    let mut rows: Vec<(f64, f64, f64)> = Vec::new();
    for (t, shift) in traces.iter().zip(shifts(traces)) {
        rows.extend(t.station_m.iter().zip(&t.tilt_rad).zip(&t.weight).map(|((&s, &t), &w)| (s, t - shift, w)));
    }
    Merged { noise_sd_rad: traces.iter().map(|t| t.scatter_sd_rad).fold(0.0, f64::max), ..by_station(rows) }
}

/// Stations, tilts and weights in order of station, those at one station combined.
pub(super) fn by_station(mut rows: Vec<(f64, f64, f64)>) -> Merged {
    // By all three, so that the order of runs does not matter.
    rows.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.total_cmp(&b.2)));
    let mut merged = Merged::default();
    for (s, t, w) in rows {
        match (merged.station_m.last(), merged.tilt_rad.last_mut(), merged.weight.last_mut()) {
            (Some(&last), Some(mean), Some(weight)) if last == s => {
                let sum = *weight + w;
                if sum > 0.0 {
                    *mean = (*mean * *weight + t * w) / sum;
                }
                *weight = sum;
            }
            _ => {
                merged.station_m.push(s);
                merged.tilt_rad.push(t);
                merged.weight.push(w);
            }
        }
    }
    merged
}

/// Shift of each run, rad. The normal equations of the differences leave the sum of each set of runs that hang together
/// open; that it is 0 is added to them.
fn shifts(traces: &[Trace]) -> Vec<f64> {
    let n = traces.len();
    let mut normal = vec![vec![0.0; n]; n];
    let mut right = vec![0.0; n];
    let mut component: Vec<usize> = (0..n).collect();
    for i in 0..n {
        for j in i + 1..n {
            let Some((difference, count)) = difference(&traces[i], &traces[j]) else { continue };
            normal[i][i] += count;
            normal[j][j] += count;
            normal[i][j] -= count;
            normal[j][i] -= count;
            right[i] += count * difference;
            right[j] -= count * difference;
            let (keep, gone) = (component[i].min(component[j]), component[i].max(component[j]));
            component.iter_mut().filter(|c| **c == gone).for_each(|c| *c = keep);
        }
    }
    for i in 0..n {
        for j in 0..n {
            if component[i] == component[j] {
                normal[i][j] += 1.0;
            }
        }
    }
    solve(normal, right)
}

/// Solution of a small positive definite system, by elimination.
fn solve(mut a: Vec<Vec<f64>>, mut b: Vec<f64>) -> Vec<f64> {
    let n = b.len();
    for k in 0..n {
        let pivot = a[k].clone();
        for i in k + 1..n {
            let factor = a[i][k] / pivot[k];
            a[i].iter_mut().zip(&pivot).for_each(|(entry, above)| *entry -= factor * above);
            b[i] -= factor * b[k];
        }
    }
    for k in (0..n).rev() {
        let rest: f64 = a[k].iter().zip(&b).skip(k + 1).map(|(entry, x)| entry * x).sum();
        b[k] = (b[k] - rest) / a[k][k];
    }
    b
}

/// Median of what the first run reads more than the second over their common ground, and how many readings say so; each
/// reading of either against the straight line between the two of the other about it.
fn difference(first: &Trace, second: &Trace) -> Option<(f64, f64)> {
    let mut differences = over(first, second);
    differences.extend(over(second, first).iter().map(|d| -d));
    let count = differences.len() as f64;
    (count > 0.0).then(|| (math::median(&mut differences), count))
}

/// Readings of one less those of the other at the same station, where the other was.
fn over(one: &Trace, other: &Trace) -> Vec<f64> {
    let mut at = 0;
    let mut line = |station_m: f64| {
        while other.station_m.get(at + 1).is_some_and(|s| *s < station_m) {
            at += 1;
        }
        let (a, b) = (*other.station_m.get(at)?, *other.station_m.get(at + 1)?);
        let share = (station_m - a) / (b - a);
        (a <= station_m && station_m <= b)
            .then(|| other.tilt_rad[at] + share * (other.tilt_rad[at + 1] - other.tilt_rad[at]))
    };
    one.station_m.iter().zip(&one.tilt_rad).filter_map(|(&s, t)| Some(t - line(s)?)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn trace(from: u32, to: u32, offset: f64) -> Trace {
        let station_m: Vec<f64> = (from..=to).map(|i| 0.1 * f64::from(i)).collect();
        let tilt_rad = station_m.iter().map(|s| 0.02 + 0.001 * s + offset).collect();
        let weight = vec![1.0; station_m.len()];
        Trace { station_m, tilt_rad, weight, zero_sign: 1.0, ..Trace::default() }
    }

    #[test]
    fn runs_are_chained_along_their_overlaps() {
        // The third overlaps the second alone, the last nobody.
        let traces = [trace(0, 100, 0.004), trace(80, 200, -0.002), trace(180, 300, 0.01), trace(400, 500, 0.05)];
        let s = shifts(&traces);
        // Sums of a hundred numbers below 0.1.
        assert!((s[0] - s[1] - 0.006).abs() < 1e-12 && (s[2] - s[1] - 0.012).abs() < 1e-12, "{s:?}");
        assert!((s[0] + s[1] + s[2]).abs() < 1e-12 && s[3] == 0.0, "{s:?}");
    }
}
