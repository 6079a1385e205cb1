//! From a log to a trace: what the head said, once, by station, with everything that was changed written down.
//!
//! # What is done, in this order
//! 1. Refuse what cannot be a run ([`crate::Error`] names the reading).
//! 2. Continue the counter over resets.
//! 3. Tell pushes from pull-backs; the pushes give the trace, in order of station.
//! 4. Leave out readings beyond upright (more than 90 degrees).
//! 5. Drop spikes, flag steps passing under the head.
//! 6. Take the weight from readings near bends.
//! 7. Combine repeats, and passes over the same ground.
//! 8. Find the step of the readings, their noise, and the gaps.
//!
//! A log `reading`, made positive downwards, is `s tilt + zero error`, with s = +1 towards growing station and -1 the
//! other way. The trace holds `s reading = tilt + s zero error`, tilt positive down towards growing station, so that the
//! zero error enters with the sign s ([`Trace::zero_sign`]).
//!
//! # Limits
//! Pull-backs are left out, not joined with the push: a pulled head sits differently in the pipe. A single odd reading
//! of a log whose readings are further apart than two head lengths cannot be told from a short piece of pipe, so it
//! stays. Time is linear in the number of readings but for the sort by station, memory below 100 bytes a reading besides
//! the list of edits.

mod check;
mod moments;
mod passes;
mod record;
mod repeats;
mod resets;
mod resolution;
mod spikes;

pub use moments::{MOMENT_SD_S, Moment, Moments, Place, SLACK_SD_M};

use crate::{
    error::Error,
    math,
    model::{Instrument, Run, TiltPositive, Toward},
};
use core::cmp::Ordering;
use record::{Cause, Record};
use serde::{Deserialize, Serialize};

/// Conditioned readings of one run, by growing station.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Trace {
    /// Station of each, m, strictly growing.
    pub station_m: Vec<f64>,
    /// Tilt of the pipe as read, rad: sign put right, zero error still in it.
    pub tilt_rad: Vec<f64>,
    /// Effective number of readings each stands for (1 for a single one; 0: kept in the record but not for slopes).
    pub weight: Vec<f64>,
    /// Zero-based index in the run of the reading behind each; of the first, where several were combined.
    pub index: Vec<usize>,
    /// Sign with which the zero error enters `tilt_rad`: +1 towards growing station, -1 the other way.
    pub zero_sign: f64,
    /// Noise of a single reading before rounding, rad.
    pub noise_sd_rad: f64,
    /// Step of the readings, rad; 0 where none was found.
    pub resolution_rad: f64,
    /// Stretches without a reading longer than is usual for this run, m (from, to).
    pub gaps_m: Vec<(f64, f64)>,
    /// What was changed or dropped, in order of the log, one a reading: its reasons are joined, and of its actions
    /// `Dropped` goes before `Combined` before `Flagged`.
    pub edits: Vec<Edit>,
    /// Net fall that conditioning removed, m, positive down towards growing station: that of all readings of the
    /// pushes less that of the trace.
    pub removed_fall_m: f64,
    /// Odd but usable.
    pub warnings: Vec<String>,
}

/// A change that conditioning made.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Edit {
    /// Zero-based index of the reading in the run.
    pub index: usize,
    /// What was done.
    pub action: Action,
    /// Why.
    pub reason: String,
}

/// What conditioning did with a reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Action {
    /// Left out.
    Dropped,
    /// Put together with others at the same place.
    Combined,
    /// Kept, at a station put right or with less or no weight for slopes.
    Flagged,
}

/// A gap is longer than this many usual spacings, and than [`GAP_M`]. Our choice.
const GAP_SPACINGS: f64 = 5.0;
/// No stretch shorter than this is called a gap, m. Our choice.
const GAP_M: f64 = 0.5;

/// A reading on its way through.
#[derive(Debug, Clone, Copy)]
struct Reading {
    /// Index in the run.
    index: usize,
    /// Cable out with resets continued, m.
    along_m: f64,
    /// As in the trace, rad.
    tilt_rad: f64,
    /// As in the trace.
    weight: f64,
    /// Which pass of the run it belongs to.
    pass: usize,
}

