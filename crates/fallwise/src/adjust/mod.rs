//! The posterior of a chain: what the readings and the instrument's prior say of every tilt, together.
//!
//! # The model
//! A *setup* is what was read with the head seated one way: the pushes of a run, or its pull-backs. The mean reading of
//! setup r over segment k is
//!
//! m(k, r) = t(k) + s(r) b(r) + e(k, r)
//!
//! with t the tilt of the segment, s(r) = +1 for a run towards growing station and -1 for a run the other way, b(r) the
//! offset of the setup (zero error of the head plus its seating), and e the noise: sd²/(sum of weights) for the
//! readings' own noise, plus the part of the rounding that does not average out.
//!
//! Prior: b(r) has the instrument's zero as mean and the covariance zero_sd² (one head serves all setups) + seating_sd²
//! (one for each) + the part of the rounding that does not average out. The latter stands here *and* in e(k, r):
//! it depends on where the true tilt lies between two steps of the display, which sticks of one slope share and others
//! do not, and neither may be relied on. Tilts have no prior. The tilt block is diagonal and is eliminated, which leaves one unknown a
//! setup:
//!
//! M(r, q) = s(r) s(q) Σ_k [w(k,r) δ(r,q) - w(k,r) w(k,q)/W(k)],  C = P (I + M P)⁻¹,  b = b0 + C (y - M b0)
//!
//! (P prior, C posterior covariance; Koch, *Parameter Estimation and Hypothesis Testing in Linear Models*, 1999, §3.2.
//! In this form P may be singular: a zero known exactly is held exactly.)
//!
//! # What the standard deviations include
//! Noise, rounding, zero error, seating and the counter's scale; where segments were found in the readings, also that
//! they were: [`Posterior::refined`] puts an average over segmentations in the place of the segments' own noise. Drift,
//! roll and lips at joints that nobody noted are not modelled; readings on which a break lies under the head are to be left
//! out of the means. [`NOT_COVERED`] says so in every output.
//!
//! # What is fixed
//! Heights are relative to the first node of the lateral; an elevation given there adds its own standard deviation.
//! With one run, the zero error is not observable: its posterior is its prior, and it moves every slope alike. The
//! pull-backs of a run do not change that, whatever they agree on: they look the same way. They average the noise, and
//! the two seatings.

mod agree;
mod draws;
mod functional;
mod scatter;

pub use agree::{Contradicted, contradicted};
pub use draws::Ensemble;
pub use functional::Functional;
pub use scatter::Scatter;

use nalgebra::DMatrix;
use serde::{Deserialize, Serialize};

use crate::{
    chain::{Averaged, Chain},
    error::{Error, require_length},
    math,
    model::{Instrument, Step},
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
pub const ZERO: &str = "zero_rad";

/// What the intervals do not cover, in sentences for every output.
pub const NOT_COVERED: [&str; 5] = [
    "Drift of the head from a warm van to a cold drain and roll of the head are not modelled.",
    "Lips at joints that nobody noted are not seen by a tilt sensor and are not modelled.",
    "Noise is taken as independent from reading to reading.",
    "Where a display shows steps of more than three times the noise, the two cannot be told apart: intervals of bellies are \
     then too narrow.",
    "All intervals hold only if the stated error sources are the only ones.",
];

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
    /// Whether that was stated rather than estimated from the readings.
    pub noise_given: bool,
    /// Step of the readings, rad; 0 for none.
    pub resolution_rad: f64,
}

/// An error that moves many tilts at once; one unit normal each.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    /// What it is.
    pub name: String,
    /// Change of each tilt for one standard deviation of it, rad.
    pub tilt_rad: Vec<f64>,
}

/// A parameter of the instrument, before and after the run.
#[derive(Debug, Clone, PartialEq)]
pub struct Parameter {
    /// Name.
    pub name: String,
    /// Posterior mean.
    pub value: f64,
    /// Posterior standard deviation.
    pub sd: f64,
    /// Prior standard deviation.
    pub prior_sd: f64,
}

