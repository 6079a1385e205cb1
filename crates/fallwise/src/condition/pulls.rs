//! Whether what was read while pulling back is tied to the push well enough to be used.
//!
//! A pulled head is dragged flat where a pushed one is lifted: it has a seating offset of its own. So its readings are
//! never mixed with those of the push but make a setup of their own, with the same zero error; the adjustment learns from
//! both. That takes a known slack (else the stations are not known), a display fine enough to show other errors than the
//! push did, and a difference between the two that their seating can explain.

use super::{Reading, Site};
use crate::prelude::*;
use crate::{
    math, said,
    units::{Part, Said},
};

/// Fewer pulled readings are not worth a setup. Our choice.
const LEAST_READINGS: usize = 20;
/// Less noise than this many steps does not average rounding out: the pull shows the same rounding again.
const LEAST_NOISE_STEPS: f64 = 0.3;
/// The two may differ by so many standard deviations of what is known of their seating. Our choice.
const MOST_SDS: f64 = 3.0;

/// Why the pulled readings cannot be used; `None` where they can.
pub(super) fn unusable(
    push: &[Reading],
    pull: &[Reading],
    slack_known: bool,
    site: &Site<'_>,
    noise_sd_rad: f64,
) -> Option<Said> {
    if pull.len() < LEAST_READINGS {
        return Some(said!("too few"));
    }
    if !slack_known {
        return Some(said!("the slack of the cable is not known and the slope does not change enough to find it"));
    }
    if noise_sd_rad < LEAST_NOISE_STEPS * site.resolution_rad {
        return Some(said!("at steps this coarse they would show the rounding of the push once more"));
    }
    let Some((difference_rad, sd_rad)) = difference(push, pull, noise_sd_rad) else {
        return Some(said!("they share no ground with the push"));
    };
    let seating_rad = site.instrument.seating_sd_rad;
    let limit_rad = MOST_SDS * (2.0 * seating_rad * seating_rad + sd_rad * sd_rad).sqrt();
    (difference_rad.abs() > limit_rad).then(|| {
        said!(
            "they differ from the push by {off} degrees, more than seating explains ({limit} degrees at most)",
            off = Part::Number(difference_rad.to_degrees(), 2),
            limit = Part::Number(limit_rad.to_degrees(), 2)
        )
    })
}

/// Median difference of the pulled readings from the pushed ones at their places, and its standard deviation, rad.
fn difference(push: &[Reading], pull: &[Reading], noise_rad: f64) -> Option<(f64, f64)> {
    let mut differences: Vec<f64> = pull
        .iter()
        .filter_map(|r| {
            let after = push.partition_point(|p| p.along_m < r.along_m);
            let (a, b) = (push.get(after.checked_sub(1)?)?, push.get(after)?);
            let share = (r.along_m - a.along_m) / (b.along_m - a.along_m);
            Some(r.tilt_rad - a.tilt_rad - share * (b.tilt_rad - a.tilt_rad))
        })
        .collect();
    if differences.len() < LEAST_READINGS {
        return None;
    }
    let n = differences.len() as f64;
    // A median of n normal differences of two readings: sqrt(pi/2) of the mean's sd.
    Some((math::median(&mut differences), noise_rad * (core::f64::consts::PI / n).sqrt()))
}
