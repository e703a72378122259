//! Which rules are in force for a record's places and dates.

use std::collections::BTreeMap;

use super::error::LayerError;
use super::standing::{in_force_on, latest};
use super::{
    Change, Dates, InForce, Mark, Note, PermitDates, RuleInForce, TopicStanding, TopicState,
};
use crate::check::typed::{
    Action, Decision, Library, Owner, PermitDate, PlaceId, RuleId, RuleOrigin, Statement, TopicId,
};
use crate::language::syntax::Narrowing;
use crate::quantity::Rational;
use crate::vocabulary::PermitId;

/// The rules in force at some places for some dates.
///
/// # Errors
///
/// Two places that both claim a topic.
pub fn in_force(
    library: &Library,
    places: &[PlaceId],
    dates: &Dates,
) -> Result<InForce, Vec<LayerError>> {
    let ways: Vec<Vec<PlaceId>> = places.iter().map(|place| library.way_in(*place)).collect();
    let mut found = InForce::default();
    let mut errors = Vec::new();
    for at in 0..library.topics.len() {
        let topic = TopicId::at(at);
        match topic_way(library, topic, &ways, dates) {
            Ok(way) => topic_rules(library, topic, way, dates, &mut found),
            Err(error) => errors.push(error),
        }
    }
    if errors.is_empty() {
        Ok(found)
    } else {
        Err(errors)
    }
}

/// Topics as they are written: adopted everywhere, nothing amended, all by one date. A place's own
/// topic goes by that place's way, since it may use the place's limits.
pub fn as_written(
    library: &Library,
    wanted: impl Fn(TopicId) -> bool,
    date: Option<Rational>,
    recorded: Rational,
) -> InForce {
    let mut found = InForce::default();
    for (at, topic) in library.topics.iter().enumerate() {
        let id = TopicId::at(at);
        let way = topic
            .home
            .map_or_else(Vec::new, |home| library.way_in(home));
        for (at, rule) in library.rules.iter().enumerate() {
            let on = if rule.obligation.is_precaution() {
                Some(recorded)
            } else {
                date
            };
            let is_own = rule.topic == id && rule.origin == RuleOrigin::Topic && wanted(id);
            if let (true, Some(on)) = (is_own, on) {
                found.rules.push(RuleInForce {
                    rule: RuleId::at(at),
                    topic: id,
                    on,
                    way: way.clone(),
                    decision: Decision::Banded,
                    changes: Vec::new(),
                });
            }
        }
        found.topics.push(TopicStanding {
            topic: id,
            way,
            date,
            state: TopicState::InForce,
            decision: Decision::Banded,
        });
    }
    found
}

/// The way that a topic goes by: that of the place with a say on it in the part that not all
/// places share, or the part that all share.
fn topic_way(
    library: &Library,
    topic: TopicId,
    ways: &[Vec<PlaceId>],
    dates: &Dates,
) -> Result<Vec<PlaceId>, LayerError> {
    if let [only] = ways {
        return Ok(only.clone());
    }
    let claims: Vec<&[PlaceId]> = ways
        .iter()
        .filter_map(|way| claimed_way(library, topic, way, ways, dates))
        .collect();
    let Some(longest) = claims.iter().copied().max_by_key(|claim| claim.len()) else {
        return Ok(common(ways.iter()));
    };
    if let Some(other) = claims.iter().find(|claim| !longest.starts_with(claim)) {
        return Err(LayerError::TwoPlacesClaim {
            topic: library.topics[topic.index()].name.clone(),
            first: innermost(library, other),
            second: innermost(library, longest),
            at: None,
        });
    }
    // Of several places within the claiming one, what they share.
    Ok(common(ways.iter().filter(|way| way.starts_with(longest))))
}

/// A way down to its innermost place with a say on a topic, if that is not shared by all ways.
fn claimed_way<'a>(
    library: &Library,
    topic: TopicId,
    way: &'a [PlaceId],
    ways: &[Vec<PlaceId>],
    dates: &Dates,
) -> Option<&'a [PlaceId]> {
    let date = topic_date(library, topic, way, dates);
    let at = way.iter().rposition(|place| {
        !ways.iter().all(|other| other.contains(place)) && has_a_say(library, topic, *place, date)
    })?;
    Some(&way[..=at])
}

