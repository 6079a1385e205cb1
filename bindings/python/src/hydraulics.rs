//! What a partly full pipe carries. A round bore is given by its diameter as width and height.

use fallwise::{
    Error,
    hydraulics::{
        self, DrainUnits, Fixture, Friction, PlumbingCode, State, System, Uniform, Use, critical_depth_m,
        diameter_for_flow_m, froude, shear_pa, slope_for_flow, slope_for_shear,
    },
};
use pyo3::{
    prelude::*,
    types::{PyDict, PyList},
};

use crate::{
    arrays::{Finite, each, each_of, row},
    convert::to_python,
    errors::Failure,
    geometry::bore,
};

/// The words of the states, by their numbers.
const STATES: [State; 5] = [State::One, State::Two, State::AboveCapacity, State::NoFall, State::Backfall];

/// Manning by its n, or Colebrook and White by roughness and viscosity: `rough` is either.
fn friction(law: &str, rough: f64, viscosity: f64) -> Friction {
    match law {
        "manning" => Friction::Manning { n: rough },
        _ => Friction::ColebrookWhite { roughness_m: rough, viscosity_m2_s: viscosity },
    }
}

/// One function of a pipe and one more number.
macro_rules! of_pipe {
    ($($name:ident($field:literal) |$pipe:ident, $x:ident| $value:expr, $doc:literal;)*) => {$(
        #[doc = $doc]
        #[pyfunction]
        #[allow(clippy::too_many_arguments, reason = "a pipe is all of these")]
        pub(crate) fn $name(
            py: Python<'_>,
            x: &Bound<'_, PyAny>,
            width_m: &Bound<'_, PyAny>,
            height_m: &Bound<'_, PyAny>,
            slope: &Bound<'_, PyAny>,
            law: &str,
            rough: &Bound<'_, PyAny>,
            viscosity: &Bound<'_, PyAny>,
        ) -> Result<Py<PyAny>, Failure> {
            let arguments = [($field, x), ("bore_m", width_m), ("bore_m", height_m), ("slope", slope), ("friction", rough), ("viscosity_m2_s", viscosity)];
            each(py, arguments, Finite::Only, |[$x, width, height, slope, rough, viscosity]| {
                let $pipe = Uniform::new(bore([width, height])?, slope, friction(law, rough, viscosity))?;
                $value
            })
        }
    )*};
}

of_pipe! {
    _velocity("depth_m") |pipe, y| Ok(pipe.velocity_m_s(y)), "Mean velocity with water of a depth.";
    _flow("depth_m") |pipe, y| Ok(pipe.flow_m3_s(y)), "Flow with water of a depth.";
    _shear("depth_m") |pipe, y| Ok(shear_pa(&pipe, y)), "Mean boundary shear with water of a depth.";
}

/// Depth, upper depth, condition and number of the state of a flow; NaN for what there is not.
#[pyfunction]
#[allow(clippy::too_many_arguments, reason = "a pipe is all of these")]
pub(crate) fn _normal_depth(
    py: Python<'_>,
    flow_m3_s: &Bound<'_, PyAny>,
    width_m: &Bound<'_, PyAny>,
    height_m: &Bound<'_, PyAny>,
    slope: &Bound<'_, PyAny>,
    law: &str,
    rough: &Bound<'_, PyAny>,
    viscosity: &Bound<'_, PyAny>,
) -> Result<[Py<PyAny>; 4], Failure> {
    let arguments = [
        ("flow_m3_s", flow_m3_s),
        ("bore_m", width_m),
        ("bore_m", height_m),
        ("slope", slope),
        ("friction", rough),
        ("viscosity_m2_s", viscosity),
    ];
    each_of(py, arguments, Finite::Only, |[flow, width, height, slope, rough, viscosity]| {
        let found = Uniform::new(bore([width, height])?, slope, friction(law, rough, viscosity))?.normal_depth(flow)?;
        let number = |value: Option<f64>| value.unwrap_or(f64::NAN);
        let state = STATES.iter().position(|state| *state == found.state).unwrap_or(0);
        Ok([number(found.depth_m), number(found.upper_depth_m), number(found.condition), state as f64])
    })
}

/// Depth and flow of the most that is carried, and the flow of the full bore.
#[pyfunction]
pub(crate) fn _most(
    py: Python<'_>,
    width_m: &Bound<'_, PyAny>,
    height_m: &Bound<'_, PyAny>,
    slope: &Bound<'_, PyAny>,
    law: &str,
    rough: &Bound<'_, PyAny>,
    viscosity: &Bound<'_, PyAny>,
) -> Result<[Py<PyAny>; 3], Failure> {
    let arguments = [
        ("bore_m", width_m),
        ("bore_m", height_m),
        ("slope", slope),
        ("friction", rough),
        ("viscosity_m2_s", viscosity),
    ];
    each_of(py, arguments, Finite::Only, |[width, height, slope, rough, viscosity]| {
        let most = Uniform::new(bore([width, height])?, slope, friction(law, rough, viscosity))?.most();
        Ok([most.depth_m, most.flow_m3_s, most.full_m3_s])
    })
}

