//! Expressions with their names bound and their dimensions known.

use super::Checker;
use super::constants::{constant, date, free_number};
use super::error::CheckError;
use super::names::{Declared, nearest};
use super::typed::{
    Argument, Binding, Constant, DefineId, Each, Expression, ExpressionKind, ListPath, Owner,
    ParameterKind, RecordTarget, TableId,
};
use crate::language::syntax::{
    self, Comparator, ExpressionKind as Written, Fold, Name, Operator, Path, Text,
};
use crate::quantity::{Dimension, Rational, Unit};
use crate::source::{Span, Spanned};
use crate::vocabulary::{Member, ParameterType, PointKind, SITE, ThingId, Type, Vocabulary};

/// The functions of the language itself.
const ROOT: &str = "root";

/// What names mean where an expression stands.
#[derive(Debug, Clone, Default)]
pub(super) struct Scope {
    /// Whose limits, tables and defines are known by name alone, the nearest first.
    pub owners: Vec<Owner>,
    /// The elements bound so far, the outermost first.
    pub locals: Vec<(String, ThingId)>,
    /// The parameters of the define.
    pub parameters: Vec<(String, ParameterKind)>,
    /// What a mistake kept from being bound: what is said of it is not a second one.
    pub unbound: Vec<String>,
}

impl Scope {
    fn binding(&self, name: &str) -> Option<(Binding, ThingId)> {
        let local = self.locals.iter().rposition(|(local, _)| local == name);
        if let Some(at) = local {
            return Some((Binding::Local(index(at)), self.locals[at].1));
        }
        let at = self.parameters.iter().position(|(known, _)| known == name);
        match at.map(|at| (at, &self.parameters[at].1)) {
            Some((at, ParameterKind::Thing(thing))) => {
                Some((Binding::Parameter(index(at)), *thing))
            }
            Some((_, ParameterKind::Value(_))) => None,
            None if name == "site" => Some((Binding::Site, SITE)),
            None => None,
        }
    }

    fn value_parameter(&self, name: &str) -> Option<(u16, Type)> {
        let at = self
            .parameters
            .iter()
            .position(|(known, _)| known == name)?;
        match self.parameters[at].1 {
            ParameterKind::Value(kind) => Some((index(at), kind)),
            ParameterKind::Thing(_) => None,
        }
    }
}

fn index(at: usize) -> u16 {
    u16::try_from(at).expect("fewer than 65536 names are in scope")
}

/// An expression, or nothing where a mistake was told.
type Typed = Option<Expression>;

impl Checker {
    /// An expression that is true or false.
    pub(super) fn condition(&mut self, scope: &mut Scope, written: &syntax::Expression) -> Typed {
        let typed = self.expression(scope, written, Some(Type::YesNo))?;
        if typed.gives == Type::YesNo {
            return Some(typed);
        }
        self.expected(
            "a condition",
            &typed,
            "compare it: `… is at least …`, `… is …`",
        );
        None
    }

    /// An expression of a type.
    pub(super) fn of_type(
        &mut self,
        scope: &mut Scope,
        written: &syntax::Expression,
        kind: Type,
    ) -> Typed {
        let typed = self.expression(scope, written, Some(kind))?;
        if agree(typed.gives, kind) {
            return Some(typed);
        }
        let expected = self.vocabulary().type_name(kind);
        let help = format!("{expected} is due here");
        self.expected(&expected, &typed, &help);
        None
    }

    fn expected(&mut self, expected: &str, found: &Expression, help: &str) {
        let error = CheckError::Expected {
            expected: expected.to_owned(),
            found: self.vocabulary().type_name(found.gives),
            at: found.span,
            help: help.to_owned(),
        };
        self.tell(error, found.span);
    }

