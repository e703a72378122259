//! A rule as it is judged with floats: small steps, constants already turned into floats.
//!
//! What floats can't stand for (texts, the survey, powers that are not whole) is left to the
//! exact walk, and the rule with it.

use super::conditions::bit;
use super::held::Verdicts;
use crate::check::typed::Decision;
use crate::figures::{Column, Layout, List, Owner};
use crate::finding::Verdict;
use crate::language::syntax::{Comparator, Fold, Operator};
use crate::program::code::{self, Axis, Binding, Clause, Demand, LimitSide, Node, Program, Rule};
use crate::quantity::{Interval, Near, Ratio, Rational};
use crate::vocabulary::{FactId, SITE, ThingId, Type, Vocabulary};

/// The most that a whole power is multiplied out.
const MOST_MULTIPLIED: u8 = 6;

/// A rule's head and demand.
#[derive(Debug)]
pub(super) struct QuickRule {
    pub over: Over,
    /// What is asked of the innermost thing before the demand.
    pub whens: Box<[Condition]>,
    pub demand: QuickDemand,
    /// Which way decides, and so is told of.
    pub decision: Decision,
}

/// What a rule goes through.
#[derive(Debug)]
pub(super) enum Over {
    /// A way of the layout, by its place.
    Shared(usize),
    /// One on which it asks something, or that the layout lacks.
    Own(Way),
}

/// Lists within lists.
#[derive(Debug)]
pub(super) struct Way {
    /// What is asked before any list is gone through.
    pub whens: Box<[Condition]>,
    pub levels: Box<[Level]>,
}

/// A list that is gone through, and what is asked of each element then.
#[derive(Debug)]
pub(super) struct Level {
    pub list: List,
    pub whens: Box<[Condition]>,
}

#[derive(Debug)]
pub(super) enum QuickDemand {
    Asked(Condition, Verdicts),
    RecordFact(Fact),
    RecordList(List),
    Refer,
}

/// A fact as the figures keep it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Fact {
    pub of: Owner,
    pub column: Column,
}

/// A step that gives a number, or the place of a label: mostly one of the first two.
#[derive(Debug)]
pub(super) enum Number {
    Known(Known),
    Fact(Fact),
    Computed(Box<Computed>),
}

#[derive(Debug)]
pub(super) enum Computed {
    Negate(Number),
    Add([Number; 2]),
    Subtract([Number; 2]),
    Multiply([Number; 2]),
    Divide([Number; 2]),
    Power(Number, u8),
    Root(Number),
    Lesser([Number; 2]),
    Greater([Number; 2]),
    If {
        condition: Condition,
        then: Number,
        otherwise: Number,
        /// Whether labels of it have a range between.
        has_range: bool,
    },
    Count(List, Option<Condition>),
    Fold(Fold, List, Number),
    Lookup(Table),
}

impl Number {
    fn is_one(&self) -> bool {
        matches!(self, Number::Known(known) if *known.exact == Rational::ONE.into())
    }
}

impl From<Computed> for Number {
    fn from(computed: Computed) -> Number {
        Number::Computed(Box::new(computed))
    }
}

/// A constant.
#[derive(Debug, Clone)]
pub(super) struct Known {
    pub near: Near,
    pub exact: Box<Interval>,
}

impl Known {
    fn new(value: code::Value) -> Known {
        let exact = match value {
            code::Value::Number(interval) => interval,
            code::Value::Label(place) => Interval::point(Rational::from_integer(place.into())),
        };
        Known::of(exact)
    }

    fn of(exact: Interval) -> Known {
        Known {
            near: Near::around(exact),
            exact: Box::new(exact),
        }
    }
}

/// A table and its keys.
#[derive(Debug)]
pub(super) struct Table {
    pub keys: Vec<Key>,
    /// None where there is no value.
    pub cells: Vec<Option<Known>>,
}

#[derive(Debug)]
pub(super) struct Key {
    pub key: Number,
    pub axis: Axis,
}

/// A side of a comparison.
#[derive(Debug)]
pub(super) struct Side {
    pub number: Number,
    /// Published equivalents of it.
    pub others: Vec<Number>,
}

