//! Noise of a reading: how large, how far it hangs together, and what rounding to a resolution does to it.

use crate::prelude::*;
use core::f64::consts::PI;

use super::{exp, exp_m1, median, normal_cdf};

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
    let seen: Vec<(f64, f64)> = values.iter().copied().zip(weights.iter().copied()).filter(|(_, w)| *w > 0.0).collect();
    let mut differences = differences(&seen, 1);
    if differences.is_empty() {
        return 0.0;
    }
    let spread = SD_PER_MEDIAN * median(&mut differences);
    if resolution > COARSE * spread { trimmed_rms(&mut differences) } else { spread }
}

/// Absolute differences of readings (with their weights) so many places apart, each over the sd that it has where a reading of weight
/// 1 has 1.
fn differences(seen: &[(f64, f64)], lag: usize) -> Vec<f64> {
    let later = seen.iter().skip(lag);
    seen.iter().zip(later).map(|(a, b)| (b.0 - a.0).abs() / (1.0 / a.1 + 1.0 / b.1).sqrt()).collect()
}

/// Mean square of the difference of values so many places apart, over the sum of the variances that their weights give a reading of
/// weight 1 with variance 1; without the largest 5 %, as if the rest were normal. 0 of none.
pub(crate) fn mean_square_difference(seen: &[(f64, f64)], lag: usize) -> f64 {
    let mut apart = differences(seen, lag);
    let root = trimmed_rms(&mut apart);
    root * root
}

/// Variance of the mean of `n` readings of unit variance whose correlation falls by `rho` (0 to 1) from one to the next.
///
/// (1/n) [(1 + rho)/(1 - rho) - 2 rho (1 - rho^n) / (n (1 - rho)²)]: for instance Box, Jenkins, Reinsel, *Time Series Analysis*, 2008,
/// §2.1 (from memory). Summed up by halves, so that nothing cancels near rho = 1. 1 for no reading.
///
/// ```
/// # use fallwise::math::ar1_mean_variance;
/// assert_eq!(ar1_mean_variance(4, 0.0), 0.25);
/// assert_eq!(ar1_mean_variance(2, 0.5), 0.75); // (1 + 1 + 2 x 0.5) / 4
/// ```
pub fn ar1_mean_variance(n: usize, rho: f64) -> f64 {
    if n == 0 {
        return 1.0;
    }
    // Of the first m readings: variance of the sum, sum of rho^i for i below m, rho^m. Bit by bit from the highest.
    let (mut variance, mut powers, mut power) = (1.0, 1.0, rho);
    for bit in (0..n.ilog2()).rev() {
        variance = 2.0 * variance + 2.0 * rho * powers * powers;
        powers += power * powers;
        power *= power;
        if n >> bit & 1 == 1 {
            variance += 1.0 + 2.0 * rho * powers;
            powers = 1.0 + rho * powers;
            power *= rho;
        }
    }
    let n = n as f64;
    variance / (n * n)
}

/// Variance of the mean over `length_m` of an error of standard deviation `sd` that varies along the pipe, its correlation falling to
/// 1/e over 3 m (one stick; our choice): 2 sd² (x - 1 + exp(-x)) / x² with x the length over those 3 m.
///
/// ```
/// # use fallwise::math::wander_variance;
/// assert_eq!(wander_variance(2.0, 0.0), 4.0);
/// assert!((wander_variance(1.0, 30.0) - 0.18).abs() < 1e-6); // 2 (10 - 1) / 100
/// ```
pub fn wander_variance(sd: f64, length_m: f64) -> f64 {
    let x = length_m.max(0.0) / WANDER_M;
    // Below, the next term of the series is under x²/12 = 1e-9 of it.
    let share = if x < 1e-4 { 1.0 - x / 3.0 } else { 2.0 * (x + exp_m1(-x)) / (x * x) };
    sd * sd * share
}

/// Length over which the part of a zero error that varies along the run hangs together, m.
const WANDER_M: f64 = 3.0;

