//! The tree with names bound and dimensions known: what `check` makes and `layers` picks from.
//!
//! Everything stands in one list a kind and is spoken of by its number, so that a layer can put
//! another value behind a limit without touching the rules that use it.

use crate::language::syntax::{Comparator, Fold, Narrowing, Operator};
use crate::quantity::{Rational, Unit};
use crate::source::{Span, Spanned};
use crate::vocabulary::{
    FactId, HazardId, HoldId, ListId, PermitId, ScaleId, ThingId, Type, Vocabulary,
};

macro_rules! numbers {
    ($($(#[$doc:meta])* $name:ident),* $(,)?) => {
        $($(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub struct $name(pub u32);

        impl $name {
            /// The number of an index.
            pub fn at(index: usize) -> Self {
                Self(u32::try_from(index).expect("fewer than four billion of anything"))
            }

            /// As an index.
            pub fn index(self) -> usize {
                self.0 as usize
            }
        })*
    };
}

numbers! {
    /// A document, by its place in [`Library::documents`].
    DocumentId,
    /// A topic, by its place in [`Library::topics`].
    TopicId,
    /// A limit, by its place in [`Library::limits`].
    LimitId,
    /// A table, by its place in [`Library::tables`].
    TableId,
    /// A define, by its place in [`Library::defines`].
    DefineId,
    /// A rule, by its place in [`Library::rules`].
    RuleId,
    /// A place, by its place in [`Library::places`].
    PlaceId,
}

/// Everything that was checked: nothing in it can be without meaning.
#[derive(Debug, Clone, Default)]
pub struct Library {
    /// What may be recorded.
    pub vocabulary: Vocabulary,
    /// The documents cited.
    pub documents: Vec<Document>,
    /// The topics.
    pub topics: Vec<Topic>,
    /// The limits.
    pub limits: Vec<Limit>,
    /// The tables.
    pub tables: Vec<Table>,
    /// The defines.
    pub defines: Vec<Define>,
    /// All rules, those that a place adds or puts in another's stead among them.
    pub rules: Vec<Rule>,
    /// The places, outer before inner.
    pub places: Vec<Place>,
}

/// Who declares a name: a topic, or a place for itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Owner {
    /// A topic's file.
    Topic(TopicId),
    /// A place's file.
    Place(PlaceId),
}

/// How far a document binds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DocumentKind {
    /// A published code, standard or regulation.
    Published,
    /// Common practice of the trade.
    Practice,
    /// An ordinance or order of a place.
    Local,
}

/// A document that clauses are cited from.
#[derive(Debug, Clone)]
pub struct Document {
    /// Its name in the rule language.
    pub name: String,
    /// Its title.
    pub title: String,
    /// Who puts it out.
    pub publisher: String,
    /// Its edition.
    pub edition: String,
    /// What it is.
    pub kind: DocumentKind,
    /// Where it binds.
    pub binding: Option<String>,
    /// Where it can be read.
    pub address: Option<String>,
    /// Where it was declared.
    pub span: Span,
}

/// A clause of a document.
#[derive(Debug, Clone)]
pub struct Citation {
    /// The document.
    pub document: DocumentId,
    /// The section.
    pub section: String,
    /// Whether the value was not read in the text.
    pub from_memory: bool,
}

/// What a set of rules is about.
#[derive(Debug, Clone)]
pub struct Topic {
    /// Its name.
    pub name: String,
    /// Its title.
    pub title: String,
    /// Whose date selects its rules; none for precautions.
    pub permit: Option<PermitId>,
    /// The place that wrote it; none for the model's.
    pub home: Option<PlaceId>,
    /// Where it was declared.
    pub span: Span,
}

/// A value that a limit or a cell has.
#[derive(Debug, Clone, PartialEq)]
pub enum Constant {
    /// A number, canonical.
    Number {
        /// The value.
        value: Rational,
        /// The unit it was written in.
        unit: Option<Unit>,
        /// As written.
        written: String,
    },
    /// A place of a choice or a size.
    Label {
        /// Of which.
        scale: ScaleId,
        /// The place.
        place: u16,
        /// As written.
        written: String,
    },
}

impl Constant {
    /// As its author wrote it.
    pub fn written(&self) -> &str {
        match self {
            Constant::Number { written, .. } | Constant::Label { written, .. } => written,
        }
    }

    /// A value and its equivalents as they were written; `no value` where there is none.
    pub fn all_written(values: &[Constant]) -> String {
        if values.is_empty() {
            return "no value".to_owned();
        }
        let written: Vec<&str> = values.iter().map(Constant::written).collect();
        written.join(" or ")
    }

    /// Whether two constants mean the same, however they are written.
    pub fn same(&self, other: &Constant) -> bool {
        match (self, other) {
            (Constant::Number { value: a, .. }, Constant::Number { value: b, .. }) => a == b,
            (Constant::Label { place: a, .. }, Constant::Label { place: b, .. }) => a == b,
            (Constant::Number { .. }, Constant::Label { .. })
            | (Constant::Label { .. }, Constant::Number { .. }) => false,
        }
    }
}

/// A number that rules compare with.
#[derive(Debug, Clone)]
pub struct Limit {
    /// Its name within its owner.
    pub name: String,
    /// Who declares it.
    pub owner: Owner,
    /// Its type.
    pub kind: Type,
    /// Its value and equivalents; empty where the place sets it.
    pub values: Vec<Constant>,
    /// What it means.
    pub meaning: Option<String>,
    /// What places inside may do to it.
    pub narrowing: Option<Narrowing>,
    /// Where it is published.
    pub citations: Vec<Citation>,
    /// Where it was declared.
    pub span: Span,
}

/// Values by one or more keys.
#[derive(Debug, Clone)]
pub struct Table {
    /// Its name within its owner.
    pub name: String,
    /// Who declares it.
    pub owner: Owner,
    /// The names of its parameters.
    pub parameters: Vec<String>,
    /// Its keys' places, one axis a parameter.
    pub axes: Vec<Axis>,
    /// The type of its values.
    pub gives: Type,
    /// A cell for each combination, the last axis running fastest.
    pub cells: Vec<Cell>,
    /// What places inside may do to its cells.
    pub narrowing: Option<Narrowing>,
    /// Where it is published.
    pub citations: Vec<Citation>,
    /// Where it was declared.
    pub span: Span,
}

/// One combination of keys.
#[derive(Debug, Clone)]
pub struct Cell {
    /// Its value; none for `no value`.
    pub value: Option<Constant>,
    /// The row that holds it.
    pub span: Span,
}

/// The places of one key.
#[derive(Debug, Clone)]
pub enum Axis {
    /// One for each place of a choice or size.
    Scale {
        /// Which.
        scale: ScaleId,
        /// How many.
        places: u16,
    },
    /// `up to K`: place `i` goes from just beyond bound `i - 1` to bound `i`, included.
    UpTo {
        /// The type of the key.
        kind: Type,
        /// Rising.
        bounds: Vec<Constant>,
        /// Whether one more place lies beyond the last.
        beyond: bool,
    },
    /// `from K`: place `i` goes from bound `i` to just below bound `i + 1`.
    From {
        /// The type of the key.
        kind: Type,
        /// Rising.
        bounds: Vec<Constant>,
        /// Whether one more place, the first, lies below the first bound.
        below: bool,
    },
}

impl Axis {
    /// How many places it has.
    pub fn length(&self) -> usize {
        match self {
            Axis::Scale { places, .. } => usize::from(*places),
            Axis::UpTo { bounds, beyond, .. } => bounds.len() + usize::from(*beyond),
            Axis::From { bounds, below, .. } => bounds.len() + usize::from(*below),
        }
    }

    /// The type of its key.
    pub fn kind(&self) -> Type {
        match self {
            Axis::Scale { scale, .. } => Type::Label(*scale),
            Axis::UpTo { kind, .. } | Axis::From { kind, .. } => *kind,
        }
    }

    /// How one of its places is written.
    pub fn place_name(&self, vocabulary: &Vocabulary, place: usize) -> String {
        match self {
            Axis::Scale { scale, .. } => vocabulary
                .scale(*scale)
                .label(u16::try_from(place).expect("a scale has fewer than 65536 places"))
                .to_owned(),
            Axis::UpTo { bounds, .. } => match bounds.get(place) {
                Some(bound) => format!("up to {}", bound.written()),
                None => "beyond".to_owned(),
            },
            Axis::From { bounds, below, .. } => match place.checked_sub(usize::from(*below)) {
                None => "below".to_owned(),
                Some(at) => format!("from {}", bounds[at].written()),
            },
        }
    }
}

impl Table {
    /// What its keys are, without what they lead to.
    pub(crate) fn without_cells(&self) -> Table {
        Table {
            name: self.name.clone(),
            owner: self.owner,
            parameters: self.parameters.clone(),
            axes: self.axes.clone(),
            gives: self.gives,
            cells: Vec::new(),
            narrowing: self.narrowing,
            citations: Vec::new(),
            span: self.span,
        }
    }

    /// The keys of a cell, one place an axis.
    pub fn keys(&self, cell: usize) -> Vec<usize> {
        let mut rest = cell;
        let mut keys = vec![0; self.axes.len()];
        for (key, axis) in keys.iter_mut().zip(&self.axes).rev() {
            *key = rest % axis.length();
            rest /= axis.length();
        }
        keys
    }

    /// The cell of some keys.
    pub fn cell(&self, keys: &[usize]) -> usize {
        self.axes
            .iter()
            .zip(keys)
            .fold(0, |cell, (axis, key)| cell * axis.length() + key)
    }

    /// The first row that a bound of one of its keys stands in.
    pub fn row_of(&self, axis: usize, bound: usize) -> Span {
        let below = match &self.axes[axis] {
            Axis::From { below, .. } => usize::from(*below),
            Axis::UpTo { .. } | Axis::Scale { .. } => 0,
        };
        let stands_there = |cell: &usize| self.keys(*cell)[axis] == bound + below;
        (0..self.cells.len())
            .find(stands_there)
            .map_or(self.span, |cell| self.cells[cell].span)
    }

    /// How a cell is written: `direct_burial, yard`.
    pub fn cell_name(&self, vocabulary: &Vocabulary, cell: usize) -> String {
        self.axes
            .iter()
            .zip(self.keys(cell))
            .map(|(axis, key)| axis.place_name(vocabulary, key))
            .collect::<Vec<_>>()
            .join(", ")
    }
}

/// What a define takes.
#[derive(Debug, Clone, PartialEq)]
pub enum ParameterKind {
    /// A thing.
    Thing(ThingId),
    /// A value.
    Value(Type),
}

/// A named expression.
#[derive(Debug, Clone)]
pub struct Define {
    /// Its name within its owner.
    pub name: String,
    /// Who declares it.
    pub owner: Owner,
    /// What it takes.
    pub parameters: Vec<(String, ParameterKind)>,
    /// What it gives.
    pub gives: Type,
    /// How it is computed.
    pub body: Expression,
    /// Where the formula is published.
    pub citations: Vec<Citation>,
    /// Where it was declared.
    pub span: Span,
}

/// Where a rule comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RuleOrigin {
    /// Its topic's file.
    Topic,
    /// A place adds it.
    Added(PlaceId),
    /// A place puts it in another's stead.
    Replacement {
        /// The place.
        place: PlaceId,
        /// Which rule it replaces.
        of: RuleId,
    },
}

