//! Lines of a body put under each other: the same kind of thing in the same column.

use pretty::Arena;

use super::INDENT;
use super::piece::{Between, Piece};

/// A line of a body, in cells.
pub struct Entry<'a> {
    /// Its cells, at least one; all but the last may be filled up with blanks.
    pub cells: Vec<Piece<'a>>,
    /// How its columns are set; lines of one kind stand under each other.
    pub kind: Columns,
}

/// How wide columns are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Columns {
    /// As the widest of this kind.
    Widest,
    /// The first so wide or more, the others as the widest of this number.
    First(usize, u8),
}

/// The lines of a body, each as one piece.
pub fn aligned<'a>(arena: &'a Arena<'a>, entries: Vec<Entry<'a>>) -> Vec<Piece<'a>> {
    let texts: Vec<Vec<Option<String>>> = entries.iter().map(plain_cells).collect();
    let mut widths: Vec<(Columns, Vec<usize>)> = Vec::new();
    for (entry, cells) in entries.iter().zip(&texts) {
        let at = match widths.iter().position(|(kind, _)| *kind == entry.kind) {
            Some(at) => at,
            None => {
                widths.push((entry.kind, Vec::new()));
                widths.len() - 1
            }
        };
        let known = &mut widths[at].1;
        for (column, text) in cells.iter().enumerate() {
            let width = match (entry.kind, column) {
                (Columns::First(width, _), 0) => width,
                (Columns::First(..) | Columns::Widest, _) => {
                    text.as_ref().map_or(0, |text| text.chars().count())
                }
            };
            match known.get_mut(column) {
                Some(widest) => *widest = width.max(*widest),
                None => known.push(width),
            }
        }
    }
    let lines = entries.into_iter().zip(texts).map(|(entry, cells)| {
        let known = widths.iter().find(|(kind, _)| *kind == entry.kind);
        line(
            arena,
            entry,
            &cells,
            known.map_or(&[], |(_, widths)| widths),
        )
    });
    lines.collect()
}

/// The text of each cell but the last; none where a comment keeps a line from being one.
fn plain_cells(entry: &Entry<'_>) -> Vec<Option<String>> {
    let mut texts: Vec<Option<String>> = Vec::new();
    for pair in entry.cells.windows(2) {
        let alone = pair[0].last.is_none() && pair[1].first.is_empty();
        texts.push(pair[0].flat().filter(|_| alone));
    }
    if texts.iter().any(Option::is_none) {
        texts.iter_mut().for_each(|text| *text = None);
    }
    texts
}

fn line<'a>(
    arena: &'a Arena<'a>,
    entry: Entry<'a>,
    texts: &[Option<String>],
    widths: &[usize],
) -> Piece<'a> {
    let mut cells = entry.cells.into_iter();
    let mut whole = cells.next().expect("a line has a cell");
    let mut column = 0;
    for ((cell, text), widest) in cells.zip(texts).zip(widths) {
        let blanks = text.as_ref().map_or(1, |text| {
            let width = text.chars().count();
            column += width.max(*widest) + 1;
            width.max(*widest) + 1 - width
        });
        let inner = if text.is_some() {
            column.saturating_sub(INDENT)
        } else {
            0
        };
        whole = whole.then(arena, Between::Blanks(blanks), cell.nest(inner));
    }
    whole.nest(INDENT)
}
