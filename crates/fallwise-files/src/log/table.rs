//! Row by row through a log.

use std::path::Path;

use csv::ByteRecord;

use super::{
    DecimalMark, Delimiter, LogFormat, LogTable, TextColumn, TimeUnit, encoding,
    header::{self, Columns, Unused},
    many::Groups,
    number,
    optional::{self, Kind, MOVING_EXPECTED, Optional},
};
use crate::{
    error::{FileError, Place, shown},
    resolver,
};

/// Reads a log. Lines that begin with `#` and blank rows are passed over, and so are rows above the header; a row with
/// missing cells, a cell that is no number where one is needed, and two decimal marks in one log are errors that name the
/// row and column.
///
/// # Errors
/// A [`FileError`] without a file name (see [`FileError::in_file`]).
pub fn read(bytes: &[u8], format: &LogFormat) -> Result<LogTable, FileError> {
    let decoded = encoding::decode(bytes, format)?;
    let mut unused = Vec::new();
    let mut table = loop {
        match read_text(&decoded.text, format, &unused, None) {
            Ok(table) => break table,
            // Rare, at most once a column: read again with the column as text.
            Err(Stop::Unused(column)) => unused.push(column),
            Err(Stop::Fault(error)) => return Err(error),
        }
    };
    if decoded.found_utf16 {
        table.found.insert(0, "encoding: utf-16".to_owned());
    }
    Ok(table)
}

/// Reads the file of a log.
///
/// # Errors
/// As [`read`], with the name of the file; a file that cannot be read.
pub fn read_file(path: &Path, format: &LogFormat) -> Result<LogTable, FileError> {
    let name = path.display().to_string();
    read(&resolver::read_file(path, &name)?, format).map_err(|error| error.in_file(name))
}

/// Why a log is not read to its end.
pub(super) enum Stop {
    Fault(FileError),
    /// A column that nobody asked for, and has a cell that it cannot have.
    Unused(Unused),
}

impl From<FileError> for Stop {
    fn from(error: FileError) -> Self {
        Self::Fault(error)
    }
}

/// Reads a text: of one lateral, or of many, whose rows are then told apart by `groups`.
pub(super) fn read_text(
    text: &str,
    format: &LogFormat,
    unused: &[Unused],
    mut groups: Option<&mut Groups<'_>>,
) -> Result<LogTable, Stop> {
    let by = groups.as_ref().map(|groups| groups.by);
    let Opened { mut csv, names, columns, delimiter, text, rows_above, mut record } =
        Opened::new(text, format, unused, by)?;
    let place = Placed { text, rows_above };
    let header_row = place.row(&record);
    let mut columns = columns;
    let room = room(text, names.len());
    let mut table = LogTable {
        counter_m: Vec::with_capacity(room),
        reading_rad: Vec::with_capacity(room),
        source_row: Vec::with_capacity(room),
        ..LogTable::default()
    };
    let mut blank = 0;
    let mut more = next_filled(&mut csv, &mut record, &mut blank)?;
    if more && take_units_line(&record, place, format, &mut columns)? {
        more = next_filled(&mut csv, &mut record, &mut blank)?;
    }
    let mut rows = Rows::new(place, &names, header_row, &columns, format, delimiter.byte(), &record, room)?;
    rows.blank = blank;
    while more {
        match &mut groups {
            None => rows.take(&record, &mut table)?,
            Some(groups) => rows.take_of_many(&record, &mut table, groups)?,
        }
        more = next(&mut csv, &mut record)?;
    }
    rows.finish(format, &mut table, groups)?;
    if format.delimiter.is_none() {
        table.found.insert(0, format!("delimiter: {}", delimiter.word()));
    }
    Ok(table)
}

/// How many readings a text can hold: no more than lines, and none is shorter than its delimiters, two numbers and a line
/// end. Room for so many at once, so that no list grows, holds at most eight bytes for each byte of the log.
fn room(text: &str, columns: usize) -> usize {
    let line_ends = text.bytes().filter(|b| *b == b'\n').count();
    (line_ends + 1).min(text.len() / (columns + 2) + 1)
}

