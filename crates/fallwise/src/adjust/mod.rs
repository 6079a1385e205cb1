//! The posterior of a chain: what the readings and the instrument's prior say of every tilt, together.
//!
//! # The model
//! A *setup* is what was read with the head seated one way: the pushes of a run, or its pull-backs. The mean reading of
//! setup r over segment k is
//!
//! m(k, r) = t(k) + s(r) [b(r) + d(run) u(k, r) + c v(k, r)] + e(k, r)
//!
//! with t the tilt of the segment, s(r) = +1 for a run towards growing station and -1 for a run the other way, b(r) the
//! offset of the setup (zero error of the head plus its seating), d the drift of the run and u the mean share of it that was
//! left, c the error across the axis of the head and v the mean sine of the roll (where it was logged), and e the noise:
//! sd²/(sum of weights) for the readings' own noise, plus the part of the rounding that does not average out, plus the part of
//! the zero that varies along the run.
//!
//! Prior: b(r) has the instrument's zero as mean and the covariance zero_sd² (one head serves all setups) + seating_sd²
//! (one for each) + the part of the rounding that does not average out. The latter stands here *and* in e(k, r):
//! it depends on where the true tilt lies between two steps of the display, which sticks of one slope share and others
//! do not, and neither may be relied on. d and c have mean 0 and the instrument's standard deviations. Tilts have no prior; they
//! are eliminated (`linear`).
//!
//! # What the standard deviations include
//! Noise, rounding, zero error, seating and the counter's scale; where segments were found in the readings, also that
//! they were: [`Posterior::refined`] puts an average over segmentations in the place of the segments' own noise. Drift, roll
//! that was logged and lips at joints that nobody noted as far as the instrument states them; readings on which a break lies
//! under the head are to be left out of the means. What is not modelled, [`not_covered`] says in every output.
//!
//! # What is fixed
//! Heights are relative to the first node of the lateral. With one run, the zero error is not observable: its posterior is its
//! prior, and it moves every slope alike. The pull-backs of a run do not change that, whatever they agree on: they look the same
//! way. They average the noise, and the two seatings. A run the other way does, and so does what is known beside the readings: [`ties`].
//!
//! | file | contents |
//! | --- | --- |
//! | this one | [`adjust()`]: from mean readings to the [`Posterior`]; what it leaves uncovered |
//! | `check`, `linear`, `shared` | what goes in is checked; the linear problem; the errors that setups share |
//! | `scatter`, `draws` | draws of the average over segmentations; draws of whole profiles |
//! | `functional`, `heights` | slopes, falls and heights with their derivatives; all heights at once |
//! | `agree` | runs that contradict each other |
//! | `ties` | what else is known, put in |
//! | `coordinates`, `basis`, `tied` | independent unit errors; orthonormal vectors; the posterior after ties |
//! | `origins`, `budget` | what these errors are made of as they enter; how much of a figure's error each makes, covariances |
//! | `beside` | two surveys whose heads had one zero error |

mod agree;
mod basis;
mod beside;
mod budget;
mod check;
mod coordinates;
mod draws;
mod functional;
mod heights;
mod linear;
mod origins;
mod scatter;
mod shared;
mod tied;
pub mod ties;

pub use agree::{Contradicted, contradicted};
pub use beside::{Change, Shared, Surveyed, change};
pub use budget::{Cause, Correlated, Figure, HeightCovariance};
pub(crate) use check::instrument as check_instrument;
pub use draws::Ensemble;
pub use functional::{Functional, Lips};
pub use heights::Anchor;
pub use scatter::Scatter;
pub use tied::First;

use alloc::sync::Arc;

use linear::Observation;
use origins::Origins;
use serde::{Deserialize, Serialize};

use shared::Errors;

use crate::prelude::*;
use crate::{
    chain::{Averaged, Chain},
    error::Error,
    model::{Bend, Instrument, Step},
    said,
    units::Said,
    word,
};

/// Two-sided 95 % of the normal distribution.
pub const Z_95: f64 = 1.959_963_984_540_054;

