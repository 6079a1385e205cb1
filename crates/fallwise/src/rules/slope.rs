//! The slope of each reach against the rows that speak of it.

use super::{
    check::{Checker, Part},
    figures::{self, Chance, Z_95, fraction},
    finding::{Evidence, Finding, Quantity, Reason, Verdict},
    measure::{self, Span, Stretch},
    rulebook::{Over, Rule, SlopeLimit},
    select::{Selection, select},
    sentence::{self, Measured},
};
use crate::prelude::*;
use crate::{
    model::{Reach, Work},
    said,
    units::Said,
};

/// Whether a row that is tested must hold, may have to, would do instead, or would have to if an assumption were wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Role {
    Applying,
    Open,
    Alternative,
    Assumed,
}

/// A row held against a reach.
pub(super) struct SlopeTest<'a> {
    rule: &'a Rule,
    role: Role,
    min: Option<f64>,
    max: Option<f64>,
    pub(super) span: Span,
    /// Flattest and steepest stretch of the best estimate.
    best: Option<(Stretch, Stretch)>,
    /// Flattest slope of each draw; not a number where there is none.
    flattest: Vec<f64>,
    steepest: Vec<f64>,
}

impl SlopeTest<'_> {
    pub(super) fn draw(&mut self, found: Option<(Stretch, Stretch)>) {
        self.flattest.push(found.map_or(f64::NAN, |(flattest, _)| flattest.slope));
        self.steepest.push(found.map_or(f64::NAN, |(_, steepest)| steepest.slope));
    }

    /// Whether it holds in a draw. A draw in which the stretch is a drop meets every least slope.
    pub(super) fn holds(&self, draw: usize) -> bool {
        let flattest = self.flattest.get(draw).copied().unwrap_or(f64::NAN);
        let steepest = self.steepest.get(draw).copied().unwrap_or(f64::NAN);
        let enough = self.min.is_none_or(|min| flattest.is_nan() || flattest >= min - figures::roundoff(min));
        enough && self.max.is_none_or(|max| steepest <= max + figures::roundoff(max))
    }

    /// Probability that it holds, from draws or else from the standard deviations of the slopes.
    pub(super) fn chance(&self, evidence: &Evidence<'_>) -> Chance {
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
    pub(super) fn binding(&self) -> Option<(Stretch, f64, bool)> {
        let (flattest, steepest) = self.best?;
        let short = self.min.map(|min| (min - flattest.slope, (flattest, min, false)));
        let over = self.max.map(|max| (steepest.slope - max, (steepest, max, true)));
        match (short, over) {
            (Some(short), Some(over)) => Some(if over.0 > short.0 { over.1 } else { short.1 }),
            (one, other) => one.or(other).map(|(_, binding)| binding),
        }
    }
}
/// A reach, the rows on slope that speak of it, and their tests.
pub(super) struct ReachSlopes<'a> {
    /// Number of the reach in the job, from 1.
    number: usize,
    reach: &'a Reach,
    selection: Selection<'a>,
    pub(super) tests: Vec<SlopeTest<'a>>,
    /// Facts missing besides those of the selection.
    missing: Vec<Said>,
    /// The stretch of it that was surveyed.
    surveyed: Option<(f64, f64)>,
}
impl<'a> Checker<'a> {
    /// The tests of every reach, with nothing measured on draws yet.
    pub(super) fn slope_tests(&mut self) -> Vec<ReachSlopes<'a>> {
        let (book, evidence) = (self.book, self.evidence);
        if !book.rows.iter().any(Rule::limits_slope) {
            self.note(said!("{title} states no slope.", title = &book.title));
            return Vec::new();
        }
        let (first, last) =
            (evidence.surveyed.0.min(evidence.surveyed.1), evidence.surveyed.0.max(evidence.surveyed.1));
        let on_slope = |rule: &Rule| rule.limits_slope() || rule.max_pool.is_none();
        let mut all = Vec::with_capacity(evidence.job.reaches.len());
        for (i, reach) in evidence.job.reaches.iter().enumerate() {
            let mut selection = select(book, evidence.job, reach, on_slope);
            let (from_m, to_m) = (reach.from_m.max(first), reach.to_m.min(last));
            let surveyed = (from_m < to_m).then_some((from_m, to_m));
            let mut missing = Vec::new();
            if reach.pipe.nominal.is_none() {
                missing.push(said!("the nominal size of the pipe"));
            }
            let mut tests = Vec::new();
            if let Some((from_m, to_m)) = surveyed {
                let roles = (selection.applying.iter().map(|rule| (*rule, Role::Applying)))
                    .chain(selection.open.iter().map(|(rule, _)| (*rule, Role::Open)))
                    .chain(selection.alternatives.iter().map(|(rule, _)| (*rule, Role::Alternative)))
                    .chain(selection.assumed_away.iter().map(|rule| (*rule, Role::Assumed)));
                let mut unmeasurable = Vec::new();
                for (rule, role) in roles.filter(|(rule, _)| rule.limits_slope()) {
                    let Some(span) = Span::of(rule.over, evidence.job, reach, from_m, to_m) else {
                        if role != Role::Assumed {
                            unmeasurable.push(rule);
                        }
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
                    missing.push(said!("the joints or the length of a stick"));
                    selection.applying.retain(|rule| !unmeasurable.iter().any(|u| u.id == rule.id));
                }
            }
            all.push(ReachSlopes { number: i + 1, reach, selection, tests, missing, surveyed });
        }
        all
    }

