//! A file of cases in, each expectation and what came of it out.
//!
//! The model's cases are judged as if the whole topic were adopted everywhere and nothing amended;
//! a place's cases, by the rules in force at that place. A case is read once: what it expects of a
//! rule is kept beside that rule alone, compiled, so that a change of it is judged quickly.

use std::borrow::Cow;

use super::error::CaseError;
use crate::check::typed::{Constant, Library, PlaceId, TopicId};
use crate::check::{limit_constant, nearest};
use crate::finding::Verdict;
use crate::judge::{Judgement, dates, judge};
use crate::layers::{Dates, InForce, as_written, in_force};
use crate::library::{Opened, Problem};
use crate::program::{Program, compile};
use crate::record::error::Mistakes;
use crate::record::facts::Record;
use crate::record::read_fragment;
use crate::record::tree::Node;
use crate::record::yaml;
use crate::source::{Located, SourceId, Sources, Span, Spanned};
use crate::survey;

/// What one case expects of one rule, and what was found.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// The case.
    pub case: String,
    /// Where it stands.
    pub span: Span,
    /// The rule.
    pub rule: String,
    /// The verdicts expected, one a subject; a single one is of every subject.
    pub expected: Vec<Verdict>,
    /// The verdicts found, in the order of subjects.
    pub found: Vec<Verdict>,
}

impl Outcome {
    /// Whether it is as expected.
    pub fn holds(&self) -> bool {
        as_expected(&self.expected, &self.found)
    }
}

/// Whether verdicts are as expected, where a single one is expected of every subject.
pub(super) fn as_expected(expected: &[Verdict], found: &[Verdict]) -> bool {
    match expected {
        [one] => !found.is_empty() && found.iter().all(|verdict| verdict == one),
        several => several == found,
    }
}

/// A file of cases, read.
#[derive(Debug, Clone)]
pub(super) struct CaseFile {
    /// Its text.
    pub id: SourceId,
    /// Its tree.
    pub root: Node<'static>,
    /// Its cases.
    pub cases: Vec<Case>,
}

/// A case, read.
#[derive(Debug, Clone)]
pub(super) struct Case {
    /// What it shows.
    pub name: String,
    /// Where it stands in its file's list.
    pub at: usize,
    /// Its record, as read and before the survey looked at it.
    pub record: Record,
    /// The same, completed.
    pub complete: Record,
    /// What it expects, a rule each.
    pub checks: Vec<Check>,
}

/// What a case expects of one rule.
#[derive(Debug, Clone)]
pub(super) struct Check {
    /// The rule's id.
    pub rule: String,
    /// Where the expectation stands.
    pub span: Span,
    /// The verdicts expected.
    pub expected: Vec<Verdict>,
    /// That rule alone as the case's place and date have it.
    pub program: Program,
}

impl Check {
    /// The verdicts on a record.
    pub fn verdicts(&self, opened: &Opened, record: &Record) -> Vec<Verdict> {
        verdicts(&self.program, opened, record)
    }

    /// Whether verdicts are as it expects.
    pub fn expects(&self, found: &[Verdict]) -> bool {
        as_expected(&self.expected, found)
    }

    /// What came of it.
    pub fn outcome(&self, opened: &Opened, case: &Case) -> Outcome {
        Outcome {
            case: case.name.clone(),
            span: self.span,
            rule: self.rule.clone(),
            expected: self.expected.clone(),
            found: self.verdicts(opened, &case.complete),
        }
    }
}

/// The verdicts of a program on a record, in the order of subjects.
pub(super) fn verdicts(program: &Program, opened: &Opened, record: &Record) -> Vec<Verdict> {
    judge(program, &opened.library.vocabulary, &opened.survey, record)
        .iter()
        .map(Judgement::verdict)
        .collect()
}

