//! Row by row through a log.

use csv::ByteRecord;

use super::{
    DecimalMark, LogFormat, LogTable, TextColumn, TimeUnit,
    header::{self, Columns},
    number,
};
use crate::error::{FileError, Place, shown};

/// Reads a log. Lines that begin with `#` and blank rows are passed over; a row with missing cells, a cell that is no
/// number where one is needed, and two decimal marks in one log are errors that name the row and column.
///
/// # Errors
/// A [`FileError`] without a file name (see [`FileError::in_file`]).
pub fn read(bytes: &[u8], format: &LogFormat) -> Result<LogTable, FileError> {
    let text = as_text(bytes)?;
    let mut table = LogTable::default();
    let delimiter = match format.delimiter {
        Some(delimiter) => delimiter,
        None if text.trim().is_empty() => return Err(empty()),
        None => header::find_delimiter(text).ok_or_else(one_column)?,
    };
    let mut csv = csv::ReaderBuilder::new()
        .delimiter(delimiter.byte())
        .comment(Some(b'#'))
        .has_headers(false)
        .flexible(true)
        .from_reader(text.as_bytes());
    let mut record = ByteRecord::new();
    if !next(&mut csv, &mut record)? {
        return Err(empty());
    }
    let names: Vec<String> = record.iter().map(|cell| String::from_utf8_lossy(cell).trim().to_owned()).collect();
    if names.len() < 2 {
        return Err(one_column());
    }
    let header_row = row_of(&record, text);
    let mut columns = header::columns(&names, header_row, format)?;

    let mut more = next(&mut csv, &mut record)?;
    if more && take_units_line(&record, text, &mut columns)? {
        more = next(&mut csv, &mut record)?;
    }
    let mut rows = Rows::new(text, &names, header_row, &columns, format, &record)?;
    while more {
        rows.take(&record, &mut table)?;
        more = next(&mut csv, &mut record)?;
    }
    rows.finish(format, &mut table)?;
    if format.delimiter.is_none() {
        table.found.insert(0, format!("delimiter: {}", delimiter.word()));
    }
    Ok(table)
}

/// The bytes as text, without a byte order mark.
fn as_text(bytes: &[u8]) -> Result<&str, FileError> {
    const LOOKED_AT: usize = 4096;
    let start = bytes.get(..LOOKED_AT).unwrap_or(bytes);
    if matches!(bytes, [0xFF, 0xFE, ..] | [0xFE, 0xFF, ..]) || start.contains(&0) {
        return Err(FileError::new(
            Place::File,
            "the log is not UTF-8 text; it looks like UTF-16 (\"Unicode\" in a spreadsheet)",
        )
        .expected("the log saved again as CSV in UTF-8"));
    }
    let text = core::str::from_utf8(bytes).map_err(|e| {
        let before = bytes.get(..e.valid_up_to()).unwrap_or_default();
        let row = before.split(|&b| b == b'\n').count();
        let byte = bytes.get(e.valid_up_to()).copied().unwrap_or_default();
        FileError::new(
            Place::Row(row),
            format!("byte 0x{byte:02X} is not UTF-8; the log looks like Latin-1 or another old code page"),
        )
        .expected("the log saved again as CSV in UTF-8")
    })?;
    // The reader of rows takes it for the end of a line, and what counts lines does not.
    let goes_on = |at: usize| !matches!(bytes.get(at + 1), None | Some(b'\r' | b'\n'));
    if let Some((at, _)) = text.match_indices('\r').find(|(at, _)| goes_on(*at)) {
        let before = text.get(..at).unwrap_or_default().matches('\n').count();
        let place = if text.contains('\n') { Place::Row(before + 1) } else { Place::File };
        return Err(FileError::new(place, "lines end in a bare carriage return")
            .expected("lines that end in a line feed, with or without a carriage return"));
    }
    Ok(text.strip_prefix('\u{feff}').unwrap_or(text))
}

fn empty() -> FileError {
    FileError::new(Place::File, "the log is empty").expected("a header row and at least two readings")
}

