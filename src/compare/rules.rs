//! What is in force on one side and on the other in; what was added, struck, tightened, loosened
//! and reworded out.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use crate::check::typed::{
    Action, Constant, Decision, HeadClause, Library, LimitId, Obligation, Rule, RuleId, Statement,
    TableId,
};
use crate::finding::Layer;
use crate::forms::{block_names, clauses, compared_with};
use crate::judge::{clause, limit, obligation};
use crate::layers::{
    self, Direction, Effect, InForce, RuleInForce, Standing, cell_standing, change,
    direction_of_cells, direction_of_limit, limit_standing,
};
use crate::library::Opened;
use crate::quantity::date;

/// One side: what is in force by which library.
#[derive(Debug, Clone, Copy)]
pub struct Side<'a> {
    /// The library.
    pub opened: &'a Opened,
    /// What is in force.
    pub in_force: &'a InForce,
}

/// What a change does to those who have to keep the rules.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// More is asked.
    Tightened,
    /// A rule is asked that was not.
    Added,
    /// Less is asked.
    Loosened,
    /// A rule is asked no longer.
    Struck,
    /// Something else is asked, and whether that is more or less can't be told.
    CannotBeTold,
    /// The same is asked in other words.
    Reworded,
}

impl Kind {
    /// Every kind, in the order in which they are told.
    pub const ALL: [Kind; 6] = [
        Kind::Tightened,
        Kind::Added,
        Kind::Loosened,
        Kind::Struck,
        Kind::CannotBeTold,
        Kind::Reworded,
    ];

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Kind::Tightened => "tightened",
            Kind::Added => "added",
            Kind::Loosened => "loosened",
            Kind::Struck => "struck",
            Kind::CannotBeTold => "asks something else",
            Kind::Reworded => "reworded",
        }
    }
}

/// One difference.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
pub struct Change {
    /// What it does.
    pub kind: Kind,
    /// The rules it is about, by id.
    pub rules: Vec<String>,
    /// What they ask, in a line each.
    pub titles: Vec<String>,
    /// What of them differs: a limit, cells of a table, `title`, `remedy`; none for whole rules.
    pub what: Option<String>,
    /// On the one side.
    pub before: Option<String>,
    /// On the other.
    pub after: Option<String>,
    /// From permits of which date.
    pub from: Option<String>,
    /// To permits before which date.
    pub until: Option<String>,
    /// Under which clauses.
    pub clauses: Vec<String>,
    /// Why.
    pub because: Option<String>,
}

/// What differs, by kind and then in the order of the rules.
pub fn compare_rules(before: Side<'_>, after: Side<'_>) -> Vec<Change> {
    let (old, new) = (by_id(before), by_id(after));
    let mut changes = Vec::new();
    for (id, rule) in &new {
        match old.get(id) {
            None => changes.push(whole(after, rule, Kind::Added)),
            Some(known) => changes.extend(of_one_rule(before, known, after, rule)),
        }
    }
    for (id, rule) in &old {
        if !new.contains_key(id) {
            changes.push(struck(before, rule, after));
        }
    }
    let values = values(before, &old, after, &new);
    changes.extend(values);
    changes.sort();
    changes
}

type ById<'a> = BTreeMap<&'a str, &'a RuleInForce>;

fn by_id(side: Side<'_>) -> ById<'_> {
    let rules = side.in_force.rules.iter();
    rules
        .map(|rule| (written(side, rule).id.as_str(), rule))
        .collect()
}

fn written<'a>(side: Side<'a>, rule: &RuleInForce) -> &'a Rule {
    &side.opened.library.rules[rule.rule.index()]
}

/// A rule that one side has alone.
fn whole(side: Side<'_>, rule: &RuleInForce, kind: Kind) -> Change {
    let library = &side.opened.library;
    let known = written(side, rule);
    let latest = rule.changes.iter().map(|change| &change.statement);
    let latest = latest.max_by(|a, b| a.from.value.cmp(&b.from.value));
    let mut cited: Vec<String> = Vec::new();
    for clause in clauses(library, rule) {
        let clause = clause.cited();
        if !cited.contains(&clause) {
            cited.push(clause);
        }
    }
    Change {
        kind,
        rules: vec![known.id.clone()],
        titles: vec![known.title.clone()],
        what: None,
        before: None,
        after: None,
        from: latest.map(|statement| date::show(statement.from.value)),
        until: latest
            .and_then(|statement| statement.until.as_ref())
            .map(|until| date::show(until.value)),
        clauses: cited,
        because: latest.map(|statement| statement.because.clone()),
    }
}

