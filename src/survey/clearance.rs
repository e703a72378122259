//! How far two things lie apart, taped and from their lines in plan.

use super::along::chainages;
use super::cause::{Cause, merge};
use super::plan::{Outline, Recorded};
use super::slots::{ClearanceSlots, Slots};
use super::space::Axis;
use super::value::{Both, Computed, chainage, fact, spans, together};
use crate::quantity::{Interval, Rational};
use crate::record::facts::{Record, State, THE_SITE, ThingRef, Value};
use crate::vocabulary::{FactId, RUN_LENGTH};

const ZERO: Interval = Interval::point(Rational::ZERO);

/// The level distance, edge to edge.
pub(super) fn horizontal(record: &Record, slots: &Slots, one: ThingRef, two: ThingRef) -> Computed {
    let clearances = taped_slots(slots);
    let mut sources = taped(record, clearances, one, two, |entry| {
        reading(record, entry, clearances.horizontal)
    });
    sources.extend(from_plan(record, slots, one, two));
    if sources.is_empty() {
        return Computed::missing(vec![nobody_taped(clearances)]);
    }
    together(sources, apart(one, "horizontal_clearance"))
}

/// The straight distance, edge to edge: by the level and the upright distance of one entry, and
/// never less than the level one.
pub(super) fn straight(record: &Record, slots: &Slots, one: ThingRef, two: ThingRef) -> Computed {
    let clearances = taped_slots(slots);
    let mut sources = taped(record, clearances, one, two, |entry| {
        let level = reading(record, entry, clearances.horizontal);
        let upright = match clearances.vertical {
            Some(vertical) => reading(record, entry, vertical),
            None => Computed::missing(vec![nobody_taped(clearances)]),
        };
        slanted(level, upright)
    });
    let level = horizontal(record, slots, one, two);
    if level.is_apart() {
        return level;
    }
    let mut causes = level.causes.clone();
    let taped_causes = sources.iter().flat_map(|one| one.causes.clone());
    merge(&mut causes, taped_causes);
    if causes.is_empty() {
        causes.push(nobody_taped(clearances));
    }
    // At least as far as the level distance; farther, where they lie at unlike heights.
    sources.push(Computed {
        value: level.value.map(|value| value.greater(Interval::WHOLE)),
        causes,
        readings: level.readings,
        how: "by the level distance",
        ..Computed::missing(Vec::new())
    });
    sources.extend(from_space(record, slots, one, two));
    together(sources, apart(one, "true_clearance"))
}

/// The distance between two levelled lines; none where either is not levelled from end to end.
fn from_space(record: &Record, slots: &Slots, one: ThingRef, two: ThingRef) -> Option<Computed> {
    let (left, right) = lines(record, slots, one, two)?.ok()?;
    let axes = [
        Axis::of(record, slots.thing(record.thing(one).kind), one)?,
        Axis::of(record, slots.thing(record.thing(two).kind), two)?,
    ];
    let between = |left: &Outline, right: &Outline, which: fn(Both) -> Interval| {
        let left = axes[0].line(left, which)?;
        Some(left.distance(&axes[1].line(right, which)?))
    };
    let distance = Both {
        banded: between(&left.banded, &right.banded, |both| both.banded)?,
        as_read: between(&left.as_read, &right.as_read, |both| both.as_read)?,
    };
    let radii = axes[0].radius.add(axes[1].radius);
    let value = distance.subtract(radii).greater(Both::same(ZERO));
    Some(Computed::known(value, Vec::new()).had("from plan and profiles"))
}

fn slanted(level: Computed, upright: Computed) -> Computed {
    let mut causes = level.causes;
    merge(&mut causes, upright.causes);
    let square = |value: Interval| value.power_integer(2).unwrap_or(Interval::WHOLE);
    let sum = level.value.map(square).add(upright.value.map(square));
    let mut readings = level.readings;
    readings.extend(upright.readings);
    Computed {
        value: sum.root(),
        causes,
        readings,
        ..Computed::missing(Vec::new())
    }
}

fn taped_slots(slots: &Slots) -> ClearanceSlots {
    let slots = slots.clearances;
    slots.expect("a survey refuses clearances without a list of them")
}

fn apart(thing: ThingRef, function: &'static str) -> Cause {
    Cause::Apart { thing, function }
}

fn nobody_taped(slots: ClearanceSlots) -> Cause {
    Cause::List {
        thing: THE_SITE,
        list: slots.list,
    }
}

