//! What a predicate says of a record, the same for every engine.

/// The predicates in their order, by the names of their rules; the first ones can be said in
/// JSON Schema too.
pub const PREDICATES: [&str; 24] = [
    "plain.cover",
    "plain.bedding",
    "plain.slack",
    "plain.splice",
    "plain.gauge",
    "plain.sewer_size",
    "plain.sewer_test",
    "plain.sewer_tight",
    "plain.tracer",
    "plain.curb_stop",
    "plain.lid_height",
    "plain.lid_fastened",
    "plain.vent_openings",
    "plain.spoil",
    "plain.ladder",
    "plain.stone",
    "computed.sewer_depth",
    "computed.sloped_sides",
    "computed.footing",
    "computed.rim",
    "computed.room",
    "computed.voltage",
    "computed.pressure_test",
    "computed.working_pressure",
];

/// How many of them hold one value against a fixed one.
pub const PLAIN: usize = 16;

/// What a predicate says of all the things of a record that it speaks of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Answer {
    /// It holds of each, or there is none.
    Met,
    /// Of some it can't be said, since a fact is missing; of none it fails.
    Undecided,
    /// It fails of one.
    Short,
}

impl Answer {
    /// From the number that the peers' programs give.
    pub fn from_number(number: i64) -> Option<Answer> {
        match number {
            0 => Some(Answer::Met),
            1 => Some(Answer::Undecided),
            2 => Some(Answer::Short),
            _ => None,
        }
    }

    /// The graver of two.
    #[must_use]
    pub fn and(self, other: Answer) -> Answer {
        self.max(other)
    }
}

/// The answers to all predicates, in their order.
pub type Answers = [Answer; PREDICATES.len()];
