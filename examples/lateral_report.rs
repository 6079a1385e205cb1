//! The main job: reads a job, solves the lateral, prints what matters and writes tables, picture and page.
//!
//! `cargo run --release --example lateral_report -- JOB.toml [--out FOLDER] [--overwrite]`
//!
//! Without `--out` it writes to a new numbered folder beside the current one. It never writes over what is there unless
//! `--overwrite` is given.

use std::{
    path::{Path, PathBuf},
    process::ExitCode,
};

use fallwise_examples::command::{self, Failure};
use fallwise_files::{
    job, output,
    photo::{self, PhotoOptions},
    resolver::FolderResolver,
};
use fallwise_report::{Photo, Report};
use lexopt::prelude::*;

const USAGE: &str = "usage: lateral_report JOB.toml [--out FOLDER] [--overwrite]";

struct Arguments {
    job: PathBuf,
    out: Option<PathBuf>,
    overwrite: bool,
}

fn main() -> ExitCode {
    command::end(run())
}

fn run() -> Result<(), Failure> {
    let arguments = arguments()?;
    let loaded = job::read(&arguments.job)?;
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
    let folder = command::folder(arguments.out, "lateral-report")?;
    let written = output::write_all(&folder, &answers, &pages, arguments.overwrite)?;
    command::tell(report.summary(), &folder, &written)
}

fn arguments() -> Result<Arguments, Failure> {
    let (mut job, mut out, mut overwrite) = (None, None, false);
    let mut parser = lexopt::Parser::from_env();
    while let Some(argument) = parser.next()? {
        match argument {
            Long("out") => out = Some(PathBuf::from(parser.value()?)),
            Long("overwrite") => overwrite = true,
            Long("help") | Short('h') => return Err(USAGE.into()),
            Value(path) if job.is_none() => job = Some(PathBuf::from(path)),
            other => return Err(format!("{}\n{USAGE}", other.unexpected()).into()),
        }
    }
    Ok(Arguments { job: job.ok_or(USAGE)?, out, overwrite })
}
