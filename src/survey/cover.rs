//! The cover over a run: ground above the top of the pipe, cable or raceway.
//!
//! It is had in up to three ways: levelled (ground and crown along the run, where the crown may
//! be the invert raised by diameter and wall), taped stretch by stretch, or taped once as the
//! least of the run. Cover is linear between the shots of both profiles together, so that its
//! extremes lie at shots.

use super::cause::{Cause, merge};
use super::profile::{Height, LEVELLED, Node, Profile, Taken, Track};
use super::slots::{ShotSlots, ThingSlots};
use super::value::{Both, Computed, Told, chainage, fact, spans, together};
use crate::quantity::{Interval, Rational};
use crate::record::facts::{Record, ThingRef};
use crate::source::Span;
use crate::vocabulary::{FactId, STRETCH_FROM, STRETCH_TO};

/// Which extreme of the cover is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Cover {
    Least,
    Greatest,
}

impl Cover {
    fn function(self) -> &'static str {
        match self {
            Cover::Least => "least_cover",
            Cover::Greatest => "greatest_cover",
        }
    }

    fn fold(self, left: Both, right: Both) -> Both {
        match self {
            Cover::Least => left.lesser(right),
            Cover::Greatest => left.greater(right),
        }
    }

    /// Whether the first decides against the second.
    fn decides(self, first: Interval, second: Interval) -> bool {
        match self {
            Cover::Least => match (first.upper(), second.upper()) {
                (Some(first), Some(second)) => first < second,
                (Some(_), None) => true,
                (None, _) => false,
            },
            Cover::Greatest => match (first.lower(), second.lower()) {
                (Some(first), Some(second)) => first > second,
                (Some(_), None) => true,
                (None, _) => false,
            },
        }
    }
}

/// The least or the greatest cover of a run, from every way in which it is recorded.
pub(super) fn cover(record: &Record, slots: &ThingSlots, run: ThingRef, which: Cover) -> Computed {
    let mut sources = Vec::new();
    if let Some(spans) = slots.spans {
        sources.push(
            taped_by_stretch(record, run, spans.list, spans.cover, which).had("taped by stretches"),
        );
    }
    if let Some(levelled) = Levelled::of(record, slots, run) {
        sources.push(levelled.extreme(record, run, which).had("levelled"));
    }
    if let Some(cover) = slots.cover {
        sources.push(taped_once(record, run, cover, which).had("taped"));
    }
    let apart = Cause::Apart {
        thing: run,
        function: which.function(),
    };
    together(drop_unused(sources), apart)
}

/// Leaves out the ways nobody began, as long as somebody began one: their absence is no cause.
fn drop_unused(sources: Vec<Computed>) -> Vec<Computed> {
    let (begun, unused): (Vec<_>, Vec<_>) = sources
        .into_iter()
        .partition(|source| !source.value.banded.is_whole() || source.is_apart());
    if begun.is_empty() { unused } else { begun }
}

/// The reading of the least cover: no greatest cover lies below it.
fn taped_once(record: &Record, run: ThingRef, cover: FactId, which: Cover) -> Computed {
    match (fact(record, run, cover), which) {
        (Err(cause), _) => Computed::missing(vec![cause]),
        (Ok(value), Cover::Least) => Computed::known(value, spans(record, run, cover)),
        (Ok(value), Cover::Greatest) => Computed {
            value: value.with(Both::WHOLE, Interval::greater),
            causes: vec![Cause::Stretch {
                thing: run,
                from: Some(Rational::ZERO),
                to: chainage(record, run, crate::vocabulary::RUN_LENGTH).ok(),
            }],
            readings: spans(record, run, cover),
            ..Computed::missing(Vec::new())
        },
    }
}

fn taped_by_stretch(
    record: &Record,
    run: ThingRef,
    list: crate::vocabulary::ListId,
    cover: FactId,
    which: Cover,
) -> Computed {
    let recorded = record.list(run, list);
    let mut extreme = Extreme::new(which);
    let mut causes = Vec::new();
    if recorded.open || recorded.items.is_empty() {
        let gaps = recorded.gaps.iter().map(|gap| Cause::Stretch {
            thing: run,
            from: gap.from,
            to: gap.to,
        });
        merge(&mut causes, gaps);
        if causes.is_empty() {
            causes.push(Cause::List { thing: run, list });
        }
    }
    for stretch in &recorded.items {
        match fact(record, *stretch, cover) {
            Err(cause) => merge(&mut causes, [cause]),
            Ok(value) => {
                let from = chainage(record, *stretch, STRETCH_FROM).ok();
                let to = chainage(record, *stretch, STRETCH_TO).ok();
                let along = from.zip(to).and_then(|(from, to)| Interval::new(from, to));
                extreme.ask(value, along, || spans(record, *stretch, cover));
            }
        }
    }
    extreme.computed(run, causes)
}

