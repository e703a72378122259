//! The text of a mapping sheet in, what each column means out.

use std::collections::BTreeMap;

use super::error::SheetError;
use super::path::{self, Kind, Step, Target};
use crate::language::syntax::Origin;
use crate::record::error::Mistakes;
use crate::record::names;
use crate::record::reading::HOWS;
use crate::record::tree::{Entry, Node, NodeKind, Scalar, Style};
use crate::record::value::{self, Field};
use crate::record::yaml;
use crate::record::{self, tolerances};
use crate::source::{Located, SourceId, Sources, Span};
use crate::vocabulary::{PointKind, Type, Vocabulary};

/// The keys of a sheet.
pub const SHEET_KEYS: [&str; 6] = [
    "sheet",
    "separator",
    "constants",
    "columns",
    "texts",
    "asked",
];

/// The keys of a column.
pub const COLUMN_KEYS: [&str; 5] = ["to", "unit", "tolerance", "how", "texts"];

/// The word for what is read as an empty cell.
const EMPTY: &str = "empty";

/// What the columns of a table mean.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// The text it was read from.
    pub source: SourceId,
    /// What stands between cells.
    pub separator: u8,
    /// What every row shares, as a record without what its row says.
    pub(super) constants: Vec<Entry<'static>>,
    /// The columns by what stands above them.
    pub(super) columns: BTreeMap<String, Column>,
    /// The facts and lists that the cards ever had, as paths without places in lists; none where
    /// the sheet doesn't say and has no columns.
    pub asked: Option<Vec<String>>,
}

/// What one column means.
#[derive(Debug, Clone, Default)]
pub(super) struct Column {
    /// Where its cells go; nowhere where it is passed over.
    pub targets: Vec<Target>,
    pub unit: Option<String>,
    pub tolerance: Option<String>,
    pub how: Option<String>,
    /// Texts in place of words, in lower case.
    pub texts: BTreeMap<String, Option<String>>,
}

/// Reads a mapping sheet.
///
/// # Errors
///
/// All mistakes of the sheet.
pub fn read(
    vocabulary: &Vocabulary,
    sources: &Sources,
    id: SourceId,
) -> Result<Sheet, Vec<Located<SheetError>>> {
    let mut text_mistakes = Mistakes::default();
    let root = yaml::parse(sources, id, &mut text_mistakes);
    let mut reader = Reader {
        vocabulary,
        mistakes: Vec::new(),
        said: BTreeMap::new(),
    };
    let sheet = root.and_then(|root| reader.sheet(&root, id, &mut text_mistakes));
    let told = text_mistakes.told(sources).into_iter();
    let mut mistakes: Vec<SheetError> = told
        .map(|located| SheetError::Text(Box::new(located.error)))
        .collect();
    mistakes.extend(reader.mistakes);
    match sheet {
        Some(sheet) if mistakes.is_empty() => Ok(sheet),
        Some(_) | None => Err(located(mistakes, id)),
    }
}

fn located(mistakes: Vec<SheetError>, source: SourceId) -> Vec<Located<SheetError>> {
    let mut mistakes = mistakes;
    mistakes.sort_by_key(SheetError::at);
    let located = mistakes.into_iter();
    located.map(|error| Located { source, error }).collect()
}

struct Reader<'v> {
    vocabulary: &'v Vocabulary,
    mistakes: Vec<SheetError>,
    /// The paths that columns say already.
    said: BTreeMap<String, Span>,
}

