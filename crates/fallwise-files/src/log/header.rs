//! What a log says about itself: its delimiter, and which column is which, in which unit.

use core::{convert::Infallible, str::FromStr};

use fallwise::{
    Error,
    units::{LengthUnit, TiltUnit},
};

use super::{AngleUnit, Delimiter, LogFormat, TemperatureUnit, TimeUnit, number::decimal};
use crate::error::{FileError, Place, shown};

/// Common plain names of the columns, in lower case, with `_` for blanks.
const COUNTER_NAMES: &[&str] = &[
    "cable",
    "cable_length",
    "cable_out",
    "chainage",
    "counter",
    "dist",
    "distance",
    "footage",
    "length",
    "meterage",
    "metreage",
    "station",
];
const READING_NAMES: &[&str] =
    &["angle", "grade", "gradient", "inclination", "incline", "pitch", "reading", "slope", "tilt"];
const TIME_NAMES: &[&str] = &["date_time", "datetime", "elapsed", "elapsed_time", "time", "timestamp"];
const MOVING_NAMES: &[&str] = &["in_motion", "is_moving", "motion", "moving"];
const ROLL_NAMES: &[&str] = &["roll", "roll_angle"];
const TEMPERATURE_NAMES: &[&str] = &["head_temperature", "temp", "temperature"];

/// How many lines are looked at to find the delimiter.
const LINES_LOOKED_AT: usize = 20;

/// A header in quotes goes over at most this many lines. Our choice.
const HEADER_LINES: usize = 8;

/// A column in use: its place, and its unit where the header or the units line says one.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Column<U> {
    pub(super) index: usize,
    pub(super) name: String,
    pub(super) unit: Option<U>,
    /// A word that stands where a unit would and is none, and its row.
    pub(super) odd: Option<(usize, Error)>,
    /// Whether the job named it; else it only looks like one.
    pub(super) given: bool,
}

/// The columns of a log, by their names.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Columns {
    pub(super) counter: Column<LengthUnit>,
    pub(super) reading: Column<TiltUnit>,
    pub(super) time: Option<Column<TimeUnit>>,
    pub(super) moving: Option<Column<NoUnit>>,
    pub(super) roll: Option<Column<AngleUnit>>,
    pub(super) temperature: Option<Column<TemperatureUnit>>,
    /// The column that says which lateral a row is of, in a table of many.
    pub(super) id: Option<Column<NoUnit>>,
    /// Columns that look like one of the optional ones and are not used.
    pub(super) warnings: Vec<String>,
}

/// A column that looks like an optional one, and has a cell that it cannot have.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Unused {
    index: usize,
    why: String,
}

impl Unused {
    /// The fault of the cell says why.
    #[cold]
    pub(super) fn new(index: usize, what: &str, error: &FileError) -> Self {
        let said = match error.value.as_deref() {
            None | Some("") => "the cell is empty".to_owned(),
            Some(cell) => format!("\"{}\" is not {}", shown(cell), error.expected.as_deref().unwrap_or_default()),
        };
        let place = error.place.to_string();
        let place = place.trim_start_matches(", ");
        Self { index, why: format!("{place}: {said}; the column is kept as text, not used as {what}") }
    }
}

impl Columns {
    /// Leaves out the optional columns that turned out not to be what they look like.
    pub(super) fn leave_out(&mut self, unused: &[Unused]) {
        let is = |index: usize| unused.iter().any(|u| u.index == index);
        self.time.take_if(|c| is(c.index));
        self.moving.take_if(|c| is(c.index));
        self.roll.take_if(|c| is(c.index));
        self.temperature.take_if(|c| is(c.index));
        self.warnings.extend(unused.iter().map(|u| u.why.clone()));
    }
}

/// The unit of what has none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct NoUnit(Infallible);

impl FromStr for NoUnit {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self, Error> {
        Err(Error::unknown("unit", text, []))
    }
}

