//! The logs of many laterals in one table, told apart by a column of ids.

use core::ops::Range;
use std::{collections::BTreeMap, path::Path};

use super::{
    DecimalMark, Delimiter, LogFormat, LogTable, encoding, header,
    table::{Stop, from_the_first, read_text, too_few},
};
use crate::{
    error::{FileError, Place, shown},
    resolver,
};

/// Faults that are kept of one lateral, and of rows that are nobody's: the others are counted. Our choice.
const FAULTS_KEPT: usize = 20;

/// The logs of many laterals, in the order in which their ids first appear. The readings lie in one table; [`ManyLogs::get`]
/// takes those of a lateral out.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ManyLogs {
    /// All readings that could be read, in the order of the file.
    table: LogTable,
    /// Whether times are clock times, which count from the first reading of each lateral.
    clock: bool,
    of: Vec<OfId>,
    nobodys: Faults,
}

/// What one lateral has in the table.
#[derive(Debug, Clone, PartialEq, Default)]
struct OfId {
    id: String,
    /// Its readings in the table, in blocks of successive rows.
    blocks: Vec<Range<usize>>,
    /// The first row where its id stands with blanks around it.
    blanks: Option<usize>,
    faults: Faults,
}

/// Faults, of which the first are kept.
#[derive(Debug, Clone, PartialEq, Default)]
struct Faults {
    kept: Vec<FileError>,
    more: usize,
}

impl Faults {
    fn push(&mut self, fault: FileError) {
        if self.kept.len() < FAULTS_KEPT { self.kept.push(fault) } else { self.more += 1 }
    }
}

/// The log of one lateral out of many.
#[derive(Debug, Clone, PartialEq)]
pub struct LogOf<'a> {
    /// Its id, as text.
    pub id: &'a str,
    /// Its log, as if it were alone; or why it cannot be used: each fault with its row, the first twenty of them.
    pub log: Result<LogTable, Vec<FileError>>,
    /// How many more faults there are.
    pub more_faults: usize,
}

impl ManyLogs {
    /// How many laterals there are.
    pub fn len(&self) -> usize {
        self.of.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.of.is_empty()
    }

    /// Their ids, in the order in which they first appear.
    pub fn ids(&self) -> impl Iterator<Item = &str> {
        self.of.iter().map(|of| of.id.as_str())
    }

    /// What was found rather than given: delimiter, decimal mark, columns and units.
    pub fn found(&self) -> &[String] {
        &self.table.found
    }

    /// Odd but usable input of the table as a whole. What is odd of one lateral stands in its own log.
    pub fn warnings(&self) -> &[String] {
        &self.table.warnings
    }

    /// Faults of rows without an id, the first twenty, and how many more there are.
    pub fn without_id(&self) -> (&[FileError], usize) {
        (&self.nobodys.kept, self.nobodys.more)
    }

