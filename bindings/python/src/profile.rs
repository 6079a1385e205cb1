//! Heights along a chain, and the water that its bellies can hold.

use std::sync::Arc;

use fallwise::{Bore, Error, Flow, Lateral, Pipe, Profile as Core, pool, profile};
use numpy::PyArray1;
use pyo3::{
    prelude::*,
    types::{PyDict, PyTuple},
};

use crate::{
    answers::{from_json, to_json},
    arrays::{self, Finite, each},
    convert::from_python,
    errors::Failure,
    table::Table,
};

/// Heights of the invert along the lateral: nodes joined by straight pieces.
///
/// Falls and slopes run towards growing station here: a profile knows no flow.
#[pyclass(frozen, module = "fallwise", eq)]
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Profile(pub(crate) Arc<Core>);

fn row<'py>(py: Python<'py>, values: &[f64]) -> Bound<'py, PyArray1<f64>> {
    PyArray1::from_slice(py, values)
}

#[pymethods]
impl Profile {
    /// The profile of straight pieces between stations, each with its tilt.
    #[staticmethod]
    #[pyo3(name = "_from_segments")]
    fn from_segments(breaks_m: &Bound<'_, PyAny>, tilt_rad: &Bound<'_, PyAny>) -> Result<Self, Failure> {
        let (breaks_m, tilt_rad) = (arrays::row("breaks_m", breaks_m)?, arrays::row("tilt_rad", tilt_rad)?);
        let lateral = Lateral::from_segments(breaks_m, tilt_rad, Pipe::default())?;
        Ok(Self(Arc::new(lateral.profile().clone())))
    }

    /// Stations of the nodes, m.
    #[getter]
    fn station_m<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        row(py, &self.0.station_m)
    }

    /// Heights of the nodes above the lowest, m.
    #[getter]
    fn height_m<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        row(py, &self.0.height_m)
    }

    /// Tilt of each piece, rad.
    #[getter]
    fn tilt_rad<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        row(py, &self.0.tilt_rad)
    }

    /// Reach of each piece, from 0.
    #[getter]
    fn reach<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<usize>> {
        PyArray1::from_slice(py, &self.0.reach)
    }

    /// True length over station difference.
    #[getter]
    fn scale(&self) -> f64 {
        self.0.scale
    }

    fn __len__(&self) -> usize {
        self.0.station_m.len()
    }

    /// Height at stations.
    ///
    /// Parameters
    /// ----------
    /// station_m : float or array_like
    ///     Stations, m.
    ///
    /// Returns
    /// -------
    /// float or ndarray
    ///     Height above the lowest node, m; NaN outside.
    fn height_at(&self, py: Python<'_>, station_m: &Bound<'_, PyAny>) -> Result<Py<PyAny>, Failure> {
        each(py, [("station_m", station_m)], Finite::Only, |[s]| Ok(self.0.height_at(s).unwrap_or(f64::NAN)))
    }

    /// Fall between stations.
    ///
    /// Parameters
    /// ----------
    /// from_m, to_m : float or array_like
    ///     Stations, m; one outside the profile counts as the nearest end.
    ///
    /// Returns
    /// -------
    /// float or ndarray
    ///     Fall, m, positive where the second is lower.
    fn fall_between(
        &self,
        py: Python<'_>,
        from_m: &Bound<'_, PyAny>,
        to_m: &Bound<'_, PyAny>,
    ) -> Result<Py<PyAny>, Failure> {
        each(py, [("from_m", from_m), ("to_m", to_m)], Finite::Only, |[a, b]| Ok(self.0.fall_between(a, b)))
    }

    /// Fall over horizontal length between stations, drops left out.
    ///
    /// Parameters
    /// ----------
    /// from_m, to_m : float or array_like
    ///     Stations, m; one outside the profile counts as the nearest end.
    ///
    /// Returns
    /// -------
    /// float or ndarray
    ///     Slope, positive where it falls towards growing station; NaN where there is nothing but drops.
    fn slope_between(
        &self,
        py: Python<'_>,
        from_m: &Bound<'_, PyAny>,
        to_m: &Bound<'_, PyAny>,
    ) -> Result<Py<PyAny>, Failure> {
        let slope = |[a, b]: [f64; 2]| Ok(self.0.slope_between(a, b).unwrap_or(f64::NAN));
        each(py, [("from_m", from_m), ("to_m", to_m)], Finite::Only, slope)
    }

    /// Fall in drops (steeper than 45 degrees) between stations.
    ///
    /// Parameters
    /// ----------
    /// from_m, to_m : float or array_like
    ///     Stations, m; one outside the profile counts as the nearest end.
    ///
    /// Returns
    /// -------
    /// float or ndarray
    ///     Fall, m.
    fn drop_fall_between(
        &self,
        py: Python<'_>,
        from_m: &Bound<'_, PyAny>,
        to_m: &Bound<'_, PyAny>,
    ) -> Result<Py<PyAny>, Failure> {
        each(py, [("from_m", from_m), ("to_m", to_m)], Finite::Only, |[a, b]| Ok(self.0.drop_fall_between(a, b)))
    }

    /// True length between stations.
    ///
    /// Parameters
    /// ----------
    /// from_m, to_m : float or array_like
    ///     Stations, m; one outside the profile counts as the nearest end.
    ///
    /// Returns
    /// -------
    /// float or ndarray
    ///     Length along the pipe, m, with the counter's scale in it.
    fn length_between(
        &self,
        py: Python<'_>,
        from_m: &Bound<'_, PyAny>,
        to_m: &Bound<'_, PyAny>,
    ) -> Result<Py<PyAny>, Failure> {
        each(py, [("from_m", from_m), ("to_m", to_m)], Finite::Only, |[a, b]| Ok(self.0.length_between(a, b)))
    }

    /// All stations at a height.
    ///
    /// Parameters
    /// ----------
    /// level_m : float
    ///     Height above the lowest node, m.
    ///
    /// Returns
    /// -------
    /// ndarray
    ///     Stations, m, growing.
    fn crossings<'py>(&self, py: Python<'py>, level_m: f64) -> Result<Bound<'py, PyArray1<f64>>, Failure> {
        fallwise::error::require_finite("level_m", &[level_m])?;
        Ok(row(py, &self.0.crossings(level_m)))
    }

    /// Station and height of the lowest node, m; `None` of a profile without nodes.
    fn lowest(&self) -> Option<(f64, f64)> {
        self.0.lowest()
    }

    fn __repr__(&self) -> String {
        let (from_m, to_m) = self.0.range().unwrap_or_default();
        format!("<fallwise.Profile: {} nodes from {from_m:.2} m to {to_m:.2} m>", self.0.station_m.len())
    }

    fn __copy__(slf: Py<Self>) -> Py<Self> {
        slf
    }

    fn __deepcopy__(slf: Py<Self>, memo: &Bound<'_, PyAny>) -> Py<Self> {
        let _ = memo; // nothing in it changes
        slf
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> Result<(Bound<'py, PyAny>, Bound<'py, PyTuple>), Failure> {
        let p = &self.0;
        let state =
            PyTuple::new(py, [to_json(&(&p.station_m, &p.height_m, &p.tilt_rad, &p.reach, &p.at_drop, p.scale))?])?;
        Ok((py.import("fallwise._core")?.getattr("_profile")?, state))
    }
}

