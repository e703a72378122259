//! What is wrong with a library's places over time, whatever record comes.

use std::collections::BTreeSet;

use super::error::LayerError;
use super::in_force::{in_force, topic_of};
use super::standing::in_force_on;
use super::{Dates, InForce, TopicState};
use crate::check::every_part;
use crate::check::typed::{
    Action, ExpressionKind, HeadClause, Library, Obligation, Owner, Place, PlaceId, RuleId, TopicId,
};
use crate::quantity::{Rational, date};
use crate::source::{Located, Span};

/// Statements without anything to change, and rules in force without the limits they use.
///
/// Each place is looked at on each date on which something changes on its way.
pub fn verify(library: &Library) -> Vec<Located<LayerError>> {
    let mut errors = Vec::new();
    let mut told = BTreeSet::new();
    for at in 0..library.places.len() {
        let place = PlaceId(u32::try_from(at).expect("fewer than four billion places"));
        for on in turning_dates(library, place) {
            let dates = Dates {
                on: Some(on),
                recorded: on,
                ..Dates::default()
            };
            let Ok(standing) = in_force(library, &[place], &dates) else {
                continue;
            };
            for (span, error) in mistakes(library, place, &standing, on) {
                if told.insert(span) {
                    errors.push(Located {
                        source: span.source,
                        error,
                    });
                }
            }
        }
    }
    errors
}

/// Every date on which a statement of a place, or of one around it, begins or ends.
fn turning_dates(library: &Library, place: PlaceId) -> BTreeSet<Rational> {
    library
        .way_in(place)
        .into_iter()
        .flat_map(|place| &library.places[place.index()].statements)
        .flat_map(|statement| {
            std::iter::once(statement.from.value)
                .chain(statement.until.as_ref().map(|until| until.value))
        })
        .collect()
}

fn mistakes(
    library: &Library,
    id: PlaceId,
    standing: &InForce,
    on: Rational,
) -> Vec<(Span, LayerError)> {
    let place = &library.places[id.index()];
    let mut found = Vec::new();
    for statement in &place.statements {
        if !in_force_on(statement, on) {
            continue;
        }
        if let Some(what) = missing_target(library, id, standing, &statement.action, on) {
            let error = LayerError::TargetMissing {
                what,
                date: date::show(on),
                at: statement.span,
            };
            found.push((statement.span, error));
        }
    }
    found.extend(borrowed(library, id, standing, on));
    found
}

/// What a statement would change that is not there.
fn missing_target(
    library: &Library,
    place: PlaceId,
    standing: &InForce,
    action: &Action,
    on: Rational,
) -> Option<String> {
    if let Action::Adopt(_) = action {
        return None;
    }
    let topic = topic_of(library, action)?;
    let title = &library.topics[topic.index()].name;
    if let Action::StrikeTopic(_) = action {
        // It strikes what an outer place adopts.
        let around = library.places[place.index()].parent?;
        let dates = Dates {
            on: Some(on),
            recorded: on,
            ..Dates::default()
        };
        let outer = in_force(library, &[around], &dates).ok()?;
        let there = outer.topics[topic.index()].state == TopicState::InForce;
        return (!there).then(|| format!("topic {title}"));
    }
    if library.topics[topic.index()].permit.is_some()
        && standing.topics[topic.index()].state != TopicState::InForce
    {
        return Some(format!("topic {title}"));
    }
    match action {
        Action::RestrictRule(rule, _) => {
            let there = standing.rules.iter().any(|known| {
                known.rule == *rule
                    || library.rules[known.rule.index()].id == library.rules[rule.index()].id
            });
            (!there).then(|| format!("rule {}", library.rules[rule.index()].id))
        }
        Action::StrikeRule(rule) | Action::Replace { old: rule, .. } => {
            struck_outside(library, place, *rule, on)
                .then(|| format!("rule {}", library.rules[rule.index()].id))
        }
        Action::Adopt(_)
        | Action::StrikeTopic(_)
        | Action::AmendLimit { .. }
        | Action::AmendCells { .. }
        | Action::SetLimit { .. }
        | Action::RestrictLimit(..)
        | Action::RestrictCells(..)
        | Action::Add(_) => None,
    }
}

