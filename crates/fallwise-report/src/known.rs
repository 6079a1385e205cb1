//! What is known beside the runs, in words: ties and how they fit, as-built inverts, water that does not go with the shape
//! of the pipe, checks of the head.

use fallwise::{
    Answers,
    adjust::Z_95,
    answers::{AsBuiltRow, FindingRow, NextRow, TieRow, WaterRow, WithoutRow},
    units::Words,
};

use crate::{
    sure,
    text::shorten,
    words::{self, NOT_DETERMINED, at},
};

/// The number under which a tie is spoken of: its own in the job. What came with a run or an as-built invert has none.
pub(crate) fn number(row: &TieRow) -> String {
    if row.number > 0 { row.number.to_string() } else { "-".to_owned() }
}

/// What was measured.
fn kind(row: &TieRow) -> &str {
    match row.kind.as_str() {
        "invert" => "levelled invert",
        "plan" => "position in plan",
        "azimuth" => "direction in plan",
        "depth" => "located depth",
        "height_difference" => "height difference",
        "length" => "true length",
        "reversal_check" => "check of the head by reversal",
        "level_check" => "check of the head on a known surface",
        "water_level" => "two edges of still water",
        "water_depth" => "depth and edge of still water",
        other => other,
    }
}

/// Its name, and under it what it is and where; without a name of its own what it is, and under it where.
pub(crate) fn name(answers: &Answers, row: &TieRow) -> (String, String) {
    let words = answers.job.report.words;
    let tie = row.number.checked_sub(1).and_then(|i| answers.job.ties.get(i));
    // A name that only says what it is, says it once.
    let unnamed = |name: &str| name.is_empty() || name == row.kind.replace('_', " ");
    match (tie.is_some_and(|t| unnamed(&t.name)), row.station_m) {
        (true, Some(_)) => (kind(row).to_owned(), place(words, row)),
        (true, None) => (kind(row).to_owned(), String::new()),
        (false, Some(_)) => (row.name.clone(), format!("{}, {}", kind(row), place(words, row))),
        (false, None) => (row.name.clone(), kind(row).to_owned()),
    }
}

/// The same in one line, a name of its own shortened to so many columns.
pub(crate) fn title(answers: &Answers, row: &TieRow, columns: usize) -> String {
    let (name, below) = name(answers, row);
    if below.is_empty() { name } else { format!("{} ({below})", shorten(&name, columns)) }
}

/// Where it was measured.
fn place(words: Words, row: &TieRow) -> String {
    match (row.station_m, row.to_m) {
        (Some(from_m), Some(to_m)) => format!("{} to {}", at(words, from_m), words.station(to_m)),
        (Some(at_m), None) => at(words, at_m),
        _ => "the head itself".to_owned(),
    }
}

/// A number of a tie as it was measured, or as everything else says it is.
pub(crate) fn figure(words: Words, row: &TieRow, value: f64) -> String {
    if !value.is_finite() {
        return NOT_DETERMINED.to_owned();
    }
    match row.quantity.as_str() {
        "elevation_m" => words::elevation(words, value),
        "east_m" => format!("east {}", words::elevation(words, value)),
        "north_m" => format!("north {}", words::elevation(words, value)),
        "rise_m" if value == 0.0 => "both at one height".to_owned(),
        "rise_m" if value < 0.0 => format!("fall of {}", words.small(-value)),
        "rise_m" => format!("rise of {}", words.small(value)),
        "length_m" => words.length(value),
        _ => size(words, row, value),
    }
}

/// A difference of such numbers, or a standard deviation.
fn size(words: Words, row: &TieRow, value: f64) -> String {
    match row.quantity.as_str() {
        "azimuth_rad" => words.angle(value),
        "zero_rad" => sure::figure(words, "zero_rad", value),
        _ => words.small(value),
    }
}

/// Its standard deviation, in narrow places.
pub(crate) fn short_error(words: Words, row: &TieRow) -> String {
    if row.sd == 0.0 { "taken as exact".to_owned() } else { format!("\u{b1} {}", size(words, row, row.sd)) }
}

/// Its standard deviation.
pub(crate) fn error(words: Words, row: &TieRow) -> String {
    if row.sd == 0.0 { "taken as exact".to_owned() } else { format!("standard deviation {}", size(words, row, row.sd)) }
}

/// By how much it is off, and which way.
pub(crate) fn off(words: Words, row: &TieRow) -> Option<String> {
    let off = row.misclosure.filter(|m| m.is_finite())?;
    let (less, more) = match row.quantity.as_str() {
        "elevation_m" | "rise_m" => ("lower", "higher"),
        "east_m" => ("to the west", "to the east"),
        "north_m" => ("to the south", "to the north"),
        "azimuth_rad" => ("to the left", "to the right"),
        "length_m" => ("shorter", "longer"),
        _ => ("less", "more"),
    };
    let way = match off {
        0.0 => "",
        off if off < 0.0 => less,
        _ => more,
    };
    Some(format!("{} {way}", size(words, row, off.abs())).trim_end().to_owned())
}

