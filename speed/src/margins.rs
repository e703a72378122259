//! The predicates in plain Rust with what Groundrule keeps of them: for each thing a verdict and the
//! margin of its comparison. The limit of what is to be had for the same work.

use crate::answer::{Answer, Answers, PREDICATES};
use crate::base::{
    Bedding, Cable, CurbStop, Excavation, Lateral, Location, Medium, Opening, PressureTest,
    Protection, Record, Sewer, Shot, Splice, Station, Stretch, Wiring,
};
use crate::native::{FOOT, GAUGE_12, INCH, PIPE_4, ROOM, VOLTAGE};

/// What a predicate says of a thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Said {
    /// The predicate, by its place.
    pub predicate: u8,
    /// What it says.
    pub answer: Answer,
    /// By how much the comparison is met, below 0 where it is not, in the units in which it is
    /// worked out; none where nothing is compared, or a fact is missing.
    pub margin: Option<i64>,
}

/// What all predicates say of all things of a record, in the place of what stands there.
pub fn judge(record: &Record, said: &mut Vec<Said>) {
    said.clear();
    let mut to = To { said, predicate: 0 };
    let cables = record.supply_cables.as_deref();
    let sewers = record.building_sewers.as_deref();
    let laterals = record.laterals.as_deref();
    let stations = record.stations.as_deref();
    let vents = record.vents.as_deref();
    let holes = record.excavations.as_deref();
    to.within(cables, |cable| cable.spans.as_deref(), cover);
    to.each(cables, bedding);
    to.each(cables, slack);
    to.each(cables, splice);
    to.each(cables, |cable| {
        shall(at_least(cable.conductor_size, GAUGE_12))
    });
    to.each(sewers, |sewer| shall(at_least(sewer.nominal_size, PIPE_4)));
    to.each(sewers, sewer_test);
    to.each(sewers, |sewer| shall(fact(sewer.test_leaked).not()));
    to.each(laterals, tracer);
    to.each(laterals, curb_stop);
    to.each(stations, lid_height);
    to.each(stations, |station| shall(fact(station.lid_fastened)));
    to.within(vents, |vent| vent.openings.as_deref(), apart);
    to.each(holes, |hole| shall(at_least(hole.spoil_setback, 2 * FOOT)));
    to.each(holes, ladder);
    to.tell(shall(at_most(record.site.largest_stone, 3 * INCH)));
    to.predicate += 1;
    to.within(sewers, |sewer| sewer.shots.as_deref(), sewer_depth);
    to.each(holes, sloped_sides);
    to.each(holes, |hole| shall(difference(footing(hole))));
    to.each(stations, |station| shall(difference(rim(station))));
    let bedrooms = record.site.bedrooms;
    to.each(stations, |station| {
        shall(difference(room(station, bedrooms)))
    });
    to.each(cables, |cable| shall(difference(voltage(cable))));
    to.within(
        laterals,
        |lateral| lateral.pressure_tests.as_deref(),
        pressure_test,
    );
    to.each(stations, |station| {
        shall(difference(working_pressure(station)))
    });
}

/// The gravest answers by predicate.
pub fn answers(said: &[Said]) -> Answers {
    let mut answers = [Answer::Met; PREDICATES.len()];
    for one in said {
        let answer = &mut answers[usize::from(one.predicate)];
        *answer = answer.and(one.answer);
    }
    answers
}

/// Where what is said goes.
struct To<'s> {
    said: &'s mut Vec<Said>,
    predicate: u8,
}

impl To<'_> {
    fn tell(&mut self, (answer, margin): Outcome) {
        self.said.push(Said {
            predicate: self.predicate,
            answer,
            margin,
        });
    }

    /// Of each thing; a list that isn't there may hold anything.
    fn each<T>(&mut self, things: Option<&[T]>, judge: impl Fn(&T) -> Outcome) {
        self.all(things, judge);
        self.predicate += 1;
    }

    fn within<T, U>(
        &mut self,
        things: Option<&[T]>,
        inner: impl Fn(&T) -> Option<&[U]>,
        judge: impl Fn(&U) -> Outcome,
    ) {
        match things {
            Some(things) => things
                .iter()
                .for_each(|thing| self.all(inner(thing), &judge)),
            None => self.tell((Answer::Undecided, None)),
        }
        self.predicate += 1;
    }

    fn all<T>(&mut self, things: Option<&[T]>, judge: impl Fn(&T) -> Outcome) {
        match things {
            Some(things) => things.iter().for_each(|thing| self.tell(judge(thing))),
            None => self.tell((Answer::Undecided, None)),
        }
    }
}

type Outcome = (Answer, Option<i64>);

/// Whether something holds, and by how much.
#[derive(Clone, Copy)]
struct Held {
    truth: Option<bool>,
    margin: Option<i64>,
}

impl Held {
    fn not(self) -> Held {
        Held {
            truth: self.truth.map(|truth| !truth),
            margin: self.margin.map(|margin| -margin),
        }
    }

    /// Tells the first margin of the result's truth.
    fn and(self, other: Held) -> Held {
        let truth = match (self.truth, other.truth) {
            (Some(false), _) | (_, Some(false)) => Some(false),
            (Some(true), Some(true)) => Some(true),
            (None, _) | (_, None) => None,
        };
        let own = self.margin.filter(|_| self.truth == truth);
        let others = other.margin.filter(|_| other.truth == truth);
        Held {
            truth,
            margin: own.or(others),
        }
    }

