//! Sums over all segmentations of the candidates, their means, and draws of them. The model is that of [`super::average`].

use super::{
    average::{Averaged, Averaging, Runs},
    candidates::{Candidate, Sums, candidates, ramps},
    fit::{FitOptions, default_penalty, fit},
};
use crate::prelude::*;
use crate::{
    error::Error,
    math::{self, Random},
};

/// Readings of less than this share of the largest weight say nothing, and would be lost in the sums of weights.
const LEAST_SHARE: f64 = 1e-9;
/// Evidence lost, in natural logarithms, from which a segment is left out: e^-40 of the best.
const HOPELESS: f64 = 40.0;
/// Grid points of less than this share of the greatest are left out of the draws.
const NEGLIGIBLE: f64 = 1e-3;
/// Numbers of breaks expected: this one, and each four times the one before.
const FEWEST_BREAKS: f64 = 1.0;
const BREAKS_STEP: f64 = 4.0;
/// Places of m0, in its standard deviations given tau.
const M0_NODES: [f64; 5] = [-2.0, -1.0, 0.0, 1.0, 2.0];
/// Least tau over noise, and how many doublings of it there may be.
const LEAST_TAU: f64 = 0.125;
const MOST_DOUBLINGS: u32 = 14;
/// Keeps the draws of segmentations apart from the other draws of the same seed.
const SEGMENTATION: u64 = 0x5e67_6d65_6e74_7321;
/// The golden ratio less one, whose multiples are spread most evenly.
const GOLDEN: f64 = 0.618_033_988_749_894_8;

/// What the readings say of each segment between two candidates.
#[derive(Debug, Default)]
struct Segments {
    /// Its likelihood with its own mean, against that of the optimum, with what the readings under the head at its end say.
    fit: Vec<f64>,
    mean: Vec<f64>,
    /// Variance of the mean.
    variance: Vec<f64>,
}

/// All segments between candidates.
pub(super) struct Table {
    candidates: Vec<Candidate>,
    /// The segments by the candidate that they end at, and where those of each candidate begin: in the order of the candidates that they
    /// begin at, which are neighbours, the last of them the one just before.
    segments: Segments,
    first: Vec<usize>,
    noise_sd: f64,
    /// Means of the optimum's segments and their variances.
    optimum: Vec<(f64, f64)>,
    readings: usize,
}

/// Breaks expected, and the evidence of that.
#[derive(Debug, Clone)]
struct Point {
    expected: f64,
    log_evidence: f64,
}

/// A mean and spread of the segments, with the evidence of every number of breaks.
#[derive(Debug, Clone)]
pub(super) struct Setting {
    m0: f64,
    tau2: f64,
    points: Vec<Point>,
}

/// Sums over all segmentations up to each candidate, each times e to the power of its base.
struct Forward {
    sums: Vec<f64>,
    base: Vec<f64>,
    /// From which candidate on all up to this one have its base.
    alike: Vec<usize>,
}

