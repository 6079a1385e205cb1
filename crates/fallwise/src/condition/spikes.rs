//! Spikes, and steps passing under the head.
//!
//! A reading is apart if it lies beyond the medians of its neighbours on *both* sides, in the same direction, by more
//! than the threshold: so a kink, a ramp or the foot of a riser is never apart, since it agrees with one side or lies
//! between. (After Hampel 1974 and the running-median filters named after him; from memory. The two-sided form and the
//! limits are our choice.) One reading apart is a spike and is dropped. Two or more in a row with the same sign are a
//! lip passing under the head: they carry true fall, so they stay, with less weight for slopes. Where readings are further
//! apart than half a head a lip may show in one reading only, and goes as a spike; its fall is in the record.

use super::{
    Reading,
    record::{Cause, Record},
    walk,
};
use crate::math;
use crate::prelude::*;

/// Threshold in units of the spread about the neighbours.
const THRESHOLD: f64 = 5.0;
/// And in steps of the readings: the median of readings that flicker between two steps is half a step off at most, and
/// noise far below the step makes no reading two steps away.
const THRESHOLD_STEPS: f64 = 2.0;
/// From this step on, in units of the spread, a median of deviations sticks to whole steps.
const COARSE: f64 = 0.1;
/// No smaller deviation is a spike, rad: half a degree, which a short dip of the pipe also makes.
const LEAST_RAD: f64 = 0.5 * core::f64::consts::PI / 180.0;
/// Where the pipe is steeper than this nothing is judged, rad: a head tumbling down a riser is all spikes.
const DROP_RAD: f64 = core::f64::consts::FRAC_PI_4;
/// Weight of a reading while a step passes under the head. Our choice: its tilt is the lip's, not the pipe's, but where
/// there are no others it is all there is.
const STEP_WEIGHT: f64 = 0.25;
/// Neighbours on each side: at least enough for a median to stand three odd ones.
const LEAST_WINDOW: usize = 7;
/// At most this many, so that the cost of a reading is bounded.
const MOST_WINDOW: usize = 61;
/// Readings nearer than this are always judged, m; else the limit is two head lengths.
const LEAST_LIMIT_M: f64 = 0.3;

/// Drops spikes and flags steps in readings in order of the counter.
pub(super) fn sort_out(
    readings: &mut Vec<Reading>,
    spacing_m: f64,
    head_length_m: f64,
    resolution_rad: f64,
    record: &mut Record,
) {
    if spacing_m > (2.0 * head_length_m).max(LEAST_LIMIT_M) {
        return;
    }
    let tilts: Vec<f64> = readings.iter().map(|r| r.tilt_rad).collect();
    let apart = signs_apart(&tilts, window(spacing_m, head_length_m), resolution_rad);
    let mut at = 0;
    let mut spike = vec![false; readings.len()];
    for run in apart.chunk_by(|a, b| a == b) {
        let odd = run.first().is_some_and(|s| *s != 0);
        let members = readings.iter_mut().zip(&mut spike).skip(at).take(if odd { run.len() } else { 0 });
        for (reading, spike) in members {
            if run.len() == 1 {
                *spike = true;
            } else {
                reading.weight = STEP_WEIGHT;
                reading.odd = true;
                record.note(reading.index, Cause::Step);
            }
        }
        at += run.len();
    }
    let mut spike = spike.into_iter();
    walk::take_out(readings, record, |_| spike.next().unwrap_or(false).then_some(Cause::Spike));
}

/// Odd number of neighbours that spans two head lengths.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a small range before the cast")]
fn window(spacing_m: f64, head_length_m: f64) -> usize {
    let heads = (head_length_m / spacing_m).ceil().clamp(0.0, MOST_WINDOW as f64) as usize;
    (2 * heads + 1).clamp(LEAST_WINDOW, MOST_WINDOW)
}

