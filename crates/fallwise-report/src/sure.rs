//! How sure each figure is, in words that an owner understands: one scale for everything that may or may not be there,
//! intervals as they are given, and what stands behind them.

use fallwise::{
    Answers,
    adjust::Z_95,
    answers::{FindingRow, ParameterRow, PathRow, PoolRow, SegmentRow},
    model::{AsBuiltUse, Known, Tie},
    units::{Words, probability, to_deg},
};

use crate::{
    text::readable,
    words::{self, NOT_DETERMINED, at},
};

/// How sure it is that something is there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Chance {
    /// With a probability of 95 % or more, as of a belly that is called found.
    Sure,
    /// More likely than not.
    Likely,
    /// Less likely than that, or not known.
    Doubtful,
}

impl Chance {
    /// From which probability on each word is used; the first is that of the 95 % intervals, the second our choice.
    pub(crate) fn of(probability: f64) -> Self {
        match probability {
            p if p >= 0.95 => Self::Sure,
            p if p >= 0.5 => Self::Likely,
            _ => Self::Doubtful,
        }
    }

    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Sure => "sure",
            Self::Likely => "likely",
            Self::Doubtful => "doubtful",
        }
    }
}

/// "about 84 %, 8 in 10"; without the second where tenths would say "none" or "all".
fn chances(p: f64) -> String {
    let said = probability(p);
    if (0.05..0.95).contains(&p) { format!("{said}, {:.0} in 10", 10.0 * p) } else { said }
}

/// The two ends of an interval; one figure where both print alike.
pub(crate) fn range(low: f64, high: f64, say: impl Fn(f64) -> String) -> String {
    if !(low.is_finite() && high.is_finite()) {
        return NOT_DETERMINED.to_owned();
    }
    let (low, high) = (say(low), say(high));
    if low == high { low } else { format!("{low} to {high}") }
}

/// The 95 % interval of a normal figure.
pub(crate) fn normal(value: f64, sd: f64, say: impl Fn(f64) -> String) -> String {
    range(value - Z_95 * sd, value + Z_95 * sd, say)
}

/// Length along the pipe with its interval: "23.93 m (95 % interval 23.65 m to 24.21 m)".
pub(crate) fn length(words: Words, m: f64, sd_m: f64) -> String {
    let interval = normal(m, sd_m, |m| words.length(m));
    let value = words.length(m);
    if interval == value { value } else { format!("{value} (95 % interval {interval})") }
}

/// The path at a station. Between two nodes: on the line between them, with the wider of their two intervals (our choice;
/// intervals are computed at nodes, half a metre apart in a logged run).
pub(crate) fn path_at(path: &[PathRow], station_m: f64) -> Option<PathRow> {
    let w = path
        .windows(2)
        .find(|w| w[0].station_m <= station_m && station_m <= w[1].station_m && w[0].station_m < w[1].station_m)?;
    let t = (station_m - w[0].station_m) / (w[1].station_m - w[0].station_m);
    let between = |a: f64, b: f64| (1.0 - t) * a + t * b;
    let wider = |of: &dyn Fn(&PathRow) -> f64| match t {
        0.0 => of(&w[0]),
        1.0 => of(&w[1]),
        _ => of(&w[0]).max(of(&w[1])),
    };
    let height_m = between(w[0].height_m, w[1].height_m);
    Some(PathRow {
        station_m,
        height_m,
        height_sd_m: wider(&|r| r.height_sd_m),
        height_low_m: height_m - wider(&|r| r.height_m - r.height_low_m),
        height_high_m: height_m + wider(&|r| r.height_high_m - r.height_m),
        elevation_m: w[0].elevation_m.zip(w[1].elevation_m).map(|(a, b)| between(a, b)),
        ..w[0].clone()
    })
}

/// The interval of the height of a node, above the lowest invert.
pub(crate) fn height_ends(words: Words, row: &PathRow) -> String {
    range(row.height_low_m, row.height_high_m, |m| words.small(m))
}

/// The interval of its elevation, where the datum is known.
pub(crate) fn elevation_ends(words: Words, row: &PathRow) -> Option<String> {
    let datum_m = row.elevation_m? - row.height_m;
    Some(range(datum_m + row.height_low_m, datum_m + row.height_high_m, |m| words::elevation(words, m)))
}

