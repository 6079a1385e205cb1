//! Paths against published examples and against 50-digit values.

#![allow(
    clippy::unwrap_used,
    clippy::disallowed_methods,
    reason = "a test stops at the first surprise, and its bounds need no same bits"
)]

use fallwise::{
    model::Bend,
    path::{Layout, Path, Start, dogleg, minimum_curvature},
};
use serde::Deserialize;

/// Stations of a borehole survey: measured depth, inclination from the vertical and azimuth in degrees. Returns east,
/// north and depth of each.
fn borehole(survey: &[(f64, f64, f64)]) -> Vec<[f64; 3]> {
    let station: Vec<f64> = survey.iter().map(|s| s.0).collect();
    let tilt: Vec<f64> = survey.iter().map(|s| (90.0 - s.1).to_radians()).collect();
    let azimuth: Vec<f64> = survey.iter().map(|s| s.2.to_radians()).collect();
    let path = minimum_curvature(&station, &tilt, &azimuth).unwrap();
    path.iter().map(|p| [p[0], p[1], -p[2]]).collect()
}

/// Asserts values printed to a number of decimals.
fn printed(found: f64, value: f64, decimals: i32) {
    let unit = 10f64.powi(-decimals);
    // Half a unit of the last printed digit, and a rounding.
    assert!((found - value).abs() <= 0.5 * unit * (1.0 + 1e-9), "{found} is not {value}");
}

/// drillingformulas.com, "Minimum curvature method". The ratio factor printed there, 1.00408, is a misprint: the
/// coordinates printed beside it agree with 1.00428 and are what is tested.
#[test]
fn two_stations() {
    let end = borehole(&[(3500.0, 15.0, 20.0), (3600.0, 25.0, 45.0)])[1];
    printed(end[1], 27.22, 2);
    printed(end[0], 19.45, 2);
    printed(end[2], 94.01, 2);
    let angle = dogleg(75f64.to_radians(), 20f64.to_radians(), 65f64.to_radians(), 45f64.to_radians());
    printed(angle, 0.22605, 5);
    printed(angle.to_degrees(), 12.95, 2);
}

/// Stored output in the tests of wellpathpy (`test_min_curve_rf`), recomputed by hand to all digits printed.
#[test]
fn five_stations() {
    let survey = [(10.0, 10.0, 45.0), (20.0, 35.0, 45.0), (30.0, 55.0, 45.0), (40.0, 75.0, 45.0), (50.0, 90.0, 45.0)];
    let depth = [0.0, 9.16568053, 16.20090348, 20.40566260, 21.70720016];
    let north = [0.0, 2.68456567, 7.65921952, 14.03529686, 21.02586714];
    let per_30_m = [75.0, 60.0, 60.0, 45.0];
    let path = borehole(&survey);
    for (i, p) in path.iter().enumerate() {
        printed(p[2], depth[i], 8);
        printed(p[1], north[i], 8);
        printed(p[0], north[i], 8);
    }
    for (pair, expected) in survey.windows(2).zip(per_30_m) {
        let tilt = |i: usize| (90.0 - pair[i].1).to_radians();
        let angle = dogleg(tilt(0), 0.0, tilt(1), 0.0).to_degrees() * 30.0 / (pair[1].0 - pair[0].0);
        assert!((angle - expected).abs() < 1e-12, "{angle}"); // roundings of 75
    }
}

/// A drain, computed by hand: 10 m from 89 to 88 degrees from the vertical, due east.
#[test]
fn a_drain() {
    let end = borehole(&[(0.0, 89.0, 90.0), (10.0, 88.0, 90.0)])[1];
    printed(end[0], 9.99644637, 8);
    printed(end[2], 0.26176616, 8);
    assert!(end[1].abs() < 1e-15); // due east to the rounding of 90 degrees
}