/// A profile as it was pickled.
#[pyfunction]
#[pyo3(name = "_profile")]
pub(crate) fn unpickled(json: &str) -> Result<Profile, Failure> {
    let (station_m, height_m, tilt_rad, reach, at_drop, scale) = from_json(json)?;
    Ok(Profile(Arc::new(Core { station_m, height_m, tilt_rad, reach, at_drop, scale })))
}

/// Bores of the reaches of a profile, and the flow.
fn bores_and_flow(bores: &Bound<'_, PyAny>, flow: &str) -> Result<(Vec<Option<Bore>>, Flow), Failure> {
    let bores: Vec<Option<Bore>> = from_python("bores", bores)?;
    for bore in bores.iter().flatten() {
        bore.validate()?;
    }
    Ok((bores, flow_of(flow)?))
}

fn flow_of(flow: &str) -> Result<Flow, Error> {
    match flow {
        "increasing" => Ok(Flow::Increasing),
        "decreasing" => Ok(Flow::Decreasing),
        _ => Err(Error::unknown("flow", flow, ["increasing", "decreasing"])),
    }
}

/// The pools of a profile.
#[pyfunction]
#[pyo3(name = "_pools")]
pub(crate) fn pools(
    profile: &Bound<'_, Profile>,
    bores: &Bound<'_, PyAny>,
    flow: &str,
    tailwater_m: Option<f64>,
) -> Result<Table, Failure> {
    let (bores, flow) = bores_and_flow(bores, flow)?;
    fallwise::error::require_finite("tailwater_m", &tailwater_m.map_or(vec![], |m| vec![m]))?;
    Table::of("pools", &pool::pools(&profile.get().0, &bores, flow, tailwater_m))
}

/// Level of the water at each node, m.
#[pyfunction]
#[pyo3(name = "_water_level")]
pub(crate) fn water_level<'py>(
    py: Python<'py>,
    profile: &Bound<'py, Profile>,
    flow: &str,
    tailwater_m: Option<f64>,
) -> Result<Bound<'py, PyArray1<f64>>, Failure> {
    fallwise::error::require_finite("tailwater_m", &tailwater_m.map_or(vec![], |m| vec![m]))?;
    Ok(row(py, &pool::water_level(&profile.get().0, flow_of(flow)?, tailwater_m)))
}

/// Ground to the outside top of the pipe, m.
#[pyfunction]
#[pyo3(name = "_cover")]
pub(crate) fn cover(
    py: Python<'_>,
    ground_m: &Bound<'_, PyAny>,
    invert_m: &Bound<'_, PyAny>,
    bore_m: &Bound<'_, PyAny>,
    wall_m: &Bound<'_, PyAny>,
    tilt_rad: &Bound<'_, PyAny>,
) -> Result<Py<PyAny>, Failure> {
    let arguments = [
        ("ground_m", ground_m),
        ("invert_m", invert_m),
        ("bore_m", bore_m),
        ("wall_m", wall_m),
        ("tilt_rad", tilt_rad),
    ];
    each(py, arguments, Finite::Only, |[ground, invert, bore, wall, tilt]| {
        Ok(profile::cover_m(ground, invert, bore, wall, tilt).unwrap_or(f64::NAN))
    })
}

/// Ground elevation between points, and its standard deviation; NaN where not determined.
#[pyfunction]
#[pyo3(name = "_ground")]
pub(crate) fn ground<'py>(
    py: Python<'py>,
    points: &Bound<'py, PyAny>,
    station_m: &Bound<'py, PyAny>,
) -> Result<Bound<'py, PyDict>, Failure> {
    let points: Vec<fallwise::model::GroundPoint> = from_python("points", points)?;
    let at = |f: fn(&[fallwise::model::GroundPoint], f64) -> Option<f64>| {
        each(py, [("station_m", station_m)], Finite::Only, |[s]| Ok(f(&points, s).unwrap_or(f64::NAN)))
    };
    let dict = PyDict::new(py);
    dict.set_item("elevation_m", at(profile::ground_at)?)?;
    dict.set_item("sd_m", at(profile::ground_sd_at)?)?;
    Ok(dict)
}
