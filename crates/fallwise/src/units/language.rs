//! Another language as data: a table from the English text of the source to the text of that language.
//!
//! English is what the source says, so that it can be read there. A language is a TOML file:
//!
//! ```toml
//! code = "de"
//! name = "Deutsch"
//! decimal = "comma"
//!
//! [text]
//! "{low} to {high}" = "{low} bis {high}"
//! "not determined" = "nicht bestimmt"
//! ```
//!
//! A name in braces stands for a figure or a text put in; a translation has the same names, in the order that its grammar wants.
//! What the table does not have stays English. Every English text is in `docs/texts.toml` of this crate, which is itself such
//! a file: a translator copies it and changes the right-hand sides.

use alloc::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use crate::error::Error;
use crate::prelude::*;

/// What stands between whole numbers and decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum Decimal {
    /// 2.08
    #[default]
    Point,
    /// 2,08
    Comma,
}

/// The texts of a language.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Language {
    /// Its code in pages (BCP 47), such as "de" or "pt-BR".
    pub code: String,
    /// Its own name for itself.
    pub name: String,
    /// Its decimal mark.
    #[serde(default)]
    pub decimal: Decimal,
    /// From the English text to that of this language.
    #[serde(default)]
    text: BTreeMap<String, String>,
}

/// What the source says.
pub(super) static ENGLISH: Language =
    Language { code: String::new(), name: String::new(), decimal: Decimal::Point, text: BTreeMap::new() };

impl Language {
    /// Reads a language.
    ///
    /// # Errors
    /// What is no TOML of this form; a code that no page may carry; a translation that leaves out or adds a name in braces, by its
    /// English text.
    pub fn parse(toml: &str) -> Result<Self, Error> {
        let language: Self = toml::from_str(toml).map_err(|e| Error::Text {
            text: e.span().and_then(|span| toml.get(span)).unwrap_or_default().chars().take(60).collect(),
            reason: e.message().to_owned(),
            expected: "a language: code, name, decimal and a table [text]".to_owned(),
        })?;
        let plain = |c: char| c.is_ascii_alphanumeric() || c == '-';
        if language.code.is_empty() || language.code.len() > 35 || !language.code.chars().all(plain) {
            return Err(Error::Value {
                field: "code".to_owned(),
                index: None,
                value: format!("{:?}", language.code),
                expected: "a language code such as \"de\" or \"pt-BR\"".to_owned(),
            });
        }
        for (english, own) in &language.text {
            let (asked, has): (BTreeSet<&str>, BTreeSet<&str>) = (names(english).collect(), names(own).collect());
            if asked != has || own.trim().is_empty() != english.trim().is_empty() {
                let list: Vec<String> = asked.iter().map(|name| format!("{{{name}}}")).collect();
                return Err(Error::Value {
                    field: format!("text.{english:?}"),
                    index: None,
                    value: format!("{own:?}"),
                    expected: if list.is_empty() {
                        "a text without names in braces".to_owned()
                    } else {
                        format!("a text with {}, each at least once, and no other name", list.join(", "))
                    },
                });
            }
        }
        Ok(language)
    }

    /// Whether it is what the source says: nothing is translated.
    pub fn is_english(&self) -> bool {
        self.text.is_empty()
    }

    /// The text of this language for an English one; the English one where there is none.
    pub fn text<'a>(&'a self, english: &'a str) -> &'a str {
        self.text.get(english).map_or(english, String::as_str)
    }

    /// Whether it has a text of its own.
    pub fn has(&self, english: &str) -> bool {
        self.text.contains_key(english)
    }

    /// The English texts that it translates, in order.
    pub fn translated(&self) -> impl Iterator<Item = &str> {
        self.text.keys().map(String::as_str)
    }
}

/// A piece of a template.
pub(super) enum Piece<'a> {
    /// To be printed as it stands.
    Plain(&'a str),
    /// The name of what is put in.
    Name(&'a str),
}

/// The pieces of a template. What is no name (letters, digits, underscores) in a pair of braces is plain.
pub(super) fn pieces(template: &str) -> impl Iterator<Item = Piece<'_>> {
    let mut rest = template;
    core::iter::from_fn(move || {
        if rest.is_empty() {
            return None;
        }
        let named = |text: &'_ str| {
            let end = text.find('}')?;
            let name = text.get(1..end)?;
            let is_name = !name.is_empty() && name.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_');
            is_name.then_some(end)
        };
        if rest.starts_with('{')
            && let Some(end) = named(rest)
        {
            let (name, after) = (rest.get(1..end)?, rest.get(end + 1..)?);
            rest = after;
            return Some(Piece::Name(name));
        }
        let end = rest.get(1..).and_then(|r| r.find('{')).map_or(rest.len(), |at| at + 1);
        // A first letter of several bytes has no boundary at 1, and is no brace.
        let end = if rest.is_char_boundary(1) { end } else { rest.find('{').unwrap_or(rest.len()) };
        let (plain, after) = rest.split_at(end);
        rest = after;
        Some(Piece::Plain(plain))
    })
}

/// The names in a template.
pub(super) fn names(template: &str) -> impl Iterator<Item = &str> {
    pieces(template).filter_map(|piece| match piece {
        Piece::Name(name) => Some(name),
        Piece::Plain(_) => None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const GERMAN: &str = "code = \"de\"\nname = \"Deutsch\"\ndecimal = \"comma\"\n[text]\n";

    #[test]
    fn a_language_is_a_table() {
        let german = Language::parse(&format!("{GERMAN}\"{{low}} to {{high}}\" = \"{{low}} bis {{high}}\"")).unwrap();
        assert_eq!(german.text("{low} to {high}"), "{low} bis {high}");
        assert_eq!(german.text("level"), "level");
        assert!(german.decimal == Decimal::Comma && !german.is_english() && ENGLISH.is_english());
    }

    #[test]
    fn a_translation_keeps_every_figure() {
        for (english, own) in [("{a} to {b}", "bis {b}"), ("level", "{x}"), ("{a}", "{a} {b}"), ("level", " ")] {
            let fault = Language::parse(&format!("{GERMAN}\"{english}\" = \"{own}\"")).unwrap_err().to_string();
            assert!(fault.contains(english) && fault.contains("expected a text with"), "{fault}");
        }
        assert!(Language::parse("code = \"d\\\"e\"\nname = \"x\"").is_err());
        assert!(Language::parse("code = \"de\"\nnam = \"x\"").unwrap_err().to_string().contains("nam"));
    }

    #[test]
    fn names_stand_in_braces() {
        assert_eq!(names("a {b_1} é{c} {} {not this} {").collect::<Vec<_>>(), ["b_1", "c"]);
        let plain: String = pieces("é {x}{ }{y").map(|p| if let Piece::Plain(t) = p { t } else { "|" }).collect();
        assert_eq!(plain, "é |{ }{y");
    }
}