impl Table {
    pub(super) fn new(of: &Averaging<'_>) -> Result<Self, Error> {
        let largest = of.weight.iter().copied().fold(0.0, f64::max);
        let seen: Vec<usize> = (0..of.weight.len()).filter(|&i| of.weight[i] > LEAST_SHARE * largest).collect();
        let pick = |from: &[f64]| seen.iter().filter_map(|&i| from.get(i).copied()).collect::<Vec<f64>>();
        let (station, value, weight) = (pick(of.station_m), pick(of.tilt_rad), pick(of.weight));
        if seen.len() < 2 {
            return Err(Error::TooFew { field: "readings with weight".to_owned(), found: seen.len(), needed: 2 });
        }
        let hard: Vec<usize> = of.hard_breaks_m.iter().map(|at| station.partition_point(|s| s < at)).collect();
        let usual = default_penalty(seen.len());
        let options = |share: f64| FitOptions {
            noise_sd: Some(of.noise_sd_rad),
            penalty: Some(usual * share),
            ..FitOptions::default()
        };
        let best = fit(&value, &weight, &hard, &options(1.0))?;
        let finer = fit(&value, &weight, &hard, &options(1.0 / 3.0))?;

        let centre = math::median(&mut value.clone());
        let sums = Sums::new(station, value.iter().map(|v| v - centre).collect(), &weight);
        let noise_sd = best.noise_sd;
        // What of a mean's error does not average out over so much pipe.
        let lasting =
            |length_m: f64| of.rounding_sd_rad * of.rounding_sd_rad + math::wander_variance(of.wander_sd_rad, length_m);
        let n = seen.len();
        let ends = |starts: &[usize]| {
            starts.iter().copied().zip(starts.iter().skip(1).copied().chain([n])).collect::<Vec<_>>()
        };
        // The optimum's squares up to each reading: what every segment is measured against.
        let mut against = vec![0.0; n + 1];
        let mut optimum = Vec::new();
        let mut before = 0.0;
        for (a, b) in ends(&best.starts) {
            let (w, mean, _) = sums.of(a, b);
            let length_m = sums.station_m[b - 1] - sums.station_m[a];
            optimum.push((mean + centre, noise_sd * noise_sd / w + lasting(length_m)));
            for i in a..b {
                before += weight[i] * (sums.value[i] - mean) * (sums.value[i] - mean);
                against[i + 1] = before;
            }
        }
        let mut candidates = candidates(&sums, of, [&best.starts, &finer.starts], &hard);
        let half = 0.5 / (noise_sd * noise_sd);
        ramps(&mut candidates, &sums, &weight, &best.starts, &against, of.head_length_m, half);
        let mut segments = Segments::default();
        let mut first = vec![0, 0];
        for (j, to) in candidates.iter().enumerate().skip(1) {
            for (i, from) in candidates.iter().enumerate().take(j).rev() {
                // Clear of the head at both ends, where anything is.
                let (mut a, mut b) = (from.clear.1, to.clear.0);
                if a >= b {
                    (a, b) = (from.reading, to.reading);
                }
                let (w, mean, squares) = sums.of(a, b);
                let log_fit = -half * (squares - (against[b] - against[a]));
                if log_fit < -HOPELESS && i + 1 < j {
                    break;
                }
                segments.fit.push(math::exp(log_fit + to.log_ramp));
                segments.mean.push(mean + centre);
                segments.variance.push(noise_sd * noise_sd / w + lasting(to.station_m - from.station_m));
                if from.hard {
                    break;
                }
            }
            for column in [&mut segments.fit, &mut segments.mean, &mut segments.variance] {
                column[first[j]..].reverse();
            }
            first.push(segments.fit.len());
        }
        Ok(Self { candidates, segments, first, noise_sd, optimum, readings: n })
    }

    /// The grid with its evidences, the negligible left out.
    pub(super) fn grid(&self) -> Vec<Setting> {
        let mut taus = Vec::new();
        let means = || self.optimum.iter().map(|(m, _)| *m);
        let largest = means().fold(f64::NEG_INFINITY, f64::max) - means().fold(f64::INFINITY, f64::min);
        let mut tau = LEAST_TAU * self.noise_sd;
        for _ in 0..MOST_DOUBLINGS {
            taus.push(tau);
            tau *= 2.0;
            if tau > largest.max(self.noise_sd) {
                break;
            }
        }
        let mut breaks = vec![FEWEST_BREAKS];
        while let Some(next) = breaks.last().map(|b| b * BREAKS_STEP).filter(|b| *b <= self.readings as f64 / 8.0) {
            breaks.push(next);
        }
        // First the middle of m0 for every tau; then around it where that says anything.
        let middle: Vec<(f64, Setting)> = taus
            .iter()
            .map(|tau| {
                let tau2 = tau * tau;
                let precision: f64 = self.optimum.iter().map(|(_, v)| 1.0 / (tau2 + v)).sum();
                let m0 = self.optimum.iter().map(|(m, v)| m / (tau2 + v)).sum::<f64>() / precision;
                let sd = (1.0 / precision).sqrt();
                (sd, self.setting(m0, tau2, sd, &breaks))
            })
            .collect();
        let most = middle.iter().map(|m| m.1.most()).fold(f64::NEG_INFINITY, f64::max);
        let floor = math::ln(NEGLIGIBLE);
        let mut grid = Vec::new();
        for (sd, setting) in middle.into_iter().filter(|m| m.1.most() >= most + floor) {
            for node in M0_NODES.iter().filter(|node| **node != 0.0) {
                grid.push(self.setting(setting.m0 + node * sd, setting.tau2, sd, &breaks));
            }
            grid.push(setting);
        }
        let most = grid.iter().map(Setting::most).fold(f64::NEG_INFINITY, f64::max);
        for setting in &mut grid {
            setting.points.retain(|p| p.log_evidence >= most + floor);
        }
        grid.retain(|setting| !setting.points.is_empty());
        grid
    }