    /// An expression; what is expected decides how a bare label or number is read.
    fn expression(
        &mut self,
        scope: &mut Scope,
        written: &syntax::Expression,
        expected: Option<Type>,
    ) -> Typed {
        let span = written.span;
        let (kind, gives) = match &written.kind {
            Written::Quantity(text) => return self.quantity(text, span, expected),
            Written::Text(text) => (ExpressionKind::Text(text.clone()), Type::Text),
            Written::Date(text) => {
                let text = Spanned::new(text.clone(), span);
                let value = self.told(date(&text), span)?.value;
                let constant = Constant::Number {
                    value,
                    unit: None,
                    written: text.value,
                };
                let gives = Type::Point(PointKind::Date);
                (ExpressionKind::Constant(constant), gives)
            }
            Written::Path(path) => return self.path(scope, path, expected),
            Written::Call {
                function,
                arguments,
            } => return self.call(scope, function, arguments, span),
            Written::Negate(value) => {
                let value = self.quantity_valued(scope, value, expected)?;
                let gives = value.gives;
                (ExpressionKind::Negate(Box::new(value)), gives)
            }
            Written::Arithmetic {
                operator,
                left,
                right,
            } => return self.arithmetic(scope, *operator, left, right, span),
            Written::Power { base, exponent } => return self.power(scope, base, exponent, span),
            Written::In { value, unit } => return self.in_unit(scope, value, unit, span),
            Written::Compare {
                comparator,
                left,
                right,
            } => return self.compare(scope, *comparator, left, right, span),
            Written::OneOf {
                value,
                alternatives,
            } => {
                let value = self.expression(scope, value, None)?;
                let alternatives = alternatives
                    .iter()
                    .map(|alternative| self.of_type(scope, alternative, value.gives))
                    .collect::<Vec<_>>();
                let alternatives = alternatives.into_iter().collect::<Option<Vec<_>>>()?;
                let kind = ExpressionKind::OneOf(Box::new(value), alternatives);
                (kind, Type::YesNo)
            }
            Written::Not(inner) => {
                let inner = self.condition(scope, inner)?;
                (ExpressionKind::Not(Box::new(inner)), Type::YesNo)
            }
            Written::And(parts) => {
                let parts = self.conditions(scope, parts)?;
                (ExpressionKind::And(parts), Type::YesNo)
            }
            Written::Or(parts) => {
                let parts = self.conditions(scope, parts)?;
                (ExpressionKind::Or(parts), Type::YesNo)
            }
            Written::If {
                condition,
                then,
                otherwise,
            } => {
                let condition = self.condition(scope, condition);
                let (then, otherwise) =
                    self.pair(scope, then, otherwise, expected, "choose between")?;
                let gives = joined(then.gives, otherwise.gives);
                let kind =
                    ExpressionKind::If(Box::new(condition?), Box::new(then), Box::new(otherwise));
                (kind, gives)
            }
            Written::Every {
                name,
                list,
                condition,
            } => {
                let (each, condition) = self.quantified(scope, name, list, condition)?;
                let kind = ExpressionKind::Every(each, Box::new(condition));
                (kind, Type::YesNo)
            }
            Written::Some {
                name,
                list,
                condition,
            } => {
                let (each, condition) = self.quantified(scope, name, list, condition)?;
                (ExpressionKind::Some(each, Box::new(condition)), Type::YesNo)
            }
            Written::Count {
                name,
                list,
                condition,
            } => {
                let each = self.bind(scope, name, list)?;
                let condition = match condition {
                    None => Some(None),
                    Some(condition) => self.condition(scope, condition).map(Some),
                };
                scope.locals.pop();
                let condition = condition?.map(Box::new);
                let gives = Type::Quantity(Dimension::NUMBER);
                (ExpressionKind::Count(each, condition), gives)
            }
            Written::Fold {
                fold,
                value,
                name,
                list,
            } => return self.fold(scope, *fold, value, name, list, span),
            Written::Lesser(left, right) => {
                let (left, right) = self.ordered_pair(scope, left, right, expected)?;
                let gives = joined(left.gives, right.gives);
                let kind = ExpressionKind::Lesser(Box::new(left), Box::new(right));
                (kind, gives)
            }
            Written::Greater(left, right) => {
                let (left, right) = self.ordered_pair(scope, left, right, expected)?;
                let gives = joined(left.gives, right.gives);
                let kind = ExpressionKind::Greater(Box::new(left), Box::new(right));
                (kind, gives)
            }
        };
        Some(Expression { kind, gives, span })
    }

    fn conditions(
        &mut self,
        scope: &mut Scope,
        parts: &[syntax::Expression],
    ) -> Option<Vec<Expression>> {
        let parts: Vec<_> = parts
            .iter()
            .map(|part| self.condition(scope, part))
            .collect();
        parts.into_iter().collect()
    }

    fn quantity(&mut self, text: &str, span: Span, expected: Option<Type>) -> Typed {
        let text = Spanned::new(text.to_owned(), span);
        let typed = match expected {
            Some(kind @ (Type::Label(_) | Type::Slope | Type::Point(PointKind::Temperature))) => {
                constant(self.vocabulary(), &text, kind).map(|constant| (constant, kind))
            }
            Some(kind @ Type::Quantity(dimension)) if dimension != Dimension::NUMBER => {
                bare_only(self.vocabulary(), &text, kind)
            }
            Some(kind @ Type::Point(PointKind::Chainage)) => {
                constant(self.vocabulary(), &text, kind).map(|constant| (constant, kind))
            }
            Some(
                Type::Quantity(_) | Type::Point(_) | Type::YesNo | Type::Text | Type::Reference,
            )
            | None => free_number(&text),
        };
        let (constant, gives) = self.told(typed, span)?;
        Some(Expression {
            kind: ExpressionKind::Constant(constant),
            gives,
            span,
        })
    }