/// Posterior of a chain: tilts are jointly normal, with covariance diag(white²) + Σ source sourceᵀ; the counter's scale
/// and the steps are independent of them.
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
    /// Offset of each setup, rad: zero error and seating, as they enter its readings.
    pub offset_rad: Vec<f64>,
    /// Parameters for the report.
    pub parameters: Vec<Parameter>,
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
) -> Result<Posterior, Error> {
    check_instrument(instrument)?;
    let segments = chain.tilt_rad.len();
    let r = setups.len();
    check_means(chain, means, setups)?;
    // Weights and means, segment by segment; a missing pair has weight 0.
    let mut weight = vec![0.0; segments * r];
    let mut mean = vec![0.0; segments * r];
    for m in means {
        weight[m.segment * r + m.setup] = 1.0 / setups[m.setup].mean_variance(m.weight);
        mean[m.segment * r + m.setup] = m.mean_rad;
    }
    let total: Vec<f64> = (0..segments).map(|k| weight[k * r..(k + 1) * r].iter().sum()).collect();
    if let Some(k) = total.iter().position(|w| *w <= 0.0) {
        return Err(Error::NoReading { from_m: chain.breaks_m[k], to_m: chain.breaks_m[k + 1] });
    }
    let offsets = setup_offsets(&weight, &mean, &total, setups, instrument)?;

    // Each tilt is the weighted mean of what the setups say of it, their offsets taken off.
    let tilt_rad = (0..segments)
        .map(|k| {
            let said: f64 = (k * r..(k + 1) * r)
                .zip(setups.iter().zip(&offsets.mean))
                .map(|(at, (setup, b))| weight[at] * (mean[at] - setup.zero_sign * b))
                .sum();
            said / total[k]
        })
        .collect();
    let white_sd_rad = total.iter().map(|w| (1.0 / w).sqrt()).collect();
    // Loadings: tilt k moves by -Σ_r s(r) w(k,r)/W(k) times each column of the factor of C.
    let sources = (0..r)
        .filter(|&j| (0..r).any(|i| offsets.factor[(i, j)] != 0.0))
        .map(|j| Source {
            name: if j == 0 { "zero error and seating".to_owned() } else { format!("seating of {}", setups[j].name()) },
            tilt_rad: (0..segments)
                .map(|k| {
                    -(0..r).map(|i| setups[i].zero_sign * weight[k * r + i] * offsets.factor[(i, j)]).sum::<f64>()
                        / total[k]
                })
                .collect(),
        })
        .collect();
    let prior_sd = (instrument.zero_sd_rad * instrument.zero_sd_rad
        + instrument.seating_sd_rad * instrument.seating_sd_rad)
        .sqrt();
    let mut parameters: Vec<Parameter> = (0..r)
        .map(|i| Parameter {
            name: format!("offset_rad (zero error and seating), {}", setups[i].name()),
            value: offsets.mean[i],
            sd: (0..r).map(|j| offsets.factor[(i, j)] * offsets.factor[(i, j)]).sum::<f64>().sqrt(),
            prior_sd,
        })
        .collect();
    parameters.push(offsets.zero);
    parameters.push(Parameter {
        name: "counter_scale".to_owned(),
        value: instrument.counter_scale,
        sd: instrument.counter_scale_sd,
        prior_sd: instrument.counter_scale_sd,
    });
    Ok(Posterior {
        tilt_rad,
        white_sd_rad,
        scatter: None,
        sources,
        scale: 1.0 + instrument.counter_scale,
        scale_sd: instrument.counter_scale_sd,
        step_rise_m: steps.iter().map(|s| s.rise_m).collect(),
        step_sd_m: steps.iter().map(|s| s.rise_sd_m).collect(),
        offset_rad: offsets.mean,
        parameters,
    })
}

