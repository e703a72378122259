//! A record laid out for judging with floats: little, and all of it together, since an archive's
//! records come from memory that nobody has just read.
//!
//! A [`Layout`] says which facts and lists rules ask for; no others are kept. Of each fact there are
//! floats around its value, with its tolerance and without, and the value itself as fractions of
//! 64-bit numbers where it fits them.

mod layout;
mod of_record;
mod text;
mod ways;

use std::sync::Arc;

use crate::quantity::{Interval, Near, Ratio};
use crate::record::facts::{THE_SITE, ThingRef};
use crate::survey::Mode;
use crate::vocabulary::ThingId;

pub(crate) use layout::Column;
pub use layout::Layout;
pub use text::Plainly;
pub(crate) use ways::{Frame, List, Owner, Scope, Stop, Why, Within};

/// The lists and facts of one record. Made of a record as it stands: of another, or of one changed
/// since, it says nothing.
#[derive(Debug, Clone)]
pub struct Figures {
    layout: Arc<Layout>,
    /// Thing after thing, and of each column after column; the whole line where nothing counts, and
    /// for a text.
    banded: Vec<Near>,
    /// Of each of these the place of its fact, from 1; 0 where nothing counts.
    places: Vec<u16>,
    exact: Vec<Option<Exact>>,
    /// Without their tolerance those that are not exact, by their places, from 1.
    as_read: Vec<(u16, Near)>,
    /// Thing after thing, and of each column after column.
    lists: Vec<Items>,
    /// The elements of all lists, list behind list.
    items: Vec<Thing>,
    /// Where the ways of the layout stop, way behind way.
    stops: Vec<Stop>,
    /// Where those of each way end.
    ends: Vec<u32>,
    /// What is around what is bound there.
    frames: Vec<Frame>,
    /// Whether some value has more than one reading.
    pub(crate) has_several: bool,
    /// Whether it is small enough: of any other nothing may be asked here.
    fits: bool,
}

/// A thing, and where its facts and lists begin, in one number: what is put together of several
/// is slow to be had again.
// From the lowest bit, 32 of the thing itself, 16 of its first fact, 16 of its first list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Thing(u64);

impl Thing {
    /// The lot itself.
    pub const SITE: Thing = Thing::new(THE_SITE, 0, 0);

    const fn new(itself: ThingRef, first_fact: u16, first_list: u16) -> Thing {
        Thing(itself.0 as u64 | (first_fact as u64) << 32 | (first_list as u64) << 48)
    }

    /// Of which nothing is kept.
    pub fn bare(itself: ThingRef) -> Thing {
        Thing::new(itself, 0, 0)
    }

    #[inline]
    pub fn itself(self) -> ThingRef {
        ThingRef(self.0 as u32)
    }

    #[inline]
    fn of_fact(self, column: Column) -> usize {
        usize::from((self.0 >> 32) as u16) + column.place()
    }

    #[inline]
    fn of_list(self, column: Column) -> usize {
        usize::from((self.0 >> 48) as u16) + column.place()
    }
}

/// Which elements are a list's, and what is said of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Items {
    first: u16,
    past: u16,
    /// Whether there may be more.
    is_open: bool,
    /// Whether a stretch of its run was not measured.
    has_gaps: bool,
}

impl Items {
    /// Nothing was written.
    const ABSENT: Items = Items {
        first: 0,
        past: 0,
        is_open: true,
        has_gaps: false,
    };
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

/// More facts, lists or elements than this are not laid out.
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
            && self.lists.len() == other.lists.len()
            && self
                .lists
                .iter()
                .zip(&other.lists)
                .all(|(one, two)| same(one, two))
            && self.banded == other.banded
            && self.stops() == other.stops()
            && (0..self.banded.len()).all(|at| self.fact(at) == other.fact(at))
    }
}

impl Figures {
    /// Of no record yet.
    pub fn new(layout: &Arc<Layout>) -> Figures {
        Figures {
            layout: Arc::clone(layout),
            banded: Vec::new(),
            places: Vec::new(),
            exact: Vec::new(),
            as_read: Vec::new(),
            lists: Vec::new(),
            items: Vec::new(),
            stops: Vec::new(),
            ends: Vec::new(),
            frames: Vec::new(),
            has_several: false,
            fits: false,
        }
    }

    fn clear(&mut self) {
        self.banded.clear();
        self.places.clear();
        self.exact.clear();
        self.as_read.clear();
        self.lists.clear();
        self.items.clear();
        self.stops.clear();
        self.ends.clear();
        self.frames.clear();
        self.has_several = false;
        self.fits = false;
    }