    /// One m0 and tau with the evidence of every number of breaks expected; `step` is what stands for dm0.
    fn setting(&self, m0: f64, tau2: f64, step: f64, breaks: &[f64]) -> Setting {
        let evidence = self.evidence(m0, tau2);
        let point = |&expected: &f64| {
            let log = self.forward(&evidence, expected).log_of(self.candidates.len() - 1);
            Point { expected, log_evidence: log - expected + math::ln(step) }
        };
        Setting { m0, tau2, points: breaks.iter().map(point).collect() }
    }

    /// Evidence of each segment, not as a logarithm, with what the readings under the head at its end say.
    fn evidence(&self, m0: f64, tau2: f64) -> Vec<f64> {
        let Segments { fit, mean, variance } = &self.segments;
        let exponent = |(mean, variance): (&f64, &f64)| {
            let off = mean - m0;
            -0.5 * off * off / (variance + tau2)
        };
        let mut evidence: Vec<f64> = mean.iter().zip(variance).map(exponent).collect();
        math::exp_each(&mut evidence);
        for ((e, fit), variance) in evidence.iter_mut().zip(fit).zip(variance) {
            *e = fit * *e * (variance / (variance + tau2)).sqrt();
        }
        evidence
    }

    /// Sums over all segmentations up to each candidate.
    fn forward(&self, evidence: &[f64], expected: f64) -> Forward {
        let count = self.candidates.len();
        let mut up_to = Forward { sums: vec![0.0; count], base: vec![0.0; count], alike: vec![0; count] };
        up_to.sums[0] = 1.0;
        for j in 1..count {
            let base = self.counting_from(j, &up_to);
            let (begins, evidence) = (self.begins(j), &evidence[self.range(j)]);
            let sum = if up_to.alike[j - 1] <= begins.start {
                math::dot(&up_to.sums[begins.clone()], evidence)
            } else {
                begins.clone().zip(evidence).map(|(i, e)| up_to.counted_from(base, i) * e).sum()
            };
            let here = &self.candidates[j];
            let prior = if here.hard { 1.0 } else { expected * here.share + here.odds };
            let sum = (sum * prior).max(f64::MIN_POSITIVE);
            (up_to.sums[j], up_to.base[j]) = (sum, base);
            // Far from where counting began: begin anew, unless it is this candidate alone that is out of the way.
            let near = 1e-100..1e100;
            if !near.contains(&sum) {
                let reach = begins.map(|i| up_to.counted_from(base, i)).fold(sum, f64::max);
                if !near.contains(&reach) {
                    (up_to.sums[j], up_to.base[j]) = (sum / reach, base + math::ln(reach));
                }
            }
            up_to.alike[j] = if up_to.base[j] == up_to.base[j - 1] { up_to.alike[j - 1] } else { j };
        }
        up_to
    }

    /// What the sums at a candidate are counted from: the base of the likeliest of those that its segments begin at. Counted from another,
    /// such as the nearest, which may be far out of the way, they could leave the range of numbers.
    fn counting_from(&self, j: usize, up_to: &Forward) -> f64 {
        let (begins, nearest) = (self.begins(j), up_to.base[j - 1]);
        // Nearly always the same.
        if up_to.alike[j - 1] <= begins.start {
            return nearest;
        }
        let likeliest = begins.rev().max_by(|a, b| up_to.log_of(*a).total_cmp(&up_to.log_of(*b)));
        likeliest.map_or(nearest, |from| up_to.base[from])
    }

    /// The segments that end at a candidate.
    fn range(&self, j: usize) -> core::ops::Range<usize> {
        self.first[j]..self.first[j + 1]
    }

    /// The candidates that they begin at.
    fn begins(&self, j: usize) -> core::ops::Range<usize> {
        j - self.range(j).len()..j
    }

