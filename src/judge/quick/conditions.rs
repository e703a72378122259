//! Conditions with floats. A comparison of leaves that floats leave open is decided by their exact
//! values.

use super::code::{Comparison, Condition, Number, Side};
use super::held::{Held, Told};
use super::walk::QuickWalk;
use crate::judge::evaluate::{compared, constant};
use crate::language::syntax::Comparator;
use crate::program::code::{List, Value};
use crate::quantity::Near;
use crate::truth::Truth;

impl QuickWalk<'_> {
    pub(super) fn condition(&mut self, condition: &Condition) -> Held {
        match condition {
            Condition::Fact(of, fact) => {
                let value = self.fact(*of, *fact).map(Near::between);
                match value.filter(|value| !value.is_whole()) {
                    Some(value) => Held::new((value.lower() > 0.0).into(), false, Told::NOTHING),
                    None => Held::new(Truth::Unknown, true, Told::NOTHING),
                }
            }
            Condition::Compare(comparison) => self.compare(comparison),
            Condition::OneOf(value, alternatives) => self.one_of(value, alternatives),
            Condition::Not(inner) => {
                let held = self.condition(inner);
                Held::new(held.truth.negated(), held.missing, held.told.negate())
            }
            Condition::And(parts) => self.joined(parts, Truth::True, Truth::and),
            Condition::Or(parts) => self.joined(parts, Truth::False, Truth::or),
            Condition::Every(list, inner) => self.quantified(*list, inner, true),
            Condition::Some(list, inner) => self.quantified(*list, inner, false),
            Condition::If(parts) => {
                let [condition, then, otherwise] = &**parts;
                match self.condition(condition).truth {
                    Truth::True => self.condition(then),
                    Truth::False => self.condition(otherwise),
                    Truth::Unknown => {
                        self.doubts = true;
                        Held::new(Truth::Unknown, true, Told::NOTHING)
                    }
                }
            }
        }
    }

    #[inline]
    fn compare(&mut self, comparison: &Comparison) -> Held {
        let (a, a_missing) = self.side(&comparison.left.number);
        let (b, b_missing) = self.side(&comparison.right.number);
        let missing = a_missing || b_missing;
        let (truth, told) = self.compared(comparison, (a, b), None);
        if comparison.left.others.is_empty() && comparison.right.others.is_empty() {
            return Held::new(truth, missing, told);
        }
        let (truth, told) = self.equivalents(comparison, (a, b), (truth, told));
        Held::new(truth, missing, told)
    }

    /// Of published equivalents one that is met suffices, and the greatest margin is told.
    #[inline(never)]
    fn equivalents(
        &mut self,
        comparison: &Comparison,
        (a, b): (Near, Near),
        (mut truth, mut told): (Truth, Told),
    ) -> (Truth, Told) {
        let left = comparison.left.others.iter().map(|other| (other, true));
        let right = comparison.right.others.iter().map(|other| (other, false));
        for ((near, exact), is_left) in left.chain(right) {
            let sides = if is_left { (*near, b) } else { (a, *near) };
            let (also, other) = self.compared(comparison, sides, Some((exact, is_left)));
            truth = truth.or(also);
            told = greater(told, other);
        }
        (truth, told)
    }

    /// Compares two sides, one of which may be another than the comparison's own.
    #[inline]
    fn compared(
        &mut self,
        comparison: &Comparison,
        (a, b): (Near, Near),
        instead: Option<(&Value, bool)>,
    ) -> (Truth, Told) {
        let Comparison {
            comparator,
            left,
            right,
            limit,
            has_margin,
        } = comparison;
        let mut truth = by_floats(*comparator, a, b);
        if truth == Truth::Unknown && !a.is_whole() && !b.is_whole() {
            truth = self.closer(*comparator, (a, left), (b, right), instead);
        }
        let told = if *has_margin {
            Told::of(*comparator, *limit, a, b)
        } else {
            Told::NOTHING
        };
        (truth, told)
    }

    /// The truth of a comparison that floats leave open: surely open where the exact intervals
    /// overlap, else by the exact values of leaves, one of which may be another than the side's own.
    #[inline(never)]
    fn closer(
        &mut self,
        comparator: Comparator,
        (a, left): (Near, &Side),
        (b, right): (Near, &Side),
        instead: Option<(&Value, bool)>,
    ) -> Truth {
        if comparator != Comparator::Is && a.surely_overlaps(b) {
            self.close = true;
            return Truth::Unknown;
        }
        let exactly = |walk: &Self, side: &Side, is_left: bool| match instead {
            Some((value, of_left)) if of_left == is_left => Some(constant(*value)),
            Some(_) | None => side.leaf.as_ref().map(|leaf| walk.exact(leaf)),
        };
        let (Some(x), Some(y)) = (exactly(self, left, true), exactly(self, right, false)) else {
            self.doubts = true;
            return Truth::Unknown;
        };
        let truth = compared(comparator, x, y).0;
        self.close |= !truth.is_definite();
        truth
    }

    fn one_of(&mut self, value: &Number, alternatives: &[Number]) -> Held {
        let (value, mut missing) = self.number(value);
        let mut truth = Truth::False;
        for alternative in alternatives {
            let (other, lacks) = self.number(alternative);
            truth = truth.or(value.is_equal(other));
            missing |= lacks;
        }
        // A label that may be one of several, all of them known.
        let is_open = !truth.is_definite() && !value.is_whole();
        self.doubts |= is_open;
        Held::new(truth, missing, Told::NOTHING)
    }

    /// Tells the first of the result's truth that has a margin, or the first.
    fn joined(
        &mut self,
        parts: &[Condition],
        start: Truth,
        join: impl Fn(Truth, Truth) -> Truth,
    ) -> Held {
        let mut truth = start;
        let mut missing = false;
        // For each truth, the first that has a margin.
        let mut told = [Told::NOTHING; 3];
        for part in parts {
            let held = self.condition(part);
            truth = join(truth, held.truth);
            missing |= held.missing;
            let first = &mut told[place(held.truth)];
            if first.margin().is_none() && held.margin().is_some() {
                *first = held.told;
            }
        }
        Held::new(truth, missing, told[place(truth)])
    }

    /// Tells, among elements of the result's truth, of `every` the least margin, of `some` the
    /// greatest.
    fn quantified(&mut self, list: List, inner: &Condition, every: bool) -> Held {
        let (items, is_open) = self.list(list);
        let join = if every { Truth::and } else { Truth::or };
        let mut truth = Truth::from(every);
        let mut missing = false;
        let mut best: [Option<Held>; 3] = [None; 3];
        for item in items {
            self.bound.push(*item);
            let held = self.condition(inner);
            self.bound.pop();
            truth = join(truth, held.truth);
            missing |= held.missing;
            let known = &mut best[place(held.truth)];
            if is_better(held, *known, every) {
                *known = Some(held);
            }
        }
        if is_open {
            truth = join(truth, Truth::Unknown);
            missing = true;
        }
        let told = best[place(truth)].map_or(Told::NOTHING, |held| held.told);
        Held::new(truth, missing, told)
    }
}

#[inline]
fn by_floats(comparator: Comparator, a: Near, b: Near) -> Truth {
    match comparator {
        Comparator::AtLeast => a.is_at_least(b),
        Comparator::MoreThan => b.is_at_least(a).negated(),
        Comparator::AtMost => b.is_at_least(a),
        Comparator::LessThan => a.is_at_least(b).negated(),
        Comparator::Is => a.is_equal(b),
    }
}

fn greater(known: Told, other: Told) -> Told {
    match (other.margin(), known.margin()) {
        (Some(margin), Some(least)) if margin > least => other,
        (Some(_), None) => other,
        (Some(_) | None, _) => known,
    }
}

fn place(truth: Truth) -> usize {
    match truth {
        Truth::True => 0,
        Truth::False => 1,
        Truth::Unknown => 2,
    }
}

fn is_better(held: Held, known: Option<Held>, every: bool) -> bool {
    let Some(known) = known else {
        return true;
    };
    match (held.margin(), known.margin()) {
        (Some(one), Some(other)) if every => one < other,
        (Some(one), Some(other)) => one > other,
        (Some(_), None) => true,
        (None, _) => false,
    }
}
