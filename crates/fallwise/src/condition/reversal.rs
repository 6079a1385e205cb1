//! The zero error of the head from a reversal check.

use super::resolution::display_step_rad;
#[cfg(not(feature = "std"))]
use crate::math::Real as _;
use crate::{
    Error,
    model::{ReversalCheck, Run, TiltPositive},
};

/// Standard deviation of the zero error after a reversal check whose readings are not rounded, rad: 0.05 degrees, from how
/// well a head can be laid twice on one spot (our choice).
pub const REVERSAL_CHECK_SD_RAD: f64 = 0.05 * core::f64::consts::PI / 180.0;

/// Standard deviation of the zero error after a reversal check on a display of whole steps of `resolution_rad`, rad: half
/// the sum of two readings, each rounded with a standard deviation of a step over √12.
pub fn reversal_check_sd_rad(resolution_rad: f64) -> f64 {
    (REVERSAL_CHECK_SD_RAD * REVERSAL_CHECK_SD_RAD + resolution_rad * resolution_rad / 24.0).sqrt()
}

/// Zero error of the head from a reversal check, rad, counted looking down, and its standard deviation.
///
/// Half the sum of the two readings is the zero error; of two readings of equal `sd` its standard deviation is sd / sqrt 2.
/// Without an `sd` it is that of [`reversal_check_sd_rad`] for the display's step: `step_rad`, or, where that is 0, the coarsest
/// that could have shown the check's own readings.
///
/// # Errors
/// No sign, where neither the check nor the runs agree on what the head shows as positive; a reading or a standard deviation that is none.
///
/// # Example
/// ```
/// use fallwise::{condition::zero_by_reversal, model::ReversalCheck};
///
/// let degree = core::f64::consts::PI / 180.0;
/// let check =
///     ReversalCheck { first_rad: 1.4 * degree, second_rad: -0.8 * degree, sd_rad: Some(0.1 * degree), tilt_positive: None };
/// let (zero_rad, _) = zero_by_reversal(&check, &[], 0.0)?;
/// assert!((zero_rad - 0.3 * degree).abs() < 1e-15);
/// # Ok::<(), fallwise::Error>(())
/// ```
pub fn zero_by_reversal(check: &ReversalCheck, runs: &[Run], step_rad: f64) -> Result<(f64, f64), Error> {
    let ReversalCheck { first_rad, second_rad, sd_rad, tilt_positive } = *check;
    let sign = sign_of_head(tilt_positive, runs)?;
    for (field, reading) in [("first_rad", first_rad), ("second_rad", second_rad)] {
        if !reading.is_finite() {
            return Err(Error::value(field, reading, "a finite angle"));
        }
    }
    if let Some(sd) = sd_rad.filter(|sd| !(0.0..f64::INFINITY).contains(sd)) {
        return Err(Error::value("sd_rad", sd, "a standard deviation, 0 or more"));
    }
    let own_step = || display_step_rad(&[first_rad, second_rad]);
    let sd_rad = match sd_rad {
        Some(reading_sd) => reading_sd / core::f64::consts::SQRT_2,
        None => reversal_check_sd_rad(if step_rad > 0.0 { step_rad } else { own_step() }),
    };
    // Halved first, so that no two readings are too large.
    Ok((sign * (first_rad / 2.0 + second_rad / 2.0), sd_rad))
}

/// +1 where the head shows down as positive, -1 where up: as said, else as all runs say; down where there is no run.
///
/// # Errors
/// [`Error::Value`] where it is not said and the runs differ.
pub fn sign_of_head(said: Option<TiltPositive>, runs: &[Run]) -> Result<f64, Error> {
    let first = runs.first().map_or(TiltPositive::Down, |r| r.tilt_positive);
    let sign = match said {
        Some(sign) => sign,
        None if runs.iter().all(|r| r.tilt_positive == first) => first,
        None => {
            return Err(Error::value(
                "tilt_positive",
                "no tilt_positive",
                "what the head shows as positive, since the runs differ in theirs",
            ));
        }
    };
    Ok(match sign {
        TiltPositive::Down => 1.0,
        TiltPositive::Up => -1.0,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::prelude::*;

    const DEGREE: f64 = core::f64::consts::PI / 180.0;

    fn check(first: f64, second: f64) -> ReversalCheck {
        ReversalCheck { first_rad: first * DEGREE, second_rad: second * DEGREE, sd_rad: None, tilt_positive: None }
    }

    #[test]
    fn a_coarse_display_makes_a_coarse_check() {
        // Half the sum of two whole degrees: sqrt(0.05^2 + 1/24) degrees, little better than the 0.3 before.
        let sd = zero_by_reversal(&check(2.0, -1.0), &[], 0.0).unwrap().1 / DEGREE;
        assert!((sd - (0.0025_f64 + 1.0 / 24.0).sqrt()).abs() < 1e-12, "{sd}"); // rounding of a handful of operations
    }

    #[test]
    fn the_sign_is_that_of_the_runs_or_its_own() {
        let mut down = Run::new(vec![0.0, 1.0], vec![0.01, 0.02]);
        down.tilt_positive = TiltPositive::Down;
        let up = Run { tilt_positive: TiltPositive::Up, ..down.clone() };
        let zero = |runs: &[Run]| zero_by_reversal(&check(1.0, -0.4), runs, 0.0).map(|(zero, _)| zero);
        assert_eq!(zero(core::slice::from_ref(&down)).unwrap(), -zero(core::slice::from_ref(&up)).unwrap());
        let said = zero(&[down, up]).unwrap_err().to_string();
        assert!(said.starts_with("tilt_positive: no tilt_positive given, expected what the head shows"), "{said}");
    }
}
