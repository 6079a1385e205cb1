//! Hydraulics against worked examples, textbooks and standards.

#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]

use fallwise::{
    Bore,
    hydraulics::{
        EN_12056_ROUGHNESS_M, EN_12056_VISCOSITY_M2_S, Friction, State, System, UNIT_WEIGHT_N_M3, Uniform, Use,
        critical_depth_m, critical_shear_pa, diameter_for_flow_m, discharge_unit_l_s, fixtures, shear_pa,
        slope_for_flow, waste_water_flow_m3_s, water_viscosity_m2_s,
    },
    math,
    units::{to_deg, to_lb_per_ft2},
};
use fallwise_record::{
    Mark, Reference,
    Tolerance::{Absolute, Relative},
    reference,
};

fn circle(diameter_m: f64) -> Bore {
    Bore::circle(diameter_m).unwrap()
}

fn manning(diameter_m: f64, slope: f64, n: f64) -> Uniform {
    Uniform::new(circle(diameter_m), slope, Friction::Manning { n }).unwrap()
}

const EN_12056: Friction =
    Friction::ColebrookWhite { roughness_m: EN_12056_ROUGHNESS_M, viscosity_m2_s: EN_12056_VISCOSITY_M2_S };

/// Constants of the circle under Manning with one n, to the digits that textbooks (Chow 1959, 6-4, from memory) round.
#[test]
fn the_most_and_the_second_depth_of_a_full_flow() {
    let flows = reference("uniform-flow", "Chow 1959, 6-4, to two digits; computed at 50", Mark::Computed);
    let pipe = manning(1.0, 0.01, 0.01);
    let most = pipe.most();
    let why = "as many digits as are given";
    flows.check("depth of the most over the bore", most.depth_m, 0.938181216, Relative(1e-8), why);
    flows.check("the most over the full bore", most.flow_m3_s / most.full_m3_s, 1.07570613, Relative(1e-8), why);
    let normal = pipe.normal_depth(most.full_m3_s).unwrap();
    let depths = Reference { computation: "normal-depth", ..flows };
    depths.same(
        "the flow of the full bore: state, upper depth",
        (normal.state, normal.upper_depth_m),
        (State::Two, Some(1.0)),
    );
    depths.check("its lower depth over the bore", normal.depth_m.unwrap(), 0.81962945, Relative(1e-8), why);
}

#[test]
fn hydraulic_elements() {
    let of = reference(
        "uniform-flow",
        "elements of a circle partly full; Chow 1959, figure 6-5, has them as a chart",
        Mark::Computed,
    );
    let pipe = manning(1.0, 0.01, 0.01);
    let (area, radius) = (pipe.bore.full_area_m2(), 0.25);
    for (y, a, r, v, q) in [
        (0.1, 0.05204, 0.25408, 0.40116, 0.02088),
        (0.2, 0.14238, 0.48237, 0.61506, 0.08757),
        (0.25, 0.19550, 0.58650, 0.70067, 0.13698),
        (0.3, 0.25232, 0.68376, 0.77614, 0.19583),
        (0.4, 0.37353, 0.85691, 0.90217, 0.33699),
        (0.5, 0.5, 1.0, 1.0, 0.5),
        (0.6, 0.62647, 1.11058, 1.07242, 0.67184),
        (0.7, 0.74768, 1.18494, 1.11977, 0.83724),
        (0.75, 0.80450, 1.20675, 1.13347, 0.91188),
        (0.8, 0.85762, 1.21677, 1.13974, 0.97747),
        (0.9, 0.94796, 1.19215, 1.12431, 1.06580),
        (0.95, 0.98131, 1.14581, 1.09498, 1.07451),
        (1.0, 1.0, 1.0, 1.0, 1.0),
    ] {
        for (what, found, expected) in [
            ("A/A", pipe.bore.area_m2(y) / area, a),
            ("R/R", pipe.bore.hydraulic_radius_m(y) / radius, r),
            ("V/V", pipe.velocity_m_s(y) / pipe.velocity_m_s(1.0), v),
            ("Q/Q", pipe.flow_m3_s(y) / pipe.flow_m3_s(1.0), q),
        ] {
            of.check(format!("{y} full: {what} full"), found, expected, Absolute(5.1e-6), "five decimals");
        }
    }
}

