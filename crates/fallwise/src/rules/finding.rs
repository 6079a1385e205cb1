//! The evidence that findings rest on, the choices of a check, and the findings.

use super::rulebook::Rule;
use crate::prelude::*;
use crate::{
    error::{Error, require_finite, require_length},
    model::Job,
    pool::{PoolEstimate, PoolState},
    profile::{Draws, Profile},
    units::Said,
    word,
};

/// What findings rest on.
#[derive(Clone, Copy)]
pub struct Evidence<'a> {
    /// Reaches with their nominal sizes and facts, flow, traps and joints, kind of work, wording.
    pub job: &'a Job,
    /// The best estimate.
    pub profile: &'a Profile,
    /// Equally likely profiles; none leave joint probabilities unknown.
    pub draws: &'a dyn Draws,
    /// Standard deviation of the slope along the flow between two stations, m; absent where not determined.
    pub slope_sd: &'a dyn Fn(f64, f64) -> Option<f64>,
    /// Pools, found or possible.
    pub pools: &'a [PoolEvidence],
    /// First and last surveyed station, m.
    pub surveyed: (f64, f64),
    /// What of the pipe in between was seen.
    pub seen: Seen<'a>,
}

/// What was seen of the pipe between the first and the last surveyed station.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Seen<'a> {
    /// Stretches of which nothing is known but what lies at their ends, m.
    pub unseen_m: &'a [(f64, f64)],
    /// The fall across an unseen stretch is known, as it is between two inverts: its mean slope is, its shape is not.
    pub falls_known: bool,
    /// How far a break may lie from its station, m, where the draws do not move it: the spacing of the readings; 0 where
    /// breaks are given.
    pub break_m: f64,
}

impl Evidence<'_> {
    /// Refuses what cannot be held against a rule.
    pub(super) fn validate(&self) -> Result<(), Error> {
        require_finite("surveyed", &[self.surveyed.0, self.surveyed.1])?;
        for (i, reach) in self.job.reaches.iter().enumerate() {
            if !(reach.from_m.is_finite() && reach.to_m.is_finite() && reach.from_m < reach.to_m) {
                return Err(Error::at(
                    "reach",
                    i,
                    format!("{} to {} m", reach.from_m, reach.to_m),
                    "from_m below to_m",
                ));
            }
        }
        for &(from_m, to_m) in self.seen.unseen_m {
            require_finite("seen.unseen_m", &[from_m, to_m])?;
        }
        require_finite("seen.break_m", &[self.seen.break_m])?;
        for (i, pool) in self.pools.iter().enumerate() {
            if ![pool.from_m, pool.to_m, pool.depth_m].iter().all(|v| v.is_finite()) {
                return Err(Error::at("pool", i, pool.depth_m, "finite edges and depth"));
            }
            if let Some(depths) = &pool.depth_draws_m {
                require_finite("pool.depth_draws_m", depths)?;
                require_length("pool.depth_draws_m", depths.len(), "draws", self.draws.count())?;
            }
        }
        Ok(())
    }
}

/// What is known of one pool.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PoolEvidence {
    /// Its number among the pools of the lateral, from 1, for the finding's subject.
    pub number: usize,
    /// One edge, m.
    pub from_m: f64,
    /// The other edge, m.
    pub to_m: f64,
    /// Greatest depth in the best estimate, m.
    pub depth_m: f64,
    /// Its standard deviation, m.
    pub depth_sd_m: Option<f64>,
    /// Low end of its interval, m.
    pub depth_low_m: Option<f64>,
    /// High end of its interval, m.
    pub depth_high_m: Option<f64>,
    /// Greatest depth in each draw, m, in the order of the draws; 0 where there is no pool.
    pub depth_draws_m: Option<Vec<f64>>,
    /// Probability that water stands deeper than the tolerance.
    pub exists_probability: Option<f64>,
    /// The pool of a trap, which is meant to be there: exempt.
    pub intended: bool,
    /// The sill is the last surveyed point: the depth is a lower bound.
    pub sill_is_last_point: bool,
    /// It touches the upstream end of the survey: the depth is a lower bound.
    pub touches_upstream_end: bool,
}

