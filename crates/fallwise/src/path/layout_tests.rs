use super::*;
use crate::{model::Pipe, section::Bore};
use approx::assert_abs_diff_eq;

const DEGREE: f64 = PI / 180.0;

fn bend(station_m: f64, degrees: f64, radius_m: f64) -> Bend {
    Bend { radius_m: Some(radius_m), ..Bend::new(station_m, degrees * DEGREE) }
}

fn step(station_m: f64, rise_m: f64) -> Step {
    Step { station_m, rise_m, rise_sd_m: 0.003 }
}

fn reach(from_m: f64, to_m: f64) -> Reach {
    Reach {
        from_m,
        to_m,
        name: String::new(),
        pipe: Pipe::default(),
        owner: None,
        facts: alloc::collections::BTreeMap::new(),
    }
}

fn lay(breaks: &[f64], bends: &[Bend], steps: &[Step], reaches: &[Reach]) -> Layout {
    Layout::new(breaks, bends, steps, reaches).unwrap()
}

#[test]
fn straight_pipe_is_one_piece_a_segment() {
    let layout = lay(&[1.0, 4.0, 9.0], &[], &[], &[]);
    assert_eq!((layout.len(), layout.segments()), (2, 2));
    let profile = layout.profile(&[0.02, -0.01], 0.99, None);
    // Fall L sin t with the counter's scale, then backfall; the end of the first segment is the lowest.
    assert_eq!(profile.height_m[1], 0.0);
    assert_abs_diff_eq!(profile.height_m[0], 0.99 * 3.0 * math::sin(0.02), epsilon = 1e-16); // one rounding of 0.06
    assert_abs_diff_eq!(profile.height_m[2], 0.99 * 5.0 * math::sin(0.01), epsilon = 1e-16);
    assert_eq!(profile.tilt_rad, [0.02, -0.01]);
}

#[test]
fn an_arc_absorbs_the_break_inside_it() {
    // 90 degrees at radius 0.2 m: the arc is 0.314 m long, from 2.843 m to 3.157 m.
    let layout = lay(&[0.0, 3.1, 8.0], &[bend(3.0, 90.0, 0.2)], &[], &[]);
    assert_eq!(layout.len(), 2 + 40);
    let arc: Vec<&Piece> = layout.pieces.iter().filter(|p| p.bend == Some(0)).collect();
    assert_eq!(arc.len(), 40);
    assert_abs_diff_eq!(arc[0].from_m, 3.0 - 0.05 * PI, epsilon = 1e-15);
    assert_abs_diff_eq!(arc[39].to_m, 3.0 + 0.05 * PI, epsilon = 1e-15);
    assert!(arc.iter().all(|p| (p.segment, p.next_segment) == (0, 1)));
    for (i, p) in arc.iter().enumerate() {
        assert_abs_diff_eq!(p.next_share, (i as f64 + 0.5) / 40.0, epsilon = 1e-13); // roundings of 1e-15 over 0.3 m
    }
}

#[test]
fn pieces_join_and_nothing_is_lost() {
    let steps = [step(3.05, 0.01), step(3.05, -0.004), step(0.0, 0.002), step(8.0, 0.003)];
    let reaches = [reach(-1.0, 2.95), reach(2.9505, 6.0), reach(6.0, 7.8)];
    let layout = lay(&[0.0, 3.0, 5.0, 8.0], &[bend(3.0, 45.0, 0.3), bend(6.5, -22.5, 0.3)], &steps, &reaches);
    assert_eq!(layout.pieces[0].from_m, 0.0);
    assert_eq!(layout.pieces[layout.len() - 1].to_m, 8.0);
    for pair in layout.pieces.windows(2) {
        assert_eq!(pair[0].to_m, pair[1].from_m);
    }
    let seen: Vec<usize> = layout.pieces.iter().filter_map(|p| p.step).collect();
    assert_eq!(seen, [2, 0, 1, 3]);
    assert!(layout.pieces.iter().all(|p| (p.to_m > p.from_m) != p.step.is_some()));
    // Reaches change where the later begins; the last is taken to the end, with a word.
    let limit = layout.pieces.iter().position(|p| p.reach == 1).unwrap();
    assert_eq!(layout.pieces[limit].from_m, 2.9505);
    assert_eq!(layout.pieces.iter().rev().find(|p| p.to_m <= 6.0).unwrap().reach, 1);
    assert_eq!(layout.pieces[layout.len() - 2].reach, 2);
    assert_eq!(layout.warnings.len(), 1, "{:?}", layout.warnings);
    // The steps stand in the heights; replaced, they stand as replaced.
    let level = layout.profile(&[0.0; 3], 1.0, None);
    assert_abs_diff_eq!(level.fall_between(0.0, 8.0), -0.01 + 0.004 - 0.003, epsilon = 1e-17);
    let drawn = layout.profile(&[0.0; 3], 1.0, Some(&[0.1, 0.0, 0.0, 0.0]));
    assert_abs_diff_eq!(drawn.fall_between(0.0, 8.0), -0.1, epsilon = 1e-16);
}

