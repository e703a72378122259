//! The members of the vocabulary that geometry reads, found by name once.
//!
//! These names are all that this program knows of the trade.

use crate::quantity::{Dimension, Rational};
use crate::vocabulary::{FactId, Form, ListId, PointKind, SITE, Thing, ThingId, Type, Vocabulary};

const LENGTH: Type = Type::Quantity(Dimension::LENGTH);
const ELEVATION: Type = Type::Point(PointKind::Elevation);

/// What geometry reads of each thing, and of the site.
#[derive(Debug, Clone)]
pub(super) struct Slots {
    pub things: Vec<ThingSlots>,
    pub clearances: Option<ClearanceSlots>,
    pub crossings: Option<CrossingSlots>,
}

/// What geometry reads of one thing.
#[derive(Debug, Clone, Default)]
pub(super) struct ThingSlots {
    pub name: String,
    pub is_run: bool,
    pub gap: Option<Rational>,
    pub shots: Option<ShotSlots>,
    pub ground_shots: Option<ShotSlots>,
    pub fall_readings: Option<FallSlots>,
    pub spans: Option<SpanSlots>,
    /// The least cover, taped.
    pub cover: Option<FactId>,
    pub outside_diameter: Option<FactId>,
    pub wall: Option<FactId>,
    pub bends: Option<BendSlots>,
    pub pull_points: Option<ListId>,
    pub line: Option<LineSlots>,
    pub curve: Option<CurveSlots>,
}

/// A list of levelled points.
#[derive(Debug, Clone, Copy)]
pub(super) struct ShotSlots {
    pub list: ListId,
    pub invert: Option<FactId>,
    pub crown: Option<FactId>,
    pub ground: Option<FactId>,
}

/// A list of stretches, each with its taped cover.
#[derive(Debug, Clone, Copy)]
pub(super) struct SpanSlots {
    pub list: ListId,
    pub cover: FactId,
}

/// A list of stretches, each with its fall as read.
#[derive(Debug, Clone, Copy)]
pub(super) struct FallSlots {
    pub list: ListId,
    pub fall: FactId,
}

/// A list of bends.
#[derive(Debug, Clone, Copy)]
pub(super) struct BendSlots {
    pub list: ListId,
    pub angle: FactId,
}

/// A list of points in plan.
#[derive(Debug, Clone, Copy)]
pub(super) struct LineSlots {
    pub list: ListId,
    pub northing: FactId,
    pub easting: FactId,
}

/// A pump's curve.
#[derive(Debug, Clone, Copy)]
pub(super) struct CurveSlots {
    pub list: ListId,
    pub flow: FactId,
    pub head: FactId,
}

/// The taped distances between things.
#[derive(Debug, Clone, Copy)]
pub(super) struct ClearanceSlots {
    pub list: ListId,
    pub from: FactId,
    pub to: FactId,
    pub horizontal: FactId,
    pub vertical: Option<FactId>,
}

/// The recorded crossings of runs.
#[derive(Debug, Clone, Copy)]
pub(super) struct CrossingSlots {
    pub list: ListId,
    pub upper: FactId,
    pub lower: FactId,
    pub vertical: FactId,
}

impl Slots {
    /// Looks up what there is.
    pub fn of(vocabulary: &Vocabulary) -> Slots {
        let things = vocabulary.things.iter();
        Slots {
            things: things.map(|thing| thing_slots(vocabulary, thing)).collect(),
            clearances: clearance_slots(vocabulary),
            crossings: crossing_slots(vocabulary),
        }
    }

    /// What there is of one thing.
    pub fn thing(&self, thing: ThingId) -> &ThingSlots {
        &self.things[usize::from(thing.0)]
    }
}

