//! How much of a figure's error each source of error makes, and how figures hang together.
//!
//! The error of an estimate is a sum of independent unit errors: of those of [`Coordinates`], before ties, each with the figure's entry;
//! after ties what is left of the vector when the ties' directions are taken off it. For x·e is estimated by x·ê with ê = Q Qᵀ e, so that
//! (x - Q Qᵀ x)·e is off: errors of the pipe and of the instrument count by what the ties do not take back of them, and those of the ties
//! by their gain. Squares of entries are therefore parts of the variance, and of nothing else; [`Origins`](super::origins) puts what is
//! made of several errors into these.

use super::{Anchor, Functional, Parameter, Posterior, basis::dot, coordinates::Coordinates};
use crate::prelude::*;
use crate::{model::Flow, path::Layout, profile::Profile};

/// What an error is of, as it enters.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cause {
    /// Zero error of the head.
    Zero,
    /// How the head sits, one for each setup.
    Seating,
    /// Drift of the head after a change of temperature, one for each run.
    Drift,
    /// Error across the axis of the head, by the roll.
    Across,
    /// Noise of the readings, breaks given.
    Noise,
    /// Noise of the readings and where the breaks lie, from the average over segmentations.
    Found,
    /// What averaging leaves of the rounding.
    Rounding,
    /// The part of the zero that varies along the run.
    Wander,
    /// Scale of the counter.
    Scale,
    /// Rises of noted steps.
    Steps,
    /// Angles of bends.
    Bends,
    /// Lips at joints that nobody noted.
    Lips,
    /// A source of the posterior with this name.
    Named(String),
    /// What a tie measured, by its place among the ties, from 0.
    Tie(usize),
    /// The stations of a tie, by its place among the ties, from 0.
    Station(usize),
}

/// What errors are of, each with its variance or its share of one.
pub(super) type Parts = Vec<(Cause, f64)>;

/// Covariance of the heights at two stations.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeightCovariance {
    /// First station, by its place in the list.
    pub first: usize,
    /// Second station, not before the first.
    pub second: usize,
    /// Covariance of the heights, m².
    pub covariance_m2: f64,
    /// Covariance of what the tilts alone make of the heights above the first node, whatever the anchor: what counts for slopes, which the
    /// counter's scale, steps and lips leave alone.
    pub by_tilts_m2: f64,
}

impl Posterior {
    /// The coordinates that its errors have.
    fn errors(&self) -> Coordinates {
        self.tied
            .as_ref()
            .map_or_else(|| Coordinates::new(self, Vec::new(), Vec::new(), &[]), |tied| tied.coordinates.clone())
    }

    /// What is left of a quantity in these coordinates, and the variance of what of it no tie has to do with; `None` where it is not
    /// determined.
    pub(super) fn vector(&self, quantity: &Functional) -> Option<(Vec<f64>, f64)> {
        if let Some(tied) = &self.tied {
            let (mut x, extra) = tied.closed_vector(self, quantity)?;
            tied.basis.take_off(&mut x);
            return Some((x, extra));
        }
        self.is_determined(quantity).then(|| self.errors().of(self, quantity))
    }

    /// The same of a parameter, and its variance before ties.
    pub(super) fn parameter_vector(&self, parameter: &Parameter) -> (Vec<f64>, f64) {
        let mut x = self.errors().parameter(self, parameter);
        let before = dot(&x, &x);
        if let Some(tied) = &self.tied {
            tied.basis.take_off(&mut x);
        }
        (x, before)
    }

    /// Variance of a quantity by what its errors are of, in the order of [`Cause`]; what contributes nothing is left out. `None` where the
    /// quantity is not determined. The sum is the variance of [`Posterior::estimate`].
    pub fn budget(&self, quantity: &Functional) -> Option<Vec<(Cause, f64)>> {
        let (x, extra) = self.vector(quantity)?;
        let of = self.errors();
        let (own, rest) = x.split_at(of.shared().min(x.len()));
        let (sources, _) = rest.split_at(self.sources.len().min(rest.len()));
        let untold = x.get(of.untold(0)..of.lips(0)).unwrap_or_default();
        let mut parts: Parts = vec![(Cause::Lips, extra)];
        let mut add = |cause: Cause, x: f64| parts.push((cause, x * x));
        let found = self.scatter.is_some();
        // Without origins each segment's own error is taken for noise.
        if found || self.origins.is_none() {
            for x in own {
                add(if found { Cause::Found } else { Cause::Noise }, *x);
            }
        }
        let known = self.origins.as_ref().map_or(0, |o| o.sources());
        for (source, x) in self.sources.iter().zip(sources).skip(known) {
            add(Cause::Named(source.name.clone()), *x);
        }
        if self.origins.is_none() {
            for x in untold {
                add(Cause::Zero, *x);
            }
        }
        for (i, x) in x.iter().enumerate().skip(of.scale()) {
            if let Some(cause) = of.cause(i) {
                add(cause, *x);
            }
        }
        if let Some(origins) = &self.origins {
            parts.extend(origins.variances(if found { &[] } else { own }, sources, untold));
        }
        // What the noise adds where segments were found is one with the rest of it.
        let named = |(cause, variance)| (if found && cause == Cause::Noise { Cause::Found } else { cause }, variance);
        let mut parts: Parts = parts.into_iter().map(named).filter(|(_, v)| *v > 0.0).collect();
        parts.sort_by(|a, b| a.0.cmp(&b.0));
        parts.dedup_by(|next, sum| {
            let same = next.0 == sum.0;
            if same {
                sum.1 += next.1;
            }
            same
        });
        Some(parts)
    }

