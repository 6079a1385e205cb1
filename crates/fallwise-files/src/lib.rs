//! Files of the `fallwise` library: logs and jobs in, results and tables out.
//!
//! - [`log`]: a camera's log (CSV) to counter, reading and time, every fault named by row and column;
//! - [`job`]: the text form of a job (TOML, or the same as JSON) to a [`fallwise::Job`], every fault named by line and
//!   column;
//! - [`photo`]: the photos of the notes, made small for the page, each known by its SHA-256;
//! - [`resolver`]: where files a job names come from; nothing outside the job's folder is read;
//! - [`dxf`], [`geojson`]: profile and plan as drawings, the path on a map;
//! - [`output`]: the answers as JSON, CSV tables, drawings and map; nothing is written over unless told.
//!
//! Nothing is guessed: a number without a unit, an unknown key or a cell that is not a number is a [`FileError`] that
//! says where it is and what was expected.

mod digest;
mod drawn;
pub mod dxf;
pub mod error;
pub mod geojson;
pub mod job;
pub mod log;
pub mod output;
pub mod photo;
pub mod resolver;

pub use error::{FileError, Place};
pub use job::Loaded;
pub use log::{LogFormat, LogTable};
pub use photo::Photo;
pub use resolver::{FolderResolver, MemoryResolver, Resolver};