#[test]
fn heights_on_an_arc_are_those_of_the_circle() {
    // A bend in the vertical plane from tilt 10 to 55 degrees: heights R (cos t1 - cos t) on the circle, exactly.
    let (first, second, radius) = (10.0 * DEGREE, 55.0 * DEGREE, 0.4);
    let layout = lay(&[0.0, 3.0, 8.0], &[bend(3.0, 45.0, radius)], &[], &[]);
    let profile = layout.profile(&[first, second], 1.0, None);
    let arc = layout.arcs()[0];
    for (s, h) in profile.nodes().filter(|(s, _)| (arc.from_m..=arc.to_m).contains(s)) {
        let tilt = first + (s - arc.from_m) / radius;
        let fall = radius * (math::cos(first) - math::cos(tilt));
        // Heights are 4 m and more: some roundings of those.
        assert_abs_diff_eq!(profile.height_m[1] - h, fall, epsilon = 4e-15);
    }
}

#[test]
fn a_little_more_turn_than_the_bend_has_changes_little() {
    // Tilts drawn a hair either side of the bend's angle: the height at the end must not jump.
    let layout = lay(&[0.0, 1.0, 2.0], &[bend(1.0, 45.0, 0.15)], &[], &[]);
    let end = |second: f64| layout.profile(&[0.0, second], 1.0, None).fall_between(0.0, 2.0);
    for hair in [1e-3, 1e-6, 1e-9] {
        let (below, above) = (end(45.0 * DEGREE - hair), end(45.0 * DEGREE + hair));
        assert!((above - below).abs() < 2.0 * hair, "{hair}: {}", above - below);
    }
}

#[test]
fn gradient_is_the_derivative_of_the_fall() {
    let bends = [bend(3.0, 45.0, 0.3), bend(6.5, -60.0, 0.2)];
    let layout = lay(&[0.0, 1.0, 3.05, 6.5, 9.0], &bends, &[step(2.0, 0.01)], &[]);
    let tilt = [0.02, 0.03, -0.3, 0.4];
    for (a, b) in [(0.0, 9.0), (0.5, 7.0), (7.0, 0.5), (2.95, 3.02), (-5.0, 50.0), (4.0, 4.0)] {
        let mut gradient = [f64::NAN; 4];
        layout.fall_gradient(&tilt, 0.99, a, b, &mut gradient);
        for k in 0..4 {
            let fall = |change: f64| {
                let mut t = tilt;
                t[k] += change;
                layout.profile(&t, 0.99, None).fall_between(a, b)
            };
            let difference = (fall(1e-5) - fall(-1e-5)) / 2e-5;
            assert_abs_diff_eq!(gradient[k], difference, epsilon = 1e-9); // 1e-10 of a second difference, 1e-15/1e-5 of rounding
        }
    }
    let mut gradient = [1.0; 4];
    layout.fall_gradient(&tilt, 1.0, f64::NAN, 3.0, &mut gradient);
    assert_eq!(gradient, [0.0; 4]);
}

#[test]
fn radius_comes_from_the_bore_or_is_said() {
    let mut pipe = reach(0.0, 8.0);
    pipe.pipe.bore = Some(Bore::Circle { diameter_m: 0.2 });
    let plain = Bend::new(4.0, PI / 2.0);
    let layout = lay(&[0.0, 8.0], core::slice::from_ref(&plain), &[], &[pipe]);
    assert_abs_diff_eq!(layout.arcs()[0].to_m - layout.arcs()[0].from_m, 0.3 * PI / 2.0, epsilon = 1e-14);
    assert!(layout.warnings.is_empty());
    let layout = lay(&[0.0, 8.0], &[plain], &[], &[]);
    assert_abs_diff_eq!(layout.arcs()[0].to_m - layout.arcs()[0].from_m, 0.15 * PI / 2.0, epsilon = 1e-14);
    assert_eq!(layout.warnings.len(), 1);
}

#[test]
fn an_arc_past_the_end_is_laid_out_as_far_as_it_was_surveyed() {
    let layout = lay(&[0.0, 3.0], &[bend(0.05, 90.0, 0.2)], &[], &[]);
    assert_eq!(layout.pieces[0].from_m, 0.0);
    // Half the arc is 0.157 m: 0.107 m of it is missing.
    assert_abs_diff_eq!(layout.chords()[0].unwrap().fraction[0], 0.5 - 0.5 * 0.05 / (0.05 * PI), epsilon = 1e-15);
    let at_end = Layout::new(&[0.0, 3.0], &[bend(3.0, 90.0, 0.2)], &[], &[]);
    assert!(matches!(at_end, Err(Error::Outside { .. })));
}