/// The most extreme value so far, and where it lies.
struct Extreme {
    which: Cover,
    value: Option<Both>,
    deciding: Option<(Both, Option<Interval>, Vec<Span>)>,
}

impl Extreme {
    fn new(which: Cover) -> Extreme {
        Extreme {
            which,
            value: None,
            deciding: None,
        }
    }

    fn ask(&mut self, value: Both, along: Option<Interval>, readings: impl FnOnce() -> Vec<Span>) {
        self.value = Some(match self.value {
            Some(known) => self.which.fold(known, value),
            None => value,
        });
        let is_first = |known: &(Both, _, _)| !self.which.decides(value.banded, known.0.banded);
        if !self.deciding.as_ref().is_some_and(is_first) {
            self.deciding = Some((value, along, readings()));
        }
    }

    fn computed(self, run: ThingRef, causes: Vec<Cause>) -> Computed {
        let Some(known) = self.value else {
            return Computed::missing(causes);
        };
        let value = if causes.is_empty() {
            known
        } else {
            self.which.fold(known, Both::WHOLE)
        };
        let (along, readings) = match self.deciding {
            Some((_, along, readings)) => (along, readings),
            None => (None, Vec::new()),
        };
        Computed {
            value,
            causes,
            readings,
            at: along.map(|along| (run, along)),
            ..Computed::missing(Vec::new())
        }
    }
}

/// The profiles of ground and crown.
pub(super) struct Levelled {
    ground: Profile,
    crown: Profile,
}

impl Levelled {
    /// Reads both profiles; none where the vocabulary has no such shots for this run.
    pub fn of(record: &Record, slots: &ThingSlots, run: ThingRef) -> Option<Levelled> {
        let ground: Vec<_> = lists(slots)
            .filter_map(|shots| Some(track(record, slots, run, shots, shots.ground?)))
            .collect();
        let crown = crown_tracks(record, slots, run);
        if ground.is_empty() || crown.is_empty() {
            return None;
        }
        Some(Levelled {
            ground: Profile::of(ground),
            crown: Profile::of(crown),
        })
    }

    /// The cover at a chainage; none where either height is missing.
    fn at(&self, place: Rational) -> Option<Result<Both, ()>> {
        match (self.ground.at(place), self.crown.at(place)) {
            (Height::Missing, _) | (_, Height::Missing) => None,
            (Height::Apart, _) | (_, Height::Apart) => Some(Err(())),
            (Height::Known(ground), Height::Known(crown)) => Some(Ok(ground.subtract(crown))),
        }
    }

    fn extreme(&self, record: &Record, run: ThingRef, which: Cover) -> Computed {
        let mut causes = self.ground.lacks_of(record, run);
        merge(&mut causes, self.crown.lacks_of(record, run));
        let mut extreme = Extreme::new(which);
        for place in self.places() {
            match self.at(place) {
                None => {}
                Some(Ok(cover)) => extreme.ask(cover, Some(Interval::point(place)), || {
                    self.readings_at(record, place)
                }),
                Some(Err(())) => {
                    let apart = Cause::Apart {
                        thing: run,
                        function: which.function(),
                    };
                    return Computed::apart(apart, self.told_at(record, place));
                }
            }
        }
        extreme.computed(run, causes)
    }

    /// The chainages of all shots, in order.
    pub fn places(&self) -> Vec<Rational> {
        let mut places: Vec<_> = self.ground.places().chain(self.crown.places()).collect();
        places.sort();
        places.dedup();
        places
    }

    /// What each shot or stretch between shots says of the height that is not one.
    fn told_at(&self, record: &Record, place: Rational) -> Vec<Told> {
        let profile = match self.ground.at(place) {
            Height::Apart => &self.ground,
            Height::Missing | Height::Known(_) => &self.crown,
        };
        profile.told_at(record, place, LEVELLED)
    }

    fn readings_at(&self, record: &Record, place: Rational) -> Vec<Span> {
        let nodes = self.nodes_at(place);
        nodes
            .iter()
            .flat_map(|node| spans(record, node.shot, node.fact))
            .collect()
    }

