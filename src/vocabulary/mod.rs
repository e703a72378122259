//! What may be recorded and what may be computed from it: types and slots, no computation.
//!
//! The vocabulary is declared in the rule language. Every fact of a thing gets a slot, every list
//! a number, so that neither reading a record nor judging it looks anything up by name twice.

mod build;
mod error;
mod members;

use std::collections::BTreeMap;

use crate::language::syntax::Origin;
use crate::quantity::{Dimension, Interval, Rational, Unit};
use crate::source::Span;

pub use build::build;
pub use error::VocabularyError;
pub use members::Members;

/// A thing, by its place in [`Vocabulary::things`]; [`SITE`] is the first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct ThingId(pub u16);
/// A fact, by its slot within its thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct FactId(pub u16);
/// A list, by its place within its thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct ListId(pub u16);
/// A choice or a size, by its place in [`Vocabulary::scales`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct ScaleId(pub u16);
/// A hold point, by its order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct HoldId(pub u16);
/// A kind of permit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct PermitId(pub u16);
/// Who reads or sees facts on the lot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct PersonId(pub u16);
/// A hazard and its caution.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct HazardId(pub u16);

/// The lot itself.
pub const SITE: ThingId = ThingId(0);
/// The slot of a run's `length`, always its first.
pub const RUN_LENGTH: FactId = FactId(0);
/// The slot of a stretch's `from`, always its first.
pub const STRETCH_FROM: FactId = FactId(0);
/// The slot of a stretch's `to`, always its second.
pub const STRETCH_TO: FactId = FactId(1);
/// The slot of a point's `at`, always its first.
pub const POINT_AT: FactId = FactId(0);

/// Everything that was declared.
#[derive(Debug, Clone, Default)]
pub struct Vocabulary {
    /// Hold points in order.
    pub holds: Vec<Named>,
    /// Kinds of permit.
    pub permits: Vec<Named>,
    /// Hazards; the text is the caution.
    pub hazards: Vec<Named>,
    /// Who reads what; may be empty.
    pub people: Vec<Named>,
    /// Choices and sizes.
    pub scales: Vec<Scale>,
    /// Things; the site is the first.
    pub things: Vec<Thing>,
    /// Survey functions.
    pub surveys: Vec<Survey>,
    /// Things by name.
    pub thing_names: BTreeMap<String, ThingId>,
    /// Choices and sizes by name.
    pub scale_names: BTreeMap<String, ScaleId>,
}

/// A name and its text.
#[derive(Debug, Clone)]
pub struct Named {
    /// The name.
    pub name: String,
    /// What it says.
    pub text: String,
    /// Where it was declared.
    pub span: Span,
}

/// A choice, whose labels have no order, or a size, whose places have.
#[derive(Debug, Clone)]
pub struct Scale {
    /// Its name.
    pub name: String,
    /// What it says.
    pub meaning: String,
    /// Whether its places are ordered: a size.
    pub ordered: bool,
    /// The places, each with its labels; the first label is the one shown.
    pub places: Vec<Vec<String>>,
    /// What each place means, where that is said.
    pub meanings: Vec<Option<String>>,
    /// Where it was declared.
    pub span: Span,
}

impl Scale {
    /// The place of a label, written with any spacing.
    pub fn place(&self, label: &str) -> Option<u16> {
        // Mostly it is written as the label is.
        let at = self.place_of(label);
        u16::try_from(at.or_else(|| self.place_of(&single_spaced(label)))?).ok()
    }

    fn place_of(&self, label: &str) -> Option<usize> {
        let mut places = self.places.iter();
        places.position(|labels| {
            labels
                .iter()
                .any(|known| same(known.as_bytes(), label.as_bytes()))
        })
    }

    /// The label shown for a place.
    pub fn label(&self, place: u16) -> &str {
        &self.places[usize::from(place)][0]
    }
}

/// Whether two names are the same, in line: most are shorter than a call is long.
#[inline(always)]
pub(crate) fn same(one: &[u8], other: &[u8]) -> bool {
    if one.len() != other.len() {
        return false;
    }
    // Two chunks lie over all of up to twice their length.
    match (one.len(), one, other) {
        (8.., one, other) => {
            one.first_chunk::<8>() == other.first_chunk()
                && one.last_chunk::<8>() == other.last_chunk()
                && (one.len() <= 16 || one == other)
        }
        (4.., one, other) => {
            one.first_chunk::<4>() == other.first_chunk()
                && one.last_chunk::<4>() == other.last_chunk()
        }
        (_, one, other) => one.iter().zip(other).all(|(one, other)| one == other),
    }
}

