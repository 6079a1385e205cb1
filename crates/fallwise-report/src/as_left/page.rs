//! The page of two surveys: texts in the order of the template, which only lays them out.

use askama::Template;
use fallwise::answers::{FindingChange, HeightChange, SlopeChange};

use super::figures::{self, Figure};
use crate::{
    frame::Frame,
    page::{Finding, Labels, Next, Pool, ReportError, facts, finding, next, pools, split},
    profile,
    summary::{counts, in_order},
    table::{Table, lines, plain},
    tell::{Both, Teller, say},
    text::readable,
    words::{self, stretch},
};

/// Heights listed at most; all are in heights.csv.
const HEIGHTS: usize = 200;

/// Two surveys of one lateral as one HTML page, "as left".
pub(super) fn html(both: &Both) -> Result<String, ReportError> {
    Ok(Page::new(both).render()?)
}

/// What the template lays out. Texts only.
#[derive(Template)]
#[template(path = "as_left.html")]
struct Page<'a> {
    t: Labels<'a>,
    frame: Frame,
    asked: String,
    headline: String,
    rest: String,
    both: String,
    now: Survey,
    was: Survey,
    common: String,
    shared: String,
    together: String,
    slopes: Table,
    bellies: Vec<(String, String)>,
    findings: Table,
    heights: Table,
    heights_are: String,
    heights_left_out: Option<String>,
    not_covered: Vec<String>,
    honesty: String,
    warnings: Vec<String>,
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
    facts: Vec<(String, String)>,
}

impl Survey {
    /// `counts`: how its findings are introduced; `ids`: how names in its picture begin.
    fn new(t: &Teller, counts: &str, ids: &str) -> Self {
        let answers = t.answers;
        let (headline, rest) = split(t, &answers.sentence);
        let in_order: Vec<_> = in_order(&answers.findings).collect();
        let first_undecided = in_order.iter().position(|f| f.finding == "undecided");
        let findings = in_order.iter().enumerate();
        Self {
            headline,
            rest,
            next: answers.next.as_ref().map(|n| next(t, n)),
            picture: profile::picture(t, false, ids),
            counts: readable(counts),
            findings: findings.map(|(i, f)| finding(t, f, Vec::new(), first_undecided == Some(i))).collect(),
            pools: pools(t),
            facts: facts(t, &answers.job.survey),
        }
    }
}

impl<'a> Page<'a> {
    fn new(b: &Both<'a>) -> Self {
        let (comparison, t) = (b.comparison, &b.now);
        let after = &comparison.after;
        let (headline, rest) = split(t, &comparison.sentence);
        let all_told = |sentences: &[String]| sentences.iter().map(|s| readable(&b.sentence(s))).collect();
        let left_out = comparison.heights.len().saturating_sub(HEIGHTS);
        Self {
            t: Labels::new(t.voice, &after.job.report),
            frame: frame(b),
            asked: readable(&figures::asked(b)),
            headline,
            rest,
            both: profile::two(b, false),
            now: Survey::new(&b.now, &say!(t, "Findings now: {counts}.", counts = counts(&b.now)), "fw-now"),
            was: Survey::new(&b.was, &say!(t, "Findings then: {counts}.", counts = counts(&b.was)), "fw-was"),
            common: readable(&say!(t, "Both surveyed {stretch}.", stretch = figures::common(b))),
            shared: readable(&figures::shared(b)),
            together: readable(&figures::together(b)),
            slopes: slopes(b),
            bellies: (comparison.bellies.iter())
                .map(|belly| (readable(&b.sentence(&belly.verdict)), readable(&b.sentence(&belly.sentence))))
                .collect(),
            findings: findings(b),
            heights: heights(b),
            heights_are: readable(&figures::heights_are(b)),
            heights_left_out: (left_out > 0).then(|| readable(&say!(t, "{n} more are in heights.csv.", n = left_out))),
            not_covered: all_told(&comparison.not_covered),
            honesty: readable(&words::honesty(t)),
            warnings: warnings(b),
        }
    }
}

/// Title, cautions and version of the two together.
pub(super) fn frame(b: &Both) -> Frame {
    let (comparison, t) = (b.comparison, &b.now);
    let (before, after) = (&comparison.before.job.survey, &comparison.after.job.survey);
    let title = after.title.clone().unwrap_or_else(|| t.word("Survey of a drain"));
    Frame {
        title: readable(&say!(t, "{title}: as left", title = title)),
        invented: (after.invented || before.invented).then(|| readable(&words::invented(t.voice))),
        cautions: lines(comparison.cautions.iter().map(|c| b.sentence(c))),
        version: readable(&comparison.version),
        ..Frame::whole(t)
    }
}

/// Slopes and their changes.
pub(super) fn slopes(b: &Both) -> Table {
    let t = &b.now;
    let columns = [t.word("stretch"), t.word("change"), t.word("verdict"), t.word("before"), t.word("now")];
    Table::new(&t.word("Slopes along the flow"), columns, b.comparison.slopes.iter().map(|row| slope(b, row)))
}

/// What each finding was and is.
pub(super) fn findings(b: &Both) -> Table {
    let t = &b.now;
    let columns = [t.word("subject"), t.word("before"), t.word("now")];
    Table::new(&t.word("Findings"), columns, b.comparison.findings.iter().map(|row| change(b, row)))
}

fn heights(b: &Both) -> Table {
    let t = &b.now;
    let columns = [words::station(t.voice), t.word("change"), t.word("verdict"), t.word("before"), t.word("now")];
    let rows = b.comparison.heights.iter().take(HEIGHTS).map(|row| height(b, row));
    Table::new(&t.word("Heights where the slope changes in either survey"), columns, rows)
}

fn slope(b: &Both, row: &SlopeChange) -> Vec<Figure> {
    let v = b.now.voice;
    vec![
        (b.sentence(&row.name), stretch(v, row.from_m, row.to_m)),
        figures::slope_change(v, row),
        plain(b.sentence(&row.verdict)),
        figures::slope(v, row.before, row.before_sd),
        figures::slope(v, row.after, row.after_sd),
    ]
}

fn change(b: &Both, row: &FindingChange) -> Vec<Figure> {
    [
        words::subject(&b.now, &row.subject),
        figures::finding(b, row.before.as_deref()),
        figures::finding(b, row.after.as_deref()),
    ]
    .map(plain)
    .to_vec()
}

fn height(b: &Both, row: &HeightChange) -> Vec<Figure> {
    let v = b.now.voice;
    let verdict = if figures::is_changed(row) { say!(v, "changed") } else { say!(v, "not shown") };
    vec![
        plain(v.station(row.station_m)),
        figures::height_change(v, row),
        plain(verdict),
        figures::height(v, b.comparison, row.before_m, row.before_sd_m),
        figures::height(v, b.comparison, row.after_m, row.after_sd_m),
    ]
}

/// Those of the comparison, then those of either survey.
fn warnings(b: &Both) -> Vec<String> {
    let own = b.comparison.warnings.iter().map(|w| b.sentence(w));
    let second = b.now.answers.warnings.iter();
    let second = second.map(|w| say!(b.now, "Of the second survey: {warning}", warning = b.now.sentence(w)));
    let first = b.was.answers.warnings.iter();
    let first = first.map(|w| say!(b.now, "Of the first survey: {warning}", warning = b.was.sentence(w)));
    own.chain(second).chain(first).map(|text| readable(&text)).collect()
}
