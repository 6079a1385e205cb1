//! Whether the runs say the same of the pipe.
//!
//! Of two runs i and j over segment k the readings differ by m(k, i) - m(k, j) = s(i) b(i) - s(j) b(j) + noise: the tilt of
//! the pipe falls out. Over all segments that both saw, the mean difference D has the expectation (s(i) - s(j)) b0 and the
//! variance (s(i) - s(j))² zero_sd² + the seating, the drift and the rounding of both + that of the means. Runs that differ by more
//! than that can be are no two surveys of one pipe, and averaging them would be a figure of nothing.
//!
//! Over one segment the difference is D but for noise and for how the head lies on the bottom there. Where it is not, one of
//! the two met something that the other did not (debris, water that lifts the head), or their stations do not belong
//! together; which of them is right is not known.

use super::{SegmentMean, SetupNoise};
use crate::prelude::*;
use crate::{chain::Chain, error::Error, math, model::Instrument};

/// Runs that differ by what has less than this probability are refused: one survey in ten thousand that is right (our choice).
const LEAST_PROBABILITY: f64 = 1e-4;
/// How much two heads may differ from place to place on top of noise, rad: 0.2 degrees each, 0.35 mm over 100 mm of pipe that is
/// not quite clean (our choice).
const PLACE_SD_RAD: f64 = 0.2 * core::f64::consts::PI / 180.0;
/// Shorter segments may differ because the stations of two runs are not quite the same, m (our choice).
const LEAST_LENGTH_M: f64 = 1.0;

/// A segment on which two runs contradict each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Contradicted {
    /// Its start, m.
    pub from_m: f64,
    /// Its end, m.
    pub to_m: f64,
    /// The runs, from 0.
    pub runs: (usize, usize),
    /// By how much more they differ there than elsewhere, rad.
    pub difference_rad: f64,
}

/// The segments on which runs contradict each other, by station.
///
/// # Errors
/// [`Error::Contradiction`] for runs that differ by more than their errors allow over all that both saw.
pub fn contradicted(
    chain: &Chain,
    means: &[SegmentMean],
    setups: &[SetupNoise],
    instrument: &Instrument,
) -> Result<Vec<Contradicted>, Error> {
    // The first setup of a run is its push; a head pulled back may sit quite differently.
    let main = |i: &usize| setups.iter().take(*i).all(|other| other.run != setups[*i].run);
    let pushes: Vec<usize> = (0..setups.len()).filter(main).collect();
    let mut found = Vec::new();
    for (at, &i) in pushes.iter().enumerate() {
        for &j in &pushes[at + 1..] {
            let both = differences(means, setups, i, j);
            let precision: f64 = both.iter().map(|d| 1.0 / d.variance).sum();
            if both.is_empty() || !precision.is_finite() {
                continue;
            }
            let mean = both.iter().map(|d| d.rad / d.variance).sum::<f64>() / precision;
            let turned = setups[i].zero_sign - setups[j].zero_sign;
            let rounding = [i, j].map(|r| setups[r].rounding_sd_rad).map(|sd| sd * sd).iter().sum::<f64>();
            // The drift of each at its greatest, and the roll at its furthest apart.
            let drift = 2.0 * instrument.drift_sd_rad * instrument.drift_sd_rad;
            let rolled = both.iter().map(|d| d.roll_sine.abs()).fold(0.0, f64::max) * instrument.roll_sd_rad;
            let place = 2.0 * PLACE_SD_RAD * PLACE_SD_RAD / both.len() as f64;
            let variance = turned * turned * instrument.zero_sd_rad * instrument.zero_sd_rad
                + 2.0 * instrument.seating_sd_rad * instrument.seating_sd_rad
                + rounding
                + drift
                + rolled * rolled
                + place
                + 1.0 / precision;
            let misclosure = mean - turned * instrument.zero_rad;
            if misclosure.abs() > limit(1) * variance.sqrt() {
                return Err(Error::Contradiction {
                    runs: (setups[i].run + 1, setups[j].run + 1),
                    difference_deg: misclosure.abs().to_degrees(),
                    sd_deg: variance.sqrt().to_degrees(),
                });
            }
            let limit = limit(both.len());
            for d in &both {
                let ends = (chain.breaks_m[d.segment], chain.breaks_m[d.segment + 1]);
                let more = d.rad - mean;
                let sd = (d.variance + 2.0 * PLACE_SD_RAD * PLACE_SD_RAD).sqrt();
                if ends.1 - ends.0 >= LEAST_LENGTH_M && more.abs() > limit * sd {
                    let runs = (setups[i].run, setups[j].run);
                    found.push(Contradicted { from_m: ends.0, to_m: ends.1, runs, difference_rad: more });
                }
            }
        }
    }
    found.sort_by(|a, b| a.from_m.total_cmp(&b.from_m));
    Ok(found)
}

