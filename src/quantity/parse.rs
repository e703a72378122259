//! Text of one quantity in, its exact canonical value out.
//!
//! ```text
//! quantity  = reading [ ("±" | "+/-") reading ]
//! reading   = [ "-" ] ( number [ unit ] | whole "ft" number "in" | whole "'" [ "-" ] number '"' )
//! number    = digits [ "." digits ] | digits "/" digits | digits " " digits "/" digits
//! ```
//!
//! Signs that could be read in two ways (`1,200`, `1:48`) are refused, with the mend.

use super::dimension::Dimension;
use super::number::Rational;
use super::quick;
use super::unit::Unit;

/// A stretch of the text that was read, in bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Place {
    /// The first byte.
    pub offset: usize,
    /// How many.
    pub length: usize,
}

/// A quantity as written, and what it means.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    /// The value in canonical units. Of a temperature this is the value as a *difference*;
    /// see [`Written::point`].
    pub nominal: Rational,
    /// The tolerance in canonical units, not below 0, where one is written.
    pub tolerance: Option<Rational>,
    /// What it measures.
    pub dimension: Dimension,
    /// The unit to show it in; none for a bare number. Of feet and inches it is the inch.
    pub unit: Option<Unit>,
    /// Whether it is a slope with its unit: `1/4 in/ft`, `2 %`.
    pub is_slope: bool,
    /// Whether no unit is written.
    pub is_bare_number: bool,
}

impl Written {
    /// Whether the unit is that of a temperature scale, so that the value may be a point on it.
    pub fn has_offset(&self) -> bool {
        self.unit.as_ref().is_some_and(|unit| unit.offset.is_some())
    }

    /// The value as a point on the scale of its unit, in kelvin; of other units the nominal
    /// value. None where it does not fit.
    pub fn point(&self) -> Option<Rational> {
        match self.unit.as_ref().and_then(|unit| unit.offset) {
            Some(zero) => self.nominal.checked_add(zero),
            None => Some(self.nominal),
        }
    }
}

/// A text that is no quantity.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum QuantityError {
    /// Nothing but blanks.
    #[error("nothing stands where a quantity was expected")]
    Empty {
        /// The blanks.
        place: Place,
    },
    /// More text than any quantity has.
    #[error("this is too long for a quantity")]
    TooLong {
        /// The whole text.
        place: Place,
    },
    /// `about 3 in`
    #[error("found `{found}` where a number was expected")]
    NoNumber {
        /// What was found.
        found: String,
        /// Its place.
        place: Place,
    },
    /// `1,200 ft`
    #[error("`{found}` is not a number as numbers are written here")]
    OddNumber {
        /// What was found.
        found: String,
        /// Its place.
        place: Place,
        /// How to mend it.
        mend: String,
    },
    /// `0.00000000000000000000001 in`
    #[error("this number has more digits than can be kept exactly")]
    TooManyDigits {
        /// The number.
        place: Place,
    },
    /// `1/0 in`
    #[error("the fraction `{found}` divides by zero")]
    ZeroDenominator {
        /// The fraction.
        found: String,
        /// Its place.
        place: Place,
    },
    /// `3 furlong`
    #[error("`{found}` is not a unit known here")]
    UnknownUnit {
        /// What was found.
        found: String,
        /// Its place.
        place: Place,
        /// How to mend it.
        mend: String,
    },
    /// `3 in 4`
    #[error("found `{found}` after the end of the quantity")]
    Trailing {
        /// What was found.
        found: String,
        /// Its place.
        place: Place,
    },
    /// `2 ft 14 in`
    #[error("`{found}` is not feet and inches")]
    FeetAndInches {
        /// What was found.
        found: String,
        /// Its place.
        place: Place,
        /// How to mend it.
        mend: String,
    },
    /// `24 ± 1/4 in`
    #[error("a unit stands on one side of the tolerance sign only")]
    ToleranceUnit {
        /// The side without a unit.
        place: Place,
        /// How to mend it.
        mend: String,
    },
    /// `24 in ± 1 %`
    #[error("the tolerance is a {found} and the reading a {expected}")]
    ToleranceDimension {
        /// What the tolerance measures.
        found: Dimension,
        /// What the reading measures.
        expected: Dimension,
        /// The tolerance.
        place: Place,
    },
    /// `24 in ± -1/4 in`
    #[error("a tolerance cannot be negative")]
    NegativeTolerance {
        /// The tolerance.
        place: Place,
    },
    /// `24 in ± 1/4 in ± 1/8 in`
    #[error("a reading has one tolerance")]
    SecondTolerance {
        /// From the second sign on.
        place: Place,
    },
}

