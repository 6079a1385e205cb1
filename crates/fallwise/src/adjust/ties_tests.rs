//! Ties against figures computed another way.

use approx::assert_relative_eq;

use super::{
    super::{Anchor, SegmentMean, SetupNoise, Z_95, adjust},
    *,
};
use crate::{
    chain::Chain,
    model::{Bend, Flow, Instrument, ReversalCheck, Seen, Step},
    path::{Layout, Path, Start},
    profile::Profile,
};

const DEGREE: f64 = core::f64::consts::PI / 180.0;

/// 30 m in ten segments of 3 m, 60 white readings of 0.25 degrees each, zero known to 0.3 degrees, nothing else unknown.
fn sticks() -> (Layout, Posterior) {
    let tilts: Vec<f64> = (0..10).map(|k| [0.02, 0.02, 0.02, 0.02, 0.05, -0.02, 0.02, 0.02, 0.02, 0.02][k]).collect();
    let breaks: Vec<f64> = (0..=10).map(|k| 3.0 * f64::from(k)).collect();
    let chain = Chain::new(breaks.clone(), tilts.clone()).unwrap();
    let mean = |k: usize| SegmentMean {
        segment: k,
        setup: 0,
        mean_rad: tilts[k],
        weight: 60.0,
        readings: 60,
        drift_share: 0.0,
        roll_sine: 0.0,
    };
    let means: Vec<SegmentMean> = (0..10).map(mean).collect();
    let setup = SetupNoise { run: 0, pulled: false, zero_sign: 1.0, noise_sd_rad: 0.25 * DEGREE, rounding_sd_rad: 0.0 };
    let instrument = Instrument { zero_sd_rad: 0.3 * DEGREE, ..Instrument::exact() };
    let posterior = adjust(&chain, &means, &[setup], &instrument, &[], &[]).unwrap();
    (Layout::new(&breaks, &[], &[], &[]).unwrap(), posterior)
}

fn tied(ties: &[Tie]) -> Result<(Layout, Posterior, Profile, Adjustment), Error> {
    let (layout, before) = sticks();
    let terms = Terms { layout: &layout, runs: &[], ground: &[], resolution_rad: 0.0, water_runs: false };
    let (posterior, adjustment) = before.with_ties(&terms, ties)?;
    let profile = layout.profile(&posterior.tilt_rad, posterior.scale, None);
    Ok((layout.clone(), posterior, profile, adjustment))
}

fn invert(station_m: f64, elevation_m: f64, sd_m: f64) -> Tie {
    Tie::new(Known::Invert { at: Place::exact(station_m), elevation_m, sd_m })
}

/// Closed form: heights are linear in tilts but for their cosines, which are 1 to 5e-4 here.
const LINEAR: f64 = 2e-3;

#[test]
fn one_run_alone_has_the_sds_of_the_zero() {
    let (layout, p, profile, _) = tied(&[invert(0.0, 100.0, 0.0)]).unwrap();
    let end = p.elevation(&layout, &profile, 30.0).unwrap();
    let slope = |a, b| p.slope(&layout, &profile, Flow::Increasing, a, b).unwrap().sd;
    // 0.3 degrees over 30 m, and ten means of 0.25/sqrt 60 degrees over 3 m each: 157.17 mm.
    assert_relative_eq!(end.sd, 0.157_17, max_relative = LINEAR);
    assert_relative_eq!(slope(0.0, 3.0), 0.005_266, max_relative = LINEAR);
    assert_relative_eq!(slope(0.0, 30.0), 0.005_24, max_relative = LINEAR);
}

