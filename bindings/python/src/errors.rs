//! What goes wrong, as one of the exceptions of `fallwise._errors`, with its parts as attributes.

use std::io::ErrorKind;

use fallwise_files::{FileError, Place};
use fallwise_report::ReportError;
use pyo3::{prelude::*, types::PyDict};

/// Whatever a call can end with.
#[derive(Debug)]
pub(crate) enum Failure {
    /// An input that the core cannot use.
    Core(fallwise::Error),
    /// A file.
    File(FileError),
    /// A page that could not be made.
    Report(ReportError),
    /// The library broke its word not to panic.
    Panicked,
    /// Already an exception.
    Python(PyErr),
}

impl From<fallwise::Error> for Failure {
    fn from(error: fallwise::Error) -> Self {
        Self::Core(error)
    }
}

impl From<FileError> for Failure {
    fn from(error: FileError) -> Self {
        Self::File(error)
    }
}

impl From<ReportError> for Failure {
    fn from(error: ReportError) -> Self {
        Self::Report(error)
    }
}

impl From<PyErr> for Failure {
    fn from(error: PyErr) -> Self {
        Self::Python(error)
    }
}

impl From<Failure> for PyErr {
    fn from(failure: Failure) -> Self {
        match failure {
            Failure::Python(error) => error,
            failure => Python::attach(|py| raised(py, &failure).unwrap_or_else(|error| error)),
        }
    }
}

/// An error as Python is told it. Absent parts are `None` there.
#[derive(Debug, Default)]
struct Told {
    class: &'static str,
    file: Option<String>,
    line: Option<usize>,
    row: Option<usize>,
    column: Option<Column>,
    field: Option<String>,
    index: Option<usize>,
    value: Option<String>,
    expected: Option<String>,
    nearest: Option<String>,
    station_m: Option<f64>,
}

/// A column of a text, by number, or of a table, by name.
#[derive(Debug, IntoPyObject)]
enum Column {
    Number(usize),
    Name(String),
}

impl Told {
    fn new(class: &'static str) -> Self {
        Self { class, ..Self::default() }
    }

    /// The parts of an error of the core.
    fn core(error: &fallwise::Error) -> Self {
        use fallwise::Error as E;
        let input = Self::new("InputError");
        match error.clone() {
            E::Value { field, index, value, expected } => {
                Self { field: Some(field), index, value: Some(value), expected: Some(expected), ..input }
            }
            E::TooFew { field, found, needed } => {
                Self { field: Some(field), value: Some(found.to_string()), expected: Some(needed.to_string()), ..input }
            }
            E::Length { field, found, expected, .. } => Self {
                field: Some(field),
                value: Some(found.to_string()),
                expected: Some(expected.to_string()),
                ..input
            },
            E::Text { text, expected, .. } => Self { value: Some(text), expected: Some(expected), ..input },
            E::Unknown { what, word, nearest, known } => Self {
                field: Some(what),
                value: Some(word),
                nearest,
                expected: Some(known),
                ..Self::new("UnknownWordError")
            },
            E::Outside { what, station_m, .. } => Self { field: Some(what), station_m: Some(station_m), ..input },
            E::Overlap { what, first_m, expected, .. } => {
                Self { field: Some(what), station_m: Some(first_m), expected: Some(expected), ..input }
            }
            E::BendTooSmall { station_m, .. } => Self { station_m: Some(station_m), ..input },
            E::Contradiction { .. } => Self::new("ContradictionError"),
            E::Tie { tie, expected, .. } => {
                Self { field: Some(tie), expected: Some(expected), ..Self::new("TieError") }
            }
            E::TiesContradict { tie, misclosure, misclosure_sd, .. } => Self {
                field: Some(tie),
                value: Some(misclosure),
                expected: Some(misclosure_sd),
                ..Self::new("ContradictionError")
            },
            E::Reversal { index } => Self { index: Some(index), ..input },
            E::NoReading { from_m, .. } => Self { station_m: Some(from_m), ..input },
            E::Rulebook { line, column, .. } => {
                Self { line, column: column.map(Column::Number), ..Self::new("RulebookError") }
            }
            _ => input,
        }
    }

    /// The parts of an error of a file: where it is, over what the core said of it.
    fn file(error: &FileError) -> Self {
        let of = error.core.as_ref().map_or_else(|| Self::new(class_of_file(error)), Self::core);
        let (line, row, column) = match error.place.clone() {
            Place::File => (of.line, None, of.column),
            Place::Line { line, column } => (Some(line), None, Some(Column::Number(column))),
            Place::Row(row) => (None, Some(row), None),
            Place::Cell { row, column } => (None, Some(row), Some(Column::Name(column))),
        };
        Self {
            file: Some(error.file.clone()).filter(|name| !name.is_empty()),
            line,
            row,
            column,
            field: error.field.clone().or(of.field),
            value: error.value.clone().or(of.value),
            expected: error.expected.clone().or(of.expected),
            nearest: error.nearest.clone().or(of.nearest),
            ..of
        }
    }

    fn raise(self, py: Python<'_>, message: &str) -> PyResult<PyErr> {
        let parts = PyDict::new(py);
        parts.set_item("file", self.file)?;
        parts.set_item("line", self.line)?;
        parts.set_item("row", self.row)?;
        parts.set_item("column", self.column)?;
        parts.set_item("field", self.field)?;
        parts.set_item("index", self.index)?;
        parts.set_item("value", self.value)?;
        parts.set_item("expected", self.expected)?;
        parts.set_item("nearest", self.nearest)?;
        parts.set_item("station_m", self.station_m)?;
        let class = py.import("fallwise._errors")?.getattr(self.class)?;
        Ok(PyErr::from_value(class.call((message,), Some(&parts))?))
    }
}

fn class_of_file(error: &FileError) -> &'static str {
    match error.io {
        Some(ErrorKind::AlreadyExists) => "FileThereError",
        Some(ErrorKind::NotFound) => "FileMissingError",
        Some(_) => "FileError",
        None => "FormatError",
    }
}

fn raised(py: Python<'_>, failure: &Failure) -> PyResult<PyErr> {
    match failure {
        Failure::Core(error) => Told::core(error).raise(py, &error.to_string()),
        Failure::File(error) => Told::file(error).raise(py, &error.to_string()),
        Failure::Report(error) => Told::new("Error").raise(py, &error.to_string()),
        Failure::Panicked => Told::new("InternalError").raise(py, "a fault in fallwise itself; please report it"),
        Failure::Python(error) => Ok(error.clone_ref(py)),
    }
}
