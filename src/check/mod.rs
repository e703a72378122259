//! The tree as written in, the tree with names bound and dimensions known out.
//!
//! Every mistake that can be seen without a record is told here, all of them at once: after this,
//! judging can't fail.

mod constants;
mod error;
mod expressions;
mod names;
mod places;
mod rules;
mod tables;
pub mod typed;
mod usage;

use std::collections::{BTreeMap, BTreeSet};

use crate::language::syntax::{self, Item};
use crate::source::{Located, SourceId, Span};
use crate::vocabulary::Vocabulary;

pub(crate) use constants::constant as limit_constant;
pub use error::CheckError;
pub(crate) use names::nearest;
pub(crate) use usage::{every_part, parts};

use expressions::Scope;
use names::{Declared, Names};
use typed::{
    Citation, DefineId, Document, DocumentId, DocumentKind, Library, Limit, LimitId, Owner,
    ParameterKind, PlaceId, RuleId, TableId, Topic, TopicId,
};

/// Where in a library a file stands, which decides what it may hold.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// `shared/`: vocabulary and sources.
    Shared,
    /// `rules/`: the model rules.
    Model,
    /// `jurisdictions/`: in the folder of this path.
    Place(String),
}

/// A file of a library.
#[derive(Debug, Clone, Copy)]
pub struct LibraryFile<'a> {
    /// Its text.
    pub id: SourceId,
    /// Its name, by which files are put in order.
    pub name: &'a str,
    /// Where it stands.
    pub role: &'a Role,
    /// What it holds.
    pub file: &'a syntax::File,
}

/// Binds every name and finds every dimension.
///
/// The result doesn't depend on the order of the files.
///
/// # Errors
///
/// All mistakes of all files, in the order of the files and their lines.
pub fn check(
    files: &[LibraryFile<'_>],
    vocabulary: Vocabulary,
) -> Result<Library, Vec<Located<CheckError>>> {
    let mut files = files.to_vec();
    // Topics are told of by their names, whatever their files are called.
    files.sort_by_key(|file| (topic_name(file.file), file.name));
    let mut checker = Checker::new(vocabulary);
    checker.files = files
        .iter()
        .map(|file| (file.id, file.name.to_owned()))
        .collect();
    checker.all(&files);
    if checker.errors.is_empty() {
        return Ok(checker.library);
    }
    let mut errors = checker.errors;
    errors.sort_by_key(|(at, _)| *at);
    Err(errors
        .into_iter()
        .map(|(at, error)| Located {
            source: at.source,
            error,
        })
        .collect())
}

/// The topic of a file; none for vocabulary, sources and places.
fn topic_name(file: &syntax::File) -> Option<&str> {
    file.items.iter().find_map(|item| match item {
        Item::Topic(topic) => Some(topic.name.value.as_str()),
        _ => None,
    })
}

/// After how many mistakes the rest is not looked at: each has its nearest names looked for.
const ENOUGH: usize = 500;

/// What is known while checking.
struct Checker {
    library: Library,
    names: Names,
    signatures: Vec<Signature>,
    used: Used,
    /// Who owns what a file declares.
    owners: BTreeMap<SourceId, Owner>,
    /// What each file is called.
    files: BTreeMap<SourceId, String>,
    /// How many cells the tables have so far.
    cells_together: usize,
    errors: Vec<(Span, CheckError)>,
}

/// What a define takes and gives, known before its body is.
struct Signature {
    name: String,
    parameters: Vec<(String, ParameterKind)>,
    gives: crate::vocabulary::Type,
}

/// What some rule reads.
#[derive(Default)]
struct Used {
    limits: BTreeSet<LimitId>,
    tables: BTreeSet<TableId>,
    defines: BTreeSet<DefineId>,
}

/// The items whose expressions are looked at once all names are known.
#[derive(Default)]
struct Bodies<'a> {
    defines: Vec<(Owner, &'a syntax::Define)>,
    rules: Vec<RuleBody<'a>>,
    /// The rules that statements carry, by the span of the statement.
    carried: BTreeMap<Span, RuleId>,
}

struct RuleBody<'a> {
    id: RuleId,
    owner: Owner,
    rule: &'a syntax::Rule,
}

impl Checker {
    fn new(vocabulary: Vocabulary) -> Self {
        Checker {
            library: Library {
                vocabulary,
                ..Library::default()
            },
            names: Names::default(),
            signatures: Vec::new(),
            used: Used::default(),
            owners: BTreeMap::new(),
            files: BTreeMap::new(),
            cells_together: 0,
            errors: Vec::new(),
        }
    }

