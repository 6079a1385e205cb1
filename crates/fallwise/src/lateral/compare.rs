//! Two surveys of one lateral: before and after a re-lay, or years apart.

use alloc::collections::BTreeMap;

use super::{Lateral, answers::CAUTIONS, told::Told};
use crate::prelude::*;
use crate::{
    adjust::{Change, Shared, Surveyed, change},
    answers::{Answers, BellyChange, Comparison, FindingChange, HeightChange, PoolRow, SlopeChange},
    error::Error,
    math,
    rules::Rulebook,
    said,
    units::{Part, Said, Words},
    word,
};

/// Version of the form of a comparison.
const SCHEMA: &str = "fallwise-comparison-1";
/// Surveys that have less than this in common are not compared, m (our choice).
const COMMON_M: f64 = 1.0;
/// A survey that ends no further short of a belly's edge saw all of it, m (our choice).
const END_M: f64 = 0.3;
/// Stations nearer than this are one, m.
const SAME_M: f64 = 1e-6;
/// In place of the caution that speaks of one day.
const TWO_DAYS: &str = word!("This shows the shape on the two days. It does not show when or why it changed.");

/// What changed from one survey of a lateral to another, both in one stationing and with the same flow.
///
/// Slopes, heights and their changes have the standard deviations of both surveys; where the two heads had one zero error
/// ([`Shared::Zero`]: the same head, used and set up alike, nothing done to it between), what it moves in both alike falls out of every
/// change. A check of the head counts in each job that gives it: type it into one of the two if it was one check.
///
/// # Errors
/// [`Error::Value`] for surveys with less than a metre in common or with opposite flow; those of [`Lateral::answers`].
///
/// # Example
/// ```
/// use fallwise::{Job, Lateral, Run, adjust::Shared, compare};
///
/// let survey = |middle: f64| {
///     let tilts = vec![0.02, middle, 0.02];
///     let run = Run { by_hand: true, ..Run::new(vec![0.5, 1.5, 2.5], tilts) };
///     Lateral::solve(Job { runs: vec![run], ..Job::default() })
/// };
/// let changed = compare(&survey(-0.01)?, &survey(0.02)?, Shared::Zero, None)?;
/// let whole = &changed.slopes[0];
/// assert!((whole.change - 0.03 / 2.0).abs() < 1e-3); // the middle stick is half of what both surveyed
/// assert!(whole.change_sd < whole.after_sd); // the zero falls out
/// # Ok::<(), fallwise::Error>(())
/// ```
pub fn compare(
    before: &Lateral,
    after: &Lateral,
    shared: Shared,
    book: Option<&Rulebook>,
) -> Result<Comparison, Error> {
    if before.job.flow != after.job.flow {
        return Err(Error::value("flow", "the other way in the second survey", "the same flow in both surveys"));
    }
    let (one, other) = (before.surveyed_m(), after.surveyed_m());
    let (from_m, to_m) = (one.0.max(other.0), one.1.min(other.1));
    // A survey's stations are numbers.
    if to_m - from_m < COMMON_M {
        return Err(Error::value(
            "surveys",
            format!("{:.2} m to {:.2} m, and {:.2} m to {:.2} m", one.0, one.1, other.0, other.1),
            "two surveys in one stationing with at least 1 m in common",
        ));
    }
    let words = after.job.report.words;
    let pair = Pair { before: before.surveyed(), after: after.surveyed(), shared, flow: after.job.flow.sign(), words };
    let whole = pair.slope(word!("surveyed by both"), from_m, to_m);
    let mut slopes: Vec<(SlopeChange, Said)> = whole.into_iter().collect();
    if after.job.reaches.len() > 1 {
        for reach in after.reaches() {
            let (from_m, to_m) = (reach.from_m.max(from_m), reach.to_m.min(to_m));
            if to_m - from_m > SAME_M {
                slopes.extend(pair.slope(&reach.name, from_m, to_m));
            }
        }
    }
    let in_datum = before.posterior.first().elevation_m.is_some() && after.posterior.first().elevation_m.is_some();
    let heights = |of: [&[f64]; 2]| -> Vec<HeightChange> {
        stations(of, from_m, to_m).into_iter().filter_map(|s| pair.height(s, from_m, in_datum)).collect()
    };
    let profile = heights([&before.profile.station_m, &after.profile.station_m]);
    let heights = heights([&before.chain.breaks_m, &after.chain.breaks_m]);
    let (was, is) = (before.answers(book)?, after.answers(book)?);
    let bellies = bellies((before, &was.pools), (after, &is.pools), words);
    let findings = findings(&was, &is);
    let mut told = Told::default();
    let mut warnings = Vec::new();
    if shared == Shared::Zero && before.job.instrument.zero_sd_rad != after.job.instrument.zero_sd_rad {
        warnings.push(said!(
            "the two surveys state different standard deviations of the zero error and one zero error: that of the \
             first is used"
        ));
    }
    let mut checks = before.job.ties.iter().filter(|tie| tie.is_of_head());
    if shared == Shared::Zero && checks.any(|check| after.job.ties.contains(check)) {
        warnings.push(said!(
            "the same check of the head stands in both jobs: if it was one check it counts twice, and belongs into one \
             of them"
        ));
    }
    if (before.job.instrument.head_length_m - after.job.instrument.head_length_m).abs() > SAME_M {
        warnings.push(said!("the heads of the two surveys differ in length: short changes may be the heads'"));
    }
    // Names and subjects are those of the two surveys.
    let taken_over = Known::of(&was, &is);
    let sentence = told.row(sentence(&slopes, &bellies, &taken_over, words));
    let names = slopes.iter().map(|(slope, _)| &slope.name).chain(findings.iter().map(|f| &f.subject));
    told.keep(names.filter_map(|name| taken_over.find(name)));
    let uncovered = told.rows(not_covered(&was, &is, &taken_over));
    Ok(Comparison {
        schema: SCHEMA.to_owned(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        sentence,
        shared,
        from_m,
        to_m,
        slopes: slopes.into_iter().map(|(slope, said)| SlopeChange { sentence: told.row(said), ..slope }).collect(),
        heights,
        profile,
        heights_are: if in_datum { "elevation" } else { "relative" }.to_owned(),
        bellies: bellies.into_iter().map(|(belly, said)| BellyChange { sentence: told.row(said), ..belly }).collect(),
        findings,
        warnings: told.rows(warnings),
        not_covered: uncovered,
        cautions: core::iter::once(TWO_DAYS).chain(CAUTIONS.into_iter().skip(1)).map(str::to_owned).collect(),
        said: told.all(),
        before: Box::new(was),
        after: Box::new(is),
    })
}

/// Both surveys, and how they go together.
struct Pair<'a> {
    before: Surveyed<'a>,
    after: Surveyed<'a>,
    shared: Shared,
    flow: f64,
    words: Words,
}

