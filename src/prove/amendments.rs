//! What places change, which way it goes, and whether it has force.

use std::collections::BTreeSet;

use super::mutant::Scope;
use super::proof::{Amendment, Force, ForceFrom, Way, Where};
use crate::check::every_part;
use crate::check::typed::{
    Action, Constant, ExpressionKind, HeadClause, Library, LimitId, PlaceId, Rule, RuleId,
    Statement, TableId,
};
use crate::layers::{
    Dates, Effect, Note, Standing, Target, cell_standing, change, direction_on, in_force,
    in_force_on, limit_standing, topic_of, turning_dates,
};
use crate::quantity::{Rational, date};
use crate::source::{Sources, Span};

/// Every change of the places in a scope, in the order written.
pub(super) fn amendments(library: &Library, sources: &Sources, scope: Scope) -> Vec<Amendment> {
    let mut found = Vec::new();
    for (at, place) in library.places.iter().enumerate() {
        let look = Look {
            library,
            sources,
            place: PlaceId::at(at),
            way: library.way_in(PlaceId::at(at)),
        };
        for statement in &place.statements {
            let wanted = match scope {
                Scope::Whole => true,
                Scope::Place(of) => of == look.place,
                Scope::Topic(topic) => topic_of(library, &statement.action) == Some(topic),
            };
            if wanted && let Some((change, way)) = look.effect(statement) {
                found.push(Amendment {
                    place: place.path.clone(),
                    change,
                    way,
                    force: look.force(statement),
                    until: statement
                        .until
                        .as_ref()
                        .map(|until| date::show(until.value)),
                    at: Where::of(sources, statement.span),
                });
            }
        }
    }
    found
}

/// A place and the way to it from the outermost.
struct Look<'a> {
    library: &'a Library,
    sources: &'a Sources,
    place: PlaceId,
    way: Vec<PlaceId>,
}

