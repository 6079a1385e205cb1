//! Lag: what the head shows is what it sensed a moment before.
//!
//! An inclinometer is smoothed, so that its reading follows the pipe late. A reading belongs to where the head was
//! [`Instrument::lag_s`](crate::Instrument::lag_s) before: while the head goes steadily, so far behind; after a stop or a
//! turn of the cable, where it stood or came from. So push and pull, which a lag lays apart by twice its way, agree again.
//!
//! The counter is taken straight over time between readings. Before the log begins the head is taken to have stood where it
//! begins. Several readings of one second, as clocks of whole seconds log them, are spread evenly up to the next. A smoothing
//! filter does not only delay but also blurs; of one of the first order the delay is its time constant, and the blur, its way
//! long, stays. (Common practice, no source; one delay for all is our choice.)
//!
//! The slack of the cable is taken up after it: what the head does with the slack does not depend on speed, so that the two may
//! be exchanged.

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

/// Moves the readings of a log, in its order and all there, to where the head was before.
pub(super) fn put_right(
    log: &mut [Reading],
    run: &Run,
    lag_s: Option<f64>,
    record: &mut Record,
    warnings: &mut Vec<Said>,
) {
    let Some(lag_s) = lag_s.filter(|lag_s| *lag_s > 0.0) else { return };
    let usable = run.time_s.as_deref().filter(|time_s| time_s.is_sorted());
    let Some(time_s) = usable else {
        let lag = Part::Exact(lag_s);
        warnings.push(if run.time_s.is_some() {
            said!("the lag of the readings, {lag} s, is not used: the time of the log goes back", lag = lag)
        } else {
            said!("the lag of the readings, {lag} s, is not used: the log has no time", lag = lag)
        });
        return;
    };
    let along_m: Vec<f64> = log.iter().map(|r| r.along_m).collect();
    let mut places = places_m(&spread(time_s), &along_m, lag_s).into_iter();
    walk::move_to(log, record, Cause::Lag, |r| places.next().unwrap_or(r.along_m));
}

/// Where the head was so long before each of `time_s`, which do not go back; straight between them.
fn places_m(time_s: &[f64], along_m: &[f64], lag_s: f64) -> Vec<f64> {
    let mut after = 0;
    time_s
        .iter()
        .map(|now_s| {
            let then_s = now_s - lag_s;
            while time_s.get(after).is_some_and(|t| *t < then_s) {
                after += 1;
            }
            let at = |i: usize| Some((*time_s.get(i)?, *along_m.get(i)?));
            match (after.checked_sub(1).and_then(at), at(after)) {
                (Some((t0, m0)), Some((t1, m1))) if t1 > t0 => m0 + (m1 - m0) * ((then_s - t0) / (t1 - t0)),
                (_, Some((_, m))) | (Some((_, m)), None) => m,
                (None, None) => 0.0,
            }
        })
        .collect()
}

/// Equal times spread evenly up to the next; the last ones as close as those before them.
fn spread(time_s: &[f64]) -> Vec<f64> {
    let mut spread = Vec::with_capacity(time_s.len());
    let mut tick_s = 0.0;
    for same in time_s.chunk_by(|a, b| a == b) {
        let Some(&start_s) = same.first() else { continue };
        if let Some(next_s) = time_s.get(spread.len() + same.len()) {
            tick_s = next_s - start_s;
        }
        spread.extend((0..same.len()).map(|i| start_s + tick_s * (i as f64 / same.len() as f64)));
    }
    spread
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reading_is_where_the_head_was() {
        // Out by 1 m/s, a stop of a second, back again.
        let time_s = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0];
        let along_m = [0.0, 1.0, 2.0, 2.0, 1.0, 0.0];
        assert_eq!(places_m(&time_s, &along_m, 0.25), [0.0, 0.75, 1.75, 2.0, 1.25, 0.25]);
        // Longer than from one reading to the next, and than the whole log.
        assert_eq!(places_m(&time_s, &along_m, 1.5), [0.0, 0.0, 0.5, 1.5, 2.0, 1.5]);
        assert_eq!(places_m(&time_s, &along_m, 60.0), [0.0; 6]);
        assert_eq!(places_m(&time_s, &along_m, 0.0), along_m);
    }

    #[test]
    fn readings_of_one_second_are_spread_over_it() {
        assert_eq!(spread(&[0.0, 0.0, 1.0, 1.0, 1.0, 1.0, 3.0, 3.0]), [0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0]);
        assert_eq!(spread(&[0.0, 0.25, 0.5]), [0.0, 0.25, 0.5]);
        assert_eq!(spread(&[7.0, 7.0]), [7.0, 7.0]);
    }
}
