use super::*;
use crate::{math, section::Bore};

fn circle(diameter_m: f64) -> Bore {
    Bore::circle(diameter_m).unwrap()
}

fn manning(diameter_m: f64, slope: f64, n: f64) -> Uniform {
    Uniform::new(circle(diameter_m), slope, Friction::Manning { n }).unwrap()
}

fn close(value: f64, expected: f64, relative: f64) {
    assert!((value / expected - 1.0).abs() <= relative, "{value} {expected}");
}

/// Constants of the circle under Manning with one n, to the digits that textbooks (Chow 1959, 6-4, from memory) round: computed at 50 digits.
#[test]
fn the_most_and_the_second_depth_of_a_full_flow() {
    let pipe = manning(1.0, 0.01, 0.01);
    let most = pipe.most();
    // The greatest of a flat curve: half the digits.
    close(most.depth_m, 0.938181216, 1e-8);
    close(most.flow_m3_s / most.full_m3_s, 1.07570613, 1e-8);
    let normal = pipe.normal_depth(most.full_m3_s).unwrap();
    assert_eq!((normal.state, normal.upper_depth_m), (State::Two, Some(1.0)));
    close(normal.depth_m.unwrap(), 0.81962945, 1e-8); // as many digits as are given
}

/// The table of elements of a circle partly full, Manning with one n (computed; Chow 1959, figure 6-5, has it as a chart).
#[test]
fn hydraulic_elements() {
    let pipe = manning(1.0, 0.01, 0.01);
    let (area, radius) = (pipe.bore.full_area_m2(), 0.25);
    for (y, a, r, v, q) in [
        (0.1, 0.05204, 0.25408, 0.40116, 0.02088),
        (0.25, 0.19550, 0.58650, 0.70067, 0.13698),
        (0.5, 0.5, 1.0, 1.0, 0.5),
        (0.7, 0.74768, 1.18494, 1.11977, 0.83724),
        (0.8, 0.85762, 1.21677, 1.13974, 0.97747),
        (0.95, 0.98131, 1.14581, 1.09498, 1.07451),
        (1.0, 1.0, 1.0, 1.0, 1.0),
    ] {
        // Printed to five decimals.
        let told = |value: f64, expected: f64| assert!((value - expected).abs() <= 5.1e-6, "{y}: {value} {expected}");
        told(pipe.bore.area_m2(y) / area, a);
        told(pipe.bore.hydraulic_radius_m(y) / radius, r);
        told(pipe.velocity_m_s(y) / pipe.velocity_m_s(1.0), v);
        told(pipe.flow_m3_s(y) / pipe.flow_m3_s(1.0), q);
    }
}

/// Worked cases of an open package of a university author (EdM44, hydraulics, its manual), as recomputed to the digits given.
#[test]
fn worked_cases() {
    let pipe = manning(0.6, 1.0 / 400.0, 0.013);
    close(pipe.flow_m3_s(0.24), 0.103457, 5e-6);
    close(pipe.velocity_m_s(0.24), 0.979586, 5e-7);
    close(pipe.flow_m3_s(0.6), 0.307006, 2e-6);
    let slope = slope_for_flow(circle(0.6), Friction::Manning { n: 0.013 }, 0.3, 0.17).unwrap().unwrap();
    close(slope, 0.00306623, 2e-6);
    // 83.5 cubic feet a second at nine tenths: 7.00 ft, printed with 1.486 for the cube root of 1/0.3048.
    let flow = 83.5 * 0.3048 * 0.3048 * 0.3048;
    let d = diameter_for_flow_m(0.0002, Friction::Manning { n: 0.015 }, flow, 0.9).unwrap().unwrap();
    close(d / 0.3048, 7.00, 1e-3);
    let odd = manning(0.2, 0.001, 0.0013).normal_depth(0.01).unwrap();
    close(odd.depth_m.unwrap(), 0.041950, 2e-5);
    let usual = manning(0.2, 0.001, 0.013);
    let y = usual.normal_depth(0.01).unwrap().depth_m.unwrap();
    close(y, 0.157828, 5e-6);
    close(usual.velocity_m_s(y), 0.376053, 5e-6);
    // Printed 0.085 m.
    assert!((critical_depth_m(circle(0.2), 0.01).unwrap() - 0.085).abs() < 5e-4);
}

