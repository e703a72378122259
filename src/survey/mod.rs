//! Geometry over facts: cover, fall, clearance, bends, a pump's curve.
//!
//! All of it is exact on exact readings. What was not measured stays unknown and is named: a
//! profile is never bridged over a missing shot, and a distance that nobody took is none.

mod along;
mod bend;
mod cause;
mod clearance;
mod contradiction;
mod cover;
mod coverage;
mod crossing;
mod error;
mod fall;
mod length;
mod plan;
mod profile;
mod pump;
mod reads;
mod sag;
mod slots;
mod space;
mod steps;
mod value;

pub use cause::Cause;
pub use contradiction::Contradiction;
pub(crate) use coverage::Covering;
pub use coverage::complete;
pub use error::SurveyError;
pub use reads::Member;

use crate::quantity::{Dimension, Interval};
use crate::record::facts::{Record, ThingRef, Value};
use crate::source::{Located, Span};
use crate::truth::Truth;
use crate::vocabulary::{self, ParameterType, PointKind, ThingId, Type, Vocabulary};

use cover::Cover;
use fall::Fall;
use slots::{Slots, ThingSlots};
use value::{Both, Computed};

/// Whether tolerances count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Mode {
    /// Every value that the tolerances allow.
    Banded,
    /// Each reading as it reads.
    AsRead,
}

/// What a survey function is asked of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Argument {
    /// A thing of the record.
    Thing(ThingRef),
    /// A quantity or a point, canonical.
    Quantity(Interval),
}

/// What a survey function says.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// A quantity, whole where nothing is known; a truth, `Nothing` where it is not decided.
    pub value: Value,
    /// What widens the value or leaves it undecided; none where nothing is missing.
    pub causes: Vec<Cause>,
    /// The readings that decide.
    pub readings: Vec<Span>,
    /// The chainage of the place that decides, in metres.
    pub at: Option<Interval>,
    /// The run along which that chainage counts.
    pub at_of: Option<ThingRef>,
    /// How it was worked out; empty unless asked for.
    pub steps: Vec<Step>,
}

/// One line of working, as a person would write it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// The line, with numbers and units.
    pub text: String,
}

/// A survey function that can be computed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Function(Kind);

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Fall(Fall),
    Cover(Cover),
    Horizontal,
    Straight,
    Crosses,
    CrossingClearance,
    TotalBend,
    PumpHead,
    PlanLength,
    SlopeLength,
    SagDepth,
    OnPublicDatum,
}

/// Every function by its name.
const FUNCTIONS: [(&str, Kind); 15] = [
    ("least_fall", Kind::Fall(Fall::Least)),
    ("overall_fall", Kind::Fall(Fall::Overall)),
    ("greatest_fall", Kind::Fall(Fall::Greatest)),
    ("least_cover", Kind::Cover(Cover::Least)),
    ("greatest_cover", Kind::Cover(Cover::Greatest)),
    ("horizontal_clearance", Kind::Horizontal),
    ("true_clearance", Kind::Straight),
    ("crosses", Kind::Crosses),
    ("crossing_clearance", Kind::CrossingClearance),
    ("total_bend", Kind::TotalBend),
    ("pump_head", Kind::PumpHead),
    ("plan_length", Kind::PlanLength),
    ("slope_length", Kind::SlopeLength),
    ("sag_depth", Kind::SagDepth),
    ("on_public_datum", Kind::OnPublicDatum),
];

const LENGTH: Type = Type::Quantity(Dimension::LENGTH);

/// The survey functions of a vocabulary, bound to its slots.
#[derive(Debug, Clone)]
pub struct Survey {
    slots: Slots,
    functions: Vec<Declared>,
}

/// A declared function that can be computed.
#[derive(Debug, Clone)]
struct Declared {
    name: String,
    function: Function,
    /// The kinds of things that each parameter takes; none for a value.
    parameters: Vec<Vec<ThingId>>,
}

impl Survey {
    /// Binds the declared functions; says which of them can't be computed, and why.
    pub fn new(vocabulary: &Vocabulary) -> Result<Survey, Vec<Located<SurveyError>>> {
        let slots = Slots::of(vocabulary);
        let mut functions = Vec::new();
        let mut errors = Vec::new();
        for declared in &vocabulary.surveys {
            match bind(declared, &slots) {
                Ok(kind) => functions.push(Declared {
                    name: declared.name.clone(),
                    function: Function(kind),
                    parameters: declared.parameters.iter().map(things_of).collect(),
                }),
                Err(found) => errors.extend(found.into_iter().map(|error| Located {
                    source: declared.span.source,
                    error,
                })),
            }
        }
        if errors.is_empty() {
            Ok(Survey { slots, functions })
        } else {
            Err(errors)
        }
    }

