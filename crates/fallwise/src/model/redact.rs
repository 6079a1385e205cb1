//! A job for sharing: without people and without the site, with everything that figures depend on.
//!
//! [`FIELDS`] says of every field whether it is kept, changed or taken out; a test fails where a field comes to the job that nobody
//! decided on. What stays and can still tell something: which rulebook was asked for, and facts in the words of a shipped rulebook
//! (an ordinance has the name of its town); the direction of the pipe; the readings themselves, by which whoever holds the log
//! knows it again.

use crate::prelude::*;
use alloc::collections::BTreeMap;

use super::{
    AsBuilt, Dig, Feature, GroundPoint, Job, KeepOut, Known, Landmark, Note, Pipe, Place, Reach, RelayChoice,
    RelayCosts, RelaySurface, RulesChoice, Run, Survey, Tie, standard_pipes,
};

/// What becomes of a field.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Treated {
    /// As it is.
    Kept,
    /// Put in other words or, of coordinates and elevations, moved with all others of its sort.
    Changed,
    /// Taken out.
    Removed,
}
use Treated::{Changed, Kept, Removed};

/// Every field of a job, by its path in the job's JSON without indices (`*` stands for the names of facts), and what becomes of it.
pub const FIELDS: &[(&str, Treated)] = &[
    ("survey.title", Changed),
    ("survey.ordered_by", Removed),
    ("survey.site", Removed),
    ("survey.date_time", Removed),
    ("survey.operator", Removed),
    ("survey.licence", Removed),
    ("survey.company", Removed),
    ("survey.permit", Removed),
    ("survey.weather_48h", Removed),
    ("survey.water_run", Removed),
    ("survey.water", Changed),
    ("survey.cleaned_before", Removed),
    ("survey.complaint", Removed),
    ("survey.entry", Removed),
    ("survey.riser_height", Removed),
    ("survey.stopped_at", Removed),
    ("survey.stopped_because", Removed),
    ("survey.not_surveyed", Removed),
    ("survey.about_length_m", Kept),
    ("survey.head", Removed),
    ("survey.skid", Removed),
    ("survey.last_checked", Removed),
    ("survey.video", Removed),
    ("survey.video_hash", Removed),
    ("survey.video_offset_s", Kept),
    ("survey.locator", Removed),
    ("survey.landmarks", Removed),
    ("survey.signed_by", Removed),
    ("survey.invented", Kept),
    ("origin.longitude_rad", Removed),
    ("origin.latitude_rad", Removed),
    ("origin.east_m", Removed),
    ("origin.north_m", Removed),
    ("origin.grid_north_rad", Removed),
    ("origin.sd_m", Removed),
    ("runs.name", Changed),
    ("runs.counter_m", Kept),
    ("runs.reading_rad", Kept),
    ("runs.time_s", Kept),
    ("runs.moving", Kept),
    ("runs.roll_rad", Kept),
    ("runs.temperature_c", Removed),
    ("runs.source_row", Kept),
    ("runs.tilt_positive", Kept),
    ("runs.toward", Kept),
    ("runs.start_station_m", Kept),
    ("runs.start_station_sd_m", Kept),
    ("runs.by_hand", Kept),
    ("runs.start_azimuth_rad", Kept),
    ("runs.start_azimuth_sd_rad", Kept),
    ("runs.start_east_m", Changed),
    ("runs.start_north_m", Changed),
    ("runs.start_plan_sd_m", Kept),
    ("runs.start_invert_m", Changed),
    ("runs.start_invert_sd_m", Kept),
    ("as_built.station_m", Kept),
    ("as_built.invert_m", Changed),
    ("as_built.sd_m", Kept),
    ("as_built_use", Kept),
    ("ties.name", Changed),
    ("ties.known.kind", Kept),
    ("ties.known.at.station_m", Kept),
    ("ties.known.at.sd_m", Kept),
    ("ties.known.at.taped", Kept),
    ("ties.known.from.station_m", Kept),
    ("ties.known.from.sd_m", Kept),
    ("ties.known.from.taped", Kept),
    ("ties.known.to.station_m", Kept),
    ("ties.known.to.sd_m", Kept),
    ("ties.known.to.taped", Kept),
    ("ties.known.edge.station_m", Kept),
    ("ties.known.edge.sd_m", Kept),
    ("ties.known.edge.taped", Kept),
    ("ties.known.elevation_m", Changed),
    ("ties.known.east_m", Changed),
    ("ties.known.north_m", Changed),
    ("ties.known.ground_m", Changed),
    ("ties.known.sd_m", Kept),
    ("ties.known.azimuth_rad", Kept),
    ("ties.known.sd_rad", Kept),
    ("ties.known.depth_m", Kept),
    ("ties.known.ground_sd_m", Kept),
    ("ties.known.behind_m", Kept),
    ("ties.known.above_m", Kept),
    ("ties.known.rise_m", Kept),
    ("ties.known.from_m", Kept),
    ("ties.known.to_m", Kept),
    ("ties.known.length_m", Kept),
    ("ties.known.first_rad", Kept),
    ("ties.known.second_rad", Kept),
    ("ties.known.tilt_positive", Kept),
    ("ties.known.reading_rad", Kept),
    ("ties.known.surface_rad", Kept),
    ("ties.known.level_sd_m", Kept),
    ("ties.known.seen", Kept),
    ("ties.known.although_running", Kept),
    ("reaches.from_m", Kept),
    ("reaches.to_m", Kept),
    ("reaches.name", Changed),
    ("reaches.pipe.name", Changed),
    ("reaches.pipe.bore.circle.diameter_m", Kept),
    ("reaches.pipe.bore.ellipse.width_m", Kept),
    ("reaches.pipe.bore.ellipse.height_m", Kept),
    ("reaches.pipe.nominal.size", Kept),
    ("reaches.pipe.nominal.unit", Kept),
    ("reaches.pipe.material", Changed),
    ("reaches.pipe.wall_m", Kept),
    ("reaches.pipe.stick_m", Kept),
    ("reaches.pipe.manning_n", Kept),
    ("reaches.pipe.roughness_m", Kept),
    ("reaches.owner", Removed),
    ("reaches.facts.*", Changed),
    ("instrument.zero_rad", Kept),
    ("instrument.zero_sd_rad", Kept),
    ("instrument.zero_checked", Kept),
    ("instrument.seating_sd_rad", Kept),
    ("instrument.noise_sd_rad", Kept),
    ("instrument.correlation_m", Kept),
    ("instrument.resolution_rad", Kept),
    ("instrument.drift_sd_rad", Kept),
    ("instrument.drift_s", Kept),
    ("instrument.roll_sd_rad", Kept),
    ("instrument.wander_sd_rad", Kept),
    ("instrument.lip_sd_m", Kept),
    ("instrument.head_length_m", Kept),
    ("instrument.slack_m", Kept),
    ("instrument.lag_s", Kept),
    ("instrument.counter_scale", Kept),
    ("instrument.counter_scale_sd", Kept),
    ("bends.station_m", Kept),
    ("bends.deflection_rad", Kept),
    ("bends.deflection_sd_rad", Kept),
    ("bends.radius_m", Kept),
    ("steps.station_m", Kept),
    ("steps.rise_m", Kept),
    ("steps.rise_sd_m", Kept),
    ("features.kind", Kept),
    ("features.station_m", Kept),
    ("features.to_m", Kept),
    ("features.text", Removed),
    ("ground.station_m", Kept),
    ("ground.elevation_m", Changed),
    ("ground.sd_m", Kept),
    ("notes.station_m", Kept),
    ("notes.to_m", Kept),
    ("notes.text", Changed),
    ("notes.photo", Removed),
    ("notes.video_time_s", Kept),
    ("notes.water_seen", Kept),
    ("notes.dry_seen", Kept),
    ("notes.tilt_sd_rad", Kept),
    ("landmarks.name", Changed),
    ("landmarks.east_m", Changed),
    ("landmarks.north_m", Changed),
    ("landmarks.sd_m", Kept),
    ("digs.station_m", Kept),
    ("digs.station_sd_m", Kept),
    ("digs.name", Removed),
    ("digs.wanted", Removed),
    ("digging.across_m", Kept),
    ("digging.tie_within_m", Kept),
    ("digging.confidence", Kept),
    ("digging.margin_m", Kept),
    ("flow", Kept),
    ("segments.method", Kept),
    ("segments.breaks_m", Kept),
    ("tailwater_m", Kept),
    ("capacity.formula", Kept),
    ("capacity.manning_n", Kept),
    ("capacity.roughness_m", Kept),
    ("capacity.viscosity_m2_s", Kept),
    ("capacity.flow_m3_s", Kept),
    ("capacity.discharge.frequency", Kept),
    ("capacity.discharge.system", Kept),
    ("capacity.discharge.fixtures.*", Kept),
    ("capacity.discharge.units_m3_s", Kept),
    ("capacity.discharge.continuous_m3_s", Kept),
    ("capacity.filling", Kept),
    ("capacity.least_velocity_m_s", Kept),
    ("capacity.least_shear_pa", Kept),
    ("rules.rulebook", Changed),
    ("rules.work", Kept),
    ("rules.facts.*", Changed),
    ("report.words", Kept),
    ("report.decimal", Kept),
    ("report.paper", Kept),
    ("report.draws", Kept),
    ("report.seed", Kept),
    ("relay.min_slope", Kept),
    ("relay.confidence", Kept),
    ("relay.kept", Kept),
    ("relay.min_length_m", Kept),
    ("relay.max_length_m", Kept),
    ("relay.costs.currency", Removed),
    ("relay.costs.per_trench", Kept),
    ("relay.costs.per_m", Kept),
    ("relay.costs.per_m_depth", Kept),
    ("relay.surfaces.name", Removed),
    ("relay.surfaces.from_m", Kept),
    ("relay.surfaces.to_m", Kept),
    ("relay.surfaces.per_m", Kept),
    ("relay.surfaces.per_m_depth", Kept),
    ("relay.keep_out.from_m", Kept),
    ("relay.keep_out.to_m", Kept),
    ("relay.keep_out.reason", Removed),
    ("relay.connections.station_m", Kept),
    ("relay.connections.above_m", Kept),
    ("relay.width_m", Kept),
    ("relay.batter", Kept),
    ("relay.bedding_m", Kept),
];

