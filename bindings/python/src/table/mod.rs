//! Rows of the core's answers as one table class: columns to numpy, pandas, Arrow, dicts.
//!
//! | file | contents |
//! | --- | --- |
//! | this one | the Python class |
//! | `columns` | rows of any plain struct as columns |
//! | `arrow` | columns by the Arrow PyCapsule interface |

#[cfg(feature = "arrow")]
mod arrow;
mod columns;

use std::{fmt::Write as _, sync::Arc};

use fallwise::{
    error::nearest,
    units::{Words, column as shown_in},
};
use numpy::PyArray1;
use pyo3::{
    IntoPyObjectExt,
    exceptions::{PyAttributeError, PyIndexError, PyKeyError},
    prelude::*,
    types::{PyDict, PyList, PySlice, PyTuple},
};
use serde::{Serialize, de::DeserializeOwned};

use crate::{errors::Failure, work::caught};
use columns::{Column, Values};

/// Rows that a notebook shows.
const SHOWN: usize = 20;

/// A table of figures and sentences. Nothing in it changes.
///
/// `len(table)` is the number of rows; `table[0]` is a row as a dict, `table[1:3]` a list of them, and
/// iteration goes over rows.
/// `table["slope"]` and `table.slope` are a column as a new numpy array; `"slope" in table` asks whether there
/// is one. What is not
/// determined is NaN in an array of numbers, and `None` elsewhere. pandas, polars and Arrow take it as it is by
/// the Arrow PyCapsule
/// interface, such as `polars.DataFrame(table)`.
#[pyclass(frozen, module = "fallwise", eq)]
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Table {
    title: String,
    rows: usize,
    columns: Arc<Vec<Column>>,
}

impl Table {
    /// A table of rows; `title` says of what.
    pub(crate) fn of<T: Serialize + DeserializeOwned>(title: &str, rows: &[T]) -> Result<Self, Failure> {
        let columns = columns::of_rows(rows)
            .map_err(|e| Failure::Core(fallwise::Error::value(title, e, "rows of numbers, texts and truth values")))?;
        Ok(Self { title: title.to_owned(), rows: rows.len(), columns: Arc::new(columns) })
    }

    /// The same with a first column, `id`, that says of which lateral each row is.
    pub(crate) fn keyed<T: Serialize + DeserializeOwned>(
        title: &str,
        ids: &[Arc<str>],
        rows: &[T],
    ) -> Result<Self, Failure> {
        let table = Self::of(title, rows)?;
        let ids = ids.iter().map(|id| Some(id.to_string())).collect();
        let mut columns = vec![Column { name: "id".to_owned(), nullable: false, values: Values::Text(ids) }];
        columns.extend(table.columns.iter().cloned());
        Ok(Self { columns: Arc::new(columns), ..table })
    }

    fn find(&self, name: &str) -> Option<&Column> {
        self.columns.iter().find(|column| column.name == name)
    }

    /// Says which column there is nearest to the one asked for.
    fn not_found(&self, name: &str) -> String {
        let near = nearest(name, self.columns.iter().map(|c| c.name.as_str()));
        let near = near.map_or_else(String::new, |near| format!(" (did you mean \"{near}\"?)"));
        format!("{} has no column \"{name}\"{near}", self.title)
    }

    fn row<'py>(&self, py: Python<'py>, row: usize) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        for column in self.columns.iter() {
            dict.set_item(&column.name, column.value(py, row)?)?;
        }
        Ok(dict)
    }

    /// In the units of a wording.
    fn converted(&self, units: &str) -> Result<Self, Failure> {
        if units == "si" {
            return Ok(self.clone());
        }
        let words: Words = units.parse().map_err(|_| fallwise::Error::unknown("units", units, ["si", "us", "uk"]))?;
        let convert = |column: &Column| match (shown_in(&column.name, words), &column.values) {
            (Some((name, convert)), Values::Float(values)) => Column {
                name,
                nullable: column.nullable,
                values: Values::Float(values.iter().map(|value| value.map(convert)).collect()),
            },
            _ => column.clone(),
        };
        Ok(Self { columns: Arc::new(self.columns.iter().map(convert).collect()), ..self.clone() })
    }
}

