//! Longitude and latitude against general libraries (golden vectors of tests/vectors/geographic.py), near the poles and the
//! antimeridian too.

#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]

use fallwise::{
    Error, Job, Lateral, Run,
    geographic::{self, SEMI_MAJOR_M},
    math,
    model::Origin,
    units::{deg, to_deg},
};
use fallwise_record::{Mark, reference};
use serde::Deserialize;

#[derive(Deserialize)]
struct Case {
    longitude_deg: f64,
    latitude_deg: f64,
    grid_north_rad: f64,
    origin_m: [f64; 2],
    point_m: [f64; 2],
    expected_deg: [f64; 2],
    geodesic_m: f64,
}

fn cases() -> Vec<Case> {
    serde_json::from_str(include_str!("vectors/geographic.json")).unwrap()
}

fn origin(case: &Case) -> Origin {
    Origin {
        longitude_rad: deg(case.longitude_deg),
        latitude_rad: deg(case.latitude_deg),
        east_m: case.origin_m[0],
        north_m: case.origin_m[1],
        grid_north_rad: case.grid_north_rad,
        sd_m: None,
    }
}

/// How far two places lie apart, m, by their chord on a sphere: a difference of longitude counts as little as the parallel is short.
fn apart_m(one: [f64; 2], other: [f64; 2]) -> f64 {
    let unit = |[lon, lat]: [f64; 2]| {
        let ((sin_lon, cos_lon), (sin_lat, cos_lat)) = (math::sin_cos(deg(lon)), math::sin_cos(deg(lat)));
        [cos_lat * cos_lon, cos_lat * sin_lon, sin_lat]
    };
    let (a, b) = (unit(one), unit(other));
    let squares = a.iter().zip(b).map(|(a, b)| (a - b) * (a - b)).sum::<f64>();
    SEMI_MAJOR_M * squares.sqrt()
}

#[test]
fn places_agree_with_a_general_library() {
    let of = reference("geographic", "PROJ, by tests/vectors/geographic.py", Mark::Software);
    let why = "an eps of the earth's radius is 1.4 nm, of degrees at 180 another 3 nm, a few of each on both sides; beyond 10 km the height \
               above the ellipsoid (640 m at 90 km) costs each library's last step some more";
    let mut many = of.many("place", "m", 1e-7, why).claimed("1 um");
    for case in cases() {
        let there = geographic::place(&origin(&case), case.point_m[0], case.point_m[1]).unwrap();
        let found = [to_deg(there.longitude_rad), to_deg(there.latitude_rad)];
        assert!((-180.0..=180.0).contains(&found[0]) && (-90.0..=90.0).contains(&found[1]), "{found:?}");
        many.error(apart_m(found, case.expected_deg), || format!("{} {}", case.longitude_deg, case.latitude_deg));
    }
    many.done(100);
}

/// The accuracy that the module states of a plane.
#[test]
fn a_plane_stands_for_the_earth_as_well_as_is_said() {
    let of = reference("geographic", "GeographicLib, by tests/vectors/geographic.py", Mark::Software);
    let why = "the least radius of curvature is 6335 km; the next term is a few per cent of the first at 90 km; the rest is rounding";
    let mut many =
        of.many("plane longer than the earth, over what is stated", "ratio", 1.05, why).claimed("d^3 / (3 R^2)");
    for case in cases() {
        let (east, north) = (case.point_m[0] - case.origin_m[0], case.point_m[1] - case.origin_m[1]);
        let away_m = math::hypot(east, north);
        let stated_m = away_m * away_m * away_m / (3.0 * 6.335e6 * 6.335e6);
        let longer_m = away_m - case.geodesic_m;
        // What rounding makes of it: 0.1 um.
        assert!(longer_m > -1e-7, "{away_m}: {longer_m}");
        many.error((longer_m - 1e-7).max(0.0) / stated_m, || format!("{away_m} m away"));
    }
    many.done(100);
}

#[test]
fn what_is_no_place_is_refused() {
    let good =
        Origin { longitude_rad: 1.0, latitude_rad: 1.0, east_m: 0.0, north_m: 0.0, grid_north_rad: 0.0, sd_m: None };
    let field = |origin: Origin, east_m: f64| match geographic::place(&origin, east_m, 0.0) {
        Err(Error::Value { field, .. }) => field,
        other => panic!("{other:?}"),
    };
    assert_eq!(field(Origin { longitude_rad: 3.2, ..good }, 0.0), "longitude_rad");
    assert_eq!(field(Origin { latitude_rad: -1.6, ..good }, 0.0), "latitude_rad");
    assert_eq!(field(Origin { latitude_rad: f64::NAN, ..good }, 0.0), "latitude_rad");
    assert_eq!(field(Origin { east_m: f64::INFINITY, ..good }, 0.0), "east_m");
    assert_eq!(field(Origin { north_m: 2e9, ..good }, 0.0), "north_m");
    assert_eq!(field(Origin { grid_north_rad: 11.0, ..good }, 0.0), "grid_north_rad");
    assert_eq!(field(Origin { sd_m: Some(-1.0), ..good }, 0.0), "sd_m");
    assert_eq!(field(good, 1.1e5), "distance from the origin");
    assert_eq!(field(good, f64::NAN), "distance from the origin");
    // In a job, with the table before the field.
    let run = Run::new(vec![0.0, 1.0, 2.0], vec![0.02; 3]);
    let job = Job { runs: vec![run], origin: Some(Origin { latitude_rad: 2.0, ..good }), ..Job::default() };
    assert!(matches!(Lateral::solve(job), Err(Error::Value { field, .. }) if field == "origin.latitude_rad"));
}