/// Whether a reach begins where a segment does. A change of pipe is taken as a certain joint, so that a break there says
/// nothing of what the readings show. Stations go through no arithmetic on the way; a nanometre allows for writing and reading.
fn reach_begins(answers: &Answers, s: &SegmentRow) -> bool {
    answers.job.reaches.iter().skip(1).any(|r| (r.from_m - s.from_m).abs() < 1e-9)
}

/// Whether the slope changes where a segment begins: "likely (about 70 %)".
pub(crate) fn break_chance(answers: &Answers, s: &SegmentRow, first: bool) -> String {
    match s.break_probability {
        Some(p) => format!("{} ({})", Chance::of(p).word(), chances(p)),
        None if first => "the survey begins here".to_owned(),
        None if reach_begins(answers, s) => "a reach begins here".to_owned(),
        None => "given, not found in the readings".to_owned(),
    }
}

/// Where that change may lie: "between 11.80 m and 12.30 m", "at 38.00 m".
pub(crate) fn break_place(words: Words, s: &SegmentRow) -> String {
    match s.break_low_m.zip(s.break_high_m).filter(|(low, high)| low.is_finite() && high.is_finite()) {
        Some((low, high)) => {
            let (low, high) = (words.station(low), words.station(high));
            if low == high { format!("at {low}") } else { format!("between {low} and {high}") }
        }
        None => NOT_DETERMINED.to_owned(),
    }
}

/// A found change of slope in whole sentences.
pub(crate) fn break_told(
    words: Words,
    p: f64,
    before: Option<&SegmentRow>,
    after: &SegmentRow,
    height: &str,
) -> String {
    let place = at(words, after.from_m);
    let is = match Chance::of(p) {
        Chance::Sure => format!("The slope changes at {place} for sure ({}).", chances(p)),
        Chance::Likely => format!("The slope is likely to change at {place} ({}).", chances(p)),
        Chance::Doubtful => format!("It is doubtful whether the slope changes at {place} ({}).", chances(p)),
    };
    let within = match break_place(words, after) {
        text if text == NOT_DETERMINED => "Where exactly it changes is not determined.".to_owned(),
        text if Chance::of(p) == Chance::Sure => format!("The change lies {text} with a probability of 95 %."),
        text => format!("If it does, the change lies {text} with a probability of 95 %."),
    };
    let slope = |s: &SegmentRow| slope_told(words, s);
    let before = before.map(|s| format!(" The slope before it, by {}: {}.", words::phrases(words).station, slope(s)));
    format!("{is} {within} {height}{} The slope after it: {}.", before.unwrap_or_default(), slope(after))
}

/// The slope of a segment with its interval, or that it is a drop.
pub(crate) fn slope_told(words: Words, s: &SegmentRow) -> String {
    if s.kind == "drop" {
        return format!("a drop, {} high", words.small(s.fall_m.abs()));
    }
    words::slope_with_interval(words, s.slope, s.slope_low, s.slope_high)
}

/// What a belly is called in a heading.
pub(crate) fn belly(p: &PoolRow) -> &str {
    match p.state.as_str() {
        "found" => "there for sure",
        "possible" => "it may be there",
        "intended" => "the water of a trap",
        other => other,
    }
}

/// Whether a belly is there, before anything is said of its size.
pub(crate) fn existence(p: &PoolRow) -> String {
    let chance = p.exists_probability.map(chances);
    match (p.state.as_str(), chance) {
        ("possible", Some(chance)) => format!("A belly may be there; the probability is {chance}."),
        ("possible", None) => "A belly may be there; how likely that is, was not worked out.".to_owned(),
        ("intended", _) => "The water of a trap stands here, as it is meant to.".to_owned(),
        (_, Some(chance)) => format!("A belly is there for sure; the probability is {chance}."),
        (_, None) => "A belly is there in the best estimate; how sure that is, was not worked out.".to_owned(),
    }
}