#[test]
fn two_edges_of_still_water_give_the_zero() {
    let edges = Known::WaterLevel {
        from: Place::exact(12.1),
        to: Place::exact(16.8),
        level_sd_m: Some(0.004 / core::f64::consts::SQRT_2),
        seen: Seen::Edge,
        although_running: false,
    };
    let (layout, p, profile, adjustment) = tied(&[invert(0.0, 100.0, 0.0), Tie::new(edges)]).unwrap();
    let slope = |a, b| p.slope(&layout, &profile, Flow::Increasing, a, b).unwrap().sd;
    assert_relative_eq!(p.elevation(&layout, &profile, 30.0).unwrap().sd, 0.027_39, max_relative = 5e-3);
    assert_relative_eq!(slope(0.0, 3.0), 0.001_087, max_relative = 5e-3);
    assert_relative_eq!(slope(12.0, 15.0), 0.000_89, max_relative = 1e-2);
    assert_relative_eq!(slope(15.0, 18.0), 0.000_97, max_relative = 1e-2);
    assert_relative_eq!(slope(0.0, 30.0), 0.000_91, max_relative = 1e-2);
    assert!(adjustment.converged && adjustment.degrees_of_freedom == 1, "{adjustment:?}");
}

#[test]
fn a_shot_at_the_end_gives_it_better() {
    let (layout, p, profile, _) = tied(&[invert(0.0, 100.0, 0.0), invert(30.0, 99.4, 0.01)]).unwrap();
    let slope = |a, b| p.slope(&layout, &profile, Flow::Increasing, a, b).unwrap().sd;
    assert_relative_eq!(slope(0.0, 3.0), 0.000_629, max_relative = 5e-3);
    assert_relative_eq!(slope(0.0, 30.0), 0.000_33, max_relative = 2e-2);
}

#[test]
fn what_has_no_error_holds_exactly() {
    let (layout, p, profile, _) = tied(&[invert(3.5, 100.0, 0.0), invert(24.25, 99.61, 0.0)]).unwrap();
    for (station_m, elevation_m) in [(3.5, 100.0), (24.25, 99.61)] {
        let found = p.elevation(&layout, &profile, station_m).unwrap();
        // Some roundings of 100 m; and of the variance of 0.1 m.
        assert!((found.value - elevation_m).abs() < 1e-12 && found.sd < 1e-14, "{found:?}");
    }
    let ensemble =
        super::super::Ensemble { posterior: &p, layout: &layout, count: 50, seed: 1, lateral: 0, watch: None };
    crate::profile::Draws::for_each(&ensemble, &mut |draw| {
        // Draws are moved along straight lines; a sine bends by t dt^2 / 2 on 20 m: some micrometres.
        assert!((draw.fall_between(3.5, 24.25) - 0.39).abs() < 2e-5, "{}", draw.fall_between(3.5, 24.25));
    });
}

#[test]
fn the_sd_of_a_tilt_is_the_root_of_its_variance() {
    // Of the segment between the last two hardly anything is left, so that a difference would show nothing.
    let ties = [(0.0, 0.0, 0.01), (7.0, 0.14, 0.005), (19.5, 0.36, 0.003), (27.0, 0.51, 0.0), (30.0, 0.57, 0.0)];
    let (_, p, _, _) = tied(&ties.map(|(s, fall_m, sd_m)| invert(s, 100.0 - fall_m, sd_m))).unwrap();
    for segment in 0..10 {
        let variance = p.tilt_covariance(segment, segment);
        // A thousandth is left at least where a difference is taken: three of its sixteen digits are lost.
        assert_relative_eq!(p.tilt_sd_rad(segment), variance.sqrt(), max_relative = 1e-12, epsilon = 1e-15);
    }
    assert!(p.tilt_sd_rad(9) < 1e-9 && p.tilt_sd_rad(3) > 1e-4, "{} {}", p.tilt_sd_rad(9), p.tilt_sd_rad(3));
    assert_eq!(p.tilt_sd_rad(10), 0.0);
}

