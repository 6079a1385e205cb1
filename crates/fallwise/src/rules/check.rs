//! Evidence in, findings out.

use super::{
    figures::{Chance, fraction},
    finding::{Check, CheckOptions, Evidence, Finding, Quantity, Reason, Verdict},
    measure,
    rulebook::{AppliesTo, Rule, Rulebook},
    select::Selection,
    sentence,
};
<<<<<<< HEAD
use crate::{
    answers::FindingRow,
    error::{Error, require_finite},
    model::{FeatureKind, Job, Reach, Work},
    pool::{PoolEstimate, PoolState},
    profile::{Draws, Profile},
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
}

/// What is known of one pool.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PoolEvidence {
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
}

/// Choices of a check. Every default is our choice.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct CheckOptions {
    /// Probability from which a requirement counts as met, and its complement from which it counts as not met.
    /// Default 0.95.
    pub confidence: f64,
    /// A slope nearer than this to the requirement is too close for any practical measurement. Default 0.0005 (0.05 %).
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
    fn validate(&self) -> Result<(), Error> {
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
    pub notes: Vec<String>,
}

/// A finding against a requirement.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// What it is about: `lateral`, `reach 1`, `pool 2`, `backfall`.
    pub subject: String,
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
    pub requirement: String,
    /// Probability that the requirement holds; absent where not known.
    pub probability: Option<f64>,
    /// How small the standard deviation would have to be to decide an undecided finding, if the value stayed.
    pub sd_needed: Option<f64>,
    /// Facts that the job would have to give.
    pub missing: Vec<String>,
    /// The row; of the lateral, that of its worst part.
    pub rule: Option<Rule>,
    /// One plain sentence.
    pub sentence: String,
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
            Self::Meets => "meets",
            Self::Fails => "fails",
            Self::Undecided(_) => "undecided",
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

    /// How many of them are undecided.
    pub fn undecided(&self) -> usize {
        self.findings().filter(|f| f.verdict.reason().is_some()).count()
    }
}

impl From<&PoolEstimate> for PoolEvidence {
    fn from(estimate: &PoolEstimate) -> Self {
        let pool = estimate.pool.as_ref();
        Self {
            from_m: pool.map_or(estimate.from_m, |p| p.from_m),
            to_m: pool.map_or(estimate.to_m, |p| p.to_m),
            depth_m: pool.map_or(0.0, |p| p.depth_m),
            depth_sd_m: estimate.depth_m.map(|s| s.sd),
            depth_low_m: estimate.depth_m.and_then(|s| s.low),
            depth_high_m: estimate.depth_m.map(|s| s.high),
            depth_draws_m: None,
            exists_probability: estimate.exists_probability,
            intended: estimate.state == PoolState::Intended,
            sill_is_last_point: pool.is_some_and(|p| p.sill_is_last_point),
        }
    }
}

impl From<&Finding> for FindingRow {
    fn from(finding: &Finding) -> Self {
        let rule = finding.rule.as_ref();
        let cited = |part: fn(&Rule) -> &String| rule.map(part).cloned().unwrap_or_default();
        Self {
            subject: finding.subject.clone(),
            from_m: finding.from_m,
            to_m: finding.to_m,
            finding: finding.verdict.word().to_owned(),
            reason: finding.verdict.reason().map(|reason| reason.word().to_owned()),
            quantity: finding.quantity.word().to_owned(),
            value: finding.value,
            value_sd: finding.value_sd,
            value_low: finding.value_low,
            value_high: finding.value_high,
            required: finding.required,
            requirement: finding.requirement.clone(),
            probability: finding.probability,
            document: cited(|r| &r.document),
            edition: cited(|r| &r.edition),
            clause: cited(|r| &r.clause),
            force: rule.map(|r| r.force.word().to_owned()).unwrap_or_default(),
            confirmed: rule.is_some_and(|r| r.confirmed),
            sentence: finding.sentence.clone(),
        }
    }
}
=======
use crate::{error::Error, model::Work};
>>>>>>> w-rules

