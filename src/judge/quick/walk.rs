//! The walk over a rule with floats: what `evaluate` does exactly, and in the same order.
//!
//! A comparison of leaves that floats leave open is decided by their exact values. Where anything
//! else is left open, the walk says that it doubts, and the rule is judged exactly.

use super::code::{
    Comparison, Condition, Key, Leaf, Number, QuickClause, QuickDemand, QuickRule, Side, Table,
};
use super::floats::Floats;
use super::{Ruling, Subject};
use crate::finding::Verdict;
use crate::judge::evaluate::{axis_places, compared, constant};
use crate::judge::value::{Places, Value};
use crate::language::syntax::{Comparator, Fold};
use crate::program::code::{Binding, LimitSide, List};
use crate::quantity::{Interval, Near};
use crate::record::facts::{self, Record, State, THE_SITE, ThingRef};
use crate::survey::Mode;
use crate::truth::Truth;
use crate::vocabulary::{FactId, Type};

/// A number and whether something was missing for it.
type Missing<T> = (T, bool);

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

    /// The margin: positive where the comparison holds.
    #[inline]
    fn of(comparator: Comparator, side: LimitSide, a: Near, b: Near) -> Told {
        let apart = (a.lower() - b.upper(), a.upper() - b.lower());
        let (lower, upper) = match comparator {
            Comparator::AtLeast | Comparator::MoreThan => apart,
            Comparator::AtMost | Comparator::LessThan => (-apart.1, -apart.0),
            Comparator::Is => (-apart.1.max(-apart.0), -apart.0.max(-apart.1)),
        };
        let limit = match side {
            LimitSide::Left => a,
            LimitSide::Right => b,
        };
        Told {
            lower,
            upper,
            limit: limit.lower().abs().max(limit.upper().abs()),
        }
    }

    #[inline]
    fn negate(self) -> Told {
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
struct Held {
    truth: Truth,
    /// Whether something was missing; never of what is decided.
    missing: bool,
    told: Told,
}

impl Held {
    #[inline]
    fn new(truth: Truth, missing: bool, told: Told) -> Held {
        Held {
            truth,
            missing: missing && !truth.is_definite(),
            told,
        }
    }

    #[inline]
    fn margin(&self) -> Option<f64> {
        self.told.margin()
    }
}

/// One way of taking tolerances over one record.
pub(super) struct QuickWalk<'a> {
    pub record: &'a Record,
    pub floats: &'a Floats,
    pub mode: Mode,
    pub bound: Subject,
    /// Something was left open that the exact walk may decide.
    pub doubts: bool,
    /// Something is too close to call, so that it may be decided without tolerances.
    pub close: bool,
}

impl<'a> QuickWalk<'a> {
    /// Walks a rule; what it says stands behind what is there already, and counts only where the
    /// walk does not doubt.
    pub fn rule(&mut self, number: u32, rule: &QuickRule, rulings: &mut Vec<Ruling>) {
        self.bound = Subject::default();
        self.doubts = false;
        self.close = false;
        let mut walk = Telling {
            number,
            rule,
            rulings,
        };
        self.clause(0, Truth::True, false, &mut walk);
    }

    fn clause(&mut self, at: usize, applies: Truth, missing: bool, to: &mut Telling<'_>) {
        let rule = to.rule;
        let Some(clause) = rule.head.get(at) else {
            self.demand(applies, missing, to);
            return;
        };
        match clause {
            QuickClause::When(condition) => {
                let held = self.condition(condition);
                let applies = applies.and(held.truth);
                if applies == Truth::False {
                    self.tell(Verdict::DoesNotApply, held.told, to);
                    return;
                }
                self.clause(at + 1, applies, missing || held.missing, to);
            }
            QuickClause::Each(list) => {
                let (items, is_open) = self.list(*list);
                if is_open {
                    self.tell(Verdict::NotRecorded, Told::NOTHING, to);
                } else if items.is_empty() {
                    self.tell(Verdict::DoesNotApply, Told::NOTHING, to);
                }
                for item in items {
                    self.bound.push(*item);
                    self.clause(at + 1, applies, missing, to);
                    self.bound.pop();
                }
            }
        }
    }

