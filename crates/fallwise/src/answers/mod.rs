//! The answers: flat rows of figures and plain sentences, the same in every face (JSON, CSV, page, picture, binding).
//!
//! Numbers are SI; `x_sd`, `x_low`, `x_high` stand beside `x`; an absent number is "not determined". Slopes and falls
//! are along the flow. Stations are in the lateral's stationing as the counter shows it.

mod capacity;
mod columns;
mod comparison;
mod place;
mod relay;
mod rows;
mod summary;

pub use capacity::{CapacityRow, Carrying, CarryingRow, NeededRow};
pub use columns::field_names;
pub use comparison::{BellyChange, Comparison, FindingChange, HeightChange, SlopeChange};
pub use place::{DigRow, NearestRow, TapeRow};
pub use relay::{RelayAnswer, RelayNodeRow, RelayPieceRow, RelayQuantityRow, RelayShortRow, RelayStretchRow};
pub use rows::pool_rows;
use serde::{Deserialize, Serialize};
pub use summary::SummaryRow;

use crate::prelude::*;
use crate::{model::Job, rules::Rule, units::Said};

/// Everything a lateral has to say, ready to be written.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Answers {
    /// Version of this form.
    pub schema: String,
    /// Version of the library that computed it.
    pub version: String,
    /// The one sentence that matters.
    pub sentence: String,
    /// The next measurement, in one sentence, if one would help.
    pub next: Option<NextRow>,
    /// Measurements that would help less, best first.
    #[serde(default)]
    pub next_others: Vec<NextRow>,
    /// First and last surveyed station, m.
    pub from_m: f64,
    /// Last surveyed station, m.
    pub to_m: f64,
    /// Totals over the surveyed length.
    pub total: ReachRow,
    /// One row a reach.
    pub reaches: Vec<ReachRow>,
    /// One row for each piece of pipe between noted joints, the first 400; none where no joint was noted.
    #[serde(default)]
    pub pieces: Vec<ReachRow>,
    /// One row for each stretch that runs backwards in the best estimate over 0.3 m or more, traps left out, the first 400.
    #[serde(default)]
    pub backward: Vec<ReachRow>,
    /// Stretches of which only the ends are known: no reading saw them, or runs contradict each other there.
    #[serde(default)]
    pub unseen: Vec<StretchRow>,
    /// One row a segment.
    pub segments: Vec<SegmentRow>,
    /// Pools, found or possible.
    pub pools: Vec<PoolRow>,
    /// Findings, the lateral's own first.
    pub findings: Vec<FindingRow>,
    /// Water that was seen and is not explained, or expected and not seen.
    #[serde(default)]
    pub water: Vec<WaterRow>,
    /// What the lateral carries as a whole; absent where the job does not ask.
    #[serde(default)]
    pub carrying: Option<CarryingRow>,
    /// What each surveyed reach carries in uniform flow.
    #[serde(default)]
    pub capacity: Vec<CapacityRow>,
    /// What it would take to carry the flow, and what is there.
    #[serde(default)]
    pub needed: Vec<NeededRow>,
    /// What is known beside the runs, one row for each thing that was measured, in the order of the job.
    #[serde(default)]
    pub ties: Vec<TieRow>,
    /// How the ties and the runs go together; absent without ties.
    #[serde(default)]
    pub adjustment: Option<AdjustmentRow>,
    /// As-built inverts beside what was measured.
    #[serde(default)]
    pub as_built: Vec<AsBuiltRow>,
    /// The operator's notes, in the order of the job.
    #[serde(default)]
    pub noted: Vec<NoteRow>,
    /// What to re-lay, where the job asks for a plan.
    #[serde(default)]
    pub relay: Option<RelayAnswer>,
    /// The digs that the job plans: a sheet for each.
    #[serde(default)]
    pub digs: Vec<DigRow>,
    /// How far each dig is from each landmark.
    #[serde(default)]
    pub tapes: Vec<TapeRow>,
    /// The path, node by node.
    pub path: Vec<PathRow>,
    /// What conditioning changed or dropped.
    pub edits: Vec<EditRow>,
    /// Readings as used, for pictures.
    pub readings: Vec<ReadingRow>,
    /// What the instrument model was, and what came of it.
    pub parameters: Vec<ParameterRow>,
    /// What makes the slopes and falls of the whole and of each reach uncertain, most first.
    #[serde(default)]
    pub budget: Vec<BudgetRow>,
    /// How the errors of parameters, and of the slope and fall of the whole, hang together: each pair once.
    #[serde(default)]
    pub correlations: Vec<CorrelationRow>,
    /// Covariances of the heights at breaks and at the ends of reaches: each pair once, a station with itself too.
    #[serde(default)]
    pub covariance: Vec<CovarianceRow>,
    /// Odd but usable input.
    pub warnings: Vec<String>,
    /// What a reader must know beside the findings.
    pub notes: Vec<String>,
    /// What the intervals do not cover.
    pub not_covered: Vec<String>,
    /// Cautions that go with every output.
    pub cautions: Vec<String>,
    /// The rulebook rows as used.
    pub rules: Vec<Rule>,
    /// The sentences above with their figures kept apart, so that another language can say them; each prints as it stands above.
    #[serde(default)]
    pub said: Vec<Said>,
    /// The job as understood (readings left out of it).
    pub job: Job,
    /// The files that went in, with what proves which ones they were; empty where the job did not come from files.
    #[serde(default)]
    pub inputs: Vec<InputRow>,
}

