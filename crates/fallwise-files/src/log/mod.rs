//! The log of a camera: a table in text (CSV), read into counter, reading, time, and what else the head tells of itself.
//!
//! The encoding (UTF-8, UTF-16; Latin-1 only when given), the delimiter (comma, semicolon, tab), the decimal mark (point,
//! comma) and the columns are given or found, and what was found is said. Units stand in the header ("distance (ft)", "tilt_deg", "grade \[%\]"), in a line of units under
//! it, or in the format given; a missing unit is an error. Rows count as lines of the file, from 1.
//!
//! Reading holds at most eight bytes for each byte of a log in UTF-8, and 64 KiB; some hundred bytes more for each column
//! beyond a few, and of another encoding the text in UTF-8. Of a table of many laterals ([`read_many`]) it holds at most sixteen
//! bytes for each byte, and 384 for each lateral and each fault that is kept.
//!
//! ```
//! use fallwise_files::log::{self, LogFormat};
//!
//! let table = log::read(b"distance (m);tilt (deg)\n0,0;1,2\n0,5;1,1\n", &LogFormat::default())?;
//! assert_eq!(table.counter_m, [0.0, 0.5]);
//! # Ok::<(), fallwise_files::FileError>(())
//! ```

mod columns;
mod encoding;
mod header;
mod many;
mod number;
mod optional;
mod table;
mod unit;

pub use columns::TextColumn;
use fallwise::units::{LengthUnit, TiltUnit};
pub use many::{Cells, LogOf, ManyLogs, TableColumn, read_many, read_many_columns, read_many_file};
pub(crate) use number::{clock_of_day, decimal};
pub use table::{read, read_file};
pub use unit::{AngleUnit, TemperatureUnit, TimeUnit};

/// What is known of a log beforehand; whatever is absent is found in the log or is an error.
#[derive(Debug, Clone, PartialEq, Default, serde::Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct LogFormat {
    /// Name of the column with the cable out.
    pub counter: Option<String>,
    /// Its unit.
    pub counter_unit: Option<LengthUnit>,
    /// Name of the column with what the head reports.
    pub reading: Option<String>,
    /// Its unit.
    pub reading_unit: Option<TiltUnit>,
    /// Name of the column with the time.
    pub time: Option<String>,
    /// Its unit; not needed for clock times such as `00:03:12`.
    pub time_unit: Option<TimeUnit>,
    /// Name of the column that says whether the head moved.
    pub moving: Option<String>,
    /// Name of the column with the roll of the head.
    pub roll: Option<String>,
    /// Its unit.
    pub roll_unit: Option<AngleUnit>,
    /// Name of the column with the temperature of the head.
    pub temperature: Option<String>,
    /// Its unit.
    pub temperature_unit: Option<TemperatureUnit>,
    /// How the text is written in bytes; UTF-8 and UTF-16 are found.
    pub encoding: Option<Encoding>,
    /// What parts the cells.
    pub delimiter: Option<Delimiter>,
    /// What stands before the fraction of a number.
    pub decimal: Option<DecimalMark>,
}

/// A log as read, one entry a reading in every list.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LogTable {
    /// Cable out, m.
    pub counter_m: Vec<f64>,
    /// What the head reported, rad, sign as logged.
    pub reading_rad: Vec<f64>,
    /// Time, s: as logged, or from the first reading where the log gives clock times.
    pub time_s: Option<Vec<f64>>,
    /// Whether the head moved, where logged.
    pub moving: Option<Vec<bool>>,
    /// Roll of the head, rad, sign as logged, where logged.
    pub roll_rad: Option<Vec<f64>>,
    /// Temperature of the head, degrees Celsius, where logged.
    pub temperature_c: Option<Vec<f64>>,
    /// Line of the file, from 1.
    pub source_row: Vec<usize>,
    /// The columns that are none of the above, as text.
    pub extra: Vec<TextColumn>,
    /// What was found rather than given: delimiter, decimal mark, columns and units.
    pub found: Vec<String>,
    /// Odd but usable input.
    pub warnings: Vec<String>,
}

/// How the text of a log is written in bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize)]
pub enum Encoding {
    /// UTF-8.
    #[serde(rename = "utf-8")]
    Utf8,
    /// UTF-16 of either byte order.
    #[serde(rename = "utf-16")]
    Utf16,
    /// Latin-1 with what Windows-1252 has in place of its second set of control characters.
    #[serde(rename = "latin-1")]
    Latin1,
}

impl Encoding {
    fn word(self) -> &'static str {
        match self {
            Self::Utf8 => "utf-8",
            Self::Utf16 => "utf-16",
            Self::Latin1 => "latin-1",
        }
    }
}

/// What parts the cells of a log.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Delimiter {
    /// `,`
    Comma,
    /// `;`
    Semicolon,
    /// A tab.
    Tab,
}

impl Delimiter {
    fn byte(self) -> u8 {
        match self {
            Self::Comma => b',',
            Self::Semicolon => b';',
            Self::Tab => b'\t',
        }
    }

    fn word(self) -> &'static str {
        match self {
            Self::Comma => "comma",
            Self::Semicolon => "semicolon",
            Self::Tab => "tab",
        }
    }
}

/// What stands before the fraction of a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum DecimalMark {
    /// `.`
    Point,
    /// `,`
    Comma,
}

impl DecimalMark {
    fn byte(self) -> u8 {
        match self {
            Self::Point => b'.',
            Self::Comma => b',',
        }
    }

    fn word(self) -> &'static str {
        match self {
            Self::Point => "point",
            Self::Comma => "comma",
        }
    }
}