    fn path(&mut self, scope: &Scope, path: &Path, expected: Option<Type>) -> Typed {
        match path.parts.as_slice() {
            [first, ..] if scope.unbound.contains(&first.value) => None,
            [name] => self.single_name(scope, name, expected),
            [thing, member] if scope.binding(&thing.value).is_some() => {
                self.fact(scope, thing, member, path.span)
            }
            [topic, name] => self.of_topic(topic, name, path.span),
            _ => {
                self.unknown_name(joined_path(path), path.span, "`thing.fact` or `topic.limit`", "a fact is reached from a thing that is bound by `each`, `every`, `some` or `for`");
                None
            }
        }
    }

    fn single_name(&mut self, scope: &Scope, name: &Name, expected: Option<Type>) -> Typed {
        if let Some((parameter, gives)) = scope.value_parameter(&name.value) {
            return Some(Expression {
                kind: ExpressionKind::Parameter(parameter),
                gives,
                span: name.span,
            });
        }
        if let Some(Type::Label(_)) = expected {
            return self.label_or_limit(scope, name, expected?);
        }
        match self.names.find(&scope.owners, &name.value) {
            Some(declared) => self.declared_value(declared, name, name.span),
            None => {
                self.unknown_value(scope, name, expected);
                None
            }
        }
    }

    /// Where a label is due, a label; or a limit, parameter of that type.
    fn label_or_limit(&mut self, scope: &Scope, name: &Name, expected: Type) -> Typed {
        let read = constant(self.vocabulary(), name, expected);
        let kind = match (read, self.names.find(&scope.owners, &name.value)) {
            (Ok(constant), _) => ExpressionKind::Constant(constant),
            (Err(_), Some(declared)) => return self.declared_value(declared, name, name.span),
            (Err(error), None) => {
                self.tell(error, name.span);
                return None;
            }
        };
        Some(Expression {
            kind,
            gives: expected,
            span: name.span,
        })
    }

    fn declared_value(&mut self, declared: Declared, name: &Name, span: Span) -> Typed {
        match declared {
            Declared::Limit(limit) => {
                self.used.limits.insert(limit);
                Some(Expression {
                    kind: ExpressionKind::Limit(limit),
                    gives: self.library.limits[limit.index()].kind,
                    span,
                })
            }
            Declared::Table(_) | Declared::Define(_) | Declared::Rule(_) => {
                let (found, help) = match declared {
                    Declared::Table(_) => ("a table", "give it its keys: `name(…)`"),
                    Declared::Define(_) => ("a define", "give it its arguments: `name(…)`"),
                    Declared::Limit(_) | Declared::Rule(_) => {
                        ("a rule", "a rule has a verdict and no value")
                    }
                };
                let error = CheckError::Expected {
                    expected: "a value".into(),
                    found: format!("{found}, `{}`", name.value),
                    at: span,
                    help: help.into(),
                };
                self.tell(error, span);
                None
            }
        }
    }

    fn unknown_value(&mut self, scope: &Scope, name: &Name, expected: Option<Type>) {
        if let Some((_, thing)) = scope.binding(&name.value) {
            let thing = self.vocabulary().thing(thing);
            let facts = thing.facts.iter().map(|fact| fact.name.as_str());
            let error = CheckError::Expected {
                expected: "a value".into(),
                found: format!("a thing, {}", thing.name),
                at: name.span,
                help: format!(
                    "say which of its facts: `{}.{}`",
                    name.value,
                    facts.clone().next().unwrap_or("id")
                ),
            };
            self.tell(error, name.span);
            return;
        }
        let locals = scope.locals.iter().map(|(local, _)| local.as_str());
        let parameters = scope.parameters.iter().map(|(known, _)| known.as_str());
        let known: Vec<&str> = self
            .names
            .of_owners(&scope.owners)
            .chain(locals)
            .chain(parameters)
            .collect();
        self.unknown_name(
            &name.value,
            name.span,
            match expected {
                Some(Type::YesNo) => "a condition",
                Some(_) | None => "a limit, a parameter or `thing.fact`",
            },
            nearest(&name.value, known),
        );
    }

    fn of_topic(&mut self, topic: &Name, name: &Name, span: Span) -> Typed {
        let declared = self.declared_in(topic, name, span)?;
        self.declared_value(declared, name, span)
    }

    fn declared_in(&mut self, topic: &Name, name: &Name, span: Span) -> Option<Declared> {
        let Some((id, _)) = self.names.topics.get(&topic.value).copied() else {
            let mut known: Vec<&str> = self.names.topics.keys().map(String::as_str).collect();
            known.push("site");
            self.unknown_name(
                &topic.value,
                topic.span,
                "a thing that is bound here, `site` or a topic",
                nearest(&topic.value, known),
            );
            return None;
        };
        let owners = [Owner::Topic(id)];
        let found = self.names.find(&owners, &name.value);
        if found.is_none() {
            self.unknown_name(
                format!("{}.{}", topic.value, name.value),
                span,
                format!("a name of topic {}", topic.value),
                nearest(&name.value, self.names.of_owners(&owners)),
            );
        }
        found
    }