    fn demand(&mut self, applies: Truth, missing: bool, to: &mut Telling<'_>) {
        match &to.rule.demand {
            QuickDemand::Shall(condition) => {
                self.asked(condition, Verdict::Meets, applies, missing, to);
            }
            QuickDemand::Precaution(condition) => {
                self.asked(condition, Verdict::Refer, applies, missing, to);
            }
            QuickDemand::Refer => {
                let verdict = match applies {
                    Truth::True => Verdict::Refer,
                    Truth::False | Truth::Unknown => undecided(missing),
                };
                self.tell(verdict, Told::NOTHING, to);
            }
            QuickDemand::RecordFact(of, fact) => {
                let lacks = self.record.slot(self.thing(*of), *fact).state != State::Read;
                self.recorded(lacks, applies, missing, to);
            }
            QuickDemand::RecordList(list) => {
                let known = self.record.list(self.thing(list.of), list.list);
                let lacks = known.open || !known.gaps.is_empty();
                self.recorded(lacks, applies, missing, to);
            }
        }
    }

    fn asked(
        &mut self,
        condition: &Condition,
        in_order: Verdict,
        applies: Truth,
        missing: bool,
        to: &mut Telling<'_>,
    ) {
        let held = self.condition(condition);
        let verdict = match (applies, held.truth) {
            (Truth::True, Truth::True) => in_order,
            (Truth::True, Truth::False) => Verdict::FallsShort,
            (Truth::True | Truth::False | Truth::Unknown, _) => undecided(missing || held.missing),
        };
        self.tell(verdict, held.told, to);
    }

    fn recorded(&mut self, lacks: bool, applies: Truth, missing: bool, to: &mut Telling<'_>) {
        let verdict = if applies != Truth::True {
            undecided(missing || lacks)
        } else if lacks {
            Verdict::NotRecorded
        } else {
            Verdict::Meets
        };
        self.tell(verdict, Told::NOTHING, to);
    }

    fn tell(&mut self, verdict: Verdict, told: Told, to: &mut Telling<'_>) {
        to.rulings.push(Ruling {
            rule: to.number,
            subject: self.bound,
            banded: verdict,
            as_read: verdict,
            told,
        });
    }

    #[inline]
    fn thing(&self, binding: Binding) -> ThingRef {
        match binding {
            Binding::Site => THE_SITE,
            Binding::Local(at) => self.bound.at(usize::from(at)),
        }
    }

    #[inline]
    fn list(&self, list: List) -> (&'a [ThingRef], bool) {
        self.floats.list(self.thing(list.of), list.list)
    }

    #[inline]
    fn fact(&self, of: Binding, fact: FactId) -> Option<[f64; 2]> {
        self.floats.get(self.mode, self.thing(of), fact)
    }

    // Conditions.

    fn condition(&mut self, condition: &Condition) -> Held {
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
        let Comparison {
            comparator,
            left,
            right,
            limit,
            has_margin,
        } = comparison;
        let (a, a_missing) = self.side(&left.number);
        let (b, b_missing) = self.side(&right.number);
        let mut truth = by_floats(*comparator, a, b);
        if truth == Truth::Unknown && !a.is_whole() && !b.is_whole() {
            truth = self.closer(*comparator, (a, left), (b, right), None);
        }
        let told = if *has_margin {
            Told::of(*comparator, *limit, a, b)
        } else {
            Told::NOTHING
        };
        let held = Held::new(truth, a_missing || b_missing, told);
        if left.others.is_empty() && right.others.is_empty() {
            return held;
        }
        self.equivalents(comparison, (a, b), a_missing || b_missing, held)
    }