/// A size of a belly with what limits it. Where no lower limit can be given there is none: the upper one goes first.
pub(crate) fn limits(best: f64, low: Option<f64>, high: Option<f64>, say: impl Fn(f64) -> String) -> String {
    match (low, high) {
        (Some(low), Some(high)) => format!("{} (95 % interval {})", say(best), range(low, high, &say)),
        (None, Some(high)) if best > 0.0 => format!("at most {} ({} in the best estimate)", say(high), say(best)),
        (None, Some(high)) => format!("at most {} (none in the best estimate)", say(high)),
        (Some(low), None) => format!("at least {} ({} in the best estimate)", say(low), say(best)),
        (None, None) => format!("{} in the best estimate; no interval was worked out", say(best)),
    }
}

/// What "undecided" means; stands beside the first finding that is.
pub(crate) const UNDECIDED: &str = "\u{201c}Undecided\u{201d} means that these data cannot carry a verdict: neither that \
    the requirement is met, nor that it is not. It does not mean that the pipe is probably fine.";

/// What would decide a finding that is undecided. The lateral's own follows from its parts.
pub(crate) fn would_decide(answers: &Answers, f: &FindingRow) -> &'static str {
    let mut parts = answers.findings.iter().filter(|p| p.subject != "lateral" && p.finding == "undecided");
    if f.subject == "lateral" && parts.any(|p| p.reason != f.reason) {
        return "The parts below wait for different things; each says what would decide it.";
    }
    match f.reason.as_deref() {
        Some("needs_measurement") if answers.next.is_some() => {
            "The next measurement, described at the head of this page, may decide it; how likely that is stands there."
        }
        Some("needs_measurement") if has_ties(answers) => {
            "None of the usual measurements would decide it beside what is known already."
        }
        Some("needs_measurement") => {
            "No quick check of the head would decide it; the levels of both ends, taken by other means, would say more."
        }
        Some("too_close") => "The pipe is so close to what is asked that nothing practical would decide it.",
        Some("not_surveyed") => "Only a survey of the stretch that no reading saw would decide it.",
        Some("no_rule") => "No measurement would decide it: the rulebook that was asked has no rule for it.",
        Some("input_missing") => "It can be decided once the missing fact stands in the job.",
        _ => "What would decide it is not known.",
    }
}

/// What the next measurement is expected to decide.
pub(crate) fn gain(undecided: usize, decided: f64) -> String {
    if !decided.is_finite() {
        return "How much it would decide is not determined.".to_owned();
    }
    match undecided {
        1 => format!("One finding waits for a measurement; the probability that this one decides it is {}.", {
            probability(decided)
        }),
        n => format!("{n} findings wait for a measurement; this one is expected to decide {decided:.1} of them."),
    }
}

/// Whether there is anything to hold the runs against.
pub(crate) fn has_ties(answers: &Answers) -> bool {
    answers.adjustment.is_some()
}

/// Checks of the head among what is known beside the runs.
pub(crate) fn head_checks(answers: &Answers) -> usize {
    answers.job.ties.iter().filter(|tie| Tie::is_of_head(tie)).count()
}

/// Whether levels beside the runs give the elevation.
pub(crate) fn is_levelled(answers: &Answers) -> bool {
    let job = &answers.job;
    let as_built = job.as_built_use == AsBuiltUse::Use && !job.as_built.is_empty();
    let levels = |t: &Tie| matches!(t.known, Known::Invert { .. } | Known::Depth { .. });
    !job.runs.is_empty() && (as_built || job.ties.iter().any(levels))
}

/// What heights and the band of the picture are relative to.
pub(crate) fn relative_to(answers: &Answers) -> String {
    let words = answers.job.report.words;
    let runs = &answers.job.runs;
    let place = |station_m: f64| at(words, station_m);
    if is_levelled(answers) {
        return "with the errors of the levels that give the elevation".to_owned();
    }
    match (runs.iter().find(|r| r.start_invert_m.is_some()), runs.first()) {
        (Some(run), _) if run.start_invert_sd_m.is_some_and(|sd| sd > 0.0) => {
            format!("counted from {}, with the error of the elevation given there", place(run.start_station_m))
        }
        (Some(run), _) => format!("counted from the elevation given at {}", place(run.start_station_m)),
        (None, Some(run)) => format!("counted from {}, where the run starts", place(run.start_station_m)),
        (None, None) => "by the errors of the levels that were given".to_owned(),
    }
}

