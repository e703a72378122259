//! The fall of a run, from invert to invert.
//!
//! A fall is positive where the run falls along its chainage, and adverse below zero:
//! (invert up − invert down) / (difference of chainage).

use super::cause::Cause;
use super::profile::{Node, Taken, Track};
use super::slots::ThingSlots;
use super::value::{Both, Computed, chainage, spans};
use crate::quantity::{Interval, Rational};
use crate::record::facts::{Record, ThingRef};
use crate::vocabulary::RUN_LENGTH;

/// Which fall is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Fall {
    Least,
    Greatest,
    Overall,
}

/// The fall between two shots.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stretch {
    pub from: Node,
    pub to: Node,
    pub slope: Both,
}

/// The least or the greatest fall between neighbouring shots, or that from end to end.
pub(super) fn fall(record: &Record, slots: &ThingSlots, run: ThingRef, which: Fall) -> Computed {
    let track = inverts(record, slots, run);
    match which {
        Fall::Overall => overall(record, run, track),
        Fall::Least => extreme(record, run, track, Both::lesser, |slope| slope.upper()),
        Fall::Greatest => extreme(record, run, track, Both::greater, |slope| {
            slope.lower().map(|end| end.negate())
        }),
    }
}

/// Every stretch between neighbouring shots, in order.
pub(super) fn stretches(track: &Track) -> impl Iterator<Item = Stretch> {
    let pieces = track.pieces.iter().map(|piece| (piece.from, piece.to));
    let steps = track.steps.iter().copied();
    pieces.chain(steps).map(|(from, to)| Stretch {
        from,
        to,
        slope: slope(from, to),
    })
}

/// The inverts of a run.
pub(super) fn inverts(record: &Record, slots: &ThingSlots, run: ThingRef) -> Track {
    let shots = slots.shots.and_then(|shots| Some((shots, shots.invert?)));
    let (shots, invert) = shots.expect("a survey refuses a fall of what has no inverts");
    let taken = Taken {
        run,
        list: shots.list,
        fact: invert,
        raised: Both::exactly(Rational::ZERO),
        gap: slots.gap,
    };
    Track::read(record, &taken)
}

fn slope(from: Node, to: Node) -> Both {
    let point = Interval::point;
    let width = point(to.at).subtract(point(from.at));
    from.height
        .subtract(to.height)
        .map(|drop| match drop.divide(width) {
            Ok(slope) => slope,
            Err(_) => upright(drop),
        })
}

/// The slope of a step at one chainage: steeper than any number, down or up.
fn upright(drop: Interval) -> Interval {
    let zero = Interval::point(Rational::ZERO);
    if drop == zero {
        zero
    } else if !drop.may_be_negative() && !drop.may_be_zero() {
        Interval::at_least(Rational::ZERO)
    } else if !drop.negate().may_be_negative() && !drop.may_be_zero() {
        Interval::at_most(Rational::ZERO)
    } else {
        Interval::WHOLE
    }
}

fn extreme<K: Ord>(
    record: &Record,
    run: ThingRef,
    track: Track,
    fold: impl Fn(Both, Both) -> Both,
    decides: impl Fn(Interval) -> Option<K>,
) -> Computed {
    // Two equal readings at one place are one shot written twice, and no stretch.
    let is_stretch = |stretch: &Stretch| {
        stretch.from.at != stretch.to.at || stretch.from.height != stretch.to.height
    };
    let all: Vec<_> = stretches(&track).filter(is_stretch).collect();
    let known = all.iter().map(|stretch| stretch.slope).reduce(&fold);
    let Some(known) = known else {
        return Computed::missing(no_stretch(track, run));
    };
    let lacks = super::profile::Profile::of(vec![track]).lacks_of(record, run);
    let value = if lacks.is_empty() {
        known
    } else {
        fold(known, Both::WHOLE)
    };
    // An end at infinity decides least.
    let deciding = all
        .iter()
        .filter_map(|stretch| Some((decides(stretch.slope.banded)?, stretch)))
        .min_by(|(left, _), (right, _)| left.cmp(right))
        .map(|(_, stretch)| stretch);
    Computed {
        value,
        causes: lacks,
        readings: deciding.map_or_else(Vec::new, |stretch| readings(record, stretch)),
        at: deciding.and_then(|stretch| {
            let along = Interval::new(stretch.from.at, stretch.to.at)?;
            Some((run, along))
        }),
    }
}

fn no_stretch(track: Track, run: ThingRef) -> Vec<Cause> {
    if track.causes.is_empty() {
        // One shot on a run without length: there is nothing that could fall.
        let whole = Cause::Stretch {
            thing: run,
            from: Some(Rational::ZERO),
            to: None,
        };
        return vec![whole];
    }
    track.causes
}

fn readings(record: &Record, stretch: &Stretch) -> Vec<crate::source::Span> {
    let mut readings = spans(record, stretch.from.shot, stretch.from.fact);
    readings.extend(spans(record, stretch.to.shot, stretch.to.fact));
    readings
}

/// From the invert at 0 to that at the run's end, whatever lies between.
fn overall(record: &Record, run: ThingRef, track: Track) -> Computed {
    let length = chainage(record, run, RUN_LENGTH);
    let end_at = |place: Rational| track.nodes.iter().find(|node| node.at == place);
    let ends = length
        .ok()
        .filter(|length| *length > Rational::ZERO)
        .and_then(|length| Some((*end_at(Rational::ZERO)?, *end_at(length)?)));
    let Some((from, to)) = ends else {
        return Computed::missing(no_stretch(track, run));
    };
    let stretch = Stretch {
        from,
        to,
        slope: slope(from, to),
    };
    let mut computed = Computed::known(stretch.slope, readings(record, &stretch));
    computed.at = Interval::new(from.at, to.at).map(|along| (run, along));
    computed
}
