//! The log as it is written.

use super::{Flaw, Flaws, Head, Known, Simulated, itinerary::Moment};
use crate::prelude::*;
use crate::{
    math::{self, Random},
    model::{Run, TiltPositive, Toward},
};

/// Speed of the cable, m/s: an easy push.
const SPEED_M_S: f64 = 0.2;
/// Time between readings of a camera that stands, s.
const STANDING_S: f64 = 0.5;
/// Time over which the head settles to the temperature of the drain, s.
const DRIFT_S: f64 = 180.0;

/// The log as it is written.
pub(super) struct Log<'a> {
    pipe: &'a Known,
    head: &'a Head,
    flaws: &'a Flaws,
    /// Which spikes and resets have happened; each does once.
    happened: Vec<bool>,
    random: Random,
    /// Noise of motion has numbers of its own, so that it changes no others.
    motion: Random,
    noise: f64,
    time_s: f64,
    /// Way of the cable, the furthest it has been, and way of the head, m.
    cable_m: f64,
    furthest_m: f64,
    way_m: f64,
    pulled: bool,
    /// What the counter shows less what it counted of the way of the cable, m.
    offset_m: f64,
    last_rad: f64,
    /// Tilt as the sensor's filter gives it, rad; none before the first moment.
    sensed_rad: Option<f64>,
    out: Simulated,
    times_s: Vec<f64>,
    moving: Vec<bool>,
    rolls_rad: Vec<f64>,
}

impl<'a> Log<'a> {
    pub(super) fn new(pipe: &'a Known, head: &'a Head, flaws: &'a Flaws, seed: u64) -> Self {
        let mut random = Random::new(seed, 0, 0);
        let noise = random.normal();
        let mut run = Run::new(Vec::new(), Vec::new());
        run.tilt_positive = head.tilt_positive;
        run.toward = head.toward;
        run.start_station_m = pipe.station_m(0.0, head.toward);
        let out = Simulated {
            run,
            true_station_m: Vec::new(),
            true_tilt_rad: Vec::new(),
            unflawed_rad: Vec::new(),
            flawed: Vec::new(),
        };
        Self {
            pipe,
            head,
            flaws,
            happened: vec![false; flaws.list.len()],
            random,
            motion: Random::new(seed, 2, 0),
            noise,
            time_s: 0.0,
            cable_m: 0.0,
            furthest_m: 0.0,
            way_m: 0.0,
            pulled: false,
            offset_m: 0.0,
            last_rad: 0.0,
            sensed_rad: None,
            out,
            times_s: Vec::new(),
            moving: Vec::new(),
            rolls_rad: Vec::new(),
        }
    }

    /// Goes there, and writes a reading unless there is a gap in the log.
    pub(super) fn take(&mut self, moment: Moment) {
        let cable_moved_m = (moment.way_m - self.cable_m).abs();
        self.cable_m = moment.way_m;
        self.furthest_m = self.furthest_m.max(moment.way_m);
        let passed_s = if moment.standing { STANDING_S } else { cable_moved_m / SPEED_M_S };
        self.time_s += passed_s;
        self.move_head();
        let station_m = self.pipe.station_m(self.way_m, self.head.toward);
        let sensed_rad = self.sense(station_m, passed_s);
        let gap = |f: &Flaw| matches!(*f, Flaw::Gap { from_m, to_m } if from_m < station_m && station_m < to_m);
        if self.flaws.list.iter().any(gap) {
            return;
        }
        let unflawed_rad = self.looking_down(sensed_rad);
        let looking_down = self.flawed(unflawed_rad, station_m);
        let logged = |rad: f64| match self.head.tilt_positive {
            TiltPositive::Down => self.head.rounding.apply(rad),
            TiltPositive::Up => -self.head.rounding.apply(rad),
        };
        self.out.unflawed_rad.push(logged(unflawed_rad));
        self.out.run.reading_rad.push(logged(looking_down));
        self.last_rad = looking_down;
        self.out.run.counter_m.push((self.counted_m() + self.offset_m) / (1.0 + self.flaws.counter_scale));
        self.times_s.push(self.time_s);
        self.rolls_rad.push(self.head.roll.at_rad(self.way_m));
        self.out.true_station_m.push(station_m);
        self.out.true_tilt_rad.push(self.pipe.tilt_rad(station_m));
    }

    /// The head follows the cable, and does not before the slack is used up; standing still it sits as it did.
    fn move_head(&mut self) {
        let slack_m: f64 =
            self.flaws.list.iter().map(|f| if let Flaw::Slack { length_m } = f { *length_m } else { 0.0 }).sum();
        let before_m = self.way_m;
        self.way_m = before_m.max(self.cable_m).min(self.cable_m + slack_m);
        if self.way_m != before_m {
            self.pulled = self.way_m < before_m;
        }
        self.step_noise((self.way_m - before_m).abs());
    }

    /// Way of the cable as counted, before resets and the counter's own scale, m. A slip happens on the way out and stays; a
    /// stretch is a matter of place.
    fn counted_m(&self) -> f64 {
        let way = |station_m: f64| self.pipe.way_m(station_m, self.head.toward);
        let missed = |flaw: &Flaw| match *flaw {
            Flaw::Slip { at_m, length_m } => {
                (self.furthest_m - way(at_m)).clamp(0.0, length_m.abs()).copysign(length_m)
            }
            Flaw::Stretch { from_m, to_m, scale } => {
                let (first, last) = (way(from_m).min(way(to_m)), way(from_m).max(way(to_m)));
                (self.cable_m.min(last) - first).max(0.0) * scale / (1.0 + scale)
            }
            _ => 0.0,
        };
        self.cable_m - self.flaws.list.iter().map(missed).sum::<f64>()
    }

