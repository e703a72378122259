//! What a rule asks, in words with the values in force: "cover at least 30 in".

use std::collections::BTreeMap;

use crate::check::typed::{
    Binding, Constant, Each, Expression, ExpressionKind, HeadClause, Library, Table, TableId,
};
use crate::language::syntax::{Comparator, Fold, Operator};
use crate::layers::{RuleInForce, cell_standing, limit_standing};
use crate::vocabulary::{SITE, ThingId, Type, Vocabulary};

/// Puts the expressions of one rule into words.
pub(super) struct Words<'a> {
    library: &'a Library,
    rule: &'a RuleInForce,
    /// The things bound by `each` and quantifiers so far.
    locals: Vec<ThingId>,
}

impl<'a> Words<'a> {
    /// For what a rule asks, below its head.
    pub fn new(library: &'a Library, rule: &'a RuleInForce) -> Self {
        let written = &library.rules[rule.rule.index()];
        let locals = written.head.iter().filter_map(|clause| match clause {
            HeadClause::Each { list, .. } => Some(list.things),
            HeadClause::When(_) => None,
        });
        Words {
            library,
            rule,
            locals: locals.collect(),
        }
    }

    /// The conditions under which the rule applies.
    pub fn when(&self) -> Vec<String> {
        let written = &self.library.rules[self.rule.rule.index()];
        let whens = written.head.iter().filter_map(|clause| match clause {
            HeadClause::When(condition) => Some(self.truth(condition)),
            HeadClause::Each { .. } => None,
        });
        whens.collect()
    }

    /// A condition.
    pub fn truth(&self, condition: &Expression) -> String {
        match &condition.kind {
            ExpressionKind::Not(inner) => self.denied(inner),
            ExpressionKind::And(parts) => self.joined(parts, " and "),
            ExpressionKind::Or(parts) => self.joined(parts, " or "),
            ExpressionKind::Compare(comparator, left, right) => {
                self.compared(comparator_words(*comparator), left, right)
            }
            ExpressionKind::OneOf(value, alternatives) => {
                format!("{} {}", self.value(value), self.alternatives(alternatives))
            }
            ExpressionKind::If(condition, then, otherwise) => format!(
                "{} if {}, else {}",
                self.truth(then),
                self.truth(condition),
                self.truth(otherwise)
            ),
            ExpressionKind::Every(each, inner) => {
                format!(
                    "each {}: {}",
                    self.element(each),
                    self.within(each).truth(inner)
                )
            }
            ExpressionKind::Some(each, inner) => {
                format!(
                    "some {}: {}",
                    self.element(each),
                    self.within(each).truth(inner)
                )
            }
            _ if condition.gives == Type::YesNo => format!("{}: yes", self.value(condition)),
            _ => self.value(condition),
        }
    }

    fn denied(&self, condition: &Expression) -> String {
        match &condition.kind {
            ExpressionKind::Not(inner) => self.truth(inner),
            ExpressionKind::Compare(comparator, left, right) => {
                self.compared(denied_words(*comparator), left, right)
            }
            ExpressionKind::OneOf(value, alternatives) => {
                let alternatives: Vec<String> =
                    alternatives.iter().map(|one| self.value(one)).collect();
                format!("{} none of {}", self.value(value), alternatives.join(", "))
            }
            ExpressionKind::And(parts) => {
                let parts: Vec<String> = parts.iter().map(|part| self.denied(part)).collect();
                parts.join(" or ")
            }
            ExpressionKind::Or(parts) => {
                let parts: Vec<String> = parts.iter().map(|part| self.denied(part)).collect();
                parts.join(" and ")
            }
            ExpressionKind::Fact(..) | ExpressionKind::Survey(..) | ExpressionKind::Define(..) => {
                format!("{}: no", self.value(condition))
            }
            _ => format!("not ({})", self.truth(condition)),
        }
    }

    fn joined(&self, parts: &[Expression], between: &str) -> String {
        let parts: Vec<String> = parts
            .iter()
            .map(|part| match &part.kind {
                ExpressionKind::And(_) | ExpressionKind::Or(_) | ExpressionKind::If(..) => {
                    format!("({})", self.truth(part))
                }
                _ => self.truth(part),
            })
            .collect();
        parts.join(between)
    }