/// Posterior of tilts that are given: exact, or with a standard deviation each, or with shared errors.
pub fn given(tilt_rad: Vec<f64>, white_sd_rad: Option<Vec<f64>>, sources: Vec<Source>, steps: &[Step]) -> Posterior {
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
        offset_rad: Vec::new(),
        parameters: Vec::new(),
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
        let moved = parent.iter().map(|&k| at(&self.tilt_rad, k) - at(&from.tilt_rad, k));
        let source = |s: &Source| Source {
            name: s.name.clone(),
            tilt_rad: parent.iter().map(|&k| at(&s.tilt_rad, k)).collect(),
        };
        Self {
            tilt_rad: averaged.mean_rad.iter().zip(moved).map(|(mean, moved)| mean + moved).collect(),
            white_sd_rad: vec![0.0; parent.len()],
            scatter: Some(Scatter::new(averaged)),
            sources: self.sources.iter().map(source).collect(),
            ..self.clone()
        }
    }

    /// Standard deviation of the tilt of a segment, rad; 0 for a segment that is not there.
    pub fn tilt_sd_rad(&self, segment: usize) -> f64 {
        self.tilt_covariance(segment, segment).sqrt()
    }

    /// A parameter of the report, by its name.
    pub fn parameter(&self, name: &str) -> Option<&Parameter> {
        self.parameters.iter().find(|p| p.name == name)
    }

    /// Covariance of the tilts of two segments, rad²; 0 for a segment that is not there.
    pub fn tilt_covariance(&self, first: usize, second: usize) -> f64 {
        let white = if first == second { self.white_sd_rad.get(first).map_or(0.0, |w| w * w) } else { 0.0 };
        let own = white + self.scatter.as_ref().map_or(0.0, |s| s.covariance(first, second));
        let shared: f64 =
            self.sources.iter().filter_map(|s| Some(s.tilt_rad.get(first)? * s.tilt_rad.get(second)?)).sum();
        own + shared
    }
}

impl SetupNoise {
    /// Its name in parameters and sources.
    fn name(&self) -> String {
        format!("run {}{}", self.run.saturating_add(1), if self.pulled { " pulled back" } else { "" })
    }

    /// Variance of a mean of readings of this weight, rad².
    fn mean_variance(&self, weight: f64) -> f64 {
        let rounding = self.rounding_sd_rad();
        (self.noise_sd_rad * self.noise_sd_rad / weight + rounding * rounding).max(LEAST_VARIANCE)
    }

    /// Standard deviation of the part of the rounding that does not average out, rad.
    ///
    /// Where the steps are coarse, readings of one tilt scatter as the tilt lies between two steps, and a tilt half way looks
    /// like noise. So an estimate of less than half a step counts as a quarter of a step at most (our choice: with whole
    /// degrees and 0.25 degrees of noise it makes the intervals of straight pipe cover).
    pub fn rounding_sd_rad(&self) -> f64 {
        let unsure = !self.noise_given && self.noise_sd_rad < 0.5 * self.resolution_rad;
        let noise_sd_rad = if unsure { self.noise_sd_rad.min(0.25 * self.resolution_rad) } else { self.noise_sd_rad };
        math::rounding_error_sd(self.resolution_rad, noise_sd_rad)
    }
}

/// Offsets of the setups: mean, and a factor L of their covariance, C = L Lᵀ; and the zero error within them.
struct Offsets {
    mean: Vec<f64>,
    factor: DMatrix<f64>,
    zero: Parameter,
}

