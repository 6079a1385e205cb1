#![allow(clippy::float_cmp, reason = "these figures are to agree to the bit")]

use approx::assert_relative_eq;

use super::*;

const INCH: f64 = 0.0254;

fn circle(diameter_m: f64) -> Bore {
    Bore::circle(diameter_m).unwrap()
}

/// Cylindrical hoof, plane through a diameter: V = 2/3 r^2 h (MathWorld, Cylindrical Hoof). Archimedes' hoof: one sixth
/// of the enclosing cube. Exact formulas, so only rounding is allowed.
#[test]
fn hoof() {
    let (r, h) = (0.05, 2.0);
    assert_relative_eq!(h * circle(2.0 * r).mean_area_m2(0.0, r), 2.0 / 3.0 * r * r * h, max_relative = 1e-14);
    assert_relative_eq!(2.0 * circle(2.0).mean_area_m2(1.0, 0.0), 8.0 / 6.0, max_relative = 1e-14);
}

/// Wedge of base depth b and height h: V = h/(3b) [a (3 r^2 - a^2) + 3 r^2 (b - r) phi], a = sqrt(b (2r - b)),
/// cos phi = (r - b)/r (MathWorld, Cylindrical Wedge, and CRC tables; from memory). Litres computed from it and by
/// numerical integration, printed to six decimals: half a unit of the last is allowed.
#[test]
fn wedges() {
    for (r, b, h, litres) in [
        (0.050, 0.030, 2.0, 1.634826),
        (0.050, 0.050, 2.0, 3.333333),
        (0.050, 0.100, 2.0, 7.853982),
        (0.0511, 0.020, 1.5, 0.692155),
        (0.050, 0.020, 2.0, 0.911953),
        (0.050, 0.050, 2.5, 4.166667),
        (0.05115, 0.0254, 1.221154, 0.796703),
    ] {
        let found = 1000.0 * h * circle(2.0 * r).mean_area_m2(b, 0.0);
        assert!((found - litres).abs() <= 0.5e-6, "{r} {b} {h}: {found}");
    }
}

/// A parabolic sag of 20 mm in 3 m of 100 mm pipe holds 1.998524 litres (computed by numerical integration): 2,000
/// straight pieces, whose chords lie above the parabola by 1e-6 of its depth.
#[test]
fn parabolic_sag() {
    let depth = |i: i32| 0.02 * (1.0 - f64::from(i * i) / 1e6);
    let litres: f64 = (-1000..1000).map(|i| 1.5 * circle(0.1).mean_area_m2(depth(i), depth(i + 1))).sum();
    assert!((litres - 1.998524).abs() < 5e-6, "{litres}");
}

/// Horizontal cylinder, fraction full by depth over diameter (the standard tank table, recomputed), six decimals.
#[test]
fn horizontal_cylinder() {
    let bore = circle(0.15);
    let table = [0.052044, 0.142378, 0.252316, 0.373530, 0.5, 0.626470, 0.747684, 0.857622, 0.947956];
    for (i, fraction) in (1..).zip(table) {
        let depth = 0.015 * f64::from(i);
        assert!((bore.area_m2(depth) / bore.full_area_m2() - fraction).abs() <= 0.5e-6, "{i}");
        let back = bore.depth_for_area_m(fraction * bore.full_area_m2()).unwrap();
        // Half a unit of the table's last figure over the least slope of the curve between them, 0.76 per diameter.
        assert!((back - depth).abs() <= 0.5e-6 / 0.76 * 0.15, "{i}");
    }
}