/// Facts that shipped rulebooks ask for, with the words they know; numbers, yes and no are always understood.
const FACTS: [(&str, &[&str]); 10] = [
    ("approval", &[]),
    ("long_run", &[]),
    ("peak_flow", &["below 1 l/s", "above 1 l/s"]),
    (
        "place",
        &[
            "above ground",
            "below ground",
            "building sewer",
            "drain",
            "inside",
            "outside",
            "Davison MI",
            "Glencoe IL",
            "Lebanon OH",
            "Maumee OH",
            "New Albany IN",
            "St Anthony MN",
            "Valparaiso IN",
        ],
    ),
    ("slope_of_1_in_50_possible", &[]),
    ("upstream_of_grease_interceptor", &[]),
    ("use", &["dwelling", "commercial"]),
    ("velocity_m_s", &[]),
    ("ventilated", &[]),
    ("water_closets", &[]),
];

/// A fact whose words are in no shipped rulebook: there, and none of those that a row asks for.
const OTHER: &str = "other";

/// Shipped rulebooks, by name.
const BOOKS: [&str; 16] = [
    "apwa-style",
    "as-nzs-3500-2",
    "carmel-ca",
    "din-1986-100",
    "en-752",
    "ipc-2021",
    "irc-2021",
    "npc-canada",
    "obc",
    "ten-states-2014",
    "texas-217-53",
    "uk-approved-document-h-2015",
    "uk-en-752-4-1998",
    "upc-2021",
    "us-ordinances",
    "winter-garden-fl",
];