/// A file that went in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct InputRow {
    /// What it was for: `job`, `log`, `rulebook`, `photo` or `language`.
    pub role: String,
    /// Its name, as the job gives it; of the job itself its file name without folders.
    pub name: String,
    /// SHA-256 (FIPS 180-4) of its bytes, in hexadecimal: proves which file it was.
    pub sha256: String,
    /// Its size, bytes.
    pub bytes: u64,
}

/// A measurement that would help.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct NextRow {
    /// Name of the measurement, such as `reversal_check`.
    pub measurement: String,
    /// Station where it is done, m; absent for a measurement of the head.
    #[serde(default)]
    pub station_m: Option<f64>,
    /// Second station, m, where it is done at two.
    #[serde(default)]
    pub to_m: Option<f64>,
    /// What to do, in plain words.
    pub sentence: String,
    /// What can hurt while doing it.
    pub hazard: String,
    /// How many findings are undecided now.
    pub undecided_now: usize,
    /// How many of them it is expected to decide.
    pub expected_decided: f64,
}

/// A reach, or the whole surveyed length.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ReachRow {
    /// Name.
    pub name: String,
    /// Start, m.
    pub from_m: f64,
    /// End, m.
    pub to_m: f64,
    /// True length along the pipe, m.
    pub length_m: f64,
    /// Its standard deviation, m.
    pub length_sd_m: f64,
    /// Mean slope along the flow, drops left out.
    pub slope: Option<f64>,
    /// Standard deviation of the slope.
    pub slope_sd: Option<f64>,
    /// Low end of the slope's interval.
    pub slope_low: Option<f64>,
    /// High end of the slope's interval.
    pub slope_high: Option<f64>,
    /// Fall along the flow, m, drops and steps included.
    pub fall_m: f64,
    /// Standard deviation of the fall, m.
    pub fall_sd_m: f64,
    /// Low end of the fall's interval, m.
    pub fall_low_m: f64,
    /// High end of the fall's interval, m.
    pub fall_high_m: f64,
    /// Fall in drops (steeper than 45 degrees), m, contained in `fall_m`.
    pub drop_fall_m: f64,
    /// Pipe, in words.
    pub pipe: String,
    /// Bore (its height), m.
    pub bore_m: Option<f64>,
}

/// A stretch of the pipe.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[allow(clippy::struct_field_names, reason = "both are lengths in metres")]
pub struct StretchRow {
    /// Start, m.
    pub from_m: f64,
    /// End, m.
    pub to_m: f64,
}

