//! A drain with a small belly, for tests.

use super::{PoolEstimate, Terms, from_draws};
use crate::prelude::*;
use crate::{Bore, Flow, Profile};

/// A 10 mm belly, or less, held at station 3.
pub(crate) fn drain(sill_m: f64) -> Profile {
    Profile {
        station_m: vec![0.0, 2.0, 3.0, 4.0],
        height_m: vec![0.04, 0.0, sill_m, -0.02],
        tilt_rad: vec![0.02, -sill_m, 0.03],
        reach: vec![0, 0, 0],
        at_drop: vec![],
        scale: 1.0,
    }
}

/// Its pools, from draws with these heights of the sill, m.
pub(crate) fn estimates(sills: &[f64], tailwater_m: Option<f64>, traps: &[(f64, f64)]) -> Vec<PoolEstimate> {
    let draws: Vec<Profile> = sills.iter().map(|sill| drain(*sill)).collect();
    let bores = [Some(Bore::Circle { diameter_m: 0.1 })];
    from_draws(
        &drain(0.01),
        &draws[..],
        &bores,
        Flow::Increasing,
        tailwater_m,
        Terms { traps_m: traps, ..Terms::default() },
    )
}