/// A log read as far as its header.
struct Opened<'t> {
    csv: csv::Reader<&'t [u8]>,
    names: Vec<String>,
    columns: Columns,
    delimiter: Delimiter,
    /// The text from the header on, and how many rows stand above.
    text: &'t str,
    rows_above: usize,
    record: ByteRecord,
}

/// Rows that are looked through for the header. Our choice.
const ROWS_ABOVE: usize = 30;

impl<'t> Opened<'t> {
    /// Finds the header: the first row that names the columns needed.
    fn new(text: &'t str, format: &LogFormat, unused: &[Unused], by: Option<&str>) -> Result<Self, FileError> {
        let mut fault = None;
        let mut start = 0;
        for (row, line) in text.split_inclusive('\n').enumerate().take(ROWS_ABOVE) {
            let (here, skipped) = (text.get(start..).unwrap_or_default(), header::is_skipped(line));
            start += line.len();
            if skipped {
                continue;
            }
            match Self::at(here, row, format, unused, by) {
                Ok(mut opened) => {
                    if fault.is_some() {
                        let rows = if row == 1 { "row 1".to_owned() } else { format!("rows 1 to {row}") };
                        opened.columns.warnings.insert(0, format!("{rows} above the header passed over"));
                    }
                    return Ok(opened);
                }
                // The fault of the first row, or of the first with the name of a column in it.
                Err(error) => {
                    let told = (here.lines().next().is_some_and(header::names_a_column), error);
                    if fault.as_ref().is_none_or(|(named, _)| told.0 && !named) {
                        fault = Some(told);
                    }
                    if header::is_numbers(line) {
                        break;
                    }
                }
            }
        }
        Err(behind_a_comment(text, format, by).or(fault.map(|(_, error)| error)).unwrap_or_else(empty))
    }