/// An error of the instrument as a row: what it is, what was known before, what came of it, what the run said.
pub(crate) fn parameter(answers: &Answers, p: &ParameterRow) -> [String; 4] {
    let words = answers.job.report.words;
    let (kind, run) = p.name.rsplit_once(", run ").unwrap_or((&p.name, ""));
    let kind = kind.split(' ').next().unwrap_or_default();
    let figure = |x: f64| figure(words, kind, x);
    let name = match (label(kind), run) {
        (Some(label), "") => label.to_owned(),
        (Some(label), run) => format!("{label}, run {run}"),
        (None, _) => p.name.replace("_rad", "").replace('_', " "),
    };
    let (before, after, said) = if let Some((before, said)) = taken(answers, kind, run, p.value) {
        (before.to_owned(), figure(p.value), said.to_owned())
    } else if p.sd == 0.0 {
        ("taken as exact".to_owned(), figure(p.value), "The run cannot change what is taken as exact.".to_owned())
    } else {
        let after = format!("{} (95 % interval {})", figure(p.value), normal(p.value, p.sd, figure));
        if matches!(kind, "zero_rad" | "offset_rad") && head_checks(answers) > 0 {
            // Beforehand a checked head may have any zero error, so that a share of that would say nothing.
            let said = "It comes from the check of the head, with what the run and other ties say.";
            ("left to the check of the head".to_owned(), after, said.to_owned())
        } else {
            let who = if has_ties(answers) {
                ("The run and the ties", "Together they")
            } else {
                ("The run itself", "The run")
            };
            (format!("within {} either way", figure(Z_95 * p.prior_sd)), after, run_said(p, who))
        }
    };
    [readable(&name), before, after, said]
}

/// What the run, or run and ties, said of an error, by how its standard deviation changed. What is computed two ways agrees to a
/// millionth.
fn run_said(p: &ParameterRow, (who, narrowed): (&str, &str)) -> String {
    let ratio = p.sd / p.prior_sd;
    if !ratio.is_finite() {
        NOT_DETERMINED.to_owned()
    } else if ratio > 1.0 + 1e-6 {
        format!("{who} said nothing of it; the rounding of its readings comes on top.")
    } else if ratio >= 1.0 - 1e-6 {
        format!("{who} said nothing of it.")
    } else if ratio > 0.9 {
        format!("{who} said next to nothing of it.")
    } else {
        format!("{narrowed} narrowed it to {:.0} % of what it was.", 100.0 * ratio)
    }
}

fn label(kind: &str) -> Option<&'static str> {
    Some(match kind {
        "zero_rad" => "zero error of the head: what it reads when level",
        "offset_rad" => "zero error and seating of the head together",
        "drift_rad" => "drift of the head at the start",
        "across_axis_rad" => "error across the head's axis, which counts as far as it rolls",
        "counter_scale" => "counter: true length less what it shows",
        "noise_rad" => "noise of one reading, as a standard deviation",
        "correlation_m" => "distance over which that noise hangs together",
        "step_rad" => "rounding: the step of the readings",
        "rounding_rad" => "what averaging leaves of the rounding, as a standard deviation",
        _ => return None,
    })
}

/// Angles in degrees, the counter's scale in percent, lengths in small units.
pub(crate) fn figure(words: Words, kind: &str, x: f64) -> String {
    if !x.is_finite() {
        NOT_DETERMINED.to_owned()
    } else if kind.ends_with("_rad") {
        // No minus before a zero.
        let degrees = to_deg(x);
        format!("{:.3} degrees", if degrees.abs() < 5e-4 { 0.0 } else { degrees })
    } else if kind == "counter_scale" {
        format!("{:.2} %", 100.0 * x)
    } else if kind.ends_with("_m") {
        words.small(x)
    } else {
        format!("{x:.4}")
    }
}

