//! What of a place's rules changes on a later date.

use std::collections::BTreeMap;

use super::published::{PublishedRule, every_limit, published_rule};
use crate::check::typed::{PlaceId, RuleId};
use crate::finding::Limit;
use crate::layers::{Dates, InForce, LayerError, RuleInForce, in_force, turning_dates};
use crate::library::Opened;
use crate::quantity::{Rational, date};

/// What changes on one date.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Coming {
    /// The first date of the permits for which it is so.
    pub from: String,
    /// The rules that come into force, or are written anew.
    pub added: Vec<PublishedRule>,
    /// The rules that go, each with its title.
    pub gone: Vec<(String, String)>,
    /// The limits that change, each with a rule that compares with it and its value before.
    pub changed: Vec<ChangedLimit>,
}

/// A limit that changes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChangedLimit {
    /// The rule.
    pub rule: String,
    /// Its value before.
    pub was: String,
    /// What it is then.
    pub limit: Limit,
}

/// What changes on each date after one.
pub(super) fn coming(
    opened: &Opened,
    place: PlaceId,
    on: Rational,
    now: &InForce,
) -> Result<Vec<Coming>, Vec<LayerError>> {
    let library = &opened.library;
    let mut before = now.clone();
    let mut found = Vec::new();
    for turn in turning_dates(library, place) {
        if turn <= on {
            continue;
        }
        let then = in_force(library, &[place], &Dates::all_on(turn))?;
        let change = change(opened, &before, &then, turn);
        if !(change.added.is_empty() && change.gone.is_empty() && change.changed.is_empty()) {
            found.push(change);
        }
        before = then;
    }
    Ok(found)
}

fn change(opened: &Opened, before: &InForce, then: &InForce, on: Rational) -> Coming {
    let known: BTreeMap<RuleId, &RuleInForce> = by_rule(before);
    let stays: BTreeMap<RuleId, &RuleInForce> = by_rule(then);
    let added = then
        .rules
        .iter()
        .filter(|rule| !known.contains_key(&rule.rule));
    let gone = before
        .rules
        .iter()
        .filter(|rule| !stays.contains_key(&rule.rule));
    Coming {
        from: date::show(on),
        added: added.map(|rule| published_rule(opened, rule)).collect(),
        gone: gone
            .map(|rule| {
                let written = &opened.library.rules[rule.rule.index()];
                (written.id.clone(), written.title.clone())
            })
            .collect(),
        changed: changed(opened, &known, then),
    }
}

fn by_rule(in_force: &InForce) -> BTreeMap<RuleId, &RuleInForce> {
    in_force
        .rules
        .iter()
        .map(|rule| (rule.rule, rule))
        .collect()
}

fn changed(
    opened: &Opened,
    known: &BTreeMap<RuleId, &RuleInForce>,
    then: &InForce,
) -> Vec<ChangedLimit> {
    let library = &opened.library;
    let mut found: Vec<ChangedLimit> = Vec::new();
    for rule in &then.rules {
        let Some(before) = known.get(&rule.rule) else {
            continue;
        };
        let was = every_limit(library, before);
        for (name, limit) in every_limit(library, rule) {
            let Some(old) = was.get(&name).filter(|old| old.value != limit.value) else {
                continue;
            };
            if found.iter().all(|change| change.limit != limit) {
                found.push(ChangedLimit {
                    rule: library.rules[rule.rule.index()].id.clone(),
                    was: old.value.clone(),
                    limit,
                });
            }
        }
    }
    found
}