/// Worked cases of an open package of a university author, as recomputed to the digits given, and as they are printed.
#[test]
fn worked_cases() {
    let source = "worked cases of an open package (EdM44, hydraulics, its manual)";
    let (again, printed) =
        (reference("uniform-flow", source, Mark::Computed), reference("uniform-flow", source, Mark::Seen));
    let digits = "as many digits as are given";
    let pipe = manning(0.6, 1.0 / 400.0, 0.013);
    let what = "D 0.6 m, 1 in 400, n 0.013";
    again.check(format!("{what}, 0.24 m: flow, m3/s"), pipe.flow_m3_s(0.24), 0.103457, Relative(5e-6), digits);
    again.check(format!("{what}, 0.24 m: velocity, m/s"), pipe.velocity_m_s(0.24), 0.979586, Relative(5e-7), digits);
    again.check(format!("{what}, full: flow, m3/s"), pipe.flow_m3_s(0.6), 0.307006, Relative(2e-6), digits);
    printed.printed(format!("{what}, 0.24 m: flow, m3/s"), pipe.flow_m3_s(0.24), "0.10");
    printed.printed(format!("{what}, full: flow, m3/s"), pipe.flow_m3_s(0.6), "0.31");
    let slope = slope_for_flow(circle(0.6), Friction::Manning { n: 0.013 }, 0.3, 0.17).unwrap().unwrap();
    again.check("slope for 0.17 m3/s at 0.3 m", slope, 0.00306623, Relative(2e-6), digits);
    printed.printed("slope for 0.17 m3/s at 0.3 m", slope, "0.003");
    let flow = 83.5 * 0.3048 * 0.3048 * 0.3048;
    let d = diameter_for_flow_m(0.0002, Friction::Manning { n: 0.015 }, flow, 0.9).unwrap().unwrap() / 0.3048;
    let why = "printed with 1.486 for the cube root of 1/0.3048";
    printed.check("diameter for 83.5 ft3/s at nine tenths, ft", d, 7.00, Relative(1e-3), why);
    // 1.486 in the formula is an n smaller by as much.
    let feet = Friction::Manning { n: 0.015 * math::cbrt(1.0 / 0.3048) / 1.486 };
    let d = diameter_for_flow_m(0.0002, feet, flow, 0.9).unwrap().unwrap() / 0.3048;
    again.check("the same with 1.486, ft", d, 7.0016, Absolute(5.1e-5), "four decimals");
    printed.printed("its depth, ft", 0.9 * d, "6.30");

    let of = |mark| reference("normal-depth", source, mark);
    let (again, printed) = (of(Mark::Computed), of(Mark::Seen));
    let odd = manning(0.2, 0.001, 0.0013).normal_depth(0.01).unwrap().depth_m.unwrap();
    again.check("D 0.2 m, 0.1 %, n 0.0013, 0.01 m3/s: depth, m", odd, 0.041950, Relative(2e-5), digits);
    printed.printed("the same, m", odd, "0.042");
    let usual = manning(0.2, 0.001, 0.013);
    let y = usual.normal_depth(0.01).unwrap().depth_m.unwrap();
    again.check("the same with n 0.013: depth, m", y, 0.157828, Relative(5e-6), digits);
    again.check("its velocity, m/s", usual.velocity_m_s(y), 0.376053, Relative(5e-6), digits);
    let critical = Reference { computation: "critical-depth", ..printed };
    critical.printed("D 0.2 m, 0.01 m3/s, m", critical_depth_m(circle(0.2), 0.01).unwrap(), "0.085");
    // The section at that depth, six figures, and six of the depth with which they move.
    let (bore, why) = (circle(0.2), "six figures, and six of the depth");
    for (computation, what, found, expected) in [
        ("area", "area, m2", bore.area_m2(0.157828), 0.0265920),
        ("perimeter", "wetted perimeter, m", bore.wetted_perimeter_m(0.157828), 0.437483),
        ("perimeter", "hydraulic radius, m", bore.hydraulic_radius_m(0.157828), 0.0607840),
    ] {
        let what = format!("D 0.2 m, 0.157828 m deep: {what}");
        Reference { computation, ..again }.check(what, found, expected, Relative(1e-5), why);
    }
}

