//! What the job says: plain data, in SI units and radians, with nothing computed from it.
//!
//! A [`Job`] holds the runs (or readings written down by hand, or as-built inverts), the reaches of pipe, the
//! instrument, what the operator noted, and the facts of the survey. The text form of a job is read by the crate
//! `fallwise-files`.

mod capacity;
mod dig;
mod instrument;
mod origin;
mod pipe;
pub mod redact;
mod relay;
mod survey;
mod tie;

use crate::prelude::*;
pub(crate) use capacity::roughness;
pub use capacity::{Capacity, Discharge, Formula, System, Use};
pub use dig::{Dig, DigOptions, Landmark};
pub use instrument::Instrument;
pub use origin::Origin;
pub use pipe::{Nominal, Pipe, Reach, SizeUnit, StandardPipe, standard_pipes};
pub use relay::{KeepOut, KeptOver, MovableConnection, RelayChoice, RelayCosts, RelaySurface};
pub use survey::{Note, Survey};
pub use tie::{AsBuiltUse, Known, Place, ReversalCheck, Seen, TRANSMITTER_ABOVE_M, Tie, depth_sd_m};

use serde::{Deserialize, Serialize};

/// All that is known of one lateral before anything is computed.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Job {
    /// Facts of the survey, all optional.
    #[serde(default)]
    pub survey: Survey,
    /// Where on the earth the job's local axes lie; absent: nowhere, and nothing has a longitude or latitude.
    #[serde(default)]
    pub origin: Option<Origin>,
    /// Runs of the camera. Either these, or `readings`, or `as_built` must be there.
    #[serde(default)]
    pub runs: Vec<Run>,
    /// As-built inverts, from which a chain can be made where there is no run.
    #[serde(default)]
    pub as_built: Vec<AsBuilt>,
    /// What as-built inverts are for where there is a run.
    #[serde(default)]
    pub as_built_use: AsBuiltUse,
    /// What is known independently of the runs.
    #[serde(default)]
    pub ties: Vec<Tie>,
    /// Stretches of one bore, material, place and owner, in order of station; together they cover the survey.
    #[serde(default)]
    pub reaches: Vec<Reach>,
    /// The head: its zero error, noise, resolution, and the counter's scale.
    #[serde(default)]
    pub instrument: Instrument,
    /// Bends noted by the operator.
    #[serde(default)]
    pub bends: Vec<Bend>,
    /// Vertical lips at displaced joints.
    #[serde(default)]
    pub steps: Vec<Step>,
    /// Joints, connections, cleanouts, traps and the like.
    #[serde(default)]
    pub features: Vec<Feature>,
    /// Ground elevations along the lateral, in the datum of `start_invert_m` of the runs.
    #[serde(default)]
    pub ground: Vec<GroundPoint>,
    /// The operator's notes.
    #[serde(default)]
    pub notes: Vec<Note>,
    /// What is seen on the surface that places can be taped out from.
    #[serde(default)]
    pub landmarks: Vec<Landmark>,
    /// Digs that somebody plans: a sheet for each.
    #[serde(default)]
    pub digs: Vec<Dig>,
    /// When nobody may dig by a sheet, and where it is dug by hand.
    #[serde(default)]
    pub digging: DigOptions,
    /// Which way the water flows.
    #[serde(default)]
    pub flow: Flow,
    /// How segments are found.
    #[serde(default)]
    pub segments: SegmentChoice,
    /// Height of standing water at the outlet above the outlet's invert, m, if there is any.
    #[serde(default)]
    pub tailwater_m: Option<f64>,
    /// What the pipes have to carry; absent: nothing is said of it.
    #[serde(default)]
    pub capacity: Option<Capacity>,
    /// Facts that rules ask for.
    #[serde(default)]
    pub rules: RulesChoice,
    /// Wording and confidence of the answers.
    #[serde(default)]
    pub report: ReportChoice,
    /// What a plan of re-laying is asked for; absent: none is made.
    #[serde(default)]
    pub relay: Option<RelayChoice>,
}

