use super::*;
use crate::{Bore, Flow, Profile, pool::from_draws};

/// A 10 mm belly, or less, held at station 3.
fn drain(sill_m: f64) -> Profile {
    Profile {
        station_m: vec![0.0, 2.0, 3.0, 4.0],
        height_m: vec![0.04, 0.0, sill_m, -0.02],
        tilt_rad: vec![0.02, -sill_m, 0.03],
        reach: vec![0, 0, 0],
        scale: 1.0,
    }
}

fn estimates(sills: &[f64], tailwater_m: Option<f64>, traps: &[(f64, f64)]) -> Vec<PoolEstimate> {
    let draws: Vec<Profile> = sills.iter().map(|sill| drain(*sill)).collect();
    let bores = [Some(Bore::Circle { diameter_m: 0.1 })];
    from_draws(&drain(0.01), &draws[..], &bores, Flow::Increasing, tailwater_m, traps, 0.003)
}

#[test]
fn rows_carry_the_figures() {
    let found = estimates(&[0.009, 0.010, 0.011], None, &[]);
    let row = &pool_rows(&found, Words::Us)[0];
    let pool = found[0].pool.as_ref().unwrap();
    assert_eq!((row.number, row.state.as_str(), row.exists_probability), (1, "found", Some(1.0)));
    assert_eq!(
        (row.from_m, row.to_m, row.depth_m, row.volume_m3),
        (pool.from_m, pool.to_m, pool.depth_m, pool.volume_m3)
    );
    assert!(row.depth_low_m < Some(row.depth_m) && row.volume_high_m3 > row.volume_m3);
}

#[test]
fn a_stretch_that_only_draws_fill_has_no_sill() {
    let dry = drain(-0.005); // falls all the way
    let wet: Vec<Profile> = (0..10).map(|i| drain(if i == 0 { 0.01 } else { -0.005 })).collect();
    let bores = [Some(Bore::Circle { diameter_m: 0.1 })];
    let found = from_draws(&dry, &wet[..], &bores, Flow::Increasing, None, &[], 0.003);
    let row = &pool_rows(&found, Words::Uk)[0];
    assert_eq!((row.state.as_str(), row.exists_probability, row.sill_station_m), ("possible", Some(0.1), None));
    assert_eq!((row.depth_m, row.volume_m3, row.depth_low_m, row.from_m, row.to_m), (0.0, Some(0.0), None, 0.0, 4.0));
}
