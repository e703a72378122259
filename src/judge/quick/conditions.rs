//! Conditions with floats. A comparison that floats leave open is decided by the exact values of its
//! sides.

use std::cmp::Ordering;

use super::code::{Against, Asks, Comparison, Composed, Form, Join, Number, Step};
use super::ends::Slack;
use super::held::{Held, Outcome};
use super::walk::QuickWalk;
use crate::figures::{List, Scope};
use crate::quantity::{Interval, Near, is_at_least, is_equal, is_more_than};
use crate::survey::Mode;
use crate::truth::Truth;

impl QuickWalk<'_, '_> {
    /// How a condition comes out; told is the first of the result's truth that has a margin, or
    /// nothing.
    #[inline(never)]
    pub fn condition(&mut self, condition: &[Step], scope: Scope) -> Outcome {
        let mut all = Outcome::silent(Held::True);
        for Step { join, asks } in condition {
            let one = self.asks(asks, scope);
            all = match join {
                Join::Alone | Join::First => one,
                Join::And => all.joined(one, all.held().and(one.held())),
                Join::Or => all.joined(one, all.held().or(one.held())),
            };
        }
        all
    }

    /// The same where it is asked of thing after thing: mostly it has but one step.
    #[inline(always)]
    pub fn condition_in_line(&mut self, condition: &[Step], scope: Scope) -> Outcome {
        match condition {
            [Step { asks, .. }] => self.asks(asks, scope),
            several => self.condition(several, scope),
        }
    }

    #[inline(always)]
    fn asks(&mut self, asks: &Asks, scope: Scope) -> Outcome {
        match asks {
            Asks::AtLeast(against) => self.above::<false>(against, scope),
            Asks::MoreThan(against) => self.above::<true>(against, scope),
            Asks::AtMost(against) => self.below::<false>(against, scope),
            Asks::LessThan(against) => self.below::<true>(against, scope),
            Asks::Compare(comparison) => self.compare(comparison, scope),
            Asks::Fact(fact, is) => {
                let value = self.near(*fact, scope);
                Outcome::silent(match value.is_whole() {
                    true => Held::Missing,
                    false => Held::from((value.lower() > 0.0) == *is),
                })
            }
            Asks::OneOf(fact, places, is) => {
                let value = self.near(*fact, scope);
                Outcome::silent(match value.is_whole() {
                    true => Held::Missing,
                    false => Held::from((places & bit(value.lower()) != 0) == *is),
                })
            }
            Asks::Composed(composed) => self.composed(composed, scope),
        }
    }

    #[inline(always)]
    fn above<const IS_STRICT: bool>(&mut self, against: &Against, scope: Scope) -> Outcome {
        let value = self.near(against.fact, scope);
        let [lower, upper] = against.ends;
        let margin = (value.lower() - upper, value.upper() - lower);
        self.against::<IS_STRICT>(against, value, margin, scope)
    }

    #[inline(always)]
    fn below<const IS_STRICT: bool>(&mut self, against: &Against, scope: Scope) -> Outcome {
        let value = self.near(against.fact, scope);
        let [lower, upper] = against.ends;
        let margin = (lower - value.upper(), upper - value.lower());
        self.against::<IS_STRICT>(against, value, margin, scope)
    }

    #[inline(never)]
    fn composed(&mut self, composed: &Composed, scope: Scope) -> Outcome {
        match composed {
            Composed::OneOf(value, alternatives) => self.one_of(value, alternatives, scope),
            Composed::Apart(condition) => self.condition(condition, scope),
            Composed::Not(inner) => {
                let held = self.condition(inner, scope).held();
                Outcome::silent(held.negated())
            }
            Composed::Every(list, inner) => self.quantified(*list, inner, true, scope),
            Composed::Some(list, inner) => self.quantified(*list, inner, false, scope),
            Composed::If([condition, then, otherwise]) => {
                match self.condition(condition, scope).held().truth() {
                    Truth::True => self.condition(then, scope),
                    Truth::False => self.condition(otherwise, scope),
                    Truth::Unknown => {
                        self.doubts = true;
                        Outcome::silent(Held::Missing)
                    }
                }
            }
        }
    }

