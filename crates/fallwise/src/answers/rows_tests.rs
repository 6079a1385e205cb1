use super::*;
use crate::{
    Bore, Flow, Profile,
    pool::{
        Terms, from_draws,
        small_belly::{drain, estimates},
    },
};

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
    let found = from_draws(&dry, &wet[..], &bores, Flow::Increasing, None, Terms::default());
    let row = &pool_rows(&found, Words::Uk)[0];
    assert_eq!((row.state.as_str(), row.exists_probability, row.sill_station_m), ("possible", Some(0.1), None));
    assert_eq!((row.depth_m, row.volume_m3, row.depth_low_m, row.from_m, row.to_m), (0.0, Some(0.0), None, 0.0, 4.0));
}
