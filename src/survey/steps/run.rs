//! Lengths, sags and bends of a run, and a pump's curve, worked out on paper.

use super::{line, of, shown, unit, unit_of};
use crate::quantity::{Interval, print};
use crate::record::facts::{Record, ThingRef};
use crate::survey::bend::sections;
use crate::survey::cover::crown_tracks;
use crate::survey::fall::inverts;
use crate::survey::plan::{root, square};
use crate::survey::pump::curve;
use crate::survey::sag::lows;
use crate::survey::slots::ThingSlots;
use crate::survey::value::{Both, fact};
use crate::survey::{Mode, Step};
use crate::vocabulary::{POINT_AT, RUN_LENGTH};

/// `the run's length: 62 ft`
pub(in crate::survey) fn plan_length(record: &Record, run: ThingRef, mode: Mode) -> Vec<Step> {
    let length = fact(record, run, RUN_LENGTH).ok();
    let told = length.map(|length| {
        let length = shown(of(length, mode), &unit_of(record, run, RUN_LENGTH));
        line(format!("the run's length: {length}"))
    });
    told.into_iter().collect()
}

/// `0 ft to 12 ft: √((12 ft)² + (5 ft)²) = 13 ft`
pub(in crate::survey) fn slope_length(
    record: &Record,
    slots: &ThingSlots,
    run: ThingRef,
    mode: Mode,
) -> Vec<Step> {
    let tracks = crown_tracks(record, slots, run);
    let pieces = tracks.first().map_or(&[][..], |track| &track.pieces);
    let told = pieces.iter().map(|piece| {
        let along = unit_of(record, piece.from.shot, POINT_AT);
        let level = Interval::point(piece.to.at).subtract(Interval::point(piece.from.at));
        let upright = of(piece.to.height.subtract(piece.from.height), mode);
        let upright = upright.greater(upright.negate());
        line(format!(
            "{} to {}: √(({})² + ({})²) = {}",
            print::show(piece.from.at, &along),
            print::show(piece.to.at, &along),
            shown(level, &along),
            shown(upright, &along),
            shown(root(square(level).add(square(upright))), &along),
        ))
    });
    told.collect()
}

/// `at 20 ft: the lower of 99 ft before and 98.4 ft after, less 98 ft = 0.4 ft`
pub(in crate::survey) fn sag(
    record: &Record,
    slots: &ThingSlots,
    run: ThingRef,
    mode: Mode,
) -> Vec<Step> {
    let track = inverts(record, slots, run);
    let deep = lows(&track.nodes).into_iter().filter(|low| {
        let depth = of(low.depth, mode);
        depth.upper().is_none_or(|upper| upper.sign() > 0)
    });
    let told: Vec<_> = deep
        .map(|low| {
            let along = unit_of(record, low.node.shot, POINT_AT);
            let unit = unit_of(record, low.node.shot, low.node.fact);
            line(format!(
                "at {}: the lower of {} before and {} after, less {} = {}",
                print::show(low.node.at, &along),
                shown(of(low.before.height, mode), &unit),
                shown(of(low.after.height, mode), &unit),
                shown(of(low.node.height, mode), &unit),
                shown(of(low.depth, mode), &unit),
            ))
        })
        .collect();
    if told.is_empty() {
        return vec![line(
            "no shot lies below others both before and after it".into(),
        )];
    }
    told
}

/// `from 0 ft to 30 ft: 90 deg + 90 deg = 180 deg`
pub(in crate::survey) fn bends(
    record: &Record,
    slots: &ThingSlots,
    run: ThingRef,
    mode: Mode,
) -> Vec<Step> {
    let degree = unit("deg");
    let along = unit_of(record, run, RUN_LENGTH);
    let told = sections(record, slots, run).into_iter().map(|section| {
        let from = section
            .from
            .map_or_else(|| "the start".into(), |from| print::show(from, &along));
        let to = section
            .to
            .map_or_else(|| "the end".into(), |to| print::show(to, &along));
        let angles: Vec<_> = section
            .angles
            .iter()
            .map(|angle| shown(of(*angle, mode), &degree))
            .collect();
        let nothing = Interval::point(crate::quantity::Rational::ZERO);
        let total = section.angles.iter().map(|angle| of(*angle, mode));
        let total = shown(total.fold(nothing, Interval::add), &degree);
        line(if angles.is_empty() {
            format!("from {from} to {to}: no bend")
        } else {
            format!("from {from} to {to}: {} = {total}", angles.join(" + "))
        })
    });
    told.collect()
}

/// `at 11 gpm: 138 ft + (11 gpm − 8 gpm) / (12 gpm − 8 gpm) × (92 ft − 138 ft) = 103.5 ft`
pub(in crate::survey) fn pump_head(
    record: &Record,
    slots: &ThingSlots,
    station: ThingRef,
    flow: Interval,
    mode: Mode,
) -> Vec<Step> {
    let Some(points) = slots.curve else {
        return Vec::new();
    };
    let track = curve(record, station, points);
    let mut ends: Vec<_> = flow.lower().into_iter().chain(flow.upper()).collect();
    ends.dedup();
    let mut steps = Vec::new();
    for end in ends {
        let Some(place) = crate::survey::pump::number(end) else {
            continue;
        };
        let piece = track
            .pieces
            .iter()
            .find(|piece| piece.from.at <= place && place <= piece.to.at);
        let Some(piece) = piece else { continue };
        let gpm = unit_of(record, piece.from.shot, points.flow);
        let head = unit_of(record, piece.from.shot, points.head);
        let (from, to) = (piece.from, piece.to);
        let shown_height = |height: Both| shown(of(height, mode), &head);
        let at = print::show(place, &gpm);
        let value = crate::survey::profile::interpolated(piece, place);
        steps.push(line(format!(
            "at {at}: {} + ({at} − {}) / ({} − {}) × ({} − {}) = {}",
            shown_height(from.height),
            print::show(from.at, &gpm),
            print::show(to.at, &gpm),
            print::show(from.at, &gpm),
            shown_height(to.height),
            shown_height(from.height),
            shown_height(value),
        )));
    }
    steps
}
