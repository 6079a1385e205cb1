//! Two surveys of one lateral: before and after a re-lay, or years apart.

use super::{Lateral, answers::CAUTIONS};
use crate::{
    adjust::{Change, Shared, Surveyed, change},
    answers::{Answers, BellyChange, Comparison, FindingChange, HeightChange, PoolRow, SlopeChange},
    error::Error,
    rules::Rulebook,
    units::Words,
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
const TWO_DAYS: &str = "This shows the shape on the two days. It does not show when or why it changed.";

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
    let mut slopes: Vec<SlopeChange> = pair.slope("surveyed by both", from_m, to_m).into_iter().collect();
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
    let mut warnings = Vec::new();
    if shared == Shared::Zero && before.job.instrument.zero_sd_rad != after.job.instrument.zero_sd_rad {
        warnings.push(
            "the two surveys state different standard deviations of the zero error and one zero error: that of the first is used"
                .to_owned(),
        );
    }
    let mut checks = before.job.ties.iter().filter(|tie| tie.is_of_head());
    if shared == Shared::Zero && checks.any(|check| after.job.ties.contains(check)) {
        warnings.push(
            "the same check of the head stands in both jobs: if it was one check it counts twice, and belongs into one of them"
                .to_owned(),
        );
    }
    if (before.job.instrument.head_length_m - after.job.instrument.head_length_m).abs() > SAME_M {
        warnings.push("the heads of the two surveys differ in length: short changes may be the heads'".to_owned());
    }
    let uncovered = not_covered(&was, &is);
    let sentence = sentence(slopes.first(), &bellies);
    Ok(Comparison {
        schema: SCHEMA.to_owned(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        sentence,
        shared,
        from_m,
        to_m,
        slopes,
        heights,
        profile,
        heights_are: if in_datum { "elevation" } else { "relative" }.to_owned(),
        bellies,
        findings,
        warnings,
        not_covered: uncovered,
        cautions: core::iter::once(TWO_DAYS).chain(CAUTIONS.into_iter().skip(1)).map(str::to_owned).collect(),
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
    fn slope(&self, name: &str, from_m: f64, to_m: f64) -> Option<SlopeChange> {
        let (was, is) =
            (self.before.slope(from_m, to_m)?.times(self.flow), self.after.slope(from_m, to_m)?.times(self.flow));
        let Change { before, after, change } = change((&self.before, &was), (&self.after, &is), self.shared);
        let changed = change.low > 0.0 || change.high < 0.0;
        let words = self.words;
        let (first, second) = (words.slope(before.value), words.slope(after.value));
        let interval = format!("{:.2} to {:.2} %", 100.0 * change.low, 100.0 * change.high);
        let place = words.both(from_m, to_m);
        let sentence = if changed {
            format!(
                "Between {place} the mean slope was {first} and is {second}: a change of {:.2} % (95 % interval {interval}).",
                100.0 * change.value
            )
        } else {
            format!(
                "Between {place} the mean slope was {first} and is {second}: no change is shown (95 % interval {interval})."
            )
        };
        Some(SlopeChange {
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
            verdict: if changed { "changed" } else { "not shown" }.to_owned(),
            sentence,
        })
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
fn not_covered(before: &Answers, after: &Answers) -> Vec<String> {
    let mut said = after.not_covered.clone();
    let more = before.not_covered.iter().filter(|line| !after.not_covered.contains(line));
    said.extend(more.map(|line| format!("Of the first survey: {line}")));
    said.push(
        "Stations of the two surveys are taken to belong together: one counter may read longer than the other."
            .to_owned(),
    );
    said
}

/// The ends of what both surveyed, and the stations of either between them.
fn stations(of: [&[f64]; 2], from_m: f64, to_m: f64) -> Vec<f64> {
    let either = of.into_iter().flatten().copied();
    let mut all: Vec<f64> = either.filter(|s| (from_m..=to_m).contains(s)).chain([from_m, to_m]).collect();
    all.sort_by(f64::total_cmp);
    all.dedup_by(|a, b| (*a - *b).abs() < SAME_M);
    all
}

/// The bellies of both, those that overlap as one.
fn bellies(
    (first, before): (&Lateral, &[PoolRow]),
    (second, after): (&Lateral, &[PoolRow]),
    words: Words,
) -> Vec<BellyChange> {
    let shown = |p: &&PoolRow| p.state == "found";
    let overlap = |a: &PoolRow, b: &PoolRow| a.from_m < b.to_m && b.from_m < a.to_m;
    let depth = |p: &PoolRow| words.small(p.depth_m);
    let mut all: Vec<BellyChange> = Vec::new();
    for was in before.iter().filter(shown) {
        let is = after.iter().filter(|p| p.state != "intended").find(|p| overlap(was, p));
        let place = words.both(was.from_m, was.to_m);
        all.push(match is {
            Some(is) if is.state == "found" => BellyChange {
                from_m: was.from_m.min(is.from_m),
                to_m: was.to_m.max(is.to_m),
                before: Some(was.number),
                after: Some(is.number),
                verdict: "there in both".to_owned(),
                sentence: format!(
                    "Between {place} a belly could hold water {} deep before and {} after.",
                    depth(was),
                    depth(is)
                ),
            },
            is if !second.saw(was.from_m, was.to_m) => BellyChange {
                from_m: was.from_m,
                to_m: was.to_m,
                before: Some(was.number),
                after: is.map(|is| is.number),
                verdict: "not surveyed again".to_owned(),
                sentence: format!(
                    "Between {place} a belly could hold water {} deep; the second survey did not see all of that pipe, and says nothing \
                     of it.",
                    depth(was)
                ),
            },
            Some(is) => BellyChange {
                from_m: was.from_m,
                to_m: was.to_m,
                before: Some(was.number),
                after: Some(is.number),
                verdict: "not found again".to_owned(),
                sentence: format!(
                    "Between {place} a belly could hold water {} deep; none is found there now, and if there is one it holds at most \
                     {}.",
                    depth(was),
                    words.small(is.depth_high_m.unwrap_or(is.depth_m))
                ),
            },
            None => BellyChange {
                from_m: was.from_m,
                to_m: was.to_m,
                before: Some(was.number),
                after: None,
                verdict: "not found again".to_owned(),
                sentence: format!(
                    "Between {place} a belly could hold water {} deep; none was found there now.",
                    depth(was)
                ),
            },
        });
    }
    for is in after.iter().filter(shown).filter(|is| !before.iter().filter(shown).any(|was| overlap(was, is))) {
        let place = words.both(is.from_m, is.to_m);
        let (verdict, told) = if first.saw(is.from_m, is.to_m) {
            ("new", " that was not found before")
        } else {
            ("not surveyed before", "; the first survey did not see all of that pipe")
        };
        all.push(BellyChange {
            from_m: is.from_m,
            to_m: is.to_m,
            before: before.iter().find(|was| overlap(was, is)).map(|p| p.number),
            after: Some(is.number),
            verdict: verdict.to_owned(),
            sentence: format!("Between {place} a belly can hold water {} deep{told}.", depth(is)),
        });
    }
    all.sort_by(|a, b| a.from_m.total_cmp(&b.from_m));
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

fn sentence(whole: Option<&SlopeChange>, bellies: &[BellyChange]) -> String {
    let slope = whole.map_or_else(|| "Both surveyed nothing but drops.".to_owned(), |w| w.sentence.clone());
    let count = |verdict: &str| bellies.iter().filter(|b| b.verdict == verdict).count();
    let unseen = count("not surveyed again") + count("not surveyed before");
    let water = match (count("not found again"), count("there in both"), count("new")) {
        (0, 0, 0) if unseen > 0 => "What bellies there are only one of the two surveys saw.".to_owned(),
        (0, 0, 0) => "Neither survey found a belly.".to_owned(),
        (1, 0, 0) => "The belly that was found before was not found again.".to_owned(),
        (gone, 0, 0) => format!("The {gone} bellies that were found before were not found again."),
        (gone, both, new) => format!(
            "Of the bellies {gone} were not found again, {both} are there in both surveys, and {new} were not found before."
        ),
    };
    let rest = if unseen > 0 && unseen < bellies.len() {
        format!(" Of {unseen} more only one of the two surveys saw the pipe.")
    } else {
        String::new()
    };
    format!("{slope} {water}{rest}")
}