/// One segment: a piece of constant tilt found in the data.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SegmentRow {
    /// Number, from 1, in order of station.
    pub number: usize,
    /// Start, m.
    pub from_m: f64,
    /// End, m.
    pub to_m: f64,
    /// True length, m.
    pub length_m: f64,
    /// Tilt, rad, positive down towards growing station.
    pub tilt_rad: f64,
    /// Its standard deviation, rad.
    pub tilt_sd_rad: f64,
    /// Slope along the flow; absent for a drop.
    pub slope: Option<f64>,
    /// Its standard deviation.
    pub slope_sd: Option<f64>,
    /// Low end of its interval.
    pub slope_low: Option<f64>,
    /// High end of its interval.
    pub slope_high: Option<f64>,
    /// Fall along the flow, m.
    pub fall_m: f64,
    /// Its standard deviation, m.
    pub fall_sd_m: f64,
    /// Number of readings it rests on.
    pub readings: usize,
    /// `pipe` or `drop`.
    pub kind: String,
    /// Probability that there is a break about where it starts, within a metre and nearer than any other; absent where
    /// breaks were given or a reach begins, and for the first. It is 1 where a reach begins, which is taken as a certain joint.
    #[serde(default)]
    pub break_probability: Option<f64>,
    /// Standard deviation of that break's station, m: how far from the station shown it may lie.
    #[serde(default)]
    pub break_sd_m: Option<f64>,
    /// Low end of the 95 % interval of that break's station, m.
    #[serde(default)]
    pub break_low_m: Option<f64>,
    /// High end of it, m.
    #[serde(default)]
    pub break_high_m: Option<f64>,
}

/// Water a belly can hold.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PoolRow {
    /// Number, from 1, in order of station.
    pub number: usize,
    /// `found`, `possible` or `intended`.
    pub state: String,
    /// Probability that water stands deeper than the tolerance; absent without draws.
    pub exists_probability: Option<f64>,
    /// Stations between which it lies, m (its own edges in the best estimate, or the stretch looked at if none).
    pub from_m: f64,
    /// Its other edge, m.
    pub to_m: f64,
    /// Length of water, m, true.
    pub length_m: f64,
    /// Station of the sill that holds it, m.
    pub sill_station_m: Option<f64>,
    /// Level of the water, m above the lowest station.
    pub level_m: Option<f64>,
    /// Station where it is deepest, m.
    pub deepest_station_m: Option<f64>,
    /// Greatest depth of the best estimate, m.
    pub depth_m: f64,
    /// Its standard deviation over the draws, m.
    pub depth_sd_m: Option<f64>,
    /// Low end of its interval, m; absent where only an upper limit can be given.
    pub depth_low_m: Option<f64>,
    /// High end of its interval, or the upper limit, m.
    pub depth_high_m: Option<f64>,
    /// Depth over bore.
    pub depth_over_bore: Option<f64>,
    /// Length over which the pipe runs full, m.
    pub full_bore_length_m: Option<f64>,
    /// Volume it can hold, m3.
    pub volume_m3: Option<f64>,
    /// Its standard deviation, m3.
    pub volume_sd_m3: Option<f64>,
    /// Low end of its interval, m3; absent where only an upper limit can be given.
    pub volume_low_m3: Option<f64>,
    /// High end of its interval, or the upper limit, m3.
    pub volume_high_m3: Option<f64>,
    /// The sill is the last surveyed point: everything here is a lower bound.
    pub sill_is_last_point: bool,
    /// The pool touches the upstream end: everything but its level is a lower bound.
    pub touches_upstream_end: bool,
    /// One plain sentence.
    pub sentence: String,
}