impl QuantityError {
    /// Where in the text the mistake stands.
    pub fn place(&self) -> Place {
        match self {
            QuantityError::Empty { place }
            | QuantityError::TooLong { place }
            | QuantityError::NoNumber { place, .. }
            | QuantityError::OddNumber { place, .. }
            | QuantityError::TooManyDigits { place }
            | QuantityError::ZeroDenominator { place, .. }
            | QuantityError::UnknownUnit { place, .. }
            | QuantityError::Trailing { place, .. }
            | QuantityError::FeetAndInches { place, .. }
            | QuantityError::ToleranceUnit { place, .. }
            | QuantityError::ToleranceDimension { place, .. }
            | QuantityError::NegativeTolerance { place }
            | QuantityError::SecondTolerance { place } => *place,
        }
    }

    /// What was expected at that place.
    pub fn expected(&self) -> &'static str {
        match self {
            QuantityError::Empty { .. }
            | QuantityError::TooLong { .. }
            | QuantityError::NoNumber { .. } => "a number and its unit, such as `3 1/2 in`",
            QuantityError::OddNumber { .. } => "a number such as `24`, `3.5`, `1/4` or `3 1/2`",
            QuantityError::TooManyDigits { .. } => "a number of at most 18 digits",
            QuantityError::ZeroDenominator { .. } => "a number other than 0 below the line",
            QuantityError::UnknownUnit { .. } => "a unit",
            QuantityError::Trailing { .. } => "the end of the quantity, or `±` and a tolerance",
            QuantityError::FeetAndInches { .. } => {
                "whole feet and less than 12 inches, such as `2 ft 6 in`"
            }
            QuantityError::ToleranceUnit { .. } => "a unit on both sides of `±`",
            QuantityError::ToleranceDimension { .. } => "a tolerance that measures the same thing",
            QuantityError::NegativeTolerance { .. } => "a tolerance of 0 or more",
            QuantityError::SecondTolerance { .. } => "the end of the quantity",
        }
    }

    /// How to mend it.
    pub fn mend(&self) -> String {
        match self {
            QuantityError::OddNumber { mend, .. }
            | QuantityError::UnknownUnit { mend, .. }
            | QuantityError::FeetAndInches { mend, .. }
            | QuantityError::ToleranceUnit { mend, .. } => mend.clone(),
            QuantityError::Empty { .. } | QuantityError::NoNumber { .. } => {
                "write a number and its unit, such as `3 1/2 in`".to_owned()
            }
            QuantityError::TooLong { .. } => "write the number and its unit only".to_owned(),
            QuantityError::TooManyDigits { .. } => {
                "write the digits that were read, or another unit".to_owned()
            }
            QuantityError::ZeroDenominator { .. } => "correct the fraction".to_owned(),
            QuantityError::Trailing { .. } => "remove it".to_owned(),
            QuantityError::ToleranceDimension { expected, .. } => match expected.example_unit() {
                Some(unit) => format!(
                    "write the tolerance as a {expected}, such as `± 1/4 {unit}`: it is absolute"
                ),
                None => format!("write the tolerance as a {expected}: it is absolute"),
            },
            QuantityError::NegativeTolerance { .. } => "remove the minus sign".to_owned(),
            QuantityError::SecondTolerance { .. } => "keep one of them".to_owned(),
        }
    }
}

/// The longest text read, in bytes.
pub(super) const LONGEST: usize = 120;
/// The most digits in a row.
const MOST_DIGITS: usize = 18;
const FEET: [char; 3] = ['\'', '′', '’'];
const INCHES: [char; 3] = ['"', '″', '”'];

/// Reads a quantity: `18 1/2 in`, `3'-6 1/2"`, `1/4 in/ft`, `24 in ± 1/4 in`, `-2 ft`, `0.62`.
#[inline]
pub fn quantity(text: &str) -> Result<Written, QuantityError> {
    match quick::quantity(text) {
        Some(written) => Ok(written),
        None => any_quantity(text),
    }
}

