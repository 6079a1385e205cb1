//! What is known beside the runs, in words: ties and how they fit, as-built inverts, water that does not go with the shape
//! of the pipe, checks of the head.

use fallwise::{
    Answers,
    adjust::Z_95,
    answers::{AsBuiltRow, FindingRow, NextRow, StretchRow, TieRow, WaterRow, WithoutRow},
    model::Known,
    units::{Part, Voice},
};

use crate::{
    sure,
    tell::{Teller, say},
    text::shorten,
    words::{at, stretch},
};

/// What is missing of the length that was given for the whole, m, from here on: as well as such a length is known.
pub(crate) const LEFT_M: f64 = 0.5;
/// Stretches without a reading that a line has room for.
const UNSEEN: usize = 3;

/// The number under which a tie is spoken of: its own in the job. What came with a run or an as-built invert has none.
pub(crate) fn number(row: &TieRow) -> String {
    if row.number > 0 { row.number.to_string() } else { "-".to_owned() }
}

/// What was measured.
fn kind(t: &Teller, row: &TieRow) -> String {
    match row.kind.as_str() {
        "invert" => t.word("levelled invert"),
        "plan" => t.word("position in plan"),
        "azimuth" => t.word("direction in plan"),
        "depth" => t.word("located depth"),
        "height_difference" => t.word("height difference"),
        "length" => t.word("true length"),
        "reversal_check" => t.word("check of the head by reversal"),
        "level_check" => t.word("check of the head on a known surface"),
        "water_level" => t.word("two edges of still water"),
        "water_depth" => t.word("depth and edge of still water"),
        other => t.sentence(other),
    }
}

/// Its name, and under it what it is and where; without a name of its own what it is, and under it where.
pub(crate) fn name(t: &Teller, row: &TieRow) -> (String, String) {
    let tie = row.number.checked_sub(1).and_then(|i| t.answers.job.ties.get(i));
    // A name that only says what it is, says it once.
    let unnamed = |name: &str| name.is_empty() || name == row.kind.replace('_', " ");
    let kind = kind(t, row);
    match (tie.is_some_and(|t| unnamed(&t.name)), row.station_m) {
        (true, Some(_)) => (kind, place(t, row)),
        (true, None) => (kind, String::new()),
        (false, Some(_)) => (t.sentence(&row.name), format!("{kind}, {}", place(t, row))),
        (false, None) => (t.sentence(&row.name), kind),
    }
}

/// The same in one line, a name of its own shortened to so many columns.
pub(crate) fn title(t: &Teller, row: &TieRow, columns: usize) -> String {
    let (name, below) = name(t, row);
    if below.is_empty() { name } else { format!("{} ({below})", shorten(&name, columns)) }
}

/// Where it was measured.
fn place(t: &Teller, row: &TieRow) -> String {
    match (row.station_m, row.to_m) {
        (Some(from_m), Some(to_m)) => stretch(t.voice, from_m, to_m),
        (Some(at_m), None) => t.part(&at(t.voice, at_m)),
        _ => t.word("the head itself"),
    }
}

/// A number of a tie as it was measured, or as everything else says it is.
pub(crate) fn figure(v: Voice, row: &TieRow, value: f64) -> String {
    if !value.is_finite() {
        return v.not_determined();
    }
    match row.quantity.as_str() {
        "elevation_m" => v.elevation(value),
        "east_m" => say!(v, "east {elevation}", elevation = Part::Elevation(value)),
        "north_m" => say!(v, "north {elevation}", elevation = Part::Elevation(value)),
        "rise_m" if value == 0.0 => say!(v, "both at one height"),
        "rise_m" if value < 0.0 => say!(v, "fall of {height}", height = Part::Small(-value)),
        "rise_m" => say!(v, "rise of {height}", height = Part::Small(value)),
        "length_m" => v.length(value),
        _ => v.part(&size(v, row, value)),
    }
}

/// A difference of such numbers, or a standard deviation.
fn size(v: Voice, row: &TieRow, value: f64) -> Part {
    match row.quantity.as_str() {
        "azimuth_rad" => Part::Angle(value),
        "zero_rad" => sure::figure(v, "zero_rad", value),
        _ => Part::Small(value),
    }
}

