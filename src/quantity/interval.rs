//! What can be said of a quantity: all values between two ends, both included.
//!
//! Sound: whatever value each operand has inside its interval, the result's interval holds the
//! result.

use super::end::{Bound, End, Toward};
use super::number::Rational;
use crate::truth::Truth;

/// All values from one end to the other. An end may lie at infinity.
// Invariant: lower ≤ upper, lower is not plus infinity, upper is not minus infinity.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Interval {
    lower: Bound,
    upper: Bound,
}

/// Why a result is the whole line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, thiserror::Error)]
pub enum Undefined {
    /// A divisor whose interval holds 0.
    #[error("divisor may be zero")]
    DivisorMayBeZero,
    /// A power or root of what may be negative, or a negative power of what may be 0.
    #[error("outside domain")]
    OutsideDomain,
}

impl Interval {
    /// Every value: what is known of a reading that is not recorded.
    pub const WHOLE: Interval = Interval {
        lower: Bound::MinusInfinity,
        upper: Bound::PlusInfinity,
    };

    /// One exact value.
    pub const fn point(value: Rational) -> Interval {
        Interval {
            lower: Bound::Finite(End::Exact(value)),
            upper: Bound::Finite(End::Exact(value)),
        }
    }

    /// A reading with its tolerance, whichever sign the tolerance has.
    pub fn band(nominal: Rational, tolerance: Rational) -> Interval {
        let nominal = Bound::Finite(End::Exact(nominal));
        let tolerance = Bound::Finite(End::Exact(tolerance.magnitude()));
        Interval {
            lower: nominal.add(tolerance.negate(), Toward::Below),
            upper: nominal.add(tolerance, Toward::Above),
        }
    }

    /// From one value to another; none where the second is less.
    pub fn new(lower: impl Into<End>, upper: impl Into<End>) -> Option<Interval> {
        let (lower, upper) = (lower.into(), upper.into());
        (lower <= upper).then_some(Interval {
            lower: Bound::Finite(lower),
            upper: Bound::Finite(upper),
        })
    }

    /// That value or more.
    pub fn at_least(lower: impl Into<End>) -> Interval {
        Interval {
            lower: Bound::Finite(lower.into()),
            upper: Bound::PlusInfinity,
        }
    }

    /// That value or less.
    pub fn at_most(upper: impl Into<End>) -> Interval {
        Interval {
            lower: Bound::MinusInfinity,
            upper: Bound::Finite(upper.into()),
        }
    }

    /// The lower end; none where it lies at infinity.
    #[inline]
    pub fn lower(self) -> Option<End> {
        self.lower.finite()
    }

    /// The upper end; none where it lies at infinity.
    #[inline]
    pub fn upper(self) -> Option<End> {
        self.upper.finite()
    }

    /// Whether it is a single value.
    pub fn is_point(self) -> bool {
        self.lower == self.upper
    }

    /// The single exact value, where it is one.
    pub fn exact_point(self) -> Option<Rational> {
        if self.is_point() {
            self.lower.finite()?.exact()
        } else {
            None
        }
    }

    /// Whether nothing is known.
    pub fn is_whole(self) -> bool {
        self == Interval::WHOLE
    }

    /// Whether a value lies inside.
    pub fn contains(self, value: impl Into<End>) -> bool {
        let value = Bound::Finite(value.into());
        self.lower <= value && value <= self.upper
    }

    /// Whether 0 lies inside.
    pub fn may_be_zero(self) -> bool {
        self.lower.sign() <= 0 && self.upper.sign() >= 0
    }

    /// Whether a value below 0 lies inside.
    pub fn may_be_negative(self) -> bool {
        self.lower.sign() < 0
    }

