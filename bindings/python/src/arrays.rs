//! Numbers in: a scalar, or whatever numpy can make an array of. Numbers out: a float, or a numpy array.

use fallwise::Error;
use numpy::{PyArray1, PyArrayDyn, PyArrayMethods, PyUntypedArrayMethods};
use pyo3::{
    intern,
    prelude::*,
    types::{PyBool, PyFloat, PyInt},
};

use crate::{convert::kind, errors::Failure, work::caught};

/// Above so many numbers other threads go on meanwhile; below, letting go of the lock costs more than it gives.
const MANY: usize = 10_000;

/// Numbers of any shape, in the order of C.
pub(crate) struct Numbers {
    pub(crate) values: Vec<f64>,
    pub(crate) shape: Vec<usize>,
}

/// A Python or numpy number, if it is one.
fn scalar(given: &Bound<'_, PyAny>) -> Option<f64> {
    let number =
        given.is_instance_of::<PyFloat>() || (given.is_instance_of::<PyInt>() && !given.is_instance_of::<PyBool>());
    if number { given.extract().ok() } else { None }
}

fn refused(field: &str, given: &Bound<'_, PyAny>) -> Failure {
    Error::value(field, kind(given), "a number, or an array of numbers").into()
}

/// Any array-like: lists, numpy arrays of any dtype and stride, pandas, polars, Arrow. Masked and missing values become NaN.
pub(crate) fn numbers(field: &str, given: &Bound<'_, PyAny>) -> Result<Numbers, Failure> {
    if let Some(value) = scalar(given) {
        return Ok(Numbers { values: vec![value], shape: Vec::new() });
    }
    let py = given.py();
    let numpy = py.import(intern!(py, "numpy"))?;
    let mut array = if given.hasattr(intern!(py, "mask"))? && given.hasattr(intern!(py, "filled"))? {
        // `asarray` would drop the mask and let what it hides through.
        given.call_method1("astype", ("float64",))?.call_method1("filled", (f64::NAN,))?
    } else {
        numpy.call_method1(intern!(py, "asarray"), (given,)).map_err(|_| refused(field, given))?
    };
    let kind: String = array.getattr(intern!(py, "dtype"))?.getattr(intern!(py, "kind"))?.extract()?;
    match kind.as_str() {
        "f" | "i" | "u" => {}
        "O" => array = of_objects(field, &array)?,
        _ => {
            let dtype = array.getattr("dtype")?.str()?.to_string();
            return Err(Error::value(field, format!("values of dtype {dtype}"), "numbers").into());
        }
    }
    let array = numpy.call_method1(intern!(py, "ascontiguousarray"), (&array, "float64"))?;
    // `ascontiguousarray` gives what has no dimension one.
    let array = array.cast_into::<PyArrayDyn<f64>>().map_err(PyErr::from)?;
    let shape = if is_scalar(given)? { Vec::new() } else { array.shape().to_vec() };
    Ok(Numbers { values: array.readonly().as_slice().map_err(PyErr::from)?.to_vec(), shape })
}

/// Whether numpy sees no dimension in it.
fn is_scalar(given: &Bound<'_, PyAny>) -> PyResult<bool> {
    let py = given.py();
    py.import(intern!(py, "numpy"))?.call_method1(intern!(py, "ndim"), (given,))?.extract::<usize>().map(|n| n == 0)
}

/// Elements one by one, each of which must be a number.
fn of_objects<'py>(field: &str, array: &Bound<'py, PyAny>) -> Result<Bound<'py, PyAny>, Failure> {
    let py = array.py();
    let shape = array.getattr("shape")?;
    let mut values = Vec::new();
    for (i, item) in array.call_method0("ravel")?.try_iter()?.enumerate() {
        let item = item?;
        let text = item.is_instance_of::<pyo3::types::PyString>() || item.is_instance_of::<PyBool>();
        let value = if text { None } else { item.call_method0("__float__").ok().and_then(|v| v.extract().ok()) };
        let shown = || item.repr().map_or_else(|_| "?".to_owned(), |text| text.to_string());
        values.push(value.ok_or_else(|| Error::at(field, i, shown(), "a number"))?);
    }
    Ok(PyArray1::<f64>::from_vec(py, values).call_method1("reshape", (shape,))?)
}

/// One row of numbers.
pub(crate) fn row(field: &str, given: &Bound<'_, PyAny>) -> Result<Vec<f64>, Failure> {
    let Numbers { values, shape } = numbers(field, given)?;
    match shape.len() {
        1 => Ok(values),
        n => Err(Error::value(field, format!("an array of {n} dimensions"), "one dimension").into()),
    }
}

/// The same as a new numpy array that cannot be written to.
#[pyfunction]
pub(crate) fn _row<'py>(
    py: Python<'py>,
    field: &str,
    given: &Bound<'py, PyAny>,
) -> Result<Bound<'py, PyArray1<f64>>, Failure> {
    let array = PyArray1::from_vec(py, row(field, given)?);
    array.call_method("setflags", (false,), None)?;
    Ok(array)
}

