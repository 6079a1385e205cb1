//! The summary for a terminal.

use fallwise::{answers::FindingRow, units::Part};

use crate::{
    known,
    sure::{self, Chance},
    tell::{Teller, say},
    text::{readable, shorten, wrap},
    words::{self, slope_with_interval, stretch},
};

/// Width of everything but the first line.
pub(crate) const COLUMNS: usize = 100;
/// Pools, findings and warnings printed one by one; the rest is counted.
pub(crate) const SHOWN: usize = 6;

/// A summary in plain text: the sentence that matters on the first line, then the next measurement, totals, reaches,
/// pools, findings and cautions, at most 100 columns wide.
///
/// The first line is not wrapped, so that it can be taken off whole. Undecided findings are printed and counted as
/// undecided.
pub(crate) fn summary(t: &Teller) -> String {
    let answers = t.answers;
    let mut page = Lines::default();
    page.line(&t.sentence(&answers.sentence));
    if answers.job.survey.invented {
        page.line(&words::invented(t.voice));
    }
    next(t, &mut page);
    page.line("");
    totals(t, &mut page);
    page.line("");
    page.wrapped(&t.word("Segments:"), &segments(t));
    if answers.pools.is_empty() {
        page.wrapped(&t.word("Bellies:"), &t.word("none found"));
    }
    for pool in answers.pools.iter().take(SHOWN) {
        page.wrapped(&sure::belly_label(t, pool), &t.sentence(&pool.sentence));
    }
    page.rest(answers.pools.len(), |n| say!(t, "and {n} more bellies in report.html", n = n));

    if let Some(adjustment) = &answers.adjustment {
        page.line("");
        let count = match answers.ties.len() {
            1 => t.word("1 figure was measured beside the runs."),
            n => say!(t, "{n} figures were measured beside the runs.", n = n),
        };
        page.wrapped(&t.word("Ties:"), &format!("{count} {}", t.sentence(&adjustment.sentence)));
        for row in known::suspects(answers).into_iter().filter_map(|i| answers.ties.get(i)) {
            let told = format!("{}. {}", known::title(t, row, COLUMNS), t.sentence(&row.sentence));
            page.wrapped(&t.word("SUSPECT:"), &told);
        }
    }

    page.line("");
    findings(t, &mut page);
    page.line("");
    let readings = match answers.edits.len() {
        0 => t.word("none dropped or changed"),
        n => say!(t, "{n} dropped, combined or flagged, each with its reason in report.html", n = n),
    };
    page.wrapped(&t.word("Readings:"), &readings);
    for warning in answers.warnings.iter().take(SHOWN) {
        page.wrapped(&t.word("Warning:"), &t.sentence(warning));
    }
    page.rest(answers.warnings.len(), |n| say!(t, "and {n} more warnings in report.html", n = n));
    let not_covered = t.word("What they do not cover is in report.html.");
    page.wrapped(&t.word("Intervals:"), &format!("{} {not_covered}", words::honesty(t)));
    for caution in words::worst(&answers.cautions) {
        page.wrapped(&t.word("Caution:"), &t.sentence(caution));
    }
    page.wrapped("", &t.word("All cautions are in cautions.txt and report.html."));
    page.text
}

/// The next measurement, and those that would help less.
fn next(t: &Teller, page: &mut Lines) {
    if let Some(next) = &t.answers.next {
        let gain = sure::gain(t.voice, next.undecided_now, next.expected_decided);
        let told = format!("{} {gain} {}", t.sentence(&next.sentence), t.sentence(&next.hazard));
        page.wrapped(&t.word("Next:"), &told);
    }
    let others = &t.answers.next_others;
    if !others.is_empty() {
        let told = others.iter().map(|n| format!("{} ({})", known::measurement(t, n), t.number(n.expected_decided, 1)));
        let told = say!(
            t,
            "Others, with the number of findings each is expected to decide: {others}. How, and what can hurt, is in report.html.",
            others = told.collect::<Vec<_>>().join("; ")
        );
        page.wrapped(&t.word("Or:"), &told);
    }
}