/// What holds or does not: one step behind the other, each of which joins what it finds to what
/// those before it found.
pub(super) type Condition = Box<[Step]>;

#[derive(Debug)]
pub(super) struct Step {
    pub join: Join,
    pub asks: Asks,
}

/// How what a step finds is joined to what there is already.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Join {
    /// There is nothing before it, nor behind it.
    Alone,
    /// It is the first of several.
    First,
    And,
    Or,
}

/// Mostly not composed.
#[derive(Debug)]
pub(super) enum Asks {
    /// A fact is no less than a constant.
    AtLeast(Against),
    MoreThan(Against),
    AtMost(Against),
    LessThan(Against),
    Compare(Box<Comparison>),
    /// Whether a fact is yes, or is no.
    Fact(Fact, bool),
    /// A fact is one of fixed labels, or none of them: the bits of their places.
    OneOf(Fact, u64, bool),
    Composed(Box<Composed>),
}

#[derive(Debug)]
pub(super) enum Composed {
    /// Of labels.
    OneOf(Number, Vec<Number>),
    /// Joined among themselves first.
    Apart(Condition),
    Not(Condition),
    Every(List, Condition),
    Some(List, Condition),
    If([Condition; 3]),
}

impl From<Composed> for Asks {
    fn from(composed: Composed) -> Asks {
        Asks::Composed(Box::new(composed))
    }
}

/// A comparison, turned round where it asks for the lesser.
#[derive(Debug)]
pub(super) struct Comparison {
    pub form: Form,
    pub left: Side,
    pub right: Side,
    pub limit_is_left: bool,
    /// Whether it is of numbers: labels have no margin.
    pub has_margin: bool,
}

/// A comparison of a fact with a constant, ready for floats.
#[derive(Debug)]
pub(super) struct Against {
    pub fact: Fact,
    pub has_margin: bool,
    /// The ends of the constant.
    pub ends: [f64; 2],
    /// The constant itself, where 64 bits hold it.
    pub exact: Option<Ratio>,
    /// The size of the constant, where it is the limit.
    pub limit: Option<f64>,
    /// The same as any other.
    pub whole: Box<Comparison>,
}

/// What is asked of the left side.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Form {
    AtLeast,
    MoreThan,
    Is,
    IsNot,
}

/// Turns the rules of one program.
pub(super) struct Turning<'p> {
    pub program: &'p Program,
    pub vocabulary: &'p Vocabulary,
    /// Where figures keep what the rules ask for.
    pub layout: Layout,
    /// Whether the layout takes what it lacks yet.
    pub may_add: bool,
    /// The kinds of the things that are bound, the outermost first.
    pub bound: Vec<ThingId>,
}

