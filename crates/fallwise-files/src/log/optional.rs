//! Columns that a log may have beside counter, reading and time: whether the head moved, its roll, its temperature.

use super::{
    AngleUnit, DecimalMark, LogFormat, LogTable, TemperatureUnit, TextColumn,
    header::{Column, Columns},
    number,
};
use crate::error::{FileError, shown};

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
    name: String,
    /// Its cells, for the case that one cannot be used; none where the job named the column, where that is an error.
    text: Option<TextColumn>,
    moving: Vec<bool>,
    numbers: Vec<f64>,
    /// Why the column is not used.
    odd: Option<String>,
    /// The first number read with a point while the log's decimal mark was not known, and its row.
    pointed: Option<(usize, String)>,
}

/// The optional columns of a log that have a unit, where they need one.
pub(super) fn columns(
    columns: &Columns,
    header_row: usize,
    format: &LogFormat,
    warnings: &mut Vec<String>,
) -> Result<Vec<Optional>, FileError> {
    let mut found = Vec::new();
    if let Some(column) = &columns.moving {
        found.push(Optional::new(column, Kind::Moving));
    }
    if let Some(column) = &columns.roll {
        if column.given || column.unit.or(format.roll_unit).is_some() {
            let unit = column.agreed("roll", header_row, format.roll_unit, "deg")?;
            warnings.extend(column.oddity(&unit.to_string()));
            found.push(Optional::new(column, Kind::Roll(unit)));
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
            found.push(Optional::new(column, Kind::Temperature(unit)));
        } else {
            warnings.push(column.unused("temperature"));
        }
    } else if format.temperature_unit.is_some() {
        warnings.push("temperature_unit is given, and no column is the temperature".to_owned());
    }
    Ok(found)
}

impl Optional {
    fn new<U>(column: &Column<U>, kind: Kind) -> Self {
        Self {
            index: column.index,
            kind,
            name: column.name.clone(),
            text: (!column.given).then(|| TextColumn::new(&column.name)),
            moving: Vec::new(),
            numbers: Vec::new(),
            odd: None,
            pointed: None,
        }
    }

    /// Whether the job named it.
    pub(super) fn is_given(&self) -> bool {
        self.text.is_none()
    }

    /// Takes whether the head moved; `false` where the cell does not say.
    pub(super) fn take_word(&mut self, cell: &str) -> bool {
        let cell = cell.trim();
        let is = |words: &[&str]| words.iter().any(|w| w.eq_ignore_ascii_case(cell));
        let said = is(MOVING);
        self.moving.push(said);
        said || is(AT_REST)
    }

    /// Takes a number.
    pub(super) fn take_number(&mut self, value: f64) {
        self.numbers.push(match self.kind {
            Kind::Moving => value,
            Kind::Roll(unit) => unit.to_si(value),
            Kind::Temperature(unit) => unit.to_celsius(value),
        });
    }

    /// Takes a cell of a column that was not asked for: from the first that cannot be used it is text. The decimal mark is
    /// that of the other numbers; a point needs none.
    pub(super) fn take_cell(&mut self, cell: &str, row: usize, mark: Option<DecimalMark>) {
        if let Some(text) = &mut self.text {
            text.push(cell);
        }
        if self.odd.is_some() {
            return;
        }
        let point_or = mark.unwrap_or(DecimalMark::Point);
        match (self.kind, number::decimal(cell.as_bytes(), point_or.byte())) {
            (Kind::Moving, _) if self.take_word(cell) => {}
            (Kind::Moving, _) => self.is_odd(cell, row, &format!("not {MOVING_EXPECTED}")),
            (_, Some(value)) => {
                if mark.is_none() && cell.contains('.') {
                    self.pointed.get_or_insert_with(|| (row, cell.to_owned()));
                }
                self.take_number(value);
            }
            (_, None) => self.is_odd(cell, row, &format!("no number with a decimal {}", point_or.word())),
        }
    }

    #[cold]
    fn is_odd(&mut self, cell: &str, row: usize, expected: &str) {
        let said =
            if cell.is_empty() { "the cell is empty".to_owned() } else { format!("\"{}\" is {expected}", shown(cell)) };
        let (column, what) = (&self.name, self.kind.word());
        self.odd =
            Some(format!("row {row}, column \"{column}\": {said}; the column is kept as text, not used as {what}"));
    }

    /// Puts the column into the table; if it cannot be used, gives back its text and says why.
    pub(super) fn finish(mut self, mark: Option<DecimalMark>, table: &mut LogTable) -> Option<TextColumn> {
        if let (Some(DecimalMark::Comma), None, Some((row, cell))) = (mark, &self.odd, self.pointed.take()) {
            self.is_odd(&cell, row, "no number with a decimal comma");
        }
        if let Some(why) = self.odd {
            table.warnings.push(why);
            return self.text;
        }
        let (what, column) = (self.kind.word(), &self.name);
        table.found.push(match self.kind {
            Kind::Moving => format!("{what}: column \"{column}\""),
            Kind::Roll(unit) => format!("{what}: column \"{column}\", {unit}"),
            Kind::Temperature(unit) => format!("{what}: column \"{column}\", {unit}"),
        });
        match self.kind {
            Kind::Moving => table.moving = Some(self.moving),
            Kind::Roll(_) => table.roll_rad = Some(self.numbers),
            Kind::Temperature(_) => table.temperature_c = Some(self.numbers),
        }
        None
    }
}
