//! What is wrong with a job, before it is known in which line: in the words of [`FileError`](crate::FileError).

use core::fmt::Display;

use serde::de::{Error, Expected, Unexpected};

use crate::error::{plain, shown};

/// A fault at a path of keys, such as `reach[1].pipe`. Its parts are those of [`Parts`], which it dereferences to.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{}", .0.problem)]
pub(super) struct Fault(pub(super) Box<Parts>);

#[derive(Debug, Clone, PartialEq)]
pub(super) struct Parts {
    /// Byte of the text, where known; else it is where the path leads.
    pub(super) at: Option<usize>,
    pub(super) path: String,
    pub(super) problem: String,
    pub(super) value: Option<String>,
    pub(super) expected: Option<String>,
    pub(super) nearest: Option<String>,
}

impl Fault {
    pub(super) fn new(problem: impl Into<String>) -> Self {
        Self(Box::new(Parts {
            at: None,
            path: String::new(),
            problem: problem.into(),
            value: None,
            expected: None,
            nearest: None,
        }))
    }

    pub(super) fn at(mut self, byte: usize) -> Self {
        self.at = Some(byte);
        self
    }

    pub(super) fn path(mut self, path: impl Into<String>) -> Self {
        self.path = path.into();
        self
    }

    pub(super) fn value(mut self, value: impl Into<String>) -> Self {
        self.value = Some(value.into());
        self
    }

    pub(super) fn expected(mut self, expected: impl Into<String>) -> Self {
        self.expected = Some(expected.into());
        self
    }

    /// Says that the fault lies in what `part` (a key, or an index in brackets) holds.
    pub(super) fn within(mut self, part: &str) -> Self {
        let dot = if self.path.is_empty() || self.path.starts_with('[') { "" } else { "." };
        self.path = format!("{part}{dot}{}", self.path);
        self
    }

    /// A word that is none of those known.
    fn not_known(problem: String, word: &str, known: &'static [&'static str]) -> Self {
        let mut fault = Self::new(problem).value(word).expected(one_of(known));
        fault.nearest = fallwise::error::nearest(word, known.iter().copied()).map(str::to_owned);
        fault
    }
}

impl core::ops::Deref for Fault {
    type Target = Parts;

    fn deref(&self) -> &Parts {
        &self.0
    }
}

impl core::ops::DerefMut for Fault {
    fn deref_mut(&mut self) -> &mut Parts {
        &mut self.0
    }
}

impl Error for Fault {
    fn custom<T: Display>(message: T) -> Self {
        let mut fault = Self::new(plain(&message.to_string()));
        // An error of the core has the nearest word in its sentence.
        fault.nearest = fault
            .problem
            .split_once("did you mean \"")
            .and_then(|(_, rest)| rest.split_once("\"?)").map(|(near, _)| near.to_owned()));
        fault
    }

    fn invalid_type(found: Unexpected<'_>, expected: &dyn Expected) -> Self {
        let found = match found {
            Unexpected::Bool(yes) => yes.to_string(),
            Unexpected::Unsigned(number) => number.to_string(),
            Unexpected::Signed(number) => number.to_string(),
            Unexpected::Float(number) => number.to_string(),
            Unexpected::Str(text) => format!("\"{}\"", shown(text)),
            Unexpected::Unit => "null".to_owned(),
            Unexpected::Seq => "a list".to_owned(),
            Unexpected::Map => "a table".to_owned(),
            other => other.to_string(),
        };
        Self::new(format!("{found} cannot stand here")).expected(in_words(&expected.to_string()))
    }

    fn invalid_value(found: Unexpected<'_>, expected: &dyn Expected) -> Self {
        Self::invalid_type(found, expected)
    }

    fn unknown_field(key: &str, known: &'static [&'static str]) -> Self {
        Self::not_known(format!("key \"{}\" is not known", shown(key)), key, known)
    }

    fn unknown_variant(word: &str, known: &'static [&'static str]) -> Self {
        Self::not_known(format!("\"{}\" is not known", shown(word)), word, known)
    }

    fn missing_field(key: &'static str) -> Self {
        missing(&[key])
    }
}

/// Keys that a table must have and has not, all at once.
pub(super) fn missing(keys: &[&str]) -> Fault {
    let quoted: Vec<String> = keys.iter().map(|key| format!("\"{key}\"")).collect();
    match quoted.as_slice() {
        [only] => Fault::new(format!("key {only} is missing")),
        _ => Fault::new(format!("keys {} are missing", quoted.join(", "))),
    }
}

/// What serde calls its kinds, for whoever writes a job.
fn in_words(expected: &str) -> String {
    match expected {
        "a string" => "text in quotes",
        "a boolean" => "true or false",
        "a sequence" => "a list",
        "a map" => "a table",
        "u32" | "u64" | "usize" => "a whole number, 0 or more",
        other => other,
    }
    .to_owned()
}

fn one_of(known: &[&str]) -> String {
    match known {
        [only] => (*only).to_owned(),
        _ => format!("one of {}", known.join(", ")),
    }
}
