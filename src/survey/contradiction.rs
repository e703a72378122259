//! Every value of a record that has two sources which exclude each other.
//!
//! They are looked for in the whole record, whatever the rules ask: a contradiction is a finding
//! by itself.

use std::collections::{BTreeMap, BTreeSet};

use super::cover::Cover;
use super::fall::Fall;
use super::steps::unit_at;
use super::value::Told;
use super::{Declared, FUNCTIONS, Kind, Survey};
use crate::quantity::print;
use crate::record::facts::{Record, State, THE_SITE, TextId, ThingRef, Value};
use crate::source::Span;
use crate::vocabulary::{FactId, ListId, ThingId};

/// Sources for one value that exclude each other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Contradiction {
    /// The thing, or the two things, whose value it is.
    pub things: Vec<ThingRef>,
    /// The survey function that gives the value.
    pub function: String,
    /// The readings on all sides.
    pub readings: Vec<Span>,
    /// What each source says, in words: `taped 20 ft ± 1/4 in`.
    pub values: Vec<String>,
}

impl Survey {
    /// All of them, those of one kind together, in the order of the things.
    pub fn contradictions(&self, record: &Record) -> Vec<Contradiction> {
        let pairs = self.pairs(record);
        let mut known = BTreeSet::new();
        let mut found = Vec::new();
        let in_order = FUNCTIONS
            .iter()
            .flat_map(|(name, _)| self.functions.iter().filter(move |one| one.name == *name));
        for declared in in_order {
            let kinds = declared.parameters.iter();
            let kinds: Vec<_> = kinds.filter(|kinds| !kinds.is_empty()).collect();
            let asked = match kinds.as_slice() {
                [one] => of_kinds(record, one).map(|thing| vec![thing]).collect(),
                [one, two] => fitting(record, &pairs, one, two),
                [] | [_, _, _, ..] => Vec::new(),
            };
            for things in asked {
                let Some(told) = self.told(declared.function.0, &things, record) else {
                    continue;
                };
                // One disagreement shows in several values: the first tells it.
                let mut key = things.clone();
                key.sort();
                if known.insert((family(declared.function.0), key)) {
                    found.push(contradiction(record, declared, things, &told));
                }
            }
        }
        found
    }

    fn told(&self, kind: Kind, things: &[ThingRef], record: &Record) -> Option<Vec<Told>> {
        match (kind, things) {
            (Kind::Crosses, [one, two]) => {
                let decided = super::crossing::crosses(record, &self.slots, *one, *two);
                decided.is_apart().then(|| {
                    crossing_told(super::crossing::is_listed(record, &self.slots, *one, *two))
                })
            }
            (
                Kind::Fall(_)
                | Kind::Cover(_)
                | Kind::Horizontal
                | Kind::Straight
                | Kind::CrossingClearance
                | Kind::SlopeLength,
                things,
            ) => {
                let computed = self.quantity(kind, things, &[], record);
                computed.is_apart().then_some(computed.apart)
            }
            (Kind::PumpHead, [station]) => {
                let told = super::pump::told_twice(record, self.of(record, *station), *station);
                (!told.is_empty()).then_some(told)
            }
            // These have one source, or take a value.
            (
                Kind::Crosses
                | Kind::TotalBend
                | Kind::PumpHead
                | Kind::PlanLength
                | Kind::SagDepth
                | Kind::OnPublicDatum,
                _,
            ) => None,
        }
    }

    /// The pairs of things that some entry names together, and those whose crossing is told both
    /// by a complete list and by their lines.
    fn pairs(&self, record: &Record) -> Vec<(ThingRef, ThingRef)> {
        let mut pairs = BTreeSet::new();
        let ids = ids(record);
        if let Some(slots) = self.slots.clearances {
            pairs.extend(named(record, &ids, slots.list, slots.from, slots.to));
        }
        if let Some(slots) = self.slots.crossings {
            pairs.extend(named(record, &ids, slots.list, slots.upper, slots.lower));
            if !record.list(THE_SITE, slots.list).open {
                let drawn: Vec<_> = all(record)
                    .filter(|thing| self.is_drawn(record, *thing))
                    .collect();
                for (index, one) in drawn.iter().enumerate() {
                    pairs.extend(drawn[index + 1..].iter().map(|two| (*one, *two)));
                }
            }
        }
        pairs.into_iter().collect()
    }

