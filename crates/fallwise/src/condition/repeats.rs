//! Readings of one place put together, so that dwelling is not many readings.
//!
//! A camera that stands and looks repeats one reading, correlated noise, seating and all; a second pass sees the same
//! roughness. So the combined reading is the mean of its members with the weight of *one*, however many there were: the
//! simple effective number, too cautious where the noise is white. (The other would be n_eff from the correlation of the
//! noise in time, which a log of one dwell cannot tell from its correlation along the pipe. Our choice.)

use super::{
    Reading,
    record::{Cause, Record},
    walk,
};
use crate::prelude::*;

/// Readings this near are of one place, m: less than counters resolve.
pub(super) const SAME_PLACE_M: f64 = 0.005;

/// Combines readings in order of the counter: those within 5 mm, and those of different passes within half a usual
/// spacing (at most half a head). Stations of the result lie at least 2.5 mm apart.
pub(super) fn combine(readings: &[Reading], spacing_m: f64, head_length_m: f64, record: &mut Record) -> Vec<Reading> {
    let bin_m = 0.5 * spacing_m.min(head_length_m);
    let together = |rest: &[Reading]| {
        let Some(first) = rest.first() else { return 0 };
        let here = |r: &&Reading| {
            let apart_m = r.along_m - first.along_m;
            apart_m <= SAME_PLACE_M || (apart_m <= bin_m && r.pass != first.pass)
        };
        rest.iter().take_while(here).count()
    };
    walk::combine(readings, record, together, mean)
}

/// The group as one reading, half-way between its ends.
fn mean(group: &[Reading], record: &mut Record) -> Reading {
    let (Some(first), Some(last)) = (group.first(), group.last()) else { return Reading::at(0) };
    let cause = if group.iter().all(|r| r.pass == first.pass) { Cause::Repeat } else { Cause::OtherPass };
    let mut by_weight = (0.0, 0.0);
    let mut plain = 0.0;
    for r in group {
        record.note(r.index, cause);
        by_weight = (by_weight.0 + r.weight * r.tilt_rad, by_weight.1 + r.weight);
        plain += r.tilt_rad;
    }
    Reading {
        index: group.iter().map(|r| r.index).min().unwrap_or(first.index),
        along_m: 0.5 * (first.along_m + last.along_m),
        tilt_rad: if by_weight.1 > 0.0 { by_weight.0 / by_weight.1 } else { plain / group.len() as f64 },
        weight: group.iter().map(|r| r.weight).fold(0.0, f64::max),
        odd: group.iter().all(|r| r.odd),
        ..*first
    }
}
