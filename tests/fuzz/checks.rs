//! What holds of everything that takes bytes from outside, whatever they are: logs, jobs and rulebooks here, results and languages in
//! `results.rs`, quantities, photos and readings that come one by one in `texts.rs`. The fuzz targets call it on what
//! they make up, `tests/fuzz_corpus.rs` on the corpora. A check that does not hold panics.

#![allow(clippy::unwrap_used, reason = "a check that does not hold panics")]

mod results;
mod texts;

use std::{cell::Cell, fmt::Write as _, sync::OnceLock};

use fallwise::{
    Answers, Error, Job, Lateral, Rulebook, Run,
    model::ReportChoice,
    rules::{DepthLimit, Over, SlopeLimit},
};
use fallwise_files::{FileError, Loaded, LogFormat, LogTable, MemoryResolver, Place, Resolver, job, log, output};

pub use results::{language, result};
pub use texts::{live, photo, quantity};

/// What a reader may hold at once.
pub struct Bound {
    /// Whatever the input, bytes.
    base_bytes: u64,
    /// More for every byte of input.
    pub multiple: u64,
}

/// Of a log: the buffers of the CSV reader, text of faults, and for each byte a name, a column of text and its place in the record, in
/// vectors that grow by doubling, where it is a header of empty cells. The worst known, in `tests/fuzz_corpus.rs`, holds
/// three fifths of the multiple.
pub const LOG: Bound = Bound { base_bytes: 32 << 10, multiple: 512 };
/// Of a job with the files it names, and of a rulebook: eighty tables within each other, the most the TOML reader takes,
/// at up to a kilobyte each; and for each byte a part of a table of twenty keys. The worst known holds three fifths.
pub const TOML: Bound = Bound { base_bytes: 128 << 10, multiple: 512 };
/// The longest message, bytes: what fits on a screen, with room for all keys of a table.
const LONGEST_MESSAGE: usize = 3000;
/// Jobs of more entries than this of a kind are read, not solved: the fuzzer finds more in many small jobs.
const MOST_SOLVED: usize = 300;
/// Draws of the posterior: enough for every path through the code.
const DRAWS: usize = 3;

/// Checks the reader of logs; returns the most bytes it held at once for a byte of input. A first line such as
/// `# counter = depth; decimal = comma` says what is known of the log beforehand.
pub fn log(bytes: &[u8]) -> f64 {
    let mut most = 0.0;
    for format in [Some(LogFormat::default()), format_in(bytes)].into_iter().flatten() {
        let (read, held) = measured(&LOG, bytes.len(), || log::read(bytes, &format));
        most = held.max(most);
        assert_eq!(read, log::read(bytes, &format), "read twice");
        match read {
            Err(fault) => check_log_fault(&fault, bytes),
            Ok(table) => check_table(&table, bytes),
        }
    }
    most.max(many_logs(bytes))
}

/// Checks the same bytes as a table of many laterals, by the first column that looks like one of ids: the first of a line.
fn many_logs(bytes: &[u8]) -> f64 {
    let format = format_in(bytes).unwrap_or_default();
    let text = lines_of(bytes).unwrap_or_default();
    let first = |line: &str| line.split([',', ';', '\t']).next().unwrap_or_default().trim().to_owned();
    let by = text.lines().find(|line| !line.starts_with('#') && !line.trim().is_empty()).map(first).unwrap_or_default();
    let (read, held) = measured(&LOG, bytes.len(), || log::read_many(bytes, &by, &format));
    match read {
        Err(fault) => check_message(&fault.to_string()),
        Ok(many) => {
            many.without_id().0.iter().for_each(|fault| check_log_fault(fault, bytes));
            let mut seen = std::collections::BTreeSet::new();
            for of in many.iter() {
                assert!(!of.id.is_empty() && of.id.trim() == of.id && seen.insert(of.id), "{:?}", of.id);
                match of.log {
                    Err(faults) => faults.iter().for_each(|fault| check_log_fault(fault, bytes)),
                    Ok(table) => {
                        let rows = table.counter_m.len();
                        assert!(rows >= 2);
                        assert_eq!((table.reading_rad.len(), table.source_row.len()), (rows, rows));
                        assert!(table.time_s.is_none_or(|times| times.len() == rows));
                        assert!(table.counter_m.iter().chain(&table.reading_rad).all(|v| v.is_finite()));
                        assert!(table.source_row.is_sorted_by(|a, b| a < b), "{:?}", table.source_row);
                        assert!(table.extra.iter().all(|column| column.len() == rows));
                    }
                }
            }
        }
    }
    held
}

