//! The head of a pump, read from its curve.

use super::cause::{Cause, merge};
use super::profile::{Height, Node, Piece, Profile, Track};
use super::slots::{CurveSlots, ThingSlots};
use super::value::{Computed, Told, fact, spans};
use crate::quantity::{End, Interval, Rational};
use crate::record::facts::{Record, ThingRef};
use crate::source::Span;

/// The head at a flow: linear between the points of the curve, the whole line beyond its ends.
pub(super) fn pump_head(
    record: &Record,
    slots: &ThingSlots,
    station: ThingRef,
    flow: Interval,
) -> Computed {
    let points = slots.curve;
    let points = points.expect("a survey refuses a head without a curve");
    let track = curve(record, station, points);
    let causes = track.causes.clone();
    let ends = track.nodes.iter().map(|node| node.at);
    let reach = ends.clone().min().zip(ends.max());
    let profile = Profile::of(vec![track]);
    let range = flow.lower().zip(flow.upper());
    let Some((from, to)) = range.and_then(|(from, to)| Some((number(from)?, number(to)?))) else {
        return Computed::missing(vec![Cause::Curve { thing: station }]);
    };
    match profile.range(from, to) {
        Height::Known(value) => {
            let mut computed = Computed::known(value, Vec::new());
            computed.readings = readings(record, &profile, from, to);
            computed
        }
        Height::Apart => Computed::apart(apart(station), disagreement(record, &profile)),
        Height::Missing => Computed::missing(why_unknown(station, reach, from, to, causes)),
    }
}

/// What a curve says twice, and not the same, of one flow: one that doubles back, or has two
/// points at one flow. Nothing where it agrees with itself.
pub(super) fn told_twice(record: &Record, slots: &ThingSlots, station: ThingRef) -> Vec<Told> {
    let points = slots
        .curve
        .expect("a survey refuses a head without a curve");
    let profile = Profile::of(vec![curve(record, station, points)]);
    disagreement(record, &profile)
}

fn disagreement(record: &Record, profile: &Profile) -> Vec<Told> {
    let mut places = profile.places();
    let place = places.find(|place| profile.at(*place) == Height::Apart);
    place.map_or_else(Vec::new, |place| {
        profile.told_at(record, place, ["at a point", "between points"])
    })
}

fn apart(thing: ThingRef) -> Cause {
    let function = "pump_head";
    Cause::Apart { thing, function }
}

fn why_unknown(
    station: ThingRef,
    reach: Option<(Rational, Rational)>,
    from: Rational,
    to: Rational,
    mut causes: Vec<Cause>,
) -> Vec<Cause> {
    let is_inside = reach.is_some_and(|(first, last)| first <= from && to <= last);
    if causes.is_empty() || (reach.is_some() && !is_inside) {
        merge(&mut causes, [Cause::Curve { thing: station }]);
    }
    causes
}

/// An end as an exact number; none where it is too large for one.
pub(super) fn number(end: End) -> Option<Rational> {
    match end {
        End::Exact(value) => Some(value),
        End::Rounded(value) => Rational::from_f64(value.get()),
    }
}

/// The points of a curve, joined where nothing is missing between them.
pub(super) fn curve(record: &Record, station: ThingRef, slots: CurveSlots) -> Track {
    let list = record.list(station, slots.list);
    let mut track = Track::default();
    if list.open || list.items.is_empty() {
        track.causes.push(Cause::List {
            thing: station,
            list: slots.list,
        });
    }
    let mut previous: Option<Node> = None;
    for point in &list.items {
        let node = curve_point(record, *point, slots, &mut track.causes);
        if let (Some(from), Some(to)) = (previous, node)
            && from.at < to.at
            && !list.open
        {
            track.pieces.push(Piece { from, to });
        }
        track.nodes.extend(node);
        previous = node;
    }
    track
}

fn curve_point(
    record: &Record,
    point: ThingRef,
    slots: CurveSlots,
    causes: &mut Vec<Cause>,
) -> Option<Node> {
    let flow = fact(record, point, slots.flow);
    let head = fact(record, point, slots.head);
    merge(causes, flow.err().into_iter().chain(head.err()));
    Some(Node {
        at: flow.ok()?.banded.exact_point()?,
        height: head.ok()?,
        shot: point,
        fact: slots.head,
    })
}

fn readings(record: &Record, profile: &Profile, from: Rational, to: Rational) -> Vec<Span> {
    let mut found = Vec::new();
    for place in [from, to] {
        for node in profile.readings_at(place) {
            for span in spans(record, node.shot, node.fact) {
                if !found.contains(&span) {
                    found.push(span);
                }
            }
        }
    }
    found
}