    fn is_drawn(&self, record: &Record, thing: ThingRef) -> bool {
        let slots = self.of(record, thing);
        let line = slots.line.filter(|_| slots.is_run);
        line.is_some_and(|line| record.list(thing, line.list).items.len() > 1)
    }
}

/// What the list of crossings and the plan say of a crossing.
fn crossing_told(is_listed: bool) -> Vec<Told> {
    let told = if is_listed {
        [
            "the list of crossings says that they cross",
            "their lines in plan do not meet",
        ]
    } else {
        [
            "the list of crossings is complete without them",
            "their lines in plan cross",
        ]
    };
    let told = told.map(|how| Told {
        how,
        value: crate::quantity::Interval::WHOLE,
        readings: Vec::new(),
    });
    told.into()
}

/// Values that share their sources.
fn family(kind: Kind) -> &'static str {
    match kind {
        Kind::Fall(Fall::Least | Fall::Greatest | Fall::Overall) => "fall",
        Kind::Cover(Cover::Least | Cover::Greatest) => "cover",
        Kind::Horizontal | Kind::Straight => "clearance",
        Kind::Crosses => "crosses",
        Kind::CrossingClearance => "crossing",
        Kind::TotalBend => "bend",
        Kind::PumpHead => "head",
        Kind::PlanLength | Kind::SlopeLength => "length",
        Kind::SagDepth => "sag",
        Kind::OnPublicDatum => "datum",
    }
}

fn contradiction(
    record: &Record,
    declared: &Declared,
    things: Vec<ThingRef>,
    told: &[Told],
) -> Contradiction {
    let mut readings = Vec::new();
    for span in told.iter().flat_map(|one| &one.readings) {
        if !readings.contains(span) {
            readings.push(*span);
        }
    }
    let unit = unit_at(record, &readings, family(declared.function.0) == "fall");
    let values = match declared.function.0 {
        Kind::Crosses => told.iter().map(|one| one.how.to_owned()).collect(),
        Kind::Fall(_)
        | Kind::Cover(_)
        | Kind::Horizontal
        | Kind::Straight
        | Kind::CrossingClearance
        | Kind::TotalBend
        | Kind::PumpHead
        | Kind::PlanLength
        | Kind::SlopeLength
        | Kind::SagDepth
        | Kind::OnPublicDatum => told
            .iter()
            .map(|one| format!("{} {}", one.how, print::show_interval(one.value, &unit)))
            .collect(),
    };
    Contradiction {
        things,
        function: declared.name.clone(),
        readings,
        values,
    }
}

fn all(record: &Record) -> impl Iterator<Item = ThingRef> {
    (0_u32..).take(record.things.len()).map(ThingRef)
}

fn of_kinds(record: &Record, kinds: &[ThingId]) -> impl Iterator<Item = ThingRef> {
    all(record).filter(|thing| kinds.contains(&record.thing(*thing).kind))
}

/// Each pair in the order in which the function takes the two.
fn fitting(
    record: &Record,
    pairs: &[(ThingRef, ThingRef)],
    first: &[ThingId],
    second: &[ThingId],
) -> Vec<Vec<ThingRef>> {
    let kind = |thing: ThingRef| record.thing(thing).kind;
    let fits = |one: ThingRef, two: ThingRef| {
        (first.contains(&kind(one)) && second.contains(&kind(two))).then(|| vec![one, two])
    };
    let in_order =
        |(one, two): &(ThingRef, ThingRef)| fits(*one, *two).or_else(|| fits(*two, *one));
    pairs.iter().filter_map(in_order).collect()
}

fn ids(record: &Record) -> BTreeMap<TextId, ThingRef> {
    all(record)
        .filter_map(|thing| Some((record.thing(thing).id?, thing)))
        .collect()
}

/// The pairs that the entries of a list name.
fn named(
    record: &Record,
    ids: &BTreeMap<TextId, ThingRef>,
    list: ListId,
    from: FactId,
    to: FactId,
) -> Vec<(ThingRef, ThingRef)> {
    let thing = |entry: ThingRef, fact: FactId| {
        let slot = record.slot(entry, fact);
        match (slot.state, slot.banded) {
            (State::Read, Value::Text(id)) => ids.get(&id).copied(),
            _ => None,
        }
    };
    let entries = record.list(THE_SITE, list).items.iter();
    let pairs = entries.filter_map(|entry| {
        let (one, two) = (thing(*entry, from)?, thing(*entry, to)?);
        (one != two).then(|| (one.min(two), one.max(two)))
    });
    pairs.collect()
}