#[test]
fn the_sds_of_all_nodes_are_those_of_each() {
    let edges = Known::WaterLevel {
        from: Place { station_m: 14.1, sd_m: 0.05, taped: false },
        to: Place { station_m: 17.25, sd_m: 0.1, taped: false },
        level_sd_m: None,
        seen: Seen::Lens,
        although_running: false,
    };
    let (layout, before) = sticks();
    let mut before = before;
    (before.lip_variance_m, before.scale_sd) = (1.3e-6, 0.006);
    let terms = Terms { layout: &layout, runs: &[], ground: &[], resolution_rad: 0.0, water_runs: false };
    let ties = [invert(0.0, 100.0, 0.002), invert(21.0, 99.62, 0.02), invert(29.7, 99.43, 1e-7), Tie::new(edges)];
    let (p, _) = before.with_ties(&terms, &ties).unwrap();
    let profile = layout.profile(&p.tilt_rad, p.scale, None);
    for (anchor, from_m) in
        [(Anchor::Datum, None), (Anchor::Station(7.0), Some(7.0)), (Anchor::Station(30.0), Some(30.0))]
    {
        for (sd, station_m) in p.height_sd_m(&layout, &profile, anchor).into_iter().zip(&profile.station_m) {
            let alone = match from_m {
                None => p.elevation(&layout, &profile, *station_m).unwrap().sd,
                Some(from_m) => p.fall(&layout, &profile, Flow::Increasing, from_m, *station_m).sd,
            };
            // The walk subtracts; it computes anew what is left below a part in 10^9. What is left of lips over a whole stretch is a rounding of
            // their variance, whose root is some tens of picometres.
            assert!((sd - alone).abs() <= 1e-6 * alone + 1e-10, "{anchor:?} {station_m}: {sd} {alone}");
        }
    }
}

#[test]
fn draws_spread_as_the_sds_say() {
    let ties = [invert(0.0, 100.0, 0.002), invert(21.0, 99.7, 0.01)];
    let (layout, p, profile, _) = tied(&ties).unwrap();
    let count = 4000;
    let ensemble = super::super::Ensemble { posterior: &p, layout: &layout, count, seed: 3, lateral: 0, watch: None };
    for (from_m, to_m) in [(0.0, 30.0), (0.0, 21.0), (9.0, 12.0)] {
        let expected = p.fall(&layout, &profile, Flow::Increasing, from_m, to_m);
        let mut squares = 0.0;
        crate::profile::Draws::for_each(&ensemble, &mut |draw| {
            let off = draw.fall_between(from_m, to_m) - expected.value;
            squares += off * off;
        });
        // An sd from 4,000 draws is good to 1.1 %; four of these.
        assert_relative_eq!((squares / count as f64).sqrt(), expected.sd, max_relative = 0.045);
    }
}

#[test]
fn the_wrong_one_of_four_is_named_and_two_that_cannot_be_are_refused() {
    let fine = |s: f64| {
        100.0 - 0.02 * s.min(12.0) - 0.05 * (s - 12.0).clamp(0.0, 3.0) + 0.02 * (s - 15.0).clamp(0.0, 3.0)
            - 0.02 * (s - 18.0).max(0.0)
    };
    let shot = |s: f64, off: f64| invert(s, fine(s) + off, 0.01);
    let (.., fits) = tied(&[shot(0.0, 0.0), shot(10.0, 0.0), shot(20.0, 0.0), shot(30.0, 0.0)]).unwrap();
    assert!(fits.suspect.is_none() && fits.p_value.unwrap() > 0.5, "{fits:?}");
    let (.., told) = tied(&[shot(0.0, 0.0), shot(10.0, 0.0), shot(20.0, 0.06), shot(30.0, 0.0)]).unwrap();
    assert_eq!(told.suspect, Some(2), "{told:?}");
    let error = tied(&[shot(0.0, 0.0), shot(10.0, 0.0), shot(20.0, 0.2), shot(30.0, 0.0)]).unwrap_err();
    assert!(
        matches!(&error, Error::TiesContradict { tie, .. } if tie.starts_with("tie 3, invert at 20.00 m")),
        "{error}"
    );
    let error = tied(&[invert(3.0, 100.0, 0.0), invert(3.0, 100.001, 0.0)]).unwrap_err();
    assert!(matches!(error, Error::TiesContradict { p_value: None, .. }), "{error}");
}

