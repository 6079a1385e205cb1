//! Geometry of the bore and the elementary functions against committed answers of 120 digits (`vectors/section.py`).

#![allow(clippy::float_cmp, reason = "equal figures have no error, equal axes make a circle")]
#![allow(clippy::print_stdout, reason = "shows the error found beside the bound, with --nocapture")]

use std::collections::BTreeMap;

use fallwise::{Bore, math};

type One = fn(f64) -> f64;
type Two = fn(f64, f64) -> f64;
type Vectors = BTreeMap<String, Vec<Vec<f64>>>;

fn section() -> Vectors {
    serde_json::from_str(include_str!("vectors/section.json")).expect("section.json is committed as written")
}

fn elementary() -> Vectors {
    serde_json::from_str(include_str!("vectors/math.json")).expect("math.json is committed as written")
}

fn bore(width: f64, height: f64) -> Bore {
    // Not through the constructors: the bound holds for any size.
    if width == height {
        Bore::Circle { diameter_m: width }
    } else {
        Bore::Ellipse { width_m: width, height_m: height }
    }
}

/// Greatest relative error over the rows, with its row; fails on fewer rows than the promised number.
fn worst(rows: &[Vec<f64>], least: usize, value: impl Fn(&[f64]) -> (f64, f64)) -> (f64, Vec<f64>) {
    assert!(rows.len() >= least, "{} rows", rows.len());
    let mut worst = (0.0, vec![]);
    for row in rows {
        let (found, expected) = value(row);
        let error = if found == expected { 0.0 } else { ((found - expected) / expected).abs() };
        assert!(!error.is_nan(), "{row:?}: {found}");
        if error > worst.0 {
            worst = (error, row.clone());
        }
    }
    worst
}

/// 1e-12 is the promise of the module; the bound here is the error the method itself should have, in units of 2^-52,
/// so that a lost bit shows long before the promise is broken.
fn assert_section(name: &str, ulps: f64, value: impl Fn(Bore, &[f64]) -> f64) {
    let vectors = section();
    let (error, row) = worst(&vectors[name], 200, |row| match row {
        [width, height, arguments @ .., expected] => (value(bore(*width, *height), arguments), *expected),
        _ => panic!("short row {row:?}"),
    });
    println!("{name}: {:.1} ulp at {row:?}", error / f64::EPSILON);
    assert!(error <= ulps * f64::EPSILON && error < 1e-12, "{name}: {:.1} ulp at {row:?}", error / f64::EPSILON);
}

/// Half an ulp each for depth over height (times 3/2), box, product, root, and a few for the series or closed form.
#[test]
fn area() {
    assert_section("area", 4.0, |bore, x| bore.area_m2(x[0]));
}

/// As the area, with 5/2 for the depth; the closed form at a quarter of the height loses three bits.
#[test]
fn antiderivative() {
    assert_section("antiderivative", 10.0, |bore, x| bore.antiderivative_m3(x[0]));
}

/// The difference of F over a difference of 1/32 loses a factor of 13; the remainder of the Taylor series is 2e-14.
#[test]
fn mean_area() {
    assert_section("mean_area", 150.0, |bore, x| bore.mean_area_m2(x[0], x[1]));
    assert_section("mean_area", 150.0, |bore, x| bore.mean_area_m2(x[1], x[0]));
}

/// One arc sine of a root.
#[test]
fn perimeter_of_the_circle() {
    assert_section("perimeter_circle", 4.0, |bore, x| bore.wetted_perimeter_m(x[0]));
}

/// The series of RF and RD leave an error of the sixth power of 1e-3; their difference cancels mildly in flat ellipses.
#[test]
fn perimeter_of_the_ellipse() {
    assert_section("perimeter_ellipse", 40.0, |bore, x| bore.wetted_perimeter_m(x[0]));
}

