//! Rulebooks.

use std::path::PathBuf;

use fallwise::{Rulebook as Book, rules};
use pyo3::{
    prelude::*,
    types::{PyDict, PyTuple},
};

use crate::{
    answers::{from_json, to_json},
    convert::{self, to_python},
    errors::Failure,
};

/// A named set of requirements. `len` is the number of its rows.
///
/// Each row says of which document, edition and clause it is, and whether its value was seen in the document
/// itself.
#[pyclass(frozen, module = "fallwise", eq)]
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Rulebook(pub(crate) Book);

impl Rulebook {
    /// A rulebook, or the name of a shipped one.
    pub(crate) fn named(asked: &Bound<'_, PyAny>) -> Result<Book, Failure> {
        if let Ok(book) = asked.cast::<Self>() {
            return Ok(book.get().0.clone());
        }
        if let Ok(name) = asked.extract::<String>() {
            return Ok(Book::shipped(&name)?);
        }
        let given = convert::kind(asked);
        Err(fallwise::Error::value("rulebook", given, "a Rulebook, or the name of a shipped one").into())
    }
}

#[pymethods]
impl Rulebook {
    /// A rulebook that comes with the library.
    ///
    /// Parameters
    /// ----------
    /// name : str
    ///     One of those that `rulebooks` lists.
    ///
    /// Returns
    /// -------
    /// Rulebook
    ///     The book.
    ///
    /// Raises
    /// ------
    /// UnknownWordError
    ///     None has the name.
    #[staticmethod]
    fn shipped(name: &str) -> Result<Self, Failure> {
        Ok(Self(Book::shipped(name)?))
    }

    /// A rulebook from the text of its TOML file.
    ///
    /// Parameters
    /// ----------
    /// text : str
    ///     The text.
    ///
    /// Returns
    /// -------
    /// Rulebook
    ///     The book.
    ///
    /// Raises
    /// ------
    /// RulebookError
    ///     What is wrong with it, with its row.
    #[staticmethod]
    fn parse(text: &str) -> Result<Self, Failure> {
        Ok(Self(Book::parse(text)?))
    }

    /// A rulebook from its TOML file.
    ///
    /// Parameters
    /// ----------
    /// path : path-like
    ///     The file.
    ///
    /// Returns
    /// -------
    /// Rulebook
    ///     The book.
    ///
    /// Raises
    /// ------
    /// RulebookError
    ///     What is wrong with it, with its line or row.
    /// FileMissingError
    ///     There is no such file.
    #[staticmethod]
    fn read(path: PathBuf) -> Result<Self, Failure> {
        Ok(Self(fallwise_files::job::read_rulebook(&path)?))
    }

    /// Short name.
    #[getter]
    fn name(&self) -> &str {
        &self.0.name
    }

    /// Title for the reader.
    #[getter]
    fn title(&self) -> &str {
        &self.0.title
    }

    /// Version of this transcription, not of the document.
    #[getter]
    fn version(&self) -> &str {
        &self.0.version
    }

    /// Where the documents hold.
    #[getter]
    fn jurisdiction(&self) -> &str {
        &self.0.jurisdiction
    }

    /// The rows, as dicts.
    #[getter]
    fn rows<'py>(&self, py: Python<'py>) -> Result<Bound<'py, PyAny>, Failure> {
        to_python(py, &self.0.rows)
    }

    /// The book for sharing, without names and texts of one's own.
    fn redacted(&self) -> Self {
        Self(self.0.redacted())
    }

    fn __len__(&self) -> usize {
        self.0.rows.len()
    }

    fn __repr__(&self) -> String {
        format!("<fallwise.Rulebook \"{}\": {}, {} rows>", self.0.name, self.0.title, self.0.rows.len())
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> Result<(Bound<'py, PyAny>, Bound<'py, PyTuple>), Failure> {
        let state = PyTuple::new(py, [to_json(&self.0)?])?;
        Ok((py.import("fallwise._core")?.getattr("_rulebook")?, state))
    }
}

/// A rulebook as it was pickled.
#[pyfunction]
#[pyo3(name = "_rulebook")]
pub(crate) fn unpickled(json: &str) -> Result<Rulebook, Failure> {
    Ok(Rulebook(from_json(json)?))
}

/// Titles of the shipped rulebooks by their names.
///
/// Returns
/// -------
/// dict of str to str
///     Names as `Rulebook.shipped` takes them, with titles.
#[pyfunction]
pub(crate) fn rulebooks(py: Python<'_>) -> PyResult<Bound<'_, PyDict>> {
    let dict = PyDict::new(py);
    for book in rules::rulebooks() {
        dict.set_item(book.name, book.title)?;
    }
    Ok(dict)
}