#[test]
fn standardised_residuals_are_those_of_leaving_out() {
    let ties = [invert(0.0, 100.0, 0.003), invert(11.0, 99.79, 0.01), invert(30.0, 99.41, 0.02)];
    let (.., all) = tied(&ties).unwrap();
    for left_out in 0..3 {
        let kept: Vec<Tie> = ties.iter().enumerate().filter(|(i, _)| *i != left_out).map(|(_, t)| t.clone()).collect();
        let (layout, p, profile, _) = tied(&kept).unwrap();
        let Known::Invert { at, elevation_m, sd_m } = &ties[left_out].known else { panic!("an invert") };
        let expected = p.elevation(&layout, &profile, at.station_m).unwrap();
        let (off, sd) = all.closures[left_out].off.unwrap();
        // The posterior without it bends a little elsewhere: the cosines.
        assert_relative_eq!(off, elevation_m - expected.value, max_relative = 1e-3);
        assert_relative_eq!(sd, (expected.sd * expected.sd + sd_m * sd_m).sqrt(), max_relative = 1e-4);
    }
}

#[test]
fn nothing_moves_with_the_datum() {
    let at = |datum: f64| tied(&[invert(0.0, datum, 0.003), invert(30.0, datum - 0.58, 0.01)]).unwrap();
    let (low, high) = (at(0.0), at(1024.0));
    // Roundings of 1024 m.
    for (a, b) in low.1.tilt_rad.iter().zip(&high.1.tilt_rad) {
        assert!((a - b).abs() < 1e-12, "{a} {b}");
    }
}

#[test]
fn limits_are_two_sided() {
    let (layout, p, profile, _) = tied(&[invert(0.0, 0.0, 0.0)]).unwrap();
    let end = p.elevation(&layout, &profile, 30.0).unwrap();
    assert_relative_eq!(end.high - end.low, 2.0 * Z_95 * end.sd, max_relative = 1e-12); // a few roundings
}