/// One push of the camera, with its pull-backs, as logged or as written down by hand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Run {
    /// Name for messages, such as the log's file name.
    #[serde(default)]
    pub name: String,
    /// Cable out, m, one a reading, as the counter showed it.
    pub counter_m: Vec<f64>,
    /// What the head reported, rad, one a reading, sign as logged.
    pub reading_rad: Vec<f64>,
    /// Time since the start of the log, s, one a reading, where logged.
    #[serde(default)]
    pub time_s: Option<Vec<f64>>,
    /// Whether the head was in motion, one a reading, where logged; absent: told from the time, where that is logged.
    #[serde(default)]
    pub moving: Option<Vec<bool>>,
    /// Roll of the head about the pipe's axis, rad, one a reading, where logged: an error of the sensor across its
    /// axis enters the readings by its sine ([`Instrument::roll_sd_rad`]).
    #[serde(default)]
    pub roll_rad: Option<Vec<f64>>,
    /// Temperature of the head, degrees Celsius, one a reading, where logged. Kept, not used.
    #[serde(default)]
    pub temperature_c: Option<Vec<f64>>,
    /// Row of the source file of each reading, from 1, for messages.
    #[serde(default)]
    pub source_row: Option<Vec<usize>>,
    /// Which sign the log gives to a head that looks down.
    #[serde(default)]
    pub tilt_positive: TiltPositive,
    /// Whether growing counter means growing or falling station.
    #[serde(default)]
    pub toward: Toward,
    /// Station at counter 0, m.
    #[serde(default)]
    pub start_station_m: f64,
    /// Standard deviation of that station, m: of a run from the other end, whose stationing does not hang together with the first.
    /// Absent or 0: exact. Where two runs overlap, what is left open is found by laying the one over the other.
    #[serde(default)]
    pub start_station_sd_m: Option<f64>,
    /// Readings written down by hand, one a stick: each stands for a segment of its own.
    #[serde(default)]
    pub by_hand: bool,
    /// Azimuth of the pipe at the start of the run, rad, along growing station, where known.
    #[serde(default)]
    pub start_azimuth_rad: Option<f64>,
    /// Its standard deviation, rad.
    #[serde(default)]
    pub start_azimuth_sd_rad: Option<f64>,
    /// East of the start of the run, m.
    #[serde(default)]
    pub start_east_m: Option<f64>,
    /// North of the start of the run, m.
    #[serde(default)]
    pub start_north_m: Option<f64>,
    /// Standard deviation of the start position in plan, m.
    #[serde(default)]
    pub start_plan_sd_m: Option<f64>,
    /// Elevation of the invert at the start of the run, m, in the job's datum, where known.
    #[serde(default)]
    pub start_invert_m: Option<f64>,
    /// Its standard deviation, m.
    #[serde(default)]
    pub start_invert_sd_m: Option<f64>,
}

impl Run {
    /// A run with growing station, readings positive downwards, and nothing else said.
    pub fn new(counter_m: Vec<f64>, reading_rad: Vec<f64>) -> Self {
        Self {
            name: String::new(),
            counter_m,
            reading_rad,
            time_s: None,
            moving: None,
            roll_rad: None,
            temperature_c: None,
            source_row: None,
            tilt_positive: TiltPositive::Down,
            toward: Toward::Increasing,
            start_station_m: 0.0,
            start_station_sd_m: None,
            by_hand: false,
            start_azimuth_rad: None,
            start_azimuth_sd_rad: None,
            start_east_m: None,
            start_north_m: None,
            start_plan_sd_m: None,
            start_invert_m: None,
            start_invert_sd_m: None,
        }
    }

    /// Station at a counter reading, m.
    pub fn station_m(&self, counter_m: f64) -> f64 {
        match self.toward {
            Toward::Increasing => self.start_station_m + counter_m,
            Toward::Decreasing => self.start_station_m - counter_m,
        }
    }

    /// A reading as a tilt, rad, positive down towards growing station.
    pub fn tilt_rad(&self, reading_rad: f64) -> f64 {
        let down = match self.tilt_positive {
            TiltPositive::Down => reading_rad,
            TiltPositive::Up => -reading_rad,
        };
        match self.toward {
            Toward::Increasing => down,
            Toward::Decreasing => -down,
        }
    }

    /// Counter reading at a station, m.
    pub fn counter_at_m(&self, station_m: f64) -> f64 {
        match self.toward {
            Toward::Increasing => station_m - self.start_station_m,
            Toward::Decreasing => self.start_station_m - station_m,
        }
    }
}

/// Which sign the log gives to a head that looks down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum TiltPositive {
    /// Down is positive.
    #[default]
    Down,
    /// Up is positive.
    Up,
}

/// Whether the run goes towards growing or falling station.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum Toward {
    /// Counter and station grow together.
    #[default]
    Increasing,
    /// Station falls as the counter grows.
    Decreasing,
}

/// Which way the water flows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum Flow {
    /// Towards growing station.
    #[default]
    Increasing,
    /// Towards falling station.
    Decreasing,
}

impl Flow {
    /// +1 where the water flows towards growing station, -1 otherwise: tilt times this is fall along the flow.
    pub fn sign(self) -> f64 {
        match self {
            Self::Increasing => 1.0,
            Self::Decreasing => -1.0,
        }
    }
}