    fn alternatives(&self, alternatives: &[Expression]) -> String {
        let alternatives: Vec<String> = alternatives.iter().map(|one| self.value(one)).collect();
        alternatives.join(" or ")
    }

    fn compared(&self, comparator: &str, left: &Expression, right: &Expression) -> String {
        format!("{} {comparator}{}", self.value(left), self.value(right))
    }

    /// A value.
    fn value(&self, expression: &Expression) -> String {
        match &expression.kind {
            ExpressionKind::Constant(constant) => constant.written().to_owned(),
            ExpressionKind::Text(text) => format!("\"{text}\""),
            ExpressionKind::Fact(of, fact) => {
                let thing = self.library.vocabulary.thing(self.thing(*of));
                let name = spaced(&thing.fact(*fact).name);
                match self.is_innermost(*of) || self.thing(*of) == SITE {
                    true => name,
                    false => format!("{} of the {}", name, spaced(&thing.name)),
                }
            }
            ExpressionKind::Id(of) => {
                format!(
                    "the {}",
                    spaced(&self.library.vocabulary.thing(self.thing(*of)).name)
                )
            }
            ExpressionKind::Limit(limit) => {
                let known = &self.library.limits[limit.index()];
                let standing = limit_standing(self.library, *limit, &self.rule.way, self.rule.on);
                match standing.values.as_slice() {
                    [] => format!("{} (ask the authority)", spaced(&known.name)),
                    values => Constant::all_written(values),
                }
            }
            ExpressionKind::Lookup(table, _) => self.table(*table),
            ExpressionKind::Define(define, _) => spaced(&self.library.defines[define.index()].name),
            ExpressionKind::Survey(at, _) => spaced(&self.library.vocabulary.surveys[*at].name),
            ExpressionKind::Parameter(_) => "the value given".to_owned(),
            ExpressionKind::Negate(inner) => format!("−{}", self.value(inner)),
            ExpressionKind::Arithmetic(operator, left, right) => format!(
                "{} {} {}",
                self.operand(left),
                operator_sign(*operator),
                self.operand(right)
            ),
            ExpressionKind::Power(inner, exponent) => {
                format!("{}^{}", self.operand(inner), exponent.to_f64())
            }
            ExpressionKind::Root(inner) => format!("root({})", self.value(inner)),
            ExpressionKind::In(inner, _) => self.value(inner),
            ExpressionKind::If(condition, then, otherwise) => format!(
                "{} if {}, else {}",
                self.value(then),
                self.truth(condition),
                self.value(otherwise)
            ),
            ExpressionKind::Count(each, None) => format!("number of {}", self.list(each)),
            ExpressionKind::Count(each, Some(inner)) => format!(
                "number of {} where {}",
                self.list(each),
                self.within(each).truth(inner)
            ),
            ExpressionKind::Fold(fold, each, inner) => format!(
                "{} {} of the {}",
                fold_words(*fold),
                self.within(each).value(inner),
                self.list(each)
            ),
            ExpressionKind::Lesser(left, right) => {
                format!(
                    "the lesser of {} and {}",
                    self.value(left),
                    self.value(right)
                )
            }
            ExpressionKind::Greater(left, right) => {
                format!(
                    "the greater of {} and {}",
                    self.value(left),
                    self.value(right)
                )
            }
            ExpressionKind::Compare(..)
            | ExpressionKind::OneOf(..)
            | ExpressionKind::Not(_)
            | ExpressionKind::And(_)
            | ExpressionKind::Or(_)
            | ExpressionKind::Every(..)
            | ExpressionKind::Some(..) => self.truth(expression),
        }
    }

    fn operand(&self, expression: &Expression) -> String {
        match &expression.kind {
            ExpressionKind::Arithmetic(..) | ExpressionKind::If(..) => {
                format!("({})", self.value(expression))
            }
            _ => self.value(expression),
        }
    }

    fn thing(&self, of: Binding) -> ThingId {
        let bound = match of {
            Binding::Site | Binding::Parameter(_) => None,
            Binding::Local(at) => self.locals.get(usize::from(at)).copied(),
        };
        bound.unwrap_or(SITE)
    }

    fn is_innermost(&self, of: Binding) -> bool {
        match of {
            Binding::Site | Binding::Parameter(_) => self.locals.is_empty(),
            Binding::Local(at) => usize::from(at) + 1 == self.locals.len(),
        }
    }

