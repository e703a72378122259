//! A worksheet asks for everything that decides: filled in, it gives the findings of the lot.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use groundrule::finding::Finding;
use groundrule::forms::{self, Worksheet};
use groundrule::judge::{self, Judged};
use groundrule::layers;
use groundrule::library::{Opened, embedded, open};
use groundrule::record::error::Mistakes;
use groundrule::record::tree::{Node, NodeKind};
use groundrule::record::yaml;
use groundrule::record::{self, Record};
use groundrule::source::{SourceId, Sources};
use serde_json::{Map, Value};

static LIBRARY: LazyLock<Opened> =
    LazyLock::new(|| open(&embedded()).expect("the embedded library opens"));

fn demo_lots() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo");
    let files = walkdir::WalkDir::new(folder).sort_by_file_name();
    let paths = files
        .into_iter()
        .map(|entry| entry.expect("demo is readable"));
    paths
        .map(|entry| entry.path().to_owned())
        .filter(|path| path.extension().is_some_and(|ending| ending == "yaml"))
        .collect()
}

/// A record with its plan, where it names one.
fn read(sources: &mut Sources, path: &Path, text: &str) -> Record {
    let vocabulary = &LIBRARY.library.vocabulary;
    let id = sources.add(path.to_string_lossy(), text);
    let record = record::read(vocabulary, sources, id)
        .unwrap_or_else(|errors| panic!("{}: {errors:?}\n{text}", path.display()));
    let Some(plan) = &record.head.plan else {
        return record;
    };
    let plan = path.with_file_name(&plan.file.value);
    let plan_text = std::fs::read_to_string(&plan).expect("the plan lies beside its record");
    let plan_id = sources.add(plan.to_string_lossy(), plan_text);
    record::plan::attach(vocabulary, record, sources, plan_id).expect("the plan fits its record")
}

fn findings(path: &Path, text: &str) -> Vec<Finding> {
    let mut sources = Sources::default();
    let record = read(&mut sources, path, text);
    let id = record.head.lot.span.source;
    let Judged { report, .. } = judge::report(LIBRARY.setting(), record, &sources, id)
        .unwrap_or_else(|errors| panic!("{}: {errors:?}", path.display()));
    let mut findings = report
        .findings
        .expect("a record that was read has findings");
    for finding in &mut findings {
        // Where a reading stands is the one thing that a worksheet moves.
        finding.places.clear();
    }
    findings
}

/// The worksheet of a lot's places and dates, and the record to fill in; with what is recorded
/// already, or blank.
fn blank(path: &Path, text: &str, filled_in: bool) -> (Worksheet, String) {
    let mut sources = Sources::default();
    let record = read(&mut sources, path, text);
    let id = record.head.lot.span.source;
    let library = &LIBRARY.library;
    let places = judge::places(library, &record, &sources).expect("its places are known");
    let in_force = layers::in_force(library, &places, &judge::dates(&record))
        .expect("no topic is claimed twice");
    let recorded = filled_in.then_some((&record, &sources));
    let asked = forms::Asked::of(library, &LIBRARY.survey, &in_force);
    let sheet = forms::worksheet(
        library,
        &LIBRARY.survey,
        &in_force,
        &asked,
        &places,
        recorded,
    );
    let tree = filled_in.then(|| tree(&sources, id));
    let blank = forms::blank_record(library, &asked, &sheet, tree.as_ref());
    (sheet, blank)
}

fn tree(sources: &Sources, id: SourceId) -> Node<'_> {
    let mut mistakes = Mistakes::default();
    yaml::parse(sources, id, &mut mistakes).expect("the record was read before")
}

#[test]
fn what_is_recorded_already_reads_back_to_the_findings_of_its_lot() {
    let lots = demo_lots();
    assert!(lots.len() >= 17, "the demo has its lots: {}", lots.len());
    for path in lots {
        let text = std::fs::read_to_string(&path).expect("a demo lot is readable");
        let (_, filled) = blank(&path, &text, true);
        similar(&path, &findings(&path, &filled), &findings(&path, &text));
    }
}

#[test]
fn a_blank_record_asks_for_everything_that_decides() {
    for path in demo_lots() {
        let text = std::fs::read_to_string(&path).expect("a demo lot is readable");
        let (_, blank) = blank(&path, &text, false);
        let template: Value =
            serde_yaml::from_str(&uncommented(&blank)).expect("a blank record is YAML");
        let mut sources = Sources::default();
        let id = sources.add("lot", text.as_str());
        let filled = fill(&template, &tree(&sources, id), true).to_string();
        similar(&path, &findings(&path, &filled), &findings(&path, &text));
    }
}

