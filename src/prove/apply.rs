//! A change put into a compiled program.

use super::mutant::{Author, Change, Mutant, Seat};
use crate::layers::{Note, Standing};
use crate::program::code::{Axis, Clause, Demand, Node, Program, Rule, Step, Value};
use crate::quantity::Interval;

/// Makes a change wherever a program uses its seat; says whether it does.
pub(super) fn apply(program: &mut Program, mutant: &Mutant) -> bool {
    match &mutant.seat {
        Seat::Limit { limit, value, by } => {
            let mut touched = false;
            for known in &mut program.limits {
                let is_it = known.limit == *limit && author(&known.standing) == *by;
                if let (true, Some(seat)) = (is_it, known.values.get_mut(*value)) {
                    *seat = changed(*seat, mutant.change);
                    touched = true;
                }
            }
            touched
        }
        Seat::Cells { table, cells, by } => {
            let mut touched = false;
            for known in program
                .tables
                .iter_mut()
                .filter(|known| known.table == *table)
            {
                for cell in cells {
                    let standing = known.standings.iter().find(|(of, _)| of == cell);
                    let its_author = standing.and_then(|(_, standing)| author(standing));
                    if let (true, Some(seat)) = (its_author == *by, &mut known.cells[*cell]) {
                        *seat = changed(*seat, mutant.change);
                        touched = true;
                    }
                }
            }
            touched
        }
        Seat::Key { table, axis, bound } => {
            let mut touched = false;
            for known in program
                .tables
                .iter_mut()
                .filter(|known| known.table == *table)
            {
                if let (
                    Axis::UpTo { bounds, .. } | Axis::From { bounds, .. },
                    Change::Number(number),
                ) = (&mut known.axes[*axis], mutant.change)
                {
                    bounds[*bound] = number;
                    touched = true;
                }
            }
            touched
        }
        Seat::Literal(span) | Seat::Comparison(span) => {
            let mut touched = false;
            for rule in &mut program.rules {
                every_node(rule, &mut |node| {
                    if node.span == *span {
                        touched |= change_step(&mut node.step, mutant.change);
                    }
                });
            }
            touched
        }
    }
}

/// Whose word a value is: that of the last layer whose word has force.
fn author(standing: &Standing) -> Author {
    let last = standing.way.iter().rev().find(|step| match step.note {
        None | Some(Note::Stale) => true,
        Some(Note::Forbidden | Note::CannotTell) => false,
    })?;
    Some((last.place?, last.from?))
}

fn changed(value: Value, change: Change) -> Value {
    match change {
        Change::Number(number) => Value::Number(Interval::point(number)),
        Change::Label(place) => Value::Label(place),
        Change::Comparator(_) => value,
    }
}

fn change_step(step: &mut Step, change: Change) -> bool {
    match (step, change) {
        (Step::Constant(value, _), Change::Number(_) | Change::Label(_)) => {
            *value = changed(*value, change);
            true
        }
        (Step::Compare(_, comparator, ..), Change::Comparator(turned)) => {
            *comparator = turned;
            true
        }
        _ => false,
    }
}

/// Calls `look` for every node of a rule.
pub(super) fn every_node(rule: &mut Rule, look: &mut impl FnMut(&mut Node)) {
    for clause in &mut rule.head {
        if let Clause::When(condition) = clause {
            walk(condition, look);
        }
    }
    match &mut rule.demand {
        Demand::Shall(condition) | Demand::Should(condition) | Demand::Precaution(condition) => {
            walk(condition, look);
        }
        Demand::RecordFact(..) | Demand::RecordList(_) | Demand::Refer(_) => {}
    }
}

fn walk(node: &mut Node, look: &mut impl FnMut(&mut Node)) {
    look(node);
    for part in node.parts_mut() {
        walk(part, look);
    }
}
