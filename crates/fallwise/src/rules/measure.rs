//! What rules measure on a profile: the slope of a stretch, the flattest and steepest of many, the longest backfall.

use super::rulebook::Over;
use crate::prelude::*;
use crate::{
    model::{FeatureKind, Flow, Job, Reach},
    profile::Profile,
};

/// Slope along the flow between two stations, drops and steps left out; absent where nothing but drops lies between.
pub(super) fn slope_between(profile: &Profile, flow: Flow, from_m: f64, to_m: f64) -> Option<f64> {
    profile.slope_between(from_m, to_m).map(|slope| flow.sign() * slope).filter(|slope| slope.is_finite())
}

/// No stick that is laid is longer, m: 20 ft with its socket (common practice, no source). Joints further apart than this
/// do not end one stick.
const LONGEST_STICK_M: f64 = 6.5;
/// Joints up to this many sticks apart end one stick: counter and noted station are not that good.
const ONE_STICK: f64 = 1.25;

/// Stretches to measure one by one.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Span {
    /// First and last stations, m.
    windows: Vec<(f64, f64)>,
    /// True length of the stretches within each window, m; absent: the windows themselves.
    length_m: Option<f64>,
}

impl Span {
    /// The stretches of a reach, cut to `from_m` to `to_m`, on which a row measures; absent where sticks are asked
    /// for and neither the joints of all of them nor the length of a stick are known.
    pub(super) fn of(over: Over, job: &Job, reach: &Reach, from_m: f64, to_m: f64) -> Option<Self> {
        let whole = vec![(from_m, to_m)];
        match over {
            Over::Reach => Some(Self { windows: whole, length_m: None }),
            Over::Length(length_m) => Some(Self { windows: whole, length_m: Some(length_m) }),
            Over::Stick => Self::sticks(job, reach, from_m, to_m),
        }
    }

    /// Between noted joints, sliding where they lie further apart than a stick.
    fn sticks(job: &Job, reach: &Reach, from_m: f64, to_m: f64) -> Option<Self> {
        let mut ends: Vec<f64> = job
            .features
            .iter()
            .filter(|f| f.kind == FeatureKind::Joint && f.station_m > from_m && f.station_m < to_m)
            .map(|f| f.station_m)
            .collect();
        ends.extend([from_m, to_m]);
        ends.sort_by(f64::total_cmp);
        ends.dedup();
        let windows: Vec<(f64, f64)> = ends.iter().copied().zip(ends.iter().copied().skip(1)).collect();
        let length_m = reach.pipe.stick_m.filter(|m| m.is_finite() && *m > 0.0);
        let jointed = windows.len() > 1 && windows.iter().all(|(a, b)| b - a <= LONGEST_STICK_M);
        (jointed || length_m.is_some()).then_some(Self { windows, length_m })
    }

    /// The stretches on a profile. Among all stretches of one length the flattest and the steepest have an end at a
    /// node, because the slope of a sliding stretch is monotone while both ends stay within their pieces.
    pub(super) fn stretches(&self, profile: &Profile) -> Vec<(f64, f64)> {
        let Some(length_m) = self.length_m else { return self.windows.clone() };
        let length = length_m / profile.scale;
        let mut all = Vec::new();
        for &(from_m, to_m) in &self.windows {
            let longer = if self.windows.len() > 1 { ONE_STICK } else { 1.0 };
            if !(length.is_finite() && length > 0.0 && longer * length < to_m - from_m) {
                all.push((from_m, to_m));
                continue;
            }
            let nodes = profile.station_m.iter().copied().filter(|s| *s >= from_m && *s <= to_m);
            let starts = [from_m, to_m - length].into_iter().chain(nodes.flat_map(|s| [s, s - length]));
            all.extend(starts.filter(|s| *s >= from_m && *s + length <= to_m).map(|s| (s, s + length)));
        }
        all
    }
}

/// A stretch and its slope along the flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stretch {
    pub(super) from_m: f64,
    pub(super) to_m: f64,
    pub(super) slope: f64,
}

/// The flattest and the steepest stretch; absent where all are drops.
pub(super) fn extremes(profile: &Profile, flow: Flow, span: &Span) -> Option<(Stretch, Stretch)> {
    let mut found: Option<(Stretch, Stretch)> = None;
    for (from_m, to_m) in span.stretches(profile) {
        let Some(slope) = slope_between(profile, flow, from_m, to_m) else { continue };
        let here = Stretch { from_m, to_m, slope };
        found = Some(found.map_or((here, here), |(flattest, steepest)| {
            (if slope < flattest.slope { here } else { flattest }, if slope > steepest.slope { here } else { steepest })
        }));
    }
    found
}

/// A stretch of backfall: contiguous pieces that rise along the flow.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[allow(clippy::struct_field_names, reason = "all are lengths in metres")]
pub(super) struct Backfall {
    pub(super) from_m: f64,
    pub(super) to_m: f64,
    /// True length, m; 0 where there is none.
    pub(super) length_m: f64,
}

