//! What no rule reads, what defines itself, and what would cost too much.

use std::collections::BTreeSet;

use super::Checker;
use super::error::CheckError;
use super::typed::{
    Argument, DefineId, Expression, ExpressionKind, HeadClause, Library, LimitId, Owner, RuleId,
    TableId,
};
use crate::source::Span;

/// How many steps a rule may take, its defines written out.
const MOST_NODES: usize = 10_000;
/// How many steps all rules of a library may take together.
const MOST_NODES_TOGETHER: usize = 2_000_000;
/// How many lists may lie within each other.
const MOST_DEPTH: usize = 3;

/// How many defines may lie behind each other.
const MOST_CALLS: usize = 64;

/// Each define looked at once, those that it calls before it; no stack of our own is bounded by
/// what a stranger writes.
struct Walk<'a> {
    calls: &'a [Vec<DefineId>],
    /// How many defines lie behind each, itself among them; none where it is not done with.
    depths: Vec<Option<usize>>,
    /// Which are being looked at, and up to which of its calls each is done with.
    way: Vec<(DefineId, usize)>,
    on_way: BTreeSet<DefineId>,
    /// The circles, each from the define that is come back to.
    circles: Vec<Vec<DefineId>>,
}

impl<'a> Walk<'a> {
    fn new(calls: &'a [Vec<DefineId>]) -> Self {
        Walk {
            calls,
            depths: vec![None; calls.len()],
            way: Vec::new(),
            on_way: BTreeSet::new(),
            circles: Vec::new(),
        }
    }

    fn from(&mut self, start: DefineId) {
        if self.depths[start.index()].is_some() {
            return;
        }
        self.enter(start);
        while let Some((define, done)) = self.way.last_mut() {
            let define = *define;
            match self.calls[define.index()].get(*done) {
                Some(called) => {
                    *done += 1;
                    self.call(*called);
                }
                None => self.leave(define),
            }
        }
    }

    fn enter(&mut self, define: DefineId) {
        self.way.push((define, 0));
        self.on_way.insert(define);
    }

    fn call(&mut self, called: DefineId) {
        if self.on_way.contains(&called) {
            let way = self.way.iter().map(|(define, _)| *define);
            self.circles
                .push(way.skip_while(|define| *define != called).collect());
        } else if self.depths[called.index()].is_none() {
            self.enter(called);
        }
    }

    fn leave(&mut self, define: DefineId) {
        let behind = self.calls[define.index()]
            .iter()
            .filter_map(|called| self.depths[called.index()])
            .max();
        self.depths[define.index()] = Some(behind.unwrap_or(0) + 1);
        self.on_way.remove(&define);
        self.way.pop();
    }
}

impl Checker {
    pub(super) fn usage(&mut self) {
        if !self.no_recursion() {
            return;
        }
        let costs = self.define_costs();
        let mut together: usize = 0;
        for at in 0..self.library.rules.len() {
            let rule = RuleId::at(at);
            if !self.has_room_for_steps(rule, &costs, &mut together) {
                return;
            }
            // Only a rule whose cost is bounded is looked at with its defines written out.
            if self.cost(rule, &costs) {
                self.limits_in_place(rule);
            }
        }
        // What a mistake elsewhere keeps from being read is not told as unused besides.
        if self.errors.is_empty() {
            self.unused();
        }
    }

    /// Whether no define calls itself, through others or at once, and none through too many others.
    fn no_recursion(&mut self) -> bool {
        let calls: Vec<Vec<DefineId>> = self
            .library
            .defines
            .iter()
            .map(|define| calls(&define.body))
            .collect();
        let mut walk = Walk::new(&calls);
        for at in 0..calls.len() {
            walk.from(DefineId::at(at));
        }
        let (circles, depths) = (walk.circles, walk.depths);
        for circle in &circles {
            self.defined_by_itself(circle);
        }
        let deep = depths
            .iter()
            .position(|depth| depth.is_some_and(|depth| depth > MOST_CALLS));
        if let Some(at) = deep {
            let define = &self.library.defines[at];
            let (name, at) = (define.name.clone(), define.span);
            let error = CheckError::TooManyCalls {
                name,
                most: MOST_CALLS,
                at,
            };
            self.tell(error, at);
        }
        circles.is_empty() && deep.is_none()
    }