impl CaseFile {
    /// What came of each expectation.
    pub fn outcomes(&self, opened: &Opened) -> Vec<Outcome> {
        self.cases
            .iter()
            .flat_map(|case| {
                case.checks
                    .iter()
                    .map(move |check| check.outcome(opened, case))
            })
            .collect()
    }
}

/// Runs every case of a file.
///
/// # Errors
///
/// Mistakes of the file and of its records.
pub fn run_cases(
    opened: &Opened,
    sources: &Sources,
    id: SourceId,
) -> Result<Vec<Outcome>, Vec<Problem>> {
    let file = read_cases(opened, sources, id, &|_| true)?;
    Ok(file.map_or_else(Vec::new, |file| file.outcomes(opened)))
}

/// Whether a text has nothing but comments.
fn holds_nothing(text: &str) -> bool {
    let mut lines = text.lines().map(str::trim_start);
    lines.all(|line| line.is_empty() || line.starts_with('#'))
}

/// Reads every case of a file; none of an empty one, or of one whose cases aren't wanted.
///
/// # Errors
///
/// Mistakes of the file and of its records.
pub(super) fn read_cases(
    opened: &Opened,
    sources: &Sources,
    id: SourceId,
    wanted: &dyn Fn(Under) -> bool,
) -> Result<Option<CaseFile>, Vec<Problem>> {
    // A place may have laid its file down and written no case yet.
    if holds_nothing(&sources.get(id).text) {
        return Ok(None);
    }
    let mut mistakes = Mistakes::default();
    let root = yaml::parse(sources, id, &mut mistakes);
    if !mistakes.is_empty() {
        return Err(problems(mistakes.told(sources)));
    }
    let Some(root) = root else {
        return Ok(None);
    };
    let mut run = Run {
        opened,
        sources,
        id,
        problems: Vec::new(),
    };
    let read = run.file(&root, wanted);
    if !run.problems.is_empty() {
        return Err(run.problems);
    }
    Ok(read.map(|cases| CaseFile {
        id,
        root: root.into_owned(),
        cases,
    }))
}

fn problems<E: miette::Diagnostic + Send + Sync + 'static>(
    errors: Vec<Located<E>>,
) -> Vec<Problem> {
    errors.into_iter().map(Problem::from).collect()
}

/// By what a file's cases are judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Under {
    /// By a topic's own rules.
    Topic(TopicId),
    /// By what is in force at a place.
    Place(PlaceId),
}

const FILE_KEYS: [&str; 5] = ["topic", "place", "head", "set", "cases"];
const CASE_KEYS: [&str; 5] = ["case", "head", "set", "record", "expect"];

struct Run<'a> {
    opened: &'a Opened,
    sources: &'a Sources,
    id: SourceId,
    problems: Vec<Problem>,
}

