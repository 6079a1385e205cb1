//! The words of the report that the two wordings have apart, words of the answers as a reader says them, and short texts that
//! stand in many places. Whole sentences come with the answers; figures from [`Voice`].

use fallwise::{
    answers::ReachRow,
    model::FeatureKind,
    units::{Part, Voice, Words},
};

use crate::{
    known,
    tell::{Teller, say},
};

/// A text that is looked up in the table of a language where it is printed, not here.
pub(crate) const fn word(english: &'static str) -> &'static str {
    english
}

/// Words that the two wordings have apart; a language has its own for each.
pub(crate) struct Phrases {
    /// Distance along the drain, as a heading.
    station: &'static str,
    /// From the ground to the pipe.
    cover: &'static str,
    /// Where a brush or rods go in.
    cleanout: &'static str,
    /// The picture without a title of its own.
    profile: &'static str,
    /// What an operator works under.
    licence: &'static str,
}

const UK: Phrases = Phrases {
    station: word("chainage"),
    cover: word("depth from ground level to crown"),
    cleanout: word("rodding eye"),
    profile: word("Profile of a drain"),
    licence: word("Licence"),
};

const US: Phrases = Phrases {
    station: word("station"),
    cover: word("cover from ground to top of pipe"),
    cleanout: word("cleanout"),
    profile: word("Profile of a lateral"),
    licence: word("License"),
};

/// The row of a wording.
fn phrases(words: Words) -> &'static Phrases {
    match words {
        Words::Uk => &UK,
        Words::Us => &US,
    }
}

/// Distance along the drain, as a heading.
pub(crate) fn station(v: Voice) -> String {
    v.text(phrases(v.words).station).to_owned()
}

/// From the ground to the pipe.
pub(crate) fn cover(v: Voice) -> String {
    v.text(phrases(v.words).cover).to_owned()
}

/// The title of a picture that has none of its own.
pub(crate) fn profile(v: Voice) -> String {
    v.text(phrases(v.words).profile).to_owned()
}

/// What an operator works under, as a heading.
pub(crate) fn licence(v: Voice) -> String {
    v.text(phrases(v.words).licence).to_owned()
}

/// A moment as a person writes it, "18 June 2031, 13:30 (UTC+02:00)"; as it stands where it is not written as RFC 3339 has it.
pub(crate) fn date(v: Voice, text: &str) -> String {
    const MONTHS: [&str; 12] = [
        word("January"),
        word("February"),
        word("March"),
        word("April"),
        word("May"),
        word("June"),
        word("July"),
        word("August"),
        word("September"),
        word("October"),
        word("November"),
        word("December"),
    ];
    let parsed = || {
        let (date, rest) = text.split_at_checked(10)?;
        let mut numbers = date.split('-').map(|n| n.parse::<usize>().ok());
        let (year, month, day) = (numbers.next()??, numbers.next()??, numbers.next()??);
        if numbers.next().is_some() || !(1..=31).contains(&day) {
            return None;
        }
        let month = v.text(MONTHS.get(month.checked_sub(1)?)?).to_owned();
        let date = match v.words {
            Words::Uk => say!(v, "{day} {month} {year}", day = day, month = month, year = year),
            Words::Us => say!(v, "{month} {day}, {year}", day = day, month = month, year = year),
        };
        if rest.is_empty() {
            return Some(date);
        }
        let (time, zone) = rest.strip_prefix(['T', ' '])?.split_at_checked(5)?;
        let is_time = time.bytes().enumerate().all(|(i, b)| if i == 2 { b == b':' } else { b.is_ascii_digit() });
        // Seconds say nothing here.
        let zone = zone.trim_start_matches(|c: char| c == ':' || c == '.' || c.is_ascii_digit());
        let is_zone = zone.len() == 6 && zone.starts_with(['+', '-']) && zone.is_ascii();
        match zone {
            _ if !is_time => None,
            "" => Some(say!(v, "{date}, {time}", date = date, time = time)),
            "Z" | "+00:00" => Some(say!(v, "{date}, {time} (UTC)", date = date, time = time)),
            zone if is_zone => Some(say!(v, "{date}, {time} (UTC{zone})", date = date, time = time, zone = zone)),
            _ => None,
        }
    };
    parsed().unwrap_or_else(|| text.to_owned())
}

/// Why a finding is undecided.
pub(crate) fn reason(t: &Teller, name: &str) -> String {
    match name {
        "needs_measurement" => t.word("a further measurement could decide it"),
        "too_close" => t.word("too close to the limit"),
        "not_surveyed" => t.word("not all of it was surveyed"),
        "contradicted" => t.word("the measurements contradict each other"),
        "no_rule" => t.word("no rule covers it"),
        "input_missing" => t.word("a fact that the rule asks for is missing"),
        other => t.sentence(other),
    }
}

/// What stands behind a requirement.
pub(crate) fn force(t: &Teller, name: &str) -> String {
    match name {
        "code" => t.word("a code, where adopted"),
        "guidance" => t.word("guidance"),
        "contract" => t.word("a contract or specification"),
        "practice" => t.word("practice, no code"),
        other => t.sentence(other),
    }
}

