//! Evidence in, findings out.

use super::{
    figures::{self, Chance, Z_95},
    measure::{self, Backfall, Span, Stretch},
    rulebook::{AppliesTo, Force, Over, Rule, Rulebook, SlopeLimit},
    select::{Selection, select},
    sentence::{self, Measured},
    text,
};
use crate::{
    answers::FindingRow,
    error::{Error, require_finite},
    model::{FeatureKind, Job, Reach, Work},
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

/// Holds a lateral against a rulebook.
///
/// The findings are one for each reach (its slope), one for backfall, and one for each pool where the book limits
/// standing water; then the lateral's own. Pools of traps are exempt.
///
/// # Errors
/// [`Error::Value`] for options out of range, or reaches, survey or pools that are not finite; [`Error::Length`] for
/// pools whose depths are not one a draw.
pub fn check(book: &Rulebook, evidence: &Evidence<'_>, options: &CheckOptions) -> Result<Check, Error> {
    options.validate()?;
    validate(evidence)?;
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

fn validate(evidence: &Evidence<'_>) -> Result<(), Error> {
    require_finite("surveyed", &[evidence.surveyed.0, evidence.surveyed.1])?;
    for (i, reach) in evidence.job.reaches.iter().enumerate() {
        if !(reach.from_m.is_finite() && reach.to_m.is_finite() && reach.from_m < reach.to_m) {
            return Err(Error::at("reach", i, format!("{} to {} m", reach.from_m, reach.to_m), "from_m below to_m"));
        }
    }
    for (i, pool) in evidence.pools.iter().enumerate() {
        if ![pool.from_m, pool.to_m, pool.depth_m].iter().all(|v| v.is_finite()) {
            return Err(Error::at("pool", i, pool.depth_m, "finite edges and depth"));
        }
        if let Some(depths) = &pool.depth_draws_m {
            require_finite("pool.depth_draws_m", depths)?;
            crate::error::require_length("pool.depth_draws_m", depths.len(), "draws", evidence.draws.count())?;
        }
    }
    Ok(())
}

/// A finding, and what the lateral's joint probability needs of it.
struct Part {
    finding: Finding,
    chance: Chance,
    /// In each draw, whether the requirement surely holds, and whether it may hold; absent where only `chance` is known.
    holds: Option<Vec<(bool, bool)>>,
}

/// Whether a row that is tested must hold, may have to, or would do instead.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Role {
    Applying,
    Open,
    Alternative,
}

/// A row held against a reach.
struct SlopeTest<'a> {
    rule: &'a Rule,
    role: Role,
    min: Option<f64>,
    max: Option<f64>,
    span: Span,
    /// Flattest and steepest stretch of the best estimate.
    best: Option<(Stretch, Stretch)>,
    /// Flattest slope of each draw; not a number where there is none.
    flattest: Vec<f64>,
    steepest: Vec<f64>,
}

