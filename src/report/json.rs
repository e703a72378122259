//! The contract: one JSON document a record, and its schema.

use crate::finding::Report;

/// A report as one line of JSON, without its line break.
pub fn line(report: &Report) -> String {
    serde_json::to_string(report).expect("a report holds only what JSON can say")
}

/// The schema that every line follows.
pub fn schema() -> serde_json::Value {
    let mut schema = schemars::schema_for!(Report);
    schema.insert(
        "description".to_owned(),
        "One document a record, a line each. It screens; it approves nothing.".into(),
    );
    schema.into()
}
