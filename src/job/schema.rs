//! JSON Schema of the job file, made from the same types that read it.

use super::load::JobTables;
use schemars::SchemaGenerator;

/// The schema, for editors that complete and check job files; `rules` are the names that `[rules]` may use.
#[must_use]
pub fn schema(rules: &[&str]) -> serde_json::Value {
    let mut schema = SchemaGenerator::default().into_root_schema_for::<JobTables>().to_value();
    if let Some(table) = schema.pointer_mut("/properties/rules").and_then(|table| table.as_object_mut()) {
        table.insert("propertyNames".to_owned(), serde_json::json!({ "enum": rules }));
    }
    schema
}
