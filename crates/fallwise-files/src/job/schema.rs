//! JSON Schema of a job (as JSON), of a result and of a comparison, made from the very structs that read and write them.

use schemars::{Schema, generate::SchemaSettings};

use super::form::JobForm;

/// Schema of the text form of a job, as JSON.
pub fn job_schema() -> Schema {
    SchemaSettings::draft2020_12().into_generator().into_root_schema_for::<JobForm>()
}

/// Schema of `result.json`.
pub fn result_schema() -> Schema {
    SchemaSettings::draft2020_12().into_generator().into_root_schema_for::<fallwise::Answers>()
}

/// Schema of `comparison.json`.
pub fn comparison_schema() -> Schema {
    SchemaSettings::draft2020_12().into_generator().into_root_schema_for::<fallwise::answers::Comparison>()
}
