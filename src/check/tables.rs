//! Tables: rows of keys in, a cell for each combination out; no gap, no overlap.

use super::Checker;
use super::constants::constant;
use super::error::CheckError;
use super::names::Declared;
use super::typed::{Axis, Cell, Constant, Owner, Table, TableId};
use crate::language::syntax::{self, Key, Text};
use crate::source::{Span, Spanned};
use crate::vocabulary::{ScaleId, Type};

/// How many combinations a table may have.
const MOST_CELLS: usize = 100_000;
/// How many keys a message lists at the most.
const MOST_LISTED: usize = 50;
/// How many all tables of a library may have together.
const MOST_CELLS_TOGETHER: usize = 1_000_000;

impl Checker {
    pub(super) fn declare_table(&mut self, owner: Owner, written: &syntax::Table) {
        if written.citations.is_empty() {
            self.no_citation("table", &written.name);
        }
        let citations = self.citations(&written.citations);
        let gives = self.kind(&written.gives);
        let kinds: Vec<_> = written
            .parameters
            .iter()
            .map(|parameter| self.kind(&parameter.kinds[0]))
            .collect();
        let (Some(gives), Some(kinds)) = (gives, kinds.into_iter().collect::<Option<Vec<_>>>())
        else {
            return;
        };
        let Some(rows) = self.whole_rows(written, kinds.len()) else {
            return;
        };
        let axes: Vec<_> = kinds
            .iter()
            .enumerate()
            .map(|(at, kind)| self.axis(written, &rows, at, *kind))
            .collect();
        let Some(axes) = axes.into_iter().collect::<Option<Vec<_>>>() else {
            return;
        };
        let mut table = Table {
            name: written.name.value.clone(),
            owner,
            parameters: written
                .parameters
                .iter()
                .map(|parameter| parameter.name.value.clone())
                .collect(),
            axes,
            gives,
            cells: Vec::new(),
            narrowing: written.narrowing.as_ref().map(|narrowing| narrowing.value),
            citations,
            span: written.name.span,
        };
        let size = combinations(&table);
        // One that is too large by itself is told of by itself.
        if size <= MOST_CELLS && !self.has_room_for(&table, size) {
            return;
        }
        let Some(cells) = self.cells(&table, &rows) else {
            return;
        };
        table.cells = cells;
        let id = TableId::at(self.library.tables.len());
        if self.take_name(owner, &written.name, Declared::Table(id)) {
            self.library.tables.push(table);
        }
    }

    /// Whether the library's tables, and what its places amend in them, stay within bounds with
    /// more cells of one; told once.
    pub(super) fn has_room_for(&mut self, table: &Table, cells: usize) -> bool {
        let before = self.cells_together;
        self.cells_together = before.saturating_add(cells);
        if self.cells_together <= MOST_CELLS_TOGETHER {
            return true;
        }
        if before <= MOST_CELLS_TOGETHER {
            let error = CheckError::TooManyCells {
                table: table.name.clone(),
                most: MOST_CELLS_TOGETHER,
                at: table.span,
            };
            self.tell(error, table.span);
        }
        false
    }

