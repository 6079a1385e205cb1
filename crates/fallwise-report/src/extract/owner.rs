//! One page for whoever owns the drain.

use askama::Template;
use fallwise::units::Part;

use crate::{
    brief,
    frame::{COLUMNS, Frame},
    page::{Labels, Next, next},
    profile,
    table::pairs,
    tell::{Teller, say},
    text::shorten,
};

/// What the template lays out. Texts only.
#[derive(Template)]
#[template(path = "owner.html")]
pub(crate) struct Owner<'a> {
    t: Labels<'a>,
    frame: Frame,
    brief: Vec<(String, String)>,
    picture: String,
    next: Option<Next>,
    means: Vec<(String, String)>,
    facts: Vec<(String, String)>,
}

impl<'a> Owner<'a> {
    pub(crate) fn new(t: &Teller<'a>) -> Self {
        Self {
            t: Labels::new(t.voice, &t.answers.job.report),
            frame: Frame::extract(t),
            brief: pairs(brief::rows(t)),
            picture: profile::pipe_alone(t),
            next: t.answers.next.as_ref().map(|n| next(t, n)),
            means: pairs(means(t)),
            facts: pairs(facts(t)),
        }
    }
}

/// The words of this page that an owner may not know; only those that stand on it.
fn means(t: &Teller<'_>) -> Vec<(String, String)> {
    let answers = t.answers;
    let found = |finding: &str| answers.findings.iter().any(|f| f.finding == finding);
    let mut means = vec![(
        t.word("Invert"),
        t.word("The bottom of the inside of the pipe, where the water runs: the thick line. It is somewhere within the hatching."),
    )];
    if !answers.pools.is_empty() {
        means.push((
            t.word("Belly"),
            t.word("A low place where water can stay. What it can hold is shown, not what stands in it today."),
        ));
    }
    if found("undecided") {
        means.push((
            t.word("Open"),
            t.word("These readings can carry no verdict, neither that the pipe is right nor that it is not. It does not mean that the pipe is probably fine."),
        ));
    }
    if found("fails") {
        means.push((
            t.word("What a rule asks"),
            t.word("Rules for slope are mostly written for new pipes. Whether an older pipe must be changed is for the authority and a licensed person."),
        ));
    }
    means
}

/// Who did it and when, and how much of the whole was seen.
fn facts(t: &Teller<'_>) -> Vec<(String, String)> {
    let survey = &t.answers.job.survey;
    let surveyed = Part::Length(t.answers.total.length_m);
    let seen = match survey.about_length_m {
        Some(about) => say!(t, "{length} of about {about}", length = surveyed, about = Part::About(about)),
        None => say!(t, "{length}; how long the whole is, was not given", length = surveyed),
    };
    let texts = [
        (t.word("When"), &survey.date_time),
        (t.word("Company"), &survey.company),
        (t.word("Operator"), &survey.operator),
        (t.word("Licence"), &survey.licence),
        (t.word("Signed by"), &survey.signed_by),
    ];
    let mut facts = vec![(t.word("Surveyed"), seen)];
    facts.extend(texts.into_iter().filter_map(|(name, text)| Some((name, shorten(text.as_ref()?, COLUMNS)))));
    facts
}
