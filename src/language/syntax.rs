//! The tree as written: every node with its span, nothing bound, nothing checked.
//!
//! Quantities and labels keep their text. Whether `4 in` is a length or a size is known only
//! where it is used, so `check` reads them.

use crate::source::{Span, Spanned};

/// A name as written.
pub type Name = Spanned<String>;
/// A text between quotes, without them.
pub type Text = Spanned<String>;
/// A name with dots, `topic.rule` or `span.cover`: one or more parts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Path {
    /// The parts, at least one.
    pub parts: Vec<Name>,
    /// From the first part to the last.
    pub span: Span,
}

/// A file of vocabulary, sources, rules or a place: its items in order.
#[derive(Debug, Clone, PartialEq)]
pub struct File {
    /// The items, in order.
    pub items: Vec<Item>,
}

/// What stands at the left margin.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// `holds { … }`, in order.
    Holds(Labels),
    /// `permits { … }`.
    Permits(Labels),
    /// `hazards { … }`, each with its caution.
    Hazards(Labels),
    /// `people { … }`, who reads what; the first reads what no other is named for.
    People(Labels),
    /// `choice NAME "…" { … }`
    Choice(Choice),
    /// `size NAME "…" { … }`
    Size(Size),
    /// `thing NAME "…" run { … }`
    Thing(Thing),
    /// `extend NAME { … }`
    Extend(Extend),
    /// `list NAME of THING "…"`, one of the site's.
    List(ListDeclaration),
    /// `survey NAME (…) gives TYPE "…"`
    Survey(Survey),
    /// `source NAME { … }`
    Source(SourceItem),
    /// `topic NAME "…" permit KIND`
    Topic(Topic),
    /// `limit NAME : TYPE …`
    Limit(Limit),
    /// `table NAME (…) gives TYPE { … }`
    Table(Table),
    /// `define NAME (…) gives TYPE = …`
    Define(Define),
    /// `rule NAME { … }`
    Rule(Rule),
    /// `place "…" { … }`
    Place(Place),
    /// `adopt`, `amend`, `set`, `strike`, `restrict`, `add`, `replace`
    Statement(Statement),
    /// `variance "…" { … }`
    Variance(Variance),
}

/// Names with a text each, in order: `holds`, `permits`, `hazards`, `people`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Labels {
    /// Each name and its text.
    pub labels: Vec<(Name, Text)>,
    /// The whole item.
    pub span: Span,
}

/// Named alternatives without order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// Its name, a type.
    pub name: Name,
    /// What it says.
    pub meaning: Text,
    /// The alternatives, each with an optional meaning.
    pub labels: Vec<(Name, Option<Text>)>,
    /// The whole item.
    pub span: Span,
}

/// Ordered labels: nominal pipe sizes, wire gauges, soil classes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Size {
    /// Its name, a type.
    pub name: Name,
    /// What it says.
    pub meaning: Text,
    /// The places from the least to the greatest; each has one label or several. Each label's
    /// text is as written, with single spaces.
    pub places: Vec<Vec<Text>>,
    /// The whole item.
    pub span: Span,
}

/// What facts a thing has besides its own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Form {
    /// A thing.
    Plain,
    /// `run`, with the greatest gap between its shots if it says so: it has a `length`.
    Run {
        /// The quantity as written after `gap`.
        gap: Option<Text>,
    },
    /// `stretch`: it has `from` and `to`.
    Stretch,
    /// `point`: it has `at`.
    Point,
}

/// A thing and its members.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Thing {
    /// Its name, a type.
    pub name: Name,
    /// What it is.
    pub meaning: Text,
    /// Whether it lies along a run, and how.
    pub form: Form,
    /// Who reads its facts.
    pub person: Option<Name>,
    /// Its facts and lists, in order.
    pub members: Vec<Member>,
    /// The whole item.
    pub span: Span,
}

/// More members for a thing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Extend {
    /// The thing.
    pub thing: Name,
    /// Who reads the facts that are added.
    pub person: Option<Name>,
    /// What is added.
    pub members: Vec<Member>,
    /// The whole item.
    pub span: Span,
}

/// A fact or a list of a thing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Member {
    /// `cover : length measured "…" …`
    Fact(Fact),
    /// `list spans of span "…"`
    List(ListDeclaration),
}

