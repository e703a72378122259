//! Floats around an exact interval: what is decided by them is decided, and where they touch the
//! exact interval is asked.
//!
//! Every end is rounded outward, so that the exact interval lies within (a filter, as exact
//! geometry puts one before its exact predicates).

use super::end::End;
use super::interval::Interval;
use super::ratio::Ratio;
use crate::truth::Truth;

/// Floats around an interval, an end at infinity where it has none. What is no number goes by one
/// too: a label by its place, yes and no by 1 and 0; what is not recorded is the whole line.
// Invariant: lower ≤ upper, lower is not plus infinity, upper is not minus infinity, neither is
// "not a number". A single float is exactly that value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Near {
    lower: f64,
    upper: f64,
}

impl Near {
    /// Every value.
    pub const WHOLE: Near = Near {
        lower: f64::NEG_INFINITY,
        upper: f64::INFINITY,
    };

    /// From one whole number to another, or to no end.
    #[inline]
    pub fn counted(least: u32, most: Option<u32>) -> Near {
        Near {
            lower: f64::from(least),
            upper: most.map_or(f64::INFINITY, f64::from),
        }
    }

    /// A float that is the value itself.
    #[cfg(test)]
    pub(super) fn point(value: f64) -> Near {
        Near {
            lower: value,
            upper: value,
        }
    }

    /// Around an interval.
    pub fn around(interval: Interval) -> Near {
        let (lower, upper) = (interval.lower(), interval.upper());
        Near {
            lower: lower.map_or(f64::NEG_INFINITY, |end| of(end).0),
            upper: upper.map_or(f64::INFINITY, |end| of(end).1),
        }
    }

    /// Around a value.
    #[inline]
    pub fn of(value: Ratio) -> Near {
        let (lower, upper) = value.enclosure();
        Near { lower, upper }
    }

    /// Around a value with its tolerance, which is not below 0.
    #[inline(always)]
    pub fn band(nominal: Ratio, tolerance: Ratio) -> Near {
        if tolerance.is_zero() {
            return Near::of(nominal);
        }
        match nominal.band(tolerance) {
            Some((lower, upper)) => Near { lower, upper },
            None => Near::around(Interval::band(nominal.rational(), tolerance.rational())),
        }
    }

    /// Not above the lower end of what it encloses.
    #[inline]
    pub fn lower(self) -> f64 {
        self.lower
    }

    /// Not below the upper end of what it encloses.
    #[inline]
    pub fn upper(self) -> f64 {
        self.upper
    }

    /// The greatest that it may be, its sign apart.
    #[inline]
    pub fn size(self) -> f64 {
        greater(self.lower.abs(), self.upper.abs())
    }

    /// Whether nothing is known.
    #[inline]
    pub fn is_whole(self) -> bool {
        (self.lower == f64::NEG_INFINITY) & (self.upper == f64::INFINITY)
    }

    /// Whether it is one value exactly.
    #[inline]
    pub fn is_point(self) -> bool {
        self.lower == self.upper
    }

    /// Around the values with their sign turned.
    #[inline]
    pub fn negate(self) -> Near {
        Near {
            lower: -self.upper,
            upper: -self.lower,
        }
    }

    /// Around the sums.
    #[inline]
    pub fn plus(self, other: Near) -> Near {
        Near {
            lower: below(self.lower + other.lower),
            upper: above(self.upper + other.upper),
        }
    }

    /// Around the products. 0 times what has no end is 0.
    #[inline]
    pub fn times(self, other: Near) -> Near {
        if (self.lower > 0.0) & (other.lower > 0.0) {
            return Near {
                lower: below_positive(self.lower * other.lower),
                upper: above_positive(self.upper * other.upper),
            };
        }
        self.times_any(other)
    }

    #[inline(never)]
    fn times_any(self, other: Near) -> Near {
        let is_zero = |near: Near| (near.lower == 0.0) & (near.upper == 0.0);
        if (self.is_whole() & !is_zero(other)) | (other.is_whole() & !is_zero(self)) {
            return Near::WHOLE;
        }
        let corners = |outward| {
            [
                product(self.lower, other.lower, outward),
                product(self.lower, other.upper, outward),
                product(self.upper, other.lower, outward),
                product(self.upper, other.upper, outward),
            ]
        };
        Near {
            lower: least(corners(Outward::Below)),
            upper: greatest(corners(Outward::Above)),
        }
    }

    /// Around the quotients; none where the divisor may be 0, or both may have no end and are not
    /// both above 0. What is divided by what has no end comes as near to 0 as can be.
    #[inline]
    pub fn over(self, divisor: Near) -> Option<Near> {
        if (self.lower > 0.0) & (divisor.lower > 0.0) {
            return Some(Near {
                lower: below_positive(self.lower / divisor.upper),
                upper: above_positive(self.upper / divisor.lower),
            });
        }
        self.over_any(divisor)
    }

    #[inline(never)]
    fn over_any(self, divisor: Near) -> Option<Near> {
        let excludes_zero = divisor.lower > 0.0 || divisor.upper < 0.0;
        let is_finite = |near: Near| near.lower.is_finite() && near.upper.is_finite();
        if !excludes_zero || !(is_finite(self) || is_finite(divisor)) {
            return None;
        }
        if self.is_whole() {
            return Some(Near::WHOLE);
        }
        let corners = |outward| {
            [
                quotient(self.lower, divisor.lower, outward),
                quotient(self.lower, divisor.upper, outward),
                quotient(self.upper, divisor.lower, outward),
                quotient(self.upper, divisor.upper, outward),
            ]
        };
        Some(Near {
            lower: least(corners(Outward::Below)),
            upper: greatest(corners(Outward::Above)),
        })
    }

