//! What draws say of the part of each tilt that is its own.

use alloc::sync::Arc;

use crate::prelude::*;
use crate::{
    chain::{Averaged, Runs},
    math,
};

/// Draws that are gone through side by side.
const LANES: usize = 8;

/// Draws of the tilts of cells, of which only the departures from their mean count.
#[derive(Debug, Clone, PartialEq)]
pub struct Scatter {
    mean_rad: Arc<[f64]>,
    /// What is added to the tilts of all draws.
    moved_rad: Vec<f64>,
    draws: Arc<Runs>,
}

impl Scatter {
    pub(super) fn new(averaged: &Averaged, moved_rad: Vec<f64>) -> Self {
        Self { mean_rad: averaged.mean_rad.as_slice().into(), moved_rad, draws: Arc::new(averaged.draws.clone()) }
    }

    /// Puts the tilts of the cells in a draw into `tilt_rad`, with what is there already added; draws begin anew after the last.
    ///
    /// Cells of one run with one thing added have one tilt to the last bit: that saves its sine for each.
    pub(super) fn put(&self, draw: u32, tilt_rad: &mut [f64]) {
        let Some(draw) = (draw as usize).checked_rem(self.draws.len()) else { return };
        let cells = tilt_rad.len();
        let mut runs = self.draws.of(draw).peekable();
        while let Some((first, tilt)) = runs.next() {
            let end = runs.peek().map_or(cells, |next| next.0).min(cells);
            let run = (tilt_rad.get_mut(first..end), self.moved_rad.get(first..end));
            let (Some(into), Some(moved)) = run else { continue };
            for (into, moved) in into.iter_mut().zip(moved) {
                *into = tilt + (moved + *into);
            }
        }
    }

