//! What is changed to see whether a case notices, and what it becomes.
//!
//! A number moves by 1 %, a count by 1 or as many as that are, a size or a choice to its neighbour; a comparison's
//! strictness is turned. Each seat stands in the list once, with its changes. Nothing (0) moves up
//! only, and not at all in a formula, where it stands for what isn't there.

use std::collections::BTreeSet;

use crate::check::typed::{
    Action, Axis, Constant, DefineId, Expression, ExpressionKind, Library, LimitId, Owner, PlaceId,
    Rule, RuleOrigin, TableId, TopicId,
};
use crate::check::{every_part, parts};
use crate::language::syntax::Comparator;
use crate::quantity::print::{show, show_number, show_point};
use crate::quantity::{Rational, date};
use crate::source::Span;
use crate::vocabulary::{PointKind, ScaleId, Type, Vocabulary};

/// Where a value or a comparison sits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Seat {
    /// A limit's value or equivalent: the model's, or that of a place's statement.
    Limit {
        /// Which.
        limit: LimitId,
        /// Which of its equivalents.
        value: usize,
        /// Whose.
        by: Author,
    },
    /// The cells of a row, or those that a place's statement amends.
    Cells {
        /// Of which table.
        table: TableId,
        /// Which.
        cells: Vec<usize>,
        /// Whose.
        by: Author,
    },
    /// Where a place of a key ends or begins.
    Key {
        /// Of which table.
        table: TableId,
        /// Of which of its keys.
        axis: usize,
        /// Which.
        bound: usize,
    },
    /// A quantity or label in a comparison or a formula.
    Literal(Span),
    /// A comparison.
    Comparison(Span),
}

/// Who gave a value: the model, or a place from a date on.
pub(super) type Author = Option<(PlaceId, Rational)>;

/// What a seat becomes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Change {
    /// Another number, canonical.
    Number(Rational),
    /// Another label, by its place.
    Label(u16),
    /// Another comparator.
    Comparator(Comparator),
}

/// A change to be noticed.
#[derive(Debug, Clone)]
pub(super) struct Mutant {
    /// Where.
    pub seat: Seat,
    /// What it becomes.
    pub change: Change,
    /// As it is.
    pub was: Option<Constant>,
    /// Its type.
    pub kind: Option<Type>,
    /// What it is called.
    pub what: String,
    /// As it is, in words.
    pub is: String,
    /// As it is tried, in words.
    pub tried: String,
    /// Where it stands.
    pub span: Span,
    /// The rules that use it, by id.
    pub rules: BTreeSet<String>,
}

/// What part of a library is proved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scope {
    /// The model and every place.
    Whole,
    /// What a place writes itself.
    Place(PlaceId),
    /// A topic, and what places change in it.
    Topic(TopicId),
}

impl Scope {
    /// Whether something of an owner is in it.
    pub(super) fn holds_owner(self, library: &Library, owner: Owner) -> bool {
        match (self, owner) {
            (Scope::Whole, _) => true,
            (Scope::Place(place), Owner::Place(of)) => place == of,
            (Scope::Place(place), Owner::Topic(of)) => {
                library.topics[of.index()].home == Some(place)
            }
            (Scope::Topic(topic), Owner::Topic(of)) => topic == of,
            (Scope::Topic(_), Owner::Place(_)) => false,
        }
    }

    /// Whether a rule is in it.
    pub(super) fn holds_rule(self, library: &Library, rule: &Rule) -> bool {
        match self {
            Scope::Whole => true,
            Scope::Topic(topic) => rule.topic == topic,
            Scope::Place(place) => match rule.origin {
                RuleOrigin::Topic => library.topics[rule.topic.index()].home == Some(place),
                RuleOrigin::Added(of) | RuleOrigin::Replacement { place: of, .. } => place == of,
            },
        }
    }

