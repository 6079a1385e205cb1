//! The forward model: the log that a head would give in a pipe that is known.
//!
//! Reading = (+ or -) tilt of the pipe averaged over the head's length, late by the sensor's filter + zero error + seating +
//! drift + what its roll adds + noise, rounded: the model that the estimates assume, and more than they do, made the other
//! way round. [`run`] gives the same log for the same arguments, on any machine. Every flaw of a real log can be placed where
//! it is wanted ([`Flaw`]), those of the counter among them, or scattered by seed ([`Flaws::scattered`]). All of it but noise
//! and the head's length is off until it is asked for. Users try a method, a head or a rule with it; nothing in the library
//! depends on it.
//!
//! Beside the log stand the truth ([`Truth`], with the lips that no tilt shows) and what would have been read without the
//! flaws ([`Simulated`]).
//!
//! It does not model debris, bends in detail, or the way a head lifts at a lip in detail.
//!
//! # Example
//! ```
//! use fallwise::{Instrument, condition::condition, simulate::{self, Flaw, Flaws, Head, Truth}};
//!
//! let truth = Truth { breaks_m: vec![0.0, 12.0, 15.0, 30.0], tilt_rad: vec![0.02, -0.01, 0.02], ..Truth::default() };
//! let flaws = Flaws { list: vec![Flaw::PullBack { at_m: 14.0, length_m: 2.0 }], ..Flaws::default() };
//! let log = simulate::run(&truth, &Head::default(), &flaws, 0.05, 1)?;
//! let trace = condition(&log.run, &Instrument::default(), &[])?;
//! assert!((trace.station_m.last().unwrap() - 30.0).abs() < 0.05);
//! # Ok::<(), fallwise::Error>(())
//! ```

mod check;
mod flaw;
mod itinerary;
mod known;
mod log;
mod truth;

pub use flaw::{Counts, Flaw, Flaws};
pub use truth::{Lip, Truth};

use serde::{Deserialize, Serialize};

use crate::prelude::*;
use crate::{
    error::Error,
    math,
    model::{Run, TiltPositive, Toward},
};
use check::check;
use known::Known;
use log::Log;

/// One degree, rad.
const DEGREE: f64 = core::f64::consts::PI / 180.0;
/// No log is longer: a spacing by mistake must not fill the memory.
const MOST_READINGS: f64 = 2e7;

/// The head, as it is rather than as it is known, and how it logs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Head {
    /// Zero error, rad, looking down positive.
    pub zero_rad: f64,
    /// Seating offset while pushed, rad.
    pub seating_push_rad: f64,
    /// Seating offset while pulled, rad.
    pub seating_pull_rad: f64,
    /// Noise of one reading before rounding, rad.
    pub noise_sd_rad: f64,
    /// Distance over which the correlation of noise falls to 1/e, m; 0: none. Correlated noise stands still while the
    /// head does.
    pub correlation_m: f64,
    /// Rounding of what is logged.
    pub rounding: Rounding,
    /// Length of pipe that a reading averages over, m.
    pub head_length_m: f64,
    /// Drift at the start of the log, rad, decaying over three minutes.
    pub drift_rad: f64,
    /// How it rolls on its way, and what that adds to a reading.
    pub roll: Roll,
    /// Time constant of the sensor's filter, s: a first-order low-pass of the tilt that the head lies at, so that on a steady
    /// push a reading is of where the head was about so long ago, smeared over as much. Noise is what it is after the
    /// filter. 0: none.
    pub lag_s: f64,
    /// Sign of the log.
    pub tilt_positive: TiltPositive,
    /// Which way the head is pushed: from the first break up, or from the last break down.
    pub toward: Toward,
}

impl Default for Head {
    /// A common head without systematic error: noise 0.25 degrees, 0.15 m long, not rounded.
    fn default() -> Self {
        Self {
            zero_rad: 0.0,
            seating_push_rad: 0.0,
            seating_pull_rad: 0.0,
            noise_sd_rad: 0.25 * DEGREE,
            correlation_m: 0.0,
            rounding: Rounding::None,
            head_length_m: 0.15,
            drift_rad: 0.0,
            roll: Roll::default(),
            lag_s: 0.0,
            tilt_positive: TiltPositive::Down,
            toward: Toward::Increasing,
        }
    }
}