/// Every backfall within the stretches given, in their order, steps ignored.
pub(super) fn backfalls(profile: &Profile, flow: Flow, within: &[(f64, f64)]) -> Vec<Backfall> {
    let mut found = Vec::new();
    for (from_m, to_m) in within {
        let first = profile.station_m.partition_point(|s| *s <= *from_m).saturating_sub(1);
        let ends = profile.station_m.iter().skip(first).zip(profile.station_m.iter().skip(first + 1));
        let mut here: Option<Backfall> = None;
        for ((start, end), tilt_rad) in ends.zip(profile.tilt_rad.iter().skip(first)) {
            if *start >= *to_m {
                break;
            }
            let rises = tilt_rad * flow.sign() < 0.0;
            // Steps have no length and are left out.
            if !rises && here.is_none() || end.min(*to_m) <= start.max(*from_m) {
                continue;
            }
            if !rises {
                found.extend(here.take());
                continue;
            }
            let (start_m, end_m) = (here.map_or(start.max(*from_m), |b| b.from_m), end.min(*to_m));
            let length_m = (end_m - start_m) * profile.scale;
            here = Some(Backfall { from_m: start_m, to_m: end_m, length_m });
        }
        found.extend(here);
    }
    found
}

/// The longest of them; of equal ones the first.
pub(super) fn longest_backfall(profile: &Profile, flow: Flow, within: &[(f64, f64)]) -> Backfall {
    let longer = |longest: Backfall, next: Backfall| if next.length_m > longest.length_m { next } else { longest };
    backfalls(profile, flow, within).into_iter().fold(Backfall::default(), longer)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A lateral of straight pieces (length m, tilt rad).
    fn profile(pieces: &[(f64, f64)]) -> Profile {
        let (mut station_m, mut height_m) = (vec![0.0], vec![0.0]);
        for (length_m, tilt) in pieces {
            station_m.push(station_m.last().unwrap() + length_m);
            height_m.push(height_m.last().unwrap() - length_m * crate::math::sin(*tilt));
        }
        let tilt_rad = pieces.iter().map(|(_, tilt)| *tilt).collect();
        Profile { station_m, height_m, tilt_rad, reach: vec![0; pieces.len()], at_drop: vec![], scale: 1.0 }
    }

    #[test]
    fn slope_leaves_drops_and_steps_out_and_follows_the_flow() {
        let mut p = profile(&[(4.0, 0.02), (2.0, 1.5), (0.0, 0.0), (4.0, 0.04)]);
        p.height_m[3] += 0.05; // a step, carried by all that comes after
        p.height_m[4] += 0.05;
        let (a, b) = (crate::math::sin_cos(0.02), crate::math::sin_cos(0.04));
        let expected = (a.0 + b.0) / (a.1 + b.1);
        // Rounding of a handful of sums.
        assert!((slope_between(&p, Flow::Increasing, 0.0, 10.0).unwrap() - expected).abs() < 1e-15);
        assert!((slope_between(&p, Flow::Decreasing, 0.0, 10.0).unwrap() + expected).abs() < 1e-15);
        assert_eq!(slope_between(&p, Flow::Increasing, 4.0, 6.0), None);
        assert_eq!(slope_between(&p, Flow::Increasing, 11.0, 12.0), None);
        assert_eq!(slope_between(&p, Flow::Increasing, 3.0, 3.0), None);
    }

    #[test]
    fn sliding_windows_find_the_extremes_that_a_dense_scan_finds() {
        let p = profile(&[(1.3, 0.02), (0.4, -0.01), (2.2, 0.03), (0.9, 0.0), (1.7, 0.05), (3.5, 0.01)]);
        for length_m in [0.3, 1.0, 2.5, 6.0, 20.0] {
            let span = Span { windows: vec![(0.5, 9.5)], length_m: Some(length_m) };
            let (flattest, steepest) = extremes(&p, Flow::Increasing, &span).unwrap();
            let length = f64::min(length_m, 9.0);
            let scan = (0..=9000).map(|i| 0.5 + f64::from(i) * 0.001).filter(|s| s + length <= 9.5 + 1e-12);
            let slopes: Vec<f64> = scan.filter_map(|s| slope_between(&p, Flow::Increasing, s, s + length)).collect();
            let least = slopes.iter().copied().fold(f64::INFINITY, f64::min);
            let most = slopes.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            // The nodes lie on the scan's grid of 1 mm, so both find the same windows up to rounding.
            assert!((flattest.slope - least).abs() < 1e-12, "{length_m}: {} {least}", flattest.slope);
            assert!((steepest.slope - most).abs() < 1e-12, "{length_m}: {} {most}", steepest.slope);
        }
    }

    #[test]
    fn backfall_runs_on_over_steps_and_pieces_but_not_over_falls_or_exempt_stretches() {
        let p = profile(&[(2.0, 0.02), (0.7, -0.01), (0.0, 0.0), (0.8, -0.02), (1.0, 0.02), (1.4, -0.01), (2.0, 0.02)]);
        let whole = longest_backfall(&p, Flow::Increasing, &[(0.0, 7.9)]);
        // Here the step stands between two rising pieces.
        assert!((whole.length_m - 1.5).abs() < 1e-12, "{whole:?}"); // rounding of the stations
        assert_eq!(Some(whole.from_m), Some(2.0));
        let split = longest_backfall(&p, Flow::Increasing, &[(0.0, 2.5), (3.0, 7.9)]);
        assert!((split.length_m - 1.4).abs() < 1e-12, "{split:?}");
        assert_eq!(longest_backfall(&p, Flow::Increasing, &[(0.0, 2.0)]), Backfall::default());
        assert!((longest_backfall(&p, Flow::Decreasing, &[(0.0, 7.9)]).length_m - 2.0).abs() < 1e-12);
    }
}