    /// The function of a name.
    pub fn function(&self, name: &str) -> Option<Function> {
        let found = self.functions.iter().find(|known| known.name == name);
        found.map(|known| known.function)
    }

    /// Computes a function of arguments that fit its declaration.
    ///
    /// # Panics
    ///
    /// Where an argument is of another kind than the function declares: `check` refuses that.
    pub fn compute(
        &self,
        function: Function,
        arguments: &[Argument],
        record: &Record,
        mode: Mode,
    ) -> Answer {
        let things: Vec<_> = arguments.iter().filter_map(thing).collect();
        let values: Vec<_> = arguments.iter().filter_map(quantity).collect();
        if is_asked_of_one_twice(&things) {
            return of_itself(function.0);
        }
        match (function.0, things.as_slice(), values.as_slice()) {
            (Kind::Crosses, [one, two], []) => {
                decided(crossing::crosses(record, &self.slots, *one, *two), mode)
            }
            (kind, things, values) => answer(self.quantity(kind, things, values, record), mode),
        }
    }

    /// The same with the lines of its working.
    ///
    /// # Panics
    ///
    /// As [`Survey::compute`].
    pub fn compute_with_steps(
        &self,
        function: Function,
        arguments: &[Argument],
        record: &Record,
        mode: Mode,
    ) -> Answer {
        let mut answer = self.compute(function, arguments, record, mode);
        let things: Vec<_> = arguments.iter().filter_map(thing).collect();
        let values: Vec<_> = arguments.iter().filter_map(quantity).collect();
        if !is_asked_of_one_twice(&things) {
            answer.steps = self.steps(function.0, &things, &values, record, mode);
        }
        answer
    }

    fn steps(
        &self,
        kind: Kind,
        things: &[ThingRef],
        values: &[Interval],
        record: &Record,
        mode: Mode,
    ) -> Vec<Step> {
        match (kind, things, values) {
            (Kind::Fall(_), [run], _) => steps::fall(record, self.of(record, *run), *run, mode),
            (Kind::Cover(_), [run], _) => steps::cover(record, self.of(record, *run), *run, mode),
            (Kind::Horizontal | Kind::Straight, [one, two], _) => {
                steps::clearance(record, &self.slots, *one, *two, mode)
            }
            (Kind::CrossingClearance, [one, two], _) => {
                steps::crossing(record, &self.slots, *one, *two, mode)
            }
            (Kind::TotalBend, [run], _) => steps::bends(record, self.of(record, *run), *run, mode),
            (Kind::PlanLength, [run], _) => steps::plan_length(record, *run, mode),
            (Kind::SlopeLength, [run], _) => {
                steps::slope_length(record, self.of(record, *run), *run, mode)
            }
            (Kind::SagDepth, [run], _) => steps::sag(record, self.of(record, *run), *run, mode),
            (Kind::PumpHead, [station], [flow]) => {
                steps::pump_head(record, self.of(record, *station), *station, *flow, mode)
            }
            // The working of the others is one line, which the answer says by itself.
            (_, _, _) => Vec::new(),
        }
    }

    fn of(&self, record: &Record, thing: ThingRef) -> &ThingSlots {
        self.slots.thing(record.thing(thing).kind)
    }

