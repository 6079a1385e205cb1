//! Figures as plain structs, row by row.
//!
//! Each begins with its size, set by the caller, so that it may grow. NaN is "not determined", -1 "none". Texts that go
//! with a row are in the table of the same rows.

use fallwise::{
    adjust::Estimate,
    answers::{Answers, DigRow, FindingRow, NextRow, PathRow, PoolRow, ReachRow, RelayAnswer, SegmentRow},
};

use crate::border::{Sized1, or_nan};

/// A finding.
#[repr(i32)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum fw_verdict {
    /// There is none: no rulebook was given.
    FW_NO_VERDICT = -1,
    /// The requirement is met.
    FW_MEETS = 0,
    /// It is not.
    FW_FAILS = 1,
    /// This data cannot say. Print it and count it as undecided.
    FW_UNDECIDED = 2,
}

/// Why a finding is undecided.
#[repr(i32)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum fw_reason {
    /// It is decided, or none of these.
    FW_NO_REASON = -1,
    /// A measurement would decide it.
    FW_NEEDS_MEASUREMENT = 0,
    /// No practical measurement will.
    FW_TOO_CLOSE = 1,
    /// It was not surveyed.
    FW_REASON_NOT_SURVEYED = 2,
    /// Runs or ties contradict each other there.
    FW_CONTRADICTED = 3,
    /// The rulebook has no rule for it.
    FW_NO_RULE = 4,
    /// A fact that the rule asks for is missing.
    FW_INPUT_MISSING = 5,
}

/// What the numbers of a finding are.
#[repr(i32)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum fw_quantity {
    /// None of these.
    FW_NO_QUANTITY = -1,
    /// A slope, as a ratio.
    FW_QUANTITY_SLOPE = 0,
    /// A depth, m.
    FW_QUANTITY_DEPTH_M = 1,
    /// A length, m.
    FW_QUANTITY_LENGTH_M = 2,
}

/// Whether there is a pool.
#[repr(i32)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum fw_pool_state {
    /// None of these.
    FW_NO_POOL_STATE = -1,
    /// It was found.
    FW_POOL_FOUND = 0,
    /// There may be one.
    FW_POOL_POSSIBLE = 1,
    /// In a trap, where it is meant to be.
    FW_POOL_INTENDED = 2,
}

/// An estimate with its error.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct fw_estimate {
    /// `sizeof(fw_estimate)`, set by the caller.
    pub struct_size: usize,
    /// The figure, in the unit of the call that gives it.
    pub value: f64,
    /// Its standard deviation.
    pub sd: f64,
    /// Low end of its 95 % interval.
    pub low: f64,
    /// High end of it.
    pub high: f64,
}

// SAFETY: `repr(C)`, plain data, its size first.
unsafe impl Sized1 for fw_estimate {
    const FIRST: usize = size_of::<Self>();

    fn sized(self, struct_size: usize) -> Self {
        Self { struct_size, ..self }
    }
}

/// The lateral in figures: of the whole surveyed length. Slopes and falls are along the flow.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct fw_summary {
    /// `sizeof(fw_summary)`, set by the caller.
    pub struct_size: usize,
    /// First surveyed station, m.
    pub from_m: f64,
    /// Last surveyed station, m.
    pub to_m: f64,
    /// True length, m.
    pub length_m: f64,
    /// Its standard deviation, m.
    pub length_sd_m: f64,
    /// Mean slope, fall over horizontal length, drops left out; NaN: nothing but drops.
    pub slope: f64,
    /// Its standard deviation.
    pub slope_sd: f64,
    /// Low end of its 95 % interval.
    pub slope_low: f64,
    /// High end of it.
    pub slope_high: f64,
    /// Fall, m, drops and steps included.
    pub fall_m: f64,
    /// Its standard deviation, m.
    pub fall_sd_m: f64,
    /// Low end of its 95 % interval, m.
    pub fall_low_m: f64,
    /// High end of it, m.
    pub fall_high_m: f64,
    /// The lateral's own finding: fw_verdict.
    pub verdict: i32,
    /// Why it is undecided: fw_reason.
    pub reason: i32,
    /// How many segments there are.
    pub segments: u64,
    /// How many pools, found or possible.
    pub pools: u64,
    /// How many of them were found.
    pub pools_found: u64,
    /// How many findings.
    pub findings: u64,
    /// How many of them are undecided.
    pub undecided: u64,
    /// How many warnings.
    pub warnings: u64,
    /// How many measurements would help.
    pub next: u64,
    /// How many nodes the path has.
    pub path_nodes: u64,
    /// How many digs are planned.
    pub digs: u64,
    /// How many reaches were surveyed.
    pub reaches: u64,
}

