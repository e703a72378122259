//! Quantities, labels and dates as written in, constants of a known type out.

use super::error::CheckError;
use super::names::nearest;
use super::typed::{Constant, Date};
use crate::language::syntax::Text;
use crate::quantity::{self, Dimension, Written};
use crate::source::{Span, Spanned};
use crate::vocabulary::{PointKind, Type, Vocabulary};

/// A constant of an expected type.
pub(crate) fn constant(
    vocabulary: &Vocabulary,
    text: &Text,
    expected: Type,
) -> Result<Constant, CheckError> {
    match expected {
        Type::Label(scale) => {
            let known = vocabulary.scale(scale);
            match known.place(&text.value) {
                Some(place) => Ok(Constant::Label {
                    scale,
                    place,
                    written: known.label(place).to_owned(),
                }),
                None => Err(CheckError::UnknownLabel {
                    label: text.value.clone(),
                    scale: known.name.clone(),
                    at: text.span,
                    help: nearest(
                        &text.value,
                        known.places.iter().flatten().map(String::as_str),
                    ),
                }),
            }
        }
        Type::Quantity(_) | Type::Slope | Type::Point(_) => number(vocabulary, text, expected),
        Type::YesNo | Type::Text | Type::Reference => Err(CheckError::Expected {
            expected: vocabulary.type_name(expected),
            found: format!("`{}`", text.value),
            at: text.span,
            help: "limits, tables and keys hold quantities and labels".into(),
        }),
    }
}

fn number(vocabulary: &Vocabulary, text: &Text, expected: Type) -> Result<Constant, CheckError> {
    if expected == Type::Point(PointKind::Date) {
        let date = date(text)?;
        return Ok(Constant::Number {
            value: date.value,
            unit: None,
            written: text.value.clone(),
        });
    }
    let written = exact(text)?;
    let value = match expected {
        Type::Slope if !written.is_slope => {
            return Err(if written.dimension == Dimension::NUMBER {
                CheckError::BareSlope { at: text.span }
            } else {
                mismatch(vocabulary, expected, &written, text.span)
            });
        }
        Type::Slope => written.nominal,
        Type::Point(PointKind::Temperature)
            if written.dimension == Dimension::TEMPERATURE_DIFFERENCE =>
        {
            written.point().ok_or_else(|| too_large(text))?
        }
        Type::Point(PointKind::Chainage) if written.dimension == Dimension::LENGTH => {
            written.nominal
        }
        Type::Quantity(dimension) if dimension == written.dimension => written.nominal,
        Type::Quantity(dimension) if written.is_bare_number => {
            return Err(CheckError::BareNumber {
                expected: dimension.to_string(),
                written: text.value.clone(),
                unit: dimension.example_unit().unwrap_or("its unit").to_owned(),
                at: text.span,
            });
        }
        Type::Quantity(_)
        | Type::Point(_)
        | Type::YesNo
        | Type::Text
        | Type::Reference
        | Type::Label(_) => return Err(mismatch(vocabulary, expected, &written, text.span)),
    };
    Ok(Constant::Number {
        value,
        unit: written.unit,
        written: text.value.clone(),
    })
}

/// A constant whose type is what it says itself.
pub(super) fn free_number(text: &Text) -> Result<(Constant, Type), CheckError> {
    let written = exact(text)?;
    let gives = if written.is_slope {
        Type::Slope
    } else {
        Type::Quantity(written.dimension)
    };
    let constant = Constant::Number {
        value: written.nominal,
        unit: written.unit,
        written: text.value.clone(),
    };
    Ok((constant, gives))
}

/// A date, canonical in seconds.
pub(super) fn date(text: &Text) -> Result<Date, CheckError> {
    match quantity::date::parse(&text.value) {
        Some(seconds) => Ok(Spanned::new(seconds, text.span)),
        None => Err(CheckError::Date {
            written: text.value.clone(),
            at: text.span,
        }),
    }
}

fn exact(text: &Text) -> Result<Written, CheckError> {
    // The language has no sign for a tolerance, so there is none.
    quantity::parse::quantity(&text.value).map_err(|error| {
        let at = within(text.span, &text.value, &error);
        CheckError::Quantity {
            found: format!("expected {}", error.expected()),
            help: error.mend(),
            error,
            at,
        }
    })
}

/// The place of a quantity's mistake: as written it may have other spaces, then it is the whole.
fn within(span: Span, text: &str, error: &quantity::QuantityError) -> Span {
    let quantity::Place { offset, length } = error.place();
    let whole = (span.end - span.start) as usize;
    if whole != text.len() || offset + length > whole {
        return span;
    }
    Span {
        source: span.source,
        start: span.start + offset as u32,
        end: span.start + (offset + length) as u32,
    }
}

fn too_large(text: &Text) -> CheckError {
    CheckError::Expected {
        expected: "a temperature".into(),
        found: format!("`{}`, which is out of reach", text.value),
        at: text.span,
        help: "write a temperature of this world".into(),
    }
}

fn mismatch(vocabulary: &Vocabulary, expected: Type, written: &Written, at: Span) -> CheckError {
    let expected = vocabulary.type_name(expected);
    CheckError::Expected {
        help: format!("write a quantity of {expected}"),
        expected,
        found: written.dimension.to_string(),
        at,
    }
}
