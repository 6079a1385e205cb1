//! The exact penalised optimum of a piecewise-constant mean.
//!
//! Minimised is what the readings cost about the mean of their segment, by squares or by the biweight loss ([`Loss`]),
//! plus a penalty for each break, over all means and all segmentations whose segments have enough readings. The search
//! is in `envelope`; here are the rules, the units and the figures that come back.
//!
//! | loss | spikes |
//! | --- | --- |
//! | squares | to be taken out before, as [`crate::condition`] does; one that is left becomes a segment |
//! | biweight | left in: the loss sets them aside, and no other filter should run before |
//!
//! The default, and what a lateral takes, is squares behind the filter of spikes. The biweight loss sets aside a lip passing
//! under the head as it does spikes, and with it the lip's fall; and of a display much coarser than the noise it sets aside
//! the readings on one side. It is better where spikes come in pairs of one sign, which the filter takes for a lip. The
//! figures are in DEVELOPERS.md.
//!
//! The penalty, unless given, is 3 ln n times the noise variance of a reading of weight 1 (so in units of the data squared:
//! degrees and radians give the same breaks), n being the number of readings with weight of all stretches together, whatever
//! their weights are ([`default_penalty`]).
//!
//! Values are centred on their median, which keeps the search precise.
//!
//! Not modelled: noise that is correlated from reading to reading.

use core::ops::{Range, RangeInclusive};

use super::envelope::{Rules, Search};
use crate::error::{Error, require_finite, require_length};
use crate::math;
use crate::prelude::*;

/// The least noise assumed, as a part of the largest departure from the median: without it noise-free readings would
/// have no penalty and split everywhere.
pub const LEAST_NOISE: f64 = 1e-9;

/// Values up to here and weights within these bounds keep every square and sum far from overflow.
const LARGEST_VALUE: f64 = 1e100;
const WEIGHTS: Range<f64> = 1e-50..1e50;
const PENALTIES: Range<f64> = 1e-12..1e50;

/// Threshold of the biweight loss in sds of the noise, unless given: that of Fearnhead and Rigaill 2019 (Journal of the
/// American Statistical Association 114:169-183; the value from memory). Of normal readings 0.3 % lie beyond.
pub const BIWEIGHT_THRESHOLD_SDS: f64 = 3.0;

const THRESHOLDS: RangeInclusive<f64> = 1.0..=1e6;

/// What a reading y of weight w costs in a segment of mean mu, s being the noise of a reading of weight 1.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Loss {
    /// w (y - mu)^2. A spike costs without bound and becomes a segment of its own: spikes must be taken out before the
    /// fit, as [`crate::condition`] does.
    #[default]
    Squares,
    /// w min((y - mu)^2, K^2 s^2) (Fearnhead and Rigaill 2019, Changepoint detection in the presence of outliers,
    /// Journal of the American Statistical Association 114:169-183): beyond K s a reading says only that it is apart,
    /// no longer how far. No other spike filter should run before. The distance is the same for light readings as for
    /// heavy ones.
    ///
    /// r readings of weight 1 in a row, apart from both sides, are set aside while r K^2 is less than two penalties
    /// (both in units of the noise), and are a segment beyond that: with K = 3 and the default penalty from the fourth
    /// in a row among 300 readings, from the seventh among 10,000. What changes for good is a break if at least
    /// penalty / K^2 readings follow (2 and 4). A reading set aside at a break belongs to the segment after it, since of
    /// equal costs the earlier break is taken.
    Biweight {
        /// K, from 1 to 1e6.
        threshold_sds: f64,
    },
}

impl Loss {
    /// The biweight loss with [`BIWEIGHT_THRESHOLD_SDS`].
    pub fn biweight() -> Self {
        Self::Biweight { threshold_sds: BIWEIGHT_THRESHOLD_SDS }
    }
}

/// How to fit.
#[derive(Debug, Clone, PartialEq)]
pub struct FitOptions {
    /// What departures from the mean cost.
    pub loss: Loss,
    /// Noise of a reading of weight 1, in the unit of the values; absent: estimated as [`math::spread_sd`] does for
    /// unrounded readings. Give it for readings shown to a coarse resolution.
    pub noise_sd: Option<f64>,
    /// Penalty for a break in units of the noise variance; absent: [`default_penalty`].
    pub penalty: Option<f64>,
    /// Least number of readings with weight in a segment, at least 1, which is the default. Stretches between hard breaks
    /// that have fewer stay whole. A [`Lateral`](crate::Lateral) asks for as many as are usual in one length of the head.
    pub least_readings: usize,
}

impl Default for FitOptions {
    fn default() -> Self {
        Self { loss: Loss::Squares, noise_sd: None, penalty: None, least_readings: 1 }
    }
}

