//! The text form of a job: one TOML file, or the same as JSON.
//!
//! Every quantity is text with its unit (`"22 ft"`, `"1/4 in/ft"`, `"0.3 deg"`); a bare number is an error, and so is
//! an unknown key, each with line and column. The two forms are read through one tree that knows where its parts stand, so
//! that they have the same faults at the same keys. Keys are the names of [`fallwise::model`] without their unit; the whole
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
mod kind;
mod odd;
mod quantity;
mod read;
mod relay;
#[cfg(feature = "schema")]
mod schema;
mod source;
mod tie;
mod tree;
mod write;

use std::path::Path;

use fallwise::{Answers, Job, Lateral, Rulebook, answers::InputRow, units::Language, watch::Watch};
use serde::Deserialize;

#[cfg(feature = "schema")]
pub use schema::{comparison_schema, job_schema, result_schema};
pub use write::{Written, to_json, to_toml};

use source::{Source, Syntax};

use crate::{
    digest::input,
    error::{FileError, Place},
    log::TextColumn,
    resolver::{FolderResolver, Resolver, read_file},
};

/// Version of the form of jobs that this library reads and writes.
pub const VERSION: u64 = 1;

/// A job as read, with the files it names.
#[derive(Debug, Clone, PartialEq)]
pub struct Loaded {
    /// The job.
    pub job: Job,
    /// The rulebook that the job asks for, shipped or its own.
    pub rulebook: Option<Rulebook>,
    /// Text of the user's own rulebook, if the job names a file.
    pub rulebook_text: Option<String>,
    /// The language that the job names a file of, for pages and pictures.
    pub language: Option<Language>,
    /// The logs, in the order of the runs that have one.
    pub logs: Vec<LoadedLog>,
    /// The files that were read, each with what proves which one it was: the job, its logs, its own rulebook.
    pub inputs: Vec<InputRow>,
    /// Odd but usable input, with the file it is in.
    pub warnings: Vec<String>,
    /// The text, for the places of faults that only solving shows.
    source: Source,
}

impl Loaded {
    /// Solves the job. What the core refuses is told with its line in the job (or its row in the log) and the quantity as
    /// it was typed.
    ///
    /// # Errors
    /// A [`FileError`] with the error of the core in it.
    ///
    /// # Example
    /// ```
    /// use fallwise_files::{MemoryResolver, job};
    ///
    /// let text = "[[as_built]]\nstation = \"0 m\"\ninvert = \"1 m\"\n[[as_built]]\nstation = \"9 m\"\ninvert = \"0.8 m\"\n\
    ///     [[step]]\nstation = \"40 ft\"\nrise = \"1 in\"\n";
    /// let loaded = job::read_text(text, "job.toml", &MemoryResolver::default())?;
    /// let said = loaded.solve().unwrap_err().to_string();
    /// assert!(said.starts_with("job.toml, line 8, column 11: step[0].station = \"40 ft\": step at 12.192 m"), "{said}");
    /// # Ok::<(), fallwise_files::FileError>(())
    /// ```
    pub fn solve(&self) -> Result<Lateral, FileError> {
        Lateral::solve(self.job.clone()).map_err(|error| self.source.solving(error, self))
    }

    /// The same, with a watch that is asked between the stages.
    ///
    /// # Errors
    /// As [`Loaded::solve`]; with [`Cancelled`](fallwise::Error::Cancelled) of the core in it where the watch says stop.
    pub fn solve_watched(&self, watch: &Watch) -> Result<Lateral, FileError> {
        Lateral::solve_watched(self.job.clone(), watch).map_err(|error| self.source.solving(error, self))
    }
    /// Puts what reading found beside what solving found: the files that went in, and what was odd about them, before the rest.
    ///
    /// # Example
    /// ```
    /// use fallwise_files::{MemoryResolver, job};
    ///
    /// let text = "[[reading]]\nstation = \"0 m\"\nslope = \"2 %\"\n[[reading]]\nstation = \"2 m\"\nslope = \"1 %\"\n";
    /// let loaded = job::read_text(text, "job.toml", &MemoryResolver::default())?;
    /// let mut answers = loaded.solve()?.answers(None)?;
    /// loaded.tell(&mut answers);
    /// assert_eq!((answers.inputs[0].role.as_str(), answers.inputs[0].bytes), ("job", text.len() as u64));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn tell(&self, answers: &mut Answers) {
        answers.inputs.splice(0..0, self.inputs.iter().cloned());
        answers.warnings.splice(0..0, self.warnings.iter().cloned());
    }
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
    let mut loaded = if path.extension().is_some_and(|e| e.eq_ignore_ascii_case("json")) {
        read_json(text, &name, &resolver)
    } else {
        read_text(text, &name, &resolver)
    }?;
    // Of the file itself, with a byte order mark if it has one; and without the folders, which are nobody's business.
    let plain = path.file_name().map_or_else(|| name.clone(), |n| n.to_string_lossy().into_owned());
    if let Some(job) = loaded.inputs.first_mut() {
        *job = input("job", &plain, &bytes);
    }
    Ok(loaded)
}

/// Reads a job from TOML; `name` is for messages, `resolver` gives the files it names.
///
/// # Errors
/// As [`read`].
pub fn read_text(text: &str, name: &str, resolver: &dyn Resolver) -> Result<Loaded, FileError> {
    read_source(Source::new(text, name, Syntax::Toml), resolver)
}

/// Reads a job of the same form from JSON; `null` is an absent key.
///
/// # Errors
/// As [`read`].
pub fn read_json(text: &str, name: &str, resolver: &dyn Resolver) -> Result<Loaded, FileError> {
    read_source(Source::new(text, name, Syntax::Json), resolver)
}

/// Reads a rulebook file of the user's own.
///
/// # Errors
/// A [`FileError`] with the place of what is wrong; a file that cannot be read.
pub fn read_rulebook(path: &Path) -> Result<Rulebook, FileError> {
    let name = path.display().to_string();
    let bytes = read_file(path, &name)?;
    convert::rulebook(as_text(&bytes, &name)?, &name)
}

fn read_source(source: Source, resolver: &dyn Resolver) -> Result<Loaded, FileError> {
    let form = source
        .tree()
        .and_then(|tree| {
            known_version(&tree)?;
            form::JobForm::deserialize(&tree)
        })
        .map_err(|fault| source.error(fault))?;
    convert::into_job(form, source, resolver)
}

/// Looked at before the rest, which may be of a form that is not known yet.
fn known_version(tree: &tree::Node<'_>) -> Result<(), fault::Fault> {
    let (node, true) = tree.find("version") else { return Ok(()) };
    match node.said().and_then(|said| said.parse::<u64>().ok()) {
        Some(later) if later > VERSION => {
            Err(fault::Fault::new(format!("version {later} of the form of jobs is not known to this library"))
                .path("version")
                .expected(format!(
                    "version = {VERSION}, or a newer release of fallwise-files than {}",
                    env!("CARGO_PKG_VERSION")
                )))
        }
        Some(0) => {
            Err(fault::Fault::new("there is no version 0").path("version").expected(format!("version = {VERSION}")))
        }
        _ => Ok(()),
    }
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
