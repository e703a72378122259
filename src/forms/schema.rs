//! A JSON Schema (2020-12) for records, so that editors complete and check them as they are typed.
//!
//! It says less than the reader of records does: a text that fits the schema may still be wrong
//! (a unit of another dimension, an id twice), and the reader tells. What the schema refuses, the
//! reader refuses too. Some YAML readers take `yes` for a truth and `007` for a number before a
//! schema sees them, so that both forms are let through.

use serde_json::{Map, Value, json};

use crate::language::syntax::Origin;
use crate::quantity::Dimension;
use crate::record::{
    HOWS, PERMIT_KEYS, READING_KEYS, RECORDED_KEYS, VARIANCE_KEYS, tolerance_names,
};
use crate::vocabulary::{Fact, List, PointKind, SITE, Scale, Thing, Type, Vocabulary};

/// A number and anything after it that is no number: its unit.
const WITH_UNIT: &str = r"^\s*[-−]?\s*[0-9].*[^0-9./\s]";
/// A number, perhaps with a unit.
const NUMBER: &str = r"^\s*[-−]?\s*[0-9]";
/// A number and a unit with `/` in it, or per cent.
const SLOPE: &str = r"^\s*[-−]?\s*[0-9].*([^0-9\s]\s*/|%)";
const DATE: &str = "^[0-9]{4}-[0-9]{2}-[0-9]{2}$";

/// The schema of records under a vocabulary.
pub fn record_schema(vocabulary: &Vocabulary) -> Value {
    let mut properties = head(vocabulary);
    properties.insert("site".into(), site(vocabulary));
    for list in &vocabulary.thing(SITE).lists {
        properties.insert(list.name.clone(), list_schema(vocabulary, list));
    }
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Record of an installation",
        "description": "One lot of a pressure sewer as it was recorded. Every quantity carries its unit; what is left out is not recorded.",
        "type": "object",
        "properties": properties,
        "required": ["record", "lot", "place", "permits", "recorded", "stage", "tolerances"],
        "additionalProperties": false,
        "$defs": definitions(vocabulary),
    })
}

// The head.

fn head(vocabulary: &Vocabulary) -> Map<String, Value> {
    let place = json!({
        "description": "The place, or the places, whose rules are in force: paths such as state/county/municipality.",
        "anyOf": [ reference("words"), { "type": "array", "items": reference("words"), "minItems": 1 } ],
    });
    let stage = json!({
        "description": "The hold point the work has come to.",
        "enum": vocabulary.holds.iter().map(|hold| hold.name.as_str()).collect::<Vec<_>>(),
    });
    let mut keys = Map::new();
    keys.insert(
        "record".into(),
        json!({ "description": "The format of the file.", "enum": [1, "1"] }),
    );
    keys.insert("lot".into(), described("words", "Which lot this is."));
    keys.insert("place".into(), place);
    keys.insert("permits".into(), permits(vocabulary));
    keys.insert("recorded".into(), recorded());
    keys.insert("stage".into(), stage);
    keys.insert("tolerances".into(), tolerances());
    let datum = "What the elevations are above, where any is recorded.";
    keys.insert(
        "datum".into(),
        json!({ "description": datum, "anyOf": [reference("words"), { "type": "null" }] }),
    );
    keys.insert("plan".into(), plan());
    keys.insert("variances".into(), variances());
    keys
}

fn permits(vocabulary: &Vocabulary) -> Value {
    let mut kinds = Map::new();
    for kind in &vocabulary.permits {
        kinds.insert(kind.name.clone(), described("permit", &kind.text));
    }
    json!({
        "description": "The permits of the lot, one a kind at the most.",
        "anyOf": [ { "const": "none" }, closed(kinds, &[]) ],
    })
}

fn permit() -> Value {
    let mut keys = Map::new();
    for key in PERMIT_KEYS {
        let kind = if key == "number" { "words" } else { "day" };
        keys.insert(key.into(), optional(kind));
    }
    let mut permit = closed(keys, &[]);
    permit["type"] = json!(["object", "null"]);
    permit
}

fn recorded() -> Value {
    let mut keys = Map::new();
    for key in RECORDED_KEYS {
        keys.insert(
            key.into(),
            if key == "date" {
                reference("day")
            } else {
                optional("words")
            },
        );
    }
    let mut recorded = closed(keys, &["date"]);
    recorded["description"] = json!("Who recorded this, in what role, and on which day.");
    recorded
}

