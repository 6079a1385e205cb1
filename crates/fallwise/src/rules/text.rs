//! Text in and out of the rules: everything goes through here.

pub(super) use crate::units::{parse_length, parse_slope};

use crate::units::Words;

/// A slope in words.
pub(super) fn slope(words: Words, slope: f64) -> String {
    words.slope(slope)
}

/// A length along the pipe in words.
pub(super) fn length(words: Words, m: f64) -> String {
    words.length(m)
}

/// A small height or depth in words.
pub(super) fn small(words: Words, m: f64) -> String {
    words.small(m)
}

/// A station in words.
pub(super) fn station(words: Words, m: f64) -> String {
    words.station(m)
}

/// A standard deviation of slope, in percent.
pub(super) fn percent(slope: f64) -> String {
    format!("{:.2} %", slope * 100.0)
}
