//! How far readings may be off where they do not say so themselves.

use super::error::{Mistakes, RecordError};
use super::names;
use super::tree::{Entry, Node, NodeKind};
use super::value::{self, Field};
use crate::quantity::{Dimension, Rational};
use crate::source::Span;
use crate::vocabulary::{PointKind, Type};

/// The tolerances of a head, by type.
#[derive(Debug, Clone)]
pub(crate) struct Tolerances {
    by_type: Vec<(Type, Rational)>,
    others: Others,
    /// Where they are written.
    pub(super) span: Option<Span>,
}

/// What counts for a type that is not named.
#[derive(Debug, Clone, Copy)]
enum Others {
    Exact,
    NotSaid,
}

impl Tolerances {
    /// Those of a head that could not be read: to ask for more would only repeat that.
    pub(super) fn unreadable(span: Option<Span>) -> Self {
        Tolerances {
            by_type: Vec::new(),
            others: Others::Exact,
            span,
        }
    }

    /// The tolerance of a type that is named.
    fn named(&self, kind: Type) -> Option<Rational> {
        let named = self.by_type.iter().find(|(named, _)| *named == kind);
        named.map(|(_, tolerance)| *tolerance)
    }

    /// The tolerance of a type, named or not; none where the head says nothing of it, and of a type
    /// that has none.
    pub(crate) fn of(&self, kind: Type) -> Option<Rational> {
        let named = self.named(kind);
        named.or_else(|| type_key(kind).and_then(|_| self.of_others()))
    }

    /// That of all other types; none where the head says nothing of them.
    fn of_others(&self) -> Option<Rational> {
        match self.others {
            Others::Exact => Some(Rational::ZERO),
            Others::NotSaid => None,
        }
    }
}

/// The name under which a type has its tolerance; none for types whose values are never off.
pub(super) fn type_key(kind: Type) -> Option<&'static str> {
    match kind {
        Type::Quantity(dimension) => dimension.name(),
        Type::Slope => Some("slope"),
        Type::Point(PointKind::Chainage) => None,
        Type::Point(point) => Some(point.name()),
        Type::YesNo | Type::Text | Type::Reference | Type::Label(_) => None,
    }
}

/// The names of the types that have tolerances.
pub fn type_names() -> impl Iterator<Item = &'static str> + Clone {
    Type::NAMES
        .into_iter()
        .filter(|name| Type::named(name).is_some_and(|kind| type_key(kind).is_some()))
}

/// A tolerance such as a type may have.
pub(super) fn example(kind: Type) -> String {
    match difference(kind) {
        Some(Type::Slope) => "1/16 in/ft".into(),
        Some(Type::Quantity(dimension)) if dimension == Dimension::LENGTH => "1/4 in".into(),
        Some(Type::Quantity(dimension)) => match dimension.example_unit() {
            Some(unit) => format!("1 {unit}"),
            None => "0.01".into(),
        },
        Some(Type::Point(_) | Type::YesNo | Type::Text | Type::Reference | Type::Label(_))
        | None => "exact".into(),
    }
}

/// The type of a tolerance: a point is off by a difference.
fn difference(kind: Type) -> Option<Type> {
    match kind {
        Type::Quantity(_) | Type::Slope => Some(kind),
        Type::Point(point) => Some(Type::Quantity(point.difference())),
        Type::YesNo | Type::Text | Type::Reference | Type::Label(_) => None,
    }
}

/// Reads `tolerances: exact` or a mapping of types.
pub(super) fn read(node: &Node, mistakes: &mut Mistakes) -> Tolerances {
    let at = node.span;
    match &node.kind {
        NodeKind::Scalar(_) if node.is_word("exact") => Tolerances::unreadable(Some(at)),
        NodeKind::Mapping(entries) => read_types(entries, at, mistakes),
        NodeKind::Scalar(_) | NodeKind::Sequence(_) => {
            let error = RecordError::Shape {
                found: node.called(),
                expected: "a mapping for `tolerances`, or `exact`".into(),
                mend: "write `{ length: 1/4 in, others: exact }`: each type has its own".into(),
                at,
            };
            mistakes.add(at, error);
            Tolerances::unreadable(Some(at))
        }
        NodeKind::Empty | NodeKind::Unreadable => Tolerances::unreadable(Some(at)),
    }
}

fn read_types(entries: &[Entry], span: Span, mistakes: &mut Mistakes) -> Tolerances {
    let mut tolerances = Tolerances {
        by_type: Vec::with_capacity(entries.len()),
        others: Others::NotSaid,
        span: Some(span),
    };
    for entry in entries {
        let key = &*entry.key.value;
        if key == "others" {
            read_others(&entry.value, mistakes);
            tolerances.others = Others::Exact;
            continue;
        }
        let kind = Type::named(key);
        match kind.and_then(|kind| Some((kind, type_key(kind)?))) {
            Some((kind, key)) => {
                // A tolerance that can't be read is told once, so that its type counts as covered.
                let tolerance = read_one(key, kind, &entry.value, mistakes);
                if !entry.value.is_empty() {
                    let tolerance = tolerance.unwrap_or(Rational::ZERO);
                    tolerances.by_type.push((kind, tolerance));
                }
            }
            None => unknown_type(key, kind, entry.key.span, mistakes),
        }
    }
    tolerances
}

fn read_others(node: &Node, mistakes: &mut Mistakes) {
    let at = node.span;
    if !node.is_word("exact") {
        mistakes.add(at, RecordError::Others { at });
    }
}

fn unknown_type(key: &str, kind: Option<Type>, at: Span, mistakes: &mut Mistakes) {
    let error = if kind == Some(Type::Point(PointKind::Chainage)) {
        RecordError::ChainageTolerance { at }
    } else {
        RecordError::UnknownName {
            name: key.into(),
            what: "a type whose readings have a tolerance",
            mend: names::suggest(key, type_names().chain(["others"])),
            at,
        }
    };
    mistakes.add(at, error);
}

/// Reads one tolerance, or `exact`.
pub(super) fn read_one(
    key: &str,
    kind: Type,
    node: &Node,
    mistakes: &mut Mistakes,
) -> Option<Rational> {
    if node.is_word("exact") {
        return Some(Rational::ZERO);
    }
    let at = node.span;
    match &node.kind {
        NodeKind::Scalar(scalar) => {
            let field = Field {
                key,
                kind: difference(kind)?,
                unit: None,
            };
            let written = match value::quantity(field, scalar, at) {
                Ok(written) => written,
                Err(error) => {
                    mistakes.add(at, error);
                    return None;
                }
            };
            if written.nominal.sign() < 0 || written.tolerance.is_some() {
                mistakes.add(at, RecordError::NegativeTolerance { at });
                return None;
            }
            Some(written.nominal)
        }
        NodeKind::Sequence(_) | NodeKind::Mapping(_) => {
            let error = RecordError::Shape {
                found: node.called(),
                expected: format!("one tolerance for `{key}`"),
                mend: format!("write `{key}: {}` or `{key}: exact`", example(kind)),
                at,
            };
            mistakes.add(at, error);
            None
        }
        NodeKind::Empty | NodeKind::Unreadable => None,
    }
}
