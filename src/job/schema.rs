//! JSON Schema of the job file, made from the same types that read it.

use super::load::JobTables;
use schemars::SchemaGenerator;

/// The schema, for editors that complete and check job files.
#[must_use]
pub fn schema() -> serde_json::Value {
    SchemaGenerator::default().into_root_schema_for::<JobTables>().to_value()
}
