//! The main job: reads a job, solves the lateral, prints what matters and writes tables, picture and page.
//!
//! `cargo run --release --example lateral_report -- JOB.toml [--out FOLDER] [--overwrite]`
//!
//! Without `--out` it writes to a new numbered folder beside the current one. It never writes over what is there unless
//! `--overwrite` is given.

use std::{
    fmt::Write as _,
    io::Write as _,
    path::{Path, PathBuf},
    process::ExitCode,
};

use fallwise::text::visible;
use fallwise_files::{
    job, output,
    photo::{self, PhotoOptions},
    resolver::FolderResolver,
};
use fallwise_report::Photo;
use lexopt::prelude::*;

const USAGE: &str = "usage: lateral_report JOB.toml [--out FOLDER] [--overwrite]";

struct Arguments {
    job: PathBuf,
    out: Option<PathBuf>,
    overwrite: bool,
}

#[expect(clippy::print_stderr, reason = "a command says what went wrong")]
fn main() -> ExitCode {
    match run() {
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

fn run() -> Result<(), Box<dyn std::error::Error>> {
    let arguments = arguments()?;
    let loaded = job::read(&arguments.job)?;
    let lateral = loaded.solve()?;
    let mut answers = lateral.answers(loaded.rulebook.as_ref())?;
    answers.warnings.splice(0..0, loaded.warnings);

    let beside = FolderResolver::new(arguments.job.parent().unwrap_or(Path::new(".")))?;
    let photos = photo::read_all(&mut answers, &beside, PhotoOptions::default());
    let photos: Vec<Photo> = photos
        .iter()
        .map(|p| Photo { file: &p.file, jpeg: &p.jpeg, width_px: p.width_px, height_px: p.height_px })
        .collect();
    let pages = [
        ("profile.svg", fallwise_report::profile_svg(&answers)),
        ("report.html", fallwise_report::page_html_with_photos(&answers, &photos)?),
    ];
    let folder = match arguments.out {
        Some(folder) => folder,
        None => output::new_folder(&std::env::current_dir()?)?,
    };
    let written = output::write_all(&folder, &answers, &pages, arguments.overwrite)?;
    let mut text = fallwise_report::summary(&answers);
    writeln!(text, "\nWritten to {}:", folder.display())?;
    for path in written {
        writeln!(text, "  {}", path.file_name().unwrap_or_default().to_string_lossy())?;
    }
    match std::io::stdout().write_all(text.as_bytes()) {
        // Whoever reads only the first lines has seen what matters.
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Ok(()),
        other => Ok(other?),
    }
}

fn arguments() -> Result<Arguments, Box<dyn std::error::Error>> {
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