impl SlopeTest<'_> {
    fn draw(&mut self, found: Option<(Stretch, Stretch)>) {
        self.flattest.push(found.map_or(f64::NAN, |(flattest, _)| flattest.slope));
        self.steepest.push(found.map_or(f64::NAN, |(_, steepest)| steepest.slope));
    }

    /// Whether it holds in a draw. A draw in which the stretch is a drop meets every least slope.
    fn holds(&self, draw: usize) -> bool {
        let flattest = self.flattest.get(draw).copied().unwrap_or(f64::NAN);
        let steepest = self.steepest.get(draw).copied().unwrap_or(f64::NAN);
        let enough = self.min.is_none_or(|min| flattest.is_nan() || flattest >= min - figures::roundoff(min));
        enough && self.max.is_none_or(|max| steepest <= max + figures::roundoff(max))
    }

    /// Probability that it holds, from draws or else from the standard deviations of the slopes.
    fn chance(&self, evidence: &Evidence<'_>) -> Chance {
        if !self.flattest.is_empty() {
            return fraction(self.flattest.len(), |draw| (self.holds(draw), self.holds(draw)));
        }
        let flow = evidence.job.flow;
        self.span.stretches(evidence.profile).into_iter().fold(Chance::CERTAIN, |all, (from_m, to_m)| {
            let Some(slope) = measure::slope_between(evidence.profile, flow, from_m, to_m) else { return all };
            let sd = (evidence.slope_sd)(from_m, to_m);
            let below = self.min.map_or(Some(0.0), |min| figures::at_least(slope, sd, min).map(|p| 1.0 - p));
            let above = self.max.map_or(Some(0.0), |max| figures::at_least(-slope, sd, -max).map(|p| 1.0 - p));
            let one = below.zip(above).map(|(below, above)| Chance::known((1.0 - below - above).max(0.0)));
            all.and(one.unwrap_or(Chance::UNKNOWN))
        })
    }

    /// The stretch that decides, the limit it is held against, and whether that is the greatest slope.
    fn binding(&self) -> Option<(Stretch, f64, bool)> {
        let (flattest, steepest) = self.best?;
        let short = self.min.map(|min| (min - flattest.slope, (flattest, min, false)));
        let over = self.max.map(|max| (steepest.slope - max, (steepest, max, true)));
        match (short, over) {
            (Some(short), Some(over)) => Some(if over.0 > short.0 { over.1 } else { short.1 }),
            (one, other) => one.or(other).map(|(_, binding)| binding),
        }
    }
}

/// Fractions of draws in which something surely holds, and may hold.
fn fraction(draws: usize, holds: impl Fn(usize) -> (bool, bool)) -> Chance {
    let (mut surely, mut maybe) = (0usize, 0usize);
    for draw in 0..draws {
        let (low, high) = holds(draw);
        surely += usize::from(low);
        maybe += usize::from(high);
    }
    Chance { low: surely as f64 / draws as f64, high: maybe as f64 / draws as f64 }
}

/// A reach, the rows on slope that speak of it, and their tests.
struct ReachSlopes<'a> {
    subject: String,
    reach: &'a Reach,
    selection: Selection<'a>,
    tests: Vec<SlopeTest<'a>>,
    /// Facts missing besides those of the selection.
    missing: Vec<String>,
    /// The stretch of it that was surveyed, and whether that is all of it.
    surveyed: Option<(f64, f64)>,
    whole: bool,
}

struct Checker<'a> {
    book: &'a Rulebook,
    evidence: &'a Evidence<'a>,
    options: &'a CheckOptions,
    rules_used: Vec<Rule>,
    notes: Vec<String>,
}

impl<'a> Checker<'a> {
    fn note(&mut self, note: String) {
        if !self.notes.contains(&note) {
            self.notes.push(note);
        }
    }

    fn uses(&mut self, rule: &Rule) {
        if !self.rules_used.contains(rule) {
            self.rules_used.push(rule.clone());
        }
    }

    fn verdict(&self, chance: Chance, otherwise: Reason) -> Verdict {
        if chance.low >= self.options.confidence {
            Verdict::Meets
        } else if chance.high <= 1.0 - self.options.confidence + 1e-12 {
            // 1 - 0.95 is not quite 0.05
            Verdict::Fails
        } else {
            Verdict::Undecided(otherwise)
        }
    }

    /// A finding with no figures yet.
    fn blank(&self, subject: &str, from_m: f64, to_m: f64, quantity: Quantity, verdict: Verdict) -> Finding {
        Finding {
            subject: subject.to_owned(),
            from_m,
            to_m,
            verdict,
            quantity,
            value: None,
            value_sd: None,
            value_low: None,
            value_high: None,
            required: None,
            requirement: String::new(),
            probability: None,
            sd_needed: None,
            missing: Vec::new(),
            rule: None,
            sentence: String::new(),
        }
    }