impl Pair<'_> {
    /// The change of a slope, and its sentence, which is not in the row yet.
    fn slope(&self, name: &str, from_m: f64, to_m: f64) -> Option<(SlopeChange, Said)> {
        let (was, is) =
            (self.before.slope(from_m, to_m)?.times(self.flow), self.after.slope(from_m, to_m)?.times(self.flow));
        let Change { before, after, change } = change((&self.before, &was), (&self.after, &is), self.shared);
        let changed = change.low > 0.0 || change.high < 0.0;
        let (first, second) = (with_percent(before.value, self.words), with_percent(after.value, self.words));
        let sentence = if changed {
            said!(
                self.words,
                "Between {stretch} the mean slope was {before} and is {after}: a change of {change} % (95 % interval \
                 {low} to {high} %).",
                stretch = Part::Both(from_m, to_m),
                before = first,
                after = second,
                change = percent(change.value),
                low = percent(change.low),
                high = percent(change.high)
            )
        } else {
            said!(
                self.words,
                "Between {stretch} the mean slope was {before} and is {after}: no change is shown (95 % interval {low} \
                 to {high} %).",
                stretch = Part::Both(from_m, to_m),
                before = first,
                after = second,
                low = percent(change.low),
                high = percent(change.high)
            )
        };
        let row = SlopeChange {
            name: name.to_owned(),
            from_m,
            to_m,
            before: before.value,
            before_sd: before.sd,
            after: after.value,
            after_sd: after.sd,
            change: change.value,
            change_sd: change.sd,
            change_low: change.low,
            change_high: change.high,
            verdict: if changed { word!("changed") } else { word!("not shown") }.to_owned(),
            sentence: String::new(),
        };
        Some((row, sentence))
    }

    fn height(&self, station_m: f64, first_m: f64, in_datum: bool) -> Option<HeightChange> {
        let of = |survey: &Surveyed<'_>| {
            if in_datum { survey.elevation(station_m) } else { Some(survey.height(station_m, first_m)) }
        };
        let (was, is) = (of(&self.before)?, of(&self.after)?);
        let Change { before, after, change } = change((&self.before, &was), (&self.after, &is), self.shared);
        Some(HeightChange {
            station_m,
            before_m: before.value,
            before_sd_m: before.sd,
            after_m: after.value,
            after_sd_m: after.sd,
            change_m: change.value,
            change_sd_m: change.sd,
            change_low_m: change.low,
            change_high_m: change.high,
        })
    }
}