/// A penalised segmentation.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Index of the first reading of each segment; begins with 0. Apart from the first and from hard breaks it is a
    /// reading with weight.
    pub starts: Vec<usize>,
    /// Mean of each segment, where its cost is least: the weighted mean of its readings; with the biweight loss that of
    /// those within the threshold of it (where two cost the same, one of them).
    pub means: Vec<f64>,
    /// Sum of what the readings cost plus penalties (none for hard breaks), in units of the data squared.
    pub cost: f64,
    /// Penalty of one break, in units of the data squared.
    pub penalty: f64,
    /// Noise of a reading of weight 1, as used.
    pub noise_sd: f64,
}

/// Penalty for a break among `count` readings, in units of the noise variance: 3 ln n.
///
/// 2 ln n is Schwarz's criterion with two parameters a break, its place and the new mean (Yao 1988, Statistics and
/// Probability Letters 6:181-189, from memory). It counts the place as if it were a regular parameter; allowing for
/// the many places a break could be makes it about 3 ln n (Zhang and Siegmund 2007, Biometrics 63:22-32, from memory).
/// The higher one is taken: a break that is not there costs a survey more than a faint one missed. Of 1,000 runs of
/// pure noise, its sd estimated, 128, 30, 11 were broken at 2 ln n for 100, 600, 2,000 readings, and 11, 0, 0 at 3 ln n.
pub fn default_penalty(count: usize) -> f64 {
    3.0 * math::ln(count.max(2) as f64)
}

/// Penalised optimum of a piecewise-constant mean: exact to 1e-9 of its cost, in linear memory.
///
/// `values` and `weights` go together; a reading of weight 0 is passed over. `hard_breaks` are indices (growing, from 1
/// to the last) of readings that begin a segment in any case: the stretches between them are separate problems, and
/// the penalty does not count them. Of segmentations that cost the same (to 1e-11 of a penalty) the one with the fewest
/// breaks is taken, of those the one whose last break is earliest, then the last but one, and so on; with either loss
/// and any least length. The unit of the values does not matter, nor does a constant added to them. The noise used is
/// at least [`LEAST_NOISE`] of the largest departure from the median (and a few roundings of the largest value).
///
/// Time grows with the number of readings, whatever the breaks; with a least length, also with that. The biweight loss
/// takes two to three times as long as squares, and grows with the square of the number only where most readings are
/// farther than the threshold from any mean, which noise given far too small brings about.
///
/// ```
/// # use fallwise::chain::{FitOptions, fit};
/// let found = fit(&[0.1, 0.0, 0.1, 5.0, 5.1, 5.0], &[1.0; 6], &[], &FitOptions::default())?;
/// assert_eq!(found.starts, [0, 3]);
/// # Ok::<(), fallwise::Error>(())
/// ```
///
/// # Errors
/// [`Error::TooFew`] without a value; [`Error::Length`] unless there are as many weights; [`Error::Value`] for a value
/// beyond 1e100, a weight that is neither 0 nor within 1e-50 to 1e50, hard breaks that do not grow or leave a stretch
/// without weight, noise that is negative or beyond 1e100, a penalty not within 1e-12 to 1e50, a threshold not within 1
/// to 1e6, a least length of 0.
pub fn fit(values: &[f64], weights: &[f64], hard_breaks: &[usize], options: &FitOptions) -> Result<Fit, Error> {
    if values.is_empty() {
        return Err(Error::TooFew { field: "values".to_owned(), found: 0, needed: 1 });
    }
    require_length("weights", weights.len(), "values", values.len())?;
    require_values("values", values)?;
    require_weights("weights", weights)?;
    let stretches = stretches(weights, hard_breaks)?;

    let seen: Vec<usize> = (0..values.len()).filter(|&i| weights[i] > 0.0).collect();
    let w: Vec<f64> = seen.iter().map(|&i| weights[i]).collect();
    let mut z: Vec<f64> = seen.iter().map(|&i| values[i]).collect();
    let centre = math::median(&mut z.clone());
    let largest = z.iter().fold(0.0, |most: f64, v| most.max(v.abs()));
    for v in &mut z {
        *v -= centre;
    }
    let departure = z.iter().fold(0.0, |most: f64, v| most.max(v.abs()));

    let noise_sd = match options.noise_sd {
        Some(sd) if !(0.0..=LARGEST_VALUE).contains(&sd) => {
            return Err(Error::value("noise_sd", sd, "a number from 0 to 1e100"));
        }
        Some(sd) => sd,
        None => math::spread_sd(&z, &w, 0.0),
    };
    // Four roundings of the largest value: what a constant offset has cost the readings before they came here. The
    // last figure only keeps the penalty a normal number when all values are 0.
    let noise_sd = noise_sd.max(LEAST_NOISE * departure).max(4.0 * f64::EPSILON * largest).max(1e-100);
    let factor = options.penalty.unwrap_or_else(|| default_penalty(seen.len()));
    if !PENALTIES.contains(&factor) {
        return Err(Error::value("penalty", factor, "a number from 1e-12 to 1e50"));
    }
    let penalty = factor * noise_sd * noise_sd;

    let threshold = match options.loss {
        Loss::Squares => f64::INFINITY,
        Loss::Biweight { threshold_sds } if THRESHOLDS.contains(&threshold_sds) => threshold_sds * noise_sd,
        Loss::Biweight { threshold_sds } => {
            return Err(Error::value("loss.threshold_sds", threshold_sds, "a number from 1 to 1e6"));
        }
    };
    if options.least_readings == 0 {
        return Err(Error::value("least_readings", 0, "1 or more"));
    }
    let rules = Rules { penalty, threshold, least: options.least_readings };

    let mut found = Fit { starts: Vec::new(), means: Vec::new(), cost: 0.0, penalty, noise_sd };
    let mut search = Search::default();
    let mut from = 0;
    for stretch in stretches {
        let to = from + seen[from..].partition_point(|&i| i < stretch.end);
        let segments = search.optimum(&z[from..to], &w[from..to], &rules);
        let ends = segments.iter().skip(1).map(|next| next.begin).chain([to - from]);
        for (segment, end) in segments.iter().zip(ends) {
            let (z, w) = (&z[from + segment.begin..from + end], &w[from + segment.begin..from + end]);
            let mean =
                if threshold.is_finite() { mean_within(threshold, segment.mean, z, w) } else { weighted_mean(z, w) };
            found.starts.push(if segment.begin == 0 { stretch.start } else { seen[from + segment.begin] });
            found.means.push(mean + centre);
            let most = threshold * threshold;
            found.cost += z.iter().zip(w).map(|(z, w)| w * ((z - mean) * (z - mean)).min(most)).sum::<f64>();
        }
        found.cost += penalty * (segments.len() - 1) as f64;
        from = to;
    }
    Ok(found)
}

