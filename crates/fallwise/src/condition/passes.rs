//! Pushes and pull-backs, and which of them give the trace.

use super::{
    Reading,
    record::{Cause, Record},
    walk,
};
use crate::prelude::*;
use crate::{said, units::Said};

/// The counter must turn by this much before the cable is said to have turned, m. Our choice: counters creep and
/// cables spring by some centimetres.
const HYSTERESIS_M: f64 = 0.1;
/// Ground that only a pull-back covered is worth a warning from this length, m. Our choice.
const LEFT_OUT_M: f64 = 0.5;

/// A stretch of the log in one direction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Pass {
    from: usize,
    to: usize,
    pushing: bool,
}

/// Says of each reading in order of the log which pass it belongs to, and which way that went.
pub(super) fn tell_apart(readings: &mut [Reading]) {
    let along_m: Vec<f64> = readings.iter().map(|r| r.along_m).collect();
    for (number, pass) in split(&along_m).into_iter().enumerate() {
        for r in readings.iter_mut().take(pass.to).skip(pass.from) {
            (r.pass, r.pushing) = (number, pass.pushing);
        }
    }
}

/// Whether the run was logged while pushing: its pushes cover at least half of it. One that was not gets a warning, as
/// does ground that only the pull-backs of a push cover.
pub(super) fn was_pushed(readings: &[Reading], warnings: &mut Vec<Said>) -> bool {
    let whole = Extent::of(readings.iter());
    let pushed = Extent::of(readings.iter().filter(|r| r.pushing));
    let was_pushed = pushed.length_m() >= 0.5 * whole.length_m();
    if !was_pushed {
        warnings.push(said!("the run was logged while pulling back: a pulled head sits differently"));
    } else if pushed.low_m - whole.low_m > LEFT_OUT_M || whole.high_m - pushed.high_m > LEFT_OUT_M {
        warnings.push(said!("part of the run was logged only while pulling back and is left out"));
    }
    was_pushed
}

/// Takes the readings of the other direction out of the walk; gives them back in order of the log.
pub(super) fn set_apart(readings: &mut Vec<Reading>, pushed: bool, record: &mut Record) -> Vec<Reading> {
    let mut others = Vec::new();
    let cause = if pushed { Cause::Pull } else { Cause::Push };
    walk::take_out(readings, record, |r| {
        let other = r.pushing != pushed;
        if other {
            others.push(*r);
        }
        other.then_some(cause)
    });
    others
}

/// Least and greatest counter.
struct Extent {
    low_m: f64,
    high_m: f64,
}

impl Extent {
    fn of<'a>(readings: impl Iterator<Item = &'a Reading>) -> Self {
        readings.fold(Self { low_m: f64::INFINITY, high_m: f64::NEG_INFINITY }, |e, r| Self {
            low_m: e.low_m.min(r.along_m),
            high_m: e.high_m.max(r.along_m),
        })
    }

    /// 0 or less of nothing.
    fn length_m(&self) -> f64 {
        self.high_m - self.low_m
    }
}

/// Cuts the log where the counter turns. The turning reading, and a dwell at it, belong to the pass that ends there.
fn split(along_m: &[f64]) -> Vec<Pass> {
    let mut passes = Vec::new();
    let mut from = 0;
    let mut pushing = None;
    let first_m = along_m.first().copied().unwrap_or(0.0);
    let (mut high, mut low) = ((0, first_m), (0, first_m));
    for (i, &a) in along_m.iter().enumerate() {
        if a >= high.1 {
            high = (i, a);
        }
        if a <= low.1 {
            low = (i, a);
        }
        let turned_up = a > low.1 + HYSTERESIS_M;
        let turned_down = a < high.1 - HYSTERESIS_M;
        match pushing {
            None if turned_up => (pushing, high) = (Some(true), (i, a)),
            None if turned_down => (pushing, low) = (Some(false), (i, a)),
            Some(true) if turned_down => {
                passes.push(Pass { from, to: high.0 + 1, pushing: true });
                (from, pushing, low) = (high.0 + 1, Some(false), (i, a));
            }
            Some(false) if turned_up => {
                passes.push(Pass { from, to: low.0 + 1, pushing: false });
                (from, pushing, high) = (low.0 + 1, Some(true), (i, a));
            }
            _ => {}
        }
    }
    passes.push(Pass { from, to: along_m.len(), pushing: pushing.unwrap_or(true) });
    passes
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pass(from: usize, to: usize, pushing: bool) -> Pass {
        Pass { from, to, pushing }
    }

    #[test]
    fn turns_are_found_at_the_turning_reading() {
        let along = [0.0, 0.5, 1.0, 1.0, 0.6, 0.2, 0.2, 0.7, 1.5];
        assert_eq!(split(&along), [pass(0, 4, true), pass(4, 7, false), pass(7, 9, true)]);
    }

    #[test]
    fn creep_below_the_hysteresis_is_no_turn() {
        assert_eq!(split(&[0.0, 0.5, 0.42, 0.45, 0.9]), [pass(0, 5, true)]);
        assert_eq!(split(&[0.0, 0.0]), [pass(0, 2, true)]);
    }

    #[test]
    fn a_log_may_start_with_a_pull() {
        assert_eq!(split(&[5.0, 4.0, 3.0, 6.0]), [pass(0, 3, false), pass(3, 4, true)]);
    }
}
