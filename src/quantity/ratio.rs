//! Fractions of 64-bit numbers: exact like [`Rational`], and a good deal lighter, for the numbers
//! that people write.

use std::cmp::Ordering;

use super::number::Rational;

/// An exact fraction, perhaps not in lowest terms.
// Invariant: the denominator is positive and the numerator is not `i64::MIN`.
#[derive(Debug, Clone, Copy)]
pub struct Ratio {
    numerator: i64,
    denominator: i64,
}

/// By how much more than enough a quotient of rounded numbers is moved, as a share of it: each of
/// the three roundings is off by 2⁻⁵³ at the most.
const ROUNDING: f64 = 1.0 / (1_u64 << 50) as f64;

impl Ratio {
    /// 0
    pub const ZERO: Ratio = Ratio::whole(0);
    /// 1
    pub const ONE: Ratio = Ratio::whole(1);

    /// A place of a choice or size.
    pub fn place(place: u16) -> Ratio {
        Ratio::whole(place as i64)
    }

    /// A whole number that is not the least of its type.
    pub(super) const fn whole(value: i64) -> Ratio {
        Ratio {
            numerator: value,
            denominator: 1,
        }
    }

    /// A fraction; none where the denominator is not above 0.
    #[inline]
    pub(super) fn new(numerator: i64, denominator: i64) -> Option<Ratio> {
        (denominator > 0 && numerator != i64::MIN).then_some(Ratio {
            numerator,
            denominator,
        })
    }

    /// The same value; none where it does not fit.
    #[inline]
    pub fn of(value: Rational) -> Option<Ratio> {
        let (numerator, denominator) = value.as_written();
        let numerator = i64::try_from(numerator).ok()?;
        Ratio::new(numerator, i64::try_from(denominator).ok()?)
    }

    /// The same value.
    #[inline]
    pub fn rational(self) -> Rational {
        Rational::small(self.numerator, self.denominator)
    }

    /// Whether it is 0.
    #[inline]
    pub fn is_zero(self) -> bool {
        self.numerator == 0
    }

    /// Whether it is below 0.
    #[inline]
    pub fn is_negative(self) -> bool {
        self.numerator < 0
    }

    /// Whether it is kept as a whole number.
    #[inline]
    pub(super) fn is_whole(self) -> bool {
        self.denominator == 1
    }

    /// The value with its sign turned.
    #[inline]
    pub fn negate(self) -> Ratio {
        Ratio {
            numerator: -self.numerator,
            ..self
        }
    }

    /// The exact product; none where it does not fit.
    #[inline]
    pub fn checked_multiply(self, other: Ratio) -> Option<Ratio> {
        Ratio::new(
            self.numerator.checked_mul(other.numerator)?,
            self.denominator.checked_mul(other.denominator)?,
        )
    }

    /// The exact sum; none where it does not fit.
    #[inline]
    pub fn checked_add(self, other: Ratio) -> Option<Ratio> {
        if self.denominator == other.denominator {
            let sum = self.numerator.checked_add(other.numerator)?;
            return Ratio::new(sum, self.denominator);
        }
        let own = self.numerator.checked_mul(other.denominator)?;
        let others = other.numerator.checked_mul(self.denominator)?;
        Ratio::new(
            own.checked_add(others)?,
            self.denominator.checked_mul(other.denominator)?,
        )
    }

    /// The exact difference; none where it does not fit.
    #[inline]
    pub fn checked_subtract(self, other: Ratio) -> Option<Ratio> {
        self.checked_add(other.negate())
    }

    /// Floats not above and not below it; the same one twice only where it is that float.
    #[inline]
    pub fn enclosure(self) -> (f64, f64) {
        const EXACT: u64 = 1 << 53;
        let Ratio {
            numerator,
            denominator,
        } = self;
        let nearest = numerator as f64 / denominator as f64;
        if numerator.unsigned_abs() > EXACT || denominator.unsigned_abs() > EXACT {
            let off = nearest.abs() * ROUNDING;
            return (nearest - off, nearest + off);
        }
        // Both are floats, so that the quotient is the nearest float to the value, and is the value
        // where the odd part of the denominator goes into the numerator.
        let odd = denominator >> denominator.trailing_zeros();
        if odd == 1 || numerator % odd == 0 {
            (nearest, nearest)
        } else {
            (nearest.next_down(), nearest.next_up())
        }
    }
}

impl Ord for Ratio {
    #[inline]
    fn cmp(&self, other: &Self) -> Ordering {
        let cross = |a: i64, b: i64| i128::from(a) * i128::from(b);
        let left = cross(self.numerator, other.denominator);
        left.cmp(&cross(other.numerator, self.denominator))
    }
}

impl PartialOrd for Ratio {
    #[inline]
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Ratio {
    #[inline]
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Ratio {}