/// A rule that is asked no longer, and who struck it, where somebody did.
fn struck(before: Side<'_>, rule: &RuleInForce, after: Side<'_>) -> Change {
    let change = whole(before, rule, Kind::Struck);
    let Some(statement) = striking(after, &change.rules[0]) else {
        return change;
    };
    let library = &after.opened.library;
    let cited = statement
        .citations
        .iter()
        .map(|citation| clause(library, citation).cited());
    Change {
        from: Some(date::show(statement.from.value)),
        until: statement
            .until
            .as_ref()
            .map(|until| date::show(until.value)),
        clauses: cited.collect(),
        because: Some(statement.because.clone()),
        ..change
    }
}

/// The statement in force that takes a rule, or its topic, out of force.
fn striking<'a>(side: Side<'a>, id: &str) -> Option<&'a Statement> {
    let library = &side.opened.library;
    let at = library.rules.iter().position(|rule| rule.id == id)?;
    let (rule, topic) = (RuleId::at(at), library.rules[at].topic);
    let standing = side
        .in_force
        .topics
        .iter()
        .find(|known| known.topic == topic)?;
    let on = standing.date?;
    let inwards = standing.way.iter().rev();
    let statements = inwards.flat_map(|place| &library.places[place.index()].statements);
    statements
        .filter(|statement| layers::in_force_on(statement, on))
        .find(|statement| match &statement.action {
            Action::StrikeRule(struck) => *struck == rule,
            Action::StrikeTopic(struck) => *struck == topic,
            _ => false,
        })
}

/// What differs in a rule's own text.
fn of_one_rule(
    before: Side<'_>,
    old: &RuleInForce,
    after: Side<'_>,
    new: &RuleInForce,
) -> Vec<Change> {
    let (was, is) = (written(before, old), written(after, new));
    let mut changes = Vec::new();
    let mut tell = |kind, what: &str, one: String, other: String| {
        if one != other {
            changes.push(Change {
                what: Some(what.to_owned()),
                before: Some(one),
                after: Some(other),
                ..whole(after, new, kind)
            });
        }
    };
    tell(
        Kind::CannotBeTold,
        "condition",
        condition(before, was),
        condition(after, is),
    );
    tell(
        binding(&was.obligation, &is.obligation),
        "obligation",
        obligation(&was.obligation).words().to_owned(),
        obligation(&is.obligation).words().to_owned(),
    );
    tell(
        Kind::CannotBeTold,
        "decision",
        decision(old.decision).to_owned(),
        decision(new.decision).to_owned(),
    );
    let hold = |side: Side<'_>, rule: &Rule| {
        side.opened.library.vocabulary.holds[usize::from(rule.hold.0)]
            .name
            .clone()
    };
    tell(Kind::Reworded, "hold", hold(before, was), hold(after, is));
    tell(Kind::Reworded, "title", was.title.clone(), is.title.clone());
    tell(
        Kind::Reworded,
        "remedy",
        was.remedy.clone(),
        is.remedy.clone(),
    );
    tell(
        Kind::Reworded,
        "clauses",
        cited(before, was),
        cited(after, is),
    );
    changes
}

fn cited(side: Side<'_>, rule: &Rule) -> String {
    let cited = rule
        .citations
        .iter()
        .map(|citation| clause(&side.opened.library, citation).cited());
    cited.collect::<Vec<_>>().join("; ")
}

fn decision(decision: Decision) -> &'static str {
    match decision {
        Decision::Banded => "tolerances count",
        Decision::AsRead => "as it reads",
    }
}

/// What it does to put one way of asking in another's stead.
fn binding(was: &Obligation, is: &Obligation) -> Kind {
    let is_advice = |asked: &Obligation| matches!(asked, Obligation::Should(_));
    match (is_advice(was), is_advice(is)) {
        (true, false) => Kind::Tightened,
        (false, true) => Kind::Loosened,
        (true, true) | (false, false) => Kind::CannotBeTold,
    }
}

/// The head and the condition as written, whatever the spaces between their words.
fn condition(side: Side<'_>, rule: &Rule) -> String {
    let sources = &side.opened.sources;
    let head = rule.head.iter().map(|clause| match clause {
        HeadClause::Each { span, .. } => sources.slice(*span).to_owned(),
        HeadClause::When(condition) => format!("when {}", sources.slice(condition.span)),
    });
    let asked = rule.obligation.condition().map(|condition| condition.span);
    let asked = match (&rule.obligation, asked) {
        (Obligation::Refer(question), _) => Some(question.clone()),
        (_, asked) => asked.map(|span| sources.slice(span).to_owned()),
    };
    let parts = head.chain(asked);
    let parts: Vec<String> = parts
        .map(|part| crate::vocabulary::single_spaced(&part))
        .collect();
    parts.join("; ")
}

// Values.

/// A value that rules compare with, and the rules.
struct Valued {
    standing: Standing,
    direction: Direction,
    table: Option<TableId>,
    cell: usize,
    rules: Vec<String>,
    titles: Vec<String>,
}