fn reading(record: &Record, thing: ThingRef, slot: FactId) -> Computed {
    match fact(record, thing, slot) {
        Ok(value) => Computed::known(value, spans(record, thing, slot)),
        Err(cause) => Computed::missing(vec![cause]),
    }
}

/// What each entry for two things says, whichever of them it names first.
fn taped(
    record: &Record,
    slots: ClearanceSlots,
    one: ThingRef,
    two: ThingRef,
    read: impl Fn(ThingRef) -> Computed,
) -> Vec<Computed> {
    let entries = record.list(THE_SITE, slots.list).items.iter();
    entries
        .filter(|entry| joins(record, **entry, slots.from, slots.to, one, two))
        .map(|entry| read(*entry).had("taped"))
        .collect()
}

/// Whether two references of an entry name these two things.
pub(super) fn joins(
    record: &Record,
    entry: ThingRef,
    from: FactId,
    to: FactId,
    one: ThingRef,
    two: ThingRef,
) -> bool {
    let names = |slot: FactId, thing: ThingRef| {
        let slot = record.slot(entry, slot);
        match (slot.state, slot.banded, record.thing(thing).id) {
            (State::Read, Value::Text(named), Some(id)) => named == id,
            _ => false,
        }
    };
    (names(from, one) && names(to, two)) || (names(from, two) && names(to, one))
}

/// The lines of two things in plan, or what they lack; none where either has none.
pub(super) fn lines(
    record: &Record,
    slots: &Slots,
    one: ThingRef,
    two: ThingRef,
) -> Option<Result<(Recorded, Recorded), Vec<Cause>>> {
    let line = |thing: ThingRef| {
        let line = slots.thing(record.thing(thing).kind).line?;
        let is_begun = !record.list(thing, line.list).items.is_empty();
        is_begun.then(|| Recorded::read(record, thing, line))
    };
    Some(match (line(one)?, line(two)?) {
        (Ok(left), Ok(right)) => Ok((left, right)),
        (left, right) => {
            let mut causes = left.err().unwrap_or_default();
            merge(&mut causes, right.err().unwrap_or_default());
            Err(causes)
        }
    })
}

/// The distance between two lines in plan; none where either has none.
fn from_plan(record: &Record, slots: &Slots, one: ThingRef, two: ThingRef) -> Option<Computed> {
    let (left, right) = match lines(record, slots, one, two)? {
        Ok(both) => both,
        Err(causes) => return Some(Computed::missing(causes)),
    };
    let mut causes = Vec::new();
    let mut value = Both {
        banded: left.banded.distance(&right.banded),
        as_read: left.as_read.distance(&right.as_read),
    };
    for thing in [one, two] {
        value = to_edge(record, slots, thing, value, &mut causes);
    }
    Some(Computed {
        value: value.greater(Both::same(ZERO)),
        causes,
        at: nearest_along(record, slots, [one, two], [&left.banded, &right.banded]),
        how: "from the plan",
        ..Computed::missing(Vec::new())
    })
}

/// Where along the first of the two that is a run they are nearest.
fn nearest_along(
    record: &Record,
    slots: &Slots,
    [one, two]: [ThingRef; 2],
    [left, right]: [&Outline; 2],
) -> Option<(ThingRef, Interval)> {
    let nearest = left.nearest(right)?;
    let is_run = |thing: ThingRef| slots.thing(record.thing(thing).kind).is_run;
    let (run, outline, place) = if is_run(one) {
        (one, left, nearest.place)
    } else if is_run(two) {
        (two, right, nearest.other_place)
    } else {
        return None;
    };
    let length = chainage(record, run, RUN_LENGTH).ok()?;
    let (from, to) = chainages(outline, place, length)?;
    Some((run, Interval::new(from, to)?))
}

/// From the middle of a thing to its edge, where it has a diameter.
fn to_edge(
    record: &Record,
    slots: &Slots,
    thing: ThingRef,
    distance: Both,
    causes: &mut Vec<Cause>,
) -> Both {
    let Some(diameter) = slots.thing(record.thing(thing).kind).outside_diameter else {
        return distance;
    };
    let half = Interval::point(Rational::new(1, 2).expect("one half is a number"));
    match fact(record, thing, diameter) {
        Ok(diameter) => distance.subtract(diameter.multiply(Both::same(half))),
        Err(cause) => {
            merge(causes, [cause]);
            distance.lesser(Both::WHOLE)
        }
    }
}