/// A finding against the rule.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct FindingRow {
    /// What it is about, such as `lateral`, `reach 1`, `pool 2`, `backfall`.
    pub subject: String,
    /// The pool that it is about, by its number among the pools, from 1.
    #[serde(default)]
    pub pool: Option<usize>,
    /// The reach that it is about, by its number in the job, from 1.
    #[serde(default)]
    pub reach: Option<usize>,
    /// Start of the stretch, m.
    pub from_m: f64,
    /// End of the stretch, m.
    pub to_m: f64,
    /// `meets`, `fails` or `undecided`.
    pub finding: String,
    /// Why undecided: `needs_measurement`, `too_close`, `not_surveyed`, `contradicted`, `no_rule`, `input_missing`; else absent.
    pub reason: Option<String>,
    /// `slope` (a ratio) or `depth_m`, `length_m`: what the numbers beside it are.
    pub quantity: String,
    /// Value found.
    pub value: Option<f64>,
    /// Its standard deviation.
    pub value_sd: Option<f64>,
    /// Low end of its two-sided 95 % interval.
    pub value_low: Option<f64>,
    /// High end of its interval.
    pub value_high: Option<f64>,
    /// The requirement, in the same quantity.
    pub required: Option<f64>,
    /// The requirement in words.
    pub requirement: String,
    /// Probability that the requirement holds; absent without draws.
    pub probability: Option<f64>,
    /// Document.
    pub document: String,
    /// Edition.
    pub edition: String,
    /// Clause.
    pub clause: String,
    /// `code`, `guidance`, `contract` or `practice`.
    pub force: String,
    /// Whether the row was seen in the primary document.
    pub confirmed: bool,
    /// One plain sentence.
    pub sentence: String,
}

/// A note of the operator's, with its place or moment worked out from the log's time where it gives only the other.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct NoteRow {
    /// Number, from 1, in the order of the job.
    pub number: usize,
    /// Station, m; absent where it is not determined.
    pub station_m: Option<f64>,
    /// Standard deviation of a station that was worked out, m; absent where the station was noted.
    pub station_sd_m: Option<f64>,
    /// Low end of its interval, m.
    pub station_low_m: Option<f64>,
    /// High end of its interval, m.
    pub station_high_m: Option<f64>,
    /// Station of its end, m, where it has an extent.
    pub to_m: Option<f64>,
    /// The operator's words.
    pub text: String,
    /// Whether standing water was seen.
    pub water_seen: bool,
    /// Moment in the recording, s from its start; absent where it is not determined.
    pub video_time_s: Option<f64>,
    /// Standard deviation of a moment that was worked out, s; absent where the moment was noted.
    pub video_time_sd_s: Option<f64>,
    /// Low end of its interval, s.
    pub video_time_low_s: Option<f64>,
    /// High end of its interval, s.
    pub video_time_high_s: Option<f64>,
    /// File name of its photo.
    pub photo: Option<String>,
    /// SHA-256 of the photo's file, in hexadecimal, where it was read: proves which photo it was.
    pub photo_sha256: Option<String>,
    /// Size of the photo's file, bytes.
    pub photo_bytes: Option<u64>,
}

