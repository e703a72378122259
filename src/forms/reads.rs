//! A rule in; the facts, lists and survey functions that it reads out.

use std::collections::BTreeSet;

use crate::check::parts;
use crate::check::typed::{
    Argument, Binding, Each, Expression, ExpressionKind, HeadClause, Library, ListPath, Obligation,
    RecordTarget, Rule,
};
use crate::vocabulary::{FactId, ListId, SITE, ThingId};

/// A thing within the thing that lists it; the site is within itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Within {
    /// What lists it.
    pub owner: ThingId,
    /// The thing.
    pub thing: ThingId,
}

impl Within {
    /// The lot itself.
    pub const THE_SITE: Within = Within {
        owner: SITE,
        thing: SITE,
    };
}

/// Something of a record that a rule reads.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Read {
    /// A fact of a thing.
    Fact(Within, FactId),
    /// Which things stand in a list of a thing.
    List(ThingId, ListId),
    /// A survey function, by its place in the vocabulary, of these things.
    Survey(usize, Vec<Within>),
}

/// What a rule reads, its head and what it asks.
pub(super) fn of_rule(library: &Library, rule: &Rule) -> BTreeSet<Read> {
    let mut look = Look::new(library, Vec::new());
    for clause in &rule.head {
        match clause {
            HeadClause::Each { list, .. } => {
                look.list(*list, &[]);
                let element = look.element(*list, &[]);
                look.locals.push(element);
            }
            HeadClause::When(condition) => look.expression(condition, &[]),
        }
    }
    match &rule.obligation {
        Obligation::Shall(condition)
        | Obligation::Should(condition)
        | Obligation::Precaution(condition) => look.expression(condition, &[]),
        Obligation::Record(RecordTarget::Fact(of, fact)) => look.fact(*of, *fact, &[]),
        Obligation::Record(RecordTarget::List(list)) => look.list(*list, &[]),
        Obligation::Refer(_) => {}
    }
    look.found
}

/// What `shall record` names.
pub(super) fn of_target(library: &Library, target: RecordTarget, locals: &[Within]) -> Read {
    let look = Look::new(library, locals.to_vec());
    match target {
        RecordTarget::Fact(of, fact) => Read::Fact(look.thing(of, &[]), fact),
        RecordTarget::List(list) => Read::List(look.thing(list.of, &[]).thing, list.list),
    }
}

/// The things that the head of a rule binds, the outermost first.
pub(super) fn head_locals(library: &Library, rule: &Rule) -> Vec<Within> {
    let mut look = Look::new(library, Vec::new());
    for clause in &rule.head {
        if let HeadClause::Each { list, .. } = clause {
            let element = look.element(*list, &[]);
            look.locals.push(element);
        }
    }
    look.locals
}

/// What an expression reads under the things that `each` and quantifiers around it bound.
pub(super) fn of_expression(
    library: &Library,
    expression: &Expression,
    locals: &[Within],
) -> BTreeSet<Read> {
    let mut look = Look::new(library, locals.to_vec());
    look.expression(expression, &[]);
    look.found
}

struct Look<'a> {
    library: &'a Library,
    locals: Vec<Within>,
    found: BTreeSet<Read>,
}

impl<'a> Look<'a> {
    fn new(library: &'a Library, locals: Vec<Within>) -> Self {
        Look {
            library,
            locals,
            found: BTreeSet::new(),
        }
    }

    fn thing(&self, binding: Binding, given: &[Within]) -> Within {
        let bound = match binding {
            Binding::Site => None,
            Binding::Local(at) => self.locals.get(usize::from(at)),
            Binding::Parameter(at) => given.get(usize::from(at)),
        };
        bound.copied().unwrap_or(Within::THE_SITE)
    }

    fn element(&self, path: ListPath, given: &[Within]) -> Within {
        Within {
            owner: self.thing(path.of, given).thing,
            thing: path.things,
        }
    }

    fn fact(&mut self, of: Binding, fact: FactId, given: &[Within]) {
        self.found.insert(Read::Fact(self.thing(of, given), fact));
    }

    fn list(&mut self, path: ListPath, given: &[Within]) {
        let owner = self.thing(path.of, given).thing;
        self.found.insert(Read::List(owner, path.list));
    }

    fn expression(&mut self, expression: &Expression, given: &[Within]) {
        match &expression.kind {
            ExpressionKind::Fact(of, fact) => self.fact(*of, *fact, given),
            ExpressionKind::Survey(at, arguments) => {
                let things = arguments.iter().filter_map(|argument| match argument {
                    Argument::Thing(binding) => Some(self.thing(*binding, given)),
                    Argument::Value(_) => None,
                });
                let things = things.collect();
                self.found.insert(Read::Survey(*at, things));
            }
            ExpressionKind::Define(define, arguments) => {
                self.define(define.index(), arguments, given)
            }
            ExpressionKind::Every(each, inner)
            | ExpressionKind::Some(each, inner)
            | ExpressionKind::Count(each, Some(inner))
            | ExpressionKind::Fold(_, each, inner) => {
                self.list(each.list, given);
                self.within(each, inner, given);
                return;
            }
            ExpressionKind::Count(each, None) => self.list(each.list, given),
            _ => {}
        }
        for part in parts(expression) {
            self.expression(part, given);
        }
    }

    fn within(&mut self, each: &Each, inner: &Expression, given: &[Within]) {
        let element = self.element(each.list, given);
        self.locals.push(element);
        self.expression(inner, given);
        self.locals.pop();
    }

    /// The body's own names: its parameters that are things, and no locals from around it.
    fn define(&mut self, define: usize, arguments: &[Argument], given: &[Within]) {
        let known = &self.library.defines[define];
        let things: Vec<Within> = arguments
            .iter()
            .map(|argument| match argument {
                Argument::Thing(binding) => self.thing(*binding, given),
                Argument::Value(_) => Within::THE_SITE,
            })
            .collect();
        let around = std::mem::take(&mut self.locals);
        self.expression(&known.body, &things);
        self.locals = around;
    }
}
