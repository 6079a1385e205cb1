//! Text in and out of the rules: everything goes through here.

// At merge: `pub(super) use crate::units::{parse_length, parse_slope};` and the bodies of `slope`, `length`, `small`
// and `station` become `words.slope(..)` and so on.

use crate::{error::Error, units::Words};

/// A slope as a ratio from "1/4 in/ft", "2 %", "2 percent", "1 in 40", "18 mm/m".
pub(super) fn parse_slope(text: &str) -> Result<f64, Error> {
    let wrong = || Error::Text {
        text: text.to_owned(),
        reason: "not a slope with its unit".to_owned(),
        expected: "a slope such as \"1/4 in/ft\", \"2 %\" or \"1 in 40\"".to_owned(),
    };
    let t = text.trim();
    let slope = if let Some(n) = t.strip_prefix("1 in ") {
        number(n).filter(|n| *n > 0.0).map(|n| 1.0 / n)
    } else if let Some(n) = t.strip_suffix("in/ft") {
        number(n).map(|n| n / 12.0)
    } else if let Some(n) = t.strip_suffix('%').or_else(|| t.strip_suffix("percent")) {
        number(n).map(|n| n / 100.0)
    } else if let Some(n) = t.strip_suffix("mm/m") {
        number(n).map(|n| n / 1000.0)
    } else {
        None
    };
    slope.filter(|s| s.is_finite()).ok_or_else(wrong)
}

/// A length in metres from "1/2 in", "20 mm", "3 m", "10 ft".
pub(super) fn parse_length(text: &str) -> Result<f64, Error> {
    let wrong = || Error::Text {
        text: text.to_owned(),
        reason: "not a length with its unit".to_owned(),
        expected: "a length such as \"1/2 in\", \"20 mm\" or \"3 m\"".to_owned(),
    };
    let t = text.trim();
    let units = [("in", 0.0254), ("ft", 0.3048), ("mm", 0.001), ("m", 1.0)];
    let length = units.iter().find_map(|(unit, m)| t.strip_suffix(unit).map(|n| number(n).map(|n| n * m)));
    length.flatten().filter(|m| m.is_finite()).ok_or_else(wrong)
}

/// "2", "0.5", "1/4" or "1 1/4".
fn number(text: &str) -> Option<f64> {
    let mut total = 0.0;
    let mut any = false;
    for part in text.split_whitespace() {
        any = true;
        total += match part.split_once('/') {
            Some((a, b)) => a.parse::<f64>().ok()? / b.parse::<f64>().ok()?,
            None => part.parse::<f64>().ok()?,
        };
    }
    (any && f64::is_finite(total)).then_some(total)
}

/// A slope in words.
pub(super) fn slope(words: Words, slope: f64) -> String {
    let percent = slope * 100.0;
    if slope.abs() < 1e-6 {
        return "level".to_owned();
    }
    let backfall = if slope < 0.0 { " backfall" } else { "" };
    match words {
        Words::Us => format!("{:.2} % ({:.3} in/ft){backfall}", percent.abs(), slope.abs() * 12.0),
        Words::Uk => format!("1 in {:.0}{backfall} ({:.2} %)", 1.0 / slope.abs(), percent.abs()),
    }
}

/// A length along the pipe in words.
pub(super) fn length(words: Words, m: f64) -> String {
    match words {
        Words::Us => format!("{:.1} ft", m / 0.3048),
        Words::Uk => format!("{m:.2} m"),
    }
}

/// A small height or depth in words.
pub(super) fn small(words: Words, m: f64) -> String {
    match words {
        Words::Us => format!("{:.1} in", m / 0.0254),
        Words::Uk => format!("{:.0} mm", m * 1000.0),
    }
}

/// A station in words.
pub(super) fn station(words: Words, m: f64) -> String {
    match words {
        Words::Us => {
            let ft = m / 0.3048;
            format!("{:.0}+{:04.1}", (ft / 100.0).trunc(), (ft % 100.0).abs())
        }
        Words::Uk => format!("chainage {m:.2} m"),
    }
}

/// A standard deviation of slope, in percent.
pub(super) fn percent(slope: f64) -> String {
    format!("{:.2} %", slope * 100.0)
}