#[test]
fn bends_are_compared_with_the_tilts() {
    let layout = lay(&[0.0, 3.0, 8.0], &[bend(3.0, 45.0, 0.3)], &[], &[]);
    assert_eq!(layout.check_bends(&[0.0, 45.0 * DEGREE]).unwrap(), Vec::<&str>::new());
    assert_eq!(layout.check_bends(&[0.0, 46.0 * DEGREE]).unwrap().len(), 1); // within 3 x 1.5 degrees
    let error = layout.check_bends(&[0.0, 50.0 * DEGREE]).unwrap_err();
    assert!(matches!(error, Error::BendTooSmall { station_m: 3.0, .. }), "{error}");
    // Two pipes of 80 degrees are at most 20 degrees apart.
    assert_eq!(layout.check_bends(&[80.0 * DEGREE, 80.0 * DEGREE]).unwrap().len(), 1);
}

#[test]
fn says_what_is_wrong() {
    let new = |breaks: &[f64], bends: &[Bend]| Layout::new(breaks, bends, &[], &[]).unwrap_err();
    let value = |e: &Error, name: &str, at: usize| {
        assert!(matches!(e, Error::Value { field, index, .. } if field == name && *index == Some(at)), "{e}");
    };
    assert!(matches!(new(&[], &[]), Error::TooFew { .. }));
    assert!(matches!(new(&[1.0], &[]), Error::TooFew { .. }));
    value(&new(&[0.0, f64::NAN], &[]), "breaks_m", 1);
    value(&new(&[0.0, 2.0, 2.0], &[]), "breaks_m", 2);
    value(&new(&[0.0, 1e9], &[]), "breaks_m", 1);
    let ends = [0.0, 8.0];
    value(&new(&ends, &[bend(2.0, 0.0, 0.1)]), "bend.deflection_rad", 0);
    value(&new(&ends, &[bend(2.0, 180.0, 0.1)]), "bend.deflection_rad", 0);
    value(&new(&ends, &[bend(2.0, f64::NAN, 0.1)]), "bend.deflection_rad", 0);
    value(&new(&ends, &[bend(f64::NAN, 45.0, 0.1)]), "bend.station_m", 0);
    value(&new(&ends, &[bend(2.0, 45.0, 0.0)]), "bend.radius_m", 0);
    value(&new(&ends, &[bend(2.0, 45.0, 1e300)]), "bend.radius_m", 0);
    value(&new(&ends, &[Bend { deflection_sd_rad: -1.0, ..bend(2.0, 45.0, 0.1) }]), "bend.deflection_sd_rad", 0);
    let overlap = new(&ends, &[bend(2.1, 90.0, 0.2), bend(2.0, 90.0, 0.2)]);
    assert!(matches!(overlap, Error::Overlap { first_m: 2.0, second_m: 2.1, .. }), "{overlap}");
    assert!(matches!(new(&ends, &[bend(2.0, 90.0, 0.2), bend(2.0, 90.0, 0.2)]), Error::Overlap { .. }));

    let with = |steps: &[Step], reaches: &[Reach]| Layout::new(&ends, &[], steps, reaches).unwrap_err();
    value(&with(&[step(f64::NAN, 0.0)], &[]), "step.station_m", 0);
    value(&with(&[step(1.0, f64::INFINITY)], &[]), "step.rise_m", 0);
    assert!(matches!(with(&[step(8.1, 0.01)], &[]), Error::Outside { .. }));
    value(&with(&[], &[reach(0.0, 0.0)]), "reach.to_m", 0);
    value(&with(&[], &[reach(f64::NAN, 8.0)]), "reach.from_m", 0);
    value(&with(&[], &[reach(0.0, 3.0), reach(3.1, 8.0)]), "reach.from_m", 1);
    value(&with(&[], &[reach(0.0, 7.0)]), "reach.to_m", 0);
    value(&with(&[], &[reach(0.6, 8.0)]), "reach.from_m", 0);
    assert!(matches!(with(&[], &[reach(0.0, 3.0), reach(2.9, 8.0)]), Error::Overlap { .. }));
}

#[test]
fn odd_tilts_give_numbers() {
    let steps = [step(3.0, 0.01)];
    let layout = lay(&[0.0, 3.0, 8.0], &[bend(3.0, 90.0, 0.3)], &steps, &[]);
    for tilt in [&[][..], &[1e300, -1e300], &[f64::MIN_POSITIVE, -0.0], &[PI / 2.0, -PI / 2.0], &[0.1, 0.2, 0.3]] {
        for scale in [0.0, -1.0, 1e300] {
            let profile = layout.profile(tilt, scale, Some(&[]));
            assert!(profile.height_m.iter().chain(&profile.tilt_rad).all(|x| x.is_finite()), "{tilt:?} {scale}");
        }
    }
}
