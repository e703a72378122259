//! Two sets of rules, or two records of a lot, in; what differs out, in words a contractor reads.

mod findings;
mod rules;

pub use findings::{FindingChange, RecordComparison, Turn, compare_findings, records_of_one_lot};
pub use rules::{Change, Kind, Side, compare_rules};