    /// Whether a place's statement on something of an owner is in it.
    pub(super) fn holds_statement(self, place: PlaceId, owner: Owner) -> bool {
        match self {
            Scope::Whole => true,
            Scope::Place(of) => of == place,
            Scope::Topic(topic) => owner == Owner::Topic(topic),
        }
    }
}

/// Every change in a scope: limits, rows and their keys, what places amend, then literals and comparisons in the
/// order of the text.
pub(super) fn mutants(library: &Library, scope: Scope) -> Vec<Mutant> {
    let mut list = List {
        library,
        scope,
        uses: uses(library),
        mutants: Vec::new(),
        seen: BTreeSet::new(),
    };
    list.limits();
    list.rows();
    list.keys();
    list.amended();
    list.expressions();
    list.mutants
}

/// What each rule uses, its defines written out.
struct Uses {
    rule: String,
    limits: BTreeSet<LimitId>,
    tables: BTreeSet<TableId>,
    spans: BTreeSet<Span>,
}

fn uses(library: &Library) -> Vec<Uses> {
    library
        .rules
        .iter()
        .map(|rule| {
            let mut uses = Uses {
                rule: rule.id.clone(),
                limits: BTreeSet::new(),
                tables: BTreeSet::new(),
                spans: BTreeSet::new(),
            };
            for condition in rule.conditions() {
                every_part(library, condition, &mut |part| {
                    uses.spans.insert(part.span);
                    match &part.kind {
                        ExpressionKind::Limit(limit) => {
                            uses.limits.insert(*limit);
                        }
                        ExpressionKind::Lookup(table, _) => {
                            uses.tables.insert(*table);
                        }
                        _ => {}
                    }
                });
            }
            uses
        })
        .collect()
}

struct List<'a> {
    library: &'a Library,
    scope: Scope,
    uses: Vec<Uses>,
    mutants: Vec<Mutant>,
    seen: BTreeSet<Span>,
}

