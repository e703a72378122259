//! Which facts the rules ask for, by topic and hold point.

use std::collections::{BTreeMap, BTreeSet};

use schemars::JsonSchema;
use serde::Serialize;

use crate::check::parts;
use crate::check::typed::{
    Argument, Binding, Each, Expression, ExpressionKind, HeadClause, Library, Obligation,
    ParameterKind, RecordTarget, Rule,
};
use crate::vocabulary::{HoldId, SITE, ThingId};

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

/// The facts, lists and survey functions that a rule reads.
fn read_by(library: &Library, rule: &Rule, facts: &mut BTreeSet<String>) {
    let mut look = Look {
        library,
        locals: Vec::new(),
        facts,
    };
    for clause in &rule.head {
        match clause {
            HeadClause::Each { list, .. } => look.locals.push(list.things),
            HeadClause::When(condition) => look.expression(condition, &[]),
        }
    }
    match &rule.obligation {
        Obligation::Shall(condition)
        | Obligation::Should(condition)
        | Obligation::Precaution(condition) => look.expression(condition, &[]),
        Obligation::Record(RecordTarget::Fact(of, fact)) => look.fact(*of, *fact, &[]),
        Obligation::Record(RecordTarget::List(list)) => {
            let owner = look.thing(list.of, &[]);
            let known = library.vocabulary.thing(owner).list(list.list);
            look.facts.insert(known.name.clone());
        }
        Obligation::Refer(_) => {}
    }
}

struct Look<'a> {
    library: &'a Library,
    locals: Vec<ThingId>,
    facts: &'a mut BTreeSet<String>,
}

impl Look<'_> {
    fn thing(&self, binding: Binding, given: &[ThingId]) -> ThingId {
        match binding {
            Binding::Site => SITE,
            Binding::Local(at) => self.locals.get(usize::from(at)).copied().unwrap_or(SITE),
            Binding::Parameter(at) => given.get(usize::from(at)).copied().unwrap_or(SITE),
        }
    }

    fn fact(&mut self, of: Binding, fact: crate::vocabulary::FactId, given: &[ThingId]) {
        let thing = self.library.vocabulary.thing(self.thing(of, given));
        let name = format!("{}.{}", thing.name, thing.fact(fact).name);
        self.facts.insert(name);
    }

    fn expression(&mut self, expression: &Expression, given: &[ThingId]) {
        match &expression.kind {
            ExpressionKind::Fact(of, fact) => self.fact(*of, *fact, given),
            ExpressionKind::Survey(at, _) => {
                let name = self.library.vocabulary.surveys[*at].name.clone();
                self.facts.insert(name);
            }
            ExpressionKind::Define(define, arguments) => self.define(*define, arguments, given),
            ExpressionKind::Every(each, inner)
            | ExpressionKind::Some(each, inner)
            | ExpressionKind::Count(each, Some(inner))
            | ExpressionKind::Fold(_, each, inner) => {
                self.within(each, inner, given);
                return;
            }
            _ => {}
        }
        for part in parts(expression) {
            self.expression(part, given);
        }
    }

    fn within(&mut self, each: &Each, inner: &Expression, given: &[ThingId]) {
        self.locals.push(each.list.things);
        self.expression(inner, given);
        self.locals.pop();
    }

    /// The body's own names: its parameters that are things, and no locals from around it.
    fn define(
        &mut self,
        define: crate::check::typed::DefineId,
        arguments: &[Argument],
        _given: &[ThingId],
    ) {
        let known = &self.library.defines[define.index()];
        let things: Vec<ThingId> = known
            .parameters
            .iter()
            .zip(arguments)
            .map(|((_, kind), _)| match kind {
                ParameterKind::Thing(thing) => *thing,
                ParameterKind::Value(_) => SITE,
            })
            .collect();
        let around = std::mem::take(&mut self.locals);
        self.expression(&known.body, &things);
        self.locals = around;
    }
}
