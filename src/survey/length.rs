//! How long a run is, in plan and along its slope.

use super::cause::{Cause, merge};
use super::cover::crown_tracks;
use super::profile::Track;
use super::slots::ThingSlots;
use super::value::{Both, Computed, chainage, fact, spans, together};
use crate::quantity::{Interval, Rational};
use crate::record::facts::{Record, ThingRef};
use crate::vocabulary::RUN_LENGTH;

/// The length in plan: the chainage of its end.
pub(super) fn plan_length(record: &Record, run: ThingRef) -> Computed {
    match fact(record, run, RUN_LENGTH) {
        Ok(length) => Computed::known(length, spans(record, run, RUN_LENGTH)),
        Err(cause) => Computed::missing(vec![cause]),
    }
}

/// The length along the slope, from shot to shot: never less than that in plan.
pub(super) fn slope_length(record: &Record, slots: &ThingSlots, run: ThingRef) -> Computed {
    let length = match chainage(record, run, RUN_LENGTH) {
        Ok(length) => length,
        Err(cause) => return Computed::missing(vec![cause]),
    };
    let tracks = crown_tracks(record, slots, run);
    let mut causes = Vec::new();
    let mut known = Vec::new();
    for track in &tracks {
        let lacks = track.lacks_of(record, run);
        if lacks.is_empty() && is_in_order(track, length) {
            known.push(along(record, run, track).had("levelled"));
        }
        merge(&mut causes, lacks);
    }
    if !known.is_empty() {
        let function = "slope_length";
        return together(
            known,
            Cause::Apart {
                thing: run,
                function,
            },
        );
    }
    if causes.is_empty() {
        causes.push(Cause::Stretch {
            thing: run,
            from: Some(Rational::ZERO),
            to: Some(length),
        });
    }
    Computed {
        value: Both::same(Interval::at_least(length)),
        causes,
        readings: spans(record, run, RUN_LENGTH),
        ..Computed::missing(Vec::new())
    }
}

/// Whether each piece begins where the one before ends, from 0 to the run's end.
fn is_in_order(track: &Track, length: Rational) -> bool {
    let mut reached = Rational::ZERO;
    for piece in &track.pieces {
        if piece.from.at != reached {
            return false;
        }
        reached = piece.to.at;
    }
    reached == length && track.steps.is_empty()
}

fn along(record: &Record, run: ThingRef, track: &Track) -> Computed {
    let square = |value: Interval| value.power_integer(2).unwrap_or(Interval::WHOLE);
    let nothing = Both::exactly(Rational::ZERO);
    let value = track.pieces.iter().fold(nothing, |total, piece| {
        let point = Interval::point;
        let level = Both::same(point(piece.to.at).subtract(point(piece.from.at)));
        let upright = piece.to.height.subtract(piece.from.height);
        let sum = level.map(square).add(upright.map(square));
        total.add(sum.root())
    });
    let mut readings = spans(record, run, RUN_LENGTH);
    for node in &track.nodes {
        readings.extend(spans(record, node.shot, node.fact));
    }
    Computed::known(value, readings)
}
