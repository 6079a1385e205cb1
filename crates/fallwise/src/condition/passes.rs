//! Pushes and pull-backs, and which of them give the trace.

use super::{
    Reading,
    record::{Cause, Record},
};

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

/// Readings of the pushes in order of the counter. A run that was logged while pulling back (its pushes cover less than
/// half of it) gives the readings of its pulls instead, with a warning.
pub(super) fn choose(
    along_m: &[f64],
    tilt_rad: &[f64],
    record: &mut Record,
    warnings: &mut Vec<String>,
) -> Vec<Reading> {
    let passes = split(along_m);
    let whole = Extent::of(along_m.iter().copied());
    let pushed = Extent::of(passes.iter().filter(|p| p.pushing).flat_map(|p| stretch(along_m, *p)));
    let take_pushes = pushed.length_m() >= 0.5 * whole.length_m();
    if !take_pushes {
        warnings.push("the run was logged while pulling back: a pulled head sits differently".to_owned());
    } else if pushed.low_m - whole.low_m > LEFT_OUT_M || whole.high_m - pushed.high_m > LEFT_OUT_M {
        warnings.push("part of the run was logged only while pulling back and is left out".to_owned());
    }
    let mut readings = Vec::with_capacity(along_m.len());
    for (number, pass) in passes.into_iter().enumerate() {
        let indices = pass.from..pass.to;
        if pass.pushing != take_pushes {
            let cause = if take_pushes { Cause::Pull } else { Cause::Push };
            indices.for_each(|i| record.note(i, cause));
            continue;
        }
        let tilts = tilt_rad.iter().skip(pass.from);
        readings.extend(indices.zip(stretch(along_m, pass).zip(tilts)).map(|(index, (along_m, &tilt_rad))| Reading {
            index,
            along_m,
            tilt_rad,
            weight: 1.0,
            pass: number,
        }));
    }
    readings.sort_by(|a, b| a.along_m.total_cmp(&b.along_m));
    readings
}

fn stretch(along_m: &[f64], pass: Pass) -> impl Iterator<Item = f64> {
    along_m.iter().take(pass.to).skip(pass.from).copied()
}

/// Least and greatest counter.
struct Extent {
    low_m: f64,
    high_m: f64,
}

impl Extent {
    fn of(values: impl Iterator<Item = f64>) -> Self {
        values.fold(Self { low_m: f64::INFINITY, high_m: f64::NEG_INFINITY }, |e, v| Self {
            low_m: e.low_m.min(v),
            high_m: e.high_m.max(v),
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