/// Choices of a check. Every default is our choice.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct CheckOptions {
    /// Probability from which a requirement counts as met, and its complement from which it counts as not met.
    /// Default 0.95.
    pub confidence: f64,
    /// A slope nearer than this to the requirement, and known to it (one standard deviation), is too close for any practical measurement to
    /// decide. Default 0.0005 (0.05 %).
    pub too_close_slope: f64,
    /// Longest backfall that is not a finding, m. Default 1.2 m.
    pub backfall_m: f64,
    /// Depth of water that counts as none, m. Default 3 mm.
    pub pool_tolerance_m: f64,
    /// A reach may end this far outside the survey and still count as surveyed, m. Default 0.15 m, the length of a head.
    pub survey_margin_m: f64,
}

impl Default for CheckOptions {
    fn default() -> Self {
        Self {
            confidence: 0.95,
            too_close_slope: 0.0005,
            backfall_m: 1.2,
            pool_tolerance_m: 0.003,
            survey_margin_m: 0.15,
        }
    }
}

impl CheckOptions {
    pub(super) fn validate(&self) -> Result<(), Error> {
        if !(self.confidence > 0.5 && self.confidence < 1.0) {
            return Err(Error::value("confidence", self.confidence, "a number between 0.5 and 1"));
        }
        for (field, value) in [
            ("too_close_slope", self.too_close_slope),
            ("backfall_m", self.backfall_m),
            ("pool_tolerance_m", self.pool_tolerance_m),
            ("survey_margin_m", self.survey_margin_m),
        ] {
            if !(value.is_finite() && value >= 0.0) {
                return Err(Error::value(field, value, "a number that is not negative"));
            }
        }
        Ok(())
    }
}

/// Findings of one lateral against one rulebook.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// The lateral's own finding: all parts together.
    pub lateral: Finding,
    /// A finding for each reach, for backfall, and for each pool.
    pub parts: Vec<Finding>,
    /// The rows used, to be kept with the result.
    pub rules_used: Vec<Rule>,
    /// What a reader must know beside the findings: assumptions, rows switched off, limits that are not there.
    pub notes: Vec<Said>,
    /// Facts of the job that the rulebook does not know.
    pub warnings: Vec<Said>,
}

/// A finding against a requirement.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// What it is about: `lateral`, `reach 1`, `pool 2`, `backfall`.
    pub subject: Said,
    /// The pool that it is about, by its number from 1.
    pub pool: Option<usize>,
    /// The reach that it is about, by its number in the job from 1.
    pub reach: Option<usize>,
    /// Start of the stretch, m.
    pub from_m: f64,
    /// End of the stretch, m.
    pub to_m: f64,
    /// The outcome.
    pub verdict: Verdict,
    /// What the figures are.
    pub quantity: Quantity,
    /// Value in the best estimate; of the lateral as a whole none is given, because its mean says nothing.
    pub value: Option<f64>,
    /// Its standard deviation.
    pub value_sd: Option<f64>,
    /// Low end of its two-sided 95 % interval.
    pub value_low: Option<f64>,
    /// High end of that interval.
    pub value_high: Option<f64>,
    /// The limit it is held against, in the same quantity.
    pub required: Option<f64>,
    /// The requirement in words.
    pub requirement: Said,
    /// Probability that the requirement holds; absent where not known.
    pub probability: Option<f64>,
    /// How small the standard deviation would have to be to decide an undecided finding, if the value stayed.
    pub sd_needed: Option<f64>,
    /// Facts that the job would have to give.
    pub missing: Vec<Said>,
    /// The row; of the lateral, that of its worst part, none where that is backfall (our own choice, no book's).
    pub rule: Option<Rule>,
    /// One plain sentence.
    pub sentence: Said,
}