/// Something that was measured beside the runs, held against everything else that is known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct TieRow {
    /// Number of the tie, from 1, in the order of the job; a plan position has two rows. 0: given with a run or an as-built
    /// invert.
    pub number: usize,
    /// Its name, or what it is and where.
    pub name: String,
    /// `invert`, `plan`, `azimuth`, `depth`, `height_difference`, `length`, `reversal_check`, `level_check`, `water_level` or
    /// `water_depth`.
    pub kind: String,
    /// What the numbers beside it are: `elevation_m`, `rise_m`, `east_m`, `north_m`, `azimuth_rad`, `length_m` or `zero_rad`.
    pub quantity: String,
    /// Station, m; absent for a check of the head.
    pub station_m: Option<f64>,
    /// Second station, m, where it has two.
    pub to_m: Option<f64>,
    /// What was measured.
    pub value: f64,
    /// Its standard deviation, with what the station adds: the root of the squares of the next two.
    pub sd: f64,
    /// Standard deviation of the measurement alone, as stated; of a water level that of both edges together, of a located depth that
    /// of the ground with it. Absent in results written before there was this.
    #[serde(default)]
    pub own_sd: Option<f64>,
    /// What the errors of its stations add, by the slope there.
    #[serde(default)]
    pub station_part_sd: Option<f64>,
    /// What everything else says of it; absent where nothing else does.
    pub expected: Option<f64>,
    /// Standard deviation of that. Absent also for a plan position whose station has an error, which is in both of its rows: what the
    /// one says of the other is then not independent of it.
    #[serde(default)]
    pub expected_sd: Option<f64>,
    /// Misclosure: value less expected.
    pub misclosure: Option<f64>,
    /// Standard deviation that the misclosure may have if all errors are as stated: the root of the squares of `sd` and `expected_sd`.
    pub misclosure_sd: Option<f64>,
    /// Misclosure over that standard deviation: beyond 3.3 either way once in a thousand.
    pub standardised: Option<f64>,
    /// What is left of it after the adjustment: value less adjusted value.
    pub residual: f64,
    /// Share of an error in this tie that would show, from 0 (nothing else checks it) to 1; absent for what holds exactly, which no
    /// residual is left of, however well others check it.
    pub redundancy: Option<f64>,
    /// The smallest error in it that would be found with a probability of 80 % (at one false alarm in a thousand); absent where
    /// nothing else checks it.
    pub smallest_detectable: Option<f64>,
    /// `agrees`, `large`, `suspect`, `unchecked` (nothing else says anything of it) or `repeated` (adds nothing to what holds
    /// exactly).
    pub verdict: String,
    /// One plain sentence.
    pub sentence: String,
}

/// How ties and runs go together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct AdjustmentRow {
    /// Steps of Gauss-Newton that were taken.
    pub steps: usize,
    /// Whether they came to rest.
    pub converged: bool,
    /// Sum of squares of the misclosures against what they may be: chi-square.
    pub chi_square: f64,
    /// Its degrees of freedom: what is measured beyond what is needed.
    pub degrees_of_freedom: usize,
    /// Probability of one as large or larger if all errors are as stated; absent without a degree of freedom.
    pub p_value: Option<f64>,
    /// `agree`, `large`, or `unchecked` without a degree of freedom. What contradicts itself is refused.
    pub verdict: String,
    /// One plain sentence.
    pub sentence: String,
    /// Which row of `ties`, from 1, fits worst, if one is suspect.
    #[serde(default)]
    pub suspect_row: Option<usize>,
    /// Which two rows of `ties`, from 1, together explain what one cannot.
    #[serde(default)]
    pub suspect_pair_rows: Option<(usize, usize)>,
    /// Where misclosures are larger than they should be: rows of `ties`, from 1, of each tie that, left out alone, makes the rest go
    /// together (the first row of each, the likeliest first). Any of them may be the wrong one.
    #[serde(default)]
    pub explained_by_rows: Vec<usize>,
    /// What the main figures would be without the suspect tie or ties, then without each other one that may be wrong.
    pub without: Vec<WithoutRow>,
    /// What cannot be determined, and the tie that would.
    pub not_determined: Vec<String>,
}

/// A figure with all ties and without what may be wrong.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct WithoutRow {
    /// What it is: `slope`, `fall_m`, `zero_rad`, `counter_scale`.
    pub quantity: String,
    /// What is left out, in words.
    #[serde(default)]
    pub left_out: String,
    /// With all ties.
    pub value: f64,
    /// Its standard deviation.
    pub sd: f64,
    /// Without.
    pub without: f64,
    /// Its standard deviation.
    pub without_sd: f64,
}

