//! Two posteriors whose heads had one zero error.
//!
//! Given the zero error z, what two surveys say is independent. Of a quantity f of survey i, f = f(i) + b(i) (z - z(i)) + rest, with b(i)
//! the covariance of f and z over the variance v(i) of z there. The zero itself has what both say of it, and its prior once:
//! 1/v = 1/v(1) + 1/v(2) - 1/v0, v0 the prior that the second survey had. Each quantity then has the variance of its rest and b(i)² v, and
//! a difference has the variance of both rests and (b(2) - b(1))² v: what the zero does to both alike falls out.

use super::{Estimate, Functional, Parameter, Posterior, ZERO, basis::dot, functional::Shape};
#[cfg(not(feature = "std"))]
use crate::math::Real as _;
use crate::{path::Layout, profile::Profile};

/// A zero error is known exactly where less than this share of its standard deviation is left.
const EXACT: f64 = 1e-12;

/// What two surveys have in common beside the pipe.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Shared {
    /// Nothing: different heads, or a head that was repaired, dropped or set anew between them.
    #[default]
    Nothing,
    /// The zero error: one head, used and set up alike, with nothing done to it between them.
    Zero,
}

/// A survey as it lies.
#[derive(Debug, Clone, Copy)]
pub struct Surveyed<'a> {
    /// Its posterior.
    pub posterior: &'a Posterior,
    /// Its layout.
    pub layout: &'a Layout,
    /// The profile of its best estimate.
    pub profile: &'a Profile,
}

/// A quantity split into what the zero does and the rest.
struct Split {
    value: f64,
    rest: f64,
    by_zero: f64,
}

impl<'a> Surveyed<'a> {
    fn shape(&self) -> Shape<'a> {
        self.posterior.shape(self.layout, self.profile)
    }

    /// Slope between two stations, positive down towards growing station.
    pub fn slope(&self, from_m: f64, to_m: f64) -> Option<Functional> {
        self.shape().slope(from_m, to_m)
    }

    /// Height at a station above that at another, m.
    pub fn height(&self, station_m: f64, above_m: f64) -> Functional {
        self.shape().fall(station_m, above_m)
    }

    /// Elevation at a station, m; `None` where it is not determined.
    pub fn elevation(&self, station_m: f64) -> Option<Functional> {
        let mut elevation = self.shape().elevation(station_m);
        elevation.value += self.posterior.first().elevation_m?;
        Some(elevation)
    }

    fn split(&self, quantity: &Functional, shared: Shared) -> Split {
        let whole = self.posterior.estimate(quantity);
        let independent = Split { value: whole.value, rest: whole.sd * whole.sd, by_zero: 0.0 };
        let Some(zero) = self.posterior.zero_parameter().filter(|_| shared == Shared::Zero) else { return independent };
        let Some((x, extra)) = self.posterior.vector(quantity) else { return independent };
        let (z, before) = self.posterior.parameter_vector(zero);
        let variance = dot(&z, &z);
        // Of what a tie holds exactly a rounding is left, and no derivative by it.
        if variance <= EXACT * EXACT * before || variance <= 0.0 {
            return independent;
        }
        let by_zero = dot(&x, &z) / variance;
        let rest: f64 = x.iter().zip(&z).map(|(x, z)| x - by_zero * z).map(|r| r * r).sum();
        Split { value: whole.value, rest: rest + extra, by_zero }
    }
}

/// A quantity in two surveys, and what changed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Change {
    /// In the first survey, with what the second says of a shared zero.
    pub before: Estimate,
    /// In the second, with what the first says of it.
    pub after: Estimate,
    /// The second less the first.
    pub change: Estimate,
}

/// A quantity of the first survey beside the same of the second: with one zero error, both have what either says of it, so that the
/// change is the difference of the two values, and less uncertain than they are.
pub fn change(
    (before, of_before): (&Surveyed<'_>, &Functional),
    (after, of_after): (&Surveyed<'_>, &Functional),
    shared: Shared,
) -> Change {
    let (one, other) = (before.split(of_before, shared), after.split(of_after, shared));
    let by_itself = Change {
        before: Estimate::new(one.value, one.rest.max(0.0).sqrt()),
        after: Estimate::new(other.value, other.rest.max(0.0).sqrt()),
        change: Estimate::new(other.value - one.value, (one.rest + other.rest).max(0.0).sqrt()),
    };
    let zeros = before.posterior.parameter(ZERO).zip(after.posterior.parameter(ZERO));
    let Some((first, second)) = zeros.filter(|_| shared == Shared::Zero) else { return by_itself };
    let (zero, zero_variance) = in_common(first, second);
    let with_zero = |split: &Split, own: f64| {
        let variance = split.rest + split.by_zero * split.by_zero * zero_variance;
        Estimate::new(split.value + split.by_zero * (zero - own), variance.max(0.0).sqrt())
    };
    let (was, is) = (with_zero(&one, first.value), with_zero(&other, second.value));
    let apart = other.by_zero - one.by_zero;
    let variance = one.rest + other.rest + apart * apart * zero_variance;
    Change { before: was, after: is, change: Estimate::new(is.value - was.value, variance.max(0.0).sqrt()) }
}

/// The zero error that two surveys had in common, and its variance: what both say of it, the prior of the first once. What one of
/// them has exactly it has.
fn in_common(first: &Parameter, second: &Parameter) -> (f64, f64) {
    let exactly = |zero: &Parameter| zero.sd <= EXACT * zero.prior_sd;
    if exactly(first) || exactly(second) {
        return (if exactly(first) { first.value } else { second.value }, 0.0);
    }
    let precision = |sd: f64| if sd > 0.0 { 1.0 / (sd * sd) } else { 0.0 };
    let (known, more, prior) = (precision(first.sd), precision(second.sd), precision(second.prior_sd));
    // The second says nothing where it is no surer than before, or by a rounding less sure.
    let told = more - prior;
    if told <= 0.0 {
        return (first.value, 1.0 / known);
    }
    let both = known + told;
    ((known * first.value + more * second.value - prior * second.prior) / both, 1.0 / both)
}