impl Run<'_> {
    fn tell(&mut self, error: CaseError) {
        self.problems.push(Problem::from(Located {
            source: self.id,
            error,
        }));
    }

    fn file(&mut self, root: &Node, wanted: &dyn Fn(Under) -> bool) -> Option<Vec<Case>> {
        self.known_keys(root, &FILE_KEYS, "a file of cases");
        let under = self.under(root).filter(|under| wanted(*under))?;
        let (Some(head), Some(cases)) = (
            self.required(root, "head", "add `head:`, a record's head for all cases"),
            self.required(root, "cases", "add `cases:`, a list of cases"),
        ) else {
            return None;
        };
        let Some(cases) = cases.elements() else {
            self.tell(CaseError::MissingKey {
                key: "cases",
                help: "`cases:` holds a list: `- case: …`",
                at: cases.span,
            });
            return None;
        };
        let cases = cases.iter().enumerate();
        Some(
            cases
                .filter_map(|(at, case)| self.case(root, under, head, (at, case)))
                .collect(),
        )
    }

    fn known_keys(&mut self, node: &Node, known: &[&str], of: &'static str) {
        for entry in node.entries().unwrap_or_default() {
            if !known.contains(&&*entry.key.value) {
                self.tell(CaseError::UnknownKey {
                    key: entry.key.value.to_string(),
                    of,
                    help: nearest(&entry.key.value, known.iter().copied()),
                    at: entry.key.span,
                });
            }
        }
    }

    fn required<'n>(
        &mut self,
        node: &'n Node<'n>,
        key: &'static str,
        help: &'static str,
    ) -> Option<&'n Node<'n>> {
        let found = node.get(key);
        if found.is_none() {
            let at = Span {
                end: node.span.start,
                ..node.span
            };
            self.tell(CaseError::MissingKey { key, help, at });
        }
        found
    }

    fn under(&mut self, root: &Node) -> Option<Under> {
        let library = &self.opened.library;
        if let Some(place) = root.get("place") {
            let name = place.text().unwrap_or_default();
            let found = library.place_named(name);
            if found.is_none() {
                let known = library.places.iter().map(|place| place.path.as_str());
                self.unknown("place", name, nearest(name, known), place.span);
            }
            return found.map(Under::Place);
        }
        let topic = self.required(
            root,
            "topic",
            "say which rules the cases are of: `topic: NAME` or `place: PATH`",
        )?;
        let name = topic.text().unwrap_or_default();
        let found = library.topics.iter().position(|known| known.name == name);
        if found.is_none() {
            let known = library.topics.iter().map(|topic| topic.name.as_str());
            self.unknown("topic", name, nearest(name, known), topic.span);
        }
        let at = u32::try_from(found?).expect("fewer than four billion topics");
        Some(Under::Topic(TopicId(at)))
    }

    fn unknown(&mut self, what: &'static str, name: &str, help: String, at: Span) {
        self.tell(CaseError::UnknownName {
            what,
            name: name.to_owned(),
            help,
            at,
        });
    }

    fn case(
        &mut self,
        root: &Node,
        under: Under,
        head: &Node,
        (at, case): (usize, &Node),
    ) -> Option<Case> {
        self.known_keys(case, &CASE_KEYS, "a case");
        let (Some(name), Some(fragment), Some(expect)) = (
            self.required(case, "case", "say what it shows: `case: …`"),
            self.required(case, "record", "add `record:`, what was recorded"),
            self.required(case, "expect", "add `expect:`, a verdict by rule"),
        ) else {
            return None;
        };
        let departures: Vec<&Node> = case.get("head").into_iter().collect();
        let vocabulary = &self.opened.library.vocabulary;
        let record = match read_fragment(vocabulary, self.sources, head, &departures, fragment) {
            Ok(record) => record,
            Err(errors) => {
                self.problems.extend(problems(errors));
                return None;
            }
        };
        let mut library = Cow::Borrowed(&self.opened.library);
        for set in [root.get("set"), case.get("set")].into_iter().flatten() {
            self.set(library.to_mut(), set);
        }
        let standing = self.standing(&library, under, &record)?;
        let mut checks = Vec::new();
        for entry in expect.entries().unwrap_or_default() {
            let Some(rule) = self.rule(&library, under, &entry.key.value, entry.key.span) else {
                continue;
            };
            let Some(expected) = self.verdicts(&entry.value) else {
                continue;
            };
            checks.push(Check {
                program: self.alone(&library, &standing, &rule),
                rule,
                span: entry.key.span,
                expected,
            });
        }
        Some(Case {
            name: name.text().unwrap_or_default().to_owned(),
            at,
            complete: survey::complete(vocabulary, record.clone()),
            record,
            checks,
        })
    }

    /// One rule of those in force, compiled.
    fn alone(&self, library: &Library, standing: &InForce, rule: &str) -> Program {
        let mut alone = InForce {
            topics: standing.topics.clone(),
            ..InForce::default()
        };
        alone.rules = standing
            .rules
            .iter()
            .filter(|known| library.rules[known.rule.index()].id == rule)
            .cloned()
            .collect();
        let mut program = compile(library, &self.opened.survey, alone);
        // Judging asks only the rules.
        program.topics = Vec::new();
        program
    }

    fn verdicts(&mut self, node: &Node) -> Option<Vec<Verdict>> {
        let alone = std::slice::from_ref(node);
        let words = node.elements().unwrap_or(alone);
        let verdicts: Vec<_> = words
            .iter()
            .map(|word| {
                let found = word.text().unwrap_or_default();
                let verdict = Verdict::named(found);
                if verdict.is_none() {
                    self.tell(CaseError::Verdict {
                        found: found.to_owned(),
                        at: word.span,
                    });
                }
                verdict
            })
            .collect();
        verdicts.into_iter().collect()
    }

    /// The id of a rule: a topic's cases name it alone, a place's with its topic.
    fn rule(&mut self, library: &Library, under: Under, key: &str, at: Span) -> Option<String> {
        let id = match under {
            Under::Topic(topic) => {
                format!("{}.{}", library.topics[topic.index()].name, key)
            }
            Under::Place(_) => key.to_owned(),
        };
        if library.rules.iter().any(|rule| rule.id == id) {
            return Some(id);
        }
        let known = library.rules.iter().map(|rule| rule.id.as_str());
        self.unknown("rule", &id, nearest(&id, known), at);
        None
    }

    /// Fills limits that the model leaves open.
    fn set(&mut self, library: &mut Library, set: &Node) {
        for entry in set.entries().unwrap_or_default() {
            let name = &entry.key.value;
            let found = library.limits.iter().position(|limit| {
                limit.values.is_empty() && library.owned_name(limit.owner, &limit.name) == *name
            });
            let Some(at) = found else {
                let open: Vec<String> = library
                    .limits
                    .iter()
                    .filter(|limit| limit.values.is_empty())
                    .map(|limit| library.owned_name(limit.owner, &limit.name))
                    .collect();
                let help = nearest(name, open.iter().map(String::as_str));
                self.unknown("open limit", name, help, entry.key.span);
                continue;
            };
            if let Some(value) = self.constant(library, at, &entry.value) {
                library.limits[at].values = vec![value];
            }
        }
    }

    fn constant(&mut self, library: &Library, limit: usize, node: &Node) -> Option<Constant> {
        let known = &library.limits[limit];
        let text = Spanned::new(node.text().unwrap_or_default().to_owned(), node.span);
        match limit_constant(&library.vocabulary, &text, known.kind) {
            Ok(constant) => Some(constant),
            Err(_) => {
                let found = text.value;
                self.tell(CaseError::Value {
                    found,
                    limit: known.name.clone(),
                    expected: library.vocabulary.type_name(known.kind),
                    at: node.span,
                });
                None
            }
        }
    }

    fn standing(&mut self, library: &Library, under: Under, record: &Record) -> Option<InForce> {
        let dates = dates(record);
        match under {
            Under::Topic(topic) => Some(topic_alone(library, topic, &dates)),
            Under::Place(place) => match in_force(library, &[place], &dates) {
                Ok(standing) => Some(standing),
                Err(errors) => {
                    let located = errors.into_iter().map(|error| Located {
                        source: self.id,
                        error,
                    });
                    self.problems.extend(problems(located.collect()));
                    None
                }
            },
        }
    }
}

/// A topic's own rules as if they were adopted everywhere and nothing amended, by any date of its
/// kind of permit.
fn topic_alone(library: &Library, topic: TopicId, dates: &Dates) -> InForce {
    let kind = library.topics[topic.index()].permit;
    let permit = dates
        .permits
        .iter()
        .find(|permit| Some(permit.kind) == kind);
    let date = match (kind, permit) {
        (None, _) => Some(dates.recorded),
        (Some(_), Some(permit)) => permit.issued.or(permit.applied).or(permit.plan_approved),
        (Some(_), None) => None,
    };
    as_written(library, |of| of == topic, date, dates.recorded)
}
