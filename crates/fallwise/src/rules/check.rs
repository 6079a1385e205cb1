//! Evidence in, findings out.

use super::{
    figures::{Chance, fraction},
    finding::{Check, CheckOptions, Evidence, Finding, Quantity, Reason, Verdict},
    measure,
    rulebook::{Rule, Rulebook},
    select::{self, Selection},
    sentence,
};
use crate::prelude::*;
use crate::{error::Error, model::Work, said, units::Said};

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
///     at_drop: vec![],
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
///         seen: rules::Seen::default(),
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
        for reach in &mut slopes {
            // Rows mostly measure on the same stretches.
            let mut measured: Option<(&measure::Span, _)> = None;
            for test in &mut reach.tests {
                let found = match measured {
                    Some((span, found)) if *span == test.span => found,
                    _ => measure::extremes(profile, flow, &test.span),
                };
                test.draw(found);
                measured = Some((&test.span, found));
            }
        }
        backfalls.push(measure::longest_backfall(profile, flow, &allowed).length_m);
    });
    let any_reach = !slopes.is_empty();
    let mut parts: Vec<Part> =
        slopes.into_iter().filter_map(|reach| checker.slope_part(reach, backfalls.len())).collect();
    if evidence.job.reaches.is_empty() {
        parts.push(checker.no_reach());
    } else if parts.is_empty() && any_reach {
        parts.push(checker.only_drops());
    }
    parts.push(checker.backfall_part(&allowed, &backfalls));
    parts.extend(checker.pool_parts(backfalls.len()));
    let lateral = checker.lateral(&parts, backfalls.len());
    checker.note(said!("The code as adopted locally governs."));
    let parts = parts.into_iter().map(|part| part.finding).collect();
    let warnings = select::unknown_facts(book, evidence.job);
    Ok(Check { lateral, parts, rules_used: checker.rules_used, notes: checker.notes, warnings })
}

/// A finding, and what the lateral's joint probability needs of it.
pub(super) struct Part {
    pub(super) finding: Finding,
    /// What decides it, in one short sentence for the lateral's own.
    pub(super) brief: Said,
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
    pub(super) notes: Vec<Said>,
}

