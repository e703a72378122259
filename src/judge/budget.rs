//! How long judging takes at the most, known before it begins.

use std::collections::BTreeMap;

use super::chosen::Chosen;
use crate::program::Program;
use crate::program::code::{Argument, Clause, Demand, List, Node, Rule, Step};
use crate::record::facts::Record;
use crate::vocabulary::{ThingId, Vocabulary};

/// The most steps that the rules in force may take over a record: some minutes of a machine.
pub(super) const MOST_STEPS: u128 = 5_000_000_000;
/// What a survey function is reckoned as, in steps.
const SURVEY: u128 = 50;

/// How many elements a list has at the most in records as they are mostly written.
const SHORT: usize = 16;

/// Whether no record whose lists are all short can take too many steps.
pub(super) fn suits_short_lists(program: &Program) -> bool {
    let lengths = Lengths {
        longest: BTreeMap::new(),
        others: SHORT as u128,
    };
    first_beyond(program, &lengths).is_none()
}

/// The rule by which a record takes more steps than it may, if it does.
pub(super) fn exceeded<'a>(
    chosen: &'a Chosen,
    vocabulary: &Vocabulary,
    record: &Record,
) -> Option<&'a Rule> {
    let mut lists = record.lists.iter();
    if chosen.suits_short_lists && lists.all(|list| list.items.len() <= SHORT) {
        return None;
    }
    first_beyond(&chosen.program, &Lengths::of(vocabulary, record))
}

fn first_beyond<'a>(program: &'a Program, lengths: &Lengths) -> Option<&'a Rule> {
    let mut steps: u128 = 0;
    program.rules.iter().find(|rule| {
        steps = steps.saturating_add(lengths.rule(rule));
        steps > MOST_STEPS
    })
}

/// How long lists are at the most.
struct Lengths {
    /// Of each kind of thing.
    longest: BTreeMap<ThingId, u128>,
    /// Of any other.
    others: u128,
}

impl Lengths {
    fn of(vocabulary: &Vocabulary, record: &Record) -> Self {
        let mut longest = BTreeMap::new();
        for (thing, list) in record.all_lists(vocabulary) {
            let items = &record.list(thing, list).items;
            if let Some(first) = items.first() {
                let known: &mut u128 = longest.entry(record.thing(*first).kind).or_default();
                *known = (*known).max(items.len() as u128);
            }
        }
        Lengths { longest, others: 0 }
    }

    fn list(&self, list: &List) -> u128 {
        self.longest
            .get(&list.things)
            .copied()
            .unwrap_or(self.others)
    }

    fn rule(&self, rule: &Rule) -> u128 {
        let mut subjects: u128 = 1;
        let mut steps: u128 = 1;
        for clause in &rule.head {
            match clause {
                Clause::Each(list) => {
                    subjects = subjects.saturating_mul(self.list(list));
                    steps = steps.saturating_add(subjects);
                }
                Clause::When(node) => {
                    steps = steps.saturating_add(subjects.saturating_mul(self.node(node)));
                }
            }
        }
        let demand = match &rule.demand {
            Demand::Shall(node) | Demand::Should(node) | Demand::Precaution(node) => {
                self.node(node)
            }
            Demand::RecordFact(..) | Demand::RecordList(_) | Demand::Refer(_) => 1,
        };
        steps.saturating_add(subjects.saturating_mul(demand))
    }

    fn node(&self, node: &Node) -> u128 {
        let all = |nodes: &[&Node]| -> u128 {
            let steps = nodes.iter().map(|node| self.node(node));
            steps.fold(1, u128::saturating_add)
        };
        let within = |list: &List, inner: &Node| {
            let each = self.node(inner).saturating_add(1);
            self.list(list).saturating_mul(each).saturating_add(1)
        };
        match &node.step {
            Step::Constant(..) | Step::Text(_) | Step::Fact(..) | Step::Id(_) | Step::Limit(_) => 1,
            Step::Lookup(_, nodes) | Step::And(nodes) | Step::Or(nodes) => {
                all(&nodes.iter().collect::<Vec<_>>())
            }
            Step::Define(_, inner)
            | Step::Negate(inner)
            | Step::Power(inner, _)
            | Step::Root(inner)
            | Step::In(inner, _)
            | Step::Not(inner) => all(&[inner]),
            Step::Survey(_, arguments) => arguments
                .iter()
                .filter_map(|argument| match argument {
                    Argument::Value(node) => Some(self.node(node)),
                    Argument::Thing(_) => None,
                })
                .fold(SURVEY, u128::saturating_add),
            Step::Arithmetic(_, left, right)
            | Step::Compare(_, _, left, right)
            | Step::Lesser(left, right)
            | Step::Greater(left, right) => all(&[left, right]),
            Step::OneOf(_, left, rest) => {
                let rest = all(&rest.iter().collect::<Vec<_>>());
                self.node(left).saturating_add(rest)
            }
            Step::If(condition, then, other) => all(&[condition, then, other]),
            Step::Every(list, inner) | Step::Some(list, inner) | Step::Fold(_, list, inner) => {
                within(list, inner)
            }
            Step::Count(list, None) => self.list(list).saturating_add(1),
            Step::Count(list, Some(inner)) => within(list, inner),
        }
    }
}
