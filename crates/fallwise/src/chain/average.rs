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
//! and mean y, with v = s²/W + r² (r the part of the rounding that does not average out, and of the zero that varies along
//! the run),
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
//! Breaks of the penalised optimum and of one with a third of the penalty, each with three readings to either
//! side, noted joints with three readings to either side, and every tenth reading (of long logs fewer: a hundred in all); hard
//! breaks are certain. That pipe changes its tilt at a noted joint, or within three readings of it, is as likely as not before the
//! readings are looked at (our choice), on top of what is expected anywhere. A candidate stands for
//! the pipe nearer to it, in readings, than to another: its length is its share of the prior, and a drawn break lies
//! anywhere in it.

use super::{fit::require_weights, require_growing, require_stations, require_tilts, segmentations::Table};
use crate::prelude::*;
use crate::{
    error::{Error, require_length},
    math,
};

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
    /// Stations of joints, m, growing: a break there is as likely as not.
    pub joints_m: &'a [f64],
    /// First and last station of the pipe, m, no readings beyond.
    pub ends_m: (f64, f64),
    /// Noise of a reading of weight 1, rad.
    pub noise_sd_rad: f64,
    /// Error of a segment's mean that does not average out, rad.
    pub rounding_sd_rad: f64,
    /// Part of the zero error that varies along the run, rad ([`wander_variance`](crate::math::wander_variance)).
    pub wander_sd_rad: f64,
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

/// A break somewhere in a stretch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Break {
    /// Probability that there is one.
    pub chance: f64,
    /// How far from the station asked for it lies if there is, m, as a root mean square; absent where there hardly can be.
    pub station_sd_m: Option<f64>,
    /// Where it lies if there is, with a probability of 95 %, m: as often before as after.
    pub station_m: Option<(f64, f64)>,
}

/// Draws that are asked where a break lies: the ends of its interval are the tenth from either side.
const BREAK_DRAWS: usize = 400;

impl Averaged {
    /// What is known of a break about a station, m, between two others.
    ///
    /// The probability is the number of breaks expected there, at most 1: of a stretch so short that it has one at most. Where it lies
    /// is where the draws have their greatest change there.
    pub fn break_about(&self, at_m: f64, from_m: f64, to_m: f64) -> Break {
        let breaks = self.cells_m.iter().zip(&self.break_chance);
        let expected: f64 = breaks.filter(|(s, _)| from_m <= **s && **s <= to_m).map(|(_, p)| p).sum();
        let cells = self.cells_m.partition_point(|s| *s < from_m).saturating_sub(1)
            ..self.cells_m.partition_point(|s| *s <= to_m).min(self.mean_rad.len());
        let draws = 0..self.draws.len().min(BREAK_DRAWS);
        let mut places: Vec<f64> =
            draws.filter_map(|d| self.greatest_change_m(d, cells.clone(), from_m, to_m)).collect();
        if places.len() < BREAK_DRAWS / 10 {
            return Break { chance: expected.clamp(0.0, 1.0), station_sd_m: None, station_m: None };
        }
        let squares: f64 = places.iter().map(|s| (s - at_m) * (s - at_m)).sum();
        let sd = (squares / places.len() as f64).sqrt();
        places.sort_by(f64::total_cmp);
        // Out to the ends of the cells: a place between two readings is all that is known there.
        let (low, high) = (math::quantile(&places, 0.025), math::quantile(&places, 0.975));
        let station = |cell: usize, else_m: f64| self.cells_m.get(cell).copied().unwrap_or(else_m);
        let below = self.cells_m.partition_point(|s| *s <= low).saturating_sub(1);
        let ends = (station(below, low), station(self.cells_m.partition_point(|s| *s < high), high));
        Break { chance: expected.clamp(0.0, 1.0), station_sd_m: Some(sd), station_m: Some(ends) }
    }