/// Length, fall and slope of the whole, then of the reaches.
fn totals(t: &Teller, page: &mut Lines) {
    let total = &t.answers.total;
    page.wrapped(&t.word("Length:"), &length(t));
    page.wrapped(&t.word("Fall:"), &fall(t));
    let in_all = slope_with_interval(t.voice, total.slope, total.slope_low, total.slope_high);
    page.wrapped(&t.word("Mean:"), &say!(t, "slope {slope} along the flow", slope = in_all));
    if t.answers.reaches.is_empty() {
        return;
    }
    page.line("");
    let head = [t.word("Reach"), t.word("from"), t.word("to"), t.word("pipe"), t.word("slope (95 %)")];
    let [reach, from, to, pipe, slope] = head;
    page.line(&format!("{reach:<22} {from:>10} {to:>10}  {pipe:<20}  {slope}"));
    for reach in &t.answers.reaches {
        let row = format!(
            "{:<22} {:>10} {:>10}  {:<20}",
            shorten(&t.sentence(&reach.name), 22),
            t.station(reach.from_m),
            t.station(reach.to_m),
            shorten(&words::pipe(t.voice, reach), 20)
        );
        let slope = slope_with_interval(t.voice, reach.slope, reach.slope_low, reach.slope_high);
        // A long interval goes below.
        if row.chars().count() + 2 + slope.chars().count() <= COLUMNS {
            page.line(&format!("{row}  {slope}"));
        } else {
            page.line(row.trim_end());
            page.line(&format!("{slope:>COLUMNS$}"));
        }
    }
}

/// What was surveyed of how much, and how the counter goes with it.
fn length(t: &Teller) -> String {
    let total = &t.answers.total;
    let surveyed = sure::length(t.voice, total.length_m, total.length_sd_m);
    let length = match t.answers.job.survey.about_length_m {
        Some(about) => {
            say!(t, "surveyed {length} of about {about}", length = surveyed, about = Part::About(about))
        }
        None => say!(t, "surveyed {length}; how long the whole is, was not given", length = surveyed),
    };
    let stretch = stretch(t.voice, t.answers.from_m, t.answers.to_m);
    let shown = t.answers.to_m - t.answers.from_m;
    let scale = if shown > 0.0 { 100.0 * (total.length_m / shown - 1.0) } else { 0.0 };
    let percent = Part::Number(scale.abs(), 1);
    // From a twentieth of a percent on, the counter and the true length print apart.
    if scale.is_nan() || scale.abs() < 0.05 {
        say!(t, "{length} ({stretch} on the counter)", length = length, stretch = stretch)
    } else if scale < 0.0 {
        say!(
            t,
            "{length} ({stretch} on the counter; the counter is taken to read {percent} % long)",
            length = length,
            stretch = stretch,
            percent = percent
        )
    } else {
        say!(
            t,
            "{length} ({stretch} on the counter; the counter is taken to read {percent} % short)",
            length = length,
            stretch = stretch,
            percent = percent
        )
    }
}

/// Findings, and what was seen of water.
fn findings(t: &Teller, page: &mut Lines) {
    let answers = t.answers;
    page.wrapped(&t.word("Findings:"), &counts(t));
    for finding in in_order(&answers.findings).take(SHOWN) {
        let reason = finding.reason.as_deref().map(|r| format!(" ({})", words::reason(t, r))).unwrap_or_default();
        let (subject, found) = (words::subject(t, &finding.subject), words::finding(t, &finding.finding));
        // The first line said it.
        let told =
            if finding.subject == "lateral" { t.word("see the first line.") } else { t.sentence(&finding.sentence) };
        page.wrapped(&format!("{subject} - {found}{reason}:"), &told);
    }
    page.rest(answers.findings.len(), |n| say!(t, "and {n} more findings in report.html", n = n));
    for water in answers.water.iter().take(SHOWN) {
        page.wrapped(&t.word("Water:"), &t.sentence(&water.sentence));
    }
    page.rest(answers.water.len(), |n| say!(t, "and {n} more findings on water in report.html", n = n));
    if answers.findings.iter().any(|f| !f.confirmed && !f.document.is_empty()) {
        let told = t.word(
            "its value was not yet seen in the document itself; where it was seen is in report.html. Check it there.",
        );
        page.wrapped(&t.word("Rule:"), &told);
    }
}

