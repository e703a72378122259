//! What every peer does.

use crate::answer::Answers;

/// An engine with the predicates, ready to be asked.
pub trait Peer {
    /// A record in the engine's own values.
    type Input;

    /// What the table calls it.
    fn name(&self) -> &'static str;

    /// A line of JSON in base units in the engine's own values, by its quickest way; nothing where
    /// the line can't be read.
    fn read(&self, line: &str) -> Option<Self::Input>;

    /// The answers to all predicates that it can say; what it can't say is met.
    fn answers(&mut self, input: &Self::Input) -> Answers;
}