/// What the first line of a log says of it.
fn format_in(bytes: &[u8]) -> Option<LogFormat> {
    let text = core::str::from_utf8(bytes).ok()?;
    let known = text.lines().next()?.strip_prefix('#')?;
    let mut format = LogFormat::default();
    for (key, value) in known.split(';').filter_map(|part| part.split_once('=')) {
        let value = value.trim();
        match key.trim() {
            "counter" => format.counter = Some(value.to_owned()),
            "counter_unit" => format.counter_unit = value.parse().ok(),
            "reading" => format.reading = Some(value.to_owned()),
            "reading_unit" => format.reading_unit = value.parse().ok(),
            "time" => format.time = Some(value.to_owned()),
            "time_unit" => format.time_unit = value.parse().ok(),
            "delimiter" => format.delimiter = serde_json::from_value(value.into()).ok(),
            "decimal" => format.decimal = serde_json::from_value(value.into()).ok(),
            _ => {}
        }
    }
    (format != LogFormat::default()).then_some(format)
}

/// The lines of a log in UTF-8, whatever ends them; of another encoding its own tests speak.
fn lines_of(bytes: &[u8]) -> Option<String> {
    let text = core::str::from_utf8(bytes).ok().filter(|text| !text.contains('\0'))?;
    Some(text.replace("\r\n", "\n").replace('\r', "\n"))
}

fn check_log_fault(fault: &FileError, bytes: &[u8]) {
    check_message(&fault.to_string());
    let (row, column) = match &fault.place {
        Place::File => return,
        Place::Row(row) => (*row, ""),
        Place::Cell { row, column } => (*row, column.as_str()),
        Place::Line { .. } => panic!("a log has rows: {fault}"),
    };
    // Without quotes, which the reader takes out of a cell, wherever in it they stand.
    let Some(text) = lines_of(bytes).map(|text| text.replace('"', "")) else { return };
    let lines = text.split('\n').count();
    assert!((1..=lines).contains(&row), "no such row: {fault}");
    let start: usize = text.split('\n').take(row - 1).map(|line| line.len() + 1).sum();
    for part in parts(column) {
        assert!(text.contains(part), "{part:?} is nowhere: {fault}");
    }
    // A fault of a field is one of what was known beforehand.
    let value = fault.value.as_ref().filter(|_| fault.field.is_none());
    for part in value.map(|v| v.replace('"', "")).iter().flat_map(|v| parts(v)) {
        assert!(text[start..].contains(part), "{part:?} is not in row {row}: {fault}");
    }
}

/// The words of a text.
fn parts(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| !c.is_ascii_alphanumeric()).filter(|part| !part.is_empty())
}