    /// Notes what a reader must know of the rows that were looked at.
    fn note_selection(&mut self, subject: &str, selection: &Selection<'_>) {
        let speaking = selection.open.iter().chain(&selection.alternatives).map(|(rule, _)| *rule);
        let used: Vec<&Rule> = selection.applying.iter().copied().chain(speaking).collect();
        for rule in &used {
            self.uses(rule);
            if !rule.confirmed {
                self.note(format!(
                    "{} was not seen in the document itself: {}.",
                    sentence::cite(rule),
                    rule.source_mark
                ));
            }
            if !rule.remark.is_empty() {
                self.note(format!("{}: {}", sentence::cite(rule), rule.remark));
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
            self.note(format!("{} ({}) is switched off: {}", sentence::cite(rule), rule.id, rule.remark));
        }
    }

    /// The tests of every reach, with nothing measured on draws yet.
    fn slope_tests(&mut self) -> Vec<ReachSlopes<'a>> {
        let (book, evidence) = (self.book, self.evidence);
        if !book.rows.iter().any(Rule::limits_slope) {
            self.note(format!("{} states no slope.", book.title));
            return Vec::new();
        }
        let (first, last) =
            (evidence.surveyed.0.min(evidence.surveyed.1), evidence.surveyed.0.max(evidence.surveyed.1));
        let margin = self.options.survey_margin_m;
        let on_slope = |rule: &Rule| rule.limits_slope() || rule.max_pool.is_none();
        let mut all = Vec::with_capacity(evidence.job.reaches.len());
        for (i, reach) in evidence.job.reaches.iter().enumerate() {
            let subject = format!("reach {}", i + 1);
            let mut selection = select(book, evidence.job, reach, on_slope);
            let (from_m, to_m) = (reach.from_m.max(first), reach.to_m.min(last));
            let surveyed = (from_m < to_m).then_some((from_m, to_m));
            let whole = reach.from_m >= first - margin && reach.to_m <= last + margin;
            let mut missing = Vec::new();
            if reach.pipe.nominal.is_none() {
                missing.push("the nominal size of the pipe".to_owned());
            }
            let mut tests = Vec::new();
            if let Some((from_m, to_m)) = surveyed {
                let roles = (selection.applying.iter().map(|rule| (*rule, Role::Applying)))
                    .chain(selection.open.iter().map(|(rule, _)| (*rule, Role::Open)))
                    .chain(selection.alternatives.iter().map(|(rule, _)| (*rule, Role::Alternative)));
                let mut unmeasurable = Vec::new();
                for (rule, role) in roles.filter(|(rule, _)| rule.limits_slope()) {
                    let Some(span) = Span::of(rule.over, evidence.job, reach, from_m, to_m) else {
                        unmeasurable.push(rule);
                        continue;
                    };
                    // A limit that cannot be told ("1 in DN" of a pipe sized in inches) is never taken for met by a
                    // row that may be stricter, nor for failed by one that may be milder.
                    let untold = if role == Role::Alternative { f64::MIN } else { f64::MAX };
                    let at = |limit: &SlopeLimit| limit.at(reach.pipe.nominal).unwrap_or(untold);
                    let best = measure::extremes(evidence.profile, evidence.job.flow, &span);
                    let (min, max) = (rule.min_slope.as_ref().map(at), rule.max_slope.as_ref().map(at));
                    tests.push(SlopeTest { rule, role, min, max, span, best, flattest: vec![], steepest: vec![] });
                }
                if !unmeasurable.is_empty() {
                    missing.push("the joints or the length of a stick".to_owned());
                    selection.applying.retain(|rule| !unmeasurable.iter().any(|u| u.id == rule.id));
                }
            }
            all.push(ReachSlopes { subject, reach, selection, tests, missing, surveyed, whole });
        }
        all
    }