impl Finding {
    /// A finding with no figures yet.
    pub(super) fn blank(subject: Said, from_m: f64, to_m: f64, quantity: Quantity, verdict: Verdict) -> Self {
        Self {
            subject,
            pool: None,
            reach: None,
            from_m,
            to_m,
            verdict,
            quantity,
            value: None,
            value_sd: None,
            value_low: None,
            value_high: None,
            required: None,
            requirement: Said::default(),
            probability: None,
            sd_needed: None,
            missing: Vec::new(),
            rule: None,
            sentence: Said::default(),
        }
    }
}

/// Outcome of a finding.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// The requirement holds.
    Meets,
    /// It does not.
    Fails,
    /// This data cannot say.
    Undecided(Reason),
}

/// Why a finding is undecided.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reason {
    /// The job does not give a nominal size, or a fact that the rule asks for.
    InputMissing,
    /// No row of the rulebook speaks of it.
    NoRule,
    /// It was not surveyed, or only in part.
    NotSurveyed,
    /// It rests on a measurement that contradicts others and may be the wrong one.
    Contradicted,
    /// A measurement could decide it.
    NeedsMeasurement,
    /// It lies so close to the requirement that no practical measurement will decide it.
    TooClose,
}

/// What the figures of a finding are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// A slope, as a ratio.
    Slope,
    /// A depth of water, m.
    DepthM,
    /// A length of backfall, m.
    LengthM,
}

impl Verdict {
    /// The word, as written in answers.
    pub fn word(self) -> &'static str {
        match self {
            Self::Meets => word!("meets"),
            Self::Fails => word!("fails"),
            Self::Undecided(_) => word!("undecided"),
        }
    }

    /// Why it is undecided.
    pub fn reason(self) -> Option<Reason> {
        match self {
            Self::Undecided(reason) => Some(reason),
            Self::Meets | Self::Fails => None,
        }
    }
}

impl Reason {
    /// The word, as written in answers.
    pub fn word(self) -> &'static str {
        match self {
            Self::InputMissing => "input_missing",
            Self::NoRule => "no_rule",
            Self::NotSurveyed => "not_surveyed",
            Self::Contradicted => "contradicted",
            Self::NeedsMeasurement => "needs_measurement",
            Self::TooClose => "too_close",
        }
    }
}

impl Quantity {
    /// The word, as written in answers.
    pub fn word(self) -> &'static str {
        match self {
            Self::Slope => "slope",
            Self::DepthM => "depth_m",
            Self::LengthM => "length_m",
        }
    }
}

impl Check {
    /// All findings, the lateral's own first.
    pub fn findings(&self) -> impl Iterator<Item = &Finding> {
        core::iter::once(&self.lateral).chain(&self.parts)
    }

    /// How many of the parts are undecided for want of a measurement; the lateral's own finding follows from them.
    pub fn undecided(&self) -> usize {
        let measurable = |f: &&Finding| matches!(f.verdict.reason(), Some(Reason::NeedsMeasurement | Reason::TooClose));
        self.parts.iter().filter(measurable).count()
    }
}

impl PoolEvidence {
    /// Of the pool with this number.
    pub fn new(number: usize, estimate: &PoolEstimate) -> Self {
        let pool = estimate.pool.as_ref();
        Self {
            number,
            from_m: pool.map_or(estimate.from_m, |p| p.from_m),
            to_m: pool.map_or(estimate.to_m, |p| p.to_m),
            depth_m: pool.map_or(0.0, |p| p.depth_m),
            depth_sd_m: estimate.depth_m.map(|s| s.sd),
            depth_low_m: estimate.depth_m.and_then(|s| s.low),
            depth_high_m: estimate.depth_m.map(|s| s.high),
            depth_draws_m: (!estimate.depth_draws_m.is_empty()).then(|| estimate.depth_draws_m.clone()),
            exists_probability: estimate.exists_probability,
            intended: estimate.state == PoolState::Intended,
            sill_is_last_point: pool.is_some_and(|p| p.sill_is_last_point),
            touches_upstream_end: pool.is_some_and(|p| p.touches_upstream_end),
        }
    }
}