/// The same in standard deviations of what it may be off.
pub(crate) fn deviations(row: &TieRow) -> Option<String> {
    let times = row.standardised.filter(|t| t.is_finite())?.abs();
    Some(format!("{times:.1} standard deviations"))
}

/// The smallest error in it that would be found.
pub(crate) fn least(words: Words, row: &TieRow) -> String {
    match row.smallest_detectable.filter(|m| m.is_finite()) {
        Some(least) => size(words, row, least),
        None => "any would hide".to_owned(),
    }
}

/// One word of verdict. `suspect`: it is one of those that must not be missed, whatever it would be called alone.
pub(crate) fn verdict(row: &TieRow, suspect: bool) -> &str {
    match row.verdict.as_str() {
        _ if suspect => "suspect",
        "repeated" => "repeats",
        word => word,
    }
}

/// How a tie fits, in one line.
pub(crate) fn fit(words: Words, row: &TieRow, suspect: bool) -> String {
    match (row.verdict.as_str(), off(words, row), deviations(row)) {
        (_, Some(off), Some(times)) if suspect => format!("DOES NOT FIT ({off}, {times})"),
        ("agrees", Some(off), _) => format!("agrees ({off})"),
        ("large", Some(off), Some(times)) => format!("off by more than it should be ({off}, {times})"),
        ("repeated", ..) => "repeats what holds exactly already".to_owned(),
        ("unchecked", ..) => "nothing else checks it".to_owned(),
        (word, ..) => word.to_owned(),
    }
}

/// Rows that must not be missed: two that explain together what one cannot, or all that fit worst and cannot be told apart.
pub(crate) fn suspects(answers: &Answers) -> Vec<usize> {
    let Some(adjustment) = &answers.adjustment else { return Vec::new() };
    // Rows are counted from 1.
    if let Some((one, other)) = adjustment.suspect_pair_rows {
        return [one, other].into_iter().filter_map(|row| row.checked_sub(1)).collect();
    }
    let rows = answers.ties.iter().enumerate();
    rows.filter(|(_, row)| row.verdict == "suspect").map(|(i, _)| i).collect()
}

/// Whether anything of it does not fit.
pub(crate) fn is_wrong(answers: &Answers) -> bool {
    answers.adjustment.as_ref().is_some_and(|a| a.verdict == "large" || !a.converged)
}

/// What the main figures are with all ties and without the suspect ones: name, with, without; each figure with its interval.
pub(crate) fn without(words: Words, row: &WithoutRow) -> [(String, String); 3] {
    let name = match row.quantity.as_str() {
        "slope" => "mean slope over what was surveyed",
        "fall_m" => "fall over what was surveyed",
        "zero_rad" => "zero error of the head",
        "counter_scale" => "counter: true length less what it shows",
        other => other,
    };
    let cell = |value: f64, sd: f64| {
        let (low, high) = (value - Z_95 * sd, value + Z_95 * sd);
        match row.quantity.as_str() {
            "slope" => (words.slope(value), words.slope_range(low, high)),
            kind => {
                let say = |x: f64| sure::figure(words, kind, x);
                (say(value), sure::range(low, high, say))
            }
        }
    };
    [(name.to_owned(), String::new()), cell(row.value, row.sd), cell(row.without, row.without_sd)]
}

/// Whether an as-built invert and what was measured differ by more than both may be off.
pub(crate) fn differs(row: &AsBuiltRow) -> &'static str {
    match (row.difference_low_m, row.difference_high_m) {
        (low, high) if !(low.is_finite() && high.is_finite()) => NOT_DETERMINED,
        (low, _) if low > 0.0 => "yes, the pipe lies higher",
        (_, high) if high < 0.0 => "yes, the pipe lies lower",
        _ => "no more than both may be off",
    }
}

/// Water that does not go with the shape of the pipe, as findings without a rule.
pub(crate) fn water(answers: &Answers) -> Vec<FindingRow> {
    let row = |w: &WaterRow| FindingRow {
        subject: "water".to_owned(),
        pool: None,
        reach: None,
        from_m: w.from_m,
        to_m: w.to_m,
        finding: match w.finding.as_str() {
            "not_explained" => "seen, not explained by the shape of the pipe".to_owned(),
            "not_seen" => "expected from the shape of the pipe, not seen".to_owned(),
            other => other.replace('_', " "),
        },
        reason: None,
        quantity: String::new(),
        value: None,
        value_sd: None,
        value_low: None,
        value_high: None,
        required: None,
        requirement: String::new(),
        probability: None,
        document: String::new(),
        edition: String::new(),
        clause: String::new(),
        force: String::new(),
        confirmed: true,
        sentence: w.sentence.clone(),
    };
    answers.water.iter().map(row).collect()
}