impl List<'_> {
    fn rules(&self, used: impl Fn(&Uses) -> bool) -> BTreeSet<String> {
        self.uses
            .iter()
            .filter(|uses| used(uses))
            .map(|uses| uses.rule.clone())
            .collect()
    }

    fn limits(&mut self) {
        for (at, limit) in self.library.limits.iter().enumerate() {
            if !self.scope.holds_owner(self.library, limit.owner) {
                continue;
            }
            let id = LimitId::at(at);
            let rules = self.rules(|uses| uses.limits.contains(&id));
            let what = format!(
                "limit {}",
                self.library.owned_name(limit.owner, &limit.name)
            );
            for (value, constant) in limit.values.iter().enumerate() {
                let seat = Seat::Limit {
                    limit: id,
                    value,
                    by: None,
                };
                self.constant(seat, constant, limit.kind, &[], &what, limit.span, &rules);
            }
        }
    }

    fn rows(&mut self) {
        for (at, table) in self.library.tables.iter().enumerate() {
            if !self.scope.holds_owner(self.library, table.owner) {
                continue;
            }
            let id = TableId::at(at);
            let rules = self.rules(|uses| uses.tables.contains(&id));
            let name = self.library.owned_name(table.owner, &table.name);
            let rows: BTreeSet<Span> = table.cells.iter().map(|cell| cell.span).collect();
            for row in rows {
                let cells: Vec<usize> = (0..table.cells.len())
                    .filter(|cell| table.cells[*cell].span == row)
                    .collect();
                let Some(constant) = &table.cells[cells[0]].value else {
                    continue;
                };
                let what = format!("{name}({})", self.cells_name(id, &cells));
                let seat = Seat::Cells {
                    table: id,
                    cells,
                    by: None,
                };
                self.constant(seat, constant, table.gives, &[], &what, row, &rules);
            }
        }
    }

    fn keys(&mut self) {
        for (at, table) in self.library.tables.iter().enumerate() {
            if !self.scope.holds_owner(self.library, table.owner) {
                continue;
            }
            let id = TableId::at(at);
            let rules = self.rules(|uses| uses.tables.contains(&id));
            let name = self.library.owned_name(table.owner, &table.name);
            for (number, axis) in table.axes.iter().enumerate() {
                let (kind, bounds) = match axis {
                    Axis::Scale { .. } => continue,
                    Axis::UpTo { kind, bounds, .. } | Axis::From { kind, bounds, .. } => {
                        (*kind, bounds)
                    }
                };
                for (bound, constant) in bounds.iter().enumerate() {
                    let seat = Seat::Key {
                        table: id,
                        axis: number,
                        bound,
                    };
                    let what = format!("key {} of {name}", table.parameters[number]);
                    let span = table.row_of(number, bound);
                    self.constant(seat, constant, kind, &[], &what, span, &rules);
                }
            }
        }
    }

    fn cells_name(&self, table: TableId, cells: &[usize]) -> String {
        let known = &self.library.tables[table.index()];
        let first = known.cell_name(&self.library.vocabulary, cells[0]);
        match cells.len() {
            1 => first,
            several => format!("{first}; and {} more", several - 1),
        }
    }

    fn amended(&mut self) {
        for (at, place) in self.library.places.iter().enumerate() {
            let id = PlaceId::at(at);
            for statement in &place.statements {
                let by = Some((id, statement.from.value));
                match &statement.action {
                    Action::AmendLimit {
                        limit,
                        becomes: values,
                        ..
                    }
                    | Action::SetLimit { limit, values } => {
                        let known = &self.library.limits[limit.index()];
                        if !self.scope.holds_statement(id, known.owner) {
                            continue;
                        }
                        let rules = self.rules(|uses| uses.limits.contains(limit));
                        let name = self.library.owned_name(known.owner, &known.name);
                        let what = format!("limit {name} in {}", place.path);
                        for (value, constant) in values.iter().enumerate() {
                            let limit = *limit;
                            let seat = Seat::Limit { limit, value, by };
                            let span = statement.span;
                            self.constant(seat, constant, known.kind, &[], &what, span, &rules);
                        }
                    }
                    Action::AmendCells {
                        table,
                        cells,
                        becomes: Some(constant),
                        ..
                    } => {
                        let known = &self.library.tables[table.index()];
                        if !self.scope.holds_statement(id, known.owner) {
                            continue;
                        }
                        let rules = self.rules(|uses| uses.tables.contains(table));
                        let name = self.library.owned_name(known.owner, &known.name);
                        let cells_name = self.cells_name(*table, cells);
                        let what = format!("{name}({cells_name}) in {}", place.path);
                        let seat = Seat::Cells {
                            table: *table,
                            cells: cells.clone(),
                            by,
                        };
                        let span = statement.span;
                        self.constant(seat, constant, known.gives, &[], &what, span, &rules);
                    }
                    Action::AmendCells { becomes: None, .. }
                    | Action::Adopt(_)
                    | Action::StrikeTopic(_)
                    | Action::RestrictLimit(..)
                    | Action::RestrictCells(..)
                    | Action::RestrictRule(..)
                    | Action::StrikeRule(_)
                    | Action::Add(_)
                    | Action::Replace { .. } => {}
                }
            }
        }
    }

    fn expressions(&mut self) {
        let library = self.library;
        for rule in &library.rules {
            if !self.scope.holds_rule(library, rule) {
                continue;
            }
            for condition in rule.conditions() {
                self.expression(condition, &rule.id, Within::Condition);
            }
        }
        for at in 0..library.defines.len() {
            let define = &library.defines[DefineId::at(at).index()];
            if self.scope.holds_owner(library, define.owner) {
                let name = library.owned_name(define.owner, &define.name);
                self.expression(&define.body, &name, Within::Formula);
            }
        }
    }

    fn expression(&mut self, expression: &Expression, name: &str, within: Within) {
        let mut within = within;
        match &expression.kind {
            ExpressionKind::Compare(comparator, ..) => {
                within = Within::Comparison;
                self.comparison(expression, *comparator, name);
            }
            ExpressionKind::OneOf(value, alternatives) => {
                let known: Vec<u16> = alternatives.iter().filter_map(label).collect();
                for alternative in alternatives {
                    self.literal(alternative, &known, name);
                }
                self.expression(value, name, Within::Comparison);
                return;
            }
            ExpressionKind::Constant(constant) => match within {
                Within::Comparison => self.literal(expression, &[], name),
                Within::Formula if !is_nothing(constant) => self.literal(expression, &[], name),
                Within::Formula | Within::Condition => {}
            },
            _ => {}
        }
        for part in parts(expression) {
            self.expression(part, name, within);
        }
    }

    fn literal(&mut self, expression: &Expression, siblings: &[u16], within: &str) {
        let ExpressionKind::Constant(constant) = &expression.kind else {
            return;
        };
        let span = expression.span;
        let rules = self.rules(|uses| uses.spans.contains(&span));
        // A formula that stands ready for rules to come has nobody who could notice.
        if rules.is_empty() || !self.seen.insert(span) {
            return;
        }
        let what = format!("literal in {within}");
        let seat = Seat::Literal(span);
        self.constant(
            seat,
            constant,
            expression.gives,
            siblings,
            &what,
            span,
            &rules,
        );
    }

    fn comparison(&mut self, expression: &Expression, comparator: Comparator, within: &str) {
        let span = expression.span;
        let rules = self.rules(|uses| uses.spans.contains(&span));
        let Some(turned) = turned(comparator) else {
            return;
        };
        if rules.is_empty() || !self.seen.insert(span) {
            return;
        }
        self.mutants.push(Mutant {
            seat: Seat::Comparison(span),
            change: Change::Comparator(turned),
            was: compared_constant(self.library, expression),
            kind: compared_kind(expression),
            what: format!("comparison in {within}"),
            is: words(comparator).to_owned(),
            tried: words(turned).to_owned(),
            span,
            rules,
        });
    }

    #[expect(
        clippy::too_many_arguments,
        reason = "one value with all that is told of it"
    )]
    fn constant(
        &mut self,
        seat: Seat,
        constant: &Constant,
        kind: Type,
        siblings: &[u16],
        what: &str,
        span: Span,
        rules: &BTreeSet<String>,
    ) {
        let vocabulary = &self.library.vocabulary;
        for change in changes(vocabulary, constant, kind, siblings) {
            self.mutants.push(Mutant {
                seat: seat.clone(),
                change,
                was: Some(constant.clone()),
                kind: Some(kind),
                what: what.to_owned(),
                is: constant.written().to_owned(),
                tried: changed_words(vocabulary, constant, kind, change),
                span,
                rules: rules.clone(),
            });
        }
    }
}