/// What a located depth was made an elevation of, to follow its error; nothing of other ties.
pub(crate) fn made_of(t: &Teller, row: &TieRow) -> String {
    let tie = row.number.checked_sub(1).and_then(|i| t.answers.job.ties.get(i));
    let Some(Known::Depth { depth_m, above_m, ground_m, .. }) = tie.map(|tie| &tie.known) else {
        return String::new();
    };
    let told = say!(
        t,
        "the ground at {ground}, less a depth of {depth}, less {above} from the transmitter to the invert",
        ground = Part::Elevation(ground_m.unwrap_or(row.value + depth_m + above_m)),
        depth = Part::Length(*depth_m),
        above = Part::Small(*above_m)
    );
    format!(": {told}")
}

/// Its standard deviation, in narrow places.
pub(crate) fn short_error(v: Voice, row: &TieRow) -> String {
    if row.sd == 0.0 { say!(v, "taken as exact") } else { say!(v, "\u{b1} {size}", size = size(v, row, row.sd)) }
}

/// Its standard deviation.
pub(crate) fn error(v: Voice, row: &TieRow) -> String {
    if row.sd == 0.0 {
        say!(v, "taken as exact")
    } else {
        say!(v, "standard deviation {size}", size = size(v, row, row.sd))
    }
}

/// By how much it is off, and which way.
pub(crate) fn off(v: Voice, row: &TieRow) -> Option<String> {
    let off = row.misclosure.filter(|m| m.is_finite())?;
    let size = size(v, row, off.abs());
    if off == 0.0 {
        return Some(v.part(&size));
    }
    Some(match (row.quantity.as_str(), off < 0.0) {
        ("elevation_m" | "rise_m", true) => say!(v, "{size} lower", size = size),
        ("elevation_m" | "rise_m", false) => say!(v, "{size} higher", size = size),
        ("east_m", true) => say!(v, "{size} to the west", size = size),
        ("east_m", false) => say!(v, "{size} to the east", size = size),
        ("north_m", true) => say!(v, "{size} to the south", size = size),
        ("north_m", false) => say!(v, "{size} to the north", size = size),
        ("azimuth_rad", true) => say!(v, "{size} to the left", size = size),
        ("azimuth_rad", false) => say!(v, "{size} to the right", size = size),
        ("length_m", true) => say!(v, "{size} shorter", size = size),
        ("length_m", false) => say!(v, "{size} longer", size = size),
        (_, true) => say!(v, "{size} less", size = size),
        (_, false) => say!(v, "{size} more", size = size),
    })
}

/// The same in standard deviations of what it may be off.
pub(crate) fn deviations(v: Voice, row: &TieRow) -> Option<String> {
    let times = row.standardised.filter(|t| t.is_finite())?.abs();
    Some(say!(v, "{times} standard deviations", times = Part::Number(times, 1)))
}

/// The smallest error in it that would be found.
pub(crate) fn least(v: Voice, row: &TieRow) -> String {
    match row.smallest_detectable.filter(|m| m.is_finite()) {
        Some(least) => v.part(&size(v, row, least)),
        None => say!(v, "any would hide"),
    }
}

/// One word of verdict. `suspect`: it is one of those that must not be missed, whatever it would be called alone.
pub(crate) fn verdict(t: &Teller, row: &TieRow, suspect: bool) -> String {
    match row.verdict.as_str() {
        _ if suspect => t.word("suspect"),
        "agrees" => t.word("agrees"),
        "large" => t.word("large"),
        "suspect" => t.word("suspect"),
        "repeated" => t.word("repeats"),
        "unchecked" => t.word("unchecked"),
        other => t.sentence(other),
    }
}