    /// The log of a lateral, by its number from 0.
    pub fn get(&self, number: usize) -> Option<LogOf<'_>> {
        let of = self.of.get(number)?;
        let found = of.blocks.iter().map(Range::len).sum();
        let log = if !of.faults.kept.is_empty() {
            Err(of.faults.kept.clone())
        } else if found < 2 {
            Err(vec![too_few(found)])
        } else {
            Ok(self.part(of))
        };
        Some(LogOf { id: &of.id, log, more_faults: of.faults.more })
    }

    /// The logs, one after the other; each is made when it is asked for.
    pub fn iter(&self) -> impl Iterator<Item = LogOf<'_>> {
        (0..self.len()).filter_map(|number| self.get(number))
    }

    /// The same with rows counted as `rows` says: row i of the table, from 1, is number `rows[i - 1]` in what the table was
    /// cut from. Faults and warnings then name rows that can be found there. A row beyond `rows` keeps its number.
    ///
    /// # Example
    /// ```
    /// use fallwise_files::log::{self, LogFormat};
    ///
    /// let text = "lateral,distance (m),tilt (deg)\nB,0.0,0.9\nB,0.5,?\n";
    /// let part = log::read_many(text.as_bytes(), "lateral", &LogFormat::default())?;
    /// let part = part.renumbered(&[1, 40, 41]);
    /// let faults = part.get(0).and_then(|of| of.log.err()).unwrap_or_default();
    /// assert!(faults[0].to_string().starts_with("input, row 41, column"));
    /// # Ok::<(), fallwise_files::FileError>(())
    /// ```
    #[must_use]
    pub fn renumbered(mut self, rows: &[usize]) -> Self {
        let number = |row: usize| row.checked_sub(1).and_then(|at| rows.get(at)).copied().unwrap_or(row);
        self.table.source_row.iter_mut().for_each(|row| *row = number(*row));
        for of in &mut self.of {
            of.blanks = of.blanks.map(number);
        }
        for fault in self.of.iter_mut().map(|of| &mut of.faults).chain([&mut self.nobodys]).flat_map(|f| &mut f.kept) {
            let place = match fault.place.clone() {
                Place::Row(row) => Place::Row(number(row)),
                Place::Cell { row, column } => Place::Cell { row: number(row), column },
                place => place,
            };
            *fault = fault.clone().at_place(place);
        }
        self
    }

    /// The rows of a lateral as a table of its own.
    fn part(&self, of: &OfId) -> LogTable {
        let all = &self.table;
        let mut time_s = all.time_s.as_deref().map(|values| joined(values, &of.blocks));
        if let (true, Some(time_s)) = (self.clock, &mut time_s) {
            from_the_first(time_s);
        }
        let mut extra = Vec::with_capacity(all.extra.len());
        for column in &all.extra {
            let mut own = super::TextColumn::with_room(column.name(), 0);
            of.blocks.iter().cloned().flatten().for_each(|i| own.push(column.get(i).unwrap_or_default()));
            extra.push(own);
        }
        LogTable {
            counter_m: joined(&all.counter_m, &of.blocks),
            reading_rad: joined(&all.reading_rad, &of.blocks),
            time_s,
            moving: all.moving.as_deref().map(|values| joined(values, &of.blocks)),
            roll_rad: all.roll_rad.as_deref().map(|values| joined(values, &of.blocks)),
            temperature_c: all.temperature_c.as_deref().map(|values| joined(values, &of.blocks)),
            source_row: joined(&all.source_row, &of.blocks),
            extra,
            found: all.found.clone(),
            warnings: self.told(of),
        }
    }

    /// What is odd of one lateral.
    fn told(&self, of: &OfId) -> Vec<String> {
        let mut warnings = Vec::new();
        if let Some(row) = of.blanks {
            warnings.push(format!("row {row}: blanks around the id \"{}\" are left out", shown(&of.id)));
        }
        let row = |i: usize| self.table.source_row.get(i).copied().unwrap_or_default();
        if let [first, second, rest @ ..] = of.blocks.as_slice() {
            let blocks = rest.len() + 2;
            warnings.push(format!(
                "its rows stand in {blocks} blocks, the second from row {}; joined in the order of the file",
                row(second.start)
            ));
            let values = |block: &Range<usize>| {
                (self.table.counter_m.get(block.clone()), self.table.reading_rad.get(block.clone()))
            };
            // Compared with the first alone, so that many blocks take no longer.
            let again = of.blocks.iter().skip(1).find(|b| first.len() > 1 && values(b) == values(first));
            if let Some(again) = again {
                warnings.push(format!(
                    "rows {} to {} repeat rows {} to {}: the same readings twice",
                    row(again.start),
                    row(again.end - 1),
                    row(first.start),
                    row(first.end - 1)
                ));
            }
        }
        warnings
    }
}

/// The values of some blocks, one after the other.
fn joined<T: Copy>(values: &[T], blocks: &[Range<usize>]) -> Vec<T> {
    blocks.iter().filter_map(|block| values.get(block.clone())).flatten().copied().collect()
}

/// Rows told apart by their ids, while they are read.
pub(super) struct Groups<'a> {
    pub(super) by: &'a str,
    pub(super) clock: bool,
    of: Vec<OfId>,
    places: BTreeMap<String, usize>,
    /// Place of the id of the row before.
    last: usize,
    nobodys: Faults,
}

impl<'a> Groups<'a> {
    fn new(by: &'a str) -> Self {
        Self { by, clock: false, of: Vec::new(), places: BTreeMap::new(), last: 0, nobodys: Faults::default() }
    }

    /// A row without an id.
    pub(super) fn nobodys(&mut self, fault: FileError) {
        self.nobodys.push(fault);
    }

    /// A reading of an id, the `at`-th of the table.
    pub(super) fn take(&mut self, id: &str, row: usize, at: usize) {
        let follows = self.find(id, row);
        let Some(of) = self.of.get_mut(self.last) else { return };
        match of.blocks.last_mut() {
            Some(block) if follows && block.end == at => block.end += 1,
            _ => of.blocks.push(at..at + 1),
        }
    }

    /// A row of an id that cannot be read.
    pub(super) fn fault(&mut self, id: &str, row: usize, fault: FileError) {
        self.find(id, row);
        if let Some(of) = self.of.get_mut(self.last) {
            of.faults.push(fault);
        }
    }