    /// The finding of a reach; none where it is a drop.
    fn slope_part(&mut self, slopes: ReachSlopes<'a>, draws: usize) -> Option<Part> {
        let ReachSlopes { subject, reach, selection, tests, mut missing, surveyed, whole } = slopes;
        self.note_selection(&subject, &selection);
        let words = self.evidence.job.report.words;
        let title = &self.book.title;
        let named = if reach.name.is_empty() { subject.clone() } else { format!("{subject} ({})", reach.name) };
        let unknown = |finding: Finding| Some(Part { finding, chance: Chance::UNKNOWN, holds: None });
        let blank = |verdict| self.blank(&subject, reach.from_m, reach.to_m, Quantity::Slope, verdict);

        if missing.is_empty() && selection.applying.is_empty() {
            missing = selection.missing();
            if missing.is_empty() {
                let mut finding = blank(Verdict::Undecided(Reason::NoRule));
                finding.sentence = sentence::no_rule(&named, title, &selection.off);
                return unknown(finding);
            }
        }
        if !missing.is_empty() {
            let mut finding = blank(Verdict::Undecided(Reason::InputMissing));
            finding.sentence = sentence::input_missing(&named, title, &missing);
            finding.missing = missing;
            return unknown(finding);
        }
        let Some(surveyed) = surveyed else {
            let mut finding = blank(Verdict::Undecided(Reason::NotSurveyed));
            finding.sentence = sentence::not_surveyed(words, &named, title, None);
            return unknown(finding);
        };

        let of = |role: Role| tests.iter().filter(move |test| test.role == role);
        let chances = |role: Role| of(role).map(|test| test.chance(self.evidence));
        let released = selection.alternatives.iter().any(|(rule, _)| !rule.limits_slope());
        let holds = |draw: usize| {
            let applying = of(Role::Applying).all(|test| test.holds(draw));
            let open = of(Role::Open).all(|test| test.holds(draw));
            let instead = released || of(Role::Alternative).any(|test| test.holds(draw));
            (applying && open, applying || instead)
        };
        // The rows that apply by themselves, then with those that may.
        let (alone, chance) = if draws > 0 {
            let alone = fraction(draws, |draw| {
                let applying = of(Role::Applying).all(|test| test.holds(draw));
                (applying, applying)
            });
            (alone, fraction(draws, holds))
        } else {
            let alone = chances(Role::Applying).fold(Chance::CERTAIN, Chance::and);
            let low = chances(Role::Open).fold(alone, Chance::and).low;
            let instead = chances(Role::Alternative).fold(if released { 1.0 } else { 0.0 }, |most, c| c.high.max(most));
            (alone, Chance { low, high: alone.high.max(instead) })
        };

        // The strictest row: the least likely to hold, then the steepest least slope, then the first.
        let strictest = of(Role::Applying).fold(None::<(&SlopeTest<'_>, f64)>, |strictest, test| {
            let high = test.chance(self.evidence).high;
            match strictest {
                Some((other, h)) if (h, -other.min.unwrap_or(0.0)) <= (high, -test.min.unwrap_or(0.0)) => strictest,
                _ => Some((test, high)),
            }
        });
        let Some((test, _)) = strictest else {
            // A row without limits applies: what it turns on was stated by the job.
            let rule = selection.applying.first().copied()?;
            let mut finding = blank(Verdict::Meets);
            finding.requirement.clone_from(&rule.text);
            finding.rule = Some(rule.clone());
            finding.sentence = format!(
                "{} is met by what the job states, whatever the slope of {named}: {}",
                sentence::cite(rule),
                rule.text
            );
            return Some(Part { finding, chance: Chance::CERTAIN, holds: None });
        };
        let Some((stretch, required, at_most)) = test.binding() else {
            self.note(format!("{named} is steeper than 45 degrees, which the rules on slope do not speak of."));
            return None;
        };

        let values = if at_most { &test.steepest } else { &test.flattest };
        let sd = match test.rule.over {
            Over::Reach => (self.evidence.slope_sd)(stretch.from_m, stretch.to_m),
            _ if draws > 0 => None,
            _ => (self.evidence.slope_sd)(stretch.from_m, stretch.to_m),
        };
        let sd = sd.filter(|sd| sd.is_finite() && *sd >= 0.0).or_else(|| figures::sample_sd(values));
        let interval =
            figures::interval(values).or(sd.map(|sd| (stretch.slope - Z_95 * sd, stretch.slope + Z_95 * sd)));
        let gap = (stretch.slope - required).abs();
        let requirement = sentence::slope_requirement(test.rule);
        let sd_needed = Some(gap / figures::normal_quantile(self.options.confidence));
        let measured = Measured {
            words,
            subject: &named,
            quantity: Quantity::Slope,
            value: Some(stretch.slope),
            interval,
            between: (test.rule.over != Over::Reach).then_some((stretch.from_m, stretch.to_m)),
            rule: test.rule,
            requirement: &requirement,
            at_most,
            new_work: self.evidence.job.rules.work == Work::New,
            sd_needed,
        };
        let measurable = if gap < self.options.too_close_slope { Reason::TooClose } else { Reason::NeedsMeasurement };
        let mut finding = blank(Verdict::Undecided(measurable));
        finding.value = Some(stretch.slope);
        finding.value_sd = sd;
        (finding.value_low, finding.value_high) = (interval.map(|i| i.0), interval.map(|i| i.1));
        finding.required = Some(required);
        finding.requirement.clone_from(&requirement);
        finding.rule = Some(test.rule.clone());
        if !whole {
            finding.verdict = Verdict::Undecided(Reason::NotSurveyed);
            finding.sentence = sentence::not_surveyed(words, &named, title, Some(surveyed));
            return unknown(finding);
        }
        // Undecided by what the job leaves open, where the rows that apply are decided by themselves.
        let reason = match self.verdict(alone, measurable) {
            Verdict::Undecided(reason) => reason,
            Verdict::Meets | Verdict::Fails => Reason::InputMissing,
        };
        finding.verdict = self.verdict(chance, reason);
        finding.probability = chance.value();
        finding.sentence = match finding.verdict {
            Verdict::Meets => measured.meets(finding.probability),
            Verdict::Fails => measured.fails(),
            Verdict::Undecided(Reason::InputMissing) => {
                finding.missing = selection.missing();
                sentence::input_missing(&named, title, &finding.missing)
            }
            Verdict::Undecided(Reason::TooClose) => measured.too_close(),
            Verdict::Undecided(_) => measured.needs_measurement(),
        };
        if matches!(finding.verdict, Verdict::Undecided(Reason::TooClose | Reason::NeedsMeasurement)) {
            finding.sd_needed = sd_needed;
        }
        if let Some(second) = test.rule.also_printed.as_ref().and_then(|s| s.at(reach.pipe.nominal))
            && !at_most
            && stretch.slope < required - figures::roundoff(required)
            && stretch.slope >= second - figures::roundoff(second)
        {
            finding.sentence.push_str(" The best estimate lies between the two values that the clause prints.");
        }
        let also: Vec<&Rule> = of(Role::Applying).map(|t| t.rule).filter(|rule| rule.id != test.rule.id).collect();
        let holds = (draws > 0).then(|| (0..draws).map(holds).collect());
        for rule in also {
            self.note(format!(
                "For {subject}, {} applies too ({}); the stricter governs.",
                sentence::cite(rule),
                rule.text
            ));
        }
        Some(Part { finding, chance, holds })
    }