/// Every equation against central differences, in all that it is made of.
///
/// A step of 1e-5 leaves some 1e-10 of third derivatives times 20 m, and roundings of 20 m over it: 4e-10. Stations stand where no break
/// lies within their standard deviation: across one the slope is a mean by choice.
#[test]
fn equations_have_the_derivatives_of_differences() {
    const H: f64 = 1e-5;
    let breaks: Vec<f64> = (0..=10).map(|k| 2.0 * f64::from(k)).collect();
    let tilts: Vec<f64> = (0..10).map(|k| 0.02 + 0.03 * crate::math::sin(1.7 * f64::from(k))).collect();
    let bend = |s: f64, degrees: f64| Bend { radius_m: Some(0.2), ..Bend::new(s, degrees * DEGREE) };
    let bends = [bend(5.0, 45.0), bend(13.0, -60.0)];
    let steps = [Step { station_m: 7.0, rise_m: -0.012, rise_sd_m: 0.003 }];
    let layout = Layout::new(&breaks, &bends, &steps, &[]).unwrap();
    let runs = [Run::new(Vec::new(), Vec::new())];
    let terms = Terms { layout: &layout, runs: &runs, ground: &[], resolution_rad: 0.0, water_runs: false };
    let place = |station_m: f64, taped: bool| Place { station_m, sd_m: 0.05, taped };
    let mut ties = Vec::new();
    for s in [-0.4, 1.1, 8.3, 11.3, 17.1, 20.3] {
        for taped in [false, true] {
            let (at, from) = (place(s, taped), place(2.9, !taped));
            let (sd_m, depth_m, seen) = (0.01, 1.0, Seen::Edge);
            ties.extend([
                Known::Invert { at, elevation_m: 10.0, sd_m },
                Known::Plan { at, east_m: 3.0, north_m: 4.0, sd_m },
                Known::Azimuth { at, azimuth_rad: 0.4, sd_rad: 0.1 },
                Known::Depth {
                    at,
                    depth_m,
                    sd_m: None,
                    ground_m: Some(11.0),
                    ground_sd_m: None,
                    behind_m: 0.03,
                    above_m: 0.05,
                },
                Known::HeightDifference { from, to: at, rise_m: -0.1, sd_m },
                Known::WaterLevel { from, to: at, level_sd_m: None, seen, although_running: false },
                Known::WaterDepth { at, depth_m, sd_m, edge: from, level_sd_m: None, seen, although_running: false },
            ]);
        }
    }
    let check = ReversalCheck { first_rad: 0.01, second_rad: -0.01, sd_rad: None, tilt_positive: None };
    ties.extend([
        Known::Length { from_m: 1.0, to_m: 19.0, length_m: 18.1, sd_m: 0.1 },
        Known::ReversalCheck(check),
        Known::LevelCheck { reading_rad: 0.01, surface_rad: 0.0, sd_rad: 0.01, tilt_positive: None },
    ]);
    let ties: Vec<Tie> = ties.into_iter().map(Tie::new).collect();
    let begun = || State {
        errors: Vec::new(),
        tilt_rad: tilts.clone(),
        scale: 1.004,
        rise_m: vec![-0.011],
        bend_rad: vec![0.8, -1.0],
        zero_rad: 0.003,
        station_m: vec![[0.0; 2]; ties.len()],
        open: [0.5, 1.0, 2.0, 6.2],
        origin: [9.0, 0.0, 0.0, 0.0],
        told: [true; 4],
        noted_scale: None,
    };
    let values = |move_it: &dyn Fn(&mut State, f64), by: f64| -> Vec<f64> {
        let mut state = begun();
        move_it(&mut state, by);
        read_off(&state, &terms, &ties).unwrap().iter().map(|e| e.modelled.value).collect()
    };
    let equations = read_off(&begun(), &terms, &ties).unwrap();
    let hold = |what: &str, move_it: &dyn Fn(&mut State, f64), of: &dyn Fn(&Equation) -> f64| {
        let (up, down) = (values(move_it, H), values(move_it, -H));
        for ((e, up), down) in equations.iter().zip(up).zip(down) {
            let mut difference = up - down;
            if e.quantity == "azimuth_rad" {
                difference -= core::f64::consts::TAU * (difference / core::f64::consts::TAU).round();
            }
            let (expected, found) = (difference / (2.0 * H), of(e));
            assert!(
                (found - expected).abs() < 1e-7,
                "{} {:?} by {what}: {found}, by differences {expected}",
                e.quantity,
                ties[e.tie]
            );
        }
    };
    for k in 0..tilts.len() {
        hold("tilt", &|s, by| s.tilt_rad[k] += by, &|e| e.modelled.tilt[k]);
    }
    for k in 0..bends.len() {
        hold("bend", &|s, by| s.bend_rad[k] += by, &|e| e.modelled.bend[k]);
    }
    for k in 0..4 {
        hold("what is open", &|s, by| s.open[k] += by, &|e| e.modelled.open[k]);
    }
    hold("scale", &|s, by| s.scale += by, &|e| e.modelled.scale);
    hold("step", &|s, by| s.rise_m[0] += by, &|e| e.modelled.step[0]);
    hold("zero", &|s, by| s.zero_rad += by, &|e| e.modelled.zero);
    for end in 0..2 {
        let move_all = |s: &mut State, by: f64| s.station_m.iter_mut().for_each(|of| of[end] += by);
        // For one standard deviation, 0.05 m.
        hold("station", &move_all, &|e| e.stations[end] / 0.05);
    }
}

