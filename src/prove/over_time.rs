//! Gaps and overlaps of adoptions, and statements that never come into force.

use super::mutant::Scope;
use super::proof::{OverTime, Where};
use crate::check::every_part;
use crate::check::typed::{
    Action, ExpressionKind, Library, LimitId, Place, PlaceId, Rule, Statement, TableId, TopicId,
};
use crate::layers::{Dates, InForce, TopicState, in_force, in_force_on, topic_of, turning_dates};
use crate::quantity::{Rational, date};
use crate::source::Sources;

/// What is to be looked at in the times of the statements of a scope.
pub(super) fn over_time(library: &Library, sources: &Sources, scope: Scope) -> Vec<OverTime> {
    let mut found = Vec::new();
    for (at, place) in library.places.iter().enumerate() {
        let id = PlaceId::at(at);
        let moments: Vec<(Rational, InForce)> = turning_dates(library, id)
            .into_iter()
            .filter_map(|on| Some((on, standing(library, id, on)?)))
            .collect();
        let times = Times {
            library,
            place,
            moments,
        };
        for statement in &place.statements {
            let wanted = match scope {
                Scope::Whole => true,
                Scope::Place(of) => of == id,
                Scope::Topic(topic) => topic_of(library, &statement.action) == Some(topic),
            };
            if !wanted {
                continue;
            }
            for what in times.of(statement) {
                found.push(OverTime {
                    place: place.path.clone(),
                    what,
                    at: Where::of(sources, statement.span),
                });
            }
        }
    }
    found
}

fn standing(library: &Library, place: PlaceId, on: Rational) -> Option<InForce> {
    in_force(library, &[place], &Dates::all_on(on)).ok()
}

/// A place, and what is in force there from each date on which something changes.
struct Times<'a> {
    library: &'a Library,
    place: &'a Place,
    moments: Vec<(Rational, InForce)>,
}

/// What a statement changes.
enum Target {
    Limit(LimitId),
    Cells(TableId),
}

impl Times<'_> {
    fn of(&self, statement: &Statement) -> Vec<String> {
        match &statement.action {
            Action::Adopt(topic) => self
                .gap(statement, *topic)
                .into_iter()
                .chain(self.again(statement, *topic))
                .chain(self.two_layers(statement, *topic))
                .collect(),
            Action::AmendLimit { limit, .. } | Action::SetLimit { limit, .. } => {
                self.unused(statement, &Target::Limit(*limit))
            }
            Action::AmendCells { table, .. } => self.unused(statement, &Target::Cells(*table)),
            Action::StrikeTopic(_)
            | Action::RestrictLimit(..)
            | Action::RestrictCells(..)
            | Action::RestrictRule(..)
            | Action::StrikeRule(_)
            | Action::Add(_)
            | Action::Replace { .. } => Vec::new(),
        }
    }

    fn name(&self, topic: TopicId) -> &str {
        &self.library.topics[topic.index()].name
    }

    /// An adoption that ends with nothing after it.
    fn gap(&self, statement: &Statement, topic: TopicId) -> Option<String> {
        let until = statement.until.as_ref()?.value;
        let is_in_force =
            |standing: &InForce| standing.topics[topic.index()].state == TopicState::InForce;
        let (_, then) = self.moments.iter().find(|(on, _)| *on == until)?;
        if is_in_force(then) {
            return None;
        }
        let again = self
            .moments
            .iter()
            .find(|(on, standing)| *on > until && is_in_force(standing));
        let name = self.name(topic);
        let ends = date::show(until);
        Some(match again {
            Some((on, _)) => {
                let on = date::show(*on);
                format!("nothing of {name} is in force from {ends} until {on}")
            }
            None => format!("nothing of {name} is in force from {ends} on"),
        })
    }

    /// A second adoption while the first still stands.
    fn again(&self, statement: &Statement, topic: TopicId) -> Option<String> {
        let earlier = self.place.statements.iter().find(|other| {
            matches!(other.action, Action::Adopt(of) if of == topic)
                && other.from.value < statement.from.value
                && in_force_on(other, statement.from.value)
        })?;
        Some(format!(
            "{} is adopted again while the adoption from {} still stands: the later one governs",
            self.name(topic),
            date::show(earlier.from.value)
        ))
    }

    /// An adoption of what a place around has in force already.
    fn two_layers(&self, statement: &Statement, topic: TopicId) -> Option<String> {
        let outer = self.place.parent?;
        let around = standing(self.library, outer, statement.from.value)?;
        let there = around.topics[topic.index()].state == TopicState::InForce;
        there.then(|| {
            format!(
                "{} is in force already by a place around, {}: two layers adopt it",
                self.name(topic),
                self.library.places[outer.index()].path
            )
        })
    }

    /// A change of what no rule in force uses while it stands.
    fn unused(&self, statement: &Statement, target: &Target) -> Vec<String> {
        let during = self
            .moments
            .iter()
            .filter(|(on, _)| in_force_on(statement, *on));
        let is_used = during
            .flat_map(|(_, standing)| &standing.rules)
            .any(|known| self.uses(&self.library.rules[known.rule.index()], target));
        if is_used {
            return Vec::new();
        }
        vec!["no rule that is in force here while it stands uses what it changes".to_owned()]
    }

    fn uses(&self, rule: &Rule, target: &Target) -> bool {
        let mut used = false;
        for condition in rule.conditions() {
            every_part(self.library, condition, &mut |part| {
                used |= match (&part.kind, target) {
                    (ExpressionKind::Limit(limit), Target::Limit(of)) => limit == of,
                    (ExpressionKind::Lookup(table, _), Target::Cells(of)) => table == of,
                    _ => false,
                };
            });
        }
        used
    }
}
