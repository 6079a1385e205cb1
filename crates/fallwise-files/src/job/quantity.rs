//! Quantities in a job: text with a unit, read where they stand, so that a fault has its line and column.

use core::fmt;

use fallwise::{
    model::{Nominal, SizeUnit},
    units::{parse_angle, parse_length, parse_station, parse_tilt},
};
use serde::{
    Deserialize, Deserializer,
    de::{Error, Visitor},
};

use crate::log::{clock_of_day, decimal};

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
    ($(#[$doc:meta])* $name:ident($value:ty), $read:expr, $expected:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq)]
        pub(super) struct $name(pub(super) $value);

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                deserializer.deserialize_any(Text { read: $read, expected: $expected }).map(Self)
            }
        }
    };
}

quantity!(
    /// Metres.
    Length(f64), parse_length, "a length with its unit, such as \"22 ft\" or \"6.7 m\""
);
quantity!(
    /// Metres along the lateral.
    Station(f64), parse_station, "a station with its unit, such as \"42.5 ft\", \"0+42.5\" or \"12.4 m\""
);
quantity!(
    /// Radians, from an angle or a slope.
    Tilt(f64), parse_tilt, "a tilt with its unit, such as \"0.3 deg\", \"2 %\" or \"1/4 in/ft\""
);
quantity!(
    /// Radians.
    Angle(f64), parse_angle, "an angle with its unit, such as \"45 deg\""
);
quantity!(
    /// Radians, right positive.
    Turn(f64), turn, "an angle and a side, such as \"45 deg right\""
);
quantity!(
    /// A share of one.
    Percent(f64), percent, "a percentage, such as \"-0.8 %\""
);
quantity!(
    /// Seconds.
    Span(f64), span, "a time from the start of the recording, such as \"00:03:12\""
);
quantity!(
    /// Seconds, of either sign.
    Offset(f64), offset, "a time, such as \"00:00:12\" or \"-00:00:05\""
);
quantity!(
    /// A nominal size.
    Size(Nominal), size, "a nominal size, such as \"4 in\" or \"DN 100\""
);

fn turn(text: &str) -> Result<f64, String> {
    let trimmed = text.trim();
    let (angle, sign) = if let Some(angle) = trimmed.strip_suffix("right") {
        (angle, 1.0)
    } else if let Some(angle) = trimmed.strip_suffix("left") {
        (angle, -1.0)
    } else {
        return Err(format!(
            "\"{text}\" has no side; expected \"… right\" or \"… left\", looking along growing station"
        ));
    };
    let angle_rad = parse_angle(angle).map_err(|e| e.to_string())?;
    if angle_rad < 0.0 {
        return Err(format!("\"{text}\" has a sign and a side; expected one of them, such as \"45 deg left\""));
    }
    Ok(sign * angle_rad)
}

fn percent(text: &str) -> Result<f64, String> {
    let number = text.trim().strip_suffix('%').map(str::trim_end);
    let value = number.and_then(|n| decimal(n.as_bytes(), b'.').or_else(|| decimal(n.as_bytes(), b',')));
    value.map(|v| v / 100.0).ok_or_else(|| format!("\"{text}\" is not a percentage; expected one such as \"-0.8 %\""))
}

fn span(text: &str) -> Result<f64, String> {
    clock_of_day(text.trim())
        .ok_or_else(|| format!("\"{text}\" is not a time; expected minutes and seconds, such as \"00:03:12\""))
}

fn offset(text: &str) -> Result<f64, String> {
    match text.trim().strip_prefix('-') {
        Some(later) => span(later).map(|s| -s),
        None => span(text),
    }
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
        _ => Err(format!("\"{text}\" is not a nominal size; expected one such as \"4 in\" or \"DN 100\"")),
    }
}

/// A fact for a rule: text, or a number or yes/no as the text it prints as.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(from = "AnyFact")]
pub(super) struct Fact(pub(super) String);

#[derive(Deserialize)]
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
        assert!(span("192").is_err());
        assert_eq!((offset("-00:00:05"), offset("00:12")), (Ok(-5.0), Ok(12.0)));
        assert!(offset("--00:05").is_err());
    }
}