    /// The readings that give the cover at a chainage.
    pub fn nodes_at(&self, place: Rational) -> Vec<Node> {
        let mut nodes = self.ground.readings_at(place);
        nodes.extend(self.crown.readings_at(place));
        nodes
    }

    /// Ground and crown at a chainage, where both are known.
    pub fn heights_at(&self, place: Rational) -> Option<(Both, Both)> {
        match (self.ground.at(place), self.crown.at(place)) {
            (Height::Known(ground), Height::Known(crown)) => Some((ground, crown)),
            (Height::Missing | Height::Apart, _) | (_, Height::Missing | Height::Apart) => None,
        }
    }
}

fn lists(slots: &ThingSlots) -> impl Iterator<Item = ShotSlots> {
    slots.shots.into_iter().chain(slots.ground_shots)
}

fn track(
    record: &Record,
    slots: &ThingSlots,
    run: ThingRef,
    shots: ShotSlots,
    fact: FactId,
) -> Track {
    let taken = Taken {
        run,
        list: shots.list,
        fact,
        raised: Both::exactly(Rational::ZERO),
        gap: slots.gap,
    };
    Track::read(record, &taken)
}

/// The tops of the pipe: read as such, or from the inverts.
pub(super) fn crown_tracks(record: &Record, slots: &ThingSlots, run: ThingRef) -> Vec<Track> {
    let Some(shots) = slots.shots else {
        return Vec::new();
    };
    let crown = shots
        .crown
        .map(|fact| track(record, slots, run, shots, fact));
    let raised = shots
        .invert
        .and_then(|invert| raised_inverts(record, slots, run, shots, invert));
    match (crown, raised) {
        // Where only inverts were levelled, what they lack is what is missing.
        (Some(crown), Some(raised)) if crown.nodes.is_empty() && raised.is_begun => {
            vec![raised.track, crown]
        }
        (crown, raised) => {
            let raised = raised.map(|raised| raised.track);
            crown.into_iter().chain(raised).collect()
        }
    }
}

/// Inverts raised to the top of the pipe.
struct Raised {
    track: Track,
    /// Whether any invert was levelled.
    is_begun: bool,
}

/// The invert is the lowest point of the inside, so the top of the outside lies a diameter less
/// one wall above it.
fn raised_inverts(
    record: &Record,
    slots: &ThingSlots,
    run: ThingRef,
    shots: ShotSlots,
    invert: FactId,
) -> Option<Raised> {
    let (diameter, wall) = (slots.outside_diameter?, slots.wall?);
    let mut track = track(record, slots, run, shots, invert);
    let is_begun = !track.nodes.is_empty();
    match (fact(record, run, diameter), fact(record, run, wall)) {
        (Ok(diameter), Ok(wall)) => raise(&mut track, diameter.subtract(wall)),
        (diameter, wall) => {
            let causes = diameter.err().into_iter().chain(wall.err()).collect();
            track = Track {
                causes,
                ..Track::default()
            };
        }
    }
    Some(Raised { track, is_begun })
}

/// The undersides of the pipe: a wall below the invert, an outside diameter below the top.
pub(super) fn underside_tracks(record: &Record, slots: &ThingSlots, run: ThingRef) -> Vec<Track> {
    let Some(shots) = slots.shots else {
        return Vec::new();
    };
    let lowered = |height: Option<FactId>, by: Option<FactId>| {
        let mut track = track(record, slots, run, shots, height?);
        let is_begun = !track.nodes.is_empty();
        match fact(record, run, by?) {
            Ok(by) => raise(&mut track, by.map(Interval::negate)),
            Err(cause) => {
                track = Track {
                    causes: vec![cause],
                    ..Track::default()
                };
            }
        }
        Some(Raised { track, is_begun })
    };
    let both = [
        lowered(shots.invert, slots.wall),
        lowered(shots.crown, slots.outside_diameter),
    ];
    // What was begun tells what is missing.
    let (mut begun, others): (Vec<_>, Vec<_>) =
        both.into_iter().flatten().partition(|one| one.is_begun);
    begun.extend(others);
    begun.into_iter().map(|one| one.track).collect()
}

fn raise(track: &mut Track, by: Both) {
    let pieces = &mut track.pieces;
    let ends = pieces
        .iter_mut()
        .flat_map(|piece| [&mut piece.from, &mut piece.to]);
    for node in track.nodes.iter_mut().chain(ends) {
        node.height = node.height.add(by);
    }
}