impl Reader<'_> {
    fn sheet(&mut self, root: &Node, id: SourceId, texts: &mut Mistakes) -> Option<Sheet> {
        let entries = self.mapping(root, "a mapping sheet", "begin with `sheet: 1`")?;
        if root.get("sheet").and_then(Node::text) != Some("1") {
            let at = root.get("sheet").map_or(short(root.span), |node| node.span);
            self.shape("another format", "`sheet: 1`", "begin with `sheet: 1`", at);
            return None;
        }
        self.known(entries, &SHEET_KEYS, "a mapping sheet");
        let constants = match root.get("constants").filter(|node| !node.is_empty()) {
            Some(node) => {
                let mend = "write it like a record, `constants: { stage: hand_over, … }`";
                let entries = self.mapping(node, "what all rows share", mend)?;
                let entries = entries.iter().cloned();
                entries.map(Entry::into_owned).collect()
            }
            None => Vec::new(),
        };
        let shared = self.spelled(root.get("texts"));
        let mut columns = BTreeMap::new();
        if let Some(node) = root.get("columns").filter(|node| !node.is_empty()) {
            let mend = "write a line a column, `Cover (in): { to: …, unit: in }`";
            for entry in self.mapping(node, "the columns", mend)? {
                let column = self.column(entry, &shared, &constants, texts);
                columns.insert(entry.key.value.trim().to_owned(), column);
            }
        }
        let separator = self.separator(root.get("separator"));
        let asked = self.asked(root.get("asked"), &columns, &constants);
        Some(Sheet {
            source: id,
            separator,
            constants,
            columns,
            asked,
        })
    }

    fn column(
        &mut self,
        entry: &Entry,
        shared: &[(Spelling, Span)],
        constants: &[Entry],
        texts: &mut Mistakes,
    ) -> Column {
        if entry.value.is_word("ignored") {
            return Column::default();
        }
        let mend = "write `{ to: site.frost_depth, unit: in }`, or `ignored`";
        let Some(entries) = self.mapping(&entry.value, "what the column means", mend) else {
            return Column::default();
        };
        self.known(entries, &COLUMN_KEYS, "a column");
        let Some(to) = entry.value.get("to").filter(|node| !node.is_empty()) else {
            let at = entry.key.span;
            self.shape("a column that goes nowhere", "`to`", mend, at);
            return Column::default();
        };
        let targets = self.targets(to, constants);
        let mut column = Column {
            unit: self.part(&entry.value, "unit"),
            tolerance: self.part(&entry.value, "tolerance"),
            how: self.part(&entry.value, "how"),
            ..Column::default()
        };
        for target in &targets {
            self.unit(target, entry.value.get("unit"));
            self.tolerance(target, entry.value.get("tolerance"), texts);
            self.how(target, entry.value.get("how"));
        }
        let own = self.spelled(entry.value.get("texts"));
        for (spelling, at) in &own {
            for target in &targets {
                self.word(target, spelling, *at);
            }
        }
        for (spelling, at) in shared.iter().filter(|(one, _)| fits_all(one, &targets)) {
            self.spell(&mut column, spelling, *at);
        }
        for (spelling, at) in &own {
            self.spell(&mut column, spelling, *at);
        }
        column.targets = targets;
        column
    }

    fn part(&mut self, column: &Node, key: &str) -> Option<String> {
        let node = column.get(key).filter(|node| !node.is_empty())?;
        let text = node.text().map(|text| text.trim().to_owned());
        if text.is_none() {
            let mend = "write one value, such as `unit: in`";
            self.shape(node.called(), "one value", mend, short(node.span));
        }
        text
    }

    // Where cells go.

    fn targets(&mut self, to: &Node, constants: &[Entry]) -> Vec<Target> {
        let nodes = to.elements().unwrap_or(std::slice::from_ref(to));
        let targets = nodes.iter().filter_map(|node| self.target(node, constants));
        targets.collect()
    }

    fn target(&mut self, node: &Node, constants: &[Entry]) -> Option<Target> {
        let at = node.span;
        let Some(text) = node.text() else {
            let mend = "write `to: site.frost_depth`, or several as `to: [ …, … ]`";
            self.shape(node.called(), "a path", mend, short(at));
            return None;
        };
        let target = match path::target(self.vocabulary, text.trim()) {
            Ok(target) => target,
            Err(mend) => {
                let path = text.to_owned();
                self.mistakes
                    .push(SheetError::UnknownPath { path, mend, at });
                return None;
            }
        };
        let first = match self.said.insert(target.path.clone(), at) {
            Some(first) => Some(first),
            None => said_by(constants, &target),
        };
        if let Some(first) = first {
            let path = target.path.clone();
            let again = at;
            self.mistakes
                .push(SheetError::SaidTwice { path, first, again });
        }
        Some(target)
    }

    // What belongs to a cell's value.

    fn unit(&mut self, target: &Target, node: Option<&Node>) {
        let Some((text, at)) = written(node) else {
            return;
        };
        let Kind::Fact(fact) = &target.kind else {
            return self.not_taken(target, "unit", at);
        };
        let mend = match fact.kind {
            Type::YesNo | Type::Text | Type::Reference | Type::Point(PointKind::Date) => {
                return self.not_taken(target, "unit", at);
            }
            Type::Label(scale) => {
                let labels = || self.vocabulary.scale(scale).places.iter().flatten();
                if labels().any(|label| label.ends_with(&format!(" {text}"))) {
                    return;
                }
                names::list("write labels like", labels().map(String::as_str))
            }
            Type::Quantity(_) | Type::Slope | Type::Point(_) => {
                let field = Field {
                    key: &fact.name,
                    kind: fact.kind,
                    unit: fact.unit.as_ref(),
                };
                let one = Scalar {
                    text: format!("1 {text}").into(),
                    style: Style::Plain,
                };
                match value::quantity(field, &one, at) {
                    Ok(_) => return,
                    Err(error) => miette::Diagnostic::help(&error)
                        .map(|help| help.to_string())
                        .unwrap_or_default(),
                }
            }
        };
        self.mistakes.push(SheetError::Unit {
            unit: text.to_owned(),
            path: target.path.clone(),
            expected: value::with_article(fact.kind),
            mend,
            at,
        });
    }

    fn tolerance(&mut self, target: &Target, node: Option<&Node>, texts: &mut Mistakes) {
        let Some((_, at)) = written(node) else {
            return;
        };
        match &target.kind {
            Kind::Fact(fact) if is_measure(fact.kind) && fact.origin == Origin::Measured => {
                if node.is_some_and(|node| node.is_word("exact")) {
                    let mend = "write it with its unit, such as `tolerance: 0 in`";
                    self.shape("a word", "a tolerance with its unit", mend, at);
                } else if let Some(node) = node {
                    tolerances::read_one(&fact.name, fact.kind, node, texts);
                }
            }
            Kind::Fact(_) | Kind::Head | Kind::Id | Kind::List => {
                self.not_taken(target, "tolerance", at);
            }
        }
    }

    fn how(&mut self, target: &Target, node: Option<&Node>) {
        let Some((text, at)) = written(node) else {
            return;
        };
        let ways = || HOWS.iter().map(|(name, _)| *name);
        match &target.kind {
            Kind::Fact(_) if ways().any(|way| way == text) => {}
            Kind::Fact(_) => self.mistakes.push(SheetError::Word {
                word: text.to_owned(),
                path: "how".to_owned(),
                mend: names::suggest(text, ways()),
                at,
            }),
            Kind::Head | Kind::Id | Kind::List => self.not_taken(target, "way to read", at),
        }
    }

    fn not_taken(&mut self, target: &Target, what: &'static str, at: Span) {
        let path = target.path.clone();
        self.mistakes.push(SheetError::NotTaken { path, what, at });
    }

    // Texts in place of words.

    fn spelled(&mut self, node: Option<&Node>) -> Vec<(Spelling, Span)> {
        let Some(node) = node.filter(|node| !node.is_empty()) else {
            return Vec::new();
        };
        let mend = "write `texts: { yes: [ Y, x ], no: [ N ], none: [ none ], empty: [ \"-\" ] }`";
        let mut found = Vec::new();
        for entry in self
            .mapping(node, "words and their texts", mend)
            .unwrap_or_default()
        {
            let texts = entry.value.elements();
            for text in texts.unwrap_or(std::slice::from_ref(&entry.value)) {
                let Some(written) = text.text() else {
                    self.shape(text.called(), "a text", mend, short(text.span));
                    continue;
                };
                let spelling = Spelling {
                    word: entry.key.value.to_string(),
                    text: plain(written),
                };
                found.push((spelling, text.span));
            }
        }
        found
    }

    fn spell(&mut self, column: &mut Column, spelling: &Spelling, at: Span) {
        let word = (spelling.word != EMPTY).then(|| spelling.word.clone());
        let known = column.texts.insert(spelling.text.clone(), word.clone());
        if known.is_some_and(|known| known != word) {
            let text = spelling.text.clone();
            self.mistakes.push(SheetError::TwoMeanings { text, at });
        }
    }

    fn word(&mut self, target: &Target, spelling: &Spelling, at: Span) {
        if fits(spelling, target) || is_label(self.vocabulary, target, &spelling.word) {
            return;
        }
        let labels: Vec<&str> = match &target.kind {
            Kind::Fact(fact) => match fact.kind {
                Type::Label(scale) => {
                    let places = self.vocabulary.scale(scale).places.iter();
                    places.flatten().map(String::as_str).collect()
                }
                Type::YesNo => vec!["yes", "no"],
                Type::Quantity(_) | Type::Slope | Type::Point(_) => Vec::new(),
                Type::Text | Type::Reference => Vec::new(),
            },
            Kind::List => vec!["none"],
            Kind::Head | Kind::Id => Vec::new(),
        };
        let words = labels.into_iter().chain([EMPTY]);
        self.mistakes.push(SheetError::Word {
            word: spelling.word.clone(),
            path: target.path.clone(),
            mend: names::suggest(&spelling.word, words),
            at,
        });
    }

    // The rest of a sheet.

    fn separator(&mut self, node: Option<&Node>) -> u8 {
        let Some((text, at)) = written(node) else {
            return b',';
        };
        match text {
            "," => b',',
            ";" => b';',
            "tab" => b'\t',
            _ => {
                let mend = "write `separator: ;` or `separator: tab`";
                self.shape("another separator", "`,`, `;` or `tab`", mend, at);
                b','
            }
        }
    }

    /// What the sheet says was asked; else what its columns and constants say.
    fn asked(
        &mut self,
        node: Option<&Node>,
        columns: &BTreeMap<String, Column>,
        constants: &[Entry],
    ) -> Option<Vec<String>> {
        if let Some(node) = node.filter(|node| !node.is_empty()) {
            let paths = node.elements().unwrap_or(std::slice::from_ref(node));
            return Some(
                paths
                    .iter()
                    .filter_map(|path| self.one_asked(path))
                    .collect(),
            );
        }
        if columns.is_empty() {
            return None;
        }
        let targets = columns.values().flat_map(|column| &column.targets);
        let mut asked: Vec<String> = targets
            .map(|target| path::without_indices(&target.path))
            .collect();
        let facts = constants
            .iter()
            .filter(|entry| !record::HEAD_KEYS.contains(&&*entry.key.value));
        asked.extend(facts.flat_map(|entry| leaves(&entry.key.value, &entry.value)));
        asked.sort();
        asked.dedup();
        Some(asked)
    }

    fn one_asked(&mut self, node: &Node) -> Option<String> {
        let at = short(node.span);
        let Some(text) = node.text() else {
            let mend = "write `asked: [ site.frost_depth, supply_cables.spans.cover ]`";
            self.shape(node.called(), "a path", mend, at);
            return None;
        };
        let path = path::without_indices(text.trim());
        match path::is_known(self.vocabulary, &path) {
            Ok(()) => Some(path),
            Err(mend) => {
                let at = node.span;
                self.mistakes
                    .push(SheetError::UnknownPath { path, mend, at });
                None
            }
        }
    }

    fn known(&mut self, entries: &[Entry], keys: &[&'static str], owner: &'static str) {
        for entry in entries {
            let key = &*entry.key.value;
            if !keys.contains(&key) {
                self.mistakes.push(SheetError::UnknownKey {
                    key: key.to_owned(),
                    owner,
                    mend: names::suggest(key, keys.iter().copied()),
                    at: entry.key.span,
                });
            }
        }
    }

    fn mapping<'n>(
        &mut self,
        node: &'n Node<'n>,
        expected: &'static str,
        mend: &'static str,
    ) -> Option<&'n [Entry<'n>]> {
        let entries = node.entries();
        if entries.is_none() {
            self.shape(node.called(), expected, mend, short(node.span));
        }
        entries
    }

    fn shape(&mut self, found: &str, expected: &'static str, mend: &'static str, at: Span) {
        self.mistakes.push(SheetError::Shape {
            found: found.to_owned(),
            expected,
            mend,
            at,
        });
    }
}