/// Smallest variance of a segment mean, rad²: a tenth of a microradian squared, four orders below any sensor. Where a user
/// states that there is no noise at all it keeps weights finite, and small enough beside the prior's that the 1 in I + M P
/// keeps six digits.
const LEAST_VARIANCE: f64 = 1e-14;

/// Weights of segment means, in readings.
const WEIGHTS: core::ops::RangeInclusive<f64> = 1e-9..=1e9;

/// Name of the parameter that is the zero error of the head.
pub const ZERO: &str = word!("zero_rad");
/// Name of the parameter that is the counter's scale error.
pub const SCALE: &str = word!("counter_scale");
/// Name of the parameter that is its error across the axis.
pub const ACROSS: &str = word!("across_axis_rad (enters by the sine of the roll)");

/// What the intervals do not cover, in sentences for every output. `roll_logged`: whether every run says how the head lay.
pub fn not_covered(instrument: &Instrument, roll_logged: bool, several_ties: bool) -> Vec<Said> {
    let mut told = Vec::new();
    if instrument.drift_sd_rad == 0.0 {
        told.push(said!("The head is taken not to drift while it cools down from a warm van to the drain."));
    }
    if !roll_logged && instrument.wander_sd_rad == 0.0 {
        told.push(said!(
            "The head is taken to keep itself upright: roll was not logged, and a head that rolls reads some tenths of \
             a degree wrong."
        ));
    }
    if instrument.correlation_m == Some(0.0) {
        told.push(said!("Noise is taken as independent from reading to reading."));
    } else {
        told.push(said!(
            "Noise that hangs together over more than a few metres cannot be told from the shape of the pipe."
        ));
    }
    if instrument.lip_sd_m == 0.0 {
        told.push(said!("Joints are taken to have no lip but those that were noted: a tilt sensor does not see one."));
    } else {
        told.push(said!(
            "Lips at joints that nobody noted are allowed for in heights and falls; the water that a lip holds is not \
             shown."
        ));
    }
    told.push(said!(
        "Where the head did not lie on the bottom of the pipe (debris, deep water), only a note that says so is allowed \
         for."
    ));
    if several_ties {
        told.push(said!(
            "What was measured beside the runs is taken to err each by itself: an error that several have in common (one \
             locator, one benchmark) is not allowed for."
        ));
    }
    told.push(said!("All intervals hold only if the stated error sources are the only ones."));
    told
}

/// A value with its standard deviation and 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Estimate {
    /// Value.
    pub value: f64,
    /// Standard deviation.
    pub sd: f64,
    /// Low end of the two-sided 95 % interval.
    pub low: f64,
    /// High end.
    pub high: f64,
}

impl Estimate {
    /// The normal estimate with this value and standard deviation.
    pub fn new(value: f64, sd: f64) -> Self {
        Self { value, sd, low: value - Z_95 * sd, high: value + Z_95 * sd }
    }
}

/// Mean reading of one setup over one segment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SegmentMean {
    /// Segment, from 0.
    pub segment: usize,
    /// Setup, from 0.
    pub setup: usize,
    /// Weighted mean, rad, sign put right, zero error still in it.
    pub mean_rad: f64,
    /// Sum of the weights.
    pub weight: f64,
    /// Number of readings with a weight.
    pub readings: usize,
    /// Mean over its readings of the share of the drift that is left, exp(-t / drift time): 1 at the start of the run.
    pub drift_share: f64,
    /// Mean over its readings of the sine of the roll; 0 where no roll is logged.
    pub roll_sine: f64,
}

/// What is the same for all readings of a setup.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SetupNoise {
    /// Which run it is of, from 0.
    pub run: usize,
    /// Whether the head was pulled back rather than pushed.
    pub pulled: bool,
    /// +1 for a run towards growing station, -1 the other way.
    pub zero_sign: f64,
    /// Noise of one reading before rounding, rad.
    pub noise_sd_rad: f64,
    /// Standard deviation of the part of the rounding that does not average out, rad.
    pub rounding_sd_rad: f64,
}

/// An error that moves many tilts at once; one unit normal each.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    /// What it is.
    pub name: String,
    /// Change of each tilt for one standard deviation of it, rad.
    pub tilt_rad: Vec<f64>,
    /// Whether it varies within a segment.
    pub varying: Option<Varying>,
}

