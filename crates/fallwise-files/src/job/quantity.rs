//! Quantities in a job: text with a unit, read where they stand, so that a fault has its line and column; written in SI
//! units, with the digits that give the same number when read.

use core::fmt;

use fallwise::{
    model::{Nominal, SizeUnit},
    units::{
        parse_angle, parse_flow, parse_length, parse_pressure, parse_slope, parse_station, parse_tilt, parse_velocity,
        parse_viscosity,
    },
};
use serde::{
    Deserialize, Deserializer, Serialize, Serializer,
    de::{Error, Visitor},
};

use crate::{
    error::shown,
    log::{clock_of_day, decimal},
};

/// No quantity is longer than this, bytes; the longest that is written has some thirty.
const LONGEST: usize = 400;

/// Text read by a function of the core, or a message that says what was expected.
struct Text<T, E> {
    read: fn(&str) -> Result<T, E>,
    expected: &'static str,
}

impl<T, E: fmt::Display> Visitor<'_> for Text<T, E> {
    type Value = T;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}, in quotes", self.expected)
    }

    fn visit_str<F: Error>(self, text: &str) -> Result<T, F> {
        if text.len() > LONGEST {
            return Err(F::custom(format!("\"{}\" is too long; expected {}", shown(text), self.expected)));
        }
        (self.read)(text).map_err(F::custom)
    }

    fn visit_i64<F: Error>(self, number: i64) -> Result<T, F> {
        Err(F::custom(format!("{number} has no unit; expected {}, in quotes", self.expected)))
    }

    fn visit_u64<F: Error>(self, number: u64) -> Result<T, F> {
        Err(F::custom(format!("{number} has no unit; expected {}, in quotes", self.expected)))
    }

    fn visit_f64<F: Error>(self, number: f64) -> Result<T, F> {
        Err(F::custom(format!("{number} has no unit; expected {}, in quotes", self.expected)))
    }
}

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident($value:ty), $read:expr, $write:expr, $expected:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq)]
        pub(super) struct $name(pub(super) $value);

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                deserializer.deserialize_any(Text { read: $read, expected: $expected }).map(Self)
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                let write: fn(&$value) -> String = $write;
                serializer.collect_str(&write(&self.0))
            }
        }

        #[cfg(feature = "schema")]
        impl schemars::JsonSchema for $name {
            fn schema_name() -> std::borrow::Cow<'static, str> {
                stringify!($name).into()
            }

            fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
                schemars::json_schema!({ "type": "string", "description": $expected })
            }
        }
    };
}

quantity!(
    /// Metres.
    Length(f64), parse_length, |m| format!("{m:?} m"), "a length with its unit, such as \"22 ft\" or \"6.7 m\""
);
quantity!(
    /// Metres along the lateral.
    Station(f64), parse_station, |m| format!("{m:?} m"), "a station with its unit, such as \"42.5 ft\", \"0+42.5\" or \"12.4 m\""
);
quantity!(
    /// Radians, from an angle or a slope.
    Tilt(f64), parse_tilt, |rad| format!("{rad:?} rad"), "a tilt with its unit, such as \"0.3 deg\", \"2 %\" or \"1/4 in/ft\""
);
quantity!(
    /// Radians.
    Angle(f64), parse_angle, |rad| format!("{rad:?} rad"), "an angle with its unit, such as \"45 deg\""
);
quantity!(
    /// Radians, right positive.
    Turn(f64), turn, turn_text, "an angle and a side, such as \"45 deg right\""
);
quantity!(
    /// Fall over level length, from a slope.
    Slope(f64), parse_slope, |slope| format!("{slope:?} m/m"), "a slope with its unit, such as \"2 %\", \"1/4 in/ft\" or \"1 in 40\""
);
quantity!(
    /// A share of one.
    Percent(f64), percent, |share| percent_text(*share), "a percentage, such as \"-0.8 %\""
);
quantity!(
    /// Seconds.
    Span(f64), span, |s| format!("{s:?} s"), "a time from the start of the recording, such as \"00:03:12\""
);
quantity!(
    /// Seconds, of either sign.
    Offset(f64), offset, |s| format!("{s:?} s"), "a time, such as \"00:00:12\" or \"-00:00:05\""
);
quantity!(
    /// Seconds.
    Seconds(f64), seconds, |s| format!("{s:?} s"), "a time with its unit, such as \"0.4 s\" or \"400 ms\""
);
quantity!(
    /// A nominal size.
    Size(Nominal), size, Nominal::to_string, "a nominal size, such as \"4 in\" or \"DN 100\""
);

