//! Noise of a reading, and what rounding to a resolution does to it.

use core::f64::consts::PI;

use super::{exp, median};

/// 1 over the upper quartile of the standard normal distribution: makes a median absolute deviation an sd.
const SD_PER_MEDIAN: f64 = 1.482602218505602;
/// From this resolution on, in units of the spread, the median of differences sticks to whole steps.
const COARSE: f64 = 0.1;

/// Spread of a reading of weight 1, from successive differences: noise, and rounding to steps of `resolution` (0 for
/// none) with it.
///
/// The median of the absolute differences, each divided by sqrt(1/w + 1/w') of its two readings, scaled to an sd: robust
/// to breaks and spikes. Where the readings are rounded so coarsely that the median sticks to whole steps, the root mean
/// square of the smaller 95 % of the differences instead. 0 with fewer than two readings of positive weight. It is for
/// independent noise: correlated noise makes neighbours alike, and the result too small.
///
/// ```
/// # use fallwise::math::spread_sd;
/// assert!((spread_sd(&[0.0, 1.0, -1.0, 2.0], &[1.0; 4], 0.0) - 1.4826 * 2.0 / 2f64.sqrt()).abs() < 1e-4);
/// ```
pub fn spread_sd(values: &[f64], weights: &[f64], resolution: f64) -> f64 {
    let mut seen = values.iter().zip(weights).filter(|(_, w)| **w > 0.0);
    let Some(mut before) = seen.next() else { return 0.0 };
    let mut differences: Vec<f64> = seen
        .map(|after| {
            let variance = 1.0 / before.1 + 1.0 / after.1;
            let difference = (after.0 - before.0).abs() / variance.sqrt();
            before = after;
            difference
        })
        .collect();
    if differences.is_empty() {
        return 0.0;
    }
    let spread = SD_PER_MEDIAN * median(&mut differences);
    if resolution > COARSE * spread { trimmed_rms(&mut differences) } else { spread }
}

/// Root mean square of the smaller 95 % of values that are 0 or more, as if the rest were normal.
fn trimmed_rms(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    let kept = values.len() - values.len() / 20;
    let squares: f64 = values.iter().take(kept).map(|v| v * v).sum();
    // 0.7588 is the mean square of a standard normal cut at its central 95 %: 1 - 2 x 1.960 x 0.05845 / 0.95.
    let normal = if kept < values.len() { 0.7588 } else { 1.0 };
    (squares / kept.max(1) as f64 / normal).sqrt()
}

/// Noise before rounding to steps of `q`, from the spread of the rounded readings: sqrt(spread^2 - q^2/12), at least 0.
///
/// Sheppard's correction; it holds for noise of a third of `q` and more, below that the spread itself depends on where
/// the true value lies between steps.
pub fn before_rounding(spread_sd: f64, q: f64) -> f64 {
    (spread_sd * spread_sd - q * q / 12.0).max(0.0).sqrt()
}

