//! A record laid out for judging with floats: little, and all of it together, since an archive's
//! records come from memory that nobody has just read.

use std::hint::black_box;

use crate::quantity::Near;
use crate::record::facts::{Record, Slot, State, ThingRef, Value};
use crate::survey::Mode;
use crate::vocabulary::{FactId, ListId};

/// The things, lists and facts of one record. Made of a record as it stands: of another, or of one
/// changed since, it says nothing.
#[derive(Debug, Default)]
pub struct Floats {
    /// Of each thing, where its slots and its lists begin.
    things: Vec<[u16; 2]>,
    /// Of each slot the fact in it, from 1; 0 where nothing was recorded.
    slots: Vec<u16>,
    lists: Vec<Items>,
    /// The elements of all lists, list behind list.
    items: Vec<ThingRef>,
    /// The ends of the facts.
    banded: Vec<[f64; 2]>,
    as_read: Vec<[f64; 2]>,
    fits: bool,
}

/// Which elements are a list's, and whether there may be more.
#[derive(Debug, Clone, Copy)]
struct Items {
    first: u16,
    past_and_open: u16,
}

const OPEN: u16 = 1 << 15;
/// More things, slots, lists or elements than this are not laid out.
const MOST: usize = OPEN as usize - 1;

impl Floats {
    /// Of a record.
    pub fn of(record: &Record) -> Floats {
        let mut floats = Floats::default();
        floats.take(record);
        floats
    }

    /// Of another record, in the same room.
    pub fn take(&mut self, record: &Record) {
        self.clear();
        let elements: usize = record.lists.iter().map(|list| list.items.len()).sum();
        let counts = [record.slots.count(), record.lists.len(), elements];
        self.fits = record.things.len() <= MOST && counts.iter().all(|count| *count <= MOST);
        if !self.fits {
            return;
        }
        // Each of these is at most `MOST`.
        let things = record.things.iter();
        self.things
            .extend(things.map(|thing| [thing.first_slot as u16, thing.first_list as u16]));
        for list in &record.lists {
            let first = self.items.len() as u16;
            self.items.extend_from_slice(&list.items);
            let open = if list.open { OPEN } else { 0 };
            self.lists.push(Items {
                first,
                past_and_open: self.items.len() as u16 | open,
            });
        }
        let places = (0..record.slots.count()).map(|slot| record.slots.place(slot));
        self.slots
            .extend(places.map(|place| place.map_or(0, |place| (place + 1) as u16)));
        for slot in record.slots.recorded() {
            let (banded, as_read) = both(slot);
            self.banded.push(banded.ends());
            self.as_read.push(as_read.ends());
        }
    }

    fn clear(&mut self) {
        self.things.clear();
        self.slots.clear();
        self.lists.clear();
        self.items.clear();
        self.banded.clear();
        self.as_read.clear();
    }

    /// Whether the record is small enough: of any other nothing may be asked here.
    pub(super) fn fits(&self) -> bool {
        self.fits
    }

    /// Asks the memory for all of it at once, so that it comes together and not line by line.
    pub(super) fn fetch(&self) {
        /// How much of it comes with one asking, in bytes.
        const LINE: usize = 64;
        let things = self.things.iter().step_by(LINE / 4).map(|thing| thing[0]);
        let slots = self.slots.iter().step_by(LINE / 2).copied();
        let lists = self.lists.iter().step_by(LINE / 4).map(|list| list.first);
        let whole = things.chain(slots).chain(lists);
        let facts = self.banded.iter().step_by(LINE / 16).map(|ends| ends[0]);
        black_box((whole.fold(0, u16::wrapping_add), facts.sum::<f64>()));
    }

    /// The ends of a fact; none where nothing was recorded.
    #[inline]
    pub(super) fn get(&self, mode: Mode, thing: ThingRef, fact: FactId) -> Option<[f64; 2]> {
        let [first, _] = self.things[thing.0 as usize];
        let place = self.slots[usize::from(first) + usize::from(fact.0)];
        let facts = match mode {
            Mode::Banded => &self.banded,
            Mode::AsRead => &self.as_read,
        };
        match place {
            0 => None,
            place => Some(facts[usize::from(place) - 1]),
        }
    }

    /// The elements of a list, and whether there may be more.
    #[inline]
    pub(super) fn list(&self, thing: ThingRef, list: ListId) -> (&[ThingRef], bool) {
        let [_, first] = self.things[thing.0 as usize];
        let items = self.lists[usize::from(first) + usize::from(list.0)];
        let past = items.past_and_open & !OPEN;
        let elements = &self.items[usize::from(items.first)..usize::from(past)];
        (elements, items.past_and_open & OPEN != 0)
    }
}

fn both(slot: &Slot) -> (Near, Near) {
    if slot.state != State::Read {
        return (Near::WHOLE, Near::WHOLE);
    }
    let banded = near(slot.banded);
    match slot.as_read {
        Value::Quantity(_) | Value::Nothing => (banded, near(slot.as_read)),
        // Only numbers have tolerances.
        Value::Label(_) | Value::Truth(_) | Value::Text(_) => (banded, banded),
    }
}

fn near(value: Value) -> Near {
    match value {
        Value::Quantity(interval) => Near::around(interval),
        Value::Label(place) => Near::exactly(place),
        Value::Truth(truth) => Near::exactly(u16::from(truth)),
        Value::Nothing | Value::Text(_) => Near::WHOLE,
    }
}
