//! What holds for every path.

#![allow(
    clippy::unwrap_used,
    clippy::disallowed_methods,
    clippy::float_cmp,
    reason = "a test stops at the first surprise, and its sums need no same bits"
)]

use fallwise::{
    model::{Bend, Step},
    path::{Layout, Path, Start, minimum_curvature},
};
use proptest::prelude::*;

/// A lateral as laid: breaks, tilts, bends at some inner breaks, steps.
#[derive(Debug, Clone)]
struct Laid {
    breaks_m: Vec<f64>,
    tilt_rad: Vec<f64>,
    bends: Vec<Bend>,
    steps: Vec<Step>,
}

impl Laid {
    fn layout(&self) -> Layout {
        Layout::new(&self.breaks_m, &self.bends, &self.steps, &[]).unwrap()
    }

    fn range(&self) -> (f64, f64) {
        (self.breaks_m[0], *self.breaks_m.last().unwrap())
    }

    /// The same pipe looked at from its other end.
    fn reversed(&self) -> Self {
        let turn = |x: &f64| -x;
        Self {
            breaks_m: self.breaks_m.iter().rev().map(turn).collect(),
            tilt_rad: self.tilt_rad.iter().rev().map(turn).collect(),
            bends: self
                .bends
                .iter()
                .map(|b| Bend { station_m: -b.station_m, deflection_rad: -b.deflection_rad, ..b.clone() })
                .collect(),
            steps: self
                .steps
                .iter()
                .map(|s| Step { station_m: -s.station_m, rise_m: -s.rise_m, ..s.clone() })
                .collect(),
        }
    }
}

prop_compose! {
    fn laid()(
        lengths in prop::collection::vec(0.6..4.0f64, 1..8),
        tilts in prop::collection::vec(-0.15..0.3f64, 8),
        bends in prop::collection::vec((any::<bool>(), 0.5..1.6f64, any::<bool>()), 8),
        steps in prop::collection::vec((0.0..1.0f64, -0.02..0.02f64), 0..3),
        first in -20.0..20.0f64,
    ) -> Laid {
        let mut breaks_m = vec![first];
        for l in &lengths {
            breaks_m.push(breaks_m.last().unwrap() + l);
        }
        let last = *breaks_m.last().unwrap();
        Laid {
            tilt_rad: tilts[..lengths.len()].to_vec(),
            bends: breaks_m[1..breaks_m.len() - 1]
                .iter()
                .zip(&bends)
                .filter(|(_, b)| b.0)
                .map(|(s, b)| Bend { radius_m: Some(0.15), ..Bend::new(*s, if b.2 { b.1 } else { -b.1 }) })
                .collect(),
            steps: steps
                .iter()
                .map(|(p, r)| Step { station_m: first + p * (last - first), rise_m: *r, rise_sd_m: 0.003 })
                .collect(),
            breaks_m,
        }
    }
}

const START: Start = Start { azimuth_rad: Some(1.0), east_m: 0.0, north_m: 0.0 };

/// Rounding of sums and stations of some tens of metres: a few hundred units of 1e-16 times 30 m.
const ROUNDING_M: f64 = 1e-12;