    /// Whether anything may be asked by that layout.
    #[inline]
    pub(crate) fn is_of(&self, layout: &Arc<Layout>) -> bool {
        self.fits && Arc::ptr_eq(&self.layout, layout)
    }

    /// Gives a thing its room, all of it absent; none where there is none left.
    #[inline]
    fn add_thing(&mut self, itself: ThingRef, kind: ThingId) -> Option<Thing> {
        let kept = self.layout.kind(kind);
        let (first_fact, first_list) = (self.banded.len(), self.lists.len());
        let past_facts = first_fact + kept.fact_count();
        let past_lists = first_list + kept.list_count();
        if past_facts.max(past_lists) > MOST {
            return None;
        }
        self.banded.resize(past_facts, Near::WHOLE);
        self.places.resize(past_facts, 0);
        self.lists.resize(past_lists, Items::ABSENT);
        Some(Thing::new(itself, first_fact as u16, first_list as u16))
    }

    #[inline]
    fn place(&self, thing: Thing, fact: Column) -> Option<usize> {
        usize::from(self.places[thing.of_fact(fact)]).checked_sub(1)
    }

    /// Whether a fact was recorded, and counts.
    pub(crate) fn is_recorded(&self, thing: Thing, fact: Column) -> bool {
        self.place(thing, fact).is_some()
    }

    /// Around the value of a fact; the whole line where nothing was recorded, and of a text.
    #[inline]
    pub(crate) fn near(&self, mode: Mode, thing: Thing, fact: Column) -> Near {
        match mode {
            Mode::Banded => self.banded[thing.of_fact(fact)],
            Mode::AsRead => self.as_read(thing.of_fact(fact)),
        }
    }

    #[inline(never)]
    fn as_read(&self, at: usize) -> Near {
        let place = self.places[at];
        let Some(of_exact) = usize::from(place).checked_sub(1) else {
            return Near::WHOLE;
        };
        if let Some(exact) = self.exact[of_exact] {
            return Near::of(exact.nominal);
        }
        let mut others = self.as_read.iter();
        let known = others.find(|(other, _)| *other == place);
        known.map_or(Near::WHOLE, |(_, near)| *near)
    }

    /// Puts a fact that fits in its place.
    #[inline(always)]
    fn put(&mut self, at: usize, exact: Exact) {
        self.banded[at] = Near::band(exact.nominal, exact.tolerance);
        self.exact.push(Some(exact));
        // There are no more of them than places.
        self.places[at] = self.exact.len() as u16;
    }

    /// The same of any other.
    fn put_inexact(&mut self, at: usize, banded: Near, as_read: Near) {
        self.banded[at] = banded;
        self.exact.push(None);
        let place = self.exact.len() as u16;
        self.places[at] = place;
        self.as_read.push((place, as_read));
    }

    /// The value of a fact; the whole line where nothing was recorded, and none where only the
    /// record knows it.
    pub(crate) fn exact(&self, mode: Mode, thing: Thing, fact: Column) -> Option<Interval> {
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

    /// The ends of a value that was recorded; none where 64 bits do not hold them.
    pub(crate) fn ends(&self, mode: Mode, thing: Thing, fact: Column) -> Option<[Ratio; 2]> {
        let Exact { nominal, tolerance } = self.exact[self.place(thing, fact)?]?;
        Some(match mode {
            Mode::Banded => [
                nominal.checked_add(tolerance.negate())?,
                nominal.checked_add(tolerance)?,
            ],
            Mode::AsRead => [nominal; 2],
        })
    }

    #[inline]
    fn items(&self, thing: Thing, list: Column) -> Items {
        self.lists[thing.of_list(list)]
    }

    /// The elements of a list, and whether there may be more.
    #[inline]
    pub(crate) fn list(&self, thing: Thing, list: Column) -> (&[Thing], bool) {
        let items = self.items(thing, list);
        (self.elements(items), items.is_open)
    }

    #[inline]
    fn elements(&self, items: Items) -> &[Thing] {
        &self.items[usize::from(items.first)..usize::from(items.past)]
    }

    /// All that is told of a place.
    fn fact(&self, at: usize) -> Option<(Near, Option<Exact>)> {
        let place = usize::from(self.places[at]).checked_sub(1)?;
        Some((self.as_read(at), self.exact[place]))
    }

    /// Whether a list tells all there is, of the whole of its run.
    pub(crate) fn is_complete(&self, thing: Thing, list: Column) -> bool {
        let items = self.items(thing, list);
        !items.is_open && !items.has_gaps
    }
}
