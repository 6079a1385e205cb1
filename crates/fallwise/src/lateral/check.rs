//! Every number of a job, looked at once before anything is computed with it.
//!
//! Runs are checked where they are conditioned, the order of reaches and the places of bends and steps where they are
//! laid out. What is checked here is the rest, used or not: a job comes back in the answers, and a number that is none
//! cannot be written there.

use core::ops::RangeInclusive;

use super::answers::SAME_JOINT_M;
use crate::prelude::*;
use crate::{
    adjust,
    error::Error,
    hydraulics, math,
    model::{AsBuiltUse, Capacity, FeatureKind, Job, Known, Landmark, Reach, Tie, roughness},
    path::Path,
    pool::LONGEST_TRAP_M,
    said,
    units::{Part, Said},
};

/// Coordinates and elevations lie within this, m: beyond it a double no longer holds a micrometre.
const FAR_M: f64 = 1e9;
/// More draws than this are a mistake: they sharpen nothing and never end.
const MOST_DRAWS: usize = 1_000_000;
/// More digs than this on one lateral are a mistake; each makes a sheet.
const MOST_DIGS: usize = 1000;
/// A landmark farther from the pipe than this lies in other coordinates, m. Our choice.
const LANDMARK_M: f64 = 1000.0;
/// Notes and features may lie this far outside the survey without a word, m: a counter ends a little short of the
/// chamber that everybody calls the end. Our choice.
const NEAR_M: f64 = 0.5;

/// Refuses a job with a number that cannot be.
pub(super) fn job(job: &Job) -> Result<(), Error> {
    adjust::check_instrument(&job.instrument)?;
    for (i, run) in job.runs.iter().enumerate() {
        let at = At { table: "run", index: Some(i) };
        at.place("start_azimuth_rad", run.start_azimuth_rad)?;
        at.size("start_azimuth_sd_rad", run.start_azimuth_sd_rad)?;
        at.place("start_east_m", run.start_east_m)?;
        at.place("start_north_m", run.start_north_m)?;
        at.size("start_plan_sd_m", run.start_plan_sd_m)?;
        at.place("start_invert_m", run.start_invert_m)?;
        at.size("start_invert_sd_m", run.start_invert_sd_m)?;
        at.number("start_station_sd_m", run.start_station_sd_m, 0.0..=100.0, "0 to 100 m")?;
    }
    for (i, point) in job.as_built.iter().enumerate() {
        let at = At { table: "as_built", index: Some(i) };
        at.place("station_m", Some(point.station_m))?;
        at.place("invert_m", Some(point.invert_m))?;
        at.size("sd_m", point.sd_m)?;
    }
    for (i, reach) in job.reaches.iter().enumerate() {
        let at = At { table: "reach", index: Some(i) };
        at.place("from_m", Some(reach.from_m))?;
        at.place("to_m", Some(reach.to_m))?;
        if let Some(bore) = &reach.pipe.bore {
            bore.validate().map_err(|e| at.named(e))?;
        }
        at.number("pipe.nominal", reach.pipe.nominal.map(|n| n.size), f64::MIN_POSITIVE..=1e6, "a positive size")?;
        at.number("pipe.wall_m", reach.pipe.wall_m, 0.0..=10.0, "a wall of 0 to 10 m")?;
        roughness(reach.pipe.manning_n, "pipe.manning_n", reach.pipe.roughness_m, "pipe.roughness_m")
            .map_err(|e| at.named(e))?;
        at.number("pipe.stick_m", reach.pipe.stick_m, 1e-3..=FAR_M, "a length of at least 1 mm")?;
    }
    for (i, feature) in job.features.iter().enumerate() {
        let at = At { table: "feature", index: Some(i) };
        at.place("station_m", Some(feature.station_m))?;
        at.place("to_m", feature.to_m)?;
    }
    for (i, point) in job.ground.iter().enumerate() {
        let at = At { table: "ground", index: Some(i) };
        at.place("station_m", Some(point.station_m))?;
        at.place("elevation_m", Some(point.elevation_m))?;
        at.size("sd_m", point.sd_m)?;
    }
    for (i, tie) in job.ties.iter().enumerate() {
        let at = At { table: "tie", index: Some(i) };
        tie.validate().map_err(|e| at.named(e))?;
        deeper_than_pipe(&at, job, tie)?;
    }
    if job.as_built_use == AsBuiltUse::Use
        && !job.runs.is_empty()
        && let Some(i) = job.as_built.iter().position(|a| a.sd_m.is_none())
    {
        return Err(Error::at(
            "as_built.sd_m",
            i,
            "nothing",
            "a standard deviation, where as-built inverts are used beside a run",
        ));
    }
    for (i, note) in job.notes.iter().enumerate() {
        let at = At { table: "note", index: Some(i) };
        at.place("station_m", note.station_m)?;
        at.place("to_m", note.to_m)?;
        at.place("video_time_s", note.video_time_s)?;
        at.number("tilt_sd_rad", note.tilt_sd_rad, 0.0..=core::f64::consts::FRAC_PI_2, "0 to a quarter turn, in rad")?;
        if note.station_m.is_none() && note.video_time_s.is_none() {
            return Err(at.named(Error::value("station_m", "nothing", "a station, or a moment in the recording")));
        }
    }
    dug(job)?;
    let origin = At { table: "origin", index: None };
    job.origin.map_or(Ok(()), |o| o.validate()).map_err(|e| origin.named(e))?;
    let capacity = At { table: "capacity", index: None };
    job.capacity.as_ref().map_or(Ok(()), Capacity::validate).map_err(|e| capacity.named(e))?;
    if let Some(discharge) = job.capacity.as_ref().and_then(|c| c.discharge.as_ref()) {
        hydraulics::design_flow_m3_s(discharge).map_err(|e| capacity.named(e))?;
    }
    let survey = At { table: "survey", index: None };
    survey.size("about_length_m", job.survey.about_length_m)?;
    survey.place("video_offset_s", job.survey.video_offset_s)?;
    if let Some(tailwater_m) = job.tailwater_m.filter(|t| !(-FAR_M..=FAR_M).contains(t)) {
        return Err(Error::value("tailwater_m", tailwater_m, "a height within 1e9 m"));
    }
    if let Some(relay) = &job.relay {
        relay.validate()?;
        for (i, free) in relay.connections.iter().enumerate() {
            movable(job, i, free.station_m)?;
        }
    }
    if job.report.draws > MOST_DRAWS {
        return Err(Error::value("report.draws", job.report.draws, format!("at most {MOST_DRAWS} draws")));
    }
    Ok(())
}

