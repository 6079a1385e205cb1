//! Noise that hangs together from reading to reading, told from the pipe's own changes.
//!
//! The model: y(i) = m(segment) + n(i), n(i) = rho n(i-1) + e(i) with independent e. For a given rho the differences z(i) = y(i) - rho
//! y(i-1) are independent about (1 - rho) m, so that [`fit`] finds their segments, and rho is where
//!
//! n ln(S/n) + penalty × breaks
//!
//! is least, S the sum of squares left: the likelihood of the noise, and the price of the breaks that too little correlation needs in
//! its place (Chakar, Lebarbier, Lévy-Leduc, Robin 2017, Bernoulli 23:1408-1447, who then look for breaks in such differences; the
//! choice of rho by the criterion itself is ours). Differences of neighbours alone would take noise of rho = 0.9 for 0.31 of what it is.

use super::fit::{FitOptions, default_penalty, fit};
use crate::prelude::*;
use crate::{error::Error, math};

/// Values of rho that are tried; between the best and its neighbours, once more half way.
const RHOS: [f64; 13] = [0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.93, 0.96];
/// By so much must the criterion be better than without correlation: two standard errors of rho.
const LEAST_GAIN: f64 = 4.0;
/// More readings than this make rho no surer than it need be.
const MOST_READINGS: usize = 20_000;
/// Residuals beyond so many standard deviations count as this many.
const MOST_SDS: f64 = 3.0;
/// Readings further apart whose differences hint at correlation.
const HINT_LAGS: [usize; 2] = [3, 6];
/// Differences of neighbours are smaller than theirs by this, where noise hangs together.
const HINT: f64 = 0.85;
/// Fewer readings do not tell.
const LEAST_READINGS: usize = 50;

/// Standard deviation of the noise of a reading of weight 1, and the correlation from one reading to the next (0 to 0.98); `None`
/// where no correlation shows. `hint`: correlation of the residuals of a fit without any, where there is one.
///
/// Readings are taken as equally far apart; those of weight 0 are passed over. Of long logs the first 20,000 speak for all.
///
/// # Errors
/// Those of [`fit`].
pub fn correlated_noise(values: &[f64], weights: &[f64], hint: f64) -> Result<Option<(f64, f64)>, Error> {
    let seen: Vec<(f64, f64)> =
        values.iter().copied().zip(weights.iter().copied()).filter(|(_, w)| *w > 0.0).take(MOST_READINGS).collect();
    if seen.len() < LEAST_READINGS {
        return Ok(None);
    }
    let apart = |lag: usize| math::mean_square_difference(&seen, lag);
    let far = HINT_LAGS.map(apart).into_iter().fold(0.0, f64::max);
    if hint <= 2.0 / (seen.len() as f64).sqrt() && apart(1) >= HINT * far {
        return Ok(None);
    }
    let mut tried: Vec<(f64, Fitted)> = Vec::with_capacity(RHOS.len() + 2);
    for rho in RHOS {
        tried.push((rho, whitened(&seen, rho)?));
    }
    let least = |tried: &[(f64, Fitted)]| {
        tried.iter().enumerate().min_by(|a, b| a.1.1.criterion.total_cmp(&b.1.1.criterion)).map_or(0, |(i, _)| i)
    };
    let best = least(&tried);
    for neighbour in [best.checked_sub(1), Some(best + 1)].into_iter().flatten() {
        let Some(other) = tried.get(neighbour).filter(|_| neighbour < RHOS.len()).map(|t| t.0) else { continue };
        let rho = 0.5 * (other + RHOS[best]);
        tried.push((rho, whitened(&seen, rho)?));
    }
    let (rho, best) = tried[least(&tried)];
    let gain = tried[0].1.criterion - best.criterion;
    Ok((rho > 0.0 && gain > LEAST_GAIN).then(|| (best.sd / (1.0 - rho * rho).sqrt(), rho)))
}

/// What is left once segments are found in whitened readings.
#[derive(Clone, Copy)]
struct Fitted {
    criterion: f64,
    sd: f64,
}