/// Ranges of readings between hard breaks, each with some weight.
fn stretches(weights: &[f64], hard_breaks: &[usize]) -> Result<Vec<Range<usize>>, Error> {
    let mut stretches = Vec::with_capacity(hard_breaks.len() + 1);
    let mut start = 0;
    for (i, &end) in hard_breaks.iter().enumerate() {
        if end <= start || end >= weights.len() {
            return Err(Error::at("hard_breaks", i, end, "growing indices of readings, from 1 to the last"));
        }
        stretches.push(start..end);
        start = end;
    }
    stretches.push(start..weights.len());
    let empty = |range: &Range<usize>| weights[range.clone()].iter().all(|&w| w <= 0.0);
    match stretches.iter().find(|range| empty(range)) {
        Some(range) => Err(Error::at("weights", range.start, "0", "a positive weight in every stretch")),
        None => Ok(stretches),
    }
}

/// Weighted mean; the weights are not all 0.
pub(super) fn weighted_mean(values: &[f64], weights: &[f64]) -> f64 {
    let total: f64 = weights.iter().sum();
    let about = |origin: f64| values.iter().zip(weights).map(|(v, w)| w * (v - origin)).sum::<f64>() / total;
    // The second round takes away the rounding of the first.
    let mean = about(0.0);
    mean + about(mean)
}

/// Weighted mean of the readings within the threshold of `about`, the mean to its last roundings.
///
/// It costs no more than `about` does, also where a reading lies on the threshold itself.
fn mean_within(threshold: f64, about: f64, values: &[f64], weights: &[f64]) -> f64 {
    let within = values.iter().zip(weights).filter(|(v, _)| (*v - about).abs() <= threshold);
    let (values, weights): (Vec<f64>, Vec<f64>) = within.unzip();
    // Two readings exactly twice the threshold apart, and nothing else: rounding may leave neither.
    if values.is_empty() { about } else { weighted_mean(&values, &weights) }
}

/// Refuses values that are not finite or whose squares could overflow.
pub(super) fn require_values(field: &str, values: &[f64]) -> Result<(), Error> {
    require_finite(field, values)?;
    match values.iter().position(|v| v.abs() > LARGEST_VALUE) {
        Some(i) => Err(Error::at(field, i, values[i], "a number within 1e100 of 0")),
        None => Ok(()),
    }
}

/// Refuses weights that are neither 0 nor within bounds.
pub(super) fn require_weights(field: &str, weights: &[f64]) -> Result<(), Error> {
    // Both zeros are 0; NaN is in no range.
    match weights.iter().position(|w| !(*w == 0.0 || WEIGHTS.contains(w))) {
        Some(i) => Err(Error::at(field, i, weights[i], "0, or a weight from 1e-50 to 1e50")),
        None => Ok(()),
    }
}