/// A lateral of 4 in at 1/4 in/ft (computed; gamma 9810 there, 9806.65 here).
#[test]
fn a_lateral() {
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
        close(1000.0 * y, y_mm, 4e-5); // five figures
        close(pipe.velocity_m_s(y), v, 1e-4);
        close(shear_pa(&pipe, y), tau, 6e-4); // four figures, and 3.4e-4 of the weight
    }
}

/// Full-bore velocities by Colebrook and White (computed with g 9.81 and 1.14e-6 m2/s; here standard gravity).
#[test]
fn full_bores_by_colebrook_and_white() {
    for (d, slope, k_mm, v, q_l_s) in
        [(0.15, 0.01, 0.6, 1.0031, 17.726), (0.15, 0.01, 1.5, 0.8752, 15.465), (0.1, 1.0 / 80.0, 0.6, 0.8593, 6.749)]
    {
        let friction = Friction::ColebrookWhite { roughness_m: 0.001 * k_mm, viscosity_m2_s: 1.14e-6 };
        let pipe = Uniform::new(circle(d), slope, friction).unwrap();
        close(pipe.velocity_m_s(d), v, 2.5e-4); // half of the 3.4e-4 of gravity, and four figures
        close(1000.0 * pipe.flow_m3_s(d), q_l_s, 2.5e-4);
    }
}

/// EN 12056-2:2000, annex B (printed values from memory, to two figures): DN 100, 150, 200 half full.
#[test]
fn capacities_of_en_12056() {
    let friction =
        Friction::ColebrookWhite { roughness_m: EN_12056_ROUGHNESS_M, viscosity_m2_s: EN_12056_VISCOSITY_M2_S };
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
        let pipe = Uniform::new(circle(0.001 * bore_mm), 0.01 * cm_per_m, friction).unwrap();
        let half = 0.0005 * bore_mm;
        // As printed: one decimal, and 3.5 was cut from 3.55.
        assert!((1000.0 * pipe.flow_m3_s(half) - q_l_s).abs() <= 0.051, "{bore_mm} {cm_per_m}");
        // Two decimals; 1.7e-4 of gravity, with which the root of the slope goes; and 7e-4 of 3.71 for 3.7 there.
        close(1000.0 * pipe.flow_m3_s(half), recomputed, 9e-4 + 0.005 / recomputed);
        assert!((pipe.velocity_m_s(half) - v).abs() <= 0.05, "{bore_mm} {cm_per_m}");
    }
}

/// Simplified sewerage (Mara, Sleigh and Tayler 2001, from memory): a gradient of 5.64e-3 q^(-6/13) carries q l/s at a fifth of the depth
/// with a shear of 1 Pa.
#[test]
fn the_gradient_of_simplified_sewerage() {
    let q: f64 = 1.5;
    let slope = 5.64e-3 * math::pow(q, -6.0 / 13.0);
    close(slope, 1.0 / 213.8, 1e-4);
    let radius_m = 1.0 / (UNIT_WEIGHT_N_M3 * slope);
    let d = radius_m / circle(1.0).hydraulic_radius_m(0.2);
    let pipe = manning(d, slope, 0.013);
    close(shear_pa(&pipe, 0.2 * d), 1.0, 1e-12);
    close(1000.0 * pipe.flow_m3_s(0.2 * d), q, 5e-3); // the gradient is given to three figures
}

#[test]
fn states_of_the_depth() {
    let pipe = manning(0.1, 0.01, 0.013);
    let most = pipe.most();
    assert_eq!(pipe.normal_depth(0.0).unwrap().depth_m, Some(0.0));
    assert_eq!(pipe.normal_depth(0.9 * most.full_m3_s).unwrap().state, State::One);
    let two = pipe.normal_depth(1.03 * most.full_m3_s).unwrap();
    assert_eq!(two.state, State::Two);
    assert!(two.depth_m < two.upper_depth_m && two.upper_depth_m < Some(0.1));
    assert_eq!(pipe.normal_depth(1.0001 * most.flow_m3_s).unwrap().state, State::AboveCapacity);
    assert_eq!(manning(0.1, 0.0, 0.013).normal_depth(0.001).unwrap().state, State::NoFall);
    assert_eq!(manning(0.1, -0.01, 0.013).normal_depth(0.001).unwrap().state, State::Backfall);
    assert_eq!(manning(0.1, -0.01, 0.013).most().flow_m3_s, 0.0);
    for bad in [-1.0, f64::NAN, f64::INFINITY] {
        assert!(pipe.normal_depth(bad).is_err() && critical_depth_m(circle(0.1), bad).is_err());
    }
}