    fn fact(&mut self, scope: &Scope, thing: &Name, member: &Name, span: Span) -> Typed {
        let (binding, thing) = scope.binding(&thing.value)?;
        if member.value == "id" {
            return Some(Expression {
                kind: ExpressionKind::Id(binding),
                gives: Type::Reference,
                span,
            });
        }
        let known = self.vocabulary().thing(thing);
        match known.members.get(&member.value) {
            Some(Member::Fact(fact)) => Some(Expression {
                kind: ExpressionKind::Fact(binding, *fact),
                gives: known.fact(*fact).kind,
                span,
            }),
            Some(Member::List(_)) => {
                let error = CheckError::Expected {
                    expected: "a value".into(),
                    found: format!("a list, `{}`", member.value),
                    at: span,
                    help: format!(
                        "ask of its elements: `every x in {0}.{1} has …`, `count of x in {0}.{1} where …`",
                        known.name, member.value
                    ),
                };
                self.tell(error, span);
                None
            }
            None => {
                let error = self.unknown_fact(thing, member);
                self.tell(error, member.span);
                None
            }
        }
    }

    fn unknown_fact(&self, thing: ThingId, member: &Name) -> CheckError {
        let known = self.vocabulary().thing(thing);
        CheckError::UnknownFact {
            thing: known.name.clone(),
            name: member.value.clone(),
            at: member.span,
            help: nearest(&member.value, known.members.names()),
        }
    }

    /// A list: one of the site's by its name alone, or `thing.list`.
    pub(super) fn list(&mut self, scope: &Scope, path: &Path) -> Option<ListPath> {
        let (of, thing, name) = match path.parts.as_slice() {
            [name] => (Binding::Site, SITE, name),
            [owner, name] => match scope.binding(&owner.value) {
                Some((binding, thing)) => (binding, thing, name),
                None if scope.unbound.contains(&owner.value) => return None,
                None => {
                    let known = scope.locals.iter().map(|(local, _)| local.as_str());
                    self.unknown_name(
                        &owner.value,
                        owner.span,
                        "a thing that is bound here",
                        nearest(&owner.value, known.chain(["site"])),
                    );
                    return None;
                }
            },
            _ => {
                self.unknown_name(
                    joined_path(path),
                    path.span,
                    "`list` or `thing.list`",
                    "bind the thing with `each` first, then go through its list",
                );
                return None;
            }
        };
        let known = self.vocabulary().thing(thing);
        match known.list_named(&name.value) {
            Some(list) => Some(ListPath {
                of,
                list,
                things: known.list(list).of,
            }),
            None => {
                self.unknown_name(
                    &name.value,
                    name.span,
                    format!("a list of {}", known.name),
                    nearest(
                        &name.value,
                        known.lists.iter().map(|list| list.name.as_str()),
                    ),
                );
                None
            }
        }
    }

    /// What `shall record` asks for.
    pub(super) fn record_target(&mut self, scope: &Scope, path: &Path) -> Option<RecordTarget> {
        if let [owner, member] = path.parts.as_slice()
            && let Some((binding, thing)) = scope.binding(&owner.value)
        {
            let known = self.vocabulary().thing(thing);
            return match known.members.get(&member.value) {
                Some(Member::Fact(fact)) => Some(RecordTarget::Fact(binding, *fact)),
                Some(Member::List(list)) => Some(RecordTarget::List(ListPath {
                    of: binding,
                    list: *list,
                    things: known.list(*list).of,
                })),
                None => {
                    let error = self.unknown_fact(thing, member);
                    self.tell(error, member.span);
                    None
                }
            };
        }
        self.list(scope, path).map(RecordTarget::List)
    }

    pub(super) fn bind(&mut self, scope: &mut Scope, name: &Name, list: &Path) -> Option<Each> {
        let Some(list) = self.list(scope, list) else {
            scope.unbound.push(name.value.clone());
            return None;
        };
        if scope.binding(&name.value).is_some() || scope.value_parameter(&name.value).is_some() {
            let error = CheckError::DeclaredTwice {
                name: name.value.clone(),
                at: name.span,
                first: None,
                elsewhere: ": it is bound already where this stands".into(),
            };
            self.tell(error, name.span);
            return None;
        }
        let local = index(scope.locals.len());
        scope.locals.push((name.value.clone(), list.things));
        Some(Each {
            name: name.value.clone(),
            list,
            local,
        })
    }

    fn quantified(
        &mut self,
        scope: &mut Scope,
        name: &Name,
        list: &Path,
        condition: &syntax::Expression,
    ) -> Option<(Each, Expression)> {
        let each = self.bind(scope, name, list)?;
        let condition = self.condition(scope, condition);
        scope.locals.pop();
        Some((each, condition?))
    }