fn whitened(seen: &[(f64, f64)], rho: f64) -> Result<Fitted, Error> {
    let pairs = seen.iter().zip(seen.iter().skip(1));
    let z: Vec<f64> = pairs.map(|(before, here)| here.0 - rho * before.0).collect();
    let w: Vec<f64> = seen.iter().skip(1).map(|s| s.1).collect();
    let n = z.len() as f64;
    let penalty = default_penalty(z.len());
    let mut sd = math::spread_sd(&z, &w, 0.0);
    let mut criterion = f64::INFINITY;
    // Once with the noise as neighbours show it, once as the first fit left it.
    for _ in 0..2 {
        let found = fit(&z, &w, &[], &FitOptions { noise_sd: Some(sd), ..FitOptions::default() })?;
        let most = MOST_SDS * found.noise_sd;
        let ends = found.starts.iter().skip(1).copied().chain([z.len()]);
        let mut squares = 0.0;
        for (segment, ((&from, to), mean)) in found.starts.iter().zip(ends).zip(&found.means).enumerate() {
            // Just after a break the reading before is of the other side: off by rho times the change.
            for i in from + usize::from(segment > 0)..to {
                let off = (w[i].sqrt() * (z[i] - mean)).clamp(-most, most);
                squares += off * off;
            }
        }
        let segments = found.starts.len() as f64;
        let clear = (n - segments + 1.0).max(1.0);
        sd = (squares / (clear - 3.0 * segments).max(1.0)).sqrt();
        criterion = n * math::ln((squares / clear).max(f64::MIN_POSITIVE)) + penalty * (segments - 1.0);
    }
    Ok(Fitted { criterion, sd })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::Random;

    /// Readings of a pipe that changes by `jump` every sixty, with noise of unit variance.
    fn readings(rho: f64, jump: f64, seed: u64) -> Vec<f64> {
        let mut random = Random::new(seed, 0, 0);
        let mut noise = random.normal();
        (0..600)
            .map(|i| {
                noise = rho * noise + (1.0_f64 - rho * rho).sqrt() * random.normal();
                noise + jump * f64::from(i / 60 % 3)
            })
            .collect()
    }

    #[test]
    fn correlation_is_found_beside_the_changes_of_the_pipe() {
        // Jumps that are worth their price: smaller ones are taken for noise that hangs together, and nothing could tell.
        for (rho, jump) in [(0.3, 0.0), (0.6, 3.0), (0.8, 4.0), (0.9, 0.0)] {
            let mut found = (0.0, 0.0);
            for seed in 0..20 {
                let (sd, r) =
                    correlated_noise(&readings(rho, jump, seed), &[1.0; 600], 0.5).unwrap().unwrap_or((1.0, 0.0));
                found = (found.0 + sd / 20.0, found.1 + r / 20.0);
            }
            // The mean of twenty: rho has a standard error of sqrt((1 - rho²)/600)/sqrt(20) = 0.01 at most, and a bias
            // towards 0 of (1 + 3 rho)/n a mean fitted (Marriott, Pope 1954, from memory), 0.05 with ten of them, up to 0.15 where
            // their ends were picked among large jumps.
            assert!((found.1 - rho).abs() < 0.15, "{rho} {jump}: {found:?}");
            // Ten means take up to (1 + rho)/(1 - rho)/60 of the variance, a third at 0.9; jumps that are missed add to it.
            assert!((0.75..1.25).contains(&found.0), "{rho} {jump}: {found:?}");
        }
    }

    #[test]
    fn independent_noise_is_left_alone() {
        // Two standard errors: one in forty may be taken for correlated.
        let found =
            (0..80).filter(|&s| correlated_noise(&readings(0.0, 1.0, s), &[1.0; 600], 0.5).unwrap().is_some()).count();
        assert!(found <= 6, "{found}"); // 2 expected; 6 or fewer in 99.6 % (binomial)
        assert_eq!(correlated_noise(&[0.0; 40], &[1.0; 40], 0.5), Ok(None));
        assert_eq!(correlated_noise(&[0.01; 400], &[1.0; 400], 0.0), Ok(None));
    }
}
