//! The published schemas are what the code generates, and what it writes and reads follows them.
//!
//! The judge of that is `jsonschema`, a library of the registry that knows nothing of this program.

use std::path::{Path, PathBuf};

use groundrule::forms::record_schema;
use groundrule::judge::{self, Setting};
use groundrule::library::{Opened, embedded, open};
use groundrule::record;
use groundrule::report::json;
use groundrule::source::Sources;
use serde_json::Value;

/// Set to write the schemas instead of comparing them.
const WRITE: &str = "GROUNDRULE_WRITE";

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn opened() -> Opened {
    open(&embedded()).expect("the library inside the program opens")
}

fn is_current(name: &str, generated: &Value) {
    let file = root().join("shared/schemas").join(name);
    let text = serde_json::to_string_pretty(generated).expect("JSON") + "\n";
    if std::env::var_os(WRITE).is_some() {
        std::fs::write(&file, text).expect("the schema can be written");
        return;
    }
    let published = std::fs::read_to_string(&file).unwrap_or_default();
    assert!(
        published == text,
        "shared/schemas/{name} is not what the code generates; write it again with \
         `{WRITE}=1 cargo test --test schemas` and look at the difference"
    );
}

fn demo_records() -> Vec<PathBuf> {
    let mut found = Vec::new();
    for folder in ["demo/velder_mills", "demo/hask_ferry", "demo/quern_landing"] {
        for entry in std::fs::read_dir(root().join(folder)).expect("a folder of the demo") {
            let path = entry.expect("an entry").path();
            if path.extension().is_some_and(|ending| ending == "yaml") {
                found.push(path);
            }
        }
    }
    found.sort();
    assert!(found.len() >= 8, "the demo has at least eight lots");
    found
}

#[test]
fn the_schema_of_records_is_current() {
    is_current(
        "record.schema.json",
        &record_schema(&opened().library.vocabulary),
    );
}

#[test]
fn the_schema_of_findings_is_current() {
    is_current("findings.schema.json", &json::schema());
}

#[test]
fn every_demo_record_follows_the_schema_of_records() {
    let schema = record_schema(&opened().library.vocabulary);
    let validator = jsonschema::validator_for(&schema).expect("a schema");
    for path in demo_records() {
        let text = std::fs::read_to_string(&path).expect("a record");
        let value: Value = serde_yaml::from_str(&text).expect("YAML");
        let errors: Vec<String> = validator
            .iter_errors(&value)
            .map(|error| format!("{}: {error}", error.instance_path()))
            .collect();
        assert!(
            errors.is_empty(),
            "{}\n{}",
            path.display(),
            errors.join("\n")
        );
    }
}

#[test]
fn the_findings_of_every_demo_record_follow_the_schema_of_findings() {
    let opened = opened();
    let validator = jsonschema::validator_for(&json::schema()).expect("a schema");
    for path in demo_records() {
        let text = std::fs::read_to_string(&path).expect("a record");
        let mut sources = Sources::default();
        let id = sources.add(path.display().to_string(), text);
        let record = record::read(&opened.library.vocabulary, &sources, id).expect("it reads");
        let setting = Setting {
            library: &opened.library,
            survey: &opened.survey,
            ruleset_digest: &opened.digest,
        };
        let judged = judge::report(setting, record, &sources, id).expect("it is judged");
        let line = json::line(&judged.report);
        assert!(!line.contains('\n'), "a line each");
        let mut value: Value = serde_json::from_str(&line).expect("JSON");
        let errors: Vec<String> = validator
            .iter_errors(&value)
            .map(|error| format!("{}: {error}", error.instance_path()))
            .collect();
        assert!(
            errors.is_empty(),
            "{}\n{}",
            path.display(),
            errors.join("\n")
        );
        // A schema that lets everything through would prove nothing.
        value["findings"][0]["verdict"] = "passes".into();
        assert!(!validator.is_valid(&value));
        let again: groundrule::finding::Report =
            serde_json::from_str(&line).expect("the contract reads back");
        assert_eq!(again, judged.report);
    }
}