fn apart(a: [f64; 3], b: [f64; 3]) -> f64 {
    a.iter().zip(&b).map(|(x, y)| (x - y) * (x - y)).sum::<f64>().sqrt()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn splitting_a_segment_changes_nothing(laid in laid(), k in 0usize..7, part in 0.1..0.9f64, at in 0.0..1.0f64) {
        let k = k % laid.tilt_rad.len();
        let mut split = laid.clone();
        split.breaks_m.insert(k + 1, laid.breaks_m[k] + part * (laid.breaks_m[k + 1] - laid.breaks_m[k]));
        split.tilt_rad.insert(k, laid.tilt_rad[k]);
        let (first, last) = laid.range();
        let s = first + at * (last - first);
        let (a, b) = (laid.layout().profile(&laid.tilt_rad, 0.99, None), split.layout().profile(&split.tilt_rad, 0.99, None));
        prop_assert!((a.fall_between(first, s) - b.fall_between(first, s)).abs() < ROUNDING_M);
        let (a, b) = (Path::new(&laid.layout(), &laid.tilt_rad, 0.99, START), Path::new(&split.layout(), &split.tilt_rad, 0.99, START));
        prop_assert!(apart(a.position(s).unwrap(), b.position(s).unwrap()) < ROUNDING_M);
    }

    #[test]
    fn looking_from_the_other_end_mirrors(laid in laid(), at in 0.0..1.0f64, to in 0.0..1.0f64) {
        let back = laid.reversed();
        let (first, last) = laid.range();
        let (s, t) = (first + at * (last - first), first + to * (last - first));
        prop_assume!(laid.steps.iter().all(|x| x.station_m != s && x.station_m != t));
        let (a, b) = (laid.layout().profile(&laid.tilt_rad, 1.0, None), back.layout().profile(&back.tilt_rad, 1.0, None));
        prop_assert!((a.height_at(s).unwrap() - b.height_at(-s).unwrap()).abs() < ROUNDING_M);
        if (s - t).abs() > 0.1 {
            let (there, here) = (a.slope_between(s, t).unwrap(), b.slope_between(-s, -t).unwrap());
            prop_assert!((there + here).abs() < 10.0 * ROUNDING_M); // over 0.1 m
        }
        let path = Path::new(&laid.layout(), &laid.tilt_rad, 1.0, START);
        let Some(end) = path.azimuth(last) else { return Ok(()) };
        let start = Start { azimuth_rad: Some(end + core::f64::consts::PI), ..START };
        let mirrored = Path::new(&back.layout(), &back.tilt_rad, 1.0, start);
        let between = apart(path.position(s).unwrap(), path.position(t).unwrap());
        let between_back = apart(mirrored.position(-s).unwrap(), mirrored.position(-t).unwrap());
        prop_assert!((between - between_back).abs() < ROUNDING_M);
        let (u, v) = (path.direction(s).unwrap(), mirrored.direction(-s).unwrap());
        prop_assert!(apart(u, v.map(|x| -x)) < 1e-11); // 1e-15 of rounding over arcs of 0.15 m, many times
    }

    #[test]
    fn directions_are_of_length_one_and_the_path_is_continuous(laid in laid(), at in 0.0..1.0f64) {
        let layout = laid.layout();
        let path = Path::new(&layout, &laid.tilt_rad, 1.0, START);
        let (first, last) = laid.range();
        let s = first + at * (last - first);
        prop_assert!((apart(path.direction(s).unwrap(), [0.0; 3]) - 1.0).abs() < 1e-14); // weights reach 1/sin(b)
        let lips: Vec<f64> = laid.steps.iter().map(|x| x.station_m).collect();
        for node in path.nodes.iter().filter(|n| !lips.contains(&n.station_m)) {
            let here = path.position(node.station_m).unwrap();
            let plan = node.plan_m.unwrap();
            prop_assert!(apart(here, [plan[0], plan[1], node.height_m]) < ROUNDING_M);
            for near in [node.station_m - 1e-7, node.station_m + 1e-7] {
                if (first..=last).contains(&near) && lips.iter().all(|l| (l - node.station_m).abs() > 1e-6) {
                    prop_assert!(apart(here, path.position(near).unwrap()) < 1.001e-7); // no further than along the pipe
                }
            }
        }
    }

    #[test]
    fn path_and_profile_have_one_height(laid in laid(), at in 0.0..1.0f64) {
        let layout = laid.layout();
        let profile = layout.profile(&laid.tilt_rad, 0.99, None);
        let path = Path::new(&layout, &laid.tilt_rad, 0.99, START);
        for (node, (station, height)) in path.nodes.iter().zip(profile.nodes()) {
            prop_assert_eq!((node.station_m, node.height_m), (station, height));
        }
        // Between nodes the profile has chords: 2.25 degrees of a 150 mm arc bulge by 0.03 mm.
        let (first, last) = laid.range();
        let s = first + at * (last - first);
        prop_assert!((path.height(s).unwrap() - profile.height_at(s).unwrap()).abs() < 3e-5);
        let top = profile.height_m.iter().copied().fold(0.0, f64::max);
        prop_assert_eq!(profile.height_m.iter().copied().fold(top, f64::min), 0.0);
    }

    #[test]
    fn an_arc_ends_where_minimum_curvature_says(laid in laid()) {
        let layout = laid.layout();
        let path = Path::new(&layout, &laid.tilt_rad, 1.0, START);
        for bend in &laid.bends {
            let half = 0.5 * 0.15 * bend.deflection_rad.abs();
            let (a, b) = (bend.station_m - half, bend.station_m + half);
            if laid.steps.iter().any(|s| (a..=b).contains(&s.station_m)) {
                continue;
            }
            let k = laid.breaks_m.iter().position(|s| *s == bend.station_m).unwrap();
            let azimuth = [path.azimuth(a - 1e-6).unwrap(), path.azimuth(b + 1e-6).unwrap()];
            let course = minimum_curvature(&[a, b], &laid.tilt_rad[k - 1..=k], &azimuth).unwrap()[1];
            let (from, to) = (path.position(a).unwrap(), path.position(b).unwrap());
            prop_assert!(apart([to[0] - from[0], to[1] - from[1], to[2] - from[2]], course) < ROUNDING_M);
        }
    }

    #[test]
    fn straight_segments_are_the_direct_sum(tilts in prop::collection::vec(-0.7..0.7f64, 1..40), length in 0.01..3.0f64) {
        let breaks: Vec<f64> = (0..=tilts.len()).map(|i| i as f64 * length).collect();
        let profile = Layout::new(&breaks, &[], &[], &[]).unwrap().profile(&tilts, 0.99, None);
        let fall: f64 = tilts.iter().map(|t| 0.99 * length * t.sin()).sum();
        let level: f64 = tilts.iter().map(|t| 0.99 * length * t.cos()).sum();
        let end = *breaks.last().unwrap();
        prop_assert!((profile.fall_between(0.0, end) - fall).abs() < ROUNDING_M);
        // Relative to 10 mm and more of pipe.
        prop_assert!((profile.slope_between(0.0, end).unwrap() - fall / level).abs() < 1e-11);
        prop_assert!((profile.length_between(0.0, end) - 0.99 * end).abs() < ROUNDING_M);
    }

    #[test]
    fn every_crossing_is_at_its_level_and_none_is_missing(laid in laid(), part in 0.0..1.0f64) {
        let profile = laid.layout().profile(&laid.tilt_rad, 1.0, None);
        let top = profile.height_m.iter().copied().fold(0.0, f64::max);
        let level = part * top;
        let found = profile.crossings(level);
        prop_assert!(found.windows(2).all(|w| w[0] <= w[1]));
        let changes = profile.height_m.windows(2).filter(|h| (h[0] < level) != (h[1] < level)).count();
        prop_assert_eq!(found.len(), changes); // a random level goes through no node
        for s in found {
            let on_a_lip = laid.steps.iter().any(|x| x.station_m == s);
            prop_assert!(on_a_lip || (profile.height_at(s).unwrap() - level).abs() < ROUNDING_M);
        }
    }

    #[test]
    fn anything_gives_an_error_or_numbers(
        breaks in prop::collection::vec(any::<f64>(), 0..5),
        bends in prop::collection::vec((any::<f64>(), any::<f64>(), any::<f64>()), 0..3),
        steps in prop::collection::vec((any::<f64>(), any::<f64>()), 0..3),
        tilts in prop::collection::vec(prop::num::f64::NORMAL | prop::num::f64::ZERO, 0..5),
        near in any::<bool>(), station in any::<f64>(), level in any::<f64>(),
    ) {
        // Half the cases are folded into a pipe's size, so that more than the first check is reached.
        let size = |x: f64, most: f64| if near && x.is_finite() { x.abs().log10().abs() % most } else { x };
        let mut breaks: Vec<f64> = breaks.iter().map(|b| size(*b, 30.0)).collect();
        if near {
            breaks.sort_by(f64::total_cmp);
        }
        let bends: Vec<Bend> = bends.iter().map(|(s, d, r)| Bend { radius_m: Some(size(*r, 1.0)), ..Bend::new(size(*s, 30.0), size(*d, 3.2)) }).collect();
        let steps: Vec<Step> = steps.iter().map(|(s, r)| Step { station_m: size(*s, 30.0), rise_m: size(*r, 0.1), rise_sd_m: 0.0 }).collect();
        let _ = minimum_curvature(&breaks, &tilts, &tilts);
        let Ok(layout) = Layout::new(&breaks, &bends, &steps, &[]) else { return Ok(()) };
        let profile = layout.profile(&tilts, 1.0, None);
        prop_assert!(profile.height_m.iter().chain(&profile.tilt_rad).all(|x| x.is_finite()));
        let _ = layout.check_bends(&tilts);
        let path = Path::new(&layout, &tilts, 1.0, START);
        let s = size(station, 30.0);
        for p in path.position(s).into_iter().chain(path.direction(s)) {
            prop_assert!(p.iter().all(|x| x.is_finite()), "{:?}", p);
        }
        prop_assert!(path.azimuth(s).is_none_or(f64::is_finite) && path.height(s).is_none_or(f64::is_finite));
        prop_assert!(profile.height_at(s).is_none_or(f64::is_finite) && profile.fall_between(s, level).is_finite());
        prop_assert!(profile.slope_between(s, level).is_none_or(f64::is_finite));
        let mut gradient = [0.0; 3];
        layout.fall_gradient(&tilts, 1.0, s, level, &mut gradient);
        prop_assert!(gradient.iter().all(|g| g.is_finite()));
    }
}