/// The same drain as a bend of one degree with pipe of no length on either side: an arc is minimum curvature.
#[test]
fn a_bend_is_a_course_of_minimum_curvature() {
    let angle = 1f64.to_radians();
    let bend = Bend { radius_m: Some(10.0 / angle), ..Bend::new(5.0, angle) };
    let layout = Layout::new(&[0.0, 5.0, 10.0], &[bend], &[], &[]).unwrap();
    let start = Start { azimuth_rad: Some(90f64.to_radians()), ..Start::default() };
    let path = Path::new(&layout, &[1f64.to_radians(), 2f64.to_radians()], 1.0, start);
    let (a, b) = (path.position(0.0).unwrap(), path.position(10.0).unwrap());
    printed(b[0] - a[0], 9.99644637, 8);
    printed(a[2] - b[2], 0.26176616, 8);
}

#[derive(Deserialize)]
struct Reference {
    courses: Vec<Course>,
    angles: Vec<Angle>,
}

#[derive(Deserialize)]
struct Course {
    kind: String,
    length_m: f64,
    tilt_rad: [f64; 2],
    azimuth_rad: [f64; 2],
    dogleg_rad: String,
    move_m: [String; 3],
}

#[derive(Deserialize)]
struct Angle {
    #[serde(rename = "angle_rad")]
    rad: f64,
    sin: String,
    cos: String,
}

/// `vectors/path.json`, made by `vectors/path.py` with mpmath at 60 digits.
fn reference() -> Reference {
    serde_json::from_str(include_str!("vectors/path.json")).unwrap()
}

fn number(text: &str) -> f64 {
    text.parse().unwrap()
}

fn norm(v: [f64; 3]) -> f64 {
    (v[0] * v[0] + v[1] * v[1] + v[2] * v[2]).sqrt()
}

#[test]
fn courses_to_fifty_digits() {
    let mut worst = std::collections::BTreeMap::<String, (f64, f64)>::new();
    for c in reference().courses {
        let ([t1, t2], [a1, a2]) = (c.tilt_rad, c.azimuth_rad);
        let exact = c.move_m.each_ref().map(|m| number(m));
        let beta = number(&c.dogleg_rad);
        let found = minimum_curvature(&[0.0, c.length_m], &[t1, t2], &[a1, a2]).unwrap()[1];
        let error = norm([found[0] - exact[0], found[1] - exact[1], found[2] - exact[2]]) / norm(exact);
        let angle = dogleg(t1, a1, t2, a2);
        let angle_error = if beta == 0.0 { angle } else { (angle - beta).abs() / beta };
        // A direction is known to 1.1e-16, the mean of two to that over cos(b/2): nothing can do better near a reversal.
        let bound = 5e-16 / (0.5 * beta).cos();
        assert!(error < bound, "{}: {t1} {a1} {t2} {a2}: displacement off by {error:e}, bound {bound:e}", c.kind);
        // Four units of the last place.
        assert!(angle_error < 9e-16, "{}: {t1} {a1} {t2} {a2}: angle off by {angle_error:e}", c.kind);
        let w = worst.entry(c.kind).or_default();
        *w = (w.0.max(error * (0.5 * beta).cos()), w.1.max(angle_error));
    }
    for (kind, (displacement, angle)) in worst {
        println!("{kind}: displacement x cos(b/2) {displacement:.1e}, angle {angle:.1e}");
    }
}

/// A level straight course of length 1 shows the sines and cosines themselves.
#[test]
fn directions_to_fifty_digits() {
    for a in reference().angles {
        let end = minimum_curvature(&[0.0, 1.0], &[0.0; 2], &[a.rad; 2]).unwrap()[1];
        for (found, exact) in [(end[0], number(&a.sin)), (end[1], number(&a.cos))] {
            // One unit of the last place of the sine, one and a half more of the factor (a root, a quotient, a product),
            // relative to the component itself, however small.
            assert!((found - exact).abs() <= 5.6e-16 * exact.abs(), "{}: {found:e}, {exact:e}", a.rad);
        }
    }
}
