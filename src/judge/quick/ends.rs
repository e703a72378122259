//! What numbers are worked out in: floats around them, or exactly.

use super::code::Known;
use crate::figures::{Figures, Thing};
use crate::quantity::{Interval, Near, Rational, is_at_least, is_equal};
use crate::survey::Mode;
use crate::truth::Truth;
use crate::vocabulary::FactId;

/// From one end to another, in one way of keeping ends. What is not defined is none.
pub(super) trait Ends: Copy + PartialEq {
    const WHOLE: Self;

    fn known(known: &Known) -> Self;
    /// None where only the record knows it.
    fn fact(figures: &Figures, mode: Mode, thing: Thing, fact: FactId) -> Option<Self>;
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
    fn is_at_least(self, other: Self) -> Truth;
    fn is_equal(self, other: Self) -> Truth;
}

impl Ends for Near {
    const WHOLE: Near = Near::WHOLE;

    #[inline]
    fn known(known: &Known) -> Near {
        known.near
    }

    #[inline]
    fn fact(figures: &Figures, mode: Mode, thing: Thing, fact: FactId) -> Option<Near> {
        Some(figures.near(mode, thing, fact))
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

    #[inline]
    fn is_at_least(self, other: Near) -> Truth {
        Near::is_at_least(self, other)
    }

    #[inline]
    fn is_equal(self, other: Near) -> Truth {
        Near::is_equal(self, other)
    }
}

impl Ends for Interval {
    const WHOLE: Interval = Interval::WHOLE;

    fn known(known: &Known) -> Interval {
        *known.exact
    }

    fn fact(figures: &Figures, mode: Mode, thing: Thing, fact: FactId) -> Option<Interval> {
        figures.exact(mode, thing, fact)
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

    fn is_at_least(self, other: Interval) -> Truth {
        is_at_least(self, other)
    }

    fn is_equal(self, other: Interval) -> Truth {
        is_equal(self, other)
    }
}
