//! A record in, its figures out.

use std::sync::Arc;

use super::{Exact, Figures, Items, Layout, MOST, Thing};
use crate::quantity::{Interval, Near, Ratio};
use crate::record::facts::{Record, Slot, State, Value};

impl Figures {
    /// Of a record.
    pub fn of(record: &Record, layout: &Arc<Layout>) -> Figures {
        let mut figures = Figures::new(layout);
        figures.take(record);
        figures
    }

    /// Of another record, in the same room.
    pub fn take(&mut self, record: &Record) {
        self.clear();
        self.has_several = record.has_several;
        self.fits = self.lay_out(record).is_some();
    }

    /// None where there is too much of it.
    fn lay_out(&mut self, record: &Record) -> Option<()> {
        let of_things = record.all_things().map(|thing| {
            let kind = record.thing(thing).kind;
            self.add_thing(thing, kind)
        });
        let things: Vec<Thing> = of_things.collect::<Option<_>>()?;
        let layout = Arc::clone(&self.layout);
        for thing in &things {
            let known = record.thing(thing.itself());
            let kept = layout.kind(known.kind);
            for (number, column) in kept.kept_lists() {
                let list = &record.lists[known.first_list as usize + number];
                let first = self.items.len();
                let elements = list.items.iter().map(|item| things[item.0 as usize]);
                self.items.extend(elements);
                let past = self.items.len();
                if past > MOST {
                    return None;
                }
                self.lists[thing.of_list(column)] = Items {
                    first: first as u16,
                    past: past as u16,
                    is_open: list.open,
                    has_gaps: !list.gaps.is_empty(),
                };
            }
            for (number, column) in kept.kept_facts() {
                let slot = &record.slots[known.first_slot as usize + number];
                match slot.state {
                    State::Read => self.put_slot(thing.of_fact(column), slot),
                    State::Absent | State::NotRead | State::Disagree => {}
                }
            }
        }
        self.find_stops(&layout);
        Some(())
    }

    fn put_slot(&mut self, at: usize, slot: &Slot) {
        match exact(slot) {
            Some(exact) => self.put(at, exact),
            None => self.put_inexact(at, near(slot.banded), near(slot.as_read)),
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
