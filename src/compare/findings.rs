//! Two reports of one lot in; whose findings turned, and how, out.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use crate::finding::{Finding, Report, Subject, Verdict};

/// What became of a finding.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Turn {
    /// It fell short or was undecided and is in order now.
    Mended,
    /// It falls short now and did not.
    FallsShort,
    /// It fell short and still does.
    StillShort,
    /// It was undecided and still is, or turned undecided.
    Undecided,
    /// It is in order on both sides, by another verdict.
    Other,
    /// Its rule, or what it speaks of, is there on one side only.
    OneSided,
}

impl Turn {
    /// Every turn, in the order in which they are told.
    pub const ALL: [Turn; 6] = [
        Turn::Mended,
        Turn::FallsShort,
        Turn::StillShort,
        Turn::Undecided,
        Turn::Other,
        Turn::OneSided,
    ];

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Turn::Mended => "mended",
            Turn::FallsShort => "falls short now",
            Turn::StillShort => "still falls short",
            Turn::Undecided => "undecided",
            Turn::Other => "in order, otherwise",
            Turn::OneSided => "asked on one side only",
        }
    }
}

/// One finding on both sides.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
pub struct FindingChange {
    /// What became of it.
    pub turn: Turn,
    /// The rule.
    pub rule: String,
    /// What it asks, in a line.
    pub title: String,
    /// Of what, by id or place in the record; empty for the lot itself.
    pub subject: Vec<String>,
    /// The verdict on the one side; none where it is not asked there.
    pub before: Option<&'static str>,
    /// The verdict on the other.
    pub after: Option<&'static str>,
    /// What was measured and the limit on the one side.
    pub before_measured: Option<String>,
    /// What was measured and the limit on the other.
    pub after_measured: Option<String>,
}

/// One record, or two of one lot, on both sides.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct RecordComparison {
    /// The record; of two, the later.
    pub record: String,
    /// The lot.
    pub lot: Option<String>,
    /// What turned; of two records, also what still falls short or is undecided.
    pub changes: Vec<FindingChange>,
    /// How many findings are the same on both sides.
    pub same: usize,
    /// What kept it from being judged on some side.
    pub errors: Vec<String>,
}

/// What turns for one record when the rules change.
pub fn compare_findings(before: &Report, after: &Report) -> RecordComparison {
    let mut compared = turned(before, after);
    let all = compared.changes.len();
    compared.changes.retain(|change| {
        // What is asked on one side only, and is in order there, turns nothing.
        let is_turned = change.before != change.after;
        is_turned && !(change.turn == Turn::OneSided && in_order_where_asked(change))
    });
    compared.same += all - compared.changes.len();
    compared
}

fn in_order_where_asked(change: &FindingChange) -> bool {
    let asked = change.after.or(change.before).and_then(Verdict::named);
    asked.is_some_and(is_in_order)
}

/// What was mended, and what was not, between two records of a lot.
pub fn records_of_one_lot(before: &Report, after: &Report) -> RecordComparison {
    let mut compared = turned(before, after);
    let in_order = |verdict: Option<&str>| {
        let verdict = verdict.and_then(Verdict::named);
        verdict.is_some_and(is_in_order)
    };
    let all = compared.changes.len();
    compared
        .changes
        .retain(|change| change.before != change.after || !in_order(change.after));
    compared.same += all - compared.changes.len();
    compared
}

type Key = (String, Vec<String>);

fn turned(before: &Report, after: &Report) -> RecordComparison {
    let (old, new) = (by_key(before), by_key(after));
    let mut changes: Vec<FindingChange> = Vec::new();
    for (key, finding) in &new {
        changes.push(one(key, old.get(key).copied(), Some(finding)));
    }
    for (key, finding) in &old {
        if !new.contains_key(key) {
            changes.push(one(key, Some(finding), None));
        }
    }
    changes.sort();
    RecordComparison {
        record: after.record.clone(),
        lot: after.lot.clone(),
        changes,
        same: 0,
        errors: Vec::new(),
    }
}

/// Findings by their rule and what they speak of; a thing goes by its id, else by its place.
fn by_key(report: &Report) -> BTreeMap<Key, &Finding> {
    let findings = report.findings.iter().flatten();
    findings
        .map(|finding| {
            let subject = finding.subject.iter().map(named).collect();
            ((finding.rule.clone(), subject), finding)
        })
        .collect()
}

fn named(subject: &Subject) -> String {
    match &subject.id {
        Some(id) => id.clone(),
        None => subject.path.clone(),
    }
}

fn one(key: &Key, before: Option<&Finding>, after: Option<&Finding>) -> FindingChange {
    let told = after.or(before);
    FindingChange {
        turn: turn(
            before.map(|finding| finding.verdict),
            after.map(|finding| finding.verdict),
        ),
        rule: key.0.clone(),
        title: told
            .map(|finding| finding.title.clone())
            .unwrap_or_default(),
        subject: key.1.clone(),
        before: before.map(|finding| finding.verdict.name()),
        after: after.map(|finding| finding.verdict.name()),
        before_measured: before.and_then(measured),
        after_measured: after.and_then(measured),
    }
}

fn measured(finding: &Finding) -> Option<String> {
    match (&finding.measured, &finding.limit) {
        (Some(measured), Some(limit)) => Some(format!("{measured} against {limit}")),
        (Some(measured), None) => Some(measured.clone()),
        (None, Some(limit)) => Some(format!("against {limit}")),
        (None, None) => None,
    }
}

fn is_in_order(verdict: Verdict) -> bool {
    match verdict {
        Verdict::Meets | Verdict::DoesNotApply | Verdict::Refer => true,
        Verdict::FallsShort | Verdict::TooClose | Verdict::NotRecorded => false,
    }
}

fn turn(before: Option<Verdict>, after: Option<Verdict>) -> Turn {
    match (before, after) {
        (Some(Verdict::FallsShort), Some(Verdict::FallsShort)) => Turn::StillShort,
        (_, Some(Verdict::FallsShort)) => Turn::FallsShort,
        (_, Some(Verdict::TooClose | Verdict::NotRecorded)) => Turn::Undecided,
        (None, _) | (_, None) => Turn::OneSided,
        (Some(before), Some(_)) if is_in_order(before) => Turn::Other,
        (Some(_), Some(_)) => Turn::Mended,
    }
}
