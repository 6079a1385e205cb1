//! Paths against published examples and against 50-digit values.

#![allow(
    clippy::unwrap_used,
    clippy::disallowed_methods,
    reason = "a test stops at the first surprise, and its bounds need no same bits"
)]

use fallwise::{
    model::{Bend, GroundPoint},
    path::{Layout, Path, Start, dogleg, minimum_curvature},
    profile::{cover_m, ground_at, ground_sd_at},
};
use fallwise_record::{Mark, RELATIVE, Reference, Tolerance::Absolute, reference};
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

/// A published page. The ratio factor printed there, 1.00408, is a misprint: the coordinates printed beside it agree with 1.00428 and are
/// what is tested.
const TWO: Reference = reference("path", "drillingformulas.com, Minimum curvature method", Mark::Seen);

#[test]
fn two_stations() {
    let end = borehole(&[(3500.0, 15.0, 20.0), (3600.0, 25.0, 45.0)])[1];
    for (what, found, printed) in [("north", end[1], "27.22"), ("east", end[0], "19.45"), ("down", end[2], "94.01")] {
        TWO.printed(format!("100 ft from 15, 20 to 25, 45 degrees: {what}, ft"), found, printed);
    }
    let angle = dogleg(75f64.to_radians(), 20f64.to_radians(), 65f64.to_radians(), 45f64.to_radians());
    TWO.printed("its dogleg, rad", angle, "0.22605");
    TWO.printed("its dogleg, degrees", angle.to_degrees(), "12.95");
}

/// Stored output in the tests of wellpathpy (`test_min_curve_rf`), recomputed by hand to all digits printed.
const FIVE: Reference = reference("path", "wellpathpy, test_min_curve_rf", Mark::Software);

#[test]
fn five_stations() {
    let survey = [(10.0, 10.0, 45.0), (20.0, 35.0, 45.0), (30.0, 55.0, 45.0), (40.0, 75.0, 45.0), (50.0, 90.0, 45.0)];
    let depth = ["0.00000000", "9.16568053", "16.20090348", "20.40566260", "21.70720016"];
    let north = ["0.00000000", "2.68456567", "7.65921952", "14.03529686", "21.02586714"];
    let path = borehole(&survey);
    for (i, p) in path.iter().enumerate() {
        for (what, found, printed) in [("down", p[2], depth[i]), ("north", p[1], north[i]), ("east", p[0], north[i])] {
            FIVE.printed(format!("five stations, at {} m: {what}, m", survey[i].0), found, printed);
        }
    }
    for (pair, expected) in survey.windows(2).zip([75.0, 60.0, 60.0, 45.0]) {
        let tilt = |i: usize| (90.0 - pair[i].1).to_radians();
        let angle = dogleg(tilt(0), 0.0, tilt(1), 0.0).to_degrees() * 30.0 / (pair[1].0 - pair[0].0);
        let what = format!("turn at {} m, degrees in 30 m", pair[1].0);
        FIVE.check(what, angle, expected, Absolute(1e-12), "roundings of 75");
    }
}

const DRAIN: Reference = reference("path", "10 m from 1 to 2 degrees due east, by hand", Mark::Computed);

#[test]
fn a_drain() {
    let end = borehole(&[(0.0, 89.0, 90.0), (10.0, 88.0, 90.0)])[1];
    DRAIN.printed("east, m", end[0], "9.99644637");
    DRAIN.printed("down, m", end[2], "0.26176616");
    DRAIN.check("north, m", end[1], 0.0, Absolute(1e-15), "due east to the rounding of 90 degrees");
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
    DRAIN.printed("the same as a bend: east, m", b[0] - a[0], "9.99644637");
    DRAIN.printed("the same as a bend: down, m", a[2] - b[2], "0.26176616");
}