fn check_table(table: &LogTable, bytes: &[u8]) {
    let rows = table.counter_m.len();
    assert!(rows >= 2);
    assert_eq!((table.reading_rad.len(), table.source_row.len()), (rows, rows));
    let columns = [Some(&table.counter_m), Some(&table.reading_rad), table.time_s.as_ref()];
    for column in columns.into_iter().flatten() {
        assert_eq!(column.len(), rows);
        assert!(column.iter().all(|v| v.is_finite()), "{column:?}");
    }
    for column in &table.extra {
        assert_eq!((column.len(), column.iter().count()), (rows, rows));
        assert!(column.iter().all(|cell| !cell.contains('\n')), "{column:?}");
    }
    assert!(table.source_row.is_sorted_by(|a, b| a < b), "{:?}", table.source_row);
    let Some(text) = lines_of(bytes) else { return };
    let (mut lines, mut line, mut at) = (text.split('\n'), "", 0);
    for &row in &table.source_row {
        while at < row {
            line = lines.next().unwrap_or_else(|| panic!("row {row} of {at}"));
            at += 1;
        }
        assert!(at > 1 && !line.trim().is_empty() && !line.starts_with('#'), "row {row} is {line:?}");
    }

    // A byte order mark changes nothing.
    if let (true, false) = (bytes == text.as_bytes(), text.starts_with('\u{feff}')) {
        let format = LogFormat::default();
        if let Ok(plain) = log::read(bytes, &format) {
            assert_eq!(log::read(format!("\u{feff}{text}").as_bytes(), &format).as_ref(), Ok(&plain));
        }
    }

    // Written plainly, the figures come back to the bit.
    let mut written = String::from("distance (m),tilt (rad),time (s)\n");
    for (i, (counter_m, reading_rad)) in table.counter_m.iter().zip(&table.reading_rad).enumerate() {
        let time_s = table.time_s.as_ref().map_or(0.0, |t| t[i]);
        writeln!(written, "{counter_m:?},{reading_rad:?},{time_s:?}").unwrap();
    }
    let again = log::read(written.as_bytes(), &LogFormat::default()).unwrap();
    assert_eq!(bits(&again.counter_m), bits(&table.counter_m));
    assert_eq!(bits(&again.reading_rad), bits(&table.reading_rad));
    if let (Some(time_s), Some(again_s)) = (&table.time_s, &again.time_s) {
        assert_eq!(bits(again_s), bits(time_s));
    }

    let mut run = Run::new(table.counter_m.clone(), table.reading_rad.clone());
    run.time_s.clone_from(&table.time_s);
    run.source_row = Some(table.source_row.clone());
    if let Some(answers) = solve(Job { runs: vec![run], ..Job::default() }, None) {
        check_json(&answers);
    }
}

fn bits(values: &[f64]) -> Vec<u64> {
    values.iter().map(|v| v.to_bits()).collect()
}

/// Checks the readers of jobs, TOML and JSON; returns the most bytes they held at once for a byte of input.
pub fn job(bytes: &[u8]) -> f64 {
    let Ok(text) = core::str::from_utf8(bytes) else { return 0.0 };
    let (toml, toml_held) = read_job(job::read_text, text);
    let (json, json_held) = read_job(job::read_json, text);
    if let Ok(loaded) = toml {
        // The same as JSON is the same job. JSON has no word for numbers that are not finite.
        let value: toml::Table = toml::from_str(text).unwrap();
        let as_json = serde_json::to_string(&value).unwrap();
        if !as_json.contains("null") {
            // But for the text that faults of solving point into.
            let again = job::read_json(&as_json, JOB, &Served::default()).unwrap();
            assert_eq!(
                (&again.job, &again.logs, &again.rulebook_text),
                (&loaded.job, &loaded.logs, &loaded.rulebook_text)
            );
            assert_eq!(again.warnings, loaded.warnings);
        }
        solve_loaded(loaded);
    }
    if let Ok(loaded) = json {
        solve_loaded(loaded);
    }
    toml_held.max(json_held)
}

const JOB: &str = "job.toml";

type ReadJob = fn(&str, &str, &dyn Resolver) -> Result<Loaded, FileError>;

fn read_job(read: ReadJob, text: &str) -> (Result<Loaded, FileError>, f64) {
    let files = Served::default();
    // How much is served is known once it has been read.
    let mut loaded = None;
    let held = allocation_counter::measure(|| loaded = Some(read(text, JOB, &files))).bytes_max;
    let multiple = check_held(&TOML, text.len() + files.bytes.get(), held);
    let loaded = loaded.unwrap();
    assert_eq!(loaded, read(text, JOB, &files), "read twice");
    if let Err(fault) = &loaded {
        let said = fault.to_string();
        check_message(&said);
        assert!(!fault.file.is_empty(), "{said}");
        let place = match fault.place {
            Place::File => None,
            Place::Row(line) | Place::Cell { row: line, .. } => Some((line, 1)),
            Place::Line { line, column } => Some((line, column)),
        };
        if let Some((line, column)) = place {
            let text = if fault.file == JOB { text } else { served(&fault.file) };
            check_place(text, line, column, &said);
        }
    }
    (loaded, multiple)
}

