//! The slots of a record: many, of which few were recorded.

use std::ops::Index;

use super::facts::Slot;

/// All slots, by number. One in which nothing was recorded takes no room.
#[derive(Debug, Clone, Default)]
pub struct Slots {
    /// Where each is kept, from 1; 0 where nothing was recorded.
    places: Vec<u32>,
    kept: Vec<Slot>,
}

static ABSENT: Slot = Slot::ABSENT;

impl Slots {
    /// None yet, with room for so many of a thing's facts.
    pub fn with_capacity(recorded: usize) -> Slots {
        Slots {
            places: Vec::with_capacity(4 * recorded),
            kept: Vec::with_capacity(recorded),
        }
    }

    /// How many there are, recorded or not.
    pub fn count(&self) -> usize {
        self.places.len()
    }

    /// Adds so many in which nothing was recorded, and says which is the first.
    pub fn add_absent(&mut self, count: usize) -> usize {
        let first = self.places.len();
        self.places.resize(first + count, 0);
        first
    }

    /// Puts what was recorded into a slot.
    #[inline]
    pub fn set(&mut self, number: usize, slot: Slot) {
        match self.places[number] {
            0 => {
                self.kept.push(slot);
                // The number of values bounds that of slots.
                self.places[number] = u32::try_from(self.kept.len()).unwrap_or(u32::MAX);
            }
            place => self.kept[place as usize - 1] = slot,
        }
    }

    /// Where one stands among those in which something was recorded; none where nothing was.
    #[inline]
    pub fn place(&self, number: usize) -> Option<usize> {
        (self.places[number] as usize).checked_sub(1)
    }

    /// Those in which something was recorded, in the order in which it was.
    pub fn recorded(&self) -> impl Iterator<Item = &Slot> {
        self.kept.iter()
    }
}

impl Index<usize> for Slots {
    type Output = Slot;

    #[inline]
    fn index(&self, number: usize) -> &Slot {
        match self.place(number) {
            Some(place) => &self.kept[place],
            None => &ABSENT,
        }
    }
}
