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

/// Derivatives of a place in plan against central differences.
///
/// A step of 1e-5 leaves some 1e-10 of third derivatives times 20 m, and roundings of 20 m over it: 4e-10. A turn close to nothing
/// bends more sharply: its third derivative goes by the fifth power of one over it.
fn assert_derivatives(layout: &Layout, tilts: &[f64], bends: &[f64], azimuth_rad: f64, tolerance: f64) {
    const H: f64 = 1e-5;
    let scale = 1.003;
    let place = |tilts: &[f64], scale: f64, bends: &[f64], azimuth_rad: f64, s: f64| {
        let start = Start { azimuth_rad: Some(azimuth_rad), east_m: 3.0, north_m: -2.0 };
        let path = Path::turned(layout, tilts, scale, start, Some(bends), None);
        path.plan(layout, bends, s).unwrap()
    };
    let across = |a: f64, b: f64| (a - b) - TAU * ((a - b) / TAU).round();
    let slope = |up: &Plan, down: &Plan| {
        let by = [0, 1].map(|axis| (up.plan_m[axis] - down.plan_m[axis]) / (2.0 * H));
        (by, across(up.azimuth_rad, down.azimuth_rad) / (2.0 * H))
    };
    let moved = |values: &[f64], k: usize, by: f64| {
        let mut values = values.to_vec();
        values[k] += by;
        values
    };
    let hold = |what: &str, s: f64, found: [f64; 2], expected: [f64; 2]| {
        for (a, b) in found.iter().zip(&expected) {
            assert!((a - b).abs() < tolerance, "{what} at {s}: {found:?}, by differences {expected:?}");
        }
    };
    let ends = (layout.pieces[0].from_m, layout.pieces[layout.pieces.len() - 1].to_m);
    for i in 0..37 {
        let s = ends.0 + (ends.1 - ends.0) * (f64::from(i) + 0.31) / 37.0;
        let plan = place(tilts, scale, bends, azimuth_rad, s);
        let at = |tilts: &[f64], by_scale: f64, bends: &[f64], by_azimuth: f64, by_s: f64| {
            place(tilts, scale + by_scale, bends, azimuth_rad + by_azimuth, s + by_s)
        };
        for k in 0..tilts.len() {
            let (up, down) = (moved(tilts, k, H), moved(tilts, k, -H));
            let (by, turned) = slope(&at(&up, 0.0, bends, 0.0, 0.0), &at(&down, 0.0, bends, 0.0, 0.0));
            hold("tilt", s, plan.tilt[k], by);
            // On an arc the azimuth is that of a blend of directions, and its derivative that of its share.
            if layout.chords().iter().zip(&layout.pieces).all(|(c, p)| c.is_none() || s < p.from_m || s > p.to_m) {
                hold("azimuth by tilt", s, [plan.azimuth_by.0[k]; 2], [turned; 2]);
            }
        }
        for k in 0..bends.len() {
            let (up, down) = (moved(bends, k, H), moved(bends, k, -H));
            let (by, turned) = slope(&at(tilts, 0.0, &up, 0.0, 0.0), &at(tilts, 0.0, &down, 0.0, 0.0));
            hold("bend", s, plan.bend[k], by);
            if layout.chords().iter().zip(&layout.pieces).all(|(c, p)| c.is_none() || s < p.from_m || s > p.to_m) {
                hold("azimuth by bend", s, [plan.azimuth_by.1[k]; 2], [turned; 2]);
            }
        }
        let (by, _) = slope(&at(tilts, H, bends, 0.0, 0.0), &at(tilts, -H, bends, 0.0, 0.0));
        hold("scale", s, plan.scale, by);
        let (by, turned) = slope(&at(tilts, 0.0, bends, H, 0.0), &at(tilts, 0.0, bends, -H, 0.0));
        hold("azimuth", s, plan.azimuth, by);
        assert!((turned - 1.0).abs() < 1e-9, "{turned}"); // roundings of an angle over the step
        let (by, _) = slope(&at(tilts, 0.0, bends, 0.0, H), &at(tilts, 0.0, bends, 0.0, -H));
        hold("station", s, plan.along.map(|a| scale * a), by);
    }
}

#[test]
fn derivatives_of_a_place_are_those_of_differences() {
    let mut random = math::Random::new(5, 1, 0);
    for round in 0..12 {
        let tilts: Vec<f64> = (0..10).map(|_| 0.05 * random.normal()).collect();
        let angle = |random: &mut math::Random| {
            let degrees = 25.0 + 65.0 * random.uniform();
            if random.uniform() < 0.5 { degrees } else { -degrees }
        };
        let bends: Vec<Bend> = [3.0, 9.6, 14.2].map(|s| bend(s, angle(&mut random))).to_vec();
        let breaks: Vec<f64> = (0..=10).map(|k| 2.0 * f64::from(k)).collect();
        let layout = Layout::new(&breaks, &bends, &[], &[]).unwrap();
        let laid: Vec<f64> = bends.iter().map(|b| b.deflection_rad + 0.02 * random.normal()).collect();
        // North among them, from both sides.
        let azimuth_rad = [0.0, 1e-7, -1e-7, 6.2, 3.0, 4.0][round % 6];
        assert_derivatives(&layout, &tilts, &laid, azimuth_rad, 1e-7);
    }
}

#[test]
fn derivatives_hold_where_a_bend_hardly_turns() {
    // 10 degrees of bend, 9.9 of them a change of tilt: it turns by 1.4 degrees. And one that is all but straight.
    let layout = Layout::new(&[0.0, 2.0, 4.0, 6.0], &[bend(2.0, 10.0), bend(4.0, 0.5)], &[], &[]).unwrap();
    let tilts = [0.01, 0.01 + 9.9 * DEGREE, 0.012 + 9.9 * DEGREE];
    // The turn is 0.025: (1e-5)^2 / 0.025^5, times what a bend has to do with it (0.17), and 4 m beyond.
    assert_derivatives(&layout, &tilts, &[10.0 * DEGREE, 0.5 * DEGREE], 0.3, 2e-2);
}
