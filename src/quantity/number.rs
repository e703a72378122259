//! Exact rationals over `i128`.
//!
//! Operations that could overflow say so; comparison never does. A value is reduced only when it
//! outgrows 64 bits, which keeps the common case free of divisions.

use std::cmp::Ordering;
use std::hash::{Hash, Hasher};

/// An exact fraction.
// Invariant: the denominator is positive and the numerator is not `i128::MIN`.
#[derive(Debug, Clone, Copy)]
pub struct Rational {
    numerator: i128,
    denominator: i128,
}

impl Rational {
    /// 0
    pub const ZERO: Rational = Rational::constant(0, 1);
    /// 1
    pub const ONE: Rational = Rational::constant(1, 1);

    /// `numerator / denominator`; none where the denominator is 0 or the fraction does not fit.
    pub fn new(numerator: i128, denominator: i128) -> Option<Rational> {
        if denominator == 0 {
            return None;
        }
        let (numerator, denominator) = if denominator < 0 {
            (numerator.checked_neg()?, denominator.checked_neg()?)
        } else {
            (numerator, denominator)
        };
        Rational::normalized(numerator, denominator)
    }

    /// A whole number.
    pub const fn from_integer(value: i64) -> Rational {
        Rational {
            numerator: value as i128,
            denominator: 1,
        }
    }

    /// A fraction of small numbers, the denominator above 0.
    #[inline]
    pub(super) const fn small(numerator: i64, denominator: i64) -> Rational {
        Rational {
            numerator: numerator as i128,
            denominator: denominator as i128,
        }
    }

    /// A factor written into our own tables.
    pub(super) const fn constant(numerator: i128, denominator: i128) -> Rational {
        assert!(denominator > 0 && numerator != i128::MIN);
        Rational {
            numerator,
            denominator,
        }
    }

    /// A decimal as written, `812.40` or `-0.2083`: digits, perhaps a point and more digits.
    /// None for anything else, and where it does not fit.
    pub fn parse_decimal(text: &str) -> Option<Rational> {
        let (is_negative, digits) = match text.strip_prefix('-') {
            Some(rest) => (true, rest),
            None => (false, text),
        };
        let (whole, part) = digits.split_once('.').unwrap_or((digits, "0"));
        let numerator = append_digits(append_digits(0, whole)?, part)?;
        let denominator = 10_i128.checked_pow(u32::try_from(part.len()).ok()?)?;
        Rational::new(
            if is_negative { -numerator } else { numerator },
            denominator,
        )
    }

    /// The exact value of a float; none where it is not finite or does not fit.
    pub fn from_f64(value: f64) -> Option<Rational> {
        let (is_negative, mantissa, exponent) = decode(value)?;
        let (numerator, denominator) = if exponent >= 0 {
            let bits = 128 - mantissa.leading_zeros() as i32;
            if bits + exponent > 126 {
                return None;
            }
            ((mantissa << exponent) as i128, 1)
        } else if exponent >= -126 {
            (mantissa as i128, 1_i128 << -exponent)
        } else {
            return None;
        };
        Rational::new(
            if is_negative { -numerator } else { numerator },
            denominator,
        )
    }

    /// The numerator of the fraction in lowest terms.
    pub fn numerator(self) -> i128 {
        self.reduced().numerator
    }

    /// The denominator of the fraction in lowest terms; positive.
    pub fn denominator(self) -> i128 {
        self.reduced().denominator
    }

    /// The numerator and denominator as they are kept, perhaps not in lowest terms.
    #[inline]
    pub(super) fn as_written(self) -> (i128, i128) {
        (self.numerator, self.denominator)
    }

    /// −1, 0 or 1.
    pub fn sign(self) -> i32 {
        self.numerator.signum() as i32
    }

    /// Whether it is 0.
    pub fn is_zero(self) -> bool {
        self.numerator == 0
    }

    /// The whole number it is, if it is one.
    pub fn as_integer(self) -> Option<i128> {
        (self.numerator % self.denominator == 0).then(|| self.numerator / self.denominator)
    }

    /// The value with its sign turned.
    pub fn negate(self) -> Rational {
        Rational {
            numerator: -self.numerator,
            ..self
        }
    }

