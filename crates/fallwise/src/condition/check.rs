//! What cannot be a run, and what is odd about one.

use super::repeats::SAME_PLACE_M;
use crate::prelude::*;
use crate::{
    error::{Error, require_finite, require_length},
    model::{Instrument, Run},
    said,
    units::Said,
};
use core::cmp::Ordering;

/// No push camera goes this far, m: a longer counter is in another unit.
const COUNTER_LIMIT_M: f64 = 10_000.0;
/// No stationing starts beyond this, m: further out millimetres begin to suffer.
const START_LIMIT_M: f64 = 1_000_000.0;
/// No clock counts this far from its start, s: beyond, its square is no number.
const FAR_S: f64 = 1e12;
/// A reading that is later than this says nothing of where it belongs, s.
const MOST_LAG_S: f64 = 60.0;

/// Refuses a run that cannot be one.
pub(super) fn run(run: &Run) -> Result<(), Error> {
    let n = run.counter_m.len();
    require_length("reading_rad", run.reading_rad.len(), "counter_m", n)?;
    if let Some(time_s) = &run.time_s {
        require_length("time_s", time_s.len(), "counter_m", n)?;
        require_finite("time_s", time_s)?;
        if let Some(i) = time_s.iter().position(|t| t.abs() > FAR_S) {
            return Err(Error::at("time_s", i, time_s[i], "a time within 1e12 s, some thirty thousand years"));
        }
    }
    if let Some(moving) = &run.moving {
        require_length("moving", moving.len(), "counter_m", n)?;
    }
    for (field, values) in [("roll_rad", &run.roll_rad), ("temperature_c", &run.temperature_c)] {
        if let Some(values) = values {
            require_length(field, values.len(), "counter_m", n)?;
            require_finite(field, values)?;
        }
    }
    if let Some(source_row) = &run.source_row {
        require_length("source_row", source_row.len(), "counter_m", n)?;
    }
    require_finite("counter_m", &run.counter_m)?;
    require_finite("reading_rad", &run.reading_rad)?;
    within("counter_m", &run.counter_m, COUNTER_LIMIT_M, "metres of cable, at most 10 km: is the unit right?")?;
    within(
        "reading_rad",
        &run.reading_rad,
        core::f64::consts::TAU,
        "radians, within a full turn: is it degrees or percent?",
    )?;
    if !run.start_station_m.is_finite() || run.start_station_m.abs() > START_LIMIT_M {
        return Err(Error::value("start_station_m", run.start_station_m, "metres, within 1000 km"));
    }
    if n < 2 {
        return Err(Error::TooFew { field: "counter_m".to_owned(), found: n, needed: 2 });
    }
    let low_m = run.counter_m.iter().copied().fold(f64::INFINITY, f64::min);
    let high_m = run.counter_m.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if high_m - low_m < SAME_PLACE_M {
        return Err(Error::value("counter_m", format!("a run of {} m", high_m - low_m), "a run of some length"));
    }
    Ok(())
}

/// Refuses an instrument that conditioning cannot work with.
pub(super) fn instrument(instrument: &Instrument) -> Result<(), Error> {
    let lengths = [
        ("instrument.head_length_m", Some(instrument.head_length_m)),
        ("instrument.slack_m", instrument.slack_m),
        ("instrument.noise_sd_rad", instrument.noise_sd_rad),
        ("instrument.correlation_m", instrument.correlation_m),
        ("instrument.resolution_rad", instrument.resolution_rad),
    ];
    for (field, value) in lengths {
        if let Some(v) = value.filter(|v| !(v.is_finite() && *v >= 0.0)) {
            return Err(Error::value(field, v, "a finite number, 0 or more"));
        }
    }
    if let Some(v) = instrument.lag_s.filter(|v| !(0.0..=MOST_LAG_S).contains(v)) {
        return Err(Error::value("instrument.lag_s", v, "0 to 60 s"));
    }
    Ok(())
}

/// Refuses bends without a place.
pub(super) fn bends(bends_m: &[f64]) -> Result<(), Error> {
    require_finite("bends_m", bends_m)
}

/// What is odd about a run that can be used.
pub(super) fn oddities(run: &Run) -> Vec<Said> {
    let mut warnings = Vec::new();
    let backwards = run.time_s.iter().any(|t| !t.is_sorted());
    if backwards {
        warnings.push(said!("the time of the log goes back in places"));
    }
    if run.roll_rad.is_some() {
        warnings.push(said!("the roll of the head is kept with the run and not used"));
    }
    if run.temperature_c.is_some() {
        warnings.push(said!("the temperature of the head is kept with the run and not used"));
    }
    let mut readings = run.reading_rad.iter();
    if readings.next().is_some_and(|first| readings.all(|r| r.partial_cmp(first).is_some_and(Ordering::is_eq))) {
        warnings.push(said!("every reading is the same: check that the sensor is alive"));
    }
    warnings
}

fn within(field: &str, values: &[f64], limit: f64, expected: &str) -> Result<(), Error> {
    match values.iter().enumerate().find(|(_, v)| v.abs() > limit) {
        Some((i, v)) => Err(Error::at(field, i, v, expected)),
        None => Ok(()),
    }
}