    /// Finds the place of an id; whether the row before was of it too.
    fn find(&mut self, cell: &str, row: usize) -> bool {
        let id = cell.trim();
        let before = self.last;
        if self.of.get(before).is_none_or(|of| of.id != id) {
            self.last = if let Some(&place) = self.places.get(id) {
                place
            } else {
                self.places.insert(id.to_owned(), self.of.len());
                self.of.push(OfId { id: id.to_owned(), ..OfId::default() });
                self.of.len() - 1
            };
        }
        if let (true, Some(of)) = (id.len() < cell.len(), self.of.get_mut(self.last)) {
            of.blanks.get_or_insert(row);
        }
        self.last == before
    }
}

/// Reads the logs of many laterals from one table in text: `by` names the column that says which lateral a row is of. All
/// else is as [`read`](super::read) has it: units, delimiters, decimal marks, comments, rows as lines of the file from 1.
///
/// Ids are text, so that leading zeros stay; blanks around them are left out, which is said. Rows of one id need not stand
/// together. A row that cannot be read is a fault of its lateral, and one without an id is nobody's: all others are read.
///
/// # Errors
/// What is wrong with the table as a whole: no column of that name, a missing unit, a quote that is not closed.
///
/// # Example
/// ```
/// use fallwise_files::log::{self, LogFormat};
///
/// let text = "lateral,distance (m),tilt (deg)\n007,0.0,1.2\n007,0.5,1.1\nB,0.0,0.9\nB,0.5,?\n";
/// let many = log::read_many(text.as_bytes(), "lateral", &LogFormat::default())?;
/// assert_eq!(many.ids().collect::<Vec<_>>(), ["007", "B"]);
/// let logs: Vec<_> = many.iter().collect();
/// assert_eq!(logs[0].log.as_ref().map(|log| log.counter_m.clone()), Ok(vec![0.0, 0.5]));
/// let faults = logs[1].log.as_ref().unwrap_err();
/// assert_eq!(
///     faults[0].to_string(),
///     "input, row 5, column \"tilt (deg)\": \"?\" given; expected a number with a decimal point"
/// );
/// # Ok::<(), fallwise_files::FileError>(())
/// ```
pub fn read_many(bytes: &[u8], by: &str, format: &LogFormat) -> Result<ManyLogs, FileError> {
    let decoded = encoding::decode(bytes, format)?;
    let mut unused = Vec::new();
    loop {
        let mut groups = Groups::new(by);
        match read_text(&decoded.text, format, &unused, Some(&mut groups)) {
            Ok(mut table) => {
                if decoded.found_utf16 {
                    table.found.insert(0, "encoding: utf-16".to_owned());
                }
                return Ok(ManyLogs { table, clock: groups.clock, of: groups.of, nobodys: groups.nobodys });
            }
            // Rare, at most once a column: read again with the column as text.
            Err(Stop::Unused(column)) => unused.push(column),
            Err(Stop::Fault(error)) => return Err(error),
        }
    }
}

/// Reads the file of such a table.
///
/// # Errors
/// As [`read_many`], with the name of the file; a file that cannot be read.
pub fn read_many_file(path: &Path, by: &str, format: &LogFormat) -> Result<ManyLogs, FileError> {
    let name = path.display().to_string();
    let mut many = read_many(&resolver::read_file(path, &name)?, by, format).map_err(|e| e.in_file(name.as_str()))?;
    let named = |faults: &mut Faults| {
        for fault in &mut faults.kept {
            *fault = fault.clone().in_file(name.as_str());
        }
    };
    named(&mut many.nobodys);
    many.of.iter_mut().for_each(|of| named(&mut of.faults));
    Ok(many)
}

/// A column of a table in memory.
#[derive(Debug, Clone, PartialEq)]
pub struct TableColumn {
    /// Its name, with or without a unit, as in the header of a log.
    pub name: String,
    /// Its cells.
    pub cells: Cells,
}

/// The cells of a column; what is not finite, or absent, is an empty cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Cells {
    /// Numbers.
    Numbers(Vec<f64>),
    /// Texts.
    Texts(Vec<Option<String>>),
}

impl Cells {
    fn len(&self) -> usize {
        match self {
            Self::Numbers(values) => values.len(),
            Self::Texts(values) => values.len(),
        }
    }

    /// A cell as it stands in a table of text; numbers to the bit.
    fn text(&self, row: usize, mark: DecimalMark) -> String {
        match self {
            Self::Numbers(values) => match values.get(row) {
                Some(value) if value.is_finite() && mark == DecimalMark::Comma => {
                    format!("{value:?}").replace('.', ",")
                }
                Some(value) if value.is_finite() => format!("{value:?}"),
                _ => String::new(),
            },
            // On one line, so that rows keep their numbers.
            Self::Texts(values) => {
                values.get(row).and_then(Option::as_deref).unwrap_or_default().replace(['\n', '\r', '\0'], " ")
            }
        }
    }
}