/// +1 for a reading apart above, -1 below, 0 for the others.
fn signs_apart(tilts: &[f64], window: usize, resolution_rad: f64) -> Vec<i8> {
    let before = medians_before(tilts.iter().copied(), window);
    let mut after = medians_before(tilts.iter().rev().copied(), window);
    after.reverse();
    let sides = || before.iter().zip(&after).zip(tilts).map(|((l, r), x)| (l.zip(*r), *x));
    let mut deviations: Vec<f64> = sides().filter_map(|(s, x)| s.map(|(l, r)| (x - 0.5 * (l + r)).abs())).collect();
    if deviations.is_empty() {
        return vec![0; tilts.len()];
    }
    // 0.6745 is the median of |z| for a standard normal z, 1.645 its nine-tenths quantile: where the median sticks to steps
    // of the display the larger of the two is taken, which stands a tenth of odd readings.
    let mut spread_rad = math::median(&mut deviations) / 0.6745;
    if resolution_rad > COARSE * spread_rad {
        deviations.sort_by(f64::total_cmp);
        spread_rad = spread_rad.max(math::quantile(&deviations, 0.9) / 1.645);
    }
    let threshold_rad = (THRESHOLD * spread_rad).max(THRESHOLD_STEPS * resolution_rad).max(LEAST_RAD);
    sides()
        .map(|(s, x)| match s {
            Some((l, r)) if l.abs() > DROP_RAD || r.abs() > DROP_RAD => 0,
            Some((l, r)) if x > l.max(r) + threshold_rad => 1,
            Some((l, r)) if x < l.min(r) - threshold_rad => -1,
            _ => 0,
        })
        .collect()
}

/// Median of the up to `window` values before each; none before the first.
fn medians_before(values: impl Iterator<Item = f64>, window: usize) -> Vec<Option<f64>> {
    let mut in_order = alloc::collections::VecDeque::with_capacity(window + 1);
    let mut sorted: Vec<f64> = Vec::with_capacity(window + 1);
    values
        .map(|x| {
            let median = middle(&sorted);
            if in_order.len() == window
                && let Some(oldest) = in_order.pop_front()
            {
                // Found again by the same order it was put in by.
                if let Ok(place) = sorted.binary_search_by(|v: &f64| v.total_cmp(&oldest)) {
                    sorted.remove(place);
                }
            }
            in_order.push_back(x);
            sorted.insert(sorted.partition_point(|v| v.total_cmp(&x).is_lt()), x);
            median
        })
        .collect()
}

/// Median of sorted values.
fn middle(sorted: &[f64]) -> Option<f64> {
    let n = sorted.len();
    let upper = *sorted.get(n / 2)?;
    if n % 2 == 1 { Some(upper) } else { Some(0.5 * (sorted.get(n / 2 - 1)? + upper)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn medians_are_those_of_the_values_before() {
        let x = [3.0, 1.0, 2.0, 9.0, 2.0, 0.0];
        let m = medians_before(x.into_iter(), 3);
        assert_eq!(m, [None, Some(3.0), Some(2.0), Some(2.0), Some(2.0), Some(2.0)]);
    }

    #[test]
    fn kink_ramp_and_riser_are_not_apart() {
        let kink: Vec<f64> = (0..40).map(|i| if i < 20 { 0.02 } else { -0.05 }).collect();
        let ramp: Vec<f64> = (0..40).map(|i| 0.01 * f64::from(i)).collect();
        let riser: Vec<f64> = [1.4, 1.5, 1.3, 1.45, 1.2, 0.9, 1.0, 0.4, 0.1].into_iter().chain([0.02; 30]).collect();
        for x in [kink, ramp, riser] {
            assert!(signs_apart(&x, 7, 0.0).iter().all(|s| *s == 0), "{x:?}");
        }
    }

    #[test]
    fn one_apart_and_three_in_a_row_have_their_signs() {
        let mut x = vec![0.02; 40];
        x[10] = -0.2;
        x[20..23].fill(0.1);
        let s = signs_apart(&x, 7, 0.0);
        assert_eq!(s[10], -1);
        assert_eq!(s[20..23], [1, 1, 1]);
        assert_eq!(s.iter().filter(|s| **s != 0).count(), 4);
    }
}
