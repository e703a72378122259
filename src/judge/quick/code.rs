//! A rule as it is judged with floats: small steps, constants already turned into floats.
//!
//! What floats can't stand for (texts, the survey, powers that are not whole) is left to the
//! exact walk, and the rule with it.

use super::conditions::bit;
use super::held::size;
use crate::check::typed::Decision;
use crate::language::syntax::{Comparator, Fold, Operator};
use crate::program::code::{
    self, Axis, Binding, Clause, Demand, LimitSide, List, Node, Program, Rule, Step,
};
use crate::quantity::{Interval, Near, Rational};
use crate::vocabulary::{FactId, Type, Vocabulary};

/// The most that a whole power is multiplied out.
const MOST_MULTIPLIED: u8 = 6;

/// A rule's head and demand.
#[derive(Debug)]
pub(super) struct QuickRule {
    pub head: Vec<QuickClause>,
    pub demand: QuickDemand,
    /// Which way decides, and so is told of.
    pub decision: Decision,
}

#[derive(Debug)]
pub(super) enum QuickClause {
    Each(List),
    When(Condition),
}

#[derive(Debug)]
pub(super) enum QuickDemand {
    Shall(Condition),
    Precaution(Condition),
    RecordFact(Owner, FactId),
    RecordList(List),
    Refer,
}

/// Whose a fact is: 0 of the site, else of the nth thing that is bound.
#[derive(Debug, Clone, Copy)]
pub(super) struct Owner(u8);

impl Owner {
    #[inline]
    pub fn of(binding: Binding) -> Owner {
        match binding {
            Binding::Site => Owner(0),
            // What a rule binds is bounded where it is checked.
            Binding::Local(at) => Owner(at as u8 + 1),
        }
    }

    #[inline]
    pub fn place(self) -> usize {
        usize::from(self.0)
    }
}

/// A step that gives a number, or the place of a label.
#[derive(Debug)]
pub(super) enum Number {
    Known(Known),
    Fact(Owner, FactId),
    Negate(Box<Number>),
    Add(Box<[Number; 2]>),
    Subtract(Box<[Number; 2]>),
    Multiply(Box<[Number; 2]>),
    Divide(Box<[Number; 2]>),
    Power(Box<Number>, u8),
    Root(Box<Number>),
    Lesser(Box<[Number; 2]>),
    Greater(Box<[Number; 2]>),
    /// Whether labels of it have a range between.
    If(Box<(Condition, Number, Number)>, bool),
    Count(List, Option<Box<Condition>>),
    Fold(Fold, List, Box<Number>),
    Lookup(Box<Table>),
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

/// A step that holds or does not.
#[derive(Debug)]
pub(super) enum Condition {
    Against(Against),
    Fact(Owner, FactId),
    /// A fact against fixed labels: the bits of their places.
    OneOf(Owner, FactId, u64),
    Compare(Box<Comparison>),
    /// Of labels.
    OneOfSeveral(Number, Vec<Number>),
    Not(Box<Condition>),
    And(Vec<Condition>),
    Or(Vec<Condition>),
    Every(List, Box<Condition>),
    Some(List, Box<Condition>),
    If(Box<[Condition; 3]>),
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
    pub of: Owner,
    pub fact: FactId,
    /// Whether the fact may be no more than the constant, else no less.
    pub is_most: bool,
    /// Whether the constant itself is too much, or too little.
    pub is_strict: bool,
    pub has_margin: bool,
    /// The ends of the constant.
    pub ends: [f64; 2],
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
}

/// Turns the rules of one program.
pub(super) struct Turning<'p> {
    pub program: &'p Program,
    pub vocabulary: &'p Vocabulary,
}