/// A text with every run of white space as one space.
pub fn single_spaced(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Points, of which only differences are quantities.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum PointKind {
    /// Above the datum of the record; canonical in metres.
    Elevation,
    /// Above a public datum; canonical in metres.
    PublicElevation,
    /// Canonical in kelvin.
    Temperature,
    /// Canonical in seconds from 1970-01-01.
    Date,
    /// Along a run, exact; canonical in metres.
    Chainage,
}

/// The type of a fact, a limit, a parameter or an expression.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Type {
    /// A quantity; a plain number where it has no dimension.
    Quantity(Dimension),
    /// A plain number that must be written with its unit.
    Slope,
    /// A point.
    Point(PointKind),
    /// Yes or no.
    YesNo,
    /// A text.
    Text,
    /// The `id` of a thing.
    Reference,
    /// One label of a choice or a size.
    Label(ScaleId),
}

/// Whether a thing lies along a run.
#[derive(Debug, Clone, PartialEq)]
pub enum Form {
    /// It does not.
    Plain,
    /// It is a run, with the greatest gap between its shots.
    Run {
        /// In metres; none where no gap is too wide.
        gap: Option<Rational>,
    },
    /// It lies from one chainage to another.
    Stretch,
    /// It lies at a chainage.
    Point,
}

/// A thing and what may be recorded of it.
#[derive(Debug, Clone)]
pub struct Thing {
    /// Its name, `supply_cable`.
    pub name: String,
    /// What it is.
    pub meaning: String,
    /// Whether it lies along a run.
    pub form: Form,
    /// Its facts, by slot.
    pub facts: Vec<Fact>,
    /// Its lists.
    pub lists: Vec<List>,
    /// Its members by name.
    pub members: Members,
    /// Where it was declared.
    pub span: Span,
}

/// A member of a thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Member {
    /// A fact.
    Fact(FactId),
    /// A list.
    List(ListId),
}

/// One fact.
#[derive(Debug, Clone)]
pub struct Fact {
    /// Its name.
    pub name: String,
    /// Its type.
    pub kind: Type,
    /// Measured or stated.
    pub origin: Origin,
    /// What it means.
    pub meaning: String,
    /// How it is had.
    pub by: Option<String>,
    /// The last hold point at which it can be seen; none where it always can.
    pub until: Option<HoldId>,
    /// What replaces it afterwards.
    pub then: Option<String>,
    /// The range it can reasonably have, canonical; for proving, never for judging.
    pub range: Option<Interval>,
    /// The unit its range is written in, for suggestions.
    pub unit: Option<Unit>,
    /// Who reads it; none where the vocabulary declares no people.
    pub person: Option<PersonId>,
    /// Where it was declared.
    pub span: Span,
}

/// A list of things within a thing.
#[derive(Debug, Clone)]
pub struct List {
    /// Its name.
    pub name: String,
    /// What it lists.
    pub of: ThingId,
    /// What it means.
    pub meaning: String,
    /// Where it was declared.
    pub span: Span,
}

/// A survey function, as declared.
#[derive(Debug, Clone)]
pub struct Survey {
    /// Its name.
    pub name: String,
    /// Its parameters.
    pub parameters: Vec<Parameter>,
    /// What it gives.
    pub gives: Type,
    /// What that means.
    pub meaning: String,
    /// Where it was declared.
    pub span: Span,
}

/// A parameter of a survey function.
#[derive(Debug, Clone)]
pub struct Parameter {
    /// Its name.
    pub name: String,
    /// What it takes.
    pub kind: ParameterType,
}

/// What a parameter of a survey function takes.
#[derive(Debug, Clone, PartialEq)]
pub enum ParameterType {
    /// One of these things.
    Things(Vec<ThingId>),
    /// A value.
    Value(Type),
}

impl Vocabulary {
    /// The thing behind an id.
    pub fn thing(&self, id: ThingId) -> &Thing {
        &self.things[usize::from(id.0)]
    }

    /// The choice or size behind an id.
    pub fn scale(&self, id: ScaleId) -> &Scale {
        &self.scales[usize::from(id.0)]
    }

    /// Whether the values of a type have an order, so that there is a range between two of them.
    pub fn is_ordered(&self, kind: Type) -> bool {
        match kind {
            Type::Quantity(_) | Type::Slope | Type::Point(_) => true,
            Type::Label(scale) => self.scale(scale).ordered,
            Type::YesNo | Type::Text | Type::Reference => false,
        }
    }

    /// The hold point of a name.
    pub fn hold(&self, name: &str) -> Option<HoldId> {
        position(&self.holds, name).map(HoldId)
    }

