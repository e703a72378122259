//! Why a value is not known.

use crate::quantity::Rational;
use crate::record::facts::ThingRef;
use crate::vocabulary::{FactId, ListId};

/// What is missing, or stands in the way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Cause {
    /// A fact that was not recorded.
    Fact {
        /// Of what.
        thing: ThingRef,
        /// Which.
        fact: FactId,
    },
    /// A fact known only from the plan, or told.
    NotRead {
        /// Of what.
        thing: ThingRef,
        /// Which.
        fact: FactId,
    },
    /// Readings of one fact that exclude each other.
    Disagree {
        /// Of what.
        thing: ThingRef,
        /// Which.
        fact: FactId,
    },
    /// Two ways of having one value, such as the tape and the level, that exclude each other.
    Apart {
        /// Of what.
        thing: ThingRef,
        /// The value, by its survey function.
        function: &'static str,
    },
    /// A list that was not written, or is not complete, or holds nothing.
    List {
        /// Of what.
        thing: ThingRef,
        /// Which.
        list: ListId,
    },
    /// A stretch of a run that nobody measured, in metres.
    Stretch {
        /// The run.
        thing: ThingRef,
        /// Its start; none where it is not known.
        from: Option<Rational>,
        /// Its end; none where it is not known.
        to: Option<Rational>,
    },
    /// A value outside the curve of this thing.
    Curve {
        /// The thing that has the curve.
        thing: ThingRef,
    },
    /// Arithmetic without an answer, in words.
    Domain(&'static str),
}

/// Adds what is not among them yet, in order.
pub(super) fn merge(causes: &mut Vec<Cause>, more: impl IntoIterator<Item = Cause>) {
    for cause in more {
        if !causes.contains(&cause) {
            causes.push(cause);
        }
    }
}