quantity!(
    /// Cubic metres a second.
    FlowRate(f64), parse_flow, |m3_s| format!("{m3_s:?} m3/s"), "a flow with its unit, such as \"1.2 L/s\" or \"20 gal/min\""
);
quantity!(
    /// Metres a second.
    Velocity(f64), parse_velocity, |m_s| format!("{m_s:?} m/s"), "a velocity with its unit, such as \"0.7 m/s\" or \"2 ft/s\""
);
quantity!(
    /// Pascals.
    Shear(f64), parse_pressure, |pa| format!("{pa:?} Pa"), "a shear with its unit, such as \"1 Pa\" or \"0.02 lb/ft2\""
);
quantity!(
    /// Square metres a second.
    Viscosity(f64), parse_viscosity, |m2_s| format!("{m2_s:?} m2/s"), "a kinematic viscosity with its unit, such as \"1.31 mm2/s\""
);
quantity!(
    /// Degrees Celsius.
    Temperature(f64), temperature, |c| format!("{c:?} C"), "a temperature with its unit, such as \"10 C\" or \"50 F\""
);

/// A temperature, degrees Celsius.
fn temperature(text: &str) -> Result<f64, String> {
    let trimmed = text.trim();
    let number = |of: &str| {
        decimal(of.trim_end().trim_end_matches("deg").trim_end_matches('\u{b0}').trim_end().as_bytes(), b'.')
    };
    let celsius = || trimmed.strip_suffix('C').and_then(number);
    let fahrenheit = || trimmed.strip_suffix('F').and_then(number).map(|f| (f - 32.0) / 1.8);
    celsius().or_else(fahrenheit).ok_or_else(|| {
        format!("\"{}\" is not a temperature with its unit; expected one such as \"10 C\" or \"50 F\"", shown(text))
    })
}

fn turn(text: &str) -> Result<f64, String> {
    let trimmed = text.trim();
    if trimmed.ends_with("down") || trimmed.ends_with("up") {
        return Err(format!(
            "\"{}\" is a bend in the vertical, which the tilt of the head shows by itself: leave it out",
            shown(text)
        ));
    }
    let (angle, sign) = if let Some(angle) = trimmed.strip_suffix("right") {
        (angle, 1.0)
    } else if let Some(angle) = trimmed.strip_suffix("left") {
        (angle, -1.0)
    } else {
        return Err(format!(
            "\"{}\" has no side; expected \"… right\" or \"… left\", looking along growing station",
            shown(text)
        ));
    };
    let angle_rad = parse_angle(angle).map_err(|e| e.to_string())?;
    if angle_rad < 0.0 {
        return Err(format!(
            "\"{}\" has a sign and a side; expected one of them, such as \"45 deg left\"",
            shown(text)
        ));
    }
    Ok(sign * angle_rad)
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "the form of every writer of a quantity")]
fn turn_text(rad: &f64) -> String {
    format!("{:?} rad {}", rad.abs(), if *rad < 0.0 { "left" } else { "right" })
}

/// A percentage, correctly rounded: the digits are read with their point two places further left, since dividing by
/// 100 rounds a second time and cannot give every number.
fn percent(text: &str) -> Result<f64, String> {
    let number = text.trim().strip_suffix('%').map(str::trim_end);
    let share = |number: &str| {
        let lower = number.to_lowercase();
        let (figures, exponent) = lower.split_once('e').unwrap_or((&lower, "0"));
        let exponent = exponent.parse::<i32>().ok()?.checked_sub(2)?;
        let shifted = format!("{figures}e{exponent}");
        decimal(shifted.as_bytes(), b'.').or_else(|| decimal(shifted.as_bytes(), b','))
    };
    number
        .and_then(share)
        .map(|v| v + 0.0)
        .ok_or_else(|| format!("\"{}\" is not a percentage; expected one such as \"-0.8 %\"", shown(text)))
}

/// The percentage that [`percent`] reads as this very number.
fn percent_text(share: f64) -> String {
    let digits = format!("{share:e}");
    match digits.split_once('e').map(|(figures, exponent)| (figures, exponent.parse::<i32>())) {
        // A number of usual size without an exponent.
        Some((figures, Ok(exponent))) => match format!("{figures}e{}", exponent + 2).parse::<f64>() {
            Ok(plain) if percent(&format!("{plain} %")) == Ok(share) => format!("{plain} %"),
            _ => format!("{figures}e{} %", exponent + 2),
        },
        _ => format!("{share} %"),
    }
}

fn span(text: &str) -> Result<f64, String> {
    let seconds = || text.trim().strip_suffix('s').and_then(|n| decimal(n.trim_end().as_bytes(), b'.'));
    clock_of_day(text.trim()).or_else(seconds).ok_or_else(|| {
        format!(
            "\"{}\" is not a time; expected minutes and seconds, such as \"00:03:12\", or seconds, such as \"192 s\"",
            shown(text)
        )
    })
}

fn offset(text: &str) -> Result<f64, String> {
    match text.trim().strip_prefix('-') {
        Some(later) => span(later).map(|s| -s),
        None => span(text),
    }
}

fn seconds(text: &str) -> Result<f64, String> {
    let trimmed = text.trim();
    let number = |of: &str| decimal(of.trim_end().as_bytes(), b'.');
    let milliseconds = || trimmed.strip_suffix("ms").and_then(number).map(|ms| ms / 1000.0);
    let seconds = || trimmed.strip_suffix('s').and_then(number);
    milliseconds().or_else(seconds).ok_or_else(|| {
        format!("\"{}\" is not a time with its unit; expected one such as \"0.4 s\" or \"400 ms\"", shown(text))
    })
}