#[test]
fn a_lateral() {
    let depth = reference("normal-depth", "4 in at 1/4 in/ft, beforehand", Mark::Computed);
    let shear = Reference { computation: "self-cleansing", ..depth };
    for (q, n, y_mm, v, tau) in [
        (0.5, 0.009, 14.576, 0.6970, 1.852),
        (1.0, 0.009, 20.442, 0.8558, 2.519),
        (2.0, 0.009, 28.951, 1.0462, 3.405),
        (0.5, 0.013, 17.424, 0.5383, 2.182),
        (1.0, 0.013, 24.548, 0.6595, 2.959),
        (2.0, 0.013, 35.049, 0.8034, 3.978),
    ] {
        let pipe = manning(0.10226, 1.0 / 48.0, n);
        let y = pipe.normal_depth(0.001 * q).unwrap().depth_m.unwrap();
        depth.check(format!("{q} l/s, n {n}: depth, mm"), 1000.0 * y, y_mm, Relative(4e-5), "five figures");
        depth.check(format!("{q} l/s, n {n}: velocity, m/s"), pipe.velocity_m_s(y), v, Relative(1e-4), "four figures");
        let why = "four figures, and 3.4e-4 of the weight, 9810 N/m3 there";
        shear.check(format!("{q} l/s, n {n}: shear, Pa"), shear_pa(&pipe, y), tau, Relative(6e-4), why);
    }
}

#[test]
fn full_bores_by_colebrook_and_white() {
    let of = reference("uniform-flow", "Colebrook and White with g 9.81 and 1.14e-6 m2/s, beforehand", Mark::Computed);
    let why = "half of the 3.4e-4 of gravity, and four figures";
    for (d, slope, k_mm, v, q_l_s) in
        [(0.15, 0.01, 0.6, 1.0031, 17.726), (0.15, 0.01, 1.5, 0.8752, 15.465), (0.1, 1.0 / 80.0, 0.6, 0.8593, 6.749)]
    {
        let friction = Friction::ColebrookWhite { roughness_m: 0.001 * k_mm, viscosity_m2_s: 1.14e-6 };
        let pipe = Uniform::new(circle(d), slope, friction).unwrap();
        let what = format!("D {d} m full at {slope}, k {k_mm} mm");
        of.check(format!("{what}: velocity, m/s"), pipe.velocity_m_s(d), v, Relative(2.5e-4), why);
        of.check(format!("{what}: flow, l/s"), 1000.0 * pipe.flow_m3_s(d), q_l_s, Relative(2.5e-4), why);
    }
}

#[test]
fn the_greatest_velocity() {
    let of =
        reference("uniform-flow", "Chow 1959, 6-4, from memory: 0.81 and 1.14; computed at 50 digits", Mark::Computed);
    let pipe = manning(1.0, 0.01, 0.01);
    let at = |y: f64| pipe.velocity_m_s(y) / pipe.velocity_m_s(1.0);
    let why = "as many digits as are given";
    of.check(
        "greatest velocity, at 0.81280314 full, over the full bore's",
        at(0.81280314),
        1.14002916,
        Relative(5e-9),
        why,
    );
    for off in [1e-3, -1e-3] {
        assert!(at(0.81280314 + off) < at(0.81280314));
    }
}

/// The same circle by Chezy, with one coefficient at all depths, where V goes with the root of R.
#[test]
fn the_most_by_chezy() {
    let of = reference("uniform-flow", "Chezy; Chow 1959, 6-4, from memory: 0.95 and 0.81; computed", Mark::Computed);
    let bore = circle(1.0);
    let velocity = |y: f64| (bore.hydraulic_radius_m(y) / 0.25).sqrt();
    let flow = |y: f64| bore.area_m2(y) / bore.full_area_m2() * velocity(y);
    let greatest = |name: &str, value: &dyn Fn(f64) -> f64, at: f64, printed: f64| {
        let why = "five decimals; it is flat there, so that those of the place do not show";
        of.check(format!("greatest {name} by Chezy over the full bore's"), value(at), printed, Absolute(5.1e-6), why);
        // The place: half a digit and a little, at which a parabola is as high on either side.
        let (below, above) = (value(at - 1e-3), value(at + 1e-3));
        let place = at + 0.5e-3 * (above - below) / (2.0 * value(at) - above - below);
        of.check(
            format!("its place, {name}"),
            place,
            at,
            Absolute(2e-5),
            "cubic part of a step of 1e-3, near the crown",
        );
        assert!(below < value(at) && above < value(at));
    };
    greatest("flow", &flow, 0.94971, 1.05041);
    greatest("velocity", &velocity, 0.81280, 1.10328);
    let (found, expected) = (bore.hydraulic_radius_m(0.81280) / 0.25, 1.10328 * 1.10328);
    of.check("R over the full bore's there", found, expected, Relative(1e-5), "five decimals, squared");
}

