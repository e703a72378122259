//! A row and its sheet in, the record out: a tree whose values stand in the row's cells.

use std::borrow::Cow;
use std::sync::Arc;

use super::path::{Kind, Step, Target};
use super::sheet::{Column, Sheet, is_measure, plain};
use crate::quantity::parse;
use crate::record::tree::{Entry, Node, NodeKind, Scalar, Style};
use crate::record::{Overrides, Record, RecordError, read_tree};
use crate::source::{Located, Row, Source, SourceId, Sources, Span, Spanned};
use crate::vocabulary::Vocabulary;

/// A row of a table, ready to be read.
#[derive(Debug, Clone)]
pub struct RowText {
    /// Its number as a spreadsheet counts, the header being row 1.
    pub number: usize,
    /// The line of its file on which it begins.
    pub line: usize,
    /// What stands above the cells.
    pub columns: Arc<[String]>,
    /// The cells.
    pub cells: Vec<String>,
}

impl RowText {
    /// The row as a text of its own, and where each cell stands in it.
    fn source(&self, name: &str, sheet: &Sheet) -> (Source, Vec<(u32, u32)>) {
        let mut text = String::new();
        let mut places = Vec::new();
        // Invariant: a row is at most as long as a record, so that places fit.
        let narrow = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
        for (at, cell) in self.cells.iter().enumerate() {
            if at > 0 {
                text.push(char::from(sheet.separator));
            }
            let separator = char::from(sheet.separator);
            let quoted = cell.contains(['"', '\n', '\r', separator]);
            let start = text.len() + usize::from(quoted);
            match quoted {
                true => text.push_str(&format!("\"{}\"", cell.replace('"', "\"\""))),
                false => text.push_str(cell),
            }
            let end = text.len() - usize::from(quoted);
            places.push((narrow(start), narrow(end)));
        }
        let row = Row {
            number: self.number,
            columns: Arc::clone(&self.columns),
            starts: places.iter().map(|(start, _)| *start).collect(),
            sheet: sheet.source,
        };
        let source = Source {
            name: name.into(),
            text: text.into(),
            is_part: true,
            first_line: self.line,
            row: Some(row),
        };
        (source, places)
    }
}

/// Reads the record of a row, and says under which text it stands.
///
/// # Errors
///
/// All mistakes of the row, each in its cell.
pub fn record(
    vocabulary: &Vocabulary,
    sources: &mut Sources,
    name: &str,
    row: &RowText,
    sheet: &Sheet,
    overrides: &Overrides,
) -> (SourceId, Result<Record, Vec<Located<RecordError>>>) {
    let (source, places) = row.source(name, sheet);
    let id = sources.add_source(source);
    let mut tree = Tree {
        entries: sheet.constants.clone(),
        row: id,
    };
    for ((cell, column), place) in row.cells.iter().zip(row.columns.iter()).zip(places) {
        let Some(column) = sheet.columns.get(column) else {
            continue;
        };
        let at = Span {
            source: id,
            start: place.0,
            end: place.1,
        };
        for target in &column.targets {
            if let Some(kind) = value(column, target, cell, at) {
                tree.set(target, Node { kind, span: at });
            }
        }
    }
    let root = tree.root();
    (id, read_tree(vocabulary, sources, &root, overrides))
}

/// What a cell says; nothing where it is empty, which is never zero.
fn value(column: &Column, target: &Target, cell: &str, at: Span) -> Option<NodeKind<'static>> {
    let cell = cell.trim();
    if cell.is_empty() {
        return None;
    }
    let said = match column.texts.get(&plain(cell)) {
        Some(None) => return None,
        Some(Some(word)) => word.clone(),
        None => measured(column, target, cell),
    };
    let said = scalar(said);
    Some(match (&column.how, &target.kind) {
        (Some(how), Kind::Fact(_)) => {
            let entry = |key: &str, kind: NodeKind<'static>| Entry {
                key: Spanned::new(Cow::Owned(key.to_owned()), at),
                value: Node { kind, span: at },
            };
            NodeKind::Mapping(vec![
                entry("reads", said),
                entry("how", scalar(how.clone())),
            ])
        }
        (Some(_) | None, Kind::Head | Kind::Id | Kind::Fact(_) | Kind::List) => said,
    })
}