/// An error that is not the same for all readings of a segment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Varying {
    /// Drift of a run, from 0, of so much at its start, rad.
    Drift {
        /// Which run.
        run: usize,
        /// Standard deviation that this source stands for, rad.
        sd_rad: f64,
    },
    /// Error across the axis of the head.
    Across {
        /// Standard deviation that this source stands for, rad.
        sd_rad: f64,
    },
}

/// A parameter of the instrument, before and after the run.
#[derive(Debug, Clone, PartialEq)]
pub struct Parameter {
    /// Name.
    pub name: Said,
    /// Posterior mean.
    pub value: f64,
    /// Posterior standard deviation.
    pub sd: f64,
    /// Prior mean.
    pub prior: f64,
    /// Prior standard deviation.
    pub prior_sd: f64,
    /// What each of the posterior's sources moves it by.
    by_source: Vec<f64>,
    /// What of it no source has, so that no reading tells it: independent errors, the last of which is the zero's own.
    own: Vec<f64>,
}

impl Parameter {
    fn own_sd(&self) -> f64 {
        self.own.iter().map(|own| own * own).sum::<f64>().sqrt()
    }
}

/// The datum that as-built inverts give.
#[derive(Debug, Clone, PartialEq)]
pub struct Datum {
    /// Elevation of the first node, m.
    pub elevation_m: f64,
    /// The source that moves it, and by how much, m.
    pub source: Option<(usize, f64)>,
}

impl Datum {
    fn by_source(&self, source: usize) -> f64 {
        self.source.filter(|(i, _)| *i == source).map_or(0.0, |(_, m)| m)
    }
}

/// Posterior of a chain. Before ties tilts are jointly normal, with covariance diag(white²) + Σ source sourceᵀ, and the counter's
/// scale, the steps and the bends are independent of them. With [`ties`](Self::with_ties) the means are those after them; the
/// standard deviations that stand here remain those of the independent errors before them, of which the ties leave less:
/// [`Self::estimate`] and the draws know how much.
#[derive(Debug, Clone, PartialEq)]
pub struct Posterior {
    /// Mean tilt of each segment, rad.
    pub tilt_rad: Vec<f64>,
    /// Standard deviation of the part that is each segment's own, rad.
    pub white_sd_rad: Vec<f64>,
    /// Draws of the part that is each segment's own, where segments were found in the readings; then the above is 0.
    pub scatter: Option<Scatter>,
    /// Shared errors.
    pub sources: Vec<Source>,
    /// Mean of true length over station difference.
    pub scale: f64,
    /// Its standard deviation.
    pub scale_sd: f64,
    /// Rise of each noted step, m.
    pub step_rise_m: Vec<f64>,
    /// Standard deviations of the rises, m.
    pub step_sd_m: Vec<f64>,
    /// Angle of each noted bend, rad, positive to the right.
    pub bend_rad: Vec<f64>,
    /// Their standard deviations, rad, before ties.
    pub bend_sd_rad: Vec<f64>,
    /// Variance of height from lips at joints that nobody noted, m² for each metre of station.
    pub lip_variance_m: f64,
    /// The datum, where as-built inverts give one.
    pub datum: Option<Datum>,
    /// The zero is left to checks of the head: its standard deviation here is so wide that it says nothing, and the first check is
    /// needed to say anything of it.
    pub zero_is_open: bool,
    /// What ties leave of all these errors.
    tied: Option<Box<tied::Tied>>,
    /// Offset of each setup, rad: zero error and seating, as they enter its readings.
    pub offset_rad: Vec<f64>,
    /// Parameters for the report.
    pub parameters: Vec<Parameter>,
    /// What the readings' own errors and the sources are made of.
    origins: Option<Arc<Origins>>,
}