    /// Of published equivalents one that is met suffices, and the greatest margin is told.
    #[inline(never)]
    fn equivalents(
        &mut self,
        comparison: &Comparison,
        (a, b): (Near, Near),
        missing: bool,
        first: Held,
    ) -> Held {
        let Comparison {
            comparator,
            left,
            right,
            limit,
            has_margin,
        } = comparison;
        let (mut truth, mut told) = (first.truth, first.told);
        let others = left.others.iter().map(|other| (other, true));
        let others = others.chain(right.others.iter().map(|other| (other, false)));
        for ((near, exact), is_left) in others {
            let (x, y) = if is_left { (*near, b) } else { (a, *near) };
            let mut also = by_floats(*comparator, x, y);
            if also == Truth::Unknown && !x.is_whole() && !y.is_whole() {
                let instead = Some((exact, is_left));
                also = self.closer(*comparator, (x, left), (y, right), instead);
            }
            truth = truth.or(also);
            if *has_margin {
                told = greater(told, Told::of(*comparator, *limit, x, y));
            }
        }
        Held::new(truth, missing, told)
    }

    /// The truth of a comparison that floats leave open: surely open where the exact intervals
    /// overlap, else by the exact values of leaves, one of which may be another than the side's own.
    #[inline(never)]
    fn closer(
        &mut self,
        comparator: Comparator,
        (a, left): (Near, &Side),
        (b, right): (Near, &Side),
        instead: Option<(&crate::program::code::Value, bool)>,
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

    fn exact(&self, leaf: &Leaf) -> Value<'a> {
        match leaf {
            Leaf::Known(value) => constant(*value),
            Leaf::Fact(of, fact, gives) => {
                let slot = self.record.slot(self.thing(*of), *fact);
                let value = match self.mode {
                    Mode::Banded => slot.banded,
                    Mode::AsRead => slot.as_read,
                };
                match value {
                    facts::Value::Quantity(interval) => Value::Number(interval),
                    facts::Value::Label(place) => Value::Places(Places::one(place)),
                    facts::Value::Nothing | facts::Value::Truth(_) | facts::Value::Text(_) => {
                        match gives {
                            Type::Label(_) => Value::Places(Places::UNKNOWN),
                            Type::Quantity(_)
                            | Type::Slope
                            | Type::Point(_)
                            | Type::YesNo
                            | Type::Text
                            | Type::Reference => Value::Number(Interval::WHOLE),
                        }
                    }
                }
            }
        }
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

    // Numbers.

    /// A side of a comparison: of a fact the ends alone, since its exact value is at hand.
    #[inline]
    fn side(&mut self, number: &Number) -> Missing<Near> {
        match number {
            Number::Known(near) => (*near, false),
            Number::Fact(of, fact) => {
                let ends = self.fact(*of, *fact);
                let value = ends.map_or(Near::WHOLE, Near::between);
                (value, value.is_whole())
            }
            computed => self.number(computed),
        }
    }

    fn number(&mut self, number: &Number) -> Missing<Near> {
        match number {
            Number::Known(near) => (*near, false),
            Number::Fact(of, fact) => {
                let value = self.fact(*of, *fact).map_or(Near::WHOLE, Near::again);
                (value, value.is_whole())
            }
            Number::Negate(inner) => {
                let (value, missing) = self.number(inner);
                (value.negate(), missing)
            }
            Number::Add(parts) => self.both(parts, |a, b| Some(a.plus(b))),
            Number::Subtract(parts) => self.both(parts, |a, b| Some(a.minus(b))),
            Number::Multiply(parts) => self.both(parts, Near::times),
            Number::Divide(parts) => self.both(parts, Near::over),
            Number::Lesser(parts) => self.both(parts, |a, b| Some(a.lesser(b))),
            Number::Greater(parts) => self.both(parts, |a, b| Some(a.greater(b))),
            Number::Power(base, exponent) => {
                let (base, missing) = self.number(base);
                self.sure(base.raised(*exponent), missing)
            }
            Number::Root(inner) => {
                let (inner, missing) = self.number(inner);
                self.sure(inner.root(), missing)
            }
            Number::If(parts, has_range) => self.branch(parts, *has_range),
            Number::Count(list, inner) => self.count(*list, inner.as_deref()),
            Number::Fold(fold, list, inner) => self.fold(*fold, *list, inner),
            Number::Lookup(table) => self.lookup(table),
        }
    }

    fn both(
        &mut self,
        [left, right]: &[Number; 2],
        join: impl Fn(Near, Near) -> Option<Near>,
    ) -> Missing<Near> {
        let (a, a_missing) = self.number(left);
        let (b, b_missing) = self.number(right);
        self.sure(join(a, b), a_missing || b_missing)
    }

    fn sure(&mut self, value: Option<Near>, missing: bool) -> Missing<Near> {
        self.doubts |= value.is_none();
        (value.unwrap_or(Near::WHOLE), missing)
    }

    fn branch(
        &mut self,
        (condition, then, otherwise): &(Condition, Number, Number),
        has_range: bool,
    ) -> Missing<Near> {
        let held = self.condition(condition);
        match held.truth {
            Truth::True => self.number(then),
            Truth::False => self.number(otherwise),
            Truth::Unknown => {
                let (a, a_missing) = self.number(then);
                let (b, b_missing) = self.number(otherwise);
                let missing = held.missing || a_missing || b_missing;
                let value = if has_range || a == b {
                    a.hull(b)
                } else {
                    Near::WHOLE
                };
                (value, missing)
            }
        }
    }

    fn count(&mut self, list: List, inner: Option<&Condition>) -> Missing<Near> {
        let (items, is_open) = self.list(list);
        let (mut sure, mut perhaps) = (0_u32, 0_u32);
        let mut missing = is_open;
        for item in items {
            let Some(inner) = inner else {
                sure += 1;
                continue;
            };
            self.bound.push(*item);
            let held = self.condition(inner);
            self.bound.pop();
            match held.truth {
                Truth::True => sure += 1,
                Truth::False => {}
                Truth::Unknown => {
                    perhaps += 1;
                    missing |= held.missing;
                }
            }
        }
        let places = |number: u32| u16::try_from(number).ok().map(Near::exactly);
        let value = places(sure)
            .zip(places(sure + perhaps))
            .map(|(least, most)| {
                if is_open {
                    least.or_more()
                } else {
                    least.hull(most)
                }
            });
        self.sure(value, missing)
    }

    fn fold(&mut self, fold: Fold, list: List, inner: &Number) -> Missing<Near> {
        let (items, is_open) = self.list(list);
        let mut missing = is_open || (items.is_empty() && fold != Fold::Total);
        let mut value = match fold {
            Fold::Total => Some(Near::exactly(0)),
            Fold::Least | Fold::Greatest => None,
        };
        for item in items {
            self.bound.push(*item);
            let (number, lacks) = self.number(inner);
            self.bound.pop();
            missing |= lacks;
            value = Some(match (fold, value) {
                (_, None) => number,
                (Fold::Least, Some(known)) => known.lesser(number),
                (Fold::Greatest, Some(known)) => known.greater(number),
                (Fold::Total, Some(known)) => known.plus(number),
            });
        }
        let value = value.unwrap_or(Near::WHOLE);
        let value = match (is_open, fold) {
            (false, _) => value,
            (true, Fold::Least) => value.lesser(Near::WHOLE),
            (true, Fold::Greatest) => value.greater(Near::WHOLE),
            (true, Fold::Total) => Near::WHOLE,
        };
        (value, missing)
    }

    /// A cell whose place is sure; anything else is left to the exact walk.
    fn lookup(&mut self, table: &Table) -> Missing<Near> {
        let mut cell = 0;
        for Key { key, axis } in &table.keys {
            let (first, past, beyond) = axis_places(axis, self.exact(key));
            if beyond || past != first + 1 {
                self.doubts = true;
                return (Near::WHOLE, true);
            }
            cell = cell * axis.length() + first;
        }
        self.sure(table.cells[cell], false)
    }
}

/// Where the rulings of a rule go.
struct Telling<'r> {
    number: u32,
    rule: &'r QuickRule,
    rulings: &'r mut Vec<Ruling>,
}

fn undecided(missing: bool) -> Verdict {
    if missing {
        Verdict::NotRecorded
    } else {
        Verdict::TooClose
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
