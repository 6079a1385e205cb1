//! Who speaks: the answers together with the wording, the language and the decimal mark in which they are told.

use core::ops::Deref;
use std::collections::BTreeMap;

use fallwise::{
    Answers,
    answers::Comparison,
    model::ReportChoice,
    units::{Decimal, Language, Part, Said, Voice},
};

use crate::text::clean;

/// The voice of a report: the job's wording, the language or else English, the job's decimal mark or else that of the language.
pub(crate) fn voice<'a>(report: &ReportChoice, language: Option<&'a Language>) -> Voice<'a> {
    let mut voice = match language {
        Some(language) => Voice::new(report.words, language),
        None => Voice::english(report.words),
    };
    voice.decimal = report.decimal.unwrap_or(voice.decimal);
    voice
}

/// Answers, and the voice that tells them. It can do all that a voice can.
pub(crate) struct Teller<'a> {
    pub(crate) answers: &'a Answers,
    pub(crate) voice: Voice<'a>,
    /// The core's sentences by how they print in the answers; empty where they are told as they stand.
    said: BTreeMap<String, &'a Said>,
}

impl<'a> Teller<'a> {
    /// In the job's wording and with its decimal mark, in `language` or else in English.
    pub(crate) fn new(answers: &'a Answers, language: Option<&'a Language>) -> Self {
        Self::speaking(answers, voice(&answers.job.report, language))
    }

    /// In the job's wording, with another decimal mark than its own.
    pub(crate) fn with_decimal(answers: &'a Answers, language: Option<&'a Language>, decimal: Decimal) -> Self {
        Self::speaking(answers, Voice { decimal, ..voice(&answers.job.report, language) })
    }

    fn speaking(answers: &'a Answers, voice: Voice<'a>) -> Self {
        let said = if voice.is_plain() {
            BTreeMap::new()
        } else {
            answers.said.iter().map(|said| (said.to_string(), said)).collect()
        };
        Self { answers, voice, said }
    }

    /// A fixed text of ours.
    pub(crate) fn word(&self, english: &'static str) -> String {
        self.voice.text(english).to_owned()
    }

    /// A sentence, or a name, that came with the answers: by its figures, else as a fixed text of ours. One that is neither stays as it
    /// is.
    pub(crate) fn sentence(&self, english: &str) -> String {
        match self.said.get(english) {
            Some(said) => self.voice.tell(said),
            None => self.voice.language.text(english).to_owned(),
        }
    }

    /// The first of such sentences in a row, and the others.
    pub(crate) fn first_and_rest(&self, english: &str) -> (String, String) {
        if let Some((first, rest)) = self.said.get(english).and_then(|said| in_row(said)) {
            return (
                self.voice.part(first),
                rest.iter().map(|part| self.voice.part(part)).collect::<Vec<_>>().join(" "),
            );
        }
        let told = clean(&self.sentence(english));
        match told.split_once(". ") {
            Some((first, rest)) => (format!("{first}."), rest.to_owned()),
            None => (told, String::new()),
        }
    }
}

/// The sentences that [`Said::push`] put in a row.
fn in_row(said: &Said) -> Option<(&Part, Vec<&Part>)> {
    let names: Vec<String> = said.parts.keys().map(|name| format!("{{{name}}}")).collect();
    let mut parts = said.parts.values();
    let first = parts.next().filter(|_| names.first().is_some_and(|n| n == "{s00}"))?;
    (said.template == names.join(" ")).then(|| (first, parts.collect()))
}

impl<'a> Deref for Teller<'a> {
    type Target = Voice<'a>;
    fn deref(&self) -> &Voice<'a> {
        &self.voice
    }
}

/// Two surveys of one lateral, told in one language and with one decimal mark: those of the second.
pub(crate) struct Both<'a> {
    pub(crate) comparison: &'a Comparison,
    /// The second survey, whose voice is that of what both have.
    pub(crate) now: Teller<'a>,
    /// The first.
    pub(crate) was: Teller<'a>,
}

impl<'a> Both<'a> {
    pub(crate) fn new(comparison: &'a Comparison, language: Option<&'a Language>) -> Self {
        let now = Teller::new(&comparison.after, language);
        let was = Teller::with_decimal(&comparison.before, language, now.voice.decimal);
        Self { comparison, now, was }
    }

    /// A sentence, or a name, that came with the comparison, or with either of its surveys.
    pub(crate) fn sentence(&self, english: &str) -> String {
        if !self.now.voice.is_plain()
            && let Some(said) = self.comparison.said.iter().find(|said| *said == english)
        {
            return self.now.voice.tell(said);
        }
        let told = self.now.sentence(english);
        if told == english { self.was.sentence(english) } else { told }
    }
}

/// A text of ours told by a [`Teller`] or a [`Voice`], with figures and texts put in:
/// `say!(t, "Surveyed: {length}.", length = Part::Length(m))`.
macro_rules! say {
    ($teller:expr, $template:literal $(, $name:ident = $part:expr)* $(,)?) => {
        $teller.tell(&::fallwise::said!($teller.words, $template $(, $name = $part)*))
    };
}
pub(crate) use say;

#[cfg(test)]
mod tests {
    use super::*;
    use fallwise::{Job, Lateral, Run, said, units::Words};

    #[test]
    fn sentences_are_told_in_the_language_asked_for() {
        let run = Run::new(vec![0.0, 1.0, 2.0, 3.0], vec![0.02, 0.02, 0.021, 0.02]);
        let mut answers = Lateral::solve(Job { runs: vec![run], ..Job::default() }).unwrap().answers(None).unwrap();
        let said = said!(Words::Uk, "It falls {slope}.", slope = Part::Slope(0.021));
        let mut row = said.clone();
        row.push(said!(Words::Uk, "That is ca. all."));
        answers.said = vec![said.clone(), row.clone()];
        let german = "code = \"de\"\nname = \"Deutsch\"\ndecimal = \"comma\"\n[text]\n\"It falls {slope}.\" = \"Es fällt ca. {slope}.\"";
        let german = Language::parse(german).unwrap();
        let t = Teller::new(&answers, Some(&german));
        assert_eq!(t.sentence(&said.to_string()), "Es fällt ca. 1 in 47,6.");
        assert_eq!(t.sentence("Not ours."), "Not ours.");
        assert_eq!(say!(t, "It falls {slope}.", slope = Part::Slope(0.5)), "Es fällt ca. 1 in 2.");
        let (first, rest) = t.first_and_rest(&row.to_string());
        assert_eq!((first.as_str(), rest.as_str()), ("Es fällt ca. 1 in 47,6.", "That is ca. all."));
        let t = Teller::new(&answers, None);
        assert_eq!(t.sentence("It falls 1 in 47.6."), "It falls 1 in 47.6.");
        assert_eq!(t.first_and_rest("One. Two. Three"), ("One.".to_owned(), "Two. Three".to_owned()));
    }
}
