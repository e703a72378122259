//! Rules in force in, the form that runs out.

use std::collections::BTreeMap;

use super::code::{
    Argument, Axis, Binding, Clause, Comparison, Demand, LimitInForce, LimitSide, List, Node,
    Program, Rule, Step, TableInForce, Value,
};
use crate::check::typed::{
    self, Citation, Constant, ExpressionKind, HeadClause, Library, LimitId, ListPath, Obligation,
    Owner, RecordTarget, TableId,
};
use crate::language::syntax::Comparator;
use crate::layers::{InForce, RuleInForce, Standing, cell_standing, limit_standing};
use crate::quantity::{Interval, Rational, Unit};
use crate::survey::Survey;
use crate::vocabulary::Type;

/// Puts the values in force behind every limit and writes out every define.
pub fn compile(library: &Library, survey: &Survey, in_force: InForce) -> Program {
    let mut values = Values {
        library,
        in_force: &in_force,
        limits: Vec::new(),
        limit_numbers: BTreeMap::new(),
        tables: Vec::new(),
        table_numbers: BTreeMap::new(),
    };
    let rules = in_force
        .rules
        .iter()
        .map(|rule| compile_rule(library, survey, &mut values, rule))
        .collect();
    let (limits, tables) = (values.limits, values.tables);
    Program {
        rules,
        limits,
        tables,
        topics: in_force.topics,
    }
}

/// The limits and tables that rules in force use, each looked up once a way and date.
struct Values<'a> {
    library: &'a Library,
    in_force: &'a InForce,
    limits: Vec<LimitInForce>,
    limit_numbers: BTreeMap<(LimitId, Vec<typed::PlaceId>, Rational), usize>,
    tables: Vec<TableInForce>,
    table_numbers: BTreeMap<(TableId, Vec<typed::PlaceId>, Rational), usize>,
}

impl Values<'_> {
    /// The way and date that a limit's owner goes by; a precaution's are those of the rule.
    fn goes_by<'b>(
        &'b self,
        owner: Owner,
        rule: &'b RuleInForce,
    ) -> (&'b [typed::PlaceId], Rational) {
        let is_precaution = self.library.rules[rule.rule.index()]
            .obligation
            .is_precaution();
        match owner {
            Owner::Topic(topic) if topic != rule.topic => {
                let standing = &self.in_force.topics[topic.index()];
                let date = if is_precaution { None } else { standing.date };
                (&standing.way, date.unwrap_or(rule.on))
            }
            Owner::Topic(_) | Owner::Place(_) => (&rule.way, rule.on),
        }
    }

    fn limit(&mut self, limit: LimitId, rule: &RuleInForce) -> usize {
        let owner = self.library.limits[limit.index()].owner;
        let (way, date) = self.goes_by(owner, rule);
        let key = (limit, way.to_vec(), date);
        if let Some(known) = self.limit_numbers.get(&key) {
            return *known;
        }
        let standing = limit_standing(self.library, limit, way, date);
        let number = self.limits.len();
        self.limit_numbers.insert(key, number);
        self.limits.push(LimitInForce {
            limit,
            values: standing.values.iter().map(value).collect(),
            standing,
        });
        number
    }

    fn table(&mut self, table: TableId, rule: &RuleInForce) -> usize {
        let known = &self.library.tables[table.index()];
        let (way, date) = self.goes_by(known.owner, rule);
        let key = (table, way.to_vec(), date);
        if let Some(number) = self.table_numbers.get(&key) {
            return *number;
        }
        let mut cells: Vec<Option<Value>> = known
            .cells
            .iter()
            .map(|cell| cell.value.as_ref().map(value))
            .collect();
        let mut standings = Vec::new();
        for cell in touched_cells(self.library, table, way) {
            let standing = cell_standing(self.library, table, cell, way, date);
            if standing.way.len() > 1 {
                cells[cell] = standing.values.first().map(value);
                standings.push((cell, standing));
            }
        }
        let axes = known.axes.iter().map(|axis| self.axis(axis)).collect();
        let number = self.tables.len();
        self.table_numbers.insert(key, number);
        self.tables.push(TableInForce {
            table,
            axes,
            cells,
            standings,
        });
        number
    }

    fn axis(&self, axis: &typed::Axis) -> Axis {
        match axis {
            typed::Axis::Scale { scale, places } => Axis::Scale {
                places: *places,
                ordered: self.library.vocabulary.scale(*scale).ordered,
            },
            typed::Axis::UpTo { bounds, beyond, .. } => Axis::UpTo {
                bounds: bounds.iter().filter_map(number).collect(),
                beyond: *beyond,
            },
            typed::Axis::From { bounds, below, .. } => Axis::From {
                bounds: bounds.iter().filter_map(number).collect(),
                below: *below,
            },
        }
    }
}