/// The places that all of some ways share, the outermost first.
fn common<'a>(ways: impl Iterator<Item = &'a Vec<PlaceId>>) -> Vec<PlaceId> {
    ways.cloned()
        .reduce(|shared, way| {
            shared
                .into_iter()
                .filter(|place| way.contains(place))
                .collect()
        })
        .unwrap_or_default()
}

fn innermost(library: &Library, way: &[PlaceId]) -> String {
    way.last()
        .map(|place| library.places[place.index()].path.clone())
        .unwrap_or_default()
}

/// Whether a place has a statement on a topic in force on a date; on any date where there is none.
fn has_a_say(library: &Library, topic: TopicId, place: PlaceId, date: Option<Rational>) -> bool {
    library.places[place.index()]
        .statements
        .iter()
        .filter(|statement| date.is_none_or(|date| in_force_on(statement, date)))
        .any(|statement| topic_of(library, &statement.action) == Some(topic))
}

/// The topic that a statement is on; none for a place's own limits.
pub(crate) fn topic_of(library: &Library, action: &Action) -> Option<TopicId> {
    let owner = match action {
        Action::Adopt(topic) | Action::StrikeTopic(topic) => return Some(*topic),
        Action::AmendLimit { limit, .. }
        | Action::SetLimit { limit, .. }
        | Action::RestrictLimit(limit, _) => library.limits[limit.index()].owner,
        Action::AmendCells { table, .. } | Action::RestrictCells(table, ..) => {
            library.tables[table.index()].owner
        }
        Action::RestrictRule(rule, _)
        | Action::StrikeRule(rule)
        | Action::Add(rule)
        | Action::Replace { old: rule, .. } => {
            return Some(library.rules[rule.index()].topic);
        }
    };
    match owner {
        Owner::Topic(topic) => Some(topic),
        Owner::Place(_) => None,
    }
}

/// The date of a topic's kind of permit that counts on a way; the recorded date without a permit.
pub fn topic_date(
    library: &Library,
    topic: TopicId,
    way: &[PlaceId],
    dates: &Dates,
) -> Option<Rational> {
    let Some(kind) = library.topics[topic.index()].permit else {
        return Some(dates.recorded);
    };
    if dates.on.is_some() {
        return dates.on;
    }
    let permit = permit_of(library, topic, dates)?;
    match date_choice(library, way, kind) {
        PermitDate::Applied => permit.applied,
        PermitDate::Issued => permit.issued,
        PermitDate::PlanApproved => permit.plan_approved,
    }
}

/// Which date of a kind of permit selects the rules: the innermost place that says so, else the
/// day of issue.
pub fn date_choice(library: &Library, way: &[PlaceId], kind: PermitId) -> PermitDate {
    way.iter()
        .rev()
        .find_map(|place| {
            let dates = &library.places[place.index()].dates;
            dates.iter().find(|(permit, _)| *permit == kind)
        })
        .map_or(PermitDate::Issued, |(_, which)| *which)
}

fn permit_of<'a>(library: &Library, topic: TopicId, dates: &'a Dates) -> Option<&'a PermitDates> {
    let kind = library.topics[topic.index()].permit?;
    dates.permits.iter().find(|permit| permit.kind == kind)
}

fn topic_rules(
    library: &Library,
    topic: TopicId,
    way: Vec<PlaceId>,
    dates: &Dates,
    found: &mut InForce,
) {
    let date = topic_date(library, topic, &way, dates);
    let home = library.topics[topic.index()].home;
    let state = topic_state(library, topic, &way, date);
    let decision = decision(library, topic, &way);
    let mut rules: BTreeMap<RuleId, RuleInForce> = BTreeMap::new();
    for (at, rule) in library.rules.iter().enumerate() {
        if rule.topic != topic || rule.origin != RuleOrigin::Topic {
            continue;
        }
        let id = RuleId::at(at);
        let on = if rule.obligation.is_precaution() {
            // The model's precautions are in force everywhere; a place's own where it adopts them.
            let adopted = || topic_state(library, topic, &way, Some(dates.recorded));
            (home.is_none() || adopted() == TopicState::InForce).then_some(dates.recorded)
        } else {
            date.filter(|_| state == TopicState::InForce)
        };
        if let Some(on) = on {
            let entry = RuleInForce {
                rule: id,
                topic,
                on,
                way: way.clone(),
                decision: rule_decision(library, id, decision),
                changes: Vec::new(),
            };
            rules.insert(id, entry);
        }
    }
    let mut changed = Changes {
        library,
        topic,
        rules,
        narrowed: BTreeMap::new(),
        touched: BTreeMap::new(),
        marks: Vec::new(),
    };
    for place in &way {
        changed.apply(*place, &way, date, state, dates.recorded, decision);
    }
    found.rules.extend(changed.rules.into_values());
    found.marks.extend(changed.marks);
    found.topics.push(TopicStanding {
        topic,
        way,
        date,
        state,
        decision,
    });
}

