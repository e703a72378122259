//! What a vocabulary and the rules in force can print without a record.

mod blank;
mod coming;
mod coverage;
mod new_place;
mod published;
mod reads;
mod requirement;
mod rules;
mod schema;
mod sources;
mod worksheet;

pub use blank::blank_record;
pub use coming::{ChangedLimit, Coming};
pub use coverage::{Coverage, coverage};
pub use new_place::{NewPlace, new_place};
pub use published::{
    AuthorityEntry, CellEntry, OpenLimit, Published, PublishedRule, PublishedTopic, TableEntry,
    published,
};
pub(crate) use requirement::block_names;
pub use rules::{RuleEntry, TopicEntry, rules};
pub(crate) use rules::{clauses, compared_with};
pub use schema::record_schema;
pub use sources::{CitingRule, SourceEntry, sources};
pub use worksheet::{
    Ask, Asked, Asking, Computed, HoldSheet, PermitOn, PersonSheet, Question, Recorded, Worksheet,
    worksheet,
};

#[cfg(test)]
mod tests;
