//! What differs between two rulesets, places, dates or records, for a person.

use super::terminal::{Page, STRONG, Style};
use crate::compare::{Change, FindingChange, Kind, RecordComparison, Turn};
use crate::finding::STANDING;

/// The most rules that are named for one change.
const MOST_NAMED: usize = 4;

/// What differs between two sets of rules, `before` and `after` in words; then whose findings turn.
pub fn comparison(
    before: &str,
    after: &str,
    changes: &[Change],
    records: &[RecordComparison],
    style: Style,
) -> String {
    let mut page = Page::blank(style);
    page.paragraph(&format!("{before} → {after}"), style.width);
    page.line("");
    if changes.is_empty() {
        page.line("The same rules are in force on both sides.");
        page.line("");
    }
    for kind in Kind::ALL {
        let of_kind: Vec<&Change> = changes
            .iter()
            .filter(|change| change.kind == kind)
            .collect();
        if of_kind.is_empty() {
            continue;
        }
        let title = format!("{} ({})", kind.words().to_uppercase(), of_kind.len());
        let title = page.painted(&title, STRONG);
        page.line(&title);
        page.line("");
        for change in of_kind {
            one(&mut page, change);
        }
        page.line("");
    }
    for record in records {
        of_record(&mut page, record);
    }
    page.paragraph(STANDING, style.width);
    page.text
}

/// What was mended between two records of a lot.
pub fn records(before: &str, record: &RecordComparison, style: Style) -> String {
    let mut page = Page::blank(style);
    page.line(&format!("{before} → {}", record.record));
    page.line("");
    of_record(&mut page, record);
    page.paragraph(STANDING, style.width);
    page.text
}

fn one(page: &mut Page<'_>, change: &Change) {
    let width = page.style.width;
    for (rule, title) in change.rules.iter().zip(&change.titles).take(MOST_NAMED) {
        page.paragraph(&format!("  {title}  [{rule}]"), width);
    }
    if change.rules.len() > MOST_NAMED {
        let more = change.rules.len() - MOST_NAMED;
        page.line(&format!("  and {more} rules more"));
    }
    if let (Some(before), Some(after)) = (&change.before, &change.after) {
        let what = change.what.as_deref().unwrap_or_default();
        if what == "condition" {
            page.labelled("was", before);
            page.labelled("is", after);
        } else {
            page.labelled("what", &format!("{what}: {before} → {after}"));
        }
    }
    match (&change.from, &change.until) {
        (Some(from), Some(until)) => {
            page.labelled("permits", &format!("from {from}, until {until}"));
        }
        (Some(from), None) => page.labelled("permits", &format!("from {from}")),
        (None, Some(until)) => page.labelled("permits", &format!("until {until}")),
        (None, None) => {}
    }
    for clause in &change.clauses {
        page.labelled("clause", clause);
    }
    if let Some(because) = &change.because {
        page.labelled("because", because);
    }
}

fn of_record(page: &mut Page<'_>, record: &RecordComparison) {
    let lot = match &record.lot {
        Some(lot) => format!("lot {lot}, {}", record.record),
        None => record.record.clone(),
    };
    let title = page.painted(&lot, STRONG);
    let told = match record.changes.len() {
        1 => "1 finding".to_owned(),
        several => format!("{several} findings"),
    };
    page.line(&format!(
        "{title}: {told} to tell, {} as before",
        record.same
    ));
    for error in &record.errors {
        page.labelled("error", error);
    }
    for turn in Turn::ALL {
        for change in record.changes.iter().filter(|change| change.turn == turn) {
            finding(page, change);
        }
    }
    page.line("");
}

fn finding(page: &mut Page<'_>, change: &FindingChange) {
    let width = page.style.width;
    let subject = match change.subject.is_empty() {
        true => String::new(),
        false => format!(", {}", change.subject.join(", ")),
    };
    page.paragraph(
        &format!(
            "  {}: {}  [{}{subject}]",
            change.turn.words(),
            change.title,
            change.rule
        ),
        width,
    );
    let side = |verdict: Option<&str>, measured: &Option<String>| {
        let verdict = verdict.map_or("not asked".to_owned(), super::terminal::words);
        match measured {
            Some(measured) => format!("{verdict} ({measured})"),
            None => verdict,
        }
    };
    let before = side(change.before, &change.before_measured);
    let after = side(change.after, &change.after_measured);
    page.labelled("was", &before);
    page.labelled("is", &after);
}