/// One row of finite numbers.
pub(crate) fn finite_row(field: &str, given: &Bound<'_, PyAny>) -> Result<Vec<f64>, Failure> {
    let values = row(field, given)?;
    fallwise::error::require_finite(field, &values)?;
    Ok(values)
}

/// What a function of numbers takes of numbers that are not finite.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Finite {
    /// Refused, named.
    Only,
    /// They go through, as the function itself says.
    Any,
}

/// Applies a function to every element, arguments broadcast against each other as numpy does. Scalars give a float.
pub(crate) fn each<const N: usize>(
    py: Python<'_>,
    arguments: [(&str, &Bound<'_, PyAny>); N],
    finite: Finite,
    f: impl Fn([f64; N]) -> Result<f64, Error> + Send + Sync,
) -> Result<Py<PyAny>, Failure> {
    let [value] = each_of(py, arguments, finite, |given| f(given).map(|value| [value]))?;
    Ok(value)
}

/// The same of a function that gives several numbers.
pub(crate) fn each_of<const N: usize, const M: usize>(
    py: Python<'_>,
    arguments: [(&str, &Bound<'_, PyAny>); N],
    finite: Finite,
    f: impl Fn([f64; N]) -> Result<[f64; M], Error> + Send + Sync,
) -> Result<[Py<PyAny>; M], Failure> {
    let check = |values: &[f64], field: &str, scalar: bool| match values.iter().position(|v| !v.is_finite()) {
        Some(_) if finite == Finite::Any => Ok(()),
        Some(i) if scalar => Err(Error::value(field, values.get(i).copied().unwrap_or(f64::NAN), "a finite number")),
        Some(i) => Err(Error::at(field, i, values.get(i).copied().unwrap_or(f64::NAN), "a finite number")),
        None => Ok(()),
    };
    let mut given = Vec::with_capacity(N);
    for (field, argument) in arguments {
        let numbers = numbers(field, argument)?;
        check(&numbers.values, field, numbers.shape.is_empty())?;
        given.push(numbers);
    }
    let shape = broadcast(&given, &arguments.map(|(field, _)| field))?;
    let count: usize = shape.iter().product();
    let at = |i: usize| {
        let mut out = [0.0; N];
        for (value, numbers) in out.iter_mut().zip(&given) {
            *value = numbers.values.get(place(i, &shape, &numbers.shape)).copied().unwrap_or(f64::NAN);
        }
        out
    };
    if shape.is_empty() {
        let values = caught(|| f(at(0)))?;
        return Ok(values.map(|value| PyFloat::new(py, value).into_any().unbind()));
    }
    let all = || caught(|| (0..count).map(|i| f(at(i))).collect::<Result<Vec<[f64; M]>, Error>>());
    let values = if count > MANY { py.detach(all)? } else { all()? };
    let mut columns = Vec::with_capacity(M);
    for column in 0..M {
        columns.push(shaped(py, values.iter().map(|row| row[column]).collect(), &shape)?);
    }
    columns.try_into().map_err(|_| Failure::from(Error::value("values", M, "as many columns as were computed")))
}

/// A numpy array of a shape.
pub(crate) fn shaped(py: Python<'_>, values: Vec<f64>, shape: &[usize]) -> Result<Py<PyAny>, Failure> {
    let array = PyArray1::from_vec(py, values);
    Ok(array.reshape(shape.to_vec())?.into_any().unbind())
}

/// The common shape: sizes are compared from the last, and 1 goes with any.
fn broadcast(given: &[Numbers], fields: &[&str]) -> Result<Vec<usize>, Error> {
    let most = given.iter().map(|n| n.shape.len()).max().unwrap_or(0);
    let mut shape = vec![1; most];
    for (numbers, field) in given.iter().zip(fields) {
        let before = most - numbers.shape.len();
        for (size, own) in shape.iter_mut().skip(before).zip(&numbers.shape) {
            if *size == 1 {
                *size = *own;
            } else if *own != 1 && own != size {
                return Err(Error::value(
                    *field,
                    format!("an array of shape {:?}", numbers.shape),
                    format!("one that broadcasts with {shape:?}"),
                ));
            }
        }
    }
    Ok(shape)
}

/// Where in an array of shape `own` the element `i` of the broadcast array is.
fn place(i: usize, shape: &[usize], own: &[usize]) -> usize {
    if own.len() == shape.len() && own == shape {
        return i;
    }
    let (mut rest, mut at, mut stride) = (i, 0, 1);
    for (k, size) in shape.iter().enumerate().rev() {
        let index = rest % size.max(&1);
        rest /= size.max(&1);
        let Some(own_size) = (k + own.len()).checked_sub(shape.len()).and_then(|k| own.get(k)) else { continue };
        if *own_size != 1 {
            at += index * stride;
        }
        stride *= own_size;
    }
    at
}