/// A cell with the unit and the tolerance of its column, where it has none of its own.
fn measured(column: &Column, target: &Target, cell: &str) -> String {
    let Kind::Fact(fact) = &target.kind else {
        return cell.to_owned();
    };
    let mut text = cell.to_owned();
    let is_bare = || parse::quantity(cell).is_ok_and(|written| written.is_bare_number);
    if let Some(unit) = &column.unit
        && is_bare()
    {
        let plain = cell.replace("+/-", "±");
        let parts = plain
            .split('±')
            .map(|part| format!("{} {unit}", part.trim()));
        text = parts.collect::<Vec<_>>().join(" ± ");
    }
    let has_none = !cell.contains('±') && !cell.contains("+/-");
    if let Some(tolerance) = &column.tolerance
        && is_measure(fact.kind)
        && has_none
    {
        text = format!("{text} ± {tolerance}");
    }
    text
}

fn scalar(text: String) -> NodeKind<'static> {
    NodeKind::Scalar(Scalar {
        text: Cow::Owned(text),
        style: Style::Quoted,
    })
}

/// A record while its cells are put in.
struct Tree {
    entries: Vec<Entry<'static>>,
    row: SourceId,
}

impl Tree {
    fn set(&mut self, target: &Target, value: Node<'static>) {
        let Some((last, inner)) = target.steps.split_last() else {
            return;
        };
        let at = value.span;
        let mut entries = &mut self.entries;
        for step in inner {
            entries = match step {
                Step::Key(key) => mapping(entries, key, at),
                Step::Element(key, index) => element(entries, key, *index, at),
            };
        }
        // A path ends at a key.
        if let Step::Key(key) = last {
            *slot(entries, key, at) = value;
        }
    }

    /// The record, what the row says of it before what the sheet says.
    fn root(self) -> Node<'static> {
        let row = self.row;
        let (mut entries, constants): (Vec<Entry<'static>>, Vec<Entry<'static>>) = self
            .entries
            .into_iter()
            .partition(|entry| entry.key.span.source == row);
        entries.extend(constants);
        let at = Span {
            source: row,
            start: 0,
            end: 0,
        };
        if !entries.iter().any(|entry| entry.key.value == "record") {
            let format = Node {
                kind: scalar("1".to_owned()),
                span: at,
            };
            entries.insert(0, entry("record", format));
        }
        Node {
            kind: NodeKind::Mapping(entries),
            span: at,
        }
    }
}

fn entry(key: &str, value: Node<'static>) -> Entry<'static> {
    Entry {
        key: Spanned::new(Cow::Owned(key.to_owned()), value.span),
        value,
    }
}

/// The value of a key, put there if there is none.
fn slot<'e>(entries: &'e mut Vec<Entry<'static>>, key: &str, at: Span) -> &'e mut Node<'static> {
    let known = entries.iter().position(|entry| entry.key.value == key);
    let index = known.unwrap_or_else(|| {
        let kind = NodeKind::Empty;
        entries.push(entry(key, Node { kind, span: at }));
        entries.len() - 1
    });
    &mut entries[index].value
}

fn mapping<'e>(
    entries: &'e mut Vec<Entry<'static>>,
    key: &str,
    at: Span,
) -> &'e mut Vec<Entry<'static>> {
    entries_of(slot(entries, key, at))
}

/// The facts of an element of a list. A list of which only columns speak may hold more: that
/// nothing else stood on the card does not say that there was nothing else.
fn element<'e>(
    entries: &'e mut Vec<Entry<'static>>,
    key: &str,
    index: usize,
    at: Span,
) -> &'e mut Vec<Entry<'static>> {
    let list = slot(entries, key, at);
    if list.elements().is_none() {
        let more = Node {
            kind: scalar("more".to_owned()),
            span: at,
        };
        *list = Node {
            kind: NodeKind::Sequence(vec![more]),
            span: at,
        };
    }
    let NodeKind::Sequence(elements) = &mut list.kind else {
        unreachable!("a list was put there")
    };
    let is_open = elements.last().is_some_and(|last| last.is_word("more"));
    while elements.len() - usize::from(is_open) <= index {
        let nothing = Node {
            kind: NodeKind::Mapping(Vec::new()),
            span: at,
        };
        let end = elements.len() - usize::from(is_open);
        elements.insert(end, nothing);
    }
    entries_of(&mut elements[index])
}

fn entries_of<'n>(node: &'n mut Node<'static>) -> &'n mut Vec<Entry<'static>> {
    if node.entries().is_none() {
        node.kind = NodeKind::Mapping(Vec::new());
    }
    match &mut node.kind {
        NodeKind::Mapping(entries) => entries,
        NodeKind::Empty | NodeKind::Scalar(_) | NodeKind::Sequence(_) | NodeKind::Unreadable => {
            unreachable!("a mapping was put there")
        }
    }
}
