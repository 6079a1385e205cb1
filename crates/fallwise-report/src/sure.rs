//! How sure each figure is, in words that an owner understands: one scale for everything that may or may not be there,
//! intervals as they are given, and what stands behind them.

use fallwise::{
    Answers,
    adjust::Z_95,
    answers::{FindingRow, ParameterRow, PathRow, PoolRow, SegmentRow},
    model::{AsBuiltUse, Instrument, Known, Tie},
    said,
    units::{Part, Voice, Words, to_deg},
};

use crate::{
    tell::{Teller, say},
    words::{self, at},
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
}

/// "about 84 %, 8 in 10"; without the second where tenths would say "none" or "all".
fn chances(v: Voice, p: f64) -> String {
    if (0.05..0.95).contains(&p) {
        say!(v, "{probability}, {n} in 10", probability = Part::Probability(p), n = Part::Number(10.0 * p, 0))
    } else {
        v.probability(p)
    }
}

/// The two ends of an interval; one figure where both print alike.
pub(crate) fn range(v: Voice, low: f64, high: f64, say: impl Fn(f64) -> Part) -> String {
    if !(low.is_finite() && high.is_finite()) {
        return v.not_determined();
    }
    let (low, high) = (v.part(&say(low)), v.part(&say(high)));
    if low == high { low } else { v.range(&low, &high) }
}

/// The 95 % interval of a normal figure.
pub(crate) fn normal(v: Voice, value: f64, sd: f64, say: impl Fn(f64) -> Part) -> String {
    range(v, value - Z_95 * sd, value + Z_95 * sd, say)
}

/// A figure with its interval: "23.93 m (95 % interval 23.65 m to 24.21 m)".
fn with_interval(v: Voice, value: Part, interval: String) -> String {
    say!(v, "{value} (95 % interval {interval})", value = value, interval = interval)
}