fn tolerances() -> Value {
    let mut types = Map::new();
    for name in tolerance_names() {
        types.insert(name.into(), tolerance(name));
    }
    types.insert(
        "others".into(),
        json!({ "description": "All types that are not named here.", "const": "exact" }),
    );
    json!({
        "description": "How far a reading without a tolerance of its own may be off, by type.",
        "anyOf": [ { "const": "exact" }, closed(types, &[]) ],
    })
}

fn tolerance(name: &str) -> Value {
    let is_number = Type::named(name) == Some(Type::Quantity(Dimension::NUMBER));
    let pattern = match name {
        "slope" => SLOPE,
        _ if is_number => NUMBER,
        _ => WITH_UNIT,
    };
    let mut kinds = vec![
        json!({ "const": "exact" }),
        json!({ "type": "string", "pattern": pattern }),
        json!({ "type": "null" }),
    ];
    if is_number {
        kinds.push(json!({ "type": "number", "minimum": 0 }));
    }
    json!({ "anyOf": kinds })
}

fn plan() -> Value {
    let mut keys = Map::new();
    keys.insert(
        "file".into(),
        described("words", "Its name, from the record's folder."),
    );
    let mut off = tolerance("length");
    off["description"] = json!("How far a northing or an easting may be off.");
    keys.insert("tolerance".into(), off);
    let mut plan = closed(keys, &["file", "tolerance"]);
    plan["type"] = json!(["object", "null"]);
    plan["description"] = json!(
        "A GeoJSON file that gives the places of things in plan: each feature's property `id` is a thing's id."
    );
    plan
}

fn variances() -> Value {
    let mut keys = Map::new();
    for key in VARIANCE_KEYS {
        let schema = match key {
            "date" => reference("day"),
            "until" => json!({ "anyOf": [ reference("day"), { "const": "no end" } ] }),
            _ => reference("words"),
        };
        keys.insert(key.into(), schema);
    }
    json!({
        "description": "Variances that the record claims; those of the place's own ruleset count without it.",
        "anyOf": [
            { "enum": ["none", null] },
            { "type": "array", "items": closed(keys, &VARIANCE_KEYS), "minItems": 1 },
        ],
    })
}

// Things.

fn site(vocabulary: &Vocabulary) -> Value {
    let site = vocabulary.thing(SITE);
    let mut keys = facts(vocabulary, site);
    keys.insert("id".into(), optional("words"));
    let mut schema = closed(keys, &[]);
    schema["description"] = json!(site.meaning);
    schema["type"] = json!(["object", "null"]);
    schema
}

fn thing(vocabulary: &Vocabulary, thing: &Thing) -> Value {
    let mut keys = Map::new();
    keys.insert("id".into(), optional("words"));
    keys.extend(facts(vocabulary, thing));
    for list in &thing.lists {
        keys.insert(list.name.clone(), list_schema(vocabulary, list));
    }
    let mut schema = closed(keys, &[]);
    schema["title"] = json!(thing.name);
    schema["description"] = json!(thing.meaning);
    schema
}

fn facts(vocabulary: &Vocabulary, thing: &Thing) -> Map<String, Value> {
    let schema = |fact: &Fact| (fact.name.clone(), fact_schema(vocabulary, fact));
    thing.facts.iter().map(schema).collect()
}

fn fact_schema(vocabulary: &Vocabulary, fact: &Fact) -> Value {
    let origin = match fact.origin {
        Origin::Measured => "measured",
        Origin::Stated => "stated",
    };
    let by = fact
        .by
        .as_ref()
        .map_or(String::new(), |by| format!(", by {by}"));
    let kind = vocabulary.type_name(fact.kind);
    described(
        &type_definition(vocabulary, fact.kind),
        &format!("{} ({kind}, {origin}{by})", fact.meaning),
    )
}

fn list_schema(vocabulary: &Vocabulary, list: &List) -> Value {
    let of = thing_definition(vocabulary.thing(list.of));
    json!({
        "description": format!("{}. `none` if there are none; `more` as the last entry if there may be others.", list.meaning),
        "anyOf": [
            { "enum": ["none", null] },
            { "type": "array", "minItems": 1, "items": { "anyOf": [ reference(&of), { "const": "more" } ] } },
        ],
    })
}

// Definitions.

fn definitions(vocabulary: &Vocabulary) -> Map<String, Value> {
    let mut all = Map::new();
    all.insert("words".into(), words());
    all.insert(
        "day".into(),
        json!({ "type": "string", "pattern": DATE, "examples": ["2026-04-18"] }),
    );
    all.insert("permit".into(), permit());
    for name in Type::NAMES {
        if let Some(kind) = Type::named(name) {
            let definition = type_definition(vocabulary, kind);
            add_readings(&mut all, definition, scalar(vocabulary, kind));
        }
    }
    for scale in &vocabulary.scales {
        add_readings(&mut all, scale_definition(scale), labels(scale));
    }
    for one in vocabulary.things.iter().skip(1) {
        all.insert(thing_definition(one), thing(vocabulary, one));
    }
    all
}

