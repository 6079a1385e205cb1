//! Bore, path, chain, conditioning, places on the earth: each computation by itself.

use fallwise::{
    Bore, Chain, Error, Instrument,
    chain::{FitOptions, Loss},
    condition, geographic as earth,
    model::Origin,
    path,
    simulate::{self, Flaws, Head, Truth},
};
use numpy::PyArray1;
use pyo3::{
    prelude::*,
    types::{PyDict, PyList},
};

use crate::{
    arrays::{self, Finite, each, numbers, shaped},
    convert::{self, from_python, to_python},
    errors::Failure,
    job::run_to_python,
    work::{interruptible, sized},
};

/// A circle by its bore, or an ellipse by width and height.
pub(crate) fn bore([width_m, height_m]: [f64; 2]) -> Result<Bore, Error> {
    if width_m == height_m { Bore::circle(height_m) } else { Bore::ellipse(width_m, height_m) }
}

/// Functions of a depth in a bore, given by its width and height.
macro_rules! of_depth {
    ($($name:ident $method:ident $doc:literal;)*) => { $(
        #[doc = $doc]
        #[pyfunction]
        pub(crate) fn $name(
            py: Python<'_>,
            depth_m: &Bound<'_, PyAny>,
            width_m: &Bound<'_, PyAny>,
            height_m: &Bound<'_, PyAny>,
        ) -> Result<Py<PyAny>, Failure> {
            let arguments = [("depth_m", depth_m), ("bore_m", width_m), ("bore_m", height_m)];
            each(py, arguments, Finite::Only, |[depth, width, height]| Ok(bore([width, height])?.$method(depth)))
        }
    )* };
}

of_depth! {
    _area area_m2 "Area below a depth.";
    _antiderivative antiderivative_m3 "Integral of the area over depth.";
    _wetted_perimeter wetted_perimeter_m "Wetted perimeter.";
    _top_width top_width_m "Width of the surface.";
    _hydraulic_radius hydraulic_radius_m "Area over wetted perimeter.";
}

/// Depth for an area.
#[pyfunction]
pub(crate) fn _depth_for_area(
    py: Python<'_>,
    area_m2: &Bound<'_, PyAny>,
    width_m: &Bound<'_, PyAny>,
    height_m: &Bound<'_, PyAny>,
) -> Result<Py<PyAny>, Failure> {
    let arguments = [("area_m2", area_m2), ("bore_m", width_m), ("bore_m", height_m)];
    each(py, arguments, Finite::Only, |[area, width, height]| bore([width, height])?.depth_for_area_m(area))
}

/// Area of the whole bore.
#[pyfunction]
pub(crate) fn _full_area(
    py: Python<'_>,
    width_m: &Bound<'_, PyAny>,
    height_m: &Bound<'_, PyAny>,
) -> Result<Py<PyAny>, Failure> {
    let arguments = [("bore_m", width_m), ("bore_m", height_m)];
    each(py, arguments, Finite::Only, |[width, height]| Ok(bore([width, height])?.full_area_m2()))
}

/// Mean area between two depths.
#[pyfunction]
pub(crate) fn _mean_area(
    py: Python<'_>,
    first_m: &Bound<'_, PyAny>,
    second_m: &Bound<'_, PyAny>,
    width_m: &Bound<'_, PyAny>,
    height_m: &Bound<'_, PyAny>,
) -> Result<Py<PyAny>, Failure> {
    let arguments = [("first_m", first_m), ("second_m", second_m), ("bore_m", width_m), ("bore_m", height_m)];
    each(py, arguments, Finite::Only, |[a, b, width, height]| Ok(bore([width, height])?.mean_area_m2(a, b)))
}

/// East, north and up by minimum curvature.
#[pyfunction]
pub(crate) fn _minimum_curvature(
    py: Python<'_>,
    station_m: &Bound<'_, PyAny>,
    tilt_rad: &Bound<'_, PyAny>,
    azimuth_rad: &Bound<'_, PyAny>,
) -> Result<Py<PyAny>, Failure> {
    let stations = arrays::row("station_m", station_m)?;
    // One direction for all stations may be given as one number.
    let whole = |field: &str, given: &Bound<'_, PyAny>| -> Result<Vec<f64>, Failure> {
        let numbers = numbers(field, given)?;
        match (numbers.shape.len(), numbers.values.first()) {
            (0, Some(&value)) => Ok(vec![value; stations.len()]),
            (1, _) => Ok(numbers.values),
            (n, _) => Err(Error::value(field, format!("an array of {n} dimensions"), "one dimension").into()),
        }
    };
    let (tilts, azimuths) = (whole("tilt_rad", tilt_rad)?, whole("azimuth_rad", azimuth_rad)?);
    let points = py.detach(|| path::minimum_curvature(&stations, &tilts, &azimuths))?;
    let count = points.len();
    shaped(py, points.into_flattened(), &[count, 3])
}