/// Words for what pipes are made of (common practice, no source).
const MATERIALS: [&str; 16] = [
    "ABS",
    "asbestos cement",
    "bituminised fibre",
    "cast iron",
    "clay",
    "concrete",
    "copper",
    "ductile iron",
    "HDPE",
    "PE",
    "PP",
    "PVC",
    "PVC-U",
    "steel",
    "vitrified clay",
    "vitrified clay pipe",
];

impl Job {
    /// A copy for sharing: without people, firms, site, streets, landmarks, recording and photos, in coordinates and elevations of
    /// its own. Figures and findings are those of the original, but for the rounding of elevations and coordinates that were moved.
    ///
    /// Where the job asks a rulebook of the user's own for facts that no shipped rulebook knows, these go too, and findings that
    /// rest on them are left undecided; [`Rulebook::redacted`](crate::Rulebook::redacted) is the book without names.
    ///
    /// # Example
    /// ```
    /// use fallwise::{Job, Run, model::Survey};
    ///
    /// let run = Run { name: "12 Mill Lane".into(), start_invert_m: Some(31.2), ..Run::new(vec![0.0, 1.0], vec![0.02, 0.03]) };
    /// let survey = Survey { site: Some("12 Mill Lane".into()), ..Survey::default() };
    /// let shared = Job { survey, runs: vec![run], ..Job::default() }.redacted();
    /// assert_eq!(shared.survey.site, None);
    /// assert_eq!((shared.runs[0].name.as_str(), shared.runs[0].start_invert_m), ("run 1", Some(0.0)));
    /// assert_eq!(shared.runs[0].reading_rad, [0.02, 0.03]);
    /// ```
    #[must_use]
    pub fn redacted(&self) -> Self {
        // Every struct is taken apart by name, so that a field that comes to it later cannot be forgotten here.
        let Self {
            survey,
            origin: _,
            runs,
            as_built,
            as_built_use,
            ties,
            reaches,
            instrument,
            bends,
            steps,
            features,
            ground,
            notes,
            landmarks,
            digs,
            digging,
            flow,
            segments,
            tailwater_m,
            capacity,
            rules,
            report,
            relay,
        } = self;
        let moved = Moved::of(self);
        Self {
            survey: survey_of(survey),
            origin: None,
            runs: runs.iter().enumerate().map(|(i, run)| moved.run(i + 1, run)).collect(),
            as_built: as_built
                .iter()
                .map(|AsBuilt { station_m, invert_m, sd_m }| AsBuilt {
                    station_m: *station_m,
                    invert_m: moved.up(*invert_m),
                    sd_m: *sd_m,
                })
                .collect(),
            as_built_use: *as_built_use,
            ties: ties.iter().enumerate().map(|(i, tie)| moved.tie(i + 1, tie)).collect(),
            reaches: reaches.iter().enumerate().map(|(i, reach)| reach_of(i + 1, reach)).collect(),
            instrument: instrument.clone(),
            bends: bends.clone(),
            steps: steps.clone(),
            features: features
                .iter()
                .map(|Feature { kind, station_m, to_m, text: _ }| Feature {
                    kind: *kind,
                    station_m: *station_m,
                    to_m: *to_m,
                    text: String::new(),
                })
                .collect(),
            ground: ground
                .iter()
                .map(|GroundPoint { station_m, elevation_m, sd_m }| GroundPoint {
                    station_m: *station_m,
                    elevation_m: moved.up(*elevation_m),
                    sd_m: *sd_m,
                })
                .collect(),
            notes: notes.iter().map(note_of).collect(),
            landmarks: landmarks.iter().enumerate().map(|(i, landmark)| moved.landmark(i + 1, landmark)).collect(),
            digs: digs
                .iter()
                .map(|Dig { station_m, station_sd_m, name: _, wanted: _ }| Dig {
                    station_m: *station_m,
                    station_sd_m: *station_sd_m,
                    name: String::new(),
                    wanted: String::new(),
                })
                .collect(),
            digging: *digging,
            flow: *flow,
            segments: segments.clone(),
            tailwater_m: *tailwater_m,
            capacity: capacity.clone(),
            rules: {
                let RulesChoice { rulebook, work, facts } = rules;
                RulesChoice {
                    rulebook: rulebook.clone().filter(|name| BOOKS.contains(&name.as_str())),
                    work: *work,
                    facts: facts_of(facts),
                }
            },
            report: report.clone(),
            relay: relay.as_ref().map(relay_of),
        }
    }
}