/// Posterior of a chain from the mean readings of its setups.
///
/// # Errors
/// [`Error::NoReading`] for a segment without a weighted reading, [`Error::Value`] for an instrument, noise or mean that
/// cannot be and for a mean of a segment or setup that is not there.
pub fn adjust(
    chain: &Chain,
    means: &[SegmentMean],
    setups: &[SetupNoise],
    instrument: &Instrument,
    steps: &[Step],
    bends: &[Bend],
) -> Result<Posterior, Error> {
    check::instrument(instrument)?;
    check::means(chain, means, setups)?;
    let segments = chain.tilt_rad.len();
    let errors = Errors::new(setups, means, instrument);
    let observations: Vec<Observation> = means.iter().map(|m| errors.observation(chain, m)).collect();
    let mut seen = vec![false; segments];
    for o in &observations {
        seen[o.tilt] = true;
    }
    if let Some(k) = seen.iter().position(|seen| !seen) {
        return Err(Error::NoReading { from_m: chain.breaks_m[k], to_m: chain.breaks_m[k + 1] });
    }
    let solved = linear::solve(segments, &observations, &errors.mean, &errors.covariance).ok_or_else(|| {
        let given = format!("{} setups", setups.len());
        Error::value("setups", given, "readings whose noise is not far below their zero error")
    })?;
    let count = errors.mean.len();
    let (mut sources, mut kept, mut untold) = (Vec::new(), Vec::new(), Vec::new());
    for j in (0..count).filter(|&j| (0..count).any(|i| solved.factor[(i, j)] != 0.0)) {
        let tilt_rad = solved.moved_by(j);
        if tilt_rad.iter().any(|t| *t != 0.0) {
            kept.push(j);
            let varying = errors.varying(j, solved.factor[(j, j)]);
            sources.push(Source { name: errors.names[j].clone(), tilt_rad, varying });
        } else {
            untold.push(j);
        }
    }
    // What a combination of the shared errors is moved by: by the sources, and by what moves no tilt.
    let moved = |share: &dyn Fn(usize) -> f64, own: f64| {
        let by = |j: &usize| (0..count).map(|i| share(i) * solved.factor[(i, *j)]).sum::<f64>();
        let by_source: Vec<f64> = kept.iter().map(by).collect();
        (by_source, untold.iter().map(by).chain([own]).collect::<Vec<f64>>())
    };
    let mut parameters: Vec<Parameter> = (0..count)
        .filter(|&i| i < setups.len() || errors.covariance[(i, i)] > 0.0)
        .map(|i| {
            let (by_source, own) = moved(&|of| if of == i { 1.0 } else { 0.0 }, 0.0);
            Parameter {
                name: errors.parameters[i].clone(),
                value: solved.shared[i],
                sd: solved.sd(i),
                prior: errors.mean[i],
                prior_sd: errors.prior_sd(i),
                by_source,
                own,
            }
        })
        .collect();
    let zero = Zero::of(&errors.own, instrument);
    let (by_source, own) = moved(&|i| zero.share.get(i).copied().unwrap_or(0.0), zero.own_sd);
    let shares = zero.share.iter().zip(&solved.shared);
    parameters.push(Parameter {
        name: Said::fixed(ZERO),
        value: instrument.zero_rad + shares.map(|(q, b)| q * (b - instrument.zero_rad)).sum::<f64>(),
        sd: by_source.iter().chain(&own).map(|x| x * x).sum::<f64>().sqrt(),
        prior: instrument.zero_rad,
        prior_sd: instrument.zero_sd_rad,
        by_source,
        own,
    });
    parameters.push(Parameter {
        name: Said::fixed(SCALE),
        value: instrument.counter_scale,
        sd: instrument.counter_scale_sd,
        prior: instrument.counter_scale,
        prior_sd: instrument.counter_scale_sd,
        by_source: Vec::new(),
        own: Vec::new(),
    });
    let origins = {
        let parts = means.iter().map(|m| errors.mean_parts(chain, m)).collect();
        Origins::of(&errors, (&observations, parts), &solved, (&kept, &untold), &zero)
    };
    Ok(Posterior {
        white_sd_rad: solved.weight.iter().map(|w| (1.0 / w).sqrt()).collect(),
        scale: 1.0 + instrument.counter_scale,
        scale_sd: instrument.counter_scale_sd,
        offset_rad: solved.shared.iter().take(setups.len()).copied().collect(),
        parameters,
        origins: Some(Arc::new(origins)),
        ..given(solved.tilt, None, sources, steps, bends)
    })
}

