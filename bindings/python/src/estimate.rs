//! A value with its standard deviation and 95 % interval.

use fallwise::adjust::Estimate as Core;
use pyo3::{prelude::*, types::PyTuple};

/// A value with its standard deviation and 95 % interval, in the unit that whatever gives it says. `float`
/// gives the value.
///
/// Parameters
/// ----------
/// value, sd : float
///     The value and its standard deviation.
#[pyclass(frozen, module = "fallwise", eq)]
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Estimate(pub(crate) Core);

#[pymethods]
impl Estimate {
    #[new]
    fn new(value: f64, sd: f64) -> Self {
        Self(Core::new(value, sd))
    }

    /// The value.
    #[getter]
    fn value(&self) -> f64 {
        self.0.value
    }

    /// Its standard deviation.
    #[getter]
    fn sd(&self) -> f64 {
        self.0.sd
    }

    /// Low end of its 95 % interval.
    #[getter]
    fn low(&self) -> f64 {
        self.0.low
    }

    /// High end of its 95 % interval.
    #[getter]
    fn high(&self) -> f64 {
        self.0.high
    }

    fn __float__(&self) -> f64 {
        self.0.value
    }

    fn __repr__(&self) -> String {
        let Core { value, sd, low, high } = self.0;
        format!("Estimate(value={value:.6}, sd={sd:.6}, low={low:.6}, high={high:.6})")
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<(Bound<'py, PyAny>, Bound<'py, PyTuple>)> {
        Ok((py.get_type::<Self>().into_any(), PyTuple::new(py, [self.0.value, self.0.sd])?))
    }
}
