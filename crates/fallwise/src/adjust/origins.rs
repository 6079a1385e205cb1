//! What the independent errors of a posterior are made of: the errors as they enter.
//!
//! The errors that setups share are left by the readings with a covariance C = L Lᵀ, whose columns are the posterior's sources: they are
//! independent, but the first holds zero *and* seating, and where several setups saw a segment the noise of their readings too. With
//! u the unit errors as they enter (the zero, each seating, what rounding leaves in each offset, each drift, the error across the axis,
//! the error of each mean), `linear` says what is left of the shared errors: θ - θ̂ = (I + P M)⁻¹ (θ - θ0) - C Σ w (a - ā) e = A u, and A Aᵀ
//! = C. So the sources are z = T u with L T = A, and the rows of T are orthonormal: what a quantity has in z it has in u by Tᵀ, with the
//! same length. The same goes for each segment's own error, -Σ √(w/W) u over its means, and for what of the zero no reading tells.

use super::{
    Zero,
    basis::{dot, norm},
    budget::{Cause, Parts},
    linear::{Observation, Solution},
    shared::Errors,
};
use crate::prelude::*;

/// Of a row less than this is left when what it has in common with those before it is taken off: then it is nothing but roundings.
/// Rows are of length 1.
const ROUNDINGS: f64 = 1e-3;

/// What errors are made of.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Origins {
    /// What each error as it enters is of, with shares that add up to 1.
    parts: Vec<Parts>,
    /// What each source has of them.
    sources: Vec<Vec<f64>>,
    /// What has of them each error of a parameter that no reading tells.
    untold: Vec<Vec<f64>>,
    /// What each segment's own error has of them.
    own: Vec<Vec<(usize, f64)>>,
}

impl Origins {
    /// `means` says what the error of each observation is of; `kept` and `untold` are the columns of L that move tilts and those that do
    /// not.
    pub(super) fn of(
        errors: &Errors<'_>,
        (observations, means): (&[Observation], Vec<Parts>),
        solved: &Solution,
        (kept, untold): (&[usize], &[usize]),
        zero: &Zero,
    ) -> Self {
        let (mut parts, prior) = errors.as_they_enter();
        let first_mean = parts.len();
        parts.extend(means);
        let mut rows = rows(solved, &prior, observations);
        let mut settled: Vec<Vec<f64>> = Vec::new();
        let mut settle = |row: Vec<f64>, cause: Cause| {
            let row = orthonormal(row, &settled).unwrap_or_else(|| {
                // Nothing but roundings: an error by itself.
                parts.push(vec![(cause, 1.0)]);
                let mut by_itself = vec![0.0; parts.len()];
                by_itself.iter_mut().rev().take(1).for_each(|x| *x = 1.0);
                by_itself
            });
            settled.push(row.clone());
            row
        };
        for j in (0..rows.len()).filter(|j| kept.contains(j) || untold.contains(j)) {
            rows[j] = settle(core::mem::take(&mut rows[j]), errors.cause(j));
        }
        let own_zero = settle(errors.zero_row(zero), Cause::Zero);
        let sources = kept.iter().map(|j| rows[*j].clone()).collect();
        let untold = untold.iter().map(|j| rows[*j].clone()).chain([own_zero]).collect();
        let mut own = vec![Vec::new(); solved.weight.len()];
        for (i, o) in observations.iter().enumerate() {
            own[o.tilt].push((first_mean + i, -(o.weight / solved.weight[o.tilt]).sqrt()));
        }
        Self { parts, sources, untold, own }
    }

    /// Variances by cause: of a vector in the segments' own errors (none of them where segments were found), the sources that these
    /// are the origins of, and what no reading tells.
    pub(super) fn variances(&self, own: &[f64], sources: &[f64], untold: &[f64]) -> Parts {
        let mut entering = vec![0.0; self.parts.len()];
        for (x, made) in own.iter().zip(&self.own) {
            for (i, share) in made {
                entering[*i] += x * share;
            }
        }
        let shared = sources.iter().zip(&self.sources).chain(untold.iter().zip(&self.untold));
        for (x, row) in shared {
            entering.iter_mut().zip(row).for_each(|(u, share)| *u += x * share);
        }
        let of = entering.iter().zip(&self.parts);
        of.flat_map(|(u, parts)| parts.iter().map(move |(cause, share)| (cause.clone(), u * u * share))).collect()
    }

    /// Number of sources that it says something of.
    pub(super) fn sources(&self) -> usize {
        self.sources.len()
    }
}

/// The rows of T, L T = A, from above; none for a column of L that holds nothing.
fn rows(solved: &Solution, prior: &[Vec<f64>], observations: &[Observation]) -> Vec<Vec<f64>> {
    let count = solved.shared.len();
    let mut rows: Vec<Vec<f64>> = Vec::with_capacity(count);
    for j in 0..count {
        let pivot = solved.factor[(j, j)];
        if pivot == 0.0 {
            rows.push(Vec::new());
            continue;
        }
        // Row j of A.
        let before = prior.iter().map(|column| (0..count).map(|i| solved.left[(j, i)] * column[i]).sum::<f64>());
        let read = observations.iter().map(|o| {
            let off = solved.off_mean(o).into_iter();
            -o.weight.sqrt() * off.map(|(q, a)| solved.covariance[(j, q)] * a).sum::<f64>()
        });
        let mut row: Vec<f64> = before.chain(read).collect();
        for (q, above) in rows.iter().enumerate() {
            let factor = solved.factor[(j, q)];
            row.iter_mut().zip(above).for_each(|(x, t)| *x -= factor * t);
        }
        for x in &mut row {
            *x /= pivot;
        }
        rows.push(row);
    }
    rows
}

/// A row made orthonormal to those before it, from which only roundings set it apart; nothing where it is nothing but these.
fn orthonormal(mut row: Vec<f64>, before: &[Vec<f64>]) -> Option<Vec<f64>> {
    for _ in 0..2 {
        for q in before {
            let along = dot(&row, q);
            row.iter_mut().zip(q).for_each(|(x, q)| *x -= along * q);
        }
    }
    let length = norm(&row);
    if !(length.is_finite() && length > ROUNDINGS) {
        return None;
    }
    for x in &mut row {
        *x /= length;
    }
    Some(row)
}
