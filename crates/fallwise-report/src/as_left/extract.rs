//! Before and after on one sheet.

use askama::Template;
use fallwise::{
    Answers,
    adjust::Shared,
    answers::{FindingRow, SlopeChange},
    units::Part,
};

use super::{figures, page};
use crate::{
    brief,
    extract::{answers_are, head_means, means},
    frame::Frame,
    known,
    page::{Labels, split},
    profile,
    table::{Cell, Row, Table, lines, pairs, plain},
    tell::{Both, Teller, say},
    text::{readable, shorten},
    verdict, words,
};

/// Findings that a sheet has room for.
const FINDINGS: usize = 6;

/// What the template lays out. Texts only.
#[derive(Template)]
#[template(path = "before_after.html")]
pub(super) struct BeforeAfter<'a> {
    t: Labels<'a>,
    frame: Frame,
    brief: Vec<(String, String)>,
    picture: String,
    slopes: Table,
    bellies: Vec<String>,
    findings: Table,
    answers_are: Vec<String>,
    shared: String,
    together: String,
    means: Vec<(String, String)>,
    surveys: Vec<(String, String)>,
}

impl<'a> BeforeAfter<'a> {
    pub(super) fn new(b: &Both<'a>) -> Self {
        let (comparison, t) = (b.comparison, &b.now);
        let (mut short, own) = (Frame::extract(t), page::frame(b));
        // The report of two surveys is another file.
        short.cautions.pop();
        short.cautions.push(readable(&t.word("All cautions, and how sure every figure is, are in as-left.html.")));
        let first = |t: &Teller<'_>, sentence: &str| split(t, sentence).0;
        let now = first(&b.now, &comparison.after.sentence);
        let unchecked = comparison.after.findings.iter().any(|f| !f.document.is_empty() && !f.confirmed);
        let now =
            if unchecked { format!("{now} {}", t.word("Its value was not checked in the document.")) } else { now };
        let brief = [
            (t.word("Asked"), t.word("What has changed between the two surveys, and how was the drain left?")),
            (t.word("What changed"), b.sentence(&comparison.sentence)),
            (t.word("Now"), now),
            (t.word("Before"), first(&b.was, &comparison.before.sentence)),
            (t.word("Not known"), unknown(b)),
            (t.word("Next"), brief::next(&b.now)),
        ];
        let bellies = comparison.bellies.iter();
        Self {
            t: Labels::new(t.voice, &comparison.after.job.report),
            frame: Frame { cautions: short.cautions, class: short.class, ..own },
            brief: pairs(brief),
            picture: profile::two_alone(b),
            slopes: page::slopes(b),
            bellies: lines(bellies.map(|row| {
                say!(
                    t,
                    "Belly ({verdict}): {sentence}",
                    verdict = b.sentence(&row.verdict),
                    sentence = b.sentence(&row.sentence)
                )
            })),
            findings: findings(b),
            answers_are: lines(answers_are(t)),
            shared: readable(&figures::shared(b)),
            together: readable(&figures::together(b)),
            means: pairs(both_mean(b)),
            surveys: pairs(surveys(b)),
        }
    }
}

/// What each finding was and is, with the figures that make the difference, and what was asked.
fn findings(b: &Both<'_>) -> Table {
    let (t, c) = (&b.now, b.comparison);
    let columns = [t.word("Is this so?"), t.word("Asked"), t.word("Before, by itself"), t.word("Now, by itself")];
    let of = |answers: &'_ Answers, subject: &str| answers.findings.iter().find(|f| f.subject == subject).cloned();
    let told = |t: &Teller<'_>, f: Option<&FindingRow>| match f {
        Some(f) => {
            let (first, second) = verdict::found(t, f);
            // What could have decided it then is of no use now.
            let measurable = matches!(f.reason.as_deref(), Some("needs_measurement" | "too_close"));
            let below = match (measurable, second.is_empty()) {
                (true, false) => second,
                (_, true) => first,
                (false, false) => format!("{first}; {second}"),
            };
            (verdict::answer(t, &f.finding), below)
        }
        None => plain(t.word("none of this name")),
    };
    let rows = c.findings.iter().take(FINDINGS).filter_map(|row| {
        let (was, is) = (of(&c.before, &row.subject), of(&c.after, &row.subject));
        let (teller, any) = is.as_ref().map(|f| (t, f)).or_else(|| was.as_ref().map(|f| (&b.was, f)))?;
        let cells: Vec<Cell> = vec![
            verdict::part(teller, any),
            verdict::asked(teller, any),
            told(&b.was, was.as_ref()),
            told(t, is.as_ref()),
        ];
        Some(Row::new("", cells))
    });
    Table { rows: rows.collect(), ..Table::new(&t.word("Findings"), columns, []).of_texts() }
}

/// What the two surveys together leave open.
fn unknown(b: &Both<'_>) -> String {
    const NAMED: usize = 3;
    let open = |row: &SlopeChange| row.change_low <= 0.0 && row.change_high >= 0.0;
    let named = |(i, row): (usize, &SlopeChange)| match i {
        0 => b.now.word("the whole"),
        _ => format!("\u{201c}{}\u{201d}", shorten(&b.sentence(&row.name), 40)),
    };
    let rows = b.comparison.slopes.iter().enumerate().filter(|(_, row)| open(row));
    let names: Vec<String> = rows.take(NAMED).map(named).collect();
    let done = b.now.word("What was done to the drain between the two surveys.");
    if names.is_empty() {
        return done;
    }
    format!("{} {done}", say!(b.now, "Whether these slopes changed: {names}.", names = names.join(", ")))
}

/// The words of the owner's sheet, with what this picture shows.
fn both_mean(b: &Both<'_>) -> Vec<(String, String)> {
    let t = &b.now;
    let picture = t.word(
        "The pipe from the side. Full line: the bottom of its inside now; broken line: before. Hatching: how unsure the heights are; it is no damage.",
    );
    let mut all = means(t, &[&b.comparison.before, &b.comparison.after]);
    let head = head_means(t);
    if b.comparison.shared == Shared::Zero && !all.contains(&head) {
        all.push(head);
    }
    if let Some(first) = all.first_mut() {
        first.1 = picture;
    }
    all
}

/// Who made each of the two, and when.
fn surveys(b: &Both<'_>) -> Vec<(String, String)> {
    let one = |t: &Teller<'_>| {
        let s = &t.answers.job.survey;
        let when = s.date_time.as_ref().map_or_else(|| t.word("date not given"), |date| words::date(t.voice, date));
        let who = [&s.company, &s.operator].into_iter().flatten().map(|text| shorten(text, 60));
        let who: Vec<String> = who.collect();
        let who = if who.is_empty() { t.word("surveyor not given") } else { who.join(", ") };
        let length = Part::Length(t.answers.total.length_m);
        say!(t, "{date}, by {who}; {length} along the pipe", date = when, who = who, length = length)
    };
    vec![
        (b.now.word("The first survey"), one(&b.was)),
        (b.now.word("The second survey"), one(&b.now)),
        (b.now.word("Was all of it seen?"), known::all_seen(&b.now)),
    ]
}