/// One requirement.
#[derive(Debug, Clone)]
pub struct Rule {
    /// `topic.name`, and `@place` behind it where a place adds it.
    pub id: String,
    /// Its topic.
    pub topic: TopicId,
    /// Where it comes from.
    pub origin: RuleOrigin,
    /// What it asks, in a line.
    pub title: String,
    /// `each` and `when`, in order.
    pub head: Vec<HeadClause>,
    /// What it asks.
    pub obligation: Obligation,
    /// Where that is published.
    pub citations: Vec<Citation>,
    /// Where its shortfall can still be mended.
    pub hold: HoldId,
    /// How it is mended.
    pub remedy: String,
    /// Whom it can hurt.
    pub hazard: Option<HazardId>,
    /// Where it was declared.
    pub span: Span,
    /// Where its name stands.
    pub name_span: Span,
}

impl Rule {
    /// Every `when`, then what the obligation asks, if it is a condition.
    pub fn conditions(&self) -> impl Iterator<Item = &Expression> {
        let whens = self.head.iter().filter_map(|clause| match clause {
            HeadClause::When(condition) => Some(condition),
            HeadClause::Each { .. } => None,
        });
        whens.chain(self.obligation.condition())
    }

    /// Whether a place lies in the rule's own text.
    pub fn holds(&self, span: Span) -> bool {
        span.source == self.span.source
            && self.span.start <= span.start
            && span.end <= self.span.end
    }
}

