//! Findings as somebody reads them who knows no rules: an answer, what was asked, what was found.

use fallwise::{answers::FindingRow, units::Part};

use crate::{
    known, sure,
    table::{Cell, plain},
    tell::{Teller, say},
    text::shorten,
    words,
};

/// Yes, no, or that nobody can tell.
pub(crate) fn answer(t: &Teller<'_>, finding: &str) -> String {
    match finding {
        "meets" => t.word("Yes"),
        "fails" => t.word("No"),
        _ => t.word("Not decided"),
    }
}

/// What would be so if all were well, as a statement that yes or no answers, and where.
pub(crate) fn part(t: &Teller<'_>, f: &FindingRow) -> Cell {
    let place = words::stretch(t.voice, f.from_m, f.to_m);
    let reach = f.reach.and_then(|n| t.answers.job.reaches.get(n - 1)).filter(|r| !r.name.is_empty());
    let name = match (f.subject.as_str(), reach) {
        ("lateral", _) => return plain(t.word("Everything below is as asked")),
        ("backfall", _) => return plain(t.word("No part runs backwards too far")),
        (_, Some(reach)) => say!(t, "Part “{name}” falls enough", name = shorten(&reach.name, 40)),
        (subject, None) if f.quantity == "slope" => {
            say!(t, "{subject} falls enough", subject = Part::Capital(Box::new(words::subject(t, subject).into())))
        }
        (subject, None) => {
            let subject = Part::Capital(Box::new(words::subject(t, subject).into()));
            say!(t, "{subject} is as asked", subject = subject)
        }
    };
    (name, place)
}

/// What was asked of it, and by whom.
pub(crate) fn asked(t: &Teller<'_>, f: &FindingRow) -> Cell {
    let ours = || t.word("our own limit, no code");
    let document = || shorten(&format!("{} {}, {}", f.document, f.edition, f.clause), 60);
    let by = || {
        if f.confirmed { document() } else { say!(t, "{document} (value not checked there)", document = document()) }
    };
    match (f.subject.as_str(), f.required) {
        ("lateral", _) => plain(t.word("that each is met")),
        ("backfall", Some(limit)) => {
            (say!(t, "for a length of at most {length}", length = Part::Length(limit)), ours())
        }
        (_, Some(slope)) if f.quantity == "slope" => {
            (say!(t, "{slope} or steeper", slope = Part::ShortSlope(slope)), by())
        }
        (_, Some(depth)) => (say!(t, "at most {depth}", depth = Part::Small(depth)), by()),
        (_, None) => {
            plain(if f.requirement.is_empty() { t.word("no rule covers it") } else { t.sentence(&f.requirement) })
        }
    }
}

/// What was found, and why nothing is decided, or what a yes or no hangs on.
pub(crate) fn found(t: &Teller<'_>, f: &FindingRow) -> Cell {
    let why = match f.reason.as_deref() {
        Some(reason) => reason_of(t, f, reason),
        None if f.subject == "lateral" && fails_by_our_limit_alone(t) => t.word("by our own limit alone, no code"),
        None if f.subject != "lateral" && !known::suspects(t.answers).is_empty() => {
            t.word("also without each measurement that may be wrong")
        }
        None => String::new(),
    };
    let figure = match (f.value, f.value_low.zip(f.value_high), f.quantity.as_str()) {
        (_, Some((low, high)), "slope") => t.slope_range(low, high),
        (_, Some((low, high)), _) => sure::range(t.voice, low, high, Part::Small),
        (Some(value), None, "slope") => t.short_slope(value),
        (Some(value), None, "depth_m") => t.small(value),
        (Some(0.0), None, _) => t.word("none runs backwards"),
        (Some(value), None, _) => say!(t, "for {length} in the best estimate", length = Part::Length(value)),
        (None, None, _) => return plain(why),
    };
    // A figure that looks like a pass must not be read before why it is none.
    if f.finding == "undecided" { (why, figure) } else { (figure, why) }
}

/// Why a finding is open; where something of its stretch was not seen, which.
pub(crate) fn reason_of(t: &Teller<'_>, f: &FindingRow, reason: &str) -> String {
    let gap = t.answers.unseen.iter().find(|gap| gap.from_m < f.to_m && gap.to_m > f.from_m);
    let both_sides = f.quantity == "slope"
        && f.required
            .zip(f.value_low.zip(f.value_high))
            .is_some_and(|(asked, (low, high))| low < asked && asked < high);
    match (reason, gap) {
        ("not_surveyed", Some(gap)) => {
            say!(t, "no reading between {stretch}", stretch = Part::Both(gap.from_m, gap.to_m))
        }
        ("needs_measurement", _) if both_sides => {
            t.word("what is asked lies within the interval; a further measurement could decide it")
        }
        _ => words::reason(t, reason),
    }
}

/// Whether no rule of a document is failed, so that only our own limit is.
fn fails_by_our_limit_alone(t: &Teller<'_>) -> bool {
    let mut fails = t.answers.findings.iter().filter(|f| f.finding == "fails" && f.subject != "lateral").peekable();
    fails.peek().is_some() && fails.all(|f| f.subject == "backfall")
}
