//! Two surveys beside each other, for a terminal.

use fallwise::answers::HeightChange;

use super::figures;
use crate::{
    summary::{Lines, SHOWN, counts},
    tell::{Both, say},
    words::{self, at},
};

/// A summary of two surveys in plain text: the sentence that matters on the first line, then what the pipe is and was, what
/// changed, and cautions, at most 100 columns wide.
///
/// The first line is not wrapped, so that it can be taken off whole. A change that the readings cannot show is called "not shown".
pub(super) fn summary(b: &Both) -> String {
    let (comparison, t) = (b.comparison, &b.now);
    let mut page = Lines::default();
    page.line(&b.sentence(&comparison.sentence));
    if comparison.after.job.survey.invented || comparison.before.job.survey.invented {
        page.line(&words::invented(t.voice));
    }
    page.line("");
    page.wrapped(&t.word("Asked:"), &figures::asked(b));
    page.wrapped(&t.word("Both surveyed:"), &figures::common(b));
    page.wrapped(&t.word("In common:"), &figures::shared(b));
    page.line("");
    page.wrapped(&t.word("Now:"), &b.now.sentence(&comparison.after.sentence));
    page.wrapped(&t.word("Findings now:"), &counts(&b.now));
    page.wrapped(&t.word("Before:"), &b.was.sentence(&comparison.before.sentence));
    page.wrapped(&t.word("Findings before:"), &counts(&b.was));

    page.line("");
    changes(b, &mut page);
    page.line("");
    for warning in comparison.warnings.iter().take(SHOWN) {
        page.wrapped(&t.word("Warning:"), &b.sentence(warning));
    }
    page.rest(comparison.warnings.len(), |n| say!(t, "and {n} more warnings in as-left.html", n = n));
    let own = comparison.before.warnings.len() + comparison.after.warnings.len();
    if own > 0 {
        page.wrapped(&t.word("Warnings of the surveys:"), &say!(t, "{n}, in as-left.html", n = own));
    }
    let not_covered = t.word("What they do not cover is in as-left.html.");
    page.wrapped(&t.word("Intervals:"), &format!("{} {not_covered}", words::honesty(t)));
    for caution in comparison.cautions.iter().take(1).chain(words::worst(&comparison.cautions)) {
        page.wrapped(&t.word("Caution:"), &b.sentence(caution));
    }
    page.wrapped("", &t.word("All cautions are in cautions.txt and as-left.html."));
    page.text
}

/// Slopes, bellies, heights, findings.
fn changes(b: &Both, page: &mut Lines) {
    let (comparison, t) = (b.comparison, &b.now);
    // The first sentence said the whole.
    for row in comparison.slopes.iter().skip(1).take(SHOWN) {
        let (name, verdict) = (b.sentence(&row.name), b.sentence(&row.verdict));
        let label = say!(t, "Slope of {reach} ({verdict}):", reach = name, verdict = verdict);
        page.wrapped(&label, &b.sentence(&row.sentence));
    }
    let slopes = comparison.slopes.len().saturating_sub(1);
    page.rest(slopes, |n| say!(t, "and {n} more slopes in as-left.html", n = n));
    if comparison.bellies.is_empty() {
        page.wrapped(&t.word("Bellies:"), &t.word("neither survey found one"));
    }
    for row in comparison.bellies.iter().take(SHOWN) {
        let label = say!(t, "Belly ({verdict}):", verdict = b.sentence(&row.verdict));
        page.wrapped(&label, &b.sentence(&row.sentence));
    }
    page.rest(comparison.bellies.len(), |n| say!(t, "and {n} more bellies in as-left.html", n = n));
    page.wrapped(&t.word("Heights:"), &heights(b));
    for row in comparison.findings.iter().take(SHOWN) {
        let (before, after) = (row.before.as_deref(), row.after.as_deref());
        let (before, now) = (figures::finding(b, before), figures::finding(b, after));
        let told = say!(t, "{before} before, {now} now", before = before, now = now);
        page.wrapped(&format!("{}:", words::subject(t, &row.subject)), &told);
    }
    page.rest(comparison.findings.len(), |n| say!(t, "and {n} more findings in as-left.html", n = n));
}

/// At how many places a change is shown, and the greatest.
fn heights(b: &Both) -> String {
    let (all, t) = (&b.comparison.heights, &b.now);
    let changed: Vec<&HeightChange> = all.iter().filter(|r| figures::is_changed(r)).collect();
    let greatest = changed.iter().max_by(|a, b| a.change_m.abs().total_cmp(&b.change_m.abs()));
    let Some(row) = greatest else {
        return say!(t, "no change is shown at any of {all} places; all are in heights.csv", all = all.len());
    };
    let (change, interval) = figures::height_change(t.voice, row);
    let told = say!(
        t,
        "a change is shown at {n} of {all} places, the greatest at {place}: {change} (95 % interval {interval}); all are in \
         heights.csv.",
        n = changed.len(),
        all = all.len(),
        place = at(t.voice, row.station_m),
        change = change,
        interval = interval
    );
    format!("{told} {}", figures::heights_are(b))
}
