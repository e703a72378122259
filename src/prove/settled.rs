//! Rules whose outcome is settled before anything is recorded: a condition is reckoned with every
//! fact at its whole declared range.
//!
//! What is said holds for every record within the ranges. Two readings of one fact are taken for
//! independent, a list may be empty or of any length, and a survey function may give anything, so
//! that something true may go unsaid.

use crate::check::typed::{Library, PlaceId, TopicId};
use crate::judge::evaluate::{axis_places, compared, constant, hull, unknown};
use crate::judge::value::{Places, Value};
use crate::language::syntax::{Comparator, Fold, Operator};
use crate::layers::{Dates, InForce, as_written, in_force};
use crate::library::Opened;
use crate::program::code::{Binding, Clause, Demand, List, Node, Program, Rule, Step};
use crate::program::compile;
use crate::quantity::{Interval, Rational};
use crate::source::{Sources, Span};
use crate::truth::Truth;
use crate::vocabulary::{FactId, SITE, ThingId, Type};

use super::mutant::Scope;
use super::proof::{Outlook, Settled, Where};

/// The settled rules of a scope: of the model as written, of places as in force on a date. What is
/// settled in the model or at an outer place is told there alone.
pub(super) fn settled(
    opened: &Opened,
    sources: &Sources,
    scope: Scope,
    on: Rational,
) -> Vec<Settled> {
    let library = &opened.library;
    let mut found: Vec<Settled> = Vec::new();
    let mut tell = |place: Option<&str>, standing: InForce| {
        let program = compile(library, &opened.survey, standing);
        for (rule, outlook, span) in outlooks(opened, &program) {
            let known = &library.rules[rule.rule.index()];
            let wanted = match scope {
                Scope::Whole | Scope::Place(_) => true,
                Scope::Topic(topic) => known.topic == topic,
            };
            let is_told = |told: &Settled| told.rule == known.id && told.outlook == outlook;
            if wanted && !found.iter().any(is_told) {
                found.push(Settled {
                    rule: known.id.clone(),
                    place: place.map(str::to_owned),
                    outlook,
                    at: Where::of(sources, span),
                });
            }
        }
    };
    if !matches!(scope, Scope::Place(_)) {
        let is_model = |topic: TopicId| library.topics[topic.index()].home.is_none();
        tell(None, as_written(library, is_model, Some(on), on));
    }
    for (at, place) in library.places.iter().enumerate() {
        let id = PlaceId::at(at);
        let wanted = match scope {
            Scope::Whole | Scope::Topic(_) => true,
            Scope::Place(of) => of == id,
        };
        if let (true, Ok(standing)) = (wanted, in_force(library, &[id], &Dates::all_on(on))) {
            tell(Some(&place.path), standing);
        }
    }
    found
}

fn outlooks<'a>(opened: &'a Opened, program: &'a Program) -> Vec<(&'a Rule, Outlook, Span)> {
    program
        .rules
        .iter()
        .filter_map(|rule| {
            let (outlook, span) = outlook(opened, program, rule)?;
            Some((rule, outlook, span))
        })
        .collect()
}

fn outlook<'a>(
    opened: &'a Opened,
    program: &'a Program,
    rule: &'a Rule,
) -> Option<(Outlook, Span)> {
    let mut ranges = Ranges::new(&opened.library, program, Vec::new());
    for clause in &rule.head {
        match clause {
            Clause::Each(list) => ranges.bound.push(list.things),
            Clause::When(condition) => {
                if ranges.value(condition).truth() == Truth::False {
                    return Some((Outlook::NeverApplies, condition.span));
                }
            }
        }
    }
    let condition = match &rule.demand {
        Demand::Shall(condition) | Demand::Should(condition) | Demand::Precaution(condition) => {
            condition
        }
        Demand::RecordFact(..) | Demand::RecordList(_) | Demand::Refer(_) => return None,
    };
    match ranges.value(condition).truth() {
        Truth::True => Some((Outlook::NeverFallsShort, condition.span)),
        Truth::False => Some((Outlook::NeverMeets, condition.span)),
        Truth::Unknown => None,
    }
}

