//! What went wrong, in a struct of the caller's.

use core::{ffi::c_char, ptr};

use crate::status::fw_status;

/// What went wrong, in a struct of the caller's. Every call takes one last, or NULL where the status is enough.
///
/// Set `struct_size` to `sizeof(fw_error)` (or call `fw_error_init`) before it is first handed over; the library writes
/// no more bytes than that, so that the struct may grow. It is written where a call fails, and left alone where it does
/// not. One error belongs to one thread.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct fw_error {
    /// `sizeof(fw_error)`, set by the caller.
    pub struct_size: usize,
    /// What the call returned.
    pub status: fw_status,
    /// Row or line of the file or text, from 1; or index of an array, from 0, where `file` is empty. -1: none.
    pub row: i64,
    /// Column of the text, from 1. -1: none.
    pub column: i64,
    /// Station, m. NaN: none.
    pub station_m: f64,
    /// The number at fault. NaN: none, or no number.
    pub value: f64,
    /// The field, key, argument or column at fault; UTF-8, cut at the border of a character, always ended by NUL;
    /// empty: none.
    pub field: [c_char; 128],
    /// The file or text at fault; as `field`.
    pub file: [c_char; 256],
    /// What is wrong and what was expected, in English; as `field`.
    pub message: [c_char; 1024],
}

/// Sets `struct_size`, which is `sizeof(fw_error)`, and empties the rest. NULL is allowed.
///
/// `error` belongs to the caller and needs no freeing.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_error_init(error: *mut fw_error, struct_size: usize) {
    if !error.is_null() && error.is_aligned() && struct_size >= size_of::<usize>() {
        // SAFETY: not NULL, aligned, and the caller's for writing by the contract of the header.
        unsafe { ptr::addr_of_mut!((*error).struct_size).write(struct_size) };
        // SAFETY: of that size by the same contract.
        unsafe { Failure(Box::default()).tell(error) };
    }
}

/// Size of the first form of the struct, which stays what it was when it grows.
const FIRST: usize = size_of::<fw_error>();

/// A failure on its way to the border.
#[derive(Debug)]
pub(crate) struct Failure(Box<Told>);

/// Its parts.
#[derive(Debug)]
struct Told {
    status: fw_status,
    row: Option<usize>,
    column: Option<usize>,
    station_m: Option<f64>,
    value: Option<f64>,
    field: String,
    file: String,
    message: String,
}

impl Default for Told {
    fn default() -> Self {
        Self {
            status: fw_status::FW_OK,
            row: None,
            column: None,
            station_m: None,
            value: None,
            field: String::new(),
            file: String::new(),
            message: String::new(),
        }
    }
}

impl Told {
    fn out(&self) -> fw_error {
        let whole = |number: Option<usize>| number.map_or(-1, |n| i64::try_from(n).unwrap_or(i64::MAX));
        fw_error {
            struct_size: size_of::<fw_error>(),
            status: self.status,
            row: whole(self.row),
            column: whole(self.column),
            station_m: self.station_m.unwrap_or(f64::NAN),
            value: self.value.unwrap_or(f64::NAN),
            field: cut(&self.field),
            file: cut(&self.file),
            message: cut(&self.message),
        }
    }
}

/// A text cut at the border of a character so that a NUL fits behind it. A NUL in it would end it early, and becomes a
/// space.
fn cut<const N: usize>(text: &str) -> [c_char; N] {
    let mut out = [0; N];
    let end = (0..N).rev().find(|at| text.is_char_boundary(*at)).unwrap_or(0).min(text.len());
    for (place, byte) in out.iter_mut().zip(text.as_bytes().iter().take(end)) {
        *place = c_char::from_ne_bytes([if *byte == 0 { b' ' } else { *byte }]);
    }
    out
}

impl Failure {
    /// A failure of an argument or field.
    pub(crate) fn new(status: fw_status, field: &str, message: impl Into<String>) -> Self {
        Self(Box::new(Told { status, field: field.to_owned(), message: message.into(), ..Told::default() }))
    }

    pub(crate) fn status(&self) -> fw_status {
        self.0.status
    }

    /// The same with another status.
    #[cfg(feature = "files")]
    pub(crate) fn with_status(mut self, status: fw_status) -> Self {
        self.0.status = status;
        self
    }

    /// Names the key that the field lies in.
    pub(crate) fn within(mut self, key: &str) -> Self {
        let dot = if self.0.field.is_empty() || self.0.field.starts_with('[') { "" } else { "." };
        self.0.field = format!("{key}{dot}{}", self.0.field);
        self
    }

    /// Names a place in a text.
    pub(crate) fn at(mut self, row: usize, column: usize) -> Self {
        (self.0.row, self.0.column) = (Some(row), Some(column));
        self
    }

    /// Names the row of an array.
    pub(crate) fn row(mut self, row: usize) -> Self {
        self.0.row = Some(row);
        self
    }