/// Holds a lateral against a rulebook.
///
/// The findings are one for each reach (its slope), one for backfall, and one for each pool where the book limits
/// standing water; then the lateral's own. Pools of traps are exempt.
///
/// # Errors
/// [`Error::Value`] for options out of range, or reaches, survey or pools that are not finite; [`Error::Length`] for
/// pools whose depths are not one a draw.
///
/// # Example
/// ```
/// use fallwise::{Job, Profile, Rulebook, profile::Draws, rules};
///
/// /// Draws of the posterior; none here.
/// struct Drawn(Vec<Profile>);
/// impl Draws for Drawn {
///     fn count(&self) -> usize {
///         self.0.len()
///     }
///     fn for_each(&self, visit: &mut dyn FnMut(&Profile)) {
///         self.0.iter().for_each(visit);
///     }
/// }
///
/// // Ten metres at 1 in 50, known exactly; the job does not say what size the pipe is.
/// let fall_m = 10.0 * fallwise::math::sin(fallwise::math::atan2(0.02, 1.0));
/// let profile = Profile {
///     station_m: vec![0.0, 10.0],
///     height_m: vec![fall_m, 0.0],
///     tilt_rad: vec![fallwise::math::atan2(0.02, 1.0)],
///     reach: vec![0],
///     scale: 1.0,
/// };
/// let job = Job::default();
/// let found = rules::check(
///     &Rulebook::shipped("ipc-2021")?,
///     &rules::Evidence {
///         job: &job,
///         profile: &profile,
///         draws: &Drawn(vec![]),
///         slope_sd: &|_, _| Some(0.0),
///         pools: &[],
///         surveyed: (0.0, 10.0),
///     },
///     &rules::CheckOptions::default(),
/// )?;
/// assert_eq!(found.lateral.verdict, rules::Verdict::Undecided(rules::Reason::InputMissing));
/// # Ok::<(), fallwise::Error>(())
/// ```
pub fn check(book: &Rulebook, evidence: &Evidence<'_>, options: &CheckOptions) -> Result<Check, Error> {
    options.validate()?;
    evidence.validate()?;
    let mut checker = Checker { book, evidence, options, rules_used: Vec::new(), notes: Vec::new() };
    let mut slopes = checker.slope_tests();
    let allowed = checker.backfall_stretches();
    let mut backfalls = Vec::with_capacity(evidence.draws.count());
    let flow = evidence.job.flow;
    evidence.draws.for_each(&mut |profile| {
        for test in slopes.iter_mut().flat_map(|reach| &mut reach.tests) {
            test.draw(measure::extremes(profile, flow, &test.span));
        }
        backfalls.push(measure::longest_backfall(profile, flow, &allowed).length_m);
    });
    let mut parts: Vec<Part> =
        slopes.into_iter().filter_map(|reach| checker.slope_part(reach, backfalls.len())).collect();
    if evidence.job.reaches.is_empty() {
        parts.push(checker.no_reach());
    }
    parts.push(checker.backfall_part(&allowed, &backfalls));
    parts.extend(checker.pool_parts(backfalls.len()));
    let lateral = checker.lateral(&parts, backfalls.len());
    checker.note("The code as adopted locally governs.".to_owned());
    let parts = parts.into_iter().map(|part| part.finding).collect();
    Ok(Check { lateral, parts, rules_used: checker.rules_used, notes: checker.notes })
}

/// A finding, and what the lateral's joint probability needs of it.
pub(super) struct Part {
    pub(super) finding: Finding,
    pub(super) chance: Chance,
    /// In each draw, whether the requirement surely holds, and whether it may hold; absent where only `chance` is known.
    pub(super) holds: Option<Vec<(bool, bool)>>,
}

/// What all parts of a check share.
pub(super) struct Checker<'a> {
    pub(super) book: &'a Rulebook,
    pub(super) evidence: &'a Evidence<'a>,
    pub(super) options: &'a CheckOptions,
    pub(super) rules_used: Vec<Rule>,
    pub(super) notes: Vec<String>,
}