    /// The finding where the job describes no pipe.
    fn no_reach(&self) -> Part {
        let (from_m, to_m) = self.evidence.surveyed;
        let mut finding = self.blank("reach", from_m, to_m, Quantity::Slope, Verdict::Undecided(Reason::InputMissing));
        finding.missing = vec!["a reach with the nominal size of its pipe".to_owned()];
        finding.sentence = sentence::input_missing("the pipe", &self.book.title, &finding.missing);
        Part { finding, chance: Chance::UNKNOWN, holds: None }
    }

    /// Where backfall counts: the survey less traps and intended pools.
    fn backfall_stretches(&self) -> Vec<(f64, f64)> {
        let job = self.evidence.job;
        let traps = job.features.iter().filter(|f| f.kind == FeatureKind::Trap);
        let intended = self.evidence.pools.iter().filter(|pool| pool.intended).map(|pool| (pool.from_m, pool.to_m));
        let mut exempt: Vec<(f64, f64)> = traps
            .filter_map(|trap| trap.to_m.map(|to_m| (trap.station_m, to_m)))
            .chain(intended)
            .filter(|(a, b)| a.is_finite() && b.is_finite())
            .map(|(a, b)| (a.min(b), a.max(b)))
            .collect();
        exempt.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (a, b) = self.evidence.surveyed;
        let (mut from_m, last_m) = (a.min(b), a.max(b));
        let mut allowed = Vec::new();
        for (start, end) in exempt {
            if start > from_m {
                allowed.push((from_m, start.min(last_m)));
            }
            from_m = from_m.max(end);
        }
        allowed.push((from_m, last_m));
        allowed.retain(|(from_m, to_m)| from_m < to_m);
        allowed
    }