/// The cells that some statement on a way speaks of.
pub(crate) fn touched_cells(
    library: &Library,
    table: TableId,
    way: &[typed::PlaceId],
) -> Vec<usize> {
    let mut found: Vec<usize> = way
        .iter()
        .flat_map(|place| &library.places[place.index()].statements)
        .filter_map(|statement| match &statement.action {
            typed::Action::AmendCells {
                table: target,
                cells,
                ..
            } if *target == table => Some(cells),
            _ => None,
        })
        .flatten()
        .copied()
        .collect();
    found.sort_unstable();
    found.dedup();
    found
}

fn value(constant: &Constant) -> Value {
    match constant {
        Constant::Number { value, .. } => Value::Number(Interval::point(*value)),
        Constant::Label { place, .. } => Value::Label(*place),
    }
}

fn number(constant: &Constant) -> Option<Rational> {
    match constant {
        Constant::Number { value, .. } => Some(*value),
        Constant::Label { .. } => None,
    }
}

fn compile_rule(
    library: &Library,
    survey: &Survey,
    values: &mut Values<'_>,
    standing: &RuleInForce,
) -> Rule {
    let written = &library.rules[standing.rule.index()];
    let mut writer = Writer {
        library,
        survey,
        values,
        standing,
        comparisons: Vec::new(),
        surveys: false,
        unset: None,
    };
    let mut head = Vec::new();
    let mut bound = 0;
    for clause in &written.head {
        head.push(match clause {
            HeadClause::Each { list, .. } => {
                bound += 1;
                Clause::Each(Given::at_depth(bound).list(*list))
            }
            HeadClause::When(condition) => {
                Clause::When(writer.node(condition, &Given::at_depth(bound)))
            }
        });
    }
    let given = Given::at_depth(bound);
    let demand = match &written.obligation {
        Obligation::Shall(condition) => Demand::Shall(writer.node(condition, &given)),
        Obligation::Should(condition) => Demand::Should(writer.node(condition, &given)),
        Obligation::Precaution(condition) => Demand::Precaution(writer.node(condition, &given)),
        Obligation::Refer(question) => Demand::Refer(question.clone()),
        Obligation::Record(RecordTarget::Fact(of, fact)) => {
            Demand::RecordFact(given.binding(*of), *fact)
        }
        Obligation::Record(RecordTarget::List(list)) => Demand::RecordList(given.list(*list)),
    };
    let (comparisons, surveys, unset) = (writer.comparisons, writer.surveys, writer.unset);
    let is_precaution = written.obligation.is_precaution();
    Rule {
        rule: standing.rule,
        standing: standing.clone(),
        permit: library.topics[written.topic.index()]
            .permit
            .filter(|_| !is_precaution),
        head,
        demand,
        decision: standing.decision,
        comparisons,
        surveys,
        unset,
    }
}

/// What names mean where an expression is written out: how many things are bound around a
/// define's body, and what its parameters are given.
struct Given {
    /// Added to the number of each local of the body.
    depth: u16,
    /// How many things are bound where the expression stands.
    bound: u16,
    arguments: Vec<Argument>,
}

impl Given {
    fn at_depth(bound: u16) -> Self {
        Given {
            depth: 0,
            bound,
            arguments: Vec::new(),
        }
    }

    fn binding(&self, binding: typed::Binding) -> Binding {
        match binding {
            typed::Binding::Site => Binding::Site,
            typed::Binding::Local(at) => Binding::Local(at + self.depth),
            typed::Binding::Parameter(at) => match &self.arguments[usize::from(at)] {
                Argument::Thing(binding) => *binding,
                Argument::Value(_) => {
                    unreachable!("the checker gives things to parameters that take things")
                }
            },
        }
    }

    fn list(&self, list: ListPath) -> List {
        List {
            of: self.binding(list.of),
            list: list.list,
            things: list.things,
        }
    }

    fn one_more(&self) -> Given {
        Given {
            depth: self.depth,
            bound: self.bound + 1,
            arguments: self.arguments.clone(),
        }
    }
}

struct Writer<'a, 'b> {
    library: &'a Library,
    survey: &'a Survey,
    values: &'a mut Values<'b>,
    standing: &'a RuleInForce,
    comparisons: Vec<Comparison>,
    surveys: bool,
    unset: Option<LimitId>,
}

impl Writer<'_, '_> {
    fn boxed(&mut self, expression: &typed::Expression, given: &Given) -> Box<Node> {
        Box::new(self.node(expression, given))
    }