fn solve_loaded(loaded: Loaded) {
    for log in &loaded.logs {
        let rows = loaded.job.runs[log.run].counter_m.len();
        assert!(log.extra.iter().all(|column| column.len() == rows));
    }
    let shipped = loaded.job.rules.rulebook.as_deref().and_then(|name| Rulebook::shipped(name).ok());
    let own = loaded.rulebook_text.as_deref().map(|text| Rulebook::parse(text).unwrap());
    if let Some(answers) = solve(loaded.job, own.or(shipped).as_ref()) {
        check_json(&answers);
        check_csv(&answers.segments);
        check_csv(&answers.pools);
        check_csv(&answers.findings);
        check_csv(&answers.path);
        check_csv(&answers.ties);
        check_csv(&answers.as_built);
        check_csv(&answers.water);
        check_csv(&answers.next_others);
    }
}

/// Files for any name that stays in the folder, as often as that of a job one can solve.
#[derive(Default)]
struct Served {
    files: Cell<usize>,
    bytes: Cell<usize>,
}

impl Resolver for Served {
    fn read(&self, name: &str) -> Result<Vec<u8>, FileError> {
        const MOST: usize = 12;
        self.files.set(self.files.get() + 1);
        if self.files.get() > MOST {
            return Err(FileError::new(Place::File, "no more files").in_file("none"));
        }
        // Each of its own, since a log that is another's is refused.
        let text = format!("# {}\n{}", name.len(), served(name));
        self.bytes.set(self.bytes.get() + text.len());
        MemoryResolver([(name.to_owned(), text.into_bytes())].into()).read(name)
    }
}

/// The file of a name, by its beginning, which faults show also of a long name.
fn served(name: &str) -> &'static str {
    match name.as_bytes() {
        [b'o', ..] => include_str!("served/rules.toml"),
        [b's', ..] => include_str!("served/semicolon.csv"),
        [b't', ..] => include_str!("served/tab.csv"),
        _ => include_str!("served/comma.csv"),
    }
}

/// Checks the reader of rulebooks; returns the most bytes it held at once for a byte of input.
pub fn rulebook(bytes: &[u8]) -> f64 {
    let Ok(text) = core::str::from_utf8(bytes) else { return 0.0 };
    let (read, held) = measured(&TOML, text.len(), || Rulebook::parse(text));
    assert_eq!(read, Rulebook::parse(text), "read twice");
    match read {
        Err(Error::Rulebook { line, column, message }) => {
            check_message(&message);
            match line.zip(column) {
                Some((line, column)) => check_place(text, line, column, &message),
                // The reader of TOML has no place for it; what is not there has none.
                None => assert!(
                    message.contains("recursion limit") || message.ends_with(" missing"),
                    "without a place: {message}"
                ),
            }
        }
        Err(other) => panic!("without a place: {other}"),
        Ok(book) => check_book(&book),
    }
    held
}

fn check_book(book: &Rulebook) {
    for rule in &book.rows {
        let slopes = [&rule.min_slope, &rule.also_printed, &rule.max_slope];
        let slopes = slopes.into_iter().flatten().filter_map(|limit: &SlopeLimit| limit.slope);
        let depth = rule.max_pool.iter().map(|limit: &DepthLimit| limit.depth_m);
        let over = if let Over::Length(m) = rule.over { Some(m) } else { None };
        let limits: Vec<f64> = slopes
            .chain(depth)
            .chain(over)
            .chain(rule.min_size)
            .chain(rule.max_size)
            .chain(rule.needs_at_least.values().copied())
            .collect();
        assert!(limits.iter().all(|limit| limit.is_finite()), "{}: {limits:?}", rule.id);
        assert_eq!(book.rows.iter().filter(|other| other.id == rule.id).count(), 1, "{}", rule.id);
    }
    let json = serde_json::to_string(book).unwrap();
    assert_eq!(&serde_json::from_str::<Rulebook>(&json).unwrap(), book);
    for lateral in laterals() {
        let answers = lateral.answers(Some(book)).unwrap();
        check_json(&answers);
        check_csv(&answers.findings);
    }
}