impl Turning<'_> {
    /// The rule for floats; none where it needs the exact walk.
    pub fn rule(&self, rule: &Rule) -> Option<QuickRule> {
        let head: Option<Vec<QuickClause>> = rule
            .head
            .iter()
            .map(|clause| {
                Some(match clause {
                    Clause::Each(list) => QuickClause::Each(*list),
                    Clause::When(node) => QuickClause::When(self.condition(rule, node)?),
                })
            })
            .collect();
        let demand = match &rule.demand {
            _ if rule.unset.is_some() => QuickDemand::Refer,
            Demand::Shall(node) | Demand::Should(node) => {
                QuickDemand::Shall(self.condition(rule, node)?)
            }
            Demand::Precaution(node) => QuickDemand::Precaution(self.condition(rule, node)?),
            Demand::RecordFact(of, fact) => QuickDemand::RecordFact(Owner::of(*of), *fact),
            Demand::RecordList(list) => QuickDemand::RecordList(*list),
            Demand::Refer(_) => QuickDemand::Refer,
        };
        Some(QuickRule {
            head: head?,
            demand,
            decision: rule.decision,
        })
    }

    fn condition(&self, rule: &Rule, node: &Node) -> Option<Condition> {
        let all = |parts: &[Node]| -> Option<Vec<Condition>> {
            parts
                .iter()
                .map(|part| self.condition(rule, part))
                .collect()
        };
        let one = |part: &Node| self.condition(rule, part);
        Some(match &node.step {
            Step::Fact(of, fact) => Condition::Fact(Owner::of(*of), *fact),
            Step::Define(_, body) => one(body)?,
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
                let alternatives: Option<Vec<Number>> = alternatives
                    .iter()
                    .map(|alternative| self.number(rule, alternative))
                    .collect();
                // Only labels are decided by floats alone.
                if !matches!(value.gives, Type::Label(_)) {
                    return None;
                }
                one_of(self.number(rule, value)?, alternatives?)
            }
            Step::Not(inner) => Condition::Not(Box::new(one(inner)?)),
            Step::And(parts) => Condition::And(all(parts)?),
            Step::Or(parts) => Condition::Or(all(parts)?),
            Step::Every(list, inner) => Condition::Every(*list, Box::new(one(inner)?)),
            Step::Some(list, inner) => Condition::Some(*list, Box::new(one(inner)?)),
            Step::If(condition, then, otherwise) => {
                Condition::If(Box::new([one(condition)?, one(then)?, one(otherwise)?]))
            }
            Step::Constant(..)
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

    fn number(&self, rule: &Rule, node: &Node) -> Option<Number> {
        if !is_number(node.gives) && !matches!(node.gives, Type::Label(_)) {
            return None;
        }
        let one = |part: &Node| self.number(rule, part);
        let boxed = |part: &Node| one(part).map(Box::new);
        let two = |left: &Node, right: &Node| Some(Box::new([one(left)?, one(right)?]));
        Some(match &node.step {
            Step::Constant(value, _) => Number::Known(Known::new(*value)),
            Step::Limit(at) => Number::Known(Known::new(*self.program.limits[*at].values.first()?)),
            Step::Fact(of, fact) => Number::Fact(Owner::of(*of), *fact),
            Step::Define(_, body) => one(body)?,
            Step::Negate(inner) => Number::Negate(boxed(inner)?),
            Step::Arithmetic(Operator::Add, a, b) => Number::Add(two(a, b)?),
            Step::Arithmetic(Operator::Subtract, a, b) => Number::Subtract(two(a, b)?),
            Step::Arithmetic(Operator::Multiply, a, b) => Number::Multiply(two(a, b)?),
            Step::Arithmetic(Operator::Divide, a, b) => Number::Divide(two(a, b)?),
            Step::Power(base, exponent) => {
                let exponent = u8::try_from(exponent.as_integer()?).ok()?;
                if exponent > MOST_MULTIPLIED {
                    return None;
                }
                Number::Power(boxed(base)?, exponent)
            }
            Step::Root(inner) => Number::Root(boxed(inner)?),
            Step::In(inner, unit) => {
                let by = Number::Known(Known::of(unit.factor.into()));
                Number::Divide(Box::new([one(inner)?, by]))
            }
            Step::Lesser(a, b) => Number::Lesser(two(a, b)?),
            Step::Greater(a, b) => Number::Greater(two(a, b)?),
            Step::If(condition, then, otherwise) => {
                let condition = self.condition(rule, condition)?;
                let parts = Box::new((condition, one(then)?, one(otherwise)?));
                Number::If(parts, self.vocabulary.is_ordered(node.gives))
            }
            Step::Count(list, inner) => {
                let inner = match inner {
                    Some(inner) => Some(Box::new(self.condition(rule, inner)?)),
                    None => None,
                };
                Number::Count(*list, inner)
            }
            Step::Fold(fold, list, inner) => Number::Fold(*fold, *list, boxed(inner)?),
            Step::Lookup(table, keys) => Number::Lookup(self.table(rule, *table, keys)?),
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

    fn table(&self, rule: &Rule, number: usize, keys: &[Node]) -> Option<Box<Table>> {
        let table = &self.program.tables[number];
        let keys = table.axes.iter().zip(keys).map(|(axis, key)| {
            Some(Key {
                key: self.number(rule, key)?,
                axis: axis.clone(),
            })
        });
        let cells = table.cells.iter().map(|cell| cell.map(Known::new));
        Some(Box::new(Table {
            keys: keys.collect::<Option<_>>()?,
            cells: cells.collect(),
        }))
    }

    fn side(&self, rule: &Rule, node: &Node) -> Option<Side> {
        let others = match &node.step {
            Step::Limit(at) => {
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

/// A comparison in its quickest form.
fn compared(whole: Comparison) -> Condition {
    let Comparison {
        form,
        left,
        right,
        limit_is_left,
        has_margin,
    } = &whole;
    let has_others = !left.others.is_empty() || !right.others.is_empty();
    let (is_most, of, fact, known) = match (&left.number, &right.number) {
        (Number::Fact(of, fact), Number::Known(known)) => (false, *of, *fact, known),
        (Number::Known(known), Number::Fact(of, fact)) => (true, *of, *fact, known),
        _ => return Condition::Compare(Box::new(whole)),
    };
    let has_margin = *has_margin;
    match form {
        _ if has_others => Condition::Compare(Box::new(whole)),
        // Of labels.
        Form::Is if !has_margin => {
            let known = Number::Known(known.clone());
            one_of(Number::Fact(of, fact), vec![known])
        }
        Form::Is => Condition::Compare(Box::new(whole)),
        Form::AtLeast | Form::MoreThan => Condition::Against(Against {
            of,
            fact,
            is_most,
            is_strict: *form == Form::MoreThan,
            has_margin,
            ends: [known.near.lower(), known.near.upper()],
            limit: (*limit_is_left == is_most).then(|| size(known.near)),
            whole: Box::new(whole),
        }),
    }
}

/// A choice among labels in its quickest form.
fn one_of(value: Number, alternatives: Vec<Number>) -> Condition {
    let bits = alternatives.iter().try_fold(0_u64, |bits, alternative| {
        let Number::Known(known) = alternative else {
            return None;
        };
        let bit = bit(known.near.is_point().then(|| known.near.lower())?);
        (bit != 0).then_some(bits | bit)
    });
    match (bits, &value) {
        (Some(bits), Number::Fact(of, fact)) => Condition::OneOf(*of, *fact, bits),
        _ => Condition::OneOfSeveral(value, alternatives),
    }
}

fn is_number(gives: Type) -> bool {
    match gives {
        Type::Quantity(_) | Type::Slope | Type::Point(_) => true,
        Type::YesNo | Type::Text | Type::Reference | Type::Label(_) => false,
    }
}