// SAFETY: `repr(C)`, plain data, its size first.
unsafe impl Sized1 for fw_summary {
    const FIRST: usize = size_of::<Self>();

    fn sized(self, struct_size: usize) -> Self {
        Self { struct_size, ..self }
    }
}

/// Figures of a reach, or of the whole. Along the flow.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct fw_reach_figures {
    /// `sizeof(fw_reach_figures)`, set by the caller.
    pub struct_size: usize,
    /// Start, m.
    pub from_m: f64,
    /// End, m.
    pub to_m: f64,
    /// True length, m.
    pub length_m: f64,
    /// Its standard deviation, m.
    pub length_sd_m: f64,
    /// Mean slope, drops left out; NaN: nothing but drops.
    pub slope: f64,
    /// Its standard deviation.
    pub slope_sd: f64,
    /// Low end of its 95 % interval.
    pub slope_low: f64,
    /// High end of it.
    pub slope_high: f64,
    /// Fall, m, drops and steps included.
    pub fall_m: f64,
    /// Its standard deviation, m.
    pub fall_sd_m: f64,
    /// Low end of its 95 % interval, m.
    pub fall_low_m: f64,
    /// High end of it, m.
    pub fall_high_m: f64,
    /// Fall in drops, m, contained in `fall_m`.
    pub drop_fall_m: f64,
    /// Height of the bore, m; NaN: not known.
    pub bore_m: f64,
}

// SAFETY: `repr(C)`, plain data, its size first.
unsafe impl Sized1 for fw_reach_figures {
    const FIRST: usize = size_of::<Self>();

    fn sized(self, struct_size: usize) -> Self {
        Self { struct_size, ..self }
    }
}

/// One segment: a piece of constant tilt found in the data.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct fw_segment {
    /// `sizeof(fw_segment)`, set by the caller.
    pub struct_size: usize,
    /// Number, from 1, in order of station.
    pub number: u64,
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
    /// Slope along the flow; NaN for a drop.
    pub slope: f64,
    /// Its standard deviation.
    pub slope_sd: f64,
    /// Low end of its 95 % interval.
    pub slope_low: f64,
    /// High end of it.
    pub slope_high: f64,
    /// Fall along the flow, m.
    pub fall_m: f64,
    /// Its standard deviation, m.
    pub fall_sd_m: f64,
    /// How many readings it rests on.
    pub readings: u64,
    /// 1: a drop, steeper than 45 degrees; 0: pipe.
    pub is_drop: i32,
    /// Probability that there is a break about where it starts; NaN: given, or the first.
    pub break_probability: f64,
    /// Standard deviation of that break's station, m; NaN: as above.
    pub break_sd_m: f64,
    /// Low end of its 95 % interval, m.
    pub break_low_m: f64,
    /// High end of it, m.
    pub break_high_m: f64,
}

// SAFETY: `repr(C)`, plain data, its size first.
unsafe impl Sized1 for fw_segment {
    const FIRST: usize = size_of::<Self>();

    fn sized(self, struct_size: usize) -> Self {
        Self { struct_size, ..self }
    }
}

