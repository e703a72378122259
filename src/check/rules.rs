//! Rules with their clauses in place and their expressions typed.

use super::error::CheckError;
use super::expressions::{Scope, joined_path};
use super::names::{Declared, nearest};
use super::typed::{
    Expression, ExpressionKind, HeadClause, Obligation, Owner, PlaceId, Rule, RuleId, RuleOrigin,
    TopicId,
};
use super::{Bodies, Checker, RuleBody};
use crate::language::syntax::{self, Action, Clause};
use crate::source::{Span, Spanned};
use crate::vocabulary::{HazardId, HoldId, Type};

impl Checker {
    /// Takes the name of a topic's own rule.
    pub(super) fn declare_rule(
        &mut self,
        topic: TopicId,
        owner: Owner,
        rule: &syntax::Rule,
    ) -> Option<RuleId> {
        let id = self.next_rule();
        if !self.take_name(owner, &rule.name, Declared::Rule(id)) {
            return None;
        }
        let name = format!(
            "{}.{}",
            self.library.topics[topic.index()].name,
            rule.name.value
        );
        self.reserve(name, topic, RuleOrigin::Topic, rule);
        Some(id)
    }

    fn next_rule(&self) -> RuleId {
        RuleId::at(self.library.rules.len())
    }

    /// A rule whose clauses are filled in later: its number is known from here on.
    fn reserve(&mut self, id: String, topic: TopicId, origin: RuleOrigin, rule: &syntax::Rule) {
        self.library.rules.push(Rule {
            id,
            topic,
            origin,
            title: String::new(),
            head: Vec::new(),
            obligation: Obligation::Refer(String::new()),
            citations: Vec::new(),
            hold: HoldId(0),
            remedy: String::new(),
            hazard: None,
            span: rule.span,
            name_span: rule.name.span,
        });
    }