fn setup_offsets(
    weight: &[f64],
    mean: &[f64],
    total: &[f64],
    setups: &[SetupNoise],
    instrument: &Instrument,
) -> Result<Offsets, Error> {
    let r = setups.len();
    let sign = |i: usize| setups[i].zero_sign;
    let (zero, seating) = (instrument.zero_sd_rad, instrument.seating_sd_rad);
    // What each setup has of its own.
    let own: Vec<f64> = setups
        .iter()
        .map(|setup| {
            let rounding = setup.rounding_sd_rad();
            seating * seating + rounding * rounding
        })
        .collect();
    let prior = DMatrix::from_fn(r, r, |i, j| zero * zero + if i == j { own[i] } else { 0.0 });
    // M b + ... in the setups' offsets, the tilts eliminated; y is the part from the readings.
    let mut normal: DMatrix<f64> = DMatrix::zeros(r, r);
    let mut right = vec![0.0; r];
    for (k, &sum) in total.iter().enumerate() {
        let w = &weight[k * r..(k + 1) * r];
        let m = &mean[k * r..(k + 1) * r];
        // Written with what the *other* setups weigh and say, so that one alone says nothing to the last bit: without
        // noise its weight is so large that a difference of weights would be nothing but rounding.
        for i in 0..r {
            let others = || (0..r).filter(move |j| *j != i);
            right[i] += sign(i) * w[i] * others().map(|j| w[j] * (m[i] - m[j])).sum::<f64>() / sum;
            normal[(i, i)] += w[i] * others().map(|j| w[j]).sum::<f64>() / sum;
            for j in others() {
                normal[(i, j)] -= sign(i) * sign(j) * w[i] * w[j] / sum;
            }
        }
    }
    // (I + M P), small: one row a setup. Products are written out: nalgebra's dynamic product picks its kernel by CPU.
    let system = DMatrix::from_fn(r, r, |i, j| {
        let product: f64 = (0..r).map(|q| normal[(i, q)] * prior[(q, j)]).sum();
        product + if i == j { 1.0 } else { 0.0 }
    });
    // (I + M P) has eigenvalues of at least 1, but its entries may be so large that rounding loses them.
    let inverse = system.lu().try_inverse().ok_or_else(|| {
        Error::value("setups", format!("{r} setups"), "readings whose noise is not far below their zero error")
    })?;
    let covariance = DMatrix::from_fn(r, r, |i, j| (0..r).map(|q| prior[(i, q)] * inverse[(q, j)]).sum::<f64>());
    let shift: Vec<f64> =
        (0..r).map(|i| right[i] - (0..r).map(|j| normal[(i, j)] * instrument.zero_rad).sum::<f64>()).collect();
    let posterior_mean: Vec<f64> =
        (0..r).map(|i| instrument.zero_rad + (0..r).map(|j| covariance[(i, j)] * shift[j]).sum::<f64>()).collect();
    let factor = semidefinite_factor(&covariance);
    let zero = zero_within(&posterior_mean, &factor, &own, instrument);
    Ok(Offsets { mean: posterior_mean, factor, zero })
}

/// The zero error of the head, given the offsets of its setups, each of which is the zero plus `own` variance of
/// the setup's.
fn zero_within(offset: &[f64], factor: &DMatrix<f64>, own: &[f64], instrument: &Instrument) -> Parameter {
    let prior_sd = instrument.zero_sd_rad;
    let ratio: Vec<f64> = own.iter().map(|d| prior_sd * prior_sd / d.max(LEAST_VARIANCE)).collect();
    let whole = 1.0 + ratio.iter().sum::<f64>();
    let moved: f64 = ratio.iter().zip(offset).map(|(q, b)| q / whole * (b - instrument.zero_rad)).sum();
    // What would remain were the offsets known, and what their covariance adds.
    let shared: f64 = (0..own.len())
        .map(|j| (0..own.len()).map(|i| ratio[i] / whole * factor[(i, j)]).sum::<f64>())
        .map(|x| x * x)
        .sum();
    Parameter {
        name: ZERO.to_owned(),
        value: instrument.zero_rad + moved,
        sd: (prior_sd * prior_sd / whole + shared).sqrt(),
        prior_sd,
    }
}