/// A noted bend: an arc of the fitting's angle, centred at its station.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Bend {
    /// Station of the middle of the bend, m.
    pub station_m: f64,
    /// Angle of the fitting in space, rad; positive turns right looking along growing station, negative left.
    pub deflection_rad: f64,
    /// Standard deviation of that angle, rad; default 1.5 degrees (our choice).
    #[serde(default = "Bend::default_sd_rad")]
    pub deflection_sd_rad: f64,
    /// Radius of the pipe axis, m; default 1.5 bores.
    #[serde(default)]
    pub radius_m: Option<f64>,
}

impl Bend {
    /// A bend of `deflection_rad` at `station_m` with the default radius.
    pub fn new(station_m: f64, deflection_rad: f64) -> Self {
        Self { station_m, deflection_rad, deflection_sd_rad: Self::default_sd_rad(), radius_m: None }
    }

    fn default_sd_rad() -> f64 {
        1.5 * core::f64::consts::PI / 180.0
    }
}

/// A vertical lip at a displaced joint, which tilt cannot see.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Step {
    /// Station, m.
    pub station_m: f64,
    /// How much higher the invert is just after the station than just before it, looking along growing station, m.
    pub rise_m: f64,
    /// Standard deviation of the rise, m; default 3 mm (our choice).
    #[serde(default = "Step::default_sd_m")]
    pub rise_sd_m: f64,
}

impl Step {
    fn default_sd_m() -> f64 {
        0.003
    }
}

/// Something on the way.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Feature {
    /// What it is.
    pub kind: FeatureKind,
    /// Station, m; of its start where it has an extent.
    pub station_m: f64,
    /// Station of its end, m, where it has an extent.
    #[serde(default)]
    pub to_m: Option<f64>,
    /// A few words of the operator's.
    #[serde(default)]
    pub text: String,
}

/// Kinds of feature.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
#[non_exhaustive]
pub enum FeatureKind {
    /// A joint between two laid lengths.
    Joint,
    /// Another pipe joining.
    Connection,
    /// A cleanout.
    Cleanout,
    /// A trap, whose pool is intended.
    Trap,
    /// A valve.
    Valve,
    /// A wall the pipe passes.
    Wall,
    /// A boundary of property or responsibility.
    Boundary,
    /// The main.
    Main,
}

/// Elevation of the ground above a station.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct GroundPoint {
    /// Station, m.
    pub station_m: f64,
    /// Elevation, m, in the job's datum.
    pub elevation_m: f64,
    /// Standard deviation, m.
    #[serde(default)]
    pub sd_m: Option<f64>,
}

/// An invert elevation from an as-built drawing or a level.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct AsBuilt {
    /// Station, m.
    pub station_m: f64,
    /// Elevation of the invert, m.
    pub invert_m: f64,
    /// Standard deviation, m; absent: taken as exact, and said so.
    #[serde(default)]
    pub sd_m: Option<f64>,
}

/// How segments are found in the readings.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase", tag = "method", deny_unknown_fields)]
pub enum SegmentChoice {
    /// Penalised segmentation of the readings; readings by hand give one segment each.
    #[default]
    Fitted,
    /// One segment for each reading.
    Raw,
    /// Breaks at given stations.
    Given {
        /// Stations of the inner breaks, m; empty: at the noted joints.
        #[serde(default)]
        breaks_m: Vec<f64>,
    },
}

/// Facts that rules ask for, and which rulebook.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct RulesChoice {
    /// Name of a shipped rulebook, or empty.
    #[serde(default)]
    pub rulebook: Option<String>,
    /// New work, or pipe that was there before.
    #[serde(default)]
    pub work: Work,
    /// Facts by the names that rulebooks ask for under `needs`, such as `approval = "yes"` or `water_closets = "2"`.
    #[serde(default)]
    pub facts: alloc::collections::BTreeMap<String, String>,
}

/// New work, or pipe that was there before.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum Work {
    /// Newly laid.
    New,
    /// There before.
    #[default]
    Existing,
}

/// Wording and statistics of the answers.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub struct ReportChoice {
    /// Words and units of sentences.
    pub words: crate::units::Words,
    /// Decimal mark of pages and pictures; absent: that of their language. Tables and JSON always have a point.
    pub decimal: Option<crate::units::Decimal>,
    /// Paper that pages are printed on; absent: Letter with `us` words, A4 with `uk`.
    pub paper: Option<Paper>,
    /// How many draws of the posterior; 0 leaves pools and findings without a probability.
    pub draws: usize,
    /// Seed of the draws.
    pub seed: u64,
}

impl Default for ReportChoice {
    fn default() -> Self {
        Self { words: crate::units::Words::default(), decimal: None, paper: None, draws: 1000, seed: 0 }
    }
}

/// A size of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum Paper {
    /// 210 mm by 297 mm.
    A4,
    /// 8.5 in by 11 in.
    Letter,
}