    /// Means and draws.
    pub(super) fn drawn(&self, of: &Averaging<'_>, grid: &[Setting]) -> Averaged {
        let cells_m: Vec<f64> = self.candidates.iter().map(|c| c.station_m).collect();
        let cells = cells_m.len() - 1;
        let most = grid.iter().map(Setting::most).fold(f64::NEG_INFINITY, f64::max);
        let shares: Vec<f64> = grid.iter().flat_map(|s| &s.points).map(|p| math::exp(p.log_evidence - most)).collect();
        let total: f64 = shares.iter().sum();
        // Which draws are of which point: evenly, each point as often as its share.
        let mut ends = Vec::with_capacity(shares.len());
        shares.iter().fold(0.0, |sum, share| {
            ends.push(sum + share);
            sum + share
        });
        let begin = Random::new(of.seed, of.lateral, u32::MAX - 1).uniform();
        let mut members = vec![Vec::new(); shares.len()];
        for draw in 0..of.draws {
            let place = total * (begin + f64::from(draw) * GOLDEN).fract();
            members[ends.partition_point(|end| *end <= place).min(shares.len() - 1)].push(draw);
        }
        let mut averaged = Averaged {
            cells_m,
            mean_rad: vec![0.0; cells],
            break_chance: vec![0.0; cells + 1],
            draws: Runs::default(),
        };
        let mut drawn = vec![Vec::new(); of.draws as usize];
        let mut at = 0;
        let mut tilts = vec![0.0; cells];
        for setting in grid {
            let evidence = self.evidence(setting.m0, setting.tau2);
            let readings = self.segments.mean.iter().zip(&self.segments.variance);
            let means: Vec<f64> = readings.map(|(mean, variance)| setting.mean_of(*mean, *variance).0).collect();
            for point in &setting.points {
                let chances = self.chances(&evidence, point.expected);
                self.add_mean(&means, &chances, shares[at] / total, &mut averaged);
                for &draw in &members[at] {
                    let mut random = Random::new(of.seed ^ SEGMENTATION, of.lateral, draw);
                    self.draw(setting, &chances, &mut random, &mut tilts);
                    drawn[draw as usize] = runs(&tilts);
                }
                at += 1;
            }
        }
        averaged.draws = Runs::new(&drawn);
        averaged
    }

    /// For each segment the chance that it is the one that ends at its end, given a break there.
    fn chances(&self, evidence: &[f64], expected: f64) -> Vec<f64> {
        let up_to = self.forward(evidence, expected);
        let mut chances = vec![0.0; self.segments.fit.len()];
        for j in 1..self.candidates.len() {
            let (begins, range) = (self.begins(j), self.range(j));
            let of = chances[range.clone()].iter_mut().zip(&evidence[range.clone()]);
            if up_to.alike[j - 1] <= begins.start {
                of.zip(&up_to.sums[begins]).for_each(|((chance, e), sum)| *chance = sum * e);
            } else {
                let base = self.counting_from(j, &up_to);
                of.zip(begins).for_each(|((chance, e), i)| *chance = up_to.counted_from(base, i) * e);
            }
            let sum = math::sum(&chances[range.clone()]);
            if sum > 0.0 {
                chances[range].iter_mut().for_each(|c| *c /= sum);
            } else if let Some(nearest) = chances[range].last_mut() {
                // Out of reach of all numbers, so never taken; a draw must come through all the same.
                *nearest = 1.0;
            }
        }
        chances
    }

    /// One draw: the tilts of the cells.
    fn draw(&self, setting: &Setting, chances: &[f64], random: &mut Random, tilts: &mut [f64]) {
        let mut j = self.candidates.len() - 1;
        let mut after: Option<f64> = None;
        while j > 0 {
            let mut place = random.uniform();
            let (begins, range) = (self.begins(j), self.range(j));
            // The nearest first.
            let mut at = range.end - 1;
            while at > range.start && place >= chances[at] {
                place -= chances[at];
                at -= 1;
            }
            let from = begins.start + (at - range.start);
            let (mean, variance) = setting.mean_of(self.segments.mean[at], self.segments.variance[at]);
            let tilt = mean + random.normal() * variance.sqrt();
            tilts[from..j].fill(tilt);
            if let Some(next) = after {
                // Where the break between this segment and the next lies in the pipe it stands for.
                let here = &self.candidates[j];
                let slip = -here.slip_m.0 + (here.slip_m.0 + here.slip_m.1) * random.uniform();
                // Before its place the next segment reaches into this one's last cell, after it this one into the next's.
                let (cell, other) = if slip < 0.0 { (j - 1, next) } else { (j, tilt) };
                tilts[cell] += self.share(cell, slip.abs()) * (other - tilts[cell]);
            }
            after = Some(tilt);
            j = from;
        }
    }