    /// One pass after the other, until there are mistakes enough.
    fn all(&mut self, files: &[LibraryFile<'_>]) {
        self.declare_documents(files);
        self.declare_topics_and_places(files);
        let bodies = self.declare_owned(files);
        if self.has_enough() {
            return;
        }
        self.define_all(&bodies);
        self.rules(&bodies);
        self.statements(files, &bodies);
        if !self.has_enough() {
            self.usage();
        }
    }

    fn vocabulary(&self) -> &Vocabulary {
        &self.library.vocabulary
    }

    /// Whether there are mistakes enough: no more expressions are looked at then.
    fn has_enough(&self) -> bool {
        self.errors.len() >= ENOUGH
    }

    fn tell(&mut self, error: CheckError, at: Span) {
        self.errors.push((at, error));
    }

    /// Says that a name is not known: what could stand there, and the mend.
    fn unknown_name(
        &mut self,
        name: impl Into<String>,
        at: Span,
        expected: impl Into<String>,
        help: impl Into<String>,
    ) {
        let error = CheckError::UnknownName {
            name: name.into(),
            at,
            expected: expected.into(),
            help: help.into(),
        };
        self.tell(error, at);
    }

    /// The value of a step, or nothing and its mistake told.
    fn told<T>(&mut self, result: Result<T, CheckError>, at: Span) -> Option<T> {
        match result {
            Ok(value) => Some(value),
            Err(error) => {
                self.tell(error, at);
                None
            }
        }
    }

    fn twice(&mut self, name: &str, at: Span, first: Span) {
        let same_file = at.source == first.source;
        let error = CheckError::DeclaredTwice {
            name: name.to_owned(),
            at,
            first: same_file.then_some(first),
            elsewhere: if same_file {
                String::new()
            } else {
                format!(": the first stands in {}", self.file_name(first))
            },
        };
        self.tell(error, at);
    }

    fn file_name(&self, span: Span) -> &str {
        self.files
            .get(&span.source)
            .map_or("another file", String::as_str)
    }

    fn declare_documents(&mut self, files: &[LibraryFile<'_>]) {
        for file in files {
            for item in &file.file.items {
                if let Item::Source(source) = item {
                    self.document(source);
                }
            }
        }
    }

    fn document(&mut self, source: &syntax::SourceItem) {
        let name = &source.name;
        if let Some((_, first)) = self.names.documents.get(&name.value) {
            let first = *first;
            self.twice(&name.value, name.span, first);
            return;
        }
        let clause = |wanted: &str| {
            source
                .clauses
                .iter()
                .find(|(key, _)| key.value == wanted)
                .map(|(_, text)| text.value.clone())
        };
        for required in ["title", "publisher", "edition", "kind"] {
            if clause(required).is_none() {
                let error = CheckError::SourceClause {
                    name: name.value.clone(),
                    clause: required,
                    help: format!("add a line `{required} …` to it"),
                    at: name.span,
                };
                self.tell(error, name.span);
            }
        }
        let kind = match clause("kind").as_deref() {
            Some("published") | None => DocumentKind::Published,
            Some("practice") => DocumentKind::Practice,
            Some("local") => DocumentKind::Local,
            Some(_) => {
                let error = CheckError::SourceClause {
                    name: name.value.clone(),
                    clause: "kind that is known",
                    help: "a source is `published`, `practice` or `local`".into(),
                    at: name.span,
                };
                self.tell(error, name.span);
                DocumentKind::Published
            }
        };
        let id = DocumentId::at(self.library.documents.len());
        self.names
            .documents
            .insert(name.value.clone(), (id, name.span));
        self.library.documents.push(Document {
            name: name.value.clone(),
            title: clause("title").unwrap_or_default(),
            publisher: clause("publisher").unwrap_or_default(),
            edition: clause("edition").unwrap_or_default(),
            kind,
            binding: clause("binding"),
            address: clause("address"),
            span: name.span,
        });
    }

    fn declare_topics_and_places(&mut self, files: &[LibraryFile<'_>]) {
        self.declare_places(files);
        for file in files {
            let mut first: Option<Span> = None;
            for item in &file.file.items {
                let Item::Topic(topic) = item else { continue };
                if let Some(first) = first {
                    let at = topic.name.span;
                    self.tell(CheckError::SecondTopic { at, first }, at);
                    continue;
                }
                first = Some(topic.name.span);
                self.topic(file, topic);
            }
            if first.is_none()
                && let Role::Place(folder) = file.role
                && let Some(place) = self.place_around(folder)
            {
                self.owners.insert(file.id, Owner::Place(place));
            }
        }
    }

    /// The place of a folder, or of the nearest folder around it that is one.
    fn place_around(&self, folder: &str) -> Option<PlaceId> {
        let mut folder = folder;
        loop {
            if let Some(place) = self.library.place_named(folder) {
                return Some(place);
            }
            folder = folder.rsplit_once('/')?.0;
        }
    }

    fn topic(&mut self, file: &LibraryFile<'_>, topic: &syntax::Topic) {
        let name = &topic.name;
        if let Some((_, first)) = self.names.topics.get(&name.value) {
            let first = *first;
            self.twice(&name.value, name.span, first);
            return;
        }
        let permit = if topic.permit.value == "none" {
            None
        } else {
            let known = self.vocabulary().permit(&topic.permit.value);
            if known.is_none() {
                let names = self.vocabulary().permits.iter().map(|p| p.name.as_str());
                self.unknown_name(
                    &topic.permit.value,
                    topic.permit.span,
                    "a kind of permit, or `none`",
                    nearest(&topic.permit.value, names),
                );
            }
            known
        };
        let id = TopicId::at(self.library.topics.len());
        let home = match file.role {
            Role::Place(folder) => self.place_around(folder),
            Role::Shared | Role::Model => None,
        };
        self.names
            .topics
            .insert(name.value.clone(), (id, name.span));
        self.owners.insert(file.id, Owner::Topic(id));
        self.library.topics.push(Topic {
            name: name.value.clone(),
            title: topic.title.value.clone(),
            permit,
            home,
            span: name.span,
        });
    }

    /// Limits and tables whole, defines and rules by name.
    fn declare_owned<'b>(&mut self, files: &[LibraryFile<'b>]) -> Bodies<'b> {
        let mut bodies = Bodies::default();
        for file in files {
            let owner = self.owners.get(&file.id).copied();
            for item in &file.file.items {
                if self.has_enough() {
                    return bodies;
                }
                match item {
                    Item::Limit(limit) => {
                        if let Some(owner) = self.owner_or_tell(owner, "a limit", limit.span) {
                            self.declare_limit(owner, limit);
                        }
                    }
                    Item::Table(table) => {
                        if let Some(owner) = self.owner_or_tell(owner, "a table", table.span) {
                            self.declare_table(owner, table);
                        }
                    }
                    Item::Define(define) => {
                        if let Some(owner) = self.owner_or_tell(owner, "a define", define.span)
                            && self.declare_define(owner, define)
                        {
                            bodies.defines.push((owner, define));
                        }
                    }
                    Item::Rule(rule) => match owner {
                        Some(owner @ Owner::Topic(topic)) => {
                            if let Some(id) = self.declare_rule(topic, owner, rule) {
                                bodies.rules.push(RuleBody { id, owner, rule });
                            }
                        }
                        Some(Owner::Place(_)) | None => {
                            let error = CheckError::NoTopic {
                                item: "a rule",
                                at: rule.name.span,
                            };
                            self.tell(error, rule.name.span);
                        }
                    },
                    Item::Holds(_)
                    | Item::Permits(_)
                    | Item::Hazards(_)
                    | Item::People(_)
                    | Item::Choice(_)
                    | Item::Size(_)
                    | Item::Thing(_)
                    | Item::Extend(_)
                    | Item::List(_)
                    | Item::Survey(_)
                    | Item::Source(_)
                    | Item::Topic(_)
                    | Item::Place(_)
                    | Item::Statement(_)
                    | Item::Variance(_) => {}
                }
            }
        }
        // A place may speak of any topic's rules, so it is listened to once all are declared.
        for file in files {
            let owner = self.owners.get(&file.id).copied();
            for item in &file.file.items {
                if let Item::Statement(statement) = item {
                    self.declare_carried(statement, owner, &mut bodies);
                }
            }
        }
        bodies
    }

