//! The step of the readings, and their noise before rounding.

use super::Reading;
use crate::math;

/// Steps of displays in degrees and in percent of slope, from the coarsest.
const DECIMAL_STEPS: [f64; 10] = [1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005, 0.002, 0.001];
/// Steps of displays in inches in a foot, from the coarsest.
const INCH_STEPS: [f64; 7] = [0.25, 0.125, 0.1, 0.0625, 0.05, 0.03125, 0.01];
/// Fewer readings than this are whole steps by chance.
const LEAST_READINGS: usize = 5;
/// How far from a whole number of steps, relative to that number: single-precision logs lose the seventh digit.
const TOLERANCE: f64 = 1e-6;
/// Fewer differences than this say nothing about noise.
const LEAST_DIFFERENCES: usize = 3;

/// The coarsest usual display step that every reading is a whole number of, rad; 0 where there is none.
///
/// Degrees are equal steps of the angle, percent and inches in a foot of its tangent (their step is given at level).
/// Readings that are all the same are taken at their face: a sensor that never moves is rounded.
pub(super) fn step_rad(readings: &[Reading]) -> f64 {
    if readings.len() < LEAST_READINGS {
        return 0.0;
    }
    let tilts = || readings.iter().map(|r| r.tilt_rad);
    // Beyond 45 degrees a tangent runs away: such readings do not speak.
    let slopes = || tilts().filter(|t| t.abs() < core::f64::consts::FRAC_PI_4).map(math::tan);
    let degrees = coarsest(&DECIMAL_STEPS, || tilts().map(f64::to_degrees)).to_radians();
    let percent = math::atan(coarsest(&DECIMAL_STEPS, || slopes().map(|s| 100.0 * s)) / 100.0);
    let inches = math::atan(coarsest(&INCH_STEPS, || slopes().map(|s| 12.0 * s)) / 12.0);
    degrees.max(percent).max(inches)
}

/// First of `steps` that all values are whole numbers of; 0 where none is, or there are too few values.
fn coarsest<V: Iterator<Item = f64>>(steps: &[f64], values: impl Fn() -> V) -> f64 {
    if values().take(LEAST_READINGS).count() < LEAST_READINGS {
        return 0.0;
    }
    let whole = |count: f64| (count - count.round()).abs() <= TOLERANCE * count.abs().max(1.0);
    steps.iter().copied().find(|step| values().all(|v| whole(v / step))).unwrap_or(0.0)
}

/// Noise of a reading of weight 1 before rounding, rad, from the differences of successive readings, as far as they have
/// weight and are not odd in themselves; `None` of too few.
///
/// Rounding to a step q adds q^2/12 to the spread, which is taken off, down to 0. Differences do not see the slow part of
/// correlated noise.
pub(super) fn noise_before_rounding_rad(readings: &[Reading], resolution_rad: f64) -> Option<f64> {
    let plain = || readings.iter().filter(|r| r.weight > 0.0 && !r.odd);
    let tilts: Vec<f64> = plain().map(|r| r.tilt_rad).collect();
    let weights: Vec<f64> = plain().map(|r| r.weight).collect();
    if tilts.len() <= LEAST_DIFFERENCES {
        return None;
    }
    Some(math::before_rounding(math::spread_sd(&tilts, &weights, resolution_rad), resolution_rad))
}
