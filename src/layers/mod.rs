//! A library, places and dates in; the rules in force there and then out, and where each limit
//! came from.
//!
//! Each topic is looked at by itself: it goes by one way of places, from the outermost inwards,
//! and by one date, that of its kind of permit. Precautions go by the recorded date.

mod error;
mod in_force;
mod polarity;
mod standing;
mod verify;

pub use error::LayerError;
pub use in_force::{as_written, date_choice, in_force, topic_date};
pub use polarity::{Direction, direction_of_cells, direction_of_limit};
pub use standing::{Effect, cell_standing, change, in_force_on, limit_standing};
pub use verify::{turning_dates, verify};

pub(crate) use in_force::topic_of;
pub(crate) use polarity::{Target, direction_on};

use crate::check::typed::{Citation, Constant, Decision, PlaceId, RuleId, Statement, TopicId};
use crate::quantity::Rational;
use crate::source::Span;
use crate::vocabulary::PermitId;

/// The dates that select the rules.
#[derive(Debug, Clone, Default)]
pub struct Dates {
    /// The permits of a record, at most one a kind.
    pub permits: Vec<PermitDates>,
    /// When the installation was recorded, canonical in seconds.
    pub recorded: Rational,
    /// A date that stands in for every permit's.
    pub on: Option<Rational>,
}

impl Dates {
    /// One date for everything, whatever permits there are.
    pub fn all_on(date: Rational) -> Dates {
        Dates {
            on: Some(date),
            recorded: date,
            ..Dates::default()
        }
    }
}

/// The dates of one permit, canonical in seconds.
#[derive(Debug, Clone)]
pub struct PermitDates {
    /// Its kind.
    pub kind: PermitId,
    /// When it was applied for.
    pub applied: Option<Rational>,
    /// When it was issued.
    pub issued: Option<Rational>,
    /// When the plan was approved.
    pub plan_approved: Option<Rational>,
    /// The last day on which it is valid.
    pub expires: Option<Rational>,
    /// Where the record says so.
    pub span: Option<Span>,
}

/// What is in force at some places on some dates.
#[derive(Debug, Clone, Default)]
pub struct InForce {
    /// What each topic of the library goes by, in the library's order.
    pub topics: Vec<TopicStanding>,
    /// The rules in force, in the library's order, each place's additions behind its topic's own.
    pub rules: Vec<RuleInForce>,
    /// What stands but should be restated, or was written but has no force.
    pub marks: Vec<Mark>,
}

/// What a topic goes by.
#[derive(Debug, Clone)]
pub struct TopicStanding {
    /// The topic.
    pub topic: TopicId,
    /// Its places, the outermost first; may be empty.
    pub way: Vec<PlaceId>,
    /// The date that selects its rules.
    pub date: Option<Rational>,
    /// Whether its rules are in force.
    pub state: TopicState,
    /// How its rules are decided there.
    pub decision: Decision,
}

/// Whether a topic's rules are in force.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TopicState {
    /// Its rules are.
    InForce,
    /// No place on its way ever adopts it.
    NeverAdopted,
    /// It was not adopted on the date.
    NotOnThatDate,
    /// A place on its way adopts it, but the record lacks the permit, or the permit the date.
    NoPermit,
}

/// A rule in force.
#[derive(Debug, Clone)]
pub struct RuleInForce {
    /// The rule: the topic's own, an addition, or what stands in another's stead.
    pub rule: RuleId,
    /// Its topic.
    pub topic: TopicId,
    /// The date that selected it.
    pub on: Rational,
    /// The places whose statements it goes by.
    pub way: Vec<PlaceId>,
    /// How it is decided.
    pub decision: Decision,
    /// Who put it in force, added or replaced it.
    pub changes: Vec<Change>,
}

/// A statement and the place that makes it.
#[derive(Debug, Clone)]
pub struct Change {
    /// The place.
    pub place: PlaceId,
    /// What it says.
    pub statement: Statement,
}

/// A value and where it came from.
#[derive(Debug, Clone)]
pub struct Standing {
    /// The value and its equivalents; empty where it has none.
    pub values: Vec<Constant>,
    /// Through which layers it came, the model first.
    pub way: Vec<Step>,
}

/// What one layer says of a value.
#[derive(Debug, Clone)]
pub struct Step {
    /// The place; none for the model.
    pub place: Option<PlaceId>,
    /// What it says there; empty where it says that there is no value.
    pub values: Vec<Constant>,
    /// From when, as written.
    pub from: Option<Rational>,
    /// Until when.
    pub until: Option<Rational>,
    /// Under which clauses.
    pub citations: Vec<Citation>,
    /// Why.
    pub because: Option<String>,
    /// What is to be said about it.
    pub note: Option<Note>,
}

/// Why a statement is marked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Note {
    /// It holds, but what it amends is no longer what its author saw.
    Stale,
    /// It loosens what may only be tightened, or changes what is fixed: it has no force.
    Forbidden,
    /// Whether it loosens can't be told, where only tightening is allowed: it has no force.
    CannotTell,
}

/// A statement that should be restated or has no force.
#[derive(Debug, Clone)]
pub struct Mark {
    /// Whose.
    pub place: PlaceId,
    /// The statement.
    pub span: Span,
    /// Why.
    pub note: Note,
}