#[test]
fn half_full() {
    let of = reference("uniform-flow", "half full has V and R of the full bore and half its flow", Mark::Exact);
    for friction in
        [Friction::Manning { n: 0.013 }, Friction::ColebrookWhite { roughness_m: 0.0015, viscosity_m2_s: 1.31e-6 }]
    {
        let pipe = Uniform::new(circle(0.3), 0.01, friction).unwrap();
        let (law, why) = (
            if matches!(friction, Friction::Manning { .. }) { "Manning" } else { "Colebrook and White" },
            "some last places",
        );
        of.check(
            format!("D 0.3 m half full, {law}: R, m"),
            pipe.bore.hydraulic_radius_m(0.15),
            0.075,
            Relative(1e-15),
            why,
        );
        let (v, q) = (pipe.velocity_m_s(0.3), 0.5 * pipe.flow_m3_s(0.3));
        of.check(format!("D 0.3 m half full, {law}: V, m/s"), pipe.velocity_m_s(0.15), v, Relative(2e-15), why);
        of.check(format!("D 0.3 m half full, {law}: Q, m3/s"), pipe.flow_m3_s(0.15), q, Relative(2e-15), why);
    }
}

#[test]
fn angles_of_the_most() {
    let of = reference("perimeter", "angles at the axis of the most flow and the greatest velocity", Mark::Computed);
    for (y, degrees) in [(0.938_181_22, 302.413_26), (0.812_803_14, 257.453_40)] {
        let angle = to_deg(circle(1.0).wetted_perimeter_m(y) / 0.5);
        let allowed = 5e-6 + 2.0 * 4.2 * 57.3 * 5e-9;
        let why = "five decimals, and eight of the depth: the angle goes with twice 1/(y (1 - y))^(1/2) of it";
        of.check(format!("{y} full, degrees"), angle, degrees, Absolute(allowed), why);
    }
}

#[test]
fn six_inches_of_water_in_a_pipe_of_48() {
    let of = |computation| reference(computation, "a common example of continuing education; recomputed", Mark::Memory);
    let (bore, ft) = (circle(4.0 * 0.3048), 0.3048);
    let (what, why) = ("48 in, 6 in deep", "seven figures");
    let area = bore.area_m2(0.5 * ft) / (ft * ft);
    of("area").check(format!("{what}: area, ft2"), area, 0.906624, Relative(1e-6), why);
    let (perimeter, radius) = (bore.wetted_perimeter_m(0.5 * ft) / ft, bore.hydraulic_radius_m(0.5 * ft) / ft);
    of("perimeter").check(format!("{what}: wetted perimeter, ft"), perimeter, 2.890937, Relative(2e-7), why);
    of("perimeter").check(format!("{what}: hydraulic radius, ft"), radius, 0.313609, Relative(2e-6), why);
}

#[test]
fn shear_half_full() {
    let of = reference("self-cleansing", "rho g R S with 9810 N/m3, beforehand", Mark::Computed);
    for (slope, name, tau) in [(1.0 / 96.0, "1/8", 2.612), (1.0 / 48.0, "1/4", 5.225)] {
        let shear = shear_pa(&manning(0.10226, slope, 0.013), 0.05113);
        let why = "3.4e-4 of the weight; four figures";
        of.check(format!("4 in half full at {name} in/ft: shear, Pa"), shear, tau, Relative(5.5e-4), why);
    }
    let asce =
        reference("self-cleansing", "ASCE Manual of Practice 60, 2nd edition (2007), after Merritt", Mark::Memory);
    let shear = critical_shear_pa(0.001).unwrap();
    asce.check("grain of 1 mm, Pa", shear, 0.867, Relative(1e-15), "a rounding");
    asce.check("grain of 1 mm, lb/ft2", to_lb_per_ft2(shear), 0.0181, Relative(3e-3), "three figures");
}