/// An as-built invert beside what was measured.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct AsBuiltRow {
    /// Station, m.
    pub station_m: f64,
    /// As-built invert, m.
    pub invert_m: f64,
    /// Its standard deviation, m; 0 where none was given.
    pub invert_sd_m: f64,
    /// What was measured, m: its elevation, or, where no elevation is known, its height put on the as-built inverts as a whole.
    pub measured_m: f64,
    /// Measured less as-built, m.
    pub difference_m: f64,
    /// Standard deviation of the difference, m.
    pub difference_sd_m: f64,
    /// Low end of its interval, m.
    pub difference_low_m: f64,
    /// High end of its interval, m.
    pub difference_high_m: f64,
    /// One plain sentence.
    pub sentence: String,
}

/// Water that was seen and is not explained, or expected and not seen.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct WaterRow {
    /// `not_explained` or `not_seen`.
    pub finding: String,
    /// Start of the stretch, m.
    pub from_m: f64,
    /// End of the stretch, m.
    pub to_m: f64,
    /// One plain sentence.
    pub sentence: String,
}

/// A node of the path.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PathRow {
    /// Station, m.
    pub station_m: f64,
    /// Height without the ties, m, put on that with them where the ties are surest; absent without ties.
    #[serde(default)]
    pub before_height_m: Option<f64>,
    /// Standard deviation of that, m.
    #[serde(default)]
    pub before_height_sd_m: Option<f64>,
    /// Standard deviation of the elevation, m; absent where no elevation is known.
    #[serde(default)]
    pub elevation_sd_m: Option<f64>,
    /// Standard deviation of east, m; absent where the plan is not determined.
    #[serde(default)]
    pub east_sd_m: Option<f64>,
    /// Standard deviation of north, m; absent where the plan is not determined.
    #[serde(default)]
    pub north_sd_m: Option<f64>,
    /// Correlation of the errors of east and north, -1 to 1, for an ellipse; absent where the plan is not determined, or where one of
    /// them has no error.
    #[serde(default)]
    pub east_north_correlation: Option<f64>,
    /// East, m; absent where the plan is not determined.
    pub east_m: Option<f64>,
    /// North, m; absent where the plan is not determined.
    pub north_m: Option<f64>,
    /// Height of the invert above the lowest station, m.
    pub height_m: f64,
    /// Standard deviation of the height relative to the start of the survey (with the start's own where an elevation
    /// is given), m.
    pub height_sd_m: f64,
    /// Low end of its interval, m.
    pub height_low_m: f64,
    /// High end of its interval, m.
    pub height_high_m: f64,
    /// Elevation of the invert in the job's datum, m.
    pub elevation_m: Option<f64>,
    /// Tilt of the piece that starts here, rad.
    pub tilt_rad: Option<f64>,
    /// Azimuth here, rad.
    pub azimuth_rad: Option<f64>,
    /// Bore of the piece that starts here (its height), m.
    pub bore_m: Option<f64>,
    /// Ground elevation, m, on the line between the two points of the job next to it.
    pub ground_m: Option<f64>,
    /// Standard deviation of that from those of the two points, whose errors are taken as independent, m; absent where one of them was
    /// given none, as are then those of cover and depth. How far the ground between them departs from a line is not in it.
    #[serde(default)]
    pub ground_sd_m: Option<f64>,
    /// Ground to the outside top of the pipe, m.
    pub cover_m: Option<f64>,
    /// Standard deviation of the cover, m: that of the depth; bore and wall are taken as they stand.
    #[serde(default)]
    pub cover_sd_m: Option<f64>,
    /// Low end of its interval, m.
    #[serde(default)]
    pub cover_low_m: Option<f64>,
    /// High end of its interval, m.
    #[serde(default)]
    pub cover_high_m: Option<f64>,
    /// Ground to the invert, m.
    #[serde(default)]
    pub depth_m: Option<f64>,
    /// Standard deviation of the depth, m, from those of ground and elevation, taken as independent: where the elevation itself comes
    /// from a depth located under this ground, a little too large.
    #[serde(default)]
    pub depth_sd_m: Option<f64>,
    /// Low end of its interval, m.
    #[serde(default)]
    pub depth_low_m: Option<f64>,
    /// High end of its interval, m.
    #[serde(default)]
    pub depth_high_m: Option<f64>,
    /// Height of the water a belly can hold here, m above the lowest station; absent where dry.
    pub water_m: Option<f64>,
}

