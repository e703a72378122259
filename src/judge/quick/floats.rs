//! A record's facts as floats.

use crate::quantity::Near;
use crate::record::facts::{Record, Slot, State, Value};
use crate::survey::Mode;

/// The facts of one record, those alone that were recorded. Made of a record as it stands: of
/// another, or of one changed since, it says nothing.
#[derive(Debug, Default)]
pub struct Floats {
    facts: Vec<Fact>,
}

#[derive(Debug)]
struct Fact {
    banded: Near,
    as_read: Near,
}

impl Floats {
    /// Of a record.
    pub fn of(record: &Record) -> Floats {
        let mut floats = Floats::default();
        floats.take(record);
        floats
    }

    /// Of another record, in the same room.
    pub fn take(&mut self, record: &Record) {
        self.facts.clear();
        self.facts.extend(record.slots.recorded().map(Fact::of));
    }

    #[inline]
    pub(super) fn get(&self, mode: Mode, record: &Record, slot: usize) -> Near {
        let Some(place) = record.slots.place(slot) else {
            return Near::WHOLE;
        };
        match mode {
            Mode::Banded => self.facts[place].banded,
            Mode::AsRead => self.facts[place].as_read,
        }
    }
}

impl Fact {
    fn of(slot: &Slot) -> Fact {
        if slot.state != State::Read {
            return Fact {
                banded: Near::WHOLE,
                as_read: Near::WHOLE,
            };
        }
        Fact {
            banded: near(slot.banded),
            as_read: near(slot.as_read),
        }
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