/// Each line of a worksheet names a fact that a record may have, once, and who reads it.
#[test]
fn each_fact_stands_once_on_a_worksheet() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo/velder_mills/lot_07.yaml");
    let text = std::fs::read_to_string(&path).expect("a demo lot is readable");
    let (sheet, _) = blank(&path, &text, false);
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    for hold in &sheet.holds {
        for person in &hold.people {
            assert!(person.title.is_some(), "{}", hold.hold);
            for reading in &person.readings {
                *seen.entry(&reading.path).or_default() += 1;
            }
        }
    }
    assert!(seen.len() > 100, "{}", seen.len());
    let twice: Vec<_> = seen.iter().filter(|(_, times)| **times > 1).collect();
    assert_eq!(twice, Vec::new());
}

/// The town asks 30 in since 2025-01-01, the model 24 in: the sheet shows the limit of the permit.
#[test]
fn a_worksheet_shows_the_limit_in_force_on_the_permits_date() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo/velder_mills/lot_07.yaml");
    let text = std::fs::read_to_string(&path).expect("a demo lot is readable");
    let words = |text: &str| {
        let (sheet, _) = blank(&path, text, false);
        let people = sheet.holds.into_iter().flat_map(|hold| hold.people);
        let mut readings = people
            .filter(|person| person.person.as_deref() == Some("electrician"))
            .flat_map(|person| person.readings);
        let cover = readings.find(|reading| reading.path == "supply_cables.spans.cover");
        let cover = cover.expect("the electrician reads the cover of the supply");
        assert_eq!(cover.missed, "pothole");
        cover.asks[0].words.clone()
    };
    let now = words(&text);
    assert!(now.contains("30 in (direct_burial, yard"), "{now}");
    let before = words(&text.replace("issued: 2026-03-19", "issued: 2024-03-19"));
    assert!(before.contains("24 in (direct_burial, yard"), "{before}");
}

fn similar(path: &Path, found: &[Finding], wanted: &[Finding]) {
    for (found, wanted) in found.iter().zip(wanted) {
        assert_eq!(found, wanted, "{}", path.display());
    }
    assert_eq!(found.len(), wanted.len(), "{}", path.display());
}

/// The text with its sample entries taken out of their comments.
fn uncommented(blank: &str) -> String {
    let (_, body) = blank
        .split_once("record: 1")
        .expect("the head follows the notes");
    let lines = body.lines();
    let lines: Vec<&str> = lines
        .map(|line| line.strip_prefix("# ").unwrap_or(line))
        .collect();
    format!("record: 1{}", lines.join("\n"))
}

/// What a person would write who copies from a record what a blank one asks for, and nothing else.
fn fill(template: &Value, node: &Node, is_head: bool) -> Value {
    match (template, &node.kind) {
        (Value::Object(wanted), NodeKind::Mapping(entries)) => {
            let entries = entries.iter().filter_map(|entry| {
                let key = &*entry.key.value;
                let value = match wanted.get(key) {
                    Some(inner) if key == "site" || inner.is_array() => {
                        fill(inner, &entry.value, false)
                    }
                    Some(_) => dumped(&entry.value),
                    None if key == "id" || (is_head && is_of_the_head(key)) => dumped(&entry.value),
                    None => names_alone(&entry.value)?,
                };
                Some((key.to_owned(), value))
            });
            Value::Object(entries.collect::<Map<_, _>>())
        }
        (Value::Array(samples), NodeKind::Sequence(elements)) => {
            let elements = elements.iter().map(|element| match samples.first() {
                Some(sample) => fill(sample, element, false),
                None => dumped(element),
            });
            Value::Array(elements.collect())
        }
        _ => dumped(node),
    }
}

/// The ids of things of which nothing is asked: a plan may speak of them.
fn names_alone(list: &Node) -> Option<Value> {
    let named = list
        .elements()?
        .iter()
        .filter_map(|element| element.get("id"));
    let named: Vec<Value> = named
        .map(|id| serde_json::json!({ "id": dumped(id) }))
        .collect();
    (!named.is_empty()).then_some(Value::Array(named))
}

fn is_of_the_head(key: &str) -> bool {
    record::HEAD_KEYS.contains(&key)
}

fn dumped(node: &Node) -> Value {
    match &node.kind {
        NodeKind::Empty | NodeKind::Unreadable => Value::Null,
        NodeKind::Scalar(scalar) => Value::String(scalar.text.to_string()),
        NodeKind::Sequence(elements) => Value::Array(elements.iter().map(dumped).collect()),
        NodeKind::Mapping(entries) => {
            let entries = entries.iter();
            Value::Object(
                entries
                    .map(|entry| (entry.key.value.to_string(), dumped(&entry.value)))
                    .collect(),
            )
        }
    }
}