/// A reading that conditioning changed, flagged or dropped.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct EditRow {
    /// Run.
    pub run: String,
    /// The same, from 0.
    #[serde(default)]
    pub run_number: usize,
    /// Row of the log, from 1, where known; else the number of the reading, from 1.
    pub row: usize,
    /// Counter, m.
    pub counter_m: f64,
    /// Reading, rad, as logged.
    pub reading_rad: f64,
    /// Where the counter put it, m, nothing of it put right.
    #[serde(default)]
    pub station_m: f64,
    /// The reading as a tilt, rad, positive down towards growing station, nothing of it put right.
    #[serde(default)]
    pub tilt_rad: f64,
    /// What was done: `dropped`, `combined`, `flagged`.
    pub action: String,
    /// Why.
    pub reason: String,
    /// Fall that went with it, m, positive down towards growing station; negative where it came.
    #[serde(default)]
    pub removed_fall_m: f64,
}

/// A reading as used.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ReadingRow {
    /// Run, from 0.
    pub run: usize,
    /// Station, m.
    pub station_m: f64,
    /// Tilt before the zero error is taken off, rad.
    pub tilt_rad: f64,
    /// Weight, 1 for a single full reading.
    pub weight: f64,
}

/// A parameter of the instrument model: estimated, with what was known before; or a figure of a run's noise, which is taken
/// as it was given or found in the readings, and has no error of its own.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ParameterRow {
    /// Name, such as `zero_rad`.
    pub name: String,
    /// Estimate.
    pub value: f64,
    /// Its standard deviation; 0 for what is taken as it stands.
    pub sd: f64,
    /// What it was taken for before the run; absent for what is taken as it stands.
    #[serde(default)]
    pub prior: Option<f64>,
    /// Standard deviation before the run; 0 for what is taken as it stands.
    pub prior_sd: f64,
}

/// What one source of error adds to the standard deviation of a slope or fall. The squares of `sd` over all rows of one figure and
/// quantity add up to the square of the standard deviation given with it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BudgetRow {
    /// Name of the reach, or `surveyed length`.
    pub figure: String,
    /// Start, m.
    pub from_m: f64,
    /// End, m.
    pub to_m: f64,
    /// `slope` or `fall_m`.
    pub quantity: String,
    /// Source of the error in words; `tie 2` is what that tie measured, `station of tie 2` where it was.
    pub source: String,
    /// What that source alone makes of the standard deviation, in the unit of the quantity: of an error as it enters, what the readings
    /// and ties do not take back of it; of a tie's own, what the tie brings in.
    pub sd: f64,
    /// Its share of the variance, 0 to 1.
    pub share: f64,
}

/// How the errors of two figures hang together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CorrelationRow {
    /// Name of a parameter, or `slope` or `fall_m` of the surveyed length.
    pub first: String,
    /// Name of the other.
    pub second: String,
    /// Standard deviation of the first, in its unit.
    pub first_sd: f64,
    /// Standard deviation of the second, in its unit.
    pub second_sd: f64,
    /// Correlation, -1 to 1: the covariance over both standard deviations.
    pub correlation: f64,
}

/// Covariance of the heights at two stations. The variance of the fall between stations a and b is that of a with a, plus that of b
/// with b, less twice that of a with b.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CovarianceRow {
    /// Station, m.
    pub first_station_m: f64,
    /// The same station, or a later one, m.
    pub second_station_m: f64,
    /// Covariance of the heights, m2, relative to the datum where an elevation is known, else to the start of the first run, as
    /// `height_sd_m` of the path.
    pub covariance_m2: f64,
    /// Covariance of what the tilts alone make of the heights above the first station, m2: for slopes, in which the counter's scale, steps
    /// and lips have no part.
    pub by_tilts_m2: f64,
}
