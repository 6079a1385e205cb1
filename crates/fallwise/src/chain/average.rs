//! Averaging over segmentations: how sure a chain is whose breaks were found in the same readings.
//!
//! An interval about the mean of a chosen segment is too narrow: another segmentation may be as good, and the best one was
//! picked for its fit. So all segmentations with breaks at a bounded number of candidates are weighed by their evidence,
//! and draws of them, with tilts, say how far the pipe may lie from the estimate.
//!
//! # The model
//! Breaks are a Poisson process along the pipe, e of them expected. Segment means are independent, N(m0, tau²). A
//! reading is the mean of its segment plus noise of known sd; readings under the head while a break passes (within half
//! its length) are the mean of both sides by their shares. A segment's mean m is integrated out: of readings of weight W
//! and mean y, with v = s²/W + r² (r the part of the rounding that does not average out),
//!
//! evidence ∝ exp(-Σ w (y_i - y)² / 2s²) · sqrt(v / (v + tau²)) · exp(-(y - m0)² / 2(v + tau²)).
//!
//! Sums over all segmentations take one pass over the candidates (Barry and Hartigan 1992, Annals of Statistics
//! 20:260-279; Fearnhead 2006, Statistics and Computing 16:203-213; both from memory): F(j) = Σ_i F(i) · evidence(i, j) ·
//! prior of a break at j. Draws go back from the end: i with probability F(i) evidence(i, j) / F(j).
//!
//! m0, tau and e are not known: they are averaged over a grid by their evidence (empirical Bayes; a flat prior for m0 and
//! for the logarithms of tau and e). With a fixed tau, or m0 plugged in, intervals of straight pipe and of small changes
//! came out too narrow.
//!
//! # The candidates
//! Breaks of the penalised optimum and of one with a third of the penalty, each with [`NEIGHBOURS`] readings to either
//! side, and every tenth reading (of long logs fewer: [`PLAIN`] in all); hard breaks are certain. A candidate stands for
//! the pipe nearer to it, in readings, than to another: its length is its share of the prior, and a drawn break lies
//! anywhere in it.

use super::fit::{FitOptions, default_penalty, fit};
use crate::{
    error::Error,
    math::{self, Random},
};

/// Readings to either side of a break that was found at which it may lie as well.
const NEIGHBOURS: usize = 3;
/// Candidates that are there whatever the readings say.
const PLAIN: usize = 100;
/// Every so many readings one of them, at least.
const PLAIN_STEP: usize = 10;
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
/// Pipe on either side of a break from which the mean there is guessed while the break is under the head, m. Our choice.
const BESIDE_M: f64 = 0.5;

/// Readings by station, and what is known of their errors.
#[derive(Debug, Clone, Copy)]
pub struct Averaging<'a> {
    /// Stations, m, growing.
    pub station_m: &'a [f64],
    /// Tilts, rad.
    pub tilt_rad: &'a [f64],
    /// Weights, in readings; those of weight 0 are passed over.
    pub weight: &'a [f64],
    /// Stations of certain breaks, m, growing.
    pub hard_breaks_m: &'a [f64],
    /// First and last station of the pipe, m, no readings beyond.
    pub ends_m: (f64, f64),
    /// Noise of a reading of weight 1, rad.
    pub noise_sd_rad: f64,
    /// Error of a segment's mean that does not average out, rad.
    pub rounding_sd_rad: f64,
    /// Length over which the head averages, m.
    pub head_length_m: f64,
    /// How many draws.
    pub draws: u32,
    /// Seed of the draws.
    pub seed: u64,
    /// Which lateral of many.
    pub lateral: u32,
}

/// Draws of a chain.
#[derive(Debug, Clone, PartialEq)]
pub struct Averaged {
    /// Ends of the cells, m: within one nothing changes, but for a break that a draw has inside it, whose cell then has
    /// the mean of both sides.
    pub cells_m: Vec<f64>,
    /// Mean tilt of each cell over all segmentations, rad.
    pub mean_rad: Vec<f64>,
    /// The draws.
    pub draws: Runs,
}