/// The lateral's own, then what fails, water that does not go with the shape of the pipe, what is undecided, what meets; each
/// in order of station.
pub(crate) fn in_order<'a>(findings: impl IntoIterator<Item = &'a FindingRow>) -> impl Iterator<Item = &'a FindingRow> {
    let rank = |f: &FindingRow| match (f.subject.as_str(), f.finding.as_str()) {
        ("lateral", _) => 0,
        (_, "fails") => 1,
        ("water", _) => 2,
        (_, "undecided") => 3,
        _ => 4,
    };
    let mut sorted: Vec<&FindingRow> = findings.into_iter().collect();
    sorted.sort_by(|a, b| rank(a).cmp(&rank(b)).then(a.from_m.total_cmp(&b.from_m)));
    sorted.into_iter()
}

/// How many meet, fail, are undecided, the lateral's own left out.
pub(crate) fn counts(t: &Teller) -> String {
    let parts = || t.answers.findings.iter().filter(|f| f.subject != "lateral");
    if parts().next().is_none() {
        return t.word("none; no rulebook was asked, or it has nothing to say here");
    }
    let count = |word: &str| parts().filter(|f| f.finding == word).count();
    say!(
        t,
        "of {all} parts {meets} meets, {fails} fails, {undecided} undecided",
        all = parts().count(),
        meets = count("meets"),
        fails = count("fails"),
        undecided = count("undecided")
    )
}

/// How many segments, and how many of the changes of slope between them are there for sure.
fn segments(t: &Teller) -> String {
    let count = t.answers.segments.len();
    let chances: Vec<f64> = t.answers.segments.iter().skip(1).filter_map(|s| s.break_probability).collect();
    let sure = chances.iter().filter(|p| Chance::of(**p) == Chance::Sure).count();
    match chances.len() {
        0 => say!(t, "{count} of constant tilt, at ends that were given", count = count),
        1 if sure == 1 => say!(
            t,
            "{count} of constant tilt; the change of slope that was found between them is there for sure",
            count = count
        ),
        1 => say!(
            t,
            "{count} of constant tilt; the change of slope that was found between them is not sure",
            count = count
        ),
        all if sure == all => say!(
            t,
            "{count} of constant tilt; all {all} changes of slope that were found are there for sure",
            count = count,
            all = all
        ),
        all => say!(
            t,
            "{count} of constant tilt; of the {all} changes of slope that were found {sure} are there for sure",
            count = count,
            all = all,
            sure = sure
        ),
    }
}

fn fall(t: &Teller) -> String {
    let total = &t.answers.total;
    let interval = t.range(&t.small(total.fall_low_m), &t.small(total.fall_high_m));
    let fall = Part::Small(total.fall_m);
    if total.drop_fall_m == 0.0 {
        say!(t, "{fall} along the flow (95 % interval {interval})", fall = fall, interval = interval)
    } else {
        say!(
            t,
            "{fall} along the flow (95 % interval {interval}), of it {drops} in drops steeper than 45 degrees",
            fall = fall,
            interval = interval,
            drops = Part::Small(total.drop_fall_m)
        )
    }
}

/// The text as it grows.
#[derive(Default)]
pub(crate) struct Lines {
    pub(crate) text: String,
}

impl Lines {
    pub(crate) fn line(&mut self, line: &str) {
        self.text.push_str(&readable(line));
        self.text.push('\n');
    }

    /// A text after its label, later lines set in by two.
    pub(crate) fn wrapped(&mut self, label: &str, text: &str) {
        for (i, line) in wrap(&format!("{label} {text}"), COLUMNS - 2).iter().enumerate() {
            self.line(&format!("{}{line}", if i == 0 { "" } else { "  " }));
        }
    }

    /// How many of `all` were not printed.
    pub(crate) fn rest(&mut self, all: usize, say: impl Fn(usize) -> String) {
        if all > SHOWN {
            self.line(&format!("  {}", say(all - SHOWN)));
        }
    }
}