impl Checker<'_> {
    pub(super) fn note(&mut self, note: Said) {
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
        // One more draw, not made, might have gone the other way (Laplace's rule of succession, on the side of doubt): a
        // handful of draws that agree decide nothing.
        let n = self.evidence.draws.count() as f64;
        let (low, high) = if n > 0.0 {
            (chance.low * n / (n + 1.0), (chance.high * n + 1.0) / (n + 1.0))
        } else {
            (chance.low, chance.high)
        };
        if low >= self.options.confidence {
            Verdict::Meets
        } else if high <= 1.0 - self.options.confidence + 1e-12 {
            // 1 - 0.95 is not quite 0.05
            Verdict::Fails
        } else {
            Verdict::Undecided(otherwise)
        }
    }

    /// Whether a stretch was surveyed from end to end.
    pub(super) fn reached(&self, from_m: f64, to_m: f64) -> bool {
        let (a, b) = self.evidence.surveyed;
        let margin = self.options.survey_margin_m;
        from_m >= a.min(b) - margin && to_m <= a.max(b) + margin
    }

    /// The unseen stretches within another.
    pub(super) fn unseen(&self, from_m: f64, to_m: f64) -> impl Iterator<Item = (f64, f64)> + use<'_> {
        let margin = self.options.survey_margin_m;
        let inside = move |&(a, b): &(f64, f64)| a.max(from_m) + margin < b.min(to_m);
        self.evidence.seen.unseen_m.iter().copied().filter(inside)
    }

    /// Notes what a reader must know of the rows that were looked at.
    pub(super) fn note_selection(&mut self, subject: &Said, selection: &Selection<'_>) {
        let speaking = selection.open.iter().chain(&selection.alternatives).map(|(rule, _)| *rule);
        let used: Vec<&Rule> = selection.applying.iter().copied().chain(speaking).collect();
        for rule in &used {
            self.uses(rule);
            if !rule.confirmed {
                self.note(said!(
                    "{rule} ({id}) was not seen in the document itself: {mark}.",
                    rule = sentence::cite(rule),
                    id = &rule.id,
                    mark = &rule.source_mark
                ));
            }
            if !rule.remark.is_empty() {
                self.note(said!(
                    "{rule} ({id}): {remark}",
                    rule = sentence::cite(rule),
                    id = &rule.id,
                    remark = &rule.remark
                ));
            }
        }
        for (rule, missing) in &selection.alternatives {
            self.note(said!(
                "For {subject}, {rule} would hold instead if the job gave {missing}: {text}",
                subject = subject,
                rule = sentence::cite(rule),
                missing = sentence::list(missing),
                text = &rule.text
            ));
        }
        for rule in &selection.assumed_away {
            // As they would be written in the job.
            let taken = rule.assumed.iter().map(|(name, value)| Said::text(format!("{name} = \"{value}\"")));
            self.note(said!(
                "{rule} is left out because the job is silent and {taken} is taken: {text}",
                rule = sentence::cite(rule),
                taken = sentence::list(&taken.collect::<Vec<_>>()),
                text = &rule.text
            ));
        }
        for rule in &selection.off {
            let why = rule.remark.strip_prefix("Switched off: ").unwrap_or(&rule.remark);
            self.note(said!(
                "{rule} ({id}) is switched off: {why}",
                rule = sentence::cite(rule),
                id = &rule.id,
                why = why
            ));
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
        let mut finding = Finding::blank(said!("lateral"), a.min(b), a.max(b), Quantity::Slope, verdict);
        finding.probability = joint.value();
        finding.requirement = said!("every part meets its own requirement ({title})", title = &self.book.title);
        // Backfall is our own choice: a lateral's finding against a book must not cite it as its document.
        finding.rule =
            worst.filter(|part| part.finding.quantity != Quantity::LengthM).and_then(|p| p.finding.rule.clone());
        finding.missing = select::each_once(parts.iter().flat_map(|part| &part.finding.missing));
        finding.sentence = self.lateral_sentence(verdict, joint, parts);
        finding
    }

    /// The lateral's own sentences, on the part that decides: of those with the lateral's own verdict and reason, one
    /// held against the book before our own choice on backfall, then the least likely to be met.
    fn lateral_sentence(&self, verdict: Verdict, joint: Chance, parts: &[Part]) -> Said {
        let measured =
            |verdict: Verdict| matches!(verdict, Verdict::Undecided(Reason::NeedsMeasurement | Reason::TooClose));
        let same =
            |part: &Part| part.finding.verdict == verdict || (measured(part.finding.verdict) && measured(verdict));
        let ours = |part: &Part| part.finding.subject == "backfall";
        let key = |part: &Part| (u8::from(!same(part)), u8::from(ours(part)));
        let deciding = parts.iter().min_by(|a, b| {
            let likely = a.chance.high.total_cmp(&b.chance.high).then(a.chance.low.total_cmp(&b.chance.low));
            key(a).cmp(&key(b)).then(likely)
        });
        let by_book: Vec<Verdict> = parts.iter().filter(|part| !ours(part)).map(|part| part.finding.verdict).collect();
        sentence::Whole {
            words: self.evidence.job.report.words,
            title: &self.book.title,
            verdict,
            chance: joint,
            deciding: deciding.map(|part| (&part.finding, &part.brief)),
            backfall: parts.iter().find(|part| ours(part)).map(|part| &part.finding),
            new_work: self.evidence.job.rules.work == Work::New,
            by_book: &by_book,
            on_slope: parts.iter().any(|part| part.finding.quantity == Quantity::Slope),
        }
        .sentence()
    }
}
