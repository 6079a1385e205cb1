//! Roots of functions that rise or fall, by Newton's steps within a bracket that only ever shrinks.

/// Steps that are taken at most: half of them halve the bracket, which leaves nothing of any pair of numbers.
const STEPS: usize = 240;

/// Where a rising function of a positive number is zero, between `low` and `high`, from `start`; steps are taken in the logarithm.
///
/// `of` gives the value and its derivative by the logarithm of the argument. The result is where the value changes its sign, to the last
/// place or so: the bracket's ends are never further apart than what rounding of the value allows.
pub(super) fn rising(low: f64, high: f64, start: f64, of: impl Fn(f64) -> (f64, f64)) -> f64 {
    let (mut low, mut high, mut x) = (low, high, start.clamp(low, high));
    let mut before = f64::INFINITY;
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
        let newton = x * crate::math::exp(-value / by_log);
        // Newton's step where it stays in the bracket; the middle where it does not, and at every eighth step that has not halved it.
        let wide = if low > 0.0 { high / low - 1.0 } else { f64::INFINITY };
        let inside = newton > low && newton < high && by_log > 0.0;
        let next = if inside && (step % 8 < 7 || wide < before * 0.5) {
            newton
        } else if low > 0.0 {
            (low * high).sqrt().clamp(low, high)
        } else {
            0.5 * high
        };
        before = wide;
        if next == x || wide <= 2.0 * f64::EPSILON {
            return next;
        }
        if (next - x).abs() <= f64::EPSILON * x {
            return next;
        }
        x = next;
    }
    x
}