    fn fold(
        &mut self,
        scope: &mut Scope,
        fold: Fold,
        value: &syntax::Expression,
        name: &Name,
        list: &Path,
        span: Span,
    ) -> Typed {
        let each = self.bind(scope, name, list)?;
        let value = self.expression(scope, value, None);
        scope.locals.pop();
        let value = value?;
        let fits = match fold {
            Fold::Total => is_quantity(value.gives),
            Fold::Least | Fold::Greatest => is_quantity(value.gives) || is_point(value.gives),
        };
        if !fits {
            self.expected(
                "a quantity",
                &value,
                "only what can be measured has a least, a greatest or a total",
            );
            return None;
        }
        let gives = value.gives;
        Some(Expression {
            kind: ExpressionKind::Fold(fold, each, Box::new(value)),
            gives,
            span,
        })
    }

    fn call(
        &mut self,
        scope: &mut Scope,
        function: &Path,
        arguments: &[syntax::Expression],
        span: Span,
    ) -> Typed {
        let (name, declared) = match function.parts.as_slice() {
            [name] => (name, self.names.find(&scope.owners, &name.value)),
            [topic, name] => (name, Some(self.declared_in(topic, name, function.span)?)),
            _ => {
                let last = function.parts.last()?;
                (last, None)
            }
        };
        match declared {
            Some(Declared::Table(table)) => self.lookup(scope, table, arguments, span),
            Some(Declared::Define(define)) => self.use_define(scope, define, arguments, span),
            Some(Declared::Limit(_) | Declared::Rule(_)) => {
                let error = CheckError::Expected {
                    expected: "a table, a define or a survey function".into(),
                    found: format!("`{}`, which takes nothing", name.value),
                    at: function.span,
                    help: "leave the parentheses out".into(),
                };
                self.tell(error, function.span);
                None
            }
            None if name.value == ROOT => self.root(scope, arguments, span),
            None => self.survey(scope, name, arguments, span),
        }
    }

    fn root(&mut self, scope: &mut Scope, arguments: &[syntax::Expression], span: Span) -> Typed {
        let [argument] = arguments else {
            self.argument_count(ROOT, 1, arguments.len(), "a quantity", span);
            return None;
        };
        let value = self.expression(scope, argument, None)?;
        let half = Rational::new(1, 2).expect("two isn't zero");
        let dimension = dimension_of(value.gives).and_then(|dimension| dimension.power(half));
        let Some(dimension) = dimension else {
            let error = CheckError::Power {
                base: self.vocabulary().type_name(value.gives),
                exponent: "1/2".into(),
                at: value.span,
            };
            self.tell(error, span);
            return None;
        };
        Some(Expression {
            kind: ExpressionKind::Root(Box::new(value)),
            gives: Type::Quantity(dimension),
            span,
        })
    }

    fn lookup(
        &mut self,
        scope: &mut Scope,
        table: TableId,
        arguments: &[syntax::Expression],
        span: Span,
    ) -> Typed {
        self.used.tables.insert(table);
        let known = &self.library.tables[table.index()];
        let kinds: Vec<Type> = known.axes.iter().map(super::typed::Axis::kind).collect();
        let gives = known.gives;
        if kinds.len() != arguments.len() {
            let (name, parameters) = (known.name.clone(), known.parameters.join(", "));
            self.argument_count(&name, kinds.len(), arguments.len(), &parameters, span);
            return None;
        }
        let keys: Vec<_> = arguments
            .iter()
            .zip(kinds)
            .map(|(argument, kind)| self.of_type(scope, argument, kind))
            .collect();
        let keys = keys.into_iter().collect::<Option<Vec<_>>>()?;
        Some(Expression {
            kind: ExpressionKind::Lookup(table, keys),
            gives,
            span,
        })
    }

    fn use_define(
        &mut self,
        scope: &mut Scope,
        define: DefineId,
        arguments: &[syntax::Expression],
        span: Span,
    ) -> Typed {
        self.used.defines.insert(define);
        let known = &self.signatures[define.index()];
        let (kinds, gives) = (known.parameters.clone(), known.gives);
        if kinds.len() != arguments.len() {
            let name = known.name.clone();
            let parameters: Vec<_> = kinds.iter().map(|(name, _)| name.as_str()).collect();
            let parameters = parameters.join(", ");
            self.argument_count(&name, kinds.len(), arguments.len(), &parameters, span);
            return None;
        }
        let arguments: Vec<_> = arguments
            .iter()
            .zip(kinds)
            .map(|(argument, (_, kind))| match kind {
                ParameterKind::Value(kind) => {
                    self.of_type(scope, argument, kind).map(Argument::Value)
                }
                ParameterKind::Thing(thing) => self
                    .thing_argument(scope, argument, &[thing])
                    .map(Argument::Thing),
            })
            .collect();
        let arguments = arguments.into_iter().collect::<Option<Vec<_>>>()?;
        Some(Expression {
            kind: ExpressionKind::Define(define, arguments),
            gives,
            span,
        })
    }

