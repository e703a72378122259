//! The schema against records that are right and records that are wrong.

use jsonschema::Validator;
use serde_json::Value;

use super::record_schema;
use crate::record;
use crate::record::tests::trade;
use crate::source::Sources;

const RIGHT: [&str; 4] = [
    "\
record: 1
lot: VM-07
place: [ aldmoor/velder_mills, aldmoor/upper_quarn ]
permits: { plumbing: { number: 117, issued: 2026-03-02 }, electrical: }
recorded: { by: R. Ames, role: crew_lead, date: 2026-04-18 }
stage: before_cover
tolerances: { length: 1/4 in, elevation: 0.02 ft, slope: 1 %, others: exact }
datum: benchmark on the hydrant
site: { frost_depth: 30 in, bends: 3, ground_temperature: 50 degF, soil: }
supply_cables:
  - id: SC-1
    length: 62 ft
    conduit_fall: 1/4 in/ft
    spans:
      - { from: 0 ft, to: 3 ft, wiring: pvc_80, ribbon: yes, cover: [ 24 in, 24 1/4 in ± 1 in ] }
      - { cover: { reads: 2'-6\", how: measured, by: R. Ames, date: 2026-04-18 } }
      - more
building_sewers: [ { nominal_size: 2 1/2 in, shots: [ { at: 0 ft, invert: 809.10 ft } ] } ]
wells: none
clearances: [ {} ]
",
    "{ record: 1, lot: 7, place: a/b, permits: none, recorded: { date: 2026-04-18 }, stage: start_up, tolerances: exact }",
    "{ record: 1, lot: 7, place: a/b, permits: none, recorded: { date: 2026-04-18 }, stage: start_up, tolerances: exact, wells: , variances: none }",
    r#"{ "record": 1, "lot": "A", "place": "a/b", "permits": "none", "recorded": { "date": "2026-04-18" }, "stage": "start_up", "tolerances": "exact", "wells": [ { "depth": "120 ft" }, "more" ] }"#,
];

/// What is put in place of what in the first record above.
const WRONG: [(&str, &str); 19] = [
    ("stage: before_cover", "stage: befor_cover"),
    ("stage: before_cover\n", ""),
    ("record: 1", "record: 2"),
    ("frost_depth: 30 in", "frost_depth: 30"),
    ("frost_depth: 30 in", "frost_depth: \"30\""),
    ("frost_depth: 30 in", "frost_depht: 30 in"),
    ("wells: none", "wells: []"),
    ("wells: none", "wells: { id: W-1 }"),
    ("wells: none", "wells: [ W-1 ]"),
    ("wells: none", "welds: none"),
    ("wiring: pvc_80", "wiring: pvc_90"),
    ("ribbon: yes", "ribbon: maybe"),
    ("nominal_size: 2 1/2 in", "nominal_size: 5 in"),
    ("conduit_fall: 1/4 in/ft", "conduit_fall: 0.02"),
    ("conduit_fall: 1/4 in/ft", "conduit_fall: \"1:48\""),
    ("how: measured", "how: guessed"),
    ("reads: 2'-6\"", "read: 2 ft"),
    ("others: exact", "others: 1/4 in"),
    ("length: 1/4 in", "length: 0.25"),
];

fn validator() -> Validator {
    let schema = record_schema(&trade::vocabulary());
    jsonschema::draft202012::meta::validate(&schema).expect("a schema");
    jsonschema::draft202012::new(&schema).expect("a schema")
}

/// A record as an editor's YAML reader sees it.
fn as_json(text: &str) -> Value {
    serde_yaml::from_str(text).expect("well-formed YAML")
}

#[test]
fn right_records_fit_the_schema_and_the_reader() {
    let validator = validator();
    for text in RIGHT {
        let errors: Vec<_> = validator
            .iter_errors(&as_json(text))
            .map(|error| error.to_string())
            .collect();
        assert!(errors.is_empty(), "{text}\n{errors:#?}");
        assert_eq!(told(text), Vec::<String>::new(), "{text}");
    }
}

#[test]
fn wrong_records_fit_neither() {
    let validator = validator();
    for (from, to) in WRONG {
        assert!(RIGHT[0].contains(from), "{from} is not there");
        let text = RIGHT[0].replacen(from, to, 1);
        assert!(
            !validator.is_valid(&as_json(&text)),
            "the schema takes {to}"
        );
        assert!(!told(&text).is_empty(), "the reader takes {to}");
    }
}

fn told(text: &str) -> Vec<String> {
    let mut sources = Sources::default();
    let id = sources.add("a.yaml", text);
    match record::read(&trade::vocabulary(), &sources, id) {
        Ok(_) => Vec::new(),
        Err(mistakes) => mistakes
            .iter()
            .map(|mistake| mistake.error.to_string())
            .collect(),
    }
}
