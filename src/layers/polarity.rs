//! Which way a limit is looser, from how rules use it.
//!
//! A rule asks `not w or E`, w being all its `when`s. Whatever makes that weaker loosens. The sign
//! of a limit is followed through comparisons, arithmetic, `and`, `or`, `not` and `when`; where it
//! can't be followed, that is the answer.

use crate::check::typed::{
    Argument, Constant, Expression, ExpressionKind, HeadClause, Library, LimitId, PlaceId, Rule,
    RuleOrigin, TableId,
};
use crate::language::syntax::{Comparator, Operator};
use crate::quantity::Rational;

/// What raising a value does to the rules that use it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// They ask more.
    RisingTightens,
    /// They ask less.
    RisingLoosens,
    /// It can't be told, or two rules disagree.
    CannotTell,
    /// No rule uses it.
    Unused,
}

/// Which way a limit is looser.
pub fn direction_of_limit(library: &Library, limit: LimitId) -> Direction {
    direction(library, Target::Limit(limit), None)
}

/// Which way the cells of a table are looser.
pub fn direction_of_cells(library: &Library, table: TableId) -> Direction {
    direction(library, Target::Cells(table), None)
}

/// A limit, or the cells of a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Target {
    Limit(LimitId),
    Cells(TableId),
}

/// Which way a target is looser on a way of places: what others add or replace has no say there.
pub(crate) fn direction_on(library: &Library, target: Target, way: &[PlaceId]) -> Direction {
    direction(library, target, Some(way))
}

/// Whether a precaution that may be in force on a way uses a target.
pub(super) fn in_precaution(library: &Library, target: Target, way: &[PlaceId]) -> bool {
    rules_on(library, Some(way)).any(|rule| {
        rule.obligation.is_precaution() && rule_sign(library, rule, target) != Sign::Absent
    })
}

/// The rules that may be in force on a way of places; all of them where none is given.
fn rules_on<'a>(
    library: &'a Library,
    way: Option<&'a [PlaceId]>,
) -> impl Iterator<Item = &'a Rule> {
    library.rules.iter().filter(move |rule| {
        let home = match rule.origin {
            RuleOrigin::Topic => library.topics[rule.topic.index()].home,
            RuleOrigin::Added(place) | RuleOrigin::Replacement { place, .. } => Some(place),
        };
        match (way, home) {
            (Some(way), Some(home)) => way.contains(&home),
            (None, _) | (_, None) => true,
        }
    })
}

fn direction(library: &Library, target: Target, way: Option<&[PlaceId]>) -> Direction {
    let sign = rules_on(library, way)
        .map(|rule| rule_sign(library, rule, target))
        .fold(Sign::Absent, Sign::join);
    match sign {
        Sign::Absent => Direction::Unused,
        Sign::Rises => Direction::RisingLoosens,
        Sign::Falls => Direction::RisingTightens,
        Sign::Unknown => Direction::CannotTell,
    }
}

/// How an expression moves when the target rises; a truth rises when it becomes weaker.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sign {
    Absent,
    Rises,
    Falls,
    Unknown,
}

impl Sign {
    fn join(self, other: Sign) -> Sign {
        match (self, other) {
            (Sign::Absent, sign) | (sign, Sign::Absent) => sign,
            (a, b) if a == b => a,
            _ => Sign::Unknown,
        }
    }

    fn turned(self) -> Sign {
        match self {
            Sign::Rises => Sign::Falls,
            Sign::Falls => Sign::Rises,
            Sign::Absent | Sign::Unknown => self,
        }
    }

    /// Times something of a known or unknown sign.
    fn times(self, other: Range) -> Sign {
        match (self, other) {
            (Sign::Absent, _) => Sign::Absent,
            (sign, Range::NotNegative) => sign,
            (sign, Range::NotPositive) => sign.turned(),
            (_, Range::Any) => Sign::Unknown,
        }
    }

    /// Where the way it goes no longer matters: only whether it is there.
    fn lost(self) -> Sign {
        match self {
            Sign::Absent => Sign::Absent,
            Sign::Rises | Sign::Falls | Sign::Unknown => Sign::Unknown,
        }
    }
}

/// What is known of an expression's sign.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Range {
    NotNegative,
    NotPositive,
    Any,
}

impl Range {
    fn of(value: Rational) -> Range {
        if value >= Rational::ZERO {
            Range::NotNegative
        } else {
            Range::NotPositive
        }
    }

    fn times(self, other: Range) -> Range {
        match (self, other) {
            (Range::Any, _) | (_, Range::Any) => Range::Any,
            (a, b) if a == b => Range::NotNegative,
            _ => Range::NotPositive,
        }
    }

    fn join(self, other: Range) -> Range {
        if self == other { self } else { Range::Any }
    }
}

