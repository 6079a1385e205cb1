//! What the programs that read jobs have in common.

use std::{
    error::Error,
    fmt::Write as _,
    io::Write as _,
    path::{Path, PathBuf},
    process::ExitCode,
};

use fallwise::text::visible;
use fallwise_files::output;

/// Why a program ended without doing what it was asked.
pub type Failure = Box<dyn Error>;

/// How a program ends: what went wrong is told on the error stream.
#[expect(clippy::print_stderr, reason = "a command says what went wrong")]
pub fn end(done: Result<(), Failure>) -> ExitCode {
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            // It may quote a file or a name, whose characters are not for the terminal to follow.
            for line in error.to_string().lines() {
                eprintln!("{}", visible(line));
            }
            ExitCode::FAILURE
        }
    }
}

/// The folder that was given, or a new numbered one beside the current one.
///
/// # Errors
/// Of the operating system.
pub fn folder(given: Option<PathBuf>, name: &str) -> Result<PathBuf, Failure> {
    match given {
        Some(folder) => Ok(folder),
        None => Ok(output::new_folder(&std::env::current_dir()?, name)?),
    }
}

/// Prints what matters, and what was written where.
///
/// # Errors
/// Of the operating system.
pub fn tell(mut text: String, folder: &Path, written: &[PathBuf]) -> Result<(), Failure> {
    writeln!(text, "\nWritten to {}:", visible(&folder.display().to_string()))?;
    for path in written {
        writeln!(text, "  {}", path.file_name().unwrap_or_default().to_string_lossy())?;
    }
    match std::io::stdout().write_all(text.as_bytes()) {
        // Whoever reads only the first lines has seen what matters.
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Ok(()),
        other => Ok(other?),
    }
}
