//! A result in, the rows that show it in other programs out.

use std::collections::BTreeMap;

use super::geometry::{Extent, held};
use crate::finding::{Counts, Finding, Report, Verdict};
use crate::screen::{Screened, Shape};

/// Something that a plan shows.
#[derive(Debug)]
pub(super) struct Thing {
    pub id: String,
    pub geometry: Vec<u8>,
    /// The findings that stand at it.
    pub counts: Counts,
}

/// A finding.
#[derive(Debug)]
pub(super) struct Row {
    pub rule: i64,
    /// The id of the thing that shows where it is.
    pub thing: Option<String>,
    pub verdict: Verdict,
    pub due: &'static str,
    /// The innermost thing it speaks of, as a path.
    pub subject: Option<String>,
    pub line: Option<usize>,
    pub measured: Option<String>,
    pub limit: Option<String>,
    pub margin: Option<String>,
    pub share: Option<f64>,
    pub missing: String,
    pub in_force_on: Option<String>,
}

/// What is shown of a record.
#[derive(Debug)]
pub(super) struct Shown {
    pub findings: Vec<Row>,
    pub things: Vec<Thing>,
    /// The middle of what its plan shows.
    pub middle: Option<Vec<u8>>,
    pub extent: Option<Extent>,
}

/// The rows of a result whose findings name these rows of `rules`.
pub(super) fn shown(screened: &Screened, told: &[i64]) -> Shown {
    let findings: Vec<&Finding> = screened.report.findings.iter().flatten().collect();
    let mut counted: BTreeMap<&str, Counts> = BTreeMap::new();
    for finding in &findings {
        if let Some(id) = screened.shown(finding) {
            counted.entry(id).or_default().add(finding.verdict);
        }
    }
    let things = screened.places.iter().filter_map(|(id, places)| {
        Some(Thing {
            geometry: held(Shape::of(places)?),
            counts: counted.get(id.as_str()).copied().unwrap_or_default(),
            id: id.clone(),
        })
    });
    let extent = Extent::of(screened.places.values().flatten());
    let each = findings.iter().zip(told);
    Shown {
        things: things.collect(),
        findings: each
            .map(|(finding, told)| row(screened, finding, *told))
            .collect(),
        middle: extent.map(|extent| held(Shape::Point(extent.middle()))),
        extent,
    }
}

fn row(screened: &Screened, finding: &Finding, rule: i64) -> Row {
    let report: &Report = &screened.report;
    let missing = finding.missing.iter().map(|missing| missing.what.as_str());
    Row {
        rule,
        thing: screened.shown(finding).map(str::to_owned),
        verdict: finding.verdict,
        due: finding.due.name(),
        subject: finding.subject.last().map(|subject| subject.path.clone()),
        line: finding
            .places
            .first()
            .map(|place| place.line)
            .or(report.line),
        measured: finding.measured.clone(),
        limit: finding.limit.clone(),
        margin: finding.margin.clone(),
        share: finding.si.as_ref().and_then(|si| si.share),
        missing: missing.collect::<Vec<_>>().join("; "),
        in_force_on: finding.in_force_on.clone(),
    }
}
