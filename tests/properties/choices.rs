//! A list of numbers in, one decision after another out.
//!
//! Everything that is generated is decided by such a list, and 0 decides for what is simplest: a
//! counterexample with fewer and lesser numbers is a smaller library or a smaller record.

use proptest::collection::vec;
use proptest::prelude::*;

/// Decisions yet to be made; when they run out, each is for what is simplest.
pub struct Choices {
    numbers: std::vec::IntoIter<u16>,
}

/// Lists of numbers, longer ones for larger things.
pub fn numbers(most: usize) -> impl Strategy<Value = Vec<u16>> {
    vec(any::<u16>(), most / 3..most)
}

impl Choices {
    pub fn new(numbers: Vec<u16>) -> Choices {
        Choices {
            numbers: numbers.into_iter(),
        }
    }

    /// A number below `end`.
    pub fn below(&mut self, end: usize) -> usize {
        match self.numbers.next() {
            Some(number) if end > 0 => usize::from(number) % end,
            Some(_) | None => 0,
        }
    }

    /// Whether something happens that happens `often` in `of` times.
    pub fn chance(&mut self, often: usize, of: usize) -> bool {
        self.below(of) + often >= of
    }

    pub fn pick<'a, T>(&mut self, from: &'a [T]) -> &'a T {
        &from[self.below(from.len())]
    }

    /// The same things in another order.
    pub fn shuffled<T>(&mut self, mut things: Vec<T>) -> Vec<T> {
        let mut shuffled = Vec::with_capacity(things.len());
        while !things.is_empty() {
            let at = self.below(things.len());
            shuffled.push(things.remove(at));
        }
        shuffled
    }
}