/// Draws of the tilts of cells, each in runs of equal tilt.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Runs {
    /// Where the runs of each draw end in the lists below.
    ends: Vec<u32>,
    /// First cell of each run.
    first: Vec<u32>,
    /// Its tilt, rad.
    tilt_rad: Vec<f64>,
}

impl Runs {
    /// Number of draws.
    pub fn len(&self) -> usize {
        self.ends.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.ends.is_empty()
    }

    /// First cell and tilt, rad, of each run of a draw; nothing of a draw that is not there.
    pub fn of(&self, draw: usize) -> impl Iterator<Item = (usize, f64)> + '_ {
        let end = self.ends.get(draw).map_or(0, |e| *e as usize);
        let start = draw.checked_sub(1).and_then(|d| self.ends.get(d)).map_or(0, |e| *e as usize).min(end);
        let first = self.first.get(start..end).unwrap_or_default();
        let tilt = self.tilt_rad.get(start..end).unwrap_or_default();
        first.iter().zip(tilt).map(|(f, t)| (*f as usize, *t))
    }

    /// Tilts of all cells in a draw.
    pub fn spread_into(&self, draw: usize, cells: &mut [f64]) {
        for (first, tilt) in self.of(draw) {
            cells.iter_mut().skip(first).for_each(|c| *c = tilt);
        }
    }

    fn push(&mut self, cells: &[f64]) {
        let mut before = None;
        for (i, &tilt) in cells.iter().enumerate() {
            if before != Some(tilt) {
                self.first.push(u32::try_from(i).unwrap_or(u32::MAX));
                self.tilt_rad.push(tilt);
                before = Some(tilt);
            }
        }
        self.ends.push(u32::try_from(self.first.len()).unwrap_or(u32::MAX));
    }
}

/// Averages over segmentations.
///
/// # Errors
/// Those of [`fit`], and [`Error::TooFew`] below two readings with weight.
///
/// # Example
/// ```
/// use fallwise::chain::{Averaging, average};
///
/// let station_m: Vec<f64> = (0..60).map(|i| 0.05 * f64::from(i)).collect();
/// let tilt_rad: Vec<f64> = (0..60).map(|i| if i < 30 { 0.02 } else { 0.0 } + 0.002 * f64::from(i * 7 % 5 - 2)).collect();
/// let averaged = average(&Averaging {
///     station_m: &station_m,
///     tilt_rad: &tilt_rad,
///     weight: &[1.0; 60],
///     hard_breaks_m: &[],
///     ends_m: (0.0, 3.0),
///     noise_sd_rad: 0.003,
///     rounding_sd_rad: 0.0,
///     head_length_m: 0.0,
///     draws: 100,
///     seed: 0,
///     lateral: 0,
/// })?;
/// assert_eq!(averaged.draws.len(), 100);
/// assert!((averaged.mean_rad[0] - 0.02).abs() < 0.002);
/// # Ok::<(), fallwise::Error>(())
/// ```
pub fn average(of: &Averaging<'_>) -> Result<Averaged, Error> {
    let table = Table::new(of)?;
    let grid = table.grid();
    Ok(table.drawn(of, &grid))
}

/// A place where a break may be.
#[derive(Debug, Clone, Copy)]
struct Candidate {
    /// The reading (with weight) that begins the segment after it.
    reading: usize,
    station_m: f64,
    /// Logarithm of its share of the prior of one break.
    log_share: f64,
    /// How far a break that it stands for may lie before and after it, m.
    slip_m: (f64, f64),
    /// A break in any case.
    hard: bool,
    /// Readings up to here are clear of the head while the break is under it (exclusive), and from here on.
    clear: (usize, usize),
    /// Logarithm of what the readings under the head say for a break, against none.
    log_ramp: f64,
}