/// How a fact comes to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Origin {
    /// A reading: it has a tolerance.
    Measured,
    /// A count, a rating, a label: exact.
    Stated,
}

/// One fact of a thing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fact {
    /// Its name.
    pub name: Name,
    /// The name of its type.
    pub kind: Name,
    /// Measured or stated.
    pub origin: Origin,
    /// What it means.
    pub meaning: Text,
    /// How it is had.
    pub by: Option<Text>,
    /// The last hold point at which it can be seen.
    pub until: Option<Name>,
    /// What replaces it afterwards.
    pub then: Option<Text>,
    /// Its declared range, both ends as written.
    pub between: Option<(Text, Text)>,
    /// Who reads it, where that is not who reads the thing.
    pub person: Option<Name>,
    /// The whole member.
    pub span: Span,
}

/// A list of things.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ListDeclaration {
    /// Its name.
    pub name: Name,
    /// The thing that it lists.
    pub of: Name,
    /// What it means.
    pub meaning: Text,
    /// The whole declaration.
    pub span: Span,
}

/// A parameter: `size: pipe_size`, `run: building_sewer or lateral`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Parameter {
    /// Its name.
    pub name: Name,
    /// The types it takes: one, or for survey functions several things.
    pub kinds: Vec<Name>,
}

/// A survey function: declared here, computed in Rust.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Survey {
    /// Its name.
    pub name: Name,
    /// What it takes.
    pub parameters: Vec<Parameter>,
    /// What it gives.
    pub gives: Name,
    /// What that means.
    pub meaning: Text,
    /// The whole item.
    pub span: Span,
}

/// A document that clauses are cited from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SourceItem {
    /// Its name.
    pub name: Name,
    /// `title`, `publisher`, `edition`, `kind`, `binding`, `address`: key and text. The text of
    /// `kind` is a bare name.
    pub clauses: Vec<(Name, Text)>,
    /// The whole item.
    pub span: Span,
}

/// What the rules of this file are about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Topic {
    /// Its name.
    pub name: Name,
    /// Its title.
    pub title: Text,
    /// The kind of permit whose date selects its rules; `none` for precautions.
    pub permit: Name,
    /// The whole item.
    pub span: Span,
}

/// `cite SOURCE "section" from memory`
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Citation {
    /// The source.
    pub document: Name,
    /// The section within it.
    pub section: Text,
    /// Whether the value was not read in the text.
    pub from_memory: bool,
    /// From `cite` to its end.
    pub span: Span,
}

/// What places inside may do to a limit or a rule.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Narrowing {
    /// `tighten only`
    TightenOnly,
    /// `fixed`
    Fixed,
}

/// A number that rules compare with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Limit {
    /// Its name.
    pub name: Name,
    /// The name of its type.
    pub kind: Name,
    /// Its value and published equivalents as written; empty where the place sets it.
    pub values: Vec<Text>,
    /// What it means.
    pub meaning: Option<Text>,
    /// What places inside may do to it.
    pub narrowing: Option<Spanned<Narrowing>>,
    /// Where it is published.
    pub citations: Vec<Citation>,
    /// The whole item.
    pub span: Span,
}

/// Values by one or more keys.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// Its name.
    pub name: Name,
    /// What its keys are.
    pub parameters: Vec<Parameter>,
    /// The name of the type of its values.
    pub gives: Name,
    /// Where it is published.
    pub citations: Vec<Citation>,
    /// What places inside may do to its cells.
    pub narrowing: Option<Spanned<Narrowing>>,
    /// Its rows in order.
    pub rows: Vec<Row>,
    /// The whole item.
    pub span: Span,
}

/// One row of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// A key for each parameter.
    pub keys: Vec<Spanned<Key>>,
    /// The value as written; nothing for `no value`.
    pub value: Spanned<Option<String>>,
    /// The whole row.
    pub span: Span,
}

/// A key of a row. Labels and quantities are as written, with single spaces.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Key {
    /// `pvc_40 or pvc_80`
    Labels(Vec<Text>),
    /// `any`
    Any,
    /// `up to A`
    UpTo(Text),
    /// `A to B`
    Between(Text, Text),
    /// `A and over`
    AndOver(Text),
    /// `from K`
    From(Text),
    /// `beyond`
    Beyond,
    /// `below`
    Below,
}