/// What is asked of a plan: its figures turn on the costs, which stay; what surfaces and stretches are called goes.
fn relay_of(relay: &RelayChoice) -> RelayChoice {
    let RelayChoice { min_slope, confidence, kept, min_length_m, max_length_m, .. } = *relay;
    let RelayChoice { costs, surfaces, keep_out, connections, width_m, batter, bedding_m, .. } = relay;
    let RelayCosts { currency: _, per_trench, per_m, per_m_depth } = costs;
    let surface = |RelaySurface { name: _, from_m, to_m, per_m, per_m_depth }: &RelaySurface| RelaySurface {
        name: String::new(),
        from_m: *from_m,
        to_m: *to_m,
        per_m: *per_m,
        per_m_depth: *per_m_depth,
    };
    let unnamed =
        |KeepOut { from_m, to_m, reason: _ }: &KeepOut| KeepOut { from_m: *from_m, to_m: *to_m, reason: String::new() };
    RelayChoice {
        min_slope,
        confidence,
        kept,
        min_length_m,
        max_length_m,
        costs: RelayCosts {
            currency: String::new(),
            per_trench: *per_trench,
            per_m: *per_m,
            per_m_depth: *per_m_depth,
        },
        surfaces: surfaces.iter().map(surface).collect(),
        keep_out: keep_out.iter().map(unnamed).collect(),
        connections: connections.clone(),
        width_m: *width_m,
        batter: *batter,
        bedding_m: *bedding_m,
    }
}