/// Conditions one run.
///
/// `bends_m` are the stations of noted bends: readings within a head's length of one keep their place in the trace but
/// get no weight. Readings written down by hand ([`Run::by_hand`]) are checked and put in order of station, no more.
///
/// # Errors
/// Values that are not finite, arrays of different lengths, fewer than two readings (or fewer than two usable ones),
/// a run of no length, a counter beyond 10 km, a reading beyond 2 pi (degrees or percent given as radians?); by hand,
/// two readings at one station or one beyond upright.
///
/// # Example
/// ```
/// use fallwise::{Instrument, Run, condition::{Action, condition}};
///
/// let counter_m: Vec<f64> = (0..100).map(|i| 0.05 * f64::from(i)).collect();
/// let mut reading_rad: Vec<f64> = (0..100).map(|i| 0.02 + 0.001 * f64::from(i % 3)).collect();
/// reading_rad[40] = 0.3;
/// let trace = condition(&Run::new(counter_m, reading_rad), &Instrument::default(), &[])?;
/// assert_eq!(trace.station_m.len(), 99);
/// assert_eq!((trace.edits[0].index, trace.edits[0].action), (40, Action::Dropped));
/// # Ok::<(), fallwise::Error>(())
/// ```
pub fn condition(run: &Run, instrument: &Instrument, bends_m: &[f64]) -> Result<Trace, Error> {
    check::run(run)?;
    check::instrument(instrument)?;
    check::bends(bends_m)?;
    if run.by_hand {
        return by_hand(run, instrument);
    }
    let mut record = Record::new(run.counter_m.len());
    let mut warnings = check::oddities(run);
    let step_m = usual_step_m(&run.counter_m);
    let along_m = resets::continue_counter(run, step_m, &mut record, &mut warnings);
    let mut readings = passes::choose(&along_m, &tilts(run), &mut record, &mut warnings);
    let raw_fall_m = fall_m(&readings);
    leave_out_beyond_upright(&mut readings, &mut record);
    let resolution_rad = instrument.resolution_rad.unwrap_or_else(|| resolution::step_rad(&readings));
    let spacing_m = if step_m > 0.0 { step_m } else { repeats::SAME_PLACE_M };
    spikes::sort_out(&mut readings, spacing_m, instrument.head_length_m, resolution_rad, &mut record);
    weaken_near_bends(&mut readings, run, bends_m, instrument.head_length_m, &mut record);
    let readings = repeats::combine(&readings, spacing_m, instrument.head_length_m, &mut record);
    if readings.len() < 2 {
        return Err(Error::TooFew { field: "usable readings of the run".to_owned(), found: readings.len(), needed: 2 });
    }
    if readings.iter().all(|r| r.weight <= 0.0) {
        warnings.push("every reading is near a noted bend: none has weight for slopes".to_owned());
    }
    let noise_sd_rad =
        instrument.noise_sd_rad.unwrap_or_else(|| resolution::noise_before_rounding_rad(&readings, resolution_rad));
    let mut trace = Trace {
        zero_sign: zero_sign(run),
        noise_sd_rad,
        resolution_rad,
        edits: record.into_edits(),
        removed_fall_m: raw_fall_m - fall_m(&readings),
        warnings,
        ..trace_of(run, &readings)
    };
    trace.find_gaps();
    Ok(trace)
}

/// Readings by hand: checked, put in order, nothing else.
fn by_hand(run: &Run, instrument: &Instrument) -> Result<Trace, Error> {
    let mut readings: Vec<Reading> = run
        .counter_m
        .iter()
        .zip(tilts(run))
        .enumerate()
        .map(|(index, (&along_m, tilt_rad))| Reading { index, along_m, tilt_rad, weight: 1.0, pass: 0 })
        .collect();
    if let Some(r) = readings.iter().find(|r| r.tilt_rad.abs() > core::f64::consts::FRAC_PI_2) {
        return Err(Error::at("reading_rad", r.index, r.tilt_rad, "a tilt within 90 degrees of level"));
    }
    let mut warnings = check::oddities(run);
    if !readings.is_sorted_by(|a, b| a.along_m <= b.along_m) {
        readings.sort_by(|a, b| a.along_m.total_cmp(&b.along_m));
        warnings.push("the readings by hand were not in order of station; they were put in order".to_owned());
    }
    // Compared as stations: two counters may differ by less than a station can show.
    let same = |a: &Reading, b: &Reading| {
        run.station_m(a.along_m).partial_cmp(&run.station_m(b.along_m)).is_some_and(Ordering::is_eq)
    };
    if let Some((_, b)) = readings.iter().zip(readings.iter().skip(1)).find(|(a, b)| same(a, b)) {
        return Err(Error::at("counter_m", b.index, b.along_m, "one reading by hand for each station"));
    }
    Ok(Trace {
        zero_sign: zero_sign(run),
        noise_sd_rad: instrument.noise_sd_rad.unwrap_or(Instrument::NOISE_SD_RAD),
        resolution_rad: instrument.resolution_rad.unwrap_or_else(|| resolution::step_rad(&readings)),
        warnings,
        ..trace_of(run, &readings)
    })
}

