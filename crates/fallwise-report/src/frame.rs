//! What stands around every page: its title, cautions, who made it.

use crate::{
    table,
    tell::Teller,
    text::{readable, shorten},
    words,
};

/// Columns of a stranger's text on a sheet that has room for one page; report.html has it whole.
pub(crate) const COLUMNS: usize = 100;

/// The texts of `base.html`.
pub(crate) struct Frame {
    pub(crate) title: String,
    /// Class of the whole: extracts go onto one sheet.
    pub(crate) class: &'static str,
    pub(crate) invented: Option<String>,
    pub(crate) cautions: Vec<String>,
    pub(crate) version: String,
}

impl Frame {
    /// With all cautions, after what nobody may do with a page.
    pub(crate) fn whole(t: &Teller<'_>) -> Self {
        let survey = &t.answers.job.survey;
        Self {
            title: readable(&survey.title.clone().unwrap_or_else(|| t.word("Survey of a drain"))),
            class: "",
            invented: survey.invented.then(|| readable(&words::invented(t.voice))),
            cautions: table::lines([do_not_dig(t)].into_iter().chain(t.answers.cautions.iter().map(|c| t.sentence(c)))),
            version: readable(&t.answers.version),
        }
    }

    /// Of one sheet: with the cautions that hurt most when they are missed, and where the others are.
    pub(crate) fn extract(t: &Teller<'_>) -> Self {
        let cautions = &t.answers.cautions;
        // The last says that codes are amended locally.
        let worst = cautions.last().into_iter().chain(words::worst(cautions)).chain(cautions.first());
        let worst = worst.map(|c| t.sentence(c));
        let rest = t.word("All cautions, and how sure every figure is, are in report.html.");
        let whole = Self::whole(t);
        let title = shorten(&whole.title, COLUMNS);
        Self {
            class: "extract",
            title,
            cautions: table::lines([do_not_dig(t)].into_iter().chain(worst).chain([rest])),
            ..whole
        }
    }
}

/// The first caution of every page.
pub(crate) fn do_not_dig(t: &Teller<'_>) -> String {
    t.word("Do not dig by this page: it does not show what else is buried.")
}