fn thing_slots(vocabulary: &Vocabulary, thing: &Thing) -> ThingSlots {
    let diameter = || fact(thing, "outside_diameter", LENGTH);
    ThingSlots {
        name: thing.name.clone(),
        is_run: matches!(thing.form, Form::Run { .. }),
        gap: match &thing.form {
            Form::Run { gap } => *gap,
            Form::Plain | Form::Stretch | Form::Point => None,
        },
        shots: shot_slots(vocabulary, thing, "shots"),
        ground_shots: shot_slots(vocabulary, thing, "ground_shots"),
        fall_readings: list(vocabulary, thing, "fall_readings").and_then(|(list, stretch)| {
            let fall = fact(stretch, "fall", Type::Slope)?;
            (stretch.form == Form::Stretch).then_some(FallSlots { list, fall })
        }),
        spans: list(vocabulary, thing, "spans").and_then(|(list, span)| {
            let cover = fact(span, "cover", LENGTH)?;
            (span.form == Form::Stretch).then_some(SpanSlots { list, cover })
        }),
        cover: fact(thing, "cover", LENGTH),
        outside_diameter: diameter().or_else(|| fact(thing, "basin_outside_diameter", LENGTH)),
        wall: fact(thing, "wall", LENGTH),
        bends: points(vocabulary, thing, "bends").and_then(|(list, bend)| {
            let angle = fact(bend, "angle", Type::Quantity(Dimension::ANGLE))?;
            Some(BendSlots { list, angle })
        }),
        pull_points: points(vocabulary, thing, "pull_points").map(|(list, _)| list),
        line: list(vocabulary, thing, "line").and_then(|(list, vertex)| {
            Some(LineSlots {
                list,
                northing: fact(vertex, "northing", LENGTH)?,
                easting: fact(vertex, "easting", LENGTH)?,
            })
        }),
        curve: list(vocabulary, thing, "pump_curve").and_then(|(list, point)| {
            Some(CurveSlots {
                list,
                flow: fact(point, "flow", Type::Quantity(Dimension::FLOW))?,
                head: fact(point, "head", LENGTH)?,
            })
        }),
    }
}

fn shot_slots(vocabulary: &Vocabulary, thing: &Thing, name: &str) -> Option<ShotSlots> {
    let (list, shot) = points(vocabulary, thing, name)?;
    Some(ShotSlots {
        list,
        invert: fact(shot, "invert", ELEVATION),
        crown: fact(shot, "crown", ELEVATION),
        ground: fact(shot, "ground", ELEVATION),
    })
}

fn clearance_slots(vocabulary: &Vocabulary) -> Option<ClearanceSlots> {
    let (list, clearance) = list(vocabulary, vocabulary.thing(SITE), "clearances")?;
    Some(ClearanceSlots {
        list,
        from: fact(clearance, "from", Type::Reference)?,
        to: fact(clearance, "to", Type::Reference)?,
        horizontal: fact(clearance, "horizontal", LENGTH)?,
        vertical: fact(clearance, "vertical", LENGTH),
    })
}

fn crossing_slots(vocabulary: &Vocabulary) -> Option<CrossingSlots> {
    let (list, crossing) = list(vocabulary, vocabulary.thing(SITE), "crossings")?;
    Some(CrossingSlots {
        list,
        upper: fact(crossing, "upper", Type::Reference)?,
        lower: fact(crossing, "lower", Type::Reference)?,
        vertical: fact(crossing, "vertical", LENGTH)?,
    })
}

fn list<'a>(vocabulary: &'a Vocabulary, thing: &Thing, name: &str) -> Option<(ListId, &'a Thing)> {
    let list = thing.list_named(name)?;
    Some((list, vocabulary.thing(thing.list(list).of)))
}

fn points<'a>(
    vocabulary: &'a Vocabulary,
    thing: &Thing,
    name: &str,
) -> Option<(ListId, &'a Thing)> {
    list(vocabulary, thing, name).filter(|(_, point)| point.form == Form::Point)
}

fn fact(thing: &Thing, name: &str, kind: Type) -> Option<FactId> {
    let slot = thing.fact_named(name)?;
    (thing.fact(slot).kind == kind).then_some(slot)
}