/// Reads a quantity in whichever form it is written, or says what is wrong with it.
pub(super) fn any_quantity(text: &str) -> Result<Written, QuantityError> {
    let whole = Slice { text, offset: 0 };
    if text.len() > LONGEST {
        return Err(QuantityError::TooLong {
            place: whole.place(),
        });
    }
    let whole = whole.trimmed();
    if whole.text.is_empty() {
        return Err(QuantityError::Empty {
            place: whole.place(),
        });
    }
    let Some((before, after)) = split_at_tolerance(whole) else {
        let reading = read(whole)?;
        return Ok(reading.written(None));
    };
    if let Some((first, _)) = split_at_tolerance(after) {
        let place = after.from(first.text.len()).place();
        return Err(QuantityError::SecondTolerance { place });
    }
    let reading = read(before)?;
    let tolerance = read(after)?;
    check_tolerance(&reading, before, &tolerance, after)?;
    Ok(reading.written(Some(tolerance.value)))
}

/// A part of the text that knows where it stands.
#[derive(Clone, Copy)]
struct Slice<'a> {
    text: &'a str,
    offset: usize,
}

impl<'a> Slice<'a> {
    fn place(self) -> Place {
        Place {
            offset: self.offset,
            length: self.text.len(),
        }
    }

    fn from(self, start: usize) -> Slice<'a> {
        Slice {
            text: &self.text[start..],
            offset: self.offset + start,
        }
    }

    fn to(self, end: usize) -> Slice<'a> {
        Slice {
            text: &self.text[..end],
            ..self
        }
    }

    fn trimmed(self) -> Slice<'a> {
        let start = self.text.len() - self.text.trim_start().len();
        let rest = self.from(start);
        rest.to(rest.text.trim_end().len())
    }

    fn first(self) -> Option<char> {
        self.text.chars().next()
    }

    /// Without its first character if that is one of these.
    fn without(self, characters: &[char]) -> Option<Slice<'a>> {
        let first = self.first().filter(|first| characters.contains(first))?;
        Some(self.from(first.len_utf8()))
    }

    /// How many digits it begins with.
    fn digits(self) -> usize {
        self.text.bytes().take_while(u8::is_ascii_digit).count()
    }

    /// The part up to the next blank.
    fn word(self) -> Slice<'a> {
        self.to(self
            .text
            .find(char::is_whitespace)
            .unwrap_or(self.text.len()))
    }
}

/// One side of the tolerance sign.
struct Reading {
    value: Rational,
    unit: Option<Unit>,
}

impl Reading {
    fn dimension(&self) -> Dimension {
        self.unit
            .as_ref()
            .map_or(Dimension::NUMBER, |unit| unit.dimension)
    }

    fn written(self, tolerance: Option<Rational>) -> Written {
        Written {
            nominal: self.value,
            tolerance,
            dimension: self.dimension(),
            is_slope: self.unit.as_ref().is_some_and(|unit| unit.is_slope),
            is_bare_number: self.unit.is_none(),
            unit: self.unit,
        }
    }
}

fn split_at_tolerance(slice: Slice) -> Option<(Slice, Slice)> {
    ["±", "+/-"]
        .iter()
        .filter_map(|sign| Some((slice.text.find(sign)?, sign.len())))
        .min()
        .map(|(at, length)| (slice.to(at), slice.from(at + length)))
}

fn check_tolerance(
    reading: &Reading,
    before: Slice,
    tolerance: &Reading,
    after: Slice,
) -> Result<(), QuantityError> {
    let (before, after) = (before.trimmed(), after.trimmed());
    if tolerance.value.sign() < 0 {
        return Err(QuantityError::NegativeTolerance {
            place: after.place(),
        });
    }
    match (&reading.unit, &tolerance.unit) {
        (None, Some(unit)) => Err(QuantityError::ToleranceUnit {
            place: before.place(),
            mend: format!("write `{} {unit} ± {}`", before.text, after.text),
        }),
        (Some(unit), None) => Err(QuantityError::ToleranceUnit {
            place: after.place(),
            mend: format!("write `{} ± {} {unit}`", before.text, after.text),
        }),
        (Some(_), Some(_)) if reading.dimension() != tolerance.dimension() => {
            Err(QuantityError::ToleranceDimension {
                found: tolerance.dimension(),
                expected: reading.dimension(),
                place: after.place(),
            })
        }
        (Some(_), Some(_)) | (None, None) => Ok(()),
    }
}

