//! Segments of constant tilt: raw (one a reading), given (between known joints) or fitted.
//!
//! | file | contents |
//! | --- | --- |
//! | this one | [`Chain`] and its four constructors, [`Chain::means`] of readings by segment |
//! | `fit` | [`fit`]: the exact penalised optimum of a piecewise-constant mean, by squares or the biweight loss |
//! | `envelope` | the search for it: functional pruning |
//! | `correlation` | [`correlated_noise`]: noise that hangs together, told from breaks |
//! | `average` | [`average`]: how sure that is, over all segmentations |
//! | `candidates`, `segmentations` | where breaks may be; the sums over all of them, and draws |
//!
//! A reading belongs to the segment whose stations `[from, to)` hold its own; the last segment holds its end too. A
//! reading of weight 0 lies in a segment and says nothing about it.

mod average;
mod candidates;
mod correlation;
mod envelope;
mod fit;
mod segmentations;

use core::ops::Range;

use crate::error::{Error, require_finite, require_length};
use crate::prelude::*;

pub use average::{Averaged, Averaging, Break, Runs, average};
pub use correlation::correlated_noise;
pub use fit::{BIWEIGHT_THRESHOLD_SDS, Fit, FitOptions, LEAST_NOISE, Loss, default_penalty, fit};

/// Segments in order of station.
#[derive(Debug, Clone, PartialEq)]
pub struct Chain {
    /// Ends of the segments, m, strictly growing; one more than there are segments.
    pub breaks_m: Vec<f64>,
    /// Tilt of each, rad.
    pub tilt_rad: Vec<f64>,
}

/// What the readings within one segment say of it.
#[derive(Debug, Clone, PartialEq)]
pub struct SegmentMean {
    /// Indices of its readings, those of weight 0 too.
    pub readings: Range<usize>,
    /// How many of them have weight.
    pub count: usize,
    /// Sum of their weights.
    pub weight: f64,
    /// Their weighted mean, rad; absent where none has weight.
    pub mean_rad: Option<f64>,
}

impl Chain {
    /// Segments between `breaks_m` (strictly growing, m) of tilt `tilt_rad` (within a quarter turn either way).
    ///
    /// ```
    /// # use fallwise::Chain;
    /// let chain = Chain::new(vec![0.0, 3.0, 6.0], vec![0.02, 0.01])?;
    /// assert_eq!(chain.tilt_rad.len(), 2);
    /// # Ok::<(), fallwise::Error>(())
    /// ```
    ///
    /// # Errors
    /// [`Error::TooFew`] without a segment, [`Error::Length`] unless there is one break more than tilts,
    /// [`Error::Value`] for a number that is not finite, breaks that do not grow, a tilt beyond the vertical.
    pub fn new(breaks_m: Vec<f64>, tilt_rad: Vec<f64>) -> Result<Self, Error> {
        require_count("breaks_m", &breaks_m, 2)?;
        require_length("tilt_rad", tilt_rad.len(), "the gaps between breaks_m", breaks_m.len() - 1)?;
        require_growing("breaks_m", &breaks_m)?;
        require_tilts(&tilt_rad)?;
        Ok(Self { breaks_m, tilt_rad })
    }

    /// One segment a reading. Segments meet half way between readings; the outer two end at their own readings.
    ///
    /// ```
    /// # use fallwise::Chain;
    /// let chain = Chain::raw(&[0.0, 1.0, 2.0], &[0.02, 0.01, 0.03])?;
    /// assert_eq!(chain.breaks_m, [0.0, 0.5, 1.5, 2.0]);
    /// # Ok::<(), fallwise::Error>(())
    /// ```
    ///
    /// # Errors
    /// [`Error::TooFew`] below two readings, [`Error::Length`], [`Error::Value`] as for [`Chain::new`].
    pub fn raw(station_m: &[f64], tilt_rad: &[f64]) -> Result<Self, Error> {
        let (first, last) = require_stations(station_m)?;
        require_length("tilt_rad", tilt_rad.len(), "station_m", station_m.len())?;
        let mut breaks_m = Vec::with_capacity(station_m.len() + 1);
        breaks_m.push(first);
        breaks_m.extend(station_m.windows(2).map(|pair| half_way(pair[0], pair[1])));
        breaks_m.push(last);
        Self::new(breaks_m, tilt_rad.to_vec())
    }

