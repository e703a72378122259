//! The published schemas are those of the code, and hold for what the program reads and writes.

use std::path::{Path, PathBuf};

use groundrule::finding::Report;
use groundrule::forms::record_schema;
use groundrule::judge;
use groundrule::library::{Opened, embedded, open};
use groundrule::record;
use groundrule::report::json;
use groundrule::source::Sources;
use jsonschema::Validator;
use serde_json::{Value, json};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn library() -> Opened {
    open(&embedded()).expect("the embedded library has no mistakes")
}

fn demo_lots() -> Vec<(String, String)> {
    let mut paths: Vec<PathBuf> = Vec::new();
    for place in std::fs::read_dir(root().join("demo")).expect("the demo is there") {
        let folder = place.expect("an entry").path();
        for entry in std::fs::read_dir(folder).expect("a folder of lots") {
            let path = entry.expect("an entry").path();
            if path.extension().is_some_and(|ending| ending == "yaml") {
                paths.push(path);
            }
        }
    }
    paths.sort();
    paths
        .into_iter()
        .map(|path| {
            let name = path.strip_prefix(root()).expect("inside").display();
            let text = std::fs::read_to_string(&path).expect("a readable file");
            (name.to_string(), text)
        })
        .collect()
}

/// Holds a published file against what the code makes, or writes it.
fn is_current(file: &str, schema: &Value) {
    let path = root().join("shared/schemas").join(file);
    let made = serde_json::to_string_pretty(schema).expect("a schema is JSON") + "\n";
    if std::env::var_os("GROUNDRULE_WRITE").is_some() {
        std::fs::write(&path, &made).expect("the schema can be written");
    }
    let published = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        published == made,
        "shared/schemas/{file} is not what the code makes; make it again with `GROUNDRULE_WRITE=1 cargo test --test schemas`"
    );
}

fn validator(schema: &Value) -> Validator {
    jsonschema::draft202012::meta::validate(schema).expect("a schema of the 2020-12 draft");
    jsonschema::draft202012::new(schema).expect("a schema of the 2020-12 draft")
}

fn mistakes(validator: &Validator, document: &Value) -> Vec<String> {
    validator
        .iter_errors(document)
        .map(|error| format!("{}: {error}", error.instance_path()))
        .collect()
}

fn findings(opened: &Opened, name: &str, text: &str) -> Value {
    let mut sources = Sources::default();
    let id = sources.add(name, text);
    let record = record::read(&opened.library.vocabulary, &sources, id)
        .unwrap_or_else(|errors| panic!("{name}: {errors:?}"));
    let judged = judge::report(opened.setting(), record, &sources, id)
        .unwrap_or_else(|errors| panic!("{name}: {errors:?}"));
    let line = json::line(&judged.report);
    assert!(!line.contains('\n'), "{name}: a line each");
    let again: Report = serde_json::from_str(&line).expect("the contract reads back");
    assert_eq!(again, judged.report, "{name}");
    serde_json::from_str(&line).expect("a line is one JSON document")
}

#[test]
fn the_published_schemas_are_those_of_the_code() {
    is_current("findings.schema.json", &json::schema());
    let opened = library();
    is_current(
        "record.schema.json",
        &record_schema(&opened.library.vocabulary),
    );
}

#[test]
fn the_findings_of_every_demo_lot_follow_the_schema() {
    let opened = library();
    let validator = validator(&json::schema());
    let lots = demo_lots();
    assert!(lots.len() >= 8, "only {} lots", lots.len());
    for (name, text) in &lots {
        let document = findings(&opened, name, text);
        assert_eq!(mistakes(&validator, &document), [""; 0], "{name}");
        let told = document["findings"].as_array().map_or(0, Vec::len);
        assert!(told > 20, "{name} has {told} findings");
    }
}

#[test]
fn every_demo_lot_follows_the_schema_of_records() {
    let opened = library();
    let validator = validator(&record_schema(&opened.library.vocabulary));
    for (name, text) in demo_lots() {
        let document: Value = serde_yaml::from_str(&text).expect("well-formed YAML");
        assert_eq!(mistakes(&validator, &document), [""; 0], "{name}");
    }
}

#[test]
fn wrong_records_do_not_follow_it() {
    let opened = library();
    let validator = validator(&record_schema(&opened.library.vocabulary));
    let (_, text) = demo_lots().swap_remove(0);
    let right: Value = serde_yaml::from_str(&text).expect("well-formed YAML");
    let wrong: [(&str, Value); 5] = [
        ("stage", json!("when it suits")),
        ("tolerances", json!({ "length": 0.25 })),
        ("wells", json!([])),
        ("sump_pumps", json!("none")),
        ("site", json!({ "frost_depth": 36 })),
    ];
    for (key, value) in wrong {
        let mut document = right.clone();
        document[key] = value;
        assert!(!validator.is_valid(&document), "`{key}` is let through");
    }
    for key in ["lot", "place", "permits", "recorded", "stage", "tolerances"] {
        let mut document = right.clone();
        document.as_object_mut().expect("a mapping").remove(key);
        assert!(!validator.is_valid(&document), "`{key}` may be left out");
    }
}

#[test]
fn mangled_findings_do_not_follow_it() {
    let opened = library();
    let validator = validator(&json::schema());
    let (name, text) = demo_lots().swap_remove(0);
    let right = findings(&opened, &name, &text);
    let wrong: [(&str, Value); 6] = [
        ("verdict", json!("passes")),
        ("due", json!(null)),
        (
            "where",
            json!([{ "path": "site", "line": "3", "column": 1 }]),
        ),
        ("margin", json!(4)),
        (
            "si",
            json!({ "measured": [0.6], "limit": null, "margin": null, "unit": "m" }),
        ),
        ("clauses", json!([{ "source": "nec_2023" }])),
    ];
    for (key, value) in wrong {
        let mut document = right.clone();
        document["findings"][0][key] = value;
        assert!(!validator.is_valid(&document), "`{key}` is let through");
    }
    for key in ["rule", "verdict", "banded", "as_read", "caution", "clauses"] {
        let mut document = right.clone();
        let finding = document["findings"][0].as_object_mut();
        finding.expect("a finding").remove(key);
        assert!(!validator.is_valid(&document), "`{key}` may be left out");
    }
}

/// The order of the contract: a finding's fields, those that may be null among them.
#[test]
fn a_finding_has_the_fields_of_the_contract_in_its_order() {
    let contract = [
        "rule",
        "title",
        "obligation",
        "verdict",
        "decision",
        "banded",
        "as_read",
        "due",
        "subject",
        "measured",
        "limit",
        "margin",
        "si",
        "missing",
        "where",
        "clauses",
        "limits",
        "permit",
        "in_force_on",
        "variance",
        "remedy",
        "hold",
        "hazard",
        "caution",
    ];
    let opened = library();
    for (name, text) in demo_lots() {
        let document = findings(&opened, &name, &text);
        for finding in document["findings"].as_array().expect("findings") {
            let fields: Vec<&str> = finding
                .as_object()
                .expect("a finding")
                .keys()
                .map(String::as_str)
                .filter(|key| contract.contains(key))
                .collect();
            assert_eq!(fields, contract, "{name}: {}", finding["rule"]);
        }
    }
}