impl Column {
    fn value(&self, py: Python<'_>, row: usize) -> PyResult<Py<PyAny>> {
        match &self.values {
            Values::Float(values) => values.get(row).copied().flatten().into_py_any(py),
            Values::Int(values) => values.get(row).copied().flatten().into_py_any(py),
            Values::Bool(values) => values.get(row).copied().flatten().into_py_any(py),
            Values::Text(values) => values.get(row).cloned().flatten().into_py_any(py),
        }
    }

    fn list<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyList>> {
        match &self.values {
            Values::Float(values) => PyList::new(py, values),
            Values::Int(values) => PyList::new(py, values),
            Values::Bool(values) => PyList::new(py, values),
            Values::Text(values) => PyList::new(py, values),
        }
    }

    /// A new numpy array. What is absent is NaN among numbers, `None` among texts and truth values.
    fn array(&self, py: Python<'_>) -> PyResult<Py<PyAny>> {
        let nan = |value: &Option<f64>| value.unwrap_or(f64::NAN);
        Ok(match &self.values {
            Values::Float(values) => PyArray1::from_iter(py, values.iter().map(nan)).into_any().unbind(),
            Values::Int(values) if !self.nullable => {
                PyArray1::from_iter(py, values.iter().map(|value| value.unwrap_or_default())).into_any().unbind()
            }
            Values::Int(values) => {
                // Numbers of rows and the like, which a double holds.
                let float = |value: &Option<i64>| value.map_or(f64::NAN, |value| value as f64);
                PyArray1::from_iter(py, values.iter().map(float)).into_any().unbind()
            }
            Values::Bool(values) if !self.nullable => {
                PyArray1::from_iter(py, values.iter().map(|value| value.unwrap_or_default())).into_any().unbind()
            }
            Values::Bool(_) | Values::Text(_) => {
                let objects = (0..self.values.len()).map(|row| self.value(py, row)).collect::<PyResult<Vec<_>>>()?;
                PyArray1::from_vec(py, objects).into_any().unbind()
            }
        })
    }

    fn kind(&self) -> &'static str {
        match self.values {
            Values::Float(_) => "float",
            Values::Int(_) => "int",
            Values::Bool(_) => "bool",
            Values::Text(_) => "text",
        }
    }
}

#[pymethods]
impl Table {
    /// What the rows are of.
    #[getter]
    fn title(&self) -> &str {
        &self.title
    }

    /// Names of the columns, in order.
    #[getter]
    fn columns(&self) -> Vec<&str> {
        self.columns.iter().map(|column| column.name.as_str()).collect()
    }

    fn __len__(&self) -> usize {
        self.rows
    }

    /// A column by its name, a row by its number from 0, or rows by a slice.
    fn __getitem__(&self, py: Python<'_>, key: &Bound<'_, PyAny>) -> PyResult<Py<PyAny>> {
        if let Ok(name) = key.extract::<String>() {
            let column = self.find(&name).ok_or_else(|| PyKeyError::new_err(self.not_found(&name)))?;
            return column.array(py);
        }
        if let Ok(slice) = key.cast::<PySlice>() {
            let rows = slice.indices(isize::try_from(self.rows).unwrap_or(isize::MAX))?;
            let list = PyList::empty(py);
            let mut at = rows.start;
            for _ in 0..rows.slicelength {
                list.append(self.row(py, usize::try_from(at).unwrap_or_default())?)?;
                at += rows.step;
            }
            return list.into_py_any(py);
        }
        let row: isize = key.extract()?;
        let count = isize::try_from(self.rows).unwrap_or(isize::MAX);
        let from_start = if row < 0 { row + count } else { row };
        match usize::try_from(from_start).ok().filter(|row| *row < self.rows) {
            Some(row) => self.row(py, row)?.into_py_any(py),
            None => Err(PyIndexError::new_err(format!("{} has {} rows, no row {row}", self.title, self.rows))),
        }
    }