    /// Departures of the cells in a draw from their means, rad; none of a draw that is not there.
    fn depart<'a>(&self, draw: usize, departures: impl ExactSizeIterator<Item = &'a mut f64>) {
        let cells = departures.len();
        let mut into = departures.zip(self.mean_rad.iter());
        let mut runs = self.draws.of(draw).peekable();
        while let Some((first, tilt)) = runs.next() {
            let end = runs.peek().map_or(cells, |next| next.0).min(cells);
            for (into, mean) in into.by_ref().take(end.saturating_sub(first)) {
                *into = tilt - mean;
            }
        }
        into.for_each(|(into, _)| *into = 0.0);
    }

    /// Number of draws.
    pub(super) fn len(&self) -> usize {
        self.draws.len()
    }

    /// Variance of the sum of all tilts, each times its entry of `gradient`.
    pub(super) fn variance(&self, gradient: &[f64]) -> f64 {
        let mut squares = 0.0;
        self.each_sum(gradient, |_, departure| squares += departure * departure);
        squares / (self.draws.len().max(1) as f64)
    }

    /// That sum's departure from its mean in each draw, over the square root of their number, into the first entries of `into`: the
    /// squares of these add up to the variance.
    pub(super) fn project(&self, gradient: &[f64], into: &mut [f64]) {
        let root = (self.draws.len().max(1) as f64).sqrt();
        self.each_sum(gradient, |draw, departure| {
            if let Some(x) = into.get_mut(draw) {
                *x = departure / root;
            }
        });
    }

    /// Visits the departure of a sum of tilts from its mean in each draw. What it takes goes by the cells from the first to the last
    /// entry that is not 0.
    fn each_sum(&self, gradient: &[f64], mut visit: impl FnMut(usize, f64)) {
        let Some(low) = gradient.iter().position(|g| *g != 0.0) else { return };
        let high = gradient.iter().rposition(|g| *g != 0.0).map_or(low, |last| last + 1);
        let within = &gradient[low..high];
        // Sums of the gradient up to each cell, so that a run takes one difference.
        let mut sums = Vec::with_capacity(within.len() + 1);
        let mut sum = 0.0;
        sums.push(0.0);
        for g in within {
            sum += g;
            sums.push(sum);
        }
        let mean = math::dot(within, self.mean_rad.get(low..).unwrap_or_default());
        let sum_to = |cell: u32| sums[(cell as usize).saturating_sub(low).min(within.len())];
        for draw in 0..self.draws.len() {
            let (first, tilt) = self.draws.slices_within(draw, low..high);
            let (mut value, mut begun, mut before) = (-mean, 0.0, 0.0);
            for (first, tilt) in first.iter().zip(tilt) {
                let here = sum_to(*first);
                value += before * (here - begun);
                (begun, before) = (here, *tilt);
            }
            visit(draw, value + before * (sum - begun));
        }
    }

    /// Covariance of the tilts of two cells, rad2.
    pub(super) fn covariance(&self, first: usize, second: usize) -> f64 {
        let mean = |cell: usize| self.mean_rad.get(cell).copied();
        let Some((first_mean, second_mean)) = mean(first).zip(mean(second)) else { return 0.0 };
        let tilt =
            |draw: usize, cell: usize| self.draws.within(draw, cell..cell + 1).next().map_or(0.0, |(_, tilt)| tilt);
        let products: f64 =
            (0..self.draws.len()).map(|d| (tilt(d, first) - first_mean) * (tilt(d, second) - second_mean)).sum();
        products / (self.draws.len().max(1) as f64)
    }

    /// For each of a row of sums that grow by `steps` (cells and their coefficients), its variance, and its products with the first
    /// coordinates of each of `vectors`.
    pub(super) fn growing(&self, steps: &[[(usize, f64); 2]], vectors: &[Vec<f64>]) -> (Vec<f64>, Vec<Vec<f64>>) {
        let count = self.draws.len().max(1) as f64;
        let mut squares = vec![[0.0; LANES]; steps.len()];
        let mut products = vec![vec![0.0; vectors.len()]; steps.len()];
        // Draws side by side, since one sum waits for the one before.
        let mut departures = vec![[0.0; LANES]; self.mean_rad.len()];
        let mut along = vec![vec![0.0; vectors.len()]; LANES];
        for first in (0..self.draws.len()).step_by(LANES) {
            for (lane, along) in along.iter_mut().enumerate() {
                self.depart(first + lane, departures.iter_mut().map(|lanes| &mut lanes[lane]));
                let entry = |q: &Vec<f64>| q.get(first + lane).copied().unwrap_or(0.0) / count.sqrt();
                along.iter_mut().zip(vectors).for_each(|(into, q)| *into = entry(q));
            }
            let mut sum = [0.0; LANES];
            for ((square, product), step) in squares.iter_mut().zip(&mut products).zip(steps) {
                for (cell, coefficient) in step.iter().filter(|(_, coefficient)| *coefficient != 0.0) {
                    let Some(departures) = departures.get(*cell) else { continue };
                    sum.iter_mut().zip(departures).for_each(|(sum, d)| *sum += coefficient * d);
                }
                square.iter_mut().zip(&sum).for_each(|(square, sum)| *square += sum * sum);
                for (along, sum) in along.iter().zip(&sum) {
                    product.iter_mut().zip(along).for_each(|(p, q)| *p += q * sum);
                }
            }
        }
        (squares.iter().map(|square| math::sum(square) / count).collect(), products)
    }

    /// Departures from the mean, weighted by coordinates, for each cell: what the coordinates move.
    pub(super) fn combine(&self, coordinates: &[f64], cells: &mut [f64]) {
        let root = (self.draws.len().max(1) as f64).sqrt();
        // Each run of cells of one tilt adds at its first cell what it has more than the run before.
        let mut added = vec![0.0; cells.len()];
        let mut whole = 0.0;
        for (draw, q) in coordinates.iter().enumerate().take(self.draws.len()) {
            let share = q / root;
            whole += share;
            let mut before = 0.0;
            for (first, tilt) in self.draws.of(draw) {
                if let Some(a) = added.get_mut(first) {
                    *a += share * (tilt - before);
                }
                before = tilt;
            }
        }
        let mut sum = 0.0;
        for ((cell, added), mean) in cells.iter_mut().zip(&added).zip(self.mean_rad.iter()) {
            sum += added;
            *cell += sum - whole * mean;
        }
    }
}
