//! A quantity in one of its usual forms in, the same as `parse` makes of it out, a good deal
//! sooner.
//!
//! Nothing is refused here: what is not plainly one of those forms is left to `parse`.

use super::dimension::Dimension;
use super::number::Rational;
use super::parse::{LONGEST, Written};
use super::unit::Unit;

/// The most digits a number here may have.
const MOST_DIGITS: usize = 15;

/// Reads `42 in`, `3 1/4 in`, `812.40 ft`, `2 ft 6 in`, `0.62`, each perhaps with a minus before
/// it, and with ` ± ` or ` +/- ` and another after it; none for anything else.
pub(super) fn quantity(text: &str) -> Option<Written> {
    if text.len() > LONGEST {
        return None;
    }
    let (reading, rest) = reading(text.as_bytes())?;
    let tolerance = match rest {
        [] => None,
        [b' ', 0xC2, 0xB1, b' ', after @ ..] | [b' ', b'+', b'/', b'-', b' ', after @ ..] => {
            Some(tolerance(after, &reading)?)
        }
        _ => return None,
    };
    let unit = reading.unit;
    let (dimension, is_slope) = match &unit {
        Some(unit) => (unit.dimension, unit.is_slope),
        None => (Dimension::NUMBER, false),
    };
    Some(Written {
        nominal: reading.value,
        tolerance,
        dimension,
        is_slope,
        is_bare_number: unit.is_none(),
        unit,
    })
}

struct Reading {
    value: Rational,
    unit: Option<Unit>,
}

fn tolerance(text: &[u8], of: &Reading) -> Option<Rational> {
    let (tolerance, rest) = reading(text)?;
    let is_alike = match (&of.unit, &tolerance.unit) {
        (Some(own), Some(other)) => own.dimension == other.dimension,
        (None, None) => true,
        (Some(_), None) | (None, Some(_)) => false,
    };
    (rest.is_empty() && is_alike && tolerance.value.sign() >= 0).then_some(tolerance.value)
}

/// A number with its unit, and what follows them.
fn reading(text: &[u8]) -> Option<(Reading, &[u8])> {
    let (is_negative, text) = match text {
        [b'-', positive @ ..] => (true, positive),
        text => (false, text),
    };
    let (number, rest) = number(text)?;
    let (value, unit, rest) = match rest {
        [b' ', word @ ..] if word.first().is_some_and(is_of_unit) => {
            let end = word.iter().position(|byte| *byte == b' ');
            let (name, rest) = word.split_at(end.unwrap_or(word.len()));
            measured(number, Unit::known(name)?, rest)?
        }
        rest => (number, None, rest),
    };
    let value = match is_negative {
        true => value.negate(),
        false => value,
    };
    Some((Reading { value, unit }, rest))
}

fn is_of_unit(byte: &u8) -> bool {
    byte.is_ascii_alphabetic() || *byte == b'%'
}

/// A number of a unit in canonical units; feet may be followed by inches.
fn measured(number: Rational, unit: Unit, rest: &[u8]) -> Option<(Rational, Option<Unit>, &[u8])> {
    let inches = match rest {
        [b' ', inches @ ..] if inches.first().is_some_and(u8::is_ascii_digit) => inches,
        rest => return Some((unit.canonical(number)?, Some(unit), rest)),
    };
    if unit.name != "ft" || number.as_integer().is_none() {
        return None;
    }
    let (inches, rest) = self::number(inches)?;
    let rest = ended(rest.strip_prefix(b" in")?)?;
    if inches >= Rational::from_integer(12) {
        return None;
    }
    let inch = Unit::known(b"in")?;
    let feet = number.checked_multiply(Rational::from_integer(12))?;
    let value = inch.canonical(feet.checked_add(inches)?)?;
    Some((value, Some(inch), rest))
}

/// A number and what follows it, which is nothing or a blank: `24`, `3.5`, `1/4`, `3 1/4`.
fn number(text: &[u8]) -> Option<(Rational, &[u8])> {
    let (first, after) = digits(text)?;
    let (number, rest) = match after {
        [b'.', decimals @ ..] => {
            let (part, rest) = digits(decimals)?;
            if text.len() - rest.len() > MOST_DIGITS + 1 {
                return None;
            }
            let places = decimals.len() - rest.len();
            let scale = 10_i64.checked_pow(u32::try_from(places).ok()?)?;
            let whole = first.checked_mul(scale)?.checked_add(part)?;
            (Rational::new(whole.into(), scale.into())?, rest)
        }
        [b'/', below @ ..] => fraction(first, below)?,
        [b' ', second @ ..] if second.first().is_some_and(u8::is_ascii_digit) => {
            let (above, rest) = digits(second)?;
            let (part, rest) = fraction(above, rest.strip_prefix(b"/")?)?;
            if part >= Rational::ONE {
                return None;
            }
            (Rational::from_integer(first).checked_add(part)?, rest)
        }
        after => (Rational::from_integer(first), after),
    };
    Some((number, ended(rest)?))
}

/// What follows, where that is nothing or a blank.
fn ended(rest: &[u8]) -> Option<&[u8]> {
    matches!(rest, [] | [b' ', ..]).then_some(rest)
}

/// A fraction by what stands above its bar, and what follows it.
fn fraction(above: i64, below: &[u8]) -> Option<(Rational, &[u8])> {
    let (below, rest) = digits(below)?;
    Some((Rational::new(above.into(), below.into())?, rest))
}

/// Digits and what follows them; none where there are none, or too many.
fn digits(text: &[u8]) -> Option<(i64, &[u8])> {
    let mut number = 0;
    let mut length = 0;
    while let Some(digit @ b'0'..=b'9') = text.get(length) {
        if length == MOST_DIGITS {
            return None;
        }
        number = number * 10 + i64::from(digit - b'0');
        length += 1;
    }
    (length > 0).then(|| (number, &text[length..]))
}