    fn survey(
        &mut self,
        scope: &mut Scope,
        name: &Name,
        arguments: &[syntax::Expression],
        span: Span,
    ) -> Typed {
        let surveys = &self.vocabulary().surveys;
        let Some(at) = surveys.iter().position(|survey| survey.name == name.value) else {
            let known: Vec<&str> = surveys
                .iter()
                .map(|survey| survey.name.as_str())
                .chain(self.names.of_owners(&scope.owners))
                .chain([ROOT])
                .collect();
            self.unknown_name(
                &name.value,
                name.span,
                "a table, a define or a survey function",
                nearest(&name.value, known),
            );
            return None;
        };
        let survey = surveys[at].clone();
        if survey.parameters.len() != arguments.len() {
            let names: Vec<_> = survey.parameters.iter().map(|p| p.name.as_str()).collect();
            let names = names.join(", ");
            self.argument_count(
                &survey.name,
                survey.parameters.len(),
                arguments.len(),
                &names,
                span,
            );
            return None;
        }
        let arguments: Vec<_> = arguments
            .iter()
            .zip(&survey.parameters)
            .map(|(argument, parameter)| match &parameter.kind {
                ParameterType::Value(kind) => {
                    self.of_type(scope, argument, *kind).map(Argument::Value)
                }
                ParameterType::Things(things) => self
                    .thing_argument(scope, argument, things)
                    .map(Argument::Thing),
            })
            .collect();
        let arguments = arguments.into_iter().collect::<Option<Vec<_>>>()?;
        Some(Expression {
            kind: ExpressionKind::Survey(at, arguments),
            gives: survey.gives,
            span,
        })
    }

    fn thing_argument(
        &mut self,
        scope: &Scope,
        written: &syntax::Expression,
        things: &[ThingId],
    ) -> Option<Binding> {
        let bound = match &written.kind {
            Written::Path(path) if path.parts.len() == 1 => scope.binding(&path.parts[0].value),
            Written::Path(path)
                if path
                    .parts
                    .first()
                    .is_some_and(|first| scope.unbound.contains(&first.value)) =>
            {
                return None;
            }
            _ => None,
        };
        let names: Vec<&str> = things
            .iter()
            .map(|thing| self.vocabulary().thing(*thing).name.as_str())
            .collect();
        let expected = names.join(" or ");
        let found = match bound {
            Some((binding, thing)) if things.contains(&thing) => return Some(binding),
            Some((_, thing)) => self.vocabulary().thing(thing).name.clone(),
            None => "something that is no thing bound here".into(),
        };
        let error = CheckError::Expected {
            expected,
            found,
            at: written.span,
            help: "name a thing that `each`, `every`, `some` or `for` binds".into(),
        };
        self.tell(error, written.span);
        None
    }

    fn argument_count(
        &mut self,
        name: &str,
        expected: usize,
        found: usize,
        parameters: &str,
        at: Span,
    ) {
        let error = CheckError::ArgumentCount {
            name: name.to_owned(),
            expected,
            found,
            parameters: parameters.to_owned(),
            at,
        };
        self.tell(error, at);
    }

    fn quantity_valued(
        &mut self,
        scope: &mut Scope,
        written: &syntax::Expression,
        expected: Option<Type>,
    ) -> Typed {
        let value = self.expression(scope, written, expected)?;
        if is_quantity(value.gives) {
            return Some(value);
        }
        self.expected("a quantity", &value, "only quantities can be reckoned with");
        None
    }

    fn arithmetic(
        &mut self,
        scope: &mut Scope,
        operator: Operator,
        left: &syntax::Expression,
        right: &syntax::Expression,
        span: Span,
    ) -> Typed {
        let left = self.expression(scope, left, None);
        let right = self.expression(scope, right, None);
        let (left, right) = (left?, right?);
        let gives = match operator {
            Operator::Add => self.sum(&left, &right)?,
            Operator::Subtract => self.difference(&left, &right)?,
            Operator::Multiply | Operator::Divide => self.product(operator, &left, &right)?,
        };
        let kind = ExpressionKind::Arithmetic(operator, Box::new(left), Box::new(right));
        Some(Expression { kind, gives, span })
    }

    fn sum(&mut self, left: &Expression, right: &Expression) -> Option<Type> {
        match (left.gives, right.gives) {
            (Type::Point(a), Type::Point(b)) if a == b => {
                let error = CheckError::SumOfPoints {
                    kind: a.name().replace('_', " "),
                    difference: format!("a {}", a.difference()),
                    left_at: left.span,
                    right_at: right.span,
                };
                self.tell(error, left.span);
                None
            }
            (Type::Point(point), other) | (other, Type::Point(point))
                if dimension_of(other) == Some(point.difference()) =>
            {
                Some(Type::Point(point))
            }
            (a, b) if agree(a, b) && is_quantity(a) => Some(joined(a, b)),
            _ => {
                self.mismatch("add", left, right);
                None
            }
        }
    }