/// Standard deviation of the part of rounding that does not average out.
///
/// The mean of many readings of one true value x, rounded to steps of `q` after normal noise of sd `s`, misses x by
/// sum over k of (-1)^k q/(pi k) sin(2 pi k x/q) exp(-2 pi^2 k^2 s^2/q^2); this is its root mean square over all x. It
/// is q/sqrt 12 without noise and nothing to speak of from `s` = q/2. `q` that is not a positive number rounds nothing
/// (0); `s` that is not gives the value without noise.
///
/// ```
/// # use fallwise::math::rounding_error_sd;
/// assert!((rounding_error_sd(1.0, 0.25) - 0.066).abs() < 0.0005);
/// ```
pub fn rounding_error_sd(q: f64, s: f64) -> f64 {
    if !(q > 0.0 && q.is_finite()) {
        return 0.0;
    }
    let r = s.max(0.0) / q;
    let variance = if r < 0.1 {
        // The same series summed the other way (Poisson): what is left out is below exp(-1/(4 r^2)) < 2e-11.
        1.0 / 12.0 - r / PI.sqrt() + r * r
    } else {
        // From r = 0.1 the tenth term is below exp(-39).
        let term = |k: f64| exp(-4.0 * PI * PI * k * k * r * r) / (2.0 * PI * PI * k * k);
        (1..10).rev().map(|k| term(f64::from(k))).sum()
    };
    q * variance.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounding_error_has_the_listed_values() {
        // Worked out beforehand and kept to three decimals, hence half a unit of the third.
        for (s, listed) in [(0.0, 0.289), (0.1, 0.192), (0.2, 0.102), (0.25, 0.066), (0.3, 0.038), (0.5, 0.002)] {
            assert!((rounding_error_sd(1.0, s) - listed).abs() < 0.0005, "{s}: {}", rounding_error_sd(1.0, s));
        }
        // The first term alone is the formula for s >= 0.2 q; the second adds its fourth power / 4: 1e-3 at 0.2.
        let first = |s: f64| exp(-2.0 * PI * PI * s * s) / (PI * 2f64.sqrt());
        for s in [0.2, 0.25, 0.3, 0.4] {
            assert!((rounding_error_sd(1.0, s) / first(s) - 1.0).abs() < 2e-3);
        }
    }

    #[test]
    fn rounding_error_is_what_rounding_does() {
        // Brute force: the mean of round(x + noise) over a fine grid of normal quantile steps, for many x.
        for s in [0.05, 0.099, 0.101, 0.15, 0.3] {
            let mut square = 0.0;
            for i in 0..200 {
                let x = (f64::from(i) + 0.5) / 200.0;
                let mean: f64 = (-8..=8)
                    .map(|k| {
                        let k = f64::from(k);
                        let below = |edge: f64| crate::math::normal_cdf((edge - x) / s);
                        k * (below(k + 0.5) - below(k - 0.5))
                    })
                    .sum();
                square += (mean - x) * (mean - x) / 200.0;
            }
            // The midpoint rule over a period is good to the 200th harmonic; at s = 0.05 that is nothing.
            assert!((rounding_error_sd(1.0, s) - square.sqrt()).abs() < 1e-9, "{s}");
        }
    }

    #[test]
    fn rounding_scales_and_stays_finite() {
        assert_eq!(rounding_error_sd(2.0, 0.5), 2.0 * rounding_error_sd(1.0, 0.25));
        for (q, s) in
            [(0.0, 1.0), (-1.0, 0.1), (f64::NAN, 0.1), (f64::INFINITY, 0.1), (1.0, f64::INFINITY), (1.0, 1e200)]
        {
            assert_eq!(rounding_error_sd(q, s), 0.0, "{q} {s}");
        }
        assert_eq!(rounding_error_sd(1.0, f64::NAN), rounding_error_sd(1.0, 0.0));
        assert_eq!(before_rounding(0.5, 0.6), (0.25f64 - 0.03).sqrt());
        assert_eq!(before_rounding(0.1, 1.0), 0.0);
    }

    #[test]
    fn spread_of_known_differences() {
        // |differences| 1, 2, 3: median 2, over sqrt 2.
        let sd = spread_sd(&[0.0, 1.0, -1.0, 2.0], &[1.0; 4], 0.0);
        assert_eq!(sd, SD_PER_MEDIAN * (2.0 / 2f64.sqrt()));
        // A weight of 0 is passed over; weights of 4 double the noise of a reading of weight 1.
        let sd4 = spread_sd(&[0.0, 9.0, 1.0, -1.0, 2.0], &[4.0, 0.0, 4.0, 4.0, 4.0], 0.0);
        assert_eq!(sd4, 2.0 * sd);
        // Whole steps: differences 0, 0, 1, 0, whose median is 0; their mean square is 1/4, halved for one reading.
        let coarse = spread_sd(&[1.0, 1.0, 1.0, 2.0, 2.0], &[1.0; 5], 1.0);
        assert!((coarse - 0.125f64.sqrt()).abs() < 1e-15, "{coarse}"); // rounding of a handful of operations
        assert_eq!(spread_sd(&[], &[], 0.0), 0.0);
        assert_eq!(spread_sd(&[5.0], &[1.0], 0.0), 0.0);
    }
}
