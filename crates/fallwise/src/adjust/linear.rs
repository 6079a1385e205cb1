//! Least squares in tilts without a prior and shared errors with one: the tilts eliminated.
//!
//! Observation i of tilt k is y = t(k) + Σ_p a(i,p) θ(p) + e, with weight w = 1/var(e). With ā(k,p) and ȳ(k) the weighted means over the
//! observations of tilt k, what is left for the shared errors θ is
//!
//! M = Σ_i w (a - ā)(a - ā)ᵀ,  y = Σ_i w (a - ā)(y - ȳ),  C = P (I + M P)⁻¹,  θ = θ0 + C (y - M θ0)
//!
//! (P prior, C posterior covariance; Koch, *Parameter Estimation and Hypothesis Testing in Linear Models*, 1999, §3.2). In this form P
//! may be singular: what is known exactly is held exactly. Centred as it is, a tilt with one observation adds nothing but the square
//! of a rounding, however large its weight.

use crate::prelude::*;
use nalgebra::DMatrix;

/// What is said of one tilt.
#[derive(Debug, Clone)]
pub(super) struct Observation {
    /// Which tilt.
    pub(super) tilt: usize,
    pub(super) value: f64,
    /// 1 over the variance of its own error.
    pub(super) weight: f64,
    /// Shared errors that are in it, with their factors; a factor of 0 is none.
    pub(super) shared: Vec<(usize, f64)>,
}

/// Estimates: tilts, and shared errors with a factor L of their covariance, C = L Lᵀ.
#[derive(Debug)]
pub(super) struct Solution {
    pub(super) tilt: Vec<f64>,
    /// Sum of the weights of each tilt.
    pub(super) weight: Vec<f64>,
    /// What moves each tilt when a shared error moves: the factors, to be taken off.
    pub(super) mean_factor: Vec<Vec<(usize, f64)>>,
    pub(super) shared: Vec<f64>,
    pub(super) factor: DMatrix<f64>,
    /// C itself.
    pub(super) covariance: DMatrix<f64>,
    /// (I + P M)⁻¹: what is left of an error that the shared errors had before, so that θ - θ̂ = (I + P M)⁻¹ (θ - θ0) - C Σ w (a - ā) e.
    pub(super) left: DMatrix<f64>,
}