/// Two small laterals with every kind of place that rules speak of.
fn laterals() -> &'static [Lateral] {
    const JOBS: [&str; 2] = [include_str!("served/us.toml"), include_str!("served/uk.toml")];
    static LATERALS: OnceLock<Vec<Lateral>> = OnceLock::new();
    LATERALS.get_or_init(|| {
        let read = |text| job::read_text(text, JOB, &Served::default()).unwrap();
        JOBS.iter().map(|text| Lateral::solve(read(text).job).unwrap()).collect()
    })
}

/// What these laterals come to.
fn answers() -> &'static [Answers] {
    static ANSWERS: OnceLock<Vec<Answers>> = OnceLock::new();
    ANSWERS.get_or_init(|| laterals().iter().map(|lateral| lateral.answers(None).unwrap()).collect())
}

/// The answers of a job if it is small and can be solved.
fn solve(mut job: Job, book: Option<&Rulebook>) -> Option<Answers> {
    let readings: usize = job.runs.iter().map(|run| run.counter_m.len()).sum();
    let others = [
        job.as_built.len(),
        job.ties.len(),
        job.reaches.len(),
        job.bends.len(),
        job.steps.len(),
        job.features.len(),
        job.ground.len(),
        job.notes.len(),
    ];
    if readings.max(others.into_iter().max().unwrap_or_default()) > MOST_SOLVED {
        return None;
    }
    job.report = ReportChoice { draws: job.report.draws.min(DRAWS), ..job.report };
    match Lateral::solve(job) {
        Ok(lateral) => Some(lateral.answers(book).unwrap()),
        Err(error) => {
            check_message(&error.to_string());
            None
        }
    }
}

/// What is written as JSON is read again.
fn check_json(answers: &Answers) {
    let json = output::result_json(answers).unwrap();
    assert_eq!(&output::read_answers(json.as_bytes()).unwrap(), answers);
}

/// A table has a row an entry, all as wide as its header.
fn check_csv<T: serde::Serialize + serde::de::DeserializeOwned>(rows: &[T]) {
    let table = output::csv_table(rows).unwrap();
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let width = reader.headers().unwrap().len();
    let mut read = 0;
    for record in reader.records() {
        assert_eq!(record.unwrap().len(), width);
        read += 1;
    }
    assert_eq!(read, rows.len());
}

/// A message fits on a screen and sends it nothing but text.
fn check_message(said: &str) {
    assert!(said.len() < LONGEST_MESSAGE, "{} bytes: {said:.300}", said.len());
    assert!(!said.contains(['\0', '\u{1b}']), "{said:?}");
}

/// A line and column, from 1, lie in the text, or just behind it.
fn check_place(text: &str, line: usize, column: usize, said: &str) {
    let there = line.checked_sub(1).and_then(|before| text.split('\n').nth(before));
    let there = there.unwrap_or_else(|| panic!("no line {line}: {said}"));
    assert!((1..=there.chars().count() + 1).contains(&column), "no column {column} in line {line}: {said}");
}

/// Reads, and checks what it held at once against the length of the input.
fn measured<T>(bound: &Bound, length: usize, read: impl FnOnce() -> T) -> (T, f64) {
    let mut done = None;
    let held = allocation_counter::measure(|| done = Some(read())).bytes_max;
    (done.unwrap(), check_held(bound, length, held))
}

fn check_held(bound: &Bound, length: usize, held: u64) -> f64 {
    let allowed = bound.base_bytes + bound.multiple * length as u64;
    assert!(held <= allowed, "{held} bytes held for an input of {length}");
    held.saturating_sub(bound.base_bytes) as f64 / length.max(1) as f64
}
