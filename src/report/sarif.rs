//! Findings in the Static Analysis Results Interchange Format, SARIF 2.1.0 (OASIS, 2020), which
//! code hosts and editors show beside the line that they are about.
//!
//! A document is written in three parts, so that an archive's need not be held: what comes before
//! the results, the results of each record, what comes after.

use serde_json::{Value, json};

use super::terminal::subject_words;
use crate::check::typed::Library;
use crate::finding::{Due, Finding, Obligation, Place, Report, ReportedError, STANDING, Verdict};

/// Where the schema of the format is published.
const SCHEMA: &str =
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";
/// The rule of what can't be read.
const UNREADABLE: &str = "record.unreadable";

/// The beginning of a document: the tool and all rules of its library.
pub fn before(library: &Library, ruleset_digest: &str) -> String {
    let own = [
        (
            "record.permit",
            "The record names its permits, and they were valid",
        ),
        (
            "record.agrees",
            "The readings of one value agree within their tolerances",
        ),
        (UNREADABLE, "The record can be read"),
    ];
    let own = own.map(|(id, title)| json!({ "id": id, "shortDescription": { "text": title } }));
    let rules = library.rules.iter().map(|rule| {
        json!({
            "id": rule.id,
            "shortDescription": { "text": rule.title },
            "help": { "text": rule.remedy },
        })
    });
    let rules: Vec<Value> = own.into_iter().chain(rules).collect();
    let tool = json!({
        "driver": {
            "name": env!("CARGO_PKG_NAME"),
            "version": env!("CARGO_PKG_VERSION"),
            "fullDescription": { "text": STANDING },
            "properties": { "rulesetDigest": ruleset_digest },
            "rules": rules,
        }
    });
    format!(
        "{{\"version\":\"2.1.0\",\"$schema\":\"{SCHEMA}\",\"runs\":[{{\"columnKind\":\"unicodeCodePoints\",\"tool\":{tool},\"results\":["
    )
}

/// The end of a document.
pub fn after() -> &'static str {
    "\n]}]}\n"
}

/// The results of one record, separated by commas.
pub fn results(report: &Report) -> String {
    let findings = report.findings.iter().flatten();
    let errors = report.errors.iter().flatten();
    let results = findings
        .map(|finding| result(report, finding))
        .chain(errors.map(|error| unreadable(report, error)));
    let lines: Vec<String> = results.map(|result| format!("\n{result}")).collect();
    lines.join(",")
}

fn result(report: &Report, finding: &Finding) -> Value {
    let places = finding.places.iter();
    let mut locations: Vec<Value> = places.map(|place| location(report, place)).collect();
    if locations.is_empty() {
        let line = report.line.unwrap_or(1);
        locations.push(physical(report, json!({ "startLine": line })));
    }
    let (kind, level) = kind(finding);
    json!({
        "ruleId": finding.rule,
        "kind": kind,
        "level": level,
        "message": { "text": message(finding) },
        "locations": locations,
        "properties": {
            "lot": report.lot,
            "places": report.places,
            "verdict": finding.verdict,
            "obligation": finding.obligation,
            "due": finding.due,
            "hold": finding.hold,
            "hazard": finding.hazard,
            "margin": finding.margin,
        },
    })
}

/// The kind of a result, and how grave it is: only what fails has a level.
fn kind(finding: &Finding) -> (&'static str, &'static str) {
    match finding.verdict {
        Verdict::Meets => ("pass", "none"),
        Verdict::DoesNotApply => ("notApplicable", "none"),
        Verdict::Refer => ("review", "none"),
        Verdict::NotRecorded | Verdict::TooClose => ("open", "none"),
        Verdict::FallsShort => match (finding.obligation, finding.due) {
            (_, Due::Later) => ("fail", "note"),
            (Obligation::Should, Due::Now | Due::Past) => ("fail", "warning"),
            (
                Obligation::Shall
                | Obligation::ShallRecord
                | Obligation::Refer
                | Obligation::Precaution,
                Due::Now | Due::Past,
            ) => ("fail", "error"),
        },
    }
}

fn message(finding: &Finding) -> String {
    let mut text = format!("{}: {}", finding.title, finding.verdict.words());
    let subject = subject_words(&finding.subject);
    if !subject.is_empty() {
        text.push_str(&format!(" at {subject}"));
    }
    match (&finding.measured, &finding.limit) {
        (Some(measured), Some(limit)) => {
            text.push_str(&format!(", {measured} against {limit}"));
        }
        (Some(measured), None) => text.push_str(&format!(", {measured}")),
        (None, _) => {}
    }
    for missing in &finding.missing {
        text.push_str(&format!("; {}", missing.what));
    }
    let hazard = finding.hazard_caution.as_deref().unwrap_or_default();
    format!("{text}. {hazard} {}", finding.caution)
}

fn location(report: &Report, place: &Place) -> Value {
    let region = json!({ "startLine": place.line, "startColumn": place.column });
    let mut location = physical(report, region);
    let name = place.cell.as_ref().unwrap_or(&place.path);
    if !name.is_empty() {
        location["logicalLocations"] = json!([{ "fullyQualifiedName": name }]);
    }
    location
}

fn physical(report: &Report, region: Value) -> Value {
    let uri = uri(&report.record);
    json!({ "physicalLocation": { "artifactLocation": { "uri": uri }, "region": region } })
}

fn unreadable(report: &Report, error: &ReportedError) -> Value {
    let line = error.line.or(report.line).unwrap_or(1);
    let region = match error.column {
        Some(column) => json!({ "startLine": line, "startColumn": column }),
        None => json!({ "startLine": line }),
    };
    let cell = error.cell.as_ref().map(|cell| format!("{cell}: "));
    let help = error.help.as_ref().map(|help| format!(" ({help})"));
    let text = format!(
        "{}{}{}",
        cell.unwrap_or_default(),
        error.message,
        help.unwrap_or_default()
    );
    json!({
        "ruleId": UNREADABLE,
        "kind": "fail",
        "level": "error",
        "message": { "text": text },
        "locations": [physical(report, region)],
        "properties": { "code": error.code },
    })
}

/// A file's name as a relative reference (RFC 3986).
fn uri(name: &str) -> String {
    let mut text = String::new();
    for byte in name.bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' => {
                text.push(char::from(byte));
            }
            other => text.push_str(&format!("%{other:02X}")),
        }
    }
    text
}