    /// The rules that `add` and `replace` carry.
    pub(super) fn declare_carried<'b>(
        &mut self,
        statement: &'b syntax::Statement,
        owner: Option<Owner>,
        bodies: &mut Bodies<'b>,
    ) {
        let Some(Owner::Place(place)) = owner else {
            // `statements` says that it belongs in a place.
            return;
        };
        let carried = match &statement.action {
            Action::Add { topic, rule } => self.declare_added(place, topic, rule),
            Action::Replace { target, rule } => self.declare_replacement(place, target, rule),
            Action::Adopt(_)
            | Action::StrikeTopic(_)
            | Action::StrikeRule(_)
            | Action::Amend { .. }
            | Action::Set { .. }
            | Action::Restrict { .. }
            | Action::RestrictRule { .. } => None,
        };
        let Some(id) = carried else { return };
        let (Action::Add { rule, .. } | Action::Replace { rule, .. }) = &statement.action else {
            return;
        };
        bodies.carried.insert(statement.span, id);
        let owner = Owner::Place(place);
        bodies.rules.push(RuleBody { id, owner, rule });
    }

    fn declare_added(
        &mut self,
        place: PlaceId,
        topic: &syntax::Name,
        rule: &syntax::Rule,
    ) -> Option<RuleId> {
        let known = self.topic_of(topic)?;
        let within = format!("{}.{}", topic.value, rule.name.value);
        let name = Spanned::new(within.clone(), rule.name.span);
        let id = self.next_rule();
        if !self.take_name(Owner::Place(place), &name, Declared::Rule(id)) {
            return None;
        }
        let path = &self.library.places[place.index()].path;
        let full = format!("{within}@{path}");
        self.reserve(full, known, RuleOrigin::Added(place), rule);
        Some(id)
    }

    fn declare_replacement(
        &mut self,
        place: PlaceId,
        target: &syntax::Path,
        rule: &syntax::Rule,
    ) -> Option<RuleId> {
        let of = self.rule_of(place, target)?;
        let old = &self.library.rules[of.index()];
        let (id, topic) = (old.id.clone(), old.topic);
        let new = self.next_rule();
        self.reserve(id, topic, RuleOrigin::Replacement { place, of }, rule);
        Some(new)
    }

    pub(super) fn topic_of(&mut self, name: &syntax::Name) -> Option<TopicId> {
        let found = self.names.topics.get(&name.value).map(|(id, _)| *id);
        if found.is_none() {
            self.unknown_name(
                &name.value,
                name.span,
                "a topic",
                nearest(&name.value, self.names.topics.keys().map(String::as_str)),
            );
        }
        found
    }

    /// The rule of a path, as seen from a place: a topic's own, or one added on the way out.
    pub(super) fn rule_of(&mut self, place: PlaceId, path: &syntax::Path) -> Option<RuleId> {
        let [topic, name] = path.parts.as_slice() else {
            self.unknown_name(
                joined_path(path),
                path.span,
                "`topic.rule`",
                "a rule is named with its topic",
            );
            return None;
        };
        let id = self.topic_of(topic)?;
        let owner = Owner::Topic(id);
        if let Some(Declared::Rule(rule)) = self.names.find(&[owner], &name.value) {
            return Some(rule);
        }
        let way: Vec<Owner> = self
            .library
            .way_in(place)
            .into_iter()
            .rev()
            .map(Owner::Place)
            .collect();
        let within = format!("{}.{}", topic.value, name.value);
        if let Some(Declared::Rule(rule)) = self.names.find(&way, &within) {
            return Some(rule);
        }
        let owners = [owner];
        let known: Vec<&str> = self
            .names
            .owned
            .iter()
            .filter(|((of, _), (declared, _))| {
                owners.contains(of) && matches!(declared, Declared::Rule(_))
            })
            .map(|((_, known), _)| known.as_str())
            .collect();
        self.unknown_name(
            within,
            path.span,
            format!("a rule of topic {}", topic.value),
            nearest(&name.value, known),
        );
        None
    }

    /// Fills in every rule whose number was taken.
    pub(super) fn rules(&mut self, bodies: &Bodies<'_>) {
        for body in &bodies.rules {
            if self.has_enough() {
                return;
            }
            self.rule(body);
        }
    }

    fn rule(&mut self, body: &RuleBody<'_>) {
        let topic = self.library.rules[body.id.index()].topic;
        let mut owners = self.owners_from(body.owner);
        if !owners.contains(&Owner::Topic(topic)) {
            owners.push(Owner::Topic(topic));
        }
        let mut scope = Scope {
            owners,
            ..Scope::default()
        };
        let written = body.rule;
        let mut parts = Parts::default();
        let mut head = Vec::new();
        for clause in &written.clauses {
            self.clause(clause, &mut scope, &mut head, &mut parts);
        }
        let rule = &written.name;
        if parts.title.is_none() {
            self.missing(rule, "title", "title \"What it asks, in a line\"");
        }
        if parts.citations.is_empty() {
            self.no_citation("rule", rule);
        }
        if parts.hold.is_none() {
            self.missing(rule, "hold point", "hold before_cover");
        }
        if parts.remedy.is_none() {
            self.missing(rule, "remedy", "remedy \"How it is mended.\"");
        }
        if parts.obligation_span.is_none() {
            self.missing(rule, "obligation", "shall CONDITION");
        }
        let citations = self.citations(&parts.citations);
        let filled = &mut self.library.rules[body.id.index()];
        filled.title = parts.title.map(|title| title.value).unwrap_or_default();
        filled.head = head;
        filled.citations = citations;
        filled.remedy = parts.remedy.map(|remedy| remedy.value).unwrap_or_default();
        filled.hazard = parts.hazard;
        if let Some(hold) = parts.hold_id {
            filled.hold = hold;
        }
        if let Some(obligation) = parts.obligation {
            filled.obligation = obligation;
        }
        self.permit_fits(topic, body.id, parts.obligation_span);
    }

    fn missing(&mut self, rule: &syntax::Name, clause: &'static str, example: &'static str) {
        let error = CheckError::ClauseMissing {
            rule: rule.value.clone(),
            clause,
            example,
            at: rule.span,
        };
        self.tell(error, rule.span);
    }

    fn clause(
        &mut self,
        clause: &Clause,
        scope: &mut Scope,
        head: &mut Vec<HeadClause>,
        parts: &mut Parts,
    ) {
        match clause {
            Clause::Title(text) => self.once("title", &mut parts.title, text, text.span),
            Clause::Remedy(text) => self.once("remedy", &mut parts.remedy, text, text.span),
            Clause::Cite(citation) => parts.citations.push(citation.clone()),
            Clause::Hold(name) => {
                self.once("hold", &mut parts.hold, name, name.span);
                parts.hold_id = self.hold(name);
            }
            Clause::Hazard(name) => {
                let mut first = parts.hazard_span.map(|span| Spanned::new((), span));
                self.once(
                    "hazard",
                    &mut first,
                    &Spanned::new((), name.span),
                    name.span,
                );
                parts.hazard_span = Some(name.span);
                parts.hazard = self.hazard(name);
            }
            Clause::Each { name, list } => {
                self.before_obligation(parts, name.span);
                self.each(scope, head, name, list);
            }
            Clause::When(condition) => {
                self.before_obligation(parts, condition.span);
                if let Some(condition) = self.condition(scope, condition) {
                    head.push(HeadClause::When(condition));
                }
            }
            Clause::Obligation(obligation) => {
                if let Some(first) = parts.obligation_span {
                    let error = CheckError::ClauseTwice {
                        clause: "obligation",
                        at: obligation.span,
                        first,
                        help: "make the second a rule of its own",
                    };
                    self.tell(error, obligation.span);
                    return;
                }
                parts.obligation_span = Some(obligation.span);
                parts.obligation = self.obligation(scope, &obligation.value);
            }
        }
    }

    fn once<T: Clone>(
        &mut self,
        clause: &'static str,
        place: &mut Option<Spanned<T>>,
        value: &Spanned<T>,
        at: Span,
    ) {
        match place {
            None => *place = Some(value.clone()),
            Some(first) => {
                let error = CheckError::ClauseTwice {
                    clause,
                    at,
                    first: first.span,
                    help: "take one of them out",
                };
                self.tell(error, at);
            }
        }
    }

    fn before_obligation(&mut self, parts: &Parts, at: Span) {
        if parts.obligation_span.is_some() {
            self.tell(CheckError::HeadAfterObligation { at }, at);
        }
    }

    fn each(
        &mut self,
        scope: &mut Scope,
        head: &mut Vec<HeadClause>,
        name: &syntax::Name,
        list: &syntax::Path,
    ) {
        if let Some(each) = self.bind(scope, name, list) {
            head.push(HeadClause::Each {
                name: each.name,
                list: each.list,
                span: name.span,
            });
        }
    }

    fn obligation(
        &mut self,
        scope: &mut Scope,
        written: &syntax::Obligation,
    ) -> Option<Obligation> {
        Some(match written {
            syntax::Obligation::Shall(condition) => {
                Obligation::Shall(self.condition(scope, condition)?)
            }
            syntax::Obligation::Should(condition) => {
                Obligation::Should(self.condition(scope, condition)?)
            }
            syntax::Obligation::Precaution(condition) => {
                Obligation::Precaution(self.condition(scope, condition)?)
            }
            syntax::Obligation::Record(path) => {
                Obligation::Record(self.record_target(scope, path)?)
            }
            syntax::Obligation::Refer(question) => Obligation::Refer(question.value.clone()),
        })
    }

    fn hold(&mut self, name: &syntax::Name) -> Option<HoldId> {
        let found = self.vocabulary().hold(&name.value);
        if found.is_none() {
            let known = self
                .vocabulary()
                .holds
                .iter()
                .map(|hold| hold.name.as_str());
            self.unknown_name(
                &name.value,
                name.span,
                "a hold point",
                nearest(&name.value, known),
            );
        }
        found
    }

    fn hazard(&mut self, name: &syntax::Name) -> Option<HazardId> {
        let found = self.vocabulary().hazard(&name.value);
        if found.is_none() {
            let known = self.vocabulary().hazards.iter().map(|h| h.name.as_str());
            self.unknown_name(
                &name.value,
                name.span,
                "a hazard",
                nearest(&name.value, known),
            );
        }
        found
    }

    fn permit_fits(&mut self, topic: TopicId, rule: RuleId, at: Option<Span>) {
        let Some(at) = at else { return };
        if self.library.topics[topic.index()].permit.is_some() {
            return;
        }
        let rule = &self.library.rules[rule.index()];
        if !rule.obligation.is_precaution() {
            let error = CheckError::NotAPrecaution {
                rule: rule.id.clone(),
                at,
            };
            self.tell(error, at);
        }
    }

    /// Limits without a value, and limits with equivalents, where they may not stand.
    pub(super) fn limits_in_place(&mut self, rule: RuleId) {
        let rule = self.library.rules[rule.index()].clone();
        for clause in &rule.head {
            if let HeadClause::When(condition) = clause {
                self.unset_in_when(condition);
                self.no_equivalents(condition);
            }
        }
        match &rule.obligation {
            Obligation::Shall(condition) | Obligation::Should(condition) => {
                self.equivalents_alone(condition);
            }
            Obligation::Precaution(condition) => self.no_equivalents(condition),
            Obligation::Record(_) | Obligation::Refer(_) => {}
        }
    }

    fn unset_in_when(&mut self, condition: &Expression) {
        let mut unset = Vec::new();
        super::usage::every_part(&self.library, condition, &mut |part| {
            if let ExpressionKind::Limit(limit) = &part.kind
                && self.library.limits[limit.index()].values.is_empty()
            {
                unset.push((*limit, part.span));
            }
        });
        for (limit, at) in unset {
            let name = self.library.limits[limit.index()].name.clone();
            let at = if at.source == condition.span.source {
                at
            } else {
                condition.span
            };
            self.tell(CheckError::UnsetInWhen { name, at }, at);
        }
    }

    fn no_equivalents(&mut self, part: &Expression) {
        let mut found = Vec::new();
        super::usage::every_part(&self.library, part, &mut |inner| {
            if let ExpressionKind::Limit(limit) = &inner.kind
                && self.library.limits[limit.index()].values.len() > 1
            {
                found.push((*limit, inner.span));
            }
        });
        for (limit, at) in found {
            let name = self.library.limits[limit.index()].name.clone();
            let at = if at.source == part.span.source {
                at
            } else {
                part.span
            };
            self.tell(CheckError::EquivalentsNotAlone { name, at }, at);
        }
    }

    /// Goes down to the comparisons that are under no `not`; there a limit may stand alone.
    fn equivalents_alone(&mut self, condition: &Expression) {
        match &condition.kind {
            ExpressionKind::And(parts) | ExpressionKind::Or(parts) => {
                for part in parts {
                    self.equivalents_alone(part);
                }
            }
            ExpressionKind::If(decides, then, otherwise) if condition.gives == Type::YesNo => {
                self.no_equivalents(decides);
                self.equivalents_alone(then);
                self.equivalents_alone(otherwise);
            }
            ExpressionKind::Every(_, inner) | ExpressionKind::Some(_, inner) => {
                self.equivalents_alone(inner);
            }
            ExpressionKind::Compare(_, left, right) => {
                for side in [left, right] {
                    if !matches!(side.kind, ExpressionKind::Limit(_)) {
                        self.no_equivalents(side);
                    }
                }
            }
            _ => self.no_equivalents(condition),
        }
    }
}

/// The clauses of a rule that stand once.
#[derive(Default)]
struct Parts {
    title: Option<syntax::Text>,
    remedy: Option<syntax::Text>,
    citations: Vec<syntax::Citation>,
    hold: Option<syntax::Name>,
    hold_id: Option<HoldId>,
    hazard: Option<HazardId>,
    hazard_span: Option<Span>,
    obligation: Option<Obligation>,
    obligation_span: Option<Span>,
}
