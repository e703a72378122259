//! The fall of a run, from invert to invert.
//!
//! A fall is positive where the run falls along its chainage, and adverse below zero:
//! (invert up − invert down) / (difference of chainage).
//!
//! A fall may also be read as such over a stretch, where it is the same all along. What lies
//! between two shots must then agree with each reading that it overlaps.

use super::cause::Cause;
use super::profile::{Lost, Node, Taken, Track};
use super::slots::ThingSlots;
use super::value::{Both, Computed, Told, chainage, fact, spans, together};
use crate::quantity::{End, Interval, Rational};
use crate::record::facts::{Record, ThingRef};
use crate::source::Span;
use crate::vocabulary::{RUN_LENGTH, STRETCH_FROM, STRETCH_TO};

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

/// The least or the greatest fall anywhere, or that from end to end.
pub(super) fn fall(record: &Record, slots: &ThingSlots, run: ThingRef, which: Fall) -> Computed {
    let track = inverts(record, slots, run);
    let read = read_falls(record, slots, run);
    match which {
        Fall::Overall => {
            let shot = overall(record, slots, run, track).had("by the inverts");
            let read = overall_as_read(record, run, &read);
            together(
                std::iter::once(shot).chain(read).collect(),
                which.apart(run),
            )
        }
        Fall::Least | Fall::Greatest => extreme(record, run, track, &read, which),
    }
}

impl Fall {
    fn apart(self, thing: ThingRef) -> Cause {
        let function = match self {
            Fall::Least => "least_fall",
            Fall::Greatest => "greatest_fall",
            Fall::Overall => "overall_fall",
        };
        Cause::Apart { thing, function }
    }

    /// The more extreme of two.
    fn fold(self, one: Both, two: Both) -> Both {
        match self {
            Fall::Least | Fall::Overall => one.lesser(two),
            Fall::Greatest => one.greater(two),
        }
    }

