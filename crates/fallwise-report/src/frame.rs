//! What stands around every page: its title, the paper, cautions, who made it.

use fallwise::{answers::Answers, model::Paper, units::Words};

use crate::{
    tell::{Teller, say},
    text::readable,
    words,
};

/// The texts of `base.html`.
pub(crate) struct Frame {
    pub(crate) lang: String,
    pub(crate) title: String,
    /// Class of the whole, for extracts.
    pub(crate) class: &'static str,
    pub(crate) paper: &'static str,
    pub(crate) invented: Option<String>,
    pub(crate) cautions_heading: String,
    pub(crate) cautions: Vec<String>,
    pub(crate) foot: String,
}

impl Frame {
    /// With all cautions.
    pub(crate) fn new(t: &Teller<'_>, title: String, class: &'static str) -> Self {
        let answers = t.answers;
        let language = t.voice.language;
        Self {
            lang: if language.is_english() { "en".to_owned() } else { language.code.clone() },
            title: readable(&title),
            class,
            paper: paper(answers),
            invented: answers.job.survey.invented.then(|| t.word(words::INVENTED)),
            cautions_heading: t.word("Cautions"),
            cautions: answers.cautions.iter().map(|c| readable(&t.sentence(c))).collect(),
            foot: readable(&say!(t, "fallwise {version}", version = &answers.version)),
        }
    }

    /// With the cautions that hurt most when they are missed, for one page; it names where the others are.
    pub(crate) fn short(t: &Teller<'_>, title: String, class: &'static str) -> Self {
        let all = Self::new(t, title, class);
        let worst = words::worst(&t.answers.cautions).chain(t.answers.cautions.first()).map(|c| readable(&t.sentence(c)));
        let rest = t.word("All cautions, and how sure every figure is, are in report.html.");
        Self { cautions: worst.chain([rest]).collect(), ..all }
    }
}

/// The title of the job, or what it is.
pub(crate) fn title(t: &Teller<'_>) -> String {
    t.answers.job.survey.title.clone().unwrap_or_else(|| t.word("Survey of a drain"))
}

/// As style sheets call it.
fn paper(answers: &Answers) -> &'static str {
    let report = &answers.job.report;
    let usual = match report.words {
        Words::Us => Paper::Letter,
        Words::Uk => Paper::A4,
    };
    match report.paper.unwrap_or(usual) {
        Paper::A4 => "A4",
        Paper::Letter => "letter",
    }
}