/// Water that a belly can hold; whether it stands there today the camera shows.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct fw_pool_figures {
    /// `sizeof(fw_pool_figures)`, set by the caller.
    pub struct_size: usize,
    /// Number, from 1, in order of station.
    pub number: u64,
    /// fw_pool_state.
    pub state: i32,
    /// Probability that it is deeper than 3 mm; NaN: without draws.
    pub exists_probability: f64,
    /// Edge at the lower station, m.
    pub from_m: f64,
    /// Edge at the higher station, m.
    pub to_m: f64,
    /// True length of water, m.
    pub length_m: f64,
    /// Station of the sill that holds it, m; NaN: only draws show it.
    pub sill_station_m: f64,
    /// Level, m above the lowest station; NaN: as above.
    pub level_m: f64,
    /// Where it is deepest, m; NaN: as above.
    pub deepest_station_m: f64,
    /// Greatest depth, m.
    pub depth_m: f64,
    /// Its standard deviation, m; NaN: without draws.
    pub depth_sd_m: f64,
    /// Low end of its 95 % interval, m; NaN: only an upper limit can be given.
    pub depth_low_m: f64,
    /// High end of it, or the upper limit, m.
    pub depth_high_m: f64,
    /// Depth over bore; NaN: bore not known.
    pub depth_over_bore: f64,
    /// Over what length the pipe runs full, m; NaN: as above.
    pub full_bore_length_m: f64,
    /// What it can hold, m3; NaN: as above.
    pub volume_m3: f64,
    /// Its standard deviation, m3.
    pub volume_sd_m3: f64,
    /// Low end of its 95 % interval, m3.
    pub volume_low_m3: f64,
    /// High end of it, or the upper limit, m3.
    pub volume_high_m3: f64,
    /// 1: the sill is the last surveyed point, and everything here is a lower bound.
    pub sill_is_last_point: i32,
    /// 1: it touches the upstream end, and all but its level is a lower bound.
    pub touches_upstream_end: i32,
}

// SAFETY: `repr(C)`, plain data, its size first.
unsafe impl Sized1 for fw_pool_figures {
    const FIRST: usize = size_of::<Self>();

    fn sized(self, struct_size: usize) -> Self {
        Self { struct_size, ..self }
    }
}

/// A finding against a rule. Its texts (subject, requirement, document, clause, sentence) are in the table `findings`.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct fw_finding {
    /// `sizeof(fw_finding)`, set by the caller.
    pub struct_size: usize,
    /// fw_verdict.
    pub verdict: i32,
    /// Why it is undecided: fw_reason.
    pub reason: i32,
    /// What the numbers are: fw_quantity.
    pub quantity: i32,
    /// 1: the rule was seen in the primary document; 0: not yet.
    pub confirmed: i32,
    /// The pool that it is about, by its number from 1; -1: none.
    pub pool: i64,
    /// The reach that it is about, by its number from 1; -1: none.
    pub reach: i64,
    /// Start of the stretch, m.
    pub from_m: f64,
    /// End of it, m.
    pub to_m: f64,
    /// Value found; NaN: none.
    pub value: f64,
    /// Its standard deviation.
    pub value_sd: f64,
    /// Low end of its two-sided 95 % interval.
    pub value_low: f64,
    /// High end of it.
    pub value_high: f64,
    /// The requirement, in the same quantity; NaN: none.
    pub required: f64,
    /// Probability that the requirement is met; NaN: without draws.
    pub probability: f64,
}

// SAFETY: `repr(C)`, plain data, its size first.
unsafe impl Sized1 for fw_finding {
    const FIRST: usize = size_of::<Self>();

    fn sized(self, struct_size: usize) -> Self {
        Self { struct_size, ..self }
    }
}

/// A node of the path. Its errors are in the table `path`.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct fw_path_node {
    /// `sizeof(fw_path_node)`, set by the caller.
    pub struct_size: usize,
    /// Station, m.
    pub station_m: f64,
    /// Height of the invert above the lowest station, m.
    pub height_m: f64,
    /// Its standard deviation, m.
    pub height_sd_m: f64,
    /// Low end of its 95 % interval, m.
    pub height_low_m: f64,
    /// High end of it, m.
    pub height_high_m: f64,
    /// Elevation of the invert in the job's datum, m; NaN: not known.
    pub elevation_m: f64,
    /// Its standard deviation, m.
    pub elevation_sd_m: f64,
    /// East, m; NaN: the plan is not determined.
    pub east_m: f64,
    /// North, m; NaN: as above.
    pub north_m: f64,
    /// Standard deviation of east, m.
    pub east_sd_m: f64,
    /// Standard deviation of north, m.
    pub north_sd_m: f64,
    /// Tilt of the piece that starts here, rad; NaN: the last.
    pub tilt_rad: f64,
    /// Azimuth here, rad; NaN: not known.
    pub azimuth_rad: f64,
    /// Height of the bore of that piece, m; NaN: not known.
    pub bore_m: f64,
    /// Elevation of the ground, m; NaN: not known.
    pub ground_m: f64,
    /// Ground to the outside top of the pipe, m; NaN: not known.
    pub cover_m: f64,
    /// Its standard deviation, m.
    pub cover_sd_m: f64,
    /// Ground to the invert, m; NaN: not known.
    pub depth_m: f64,
    /// Its standard deviation, m.
    pub depth_sd_m: f64,
    /// Height of the water that a belly can hold here, m above the lowest station; NaN: dry.
    pub water_m: f64,
}