/// Refuses what is said of a connection that nobody noted.
fn movable(job: &Job, i: usize, station_m: f64) -> Result<(), Error> {
    let off_m = |s: &f64| (s - station_m).abs();
    let noted = job.features.iter().filter(|f| f.kind == FeatureKind::Connection).map(|f| f.station_m);
    let nearest = noted.min_by(|a, b| off_m(a).total_cmp(&off_m(b)));
    if nearest.as_ref().is_some_and(|s| off_m(s) < SAME_JOINT_M) {
        return Ok(());
    }
    let expected = nearest.map_or_else(
        || "a connection noted among the features: there is none".to_owned(),
        |s| format!("the station of a connection noted among the features; the nearest is at {s} m"),
    );
    Err(Error::at("relay.connections.station_m", i, station_m, expected))
}

/// Refuses landmarks that nobody tells apart, and digs nowhere.
fn dug(job: &Job) -> Result<(), Error> {
    for (i, landmark) in job.landmarks.iter().enumerate() {
        let at = At { table: "landmark", index: Some(i) };
        at.place("east_m", Some(landmark.east_m))?;
        at.place("north_m", Some(landmark.north_m))?;
        at.size("sd_m", Some(landmark.sd_m))?;
        let name = landmark.name.trim();
        if name.is_empty() {
            return Err(at.named(Error::value("name", "nothing", "what it is, so that somebody finds it")));
        }
        if job.landmarks.iter().take(i).any(|other| other.name.trim() == name) {
            let expected = "a name that no other landmark has: distances are taped from it by its name";
            return Err(at.named(Error::value("name", name, expected)));
        }
    }
    for (i, dig) in job.digs.iter().enumerate() {
        let at = At { table: "dig", index: Some(i) };
        at.place("station_m", Some(dig.station_m))?;
        at.size("station_sd_m", Some(dig.station_sd_m))?;
    }
    if job.digs.len() > MOST_DIGS {
        return Err(Error::value("dig", job.digs.len(), format!("at most {MOST_DIGS} digs, a sheet for each")));
    }
    job.digging.validate().map_err(|e| At { table: "digging", index: None }.named(e))
}

/// Refuses a depth of water that nobody can have seen in the pipe that is there.
fn deeper_than_pipe(at: &At, job: &Job, tie: &Tie) -> Result<(), Error> {
    let Known::WaterDepth { at: here, depth_m, .. } = &tie.known else { return Ok(()) };
    let there = |r: &&Reach| r.from_m <= here.station_m && here.station_m <= r.to_m;
    let bores = job.reaches.iter().filter(there).map(|r| r.pipe.bore.map(|b| b.height_m()));
    // Of a pipe without a bore nothing is known.
    match bores.collect::<Option<Vec<f64>>>().and_then(|all| all.into_iter().reduce(f64::max)) {
        Some(bore_m) if *depth_m > bore_m => {
            let expected = format!("at most the bore, {bore_m} m: where the pipe runs full no depth is seen");
            Err(at.named(Error::value("depth_m", depth_m, expected)))
        }
        _ => Ok(()),
    }
}