    /// The header as the first row of a text.
    fn at(
        text: &'t str,
        rows_above: usize,
        format: &LogFormat,
        unused: &[Unused],
        by: Option<&str>,
    ) -> Result<Self, FileError> {
        let delimiter = match format.delimiter {
            Some(delimiter) => delimiter,
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
        let row = Placed { text, rows_above }.row(&record);
        let names = names(&record, row, delimiter.byte())?;
        if names.len() < 2 {
            return Err(one_column());
        }
        let mut columns = header::columns(&names, row, format, by)?;
        columns.leave_out(unused);
        Ok(Self { csv, names, columns, delimiter, text, rows_above, record })
    }
}

/// The fault of a log whose header is a comment.
fn behind_a_comment(text: &str, format: &LogFormat, by: Option<&str>) -> Option<FileError> {
    let mut lines = text.lines().enumerate().take(ROWS_ABOVE);
    lines.find_map(|(above, line)| {
        let line = line.strip_prefix('#')?.trim_start_matches('#');
        Opened::at(line, above, format, &[], by).ok()?;
        Some(
            FileError::new(Place::Row(above + 1), "the names of the columns stand behind a #, which begins a comment")
                .expected("the # taken away from that row"),
        )
    })
}

/// The names of the columns, on one line each.
fn names(header: &ByteRecord, row: usize, delimiter: u8) -> Result<Vec<String>, FileError> {
    let name = |cell: &[u8]| {
        let name = String::from_utf8_lossy(cell);
        if !name.contains('\n') {
            return Ok(name.trim().to_owned());
        }
        if swallows_rows(cell, delimiter) {
            return Err(open_quote(Place::Row(row), &name));
        }
        Ok(name.split_whitespace().collect::<Vec<_>>().join(" "))
    };
    header.iter().map(name).collect()
}

/// Whether a cell of several lines may have rows in it, because a quote was opened and not closed on its line: every row has
/// a delimiter.
fn swallows_rows(cell: &[u8], delimiter: u8) -> bool {
    cell.contains(&b'\n') && cell.contains(&delimiter)
}

#[cold]
fn open_quote(place: Place, cell: &str) -> FileError {
    FileError::new(place, "a quote is opened and not closed on its line, so that rows may be lost in it")
        .value(cell)
        .expected("cells of one line each, or of several lines without the delimiter")
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

/// The next row with something in it.
fn next_filled(csv: &mut csv::Reader<&[u8]>, record: &mut ByteRecord, blank: &mut usize) -> Result<bool, FileError> {
    while next(csv, record)? {
        if !record.iter().all(|cell| cell.trim_ascii().is_empty()) {
            return Ok(true);
        }
        *blank += 1;
    }
    Ok(false)
}

/// The text that is read, and how many rows of the file stand above it.
#[derive(Clone, Copy)]
struct Placed<'t> {
    text: &'t str,
    rows_above: usize,
}

impl Placed<'_> {
    /// Line of the file at which a record begins, from 1. The reader's own count is of where the last record ended: blank
    /// lines and comments may lie between.
    fn row(self, record: &ByteRecord) -> usize {
        let Some(position) = record.position() else { return 0 };
        let at = |place: u64| usize::try_from(place).unwrap_or(usize::MAX);
        let mut row = self.rows_above + at(position.line());
        let mut rest = self.text.as_bytes().get(at(position.byte())..).unwrap_or_default();
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
}

/// If the row under the header holds units, takes them. It has no digits, and a unit that is known, or words where a unit
/// is missing.
fn take_units_line(
    record: &ByteRecord,
    place: Placed<'_>,
    format: &LogFormat,
    columns: &mut Columns,
) -> Result<bool, FileError> {
    let cell = |index: usize| core::str::from_utf8(record.get(index).unwrap_or_default()).unwrap_or_default().trim();
    let Columns { counter, reading, time, roll, temperature, .. } = columns;
    let (counter_cell, reading_cell) = (cell(counter.index), cell(reading.index));
    if [counter_cell, reading_cell].concat().contains(|c: char| c.is_ascii_digit()) {
        return Ok(false);
    }
    let missing = counter.unit.or(format.counter_unit).is_none() || reading.unit.or(format.reading_unit).is_none();
    let words = missing && !counter_cell.is_empty() && !reading_cell.is_empty();
    if !words && !header::is_unit(counter_cell, counter) && !header::is_unit(reading_cell, reading) {
        return Ok(false);
    }
    let row = place.row(record);
    counter.take_unit(counter_cell, row)?;
    reading.take_unit(reading_cell, row)?;
    time.iter_mut().try_for_each(|c| c.take_unit(cell(c.index), row))?;
    roll.iter_mut().try_for_each(|c| c.take_unit(cell(c.index), row))?;
    temperature.iter_mut().try_for_each(|c| c.take_unit(cell(c.index), row))?;
    Ok(true)
}

/// How times are told.
#[derive(Clone, Copy)]
enum TimeForm {
    Number(TimeUnit),
    Clock,
}

/// The decimal mark of a log, as far as it is known.
struct Decimals {
    mark: Option<DecimalMark>,
    given: bool,
    /// The first number with a comma, while all of them may as well group thousands.
    grouping: Option<(usize, String)>,
    grouping_excluded: bool,
}

impl Decimals {
    /// The number in a cell, and the decimal mark it was read with.
    fn number(&mut self, cell: &[u8], row: usize) -> (Option<f64>, DecimalMark) {
        if self.mark.is_none() {
            self.mark = cell.iter().find(|b| matches!(b, b'.' | b',')).map(|&b| match b {
                b'.' => DecimalMark::Point,
                _ => DecimalMark::Comma,
            });
        }
        let mark = self.mark.unwrap_or(DecimalMark::Point);
        if mark == DecimalMark::Comma && !self.grouping_excluded && cell.contains(&b',') {
            self.grouping_excluded = !number::may_group(cell);
            self.grouping.get_or_insert_with(|| (row, String::from_utf8_lossy(cell).into_owned()));
        }
        (number::decimal(cell, mark.byte()), mark)
    }
}

/// The state while reading rows.
struct Rows<'a> {
    place: Placed<'a>,
    names: &'a [String],
    columns: &'a Columns,
    delimiter: u8,
    counter_unit: fallwise::units::LengthUnit,
    reading_unit: fallwise::units::TiltUnit,
    time: Option<(usize, TimeForm)>,
    optional: Vec<Optional>,
    /// Columns kept as text, by their place.
    extra: Vec<(usize, TextColumn)>,
    decimals: Decimals,
    blank: usize,
    time_s: Vec<f64>,
    warnings: Vec<String>,
}