/// Whether the rules in force around a place lack a rule on a date.
fn struck_outside(library: &Library, place: PlaceId, rule: RuleId, on: Rational) -> bool {
    let Some(around) = library.places[place.index()].parent else {
        return false;
    };
    let topic = library.rules[rule.index()].topic;
    let dates = Dates {
        on: Some(on),
        recorded: on,
        ..Dates::default()
    };
    let Ok(outer) = in_force(library, &[around], &dates) else {
        return false;
    };
    let id = &library.rules[rule.index()].id;
    outer.topics[topic.index()].state == TopicState::InForce
        && !outer
            .rules
            .iter()
            .any(|known| library.rules[known.rule.index()].id == *id)
}

/// The limits of other topics that the rules in force use where those topics aren't adopted.
///
/// What is lacking around the place already is told of the place around it.
fn borrowed(
    library: &Library,
    id: PlaceId,
    standing: &InForce,
    on: Rational,
) -> Vec<(Span, LayerError)> {
    let here = lacking(library, standing);
    if here.is_empty() {
        return Vec::new();
    }
    let place = &library.places[id.index()];
    let dates = Dates {
        on: Some(on),
        recorded: on,
        ..Dates::default()
    };
    let around = place
        .parent
        .and_then(|around| in_force(library, &[around], &dates).ok())
        .map(|outer| lacking(library, &outer))
        .unwrap_or_default();
    here.into_iter()
        .filter(|lack| !around.contains(lack))
        .map(|(rule, lender, limit)| {
            let at = cause(library, place, rule, lender, on);
            let error = LayerError::LimitNotAdopted {
                rule: library.rules[rule.index()].id.clone(),
                limit,
                topic: library.topics[lender.index()].name.clone(),
                place: place.path.clone(),
                date: date::show(on),
                at,
            };
            (at, error)
        })
        .collect()
}

/// Each rule in force with a limit that it uses of a topic that is not, precautions apart: what
/// they use goes by no adoption.
fn lacking(library: &Library, standing: &InForce) -> BTreeSet<(RuleId, TopicId, String)> {
    standing
        .rules
        .iter()
        .filter(|known| {
            !matches!(
                library.rules[known.rule.index()].obligation,
                Obligation::Precaution(_)
            )
        })
        .flat_map(|known| {
            lenders(library, known.rule)
                .into_iter()
                .filter(|(lender, _)| {
                    *lender != known.topic
                        && library.topics[lender.index()].permit.is_some()
                        && standing.topics[lender.index()].state != TopicState::InForce
                })
                .map(|(lender, limit)| (known.rule, lender, limit))
        })
        .collect()
}

/// The statement of a place by which a rule is in force there, or its lender is not; else the
/// place itself.
fn cause(library: &Library, place: &Place, rule: RuleId, lender: TopicId, on: Rational) -> Span {
    let topic = library.rules[rule.index()].topic;
    place
        .statements
        .iter()
        .filter(|statement| in_force_on(statement, on))
        .find(|statement| match statement.action {
            Action::Adopt(adopted) => adopted == topic,
            Action::StrikeTopic(struck) => struck == lender,
            Action::Add(added) => added == rule,
            Action::Replace { new, .. } => new == rule,
            Action::AmendLimit { .. }
            | Action::AmendCells { .. }
            | Action::SetLimit { .. }
            | Action::RestrictLimit(..)
            | Action::RestrictCells(..)
            | Action::RestrictRule(..)
            | Action::StrikeRule(_) => false,
        })
        .map_or(place.span, |statement| statement.span)
}

/// The topics whose limits and tables a rule uses, each with one of them.
fn lenders(library: &Library, rule: RuleId) -> Vec<(TopicId, String)> {
    let rule = &library.rules[rule.index()];
    let mut found = Vec::new();
    let conditions = rule
        .head
        .iter()
        .filter_map(|clause| match clause {
            HeadClause::When(condition) => Some(condition),
            HeadClause::Each { .. } => None,
        })
        .chain(rule.obligation.condition());
    for condition in conditions {
        every_part(library, condition, &mut |part| {
            let (owner, name) = match &part.kind {
                ExpressionKind::Limit(limit) => {
                    let limit = &library.limits[limit.index()];
                    (limit.owner, &limit.name)
                }
                ExpressionKind::Lookup(table, _) => {
                    let table = &library.tables[table.index()];
                    (table.owner, &table.name)
                }
                _ => return,
            };
            if let Owner::Topic(topic) = owner {
                found.push((topic, library.owned_name(owner, name)));
            }
        });
    }
    found
}
