//! The values that judging works with, each allowing every world that the record allows.

use super::cause::Causes;
use crate::program::code::{LimitSide, Node, Rule, Step};
use crate::quantity::Interval;
use crate::record::facts::ThingRef;
use crate::truth::Truth;

/// The places of a choice or size that a value may have, both ends included. What is unknown
/// reaches beyond every place, so that nothing is decided by there being no other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Places {
    pub least: i32,
    pub greatest: i32,
}

impl Places {
    pub const UNKNOWN: Places = Places {
        least: i32::MIN,
        greatest: i32::MAX,
    };

    pub fn one(place: u16) -> Places {
        Places {
            least: i32::from(place),
            greatest: i32::from(place),
        }
    }

    pub fn is_one(self) -> bool {
        self.least == self.greatest
    }

    pub fn lesser(self, other: Places) -> Places {
        Places {
            least: self.least.min(other.least),
            greatest: self.greatest.min(other.greatest),
        }
    }

    pub fn greater(self, other: Places) -> Places {
        Places {
            least: self.least.max(other.least),
            greatest: self.greatest.max(other.greatest),
        }
    }

    /// Sizes widen to the range between; labels without order are either the same or unknown.
    pub fn hull(self, other: Places, ordered: bool) -> Places {
        if self == other {
            self
        } else if ordered {
            Places {
                least: self.least.min(other.least),
                greatest: self.greatest.max(other.greatest),
            }
        } else {
            Places::UNKNOWN
        }
    }
}

/// A value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Value<'a> {
    Truth(Truth),
    Number(Interval),
    Places(Places),
    /// None where it is not known.
    Text(Option<&'a str>),
}

impl Value<'_> {
    pub fn truth(self) -> Truth {
        match self {
            Value::Truth(truth) => truth,
            Value::Number(_) | Value::Places(_) | Value::Text(_) => Truth::Unknown,
        }
    }

    pub fn number(self) -> Interval {
        match self {
            Value::Number(interval) => interval,
            Value::Truth(_) | Value::Places(_) | Value::Text(_) => Interval::WHOLE,
        }
    }

    pub fn places(self) -> Places {
        match self {
            Value::Places(places) => places,
            Value::Truth(_) | Value::Number(_) | Value::Text(_) => Places::UNKNOWN,
        }
    }
}

/// What a step gave.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Outcome<'a> {
    pub value: Value<'a>,
    pub(super) causes: Causes,
    /// Of a truth: the comparison to report.
    pub(super) report: Option<ReportNumber>,
}

/// A report, by its place among those of the rule being judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct ReportNumber(pub u32);

/// How many things can be bound at once: `each` and quantifiers together.
pub(crate) const MOST_BOUND: usize = 4;

/// A comparison as it came out, to be told in a finding.
#[derive(Debug, Clone, Copy)]
pub struct Reported<'a> {
    /// The comparison, or the yes-or-no fact.
    pub(crate) node: &'a Node,
    /// The value of its left side, where that is a number.
    pub(crate) left: Value<'a>,
    /// The value of its right side.
    pub(crate) right: Value<'a>,
    /// Its margin; none where it has none.
    pub(crate) margin: Option<Interval>,
    /// Its truth, turned with every `not` around it.
    pub(crate) truth: Truth,
    /// Whether an odd number of `not`s stands around it.
    pub(crate) turned: bool,
    /// The things bound where it stands.
    pub(crate) bound: [ThingRef; MOST_BOUND],
    /// How many of them.
    pub(crate) depth: usize,
}

impl<'a> Reported<'a> {
    /// The side that is the limit, in a comparison of a rule; not known of anything else.
    pub(super) fn limit(&self, rule: &Rule) -> Value<'a> {
        let Step::Compare(at, ..) = &self.node.step else {
            return Value::Text(None);
        };
        match rule.comparisons[*at].limit_side {
            LimitSide::Left => self.left,
            LimitSide::Right => self.right,
        }
    }
}