    /// The tilt under the head as the sensor's filter gives it after so much time, rad: a first-order low-pass, exact for a
    /// tilt that jumps between readings and stays.
    fn sense(&mut self, station_m: f64, passed_s: f64) -> f64 {
        let tilt_rad = self.along(self.pipe.mean_tilt_rad(station_m, self.head.head_length_m));
        let sensed_rad = match self.sensed_rad {
            Some(before_rad) if self.head.lag_s > 0.0 => {
                tilt_rad + (before_rad - tilt_rad) * math::exp(-passed_s / self.head.lag_s)
            }
            _ => tilt_rad,
        };
        self.sensed_rad = Some(sensed_rad);
        sensed_rad
    }

    /// Noise of unit variance, first-order autoregressive in the way the head has moved.
    fn step_noise(&mut self, moved_m: f64) {
        let rho = if self.head.correlation_m > 0.0 { math::exp(-moved_m / self.head.correlation_m) } else { 0.0 };
        self.noise = rho * self.noise + (1.0 - rho * rho).sqrt() * self.random.normal();
    }

    /// What the head senses without a flaw, rad.
    fn looking_down(&self, sensed_rad: f64) -> f64 {
        sensed_rad
            + self.head.zero_rad
            + if self.pulled { self.head.seating_pull_rad } else { self.head.seating_push_rad }
            + self.head.drift_rad * math::exp(-self.time_s / DRIFT_S)
            + self.head.roll.cross_rad * math::sin(self.head.roll.at_rad(self.way_m))
            + self.head.noise_sd_rad * self.noise
    }

    /// A tilt as the head looks at it.
    fn along(&self, tilt_rad: f64) -> f64 {
        match self.head.toward {
            Toward::Increasing => tilt_rad,
            Toward::Decreasing => -tilt_rad,
        }
    }

    /// The same with the flaws, in the order of the list; a limit and a frozen sensor come over all.
    fn flawed(&mut self, unflawed_rad: f64, station_m: f64) -> f64 {
        let row = self.out.run.reading_rad.len();
        let h = self.head.head_length_m;
        let (mut rad, mut frozen, mut limit_rad) = (unflawed_rad, false, f64::INFINITY);
        for (i, flaw) in self.flaws.list.iter().enumerate() {
            let reached = |at_m: f64| self.pipe.way_m(at_m, self.head.toward) <= self.way_m;
            let first = |at_m: f64, happened: &[bool]| !happened[i] && reached(at_m);
            let touched = match *flaw {
                Flaw::Spike { at_m, rad: off } if first(at_m, &self.happened) => {
                    self.happened[i] = true;
                    rad += off;
                    true
                }
                Flaw::Reset { at_m } | Flaw::Rezero { at_m, .. } => {
                    if first(at_m, &self.happened) {
                        self.happened[i] = true;
                        let counter_m = if let Flaw::Rezero { counter_m, .. } = *flaw { counter_m } else { 0.0 };
                        self.offset_m = counter_m - self.counted_m();
                    }
                    self.happened[i]
                }
                Flaw::Slip { at_m, .. } => self.pipe.way_m(at_m, self.head.toward) < self.furthest_m,
                Flaw::Stretch { from_m, to_m, .. } => {
                    let way = |at_m: f64| self.pipe.way_m(at_m, self.head.toward);
                    way(from_m).min(way(to_m)) < self.cable_m
                }
                Flaw::StepUnderHead { at_m, rise_m } if h > 0.0 && (station_m - at_m).abs() < 0.5 * h => {
                    rad += self.along(-math::asin((rise_m / h).clamp(-1.0, 1.0)));
                    true
                }
                Flaw::Bend { at_m, rad: off } if (station_m - at_m).abs() <= h => {
                    rad += off;
                    true
                }
                Flaw::Motion { sd_rad, rest_every } => {
                    let moving = row.checked_rem(rest_every) != Some(0);
                    self.moving.resize(row + 1, moving);
                    rad += if moving { sd_rad * self.motion.normal() } else { 0.0 };
                    moving
                }
                Flaw::TurnsOver if rad.abs() > core::f64::consts::FRAC_PI_2 => {
                    rad -= core::f64::consts::PI.copysign(rad);
                    true
                }
                Flaw::Limit { rad: most } => {
                    limit_rad = limit_rad.min(most);
                    rad.abs() > most
                }
                Flaw::Frozen { from_m, to_m } if row > 0 && from_m < station_m && station_m < to_m => {
                    frozen = true;
                    true
                }
                Flaw::PullBack { .. } | Flaw::PullOut { .. } => self.pulled,
                Flaw::Slack { .. } => self.way_m != self.cable_m,
                Flaw::Stop { at_m, .. } => {
                    reached(at_m) && self.out.true_station_m.last().is_some_and(|last| *last == station_m)
                }
                _ => false,
            };
            if touched {
                self.out.flawed.push((row, i));
            }
        }
        if frozen { self.last_rad } else { rad.clamp(-limit_rad, limit_rad) }
    }

    pub(super) fn into_simulated(mut self) -> Simulated {
        self.out.run.time_s = Some(self.times_s);
        if self.flaws.list.iter().any(|f| matches!(f, Flaw::Motion { .. })) {
            self.out.run.moving = Some(self.moving);
        }
        if self.head.roll.logged {
            self.out.run.roll_rad = Some(self.rolls_rad);
        }
        self.out
    }
}
