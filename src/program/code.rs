//! The form that runs.
//!
//! Limits have become values, defines are written out, names are slots. What a report needs to
//! say (names, units, clauses) stands beside the code and is looked at only when asked for.

use crate::check::typed::{Citation, Constant, Decision, LimitId, RuleId, TableId};
use crate::language::syntax::{Comparator, Fold, Operator};
use crate::layers::{RuleInForce, Standing, TopicStanding};
use crate::quantity::{Interval, Rational, Unit};
use crate::source::Span;
use crate::survey::Function;
use crate::vocabulary::{FactId, ListId, PermitId, ScaleId, ThingId, Type};

/// The rules in force at some places on some dates, ready to judge a record.
#[derive(Debug, Clone)]
pub struct Program {
    /// The rules, in the library's order.
    pub rules: Vec<Rule>,
    /// What each topic goes by.
    pub topics: Vec<TopicStanding>,
    /// The limits in force, each with its way; code speaks of them by number.
    pub limits: Vec<LimitInForce>,
    /// The tables in force, with the cells that places amended.
    pub tables: Vec<TableInForce>,
}

/// A limit as it stands.
#[derive(Debug, Clone)]
pub struct LimitInForce {
    /// Which.
    pub limit: LimitId,
    /// Its values, as intervals; the first is the one that counts outside comparisons.
    pub values: Vec<Value>,
    /// Its value and where it came from.
    pub standing: Standing,
}

/// A table as it stands.
#[derive(Debug, Clone)]
pub struct TableInForce {
    /// Which.
    pub table: TableId,
    /// Its axes.
    pub axes: Vec<Axis>,
    /// A value for each cell; none for `no value`.
    pub cells: Vec<Option<Value>>,
    /// Where the cells that some place speaks of came from.
    pub standings: Vec<(usize, Standing)>,
}

/// The places of a key.
#[derive(Debug, Clone)]
pub enum Axis {
    /// One for each place of a choice or size.
    Scale {
        /// How many.
        places: u16,
        /// Whether its places have an order.
        ordered: bool,
    },
    /// Place `i` ends with bound `i`.
    UpTo {
        /// Rising.
        bounds: Vec<Rational>,
        /// Whether a last place has no end.
        beyond: bool,
    },
    /// Place `i` begins with bound `i`.
    From {
        /// Rising.
        bounds: Vec<Rational>,
        /// Whether a first place has no beginning.
        below: bool,
    },
}

impl Axis {
    /// How many places it has.
    pub fn length(&self) -> usize {
        match self {
            Axis::Scale { places, .. } => usize::from(*places),
            Axis::UpTo { bounds, beyond } => bounds.len() + usize::from(*beyond),
            Axis::From { bounds, below } => bounds.len() + usize::from(*below),
        }
    }
}

/// A constant as it is judged with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Value {
    /// A quantity or point.
    Number(Interval),
    /// A place of a choice or a size.
    Label(u16),
}

/// A rule, ready to run.
#[derive(Debug, Clone)]
pub struct Rule {
    /// The rule in the library.
    pub rule: RuleId,
    /// Who put it in force, and when.
    pub standing: RuleInForce,
    /// The permit whose date selected it; none for a precaution.
    pub permit: Option<PermitId>,
    /// `each` and `when`, in order.
    pub head: Vec<Clause>,
    /// What it asks.
    pub demand: Demand,
    /// How it is decided.
    pub decision: Decision,
    /// Its comparisons; code speaks of them by number.
    pub comparisons: Vec<Comparison>,
    /// Whether it asks the survey, whose values may have two sources.
    pub surveys: bool,
    /// The limit that no place has set, which turns the rule into a question.
    pub unset: Option<LimitId>,
}

/// A clause of a rule's head.
#[derive(Debug, Clone)]
pub enum Clause {
    /// Goes through a list.
    Each(List),
    /// Goes on only where it holds.
    When(Node),
}

/// What a rule asks.
#[derive(Debug, Clone)]
pub enum Demand {
    /// `shall`
    Shall(Node),
    /// `should`
    Should(Node),
    /// `shall record` a fact
    RecordFact(Binding, FactId),
    /// `shall record` a list
    RecordList(List),
    /// `refer`
    Refer(String),
    /// `precaution`
    Precaution(Node),
}

/// A thing that is bound: the site, or the nth element on the stack.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Binding {
    /// The lot itself.
    Site,
    /// An element of a list, counted from the outermost.
    Local(u16),
}

/// A list of a bound thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct List {
    /// Whose.
    pub of: Binding,
    /// Which.
    pub list: ListId,
    /// What it lists.
    pub things: ThingId,
}

/// A step of a computation and what it is called.
#[derive(Debug, Clone)]
pub struct Node {
    /// What it does.
    pub step: Step,
    /// The type it gives.
    pub gives: Type,
    /// Where it is written.
    pub span: Span,
}

