//! The answers in a folder: JSON, CSV tables, drawings, the path on a map, and whatever pages are given.
//!
//! Tables are plain CSV: a header of field names, a point before decimals, an empty cell for "not determined". Text that a
//! spreadsheet would take for a formula gets an apostrophe before it, and what would hide in a cell or turn the direction
//! of writing is shown as its number; `result.json` has the texts as they were given. The cautions that go with every
//! output stand beside the tables in `cautions.txt`, so that the tables stay tables.

use std::{
    fmt::Write as _,
    fs::{self, OpenOptions},
    io::Write as _,
    path::{Path, PathBuf},
};

use fallwise::{
    Answers,
    answers::{
        AdjustmentRow, AsBuiltRow, BellyChange, BudgetRow, CapacityRow, CarryingRow, Comparison, CorrelationRow,
        CovarianceRow, DigRow, FindingRow, HeightChange, InputRow, NeededRow, NextRow, NoteRow, ParameterRow, PathRow,
        PoolRow, ReachRow, RelayNodeRow, RelayPieceRow, RelayQuantityRow, RelayShortRow, RelayStretchRow, SegmentRow,
        SlopeChange, StretchRow, TapeRow, TieRow, WaterRow, WithoutRow,
    },
    text::{hides, visible},
};
use serde::{Deserialize, Serialize, de};

use crate::{
    dxf,
    error::{FileError, Place, shown},
    geojson,
    resolver::read_file,
};

/// How many numbered folders are tried.
const MOST_FOLDERS: usize = 9999;

/// Writes `result.json`, `segments.csv`, `backward.csv`, `unseen.csv`, `pools.csv`, `water.csv`, `carrying.csv`, `capacity.csv`, `needed.csv`, `findings.csv`, `next.csv`, `ties.csv`, `adjustment.csv`,
/// `as_built.csv`, `notes.csv`, `digs.csv`, `tapes.csv`, `path.csv`, `parameters.csv`, `budget.csv`, `correlations.csv`,
/// `covariance.csv`, `inputs.csv`, `relay_stretches.csv`, `relay_quantities.csv`, `relay_pieces.csv`, `relay_inverts.csv` and
/// `relay_short.csv` (where the job asks for a plan of re-laying), `cautions.txt`, `profile.dxf` (where there is a path),
/// `plan.dxf` (where the plan is determined), `path.geojson` (where the job has an origin, too) and `pages` (name and content)
/// into `folder`, and returns their paths. The folder is made if it is not there. A table without rows is written too.
///
/// # Errors
/// Unless `overwrite` is set, a file that is there already: then nothing at all is written. What is no plain file is
/// never written over. A page whose name is not a plain file name or is taken; a failure of the operating system.
pub fn write_all(
    folder: &Path,
    answers: &Answers,
    pages: &[(&str, String)],
    overwrite: bool,
) -> Result<Vec<PathBuf>, FileError> {
    write_new(folder, files(answers)?, pages, overwrite)
}

/// What [`write_all`] writes but for the pages, by name and in its order.
///
/// # Errors
/// A number that is not finite, which no output can say.
pub fn files(answers: &Answers) -> Result<Vec<(&'static str, String)>, FileError> {
    let mut files = vec![("result.json", result_json(answers)?)];
    for (file, table) in TABLES.iter().filter(|(file, _)| answers.relay.is_some() || !file.starts_with("relay_")) {
        files.push((*file, table(answers)?));
    }
    files.extend(dxf::profile(answers).map(|drawing| (dxf::PROFILE_FILE, drawing)));
    files.extend(dxf::plan(answers).map(|drawing| (dxf::PLAN_FILE, drawing)));
    files.extend(geojson::geojson(answers)?.map(|map| (geojson::FILE, map)));
    files.push(("cautions.txt", cautions(&files, &answers.cautions, &answers.not_covered)));
    Ok(files)
}

/// A table of the answers as CSV, by its name: that of its file without the ending, such as `segments`. Those of a plan of re-laying are
/// without rows where the job asks for none.
///
/// # Errors
/// A name that no table has, with the nearest.
pub fn csv(answers: &Answers, name: &str) -> Result<String, FileError> {
    let plain = |file: &'static str| file.strip_suffix(".csv");
    let table = TABLES.iter().find(|(file, _)| plain(file) == Some(name));
    let (_, table) = table.ok_or_else(|| {
        let names = TABLES.iter().filter_map(|(file, _)| plain(file));
        FileError::from_core(Place::File, fallwise::Error::unknown("table", name, names))
    })?;
    table(answers)
}

/// A table of the answers, as CSV.
type Table = fn(&Answers) -> Result<String, FileError>;