/// Lower factor L with L Lᵀ = A for a positive semidefinite A; a pivot that is nothing but rounding gives a zero column.
fn semidefinite_factor(a: &DMatrix<f64>) -> DMatrix<f64> {
    let n = a.nrows();
    let largest = (0..n).map(|i| a[(i, i)]).fold(0.0, f64::max);
    let mut l = DMatrix::zeros(n, n);
    for j in 0..n {
        let pivot = a[(j, j)] - (0..j).map(|q| l[(j, q)] * l[(j, q)]).sum::<f64>();
        // n roundings of the largest entry; below that the pivot carries no information.
        if pivot <= largest * f64::EPSILON * n as f64 {
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

/// Refuses means that cannot be, or that belong nowhere.
fn check_means(chain: &Chain, means: &[SegmentMean], setups: &[SetupNoise]) -> Result<(), Error> {
    let half = core::f64::consts::FRAC_PI_2;
    require_length("breaks_m", chain.breaks_m.len(), "the tilts, and one more,", chain.tilt_rad.len() + 1)?;
    for (i, setup) in setups.iter().enumerate() {
        if ![1.0, -1.0].contains(&setup.zero_sign) {
            return Err(Error::at("setups.zero_sign", i, setup.zero_sign, "1 or -1"));
        }
        if !((0.0..=half).contains(&setup.noise_sd_rad) && (0.0..=half).contains(&setup.resolution_rad)) {
            let given = format!("noise {}, resolution {}", setup.noise_sd_rad, setup.resolution_rad);
            return Err(Error::at("setups", i, given, "0 to a quarter turn each, in rad"));
        }
    }
    for (i, mean) in means.iter().enumerate() {
        if mean.segment >= chain.tilt_rad.len() || mean.setup >= setups.len() {
            let given = format!("segment {}, setup {}", mean.segment, mean.setup);
            return Err(Error::at("means", i, given, "a segment and a setup that are there"));
        }
        if !((-half..=half).contains(&mean.mean_rad) && WEIGHTS.contains(&mean.weight)) {
            let given = format!("{} rad of weight {}", mean.mean_rad, mean.weight);
            return Err(Error::at("means", i, given, "a tilt, and a weight from 1e-9 to 1e9"));
        }
    }
    Ok(())
}

/// Refuses an instrument that cannot be.
pub(crate) fn check_instrument(instrument: &Instrument) -> Result<(), Error> {
    let angle = core::f64::consts::FRAC_PI_2;
    let zero = "an angle within a quarter turn, in rad";
    let angle_sd = "0 to a quarter turn, in rad";
    let numbers = [
        ("zero_rad", Some(instrument.zero_rad), -angle..=angle, zero),
        ("zero_sd_rad", Some(instrument.zero_sd_rad), 0.0..=angle, angle_sd),
        ("seating_sd_rad", Some(instrument.seating_sd_rad), 0.0..=angle, angle_sd),
        ("noise_sd_rad", instrument.noise_sd_rad, 0.0..=angle, angle_sd),
        ("resolution_rad", instrument.resolution_rad, 0.0..=angle, angle_sd),
        ("head_length_m", Some(instrument.head_length_m), 0.0..=100.0, "0 to 100 m"),
        ("slack_m", instrument.slack_m, 0.0..=100.0, "0 to 100 m"),
        ("counter_scale", Some(instrument.counter_scale), -0.5..=0.5, "a scale error between -0.5 and 0.5"),
        ("counter_scale_sd", Some(instrument.counter_scale_sd), 0.0..=0.1, "0 to 0.1"),
    ];
    for (field, value, allowed, expected) in numbers {
        if let Some(value) = value.filter(|v| !allowed.contains(v)) {
            return Err(Error::value(format!("instrument.{field}"), value, expected));
        }
    }
    Ok(())
}

#[cfg(test)]
#[path = "adjust_tests.rs"]
mod tests;
