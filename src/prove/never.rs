//! Changes that no record can show: something else decides whatever is recorded, or what is
//! compared takes steps and none lies between.
//!
//! Nothing is said that doesn't hold for every record; what is too large to be looked through is
//! left to the cases.

use super::mutant::{Change, Mutant, Seat};
use super::settled::Ranges;
use crate::check::typed::Constant;
use crate::judge::evaluate::{axis_places, compared, constant, unknown};
use crate::judge::value::{Places, Value};
use crate::language::syntax::{Comparator, Operator};
use crate::library::Opened;
use crate::program::code::{Axis, Binding, Clause, Demand, Node, Program, Rule, Step};
use crate::quantity::Interval;
use crate::truth::Truth;
use crate::vocabulary::{FactId, ThingId, Type};

/// The most combinations of labels and keys that are looked through.
const MOST_COMBINATIONS: usize = 300_000;

/// Why no record can show a change of a program; none where one might.
pub(super) fn never_shows(
    opened: &Opened,
    mutant: &Mutant,
    program: &Program,
    changed: &Program,
) -> Option<&'static str> {
    let pair = Pair {
        opened,
        mutant,
        programs: [program, changed],
    };
    let mut why = None;
    for (rule, changed) in program.rules.iter().zip(&changed.rules) {
        pair.rule([rule, changed], &mut why)?;
    }
    why
}

const SETTLED: &str = "whatever is recorded, another condition settles it";
const STEPS: &str = "what is compared goes in steps, and none lies between";
const ROUNDED: &str = "it is reckoned with a power or root: no reading stands exactly at it";

/// A program as it is and as it is changed.
struct Pair<'a> {
    opened: &'a Opened,
    mutant: &'a Mutant,
    programs: [&'a Program; 2],
}

