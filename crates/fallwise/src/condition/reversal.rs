//! The zero error of the head from a reversal check.

use super::{condition, resolution::display_step_rad};
use crate::{
    Error,
    model::{Instrument, ReversalCheck, Run, TiltPositive},
};

/// Standard deviation of the zero error after a reversal check whose readings are not rounded, rad: 0.05 degrees, from how
/// well a head can be laid twice on one spot (our choice).
pub const REVERSAL_CHECK_SD_RAD: f64 = 0.05 * core::f64::consts::PI / 180.0;

/// Standard deviation of the zero error after a reversal check on a display of whole steps of `resolution_rad`, rad: half
/// the sum of two readings, each rounded with a standard deviation of a step over √12.
pub fn reversal_check_sd_rad(resolution_rad: f64) -> f64 {
    (REVERSAL_CHECK_SD_RAD * REVERSAL_CHECK_SD_RAD + resolution_rad * resolution_rad / 24.0).sqrt()
}

/// The instrument after a reversal check.
///
/// Half the sum of the two readings is the zero error; of two readings of equal `sd` its standard deviation is sd / sqrt 2.
/// Without an `sd` it is that of [`reversal_check_sd_rad`] for the display's step: the instrument's, else the coarsest found
/// in the runs, else the coarsest that could have shown the check's own readings.
///
/// # Errors
/// Readings or a standard deviation that are not finite, a negative standard deviation; runs that differ in what they
/// show as positive, where the check does not say its own.
///
/// # Example
/// ```
/// use fallwise::{Instrument, condition::reversal_checked, model::ReversalCheck};
///
/// let degree = core::f64::consts::PI / 180.0;
/// let check =
///     ReversalCheck { first_rad: 1.4 * degree, second_rad: -0.8 * degree, sd_rad: Some(0.1 * degree), tilt_positive: None };
/// let instrument = reversal_checked(&Instrument::default(), &check, &[])?;
/// assert!((instrument.zero_rad - 0.3 * degree).abs() < 1e-15);
/// # Ok::<(), fallwise::Error>(())
/// ```
pub fn reversal_checked(instrument: &Instrument, check: &ReversalCheck, runs: &[Run]) -> Result<Instrument, Error> {
    let ReversalCheck { first_rad, second_rad, sd_rad, tilt_positive } = *check;
    let value = |field: &str, value: &dyn core::fmt::Display, expected: &str| {
        Err(Error::Value {
            field: format!("reversal_check.{field}"),
            index: None,
            value: value.to_string(),
            expected: expected.to_owned(),
        })
    };
    for (field, reading) in [("first_rad", first_rad), ("second_rad", second_rad)] {
        if !reading.is_finite() {
            return value(field, &reading, "a finite angle");
        }
    }
    if let Some(sd) = sd_rad.filter(|sd| !(sd.is_finite() && *sd >= 0.0)) {
        return value("sd_rad", &sd, "a finite angle, 0 or more");
    }
    let first_sign = runs.first().map_or(TiltPositive::Down, |r| r.tilt_positive);
    let sign = match tilt_positive {
        Some(sign) => sign,
        None if runs.iter().all(|r| r.tilt_positive == first_sign) => first_sign,
        None => {
            return value(
                "tilt_positive",
                &"no tilt_positive",
                "what the head shows as positive, since the runs differ in theirs",
            );
        }
    };
    // The zero counts looking down as positive, whatever the head shows.
    let sign = match sign {
        TiltPositive::Down => 1.0,
        TiltPositive::Up => -1.0,
    };
    let zero_sd_rad = match sd_rad {
        Some(reading_sd) => reading_sd / core::f64::consts::SQRT_2,
        None => reversal_check_sd_rad(step_rad(instrument, check, runs)),
    };
    // Halved first, so that no two readings are too large.
    let zero_rad = sign * (first_rad / 2.0 + second_rad / 2.0);
    Ok(Instrument { zero_rad, zero_sd_rad, zero_checked: true, ..instrument.clone() })
}

/// The display's step. A run that cannot be used is an error when it is solved.
fn step_rad(instrument: &Instrument, check: &ReversalCheck, runs: &[Run]) -> f64 {
    let found = |run: &Run| condition(run, instrument, &[]).map_or(0.0, |trace| trace.resolution_rad);
    let in_runs = || runs.iter().map(found).fold(0.0, f64::max);
    let own = || display_step_rad(&[check.first_rad, check.second_rad]);
    instrument.resolution_rad.or_else(|| Some(in_runs()).filter(|step| *step > 0.0)).unwrap_or_else(own)
}

#[cfg(test)]
mod tests {
    use super::*;

    const DEGREE: f64 = core::f64::consts::PI / 180.0;

    fn check(first: f64, second: f64) -> ReversalCheck {
        ReversalCheck { first_rad: first * DEGREE, second_rad: second * DEGREE, sd_rad: None, tilt_positive: None }
    }

    #[test]
    fn a_coarse_display_makes_a_coarse_check() {
        // Half the sum of two whole degrees: sqrt(0.05^2 + 1/24) degrees, little better than the 0.3 before.
        let sd = reversal_checked(&Instrument::default(), &check(2.0, -1.0), &[]).unwrap().zero_sd_rad / DEGREE;
        assert!((sd - (0.0025_f64 + 1.0 / 24.0).sqrt()).abs() < 1e-12, "{sd}"); // rounding of a handful of operations
    }

    #[test]
    fn the_sign_is_that_of_the_runs_or_its_own() {
        let mut down = Run::new(vec![0.0, 1.0], vec![0.01, 0.02]);
        down.tilt_positive = TiltPositive::Down;
        let up = Run { tilt_positive: TiltPositive::Up, ..down.clone() };
        let zero = |runs: &[Run]| reversal_checked(&Instrument::default(), &check(1.0, -0.4), runs).map(|i| i.zero_rad);
        assert_eq!(zero(core::slice::from_ref(&down)).unwrap(), -zero(core::slice::from_ref(&up)).unwrap());
        let said = zero(&[down, up]).unwrap_err().to_string();
        assert!(
            said.starts_with("reversal_check.tilt_positive: no tilt_positive given, expected what the head shows"),
            "{said}"
        );
    }

    #[test]
    fn what_cannot_be_is_refused() {
        for (check, said) in [
            (ReversalCheck { first_rad: f64::NAN, ..check(0.0, 0.0) }, "reversal_check.first_rad: NaN given"),
            (ReversalCheck { sd_rad: Some(-1.0), ..check(0.0, 0.0) }, "reversal_check.sd_rad: -1 given"),
        ] {
            let error = reversal_checked(&Instrument::default(), &check, &[]).unwrap_err().to_string();
            assert!(error.starts_with(said), "{error}");
        }
    }
}
