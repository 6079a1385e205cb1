//! What a log says about itself: its delimiter, and which column is which, in which unit.

use fallwise::units::{LengthUnit, TiltUnit};

use super::{Delimiter, LogFormat, TimeUnit};
use crate::error::{FileError, Place, shown};

/// Common plain names of the three columns, in lower case, with `_` for blanks.
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

/// How many lines are looked at to find the delimiter.
const LINES_LOOKED_AT: usize = 20;

/// A column in use: its place, and its unit where the header or the units line says one.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Column<U> {
    pub(super) index: usize,
    pub(super) name: String,
    pub(super) unit: Option<U>,
}

/// The columns of a log, by their names.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Columns {
    pub(super) counter: Column<LengthUnit>,
    pub(super) reading: Column<TiltUnit>,
    pub(super) time: Option<Column<TimeUnit>>,
}

/// The delimiter that parts the header into as many cells as most lines below it; a tab or semicolon goes before a
/// comma, which may be a decimal mark.
pub(super) fn find_delimiter(text: &str) -> Option<Delimiter> {
    let mut lines = text.lines().filter(|line| !line.trim().is_empty() && !line.starts_with('#')).take(LINES_LOOKED_AT);
    let header = lines.next()?;
    let lines: Vec<&str> = lines.collect();
    let known = [Delimiter::Tab, Delimiter::Semicolon, Delimiter::Comma];
    let agreeing = |delimiter: &Delimiter| {
        let cells = count_outside_quotes(header, delimiter.byte());
        cells > 0
            && 2 * lines.iter().filter(|l| count_outside_quotes(l, delimiter.byte()) == cells).count() >= lines.len()
    };
    let most = || known.into_iter().rev().max_by_key(|d| count_outside_quotes(header, d.byte()));
    known.into_iter().find(agreeing).or_else(most).filter(|d| count_outside_quotes(header, d.byte()) > 0)
}

fn count_outside_quotes(line: &str, delimiter: u8) -> usize {
    let mut quoted = false;
    let mut count = 0;
    for byte in line.bytes() {
        quoted ^= byte == b'"';
        count += usize::from(byte == delimiter && !quoted);
    }
    count
}

/// Finds the columns in a header.
pub(super) fn columns(header: &[String], row: usize, format: &LogFormat) -> Result<Columns, FileError> {
    let find = Finder { header, row };
    let counter = find.required("counter", format.counter.as_deref(), COUNTER_NAMES, |u| u.parse().ok())?;
    let reading = find.required("reading", format.reading.as_deref(), READING_NAMES, |u| u.parse().ok())?;
    let time = find.optional("time", format.time.as_deref(), TIME_NAMES, |u| u.parse().ok())?;
    if counter.index == reading.index {
        return Err(FileError::new(
            Place::Row(row),
            format!("column \"{}\" is both counter and reading", counter.name),
        ));
    }
    Ok(Columns { counter, reading, time })
}

/// What stands in a cell of a units line: the unit, with or without brackets.
pub(super) fn bare_unit(cell: &str) -> &str {
    cell.trim().trim_start_matches(['(', '[']).trim_end_matches([')', ']']).trim()
}

/// Agrees the units that header, units line and job give; a missing one is an error, and so are two that differ.
pub(super) fn agreed_unit<U: Copy + PartialEq>(
    what: &str,
    column: &str,
    row: usize,
    here: Option<U>,
    given: Option<U>,
    example: &str,
) -> Result<U, FileError> {
    let cell = || Place::Cell { row, column: column.to_owned() };
    match (here, given) {
        (Some(a), Some(b)) if a != b => Err(FileError::new(cell(), "the log and the job give two different units")
            .field(format!("{what}_unit"))
            .expected("one of the two to be corrected or left out")),
        (Some(unit), _) | (None, Some(unit)) => Ok(unit),
        (None, None) => Err(FileError::new(cell(), "the column has no unit").field(what).expected(format!(
            "the unit in the header, such as \"{column} ({example})\", or {what}_unit = \"{example}\" in the job"
        ))),
    }
}

struct Finder<'a> {
    header: &'a [String],
    row: usize,
}

impl Finder<'_> {
    fn required<U>(
        &self,
        what: &str,
        given: Option<&str>,
        names: &[&str],
        unit: impl Fn(&str) -> Option<U>,
    ) -> Result<Column<U>, FileError> {
        self.optional(what, given, names, unit)?.ok_or_else(|| {
            let there = self.listed();
            if self.header.iter().any(|h| h.trim().parse::<f64>().is_ok()) {
                return FileError::new(Place::Row(self.row), "the first row holds numbers, not names of columns")
                    .expected("a header row, such as \"distance (ft),tilt (deg)\"");
            }
            FileError::new(Place::Row(self.row), format!("no column is the {what}"))
                .expected(format!("{what} = \"…\" in the job with one of the columns: {there}"))
        })
    }

    fn optional<U>(
        &self,
        what: &str,
        given: Option<&str>,
        names: &[&str],
        unit: impl Fn(&str) -> Option<U>,
    ) -> Result<Option<Column<U>>, FileError> {
        let parted = self.header.iter().map(|h| split_unit(h, &unit)).enumerate();
        let found: Vec<(usize, Option<U>)> = match given {
            Some(given) => {
                let exact = self.header.iter().position(|h| h.trim() == given.trim());
                let same = |i: usize, name: &str| exact.map_or(plain(name) == plain(given), |e| e == i);
                parted.filter(|(i, (name, _))| same(*i, name)).map(|(i, (_, u))| (i, u)).collect()
            }
            None => parted
                .filter(|(_, (name, _))| names.contains(&plain(name).as_str()))
                .map(|(i, (_, u))| (i, u))
                .collect(),
        };
        let mut found = found.into_iter();
        match (found.next(), found.next(), given) {
            (Some((index, unit)), None, _) => Ok(Some(Column { index, name: self.name(index), unit })),
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

/// Parts "distance (ft)", "grade [%]", "tilt_deg" or "time, s" into name and unit.
fn split_unit<U>(header: &str, unit: impl Fn(&str) -> Option<U>) -> (&str, Option<U>) {
    let header = header.trim();
    for (open, close) in [('(', ')'), ('[', ']')] {
        if let Some((name, rest)) = header.split_once(open) {
            return (name, rest.split_once(close).and_then(|(inside, _)| unit(inside.trim())));
        }
    }
    if let Some(at) = header.rfind(['_', ' ', ',', ':']) {
        let (name, rest) = header.split_at(at);
        let unit = unit(rest.trim_start_matches(['_', ' ', ',', ':']));
        if unit.is_some() {
            return (name, unit);
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
        assert_eq!(find_delimiter("# x;y;z\n\na\tb\n1,0\t2,0"), Some(Delimiter::Tab));
        assert_eq!(find_delimiter("\"a;b;c\",d\n1,2\n"), Some(Delimiter::Comma));
        assert_eq!(find_delimiter("one\n1\n"), None);
        assert_eq!(find_delimiter(""), None);
    }

    #[test]
    fn names_and_units_are_parted() {
        let unit = |u: &str| u.parse::<LengthUnit>().ok();
        for header in ["Cable out (ft)", "cable_out_ft", "cable out [ft]", "Cable out, ft", " cable out ft "] {
            let (name, found) = split_unit(header, unit);
            assert_eq!((plain(name).as_str(), found), ("cable_out", "ft".parse().ok()), "{header}");
        }
        assert_eq!(split_unit("cable_out", unit), ("cable_out", None));
    }
}