    /// Weighted means of the readings between known breaks. Readings outside the breaks are not used.
    ///
    /// ```
    /// # use fallwise::Chain;
    /// let chain = Chain::given(&[0.5, 1.0, 2.0, 3.5], &[0.02, 0.04, 0.01, 0.01], &[1.0; 4], &[0.0, 1.5, 4.0])?;
    /// assert_eq!(chain.tilt_rad, [0.03, 0.01]);
    /// # Ok::<(), fallwise::Error>(())
    /// ```
    ///
    /// # Errors
    /// [`Error::NoReading`] for a segment without a reading of positive weight; [`Error::TooFew`],
    /// [`Error::Length`], [`Error::Value`] as for [`Chain::new`], and for a weight that is negative or not finite.
    pub fn given(station_m: &[f64], tilt_rad: &[f64], weight: &[f64], breaks_m: &[f64]) -> Result<Self, Error> {
        require_count("breaks_m", breaks_m, 2)?;
        let tilts = means_between(station_m, tilt_rad, weight, breaks_m)?
            .into_iter()
            .zip(breaks_m.windows(2))
            .map(|(segment, ends)| segment.mean_rad.ok_or(Error::NoReading { from_m: ends[0], to_m: ends[1] }))
            .collect::<Result<_, _>>()?;
        Self::new(breaks_m.to_vec(), tilts)
    }

    /// The penalised optimum of [`fit`], with a segment end at each of `hard_breaks_m` whatever the readings say.
    ///
    /// The other ends lie half way between the two readings (with weight) on either side; the first and last are the
    /// first and last station. A reading on a hard break belongs to the segment after it.
    ///
    /// ```
    /// # use fallwise::chain::{Chain, FitOptions};
    /// let station_m: Vec<f64> = (0..40).map(|i| 0.1 * f64::from(i)).collect();
    /// let tilt_rad: Vec<f64> = (0..40).map(|i| if i < 25 { 0.02 } else { -0.01 } + 1e-4 * f64::from(i * 7 % 5)).collect();
    /// let (chain, fit) = Chain::fitted(&station_m, &tilt_rad, &[1.0; 40], &[], &FitOptions::default())?;
    /// assert_eq!(fit.starts, [0, 25]);
    /// assert!((chain.breaks_m[1] - 2.45).abs() < 1e-12);
    /// # Ok::<(), fallwise::Error>(())
    /// ```
    ///
    /// # Errors
    /// [`Error::TooFew`] below two readings; [`Error::Outside`] for a hard break that is not between the first and
    /// last station; [`Error::NoReading`] for a stretch between hard breaks without a reading of positive weight;
    /// [`Error::Length`], [`Error::Value`] as for [`Chain::new`] and [`fit`].
    pub fn fitted(
        station_m: &[f64],
        tilt_rad: &[f64],
        weight: &[f64],
        hard_breaks_m: &[f64],
        options: &FitOptions,
    ) -> Result<(Self, Fit), Error> {
        let (first, last) = require_stations(station_m)?;
        require_length("tilt_rad", tilt_rad.len(), "station_m", station_m.len())?;
        require_tilts(tilt_rad)?;
        require_growing("hard_breaks_m", hard_breaks_m)?;
        for &at in hard_breaks_m {
            if at <= first || at >= last {
                let what = "a hard break".to_owned();
                return Err(Error::Outside { what, station_m: at, from_m: first, to_m: last });
            }
        }
        let parts: Vec<f64> = [&[first], hard_breaks_m, &[last]].concat();
        for (part, ends) in means_between(station_m, tilt_rad, weight, &parts)?.iter().zip(parts.windows(2)) {
            if part.count == 0 {
                return Err(Error::NoReading { from_m: ends[0], to_m: ends[1] });
            }
        }
        let hard: Vec<usize> = hard_breaks_m.iter().map(|&at| station_m.partition_point(|&s| s < at)).collect();
        let fit = fit(tilt_rad, weight, &hard, options)?;
        let mut breaks_m = Vec::with_capacity(fit.starts.len() + 1);
        breaks_m.push(first);
        for &start in fit.starts.iter().skip(1) {
            breaks_m.push(match hard.binary_search(&start) {
                Ok(k) => hard_breaks_m[k],
                Err(_) => half_way(last_weighted(station_m, weight, start), station_m[start]),
            });
        }
        breaks_m.push(last);
        Ok((Self::new(breaks_m, fit.means.clone())?, fit))
    }

