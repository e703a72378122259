//! Checks a recorded pressure-sewer installation against the rules in force where it was built.
//!
//! Text comes in on two roads that meet once:
//!
//! ```text
//! rule text ──▶ language ──▶ vocabulary ──▶ check ──▶ layers ──▶ program ─┐
//!                                                                         ├─▶ judge ──▶ findings ──▶ report
//! record ─────────────────────────────────▶ record ──▶ survey ────────────┘
//! ```
//!
//! The modules stand in the order in which they may depend on each other.
#![warn(clippy::print_stdout)]

// What pest's parser is written out in where it does without its guard of the stack, which is a
// fifth of its time: `language::layout` bounds how deep anything lies before it is parsed.
extern crate alloc;

pub mod source;

pub mod truth;

pub mod quantity;

pub mod language;

pub mod vocabulary;

pub mod check;

pub mod layers;

pub mod record;

pub mod survey;

pub mod figures;

pub mod program;

pub mod finding;

pub mod judge;

pub mod forms;

pub mod library;

pub mod ruleset;

pub mod prove;

pub mod compare;
#[cfg(feature = "program")]
pub mod kept;
#[cfg(feature = "program")]
pub mod screen;

pub mod report;

pub mod editing;