impl Turning<'_> {
    /// The rule for floats; none where it needs the exact walk.
    pub fn rule(&mut self, rule: &Rule) -> Option<QuickRule> {
        self.bound.clear();
        let mut first = Vec::new();
        let mut levels: Vec<(List, Vec<Condition>)> = Vec::new();
        for clause in &rule.head {
            match clause {
                Clause::Each(list) => {
                    levels.push((self.list(*list), Vec::new()));
                    self.bound.push(list.things);
                }
                Clause::When(node) => {
                    let condition = self.condition(rule, node)?;
                    let of = levels.last_mut().map_or(&mut first, |(_, whens)| whens);
                    of.push(condition);
                }
            }
        }
        let demand = match &rule.demand {
            _ if rule.unset.is_some() => QuickDemand::Refer,
            Demand::Shall(node) | Demand::Should(node) => {
                asked(self.condition(rule, node)?, Verdict::Meets)
            }
            Demand::Precaution(node) => asked(self.condition(rule, node)?, Verdict::Refer),
            Demand::RecordFact(of, fact) => QuickDemand::RecordFact(self.fact(*of, *fact)),
            Demand::RecordList(list) => QuickDemand::RecordList(self.list(*list)),
            Demand::Refer(_) => QuickDemand::Refer,
        };
        let innermost = levels.last_mut().map_or(&mut first, |(_, whens)| whens);
        let whens = std::mem::take(innermost).into();
        let levels = levels.into_iter().map(|(list, whens)| Level {
            list,
            whens: whens.into(),
        });
        let way = Way {
            whens: first.into(),
            levels: levels.collect(),
        };
        Some(QuickRule {
            over: self.over(way),
            whens,
            demand,
            decision: rule.decision,
        })
    }

    /// What a rule goes through.
    fn over(&mut self, way: Way) -> Over {
        let asks_nothing = |level: &Level| level.whens.is_empty();
        if !way.whens.is_empty() || !way.levels.iter().all(asks_nothing) {
            return Over::Own(way);
        }
        let lists: Vec<List> = way.levels.iter().map(|level| level.list).collect();
        let shared = match self.may_add {
            true => Some(self.layout.way(lists)),
            false => self.layout.known_way(&lists),
        };
        shared.map_or(Over::Own(way), Over::Shared)
    }

    fn kind(&self, of: Binding) -> ThingId {
        match of {
            Binding::Site => SITE,
            Binding::Local(at) => self.bound[usize::from(at)],
        }
    }

    fn fact(&mut self, of: Binding, fact: FactId) -> Fact {
        Fact {
            of: owner(of, self.bound.len()),
            column: self.layout.fact(self.kind(of), fact),
        }
    }

    fn list(&mut self, list: code::List) -> List {
        let kind = self.kind(list.of);
        List {
            of: owner(list.of, self.bound.len()),
            column: self.layout.list(self.vocabulary, kind, list.list),
        }
    }

    /// What is asked of each element of a list.
    fn of_elements<T>(
        &mut self,
        list: code::List,
        turned: impl FnOnce(&mut Self) -> Option<T>,
    ) -> Option<(List, T)> {
        let over = self.list(list);
        self.bound.push(list.things);
        let turned = turned(self);
        self.bound.pop();
        Some((over, turned?))
    }

    fn condition(&mut self, rule: &Rule, node: &Node) -> Option<Condition> {
        let mut steps = Vec::new();
        self.steps(rule, node, Join::Alone, &mut steps)?;
        Some(steps.into())
    }

    /// Adds the steps of a condition that is joined to what there is already.
    fn steps(&mut self, rule: &Rule, node: &Node, join: Join, steps: &mut Vec<Step>) -> Option<()> {
        if let code::Step::Define(_, body) = &node.step {
            return self.steps(rule, body, join, steps);
        }
        let (parts, others) = if let code::Step::And(parts) = &node.step {
            (parts, Join::And)
        } else if let code::Step::Or(parts) = &node.step {
            (parts, Join::Or)
        } else {
            let asks = self.asks(rule, node)?;
            steps.push(Step { join, asks });
            return Some(());
        };
        match join {
            Join::Alone | Join::First => {
                for (place, part) in parts.iter().enumerate() {
                    let join = if place == 0 { Join::First } else { others };
                    self.steps(rule, part, join, steps)?;
                }
            }
            Join::And | Join::Or => {
                let asks = Composed::Apart(self.condition(rule, node)?).into();
                steps.push(Step { join, asks });
            }
        }
        Some(())
    }

    /// What a condition asks that is not joined of several.
    fn asks(&mut self, rule: &Rule, node: &Node) -> Option<Asks> {
        use code::Step;
        Some(match &node.step {
            Step::Fact(of, fact) => Asks::Fact(self.fact(*of, *fact), true),
            Step::Compare(at, comparator, left, right) => {
                let (form, is_turned) = match comparator {
                    Comparator::AtLeast => (Form::AtLeast, false),
                    Comparator::AtMost => (Form::AtLeast, true),
                    Comparator::MoreThan => (Form::MoreThan, false),
                    Comparator::LessThan => (Form::MoreThan, true),
                    Comparator::Is => (Form::Is, false),
                };
                let is_left = rule.comparisons[*at].limit_side == LimitSide::Left;
                let (left, right) = match is_turned {
                    true => (right, left),
                    false => (left, right),
                };
                compared(Comparison {
                    form,
                    left: self.side(rule, left)?,
                    right: self.side(rule, right)?,
                    limit_is_left: is_left != is_turned,
                    has_margin: is_number(left.gives) && is_number(right.gives),
                })
            }
            Step::OneOf(_, value, alternatives) => {
                // Only labels are decided by floats alone.
                if !matches!(value.gives, Type::Label(_)) {
                    return None;
                }
                let value = self.number(rule, value)?;
                let alternatives = alternatives.iter();
                let alternatives = alternatives.map(|alternative| self.number(rule, alternative));
                one_of(value, alternatives.collect::<Option<_>>()?)
            }
            Step::Not(inner) => not(self.condition(rule, inner)?)?,
            Step::Every(list, inner) => {
                let (list, inner) = self.of_elements(*list, |this| this.condition(rule, inner))?;
                Composed::Every(list, inner).into()
            }
            Step::Some(list, inner) => {
                let (list, inner) = self.of_elements(*list, |this| this.condition(rule, inner))?;
                Composed::Some(list, inner).into()
            }
            Step::If(condition, then, otherwise) => Composed::If([
                self.condition(rule, condition)?,
                self.condition(rule, then)?,
                self.condition(rule, otherwise)?,
            ])
            .into(),
            Step::Define(..)
            | Step::And(_)
            | Step::Or(_)
            | Step::Constant(..)
            | Step::Text(_)
            | Step::Id(_)
            | Step::Limit(_)
            | Step::Lookup(..)
            | Step::Survey(..)
            | Step::Negate(_)
            | Step::Arithmetic(..)
            | Step::Power(..)
            | Step::Root(_)
            | Step::In(..)
            | Step::Count(..)
            | Step::Fold(..)
            | Step::Lesser(..)
            | Step::Greater(..) => return None,
        })
    }

    fn number(&mut self, rule: &Rule, node: &Node) -> Option<Number> {
        use code::Step;
        if !is_number(node.gives) && !matches!(node.gives, Type::Label(_)) {
            return None;
        }
        Some(match &node.step {
            Step::Constant(value, _) => Number::Known(Known::new(*value)),
            Step::Limit(at) => Number::Known(Known::new(*self.program.limits[*at].values.first()?)),
            Step::Fact(of, fact) => Number::Fact(self.fact(*of, *fact)),
            Step::Define(_, body) => self.number(rule, body)?,
            Step::Negate(inner) => Computed::Negate(self.number(rule, inner)?).into(),
            Step::Arithmetic(operator, a, b) => {
                let two = self.two(rule, a, b)?;
                match operator {
                    Operator::Add => Computed::Add(two).into(),
                    Operator::Subtract => Computed::Subtract(two).into(),
                    Operator::Multiply => product(two),
                    Operator::Divide => quotient(two),
                }
            }
            Step::Power(base, exponent) => {
                let exponent = u8::try_from(exponent.as_integer()?).ok()?;
                if exponent > MOST_MULTIPLIED {
                    return None;
                }
                Computed::Power(self.number(rule, base)?, exponent).into()
            }
            Step::Root(inner) => Computed::Root(self.number(rule, inner)?).into(),
            Step::In(inner, unit) => {
                let by = Number::Known(Known::of(unit.factor.into()));
                quotient([self.number(rule, inner)?, by])
            }
            Step::Lesser(a, b) => Computed::Lesser(self.two(rule, a, b)?).into(),
            Step::Greater(a, b) => Computed::Greater(self.two(rule, a, b)?).into(),
            Step::If(condition, then, otherwise) => Computed::If {
                condition: self.condition(rule, condition)?,
                then: self.number(rule, then)?,
                otherwise: self.number(rule, otherwise)?,
                has_range: self.vocabulary.is_ordered(node.gives),
            }
            .into(),
            Step::Count(list, None) => Computed::Count(self.list(*list), None).into(),
            Step::Count(list, Some(inner)) => {
                let (list, inner) = self.of_elements(*list, |this| this.condition(rule, inner))?;
                Computed::Count(list, Some(inner)).into()
            }
            Step::Fold(fold, list, inner) => {
                let (list, inner) = self.of_elements(*list, |this| this.number(rule, inner))?;
                Computed::Fold(*fold, list, inner).into()
            }
            Step::Lookup(table, keys) => Computed::Lookup(self.table(rule, *table, keys)?).into(),
            Step::Text(_)
            | Step::Id(_)
            | Step::Survey(..)
            | Step::Compare(..)
            | Step::OneOf(..)
            | Step::Not(_)
            | Step::And(_)
            | Step::Or(_)
            | Step::Every(..)
            | Step::Some(..) => return None,
        })
    }

    fn two(&mut self, rule: &Rule, left: &Node, right: &Node) -> Option<[Number; 2]> {
        Some([self.number(rule, left)?, self.number(rule, right)?])
    }

    fn table(&mut self, rule: &Rule, number: usize, keys: &[Node]) -> Option<Table> {
        let program = self.program;
        let table = &program.tables[number];
        let keys = table.axes.iter().zip(keys).map(|(axis, key)| {
            Some(Key {
                key: self.number(rule, key)?,
                axis: axis.clone(),
            })
        });
        let keys = keys.collect::<Option<_>>()?;
        let cells = table.cells.iter().map(|cell| cell.map(Known::new));
        Some(Table {
            keys,
            cells: cells.collect(),
        })
    }

    fn side(&mut self, rule: &Rule, node: &Node) -> Option<Side> {
        let others = match &node.step {
            code::Step::Limit(at) => {
                let values = self.program.limits[*at].values.iter().skip(1);
                values
                    .map(|value| Number::Known(Known::new(*value)))
                    .collect()
            }
            _ => Vec::new(),
        };
        Some(Side {
            number: self.number(rule, node)?,
            others,
        })
    }
}

