//! The forward model: the log that a head would give in a pipe that is known.
//!
//! Reading = (+ or -) tilt of the pipe averaged over the head's length + zero error + seating + drift + noise, rounded:
//! the model that the estimates assume, made the other way round. [`run`] gives the same log for the same arguments,
//! on any machine. Every flaw of a real log can be placed where it is wanted ([`Flaw`]) or scattered by seed
//! ([`Flaws::scattered`]). Users try a method, a head or a rule with it; nothing in the library depends on it.
//!
//! It does not model bends, roll, debris, or the way a head lifts at a lip in detail.
//!
//! # Example
//! ```
//! use fallwise::{Instrument, condition::condition, simulate::{self, Flaw, Flaws, Head, Truth}};
//!
//! let truth = Truth { breaks_m: vec![0.0, 12.0, 15.0, 30.0], tilt_rad: vec![0.02, -0.01, 0.02] };
//! let flaws = Flaws { list: vec![Flaw::PullBack { at_m: 14.0, length_m: 2.0 }], ..Flaws::default() };
//! let log = simulate::run(&truth, &Head::default(), &flaws, 0.05, 1)?;
//! let trace = condition(&log.run, &Instrument::default(), &[])?;
//! assert!((trace.station_m.last().unwrap() - 30.0).abs() < 0.05);
//! # Ok::<(), fallwise::Error>(())
//! ```

use crate::{
    error::{Error, require_finite, require_length},
    math::{self, Random},
    model::{Run, TiltPositive, Toward},
};

/// One degree, rad.
const DEGREE: f64 = core::f64::consts::PI / 180.0;
/// Speed of the cable, m/s: an easy push.
const SPEED_M_S: f64 = 0.2;
/// Time between readings of a camera that stands, s.
const STANDING_S: f64 = 0.5;
/// Time over which the head settles to the temperature of the drain, s.
const DRIFT_S: f64 = 180.0;
/// No log is longer: a spacing by mistake must not fill the memory.
const MOST_READINGS: f64 = 2e7;

/// The pipe as it is: pieces of constant tilt.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Truth {
    /// Stations of the ends of the pieces, m, growing; one more than pieces.
    pub breaks_m: Vec<f64>,
    /// Tilt of each piece, rad, positive down towards growing station.
    pub tilt_rad: Vec<f64>,
}

/// The head, as it is rather than as it is known, and how it logs.
#[derive(Debug, Clone, PartialEq)]
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
            tilt_positive: TiltPositive::Down,
            toward: Toward::Increasing,
        }
    }
}

/// Rounding to whole steps in the log's own unit.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
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

/// What goes wrong with a log.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Flaws {
    /// Flaws with a place, in any order.
    pub list: Vec<Flaw>,
    /// Scale error of the counter: true distance = (1 + this) counter; above -1.
    pub counter_scale: f64,
}

/// One flaw. Stations are the lateral's, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Flaw {
    /// The camera stands still for so many more readings.
    Stop {
        /// Where.
        at_m: f64,
        /// How many.
        readings: usize,
    },
    /// The camera is pulled back and pushed over the same ground again.
    PullBack {
        /// From where.
        at_m: f64,
        /// How far.
        length_m: f64,
    },
    /// One reading is off.
    Spike {
        /// The first reading at or beyond this station.
        at_m: f64,
        /// By how much, rad, with the sign of the head: looking down positive.
        rad: f64,
    },
    /// Nothing was logged.
    Gap {
        /// From.
        from_m: f64,
        /// To.
        to_m: f64,
    },
    /// The counter is set to zero.
    Reset {
        /// Where.
        at_m: f64,
    },
    /// The head rides over a displaced joint.
    StepUnderHead {
        /// Where.
        at_m: f64,
        /// How much higher the invert is just after, looking along growing station, m.
        rise_m: f64,
    },
}