fn one_column() -> FileError {
    FileError::new(Place::File, "the log has one column only")
        .expected("a header and rows of at least two cells, parted by commas, semicolons or tabs")
}

fn next(csv: &mut csv::Reader<&[u8]>, record: &mut ByteRecord) -> Result<bool, FileError> {
    // Bytes in memory, of any number of cells a row, leave nothing that can fail; said all the same.
    csv.read_byte_record(record).map_err(|e| FileError::new(Place::File, e.to_string()))
}

/// Line of the file at which a record begins, from 1. The reader's own count is of where the last record ended: blank
/// lines and comments may lie between.
fn row_of(record: &ByteRecord, text: &str) -> usize {
    let Some(position) = record.position() else { return 0 };
    let at = |place: u64| usize::try_from(place).unwrap_or(usize::MAX);
    let mut row = at(position.line());
    let mut rest = text.as_bytes().get(at(position.byte())..).unwrap_or_default();
    loop {
        rest = match rest {
            [b'\r', rest @ ..] => rest,
            [b'\n', rest @ ..] => {
                row += 1;
                rest
            }
            [b'#', comment @ ..] => {
                let end = comment.iter().position(|&b| b == b'\n').unwrap_or(comment.len());
                comment.get(end..).unwrap_or_default()
            }
            _ => return row,
        };
    }
}

/// If the row under the header holds units, takes them.
fn take_units_line(record: &ByteRecord, text: &str, columns: &mut Columns) -> Result<bool, FileError> {
    let cell = |index: usize| {
        header::bare_unit(core::str::from_utf8(record.get(index).unwrap_or_default()).unwrap_or_default())
    };
    let counter = cell(columns.counter.index).parse().ok();
    let reading = cell(columns.reading.index).parse().ok();
    if counter.is_none() && reading.is_none() {
        return Ok(false);
    }
    let row = row_of(record, text);
    merge(&mut columns.counter.unit, counter, row, &columns.counter.name)?;
    merge(&mut columns.reading.unit, reading, row, &columns.reading.name)?;
    if let Some(time) = &mut columns.time {
        merge(&mut time.unit, cell(time.index).parse().ok(), row, &time.name)?;
    }
    Ok(true)
}

fn merge<U: Copy + PartialEq>(
    unit: &mut Option<U>,
    here: Option<U>,
    row: usize,
    column: &str,
) -> Result<(), FileError> {
    if unit.is_some() && here.is_some() && *unit != here {
        return Err(FileError::new(
            Place::Cell { row, column: column.to_owned() },
            "the unit differs from the one in the header",
        ));
    }
    *unit = unit.or(here);
    Ok(())
}

/// How times are told.
#[derive(Clone, Copy)]
enum TimeForm {
    Number(TimeUnit),
    Clock,
}

/// The state while reading rows.
struct Rows<'a> {
    text: &'a str,
    names: &'a [String],
    columns: &'a Columns,
    counter_unit: fallwise::units::LengthUnit,
    reading_unit: fallwise::units::TiltUnit,
    time: Option<(usize, TimeForm)>,
    /// Columns kept as text, by their place.
    extra: Vec<(usize, TextColumn)>,
    decimal: Option<DecimalMark>,
    decimal_given: bool,
    /// The first number with a comma, while all of them may as well group thousands.
    grouping: Option<(usize, String)>,
    grouping_excluded: bool,
    blank: usize,
    time_s: Vec<f64>,
    warnings: Vec<String>,
}