/// How a tie fits, in one line.
pub(crate) fn fit(t: &Teller, row: &TieRow, suspect: bool) -> String {
    match (row.verdict.as_str(), off(t.voice, row), deviations(t.voice, row)) {
        (_, Some(off), Some(times)) if suspect => say!(t, "DOES NOT FIT ({off}, {times})", off = off, times = times),
        ("agrees", Some(off), _) => say!(t, "agrees ({off})", off = off),
        ("large", Some(off), Some(times)) => {
            say!(t, "off by more than it should be ({off}, {times})", off = off, times = times)
        }
        ("repeated", ..) => t.word("repeats what holds exactly already"),
        ("unchecked", ..) => t.word("nothing else checks it"),
        _ => verdict(t, row, false),
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

/// Rows of what may be wrong instead: each explains the rest just by itself, but fits less badly than the suspects.
pub(crate) fn others_may_be_wrong(answers: &Answers) -> Vec<usize> {
    let Some(adjustment) = &answers.adjustment else { return Vec::new() };
    let suspects = suspects(answers);
    let rows = adjustment.explained_by_rows.iter().filter_map(|row| row.checked_sub(1));
    rows.filter(|row| !suspects.contains(row)).collect()
}

/// What does not fit, then what may be what is wrong instead, a line each.
pub(crate) fn may_be_wrong(t: &Teller) -> Vec<String> {
    let named = |i: usize| {
        let row = t.answers.ties.get(i)?;
        Some(format!("{}, {}", number(row), title(t, row, 60)))
    };
    let suspects = suspects(t.answers).into_iter().filter_map(named);
    let suspects = suspects.map(|tie| say!(t, "Does not fit the rest: measurement {measurement}.", measurement = tie));
    let others = others_may_be_wrong(t.answers).into_iter().filter_map(named);
    let others =
        others.map(|tie| say!(t, "May be what is wrong instead: measurement {measurement}.", measurement = tie));
    suspects.chain(others).collect()
}

/// What a verdict is worth where something measured may be wrong.
pub(crate) fn holds_without(t: &Teller) -> Option<String> {
    let decided = t.answers.findings.iter().any(|f| f.subject != "lateral" && f.finding != "undecided");
    (decided && !suspects(t.answers).is_empty())
        .then(|| t.word("What is met or fails comes out the same without each measurement that may be wrong."))
}

/// That nothing is known of a stretch.
pub(crate) fn unseen(t: &Teller, stretch: &StretchRow) -> String {
    say!(
        t,
        "Between {stretch} no reading saw the pipe, or two disagree: nothing is decided there.",
        stretch = Part::Both(stretch.from_m, stretch.to_m)
    )
}

/// Whether all of the drain was seen; else what was not.
pub(crate) fn all_seen(t: &Teller) -> String {
    let answers = t.answers;
    let about = answers.job.survey.about_length_m;
    let left = about.map(|about| about - answers.total.length_m).filter(|left| *left > LEFT_M);
    let mut not = Vec::new();
    not.extend(left.map(|left| say!(t, "about {length} was not surveyed", length = Part::About(left))));
    not.extend(
        answers
            .unseen
            .iter()
            .take(UNSEEN)
            .map(|gap| say!(t, "no reading between {stretch}", stretch = Part::Both(gap.from_m, gap.to_m))),
    );
    if answers.unseen.len() > UNSEEN {
        not.push(t.word("and more in report.html"));
    }
    match (not.is_empty(), about) {
        (false, _) => say!(t, "No: {what}.", what = not.join("; ")),
        (true, Some(_)) => t.word("Yes, as far as its whole length was given rightly."),
        (true, None) => t.word("All of what was surveyed; how long the whole is, was not given."),
    }
}

/// Whether anything of it does not fit.
pub(crate) fn is_wrong(answers: &Answers) -> bool {
    answers.adjustment.as_ref().is_some_and(|a| a.verdict == "large" || !a.converged)
}

/// What the main figures are with all ties and without what may be wrong: name and what is left out, with, without; each figure with its
/// interval.
pub(crate) fn without(t: &Teller, row: &WithoutRow) -> [(String, String); 3] {
    let name = match row.quantity.as_str() {
        "slope" => t.word("mean slope over what was surveyed"),
        "fall_m" => t.word("fall over what was surveyed"),
        "zero_rad" => t.word("zero error of the head"),
        "counter_scale" => t.word("counter: true length less what it shows"),
        other => t.sentence(other),
    };
    let cell = |value: f64, sd: f64| {
        let (low, high) = (value - Z_95 * sd, value + Z_95 * sd);
        match row.quantity.as_str() {
            "slope" => (t.slope(value), t.slope_range(low, high)),
            kind => {
                let say = |x: f64| sure::figure(t.voice, kind, x);
                (t.part(&say(value)), sure::range(t.voice, low, high, say))
            }
        }
    };
    let left_out = if row.left_out.is_empty() {
        String::new()
    } else {
        say!(t, "without {ties}", ties = t.sentence(&row.left_out))
    };
    [(name, left_out), cell(row.value, row.sd), cell(row.without, row.without_sd)]
}

/// Whether an as-built invert and what was measured differ by more than both may be off.
pub(crate) fn differs(v: Voice, row: &AsBuiltRow) -> String {
    match (row.difference_low_m, row.difference_high_m) {
        (low, high) if !(low.is_finite() && high.is_finite()) => v.not_determined(),
        (low, _) if low > 0.0 => say!(v, "yes, the pipe lies higher"),
        (_, high) if high < 0.0 => say!(v, "yes, the pipe lies lower"),
        _ => say!(v, "no more than both may be off"),
    }
}

/// Water that does not go with the shape of the pipe, as findings without a rule.
pub(crate) fn water(t: &Teller) -> Vec<FindingRow> {
    let row = |w: &WaterRow| FindingRow {
        subject: "water".to_owned(),
        pool: None,
        reach: None,
        from_m: w.from_m,
        to_m: w.to_m,
        finding: match w.finding.as_str() {
            "not_explained" => t.word("seen, not explained by the shape of the pipe"),
            "not_seen" => t.word("expected from the shape of the pipe, not seen"),
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
    t.answers.water.iter().map(row).collect()
}

/// What a proposed measurement is, as it stands in a list.
pub(crate) fn measurement(t: &Teller, next: &NextRow) -> String {
    let what = match next.measurement.as_str() {
        "reversal_check" => t.word("a check of the head by reversal"),
        "water_level" => t.word("the two edges of still water"),
        "run_from_other_end" => t.word("a run from the other end"),
        "height_difference" => t.word("the levels of both ends"),
        "depth" => t.word("located depths"),
        other => return other.replace('_', " "),
    };
    match (next.station_m, next.to_m) {
        (Some(from_m), Some(to_m)) => format!("{what}, {}", stretch(t.voice, from_m, to_m)),
        (Some(at_m), None) => format!("{what}, {}", t.part(&at(t.voice, at_m))),
        _ => what,
    }
}

/// Whether the head was checked, in a sentence; nothing where no head was in the pipe.
pub(crate) fn head(t: &Teller) -> Option<String> {
    if t.answers.job.runs.is_empty() {
        return None;
    }
    Some(match (sure::head_checks(t.answers), t.answers.job.instrument.zero_checked) {
        (0, false) => t.word("The head was not checked: of its zero error no more is known than this table says."),
        (0, true) => t.word("The head was checked: the job gives its zero error as that of a check."),
        (1, _) => t.word(
            "The head was checked: its zero error is that of the check, which stands among what is known beside the runs.",
        ),
        (n, _) => say!(
            t,
            "The head was checked: its zero error is that of {n} checks, which stand among what is known beside the runs.",
            n = n
        ),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use fallwise::{Job, Lateral, Run, units::Words};

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
        let told = |quantity: &str, misclosure: f64| {
            off(Voice::english(Words::Uk), &row(quantity, 1.0, misclosure)).unwrap_or_default()
        };
        assert_eq!(told("elevation_m", 0.012), "12 mm higher");
        assert_eq!(told("rise_m", -0.012), "12 mm lower");
        assert_eq!(told("east_m", -0.2), "200 mm to the west");
        assert_eq!(told("length_m", 0.05), "50 mm longer");
        assert_eq!(told("zero_rad", -0.001), "0.057 degrees less");
        assert_eq!(told("elevation_m", 0.0), "0 mm");
        assert_eq!(off(Voice::english(Words::Uk), &TieRow { misclosure: None, ..row("rise_m", 0.0, 0.0) }), None);
    }

    #[test]
    fn what_was_measured_is_said_in_the_reader_s_units() {
        let both = |quantity: &str, value: f64| {
            [Words::Uk, Words::Us].map(|words| figure(Voice::english(words), &row(quantity, value, 0.0), value))
        };
        assert_eq!(both("elevation_m", 30.48), ["30.480 m", "100.00 ft"]);
        assert_eq!(both("rise_m", -0.254), ["fall of 254 mm", "fall of 10.0 in"]);
        assert_eq!(both("rise_m", 0.0), ["both at one height", "both at one height"]);
        assert_eq!(both("north_m", 3.048), ["north 3.048 m", "north 10.00 ft"]);
        assert_eq!(both("elevation_m", f64::NAN), ["not determined", "not determined"]);
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
        let run = Run::new(vec![0.0, 1.0, 2.0, 3.0], vec![0.02, 0.02, 0.021, 0.02]);
        let answers = Lateral::solve(Job { runs: vec![run], ..Job::default() }).unwrap().answers(None).unwrap();
        let t = Teller::new(&answers, None);
        assert_eq!(fit(&t, &unchecked, false), "nothing else checks it");
        assert_eq!(least(t.voice, &unchecked), "any would hide");
        let suspect = TieRow { verdict: "suspect".to_owned(), ..row("elevation_m", 1.0, 0.041) };
        assert_eq!(fit(&t, &suspect, true), "DOES NOT FIT (41 mm higher, 4.1 standard deviations)");
    }
}