/// Hydraulic elements of the circular pipe, A/Af and R/Rf by y/D (as in any handbook, e.g. Chow 1959; recomputed), five
/// decimals.
#[test]
fn hydraulic_elements() {
    let bore = circle(0.1);
    for (share, area, radius) in [
        (0.10, 0.05204, 0.25408),
        (0.20, 0.14238, 0.48237),
        (0.25, 0.19550, 0.58650),
        (0.30, 0.25232, 0.68376),
        (0.40, 0.37353, 0.85691),
        (0.50, 0.50000, 1.00000),
        (0.60, 0.62647, 1.11058),
        (0.70, 0.74768, 1.18494),
        (0.75, 0.80450, 1.20675),
        (0.80, 0.85762, 1.21677),
        (0.90, 0.94796, 1.19215),
        (0.95, 0.98131, 1.14581),
        (1.00, 1.00000, 1.00000),
    ] {
        let depth = share * 0.1;
        assert!((bore.area_m2(depth) / bore.full_area_m2() - area).abs() <= 0.5e-5, "{share}");
        assert!((bore.hydraulic_radius_m(depth) / 0.025 - radius).abs() <= 0.5e-5, "{share}");
    }
}

/// Litres per metre, full bore, computed from the bores: three decimals.
#[test]
fn full_bore_volumes() {
    for (diameter, litres) in [
        (3.068 * INCH, 4.769),
        (3.975 * INCH, 8.006),
        (4.026 * INCH, 8.213),
        (0.1036, 8.430),
        (5.915 * INCH, 17.728),
        (0.1520, 18.146),
        (6.065 * INCH, 18.639),
    ] {
        assert!((1000.0 * circle(diameter).full_area_m2() - litres).abs() <= 0.5e-3, "{diameter}");
    }
}

/// Perimeter of the ellipse with axes a = 2 b: 4 a E(3/4) with E(m = 3/4) = 1.2110560275684594 (Abramowitz and Stegun,
/// table 17.1, from memory, and computed).
#[test]
fn ellipse_perimeter() {
    for bore in [Bore::ellipse(2.0, 1.0).unwrap(), Bore::ellipse(1.0, 2.0).unwrap()] {
        // The last digit of the constant is 1e-16 of it; a few roundings.
        assert_relative_eq!(bore.wetted_perimeter_m(bore.height_m()), 4.0 * 1.2110560275684594, max_relative = 1e-14);
    }
}

#[test]
fn a_round_ellipse_is_a_circle() {
    let (round, circle) = (Bore::ellipse(0.1, 0.1).unwrap(), circle(0.1));
    for i in -1..=12 {
        let depth = 0.01 * f64::from(i);
        assert_eq!(round.area_m2(depth), circle.area_m2(depth));
        assert_eq!(round.antiderivative_m3(depth), circle.antiderivative_m3(depth));
        assert_eq!(round.mean_area_m2(depth, 0.04), circle.mean_area_m2(depth, 0.04));
        assert_eq!(round.top_width_m(depth), circle.top_width_m(depth));
        // Two methods, each good to a few roundings.
        assert_relative_eq!(round.wetted_perimeter_m(depth), circle.wetted_perimeter_m(depth), max_relative = 1e-14);
    }
}

#[test]
fn top_width_of_a_circle() {
    // A 3-4-5 triangle: depth 1 of radius 5 gives half-width 3. Rounding only.
    assert_relative_eq!(circle(10.0).top_width_m(1.0), 6.0, max_relative = 1e-15);
    assert_relative_eq!(circle(10.0).top_width_m(9.0), 6.0, max_relative = 1e-15);
    assert_relative_eq!(Bore::ellipse(5.0, 10.0).unwrap().top_width_m(1.0), 3.0, max_relative = 1e-15);
    for depth in [-1.0, 0.0, 10.0, 11.0] {
        assert_eq!(circle(10.0).top_width_m(depth), 0.0);
    }
}

/// The branches meet: no step larger than rounding where series, closed form and complement change over.
#[test]
fn area_never_falls_with_depth() {
    for share in [0.25, 0.5, 0.75, 1.0] {
        let bore = circle(0.1);
        let mut depth = 0.1 * share * (1.0 - 200.0 * f64::EPSILON);
        let mut before = (bore.area_m2(depth), bore.antiderivative_m3(depth));
        for _ in 0..400 {
            depth = depth.next_up();
            let now = (bore.area_m2(depth), bore.antiderivative_m3(depth));
            // Three roundings of the greater figure at the seam; a depth one rounding further gives up to three.
            assert!(now.0 >= before.0 * (1.0 - 3.0 * f64::EPSILON), "{depth}");
            assert!(now.1 >= before.1 * (1.0 - 6.0 * f64::EPSILON), "{depth}");
            before = now;
        }
    }
}

