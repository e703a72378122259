//! The predicates in plain Rust over a plain struct: the limit of what is to be had.

use crate::answer::{Answer, Answers};
use crate::base::{
    Bedding, Cable, CurbStop, Excavation, Lateral, Location, Medium, Opening, PressureTest,
    Protection, Record, Sewer, Shot, Splice, Station, Stretch, Wiring,
};

const INCH: i64 = 25_400;
const FOOT: i64 = 12 * INCH;
/// The place of 12 AWG among the sizes of conductors.
const GAUGE_12: i64 = 3;
/// The place of 4 in among the sizes of pipes.
const PIPE_4: i64 = 6;
/// 6 ft³ in cubic micrometres.
const ROOM: i64 = 6 * FOOT * FOOT * FOOT;
/// 3 % of a volt by volts, in milliamperes times micrometres, at 0.004 V lost by ampere and foot.
const VOLTAGE: i64 = 3 * FOOT * 1000 * 1000 / 400;

/// What all predicates say of a record.
pub fn answers(record: &Record) -> Answers {
    let cables = record.supply_cables.as_deref();
    let sewers = record.building_sewers.as_deref();
    let laterals = record.laterals.as_deref();
    let stations = record.stations.as_deref();
    let vents = record.vents.as_deref();
    let holes = record.excavations.as_deref();
    let bedrooms = record.site.bedrooms;
    [
        each(cables, |cable| each(cable.spans.as_deref(), cover)),
        each(cables, |cable| shall(bedding(cable))),
        each(cables, |cable| shall(slack(cable))),
        each(cables, |cable| shall(splice(cable))),
        each(cables, |cable| {
            shall(at_least(cable.conductor_size, GAUGE_12))
        }),
        each(sewers, |sewer| shall(at_least(sewer.nominal_size, PIPE_4))),
        each(sewers, sewer_test),
        each(sewers, |sewer| shall(not(sewer.test_leaked))),
        each(laterals, |lateral| shall(tracer(lateral))),
        each(laterals, |lateral| shall(curb_stop(lateral))),
        each(stations, |station| shall(lid_height(station))),
        each(stations, |station| shall(station.lid_fastened)),
        each(vents, |vent| {
            each(vent.openings.as_deref(), |opening| shall(apart(opening)))
        }),
        each(holes, |hole| shall(at_least(hole.spoil_setback, 2 * FOOT))),
        each(holes, ladder),
        shall(at_most(record.site.largest_stone, 3 * INCH)),
        each(sewers, |sewer| {
            each(sewer.shots.as_deref(), |shot| shall(sewer_depth(shot)))
        }),
        each(holes, sloped_sides),
        each(holes, |hole| shall(footing(hole))),
        each(stations, |station| shall(rim(station))),
        each(stations, |station| shall(room(station, bedrooms))),
        each(cables, |cable| shall(voltage(cable))),
        each(laterals, |lateral| {
            each(lateral.pressure_tests.as_deref(), pressure_test)
        }),
        each(stations, |station| shall(working_pressure(station))),
    ]
}

/// The gravest answer of a list; a list that isn't there may hold anything.
fn each<T>(things: Option<&[T]>, answer: impl Fn(&T) -> Answer) -> Answer {
    let Some(things) = things else {
        return Answer::Undecided;
    };
    things.iter().map(answer).fold(Answer::Met, Answer::and)
}

fn shall(truth: Option<bool>) -> Answer {
    match truth {
        Some(true) => Answer::Met,
        None => Answer::Undecided,
        Some(false) => Answer::Short,
    }
}

fn when(applies: Option<bool>, demand: impl FnOnce() -> Option<bool>) -> Answer {
    match applies {
        Some(false) => Answer::Met,
        None => Answer::Undecided,
        Some(true) => shall(demand()),
    }
}

fn not(truth: Option<bool>) -> Option<bool> {
    truth.map(|truth| !truth)
}

fn and(left: Option<bool>, right: Option<bool>) -> Option<bool> {
    match (left, right) {
        (Some(false), _) | (_, Some(false)) => Some(false),
        (Some(true), Some(true)) => Some(true),
        (None, _) | (_, None) => None,
    }
}

fn or(left: Option<bool>, right: Option<bool>) -> Option<bool> {
    not(and(not(left), not(right)))
}

