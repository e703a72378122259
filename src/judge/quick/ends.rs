//! What numbers are worked out in: floats around them, floats and how far those are off, or exactly.

use super::code::{Fact, Known};
use super::walk::QuickWalk;
use crate::figures::Scope;
use crate::quantity::{Interval, Near, Rational};

/// From one end to another, in one way of keeping ends. What is not defined is none.
pub(super) trait Ends: Copy + PartialEq {
    const WHOLE: Self;

    fn known(known: &Known) -> Self;
    /// None where only the record knows it.
    fn fact(walk: &QuickWalk<'_, '_>, fact: Fact, scope: Scope) -> Option<Self>;
    /// From one whole number to another, or to no end.
    fn counted(least: u32, most: Option<u32>) -> Self;
    fn is_whole(self) -> bool;
    fn negate(self) -> Self;
    fn plus(self, other: Self) -> Self;
    fn times(self, other: Self) -> Self;
    fn over(self, divisor: Self) -> Option<Self>;
    fn raised(self, exponent: u8) -> Option<Self>;
    fn root(self) -> Option<Self>;
    fn lesser(self, other: Self) -> Self;
    fn greater(self, other: Self) -> Self;
    fn hull(self, other: Self) -> Self;
}

impl Ends for Near {
    const WHOLE: Near = Near::WHOLE;

    #[inline]
    fn known(known: &Known) -> Near {
        known.near
    }

    #[inline]
    fn fact(walk: &QuickWalk<'_, '_>, fact: Fact, scope: Scope) -> Option<Near> {
        Some(walk.near(fact, scope))
    }

    fn counted(least: u32, most: Option<u32>) -> Near {
        Near::counted(least, most)
    }

    #[inline]
    fn is_whole(self) -> bool {
        Near::is_whole(self)
    }

    #[inline]
    fn negate(self) -> Near {
        Near::negate(self)
    }

    #[inline]
    fn plus(self, other: Near) -> Near {
        Near::plus(self, other)
    }

    #[inline]
    fn times(self, other: Near) -> Near {
        Near::times(self, other)
    }

    #[inline]
    fn over(self, divisor: Near) -> Option<Near> {
        Near::over(self, divisor)
    }

    fn raised(self, exponent: u8) -> Option<Near> {
        Near::raised(self, exponent)
    }

    fn root(self) -> Option<Near> {
        Near::root(self)
    }

    fn lesser(self, other: Near) -> Near {
        Near::lesser(self, other)
    }

    fn greater(self, other: Near) -> Near {
        Near::greater(self, other)
    }

    fn hull(self, other: Near) -> Near {
        Near::hull(self, other)
    }
}

impl Ends for Interval {
    const WHOLE: Interval = Interval::WHOLE;

    fn known(known: &Known) -> Interval {
        *known.exact
    }

    fn fact(walk: &QuickWalk<'_, '_>, fact: Fact, scope: Scope) -> Option<Interval> {
        walk.exact(fact, scope)
    }

    fn counted(least: u32, most: Option<u32>) -> Interval {
        let least = Interval::at_least(Rational::from_integer(least.into()));
        match most {
            Some(most) => {
                let most = Interval::at_most(Rational::from_integer(most.into()));
                least.intersect(most).unwrap_or(Interval::WHOLE)
            }
            None => least,
        }
    }

    fn is_whole(self) -> bool {
        Interval::is_whole(self)
    }

    fn negate(self) -> Interval {
        Interval::negate(self)
    }

    fn plus(self, other: Interval) -> Interval {
        self.add(other)
    }

    fn times(self, other: Interval) -> Interval {
        self.multiply(other)
    }

    fn over(self, divisor: Interval) -> Option<Interval> {
        self.divide(divisor).ok()
    }

    fn raised(self, exponent: u8) -> Option<Interval> {
        self.power_integer(exponent.into()).ok()
    }

    fn root(self) -> Option<Interval> {
        Interval::root(self).ok()
    }

    fn lesser(self, other: Interval) -> Interval {
        Interval::lesser(self, other)
    }

