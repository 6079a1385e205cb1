use super::*;
use crate::model::{Bend, Step};
use approx::assert_abs_diff_eq;

const DEGREE: f64 = PI / 180.0;

fn bend(station_m: f64, degrees: f64) -> Bend {
    Bend { radius_m: Some(0.2), ..Bend::new(station_m, degrees * DEGREE) }
}

fn north() -> Start {
    Start { azimuth_rad: Some(0.0), ..Start::default() }
}

#[test]
fn a_bend_turns_by_its_angle_in_space() {
    for (t1, t2, b) in
        [(0.0, 0.0, 45.0), (2.0, 30.0, 45.0), (-10.0, 20.0, -60.0), (40.0, 41.0, 90.0), (1.0, 46.0, 45.0)]
    {
        let layout = Layout::new(&[0.0, 2.0, 4.0], &[bend(2.0, b)], &[], &[]).unwrap();
        let path = Path::new(&layout, &[t1 * DEGREE, t2 * DEGREE], 1.0, north());
        let (u, v) = (path.direction(0.5).unwrap(), path.direction(3.5).unwrap());
        let dot: f64 = u.iter().zip(&v).map(|(a, b)| a * b).sum();
        assert_abs_diff_eq!(dot, math::cos(b * DEGREE), epsilon = 1e-15); // roundings of products below 1
        let turned = math::sin(path.azimuth(3.5).unwrap());
        if (t2 - t1).abs() < b.abs() {
            assert_eq!(turned > 0.0, b > 0.0, "right is clockwise");
        } else {
            assert_eq!(turned, 0.0);
        }
    }
}

#[test]
fn kinks_keep_the_azimuth() {
    let layout = Layout::new(&[0.0, 2.0, 4.0], &[], &[], &[]).unwrap();
    let path = Path::new(&layout, &[0.1, -0.2], 0.99, Start { azimuth_rad: Some(-1.0), east_m: 10.0, north_m: 20.0 });
    assert_abs_diff_eq!(path.azimuth(3.0).unwrap(), TAU - 1.0, epsilon = 1e-15);
    let run = 0.99 * 2.0 * (math::cos(0.1) + math::cos(0.2));
    let end = path.position(4.0).unwrap();
    assert_abs_diff_eq!(end[0], 10.0 - run * math::sin(1.0), epsilon = 1e-14); // roundings of 10 and 20 m
    assert_abs_diff_eq!(end[1], 20.0 + run * math::cos(1.0), epsilon = 1e-14);
}

#[test]
fn plan_ends_at_the_foot_of_a_drop() {
    let layout = Layout::new(&[0.0, 2.0, 3.0, 6.0], &[bend(2.0, 88.0), bend(3.0, 88.0)], &[], &[]).unwrap();
    let path = Path::new(&layout, &[0.02, 88.0 * DEGREE, 0.02], 1.0, north());
    assert!(path.position(2.5).is_some());
    assert_eq!((path.position(3.0), path.azimuth(5.0), path.direction(5.0)), (None, None, None));
    assert!(path.height(5.0).is_some());
    assert_eq!(path.warnings.len(), 1, "{:?}", path.warnings);
    // A kink at the foot hides it as well; a steep pipe in two segments does too.
    let layout = Layout::new(&[0.0, 2.0, 3.0, 6.0], &[], &[], &[]).unwrap();
    let path = Path::new(&layout, &[0.02, 88.0 * DEGREE, 0.02], 1.0, north());
    assert!(path.position(2.9).is_some() && path.position(3.1).is_none());
}

#[test]
fn without_azimuth_there_are_heights_only() {
    let layout = Layout::new(&[0.0, 2.0, 4.0], &[bend(2.0, 45.0)], &[], &[]).unwrap();
    let path = Path::new(&layout, &[0.02, 0.03], 1.0, Start::default());
    assert!(path.nodes.iter().all(|n| n.plan_m.is_none() && n.azimuth_rad.is_none()));
    let profile = layout.profile(&[0.02, 0.03], 1.0, None);
    assert_eq!(path.nodes.iter().map(|n| n.height_m).collect::<Vec<_>>(), profile.height_m);
    assert_eq!(path.warnings.len(), 1);
    let odd = Path::new(&layout, &[0.02, 0.03], 1.0, Start { azimuth_rad: Some(f64::NAN), ..Start::default() });
    assert_eq!(odd.position(1.0), None);
}

#[test]
fn an_impossible_bend_ends_the_plan_with_a_word() {
    let layout = Layout::new(&[0.0, 2.0, 4.0], &[bend(2.0, 90.0)], &[], &[]).unwrap();
    let path = Path::new(&layout, &[60.0 * DEGREE, 60.0 * DEGREE], 1.0, north());
    assert!(path.position(1.0).is_some() && path.position(2.0).is_none() && path.height(2.0).is_some());
    assert_eq!(path.warnings.len(), 1, "{:?}", path.warnings);
}

#[test]
fn an_upright_drop_out_of_a_level_pipe_is_placed() {
    // 90 degrees straight down: cos t2 is a rounding error, and the turn of azimuth has no meaning.
    let layout = Layout::new(&[0.0, 2.0, 4.0], &[bend(2.0, 90.0)], &[], &[]).unwrap();
    let path = Path::new(&layout, &[0.0, 90.0 * DEGREE], 1.0, north());
    let end = path.position(4.0).unwrap();
    assert_abs_diff_eq!(end[0], 0.0, epsilon = 1e-15); // cos 90 degrees is 6e-17
    assert_abs_diff_eq!(end[1], 2.0 - 0.05 * PI + 0.2, epsilon = 1e-14); // to the arc, then its radius
}

#[test]
fn a_step_lies_before_its_station() {
    let steps =
        [Step { station_m: 2.0, rise_m: 0.01, rise_sd_m: 0.0 }, Step { station_m: 4.0, rise_m: -0.02, rise_sd_m: 0.0 }];
    let layout = Layout::new(&[0.0, 4.0], &[], &steps, &[]).unwrap();
    let path = Path::new(&layout, &[0.0], 1.0, north());
    let profile = layout.profile(&[0.0], 1.0, None);
    for s in [0.0, 1.0, 2.0, 3.0, 4.0] {
        assert_eq!(path.height(s), profile.height_at(s));
        assert_eq!(path.position(s).map(|p| p[2]), profile.height_at(s));
    }
    assert_abs_diff_eq!(path.height(2.0).unwrap() - path.height(1.9).unwrap(), 0.01, epsilon = 1e-17);
    assert_abs_diff_eq!(path.height(4.0).unwrap() - path.height(3.9).unwrap(), -0.02, epsilon = 1e-17);
}

#[test]
fn outside_is_nothing() {
    let layout = Layout::new(&[0.0, 4.0], &[], &[], &[]).unwrap();
    let path = Path::new(&layout, &[0.0], 1.0, north());
    for s in [-0.1, 4.1, f64::NAN, f64::INFINITY] {
        assert_eq!((path.position(s), path.height(s), path.azimuth(s)), (None, None, None));
    }
}
