//! A quantity as a vector: its products with the independent unit errors that everything is made of.
//!
//! Every unknown is its mean plus a sum of independent errors of standard deviation 1, and so is the error of every tie. In these
//! coordinates the variance of a quantity is the square of its length, and a covariance is a product. In order:
//!
//! | errors | number |
//! | --- | --- |
//! | each segment's own; or, where segments were found, one for each draw of the average over segmentations | segments; draws |
//! | shared by many tilts: the posterior's sources | sources |
//! | the counter's scale | 1 |
//! | the rise of each noted step | steps |
//! | the angle of each noted bend | bends |
//! | of the head's zero, and of other parameters that move no tilt, what no reading tells | 1 and more |
//! | lips at joints that nobody noted, between the stations of ties | stretches |
//! | of each equation of a tie its own | equations |
//! | the stations of ties that are not exact | up to 2 a tie |
//!
//! Draws of an average stand for its covariance: that of cells j and k is the mean over the draws of the products of their
//! departures, so that the departures over the square root of their number are coordinates.

use super::{Cause, Functional, Lips, Parameter, Posterior, SCALE, tied::Gain};
use crate::prelude::*;

/// How many of each there are, and where they begin.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Coordinates {
    own: usize,
    sources: usize,
    steps: usize,
    bends: usize,
    untold: usize,
    /// Stations between which lips are one error each, m.
    cuts_m: Vec<f64>,
    equations: usize,
    /// Of each equation its tie.
    ties: Vec<usize>,
    /// Of each tie where the errors of its two stations stand among those of all, if they have any.
    stations: Vec<[Option<usize>; 2]>,
    moving: usize,
}

impl Coordinates {
    /// `equations` says of each which tie it is of; `ties` are the standard deviations of each tie's two stations, m.
    pub(super) fn new(posterior: &Posterior, cuts_m: Vec<f64>, equations: Vec<usize>, ties: &[[f64; 2]]) -> Self {
        let mut moving = 0;
        let mut next = |sd_m: f64| {
            (sd_m > 0.0).then(|| {
                moving += 1;
                moving - 1
            })
        };
        let stations = ties.iter().map(|sds| sds.map(&mut next)).collect();
        let own = posterior.scatter.as_ref().map_or(posterior.white_sd_rad.len(), super::Scatter::len);
        Self {
            own,
            sources: posterior.sources.len(),
            steps: posterior.step_sd_m.len(),
            bends: posterior.bend_sd_rad.len(),
            untold: posterior.parameters.iter().map(|p| p.own.len()).max().unwrap_or(0),
            cuts_m,
            equations: equations.len(),
            ties: equations,
            stations,
            moving,
        }
    }

    /// Where the errors that are each segment's own end and the shared ones begin.
    pub(super) fn shared(&self) -> usize {
        self.own
    }

    pub(super) fn scale(&self) -> usize {
        self.own + self.sources
    }

    pub(super) fn step(&self, i: usize) -> usize {
        self.scale() + 1 + i
    }

    pub(super) fn bend(&self, i: usize) -> usize {
        self.step(self.steps) + i
    }

    /// What of parameters no reading tells.
    pub(super) fn untold(&self, i: usize) -> usize {
        self.bend(self.bends) + i
    }

    pub(super) fn lips(&self, i: usize) -> usize {
        self.untold(self.untold) + i
    }

    pub(super) fn equation(&self, i: usize) -> usize {
        self.lips(self.cuts_m.len().saturating_sub(1)) + i
    }

    /// The station of a tie, if it has an error: `end` is 0 or 1.
    pub(super) fn station(&self, tie: usize, end: usize) -> Option<usize> {
        Some(self.equation(self.equations) + self.stations.get(tie)?.get(end).copied()??)
    }

    /// What an error from the counter's scale on is of; `None` for what no reading tells, which origins tell.
    pub(super) fn cause(&self, i: usize) -> Option<Cause> {
        let of_station =
            |tie: &[Option<usize>; 2]| tie.iter().any(|s| s.is_some_and(|s| self.equation(self.equations) + s == i));
        Some(match i {
            i if i < self.step(0) => Cause::Scale,
            i if i < self.bend(0) => Cause::Steps,
            i if i < self.untold(0) => Cause::Bends,
            i if i < self.lips(0) => return None,
            i if i < self.equation(0) => Cause::Lips,
            i if i < self.equation(self.equations) => Cause::Tie(*self.ties.get(i - self.equation(0))?),
            _ => Cause::Station(self.stations.iter().position(of_station)?),
        })
    }

    pub(super) fn len(&self) -> usize {
        self.equation(self.equations) + self.moving
    }

    /// The coordinates whose errors are counted in the value of an equation where the chain lies; lips and the equations' own are not.
    pub(super) fn in_value(&self) -> [core::ops::Range<usize>; 2] {
        [0..self.lips(0), self.equation(self.equations)..self.len()]
    }

    /// A parameter in these coordinates.
    pub(super) fn parameter(&self, posterior: &Posterior, parameter: &Parameter) -> Vec<f64> {
        let mut x = vec![0.0; self.len()];
        x.iter_mut().skip(self.own).zip(&parameter.by_source).for_each(|(x, by)| *x = *by);
        if parameter.name == SCALE {
            x[self.scale()] = posterior.scale_sd;
        } else {
            x.iter_mut().skip(self.untold(0)).zip(&parameter.own).for_each(|(x, own)| *x = *own);
        }
        x
    }