impl Lateral {
    /// Whether all of a stretch was seen.
    fn saw(&self, from_m: f64, to_m: f64) -> bool {
        let (first_m, last_m) = self.surveyed_m();
        let seen = |hole: &(f64, f64)| hole.1 <= from_m || hole.0 >= to_m;
        // A counter shows the end of the same pipe a little before or after (our choice).
        first_m - END_M <= from_m && to_m <= last_m + END_M && self.unseen_m.iter().all(seen)
    }

    fn surveyed(&self) -> Surveyed<'_> {
        Surveyed { posterior: &self.posterior, layout: &self.layout, profile: &self.profile }
    }
}

/// What the intervals of either survey do not cover, and those of the change do not.
fn not_covered(before: &Answers, after: &Answers, known: &Known<'_>) -> Vec<Said> {
    let mut told: Vec<Said> = after.not_covered.iter().map(|line| known.said(line)).collect();
    let more = before.not_covered.iter().filter(|line| !after.not_covered.contains(line));
    told.extend(more.map(|line| said!("Of the first survey: {sentence}", sentence = known.said(line))));
    told.push(said!(
        "Stations of the two surveys are taken to belong together: one counter may read longer than the other."
    ));
    told
}

/// The sentences of both surveys by how they print.
struct Known<'a>(BTreeMap<String, &'a Said>);

impl<'a> Known<'a> {
    fn of(before: &'a Answers, after: &'a Answers) -> Self {
        Self(before.said.iter().chain(&after.said).map(|said| (said.to_string(), said)).collect())
    }

    fn find(&self, text: &str) -> Option<&'a Said> {
        self.0.get(text).copied()
    }

    /// As it was said; a sentence without figures is its own template.
    fn said(&self, text: &str) -> Said {
        self.find(text).cloned().unwrap_or_else(|| Said::new(Words::default(), text.to_owned(), Vec::new()))
    }
}

/// The ends of what both surveyed, and the stations of either between them.
fn stations(of: [&[f64]; 2], from_m: f64, to_m: f64) -> Vec<f64> {
    let either = of.into_iter().flatten().copied();
    let mut all: Vec<f64> = either.filter(|s| (from_m..=to_m).contains(s)).chain([from_m, to_m]).collect();
    all.sort_by(f64::total_cmp);
    all.dedup_by(|a, b| (*a - *b).abs() < SAME_M);
    all
}