    /// A fact against a constant: most of what is asked.
    #[inline(always)]
    fn against<const IS_STRICT: bool>(
        &mut self,
        against: &Against,
        value: Near,
        (lower, upper): (f64, f64),
        scope: Scope,
    ) -> Outcome {
        let (is_true, is_false) = by_margin(IS_STRICT, lower, upper, 0.0);
        let is_open = !(is_true | is_false);
        let held = match is_open & !value.is_whole() {
            true => self.closer(against, scope),
            false => Held::by(is_false, is_open, Held::Missing),
        };
        if !against.has_margin {
            return Outcome::silent(held);
        }
        Outcome::new(held, lower, against.limit.unwrap_or_else(|| value.size()))
    }

    /// A comparison that floats leave open, by the exact values of both sides.
    #[inline(never)]
    fn closer(&mut self, against: &Against, scope: Scope) -> Held {
        let Comparison {
            form, left, right, ..
        } = &*against.whole;
        let ends = self.ends(against.fact, scope);
        let (Some([lower, upper]), Some(limit)) = (ends, against.exact) else {
            let truth = self.exactly(*form, &left.number, &right.number, scope);
            return Held::new(truth, false);
        };
        let (least, most) = match left.number {
            Number::Fact(_) => (lower.cmp(&limit), upper.cmp(&limit)),
            Number::Known(_) | Number::Computed(_) => (limit.cmp(&upper), limit.cmp(&lower)),
        };
        let is_strict = *form == Form::MoreThan;
        let (is_true, is_false) = by_margin(is_strict, least, most, Ordering::Equal);
        let is_open = !is_true && !is_false;
        self.close |= is_open;
        Held::by(is_false, is_open, Held::Close)
    }

    #[inline(never)]
    fn exactly(&mut self, form: Form, left: &Number, right: &Number, scope: Scope) -> Truth {
        let lacks = self.lacks;
        let may_overlap = self.mode == Mode::Banded && !matches!(form, Form::Is | Form::IsNot);
        if may_overlap {
            // What overlaps for sure needs no exact values, which may lie far.
            let (x, y): (Slack, Slack) = (self.number(left, scope), self.number(right, scope));
            if x.surely_overlaps(y) {
                self.lacks = lacks;
                self.close = true;
                return Truth::Unknown;
            }
        }
        let x: Interval = self.number(left, scope);
        let y: Interval = self.number(right, scope);
        self.lacks = lacks;
        let truth = match form {
            Form::AtLeast => is_at_least(x, y),
            Form::MoreThan => is_more_than(x, y),
            Form::Is => is_equal(x, y),
            Form::IsNot => is_equal(x, y).negated(),
        };
        self.close |= !truth.is_definite();
        truth
    }

    #[inline(never)]
    fn compare(&mut self, comparison: &Comparison, scope: Scope) -> Outcome {
        let Comparison { left, right, .. } = comparison;
        let lacks = std::mem::replace(&mut self.lacks, false);
        let mut outcome = self.compared(comparison, &left.number, &right.number, scope);
        if comparison.has_others() {
            outcome = self.equivalents(comparison, outcome, scope);
        }
        let missing = std::mem::replace(&mut self.lacks, lacks);
        outcome.but(outcome.held().or_missing(missing))
    }

    /// Of published equivalents one that is met suffices, and the greatest margin is told.
    #[inline(never)]
    fn equivalents(&mut self, comparison: &Comparison, first: Outcome, scope: Scope) -> Outcome {
        let Comparison { left, right, .. } = comparison;
        let others = left.others.iter().map(|other| (other, &right.number));
        let more = right.others.iter().map(|other| (&left.number, other));
        let mut all = first;
        for sides in others.chain(more) {
            let also = self.compared_also(comparison, sides, scope);
            let held = all.held().or(also.held());
            all = greater(all, also).but(held);
        }
        all
    }

