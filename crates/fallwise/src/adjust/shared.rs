//! The errors that many readings share: what is known of them before, and where they enter.
//!
//! In order: the offset of each setup (zero error and seating), the drift of each run, the error across the axis of the head.

use nalgebra::DMatrix;

use super::{ACROSS, SegmentMean, SetupNoise, Varying, linear::Observation};
use crate::{chain::Chain, math, model::Instrument, said, units::Said};

/// The shared errors, with their prior.
pub(super) struct Errors<'a> {
    setups: &'a [SetupNoise],
    instrument: &'a Instrument,
    runs: usize,
    pub(super) mean: Vec<f64>,
    pub(super) covariance: DMatrix<f64>,
    /// Variance of each setup's offset beside the zero error.
    pub(super) own: Vec<f64>,
    /// Names as sources of error.
    pub(super) names: Vec<String>,
    /// Names as parameters.
    pub(super) parameters: Vec<Said>,
}

impl<'a> Errors<'a> {
    pub(super) fn new(setups: &'a [SetupNoise], means: &[SegmentMean], instrument: &'a Instrument) -> Self {
        let n = setups.len();
        let runs = setups.iter().map(|s| s.run.saturating_add(1)).max().unwrap_or(0).min(n);
        let seating = instrument.seating_sd_rad;
        let own: Vec<f64> = setups.iter().map(|s| seating * seating + s.rounding_sd_rad * s.rounding_sd_rad).collect();
        let rolled = means.iter().any(|m| m.roll_sine != 0.0);
        let count = n + runs + usize::from(rolled);
        let variance = |sd: f64| sd * sd;
        let covariance = DMatrix::from_fn(count, count, |i, j| match (i < n && j < n, i == j) {
            (true, same) => variance(instrument.zero_sd_rad) + if same { own[i] } else { 0.0 },
            (false, true) if i < n + runs => variance(instrument.drift_sd_rad),
            (false, true) => variance(instrument.roll_sd_rad),
            (false, false) => 0.0,
        });
        let mean = (0..count).map(|i| if i < n { instrument.zero_rad } else { 0.0 }).collect();
        let (mut names, mut parameters) = (Vec::with_capacity(count), Vec::with_capacity(count));
        for (i, setup) in setups.iter().enumerate() {
            names.push(if i == 0 {
                "zero error and seating".to_owned()
            } else {
                format!("seating of {}", setup.name())
            });
            let run = setup.run.saturating_add(1);
            parameters.push(if setup.pulled {
                said!("offset_rad (zero error and seating), run {n} pulled back", n = run)
            } else {
                said!("offset_rad (zero error and seating), run {n}", n = run)
            });
        }
        for run in 1..=runs {
            names.push(format!("drift of run {run}"));
            parameters.push(said!("drift_rad (at the start), run {n}", n = run));
        }
        if rolled {
            names.push("error across the axis of the head".to_owned());
            parameters.push(Said::fixed(ACROSS));
        }
        Self { setups, instrument, runs, mean, covariance, own, names, parameters }
    }

    /// Prior standard deviation of one of them.
    pub(super) fn prior_sd(&self, i: usize) -> f64 {
        if i < self.setups.len() {
            math::hypot(self.instrument.zero_sd_rad, self.instrument.seating_sd_rad)
        } else {
            self.covariance[(i, i)].sqrt()
        }
    }

    /// Whether one of them varies within a segment; `sd_rad` is what of it no other one has.
    pub(super) fn varying(&self, i: usize, sd_rad: f64) -> Option<Varying> {
        let run = i.checked_sub(self.setups.len())?;
        Some(if run < self.runs { Varying::Drift { run, sd_rad } } else { Varying::Across { sd_rad } })
    }

    /// A mean reading as an observation of its tilt.
    pub(super) fn observation(&self, chain: &Chain, m: &SegmentMean) -> Observation {
        let n = self.setups.len();
        let setup = &self.setups[m.setup];
        let length_m = chain.breaks_m[m.segment + 1] - chain.breaks_m[m.segment];
        let wander = math::wander_variance(self.instrument.wander_sd_rad, length_m);
        let sign = setup.zero_sign;
        let mut shared = vec![(m.setup, sign)];
        if self.instrument.drift_sd_rad > 0.0 && setup.run < self.runs {
            shared.push((n + setup.run, sign * m.drift_share));
        }
        if self.mean.len() > n + self.runs && self.instrument.roll_sd_rad > 0.0 {
            shared.push((n + self.runs, sign * m.roll_sine));
        }
        Observation {
            tilt: m.segment,
            value: m.mean_rad,
            weight: 1.0 / (setup.mean_variance(m.weight) + wander),
            shared,
        }
    }
}