/// A product, unless it is one of its parts.
fn product(parts: [Number; 2]) -> Number {
    match parts {
        [one, other] if one.is_one() => other,
        [other, one] if one.is_one() => other,
        parts => Computed::Multiply(parts).into(),
    }
}

/// A quotient, unless it is what is divided.
fn quotient(parts: [Number; 2]) -> Number {
    match parts {
        [number, one] if one.is_one() => number,
        parts => Computed::Divide(parts).into(),
    }
}

fn asked(condition: Condition, in_order: Verdict) -> QuickDemand {
    QuickDemand::Asked(condition, Verdicts::of_demand(in_order))
}

/// The opposite of a condition; none where it would tell other margins.
fn not(condition: Condition) -> Option<Asks> {
    if condition.len() > 1 {
        return is_silent(&condition).then(|| Composed::Not(condition).into());
    }
    let asks = condition.into_iter().next()?.asks;
    Some(match asks {
        Asks::Fact(fact, is) => Asks::Fact(fact, !is),
        Asks::OneOf(fact, places, is) => Asks::OneOf(fact, places, !is),
        Asks::AtLeast(against)
        | Asks::MoreThan(against)
        | Asks::AtMost(against)
        | Asks::LessThan(against) => compared(against.whole.opposite()?),
        Asks::Compare(comparison) => compared(comparison.opposite()?),
        Asks::Composed(composed) => {
            let step = Step {
                join: Join::Alone,
                asks: Asks::Composed(composed),
            };
            let condition = Condition::from([step]);
            if !is_silent(&condition) {
                return None;
            }
            Composed::Not(condition).into()
        }
    })
}