/// The depth carries the flow asked for, in circles and ellipses, by both laws, from a film to the most.
#[test]
fn the_depth_carries_the_flow() {
    let bores = [circle(0.1), circle(2.0), Bore::ellipse(0.09, 0.11).unwrap(), Bore::ellipse(0.3, 0.06).unwrap()];
    let laws =
        [Friction::Manning { n: 0.011 }, Friction::ColebrookWhite { roughness_m: 0.0015, viscosity_m2_s: 1.31e-6 }];
    for bore in bores {
        for friction in laws {
            let pipe = Uniform::new(bore, 0.013, friction).unwrap();
            let most = pipe.most();
            for share in [1e-9, 1e-6, 1e-3, 0.02, 0.3, 0.8, 0.97, 0.999, 1.0 - 1e-9, 1.0] {
                let flow = share * most.flow_m3_s;
                let normal = pipe.normal_depth(flow).unwrap();
                let depths = [normal.depth_m, normal.upper_depth_m];
                for depth in depths.into_iter().flatten() {
                    // The flow of a depth is good to some units in the last place, and by Colebrook and White a film hangs on the
                    // difference of a logarithm from nothing.
                    let sharp = if depth < 0.03 * bore.height_m() { 1e-11 } else { 4e-15 };
                    close(pipe.flow_m3_s(depth), flow, sharp);
                }
            }
        }
    }
}

#[test]
fn critical_depths_have_a_froude_number_of_one() {
    for bore in [circle(0.1), Bore::ellipse(0.09, 0.11).unwrap(), Bore::ellipse(0.3, 0.06).unwrap()] {
        for flow in [1e-9, 1e-6, 1e-4, 1e-3, 5e-3, 0.02] {
            let depth = critical_depth_m(bore, flow).unwrap();
            assert!(depth > 0.0 && depth < bore.height_m());
            // Near the crown the surface narrows within the last places of the depth.
            let near = 1.0 - depth / bore.height_m();
            close(froude(bore, depth, flow).unwrap(), 1.0, 1e-13 + 1e-15 / near);
        }
    }
    assert_eq!(froude(circle(0.1), 0.1, 0.001).unwrap(), f64::INFINITY);
}

#[test]
fn what_it_takes_is_what_carries() {
    let laws =
        [Friction::Manning { n: 0.011 }, Friction::ColebrookWhite { roughness_m: 0.0015, viscosity_m2_s: 1.31e-6 }];
    for friction in laws {
        let slope = slope_for_flow(circle(0.1), friction, 0.05, 0.002).unwrap().unwrap();
        // Each is a root of the flow, good to some places.
        close(Uniform::new(circle(0.1), slope, friction).unwrap().flow_m3_s(0.05), 0.002, 1e-14);
        let d = diameter_for_flow_m(0.01, friction, 0.002, 0.7).unwrap().unwrap();
        close(Uniform::new(circle(d), 0.01, friction).unwrap().flow_m3_s(0.7 * d), 0.002, 1e-14);
        assert_eq!(slope_for_flow(circle(0.1), friction, 0.05, 1e3).unwrap(), None);
        assert_eq!(diameter_for_flow_m(0.01, friction, 1e9, 0.7).unwrap(), None);
    }
    let slope = slope_for_shear(circle(0.1), 0.02, 1.0).unwrap();
    close(shear_pa(&manning(0.1, slope, 0.01), 0.02), 1.0, 1e-15);
    close(critical_shear_pa(0.001).unwrap(), 0.867, 1e-15);
}

/// EN 12056-2:2000: sixteen dwellings as of the example in the documentation (computed by the formula).
#[test]
fn design_flows() {
    let one = [2.0, 0.5, 0.8, 0.8, 0.8];
    let sixteen: Vec<f64> = (0..16).flat_map(|_| one).collect();
    close(waste_water_flow_m3_s(&sixteen, Use::Intermittent).unwrap(), 0.004427, 5e-5);
    assert_eq!(discharge_unit_l_s("WC with 6.0 l cistern", System::III).unwrap(), (1.2, 1.7));
    assert!(discharge_unit_l_s("WC with 4.0 l cistern", System::I).unwrap_err().to_string().contains("system I"));
    let unknown = discharge_unit_l_s("wash basn", System::I).unwrap_err().to_string();
    assert!(unknown.contains("wash basin"), "{unknown}");
    assert!(waste_water_flow_m3_s(&[], Use::Special).is_err());
    assert!(waste_water_flow_m3_s(&[1.0, f64::NAN], Use::Special).unwrap_err().to_string().contains("units_l_s[1]"));
}
