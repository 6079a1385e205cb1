//! Text in and out of the rules: everything goes through here.

pub(super) use crate::units::{parse_length, parse_slope};

use crate::{
    said,
    units::{Part, Said, Words},
    word,
};

/// Flatter than 1 in 10,000 is called level, as in [`Words::slope`].
const LEVEL: f64 = 1e-4;
/// Limits steeper than this stand for limits that cannot be told.
const UNTOLD: f64 = 10.0;

/// A slope as an end of an interval: "1 in 48", "2.08 %", "level", "0.50 % backwards".
pub(super) fn slope(words: Words, slope: f64) -> Part {
    if slope < 0.0 && !is_level(slope) {
        said!(words, "{slope} backwards", slope = size(slope)).into()
    } else {
        size(slope)
    }
}

/// What a pipe of this mean slope does: "falls 2.08 % on average", "is level on average", "runs backwards at 1 in 200 on
/// average". A mean says nothing of its parts, and must say that it is one.
pub(super) fn falls(words: Words, subject: Part, slope: f64) -> Said {
    if is_level(slope) {
        said!("{subject} is level on average", subject = subject)
    } else if slope < 0.0 {
        said!(words, "{subject} runs backwards at {slope} on average", subject = subject, slope = size(slope))
    } else {
        said!(words, "{subject} falls {slope} on average", subject = subject, slope = size(slope))
    }
}

fn is_level(slope: f64) -> bool {
    slope.abs() < LEVEL
}

fn size(slope: f64) -> Part {
    Part::ShortSlope(slope.abs())
}

/// A limit as printed, with the same in the reader's units where those differ: "1/4 in/ft (2.08 %)".
pub(super) fn limit(words: Words, printed: &str, slope: f64) -> Part {
    let in_own_units = match words {
        Words::Uk => printed.starts_with("1 in ") && !printed.ends_with("DN"),
        Words::Us => printed.ends_with('%'),
    };
    // A limit that cannot be told of this pipe, or is none, is given as printed alone.
    let told = slope.abs() < UNTOLD;
    if in_own_units || is_level(slope) || !told {
        printed.into()
    } else {
        said!(words, "{printed} ({own})", printed = printed, own = Part::ShortSlope(slope)).into()
    }
}

/// A standard deviation of slope, in percent.
pub(super) fn percent(slope: f64) -> Part {
    let percent = slope * 100.0;
    if !percent.is_finite() {
        Part::word(word!("a finite figure"))
    } else if percent < 0.01 {
        said!("less than {size}", size = said!("{n} %", n = Part::Number(0.01, 2))).into()
    } else {
        said!("{n} %", n = Part::Number(percent, 2)).into()
    }
}