// SAFETY: `repr(C)`, plain data, its size first.
unsafe impl Sized1 for fw_path_node {
    const FIRST: usize = size_of::<Self>();

    fn sized(self, struct_size: usize) -> Self {
        Self { struct_size, ..self }
    }
}

/// A measurement that would help. What to do and what can hurt while doing it are in the table `next`: show both.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct fw_next {
    /// `sizeof(fw_next)`, set by the caller.
    pub struct_size: usize,
    /// Where it is done, m; NaN: of the head.
    pub station_m: f64,
    /// Where else, m; NaN: nowhere.
    pub to_m: f64,
    /// How many findings are undecided now.
    pub undecided_now: u64,
    /// How many of them it is expected to decide.
    pub expected_decided: f64,
}

// SAFETY: `repr(C)`, plain data, its size first.
unsafe impl Sized1 for fw_next {
    const FIRST: usize = size_of::<Self>();

    fn sized(self, struct_size: usize) -> Self {
        Self { struct_size, ..self }
    }
}

/// A dig that the job plans, or a place that was asked for. Where `refused` is 1 nobody may dig by it; the reasons are
/// in the table.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct fw_dig {
    /// `sizeof(fw_dig)`, set by the caller.
    pub struct_size: usize,
    /// Number, from 1, in the order of the job; 0: not of the job.
    pub number: u64,
    /// 1: nobody may dig by this; 0: by hand as said.
    pub refused: i32,
    /// Station, m.
    pub station_m: f64,
    /// Its standard deviation, m.
    pub station_sd_m: f64,
    /// Expect the top of the pipe from this depth, m; NaN: refused.
    pub expect_from_m: f64,
    /// Dig by hand from this depth, m; NaN: refused.
    pub by_hand_from_m: f64,
    /// East, m; NaN: not determined.
    pub east_m: f64,
    /// Its standard deviation, m.
    pub east_sd_m: f64,
    /// North, m; NaN: not determined.
    pub north_m: f64,
    /// Its standard deviation, m.
    pub north_sd_m: f64,
    /// Half the longer axis of the 95 % ellipse, m.
    pub ellipse_major_m: f64,
    /// Half the shorter axis, m.
    pub ellipse_minor_m: f64,
    /// Direction of the longer axis, rad.
    pub ellipse_azimuth_rad: f64,
    /// 95 % half-width across the pipe, m.
    pub across_m: f64,
    /// 95 % half-width along the pipe, m.
    pub along_m: f64,
    /// Longitude (WGS 84), rad; NaN: no origin.
    pub longitude_rad: f64,
    /// Latitude (WGS 84), rad; NaN: no origin.
    pub latitude_rad: f64,
    /// Direction of the pipe, rad; NaN: not determined.
    pub azimuth_rad: f64,
    /// Elevation of the invert, m; NaN: not known.
    pub elevation_m: f64,
    /// Its standard deviation, m.
    pub elevation_sd_m: f64,
    /// Elevation of the ground, m; NaN: not known.
    pub ground_m: f64,
    /// Ground to the invert, m; NaN: not known.
    pub depth_m: f64,
    /// Its standard deviation, m.
    pub depth_sd_m: f64,
    /// Ground to the inside top of the pipe, m; NaN: not known.
    pub crown_m: f64,
    /// Its standard deviation, m.
    pub crown_sd_m: f64,
    /// Ground to the outside top of the pipe, m; NaN: not known.
    pub cover_m: f64,
    /// Its standard deviation, m.
    pub cover_sd_m: f64,
    /// Low end of its 95 % interval, m.
    pub cover_low_m: f64,
    /// High end of it, m.
    pub cover_high_m: f64,
}

