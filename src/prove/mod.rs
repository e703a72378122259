//! A library proved: its cases run, its limits changed to see whether a case notices, its places
//! looked through.
//!
//! ```text
//! cases ──▶ what came of each ──▶ what is lacking
//!   └────▶ changes tried ──▶ what no case notices, with a case that does
//! library ──▶ open limits, amendments, settled rules, gaps over time
//! ```

mod amendments;
mod apply;
mod borrow;
mod cases;
mod change;
mod error;
mod lacking;
mod mutant;
mod never;
mod open_limits;
mod over_time;
mod proof;
mod readings;
mod settled;
mod stages;
mod suggest;

pub use cases::{Outcome, run_cases};
pub use error::CaseError;
pub use lacking::lacking;
pub use mutant::Scope;
pub use proof::{
    Amendment, Cases, Changes, Force, ForceFrom, Lacking, NeverDecides, OpenLimit, Outlook,
    OverTime, Proof, Settled, Suggestion, Unproved, Way, Where, WrongCase,
};
pub use stages::{Progress, Stage, prove};
