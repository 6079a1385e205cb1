//! Noise of the readings, found in what is left of them once there are segments, and what correlation takes from their weights.
//!
//! Differences of neighbours, from which conditioning guesses, see too little of noise that hangs together; residuals see all
//! of it, but need segments first. So: guess, segments, residuals, segments anew.

use alloc::borrow::Cow;

use super::{head, seen};
use crate::prelude::*;
use crate::{
    chain::{Chain, correlated_noise},
    condition::{Setup, Trace},
    math,
    model::Instrument,
};

/// Fewer residuals than this for each mean that was fitted say nothing of the noise.
const LEAST_READINGS: f64 = 8.0;
/// Means that a break which was found takes, beside that of its segment: its station was picked too (our choice).
const MEANS_A_BREAK: f64 = 2.0;
/// Residuals beyond so many standard deviations count as this many: a few odd readings are no noise.
const MOST_SDS: f64 = 3.0;
/// Noise of less than so many steps of a display is not to be had from the spread of the readings alone.
const WITHIN_STEPS: f64 = 0.6;
/// Fewer readings of a tilt say little of how its steps are shared out.
const LEAST_OF_TILT: usize = 10;
/// More steps than this are not of one tilt and noise within them.
const MOST_STEPS: i64 = 6;
/// More tilts than this only take time.
const MOST_TILTS: usize = 40;

/// Readings of one seating of the head.
struct Readings<'a> {
    station_m: &'a [f64],
    tilt_rad: &'a [f64],
    weight: &'a [f64],
}

/// Noise of one seating, as the trace holds it.
#[derive(Clone, Copy)]
struct Noise {
    sd_rad: f64,
    correlation_m: f64,
    rounding_sd_rad: f64,
    scatter_sd_rad: f64,
}

/// Puts the noise that residuals about the segments show into the traces. `found`: whether the readings themselves chose the
/// segments.
pub(super) fn refine(traces: &mut [Trace], chain: &Chain, found: bool, instrument: &Instrument) {
    for t in traces {
        let readings = Readings { station_m: &t.station_m, tilt_rad: &t.tilt_rad, weight: &t.weight };
        let noise = residual_noise(&readings, chain, found, t.scatter_sd_rad, t.resolution_rad, instrument);
        if let Some(Noise { sd_rad, correlation_m, rounding_sd_rad, scatter_sd_rad }) = noise {
            *t = Trace { noise_sd_rad: sd_rad, correlation_m, rounding_sd_rad, scatter_sd_rad, ..core::mem::take(t) };
        }
        let Some(p) = &mut t.pull else { continue };
        let readings = Readings { station_m: &p.station_m, tilt_rad: &p.tilt_rad, weight: &p.weight };
        let noise = residual_noise(&readings, chain, found, p.scatter_sd_rad, t.resolution_rad, instrument);
        if let Some(Noise { sd_rad, correlation_m, rounding_sd_rad, scatter_sd_rad }) = noise {
            *p = Setup { noise_sd_rad: sd_rad, correlation_m, rounding_sd_rad, scatter_sd_rad, ..core::mem::take(p) };
        }
    }
}

/// The traces with the weights that correlation leaves: a reading d from its neighbours, with correlation exp(-d/L) between
/// them, counts as tanh(d/2L) of an independent one, since the mean of many has (1 + rho)/(1 - rho) times the variance.
pub(super) fn weighed(traces: &[Trace]) -> Cow<'_, [Trace]> {
    let correlated = |t: &Trace| t.correlation_m > 0.0 || t.pull.as_ref().is_some_and(|p| p.correlation_m > 0.0);
    if !traces.iter().any(correlated) {
        return Cow::Borrowed(traces);
    }
    let mut weighed = traces.to_vec();
    for t in &mut weighed {
        weaken(&t.station_m, &mut t.weight, t.correlation_m);
        if let Some(p) = &mut t.pull {
            weaken(&p.station_m, &mut p.weight, p.correlation_m);
        }
    }
    Cow::Owned(weighed)
}