// SAFETY: `repr(C)`, plain data, its size first.
unsafe impl Sized1 for fw_dig {
    const FIRST: usize = size_of::<Self>();

    fn sized(self, struct_size: usize) -> Self {
        Self { struct_size, ..self }
    }
}

/// What to re-lay, in figures. Stretches, pieces, inverts, quantities and sentences are in tables: see
/// fw_answers_table.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct fw_relay_figures {
    /// `sizeof(fw_relay_figures)`, set by the caller.
    pub struct_size: usize,
    /// fw_relay_outcome.
    pub outcome: i32,
    /// Probability asked of each piece.
    pub confidence: f64,
    /// What the plan costs by the costs of the job; NaN: no plan.
    pub cost: f64,
    /// Probability that all pieces meet their rules together; NaN: no plan, or without draws.
    pub joint_probability: f64,
    /// Low end of its interval.
    pub joint_low: f64,
    /// High end of it.
    pub joint_high: f64,
    /// By how much the outlet would have to be lower, m; NaN: not asked, or not needed.
    pub lower_outlet_m: f64,
    /// How many stretches are re-laid.
    pub stretches: u64,
}

// SAFETY: `repr(C)`, plain data, its size first.
unsafe impl Sized1 for fw_relay_figures {
    const FIRST: usize = size_of::<Self>();

    fn sized(self, struct_size: usize) -> Self {
        Self { struct_size, ..self }
    }
}

/// What came of a plan of re-laying.
#[repr(i32)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum fw_relay_outcome {
    /// None of these.
    FW_NO_RELAY_OUTCOME = -1,
    /// There is a plan.
    FW_RELAY_PLAN = 0,
    /// Nothing has to be re-laid.
    FW_RELAY_AS_IT_IS = 1,
    /// There is none; the sentences say what is missing.
    FW_RELAY_NO_PLAN = 2,
    /// It cannot be told; the sentences say why.
    FW_RELAY_REFUSED = 3,
}

/// The number of a word in its list, as the enumerations above have it; -1: none of them.
fn number(word: &str, words: &[&str]) -> i32 {
    words.iter().position(|known| *known == word).and_then(|at| i32::try_from(at).ok()).unwrap_or(-1)
}

fn verdict(finding: &str) -> i32 {
    number(finding, &["meets", "fails", "undecided"])
}

fn reason(reason: Option<&str>) -> i32 {
    let known = ["needs_measurement", "too_close", "not_surveyed", "contradicted", "no_rule", "input_missing"];
    reason.map_or(-1, |reason| number(reason, &known))
}

/// A count that C has in 64 bits everywhere.
fn count(of: usize) -> u64 {
    of as u64
}

/// A number from 1, -1 for none.
fn or_none(number: Option<usize>) -> i64 {
    number.and_then(|number| i64::try_from(number).ok()).unwrap_or(-1)
}

impl From<Estimate> for fw_estimate {
    fn from(e: Estimate) -> Self {
        Self { struct_size: 0, value: e.value, sd: e.sd, low: e.low, high: e.high }
    }
}

