//! One end of an interval, and arithmetic on ends that rounds the way it is told.

use std::cmp::Ordering;

use super::number::Rational;

/// A float that is neither infinite nor "not a number".
#[derive(Debug, Clone, Copy)]
pub struct Finite(f64);

impl Finite {
    /// Wraps a float; none where it is not finite.
    pub fn new(value: f64) -> Option<Finite> {
        value.is_finite().then_some(Finite(value))
    }

    /// The float.
    pub fn get(self) -> f64 {
        self.0
    }
}

/// An end of an interval. Ordered and compared by exact value, whichever kind it is.
#[derive(Debug, Clone, Copy)]
pub enum End {
    /// The value itself.
    Exact(Rational),
    /// A float that lies outward of the true value: it was not rational, or outgrew its type.
    Rounded(Finite),
}

impl End {
    /// −1, 0 or 1.
    pub fn sign(self) -> i32 {
        match self {
            End::Exact(value) => value.sign(),
            End::Rounded(Finite(value)) => i32::from(value > 0.0) - i32::from(value < 0.0),
        }
    }

    fn is_one(self) -> bool {
        self.exact() == Some(Rational::ONE)
    }

    /// The rational, where the end is exact.
    pub fn exact(self) -> Option<Rational> {
        match self {
            End::Exact(value) => Some(value),
            End::Rounded(_) => None,
        }
    }

    /// The value with its sign turned.
    pub fn negate(self) -> End {
        match self {
            End::Exact(value) => End::Exact(value.negate()),
            End::Rounded(Finite(value)) => End::Rounded(Finite(-value)),
        }
    }

    /// The nearest floats not above and not below it.
    pub(super) fn enclosure(self) -> (f64, f64) {
        match self {
            End::Exact(value) => value.enclosure(),
            End::Rounded(Finite(value)) => (value, value),
        }
    }
}

impl From<Rational> for End {
    fn from(value: Rational) -> Self {
        End::Exact(value)
    }
}

impl Ord for End {
    #[inline]
    fn cmp(&self, other: &Self) -> Ordering {
        match (self, other) {
            (End::Exact(left), End::Exact(right)) => left.cmp(right),
            (End::Exact(left), End::Rounded(right)) => left.compare_with_f64(right.0),
            (End::Rounded(left), End::Exact(right)) => right.compare_with_f64(left.0).reverse(),
            (End::Rounded(left), End::Rounded(right)) => left
                .0
                .partial_cmp(&right.0)
                .expect("finite floats are ordered"),
        }
    }
}

impl PartialOrd for End {
    #[inline]
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for End {
    #[inline]
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for End {}

/// The way an end may be moved and stay outward.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Toward {
    /// For lower ends.
    Below,
    /// For upper ends.
    Above,
}

impl Toward {
    fn opposite(self) -> Toward {
        match self {
            Toward::Below => Toward::Above,
            Toward::Above => Toward::Below,
        }
    }

    fn infinity(self) -> Bound {
        match self {
            Toward::Below => Bound::MinusInfinity,
            Toward::Above => Bound::PlusInfinity,
        }
    }

    fn farther(self, values: [f64; 4]) -> f64 {
        let pick = match self {
            Toward::Below => f64::min,
            Toward::Above => f64::max,
        };
        values.into_iter().reduce(pick).expect("four values")
    }

    /// Moves a float outward by so many last places, but not across 0 where the sign of the true
    /// value is known.
    fn round(self, value: f64, places: u32, sign: Option<i32>) -> Bound {
        let mut moved = value;
        for _ in 0..places {
            moved = match self {
                Toward::Below => moved.next_down(),
                Toward::Above => moved.next_up(),
            };
        }
        let moved = match (self, sign) {
            (Toward::Below, Some(0 | 1)) => moved.max(0.0),
            (Toward::Above, Some(0 | -1)) => moved.min(0.0),
            (Toward::Below | Toward::Above, _) => moved,
        };
        match Finite::new(moved) {
            Some(finite) => Bound::Finite(End::Rounded(finite)),
            None => self.infinity(),
        }
    }
}

/// An end that may lie at infinity. The order of the variants is the order of the values.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Bound {
    MinusInfinity,
    Finite(End),
    PlusInfinity,
}

impl Bound {
    pub(super) const ZERO: Bound = Bound::Finite(End::Exact(Rational::ZERO));
    pub(super) const ONE: Bound = Bound::Finite(End::Exact(Rational::ONE));

    #[inline]
    pub(super) fn sign(self) -> i32 {
        match self {
            Bound::MinusInfinity => -1,
            Bound::Finite(end) => end.sign(),
            Bound::PlusInfinity => 1,
        }
    }

    pub(super) fn finite(self) -> Option<End> {
        match self {
            Bound::Finite(end) => Some(end),
            Bound::MinusInfinity | Bound::PlusInfinity => None,
        }
    }

    pub(super) fn negate(self) -> Bound {
        match self {
            Bound::MinusInfinity => Bound::PlusInfinity,
            Bound::Finite(end) => Bound::Finite(end.negate()),
            Bound::PlusInfinity => Bound::MinusInfinity,
        }
    }

    fn infinite(sign: i32) -> Bound {
        if sign < 0 {
            Bound::MinusInfinity
        } else {
            Bound::PlusInfinity
        }
    }