    /// Around a power, other than 0, of what is not negative or nothing is known of; none of
    /// anything else.
    #[inline]
    pub fn raised(self, exponent: u8) -> Option<Near> {
        if exponent == 0 {
            return Some(Near::counted(1, Some(1)));
        }
        if self.lower < 0.0 {
            let is_odd = exponent % 2 == 1;
            let lower = if is_odd { f64::NEG_INFINITY } else { 0.0 };
            return self.is_whole().then_some(Near {
                lower,
                ..Near::WHOLE
            });
        }
        Some((1..exponent).fold(self, |power, _| power.times(self)))
    }

    /// Around the square root of what is not negative; none of anything else.
    #[inline]
    pub fn root(self) -> Option<Near> {
        (self.lower >= 0.0).then(|| Near {
            lower: greater(below(libm::sqrt(self.lower)), 0.0),
            upper: above(libm::sqrt(self.upper)),
        })
    }

    /// End by end the lesser.
    #[inline]
    pub fn lesser(self, other: Near) -> Near {
        Near {
            lower: lesser(self.lower, other.lower),
            upper: lesser(self.upper, other.upper),
        }
    }

    /// End by end the greater.
    #[inline]
    pub fn greater(self, other: Near) -> Near {
        Near {
            lower: greater(self.lower, other.lower),
            upper: greater(self.upper, other.upper),
        }
    }

    /// The least that holds both.
    #[inline]
    pub fn hull(self, other: Near) -> Near {
        Near {
            lower: lesser(self.lower, other.lower),
            upper: greater(self.upper, other.upper),
        }
    }

    /// Whether both are the same value: true or false only where the exact intervals say so.
    #[inline]
    pub fn is_equal(self, other: Near) -> Truth {
        if self.upper < other.lower || other.upper < self.lower {
            Truth::False
        } else if self.is_point() && other.is_point() {
            Truth::True
        } else {
            Truth::Unknown
        }
    }
}

// Results are moved outward, exact ones other than 0 too: to find out which are would take longer
// than to work out exactly those that it leaves open.

// One instruction each; `f64::min` and `max` go out of their way for "not a number".

/// The lesser; the other one where the first is not a number.
#[inline]
fn lesser(one: f64, other: f64) -> f64 {
    if one < other { one } else { other }
}

/// The greater, likewise.
#[inline]
fn greater(one: f64, other: f64) -> f64 {
    if one > other { one } else { other }
}

/// Not above any sum that is rounded to this one.
#[inline]
fn below(rounded: f64) -> f64 {
    // At least as far as the next float lies. Sums that are so small that this is nothing are
    // exact, and what is too great for floats is at least the greatest.
    lesser(rounded + rounded.abs() * -f64::EPSILON, f64::MAX)
}

/// Not below any of them.
#[inline]
fn above(rounded: f64) -> f64 {
    greater(rounded + rounded.abs() * f64::EPSILON, f64::MIN)
}

/// No product or quotient is further off where it is too small for floats.
const LEAST: f64 = f64::MIN_POSITIVE;

/// Not above a product or quotient that is more than 0.
#[inline]
fn below_positive(rounded: f64) -> f64 {
    lesser(rounded * (1.0 - f64::EPSILON) - LEAST, f64::MAX)
}

/// Not below it.
#[inline]
fn above_positive(rounded: f64) -> f64 {
    rounded * (1.0 + f64::EPSILON) + LEAST
}

/// Outward of what is not 0.
#[derive(Clone, Copy)]
enum Outward {
    Below,
    Above,
}

impl Outward {
    #[inline]
    fn of(self, rounded: f64, is_positive: bool) -> f64 {
        match (self, is_positive) {
            (Outward::Below, true) => below_positive(rounded),
            (Outward::Above, true) => above_positive(rounded),
            (Outward::Below, false) => -above_positive(-rounded),
            (Outward::Above, false) => -below_positive(-rounded),
        }
    }
}

/// The product, moved outward; 0 times anything is 0.
#[inline]
fn product(a: f64, b: f64, outward: Outward) -> f64 {
    if a == 0.0 || b == 0.0 {
        return 0.0;
    }
    outward.of(a * b, (a > 0.0) == (b > 0.0))
}

/// The quotient, likewise; anything by what has no end is 0.
#[inline]
fn quotient(a: f64, b: f64, outward: Outward) -> f64 {
    if a == 0.0 || b.is_infinite() {
        return 0.0;
    }
    outward.of(a / b, (a > 0.0) == (b > 0.0))
}

#[inline]
fn least([a, b, c, d]: [f64; 4]) -> f64 {
    lesser(lesser(a, b), lesser(c, d))
}

#[inline]
fn greatest([a, b, c, d]: [f64; 4]) -> f64 {
    greater(greater(a, b), greater(c, d))
}

fn of(end: End) -> (f64, f64) {
    match end {
        End::Exact(value) => match Ratio::of(value) {
            Some(small) => small.enclosure(),
            None => value.enclosure(),
        },
        End::Rounded(value) => (value.get(), value.get()),
    }
}