    /// The sums.
    #[inline]
    #[expect(
        clippy::should_implement_trait,
        reason = "it stands in a row with `divide`, which can fail and so is no operator"
    )]
    pub fn add(self, other: Interval) -> Interval {
        Interval {
            lower: self.lower.add(other.lower, Toward::Below),
            upper: self.upper.add(other.upper, Toward::Above),
        }
    }

    /// The differences.
    #[inline]
    pub fn subtract(self, other: Interval) -> Interval {
        self.add(other.negate())
    }

    /// The values with their sign turned.
    #[inline]
    pub fn negate(self) -> Interval {
        Interval {
            lower: self.upper.negate(),
            upper: self.lower.negate(),
        }
    }

    /// The products. 0 times the whole line is 0.
    #[inline]
    pub fn multiply(self, other: Interval) -> Interval {
        if self.lower.sign() >= 0 && other.lower.sign() >= 0 {
            return Interval {
                lower: self.lower.multiply(other.lower, Toward::Below),
                upper: self.upper.multiply(other.upper, Toward::Above),
            };
        }
        extremes(self, other, Bound::multiply)
    }

    /// The quotients; undefined where the divisor may be 0.
    #[inline]
    pub fn divide(self, divisor: Interval) -> Result<Interval, Undefined> {
        if divisor.may_be_zero() {
            return Err(Undefined::DivisorMayBeZero);
        }
        if self.lower.sign() >= 0 && divisor.lower.sign() > 0 {
            return Ok(Interval {
                lower: self.lower.divide(divisor.upper, Toward::Below),
                upper: self.upper.divide(divisor.lower, Toward::Above),
            });
        }
        Ok(extremes(self, divisor, Bound::divide))
    }

    /// A whole power, as tight as can be: a square is never negative. Anything to the power 0
    /// is 1.
    pub fn power_integer(self, exponent: i64) -> Result<Interval, Undefined> {
        if exponent >= 0 {
            return Ok(self.natural_power(exponent.unsigned_abs()));
        }
        // Divided first: the power of what is near 0 could underflow to it.
        let reciprocal = Interval::point(Rational::ONE).divide(self)?;
        Ok(reciprocal.natural_power(exponent.unsigned_abs()))
    }

    fn natural_power(self, exponent: u64) -> Interval {
        if exponent == 0 {
            return Interval {
                lower: Bound::ONE,
                upper: Bound::ONE,
            };
        }
        if exponent % 2 == 1 || !self.may_be_negative() {
            return Interval {
                lower: self.lower.power_integer(exponent, Toward::Below),
                upper: self.upper.power_integer(exponent, Toward::Above),
            };
        }
        if self.upper.sign() <= 0 {
            return self.negate().natural_power(exponent);
        }
        let farther = self.upper.max(self.lower.negate());
        Interval {
            lower: Bound::ZERO,
            upper: farther.power_integer(exponent, Toward::Above),
        }
    }

    /// A power. Where the exponent is not a whole number, undefined if the base may be negative,
    /// or 0 under an exponent below 0.
    pub fn power(self, exponent: Rational) -> Result<Interval, Undefined> {
        if let Some(whole) = exponent.as_integer() {
            let whole = i64::try_from(whole).map_err(|_| Undefined::OutsideDomain)?;
            return self.power_integer(whole);
        }
        let rises = exponent.sign() > 0;
        if self.may_be_negative() || (!rises && self.may_be_zero()) {
            return Err(Undefined::OutsideDomain);
        }
        let (least, greatest) = if rises {
            (self.lower, self.upper)
        } else {
            (self.upper, self.lower)
        };
        Ok(Interval {
            lower: least.power(exponent, Toward::Below),
            upper: greatest.power(exponent, Toward::Above),
        })
    }

    /// The square root; undefined where it may be negative.
    pub fn root(self) -> Result<Interval, Undefined> {
        self.power(Rational::constant(1, 2))
    }

    /// End by end the lesser: a missing operand leaves a half-line.
    pub fn lesser(self, other: Interval) -> Interval {
        Interval {
            lower: self.lower.min(other.lower),
            upper: self.upper.min(other.upper),
        }
    }

    /// End by end the greater.
    pub fn greater(self, other: Interval) -> Interval {
        Interval {
            lower: self.lower.max(other.lower),
            upper: self.upper.max(other.upper),
        }
    }

    /// The least interval that holds both.
    pub fn hull(self, other: Interval) -> Interval {
        Interval {
            lower: self.lower.min(other.lower),
            upper: self.upper.max(other.upper),
        }
    }

    /// What both hold; none where they exclude each other.
    pub fn intersect(self, other: Interval) -> Option<Interval> {
        let lower = self.lower.max(other.lower);
        let upper = self.upper.min(other.upper);
        (lower <= upper).then_some(Interval { lower, upper })
    }
}

impl From<Rational> for Interval {
    fn from(value: Rational) -> Self {
        Interval::point(value)
    }
}

/// Whether `left` is at least `right`: true for every pair of values, for none, or unknown.
#[inline]
pub fn is_at_least(left: Interval, right: Interval) -> Truth {
    if left.lower >= right.upper {
        Truth::True
    } else if left.upper < right.lower {
        Truth::False
    } else {
        Truth::Unknown
    }
}

/// Whether `left` is more than `right`.
#[inline]
pub fn is_more_than(left: Interval, right: Interval) -> Truth {
    is_at_least(right, left).negated()
}

/// Whether `left` is at most `right`.
#[inline]
pub fn is_at_most(left: Interval, right: Interval) -> Truth {
    is_at_least(right, left)
}

/// Whether `left` is less than `right`.
#[inline]
pub fn is_less_than(left: Interval, right: Interval) -> Truth {
    is_at_least(left, right).negated()
}

/// Whether both are the same value: true only of two points, false where they lie apart.
#[inline]
pub fn is_equal(left: Interval, right: Interval) -> Truth {
    if left.upper < right.lower || right.upper < left.lower {
        Truth::False
    } else if left.is_point() && right.is_point() {
        Truth::True
    } else {
        Truth::Unknown
    }
}

/// The least and greatest of an operation that is extreme at the ends of its operands.
fn extremes(
    left: Interval,
    right: Interval,
    operation: fn(Bound, Bound, Toward) -> Bound,
) -> Interval {
    let corners = |toward| {
        [
            operation(left.lower, right.lower, toward),
            operation(left.lower, right.upper, toward),
            operation(left.upper, right.lower, toward),
            operation(left.upper, right.upper, toward),
        ]
    };
    Interval {
        lower: corners(Toward::Below)
            .into_iter()
            .min()
            .expect("four corners"),
        upper: corners(Toward::Above)
            .into_iter()
            .max()
            .expect("four corners"),
    }
}
