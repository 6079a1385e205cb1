//! Whole sentences with their figures kept apart, so that another language can say them.

use alloc::{borrow::Cow, collections::BTreeMap};
use core::fmt;

use serde::{Deserialize, Serialize};

use super::{voice::Voice, words::Words};
use crate::prelude::*;
use crate::said;

/// A sentence, or a part of one: an English template and what is put in at its names in braces.
///
/// It prints in English, in its own wording; [`Voice::tell`] says it in another language. Make one with [`said!`](crate::said).
///
/// ```
/// use fallwise::{said, units::{Language, Part, Voice, Words}};
///
/// let said = said!(Words::Uk, "The pipe falls {slope}.", slope = Part::Slope(0.0208));
/// assert_eq!(said.to_string(), "The pipe falls 1 in 48.1.");
/// let german = Language::parse(r#"
///     code = "de"
///     name = "Deutsch"
///     decimal = "comma"
///     [text]
///     "The pipe falls {slope}." = "Das Rohr fällt {slope}."
///     "1 in {n}" = "1 : {n}"
/// "#)?;
/// assert_eq!(Voice::new(Words::Uk, &german).tell(&said), "Das Rohr fällt 1 : 48,1.");
/// # Ok::<(), fallwise::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Said {
    /// Wording and units.
    pub words: Words,
    /// The English text, with names in braces.
    pub template: Cow<'static, str>,
    /// What stands at the names.
    pub parts: BTreeMap<Cow<'static, str>, Part>,
}

/// What is put into a sentence.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Part {
    /// A name, a title, a text of the job's: as it is in every language.
    Text(String),
    /// A fixed text of ours, in the language's own words.
    Word(Cow<'static, str>),
    /// A sentence, or a part of one.
    Said(Box<Said>),
    /// With a capital at its start.
    Capital(Box<Part>),
    /// A slope along the flow, with its second unit where the wording has one.
    Slope(f64),
    /// A slope along the flow.
    ShortSlope(f64),
    /// The two ends of a slope's interval.
    SlopeRange(f64, f64),
    /// A length, m.
    Length(f64),
    /// A length that is only roughly known, m.
    About(f64),
    /// A small height or depth, m.
    Small(f64),
    /// A station without the word before it, m.
    Station(f64),
    /// A station with the word before it, m.
    At(f64),
    /// The two ends of a stretch, after "between", m.
    Both(f64, f64),
    /// An elevation in the job's datum, m.
    Elevation(f64),
    /// A volume, m3.
    Volume(f64),
    /// An angle, rad.
    Angle(f64),
    /// A flow, m3/s.
    Flow(f64),
    /// A velocity, m/s.
    Speed(f64),
    /// A shear, Pa.
    Shear(f64),
    /// A share of a whole, in percent.
    Share(f64),
    /// A probability.
    Probability(f64),
    /// A bare number with so many decimals.
    Number(f64, u8),
    /// A bare number with the decimals that it was given with.
    Exact(f64),
    /// A count.
    Count(u64),
}

