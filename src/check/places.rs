//! Places, their statements and the variances they granted.

use std::collections::{BTreeMap, BTreeSet};

use super::constants::{constant, date};
use super::error::CheckError;
use super::names::{Declared, nearest};
use super::typed::{
    Action, Authority, Constant, Date, Decision, LimitId, Owner, PermitDate, Place, PlaceId,
    RuleId, Statement, TableId, TopicId, Variance,
};
use super::{Bodies, Checker, LibraryFile, Role};
use crate::language::syntax::{self, Item, Text};
use crate::source::Span;
use crate::vocabulary::{PermitId, Type};

impl Checker {
    /// The places, outer before inner: a folder's path sorts before the paths within it.
    pub(super) fn declare_places(&mut self, files: &[LibraryFile<'_>]) {
        let mut found: BTreeMap<&str, &syntax::Place> = BTreeMap::new();
        for file in files {
            for item in &file.file.items {
                let Item::Place(place) = item else { continue };
                let Role::Place(folder) = file.role else {
                    let at = place.title.span;
                    let statement = "place";
                    self.tell(CheckError::StatementOutsidePlace { statement, at }, at);
                    continue;
                };
                if found.insert(folder, place).is_some() {
                    let error = CheckError::SecondPlace {
                        folder: folder.clone(),
                        at: place.title.span,
                    };
                    self.tell(error, place.title.span);
                }
            }
        }
        for (folder, place) in found {
            let parent = folder
                .rsplit_once('/')
                .and_then(|(around, _)| self.place_around(around));
            self.library.places.push(Place {
                path: folder.to_owned(),
                parent,
                title: place.title.value.clone(),
                authorities: Vec::new(),
                dates: Vec::new(),
                decisions: Vec::new(),
                statements: Vec::new(),
                variances: Vec::new(),
                span: place.span,
            });
        }
    }

    /// The clauses and statements of every place.
    pub(super) fn statements(&mut self, files: &[LibraryFile<'_>], bodies: &Bodies<'_>) {
        for file in files {
            let owner = self.owners.get(&file.id).copied();
            for item in &file.file.items {
                if self.has_enough() {
                    return;
                }
                match item {
                    Item::Place(place) => {
                        if let Some(Owner::Place(id)) = owner {
                            self.place(id, place);
                        }
                    }
                    Item::Statement(statement) => {
                        if let Some(place) =
                            self.in_place(owner, keyword(&statement.action), statement.span)
                            && let Some(statement) = self.statement(place, statement, bodies)
                        {
                            self.library.places[place.index()]
                                .statements
                                .push(statement);
                        }
                    }
                    Item::Variance(variance) => {
                        if let Some(place) = self.in_place(owner, "variance", variance.span)
                            && let Some(variance) = self.variance(place, variance)
                        {
                            self.library.places[place.index()].variances.push(variance);
                        }
                    }
                    Item::Holds(_)
                    | Item::Permits(_)
                    | Item::Hazards(_)
                    | Item::People(_)
                    | Item::Choice(_)
                    | Item::Size(_)
                    | Item::Thing(_)
                    | Item::Extend(_)
                    | Item::List(_)
                    | Item::Survey(_)
                    | Item::Source(_)
                    | Item::Topic(_)
                    | Item::Limit(_)
                    | Item::Table(_)
                    | Item::Define(_)
                    | Item::Rule(_) => {}
                }
            }
        }
        self.ties();
    }

    fn in_place(
        &mut self,
        owner: Option<Owner>,
        statement: &'static str,
        at: Span,
    ) -> Option<PlaceId> {
        if let Some(Owner::Place(place)) = owner {
            return Some(place);
        }
        self.tell(CheckError::StatementOutsidePlace { statement, at }, at);
        None
    }

    fn place(&mut self, id: PlaceId, written: &syntax::Place) {
        self.each_once(written.authorities.iter().map(|(kind, ..)| kind));
        self.each_once(written.dates.iter().map(|(kind, _)| kind));
        self.each_once(written.decisions.iter().map(|(topic, _)| topic));
        for (kind, name, contact) in &written.authorities {
            let permit = if kind.value == "any" {
                Some(None)
            } else {
                self.permit(kind).map(Some)
            };
            if let Some(permit) = permit {
                self.library.places[id.index()].authorities.push(Authority {
                    permit,
                    name: name.value.clone(),
                    contact: contact.value.clone(),
                });
            }
        }
        for (kind, which) in &written.dates {
            let permit = self.permit(kind);
            let date = self.one_of(
                which,
                "which of a permit's dates counts",
                &[
                    ("applied", PermitDate::Applied),
                    ("issued", PermitDate::Issued),
                    ("plan_approved", PermitDate::PlanApproved),
                ],
            );
            if let (Some(permit), Some(date)) = (permit, date) {
                self.library.places[id.index()].dates.push((permit, date));
            }
        }
        for (topic, how) in &written.decisions {
            let topic = self.topic_of(topic);
            let decision = self.one_of(
                how,
                "how a topic is decided",
                &[("banded", Decision::Banded), ("as_read", Decision::AsRead)],
            );
            if let (Some(topic), Some(decision)) = (topic, decision) {
                self.library.places[id.index()]
                    .decisions
                    .push((topic, decision));
            }
        }
    }

    /// Of two clauses on one kind or topic, which holds can't be told.
    fn each_once<'b>(&mut self, names: impl Iterator<Item = &'b syntax::Name>) {
        let mut seen: BTreeSet<&str> = BTreeSet::new();
        for name in names {
            if !seen.insert(&name.value) {
                self.place_error(
                    &format!("this place says two things of `{}`", name.value),
                    name.span,
                    "the second",
                    "which of them holds can't be told: take one out",
                );
            }
        }
    }

    fn permit(&mut self, name: &syntax::Name) -> Option<PermitId> {
        let found = self.vocabulary().permit(&name.value);
        if found.is_none() {
            let known = self.vocabulary().permits.iter().map(|p| p.name.as_str());
            self.unknown_name(
                &name.value,
                name.span,
                "a kind of permit",
                nearest(&name.value, known),
            );
        }
        found
    }

    fn one_of<T: Copy>(
        &mut self,
        name: &syntax::Name,
        expected: &str,
        known: &[(&str, T)],
    ) -> Option<T> {
        let found = known.iter().find(|(label, _)| *label == name.value);
        if found.is_none() {
            self.unknown_name(
                &name.value,
                name.span,
                expected.to_owned(),
                nearest(&name.value, known.iter().map(|(label, _)| *label)),
            );
        }
        found.map(|(_, value)| *value)
    }

    fn statement(
        &mut self,
        place: PlaceId,
        written: &syntax::Statement,
        bodies: &Bodies<'_>,
    ) -> Option<Statement> {
        let from = match &written.from {
            Some(from) => self.told(date(from), from.span),
            None => {
                self.lacks(
                    written,
                    "from",
                    "say from which permit date it holds: `from 2026-01-01`",
                );
                None
            }
        };
        if written.citations.is_empty() {
            self.lacks(
                written,
                "cite",
                "say under which clause: `cite SOURCE \"section\"`",
            );
        }
        if written.because.is_none() {
            self.lacks(written, "because", "say why: `because \"…\"`");
        }
        let until = match &written.until {
            Some(until) => Some(self.told(date(until), until.span)?),
            None => None,
        };
        if let Some(narrowing) = &written.narrowing
            && let syntax::Action::Adopt(_)
            | syntax::Action::StrikeTopic(_)
            | syntax::Action::StrikeRule(_)
            | syntax::Action::Restrict { .. }
            | syntax::Action::RestrictRule { .. } = &written.action
        {
            self.place_error(
                "only a limit, a cell or a rule that stands afterwards can be narrowed",
                narrowing.span,
                "narrows nothing",
                "write `restrict topic.limit to tighten only` or `restrict rule topic.rule to fixed`",
            );
        }
        let citations = self.citations(&written.citations);
        let action = self.action(place, written, bodies);
        let (from, action) = (from?, action?);
        if let Some(until) = &until
            && until.value <= from.value
        {
            self.tell(CheckError::UntilBeforeFrom { at: until.span }, until.span);
        }
        Some(Statement {
            action,
            from,
            until,
            citations,
            because: written
                .because
                .as_ref()
                .map(|because| because.value.clone())
                .unwrap_or_default(),
            narrowing: written.narrowing.as_ref().map(|narrowing| narrowing.value),
            span: written.span,
        })
    }

    fn lacks(&mut self, written: &syntax::Statement, clause: &'static str, help: &'static str) {
        let at = written.span;
        self.tell(CheckError::StatementClause { clause, help, at }, at);
    }

    fn action(
        &mut self,
        place: PlaceId,
        written: &syntax::Statement,
        bodies: &Bodies<'_>,
    ) -> Option<Action> {
        use syntax::Action as Written;
        Some(match &written.action {
            Written::Adopt(topic) => Action::Adopt(self.topic_of(topic)?),
            Written::StrikeTopic(topic) => Action::StrikeTopic(self.topic_of(topic)?),
            Written::StrikeRule(path) => {
                let rule = self.rule_of(place, path)?;
                self.no_precaution(rule, path.span)?;
                Action::StrikeRule(rule)
            }
            Written::Amend {
                target,
                was,
                becomes,
            } => match self.target(place, target)? {
                Target::Limit(limit) => {
                    self.used.limits.insert(limit);
                    let kind = self.library.limits[limit.index()].kind;
                    Action::AmendLimit {
                        limit,
                        was: self.values(was, kind)?,
                        becomes: self.values(becomes, kind)?,
                    }
                }
                Target::Cells(table, cells) => {
                    let kind = self.library.tables[table.index()].gives;
                    Action::AmendCells {
                        table,
                        cells,
                        was: self.single(was, kind)?,
                        becomes: self.single(becomes, kind)?,
                    }
                }
            },
            Written::Set { target, values } => match self.target(place, target)? {
                Target::Limit(limit) => {
                    self.open_limit(limit, target.span)?;
                    let kind = self.library.limits[limit.index()].kind;
                    let values = self.values(values, kind)?;
                    Action::SetLimit { limit, values }
                }
                Target::Cells(..) => {
                    self.place_error(
                        "cells of a table are amended, not set",
                        target.span,
                        "a table",
                        "write `amend TABLE(keys) : no value becomes …`",
                    );
                    return None;
                }
            },
            Written::Restrict { target, to } => match self.target(place, target)? {
                Target::Limit(limit) => Action::RestrictLimit(limit, *to),
                Target::Cells(table, cells) => Action::RestrictCells(table, cells, *to),
            },
            Written::RestrictRule { rule, to } => {
                Action::RestrictRule(self.rule_of(place, rule)?, *to)
            }
            Written::Add { .. } => Action::Add(*bodies.carried.get(&written.span)?),
            Written::Replace { target, .. } => {
                // A target that is not known was told when the rule was declared.
                let new = *bodies.carried.get(&written.span)?;
                let old = self.rule_of(place, target)?;
                self.no_precaution(old, target.span)?;
                Action::Replace { old, new }
            }
        })
    }

    fn no_precaution(&mut self, rule: RuleId, at: Span) -> Option<()> {
        let known = &self.library.rules[rule.index()];
        if !known.obligation.is_precaution() {
            return Some(());
        }
        let rule = known.id.clone();
        self.tell(CheckError::PrecautionStruck { rule, at }, at);
        None
    }

    fn open_limit(&mut self, limit: LimitId, at: Span) -> Option<()> {
        let known = &self.library.limits[limit.index()];
        if known.values.is_empty() {
            return Some(());
        }
        let written: Vec<&str> = known.values.iter().map(Constant::written).collect();
        let error = CheckError::SetOfValued {
            name: self.library.owned_name(known.owner, &known.name),
            value: written.join(" or "),
            at,
        };
        self.tell(error, at);
        None
    }

    fn place_error(&mut self, message: &str, at: Span, label: &str, help: &str) {
        let error = CheckError::Place {
            message: message.to_owned(),
            at,
            label: label.to_owned(),
            help: help.to_owned(),
        };
        self.tell(error, at);
    }

    fn values(&mut self, written: &[Text], kind: Type) -> Option<Vec<Constant>> {
        let values: Vec<_> = written
            .iter()
            .map(|value| {
                let read = constant(self.vocabulary(), value, kind);
                self.told(read, value.span)
            })
            .collect();
        values.into_iter().collect()
    }

    fn single(&mut self, written: &[Text], kind: Type) -> Option<Option<Constant>> {
        match written {
            [] => Some(None),
            [value] => Some(self.values(std::slice::from_ref(value), kind)?.pop()),
            [_, second, ..] => {
                self.place_error(
                    "a cell of a table has one value",
                    second.span,
                    "a second value",
                    "equivalents are of limits only",
                );
                None
            }
        }
    }

    fn target(&mut self, place: PlaceId, target: &syntax::Target) -> Option<Target> {
        let declared = match target.path.parts.as_slice() {
            [topic, name] => {
                let owner = Owner::Topic(self.topic_of(topic)?);
                let found = self.names.find(&[owner], &name.value);
                if found.is_none() {
                    let owners = [owner];
                    let help = nearest(&name.value, self.names.of_owners(&owners));
                    self.place_error(
                        &format!(
                            "topic {} has no limit or table `{}`",
                            topic.value, name.value
                        ),
                        target.path.span,
                        "not declared there",
                        &help,
                    );
                }
                found?
            }
            [name] => {
                let way: Vec<Owner> = self
                    .library
                    .way_in(place)
                    .into_iter()
                    .rev()
                    .map(Owner::Place)
                    .collect();
                let found = self.names.find(&way, &name.value);
                if found.is_none() {
                    self.place_error(
                        &format!("`{}` is no limit or table of this place", name.value),
                        name.span,
                        "not declared here",
                        "name a topic's as `topic.limit`",
                    );
                }
                found?
            }
            _ => {
                self.place_error(
                    "a target is `topic.limit` or `topic.table(keys)`",
                    target.path.span,
                    "too many parts",
                    "rules are changed with `strike rule`, `replace rule` and `add rule`",
                );
                return None;
            }
        };
        match (declared, &target.keys) {
            (Declared::Limit(limit), None) => Some(Target::Limit(limit)),
            (Declared::Table(table), Some(keys)) => {
                let known = self.library.tables[table.index()].without_cells();
                let cells = self.covered(&known, keys)?;
                self.has_room_for(&known, cells.len())
                    .then_some(Target::Cells(table, cells))
            }
            (Declared::Table(_), None) => {
                self.place_error(
                    "a table is amended cell by cell",
                    target.span,
                    "without keys",
                    "name the keys: `topic.table(key, key)`; `any` names all",
                );
                None
            }
            (Declared::Limit(_), Some(_)) => {
                self.place_error(
                    "a limit has no keys",
                    target.span,
                    "with keys",
                    "leave the parentheses out",
                );
                None
            }
            (Declared::Define(_) | Declared::Rule(_), _) => {
                self.place_error(
                    "only limits and cells of tables are amended",
                    target.span,
                    "neither a limit nor a table",
                    "replace or strike a rule; a formula is its author's",
                );
                None
            }
        }
    }

    fn variance(&mut self, place: PlaceId, written: &syntax::Variance) -> Option<Variance> {
        let clause = |wanted: &str| {
            written
                .clauses
                .iter()
                .find(|(key, _)| key.value == wanted)
                .map(|(_, text)| text.clone())
        };
        let mut whole = true;
        for wanted in [
            "rule",
            "lot",
            "subject",
            "authority",
            "date",
            "until",
            "because",
        ] {
            if clause(wanted).is_none() {
                whole = false;
                self.place_error(
                    &format!("variance {} has no `{wanted}`", written.number.value),
                    written.number.span,
                    "not complete",
                    "a variance names rule, lot, subject, authority, date, until (a date or `no end`) and because",
                );
            }
        }
        if !whole {
            return None;
        }
        let rule = self.rule_of(place, &path_of(&clause("rule")?))?;
        let granted = self.told_date(&clause("date")?);
        let until = clause("until")?;
        let until = if until.value == "no end" {
            Some(None)
        } else {
            self.told_date(&until).map(Some)
        };
        Some(Variance {
            number: written.number.value.clone(),
            rule,
            lot: clause("lot")?.value,
            subject: clause("subject")?.value,
            authority: clause("authority")?.value,
            date: granted?,
            until: until?,
            because: clause("because")?.value,
        })
    }

    fn told_date(&mut self, text: &Text) -> Option<Date> {
        self.told(date(text), text.span)
    }

    /// Two statements of one place on one target from one date: which holds can't be told.
    fn ties(&mut self) {
        let mut ties = Vec::new();
        for place in &self.library.places {
            let mut seen: BTreeMap<(TargetKey, crate::quantity::Rational), Span> = BTreeMap::new();
            for statement in &place.statements {
                for target in targets(&statement.action) {
                    let key = (target, statement.from.value);
                    match seen.get(&key) {
                        None => {
                            seen.insert(key, statement.span);
                        }
                        Some(first) => {
                            ties.push((target, *first, statement.span));
                            break;
                        }
                    }
                }
            }
        }
        for (target, first, at) in ties {
            let target = self.target_name(target);
            let same_file = first.source == at.source;
            let error = CheckError::Tie {
                target,
                at,
                first: same_file.then_some(first),
                elsewhere: if same_file {
                    String::new()
                } else {
                    format!("; the other stands in {}", self.file_name(first))
                },
            };
            self.tell(error, at);
        }
    }

    fn target_name(&self, target: TargetKey) -> String {
        match target {
            TargetKey::Topic(topic) => format!("topic {}", self.library.topics[topic.index()].name),
            TargetKey::Limit(limit) | TargetKey::LimitRestriction(limit) => {
                let limit = &self.library.limits[limit.index()];
                self.library.owned_name(limit.owner, &limit.name)
            }
            TargetKey::Cell(table, cell) | TargetKey::CellRestriction(table, cell) => {
                let table = &self.library.tables[table.index()];
                format!(
                    "{}({})",
                    self.library.owned_name(table.owner, &table.name),
                    table.cell_name(self.vocabulary(), cell)
                )
            }
            TargetKey::Rule(rule) | TargetKey::RuleRestriction(rule) => {
                format!("rule {}", self.library.rules[rule.index()].id)
            }
        }
    }
}

enum Target {
    Limit(LimitId),
    Cells(TableId, Vec<usize>),
}

/// The word that a statement begins with.
fn keyword(action: &syntax::Action) -> &'static str {
    match action {
        syntax::Action::Adopt(_) => "adopt",
        syntax::Action::StrikeTopic(_) | syntax::Action::StrikeRule(_) => "strike",
        syntax::Action::Amend { .. } => "amend",
        syntax::Action::Set { .. } => "set",
        syntax::Action::Restrict { .. } | syntax::Action::RestrictRule { .. } => "restrict",
        syntax::Action::Add { .. } => "add",
        syntax::Action::Replace { .. } => "replace",
    }
}

