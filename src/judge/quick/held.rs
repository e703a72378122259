//! How a condition comes out, and what is told of it.

use super::code::{Comparison, Form};
use crate::quantity::Near;
use crate::truth::Truth;

/// The margin of the comparison to tell, and the size of its limit. Nothing that is decided hangs
/// on it, so that it is rounded as floats are.
#[derive(Debug, Clone, Copy)]
pub(super) struct Told {
    /// "Not a number" where there is nothing to tell.
    lower: f64,
    upper: f64,
    limit: f64,
}

impl Told {
    pub const NOTHING: Told = Told {
        lower: f64::NAN,
        upper: f64::NAN,
        limit: 0.0,
    };

    pub fn new(margin: Near, limit: Near) -> Told {
        Told {
            lower: margin.lower(),
            upper: margin.upper(),
            limit: limit.lower().abs().max(limit.upper().abs()),
        }
    }

    /// The margin: positive where the comparison holds; nothing of labels.
    #[inline]
    pub fn of(comparison: &Comparison, a: Near, b: Near) -> Told {
        if !comparison.has_margin {
            return Told::NOTHING;
        }
        let (lower, upper) = (a.lower() - b.upper(), a.upper() - b.lower());
        let limit = if comparison.limit_is_left { a } else { b };
        let (lower, upper) = match comparison.form {
            Form::AtLeast | Form::MoreThan => (lower, upper),
            Form::Is => (-upper.max(-lower), -lower.max(-upper)),
        };
        Told {
            lower,
            upper,
            limit: limit.lower().abs().max(limit.upper().abs()),
        }
    }

    #[inline]
    pub fn negate(self) -> Told {
        Told {
            lower: -self.upper,
            upper: -self.lower,
            ..self
        }
    }

    /// The least that is allowed; none where that has no end, or where there is none.
    #[inline]
    pub fn margin(&self) -> Option<f64> {
        self.lower.is_finite().then_some(self.lower)
    }

    /// The same as a share of the limit; none where that says nothing.
    pub fn share(&self) -> Option<f64> {
        let says_something = self.limit.is_finite() && self.limit > 0.0;
        self.margin()
            .filter(|_| says_something)
            .map(|margin| margin / self.limit)
    }
}

/// How a condition came out.
#[derive(Debug, Clone, Copy)]
pub(super) struct Held {
    pub truth: Truth,
    /// Whether something was missing; never of what is decided.
    pub missing: bool,
    pub told: Told,
}

impl Held {
    #[inline]
    pub fn new(truth: Truth, missing: bool, told: Told) -> Held {
        Held {
            truth,
            missing: missing && !truth.is_definite(),
            told,
        }
    }

    #[inline]
    pub fn margin(&self) -> Option<f64> {
        self.told.margin()
    }
}
