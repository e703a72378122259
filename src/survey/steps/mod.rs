//! Lines of working, as a person would write them.

mod apart;
mod run;

pub(super) use apart::{clearance, crossing};
pub(super) use run::{bends, plan_length, pump_head, sag, slope_length};

use super::cover::Levelled;
use super::fall::{inverts, stretches};
use super::profile::Node;
use super::slots::ThingSlots;
use super::value::{Both, fact};
use super::{Mode, Step};
use crate::quantity::{Interval, Rational, Unit, print};
use crate::record::facts::{Record, ThingRef};
use crate::source::Span;
use crate::vocabulary::{FactId, POINT_AT, STRETCH_FROM, STRETCH_TO};

/// The fall of each stretch: `0 ft to 19 ft: (809.1 ft − 808.68 ft) / 19 ft = 0.265263 in/ft`.
pub(super) fn fall(record: &Record, slots: &ThingSlots, run: ThingRef, mode: Mode) -> Vec<Step> {
    let track = inverts(record, slots, run);
    let all = stretches(&track);
    let shot = all.map(|stretch| {
        let (from, to) = (stretch.from, stretch.to);
        let along = unit_of(record, from.shot, POINT_AT);
        let width = Interval::point(to.at).subtract(Interval::point(from.at));
        let slope_unit = if is_metric(&along) { "%" } else { "in/ft" };
        line(format!(
            "{} to {}: ({} − {}) / {} = {}",
            print::show(from.at, &along),
            print::show(to.at, &along),
            height(record, &from, mode),
            height(record, &to, mode),
            print::show_interval(width, &along),
            print::show_interval(of(stretch.slope, mode), &unit(slope_unit)),
        ))
    });
    let read = slots.fall_readings.into_iter().flat_map(|read| {
        let stretches = record.list(run, read.list).items.iter();
        stretches.filter_map(move |stretch| read_fall(record, *stretch, read.fall, mode))
    });
    shot.chain(read).collect()
}

/// `0 ft to 20 ft: read as a fall of 2 %`
fn read_fall(record: &Record, stretch: ThingRef, fall: FactId, mode: Mode) -> Option<Step> {
    let value = of(fact(record, stretch, fall).ok()?, mode);
    let value = print::show_interval(value, &unit_of(record, stretch, fall));
    let end = |slot: FactId| {
        let at = fact(record, stretch, slot).ok()?.banded;
        Some(print::show_interval(at, &unit_of(record, stretch, slot)))
    };
    let (from, to) = (end(STRETCH_FROM)?, end(STRETCH_TO)?);
    Some(line(format!("{from} to {to}: read as a fall of {value}")))
}

/// The cover of each taped stretch and at each shot:
/// `at 55 ft: ground 96.4 ft − top 93.4883 ft = 2.91167 ft`.
pub(super) fn cover(record: &Record, slots: &ThingSlots, run: ThingRef, mode: Mode) -> Vec<Step> {
    let mut steps = Vec::new();
    if let Some(spans) = slots.spans {
        for stretch in &record.list(run, spans.list).items {
            steps.extend(taped(record, *stretch, spans.cover, mode));
        }
    }
    if let Some(levelled) = Levelled::of(record, slots, run) {
        for place in levelled.places() {
            steps.extend(levelled_at(record, &levelled, place, mode));
        }
    }
    if let Some(cover) = slots.cover
        && let Ok(value) = fact(record, run, cover)
    {
        let unit = unit_of(record, run, cover);
        let value = print::show_interval(of(value, mode), &unit);
        steps.push(line(format!("least of the run, taped: {value}")));
    }
    steps
}

fn taped(record: &Record, stretch: ThingRef, cover: FactId, mode: Mode) -> Option<Step> {
    let value = of(fact(record, stretch, cover).ok()?, mode);
    let value = print::show_interval(value, &unit_of(record, stretch, cover));
    let end = |slot: FactId| match fact(record, stretch, slot) {
        Ok(at) => print::show_interval(at.banded, &unit_of(record, stretch, slot)),
        Err(_) => "an unrecorded place".into(),
    };
    let (from, to) = (end(STRETCH_FROM), end(STRETCH_TO));
    Some(line(format!("{from} to {to}: taped {value}")))
}

fn levelled_at(record: &Record, levelled: &Levelled, place: Rational, mode: Mode) -> Option<Step> {
    let (ground, crown) = levelled.heights_at(place)?;
    let node = *levelled.nodes_at(place).first()?;
    let along = unit_of(record, node.shot, POINT_AT);
    let unit = unit_of(record, node.shot, node.fact);
    Some(line(format!(
        "at {}: ground {} − top {} = {}",
        print::show(place, &along),
        print::show_interval(of(ground, mode), &unit),
        print::show_interval(of(crown, mode), &unit),
        print::show_interval(of(ground.subtract(crown), mode), &unit),
    )))
}

fn height(record: &Record, node: &Node, mode: Mode) -> String {
    print::show_interval(
        of(node.height, mode),
        &unit_of(record, node.shot, node.fact),
    )
}

fn of(value: Both, mode: Mode) -> Interval {
    match mode {
        Mode::Banded => value.banded,
        Mode::AsRead => value.as_read,
    }
}

/// The unit a fact was written in; the foot where that is not known.
fn unit_of(record: &Record, thing: ThingRef, fact: FactId) -> Unit {
    let reading = record.slot(thing, fact).readings.first();
    let written = reading.and_then(|reading| reading.unit.clone());
    written.unwrap_or_else(|| unit("ft"))
}

/// The unit in which one of these readings was written; of a fall, such a one of slopes.
pub(super) fn unit_at(record: &Record, readings: &[Span], is_slope: bool) -> Unit {
    let read = || record.slots.recorded().flat_map(|slot| &slot.readings);
    let units: Vec<_> = readings
        .iter()
        .filter_map(|span| read().find(|reading| reading.span == *span)?.unit.clone())
        .collect();
    let is_of_slopes = |unit: &&Unit| unit.dimension.is_number();
    let found = units.iter().find(|unit| is_of_slopes(unit) == is_slope);
    let is_metric = units.iter().any(is_metric);
    match found {
        Some(unit) => unit.clone(),
        None if is_slope && is_metric => unit("%"),
        None if is_slope => unit("in/ft"),
        None => unit("ft"),
    }
}

/// A value in a unit; one number where its ends differ only by how roots are enclosed.
fn shown(value: Interval, unit: &Unit) -> String {
    let ends = value.lower().zip(value.upper());
    let ends = ends.map(|(lower, upper)| (print::show(lower, unit), print::show(upper, unit)));
    match ends {
        Some((lower, upper)) if lower == upper => lower,
        Some(_) | None => print::show_interval(value, unit),
    }
}

/// What a thing is called.
fn named(record: &Record, thing: ThingRef) -> String {
    let id = record.thing(thing).id;
    id.map_or_else(|| "the other".into(), |id| record.text(id).to_owned())
}

fn unit(name: &str) -> Unit {
    Unit::parse(name).expect("the units named here are known")
}

fn is_metric(unit: &Unit) -> bool {
    matches!(&*unit.name, "m" | "cm" | "mm" | "km")
}

fn line(text: String) -> Step {
    Step { text }
}