/// Falls, heights, slopes and mean tilts against central differences; tolerances as above.
#[test]
fn quantities_have_the_derivatives_of_differences() {
    type Read = fn(&Shape<'_>, f64, f64) -> Functional;
    const H: f64 = 1e-5;
    let breaks: Vec<f64> = (0..=6).map(|k| 2.0 * f64::from(k)).collect();
    let tilts = vec![0.02, -0.03, 0.3, 1.0, 0.05, 0.02];
    let bend = |s: f64, degrees: f64| Bend { radius_m: Some(0.2), ..Bend::new(s, degrees * DEGREE) };
    let layout = Layout::new(&breaks, &[bend(3.0, 45.0), bend(8.0, 80.0)], &[], &[]).unwrap();
    let all: [(&str, Read); 4] = [
        ("fall", |shape, a, b| shape.fall(a, b)),
        ("height", |shape, _, b| shape.height(b)),
        ("slope", |shape, a, b| shape.slope(a, b).unwrap_or_else(|| shape.nothing())),
        ("mean tilt", |shape, a, b| shape.mean_tilt(a, b)),
    ];
    let of = |read: Read, tilts: &[f64], scale: f64, (a, b): (f64, f64)| {
        let profile = layout.profile(tilts, scale, None);
        read(&Shape { layout: &layout, tilt_rad: tilts, rise_m: &[], bends: 2, profile: &profile, cosine: None }, a, b)
    };
    for (name, read) in all {
        for ends in [(0.0, 12.0), (0.7, 5.3), (1.0, 2.9), (5.0, 11.0), (9.0, 3.3), (0.5, 12.3), (0.5, -0.4)] {
            let here = of(read, &tilts, 1.01, ends);
            for k in 0..tilts.len() {
                let moved = |by: f64| {
                    let mut tilts = tilts.clone();
                    tilts[k] += by;
                    of(read, &tilts, 1.01, ends).value
                };
                let expected = (moved(H) - moved(-H)) / (2.0 * H);
                assert!(
                    (here.tilt[k] - expected).abs() < 1e-7,
                    "{name} {ends:?} tilt {k}: {} {expected}",
                    here.tilt[k]
                );
            }
            let expected =
                (of(read, &tilts, 1.01 + H, ends).value - of(read, &tilts, 1.01 - H, ends).value) / (2.0 * H);
            assert!((here.scale - expected).abs() < 1e-7, "{name} {ends:?} by scale: {} {expected}", here.scale);
        }
    }
}

/// The zero of a checked head is left to its checks: the first is needed to know it at all, and only what is measured beside it checks it.
#[test]
fn a_lone_check_of_the_head_checks_nothing() {
    let run = Run::new((0..600).map(|i| 0.05 * f64::from(i)).collect(), vec![1.2 * DEGREE; 600]);
    let check = |zero_deg: f64| {
        Tie::new(Known::LevelCheck {
            reading_rad: zero_deg * DEGREE,
            surface_rad: 0.0,
            sd_rad: 0.05 * DEGREE,
            tilt_positive: None,
        })
    };
    let adjusted = |ties: Vec<Tie>| {
        let job = crate::Job { runs: vec![run.clone()], ties, ..crate::Job::default() };
        crate::Lateral::solve(job).unwrap().adjustment().clone()
    };
    let alone = adjusted(vec![check(0.1)]);
    assert_eq!((alone.degrees_of_freedom, alone.p_value), (0, None), "{alone:?}");
    assert_eq!((alone.closures[0].verdict, alone.closures[0].off), (Verdict::Unchecked, None));
    let two = adjusted(vec![check(0.1), check(0.2)]);
    assert_eq!(two.degrees_of_freedom, 1);
    // 0.1 degrees of 0.05 √2: two tails of the normal distribution, but for the 10 degrees that are left of the zero.
    assert_relative_eq!(two.p_value.unwrap(), 2.0 * crate::math::normal_cdf(-2.0_f64.sqrt()), max_relative = 1e-3);
    let beside = adjusted(vec![check(0.1), invert(0.0, 10.0, 0.0), invert(29.95, 9.4, 0.0)]);
    assert_eq!(beside.degrees_of_freedom, 1);
    let off = |i: usize| beside.closures[i].standardised().unwrap().abs();
    // One degree of freedom: all that take part share one residual, and that is its root.
    assert_relative_eq!(off(0), beside.chi_square.sqrt(), max_relative = 1e-3);
    assert_relative_eq!(off(2), off(0), max_relative = 1e-3);
}

/// With every kink levelled the sill at 18 m is where it is to the bit; the water beside it is known as well as its edges were read.
#[test]
fn a_sill_out_of_the_water_is_told_from_edges_read_a_little_low() {
    let fall = |t: f64| 3.0 * crate::math::sin(t);
    let at_12_m = 100.0 - 4.0 * fall(0.02);
    let (at_15_m, at_18_m) = (at_12_m - fall(0.05), at_12_m - fall(0.05) + fall(0.02));
    let levelled = [
        invert(0.0, 100.0, 0.0),
        invert(12.0, at_12_m, 0.0),
        invert(15.0, at_15_m, 0.0),
        invert(18.0, at_18_m, 0.0),
        invert(21.0, at_18_m - fall(0.02), 0.0),
    ];
    // Edges so far below the sill: before the belly's deepest place on its steep side, and beyond the sill.
    let edges = |below_m: f64| {
        let place = |station_m: f64| Place { station_m, sd_m: 0.1, taped: false };
        Tie::new(Known::WaterLevel {
            from: place(15.0 - (fall(0.02) - below_m) / crate::math::sin(0.05)),
            to: place(18.0 + below_m / crate::math::sin(0.02)),
            level_sd_m: None,
            seen: Seen::Edge,
            although_running: false,
        })
    };
    let with = |below_m: f64| tied(&[&levelled[..], &[edges(below_m)]].concat());
    // 6 mm is less than twice what film and stations make of a level (3.4 mm); 30 mm is nine times it.
    assert!(with(0.006).is_ok());
    let error = with(0.03).unwrap_err().to_string();
    assert!(error.contains("at 18.00 m stands 30 mm out of that water: there are two pools"), "{error}");
}

#[test]
fn east_and_north_hang_together_through_azimuth_and_scale() {
    // Level pipe of 30 m, its start to 0.1 m, its azimuth to a degree, its length to a hundredth: at the end the azimuth moves it across,
    // the length along.
    let (azimuth, turn, stretch, start) = (0.5_f64, DEGREE, 0.01, 0.1);
    let layout = Layout::new(&[0.0, 30.0], &[], &[], &[]).unwrap();
    let mut before = super::super::given(vec![0.0], None, Vec::new(), &[], &[]);
    before.scale_sd = stretch;
    let terms = Terms { layout: &layout, runs: &[], ground: &[], resolution_rad: 0.0, water_runs: false };
    let ties = [
        Tie::new(Known::Plan { at: Place::exact(0.0), east_m: 5.0, north_m: 7.0, sd_m: start }),
        Tie::new(Known::Azimuth { at: Place::exact(0.0), azimuth_rad: azimuth, sd_rad: turn }),
    ];
    let (p, _) = before.with_ties(&terms, &ties).unwrap();
    let first = Start { azimuth_rad: p.first().azimuth_rad, east_m: 5.0, north_m: 7.0 };
    let path = Path::new(&layout, &p.tilt_rad, p.scale, first);
    let found = p.plan_covariance_m2(&layout, &path, &[0.0, 30.0]);
    let (sin, cos) = crate::math::sin_cos(azimuth);
    let square = |x: f64| x * x;
    let (across, along) = (square(30.0 * turn), square(30.0 * stretch));
    let end = found[1].unwrap();
    // 1e-12: roundings of a handful of products.
    assert_relative_eq!(
        square(end.east_sd_m),
        start * start + cos * cos * across + sin * sin * along,
        max_relative = 1e-12
    );
    assert_relative_eq!(
        square(end.north_sd_m),
        start * start + sin * sin * across + cos * cos * along,
        max_relative = 1e-12
    );
    assert_relative_eq!(end.covariance_m2, sin * cos * (along - across), max_relative = 1e-12);
    let correlation = end.covariance_m2 / (end.east_sd_m * end.north_sd_m);
    assert_relative_eq!(end.correlation().unwrap(), correlation, max_relative = 1e-12);
    // The start is as sure whichever way, and exact where it is said to be.
    assert!(found[0].unwrap().correlation().unwrap().abs() < 1e-12, "{found:?}");
    let exact = PlanCovariance { east_sd_m: 0.0, north_sd_m: 0.1, covariance_m2: 0.0 };
    assert_eq!(exact.correlation(), None);
}