fn read(slice: Slice) -> Result<Reading, QuantityError> {
    let slice = slice.trimmed();
    match slice.without(&['-', '−']) {
        Some(rest) => {
            let reading = read_positive(rest.trimmed())?;
            Ok(Reading {
                value: reading.value.negate(),
                ..reading
            })
        }
        None => read_positive(slice),
    }
}

fn read_positive(slice: Slice) -> Result<Reading, QuantityError> {
    let (number, rest) = read_number(slice)?;
    let number_place = slice.to(slice.text.len() - rest.text.len());
    let rest = rest.trimmed();
    if rest.text.is_empty() {
        return Ok(Reading {
            value: number,
            unit: None,
        });
    }
    if let Some(inches) = rest.without(&FEET).map(Slice::trimmed)
        && !inches.text.is_empty()
    {
        let inches = inches.without(&['-']).unwrap_or(inches).trimmed();
        return feet_and_inches(slice, number, inches);
    }
    let (unit, more) = split_after_unit(rest);
    if !more.text.is_empty() {
        if unit.text == "ft" {
            return feet_and_inches(slice, number, more);
        }
        read_unit(unit)?;
        return Err(QuantityError::Trailing {
            found: more.text.to_owned(),
            place: more.place(),
        });
    }
    let unit = read_unit(unit)?;
    let value = unit.canonical(number).ok_or(QuantityError::TooManyDigits {
        place: number_place.place(),
    })?;
    Ok(Reading {
        value,
        unit: Some(unit),
    })
}

/// A unit reaches to the next blank that a digit follows.
fn split_after_unit(slice: Slice) -> (Slice, Slice) {
    let end = slice
        .text
        .char_indices()
        .filter(|(_, character)| character.is_whitespace())
        .map(|(at, _)| at)
        .find(|at| {
            let rest = slice.text[*at..].trim_start();
            rest.starts_with(|character: char| character.is_ascii_digit())
        })
        .unwrap_or(slice.text.len());
    (slice.to(end).trimmed(), slice.from(end).trimmed())
}

fn read_unit(slice: Slice) -> Result<Unit, QuantityError> {
    Unit::parse(slice.text).map_err(|unknown| QuantityError::UnknownUnit {
        mend: unknown.mend,
        found: unknown.found,
        place: slice.place(),
    })
}

/// The inches after a number of feet; `whole` is both, for the message.
fn feet_and_inches(whole: Slice, feet: Rational, slice: Slice) -> Result<Reading, QuantityError> {
    let wrong = |mend: &str| QuantityError::FeetAndInches {
        found: whole.text.to_owned(),
        place: whole.place(),
        mend: mend.to_owned(),
    };
    let (inches, rest) = read_number(slice)?;
    let rest = rest.trimmed();
    let is_inch = rest.text == "in"
        || rest
            .without(&INCHES)
            .is_some_and(|rest| rest.text.is_empty());
    if !is_inch {
        return Err(wrong("write `in` after the inches, such as `2 ft 6 in`"));
    }
    if feet.as_integer().is_none() {
        return Err(wrong("write whole feet, or feet alone with a decimal"));
    }
    if inches >= Rational::from_integer(12) {
        return Err(wrong("write less than 12 inches, or inches alone"));
    }
    let too_many = QuantityError::TooManyDigits {
        place: whole.place(),
    };
    let unit = read_unit(Slice {
        text: "in",
        ..slice
    })?;
    let value = feet
        .checked_multiply(Rational::from_integer(12))
        .and_then(|feet| feet.checked_add(inches))
        .and_then(|inches| unit.canonical(inches))
        .ok_or(too_many)?;
    Ok(Reading {
        value,
        unit: Some(unit),
    })
}