    fn quantity(
        &self,
        kind: Kind,
        things: &[ThingRef],
        values: &[Interval],
        record: &Record,
    ) -> Computed {
        match (kind, things, values) {
            (Kind::Fall(which), [run], []) => {
                fall::fall(record, self.of(record, *run), *run, which)
            }
            (Kind::Cover(which), [run], []) => {
                cover::cover(record, self.of(record, *run), *run, which)
            }
            (Kind::Horizontal, [one, two], []) => {
                clearance::horizontal(record, &self.slots, *one, *two)
            }
            (Kind::Straight, [one, two], []) => {
                clearance::straight(record, &self.slots, *one, *two)
            }
            (Kind::CrossingClearance, [one, two], []) => {
                crossing::clearance(record, &self.slots, *one, *two)
            }
            (Kind::TotalBend, [run], []) => bend::total_bend(record, self.of(record, *run), *run),
            (Kind::PumpHead, [station], [flow]) => {
                pump::pump_head(record, self.of(record, *station), *station, *flow)
            }
            (Kind::PlanLength, [run], []) => length::plan_length(record, *run),
            (Kind::SlopeLength, [run], []) => {
                length::slope_length(record, self.of(record, *run), *run)
            }
            (Kind::SagDepth, [run], []) => sag::sag_depth(record, self.of(record, *run), *run),
            (Kind::OnPublicDatum, [], [elevation, tie]) => {
                Computed::known(Both::same(elevation.add(*tie)), Vec::new())
            }
            _ => unreachable!("the checker lets no call pass whose arguments do not fit"),
        }
    }
}

fn thing(argument: &Argument) -> Option<ThingRef> {
    match argument {
        Argument::Thing(thing) => Some(*thing),
        Argument::Quantity(_) => None,
    }
}

fn quantity(argument: &Argument) -> Option<Interval> {
    match argument {
        Argument::Thing(_) => None,
        Argument::Quantity(value) => Some(*value),
    }
}

/// Whether a function of two things is asked of one and the same.
fn is_asked_of_one_twice(things: &[ThingRef]) -> bool {
    matches!(things, [one, two] if one == two)
}

/// What is said of a thing and itself: nothing, whatever a record claims to have measured there.
fn of_itself(kind: Kind) -> Answer {
    Answer {
        value: match kind {
            Kind::Crosses => Value::Nothing,
            _ => Value::Quantity(Interval::WHOLE),
        },
        causes: vec![Cause::Domain("a thing has no distance from itself")],
        readings: Vec::new(),
        at: None,
        at_of: None,
        steps: Vec::new(),
    }
}

fn answer(computed: Computed, mode: Mode) -> Answer {
    let value = match mode {
        Mode::Banded => computed.value.banded,
        Mode::AsRead => computed.value.as_read,
    };
    Answer {
        value: Value::Quantity(value),
        causes: computed.causes,
        readings: computed.readings,
        at: computed.at.map(|(_, along)| along),
        at_of: computed.at.map(|(run, _)| run),
        steps: Vec::new(),
    }
}

fn decided(decided: crossing::Decided, mode: Mode) -> Answer {
    let truth = match mode {
        Mode::Banded => decided.banded,
        Mode::AsRead => decided.as_read,
    };
    Answer {
        value: match truth {
            Truth::True => Value::Truth(true),
            Truth::False => Value::Truth(false),
            Truth::Unknown => Value::Nothing,
        },
        causes: if truth.is_definite() {
            Vec::new()
        } else {
            decided.causes
        },
        readings: Vec::new(),
        at: None,
        at_of: None,
        steps: Vec::new(),
    }
}

// Binding.

fn bind(declared: &vocabulary::Survey, slots: &Slots) -> Result<Kind, Vec<SurveyError>> {
    let known = FUNCTIONS.iter().find(|(name, _)| *name == declared.name);
    let Some((_, kind)) = known else {
        return Err(vec![SurveyError::UnknownFunction {
            name: declared.name.clone(),
            at: declared.span,
            help: format!("it computes {}", names()),
        }]);
    };
    let shape = kind.shape();
    if !shape.fits(declared) {
        return Err(vec![SurveyError::OtherForm {
            name: declared.name.clone(),
            wanted: shape.words,
            at: declared.span,
        }]);
    }
    let things = declared.parameters.iter().flat_map(things_of);
    let errors: Vec<_> = things
        .filter_map(|thing| {
            let thing = slots.thing(thing);
            Some(SurveyError::LackingMember {
                name: declared.name.clone(),
                thing: thing.name.clone(),
                lacks: kind.lacks(thing, slots)?,
                at: declared.span,
            })
        })
        .collect();
    if errors.is_empty() {
        Ok(*kind)
    } else {
        Err(errors)
    }
}

fn names() -> String {
    let names: Vec<_> = FUNCTIONS.iter().map(|(name, _)| *name).collect();
    names.join(", ")
}

fn things_of(parameter: &vocabulary::Parameter) -> Vec<ThingId> {
    match &parameter.kind {
        ParameterType::Things(things) => things.clone(),
        ParameterType::Value(_) => Vec::new(),
    }
}