impl Flaws {
    /// So many of each kind, placed by `seed` along `from_m` to `to_m` with ordinary sizes: stops of 20 to 200
    /// readings, pull-backs of 0.3 to 2 m, spikes of 5 to 30 degrees, gaps of 1 m, resets.
    pub fn scattered(from_m: f64, to_m: f64, counts: Counts, seed: u64) -> Self {
        let mut random = Random::new(seed, 1, 0);
        let mut list = Vec::new();
        let mut place = |count: usize, make: &dyn Fn(f64, f64) -> Flaw| {
            for _ in 0..count {
                let at_m = from_m + (to_m - from_m) * random.uniform();
                list.push(make(at_m, random.uniform()));
            }
        };
        place(counts.stops, &|at_m, u| Flaw::Stop { at_m, readings: whole(20.0 + 180.0 * u) });
        place(counts.pull_backs, &|at_m, u| Flaw::PullBack { at_m, length_m: 0.3 + 1.7 * u });
        place(counts.spikes, &|at_m, u| Flaw::Spike {
            at_m,
            rad: if u < 0.5 { -5.0 - 50.0 * u } else { 5.0 + 50.0 * (u - 0.5) } * DEGREE,
        });
        place(counts.gaps, &|at_m, _| Flaw::Gap { from_m: at_m, to_m: at_m + 1.0 });
        place(counts.resets, &|at_m, _| Flaw::Reset { at_m });
        Self { list, counter_scale: 0.0 }
    }
}

/// How many flaws of each kind to scatter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counts {
    /// Stops.
    pub stops: usize,
    /// Pull-backs.
    pub pull_backs: usize,
    /// Spikes.
    pub spikes: usize,
    /// Gaps.
    pub gaps: usize,
    /// Counter resets.
    pub resets: usize,
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
}

/// The log of one push through `truth`, a reading every `spacing_m`.
///
/// The seed drives the noise only; the same seed with and without a flaw gives the same noise up to the flaw.
///
/// # Errors
/// Breaks that do not grow, numbers that are not finite, a spacing of 0 or less, a log of more than 2e7 readings.
pub fn run(truth: &Truth, head: &Head, flaws: &Flaws, spacing_m: f64, seed: u64) -> Result<Simulated, Error> {
    check(truth, head, flaws, spacing_m)?;
    let pipe = Profile::new(truth);
    let mut log = Log::new(&pipe, head, flaws, seed);
    for moment in itinerary(&pipe, head.toward, flaws, spacing_m)? {
        log.take(moment);
    }
    Ok(log.into_simulated())
}

/// One moment of the push at which the head may be read.
#[derive(Debug, Clone, Copy)]
struct Moment {
    /// Way from the start of the push, m.
    way_m: f64,
    doing: Doing,
}

/// What the cable does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Doing {
    Push,
    Pull,
    Stand,
}

/// Where the head goes, in order: forward by the spacing, with stops and pull-backs at their places.
fn itinerary(pipe: &Profile, toward: Toward, flaws: &Flaws, spacing_m: f64) -> Result<Vec<Moment>, Error> {
    let mut turns: Vec<(f64, Flaw)> = flaws
        .list
        .iter()
        .filter_map(|f| match *f {
            Flaw::Stop { at_m, .. } | Flaw::PullBack { at_m, .. } => Some((pipe.way_m(at_m, toward), *f)),
            _ => None,
        })
        .collect();
    turns.sort_by(|a, b| a.0.total_cmp(&b.0));
    let steps = |length_m: f64| (length_m / spacing_m + 1e-9).floor();
    let readings = steps(pipe.length_m())
        + turns
            .iter()
            .map(|(_, f)| match *f {
                Flaw::Stop { readings, .. } => readings as f64,
                Flaw::PullBack { length_m, .. } => 2.0 * steps(length_m.min(pipe.length_m())).max(0.0),
                _ => 0.0,
            })
            .sum::<f64>();
    if readings > MOST_READINGS {
        return Err(Error::value("spacing_m", spacing_m, "a log of at most 2e7 readings"));
    }
    let mut turns = turns.into_iter().peekable();
    let mut moments = Vec::with_capacity(whole(readings) + 1);
    for i in 0..=whole(steps(pipe.length_m())) {
        let way_m = spacing_m * i as f64;
        moments.push(Moment { way_m, doing: Doing::Push });
        while let Some((_, flaw)) = turns.next_if(|(at_m, _)| *at_m <= way_m) {
            match flaw {
                Flaw::Stop { readings, .. } => {
                    moments.extend(core::iter::repeat_n(Moment { way_m, doing: Doing::Stand }, readings));
                }
                Flaw::PullBack { length_m, .. } => {
                    let back = whole(steps(length_m)).min(i);
                    let at = |j: usize, doing| Moment { way_m: spacing_m * (i - j) as f64, doing };
                    moments.extend((1..=back).map(|j| at(j, Doing::Pull)));
                    moments.extend((0..back).rev().map(|j| at(j, Doing::Push)));
                }
                _ => {}
            }
        }
    }
    Ok(moments)
}

