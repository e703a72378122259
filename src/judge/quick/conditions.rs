//! Conditions with floats. A comparison that floats leave open is decided by the exact values of its
//! sides.

use super::code::{Comparison, Condition, Form, Number};
use super::ends::Ends;
use super::held::{Held, Told};
use super::walk::QuickWalk;
use crate::program::code::List;
use crate::quantity::{Interval, Near};
use crate::truth::Truth;

impl QuickWalk<'_> {
    pub(super) fn condition(&mut self, condition: &Condition) -> Held {
        match condition {
            Condition::Fact(of, fact) => {
                let value = self.fact(*of, *fact);
                match value.is_whole() {
                    false => Held::new((value.lower() > 0.0).into(), false, Told::NOTHING),
                    true => Held::new(Truth::Unknown, true, Told::NOTHING),
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
        let Comparison { left, right, .. } = comparison;
        let (a, a_missing) = self.number(&left.number);
        let (b, b_missing) = self.number(&right.number);
        let missing = a_missing || b_missing;
        let truth = self.compared(comparison.form, (a, &left.number), (b, &right.number));
        let told = Told::of(comparison, a, b);
        if left.others.is_empty() && right.others.is_empty() {
            return Held::new(truth, missing, told);
        }
        let (truth, told) = self.equivalents(comparison, truth, told);
        Held::new(truth, missing, told)
    }

    /// Of published equivalents one that is met suffices, and the greatest margin is told.
    #[inline(never)]
    fn equivalents(
        &mut self,
        comparison: &Comparison,
        mut truth: Truth,
        mut told: Told,
    ) -> (Truth, Told) {
        let Comparison { left, right, form, .. } = comparison;
        let others = left.others.iter().map(|other| (other, &right.number));
        let more = right.others.iter().map(|other| (&left.number, other));
        for (one, other) in others.chain(more) {
            let ((a, _), (b, _)) = (self.number(one), self.number(other));
            truth = truth.or(self.compared(*form, (a, one), (b, other)));
            told = greater(told, Told::of(comparison, a, b));
        }
        (truth, told)
    }

    #[inline]
    fn compared(
        &mut self,
        form: Form,
        (a, left): (Near, &Number),
        (b, right): (Near, &Number),
    ) -> Truth {
        match by_ends(form, a, b) {
            Truth::Unknown if !a.is_whole() && !b.is_whole() => self.closer(form, left, right),
            truth => truth,
        }
    }

    /// The truth of a comparison that floats leave open, by the exact values of both sides.
    #[inline(never)]
    fn closer(&mut self, form: Form, left: &Number, right: &Number) -> Truth {
        let (x, _) = self.number::<Interval>(left);
        let (y, _) = self.number::<Interval>(right);
        let truth = by_ends(form, x, y);
        self.close |= !truth.is_definite();
        truth
    }

    fn one_of(&mut self, value: &Number, alternatives: &[Number]) -> Held {
        let (value, mut missing) = self.number::<Near>(value);
        let mut truth = Truth::False;
        for alternative in alternatives {
            let (other, lacks) = self.number::<Near>(alternative);
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
            self.bind(*item);
            let held = self.condition(inner);
            self.unbind();
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
fn by_ends<E: Ends>(form: Form, a: E, b: E) -> Truth {
    match form {
        Form::AtLeast => a.is_at_least(b),
        Form::MoreThan => b.is_at_least(a).negated(),
        Form::Is => a.is_equal(b),
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
