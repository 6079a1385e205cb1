//! Readings that stand still while the head moves: a frozen sensor, and one pinned at its limit.
//!
//! A display of coarse steps repeats itself rightly. What tells is how the rest of this log flickers: with noise s before
//! rounding to steps of q, a reading repeats the one before it with a probability of at most p = 2 Φ(q / 2s) - 1 (the true
//! value in the middle of a step). A stretch of n equal readings is stuck if p to the power of n - 1 times the number of
//! readings is below 1e-6, and it is longer than 1 m (0.3 m at the log's greatest or least value: pinned). Steps of more
//! than 1.5 times the noise are not judged: readings that flicker between two steps look like noise of up to 0.48 q, however
//! small the noise. (Our choice throughout.)
//!
//! A frozen reading says nothing and is left out but for the first. A pinned one says that the pipe is at least as steep:
//! it stays, with a warning. (With less weight, the readings that noise kept below the limit would draw the slope further
//! down.)

use super::{
    Reading,
    record::{Cause, Record},
    resolution, walk,
};
use crate::prelude::*;
use crate::{
    math,
    model::Run,
    said,
    units::{Part, Said},
};

/// Shorter stretches are not called frozen, m.
const FROZEN_M: f64 = 1.0;
/// Nor pinned, m.
const PINNED_M: f64 = 0.3;
/// A false alarm in so many logs, as far as noise is normal and independent.
const FALSE_ALARM: f64 = 1e-6;
/// Steps of more than so many sds of noise are not judged.
const COARSE_SDS: f64 = 1.5;
/// The rest of the log must be at least this part of it to show how it flickers.
const LEAST_REST: f64 = 0.25;
/// Fewer equal readings are never judged.
const LEAST_READINGS: usize = 5;

/// Leaves out frozen readings and flags pinned ones, in order of the log.
pub(super) fn sort_out(
    readings: &mut Vec<Reading>,
    run: &Run,
    resolution_rad: f64,
    record: &mut Record,
    warnings: &mut Vec<Said>,
) {
    let stretches = equal_stretches(readings);
    if stretches.is_empty() {
        return;
    }
    let Some(least) = least_readings(readings, &stretches, resolution_rad) else { return };
    let extreme = |pick: fn(f64, f64) -> f64| readings.iter().map(|r| r.tilt_rad).reduce(pick).unwrap_or(0.0);
    let (low, high) = (extreme(f64::min), extreme(f64::max));
    let mut frozen = vec![false; readings.len()];
    for stretch in stretches.iter().filter(|s| s.moves + 1 >= least) {
        let (Some(first), Some(last)) = (readings.get(stretch.from).copied(), readings.get(stretch.to - 1)) else {
            continue;
        };
        let ends = [run.station_m(first.along_m), run.station_m(last.along_m)];
        let (from_m, to_m) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
        let degrees = first.tilt_rad.abs().to_degrees();
        if first.tilt_rad == low || first.tilt_rad == high {
            warnings.push(said!(
                "from {from} m to {to} m the readings are pinned at {tilt} degrees, the sensor's limit: the pipe is at \
                 least as steep there, and slope and fall across it are limits, not figures",
                from = Part::Number(from_m, 2),
                to = Part::Number(to_m, 2),
                tilt = Part::Number(degrees, 1)
            ));
            for r in readings.iter_mut().take(stretch.to).skip(stretch.from) {
                r.odd = true;
                record.note(r.index, Cause::Pinned);
            }
        } else if stretch.length_m > FROZEN_M {
            warnings.push(said!(
                "from {from} m to {to} m the sensor was frozen at {tilt} degrees: nothing was measured there",
                from = Part::Number(from_m, 2),
                to = Part::Number(to_m, 2),
                tilt = Part::Number(degrees, 2)
            ));
            frozen.iter_mut().take(stretch.to).skip(stretch.from + 1).for_each(|f| *f = true);
        }
    }
    let mut frozen = frozen.into_iter();
    walk::take_out(readings, record, |_| frozen.next().unwrap_or(false).then_some(Cause::Frozen));
}

/// Readings `from` to before `to`, all of one value.
struct Stretch {
    from: usize,
    to: usize,
    /// Readings at another place than the one before: a dwell repeats itself rightly.
    moves: usize,
    /// Way of the head over them, m.
    length_m: f64,
}

/// Stretches of equal readings longer than [`PINNED_M`].
fn equal_stretches(readings: &[Reading]) -> Vec<Stretch> {
    let mut from = 0;
    let mut stretches = Vec::new();
    for same in readings.chunk_by(|a, b| a.tilt_rad == b.tilt_rad) {
        let to = from + same.len();
        let moves = || same.iter().zip(same.iter().skip(1)).map(|(a, b)| (b.along_m - a.along_m).abs());
        let length_m = moves().sum();
        let moves = moves().filter(|m| *m > 0.0).count();
        if length_m > PINNED_M && moves + 1 >= LEAST_READINGS {
            stretches.push(Stretch { from, to, moves, length_m });
        }
        from = to;
    }
    stretches
}

/// How many equal readings cannot be chance; `None` where this log does not tell.
fn least_readings(readings: &[Reading], stretches: &[Stretch], resolution_rad: f64) -> Option<usize> {
    // Behind a display the noise is that of all readings: what lies between the equal stretches is just where it flickers.
    // Without one, equal readings say nothing of noise.
    let noise_rad = if resolution_rad > 0.0 {
        resolution::noise_before_rounding_rad(readings, resolution_rad)?
    } else {
        let rest = between(readings, stretches);
        if (rest.len() as f64) < LEAST_REST * readings.len() as f64 {
            return None;
        }
        resolution::noise_before_rounding_rad(&rest, 0.0)?
    };
    if noise_rad <= 0.0 || resolution_rad > COARSE_SDS * noise_rad {
        return None;
    }
    let repeats = 2.0 * math::normal_cdf(0.5 * resolution_rad / noise_rad) - 1.0;
    let least = math::ln(FALSE_ALARM / readings.len() as f64) / math::ln(repeats);
    // Without rounding nothing repeats: the logarithm of 0 makes `least` 0.
    (LEAST_READINGS..=readings.len()).find(|n| (*n - 1) as f64 >= least)
}

/// Readings in none of the stretches.
fn between(readings: &[Reading], stretches: &[Stretch]) -> Vec<Reading> {
    let starts = core::iter::once(0).chain(stretches.iter().map(|s| s.to));
    let ends = stretches.iter().map(|s| s.from).chain([readings.len()]);
    starts.zip(ends).flat_map(|(from, to)| readings.get(from..to).unwrap_or_default()).copied().collect()
}
