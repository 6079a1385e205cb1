//! Changes with their intervals, in words.

use fallwise::{
    adjust::{Shared, Z_95},
    answers::{Comparison, HeightChange, SlopeChange},
    units::{Part, Voice, Words},
};

use crate::{
    sure,
    tell::{Both, say},
    words::{self, at, percent, stretch},
};

/// A figure, and its interval.
pub(super) type Figure = (String, String);

/// What was asked.
pub(super) fn asked(b: &Both) -> String {
    let t = &b.now;
    let first = match &b.comparison.before.job.survey.date_time {
        Some(date) => say!(t, "the first survey of {date}", date = words::date(t.voice, date)),
        None => t.word("the first survey"),
    };
    let second = match &b.comparison.after.job.survey.date_time {
        Some(date) => say!(t, "the second of {date}", date = words::date(t.voice, date)),
        None => t.word("the second"),
    };
    match t.words {
        Words::Uk => say!(
            t,
            "What has changed in this drain from {first} to {second}, and how was it left?",
            first = first,
            second = second
        ),
        Words::Us => say!(
            t,
            "What has changed in this lateral from {first} to {second}, and how was it left?",
            first = first,
            second = second
        ),
    }
}

/// What the two surveys have in common, as stated.
pub(super) fn shared(b: &Both) -> String {
    match b.comparison.shared {
        Shared::Zero => b.now.word(
            "It was stated that one head made both surveys, used and set up alike, with nothing done to the head between them. Its zero \
             error is then the same in both, and what that does to both alike falls out of every change. If the statement is wrong, \
             the intervals of the changes are too narrow.",
        ),
        Shared::Nothing => b.now.word(
            "Nothing was stated to be common to the two surveys but the pipe: each head has its own zero error, and every change has \
             the uncertainty of both. If one head made both, used and set up alike, with nothing done to the head between them, stating that \
             makes the changes surer.",
        ),
    }
}

/// How the figures of either survey go with those that it has by itself.
pub(super) fn together(b: &Both) -> String {
    match b.comparison.shared {
        Shared::Zero => b.now.word(
            "Figures here have what both surveys say of the one zero error, so that they may differ from those of either survey by \
             itself above.",
        ),
        Shared::Nothing => String::new(),
    }
}

/// Where both surveyed.
pub(super) fn common(b: &Both) -> String {
    let (from_m, to_m) = (b.comparison.from_m, b.comparison.to_m);
    let stretch = stretch(b.now.voice, from_m, to_m);
    say!(b.now, "{stretch}, {length} on the counter", stretch = stretch, length = Part::Length(to_m - from_m))
}

/// What the heights are.
pub(super) fn heights_are(b: &Both) -> String {
    if b.comparison.heights_are == "elevation" {
        return b.now.word("Heights are elevations of the invert; the two jobs are taken to use one datum.");
    }
    say!(
        b.now,
        "Heights of the invert count from {place} in both surveys, because not both know an elevation: if the pipe was raised or \
         lowered there, all heights have changed by that too, and it is not shown.",
        place = at(b.now.voice, b.comparison.from_m)
    )
}

/// A slope of one survey: in percent too, so that the change can be checked.
pub(super) fn slope(v: Voice, value: f64, sd: f64) -> Figure {
    let told = match v.words {
        Words::Uk => format!("{} ({})", v.slope(value), percent(v, value, 2)),
        Words::Us => v.slope(value),
    };
    (told, v.slope_range(value - Z_95 * sd, value + Z_95 * sd))
}

/// The change of a slope, which is said in percent in either wording.
pub(super) fn slope_change(v: Voice, row: &SlopeChange) -> Figure {
    let say = |slope: f64| Part::from(percent(v, slope, 2));
    (signed(v.part(&say(row.change)), row.change), sure::range(v, row.change_low, row.change_high, say))
}

/// A height of one survey.
pub(super) fn height(v: Voice, comparison: &Comparison, value_m: f64, sd_m: f64) -> Figure {
    let say = if comparison.heights_are == "elevation" { Part::Elevation } else { Part::Small };
    let ends = if sd_m == 0.0 { String::new() } else { sure::normal(v, value_m, sd_m, say) };
    (v.part(&say(value_m)), ends)
}

/// The change of a height.
pub(super) fn height_change(v: Voice, row: &HeightChange) -> Figure {
    if row.change_sd_m == 0.0 {
        return (v.small(row.change_m), say!(v, "heights count from here"));
    }
    let ends = sure::range(v, row.change_low_m, row.change_high_m, Part::Small);
    (signed(v.small(row.change_m), row.change_m), ends)
}

/// What was found of a part in one of the two.
pub(super) fn finding(b: &Both, name: Option<&str>) -> String {
    name.map_or_else(|| b.now.word("none of this name"), |name| words::finding(&b.now, name))
}

/// Whether the interval leaves out no change.
pub(super) fn is_changed(row: &HeightChange) -> bool {
    row.change_low_m > 0.0 || row.change_high_m < 0.0
}

/// With a plus where it is more; words stay as they are.
fn signed(text: String, value: f64) -> String {
    let is_number = text.starts_with(|c: char| c.is_ascii_digit()) && text.contains(|c: char| ('1'..='9').contains(&c));
    if value > 0.0 && is_number { format!("+{text}") } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_go_with_numbers_only() {
        let v = Voice::english(Words::Uk);
        let slope = |value: f64| signed(percent(v, value, 2), value);
        assert_eq!(slope(0.0123), "+1.23 %");
        assert_eq!(slope(-0.0123), "-1.23 %");
        assert_eq!(slope(-0.00001), "0.00 %");
        assert_eq!(slope(0.00001), "0.00 %");
        assert_eq!(signed(v.small(0.02), 0.02), "+20 mm");
        assert_eq!(signed(v.small(0.0002), 0.0002), "less than 1 mm");
    }
}
