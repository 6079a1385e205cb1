//! Prints the tables of the coverage study and draws its figures.
//!
//! `cargo run --release -p fallwise-study -- [--laterals N] [--table NAME]... [--out FOLDER]`
//!
//! Tables: `coverage`, `stated`, `not-modelled`, `ties`, `methods`, `decisions`, `probabilities`, `power`; all of them without the option. With
//! `--out` the figures `coverage.svg` and `power.svg` of those that are made are written to a folder, over what is there.

use std::{io::Write as _, path::PathBuf, process::ExitCode};

use fallwise_study::{Error, belly, decisions, figure, fits, markdown, methods, tables, tables::Table};
use lexopt::prelude::*;

const USAGE: &str = "usage: study [--laterals N] [--table coverage|stated|not-modelled|ties|methods|decisions|probabilities|power]... \
                     [--out FOLDER]";

/// Laterals a row of the main table.
const LATERALS: usize = 500;

struct Arguments {
    laterals: usize,
    tables: Vec<Table>,
    out: Option<PathBuf>,
}

#[expect(clippy::print_stderr, reason = "a command says what went wrong")]
fn main() -> ExitCode {
    match run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{}", fallwise::text::visible(&error.to_string()));
            ExitCode::FAILURE
        }
    }
}

fn run() -> Result<(), Error> {
    let Arguments { laterals, tables, out } = arguments()?;
    // Where no bound is to be held a standard error half as large again will do.
    let fewer = (2 * laterals).div_ceil(5);
    let draw = |name: &str, svg: &dyn Fn() -> Result<String, Error>| -> Result<(), Error> {
        let Some(folder) = &out else { return Ok(()) };
        std::fs::create_dir_all(folder)?;
        Ok(std::fs::write(folder.join(name), svg()?)?)
    };
    say("# Coverage study\n")?;
    for table in tables {
        match table {
            Table::Coverage => {
                let rows = tables::rows(tables::cases(table), laterals)?;
                say(&markdown::coverage("Coverage of what the estimator models", &rows))?;
                say(&markdown::not_kept(&rows))?;
                draw("coverage.svg", &|| figure::coverage(&rows))?;
            }
            Table::Stated => {
                let rows = tables::rows(tables::cases(table), fewer)?;
                say(&markdown::coverage("Coverage where zero or noise are stated wrongly", &rows))?;
            }
            Table::NotModelled => {
                let rows = tables::rows(tables::cases(table), fewer)?;
                say(&markdown::coverage("What these intervals do not cover", &rows))?;
            }
            Table::Ties => {
                let rows = tables::rows(tables::cases(table), laterals)?;
                say(&markdown::tied("Coverage with ties", &rows))?;
                say(&markdown::not_kept(&rows))?;
                let rows = tables::rows(tables::wrongly_stated_ties(), fewer)?;
                say(&markdown::tied("Coverage with ties where zero, noise or ties are stated wrongly", &rows))?;
                say(&format!("## Ties and findings\n\n{}", markdown::fits(&fits::fits(2 * laterals, 10)?)))?;
                say(&markdown::tied_decisions(&decisions::tied_decisions(laterals, 12)?))?;
            }
            Table::Methods => say(&markdown::methods(&methods::compared(laterals, 11)?))?,
            Table::Decisions => say(&markdown::decisions(&decisions::decisions(laterals, 7)?))?,
            Table::Probabilities => {
                let all = belly::ZEROS.map(|zero| belly::probabilities(zero, 2 * laterals, 8));
                say(&markdown::probabilities(&all.into_iter().collect::<Result<Vec<_>, _>>()?))?;
            }
            Table::Power => {
                let all = belly::power((2 * laterals).div_ceil(25), 9)?;
                say(&markdown::power(&all))?;
                draw("power.svg", &|| figure::power(&all))?;
            }
        }
    }
    Ok(())
}

fn say(text: &str) -> Result<(), Error> {
    let mut out = std::io::stdout();
    Ok(writeln!(out, "{text}").and_then(|()| out.flush())?)
}

fn arguments() -> Result<Arguments, Error> {
    let mut arguments = Arguments { laterals: LATERALS, tables: Vec::new(), out: None };
    let mut parser = lexopt::Parser::from_env();
    while let Some(argument) = parser.next()? {
        match argument {
            Long("laterals") => arguments.laterals = parser.value()?.parse()?,
            Long("table") => {
                let name = parser.value()?.string()?;
                let table = Table::ALL.into_iter().find(|t| t.name() == name);
                arguments.tables.push(table.ok_or_else(|| format!("no table {name}\n{USAGE}"))?);
            }
            Long("out") => arguments.out = Some(PathBuf::from(parser.value()?)),
            Long("help") | Short('h') => return Err(USAGE.into()),
            other => return Err(format!("{}\n{USAGE}", other.unexpected()).into()),
        }
    }
    if arguments.tables.is_empty() {
        arguments.tables = Table::ALL.to_vec();
    }
    Ok(arguments)
}