/// A text; what looks like a number or a truth is one to some YAML readers.
fn words() -> Value {
    json!({ "anyOf": [ { "type": "string", "pattern": r"\S" }, { "type": ["number", "boolean"] } ] })
}

/// One reading or several, short or long, with the definitions that they are made of.
fn add_readings(all: &mut Map<String, Value>, name: String, scalar: Value) {
    let value = format!("{name}_value");
    let long = format!("{name}_reading");
    let mut keys = Map::new();
    for key in READING_KEYS {
        let schema = match key {
            "reads" => optional(&value),
            "how" => json!({ "enum": HOWS.iter().map(|(name, _)| *name).collect::<Vec<_>>() }),
            "date" => optional("day"),
            _ => optional("words"),
        };
        keys.insert(key.into(), schema);
    }
    let either = json!([reference(&value), reference(&long)]);
    let readings = json!({
        "anyOf": [
            reference(&value),
            reference(&long),
            { "type": "array", "minItems": 1, "items": { "anyOf": either } },
            { "type": "null" },
        ],
    });
    all.insert(value, scalar);
    all.insert(long, closed(keys, &["reads"]));
    all.insert(name, readings);
}

fn scalar(vocabulary: &Vocabulary, kind: Type) -> Value {
    match kind {
        Type::Quantity(dimension) if dimension.is_number() => {
            json!({ "anyOf": [ { "type": "number" }, { "type": "string", "pattern": NUMBER } ] })
        }
        Type::Quantity(dimension) => with_unit(dimension.example_unit().unwrap_or("in")),
        Type::Slope => {
            json!({ "type": "string", "pattern": SLOPE, "examples": ["1/4 in/ft", "2 %"] })
        }
        Type::Point(PointKind::Date) => {
            json!({ "type": "string", "pattern": DATE, "examples": ["2026-04-18"] })
        }
        Type::Point(PointKind::Temperature) => with_unit("degF"),
        Type::Point(PointKind::Elevation | PointKind::PublicElevation | PointKind::Chainage) => {
            with_unit("ft")
        }
        Type::YesNo => json!({ "enum": ["yes", "no", true, false] }),
        Type::Text | Type::Reference => words(),
        Type::Label(scale) => labels(vocabulary.scale(scale)),
    }
}

fn with_unit(unit: &str) -> Value {
    json!({ "type": "string", "pattern": WITH_UNIT, "examples": [format!("12 {unit}"), format!("2.5 {unit} ± 0.1 {unit}")] })
}

fn labels(scale: &Scale) -> Value {
    let labels: Vec<Value> = scale
        .places
        .iter()
        .flatten()
        .flat_map(|label| [Some(json!(label)), misread(label)])
        .flatten()
        .collect();
    json!({ "title": scale.name, "description": scale.meaning, "enum": labels })
}

/// What a YAML reader may take a label for.
fn misread(label: &str) -> Option<Value> {
    match label {
        "yes" | "on" => Some(json!(true)),
        "no" | "off" => Some(json!(false)),
        label => label.parse::<serde_json::Number>().ok().map(Value::Number),
    }
}

fn type_definition(vocabulary: &Vocabulary, kind: Type) -> String {
    match kind {
        Type::Label(scale) => scale_definition(vocabulary.scale(scale)),
        Type::YesNo => "type_yes_no".into(),
        Type::Quantity(_) | Type::Slope | Type::Point(_) | Type::Text | Type::Reference => {
            format!("type_{}", vocabulary.type_name(kind).replace(' ', "_"))
        }
    }
}

fn scale_definition(scale: &Scale) -> String {
    format!("label_{}", scale.name)
}

fn thing_definition(thing: &Thing) -> String {
    format!("thing_{}", thing.name)
}

fn reference(definition: &str) -> Value {
    json!({ "$ref": format!("#/$defs/{definition}") })
}

fn described(definition: &str, description: &str) -> Value {
    json!({ "description": description, "$ref": format!("#/$defs/{definition}") })
}

fn optional(definition: &str) -> Value {
    json!({ "anyOf": [ reference(definition), { "type": "null" } ] })
}

/// An object that has these keys and no others.
fn closed(properties: Map<String, Value>, required: &[&str]) -> Value {
    json!({
        "type": "object",
        "properties": properties,
        "required": required,
        "additionalProperties": false,
    })
}