    fn nodes(&mut self, expressions: &[typed::Expression], given: &Given) -> Vec<Node> {
        expressions
            .iter()
            .map(|expression| self.node(expression, given))
            .collect()
    }

    fn node(&mut self, expression: &typed::Expression, given: &Given) -> Node {
        let step = match &expression.kind {
            ExpressionKind::Constant(constant) => Step::Constant(value(constant), constant.clone()),
            ExpressionKind::Text(text) => Step::Text(text.clone()),
            ExpressionKind::Fact(of, fact) => Step::Fact(given.binding(*of), *fact),
            ExpressionKind::Id(of) => Step::Id(given.binding(*of)),
            ExpressionKind::Limit(limit) => {
                let number = self.values.limit(*limit, self.standing);
                if self.values.limits[number].values.is_empty() && self.unset.is_none() {
                    self.unset = Some(*limit);
                }
                Step::Limit(number)
            }
            ExpressionKind::Lookup(table, keys) => {
                let number = self.values.table(*table, self.standing);
                Step::Lookup(number, self.nodes(keys, given))
            }
            ExpressionKind::Define(define, arguments) => {
                let arguments = self.arguments(arguments, given);
                let inner = Given {
                    depth: given.bound,
                    bound: given.bound,
                    arguments,
                };
                let body = &self.library.defines[define.index()].body;
                Step::Define(*define, self.boxed(body, &inner))
            }
            ExpressionKind::Survey(at, arguments) => {
                let name = &self.library.vocabulary.surveys[*at].name;
                let function = self
                    .survey
                    .function(name)
                    .expect("a library is opened only where each declared function is computed");
                self.surveys = true;
                Step::Survey(function, self.arguments(arguments, given))
            }
            ExpressionKind::Parameter(at) => match &given.arguments[usize::from(*at)] {
                Argument::Value(node) => return node.clone(),
                Argument::Thing(binding) => Step::Id(*binding),
            },
            ExpressionKind::Negate(inner) => Step::Negate(self.boxed(inner, given)),
            ExpressionKind::Arithmetic(operator, left, right) => {
                Step::Arithmetic(*operator, self.boxed(left, given), self.boxed(right, given))
            }
            ExpressionKind::Power(base, exponent) => {
                Step::Power(self.boxed(base, given), *exponent)
            }
            ExpressionKind::Root(inner) => Step::Root(self.boxed(inner, given)),
            ExpressionKind::In(inner, unit) => Step::In(self.boxed(inner, given), unit.clone()),
            ExpressionKind::Compare(comparator, left, right) => {
                self.compare(*comparator, left, right, given)
            }
            ExpressionKind::OneOf(of, alternatives) => {
                let at = self.comparison(of, alternatives);
                Step::OneOf(at, self.boxed(of, given), self.nodes(alternatives, given))
            }
            ExpressionKind::Not(inner) => Step::Not(self.boxed(inner, given)),
            ExpressionKind::And(parts) => Step::And(self.nodes(parts, given)),
            ExpressionKind::Or(parts) => Step::Or(self.nodes(parts, given)),
            ExpressionKind::If(condition, then, otherwise) => Step::If(
                self.boxed(condition, given),
                self.boxed(then, given),
                self.boxed(otherwise, given),
            ),
            ExpressionKind::Every(each, inner) => {
                Step::Every(given.list(each.list), self.boxed(inner, &given.one_more()))
            }
            ExpressionKind::Some(each, inner) => {
                Step::Some(given.list(each.list), self.boxed(inner, &given.one_more()))
            }
            ExpressionKind::Count(each, inner) => Step::Count(
                given.list(each.list),
                inner
                    .as_ref()
                    .map(|inner| self.boxed(inner, &given.one_more())),
            ),
            ExpressionKind::Fold(fold, each, inner) => Step::Fold(
                *fold,
                given.list(each.list),
                self.boxed(inner, &given.one_more()),
            ),
            ExpressionKind::Lesser(left, right) => {
                Step::Lesser(self.boxed(left, given), self.boxed(right, given))
            }
            ExpressionKind::Greater(left, right) => {
                Step::Greater(self.boxed(left, given), self.boxed(right, given))
            }
        };
        Node {
            step,
            gives: expression.gives,
            span: expression.span,
        }
    }

    fn arguments(&mut self, arguments: &[typed::Argument], given: &Given) -> Vec<Argument> {
        arguments
            .iter()
            .map(|argument| match argument {
                typed::Argument::Thing(binding) => Argument::Thing(given.binding(*binding)),
                typed::Argument::Value(value) => Argument::Value(self.node(value, given)),
            })
            .collect()
    }