/// Posterior of tilts that are given: exact, or with a standard deviation each, or with shared errors.
pub fn given(
    tilt_rad: Vec<f64>,
    white_sd_rad: Option<Vec<f64>>,
    sources: Vec<Source>,
    steps: &[Step],
    bends: &[Bend],
) -> Posterior {
    let n = tilt_rad.len();
    Posterior {
        tilt_rad,
        white_sd_rad: white_sd_rad.unwrap_or_else(|| vec![0.0; n]),
        scatter: None,
        sources,
        scale: 1.0,
        scale_sd: 0.0,
        step_rise_m: steps.iter().map(|s| s.rise_m).collect(),
        step_sd_m: steps.iter().map(|s| s.rise_sd_m).collect(),
        bend_rad: bends.iter().map(|b| b.deflection_rad).collect(),
        bend_sd_rad: bends.iter().map(|b| b.deflection_sd_rad).collect(),
        lip_variance_m: 0.0,
        datum: None,
        zero_is_open: false,
        tied: None,
        offset_rad: Vec::new(),
        parameters: Vec::new(),
        origins: None,
    }
}

impl Posterior {
    /// The posterior of the cells of an average over segmentations: this one's shared errors, the average's own.
    ///
    /// `chain` is what this is the posterior of, and `from` the posterior whose offsets had been taken off the readings
    /// that were averaged: where another says more of a segment, its cells move with it.
    #[must_use]
    pub fn refined(&self, chain: &Chain, averaged: &Averaged, from: &Self) -> Self {
        let segments = self.tilt_rad.len();
        let middles = averaged.cells_m.windows(2).map(|ends| 0.5 * ends[0] + 0.5 * ends[1]);
        let parent: Vec<usize> = middles
            .map(|m| chain.breaks_m.partition_point(|b| *b <= m).saturating_sub(1).min(segments.saturating_sub(1)))
            .collect();
        let at = |values: &[f64], k: usize| values.get(k).copied().unwrap_or(0.0);
        let moved: Vec<f64> = parent.iter().map(|&k| at(&self.tilt_rad, k) - at(&from.tilt_rad, k)).collect();
        let source = |s: &Source| Source {
            name: s.name.clone(),
            varying: s.varying,
            tilt_rad: parent.iter().map(|&k| at(&s.tilt_rad, k)).collect(),
        };
        Self {
            tilt_rad: averaged.mean_rad.iter().zip(&moved).map(|(mean, moved)| mean + moved).collect(),
            white_sd_rad: vec![0.0; parent.len()],
            sources: self.sources.iter().map(source).collect(),
            scatter: Some(Scatter::new(averaged, moved)),
            ..self.clone()
        }
    }

    /// The same with errors more; `breaks_m` are the ends of the segments or cells, and each error is one of so many radians over a
    /// stretch, by its share of each of them.
    #[must_use]
    pub fn with_errors(mut self, breaks_m: &[f64], stretches: &[(String, (f64, f64), f64)]) -> Self {
        for (name, (from_m, to_m), sd_rad) in stretches {
            let share = |ends: &[f64]| match ends {
                [a, b] if b > a => (b.min(*to_m) - a.max(*from_m)).max(0.0) / (b - a),
                _ => 0.0,
            };
            let tilt_rad: Vec<f64> = breaks_m.windows(2).map(|ends| sd_rad * share(ends)).collect();
            if tilt_rad.iter().any(|t| *t != 0.0) {
                self.sources.push(Source { name: name.clone(), tilt_rad, varying: None });
            }
        }
        self
    }

    /// Standard deviation of the tilt of a segment, rad; 0 for a segment that is not there.
    pub fn tilt_sd_rad(&self, segment: usize) -> f64 {
        let tied = self.tied.as_ref().filter(|_| self.scatter.is_none());
        if let (Some(tied), Some(white_sd)) = (tied, self.white_sd_rad.get(segment)) {
            let shared: Vec<f64> =
                self.sources.iter().map(|s| s.tilt_rad.get(segment).copied().unwrap_or(0.0)).collect();
            if let Some(variance) = tied.tilt_variance(segment, *white_sd, &shared) {
                return variance.sqrt();
            }
        }
        self.tilt_covariance(segment, segment).sqrt()
    }

