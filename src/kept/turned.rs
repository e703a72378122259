//! What a record said at the screening before and what it says now; what turned, and by what, out.

use crate::compare::{FindingChange, compare_findings};
use crate::finding::Report;

/// What became of a record, or of one of its findings.
#[derive(Debug)]
pub(super) enum Change {
    /// It was not in the screening before.
    New,
    /// It can't be read any more.
    NotReadNow,
    /// It could not be read.
    ReadNow,
    /// One of its findings turned.
    Finding(FindingChange),
}

/// Of a record.
pub(super) const NEW: &str = "new";
/// Of a record that is not there any more.
pub(super) const GONE: &str = "gone";

impl Change {
    /// In words, as `changes` has it.
    pub(super) fn words(&self) -> &'static str {
        match self {
            Change::New => NEW,
            Change::NotReadNow => "not read now",
            Change::ReadNow => "read now",
            Change::Finding(change) => change.turn.words(),
        }
    }

    /// The finding, where it is one that turned.
    pub(super) fn finding(&self) -> Option<&FindingChange> {
        match self {
            Change::New | Change::NotReadNow | Change::ReadNow => None,
            Change::Finding(change) => Some(change),
        }
    }
}

/// What turned between two reports on a record.
pub(super) fn turned(before: &Report, after: &Report) -> Vec<Change> {
    match (before.findings.is_some(), after.findings.is_some()) {
        (true, true) => {
            let changes = compare_findings(before, after).changes.into_iter();
            changes.map(Change::Finding).collect()
        }
        (true, false) => vec![Change::NotReadNow],
        (false, true) => vec![Change::ReadNow],
        (false, false) => Vec::new(),
    }
}

/// What is not as it was: the record with its plan and sheet, the rules, what stood in, or else
/// the program.
pub(super) fn what_changed(before: &Report, after: &Report) -> String {
    let parts = [
        (before.record_digest != after.record_digest, "record"),
        (before.ruleset_digest != after.ruleset_digest, "rules"),
        (before.stood_in != after.stood_in, "what stood in"),
        (before.program != after.program, "program"),
    ];
    let parts = parts.iter().filter(|(differs, _)| *differs);
    let parts: Vec<&str> = parts.map(|(_, what)| *what).collect();
    parts.join(", ")
}