/// What was known of a figure of the noise, and where it comes from; nothing for what is estimated.
fn taken(answers: &Answers, kind: &str, run: &str, value: f64) -> Option<(&'static str, &'static str)> {
    let instrument = &answers.job.instrument;
    let number = run.split(' ').next().and_then(|n| n.parse::<usize>().ok());
    let by_hand = number.and_then(|n| answers.job.runs.get(n.checked_sub(1)?)).is_some_and(|r| r.by_hand);
    let given = match kind {
        "noise_rad" => instrument.noise_sd_rad.is_some(),
        "correlation_m" => instrument.correlation_m.is_some(),
        "step_rad" => instrument.resolution_rad.is_some(),
        "rounding_rad" => return Some(("nothing", "It follows from the step of the readings and their noise.")),
        _ => return None,
    };
    Some(match kind {
        _ if given => ("as given", "It was given in the job."),
        "noise_rad" if by_hand => ("nothing", "It is taken so: readings by hand are too few to show it."),
        "step_rad" if value == 0.0 => ("nothing", "No step was found in the readings."),
        "correlation_m" if value == 0.0 => ("nothing", "The readings show none: each is taken to err by itself."),
        _ => ("nothing", "It was found in the readings."),
    })
}

/// What is allowed for without an estimate of its own, in sentences.
pub(crate) fn allowed_for(answers: &Answers) -> Vec<String> {
    let words = answers.job.report.words;
    let instrument = &answers.job.instrument;
    let mut said = Vec::new();
    if answers.job.runs.is_empty() {
        return said;
    }
    let within = |sd: f64| format!("{:.2} degrees", to_deg(Z_95 * sd));
    let counts = |sd: f64| sd > 0.0 && sd.is_finite();
    if counts(instrument.seating_sd_rad) {
        let sd = within(instrument.seating_sd_rad);
        said.push(format!(
            "Each time the head is put in, its seating may shift all its readings by up to {sd} either way."
        ));
    }
    if counts(instrument.wander_sd_rad) {
        let sd = within(instrument.wander_sd_rad);
        said.push(format!(
            "The zero error may wander along the run by up to {sd} either way, as of a head that rolls."
        ));
    }
    if counts(instrument.lip_sd_m) {
        let sd = words.small(Z_95 * instrument.lip_sd_m);
        said.push(format!(
            "At each joint there may be a lip of up to {sd}, up or down; it counts in heights and falls."
        ));
    }
    said
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_words_follow_the_probability() {
        assert_eq!(
            [1.0, 0.95, 0.949, 0.5, 0.499, 0.0, f64::NAN].map(|p| Chance::of(p).word()),
            ["sure", "sure", "likely", "likely", "doubtful", "doubtful", "doubtful"]
        );
        assert_eq!(chances(0.7), "about 70 %, 7 in 10");
        assert_eq!(chances(0.97), "about 97 %");
        assert_eq!(chances(f64::NAN), NOT_DETERMINED);
    }

    #[test]
    fn no_lower_limit_is_said_where_none_is_given() {
        let mm = |m: f64| Words::Uk.small(m);
        assert_eq!(limits(0.02, Some(0.01), Some(0.03), mm), "20 mm (95 % interval 10 mm to 30 mm)");
        assert_eq!(limits(0.02, None, Some(0.03), mm), "at most 30 mm (20 mm in the best estimate)");
        assert_eq!(limits(0.0, None, Some(0.03), mm), "at most 30 mm (none in the best estimate)");
        assert_eq!(limits(0.02, None, None, mm), "20 mm in the best estimate; no interval was worked out");
        assert_eq!(range(f64::NEG_INFINITY, 1.0, mm), NOT_DETERMINED);
    }

    #[test]
    fn what_the_run_said_follows_the_standard_deviations() {
        let row = |sd: f64| ParameterRow { name: String::new(), value: 0.0, sd, prior_sd: 1.0 };
        let said = |sd: f64| run_said(&row(sd), ("The run itself", "The run"));
        assert_eq!(said(1.0), "The run itself said nothing of it.");
        assert_eq!(said(0.5), "The run narrowed it to 50 % of what it was.");
        assert!(said(1.1).contains("rounding") && said(0.95).contains("next to nothing"));
    }
}