/// Angle between two directions.
#[pyfunction]
pub(crate) fn _dogleg(
    py: Python<'_>,
    first_tilt_rad: &Bound<'_, PyAny>,
    first_azimuth_rad: &Bound<'_, PyAny>,
    second_tilt_rad: &Bound<'_, PyAny>,
    second_azimuth_rad: &Bound<'_, PyAny>,
) -> Result<Py<PyAny>, Failure> {
    let arguments = [
        ("first_tilt_rad", first_tilt_rad),
        ("first_azimuth_rad", first_azimuth_rad),
        ("second_tilt_rad", second_tilt_rad),
        ("second_azimuth_rad", second_azimuth_rad),
    ];
    each(py, arguments, Finite::Only, |[t1, a1, t2, a2]| Ok(path::dogleg(t1, a1, t2, a2)))
}

fn chain_dict<'py>(py: Python<'py>, chain: &Chain) -> PyResult<Bound<'py, PyDict>> {
    let dict = PyDict::new(py);
    dict.set_item("breaks_m", PyArray1::from_slice(py, &chain.breaks_m))?;
    dict.set_item("tilt_rad", PyArray1::from_slice(py, &chain.tilt_rad))?;
    Ok(dict)
}

/// Weights as given, or 1 for each.
fn weights(given: Option<&Bound<'_, PyAny>>, count: usize) -> Result<Vec<f64>, Failure> {
    given.map_or_else(|| Ok(vec![1.0; count]), |given| arrays::row("weight", given))
}

/// The penalised optimum.
#[pyfunction]
#[expect(clippy::too_many_arguments, reason = "called by name from Python")]
pub(crate) fn _fit_chain<'py>(
    py: Python<'py>,
    station_m: &Bound<'py, PyAny>,
    tilt_rad: &Bound<'py, PyAny>,
    weight: Option<&Bound<'py, PyAny>>,
    hard_breaks_m: &Bound<'py, PyAny>,
    loss: &str,
    threshold_sds: Option<f64>,
    noise_sd_rad: Option<f64>,
    penalty: Option<f64>,
    least_readings: usize,
) -> Result<Bound<'py, PyDict>, Failure> {
    let (stations, tilts) = (arrays::row("station_m", station_m)?, arrays::row("tilt_rad", tilt_rad)?);
    let (weights, hard) = (weights(weight, stations.len())?, arrays::row("hard_breaks_m", hard_breaks_m)?);
    let loss = match (loss, threshold_sds) {
        ("squares", _) => Loss::Squares,
        ("biweight", Some(threshold_sds)) => Loss::Biweight { threshold_sds },
        ("biweight", None) => Loss::biweight(),
        (word, _) => return Err(Error::unknown("loss", word, ["squares", "biweight"]).into()),
    };
    let options = FitOptions { loss, noise_sd: noise_sd_rad, penalty, least_readings };
    let readings = stations.len();
    let (chain, fit) = sized(py, readings, move || Chain::fitted(&stations, &tilts, &weights, &hard, &options))?;
    let dict = chain_dict(py, &chain)?;
    dict.set_item("starts", PyArray1::from_slice(py, &fit.starts))?;
    dict.set_item("cost", fit.cost)?;
    dict.set_item("penalty", fit.penalty)?;
    dict.set_item("noise_sd_rad", fit.noise_sd)?;
    Ok(dict)
}

/// One segment a reading.
#[pyfunction]
pub(crate) fn _raw_chain<'py>(
    py: Python<'py>,
    station_m: &Bound<'py, PyAny>,
    tilt_rad: &Bound<'py, PyAny>,
) -> Result<Bound<'py, PyDict>, Failure> {
    let chain = Chain::raw(&arrays::row("station_m", station_m)?, &arrays::row("tilt_rad", tilt_rad)?)?;
    Ok(chain_dict(py, &chain)?)
}

/// Means between known breaks.
#[pyfunction]
pub(crate) fn _given_chain<'py>(
    py: Python<'py>,
    station_m: &Bound<'py, PyAny>,
    tilt_rad: &Bound<'py, PyAny>,
    weight: Option<&Bound<'py, PyAny>>,
    breaks_m: &Bound<'py, PyAny>,
) -> Result<Bound<'py, PyDict>, Failure> {
    let stations = arrays::row("station_m", station_m)?;
    let weights = weights(weight, stations.len())?;
    let tilts = arrays::row("tilt_rad", tilt_rad)?;
    let chain = Chain::given(&stations, &tilts, &weights, &arrays::row("breaks_m", breaks_m)?)?;
    Ok(chain_dict(py, &chain)?)
}

