//! What is wrong with a file: which file, where in it, what stands there, what was expected.

use core::fmt;

/// A file that cannot be used. Its parts are those of [`Details`], which it dereferences to.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{0}")]
pub struct FileError(Box<Details>);

/// The parts of a [`FileError`].
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Details {
    /// The file, as it was asked for; empty where the bytes had no name.
    pub file: String,
    /// Where in the file.
    pub place: Place,
    /// The key or field at fault, where one is.
    pub field: Option<String>,
    /// What stands there.
    pub value: Option<String>,
    /// What is wrong, in words.
    pub problem: String,
    /// What would have been accepted.
    pub expected: Option<String>,
    /// The nearest known word, where a word is not known and one is near.
    pub nearest: Option<String>,
    /// The error of the core, where that is what went wrong.
    pub core: Option<fallwise::Error>,
    /// What the operating system said, where it is what went wrong; `AlreadyExists` also where nothing is to be written over.
    pub io: Option<std::io::ErrorKind>,
    /// Whether `value` is what was typed for a number that the core's error gives in SI units.
    typed: bool,
}

/// A place in a file. Lines, rows and columns count from 1; a row is a line of the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Place {
    /// The file as a whole.
    File,
    /// A line and column of a text.
    Line {
        /// Line.
        line: usize,
        /// Column, in characters.
        column: usize,
    },
    /// A row of a table.
    Row(usize),
    /// A cell of a table.
    Cell {
        /// Row.
        row: usize,
        /// The column's name in the header.
        column: String,
    },
}

impl FileError {
    /// Something wrong at a place; the other parts are set with the methods below.
    pub fn new(place: Place, problem: impl Into<String>) -> Self {
        Self(Box::new(Details {
            file: String::new(),
            place,
            field: None,
            value: None,
            problem: problem.into(),
            expected: None,
            nearest: None,
            core: None,
            io: None,
            typed: false,
        }))
    }

    /// An error of the core, with its place.
    pub fn from_core(place: Place, error: fallwise::Error) -> Self {
        let mut new = Self::new(place, plain(&error.to_string()));
        if let fallwise::Error::Unknown { word, nearest, .. } = &error {
            new.0.value = Some(word.clone());
            new.0.nearest.clone_from(nearest);
        }
        new.0.core = Some(error);
        new
    }

    /// Puts the error of the core beside the words.
    #[must_use]
    pub(crate) fn with_core(mut self, error: fallwise::Error) -> Self {
        self.0.core = Some(error);
        self
    }

    /// Names the nearest known word, already found.
    #[must_use]
    pub(crate) fn nearest_is(mut self, word: impl Into<String>) -> Self {
        self.0.nearest = Some(word.into());
        self
    }

    /// Names what was typed, which the error of the core says in SI units only.
    #[must_use]
    pub(crate) fn typed(mut self, value: impl Into<String>) -> Self {
        self.0.typed = true;
        self.value(value)
    }

    /// Puts it at another place.
    #[must_use]
    pub(crate) fn at_place(mut self, place: Place) -> Self {
        self.0.place = place;
        self
    }

    /// A failure of the operating system.
    pub(crate) fn from_io(file: impl Into<String>, doing: &str, error: &std::io::Error) -> Self {
        Self::new(Place::File, format!("cannot {doing}: {error}")).io(error.kind()).in_file(file)
    }

    /// Names the sort of failure of the operating system.
    #[must_use]
    pub(crate) fn io(mut self, kind: std::io::ErrorKind) -> Self {
        self.0.io = Some(kind);
        self
    }

    /// Names the file.
    #[must_use]
    pub fn in_file(mut self, file: impl Into<String>) -> Self {
        self.0.file = file.into();
        self
    }

    /// Names the key or field.
    #[must_use]
    pub fn field(mut self, field: impl Into<String>) -> Self {
        self.0.field = Some(field.into());
        self
    }

    /// Names what stands there.
    #[must_use]
    pub fn value(mut self, value: impl Into<String>) -> Self {
        self.0.value = Some(value.into());
        self
    }

    /// Names what would have been accepted.
    #[must_use]
    pub fn expected(mut self, expected: impl Into<String>) -> Self {
        self.0.expected = Some(expected.into());
        self
    }

    /// Names the nearest of the known words, if one is near.
    #[must_use]
    pub fn nearest<'a>(mut self, word: &str, known: impl IntoIterator<Item = &'a str>) -> Self {
        self.0.nearest = fallwise::error::nearest(word, known).map(str::to_owned);
        self
    }
}

impl core::ops::Deref for FileError {
    type Target = Details;

    fn deref(&self) -> &Details {
        &self.0
    }
}

impl fmt::Display for Details {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let file = if self.file.is_empty() { "input" } else { &self.file };
        write!(f, "{file}{}: ", self.place)?;
        if let Some(field) = &self.field {
            f.write_str(field)?;
            if let Some(value) = self.value.as_ref().filter(|_| self.typed) {
                write!(f, " = \"{}\"", shown(value))?;
            }
            f.write_str(": ")?;
        }
        f.write_str(&self.problem)?;
        // An error of the core says these in its own sentence.
        if self.core.is_some() {
            return Ok(());
        }
        if let Some(nearest) = self.nearest.as_ref().filter(|_| !self.problem.contains("(did you mean \"")) {
            write!(f, " (did you mean \"{}\"?)", shown(nearest))?;
        }
        if let Some(expected) = &self.expected {
            write!(f, "; expected {expected}")?;
        }
        Ok(())
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::File => Ok(()),
            Self::Line { line, column } => write!(f, ", line {line}, column {column}"),
            Self::Row(row) => write!(f, ", row {row}"),
            Self::Cell { row, column } => write!(f, ", row {row}, column \"{column}\""),
        }
    }
}

/// `text` cut to what fits in a message, on one line.
pub(crate) fn shown(text: &str) -> String {
    const LONGEST: usize = 60;
    let clean: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    match clean.char_indices().nth(LONGEST) {
        Some((at, _)) => format!("{}…", clean.get(..at).unwrap_or_default()),
        None => clean,
    }
}

/// A reader's message, which may hold the whole of a value, cut to what a screen should be sent.
pub(crate) fn plain(message: &str) -> String {
    const LONGEST: usize = 500;
    let message = message.trim_end();
    let mut said: String =
        message.chars().take(LONGEST).map(|c| if c.is_control() && c != '\n' { ' ' } else { c }).collect();
    if message.chars().nth(LONGEST).is_some() {
        said.push('…');
    }
    said
}
