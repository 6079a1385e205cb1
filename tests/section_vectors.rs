//! Geometry of the bore and the elementary functions against committed answers of 120 digits (`vectors/section.py`).

#![allow(clippy::float_cmp, reason = "equal axes make a circle")]

use std::collections::BTreeMap;

use fallwise::{Bore, math};
use fallwise_record::{Mark, RELATIVE, Reference, ULP, reference};

const fn exact(computation: &'static str) -> Reference<'static> {
    reference(computation, "tests/vectors/section.py (mpmath, 120 digits)", Mark::Computed)
}

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

/// 1e-12 is the promise of the module; the bound here is the error the method itself should have, in units of 2^-52,
/// so that a lost bit shows long before the promise is broken.
fn assert_section(computation: &'static str, name: &str, ulps: f64, why: &str, value: impl Fn(Bore, &[f64]) -> f64) {
    let of = exact(computation);
    let mut many = of.many(name, ULP, ulps, why).claimed("1e-12, from 1e-9 of the height on");
    for row in &section()[name] {
        let [width, height, arguments @ .., expected] = &row[..] else { panic!("short row {row:?}") };
        many.value(value(bore(*width, *height), arguments), *expected, || format!("{row:?}"));
    }
    many.done(200);
}

#[test]
fn area() {
    let why = "half an ulp each for depth over height (times 3/2), box, product, root, and a few for the series or closed form";
    assert_section("area", "area", 4.0, why, |bore, x| bore.area_m2(x[0]));
}

#[test]
fn antiderivative() {
    let why = "as the area, with 5/2 for the depth; the closed form at a quarter of the height loses three bits";
    assert_section("integral", "antiderivative", 10.0, why, |bore, x| bore.antiderivative_m3(x[0]));
}

#[test]
fn mean_area() {
    let why = "the difference of F over a difference of 1/32 loses a factor of 13; the remainder of the Taylor series is 2e-14";
    assert_section("integral", "mean_area", 150.0, why, |bore, x| bore.mean_area_m2(x[0], x[1]));
    assert_section("integral", "mean_area", 150.0, why, |bore, x| bore.mean_area_m2(x[1], x[0]));
}

#[test]
fn perimeter_of_the_circle() {
    let why = "one arc sine of a root";
    assert_section("perimeter", "perimeter_circle", 4.0, why, |bore, x| bore.wetted_perimeter_m(x[0]));
}

#[test]
fn perimeter_of_the_ellipse() {
    let why = "the series of RF and RD leave an error of the sixth power of 1e-3; their difference cancels mildly in flat ellipses";
    assert_section("perimeter", "perimeter_ellipse", 40.0, why, |bore, x| bore.wetted_perimeter_m(x[0]));
}

/// Backward: the depth lies between the exact depths of the area less and plus 4 units in its last place, half an ulp
/// allowed for rounding of the depth and of the committed bounds. Forward: 1e-12 wherever those two are nearer than that.
#[test]
fn depth_for_area() {
    let of = exact("inverse");
    let mut back = of
        .many(
            "depth_for_area",
            "ulp of the area",
            4.0,
            "a root taken to the last place; counted by the depths of 4 ulp less and more, and near full by the crown",
        )
        .claimed("6 ulp");
    let mut sharp = of.many("depth_for_area, where the area tells it", RELATIVE, 1e-12, "the promise of the function");
    for row in &section()["depth_for_area"] {
        let [width, height, area, low, depth, high] = row[..] else { panic!("row {row:?}") };
        let found = bore(width, height).depth_for_area_m(area).expect("an area of the bore");
        // Between the depths of the area 4 ulp less and 4 more; what the depth itself is rounded by does not count.
        let off = (found - depth).abs() - f64::EPSILON * depth;
        let of_four = off / if found < depth { depth - low } else { high - depth };
        back.error(if off > 0.0 { 4.0 * of_four } else { 0.0 }, || format!("{row:?}"));
        if high - low < 1e-12 * depth {
            sharp.value(found, depth, || format!("{row:?}"));
        }
    }
    back.done(200);
    sharp.done(150);
}

fn assert_elementary(computation: &'static str, name: &str, ulps: f64, why: &str, value: impl Fn(&[f64]) -> f64) {
    let of = exact(computation);
    let mut many = of.many(name, ULP, ulps, why);
    for row in &elementary()[name] {
        let (expected, arguments) = row.split_last().expect("a row");
        many.value(value(arguments), *expected, || format!("{arguments:?}"));
    }
    many.done(50);
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
    let why = "stated of the algorithms of libm";
    for (name, ulps, function) in one {
        assert_elementary("elementary", name, ulps, why, |x| function(x[0]));
    }
    for (name, ulps, function) in two {
        assert_elementary("elementary", name, ulps, why, |x| function(x[0], x[1]));
    }
    for row in &elementary()["sin"] {
        assert_eq!(math::sin_cos(row[0]), (math::sin(row[0]), math::cos(row[0])));
    }
}

#[test]
fn normal_quantile() {
    let why = "1 part in 1e16 for the fit itself (Wichura); rounding of p in the tail and of the logarithm adds a few";
    assert_elementary("distributions", "normal_quantile", 4.0, why, |x| math::normal_quantile(x[0]));
}

#[test]
fn normal_cdf() {
    let of = exact("distributions");
    let why = "x / sqrt 2 is rounded, and the relative condition of the lower tail is x^2";
    let mut many = of.many("normal_cdf", "relative over 3 + x^2 of the lower tail, in 2^-52", 1.0, why);
    for row in &elementary()["normal_cdf"] {
        let scale = 3.0 + row[0].min(0.0) * row[0].min(0.0);
        let relative = (math::normal_cdf(row[0]) / row[1] - 1.0).abs();
        many.error(relative / scale / f64::EPSILON, || format!("{row:?}"));
    }
    many.done(200);
}