    /// A parameter of the report, by its name.
    pub fn parameter(&self, name: &str) -> Option<&Parameter> {
        self.parameters.iter().find(|p| p.name == name)
    }

    /// Covariance of the tilts of two segments, rad²; 0 for a segment that is not there.
    pub fn tilt_covariance(&self, first: usize, second: usize) -> f64 {
        if let Some(tied) = &self.tied {
            if first.max(second) >= self.tilt_rad.len() {
                return 0.0;
            }
            return tied.covariance(self, &self.tilt(first), &self.tilt(second));
        }
        let white = if first == second { self.white_sd_rad.get(first).map_or(0.0, |w| w * w) } else { 0.0 };
        let own = white + self.scatter.as_ref().map_or(0.0, |s| s.covariance(first, second));
        let shared: f64 =
            self.sources.iter().filter_map(|s| Some(s.tilt_rad.get(first)? * s.tilt_rad.get(second)?)).sum();
        own + shared
    }

    /// The tilt of one segment as a quantity.
    fn tilt(&self, segment: usize) -> Functional {
        let mut tilt = self.constant();
        if let (Some(g), Some(value)) = (tilt.tilt.get_mut(segment), self.tilt_rad.get(segment)) {
            *g = 1.0;
            tilt.value = *value;
        }
        tilt
    }

    /// A quantity that depends on nothing.
    fn constant(&self) -> Functional {
        Functional {
            value: 0.0,
            tilt: vec![0.0; self.tilt_rad.len()],
            scale: 0.0,
            step: vec![0.0; self.step_rise_m.len()],
            lips: Vec::new(),
            zero: 0.0,
            bend: vec![0.0; self.bend_sd_rad.len()],
            open: [0.0; Functional::OPEN],
        }
    }

    fn zero_parameter(&self) -> Option<&Parameter> {
        self.parameter(ZERO)
    }

    /// Where the first node is, as far as ties or as-built inverts say.
    pub fn first(&self) -> First {
        match (&self.tied, &self.datum) {
            (Some(tied), _) => tied.first,
            (None, Some(datum)) => First { elevation_m: Some(datum.elevation_m), ..First::default() },
            (None, None) => First::default(),
        }
    }

    /// Whether ties have been put in.
    pub fn is_tied(&self) -> bool {
        self.tied.is_some()
    }
}

impl SetupNoise {
    /// Its name in parameters and sources.
    fn name(&self) -> String {
        format!("run {}{}", self.run.saturating_add(1), if self.pulled { " pulled back" } else { "" })
    }

    /// Variance of a mean of readings of this weight, rad².
    fn mean_variance(&self, weight: f64) -> f64 {
        let (noise, rounding) = (self.noise_sd_rad, self.rounding_sd_rad);
        (noise * noise / weight + rounding * rounding).max(LEAST_VARIANCE)
    }
}

/// The zero error of the head as the offsets of its setups tell it, each of which is the zero plus `own` variance: z = z0 + Σ
/// share (b - z0) + own error.
struct Zero {
    share: Vec<f64>,
    own_sd: f64,
}

impl Zero {
    fn of(own: &[f64], instrument: &Instrument) -> Self {
        let prior_sd = instrument.zero_sd_rad;
        // An offset without anything of its own is the zero.
        if let Some(same) = own.iter().position(|d| *d == 0.0) {
            let share = (0..own.len()).map(|i| if i == same { 1.0 } else { 0.0 }).collect();
            return Self { share, own_sd: 0.0 };
        }
        let ratio: Vec<f64> = own.iter().map(|d| prior_sd * prior_sd / d).collect();
        let whole = 1.0 + ratio.iter().sum::<f64>();
        Self { share: ratio.iter().map(|q| q / whole).collect(), own_sd: prior_sd / whole.sqrt() }
    }
}

#[cfg(test)]
#[path = "adjust_tests.rs"]
mod tests;
