//! Changes that no record can show: something else decides whatever is recorded, or what is
//! compared takes steps and none lies between.
//!
//! Nothing is said that doesn't hold for every record; what is too large to be looked through is
//! left to the cases.

use super::mutant::{Mutant, Seat};
use super::settled::Ranges;
use crate::judge::evaluate::{axis_places, compared, constant, unknown};
use crate::judge::value::Value;
use crate::library::Opened;
use crate::program::code::{Clause, Demand, Node, Program, Rule, Step};
use crate::quantity::Interval;
use crate::truth::Truth;

/// The most combinations of cells that are looked through.
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
        let [is, becomes] = rules.map(|rule| match &rule.demand {
            Demand::Shall(node) | Demand::Should(node) | Demand::Precaution(node) => Some(node),
            Demand::RecordFact(..) | Demand::RecordList(_) | Demand::Refer(_) => None,
        });
        match (is, becomes) {
            (Some(is), Some(becomes)) => self.node([is, becomes], &bound, why),
            _ => Some(()),
        }
    }

    fn node(
        &self,
        nodes: [&'a Node; 2],
        bound: &[crate::vocabulary::ThingId],
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
            (Seat::Cells { table, .. }, Step::Lookup(at, _)) => {
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
    fn is_settled(&self, nodes: [&'a Node; 2], bound: &[crate::vocabulary::ThingId]) -> bool {
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

    /// A value as it is and as it is changed, by the same cells.
    fn both(&self, nodes: [&'a Node; 2], choices: &mut Choices) -> Option<[Value<'a>; 2]> {
        let begin = choices.next;
        let is = self.value(0, nodes[0], choices)?;
        choices.next = begin;
        let becomes = self.value(1, nodes[1], choices)?;
        Some([is, becomes])
    }

    /// Whether something holds for every combination of cells; not where there are too many, or
    /// where more than cells has a say.
    fn always(&self, holds: &dyn Fn(&mut Choices) -> Option<bool>) -> bool {
        let mut choices = Choices::default();
        for _ in 0..MOST_COMBINATIONS {
            choices.next = 0;
            if holds(&mut choices) != Some(true) {
                return false;
            }
            if !choices.advance() {
                return true;
            }
        }
        false
    }

    /// The value of what only constants, limits and tables have a say in.
    fn value(&self, which: usize, node: &'a Node, choices: &mut Choices) -> Option<Value<'a>> {
        use crate::language::syntax::Operator;
        let program = self.programs[which];
        let mut number = |part: &'a Node| Some(self.value(which, part, choices)?.number());
        let found = match &node.step {
            Step::Constant(value, _) => return Some(constant(*value)),
            Step::Limit(at) => match program.limits[*at].values.as_slice() {
                [one] => return Some(constant(*one)),
                _ => return None,
            },
            Step::Lookup(at, keys) => return self.lookup(which, *at, keys, node, choices),
            Step::Define(_, body) => return self.value(which, body, choices),
            Step::Negate(inner) => number(inner)?.negate(),
            Step::Arithmetic(operator, left, right) => {
                let (a, b) = (number(left)?, number(right)?);
                match operator {
                    Operator::Add => a.add(b),
                    Operator::Subtract => a.subtract(b),
                    Operator::Multiply => a.multiply(b),
                    Operator::Divide => a.divide(b).ok()?,
                }
            }
            Step::In(inner, unit) => number(inner)?.divide(Interval::point(unit.factor)).ok()?,
            Step::Lesser(left, right) => number(left)?.lesser(number(right)?),
            Step::Greater(left, right) => number(left)?.greater(number(right)?),
            Step::Text(_)
            | Step::Fact(..)
            | Step::Id(_)
            | Step::Survey(..)
            | Step::Power(..)
            | Step::Root(_)
            | Step::Compare(..)
            | Step::OneOf(..)
            | Step::Not(_)
            | Step::And(_)
            | Step::Or(_)
            | Step::If(..)
            | Step::Every(..)
            | Step::Some(..)
            | Step::Count(..)
            | Step::Fold(..) => return None,
        };
        Some(Value::Number(found))
    }

    /// The cell of keys that are reckoned, or any cell where a key is read.
    fn lookup(
        &self,
        which: usize,
        at: usize,
        keys: &'a [Node],
        node: &Node,
        choices: &mut Choices,
    ) -> Option<Value<'a>> {
        let table = &self.programs[which].tables[at];
        let begin = choices.next;
        let reckoned: Option<Vec<Value<'a>>> = keys
            .iter()
            .map(|key| self.value(which, key, choices))
            .collect();
        let Some(values) = reckoned else {
            choices.next = begin;
            if keys.iter().any(|key| self.holds_seat(key)) {
                return None;
            }
            let cell = choices.pick(table.cells.len());
            return Some(table.cells[cell].map_or(unknown(node.gives), constant));
        };
        let mut cell = 0;
        for (axis, value) in table.axes.iter().zip(values) {
            let (first, past, outside) = axis_places(axis, value);
            if outside || past != first + 1 {
                return Some(unknown(node.gives));
            }
            cell = cell * axis.length() + first;
        }
        Some(table.cells[cell].map_or(unknown(node.gives), constant))
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

/// A cell for each lookup, in the order in which they are asked.
#[derive(Debug, Clone, Default)]
struct Choices {
    /// Which cell, of how many.
    digits: Vec<(usize, usize)>,
    /// Whose turn it is.
    next: usize,
}

impl Choices {
    fn pick(&mut self, of: usize) -> usize {
        if self.next == self.digits.len() {
            self.digits.push((0, of));
        }
        let (cell, _) = self.digits[self.next];
        self.next += 1;
        cell
    }

    /// The next combination; false after the last.
    fn advance(&mut self) -> bool {
        for (cell, of) in self.digits.iter_mut().rev() {
            *cell += 1;
            if *cell < *of {
                return true;
            }
            *cell = 0;
        }
        false
    }
}