/// The log as it is written.
struct Log<'a> {
    pipe: &'a Profile,
    head: &'a Head,
    counter_scale: f64,
    /// Spikes and resets still to come, by way.
    pending: Vec<(f64, Flaw)>,
    gaps_m: Vec<(f64, f64)>,
    steps_m: Vec<(f64, f64)>,
    random: Random,
    noise: f64,
    time_s: f64,
    way_m: f64,
    reset_m: f64,
    out: Simulated,
    times_s: Vec<f64>,
}

impl<'a> Log<'a> {
    fn new(pipe: &'a Profile, head: &'a Head, flaws: &Flaws, seed: u64) -> Self {
        let mut pending = Vec::new();
        let (mut gaps_m, mut steps_m) = (Vec::new(), Vec::new());
        for flaw in &flaws.list {
            match *flaw {
                Flaw::Spike { at_m, .. } | Flaw::Reset { at_m } => pending.push((pipe.way_m(at_m, head.toward), *flaw)),
                Flaw::Gap { from_m, to_m } => gaps_m.push((from_m, to_m)),
                Flaw::StepUnderHead { at_m, rise_m } => steps_m.push((at_m, rise_m)),
                Flaw::Stop { .. } | Flaw::PullBack { .. } => {}
            }
        }
        // The nearest comes last, to be popped.
        pending.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut random = Random::new(seed, 0, 0);
        let noise = random.normal();
        let mut run = Run::new(Vec::new(), Vec::new());
        run.tilt_positive = head.tilt_positive;
        run.toward = head.toward;
        run.start_station_m = pipe.station_m(0.0, head.toward);
        let out = Simulated { run, true_station_m: Vec::new(), true_tilt_rad: Vec::new() };
        Self {
            pipe,
            head,
            counter_scale: flaws.counter_scale,
            pending,
            gaps_m,
            steps_m,
            random,
            noise,
            time_s: 0.0,
            way_m: 0.0,
            reset_m: 0.0,
            out,
            times_s: Vec::new(),
        }
    }

    /// Goes there, and writes a reading unless there is a gap in the log.
    fn take(&mut self, moment: Moment) {
        let moved_m = (moment.way_m - self.way_m).abs();
        self.way_m = moment.way_m;
        self.time_s += if moment.doing == Doing::Stand { STANDING_S } else { moved_m / SPEED_M_S };
        self.step_noise(moved_m);
        let station_m = self.pipe.station_m(moment.way_m, self.head.toward);
        if self.gaps_m.iter().any(|(from, to)| *from < station_m && station_m < *to) {
            return;
        }
        let looking_down = self.looking_down(station_m, moment.doing) + self.events();
        let reading = self.head.rounding.apply(looking_down);
        self.out.run.reading_rad.push(match self.head.tilt_positive {
            TiltPositive::Down => reading,
            TiltPositive::Up => -reading,
        });
        self.out.run.counter_m.push((self.way_m - self.reset_m) / (1.0 + self.counter_scale));
        self.times_s.push(self.time_s);
        self.out.true_station_m.push(station_m);
        self.out.true_tilt_rad.push(self.pipe.tilt_rad(station_m));
    }