/// A text that stands for a word.
#[derive(Debug, Clone)]
struct Spelling {
    word: String,
    text: String,
}

/// How texts are compared: as spreadsheets do, without regard to case and blanks around.
pub(super) fn plain(text: &str) -> String {
    crate::vocabulary::single_spaced(text).to_lowercase()
}

/// Whether a word of the whole sheet is meant for a column.
fn fits_all(spelling: &Spelling, targets: &[Target]) -> bool {
    targets.iter().all(|target| fits(spelling, target))
}

fn fits(spelling: &Spelling, target: &Target) -> bool {
    match (spelling.word.as_str(), &target.kind) {
        (EMPTY, _) | ("none", Kind::List) => true,
        ("yes" | "no", Kind::Fact(fact)) => fact.kind == Type::YesNo,
        ("none", Kind::Fact(fact)) => matches!(fact.kind, Type::Label(_)),
        (_, Kind::Head | Kind::Id | Kind::Fact(_) | Kind::List) => false,
    }
}

fn is_label(vocabulary: &Vocabulary, target: &Target, word: &str) -> bool {
    match &target.kind {
        Kind::Fact(fact) => match fact.kind {
            Type::Label(scale) => vocabulary.scale(scale).place(word).is_some(),
            Type::Text | Type::Reference => true,
            Type::Quantity(_) | Type::Slope | Type::Point(_) | Type::YesNo => false,
        },
        Kind::Head => true,
        Kind::Id | Kind::List => false,
    }
}