impl From<&Answers> for fw_summary {
    fn from(a: &Answers) -> Self {
        let own = a.findings.first();
        Self {
            struct_size: 0,
            from_m: a.from_m,
            to_m: a.to_m,
            length_m: a.total.length_m,
            length_sd_m: a.total.length_sd_m,
            slope: or_nan(a.total.slope),
            slope_sd: or_nan(a.total.slope_sd),
            slope_low: or_nan(a.total.slope_low),
            slope_high: or_nan(a.total.slope_high),
            fall_m: a.total.fall_m,
            fall_sd_m: a.total.fall_sd_m,
            fall_low_m: a.total.fall_low_m,
            fall_high_m: a.total.fall_high_m,
            verdict: own.map_or(-1, |f| verdict(&f.finding)),
            reason: own.map_or(-1, |f| reason(f.reason.as_deref())),
            segments: count(a.segments.len()),
            pools: count(a.pools.len()),
            pools_found: count(a.pools.iter().filter(|p| p.state == "found").count()),
            findings: count(a.findings.len()),
            undecided: count(a.findings.iter().filter(|f| f.finding == "undecided").count()),
            warnings: count(a.warnings.len()),
            next: count(a.next.iter().len() + a.next_others.len()),
            path_nodes: count(a.path.len()),
            digs: count(a.digs.len()),
            reaches: count(a.reaches.len()),
        }
    }
}

impl From<&ReachRow> for fw_reach_figures {
    fn from(r: &ReachRow) -> Self {
        Self {
            struct_size: 0,
            from_m: r.from_m,
            to_m: r.to_m,
            length_m: r.length_m,
            length_sd_m: r.length_sd_m,
            slope: or_nan(r.slope),
            slope_sd: or_nan(r.slope_sd),
            slope_low: or_nan(r.slope_low),
            slope_high: or_nan(r.slope_high),
            fall_m: r.fall_m,
            fall_sd_m: r.fall_sd_m,
            fall_low_m: r.fall_low_m,
            fall_high_m: r.fall_high_m,
            drop_fall_m: r.drop_fall_m,
            bore_m: or_nan(r.bore_m),
        }
    }
}

impl From<&SegmentRow> for fw_segment {
    fn from(s: &SegmentRow) -> Self {
        Self {
            struct_size: 0,
            number: count(s.number),
            from_m: s.from_m,
            to_m: s.to_m,
            length_m: s.length_m,
            tilt_rad: s.tilt_rad,
            tilt_sd_rad: s.tilt_sd_rad,
            slope: or_nan(s.slope),
            slope_sd: or_nan(s.slope_sd),
            slope_low: or_nan(s.slope_low),
            slope_high: or_nan(s.slope_high),
            fall_m: s.fall_m,
            fall_sd_m: s.fall_sd_m,
            readings: count(s.readings),
            is_drop: i32::from(s.kind == "drop"),
            break_probability: or_nan(s.break_probability),
            break_sd_m: or_nan(s.break_sd_m),
            break_low_m: or_nan(s.break_low_m),
            break_high_m: or_nan(s.break_high_m),
        }
    }
}

impl From<&PoolRow> for fw_pool_figures {
    fn from(p: &PoolRow) -> Self {
        Self {
            struct_size: 0,
            number: count(p.number),
            state: number(&p.state, &["found", "possible", "intended"]),
            exists_probability: or_nan(p.exists_probability),
            from_m: p.from_m,
            to_m: p.to_m,
            length_m: p.length_m,
            sill_station_m: or_nan(p.sill_station_m),
            level_m: or_nan(p.level_m),
            deepest_station_m: or_nan(p.deepest_station_m),
            depth_m: p.depth_m,
            depth_sd_m: or_nan(p.depth_sd_m),
            depth_low_m: or_nan(p.depth_low_m),
            depth_high_m: or_nan(p.depth_high_m),
            depth_over_bore: or_nan(p.depth_over_bore),
            full_bore_length_m: or_nan(p.full_bore_length_m),
            volume_m3: or_nan(p.volume_m3),
            volume_sd_m3: or_nan(p.volume_sd_m3),
            volume_low_m3: or_nan(p.volume_low_m3),
            volume_high_m3: or_nan(p.volume_high_m3),
            sill_is_last_point: i32::from(p.sill_is_last_point),
            touches_upstream_end: i32::from(p.touches_upstream_end),
        }
    }
}

impl From<&FindingRow> for fw_finding {
    fn from(f: &FindingRow) -> Self {
        Self {
            struct_size: 0,
            verdict: verdict(&f.finding),
            reason: reason(f.reason.as_deref()),
            quantity: number(&f.quantity, &["slope", "depth_m", "length_m"]),
            confirmed: i32::from(f.confirmed),
            pool: or_none(f.pool),
            reach: or_none(f.reach),
            from_m: f.from_m,
            to_m: f.to_m,
            value: or_nan(f.value),
            value_sd: or_nan(f.value_sd),
            value_low: or_nan(f.value_low),
            value_high: or_nan(f.value_high),
            required: or_nan(f.required),
            probability: or_nan(f.probability),
        }
    }
}