fn at_least(value: Option<i64>, limit: i64) -> Option<bool> {
    value.map(|value| value >= limit)
}

fn at_most(value: Option<i64>, limit: i64) -> Option<bool> {
    value.map(|value| value <= limit)
}

fn cover(span: &Stretch) -> Answer {
    let applies = span
        .location
        .map(|location| location != Location::RisingToTermination);
    when(applies, || match span.wiring {
        Some(Wiring::DirectBurial) => at_least(span.cover, 24 * INCH),
        Some(Wiring::Pvc40 | Wiring::Pvc80) => at_least(span.cover, 18 * INCH),
        None => match span.cover {
            Some(cover) if cover >= 24 * INCH => Some(true),
            Some(cover) if cover < 18 * INCH => Some(false),
            Some(_) | None => None,
        },
    })
}

fn bedding(cable: &Cable) -> Option<bool> {
    let bedding = cable.bedding?;
    Some(matches!(
        bedding,
        Bedding::Sand | Bedding::Screened | Bedding::NativeFine
    ))
}

fn slack(cable: &Cable) -> Option<bool> {
    and(cable.slack_at_basin, cable.slack_at_panel)
}

fn splice(cable: &Cable) -> Option<bool> {
    let buried = cable
        .splice
        .map(|splice| splice == Splice::ListedDirectBurialKit);
    or(not(cable.spliced), buried)
}

fn sewer_test(sewer: &Sewer) -> Answer {
    when(
        sewer.test_medium.map(|medium| medium == Medium::Water),
        || {
            and(
                at_least(sewer.test_head, 10 * FOOT),
                at_least(sewer.test_time, 15 * 60),
            )
        },
    )
}

fn tracer(lateral: &Lateral) -> Option<bool> {
    and(
        at_most(lateral.tracer_offset, 6 * INCH),
        at_least(lateral.tracer_size, GAUGE_12),
    )
}

fn curb_stop(lateral: &Lateral) -> Option<bool> {
    let stop = lateral.curb_stop?;
    Some(matches!(stop, CurbStop::InRightOfWay | CurbStop::OnLine))
}

fn lid_height(station: &Station) -> Option<bool> {
    let above = station.lid_above_grade;
    and(at_least(above, 2 * INCH), at_most(above, 6 * INCH))
}

fn apart(opening: &Opening) -> Option<bool> {
    or(
        at_least(opening.horizontal, 10 * FOOT),
        at_least(opening.above, 2 * FOOT),
    )
}

fn ladder(hole: &Excavation) -> Answer {
    when(at_least(hole.depth, 4 * FOOT), || {
        and(
            at_most(hole.travel_to_ladder, 25 * FOOT),
            at_least(hole.ladder_above_landing, 3 * FOOT),
        )
    })
}

fn sewer_depth(shot: &Shot) -> Option<bool> {
    Some(shot.ground? - shot.invert? >= 38 * INCH)
}

fn sloped_sides(hole: &Excavation) -> Answer {
    let sloped = hole
        .protection
        .map(|protection| protection == Protection::Sloped);
    when(sloped, || Some(2 * hole.slope_setback? >= 3 * hole.depth?))
}

fn footing(hole: &Excavation) -> Option<bool> {
    Some(hole.footing_offset? >= hole.depth? - hole.footing_depth?)
}

fn rim(station: &Station) -> Option<bool> {
    Some(station.basin_rim? - station.finished_grade? >= 3 * INCH)
}

fn room(station: &Station, bedrooms: Option<i64>) -> Option<bool> {
    let diameter = station.basin_inside_diameter?;
    Some(diameter * diameter * station.basin_height? >= bedrooms? * ROOM)
}

fn voltage(cable: &Cable) -> Option<bool> {
    Some(cable.load_current? * cable.circuit_length? <= cable.circuit_voltage? * VOLTAGE)
}

fn pressure_test(test: &PressureTest) -> Answer {
    when(test.medium.map(|medium| medium == Medium::Water), || {
        let start = test.pressure_start?;
        Some(20 * (start - test.pressure_end?) <= start)
    })
}

fn working_pressure(station: &Station) -> Option<bool> {
    Some(5 * station.main_pressure_peak? <= 4 * station.working_pressure?)
}
