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
    let (reading, rest) = reading(text)?;
    let tolerance = match rest {
        "" => None,
        _ => Some(tolerance(rest, &reading)?),
    };
    let unit = reading.unit;
    Some(Written {
        nominal: reading.value,
        tolerance,
        dimension: unit
            .as_ref()
            .map_or(Dimension::NUMBER, |unit| unit.dimension),
        is_slope: unit.as_ref().is_some_and(|unit| unit.is_slope),
        is_bare_number: unit.is_none(),
        unit,
    })
}

struct Reading {
    value: Rational,
    unit: Option<Unit>,
}

fn tolerance(rest: &str, of: &Reading) -> Option<Rational> {
    let after = rest
        .strip_prefix(" ± ")
        .or_else(|| rest.strip_prefix(" +/- "))?;
    let (tolerance, rest) = reading(after)?;
    let is_alike = match (&of.unit, &tolerance.unit) {
        (Some(own), Some(other)) => own.dimension == other.dimension,
        (None, None) => true,
        (Some(_), None) | (None, Some(_)) => false,
    };
    (rest.is_empty() && is_alike && tolerance.value.sign() >= 0).then_some(tolerance.value)
}

/// A number with its unit, and what follows them.
fn reading(text: &str) -> Option<(Reading, &str)> {
    let positive = text.strip_prefix('-');
    let (number, rest) = number(positive.unwrap_or(text))?;
    let (value, unit, rest) = match rest.strip_prefix(' ') {
        Some(word) if word.starts_with(|sign: char| sign.is_ascii_alphabetic() || sign == '%') => {
            let end = word.find(' ').unwrap_or(word.len());
            let unit = Unit::known(&word[..end])?;
            measured(number, unit, &word[end..])?
        }
        Some(_) | None => (number, None, rest),
    };
    let value = match positive {
        Some(_) => value.negate(),
        None => value,
    };
    Some((Reading { value, unit }, rest))
}

/// A number of a unit in canonical units; feet may be followed by inches.
fn measured(number: Rational, unit: Unit, rest: &str) -> Option<(Rational, Option<Unit>, &str)> {
    let inches = rest
        .strip_prefix(' ')
        .filter(|more| more.starts_with(|sign: char| sign.is_ascii_digit()));
    let Some(inches) = inches else {
        return Some((unit.canonical(number)?, Some(unit), rest));
    };
    if unit.name != "ft" {
        return None;
    }
    let (inches, rest) = self::number(inches)?;
    let rest = rest.strip_prefix(" in")?;
    let is_ended = rest.is_empty() || rest.starts_with(' ');
    if !is_ended || number.as_integer().is_none() || inches >= Rational::from_integer(12) {
        return None;
    }
    let inch = Unit::known("in")?;
    let feet = number.checked_multiply(Rational::from_integer(12))?;
    let value = inch.canonical(feet.checked_add(inches)?)?;
    Some((value, Some(inch), rest))
}

/// A number and what follows it: `24`, `3.5`, `1/4`, `3 1/4`.
fn number(text: &str) -> Option<(Rational, &str)> {
    let (first, after) = digits(text)?;
    match after.as_bytes() {
        [b'.', ..] => {
            let (part, rest) = digits(&after[1..])?;
            let decimals = after.len() - rest.len() - 1;
            let places = u32::try_from(decimals).ok()?;
            let scale = 10_i64.checked_pow(places)?;
            let whole = first.checked_mul(scale)?.checked_add(part)?;
            if text.len() - rest.len() > MOST_DIGITS + 1 {
                return None;
            }
            Some((Rational::new(whole.into(), scale.into())?, ended(rest)?))
        }
        [b'/', ..] => {
            let (fraction, rest) = fraction(first, after)?;
            Some((fraction, ended(rest)?))
        }
        [b' ', b'0'..=b'9', ..] => {
            let (above, rest) = digits(&after[1..])?;
            let (part, rest) = fraction(above, rest)?;
            if part >= Rational::ONE {
                return None;
            }
            let sum = Rational::from_integer(first).checked_add(part)?;
            Some((sum, ended(rest)?))
        }
        _ => Some((Rational::from_integer(first), ended(after)?)),
    }
}

/// What follows a number, where that is nothing or a blank.
fn ended(rest: &str) -> Option<&str> {
    (rest.is_empty() || rest.starts_with(' ')).then_some(rest)
}

/// What stands above a bar, and the bar with what follows it.
fn fraction(above: i64, rest: &str) -> Option<(Rational, &str)> {
    let (below, rest) = digits(rest.strip_prefix('/')?)?;
    Some((Rational::new(above.into(), below.into())?, rest))
}

/// Digits and what follows them; none where there are none, or too many.
fn digits(text: &str) -> Option<(i64, &str)> {
    let bytes = text.as_bytes();
    let mut number = 0;
    let mut length = 0;
    while let Some(digit @ b'0'..=b'9') = bytes.get(length) {
        if length == MOST_DIGITS {
            return None;
        }
        number = number * 10 + i64::from(digit - b'0');
        length += 1;
    }
    (length > 0).then(|| (number, &text[length..]))
}