impl<'a> Rows<'a> {
    fn new(
        place: Placed<'a>,
        names: &'a [String],
        header_row: usize,
        columns: &'a Columns,
        format: &LogFormat,
        delimiter: u8,
        first: &ByteRecord,
        room: usize,
    ) -> Result<Self, FileError> {
        let (counter, reading) = (&columns.counter, &columns.reading);
        let counter_unit = counter.agreed("counter", header_row, format.counter_unit, "ft")?;
        let reading_unit = reading.agreed("reading", header_row, format.reading_unit, "deg")?;
        let mut warnings = columns.warnings.clone();
        warnings.extend(counter.oddity(&counter_unit.to_string()));
        warnings.extend(reading.oddity(&reading_unit.to_string()));
        let mut time = None;
        if let Some(column) = &columns.time {
            let cell = core::str::from_utf8(first.get(column.index).unwrap_or_default()).unwrap_or_default();
            if number::clock(cell.trim()).is_some() {
                time = Some((column.index, TimeForm::Clock));
            } else if column.given || column.unit.or(format.time_unit).is_some() {
                let unit = column.agreed("time", header_row, format.time_unit, "s")?;
                warnings.extend(column.oddity(unit.word()));
                time = Some((column.index, TimeForm::Number(unit)));
            } else {
                warnings.push(column.unused("time"));
            }
        } else if format.time_unit.is_some() {
            warnings.push("time_unit is given, and no column is the time".to_owned());
        }
        let optional = optional::columns(columns, header_row, format, room, &mut warnings)?;
        let mut used = vec![counter.index, reading.index];
        used.extend(time.map(|t| t.0));
        used.extend(optional.iter().map(|o| o.index));
        used.extend(columns.id.as_ref().map(|c| c.index));
        // At most seven, so that looking through them is quick for any number of columns.
        let extra = names.iter().enumerate().filter(|(i, _)| !used.contains(i));
        Ok(Self {
            place,
            names,
            columns,
            delimiter,
            counter_unit,
            reading_unit,
            optional,
            extra: extra.map(|(i, name)| (i, TextColumn::with_room(name, room))).collect(),
            decimals: Decimals {
                mark: format.decimal,
                given: format.decimal.is_some(),
                grouping: None,
                grouping_excluded: false,
            },
            blank: 0,
            time_s: Vec::with_capacity(if time.is_some() { room } else { 0 }),
            time,
            warnings,
        })
    }

    fn take(&mut self, record: &ByteRecord, table: &mut LogTable) -> Result<(), Stop> {
        if record.len() != self.names.len() || record.get(self.columns.counter.index).is_some_and(<[u8]>::is_empty) {
            if record.iter().all(|cell| cell.trim_ascii().is_empty()) {
                self.blank += 1;
                return Ok(());
            }
            self.check_length(record)?;
        }
        let row = self.place.row(record);
        let (counter, reading) = (self.columns.counter.index, self.columns.reading.index);
        let counter_m = self.counter_unit.to_si(self.number(record, counter, row)?);
        let reading_rad = self.reading_unit.to_si(self.number(record, reading, row)?);
        if let Some((index, form)) = self.time {
            let time_s = self.time(record, index, row, form).map_err(|error| {
                if self.columns.time.as_ref().is_some_and(|c| c.given) {
                    Stop::Fault(error)
                } else {
                    Stop::Unused(Unused::new(index, "time", &error))
                }
            })?;
            self.time_s.push(time_s);
        }
        if !self.optional.is_empty() {
            self.take_optional(record, row)?;
        }
        for (index, column) in &mut self.extra {
            let cell = cell_text(record, *index);
            if swallows_rows(cell.as_bytes(), self.delimiter) {
                return Err(open_quote(Place::Cell { row, column: shown(column.name()) }, cell).into());
            }
            column.push(cell);
        }
        table.counter_m.push(counter_m);
        table.reading_rad.push(reading_rad);
        table.source_row.push(row);
        Ok(())
    }