/// Warnings of what was noted where the run did not go.
pub(super) fn outside(job: &Job, (first_m, last_m): (f64, f64)) -> Vec<Said> {
    let mut told = noted_outside(job, (first_m, last_m));
    for (i, dig) in job.digs.iter().enumerate() {
        if dig.station_m < first_m || dig.station_m > last_m {
            told.push(said!(
                "dig {n} at {at} m lies outside the surveyed {from} m to {to} m: its sheet says not to dig; correct its \
                 station, or survey that far",
                n = i + 1,
                at = Part::Number(dig.station_m, 2),
                from = Part::Number(first_m, 2),
                to = Part::Number(last_m, 2)
            ));
        }
    }
    told
}

/// Warnings of landmarks that no tape reaches from the pipe.
pub(super) fn far_landmarks(job: &Job, path: &Path) -> Vec<Said> {
    let places: Vec<[f64; 2]> = path.nodes.iter().filter_map(|node| node.plan_m).collect();
    let far = |landmark: &&Landmark| {
        let away = |p: &[f64; 2]| math::hypot(p[0] - landmark.east_m, p[1] - landmark.north_m);
        places.iter().map(away).reduce(f64::min).is_some_and(|m| m > LANDMARK_M)
    };
    job.landmarks
        .iter()
        .filter(far)
        .map(|landmark| {
            said!(
                "the landmark \"{name}\" lies more than {limit} m from the pipe: are its east and north in the axes of the \
                 job?",
                name = &landmark.name,
                limit = Part::Exact(LANDMARK_M)
            )
        })
        .collect()
}

fn noted_outside(job: &Job, (first_m, last_m): (f64, f64)) -> Vec<Said> {
    let features = job.features.iter().map(|f| (true, f.station_m, f.to_m));
    let notes = job.notes.iter().filter_map(|n| Some((false, n.station_m?, n.to_m)));
    features
        .chain(notes)
        .filter(|(_, from, to)| {
            let to = to.unwrap_or(*from);
            from.max(to) < first_m - NEAR_M || from.min(to) > last_m + NEAR_M
        })
        .map(|(is_feature, station_m, _)| {
            let (at, from, to) = (Part::Number(station_m, 2), Part::Number(first_m, 2), Part::Number(last_m, 2));
            if is_feature {
                said!(
                    "the feature at {at} m lies outside the surveyed {from} m to {to} m",
                    at = at,
                    from = from,
                    to = to
                )
            } else {
                said!("the note at {at} m lies outside the surveyed {from} m to {to} m", at = at, from = from, to = to)
            }
        })
        .collect()
}

/// Warnings of what the job gives and nothing is computed from yet.
pub(super) fn unused(job: &Job) -> Vec<Said> {
    let mut told = Vec::new();
    if job.notes.iter().any(|n| n.tilt_sd_rad.is_some() && n.station_m.is_none()) {
        told.push(said!("a note says how far the tilt may be off, but gives no station: that is not used"));
    }
    for f in job.features.iter().filter(|f| f.kind == FeatureKind::Trap) {
        if f.to_m.is_some_and(|to_m| (to_m - f.station_m).abs() > LONGEST_TRAP_M) {
            told.push(said!(
                "the trap at {at} m is noted over more than {limit} m, which no trap is: it excuses no water",
                at = Part::Number(f.station_m, 2),
                limit = Part::Exact(LONGEST_TRAP_M)
            ));
        }
    }
    told
}

/// Where in the job a number stands.
struct At {
    table: &'static str,
    index: Option<usize>,
}

impl At {
    /// A coordinate, elevation or the like.
    fn place(&self, field: &str, value: Option<f64>) -> Result<(), Error> {
        self.number(field, value, -FAR_M..=FAR_M, "a number within 1e9 of 0")
    }

    /// A length or standard deviation.
    fn size(&self, field: &str, value: Option<f64>) -> Result<(), Error> {
        self.number(field, value, 0.0..=FAR_M, "a number from 0 to 1e9")
    }

    fn number(
        &self,
        field: &str,
        value: Option<f64>,
        allowed: RangeInclusive<f64>,
        expected: &str,
    ) -> Result<(), Error> {
        match value.filter(|v| !allowed.contains(v)) {
            Some(v) => Err(self.named(Error::value(field, v, expected))),
            None => Ok(()),
        }
    }

    /// An error of a value with the place in front of its field.
    fn named(&self, error: Error) -> Error {
        match error {
            Error::Value { field, value, expected, .. } => {
                Error::Value { field: format!("{}.{field}", self.table), index: self.index, value, expected }
            }
            other => other,
        }
    }
}
