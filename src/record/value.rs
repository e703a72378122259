//! One scalar of a record in, what it means for its type out.

use super::error::RecordError;
use super::facts::Value;
use super::names;
use super::read::Reader;
use super::tree::{Scalar, Style};
use crate::language::syntax::Origin;
use crate::quantity::parse::{self, Place};
use crate::quantity::{
    Definition, Dimension, Interval, QuantityError, Rational, Unit, Written, date,
};
use crate::source::Span;
use crate::vocabulary::{Fact, PointKind, ScaleId, Type};

/// What a quantity is wanted for.
#[derive(Clone, Copy)]
pub(super) struct Field<'a> {
    /// The key it stands behind.
    pub(super) key: &'a str,
    /// The type that is due.
    pub(super) kind: Type,
    /// A unit to suggest.
    pub(super) unit: Option<&'a Unit>,
}

/// A value, the tolerance that counts for it, and its unit.
pub(super) struct ValueRead {
    pub(super) value: Value,
    pub(super) nominal: Option<Rational>,
    pub(super) tolerance: Option<Rational>,
    pub(super) unit: Option<Unit>,
}

impl ValueRead {
    fn plain(value: Value) -> Self {
        ValueRead {
            value,
            nominal: None,
            tolerance: None,
            unit: None,
        }
    }
}

impl Reader<'_> {
    /// Reads a scalar as the type of its fact.
    pub(super) fn value(&mut self, fact: &Fact, scalar: &Scalar, at: Span) -> Option<ValueRead> {
        let read = match fact.kind {
            Type::Quantity(_)
            | Type::Slope
            | Type::Point(
                PointKind::Elevation
                | PointKind::PublicElevation
                | PointKind::Temperature
                | PointKind::Chainage,
            ) => self.measure(fact, scalar, at),
            Type::Point(PointKind::Date) => self.date(fact, scalar, at),
            Type::YesNo => yes_or_no(fact, scalar, at).map(ValueRead::plain),
            Type::Label(scale) => self.label(scale, scalar, at).map(ValueRead::plain),
            Type::Text | Type::Reference => self.words(fact, scalar, at).map(ValueRead::plain),
        };
        match read {
            Ok(read) => Some(read),
            Err(error) => {
                self.mistakes.add(at, error);
                None
            }
        }
    }

    fn measure(
        &mut self,
        fact: &Fact,
        scalar: &Scalar,
        at: Span,
    ) -> Result<ValueRead, RecordError> {
        let field = Field {
            key: &fact.name,
            kind: fact.kind,
            unit: fact.unit.as_ref(),
        };
        let written = quantity(field, scalar, at)?;
        self.note_elevation(fact.kind, at);
        let nominal = match fact.kind {
            Type::Point(PointKind::Temperature) => written.point().ok_or_else(|| {
                let error = QuantityError::TooManyDigits {
                    place: whole(scalar),
                };
                unreadable(field, scalar, at, &error)
            })?,
            Type::Point(_)
            | Type::Quantity(_)
            | Type::Slope
            | Type::YesNo
            | Type::Text
            | Type::Reference
            | Type::Label(_) => written.nominal,
        };
        let tolerance = self.tolerance(fact, written.tolerance, at)?;
        Ok(ValueRead {
            value: Value::Quantity(Interval::point(nominal)),
            nominal: Some(nominal),
            tolerance,
            unit: written.unit,
        })
    }

    /// The tolerance that counts: the reading's own, else that of the head.
    fn tolerance(
        &mut self,
        fact: &Fact,
        written: Option<Rational>,
        at: Span,
    ) -> Result<Option<Rational>, RecordError> {
        if fact.kind == Type::Point(PointKind::Chainage) {
            return match written {
                Some(_) => Err(RecordError::ChainageTolerance { at }),
                None => Ok(None),
            };
        }
        match (fact.origin, written) {
            (Origin::Stated, Some(_)) => Err(RecordError::StatedTolerance {
                key: fact.name.clone(),
                at,
            }),
            (Origin::Stated, None) => Ok(None),
            (Origin::Measured, Some(written)) => Ok(Some(written)),
            (Origin::Measured, None) => Ok(self.default_tolerance(fact.kind, at)),
        }
    }

    fn date(&mut self, fact: &Fact, scalar: &Scalar, at: Span) -> Result<ValueRead, RecordError> {
        let Some(seconds) = date::parse(scalar.text.trim()) else {
            let found = scalar.text.to_string();
            return Err(RecordError::Date { found, at });
        };
        Ok(ValueRead {
            value: Value::Quantity(Interval::point(seconds)),
            nominal: Some(seconds),
            tolerance: self.tolerance(fact, None, at)?,
            unit: None,
        })
    }

    fn label(&mut self, scale: ScaleId, scalar: &Scalar, at: Span) -> Result<Value, RecordError> {
        let scale = self.vocabulary.scale(scale);
        if let Some(place) = scale.place(&scalar.text) {
            return Ok(Value::Label(place));
        }
        let labels = || scale.places.iter().flatten().map(String::as_str);
        // A size is never guessed: `5 in` is one slip from `3 in`, and another pipe.
        let near = names::nearest(&scalar.text, labels()).filter(|_| !scale.ordered);
        let mend = match near {
            Some(near) => format!("did you mean `{near}`?"),
            None => names::list(
                "write",
                names::nearest_first(&scalar.text, labels()).into_iter(),
            ),
        };
        Err(RecordError::UnknownLabel {
            found: scalar.text.to_string(),
            scale: scale.name.clone(),
            mend,
            at,
        })
    }

    fn words(&mut self, fact: &Fact, scalar: &Scalar, at: Span) -> Result<Value, RecordError> {
        let text = scalar.text.trim();
        if text.is_empty() {
            let key = fact.name.clone();
            return Err(RecordError::EmptyText { key, at });
        }
        let id = self.intern(text);
        if fact.kind == Type::Reference {
            self.refer(id, at);
        }
        Ok(Value::Text(id))
    }
}