/// Whether no margin is ever told of it.
fn is_silent(condition: &[Step]) -> bool {
    condition.iter().all(|step| match &step.asks {
        Asks::AtLeast(against)
        | Asks::MoreThan(against)
        | Asks::AtMost(against)
        | Asks::LessThan(against) => !against.has_margin,
        Asks::Compare(comparison) => !comparison.has_margin,
        Asks::Fact(..) | Asks::OneOf(..) => true,
        Asks::Composed(composed) => match &**composed {
            Composed::OneOf(..) => true,
            Composed::Apart(inner)
            | Composed::Not(inner)
            | Composed::Every(_, inner)
            | Composed::Some(_, inner) => is_silent(inner),
            Composed::If([_, then, otherwise]) => is_silent(then) && is_silent(otherwise),
        },
    })
}

impl Comparison {
    /// What holds where it does not; none where a side has published equivalents.
    fn opposite(self) -> Option<Comparison> {
        let form = match self.form {
            Form::AtLeast => Form::MoreThan,
            Form::MoreThan => Form::AtLeast,
            Form::Is => Form::IsNot,
            Form::IsNot => Form::Is,
        };
        let is_turned = matches!(form, Form::AtLeast | Form::MoreThan);
        let whole = Comparison { form, ..self };
        let opposite = match is_turned {
            true => Comparison {
                left: whole.right,
                right: whole.left,
                limit_is_left: !whole.limit_is_left,
                ..whole
            },
            false => whole,
        };
        (!opposite.has_others()).then_some(opposite)
    }

