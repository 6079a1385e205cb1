//! What holds of any pipe; published values are in `tests/hydraulics_published.rs`.

use super::*;
use crate::section::Bore;

fn circle(diameter_m: f64) -> Bore {
    Bore::circle(diameter_m).unwrap()
}

fn manning(diameter_m: f64, slope: f64, n: f64) -> Uniform {
    Uniform::new(circle(diameter_m), slope, Friction::Manning { n }).unwrap()
}

fn close(value: f64, expected: f64, relative: f64) {
    assert!((value / expected - 1.0).abs() <= relative, "{value} {expected}");
}

/// The least slope for a velocity or a shear of a flow is the slope at which the flow has it; a little less does not do.
#[test]
fn slopes_for_a_velocity_and_a_shear_of_a_flow() {
    let laws =
        [Friction::Manning { n: 0.011 }, Friction::ColebrookWhite { roughness_m: 0.0015, viscosity_m2_s: 1.31e-6 }];
    for friction in laws {
        for flow in [1e-5, 2e-4, 1e-3, 4e-3] {
            let of = |slope: f64| {
                let pipe = Uniform::new(circle(0.1), slope, friction).unwrap();
                pipe.normal_depth(flow).unwrap().depth_m.map(|y| (pipe.velocity_m_s(y), shear_pa(&pipe, y)))
            };
            for velocity in [0.2, 0.6, 1.0] {
                let Some(slope) = slope_for_velocity_of_flow(circle(0.1), friction, flow, velocity).unwrap() else {
                    assert!(flow < 1e-4); // a film would have to stand steeper than 10 in 1
                    continue;
                };
                match of(slope * (1.0 + 1e-9)) {
                    // Through two roots: the last places of each.
                    Some((v, _)) if flow / velocity < 0.0076 => close(v, velocity, 1e-8),
                    at => assert!(at.unwrap().0 >= velocity * (1.0 - 1e-8)),
                }
            }
            for shear in [0.5, 1.0, 2.0] {
                let slope = slope_for_shear_of_flow(circle(0.1), friction, flow, shear).unwrap().unwrap();
                let at = of(slope * (1.0 + 1e-9)).unwrap().1;
                // Where the flow itself asks for more, no slope that carries it has less.
                assert!(at >= shear * (1.0 - 1e-8), "{flow} {shear} {at}");
                assert!(of(slope * 0.99).is_none_or(|(_, tau)| tau < shear), "{flow} {shear}");
            }
        }
    }
    assert!(slope_for_velocity_of_flow(circle(0.1), laws[0], 0.001, f64::NAN).is_err());
    assert!(slope_for_shear_of_flow(circle(0.1), laws[0], 0.001, -1.0).is_err());
    // 100 m/s: steeper than 10 in 1.
    assert_eq!(slope_for_velocity_of_flow(circle(0.1), laws[0], 0.001, 100.0).unwrap(), None);
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
    assert!(critical_shear_pa(0.0).is_err() && critical_shear_pa(f64::NAN).is_err());
}
