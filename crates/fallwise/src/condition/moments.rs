//! When the head was where: the log's time against its counter.
//!
//! A recording shows a moment, a note stands at a station; the time of the log joins the two. Stations here are as the
//! counter shows them, so that its scale plays no part.

use super::{record::Record, repeats::SAME_PLACE_M, resets, rows, usual_step_m};
use crate::prelude::*;
use crate::{error::Error, model::Run};

/// Standard deviation of a moment of the recording against the log, s: a moment is written down in whole seconds, and the
/// two clocks are set against each other by eye. Our choice.
pub const MOMENT_SD_S: f64 = 1.0;
/// A cable that is being pulled shows another counter at the same place than one that is pushed, by about so much, m.
/// Our choice: that by which a counter must turn before the cable is said to have turned.
pub const SLACK_SD_M: f64 = 0.1;
/// 1 / sqrt(12): the standard deviation of what lies anywhere in an interval of length 1.
const UNIFORM_SD: f64 = 0.288_675_134_594_812_9;

/// A moment of the log.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// Time of the log, s.
    pub time_s: f64,
    /// Its standard deviation against a recording, s.
    pub sd_s: f64,
}

/// Where the head was.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Station, m.
    pub station_m: f64,
    /// Its standard deviation, m.
    pub sd_m: f64,
    /// Whether the head was on its way back just before or after: pulled, in a run logged on the push.
    pub backward: bool,
}

/// The head's way through the pipe by time, of one run.
#[derive(Debug, Clone, PartialEq)]
pub struct Moments<'a> {
    run: &'a Run,
    time_s: &'a [f64],
    /// Cable out with resets continued, m; counted backwards where the run was logged while pulling back, so that it
    /// grows on the way that counts.
    along_m: Vec<f64>,
    sign: f64,
    /// Usual move of the counter between two readings, m.
    step_m: f64,
    /// Readings that went further than all before them: their index, by growing `along_m`.
    furthest: Vec<usize>,
}

impl<'a> Moments<'a> {
    /// The moments of a run; `None` where its log has no time, or a time that goes back, which orders nothing.
    ///
    /// # Errors
    /// Those of a run that cannot be one, as [`super::condition`].
    ///
    /// # Example
    /// ```
    /// use fallwise::{Run, condition::Moments};
    ///
    /// // Pushed to 3 m in 3 s, pulled back by 1 m, pushed on.
    /// let mut run = Run::new(vec![0.0, 1.0, 2.0, 3.0, 2.0, 3.0, 4.0], vec![0.02; 7]);
    /// run.time_s = Some(vec![0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0]);
    /// let moments = Moments::new(&run)?.ok_or(fallwise::Error::value("time_s", "none", "a time"))?;
    /// assert_eq!(moments.time_at(2.5).map(|m| m.time_s), Some(2.5)); // the first passing
    /// assert_eq!(moments.station_at(4.0).map(|p| (p.station_m, p.backward)), Some((2.0, true)));
    /// assert_eq!(moments.time_at(5.0), None);
    /// # Ok::<(), fallwise::Error>(())
    /// ```
    pub fn new(run: &'a Run) -> Result<Option<Self>, Error> {
        super::check::run(run)?;
        let Some(time_s) = run.time_s.as_deref().filter(|t| t.is_sorted()) else { return Ok(None) };
        let step_m = usual_step_m(&run.counter_m).max(SAME_PLACE_M);
        let mut record = Record::new(run.counter_m.len());
        let mut log = rows(run);
        resets::continue_counter(&mut log, run, step_m, &mut record, &mut Vec::new());
        let mut along_m: Vec<f64> = log.iter().map(|r| r.along_m).collect();
        let sign = if greatest_rise_m(&along_m) >= 0.5 * extent_m(&along_m) { 1.0 } else { -1.0 };
        for a in &mut along_m {
            *a *= sign;
        }
        let mut furthest: Vec<usize> = Vec::new();
        for (i, a) in along_m.iter().enumerate() {
            if furthest.last().and_then(|&f| along_m.get(f)).is_none_or(|f| a > f) {
                furthest.push(i);
            }
        }
        Ok(Some(Self { run, time_s, along_m, sign, step_m, furthest }))
    }

