//! Two surveys beside each other, for a terminal.

use fallwise::answers::{Comparison, HeightChange};

use super::figures;
use crate::{
    summary::{Lines, SHOWN, counts},
    words::{self, HONESTY, INVENTED, at},
};

/// A summary of two surveys in plain text: the sentence that matters on the first line, then what the pipe is and was, what
/// changed, and cautions, at most 100 columns wide.
///
/// The first line is not wrapped, so that it can be taken off whole. A change that the readings cannot show is called "not shown".
pub fn as_left_summary(comparison: &Comparison) -> String {
    let mut page = Lines { text: String::new(), whole: "as-left.html" };
    page.line(&comparison.sentence);
    if comparison.after.job.survey.invented || comparison.before.job.survey.invented {
        page.line(INVENTED);
    }
    page.line("");
    page.wrapped("Asked:", &figures::asked(comparison));
    page.wrapped("Both surveyed:", &figures::common(comparison));
    page.wrapped("In common:", figures::shared(comparison));
    page.line("");
    page.wrapped("Now:", &comparison.after.sentence);
    page.wrapped("Findings now:", &counts(&comparison.after));
    page.wrapped("Before:", &comparison.before.sentence);
    page.wrapped("Findings before:", &counts(&comparison.before));

    page.line("");
    // The first sentence said the whole.
    for row in comparison.slopes.iter().skip(1).take(SHOWN) {
        page.wrapped(&format!("Slope of {} ({}):", row.name, row.verdict), &row.sentence);
    }
    page.rest(comparison.slopes.len().saturating_sub(1), "slopes");
    if comparison.bellies.is_empty() {
        page.wrapped("Bellies:", "neither survey found one");
    }
    for row in comparison.bellies.iter().take(SHOWN) {
        page.wrapped(&format!("Belly ({}):", row.verdict), &row.sentence);
    }
    page.rest(comparison.bellies.len(), "bellies");
    page.wrapped("Heights:", &heights(comparison));
    for row in comparison.findings.iter().take(SHOWN) {
        let told = |finding: &Option<String>| finding.clone().unwrap_or_else(|| "none of this name".to_owned());
        page.wrapped(&format!("{}:", row.subject), &format!("{} before, {} now", told(&row.before), told(&row.after)));
    }
    page.rest(comparison.findings.len(), "findings");

    page.line("");
    for warning in comparison.warnings.iter().take(SHOWN) {
        page.wrapped("Warning:", warning);
    }
    page.rest(comparison.warnings.len(), "warnings");
    let own = comparison.before.warnings.len() + comparison.after.warnings.len();
    if own > 0 {
        page.wrapped("Warnings of the surveys:", &format!("{own}, in as-left.html"));
    }
    page.wrapped("Intervals:", &format!("{HONESTY} What they do not cover is in as-left.html."));
    for caution in comparison.cautions.iter().take(1).chain(words::worst(&comparison.cautions)) {
        page.wrapped("Caution:", caution);
    }
    page.wrapped("", "All cautions are in cautions.txt and as-left.html.");
    page.text
}

/// At how many places a change is shown, and the greatest.
fn heights(comparison: &Comparison) -> String {
    let words = comparison.after.job.report.words;
    let changed: Vec<&HeightChange> = comparison.heights.iter().filter(|r| figures::is_changed(r)).collect();
    let greatest = changed.iter().max_by(|a, b| a.change_m.abs().total_cmp(&b.change_m.abs()));
    let Some(row) = greatest else {
        return format!("no change is shown at any of {} places; all are in heights.csv", comparison.heights.len());
    };
    let (change, interval) = figures::height_change(words, row);
    format!(
        "a change is shown at {} of {} places, the greatest at {}: {change} (95 % interval {interval}); all are in heights.csv. {}",
        changed.len(),
        comparison.heights.len(),
        at(words, row.station_m),
        figures::heights_are(comparison)
    )
}
