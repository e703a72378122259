//! Places and dates for which there are no rules, or not one set of them.

use miette::Diagnostic;
use thiserror::Error;

use crate::source::Span;

/// What keeps rules from being chosen, or a library from being consistent over time.
#[derive(Debug, Clone, Error, Diagnostic)]
pub enum LayerError {
    /// `place: aldmoor/nowhere`
    #[error("no place `{name}` in this library")]
    #[diagnostic(code(layers::unknown_place))]
    UnknownPlace {
        /// What was written.
        name: String,
        /// Where.
        #[label("not a place")]
        at: Option<Span>,
        /// The mend.
        #[help]
        help: String,
    },
    /// A town and a district that both adopt a topic
    #[error("topic {topic} is claimed by {first} and by {second}")]
    #[diagnostic(
        code(layers::two_places_claim),
        help(
            "each topic comes from one of a lot's places: one of the two ends its statements on {topic} with `until`, or the record leaves one place out"
        )
    )]
    TwoPlacesClaim {
        /// The topic.
        topic: String,
        /// One place.
        first: String,
        /// The other.
        second: String,
        /// Where the record names them.
        #[label("both have a say on {topic}")]
        at: Option<Span>,
    },
    /// A place that has adopted nothing by then
    #[error("no rule is in force at {places} on the dates of this record")]
    #[diagnostic(code(layers::no_rules))]
    NoRules {
        /// The places.
        places: String,
        /// Where the record names them.
        #[label("nothing in force here then")]
        at: Option<Span>,
        /// What could be wrong.
        #[help]
        help: String,
    },
    /// `strike rule` of what is not in force then
    #[error("{what} is not in force here on {date}, so there is nothing to change")]
    #[diagnostic(
        code(layers::target_missing),
        help(
            "a statement changes what stands beneath it on every date of its period: adopt the topic from that date on, or end the statement with `until`"
        )
    )]
    TargetMissing {
        /// The rule or topic.
        what: String,
        /// When.
        date: String,
        /// The statement.
        #[label("still stands then")]
        at: Span,
    },
    /// Thousands of statements, each from a date of its own
    #[error("{place} has {dates} dates on which something changes, more than can be looked at")]
    #[diagnostic(
        code(layers::too_many_dates),
        help("take away what was over long ago, or begin changes on the same dates")
    )]
    TooManyDates {
        /// The place.
        place: String,
        /// How many dates.
        dates: usize,
        /// The place's declaration.
        #[label("changes too often")]
        at: Span,
    },
    /// A record of a thousand wells, and a rule that compares each with each and each
    #[error("to judge this record by rule {rule}, and those before it, would take too many steps")]
    #[diagnostic(
        code(layers::too_many_steps),
        help(
            "split the record, or take a ruleset whose rules go through fewer lists within each other"
        )
    )]
    TooManySteps {
        /// The rule.
        rule: String,
        /// Which record.
        #[label("this record")]
        at: Option<Span>,
    },
    /// A rule whose topic is adopted without the topic whose limit it uses
    #[error("rule {rule} uses {limit}, but topic {topic} is not in force at {place} on {date}")]
    #[diagnostic(
        code(layers::limit_not_adopted),
        help(
            "adopt {topic} there from that date on, or strike the rule: a rule that uses another topic's limit needs that topic adopted wherever it is"
        )
    )]
    LimitNotAdopted {
        /// The rule.
        rule: String,
        /// The limit or table.
        limit: String,
        /// The topic of the limit.
        topic: String,
        /// Where.
        place: String,
        /// When.
        date: String,
        /// What puts the rule in force there, or takes the limit away.
        #[label("leaves {rule} without {limit}")]
        at: Span,
    },
}
