//! What can go wrong with a log.

use serde::{Deserialize, Serialize};

use super::{DEGREE, whole};
use crate::math::Random;
use crate::prelude::*;

/// What goes wrong with a log.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Flaws {
    /// Flaws with a place, in any order.
    pub list: Vec<Flaw>,
    /// Scale error of the counter: true distance = (1 + this) counter; above -1.
    pub counter_scale: f64,
}

/// One flaw. Stations are the lateral's, m.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
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
    /// The counter is set to another number.
    Rezero {
        /// Where.
        at_m: f64,
        /// To what, m.
        counter_m: f64,
    },
    /// The counter's wheel slips once: the cable goes on for so far and the counter stands.
    Slip {
        /// Where.
        at_m: f64,
        /// How far, m; negative: over so much of the way the counter counts twice.
        length_m: f64,
    },
    /// The counter's scale differs over a stretch: there, true distance = (1 + this) (1 + the counter's own) counter.
    Stretch {
        /// From.
        from_m: f64,
        /// To.
        to_m: f64,
        /// By how much; above -1.
        scale: f64,
    },
    /// At the end of the push the cable is pulled back and logged on its way.
    PullOut {
        /// How far.
        length_m: f64,
    },
    /// Where the cable turns, the counter goes so far before the head does.
    Slack {
        /// How far.
        length_m: f64,
    },
    /// The sensor keeps the reading that it had.
    Frozen {
        /// From.
        from_m: f64,
        /// To.
        to_m: f64,
    },
    /// The sensor shows no more than this, either way.
    Limit {
        /// Greatest reading, rad.
        rad: f64,
    },
    /// Past upright the sensor shows the other side: the reading less half a turn.
    TurnsOver,
    /// Readings in motion are noisier; every so many readings the head rests, and the log says so.
    Motion {
        /// Standard deviation of what motion adds, rad.
        sd_rad: f64,
        /// Of so many readings the first is at rest; 0: none.
        rest_every: usize,
    },
    /// Within a head's length of a bend the head rides up.
    Bend {
        /// Where.
        at_m: f64,
        /// By how much it reads higher, rad, with the sign of the head.
        rad: f64,
    },
    /// The head rides over a displaced joint. That the heights have its rise is for the truth to say ([`super::Truth::lips`]).
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
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
