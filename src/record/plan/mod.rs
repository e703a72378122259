//! A record and the text of the plan it names in; the record with its lines in plan out.
//!
//! The head of a record may name a GeoJSON file beside it, `plan: { file: lot_07.geojson,
//! tolerance: 0.3 ft }`. Each feature's property `id` is that of a thing of the record; a Point
//! or a LineString is its line in plan. Reading is pure: whoever has the file hands its text in.

mod error;
mod geojson;
mod projection;

pub use error::PlanError;

use std::collections::BTreeMap;

use smallvec::smallvec;

use super::error::{Mistakes, long_line};
use super::facts::{List, Reading, Record, Slot, State, Thing, ThingRef, Value};
use super::{names, yaml};
use crate::quantity::{Dimension, Interval, Rational, Unit};
use crate::source::{Located, SourceId, Sources, Span};
use crate::vocabulary::{FactId, ListId, ThingId, Type, Vocabulary};
use geojson::Feature;
use projection::{OFF, Projected, Projection};

/// Gives the things of a record their lines from the plan that its head names.
///
/// # Errors
///
/// All mistakes of the plan, and a line that the record gives by itself.
///
/// # Panics
///
/// Where the head names no plan: there would be no tolerance for its places.
pub fn attach(
    vocabulary: &Vocabulary,
    mut record: Record,
    sources: &Sources,
    id: SourceId,
) -> Result<Record, Vec<Located<PlanError>>> {
    let mut text_mistakes = Mistakes::default();
    let root = yaml::parse(sources, id, &mut text_mistakes);
    let Some(root) = root.filter(|_| text_mistakes.is_empty()) else {
        let told = text_mistakes.told(sources).into_iter();
        let located = told.map(|located| Located {
            source: located.source,
            error: PlanError::from(located.error),
        });
        return Err(located.collect());
    };
    let mut mistakes = two_frames(vocabulary, &record);
    let features = geojson::features(&root, &mut mistakes);
    let drawn = drawn(vocabulary, &record, &features, &mut mistakes);
    let lines = projected(&drawn, &mut mistakes);
    if !mistakes.is_empty() {
        return Err(told(mistakes, sources, id));
    }
    let plan = record.head.plan.as_mut();
    let plan = plan.expect("a plan is attached to a record that names it");
    plan.source = Some(id);
    let tolerance = Rational::new(OFF.0, OFF.1).and_then(|off| plan.tolerance.checked_add(off));
    let tolerance = tolerance.unwrap_or(plan.tolerance);
    let at = plan.file.span;
    for (thing, slots, places) in lines {
        fill(
            vocabulary,
            &mut record,
            thing,
            slots,
            &places,
            tolerance,
            at,
        );
    }
    Ok(record)
}

fn told(mistakes: Vec<PlanError>, sources: &Sources, id: SourceId) -> Vec<Located<PlanError>> {
    let located = mistakes.into_iter().map(|error| {
        let source = error.at().map_or(id, |at| at.source);
        let long = error.at().and_then(|at| long_line(&error, at, sources));
        Located {
            source,
            error: long.map_or(error, PlanError::from),
        }
    });
    located.collect()
}

/// The places of a plan by the ids of their things, as longitude and latitude; empty where it is
/// none.
pub fn places(sources: &Sources, id: SourceId) -> BTreeMap<String, Vec<[f64; 2]>> {
    let Some(root) = yaml::parse(sources, id, &mut Mistakes::default()) else {
        return BTreeMap::new();
    };
    let features = geojson::features(&root, &mut Vec::new()).into_iter();
    let named = features.map(|feature| {
        let places = feature.places.iter();
        let places = places.map(|place| [place.longitude, place.latitude]);
        (feature.id.value, places.collect())
    });
    named.collect()
}

/// The list of a thing that is its line in plan.
#[derive(Debug, Clone, Copy)]
struct LineSlots {
    list: ListId,
    vertex: ThingId,
    northing: FactId,
    easting: FactId,
}

fn line_slots(vocabulary: &Vocabulary, kind: ThingId) -> Option<LineSlots> {
    let thing = vocabulary.thing(kind);
    let list = thing.list_named("line")?;
    let vertex = thing.list(list).of;
    let coordinate = |name: &str| {
        let declared = vocabulary.thing(vertex);
        let fact = declared.fact_named(name)?;
        let is_length = declared.fact(fact).kind == Type::Quantity(Dimension::LENGTH);
        is_length.then_some(fact)
    };
    Some(LineSlots {
        list,
        vertex,
        northing: coordinate("northing")?,
        easting: coordinate("easting")?,
    })
}