fn weaken(station_m: &[f64], weight: &mut [f64], correlation_m: f64) {
    if correlation_m <= 0.0 {
        return;
    }
    let near = |a: Option<&f64>, b: Option<&f64>| a.zip(b).map(|(a, b)| b - a);
    for (i, w) in weight.iter_mut().enumerate() {
        let here = station_m.get(i);
        let before = near(i.checked_sub(1).and_then(|b| station_m.get(b)), here);
        let after = near(here, station_m.get(i + 1));
        let apart = match (before, after) {
            (Some(a), Some(b)) => 0.5 * a + 0.5 * b,
            (Some(one), None) | (None, Some(one)) => one,
            (None, None) => return,
        };
        // tanh x = (1 - exp(-2x)) / (1 + exp(-2x)), by exp(-2x) - 1 so that a small x loses nothing.
        let less = math::exp_m1(-apart / correlation_m);
        *w *= -less / (2.0 + less);
    }
}

/// Noise from the residuals; `None` where there are too few, or nothing is asked of them.
fn residual_noise(
    r: &Readings<'_>,
    chain: &Chain,
    found: bool,
    scatter_sd_rad: f64,
    resolution_rad: f64,
    instrument: &Instrument,
) -> Option<Noise> {
    if instrument.noise_sd_rad.is_some() && instrument.correlation_m.is_some() {
        return None;
    }
    let weights = head::off_breaks(chain, &[(r.station_m, r.weight)], instrument.head_length_m);
    let spacing_m = seen::usual_spacing_m(r.station_m)?;
    let left = Residuals::new(r, chain, weights.first()?, found, MOST_SDS * scatter_sd_rad, spacing_m, resolution_rad)?;
    let enough = left.count >= LEAST_READINGS * left.means;
    let rounding_variance = resolution_rad * resolution_rad / 12.0 * (1.0 - left.means / left.count);
    let square = left.square - rounding_variance;
    if instrument.correlation_m.is_none() {
        // Where breaks take up the noise, residuals show no correlation, but there are many breaks.
        let hint = if enough && square > 0.0 { left.product / square + left.means / left.count } else { 1.0 };
        if let Some((sd_rad, rho)) = correlated_noise(r.tilt_rad, r.weight, hint).ok()? {
            let sd_rad = instrument.noise_sd_rad.unwrap_or(math::before_rounding(sd_rad, resolution_rad));
            let rounding_sd_rad = math::rounding_error_sd(resolution_rad, sd_rad);
            let scatter_sd_rad = (sd_rad * sd_rad + resolution_rad * resolution_rad / 12.0).sqrt();
            return Some(Noise { sd_rad, correlation_m: -spacing_m / math::ln(rho), rounding_sd_rad, scatter_sd_rad });
        }
    }
    if !enough || instrument.noise_sd_rad.is_some() {
        return None;
    }
    let correlation_m = instrument.correlation_m.unwrap_or(0.0);
    let rho = if correlation_m > 0.0 { math::exp(-spacing_m / correlation_m) } else { 0.0 };
    // What the fitted means took with them.
    let taken = (left.means / left.count * (1.0 + rho) / (1.0 - rho)).min(0.9);
    let sd_rad = (square.max(0.0) / (1.0 - taken)).sqrt();
    let within_steps = resolution_rad > 0.0 && sd_rad < WITHIN_STEPS * resolution_rad;
    let told = if within_steps { math::noise_within_steps(&left.steps) } else { None };
    let (sd_rad, rounding_sd_rad) = match told {
        Some((sd, rounding)) => (sd * resolution_rad, rounding * resolution_rad),
        None => (sd_rad, math::rounding_error_sd(resolution_rad, sd_rad)),
    };
    // Amid a step readings scatter less than on the whole, half way between two more: of what they do here, not less.
    let here = left.square * left.count / (left.count - left.means);
    let scatter_sd_rad = here.max(sd_rad * sd_rad + resolution_rad * resolution_rad / 12.0).sqrt();
    Some(Noise { sd_rad, correlation_m, rounding_sd_rad, scatter_sd_rad })
}

/// What is left of the readings about the means of their segments.
struct Residuals {
    count: f64,
    /// Means fitted, with what was picked.
    means: f64,
    /// Mean square of a reading of weight 1, rad².
    square: f64,
    /// Mean product of neighbours, rad².
    product: f64,
    /// How often each step of a display was shown, tilt by tilt.
    steps: Vec<Vec<f64>>,
}