    /// Whether a side has published equivalents.
    pub fn has_others(&self) -> bool {
        !self.left.others.is_empty() || !self.right.others.is_empty()
    }
}

/// A comparison in its quickest form.
fn compared(whole: Comparison) -> Asks {
    let Comparison {
        form,
        left,
        right,
        limit_is_left,
        has_margin,
    } = &whole;
    let (is_most, fact, known) = match (&left.number, &right.number) {
        (Number::Fact(fact), Number::Known(known)) => (false, *fact, known),
        (Number::Known(known), Number::Fact(fact)) => (true, *fact, known),
        _ => return Asks::Compare(Box::new(whole)),
    };
    let (form, has_margin) = (*form, *has_margin);
    match form {
        _ if whole.has_others() => Asks::Compare(Box::new(whole)),
        // Of labels.
        Form::Is | Form::IsNot if !has_margin => {
            let known = Number::Known(known.clone());
            let asks = one_of(Number::Fact(fact), vec![known]);
            match (form, asks) {
                (Form::IsNot, Asks::OneOf(fact, places, is)) => Asks::OneOf(fact, places, !is),
                (_, asks) => asks,
            }
        }
        Form::Is | Form::IsNot => Asks::Compare(Box::new(whole)),
        Form::AtLeast | Form::MoreThan => {
            let against = Against {
                fact,
                has_margin,
                ends: [known.near.lower(), known.near.upper()],
                exact: known.exact.exact_point().and_then(Ratio::of),
                limit: (*limit_is_left == is_most).then(|| known.near.size()),
                whole: Box::new(whole),
            };
            match (is_most, form == Form::MoreThan) {
                (false, false) => Asks::AtLeast(against),
                (false, true) => Asks::MoreThan(against),
                (true, false) => Asks::AtMost(against),
                (true, true) => Asks::LessThan(against),
            }
        }
    }
}

/// A choice among labels in its quickest form.
fn one_of(value: Number, alternatives: Vec<Number>) -> Asks {
    let bits = alternatives.iter().try_fold(0_u64, |bits, alternative| {
        let Number::Known(known) = alternative else {
            return None;
        };
        let bit = bit(known.near.is_point().then(|| known.near.lower())?);
        (bit != 0).then_some(bits | bit)
    });
    match (bits, &value) {
        (Some(bits), Number::Fact(fact)) => Asks::OneOf(*fact, bits, true),
        _ => Composed::OneOf(value, alternatives).into(),
    }
}

fn is_number(gives: Type) -> bool {
    match gives {
        Type::Quantity(_) | Type::Slope | Type::Point(_) => true,
        Type::YesNo | Type::Text | Type::Reference | Type::Label(_) => false,
    }
}

/// Where so many things are bound.
fn owner(binding: Binding, depth: usize) -> Owner {
    match binding {
        // Where nothing is bound the site is the innermost.
        Binding::Site if depth == 0 => Owner::INNERMOST,
        Binding::Site => Owner::SITE,
        // What a rule binds is bounded where it is checked.
        Binding::Local(at) => Owner((depth - 1 - usize::from(at)) as u8),
    }
}