/// The same from columns in memory, under the same rules. Rows count from 1, the first of the cells.
///
/// # Errors
/// As [`read_many`]; columns that are not equally long.
///
/// # Example
/// ```
/// use fallwise_files::log::{self, Cells, LogFormat, TableColumn};
///
/// let column = |name: &str, cells| TableColumn { name: name.to_owned(), cells };
/// let id = |id: &str| Some(id.to_owned());
/// let many = log::read_many_columns(
///     &[
///         column("lateral", Cells::Texts(vec![id("007"), id("007"), id("B"), None])),
///         column("distance (m)", Cells::Numbers(vec![0.0, 0.1, 0.0, 1.0])),
///         column("tilt (rad)", Cells::Numbers(vec![0.02, 0.03, f64::NAN, 0.02])),
///     ],
///     "lateral",
///     &LogFormat::default(),
/// )?;
/// assert_eq!(many.get(0).and_then(|of| of.log.ok()).map(|log| log.reading_rad), Some(vec![0.02, 0.03]));
/// let faults = many.get(1).and_then(|of| of.log.err()).unwrap_or_default();
/// assert_eq!(
///     faults[0].to_string(),
///     "input, row 3, column \"tilt (rad)\": the cell is empty; expected a number with a decimal point"
/// );
/// assert_eq!(many.without_id().0.len(), 1);
/// # Ok::<(), fallwise_files::FileError>(())
/// ```
pub fn read_many_columns(columns: &[TableColumn], by: &str, format: &LogFormat) -> Result<ManyLogs, FileError> {
    let rows = columns.first().map_or(0, |column| column.cells.len());
    if let Some(odd) = columns.iter().find(|column| column.cells.len() != rows) {
        return Err(FileError::new(
            Place::File,
            format!("column \"{}\" has {} cells", shown(&odd.name), odd.cells.len()),
        )
        .expected(format!("{rows}, as the first column has")));
    }
    let names: Vec<String> = columns.iter().map(|column| column.name.clone()).collect();
    let found = header::columns(&names, 0, format, Some(by)).map_err(above)?;
    let mut used = vec![found.counter.index, found.reading.index];
    used.extend(found.id.map(|c| c.index));
    used.extend(found.time.map(|c| c.index));
    used.extend(found.moving.map(|c| c.index));
    used.extend(found.roll.map(|c| c.index));
    used.extend(found.temperature.map(|c| c.index));
    let numbers = columns.iter().any(|column| matches!(column.cells, Cells::Numbers(_)));
    let mark = format.decimal.or(numbers.then_some(DecimalMark::Point));
    let format = LogFormat { delimiter: Some(Delimiter::Semicolon), encoding: None, decimal: mark, ..format.clone() };
    let text = written(columns, &used, rows, mark.unwrap_or(DecimalMark::Point));
    let mut many = read_many(&text, by, &format).map_err(above)?;
    // The header is not a row here.
    many.table.source_row.iter_mut().for_each(|row| *row -= 1);
    for of in &mut many.of {
        of.blanks = of.blanks.map(|row| row - 1);
    }
    for faults in many.of.iter_mut().map(|of| &mut of.faults).chain([&mut many.nobodys]) {
        faults.kept = core::mem::take(&mut faults.kept).into_iter().map(above).collect();
    }
    Ok(many)
}

/// The columns in use as a table of text.
fn written(columns: &[TableColumn], used: &[usize], rows: usize, mark: DecimalMark) -> Vec<u8> {
    let mut text = Vec::new();
    let cell = |text: &mut Vec<u8>, place: usize, content: &str| {
        text.extend_from_slice(if place == 0 { b"\"" } else { b";\"" });
        text.extend_from_slice(content.replace('"', "\"\"").as_bytes());
        text.push(b'"');
    };
    let of_used = || used.iter().filter_map(|&index| columns.get(index)).enumerate();
    for (place, column) in of_used() {
        cell(&mut text, place, &column.name.replace(['\n', '\r', '\0'], " "));
    }
    text.push(b'\n');
    for row in 0..rows {
        for (place, column) in of_used() {
            cell(&mut text, place, &column.cells.text(row, mark));
        }
        text.push(b'\n');
    }
    text
}

/// A fault of a table in memory: its rows count from the first below the header, which is no row.
fn above(fault: FileError) -> FileError {
    let place = match fault.place.clone() {
        Place::Row(row) if row > 1 => Place::Row(row - 1),
        Place::Cell { row, column } if row > 1 => Place::Cell { row: row - 1, column },
        Place::Row(_) | Place::Cell { .. } => Place::File,
        place => place,
    };
    fault.at_place(place)
}