/// The delimiter that parts the header into as many cells as most lines below it; a tab or semicolon goes before a
/// comma, which may be a decimal mark. The header begins the text.
pub(super) fn find_delimiter(text: &str) -> Option<Delimiter> {
    let known = [Delimiter::Tab, Delimiter::Semicolon, Delimiter::Comma];
    let header = |delimiter: &Delimiter| header_of(text, delimiter.byte());
    let agreeing = |delimiter: &Delimiter| {
        let (end, cells) = header(delimiter);
        let below = text.get(end..).unwrap_or_default();
        let mut lines = below.lines().filter(|line| !is_skipped(line));
        let counts: Vec<usize> =
            lines.by_ref().take(LINES_LOOKED_AT - 1).map(|l| scan(l, delimiter.byte()).0).collect();
        cells > 0 && 2 * counts.iter().filter(|c| **c == cells).count() >= counts.len()
    };
    let most = || known.into_iter().rev().max_by_key(|d| header(d).1);
    known.into_iter().find(agreeing).or_else(most).filter(|d| header(d).1 > 0)
}

/// Whether a line is blank or a comment.
pub(super) fn is_skipped(line: &str) -> bool {
    line.starts_with('#') || line.trim().is_empty()
}

/// Whether a line has a word in it that a needed column may be called by.
pub(super) fn names_a_column(line: &str) -> bool {
    let cells = || line.split([',', ';', '\t']).map(plain);
    cells().any(|cell| [COUNTER_NAMES, READING_NAMES].concat().iter().any(|name| begins_with(&cell, name)))
}

/// Whether a line holds numbers, two at least, and nothing else.
pub(super) fn is_numbers(line: &str) -> bool {
    let is_number = |cell: &str| [b'.', b','].iter().any(|mark| decimal(cell.as_bytes(), *mark).is_some());
    [',', ';', '\t'].iter().any(|d| {
        let mut cells = line.split(*d).map(str::trim).filter(|cell| !cell.is_empty());
        cells.clone().count() > 1 && cells.all(is_number)
    })
}

/// Whether a plain name begins with the words of another.
fn begins_with(name: &str, words: &str) -> bool {
    name.strip_prefix(words).is_some_and(|rest| rest.is_empty() || rest.starts_with('_'))
}

/// Where the header ends, which begins the text, and how many delimiters it has outside quotes.
fn header_of(text: &str, delimiter: u8) -> (usize, usize) {
    let mut end = 0;
    let mut first = None;
    for line in text.split_inclusive('\n').take(HEADER_LINES) {
        end += line.len();
        let (count, open) = scan(text.get(..end).unwrap_or_default(), delimiter);
        if !open {
            return (end, count);
        }
        first.get_or_insert((end, count));
    }
    first.unwrap_or_default()
}

/// How many delimiters stand outside quotes, and whether a quote is left open. A quote opens at the start of a cell only.
fn scan(text: &str, delimiter: u8) -> (usize, bool) {
    let (mut count, mut quoted, mut at_start) = (0, false, true);
    let mut bytes = text.bytes().peekable();
    while let Some(byte) = bytes.next() {
        if quoted {
            // A quote in quotes is written twice.
            quoted = byte != b'"' || bytes.next_if_eq(&b'"').is_some();
        } else if byte == b'"' && at_start {
            quoted = true;
        } else {
            count += usize::from(byte == delimiter);
            at_start = byte == delimiter;
        }
    }
    (count, quoted)
}

