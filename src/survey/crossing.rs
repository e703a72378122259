//! Whether two runs cross, and how far apart they are where they do.

use super::cause::{Cause, merge};
use super::clearance::joins;
use super::plan::Recorded;
use super::slots::{CrossingSlots, Slots};
use super::value::{Both, Computed, fact, spans};
use crate::record::facts::{Record, State, THE_SITE, ThingRef};
use crate::truth::Truth;

/// A truth in both ways of judging, and why it is not decided.
#[derive(Debug, Clone)]
pub(super) struct Decided {
    pub banded: Truth,
    pub as_read: Truth,
    pub causes: Vec<Cause>,
}

impl Decided {
    fn same(truth: Truth, causes: Vec<Cause>) -> Decided {
        Decided {
            banded: truth,
            as_read: truth,
            causes,
        }
    }
}

/// Whether two runs cross: by the recorded crossings, and by their lines in plan.
pub(super) fn crosses(record: &Record, slots: &Slots, one: ThingRef, two: ThingRef) -> Decided {
    let listed = listed(record, crossing_slots(slots), one, two);
    let Some(planned) = from_plan(record, slots, one, two) else {
        return listed;
    };
    match (listed.banded, planned.banded) {
        (Truth::True, Truth::False) | (Truth::False, Truth::True) => {
            let apart = Cause::Apart {
                thing: one,
                function: "crosses",
            };
            Decided::same(Truth::Unknown, vec![apart])
        }
        (Truth::True | Truth::False, _) => listed,
        (Truth::Unknown, Truth::True | Truth::False) => planned,
        (Truth::Unknown, Truth::Unknown) if planned.causes.is_empty() => planned,
        (Truth::Unknown, Truth::Unknown) => {
            let mut causes = listed.causes;
            merge(&mut causes, planned.causes);
            Decided::same(Truth::Unknown, causes)
        }
    }
}

fn crossing_slots(slots: &Slots) -> CrossingSlots {
    let slots = slots.crossings;
    slots.expect("a survey refuses crossings without a list of them")
}

/// By the list of crossings: an entry is one; a closed list without one says that there is none.
fn listed(record: &Record, slots: CrossingSlots, one: ThingRef, two: ThingRef) -> Decided {
    let list = record.list(THE_SITE, slots.list);
    let is_entry = |entry: &&ThingRef| joins(record, **entry, slots.upper, slots.lower, one, two);
    if list.items.iter().any(|entry| is_entry(&entry)) {
        return Decided::same(Truth::True, Vec::new());
    }
    let mut causes = may_be_others(record, slots);
    // A run without an id can be named by no entry.
    for run in [one, two] {
        if record.thing(run).id.is_none() && !list.items.is_empty() {
            causes.push(Cause::List {
                thing: THE_SITE,
                list: slots.list,
            });
        }
    }
    if causes.is_empty() {
        Decided::same(Truth::False, causes)
    } else {
        Decided::same(Truth::Unknown, causes)
    }
}

/// Why there may be other crossings than those that are named in full.
fn may_be_others(record: &Record, slots: CrossingSlots) -> Vec<Cause> {
    let list = record.list(THE_SITE, slots.list);
    let mut causes = Vec::new();
    if list.open {
        causes.push(Cause::List {
            thing: THE_SITE,
            list: slots.list,
        });
    }
    for entry in &list.items {
        for fact in [slots.upper, slots.lower] {
            if record.slot(*entry, fact).state != State::Read {
                let thing = *entry;
                merge(&mut causes, [Cause::Fact { thing, fact }]);
            }
        }
    }
    causes
}

/// By the lines in plan; none where either has none.
fn from_plan(record: &Record, slots: &Slots, one: ThingRef, two: ThingRef) -> Option<Decided> {
    let line = |thing: ThingRef| {
        let line = slots.thing(record.thing(thing).kind).line?;
        let is_begun = !record.list(thing, line.list).items.is_empty();
        is_begun.then(|| Recorded::read(record, thing, line))
    };
    let (left, right) = match (line(one)?, line(two)?) {
        (Ok(left), Ok(right)) => (left, right),
        (left, right) => {
            let mut causes = left.err().unwrap_or_default();
            merge(&mut causes, right.err().unwrap_or_default());
            return Some(Decided::same(Truth::Unknown, causes));
        }
    };
    let mut causes = left.causes;
    merge(&mut causes, right.causes);
    let decide = |truth: Truth| match truth {
        // What is not recorded of a line may cross.
        Truth::False if !causes.is_empty() => Truth::Unknown,
        truth => truth,
    };
    Some(Decided {
        banded: decide(left.banded.crosses(&right.banded)),
        as_read: decide(left.as_read.crosses(&right.as_read)),
        causes: causes.clone(),
    })
}

/// The upright distance where two runs cross, outside to outside, as taped.
pub(super) fn clearance(record: &Record, slots: &Slots, one: ThingRef, two: ThingRef) -> Computed {
    let crossings = crossing_slots(slots);
    let list = record.list(THE_SITE, crossings.list);
    let entries = list
        .items
        .iter()
        .filter(|entry| joins(record, **entry, crossings.upper, crossings.lower, one, two));
    let mut least: Option<Computed> = None;
    for entry in entries {
        let read = match fact(record, *entry, crossings.vertical) {
            Ok(value) => Computed::known(value, spans(record, *entry, crossings.vertical)),
            Err(cause) => Computed::missing(vec![cause]),
        };
        least = Some(match least {
            None => read,
            Some(known) => nearer(known, read),
        });
    }
    let Some(mut least) = least else {
        return Computed::missing(vec![Cause::List {
            thing: THE_SITE,
            list: crossings.list,
        }]);
    };
    let others = may_be_others(record, crossings);
    if !others.is_empty() {
        least.value = least.value.lesser(Both::WHOLE);
        merge(&mut least.causes, others);
    }
    least
}

/// Two runs may cross more than once: the nearest crossing counts.
fn nearer(one: Computed, two: Computed) -> Computed {
    let value = one.value.lesser(two.value);
    let decides = value.banded.upper() == one.value.banded.upper();
    let (first, second) = if decides { (one, two) } else { (two, one) };
    let mut causes = first.causes;
    merge(&mut causes, second.causes);
    Computed {
        value,
        causes,
        readings: first.readings,
        at: first.at,
    }
}
