//! One page for whoever owns the drain.

use askama::Template;
use fallwise::units::Part;

use crate::{
    brief::Brief,
    frame::{self, Frame},
    page::{Next, next},
    profile,
    tell::{Teller, say},
    text::readable,
};

/// What the template lays out. Texts only.
#[derive(Template)]
#[template(path = "owner.html")]
pub(crate) struct Owner {
    frame: Frame,
    reader: String,
    brief: Vec<(String, String)>,
    picture_name: String,
    picture: String,
    next_heading: String,
    next: Option<Next>,
    means_heading: String,
    means: Vec<(String, String)>,
    survey_heading: String,
    facts: Vec<(String, String)>,
}

impl Owner {
    pub(crate) fn new(t: &Teller<'_>) -> Self {
        let brief = Brief::new(t).rows(t);
        Self {
            frame: Frame::short(t, frame::title(t), "extract"),
            reader: t.word("For the owner, on one page"),
            brief: brief.into_iter().map(|(name, text)| (readable(&name), readable(&text))).collect(),
            picture_name: t.word("Profile"),
            picture: profile::pipe_only(t),
            next_heading: t.word("The next measurement"),
            next: t.answers.next.as_ref().map(|n| next(t, n)),
            means_heading: t.word("What the words mean"),
            means: means(t),
            survey_heading: t.word("The survey"),
            facts: facts(t),
        }
    }
}

/// The words of this page that an owner may not know; only those that stand on it.
fn means(t: &Teller<'_>) -> Vec<(String, String)> {
    let answers = t.answers;
    let mut means = vec![(
        t.word("Invert"),
        t.word("The bottom of the inside of the pipe, where the water runs. The thick line in the picture; it is somewhere within the hatching."),
    )];
    if !answers.pools.is_empty() {
        means.push((
            t.word("Belly"),
            t.word("A low place in which water can stay when the drain is not used. What it can hold is shown, not what stands in it today."),
        ));
    }
    if answers.findings.iter().any(|f| f.finding == "undecided") {
        means.push((
            t.word("Open"),
            t.word("These readings can carry no verdict, neither that the pipe is right nor that it is not. It does not mean that the pipe is probably fine."),
        ));
    }
    if answers.findings.iter().any(|f| f.finding == "fails") {
        means.push((
            t.word("Asks of new work"),
            t.word("Rules for slope are written for new pipes. Whether an older pipe that is flatter must be changed is for the authority and a licensed person."),
        ));
    }
    means.push((
        t.word("Shape on the day"),
        t.word("The survey shows how the pipe lies. It does not show when or why it came to lie so, nor what is broken."),
    ));
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
    let mut facts = vec![(t.word("Surveyed"), readable(&seen))];
    facts.extend(texts.into_iter().filter_map(|(name, text)| Some((name, readable(text.as_ref()?)))));
    facts
}
