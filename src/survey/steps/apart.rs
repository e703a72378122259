//! How far two things lie apart, worked out on paper.

use super::{line, named, of, shown, unit_of};
use crate::quantity::{Interval, Unit};
use crate::record::facts::{Record, THE_SITE, ThingRef};
use crate::survey::along::chainages;
use crate::survey::clearance::{joins, lines};
use crate::survey::crossing::Pipe;
use crate::survey::plan::{Outline, Recorded, root, square};
use crate::survey::slots::Slots;
use crate::survey::value::{chainage, fact};
use crate::survey::{Mode, Step};
use crate::vocabulary::{FactId, ListId, POINT_AT, RUN_LENGTH};

/// What was taped, and the nearest places in plan:
/// `by the plan: √((3 ft)² + (4 ft)²) = 5 ft between the lines, ± 0.5 ft for their tolerances`.
pub(in crate::survey) fn clearance(
    record: &Record,
    slots: &Slots,
    one: ThingRef,
    two: ThingRef,
    mode: Mode,
) -> Vec<Step> {
    let mut steps = Vec::new();
    if let Some(taped) = slots.clearances {
        let readings = [
            ("taped", Some(taped.horizontal)),
            ("taped upright", taped.vertical),
        ];
        for (how, slot) in readings {
            let ends = (taped.list, taped.from, taped.to);
            steps.extend(slot.into_iter().flat_map(|slot| {
                entries(record, ends, one, two)
                    .filter_map(move |entry| reading(record, entry, slot, how, mode))
            }));
        }
    }
    if let Some(Ok((left, right))) = lines(record, slots, one, two) {
        let [left, right] = outlines(&left, &right, mode);
        steps.extend(by_plan(record, slots, [one, two], [left, right]));
        for thing in [one, two] {
            let diameter = slots.thing(record.thing(thing).kind).outside_diameter;
            steps.extend(diameter.and_then(|slot| {
                let value = of(fact(record, thing, slot).ok()?, mode);
                let value = shown(value, &unit_of(record, thing, slot));
                let name = named(record, thing);
                Some(line(format!(
                    "less half the outside diameter of {name}, ({value}) / 2"
                )))
            }));
        }
    }
    steps
}

fn by_plan(
    record: &Record,
    slots: &Slots,
    [one, two]: [ThingRef; 2],
    [left, right]: [&Outline; 2],
) -> Option<Step> {
    let nearest = left.nearest(right)?;
    let unit = unit_in_plan(record, slots, one);
    let distance = root(square(nearest.north).add(square(nearest.east)));
    let (run, outline, place) = if slots.thing(record.thing(one).kind).is_run {
        (one, left, nearest.place)
    } else {
        (two, right, nearest.other_place)
    };
    let along = chainage(record, run, RUN_LENGTH)
        .ok()
        .and_then(|length| chainages(outline, place, length))
        .and_then(|(from, to)| Interval::new(from, to));
    let where_least = along.map_or_else(String::new, |along| {
        let along = shown(along, &unit);
        let at = if along.starts_with("from ") {
            ""
        } else {
            "at "
        };
        format!(", {at}{along} along {}", named(record, run))
    });
    let off = left.displacement().add(right.displacement());
    let off = if off.may_be_zero() {
        String::new()
    } else {
        format!(", ± {} for the tolerances of the plan", shown(off, &unit))
    };
    Some(line(format!(
        "by the plan: √(({})² + ({})²) = {} between the lines{off}{where_least}",
        shown(magnitude(nearest.north), &unit),
        shown(magnitude(nearest.east), &unit),
        shown(distance, &unit),
    )))
}