/// What two statements may not both be about from one date.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum TargetKey {
    Topic(TopicId),
    Limit(LimitId),
    LimitRestriction(LimitId),
    Cell(TableId, usize),
    CellRestriction(TableId, usize),
    Rule(RuleId),
    RuleRestriction(RuleId),
}

fn targets(action: &Action) -> Vec<TargetKey> {
    match action {
        Action::Adopt(topic) | Action::StrikeTopic(topic) => vec![TargetKey::Topic(*topic)],
        Action::AmendLimit { limit, .. } | Action::SetLimit { limit, .. } => {
            vec![TargetKey::Limit(*limit)]
        }
        Action::AmendCells { table, cells, .. } => cells
            .iter()
            .map(|cell| TargetKey::Cell(*table, *cell))
            .collect(),
        Action::RestrictLimit(limit, _) => vec![TargetKey::LimitRestriction(*limit)],
        Action::RestrictCells(table, cells, _) => cells
            .iter()
            .map(|cell| TargetKey::CellRestriction(*table, *cell))
            .collect(),
        Action::RestrictRule(rule, _) => vec![TargetKey::RuleRestriction(*rule)],
        Action::StrikeRule(rule) | Action::Add(rule) | Action::Replace { old: rule, .. } => {
            vec![TargetKey::Rule(*rule)]
        }
    }
}

/// The names of a path that was kept as text.
fn path_of(text: &Text) -> syntax::Path {
    let parts = text
        .value
        .split('.')
        .map(|part| syntax::Name::new(part.to_owned(), text.span))
        .collect();
    syntax::Path {
        parts,
        span: text.span,
    }
}
