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
        let (own, others, denominator) = self.over_one_denominator(other)?;
        Ratio::new(own.checked_add(others)?, denominator)
    }

    /// Floats not above and not below it; the same one twice only where it is that float.
    #[inline]
    pub fn enclosure(self) -> (f64, f64) {
        let (below, nearest, above) = self.around();
        // The nearest is the value itself where the odd part of the denominator goes into the
        // numerator.
        let odd = self.denominator >> self.denominator.trailing_zeros();
        match self.fits_floats() && (odd == 1 || self.numerator % odd == 0) {
            true => (nearest, nearest),
            false => (below, above),
        }
    }

    /// A float not above the value less a tolerance that is not below 0, and one not below the
    /// value and the tolerance; none where those don't fit.
    #[inline]
    pub(super) fn band(self, tolerance: Ratio) -> Option<(f64, f64)> {
        let (own, off, denominator) = self.over_one_denominator(tolerance)?;
        let lower = Ratio::new(own.checked_sub(off)?, denominator)?;
        let upper = Ratio::new(own.checked_add(off)?, denominator)?;
        Some((lower.around().0, upper.around().2))
    }

    /// The numerators of both over one denominator.
    #[inline]
    fn over_one_denominator(self, other: Ratio) -> Option<(i64, i64, i64)> {
        if self.denominator == other.denominator {
            return Some((self.numerator, other.numerator, self.denominator));
        }
        Some((
            self.numerator.checked_mul(other.denominator)?,
            other.numerator.checked_mul(self.denominator)?,
            self.denominator.checked_mul(other.denominator)?,
        ))
    }

    /// A float below it, one near it and one above it.
    #[inline]
    fn around(self) -> (f64, f64, f64) {
        let nearest = self.numerator as f64 / self.denominator as f64;
        let off = nearest.abs() * ROUNDING;
        (nearest - off, nearest, nearest + off)
    }

    /// Whether its numbers are floats themselves, so that the quotient is the nearest to the value.
    #[inline]
    fn fits_floats(self) -> bool {
        const EXACT: u64 = 1 << 53;
        self.numerator.unsigned_abs() <= EXACT && self.denominator.unsigned_abs() <= EXACT
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
