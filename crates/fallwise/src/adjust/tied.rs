//! What ties leave of the errors: the posterior after them.
//!
//! In independent unit errors ([`Coordinates`](super::coordinates)) the ties are so many products with the error vector that are
//! known. What is left of the errors is what is at right angles to all of them: the variance of a quantity is the square of the part of
//! its vector that no combination of ties reaches. Nothing is subtracted from a variance (but in `heights`, where that leaves six
//! digits), so that what holds exactly has a standard deviation of 0, and what is known to a micrometre out of metres keeps its digits.
//!
//! Elevation, position and azimuth of the first node have no prior. Each is taken from one tie, the surest that speaks of it, and put
//! into the others (a diffuse prior in the limit: Koopman, *Journal of the American Statistical Association* 92, 1997).

use super::{
    Functional, Posterior,
    basis::{Basis, dot, norm},
    coordinates::Coordinates,
};
use crate::prelude::*;

/// A share of one of the open unknowns below this is a rounding.
const ROUNDING: f64 = 1e-9;

/// Of the variance of a tilt at least this share is left where it is had by a difference, which then keeps thirteen digits.
const LEFT_OF_TILT: f64 = 1e-3;

/// One of the open unknowns, taken from a tie.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Pivot {
    /// Which.
    pub(super) open: usize,
    /// The equation it is taken from.
    pub(super) equation: usize,
    /// That equation, those before it put in.
    pub(super) vector: Vec<f64>,
    pub(super) by_open: [f64; Functional::OPEN],
}

/// Where the first node is, as far as it is known.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct First {
    /// Elevation of the invert, m.
    pub elevation_m: Option<f64>,
    /// East and north, m.
    pub plan_m: Option<[f64; 2]>,
    /// Azimuth along growing station, rad.
    pub azimuth_rad: Option<f64>,
}

/// The errors that ties leave.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Tied {
    pub(super) coordinates: Coordinates,
    pub(super) pivots: Vec<Pivot>,
    pub(super) basis: Basis,
    /// By how much the ties moved each tilt, rad.
    pub(super) moved_rad: Vec<f64>,
    /// What each vector of the basis moves: tilts, scale, steps.
    pub(super) gain: Vec<Gain>,
    /// The shared coordinates that matter most for the fall of the whole: their draws are spread evenly.
    pub(super) even: Vec<usize>,
    pub(super) first: First,
    /// What lips at joints that nobody noted add up to, as the ties show it: stations, m, and how much lower they lie for it than the first, m.
    pub(super) lips_m: Vec<(f64, f64)>,
}

/// What an error moves.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Gain {
    pub(super) tilt_rad: Vec<f64>,
    pub(super) scale: f64,
    pub(super) step_m: Vec<f64>,
}

impl Tied {
    /// What lips add up to at a station, m, in between its share.
    pub(super) fn lips_at_m(&self, station_m: f64) -> f64 {
        let after = self.lips_m.partition_point(|(s, _)| *s < station_m);
        match (after.checked_sub(1).and_then(|i| self.lips_m.get(i)), self.lips_m.get(after)) {
            (Some(a), Some(b)) => a.1 + (b.1 - a.1) * ((station_m - a.0) / (b.0 - a.0)),
            (Some(end), None) | (None, Some(end)) => end.1,
            (None, None) => 0.0,
        }
    }

    /// Puts the open unknowns that are taken from ties into a vector; `None` where it depends on one that no tie gives.
    pub(super) fn closed_vector(&self, posterior: &Posterior, quantity: &Functional) -> Option<(Vec<f64>, f64)> {
        let (mut x, extra) = self.coordinates.of(posterior, quantity);
        let mut open = quantity.open;
        if posterior.datum.is_some() {
            open[Functional::ELEVATION] = 0.0;
        }
        let mut whole = open.map(f64::abs);
        for pivot in &self.pivots {
            let share = open[pivot.open] / pivot.by_open[pivot.open];
            if share != 0.0 {
                x.iter_mut().zip(&pivot.vector).for_each(|(x, v)| *x -= share * v);
                for ((left, whole), by) in open.iter_mut().zip(&mut whole).zip(&pivot.by_open) {
                    *left -= share * by;
                    *whole = whole.max((share * by).abs());
                }
                open[pivot.open] = 0.0;
            }
        }
        let determined = open.iter().zip(&whole).all(|(left, whole)| left.abs() <= ROUNDING * whole);
        determined.then_some((x, extra))
    }