/// A clause of a rule's head.
#[derive(Debug, Clone)]
pub enum HeadClause {
    /// `each NAME in LIST`
    Each {
        /// What an element is called.
        name: String,
        /// The list.
        list: ListPath,
        /// Where the clause stands.
        span: Span,
    },
    /// `when CONDITION`
    When(Expression),
}

/// What a rule asks.
#[derive(Debug, Clone)]
pub enum Obligation {
    /// Required.
    Shall(Expression),
    /// Advised.
    Should(Expression),
    /// That a reading, or a list, is there.
    Record(RecordTarget),
    /// A question for the authority.
    Refer(String),
    /// Worker safety.
    Precaution(Expression),
}

impl Obligation {
    /// Whether it is worker safety: that goes by the recorded date, and by no adoption.
    pub fn is_precaution(&self) -> bool {
        match self {
            Obligation::Precaution(_) => true,
            Obligation::Shall(_)
            | Obligation::Should(_)
            | Obligation::Record(_)
            | Obligation::Refer(_) => false,
        }
    }

    /// The condition it asks for, if it asks for one.
    pub fn condition(&self) -> Option<&Expression> {
        match self {
            Obligation::Shall(condition)
            | Obligation::Should(condition)
            | Obligation::Precaution(condition) => Some(condition),
            Obligation::Record(_) | Obligation::Refer(_) => None,
        }
    }
}