/// What the readings say of the segment between two candidates.
#[derive(Debug, Clone, Copy)]
struct Segment {
    /// The candidate it begins at.
    from: usize,
    /// Logarithm of its likelihood with its own mean, against that of the optimum.
    log_fit: f64,
    mean: f64,
    /// Variance of the mean.
    variance: f64,
}

/// All segments between candidates.
struct Table {
    candidates: Vec<Candidate>,
    /// The segments that end at each candidate, nearest first.
    segments: Vec<Vec<Segment>>,
    noise_sd: f64,
    /// Means of the optimum's segments and their variances.
    optimum: Vec<(f64, f64)>,
    readings: usize,
}

/// A point of the grid with its evidence.
#[derive(Debug, Clone)]
struct Point {
    m0: f64,
    tau2: f64,
    log_expected: f64,
    log_evidence: f64,
    /// Logarithms of the sums up to each candidate.
    forward: Vec<f64>,
}

/// Readings with weight, and their sums from the first on.
struct Sums {
    station_m: Vec<f64>,
    value: Vec<f64>,
    w: Vec<f64>,
    wy: Vec<f64>,
    wyy: Vec<f64>,
}

impl Sums {
    /// Weight, mean and sum of squares about it of readings a to b.
    fn of(&self, a: usize, b: usize) -> (f64, f64, f64) {
        let w = self.w[b] - self.w[a];
        let y = self.wy[b] - self.wy[a];
        let mean = y / w;
        (w, mean, (self.wyy[b] - self.wyy[a] - y * mean).max(0.0))
    }
}