impl<'a> Rows<'a> {
    fn new(
        text: &'a str,
        names: &'a [String],
        header_row: usize,
        columns: &'a Columns,
        format: &LogFormat,
        first: &ByteRecord,
    ) -> Result<Self, FileError> {
        let (counter, reading) = (&columns.counter, &columns.reading);
        let counter_unit =
            header::agreed_unit("counter", &counter.name, header_row, counter.unit, format.counter_unit, "ft")?;
        let reading_unit =
            header::agreed_unit("reading", &reading.name, header_row, reading.unit, format.reading_unit, "deg")?;
        let mut warnings = Vec::new();
        let mut time = None;
        if let Some(column) = &columns.time {
            let cell = core::str::from_utf8(first.get(column.index).unwrap_or_default()).unwrap_or_default();
            if number::clock(cell.trim()).is_some() {
                time = Some((column.index, TimeForm::Clock));
            } else if column.unit.is_some() || format.time_unit.is_some() || format.time.is_some() {
                let unit = header::agreed_unit("time", &column.name, header_row, column.unit, format.time_unit, "s")?;
                time = Some((column.index, TimeForm::Number(unit)));
            } else {
                warnings.push(format!("column \"{}\" has no unit and is not used as time", column.name));
            }
        }
        let used = [Some(counter.index), Some(reading.index), time.map(|t| t.0)];
        let extra =
            names.iter().enumerate().filter(|(i, _)| !used.contains(&Some(*i))).map(|(i, n)| (i, TextColumn::new(n)));
        Ok(Self {
            text,
            names,
            columns,
            counter_unit,
            reading_unit,
            time,
            extra: extra.collect(),
            decimal: format.decimal,
            decimal_given: format.decimal.is_some(),
            grouping: None,
            grouping_excluded: false,
            blank: 0,
            time_s: Vec::new(),
            warnings,
        })
    }

    fn take(&mut self, record: &ByteRecord, table: &mut LogTable) -> Result<(), FileError> {
        if record.len() != self.names.len() || record.get(self.columns.counter.index).is_some_and(<[u8]>::is_empty) {
            if record.iter().all(|cell| cell.trim_ascii().is_empty()) {
                self.blank += 1;
                return Ok(());
            }
            self.check_length(record)?;
        }
        let row = row_of(record, self.text);
        let (counter, reading) = (self.columns.counter.index, self.columns.reading.index);
        let counter_m = self.counter_unit.to_si(self.number(record, counter, row)?);
        let reading_rad = self.reading_unit.to_si(self.number(record, reading, row)?);
        match self.time {
            None => {}
            Some((index, TimeForm::Number(unit))) => {
                let time_s = unit.to_si(self.number(record, index, row)?);
                if !time_s.is_finite() {
                    return Err(self.wrong(index, row, cell_text(record, index), "a time of less than 1e308 s"));
                }
                self.time_s.push(time_s);
            }
            Some((index, TimeForm::Clock)) => {
                let cell = cell_text(record, index);
                let time_s = number::clock(cell)
                    .ok_or_else(|| self.wrong(index, row, cell, "a time, such as 00:03:12 or 2024-05-01T10:00:03Z"))?;
                self.time_s.push(time_s);
            }
        }
        for (index, column) in &mut self.extra {
            let cell = cell_text(record, *index);
            // A quote that is opened and not closed swallows the rows after it, up to the next quote.
            if cell.contains('\n') {
                let place = Place::Cell { row, column: shown(column.name()) };
                return Err(FileError::new(place, "a quote is opened and not closed on its line")
                    .value(cell)
                    .expected("cells of one line each"));
            }
            column.push(cell);
        }
        table.counter_m.push(counter_m);
        table.reading_rad.push(reading_rad);
        table.source_row.push(row);
        Ok(())
    }

    /// Too few cells, or too many that are not empty.
    fn check_length(&self, record: &ByteRecord) -> Result<(), FileError> {
        let (found, needed) = (record.len(), self.names.len());
        let more = record.iter().skip(needed).any(|cell| !cell.trim_ascii().is_empty());
        if found >= needed && !more {
            return Ok(());
        }
        let cells = if found == 1 { "cell" } else { "cells" };
        let hint = if more { " (a decimal comma in a log parted by commas must be in quotes)" } else { "" };
        Err(FileError::new(
            Place::Row(row_of(record, self.text)),
            format!("the row has {found} {cells}, the header has {needed}{hint}"),
        ))
    }

