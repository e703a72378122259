//! Floats around an exact interval: what is decided by them is decided, and where they touch the
//! exact interval is asked.
//!
//! Every end is rounded outward, so that the exact interval lies within (a filter, as exact
//! geometry puts one before its exact predicates).

use super::end::End;
use super::interval::Interval;
use super::number::Rational;
use crate::truth::Truth;

/// Floats around an interval, an end at infinity where it has none. What is no number goes by one
/// too: a label by its place, yes and no by 1 and 0; what is not recorded is the whole line.
// Invariant: lower ≤ upper, lower is not plus infinity, upper is not minus infinity, neither is
// "not a number". A single float is exactly that value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Near {
    lower: f64,
    upper: f64,
    /// No end that is finite lies farther than this from the end it stands for.
    slack: f64,
}

/// By how much one rounding outward moves a float at the most, as a share of it, and more.
const ROUNDING: f64 = 1.0 / (1_u64 << 50) as f64;

impl Near {
    /// Every value.
    pub const WHOLE: Near = Near {
        lower: f64::NEG_INFINITY,
        upper: f64::INFINITY,
        slack: 0.0,
    };

    /// A place of a choice or size, or a truth.
    #[inline]
    pub fn exactly(value: u16) -> Near {
        let value = f64::from(value);
        Near {
            lower: value,
            upper: value,
            slack: 0.0,
        }
    }

    /// Around an interval.
    pub fn around(interval: Interval) -> Near {
        let (lower, upper) = (interval.lower(), interval.upper());
        Near::rounded(
            lower.map_or(f64::NEG_INFINITY, |end| of(end).0),
            upper.map_or(f64::INFINITY, |end| of(end).1),
            0.0,
        )
    }

    /// Its ends: what it takes to have it again.
    #[inline]
    pub fn ends(self) -> [f64; 2] {
        [self.lower, self.upper]
    }

    /// Between two ends of which nobody says how far they are off.
    #[inline]
    pub fn between([lower, upper]: [f64; 2]) -> Near {
        Near {
            lower,
            upper,
            slack: f64::INFINITY,
        }
    }

    /// What [`Near::around`] or [`Near::exactly`] gave, of its ends.
    #[inline]
    pub fn again([lower, upper]: [f64; 2]) -> Near {
        Near::rounded(lower, upper, 0.0)
    }

    /// From one float to another, each rounded outward once beside what was off before.
    #[inline]
    fn rounded(lower: f64, upper: f64, slack: f64) -> Near {
        let near = Near {
            lower,
            upper,
            slack,
        };
        Near {
            slack: slack + near.size() * ROUNDING,
            ..near
        }
    }