    /// The rows, if each has a key for each parameter.
    fn whole_rows<'a>(
        &mut self,
        written: &'a syntax::Table,
        keys: usize,
    ) -> Option<Vec<&'a syntax::Row>> {
        let mut whole = true;
        for row in &written.rows {
            if row.keys.len() != keys {
                let parameters: Vec<_> = written
                    .parameters
                    .iter()
                    .map(|parameter| parameter.name.value.as_str())
                    .collect();
                let error = CheckError::ArgumentCount {
                    name: written.name.value.clone(),
                    expected: keys,
                    found: row.keys.len(),
                    parameters: parameters.join(", "),
                    at: row.span,
                };
                self.tell(error, row.span);
                whole = false;
            }
        }
        whole.then(|| written.rows.iter().collect())
    }

    fn axis(
        &mut self,
        written: &syntax::Table,
        rows: &[&syntax::Row],
        at: usize,
        kind: Type,
    ) -> Option<Axis> {
        match kind {
            Type::Label(scale) => Some(Axis::Scale {
                scale,
                places: u16::try_from(self.vocabulary().scale(scale).places.len()).ok()?,
            }),
            Type::Quantity(_) | Type::Slope | Type::Point(_) => self.quantity_axis(rows, at, kind),
            Type::YesNo | Type::Text | Type::Reference => {
                let name = &written.parameters[at].kinds[0];
                let error = CheckError::KeyForm {
                    found: name.value.clone(),
                    kind: "a table".into(),
                    at: name.span,
                    help: "keys are choices, sizes or quantities",
                };
                self.tell(error, name.span);
                None
            }
        }
    }

    /// All keys `up to K`, perhaps one `beyond`; or all `from K`, perhaps one `below`.
    fn quantity_axis(&mut self, rows: &[&syntax::Row], at: usize, kind: Type) -> Option<Axis> {
        let mut bounds: Vec<(Constant, Span)> = Vec::new();
        let (mut rising, mut falling) = (None, None);
        let (mut beyond, mut below) = (false, false);
        for row in rows {
            let key = &row.keys[at];
            let bound = match &key.value {
                Key::UpTo(bound) => {
                    rising = Some(key);
                    bound
                }
                Key::From(bound) => {
                    falling = Some(key);
                    bound
                }
                Key::Beyond => {
                    rising = Some(key);
                    beyond = true;
                    continue;
                }
                Key::Below => {
                    falling = Some(key);
                    below = true;
                    continue;
                }
                Key::Any => continue,
                Key::Labels(_) | Key::Between(..) | Key::AndOver(_) => {
                    self.key_form(
                        key,
                        kind,
                        "keys of quantities are all `up to K`, perhaps with a last `beyond`, or all `from K`, perhaps with a first `below`",
                    );
                    return None;
                }
            };
            let read = constant(self.vocabulary(), bound, kind);
            let bound = self.told(read, bound.span)?;
            bounds.push((bound, key.span));
        }
        if let (Some(_), Some(key)) = (rising, falling) {
            self.key_form(
                key,
                kind,
                "one table has either `up to` or `from`, not both",
            );
            return None;
        }
        let mut bounds: Vec<Constant> = bounds.into_iter().map(|(bound, _)| bound).collect();
        bounds.sort_by_key(number);
        bounds.dedup_by(|a, b| a.same(b));
        Some(if falling.is_some() {
            Axis::From {
                kind,
                bounds,
                below,
            }
        } else {
            Axis::UpTo {
                kind,
                bounds,
                beyond,
            }
        })
    }

    fn key_form(&mut self, key: &Spanned<Key>, kind: Type, help: &'static str) {
        let error = CheckError::KeyForm {
            found: key_name(&key.value),
            kind: self.vocabulary().type_name(kind),
            at: key.span,
            help,
        };
        self.tell(error, key.span);
    }

    fn cells(&mut self, table: &Table, rows: &[&syntax::Row]) -> Option<Vec<Cell>> {
        let length = combinations(table);
        if length > MOST_CELLS {
            let error = CheckError::TooCostly {
                rule: table.name.clone(),
                nodes: length,
                most: MOST_CELLS,
                at: table.span,
            };
            self.tell(error, table.span);
            return None;
        }
        let mut cells: Vec<Option<Cell>> = vec![None; length];
        let mut whole = true;
        for row in rows {
            if self.has_enough() {
                return None;
            }
            let value = match &row.value.value {
                None => None,
                Some(text) => {
                    let text = Spanned::new(text.clone(), row.value.span);
                    let read = constant(self.vocabulary(), &text, table.gives);
                    match self.told(read, text.span) {
                        Some(value) => Some(value),
                        None => {
                            whole = false;
                            continue;
                        }
                    }
                }
            };
            let Some(covered) = self.covered(table, &row.keys) else {
                whole = false;
                continue;
            };
            for cell in covered {
                if let Some(first) = &cells[cell] {
                    let error = CheckError::TableOverlap {
                        table: table.name.clone(),
                        both: table.cell_name(self.vocabulary(), cell),
                        at: row.span,
                        first: first.span,
                    };
                    self.tell(error, row.span);
                    whole = false;
                    break;
                }
                cells[cell] = Some(Cell {
                    value: value.clone(),
                    span: row.span,
                });
            }
        }
        if !whole {
            return None;
        }
        self.no_gap(table, &cells);
        cells.into_iter().collect()
    }

    fn no_gap(&mut self, table: &Table, cells: &[Option<Cell>]) {
        let missing: Vec<String> = cells
            .iter()
            .enumerate()
            .filter(|(_, cell)| cell.is_none())
            .map(|(at, _)| table.cell_name(self.vocabulary(), at))
            .collect();
        if missing.is_empty() {
            return;
        }
        let mut shown = missing
            .iter()
            .take(4)
            .cloned()
            .collect::<Vec<_>>()
            .join("; ");
        if missing.len() > 4 {
            shown.push_str(&format!(" and {} more", missing.len() - 4));
        }
        let error = CheckError::TableGap {
            table: table.name.clone(),
            missing: shown,
            at: table.span,
        };
        self.tell(error, table.span);
    }

    /// The cells that some keys name.
    pub(super) fn covered(&mut self, table: &Table, keys: &[Spanned<Key>]) -> Option<Vec<usize>> {
        if keys.len() != table.axes.len() {
            let at = keys.first().map_or(table.span, |key| key.span);
            let error = CheckError::ArgumentCount {
                name: table.name.clone(),
                expected: table.axes.len(),
                found: keys.len(),
                parameters: table.parameters.join(", "),
                at,
            };
            self.tell(error, at);
            return None;
        }
        let mut cells = vec![0];
        for (axis, key) in table.axes.iter().zip(keys) {
            let places = self.places(axis, key)?;
            cells = cells
                .iter()
                .flat_map(|cell| places.iter().map(move |place| cell * axis.length() + place))
                .collect();
        }
        Some(cells)
    }

    fn places(&mut self, axis: &Axis, key: &Spanned<Key>) -> Option<Vec<usize>> {
        if key.value == Key::Any {
            return Some((0..axis.length()).collect());
        }
        match axis {
            Axis::Scale { scale, places } => self.scale_places(*scale, usize::from(*places), key),
            Axis::UpTo {
                kind,
                bounds,
                beyond,
            } => match &key.value {
                Key::UpTo(bound) => self.bound_place(bound, *kind, bounds).map(|at| vec![at]),
                Key::Beyond if *beyond => Some(vec![bounds.len()]),
                _ => {
                    self.key_form(key, *kind, "write the key as its table does: `up to K`");
                    None
                }
            },
            Axis::From {
                kind,
                bounds,
                below,
            } => match &key.value {
                Key::From(bound) => self
                    .bound_place(bound, *kind, bounds)
                    .map(|at| vec![at + usize::from(*below)]),
                Key::Below if *below => Some(vec![0]),
                _ => {
                    self.key_form(key, *kind, "write the key as its table does: `from K`");
                    None
                }
            },
        }
    }

    fn bound_place(&mut self, bound: &Text, kind: Type, bounds: &[Constant]) -> Option<usize> {
        let read = constant(self.vocabulary(), bound, kind);
        let value = self.told(read, bound.span)?;
        let found = bounds
            .binary_search_by(|known| number(known).cmp(&number(&value)))
            .ok();
        if found.is_none() {
            let known = bounds.iter().take(MOST_LISTED).map(Constant::written);
            let known: Vec<_> = known.collect();
            self.unknown_name(
                &bound.value,
                bound.span,
                "a key of this table",
                format!("its keys are: {}", known.join(", ")),
            );
        }
        found
    }

    fn scale_places(
        &mut self,
        scale: ScaleId,
        places: usize,
        key: &Spanned<Key>,
    ) -> Option<Vec<usize>> {
        let ordered = self.vocabulary().scale(scale).ordered;
        let range = match &key.value {
            Key::Labels(labels) => {
                let labels: Vec<_> = labels
                    .iter()
                    .map(|label| self.place_of_label(scale, label))
                    .collect();
                return labels.into_iter().collect();
            }
            Key::UpTo(last) if ordered => 0..self.place_of_label(scale, last)? + 1,
            Key::AndOver(first) if ordered => self.place_of_label(scale, first)?..places,
            Key::Between(first, last) if ordered => {
                self.place_of_label(scale, first)?..self.place_of_label(scale, last)? + 1
            }
            Key::UpTo(_)
            | Key::AndOver(_)
            | Key::Between(..)
            | Key::Any
            | Key::From(_)
            | Key::Beyond
            | Key::Below => {
                let help = if ordered {
                    "keys of sizes are a label, `A or B`, `up to A`, `A to B`, `A and over` or `any`"
                } else {
                    "labels of a choice have no order: keys are a label, `A or B` or `any`"
                };
                self.key_form(key, Type::Label(scale), help);
                return None;
            }
        };
        if range.is_empty() {
            self.tell(CheckError::KeyReversed { at: key.span }, key.span);
            return None;
        }
        Some(range.collect())
    }

    fn place_of_label(&mut self, scale: ScaleId, label: &Text) -> Option<usize> {
        let read = constant(self.vocabulary(), label, Type::Label(scale));
        match self.told(read, label.span)? {
            Constant::Label { place, .. } => Some(usize::from(place)),
            Constant::Number { .. } => None,
        }
    }
}

/// How many combinations of keys a table has.
fn combinations(table: &Table) -> usize {
    let lengths = table.axes.iter().map(Axis::length);
    lengths.fold(1, usize::saturating_mul)
}

fn number(constant: &Constant) -> Option<crate::quantity::Rational> {
    match constant {
        Constant::Number { value, .. } => Some(*value),
        Constant::Label { .. } => None,
    }
}

fn key_name(key: &Key) -> String {
    match key {
        Key::Labels(labels) => labels
            .iter()
            .map(|label| format!("`{}`", label.value))
            .collect::<Vec<_>>()
            .join(" or "),
        Key::Any => "`any`".into(),
        Key::UpTo(bound) => format!("`up to {}`", bound.value),
        Key::Between(first, last) => format!("`{} to {}`", first.value, last.value),
        Key::AndOver(first) => format!("`{} and over`", first.value),
        Key::From(bound) => format!("`from {}`", bound.value),
        Key::Beyond => "`beyond`".into(),
        Key::Below => "`below`".into(),
    }
}
