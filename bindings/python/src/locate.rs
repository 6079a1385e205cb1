//! A place on the surface: each computation by itself.

use fallwise::{
    Error,
    locate::{self, ELLIPSE_95, PlanError, Refusal},
    model::DigOptions,
};
use pyo3::prelude::*;

use crate::{
    arrays::{Finite, each, each_of},
    convert::from_python,
    errors::Failure,
};

/// Standard deviations from the middle of a 95 % ellipse to its edge.
pub(crate) const ELLIPSE: f64 = ELLIPSE_95;

type Numbers = Py<PyAny>;
/// Why it is refused, the shallow end, and from where on it is dug by hand.
type Decision = (Vec<&'static str>, Option<f64>, Option<f64>);

/// Error ellipses.
#[pyfunction]
pub(crate) fn _ellipse(
    py: Python<'_>,
    east_sd_m: &Bound<'_, PyAny>,
    north_sd_m: &Bound<'_, PyAny>,
    correlation: &Bound<'_, PyAny>,
) -> Result<(Numbers, Numbers, Numbers), Failure> {
    let arguments = [("east_sd_m", east_sd_m), ("north_sd_m", north_sd_m), ("correlation", correlation)];
    let [major, minor, azimuth] = each_of(py, arguments, Finite::Only, |[east, north, correlation]| {
        let ellipse = PlanError::new(east, north, correlation)?.ellipse();
        Ok([ellipse.major_sd_m, ellipse.minor_sd_m, ellipse.azimuth_rad])
    })?;
    Ok((major, minor, azimuth))
}

/// Standard deviation in a direction.
#[pyfunction]
pub(crate) fn _plan_sd(
    py: Python<'_>,
    east_sd_m: f64,
    north_sd_m: f64,
    correlation: f64,
    azimuth_rad: &Bound<'_, PyAny>,
) -> Result<Numbers, Failure> {
    let error = PlanError::new(east_sd_m, north_sd_m, correlation)?;
    each(py, [("azimuth_rad", azimuth_rad)], Finite::Only, |[azimuth]| Ok(error.sd_m(azimuth)))
}

/// Distances and offset from two marks.
#[pyfunction]
pub(crate) fn _offset(
    py: Python<'_>,
    first_east_m: f64,
    first_north_m: f64,
    second_east_m: f64,
    second_north_m: f64,
    east_m: &Bound<'_, PyAny>,
    north_m: &Bound<'_, PyAny>,
) -> Result<(Numbers, Numbers, Numbers, Numbers, Numbers), Failure> {
    let (first, second) = ([first_east_m, first_north_m], [second_east_m, second_north_m]);
    let arguments = [("place", east_m), ("place", north_m)];
    let [from_first, from_second, along, right, factor] =
        each_of(py, arguments, Finite::Only, |place| -> Result<[f64; 5], Error> {
            let tape = locate::offset(first, second, place)?;
            Ok([tape.from_first_m, tape.from_second_m, tape.along_m, tape.right_m, tape.error_factor])
        })?;
    Ok((from_first, from_second, along, right, factor))
}

/// Whether one may dig at a place.
#[pyfunction]
pub(crate) fn _dig(
    across_sd_m: Option<f64>,
    tie_m: Option<f64>,
    top_m: Option<f64>,
    top_sd_m: Option<f64>,
    options: &Bound<'_, PyAny>,
) -> Result<Decision, Failure> {
    let options: DigOptions = from_python("options", options)?;
    let told = locate::dig(across_sd_m, tie_m, top_m.zip(top_sd_m), &options)?;
    Ok((told.refused.iter().map(Refusal::as_str).collect(), told.expect_from_m, told.by_hand_from_m))
}
