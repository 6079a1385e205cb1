//! Before and after on one sheet.

use askama::Template;

use super::{figures, page};
use crate::{
    frame::Frame,
    page::{Labels, split},
    profile,
    table::{Table, lines, pairs},
    tell::Both,
    text::readable,
    words,
};

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
    shared: String,
    honesty: String,
}

impl<'a> BeforeAfter<'a> {
    pub(super) fn new(b: &Both<'a>) -> Self {
        let (comparison, t) = (b.comparison, &b.now);
        let first = |t: &crate::tell::Teller<'_>, sentence: &str| split(t, sentence).0;
        let (mut short, own) = (Frame::extract(t), page::frame(b));
        // The report of two surveys is another file.
        short.cautions.pop();
        short.cautions.push(readable(&t.word("All cautions, and how sure every figure is, are in as-left.html.")));
        let brief = [
            (t.word("Asked"), figures::asked(b)),
            (t.word("What changed"), first(t, &comparison.sentence)),
            (t.word("Now"), first(&b.now, &comparison.after.sentence)),
            (t.word("Before"), first(&b.was, &comparison.before.sentence)),
        ];
        let bellies = comparison.bellies.iter();
        Self {
            t: Labels::new(t.voice, &comparison.after.job.report),
            frame: Frame { cautions: short.cautions, class: short.class, ..own },
            brief: pairs(brief),
            picture: profile::two(b, false),
            slopes: page::slopes(b),
            bellies: lines(bellies.map(|row| format!("{}: {}", b.sentence(&row.verdict), b.sentence(&row.sentence)))),
            findings: page::findings(b),
            shared: readable(&figures::shared(b)),
            honesty: readable(&words::honesty(t.voice)),
        }
    }
}