/// Finds the columns in a header; `by` names the one with the id, in a table of many laterals. It is no other column too.
pub(super) fn columns(
    header: &[String],
    row: usize,
    format: &LogFormat,
    by: Option<&str>,
) -> Result<Columns, FileError> {
    let id = by.map(|by| Finder { header, row, id: None }.required("by", Some(by), &[])).transpose()?;
    let find = Finder { header, row, id: id.as_ref().map(|c| c.index) };
    let counter = find.required("counter", format.counter.as_deref(), COUNTER_NAMES)?;
    let reading = find.required("reading", format.reading.as_deref(), READING_NAMES)?;
    let mut used = vec![("counter", counter.index), ("reading", reading.index)];
    used.extend(id.as_ref().map(|c| ("by", c.index)));
    let mut warnings = Vec::new();
    let time = find.beside("time", format.time.as_deref(), TIME_NAMES, &mut used, &mut warnings)?;
    let moving = find.beside("moving", format.moving.as_deref(), MOVING_NAMES, &mut used, &mut warnings)?;
    let roll = find.beside("roll", format.roll.as_deref(), ROLL_NAMES, &mut used, &mut warnings)?;
    let temperature =
        find.beside("temperature", format.temperature.as_deref(), TEMPERATURE_NAMES, &mut used, &mut warnings)?;
    for (i, (what, index)) in used.iter().enumerate() {
        if let Some((other, _)) = used.iter().take(i).find(|(_, other)| other == index) {
            return Err(FileError::new(
                Place::Row(row),
                format!("column \"{}\" is both {other} and {what}", find.name(*index)),
            ));
        }
    }
    Ok(Columns { counter, reading, time, moving, roll, temperature, id, warnings })
}

impl<U: FromStr<Err = Error> + Copy + PartialEq> Column<U> {
    /// Takes what a cell of the units line says.
    pub(super) fn take_unit(&mut self, cell: &str, row: usize) -> Result<(), FileError> {
        let cell = bare_unit(cell);
        if cell.is_empty() {
            return Ok(());
        }
        match cell.parse() {
            Ok(unit) if self.unit.is_some_and(|u| u != unit) => Err(FileError::new(
                Place::Cell { row, column: self.name.clone() },
                "the unit differs from the one in the header",
            )),
            Ok(unit) => {
                self.unit = Some(unit);
                Ok(())
            }
            Err(error) => {
                self.odd.get_or_insert((row, error));
                Ok(())
            }
        }
    }

    /// Agrees the units that header, units line and job give; a missing one is an error, and so are two that differ.
    pub(super) fn agreed(&self, what: &str, row: usize, given: Option<U>, example: &str) -> Result<U, FileError> {
        let column = &self.name;
        let cell = |row: usize| Place::Cell { row, column: column.clone() };
        match (self.unit, given, &self.odd) {
            (Some(a), Some(b), _) if a != b => {
                Err(FileError::new(cell(row), "the log and the job give two different units")
                    .field(format!("{what}_unit"))
                    .expected("one of the two to be corrected or left out"))
            }
            (Some(unit), ..) | (None, Some(unit), _) => Ok(unit),
            (None, None, Some((row, Error::Unknown { what: kind, word, nearest, known }))) => {
                let error = FileError::new(cell(*row), format!("{kind} \"{}\" is not known", shown(word)))
                    .value(word)
                    .expected(format!("one of {known}, or {what}_unit = \"{example}\" in the job"));
                Err(match nearest {
                    Some(near) => error.nearest_is(near),
                    None => error,
                })
            }
            (None, None, _) => Err(FileError::new(cell(row), "the column has no unit").field(what).expected(format!(
                "the unit in the header, such as \"{column} ({example})\", or {what}_unit = \"{example}\" in the job"
            ))),
        }
    }

    /// What to say of a word in place of a unit where the unit is known all the same.
    pub(super) fn oddity(&self, unit: &str) -> Option<String> {
        let Some((row, Error::Unknown { what, word, .. })) = &self.odd else { return None };
        let (column, word) = (&self.name, shown(word));
        Some(format!("row {row}, column \"{column}\": {what} \"{word}\" is not known; {unit} is used"))
    }

    /// Why a column that only looks like one, and has no unit, is not used.
    pub(super) fn unused(&self, what: &str) -> String {
        let column = &self.name;
        match &self.odd {
            Some((row, Error::Unknown { what: kind, word, known, .. })) => format!(
                "row {row}, column \"{column}\": {kind} \"{}\" is not known (known: {known}); the column is kept as text, \
                 not used as {what}",
                shown(word)
            ),
            _ => format!("column \"{column}\" has no unit and is not used as {what}"),
        }
    }
}