/// Where a literal stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Within {
    /// In a condition, compared with nothing.
    Condition,
    /// In a comparison.
    Comparison,
    /// In a define, whose value the rules that use it compare.
    Formula,
}

fn is_nothing(constant: &Constant) -> bool {
    match constant {
        Constant::Number { value, .. } => value.is_zero(),
        Constant::Label { .. } => false,
    }
}

fn label(expression: &Expression) -> Option<u16> {
    match &expression.kind {
        ExpressionKind::Constant(Constant::Label { place, .. }) => Some(*place),
        _ => None,
    }
}

/// The constant that a comparison compares with, where it is one.
fn compared_constant(library: &Library, comparison: &Expression) -> Option<Constant> {
    parts(comparison)
        .into_iter()
        .rev()
        .find_map(|side| match &side.kind {
            ExpressionKind::Constant(constant) => Some(constant.clone()),
            ExpressionKind::Limit(limit) => library.limits[limit.index()].values.first().cloned(),
            _ => None,
        })
}

fn compared_kind(comparison: &Expression) -> Option<Type> {
    parts(comparison).first().map(|side| side.gives)
}

/// A comparator as strict as it was not.
fn turned(comparator: Comparator) -> Option<Comparator> {
    match comparator {
        Comparator::AtLeast => Some(Comparator::MoreThan),
        Comparator::MoreThan => Some(Comparator::AtLeast),
        Comparator::AtMost => Some(Comparator::LessThan),
        Comparator::LessThan => Some(Comparator::AtMost),
        Comparator::Is => None,
    }
}