fn yes_or_no(fact: &Fact, scalar: &Scalar, at: Span) -> Result<Value, RecordError> {
    match &*scalar.text {
        "yes" => Ok(Value::Truth(true)),
        "no" => Ok(Value::Truth(false)),
        found => Err(RecordError::YesOrNo {
            key: fact.name.clone(),
            found: found.into(),
            at,
        }),
    }
}

/// Reads a quantity of the type that is due.
pub(super) fn quantity(
    field: Field<'_>,
    scalar: &Scalar,
    at: Span,
) -> Result<Written, RecordError> {
    if field.kind == Type::Slope && is_ratio(&scalar.text) {
        let found = scalar.text.to_string();
        return Err(RecordError::SlopeAsRatio { found, at });
    }
    let written =
        parse::quantity(&scalar.text).map_err(|error| unreadable(field, scalar, at, &error))?;
    let fits = fits(
        field.kind,
        written.dimension,
        written.is_slope,
        written.unit.as_deref(),
    );
    if fits {
        return Ok(written);
    }
    if written.is_bare_number {
        return Err(bare_number(field, scalar.text.trim(), at));
    }
    Err(RecordError::Dimension {
        key: field.key.into(),
        found: found(&written),
        expected: with_article(field.kind),
        unit: unit_name(field),
        at,
    })
}

/// `1:48`
fn is_ratio(text: &str) -> bool {
    let is_digits = |part: &str| {
        let part = part.trim();
        !part.is_empty()
            && part
                .bytes()
                .all(|byte| byte.is_ascii_digit() || byte == b'.')
    };
    text.split_once(':')
        .is_some_and(|(left, right)| is_digits(left) && is_digits(right))
}

/// Whether what was written is of the type that is due.
#[inline]
pub(crate) fn fits(
    kind: Type,
    dimension: Dimension,
    is_slope: bool,
    unit: Option<&Definition>,
) -> bool {
    match kind {
        Type::Slope => is_slope,
        // A plain number is bare or a share; what is written as a slope is one.
        Type::Quantity(Dimension::NUMBER) => {
            let is_share = |unit: &Definition| matches!(&*unit.name, "%" | "ppm");
            dimension.is_number() && unit.is_none_or(is_share)
        }
        Type::Quantity(due) => dimension == due,
        Type::Point(point) => dimension == point.difference(),
        Type::YesNo | Type::Text | Type::Reference | Type::Label(_) => false,
    }
}

