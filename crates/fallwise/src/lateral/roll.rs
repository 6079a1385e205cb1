//! The error of the head across its axis, where roll is logged: found in how the readings go with the roll within segments, and taken
//! off before segments are found for good. Left in, it would make breaks of its own.

use crate::prelude::*;
use crate::{
    chain::Chain,
    condition::Trace,
    math,
    model::{Instrument, Run},
};

/// How often the error is found anew: segments found with it still in hide a part of it.
pub(super) const ROUNDS: usize = 3;

/// Where what is left of it is looked for: in its standard deviations as found within segments, and in those of the prior.
const NEAR_SDS: [f64; 9] = [-3.0, -2.0, -1.0, -0.5, 0.0, 0.5, 1.0, 2.0, 3.0];
const FAR_SDS: [f64; 16] = [-3.0, -2.5, -2.0, -1.6, -1.2, -0.8, -0.5, -0.2, 0.2, 0.5, 0.8, 1.2, 1.6, 2.0, 2.5, 3.0];

/// Error across the axis of the head, one for all runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Across {
    /// What was taken off the readings, rad.
    pub(super) value_rad: f64,
    /// Standard deviation of what is left, rad.
    pub(super) sd_rad: f64,
}

impl Across {
    /// What is known of it before the runs; `None` where no run logs its roll, or the head has no such error.
    pub(super) fn unknown(runs: &[Run], instrument: &Instrument) -> Option<Self> {
        let logged = runs.iter().any(|r| r.roll_rad.is_some() && !r.by_hand);
        (logged && instrument.roll_sd_rad > 0.0).then_some(Self { value_rad: 0.0, sd_rad: instrument.roll_sd_rad })
    }

    /// Finds it by least squares within the segments, each with its own mean, and takes it off the readings.
    pub(super) fn take_off(&mut self, traces: &mut [Trace], runs: &[Run], chain: &Chain, instrument: &Instrument) {
        // With the prior as one observation more, of what is left of the error.
        let precision = 1.0 / (instrument.roll_sd_rad * instrument.roll_sd_rad);
        let (mut right, mut normal) = (-self.value_rad * precision, precision);
        for (t, run) in traces.iter().zip(runs) {
            let Some(roll_rad) = &run.roll_rad else { continue };
            let weight_of_one = 1.0 / (t.scatter_sd_rad * t.scatter_sd_rad).max(1e-18);
            for readings in chain.ranges(&t.station_m) {
                let seen = readings
                    .filter(|i| t.weight[*i] > 0.0)
                    .map(|i| (t.weight[i], enters(t, roll_rad, i), t.tilt_rad[i]));
                let seen: Vec<(f64, f64, f64)> = seen.collect();
                let sum: f64 = seen.iter().map(|s| s.0).sum();
                let (a, y) = seen.iter().fold((0.0, 0.0), |(a, y), s| (a + s.0 * s.1 / sum, y + s.0 * s.2 / sum));
                for s in &seen {
                    right += weight_of_one * s.0 * (s.1 - a) * (s.2 - y);
                    normal += weight_of_one * s.0 * (s.1 - a) * (s.1 - a);
                }
            }
        }
        self.sd_rad = (1.0 / normal).sqrt();
        self.take(right / normal, traces, runs);
    }

    /// Breaks that are found may stand for a part of the error, or it for them: so what is left of it is looked for anew, over all that
    /// it may be, with segments found for each. `cost` is the least cost of the readings, penalties and all, in units of the noise's
    /// variance, which stands for twice the logarithm of the evidence.
    pub(super) fn allow_for_breaks(
        &mut self,
        traces: &mut [Trace],
        runs: &[Run],
        instrument: &Instrument,
        cost: &dyn Fn(&[Trace]) -> Option<f64>,
    ) {
        let prior_rad = instrument.roll_sd_rad;
        // Finely about what was found, coarsely over the prior.
        let near = NEAR_SDS.map(|sds| sds * self.sd_rad);
        let far = FAR_SDS.map(|sds| sds * prior_rad - self.value_rad);
        let mut left_rad: Vec<f64> = near.into_iter().chain(far).collect();
        left_rad.sort_by(f64::total_cmp);
        let mut logs = Vec::with_capacity(left_rad.len());
        for &more_rad in &left_rad {
            let mut tried = traces.to_vec();
            let mut whole = *self;
            whole.take(more_rad, &mut tried, runs);
            let off = whole.value_rad / prior_rad;
            let Some(cost) = cost(&tried) else { return };
            logs.push(-0.5 * (cost + off * off));
        }
        let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        // By the trapezium rule.
        let (mut whole, mut first, mut second) = (0.0, 0.0, 0.0);
        for (logs, ends) in logs.windows(2).zip(left_rad.windows(2)) {
            for (log, c) in logs.iter().zip(ends) {
                let share = math::exp(log - most) * (ends[1] - ends[0]);
                (whole, first, second) = (whole + share, first + share * c, second + share * c * c);
            }
        }
        if whole.is_nan() || whole <= 0.0 {
            return;
        }
        let mean_rad = first / whole;
        self.sd_rad = self.sd_rad.max((second / whole - mean_rad * mean_rad).max(0.0).sqrt());
        self.take(mean_rad, traces, runs);
    }

    /// Takes so much more off the readings.
    fn take(&mut self, more_rad: f64, traces: &mut [Trace], runs: &[Run]) {
        self.value_rad += more_rad;
        for (t, run) in traces.iter_mut().zip(runs) {
            let Some(roll_rad) = &run.roll_rad else { continue };
            let sign = t.zero_sign;
            let off = |index: usize| sign * more_rad * math::sin(roll_rad.get(index).copied().unwrap_or(0.0));
            t.tilt_rad.iter_mut().zip(&t.index).for_each(|(tilt, i)| *tilt -= off(*i));
            if let Some(p) = &mut t.pull {
                p.tilt_rad.iter_mut().zip(&p.index).for_each(|(tilt, i)| *tilt -= off(*i));
            }
        }
    }
}

/// How the error enters a reading of a trace: by the sine of the roll, with the sign of the run.
fn enters(t: &Trace, roll_rad: &[f64], i: usize) -> f64 {
    let roll = t.index.get(i).and_then(|row| roll_rad.get(*row)).copied().unwrap_or(0.0);
    t.zero_sign * math::sin(roll)
}