/// How a function is declared.
struct Shape {
    things: usize,
    values: &'static [Type],
    gives: Type,
    words: &'static str,
}

impl Shape {
    /// Things come first, then values.
    fn fits(&self, declared: &vocabulary::Survey) -> bool {
        let (things, values) = declared
            .parameters
            .split_at(self.things.min(declared.parameters.len()));
        let are_things = things.len() == self.things
            && things
                .iter()
                .all(|one| matches!(one.kind, ParameterType::Things(_)));
        let kinds: Vec<_> = values.iter().map(|one| one.kind.clone()).collect();
        let wanted: Vec<_> = self
            .values
            .iter()
            .copied()
            .map(ParameterType::Value)
            .collect();
        are_things && kinds == wanted && declared.gives == self.gives
    }
}

const FLOWS: [Type; 1] = [Type::Quantity(Dimension::FLOW)];
const ELEVATION_AND_TIE: [Type; 2] = [Type::Point(PointKind::Elevation), LENGTH];

impl Kind {
    fn shape(self) -> Shape {
        let of = |things, gives, words| Shape {
            things,
            values: &[],
            gives,
            words,
        };
        match self {
            Kind::Fall(_) => of(1, Type::Slope, "`(run: …) gives slope`"),
            Kind::Cover(_) | Kind::PlanLength | Kind::SlopeLength | Kind::SagDepth => {
                of(1, LENGTH, "`(run: …) gives length`")
            }
            Kind::Horizontal | Kind::Straight | Kind::CrossingClearance => {
                of(2, LENGTH, "`(a: …, b: …) gives length`")
            }
            Kind::Crosses => of(2, Type::YesNo, "`(a: …, b: …) gives yes_no`"),
            Kind::TotalBend => of(
                1,
                Type::Quantity(Dimension::ANGLE),
                "`(run: …) gives angle`",
            ),
            Kind::PumpHead => Shape {
                things: 1,
                values: &FLOWS,
                gives: LENGTH,
                words: "`(station: …, q: flow) gives length`",
            },
            Kind::OnPublicDatum => Shape {
                things: 0,
                values: &ELEVATION_AND_TIE,
                gives: Type::Point(PointKind::PublicElevation),
                words: "`(e: elevation, tie: length) gives public_elevation`",
            },
        }
    }

    /// What a thing lacks for this function.
    fn lacks(self, thing: &ThingSlots, slots: &Slots) -> Option<&'static str> {
        let has_invert = thing.shots.is_some_and(|shots| shots.invert.is_some());
        let has_crown = thing.shots.is_some_and(|shots| shots.crown.is_some());
        let lists = thing.shots.into_iter().chain(thing.ground_shots);
        let has_ground = lists.into_iter().any(|shots| shots.ground.is_some());
        match self {
            Kind::Fall(_) | Kind::SagDepth => unless(
                thing.is_run && has_invert,
                "list `shots` of points with an elevation `invert`, or is no run",
            ),
            Kind::Cover(_) => unless(
                thing.is_run
                    && (thing.spans.is_some()
                        || thing.cover.is_some()
                        || (has_crown && has_ground)),
                "`cover` of its own or of its `spans`, nor `shots` with `crown` and `ground`, or is no run",
            ),
            Kind::Horizontal | Kind::Straight => unless(
                slots.clearances.is_some(),
                "list `clearances` beside it on the site, with `from`, `to` and `horizontal`",
            ),
            Kind::Crosses | Kind::CrossingClearance => unless(
                slots.crossings.is_some(),
                "list `crossings` beside it on the site, with `upper`, `lower` and `vertical`",
            ),
            Kind::TotalBend => unless(
                thing.bends.is_some() && thing.pull_points.is_some(),
                "lists `bends` (with `angle`) and `pull_points` of points",
            ),
            Kind::PumpHead => unless(
                thing.curve.is_some(),
                "list `pump_curve` of points with `flow` and `head`",
            ),
            Kind::PlanLength => unless(thing.is_run, "length, being no run"),
            Kind::SlopeLength => unless(
                thing.is_run && (has_invert || has_crown),
                "`shots` with `invert` or `crown`, or is no run",
            ),
            Kind::OnPublicDatum => None,
        }
    }
}

fn unless(has_it: bool, lacks: &'static str) -> Option<&'static str> {
    if has_it { None } else { Some(lacks) }
}
