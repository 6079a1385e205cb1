use super::*;
use approx::assert_abs_diff_eq;

/// A profile from stations and heights, with the tilts that follow.
fn profile(nodes: &[(f64, f64)]) -> Profile {
    let tilt = |w: &[(f64, f64)]| if w[1].0 > w[0].0 { math::asin((w[0].1 - w[1].1) / (w[1].0 - w[0].0)) } else { 0.0 };
    Profile {
        station_m: nodes.iter().map(|n| n.0).collect(),
        height_m: nodes.iter().map(|n| n.1).collect(),
        tilt_rad: nodes.windows(2).map(tilt).collect(),
        reach: vec![0; nodes.len() - 1],
        at_drop: vec![],
        scale: 1.0,
    }
}

#[test]
fn falls_add_up_and_change_sign() {
    let p = profile(&[(0.0, 0.5), (4.0, 0.1), (4.0, 0.15), (10.0, 0.0)]);
    assert_abs_diff_eq!(p.fall_between(0.0, 10.0), 0.5, epsilon = 1e-16); // heights as given
    assert_eq!(p.fall_between(2.0, 7.0), -p.fall_between(7.0, 2.0));
    // The lip belongs to what lies before its station.
    assert_abs_diff_eq!(p.fall_between(2.0, 4.0), 0.2 - 0.05, epsilon = 1e-16);
    assert_abs_diff_eq!(p.fall_between(4.0, 10.0), 0.15, epsilon = 1e-16);
    // Outside there is nothing to fall.
    assert_eq!(p.fall_between(-5.0, 50.0), p.fall_between(0.0, 10.0));
    assert_eq!(p.fall_between(20.0, 50.0), 0.0);
    assert_eq!(p.fall_between(f64::NAN, 5.0), 0.0);
    assert_eq!((p.height_at(-0.1), p.height_at(10.1), p.height_at(f64::NAN)), (None, None, None));
    assert_eq!((p.height_at(4.0), p.height_at(10.0), p.height_at(2.0)), (Some(0.15), Some(0.0), Some(0.3)));
}

#[test]
fn slope_is_fall_over_horizontal_length_without_drops_and_steps() {
    let p = profile(&[(0.0, 2.0), (5.0, 1.9), (6.0, 1.0), (6.0, 1.02), (10.0, 0.9)]);
    let level = (25.0f64 - 0.01).sqrt() + (16.0f64 - 0.0144).sqrt();
    assert_abs_diff_eq!(p.slope_between(0.0, 10.0).unwrap(), 0.22 / level, epsilon = 1e-16);
    assert_eq!(p.slope_between(10.0, 0.0), p.slope_between(0.0, 10.0));
    assert_eq!(p.slope_between(5.0, 6.0), None);
    assert_eq!(p.slope_between(3.0, 3.0), None);
    assert_eq!(p.slope_between(f64::NAN, 3.0), None);
    assert_abs_diff_eq!(p.drop_fall_between(0.0, 10.0), 0.9, epsilon = 1e-15);
    assert_abs_diff_eq!(p.drop_fall_between(10.0, 5.5), -0.45, epsilon = 1e-15);
    let stretched = Profile { scale: 0.9, ..p };
    assert_abs_diff_eq!(stretched.length_between(9.0, 2.0), 6.3, epsilon = 1e-15);
    assert_eq!(stretched.length_between(9.0, f64::NAN), 0.0);
}

#[test]
fn crossings_are_all_there_once() {
    let p = profile(&[(0.0, 1.0), (2.0, 0.0), (4.0, 1.0), (5.0, 0.5), (7.0, 0.5), (8.0, 0.5), (9.0, 0.75)]);
    assert_eq!(p.crossings(0.0), [2.0]); // touches from above
    assert_eq!(p.crossings(1.0), [0.0, 4.0]); // an end and a touch from below
    assert_eq!(p.crossings(0.5), [1.0, 3.0, 5.0, 8.0]); // level from 5 to 8
    assert_eq!(p.crossings(0.75), [0.5, 3.5, 4.5, 9.0]);
    assert!(p.crossings(1.1).is_empty() && p.crossings(f64::NAN).is_empty() && p.crossings(f64::INFINITY).is_empty());
    // Steps: across, onto the level, and no step at all.
    let p = profile(&[(0.0, 1.0), (2.0, 1.0), (2.0, 0.0), (4.0, 0.0), (4.0, 0.0), (6.0, 0.0), (6.0, 2.0)]);
    assert_eq!(p.crossings(0.5), [2.0, 6.0]);
    assert_eq!(p.crossings(0.0), [2.0, 6.0]);
    assert_eq!(p.crossings(1.0), [0.0, 2.0, 6.0]);
}

#[test]
fn lowest_is_the_first_of_several() {
    let p = profile(&[(0.0, 1.0), (2.0, 0.0), (4.0, 1.0), (5.0, 0.0)]);
    assert_eq!(p.lowest(), Some((2.0, 0.0)));
}

#[test]
fn an_empty_or_broken_profile_gives_nothing() {
    let empty =
        Profile { station_m: vec![], height_m: vec![], tilt_rad: vec![], reach: vec![], at_drop: vec![], scale: 1.0 };
    let broken = Profile { station_m: vec![0.0, 1.0, 2.0], height_m: vec![0.5], ..empty.clone() };
    for p in [empty, broken] {
        assert_eq!((p.height_at(1.5), p.slope_between(0.0, 2.0), p.fall_between(0.5, 2.0)), (None, None, 0.0));
        assert_eq!(p.pieces().count(), 0);
        assert!(p.crossings(0.0).is_empty());
    }
}

#[test]
fn ground_is_linear_between_its_points() {
    let point = |station_m, elevation_m| GroundPoint { station_m, elevation_m, sd_m: None };
    let ground = [point(10.0, 3.0), point(0.0, 1.0), point(f64::NAN, 9.0)];
    assert_eq!(ground_at(&ground, 5.0), Some(2.0));
    assert_eq!((ground_at(&ground, 0.0), ground_at(&ground, 10.0)), (Some(1.0), Some(3.0)));
    assert_eq!((ground_at(&ground, -1.0), ground_at(&ground, f64::NAN), ground_at(&[], 1.0)), (None, None, None));
    assert_eq!(cover_m(2.0, 1.0, 0.1, 0.004, 0.0), Some(2.0 - 1.104));
    assert_eq!(cover_m(2.0, 1.0, 0.1, 0.0, 1.5), None);
}
