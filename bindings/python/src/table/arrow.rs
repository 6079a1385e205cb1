//! A table by the Arrow PyCapsule interface: <https://arrow.apache.org/docs/format/CDataInterface/PyCapsuleInterface.html>.

use std::sync::Arc;

use arrow_array::{
    Array, ArrayRef, BooleanArray, Float64Array, Int64Array, RecordBatch, RecordBatchIterator, StringArray,
    StructArray,
    ffi::{FFI_ArrowSchema, to_ffi},
    ffi_stream::FFI_ArrowArrayStream,
};
use arrow_schema::{ArrowError, DataType, Field, Schema};
use pyo3::{exceptions::PyRuntimeError, prelude::*, types::PyCapsule};

use super::columns::{Column, Values};

fn fault(error: &ArrowError) -> PyErr {
    PyRuntimeError::new_err(error.to_string())
}

fn schema(columns: &[Column]) -> Schema {
    let kind = |values: &Values| match values {
        Values::Float(_) => DataType::Float64,
        Values::Int(_) => DataType::Int64,
        Values::Bool(_) => DataType::Boolean,
        Values::Text(_) => DataType::Utf8,
    };
    Schema::new(columns.iter().map(|c| Field::new(&c.name, kind(&c.values), c.nullable)).collect::<Vec<_>>())
}

fn batch(columns: &[Column]) -> PyResult<RecordBatch> {
    let arrays = columns.iter().map(|column| -> ArrayRef {
        match &column.values {
            Values::Float(values) => Arc::new(Float64Array::from(values.clone())),
            Values::Int(values) => Arc::new(Int64Array::from(values.clone())),
            Values::Bool(values) => Arc::new(BooleanArray::from(values.clone())),
            Values::Text(values) => Arc::new(StringArray::from(values.clone())),
        }
    });
    RecordBatch::try_new(Arc::new(schema(columns)), arrays.collect()).map_err(|e| fault(&e))
}

/// `arrow_schema`.
pub(super) fn schema_capsule<'py>(py: Python<'py>, columns: &[Column]) -> PyResult<Bound<'py, PyCapsule>> {
    let schema = FFI_ArrowSchema::try_from(&schema(columns)).map_err(|e| fault(&e))?;
    PyCapsule::new_with_value(py, schema, c"arrow_schema")
}

/// `arrow_schema` and `arrow_array`: the rows as a struct array.
pub(super) fn array_capsules<'py>(
    py: Python<'py>,
    columns: &[Column],
) -> PyResult<(Bound<'py, PyCapsule>, Bound<'py, PyCapsule>)> {
    let rows = StructArray::from(batch(columns)?);
    let (array, schema) = to_ffi(&rows.to_data()).map_err(|e| fault(&e))?;
    Ok((PyCapsule::new_with_value(py, schema, c"arrow_schema")?, PyCapsule::new_with_value(py, array, c"arrow_array")?))
}

/// `arrow_array_stream`, of one batch.
pub(super) fn stream_capsule<'py>(py: Python<'py>, columns: &[Column]) -> PyResult<Bound<'py, PyCapsule>> {
    let batch = batch(columns)?;
    let schema = batch.schema();
    let stream = FFI_ArrowArrayStream::new(Box::new(RecordBatchIterator::new([Ok(batch)], schema)));
    PyCapsule::new_with_value(py, stream, c"arrow_array_stream")
}