/// Critical depth of a flow.
#[pyfunction]
pub(crate) fn _critical_depth(
    py: Python<'_>,
    flow_m3_s: &Bound<'_, PyAny>,
    width_m: &Bound<'_, PyAny>,
    height_m: &Bound<'_, PyAny>,
) -> Result<Py<PyAny>, Failure> {
    let arguments = [("flow_m3_s", flow_m3_s), ("bore_m", width_m), ("bore_m", height_m)];
    each(py, arguments, Finite::Only, |[flow, width, height]| critical_depth_m(bore([width, height])?, flow))
}

/// Froude number.
#[pyfunction]
pub(crate) fn _froude(
    py: Python<'_>,
    depth_m: &Bound<'_, PyAny>,
    flow_m3_s: &Bound<'_, PyAny>,
    width_m: &Bound<'_, PyAny>,
    height_m: &Bound<'_, PyAny>,
) -> Result<Py<PyAny>, Failure> {
    let arguments = [("depth_m", depth_m), ("flow_m3_s", flow_m3_s), ("bore_m", width_m), ("bore_m", height_m)];
    each(py, arguments, Finite::Only, |[depth, flow, width, height]| froude(bore([width, height])?, depth, flow))
}

/// Shear that moves a grain.
#[pyfunction]
pub(crate) fn _critical_shear(py: Python<'_>, grain_m: &Bound<'_, PyAny>) -> Result<Py<PyAny>, Failure> {
    each(py, [("grain_m", grain_m)], Finite::Only, |[grain]| hydraulics::critical_shear_pa(grain))
}

/// Slope at which water of a depth carries a flow; NaN where none does.
#[pyfunction]
#[allow(clippy::too_many_arguments, reason = "a pipe is all of these")]
pub(crate) fn _slope_for_flow(
    py: Python<'_>,
    flow_m3_s: &Bound<'_, PyAny>,
    depth_m: &Bound<'_, PyAny>,
    width_m: &Bound<'_, PyAny>,
    height_m: &Bound<'_, PyAny>,
    law: &str,
    rough: &Bound<'_, PyAny>,
    viscosity: &Bound<'_, PyAny>,
) -> Result<Py<PyAny>, Failure> {
    let arguments = [
        ("flow_m3_s", flow_m3_s),
        ("depth_m", depth_m),
        ("bore_m", width_m),
        ("bore_m", height_m),
        ("friction", rough),
        ("viscosity_m2_s", viscosity),
    ];
    each(py, arguments, Finite::Only, |[flow, depth, width, height, rough, viscosity]| {
        let found = slope_for_flow(bore([width, height])?, friction(law, rough, viscosity), depth, flow)?;
        Ok(found.unwrap_or(f64::NAN))
    })
}

/// Slope at which water of a depth has a shear.
#[pyfunction]
pub(crate) fn _slope_for_shear(
    py: Python<'_>,
    shear_pa: &Bound<'_, PyAny>,
    depth_m: &Bound<'_, PyAny>,
    width_m: &Bound<'_, PyAny>,
    height_m: &Bound<'_, PyAny>,
) -> Result<Py<PyAny>, Failure> {
    let arguments = [("shear_pa", shear_pa), ("depth_m", depth_m), ("bore_m", width_m), ("bore_m", height_m)];
    each(py, arguments, Finite::Only, |[shear, depth, width, height]| {
        slope_for_shear(bore([width, height])?, depth, shear)
    })
}

/// Diameter of a circle that carries a flow; NaN where none does.
#[pyfunction]
pub(crate) fn _diameter_for_flow(
    py: Python<'_>,
    flow_m3_s: &Bound<'_, PyAny>,
    slope: &Bound<'_, PyAny>,
    filling: &Bound<'_, PyAny>,
    law: &str,
    rough: &Bound<'_, PyAny>,
    viscosity: &Bound<'_, PyAny>,
) -> Result<Py<PyAny>, Failure> {
    let arguments = [
        ("flow_m3_s", flow_m3_s),
        ("slope", slope),
        ("filling", filling),
        ("friction", rough),
        ("viscosity_m2_s", viscosity),
    ];
    each(py, arguments, Finite::Only, |[flow, slope, filling, rough, viscosity]| {
        Ok(diameter_for_flow_m(slope, friction(law, rough, viscosity), flow, filling)?.unwrap_or(f64::NAN))
    })
}