    fn defined_by_itself(&mut self, circle: &[DefineId]) {
        let names: Vec<&str> = circle
            .iter()
            .chain(circle.first())
            .map(|define| self.library.defines[define.index()].name.as_str())
            .collect();
        let define = &self.library.defines[circle[0].index()];
        let at = define.span;
        let error = CheckError::DefinedByItself {
            name: define.name.clone(),
            chain: names.join(" → "),
            at,
        };
        self.tell(error, at);
    }

    /// What each define costs with those it calls written out; each is reckoned once.
    fn define_costs(&self) -> Vec<Cost> {
        let mut costs = vec![None; self.library.defines.len()];
        for at in 0..costs.len() {
            self.define_cost(at, &mut costs);
        }
        costs.into_iter().flatten().collect()
    }

    fn define_cost(&self, at: usize, costs: &mut Vec<Option<Cost>>) {
        if costs[at].is_some() {
            return;
        }
        let body = &self.library.defines[at].body;
        for called in calls(body) {
            self.define_cost(called.index(), costs);
        }
        let cost = cost_of(body, &|define| costs[define.index()].unwrap_or_default());
        costs[at] = Some(cost);
    }

    /// Whether the rules so far, and one more, stay within bounds together.
    fn has_room_for_steps(&mut self, rule: RuleId, costs: &[Cost], together: &mut usize) -> bool {
        let nodes = self.cost_of_rule(rule, costs).nodes;
        if nodes <= MOST_NODES {
            *together = together.saturating_add(nodes);
        }
        if *together <= MOST_NODES_TOGETHER {
            return true;
        }
        let rule = &self.library.rules[rule.index()];
        let (rule, at) = (rule.id.clone(), rule.name_span);
        let most = MOST_NODES_TOGETHER;
        self.tell(CheckError::TooCostlyTogether { rule, most, at }, at);
        false
    }

    fn cost_of_rule(&self, rule: RuleId, costs: &[Cost]) -> Cost {
        let rule = &self.library.rules[rule.index()];
        let known = |define: DefineId| costs[define.index()];
        let mut total = Cost::default();
        let mut each = 0;
        for clause in &rule.head {
            match clause {
                HeadClause::Each { .. } => each += 1,
                HeadClause::When(condition) => {
                    total = total.beside(cost_of(condition, &known).within(each));
                }
            }
        }
        if let Some(condition) = rule.obligation.condition() {
            total = total.beside(cost_of(condition, &known).within(each));
        }
        Cost {
            nodes: total.nodes,
            depth: total.depth.max(each),
        }
    }

    /// Whether a rule costs no more than it may.
    fn cost(&mut self, rule: RuleId, costs: &[Cost]) -> bool {
        let Cost { nodes, depth } = self.cost_of_rule(rule, costs);
        let rule = &self.library.rules[rule.index()];
        let (id, at) = (rule.id.clone(), rule.name_span);
        if nodes > MOST_NODES {
            let error = CheckError::TooCostly {
                rule: id.clone(),
                nodes,
                most: MOST_NODES,
                at,
            };
            self.tell(error, at);
        }
        if depth > MOST_DEPTH {
            let error = CheckError::TooNested {
                rule: id,
                depth,
                most: MOST_DEPTH,
                at,
            };
            self.tell(error, at);
        }
        nodes <= MOST_NODES && depth <= MOST_DEPTH
    }