/// Backward: the depth lies between the exact depths of the area less and plus 4 units in its last place, half an ulp
/// allowed for rounding of the depth and of the committed bounds. Forward: 1e-12 wherever those two are nearer than that.
#[test]
fn depth_for_area() {
    let vectors = section();
    let rows = &vectors["depth_for_area"];
    assert!(rows.len() >= 200);
    let mut sharp = 0;
    for row in rows {
        let [width, height, area, low, depth, high] = row[..] else { panic!("row {row:?}") };
        let found = bore(width, height).depth_for_area_m(area).expect("an area of the bore");
        assert!(found >= low * (1.0 - f64::EPSILON) && found <= high * (1.0 + f64::EPSILON), "{row:?}: {found}");
        if high - low < 1e-12 * depth {
            sharp += 1;
            assert!((found - depth).abs() < 1e-12 * depth, "{row:?}: {found}");
        }
    }
    assert!(sharp > 150, "only {sharp} cases are well conditioned");
}

/// Errors in units of 2^-52 relative, which is half to one unit in the last place. The algorithms of `libm` state less
/// than one unit in the last place, two for log10 and erfc; its cube root is correctly rounded.
#[test]
fn elementary_functions() {
    let one: [(&str, f64, One); 14] = [
        ("sin", 1.0, math::sin),
        ("cos", 1.0, math::cos),
        ("tan", 1.0, math::tan),
        ("asin", 1.0, math::asin),
        ("acos", 1.0, math::acos),
        ("atan", 1.0, math::atan),
        ("exp", 1.0, math::exp),
        ("exp_m1", 1.0, math::exp_m1),
        ("ln", 1.0, math::ln),
        ("ln_1p", 1.0, math::ln_1p),
        ("log10", 2.0, math::log10),
        ("cbrt", 0.0, math::cbrt),
        ("erf", 1.0, math::erf),
        ("erfc", 2.0, math::erfc),
    ];
    let two: [(&str, f64, Two); 3] =
        [("atan2", 1.0, math::atan2), ("hypot", 1.0, math::hypot), ("pow", 1.0, math::pow)];
    let vectors = elementary();
    for (name, ulps, function) in one {
        let (error, row) = worst(&vectors[name], 50, |row| (function(row[0]), row[1]));
        println!("{name}: {:.2} ulp at {row:?}", error / f64::EPSILON);
        assert!(error <= ulps * f64::EPSILON, "{name}: {:.2} ulp at {row:?}", error / f64::EPSILON);
    }
    for (name, ulps, function) in two {
        let (error, row) = worst(&vectors[name], 50, |row| (function(row[0], row[1]), row[2]));
        println!("{name}: {:.2} ulp at {row:?}", error / f64::EPSILON);
        assert!(error <= ulps * f64::EPSILON, "{name}: {:.2} ulp at {row:?}", error / f64::EPSILON);
    }
    for row in &vectors["sin"] {
        assert_eq!(math::sin_cos(row[0]), (math::sin(row[0]), math::cos(row[0])));
    }
}

/// Wichura gives about 1 part in 1e16 for the fit itself; rounding of p in the tail and of the logarithm adds a few.
#[test]
fn normal_quantile() {
    let vectors = elementary();
    let (error, row) = worst(&vectors["normal_quantile"], 200, |row| (math::normal_quantile(row[0]), row[1]));
    println!("normal_quantile: {:.2} ulp at {row:?}", error / f64::EPSILON);
    assert!(error <= 4.0 * f64::EPSILON, "{:.2} ulp at {row:?}", error / f64::EPSILON);
}

/// x / sqrt 2 is rounded, and the relative condition of the lower tail is x^2.
#[test]
fn normal_cdf() {
    let vectors = elementary();
    let (error, row) = worst(&vectors["normal_cdf"], 200, |row| {
        let scale = 3.0 + row[0].min(0.0) * row[0].min(0.0);
        (1.0 + (math::normal_cdf(row[0]) / row[1] - 1.0) / scale, 1.0)
    });
    assert!(error <= f64::EPSILON, "{:.2} at {row:?}", error / f64::EPSILON);
}
