//! Units of the columns that only a log has: times, roll, temperature.

use core::str::FromStr;

use fallwise::{Error, error::nearest, units::TiltUnit};

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
    pub(super) fn to_si(self, value: f64) -> f64 {
        match self {
            Self::Second => value,
            Self::Millisecond => value / 1000.0,
            Self::Minute => value * 60.0,
        }
    }

    pub(super) fn word(self) -> &'static str {
        match self {
            Self::Second => "s",
            Self::Millisecond => "ms",
            Self::Minute => "min",
        }
    }
}

impl FromStr for TimeUnit {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self, Error> {
        match text.trim().to_lowercase().as_str() {
            "s" | "sec" | "second" | "seconds" => Ok(Self::Second),
            "ms" => Ok(Self::Millisecond),
            "min" | "minute" | "minutes" => Ok(Self::Minute),
            _ => Err(Error::unknown("time unit", text, ["s", "ms", "min"])),
        }
    }
}

/// Unit of a column of angles that cannot be slopes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize)]
#[serde(try_from = "String")]
pub enum AngleUnit {
    /// Degrees.
    Deg,
    /// Radians.
    Rad,
    /// Milliradians.
    Mrad,
}

impl AngleUnit {
    pub(super) fn to_si(self, value: f64) -> f64 {
        self.as_tilt().to_si(value)
    }

    fn as_tilt(self) -> TiltUnit {
        match self {
            Self::Deg => TiltUnit::Deg,
            Self::Rad => TiltUnit::Rad,
            Self::Mrad => TiltUnit::Mrad,
        }
    }
}

impl FromStr for AngleUnit {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self, Error> {
        match text.parse() {
            Ok(TiltUnit::Deg) => Ok(Self::Deg),
            Ok(TiltUnit::Rad) => Ok(Self::Rad),
            Ok(TiltUnit::Mrad) => Ok(Self::Mrad),
            _ => Err(Error::unknown("unit of angle", text, ["deg", "rad", "mrad"])),
        }
    }
}

impl core::fmt::Display for AngleUnit {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        self.as_tilt().fmt(f)
    }
}

/// Unit of a column of temperatures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize)]
#[serde(try_from = "String")]
pub enum TemperatureUnit {
    /// Degrees Celsius.
    Celsius,
    /// Degrees Fahrenheit.
    Fahrenheit,
}

impl TemperatureUnit {
    pub(super) fn to_celsius(self, value: f64) -> f64 {
        match self {
            Self::Celsius => value,
            Self::Fahrenheit => (value - 32.0) / 1.8,
        }
    }
}

impl FromStr for TemperatureUnit {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self, Error> {
        let lower = text.to_lowercase();
        match lower.trim().trim_start_matches(['\u{b0}', '\u{ba}']).trim_start_matches("deg").trim() {
            "c" | "celsius" | "\u{2103}" => Ok(Self::Celsius),
            "f" | "fahrenheit" | "\u{2109}" => Ok(Self::Fahrenheit),
            _ => Err(Error::Unknown {
                what: "unit of temperature".to_owned(),
                word: text.to_owned(),
                nearest: nearest(text, ["C", "F", "celsius", "fahrenheit"]).map(str::to_owned),
                known: "C, F".to_owned(),
            }),
        }
    }
}

impl core::fmt::Display for TemperatureUnit {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Self::Celsius => "C",
            Self::Fahrenheit => "F",
        })
    }
}

/// Reading a unit from its name through serde.
macro_rules! from_string {
    ($($unit:ident),+) => {$(
        impl TryFrom<String> for $unit {
            type Error = Error;

            fn try_from(text: String) -> Result<Self, Error> {
                text.parse()
            }
        }
    )+};
}

from_string!(TimeUnit, AngleUnit, TemperatureUnit);