/// A named expression.
#[derive(Debug, Clone, PartialEq)]
pub struct Define {
    /// Its name.
    pub name: Name,
    /// What it takes.
    pub parameters: Vec<Parameter>,
    /// What it gives.
    pub gives: Name,
    /// How it is computed.
    pub body: Expression,
    /// Where the formula is published.
    pub citations: Vec<Citation>,
    /// The whole item.
    pub span: Span,
}

/// One requirement.
#[derive(Debug, Clone, PartialEq)]
pub struct Rule {
    /// Its name.
    pub name: Name,
    /// Its clauses in the order written; that each stands as often as it may is for `check`.
    pub clauses: Vec<Clause>,
    /// The whole item.
    pub span: Span,
}

/// A clause of a rule.
#[derive(Debug, Clone, PartialEq)]
pub enum Clause {
    /// `title "…"`
    Title(Text),
    /// `each NAME in LIST`
    Each {
        /// What an element is called from here on.
        name: Name,
        /// The list.
        list: Path,
    },
    /// `when CONDITION`
    When(Expression),
    /// `shall`, `should`, `shall record`, `refer`, `precaution`
    Obligation(Spanned<Obligation>),
    /// `cite …`
    Cite(Citation),
    /// `hold NAME`
    Hold(Name),
    /// `remedy "…"`
    Remedy(Text),
    /// `hazard NAME`
    Hazard(Name),
}

/// What a rule asks.
#[derive(Debug, Clone, PartialEq)]
pub enum Obligation {
    /// Required.
    Shall(Expression),
    /// Advised.
    Should(Expression),
    /// That a reading, or a list, is there.
    Record(Path),
    /// A question for the authority.
    Refer(Text),
    /// Worker safety.
    Precaution(Expression),
}

/// An expression and its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Expression {
    /// What it is.
    pub kind: ExpressionKind,
    /// Its place.
    pub span: Span,
}

/// How two sides are compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Comparator {
    /// `is at least`
    AtLeast,
    /// `is at most`
    AtMost,
    /// `is more than`
    MoreThan,
    /// `is less than`
    LessThan,
    /// `is`
    Is,
}

/// Arithmetic between two sides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Operator {
    /// `+`
    Add,
    /// `-`
    Subtract,
    /// `×`
    Multiply,
    /// `/`
    Divide,
}

/// Which of several values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fold {
    /// `least of`
    Least,
    /// `greatest of`
    Greatest,
    /// `total of`
    Total,
}

/// The forms of an expression.
#[derive(Debug, Clone, PartialEq)]
pub enum ExpressionKind {
    /// `24 in`, `3 1/2`, `1/4 in/ft`, `14 AWG`, `DN 100`: as written, with single spaces.
    Quantity(String),
    /// `"…"`
    Text(String),
    /// `2026-03-19`, as written.
    Date(String),
    /// `span.cover`, a limit, a label.
    Path(Path),
    /// `name(a, b)`; `root(a)` too.
    Call {
        /// What is called.
        function: Path,
        /// With what.
        arguments: Vec<Expression>,
    },
    /// `-a`
    Negate(Box<Expression>),
    /// `a + b`
    Arithmetic {
        /// Which.
        operator: Operator,
        /// The left side.
        left: Box<Expression>,
        /// The right side.
        right: Box<Expression>,
    },
    /// `a ^ n`; the exponent is a number as written.
    Power {
        /// What is raised.
        base: Box<Expression>,
        /// To what: a number as written, perhaps with a sign.
        exponent: Text,
    },
    /// `a in UNIT`
    In {
        /// What is measured.
        value: Box<Expression>,
        /// The unit as written.
        unit: Text,
    },
    /// `a is at least b`
    Compare {
        /// How.
        comparator: Comparator,
        /// The left side.
        left: Box<Expression>,
        /// The right side.
        right: Box<Expression>,
    },
    /// `a is one of b, c`
    OneOf {
        /// The value.
        value: Box<Expression>,
        /// The alternatives.
        alternatives: Vec<Expression>,
    },
    /// `not a`
    Not(Box<Expression>),
    /// `a and b and c`
    And(Vec<Expression>),
    /// `a or b or c`
    Or(Vec<Expression>),
    /// `if c then a else b`
    If {
        /// What decides.
        condition: Box<Expression>,
        /// Where it holds.
        then: Box<Expression>,
        /// Where it doesn't.
        otherwise: Box<Expression>,
    },
    /// `every x in L has P`
    Every {
        /// What an element is called.
        name: Name,
        /// The list.
        list: Path,
        /// What is asked of each.
        condition: Box<Expression>,
    },
    /// `some x in L has P`
    Some {
        /// What an element is called.
        name: Name,
        /// The list.
        list: Path,
        /// What is asked.
        condition: Box<Expression>,
    },
    /// `count of x in L where P`
    Count {
        /// What an element is called.
        name: Name,
        /// The list.
        list: Path,
        /// Which count; all where it is left out.
        condition: Option<Box<Expression>>,
    },
    /// `least of f for x in L`
    Fold {
        /// Which.
        fold: Fold,
        /// Of what.
        value: Box<Expression>,
        /// What an element is called.
        name: Name,
        /// The list.
        list: Path,
    },
    /// `lesser of a and b`
    Lesser(Box<Expression>, Box<Expression>),
    /// `greater of a and b`
    Greater(Box<Expression>, Box<Expression>),
}