    /// The finding on backfall.
    fn backfall_part(&mut self, allowed: &[(f64, f64)], draws: &[f64]) -> Part {
        let (evidence, limit) = (self.evidence, self.options.backfall_m);
        let words = evidence.job.report.words;
        let rule = backfall_rule(words, limit);
        self.uses(&rule);
        let best = measure::longest_backfall(evidence.profile, evidence.job.flow, allowed);
        let short = |length_m: f64| length_m <= limit + figures::roundoff(limit);
        let chance = if draws.is_empty() {
            self.backfall_without_draws(&best, short(best.length_m), allowed)
        } else {
            fraction(draws.len(), |draw| {
                let holds = draws.get(draw).is_some_and(|length_m| short(*length_m));
                (holds, holds)
            })
        };
        let (a, b) = evidence.surveyed;
        let found = best.length_m > 0.0;
        let (from_m, to_m) = if found { (best.from_m, best.to_m) } else { (a.min(b), a.max(b)) };
        let verdict = self.verdict(chance, Reason::NeedsMeasurement);
        let mut finding = self.blank("backfall", from_m, to_m, Quantity::LengthM, verdict);
        let interval = figures::interval(draws);
        finding.value = Some(best.length_m);
        finding.value_sd = figures::sample_sd(draws);
        (finding.value_low, finding.value_high) = (interval.map(|i| i.0), interval.map(|i| i.1));
        finding.required = Some(limit);
        finding.requirement.clone_from(&rule.text);
        finding.probability = chance.value();
        let measured = Measured {
            words,
            subject: "backfall",
            quantity: Quantity::LengthM,
            value: finding.value,
            interval,
            between: found.then_some((from_m, to_m)),
            rule: &rule,
            requirement: &rule.text,
            at_most: true,
            new_work: true,
            sd_needed: None,
        };
        finding.sentence = match finding.verdict {
            Verdict::Meets => measured.meets(finding.probability),
            Verdict::Fails => measured.fails(),
            Verdict::Undecided(_) => measured.needs_measurement(),
        };
        finding.rule = Some(rule);
        let holds = (!draws.is_empty()).then(|| draws.iter().map(|m| (short(*m), short(*m))).collect());
        Part { finding, chance, holds }
    }

    /// Without draws backfall is decided only where the slope is known exactly, or excluded by a long backfall whose
    /// mean slope is surely negative.
    fn backfall_without_draws(&self, best: &Backfall, short: bool, allowed: &[(f64, f64)]) -> Chance {
        let sd = |from_m: f64, to_m: f64| (self.evidence.slope_sd)(from_m, to_m);
        if allowed.iter().all(|(from_m, to_m)| sd(*from_m, *to_m) == Some(0.0)) {
            return Chance::known(if short { 1.0 } else { 0.0 });
        }
        if short {
            return Chance::UNKNOWN;
        }
        let slope = measure::slope_between(self.evidence.profile, self.evidence.job.flow, best.from_m, best.to_m);
        let high = slope.and_then(|slope| figures::at_least(slope, sd(best.from_m, best.to_m), 0.0));
        Chance { low: 0.0, high: high.unwrap_or(1.0) }
    }

