//! The rules in force, with their limits and where each came from.

use schemars::JsonSchema;
use serde::Serialize;

use crate::check::every_part;
use crate::check::typed::{ExpressionKind, Library, LimitId, TableId};
use crate::finding::{Clause, Limit};
use crate::judge::{clause, limit, obligation};
use crate::layers::{InForce, RuleInForce, cell_standing, limit_standing};
use crate::program::touched_cells;
use crate::quantity::date;

/// A topic and its rules in force.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct TopicEntry {
    /// Its name.
    pub topic: String,
    /// Its title.
    pub title: String,
    /// Whose date selects its rules; none for precautions.
    pub permit: Option<String>,
    /// Its rules.
    pub rules: Vec<RuleEntry>,
}

/// A rule in force.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct RuleEntry {
    /// Its id.
    pub rule: String,
    /// What it asks, in a line.
    pub title: String,
    /// How it asks.
    pub obligation: &'static str,
    /// Where its shortfall can still be mended.
    pub hold: String,
    /// The date that selects it.
    pub on: String,
    /// Its clauses, and those of the statements that changed it.
    pub clauses: Vec<Clause>,
    /// The limits and the amended cells it compares with, each with its way through the layers.
    pub limits: Vec<Limit>,
}

/// The rules in force, by topic in the library's order.
pub fn rules(library: &Library, in_force: &InForce) -> Vec<TopicEntry> {
    let mut entries: Vec<TopicEntry> = Vec::new();
    for rule in &in_force.rules {
        let topic = &library.topics[rule.topic.index()];
        if entries.last().is_none_or(|entry| entry.topic != topic.name) {
            entries.push(TopicEntry {
                topic: topic.name.clone(),
                title: topic.title.clone(),
                permit: topic.permit.map(|permit| {
                    library.vocabulary.permits[usize::from(permit.0)]
                        .name
                        .clone()
                }),
                rules: Vec::new(),
            });
        }
        if let Some(entry) = entries.last_mut() {
            entry.rules.push(one(library, rule));
        }
    }
    entries
}

pub(super) fn one(library: &Library, rule: &RuleInForce) -> RuleEntry {
    let written = &library.rules[rule.rule.index()];
    RuleEntry {
        rule: written.id.clone(),
        title: written.title.clone(),
        obligation: obligation(&written.obligation).words(),
        hold: library.vocabulary.holds[usize::from(written.hold.0)]
            .name
            .clone(),
        on: date::show(rule.on),
        clauses: clauses(library, rule),
        limits: limits(library, rule),
    }
}

/// The clauses of a rule, those of the statements that changed it first.
pub(crate) fn clauses(library: &Library, rule: &RuleInForce) -> Vec<Clause> {
    let changed = rule
        .changes
        .iter()
        .flat_map(|change| &change.statement.citations);
    let all = changed.chain(&library.rules[rule.rule.index()].citations);
    once(all.map(|citation| clause(library, citation)))
}

/// Each clause once: a statement mostly cites what its rule cites.
fn once(clauses: impl Iterator<Item = Clause>) -> Vec<Clause> {
    let mut found = Vec::new();
    for clause in clauses {
        if !found.contains(&clause) {
            found.push(clause);
        }
    }
    found
}

fn limits(library: &Library, rule: &RuleInForce) -> Vec<Limit> {
    let (used, tables) = compared_with(library, rule);
    let mut found: Vec<Limit> = used
        .into_iter()
        .map(|id| {
            let known = &library.limits[id.index()];
            let standing = limit_standing(library, id, &rule.way, rule.on);
            limit(library, known.name.clone(), &standing)
        })
        .collect();
    for id in tables {
        let known = &library.tables[id.index()];
        for cell in touched_cells(library, id, &rule.way) {
            let standing = cell_standing(library, id, cell, &rule.way, rule.on);
            if standing.way.len() > 1 {
                let name = format!(
                    "{}({})",
                    known.name,
                    known.cell_name(&library.vocabulary, cell)
                );
                found.push(limit(library, name, &standing));
            }
        }
    }
    found
}

/// The limits and tables that a rule reads, each once, in the order it reads them.
pub(crate) fn compared_with(library: &Library, rule: &RuleInForce) -> (Vec<LimitId>, Vec<TableId>) {
    let written = &library.rules[rule.rule.index()];
    let (mut limits, mut tables) = (Vec::new(), Vec::new());
    for condition in written.conditions() {
        every_part(library, condition, &mut |part| match &part.kind {
            ExpressionKind::Limit(limit) if !limits.contains(limit) => limits.push(*limit),
            ExpressionKind::Lookup(table, _) if !tables.contains(table) => tables.push(*table),
            _ => {}
        });
    }
    (limits, tables)
}
