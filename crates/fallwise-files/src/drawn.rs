//! What drawings and maps have in common: where along the path a thing lies, and which things are shown.

use fallwise::{
    Answers,
    answers::{PathRow, TieRow},
    math,
    model::{FeatureKind, Known, Place},
    units::{Words, to_deg},
};

/// Features and notes this far outside the survey stand at its end, m, as the core takes them: a counter ends a little short of
/// the chamber that everybody calls the end.
const NEAR_M: f64 = 0.5;
/// Pieces that an arc in plan is drawn in: of a right angle the chords then lie within 0.5 % of the radius of it.
const ARC: usize = 8;

/// A place on the path.
#[derive(Debug, Clone, Copy, PartialEq)]
#[expect(clippy::struct_field_names, reason = "every field names its unit")]
pub(crate) struct Spot {
    pub(crate) station_m: f64,
    /// Of the invert, above the lowest node.
    pub(crate) height_m: f64,
    pub(crate) height_sd_m: f64,
    pub(crate) elevation_m: Option<f64>,
    pub(crate) elevation_sd_m: Option<f64>,
    /// East and north.
    pub(crate) plan_m: Option<[f64; 2]>,
    pub(crate) plan_sd_m: Option<[f64; 2]>,
}

/// The path at a station, between its nodes: heights and standard deviations along the chord, plan along the arc.
pub(crate) fn spot(path: &[PathRow], station_m: f64) -> Option<Spot> {
    let (first, last) = (path.first()?, path.last()?);
    let inside = station_m.is_finite() && first.station_m - NEAR_M <= station_m && station_m <= last.station_m + NEAR_M;
    let station_m = if inside { station_m.clamp(first.station_m, last.station_m) } else { return None };
    // At a step, where two nodes share a station, just after it.
    let after = path.partition_point(|row| row.station_m <= station_m);
    let (a, b) = match (path.get(after.checked_sub(1)?)?, path.get(after)) {
        (a, Some(b)) => (a, b),
        (a, None) => (a, a),
    };
    let length = b.station_m - a.station_m;
    let passed = if length > 0.0 { (station_m - a.station_m) / length } else { 0.0 };
    let between = |one: f64, other: f64| one + passed * (other - one);
    let both = |one: Option<f64>, other: Option<f64>| Some(between(one?, other?));
    Some(Spot {
        station_m,
        height_m: between(a.height_m, b.height_m),
        height_sd_m: between(a.height_sd_m, b.height_sd_m),
        elevation_m: both(a.elevation_m, b.elevation_m),
        elevation_sd_m: both(a.elevation_sd_m, b.elevation_sd_m),
        plan_m: plan(a, b, passed),
        plan_sd_m: both(a.east_sd_m, b.east_sd_m).zip(both(a.north_sd_m, b.north_sd_m)).map(<[f64; 2]>::from),
    })
}

/// East and north between two nodes: the cubic that has the pipe's directions at both ends. Of a straight piece it is the chord; of
/// an arc of a right angle it lies within 0.03 % of the radius, and within 0.4 % of the arc of where along it the station is.
fn plan(a: &PathRow, b: &PathRow, passed: f64) -> Option<[f64; 2]> {
    let (from, to) = ([a.east_m?, a.north_m?], [b.east_m?, b.north_m?]);
    let chord = [to[0] - from[0], to[1] - from[1]];
    let length_m = math::hypot(chord[0], chord[1]);
    let turn = turn(a, b);
    if turn == 0.0 || length_m == 0.0 {
        return Some([from[0] + passed * chord[0], from[1] + passed * chord[1]]);
    }
    // The tangents that bring the middle of the cubic onto the arc: of radius length / (2 sin(turn / 2)), 4 tan(turn / 4) of it.
    let size_m = 2.0 * length_m * math::tan(0.25 * turn) / math::sin(0.5 * turn);
    let along = |azimuth_rad: f64| {
        let (sin, cos) = math::sin_cos(azimuth_rad);
        [size_m * sin, size_m * cos]
    };
    let azimuth_rad = a.azimuth_rad?;
    let (out, into) = (along(azimuth_rad), along(azimuth_rad + turn));
    let (s, s2, s3) = (passed, passed * passed, passed * passed * passed);
    let weights = [s3 - 2.0 * s2 + s, 3.0 * s2 - 2.0 * s3, s3 - s2];
    Some([0, 1].map(|i| from[i] + weights[0] * out[i] + weights[1] * chord[i] + weights[2] * into[i]))
}

/// By how much the pipe turns from one node to the next, rad, at most half a turn either way; 0 where it does not or nobody knows.
fn turn(a: &PathRow, b: &PathRow) -> f64 {
    const WHOLE: f64 = 2.0 * core::f64::consts::PI;
    let (Some(from), Some(to)) = (a.azimuth_rad, b.azimuth_rad) else { return 0.0 };
    let turn = (to - from) % WHOLE;
    let turn = if turn > 0.5 * WHOLE {
        turn - WHOLE
    } else if turn < -0.5 * WHOLE {
        turn + WHOLE
    } else {
        turn
    };
    // A whole half turn has no arc of its own, and less than this no arc to see.
    if (1e-6..3.0).contains(&turn.abs()) { turn } else { 0.0 }
}