/// How many standard deviations are beyond the least probability, shared out over so many tests.
fn limit(tests: usize) -> f64 {
    math::normal_quantile(1.0 - 0.5 * LEAST_PROBABILITY / tests.max(1) as f64)
}

/// What one run reads more than another over a segment.
struct Difference {
    segment: usize,
    rad: f64,
    variance: f64,
    /// How much further the sine of the roll goes in the one than in the other, each as it enters.
    roll_sine: f64,
}

fn differences(means: &[SegmentMean], setups: &[SetupNoise], i: usize, j: usize) -> Vec<Difference> {
    let of = |setup: usize| means.iter().filter(move |m| m.setup == setup);
    let variance = |m: &SegmentMean| setups[m.setup].mean_variance(m.weight);
    of(i)
        .flat_map(|a| of(j).filter(|b| b.segment == a.segment).map(move |b| (a, b)))
        .map(|(a, b)| Difference {
            segment: a.segment,
            rad: a.mean_rad - b.mean_rad,
            variance: variance(a) + variance(b),
            roll_sine: setups[i].zero_sign * a.roll_sine - setups[j].zero_sign * b.roll_sine,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const DEGREE: f64 = core::f64::consts::PI / 180.0;

    /// Ten segments of 3 m, seen by two runs of the given signs, each reading `tilt(k)` in degrees.
    fn told(signs: [f64; 2], tilt: impl Fn(usize, usize) -> f64) -> Result<Vec<Contradicted>, Error> {
        let chain = Chain::new((0..=10).map(|k| 3.0 * f64::from(k)).collect(), vec![0.0; 10]).unwrap();
        let setup = |run: usize| SetupNoise {
            run,
            pulled: false,
            zero_sign: signs[run],
            noise_sd_rad: 0.25 * DEGREE,
            rounding_sd_rad: 0.0,
        };
        let mean = |k: usize, run: usize| SegmentMean {
            segment: k,
            setup: run,
            mean_rad: tilt(k, run) * DEGREE,
            weight: 60.0,
            readings: 60,
            drift_share: 0.0,
            roll_sine: 0.0,
        };
        let means: Vec<SegmentMean> = (0..10).flat_map(|k| [mean(k, 0), mean(k, 1)]).collect();
        contradicted(&chain, &means, &[setup(0), setup(1)], &Instrument::default())
    }

    #[test]
    fn runs_that_agree_within_their_errors_do() {
        // Same way: only the seatings differ, 0.1 degrees each. The other way: twice the zero of 0.3 degrees too.
        assert_eq!(told([1.0, 1.0], |k, run| k as f64 + 0.25 * run as f64), Ok(vec![]));
        assert_eq!(told([1.0, -1.0], |k, run| k as f64 + 1.2 * run as f64), Ok(vec![]));
    }

    #[test]
    fn runs_that_differ_by_more_than_they_can_are_refused() {
        for (signs, apart) in [([1.0, 1.0], 5.2), ([1.0, 1.0], 0.75), ([1.0, -1.0], 2.9)] {
            let error = told(signs, |k, run| k as f64 + apart * run as f64).unwrap_err();
            assert!(matches!(error, Error::Contradiction { runs: (1, 2), .. }), "{error}");
        }
    }

    #[test]
    fn a_stretch_on_which_they_contradict_each_other_is_named() {
        let found = told([1.0, 1.0], |k, run| if k == 4 && run == 0 { -1.7 } else { 1.7 }).unwrap();
        assert_eq!(found.len(), 1);
        assert_eq!((found[0].from_m, found[0].to_m, found[0].runs), (12.0, 15.0, (0, 1)));
    }
}