/// `None` where the weights are so unequal that rounding loses the prior.
pub(super) fn solve(
    tilts: usize,
    observations: &[Observation],
    prior_mean: &[f64],
    prior: &DMatrix<f64>,
) -> Option<Solution> {
    let p = prior_mean.len();
    let mut of_tilt: Vec<Vec<&Observation>> = vec![Vec::new(); tilts];
    for o in observations {
        of_tilt.get_mut(o.tilt)?.push(o);
    }
    let mut normal: DMatrix<f64> = DMatrix::zeros(p, p);
    let mut right = vec![0.0; p];
    let mut weight = vec![0.0; tilts];
    let mut mean_value = vec![0.0; tilts];
    let mut mean_factor = vec![Vec::new(); tilts];
    for (k, seen) in of_tilt.iter().enumerate() {
        let sum: f64 = seen.iter().map(|o| o.weight).sum();
        let mut touched: Vec<usize> = seen.iter().flat_map(|o| &o.shared).filter(|s| s.1 != 0.0).map(|s| s.0).collect();
        touched.sort_unstable();
        touched.dedup();
        let factor = |o: &Observation, q: usize| o.shared.iter().filter(|s| s.0 == q).map(|s| s.1).sum::<f64>();
        let mean = |of: &dyn Fn(&Observation) -> f64| seen.iter().map(|o| o.weight * of(o)).sum::<f64>() / sum;
        weight[k] = sum;
        mean_value[k] = mean(&|o| o.value);
        mean_factor[k] = touched.iter().map(|&q| (q, mean(&|o| factor(o, q)))).collect();
        if seen.len() < 2 {
            continue;
        }
        for o in seen {
            let off: Vec<(usize, f64)> = mean_factor[k].iter().map(|&(q, a)| (q, factor(o, q) - a)).collect();
            for &(q, a) in &off {
                right[q] += o.weight * a * (o.value - mean_value[k]);
                for &(j, b) in &off {
                    normal[(q, j)] += o.weight * a * b;
                }
            }
        }
    }
    // Products are written out: nalgebra's dynamic product picks its kernel by CPU.
    let system = DMatrix::from_fn(p, p, |i, j| {
        let product: f64 = (0..p).map(|q| normal[(i, q)] * prior[(q, j)]).sum();
        product + if i == j { 1.0 } else { 0.0 }
    });
    // (I + M P) has eigenvalues of at least 1, but its entries may be so large that rounding loses them.
    let inverse = system.lu().try_inverse()?;
    let covariance = DMatrix::from_fn(p, p, |i, j| (0..p).map(|q| prior[(i, q)] * inverse[(q, j)]).sum::<f64>());
    let shift: Vec<f64> =
        (0..p).map(|i| right[i] - (0..p).map(|j| normal[(i, j)] * prior_mean[j]).sum::<f64>()).collect();
    let shared: Vec<f64> =
        (0..p).map(|i| prior_mean[i] + (0..p).map(|j| covariance[(i, j)] * shift[j]).sum::<f64>()).collect();
    let tilt = mean_value
        .iter()
        .zip(&mean_factor)
        .map(|(value, factors)| value - factors.iter().map(|&(q, a)| a * shared[q]).sum::<f64>())
        .collect();
    Some(Solution {
        tilt,
        weight,
        mean_factor,
        shared,
        factor: semidefinite_factor(&covariance),
        covariance,
        left: inverse.transpose(),
    })
}

impl Solution {
    /// By how much each tilt moves for one standard deviation of the j-th independent shared error.
    pub(super) fn moved_by(&self, j: usize) -> Vec<f64> {
        let moved = |factors: &Vec<(usize, f64)>| -factors.iter().map(|&(q, a)| a * self.factor[(q, j)]).sum::<f64>();
        self.mean_factor.iter().map(moved).collect()
    }

    /// What of each shared error an observation has beyond the mean of its tilt.
    pub(super) fn off_mean(&self, o: &Observation) -> Vec<(usize, f64)> {
        let factor = |q: usize| o.shared.iter().filter(|s| s.0 == q).map(|s| s.1).sum::<f64>();
        self.mean_factor[o.tilt].iter().map(|&(q, a)| (q, factor(q) - a)).collect()
    }

    /// Standard deviation of a shared error.
    pub(super) fn sd(&self, shared: usize) -> f64 {
        (0..self.shared.len()).map(|j| self.factor[(shared, j)] * self.factor[(shared, j)]).sum::<f64>().sqrt()
    }
}

/// Lower factor L with L Lᵀ = A for a positive semidefinite A; a pivot that is nothing but rounding gives a zero column.
fn semidefinite_factor(a: &DMatrix<f64>) -> DMatrix<f64> {
    let n = a.nrows();
    let mut l = DMatrix::zeros(n, n);
    for j in 0..n {
        let pivot = a[(j, j)] - (0..j).map(|q| l[(j, q)] * l[(j, q)]).sum::<f64>();
        // n roundings of what it was; below that the pivot carries no information.
        if pivot <= a[(j, j)].max(0.0) * f64::EPSILON * n as f64 {
            continue;
        }
        l[(j, j)] = pivot.sqrt();
        for i in j + 1..n {
            // Mean of both triangles: the product above is symmetric only to rounding.
            let entry = 0.5 * (a[(i, j)] + a[(j, i)]);
            l[(i, j)] = (entry - (0..j).map(|q| l[(i, q)] * l[(j, q)]).sum::<f64>()) / l[(j, j)];
        }
    }
    l
}

#[cfg(test)]
#[path = "linear_tests.rs"]
mod tests;