/// The words of the states of a normal depth, by their numbers.
#[pyfunction]
pub(crate) fn _states() -> Vec<&'static str> {
    STATES.iter().map(|state| state.as_str()).collect()
}

/// A word of a small enumeration, by serde.
fn word<T: serde::de::DeserializeOwned>(what: &str, given: &str, known: &[&str]) -> Result<T, Failure> {
    let value = serde_json::Value::String(given.to_lowercase());
    Ok(serde_json::from_value(value).map_err(|_| Error::unknown(what, given, known.iter().copied()))?)
}

/// Fixtures with their discharge units in a system: name, lower and upper value; those that have one.
#[pyfunction]
pub(crate) fn _fixtures<'py>(py: Python<'py>, system: &str) -> Result<Bound<'py, PyDict>, Failure> {
    let system: System = word("system", system, &["I", "II", "III", "IV"])?;
    let all = PyDict::new(py);
    for Fixture { name, .. } in hydraulics::fixtures() {
        if let Ok(units) = hydraulics::discharge_unit_l_s(name, system) {
            all.set_item(name, units)?;
        }
    }
    Ok(all)
}

/// Flow of waste water that a drain is designed for.
#[pyfunction]
pub(crate) fn _waste_water_flow(units_l_s: &Bound<'_, PyAny>, used: &str) -> Result<f64, Failure> {
    let used: Use = word("use", used, &["intermittent", "frequent", "congested", "special"])?;
    Ok(hydraulics::waste_water_flow_m3_s(&row("units_l_s", units_l_s)?, used)?)
}

/// What documents say of the roughness of pipes, a dict a row; of one material, where one is given.
#[pyfunction]
#[pyo3(signature = (material=None))]
pub(crate) fn _roughnesses<'py>(py: Python<'py>, material: Option<&str>) -> Result<Bound<'py, PyAny>, Failure> {
    match material {
        Some(material) => to_python(py, &hydraulics::roughness_of(material)?),
        None => to_python(py, &hydraulics::roughnesses()),
    }
}

fn code(given: &str) -> Result<PlumbingCode, Failure> {
    word("code", given, &["ipc", "upc"])
}

/// Fixtures with their units by the two plumbing codes, a dict a row.
#[pyfunction]
pub(crate) fn _fixture_units(py: Python<'_>) -> Result<Bound<'_, PyAny>, Failure> {
    to_python(py, &hydraulics::fixture_units())
}

/// Units of one fixture by a code.
#[pyfunction]
pub(crate) fn _fixture_units_of(fixture: &str, by: &str) -> Result<f64, Failure> {
    Ok(hydraulics::fixture_units_of(fixture, code(by)?)?)
}

/// Units by the size of an outlet.
#[pyfunction]
pub(crate) fn _outlet_fixture_units(outlet: &str) -> Result<Option<f64>, Failure> {
    Ok(hydraulics::outlet_fixture_units(outlet.parse()?)?)
}

/// Units of a continuous flow.
#[pyfunction]
pub(crate) fn _continuous_fixture_units(flow_m3_s: f64, units_per_gal_per_min: f64) -> Result<f64, Failure> {
    Ok(hydraulics::continuous_fixture_units(flow_m3_s, units_per_gal_per_min)?)
}

/// The most units of drains, a dict a row; sizes as texts, which the other functions read.
#[pyfunction]
pub(crate) fn _drain_units(py: Python<'_>) -> Result<Bound<'_, PyList>, Failure> {
    let all = PyList::empty(py);
    for DrainUnits { code, nominal, slope, most_units, source, mark } in hydraulics::drain_units() {
        let row = PyDict::new(py);
        row.set_item("code", code.as_str())?;
        row.set_item("nominal", nominal.to_string())?;
        row.set_item("slope", slope)?;
        row.set_item("most_units", most_units)?;
        row.set_item("source", source)?;
        row.set_item("mark", mark)?;
        all.append(row)?;
    }
    Ok(all)
}

/// The most units of a drain.
#[pyfunction]
pub(crate) fn _most_fixture_units(nominal: &str, slope: f64, by: &str) -> Result<Option<u32>, Failure> {
    Ok(hydraulics::most_fixture_units(nominal.parse()?, slope, code(by)?)?)
}

/// The smallest drain for so many units, as a text.
#[pyfunction]
pub(crate) fn _drain_for_fixture_units(
    units: f64,
    slope: f64,
    serves_wc: bool,
    by: &str,
) -> Result<Option<String>, Failure> {
    Ok(hydraulics::drain_for_fixture_units(units, slope, serves_wc, code(by)?)?.map(|nominal| nominal.to_string()))
}
