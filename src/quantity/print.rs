//! Canonical values in, text in a given unit out, as the trade writes it.
//!
//! Inches and feet in sixty-fourths are shown as fractions. A decimal that ends is shown whole
//! up to [`EXACT_DECIMALS`]; any other is rounded to [`SIGNIFICANT`] digits.

use std::cmp::Ordering;

use super::end::End;
use super::interval::Interval;
use super::number::Rational;
use super::unit::Unit;

/// The most decimals with which a value is shown exactly.
pub const EXACT_DECIMALS: usize = 6;
/// The decimals to which a level or a steel tape reads feet.
const SURVEYED_DECIMALS: usize = 2;
/// The digits to which other values are rounded.
pub const SIGNIFICANT: usize = 6;
/// The most decimals tried to make two values look different.
const MOST_DECIMALS: usize = 40;
/// The finest fraction of an inch on a tape.
const FINEST_FRACTION: i128 = 64;

/// A value in a unit: `24 1/2 in`, `1/8 in/ft`, `6.8948 kPa`, `2 %`.
pub fn show(value: impl Into<End>, unit: &Unit) -> String {
    let counted = in_unit(value.into(), unit);
    feet_and_inches(counted, unit).unwrap_or_else(|| with_unit(&number(counted, unit, None), unit))
}

/// A plain number: `0.62`.
pub fn show_number(value: impl Into<End>) -> String {
    decimals(value.into(), None)
}

/// A point on the scale of the unit, such as a temperature in kelvin: `68 degF`.
pub fn show_point(value: impl Into<End>, unit: &Unit) -> String {
    let value = value.into();
    let above_zero = match (value, unit.offset) {
        (End::Exact(value), Some(zero)) => value.checked_subtract(zero).map(End::Exact),
        (End::Rounded(value), Some(zero)) => rounded(value.get() - zero.to_f64()),
        (End::Exact(_) | End::Rounded(_), None) => Some(value),
    };
    show(above_zero.unwrap_or(value), unit)
}

/// Two values in a unit, with as many digits as it takes to look different when they are.
pub fn show_apart(left: impl Into<End>, right: impl Into<End>, unit: &Unit) -> (String, String) {
    let (left, right) = (left.into(), right.into());
    let (first, second) = (show(left, unit), show(right, unit));
    if first != second || left == right {
        return (first, second);
    }
    let (left_number, right_number) = (in_unit(left, unit), in_unit(right, unit));
    for places in EXACT_DECIMALS..=MOST_DECIMALS {
        let first = number(left_number, unit, Some(places));
        let second = number(right_number, unit, Some(places));
        if first != second {
            return (with_unit(&first, unit), with_unit(&second, unit));
        }
    }
    // So close that no digits tell: words do.
    match left.cmp(&right) {
        Ordering::Less => (format!("just under {first}"), second),
        Ordering::Equal | Ordering::Greater => (format!("just over {first}"), second),
    }
}

/// An interval in a unit: `24 1/2 in ± 1/4 in`, `from 2 in to 3.3 in`, `at least 2 in`,
/// `anything`.
pub fn show_interval(interval: Interval, unit: &Unit) -> String {
    match (interval.lower(), interval.upper()) {
        (None, None) => "anything".to_owned(),
        (Some(lower), None) => format!("at least {}", show(lower, unit)),
        (None, Some(upper)) => format!("at most {}", show(upper, unit)),
        (Some(lower), Some(_)) if interval.is_point() => show(lower, unit),
        (Some(lower), Some(upper)) => banded(lower, upper, unit).unwrap_or_else(|| {
            let (lower, upper) = show_apart(lower, upper, unit);
            format!("from {lower} to {upper}")
        }),
    }
}

/// A float near the end, for plotting.
pub fn to_f64(end: End) -> f64 {
    match end {
        End::Exact(value) => value.to_f64(),
        End::Rounded(value) => value.get(),
    }
}

/// Nominal and tolerance, where both are shown exactly.
fn banded(lower: End, upper: End, unit: &Unit) -> Option<String> {
    let (lower, upper) = (lower.exact()?, upper.exact()?);
    let half = Rational::new(1, 2)?;
    let nominal = lower.checked_add(upper)?.checked_multiply(half)?;
    let tolerance = upper.checked_subtract(lower)?.checked_multiply(half)?;
    let is_shown_exactly = |value: Rational| {
        let number = value.checked_divide(unit.factor)?;
        let is_exact = is_on_tape(number, unit)
            || ending_decimals(number).is_some()
            || feet_and_inches(End::Exact(number), unit).is_some();
        is_exact.then_some(())
    };
    is_shown_exactly(nominal)?;
    is_shown_exactly(tolerance)?;
    Some(format!(
        "{} ± {}",
        show(nominal, unit),
        show(tolerance, unit)
    ))
}

fn in_unit(value: End, unit: &Unit) -> End {
    let exact = match value {
        End::Exact(value) => Some(value),
        End::Rounded(value) => Rational::from_f64(value.get()),
    };
    exact
        .and_then(|value| value.checked_divide(unit.factor))
        .map(End::Exact)
        .or_else(|| rounded(to_f64(value) / unit.factor.to_f64()))
        .unwrap_or(value)
}

