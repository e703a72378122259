//! What a result depends on, as digests: same digests, same result.

use sha2::{Digest, Sha256};

use crate::finding::ReportedError;
use crate::screen::{Content, PlanText, Screening, Submitted};

/// A SHA-256 digest.
pub(super) type Key = [u8; 32];

/// Hashes parts so that none can run into the next.
fn digest<'p>(parts: impl IntoIterator<Item = &'p str>) -> Key {
    let mut hash = Sha256::new();
    for part in parts {
        hash.update(part.len().to_le_bytes());
        hash.update(part);
    }
    hash.finalize().into()
}

/// Of everything but the record: the program, the ruleset and what is said of it, what stands in,
/// the sheet. Nothing of it is a date of today.
pub(super) fn basis(screening: &Screening<'_>) -> Key {
    let opened = screening.opened;
    let provenance = format!("{:?}", opened.provenance);
    let sheet = screening.sheet.map(|sheet| &sheet.source);
    let sheet = sheet.map_or(["", ""], |sheet| [&*sheet.name, &*sheet.text]);
    let of_all = [
        env!("CARGO_PKG_VERSION"),
        opened.digest.as_str(),
        provenance.as_str(),
    ];
    let stood_in = screening.stood_in.iter().map(String::as_str);
    digest(of_all.into_iter().chain(sheet).chain(stood_in))
}

/// Of a record's name and text, within a basis.
pub(super) fn of_text(basis: &str, record: &Submitted) -> Key {
    let line = record.line().unwrap_or_default().to_string();
    let head = [basis, record.name.as_str(), line.as_str()];
    match &record.content {
        Content::Whole(text) => digest(head.into_iter().chain(["whole", text])),
        Content::Line(text, _) => digest(head.into_iter().chain(["line", text])),
        Content::Row(row) => {
            let number = row.number.to_string();
            let cells = row.columns.iter().chain(&row.cells).map(String::as_str);
            digest(head.into_iter().chain(["row", &number]).chain(cells))
        }
        Content::Unreadable(error) => {
            let ReportedError {
                code,
                message,
                help,
                line: _,
                column,
                cell,
            } = error;
            let told = format!("{code} {message} {help:?} {column:?} {cell:?}");
            digest(head.into_iter().chain(["unreadable", &told]))
        }
    }
}

/// Of the plan that a record names; of nothing where it names none.
pub(super) fn of_plan(plan: Option<&PlanText>) -> Vec<u8> {
    let Some(plan) = plan else {
        return Vec::new();
    };
    let key = match &plan.text {
        Ok((name, text)) => digest(["plan", name, text]),
        Err(reason) => digest(["no plan", reason]),
    };
    key.to_vec()
}