/// A place's own clauses.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// What it is called.
    pub title: Text,
    /// Who answers for which kind of permit (`any` for the others), and how to reach them.
    pub authorities: Vec<(Name, Text, Text)>,
    /// Which of a permit's dates counts, by kind.
    pub dates: Vec<(Name, Name)>,
    /// How a topic is decided: `banded` or `as_read`.
    pub decisions: Vec<(Name, Name)>,
    /// The whole item.
    pub span: Span,
}

/// A change that a place makes, from a date.
#[derive(Debug, Clone, PartialEq)]
pub struct Statement {
    /// What changes.
    pub action: Action,
    /// From permits dated on or after this date, as written.
    pub from: Option<Text>,
    /// To permits dated before this date, as written.
    pub until: Option<Text>,
    /// Under which clauses.
    pub citations: Vec<Citation>,
    /// Why.
    pub because: Option<Text>,
    /// What places inside may still do to it.
    pub narrowing: Option<Spanned<Narrowing>>,
    /// The whole item.
    pub span: Span,
}

/// What a statement does.
#[derive(Debug, Clone, PartialEq)]
pub enum Action {
    /// `adopt TOPIC`
    Adopt(Name),
    /// `strike topic TOPIC`
    StrikeTopic(Name),
    /// `strike rule TOPIC.RULE`
    StrikeRule(Path),
    /// `amend TARGET : A becomes B`; a side is one quantity, or equivalents joined by `or`.
    Amend {
        /// The limit or the cells.
        target: Target,
        /// What stands there, as written; empty for `no value`.
        was: Vec<Text>,
        /// What shall stand there, as written; empty for `no value`.
        becomes: Vec<Text>,
    },
    /// `set TARGET = A`
    Set {
        /// The limit.
        target: Target,
        /// Its value and equivalents as written.
        values: Vec<Text>,
    },
    /// `restrict TARGET to tighten only`
    Restrict {
        /// The limit or the cells.
        target: Target,
        /// To what.
        to: Narrowing,
    },
    /// `restrict rule TOPIC.RULE to fixed`
    RestrictRule {
        /// The rule.
        rule: Path,
        /// To what.
        to: Narrowing,
    },
    /// `add rule NAME in TOPIC … { … }`
    Add {
        /// The topic.
        topic: Name,
        /// The rule.
        rule: Rule,
    },
    /// `replace rule TOPIC.RULE … { … }`
    Replace {
        /// Which.
        target: Path,
        /// What stands in its place; its name is that of the target.
        rule: Rule,
    },
}

/// A limit, `topic.limit`, or cells of a table, `topic.table(key, key)`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Target {
    /// The limit or table.
    pub path: Path,
    /// The keys, for a table.
    pub keys: Option<Vec<Spanned<Key>>>,
    /// The whole target.
    pub span: Span,
}

/// Leave that an authority gave on one lot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Variance {
    /// Its number.
    pub number: Text,
    /// Its clauses in order: `rule`, `lot`, `subject`, `authority`, `date`, `until`, `because`.
    /// Names, texts and dates alike as written; `no end` for an `until` without one.
    pub clauses: Vec<(Name, Text)>,
    /// The whole item.
    pub span: Span,
}
