//! The summary for a terminal.

use fallwise::{
    Answers,
    answers::{FindingRow, ReachRow},
};

use crate::{
    known,
    sure::{self, Chance},
    text::{readable, shorten, wrap},
    words::{self, HONESTY, INVENTED, at, slope_with_interval},
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
pub fn summary(answers: &Answers) -> String {
    let words = answers.job.report.words;
    let mut page = Lines { text: String::new(), whole: "report.html" };
    page.line(&answers.sentence);
    if answers.job.survey.invented {
        page.line(INVENTED);
    }
    if let Some(next) = &answers.next {
        let gain = sure::gain(next.undecided_now, next.expected_decided);
        page.wrapped("Next:", &format!("{} {gain} {}", next.sentence, next.hazard));
    }
    if !answers.next_others.is_empty() {
        let told = |n| format!("{} ({:.1})", uncapital(&known::measurement(words, n)), n.expected_decided);
        let others: Vec<String> = answers.next_others.iter().map(told).collect();
        let less = "Others, with the number of findings each is expected to decide:";
        page.wrapped("Or:", &format!("{less} {}. How, and what can hurt, is in report.html.", others.join("; ")));
    }
    page.line("");

    let total = &answers.total;
    let surveyed = sure::length(words, total.length_m, total.length_sd_m);
    let length = match answers.job.survey.about_length_m {
        Some(about) => format!("surveyed {surveyed} of about {}", words.about(about)),
        None => format!("surveyed {surveyed}; how long the whole is, was not given"),
    };
    let shown = answers.to_m - answers.from_m;
    let scale = if shown > 0.0 { 100.0 * (total.length_m / shown - 1.0) } else { 0.0 };
    // From a twentieth of a percent on, the counter and the true length print apart.
    let taken = if scale.abs() >= 0.05 {
        format!("; the counter is taken to read {:.1} % {}", scale.abs(), if scale < 0.0 { "long" } else { "short" })
    } else {
        String::new()
    };
    let (from, to) = (at(words, answers.from_m), words.station(answers.to_m));
    page.wrapped("Length:", &format!("{length} ({from} to {to} on the counter{taken})"));
    page.wrapped("Fall:", &fall(answers, total));
    let in_all = slope_with_interval(words, total.slope, total.slope_low, total.slope_high);
    page.wrapped("Mean:", &format!("slope {in_all} along the flow"));
    if !answers.reaches.is_empty() {
        page.line("");
        page.line(&format!("{:<22} {:>10} {:>10}  {:<20}  slope (95 %)", "Reach", "from", "to", "pipe"));
        for reach in &answers.reaches {
            let row = format!(
                "{:<22} {:>10} {:>10}  {:<20}",
                shorten(&reach.name, 22),
                words.station(reach.from_m),
                words.station(reach.to_m),
                shorten(&words::pipe(words, reach), 20)
            );
            let slope = slope_with_interval(words, reach.slope, reach.slope_low, reach.slope_high);
            // A long interval goes below.
            if row.chars().count() + 2 + slope.chars().count() <= COLUMNS {
                page.line(&format!("{row}  {slope}"));
            } else {
                page.line(row.trim_end());
                page.line(&format!("{slope:>COLUMNS$}"));
            }
        }
    }
    page.line("");
    page.wrapped("Segments:", &segments(answers));
    if answers.pools.is_empty() {
        page.wrapped("Bellies:", "none found");
    }
    for pool in answers.pools.iter().take(SHOWN) {
        page.wrapped(&format!("Belly {} ({}):", pool.number, sure::belly(pool)), &pool.sentence);
    }
    page.rest(answers.pools.len(), "bellies");

    if let Some(adjustment) = &answers.adjustment {
        page.line("");
        let count = match answers.ties.len() {
            1 => "1 figure was measured".to_owned(),
            n => format!("{n} figures were measured"),
        };
        page.wrapped("Ties:", &format!("{count} beside the runs. {}", adjustment.sentence));
        for row in known::suspects(answers).into_iter().filter_map(|i| answers.ties.get(i)) {
            page.wrapped("SUSPECT:", &format!("{}. {}", known::title(answers, row, COLUMNS), row.sentence));
        }
    }

    page.line("");
    page.wrapped("Findings:", &counts(answers));
    for finding in in_order(&answers.findings).take(SHOWN) {
        let reason = finding.reason.as_deref().map(|r| format!(" ({})", words::reason(r))).unwrap_or_default();
        let label = format!("{} - {}{reason}:", finding.subject, finding.finding);
        // The first line said it.
        let said = finding.subject == "lateral";
        page.wrapped(&label, if said { "see the first line." } else { &finding.sentence });
    }
    page.rest(answers.findings.len(), "findings");
    for water in answers.water.iter().take(SHOWN) {
        page.wrapped("Water:", &water.sentence);
    }
    page.rest(answers.water.len(), "findings on water");
    if answers.findings.iter().any(|f| !f.confirmed && !f.document.is_empty()) {
        page.wrapped(
            "Rule:",
            "its value was not yet seen in the document itself; where it was seen is in report.html. Check it there.",
        );
    }

    page.line("");
    let readings = answers.edits.len();
    page.wrapped(
        "Readings:",
        &match readings {
            0 => "none dropped or changed".to_owned(),
            n => format!("{n} dropped, combined or flagged, each with its reason in report.html"),
        },
    );
    for warning in answers.warnings.iter().take(SHOWN) {
        page.wrapped("Warning:", warning);
    }
    page.rest(answers.warnings.len(), "warnings");
    page.wrapped("Intervals:", &format!("{HONESTY} What they do not cover is in report.html."));
    for caution in words::worst(&answers.cautions) {
        page.wrapped("Caution:", caution);
    }
    page.wrapped("", "All cautions are in cautions.txt and report.html.");
    page.text
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
pub(crate) fn counts(answers: &Answers) -> String {
    let parts = || answers.findings.iter().filter(|f| f.subject != "lateral");
    if parts().next().is_none() {
        return "none; no rulebook was asked, or it has nothing to say here".to_owned();
    }
    let count = |word: &str| parts().filter(|f| f.finding == word).count();
    format!(
        "of {} parts {} meets, {} fails, {} undecided",
        parts().count(),
        count("meets"),
        count("fails"),
        count("undecided")
    )
}

/// How many segments, and how many of the changes of slope between them are there for sure.
fn segments(answers: &Answers) -> String {
    let count = answers.segments.len();
    let chances: Vec<f64> = answers.segments.iter().skip(1).filter_map(|s| s.break_probability).collect();
    let sure = chances.iter().filter(|p| Chance::of(**p) == Chance::Sure).count();
    match chances.len() {
        0 => format!("{count} of constant tilt, at ends that were given"),
        1 if sure == 1 => {
            format!("{count} of constant tilt; the change of slope that was found between them is there for sure")
        }
        1 => format!("{count} of constant tilt; the change of slope that was found between them is not sure"),
        all if sure == all => {
            format!("{count} of constant tilt; all {all} changes of slope that were found are there for sure")
        }
        all => {
            format!("{count} of constant tilt; of the {all} changes of slope that were found {sure} are there for sure")
        }
    }
}

fn fall(answers: &Answers, total: &ReachRow) -> String {
    let words = answers.job.report.words;
    let drops = match total.drop_fall_m {
        0.0 => String::new(),
        fall => format!(", of it {} in drops steeper than 45 degrees", words.small(fall)),
    };
    format!(
        "{} along the flow (95 % interval {} to {}){drops}",
        words.small(total.fall_m),
        words.small(total.fall_low_m),
        words.small(total.fall_high_m)
    )
}

/// With its first letter small, to stand in a list.
fn uncapital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// The text as it grows.
pub(crate) struct Lines {
    pub(crate) text: String,
    /// The page that has all of what is only counted here.
    pub(crate) whole: &'static str,
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
    pub(crate) fn rest(&mut self, all: usize, what: &str) {
        if all > SHOWN {
            self.line(&format!("  and {} more {what} in {}", all - SHOWN, self.whole));
        }
    }
}