/// A V of 3, 4, 5 triangles: down 3 m over 5 m of pipe, up 3 m over 5 m.
#[test]
fn a_profile_by_hand() {
    let of = reference("profile", "triangles of 3, 4 and 5", Mark::Exact);
    let why = "some roundings of a sine and sums";
    let tilt = 0.6_f64.asin();
    let layout = Layout::new(&[0.0, 5.0, 10.0, 20.0], &[], &[], &[]).unwrap();
    let profile = layout.profile(&[tilt, -tilt, 0.0], 1.0, None);
    let near =
        |what: &str, found: Option<f64>, expected: f64| of.check(what, found.unwrap(), expected, Absolute(1e-14), why);
    near("down 3 m over 5 m: fall, m", Some(profile.fall_between(0.0, 5.0)), 3.0);
    near("its slope", profile.slope_between(0.0, 5.0), 0.75);
    near("and up again: fall, m", Some(profile.fall_between(0.0, 10.0)), 0.0);
    near("slope of all", profile.slope_between(0.0, 20.0), 0.0);
    near("height at 2.5 m above the lowest, m", profile.height_at(2.5), 1.5);
    near("lowest, m", profile.lowest().map(|(station_m, _)| station_m), 5.0);
    let crossings = profile.crossings(1.5);
    of.same("a level of 1.5 m is crossed so often", crossings.len(), 2);
    near("first", crossings.first().copied(), 2.5);
    near("second", crossings.last().copied(), 7.5);
    near(
        "a counter that reads 10 % long: length, m",
        Some(layout.profile(&[tilt, -tilt, 0.0], 0.9, None).length_between(0.0, 20.0)),
        18.0,
    );
    let drop = layout.profile(&[std::f64::consts::FRAC_PI_2, 0.0, tilt], 1.0, None);
    near("a drop of 5 m, which is no slope: m", Some(drop.drop_fall_between(0.0, 20.0)), 5.0);
    near("slope of the rest of it", drop.slope_between(0.0, 20.0), 6.0 / 13.0);
    // 10 m of ground, invert at 8 m, bore 100 mm and wall 5 mm at a cosine of 0.8.
    near("cover, m", cover_m(10.0, 8.0, 0.1, 0.005, tilt), 2.0 - 0.105 / 0.8);
    let point = |station_m: f64, elevation_m: f64| GroundPoint { station_m, elevation_m, sd_m: Some(0.02) };
    let ground = [point(0.0, 10.0), point(4.0, 12.0)];
    near("ground between two points, m", ground_at(&ground, 1.0), 10.5);
    near("its sd, m", ground_sd_at(&ground, 1.0), (0.75_f64 * 0.75 + 0.25 * 0.25).sqrt() * 0.02);
    // Straight east, level: the nearest place of the pipe to a point beside it.
    let level = Layout::new(&[0.0, 10.0], &[], &[], &[]).unwrap();
    let path =
        Path::new(&level, &[0.0], 1.0, Start { azimuth_rad: Some(std::f64::consts::FRAC_PI_2), ..Start::default() });
    let place = path.nearest(3.0, 4.0)[0];
    of.check(
        "nearest station to a point 4 m beside 3 m, m",
        place.station_m,
        3.0,
        Absolute(1e-9),
        "halved to the last bit of a leg",
    );
    of.check("how far it is away, m", place.away_m, 4.0, Absolute(1e-9), "the same");
}

/// `vectors/path.json`, made by `vectors/path.py` with mpmath at 60 digits.
const EXACT: Reference = reference("path", "tests/vectors/path.py (mpmath, 60 digits)", Mark::Computed);

#[derive(Deserialize)]
struct Vectors {
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

fn vectors() -> Vectors {
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
    let why =
        "a direction is known to 1.1e-16, the mean of two to that over cos(b/2): nothing can do better near a reversal";
    let mut kinds = std::collections::BTreeMap::new();
    let courses = vectors().courses;
    for c in &courses {
        let ([t1, t2], [a1, a2]) = (c.tilt_rad, c.azimuth_rad);
        let exact = c.move_m.each_ref().map(|m| number(m));
        let beta = number(&c.dogleg_rad);
        let (moves, angles) = kinds.entry(c.kind.as_str()).or_insert_with(|| {
            (
                EXACT.many("displacement", "relative, times cos(b/2)", 5e-16, why),
                EXACT
                    .many("dogleg", RELATIVE, 9e-16, "four units of the last place")
                    .claimed("a few units of the last place"),
            )
        });
        let found = minimum_curvature(&[0.0, c.length_m], &[t1, t2], &[a1, a2]).unwrap()[1];
        let error = norm([found[0] - exact[0], found[1] - exact[1], found[2] - exact[2]]) / norm(exact);
        let at = || format!("{}: {t1} {a1} {t2} {a2}", c.kind);
        moves.error(error * (0.5 * beta).cos(), at);
        let angle = dogleg(t1, a1, t2, a2);
        angles.error(if beta == 0.0 { angle } else { (angle - beta).abs() / beta }, at);
    }
    for (moves, angles) in kinds.into_values() {
        moves.done(10);
        angles.done(10);
    }
}

/// A level straight course of length 1 shows the sines and cosines themselves.
#[test]
fn directions_to_fifty_digits() {
    let why = "one unit of the last place of the sine, one and a half more of the factor (a root, a quotient, a product), relative to the \
               component itself, however small";
    let mut many = EXACT.many("components of a level course", RELATIVE, 5.6e-16, why);
    for a in vectors().angles {
        let end = minimum_curvature(&[0.0, 1.0], &[0.0; 2], &[a.rad; 2]).unwrap()[1];
        for (found, exact) in [(end[0], number(&a.sin)), (end[1], number(&a.cos))] {
            many.value(found, exact, || a.rad.to_string());
        }
    }
    many.done(400);
}
