//! The words of the report, one table for both wordings. Whole sentences come with the answers; figures from
//! [`fallwise::units::Words`].

use fallwise::{
    answers::ReachRow,
    model::FeatureKind,
    units::{self, Words},
};

/// Words that the two wordings have apart.
pub(crate) struct Phrases {
    /// Distance along the drain, as a heading.
    pub(crate) station: &'static str,
    /// The same before a figure; empty where the figure says it itself (0+42.5).
    pub(crate) at: &'static str,
    /// From the ground to the pipe.
    pub(crate) cover: &'static str,
    /// Where a brush or rods go in.
    pub(crate) cleanout: &'static str,
    /// The drain surveyed.
    pub(crate) lateral: &'static str,
}

const UK: Phrases = Phrases {
    station: "chainage",
    at: "chainage ",
    cover: "depth from ground level to crown",
    cleanout: "rodding eye",
    lateral: "drain",
};

const US: Phrases = Phrases {
    station: "station",
    at: "",
    cover: "cover from ground to top of pipe",
    cleanout: "cleanout",
    lateral: "lateral",
};

/// The row of a wording.
pub(crate) fn phrases(words: Words) -> &'static Phrases {
    match words {
        Words::Uk => &UK,
        Words::Us => &US,
    }
}

/// Why a finding is undecided.
pub(crate) fn reason(name: &str) -> &str {
    match name {
        "needs_measurement" => "a further measurement could decide it",
        "too_close" => "too close to the limit",
        "not_surveyed" => "not surveyed",
        "no_rule" => "no rule covers it",
        "input_missing" => "a fact that the rule asks for is missing",
        other => other,
    }
}

/// What stands behind a requirement.
pub(crate) fn force(name: &str) -> &str {
    match name {
        "code" => "a code, where adopted",
        "guidance" => "guidance",
        "contract" => "a contract or specification",
        "practice" => "practice, no code",
        other => other,
    }
}

/// What a feature is called.
pub(crate) fn feature(words: Words, kind: FeatureKind) -> &'static str {
    match kind {
        FeatureKind::Joint => "joint",
        FeatureKind::Connection => "connection",
        FeatureKind::Cleanout => phrases(words).cleanout,
        FeatureKind::Trap => "trap",
        FeatureKind::Valve => "valve",
        FeatureKind::Wall => "wall",
        FeatureKind::Boundary => "boundary",
        FeatureKind::Main => "main",
        _ => "feature",
    }
}

/// A station with the word before it where the figure alone does not say what it is.
pub(crate) fn at(words: Words, station_m: f64) -> String {
    format!("{}{}", phrases(words).at, words.station(station_m))
}

/// A slope without the second unit in brackets: for narrow places.
pub(crate) fn short_slope(words: Words, slope: f64) -> String {
    let text = words.slope(slope);
    text.split(" (").next().unwrap_or_default().to_owned()
}

/// "2.08 % (1.00 % to 3.10 %)", or that it is not determined.
pub(crate) fn slope_with_interval(words: Words, slope: Option<f64>, low: Option<f64>, high: Option<f64>) -> String {
    match (slope, low, high) {
        (Some(s), Some(l), Some(h)) => format!("{} ({})", short_slope(words, s), words.slope_range(l, h)),
        (Some(s), _, _) => short_slope(words, s),
        _ => NOT_DETERMINED.to_owned(),
    }
}

/// A moment in a recording.
pub(crate) fn video_time(seconds: f64) -> String {
    if !(0.0..1e7).contains(&seconds) {
        return NOT_DETERMINED.to_owned();
    }
    let whole = seconds.floor();
    let (hours, rest) = ((whole / 3600.0).floor(), whole % 3600.0);
    format!("{hours:02}:{:02}:{:02}", (rest / 60.0).floor(), rest % 60.0)
}

/// The pipe of a reach: its name, else its bore.
pub(crate) fn pipe(words: Words, reach: &ReachRow) -> String {
    match (reach.pipe.is_empty(), reach.bore_m) {
        (false, _) => reach.pipe.clone(),
        (true, Some(bore)) => format!("bore {}", words.small(bore)),
        (true, None) => "pipe not given".to_owned(),
    }
}

/// An elevation in the job's datum, to 1 mm or 0.01 ft.
pub(crate) fn elevation(words: Words, m: f64) -> String {
    match words {
        _ if !m.is_finite() => NOT_DETERMINED.to_owned(),
        Words::Uk => format!("{m:.3} m"),
        Words::Us => format!("{:.2} ft", units::to_ft(m)),
    }
}

/// An absent figure.
pub(crate) const NOT_DETERMINED: &str = "not determined";

/// The cautions that hurt most when they are missed, by a word of theirs: other services, the trench, the gas pipe.
const WORST: [&str; 3] = ["buried services", "trench can collapse", "gas emergency"];

/// Those of `cautions` that must stand beside every picture.
pub(crate) fn worst(cautions: &[String]) -> impl Iterator<Item = &String> {
    WORST.iter().filter_map(|word| cautions.iter().find(|c| c.contains(word)))
}

/// The sentence under every interval.
pub(crate) const HONESTY: &str =
    "Intervals are two-sided 95 % intervals. They hold if the stated error sources are the only ones.";
/// On everything made from an invented job.
pub(crate) const INVENTED: &str = "Invented example: the place, the people and the readings are made up.";