/// The pipe in plan, each stretch of it that is determined, arcs in short pieces.
pub(crate) fn plan_lines(path: &[PathRow]) -> Vec<Vec<[f64; 2]>> {
    let mut lines = Vec::new();
    let mut line: Vec<[f64; 2]> = Vec::new();
    for (i, row) in path.iter().enumerate() {
        let Some(place) = row.east_m.zip(row.north_m).map(<[f64; 2]>::from) else {
            lines.push(core::mem::take(&mut line));
            continue;
        };
        if line.last() != Some(&place) {
            line.push(place);
        }
        if let Some(next) =
            path.get(i + 1).filter(|next| next.station_m > row.station_m && turn(row, next).abs() > 0.02)
        {
            line.extend((1..ARC).filter_map(|k| plan(row, next, k as f64 / ARC as f64)));
        }
    }
    lines.push(line);
    lines.retain(|line| line.len() > 1);
    lines
}

/// Something that is shown on the path.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Mark {
    /// `end`, `feature`, `bend`, `step`, `tie`, `belly`, `note` or `dig`.
    pub(crate) kind: &'static str,
    /// What it is: a few words of the library's, or the name of a tie.
    pub(crate) what: String,
    pub(crate) station_m: f64,
    pub(crate) to_m: Option<f64>,
    /// What is said of it: the operator's words, or a sentence of the answers.
    pub(crate) text: String,
    /// Where it was measured, where that is a place of its own.
    pub(crate) plan_m: Option<[f64; 2]>,
    /// Standard deviation of each of that place's coordinates.
    pub(crate) plan_sd_m: Option<f64>,
}

impl Mark {
    fn new(kind: &'static str, what: impl Into<String>, station_m: f64, text: impl Into<String>) -> Self {
        Self { kind, what: what.into(), station_m, to_m: None, text: text.into(), plan_m: None, plan_sd_m: None }
    }
}

/// What is shown, by station, and in the order of the answers where that is one.
pub(crate) fn marks(answers: &Answers) -> Vec<Mark> {
    let words = answers.job.report.words;
    let mut marks = vec![
        Mark::new("end", "start of the surveyed length", answers.from_m, ""),
        Mark::new("end", "end of the surveyed length", answers.to_m, ""),
    ];
    for feature in &answers.job.features {
        let what = feature_name(words, feature.kind);
        marks.push(Mark { to_m: feature.to_m, ..Mark::new("feature", what, feature.station_m, feature.text.as_str()) });
    }
    for bend in &answers.job.bends {
        let side = if bend.deflection_rad < 0.0 { "left" } else { "right" };
        let what = format!("bend of {:.0} degrees to the {side}", to_deg(bend.deflection_rad.abs()));
        marks.push(Mark::new("bend", what, bend.station_m, ""));
    }
    for step in &answers.job.steps {
        let way = if step.rise_m < 0.0 { "down" } else { "up" };
        marks.push(Mark::new("step", format!("step {way} of {}", words.small(step.rise_m.abs())), step.station_m, ""));
    }
    let mut before: Option<&TieRow> = None;
    for row in &answers.ties {
        // A position in plan has two rows.
        let again =
            before.is_some_and(|b| b.number == row.number && b.station_m == row.station_m && b.kind == row.kind);
        before = Some(row);
        let (Some(station_m), false) = (row.station_m, again) else { continue };
        let (plan_m, plan_sd_m) = match known(answers, row) {
            Some(Known::Plan { east_m, north_m, sd_m, .. }) => (Some([*east_m, *north_m]), Some(*sd_m)),
            _ => (None, None),
        };
        let mark = Mark::new("tie", row.name.as_str(), station_m, row.sentence.as_str());
        marks.push(Mark { to_m: row.to_m, plan_m, plan_sd_m, ..mark });
    }
    for pool in &answers.pools {
        let Some(station_m) = pool.deepest_station_m else { continue };
        marks.push(Mark::new("belly", format!("belly {}, deepest", pool.number), station_m, pool.sentence.as_str()));
    }
    for note in &answers.noted {
        let Some(station_m) = note.station_m else { continue };
        let what = format!("note {}", note.number);
        marks.push(Mark { to_m: note.to_m, ..Mark::new("note", what, station_m, note.text.as_str()) });
    }
    for dig in &answers.digs {
        let what = match dig.name.trim() {
            "" => format!("dig {}", dig.number),
            name => format!("dig {}, {name}", dig.number),
        };
        marks.push(Mark::new("dig", what, dig.station_m, dig.sentence.as_str()));
    }
    marks.retain(|mark| mark.station_m.is_finite());
    marks.sort_by(|a, b| a.station_m.total_cmp(&b.station_m));
    marks
}

