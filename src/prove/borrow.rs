//! A model's case taken over to a place that changed what it shows, where the place has none yet.

use super::apply::apply;
use super::cases::{CaseFile, read_cases};
use super::change::Witness;
use super::mutant::{Mutant, Seat};
use crate::check::typed::PlaceId;
use crate::library::Opened;
use crate::quantity::{Rational, date};
use crate::record::tree::Entry;
use crate::source::{SourceId, Sources};

/// A case of the model as a place's own.
pub(super) struct Borrowed {
    /// The place's file of cases, with that case alone.
    pub file: CaseFile,
    /// All texts, this one among them.
    pub sources: Sources,
    /// How the file begins, where it isn't there yet.
    pub begins: Option<String>,
}

/// Takes over a case; none where the change is the model's, or where the place doesn't judge the
/// case by what is changed.
pub(super) fn borrow(
    opened: &Opened,
    sources: &Sources,
    files: &[CaseFile],
    mutant: &Mutant,
    base: &Witness<'_>,
) -> Option<Borrowed> {
    let (Seat::Limit { by, .. } | Seat::Cells { by, .. }) = &mutant.seat else {
        return None;
    };
    let (place, from) = (*by)?;
    let path = &opened.library.places[place.index()].path;
    let own = files.iter().find(|file| {
        let of = file.root.get("place").and_then(|place| place.text());
        of == Some(path.as_str())
    });
    let (name, begins) = match own {
        Some(own) => (sources.get(own.id).name.to_string(), head(sources, own, "")),
        None => (
            new_name(opened, sources, place),
            head(sources, base.file, &format!("place: {path}\n")),
        ),
    };
    let overrides = [String::new(), permits(opened, from)];
    overrides.iter().find_map(|departs| {
        let text = format!("{begins}cases:\n{}", case(sources, base, departs)?);
        let mut sources = sources.clone();
        let id: SourceId = sources.add(name.as_str(), text);
        let mut file = read_cases(opened, &sources, id, &|_| true).ok()??;
        let case = file.cases.first_mut()?;
        let check = case.checks.first_mut()?;
        check.expected = check.verdicts(opened, &case.complete);
        let is_judged = apply(&mut check.program.clone(), mutant);
        is_judged.then(|| Borrowed {
            file,
            sources,
            begins: own.is_none().then(|| format!("{begins}cases:\n")),
        })
    })
}

/// Beside the file that the place is declared in.
fn new_name(opened: &Opened, sources: &Sources, place: PlaceId) -> String {
    let declared = &opened.library.places[place.index()];
    let rules = &sources.get(declared.span.source).name;
    let stem = rules.strip_suffix(".rules").unwrap_or(rules);
    format!("{stem}.cases.yaml")
}

fn entry_text<'a>(sources: &'a Sources, entry: &Entry) -> &'a str {
    sources.slice(entry.key.span.to(entry.value.span))
}

/// What stands above a file's cases; of a model's file only the head.
fn head(sources: &Sources, file: &CaseFile, instead: &str) -> String {
    let mut text = instead.to_owned();
    for entry in file.root.entries().unwrap_or_default() {
        let key = &*entry.key.value;
        let wanted = match instead.is_empty() {
            true => key != "cases",
            false => key == "head",
        };
        if wanted {
            text.push_str(entry_text(sources, entry));
            text.push('\n');
        }
    }
    text
}

/// Permits of every kind, all of a date.
fn permits(opened: &Opened, on: Rational) -> String {
    let on = date::show(on);
    let permits: Vec<String> = opened
        .library
        .vocabulary
        .permits
        .iter()
        .map(|permit| {
            let name = &permit.name;
            format!("{name}: {{ number: P-1, applied: {on}, plan_approved: {on}, issued: {on} }}")
        })
        .collect();
    format!("head: {{ permits: {{ {} }} }}", permits.join(", "))
}

fn case(sources: &Sources, base: &Witness<'_>, departs: &str) -> Option<String> {
    let case = base.file.root.get("cases")?.elements()?.get(base.case.at)?;
    let entries = case.entries()?;
    let record = entries.iter().find(|entry| entry.key.value == "record")?;
    let column = sources.position(case.span).column - 1;
    let keys = " ".repeat(column);
    let dash = " ".repeat(column.checked_sub(2)?);
    let mut text = format!("{dash}- case: taken over\n");
    if !departs.is_empty() {
        text.push_str(&format!("{keys}{departs}\n"));
    }
    text.push_str(&format!("{keys}{}\n", entry_text(sources, record)));
    text.push_str(&format!("{keys}expect: {{ {}: meets }}\n", base.check.rule));
    Some(text)
}