    /// What unit errors move: tilts, scale, steps.
    pub(super) fn moved(&self, posterior: &Posterior, errors: &[f64]) -> Gain {
        let mut tilt_rad = vec![0.0; posterior.tilt_rad.len()];
        if let Some(scatter) = &posterior.scatter {
            scatter.combine(errors, &mut tilt_rad);
        } else {
            let own = posterior.white_sd_rad.iter().zip(errors);
            tilt_rad.iter_mut().zip(own).for_each(|(t, (sd, error))| *t = sd * error);
        }
        for (source, error) in posterior.sources.iter().zip(errors.iter().skip(self.own)) {
            tilt_rad.iter_mut().zip(&source.tilt_rad).for_each(|(t, moved)| *t += moved * error);
        }
        let at = |i: usize| errors.get(i).copied().unwrap_or(0.0);
        let steps = posterior.step_sd_m.iter().enumerate();
        Gain {
            tilt_rad,
            scale: posterior.scale_sd * at(self.scale()),
            step_m: steps.map(|(i, sd)| sd * at(self.step(i))).collect(),
        }
    }

    /// A quantity in these coordinates, and the variance of what of it no tie can have to do with.
    pub(super) fn of(&self, posterior: &Posterior, quantity: &Functional) -> (Vec<f64>, f64) {
        let mut x = vec![0.0; self.len()];
        if let Some(scatter) = &posterior.scatter {
            scatter.project(&quantity.tilt, &mut x);
        } else {
            let own = quantity.tilt.iter().zip(&posterior.white_sd_rad);
            x.iter_mut().zip(own).for_each(|(x, (g, sd))| *x = g * sd);
        }
        let zero = posterior.zero_parameter();
        for (i, source) in posterior.sources.iter().enumerate() {
            let by_tilt: f64 = quantity.tilt.iter().zip(&source.tilt_rad).map(|(g, l)| g * l).sum();
            let by_zero = quantity.zero * zero.and_then(|z| z.by_source.get(i)).copied().unwrap_or(0.0);
            let by_datum =
                quantity.open[Functional::ELEVATION] * posterior.datum.as_ref().map_or(0.0, |d| d.by_source(i));
            x[self.own + i] = by_tilt + by_zero + by_datum;
        }
        x[self.scale()] = quantity.scale * posterior.scale_sd;
        for (i, (g, sd)) in quantity.step.iter().zip(&posterior.step_sd_m).enumerate() {
            x[self.step(i)] = g * sd;
        }
        for (i, (g, sd)) in quantity.bend.iter().zip(&posterior.bend_sd_rad).enumerate() {
            x[self.bend(i)] = g * sd;
        }
        let own = zero.map_or(&[][..], |z| &z.own);
        x.iter_mut().skip(self.untold(0)).zip(own).for_each(|(x, own)| *x = quantity.zero * own);
        let lips = self.lips(0);
        let extra = self.put_lips(posterior.lip_variance_m, &quantity.lips, x.get_mut(lips..).unwrap_or_default());
        (x, extra)
    }

    /// What lips add up to from the first cut on, m, for unit errors.
    pub(super) fn lips_m(&self, variance_m: f64, errors: &[f64]) -> Vec<(f64, f64)> {
        let mut sum = 0.0;
        let mut all: Vec<(f64, f64)> = self.cuts_m.first().map(|s| (*s, 0.0)).into_iter().collect();
        for (i, ends) in self.cuts_m.windows(2).enumerate() {
            let error = errors.get(self.lips(i)).copied().unwrap_or(0.0);
            sum += (variance_m * (ends[1] - ends[0])).sqrt() * error;
            all.push((ends[1], sum));
        }
        all
    }

    /// Puts lips into their coordinates, the first entries of `x`; returns the variance of what is left, m². Of lips that add up to a
    /// random walk, a part of a stretch has its share of what the whole adds up to, and a bridge of its own that the whole says nothing
    /// of.
    pub(super) fn put_lips(&self, variance_m: f64, lips: &[Lips], x: &mut [f64]) -> f64 {
        if variance_m == 0.0 || lips.is_empty() {
            return 0.0;
        }
        let mut left = 0.0;
        for (i, ends) in self.cuts_m.windows(2).enumerate() {
            let length = ends[1] - ends[0];
            let sum = Lips::sum_m(lips, (ends[0], ends[1]));
            if length > 0.0 {
                if let Some(x) = x.get_mut(i) {
                    *x = sum * (variance_m / length).sqrt();
                }
                left += (Lips::product_m(lips, lips, (ends[0], ends[1])) - sum * sum / length).max(0.0);
            }
        }
        left += self.beyond_cuts_m(lips, lips);
        variance_m * left
    }

    /// Of two quantities the covariance of what [`Self::put_lips`] leaves of their lips, m².
    pub(super) fn lips_left_m2(&self, variance_m: f64, one: &[Lips], other: &[Lips]) -> f64 {
        if variance_m == 0.0 || one.is_empty() || other.is_empty() {
            return 0.0;
        }
        let bridges = self.cuts_m.windows(2).map(|ends| {
            let (within, length) = ((ends[0], ends[1]), ends[1] - ends[0]);
            let both = Lips::sum_m(one, within) * Lips::sum_m(other, within);
            if length > 0.0 { Lips::product_m(one, other, within) - both / length } else { 0.0 }
        });
        variance_m * (bridges.sum::<f64>() + self.beyond_cuts_m(one, other))
    }

    /// The product of the lips of two quantities beyond the first and the last cut.
    fn beyond_cuts_m(&self, one: &[Lips], other: &[Lips]) -> f64 {
        let ends = self.cuts_m.first().copied().zip(self.cuts_m.last().copied());
        Lips::product_m(one, other, Lips::ALL_M) - ends.map_or(0.0, |ends| Lips::product_m(one, other, ends))
    }
}