    fn owner_or_tell(
        &mut self,
        owner: Option<Owner>,
        item: &'static str,
        at: Span,
    ) -> Option<Owner> {
        if owner.is_none() {
            self.tell(CheckError::NoTopic { item, at }, at);
        }
        owner
    }

    /// Takes a name for its owner, unless it is taken.
    fn take_name(&mut self, owner: Owner, name: &syntax::Name, declared: Declared) -> bool {
        let key = (owner, name.value.clone());
        if let Some((_, first)) = self.names.owned.get(&key) {
            let first = *first;
            self.twice(&name.value, name.span, first);
            return false;
        }
        self.names.owned.insert(key, (declared, name.span));
        true
    }

    fn declare_limit(&mut self, owner: Owner, limit: &syntax::Limit) {
        let Some(kind) = self.kind(&limit.kind) else {
            return;
        };
        let values: Vec<_> = limit
            .values
            .iter()
            .filter_map(|value| {
                let read = constants::constant(self.vocabulary(), value, kind);
                self.told(read, value.span)
            })
            .collect();
        if values.len() != limit.values.len() {
            return;
        }
        if limit.citations.is_empty() && !limit.values.is_empty() {
            self.no_citation("limit", &limit.name);
        }
        let citations = self.citations(&limit.citations);
        let id = LimitId::at(self.library.limits.len());
        if self.take_name(owner, &limit.name, Declared::Limit(id)) {
            self.library.limits.push(Limit {
                name: limit.name.value.clone(),
                owner,
                kind,
                values,
                meaning: limit.meaning.as_ref().map(|text| text.value.clone()),
                narrowing: limit.narrowing.as_ref().map(|narrowing| narrowing.value),
                citations,
                span: limit.name.span,
            });
        }
    }

