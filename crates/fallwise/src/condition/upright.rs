//! Readings near and beyond upright, where a head goes down a riser.

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
use core::f64::consts::{FRAC_PI_2, FRAC_PI_4};

/// Nearer to upright than this a sensor may turn its sign over, rad: 60 degrees. Our choice.
const NEAR_RAD: f64 = core::f64::consts::PI / 3.0;
/// A steep start shorter than this is the edge of an opening, m. Our choice.
const RISER_M: f64 = 0.3;

/// Takes out readings of more than 90 degrees: the head past upright, or a sensor that tumbles; no tilt of a pipe.
pub(super) fn leave_out_beyond(readings: &mut Vec<Reading>, record: &mut Record) {
    walk::take_out(readings, record, |r| (r.tilt_rad.abs() > FRAC_PI_2).then_some(Cause::BeyondUpright));
}

/// Takes out readings near upright, in order of the log, whose sign is against most of those with them: past upright
/// some sensors fold to the other side. (One that shows 180 degrees less the tilt does no harm: its sine is the same.)
pub(super) fn leave_out_folded(readings: &mut Vec<Reading>, record: &mut Record) {
    let near = |r: &Reading| r.tilt_rad.abs() > NEAR_RAD;
    let mut folded = vec![false; readings.len()];
    let mut at = 0;
    for stretch in readings.chunk_by(|a, b| near(a) == near(b)) {
        let up = stretch.iter().filter(|r| r.tilt_rad < 0.0).count();
        let down = stretch.len() - up;
        if stretch.first().is_some_and(near) && up > 0 && down > 0 {
            for (r, folded) in stretch.iter().zip(folded.iter_mut().skip(at)) {
                *folded = (r.tilt_rad < 0.0) == (up < down);
            }
        }
        at += stretch.len();
    }
    let mut folded = folded.into_iter();
    walk::take_out(readings, record, |_| folded.next().unwrap_or(false).then_some(Cause::Folded));
}

/// Says where the foot of a riser is that the run starts down; readings in order of the counter.
pub(super) fn warn_of_riser(readings: &[Reading], run: &Run, warnings: &mut Vec<Said>) {
    let foot = readings.iter().position(|r| r.tilt_rad.abs() <= FRAC_PI_4);
    if let (Some(first), Some(foot)) = (readings.first(), foot.and_then(|at| readings.get(at)))
        && foot.along_m - first.along_m > RISER_M
    {
        warnings.push(said!(
            "the run starts down a riser, steeper than 45 degrees; its foot, where the surveyed reach begins, is at \
             {at} m",
            at = Part::Number(run.station_m(foot.along_m), 2)
        ));
    }
}