    /// The value without its sign.
    pub fn magnitude(self) -> Rational {
        Rational {
            numerator: self.numerator.abs(),
            ..self
        }
    }

    /// The exact sum; none where it does not fit.
    #[inline]
    pub fn checked_add(self, other: Rational) -> Option<Rational> {
        if self.denominator == other.denominator {
            let sum = self.numerator.checked_add(other.numerator)?;
            return Rational::normalized(sum, self.denominator);
        }
        if self.is_small() && other.is_small() {
            // At most 2 · 2^63 · (2^63 − 1), which fits.
            return Rational::normalized(
                product(self.numerator, other.denominator)
                    + product(other.numerator, self.denominator),
                product(self.denominator, other.denominator),
            );
        }
        let (left, right) = (self.reduced(), other.reduced());
        let common = gcd(left.denominator as u128, right.denominator as u128) as i128;
        let numerator = left
            .numerator
            .checked_mul(right.denominator / common)?
            .checked_add(right.numerator.checked_mul(left.denominator / common)?)?;
        let denominator = (left.denominator / common).checked_mul(right.denominator)?;
        Rational::normalized(numerator, denominator)
    }

    /// The exact difference; none where it does not fit.
    #[inline]
    pub fn checked_subtract(self, other: Rational) -> Option<Rational> {
        self.checked_add(other.negate())
    }

    /// The exact product; none where it does not fit.
    #[inline]
    pub fn checked_multiply(self, other: Rational) -> Option<Rational> {
        if self.is_small() && other.is_small() {
            return Rational::normalized(
                product(self.numerator, other.numerator),
                product(self.denominator, other.denominator),
            );
        }
        // Cancelled crosswise first, the product of two reduced fractions is reduced.
        let (left, right) = (self.reduced(), other.reduced());
        let falling = gcd(left.numerator.unsigned_abs(), right.denominator as u128).max(1) as i128;
        let rising = gcd(right.numerator.unsigned_abs(), left.denominator as u128).max(1) as i128;
        let numerator = (left.numerator / falling).checked_mul(right.numerator / rising)?;
        let denominator = (left.denominator / rising).checked_mul(right.denominator / falling)?;
        Rational::normalized(numerator, denominator)
    }

    /// The exact quotient; none where the divisor is 0 or it does not fit.
    #[inline]
    pub fn checked_divide(self, other: Rational) -> Option<Rational> {
        self.checked_multiply(other.reciprocal()?)
    }

    /// One over it; none for 0.
    pub fn reciprocal(self) -> Option<Rational> {
        match self.numerator.signum() {
            0 => None,
            1 => Some(Rational {
                numerator: self.denominator,
                denominator: self.numerator,
            }),
            _ => Some(Rational {
                numerator: -self.denominator,
                denominator: -self.numerator,
            }),
        }
    }

    /// The exact power; none where it does not fit. Anything to the power 0 is 1.
    pub fn checked_power(self, exponent: u64) -> Option<Rational> {
        let mut result = Rational::ONE;
        let mut square = self;
        let mut left = exponent;
        loop {
            if left & 1 == 1 {
                result = result.checked_multiply(square)?;
            }
            left >>= 1;
            if left == 0 {
                return Some(result);
            }
            square = square.checked_multiply(square)?;
        }
    }

    /// The exact root of a value that is not negative; none where it is not rational.
    pub fn exact_root(self, degree: u64) -> Option<Rational> {
        let reduced = self.reduced();
        let numerator = integer_root(u128::try_from(reduced.numerator).ok()?, degree)?;
        let denominator = integer_root(reduced.denominator as u128, degree)?;
        Rational::new(numerator as i128, denominator as i128)
    }

    /// The nearest floats not above and not below it; the same one twice where it is a float.
    pub fn enclosure(self) -> (f64, f64) {
        let mut below = self.numerator as f64 / self.denominator as f64;
        while self.compare_with_f64(below) == Ordering::Less {
            below = below.next_down();
        }
        while self.compare_with_f64(below.next_up()) != Ordering::Less {
            below = below.next_up();
        }
        if self.compare_with_f64(below) == Ordering::Equal {
            (below, below)
        } else {
            (below, below.next_up())
        }
    }

    /// A float near it: for drawing, never for judging.
    pub fn to_f64(self) -> f64 {
        self.numerator as f64 / self.denominator as f64
    }

