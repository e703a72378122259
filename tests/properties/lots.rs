//! The same properties of the lots and the library that the project ships.

use std::collections::BTreeSet;

use groundrule::library::{Opened, embedded};
use groundrule::quantity::{Dimension, Rational, parse};
use groundrule::vocabulary::{Member, PointKind, SITE, ThingId, Type};
use serde_json::{Map, Value};

use super::judged::{Way, by_subject, definite_ones_stood_before, findings, judged, opened};

/// What no rule reads.
const HEAD: [&str; 9] = [
    "record",
    "lot",
    "place",
    "permits",
    "recorded",
    "stage",
    "tolerances",
    "datum",
    "variances",
];

/// Each lot: its name and its record.
fn lots() -> Vec<(String, Value)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/demo/velder_mills");
    let mut lots = Vec::new();
    for entry in std::fs::read_dir(folder).expect("the demo lots are there") {
        let path = entry.expect("a file").path();
        let name = path
            .file_name()
            .expect("a name")
            .to_string_lossy()
            .into_owned();
        if name.starts_with("lot_") && name.ends_with(".yaml") {
            let text = std::fs::read_to_string(&path).expect("a text");
            let mut record = serde_yaml::from_str(&text).expect("YAML");
            say_yes_and_no(&mut record);
            lots.push((name, record));
        }
    }
    lots.sort_by(|one, two| one.0.cmp(&two.0));
    assert!(lots.len() >= 8, "the demo has lots enough");
    lots
}

/// Writes truths as records do.
fn say_yes_and_no(value: &mut Value) {
    match value {
        Value::Bool(truth) => *value = Value::from(if *truth { "yes" } else { "no" }),
        Value::Object(keys) => keys.values_mut().for_each(say_yes_and_no),
        Value::Array(elements) => elements.iter_mut().for_each(say_yes_and_no),
        Value::Null | Value::Number(_) | Value::String(_) => {}
    }
}

/// A step to a value: a key, or a place in a list.
#[derive(Debug, Clone)]
enum Step {
    Key(String),
    At(usize),
}

/// Ways to everything below the head that can be deleted.
fn facts(record: &Value) -> Vec<Vec<Step>> {
    let mut found = Vec::new();
    let Value::Object(keys) = record else {
        panic!("a record is a mapping")
    };
    for (key, value) in keys {
        if !HEAD.contains(&key.as_str()) {
            let way = vec![Step::Key(key.clone())];
            below(value, way, &mut found);
        }
    }
    found
}

fn below(value: &Value, way: Vec<Step>, found: &mut Vec<Vec<Step>>) {
    found.push(way.clone());
    let and = |step| [way.clone(), vec![step]].concat();
    match value {
        Value::Object(keys) if !keys.contains_key("reads") => {
            for (key, value) in keys {
                below(value, and(Step::Key(key.clone())), found);
            }
        }
        Value::Array(elements) => {
            for (at, value) in elements
                .iter()
                .enumerate()
                .filter(|(_, value)| value.is_object())
            {
                below(value, and(Step::At(at)), found);
            }
        }
        _ => {}
    }
}

/// The record without what lies at the end of a way, and without references to what is gone.
fn without(record: &Value, way: &[Step]) -> Value {
    let mut left = record.clone();
    let (last, around) = way.split_last().expect("a way has a step");
    let mut at = &mut left;
    for step in around {
        at = match step {
            Step::Key(key) => &mut at[key.as_str()],
            Step::At(index) => &mut at[*index],
        };
    }
    match (last, at) {
        (Step::Key(key), Value::Object(keys)) => {
            keys.shift_remove(key);
        }
        (Step::At(index), Value::Array(elements)) => {
            elements.remove(*index);
            if elements.last() != Some(&Value::from("more")) {
                elements.push(Value::from("more"));
            }
        }
        _ => panic!("a way leads through mappings and lists"),
    }
    let (mut before, mut after) = (BTreeSet::new(), BTreeSet::new());
    ids(record, &mut before);
    ids(&left, &mut after);
    let gone: BTreeSet<_> = before.difference(&after).cloned().collect();
    let keys = left.as_object_mut().into_iter().flatten();
    keys.filter(|(key, _)| !HEAD.contains(&key.as_str()))
        .for_each(|(_, value)| forget(value, &gone));
    left
}

fn ids(value: &Value, found: &mut BTreeSet<String>) {
    match value {
        Value::Object(keys) => {
            found.extend(keys.get("id").and_then(Value::as_str).map(str::to_owned));
            keys.values().for_each(|value| ids(value, found));
        }
        Value::Array(elements) => elements.iter().for_each(|value| ids(value, found)),
        _ => {}
    }
}