impl Table {
    fn new(of: &Averaging<'_>) -> Result<Self, Error> {
        let seen: Vec<usize> = (0..of.weight.len()).filter(|&i| of.weight[i] > 0.0).collect();
        let pick = |from: &[f64]| seen.iter().filter_map(|&i| from.get(i).copied()).collect::<Vec<f64>>();
        let (station, value, weight) = (pick(of.station_m), pick(of.tilt_rad), pick(of.weight));
        if seen.len() < 2 || station.len() != seen.len() || value.len() != seen.len() {
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
        let mut sums = Sums {
            value: value.iter().map(|v| v - centre).collect(),
            station_m: station,
            w: vec![0.0],
            wy: vec![0.0],
            wyy: vec![0.0],
        };
        let (mut w, mut wy, mut wyy) = (0.0, 0.0, 0.0);
        for (v, weight) in sums.value.iter().zip(&weight) {
            w += weight;
            wy += weight * v;
            wyy += weight * v * v;
            sums.w.push(w);
            sums.wy.push(wy);
            sums.wyy.push(wyy);
        }
        let noise_sd = best.noise_sd;
        let rounding2 = of.rounding_sd_rad * of.rounding_sd_rad;
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
            optimum.push((mean + centre, noise_sd * noise_sd / w + rounding2));
            for i in a..b {
                before += weight[i] * (sums.value[i] - mean) * (sums.value[i] - mean);
                against[i + 1] = before;
            }
        }
        let mut candidates = candidates(&sums, of, [&best.starts, &finer.starts], &hard);
        let half = 0.5 / (noise_sd * noise_sd);
        ramps(&mut candidates, &sums, &weight, &best.starts, &against, of.head_length_m, half);
        let mut segments = vec![Vec::new()];
        for (j, to) in candidates.iter().enumerate().skip(1) {
            let mut ending = Vec::new();
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
                ending.push(Segment {
                    from: i,
                    log_fit,
                    mean: mean + centre,
                    variance: noise_sd * noise_sd / w + rounding2,
                });
                if from.hard {
                    break;
                }
            }
            segments.push(ending);
        }
        Ok(Self { candidates, segments, noise_sd, optimum, readings: n })
    }

    /// The grid with its evidences, the negligible left out.
    fn grid(&self) -> Vec<Point> {
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
        let middle: Vec<(f64, f64, f64, Vec<Point>)> = taus
            .iter()
            .map(|tau| {
                let tau2 = tau * tau;
                let precision: f64 = self.optimum.iter().map(|(_, v)| 1.0 / (tau2 + v)).sum();
                let m0 = self.optimum.iter().map(|(m, v)| m / (tau2 + v)).sum::<f64>() / precision;
                let sd = (1.0 / precision).sqrt();
                (tau2, m0, sd, self.points(m0, tau2, sd, &breaks))
            })
            .collect();
        let best = |points: &[Point]| points.iter().map(|p| p.log_evidence).fold(f64::NEG_INFINITY, f64::max);
        let most = middle.iter().map(|m| best(&m.3)).fold(f64::NEG_INFINITY, f64::max);
        let floor = math::ln(NEGLIGIBLE);
        let mut grid = Vec::new();
        for (tau2, m0, sd, points) in middle {
            if best(&points) < most + floor {
                continue;
            }
            for node in M0_NODES.iter().filter(|node| **node != 0.0) {
                grid.extend(self.points(m0 + node * sd, tau2, sd, &breaks));
            }
            grid.extend(points);
        }
        let most = best(&grid);
        grid.retain(|p| p.log_evidence >= most + floor);
        grid
    }

    /// The points of one m0 and tau, for every number of breaks expected; `step` is what stands for dm0.
    fn points(&self, m0: f64, tau2: f64, step: f64, breaks: &[f64]) -> Vec<Point> {
        let evidence = self.evidence(m0, tau2);
        breaks
            .iter()
            .map(|&expected| {
                let forward = self.forward(&evidence, expected);
                let log_evidence = forward.last().copied().unwrap_or(0.0) - expected + math::ln(step);
                Point { m0, tau2, log_expected: math::ln(expected), log_evidence, forward }
            })
            .collect()
    }

    /// Evidence of each segment, not as a logarithm, with what the readings under the head at its end say.
    fn evidence(&self, m0: f64, tau2: f64) -> Vec<Vec<f64>> {
        let ramp = self.candidates.iter().map(|c| c.log_ramp);
        let of = |s: &Segment, ramp: f64| {
            let (off, sum) = (s.mean - m0, s.variance + tau2);
            math::exp(s.log_fit + ramp - 0.5 * off * off / sum) * (s.variance / sum).sqrt()
        };
        self.segments.iter().zip(ramp).map(|(ending, ramp)| ending.iter().map(|s| of(s, ramp)).collect()).collect()
    }

    /// Logarithms of the sums over all segmentations up to each candidate.
    fn forward(&self, evidence: &[Vec<f64>], expected: f64) -> Vec<f64> {
        let log_expected = math::ln(expected);
        let mut logs = vec![0.0; self.candidates.len()];
        // Sums as numbers, counted from the logarithm of the last one, so that a step takes no logarithm but its own.
        let mut sums = vec![1.0; self.candidates.len()];
        let mut base = 0.0_f64;
        for j in 1..self.candidates.len() {
            let ending = self.segments[j].iter().zip(&evidence[j]);
            let most =
                ending.clone().filter(|(_, e)| **e > 0.0).map(|(s, _)| logs[s.from]).fold(f64::NEG_INFINITY, f64::max);
            if (most - base).abs() > 100.0 && most.is_finite() {
                // Far from where counting began: begin anew. What is out of reach of a number then is of no weight here.
                base = most;
                for (sum, log) in sums.iter_mut().zip(&logs).take(j) {
                    *sum = math::exp((log - base).clamp(-700.0, 700.0));
                }
            }
            let sum: f64 = ending.map(|(s, e)| sums[s.from] * e).sum();
            let here = &self.candidates[j];
            let prior = if here.hard { 0.0 } else { log_expected + here.log_share };
            logs[j] = base + math::ln(sum.max(f64::MIN_POSITIVE)) + prior;
            sums[j] = math::exp((logs[j] - base).clamp(-700.0, 700.0));
        }
        logs
    }

    /// The draws.
    fn drawn(&self, of: &Averaging<'_>, grid: &[Point]) -> Averaged {
        let cells_m: Vec<f64> = self.candidates.iter().map(|c| c.station_m).collect();
        let cells = cells_m.len() - 1;
        let most = grid.iter().map(|p| p.log_evidence).fold(f64::NEG_INFINITY, f64::max);
        let mut cumulative = Vec::with_capacity(grid.len());
        let mut total = 0.0;
        for point in grid {
            total += math::exp(point.log_evidence - most);
            cumulative.push(total);
        }
        let mut tables: Vec<Option<Vec<Vec<f64>>>> = vec![None; grid.len()];
        let mut draws = Runs::default();
        let mut mean_rad = vec![0.0; cells];
        for point in grid {
            let share = math::exp(point.log_evidence - most) / total;
            mean_rad.iter_mut().zip(self.mean(point)).for_each(|(sum, m)| *sum += share * m);
        }
        let mut tilts = vec![0.0; cells];
        let begin = Random::new(of.seed, of.lateral, u32::MAX - 1).uniform();
        for draw in 0..of.draws {
            let mut random = Random::new(of.seed ^ SEGMENTATION, of.lateral, draw);
            // Grid points evenly, each as often as its share.
            let place = total * (begin + f64::from(draw) * GOLDEN).fract();
            let at = cumulative.partition_point(|c| *c <= place).min(grid.len() - 1);
            let point = &grid[at];
            let table = tables[at].get_or_insert_with(|| self.back(point));
            self.draw(point, table, &mut random, &mut tilts);
            draws.push(&tilts);
        }
        Averaged { cells_m, mean_rad, draws }
    }

    /// For each candidate the running sums of the chances of where the segment that ends there begins.
    fn back(&self, point: &Point) -> Vec<Vec<f64>> {
        let evidence = self.evidence(point.m0, point.tau2);
        let row = |j: usize| {
            let ending = &self.segments[j];
            let most = ending.iter().map(|s| point.forward[s.from]).fold(f64::NEG_INFINITY, f64::max);
            let mut sum = 0.0;
            ending
                .iter()
                .zip(&evidence[j])
                .map(|(s, e)| {
                    sum += e * math::exp(point.forward[s.from] - most);
                    sum
                })
                .collect()
        };
        (0..self.candidates.len()).map(row).collect()
    }

    /// One draw: the tilts of the cells, and their means given its segmentation.
    fn draw(&self, point: &Point, back: &[Vec<f64>], random: &mut Random, tilts: &mut [f64]) {
        let mut j = self.candidates.len() - 1;
        let mut after: Option<f64> = None;
        while j > 0 {
            let row = &back[j];
            let place = random.uniform() * row.last().copied().unwrap_or(0.0);
            let at = row.partition_point(|c| *c <= place).min(row.len().saturating_sub(1));
            let segment = &self.segments[j][at];
            let (mean, variance) = point.mean_of(segment);
            let tilt = mean + random.normal() * variance.sqrt();
            tilts[segment.from..j].fill(tilt);
            if let Some(next) = after {
                // Where the break between this segment and the next lies among the readings it stands for.
                let here = &self.candidates[j];
                let slip = -here.slip_m.0 + (here.slip_m.0 + here.slip_m.1) * random.uniform();
                // Before its place the next segment reaches into this one's last cell, after it this one into the next's.
                let (cell, other) = if slip < 0.0 { (j - 1, next) } else { (j, tilt) };
                tilts[cell] += self.share(cell, slip.abs()) * (other - tilts[cell]);
            }
            after = Some(tilt);
            j = segment.from;
        }
    }

    /// Share of a cell's length.
    fn share(&self, cell: usize, length_m: f64) -> f64 {
        let at = |i: usize| self.candidates.get(i).map_or(0.0, |c| c.station_m);
        let whole = at(cell + 1) - at(cell);
        if whole > 0.0 { (length_m / whole).min(1.0) } else { 0.0 }
    }

    /// Mean tilt of each cell over all segmentations at a point of the grid: exact, by the sums up to each candidate and
    /// those from each candidate on.
    fn mean(&self, point: &Point) -> Vec<f64> {
        let evidence = self.evidence(point.m0, point.tau2);
        let count = self.candidates.len();
        let last = point.forward.last().copied().unwrap_or(0.0);
        // Logarithms of the sums over all segmentations after each candidate, and what a break there costs.
        let mut behind = vec![f64::NEG_INFINITY; count];
        behind[count - 1] = 0.0;
        let mut cells = vec![0.0; count];
        // For each candidate the tilts before and after a break there, times its probability.
        let (mut before, mut after) = (vec![0.0; count], vec![0.0; count]);
        for j in (1..count).rev() {
            let here = &self.candidates[j];
            // The prior of the break stands in the sums up to it.
            let prior = if here.hard { 0.0 } else { point.log_expected + here.log_share };
            for (segment, e) in self.segments[j].iter().zip(&evidence[j]).filter(|(_, e)| **e > 0.0) {
                let i = segment.from;
                let log = math::ln(*e) + prior + behind[j];
                behind[i] = log_add(behind[i], log);
                let chance = math::exp(point.forward[i] + log - last);
                let mean = chance * point.mean_of(segment).0;
                before[j] += mean;
                after[i] += mean;
                // Differences from cell to cell; summed up below.
                cells[i] += mean;
                cells[j] -= mean;
            }
        }
        let mut sum = 0.0;
        for cell in &mut cells {
            sum += *cell;
            *cell = sum;
        }
        cells.pop();
        for (j, c) in self.candidates.iter().enumerate().filter(|(j, c)| !c.hard && *j > 0 && *j + 1 < count) {
            // A break lies anywhere among the readings it stands for: of each side the mean share, as often as it lies there.
            let whole = c.slip_m.0 + c.slip_m.1;
            if whole > 0.0 {
                let (left, right) = (c.slip_m.0 / whole, c.slip_m.1 / whole);
                cells[j - 1] += left * self.share(j - 1, 0.5 * c.slip_m.0) * (after[j] - before[j]);
                cells[j] += right * self.share(j, 0.5 * c.slip_m.1) * (before[j] - after[j]);
            }
        }
        cells
    }
}