    fn within(&self, each: &Each) -> Words<'a> {
        let mut locals = self.locals.clone();
        locals.push(each.list.things);
        Words {
            library: self.library,
            rule: self.rule,
            locals,
        }
    }

    fn element(&self, each: &Each) -> String {
        spaced(&self.library.vocabulary.thing(each.list.things).name)
    }

    fn list(&self, each: &Each) -> String {
        let owner = self.library.vocabulary.thing(self.thing(each.list.of));
        spaced(&owner.list(each.list.list).name)
    }

    /// The values of a table in force, each with the keys that have it.
    fn table(&self, table: TableId) -> String {
        let known = &self.library.tables[table.index()];
        let mut by_value: Vec<(String, Vec<usize>)> = Vec::new();
        for cell in 0..known.cells.len() {
            let standing = cell_standing(self.library, table, cell, &self.rule.way, self.rule.on);
            if standing.values.is_empty() {
                continue;
            }
            let value = Constant::all_written(&standing.values);
            match by_value.iter_mut().find(|(found, _)| *found == value) {
                Some((_, cells)) => cells.push(cell),
                None => by_value.push((value, vec![cell])),
            }
        }
        let rows = by_value.iter().map(|(value, cells)| {
            let keys = block_names(known, &self.library.vocabulary, cells);
            format!("{value} ({})", keys.join("; "))
        });
        rows.collect::<Vec<_>>().join(", ")
    }
}

/// The names of some cells of a table, those that differ in one key only put together.
pub(crate) fn block_names(table: &Table, vocabulary: &Vocabulary, cells: &[usize]) -> Vec<String> {
    let keys: Vec<Vec<usize>> = cells.iter().map(|cell| table.keys(*cell)).collect();
    let blocks = blocks(&keys).into_iter();
    blocks
        .map(|block| {
            let axes = table.axes.iter().zip(&block).map(|(axis, keys)| {
                if keys.len() == axis.length() {
                    return "any".to_owned();
                }
                let names = keys.iter().map(|key| axis.place_name(vocabulary, *key));
                names.collect::<Vec<_>>().join(" or ")
            });
            axes.collect::<Vec<_>>().join(", ")
        })
        .collect()
}

/// Cells gathered into blocks: those that differ in one axis only are put together, the last axis
/// first.
fn blocks(cells: &[Vec<usize>]) -> Vec<Vec<Vec<usize>>> {
    let mut blocks: Vec<Vec<Vec<usize>>> = cells
        .iter()
        .map(|keys| keys.iter().map(|key| vec![*key]).collect())
        .collect();
    let axes = cells.first().map_or(0, Vec::len);
    for axis in (0..axes).rev() {
        let mut gathered: BTreeMap<Vec<Vec<usize>>, Vec<usize>> = BTreeMap::new();
        for mut block in blocks {
            let keys = std::mem::take(&mut block[axis]);
            gathered.entry(block).or_default().extend(keys);
        }
        blocks = gathered
            .into_iter()
            .map(|(mut block, keys)| {
                block[axis] = keys;
                block
            })
            .collect();
    }
    blocks.sort();
    blocks
}

/// A name of the language as words.
pub(super) fn spaced(name: &str) -> String {
    name.replace('_', " ")
}

fn comparator_words(comparator: Comparator) -> &'static str {
    match comparator {
        Comparator::Is => "is ",
        Comparator::AtLeast => "at least ",
        Comparator::AtMost => "at most ",
        Comparator::MoreThan => "more than ",
        Comparator::LessThan => "less than ",
    }
}

fn denied_words(comparator: Comparator) -> &'static str {
    match comparator {
        Comparator::Is => "is not ",
        Comparator::AtLeast => "less than ",
        Comparator::AtMost => "more than ",
        Comparator::MoreThan => "at most ",
        Comparator::LessThan => "at least ",
    }
}

fn operator_sign(operator: Operator) -> &'static str {
    match operator {
        Operator::Add => "+",
        Operator::Subtract => "−",
        Operator::Multiply => "×",
        Operator::Divide => "/",
    }
}

fn fold_words(fold: Fold) -> &'static str {
    match fold {
        Fold::Least => "least",
        Fold::Greatest => "greatest",
        Fold::Total => "total",
    }
}