/// EN 12056-2:2000, annex B (printed values from memory, to two figures): DN 100, 150, 200 half full.
#[test]
fn capacities_of_en_12056() {
    let paper = reference("uniform-flow", "EN 12056-2:2000, annex B, half full", Mark::Memory);
    let again = reference("uniform-flow", "EN 12056-2:2000, annex B, recomputed with 3.7 and g 9.81", Mark::Computed);
    let why = "two decimals; 1.7e-4 of gravity, with which the root of the slope goes; 7e-4 of 3.71 for 3.7 there";
    for (bore_mm, cm_per_m, q_l_s, v, recomputed) in [
        (96.0, 0.5, 1.8, 0.5, 1.76),
        (96.0, 1.0, 2.5, 0.7, 2.50),
        (96.0, 2.0, 3.5, 1.0, 3.55),
        (146.0, 0.5, 5.4, 0.6, 5.39),
        (146.0, 1.0, 7.7, 0.9, 7.66),
        (146.0, 2.0, 10.9, 1.3, 10.87),
        (184.0, 0.5, 10.0, 0.8, 9.99),
        (184.0, 1.0, 14.2, 1.1, 14.18),
        (184.0, 2.0, 20.1, 1.5, 20.11),
    ] {
        let pipe = Uniform::new(circle(0.001 * bore_mm), 0.01 * cm_per_m, EN_12056).unwrap();
        let (half, what) = (0.0005 * bore_mm, format!("{bore_mm} mm half full at {cm_per_m} cm/m"));
        let q = 1000.0 * pipe.flow_m3_s(half);
        paper.check(format!("{what}: l/s"), q, q_l_s, Absolute(0.051), "one decimal, and 3.5 was cut from 3.55");
        paper.check(format!("{what}: m/s"), pipe.velocity_m_s(half), v, Absolute(0.05), "one decimal");
        again.check(format!("{what}: l/s"), q, recomputed, Relative(9e-4 + 0.005 / recomputed), why);
    }
    let again = Reference { source: "EN 12056-2:2000, annex B at 0.7, recomputed with 3.7 and g 9.81", ..again };
    for (bore_mm, cm_per_m, q_l_s, v) in [
        (96.0, 0.5, 2.95, 0.54),
        (96.0, 1.0, 4.19, 0.77),
        (96.0, 2.0, 5.95, 1.10),
        (113.0, 1.0, 6.48, 0.86),
        (146.0, 0.5, 9.03, 0.72),
        (146.0, 1.0, 12.82, 1.02),
        (146.0, 2.0, 18.18, 1.45),
        (184.0, 0.5, 16.71, 0.84),
        (184.0, 1.0, 23.71, 1.19),
        (184.0, 2.0, 33.61, 1.69),
    ] {
        let pipe = Uniform::new(circle(0.001 * bore_mm), 0.01 * cm_per_m, EN_12056).unwrap();
        let (depth, what) = (0.0007 * bore_mm, format!("{bore_mm} mm 0.7 full at {cm_per_m} cm/m"));
        again.check(format!("{what}: l/s"), 1000.0 * pipe.flow_m3_s(depth), q_l_s, Relative(9e-4 + 0.005 / q_l_s), why);
        again.check(format!("{what}: m/s"), pipe.velocity_m_s(depth), v, Relative(9e-4 + 0.005 / v), why);
    }
}

#[test]
fn discharge_units_and_factors() {
    let of = reference("discharge", "EN 12056-2:2000, tables 2 and 3", Mark::Seen);
    let none = None::<f64>;
    for (name, units) in [
        ("wash basin", [Some(0.5), Some(0.3), Some(0.3), Some(0.3)]),
        ("bidet", [Some(0.5), Some(0.3), Some(0.3), Some(0.3)]),
        ("shower without plug", [Some(0.6), Some(0.4), Some(0.4), Some(0.4)]),
        ("shower with plug", [Some(0.8), Some(0.5), Some(1.3), Some(0.5)]),
        ("urinal with cistern", [Some(0.8), Some(0.5), Some(0.4), Some(0.5)]),
        ("urinal with flushing valve", [Some(0.5), Some(0.3), none, Some(0.3)]),
        ("slab urinal, per person", [Some(0.2); 4]),
        ("bath", [Some(0.8), Some(0.6), Some(1.3), Some(0.5)]),
        ("kitchen sink", [Some(0.8), Some(0.6), Some(1.3), Some(0.5)]),
        ("dishwasher", [Some(0.8), Some(0.6), Some(0.2), Some(0.5)]),
        ("washing machine up to 6 kg", [Some(0.8), Some(0.6), Some(0.6), Some(0.5)]),
        ("washing machine up to 12 kg", [Some(1.5), Some(1.2), Some(1.2), Some(1.0)]),
        ("WC with 4.0 l cistern", [none, Some(1.8), none, none]),
        ("WC with 6.0 l cistern", [Some(2.0), Some(1.8), Some(1.7), Some(2.0)]),
        ("WC with 7.5 l cistern", [Some(2.0), Some(1.8), Some(1.8), Some(2.0)]),
        ("WC with 9.0 l cistern", [Some(2.5), Some(2.0), Some(2.0), Some(2.5)]),
        ("floor gully DN 50", [Some(0.8), Some(0.9), none, Some(0.6)]),
        ("floor gully DN 70", [Some(1.5), Some(0.9), none, Some(1.0)]),
        ("floor gully DN 100", [Some(2.0), Some(1.2), none, Some(1.3)]),
    ] {
        let found =
            [System::I, System::II, System::III, System::IV].map(|s| discharge_unit_l_s(name, s).ok().map(|u| u.1));
        of.same(format!("{name}: l/s in systems I to IV"), found, units);
    }
    let factors = [Use::Intermittent, Use::Frequent, Use::Congested, Use::Special].map(Use::factor);
    of.same("K: intermittent, frequent, congested, special", factors, [0.5, 0.7, 1.0, 1.2]);
    assert_eq!(fixtures().len(), 19);
    let of = reference("discharge", "EN 12056-2:2000, 6.3, computed", Mark::Computed);
    let one = [2.0, 0.5, 0.8, 0.8, 0.8];
    let flow = |units: &[f64]| waste_water_flow_m3_s(units, Use::Intermittent).unwrap();
    of.same("one dwelling of 4.9 l/s, where the WC alone governs: m3/s", flow(&one), 0.002);
    let sixteen: Vec<f64> = (0..16).flat_map(|_| one).collect();
    of.check("sixteen such dwellings: m3/s", flow(&sixteen), 0.004427, Relative(5e-5), "four figures");
    assert_eq!(discharge_unit_l_s("WC with 6.0 l cistern", System::III).unwrap(), (1.2, 1.7));
    assert!(discharge_unit_l_s("WC with 4.0 l cistern", System::I).unwrap_err().to_string().contains("system I"));
    let unknown = discharge_unit_l_s("wash basn", System::I).unwrap_err().to_string();
    assert!(unknown.contains("wash basin"), "{unknown}");
    assert!(waste_water_flow_m3_s(&[], Use::Special).is_err());
    assert!(waste_water_flow_m3_s(&[1.0, f64::NAN], Use::Special).unwrap_err().to_string().contains("units_l_s[1]"));
}