/// What shall be recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RecordTarget {
    /// A fact.
    Fact(Binding, FactId),
    /// A list.
    List(ListPath),
}

/// A thing that a name stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Binding {
    /// The lot itself.
    Site,
    /// An element bound by `each`, `every`, `some`, `count` or a fold, counted from the outermost.
    Local(u16),
    /// A parameter of the define it stands in.
    Parameter(u16),
}

/// A list of a thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct ListPath {
    /// Whose.
    pub of: Binding,
    /// Which.
    pub list: ListId,
    /// What it lists.
    pub things: ThingId,
}

/// An argument of a call.
#[derive(Debug, Clone)]
pub enum Argument {
    /// A thing.
    Thing(Binding),
    /// A value.
    Value(Expression),
}

/// An expression with its type.
#[derive(Debug, Clone)]
pub struct Expression {
    /// What it is.
    pub kind: ExpressionKind,
    /// What it gives.
    pub gives: Type,
    /// Where it stands.
    pub span: Span,
}

/// The forms of an expression.
#[derive(Debug, Clone)]
pub enum ExpressionKind {
    /// A quantity, a date or a label.
    Constant(Constant),
    /// A text.
    Text(String),
    /// A fact of a thing.
    Fact(Binding, FactId),
    /// The id of a thing.
    Id(Binding),
    /// A limit.
    Limit(LimitId),
    /// A table's value.
    Lookup(TableId, Vec<Expression>),
    /// A define's value.
    Define(DefineId, Vec<Argument>),
    /// A survey function, by its place in the vocabulary.
    Survey(usize, Vec<Argument>),
    /// A value that the define it stands in is given.
    Parameter(u16),
    /// `-a`
    Negate(Box<Expression>),
    /// `+ - × /`
    Arithmetic(Operator, Box<Expression>, Box<Expression>),
    /// `a ^ n`
    Power(Box<Expression>, Rational),
    /// `root(a)`
    Root(Box<Expression>),
    /// `a in UNIT`
    In(Box<Expression>, Unit),
    /// A comparison of numbers, points or sizes, or `is`.
    Compare(Comparator, Box<Expression>, Box<Expression>),
    /// `a is one of b, c`
    OneOf(Box<Expression>, Vec<Expression>),
    /// `not a`
    Not(Box<Expression>),
    /// `a and b`
    And(Vec<Expression>),
    /// `a or b`
    Or(Vec<Expression>),
    /// `if c then a else b`
    If(Box<Expression>, Box<Expression>, Box<Expression>),
    /// `every x in L has P`
    Every(Each, Box<Expression>),
    /// `some x in L has P`
    Some(Each, Box<Expression>),
    /// `count of x in L where P`
    Count(Each, Option<Box<Expression>>),
    /// `least of f for x in L`
    Fold(Fold, Each, Box<Expression>),
    /// `lesser of a and b`
    Lesser(Box<Expression>, Box<Expression>),
    /// `greater of a and b`
    Greater(Box<Expression>, Box<Expression>),
}

/// What a quantifier binds.
#[derive(Debug, Clone)]
pub struct Each {
    /// What an element is called.
    pub name: String,
    /// The list.
    pub list: ListPath,
    /// The number of its local.
    pub local: u16,
}

/// A date, canonical in seconds, and how it is written.
pub type Date = Spanned<Rational>;

/// A place that publishes rules.
#[derive(Debug, Clone)]
pub struct Place {
    /// Its path in `jurisdictions/`.
    pub path: String,
    /// The place it lies in.
    pub parent: Option<PlaceId>,
    /// What it is called.
    pub title: String,
    /// Who answers for a kind of permit; none for all others.
    pub authorities: Vec<Authority>,
    /// Which of a permit's dates counts.
    pub dates: Vec<(PermitId, PermitDate)>,
    /// How topics are decided.
    pub decisions: Vec<(TopicId, Decision)>,
    /// What it changes, in the order written.
    pub statements: Vec<Statement>,
    /// The variances it granted.
    pub variances: Vec<Variance>,
    /// Where it was declared.
    pub span: Span,
}

