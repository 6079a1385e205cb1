//! From a log to a trace: what the head said, once, by station, with everything that was changed written down.
//!
//! # What is done, in this order
//! | step | file |
//! | --- | --- |
//! | Refuse what cannot be a run ([`crate::Error`] names the reading), warn of what is odd. | `check` |
//! | Put jumps of the counter right: resets, told from pull-backs. | `resets` |
//! | Put readings where the head was when it sensed them, if it lags. | `lag` |
//! | Leave out readings beyond upright. | `upright` |
//! | Find the step of the display. | `resolution` |
//! | Tell pushes from pull-backs. | `passes` |
//! | Put stations right for the slack between counter and head, given or found. | `slack` |
//! | Set the pull-backs apart: the pushes give the trace, the pulls a setup of their own. | `passes` |
//!
//! then for either of them
//!
//! | step | file |
//! | --- | --- |
//! | Leave out readings whose sign turned over near upright. | `upright` |
//! | Leave out frozen readings, flag those pinned at the sensor's limit. | `stuck` |
//! | Put readings in order of station. | `walk` |
//! | Drop spikes, flag steps passing under the head. | `spikes` |
//! | Take the weight from readings near bends. | `bends` |
//! | Take weight from readings in motion, where some are at rest. | `motion` |
//! | Combine repeats, and passes over the same ground. | `repeats` |
//!
//! and last
//!
//! | step | file |
//! | --- | --- |
//! | Find the noise of a reading. | `resolution` |
//! | Keep the pull's readings if they are tied to the push well enough. | `pulls` |
//! | Find the gaps. | `gaps` |
//!
//! A log `reading`, made positive downwards, is `s tilt + zero error`, with s = +1 towards growing station and -1 the
//! other way. The trace holds `s reading = tilt + s zero error`, tilt positive down towards growing station, so that the
//! zero error enters with the sign s ([`Trace::zero_sign`]). Looking is the way of the push, also while pulling back.
//!
//! # The fall that went
//! The *raw chain* is the log as it stands: its readings in their order (turned round where the run was logged while
//! pulling back), each at its counter, straight between them; where the counter goes back, so does the fall. Every change is
//! charged to the reading changed ([`Edit::removed_fall_m`]), so that the fall of the raw chain less that of the trace is
//! the sum of the charges, [`Trace::removed_fall_m`]. Much of it comes in pairs: a pull-back, left out, and the same ground
//! pushed over again.
//!
//! # Limits
//! A single odd reading of a log whose readings are further apart than two head lengths cannot be told from a short piece of
//! pipe, so it stays. A counter set forward without time logged shows as a gap. Slack is one length for a run, lag one time; which
//! readings are at rest is asked of the log as it stands, whatever the lag. A sensor that
//! is stuck shows only where the others flicker: not behind a display of steps coarser than 1.5 times the noise. Time is linear
//! in the number of readings but for sorts by station and the slack (bounded tries), memory below 200 bytes a reading besides the
//! list of edits.

mod bends;
mod check;
mod gaps;
mod lag;
mod moments;
mod motion;
mod passes;
mod pulls;
mod record;
mod repeats;
mod resets;
mod resolution;
mod reversal;
mod slack;
mod spikes;
mod stuck;
mod upright;
mod walk;

pub use moments::{MOMENT_SD_S, Moment, Moments, Place, SLACK_SD_M};
pub use resolution::display_step_rad;
pub use reversal::{REVERSAL_CHECK_SD_RAD, reversal_check_sd_rad, sign_of_head, zero_by_reversal};

use crate::prelude::*;
use crate::{
    error::Error,
    math,
    model::{Instrument, Run, Toward},
    said,
    units::{Part, Said},
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
    /// Whether these readings were made while pulling back: a run that was logged so.
    pub pulled: bool,
    /// What was read while pulling back over the ground of the push, where it can be used.
    pub pull: Option<Setup>,
    /// Slack between counter and head, m, given or found; absent where it is not known.
    pub slack_m: Option<f64>,
    /// Sign with which the zero error enters `tilt_rad`: +1 towards growing station, -1 the other way.
    pub zero_sign: f64,
    /// Noise of a reading of weight 1 before rounding, rad.
    pub noise_sd_rad: f64,
    /// Distance over which the correlation of that noise falls to 1/e, m; 0: independent from reading to reading.
    pub correlation_m: f64,
    /// Step of the readings, rad; 0 where none was found.
    pub resolution_rad: f64,
    /// Standard deviation of the part of the rounding that does not average out, rad.
    pub rounding_sd_rad: f64,
    /// What a reading of weight 1 scatters by, rad, rounding and all.
    pub scatter_sd_rad: f64,
    /// Stretches without a reading longer than is usual for this run, m (from, to).
    pub gaps_m: Vec<(f64, f64)>,
    /// What was changed or dropped, in order of the log, one a reading: its reasons are joined, and of its actions
    /// `Dropped` goes before `Combined` before `Flagged`.
    pub edits: Vec<Edit>,
    /// Fall that conditioning removed, m, positive down towards growing station: that of the raw chain (see the module) less
    /// that of the trace, the sum of what the edits removed.
    pub removed_fall_m: f64,
    /// Odd but usable.
    pub warnings: Vec<Said>,
}