impl Said {
    /// What [`said!`](crate::said) makes. A figure that is not finite is not determined.
    pub fn new(words: Words, template: impl Into<Cow<'static, str>>, parts: Vec<(&'static str, Part)>) -> Self {
        let parts = parts.into_iter().map(|(name, part)| (Cow::Borrowed(name), part.determined())).collect();
        Self { words, template: template.into(), parts }
    }

    /// A text of the job's or of a document: the same in every language.
    pub fn text(text: impl Into<String>) -> Self {
        Self::new(Words::default(), "{text}", vec![("text", Part::Text(text.into()))])
    }

    /// A fixed text of ours, marked with [`word!`](crate::word).
    pub fn fixed(text: &'static str) -> Self {
        Self::new(Words::default(), text, Vec::new())
    }

    /// Sentences one after the other.
    pub fn all(words: Words, sentences: impl IntoIterator<Item = Self>) -> Self {
        let mut said = Self::new(words, "", Vec::new());
        for sentence in sentences {
            said.push(sentence);
        }
        said
    }

    /// Another sentence after it, with a space between.
    pub fn push(&mut self, sentence: Self) {
        if self.template.is_empty() {
            *self = sentence;
            return;
        }
        // Sentences in a row have numbers for names; anything else becomes the first of them.
        let in_row = self.parts.len();
        let row: Vec<String> = (0..in_row).map(|i| format!("{{s{i:02}}}")).collect();
        if in_row == 0 || self.template != row.join(" ") {
            let first = core::mem::replace(self, Self::new(sentence.words, "{s00}", Vec::new()));
            self.parts.insert(Cow::Borrowed("s00"), Part::Said(Box::new(first)));
        }
        let name = format!("s{:02}", self.parts.len());
        self.template = format!("{} {{{name}}}", self.template).into();
        self.parts.insert(name.into(), Part::Said(Box::new(sentence)));
    }

    /// Whether nothing is put into it: a fixed text.
    pub fn is_fixed(&self) -> bool {
        self.parts.is_empty()
    }

    /// Whether it prints with this text in it.
    pub fn contains(&self, text: &str) -> bool {
        self.to_string().contains(text)
    }

    /// Whether it prints with this text at its start.
    pub fn starts_with(&self, text: &str) -> bool {
        self.to_string().starts_with(text)
    }

    /// The templates in it that have words of ours, its own first.
    pub fn templates(&self) -> Vec<&str> {
        let mut found = vec![&*self.template];
        for part in self.parts.values() {
            part.templates(&mut found);
        }
        found
    }
}

impl fmt::Display for Said {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&Voice::english(self.words).tell(self))
    }
}

impl PartialEq<str> for Said {
    fn eq(&self, text: &str) -> bool {
        if self.is_fixed() {
            return self.template == text;
        }
        // Mostly the two differ before anything need be filled in.
        let begins = self.template.split('{').next().is_some_and(|begin| text.starts_with(begin));
        begins && self.to_string().as_str() == text
    }
}

impl PartialEq<&str> for Said {
    fn eq(&self, text: &&str) -> bool {
        self == *text
    }
}

impl Part {
    /// A fixed text of ours, marked with [`word!`](crate::word).
    pub fn word(text: &'static str) -> Self {
        Self::Word(Cow::Borrowed(text))
    }

    /// With a capital at its start.
    pub fn capital(part: impl Into<Self>) -> Self {
        Self::Capital(Box::new(part.into()))
    }

    /// "a", "a and b", "a, b and c".
    pub fn list(words: Words, parts: impl IntoIterator<Item = Self>) -> Self {
        let mut parts = parts.into_iter();
        let Some(mut list) = parts.next() else { return Self::Text(String::new()) };
        let mut next = parts.next();
        while let Some(part) = next {
            next = parts.next();
            list = match next {
                Some(_) => said!(words, "{list}, {next}", list = list, next = part),
                None => said!(words, "{list} and {last}", list = list, last = part),
            }
            .into();
        }
        list
    }

    fn templates<'a>(&'a self, found: &mut Vec<&'a str>) {
        match self {
            Self::Word(word) => found.push(word),
            Self::Said(said) => found.extend(said.templates()),
            Self::Capital(part) => part.templates(found),
            _ => {}
        }
    }

    /// JSON has no number that is not finite.
    fn determined(self) -> Self {
        let finite = match &self {
            Self::Text(_) | Self::Word(_) | Self::Said(_) | Self::Capital(_) | Self::Count(_) => true,
            Self::Slope(x)
            | Self::ShortSlope(x)
            | Self::Length(x)
            | Self::About(x)
            | Self::Small(x)
            | Self::Station(x)
            | Self::At(x)
            | Self::Elevation(x)
            | Self::Volume(x)
            | Self::Angle(x)
            | Self::Flow(x)
            | Self::Speed(x)
            | Self::Shear(x)
            | Self::Share(x)
            | Self::Probability(x)
            | Self::Exact(x)
            | Self::Number(x, _) => x.is_finite(),
            Self::SlopeRange(low, high) | Self::Both(low, high) => low.is_finite() && high.is_finite(),
        };
        if finite { self } else { Self::Word(Cow::Borrowed("not determined")) }
    }
}