    /// Compares with the exact value of a finite float.
    pub(super) fn compare_with_f64(self, value: f64) -> Ordering {
        let Some((is_negative, mantissa, exponent)) = decode(value) else {
            // Only an infinity is left: floats that are no number are never made.
            return if value > 0.0 {
                Ordering::Less
            } else {
                Ordering::Greater
            };
        };
        let sign = match (mantissa, is_negative) {
            (0, _) => 0,
            (_, true) => -1,
            (_, false) => 1,
        };
        let by_sign = self.sign().cmp(&sign);
        if by_sign != Ordering::Equal || sign == 0 {
            return by_sign;
        }
        let magnitude = self.compare_magnitude(mantissa, exponent);
        if is_negative {
            magnitude.reverse()
        } else {
            magnitude
        }
    }

    /// Compares |self| with `mantissa · 2^exponent`; both are above 0.
    fn compare_magnitude(self, mantissa: u128, exponent: i32) -> Ordering {
        let numerator = self.numerator.unsigned_abs();
        let denominator = self.denominator as u128;
        if exponent >= 0 {
            let bits = 128 - mantissa.leading_zeros() as i32;
            if bits + exponent > 128 {
                return Ordering::Less;
            }
            return Wide::from(numerator).cmp(&Wide::product(mantissa << exponent, denominator));
        }
        // The right side is below 2^181, so a left side that outgrows 256 bits is greater.
        match Wide::shifted(numerator, exponent.unsigned_abs()) {
            None => Ordering::Greater,
            Some(left) => left.cmp(&Wide::product(mantissa, denominator)),
        }
    }

    #[inline]
    fn is_small(self) -> bool {
        fits_64_bits(self.numerator, self.denominator)
    }

    /// Reduces what has outgrown 64 bits; none for the one numerator that has no opposite.
    #[inline]
    fn normalized(numerator: i128, denominator: i128) -> Option<Rational> {
        let value = Rational {
            numerator,
            denominator,
        };
        if fits_64_bits(numerator, denominator) {
            return Some(value);
        }
        (numerator != i128::MIN).then(|| value.reduced())
    }

    fn reduced(self) -> Rational {
        let common = gcd(self.numerator.unsigned_abs(), self.denominator as u128) as i128;
        Rational {
            numerator: self.numerator / common,
            denominator: self.denominator / common,
        }
    }
}

impl Default for Rational {
    fn default() -> Self {
        Rational::ZERO
    }
}

impl From<i64> for Rational {
    fn from(value: i64) -> Self {
        Rational::from_integer(value)
    }
}

impl Ord for Rational {
    // Products that outgrow `i128` are compared in 256 bits: as exact as continued fractions, and
    // without their divisions.
    #[inline]
    fn cmp(&self, other: &Self) -> Ordering {
        if self.denominator == other.denominator {
            return self.numerator.cmp(&other.numerator);
        }
        if self.is_small() && other.is_small() {
            return product(self.numerator, other.denominator)
                .cmp(&product(other.numerator, self.denominator));
        }
        let by_sign = self.sign().cmp(&other.sign());
        if by_sign != Ordering::Equal || self.is_zero() {
            return by_sign;
        }
        let left = Wide::product(self.numerator.unsigned_abs(), other.denominator as u128);
        let right = Wide::product(other.numerator.unsigned_abs(), self.denominator as u128);
        if self.sign() > 0 {
            left.cmp(&right)
        } else {
            right.cmp(&left)
        }
    }
}

impl PartialOrd for Rational {
    #[inline]
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Rational {
    #[inline]
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Rational {}

impl Hash for Rational {
    fn hash<H: Hasher>(&self, state: &mut H) {
        let reduced = self.reduced();
        reduced.numerator.hash(state);
        reduced.denominator.hash(state);
    }
}

/// An unsigned number of 256 bits: only as much of one as comparing needs.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Wide {
    // The order of the fields is the order of comparison.
    high: u128,
    low: u128,
}

impl Wide {
    fn product(left: u128, right: u128) -> Wide {
        const HALF: u128 = u64::MAX as u128;
        let (left_high, left_low) = (left >> 64, left & HALF);
        let (right_high, right_low) = (right >> 64, right & HALF);
        let low = left_low * right_low;
        let first = left_high * right_low + (low >> 64);
        let second = left_low * right_high + (first & HALF);
        Wide {
            high: left_high * right_high + (first >> 64) + (second >> 64),
            low: (second << 64) | (low & HALF),
        }
    }