/// What the job says of the tie of a row; nothing of one that came with a run.
pub(crate) fn known<'a>(answers: &'a Answers, row: &TieRow) -> Option<&'a Known> {
    Some(&answers.job.ties.get(row.number.checked_sub(1)?)?.known)
}

/// A place on the counter, m: what was taped is a true distance from the start of the first run.
pub(crate) fn on_counter(answers: &Answers, place: &Place) -> f64 {
    let scale = answers.total.length_m / (answers.to_m - answers.from_m);
    if !(place.taped && scale.is_finite() && scale > 0.0) {
        return place.station_m;
    }
    let start_m = answers.job.runs.first().map_or(0.0, |run| run.start_station_m);
    start_m + (place.station_m - start_m) / scale
}

/// A place, as a reader finds it: "chainage 12.40 m", "station 0+40.7".
pub(crate) fn at(words: Words, station_m: f64) -> String {
    match words {
        Words::Uk => format!("chainage {}", words.station(station_m)),
        Words::Us => format!("station {}", words.station(station_m)),
    }
}

fn feature_name(words: Words, kind: FeatureKind) -> &'static str {
    match (kind, words) {
        (FeatureKind::Joint, _) => "joint",
        (FeatureKind::Connection, _) => "connection",
        (FeatureKind::Cleanout, Words::Uk) => "rodding eye",
        (FeatureKind::Cleanout, Words::Us) => "cleanout",
        (FeatureKind::Trap, _) => "trap",
        (FeatureKind::Valve, _) => "valve",
        (FeatureKind::Wall, _) => "wall",
        (FeatureKind::Boundary, _) => "boundary",
        (FeatureKind::Main, _) => "main",
        _ => "feature",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(station_m: f64, [east, north]: [f64; 2], azimuth_rad: f64) -> PathRow {
        PathRow {
            station_m,
            before_height_m: None,
            before_height_sd_m: None,
            elevation_sd_m: None,
            east_sd_m: None,
            north_sd_m: None,
            east_m: Some(east),
            north_m: Some(north),
            height_m: -station_m,
            height_sd_m: 0.0,
            height_low_m: 0.0,
            height_high_m: 0.0,
            elevation_m: None,
            tilt_rad: None,
            azimuth_rad: Some(azimuth_rad),
            bore_m: None,
            ground_m: None,
            cover_m: None,
            water_m: None,
            east_north_correlation: None,
            ground_sd_m: None,
            cover_sd_m: None,
            cover_low_m: None,
            cover_high_m: None,
            depth_m: None,
            depth_sd_m: None,
            depth_low_m: None,
            depth_high_m: None,
        }
    }

    /// A right angle of radius 2 from north to east about (2, 0), and to the left back again about (2, 4).
    #[test]
    fn an_arc_in_plan_is_round() {
        let quarter = core::f64::consts::FRAC_PI_2;
        let length = 2.0 * quarter;
        let path = [row(0.0, [0.0, 0.0], 0.0), row(length, [2.0, 2.0], quarter), row(2.0 * length, [4.0, 4.0], 0.0)];
        for k in 0..=20 {
            let part = f64::from(k) / 20.0;
            for (start, centre) in [(0.0, [2.0, 0.0]), (length, [2.0, 4.0])] {
                let [east, north] = spot(&path, start + part * length).and_then(|s| s.plan_m).unwrap();
                let radius = math::hypot(east - centre[0], north - centre[1]);
                // What is stated of the cubic: 0.03 % of the radius.
                assert!((radius - 2.0).abs() < 3e-4 * 2.0, "{part}: {radius}");
            }
        }
        // A third of the way: along the arc 0.34 % of it off, since the cubic does not run at an even pace.
        let [east, north] = spot(&path, length / 3.0).and_then(|s| s.plan_m).unwrap();
        assert!((math::atan2(north, 2.0 - east) - quarter / 3.0).abs() < 4e-3 * quarter);
        assert_eq!(plan_lines(&path), [plan_lines(&path).concat()]);
        assert_eq!(plan_lines(&path).concat().len(), 2 * ARC + 1);
    }

    #[test]
    fn places_are_inside_the_survey_or_just_beyond() {
        let path = [row(1.0, [0.0, 0.0], 0.0), row(3.0, [0.0, 2.0], 0.0)];
        assert_eq!(spot(&path, 2.0).map(|s| (s.height_m, s.plan_m)), Some((-2.0, Some([0.0, 1.0]))));
        assert_eq!(spot(&path, 3.4).map(|s| s.station_m), Some(3.0));
        assert_eq!(spot(&path, 0.6).map(|s| s.station_m), Some(1.0));
        assert!(spot(&path, 3.6).is_none() && spot(&path, f64::NAN).is_none() && spot(&[], 0.0).is_none());
    }
}