    /// Noise of unit variance, first-order autoregressive in the way the head has moved.
    fn step_noise(&mut self, moved_m: f64) {
        let rho = if self.head.correlation_m > 0.0 { math::exp(-moved_m / self.head.correlation_m) } else { 0.0 };
        self.noise = rho * self.noise + (1.0 - rho * rho).sqrt() * self.random.normal();
    }

    /// What the head senses before spikes and rounding, rad.
    fn looking_down(&self, station_m: f64, doing: Doing) -> f64 {
        let h = self.head.head_length_m;
        let lips: f64 = self
            .steps_m
            .iter()
            .filter(|(at_m, _)| h > 0.0 && (station_m - at_m).abs() < 0.5 * h)
            .map(|(_, rise_m)| -math::asin((rise_m / h).clamp(-1.0, 1.0)))
            .sum();
        let tilt = self.pipe.mean_tilt_rad(station_m, h) + lips;
        let along = match self.head.toward {
            Toward::Increasing => tilt,
            Toward::Decreasing => -tilt,
        };
        let seating = if doing == Doing::Pull { self.head.seating_pull_rad } else { self.head.seating_push_rad };
        along
            + self.head.zero_rad
            + seating
            + self.head.drift_rad * math::exp(-self.time_s / DRIFT_S)
            + self.head.noise_sd_rad * self.noise
    }

    /// Spikes and resets whose place has been reached; each happens once.
    fn events(&mut self) -> f64 {
        let mut spike = 0.0;
        while let Some((_, flaw)) = self.pending.pop_if(|(at_m, _)| *at_m <= self.way_m) {
            match flaw {
                Flaw::Spike { rad, .. } => spike += rad,
                Flaw::Reset { .. } => self.reset_m = self.way_m,
                _ => {}
            }
        }
        spike
    }

    fn into_simulated(mut self) -> Simulated {
        self.out.run.time_s = Some(self.times_s);
        self.out
    }
}

/// The pipe with the running integral of its tilt.
struct Profile {
    breaks_m: Vec<f64>,
    tilt_rad: Vec<f64>,
    /// Integral of the tilt up to each break, rad m.
    integral: Vec<f64>,
}

impl Profile {
    fn new(truth: &Truth) -> Self {
        let mut integral = vec![0.0];
        let mut total = 0.0;
        for ((a, b), tilt) in truth.breaks_m.iter().zip(truth.breaks_m.iter().skip(1)).zip(&truth.tilt_rad) {
            total += tilt * (b - a);
            integral.push(total);
        }
        Self { breaks_m: truth.breaks_m.clone(), tilt_rad: truth.tilt_rad.clone(), integral }
    }

    fn first_m(&self) -> f64 {
        self.breaks_m.first().copied().unwrap_or(0.0)
    }

    fn last_m(&self) -> f64 {
        self.breaks_m.last().copied().unwrap_or(0.0)
    }

    fn length_m(&self) -> f64 {
        self.last_m() - self.first_m()
    }

    fn station_m(&self, way_m: f64, toward: Toward) -> f64 {
        match toward {
            Toward::Increasing => self.first_m() + way_m,
            Toward::Decreasing => self.last_m() - way_m,
        }
    }

    fn way_m(&self, station_m: f64, toward: Toward) -> f64 {
        match toward {
            Toward::Increasing => station_m - self.first_m(),
            Toward::Decreasing => self.last_m() - station_m,
        }
    }

    /// Piece at a station; the nearest outside.
    fn piece(&self, station_m: f64) -> usize {
        let after = self.breaks_m.partition_point(|b| *b <= station_m);
        after.saturating_sub(1).min(self.tilt_rad.len().saturating_sub(1))
    }

