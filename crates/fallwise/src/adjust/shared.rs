//! The errors that many readings share: what is known of them before, and where they enter.
//!
//! In order: the offset of each setup (zero error and seating), the drift of each run, the error across the axis of the head.

use nalgebra::DMatrix;

use super::{
    ACROSS, SegmentMean, SetupNoise, Varying, Zero,
    budget::{Cause, Parts},
    linear::Observation,
};
use crate::prelude::*;
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

    /// What one of them has of its own.
    pub(super) fn cause(&self, i: usize) -> Cause {
        match i.checked_sub(self.setups.len()) {
            None => Cause::Seating,
            Some(run) if run < self.runs => Cause::Drift,
            Some(_) => Cause::Across,
        }
    }

    /// The independent errors that they are made of before the readings: what each is of, in shares of its variance, and what one standard
    /// deviation of it moves each of them by. The zero first, then each setup's own, then the rest.
    pub(super) fn as_they_enter(&self) -> (Vec<Parts>, Vec<Vec<f64>>) {
        let (n, count) = (self.setups.len(), self.mean.len());
        let one = |i: usize, sd: f64| (0..count).map(|j| if j == i { sd } else { 0.0 }).collect::<Vec<f64>>();
        let zero = (0..count).map(|j| if j < n { self.instrument.zero_sd_rad } else { 0.0 }).collect();
        let (mut parts, mut columns) = (vec![vec![(Cause::Zero, 1.0)]], vec![zero]);
        for (i, (own, setup)) in self.own.iter().zip(self.setups).enumerate() {
            let rounding = setup.rounding_sd_rad * setup.rounding_sd_rad;
            let rounded = if *own > 0.0 { rounding / own } else { 0.0 };
            parts.push(vec![(Cause::Seating, 1.0 - rounded), (Cause::Rounding, rounded)]);
            columns.push(one(i, own.sqrt()));
        }
        for i in n..count {
            parts.push(vec![(self.cause(i), 1.0)]);
            columns.push(one(i, self.covariance[(i, i)].sqrt()));
        }
        (parts, columns)
    }

    /// What of the zero no reading tells has of these: z - ẑ less what it has of the offsets, over its standard deviation.
    pub(super) fn zero_row(&self, zero: &Zero) -> Vec<f64> {
        if zero.own_sd == 0.0 {
            return Vec::new();
        }
        let told: f64 = zero.share.iter().sum();
        let of_zero = self.instrument.zero_sd_rad * (1.0 - told);
        let of_setups = zero.share.iter().zip(&self.own).map(|(share, own)| -share * own.sqrt());
        core::iter::once(of_zero).chain(of_setups).map(|x| x / zero.own_sd).collect()
    }

    /// What the error of a mean is of, in shares of its variance.
    pub(super) fn mean_parts(&self, chain: &Chain, m: &SegmentMean) -> Parts {
        let setup = &self.setups[m.setup];
        let (wander, whole) = (self.wander(chain, m), setup.mean_variance(m.weight) + self.wander(chain, m));
        let rounding = setup.rounding_sd_rad * setup.rounding_sd_rad;
        let (wanders, rounded) = (wander / whole, rounding / whole);
        vec![(Cause::Noise, 1.0 - wanders - rounded), (Cause::Rounding, rounded), (Cause::Wander, wanders)]
    }

    /// Variance of a mean from the part of the zero that varies along the run, rad².
    fn wander(&self, chain: &Chain, m: &SegmentMean) -> f64 {
        let length_m = chain.breaks_m[m.segment + 1] - chain.breaks_m[m.segment];
        math::wander_variance(self.instrument.wander_sd_rad, length_m)
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
        let wander = self.wander(chain, m);
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