/// The bellies of both, those that overlap as one, and their sentences, which are not in the rows yet.
fn bellies(
    (first, before): (&Lateral, &[PoolRow]),
    (second, after): (&Lateral, &[PoolRow]),
    words: Words,
) -> Vec<(BellyChange, Said)> {
    let shown = |p: &&PoolRow| p.state == "found";
    let overlap = |a: &PoolRow, b: &PoolRow| a.from_m < b.to_m && b.from_m < a.to_m;
    let depth = |p: &PoolRow| Part::Small(p.depth_m);
    let mut all: Vec<(BellyChange, Said)> = Vec::new();
    let row = |ends: (f64, f64), before, after, verdict: &str| BellyChange {
        from_m: ends.0,
        to_m: ends.1,
        before,
        after,
        verdict: verdict.to_owned(),
        sentence: String::new(),
    };
    for was in before.iter().filter(shown) {
        let is = after.iter().filter(|p| p.state != "intended").find(|p| overlap(was, p));
        let (ends, number) = ((was.from_m, was.to_m), Some(was.number));
        let stretch = Part::Both(was.from_m, was.to_m);
        all.push(match is {
            Some(is) if is.state == "found" => (
                row(
                    (was.from_m.min(is.from_m), was.to_m.max(is.to_m)),
                    number,
                    Some(is.number),
                    word!("there in both"),
                ),
                said!(
                    words,
                    "Between {stretch} a belly could hold water {before} deep before and {after} after.",
                    stretch = stretch,
                    before = depth(was),
                    after = depth(is)
                ),
            ),
            is if !second.saw(was.from_m, was.to_m) => (
                row(ends, number, is.map(|is| is.number), word!("not surveyed again")),
                said!(
                    words,
                    "Between {stretch} a belly could hold water {depth} deep; the second survey did not see all of that \
                     pipe, and says nothing of it.",
                    stretch = stretch,
                    depth = depth(was)
                ),
            ),
            Some(is) => (
                row(ends, number, Some(is.number), word!("not found again")),
                said!(
                    words,
                    "Between {stretch} a belly could hold water {depth} deep; none is found there now, and if there is \
                     one it holds at most {most}.",
                    stretch = stretch,
                    depth = depth(was),
                    most = Part::Small(is.depth_high_m.unwrap_or(is.depth_m))
                ),
            ),
            None => (
                row(ends, number, None, word!("not found again")),
                said!(
                    words,
                    "Between {stretch} a belly could hold water {depth} deep; none was found there now.",
                    stretch = stretch,
                    depth = depth(was)
                ),
            ),
        });
    }
    for is in after.iter().filter(shown).filter(|is| !before.iter().filter(shown).any(|was| overlap(was, is))) {
        let was = before.iter().find(|was| overlap(was, is)).map(|p| p.number);
        let (stretch, depth) = (Part::Both(is.from_m, is.to_m), depth(is));
        let (verdict, sentence) = if first.saw(is.from_m, is.to_m) {
            let sentence = said!(
                words,
                "Between {stretch} a belly can hold water {depth} deep that was not found before.",
                stretch = stretch,
                depth = depth
            );
            (word!("new"), sentence)
        } else {
            let sentence = said!(
                words,
                "Between {stretch} a belly can hold water {depth} deep; the first survey did not see all of that pipe.",
                stretch = stretch,
                depth = depth
            );
            (word!("not surveyed before"), sentence)
        };
        all.push((row((is.from_m, is.to_m), was, Some(is.number), verdict), sentence));
    }
    all.sort_by(|a, b| a.0.from_m.total_cmp(&b.0.from_m));
    all
}

/// The findings of both by subject, those of the second survey first.
fn findings(before: &Answers, after: &Answers) -> Vec<FindingChange> {
    // A pool's number says nothing across surveys.
    let told = |answers: &Answers| {
        let of = answers.findings.iter().filter(|f| f.pool.is_none());
        of.map(|f| (f.subject.clone(), f.finding.clone())).collect::<Vec<_>>()
    };
    let (was, is) = (told(before), told(after));
    let find = |among: &[(String, String)], subject: &str| {
        among.iter().find(|(s, _)| s == subject).map(|(_, finding)| finding.clone())
    };
    let mut subjects: Vec<&String> = is.iter().chain(&was).map(|(s, _)| s).collect();
    let mut seen: Vec<&String> = Vec::new();
    subjects.retain(|s| {
        let new = !seen.contains(s);
        seen.push(s);
        new
    });
    let change = |subject: &String| FindingChange {
        subject: subject.clone(),
        before: find(&was, subject),
        after: find(&is, subject),
    };
    subjects.into_iter().map(change).collect()
}