    /// Covariance of two quantities; infinite where one of them is not determined.
    pub fn covariance(&self, one: &Functional, other: &Functional) -> f64 {
        let Some(((x, _), (y, _))) = self.vector(one).zip(self.vector(other)) else { return f64::INFINITY };
        dot(&x, &y) + self.errors().lips_left_m2(self.lip_variance_m, &one.lips, &other.lips)
    }

    /// Correlations of parameters, by their places among them, with each other and with quantities: of all that have a standard deviation,
    /// in the order given, parameters first, the matrix by rows. Quantities that are not determined are left out too.
    pub fn correlations(&self, parameters: &[usize], quantities: &[&Functional]) -> Vec<Correlated> {
        let named = parameters.iter().filter_map(|&i| {
            let (vector, _) = self.parameter_vector(self.parameters.get(i)?);
            Some((Figure::Parameter(i), vector, &[][..], 0.0))
        });
        let figures = quantities.iter().enumerate().filter_map(|(i, quantity)| {
            let (vector, extra) = self.vector(quantity)?;
            Some((Figure::Quantity(i), vector, &quantity.lips[..], extra))
        });
        let all = named.chain(figures).map(|(figure, vector, lips, extra)| {
            let sd = (dot(&vector, &vector) + extra).sqrt();
            (figure, vector, lips, sd)
        });
        let all: Vec<_> = all.filter(|(_, _, _, sd)| *sd > 0.0).collect();
        let coordinates = self.errors();
        let mut rows = Vec::new();
        for (i, (first, x, first_lips, first_sd)) in all.iter().enumerate() {
            for (second, y, second_lips, second_sd) in all.iter().skip(i + 1) {
                let covariance = dot(x, y) + coordinates.lips_left_m2(self.lip_variance_m, first_lips, second_lips);
                let correlation = (covariance / (first_sd * second_sd)).clamp(-1.0, 1.0);
                rows.push(Correlated { first: *first, second: *second, sds: [*first_sd, *second_sd], correlation });
            }
        }
        rows
    }

    /// Covariance of the heights at stations, m, relative to what the anchor says, each pair once, but for stations beyond the profile;
    /// nothing where the anchor's is not determined. The variance of a fall from a to b is that of a, plus that of b, less twice that of the two.
    pub fn height_covariance(
        &self,
        layout: &Layout,
        profile: &Profile,
        anchor: Anchor,
        station_m: &[f64],
    ) -> Vec<HeightCovariance> {
        let shape = self.shape(layout, profile);
        let (first_m, last_m) = profile.range().unwrap_or_default();
        let height = |s: &f64| match anchor {
            Anchor::Station(at_m) => shape.fall(at_m.max(first_m).min(last_m), *s).times(-1.0),
            Anchor::Datum => shape.elevation(*s),
        };
        let of = |s: &f64| {
            let whole = height(s);
            let mut tilts = shape.nothing();
            tilts.tilt = shape.height(*s).tilt;
            Some((self.vector(&whole)?.0, whole.lips, self.vector(&tilts)?.0))
        };
        let inside = station_m.iter().enumerate().filter(|(_, s)| (first_m..=last_m).contains(*s));
        let all = inside.map(|(i, s)| Some((i, of(s)?))).collect::<Option<Vec<_>>>();
        let Some(all) = all else { return Vec::new() };
        let coordinates = self.errors();
        let mut rows = Vec::new();
        for (at, (first, (x, x_lips, x_tilts))) in all.iter().enumerate() {
            for (second, (y, y_lips, y_tilts)) in all.iter().skip(at) {
                let lips = coordinates.lips_left_m2(self.lip_variance_m, x_lips, y_lips);
                let (covariance_m2, by_tilts_m2) = (dot(x, y) + lips, dot(x_tilts, y_tilts));
                rows.push(HeightCovariance { first: *first, second: *second, covariance_m2, by_tilts_m2 });
            }
        }
        rows
    }

    /// The fall that [`Posterior::fall`] estimates, as a quantity.
    pub fn fall_quantity(&self, layout: &Layout, profile: &Profile, flow: Flow, from_m: f64, to_m: f64) -> Functional {
        self.shape(layout, profile).fall(from_m, to_m).along(flow)
    }

    /// The slope that [`Posterior::slope`] estimates, as a quantity.
    pub fn slope_quantity(
        &self,
        layout: &Layout,
        profile: &Profile,
        flow: Flow,
        one_m: f64,
        other_m: f64,
    ) -> Option<Functional> {
        Some(self.shape(layout, profile).slope(one_m, other_m)?.along(flow))
    }
}

/// What is correlated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Figure {
    /// A parameter, by its place among those of the posterior.
    Parameter(usize),
    /// A quantity, by its place among those given.
    Quantity(usize),
}

/// How two figures hang together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Correlated {
    /// One of them.
    pub first: Figure,
    /// The other.
    pub second: Figure,
    /// Their standard deviations.
    pub sds: [f64; 2],
    /// Correlation of their errors, -1 to 1.
    pub correlation: f64,
}

#[cfg(test)]
#[path = "budget_tests.rs"]
mod tests;
