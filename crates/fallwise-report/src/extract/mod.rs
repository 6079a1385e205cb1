//! One page for each reader: what this one needs, in this one's words, and where the rest is.
//!
//! - `owner`: what was asked, what is known, what is not, what comes next.
//! - `inspector`: permit, document and edition, pipe, fall of each reach, a sketch with distances.
//! - `estimator`: quantities.
//! - `relay`: what a plan lays anew, or why there is none.
//! - `dig`: one planned dig.

use fallwise::units::Part;

use crate::{
    frame::COLUMNS,
    tell::{Teller, say},
    text::shorten,
    words,
};

mod dig;
mod estimator;
mod inspector;
mod owner;
mod relay;

pub(crate) use self::{
    dig::DigSheet,
    estimator::Estimator,
    inspector::Inspector,
    owner::{Owner, answers_are, head_means, means},
    relay::Relay,
};

/// When a sheet's figures were measured, by whom, and where: nobody works by a sheet of another day.
fn survey_line(t: &Teller<'_>) -> String {
    let survey = &t.answers.job.survey;
    let who = survey.company.as_ref().or(survey.operator.as_ref()).filter(|who| !who.trim().is_empty());
    let when = survey.date_time.as_ref().map_or_else(|| t.word("date not given"), |date| words::date(t.voice, date));
    let who = who.map_or_else(|| t.word("company not given"), |who| shorten(who, COLUMNS));
    match survey.site.as_ref().filter(|site| !site.trim().is_empty()) {
        Some(site) => say!(
            t,
            "Surveyed: {when}, {who}. Site: {site}.",
            when = when,
            who = who,
            site = Part::from(shorten(site, COLUMNS))
        ),
        None => say!(t, "Surveyed: {when}, {who}.", when = when, who = who),
    }
}
