//! Counter resets, told from pull-backs.
//!
//! A pull-back takes time and is logged on its way; a reset is a jump that no cable can make. With time logged, a
//! reset is a move of more than 1 m between two readings, faster than 2 m/s. Without time it is a *backward* move of
//! more than 1 m and of more than 20 usual steps: a forward jump without time is taken for a stretch that was not
//! logged, and shows as a gap. (Common practice, no source; the limits are our choice.)

use super::record::{Cause, Record};
use crate::model::Run;

/// A smaller jump is a move, m.
const JUMP_M: f64 = 1.0;
/// Nobody moves the cable faster, m/s.
const CABLE_SPEED_M_S: f64 = 2.0;
/// Without time, a backward move of more usual steps than this is a jump.
const JUMP_STEPS: f64 = 20.0;

/// Cable out with every reset undone: after one the counter goes on by a usual step.
pub(super) fn continue_counter(run: &Run, step_m: f64, record: &mut Record, warnings: &mut Vec<String>) -> Vec<f64> {
    let mut offset_m = 0.0;
    let mut resets = 0_usize;
    let mut first_m = None;
    let mut along_m: Vec<f64> = Vec::with_capacity(run.counter_m.len());
    let mut before_m = None;
    for (i, &counter_m) in run.counter_m.iter().enumerate() {
        if let (Some(before), Some(&last)) = (before_m, along_m.last())
            && is_reset(counter_m - before, seconds(run, i), step_m)
        {
            offset_m = last + step_m - counter_m;
            resets += 1;
            first_m = first_m.or(Some(before));
        }
        if resets > 0 {
            record.note(i, Cause::Continued);
        }
        along_m.push(counter_m + offset_m);
        before_m = Some(counter_m);
    }
    if let Some(at_m) = first_m {
        warnings.push(format!(
            "the counter was reset {resets} time{} (first at counter {at_m:.2} m) and is continued; if the cable was \
             pulled back there without being logged, the run is shorter than shown",
            if resets == 1 { "" } else { "s" }
        ));
    }
    along_m
}

/// Time from the reading before to reading `i`, s, where logged.
fn seconds(run: &Run, i: usize) -> Option<f64> {
    let time_s = run.time_s.as_ref()?;
    Some(time_s.get(i)? - time_s.get(i.checked_sub(1)?)?)
}

fn is_reset(move_m: f64, seconds: Option<f64>, step_m: f64) -> bool {
    move_m.abs() > JUMP_M
        && match seconds {
            Some(dt) => move_m.abs() > CABLE_SPEED_M_S * dt,
            None => -move_m > JUMP_STEPS * step_m,
        }
}