    fn unused(&mut self) {
        let mut found: Vec<(&'static str, String, Span)> = Vec::new();
        for (at, limit) in self.library.limits.iter().enumerate() {
            let id = LimitId::at(at);
            if !self.used.limits.contains(&id) {
                found.push(("limit", limit.name.clone(), limit.span));
            }
        }
        for (at, table) in self.library.tables.iter().enumerate() {
            let id = TableId::at(at);
            if !self.used.tables.contains(&id) {
                found.push(("table", table.name.clone(), table.span));
            }
        }
        for (at, define) in self.library.defines.iter().enumerate() {
            // A shared formula may stand ready for rules of other topics.
            let id = DefineId::at(at);
            let shared = matches!(define.owner, Owner::Topic(_)) && !define.citations.is_empty();
            if !self.used.defines.contains(&id) && !shared {
                found.push(("define", define.name.clone(), define.span));
            }
        }
        for (what, name, at) in found {
            self.tell(CheckError::NeverUsed { what, name, at }, at);
        }
    }
}

/// Calls `look` for an expression and all its parts, defines written out.
pub(crate) fn every_part(
    library: &Library,
    expression: &Expression,
    look: &mut impl FnMut(&Expression),
) {
    look(expression);
    if let ExpressionKind::Define(define, _) = &expression.kind {
        let body = &library.defines[define.index()].body;
        every_part(library, body, look);
    }
    for part in parts(expression) {
        every_part(library, part, look);
    }
}

/// The parts of an expression, arguments that are values among them.
pub(crate) fn parts(expression: &Expression) -> Vec<&Expression> {
    fn values(arguments: &[Argument]) -> Vec<&Expression> {
        arguments
            .iter()
            .filter_map(|argument| match argument {
                Argument::Value(value) => Some(value),
                Argument::Thing(_) => None,
            })
            .collect()
    }
    match &expression.kind {
        ExpressionKind::Constant(_)
        | ExpressionKind::Text(_)
        | ExpressionKind::Fact(..)
        | ExpressionKind::Id(_)
        | ExpressionKind::Limit(_)
        | ExpressionKind::Parameter(_)
        | ExpressionKind::Count(_, None) => Vec::new(),
        ExpressionKind::Lookup(_, keys) => keys.iter().collect(),
        ExpressionKind::Define(_, arguments) | ExpressionKind::Survey(_, arguments) => {
            values(arguments)
        }
        ExpressionKind::Negate(inner)
        | ExpressionKind::Power(inner, _)
        | ExpressionKind::Root(inner)
        | ExpressionKind::In(inner, _)
        | ExpressionKind::Not(inner)
        | ExpressionKind::Every(_, inner)
        | ExpressionKind::Some(_, inner)
        | ExpressionKind::Count(_, Some(inner))
        | ExpressionKind::Fold(_, _, inner) => vec![inner],
        ExpressionKind::Arithmetic(_, left, right)
        | ExpressionKind::Compare(_, left, right)
        | ExpressionKind::Lesser(left, right)
        | ExpressionKind::Greater(left, right) => vec![left, right],
        ExpressionKind::OneOf(value, alternatives) => {
            std::iter::once(&**value).chain(alternatives).collect()
        }
        ExpressionKind::And(parts) | ExpressionKind::Or(parts) => parts.iter().collect(),
        ExpressionKind::If(condition, then, otherwise) => vec![condition, then, otherwise],
    }
}

fn calls(expression: &Expression) -> Vec<DefineId> {
    let mut found = Vec::new();
    if let ExpressionKind::Define(define, _) = &expression.kind {
        found.push(*define);
    }
    for part in parts(expression) {
        found.extend(calls(part));
    }
    found
}

/// Steps, and lists within each other.
#[derive(Debug, Clone, Copy, Default)]
struct Cost {
    nodes: usize,
    depth: usize,
}

impl Cost {
    fn beside(self, other: Cost) -> Cost {
        Cost {
            nodes: self.nodes.saturating_add(other.nodes),
            depth: self.depth.max(other.depth),
        }
    }

    fn within(self, lists: usize) -> Cost {
        Cost {
            nodes: self.nodes,
            depth: self.depth + lists,
        }
    }
}

fn cost_of(expression: &Expression, define_cost: &impl Fn(DefineId) -> Cost) -> Cost {
    let own = match &expression.kind {
        ExpressionKind::Define(define, _) => define_cost(*define),
        _ => Cost { nodes: 1, depth: 0 },
    };
    let lists = match &expression.kind {
        ExpressionKind::Every(..)
        | ExpressionKind::Some(..)
        | ExpressionKind::Count(..)
        | ExpressionKind::Fold(..) => 1,
        _ => 0,
    };
    parts(expression)
        .into_iter()
        .map(|part| cost_of(part, define_cost))
        .fold(own, Cost::beside)
        .within(lists)
}
