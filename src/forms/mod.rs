//! What a vocabulary and the rules in force can print without a record.

mod coming;
mod coverage;
mod published;
mod rules;
mod schema;
mod sources;

pub use coming::{ChangedLimit, Coming};
pub use coverage::{Coverage, coverage};
pub use published::{
    AuthorityEntry, CellEntry, OpenLimit, Published, PublishedRule, PublishedTopic, TableEntry,
    published,
};
pub use rules::{RuleEntry, TopicEntry, rules};
pub use schema::record_schema;
pub use sources::{CitingRule, SourceEntry, sources};

#[cfg(test)]
mod tests;
