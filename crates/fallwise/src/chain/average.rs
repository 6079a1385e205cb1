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
    /// Chance of a break at each end of a cell (or in the pipe that it stands for); 1 at certain ones.
    pub break_chance: Vec<f64>,
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

    fn new(draws: &[Vec<(u32, f64)>]) -> Self {
        let mut all = Self::default();
        for draw in draws {
            all.first.extend(draw.iter().map(|run| run.0));
            all.tilt_rad.extend(draw.iter().map(|run| run.1));
            all.ends.push(u32::try_from(all.first.len()).unwrap_or(u32::MAX));
        }
        all
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
    /// Its share of the prior of one break.
    share: f64,
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
    /// Its likelihood with its own mean, against that of the optimum, with what the readings under the head at its end say.
    fit: f64,
    mean: f64,
    /// Variance of the mean.
    variance: f64,
}

/// All segments between candidates.
struct Table {
    candidates: Vec<Candidate>,
    /// The segments by the candidate that they end at, nearest first, and where those of each candidate begin.
    segments: Vec<Segment>,
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
struct Setting {
    m0: f64,
    tau2: f64,
    points: Vec<Point>,
}

/// Sums over all segmentations up to each candidate, each times e to the power of its base.
struct Forward {
    sums: Vec<f64>,
    base: Vec<f64>,
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
        let mut segments = Vec::new();
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
                let fit = math::exp(log_fit + to.log_ramp);
                segments.push(Segment {
                    from: i,
                    fit,
                    mean: mean + centre,
                    variance: noise_sd * noise_sd / w + rounding2,
                });
                if from.hard {
                    break;
                }
            }
            first.push(segments.len());
        }
        Ok(Self { candidates, segments, first, noise_sd, optimum, readings: n })
    }

    /// The grid with its evidences, the negligible left out.
    fn grid(&self) -> Vec<Setting> {
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
        let of = |s: &Segment| {
            let (off, sum) = (s.mean - m0, s.variance + tau2);
            s.fit * math::exp(-0.5 * off * off / sum) * (s.variance / sum).sqrt()
        };
        self.segments.iter().map(of).collect()
    }

    /// Sums over all segmentations up to each candidate.
    fn forward(&self, evidence: &[f64], expected: f64) -> Forward {
        let count = self.candidates.len();
        let mut up_to = Forward { sums: vec![0.0; count], base: vec![0.0; count] };
        up_to.sums[0] = 1.0;
        for j in 1..count {
            let base = up_to.base[j - 1];
            let sum: f64 =
                self.ending(j).zip(&evidence[self.range(j)]).map(|(s, e)| up_to.counted_from(base, s.from) * e).sum();
            let here = &self.candidates[j];
            let prior = if here.hard { 1.0 } else { expected * here.share };
            let sum = (sum * prior).max(f64::MIN_POSITIVE);
            (up_to.sums[j], up_to.base[j]) = (sum, base);
            // Far from where counting began: begin anew, unless it is this candidate alone that is out of the way.
            let near = 1e-100..1e100;
            if !near.contains(&sum) {
                let reach = self.ending(j).map(|s| up_to.counted_from(base, s.from)).fold(sum, f64::max);
                if !near.contains(&reach) {
                    (up_to.sums[j], up_to.base[j]) = (sum / reach, base + math::ln(reach));
                }
            }
        }
        up_to
    }

    /// The segments that end at a candidate, nearest first.
    fn ending(&self, j: usize) -> impl Iterator<Item = &Segment> + Clone {
        self.segments[self.range(j)].iter()
    }

    fn range(&self, j: usize) -> core::ops::Range<usize> {
        self.first[j]..self.first[j + 1]
    }

    /// Means and draws.
    fn drawn(&self, of: &Averaging<'_>, grid: &[Setting]) -> Averaged {
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
            for point in &setting.points {
                let chances = self.chances(&evidence, point.expected);
                self.add_mean(setting, &chances, shares[at] / total, &mut averaged);
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
        let mut chances = vec![0.0; self.segments.len()];
        for j in 1..self.candidates.len() {
            let base = up_to.base[j - 1];
            let range = self.range(j);
            let mut sum = 0.0;
            for k in range.clone() {
                chances[k] = up_to.counted_from(base, self.segments[k].from) * evidence[k];
                sum += chances[k];
            }
            if sum > 0.0 {
                chances[range].iter_mut().for_each(|c| *c /= sum);
            } else if let Some(nearest) = chances.get_mut(range.start) {
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
            let range = self.range(j);
            let mut at = range.start;
            while at + 1 < range.end && place >= chances[at] {
                place -= chances[at];
                at += 1;
            }
            let segment = &self.segments[at];
            let (mean, variance) = setting.mean_of(segment);
            let tilt = mean + random.normal() * variance.sqrt();
            tilts[segment.from..j].fill(tilt);
            if let Some(next) = after {
                // Where the break between this segment and the next lies in the pipe it stands for.
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

    /// Adds the mean tilt of each cell over all segmentations at a point of the grid, times its share, and the chances of
    /// the breaks: exact, by the chance of a break at each candidate, from the end back.
    fn add_mean(&self, setting: &Setting, chances: &[f64], share: f64, to: &mut Averaged) {
        let count = self.candidates.len();
        let mut is_break = vec![0.0; count];
        is_break[count - 1] = share;
        let mut cells = vec![0.0; count];
        // For each candidate the tilts before and after a break there, times its chance.
        let (mut before, mut after) = (vec![0.0; count], vec![0.0; count]);
        for j in (1..count).rev() {
            let here = is_break[j];
            for k in self.range(j) {
                let (segment, chance) = (&self.segments[k], here * chances[k]);
                is_break[segment.from] += chance;
                let mean = chance * setting.mean_of(segment).0;
                before[j] += mean;
                after[segment.from] += mean;
                // Differences from cell to cell; summed up below.
                cells[segment.from] += mean;
                cells[j] -= mean;
            }
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

    /// Mean and variance of the tilt of a segment.
    fn mean_of(&self, segment: &Segment) -> (f64, f64) {
        let sum = self.tau2 + segment.variance;
        ((segment.mean * self.tau2 + self.m0 * segment.variance) / sum, self.tau2 * segment.variance / sum)
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
                share: (slip_m.0 + slip_m.1) / (of.ends_m.1 - of.ends_m.0),
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
