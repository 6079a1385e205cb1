//! Plain Python objects to the core's structs and back, by their serde form.

use fallwise::{Error, Job};
use numpy::PyArray1;
use pyo3::{
    prelude::*,
    types::{PyDict, PyList},
};
use pythonize::{Depythonizer, pythonize};
use serde::{Serialize, de::DeserializeOwned};

use crate::{arrays, errors::Failure};

/// What an object is, for messages.
pub(crate) fn kind(given: &Bound<'_, PyAny>) -> String {
    given.get_type().name().map_or_else(|_| "an object".to_owned(), |name| format!("an object of type {name}"))
}

/// A struct of the core from one of the classes of inputs, or from dicts, lists, numbers and texts. What does not fit is named by
/// its path.
pub(crate) fn from_python<T: DeserializeOwned>(what: &str, given: &Bound<'_, PyAny>) -> Result<T, Failure> {
    let plain = match given.getattr_opt("_to_core")? {
        Some(to_core) => to_core.call0()?,
        None => given.clone(),
    };
    let given = &plain;
    serde_path_to_error::deserialize(&mut Depythonizer::from_object(given)).map_err(|error| {
        let path = match error.path().to_string().as_str() {
            "." => what.to_owned(),
            path => path.to_owned(),
        };
        told(&path, &error.into_inner().to_string()).into()
    })
}

/// A message of serde as an error of the core; words that are not known get the nearest.
fn told(path: &str, message: &str) -> Error {
    let mut quoted = message.split('`').skip(1).step_by(2);
    let of_words = ["unknown variant", "unknown field"].iter().any(|start| message.starts_with(start));
    if let Some(word) = quoted.next().filter(|_| of_words) {
        return Error::unknown(path, word, quoted);
    }
    match message.split_once(", expected ") {
        Some((given, expected)) => Error::value(path, given, expected),
        None => Error::value(path, message, "a value of the right type"),
    }
}

/// A struct of the core as dicts, lists, numbers and texts.
pub(crate) fn to_python<'py, T: Serialize>(py: Python<'py>, value: &T) -> Result<Bound<'py, PyAny>, Failure> {
    Ok(pythonize(py, value).map_err(PyErr::from)?)
}

/// A job from its dict, and the arrays of its runs beside it.
pub(crate) fn job(given: &Bound<'_, PyAny>, arrays: &Bound<'_, PyList>) -> Result<Job, Failure> {
    let mut job: Job = from_python("job", given)?;
    for (i, (run, arrays)) in job.runs.iter_mut().zip(arrays.iter()).enumerate() {
        let arrays = arrays.cast::<PyDict>().map_err(PyErr::from)?;
        let given = |name: &str| Ok::<_, Failure>(arrays.get_item(name)?.filter(|a| !a.is_none()));
        let floats = |name: &str| given(name)?.map(|a| arrays::row(&format!("runs[{i}].{name}"), &a)).transpose();
        run.counter_m = floats("counter_m")?.unwrap_or_default();
        run.reading_rad = floats("reading_rad")?.unwrap_or_default();
        run.time_s = floats("time_s")?;
        run.roll_rad = floats("roll_rad")?;
        run.temperature_c = floats("temperature_c")?;
        run.moving =
            given("moving")?.map(|a| a.call_method0("tolist")?.extract()).transpose().map_err(Failure::Python)?;
        run.source_row =
            given("source_row")?.map(|a| a.call_method0("tolist")?.extract()).transpose().map_err(Failure::Python)?;
    }
    Ok(job)
}

/// The same the other way round: `fallwise.Job`.
pub(crate) fn job_to_python<'py>(py: Python<'py>, job: &Job) -> Result<Bound<'py, PyAny>, Failure> {
    let mut plain = job.clone();
    let arrays = PyList::empty(py);
    for run in &mut plain.runs {
        let of = PyDict::new(py);
        let floats = |values: Option<Vec<f64>>| values.map(|values| PyArray1::from_vec(py, values));
        of.set_item("counter_m", floats(Some(core::mem::take(&mut run.counter_m))))?;
        of.set_item("reading_rad", floats(Some(core::mem::take(&mut run.reading_rad))))?;
        of.set_item("time_s", floats(run.time_s.take()))?;
        of.set_item("roll_rad", floats(run.roll_rad.take()))?;
        of.set_item("temperature_c", floats(run.temperature_c.take()))?;
        of.set_item("moving", run.moving.take().map(|values| PyArray1::from_vec(py, values)))?;
        of.set_item("source_row", run.source_row.take().map(|values| PyArray1::from_vec(py, values)))?;
        arrays.append(of)?;
    }
    let plain = to_python(py, &plain)?;
    Ok(py.import("fallwise._job")?.getattr("Job")?.call_method1("_from_core", (plain, arrays))?)
}