pub(super) fn is_measure(kind: Type) -> bool {
    match kind {
        Type::Quantity(_) | Type::Slope => true,
        Type::Point(point) => point != PointKind::Date,
        Type::YesNo | Type::Text | Type::Reference | Type::Label(_) => false,
    }
}

fn written<'n>(node: Option<&'n Node>) -> Option<(&'n str, Span)> {
    let node = node?;
    Some((node.text()?.trim(), node.span))
}

/// Where the constants say what a path leads to, if they do.
fn said_by(constants: &[Entry], target: &Target) -> Option<Span> {
    let mut entries = constants;
    let mut found = None;
    for step in &target.steps {
        let key = match step {
            Step::Key(key) | Step::Element(key, _) => key,
        };
        let node = &entries.iter().find(|entry| entry.key.value == *key)?.value;
        let node = match step {
            Step::Key(_) => node,
            Step::Element(_, index) => node.elements()?.get(*index)?,
        };
        entries = node.entries().unwrap_or_default();
        found = (!node.is_empty()).then_some(short(node.span));
    }
    found
}

/// The paths of what a constant says, without places in lists.
fn leaves(path: &str, node: &Node) -> Vec<String> {
    match &node.kind {
        NodeKind::Mapping(entries) if node.get("reads").is_none() => entries
            .iter()
            .flat_map(|entry| leaves(&format!("{path}.{}", entry.key.value), &entry.value))
            .collect(),
        NodeKind::Sequence(elements) if elements.iter().any(|one| one.entries().is_some()) => {
            elements.iter().flat_map(|one| leaves(path, one)).collect()
        }
        NodeKind::Empty | NodeKind::Unreadable => Vec::new(),
        NodeKind::Scalar(_) | NodeKind::Mapping(_) | NodeKind::Sequence(_) => {
            vec![path.to_owned()]
        }
    }
}

/// The beginning of a place that may be long.
fn short(span: Span) -> Span {
    Span {
        end: span.end.min(span.start.saturating_add(1)),
        ..span
    }
}
