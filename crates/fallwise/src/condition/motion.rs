//! Readings in motion against readings at rest: 0.1 m/s² reads as 0.58 degrees.
//!
//! At rest is what the log says so of, else, where time is logged, a reading at the place of the one before. Both kinds
//! are compared from place to place: within one dwell the noise that goes with the place stands still. Where there are at
//! least 30 places of each kind no further apart than is usual, and the variance in motion is at least twice that at rest
//! (an F of 30 and 30 is beyond that in 3 % of logs), readings in motion weigh by the ratio of the two. Else all weigh
//! alike, and the noise estimated is that of them all. (Our choice.)

use super::{
    Reading,
    record::{Cause, Record},
    repeats::SAME_PLACE_M,
};
use crate::prelude::*;
use crate::{math, model::Run};

/// Fewer places of a kind say nothing of its noise.
const LEAST_PLACES: usize = 30;
/// Places further apart than this many usual spacings differ by the shape of the pipe.
const NEAR_SPACINGS: f64 = 6.0;
/// A smaller ratio of the variances may be chance.
const LEAST_RATIO: f64 = 2.0;
/// No reading weighs less for motion.
const LEAST_WEIGHT: f64 = 1.0 / 16.0;

/// Takes weight from readings in motion; readings in order of the counter.
pub(super) fn weigh(readings: &mut [Reading], run: &Run, spacing_m: f64, resolution_rad: f64, record: &mut Record) {
    let at_rest = at_rest(run);
    let rests = |r: &Reading| at_rest.get(r.index).copied().unwrap_or(false);
    let variance = |rest: bool| {
        let places = places(readings.iter().filter(|r| rests(r) == rest && r.weight >= 1.0), spacing_m)?;
        let sd_rad = math::spread_sd(&places, &vec![1.0; places.len()], resolution_rad);
        Some((sd_rad * sd_rad).max(resolution_rad * resolution_rad / 12.0))
    };
    let (Some(still), Some(moving)) = (variance(true), variance(false)) else { return };
    if moving < LEAST_RATIO * still || moving <= 0.0 {
        return;
    }
    let weight = (still / moving).max(LEAST_WEIGHT);
    for r in readings {
        if !rests(r) {
            r.weight *= weight;
            record.note(r.index, Cause::InMotion);
        }
    }
}

/// Which readings of the run are at rest; empty where that is not known.
fn at_rest(run: &Run) -> Vec<bool> {
    if let Some(moving) = &run.moving {
        return moving.iter().map(|m| !m).collect();
    }
    if run.time_s.is_none() {
        return Vec::new();
    }
    let mut before_m = f64::NAN;
    run.counter_m
        .iter()
        .map(|&counter_m| {
            let rests = (counter_m - before_m).abs() <= SAME_PLACE_M;
            before_m = counter_m;
            rests
        })
        .collect()
}

/// Mean tilt at each place; `None` where places are few, or mostly far apart.
fn places<'a>(readings: impl Iterator<Item = &'a Reading>, spacing_m: f64) -> Option<Vec<f64>> {
    let mut means: Vec<f64> = Vec::new();
    let mut apart_m: Vec<f64> = Vec::new();
    let mut here: Option<(f64, f64, f64)> = None;
    for r in readings {
        match &mut here {
            Some((at_m, sum, count)) if r.along_m - *at_m <= SAME_PLACE_M => {
                *sum += r.tilt_rad;
                *count += 1.0;
            }
            _ => {
                if let Some((at_m, sum, count)) = here {
                    means.push(sum / count);
                    apart_m.push(r.along_m - at_m);
                }
                here = Some((r.along_m, r.tilt_rad, 1.0));
            }
        }
    }
    let near = means.len() >= LEAST_PLACES && math::median(&mut apart_m) <= NEAR_SPACINGS * spacing_m;
    near.then_some(means)
}