/// Readings of one seating of the head beside those of the trace: the pull-backs of a run. As in [`Trace`].
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Setup {
    /// Station of each, m, strictly growing.
    pub station_m: Vec<f64>,
    /// Tilt of the pipe as read, rad.
    pub tilt_rad: Vec<f64>,
    /// Effective number of readings each stands for.
    pub weight: Vec<f64>,
    /// Zero-based index in the run.
    pub index: Vec<usize>,
    /// Noise of a reading of weight 1 before rounding, rad.
    pub noise_sd_rad: f64,
    /// Distance over which its correlation falls to 1/e, m.
    pub correlation_m: f64,
    /// Standard deviation of the part of the rounding that does not average out, rad.
    pub rounding_sd_rad: f64,
    /// What a reading of weight 1 scatters by, rad, rounding and all.
    pub scatter_sd_rad: f64,
}

/// A change that conditioning made.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Edit {
    /// Zero-based index of the reading in the run.
    pub index: usize,
    /// What was done.
    pub action: Action,
    /// Why.
    pub reason: Said,
    /// Fall that went with the change, m, positive down towards growing station; negative where it came.
    pub removed_fall_m: f64,
}

/// What conditioning did with a reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Action {
    /// Left out.
    Dropped,
    /// Put together with others at the same place.
    Combined,
    /// Kept, at a station put right, with less or no weight for slopes, or in a setup of its own.
    Flagged,
}

/// A reading on its way through.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Reading {
    /// Index in the run.
    index: usize,
    /// Cable out, m: as logged, then with resets continued, lag and slack taken up.
    along_m: f64,
    /// As in the trace, rad.
    tilt_rad: f64,
    /// As in the trace.
    weight: f64,
    /// Which pass of the run it belongs to.
    pass: usize,
    /// Whether that pass was a push.
    pushing: bool,
    /// Not the pipe's own tilt: it says nothing of the noise.
    odd: bool,
}

impl Reading {
    /// The reading of this index, before anything is known of it.
    fn at(index: usize) -> Self {
        Self { index, along_m: 0.0, tilt_rad: 0.0, weight: 1.0, pass: 0, pushing: true, odd: false }
    }
}

/// What every step looks at.
struct Site<'a> {
    run: &'a Run,
    instrument: &'a Instrument,
    bends_m: &'a [f64],
    /// Usual way between readings, m.
    spacing_m: f64,
    resolution_rad: f64,
}