/// Length along the pipe with its interval.
pub(crate) fn length(v: Voice, m: f64, sd_m: f64) -> String {
    let interval = normal(v, m, sd_m, Part::Length);
    if interval == v.length(m) { interval } else { with_interval(v, Part::Length(m), interval) }
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
pub(crate) fn height_ends(v: Voice, row: &PathRow) -> String {
    range(v, row.height_low_m, row.height_high_m, Part::Small)
}

/// The interval of its elevation, where the datum is known.
pub(crate) fn elevation_ends(v: Voice, row: &PathRow) -> Option<String> {
    let datum_m = row.elevation_m? - row.height_m;
    Some(range(v, datum_m + row.height_low_m, datum_m + row.height_high_m, Part::Elevation))
}

/// Whether a reach begins where a segment does. A change of pipe is taken as a certain joint, so that a break there says
/// nothing of what the readings show. Stations go through no arithmetic on the way; a nanometre allows for writing and reading.
fn reach_begins(answers: &Answers, s: &SegmentRow) -> bool {
    answers.job.reaches.iter().skip(1).any(|r| (r.from_m - s.from_m).abs() < 1e-9)
}

/// Whether the slope changes where a segment begins: "likely (about 70 %)".
pub(crate) fn break_chance(t: &Teller, s: &SegmentRow, first: bool) -> String {
    match s.break_probability {
        Some(p) => {
            let chance = chances(t.voice, p);
            match Chance::of(p) {
                Chance::Sure => say!(t, "sure ({chance})", chance = chance),
                Chance::Likely => say!(t, "likely ({chance})", chance = chance),
                Chance::Doubtful => say!(t, "doubtful ({chance})", chance = chance),
            }
        }
        None if first => t.word("the survey begins here"),
        None if reach_begins(t.answers, s) => t.word("a reach begins here"),
        None => t.word("given, not found in the readings"),
    }
}

/// The two ends between which a change lies, if they are determined: stations, m.
fn break_ends(s: &SegmentRow) -> Option<(f64, f64)> {
    s.break_low_m.zip(s.break_high_m).filter(|(low, high)| low.is_finite() && high.is_finite())
}

/// Whether two stations print alike.
fn alike(v: Voice, low_m: f64, high_m: f64) -> bool {
    v.station(low_m) == v.station(high_m)
}

/// Where that change may lie: "between 11.80 m and 12.30 m", "at 38.00 m".
pub(crate) fn break_place(v: Voice, s: &SegmentRow) -> String {
    match break_ends(s) {
        Some((low, high)) if alike(v, low, high) => say!(v, "at {place}", place = Part::Station(low)),
        Some((low, high)) => {
            say!(v, "between {low} and {high}", low = Part::Station(low), high = Part::Station(high))
        }
        None => v.not_determined(),
    }
}

/// A found change of slope in whole sentences. `invert`: the height of the invert there.
pub(crate) fn break_told(v: Voice, p: f64, before: &SegmentRow, after: &SegmentRow, invert: &str) -> String {
    let (place, chance) = (at(v, after.from_m), chances(v, p));
    let is = match Chance::of(p) {
        Chance::Sure => say!(v, "The slope changes at {place} for sure ({chance}).", place = place, chance = chance),
        Chance::Likely => {
            say!(v, "The slope is likely to change at {place} ({chance}).", place = place, chance = chance)
        }
        Chance::Doubtful => {
            say!(v, "It is doubtful whether the slope changes at {place} ({chance}).", place = place, chance = chance)
        }
    };
    let sure = Chance::of(p) == Chance::Sure;
    let within = match break_ends(after).map(|(low, high)| (low, high, alike(v, low, high))) {
        None => say!(v, "Where exactly it changes is not determined."),
        Some((low, _, true)) if sure => {
            say!(v, "The change lies at {place} with a probability of 95 %.", place = Part::Station(low))
        }
        Some((low, _, true)) => {
            say!(v, "If it does, the change lies at {place} with a probability of 95 %.", place = Part::Station(low))
        }
        Some((low, high, false)) if sure => say!(
            v,
            "The change lies between {low} and {high} with a probability of 95 %.",
            low = Part::Station(low),
            high = Part::Station(high)
        ),
        Some((low, high, false)) => say!(
            v,
            "If it does, the change lies between {low} and {high} with a probability of 95 %.",
            low = Part::Station(low),
            high = Part::Station(high)
        ),
    };
    let height = say!(v, "The invert there is at {invert}.", invert = invert);
    let slope = slope_told(v, before);
    let before = match v.words {
        Words::Uk => say!(v, "The slope before it, by chainage: {slope}.", slope = slope),
        Words::Us => say!(v, "The slope before it, by station: {slope}.", slope = slope),
    };
    let after = say!(v, "The slope after it: {slope}.", slope = slope_told(v, after));
    [is, within, height, before, after].join(" ")
}

/// The slope of a segment with its interval, or that it is a drop.
pub(crate) fn slope_told(v: Voice, s: &SegmentRow) -> String {
    if s.kind == "drop" {
        return say!(v, "a drop, {height} high", height = Part::Small(s.fall_m.abs()));
    }
    words::slope_with_interval(v, s.slope, s.slope_low, s.slope_high)
}

/// A belly as a heading.
pub(crate) fn belly(t: &Teller, p: &PoolRow) -> String {
    match p.state.as_str() {
        "found" => say!(t, "Belly {number}: there for sure", number = p.number),
        "possible" => say!(t, "Belly {number}: it may be there", number = p.number),
        "intended" => say!(t, "Belly {number}: the water of a trap", number = p.number),
        other => say!(t, "Belly {number}: {state}", number = p.number, state = t.sentence(other)),
    }
}

/// The same as a label of a line.
pub(crate) fn belly_label(t: &Teller, p: &PoolRow) -> String {
    match p.state.as_str() {
        "found" => say!(t, "Belly {number} (there for sure):", number = p.number),
        "possible" => say!(t, "Belly {number} (it may be there):", number = p.number),
        "intended" => say!(t, "Belly {number} (the water of a trap):", number = p.number),
        other => say!(t, "Belly {number} ({state}):", number = p.number, state = t.sentence(other)),
    }
}

/// Whether a belly is there, before anything is said of its size.
pub(crate) fn existence(v: Voice, p: &PoolRow) -> String {
    let chance = p.exists_probability.map(|p| chances(v, p));
    match (p.state.as_str(), chance) {
        ("possible", Some(chance)) => say!(v, "A belly may be there; the probability is {chance}.", chance = chance),
        ("possible", None) => say!(v, "A belly may be there; how likely that is, was not worked out."),
        ("intended", _) => say!(v, "The water of a trap stands here, as it is meant to."),
        (_, Some(chance)) => say!(v, "A belly is there for sure; the probability is {chance}.", chance = chance),
        (_, None) => say!(v, "A belly is there in the best estimate; how sure that is, was not worked out."),
    }
}

/// A size of a belly with what limits it. Where no lower limit can be given there is none: the upper one goes first.
pub(crate) fn limits(v: Voice, best: f64, low: Option<f64>, high: Option<f64>, say: impl Fn(f64) -> Part) -> String {
    let value = say(best);
    match (low, high) {
        (Some(low), Some(high)) => with_interval(v, value, range(v, low, high, &say)),
        (None, Some(high)) if best > 0.0 => {
            say!(v, "at most {most} ({best} in the best estimate)", most = say(high), best = value)
        }
        (None, Some(high)) => say!(v, "at most {most} (none in the best estimate)", most = say(high)),
        (Some(low), None) => say!(v, "at least {least} ({best} in the best estimate)", least = say(low), best = value),
        (None, None) => say!(v, "{best} in the best estimate; no interval was worked out", best = value),
    }
}

/// What "undecided" means; stands beside the first finding that is.
pub(crate) fn undecided(v: Voice) -> String {
    say!(
        v,
        "\u{201c}Undecided\u{201d} means that these data cannot carry a verdict: neither that \
         the requirement is met, nor that it is not. It does not mean that the pipe is probably fine."
    )
}

/// What would decide a finding that is undecided. The lateral's own follows from its parts.
pub(crate) fn would_decide(t: &Teller, f: &FindingRow) -> String {
    let mut parts = t.answers.findings.iter().filter(|p| p.subject != "lateral" && p.finding == "undecided");
    if f.subject == "lateral" && parts.any(|p| p.reason != f.reason) {
        return t.word("The parts below wait for different things; each says what would decide it.");
    }
    match f.reason.as_deref() {
        Some("contradicted") => {
            t.word("First measure again what may be wrong: as long as it is not known which that is, nothing else decides it.")
        }
        Some("needs_measurement") if t.answers.next.is_some() => t.word(
            "The next measurement, described at the head of this page, may decide it; how likely that is stands there.",
        ),
        Some("needs_measurement") if has_ties(t.answers) => {
            t.word("None of the usual measurements would decide it beside what is known already.")
        }
        Some("needs_measurement") => t.word(
            "No quick check of the head would decide it; the levels of both ends, taken by other means, would say more.",
        ),
        Some("too_close") => t.word("The pipe is so close to what is asked that nothing practical would decide it."),
        Some("not_surveyed") => t.word("Only a survey of the stretch that no reading saw would decide it."),
        Some("no_rule") => t.word("No measurement would decide it: the rulebook that was asked has no rule for it."),
        Some("input_missing") => t.word("It can be decided once the missing fact stands in the job."),
        _ => t.word("What would decide it is not known."),
    }
}

/// What the next measurement is expected to decide.
pub(crate) fn gain(v: Voice, undecided: usize, decided: f64) -> String {
    if !decided.is_finite() {
        return say!(v, "How much it would decide is not determined.");
    }
    match undecided {
        1 => say!(
            v,
            "One finding waits for a measurement; the probability that this one decides it is {probability}.",
            probability = Part::Probability(decided)
        ),
        n => say!(
            v,
            "{n} findings wait for a measurement; this one is expected to decide {decided} of them.",
            n = n,
            decided = Part::Number(decided, 1)
        ),
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

/// What heights count from, or the errors that are in them.
enum Base {
    /// The levels that give the elevation.
    Levels,
    /// An elevation that was given at a station, m, with an error of its own or taken as exact.
    Given(f64, bool),
    /// The start of the run, m.
    Start(f64),
    /// Levels alone, without a run.
    LevelsAlone,
}

fn base(answers: &Answers) -> Base {
    let runs = &answers.job.runs;
    if is_levelled(answers) {
        return Base::Levels;
    }
    match (runs.iter().find(|r| r.start_invert_m.is_some()), runs.first()) {
        (Some(run), _) => Base::Given(run.start_station_m, run.start_invert_sd_m.is_some_and(|sd| sd > 0.0)),
        (None, Some(run)) => Base::Start(run.start_station_m),
        (None, None) => Base::LevelsAlone,
    }
}

/// What the intervals of the table of heights are.
pub(crate) fn heights_are(t: &Teller) -> String {
    match base(t.answers) {
        Base::Levels => t.word(
            "The 95 % intervals under them are those of the elevation of each place by itself, with the errors of the levels that give it; the difference of two places is surer, or less sure, than they tell (see the appendix).",
        ),
        Base::Given(m, true) => say!(
            t,
            "The 95 % intervals under them are for each place by itself, counted from {place}, with the error of the elevation \
             given there.",
            place = at(t.voice, m)
        ),
        Base::Given(m, false) => say!(
            t,
            "The 95 % intervals under them are for each place by itself, counted from the elevation given at {place}.",
            place = at(t.voice, m)
        ),
        Base::Start(m) => say!(
            t,
            "The 95 % intervals under them are for each place by itself, counted from {place}, where the run starts.",
            place = at(t.voice, m)
        ),
        Base::LevelsAlone => t.word(
            "The 95 % intervals under them are for each place by itself, by the errors of the levels that were given.",
        ),
    }
}

/// What the band of the picture is, by its look there: close hatching beside the one without the ties.
pub(crate) fn band_is(t: &Teller, tied: bool) -> String {
    let band = if tied { t.word("close hatching") } else { t.word("band") };
    match base(t.answers) {
        Base::Levels => say!(
            t,
            "The {band} is the 95 % interval of the invert at each place by itself, with the errors of the levels that give the \
             elevation.",
            band = band
        ),
        Base::Given(m, true) => say!(
            t,
            "The {band} is the 95 % interval of the invert at each place by itself, counted from {place}, with the error of the \
             elevation given there.",
            band = band,
            place = at(t.voice, m)
        ),
        Base::Given(m, false) => say!(
            t,
            "The {band} is the 95 % interval of the invert at each place by itself, counted from the elevation given at {place}.",
            band = band,
            place = at(t.voice, m)
        ),
        Base::Start(m) => say!(
            t,
            "The {band} is the 95 % interval of the invert at each place by itself, counted from {place}, where the run starts.",
            band = band,
            place = at(t.voice, m)
        ),
        Base::LevelsAlone => say!(
            t,
            "The {band} is the 95 % interval of the invert at each place by itself, by the errors of the levels that were given.",
            band = band
        ),
    }
}

/// Which error a parameter is, and of which run.
fn kind_and_run(name: &str) -> (&str, &str) {
    let (kind, run) = name.rsplit_once(", run ").unwrap_or((name, ""));
    (kind.split(' ').next().unwrap_or_default(), run)
}

/// What an error of the instrument is called.
pub(crate) fn parameter_name(t: &Teller, name: &str) -> String {
    let (kind, run) = kind_and_run(name);
    match (label(t.voice, kind), run) {
        (Some(label), "") => label,
        (Some(label), run) => say!(t, "{error}, run {run}", error = label, run = run),
        (None, _) => name.replace("_rad", "").replace('_', " "),
    }
}

/// An error of the instrument as a row: what it is, what was known before, what came of it, what the run said.
pub(crate) fn parameter(t: &Teller, p: &ParameterRow) -> [String; 4] {
    let answers = t.answers;
    let (kind, run) = kind_and_run(&p.name);
    let figure = |x: f64| figure(t.voice, kind, x);
    let value = figure(p.value);
    let name = parameter_name(t, &p.name);
    let (before, after, said) = if let Some((before, said)) = taken(t, kind, run, p.value) {
        (before, t.part(&value), said)
    } else if p.sd == 0.0 {
        let said = t.word("The run cannot change what is taken as exact.");
        (t.word("taken as exact"), t.part(&value), said)
    } else {
        let after = with_interval(t.voice, value, normal(t.voice, p.value, p.sd, figure));
        if matches!(kind, "zero_rad" | "offset_rad") && head_checks(answers) > 0 {
            // Beforehand a checked head may have any zero error, so that a share of that would say nothing.
            let said = t.word("It comes from the check of the head, with what the run and other ties say.");
            (t.word("left to the check of the head"), after, said)
        } else {
            let before = match p.prior {
                Some(prior) => say!(
                    t,
                    "{value} ({interval}): {source}",
                    value = figure(prior),
                    interval = normal(t.voice, prior, p.prior_sd, figure),
                    source = source(t, kind)
                ),
                // Of answers that were written before.
                None => say!(t, "within {size} either way", size = figure(Z_95 * p.prior_sd)),
            };
            (before, after, run_said(t.voice, p, has_ties(answers)))
        }
    };
    [name, before, after, said]
}

/// Where what was known of an error before the run comes from.
fn source(t: &Teller, kind: &str) -> String {
    let (of, usual) = (&t.answers.job.instrument, Instrument::default());
    let is_usual = match kind {
        "zero_rad" => of.zero_rad == usual.zero_rad && of.zero_sd_rad == usual.zero_sd_rad,
        "offset_rad" => {
            let own = |i: &Instrument| (i.zero_rad, i.zero_sd_rad, i.seating_sd_rad);
            own(of) == own(&usual)
        }
        "drift_rad" => of.drift_sd_rad == usual.drift_sd_rad,
        "across_axis_rad" => of.roll_sd_rad == usual.roll_sd_rad,
        "counter_scale" => of.counter_scale == usual.counter_scale && of.counter_scale_sd == usual.counter_scale_sd,
        _ => return t.word("as the job gives it"),
    };
    if is_usual {
        t.word("usual of such heads and cables (common practice, no source); the job gives no other")
    } else {
        t.word("as the job gives it")
    }
}

/// What the run, or run and ties, said of an error, by how its standard deviation changed. What is computed two ways agrees to a
/// millionth.
fn run_said(v: Voice, p: &ParameterRow, tied: bool) -> String {
    let ratio = p.sd / p.prior_sd;
    if !ratio.is_finite() {
        v.not_determined()
    } else if ratio > 1.0 + 1e-6 {
        if tied {
            say!(v, "The run and the ties said nothing of it; the rounding of its readings comes on top.")
        } else {
            say!(v, "The run itself said nothing of it; the rounding of its readings comes on top.")
        }
    } else if ratio >= 1.0 - 1e-6 {
        if tied {
            say!(v, "The run and the ties said nothing of it.")
        } else {
            say!(v, "The run itself said nothing of it.")
        }
    } else if ratio > 0.9 {
        if tied {
            say!(v, "The run and the ties said next to nothing of it.")
        } else {
            say!(v, "The run itself said next to nothing of it.")
        }
    } else if tied {
        say!(v, "Together they narrowed it to {percent} % of what it was.", percent = Part::Number(100.0 * ratio, 0))
    } else {
        say!(v, "The run narrowed it to {percent} % of what it was.", percent = Part::Number(100.0 * ratio, 0))
    }
}

fn label(v: Voice, kind: &str) -> Option<String> {
    Some(match kind {
        "zero_rad" => say!(v, "zero error of the head: what it reads when level"),
        "offset_rad" => say!(v, "zero error and seating of the head together"),
        "drift_rad" => say!(v, "drift of the head at the start"),
        "across_axis_rad" => say!(v, "error across the head's axis, which counts as far as it rolls"),
        "counter_scale" => say!(v, "counter: true length less what it shows"),
        "noise_rad" => say!(v, "noise of one reading, as a standard deviation"),
        "correlation_m" => say!(v, "distance over which that noise hangs together"),
        "step_rad" => say!(v, "rounding: the step of the readings"),
        "rounding_rad" => say!(v, "what averaging leaves of the rounding, as a standard deviation"),
        _ => return None,
    })
}

/// Angles in degrees, the counter's scale in percent, lengths in small units.
pub(crate) fn figure(v: Voice, kind: &str, x: f64) -> Part {
    if kind.ends_with("_rad") && x.is_finite() {
        said!(v.words, "{n} degrees", n = Part::Number(to_deg(x), 3)).into()
    } else if kind == "counter_scale" {
        words::percent(v, x, 2).into()
    } else if kind.ends_with("_m") {
        Part::Small(x)
    } else {
        Part::Number(x, 4)
    }
}

/// What was known of a figure of the noise, and where it comes from; nothing for what is estimated.
fn taken(t: &Teller, kind: &str, run: &str, value: f64) -> Option<(String, String)> {
    let instrument = &t.answers.job.instrument;
    let number = run.split(' ').next().and_then(|n| n.parse::<usize>().ok());
    let by_hand = number.and_then(|n| t.answers.job.runs.get(n.checked_sub(1)?)).is_some_and(|r| r.by_hand);
    let given = match kind {
        "noise_rad" => instrument.noise_sd_rad.is_some(),
        "correlation_m" => instrument.correlation_m.is_some(),
        "step_rad" => instrument.resolution_rad.is_some(),
        "rounding_rad" => false,
        _ => return None,
    };
    if given {
        return Some((t.word("as given"), t.word("It was given in the job.")));
    }
    let said = match kind {
        "rounding_rad" => t.word("It follows from the step of the readings and their noise."),
        "noise_rad" if by_hand => t.word("It is taken so: readings by hand are too few to show it."),
        "step_rad" if value == 0.0 => t.word("No step was found in the readings."),
        "correlation_m" if value == 0.0 => t.word("The readings show none: each is taken to err by itself."),
        _ => t.word("It was found in the readings."),
    };
    Some((t.word("nothing"), said))
}

/// What is allowed for without an estimate of its own, in sentences.
pub(crate) fn allowed_for(t: &Teller) -> Vec<String> {
    let instrument = &t.answers.job.instrument;
    let mut told = Vec::new();
    if t.answers.job.runs.is_empty() {
        return told;
    }
    let counts = |sd: f64| sd > 0.0 && sd.is_finite();
    if counts(instrument.seating_sd_rad) {
        told.push(say!(
            t,
            "Each time the head is put in, its seating may shift all its readings, within {angle} either way (95 %).",
            angle = Part::Angle(Z_95 * instrument.seating_sd_rad)
        ));
    }
    if counts(instrument.wander_sd_rad) {
        told.push(say!(
            t,
            "The zero error may wander along the run, within {angle} either way (95 %), as of a head that rolls.",
            angle = Part::Angle(Z_95 * instrument.wander_sd_rad)
        ));
    }
    if counts(instrument.lip_sd_m) {
        told.push(say!(
            t,
            "At each joint (one a stick length apart) there may be a lip, within {height} up or down (95 %); it counts in heights and falls.",
            height = Part::Small(Z_95 * instrument.lip_sd_m)
        ));
    }
    told
}

#[cfg(test)]
mod tests {
    use super::*;

    const UK: fn() -> Voice<'static> = || Voice::english(Words::Uk);

    #[test]
    fn the_words_follow_the_probability() {
        use Chance::{Doubtful, Likely, Sure};
        assert_eq!(
            [1.0, 0.95, 0.949, 0.5, 0.499, 0.0, f64::NAN].map(Chance::of),
            [Sure, Sure, Likely, Likely, Doubtful, Doubtful, Doubtful]
        );
        assert_eq!(chances(UK(), 0.7), "about 70 %, 7 in 10");
        assert_eq!(chances(UK(), 0.97), "about 97 %");
        assert_eq!(chances(UK(), f64::NAN), "not determined");
    }

    #[test]
    fn no_lower_limit_is_said_where_none_is_given() {
        let limits = |best, low, high| limits(UK(), best, low, high, Part::Small);
        assert_eq!(limits(0.02, Some(0.01), Some(0.03)), "20 mm (95 % interval 10 mm to 30 mm)");
        assert_eq!(limits(0.02, None, Some(0.03)), "at most 30 mm (20 mm in the best estimate)");
        assert_eq!(limits(0.0, None, Some(0.03)), "at most 30 mm (none in the best estimate)");
        assert_eq!(limits(0.02, None, None), "20 mm in the best estimate; no interval was worked out");
        assert_eq!(range(UK(), f64::NEG_INFINITY, 1.0, Part::Small), "not determined");
    }

    #[test]
    fn what_the_run_said_follows_the_standard_deviations() {
        let row = |sd: f64| ParameterRow { name: String::new(), value: 0.0, sd, prior: None, prior_sd: 1.0 };
        let said = |sd: f64| run_said(UK(), &row(sd), false);
        assert_eq!(said(1.0), "The run itself said nothing of it.");
        assert_eq!(said(0.5), "The run narrowed it to 50 % of what it was.");
        assert!(said(1.1).contains("rounding") && said(0.95).contains("next to nothing"));
    }
}