    /// Indices of the readings in each segment; `station_m` must grow. Readings outside the chain are in none.
    pub fn ranges(&self, station_m: &[f64]) -> Vec<Range<usize>> {
        ranges(station_m, &self.breaks_m)
    }

    /// Weighted mean, sum of weights and count of the readings in each segment.
    ///
    /// # Errors
    /// [`Error::Length`] and [`Error::Value`] for readings as for [`Chain::given`]; a segment without a reading is
    /// none.
    pub fn means(&self, station_m: &[f64], tilt_rad: &[f64], weight: &[f64]) -> Result<Vec<SegmentMean>, Error> {
        means_between(station_m, tilt_rad, weight, &self.breaks_m)
    }
}

fn means_between(
    station_m: &[f64],
    tilt_rad: &[f64],
    weight: &[f64],
    breaks_m: &[f64],
) -> Result<Vec<SegmentMean>, Error> {
    require_length("tilt_rad", tilt_rad.len(), "station_m", station_m.len())?;
    require_length("weight", weight.len(), "station_m", station_m.len())?;
    require_growing("station_m", station_m)?;
    require_growing("breaks_m", breaks_m)?;
    require_tilts(tilt_rad)?;
    fit::require_weights("weight", weight)?;
    let segment = |readings: Range<usize>| {
        let (values, weights) = (&tilt_rad[readings.clone()], &weight[readings.clone()]);
        let count = weights.iter().filter(|&&w| w > 0.0).count();
        let mean_rad = (count > 0).then(|| fit::weighted_mean(values, weights));
        SegmentMean { readings, count, weight: weights.iter().sum(), mean_rad }
    };
    Ok(ranges(station_m, breaks_m).into_iter().map(segment).collect())
}

/// Half-open ranges of readings between breaks; the last range holds the reading on its end.
fn ranges(station_m: &[f64], breaks_m: &[f64]) -> Vec<Range<usize>> {
    let last = breaks_m.len().saturating_sub(1);
    let cut = |(k, &at): (usize, &f64)| station_m.partition_point(|&s| if k < last { s < at } else { s <= at });
    let cuts: Vec<usize> = breaks_m.iter().enumerate().map(cut).collect();
    cuts.windows(2).map(|pair| pair[0]..pair[1]).collect()
}

/// Half way between two stations, always after the first, so that each keeps its own side.
fn half_way(before_m: f64, after_m: f64) -> f64 {
    let middle = 0.5 * before_m + 0.5 * after_m;
    if middle > before_m { middle } else { after_m }
}

/// Station of the last reading with weight before `start`, which the fit has put there.
fn last_weighted(station_m: &[f64], weight: &[f64], start: usize) -> f64 {
    // Cut before they are zipped: from the back, a zip of which so many are taken first steps over all the others.
    let before = weight[..start].iter().zip(&station_m[..start]);
    before.rev().find(|(w, _)| **w > 0.0).map_or(station_m[start], |(_, s)| *s)
}

fn require_count(field: &str, values: &[f64], needed: usize) -> Result<(), Error> {
    if values.len() >= needed {
        return Ok(());
    }
    Err(Error::TooFew { field: field.to_owned(), found: values.len(), needed })
}

fn require_growing(field: &str, values: &[f64]) -> Result<(), Error> {
    require_finite(field, values)?;
    match values.windows(2).position(|pair| pair[1] <= pair[0]) {
        Some(i) => Err(Error::at(field, i + 1, values[i + 1], format!("more than the one before, {}", values[i]))),
        None => Ok(()),
    }
}

/// First and last of at least two stations that grow.
fn require_stations(station_m: &[f64]) -> Result<(f64, f64), Error> {
    require_growing("station_m", station_m)?;
    match station_m {
        [first, .., last] => Ok((*first, *last)),
        _ => Err(Error::TooFew { field: "station_m".to_owned(), found: station_m.len(), needed: 2 }),
    }
}

fn require_tilts(tilt_rad: &[f64]) -> Result<(), Error> {
    require_finite("tilt_rad", tilt_rad)?;
    match tilt_rad.iter().position(|t| t.abs() > core::f64::consts::FRAC_PI_2) {
        Some(i) => Err(Error::at("tilt_rad", i, tilt_rad[i], "between -pi/2 and pi/2 (straight up and down)")),
        None => Ok(()),
    }
}

#[cfg(test)]
#[path = "chain_tests.rs"]
mod tests;
