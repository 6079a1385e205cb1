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
fn sentences_say_can_hold_and_never_holds() {
    let said = |estimates: &[PoolEstimate]| sentence(&estimates[0], Words::Uk);
    let sure = said(&estimates(&[0.009, 0.010, 0.011], None, &[]));
    assert!(sure.contains("can hold water 10 mm deep (95 % interval 9 mm to 11 mm)"), "{sure}");
    let unsure = said(&estimates(&[-0.009, 0.010, 0.011], None, &[]));
    assert!(unsure.contains("can hold water at most 11 mm deep and at most"), "{unsure}");
    let trap = said(&estimates(&[0.009, 0.010, 0.011], None, &[(1.5, 3.0)]));
    assert!(trap.ends_with("This is the water of a trap and is intended."), "{trap}");
    let backwater = said(&estimates(&[0.009, 0.010, 0.011], Some(0.04), &[]));
    assert!(backwater.contains("is backwater from the outlet"), "{backwater}");
    let mut bound = estimates(&[0.009, 0.010, 0.011], None, &[]);
    bound[0].pool.as_mut().unwrap().sill_is_last_point = true;
    assert!(said(&bound).contains("at least 10 mm"), "{}", said(&bound));
    for text in [sure, unsure, trap, backwater, said(&bound)] {
        assert!(!text.contains("holds water"), "{text}");
    }
}