/// Whether a cell of the units line has a unit of this kind.
pub(super) fn is_unit<U: FromStr>(cell: &str, _of: &Column<U>) -> bool {
    bare_unit(cell).parse::<U>().is_ok()
}

/// What stands in a cell of a units line: the unit, with or without brackets.
fn bare_unit(cell: &str) -> &str {
    cell.trim().trim_start_matches(['(', '[']).trim_end_matches([')', ']']).trim()
}

struct Finder<'a> {
    header: &'a [String],
    row: usize,
    /// The column of the ids, which is not taken for another because of its name.
    id: Option<usize>,
}

impl Finder<'_> {
    fn required<U: FromStr<Err = Error>>(
        &self,
        what: &str,
        given: Option<&str>,
        names: &[&str],
    ) -> Result<Column<U>, FileError> {
        self.optional(what, given, names)?.ok_or_else(|| {
            let there = self.listed();
            if self.header.iter().any(|h| h.trim().parse::<f64>().is_ok()) {
                return FileError::new(Place::Row(self.row), "the first row holds numbers, not names of columns")
                    .expected("a header row, such as \"distance (ft),tilt (deg)\"");
            }
            let near = self.header.iter().find(|h| names.iter().any(|name| begins_with(&plain(h), name)));
            let near =
                near.map(|h| format!("; \"{}\" is not taken for it, since it ends in no unit that is known", shown(h)));
            FileError::new(Place::Row(self.row), format!("no column is the {what}{}", near.unwrap_or_default()))
                .expected(format!("{what} = \"…\" in the job with one of the columns: {there}"))
        })
    }

    /// A column that may be there. One that was not asked for, and is in doubt or in use, is left alone.
    fn beside<U: FromStr<Err = Error>>(
        &self,
        what: &'static str,
        given: Option<&str>,
        names: &[&str],
        used: &mut Vec<(&'static str, usize)>,
        warnings: &mut Vec<String>,
    ) -> Result<Option<Column<U>>, FileError> {
        let found = match self.optional(what, given, names) {
            Ok(found) => found.filter(|c| c.given || !used.iter().any(|(_, index)| *index == c.index)),
            Err(error) if given.is_some() => return Err(error),
            Err(error) => {
                warnings.push(format!("{}; none is used unless the job names one", error.problem));
                None
            }
        };
        used.extend(found.as_ref().map(|c| (what, c.index)));
        Ok(found)
    }

    fn optional<U: FromStr<Err = Error>>(
        &self,
        what: &str,
        given: Option<&str>,
        names: &[&str],
    ) -> Result<Option<Column<U>>, FileError> {
        let parted = self.header.iter().map(|h| split_unit::<U>(h)).enumerate();
        let found: Vec<(usize, Option<Result<U, Error>>)> = match given {
            Some(given) => {
                let exact = self.header.iter().position(|h| h.trim() == given.trim());
                let same = |i: usize, name: &str| exact.map_or(plain(name) == plain(given), |e| e == i);
                parted.filter(|(i, (name, _))| same(*i, name)).map(|(i, (_, u))| (i, u)).collect()
            }
            None => parted
                .filter(|(i, (name, _))| self.id != Some(*i) && names.contains(&plain(name).as_str()))
                .map(|(i, (_, u))| (i, u))
                .collect(),
        };
        let mut found = found.into_iter();
        match (found.next(), found.next(), given) {
            (Some((index, unit)), None, _) => {
                let (unit, odd) = match unit {
                    None => (None, None),
                    Some(Ok(unit)) => (Some(unit), None),
                    Some(Err(error)) => (None, Some((self.row, error))),
                };
                Ok(Some(Column { index, name: self.name(index), unit, odd, given: given.is_some() }))
            }
            (Some((first, _)), Some((second, _)), _) => {
                let (first, second) = (self.name(first), self.name(second));
                Err(FileError::new(
                    Place::Row(self.row),
                    format!("two columns may be the {what}: \"{first}\" and \"{second}\""),
                )
                .expected(format!("{what} = \"…\" in the job, with the whole name of one column")))
            }
            (None, _, Some(given)) => {
                let there = self.listed();
                Err(FileError::new(Place::Row(self.row), format!("there is no column \"{}\"", shown(given)))
                    .field(what)
                    .value(given)
                    .nearest(given, self.header.iter().map(String::as_str))
                    .expected(format!("one of the columns: {there}")))
            }
            (None, _, None) => Ok(None),
        }
    }

    fn name(&self, index: usize) -> String {
        self.header.get(index).map(|h| shown(h)).unwrap_or_default()
    }

    /// The columns there are, as many as a message can hold.
    fn listed(&self) -> String {
        const MOST: usize = 20;
        let names = self.header.iter().take(MOST).map(|h| format!("\"{}\"", shown(h)));
        let more = self.header.len().checked_sub(MOST).filter(|n| *n > 0).map(|n| format!("{n} more"));
        names.chain(more).collect::<Vec<_>>().join(", ")
    }
}