/// What was taped at a crossing, and the heights where the plans cross:
/// `underside of L-1 99.5833 ft − top of WS-1 98 ft = 1.58333 ft`.
pub(in crate::survey) fn crossing(
    record: &Record,
    slots: &Slots,
    one: ThingRef,
    two: ThingRef,
    mode: Mode,
) -> Vec<Step> {
    let mut steps = Vec::new();
    if let Some(taped) = slots.crossings {
        let ends = (taped.list, taped.upper, taped.lower);
        steps.extend(
            entries(record, ends, one, two)
                .filter_map(|entry| reading(record, entry, taped.vertical, "taped upright", mode)),
        );
    }
    let Some(Ok((left, right))) = lines(record, slots, one, two) else {
        return steps;
    };
    let [left, right] = outlines(&left, &right, mode);
    let pipes = [Pipe::of(record, slots, one), Pipe::of(record, slots, two)];
    let unit = unit_in_plan(record, slots, one);
    for meeting in left
        .meetings(right)
        .iter()
        .filter(|meeting| meeting.is_sure)
    {
        let along = [
            pipes[0]
                .length
                .and_then(|length| chainages(left, meeting.place, length)),
            pipes[1]
                .length
                .and_then(|length| chainages(right, meeting.other_place, length)),
        ];
        let place = |index: usize, run: ThingRef| {
            let (from, to) = along[index]?;
            let along = shown(Interval::new(from, to)?, &unit);
            let at = if along.starts_with("from ") {
                ""
            } else {
                "at "
            };
            Some(format!("{at}{along} along {}", named(record, run)))
        };
        if let (Some(first), Some(second)) = (place(0, one), place(1, two)) {
            steps.push(line(format!("by the plan they cross {first}, {second}")));
        }
        steps.extend(heights(record, slots, &pipes, along, mode));
    }
    steps
}

fn heights(
    record: &Record,
    slots: &Slots,
    pipes: &[Pipe; 2],
    along: [Option<(crate::quantity::Rational, crate::quantity::Rational)>; 2],
    mode: Mode,
) -> Option<Step> {
    let which = match mode {
        Mode::Banded => |both: crate::survey::value::Both| both.banded,
        Mode::AsRead => |both: crate::survey::value::Both| both.as_read,
    };
    let [top, underside] = pipes[0].heights(along[0], which).ok()?;
    let [other_top, other_underside] = pipes[1].heights(along[1], which).ok()?;
    let (above, below) = (underside.subtract(other_top), other_underside.subtract(top));
    let is_above = above.lower() >= below.lower();
    let (upper, lower, underside, top, gap) = if is_above {
        (pipes[0].run, pipes[1].run, underside, other_top, above)
    } else {
        (pipes[1].run, pipes[0].run, other_underside, top, below)
    };
    if underside.is_whole() || top.is_whole() {
        return None;
    }
    let unit = level_unit(record, slots, upper);
    Some(line(format!(
        "underside of {} {} − top of {} {} = {}",
        named(record, upper),
        shown(underside, &unit),
        named(record, lower),
        shown(top, &unit),
        shown(gap, &unit),
    )))
}

fn entries(
    record: &Record,
    (list, from, to): (ListId, FactId, FactId),
    one: ThingRef,
    two: ThingRef,
) -> impl Iterator<Item = ThingRef> {
    let entries = record.list(THE_SITE, list).items.iter().copied();
    entries.filter(move |entry| joins(record, *entry, from, to, one, two))
}

fn reading(record: &Record, thing: ThingRef, slot: FactId, how: &str, mode: Mode) -> Option<Step> {
    let value = of(fact(record, thing, slot).ok()?, mode);
    let value = shown(value, &unit_of(record, thing, slot));
    Some(line(format!("{how}: {value}")))
}

fn outlines<'r>(left: &'r Recorded, right: &'r Recorded, mode: Mode) -> [&'r Outline; 2] {
    match mode {
        Mode::Banded => [&left.banded, &right.banded],
        Mode::AsRead => [&left.as_read, &right.as_read],
    }
}

/// The unit in which a thing's places were written.
fn unit_in_plan(record: &Record, slots: &Slots, thing: ThingRef) -> Unit {
    let line = slots.thing(record.thing(thing).kind).line;
    let first = line.and_then(|line| {
        let vertex = record.list(thing, line.list).items.first()?;
        Some(unit_of(record, *vertex, line.northing))
    });
    first.unwrap_or_else(|| super::unit("ft"))
}

/// The unit in which a run's shots were written.
fn level_unit(record: &Record, slots: &Slots, run: ThingRef) -> Unit {
    let shots = slots.thing(record.thing(run).kind).shots;
    let first = shots.and_then(|shots| record.list(run, shots.list).items.first());
    first.map_or_else(
        || super::unit("ft"),
        |shot| unit_of(record, *shot, POINT_AT),
    )
}

fn magnitude(value: Interval) -> Interval {
    value.greater(value.negate())
}