    fn or(self, other: Held) -> Held {
        self.not().and(other.not()).not()
    }
}

fn shall(held: Held) -> Outcome {
    let answer = match held.truth {
        Some(true) => Answer::Met,
        None => Answer::Undecided,
        Some(false) => Answer::Short,
    };
    (answer, held.margin)
}

fn when(applies: Held, demand: impl FnOnce() -> Held) -> Outcome {
    match applies.truth {
        Some(false) => (Answer::Met, applies.margin),
        None => (Answer::Undecided, demand().margin),
        Some(true) => shall(demand()),
    }
}

fn fact(truth: Option<bool>) -> Held {
    Held {
        truth,
        margin: None,
    }
}

/// What is to be 0 at the least.
fn difference(margin: Option<i64>) -> Held {
    Held {
        truth: margin.map(|margin| margin >= 0),
        margin,
    }
}

fn at_least(value: Option<i64>, limit: i64) -> Held {
    difference(value.map(|value| value - limit))
}

fn at_most(value: Option<i64>, limit: i64) -> Held {
    difference(value.map(|value| limit - value))
}

fn cover(span: &Stretch) -> Outcome {
    let applies = span
        .location
        .map(|location| location != Location::RisingToTermination);
    when(fact(applies), || match span.wiring {
        Some(Wiring::DirectBurial) => at_least(span.cover, 24 * INCH),
        Some(Wiring::Pvc40 | Wiring::Pvc80) => at_least(span.cover, 18 * INCH),
        None => {
            let (deep, shallow) = (
                at_least(span.cover, 24 * INCH),
                at_least(span.cover, 18 * INCH),
            );
            let truth = deep.truth.filter(|_| deep.truth == shallow.truth);
            Held { truth, ..deep }
        }
    })
}

fn bedding(cable: &Cable) -> Outcome {
    shall(fact(cable.bedding.map(|bedding| {
        matches!(
            bedding,
            Bedding::Sand | Bedding::Screened | Bedding::NativeFine
        )
    })))
}

fn slack(cable: &Cable) -> Outcome {
    shall(fact(cable.slack_at_basin).and(fact(cable.slack_at_panel)))
}

fn splice(cable: &Cable) -> Outcome {
    let buried = cable
        .splice
        .map(|splice| splice == Splice::ListedDirectBurialKit);
    shall(fact(cable.spliced).not().or(fact(buried)))
}

fn sewer_test(sewer: &Sewer) -> Outcome {
    let water = sewer.test_medium.map(|medium| medium == Medium::Water);
    when(fact(water), || {
        at_least(sewer.test_head, 10 * FOOT).and(at_least(sewer.test_time, 15 * 60))
    })
}

fn tracer(lateral: &Lateral) -> Outcome {
    let near = at_most(lateral.tracer_offset, 6 * INCH);
    shall(near.and(at_least(lateral.tracer_size, GAUGE_12)))
}

fn curb_stop(lateral: &Lateral) -> Outcome {
    let outside = lateral
        .curb_stop
        .map(|stop| matches!(stop, CurbStop::InRightOfWay | CurbStop::OnLine));
    shall(fact(outside))
}

fn lid_height(station: &Station) -> Outcome {
    let above = station.lid_above_grade;
    shall(at_least(above, 2 * INCH).and(at_most(above, 6 * INCH)))
}

fn apart(opening: &Opening) -> Outcome {
    shall(at_least(opening.horizontal, 10 * FOOT).or(at_least(opening.above, 2 * FOOT)))
}

fn ladder(hole: &Excavation) -> Outcome {
    when(at_least(hole.depth, 4 * FOOT), || {
        at_most(hole.travel_to_ladder, 25 * FOOT).and(at_least(hole.ladder_above_landing, 3 * FOOT))
    })
}

fn sewer_depth(shot: &Shot) -> Outcome {
    let depth = shot.ground.zip(shot.invert);
    shall(at_least(
        depth.map(|(ground, invert)| ground - invert),
        38 * INCH,
    ))
}

fn sloped_sides(hole: &Excavation) -> Outcome {
    let sloped = hole
        .protection
        .map(|protection| protection == Protection::Sloped);
    when(fact(sloped), || {
        let sides = hole.slope_setback.zip(hole.depth);
        difference(sides.map(|(setback, depth)| 2 * setback - 3 * depth))
    })
}

fn footing(hole: &Excavation) -> Option<i64> {
    Some(hole.footing_offset? - (hole.depth? - hole.footing_depth?))
}

fn rim(station: &Station) -> Option<i64> {
    Some(station.basin_rim? - station.finished_grade? - 3 * INCH)
}

fn room(station: &Station, bedrooms: Option<i64>) -> Option<i64> {
    let diameter = station.basin_inside_diameter?;
    Some(diameter * diameter * station.basin_height? - bedrooms? * ROOM)
}

fn voltage(cable: &Cable) -> Option<i64> {
    Some(cable.circuit_voltage? * VOLTAGE - cable.load_current? * cable.circuit_length?)
}

fn pressure_test(test: &PressureTest) -> Outcome {
    let water = test.medium.map(|medium| medium == Medium::Water);
    when(fact(water), || {
        let pressures = test.pressure_start.zip(test.pressure_end);
        difference(pressures.map(|(start, end)| start - 20 * (start - end)))
    })
}

fn working_pressure(station: &Station) -> Option<i64> {
    Some(4 * station.working_pressure? - 5 * station.main_pressure_peak?)
}