fn rounded(value: f64) -> Option<End> {
    super::end::Finite::new(value).map(End::Rounded)
}

fn with_unit(number: &str, unit: &Unit) -> String {
    format!("{number} {}", unit.name)
}

/// A number of a unit: a fraction where the unit is one of the tape, else decimals.
fn number(value: End, unit: &Unit, places: Option<usize>) -> String {
    match value {
        End::Exact(value) if is_on_tape(value, unit) => mixed_fraction(value),
        End::Exact(_) | End::Rounded(_) => decimals(value, places),
    }
}

fn is_on_tape(number: Rational, unit: &Unit) -> bool {
    matches!(&*unit.name, "in" | "in/ft") && FINEST_FRACTION % number.denominator() == 0
}

/// Feet that were not read in tenths and hundredths, but on a tape: `2 ft 6 in`, `1/2 in`.
fn feet_and_inches(feet: End, unit: &Unit) -> Option<String> {
    let feet = feet.exact().filter(|_| &*unit.name == "ft")?;
    if ending_decimals(feet).is_some_and(|places| places <= SURVEYED_DECIMALS) {
        return None;
    }
    let inches = feet.checked_multiply(Rational::from_integer(12))?;
    if FINEST_FRACTION % inches.denominator() != 0 {
        return None;
    }
    let sign = if feet.sign() < 0 { "-" } else { "" };
    let whole = feet.numerator().abs() / feet.denominator();
    let twelve = whole
        .checked_mul(12)
        .and_then(|inches| Rational::new(inches, 1))?;
    let rest = inches.magnitude().checked_subtract(twelve)?;
    let rest = mixed_fraction(rest);
    Some(match whole {
        0 => format!("{sign}{rest} in"),
        whole => format!("{sign}{whole} ft {rest} in"),
    })
}

fn mixed_fraction(value: Rational) -> String {
    let (numerator, denominator) = (value.numerator(), value.denominator());
    let sign = if numerator < 0 { "-" } else { "" };
    let whole = numerator.abs() / denominator;
    let part = numerator.abs() % denominator;
    match (whole, part) {
        (whole, 0) => format!("{sign}{whole}"),
        (0, part) => format!("{sign}{part}/{denominator}"),
        (whole, part) => format!("{sign}{whole} {part}/{denominator}"),
    }
}

/// How many decimals show the number exactly, if few enough do.
fn ending_decimals(value: Rational) -> Option<usize> {
    (0..=EXACT_DECIMALS).find(|places| 10_i128.pow(*places as u32) % value.denominator() == 0)
}

fn decimals(value: End, places: Option<usize>) -> String {
    match value {
        End::Exact(value) => {
            let places = places
                .or_else(|| ending_decimals(value))
                .unwrap_or_else(|| significant_places(value.to_f64()));
            trim_zeros(round_to(value, places))
        }
        End::Rounded(value) => {
            let value = value.get();
            let places = places.unwrap_or_else(|| significant_places(value));
            trim_zeros(format!("{value:.places$}"))
        }
    }
}

/// The decimals that leave [`SIGNIFICANT`] digits.
fn significant_places(value: f64) -> usize {
    let before_point = if value == 0.0 {
        0
    } else {
        libm::floor(libm::log10(value.abs())) as i32 + 1
    };
    usize::try_from(SIGNIFICANT as i32 - before_point)
        .unwrap_or(0)
        .min(MOST_DECIMALS)
}

/// Long division, rounded half away from 0.
fn round_to(value: Rational, places: usize) -> String {
    let denominator = value.denominator().unsigned_abs();
    let magnitude = value.numerator().unsigned_abs();
    let mut remainder = magnitude % denominator;
    let mut digits: Vec<u8> = (magnitude / denominator).to_string().into_bytes();
    let before_point = digits.len();
    for _ in 0..places {
        let (digit, left) = next_digit(remainder, denominator);
        digits.push(b'0' + digit);
        remainder = left;
    }
    let carries = remainder >= denominator - remainder && remainder > 0;
    let before_point = before_point + usize::from(carries && increment(&mut digits));
    let mut text = String::from_utf8(digits).expect("digits are text");
    if places > 0 {
        text.insert(before_point, '.');
    }
    let is_zero = text.bytes().all(|byte| matches!(byte, b'0' | b'.'));
    if value.sign() < 0 && !is_zero {
        text.insert(0, '-');
    }
    text
}

/// Ten times the remainder, divided, without leaving `u128`.
fn next_digit(remainder: u128, denominator: u128) -> (u8, u128) {
    let mut digit = 0;
    let mut left = 0;
    for _ in 0..10 {
        left += remainder;
        if left >= denominator {
            left -= denominator;
            digit += 1;
        }
    }
    (digit, left)
}

/// Adds one in the last place; whether that made another digit in front.
fn increment(digits: &mut Vec<u8>) -> bool {
    for digit in digits.iter_mut().rev() {
        if *digit < b'9' {
            *digit += 1;
            return false;
        }
        *digit = b'0';
    }
    digits.insert(0, b'1');
    true
}

fn trim_zeros(text: String) -> String {
    if !text.contains('.') {
        return text;
    }
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