    /// The finding of a reach; none where it is a drop.
    pub(super) fn slope_part(&mut self, slopes: ReachSlopes<'a>, draws: usize) -> Option<Part> {
        let ReachSlopes { number, reach, selection, tests, mut missing, surveyed } = slopes;
        let subject = said!("reach {n}", n = number);
        let told = if reach.name.is_empty() {
            subject.clone()
        } else {
            said!("reach {n} ({name})", n = number, name = &reach.name)
        };
        self.note_selection(&told, &selection);
        let words = self.evidence.job.report.words;
        let title = &self.book.title;
        let named = if reach.name.is_empty() {
            subject.clone()
        } else {
            said!("{reach}, {name},", reach = &subject, name = &reach.name)
        };
        let unknown =
            |finding: Finding, brief: Said| Some(Part { finding, brief, chance: Chance::UNKNOWN, holds: None });
        let blank = |verdict| Finding {
            reach: Some(number),
            ..Finding::blank(subject.clone(), reach.from_m, reach.to_m, Quantity::Slope, verdict)
        };

        if missing.is_empty() && selection.applying.is_empty() {
            missing = selection.missing();
            if missing.is_empty() {
                let mut finding = blank(Verdict::Undecided(Reason::NoRule));
                finding.sentence = sentence::no_rule(&named, title, &selection.off);
                return unknown(finding, sentence::no_rule_brief(&named));
            }
        }
        if !missing.is_empty() {
            let mut finding = blank(Verdict::Undecided(Reason::InputMissing));
            finding.sentence = sentence::input_missing(&named, title, &missing);
            let brief = sentence::input_missing_brief(&named, &missing);
            finding.missing = missing;
            return unknown(finding, brief);
        }
        let Some(surveyed) = surveyed else {
            let mut finding = blank(Verdict::Undecided(Reason::NotSurveyed));
            finding.sentence = sentence::not_surveyed(words, &named, title, None);
            return unknown(finding, sentence::not_surveyed_brief(words, &named, None));
        };
        // What was not reached, or lies between readings too far apart, is not known; between inverts the fall is.
        let whole = self.reached(reach.from_m, reach.to_m);
        let hole = self.unseen(reach.from_m, reach.to_m).find(|_| !self.evidence.seen.falls_known);
        let not_whole = |mut finding: Finding| {
            finding.verdict = Verdict::Undecided(Reason::NotSurveyed);
            let brief = if let Some(hole) = hole.filter(|_| whole) {
                finding.sentence = sentence::unseen(words, &named, title, hole);
                sentence::unseen_brief(words, &named, hole)
            } else {
                finding.sentence = sentence::not_surveyed(words, &named, title, Some(surveyed));
                sentence::not_surveyed_brief(words, &named, Some(surveyed))
            };
            unknown(finding, brief)
        };

        let of = |role: Role| tests.iter().filter(move |test| test.role == role);
        let chances = |role: Role| of(role).map(|test| test.chance(self.evidence));
        // A row that may take the place of another is milder or stricter: surely met is only what holds either way, and a
        // row may be met by one that takes its own place.
        let released = |id: &str| {
            selection
                .alternatives
                .iter()
                .any(|(rule, _)| !rule.limits_slope() && rule.instead_of.iter().any(|i| i == id))
        };
        let stands_in = |other: &SlopeTest<'_>, id: &str| other.rule.instead_of.iter().any(|i| i == id);
        let holds = |draw: usize| {
            let may = |test: &SlopeTest<'_>| {
                let id = &test.rule.id;
                test.holds(draw)
                    || released(id)
                    || of(Role::Alternative).any(|other| stands_in(other, id) && other.holds(draw))
            };
            let all = tests.iter().filter(|test| test.role != Role::Assumed).all(|test| test.holds(draw));
            (all, of(Role::Applying).all(may))
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
            let low = chances(Role::Open).chain(chances(Role::Alternative)).fold(alone, Chance::and).low;
            let may = |test: &SlopeTest<'_>| {
                let id = &test.rule.id;
                let instead = of(Role::Alternative).filter(|other| stands_in(other, id));
                let own = if released(id) { 1.0 } else { test.chance(self.evidence).high };
                Chance { low: 0.0, high: instead.fold(own, |most, other| other.chance(self.evidence).high.max(most)) }
            };
            let high = of(Role::Applying).map(may).fold(Chance::CERTAIN, Chance::and).high;
            (alone, Chance { low, high })
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
            finding.requirement = Said::text(&rule.text);
            finding.rule = Some(rule.clone());
            if !whole || hole.is_some() {
                return not_whole(finding);
            }
            finding.sentence = sentence::met_by_facts(&named, rule);
            let brief = finding.sentence.clone();
            return Some(Part { finding, brief, chance: Chance::CERTAIN, holds: None });
        };
        let Some((stretch, required, at_most)) = test.binding() else {
            self.note(sentence::is_drop(&named));
            test.max?;
            // A drop meets every least slope; whether a greatest one speaks of it, the row does not say.
            let mut finding = blank(Verdict::Undecided(Reason::NoRule));
            finding.requirement = sentence::slope_requirement(words, test.rule, reach.pipe.nominal);
            finding.rule = Some(test.rule.clone());
            finding.sentence = sentence::is_drop(&named);
            let brief = finding.sentence.clone();
            return unknown(finding, brief);
        };

        let values = if at_most { &test.steepest } else { &test.flattest };
        // Of a reach the interval is the one that every table gives; of the worst of many windows, that of the draws.
        let known_sd = match test.rule.over {
            Over::Reach => (self.evidence.slope_sd)(stretch.from_m, stretch.to_m),
            _ if draws > 0 => None,
            _ => (self.evidence.slope_sd)(stretch.from_m, stretch.to_m),
        };
        let known_sd = known_sd.filter(|sd| sd.is_finite() && *sd >= 0.0);
        let sd = known_sd.or_else(|| figures::sample_sd(values));
        let interval = known_sd
            .map(|sd| (stretch.slope - Z_95 * sd, stretch.slope + Z_95 * sd))
            .or_else(|| figures::interval(values));
        let gap = (stretch.slope - required).abs();
        let requirement = sentence::slope_requirement(words, test.rule, reach.pipe.nominal);
        // At the limit by the present estimate: no standard deviation can be named that would decide it. Known badly, a measurement will
        // move it away from there, or not.
        let near = gap < self.options.too_close_slope;
        let sd_needed = (!near).then(|| gap / figures::normal_quantile(self.options.confidence));
        let between_the_two =
            test.rule.also_printed.as_ref().and_then(|s| s.at(reach.pipe.nominal)).is_some_and(|second| {
                !at_most
                    && stretch.slope < required - figures::roundoff(required)
                    && stretch.slope >= second - figures::roundoff(second)
            });
        let measured = Measured {
            words,
            subject: &named,
            quantity: Quantity::Slope,
            value: Some(stretch.slope),
            interval: interval.map(|(low, high)| (Some(low), high)),
            between: (test.rule.over != Over::Reach).then_some((stretch.from_m, stretch.to_m)),
            rule: test.rule,
            requirement: &requirement,
            at_most,
            new_work: self.evidence.job.rules.work == Work::New,
            sd_needed,
            prints_two: between_the_two,
        };
        let known_well = sd.is_some_and(|sd| sd <= self.options.too_close_slope);
        let measurable = if near && known_well { Reason::TooClose } else { Reason::NeedsMeasurement };
        let mut finding = blank(Verdict::Undecided(measurable));
        finding.value = Some(stretch.slope);
        finding.value_sd = sd;
        (finding.value_low, finding.value_high) = (interval.map(|i| i.0), interval.map(|i| i.1));
        finding.required = Some(required);
        finding.requirement.clone_from(&requirement);
        finding.rule = Some(test.rule.clone());
        if !whole || hole.is_some() {
            return not_whole(finding);
        }
        // Undecided by what the job leaves open, where the rows that apply are decided by themselves.
        let reason = match self.verdict(alone, measurable) {
            Verdict::Undecided(reason) => reason,
            Verdict::Meets | Verdict::Fails => Reason::InputMissing,
        };
        finding.verdict = self.verdict(chance, reason);
        finding.probability = chance.value();
        // What hangs on a fact that the job did not give.
        let otherwise = of(Role::Assumed).find_map(|test| {
            let chance = test.chance(self.evidence);
            let would = self.verdict(chance, measurable);
            let differs = would.word() != finding.verdict.word() && finding.verdict.word() != "undecided";
            let asked = sentence::slope_requirement(words, test.rule, reach.pipe.nominal);
            differs.then(|| sentence::if_assumed_wrong(test.rule, &asked, would, chance.value()))
        });
        let mut brief = measured.brief();
        finding.sentence = match finding.verdict {
            Verdict::Meets => measured.meets(chance),
            Verdict::Fails => measured.fails(finding.probability),
            Verdict::Undecided(Reason::InputMissing) => {
                finding.missing = selection.missing();
                brief = sentence::input_missing_brief(&named, &finding.missing);
                sentence::input_missing(&named, title, &finding.missing)
            }
            Verdict::Undecided(Reason::TooClose) => measured.too_close(),
            Verdict::Undecided(_) => measured.needs_measurement(finding.probability),
        };
        if let Some(otherwise) = otherwise {
            finding.sentence.push(otherwise);
        }
        if matches!(finding.verdict, Verdict::Undecided(Reason::TooClose | Reason::NeedsMeasurement)) {
            finding.sd_needed = sd_needed;
        }
        let also: Vec<&Rule> = of(Role::Applying).map(|t| t.rule).filter(|rule| rule.id != test.rule.id).collect();
        let holds = (draws > 0).then(|| (0..draws).map(holds).collect());
        for rule in also {
            self.note(said!(
                "For {subject}, {rule} applies too ({text}); the stricter governs.",
                subject = &subject,
                rule = sentence::cite(rule),
                text = &rule.text
            ));
        }
        Some(Part { finding, brief, chance, holds })
    }

    /// Nothing of the pipe is flat enough for a rule on slope: nothing was held against it, so nothing is met.
    pub(super) fn only_drops(&self) -> Part {
        let (from_m, to_m) = self.evidence.surveyed;
        let mut finding =
            Finding::blank(said!("reach"), from_m, to_m, Quantity::Slope, Verdict::Undecided(Reason::NoRule));
        finding.sentence = sentence::is_drop(&said!("the whole pipe"));
        let brief = finding.sentence.clone();
        Part { finding, brief, chance: Chance::UNKNOWN, holds: None }
    }

    /// The finding where the job describes no pipe.
    pub(super) fn no_reach(&self) -> Part {
        let (from_m, to_m) = self.evidence.surveyed;
        let mut finding =
            Finding::blank(said!("reach"), from_m, to_m, Quantity::Slope, Verdict::Undecided(Reason::InputMissing));
        finding.missing = vec![said!("a reach with the nominal size of its pipe")];
        finding.sentence = sentence::input_missing(&said!("the pipe"), &self.book.title, &finding.missing);
        let brief = sentence::input_missing_brief(&said!("the pipe"), &finding.missing);
        Part { finding, brief, chance: Chance::UNKNOWN, holds: None }
    }
}