    fn __getattr__(&self, py: Python<'_>, name: &str) -> PyResult<Py<PyAny>> {
        match self.find(name) {
            Some(column) => column.array(py),
            None => Err(PyAttributeError::new_err(self.not_found(name))),
        }
    }

    fn __dir__<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyList>> {
        let py = slf.py();
        let names = py.import("builtins")?.getattr("object")?.call_method1("__dir__", (slf,))?.cast_into::<PyList>()?;
        for column in slf.get().columns.iter() {
            names.append(&column.name)?;
        }
        Ok(names)
    }

    fn __iter__<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        self.to_rows(py)?.call_method0("__iter__")
    }

    fn __contains__(&self, name: &str) -> bool {
        self.find(name).is_some()
    }

    /// The rows, each as a dict by the names of columns.
    fn to_rows<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyList>> {
        PyList::new(py, (0..self.rows).map(|row| self.row(py, row)).collect::<PyResult<Vec<_>>>()?)
    }

    /// The columns, each as a list; `None` for what is not determined.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        for column in self.columns.iter() {
            dict.set_item(&column.name, column.list(py)?)?;
        }
        Ok(dict)
    }

    /// The same table in other units, which the names of the columns tell: `from_m` becomes `from_ft`.
    ///
    /// Parameters
    /// ----------
    /// units : {"si", "us", "uk"}
    ///     SI and radians; or percent and degrees, with feet and gallons, or with metres and litres.
    ///
    /// Returns
    /// -------
    /// Table
    ///     The same rows.
    ///
    /// Raises
    /// ------
    /// UnknownWordError
    ///     No such units.
    fn to_units(&self, units: &str) -> Result<Self, Failure> {
        caught(|| self.converted(units))
    }

    /// A pandas data frame, in other units if asked. pandas must be installed.
    ///
    /// Parameters
    /// ----------
    /// units : {"si", "us", "uk"}
    ///     SI and radians; or percent and degrees, with feet and gallons, or with metres and litres.
    ///
    /// Returns
    /// -------
    /// pandas.DataFrame
    ///     The rows; whole numbers and truth values that may be absent have the types `Int64` and `boolean`.
    #[pyo3(signature = (*, units = "si"))]
    fn to_pandas<'py>(&self, py: Python<'py>, units: &str) -> Result<Bound<'py, PyAny>, Failure> {
        let table = caught(|| self.converted(units))?;
        let pandas = py.import("pandas")?;
        let data = PyDict::new(py);
        for column in table.columns.iter() {
            let dtype = match (&column.values, column.nullable) {
                (Values::Int(_), true) => Some("Int64"),
                (Values::Bool(_), true) => Some("boolean"),
                _ => None,
            };
            match dtype {
                Some(dtype) => data.set_item(&column.name, pandas.call_method1("array", (column.list(py)?, dtype))?)?,
                None => data.set_item(&column.name, column.array(py)?)?,
            }
        }
        Ok(pandas.call_method1("DataFrame", (data,))?)
    }

    /// The type of the rows, by the Arrow PyCapsule interface.
    #[cfg(feature = "arrow")]
    fn __arrow_c_schema__<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        Ok(arrow::schema_capsule(py, &self.columns)?.into_any())
    }

    /// The rows as one struct array, by the Arrow PyCapsule interface.
    #[cfg(feature = "arrow")]
    #[pyo3(signature = (requested_schema = None))]
    fn __arrow_c_array__<'py>(
        &self,
        py: Python<'py>,
        requested_schema: Option<&Bound<'py, PyAny>>,
    ) -> PyResult<Bound<'py, PyTuple>> {
        let _ = requested_schema; // a wish, which the interface allows to be passed over
        let (schema, array) = arrow::array_capsules(py, &self.columns)?;
        PyTuple::new(py, [schema, array])
    }

    /// The rows as a stream of one batch, by the Arrow PyCapsule interface.
    #[cfg(feature = "arrow")]
    #[pyo3(signature = (requested_schema = None))]
    fn __arrow_c_stream__<'py>(
        &self,
        py: Python<'py>,
        requested_schema: Option<&Bound<'py, PyAny>>,
    ) -> PyResult<Bound<'py, PyAny>> {
        let _ = requested_schema;
        Ok(arrow::stream_capsule(py, &self.columns)?.into_any())
    }

    fn __repr__(&self) -> String {
        let names = self.columns().join(", ");
        let rows = if self.rows == 1 { "row" } else { "rows" };
        format!("<fallwise.Table \"{}\": {} {rows} of {names}>", self.title, self.rows)
    }

    fn _repr_html_(&self, py: Python<'_>) -> PyResult<String> {
        let mut html = String::from("<table><thead><tr>");
        for column in self.columns.iter() {
            let _ = write!(html, "<th>{}</th>", escaped(&column.name));
        }
        html.push_str("</tr></thead><tbody>");
        for row in 0..self.rows.min(SHOWN) {
            html.push_str("<tr>");
            for column in self.columns.iter() {
                let cell = match &column.values {
                    Values::Float(values) => match values.get(row).copied().flatten() {
                        Some(value) => {
                            pyo3::types::PyFloat::new(py, value).call_method1("__format__", (".6g",))?.to_string()
                        }
                        None => String::new(),
                    },
                    Values::Text(values) => values.get(row).cloned().flatten().unwrap_or_default(),
                    _ => column.value(py, row)?.bind(py).str()?.to_string(),
                };
                let _ = write!(html, "<td>{}</td>", escaped(&cell));
            }
            html.push_str("</tr>");
        }
        html.push_str("</tbody></table>");
        if self.rows > SHOWN {
            let _ = write!(html, "<p>{SHOWN} of {} rows</p>", self.rows);
        }
        Ok(html)
    }

    fn __copy__(slf: Py<Self>) -> Py<Self> {
        slf
    }

    fn __deepcopy__(slf: Py<Self>, memo: &Bound<'_, PyAny>) -> Py<Self> {
        let _ = memo; // nothing in it changes
        slf
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<(Bound<'py, PyAny>, Bound<'py, PyTuple>)> {
        let columns = self.columns.iter().map(|c| Ok((&c.name, c.kind(), c.nullable, c.list(py)?)));
        let columns = PyList::new(py, columns.collect::<PyResult<Vec<_>>>()?)?;
        let state = PyTuple::new(
            py,
            [self.title.clone().into_py_any(py)?, self.rows.into_py_any(py)?, columns.into_py_any(py)?],
        )?;
        Ok((py.import("fallwise._core")?.getattr("_table")?, state))
    }
}

/// What a column is pickled as: name, type, whether values may be absent, values.
type Pickled<'py> = (String, String, bool, Bound<'py, PyAny>);

/// A table as it was pickled.
#[pyfunction]
#[pyo3(name = "_table")]
pub(crate) fn unpickled(title: String, rows: usize, columns: Vec<Pickled<'_>>) -> PyResult<Table> {
    let column = |(name, kind, nullable, list): Pickled<'_>| -> PyResult<Column> {
        let values = match kind.as_str() {
            "float" => Values::Float(list.extract()?),
            "int" => Values::Int(list.extract()?),
            "bool" => Values::Bool(list.extract()?),
            _ => Values::Text(list.extract()?),
        };
        Ok(Column { name, nullable, values })
    };
    let columns = columns.into_iter().map(column).collect::<PyResult<Vec<_>>>()?;
    if columns.iter().any(|c| c.values.len() != rows) {
        return Err(
            Failure::Core(fallwise::Error::value("columns", "not equally long", "as many values as rows")).into()
        );
    }
    Ok(Table { title, rows, columns: Arc::new(columns) })
}

/// Text as it may stand in HTML.
pub(crate) fn escaped(text: &str) -> String {
    fallwise::text::visible(text).replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