    /// The findings on pools.
    fn pool_parts(&mut self, draws: usize) -> Vec<Part> {
        let (book, evidence) = (self.book, self.evidence);
        if !book.rows.iter().any(|rule| rule.enabled && rule.max_pool.is_some()) {
            self.note(format!("Standing water: no limit in this rulebook ({}).", book.title));
            return Vec::new();
        }
        let mut parts = Vec::new();
        for (i, pool) in evidence.pools.iter().enumerate().filter(|(_, pool)| !pool.intended) {
            let subject = format!("pool {}", i + 1);
            let (from_m, to_m) = (pool.from_m.min(pool.to_m), pool.from_m.max(pool.to_m));
            let reaches = evidence.job.reaches.iter().filter(|r| r.from_m <= to_m && r.to_m >= from_m);
            let mut limits: Vec<&Rule> = Vec::new();
            let mut missing = Vec::new();
            for reach in reaches {
                let selection = select(book, evidence.job, reach, |rule| rule.max_pool.is_some());
                self.note_selection(&subject, &selection);
                if reach.pipe.nominal.is_none() {
                    missing.push("the nominal size of the pipe".to_owned());
                }
                missing.extend(selection.missing());
                limits.extend(selection.applying.iter().copied());
            }
            missing.sort();
            missing.dedup();
            if missing.is_empty() && limits.is_empty() {
                self.note(format!("Standing water in {subject}: no limit in this rulebook ({}).", book.title));
                continue;
            }
            let depth = |rule: &Rule| rule.max_pool.as_ref().map_or(f64::INFINITY, |limit| limit.depth_m);
            let strictest = limits.iter().copied().min_by(|a, b| depth(a).total_cmp(&depth(b)));
            match strictest {
                Some(rule) if missing.is_empty() => parts.push(self.pool_part(&subject, pool, rule, draws)),
                _ => {
                    let mut finding =
                        self.blank(&subject, from_m, to_m, Quantity::DepthM, Verdict::Undecided(Reason::InputMissing));
                    finding.value = Some(pool.depth_m);
                    finding.sentence = sentence::input_missing(&subject, &book.title, &missing);
                    finding.missing = missing;
                    parts.push(Part { finding, chance: Chance::UNKNOWN, holds: None });
                }
            }
        }
        parts
    }