    /// Compares two sides, one of which may be another than the comparison's own; what is missing
    /// is close here.
    #[inline(always)]
    fn compared(
        &mut self,
        comparison: &Comparison,
        left: &Number,
        right: &Number,
        scope: Scope,
    ) -> Outcome {
        let a: Near = self.number(left, scope);
        let b: Near = self.number(right, scope);
        let (lower, upper) = (a.lower() - b.upper(), a.upper() - b.lower());
        let ((is_true, is_false), margin) = match comparison.form {
            Form::AtLeast => (by_margin(false, lower, upper, 0.0), lower),
            Form::MoreThan => (by_margin(true, lower, upper, 0.0), lower),
            Form::Is | Form::IsNot => {
                let equal = a.is_equal(b);
                let (same, other) = (equal == Truth::True, equal == Truth::False);
                // How far they may lie apart.
                match comparison.form == Form::Is {
                    true => ((same, other), -upper.max(-lower)),
                    false => ((other, same), lower.max(-upper)),
                }
            }
        };
        let is_open = !(is_true | is_false);
        let held = match is_open & !(a.is_whole() | b.is_whole()) {
            true => Held::new(self.exactly(comparison.form, left, right, scope), false),
            false => Held::by(is_false, is_open, Held::Close),
        };
        if !comparison.has_margin {
            return Outcome::silent(held);
        }
        let limit = if comparison.limit_is_left { a } else { b };
        Outcome::new(held, margin, limit.size())
    }

    /// Compares two sides of which one is a published equivalent.
    #[inline(never)]
    fn compared_also(
        &mut self,
        comparison: &Comparison,
        (left, right): (&Number, &Number),
        scope: Scope,
    ) -> Outcome {
        self.compared(comparison, left, right, scope)
    }

    #[inline(never)]
    fn one_of(&mut self, value: &Number, alternatives: &[Number], scope: Scope) -> Outcome {
        let lacks = std::mem::replace(&mut self.lacks, false);
        let value: Near = self.number(value, scope);
        let mut truth = Truth::False;
        for alternative in alternatives {
            let other: Near = self.number(alternative, scope);
            truth = truth.or(value.is_equal(other));
        }
        let missing = std::mem::replace(&mut self.lacks, lacks);
        // A label that may be one of several, all of them known.
        let is_open = !truth.is_definite() && !value.is_whole();
        self.doubts |= is_open;
        Outcome::silent(Held::new(truth, missing))
    }

    /// Tells, among elements of the result's truth, of `every` the least margin, of `some` the
    /// greatest.
    #[inline(never)]
    fn quantified(&mut self, list: List, inner: &[Step], every: bool, scope: Scope) -> Outcome {
        let (items, is_open) = self.list(list, scope);
        let join = if every { Held::and } else { Held::or };
        let frames = self.stops.frames.len();
        let within = self.within(scope);
        let mut all = Held::from(every);
        let mut best: [Option<Outcome>; 3] = [None; 3];
        for item in items {
            let one = self.condition(inner, within.with(*item));
            all = join(all, one.held());
            let known = &mut best[place(one.held().truth())];
            if is_better(one, *known, every) {
                *known = Some(one);
            }
        }
        self.stops.frames.truncate(frames);
        if is_open {
            all = join(all, Held::Missing);
        }
        let told = best[place(all.truth())].filter(|told| told.has_margin());
        told.unwrap_or(Outcome::silent(all)).but(all)
    }
}

/// Whether the left side surely is at least the right, or more, and whether it surely is not, by
/// what lies between them at the least and at the most, beside what lies between two that are the
/// same. The difference of two floats is 0 only where they are.
#[inline]
fn by_margin<T: PartialOrd>(is_strict: bool, lower: T, upper: T, nothing: T) -> (bool, bool) {
    let is_true = (lower > nothing) | ((lower == nothing) & !is_strict);
    let is_false = (upper < nothing) | ((upper == nothing) & is_strict);
    (is_true, is_false)
}

/// The bit of a place; none of a place beyond 64, which is not among the fixed ones.
#[inline]
pub(super) fn bit(place: f64) -> u64 {
    1_u64.checked_shl(place as u32).unwrap_or(0)
}

fn greater(known: Outcome, other: Outcome) -> Outcome {
    match (other.told(), known.told()) {
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

fn is_better(one: Outcome, known: Option<Outcome>, every: bool) -> bool {
    let Some(known) = known else {
        return true;
    };
    match (one.told(), known.told()) {
        (Some(one), Some(other)) if every => one < other,
        (Some(one), Some(other)) => one > other,
        (Some(_), None) => true,
        (None, _) => false,
    }
}
