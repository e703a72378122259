//! Findings in, text out: a file a format. A report decides nothing.

pub mod json;
#[cfg(feature = "program")]
pub mod mistakes;
#[cfg(feature = "program")]
pub mod ruleset_page;
#[cfg(feature = "program")]
pub mod terminal;