    /// Where the tilt of a draw changes most between two stations, m.
    fn greatest_change_m(&self, draw: usize, cells: core::ops::Range<usize>, from_m: f64, to_m: f64) -> Option<f64> {
        let station = |cell: usize| self.cells_m.get(cell).copied().unwrap_or(f64::NAN);
        let (mut greatest, mut place) = (0.0, None);
        // A break within a cell shows as that cell between its neighbours: one change, its place shared out between both ends.
        let mut before: Option<(usize, f64)> = None;
        let mut going: Option<(usize, f64, f64)> = None;
        for (first, tilt) in self.draws.within(draw, cells) {
            if let Some((_, last)) = before {
                let change = tilt - last;
                let at = (change.abs() * station(first), change.abs());
                going = match going {
                    Some((cell, moment, sum)) if cell + 1 == first && sum * change > 0.0 => {
                        Some((first, moment + at.0, sum + change))
                    }
                    _ => Some((first, at.0, change)),
                };
                if let Some((_, moment, sum)) = going
                    && sum.abs() > greatest
                    && (from_m..=to_m).contains(&(moment / sum.abs()))
                {
                    (greatest, place) = (sum.abs(), Some(moment / sum.abs()));
                }
            }
            before = Some((first, tilt));
        }
        place
    }
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
        let (first, tilt) = self.slices(draw);
        first.iter().zip(tilt).map(|(f, t)| (*f as usize, *t))
    }

    /// The runs of a draw that lie in some cells, whole or in part.
    pub fn within(&self, draw: usize, cells: core::ops::Range<usize>) -> impl Iterator<Item = (usize, f64)> + '_ {
        let (first, tilt) = self.slices_within(draw, cells);
        first.iter().zip(tilt).map(|(f, t)| (*f as usize, *t))
    }

    /// The same as first cells and tilts, rad.
    pub(crate) fn slices_within(&self, draw: usize, cells: core::ops::Range<usize>) -> (&[u32], &[f64]) {
        let (first, tilt) = self.slices(draw);
        // Asked mostly of the whole, where nothing need be looked for.
        let start = match cells.start {
            0 => 0,
            low => first.partition_point(|f| *f as usize <= low).saturating_sub(1),
        };
        let end = match first.last() {
            Some(last) if (*last as usize) < cells.end => first.len(),
            _ => first.partition_point(|f| (*f as usize) < cells.end).max(start),
        };
        (first.get(start..end).unwrap_or_default(), tilt.get(start..end).unwrap_or_default())
    }

    fn slices(&self, draw: usize) -> (&[u32], &[f64]) {
        let end = self.ends.get(draw).map_or(0, |e| *e as usize);
        let start = draw.checked_sub(1).and_then(|d| self.ends.get(d)).map_or(0, |e| *e as usize).min(end);
        (self.first.get(start..end).unwrap_or_default(), self.tilt_rad.get(start..end).unwrap_or_default())
    }

    pub(super) fn new(draws: &[Vec<(u32, f64)>]) -> Self {
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
/// Those of [`fit`](super::fit()), [`Error::TooFew`] below two readings with weight, [`Error::Length`] for arrays that do not
/// go together, [`Error::Value`] for stations that do not grow or lie beyond the ends, tilts beyond the vertical, a noise,
/// rounding or head that cannot be.
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
///     joints_m: &[],
///     ends_m: (0.0, 3.0),
///     noise_sd_rad: 0.003,
///     rounding_sd_rad: 0.0,
///     wander_sd_rad: 0.0,
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
    check(of)?;
    let table = Table::new(of)?;
    let grid = table.grid();
    Ok(table.drawn(of, &grid))
}

/// Refuses what cannot be readings of a pipe.
fn check(of: &Averaging<'_>) -> Result<(), Error> {
    let (first, last) = require_stations(of.station_m)?;
    require_length("tilt_rad", of.tilt_rad.len(), "station_m", of.station_m.len())?;
    require_length("weight", of.weight.len(), "station_m", of.station_m.len())?;
    require_tilts(of.tilt_rad)?;
    require_weights("weight", of.weight)?;
    require_growing("hard_breaks_m", of.hard_breaks_m)?;
    require_growing("joints_m", of.joints_m)?;
    let (from, to) = of.ends_m;
    if !(from.is_finite() && to.is_finite() && from <= first && last <= to) {
        return Err(Error::value("ends_m", format!("{from} to {to}"), "finite stations about all readings, in m"));
    }
    let half = core::f64::consts::FRAC_PI_2;
    for (field, sd) in [
        ("noise_sd_rad", of.noise_sd_rad),
        ("rounding_sd_rad", of.rounding_sd_rad),
        ("wander_sd_rad", of.wander_sd_rad),
    ] {
        if !(0.0..=half).contains(&sd) {
            return Err(Error::value(field, sd, "0 to a quarter turn, in rad"));
        }
    }
    if !(0.0..=100.0).contains(&of.head_length_m) {
        return Err(Error::value("head_length_m", of.head_length_m, "0 to 100 m"));
    }
    Ok(())
}
