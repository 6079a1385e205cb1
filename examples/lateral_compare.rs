//! Two surveys of one lateral, before and after a re-lay or years apart: reads both jobs, prints what changed and writes tables,
//! picture and page.
//!
//! `cargo run --release --example lateral_compare -- BEFORE.toml AFTER.toml [--same-head] [--out FOLDER] [--overwrite]`
//!
//! `--same-head` states that one head made both surveys, used and set up alike, with nothing done to it between them: what its
//! zero error does to both alike then falls out of every change. Both are held against the rulebook of the second job,
//! and told in its wording.
//!
//! Without `--out` it writes to a new numbered folder in the current one. It never writes over what is there unless
//! `--overwrite` is given.

use std::{fs, path::PathBuf, process::ExitCode};

use fallwise::{adjust::Shared, compare};
use fallwise_examples::command::{self, Failure};
use fallwise_files::{job, output};
use fallwise_report::AsLeft;
use lexopt::prelude::*;

const USAGE: &str = "usage: lateral_compare BEFORE.toml AFTER.toml [--same-head] [--out FOLDER] [--overwrite]";

/// What two jobs have to agree on.
const AGREE: &str =
    "Both jobs have to count stations from one place (`start_station` of the run) and to give one `flow`.";

struct Arguments {
    before: PathBuf,
    after: PathBuf,
    shared: Shared,
    out: Option<PathBuf>,
    overwrite: bool,
}

fn main() -> ExitCode {
    command::end(run())
}

fn run() -> Result<(), Failure> {
    let Arguments { before, after, shared, out, overwrite } = arguments()?;
    let names = format!("{} and {}", before.display(), after.display());
    let same_file = fs::canonicalize(&before).is_ok_and(|one| fs::canonicalize(&after).is_ok_and(|other| one == other));
    if same_file {
        return Err(format!("{names} are one file: give the job of the first survey, then that of the second").into());
    }
    let (mut was, is) = (job::read(&before)?, job::read(&after)?);
    // One page has one wording.
    was.job.report.words = is.job.report.words;
    let (first, second) = (was.solve()?, is.solve()?);
    let mut comparison = compare(&first, &second, shared, is.rulebook.as_ref())
        .map_err(|error| format!("{names} cannot be compared: {error}. {AGREE}"))?;
    if was.rulebook != is.rulebook {
        comparison
            .warnings
            .push("the two jobs name different rulebooks: both surveys are held against that of the second".to_owned());
    }
    was.tell(&mut comparison.before);
    is.tell(&mut comparison.after);

    let mut left = AsLeft::new(&comparison);
    if let Some(language) = &is.language {
        left = left.language(language);
    }
    let pages = left.files()?;
    let folder = command::folder(out, "lateral-compare")?;
    let written = output::write_comparison(&folder, &comparison, &pages, overwrite)?;
    command::tell(left.summary(), &folder, &written)
}

fn arguments() -> Result<Arguments, Failure> {
    let (mut jobs, mut shared, mut out, mut overwrite) = (Vec::new(), Shared::Nothing, None, false);
    let mut parser = lexopt::Parser::from_env();
    while let Some(argument) = parser.next()? {
        match argument {
            Long("same-head") => shared = Shared::Zero,
            Long("out") => out = Some(PathBuf::from(parser.value()?)),
            Long("overwrite") => overwrite = true,
            Long("help") | Short('h') => return Err(USAGE.into()),
            Value(path) if jobs.len() < 2 => jobs.push(PathBuf::from(path)),
            other => return Err(format!("{}\n{USAGE}", other.unexpected()).into()),
        }
    }
    let mut jobs = jobs.into_iter();
    let (before, after) = jobs.next().zip(jobs.next()).ok_or(USAGE)?;
    Ok(Arguments { before, after, shared, out, overwrite })
}