/// How far coordinates and elevations are moved, m: to the first known place, and to the lowest known elevation.
#[expect(clippy::struct_field_names, reason = "every field names its unit")]
struct Moved {
    east_m: f64,
    north_m: f64,
    up_m: f64,
}

impl Moved {
    fn of(job: &Job) -> Self {
        let starts = job.runs.iter().filter(|run| run.start_east_m.is_some() || run.start_north_m.is_some());
        let started = starts.map(|run| (run.start_east_m.unwrap_or(0.0), run.start_north_m.unwrap_or(0.0)));
        let located = job.ties.iter().filter_map(|tie| match &tie.known {
            Known::Plan { east_m, north_m, .. } => Some((*east_m, *north_m)),
            _ => None,
        });
        let marked = job.landmarks.iter().map(|landmark| (landmark.east_m, landmark.north_m));
        let (east_m, north_m) = started.chain(located).chain(marked).next().unwrap_or_default();
        let of_ties = job.ties.iter().filter_map(|tie| match &tie.known {
            Known::Invert { elevation_m, .. } => Some(*elevation_m),
            Known::Depth { ground_m, .. } => *ground_m,
            _ => None,
        });
        let up_m = of_ties
            .chain(job.runs.iter().filter_map(|run| run.start_invert_m))
            .chain(job.as_built.iter().map(|point| point.invert_m))
            .chain(job.ground.iter().map(|point| point.elevation_m))
            .filter(|m| m.is_finite())
            .reduce(f64::min)
            .unwrap_or(0.0);
        Self { east_m, north_m, up_m }
    }

    fn east(&self, m: f64) -> f64 {
        m - self.east_m
    }

    fn north(&self, m: f64) -> f64 {
        m - self.north_m
    }

    fn up(&self, m: f64) -> f64 {
        m - self.up_m
    }

    fn run(&self, number: usize, run: &Run) -> Run {
        let Run {
            name: _,
            counter_m,
            reading_rad,
            time_s,
            moving,
            roll_rad,
            temperature_c: _,
            source_row,
            tilt_positive,
            toward,
            start_station_m,
            start_station_sd_m,
            by_hand,
            start_azimuth_rad,
            start_azimuth_sd_rad,
            start_east_m,
            start_north_m,
            start_plan_sd_m,
            start_invert_m,
            start_invert_sd_m,
        } = run;
        // One of the two alone means that the other is 0.
        let placed = start_east_m.is_some() || start_north_m.is_some();
        Run {
            name: format!("run {number}"),
            counter_m: counter_m.clone(),
            reading_rad: reading_rad.clone(),
            time_s: time_s.clone(),
            moving: moving.clone(),
            roll_rad: roll_rad.clone(),
            temperature_c: None,
            source_row: source_row.clone(),
            tilt_positive: *tilt_positive,
            toward: *toward,
            start_station_m: *start_station_m,
            start_station_sd_m: *start_station_sd_m,
            by_hand: *by_hand,
            start_azimuth_rad: *start_azimuth_rad,
            start_azimuth_sd_rad: *start_azimuth_sd_rad,
            start_east_m: placed.then(|| self.east(start_east_m.unwrap_or(0.0))),
            start_north_m: placed.then(|| self.north(start_north_m.unwrap_or(0.0))),
            start_plan_sd_m: *start_plan_sd_m,
            start_invert_m: start_invert_m.map(|m| self.up(m)),
            start_invert_sd_m: *start_invert_sd_m,
        }
    }

    fn landmark(&self, number: usize, landmark: &Landmark) -> Landmark {
        let Landmark { name: _, east_m, north_m, sd_m } = landmark;
        let (east_m, north_m) = (self.east(*east_m), self.north(*north_m));
        Landmark { name: format!("landmark {number}"), east_m, north_m, sd_m: *sd_m }
    }

