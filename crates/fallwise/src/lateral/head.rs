//! The head is not a point: what it reads near a break is of both segments.

use crate::prelude::*;
use crate::{
    chain::Chain,
    math, said,
    units::{Part, Said},
};

/// No segment needs more readings than this, so that the search for them stays quick behind a very long head.
const MOST_LEAST_READINGS: usize = 64;

/// Least number of readings in a segment that is found: as many as are usual in one length of the head. It sees a break as
/// a ramp of that length, of which the fit would make short segments that the pipe does not have; a lip passing under it is
/// seen for just that long, and stays. Of longer segments fewer would be wrong, but a lip would lose its own. (Our choice;
/// the comparison is in DEVELOPERS.md.)
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a small range before the cast")]
pub(super) fn least_readings(station_m: &[f64], weight: &[f64], head_length_m: f64) -> usize {
    let seen: Vec<f64> = station_m.iter().zip(weight).filter(|(_, w)| **w > 0.0).map(|(s, _)| *s).collect();
    let mut spacings: Vec<f64> = seen.windows(2).map(|pair| pair[1] - pair[0]).collect();
    if spacings.is_empty() {
        return 1;
    }
    (head_length_m / math::median(&mut spacings)).round().clamp(1.0, MOST_LEAST_READINGS as f64) as usize
}

/// Weights of the readings of each setup for the means of the segments: none where a break lies under the head, that is
/// within half its length. The breaks were chosen in these very readings, so this comes after the fit. A segment that would
/// be left without a reading by all setups, being shorter than the head or read sparsely, keeps those it has.
pub(super) fn off_breaks(chain: &Chain, setups: &[(&[f64], &[f64])], head_length_m: f64) -> Vec<Vec<f64>> {
    let segments = chain.tilt_rad.len();
    let inner = chain.breaks_m.get(1..segments).unwrap_or_default();
    let under_head = |station_m: f64| {
        let next = inner.partition_point(|b| *b <= station_m - 0.5 * head_length_m);
        inner.get(next).is_some_and(|b| *b < station_m + 0.5 * head_length_m)
    };
    let mut left = vec![0_usize; segments];
    for (station_m, weight) in setups {
        for (left, readings) in left.iter_mut().zip(chain.ranges(station_m)) {
            *left += readings.filter(|&i| weight[i] > 0.0 && !under_head(station_m[i])).count();
        }
    }
    let thinned = |(station_m, weight): &(&[f64], &[f64])| {
        let mut thinned = weight.to_vec();
        for (_, readings) in left.iter().zip(chain.ranges(station_m)).filter(|(left, _)| **left > 0) {
            readings.filter(|&i| under_head(station_m[i])).for_each(|i| thinned[i] = 0.0);
        }
        thinned
    };
    setups.iter().map(thinned).collect()
}

/// A warning where segments shorter than two head lengths stand out from both their neighbours.
pub(super) fn damped(chain: &Chain, head_length_m: f64) -> Option<Said> {
    let tilts = chain.tilt_rad.windows(3);
    let ends = chain.breaks_m.windows(2).skip(1);
    let mut short = tilts.zip(ends).filter(|(t, ends)| {
        let stands_out = (t[1] - t[0]) * (t[1] - t[2]) > 0.0;
        stands_out && ends[1] - ends[0] < 2.0 * head_length_m
    });
    let (_, first) = short.next()?;
    let (limit, at) = (Part::Number(2.0 * head_length_m, 2), Part::Number(first[0], 2));
    Some(match 1 + short.count() {
        1 => said!(
            "a segment is shorter than two head lengths ({limit} m), at {at} m: the head bridges part of it, so a sag \
             or a hump there is more than is shown",
            limit = limit,
            at = at
        ),
        count => said!(
            "{count} segments are shorter than two head lengths ({limit} m), the first at {at} m: the head bridges part \
             of it, so a sag or a hump there is more than is shown",
            count = count,
            limit = limit,
            at = at
        ),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_segment_that_is_found_is_as_long_as_the_head() {
        let every = |spacing_m: f64| (0..41).map(|i| spacing_m * f64::from(i)).collect::<Vec<f64>>();
        for (spacing_m, least) in [(0.05, 3), (0.04, 4), (0.15, 1), (1.0, 1), (1e-4, MOST_LEAST_READINGS)] {
            assert_eq!(least_readings(&every(spacing_m), &[1.0; 41], 0.15), least, "{spacing_m}");
        }
        // Every other one has weight.
        let half: Vec<f64> = (0..41).map(|i| f64::from(u8::from(i % 2 == 0))).collect();
        assert_eq!(least_readings(&every(0.05), &half, 0.3), 3);
        assert_eq!((least_readings(&every(0.05), &[1.0; 41], 0.0), least_readings(&[1.0], &[1.0], 0.3)), (1, 1));
    }

    #[test]
    fn a_break_under_the_head_takes_the_weight_unless_nothing_is_left() {
        let chain = Chain::new(vec![0.0, 1.0, 1.1, 2.0], vec![0.02, -0.01, 0.02]).unwrap();
        let station_m: Vec<f64> = (0..21).map(|i| 0.1 * f64::from(i) + 0.01).collect();
        let weight = vec![1.0; 21];
        let thinned = off_breaks(&chain, &[(&station_m, &weight)], 0.3);
        // 0.15 m from 1.0 and from 1.1; the reading at 1.01 is all that the short segment has.
        let lost: Vec<usize> = (0..21).filter(|&i| thinned[0][i] == 0.0).collect();
        assert_eq!(lost, [9, 11, 12]);
        assert_eq!(off_breaks(&chain, &[(&station_m, &weight)], 0.0), [weight]);
        assert!(damped(&chain, 0.3).unwrap().contains("at 1.00 m"));
        assert!(damped(&chain, 0.04).is_none());
        let kink = Chain::new(vec![0.0, 1.0, 1.1, 2.0], vec![0.02, 0.01, -0.02]).unwrap();
        assert!(damped(&kink, 0.3).is_none());
    }
}