    fn compare(
        &mut self,
        comparator: Comparator,
        left: &typed::Expression,
        right: &typed::Expression,
        given: &Given,
    ) -> Step {
        let at = self.comparison(left, std::slice::from_ref(right));
        Step::Compare(
            at,
            comparator,
            self.boxed(left, given),
            self.boxed(right, given),
        )
    }

    /// Takes down what a report says of a comparison, and gives its number.
    fn comparison(&mut self, left: &typed::Expression, right: &[typed::Expression]) -> usize {
        let reads_left = self.reads_facts(left);
        let reads_right = right.iter().any(|side| self.reads_facts(side));
        let limit_side = if reads_right && !reads_left {
            LimitSide::Left
        } else {
            LimitSide::Right
        };
        let (limit, other): (Vec<&typed::Expression>, Vec<&typed::Expression>) = match limit_side {
            LimitSide::Left => (vec![left], right.iter().collect()),
            LimitSide::Right => (right.iter().collect(), vec![left]),
        };
        let unit = limit.iter().chain(&other).find_map(|side| self.unit(side));
        let mut citations = Vec::new();
        for side in std::iter::once(left).chain(right) {
            self.cited(side, &mut citations);
        }
        self.comparisons.push(Comparison {
            limit_side,
            unit,
            scale: match left.gives {
                Type::Label(scale) => Some(scale),
                Type::Quantity(_)
                | Type::Slope
                | Type::Point(_)
                | Type::YesNo
                | Type::Text
                | Type::Reference => None,
            },
            kind: left.gives,
            citations,
        });
        self.comparisons.len() - 1
    }

    fn reads_facts(&self, expression: &typed::Expression) -> bool {
        let mut reads = false;
        crate::check::every_part(self.library, expression, &mut |part| {
            // A table's keys say which limit holds; its value is the limit still.
            reads |= matches!(
                part.kind,
                ExpressionKind::Fact(..)
                    | ExpressionKind::Id(_)
                    | ExpressionKind::Survey(..)
                    | ExpressionKind::Count(..)
                    | ExpressionKind::Fold(..)
            );
        });
        reads && !matches!(expression.kind, ExpressionKind::Lookup(..))
    }

    /// The unit that the first limit, cell, constant or fact of an expression is written in, if
    /// it has the expression's own type.
    fn unit(&self, expression: &typed::Expression) -> Option<Unit> {
        let mut found = None;
        crate::check::every_part(self.library, expression, &mut |part| {
            if found.is_some() || !same_kind(part.gives, expression.gives) {
                return;
            }
            found = match &part.kind {
                ExpressionKind::Constant(Constant::Number { unit, .. }) => unit.clone(),
                ExpressionKind::Limit(limit) => self
                    .values
                    .limits
                    .iter()
                    .find(|known| known.limit == *limit)
                    .and_then(|known| known.standing.values.first())
                    .or(self.library.limits[limit.index()].values.first())
                    .and_then(written_unit),
                ExpressionKind::Lookup(table, _) => self.library.tables[table.index()]
                    .cells
                    .iter()
                    .find_map(|cell| cell.value.as_ref())
                    .and_then(written_unit),
                _ => None,
            };
        });
        found
    }

    fn cited(&self, expression: &typed::Expression, citations: &mut Vec<Citation>) {
        crate::check::every_part(self.library, expression, &mut |part| {
            let known = match &part.kind {
                ExpressionKind::Limit(limit) => &self.library.limits[limit.index()].citations,
                ExpressionKind::Lookup(table, _) => &self.library.tables[table.index()].citations,
                ExpressionKind::Define(define, _) => {
                    &self.library.defines[define.index()].citations
                }
                _ => return,
            };
            citations.extend(known.iter().cloned());
        });
    }
}

fn same_kind(a: Type, b: Type) -> bool {
    a == b
        || matches!(
            (a, b),
            (Type::Slope, Type::Quantity(_)) | (Type::Quantity(_), Type::Slope)
        )
}

fn written_unit(constant: &Constant) -> Option<Unit> {
    match constant {
        Constant::Number { unit, .. } => unit.clone(),
        Constant::Label { .. } => None,
    }
}

/// The standing of a table's cell: amended, or the model's own.
pub(crate) fn standing_of_cell(library: &Library, table: &TableInForce, cell: usize) -> Standing {
    if let Some((_, standing)) = table.standings.iter().find(|(known, _)| *known == cell) {
        return standing.clone();
    }
    cell_standing(library, table.table, cell, &[], Rational::ZERO)
}