fn bare_number(field: Field<'_>, text: &str, at: Span) -> RecordError {
    let unit = unit_name(field);
    let with_units: Vec<_> = text
        .replace("+/-", "±")
        .split('±')
        .map(|number| format!("{} {unit}", number.trim()))
        .collect();
    RecordError::BareNumber {
        key: field.key.into(),
        kind: with_article(field.kind),
        number: text.to_owned(),
        example: with_units.join(" ± "),
        at,
    }
}

fn found(written: &Written) -> String {
    if written.is_slope {
        return with_article(Type::Slope);
    }
    with_article(Type::Quantity(written.dimension))
}

fn unreadable(field: Field<'_>, scalar: &Scalar, at: Span, error: &QuantityError) -> RecordError {
    let mend = match error {
        QuantityError::NoNumber { .. } | QuantityError::Empty { .. } => format!(
            "write a number and its unit, such as `3 1/2 {}`, or leave `{}` out if it was not read",
            unit_name(field),
            field.key
        ),
        QuantityError::TooLong { .. }
        | QuantityError::OddNumber { .. }
        | QuantityError::TooManyDigits { .. }
        | QuantityError::ZeroDenominator { .. }
        | QuantityError::UnknownUnit { .. }
        | QuantityError::Trailing { .. }
        | QuantityError::FeetAndInches { .. }
        | QuantityError::ToleranceUnit { .. }
        | QuantityError::ToleranceDimension { .. }
        | QuantityError::NegativeTolerance { .. }
        | QuantityError::SecondTolerance { .. } => error.mend(),
    };
    RecordError::Quantity {
        key: field.key.into(),
        expected: with_article(field.kind),
        why: error.to_string(),
        awaited: error.expected(),
        mend,
        at: part(scalar, at, error.place()),
    }
}

fn whole(scalar: &Scalar) -> Place {
    Place {
        offset: 0,
        length: scalar.text.len(),
    }
}

/// Where a part of a scalar's text stands, if it stands there as it was read.
fn part(scalar: &Scalar, at: Span, place: Place) -> Span {
    let written = (at.end - at.start) as usize;
    let quotes = match scalar.style {
        Style::Plain => 0,
        Style::Quoted => 1,
    };
    if written != scalar.text.len() + 2 * quotes {
        return at;
    }
    let narrow = |offset: usize| u32::try_from(offset).unwrap_or(u32::MAX);
    let start = at.start.saturating_add(narrow(quotes + place.offset));
    Span {
        source: at.source,
        start: start.min(at.end),
        end: start.saturating_add(narrow(place.length)).min(at.end),
    }
}

/// A unit to suggest.
fn unit_name(field: Field<'_>) -> String {
    if let Some(unit) = field.unit {
        return unit.name.to_string();
    }
    match field.kind {
        Type::Slope => "in/ft".into(),
        Type::Point(PointKind::Temperature) => "degF".into(),
        Type::Point(_) => "ft".into(),
        Type::Quantity(dimension) => dimension.example_unit().unwrap_or("%").into(),
        Type::YesNo | Type::Text | Type::Reference | Type::Label(_) => String::new(),
    }
}

/// `a length`, `an elevation`
pub(super) fn with_article(kind: Type) -> String {
    let name = match kind {
        Type::Quantity(dimension) => dimension.to_string(),
        Type::Slope => "slope".into(),
        Type::Point(PointKind::Chainage) => "chainage, a length along the run".into(),
        Type::Point(point) => point.name().replace('_', " "),
        Type::YesNo => "yes or no".into(),
        Type::Text => "text".into(),
        Type::Reference => "reference".into(),
        Type::Label(_) => "label".into(),
    };
    let article = match name.chars().next() {
        Some('a' | 'e' | 'i' | 'o') => "an",
        Some(_) | None => "a",
    };
    format!("{article} {name}")
}