    /// Share of a cell's length.
    fn share(&self, cell: usize, length_m: f64) -> f64 {
        let at = |i: usize| self.candidates.get(i).map_or(0.0, |c| c.station_m);
        let whole = at(cell + 1) - at(cell);
        if whole > 0.0 { (length_m / whole).min(1.0) } else { 0.0 }
    }

    /// Adds the mean tilt of each cell over all segmentations at a point of the grid, times its share, and the chances of
    /// the breaks: exact, by the chance of a break at each candidate, from the end back.
    fn add_mean(&self, means: &[f64], chances: &[f64], share: f64, to: &mut Averaged) {
        let count = self.candidates.len();
        let mut is_break = vec![0.0; count];
        is_break[count - 1] = share;
        let mut cells = vec![0.0; count];
        // For each candidate the tilts before and after a break there, times its chance.
        let (mut before, mut after) = (vec![0.0; count], vec![0.0; count]);
        for j in (1..count).rev() {
            let here = is_break[j];
            let (begins, range) = (self.begins(j), self.range(j));
            let of = is_break[begins.clone()].iter_mut().zip(&mut after[begins.clone()]).zip(&mut cells[begins]);
            let mut whole = 0.0;
            for (((is_break, after), cell), (chance, mean)) in of.zip(chances[range.clone()].iter().zip(&means[range]))
            {
                let chance = here * chance;
                let mean = chance * mean;
                *is_break += chance;
                *after += mean;
                // Differences from cell to cell; summed up below.
                *cell += mean;
                whole += mean;
            }
            before[j] += whole;
            cells[j] -= whole;
        }
        let mut sum = 0.0;
        for (into, cell) in to.mean_rad.iter_mut().zip(&cells) {
            sum += cell;
            *into += sum;
        }
        to.break_chance.iter_mut().zip(&is_break).for_each(|(into, chance)| *into += chance);
        for (j, c) in self.candidates.iter().enumerate().filter(|(j, c)| !c.hard && *j > 0 && *j + 1 < count) {
            // A break lies anywhere in the pipe it stands for: of each side the mean share, as often as it lies there.
            let whole = c.slip_m.0 + c.slip_m.1;
            if whole > 0.0 {
                let (left, right) = (c.slip_m.0 / whole, c.slip_m.1 / whole);
                to.mean_rad[j - 1] += left * self.share(j - 1, 0.5 * c.slip_m.0) * (after[j] - before[j]);
                to.mean_rad[j] += right * self.share(j, 0.5 * c.slip_m.1) * (before[j] - after[j]);
            }
        }
    }
}

impl Setting {
    /// The greatest evidence of its points, as a logarithm.
    fn most(&self) -> f64 {
        self.points.iter().map(|p| p.log_evidence).fold(f64::NEG_INFINITY, f64::max)
    }

    /// Mean and variance of the tilt of a segment whose readings have this mean with this variance.
    fn mean_of(&self, mean: f64, variance: f64) -> (f64, f64) {
        let sum = self.tau2 + variance;
        ((mean * self.tau2 + self.m0 * variance) / sum, self.tau2 * variance / sum)
    }
}

impl Forward {
    /// The sum up to a candidate, counted from a base.
    fn counted_from(&self, base: f64, at: usize) -> f64 {
        let own = self.base[at];
        // Nearly always the same.
        if own == base { self.sums[at] } else { self.sums[at] * math::exp((own - base).clamp(-700.0, 700.0)) }
    }

    fn log_of(&self, at: usize) -> f64 {
        self.base[at] + math::ln(self.sums[at])
    }
}

/// Tilts of cells in runs of equal tilt.
fn runs(cells: &[f64]) -> Vec<(u32, f64)> {
    let starts = cells.iter().enumerate().filter(|(i, tilt)| i.checked_sub(1).is_none_or(|b| cells[b] != **tilt));
    starts.map(|(i, tilt)| (u32::try_from(i).unwrap_or(u32::MAX), *tilt)).collect()
}

#[cfg(test)]
#[path = "average_tests.rs"]
mod tests;