    fn difference(&mut self, left: &Expression, right: &Expression) -> Option<Type> {
        match (left.gives, right.gives) {
            (Type::Point(a), Type::Point(b)) if a == b => Some(Type::Quantity(a.difference())),
            (Type::Point(point), other) if dimension_of(other) == Some(point.difference()) => {
                Some(Type::Point(point))
            }
            (a, b) if agree(a, b) && is_quantity(a) => Some(joined(a, b)),
            _ => {
                self.mismatch("subtract", left, right);
                None
            }
        }
    }

    fn product(
        &mut self,
        operator: Operator,
        left: &Expression,
        right: &Expression,
    ) -> Option<Type> {
        let dimensions = (dimension_of(left.gives), dimension_of(right.gives));
        let combined = match (dimensions, operator) {
            ((Some(a), Some(b)), Operator::Divide) => Some(a.divide(b)),
            ((Some(a), Some(b)), _) => Some(a.multiply(b)),
            _ => None,
        };
        match combined {
            Some(dimension) => Some(Type::Quantity(dimension)),
            None => {
                let verb = match operator {
                    Operator::Divide => "divide",
                    Operator::Add | Operator::Subtract | Operator::Multiply => "multiply",
                };
                self.mismatch(verb, left, right);
                None
            }
        }
    }

    fn power(
        &mut self,
        scope: &mut Scope,
        base: &syntax::Expression,
        exponent: &Text,
        span: Span,
    ) -> Typed {
        let base = self.quantity_valued(scope, base, None)?;
        let (number, _) = self.told(free_number(exponent), exponent.span)?;
        let Constant::Number { value, .. } = number else {
            return None;
        };
        let dimension = dimension_of(base.gives)
            .filter(|dimension| *dimension == Dimension::NUMBER || value.as_integer().is_some());
        let Some(dimension) = dimension.and_then(|dimension| dimension.power(value)) else {
            let error = CheckError::Power {
                base: self.vocabulary().type_name(base.gives),
                exponent: exponent.value.clone(),
                at: base.span,
            };
            self.tell(error, span);
            return None;
        };
        Some(Expression {
            kind: ExpressionKind::Power(Box::new(base), value),
            gives: Type::Quantity(dimension),
            span,
        })
    }

    fn in_unit(
        &mut self,
        scope: &mut Scope,
        value: &syntax::Expression,
        unit: &Text,
        span: Span,
    ) -> Typed {
        let value = self.expression(scope, value, None)?;
        let read = Unit::parse(&unit.value).map_err(|error| CheckError::UnknownUnit {
            name: unit.value.clone(),
            at: unit.span,
            help: error.mend,
        });
        let unit = self.told(read, unit.span)?;
        if dimension_of(value.gives) != Some(unit.dimension) {
            let error = CheckError::DimensionMismatch {
                verb: "convert between",
                left: self.vocabulary().type_name(value.gives),
                left_at: value.span,
                right: unit.dimension.to_string(),
                right_at: span,
                help: "`x in UNIT` counts the units in a quantity of the same dimension".into(),
            };
            self.tell(error, span);
            return None;
        }
        Some(Expression {
            kind: ExpressionKind::In(Box::new(value), unit),
            gives: Type::Quantity(Dimension::NUMBER),
            span,
        })
    }

    fn compare(
        &mut self,
        scope: &mut Scope,
        comparator: Comparator,
        left: &syntax::Expression,
        right: &syntax::Expression,
        span: Span,
    ) -> Typed {
        let (left, right) = self.pair(scope, left, right, None, "compare")?;
        let fits = match comparator {
            Comparator::Is => true,
            Comparator::AtLeast
            | Comparator::AtMost
            | Comparator::MoreThan
            | Comparator::LessThan => self.vocabulary().is_ordered(left.gives),
        };
        if !fits {
            self.expected(
                "something that has an order",
                &left,
                "labels of a choice, texts and yes or no are compared with `is`",
            );
            return None;
        }
        Some(Expression {
            kind: ExpressionKind::Compare(comparator, Box::new(left), Box::new(right)),
            gives: Type::YesNo,
            span,
        })
    }

    fn ordered_pair(
        &mut self,
        scope: &mut Scope,
        left: &syntax::Expression,
        right: &syntax::Expression,
        expected: Option<Type>,
    ) -> Option<(Expression, Expression)> {
        let expected = expected.filter(|kind| *kind != Type::YesNo);
        let (left, right) = self.pair(scope, left, right, expected, "order")?;
        if self.vocabulary().is_ordered(left.gives) {
            return Some((left, right));
        }
        self.expected(
            "something that has an order",
            &left,
            "only quantities, points and sizes have a lesser and a greater",
        );
        None
    }

