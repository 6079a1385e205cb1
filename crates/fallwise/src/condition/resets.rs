//! Counter resets and re-zeroing, told from pull-backs and from stretches that were not logged.
//!
//! A pull-back takes time and is logged on its way; a counter that is set to another number jumps as no cable can.
//! - With time: a move of more than 1 m between two readings, faster than 2 m/s, either way, is a reset. Clocks of whole
//!   seconds are allowed their second.
//! - Without time: a *backward* move of more than 1 m and of more than 20 usual steps.
//! - A backward move that ends at 0 to the millimetre is a reset from 0.3 m and 5 steps on: no hand stops a cable there
//!   unlogged. (With time: also faster than the cable.)
//!
//! A forward jump without time is taken for a stretch that was not logged, and shows as a gap: a counter set forward
//! there cannot be told from it. (Common practice, no source; the limits are our choice.)

use super::{
    Reading,
    record::{Cause, Record},
    walk,
};
use crate::prelude::*;
use crate::{
    model::Run,
    said,
    units::{Part, Said},
};

/// A smaller jump is a move, m.
const JUMP_M: f64 = 1.0;
/// A smaller jump to 0 is a move, m.
const JUMP_TO_ZERO_M: f64 = 0.3;
/// A counter this near to 0 was set to it, m.
const ZERO_M: f64 = 0.001;
/// Nobody moves the cable faster, m/s.
const CABLE_SPEED_M_S: f64 = 2.0;
/// Without time, a backward move of more usual steps than this is a jump.
const JUMP_STEPS: f64 = 20.0;
/// The same for one to 0.
const JUMP_TO_ZERO_STEPS: f64 = 5.0;

/// Puts every jump of the counter right: after one it goes on by a usual step.
pub(super) fn continue_counter(
    readings: &mut [Reading],
    run: &Run,
    step_m: f64,
    record: &mut Record,
    warnings: &mut Vec<Said>,
) {
    let tick_s = tick_s(run);
    let counter = |i: usize| run.counter_m.get(i).copied().unwrap_or(0.0);
    let mut offset_m = 0.0;
    let mut resets = 0_usize;
    let mut first = None;
    let mut last_m = None;
    walk::move_to(readings, record, Cause::Continued, |r| {
        let counter_m = counter(r.index);
        if let (Some(last), Some(i)) = (last_m, r.index.checked_sub(1))
            && is_reset(counter(i), counter_m, seconds(run, r.index).map(|s| s + tick_s), step_m)
        {
            offset_m = last + step_m - counter_m;
            resets += 1;
            first = first.or(Some((counter(i), counter_m)));
        }
        last_m = Some(counter_m + offset_m);
        counter_m + offset_m
    });
    if let Some((from_m, to_m)) = first {
        let (from, to) = (Part::Number(from_m, 2), Part::Number(to_m, 2));
        warnings.push(if resets == 1 {
            said!(
                "the counter was reset 1 time (first from {from} m to {to} m) and is continued; if the cable was pulled \
                 back there without being logged, the run is shorter than shown",
                from = from,
                to = to
            )
        } else {
            said!(
                "the counter was reset {count} times (first from {from} m to {to} m) and is continued; if the cable was \
                 pulled back there without being logged, the run is shorter than shown",
                count = resets,
                from = from,
                to = to
            )
        });
    }
}

/// Time from the reading before to reading `i`, s, where logged.
fn seconds(run: &Run, i: usize) -> Option<f64> {
    let time_s = run.time_s.as_ref()?;
    Some(time_s.get(i)? - time_s.get(i.checked_sub(1)?)?)
}

/// What a clock of whole seconds may hide, s; 0 for a finer one.
fn tick_s(run: &Run) -> f64 {
    let whole = run.time_s.as_ref().is_some_and(|times| times.iter().all(|t| t.fract() == 0.0));
    if whole { 1.0 } else { 0.0 }
}

fn is_reset(from_m: f64, to_m: f64, seconds: Option<f64>, step_m: f64) -> bool {
    let back_m = from_m - to_m;
    let to_zero = to_m.abs() <= ZERO_M && back_m > JUMP_TO_ZERO_M && back_m > JUMP_TO_ZERO_STEPS * step_m;
    match seconds {
        Some(dt) => (back_m.abs() > JUMP_M || to_zero) && back_m.abs() > CABLE_SPEED_M_S * dt,
        None => to_zero || back_m > JUMP_M && back_m > JUMP_STEPS * step_m,
    }
}