/// Whether a topic is in force: the nearest place that adopts or strikes it decides.
fn topic_state(
    library: &Library,
    topic: TopicId,
    way: &[PlaceId],
    date: Option<Rational>,
) -> TopicState {
    let ever = way.iter().any(|place| {
        library.places[place.index()]
            .statements
            .iter()
            .any(|statement| matches!(statement.action, Action::Adopt(adopted) if adopted == topic))
    });
    let Some(date) = date else {
        return if ever {
            TopicState::NoPermit
        } else {
            TopicState::NeverAdopted
        };
    };
    let governing = way
        .iter()
        .rev()
        .find_map(|place| adoption(library, topic, *place, date));
    match governing {
        Some((_, true)) => TopicState::InForce,
        Some((_, false)) => TopicState::NotOnThatDate,
        None if ever => TopicState::NotOnThatDate,
        None => TopicState::NeverAdopted,
    }
}

/// What a place says of a topic on a date: adopted or struck.
fn adoption(
    library: &Library,
    topic: TopicId,
    place: PlaceId,
    date: Rational,
) -> Option<(&Statement, bool)> {
    latest(library, place, date, |action| match action {
        Action::Adopt(target) if *target == topic => Some(true),
        Action::StrikeTopic(target) if *target == topic => Some(false),
        _ => None,
    })
}

fn decision(library: &Library, topic: TopicId, way: &[PlaceId]) -> Decision {
    way.iter()
        .rev()
        .find_map(|place| {
            library.places[place.index()]
                .decisions
                .iter()
                .find(|(decided, _)| *decided == topic)
        })
        .map_or(Decision::Banded, |(_, decision)| *decision)
}

/// A precaution is always banded.
fn rule_decision(library: &Library, rule: RuleId, decision: Decision) -> Decision {
    if library.rules[rule.index()].obligation.is_precaution() {
        Decision::Banded
    } else {
        decision
    }
}

/// The rules of a topic while the places change them.
struct Changes<'a> {
    library: &'a Library,
    topic: TopicId,
    rules: BTreeMap<RuleId, RuleInForce>,
    /// What an outer place lets inner ones do to a rule.
    narrowed: BTreeMap<RuleId, Narrowing>,
    /// When an outer place last said something of a rule.
    touched: BTreeMap<RuleId, Rational>,
    marks: Vec<Mark>,
}

