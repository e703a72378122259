//! A topic's or a place's cases run against its rules.

mod cases;
mod error;

pub use cases::{Outcome, run_cases};
pub use error::CaseError;