impl Look<'_> {
    /// What a statement changes and which way that goes; none for what changes no rule.
    fn effect(&self, statement: &Statement) -> Option<(String, Way)> {
        let library = self.library;
        let on = statement.from.value;
        match &statement.action {
            Action::AmendLimit {
                limit,
                becomes: values,
                ..
            }
            | Action::SetLimit { limit, values } => Some(self.limit(*limit, values, on)),
            Action::AmendCells {
                table,
                cells,
                becomes,
                ..
            } => Some(self.cells(*table, cells, becomes.as_ref(), on)),
            Action::StrikeRule(rule) => {
                Some((format!("strikes rule {}", self.id(*rule)), Way::Loosens))
            }
            Action::StrikeTopic(topic) => {
                let name = &library.topics[topic.index()].name;
                Some((format!("strikes topic {name}"), Way::Loosens))
            }
            Action::Add(rule) => Some((format!("adds rule {}", self.id(*rule)), Way::Tightens)),
            Action::Replace { old, new } => {
                let words = format!("replaces rule {}", self.id(*old));
                let same = self.asks_the_same(*old, *new);
                Some((words, if same { Way::Rewords } else { Way::CannotTell }))
            }
            Action::Adopt(_)
            | Action::RestrictLimit(..)
            | Action::RestrictCells(..)
            | Action::RestrictRule(..) => None,
        }
    }

    fn id(&self, rule: RuleId) -> &str {
        &self.library.rules[rule.index()].id
    }

    /// The way to the place around.
    fn outside(&self) -> &[PlaceId] {
        &self.way[..self.way.len() - 1]
    }

    fn limit(&self, limit: LimitId, values: &[Constant], on: Rational) -> (String, Way) {
        let known = &self.library.limits[limit.index()];
        let before = limit_standing(self.library, limit, self.outside(), on).values;
        let name = self.library.owned_name(known.owner, &known.name);
        let words = format!(
            "{name}: {} → {}",
            Constant::all_written(&before),
            Constant::all_written(values)
        );
        (words, self.way_of(&before, values, Target::Limit(limit)))
    }

    fn cells(
        &self,
        table: TableId,
        cells: &[usize],
        becomes: Option<&Constant>,
        on: Rational,
    ) -> (String, Way) {
        let known = &self.library.tables[table.index()];
        let becomes: Vec<Constant> = becomes.into_iter().cloned().collect();
        let mut before = Vec::new();
        let mut ways = BTreeSet::new();
        for cell in cells {
            let was = cell_standing(self.library, table, *cell, self.outside(), on).values;
            ways.insert(self.way_of(&was, &becomes, Target::Cells(table)));
            if !before.contains(&was) {
                before.push(was);
            }
        }
        let names: Vec<String> = cells
            .iter()
            .map(|cell| known.cell_name(&self.library.vocabulary, *cell))
            .collect();
        let before: Vec<String> = before
            .iter()
            .map(|values| Constant::all_written(values))
            .collect();
        let words = format!(
            "{}({}): {} → {}",
            self.library.owned_name(known.owner, &known.name),
            names.join("; "),
            before.join("; "),
            Constant::all_written(&becomes)
        );
        (words, joined(ways))
    }

    fn way_of(&self, was: &[Constant], becomes: &[Constant], target: Target) -> Way {
        // To fill a blank asks more than to leave it, to empty one less.
        match (was.is_empty(), becomes.is_empty()) {
            (true, false) => return Way::Tightens,
            (false, true) => return Way::CannotTell,
            (true, true) | (false, false) => {}
        }
        match change(was, becomes, direction_on(self.library, target, &self.way)) {
            Effect::Same => Way::Rewords,
            Effect::Tightens => Way::Tightens,
            Effect::Loosens => Way::Loosens,
            Effect::CannotTell => Way::CannotTell,
        }
    }

    /// Whether two rules have the same heads and ask the same, word for word, of the same limits.
    fn asks_the_same(&self, old: RuleId, new: RuleId) -> bool {
        let words = |rule: RuleId| self.asked(&self.library.rules[rule.index()]);
        words(old) == words(new)
    }

    /// The words of what a rule asks, and the numbers of what it uses.
    fn asked(&self, rule: &Rule) -> (Vec<String>, Vec<String>) {
        let words = |span: Span| {
            let words: Vec<&str> = self.sources.slice(span).split_whitespace().collect();
            words.join(" ")
        };
        let mut clauses: Vec<String> = rule
            .head
            .iter()
            .map(|clause| match clause {
                HeadClause::Each { span, .. } => words(*span),
                HeadClause::When(condition) => words(condition.span),
            })
            .collect();
        clauses.push(match rule.obligation.condition() {
            Some(condition) => words(condition.span),
            None => format!("{:?}", rule.obligation),
        });
        clauses.push(
            crate::judge::obligation(&rule.obligation)
                .words()
                .to_owned(),
        );
        let mut used = Vec::new();
        for condition in rule.conditions() {
            every_part(self.library, condition, &mut |part| match &part.kind {
                ExpressionKind::Limit(limit) => used.push(format!("limit {}", limit.0)),
                ExpressionKind::Lookup(table, _) => used.push(format!("table {}", table.0)),
                ExpressionKind::Define(define, _) => used.push(format!("define {}", define.0)),
                _ => {}
            });
        }
        (clauses, used)
    }

    /// Whether a statement has force, from its own date and from each on which that changes.
    fn force(&self, statement: &Statement) -> Vec<ForceFrom> {
        let mut found: Vec<ForceFrom> = Vec::new();
        let dates = turning_dates(self.library, self.place);
        for on in dates.into_iter().filter(|on| in_force_on(statement, *on)) {
            let Some(force) = self.force_on(statement, on) else {
                continue;
            };
            if found.last().is_none_or(|last| last.force != force) {
                let from = date::show(on);
                found.push(ForceFrom { from, force });
            }
        }
        found
    }

    /// None where a later statement of the place has taken its stead.
    fn force_on(&self, statement: &Statement, on: Rational) -> Option<Force> {
        let of = |standing: Standing| {
            let own = standing.way.iter().rev().find(|step| {
                step.place == Some(self.place) && step.from == Some(statement.from.value)
            })?;
            Some(force_of(own.note))
        };
        match &statement.action {
            Action::AmendLimit { limit, .. } | Action::SetLimit { limit, .. } => {
                of(limit_standing(self.library, *limit, &self.way, on))
            }
            Action::AmendCells { table, cells, .. } => cells
                .iter()
                .filter_map(|cell| of(cell_standing(self.library, *table, *cell, &self.way, on)))
                .max(),
            Action::StrikeRule(_) | Action::Replace { .. } | Action::Add(_) => {
                let standing = in_force(self.library, &[self.place], &Dates::all_on(on)).ok()?;
                let mark = standing
                    .marks
                    .iter()
                    .find(|mark| mark.span == statement.span);
                Some(force_of(mark.map(|mark| mark.note)))
            }
            Action::StrikeTopic(_)
            | Action::Adopt(_)
            | Action::RestrictLimit(..)
            | Action::RestrictCells(..)
            | Action::RestrictRule(..) => Some(Force::Holds),
        }
    }
}

fn force_of(note: Option<Note>) -> Force {
    match note {
        None => Force::Holds,
        Some(Note::Stale) => Force::Stale,
        Some(Note::Forbidden) => Force::Forbidden,
        Some(Note::CannotTell) => Force::Unclear,
    }
}

/// The way of several cells together: those that are only reworded have no say.
fn joined(ways: BTreeSet<Way>) -> Way {
    let mut told = ways.into_iter().filter(|way| *way != Way::Rewords);
    match (told.next(), told.next()) {
        (None, _) => Way::Rewords,
        (Some(way), None) => way,
        (Some(_), Some(_)) => Way::CannotTell,
    }
}