fn forget(value: &mut Value, gone: &BTreeSet<String>) {
    match value {
        Value::Object(keys) => {
            keys.retain(|_, value| !value.as_str().is_some_and(|word| gone.contains(word)));
            keys.values_mut().for_each(|value| forget(value, gone));
        }
        Value::Array(elements) => elements.iter_mut().for_each(|value| forget(value, gone)),
        _ => {}
    }
}

/// A subject's path as first written.
fn first_path(way: &[Step], path: &str) -> String {
    let Some((Step::At(removed), around)) = way.split_last() else {
        return path.to_owned();
    };
    let mut list = String::new();
    for step in around {
        match step {
            Step::Key(key) if list.is_empty() => list = key.clone(),
            Step::Key(key) => list = format!("{list}.{key}"),
            Step::At(index) => list = format!("{list}[{index}]"),
        }
    }
    let after = path
        .strip_prefix(&format!("{list}["))
        .and_then(|rest| rest.split_once(']'));
    let Some((number, rest)) = after else {
        return path.to_owned();
    };
    let number: usize = number.parse().expect("a path numbers its elements");
    format!(
        "{list}[{}]{rest}",
        if number >= *removed {
            number + 1
        } else {
            number
        }
    )
}

#[test]
fn deleting_any_fact_of_a_demo_lot_passes_nothing() {
    let opened = opened(&embedded());
    for (name, record) in lots() {
        let before = judged(&opened, &record.to_string()).expect("rules are in force");
        if findings(&before)
            .iter()
            .any(|finding| finding.rule == "record.agrees")
        {
            continue;
        }
        let known = by_subject(&before, str::to_owned);
        for way in facts(&record) {
            let left = without(&record, &way);
            let after = judged(&opened, &left.to_string()).expect("rules are in force");
            let less = by_subject(&after, |path| first_path(&way, path));
            let checked = definite_ones_stood_before(&less, &known, Way::Banded);
            assert_eq!(checked, Ok(()), "{name} without {way:?}");
            let is_passed = after.exit_status == 0 && before.exit_status != 0;
            assert!(!is_passed, "{name} without {way:?} has exit status 0");
        }
    }
}

#[test]
fn metres_in_place_of_feet_and_inches_change_nothing_at_a_demo_lot() {
    let opened = opened(&embedded());
    for (name, record) in lots() {
        let mut metric = record.clone();
        let changed = in_metres(&opened, SITE, &mut metric);
        assert!(changed > 0, "{name} has lengths");
        let one = judged(&opened, &record.to_string()).expect("rules are in force");
        let two = judged(&opened, &metric.to_string()).expect("rules are in force");
        let said = |report: &groundrule::finding::Report| -> Vec<_> {
            let each = findings(report).iter();
            each.map(|found| {
                let paths: Vec<_> = found
                    .subject
                    .iter()
                    .map(|subject| subject.path.clone())
                    .collect();
                (
                    found.rule.clone(),
                    paths,
                    found.verdict,
                    found.banded,
                    found.as_read,
                    found.due,
                )
            })
            .collect()
        };
        assert_eq!(said(&one), said(&two), "{name}");
        assert_eq!(one.exit_status, two.exit_status, "{name}");
    }
}

/// Writes every length, elevation and chainage of a thing in metres; says how many.
fn in_metres(opened: &Opened, kind: ThingId, thing: &mut Value) -> usize {
    let mut changed = 0;
    let Value::Object(keys) = thing else { return 0 };
    for (key, value) in keys {
        if kind == SITE && key == "site" {
            changed += in_metres(opened, SITE, value);
            continue;
        }
        let declared = opened.library.vocabulary.thing(kind);
        match declared.members.get(key) {
            Some(Member::List(list)) => {
                let of = declared.list(*list).of;
                let elements = value.as_array_mut().into_iter().flatten();
                changed += elements
                    .map(|element| in_metres(opened, of, element))
                    .sum::<usize>();
            }
            Some(Member::Fact(fact)) => match declared.fact(*fact).kind {
                Type::Quantity(Dimension::LENGTH)
                | Type::Point(PointKind::Elevation | PointKind::Chainage) => {
                    changed += readings_in_metres(value)
                }
                _ => {}
            },
            None => {}
        }
    }
    changed
}

fn readings_in_metres(value: &mut Value) -> usize {
    match value {
        Value::String(written) => {
            let read = parse::quantity(written).expect("a length");
            let count =
                |number: Rational| format!("{}/{} m", number.numerator(), number.denominator());
            let tolerance = read
                .tolerance
                .map(|tolerance| format!(" ± {}", count(tolerance)));
            *written = format!("{}{}", count(read.nominal), tolerance.unwrap_or_default());
            1
        }
        Value::Array(several) => several.iter_mut().map(readings_in_metres).sum(),
        Value::Object(long) => {
            let long: &mut Map<_, _> = long;
            long.get_mut("reads").map_or(0, readings_in_metres)
        }
        Value::Null | Value::Bool(_) | Value::Number(_) => 0,
    }
}
