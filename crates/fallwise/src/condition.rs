//! From a log to a trace.
use crate::{
    error::Error,
    model::{Instrument, Run},
};
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
    /// Sign with which the zero error enters `tilt_rad`: +1 towards growing station, -1 the other way.
    pub zero_sign: f64,
    /// Noise of a single reading before rounding, rad.
    pub noise_sd_rad: f64,
    /// Step of the readings, rad; 0 where none was found.
    pub resolution_rad: f64,
    /// Stretches without a reading longer than is usual for this run, m (from, to).
    pub gaps_m: Vec<(f64, f64)>,
    /// What was changed or dropped, in order of the log.
    pub edits: Vec<Edit>,
    /// Net fall that conditioning removed, m, positive down towards growing station.
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
    /// Kept, with less or no weight for slopes.
    Flagged,
}

/// Conditions one run.
///
/// # Errors
/// Non-finite values, fewer than two readings, zero length.
pub fn condition(_run: &Run, _instrument: &Instrument, _bends_m: &[f64]) -> Result<Trace, Error> {
    todo!()
}