impl From<&PathRow> for fw_path_node {
    fn from(p: &PathRow) -> Self {
        Self {
            struct_size: 0,
            station_m: p.station_m,
            height_m: p.height_m,
            height_sd_m: p.height_sd_m,
            height_low_m: p.height_low_m,
            height_high_m: p.height_high_m,
            elevation_m: or_nan(p.elevation_m),
            elevation_sd_m: or_nan(p.elevation_sd_m),
            east_m: or_nan(p.east_m),
            north_m: or_nan(p.north_m),
            east_sd_m: or_nan(p.east_sd_m),
            north_sd_m: or_nan(p.north_sd_m),
            tilt_rad: or_nan(p.tilt_rad),
            azimuth_rad: or_nan(p.azimuth_rad),
            bore_m: or_nan(p.bore_m),
            ground_m: or_nan(p.ground_m),
            cover_m: or_nan(p.cover_m),
            cover_sd_m: or_nan(p.cover_sd_m),
            depth_m: or_nan(p.depth_m),
            depth_sd_m: or_nan(p.depth_sd_m),
            water_m: or_nan(p.water_m),
        }
    }
}

impl From<&NextRow> for fw_next {
    fn from(n: &NextRow) -> Self {
        Self {
            struct_size: 0,
            station_m: or_nan(n.station_m),
            to_m: or_nan(n.to_m),
            undecided_now: count(n.undecided_now),
            expected_decided: n.expected_decided,
        }
    }
}

impl From<&DigRow> for fw_dig {
    fn from(d: &DigRow) -> Self {
        Self {
            struct_size: 0,
            number: count(d.number),
            refused: i32::from(d.refused),
            station_m: d.station_m,
            station_sd_m: d.station_sd_m,
            expect_from_m: or_nan(d.expect_from_m),
            by_hand_from_m: or_nan(d.by_hand_from_m),
            east_m: or_nan(d.east_m),
            east_sd_m: or_nan(d.east_sd_m),
            north_m: or_nan(d.north_m),
            north_sd_m: or_nan(d.north_sd_m),
            ellipse_major_m: or_nan(d.ellipse_major_m),
            ellipse_minor_m: or_nan(d.ellipse_minor_m),
            ellipse_azimuth_rad: or_nan(d.ellipse_azimuth_rad),
            across_m: or_nan(d.across_m),
            along_m: or_nan(d.along_m),
            longitude_rad: or_nan(d.longitude_rad),
            latitude_rad: or_nan(d.latitude_rad),
            azimuth_rad: or_nan(d.azimuth_rad),
            elevation_m: or_nan(d.elevation_m),
            elevation_sd_m: or_nan(d.elevation_sd_m),
            ground_m: or_nan(d.ground_m),
            depth_m: or_nan(d.depth_m),
            depth_sd_m: or_nan(d.depth_sd_m),
            crown_m: or_nan(d.crown_m),
            crown_sd_m: or_nan(d.crown_sd_m),
            cover_m: or_nan(d.cover_m),
            cover_sd_m: or_nan(d.cover_sd_m),
            cover_low_m: or_nan(d.cover_low_m),
            cover_high_m: or_nan(d.cover_high_m),
        }
    }
}

impl From<&RelayAnswer> for fw_relay_figures {
    fn from(r: &RelayAnswer) -> Self {
        Self {
            struct_size: 0,
            outcome: number(&r.outcome, &["plan", "as_it_is", "no_plan", "refused"]),
            confidence: r.confidence,
            cost: or_nan(r.cost),
            joint_probability: or_nan(r.joint_probability),
            joint_low: or_nan(r.joint_low),
            joint_high: or_nan(r.joint_high),
            lower_outlet_m: or_nan(r.lower_outlet_m),
            stretches: count(r.stretches.len()),
        }
    }
}