fn rule_sign(library: &Library, rule: &Rule, target: Target) -> Sign {
    let look = Look {
        library,
        rule,
        target,
    };
    let mut sign = Sign::Absent;
    for clause in &rule.head {
        if let HeadClause::When(condition) = clause {
            sign = sign.join(look.sign(condition, &[]).turned());
        }
    }
    match rule.obligation.condition() {
        Some(condition) => sign.join(look.sign(condition, &[])),
        None => sign,
    }
}

/// What a define's parameter is given.
#[derive(Debug, Clone, Copy)]
struct Given {
    sign: Sign,
    range: Range,
}

struct Look<'a> {
    library: &'a Library,
    rule: &'a Rule,
    target: Target,
}

impl Look<'_> {
    fn sign(&self, expression: &Expression, given: &[Given]) -> Sign {
        let sign = |part: &Expression| self.sign(part, given);
        match &expression.kind {
            ExpressionKind::Constant(_)
            | ExpressionKind::Text(_)
            | ExpressionKind::Fact(..)
            | ExpressionKind::Id(_)
            | ExpressionKind::Count(_, None) => Sign::Absent,
            ExpressionKind::Limit(limit) => self.hit(Target::Limit(*limit)),
            ExpressionKind::Lookup(table, keys) => keys
                .iter()
                .map(|key| sign(key).lost())
                .fold(self.hit(Target::Cells(*table)), Sign::join),
            ExpressionKind::Define(define, arguments) => {
                let body = &self.library.defines[define.index()].body;
                self.sign(body, &self.given(arguments, given))
            }
            ExpressionKind::Survey(_, arguments) => arguments
                .iter()
                .map(|argument| match argument {
                    Argument::Value(value) => sign(value).lost(),
                    Argument::Thing(_) => Sign::Absent,
                })
                .fold(Sign::Absent, Sign::join),
            ExpressionKind::Parameter(at) => given[usize::from(*at)].sign,
            ExpressionKind::Negate(inner) | ExpressionKind::Not(inner) => sign(inner).turned(),
            ExpressionKind::Arithmetic(operator, left, right) => {
                self.arithmetic(*operator, left, right, given)
            }
            ExpressionKind::Power(base, exponent) => self.power(base, *exponent, given),
            ExpressionKind::Root(inner)
            | ExpressionKind::In(inner, _)
            | ExpressionKind::Every(_, inner)
            | ExpressionKind::Some(_, inner)
            | ExpressionKind::Count(_, Some(inner))
            | ExpressionKind::Fold(_, _, inner) => sign(inner),
            ExpressionKind::Compare(comparator, left, right) => match comparator {
                Comparator::AtLeast | Comparator::MoreThan => sign(left).join(sign(right).turned()),
                Comparator::AtMost | Comparator::LessThan => sign(left).turned().join(sign(right)),
                Comparator::Is => sign(left).join(sign(right)).lost(),
            },
            ExpressionKind::OneOf(value, alternatives) => alternatives
                .iter()
                .map(sign)
                .fold(sign(value), Sign::join)
                .lost(),
            ExpressionKind::And(parts) | ExpressionKind::Or(parts) => {
                parts.iter().map(sign).fold(Sign::Absent, Sign::join)
            }
            ExpressionKind::If(condition, then, otherwise) => sign(condition)
                .lost()
                .join(sign(then))
                .join(sign(otherwise)),
            ExpressionKind::Lesser(left, right) | ExpressionKind::Greater(left, right) => {
                sign(left).join(sign(right))
            }
        }
    }

    fn hit(&self, found: Target) -> Sign {
        if found == self.target {
            Sign::Rises
        } else {
            Sign::Absent
        }
    }

    fn given(&self, arguments: &[Argument], given: &[Given]) -> Vec<Given> {
        arguments
            .iter()
            .map(|argument| match argument {
                Argument::Value(value) => Given {
                    sign: self.sign(value, given),
                    range: self.range(value, given),
                },
                Argument::Thing(_) => Given {
                    sign: Sign::Absent,
                    range: Range::Any,
                },
            })
            .collect()
    }

    fn arithmetic(
        &self,
        operator: Operator,
        left: &Expression,
        right: &Expression,
        given: &[Given],
    ) -> Sign {
        let (a, b) = (self.sign(left, given), self.sign(right, given));
        match operator {
            Operator::Add => a.join(b),
            Operator::Subtract => a.join(b.turned()),
            Operator::Multiply => a
                .times(self.range(right, given))
                .join(b.times(self.range(left, given))),
            Operator::Divide => {
                // Where the divisor may pass zero, the quotient neither rises nor falls with it.
                let b = match self.range(right, given) {
                    Range::NotNegative | Range::NotPositive => b.turned(),
                    Range::Any => b.lost(),
                };
                a.times(self.range(right, given))
                    .join(b.times(self.range(left, given)))
            }
        }
    }

    fn power(&self, base: &Expression, exponent: Rational, given: &[Given]) -> Sign {
        let sign = self.sign(base, given);
        if sign == Sign::Absent {
            return sign;
        }
        match (self.range(base, given), Range::of(exponent)) {
            (Range::NotNegative, Range::NotNegative) => sign,
            (Range::NotNegative, _) => sign.turned(),
            (Range::NotPositive | Range::Any, _) => Sign::Unknown,
        }
    }

    /// The sign of a value, from constants and declared ranges.
    fn range(&self, expression: &Expression, given: &[Given]) -> Range {
        let range = |part: &Expression| self.range(part, given);
        match &expression.kind {
            ExpressionKind::Constant(Constant::Number { value, .. }) => Range::of(*value),
            ExpressionKind::Limit(limit) => {
                range_of(self.library.limits[limit.index()].values.iter())
            }
            ExpressionKind::Lookup(table, _) => range_of(
                self.library.tables[table.index()]
                    .cells
                    .iter()
                    .filter_map(|cell| cell.value.as_ref()),
            ),
            // Within a define the numbers of locals are the define's own.
            ExpressionKind::Fact(binding, fact) if self.rule.holds(expression.span) => {
                self.fact_range(*binding, *fact, expression.span)
            }
            ExpressionKind::Fact(..) => Range::Any,
            ExpressionKind::Define(define, arguments) => {
                let body = &self.library.defines[define.index()].body;
                self.range(body, &self.given(arguments, given))
            }
            ExpressionKind::Parameter(at) => given[usize::from(*at)].range,
            ExpressionKind::Negate(inner) => Range::NotPositive.times(range(inner)),
            ExpressionKind::Arithmetic(operator, left, right) => match operator {
                Operator::Add => range(left).join(range(right)),
                Operator::Subtract => Range::Any,
                Operator::Multiply | Operator::Divide => range(left).times(range(right)),
            },
            ExpressionKind::Power(base, _) => match range(base) {
                Range::NotNegative => Range::NotNegative,
                Range::NotPositive | Range::Any => Range::Any,
            },
            ExpressionKind::Root(_) | ExpressionKind::Count(..) => Range::NotNegative,
            ExpressionKind::In(inner, _) | ExpressionKind::Fold(_, _, inner) => range(inner),
            ExpressionKind::If(_, left, right)
            | ExpressionKind::Lesser(left, right)
            | ExpressionKind::Greater(left, right) => range(left).join(range(right)),
            ExpressionKind::Constant(Constant::Label { .. })
            | ExpressionKind::Text(_)
            | ExpressionKind::Id(_)
            | ExpressionKind::Survey(..)
            | ExpressionKind::Compare(..)
            | ExpressionKind::OneOf(..)
            | ExpressionKind::Not(_)
            | ExpressionKind::And(_)
            | ExpressionKind::Or(_)
            | ExpressionKind::Every(..)
            | ExpressionKind::Some(..) => Range::Any,
        }
    }

    /// The declared range of a fact. Its thing is found in the rule's own `each`s; elsewhere
    /// nothing is said, which is always right.
    fn fact_range(
        &self,
        binding: crate::check::typed::Binding,
        fact: crate::vocabulary::FactId,
        span: crate::source::Span,
    ) -> Range {
        use crate::check::typed::Binding;
        let thing = match binding {
            Binding::Site => crate::vocabulary::SITE,
            Binding::Local(at) => {
                let bound = self
                    .rule
                    .head
                    .iter()
                    .filter_map(|clause| match clause {
                        // A later one binds nothing here yet: its number is a quantifier's.
                        HeadClause::Each {
                            list, span: bound, ..
                        } if bound.start < span.start => Some(list.things),
                        HeadClause::Each { .. } | HeadClause::When(_) => None,
                    })
                    .nth(usize::from(at));
                match bound {
                    Some(thing) => thing,
                    None => return Range::Any,
                }
            }
            Binding::Parameter(_) => return Range::Any,
        };
        let known = self.library.vocabulary.thing(thing);
        if usize::from(fact.0) >= known.facts.len() {
            return Range::Any;
        }
        match known.fact(fact).range {
            Some(range) if !range.may_be_negative() => Range::NotNegative,
            Some(_) | None => Range::Any,
        }
    }
}

fn range_of<'a>(values: impl Iterator<Item = &'a Constant>) -> Range {
    values
        .map(|constant| match constant {
            Constant::Number { value, .. } => Range::of(*value),
            Constant::Label { .. } => Range::Any,
        })
        .reduce(Range::join)
        .unwrap_or(Range::Any)
}
