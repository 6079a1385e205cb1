//! Who speaks: the answers together with the wording, the language and the decimal mark in which they are told.

use std::collections::BTreeMap;

use fallwise::{
    Answers,
    units::{Language, Said, Voice, Words},
};

/// Answers, and the voice that tells them.
pub(crate) struct Teller<'a> {
    pub(crate) answers: &'a Answers,
    pub(crate) voice: Voice<'a>,
    /// The core's sentences by how they print in the answers; empty where they are told as they stand.
    said: BTreeMap<String, &'a Said>,
}

impl<'a> Teller<'a> {
    /// In the job's wording and with its decimal mark, in `language` or else in English.
    pub(crate) fn new(answers: &'a Answers, language: Option<&'a Language>) -> Self {
        let report = &answers.job.report;
        let mut voice = match language {
            Some(language) => Voice::new(report.words, language),
            None => Voice::english(report.words),
        };
        voice.decimal = report.decimal.unwrap_or(voice.decimal);
        let said = if voice.is_plain() {
            BTreeMap::new()
        } else {
            answers.said.iter().map(|said| (said.to_string(), said)).collect()
        };
        Self { answers, voice, said }
    }

    pub(crate) fn words(&self) -> Words {
        self.voice.words
    }

    /// A sentence of ours.
    pub(crate) fn say(&self, said: &Said) -> String {
        self.voice.tell(said)
    }

    /// A sentence that came with the answers: by its figures, else as a fixed text of ours. One that is neither stays as it is.
    pub(crate) fn sentence(&self, english: &str) -> String {
        match self.said.get(english) {
            Some(said) => self.voice.tell(said),
            None => self.voice.language.text(english).to_owned(),
        }
    }
}

/// A text of ours told by a [`Teller`], with figures and texts put in: `say!(t, "Surveyed: {length}.", length = Part::Length(m))`.
macro_rules! say {
    ($teller:expr, $template:literal $(, $name:ident = $part:expr)* $(,)?) => {
        $teller.say(&::fallwise::said!($teller.words(), $template $(, $name = $part)*))
    };
}
pub(crate) use say;

#[cfg(test)]
mod tests {
    use super::*;
    use fallwise::{Job, Lateral, Run, said, units::Part};

    #[test]
    fn sentences_are_told_in_the_language_asked_for() {
        let run = Run::new(vec![0.0, 1.0, 2.0, 3.0], vec![0.02, 0.02, 0.021, 0.02]);
        let mut answers = Lateral::solve(Job { runs: vec![run], ..Job::default() }).unwrap().answers(None).unwrap();
        let said = said!(Words::Uk, "It falls {slope}.", slope = Part::Slope(0.021));
        answers.said = vec![said.clone()];
        let german = "code = \"de\"\nname = \"Deutsch\"\ndecimal = \"comma\"\n[text]\n\"It falls {slope}.\" = \"Es fällt {slope}.\"\n\"It is level.\" = \"Es liegt waagerecht.\"";
        let german = Language::parse(german).unwrap();
        let t = Teller::new(&answers, Some(&german));
        assert_eq!(t.sentence(&said.to_string()), "Es fällt 1 in 47,6.");
        assert_eq!(t.sentence("It is level."), "Es liegt waagerecht.");
        assert_eq!(t.sentence("Not ours."), "Not ours.");
        assert_eq!(say!(t, "It falls {slope}.", slope = Part::Slope(0.5)), "Es fällt 1 in 2.");
        assert_eq!(Teller::new(&answers, None).sentence("It falls 1 in 47.6."), "It falls 1 in 47.6.");
    }
}
