//! Backfall and standing water.

use super::{
    check::{Checker, Part},
    figures::{self, Chance, fraction},
    finding::{Finding, PoolEvidence, Quantity, Reason, Verdict},
    measure::{self, Backfall},
    rulebook::{AppliesTo, Force, Over, Rule},
    select::{self, select},
    sentence::{self, Measured},
};
use crate::prelude::*;
use crate::{
    model::{Flow, Job, Work},
    pool::traps_m,
    profile::Profile,
    said,
    units::Said,
    word,
};

impl Checker<'_> {
    /// Where backfall counts.
    pub(super) fn backfall_stretches(&self) -> Vec<(f64, f64)> {
        without_traps(self.evidence.job, self.evidence.surveyed)
    }

    /// The finding on backfall.
    pub(super) fn backfall_part(&mut self, allowed: &[(f64, f64)], draws: &[f64]) -> Part {
        let (evidence, limit) = (self.evidence, self.options.backfall_m);
        let words = evidence.job.report.words;
        let asked = sentence::no_backfall(words, limit);
        let rule = backfall_rule(&asked);
        self.uses(&rule);
        let best = measure::longest_backfall(evidence.profile, evidence.job.flow, allowed);
        // Draws do not move breaks, so either end of a backfall may lie as far off as the readings stand apart.
        let ends_m = 2.0 * evidence.seen.break_m.max(0.0);
        let most = limit + figures::roundoff(limit);
        let holds = |length_m: f64| (length_m <= 0.0 || length_m + ends_m <= most, length_m - ends_m <= most);
        let mut chance = if draws.is_empty() {
            self.backfall_without_draws(&best, holds(best.length_m), allowed)
        } else {
            fraction(draws.len(), |draw| draws.get(draw).map_or((false, false), |length_m| holds(*length_m)))
        };
        // Of what was not seen nothing is known: it can only be more.
        let hole = allowed.iter().flat_map(|(a, b)| self.unseen(*a, *b)).find(|(a, b)| b - a > limit);
        let otherwise = if hole.is_some() && chance.low >= self.options.confidence {
            Reason::NotSurveyed
        } else {
            Reason::NeedsMeasurement
        };
        if hole.is_some() {
            chance.low = 0.0;
        }
        let (a, b) = evidence.surveyed;
        let found = best.length_m > 0.0;
        let (from_m, to_m) = if found { (best.from_m, best.to_m) } else { (a.min(b), a.max(b)) };
        let verdict = self.verdict(chance, otherwise);
        let mut finding = Finding::blank(said!("backfall"), from_m, to_m, Quantity::LengthM, verdict);
        // No interval: the ends of a backfall are breaks that the draws do not move, so that their spread would be far too
        // small. The probability counts only whether the pipe there runs backwards at all.
        finding.value = Some(best.length_m);
        finding.required = Some(limit);
        finding.requirement = asked;
        // As drawn, and nothing where a part was not seen; the verdict also allows for what the draws do not move.
        let drawn = (!draws.is_empty() && hole.is_none())
            .then(|| draws.iter().filter(|length_m| **length_m <= most).count() as f64 / draws.len() as f64);
        finding.probability = drawn.or(chance.value());
        let said = sentence::Backfall { words, length_m: best.length_m, between: (from_m, to_m), limit_m: limit, hole };
        finding.sentence = said.sentence(finding.verdict, chance, finding.probability);
        let brief = said.brief();
        finding.rule = Some(rule);
        let seen = |(low, high): (bool, bool)| (low && hole.is_none(), high);
        let holds = (!draws.is_empty()).then(|| draws.iter().map(|length_m| seen(holds(*length_m))).collect());
        Part { finding, brief, chance, holds }
    }

    /// Without draws backfall is decided only where the slope is known exactly, or excluded by a long backfall whose
    /// mean slope is surely negative.
    pub(super) fn backfall_without_draws(
        &self,
        best: &Backfall,
        (low, high): (bool, bool),
        allowed: &[(f64, f64)],
    ) -> Chance {
        let sd = |from_m: f64, to_m: f64| (self.evidence.slope_sd)(from_m, to_m);
        if allowed.iter().all(|(from_m, to_m)| sd(*from_m, *to_m) == Some(0.0)) {
            return Chance { low: f64::from(u8::from(low)), high: f64::from(u8::from(high)) };
        }
        if high {
            return Chance::UNKNOWN;
        }
        let slope = measure::slope_between(self.evidence.profile, self.evidence.job.flow, best.from_m, best.to_m);
        let high = slope.and_then(|slope| figures::at_least(slope, sd(best.from_m, best.to_m), 0.0));
        Chance { low: 0.0, high: high.unwrap_or(1.0) }
    }

    /// The findings on pools.
    pub(super) fn pool_parts(&mut self, draws: usize) -> Vec<Part> {
        let (book, evidence) = (self.book, self.evidence);
        if !book.limits_water() {
            self.note(said!("Standing water: no limit in this rulebook ({title}).", title = &book.title));
            return Vec::new();
        }
        let mut parts = Vec::new();
        for pool in evidence.pools.iter().filter(|pool| !pool.intended) {
            let subject = said!("pool {n}", n = pool.number);
            let (from_m, to_m) = (pool.from_m.min(pool.to_m), pool.from_m.max(pool.to_m));
            let reaches = evidence.job.reaches.iter().filter(|r| r.from_m <= to_m && r.to_m >= from_m);
            let mut limits: Vec<&Rule> = Vec::new();
            let mut missing = Vec::new();
            for reach in reaches {
                let selection = select(book, evidence.job, reach, |rule| rule.max_pool.is_some());
                self.note_selection(&subject, &selection);
                if reach.pipe.nominal.is_none() {
                    missing.push(said!("the nominal size of the pipe"));
                }
                missing.extend(selection.missing());
                limits.extend(selection.applying.iter().copied());
            }
            let missing = select::each_once(&missing);
            if missing.is_empty() && limits.is_empty() {
                self.note(said!(
                    "Standing water in {subject}: no limit in this rulebook ({title}).",
                    subject = &subject,
                    title = &book.title
                ));
                continue;
            }
            let depth = |rule: &Rule| rule.max_pool.as_ref().map_or(f64::INFINITY, |limit| limit.depth_m);
            let strictest = limits.iter().copied().min_by(|a, b| depth(a).total_cmp(&depth(b)));
            match strictest {
                Some(rule) if missing.is_empty() => parts.push(self.pool_part(&subject, pool, rule, draws)),
                _ => {
                    let mut finding = Finding::blank(
                        subject.clone(),
                        from_m,
                        to_m,
                        Quantity::DepthM,
                        Verdict::Undecided(Reason::InputMissing),
                    );
                    finding.pool = Some(pool.number);
                    finding.value = Some(pool.depth_m);
                    finding.sentence = sentence::input_missing(&subject, &book.title, &missing);
                    let brief = sentence::input_missing_brief(&subject, &missing);
                    finding.missing = missing;
                    parts.push(Part { finding, brief, chance: Chance::UNKNOWN, holds: None });
                }
            }
        }
        parts.extend(self.water_unseen());
        parts
    }

    /// Where a row limits standing water and the pipe's shape is not known, nothing is met: of each reach, what was not
    /// reached or not seen.
    fn water_unseen(&self) -> Vec<Part> {
        let (book, evidence) = (self.book, self.evidence);
        let (a, b) = (evidence.surveyed.0.min(evidence.surveyed.1), evidence.surveyed.0.max(evidence.surveyed.1));
        let mut parts = Vec::new();
        for (i, reach) in evidence.job.reaches.iter().enumerate() {
            let selection = select(book, evidence.job, reach, |rule| rule.max_pool.is_some());
            let Some(rule) = selection.applying.first() else { continue };
            let mut unknown: Vec<(f64, f64)> = self.unseen(reach.from_m, reach.to_m).collect();
            if !self.reached(reach.from_m, reach.to_m) {
                unknown.extend([(reach.from_m, reach.to_m.min(a)), (reach.from_m.max(b), reach.to_m)]);
            }
            for (from_m, to_m) in unknown.into_iter().filter(|(from_m, to_m)| from_m < to_m) {
                let verdict = Verdict::Undecided(Reason::NotSurveyed);
                let mut finding = Finding::blank(sentence::reach(i), from_m, to_m, Quantity::DepthM, verdict);
                finding.reach = Some(i + 1);
                finding.requirement =
                    sentence::pool_requirement(evidence.job.report.words, rule, self.options.pool_tolerance_m);
                finding.rule = Some((*rule).clone());
                finding.sentence = sentence::water_unseen(evidence.job.report.words, &book.title, (from_m, to_m));
                let brief = finding.sentence.clone();
                parts.push(Part { finding, brief, chance: Chance::UNKNOWN, holds: None });
            }
        }
        parts
    }

    /// The finding on one pool against its strictest row.
    pub(super) fn pool_part(&self, subject: &Said, pool: &PoolEvidence, rule: &Rule, draws: usize) -> Part {
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
        // Behind a sill that is the last surveyed point, or at the upstream end, the depth is a lower bound: it can only be
        // too deep.
        let mut chance = known.map_or(Chance::UNKNOWN, Chance::known);
        let goes_on = pool.sill_is_last_point || pool.touches_upstream_end;
        if goes_on {
            chance.low = 0.0;
        }
        let beyond = goes_on && known.is_some_and(|p| p >= self.options.confidence);
        let reason = if beyond { Reason::NotSurveyed } else { Reason::NeedsMeasurement };

        let sd = pool.depth_sd_m.filter(|sd| sd.is_finite() && *sd >= 0.0);
        let (from_m, to_m) = (pool.from_m.min(pool.to_m), pool.from_m.max(pool.to_m));
        let mut finding = Finding::blank(subject.clone(), from_m, to_m, Quantity::DepthM, self.verdict(chance, reason));
        finding.pool = Some(pool.number);
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
            interval: pool.depth_high_m.map(|high| (pool.depth_low_m, high)),
            between: Some((from_m, to_m)),
            rule,
            requirement: &finding.requirement,
            at_most: true,
            new_work: self.evidence.job.rules.work == Work::New,
            sd_needed: Some(sd_needed),
            prints_two: false,
        };
        let mut brief = measured.brief();
        finding.sentence = match finding.verdict {
            Verdict::Meets => measured.meets(chance),
            Verdict::Fails => measured.fails(finding.probability),
            Verdict::Undecided(Reason::NotSurveyed) => {
                let (a, b) = self.evidence.surveyed;
                // Downstream is towards growing station, or the other way, as the water flows.
                let last = pool.sill_is_last_point == (self.evidence.job.flow == Flow::Increasing);
                brief = sentence::goes_on_beyond_brief(subject, pool.sill_is_last_point);
                measured.goes_on_beyond(if last { a.max(b) } else { a.min(b) }, pool.sill_is_last_point)
            }
            Verdict::Undecided(_) => {
                finding.sd_needed = Some(sd_needed);
                measured.needs_measurement(finding.probability)
            }
        };
        let holds = depths.map(|d| d.iter().map(|d| (holds(*d) && !goes_on, holds(*d))).collect());
        Part { finding, brief, chance, holds }
    }
}

