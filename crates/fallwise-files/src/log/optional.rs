//! Columns that a log may have beside counter, reading and time: whether the head moved, its roll, its temperature.

use super::{
    AngleUnit, DecimalMark, LogFormat, LogTable, TemperatureUnit,
    header::{Column, Columns, Unused},
    number,
    table::Stop,
};
use crate::error::{FileError, Place};

/// Words for a head that moved, and for one at rest.
const MOVING: &[&str] = &["1", "yes", "true", "moving"];
const AT_REST: &[&str] = &["0", "no", "false", "rest"];
pub(super) const MOVING_EXPECTED: &str = "1 or 0, yes or no, true or false, moving or rest";

/// What a column tells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Kind {
    Moving,
    Roll(AngleUnit),
    Temperature(TemperatureUnit),
}

impl Kind {
    pub(super) fn word(self) -> &'static str {
        match self {
            Self::Moving => "moving",
            Self::Roll(_) => "roll",
            Self::Temperature(_) => "temperature",
        }
    }
}

/// A column while it is read.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Optional {
    pub(super) index: usize,
    pub(super) kind: Kind,
    /// Whether the job named it: then a cell that cannot be used is an error.
    pub(super) given: bool,
    name: String,
    moving: Vec<bool>,
    /// Cells that do not say whether the head moved.
    unsaid: usize,
    numbers: Vec<f64>,
    /// The first number read with a point while the log's decimal mark was not known, and its row.
    pointed: Option<(usize, String)>,
}

/// The optional columns of a log that have a unit, where they need one.
pub(super) fn columns(
    columns: &Columns,
    header_row: usize,
    format: &LogFormat,
    room: usize,
    warnings: &mut Vec<String>,
) -> Result<Vec<Optional>, FileError> {
    let mut found = Vec::new();
    if let Some(column) = &columns.moving {
        found.push(Optional::new(column, Kind::Moving, room));
    }
    if let Some(column) = &columns.roll {
        if column.given || column.unit.or(format.roll_unit).is_some() {
            let unit = column.agreed("roll", header_row, format.roll_unit, "deg")?;
            warnings.extend(column.oddity(&unit.to_string()));
            found.push(Optional::new(column, Kind::Roll(unit), room));
        } else {
            warnings.push(column.unused("roll"));
        }
    } else if format.roll_unit.is_some() {
        warnings.push("roll_unit is given, and no column is the roll".to_owned());
    }
    if let Some(column) = &columns.temperature {
        if column.given || column.unit.or(format.temperature_unit).is_some() {
            let unit = column.agreed("temperature", header_row, format.temperature_unit, "C")?;
            warnings.extend(column.oddity(&unit.to_string()));
            found.push(Optional::new(column, Kind::Temperature(unit), room));
        } else {
            warnings.push(column.unused("temperature"));
        }
    } else if format.temperature_unit.is_some() {
        warnings.push("temperature_unit is given, and no column is the temperature".to_owned());
    }
    Ok(found)
}

impl Optional {
    fn new<U>(column: &Column<U>, kind: Kind, room: usize) -> Self {
        Self {
            index: column.index,
            kind,
            given: column.given,
            name: column.name.clone(),
            moving: Vec::with_capacity(if kind == Kind::Moving { room } else { 0 }),
            unsaid: 0,
            numbers: Vec::with_capacity(if kind == Kind::Moving { 0 } else { room }),
            pointed: None,
        }
    }

    /// Takes whether the head moved; `false` where the cell holds another word. A head of which nothing is said may have.
    pub(super) fn take_word(&mut self, cell: &str) -> bool {
        let is = |words: &[&str]| words.iter().any(|w| w.eq_ignore_ascii_case(cell));
        self.unsaid += usize::from(cell.is_empty());
        let moved = cell.is_empty() || is(MOVING);
        self.moving.push(moved);
        moved || is(AT_REST)
    }

    /// Takes a number.
    pub(super) fn take_number(&mut self, value: f64) {
        self.numbers.push(match self.kind {
            Kind::Moving => value,
            Kind::Roll(unit) => unit.to_si(value),
            Kind::Temperature(unit) => unit.to_celsius(value),
        });
    }

    /// Takes a number of a column that was not asked for; `false` where it is none. The decimal mark is that of the other
    /// numbers; a point needs none.
    pub(super) fn take_cell(&mut self, cell: &str, row: usize, mark: Option<DecimalMark>) -> bool {
        let Some(value) = number::decimal(cell.as_bytes(), mark.unwrap_or(DecimalMark::Point).byte()) else {
            return false;
        };
        if mark.is_none() && cell.contains('.') {
            self.pointed.get_or_insert_with(|| (row, cell.to_owned()));
        }
        self.take_number(value);
        true
    }

    /// Takes values away from the end.
    pub(super) fn truncate(&mut self, values: usize) {
        self.moving.truncate(values);
        self.numbers.truncate(values);
    }

    /// What a cell that cannot be used means for the log.
    #[cold]
    pub(super) fn stopped(&self, error: FileError) -> Stop {
        if self.given { Stop::Fault(error) } else { Stop::Unused(Unused::new(self.index, self.kind.word(), &error)) }
    }

    /// Puts the column into the table.
    pub(super) fn finish(mut self, mark: Option<DecimalMark>, table: &mut LogTable) -> Result<(), Stop> {
        if let (Some(DecimalMark::Comma), Some((row, cell))) = (mark, self.pointed.take()) {
            let place = Place::Cell { row, column: self.name.clone() };
            let error = FileError::new(place, "").value(cell).expected("a number with a decimal comma");
            return Err(self.stopped(error));
        }
        let (what, column) = (self.kind.word(), &self.name);
        table.found.push(match self.kind {
            Kind::Moving => format!("{what}: column \"{column}\""),
            Kind::Roll(unit) => format!("{what}: column \"{column}\", {unit}"),
            Kind::Temperature(unit) => format!("{what}: column \"{column}\", {unit}"),
        });
        if self.unsaid > 0 {
            let cells = if self.unsaid == 1 { "1 empty cell" } else { &format!("{} empty cells", self.unsaid) };
            table.warnings.push(format!("column \"{column}\": {cells} taken as moving"));
        }
        match self.kind {
            Kind::Moving => table.moving = Some(self.moving),
            Kind::Roll(_) => table.roll_rad = Some(self.numbers),
            Kind::Temperature(_) => table.temperature_c = Some(self.numbers),
        }
        Ok(())
    }
}