    fn tilt_rad(&self, station_m: f64) -> f64 {
        self.tilt_rad.get(self.piece(station_m)).copied().unwrap_or(0.0)
    }

    /// Mean tilt over the head's length about a station, as far as there is pipe.
    fn mean_tilt_rad(&self, station_m: f64, length_m: f64) -> f64 {
        let from = (station_m - 0.5 * length_m).max(self.first_m());
        let to = (station_m + 0.5 * length_m).min(self.last_m());
        if to <= from || self.piece(from) == self.piece(to) {
            return self.tilt_rad(station_m);
        }
        (self.integral_to(to) - self.integral_to(from)) / (to - from)
    }

    fn integral_to(&self, station_m: f64) -> f64 {
        let piece = self.piece(station_m);
        let at = |values: &[f64]| values.get(piece).copied().unwrap_or(0.0);
        at(&self.integral) + at(&self.tilt_rad) * (station_m - at(&self.breaks_m))
    }
}

/// Refuses what the model cannot be made from.
fn check(truth: &Truth, head: &Head, flaws: &Flaws, spacing_m: f64) -> Result<(), Error> {
    if truth.tilt_rad.is_empty() {
        return Err(Error::TooFew { field: "tilt_rad".to_owned(), found: 0, needed: 1 });
    }
    require_length("breaks_m", truth.breaks_m.len(), "tilt_rad (and one more)", truth.tilt_rad.len() + 1)?;
    require_finite("breaks_m", &truth.breaks_m)?;
    require_finite("tilt_rad", &truth.tilt_rad)?;
    if let Some(i) = truth.breaks_m.iter().zip(truth.breaks_m.iter().skip(1)).position(|(a, b)| a >= b) {
        return Err(Error::at("breaks_m", i + 1, truth.breaks_m[i + 1], "stations that grow"));
    }
    if truth.tilt_rad.iter().any(|t| t.abs() > core::f64::consts::PI) {
        return Err(Error::value("tilt_rad", "more than pi", "radians within half a turn"));
    }
    let any = [
        ("head.zero_rad", head.zero_rad),
        ("head.seating_push_rad", head.seating_push_rad),
        ("head.seating_pull_rad", head.seating_pull_rad),
        ("head.drift_rad", head.drift_rad),
    ];
    let not_negative = [
        ("head.noise_sd_rad", head.noise_sd_rad),
        ("head.correlation_m", head.correlation_m),
        ("head.head_length_m", head.head_length_m),
        ("head.rounding", head.rounding.step()),
    ];
    for (field, v) in any.into_iter().chain(not_negative) {
        if !v.is_finite() {
            return Err(Error::value(field, v, "a finite number"));
        }
    }
    for (field, v) in not_negative {
        if v < 0.0 {
            return Err(Error::value(field, v, "0 or more"));
        }
    }
    if !(spacing_m > 0.0 && spacing_m.is_finite()) {
        return Err(Error::value("spacing_m", spacing_m, "metres, more than 0"));
    }
    if !(flaws.counter_scale > -1.0 && flaws.counter_scale.is_finite()) {
        return Err(Error::value("flaws.counter_scale", flaws.counter_scale, "a finite number above -1"));
    }
    for (i, flaw) in flaws.list.iter().enumerate() {
        let (a, b) = match *flaw {
            Flaw::Stop { at_m, .. } | Flaw::Reset { at_m } => (at_m, 0.0),
            Flaw::PullBack { at_m, length_m } => (at_m, length_m),
            Flaw::Spike { at_m, rad } => (at_m, rad),
            Flaw::Gap { from_m, to_m } => (from_m, to_m),
            Flaw::StepUnderHead { at_m, rise_m } => (at_m, rise_m),
        };
        require_finite("flaws.list", &[a, b])
            .map_err(|_| Error::at("flaws.list", i, "not finite", "finite numbers"))?;
    }
    Ok(())
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
#[path = "simulate_tests.rs"]
mod tests;
