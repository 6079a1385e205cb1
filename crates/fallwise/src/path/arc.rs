//! The arc of a circle that turns one unit direction into another.
//!
//! Along an arc of total angle b the direction runs on the great circle from u1 to u2: after the fraction f of the arc
//! it is (sin((1 - f) b) u1 + sin(f b) u2) / sin b. Between the fractions f and g the displacement is the arc length
//! passed, times sinc((g - f) b / 2), times the direction halfway. Both are linear in u1 and u2 with weights that
//! depend on b alone, so that a layout computes them once for all tilts.

use crate::math;

/// Below this angle, rad, the arc's weights are linear in the fraction to 1e-17.
const FLAT_RAD: f64 = 1e-8;

/// Weights of the two end directions in the direction after a fraction of the arc. `angle_rad` from 0 to less than pi.
pub(super) fn weights_at(angle_rad: f64, fraction: f64) -> [f64; 2] {
    if angle_rad < FLAT_RAD {
        return [1.0 - fraction, fraction];
    }
    let whole = math::sin(angle_rad);
    [math::sin((1.0 - fraction) * angle_rad) / whole, math::sin(fraction * angle_rad) / whole]
}

/// Weights of the two end directions in the mean direction between two fractions: displacement over arc length.
pub(super) fn weights_between(angle_rad: f64, fraction: [f64; 2]) -> [f64; 2] {
    let [from, to] = fraction;
    let shortened = sinc(0.5 * (to - from) * angle_rad);
    weights_at(angle_rad, 0.5 * (from + to)).map(|w| shortened * w)
}

/// Sine of the mean tilt between two fractions of an arc in the vertical plane: drop over arc length.
pub(super) fn mean_sine_upright(tilt_rad: [f64; 2], fraction: [f64; 2]) -> f64 {
    let turn = tilt_rad[1] - tilt_rad[0];
    let [from, to] = fraction;
    sinc(0.5 * (to - from) * turn) * math::sin(tilt_rad[0] + 0.5 * (from + to) * turn)
}

/// sin(x) / x.
fn sinc(x: f64) -> f64 {
    // The next term, x^4/120, is below 1e-18.
    if x.abs() < 1e-4 { 1.0 - x * x / 6.0 } else { math::sin(x) / x }
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "these values are exact")]
mod tests {
    use super::*;
    use core::f64::consts::PI;

    #[test]
    fn ends_are_the_directions_given() {
        for angle in [0.0, 1e-12, 1e-8, 0.3, 1.5, 3.1] {
            assert_eq!(weights_at(angle, 0.0), [1.0, 0.0]);
            assert_eq!(weights_at(angle, 1.0), [0.0, 1.0]);
        }
    }

    #[test]
    fn quarter_circle() {
        // Mean direction of a quarter circle from (1, 0) to (0, 1): (2/pi, 2/pi).
        let w = weights_between(PI / 2.0, [0.0, 1.0]);
        approx::assert_abs_diff_eq!(w[0], 2.0 / PI, epsilon = 4e-16); // a few roundings
        approx::assert_abs_diff_eq!(w[1], 2.0 / PI, epsilon = 4e-16);
    }

    #[test]
    fn upright_is_the_arc_whose_angle_is_the_change_of_tilt() {
        for (t1, t2) in [(0.02, 0.7), (1.2, -0.4), (0.01, 0.010001), (0.3, 0.3)] {
            for fraction in [[0.0, 1.0], [0.2, 0.3], [0.9, 1.0]] {
                let w = weights_between(f64::abs(t2 - t1), fraction);
                let general = w[0] * math::sin(t1) + w[1] * math::sin(t2);
                // A few roundings of numbers up to 1.
                approx::assert_abs_diff_eq!(mean_sine_upright([t1, t2], fraction), general, epsilon = 1e-15);
            }
        }
    }

    #[test]
    fn parts_add_up() {
        for angle in [1e-9, 1e-3, 0.8, 3.0] {
            let whole = weights_between(angle, [0.0, 1.0]);
            let (a, b) = (weights_between(angle, [0.0, 0.3]), weights_between(angle, [0.3, 1.0]));
            for k in 0..2 {
                // Weights reach 10 at 3 rad; a few roundings.
                approx::assert_abs_diff_eq!(whole[k], 0.3 * a[k] + 0.7 * b[k], epsilon = 1e-14);
            }
        }
    }
}