    fn number(&mut self, record: &ByteRecord, index: usize, row: usize) -> Result<f64, FileError> {
        let cell = record.get(index).unwrap_or_default().trim_ascii();
        if self.decimal.is_none() {
            self.decimal = cell.iter().find(|b| matches!(b, b'.' | b',')).map(|&b| match b {
                b'.' => DecimalMark::Point,
                _ => DecimalMark::Comma,
            });
        }
        let mark = self.decimal.unwrap_or(DecimalMark::Point);
        if mark == DecimalMark::Comma && !self.grouping_excluded && cell.contains(&b',') {
            self.grouping_excluded = !number::may_group(cell);
            self.grouping.get_or_insert_with(|| (row, String::from_utf8_lossy(cell).into_owned()));
        }
        match number::decimal(cell, mark.byte()) {
            Some(value) => Ok(value),
            None => Err(self.not_a_number(index, row, cell, mark)),
        }
    }

    #[cold]
    fn not_a_number(&self, index: usize, row: usize, cell: &[u8], mark: DecimalMark) -> FileError {
        let cell = String::from_utf8_lossy(cell);
        let other = match mark {
            DecimalMark::Point => DecimalMark::Comma,
            DecimalMark::Comma => DecimalMark::Point,
        };
        let numeric = cell.bytes().all(|b| b.is_ascii_digit() || matches!(b, b'.' | b',' | b'-' | b'+'));
        if numeric && cell.bytes().any(|b| b == other.byte()) {
            let why = if self.decimal_given { "given" } else { "found in an earlier number" };
            return self.wrong(index, row, &cell, &format!("a decimal {}, as {why}", mark.word()));
        }
        self.wrong(index, row, &cell, &format!("a number with a decimal {}", mark.word()))
    }

    #[cold]
    fn wrong(&self, index: usize, row: usize, cell: &str, expected: &str) -> FileError {
        let column = self.names.get(index).map(|n| shown(n)).unwrap_or_default();
        let problem =
            if cell.is_empty() { "the cell is empty".to_owned() } else { format!("\"{}\" given", shown(cell)) };
        FileError::new(Place::Cell { row, column }, problem).value(cell).expected(expected)
    }

    fn finish(self, format: &LogFormat, table: &mut LogTable) -> Result<(), FileError> {
        if let (false, false, Some((row, cell))) = (self.decimal_given, self.grouping_excluded, self.grouping) {
            return Err(FileError::new(
                Place::Row(row),
                format!("\"{cell}\" and every other number with a comma may have decimals or grouped thousands"),
            )
            .expected("decimal = \"comma\" in the job, or the numbers without grouping"));
        }
        if table.counter_m.len() < 2 {
            let found = table.counter_m.len();
            return Err(FileError::from_core(
                Place::File,
                fallwise::Error::TooFew { field: "readings".to_owned(), found, needed: 2 },
            ));
        }
        if let Some((_, form)) = self.time {
            let zero = self.time_s.first().copied().unwrap_or_default();
            table.time_s = Some(match form {
                TimeForm::Number(_) => self.time_s,
                TimeForm::Clock => self.time_s.iter().map(|t| t - zero).collect(),
            });
        }
        table.extra = self.extra.into_iter().map(|(_, column)| column).collect();
        table.warnings = self.warnings;
        if self.blank > 0 {
            let rows = if self.blank == 1 { "row" } else { "rows" };
            table.warnings.push(format!("{} {rows} of empty cells passed over", self.blank));
        }
        if let (None, Some(mark)) = (format.decimal, self.decimal) {
            table.found.push(format!("decimal mark: {}", mark.word()));
        }
        let (counter, reading) = (&self.columns.counter, &self.columns.reading);
        table.found.push(format!("counter: column \"{}\", {}", counter.name, self.counter_unit));
        table.found.push(format!("reading: column \"{}\", {}", reading.name, self.reading_unit));
        Ok(())
    }
}

fn cell_text(record: &ByteRecord, index: usize) -> &str {
    // Parts of valid UTF-8 at ASCII delimiters are valid.
    core::str::from_utf8(record.get(index).unwrap_or_default()).unwrap_or_default().trim()
}