impl Residuals {
    fn new(
        r: &Readings<'_>,
        chain: &Chain,
        weight: &[f64],
        found: bool,
        most: f64,
        spacing_m: f64,
        resolution_rad: f64,
    ) -> Option<Self> {
        let clipped = |e: f64| if most > 0.0 { e.clamp(-most, most) } else { e };
        let (mut square, mut product, mut pairs) = (0.0, 0.0, 0.0_f64);
        let (mut count, mut segments) = (0.0, 0.0);
        let mut steps = Vec::new();
        for segment in chain.means(r.station_m, r.tilt_rad, weight).ok()? {
            let Some(mean) = segment.mean_rad else { continue };
            segments += 1.0;
            count += segment.count as f64;
            let mut before: Option<(f64, f64)> = None;
            for i in segment.readings.clone().filter(|&i| weight[i] > 0.0) {
                let here = (r.station_m[i], clipped(weight[i].sqrt() * (r.tilt_rad[i] - mean)));
                square += here.1 * here.1;
                // Further apart than is usual they are no neighbours.
                if let Some(before) = before.filter(|b| here.0 - b.0 <= 1.5 * spacing_m) {
                    product += before.1 * here.1;
                    pairs += 1.0;
                }
                before = Some(here);
            }
            if resolution_rad > 0.0 && segment.count >= LEAST_OF_TILT && steps.len() < MOST_TILTS {
                let tilts = segment.readings.filter(|&i| weight[i] > 0.0).map(|i| r.tilt_rad[i]);
                steps.extend(steps_shown(&tilts.collect::<Vec<_>>(), resolution_rad));
            }
        }
        let means = segments + if found { MEANS_A_BREAK * (segments - 1.0) } else { 0.0 };
        (count > 0.0).then(|| Self { count, means, square: square / count, product: product / pairs.max(1.0), steps })
    }
}

/// How often each step of the display was shown, from the lowest to the highest; nothing where they are too many.
#[expect(
    clippy::cast_possible_truncation,
    reason = "a tilt of a quarter turn over the step of a display; `as` keeps it in range"
)]
fn steps_shown(tilts: &[f64], resolution_rad: f64) -> Option<Vec<f64>> {
    let steps: Vec<i64> = tilts.iter().map(|t| (t / resolution_rad).round() as i64).collect();
    let (low, high) = (*steps.iter().min()?, *steps.iter().max()?);
    let many = usize::try_from(high.checked_sub(low).filter(|d| *d < MOST_STEPS)?).ok()?;
    let mut counts = vec![0.0; many + 1];
    for step in steps {
        if let Some(count) = usize::try_from(step - low).ok().and_then(|k| counts.get_mut(k)) {
            *count += 1.0;
        }
    }
    Some(counts)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn correlated_readings_count_as_fewer() {
        let station_m: Vec<f64> = (0..50).map(|i| 0.1 * f64::from(i)).collect();
        let mut weight = vec![2.0; 50];
        weaken(&station_m, &mut weight, 0.5);
        let rho = math::exp(-0.2);
        // Twice (1 - rho)/(1 + rho), to rounding.
        assert!(weight.iter().all(|w| (w / (2.0 * (1.0 - rho) / (1.0 + rho)) - 1.0).abs() < 1e-12), "{weight:?}");
        // The mean of them all then has the variance that it has, but for the ends: 5 correlation lengths of 0.5 m each way.
        let sum: f64 = weight.iter().map(|w| 0.5 * w).sum();
        assert!((1.0 / sum / math::ar1_mean_variance(50, rho) - 1.0).abs() < 0.12);
        let mut far = vec![1.0; 2];
        weaken(&[0.0, 1e6], &mut far, 0.5);
        assert_eq!(far, [1.0, 1.0]);
        weaken(&[0.0, 1.0], &mut far, 0.0);
        assert_eq!(far, [1.0, 1.0]);
    }

    #[test]
    fn steps_are_counted_from_the_lowest() {
        assert_eq!(steps_shown(&[0.1, 0.1, 0.3, 0.2000001], 0.1), Some(vec![2.0, 1.0, 1.0]));
        assert_eq!(steps_shown(&[0.0, 1.0], 0.1), None);
        assert_eq!(steps_shown(&[], 0.1), None);
    }
}