/// How the head rolls about the pipe's axis, and what that adds to a reading: `cross_rad` x sin(roll), the tilt of the
/// sensor's axis out of the plane that it should measure in.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Roll {
    /// Error of the sensor across the head, rad: what a reading is off by with the head on its side.
    pub cross_rad: f64,
    /// Greatest roll, rad, either way.
    pub amplitude_rad: f64,
    /// Way over which the head rolls there and back, m; the roll is a sine of the way.
    pub wavelength_m: f64,
    /// Phase of that sine at the start of the push, rad.
    pub phase_rad: f64,
    /// Whether the log has the roll.
    pub logged: bool,
}

impl Default for Roll {
    /// No roll, nothing logged.
    fn default() -> Self {
        Self { cross_rad: 0.0, amplitude_rad: 0.0, wavelength_m: 10.0, phase_rad: 0.0, logged: false }
    }
}

impl Roll {
    /// Roll after so much way of the head, rad.
    fn at_rad(self, way_m: f64) -> f64 {
        self.amplitude_rad * math::sin(2.0 * core::f64::consts::PI * way_m / self.wavelength_m + self.phase_rad)
    }
}

/// Rounding to whole steps in the log's own unit.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Rounding {
    /// Not rounded.
    #[default]
    None,
    /// Whole steps of so many degrees.
    Degrees(f64),
    /// Whole steps of so many percent of slope.
    Percent(f64),
}

impl Rounding {
    fn apply(self, reading_rad: f64) -> f64 {
        let to_step = |value: f64, step: f64| (value / step).round() * step;
        match self {
            Self::Degrees(step) if step > 0.0 => to_step(reading_rad / DEGREE, step) * DEGREE,
            Self::Percent(step) if step > 0.0 => math::atan(to_step(100.0 * math::tan(reading_rad), step) / 100.0),
            _ => reading_rad,
        }
    }

    fn step(self) -> f64 {
        match self {
            Self::None => 0.0,
            Self::Degrees(step) | Self::Percent(step) => step,
        }
    }
}

/// A made log and what it was made from.
#[derive(Debug, Clone, PartialEq)]
pub struct Simulated {
    /// The log.
    pub run: Run,
    /// Where the head truly was at each reading, m.
    pub true_station_m: Vec<f64>,
    /// Tilt of the pipe there, rad, positive down towards growing station.
    pub true_tilt_rad: Vec<f64>,
    /// What would have been logged there without a flaw, rad: the same zero, seating, noise and rounding.
    pub unflawed_rad: Vec<f64>,
    /// Rows of the log that a flaw touches, with the place of the flaw in the list: first by row, then by flaw. Resets,
    /// slips and stretches touch every row after them, gaps none.
    pub flawed: Vec<(usize, usize)>,
}

/// The log of one push through `truth`, a reading every `spacing_m`.
///
/// The seed drives the noise only; the same seed with and without a flaw gives the same noise up to the flaw.
///
/// # Errors
/// Breaks that do not grow, numbers that are not finite, a spacing of 0 or less, a log of more than 2e7 readings.
pub fn run(truth: &Truth, head: &Head, flaws: &Flaws, spacing_m: f64, seed: u64) -> Result<Simulated, Error> {
    check(truth, head, flaws, spacing_m)?;
    let pipe = Known::new(truth);
    let mut log = Log::new(&pipe, head, flaws, seed);
    for moment in itinerary::of(&pipe, head.toward, flaws, spacing_m)? {
        log.take(moment);
    }
    Ok(log.into_simulated())
}

/// A count that is known to be a whole number within bounds.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "counts are checked against MOST_READINGS; negative and NaN become 0, as `as` defines"
)]
fn whole(count: f64) -> usize {
    count as usize
}

#[cfg(test)]
#[path = "../simulate_tests.rs"]
mod tests;
