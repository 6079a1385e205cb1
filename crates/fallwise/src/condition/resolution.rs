//! The step of the readings, and their noise before rounding.

use super::Reading;
use crate::math;
use crate::prelude::*;

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

/// Of readings on a display, this part may be off its steps: typed by hand, or put in by a program (our choice).
const OFF_STEP: f64 = 0.05;
/// A degree step seen through a display of slopes must be this much coarser than that display's own step.
const COARSER: f64 = 8.0;

/// The coarsest usual display step that the readings are whole numbers of, rad; 0 where there is none, or where there are too
/// few readings to tell.
///
/// Degrees are equal steps of the angle, percent and inches in a foot of its tangent (their step is given at level); a head of
/// whole degrees may well be logged in percent, rounded again. Readings that are all the same are taken at their face: a sensor
/// that never moves is rounded. One reading in twenty may be odd.
pub(super) fn step_rad(readings: &[Reading]) -> f64 {
    if readings.len() < LEAST_READINGS {
        return 0.0;
    }
    let tilts: Vec<f64> = readings.iter().map(|r| r.tilt_rad).collect();
    display_step_rad(&tilts)
}

/// The same of any number of readings, few as they may be: the coarsest display that could have shown them. What a reversal
/// check of two readings may rest on.
///
/// ```
/// use fallwise::{condition::display_step_rad, units::deg};
///
/// assert_eq!(display_step_rad(&deg(vec![1.0, 0.0])), deg(1.0));
/// assert_eq!(display_step_rad(&deg(vec![0.4, 0.3])), deg(0.1));
/// ```
pub fn display_step_rad(readings_rad: &[f64]) -> f64 {
    let degrees: Vec<f64> = readings_rad.iter().map(|t| t.to_degrees()).collect();
    // Beyond 45 degrees a tangent runs away: such readings do not speak.
    let slopes: Vec<f64> =
        readings_rad.iter().filter(|t| t.abs() < core::f64::consts::FRAC_PI_4).map(|t| math::tan(*t)).collect();
    let times = |factor: f64| -> Vec<f64> { slopes.iter().map(|s| factor * s).collect() };
    let plain = coarsest(DECIMAL_STEPS.into_iter(), &degrees, 0.0).to_radians();
    let percent = coarsest(DECIMAL_STEPS.into_iter(), &times(100.0), 0.0);
    let inches = coarsest(INCH_STEPS.into_iter(), &times(12.0), 0.0);
    // Degrees behind a display of slopes: off by half of its step.
    let behind = |slope_step: f64| {
        let half = 0.5 * math::atan(slope_step).to_degrees();
        let steps = DECIMAL_STEPS.into_iter().filter(|step| *step >= COARSER * half);
        if half > 0.0 { coarsest(steps, &degrees, 1.01 * half).to_radians() } else { 0.0 }
    };
    let slope_step = (percent / 100.0).max(inches / 12.0);
    plain.max(math::atan(percent / 100.0)).max(math::atan(inches / 12.0)).max(behind(slope_step))
}

/// First of `steps` that nearly all values are whole numbers of, give or take `off`; 0 where none is.
fn coarsest(mut steps: impl Iterator<Item = f64>, values: &[f64], off: f64) -> f64 {
    let whole = |value: f64, step: f64| {
        let count = value / step;
        (count - count.round()).abs() <= TOLERANCE * count.abs().max(1.0) + off / step
    };
    let allowed = OFF_STEP * values.len() as f64;
    let fits = |step: f64| {
        let mut odd = 0.0;
        values.iter().all(|v| {
            odd += if whole(*v, step) { 0.0 } else { 1.0 };
            odd <= allowed
        })
    };
    if values.is_empty() { 0.0 } else { steps.find(|step| fits(*step)).unwrap_or(0.0) }
}

/// Standard deviation of the part of the rounding that does not average out, rad, as far as the noise is known.
///
/// Where the steps are coarse, readings of one tilt scatter as the tilt lies between two steps, and a tilt half way looks
/// like noise. So an estimate of less than half a step counts as a quarter of a step at most (our choice), until
/// readings of several tilts tell the two apart ([`math::noise_within_steps`]).
pub(super) fn rounding_sd_rad(resolution_rad: f64, noise_sd_rad: f64, noise_given: bool) -> f64 {
    let unsure = !noise_given && noise_sd_rad < 0.5 * resolution_rad;
    math::rounding_error_sd(resolution_rad, if unsure { noise_sd_rad.min(0.25 * resolution_rad) } else { noise_sd_rad })
}

/// What a reading scatters by, rad, over all places between two steps of the display.
pub(super) fn scatter_sd_rad(noise_sd_rad: f64, resolution_rad: f64) -> f64 {
    (noise_sd_rad * noise_sd_rad + resolution_rad * resolution_rad / 12.0).sqrt()
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