fn words(comparator: Comparator) -> &'static str {
    match comparator {
        Comparator::AtLeast => "is at least",
        Comparator::MoreThan => "is more than",
        Comparator::AtMost => "is at most",
        Comparator::LessThan => "is less than",
        Comparator::Is => "is",
    }
}

/// What a constant is changed to.
fn changes(
    vocabulary: &Vocabulary,
    constant: &Constant,
    kind: Type,
    siblings: &[u16],
) -> Vec<Change> {
    match constant {
        Constant::Label { scale, place, .. } => neighbours(vocabulary, *scale, *place, siblings)
            .into_iter()
            .map(Change::Label)
            .collect(),
        Constant::Number { value, .. } => {
            let Some(step) = step(constant, kind) else {
                return Vec::new();
            };
            let below = value.checked_subtract(step).filter(|_| !value.is_zero());
            [value.checked_add(step), below]
                .into_iter()
                .flatten()
                .map(Change::Number)
                .collect()
        }
    }
}

/// The sizes on both sides; of a choice, the next label that is not one of the siblings.
fn neighbours(vocabulary: &Vocabulary, scale: ScaleId, place: u16, siblings: &[u16]) -> Vec<u16> {
    let known = vocabulary.scale(scale);
    let count = u16::try_from(known.places.len()).unwrap_or(u16::MAX);
    if known.ordered {
        let below = place.checked_sub(1);
        let above = Some(place + 1).filter(|above| *above < count);
        return below
            .into_iter()
            .chain(above)
            .filter(|label| !siblings.contains(label))
            .collect();
    }
    (1..count)
        .map(|step| (place + step) % count)
        .find(|label| !siblings.contains(label))
        .into_iter()
        .collect()
}

/// How far a number is moved: a count by 1 % but 1 at least, a date by a day, another by 1 % of what is written,
/// nothing by a hundredth of its unit.
fn step(constant: &Constant, kind: Type) -> Option<Rational> {
    let Constant::Number { value, unit, .. } = constant else {
        return None;
    };
    if kind == Type::Point(PointKind::Date) {
        return Some(Rational::from_integer(86_400));
    }
    let hundredth = Rational::new(1, 100)?;
    let Some(unit) = unit else {
        return match value.as_integer() {
            Some(count) => Rational::new((count.abs() / 100).max(1), 1),
            None => value.magnitude().checked_multiply(hundredth),
        };
    };
    let zero = match (kind, unit.offset) {
        (Type::Point(PointKind::Temperature), Some(zero)) => zero,
        _ => Rational::ZERO,
    };
    let above = value.checked_subtract(zero)?.magnitude();
    if above.is_zero() {
        return unit.factor.checked_multiply(hundredth);
    }
    above.checked_multiply(hundredth)
}

fn changed_words(
    vocabulary: &Vocabulary,
    constant: &Constant,
    kind: Type,
    change: Change,
) -> String {
    match (constant, change) {
        (Constant::Label { scale, .. }, Change::Label(place)) => {
            vocabulary.scale(*scale).label(place).to_owned()
        }
        (Constant::Number { unit, .. }, Change::Number(value)) => match (kind, unit) {
            (Type::Point(PointKind::Date), _) => date::show(value),
            (Type::Point(PointKind::Temperature), Some(unit)) => show_point(value, unit),
            (_, Some(unit)) => show(value, unit),
            (_, None) => show_number(value),
        },
        (_, Change::Comparator(comparator)) => words(comparator).to_owned(),
        (Constant::Label { .. }, Change::Number(_))
        | (Constant::Number { .. }, Change::Label(_)) => constant.written().to_owned(),
    }
}