    /// Two expressions of one type; the one that says its type itself tells the other.
    fn pair(
        &mut self,
        scope: &mut Scope,
        left: &syntax::Expression,
        right: &syntax::Expression,
        expected: Option<Type>,
        verb: &'static str,
    ) -> Option<(Expression, Expression)> {
        let (left, right) = if expected.is_none() && self.waits_for_a_type(scope, left) {
            let right = self.expression(scope, right, None)?;
            let left = self.expression(scope, left, Some(right.gives))?;
            (left, right)
        } else {
            let left = self.expression(scope, left, expected)?;
            let right = self.expression(scope, right, Some(left.gives))?;
            (left, right)
        };
        if agree(left.gives, right.gives) {
            return Some((left, right));
        }
        self.mismatch(verb, &left, &right);
        None
    }

    /// Whether it is a bare label or number: what stands opposite says how to read it.
    fn waits_for_a_type(&self, scope: &Scope, written: &syntax::Expression) -> bool {
        match &written.kind {
            Written::Quantity(_) => true,
            Written::Path(path) => match path.parts.as_slice() {
                [name] => {
                    scope.value_parameter(&name.value).is_none()
                        && self.names.find(&scope.owners, &name.value).is_none()
                }
                _ => false,
            },
            _ => false,
        }
    }

    fn mismatch(&mut self, verb: &'static str, left: &Expression, right: &Expression) {
        let vocabulary = self.vocabulary();
        let error = CheckError::DimensionMismatch {
            verb,
            left: vocabulary.type_name(left.gives),
            left_at: left.span,
            right: vocabulary.type_name(right.gives),
            right_at: right.span,
            help: mismatch_help(verb, left.gives, right.gives, vocabulary),
        };
        self.tell(error, left.span);
    }
}

fn mismatch_help(verb: &str, left: Type, right: Type, vocabulary: &Vocabulary) -> String {
    match (left, right) {
        (Type::Label(scale), Type::Quantity(_)) | (Type::Quantity(_), Type::Label(scale))
            if !vocabulary.scale(scale).ordered =>
        {
            format!(
                "{0} is a choice and has no measure; compare it with one of its labels: `… is …`",
                vocabulary.scale(scale).name
            )
        }
        (Type::Label(scale), Type::Quantity(_)) | (Type::Quantity(_), Type::Label(scale)) => {
            format!(
                "{} is a label and never a length; a table keyed by it gives a real dimension",
                vocabulary.scale(scale).name
            )
        }
        (Type::Point(a), Type::Point(b)) if a != b => {
            "the two are above different datums: bring one to the other first".into()
        }
        (Type::Point(point), _) | (_, Type::Point(point)) if verb == "compare" => format!(
            "a literal {0} can't be written: compare it with another {0}, or a difference with a {1}",
            point.name(),
            point.difference()
        ),
        _ => format!("both sides of what you {verb} measure the same thing"),
    }
}

/// Where a dimension is known already, only the mistakes of a bare number are worth its own word;
/// other dimensions are told with both sides by whoever compares them.
fn bare_only(
    vocabulary: &Vocabulary,
    text: &Text,
    kind: Type,
) -> Result<(Constant, Type), CheckError> {
    match constant(vocabulary, text, kind) {
        Ok(constant) => Ok((constant, kind)),
        Err(error @ CheckError::BareNumber { .. }) => Err(error),
        Err(_) => free_number(text),
    }
}

/// Whether values of two types can stand against each other.
pub(super) fn agree(left: Type, right: Type) -> bool {
    left == right
        || matches!((dimension_of(left), dimension_of(right)), (Some(a), Some(b)) if a == b)
        || matches!(
            (left, right),
            (Type::Text, Type::Reference) | (Type::Reference, Type::Text)
        )
}

fn joined(left: Type, right: Type) -> Type {
    if left == Type::Slope && right == Type::Slope {
        Type::Slope
    } else if left == Type::Slope {
        right
    } else {
        left
    }
}

fn dimension_of(kind: Type) -> Option<Dimension> {
    match kind {
        Type::Quantity(dimension) => Some(dimension),
        Type::Slope => Some(Dimension::NUMBER),
        Type::Point(_) | Type::YesNo | Type::Text | Type::Reference | Type::Label(_) => None,
    }
}

fn is_quantity(kind: Type) -> bool {
    dimension_of(kind).is_some()
}

fn is_point(kind: Type) -> bool {
    matches!(kind, Type::Point(_))
}

/// A path as it is written.
pub(super) fn joined_path(path: &Path) -> String {
    let parts: Vec<&str> = path.parts.iter().map(|part| part.value.as_str()).collect();
    parts.join(".")
}