    /// The finding on one pool against its strictest row.
    fn pool_part(&self, subject: &str, pool: &PoolEvidence, rule: &Rule, draws: usize) -> Part {
        let words = self.evidence.job.report.words;
        let tolerance_m = self.options.pool_tolerance_m;
        let printed_m = rule.max_pool.as_ref().map_or(0.0, |limit| limit.depth_m);
        let limit_m = printed_m.max(tolerance_m);
        let holds = |depth_m: f64| depth_m <= limit_m + figures::roundoff(limit_m);
        let depths = pool.depth_draws_m.as_deref().filter(|depths| draws > 0 && depths.len() == draws);
        let known = match (depths, pool.exists_probability) {
            (Some(depths), _) => Some(depths.iter().filter(|d| holds(**d)).count() as f64 / depths.len() as f64),
            (None, Some(exists)) if printed_m <= tolerance_m && (0.0..=1.0).contains(&exists) => Some(1.0 - exists),
            _ => figures::at_least(-pool.depth_m, pool.depth_sd_m, -limit_m),
        };
        // Behind a sill that is the last surveyed point the depth is a lower bound: it can only be too deep.
        let mut chance = known.map_or(Chance::UNKNOWN, Chance::known);
        if pool.sill_is_last_point {
            chance.low = 0.0;
        }
        let beyond = pool.sill_is_last_point && known.is_some_and(|p| p >= self.options.confidence);
        let reason = if beyond { Reason::NotSurveyed } else { Reason::NeedsMeasurement };

        let sd = pool.depth_sd_m.filter(|sd| sd.is_finite() && *sd >= 0.0);
        let (from_m, to_m) = (pool.from_m.min(pool.to_m), pool.from_m.max(pool.to_m));
        let mut finding = self.blank(subject, from_m, to_m, Quantity::DepthM, self.verdict(chance, reason));
        finding.value = Some(pool.depth_m);
        finding.value_sd = sd;
        (finding.value_low, finding.value_high) = (pool.depth_low_m, pool.depth_high_m);
        finding.required = Some(printed_m);
        finding.requirement = sentence::pool_requirement(words, rule, tolerance_m);
        finding.probability = chance.value();
        finding.rule = Some(rule.clone());
        let sd_needed = (pool.depth_m - limit_m).abs() / figures::normal_quantile(self.options.confidence);
        let measured = Measured {
            words,
            subject,
            quantity: Quantity::DepthM,
            value: finding.value,
            interval: pool.depth_low_m.zip(pool.depth_high_m),
            between: None,
            rule,
            requirement: &finding.requirement,
            at_most: true,
            new_work: self.evidence.job.rules.work == Work::New,
            sd_needed: Some(sd_needed),
        };
        finding.sentence = match finding.verdict {
            Verdict::Meets => measured.meets(finding.probability),
            Verdict::Fails => measured.fails(),
            Verdict::Undecided(Reason::NotSurveyed) => format!(
                "Whether {subject} meets {} cannot be decided: what holds its water may lie beyond the last surveyed \
                 point, {}.",
                sentence::cite(rule),
                text::station(words, self.evidence.surveyed.1.max(self.evidence.surveyed.0))
            ),
            Verdict::Undecided(_) => {
                finding.sd_needed = Some(sd_needed);
                measured.needs_measurement()
            }
        };
        let holds = depths.map(|d| d.iter().map(|d| (holds(*d) && !pool.sill_is_last_point, holds(*d))).collect());
        Part { finding, chance, holds }
    }

    /// The lateral's own finding: all parts in the same draw.
    fn lateral(&self, parts: &[Part], draws: usize) -> Finding {
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
        let mut finding = self.blank("lateral", a.min(b), a.max(b), Quantity::Slope, verdict);
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

    fn lateral_sentence(&self, verdict: Verdict, joint: Chance, parts: &[Part], worst: Option<&Part>) -> String {
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
                "Whether the lateral meets {title} cannot be decided from this data ({chance}): of its {all} parts {} \
                 are met, {} are not, {} are undecided.{worst}",
                count("meets"),
                count("fails"),
                count("undecided")
            ),
        }
    }
}

/// The row that stands for the choice on backfall.
fn backfall_rule(words: crate::units::Words, limit_m: f64) -> Rule {
    Rule {
        id: "backfall".to_owned(),
        document: "fallwise".to_owned(),
        edition: env!("CARGO_PKG_VERSION").to_owned(),
        clause: "our choice".to_owned(),
        text: format!("no backfall longer than {} (our choice)", text::length(words, limit_m)),
        force: Force::Practice,
        applies_to: AppliesTo::All,
        confirmed: true,
        source_mark: "our choice, settable".to_owned(),
        enabled: true,
        remark: String::new(),
        needs: std::collections::BTreeMap::new(),
        needs_at_least: std::collections::BTreeMap::new(),
        assumed: std::collections::BTreeMap::new(),
        instead_of: Vec::new(),
        unit: None,
        min_size: None,
        max_size: None,
        min_slope: None,
        also_printed: None,
        max_slope: None,
        max_pool: None,
        over: Over::Reach,
    }
}