impl Node {
    /// The steps that it takes first, arguments that are values among them.
    pub fn parts(&self) -> Vec<&Node> {
        match &self.step {
            Step::Constant(..)
            | Step::Text(_)
            | Step::Fact(..)
            | Step::Id(_)
            | Step::Limit(_)
            | Step::Count(_, None) => Vec::new(),
            Step::Lookup(_, parts) | Step::And(parts) | Step::Or(parts) => parts.iter().collect(),
            Step::Survey(_, arguments) => arguments
                .iter()
                .filter_map(|argument| match argument {
                    Argument::Value(value) => Some(value),
                    Argument::Thing(_) => None,
                })
                .collect(),
            Step::Define(_, inner)
            | Step::Negate(inner)
            | Step::Power(inner, _)
            | Step::Root(inner)
            | Step::In(inner, _)
            | Step::Not(inner)
            | Step::Every(_, inner)
            | Step::Some(_, inner)
            | Step::Count(_, Some(inner))
            | Step::Fold(_, _, inner) => vec![inner],
            Step::Arithmetic(_, left, right)
            | Step::Compare(_, _, left, right)
            | Step::Lesser(left, right)
            | Step::Greater(left, right) => vec![left, right],
            Step::OneOf(_, value, alternatives) => {
                std::iter::once(&**value).chain(alternatives).collect()
            }
            Step::If(condition, then, otherwise) => vec![condition, then, otherwise],
        }
    }

    /// The same, to be changed.
    pub fn parts_mut(&mut self) -> Vec<&mut Node> {
        match &mut self.step {
            Step::Constant(..)
            | Step::Text(_)
            | Step::Fact(..)
            | Step::Id(_)
            | Step::Limit(_)
            | Step::Count(_, None) => Vec::new(),
            Step::Lookup(_, parts) | Step::And(parts) | Step::Or(parts) => {
                parts.iter_mut().collect()
            }
            Step::Survey(_, arguments) => arguments
                .iter_mut()
                .filter_map(|argument| match argument {
                    Argument::Value(value) => Some(value),
                    Argument::Thing(_) => None,
                })
                .collect(),
            Step::Define(_, inner)
            | Step::Negate(inner)
            | Step::Power(inner, _)
            | Step::Root(inner)
            | Step::In(inner, _)
            | Step::Not(inner)
            | Step::Every(_, inner)
            | Step::Some(_, inner)
            | Step::Count(_, Some(inner))
            | Step::Fold(_, _, inner) => vec![inner],
            Step::Arithmetic(_, left, right)
            | Step::Compare(_, _, left, right)
            | Step::Lesser(left, right)
            | Step::Greater(left, right) => vec![left, right],
            Step::OneOf(_, value, alternatives) => {
                std::iter::once(&mut **value).chain(alternatives).collect()
            }
            Step::If(condition, then, otherwise) => vec![condition, then, otherwise],
        }
    }
}

/// An argument of a survey function.
#[derive(Debug, Clone)]
pub enum Argument {
    /// A thing.
    Thing(Binding),
    /// A value.
    Value(Node),
}

/// What a step does.
#[derive(Debug, Clone)]
pub enum Step {
    /// A constant.
    Constant(Value, Constant),
    /// A text.
    Text(String),
    /// A fact of a thing.
    Fact(Binding, FactId),
    /// The id of a thing.
    Id(Binding),
    /// A limit, by its place in [`Program::limits`].
    Limit(usize),
    /// A table's value, by its place in [`Program::tables`].
    Lookup(usize, Vec<Node>),
    /// A define written out; its number is the library's.
    Define(crate::check::typed::DefineId, Box<Node>),
    /// A survey function.
    Survey(Function, Vec<Argument>),
    /// `-a`
    Negate(Box<Node>),
    /// `+ - × /`
    Arithmetic(Operator, Box<Node>, Box<Node>),
    /// `a ^ n`
    Power(Box<Node>, Rational),
    /// `root(a)`
    Root(Box<Node>),
    /// `a in UNIT`: the number of units in `a`.
    In(Box<Node>, Unit),
    /// A comparison, by its place in [`Rule::comparisons`].
    Compare(usize, Comparator, Box<Node>, Box<Node>),
    /// `a is one of b, c`, likewise.
    OneOf(usize, Box<Node>, Vec<Node>),
    /// `not a`
    Not(Box<Node>),
    /// `a and b`
    And(Vec<Node>),
    /// `a or b`
    Or(Vec<Node>),
    /// `if c then a else b`
    If(Box<Node>, Box<Node>, Box<Node>),
    /// `every x in L has P`
    Every(List, Box<Node>),
    /// `some x in L has P`
    Some(List, Box<Node>),
    /// `count of x in L where P`
    Count(List, Option<Box<Node>>),
    /// `least of f for x in L`
    Fold(Fold, List, Box<Node>),
    /// `lesser of a and b`
    Lesser(Box<Node>, Box<Node>),
    /// `greater of a and b`
    Greater(Box<Node>, Box<Node>),
}

/// Which side of a comparison is the limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LimitSide {
    /// The left one: it has no facts and the right one has.
    Left,
    /// The right one.
    Right,
}

/// What a report says of a comparison.
#[derive(Debug, Clone)]
pub struct Comparison {
    /// Which side is the limit.
    pub limit_side: LimitSide,
    /// The unit that the limit is written in.
    pub unit: Option<Unit>,
    /// The choice or size that is compared.
    pub scale: Option<ScaleId>,
    /// What its sides are.
    pub kind: Type,
    /// The clauses of the limits and tables it uses.
    pub citations: Vec<Citation>,
}
