use super::*;

#[test]
fn new_refuses_what_is_no_chain() {
    assert!(matches!(Chain::new(vec![], vec![]), Err(Error::TooFew { .. })));
    assert!(matches!(Chain::new(vec![1.0], vec![]), Err(Error::TooFew { .. })));
    assert!(matches!(Chain::new(vec![0.0, 1.0], vec![]), Err(Error::Length { .. })));
    assert!(matches!(Chain::new(vec![0.0, 0.0], vec![0.1]), Err(Error::Value { index: Some(1), .. })));
    assert!(matches!(Chain::new(vec![0.0, f64::NAN], vec![0.1]), Err(Error::Value { index: Some(1), .. })));
    assert!(matches!(Chain::new(vec![0.0, 1.0], vec![1.6]), Err(Error::Value { index: Some(0), .. })));
    assert!(Chain::new(vec![0.0, 1.0], vec![core::f64::consts::FRAC_PI_2]).is_ok());
}

#[test]
fn raw_meets_half_way() {
    let chain = Chain::raw(&[1.0, 2.0, 4.0], &[0.1, 0.2, 0.3]).unwrap();
    assert_eq!(chain, Chain { breaks_m: vec![1.0, 1.5, 3.0, 4.0], tilt_rad: vec![0.1, 0.2, 0.3] });
    assert!(matches!(Chain::raw(&[1.0], &[0.1]), Err(Error::TooFew { needed: 2, .. })));
    assert!(matches!(Chain::raw(&[1.0, 2.0], &[0.1]), Err(Error::Length { .. })));
    assert!(matches!(Chain::raw(&[2.0, 1.0], &[0.1, 0.1]), Err(Error::Value { .. })));
    // Neighbouring numbers have no number half way: an error, not a segment without length.
    assert!(Chain::raw(&[1.0, 1.0 + f64::EPSILON], &[0.1, 0.1]).is_err());
}

#[test]
fn given_takes_weighted_means() {
    let station = [0.0, 1.0, 2.0, 3.0, 4.0, 9.0];
    let tilt = [0.1, 0.2, 0.4, 0.5, 0.7, 1.5];
    let weight = [1.0, 3.0, 1.0, 0.0, 1.0, 1.0];
    let chain = Chain::given(&station, &tilt, &weight, &[0.0, 2.0, 4.0]).unwrap();
    // A reading on a break goes to the segment after it, one on the last end to the last; 9 m lies outside.
    assert!((chain.tilt_rad[0] - 0.175).abs() < 1e-15 && (chain.tilt_rad[1] - 0.55).abs() < 1e-15); // an ulp or so
    assert_eq!(chain.ranges(&station), [0..2, 2..5]);
    let means = chain.means(&station, &tilt, &weight).unwrap();
    assert_eq!((means[1].count, means[1].weight, means[1].readings.clone()), (2, 2.0, 2..5));
    let gap = Chain::given(&station, &tilt, &weight, &[0.0, 2.5, 3.5, 4.0]);
    assert_eq!(gap, Err(Error::NoReading { from_m: 2.5, to_m: 3.5 }));
    assert!(Chain::given(&station, &tilt, &weight, &[]).is_err());
    assert!(Chain::given(&station, &tilt, &[1.0; 5], &[0.0, 2.0]).is_err());
    assert!(Chain::given(&station, &tilt, &[-1.0; 6], &[0.0, 2.0]).is_err());
    assert!(Chain::given(&[], &[], &[], &[0.0, 2.0]).is_err());
}

#[test]
fn fitted_breaks_lie_between_readings() {
    let station: Vec<f64> = (0..20).map(f64::from).collect();
    let tilt: Vec<f64> = (0..20).map(|i| if i < 8 { 0.1 } else { 0.2 } + 0.001 * f64::from(i % 2)).collect();
    let mut weight = vec![1.0; 20];
    let (chain, fit) = Chain::fitted(&station, &tilt, &weight, &[], &FitOptions::default()).unwrap();
    assert_eq!(chain.breaks_m, [0.0, 7.5, 19.0]);
    assert_eq!(fit.starts, [0, 8]);
    assert_eq!(chain.tilt_rad, fit.means);
    // Readings without weight: at the ends they are spanned, at the break it lies half way between those with weight.
    for i in [0, 7, 8, 9, 19] {
        weight[i] = 0.0;
    }
    let (chain, fit) = Chain::fitted(&station, &tilt, &weight, &[], &FitOptions::default()).unwrap();
    assert_eq!(chain.breaks_m, [0.0, 8.0, 19.0]);
    assert_eq!(fit.starts, [0, 10]);
    // A hard break stays where it is put, and a reading on it comes after it.
    let (chain, fit) = Chain::fitted(&station, &tilt, &weight, &[3.0, 12.25], &FitOptions::default()).unwrap();
    assert_eq!(chain.breaks_m, [0.0, 3.0, 8.0, 12.25, 19.0]);
    assert_eq!(fit.starts, [0, 3, 10, 13]);
}

#[test]
fn fitted_refuses_what_cannot_be_fitted() {
    let (station, tilt, weight) = ([0.0, 1.0, 2.0, 3.0], [0.1; 4], [1.0, 0.0, 0.0, 1.0]);
    let fitted = |hard: &[f64]| Chain::fitted(&station, &tilt, &weight, hard, &FitOptions::default());
    assert!(fitted(&[0.5]).is_ok());
    assert!(matches!(fitted(&[0.0]), Err(Error::Outside { .. })));
    assert!(matches!(fitted(&[3.0]), Err(Error::Outside { .. })));
    assert!(matches!(fitted(&[2.0, 1.0]), Err(Error::Value { .. })));
    assert!(matches!(fitted(&[f64::NAN]), Err(Error::Value { .. })));
    assert_eq!(fitted(&[0.5, 2.5]).unwrap_err(), Error::NoReading { from_m: 0.5, to_m: 2.5 });
    let none = Chain::fitted(&station, &tilt, &[0.0; 4], &[], &FitOptions::default());
    assert_eq!(none.unwrap_err(), Error::NoReading { from_m: 0.0, to_m: 3.0 });
    assert!(Chain::fitted(&[0.0], &[0.1], &[1.0], &[], &FitOptions::default()).is_err());
}