impl Point {
    /// Mean and variance of the tilt of a segment.
    fn mean_of(&self, segment: &Segment) -> (f64, f64) {
        let precision = 1.0 / segment.variance + 1.0 / self.tau2;
        ((segment.mean / segment.variance + self.m0 / self.tau2) / precision, 1.0 / precision)
    }
}

/// Logarithm of the sum of two numbers given by theirs.
fn log_add(a: f64, b: f64) -> f64 {
    let (low, high) = if a < b { (a, b) } else { (b, a) };
    if high.is_finite() { high + math::ln_1p(math::exp(low - high)) } else { high }
}

/// Keeps the draws of segmentations apart from the other draws of the same seed.
const SEGMENTATION: u64 = 0x5e67_6d65_6e74_7321;
/// The golden ratio less one, whose multiples are spread most evenly.
const GOLDEN: f64 = 0.618_033_988_749_894_8;

/// The candidates in order; the first and the last are the ends.
fn candidates(sums: &Sums, of: &Averaging<'_>, found: [&[usize]; 2], hard: &[usize]) -> Vec<Candidate> {
    let n = sums.value.len();
    let mut places: Vec<usize> = hard.to_vec();
    for &start in found.iter().flat_map(|starts| starts.iter().skip(1)) {
        places.extend(start.saturating_sub(NEIGHBOURS)..=start + NEIGHBOURS);
    }
    // Laid from both ends, so that a run read the other way has the same ones.
    let plain = (n / PLAIN_STEP).min(PLAIN);
    places.extend((1..=plain / 2).map(|k| k * n / plain).flat_map(|p| [p, n - p]));
    places.retain(|p| (1..n).contains(p));
    places.extend([0, n]);
    places.sort_unstable();
    places.dedup();
    let station = |p: usize| match (hard.binary_search(&p), p) {
        (Ok(k), _) => of.hard_breaks_m[k],
        (_, 0) => of.ends_m.0,
        (_, p) if p == n => of.ends_m.1,
        (_, p) => 0.5 * sums.station_m[p - 1] + 0.5 * sums.station_m[p],
    };
    let place = |i: usize| places.get(i).copied();
    // Where the readings that one candidate stands for end and those of the next begin: at a reading, or between two.
    let limit = |one: usize, other: usize| {
        let middle = (one + other) / 2;
        let before = if (one + other) % 2 == 1 { middle } else { middle.saturating_sub(1) };
        0.5 * sums.station_m[before.min(n - 1)] + 0.5 * sums.station_m[middle.min(n - 1)]
    };
    // A reading half a head away is of one side alone, whichever way its station was rounded.
    let half = 0.5 * of.head_length_m * (1.0 - 1e-6);
    places
        .iter()
        .enumerate()
        .map(|(i, &p)| {
            let is_hard = p == 0 || p == n || hard.binary_search(&p).is_ok();
            let before = i.checked_sub(1).and_then(place).unwrap_or(p);
            let after = place(i + 1).unwrap_or(p);
            let station_m = station(p);
            let slip_m = ((station_m - limit(before, p)).max(0.0), (limit(p, after) - station_m).max(0.0));
            let under = (
                sums.station_m.partition_point(|s| *s < station_m - half).min(p),
                sums.station_m.partition_point(|s| *s <= station_m + half).max(p),
            );
            Candidate {
                reading: p,
                station_m,
                log_share: math::ln(((slip_m.0 + slip_m.1) / (of.ends_m.1 - of.ends_m.0)).max(f64::MIN_POSITIVE)),
                slip_m: if is_hard { (0.0, 0.0) } else { slip_m },
                hard: is_hard,
                // At the ends of the survey nothing is under the head but the pipe's own end.
                clear: if p == 0 || p == n || half <= 0.0 { (p, p) } else { under },
                log_ramp: 0.0,
            }
        })
        .collect()
}