    /// `value · 2^shift`; none where it does not fit.
    fn shifted(value: u128, shift: u32) -> Option<Wide> {
        if 128 - value.leading_zeros() + shift > 256 {
            return None;
        }
        Some(match shift {
            0 => Wide::from(value),
            1..128 => Wide {
                high: value >> (128 - shift),
                low: value << shift,
            },
            // A value above 0 that fits after the shift leaves less than 128 of it here.
            _ => Wide {
                high: value.checked_shl(shift - 128).unwrap_or(0),
                low: 0,
            },
        })
    }
}

impl From<u128> for Wide {
    fn from(low: u128) -> Self {
        Wide { high: 0, low }
    }
}

/// Sign, mantissa without trailing zeros, and power of two of a finite float.
fn decode(value: f64) -> Option<(bool, u128, i32)> {
    if !value.is_finite() {
        return None;
    }
    let bits = value.to_bits();
    let fraction = bits & ((1 << 52) - 1);
    let raw_exponent = ((bits >> 52) & 0x7ff) as i32;
    let (mantissa, exponent) = if raw_exponent == 0 {
        (fraction, -1074)
    } else {
        (fraction | (1 << 52), raw_exponent - 1075)
    };
    if mantissa == 0 {
        return Some((false, 0, 0));
    }
    let zeros = mantissa.trailing_zeros();
    let is_negative = value < 0.0;
    Some((
        is_negative,
        u128::from(mantissa >> zeros),
        exponent + zeros as i32,
    ))
}

#[inline]
fn fits_64_bits(numerator: i128, denominator: i128) -> bool {
    numerator as i64 as i128 == numerator && denominator as i64 as i128 == denominator
}

/// The product of two that fit 64 bits, which processors have an instruction for.
#[inline]
fn product(left: i128, right: i128) -> i128 {
    i128::from(left as i64) * i128::from(right as i64)
}

fn append_digits(start: i128, digits: &str) -> Option<i128> {
    if digits.is_empty() {
        return None;
    }
    digits.chars().try_fold(start, |number, digit| {
        number
            .checked_mul(10)?
            .checked_add(i128::from(digit.to_digit(10)?))
    })
}

/// The greatest common divisor; of 0 and x it is x.
fn gcd(left: u128, right: u128) -> u128 {
    if let (Ok(left), Ok(right)) = (u64::try_from(left), u64::try_from(right)) {
        return u128::from(small_gcd(left, right));
    }
    let (mut left, mut right) = (left, right);
    while right != 0 {
        if let (Ok(left), Ok(right)) = (u64::try_from(left), u64::try_from(right)) {
            return u128::from(small_gcd(left, right));
        }
        (left, right) = (right, left % right);
    }
    left
}

/// Stein's: shifts and differences, no divisions.
fn small_gcd(left: u64, right: u64) -> u64 {
    if left == 0 || right == 0 {
        return left | right;
    }
    let twos = (left | right).trailing_zeros();
    let mut left = left >> left.trailing_zeros();
    let mut right = right;
    while right != 0 {
        right >>= right.trailing_zeros();
        (left, right) = (left.min(right), left.abs_diff(right));
    }
    left << twos
}

/// The whole number whose power is `value`, if there is one.
fn integer_root(value: u128, degree: u64) -> Option<u128> {
    if value <= 1 || degree == 1 {
        return Some(value);
    }
    // 2^128 does not fit, so no whole number from 2 on has a power of that degree.
    let degree = u32::try_from(degree)
        .ok()
        .filter(|degree| (2..128).contains(degree))?;
    if degree == 2 {
        let root = value.isqrt();
        return (root * root == value).then_some(root);
    }
    // Below 2^43, where the guess is off by less than one.
    let guess = libm::pow(value as f64, 1.0 / f64::from(degree)) as u128;
    (guess.saturating_sub(1)..=guess + 1).find(|root| root.checked_pow(degree) == Some(value))
}