/// What was found.
pub(crate) fn finding(t: &Teller, name: &str) -> String {
    match name {
        "meets" => t.word("meets"),
        "fails" => t.word("fails"),
        "undecided" => t.word("undecided"),
        other => t.sentence(other),
    }
}

/// What a finding is about.
pub(crate) fn subject(t: &Teller, name: &str) -> String {
    match name {
        "lateral" => t.word("lateral"),
        "backfall" => t.word("backfall"),
        "water" => t.word("water"),
        other => t.sentence(other),
    }
}

/// What a feature is called.
pub(crate) fn feature(v: Voice, kind: FeatureKind) -> String {
    match kind {
        FeatureKind::Joint => say!(v, "joint"),
        FeatureKind::Connection => say!(v, "connection"),
        FeatureKind::Cleanout => v.text(phrases(v.words).cleanout).to_owned(),
        FeatureKind::Trap => say!(v, "trap"),
        FeatureKind::Valve => say!(v, "valve"),
        FeatureKind::Wall => say!(v, "wall"),
        FeatureKind::Boundary => say!(v, "boundary"),
        FeatureKind::Main => say!(v, "main"),
        _ => say!(v, "feature"),
    }
}

/// A station with the word before it where the figure alone does not say what it is (0+42.5 does).
pub(crate) fn at(v: Voice, station_m: f64) -> Part {
    match v.words {
        Words::Uk => Part::At(station_m),
        Words::Us => Part::Station(station_m),
    }
}

/// A stretch: "chainage 1.00 m to 2.00 m".
pub(crate) fn stretch(v: Voice, from_m: f64, to_m: f64) -> String {
    say!(v, "{from} to {to}", from = at(v, from_m), to = Part::Station(to_m))
}

/// "2.08 % (1.00 % to 3.10 %)", or that it is not determined.
pub(crate) fn slope_with_interval(v: Voice, slope: Option<f64>, low: Option<f64>, high: Option<f64>) -> String {
    match (slope, low, high) {
        (Some(s), Some(l), Some(h)) => format!("{} ({})", v.short_slope(s), v.slope_range(l, h)),
        (Some(s), _, _) => v.short_slope(s),
        _ => v.not_determined(),
    }
}

/// A ratio in percent.
pub(crate) fn percent(v: Voice, ratio: f64, places: usize) -> String {
    if ratio.is_finite() { format!("{} %", v.number(100.0 * ratio, places)) } else { v.not_determined() }
}

/// A moment in a recording.
pub(crate) fn video_time(v: Voice, seconds: f64) -> String {
    if !(0.0..1e7).contains(&seconds) {
        return v.not_determined();
    }
    let whole = seconds.floor();
    let (hours, rest) = ((whole / 3600.0).floor(), whole % 3600.0);
    format!("{hours:02}:{:02}:{:02}", (rest / 60.0).floor(), rest % 60.0)
}

/// The pipe of a reach: its name, else its bore.
pub(crate) fn pipe(v: Voice, reach: &ReachRow) -> String {
    match (reach.pipe.is_empty(), reach.bore_m) {
        (false, _) => reach.pipe.clone(),
        (true, Some(bore)) => say!(v, "bore {size}", size = Part::Small(bore)),
        (true, None) => say!(v, "pipe not given"),
    }
}

/// The cautions that hurt most when they are missed, by a word of theirs: other services, the trench, the gas pipe.
const WORST: [&str; 3] = ["buried services", "trench can collapse", "gas emergency"];

/// Those of `cautions` that must stand beside every picture.
pub(crate) fn worst(cautions: &[String]) -> impl Iterator<Item = &String> {
    WORST.iter().filter_map(|word| cautions.iter().find(|c| c.contains(word)))
}

/// The sentence under every interval.
pub(crate) fn honesty(t: &Teller) -> String {
    let said =
        say!(t, "Intervals are two-sided 95 % intervals. They hold if the stated error sources are the only ones.");
    if !known::is_wrong(t.answers) {
        return said;
    }
    let but = say!(
        t,
        "Here they are not: what was measured contradicts itself, so that something is wrong which the intervals do not allow for."
    );
    format!("{said} {but}")
}

/// On everything made from an invented job.
pub(crate) fn invented(v: Voice) -> String {
    say!(v, "Invented example: the place, the people and the readings are made up.")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_are_as_a_person_writes_them() {
        let told = |words: Words, text: &str| date(Voice::english(words), text);
        assert_eq!(told(Words::Uk, "2031-06-18T13:30:00+02:00"), "18 June 2031, 13:30 (UTC+02:00)");
        assert_eq!(told(Words::Us, "2031-06-18 13:30"), "June 18, 2031, 13:30");
        assert_eq!(told(Words::Us, "2031-06-18T13:30:59.5Z"), "June 18, 2031, 13:30 (UTC)");
        assert_eq!(told(Words::Uk, "2031-12-01"), "1 December 2031");
        for as_it_stands in ["last Tuesday", "2031-13-01", "2031-06-18Tnoon", "18.06.2031", "", "2031-06-18T13:30é"] {
            assert_eq!(told(Words::Uk, as_it_stands), as_it_stands);
        }
    }
}