/// Root mean square of the smaller 95 % of values that are 0 or more, as if the rest were normal.
fn trimmed_rms(values: &mut [f64]) -> f64 {
    let kept = values.len() - values.len() / 20;
    // Not sorted: a selection finds the first that is left out, which takes time in proportion to a long log.
    let mut order = values.to_vec();
    let last = if kept < values.len() { *order.select_nth_unstable_by(kept, f64::total_cmp).1 } else { f64::INFINITY };
    let (mut squares, mut below) = (0.0, 0_usize);
    for v in values.iter().filter(|v| **v < last || last == f64::INFINITY) {
        squares += v * v;
        below += 1;
    }
    squares += kept.saturating_sub(below) as f64 * if below < kept { last * last } else { 0.0 };
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

/// Noise before rounding and the part of the rounding that does not average out, both in steps of the display, from readings of
/// several tilts in whole steps, for noise of less than a step: `tilts` has for each tilt the steps shown, in order and without a gap,
/// as how often each was.
///
/// Readings of one tilt that show two steps may be of little noise and a tilt just between them, or of more; several tilts together
/// tell, for where a tilt lies amid a step the neighbours show only by noise. The likelihood of a noise s is the product over the tilts of
/// that of its counts, averaged over all places of the tilt within the steps; s is averaged over a grid by it, from 0.03 to
/// 0.9 steps, each as likely as the next a fourth larger. One reading in a hundred may show anything.
///
/// `None` without counts.
pub fn noise_within_steps(tilts: &[Vec<f64>]) -> Option<(f64, f64)> {
    let tilts: Vec<&Vec<f64>> = tilts.iter().filter(|counts| counts.iter().sum::<f64>() > 0.0).collect();
    if tilts.is_empty() {
        return None;
    }
    let mut s = 0.03;
    let mut grid: Vec<(f64, f64)> = Vec::new();
    while s < 0.9 {
        let log: f64 = tilts.iter().map(|counts| log_likelihood_within_steps(counts, s)).sum();
        grid.push((s, log));
        s *= 1.25;
    }
    let most = grid.iter().map(|g| g.1).fold(f64::NEG_INFINITY, f64::max);
    let (mut whole, mut noise, mut rounding) = (0.0, 0.0, 0.0);
    for (s, log) in grid {
        let share = exp(log - most);
        let error = rounding_error_sd(1.0, s);
        (whole, noise, rounding) = (whole + share, noise + share * s * s, rounding + share * error * error);
    }
    Some(((noise / whole).sqrt(), (rounding / whole).sqrt()))
}

/// Logarithm of the likelihood of counts of successive steps for noise s, averaged over the place of the tilt.
fn log_likelihood_within_steps(counts: &[f64], s: f64) -> f64 {
    let steps = counts.len() as f64;
    // Fine enough for the narrow places that little noise leaves between two steps.
    let fine = (0.5 * s).clamp(0.02, 0.1);
    let mut logs = Vec::new();
    let mut place = -0.5;
    while place <= steps - 0.5 {
        let mut below = normal_cdf((-0.5 - place) / s);
        let log: f64 = counts
            .iter()
            .enumerate()
            .map(|(k, count)| {
                let up_to = normal_cdf((k as f64 + 0.5 - place) / s);
                let share = up_to - below;
                below = up_to;
                if *count > 0.0 { count * super::ln(0.99 * share + 0.01 / (steps + 2.0)) } else { 0.0 }
            })
            .sum();
        logs.push(log);
        place += fine;
    }
    let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let sum: f64 = logs.iter().map(|log| exp(log - most)).sum();
    most + super::ln(sum / logs.len() as f64)
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
                        let below = |edge: f64| normal_cdf((edge - x) / s);
                        k * (below(k + 0.5) - below(k - 0.5))
                    })
                    .sum();
                square += (mean - x) * (mean - x) / 200.0;
            }
            // The midpoint rule over a period is good to the 200th harmonic; at s = 0.05 that is nothing.
            assert!((rounding_error_sd(1.0, s) - square.sqrt()).abs() < 1e-9, "{s}");
        }
    }

    /// Counts of the steps that readings of one tilt show, in steps of 1.
    fn shown(tilt: f64, noise: f64, readings: usize, random: &mut super::super::Random) -> Vec<f64> {
        let steps: Vec<f64> = (0..readings).map(|_| (tilt + noise * random.normal()).round()).collect();
        let low = steps.iter().copied().fold(f64::INFINITY, f64::min);
        let mut counts = vec![0.0; 5];
        for s in steps {
            counts[(0..5_usize).find(|k| low + *k as f64 == s).unwrap_or(4)] += 1.0;
        }
        counts
    }

    #[test]
    fn several_tilts_tell_noise_from_rounding() {
        let mut random = super::super::Random::new(3, 0, 0);
        for noise in [0.1, 0.25, 0.4] {
            let tilts: Vec<Vec<f64>> = (0..10).map(|k| shown(0.137 * f64::from(k), noise, 60, &mut random)).collect();
            let (sd, rounding) = noise_within_steps(&tilts).unwrap();
            // 600 readings whose steps say about as much as 100 numbers: 7 %, three times that, and half a step of the grid, 12 %.
            assert!((sd / noise - 1.0).abs() < 0.33, "{noise}: {sd}");
            assert!((0.5..2.0).contains(&(rounding / rounding_error_sd(1.0, noise)).max(0.5)), "{noise}: {rounding}");
        }
        // One tilt that shows one step, or two, may be of next to no noise: what rounding leaves is then most of what it may be.
        for counts in [vec![60.0], vec![20.0, 40.0]] {
            let (sd, rounding) = noise_within_steps(&[counts]).unwrap();
            assert!(sd < 0.5 && rounding > 0.1, "{sd} {rounding}");
        }
        assert_eq!(noise_within_steps(&[]), None);
        assert_eq!(noise_within_steps(&[vec![0.0; 3]]), None);
        let (sd, rounding) = noise_within_steps(&[vec![1e9, 0.0, 1e9]]).unwrap();
        assert!(sd.is_finite() && rounding.is_finite());
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
