//! Which facts the rules ask for, by topic and hold point.

use std::collections::{BTreeMap, BTreeSet};

use schemars::JsonSchema;
use serde::Serialize;

use super::reads::{self, Read};
use crate::check::typed::{Library, Obligation, RecordTarget, Rule};
use crate::vocabulary::HoldId;

/// What the rules of a topic that hold at one point ask for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Coverage {
    /// The topic.
    pub topic: String,
    /// The hold point.
    pub hold: String,
    /// The rules.
    pub rules: Vec<String>,
    /// The facts and survey functions they read: `span.cover`, `least_fall`.
    pub facts: Vec<String>,
}

/// One entry a topic and hold point, in the order of the topics and of the work.
pub fn coverage(library: &Library) -> Vec<Coverage> {
    let mut found: BTreeMap<(usize, HoldId), (Vec<String>, BTreeSet<String>)> = BTreeMap::new();
    for rule in &library.rules {
        let (rules, facts) = found.entry((rule.topic.index(), rule.hold)).or_default();
        rules.push(rule.id.clone());
        read_by(library, rule, facts);
    }
    found
        .into_iter()
        .map(|((topic, hold), (rules, facts))| Coverage {
            topic: library.topics[topic].name.clone(),
            hold: library.vocabulary.holds[usize::from(hold.0)].name.clone(),
            rules,
            facts: facts.into_iter().collect(),
        })
        .collect()
}

/// The names of the facts and survey functions that a rule reads, and of a list that it asks for.
fn read_by(library: &Library, rule: &Rule, facts: &mut BTreeSet<String>) {
    let asks_a_list = matches!(rule.obligation, Obligation::Record(RecordTarget::List(_)));
    for read in reads::of_rule(library, rule) {
        match read {
            Read::Fact(of, fact) => {
                let thing = library.vocabulary.thing(of.thing);
                facts.insert(format!("{}.{}", thing.name, thing.fact(fact).name));
            }
            Read::Survey(at, _) => {
                facts.insert(library.vocabulary.surveys[at].name.clone());
            }
            Read::List(thing, list) if asks_a_list => {
                facts.insert(library.vocabulary.thing(thing).list(list).name.clone());
            }
            Read::List(..) => {}
        }
    }
}
