//! Readings near noted bends.

use super::{
    Reading,
    record::{Cause, Record},
};
use crate::model::Run;

/// Takes the weight from readings within a head's length of a bend, either way: there the head bridges, rolls and rides
/// up, and what it reads is no slope.
pub(super) fn weaken_near(
    readings: &mut [Reading],
    run: &Run,
    bends_m: &[f64],
    head_length_m: f64,
    record: &mut Record,
) {
    let mut bends_m = bends_m.to_vec();
    bends_m.sort_by(f64::total_cmp);
    for r in readings {
        let station_m = run.station_m(r.along_m);
        let next = bends_m.partition_point(|&b| b < station_m - head_length_m);
        if bends_m.get(next).is_some_and(|&b| b <= station_m + head_length_m) {
            r.weight = 0.0;
            record.note(r.index, Cause::NearBend);
        }
    }
}