#[test]
fn viscosity_of_water() {
    let of = reference("uniform-flow", "kinematic viscosity of water, standard tables, four figures", Mark::Memory);
    for (temperature_c, mm2_s) in [(0.0, 1.787), (10.0, 1.307), (20.0, 1.004), (30.0, 0.801), (40.0, 0.658)] {
        let found = 1e6 * water_viscosity_m2_s(temperature_c).unwrap();
        of.check(
            format!("{temperature_c} C, mm2/s"),
            found,
            mm2_s,
            Relative(4e-3),
            "tables differ by some tenths of a percent at 0",
        );
    }
    for bad in [-1.0, 61.0, f64::NAN] {
        assert!(water_viscosity_m2_s(bad).is_err());
    }
}

/// A gradient of 5.64e-3 q^(-6/13) carries q l/s at a fifth of the depth with a shear of 1 Pa.
#[test]
fn the_gradient_of_simplified_sewerage() {
    let of = reference("self-cleansing", "Mara, Sleigh and Tayler 2001, simplified sewerage", Mark::Memory);
    let q: f64 = 1.5;
    let slope = 5.64e-3 * math::pow(q, -6.0 / 13.0);
    of.check("gradient for 1.5 l/s", slope, 1.0 / 213.8, Relative(1e-4), "four figures");
    // The pipe in which 1 Pa stands at a fifth of the depth.
    let pipe_at = |slope: f64| {
        let d = 1.0 / (UNIT_WEIGHT_N_M3 * slope) / circle(1.0).hydraulic_radius_m(0.2);
        (manning(d, slope, 0.013), 0.2 * d)
    };
    let (pipe, depth) = pipe_at(slope);
    of.check("shear at a fifth of the depth, Pa", shear_pa(&pipe, depth), 1.0, Relative(1e-12), "as it was made");
    let why = "the gradient is given to three figures";
    of.check("flow at a fifth of the depth, l/s", 1000.0 * pipe.flow_m3_s(depth), q, Relative(5e-3), why);
    let apart = reference("self-cleansing", "shear, Manning and geometry with 9810 N/m3, beforehand", Mark::Computed);
    let (pipe, depth) = pipe_at(0.00467);
    let (allowed, why) =
        (3.4e-4 + 8.0 / 3.0 * 3.5e-4, "four figures; 3.4e-4 of the weight, and its power 8/3 through the diameter");
    apart.check("flow at a gradient of 0.00467, l/s", 1000.0 * pipe.flow_m3_s(depth), 1.504, Relative(allowed), why);
}
