//! Roots of functions that rise or fall, by Newton's steps within a bracket that only ever shrinks.

#[cfg(not(feature = "std"))]
use crate::math::Real as _;

/// Steps that are taken at most: half of them halve the bracket, which leaves nothing of any pair of numbers.
const STEPS: usize = 240;

/// Where a rising function of a positive number is zero, between `low` and `high`, from `start`; steps are taken in the logarithm.
///
/// `of` gives the value and its derivative by the logarithm of the argument. The result is where the value changes its sign, to the last
/// place or so: the bracket's ends are never further apart than what rounding of the value allows.
pub(super) fn rising(low: f64, high: f64, start: f64, of: impl Fn(f64) -> (f64, f64)) -> f64 {
    let (mut low, mut high, mut x) = (low, high, start.clamp(low, high));
    let mut before = f64::INFINITY;
    let mut last = f64::NAN;
    for step in 0..STEPS {
        let (value, by_log) = of(x);
        if value == 0.0 {
            return x;
        }
        if value > 0.0 {
            high = x;
        } else {
            low = x;
        }
        let log_step = -value / by_log;
        let newton = x * grown(log_step);
        // Newton's step where it stays in the bracket; the middle where it does not, and at every eighth step that has not halved it.
        let wide = if low > 0.0 { high / low - 1.0 } else { f64::INFINITY };
        let next = if newton > low && newton < high && by_log > 0.0 && (step % 8 < 7 || wide < before * 0.5) {
            // Each of Newton's steps is about the square of the one before, times what those two say: where the next would be lost in
            // rounding, this was the last.
            let shorter = log_step / last;
            if (log_step * shorter * shorter).abs() < 0.125 * f64::EPSILON {
                return newton;
            }
            last = log_step;
            newton
        } else {
            last = f64::NAN;
            if low > 0.0 { (low * high).sqrt().clamp(low, high) } else { 0.5 * high }
        };
        before = wide;
        if wide <= 2.0 * f64::EPSILON || (next - x).abs() <= f64::EPSILON * x {
            return next;
        }
        x = next;
    }
    x
}

/// e^x for a step: to its third power where it is short, since a step needs no more.
fn grown(x: f64) -> f64 {
    if x.abs() < 0.01 { 1.0 + x * (1.0 + x * (0.5 + x / 6.0)) } else { crate::math::exp(x) }
}