    /// The size of its ends, those at infinity apart.
    #[inline]
    fn size(self) -> f64 {
        let of = |end: f64| if end.is_finite() { end.abs() } else { 0.0 };
        of(self.lower).max(of(self.upper))
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

    /// Whether nothing is known.
    #[inline]
    pub fn is_whole(self) -> bool {
        self.lower == f64::NEG_INFINITY && self.upper == f64::INFINITY
    }

    /// Whether it is one value exactly.
    #[inline]
    pub fn is_point(self) -> bool {
        self.lower == self.upper
    }

    #[inline]
    fn is_finite(self) -> bool {
        self.lower.is_finite() && self.upper.is_finite()
    }

    /// Whether 0 lies outside.
    #[inline]
    fn excludes_zero(self) -> bool {
        self.lower > 0.0 || self.upper < 0.0
    }

    /// Around the values with their sign turned.
    #[inline]
    pub fn negate(self) -> Near {
        Near {
            lower: -self.upper,
            upper: -self.lower,
            ..self
        }
    }

    /// Around the sums.
    #[inline]
    pub fn plus(self, other: Near) -> Near {
        Near::rounded(
            sum(self.lower, other.lower, f64::next_down),
            sum(self.upper, other.upper, f64::next_up),
            self.slack + other.slack,
        )
    }

    /// Around the differences.
    #[inline]
    pub fn minus(self, other: Near) -> Near {
        self.plus(other.negate())
    }

    /// Around the products; none where an end at infinity may meet a 0.
    #[inline]
    pub fn times(self, other: Near) -> Option<Near> {
        if self.is_finite() && other.is_finite() {
            let corners = [
                self.lower * other.lower,
                self.lower * other.upper,
                self.upper * other.lower,
                self.upper * other.upper,
            ];
            return Some(outward(corners, self.slack_of_product(other)));
        }
        let is_sure = |whole: Near, by: Near| {
            whole.is_whole() && (by.is_whole() || (by.is_finite() && by.excludes_zero()))
        };
        (is_sure(self, other) || is_sure(other, self)).then_some(Near::WHOLE)
    }

    /// Around the quotients; none where the divisor may be 0 or an end lies at infinity. By what
    /// is not known everything is possible.
    #[inline]
    pub fn over(self, divisor: Near) -> Option<Near> {
        if divisor.is_whole() || (self.is_whole() && divisor.excludes_zero()) {
            return Some(Near::WHOLE);
        }
        if !self.is_finite() || !divisor.is_finite() || !divisor.excludes_zero() {
            return None;
        }
        let corners = [
            self.lower / divisor.lower,
            self.lower / divisor.upper,
            self.upper / divisor.lower,
            self.upper / divisor.upper,
        ];
        let size = corners.map(f64::abs).into_iter().fold(0.0, f64::max);
        // The divisor that it stands for is half of this at the least, or the slack says nothing.
        let least = divisor.lower.abs().min(divisor.upper.abs());
        let slack = if divisor.slack <= least / 2.0 {
            2.0 * (self.slack + size * divisor.slack) / least
        } else {
            f64::INFINITY
        };
        Some(outward(corners, slack))
    }

    #[inline]
    fn slack_of_product(self, other: Near) -> f64 {
        self.size() * other.slack + other.size() * self.slack + self.slack * other.slack
    }

    /// Around a power of what is not negative; none of anything else.
    #[inline]
    pub fn raised(self, exponent: u8) -> Option<Near> {
        if !(self.is_finite() && self.lower >= 0.0) {
            return None;
        }
        let mut power = Near::exactly(1);
        for _ in 0..exponent {
            power = Near::rounded(
                (power.lower * self.lower).next_down().max(0.0),
                (power.upper * self.upper).next_up(),
                power.slack_of_product(self),
            );
        }
        Some(power)
    }

    /// Around the square root of what is not negative; none of anything else.
    #[inline]
    pub fn root(self) -> Option<Near> {
        // How far the root is off grows without end towards 0; nothing hangs on it.
        (self.is_finite() && self.lower >= 0.0).then(|| Near {
            lower: libm::sqrt(self.lower).next_down().max(0.0),
            upper: libm::sqrt(self.upper).next_up(),
            slack: f64::INFINITY,
        })
    }

    /// End by end the lesser.
    #[inline]
    pub fn lesser(self, other: Near) -> Near {
        Near {
            lower: self.lower.min(other.lower),
            upper: self.upper.min(other.upper),
            slack: self.slack.max(other.slack),
        }
    }

    /// End by end the greater.
    #[inline]
    pub fn greater(self, other: Near) -> Near {
        Near {
            lower: self.lower.max(other.lower),
            upper: self.upper.max(other.upper),
            slack: self.slack.max(other.slack),
        }
    }

    /// The least that holds both.
    #[inline]
    pub fn hull(self, other: Near) -> Near {
        Near {
            lower: self.lower.min(other.lower),
            upper: self.upper.max(other.upper),
            slack: self.slack.max(other.slack),
        }
    }

    /// From what is at least this.
    #[inline]
    pub fn or_more(self) -> Near {
        Near {
            lower: self.lower,
            upper: f64::INFINITY,
            ..self
        }
    }

    /// Whether it is at least the other: true or false only where the exact intervals say so.
    #[inline]
    pub fn is_at_least(self, other: Near) -> Truth {
        if self.lower >= other.upper {
            Truth::True
        } else if self.upper < other.lower {
            Truth::False
        } else {
            Truth::Unknown
        }
    }

    /// Whether the exact intervals overlap for sure, so that neither is at least, nor less than, the
    /// other for all values.
    #[inline]
    pub fn surely_overlaps(self, other: Near) -> bool {
        let slack = 2.0 * (self.slack + other.slack);
        self.lower + slack < other.upper && other.lower + slack < self.upper
    }

    /// Whether both are the same value, likewise.
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

/// The sum, moved outward unless it is exact: its error is a float itself (Knuth's two-sum).
#[inline]
fn sum(a: f64, b: f64, outward: fn(f64) -> f64) -> f64 {
    let sum = a + b;
    let rest = sum - a;
    let error = (a - (sum - rest)) + (b - rest);
    if error == 0.0 { sum } else { outward(sum) }
}

/// From the least to the greatest of four rounded values.
#[inline]
fn outward(corners: [f64; 4], slack: f64) -> Near {
    let [a, b, c, d] = corners;
    Near::rounded(
        a.min(b).min(c.min(d)).next_down(),
        a.max(b).max(c.max(d)).next_up(),
        slack,
    )
}

fn of(end: End) -> (f64, f64) {
    match end {
        End::Exact(value) => floats(value),
        End::Rounded(value) => (value.get(), value.get()),
    }
}

/// Floats not above and not below a value; the same one twice only where it is that float.
fn floats(value: Rational) -> (f64, f64) {
    const EXACT: u64 = 1 << 53;
    let (numerator, denominator) = value.as_written();
    let (Ok(numerator), Ok(denominator)) = (i64::try_from(numerator), i64::try_from(denominator))
    else {
        return value.enclosure();
    };
    if numerator.unsigned_abs() > EXACT || denominator.unsigned_abs() > EXACT {
        return value.enclosure();
    }
    // Both are floats, so that the quotient is the nearest float to the value.
    let nearest = numerator as f64 / denominator as f64;
    if numerator == 0 || denominator & (denominator - 1) == 0 {
        (nearest, nearest)
    } else {
        (nearest.next_down(), nearest.next_up())
    }
}