fn size(text: &str) -> Result<Nominal, String> {
    let lower = text.trim().to_lowercase();
    let (number, unit) = if let Some(number) = lower.strip_prefix("dn") {
        (number, SizeUnit::Dn)
    } else if let Some(number) = lower.strip_suffix("mm") {
        (number, SizeUnit::Dn)
    } else if let Some(number) = ["in", "inch", "\""].iter().find_map(|unit| lower.strip_suffix(unit)) {
        (number, SizeUnit::Inch)
    } else {
        ("", SizeUnit::Inch)
    };
    match decimal(number.trim().as_bytes(), b'.') {
        Some(size) if size > 0.0 => Ok(Nominal { size, unit }),
        _ => Err(format!("\"{}\" is not a nominal size; expected one such as \"4 in\" or \"DN 100\"", shown(text))),
    }
}

/// A fact for a rule: text, or a number or yes/no as the text it prints as.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(from = "AnyFact", into = "AnyFact")]
pub(super) struct Fact(pub(super) String);

#[derive(Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(untagged, expecting = "expected text, a number, true or false")]
enum AnyFact {
    Text(String),
    YesNo(bool),
    Whole(i64),
    Number(f64),
}

impl From<AnyFact> for Fact {
    fn from(fact: AnyFact) -> Self {
        Self(match fact {
            AnyFact::Text(text) => text,
            AnyFact::YesNo(yes) => if yes { "yes" } else { "no" }.to_owned(),
            AnyFact::Whole(number) => number.to_string(),
            AnyFact::Number(number) => number.to_string(),
        })
    }
}

impl From<Fact> for AnyFact {
    fn from(fact: Fact) -> Self {
        Self::Text(fact.0)
    }
}

/// A seed: a whole number, or, since TOML has none above 2^63, one in quotes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Seed(pub(super) u64);

const SEED: &str = "a whole number from 0 to 18446744073709551615 (above 9223372036854775807 in quotes)";

impl<'de> Deserialize<'de> for Seed {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Whole;
        impl Visitor<'_> for Whole {
            type Value = u64;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(SEED)
            }

            fn visit_u64<F: Error>(self, seed: u64) -> Result<u64, F> {
                Ok(seed)
            }

            fn visit_str<F: Error>(self, text: &str) -> Result<u64, F> {
                text.parse().map_err(|_| F::invalid_value(serde::de::Unexpected::Str(text), &self))
            }
        }
        deserializer.deserialize_any(Whole).map(Self)
    }
}

impl Serialize for Seed {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match i64::try_from(self.0) {
            Ok(seed) => serializer.serialize_i64(seed),
            Err(_) => serializer.collect_str(&self.0),
        }
    }
}

#[cfg(feature = "schema")]
impl schemars::JsonSchema for Seed {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Seed".into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({ "type": ["integer", "string"], "minimum": 0, "description": SEED })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn turns() {
        let quarter = core::f64::consts::FRAC_PI_2;
        assert_eq!(turn("90 deg right"), Ok(quarter));
        assert_eq!(turn(" 90 deg left "), Ok(-quarter));
        assert!(turn("90 deg").is_err() && turn("-90 deg left").is_err() && turn("right").is_err());
    }

    #[test]
    fn sizes_and_shares() {
        assert_eq!(size("4 in"), Ok(Nominal { size: 4.0, unit: SizeUnit::Inch }));
        assert_eq!(size("1.5\""), Ok(Nominal { size: 1.5, unit: SizeUnit::Inch }));
        assert_eq!(size("dn100"), Ok(Nominal { size: 100.0, unit: SizeUnit::Dn }));
        assert!(size("4").is_err() && size("DN -1").is_err() && size("big in").is_err());
        assert_eq!(percent("-0.8 %"), Ok(-0.008));
        assert!(percent("-0.008").is_err());
        assert_eq!(span("00:03:12"), Ok(192.0));
        assert_eq!(span("192.5 s"), Ok(192.5));
        assert!(span("192").is_err());
        assert_eq!((offset("-00:00:05"), offset("00:12")), (Ok(-5.0), Ok(12.0)));
        assert!(offset("--00:05").is_err());
        assert_eq!((seconds("0.4 s"), seconds(" 400ms "), seconds("-1 s")), (Ok(0.4), Ok(0.4), Ok(-1.0)));
        for nonsense in ["0.4", "s", "0.4 m", "4 min", ""] {
            assert!(seconds(nonsense).is_err(), "{nonsense}");
        }
        for share in [-0.008, 0.006, 0.1, 0.07, 1.0 / 3.0, 5e-324, 1.797e308, -0.5, 0.0, 0.005999999999999999] {
            assert_eq!(percent(&percent_text(share)), Ok(share), "{}", percent_text(share));
        }
        assert_eq!(percent_text(-0.008), "-0.8 %");
    }
}