/// Every limit and cell that the rules read, by name.
fn valued(side: Side<'_>, rules: &ById<'_>) -> BTreeMap<(String, String), Valued> {
    let library = &side.opened.library;
    let mut found: BTreeMap<(String, String), Valued> = BTreeMap::new();
    for (id, rule) in rules {
        let title = &written(side, rule).title;
        let mut add = |key: (String, String), valued: &dyn Fn() -> Valued| {
            let known = found.entry(key).or_insert_with(valued);
            known.rules.push((*id).to_owned());
            known.titles.push(title.clone());
        };
        let (limits, tables) = compared_with(library, rule);
        for limit in limits {
            let known = &library.limits[limit.index()];
            let name = library.owned_name(known.owner, &known.name);
            add((name, String::new()), &|| of_limit(library, limit, rule));
        }
        for table in tables {
            let known = &library.tables[table.index()];
            let name = library.owned_name(known.owner, &known.name);
            for cell in 0..known.cells.len() {
                let key = (name.clone(), known.cell_name(&library.vocabulary, cell));
                add(key, &|| of_cell(library, table, cell, rule));
            }
        }
    }
    found
}

fn of_limit(library: &Library, limit: LimitId, rule: &RuleInForce) -> Valued {
    Valued {
        standing: limit_standing(library, limit, &rule.way, rule.on),
        direction: direction_of_limit(library, limit),
        table: None,
        cell: 0,
        rules: Vec::new(),
        titles: Vec::new(),
    }
}

fn of_cell(library: &Library, table: TableId, cell: usize, rule: &RuleInForce) -> Valued {
    Valued {
        standing: cell_standing(library, table, cell, &rule.way, rule.on),
        direction: direction_of_cells(library, table),
        table: Some(table),
        cell,
        rules: Vec::new(),
        titles: Vec::new(),
    }
}

/// Limits and cells that both sides have, with other values; cells of a table that change alike
/// are told together.
fn values(before: Side<'_>, old: &ById<'_>, after: Side<'_>, new: &ById<'_>) -> Vec<Change> {
    let (was, is) = (valued(before, old), valued(after, new));
    let library = &after.opened.library;
    let mut told: Vec<(Change, Option<TableId>, Vec<usize>)> = Vec::new();
    for (key, after) in &is {
        let Some(before) = was.get(key) else {
            continue;
        };
        let (one, other) = (&before.standing.values, &after.standing.values);
        let kind = match effect(one, other, after.direction) {
            Effect::Same => continue,
            Effect::Tightens => Kind::Tightened,
            Effect::Loosens => Kind::Loosened,
            Effect::CannotTell => Kind::CannotBeTold,
        };
        let layer = limit(library, key.0.clone(), &after.standing).way.pop();
        let change = of_value(kind, &key.0, one, after, layer);
        let alike = told.iter_mut().find(|(known, table, _)| {
            after.table.is_some() && *table == after.table && *known == change
        });
        match alike {
            Some((_, _, cells)) => cells.push(after.cell),
            None => told.push((change, after.table, vec![after.cell])),
        }
    }
    told.into_iter()
        .map(|(change, table, cells)| match table {
            None => change,
            Some(table) => {
                let known = &library.tables[table.index()];
                let mut cells = cells;
                cells.sort_unstable();
                let names = block_names(known, &library.vocabulary, &cells);
                let what = change.what.unwrap_or_default();
                Change {
                    what: Some(format!("{what} ({})", names.join("; "))),
                    ..change
                }
            }
        })
        .collect()
}

/// Filling a blank asks something where nothing was asked; the authority was to be asked before.
fn effect(was: &[Constant], is: &[Constant], direction: Direction) -> Effect {
    match (was.is_empty(), is.is_empty()) {
        (true, false) => Effect::Tightens,
        (false, true) => Effect::CannotTell,
        (true, true) | (false, false) => change(was, is, direction),
    }
}

fn of_value(
    kind: Kind,
    name: &str,
    was: &[Constant],
    after: &Valued,
    layer: Option<Layer>,
) -> Change {
    // A model's own value has no statement behind it: its clause is the limit's.
    let layer = layer.as_ref();
    Change {
        kind,
        rules: after.rules.clone(),
        titles: after.titles.clone(),
        what: Some(name.to_owned()),
        before: Some(Constant::all_written(was)),
        after: Some(Constant::all_written(&after.standing.values)),
        from: layer.and_then(|layer| layer.from.clone()),
        until: layer.and_then(|layer| layer.until.clone()),
        clauses: layer
            .map(|layer| layer.clause.clone())
            .into_iter()
            .filter(|clause| !clause.is_empty())
            .collect(),
        because: layer.and_then(|layer| layer.because.clone()),
    }
}