    /// The sum of two lower or two upper ends, rounded their way.
    #[inline]
    pub(super) fn add(self, other: Bound, toward: Toward) -> Bound {
        let (Bound::Finite(left), Bound::Finite(right)) = (self, other) else {
            return toward.infinity();
        };
        if let (End::Exact(left), End::Exact(right)) = (left, right)
            && let Some(sum) = left.checked_add(right)
        {
            return Bound::Finite(End::Exact(sum));
        }
        let (left, right) = (left.enclosure(), right.enclosure());
        let sum = match toward {
            Toward::Below => left.0 + right.0,
            Toward::Above => left.1 + right.1,
        };
        toward.round(sum, 1, None)
    }

    /// The product; 0 times anything is 0, and once an end is that end.
    #[inline]
    pub(super) fn multiply(self, other: Bound, toward: Toward) -> Bound {
        let (Bound::Finite(left), Bound::Finite(right)) = (self, other) else {
            return match self.sign() * other.sign() {
                0 => Bound::ZERO,
                sign => Bound::infinite(sign),
            };
        };
        if let (End::Exact(left), End::Exact(right)) = (left, right)
            && let Some(product) = left.checked_multiply(right)
        {
            return Bound::Finite(End::Exact(product));
        }
        if left.is_one() {
            return other;
        }
        if right.is_one() {
            return self;
        }
        let sign = left.sign() * right.sign();
        if sign == 0 {
            return Bound::ZERO;
        }
        let (left, right) = (left.enclosure(), right.enclosure());
        let product = toward.farther([
            left.0 * right.0,
            left.0 * right.1,
            left.1 * right.0,
            left.1 * right.1,
        ]);
        toward.round(product, 1, Some(sign))
    }

    /// The quotient by an end that is not 0; anything by infinity is 0, and by 1 itself.
    #[inline]
    pub(super) fn divide(self, divisor: Bound, toward: Toward) -> Bound {
        let Bound::Finite(right) = divisor else {
            return Bound::ZERO;
        };
        let Bound::Finite(left) = self else {
            return Bound::infinite(self.sign() * right.sign());
        };
        if let (End::Exact(left), End::Exact(right)) = (left, right)
            && let Some(quotient) = left.checked_divide(right)
        {
            return Bound::Finite(End::Exact(quotient));
        }
        if right.is_one() {
            return self;
        }
        let sign = left.sign() * right.sign();
        if sign == 0 {
            return Bound::ZERO;
        }
        let (left, right) = (left.enclosure(), right.enclosure());
        let quotient = toward.farther([
            left.0 / right.0,
            left.0 / right.1,
            left.1 / right.0,
            left.1 / right.1,
        ]);
        toward.round(quotient, 1, Some(sign))
    }

    /// A whole power, the exponent above 0.
    pub(super) fn power_integer(self, exponent: u64, toward: Toward) -> Bound {
        let is_odd = exponent % 2 == 1;
        if self.sign() < 0 {
            let positive = self.negate();
            return if is_odd {
                positive.power_integer(exponent, toward.opposite()).negate()
            } else {
                positive.power_integer(exponent, toward)
            };
        }
        let Bound::Finite(end) = self else {
            return self;
        };
        if let End::Exact(value) = end
            && let Some(power) = value.checked_power(exponent)
        {
            return Bound::Finite(End::Exact(power));
        }
        let (below, above) = end.enclosure();
        let (base, outward): (f64, fn(f64) -> f64) = match toward {
            Toward::Below => (below, f64::next_down),
            Toward::Above => (above, f64::next_up),
        };
        toward.round(
            repeated_product(base, exponent, outward),
            0,
            Some(end.sign()),
        )
    }

    /// A power of an end that is not negative (above 0 where the exponent is below); the exponent
    /// is not a whole number.
    pub(super) fn power(self, exponent: Rational, toward: Toward) -> Bound {
        let rises = exponent.sign() > 0;
        let Bound::Finite(base) = self else {
            return if rises {
                Bound::PlusInfinity
            } else {
                Bound::ZERO
            };
        };
        if base.sign() == 0 {
            return Bound::ZERO;
        }
        if let End::Exact(value) = base
            && let Some(power) = exact_power(value, exponent)
        {
            return Bound::Finite(End::Exact(power));
        }
        let (below, above) = base.enclosure();
        let base = if rises == (toward == Toward::Below) {
            below
        } else {
            above
        };
        if exponent == Rational::constant(1, 2) {
            // The standard asks of a square root that it be rounded correctly.
            return toward.round(libm::sqrt(base), 1, Some(1));
        }
        let (least, greatest) = exponent.enclosure();
        let exponent = if (base >= 1.0) == (toward == Toward::Below) {
            least
        } else {
            greatest
        };
        // One place for the rounding, two more for what `pow` may be off.
        toward.round(libm::pow(base, exponent), 3, Some(1))
    }
}

/// A power by squaring, moved outward at each step; the base is not negative.
fn repeated_product(base: f64, exponent: u64, outward: fn(f64) -> f64) -> f64 {
    let mut result = 1.0;
    let mut square = base;
    let mut left = exponent;
    loop {
        if left & 1 == 1 {
            result = outward(result * square).max(0.0);
        }
        left >>= 1;
        if left == 0 {
            return result;
        }
        square = outward(square * square).max(0.0);
    }
}

/// The power where it is rational and fits; the value is above 0.
fn exact_power(value: Rational, exponent: Rational) -> Option<Rational> {
    let degree = u64::try_from(exponent.denominator()).ok()?;
    let times = u64::try_from(exponent.numerator().unsigned_abs()).ok()?;
    let power = value.exact_root(degree)?.checked_power(times)?;
    if exponent.sign() < 0 {
        power.reciprocal()
    } else {
        Some(power)
    }
}
