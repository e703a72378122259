//! What a vocabulary and the rules in force can print without a record.

mod coverage;
mod rules;
mod schema;
mod sources;

pub use coverage::{Coverage, coverage};
pub use rules::{RuleEntry, TopicEntry, rules};
pub use schema::record_schema;
pub use sources::{CitingRule, SourceEntry, sources};

#[cfg(test)]
mod tests;