impl From<Said> for Part {
    fn from(said: Said) -> Self {
        Self::Said(Box::new(said))
    }
}

impl From<&Said> for Part {
    fn from(said: &Said) -> Self {
        Self::Said(Box::new(said.clone()))
    }
}

impl From<String> for Part {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

impl From<&str> for Part {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl From<&String> for Part {
    fn from(text: &String) -> Self {
        Self::Text(text.clone())
    }
}

impl From<usize> for Part {
    fn from(count: usize) -> Self {
        Self::Count(count as u64)
    }
}

/// A [`Said`](crate::units::Said): wording, English template, and what stands at each of its names: figures as
/// [`Part`](crate::units::Part)s, other sentences, counts, texts. The wording may be left out where no figure has a unit that it turns on.
///
/// `docs/texts.toml` lists the texts of all of them, so each template is written out where it is said.
#[macro_export]
macro_rules! said {
    ($template:literal $(, $name:ident = $part:expr)* $(,)?) => {
        $crate::said!($crate::units::Words::Uk, $template $(, $name = $part)*)
    };
    ($words:expr, $template:literal $(, $name:ident = $part:expr)* $(,)?) => {
        $crate::units::Said::new(
            $words,
            $template,
            $crate::alloc::vec![$((::core::stringify!($name), $crate::units::Part::from($part))),*],
        )
    };
}

/// A fixed text of ours that is no [`said!`](crate::said) by itself. It is the text and nothing else: the mark by which
/// `docs/texts.toml` finds it.
///
/// ```
/// use fallwise::{units::Part, word};
///
/// assert_eq!(Part::word(word!("the code")), Part::Word("the code".into()));
/// ```
#[macro_export]
macro_rules! word {
    ($text:literal) => {
        $text
    };
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sentences_stand_in_a_row() {
        let mut row = said!(Words::Uk, "A is {n}.", n = 3_usize);
        row.push(said!(Words::Uk, "B {name}.", name = "{n}"));
        row.push(said!(Words::Uk, "C."));
        assert_eq!(row.to_string(), "A is 3. B {n}. C.");
        assert_eq!(Said::all(Words::Uk, [row.clone()]), row);
        assert_eq!(Said::all(Words::Uk, []).to_string(), "");
    }

    #[test]
    fn lists_are_said() {
        let list = |parts: &[&str]| {
            let list = Part::list(Words::Uk, parts.iter().map(|p| Part::from(*p)));
            said!("{list}.", list = list).to_string()
        };
        assert_eq!(
            [list(&[]), list(&["a"]), list(&["a", "b"]), list(&["a", "b", "c", "d"])],
            [".", "a.", "a and b.", "a, b, c and d."]
        );
    }

    #[test]
    fn each_sentence_keeps_its_wording() {
        let us = said!(Words::Us, "{deep} deep", deep = Part::Small(0.0254));
        let uk = said!(Words::Uk, "{clause}, {deep} here", clause = us, deep = Part::Small(0.0254));
        assert_eq!(uk, "1.0 in deep, 25 mm here");
    }

    #[test]
    fn what_is_not_finite_is_not_determined() {
        let said = said!(Words::Us, "{a}, {b}", a = Part::Small(f64::NAN), b = Part::SlopeRange(0.1, f64::INFINITY));
        assert_eq!(said.to_string(), "not determined, not determined");
        assert!(!serde_json::to_string(&said).unwrap().contains("null"));
    }

    #[test]
    fn it_comes_back_from_json() {
        let said = said!(Words::Us, "{a} {b}", a = Part::Capital(Box::new("é".into())), b = Part::Number(1.5, 1));
        let json = serde_json::to_string(&said).unwrap();
        assert_eq!(serde_json::from_str::<Said>(&json).unwrap(), said);
        assert_eq!(said.to_string(), "É 1.5");
    }
}