    fn time(&mut self, record: &ByteRecord, index: usize, row: usize, form: TimeForm) -> Result<f64, FileError> {
        match form {
            TimeForm::Number(unit) => {
                let time_s = unit.to_si(self.number(record, index, row)?);
                let told = || self.wrong(index, row, cell_text(record, index), "a time of less than 1e308 s");
                if time_s.is_finite() { Ok(time_s) } else { Err(told()) }
            }
            TimeForm::Clock => {
                let cell = cell_text(record, index);
                let told = || self.wrong(index, row, cell, "a time, such as 00:03:12 or 2024-05-01T10:00:03Z");
                number::clock(cell).ok_or_else(told)
            }
        }
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
            Place::Row(self.place.row(record)),
            format!("the row has {found} {cells}, the header has {needed}{hint}"),
        ))
    }

    fn take_optional(&mut self, record: &ByteRecord, row: usize) -> Result<(), Stop> {
        // Taken out, because `self` reads the numbers.
        let mut columns = core::mem::take(&mut self.optional);
        let taken = columns.iter_mut().try_for_each(|column| self.take_one(column, record, row));
        self.optional = columns;
        taken
    }

    fn take_one(&mut self, column: &mut Optional, record: &ByteRecord, row: usize) -> Result<(), Stop> {
        let (index, cell) = (column.index, cell_text(record, column.index));
        if swallows_rows(cell.as_bytes(), self.delimiter) {
            return Err(self.wrong(index, row, cell, "").into());
        }
        let (kind, mark) = (column.kind, self.decimals.mark);
        let taken = match kind {
            Kind::Moving if column.take_word(cell) => Ok(()),
            Kind::Moving => Err(self.wrong(index, row, cell, MOVING_EXPECTED)),
            _ if column.given => self.number(record, index, row).map(|value| column.take_number(value)),
            _ if column.take_cell(cell, row, mark) => Ok(()),
            _ => Err(self.wrong(
                index,
                row,
                cell,
                &format!("a number with a decimal {}", mark.unwrap_or(DecimalMark::Point).word()),
            )),
        };
        taken.map_err(|error| column.stopped(error))
    }

    /// Takes a row of a table of many laterals. One that cannot be read is a fault of its lateral alone, but where a quote
    /// that was left open may have swallowed rows of others.
    fn take_of_many(&mut self, record: &ByteRecord, table: &mut LogTable, groups: &mut Groups<'_>) -> Result<(), Stop> {
        if record.iter().all(|cell| cell.trim_ascii().is_empty()) {
            self.blank += 1;
            return Ok(());
        }
        let row = self.place.row(record);
        if let Some(at) = record.iter().position(|cell| swallows_rows(cell, self.delimiter)) {
            return Err(self.wrong(at, row, cell_text(record, at), "").into());
        }
        let Some(id) = &self.columns.id else { return Ok(()) };
        let cell = core::str::from_utf8(record.get(id.index).unwrap_or_default()).unwrap_or_default();
        if cell.trim().is_empty() {
            // A row too short for an id, too, is nobody's.
            let fault = self
                .check_length(record)
                .err()
                .unwrap_or_else(|| self.wrong(id.index, row, "", "the id of the lateral that the row is of"));
            groups.nobodys(fault);
            return Ok(());
        }
        let (before, mark_before) = (table.counter_m.len(), self.decimals.mark);
        match self.take(record, table) {
            Ok(()) => groups.take(cell, row, before),
            Err(Stop::Fault(fault)) => {
                self.truncate(before, table);
                // What cannot be read says nothing of how the others are to be read.
                if mark_before.is_none() && !self.decimals.given {
                    self.decimals = Decimals { mark: None, given: false, grouping: None, grouping_excluded: false };
                }
                groups.fault(cell, row, fault);
            }
            Err(unused) => return Err(unused),
        }
        Ok(())
    }

    /// Takes what was taken of a row that cannot be read away again.
    fn truncate(&mut self, rows: usize, table: &mut LogTable) {
        table.counter_m.truncate(rows);
        table.reading_rad.truncate(rows);
        table.source_row.truncate(rows);
        self.time_s.truncate(rows);
        self.optional.iter_mut().for_each(|column| column.truncate(rows));
        self.extra.iter_mut().for_each(|(_, column)| column.truncate(rows));
    }

    fn number(&mut self, record: &ByteRecord, index: usize, row: usize) -> Result<f64, FileError> {
        let cell = record.get(index).unwrap_or_default().trim_ascii();
        match self.decimals.number(cell, row) {
            (Some(value), _) => Ok(value),
            (None, mark) => Err(self.not_a_number(index, row, cell, mark)),
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
            let why = if self.decimals.given { "given" } else { "found in an earlier number" };
            return self.wrong(index, row, &cell, &format!("a number with a decimal {}, as {why}", mark.word()));
        }
        self.wrong(index, row, &cell, &format!("a number with a decimal {}", mark.word()))
    }

    #[cold]
    fn wrong(&self, index: usize, row: usize, cell: &str, expected: &str) -> FileError {
        let column = self.names.get(index).map(|n| shown(n)).unwrap_or_default();
        if swallows_rows(cell.as_bytes(), self.delimiter) {
            return open_quote(Place::Cell { row, column }, cell);
        }
        let problem =
            if cell.is_empty() { "the cell is empty".to_owned() } else { format!("\"{}\" given", shown(cell)) };
        FileError::new(Place::Cell { row, column }, problem).value(cell).expected(expected)
    }

    fn finish(mut self, format: &LogFormat, table: &mut LogTable, groups: Option<&mut Groups<'_>>) -> Result<(), Stop> {
        if let (false, false, Some((row, cell))) =
            (self.decimals.given, self.decimals.grouping_excluded, self.decimals.grouping.take())
        {
            return Err(FileError::new(
                Place::Row(row),
                format!("\"{cell}\" and every other number with a comma may have decimals or grouped thousands"),
            )
            .expected("decimal = \"comma\" in the job, or the numbers without grouping")
            .into());
        }
        if groups.is_none() && table.counter_m.len() < 2 {
            return Err(too_few(table.counter_m.len()).into());
        }
        if let Some((_, form)) = self.time {
            let clock = matches!(form, TimeForm::Clock);
            match groups {
                Some(groups) => groups.clock = clock,
                None if clock => from_the_first(&mut self.time_s),
                None => {}
            }
            table.time_s = Some(self.time_s);
        }
        table.warnings = self.warnings;
        for column in self.optional {
            column.finish(self.decimals.mark, table)?;
        }
        table.extra = self.extra.into_iter().map(|(_, column)| column).collect();
        if self.blank > 0 {
            let rows = if self.blank == 1 { "row" } else { "rows" };
            table.warnings.push(format!("{} {rows} of empty cells passed over", self.blank));
        }
        let optional = core::mem::take(&mut table.found);
        if let (None, Some(mark)) = (format.decimal, self.decimals.mark) {
            table.found.push(format!("decimal mark: {}", mark.word()));
        }
        let (counter, reading) = (&self.columns.counter, &self.columns.reading);
        table.found.push(format!("counter: column \"{}\", {}", counter.name, self.counter_unit));
        table.found.push(format!("reading: column \"{}\", {}", reading.name, self.reading_unit));
        table.found.extend(optional);
        Ok(())
    }
}

/// Clock times as times since the first of them.
pub(super) fn from_the_first(time_s: &mut [f64]) {
    let zero = time_s.first().copied().unwrap_or_default();
    for time in time_s {
        *time -= zero;
    }
}

/// The fault of a log with fewer readings than a line needs.
pub(super) fn too_few(found: usize) -> FileError {
    FileError::from_core(Place::File, fallwise::Error::TooFew { field: "readings".to_owned(), found, needed: 2 })
}

fn cell_text(record: &ByteRecord, index: usize) -> &str {
    // Parts of valid UTF-8 at ASCII delimiters are valid.
    core::str::from_utf8(record.get(index).unwrap_or_default()).unwrap_or_default().trim()
}