    fn tie(&self, number: usize, tie: &Tie) -> Tie {
        let mut known = tie.known.clone();
        match &mut known {
            Known::Invert { at: Place { .. }, elevation_m, sd_m: _ } => *elevation_m = self.up(*elevation_m),
            Known::Plan { at: _, east_m, north_m, sd_m: _ } => {
                *east_m = self.east(*east_m);
                *north_m = self.north(*north_m);
            }
            Known::Depth { ground_m, .. } => *ground_m = ground_m.map(|m| self.up(m)),
            // Differences, lengths, angles: nothing that is known of a place.
            Known::Azimuth { .. }
            | Known::HeightDifference { .. }
            | Known::Length { .. }
            | Known::ReversalCheck(_)
            | Known::LevelCheck { .. }
            | Known::WaterLevel { .. }
            | Known::WaterDepth { .. } => {}
        }
        Tie { name: format!("tie {number}"), known }
    }
}

fn survey_of(survey: &Survey) -> Survey {
    let Survey {
        title: _,
        ordered_by: _,
        site: _,
        date_time: _,
        operator: _,
        licence: _,
        company: _,
        permit: _,
        weather_48h: _,
        water_run: _,
        water,
        cleaned_before: _,
        complaint: _,
        entry: _,
        riser_height: _,
        stopped_at: _,
        stopped_because: _,
        not_surveyed: _,
        about_length_m,
        head: _,
        skid: _,
        last_checked: _,
        video: _,
        video_hash: _,
        video_offset_s,
        locator: _,
        landmarks: _,
        signed_by: _,
        invented,
    } = survey;
    let said = water.as_deref().map(str::to_lowercase);
    let word = |said: String| {
        if survey.water_runs() {
            "running"
        } else if said.contains("still") {
            "still"
        } else {
            "unknown"
        }
    };
    Survey {
        title: Some("Redacted survey".to_owned()),
        water: said.map(|said| word(said).to_owned()),
        about_length_m: *about_length_m,
        video_offset_s: *video_offset_s,
        invented: *invented,
        ..Survey::default()
    }
}

fn reach_of(number: usize, reach: &Reach) -> Reach {
    let Reach { from_m, to_m, name: _, pipe, owner: _, facts } = reach;
    let Pipe { name, bore, nominal, material, wall_m, stick_m, manning_n, roughness_m } = pipe;
    let is_standard = standard_pipes().iter().any(|row| *name == format!("{} {}", row.class, row.nominal));
    let known = |said: &String| MATERIALS.iter().any(|word| word.eq_ignore_ascii_case(said.trim()));
    Reach {
        from_m: *from_m,
        to_m: *to_m,
        name: format!("reach {number}"),
        pipe: Pipe {
            name: if is_standard { name.clone() } else { String::new() },
            bore: *bore,
            nominal: *nominal,
            material: material.clone().filter(known),
            wall_m: *wall_m,
            stick_m: *stick_m,
            manning_n: *manning_n,
            roughness_m: *roughness_m,
        },
        owner: None,
        facts: facts_of(facts),
    }
}

fn note_of(note: &Note) -> Note {
    let Note { station_m, to_m, text: _, photo: _, video_time_s, water_seen, dry_seen, tilt_sd_rad } = note;
    let text = match (water_seen, dry_seen) {
        (true, _) => "water seen",
        (_, true) => "seen dry",
        _ => "note",
    };
    Note {
        station_m: *station_m,
        to_m: *to_m,
        text: text.to_owned(),
        photo: None,
        video_time_s: *video_time_s,
        water_seen: *water_seen,
        dry_seen: *dry_seen,
        tilt_sd_rad: *tilt_sd_rad,
    }
}

/// Facts that shipped rulebooks ask for, in their words.
pub(crate) fn facts_of(facts: &BTreeMap<String, String>) -> BTreeMap<String, String> {
    facts.iter().filter_map(|(name, value)| Some((name.clone(), fact(name, value)?.to_owned()))).collect()
}

/// A fact in the words of shipped rulebooks; nothing of a fact that none asks for.
pub(crate) fn fact<'a>(name: &str, value: &'a str) -> Option<&'a str> {
    let (_, words) = FACTS.iter().find(|(known, _)| *known == name)?;
    let is = |word: &&str| word.eq_ignore_ascii_case(value.trim());
    let is_number = value.trim().parse::<f64>().is_ok_and(f64::is_finite);
    Some(if is_number || words.iter().chain(&["yes", "no"]).any(is) { value.trim() } else { OTHER })
}