/// The tables, by the names of their files.
const TABLES: [(&str, Table); 27] = [
    ("segments.csv", |a| csv_table::<SegmentRow>(&a.segments)),
    ("backward.csv", |a| csv_table::<ReachRow>(&a.backward)),
    ("unseen.csv", |a| csv_table::<StretchRow>(&a.unseen)),
    ("pools.csv", |a| csv_table::<PoolRow>(&a.pools)),
    ("water.csv", |a| csv_table::<WaterRow>(&a.water)),
    ("carrying.csv", |a| csv_table::<CarryingRow>(a.carrying.as_slice())),
    ("capacity.csv", |a| csv_table::<CapacityRow>(&a.capacity)),
    ("needed.csv", |a| csv_table::<NeededRow>(&a.needed)),
    ("findings.csv", |a| csv_table::<FindingRow>(&a.findings)),
    ("next.csv", |a| csv_table::<NextRow>(&next_rows(a))),
    ("ties.csv", |a| csv_table::<TieRow>(&a.ties)),
    ("adjustment.csv", |a| csv_table(&adjustment_lines(a.adjustment.as_ref()))),
    ("as_built.csv", |a| csv_table::<AsBuiltRow>(&a.as_built)),
    ("notes.csv", |a| csv_table::<NoteRow>(&a.noted)),
    ("digs.csv", |a| csv_table::<DigRow>(&a.digs)),
    ("tapes.csv", |a| csv_table::<TapeRow>(&a.tapes)),
    ("path.csv", |a| csv_table::<PathRow>(&a.path)),
    ("parameters.csv", |a| csv_table::<ParameterRow>(&a.parameters)),
    ("budget.csv", |a| csv_table::<BudgetRow>(&a.budget)),
    ("correlations.csv", |a| csv_table::<CorrelationRow>(&a.correlations)),
    ("covariance.csv", |a| csv_table::<CovarianceRow>(&a.covariance)),
    ("inputs.csv", |a| csv_table::<InputRow>(&a.inputs)),
    ("relay_stretches.csv", |a| csv_table::<RelayStretchRow>(a.relay.as_ref().map_or(&[], |r| &r.stretches))),
    ("relay_quantities.csv", |a| csv_table::<RelayQuantityRow>(a.relay.as_ref().map_or(&[], |r| &r.quantities))),
    ("relay_pieces.csv", |a| csv_table::<RelayPieceRow>(a.relay.as_ref().map_or(&[], |r| &r.pieces))),
    ("relay_inverts.csv", |a| csv_table::<RelayNodeRow>(a.relay.as_ref().map_or(&[], |r| &r.nodes))),
    ("relay_short.csv", |a| csv_table::<RelayShortRow>(a.relay.as_ref().map_or(&[], |r| &r.short))),
];

/// Writes `comparison.json`, `changes.csv` (slopes), `heights.csv`, `bellies.csv`, `cautions.txt` and `pages` into `folder`, and
/// returns their paths. The folder is made if it is not there. A table without rows is written too.
///
/// # Errors
/// As [`write_all`].
pub fn write_comparison(
    folder: &Path,
    comparison: &Comparison,
    pages: &[(&str, String)],
    overwrite: bool,
) -> Result<Vec<PathBuf>, FileError> {
    let mut files = vec![
        ("comparison.json", comparison_json(comparison)?),
        ("changes.csv", csv_table::<SlopeChange>(&comparison.slopes)?),
        ("heights.csv", csv_table::<HeightChange>(&comparison.heights)?),
        ("bellies.csv", csv_table::<BellyChange>(&comparison.bellies)?),
    ];
    files.push(("cautions.txt", cautions(&files, &comparison.cautions, &comparison.not_covered)));
    write_new(folder, files, pages, overwrite)
}