/// The survey less the extents of traps. A pool is never exempt: it may be more than the trap's.
fn without_traps(job: &Job, (a, b): (f64, f64)) -> Vec<(f64, f64)> {
    let mut exempt: Vec<(f64, f64)> = traps_m(&job.features);
    exempt.retain(|(a, b)| a.is_finite() && b.is_finite() && a < b);
    exempt.sort_by(|a, b| a.0.total_cmp(&b.0));
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

/// Where the pipe of a profile runs backwards between two stations, traps left out: stretches in order of station, m.
pub(crate) fn backward_m(profile: &Profile, job: &Job, surveyed: (f64, f64)) -> Vec<(f64, f64)> {
    let found = measure::backfalls(profile, job.flow, &without_traps(job, surveyed));
    found.into_iter().map(|b| (b.from_m, b.to_m)).collect()
}

/// The row that stands for the choice on backfall.
fn backfall_rule(asked: &Said) -> Rule {
    Rule {
        id: "backfall".to_owned(),
        document: "fallwise".to_owned(),
        edition: env!("CARGO_PKG_VERSION").to_owned(),
        clause: word!("our choice").to_owned(),
        text: asked.to_string(),
        force: Force::Practice,
        applies_to: AppliesTo::All,
        confirmed: true,
        source_mark: word!("our choice, settable").to_owned(),
        enabled: true,
        remark: String::new(),
        needs: alloc::collections::BTreeMap::new(),
        needs_at_least: alloc::collections::BTreeMap::new(),
        assumed: alloc::collections::BTreeMap::new(),
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