/// Conditions one run.
///
/// The [module][self] says what is done, in which order. `bends_m` are the stations of noted bends: readings within a head's length of one keep their place in the trace but
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

    let mut log = rows(run);
    resets::continue_counter(&mut log, run, step_m, &mut record, &mut warnings);
    lag::put_right(&mut log, run, instrument.lag_s, &mut record, &mut warnings);
    upright::leave_out_beyond(&mut log, &mut record);
    let site = Site {
        run,
        instrument,
        bends_m,
        spacing_m: if step_m > 0.0 { step_m } else { repeats::SAME_PLACE_M },
        resolution_rad: instrument.resolution_rad.unwrap_or_else(|| resolution::step_rad(&log)),
    };
    passes::tell_apart(&mut log);
    let pushed = passes::was_pushed(&log, &mut warnings);
    let slack_m = if pushed { take_up_slack(&mut log, &site, &mut record, &mut warnings) } else { None };
    if !pushed {
        log.reverse();
        record.turn_round();
    }
    let others = passes::set_apart(&mut log, pushed, &mut record);

    let readings = settle(log, &site, &mut record, &mut warnings);
    if readings.len() < 2 {
        return Err(Error::TooFew { field: "usable readings of the run".to_owned(), found: readings.len(), needed: 2 });
    }
    if readings.iter().all(|r| r.weight <= 0.0) {
        warnings.push(said!("every reading is near a noted bend: none has weight for slopes"));
    }
    if pushed {
        upright::warn_of_riser(&readings, run, &mut warnings);
    }
    let noise_sd_rad = noise_of(&readings, &site).unwrap_or(Instrument::NOISE_SD_RAD);
    let pull = if pushed {
        set_up_pull(others, &readings, &site, slack_m.is_some(), noise_sd_rad, &mut record, &mut warnings)
    } else {
        None
    };
    let given = instrument.noise_sd_rad.is_some();
    let rounding_sd_rad = |noise_sd_rad| resolution::rounding_sd_rad(site.resolution_rad, noise_sd_rad, given);
    // Whether noise hangs together is not told before there are segments.
    let correlation_m = instrument.correlation_m.unwrap_or(0.0);
    let set_up = |pull: Vec<Reading>| {
        let noise_sd_rad = noise_of(&pull, &site).unwrap_or(noise_sd_rad);
        let rounding_sd_rad = rounding_sd_rad(noise_sd_rad);
        let scatter_sd_rad = resolution::scatter_sd_rad(noise_sd_rad, site.resolution_rad);
        Setup { noise_sd_rad, correlation_m, rounding_sd_rad, scatter_sd_rad, ..setup_of(run, &pull) }
    };
    let edits = record.into_edits();
    let mut trace = Trace {
        pulled: !pushed,
        pull: pull.map(set_up),
        slack_m,
        zero_sign: zero_sign(run),
        noise_sd_rad,
        correlation_m,
        resolution_rad: site.resolution_rad,
        rounding_sd_rad: rounding_sd_rad(noise_sd_rad),
        scatter_sd_rad: resolution::scatter_sd_rad(noise_sd_rad, site.resolution_rad),
        removed_fall_m: edits.iter().map(|e| e.removed_fall_m).sum(),
        edits,
        warnings,
        ..trace_of(run, &readings)
    };
    gaps::find(&mut trace);
    Ok(trace)
}

/// Noise of readings, rad: as given, else as neighbours show it.
fn noise_of(readings: &[Reading], site: &Site<'_>) -> Option<f64> {
    site.instrument.noise_sd_rad.or_else(|| resolution::noise_before_rounding_rad(readings, site.resolution_rad))
}

/// Stations put right for the slack that is given or found; `None` where it is not known.
fn take_up_slack(log: &mut [Reading], site: &Site<'_>, record: &mut Record, warnings: &mut Vec<Said>) -> Option<f64> {
    let head_length_m = site.instrument.head_length_m;
    let found = || slack::estimate_m(log, head_length_m, site.resolution_rad / 12_f64.sqrt());
    let slack_m = site.instrument.slack_m.or_else(found)?;
    if slack_m > 0.0 {
        if site.instrument.slack_m.is_none() {
            warnings.push(said!(
                "where the cable turns the head follows the counter {slack} m late, as push and pull laid over each \
                 other show; stations after a turn are put right for it",
                slack = Part::Number(slack_m, 2)
            ));
        }
        let along_m: Vec<f64> = log.iter().map(|r| r.along_m).collect();
        let mut head_m = slack::head_m(&along_m, slack_m).into_iter();
        walk::move_to(log, record, Cause::Slack, |r| head_m.next().unwrap_or(r.along_m));
        // A head that stands still sits as it did.
        passes::tell_apart(log);
    }
    Some(slack_m)
}

/// Readings of one direction, in order of the log: odd ones out, in order of the counter, one a place.
fn settle(mut readings: Vec<Reading>, site: &Site<'_>, record: &mut Record, warnings: &mut Vec<Said>) -> Vec<Reading> {
    let Site { run, instrument, bends_m, spacing_m, resolution_rad } = *site;
    upright::leave_out_folded(&mut readings, record);
    stuck::sort_out(&mut readings, run, resolution_rad, record, warnings);
    walk::put_in_order(&mut readings, record);
    spikes::sort_out(&mut readings, spacing_m, instrument.head_length_m, resolution_rad, record);
    bends::weaken_near(&mut readings, run, bends_m, instrument.head_length_m, record);
    motion::weigh(&mut readings, run, spacing_m, resolution_rad, record);
    repeats::combine(&readings, spacing_m, instrument.head_length_m, record)
}