    fn no_citation(&mut self, what: &'static str, name: &syntax::Name) {
        let error = CheckError::NoCitation {
            what,
            name: name.value.clone(),
            at: name.span,
        };
        self.tell(error, name.span);
    }

    fn declare_define(&mut self, owner: Owner, define: &syntax::Define) -> bool {
        let gives = self.kind(&define.gives);
        let parameters: Vec<_> = define
            .parameters
            .iter()
            .map(|parameter| {
                let [kind] = parameter.kinds.as_slice() else {
                    let at = parameter.name.span;
                    let error = CheckError::Expected {
                        expected: "one type".into(),
                        found: "several".into(),
                        at,
                        help: "a define takes one type a parameter: write one define for each"
                            .into(),
                    };
                    self.tell(error, at);
                    return None;
                };
                let thing = self.vocabulary().thing_names.get(&kind.value).copied();
                let kind = match thing {
                    Some(thing) => ParameterKind::Thing(thing),
                    None => ParameterKind::Value(self.kind(kind)?),
                };
                Some((parameter.name.value.clone(), kind))
            })
            .collect();
        let parameters = parameters.into_iter().collect::<Option<Vec<_>>>();
        let (Some(gives), Some(parameters)) = (gives, parameters) else {
            return false;
        };
        let id = DefineId::at(self.signatures.len());
        if !self.take_name(owner, &define.name, Declared::Define(id)) {
            return false;
        }
        self.signatures.push(Signature {
            name: define.name.value.clone(),
            parameters,
            gives,
        });
        true
    }

    /// The type of a name.
    fn kind(&mut self, name: &syntax::Name) -> Option<crate::vocabulary::Type> {
        use crate::vocabulary::Type;
        let known = Type::named(&name.value).or_else(|| {
            let scale = self.vocabulary().scale_names.get(&name.value)?;
            Some(Type::Label(*scale))
        });
        if known.is_none() {
            let names = Type::NAMES
                .into_iter()
                .chain(self.vocabulary().scale_names.keys().map(String::as_str));
            self.unknown_name(
                &name.value,
                name.span,
                "a type",
                nearest(&name.value, names),
            );
        }
        known
    }

    fn citations(&mut self, written: &[syntax::Citation]) -> Vec<Citation> {
        written
            .iter()
            .filter_map(|citation| self.citation(citation))
            .collect()
    }

    fn citation(&mut self, citation: &syntax::Citation) -> Option<Citation> {
        let name = &citation.document;
        let Some((document, _)) = self.names.documents.get(&name.value).copied() else {
            self.unknown_name(
                &name.value,
                name.span,
                "a source",
                nearest(&name.value, self.names.documents.keys().map(String::as_str)),
            );
            return None;
        };
        Some(Citation {
            document,
            section: citation.section.value.clone(),
            from_memory: citation.from_memory,
        })
    }

    fn define_all(&mut self, bodies: &Bodies<'_>) {
        for (at, (owner, define)) in bodies.defines.iter().enumerate() {
            let signature = &self.signatures[at];
            let mut scope = Scope {
                owners: self.owners_from(*owner),
                locals: Vec::new(),
                parameters: signature.parameters.clone(),
                unbound: Vec::new(),
            };
            let (parameters, gives) = (signature.parameters.clone(), signature.gives);
            let citations = self.citations(&define.citations);
            let body = if self.has_enough() {
                None
            } else {
                self.of_type(&mut scope, &define.body, gives)
            };
            // A body with a mistake stands in as a parameter: nothing looks at it any more.
            let body = body.unwrap_or(typed::Expression {
                kind: typed::ExpressionKind::Parameter(0),
                gives,
                span: define.body.span,
            });
            self.library.defines.push(typed::Define {
                name: define.name.value.clone(),
                owner: *owner,
                parameters,
                gives,
                body,
                citations,
                span: define.name.span,
            });
        }
    }

    /// Whose names are known by themselves where an owner's expressions stand.
    fn owners_from(&self, owner: Owner) -> Vec<Owner> {
        match owner {
            Owner::Place(_) => vec![owner],
            Owner::Topic(topic) => {
                let home = self.library.topics[topic.index()].home;
                std::iter::once(owner)
                    .chain(home.map(Owner::Place))
                    .collect()
            }
        }
    }
}
