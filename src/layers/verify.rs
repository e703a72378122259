//! What is wrong with a library's places over time, whatever record comes.

use std::collections::BTreeSet;

use super::error::LayerError;
use super::in_force::{in_force, topic_of};
use super::standing::in_force_on;
use super::{Dates, InForce, TopicState};
use crate::check::every_part;
use crate::check::typed::{
    Action, ExpressionKind, Library, Owner, Place, PlaceId, Rule, RuleId, TopicId,
};
use crate::quantity::{Rational, date};
use crate::source::{Located, Span};

/// Statements without anything to change, and rules in force without the limits they use.
///
/// Each place is looked at on each date on which something changes on its way.
pub fn verify(library: &Library) -> Vec<Located<LayerError>> {
    if let Some(error) = too_many_dates(library) {
        return vec![error];
    }
    let lenders: Vec<Lenders> = library
        .rules
        .iter()
        .map(|rule| lenders(library, rule))
        .collect();
    let mut errors = Vec::new();
    let mut told = BTreeSet::new();
    for (at, place) in library.places.iter().enumerate() {
        let id = PlaceId::at(at);
        for on in turning_dates(library, id) {
            let standing = |place| in_force(library, &[place], &Dates::all_on(on)).ok();
            let Some(here) = standing(id) else {
                continue;
            };
            let moment = Moment {
                library,
                lenders: &lenders,
                place,
                on,
                here,
                around: place.parent.and_then(standing),
            };
            for (span, error) in moment.mistakes() {
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

/// How many looks at a rule or a statement a library may take, over all places and dates.
const MOST_LOOKS: usize = 1_000_000_000;

/// The place with which a library becomes too long to look at, if one does.
fn too_many_dates(library: &Library) -> Option<Located<LayerError>> {
    let mut looks: usize = 0;
    for (at, place) in library.places.iter().enumerate() {
        let id = PlaceId::at(at);
        let statements: usize = library
            .way_in(id)
            .into_iter()
            .map(|place| library.places[place.index()].statements.len())
            .sum();
        let dates = turning_dates(library, id).len();
        let a_date = library
            .topics
            .len()
            .saturating_mul(library.rules.len() + statements);
        looks = looks.saturating_add(dates.saturating_mul(a_date));
        if looks > MOST_LOOKS {
            return Some(Located {
                source: place.span.source,
                error: LayerError::TooManyDates {
                    place: place.path.clone(),
                    dates,
                    at: place.span,
                },
            });
        }
    }
    None
}

/// The topics whose limits and tables a rule uses, each with one of them.
type Lenders = Vec<(TopicId, String)>;

/// A place on a date: what is in force there, and around it where it lies within another.
struct Moment<'a> {
    library: &'a Library,
    /// Of every rule.
    lenders: &'a [Lenders],
    place: &'a Place,
    on: Rational,
    here: InForce,
    around: Option<InForce>,
}

/// Every date on which a statement of a place, or of one around it, begins or ends.
pub fn turning_dates(library: &Library, place: PlaceId) -> BTreeSet<Rational> {
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

impl Moment<'_> {
    fn mistakes(&self) -> Vec<(Span, LayerError)> {
        let mut found = Vec::new();
        for statement in &self.place.statements {
            if !in_force_on(statement, self.on) {
                continue;
            }
            if let Some(what) = self.missing_target(&statement.action) {
                let error = LayerError::TargetMissing {
                    what,
                    date: date::show(self.on),
                    at: statement.span,
                };
                found.push((statement.span, error));
            }
        }
        found.extend(self.borrowed());
        found
    }

    /// What a statement would change that is not there.
    fn missing_target(&self, action: &Action) -> Option<String> {
        let library = self.library;
        if let Action::Adopt(_) = action {
            return None;
        }
        let topic = topic_of(library, action)?;
        let title = &library.topics[topic.index()].name;
        if let Action::StrikeTopic(_) = action {
            // It strikes what an outer place adopts.
            let there = is_in_force(self.around.as_ref()?, topic);
            return (!there).then(|| format!("topic {title}"));
        }
        if library.topics[topic.index()].permit.is_some() && !is_in_force(&self.here, topic) {
            return Some(format!("topic {title}"));
        }
        match action {
            Action::RestrictRule(rule, _) => (!self.holds(&self.here, *rule))
                .then(|| format!("rule {}", library.rules[rule.index()].id)),
            Action::StrikeRule(rule) | Action::Replace { old: rule, .. } => self
                .struck_outside(*rule)
                .then(|| format!("rule {}", library.rules[rule.index()].id)),
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

    /// Whether a rule, or what stands in its stead under its name, is in force.
    fn holds(&self, standing: &InForce, rule: RuleId) -> bool {
        let rules = &self.library.rules;
        let id = &rules[rule.index()].id;
        standing
            .rules
            .iter()
            .any(|known| rules[known.rule.index()].id == *id)
    }

    /// Whether the rules in force around the place lack a rule.
    fn struck_outside(&self, rule: RuleId) -> bool {
        let topic = self.library.rules[rule.index()].topic;
        self.around
            .as_ref()
            .is_some_and(|outer| is_in_force(outer, topic) && !self.holds(outer, rule))
    }

    /// The limits of other topics that the rules in force use where those topics aren't adopted.
    ///
    /// What is lacking around the place already is told of the place around it.
    fn borrowed(&self) -> Vec<(Span, LayerError)> {
        let here = self.lacking(&self.here);
        if here.is_empty() {
            return Vec::new();
        }
        let around = self
            .around
            .as_ref()
            .map(|outer| self.lacking(outer))
            .unwrap_or_default();
        here.into_iter()
            .filter(|lack| !around.contains(lack))
            .map(|(rule, lender, limit)| {
                let at = self.cause(rule, lender);
                let error = LayerError::LimitNotAdopted {
                    rule: self.library.rules[rule.index()].id.clone(),
                    limit,
                    topic: self.library.topics[lender.index()].name.clone(),
                    place: self.place.path.clone(),
                    date: date::show(self.on),
                    at,
                };
                (at, error)
            })
            .collect()
    }

    /// Each rule in force with a limit that it uses of a topic that is not, precautions apart: what
    /// they use goes by no adoption.
    fn lacking(&self, standing: &InForce) -> BTreeSet<(RuleId, TopicId, String)> {
        let library = self.library;
        standing
            .rules
            .iter()
            .filter(|known| !library.rules[known.rule.index()].obligation.is_precaution())
            .flat_map(|known| {
                self.lenders[known.rule.index()]
                    .iter()
                    .filter(|(lender, _)| {
                        *lender != known.topic
                            && library.topics[lender.index()].permit.is_some()
                            && !is_in_force(standing, *lender)
                    })
                    .map(|(lender, limit)| (known.rule, *lender, limit.clone()))
            })
            .collect()
    }

    /// The statement of the place by which a rule is in force there, or its lender is not; else
    /// the place itself.
    fn cause(&self, rule: RuleId, lender: TopicId) -> Span {
        let topic = self.library.rules[rule.index()].topic;
        self.place
            .statements
            .iter()
            .filter(|statement| in_force_on(statement, self.on))
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
            .map_or(self.place.span, |statement| statement.span)
    }
}

fn is_in_force(standing: &InForce, topic: TopicId) -> bool {
    standing.topics[topic.index()].state == TopicState::InForce
}

/// The topics whose limits and tables a rule uses, each with one of them.
fn lenders(library: &Library, rule: &Rule) -> Lenders {
    let mut found = Vec::new();
    for condition in rule.conditions() {
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
