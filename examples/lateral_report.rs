//! The main job: reads a job, solves the lateral, prints what matters and writes tables, picture and page.
//!
//! `cargo run --release --example lateral_report -- JOB.toml [--out FOLDER] [--overwrite] [--redact]`
//!
//! With `--redact` everything is made from the job without people and site, and that job is written too
//! (`job-redacted.toml`, with the numeric columns of its logs), so that both can be shared. Photos are not read, and neither names
//! nor hashes of the files that went in are told: a name can name a street, and by its hash whoever guesses a file can prove it.
//!
//! Without `--out` it writes to a new numbered folder beside the current one. It never writes over what is there unless
//! `--overwrite` is given.

use std::{
    path::{Path, PathBuf},
    process::ExitCode,
};

use fallwise::{Lateral, Rulebook};
use fallwise_examples::command::{self, Failure};
use fallwise_files::{
    Loaded, job, output,
    photo::{self, PhotoOptions},
    resolver::FolderResolver,
};
use fallwise_report::{Photo, Report};
use lexopt::prelude::*;

const USAGE: &str = "usage: lateral_report JOB.toml [--out FOLDER] [--overwrite] [--redact]";

struct Arguments {
    job: PathBuf,
    out: Option<PathBuf>,
    overwrite: bool,
    redact: bool,
}

fn main() -> ExitCode {
    command::end(run())
}

fn run() -> Result<(), Failure> {
    let arguments = arguments()?;
    let loaded = job::read(&arguments.job)?;
    if arguments.redact {
        return redacted(&loaded, arguments);
    }
    let lateral = loaded.solve()?;
    let mut answers = lateral.answers(loaded.rulebook.as_ref())?;
    loaded.tell(&mut answers);

    let beside = FolderResolver::new(arguments.job.parent().unwrap_or(Path::new(".")))?;
    let photos = photo::read_all(&mut answers, &beside, PhotoOptions::default());
    let photos: Vec<Photo> = photos
        .iter()
        .map(|p| Photo { file: &p.file, jpeg: &p.jpeg, width_px: p.width_px, height_px: p.height_px })
        .collect();
    let mut report = Report::new(&answers).photos(&photos);
    if let Some(language) = &loaded.language {
        report = report.language(language);
    }
    let pages = report.files()?;
    let pages: Vec<(&str, String)> = pages.iter().map(|(name, text)| (name.as_str(), text.clone())).collect();
    let folder = command::folder(arguments.out, "lateral-report")?;
    let written = output::write_all(&folder, &answers, &pages, arguments.overwrite)?;
    command::tell(report.summary(), &folder, &written)
}

/// The same for sharing.
fn redacted(loaded: &Loaded, arguments: Arguments) -> Result<(), Failure> {
    let job = loaded.job.redacted();
    let book = loaded.rulebook.as_ref().map(Rulebook::redacted);
    // Told by the core alone: with the job's text beside it, a fault would quote what is to go.
    let answers = Lateral::solve(job.clone())?.answers(book.as_ref())?;
    let written = job::to_toml(&job)?;
    let mut report = Report::new(&answers);
    if let Some(language) = &loaded.language {
        report = report.language(language);
    }
    let made = report.files()?;
    let mut pages: Vec<(&str, String)> = made.iter().map(|(name, text)| (name.as_str(), text.clone())).collect();
    pages.push(("job-redacted.toml", written.text.clone()));
    pages.extend(written.logs.0.iter().map(|(name, log)| (name.as_str(), String::from_utf8_lossy(log).into_owned())));
    let folder = command::folder(arguments.out, "lateral-redacted")?;
    let files = output::write_all(&folder, &answers, &pages, arguments.overwrite)?;
    command::tell(report.summary(), &folder, &files)
}

fn arguments() -> Result<Arguments, Failure> {
    let (mut job, mut out, mut overwrite, mut redact) = (None, None, false, false);
    let mut parser = lexopt::Parser::from_env();
    while let Some(argument) = parser.next()? {
        match argument {
            Long("out") => out = Some(PathBuf::from(parser.value()?)),
            Long("overwrite") => overwrite = true,
            Long("redact") => redact = true,
            Long("help") | Short('h') => return Err(USAGE.into()),
            Value(path) if job.is_none() => job = Some(PathBuf::from(path)),
            other => return Err(format!("{}\n{USAGE}", other.unexpected()).into()),
        }
    }
    Ok(Arguments { job: job.ok_or(USAGE)?, out, overwrite, redact })
}
