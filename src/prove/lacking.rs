//! The rules whose cases don't show what their form can.

use std::collections::{BTreeMap, BTreeSet};

use super::cases::Outcome;
use super::mutant::Scope;
use super::proof::{Lacking, Where};
use crate::check::typed::{Library, Obligation, Rule};
use crate::finding::Verdict;
use crate::source::Sources;

/// The rules of a scope that lack a case for a verdict which their form allows.
pub fn lacking(
    library: &Library,
    sources: &Sources,
    scope: Scope,
    outcomes: &[Outcome],
) -> Vec<Lacking> {
    let mut shown: BTreeMap<&str, BTreeSet<Verdict>> = BTreeMap::new();
    for outcome in outcomes {
        shown
            .entry(&outcome.rule)
            .or_default()
            .extend(&outcome.found);
    }
    let none = BTreeSet::new();
    let mut found = Vec::new();
    for rule in library
        .rules
        .iter()
        .filter(|rule| scope.holds_rule(library, rule))
    {
        let has = shown.get(rule.id.as_str()).unwrap_or(&none);
        let verdicts: Vec<Verdict> = allowed(rule)
            .into_iter()
            .filter(|verdict| !has.contains(verdict))
            .collect();
        if !verdicts.is_empty() {
            found.push(Lacking {
                rule: rule.id.clone(),
                at: Where::of(sources, rule.name_span),
                verdicts,
            });
        }
    }
    found
}

/// The verdicts that a rule's form allows, which its cases show.
fn allowed(rule: &Rule) -> Vec<Verdict> {
    let wanted: &[Verdict] = match rule.obligation {
        Obligation::Shall(_) | Obligation::Should(_) => {
            &[Verdict::Meets, Verdict::FallsShort, Verdict::DoesNotApply]
        }
        Obligation::Precaution(_) => &[Verdict::Refer, Verdict::FallsShort, Verdict::DoesNotApply],
        Obligation::Record(_) => &[Verdict::Meets, Verdict::NotRecorded],
        Obligation::Refer(_) => &[Verdict::Refer],
    };
    wanted
        .iter()
        .copied()
        // A rule on the lot itself, without `each` and `when`, always applies.
        .filter(|verdict| *verdict != Verdict::DoesNotApply || !rule.head.is_empty())
        .collect()
}
