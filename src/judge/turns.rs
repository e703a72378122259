//! The days on which rules change, by place and by the date that selects them.
//!
//! A statement matters to a date only if some rule that goes by the date may ask what it says:
//! another permit's date chooses the same rules on whatever side of the statement's day it lies.

use std::collections::{BTreeMap, BTreeSet};

use crate::check::every_part;
use crate::check::typed::{
    Action, ExpressionKind, Library, LimitId, PlaceId, Rule, RuleId, Statement, TableId, TopicId,
};
use crate::layers::topic_of;
use crate::quantity::Rational;
use crate::vocabulary::PermitId;

/// A date that selects rules: that of a kind of permit, or the recorded one.
pub(super) type Selector = Option<PermitId>;

/// In seconds.
const ONE_DAY: i64 = 86_400;

/// The days of a library.
#[derive(Debug)]
pub(super) struct Turns {
    /// By place; each rising.
    places: Vec<BTreeMap<Selector, Vec<Rational>>>,
    /// A day before any statement holds; none where there is no statement.
    before_all: Option<Rational>,
}

impl Turns {
    /// Finds them.
    pub fn of(library: &Library) -> Turns {
        let uses = Uses::of(library);
        let places = library.places.iter().map(|place| {
            let mut days: BTreeMap<Selector, Vec<Rational>> = BTreeMap::new();
            for statement in &place.statements {
                for selector in uses.selectors(library, statement) {
                    let days = days.entry(selector).or_default();
                    days.push(statement.from.value);
                    days.extend(statement.until.as_ref().map(|until| until.value));
                }
            }
            days.values_mut().for_each(|days| days.sort());
            days
        });
        let statements = library.places.iter().flat_map(|place| &place.statements);
        let first = statements.map(|statement| statement.from.value).min();
        Turns {
            places: places.collect(),
            before_all: first
                .and_then(|first| first.checked_subtract(Rational::from_integer(ONE_DAY))),
        }
    }

    /// How many of the days of some places lie on or before a date: dates that have seen as many
    /// choose the same rules.
    pub fn seen(&self, places: &[PlaceId], selector: Selector, date: Rational) -> usize {
        self.days(places, selector)
            .map(|days| days.partition_point(|day| *day <= date))
            .sum()
    }

    /// The date put back to the last of those days, or before all of them.
    pub fn turn(&self, places: &[PlaceId], selector: Selector, date: Rational) -> Rational {
        let last = self.days(places, selector).filter_map(|days| {
            let seen = days.partition_point(|day| *day <= date);
            days[..seen].last().copied()
        });
        last.max().or(self.before_all).unwrap_or(date)
    }

    fn days(&self, places: &[PlaceId], selector: Selector) -> impl Iterator<Item = &[Rational]> {
        places.iter().map(move |place| {
            let known = &self.places[place.index()];
            known.get(&selector).map_or(&[][..], Vec::as_slice)
        })
    }
}

/// By which dates the rules go that use a limit or a table.
#[derive(Default)]
struct Uses {
    limits: BTreeMap<LimitId, BTreeSet<Selector>>,
    tables: BTreeMap<TableId, BTreeSet<Selector>>,
    /// The topics that have precautions.
    guarded: BTreeSet<TopicId>,
}

impl Uses {
    fn of(library: &Library) -> Uses {
        let mut uses = Uses::default();
        for rule in &library.rules {
            let selector = selector_of(library, rule);
            if rule.obligation.is_precaution() {
                uses.guarded.insert(rule.topic);
            }
            for condition in rule.conditions() {
                every_part(library, condition, &mut |part| match &part.kind {
                    ExpressionKind::Limit(limit) => {
                        uses.limits.entry(*limit).or_default().insert(selector);
                    }
                    ExpressionKind::Lookup(table, _) => {
                        uses.tables.entry(*table).or_default().insert(selector);
                    }
                    _ => {}
                });
            }
        }
        uses
    }

    /// The dates to which a statement matters: that of its topic, and those of the rules it is
    /// about or whose limits it changes.
    fn selectors(&self, library: &Library, statement: &Statement) -> BTreeSet<Selector> {
        let topic = topic_of(library, &statement.action);
        let own = topic.map(|topic| library.topics[topic.index()].permit);
        let rule = |rule: RuleId| {
            let rule = &library.rules[rule.index()];
            rule.obligation.is_precaution().then_some(None)
        };
        let used = match &statement.action {
            Action::Adopt(topic) | Action::StrikeTopic(topic) => {
                let is_guarded = self.guarded.contains(topic);
                is_guarded.then_some(None).into_iter().collect()
            }
            Action::AmendLimit { limit, .. }
            | Action::SetLimit { limit, .. }
            | Action::RestrictLimit(limit, _) => {
                self.limits.get(limit).cloned().unwrap_or_default()
            }
            Action::AmendCells { table, .. } | Action::RestrictCells(table, ..) => {
                self.tables.get(table).cloned().unwrap_or_default()
            }
            Action::RestrictRule(one, _) | Action::StrikeRule(one) | Action::Add(one) => {
                rule(*one).into_iter().collect()
            }
            Action::Replace { old, new } => rule(*old).into_iter().chain(rule(*new)).collect(),
        };
        own.into_iter().chain(used).collect()
    }
}

/// By which date a rule goes.
fn selector_of(library: &Library, rule: &Rule) -> Selector {
    if rule.obligation.is_precaution() {
        None
    } else {
        library.topics[rule.topic.index()].permit
    }
}