/// Parts "distance (ft)", "grade [%]", "tilt_deg" or "time, s" into name and unit. What stands in brackets and is no unit
/// is an error for whoever needs one.
fn split_unit<U: FromStr<Err = Error>>(header: &str) -> (&str, Option<Result<U, Error>>) {
    let header = header.trim();
    for (open, close) in [('(', ')'), ('[', ']')] {
        if let Some((name, rest)) = header.split_once(open) {
            let inside = rest.split_once(close).map_or(rest, |(inside, _)| inside).trim();
            return (name, (!inside.is_empty()).then(|| inside.parse()));
        }
    }
    if let Some(at) = header.rfind(['_', ' ', ',', ':']) {
        let (name, rest) = header.split_at(at);
        if let Ok(unit) = rest.trim_start_matches(['_', ' ', ',', ':']).parse() {
            return (name, Some(Ok(unit)));
        }
    }
    (header, None)
}

/// A name in lower case, with one `_` for whatever parts its words.
fn plain(name: &str) -> String {
    name.to_lowercase().split(|c: char| !c.is_alphanumeric()).filter(|p| !p.is_empty()).collect::<Vec<_>>().join("_")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn delimiters_are_found() {
        assert_eq!(find_delimiter("a,b\n1,2\n"), Some(Delimiter::Comma));
        assert_eq!(find_delimiter("distance, m;tilt, deg\n1,0;0,5\n"), Some(Delimiter::Semicolon));
        assert_eq!(find_delimiter("a\tb\n# x;y;z\n\n1,0\t2,0"), Some(Delimiter::Tab));
        assert_eq!(find_delimiter("\"a;b;c\",d\n1,2\n"), Some(Delimiter::Comma));
        assert_eq!(find_delimiter("distance (\"),tilt\n1,2\n"), Some(Delimiter::Comma));
        assert_eq!(find_delimiter("\"distance\n(m)\";\"a \"\"b\"\"\"\n1,5;2,5\n"), Some(Delimiter::Semicolon));
        assert_eq!(find_delimiter("one\n1\n"), None);
        assert_eq!(find_delimiter(""), None);
    }

    #[test]
    fn names_and_units_are_parted() {
        for header in ["Cable out (ft)", "cable_out_ft", "cable out [ft]", "Cable out, ft", " cable out ft "] {
            let (name, found) = split_unit::<LengthUnit>(header);
            assert_eq!((plain(name).as_str(), found), ("cable_out", Some(Ok(LengthUnit::Ft))), "{header}");
        }
        assert_eq!(split_unit::<LengthUnit>("cable_out"), ("cable_out", None));
    }
}
