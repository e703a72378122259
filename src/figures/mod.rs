//! A record laid out for judging with floats: little, and all of it together, since an archive's
//! records come from memory that nobody has just read.
//!
//! Of each fact there are floats around its value, with its tolerance and without, and the value
//! itself as fractions of 64-bit numbers where it fits them.

mod of_record;
mod text;

use std::hint::black_box;

use crate::quantity::{Interval, Near, Ratio};
use crate::record::facts::ThingRef;
use crate::survey::Mode;
use crate::vocabulary::{FactId, ListId};

pub use text::Plainly;

/// The things, lists and facts of one record. Made of a record as it stands: of another, or of one
/// changed since, it says nothing.
#[derive(Debug, Default)]
pub struct Figures {
    things: Vec<Thing>,
    /// Of each slot the place of its fact, from 1; 0 where nothing counts.
    slots: Vec<u16>,
    lists: Vec<Items>,
    /// The elements of all lists, list behind list.
    items: Vec<ThingRef>,
    banded: Vec<Near>,
    exact: Vec<Option<Exact>>,
    /// Without their tolerance those that are not exact, by their places, from 1.
    as_read: Vec<(u16, Near)>,
    /// Whether some value has more than one reading.
    pub(crate) has_several: bool,
    /// Whether it is small enough: of any other nothing may be asked here.
    pub(crate) fits: bool,
}

/// Where the slots and lists of a thing begin.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Thing {
    first_slot: u16,
    first_list: u16,
}

/// Which elements are a list's, and what is said of it.
#[derive(Debug, Clone, Copy, Default)]
struct Items {
    first: u16,
    past: u16,
    /// Whether there may be more.
    is_open: bool,
    /// Whether a stretch of its run was not measured.
    has_gaps: bool,
    /// Whether it was written at all; only while it is read.
    is_written: bool,
}

/// A value and how far it may be off, not below 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Exact {
    nominal: Ratio,
    tolerance: Ratio,
}

impl Exact {
    /// A place of a choice or size, or a truth.
    fn place(place: u16) -> Exact {
        Exact {
            nominal: Ratio::place(place),
            tolerance: Ratio::ZERO,
        }
    }
}

/// More things, slots, lists or elements than this are not laid out.
const MOST: usize = u16::MAX as usize;

/// The same is told of every thing.
impl PartialEq for Figures {
    fn eq(&self, other: &Figures) -> bool {
        let same = |one: &Items, two: &Items| {
            let told = |items: &Items| (items.is_open, items.has_gaps);
            told(one) == told(two) && self.elements(*one) == other.elements(*two)
        };
        self.fits == other.fits
            && self.has_several == other.has_several
            && self.things == other.things
            && self.lists.len() == other.lists.len()
            && self
                .lists
                .iter()
                .zip(&other.lists)
                .all(|(one, two)| same(one, two))
            && self.slots.len() == other.slots.len()
            && (0..self.slots.len()).all(|slot| self.figure(slot) == other.figure(slot))
    }
}

impl Figures {
    fn clear(&mut self) {
        self.things.clear();
        self.slots.clear();
        self.lists.clear();
        self.items.clear();
        self.banded.clear();
        self.as_read.clear();
        self.exact.clear();
        self.has_several = false;
        self.fits = false;
    }

    /// Asks the memory for all of it at once, so that it comes together and not line by line.
    pub(crate) fn fetch(&self) {
        /// How much of it comes with one asking, in bytes.
        const LINE: usize = 64;
        fn lines<T>(all: &[T]) -> impl Iterator<Item = &T> {
            all.iter().step_by(LINE / size_of::<T>())
        }
        let things = lines(&self.things).map(|thing| thing.first_slot);
        let slots = lines(&self.slots).copied();
        let lists = lines(&self.lists).map(|list| list.first);
        let whole = things.chain(slots).chain(lists).fold(0, u16::wrapping_add);
        let facts = lines(&self.banded).map(|near| near.lower());
        black_box((whole, facts.sum::<f64>()));
    }

    #[inline]
    pub(crate) fn thing(&self, thing: ThingRef) -> Thing {
        self.things[thing.0 as usize]
    }

    #[inline]
    fn place(&self, thing: Thing, fact: FactId) -> Option<usize> {
        let place = self.slots[usize::from(thing.first_slot) + usize::from(fact.0)];
        usize::from(place).checked_sub(1)
    }

    /// Whether a fact was recorded, and counts.
    pub(crate) fn is_recorded(&self, thing: Thing, fact: FactId) -> bool {
        self.place(thing, fact).is_some()
    }

    /// Around the value of a fact; the whole line where nothing was recorded, and of a text.
    #[inline]
    pub(crate) fn near(&self, mode: Mode, thing: Thing, fact: FactId) -> Near {
        match (self.place(thing, fact), mode) {
            (None, _) => Near::WHOLE,
            (Some(place), Mode::Banded) => self.banded[place],
            (Some(place), Mode::AsRead) => self.as_read(place),
        }
    }

    #[inline(never)]
    fn as_read(&self, place: usize) -> Near {
        if let Some(exact) = self.exact[place] {
            return Near::of(exact.nominal);
        }
        let mut others = self.as_read.iter();
        let known = others.find(|(other, _)| usize::from(*other) == place + 1);
        known.map_or(Near::WHOLE, |(_, near)| *near)
    }

    /// Adds a fact that fits, and says its place, from 1.
    #[inline(always)]
    fn add(&mut self, exact: Exact) -> u16 {
        self.banded.push(Near::band(exact.nominal, exact.tolerance));
        self.exact.push(Some(exact));
        self.banded.len() as u16
    }

    /// The same of any other.
    fn add_inexact(&mut self, banded: Near, as_read: Near) -> u16 {
        self.banded.push(banded);
        self.exact.push(None);
        let place = self.banded.len() as u16;
        self.as_read.push((place, as_read));
        place
    }

    /// The value of a fact; the whole line where nothing was recorded, and none where only the
    /// record knows it.
    pub(crate) fn exact(&self, mode: Mode, thing: Thing, fact: FactId) -> Option<Interval> {
        let Some(place) = self.place(thing, fact) else {
            return Some(Interval::WHOLE);
        };
        let Exact { nominal, tolerance } = self.exact[place]?;
        let nominal = nominal.rational();
        Some(match mode {
            Mode::Banded => Interval::band(nominal, tolerance.rational()),
            Mode::AsRead => Interval::point(nominal),
        })
    }

    #[inline]
    fn items(&self, thing: Thing, list: ListId) -> Items {
        self.lists[usize::from(thing.first_list) + usize::from(list.0)]
    }

    /// The elements of a list, and whether there may be more.
    #[inline]
    pub(crate) fn list(&self, thing: Thing, list: ListId) -> (&[ThingRef], bool) {
        let items = self.items(thing, list);
        (self.elements(items), items.is_open)
    }

    #[inline]
    fn elements(&self, items: Items) -> &[ThingRef] {
        &self.items[usize::from(items.first)..usize::from(items.past)]
    }

    /// All that is told of a slot.
    fn figure(&self, slot: usize) -> Option<(Near, Near, Option<Exact>)> {
        let place = usize::from(self.slots[slot]).checked_sub(1)?;
        Some((self.banded[place], self.as_read(place), self.exact[place]))
    }

    /// Whether a list tells all there is, of the whole of its run.
    pub(crate) fn is_complete(&self, thing: Thing, list: ListId) -> bool {
        let items = self.items(thing, list);
        !items.is_open && !items.has_gaps
    }
}
