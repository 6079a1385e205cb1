//! Text in and out of the rules: everything goes through here.

pub(super) use crate::units::{parse_length, parse_slope};

use crate::units::Words;

/// Flatter than 1 in 10,000 is called level, as in [`Words::slope`].
const LEVEL: f64 = 1e-4;
/// Limits steeper than this stand for limits that cannot be told.
const UNTOLD: f64 = 10.0;

/// A slope as an end of an interval: "1 in 48", "2.08 %", "level", "0.50 % backwards".
pub(super) fn slope(words: Words, slope: f64) -> String {
    if slope < 0.0 && !is_level(slope) { format!("{} backwards", size(words, slope)) } else { size(words, slope) }
}

/// What a pipe of this mean slope does: "falls 2.08 % on average", "is level on average", "runs backwards at 1 in 200 on
/// average". A mean says nothing of its parts, and must say that it is one.
pub(super) fn falls(words: Words, slope: f64) -> String {
    if !slope.is_finite() {
        "has a slope that is not determined".to_owned()
    } else if is_level(slope) {
        "is level on average".to_owned()
    } else if slope < 0.0 {
        format!("runs backwards at {} on average", size(words, slope))
    } else {
        format!("falls {} on average", size(words, slope))
    }
}

fn is_level(slope: f64) -> bool {
    slope.abs() < LEVEL
}

fn size(words: Words, slope: f64) -> String {
    words.short_slope(slope.abs())
}

/// A limit as printed, with the same in the reader's units where those differ: "1/4 in/ft (2.08 %)".
pub(super) fn limit(words: Words, printed: &str, slope: f64) -> String {
    let own = words.short_slope(slope);
    let in_own_units = match words {
        Words::Uk => printed.starts_with("1 in ") && !printed.ends_with("DN"),
        Words::Us => printed.ends_with('%'),
    };
    // A limit that cannot be told of this pipe, or is none, is given as printed alone.
    let told = slope.abs() < UNTOLD;
    if in_own_units || is_level(slope) || !told { printed.to_owned() } else { format!("{printed} ({own})") }
}

/// A length along the pipe in words.
pub(super) fn length(words: Words, m: f64) -> String {
    words.length(m)
}

/// A small height or depth in words.
pub(super) fn small(words: Words, m: f64) -> String {
    words.small(m)
}

/// A place in words: "chainage 12.40 m".
pub(super) fn at(words: Words, m: f64) -> String {
    words.at(m)
}

/// The two ends of a stretch in words, for after "between".
pub(super) fn both(words: Words, from_m: f64, to_m: f64) -> String {
    words.both(from_m, to_m)
}

/// A standard deviation of slope, in percent.
pub(super) fn percent(slope: f64) -> String {
    let percent = slope * 100.0;
    if !percent.is_finite() {
        "a finite figure".to_owned()
    } else if percent < 0.01 {
        "less than 0.01 %".to_owned()
    } else {
        format!("{percent:.2} %")
    }
}
