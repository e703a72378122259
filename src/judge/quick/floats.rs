//! A record's facts as floats, in the order of its slots.

use crate::quantity::Near;
use crate::record::facts::{Record, State, Value};
use crate::survey::Mode;

/// The facts of one record. Made of a record as it stands: of another, or of one changed since,
/// it says nothing.
#[derive(Debug, Default)]
pub struct Floats {
    banded: Vec<Near>,
    as_read: Vec<Near>,
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
        for values in [&mut self.banded, &mut self.as_read] {
            values.clear();
            values.resize(record.slots.len(), Near::WHOLE);
        }
        for (at, slot) in record.slots.iter().enumerate() {
            if slot.state != State::Read {
                continue;
            }
            self.banded[at] = near(slot.banded);
            self.as_read[at] = if slot.as_read == slot.banded {
                self.banded[at]
            } else {
                near(slot.as_read)
            };
        }
    }

    pub(super) fn get(&self, mode: Mode, slot: usize) -> Near {
        match mode {
            Mode::Banded => self.banded[slot],
            Mode::AsRead => self.as_read[slot],
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
