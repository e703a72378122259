//! The rules in force in, a form that runs out: slots and numbers, no names looked up.

pub mod code;
mod compile;

pub use code::Program;
pub use compile::compile;
pub(crate) use compile::standing_of_cell;
pub(crate) use compile::touched_cells;
