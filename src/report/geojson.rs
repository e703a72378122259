//! Findings on the map: a GeoJSON FeatureCollection (RFC 7946) with a feature for each finding
//! whose subject the record's plan shows.
//!
//! Written in three parts like SARIF, so that an archive's need not be held.

use serde_json::{Value, json};

use crate::finding::{Finding, Report, STANDING};
use crate::screen::{Screened, Shape};

/// The beginning of a collection.
pub fn before() -> String {
    let standing = json!(STANDING);
    format!("{{\"type\":\"FeatureCollection\",\"standing\":{standing},\"features\":[")
}

/// The end of a collection.
pub fn after() -> &'static str {
    "\n]}\n"
}

/// The findings of one record that have a position, separated by commas.
pub fn features(screened: &Screened) -> String {
    let findings = screened.report.findings.iter().flatten();
    let features = findings.filter_map(|finding| {
        let shape = Shape::of(screened.position(finding)?)?;
        Some(feature(&screened.report, finding, geometry(shape)))
    });
    let lines: Vec<String> = features.map(|feature| format!("\n{feature}")).collect();
    lines.join(",")
}

fn geometry(shape: Shape<'_>) -> Value {
    match shape {
        Shape::Point(place) => json!({ "type": "Point", "coordinates": place }),
        Shape::Line(places) => json!({ "type": "LineString", "coordinates": places }),
    }
}

fn feature(report: &Report, finding: &Finding, geometry: Value) -> Value {
    let subject = finding.subject.last();
    let place = finding.places.first();
    json!({
        "type": "Feature",
        "geometry": geometry,
        "properties": {
            "record": report.record,
            "line": place.map(|place| place.line).or(report.line),
            "lot": report.lot,
            "rule": finding.rule,
            "title": finding.title,
            "obligation": finding.obligation,
            "verdict": finding.verdict,
            "due": finding.due,
            "subject": subject.map(|subject| subject.path.as_str()),
            "measured": finding.measured,
            "limit": finding.limit,
            "margin": finding.margin,
            "hazard": finding.hazard,
            "hold": finding.hold,
            "caution": finding.caution,
        },
    })
}