impl Changes<'_> {
    fn apply(
        &mut self,
        place: PlaceId,
        way: &[PlaceId],
        date: Option<Rational>,
        state: TopicState,
        recorded: Rational,
        decision: Decision,
    ) {
        for (target, statement) in self.governing(place, date, recorded) {
            self.one(
                place, way, target, &statement, state, date, recorded, decision,
            );
        }
        if let Some(date) = date {
            self.restrict(place, date);
        }
    }

    /// For each rule that a place says something of, its latest statement in force.
    fn governing(
        &self,
        place: PlaceId,
        date: Option<Rational>,
        recorded: Rational,
    ) -> Vec<(RuleId, Statement)> {
        let mut governing: BTreeMap<RuleId, &Statement> = BTreeMap::new();
        for statement in &self.library.places[place.index()].statements {
            let target = match &statement.action {
                Action::StrikeRule(rule)
                | Action::Add(rule)
                | Action::Replace { old: rule, .. } => *rule,
                Action::Adopt(_)
                | Action::StrikeTopic(_)
                | Action::AmendLimit { .. }
                | Action::AmendCells { .. }
                | Action::SetLimit { .. }
                | Action::RestrictLimit(..)
                | Action::RestrictCells(..)
                | Action::RestrictRule(..) => continue,
            };
            let rule = &self.library.rules[target.index()];
            let date = if rule.obligation.is_precaution() {
                Some(recorded)
            } else {
                date
            };
            let holds = date.is_some_and(|date| in_force_on(statement, date));
            if rule.topic != self.topic || !holds {
                continue;
            }
            let later = governing
                .get(&target)
                .is_none_or(|known| known.from.value < statement.from.value);
            if later {
                governing.insert(target, statement);
            }
        }
        governing
            .into_iter()
            .map(|(rule, statement)| (rule, statement.clone()))
            .collect()
    }

    #[expect(
        clippy::too_many_arguments,
        reason = "one statement with all that decides whether it holds"
    )]
    fn one(
        &mut self,
        place: PlaceId,
        way: &[PlaceId],
        target: RuleId,
        statement: &Statement,
        state: TopicState,
        date: Option<Rational>,
        recorded: Rational,
        decision: Decision,
    ) {
        let forbidden = match statement.action {
            Action::StrikeRule(_) | Action::Replace { .. } => self.narrowed.contains_key(&target),
            _ => false,
        };
        if forbidden {
            self.mark(place, statement, Note::Forbidden);
            return;
        }
        if self.is_stale(way, target, statement, date) {
            self.mark(place, statement, Note::Stale);
        }
        let touched = self.touched.entry(target).or_insert(statement.from.value);
        *touched = (*touched).max(statement.from.value);
        let change = Change {
            place,
            statement: statement.clone(),
        };
        match statement.action {
            Action::StrikeRule(_) => {
                self.rules.remove(&target);
            }
            Action::Replace { new, .. } => {
                if let Some(mut rule) = self.rules.remove(&target) {
                    rule.rule = new;
                    if self.library.rules[new.index()].obligation.is_precaution() {
                        rule.on = recorded;
                    }
                    rule.decision = rule_decision(self.library, new, decision);
                    rule.changes.push(change);
                    self.rules.insert(target, rule);
                }
            }
            Action::Add(_) => {
                let is_precaution = self.library.rules[target.index()]
                    .obligation
                    .is_precaution();
                let on = if is_precaution {
                    Some(recorded)
                } else {
                    date.filter(|_| state == TopicState::InForce)
                };
                if let Some(on) = on {
                    let entry = RuleInForce {
                        rule: target,
                        topic: self.topic,
                        on,
                        way: way.to_vec(),
                        decision: rule_decision(self.library, target, decision),
                        changes: vec![change],
                    };
                    self.rules.insert(target, entry);
                }
            }
            _ => {}
        }
        if let Some(narrowing) = statement.narrowing {
            self.narrow(target, narrowing);
        }
    }

    /// Older than an outer place's own statement on the rule, or than the topic's adoption there.
    fn is_stale(
        &self,
        way: &[PlaceId],
        target: RuleId,
        statement: &Statement,
        date: Option<Rational>,
    ) -> bool {
        if matches!(statement.action, Action::Add(_)) {
            return false;
        }
        let outer = self
            .touched
            .get(&target)
            .is_some_and(|touched| statement.from.value < *touched);
        let adopted = date.and_then(|date| {
            way.iter()
                .rev()
                .find_map(|place| adoption(self.library, self.topic, *place, date))
        });
        outer
            || adopted.is_some_and(|(adoption, adopted)| {
                adopted && statement.from.value < adoption.from.value
            })
    }

    fn mark(&mut self, place: PlaceId, statement: &Statement, note: Note) {
        self.marks.push(Mark {
            place,
            span: statement.span,
            note,
        });
    }

    fn restrict(&mut self, place: PlaceId, date: Rational) {
        let statements = &self.library.places[place.index()].statements;
        let narrowed: Vec<(RuleId, Narrowing)> = statements
            .iter()
            .filter(|statement| in_force_on(statement, date))
            .filter_map(|statement| match statement.action {
                Action::RestrictRule(rule, to) => Some((rule, to)),
                _ => None,
            })
            .collect();
        for (rule, to) in narrowed {
            self.narrow(rule, to);
        }
    }

    fn narrow(&mut self, rule: RuleId, to: Narrowing) {
        let known = self.narrowed.entry(rule).or_insert(to);
        *known = (*known).max(to);
    }
}