/// Who answers.
#[derive(Debug, Clone)]
pub struct Authority {
    /// For which kind of permit; none for any other.
    pub permit: Option<PermitId>,
    /// Its name.
    pub name: String,
    /// How it is reached.
    pub contact: String,
}

/// Which date of a permit selects the rules.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PermitDate {
    /// When it was applied for.
    Applied,
    /// When it was issued.
    Issued,
    /// When the plan was approved.
    PlanApproved,
}

impl PermitDate {
    /// As a place and a record write it.
    pub fn name(self) -> &'static str {
        match self {
            PermitDate::Applied => "applied",
            PermitDate::Issued => "issued",
            PermitDate::PlanApproved => "plan_approved",
        }
    }
}

/// How tolerances count in a verdict.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Decision {
    /// They guard it.
    Banded,
    /// They are left out.
    AsRead,
}

/// A change that a place makes.
#[derive(Debug, Clone)]
pub struct Statement {
    /// What changes.
    pub action: Action,
    /// From permits dated on or after.
    pub from: Date,
    /// To permits dated before.
    pub until: Option<Date>,
    /// Under which clauses.
    pub citations: Vec<Citation>,
    /// Why.
    pub because: String,
    /// What places inside may still do.
    pub narrowing: Option<Narrowing>,
    /// Where it stands.
    pub span: Span,
}

/// What a statement does.
#[derive(Debug, Clone)]
pub enum Action {
    /// Puts a topic in force.
    Adopt(TopicId),
    /// Takes a topic out of force.
    StrikeTopic(TopicId),
    /// Changes a limit.
    AmendLimit {
        /// Which.
        limit: LimitId,
        /// What its author saw; empty for a limit without a value.
        was: Vec<Constant>,
        /// What shall stand.
        becomes: Vec<Constant>,
    },
    /// Changes cells.
    AmendCells {
        /// Of which table.
        table: TableId,
        /// Which.
        cells: Vec<usize>,
        /// What its author saw.
        was: Option<Constant>,
        /// What shall stand.
        becomes: Option<Constant>,
    },
    /// Gives a limit that was left open its value.
    SetLimit {
        /// Which.
        limit: LimitId,
        /// Its value and equivalents.
        values: Vec<Constant>,
    },
    /// Narrows what places inside may do to a limit.
    RestrictLimit(LimitId, Narrowing),
    /// Narrows what places inside may do to cells.
    RestrictCells(TableId, Vec<usize>, Narrowing),
    /// Narrows what places inside may do to a rule.
    RestrictRule(RuleId, Narrowing),
    /// Takes a rule out of force.
    StrikeRule(RuleId),
    /// Adds a rule.
    Add(RuleId),
    /// Puts a rule in another's stead.
    Replace {
        /// Which.
        old: RuleId,
        /// What stands instead.
        new: RuleId,
    },
}

/// A variance that a place granted.
#[derive(Debug, Clone)]
pub struct Variance {
    /// Its number.
    pub number: String,
    /// The rule it departs from.
    pub rule: RuleId,
    /// The lot.
    pub lot: String,
    /// The subject's id.
    pub subject: String,
    /// Who granted it.
    pub authority: String,
    /// When.
    pub date: Date,
    /// The last day; none for `no end`.
    pub until: Option<Date>,
    /// Why.
    pub because: String,
}

impl Library {
    /// The full name of a limit, table or define: `topic.name` or `place:name`.
    pub fn owned_name(&self, owner: Owner, name: &str) -> String {
        match owner {
            Owner::Topic(topic) => format!("{}.{name}", self.topics[topic.index()].name),
            Owner::Place(place) => format!("{name}@{}", self.places[place.index()].path),
        }
    }

    /// The place of a path.
    pub fn place_named(&self, path: &str) -> Option<PlaceId> {
        let at = self.places.iter().position(|place| place.path == path)?;
        Some(PlaceId::at(at))
    }

    /// A place and those around it, the outermost first.
    pub fn way_in(&self, place: PlaceId) -> Vec<PlaceId> {
        let mut way = vec![place];
        while let Some(parent) = self.places[way[way.len() - 1].index()].parent {
            way.push(parent);
        }
        way.reverse();
        way
    }
}