/// +1 towards growing station, -1 the other way.
fn zero_sign(run: &Run) -> f64 {
    match run.toward {
        Toward::Increasing => 1.0,
        Toward::Decreasing => -1.0,
    }
}

/// Readings with the sign of tilt: positive down towards growing station.
fn tilts(run: &Run) -> Vec<f64> {
    let down = match run.tilt_positive {
        TiltPositive::Down => 1.0,
        TiltPositive::Up => -1.0,
    };
    let sign = down * zero_sign(run);
    run.reading_rad.iter().map(|r| sign * r).collect()
}

/// Median of the moves of the counter from reading to reading, either way, m; 0 where it never moves.
fn usual_step_m(counter_m: &[f64]) -> f64 {
    let mut steps: Vec<f64> =
        counter_m.iter().zip(counter_m.iter().skip(1)).map(|(a, b)| (b - a).abs()).filter(|&d| d > 0.0).collect();
    if steps.is_empty() { 0.0 } else { math::median(&mut steps) }
}

/// A run may start down a riser with the head past upright, or the sensor may tumble: no tilt of a pipe.
fn leave_out_beyond_upright(readings: &mut Vec<Reading>, record: &mut Record) {
    readings.retain(|r| {
        let usable = r.tilt_rad.abs() <= core::f64::consts::FRAC_PI_2;
        if !usable {
            record.note(r.index, Cause::BeyondUpright);
        }
        usable
    });
}

/// In a bend the head bridges, rolls and rides up; what it reads there is no slope.
fn weaken_near_bends(readings: &mut [Reading], run: &Run, bends_m: &[f64], head_length_m: f64, record: &mut Record) {
    let mut bends_m = bends_m.to_vec();
    bends_m.sort_by(f64::total_cmp);
    for r in readings {
        let station_m = run.station_m(r.along_m);
        let next = bends_m.partition_point(|&b| b < station_m - head_length_m);
        if bends_m.get(next).is_some_and(|&b| b <= station_m + head_length_m) {
            r.weight = 0.0;
            record.note(r.index, Cause::NearBend);
        }
    }
}

/// Fall towards growing station over readings in order of the counter, m: sine of the tilt, straight between readings.
fn fall_m(readings: &[Reading]) -> f64 {
    readings
        .iter()
        .zip(readings.iter().skip(1))
        .map(|(a, b)| (b.along_m - a.along_m) * 0.5 * (math::sin(a.tilt_rad) + math::sin(b.tilt_rad)))
        .sum()
}

/// Arrays of the trace by growing station, the rest empty.
fn trace_of(run: &Run, readings: &[Reading]) -> Trace {
    let mut in_order: Vec<&Reading> = readings.iter().collect();
    if run.toward == Toward::Decreasing {
        in_order.reverse();
    }
    Trace {
        station_m: in_order.iter().map(|r| run.station_m(r.along_m)).collect(),
        tilt_rad: in_order.iter().map(|r| r.tilt_rad).collect(),
        weight: in_order.iter().map(|r| r.weight).collect(),
        index: in_order.iter().map(|r| r.index).collect(),
        ..Trace::default()
    }
}

impl Trace {
    /// Lists stretches that are long for this run's spacing, and warns once.
    fn find_gaps(&mut self) {
        let pairs = || self.station_m.iter().copied().zip(self.station_m.iter().copied().skip(1));
        let mut spacings: Vec<f64> = pairs().map(|(a, b)| b - a).collect();
        if spacings.is_empty() {
            return;
        }
        let limit_m = (GAP_SPACINGS * math::median(&mut spacings)).max(GAP_M);
        self.gaps_m = pairs().filter(|(a, b)| b - a > limit_m).collect();
        if let Some((from, to)) = self.gaps_m.iter().max_by(|x, y| (x.1 - x.0).total_cmp(&(y.1 - y.0))) {
            let count = self.gaps_m.len();
            self.warnings.push(format!(
                "{count} gap{} without a reading, the longest from {from:.2} m to {to:.2} m",
                if count == 1 { "" } else { "s" }
            ));
        }
    }
}

#[cfg(test)]
#[path = "condition_tests.rs"]
mod tests;