/// What the readings under the head say for a break at each candidate: that they lie on the line between the means of
/// the pipe on either side.
fn ramps(
    candidates: &mut [Candidate],
    sums: &Sums,
    weight: &[f64],
    starts: &[usize],
    against: &[f64],
    head_length_m: f64,
    half: f64,
) {
    let n = sums.value.len();
    // A certain break needs no reason.
    for c in candidates.iter_mut().filter(|c| c.clear.0 < c.clear.1 && !c.hard) {
        let (a, b) = c.clear;
        // Beside the head, but not beyond the next break of the optimum.
        let reach_m = (0.5 * head_length_m + BESIDE_M) * (1.0 + 1e-6);
        let left_from = sums.station_m.partition_point(|s| *s < c.station_m - reach_m);
        let right_to = sums.station_m.partition_point(|s| *s <= c.station_m + reach_m);
        let before = starts.partition_point(|s| *s < a).checked_sub(1).map_or(0, |k| starts[k]);
        let after = starts.get(starts.partition_point(|s| *s <= b)).copied().unwrap_or(n);
        let (left_from, right_to) = (left_from.max(before), right_to.min(after));
        if left_from >= a || right_to <= b {
            continue;
        }
        let (left, right) = (sums.of(left_from, a).1, sums.of(b, right_to).1);
        // A break that the candidate stands for lies up to a spacing away, which moves what is read under the head.
        let moved = (right - left) * (c.slip_m.0 + c.slip_m.1) / head_length_m;
        let variance = 0.5 / half;
        let wide = variance + moved * moved / 12.0;
        let log: f64 = (a..b)
            .map(|i| {
                let share = ((sums.station_m[i] - c.station_m) / head_length_m + 0.5).clamp(0.0, 1.0);
                let off = sums.value[i] - (left + share * (right - left));
                weight[i] * (0.5 * off * off / wide + 0.5 * math::ln(wide / variance))
            })
            .sum();
        c.log_ramp = half * (against[b] - against[a]) - log;
    }
}

#[cfg(test)]
#[path = "average_tests.rs"]
mod tests;