    /// The less, the more a fall decides; none where its end lies at infinity.
    fn rank(self, slope: Interval) -> Option<End> {
        match self {
            Fall::Least | Fall::Overall => slope.upper(),
            Fall::Greatest => slope.lower().map(End::negate),
        }
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

/// A stretch whose fall is known, from shots or as read.
struct Known {
    from: Rational,
    to: Rational,
    slope: Both,
    readings: Vec<Span>,
}

impl Known {
    fn overlaps(&self, other: &Known) -> bool {
        self.from.max(other.from) < self.to.min(other.to)
    }

    fn told(&self, how: &'static str) -> Told {
        Told {
            how,
            value: self.slope.banded,
            readings: self.readings.clone(),
        }
    }
}

/// The falls that were read as such, each the same all along its stretch.
fn read_falls(record: &Record, slots: &ThingSlots, run: ThingRef) -> Vec<Known> {
    let Some(read) = slots.fall_readings else {
        return Vec::new();
    };
    let stretches = record.list(run, read.list).items.iter();
    let known = stretches.filter_map(|stretch| {
        Some(Known {
            from: chainage(record, *stretch, STRETCH_FROM).ok()?,
            to: chainage(record, *stretch, STRETCH_TO).ok()?,
            slope: fact(record, *stretch, read.fall).ok()?,
            readings: spans(record, *stretch, read.fall),
        })
    });
    known.filter(|stretch| stretch.from < stretch.to).collect()
}

fn extreme(record: &Record, run: ThingRef, track: Track, read: &[Known], which: Fall) -> Computed {
    // Two equal readings at one place are one shot written twice, and no stretch.
    let is_stretch = |stretch: &Stretch| {
        stretch.from.at != stretch.to.at || stretch.from.height != stretch.to.height
    };
    let shot = stretches(&track).filter(is_stretch).map(|stretch| Known {
        from: stretch.from.at,
        to: stretch.to.at,
        slope: stretch.slope,
        readings: readings(record, &stretch),
    });
    let mut all: Vec<_> = shot.collect();
    if let Err(told) = agree(&mut all, read) {
        return Computed::apart(which.apart(run), told);
    }
    let mut lacks = track.lacks_of(record, run);
    let is_read = |lost: &Lost| {
        lost.0
            .zip(lost.1)
            .is_some_and(|(from, to)| is_covered(read, from, to))
    };
    if track.lost.iter().all(is_read)
        && chainage(record, run, RUN_LENGTH)
            .is_ok_and(|length| is_covered(all.iter().chain(read), Rational::ZERO, length))
    {
        lacks.clear();
    }
    // What the shots cover they say more finely.
    let shots = all.len();
    for stretch in read {
        if !is_covered(&all[..shots], stretch.from, stretch.to) {
            all.push(Known {
                readings: stretch.readings.clone(),
                ..*stretch
            });
        }
    }
    let slopes = all.iter().map(|stretch| stretch.slope);
    let Some(known) = slopes.reduce(|one, two| which.fold(one, two)) else {
        return Computed::missing(no_stretch(track, run));
    };
    let value = if lacks.is_empty() {
        known
    } else {
        which.fold(known, Both::WHOLE)
    };
    // An end at infinity decides least.
    let deciding = all
        .iter()
        .filter_map(|stretch| Some((which.rank(stretch.slope.banded)?, stretch)))
        .min_by(|(left, _), (right, _)| left.cmp(right))
        .map(|(_, stretch)| stretch);
    Computed {
        value,
        causes: lacks,
        readings: deciding.map_or_else(Vec::new, |stretch| stretch.readings.clone()),
        at: deciding.and_then(|stretch| {
            let along = Interval::new(stretch.from, stretch.to)?;
            Some((run, along))
        }),
        ..Computed::missing(Vec::new())
    }
}

/// Narrows each stretch between shots by the falls read there; else what excludes each other.
fn agree(shot: &mut [Known], read: &[Known]) -> Result<(), Vec<Told>> {
    let how = "read as a fall";
    for (index, one) in read.iter().enumerate() {
        for stretch in shot.iter_mut().filter(|stretch| stretch.overlaps(one)) {
            let Some(agreed) = stretch.slope.agreed(one.slope) else {
                return Err(vec![stretch.told("by the inverts"), one.told(how)]);
            };
            stretch.slope = agreed;
            stretch.readings.extend(one.readings.iter().copied());
        }
        let others = read[..index].iter();
        for other in others.filter(|other| other.overlaps(one)) {
            if other.slope.agreed(one.slope).is_none() {
                return Err(vec![other.told(how), one.told(how)]);
            }
        }
    }
    Ok(())
}

/// Whether stretches reach from one place to another without a break.
fn is_covered<'a>(
    stretches: impl IntoIterator<Item = &'a Known>,
    from: Rational,
    to: Rational,
) -> bool {
    let mut stretches: Vec<_> = stretches.into_iter().collect();
    stretches.sort_by_key(|stretch| stretch.from);
    let mut reached = from;
    for stretch in stretches {
        if stretch.from > reached {
            break;
        }
        reached = reached.max(stretch.to);
    }
    reached >= to && from < to
}

/// The mean of the falls read, weighted by their stretches; none where these do not follow each
/// other from end to end.
fn overall_as_read(record: &Record, run: ThingRef, read: &[Known]) -> Option<Computed> {
    let length = chainage(record, run, RUN_LENGTH).ok()?;
    let mut read: Vec<_> = read.iter().collect();
    read.sort_by_key(|stretch| stretch.from);
    let mut reached = Rational::ZERO;
    let mut drop = Both::exactly(Rational::ZERO);
    for stretch in &read {
        if stretch.from != reached {
            return None;
        }
        reached = stretch.to;
        let point = Interval::point;
        let width = point(stretch.to).subtract(point(stretch.from));
        drop = drop.add(stretch.slope.multiply(Both::same(width)));
    }
    if reached != length || read.is_empty() {
        return None;
    }
    let mean = drop.map(|drop| {
        drop.divide(Interval::point(length))
            .unwrap_or(Interval::WHOLE)
    });
    let readings = read.iter().flat_map(|stretch| stretch.readings.clone());
    let mut computed = Computed::known(mean, readings.collect()).had("read as falls");
    computed.at = Interval::new(Rational::ZERO, length).map(|along| (run, along));
    Some(computed)
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

fn readings(record: &Record, stretch: &Stretch) -> Vec<Span> {
    let mut readings = spans(record, stretch.from.shot, stretch.from.fact);
    readings.extend(spans(record, stretch.to.shot, stretch.to.fact));
    readings
}

/// From the first invert, at 0, to the last, at the run's end, whatever lies between.
fn overall(record: &Record, slots: &ThingSlots, run: ThingRef, track: Track) -> Computed {
    let length = chainage(record, run, RUN_LENGTH).ok();
    let shots = slots.shots.map(|shots| record.list(run, shots.list));
    let shots = shots.filter(|shots| !shots.open);
    let ends = length
        .filter(|length| *length > Rational::ZERO)
        .zip(shots)
        .and_then(|(length, shots)| {
            let at = |node: Option<&Node>, shot: Option<&ThingRef>, place: Rational| {
                node.filter(|node| Some(&node.shot) == shot && node.at == place)
                    .copied()
            };
            let first = at(track.nodes.first(), shots.items.first(), Rational::ZERO)?;
            Some((first, at(track.nodes.last(), shots.items.last(), length)?))
        });
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