/// What a proposed measurement is, as a heading.
pub(crate) fn measurement(words: Words, next: &NextRow) -> String {
    let what = match next.measurement.as_str() {
        "reversal_check" => "A check of the head by reversal",
        "water_level" => "The two edges of still water",
        "run_from_other_end" => "A run from the other end",
        "height_difference" => "The levels of both ends",
        "depth" => "Located depths",
        other => return other.replace('_', " "),
    };
    match (next.station_m, next.to_m) {
        (Some(from_m), Some(to_m)) => format!("{what}, {} to {}", at(words, from_m), words.station(to_m)),
        (Some(at_m), None) => format!("{what}, {}", at(words, at_m)),
        _ => what.to_owned(),
    }
}

/// Whether the head was checked, in a sentence; nothing where no head was in the pipe.
pub(crate) fn head(answers: &Answers) -> Option<String> {
    if answers.job.runs.is_empty() {
        return None;
    }
    Some(match (sure::head_checks(answers), answers.job.instrument.zero_checked) {
        (0, false) => "The head was not checked: of its zero error no more is known than this table says.".to_owned(),
        (0, true) => "The head was checked: the job gives its zero error as that of a check.".to_owned(),
        (1, _) => {
            "The head was checked: its zero error is that of the check, which stands among what is known beside the runs."
                .to_owned()
        }
        (n, _) => format!(
            "The head was checked: its zero error is that of {n} checks, which stand among what is known beside the runs."
        ),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(quantity: &str, value: f64, misclosure: f64) -> TieRow {
        TieRow {
            number: 1,
            name: "a tie".to_owned(),
            kind: "invert".to_owned(),
            quantity: quantity.to_owned(),
            station_m: Some(12.4),
            to_m: None,
            value,
            sd: 0.005,
            own_sd: Some(0.005),
            station_part_sd: Some(0.0),
            expected_sd: Some(0.0087),
            expected: Some(value - misclosure),
            misclosure: Some(misclosure),
            misclosure_sd: Some(0.01),
            standardised: Some(misclosure / 0.01),
            residual: 0.0,
            redundancy: Some(0.5),
            smallest_detectable: Some(0.041),
            verdict: "agrees".to_owned(),
            sentence: String::new(),
        }
    }

    #[test]
    fn a_tie_is_off_towards_where_it_lies() {
        let told =
            |quantity: &str, misclosure: f64| off(Words::Uk, &row(quantity, 1.0, misclosure)).unwrap_or_default();
        assert_eq!(told("elevation_m", 0.012), "12 mm higher");
        assert_eq!(told("rise_m", -0.012), "12 mm lower");
        assert_eq!(told("east_m", -0.2), "200 mm to the west");
        assert_eq!(told("length_m", 0.05), "50 mm longer");
        assert_eq!(told("zero_rad", -0.001), "0.057 degrees less");
        assert_eq!(told("elevation_m", 0.0), "0 mm");
        assert_eq!(off(Words::Uk, &TieRow { misclosure: None, ..row("rise_m", 0.0, 0.0) }), None);
    }

    #[test]
    fn what_was_measured_is_said_in_the_reader_s_units() {
        let both = |quantity: &str, value: f64| {
            [Words::Uk, Words::Us].map(|words| figure(words, &row(quantity, value, 0.0), value))
        };
        assert_eq!(both("elevation_m", 30.48), ["30.480 m", "100.00 ft"]);
        assert_eq!(both("rise_m", -0.254), ["fall of 254 mm", "fall of 10.0 in"]);
        assert_eq!(both("rise_m", 0.0), ["both at one height", "both at one height"]);
        assert_eq!(both("north_m", 3.048), ["north 3.048 m", "north 10.00 ft"]);
        assert_eq!(both("elevation_m", f64::NAN), [NOT_DETERMINED, NOT_DETERMINED]);
    }

    #[test]
    fn a_tie_that_nothing_checks_is_not_said_to_agree() {
        let unchecked = TieRow {
            verdict: "unchecked".to_owned(),
            misclosure: None,
            standardised: None,
            smallest_detectable: None,
            ..row("elevation_m", 1.0, 0.0)
        };
        assert_eq!(fit(Words::Uk, &unchecked, false), "nothing else checks it");
        assert_eq!(least(Words::Uk, &unchecked), "any would hide");
        let suspect = TieRow { verdict: "suspect".to_owned(), ..row("elevation_m", 1.0, 0.041) };
        assert_eq!(fit(Words::Uk, &suspect, true), "DOES NOT FIT (41 mm higher, 4.1 standard deviations)");
    }
}