    /// The kind of permit of a name.
    pub fn permit(&self, name: &str) -> Option<PermitId> {
        position(&self.permits, name).map(PermitId)
    }

    /// The kinds of permit, in order.
    pub fn permit_ids(&self) -> impl Iterator<Item = PermitId> + use<> {
        numbers(self.permits.len()).map(PermitId)
    }

    /// The hazard of a name.
    pub fn hazard(&self, name: &str) -> Option<HazardId> {
        position(&self.hazards, name).map(HazardId)
    }

    /// The person of a name.
    pub fn person(&self, name: &str) -> Option<PersonId> {
        position(&self.people, name).map(PersonId)
    }

    /// How a type is called in messages.
    pub fn type_name(&self, kind: Type) -> String {
        match kind {
            Type::Quantity(dimension) => dimension.to_string(),
            Type::Slope => "slope".into(),
            Type::Point(point) => point.name().into(),
            Type::YesNo => "yes or no".into(),
            Type::Text => "text".into(),
            Type::Reference => "reference".into(),
            Type::Label(scale) => self.scale(scale).name.clone(),
        }
    }
}

impl Thing {
    /// The slots of its facts, in order.
    pub fn fact_ids(&self) -> impl Iterator<Item = FactId> + use<> {
        numbers(self.facts.len()).map(FactId)
    }

    /// The numbers of its lists, in order.
    pub fn list_ids(&self) -> impl Iterator<Item = ListId> + use<> {
        numbers(self.lists.len()).map(ListId)
    }

    /// The fact in a slot.
    pub fn fact(&self, id: FactId) -> &Fact {
        &self.facts[usize::from(id.0)]
    }

    /// The list of a number.
    pub fn list(&self, id: ListId) -> &List {
        &self.lists[usize::from(id.0)]
    }

    /// The slot of a fact's name.
    pub fn fact_named(&self, name: &str) -> Option<FactId> {
        match self.members.get(name)? {
            Member::Fact(fact) => Some(*fact),
            Member::List(_) => None,
        }
    }

    /// The number of a list's name.
    pub fn list_named(&self, name: &str) -> Option<ListId> {
        match self.members.get(name)? {
            Member::List(list) => Some(*list),
            Member::Fact(_) => None,
        }
    }

    /// Whether any fact is an elevation: a list of such points is a profile.
    pub fn has_elevation(&self) -> bool {
        self.facts
            .iter()
            .any(|fact| fact.kind == Type::Point(PointKind::Elevation))
    }
}

impl PointKind {
    /// Its name in the rule language.
    pub fn name(self) -> &'static str {
        match self {
            PointKind::Elevation => "elevation",
            PointKind::PublicElevation => "public_elevation",
            PointKind::Temperature => "temperature",
            PointKind::Date => "date",
            PointKind::Chainage => "chainage",
        }
    }

    /// What the difference of two such points is.
    pub fn difference(self) -> Dimension {
        match self {
            PointKind::Elevation | PointKind::PublicElevation | PointKind::Chainage => {
                Dimension::LENGTH
            }
            PointKind::Temperature => Dimension::TEMPERATURE_DIFFERENCE,
            PointKind::Date => Dimension::TIME,
        }
    }
}

impl Type {
    /// The type of a built-in name; choices and sizes are looked up in the vocabulary.
    pub fn named(name: &str) -> Option<Type> {
        Some(match name {
            "slope" => Type::Slope,
            "elevation" => Type::Point(PointKind::Elevation),
            "public_elevation" => Type::Point(PointKind::PublicElevation),
            "temperature" => Type::Point(PointKind::Temperature),
            "date" => Type::Point(PointKind::Date),
            "chainage" => Type::Point(PointKind::Chainage),
            "yes_no" => Type::YesNo,
            "text" => Type::Text,
            "reference" => Type::Reference,
            _ => Type::Quantity(Dimension::named(name)?),
        })
    }

    /// The names that [`Type::named`] knows, for suggestions.
    pub const NAMES: [&str; 25] = [
        "number",
        "length",
        "area",
        "volume",
        "force",
        "pressure",
        "flow",
        "velocity",
        "angle",
        "voltage",
        "current",
        "resistance",
        "power",
        "time",
        "unit_weight",
        "temperature_difference",
        "slope",
        "elevation",
        "public_elevation",
        "temperature",
        "date",
        "chainage",
        "yes_no",
        "text",
        "reference",
    ];
}

fn numbers(length: usize) -> std::ops::Range<u16> {
    0..u16::try_from(length).expect("a vocabulary numbers in 16 bits")
}

fn position(names: &[Named], name: &str) -> Option<u16> {
    let at = names.iter().position(|named| named.name == name)?;
    u16::try_from(at).ok()
}
