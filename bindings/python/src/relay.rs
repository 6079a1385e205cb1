//! What to re-lay.

use std::sync::Arc;

use fallwise::answers::RelayAnswer as Core;
use pyo3::{prelude::*, types::PyTuple};

use crate::{
    answers::{from_json, to_json},
    convert::to_python,
    errors::Failure,
    table::Table,
};

/// What to re-lay at least cost under the costs given, or why there is no such plan: what `Lateral.relay` gives.
///
/// Nothing in it changes. It is no recommendation.
#[pyclass(frozen, module = "fallwise", eq)]
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct RelayAnswer(pub(crate) Arc<Core>);

#[pymethods]
impl RelayAnswer {
    /// `plan`, `as_it_is` (nothing has to be re-laid), `no_plan` (there is none) or `refused` (it cannot be told).
    #[getter]
    fn outcome(&self) -> &str {
        &self.0.outcome
    }

    /// What came of it and what to know of it, in whole sentences, most important first.
    #[getter]
    fn sentences(&self) -> Vec<String> {
        self.0.sentences.clone()
    }

    /// Probability asked of each piece.
    #[getter]
    fn confidence(&self) -> f64 {
        self.0.confidence
    }

    /// What the money is called.
    #[getter]
    fn currency(&self) -> &str {
        &self.0.currency
    }

    /// Of all stretches, under the costs given; `None` without a plan.
    #[getter]
    fn cost(&self) -> Option<f64> {
        self.0.cost
    }

    /// Probability that all pieces and connections are as asked together; `None` without draws or plan.
    #[getter]
    fn joint_probability(&self) -> Option<f64> {
        self.0.joint_probability
    }

    /// Bounds of it, however errors hang together; `None` without a plan.
    #[getter]
    fn joint_bounds(&self) -> Option<(f64, f64)> {
        self.0.joint_low.zip(self.0.joint_high)
    }

    /// Lowering of the last invert with which there would be a plan, m; `None` where there is one, or where it does not help.
    #[getter]
    fn lower_outlet_m(&self) -> Option<f64> {
        self.0.lower_outlet_m
    }

    /// Stretches to re-lay, along the flow: one trench each.
    #[getter]
    fn stretches(&self) -> Result<Table, Failure> {
        Table::of("relay.stretches", &self.0.stretches)
    }

    /// All of the pipe as it would be, along the flow.
    #[getter]
    fn pieces(&self) -> Result<Table, Failure> {
        Table::of("relay.pieces", &self.0.pieces)
    }

    /// Inverts where a stretch may begin or bends, now and after the plan.
    #[getter]
    fn nodes(&self) -> Result<Table, Failure> {
        Table::of("relay.nodes", &self.0.nodes)
    }

    /// What an estimator prices.
    #[getter]
    fn quantities(&self) -> Result<Table, Failure> {
        Table::of("relay.quantities", &self.0.quantities)
    }

    /// Sections of which each by itself proves that there is no plan.
    #[getter]
    fn short(&self) -> Result<Table, Failure> {
        Table::of("relay.short", &self.0.short)
    }

    /// Everything as dicts, lists, numbers and texts, by the names of `result.json`.
    fn to_dict<'py>(&self, py: Python<'py>) -> Result<Bound<'py, PyAny>, Failure> {
        to_python(py, &*self.0)
    }

    fn __repr__(&self) -> String {
        let first = self.0.sentences.first().map_or("", String::as_str);
        format!("{first}\n<fallwise.RelayAnswer: {}>", self.0.outcome)
    }

    fn __copy__(slf: Py<Self>) -> Py<Self> {
        slf
    }

    fn __deepcopy__(slf: Py<Self>, memo: &Bound<'_, PyAny>) -> Py<Self> {
        let _ = memo; // nothing in it changes
        slf
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> Result<(Bound<'py, PyAny>, Bound<'py, PyTuple>), Failure> {
        let state = (to_json(&*self.0)?,).into_pyobject(py)?;
        Ok((py.import("fallwise._core")?.getattr("_relay")?, state))
    }
}

/// A plan as it was pickled.
#[pyfunction]
#[pyo3(name = "_relay")]
pub(crate) fn unpickled(text: &str) -> Result<RelayAnswer, Failure> {
    Ok(RelayAnswer(Arc::new(from_json(text)?)))
}
