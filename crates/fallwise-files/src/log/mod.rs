//! The log of a camera: a table in text (CSV), read into counter, reading and time.
//!
//! The delimiter (comma, semicolon, tab), the decimal mark (point, comma) and the columns are given or found, and what
//! was found is said. Units stand in the header ("distance (ft)", "tilt_deg", "grade \[%\]"), in a line of units under
//! it, or in the format given; a missing unit is an error. Rows count as lines of the file, from 1.
//!
//! ```
//! use fallwise_files::log::{self, LogFormat};
//!
//! let table = log::read(b"distance (m);tilt (deg)\n0,0;1,2\n0,5;1,1\n", &LogFormat::default())?;
//! assert_eq!(table.counter_m, [0.0, 0.5]);
//! # Ok::<(), fallwise_files::FileError>(())
//! ```

mod columns;
mod header;
mod number;
mod table;

pub use columns::TextColumn;
pub(crate) use number::{clock_of_day, decimal};
use fallwise::units::{LengthUnit, TiltUnit};
pub use table::read;

/// What is known of a log beforehand; whatever is absent is found in the log or is an error.
#[derive(Debug, Clone, PartialEq, Default)]
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
    /// Line of the file, from 1.
    pub source_row: Vec<usize>,
    /// The columns that are none of the above, as text.
    pub extra: Vec<TextColumn>,
    /// What was found rather than given: delimiter, decimal mark, columns and units.
    pub found: Vec<String>,
    /// Odd but usable input.
    pub warnings: Vec<String>,
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

/// Unit of a column of times.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize)]
#[serde(try_from = "String")]
pub enum TimeUnit {
    /// Seconds.
    Second,
    /// Milliseconds.
    Millisecond,
    /// Minutes.
    Minute,
}

impl TimeUnit {
    fn to_si(self, value: f64) -> f64 {
        match self {
            Self::Second => value,
            Self::Millisecond => value / 1000.0,
            Self::Minute => value * 60.0,
        }
    }
}

impl core::str::FromStr for TimeUnit {
    type Err = fallwise::Error;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        match text.trim().to_lowercase().as_str() {
            "s" | "sec" | "second" | "seconds" => Ok(Self::Second),
            "ms" => Ok(Self::Millisecond),
            "min" | "minute" | "minutes" => Ok(Self::Minute),
            _ => Err(fallwise::Error::unknown("time unit", text, ["s", "ms", "min"])),
        }
    }
}

impl TryFrom<String> for TimeUnit {
    type Error = fallwise::Error;

    fn try_from(text: String) -> Result<Self, Self::Error> {
        text.parse()
    }
}
