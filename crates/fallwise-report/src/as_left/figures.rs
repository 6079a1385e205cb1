//! Changes with their intervals, in words.

use fallwise::{
    adjust::{Shared, Z_95},
    answers::{Comparison, HeightChange, SlopeChange},
    units::Words,
};

use crate::{
    sure,
    words::{self, at},
};

/// A figure, and its interval.
pub(super) type Figure = (String, String);

/// What was asked.
pub(super) fn asked(comparison: &Comparison) -> String {
    let words = comparison.after.job.report.words;
    let lateral = words::phrases(words).lateral;
    let when = |date: &Option<String>| date.as_ref().map(|d| format!(" of {d}")).unwrap_or_default();
    let first = when(&comparison.before.job.survey.date_time);
    let second = when(&comparison.after.job.survey.date_time);
    format!(
        "What has changed in this {lateral} from the first survey{first} to the second{second}, and how was it left?"
    )
}

/// What the two surveys have in common, as stated.
pub(super) fn shared(comparison: &Comparison) -> &'static str {
    match comparison.shared {
        Shared::Zero => {
            "It was stated that one head made both surveys, used and set up alike, with nothing done to it between them. Its zero \
             error is then the same in both, and what that does to both alike falls out of every change. If the statement is wrong, \
             the intervals of the changes are too narrow."
        }
        Shared::Nothing => {
            "Nothing was stated to be common to the two surveys but the pipe: each head has its own zero error, and every change has \
             the uncertainty of both. If one head made both, used and set up alike, with nothing done to it between them, stating that \
             makes the changes surer."
        }
    }
}

/// How the figures of either survey go with those that it has by itself.
pub(super) fn together(comparison: &Comparison) -> &'static str {
    match comparison.shared {
        Shared::Zero => {
            "Figures here have what both surveys say of the one zero error, so that they may differ from those of either survey by \
             itself above."
        }
        Shared::Nothing => "",
    }
}

/// Where both surveyed.
pub(super) fn common(comparison: &Comparison) -> String {
    let words = comparison.after.job.report.words;
    let length = words.length(comparison.to_m - comparison.from_m);
    format!("{} to {}, {length} on the counter", at(words, comparison.from_m), words.station(comparison.to_m))
}

/// What the heights are.
pub(super) fn heights_are(comparison: &Comparison) -> String {
    if comparison.heights_are == "elevation" {
        return "Heights are elevations of the invert; the two jobs are taken to use one datum.".to_owned();
    }
    let first = at(comparison.after.job.report.words, comparison.from_m);
    format!(
        "Heights of the invert count from {first} in both surveys, because not both know an elevation: if the pipe was raised or \
         lowered there, all heights have changed by that too, and it is not shown."
    )
}

/// A slope of one survey: in percent too, so that the change can be checked.
pub(super) fn slope(words: Words, value: f64, sd: f64) -> Figure {
    let told = match words {
        Words::Uk => format!("{} ({})", words.slope(value), percent(value)),
        Words::Us => words.slope(value),
    };
    (told, words.slope_range(value - Z_95 * sd, value + Z_95 * sd))
}

/// The change of a slope, which is said in percent in either wording.
pub(super) fn slope_change(row: &SlopeChange) -> Figure {
    (signed(&percent(row.change), row.change), sure::range(row.change_low, row.change_high, percent))
}

/// A height of one survey.
pub(super) fn height(comparison: &Comparison, value_m: f64, sd_m: f64) -> Figure {
    let words = comparison.after.job.report.words;
    let say = |m: f64| {
        if comparison.heights_are == "elevation" { words::elevation(words, m) } else { words.small(m) }
    };
    let ends = if sd_m == 0.0 { String::new() } else { sure::normal(value_m, sd_m, say) };
    (say(value_m), ends)
}

/// The change of a height.
pub(super) fn height_change(words: Words, row: &HeightChange) -> Figure {
    let say = |m: f64| words.small(m);
    if row.change_sd_m == 0.0 {
        return (say(row.change_m), "heights count from here".to_owned());
    }
    (signed(&say(row.change_m), row.change_m), sure::range(row.change_low_m, row.change_high_m, say))
}

/// Whether the interval leaves out no change.
pub(super) fn is_changed(row: &HeightChange) -> bool {
    row.change_low_m > 0.0 || row.change_high_m < 0.0
}

fn percent(slope: f64) -> String {
    let text = format!("{:.2} %", 100.0 * slope);
    // A zero has no sign.
    if text == "-0.00 %" { "0.00 %".to_owned() } else { text }
}

/// With a plus where it is more; words stay as they are.
fn signed(text: &str, value: f64) -> String {
    let is_number = text.starts_with(|c: char| c.is_ascii_digit()) && text.contains(|c: char| ('1'..='9').contains(&c));
    if value > 0.0 && is_number { format!("+{text}") } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_go_with_numbers_only() {
        assert_eq!(signed(&percent(0.0123), 0.0123), "+1.23 %");
        assert_eq!(signed(&percent(-0.0123), -0.0123), "-1.23 %");
        assert_eq!(signed(&percent(-0.00001), -0.00001), "0.00 %");
        assert_eq!(signed(&percent(0.00001), 0.00001), "0.00 %");
        assert_eq!(signed(&Words::Uk.small(0.02), 0.02), "+20 mm");
        assert_eq!(signed(&Words::Uk.small(0.0002), 0.0002), "less than 1 mm");
    }
}
