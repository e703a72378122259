//! Where figures keep what: facts and lists that no rule asks for have no place in them.

use super::List;
use crate::survey::Covering;
use crate::vocabulary::{FactId, Form, ListId, RUN_LENGTH, ThingId, Vocabulary};

/// The facts and lists that figures keep of each kind of thing, and in which order.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    kinds: Vec<Kept>,
    /// The lists within lists that rules go through.
    pub(super) ways: Vec<Vec<List>>,
}

/// The place of a fact among those that are kept of its thing, or of a list likewise.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Column(u16);

impl Column {
    #[inline]
    pub fn place(self) -> usize {
        usize::from(self.0)
    }
}

/// What is kept of a kind of thing.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Kept {
    facts: Columns,
    lists: Columns,
    /// Of a run, the lists that are kept and cover it.
    pub covered: Vec<Covered>,
}

/// By their numbers in the vocabulary.
#[derive(Debug, Clone, Default, PartialEq)]
struct Columns {
    columns: Vec<Option<Column>>,
    count: u16,
}

/// A list that covers its run, and where that is seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Covered {
    pub list: Column,
    pub covering: Covering,
    /// Where an element begins and ends.
    pub ends: [Column; 2],
    /// The length of the run.
    pub length: Column,
}

impl Layout {
    /// With nothing in it yet.
    pub(crate) fn empty(vocabulary: &Vocabulary) -> Layout {
        let kinds = vocabulary.things.iter().map(|kind| Kept {
            facts: Columns::none_of(kind.facts.len()),
            lists: Columns::none_of(kind.lists.len()),
            covered: Vec::new(),
        });
        Layout {
            kinds: kinds.collect(),
            ways: Vec::new(),
        }
    }

    /// With all facts and lists that a vocabulary has: for records that are laid out before anybody
    /// knows by which rules they are judged.
    pub fn everything(vocabulary: &Vocabulary) -> Layout {
        let mut layout = Layout::empty(vocabulary);
        for (number, kind) in (0..).zip(&vocabulary.things) {
            for fact in kind.fact_ids() {
                layout.fact(ThingId(number), fact);
            }
            for list in kind.list_ids() {
                layout.list(vocabulary, ThingId(number), list);
            }
        }
        layout
    }

    /// Keeps a fact, if it is not kept yet.
    pub(crate) fn fact(&mut self, kind: ThingId, fact: FactId) -> Column {
        self.kinds[usize::from(kind.0)].facts.keep(fact.0)
    }

    /// Keeps a list, likewise, and what tells whether it covers its run.
    pub(crate) fn list(&mut self, vocabulary: &Vocabulary, kind: ThingId, list: ListId) -> Column {
        if let Some(known) = self.kind(kind).list(list) {
            return known;
        }
        let column = self.kinds[usize::from(kind.0)].lists.keep(list.0);
        let of = vocabulary.thing(kind);
        let things = of.list(list).of;
        if let Form::Run { gap } = of.form
            && let Some(covering) = Covering::of(vocabulary, things, gap)
        {
            let covered = Covered {
                list: column,
                covering,
                ends: covering.facts().map(|fact| self.fact(things, fact)),
                length: self.fact(kind, RUN_LENGTH),
            };
            self.kinds[usize::from(kind.0)].covered.push(covered);
        }
        column
    }

    /// The place of a way; none where it has none.
    pub(crate) fn known_way(&self, way: &[List]) -> Option<usize> {
        self.ways.iter().position(|known| known == way)
    }

    /// The place of a way, which it gets where it has none.
    pub(crate) fn way(&mut self, way: Vec<List>) -> usize {
        self.known_way(&way).unwrap_or_else(|| {
            self.ways.push(way);
            self.ways.len() - 1
        })
    }

    #[inline]
    pub(super) fn kind(&self, kind: ThingId) -> &Kept {
        &self.kinds[usize::from(kind.0)]
    }
}

impl Kept {
    pub fn fact(&self, fact: FactId) -> Option<Column> {
        self.facts.columns[usize::from(fact.0)]
    }

    pub fn list(&self, list: ListId) -> Option<Column> {
        self.lists.columns[usize::from(list.0)]
    }

    /// The facts that are kept, by their numbers, and where.
    pub fn kept_facts(&self) -> impl Iterator<Item = (usize, Column)> {
        self.facts.kept()
    }

    /// The lists.
    pub fn kept_lists(&self) -> impl Iterator<Item = (usize, Column)> {
        self.lists.kept()
    }

    /// How many facts are kept.
    #[inline]
    pub fn fact_count(&self) -> usize {
        usize::from(self.facts.count)
    }

    /// How many lists.
    #[inline]
    pub fn list_count(&self) -> usize {
        usize::from(self.lists.count)
    }
}

impl Columns {
    fn none_of(count: usize) -> Columns {
        Columns {
            columns: vec![None; count],
            count: 0,
        }
    }

    fn kept(&self) -> impl Iterator<Item = (usize, Column)> {
        let columns = self.columns.iter().enumerate();
        columns.filter_map(|(number, column)| Some((number, (*column)?)))
    }

    fn keep(&mut self, number: u16) -> Column {
        let count = &mut self.count;
        *self.columns[usize::from(number)].get_or_insert_with(|| {
            // A vocabulary numbers them in 16 bits.
            *count += 1;
            Column(*count - 1)
        })
    }
}