impl Checker<'_> {
    pub(super) fn note(&mut self, note: String) {
        if !self.notes.contains(&note) {
            self.notes.push(note);
        }
    }

    pub(super) fn uses(&mut self, rule: &Rule) {
        if !self.rules_used.contains(rule) {
            self.rules_used.push(rule.clone());
        }
    }

    pub(super) fn verdict(&self, chance: Chance, otherwise: Reason) -> Verdict {
        if chance.low >= self.options.confidence {
            Verdict::Meets
        } else if chance.high <= 1.0 - self.options.confidence + 1e-12 {
            // 1 - 0.95 is not quite 0.05
            Verdict::Fails
        } else {
            Verdict::Undecided(otherwise)
        }
    }

    /// Notes what a reader must know of the rows that were looked at.
    pub(super) fn note_selection(&mut self, subject: &str, selection: &Selection<'_>) {
        let speaking = selection.open.iter().chain(&selection.alternatives).map(|(rule, _)| *rule);
        let used: Vec<&Rule> = selection.applying.iter().copied().chain(speaking).collect();
        for rule in &used {
            self.uses(rule);
            if !rule.confirmed {
                self.note(format!(
                    "{} ({}) was not seen in the document itself: {}.",
                    sentence::cite(rule),
                    rule.id,
                    rule.source_mark
                ));
            }
            if !rule.remark.is_empty() {
                self.note(format!("{} ({}): {}", sentence::cite(rule), rule.id, rule.remark));
            }
        }
        for (rule, missing) in &selection.alternatives {
            self.note(format!(
                "For {subject}, {} would hold instead if the job gave {}: {}",
                sentence::cite(rule),
                sentence::list(missing),
                rule.text
            ));
        }
        for rule in &selection.assumed_away {
            let taken: Vec<String> = rule.assumed.iter().map(|(name, value)| format!("{name} = \"{value}\"")).collect();
            self.note(format!(
                "{} is left out because the job is silent and {} is taken: {}",
                sentence::cite(rule),
                sentence::list(&taken),
                rule.text
            ));
        }
        for rule in &selection.off {
            let why = rule.remark.strip_prefix("Switched off: ").unwrap_or(&rule.remark);
            self.note(format!("{} ({}) is switched off: {why}", sentence::cite(rule), rule.id));
        }
    }

    /// The lateral's own finding: all parts in the same draw.
    pub(super) fn lateral(&self, parts: &[Part], draws: usize) -> Finding {
        let drawn = parts.iter().filter_map(|part| part.holds.as_deref());
        let joint = if draws > 0 {
            fraction(draws, |draw| {
                let here = drawn.clone().filter_map(|holds| holds.get(draw));
                here.fold((true, true), |(low, high), (l, h)| (low && *l, high && *h))
            })
        } else {
            Chance::CERTAIN
        };
        let apart = parts.iter().filter(|part| part.holds.is_none());
        let joint = apart.fold(joint, |joint, part| joint.and(part.chance));

        let undecided = |part: &&Part| part.finding.verdict.reason();
        let reason = parts.iter().filter_map(|part| undecided(&part)).min().unwrap_or(Reason::NeedsMeasurement);
        let verdict = self.verdict(joint, reason);
        let worst = parts.iter().min_by(|a, b| {
            let key = |part: &Part| (part.chance.high, part.chance.low);
            let (a, b) = (key(a), key(b));
            a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
        });
        let (a, b) = self.evidence.surveyed;
        let mut finding = Finding::blank("lateral", a.min(b), a.max(b), Quantity::Slope, verdict);
        finding.probability = joint.value();
        finding.requirement = format!("every part meets its own requirement ({})", self.book.title);
        finding.rule = worst.and_then(|part| part.finding.rule.clone());
        let mut missing: Vec<String> = parts.iter().flat_map(|part| part.finding.missing.iter().cloned()).collect();
        missing.sort();
        missing.dedup();
        finding.missing = missing;
        finding.sentence = self.lateral_sentence(verdict, joint, parts, worst);
        finding
    }

    pub(super) fn lateral_sentence(
        &self,
        verdict: Verdict,
        joint: Chance,
        parts: &[Part],
        worst: Option<&Part>,
    ) -> String {
        let title = &self.book.title;
        let count = |word: &str| parts.iter().filter(|part| part.finding.verdict.word() == word).count();
        let worst = worst.map_or_else(String::new, |part| format!(" Worst part: {}", part.finding.sentence));
        let chance = match joint.value() {
            Some(p) => format!("probability {}", sentence::probability(p)),
            None if joint.high < 1.0 => format!("probability at most {}", sentence::probability(joint.high)),
            None => "the joint probability is not available".to_owned(),
        };
        let all = parts.len();
        match verdict {
            Verdict::Meets => format!("The lateral meets {title} in all its {all} parts ({chance}).{worst}"),
            Verdict::Fails => {
                let of_new = self.evidence.job.rules.work == Work::Existing
                    && parts.iter().any(|part| {
                        part.finding.verdict == Verdict::Fails
                            && part.finding.rule.as_ref().is_some_and(|r| r.applies_to == AppliesTo::New)
                    });
                if of_new {
                    format!(
                        "The lateral is not what {title} asks of new work ({chance}); whether that matters here is for \
                         the authority and a licensed person.{worst}"
                    )
                } else {
                    format!("The lateral does not meet {title} ({chance}).{worst}")
                }
            }
            Verdict::Undecided(_) => format!(
                "Whether the lateral meets {title} cannot be decided from this data ({chance}): of its {all} parts \
                 {} met, {} not met, {} undecided.{worst}",
                count("meets"),
                count("fails"),
                count("undecided")
            ),
        }
    }
}