    /// Writes it to the caller's struct, as far as that reaches.
    ///
    /// # Safety
    /// `error` is NULL, or points to a struct of the caller's of `struct_size` bytes.
    pub(crate) unsafe fn tell(&self, error: *mut fw_error) {
        if error.is_null() || !error.is_aligned() {
            return;
        }
        // SAFETY: by the contract of the header there are `struct_size` bytes, the first of which are that field.
        let given = unsafe { ptr::addr_of!((*error).struct_size).read() };
        let mut told = self.0.out();
        told.struct_size = given;
        // Less than the first form of the struct: it was not set.
        if given < FIRST {
            return;
        }
        let bytes = given.min(size_of::<fw_error>());
        // SAFETY: both are at least so long, plain bytes, and apart: one is on this stack.
        unsafe { ptr::copy_nonoverlapping(ptr::from_ref(&told).cast::<u8>(), error.cast::<u8>(), bytes) };
    }
}

impl From<fallwise::Error> for Failure {
    fn from(error: fallwise::Error) -> Self {
        use fallwise::Error as E;
        let message = error.to_string();
        let of = |status| Told { status, message, ..Told::default() };
        Self(Box::new(match error {
            E::Value { field, index, value, .. } => {
                Told { field, row: index, value: value.parse().ok(), ..of(fw_status::FW_INPUT) }
            }
            E::TooFew { field, .. } | E::Length { field, .. } => Told { field, ..of(fw_status::FW_INPUT) },
            E::Unknown { what, .. } => Told { field: what, ..of(fw_status::FW_UNKNOWN_WORD) },
            E::Outside { what, station_m, .. } => {
                Told { field: what, station_m: Some(station_m), ..of(fw_status::FW_NOT_SURVEYED) }
            }
            E::Overlap { what, first_m, .. } => {
                Told { field: what, station_m: Some(first_m), ..of(fw_status::FW_INPUT) }
            }
            E::BendTooSmall { station_m, .. } => Told { station_m: Some(station_m), ..of(fw_status::FW_INPUT) },
            E::Contradiction { .. } => of(fw_status::FW_CONTRADICTION),
            E::Tie { tie, .. } => Told { field: tie, ..of(fw_status::FW_TIE) },
            E::TiesContradict { tie, .. } => Told { field: tie, ..of(fw_status::FW_CONTRADICTION) },
            E::Reversal { index } => Told { row: Some(index), ..of(fw_status::FW_INPUT) },
            E::NoReading { from_m, .. } => Told { station_m: Some(from_m), ..of(fw_status::FW_INPUT) },
            E::Cancelled => of(fw_status::FW_CANCELLED),
            E::Rulebook { line, column, .. } => Told { row: line, column, ..of(fw_status::FW_RULEBOOK) },
            _ => of(fw_status::FW_INPUT),
        }))
    }
}

#[cfg(feature = "files")]
impl From<fallwise_files::FileError> for Failure {
    fn from(error: fallwise_files::FileError) -> Self {
        use fallwise_files::Place;
        use std::io::ErrorKind;
        let of = match &error.core {
            Some(core) => *Self::from(core.clone()).0,
            None => Told {
                status: match error.io {
                    Some(ErrorKind::NotFound) => fw_status::FW_FILE_MISSING,
                    Some(_) => fw_status::FW_FILE,
                    None => fw_status::FW_FORMAT,
                },
                ..Told::default()
            },
        };
        let (row, column, field) = match &error.place {
            Place::File => (of.row, of.column, None),
            Place::Line { line, column } => (Some(*line), Some(*column), None),
            Place::Row(row) => (Some(*row), None, None),
            Place::Cell { row, column } => (Some(*row), None, Some(column.clone())),
        };
        Self(Box::new(Told {
            row,
            column,
            value: error.value.as_ref().and_then(|value| value.parse().ok()).or(of.value),
            field: field.or_else(|| error.field.clone()).unwrap_or(of.field),
            file: error.file.clone(),
            message: error.to_string(),
            ..of
        }))
    }
}

#[cfg(feature = "report")]
impl From<fallwise_report::ReportError> for Failure {
    fn from(error: fallwise_report::ReportError) -> Self {
        Self::new(fw_status::FW_REPORT, "", error.to_string())
    }
}

impl From<serde_json::Error> for Failure {
    fn from(error: serde_json::Error) -> Self {
        Self::new(fw_status::FW_JSON, "", error.to_string()).at(error.line(), error.column())
    }
}

#[cfg(feature = "files")]
impl From<serde_path_to_error::Error<serde_json::Error>> for Failure {
    fn from(error: serde_path_to_error::Error<serde_json::Error>) -> Self {
        let path = error.path().to_string();
        let mut failure = Self::from(error.into_inner());
        if path != "." {
            failure.0.field = path;
        }
        failure
    }
}
