//! The bends of a run between two places where it can be pulled.

use super::cause::{Cause, merge};
use super::slots::ThingSlots;
use super::value::{Both, Computed, chainage, fact, spans};
use crate::quantity::{Interval, Rational};
use crate::record::facts::{Record, ThingRef};
use crate::source::Span;
use crate::vocabulary::POINT_AT;

/// A bend: how far it turns and where, if both are known.
struct Bend {
    at: Option<Rational>,
    angle: Both,
    readings: Vec<Span>,
}

/// The greatest total of bends between two pull points, the ends of the run being pull points.
///
/// A pull point whose place is not known may lie anywhere and helps nothing; a bend whose place is
/// not known may lie in any section; a bend at a pull point may count on either side of it.
pub(super) fn total_bend(record: &Record, slots: &ThingSlots, run: ThingRef) -> Computed {
    let listed = slots.bends.zip(slots.pull_points);
    let (bends, pull_points) = listed.expect("a survey refuses bends without pull points");
    let mut causes = Vec::new();
    let bent = record.list(run, bends.list);
    if bent.open {
        causes.push(Cause::List {
            thing: run,
            list: bends.list,
        });
    }
    let all: Vec<_> = bent
        .items
        .iter()
        .map(|bend| read_bend(record, *bend, bends.angle, &mut causes))
        .collect();
    let pulled = record.list(run, pull_points);
    if pulled.open {
        causes.push(Cause::List {
            thing: run,
            list: pull_points,
        });
    }
    let mut places = Vec::new();
    let mut is_known = !pulled.open;
    for point in &pulled.items {
        match chainage(record, *point, POINT_AT) {
            Ok(at) => places.push(at),
            Err(cause) => {
                is_known = false;
                merge(&mut causes, [cause]);
            }
        }
    }
    places.sort();
    let mut computed = greatest(&all, &places, is_known, run);
    if bent.open {
        computed.value = computed.value.greater(Both::WHOLE);
    }
    computed.causes = causes;
    computed
}

/// The bends between two neighbouring pull points, for the working.
pub(super) struct Section {
    pub from: Option<Rational>,
    pub to: Option<Rational>,
    pub angles: Vec<Both>,
}

/// Every section whose pull points are known; a bend without a place is in none.
pub(super) fn sections(record: &Record, slots: &ThingSlots, run: ThingRef) -> Vec<Section> {
    let Some((bends, pull_points)) = slots.bends.zip(slots.pull_points) else {
        return Vec::new();
    };
    let items = record.list(run, bends.list).items.iter();
    let all: Vec<_> = items
        .map(|bend| read_bend(record, *bend, bends.angle, &mut Vec::new()))
        .collect();
    let pulled = record.list(run, pull_points).items.iter();
    let mut places: Vec<_> = pulled
        .filter_map(|point| chainage(record, *point, POINT_AT).ok())
        .collect();
    places.sort();
    (0..=places.len())
        .map(|section| {
            let from = section.checked_sub(1).map(|index| places[index]);
            let to = places.get(section).copied();
            let inside = all.iter().filter(|bend| {
                bend.at.is_some() && !matches!(place_of(bend, from, to), Place::Outside)
            });
            Section {
                from,
                to,
                angles: inside.map(|bend| bend.angle).collect(),
            }
        })
        .collect()
}

fn read_bend(
    record: &Record,
    bend: ThingRef,
    angle: crate::vocabulary::FactId,
    causes: &mut Vec<Cause>,
) -> Bend {
    let at = chainage(record, bend, POINT_AT);
    let turned = fact(record, bend, angle);
    merge(causes, at.err().into_iter().chain(turned.err()));
    // Which way it turns is no matter: a pull goes through all of it.
    let turned = turned.map(|turned| turned.greater(turned.map(Interval::negate)));
    let zero_or_more = Both::same(Interval::at_least(Rational::ZERO));
    Bend {
        at: at.ok(),
        angle: turned.unwrap_or(zero_or_more),
        readings: spans(record, bend, angle),
    }
}

fn greatest(all: &[Bend], places: &[Rational], is_known: bool, run: ThingRef) -> Computed {
    let nothing = Both::exactly(Rational::ZERO);
    let mut value = nothing;
    let mut deciding: Option<(Both, Computed)> = None;
    for section in 0..=places.len() {
        let start = section.checked_sub(1).map(|index| places[index]);
        let end = places.get(section).copied();
        let total = section_total(all, start, end, is_known);
        let is_more = deciding.as_ref().is_none_or(|(known, _)| {
            total.banded.upper().is_none()
                || known
                    .banded
                    .upper()
                    .is_some_and(|known| total.banded.upper().is_some_and(|total| total > known))
        });
        if is_more {
            deciding = Some((total, section_found(all, start, end, run)));
        }
        value = value.greater(total);
    }
    // Wherever pull points lie, none splits a bend.
    let single = all
        .iter()
        .fold(nothing, |most, bend| most.greater(bend.angle));
    value = value.greater(single);
    let mut computed =
        deciding.map_or_else(|| Computed::known(value, Vec::new()), |(_, found)| found);
    computed.value = value;
    computed
}

/// From the bends that surely lie in a section to those that may.
fn section_total(
    all: &[Bend],
    start: Option<Rational>,
    end: Option<Rational>,
    is_known: bool,
) -> Both {
    let zero = Both::exactly(Rational::ZERO);
    all.iter().fold(zero, |total, bend| {
        let may_lie_outside = zero.hull(bend.angle);
        match place_of(bend, start, end) {
            Place::Outside => total,
            Place::Inside if is_known => total.add(bend.angle),
            Place::Inside | Place::Either => total.add(may_lie_outside),
        }
    })
}

enum Place {
    Inside,
    Outside,
    Either,
}

fn place_of(bend: &Bend, start: Option<Rational>, end: Option<Rational>) -> Place {
    let Some(at) = bend.at else {
        return Place::Either;
    };
    if start.is_some_and(|start| at < start) || end.is_some_and(|end| at > end) {
        Place::Outside
    } else if start == Some(at) || end == Some(at) {
        Place::Either
    } else {
        Place::Inside
    }
}

/// The readings of a section and where it lies.
fn section_found(
    all: &[Bend],
    start: Option<Rational>,
    end: Option<Rational>,
    run: ThingRef,
) -> Computed {
    let inside = all
        .iter()
        .filter(|bend| !matches!(place_of(bend, start, end), Place::Outside));
    let readings = inside.flat_map(|bend| bend.readings.clone()).collect();
    let mut computed = Computed::known(Both::WHOLE, readings);
    let from = start.unwrap_or(Rational::ZERO);
    let along = match end {
        Some(end) => Interval::new(from, end),
        None => Some(Interval::at_least(from)),
    };
    computed.at = along.map(|along| (run, along));
    computed
}
