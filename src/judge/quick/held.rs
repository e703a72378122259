//! How a condition comes out, and what is told of it.

use crate::finding::Verdict;
use crate::judge::asked;
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

    /// Whether it is open, and as what then, or else does not hold.
    #[inline(always)]
    pub fn by(is_false: bool, is_open: bool, open: Held) -> Held {
        Held::of(u64::from(is_false) | (u64::from(is_open) * open as u64))
    }

    /// By its number, which is in the lowest bits.
    #[inline(always)]
    fn of(number: u64) -> Held {
        match number & 3 {
            0 => Held::True,
            1 => Held::False,
            2 => Held::Close,
            _ => Held::Missing,
        }
    }

    /// The same, where something was missing for it.
    #[inline]
    pub fn or_missing(self, missing: bool) -> Held {
        Held::of(self as u64 | u64::from(missing & (self == Held::Close)))
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

/// The verdict for each way in which a rule may apply and what is asked may come out.
#[derive(Debug)]
pub(super) struct Verdicts([[Verdict; 4]; 4]);

impl Verdicts {
    /// By what it is where that holds.
    pub fn of_demand(in_order: Verdict) -> Verdicts {
        let all = [Held::True, Held::False, Held::Close, Held::Missing];
        Verdicts(all.map(|applies| {
            all.map(|held| {
                let is_missing = applies == Held::Missing || held == Held::Missing;
                asked(applies.truth(), held.truth(), in_order, is_missing)
            })
        }))
    }

    #[inline(always)]
    pub fn of(&self, applies: Held, held: Held) -> Verdict {
        self.0[applies as usize][held as usize]
    }
}

impl From<bool> for Held {
    #[inline]
    fn from(is_true: bool) -> Held {
        if is_true { Held::True } else { Held::False }
    }
}

/// How a condition came out, with the margin to tell of it and the size of that comparison's limit.
/// Nothing that is decided hangs on these, so that they are rounded as floats are.
// Two numbers, which go by the processor's registers: what lies in memory and was only just put
// together there is slow to be had again.
#[derive(Debug, Clone, Copy)]
pub(super) struct Outcome {
    /// The least that is allowed; "not a number" where there is nothing to tell.
    pub margin: f64,
    /// How it came out, in the lowest bits, and the limit in the upper half.
    rest: u64,
}

impl Outcome {
    #[inline(always)]
    pub fn new(held: Held, margin: f64, limit: f64) -> Outcome {
        Outcome {
            margin,
            rest: u64::from((limit as f32).to_bits()) << 32 | held as u64,
        }
    }

    /// With nothing to tell.
    #[inline(always)]
    pub fn silent(held: Held) -> Outcome {
        Outcome {
            margin: f64::NAN,
            rest: held as u64,
        }
    }

    /// The same, and yet it came out so.
    #[inline(always)]
    pub fn but(self, held: Held) -> Outcome {
        Outcome {
            rest: self.rest & !3 | held as u64,
            ..self
        }
    }

    #[inline(always)]
    pub fn held(self) -> Held {
        Held::of(self.rest)
    }

    #[inline(always)]
    pub fn limit(self) -> f32 {
        f32::from_bits((self.rest >> 32) as u32)
    }

    /// Whether there is a margin.
    #[inline(always)]
    pub fn has_margin(self) -> bool {
        self.margin.is_finite()
    }

    /// The margin; none where it has no end, or where there is none.
    #[inline]
    pub fn told(self) -> Option<f64> {
        self.has_margin().then_some(self.margin)
    }

    /// With another behind it, where both come out as said. Told is the first of that truth that
    /// has a margin: joining goes one way, so that what is told of one truth counts no more once
    /// it is another.
    #[inline(always)]
    pub fn joined(self, other: Outcome, held: Held) -> Outcome {
        let truth = |held: Held| (held as u8).min(Held::Close as u8);
        let tells = |one: Outcome| (truth(held) == truth(one.held())) & one.has_margin();
        // All ones for the one that is told, or for none of them.
        let first = u64::from(tells(self)).wrapping_neg();
        let second = u64::from(tells(other)).wrapping_neg() & !first;
        let told = |of: fn(Outcome) -> u64| of(self) & first | of(other) & second;
        let nothing = f64::NAN.to_bits() & !(first | second);
        let told = Outcome {
            margin: f64::from_bits(told(|one| one.margin.to_bits()) | nothing),
            rest: told(|one| one.rest),
        };
        told.but(held)
    }
}