    pub(super) fn variance(&self, posterior: &Posterior, quantity: &Functional) -> f64 {
        let Some((mut x, extra)) = self.closed_vector(posterior, quantity) else { return f64::INFINITY };
        self.basis.take_off(&mut x);
        dot(&x, &x) + extra
    }

    /// Variance of the tilt of a segment, of which it is known what its own error and the shared ones move it by: two or three
    /// coordinates, so that products with the basis are short. `None` where so little is left that a difference would lose digits.
    pub(super) fn tilt_variance(&self, segment: usize, own: f64, shared: &[f64]) -> Option<f64> {
        let begin = self.coordinates.shared();
        let along = |q: &Vec<f64>| {
            let of_shared = q.get(begin..).map_or(0.0, |q| dot(q, shared));
            q.get(segment).map_or(0.0, |q| q * own) + of_shared
        };
        let whole = own * own + dot(shared, shared);
        let taken: f64 = self.basis.vectors.iter().map(along).map(|along| along * along).sum();
        let left = whole - taken;
        (left >= LEFT_OF_TILT * whole).then_some(left)
    }

    /// The shared coordinates of which most is left of a vector after the ties, largest first.
    pub(super) fn largest(&self, vector: &[f64], count: usize) -> Vec<usize> {
        let mut left = vector.to_vec();
        self.basis.take_off(&mut left);
        let size = |i: &usize| left.get(*i).map_or(0.0, |x| x.abs());
        let mut order: Vec<usize> = (self.coordinates.shared()..self.coordinates.len()).collect();
        order.sort_by(|a, b| size(b).total_cmp(&size(a)).then(a.cmp(b)));
        order.truncate(count);
        order
    }

    /// Covariance of two quantities.
    pub(super) fn covariance(&self, posterior: &Posterior, one: &Functional, other: &Functional) -> f64 {
        let both = self.closed_vector(posterior, one).zip(self.closed_vector(posterior, other));
        let Some(((mut x, _), (mut y, _))) = both else { return f64::INFINITY };
        self.basis.take_off(&mut x);
        self.basis.take_off(&mut y);
        dot(&x, &y)
    }
}

/// Takes each open unknown from the surest equation that speaks of it and puts it into the others: columns, their factors of the
/// open unknowns and what they are to give are changed. `combined` says what was taken off each: which pivot, how many times.
pub(super) fn take_open(
    columns: &mut [Vec<f64>],
    by_open: &mut [[f64; Functional::OPEN]],
    given: &mut [f64],
) -> (Vec<Pivot>, Vec<Vec<(usize, f64)>>) {
    let mut pivots: Vec<Pivot> = Vec::new();
    let mut combined: Vec<Vec<(usize, f64)>> = vec![Vec::new(); columns.len()];
    for open in 0..Functional::OPEN {
        let whole = by_open.iter().map(|f| f[open].abs()).fold(0.0, f64::max);
        let free = |j: &usize| pivots.iter().all(|p| p.equation != *j);
        let spread = |j: &usize| norm(&columns[*j]) / by_open[*j][open].abs();
        // What was a rounding of an angle that others have given is none.
        let surest = (0..columns.len())
            .filter(free)
            .filter(|&j| by_open[j][open].abs() > ROUNDING * whole.max(1.0))
            .min_by(|a, b| spread(a).total_cmp(&spread(b)));
        let Some(equation) = surest else { continue };
        let pivot = Pivot { open, equation, vector: columns[equation].clone(), by_open: by_open[equation] };
        let value = given[equation];
        for j in (0..columns.len()).filter(free).filter(|j| *j != equation) {
            let share = by_open[j][open] / pivot.by_open[open];
            if share == 0.0 {
                continue;
            }
            columns[j].iter_mut().zip(&pivot.vector).for_each(|(x, v)| *x -= share * v);
            by_open[j].iter_mut().zip(&pivot.by_open).for_each(|(f, p)| *f -= share * p);
            by_open[j][open] = 0.0;
            given[j] -= share * value;
            combined[j].push((pivots.len(), share));
        }
        pivots.push(pivot);
    }
    (pivots, combined)
}