/// Lines that the record gives in a frame of its own.
fn two_frames(vocabulary: &Vocabulary, record: &Record) -> Vec<PlanError> {
    let things = (0_u32..).take(record.things.len()).map(ThingRef);
    let own = things.filter_map(|thing| {
        let slots = line_slots(vocabulary, record.thing(thing).kind)?;
        let line = record.list(thing, slots.list);
        line.span.filter(|_| !line.items.is_empty())
    });
    own.map(|at| PlanError::TwoFrames { at }).collect()
}

/// A thing of the record, and what the plan says of it.
type Drawn<'f> = (ThingRef, LineSlots, &'f Feature);

fn drawn<'f>(
    vocabulary: &Vocabulary,
    record: &Record,
    features: &'f [Feature],
    mistakes: &mut Vec<PlanError>,
) -> Vec<Drawn<'f>> {
    let ids: BTreeMap<&str, ThingRef> = (0_u32..)
        .zip(&record.things)
        .filter_map(|(index, thing)| Some((record.text(thing.id?), ThingRef(index))))
        .collect();
    let mut seen: BTreeMap<&str, Span> = BTreeMap::new();
    let mut found = Vec::new();
    for feature in features {
        let id = feature.id.value.as_str();
        let at = feature.id.span;
        if let Some(first) = seen.insert(id, at) {
            mistakes.push(PlanError::DuplicateId {
                id: id.into(),
                first,
                again: at,
            });
            continue;
        }
        let Some(thing) = ids.get(id) else {
            mistakes.push(PlanError::UnknownId {
                mend: names::suggest(id, ids.keys().copied()),
                id: id.into(),
                at,
            });
            continue;
        };
        let kind = record.thing(*thing).kind;
        match line_slots(vocabulary, kind) {
            Some(slots) => found.push((*thing, slots, feature)),
            None => mistakes.push(PlanError::NoLine {
                id: id.into(),
                thing: vocabulary.thing(kind).name.clone(),
                at,
            }),
        }
    }
    found
}

fn projected(
    drawn: &[Drawn<'_>],
    mistakes: &mut Vec<PlanError>,
) -> Vec<(ThingRef, LineSlots, Vec<Projected>)> {
    let places = drawn.iter().flat_map(|(_, _, feature)| &feature.places);
    let projection = match Projection::about(places) {
        Ok(Some(projection)) => projection,
        Ok(None) => return Vec::new(),
        Err(mistake) => {
            mistakes.push(mistake);
            return Vec::new();
        }
    };
    let mut lines = Vec::new();
    for (thing, slots, feature) in drawn {
        let mut line = Vec::new();
        for place in &feature.places {
            match projection.project(place) {
                Ok(projected) => line.push(projected),
                Err(mistake) => mistakes.push(mistake),
            }
        }
        lines.push((*thing, *slots, line));
    }
    lines
}

/// Writes a line as if the record had given it, read where the record names the plan.
fn fill(
    vocabulary: &Vocabulary,
    record: &mut Record,
    thing: ThingRef,
    slots: LineSlots,
    places: &[Projected],
    tolerance: Rational,
    at: Span,
) {
    let declared = vocabulary.thing(slots.vertex);
    let mut items = Vec::new();
    for (index, place) in (0_u32..).zip(places) {
        let narrow = |length: usize| u32::try_from(length).expect("a plan's values are few");
        items.push(ThingRef(narrow(record.things.len())));
        let first_slot = record.slots.add_absent(declared.facts.len());
        record.things.push(Thing {
            kind: slots.vertex,
            parent: thing,
            list: slots.list,
            index,
            id: None,
            first_slot: narrow(first_slot),
            first_list: narrow(record.lists.len()),
            span: at,
        });
        record.lists.extend(declared.lists.iter().map(|_| List {
            open: true,
            ..List::default()
        }));
        for (fact, value) in [
            (slots.northing, place.northing),
            (slots.easting, place.easting),
        ] {
            let slot = coordinate(value, tolerance, at);
            record.slots.set(first_slot + usize::from(fact.0), slot);
        }
    }
    let list = record.thing(thing).first_list as usize + usize::from(slots.list.0);
    record.lists[list] = List {
        items,
        open: false,
        written: true,
        gaps: Vec::new(),
        span: Some(at),
    };
}

fn coordinate(value: Rational, tolerance: Rational, at: Span) -> Slot {
    let as_read = Value::Quantity(Interval::point(value));
    Slot {
        state: State::Read,
        banded: Value::Quantity(Interval::band(value, tolerance)),
        as_read,
        readings: smallvec![Reading {
            span: at,
            value: as_read,
            tolerance: Some(tolerance),
            unit: Unit::parse("m").ok(),
            provenance: None,
        }],
    }
}
