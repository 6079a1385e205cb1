//! The text form of a job: one TOML file, or the same as JSON.
//!
//! Every quantity is text with its unit (`"22 ft"`, `"1/4 in/ft"`, `"0.3 deg"`); a bare number is an error, and so is
//! an unknown key, each with line and column. Keys are the names of [`fallwise::model`] without their unit; the whole
//! form is shown in this crate's README.
//!
//! ```
//! use fallwise_files::{MemoryResolver, job};
//!
//! let loaded = job::read_text(
//!     r#"
//!     [[run]]
//!     log = "log.csv"
//!     tilt_positive = "up"
//!     "#,
//!     "job.toml",
//!     &MemoryResolver([("log.csv".to_owned(), b"cable (m),tilt (deg)\n0,-1.2\n0.5,-1.1\n".to_vec())].into()),
//! )?;
//! assert_eq!(loaded.job.runs[0].counter_m, [0.0, 0.5]);
//! # Ok::<(), fallwise_files::FileError>(())
//! ```

mod convert;
mod fault;
mod form;
mod quantity;

use std::path::Path;

use fallwise::Job;

use crate::{
    error::{FileError, Place},
    log::TextColumn,
    resolver::{FolderResolver, Resolver, read_file},
};

/// A job as read, with the files it names.
#[derive(Debug, Clone, PartialEq)]
pub struct Loaded {
    /// The job.
    pub job: Job,
    /// Text of the user's own rulebook, if the job names a file.
    pub rulebook_text: Option<String>,
    /// The logs, in the order of the runs that have one.
    pub logs: Vec<LoadedLog>,
    /// Odd but usable input, with the file it is in.
    pub warnings: Vec<String>,
}

/// What a log says besides its run.
#[derive(Debug, Clone, PartialEq)]
pub struct LoadedLog {
    /// File name, as in the job.
    pub name: String,
    /// Which of `job.runs` it is, from 0.
    pub run: usize,
    /// What was found rather than given.
    pub found: Vec<String>,
    /// Columns kept as text, one cell a reading.
    pub extra: Vec<TextColumn>,
}

/// Reads a job file (TOML, or JSON where the name ends in `.json`), and the files it names below its folder.
///
/// # Errors
/// A [`FileError`] that names the file at fault, and where in it.
pub fn read(path: &Path) -> Result<Loaded, FileError> {
    let name = path.display().to_string();
    let bytes = read_file(path, &name)?;
    let text = as_text(&bytes, &name)?;
    let resolver = FolderResolver::new(path.parent().unwrap_or(Path::new(".")))?;
    if path.extension().is_some_and(|e| e.eq_ignore_ascii_case("json")) {
        read_json(text, &name, &resolver)
    } else {
        read_text(text, &name, &resolver)
    }
}

/// Reads a job from TOML; `name` is for messages, `resolver` gives the files it names.
///
/// # Errors
/// As [`read`].
pub fn read_text(text: &str, name: &str, resolver: &dyn Resolver) -> Result<Loaded, FileError> {
    let form: form::JobForm = toml::from_str(text).map_err(|e| fault::from_toml(e, text).in_file(name))?;
    convert::into_job(form, name, resolver)
}

/// Reads a job of the same form from JSON.
///
/// # Errors
/// As [`read`].
pub fn read_json(text: &str, name: &str, resolver: &dyn Resolver) -> Result<Loaded, FileError> {
    let form: form::JobForm = serde_json::from_str(text).map_err(|e| fault::from_json(&e, text).in_file(name))?;
    convert::into_job(form, name, resolver)
}

/// Bytes as UTF-8 text, without a byte order mark.
fn as_text<'a>(bytes: &'a [u8], name: &str) -> Result<&'a str, FileError> {
    match core::str::from_utf8(bytes) {
        Ok(text) => Ok(text.strip_prefix('\u{feff}').unwrap_or(text)),
        Err(e) => {
            let line = bytes.get(..e.valid_up_to()).unwrap_or_default().split(|&b| b == b'\n').count();
            Err(FileError::new(Place::Row(line), "the file is not UTF-8 text")
                .in_file(name)
                .expected("the file saved again in UTF-8"))
        }
    }
}