impl<'a> Pair<'a> {
    /// None where a record might show it.
    fn rule(&self, rules: [&'a Rule; 2], why: &mut Option<&'static str>) -> Option<()> {
        if self.rule_goes_in_steps(rules) {
            *why = Some(STEPS);
            return Some(());
        }
        let mut bound = Vec::new();
        for clauses in rules[0].head.iter().zip(&rules[1].head) {
            match clauses {
                (Clause::Each(list), _) => bound.push(list.things),
                (Clause::When(is), Clause::When(becomes)) => {
                    self.node([is, becomes], &bound, why)?;
                }
                (Clause::When(_), Clause::Each(_)) => return None,
            }
        }
        let [is, becomes] = rules.map(condition);
        match (is, becomes) {
            (Some(is), Some(becomes)) => self.node([is, becomes], &bound, why),
            _ => Some(()),
        }
    }

    fn node(
        &self,
        nodes: [&'a Node; 2],
        bound: &[ThingId],
        why: &mut Option<&'static str>,
    ) -> Option<()> {
        if !self.holds_seat(nodes[0]) {
            return Some(());
        }
        if self.is_settled(nodes, bound) {
            *why = Some(SETTLED);
            return Some(());
        }
        if let Some(reason) = self.comparison(nodes) {
            *why = Some(reason);
            return Some(());
        }
        if self.is_seat(nodes[0]) {
            return None;
        }
        let inner = match &nodes[0].step {
            Step::Every(list, _)
            | Step::Some(list, _)
            | Step::Count(list, _)
            | Step::Fold(_, list, _) => [bound, &[list.things]].concat(),
            _ => bound.to_vec(),
        };
        let [is, becomes] = nodes.map(Node::parts);
        is.into_iter()
            .zip(becomes)
            .try_for_each(|(is, becomes)| self.node([is, becomes], &inner, why))
    }

    fn is_seat(&self, node: &Node) -> bool {
        match (&self.mutant.seat, &node.step) {
            (Seat::Limit { limit, .. }, Step::Limit(at)) => {
                self.programs[0].limits[*at].limit == *limit
            }
            (Seat::Cells { table, .. } | Seat::Key { table, .. }, Step::Lookup(at, _)) => {
                self.programs[0].tables[*at].table == *table
            }
            (Seat::Literal(span) | Seat::Comparison(span), _) => node.span == *span,
            _ => false,
        }
    }

    fn holds_seat(&self, node: &Node) -> bool {
        self.is_seat(node) || node.parts().into_iter().any(|part| self.holds_seat(part))
    }

    /// Whether the declared ranges give both the same truth.
    fn is_settled(&self, nodes: [&'a Node; 2], bound: &[ThingId]) -> bool {
        let [is, becomes] = [0, 1].map(|at| {
            let library = &self.opened.library;
            let mut ranges = Ranges::new(library, self.programs[at], bound.to_vec());
            ranges.value(nodes[at])
        });
        is.truth() != Truth::Unknown && is.truth() == becomes.truth()
    }

    /// Why a comparison comes out the same however its tables are asked.
    fn comparison(&self, nodes: [&'a Node; 2]) -> Option<&'static str> {
        let (Step::Compare(_, is, left, right), Step::Compare(_, becomes, new_left, new_right)) =
            (&nodes[0].step, &nodes[1].step)
        else {
            return None;
        };
        if is != becomes && (is_rounded(left) || is_rounded(right)) {
            return Some(ROUNDED);
        }
        let sides = [[&**left, &**new_left], [&**right, &**new_right]];
        let one_side = is == becomes
            && sides.iter().all(|side| {
                !self.holds_seat(side[0])
                    || self.always(&|choices| {
                        let [is, becomes] = self.both(*side, choices)?;
                        Some(is == becomes)
                    })
            });
        let together = || {
            self.always(&|choices| {
                let [left, new_left] = self.both(sides[0], choices)?;
                let [right, new_right] = self.both(sides[1], choices)?;
                let truth = compared(*is, left, right).0;
                Some(truth == compared(*becomes, new_left, new_right).0)
            })
        };
        (one_side || together()).then_some(STEPS)
    }

    /// Whether a rule comes out the same whatever labels and keys are recorded.
    fn rule_goes_in_steps(&self, rules: [&'a Rule; 2]) -> bool {
        self.always(&|choices| {
            for clauses in rules[0].head.iter().zip(&rules[1].head) {
                let (Clause::When(is), Clause::When(becomes)) = clauses else {
                    continue;
                };
                match self.both([is, becomes], choices) {
                    Some([is, becomes]) if is != becomes => return Some(false),
                    Some([is, _]) if is.truth() == Truth::False => return Some(true),
                    Some(_) => {}
                    // What isn't changed and can't be looked through may be true.
                    None if !self.holds_seat(is) => {}
                    None => return None,
                }
            }
            let [is, becomes] = rules.map(condition);
            let [is, becomes] = self.both([is?, becomes?], choices)?;
            Some(is == becomes)
        })
    }

    /// A value as it is and as it is changed, by the same labels and keys.
    fn both(&self, nodes: [&'a Node; 2], choices: &mut Choices) -> Option<[Value<'a>; 2]> {
        let is = self.value(0, nodes[0], choices)?;
        let becomes = self.value(1, nodes[1], choices)?;
        Some([is, becomes])
    }

    /// Whether something holds for every combination; not where there are too many, or where
    /// more than labels and keys has a say.
    fn always(&self, holds: &dyn Fn(&mut Choices) -> Option<bool>) -> bool {
        let mut choices = Choices::default();
        for _ in 0..MOST_COMBINATIONS {
            if holds(&mut choices) != Some(true) {
                return false;
            }
            if !choices.advance() {
                return true;
            }
        }
        false
    }

    /// The value of what only constants, limits, tables and labels have a say in.
    fn value(&self, which: usize, node: &'a Node, choices: &mut Choices) -> Option<Value<'a>> {
        let program = self.programs[which];
        let mut value = |part: &'a Node| self.value(which, part, choices);
        Some(match &node.step {
            Step::Constant(value, _) => constant(*value),
            Step::Limit(at) => match program.limits[*at].values.as_slice() {
                [one] => constant(*one),
                _ => return None,
            },
            Step::Fact(of, fact) => return self.fact(*of, *fact, node.gives, choices),
            Step::Lookup(at, keys) => return self.lookup(which, *at, keys, node, choices),
            Step::Define(_, body) => return value(body),
            Step::Negate(inner) => Value::Number(value(inner)?.number().negate()),
            Step::Arithmetic(operator, left, right) => {
                let (a, b) = (value(left)?.number(), value(right)?.number());
                Value::Number(match operator {
                    Operator::Add => a.add(b),
                    Operator::Subtract => a.subtract(b),
                    Operator::Multiply => a.multiply(b),
                    Operator::Divide => a.divide(b).ok()?,
                })
            }
            Step::In(inner, unit) => {
                let inner = value(inner)?.number();
                Value::Number(inner.divide(Interval::point(unit.factor)).ok()?)
            }
            Step::Compare(_, comparator, left, right) => {
                let (left, right) = (value(left)?, value(right)?);
                Value::Truth(compared(*comparator, left, right).0)
            }
            Step::OneOf(_, of, alternatives) => {
                let of = value(of)?;
                let mut truth = Truth::False;
                for alternative in alternatives {
                    truth = truth.or(compared(Comparator::Is, of, value(alternative)?).0);
                }
                Value::Truth(truth)
            }
            Step::Not(inner) => Value::Truth(value(inner)?.truth().negated()),
            Step::And(parts) => {
                let mut truth = Truth::True;
                for part in parts {
                    truth = truth.and(value(part)?.truth());
                }
                Value::Truth(truth)
            }
            Step::Or(parts) => {
                let mut truth = Truth::False;
                for part in parts {
                    truth = truth.or(value(part)?.truth());
                }
                Value::Truth(truth)
            }
            Step::If(condition, then, otherwise) => match value(condition)?.truth() {
                Truth::True => return value(then),
                Truth::False => return value(otherwise),
                Truth::Unknown => return None,
            },
            Step::Lesser(..)
            | Step::Greater(..)
            | Step::Text(_)
            | Step::Id(_)
            | Step::Survey(..)
            | Step::Power(..)
            | Step::Root(_)
            | Step::Every(..)
            | Step::Some(..)
            | Step::Count(..)
            | Step::Fold(..) => return None,
        })
    }

    /// For a key whose bound is moved: in which place a number between the old bound and the new
    /// one falls, as it is and as it is changed; none where that is outside of the table.
    fn moved_bound(&self, at: usize, number: usize, axis: &Axis) -> Option<[Option<usize>; 2]> {
        let Seat::Key {
            table,
            axis: of,
            bound,
        } = self.mutant.seat
        else {
            return None;
        };
        if self.programs[0].tables[at].table != table || number != of {
            return None;
        }
        let (below, above) = match axis {
            Axis::UpTo { .. } => (Some(bound), bound + 1),
            Axis::From { below, .. } => {
                let place = bound + usize::from(*below);
                (place.checked_sub(1), place)
            }
            Axis::Scale { .. } => return None,
        };
        let above = Some(above).filter(|above| *above < axis.length());
        let rises = match (&self.mutant.was, self.mutant.change) {
            (Some(Constant::Number { value, .. }), Change::Number(new)) => new > *value,
            _ => return None,
        };
        Some(if rises {
            [above, below]
        } else {
            [below, above]
        })
    }

    /// A label or a truth, each of which is tried.
    fn fact(
        &self,
        of: Binding,
        fact: FactId,
        gives: Type,
        choices: &mut Choices,
    ) -> Option<Value<'a>> {
        match gives {
            Type::Label(scale) => {
                let places = self.opened.library.vocabulary.scale(scale).places.len();
                let place = choices.pick((of, fact, None), places);
                Some(Value::Places(Places::one(u16::try_from(place).ok()?)))
            }
            Type::YesNo => Some(Value::Truth(
                (choices.pick((of, fact, None), 2) == 1).into(),
            )),
            Type::Quantity(_) | Type::Slope | Type::Point(_) | Type::Text | Type::Reference => None,
        }
    }

    /// The cell of keys that are reckoned, or of each place of an axis where a number is read.
    fn lookup(
        &self,
        which: usize,
        at: usize,
        keys: &'a [Node],
        node: &Node,
        choices: &mut Choices,
    ) -> Option<Value<'a>> {
        let table = &self.programs[which].tables[at];
        let mut cell = 0;
        for (number, (axis, key)) in table.axes.iter().zip(keys).enumerate() {
            let place = match (&key.step, self.value(which, key, choices)) {
                (_, Some(value)) => {
                    let (first, past, outside) = axis_places(axis, value);
                    if outside || past != first + 1 {
                        return Some(unknown(node.gives));
                    }
                    first
                }
                (Step::Fact(of, fact), None) => {
                    let moved = self.moved_bound(at, number, axis);
                    let places = axis.length() + usize::from(moved.is_some());
                    let place = choices.pick((*of, *fact, Some(at)), places);
                    match moved {
                        Some(sides) if place == axis.length() => match sides[which] {
                            Some(place) => place,
                            None => return Some(unknown(node.gives)),
                        },
                        Some(_) | None => place,
                    }
                }
                (_, None) => return None,
            };
            cell = cell * axis.length() + place;
        }
        Some(table.cells[cell].map_or(unknown(node.gives), constant))
    }
}

/// What a rule asks.
fn condition(rule: &Rule) -> Option<&Node> {
    match &rule.demand {
        Demand::Shall(node) | Demand::Should(node) | Demand::Precaution(node) => Some(node),
        Demand::RecordFact(..) | Demand::RecordList(_) | Demand::Refer(_) => None,
    }
}

/// Whether a value is reckoned with what is only known to rounding.
fn is_rounded(node: &Node) -> bool {
    let own = match &node.step {
        Step::Power(_, exponent) => exponent.as_integer().is_none(),
        Step::Root(_) => true,
        _ => false,
    };
    own || node.parts().into_iter().any(is_rounded)
}

/// A fact, and the table whose key it is where that is a number.
type Read = (Binding, FactId, Option<usize>);

/// What is recorded for each fact that is asked, by its place.
#[derive(Debug, Clone, Default)]
struct Choices {
    /// Which place, of how many.
    digits: Vec<(Read, usize, usize)>,
}

impl Choices {
    fn pick(&mut self, read: Read, of: usize) -> usize {
        let known = self.digits.iter().find(|(known, ..)| *known == read);
        match known {
            Some((_, place, _)) => *place,
            None => {
                self.digits.push((read, 0, of));
                0
            }
        }
    }

    /// The next combination; false after the last.
    fn advance(&mut self) -> bool {
        for (_, place, of) in self.digits.iter_mut().rev() {
            *place += 1;
            if *place < *of {
                return true;
            }
            *place = 0;
        }
        false
    }
}