/// Writes all, or nothing where one of them is there already and is not to be written over.
fn write_new<'a>(
    folder: &Path,
    mut files: Vec<(&'a str, String)>,
    pages: &[(&'a str, String)],
    overwrite: bool,
) -> Result<Vec<PathBuf>, FileError> {
    for (name, content) in pages {
        let plain = Path::new(name).file_name().is_some_and(|n| n == *name) && !name.contains(['/', '\\', ':', '\0']);
        if !plain || files.iter().any(|(taken, _)| taken.eq_ignore_ascii_case(name)) {
            return Err(FileError::new(Place::File, "the page cannot have this name")
                .in_file(shown(name))
                .expected("a file name without folders that no other output has"));
        }
        files.push((*name, content.clone()));
    }
    for (name, _) in &files {
        check_free(&folder.join(name), overwrite)?;
    }
    fs::create_dir_all(folder).map_err(|e| FileError::from_io(folder.display().to_string(), "make the folder", &e))?;
    files.iter().map(|(name, content)| write_file(folder.join(name), content, overwrite)).collect()
}

/// Makes a new folder `name-1`, `name-2` and so on in `base`: the first number that is free.
///
/// # Errors
/// `base` is not there or cannot be written, or 9999 folders are there already.
pub fn new_folder(base: &Path, name: &str) -> Result<PathBuf, FileError> {
    for number in 1..=MOST_FOLDERS {
        let folder = base.join(format!("{name}-{number}"));
        match fs::create_dir(&folder) {
            Ok(()) => return Ok(folder),
            Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => {}
            Err(e) => return Err(FileError::from_io(folder.display().to_string(), "make the folder", &e)),
        }
    }
    Err(FileError::new(Place::File, format!("there are {MOST_FOLDERS} folders {}-1 and on already", shown(name)))
        .in_file(base.display().to_string())
        .expected("some of them moved away"))
}

/// The answers as JSON: keys sorted, indented, numbers to the bit; a character that would hide, or turn the direction of
/// writing, is written by its number.
///
/// # Errors
/// A number that is not finite, which JSON cannot say.
pub fn result_json(answers: &Answers) -> Result<String, FileError> {
    let text = sorted_json(answers, "result.json")?;
    // A number that is not finite is written as null; only where null may stand does it come back.
    read_answers(text.as_bytes())?;
    Ok(text)
}

/// A comparison as JSON, written as [`result_json`] writes answers.
///
/// # Errors
/// A number that is not finite, which JSON cannot say.
pub fn comparison_json(comparison: &Comparison) -> Result<String, FileError> {
    let text = sorted_json(comparison, "comparison.json")?;
    read_comparison(text.as_bytes())?;
    Ok(text)
}

pub(crate) fn sorted_json(written: &impl Serialize, file: &str) -> Result<String, FileError> {
    let fault = |e: serde_json::Error| FileError::new(Place::File, e.to_string()).in_file(file);
    // Through `Value`, whose maps are sorted.
    let value = serde_json::to_value(written).map_err(fault)?;
    let mut text = String::new();
    for c in serde_json::to_string_pretty(&value).map_err(fault)?.chars() {
        // Outside of texts the only such character is the end of a line.
        if c != '\n' && hides(c) {
            for unit in c.encode_utf16(&mut [0; 2]) {
                let _ = write!(text, "\\u{unit:04x}");
            }
        } else {
            text.push(c);
        }
    }
    text.push('\n');
    Ok(text)
}

/// A form that this library reads and writes.
struct Form {
    /// What it is called.
    name: &'static str,
    file: &'static str,
    /// Its schema begins so; its version follows.
    schema: &'static str,
    version: u64,
}

const RESULT: Form = Form { name: "results", file: "result.json", schema: "fallwise-answers-", version: 1 };
const COMPARISON: Form =
    Form { name: "comparisons", file: "comparison.json", schema: "fallwise-comparison-", version: 1 };

/// Reads answers that were written as JSON, without solving anything again.
///
/// # Errors
/// What is no result of this library, with line and column; a result of a later form, with what can read it.
pub fn read_answers(bytes: &[u8]) -> Result<Answers, FileError> {
    read_form(bytes, &RESULT)
}

/// Reads a comparison that was written as JSON.
///
/// # Errors
/// As [`read_answers`].
pub fn read_comparison(bytes: &[u8]) -> Result<Comparison, FileError> {
    read_form(bytes, &COMPARISON)
}

/// Reads a `result.json`, or the same under another name, without solving anything again.
///
/// # Errors
/// As [`read_answers`], with the name of the file; a file that cannot be read.
pub fn read_result(path: &Path) -> Result<Answers, FileError> {
    let name = path.display().to_string();
    read_answers(&read_file(path, &name)?).map_err(|error| error.in_file(name))
}

/// Reads a `comparison.json`, or the same under another name.
///
/// # Errors
/// As [`read_result`].
pub fn read_comparison_file(path: &Path) -> Result<Comparison, FileError> {
    let name = path.display().to_string();
    read_comparison(&read_file(path, &name)?).map_err(|error| error.in_file(name))
}

fn read_form<T: de::DeserializeOwned>(bytes: &[u8], form: &Form) -> Result<T, FileError> {
    #[derive(serde::Deserialize)]
    struct Head {
        schema: String,
        version: String,
    }
    // Looked at first: a later form may have what this one does not know.
    if let Ok(Head { schema, version }) = serde_json::from_slice(bytes)
        && let Some(later) =
            schema.strip_prefix(form.schema).and_then(|v| v.parse::<u64>().ok()).filter(|v| *v > form.version)
    {
        let known = format!("{}{}", form.schema, form.version);
        return Err(FileError::new(
            Place::File,
            format!("version {later} of the form of {} is not known to this library", form.name),
        )
        .in_file(form.file)
        .field("schema")
        .value(schema)
        .expected(format!("{known}, or fallwise-files of version {} or newer", shown(&version))));
    }
    serde_json::from_slice(bytes).map_err(|e| {
        let message = e.to_string();
        let message = message.rsplit_once(" at line ").map_or(message.as_str(), |(message, _)| message);
        FileError::new(Place::Line { line: e.line(), column: e.column() }, message)
            .in_file(form.file)
            .expected(format!("{} written by this library", form.file))
    })
}

/// Rows as CSV, under a header of field names (there also where there are no rows).
///
/// # Errors
/// A row that is not flat.
pub fn csv_table<T: Serialize + de::DeserializeOwned>(rows: &[T]) -> Result<String, FileError> {
    let fault = |e: &dyn core::fmt::Display| FileError::new(Place::File, e.to_string());
    let mut raw = csv::WriterBuilder::new().has_headers(false).from_writer(Vec::new());
    for row in rows {
        raw.serialize(row).map_err(|e| fault(&e))?;
    }
    let raw = raw.into_inner().map_err(|e| fault(&e))?;
    let mut guarded = csv::Writer::from_writer(Vec::new());
    guarded.write_record(fallwise::answers::field_names::<T>()).map_err(|e| fault(&e))?;
    for record in csv::ReaderBuilder::new().has_headers(false).from_reader(raw.as_slice()).records() {
        let record = record.map_err(|e| fault(&e))?;
        guarded.write_record(record.iter().map(guard)).map_err(|e| fault(&e))?;
    }
    let bytes = guarded.into_inner().map_err(|e| fault(&e))?;
    String::from_utf8(bytes).map_err(|e| fault(&e))
}

/// What a spreadsheet takes for the beginning of a formula; the wide and small forms in some locales.
const FORMULA: [char; 12] = ['=', '+', '-', '@', '＝', '＋', '－', '＠', '﹦', '﹢', '﹣', '﹫'];

/// A cell as it may stand in a spreadsheet: text that would be taken for a formula, also after spaces, gets an apostrophe
/// before it; numbers, which may begin with a sign, stay.
fn guard(cell: &str) -> String {
    if cell.parse::<f64>().is_ok_and(f64::is_finite) {
        return cell.to_owned();
    }
    let text = visible(cell);
    let mut guarded = String::with_capacity(text.len());
    if text.trim_start().starts_with(FORMULA) {
        guarded.push('\'');
    }
    // Where lists are separated by semicolons, a cell may be cut there.
    let mut after_semicolon = false;
    for c in text.chars() {
        if after_semicolon && FORMULA.contains(&c) {
            guarded.push('\'');
        }
        // A quote there opens or closes the cell.
        after_semicolon = c == ';' || (after_semicolon && (c.is_whitespace() || c == '"'));
        guarded.push(c);
    }
    guarded
}

/// The measurements that would help, best first.
fn next_rows(answers: &Answers) -> Vec<NextRow> {
    answers.next.iter().chain(&answers.next_others).cloned().collect()
}

/// A line of `adjustment.csv`: how ties and runs go together, then each figure without the suspect ties, then what cannot be
/// determined. Cells that are not of a line's kind are empty.
#[derive(Default, Serialize, Deserialize)]
struct AdjustmentLine {
    /// `adjustment`, `without` or `not_determined`.
    line: String,
    steps: Option<usize>,
    converged: Option<bool>,
    chi_square: Option<f64>,
    degrees_of_freedom: Option<usize>,
    p_value: Option<f64>,
    verdict: String,
    /// As in the answers: a row of `ties.csv`, from 1, the header not counted.
    suspect_row: Option<usize>,
    suspect_pair_first_row: Option<usize>,
    suspect_pair_second_row: Option<usize>,
    quantity: String,
    left_out: String,
    value: Option<f64>,
    sd: Option<f64>,
    without: Option<f64>,
    without_sd: Option<f64>,
    sentence: String,
}

fn adjustment_lines(adjustment: Option<&AdjustmentRow>) -> Vec<AdjustmentLine> {
    let Some(row) = adjustment else { return Vec::new() };
    let first = AdjustmentLine {
        line: "adjustment".to_owned(),
        steps: Some(row.steps),
        converged: Some(row.converged),
        chi_square: Some(row.chi_square),
        degrees_of_freedom: Some(row.degrees_of_freedom),
        p_value: row.p_value,
        verdict: row.verdict.clone(),
        suspect_row: row.suspect_row,
        suspect_pair_first_row: row.suspect_pair_rows.map(|pair| pair.0),
        suspect_pair_second_row: row.suspect_pair_rows.map(|pair| pair.1),
        sentence: row.sentence.clone(),
        ..AdjustmentLine::default()
    };
    let without = |WithoutRow { quantity, left_out, value, sd, without, without_sd }: &WithoutRow| AdjustmentLine {
        line: "without".to_owned(),
        quantity: quantity.clone(),
        left_out: left_out.clone(),
        value: Some(*value),
        sd: Some(*sd),
        without: Some(*without),
        without_sd: Some(*without_sd),
        ..AdjustmentLine::default()
    };
    let not_determined = |sentence: &String| AdjustmentLine {
        line: "not_determined".to_owned(),
        sentence: sentence.clone(),
        ..AdjustmentLine::default()
    };
    core::iter::once(first)
        .chain(row.without.iter().map(without))
        .chain(row.not_determined.iter().map(not_determined))
        .collect()
}

/// What goes with the files that are written, by name; tables have no place for it, and a drawing may be copied without it.
fn cautions(files: &[(&str, String)], cautions: &[String], not_covered: &[String]) -> String {
    let names: Vec<&str> = files.iter().map(|(name, _)| *name).collect();
    let mut text = format!("These go with every table and drawing in this folder: {}.\n\n", names.join(", "));
    for caution in cautions {
        text.push_str("- ");
        text.push_str(caution);
        text.push('\n');
    }
    if !not_covered.is_empty() {
        text.push_str("\nThe intervals do not cover:\n\n");
        for sentence in not_covered {
            text.push_str("- ");
            text.push_str(sentence);
            text.push('\n');
        }
    }
    text
}

/// Whether a file may be written at `path`.
fn check_free(path: &Path, overwrite: bool) -> Result<(), FileError> {
    let name = || path.display().to_string();
    match fs::symlink_metadata(path) {
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => Ok(()),
        Err(e) => Err(FileError::from_io(name(), "look at it", &e)),
        Ok(_) if !overwrite => Err(FileError::new(Place::File, "is there already, and nothing was written")
            .io(std::io::ErrorKind::AlreadyExists)
            .in_file(name())
            .expected("another folder, or --overwrite (in code: overwrite = true)")),
        Ok(there) if there.is_file() => Ok(()),
        Ok(_) => Err(FileError::new(Place::File, "is no plain file, and nothing was written").in_file(name())),
    }
}

fn write_file(path: PathBuf, content: &str, overwrite: bool) -> Result<PathBuf, FileError> {
    let mut options = OpenOptions::new();
    // `create_new` keeps what came to be there after the check.
    if overwrite {
        options.write(true).create(true).truncate(true)
    } else {
        options.write(true).create_new(true)
    };
    options
        .open(&path)
        .and_then(|mut file| file.write_all(content.as_bytes()))
        .map_err(|e| FileError::from_io(path.display().to_string(), "write it", &e))?;
    Ok(path)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Serialize, serde::Deserialize)]
    struct Row {
        station_m: f64,
        text: String,
        sd_m: Option<f64>,
    }

    #[test]
    fn tables_have_a_header_without_rows() {
        assert_eq!(csv_table::<Row>(&[]).unwrap(), "station_m,text,sd_m\n");
    }

    #[test]
    fn text_cannot_become_a_formula() {
        let row = |text: &str| Row { station_m: -1.5, text: text.to_owned(), sd_m: None };
        let rows: Vec<Row> =
            ["=1+1", "+SUM(A1)", "-2+3", "@x", "\t=x", " \r+x", "　＝1", "a; =b", "a;\"=b", "a=b", "-2", "-inf", ""]
                .map(row)
                .into();
        let table = csv_table(&rows).unwrap();
        let mut reader = csv::Reader::from_reader(table.as_bytes());
        let cells: Vec<String> = reader.records().map(|r| r.unwrap()[1].to_owned()).collect();
        assert_eq!(
            cells,
            [
                "'=1+1",
                "'+SUM(A1)",
                "'-2+3",
                "'@x",
                "' =x",
                "'  +x",
                "'　＝1",
                "a; '=b",
                "a;\"'=b",
                "a=b",
                "-2",
                "'-inf",
                ""
            ]
        );
        assert!(table.lines().nth(1).unwrap().starts_with("-1.5,"));
    }
}