/// What was read while pulling back, ready to be a setup of its own; `None` where it is not tied to the push.
fn set_up_pull(
    others: Vec<Reading>,
    push: &[Reading],
    site: &Site<'_>,
    slack_known: bool,
    noise_sd_rad: f64,
    record: &mut Record,
    warnings: &mut Vec<Said>,
) -> Option<Vec<Reading>> {
    if others.is_empty() {
        return None;
    }
    let indices: Vec<usize> = others.iter().map(|r| r.index).collect();
    // Their fall went when they were set apart: what is done to them now is recorded without it.
    let mut aside = Record::new(site.run.counter_m.len());
    let pull = settle(others, site, &mut aside, &mut Vec::new());
    match pulls::unusable(push, &pull, slack_known, site, noise_sd_rad) {
        None => {
            record.take_causes(&aside);
            Some(pull)
        }
        Some(reason) => {
            for i in indices {
                record.instead(i, Cause::Pull, Cause::PullLeftOut);
            }
            warnings.push(said!(
                "{count} readings were made while pulling back and are left out: {reason}",
                count = pull.len(),
                reason = reason
            ));
            None
        }
    }
}

/// Readings by hand: checked, put in order, nothing else.
fn by_hand(run: &Run, instrument: &Instrument) -> Result<Trace, Error> {
    let mut readings = rows(run);
    if let Some(r) = readings.iter().find(|r| r.tilt_rad.abs() > core::f64::consts::FRAC_PI_2) {
        return Err(Error::at("reading_rad", r.index, r.tilt_rad, "a tilt within 90 degrees of level"));
    }
    let mut warnings = check::oddities(run);
    if !readings.is_sorted_by(|a, b| a.along_m <= b.along_m) {
        readings.sort_by(|a, b| a.along_m.total_cmp(&b.along_m));
        warnings.push(said!("the readings by hand were not in order of station; they were put in order"));
    }
    // Compared as stations: two counters may differ by less than a station can show.
    let same = |a: &Reading, b: &Reading| {
        run.station_m(a.along_m).partial_cmp(&run.station_m(b.along_m)).is_some_and(Ordering::is_eq)
    };
    if let Some((_, b)) = readings.iter().zip(readings.iter().skip(1)).find(|(a, b)| same(a, b)) {
        return Err(Error::at("counter_m", b.index, b.along_m, "one reading by hand for each station"));
    }
    let noise_sd_rad = instrument.noise_sd_rad.unwrap_or(Instrument::NOISE_SD_RAD);
    let resolution_rad = instrument.resolution_rad.unwrap_or_else(|| resolution::step_rad(&readings));
    Ok(Trace {
        zero_sign: zero_sign(run),
        noise_sd_rad,
        resolution_rad,
        rounding_sd_rad: resolution::rounding_sd_rad(resolution_rad, noise_sd_rad, instrument.noise_sd_rad.is_some()),
        scatter_sd_rad: resolution::scatter_sd_rad(noise_sd_rad, resolution_rad),
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

/// Readings in order of the log at the counter as logged, with the sign of tilt: positive down towards growing station.
fn rows(run: &Run) -> Vec<Reading> {
    let rows = run.counter_m.iter().zip(&run.reading_rad).enumerate();
    rows.map(|(index, (&along_m, r))| Reading { along_m, tilt_rad: run.tilt_rad(*r), ..Reading::at(index) }).collect()
}

/// Median of the moves of the counter from reading to reading, either way, m; 0 where it never moves.
fn usual_step_m(counter_m: &[f64]) -> f64 {
    let mut steps: Vec<f64> =
        counter_m.iter().zip(counter_m.iter().skip(1)).map(|(a, b)| (b - a).abs()).filter(|&d| d > 0.0).collect();
    if steps.is_empty() { 0.0 } else { math::median(&mut steps) }
}

/// Arrays of the trace by growing station, the rest empty.
fn trace_of(run: &Run, readings: &[Reading]) -> Trace {
    let Setup { station_m, tilt_rad, weight, index, .. } = setup_of(run, readings);
    Trace { station_m, tilt_rad, weight, index, ..Trace::default() }
}

/// Readings in order of the counter as arrays by growing station.
fn setup_of(run: &Run, readings: &[Reading]) -> Setup {
    let mut in_order: Vec<&Reading> = readings.iter().collect();
    if run.toward == Toward::Decreasing {
        in_order.reverse();
    }
    Setup {
        station_m: in_order.iter().map(|r| run.station_m(r.along_m)).collect(),
        tilt_rad: in_order.iter().map(|r| r.tilt_rad).collect(),
        weight: in_order.iter().map(|r| r.weight).collect(),
        index: in_order.iter().map(|r| r.index).collect(),
        ..Setup::default()
    }
}

#[cfg(test)]
#[path = "condition_tests.rs"]
mod tests;