/// A log to conditioned readings.
#[pyfunction]
pub(crate) fn _condition<'py>(
    py: Python<'py>,
    job: &Bound<'py, PyAny>,
    arrays: &Bound<'py, PyList>,
    bends_m: &Bound<'py, PyAny>,
) -> Result<Bound<'py, PyDict>, Failure> {
    let mut job = convert::job(job, arrays)?;
    let bends_m = arrays::finite_row("bends_m", bends_m)?;
    let Some(run) = job.runs.pop() else {
        return Err(Error::TooFew { field: "run".to_owned(), found: 0, needed: 1 }.into());
    };
    let instrument: Instrument = job.instrument;
    let trace = interruptible(py, move || condition::condition(&run, &instrument, &bends_m))?;
    let dict = PyDict::new(py);
    dict.set_item("station_m", PyArray1::from_slice(py, &trace.station_m))?;
    dict.set_item("tilt_rad", PyArray1::from_slice(py, &trace.tilt_rad))?;
    dict.set_item("weight", PyArray1::from_slice(py, &trace.weight))?;
    dict.set_item("index", PyArray1::from_slice(py, &trace.index))?;
    dict.set_item("slack_m", trace.slack_m)?;
    dict.set_item("zero_sign", trace.zero_sign)?;
    dict.set_item("noise_sd_rad", trace.noise_sd_rad)?;
    dict.set_item("correlation_m", trace.correlation_m)?;
    dict.set_item("resolution_rad", trace.resolution_rad)?;
    dict.set_item("gaps_m", trace.gaps_m)?;
    dict.set_item("removed_fall_m", trace.removed_fall_m)?;
    dict.set_item("edited", PyArray1::from_iter(py, trace.edits.iter().map(|edit| edit.index)))?;
    dict.set_item("reasons", trace.edits.iter().map(|edit| edit.reason.to_string()).collect::<Vec<_>>())?;
    dict.set_item("warnings", trace.warnings.iter().map(ToString::to_string).collect::<Vec<_>>())?;
    Ok(dict)
}

/// The step in which a log was shown.
#[pyfunction]
pub(crate) fn _display_step(readings_rad: &Bound<'_, PyAny>) -> Result<f64, Failure> {
    Ok(condition::display_step_rad(&arrays::finite_row("readings_rad", readings_rad)?))
}

/// Longitude and latitude of points in local axes.
#[pyfunction]
pub(crate) fn _place(
    py: Python<'_>,
    origin: &Bound<'_, PyAny>,
    east_m: &Bound<'_, PyAny>,
    north_m: &Bound<'_, PyAny>,
) -> Result<(Py<PyAny>, Py<PyAny>), Failure> {
    let origin: Origin = from_python("origin", origin)?;
    let arguments = [("east_m", east_m), ("north_m", north_m)];
    let longitude = |[e, n]: [f64; 2]| earth::place(&origin, e, n).map(|place| place.longitude_rad);
    let latitude = |[e, n]: [f64; 2]| earth::place(&origin, e, n).map(|place| place.latitude_rad);
    Ok((each(py, arguments, Finite::Only, longitude)?, each(py, arguments, Finite::Only, latitude)?))
}

/// The log that a head would give in a pipe that is known.
#[pyfunction]
pub(crate) fn _simulate<'py>(
    py: Python<'py>,
    truth: &Bound<'py, PyAny>,
    head: &Bound<'py, PyAny>,
    flaws: &Bound<'py, PyAny>,
    spacing_m: f64,
    seed: u64,
) -> Result<(Bound<'py, PyAny>, Bound<'py, PyDict>), Failure> {
    let truth: Truth = from_python("truth", truth)?;
    let head: Head = from_python("head", head)?;
    let flaws: Flaws = from_python("flaws", flaws)?;
    let made = interruptible(py, move || simulate::run(&truth, &head, &flaws, spacing_m, seed))?;
    let dict = PyDict::new(py);
    dict.set_item("true_station_m", PyArray1::from_vec(py, made.true_station_m))?;
    dict.set_item("true_tilt_rad", PyArray1::from_vec(py, made.true_tilt_rad))?;
    dict.set_item("unflawed_rad", PyArray1::from_vec(py, made.unflawed_rad))?;
    dict.set_item("flawed", made.flawed)?;
    Ok((run_to_python(py, made.run)?, dict))
}

/// Heights, falls and slopes of the truth between stations.
#[pyfunction]
pub(crate) fn _truth(
    py: Python<'_>,
    truth: &Bound<'_, PyAny>,
    what: &str,
    from_m: &Bound<'_, PyAny>,
    to_m: &Bound<'_, PyAny>,
) -> Result<Py<PyAny>, Failure> {
    let truth: Truth = from_python("truth", truth)?;
    each(py, [("from_m", from_m), ("to_m", to_m)], Finite::Only, |[a, b]| {
        Ok(match what {
            "height" => truth.height_m(a),
            "fall" => truth.fall_m(a, b),
            _ => truth.slope(a, b),
        })
    })
}

/// Flaws scattered by seed, as their dict.
#[pyfunction]
pub(crate) fn _scattered<'py>(
    py: Python<'py>,
    from_m: f64,
    to_m: f64,
    counts: &Bound<'py, PyAny>,
    seed: u64,
) -> Result<Bound<'py, PyAny>, Failure> {
    fallwise::error::require_finite("from_m", &[from_m, to_m])?;
    to_python(py, &Flaws::scattered(from_m, to_m, from_python("counts", counts)?, seed))
}
