//! The page of two surveys: texts in the order of the template, which only lays them out.

use askama::Template;
use fallwise::{
    Answers,
    answers::{Comparison, FindingChange, HeightChange, SlopeChange},
};

use super::figures::{self, Figure};
use crate::{
    page::{Finding, Next, Pool, ReportError, all_readable, facts, finding, next, plain, pools, split},
    profile,
    summary::{counts, in_order},
    text::readable,
    words::{self, HONESTY, INVENTED, at},
};

/// Heights listed at most; all are in heights.csv.
const HEIGHTS: usize = 200;

/// Two surveys of one lateral as one HTML page, "as left": no scripts, nothing from outside, for screen and paper (A4 and Letter).
///
/// First what was asked and the one sentence, with both profiles over each other; then the pipe as it is now, as it was, what
/// changed, what the two surveys have in common as stated, what the intervals do not allow for, cautions. Every text of a
/// stranger's is escaped.
///
/// # Errors
/// [`ReportError::Page`] if the template cannot be filled.
pub fn as_left_html(comparison: &Comparison) -> Result<String, ReportError> {
    Ok(Page::new(comparison).render()?)
}

/// What the template lays out. Texts only.
#[derive(Template)]
#[template(path = "as_left.html")]
struct Page {
    title: String,
    invented: Option<&'static str>,
    asked: String,
    headline: String,
    rest: String,
    both: String,
    now: Survey,
    was: Survey,
    common: String,
    shared: &'static str,
    together: &'static str,
    station: &'static str,
    slopes: Vec<Vec<Figure>>,
    bellies: Vec<(String, String)>,
    findings: Vec<[String; 3]>,
    heights: Vec<Vec<Figure>>,
    heights_are: String,
    heights_left_out: usize,
    not_covered: Vec<String>,
    honesty: &'static str,
    warnings: Vec<String>,
    cautions: Vec<String>,
    version: String,
}

/// One of the two.
struct Survey {
    headline: String,
    rest: String,
    next: Option<Next>,
    picture: String,
    counts: String,
    findings: Vec<Finding>,
    pools: Vec<Pool>,
    facts: Vec<(&'static str, String)>,
}

impl Survey {
    fn new(answers: &Answers) -> Self {
        let (headline, rest) = split(&answers.sentence);
        let in_order: Vec<_> = in_order(&answers.findings).collect();
        let first_undecided = in_order.iter().position(|f| f.finding == "undecided");
        let findings = in_order.iter().enumerate();
        Self {
            headline,
            rest,
            next: answers.next.as_ref().map(next),
            picture: profile::picture(answers, false),
            counts: counts(answers),
            findings: findings.map(|(i, f)| finding(answers, f, Vec::new(), first_undecided == Some(i))).collect(),
            pools: pools(answers),
            facts: facts(answers.job.report.words, &answers.job.survey),
        }
    }
}

impl Page {
    fn new(comparison: &Comparison) -> Self {
        let (before, after) = (&comparison.before, &comparison.after);
        let words = after.job.report.words;
        let survey = &after.job.survey;
        let (headline, rest) = split(&comparison.sentence);
        Self {
            title: readable(survey.title.as_deref().unwrap_or("Survey of a drain")),
            invented: (survey.invented || before.job.survey.invented).then_some(INVENTED),
            asked: readable(&figures::asked(comparison)),
            headline,
            rest,
            both: profile::two(comparison, false),
            now: Survey::new(after),
            was: Survey::new(before),
            common: figures::common(comparison),
            shared: figures::shared(comparison),
            together: figures::together(comparison),
            station: words::phrases(words).station,
            slopes: comparison.slopes.iter().map(|row| slope(comparison, row)).collect(),
            bellies: comparison.bellies.iter().map(|b| (readable(&b.verdict), readable(&b.sentence))).collect(),
            findings: comparison.findings.iter().map(told).collect(),
            heights: comparison.heights.iter().take(HEIGHTS).map(|row| height(comparison, row)).collect(),
            heights_are: figures::heights_are(comparison),
            heights_left_out: comparison.heights.len().saturating_sub(HEIGHTS),
            not_covered: all_readable(&comparison.not_covered),
            honesty: HONESTY,
            warnings: warnings(comparison),
            cautions: all_readable(&comparison.cautions),
            version: readable(&comparison.version),
        }
    }
}

fn slope(comparison: &Comparison, row: &SlopeChange) -> Vec<Figure> {
    let words = comparison.after.job.report.words;
    vec![
        (readable(&row.name), format!("{} to {}", at(words, row.from_m), words.station(row.to_m))),
        figures::slope_change(row),
        plain(readable(&row.verdict)),
        figures::slope(words, row.before, row.before_sd),
        figures::slope(words, row.after, row.after_sd),
    ]
}

fn told(row: &FindingChange) -> [String; 3] {
    let finding = |text: &Option<String>| readable(text.as_deref().unwrap_or("none of this name"));
    [readable(&row.subject), finding(&row.before), finding(&row.after)]
}

fn height(comparison: &Comparison, row: &HeightChange) -> Vec<Figure> {
    let words = comparison.after.job.report.words;
    let verdict = if figures::is_changed(row) { "changed" } else { "not shown" };
    vec![
        plain(words.station(row.station_m)),
        figures::height_change(words, row),
        plain(verdict.to_owned()),
        figures::height(comparison, row.before_m, row.before_sd_m),
        figures::height(comparison, row.after_m, row.after_sd_m),
    ]
}

/// Those of the comparison, then those of either survey.
fn warnings(comparison: &Comparison) -> Vec<String> {
    let of = |answers: &Answers, which: &str| {
        answers.warnings.iter().map(|w| readable(&format!("Of the {which} survey: {w}"))).collect::<Vec<_>>()
    };
    let mut all = all_readable(&comparison.warnings);
    all.extend(of(&comparison.after, "second"));
    all.extend(of(&comparison.before, "first"));
    all
}