/// The reach whose change of slope is surest, if it is sure although it was picked from so many: outside its interval of
/// 1 - 0.05 / n (Bonferroni). The whole is one of them; where nothing else is surer, nothing leads it.
fn surest<'a>(slopes: &'a [(SlopeChange, Said)]) -> Option<&'a SlopeChange> {
    let sds = |row: &SlopeChange| (row.change / row.change_sd).abs();
    let over = |a: &&'a SlopeChange, b: &&'a SlopeChange| sds(a).total_cmp(&sds(b));
    let row = slopes.iter().skip(1).map(|(row, _)| row).filter(|row| row.change_sd > 0.0).max_by(over)?;
    let least = -math::normal_quantile(0.025 / slopes.len() as f64);
    (sds(row) > least).then_some(row)
}

/// A slope or its change in percent, without the sign of it.
fn percent(slope: f64) -> Part {
    Part::Number(100.0 * slope, 2)
}

/// A slope as the words have it, and in percent where that is something else: its change is in percent.
fn with_percent(slope: f64, words: Words) -> Part {
    match words {
        Words::Us => Part::Slope(slope),
        Words::Uk => said!(words, "{slope} ({percent} %)", slope = Part::Slope(slope), percent = percent(slope)).into(),
    }
}

/// What matters first: the surest change of a reach, then water, then the whole.
fn sentence(slopes: &[(SlopeChange, Said)], bellies: &[(BellyChange, Said)], known: &Known<'_>, words: Words) -> Said {
    let whole = slopes.first().map_or_else(|| said!("Both surveyed nothing but drops."), |(_, said)| said.clone());
    let reach = surest(slopes).map(|row| {
        let name = known.find(&row.name).cloned().map_or_else(|| Part::Text(row.name.clone()), Part::from);
        let name = Part::Capital(Box::new(name));
        let from = Part::Both(row.from_m, row.to_m);
        let (first, second) = (with_percent(row.before, words), with_percent(row.after, words));
        let (change, low, high) = (percent(row.change), percent(row.change_low), percent(row.change_high));
        if row.change > 0.0 {
            said!(
                words,
                "{reach} falls more than it did: its mean slope between {stretch} was {before} and is {after} (a change of \
                 {change} %, 95 % interval {low} to {high} %).",
                reach = name,
                stretch = from,
                before = first,
                after = second,
                change = change,
                low = low,
                high = high
            )
        } else {
            said!(
                words,
                "{reach} falls less than it did: its mean slope between {stretch} was {before} and is {after} (a change of \
                 {change} %, 95 % interval {low} to {high} %).",
                reach = name,
                stretch = from,
                before = first,
                after = second,
                change = change,
                low = low,
                high = high
            )
        }
    });
    let count = |verdict: &str| bellies.iter().filter(|(b, _)| b.verdict == verdict).count();
    let unseen = count("not surveyed again") + count("not surveyed before");
    let water = match (count("not found again"), count("there in both"), count("new")) {
        (0, 0, 0) if unseen > 0 => said!("What bellies there are only one of the two surveys saw."),
        (0, 0, 0) => said!("Neither survey found a belly."),
        (1, 0, 0) => said!("The belly that was found before was not found again."),
        (gone, 0, 0) => said!("The {count} bellies that were found before were not found again.", count = gone),
        (gone, both, new) => said!(
            "Of the bellies {gone} were not found again, {both} are there in both surveys, and {new} were not found \
             before.",
            gone = gone,
            both = both,
            new = new
        ),
    };
    let rest = (unseen > 0 && unseen < bellies.len())
        .then(|| said!("Of {count} more only one of the two surveys saw the pipe.", count = unseen));
    let all =
        if reach.is_some() { [reach, Some(water), rest, Some(whole)] } else { [Some(whole), Some(water), rest, None] };
    Said::all(words, all.into_iter().flatten())
}
