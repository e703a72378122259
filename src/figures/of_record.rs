//! A record in, its figures out.

use super::{Exact, Figures, Items, MOST, Thing};
use crate::quantity::{Interval, Near, Ratio};
use crate::record::facts::{Record, Slot, State, Value};

impl Figures {
    /// Of a record.
    pub fn of(record: &Record) -> Figures {
        let mut figures = Figures::default();
        figures.take(record);
        figures
    }

    /// Of another record, in the same room.
    pub fn take(&mut self, record: &Record) {
        self.clear();
        self.has_several = record.has_several;
        let elements: usize = record.lists.iter().map(|list| list.items.len()).sum();
        let counts = [record.slots.count(), record.lists.len(), elements];
        self.fits = record.things.len() <= MOST && counts.iter().all(|count| *count <= MOST);
        if !self.fits {
            return;
        }
        // Each of these is at most `MOST`.
        self.things.extend(record.things.iter().map(|thing| Thing {
            first_slot: thing.first_slot as u16,
            first_list: thing.first_list as u16,
        }));
        for list in &record.lists {
            let first = self.items.len() as u16;
            self.items.extend_from_slice(&list.items);
            self.lists.push(Items {
                first,
                past: self.items.len() as u16,
                is_open: list.open,
                has_gaps: !list.gaps.is_empty(),
                is_written: list.written,
            });
        }
        let slots = (0..record.slots.count()).map(|number| &record.slots[number]);
        for slot in slots {
            let place = match slot.state {
                State::Read => self.fact(slot),
                State::Absent | State::NotRead | State::Disagree => 0,
            };
            self.slots.push(place);
        }
    }

    /// Adds a fact and says its place, from 1.
    fn fact(&mut self, slot: &Slot) -> u16 {
        match exact(slot) {
            Some(exact) => self.add(exact),
            None => self.add_inexact(near(slot.banded), near(slot.as_read)),
        }
    }
}

/// A value of one reading, where it fits.
fn exact(slot: &Slot) -> Option<Exact> {
    let (banded, as_read) = match (slot.banded, slot.as_read) {
        (Value::Quantity(banded), Value::Quantity(as_read)) => (banded, as_read),
        (Value::Label(place), _) => return Some(Exact::place(place)),
        (Value::Truth(truth), _) => return Some(Exact::place(truth.into())),
        (Value::Quantity(_) | Value::Nothing | Value::Text(_), _) => return None,
    };
    let [reading] = slot.readings.as_slice() else {
        return None;
    };
    let nominal = as_read.exact_point()?;
    let tolerance = match reading.tolerance {
        Some(tolerance) => Ratio::of(tolerance)?,
        None => Ratio::ZERO,
    };
    let exact = Exact {
        nominal: Ratio::of(nominal)?,
        tolerance,
    };
    // What was surveyed since may be surer, or less sure, than it was read.
    (banded == Interval::band(nominal, tolerance.rational())).then_some(exact)
}

/// Of several readings, and of what is not exact.
fn near(value: Value) -> Near {
    match value {
        Value::Quantity(interval) => Near::around(interval),
        Value::Label(_) | Value::Truth(_) | Value::Nothing | Value::Text(_) => Near::WHOLE,
    }
}
