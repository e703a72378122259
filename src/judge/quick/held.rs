//! How a condition comes out, and what is told of it.

use super::code::Form;
use crate::finding::Verdict;
use crate::judge::asked;
use crate::quantity::Near;
use crate::truth::Truth;

/// How a condition came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Held {
    True,
    False,
    /// Not decided, though nothing is missing for it.
    Close,
    /// Not decided, and something is missing for it.
    Missing,
}

impl Held {
    #[inline]
    pub fn new(truth: Truth, missing: bool) -> Held {
        match truth {
            Truth::True => Held::True,
            Truth::False => Held::False,
            Truth::Unknown if missing => Held::Missing,
            Truth::Unknown => Held::Close,
        }
    }

    #[inline]
    pub fn truth(self) -> Truth {
        match self {
            Held::True => Truth::True,
            Held::False => Truth::False,
            Held::Close | Held::Missing => Truth::Unknown,
        }
    }

    // What comes of conditions is looked up, not asked: which of two it is, nobody can foresee.

    /// The opposite.
    #[inline]
    pub fn negated(self) -> Held {
        const NOT: [Held; 4] = [Held::False, Held::True, Held::Close, Held::Missing];
        NOT[self as usize]
    }

    /// Both.
    #[inline]
    pub fn and(self, other: Held) -> Held {
        const AND: [[Held; 4]; 4] = {
            use Held::{Close, False, Missing, True};
            [
                [True, False, Close, Missing],
                [False, False, False, False],
                [Close, False, Close, Missing],
                [Missing, False, Missing, Missing],
            ]
        };
        AND[self as usize][other as usize]
    }

    /// At least one.
    #[inline]
    pub fn or(self, other: Held) -> Held {
        self.negated().and(other.negated()).negated()
    }
}

/// The verdict for each way in which what is asked may come out, where the rule applies.
#[derive(Debug)]
pub(super) struct Verdicts([Verdict; 4]);

impl Verdicts {
    /// By what it is where that holds.
    pub fn of_demand(in_order: Verdict) -> Verdicts {
        let verdict = |held: Held| {
            let is_missing = held == Held::Missing;
            asked(Truth::True, held.truth(), in_order, is_missing)
        };
        Verdicts([Held::True, Held::False, Held::Close, Held::Missing].map(verdict))
    }

    #[inline(always)]
    pub fn of(&self, held: Held) -> Verdict {
        self.0[held as usize]
    }
}

impl From<bool> for Held {
    #[inline]
    fn from(is_true: bool) -> Held {
        [Held::False, Held::True][usize::from(is_true)]
    }
}

/// The margin of the comparison to tell, and the size of its limit. Nothing that is decided hangs
/// on it, so that it is rounded as floats are.
#[derive(Debug, Clone, Copy)]
pub(super) struct Told {
    /// "Not a number" where there is nothing to tell.
    pub lower: f64,
    pub upper: f64,
    pub limit: f64,
}

impl Told {
    pub const NOTHING: Told = Told {
        lower: f64::NAN,
        upper: f64::NAN,
        limit: 0.0,
    };

    /// Of the margins of both sides' difference: positive where the comparison holds.
    #[inline]
    pub fn of(form: Form, (lower, upper): (f64, f64), limit: f64) -> Told {
        let (lower, upper) = match form {
            Form::AtLeast | Form::MoreThan => (lower, upper),
            Form::Is => (-upper.max(-lower), -lower.max(-upper)),
        };
        Told {
            lower,
            upper,
            limit,
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

    /// Whether there is one.
    #[inline]
    pub fn has_margin(&self) -> bool {
        self.lower.is_finite()
    }

    /// The least that is allowed; none where that has no end, or where there is none.
    #[inline]
    pub fn margin(&self) -> Option<f64> {
        self.has_margin().then_some(self.lower)
    }
}

/// The greatest that it may be, its sign apart.
#[inline]
pub(super) fn size(of: Near) -> f64 {
    of.lower().abs().max(of.upper().abs())
}