/// A program with every fact at its declared range.
pub(super) struct Ranges<'a> {
    library: &'a Library,
    program: &'a Program,
    /// What is bound, the outermost first.
    bound: Vec<ThingId>,
}

impl<'a> Ranges<'a> {
    pub fn new(library: &'a Library, program: &'a Program, bound: Vec<ThingId>) -> Self {
        Ranges {
            library,
            program,
            bound,
        }
    }

    /// Everything that a step may give.
    pub fn value(&mut self, node: &'a Node) -> Value<'a> {
        match &node.step {
            Step::Constant(value, _) => constant(*value),
            Step::Text(_) | Step::Id(_) => Value::Text(None),
            Step::Fact(of, fact) => self.fact(*of, *fact, node.gives),
            Step::Limit(at) => {
                let first = self.program.limits[*at].values.first();
                first.map_or(unknown(node.gives), |value| constant(*value))
            }
            Step::Lookup(table, keys) => self.lookup(*table, keys, node.gives),
            Step::Define(_, body) => self.value(body),
            Step::Survey(..) => unknown(node.gives),
            Step::Negate(inner) => Value::Number(self.number(inner).negate()),
            Step::Arithmetic(operator, left, right) => {
                let (a, b) = (self.number(left), self.number(right));
                Value::Number(match operator {
                    Operator::Add => a.add(b),
                    Operator::Subtract => a.subtract(b),
                    Operator::Multiply => a.multiply(b),
                    Operator::Divide => a.divide(b).unwrap_or(Interval::WHOLE),
                })
            }
            Step::Power(base, exponent) => {
                let base = self.number(base);
                let raised = match exponent.as_integer().and_then(|n| i64::try_from(n).ok()) {
                    Some(whole) => base.power_integer(whole),
                    None => base.power(*exponent),
                };
                Value::Number(raised.unwrap_or(Interval::WHOLE))
            }
            Step::Root(inner) => {
                Value::Number(self.number(inner).root().unwrap_or(Interval::WHOLE))
            }
            Step::In(inner, unit) => {
                let counted = self.number(inner).divide(Interval::point(unit.factor));
                Value::Number(counted.unwrap_or(Interval::WHOLE))
            }
            Step::Compare(_, comparator, left, right) => self.compare(*comparator, left, right),
            Step::OneOf(_, value, alternatives) => {
                let value = self.value(value);
                let any = alternatives.iter().fold(Truth::False, |truth, other| {
                    truth.or(compared(Comparator::Is, value, self.value(other)).0)
                });
                Value::Truth(any)
            }
            Step::Not(inner) => Value::Truth(self.value(inner).truth().negated()),
            Step::And(parts) => Value::Truth(parts.iter().fold(Truth::True, |truth, part| {
                truth.and(self.value(part).truth())
            })),
            Step::Or(parts) => Value::Truth(parts.iter().fold(Truth::False, |truth, part| {
                truth.or(self.value(part).truth())
            })),
            Step::If(condition, then, otherwise) => match self.value(condition).truth() {
                Truth::True => self.value(then),
                Truth::False => self.value(otherwise),
                Truth::Unknown => {
                    let (then, otherwise) = (self.value(then), self.value(otherwise));
                    hull(
                        Some(then),
                        otherwise,
                        self.library.vocabulary.is_ordered(node.gives),
                    )
                }
            },
            // Of an empty list every element has anything, and none has.
            Step::Every(list, inner) => {
                Value::Truth(self.within(*list, inner).truth().or(Truth::Unknown))
            }
            Step::Some(list, inner) => {
                Value::Truth(self.within(*list, inner).truth().and(Truth::Unknown))
            }
            Step::Count(..) => Value::Number(Interval::at_least(Rational::ZERO)),
            Step::Fold(fold, list, inner) => {
                let each = self.within(*list, inner).number();
                Value::Number(match fold {
                    Fold::Least | Fold::Greatest => each,
                    Fold::Total if !each.may_be_negative() => Interval::at_least(Rational::ZERO),
                    Fold::Total => Interval::WHOLE,
                })
            }
            Step::Lesser(left, right) => self.chosen(left, right, Fold::Least),
            Step::Greater(left, right) => self.chosen(left, right, Fold::Greatest),
        }
    }

    fn number(&mut self, node: &'a Node) -> Interval {
        self.value(node).number()
    }

    fn within(&mut self, list: List, inner: &'a Node) -> Value<'a> {
        self.bound.push(list.things);
        let value = self.value(inner);
        self.bound.pop();
        value
    }

    /// Everything that a fact is declared to be.
    fn fact(&self, of: Binding, fact: FactId, gives: Type) -> Value<'a> {
        let vocabulary = &self.library.vocabulary;
        let thing = match of {
            Binding::Site => SITE,
            Binding::Local(at) => self.bound[usize::from(at)],
        };
        match gives {
            Type::Label(scale) => {
                let last = vocabulary.scale(scale).places.len().saturating_sub(1);
                Value::Places(Places {
                    least: 0,
                    greatest: i32::try_from(last).unwrap_or(i32::MAX),
                })
            }
            Type::Quantity(_) | Type::Slope | Type::Point(_) => {
                let range = vocabulary.thing(thing).fact(fact).range;
                Value::Number(range.unwrap_or(Interval::WHOLE))
            }
            Type::YesNo | Type::Text | Type::Reference => unknown(gives),
        }
    }

    fn lookup(&mut self, number: usize, keys: &'a [Node], gives: Type) -> Value<'a> {
        let table = &self.program.tables[number];
        let mut cells: Vec<usize> = vec![0];
        for (axis, key) in table.axes.iter().zip(keys) {
            let (first, past, _) = axis_places(axis, self.value(key));
            cells = cells
                .iter()
                .flat_map(|cell| (first..past).map(move |place| cell * axis.length() + place))
                .collect();
        }
        let ordered = self.library.vocabulary.is_ordered(gives);
        let values = cells.into_iter().filter_map(|cell| table.cells[cell]);
        values
            .fold(None, |known, value| {
                Some(hull(known, constant(value), ordered))
            })
            .unwrap_or(unknown(gives))
    }

    fn compare(&mut self, comparator: Comparator, left: &'a Node, right: &'a Node) -> Value<'a> {
        let (a, b) = (self.value(left), self.value(right));
        let mut truth = compared(comparator, a, b).0;
        for other in self.equivalents(left) {
            truth = truth.or(compared(comparator, other, b).0);
        }
        for other in self.equivalents(right) {
            truth = truth.or(compared(comparator, a, other).0);
        }
        Value::Truth(truth)
    }

    fn equivalents(&self, side: &Node) -> Vec<Value<'a>> {
        match &side.step {
            Step::Limit(at) => {
                let values = self.program.limits[*at].values.iter();
                values.skip(1).map(|value| constant(*value)).collect()
            }
            _ => Vec::new(),
        }
    }

    fn chosen(&mut self, left: &'a Node, right: &'a Node, which: Fold) -> Value<'a> {
        let (a, b) = (self.value(left), self.value(right));
        match (a, b) {
            (Value::Places(a), Value::Places(b)) => Value::Places(match which {
                Fold::Least => a.lesser(b),
                Fold::Greatest | Fold::Total => a.greater(b),
            }),
            _ => Value::Number(match which {
                Fold::Least => a.number().lesser(b.number()),
                Fold::Greatest | Fold::Total => a.number().greater(b.number()),
            }),
        }
    }
}