    /// When the head first passed a station on the push; `None` where it never did.
    ///
    /// Between two readings it is taken to move evenly, and may in truth have passed anywhere in that time.
    pub fn time_at(&self, station_m: f64) -> Option<Moment> {
        let along_m = self.sign * self.run.counter_at_m(station_m);
        let (before, after) = self.first_passing(along_m)?;
        let (t0, t1) = (*self.time_s.get(before)?, *self.time_s.get(after)?);
        let (a0, a1) = (*self.along_m.get(before)?, *self.along_m.get(after)?);
        let share = if a1 > a0 { (along_m - a0) / (a1 - a0) } else { 0.0 };
        let between_s = UNIFORM_SD * (t1 - t0);
        Some(Moment {
            time_s: t0 + share * (t1 - t0),
            sd_s: (between_s * between_s + MOMENT_SD_S * MOMENT_SD_S).sqrt(),
        })
    }

    /// Where the head was at a time of the log; `None` before its first and after its last reading.
    ///
    /// The standard deviation is that of the way made within [`MOMENT_SD_S`] before and after, of the spacing of the
    /// readings, and of the slack of a cable on its way back.
    pub fn station_at(&self, time_s: f64) -> Option<Place> {
        let (before, after) = self.readings_around(time_s)?;
        let (a0, a1) = (*self.along_m.get(before)?, *self.along_m.get(after)?);
        let along_m = self.along_at(time_s)?;
        let (first_s, last_s) = (*self.time_s.first()?, *self.time_s.last()?);
        let early = self.along_at((time_s - MOMENT_SD_S).max(first_s))?;
        let late = self.along_at((time_s + MOMENT_SD_S).min(last_s))?;
        // At a turn of the cable the way there and back does not cancel.
        let way_m = (along_m - early).abs().max((late - along_m).abs());
        let spacing_m = UNIFORM_SD * (a1 - a0).abs().max(self.step_m);
        let backward = along_m < early || late < along_m;
        let slack_m = if backward { SLACK_SD_M } else { 0.0 };
        Some(Place {
            station_m: self.run.station_m(self.sign * along_m),
            sd_m: (way_m * way_m + spacing_m * spacing_m + slack_m * slack_m).sqrt(),
            backward,
        })
    }

    /// The two readings between which a place was first passed on the way that counts.
    fn first_passing(&self, along_m: f64) -> Option<(usize, usize)> {
        let along = |i: usize| self.along_m.get(i).copied();
        if along(0)? <= along_m {
            // Everything from the first reading on was first passed where the head went further than before.
            let next = self.furthest.partition_point(|&i| along(i).is_some_and(|a| a < along_m));
            let after = *self.furthest.get(next)?;
            return Some((after.saturating_sub(1), after));
        }
        // Before the first reading's own place the head has to be pulled back first.
        let pairs = self.along_m.iter().zip(self.along_m.iter().skip(1));
        let before = pairs.enumerate().find(|(_, (a, b))| **a <= along_m && along_m <= **b && a < b)?.0;
        Some((before, before + 1))
    }

    /// The readings on both sides of a time; twice the same where it is a reading's own.
    fn readings_around(&self, time_s: f64) -> Option<(usize, usize)> {
        if !(*self.time_s.first()? <= time_s && time_s <= *self.time_s.last()?) {
            return None;
        }
        let after = self.time_s.partition_point(|&t| t < time_s);
        let exact = self.time_s.get(after).is_some_and(|t| *t <= time_s);
        Some((if exact { after } else { after.saturating_sub(1) }, after))
    }

    fn along_at(&self, time_s: f64) -> Option<f64> {
        let (before, after) = self.readings_around(time_s)?;
        let (t0, t1) = (*self.time_s.get(before)?, *self.time_s.get(after)?);
        let (a0, a1) = (*self.along_m.get(before)?, *self.along_m.get(after)?);
        let share = if t1 > t0 { (time_s - t0) / (t1 - t0) } else { 0.0 };
        Some(a0 + share * (a1 - a0))
    }
}

/// The furthest that the values go up from any earlier one.
fn greatest_rise_m(along_m: &[f64]) -> f64 {
    let mut low = f64::INFINITY;
    along_m.iter().fold(0.0, |rise: f64, &a| {
        low = low.min(a);
        rise.max(a - low)
    })
}

fn extent_m(along_m: &[f64]) -> f64 {
    let high = along_m.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    high - along_m.iter().copied().fold(f64::INFINITY, f64::min)
}