    fn greater(self, other: Interval) -> Interval {
        Interval::greater(self, other)
    }

    fn hull(self, other: Interval) -> Interval {
        Interval::hull(self, other)
    }
}

/// Floats around a number, and how far each of them may lie from the end it stands for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Slack {
    near: Near,
    off: f64,
}

/// By how much one operation on floats moves an end at the most, as a share of it, and more.
const ROUNDING: f64 = 1.0 / (1_u64 << 49) as f64;

impl Slack {
    /// Of ends that were rounded once beside what was off before.
    fn rounded(near: Near, off: f64) -> Slack {
        Slack {
            // What is too small for floats is moved as well.
            off: off + finite_size(near) * ROUNDING + f64::MIN_POSITIVE,
            near,
        }
    }

    /// What a product is off by.
    fn of_product(self, other: Slack) -> f64 {
        let (size, others) = (finite_size(self.near), finite_size(other.near));
        size * other.off + others * self.off + self.off * other.off
    }

    fn either(self, other: Slack, near: Near) -> Slack {
        Slack {
            near,
            off: self.off.max(other.off),
        }
    }

    /// Whether the numbers themselves overlap for sure, so that neither is at least, nor less than,
    /// the other for all values.
    pub fn surely_overlaps(self, other: Slack) -> bool {
        let off = 2.0 * (self.off + other.off);
        self.near.lower() + off < other.near.upper() && other.near.lower() + off < self.near.upper()
    }
}

/// The size of the ends, those at infinity apart.
fn finite_size(near: Near) -> f64 {
    let of = |end: f64| if end.is_finite() { end.abs() } else { 0.0 };
    of(near.lower()).max(of(near.upper()))
}

impl Ends for Slack {
    const WHOLE: Slack = Slack {
        near: Near::WHOLE,
        off: 0.0,
    };

    fn known(known: &Known) -> Slack {
        Slack::rounded(known.near, 0.0)
    }

    fn fact(walk: &QuickWalk<'_, '_>, fact: Fact, scope: Scope) -> Option<Slack> {
        Some(Slack::rounded(walk.near(fact, scope), 0.0))
    }

    fn counted(least: u32, most: Option<u32>) -> Slack {
        Slack {
            near: Near::counted(least, most),
            off: 0.0,
        }
    }

    fn is_whole(self) -> bool {
        self.near.is_whole()
    }

    fn negate(self) -> Slack {
        Slack {
            near: self.near.negate(),
            ..self
        }
    }

    fn plus(self, other: Slack) -> Slack {
        Slack::rounded(self.near.plus(other.near), self.off + other.off)
    }

    fn times(self, other: Slack) -> Slack {
        Slack::rounded(self.near.times(other.near), self.of_product(other))
    }

    fn over(self, divisor: Slack) -> Option<Slack> {
        let (lower, upper) = (divisor.near.lower(), divisor.near.upper());
        let least = lower.abs().min(upper.abs());
        let quotient = self.near.over(divisor.near)?;
        // The divisor that it stands for is half of this at the least, or the slack says nothing.
        let off = if divisor.off <= least / 2.0 {
            2.0 * (self.off + finite_size(quotient) * divisor.off) / least
        } else {
            f64::INFINITY
        };
        Some(Slack::rounded(quotient, off))
    }

    fn raised(self, exponent: u8) -> Option<Slack> {
        let near = self.near.raised(exponent)?;
        let mut power = self;
        for _ in 1..exponent {
            power = power.times(self);
        }
        Some(Slack::rounded(near, power.off))
    }

    fn root(self) -> Option<Slack> {
        // How far a root is off grows without end towards 0; nothing hangs on it.
        Some(Slack::rounded(self.near.root()?, f64::INFINITY))
    }

    fn lesser(self, other: Slack) -> Slack {
        self.either(other, self.near.lesser(other.near))
    }

    fn greater(self, other: Slack) -> Slack {
        self.either(other, self.near.greater(other.near))
    }

    fn hull(self, other: Slack) -> Slack {
        self.either(other, self.near.hull(other.near))
    }
}