#[test]
fn sizes_beyond_reason_are_refused() {
    for size in [0.0, -0.1, 0.0009, 100.0, f64::NAN, f64::INFINITY] {
        let error = Bore::circle(size).unwrap_err();
        assert!(matches!(&error, Error::Value { field, .. } if field == "bore.circle.diameter_m"), "{error}");
        let error = Bore::ellipse(0.1, size).unwrap_err();
        assert!(matches!(&error, Error::Value { field, .. } if field == "bore.ellipse.height_m"), "{error}");
        let error = Bore::Ellipse { width_m: size, height_m: 0.1 }.validate().unwrap_err();
        assert!(matches!(&error, Error::Value { field, .. } if field == "bore.ellipse.width_m"), "{error}");
    }
}

#[test]
fn areas_beyond_the_bore_are_refused() {
    let bore = circle(0.1);
    for area in [-1e-300, bore.full_area_m2().next_up(), f64::NAN, f64::INFINITY] {
        assert!(bore.depth_for_area_m(area).is_err(), "{area}");
    }
    assert_eq!(bore.depth_for_area_m(0.0), Ok(0.0));
    assert_eq!(bore.depth_for_area_m(bore.full_area_m2()), Ok(0.1));
}

/// Depths of any kind give a finite answer, NaN gives NaN, nothing panics.
#[test]
fn depths_of_any_kind() {
    let (tiny, huge) = (f64::from_bits(1), f64::MAX);
    let depths = [-f64::INFINITY, -huge, -1.0, -tiny, -0.0, 0.0, tiny, 1e-160, 0.05, 0.1, 1.0, huge, f64::INFINITY];
    for bore in [circle(0.1), Bore::ellipse(0.11, 0.09).unwrap()] {
        let full = bore.full_area_m2();
        for first in depths {
            assert!((0.0..=full).contains(&bore.area_m2(first)), "{first}");
            assert!(bore.antiderivative_m3(first) >= 0.0, "{first}");
            assert!((0.0..1.0).contains(&bore.wetted_perimeter_m(first)), "{first}");
            assert!((0.0..1.0).contains(&bore.top_width_m(first)), "{first}");
            assert!((0.0..1.0).contains(&bore.hydraulic_radius_m(first)), "{first}");
            for second in depths {
                let mean = bore.mean_area_m2(first, second);
                // One rounding above the full area, from the two shares.
                assert!((0.0..=full.next_up()).contains(&mean), "{first} {second}: {mean}");
                assert_eq!(mean, bore.mean_area_m2(second, first));
            }
            assert!(bore.mean_area_m2(first, f64::NAN).is_nan() && bore.mean_area_m2(f64::NAN, first).is_nan());
        }
        let functions = [
            Bore::area_m2,
            Bore::antiderivative_m3,
            Bore::wetted_perimeter_m,
            Bore::top_width_m,
            Bore::hydraulic_radius_m,
        ];
        assert!(functions.iter().all(|f| f(&bore, f64::NAN).is_nan()));
    }
    // Sizes that validate() refuses must not panic or loop either.
    for size in [0.0, -1.0, tiny, huge, f64::NAN, f64::INFINITY] {
        for bore in [Bore::Circle { diameter_m: size }, Bore::Ellipse { width_m: 0.1, height_m: size }] {
            for depth in depths {
                let _ = (bore.area_m2(depth), bore.antiderivative_m3(depth), bore.mean_area_m2(depth, 0.03));
                let _ = (bore.wetted_perimeter_m(depth), bore.top_width_m(depth), bore.depth_for_area_m(depth).is_ok());
            }
        }
    }
}
