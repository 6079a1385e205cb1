use super::*;
use crate::pool::small_belly::estimates;

#[test]
fn sentences_say_can_hold_and_never_holds() {
    let said = |estimates: &[PoolEstimate]| sentence(&estimates[0], Words::Uk).to_string();
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
    assert!(said(&bound).contains(", as far as it was surveyed. Beyond the last"), "{}", said(&bound));
    for text in [sure, unsure, trap, backwater, said(&bound)] {
        assert!(!text.contains("holds water"), "{text}");
    }
}