/// A number and what follows it.
fn read_number(slice: Slice) -> Result<(Rational, Slice), QuantityError> {
    let digits = slice.digits();
    refuse_odd_number(slice, digits)?;
    let after = slice.from(digits);
    if let Some(decimals) = after.without(&['.']) {
        let end = digits + 1 + decimals.digits();
        return Ok((decimal(slice.to(end))?, slice.from(end)));
    }
    if let Some(end) = fraction_end(slice) {
        return Ok((fraction(slice.to(end))?, slice.from(end)));
    }
    let whole = decimal(slice.to(digits))?;
    let second = after.from(after.text.len() - after.text.trim_start().len());
    let Some(end) = fraction_end(second).filter(|_| second.offset > after.offset) else {
        return Ok((whole, after));
    };
    let part = fraction(second.to(end))?;
    let both = slice.to(second.offset + end - slice.offset);
    if part >= Rational::ONE {
        return Err(QuantityError::OddNumber {
            found: both.text.to_owned(),
            place: both.place(),
            mend: "write a fraction below 1 after the whole number".to_owned(),
        });
    }
    let sum = whole
        .checked_add(part)
        .ok_or(QuantityError::TooManyDigits {
            place: both.place(),
        })?;
    Ok((sum, slice.from(both.text.len())))
}

/// Where `digits "/" digits` ends, if the slice begins so.
fn fraction_end(slice: Slice) -> Option<usize> {
    let above = slice.digits();
    let below = slice.from(above).without(&['/'])?.digits();
    (above > 0 && below > 0).then_some(above + 1 + below)
}

fn decimal(slice: Slice) -> Result<Rational, QuantityError> {
    let digits = slice.text.bytes().filter(u8::is_ascii_digit).count();
    if digits > MOST_DIGITS {
        return Err(QuantityError::TooManyDigits {
            place: slice.place(),
        });
    }
    Rational::parse_decimal(slice.text).ok_or(QuantityError::TooManyDigits {
        place: slice.place(),
    })
}

fn fraction(slice: Slice) -> Result<Rational, QuantityError> {
    let bar = slice.digits();
    let above = decimal(slice.to(bar))?;
    let below = decimal(slice.from(bar + 1))?;
    if below.is_zero() {
        return Err(QuantityError::ZeroDenominator {
            found: slice.text.to_owned(),
            place: slice.place(),
        });
    }
    above
        .checked_divide(below)
        .ok_or(QuantityError::TooManyDigits {
            place: slice.place(),
        })
}

/// The ways of writing a number that are not ours.
fn refuse_odd_number(slice: Slice, digits: usize) -> Result<(), QuantityError> {
    let word = slice.word();
    let after = slice.from(digits);
    let odd = |mend: String| {
        Err(QuantityError::OddNumber {
            found: word.text.to_owned(),
            place: word.place(),
            mend,
        })
    };
    let next = after.first();
    let following = next.map_or(0, |next| after.from(next.len_utf8()).digits());
    match next {
        Some('.') if digits == 0 && following > 0 => odd(format!("write `0{}`", word.text)),
        Some('.') if digits > 0 && following == 0 => {
            odd(format!("write `{}` without the point", &slice.text[..digits]))
        }
        Some(',') if digits > 0 && following == 3 => {
            odd(format!("write `{}` without the comma", word.text.replace(',', "")))
        }
        Some(',') if digits > 0 => odd("write a decimal point, not a comma".to_owned()),
        Some(':') if digits > 0 => odd(
            "write the slope with its unit, such as `1/4 in/ft` or `2 %`: a ratio is read in two senses"
                .to_owned(),
        ),
        Some('-') if digits > 0 && fraction_end(after.from(1)).is_some() => {
            odd(format!("write `{}`", word.text.replacen('-', " ", 1)))
        }
        _ => match vulgar_fraction(after) {
            Some(spelled) if digits > 0 => {
                odd(format!("write `{} {spelled}`", &slice.text[..digits]))
            }
            Some(spelled) => odd(format!("write `{spelled}`")),
            None if digits == 0 => Err(QuantityError::NoNumber {
                found: if word.text.is_empty() { slice.text } else { word.text }.to_owned(),
                place: word.place(),
            }),
            None => Ok(()),
        },
    }
}

/// The fraction that a single sign stands for: it may follow a blank.
fn vulgar_fraction(slice: Slice) -> Option<&'static str> {
    Some(match slice.text.trim_start().chars().next()? {
        '½' => "1/2",
        '⅓' => "1/3",
        '⅔' => "2/3",
        '¼' => "1/4",
        '¾' => "3/4",
        '⅛' => "1/8",
        '⅜' => "3/8",
        '⅝' => "5/8",
        '⅞' => "7/8",
        _ => return None,
    })
}
