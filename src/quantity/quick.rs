//! A quantity in one of its usual forms in, the same as `parse` makes of it out, a good deal
//! sooner.
//!
//! Nothing is refused here: what is not plainly one of those forms is left to `parse`.

use super::dimension::Dimension;
use super::parse::{LONGEST, Written};
use super::ratio::Ratio;
use super::unit::{Definition, Unit};

/// The most digits a number here may have.
const MOST_DIGITS: usize = 15;

/// A quantity as [`Written`] has it, of numbers that fit and a unit of the table.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Plain {
    pub nominal: Ratio,
    pub tolerance: Option<Ratio>,
    pub unit: Option<&'static Definition>,
}

impl Plain {
    /// What it measures.
    #[inline]
    pub fn dimension(&self) -> Dimension {
        self.unit.map_or(Dimension::NUMBER, |unit| unit.dimension)
    }

    /// Whether it is a slope with its unit.
    #[inline]
    pub fn is_slope(&self) -> bool {
        self.unit.is_some_and(|unit| unit.is_slope)
    }
}

/// Reads a quantity as [`plain`] does.
pub(super) fn quantity(text: &str) -> Option<Written> {
    let plain = plain(text)?;
    Some(Written {
        nominal: plain.nominal.rational(),
        tolerance: plain.tolerance.map(Ratio::rational),
        dimension: plain.dimension(),
        is_slope: plain.is_slope(),
        is_bare_number: plain.unit.is_none(),
        unit: plain.unit.map(Unit::of),
    })
}

/// Reads `42 in`, `3 1/4 in`, `812.40 ft`, `2 ft 6 in`, `0.62`, each perhaps with a minus before
/// it, and with ` ± ` or ` +/- ` and another after it; none for anything else.
// It and what it asks lie in one piece, so that what is read never leaves the processor's registers.
#[inline(always)]
pub(crate) fn plain(text: &str) -> Option<Plain> {
    if text.len() > LONGEST {
        return None;
    }
    let (reading, rest) = reading(text.as_bytes())?;
    let tolerance = match rest {
        [] => None,
        rest => Some(tolerance(rest, reading.unit)?),
    };
    Some(Plain {
        nominal: reading.value,
        tolerance,
        unit: reading.unit,
    })
}

struct Reading {
    value: Ratio,
    unit: Option<&'static Definition>,
}

/// What stands behind a reading, in a unit of the same kind.
#[inline(never)]
fn tolerance(text: &[u8], of: Option<&Definition>) -> Option<Ratio> {
    let text = match text {
        [b' ', 0xC2, 0xB1, b' ', after @ ..] | [b' ', b'+', b'/', b'-', b' ', after @ ..] => after,
        _ => return None,
    };
    let (tolerance, rest) = reading(text)?;
    let is_alike = match (of, tolerance.unit) {
        (Some(own), Some(other)) => own.dimension == other.dimension,
        (None, None) => true,
        (Some(_), None) | (None, Some(_)) => false,
    };
    (rest.is_empty() && is_alike && !tolerance.value.is_negative()).then_some(tolerance.value)
}

/// A number with its unit, and what follows them.
#[inline(always)]
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

type Measured<'t> = (Ratio, Option<&'static Definition>, &'t [u8]);

/// A number of a unit in canonical units; feet may be followed by inches.
#[inline(always)]
fn measured<'t>(number: Ratio, unit: &'static Definition, rest: &'t [u8]) -> Option<Measured<'t>> {
    let inches = match rest {
        [b' ', inches @ ..] if inches.first().is_some_and(u8::is_ascii_digit) => inches,
        rest => return Some((canonical(number, unit)?, Some(unit), rest)),
    };
    if unit.name != "ft" || !number.is_whole() {
        return None;
    }
    let (inches, rest) = self::number(inches)?;
    let rest = ended(rest.strip_prefix(b" in")?)?;
    if inches >= Ratio::whole(12) {
        return None;
    }
    let inch = Unit::known(b"in")?;
    let feet = number.checked_multiply(Ratio::whole(12))?;
    let value = canonical(feet.checked_add(inches)?, inch)?;
    Some((value, Some(inch), rest))
}

#[inline(always)]
fn canonical(number: Ratio, unit: &Definition) -> Option<Ratio> {
    number.checked_multiply(Ratio::of(unit.factor)?)
}

/// A number and what follows it, which is nothing or a blank: `24`, `3.5`, `1/4`, `3 1/4`.
#[inline(always)]
fn number(text: &[u8]) -> Option<(Ratio, &[u8])> {
    let (first, after) = digits(text)?;
    let (number, rest) = match after {
        [] => (Ratio::whole(first), after),
        [b'.', decimals @ ..] => {
            let (part, rest) = digits(decimals)?;
            let places = decimals.len() - rest.len();
            if text.len() - rest.len() > MOST_DIGITS + 1 {
                return None;
            }
            let scale = *POWERS_OF_TEN.get(places)?;
            let whole = first.checked_mul(scale)?.checked_add(part)?;
            (Ratio::new(whole, scale)?, rest)
        }
        [b'/', below @ ..] => fraction(first, below)?,
        [b' ', second @ ..] if second.first().is_some_and(u8::is_ascii_digit) => {
            let (above, rest) = digits(second)?;
            let (part, rest) = fraction(above, rest.strip_prefix(b"/")?)?;
            if part >= Ratio::ONE {
                return None;
            }
            (Ratio::whole(first).checked_add(part)?, rest)
        }
        after => (Ratio::whole(first), after),
    };
    Some((number, ended(rest)?))
}

const POWERS_OF_TEN: [i64; MOST_DIGITS + 1] = {
    let mut powers = [1; MOST_DIGITS + 1];
    let mut at = 1;
    while at <= MOST_DIGITS {
        powers[at] = 10 * powers[at - 1];
        at += 1;
    }
    powers
};

/// What follows, where that is nothing or a blank.
#[inline(always)]
fn ended(rest: &[u8]) -> Option<&[u8]> {
    matches!(rest, [] | [b' ', ..]).then_some(rest)
}

/// A fraction by what stands above its bar, and what follows it.
#[inline(always)]
fn fraction(above: i64, below: &[u8]) -> Option<(Ratio, &[u8])> {
    let (below, rest) = digits(below)?;
    Some((Ratio::new(above, below)?, rest))
}

/// Digits and what follows them; none where there are none, or too many.
#[inline(always)]
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
