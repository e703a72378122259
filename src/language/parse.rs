//! Text in, the tree as written out; or its mistakes, at most twenty.
//!
//! `pest` is spoken here and nowhere else. `layout` looks at the text before it: what that lets
//! through has no more than [`DEEPEST`](super::layout::DEEPEST) levels, so that no later pass runs out of stack.

use pest::Parser as _;
use pest::error::{ErrorVariant, InputLocation};
use pest::iterators::Pair;

use super::error::SyntaxError;
use super::layout::{ItemText, Kind, Layout};
use super::mistake::{self, Failure};
use super::syntax::*;
use crate::source::{Located, SourceId, Sources, Span, Spanned};

/// The grammar, and the `Rule` that names its parts.
mod grammar {
    /// What `grammar.pest` describes.
    #[derive(pest_derive::Parser)]
    #[grammar = "language/grammar.pest"]
    pub struct Grammar;
}
use grammar::Grammar;
pub(super) use grammar::Rule as Part;

/// So many mistakes of one file are shown.
const MOST_ERRORS: usize = 20;

/// Reads a file of vocabulary, sources, rules or a place.
///
/// Each item is read by itself, so that a mistake in one hides none in another; of an item that
/// does not read, each clause is.
pub fn parse(sources: &Sources, id: SourceId) -> Result<File, Vec<Located<SyntaxError>>> {
    let (file, errors) = parse_what_reads(sources, id);
    if errors.is_empty() {
        return Ok(file);
    }
    Err(errors)
}

/// Reads the items that do read, and tells the mistakes of the others: for editors, in which some
/// item is always half written.
pub fn parse_what_reads(sources: &Sources, id: SourceId) -> (File, Vec<Located<SyntaxError>>) {
    let mut layout = Layout::of(&sources.get(id).text, id);
    let mut errors = std::mem::take(&mut layout.errors);
    let mut items = Vec::new();
    for item in &layout.items {
        match read_item(&layout, item) {
            Ok(item) => items.push(item),
            Err(more) => errors.extend(more.into_iter().map(|error| (item.start, error))),
        }
    }
    errors.sort_by_key(|(start, _)| *start);
    let errors = errors.into_iter().map(|(_, error)| error).collect();
    (File { items }, located(id, errors))
}

fn located(source: SourceId, mut errors: Vec<SyntaxError>) -> Vec<Located<SyntaxError>> {
    let left_out = errors.len().saturating_sub(MOST_ERRORS);
    errors.truncate(MOST_ERRORS);
    if left_out > 0 {
        errors.push(SyntaxError::MoreLeftOut { count: left_out });
    }
    errors
        .into_iter()
        .map(|error| Located { source, error })
        .collect()
}

/// A part of a text and what it is made of, each word and mark included.
#[derive(Debug)]
pub(super) struct Node {
    /// What it is.
    pub part: Part,
    /// Its first byte.
    pub start: usize,
    /// One past its last byte; of what is made of others, blanks may follow before it.
    pub end: usize,
    /// Its parts in order; none for a word, a mark, a text, a quantity or a name with dots.
    pub parts: Vec<Node>,
}

/// An item with all its words; nothing for one that does not read.
pub(super) fn concrete(layout: &Layout<'_>, item: &ItemText) -> Option<Node> {
    let text = &layout.text[item.start..item.end];
    let pair = read(Part::item_alone, text, item.start).ok()?;
    Some(node(pair, item.start))
}

fn node(pair: Pair<'_, Part>, offset: usize) -> Node {
    let (part, span) = (pair.as_rule(), pair.as_span());
    let parts = match part {
        Part::text | Part::path => Vec::new(),
        _ => pair
            .into_inner()
            // Circumstances may be none.
            .filter(|inner| !inner.as_str().trim().is_empty())
            .map(|inner| node(inner, offset))
            .collect(),
    };
    Node {
        part,
        start: offset + span.start(),
        end: offset + span.end(),
        parts,
    }
}

fn read_item(layout: &Layout<'_>, item: &ItemText) -> Result<Item, Vec<SyntaxError>> {
    let text = &layout.text[item.start..item.end];
    let whole = match read(Part::item_alone, text, item.start) {
        Ok(pair) => {
            let reader = Reader {
                source: layout.source,
                offset: item.start,
            };
            return Ok(reader.item(pair));
        }
        Err(failure) => failure,
    };
    let mut errors = clause_errors(layout, item, &whole);
    if errors.is_empty() {
        errors.push(mistake::of_failure(layout, item, &whole));
    }
    Err(errors)
}

/// The mistakes of the clauses of an item that failed, and of what stands before and after them.
fn clause_errors(layout: &Layout<'_>, item: &ItemText, whole: &Failure) -> Vec<SyntaxError> {
    let clauses = layout.clauses(item);
    let Some(part) = clause_part(item.kind) else {
        return Vec::new();
    };
    let first = clauses.first().map_or(usize::MAX, |clause| clause.start);
    if whole.at < first {
        return Vec::new();
    }
    let mut errors = Vec::new();
    for clause in clauses {
        let text = &layout.text[clause.start..clause.end];
        if let Err(failure) = read(part, text, clause.start) {
            errors.push(mistake::of_failure(layout, &clause, &failure));
        }
    }
    errors
}

fn clause_part(kind: Kind) -> Option<Part> {
    match kind {
        Kind::Rule | Kind::Add | Kind::Replace => Some(Part::clause_alone),
        Kind::Source => Some(Part::source_clause_alone),
        Kind::Place => Some(Part::place_clause_alone),
        Kind::Variance => Some(Part::variance_clause_alone),
        Kind::Table => Some(Part::row_alone),
        Kind::Thing | Kind::Extend => Some(Part::member_alone),
        Kind::Choice => Some(Part::alternative_alone),
        Kind::Size => Some(Part::step_alone),
        Kind::Holds | Kind::Permits | Kind::Hazards | Kind::People => Some(Part::label_alone),
        Kind::List
        | Kind::Survey
        | Kind::Topic
        | Kind::Limit
        | Kind::Define
        | Kind::Adopt
        | Kind::Amend
        | Kind::Set
        | Kind::Strike
        | Kind::Restrict => None,
    }
}

/// Reads one text by one part of the grammar; `offset` is where it lies in its file.
fn read(part: Part, text: &str, offset: usize) -> Result<Pair<'_, Part>, Failure> {
    match Grammar::parse(part, text) {
        Ok(mut pairs) => Ok(pairs.next().expect("a part that was read is there")),
        Err(error) => Err(failure(error, offset)),
    }
}

/// The words of the language that may follow what there is of an item; none where that has a
/// mistake already.
pub fn words_that_may_follow(begun: &str) -> Vec<String> {
    let layout = Layout::of(begun, SourceId(0));
    let [item] = layout.items.as_slice() else {
        return Vec::new();
    };
    let begun = &begun[item.start..];
    let Err(error) = Grammar::parse(Part::item_alone, begun) else {
        return Vec::new();
    };
    let at = match error.location {
        InputLocation::Pos(at) | InputLocation::Span((at, _)) => at,
    };
    let (true, ErrorVariant::ParsingError { positives, .. }) =
        (begun[at..].trim().is_empty(), &error.variant)
    else {
        return Vec::new();
    };
    let mut words: Vec<String> = positives
        .iter()
        .flat_map(|part| first_words(*part))
        .collect();
    words.sort();
    words.dedup();
    words
}

/// The words of the language that a part may begin with.
fn first_words(part: Part) -> Vec<String> {
    let words: &[&str] = match part {
        Part::expression | Part::conditional | Part::primary => &[
            "if",
            "every",
            "some",
            "not",
            "count of",
            "least of",
            "greatest of",
            "total of",
            "lesser of",
            "greater of",
        ],
        Part::disjunction | Part::conjunction | Part::negation => {
            return [&["not".to_owned()], first_words(Part::sum).as_slice()].concat();
        }
        Part::comparison | Part::sum | Part::product | Part::conversion | Part::power => &[
            "count of",
            "least of",
            "greatest of",
            "total of",
            "lesser of",
            "greater of",
        ],
        Part::negative => return first_words(Part::sum),
        Part::count | Part::count_of => &["count of"],
        Part::fold | Part::fold_of => &["least of", "greatest of", "total of"],
        Part::lesser | Part::lesser_of => &["lesser of", "greater of"],
        Part::comparator => &[
            "is at least",
            "is at most",
            "is more than",
            "is less than",
            "is",
        ],
        Part::is_at_least => &["is at least"],
        Part::is_at_most => &["is at most"],
        Part::is_more_than => &["is more than"],
        Part::is_less_than => &["is less than"],
        Part::is_one_of => &["is one of"],
        Part::obligation => &["shall", "shall record", "should", "refer", "precaution"],
        Part::shall_record => &["shall record"],
        Part::citation => &["cite"],
        Part::circumstances => &["from", "until", "cite", "because", "tighten only", "fixed"],
        Part::narrowing => &["tighten only", "fixed"],
        Part::tighten_only => &["tighten only"],
        Part::from_memory => &["from memory"],
        Part::by_place => &["set by the place"],
        Part::key | Part::keys | Part::row => &["up to", "from", "any", "beyond", "below"],
        Part::up_to => &["up to"],
        Part::and_over => &["and over"],
        Part::no_value | Part::side => &["no value"],
        Part::no_end => &["no end"],
        Part::origin => &["measured", "stated"],
        Part::form => &["run", "stretch", "point"],
        Part::until_hold | Part::until_date => &["until"],
        Part::then_by => &["then"],
        Part::date_choice => &["date"],
        Part::source_key => &["title", "publisher", "edition", "binding", "address"],
        Part::source_clause => &[
            "title",
            "publisher",
            "edition",
            "kind",
            "binding",
            "address",
        ],
        Part::variance_text => &["lot", "subject", "authority", "because"],
        Part::variance_clause => &[
            "rule",
            "lot",
            "subject",
            "authority",
            "date",
            "until",
            "because",
        ],
        Part::every
        | Part::some
        | Part::title
        | Part::each
        | Part::when
        | Part::hold
        | Part::remedy
        | Part::hazard
        | Part::authority
        | Part::decision
        | Part::list
        | Part::by
        | Part::because
        | Part::between => return vec![format!("{part:?}")],
        other => {
            let name = format!("{other:?}");
            return name
                .strip_prefix("w_")
                .map(str::to_owned)
                .into_iter()
                .collect();
        }
    };
    words.iter().map(|word| (*word).to_owned()).collect()
}

fn failure(mut error: pest::error::Error<Part>, offset: usize) -> Failure {
    let at = match error.location {
        InputLocation::Pos(at) | InputLocation::Span((at, _)) => at,
    };
    let mut names = Vec::new();
    // The other variant is the parser's own: that its caller has left it no stack.
    let out_of_stack = matches!(error.variant, ErrorVariant::CustomError { .. });
    if let ErrorVariant::ParsingError {
        positives,
        negatives,
    } = &mut error.variant
    {
        negatives.clear();
        positives.retain(|part| {
            let name = described(*part);
            let new = !names.contains(&name);
            names.push(name);
            new
        });
    }
    let renamed = error.renamed_rules(|part| described(*part));
    let message = renamed.variant.message().into_owned();
    Failure {
        at: offset + at,
        expected: message.trim_start_matches("expected ").to_string(),
        wanted: names,
        out_of_stack,
    }
}

/// The inner pairs of one pair, taken in order; words and marks of punctuation are passed over.
struct Parts<'a> {
    pairs: pest::iterators::Pairs<'a, Part>,
}

impl<'a> Parts<'a> {
    /// The next part of this kind, if there is one ahead.
    fn next(&mut self, part: Part) -> Option<Pair<'a, Part>> {
        let mut ahead = self.pairs.clone();
        let found = ahead.find(|pair| pair.as_rule() == part)?;
        self.pairs = ahead;
        Some(found)
    }

    fn expect(&mut self, part: Part) -> Pair<'a, Part> {
        self.next(part).expect("the grammar has this part here")
    }

    /// All that are ahead of this kind.
    fn all(&self, part: Part) -> impl Iterator<Item = Pair<'a, Part>> + use<'a> {
        self.pairs
            .clone()
            .filter(move |pair| pair.as_rule() == part)
    }

    fn has(&self, part: Part) -> bool {
        self.all(part).next().is_some()
    }
}

fn parts(pair: Pair<'_, Part>) -> Parts<'_> {
    Parts {
        pairs: pair.into_inner(),
    }
}

/// A quantity or label with single spaces, and `-` for the longer minus, directly before its number.
pub(super) fn tidied(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    let text = words.join(" ").replace('−', "-");
    match text.strip_prefix("- ") {
        Some(rest) => format!("-{rest}"),
        None => text,
    }
}

/// Where a part ends: a rule of the grammar may reach over the blanks after its last word.
fn end_of(pair: &Pair<'_, Part>) -> usize {
    match pair.clone().into_inner().next_back() {
        Some(last) => end_of(&last),
        None => pair.as_span().end(),
    }
}

/// Builds the tree of one item, which begins `offset` bytes into its text.
struct Reader {
    source: SourceId,
    offset: usize,
}

impl Reader {
    fn span(&self, pair: &Pair<'_, Part>) -> Span {
        let place =
            |at: usize| u32::try_from(self.offset + at).expect("a text has less than 4 GiB");
        Span {
            source: self.source,
            start: place(pair.as_span().start()),
            end: place(end_of(pair)),
        }
    }

    fn name(&self, pair: Pair<'_, Part>) -> Name {
        Spanned::new(pair.as_str().to_string(), self.span(&pair))
    }

    fn text(&self, pair: Pair<'_, Part>) -> Text {
        let span = self.span(&pair);
        Spanned::new(parts(pair).expect(Part::inner).as_str().to_string(), span)
    }

    fn mark(&self, pair: Pair<'_, Part>) -> Text {
        Spanned::new(tidied(pair.as_str()), self.span(&pair))
    }

    fn marks(&self, pair: Pair<'_, Part>) -> Vec<Text> {
        let marks = parts(pair).all(Part::mark);
        marks.map(|mark| self.mark(mark)).collect()
    }

    fn path(&self, pair: Pair<'_, Part>) -> Path {
        let span = self.span(&pair);
        let parts = pair.into_inner().map(|part| self.name(part)).collect();
        Path { parts, span }
    }

    fn item(&self, pair: Pair<'_, Part>) -> Item {
        let span = self.span(&pair);
        let part = pair.as_rule();
        match part {
            Part::holds => Item::Holds(self.labels(pair)),
            Part::permits => Item::Permits(self.labels(pair)),
            Part::hazards => Item::Hazards(self.labels(pair)),
            Part::people => Item::People(self.labels(pair)),
            Part::choice => Item::Choice(self.choice(pair)),
            Part::size => Item::Size(self.size(pair)),
            Part::thing => Item::Thing(self.thing(pair)),
            Part::extend => Item::Extend(self.extend(pair)),
            Part::list => Item::List(self.list(pair)),
            Part::survey => Item::Survey(self.survey(pair)),
            Part::source => Item::Source(self.source_item(pair)),
            Part::topic => Item::Topic(self.topic(pair)),
            Part::limit => Item::Limit(self.limit(pair)),
            Part::table => Item::Table(self.table(pair)),
            Part::define => Item::Define(self.define(pair)),
            Part::rule => {
                let mut inner = parts(pair);
                let name = self.name(inner.expect(Part::name));
                Item::Rule(self.rule(name, inner, span))
            }
            Part::place => Item::Place(self.place(pair)),
            Part::variance => Item::Variance(self.variance(pair)),
            _ => Item::Statement(self.statement(pair)),
        }
    }

    fn labels(&self, pair: Pair<'_, Part>) -> Labels {
        let span = self.span(&pair);
        let labels = parts(pair).all(Part::label).map(|label| {
            let mut inner = parts(label);
            let name = self.name(inner.expect(Part::name));
            (name, self.text(inner.expect(Part::text)))
        });
        Labels {
            labels: labels.collect(),
            span,
        }
    }

    fn choice(&self, pair: Pair<'_, Part>) -> Choice {
        let span = self.span(&pair);
        let mut inner = parts(pair);
        let name = self.name(inner.expect(Part::name));
        let meaning = self.text(inner.expect(Part::text));
        let labels = inner.all(Part::alternative).map(|alternative| {
            let mut inner = parts(alternative);
            let name = self.name(inner.expect(Part::name));
            (name, inner.next(Part::text).map(|text| self.text(text)))
        });
        Choice {
            name,
            meaning,
            labels: labels.collect(),
            span,
        }
    }

    fn size(&self, pair: Pair<'_, Part>) -> Size {
        let span = self.span(&pair);
        let mut inner = parts(pair);
        Size {
            name: self.name(inner.expect(Part::name)),
            meaning: self.text(inner.expect(Part::text)),
            places: inner.all(Part::step).map(|step| self.marks(step)).collect(),
            span,
        }
    }

    fn thing(&self, pair: Pair<'_, Part>) -> Thing {
        let span = self.span(&pair);
        let mut inner = parts(pair);
        Thing {
            name: self.name(inner.expect(Part::name)),
            meaning: self.text(inner.expect(Part::text)),
            form: inner
                .next(Part::form)
                .map_or(Form::Plain, |form| self.form(form)),
            person: self.person(&mut inner),
            members: self.members(&inner),
            span,
        }
    }

    fn form(&self, pair: Pair<'_, Part>) -> Form {
        let mut inner = parts(pair);
        if inner.has(Part::w_stretch) {
            Form::Stretch
        } else if inner.has(Part::w_point) {
            Form::Point
        } else {
            let gap = inner.next(Part::mark).map(|gap| self.mark(gap));
            Form::Run { gap }
        }
    }

    fn extend(&self, pair: Pair<'_, Part>) -> Extend {
        let span = self.span(&pair);
        let mut inner = parts(pair);
        Extend {
            thing: self.name(inner.expect(Part::name)),
            person: self.person(&mut inner),
            members: self.members(&inner),
            span,
        }
    }

    fn members(&self, inner: &Parts<'_>) -> Vec<Member> {
        let mut members = Vec::new();
        for pair in inner.pairs.clone() {
            if pair.as_rule() == Part::fact {
                members.push(Member::Fact(self.fact(pair)));
            } else if pair.as_rule() == Part::list {
                members.push(Member::List(self.list(pair)));
            }
        }
        members
    }

    fn fact(&self, pair: Pair<'_, Part>) -> Fact {
        let span = self.span(&pair);
        let mut inner = parts(pair);
        Fact {
            name: self.name(inner.expect(Part::word)),
            kind: self.name(inner.expect(Part::name)),
            origin: match parts(inner.expect(Part::origin)).has(Part::w_measured) {
                true => Origin::Measured,
                false => Origin::Stated,
            },
            meaning: self.text(inner.expect(Part::text)),
            by: inner.next(Part::by).map(|by| self.only_text(by)),
            until: inner
                .next(Part::until_hold)
                .map(|until| self.only_name(until)),
            then: inner.next(Part::then_by).map(|then| self.only_text(then)),
            between: inner.next(Part::between).map(|between| {
                let mut ends = parts(between);
                let least = self.mark(ends.expect(Part::mark));
                (least, self.mark(ends.expect(Part::mark)))
            }),
            person: self.person(&mut inner),
            span,
        }
    }

    fn person(&self, inner: &mut Parts<'_>) -> Option<Name> {
        inner
            .next(Part::for_person)
            .map(|person| self.only_name(person))
    }

    fn only_text(&self, pair: Pair<'_, Part>) -> Text {
        self.text(parts(pair).expect(Part::text))
    }

    fn only_name(&self, pair: Pair<'_, Part>) -> Name {
        self.name(parts(pair).expect(Part::name))
    }

    fn only_date(&self, pair: Pair<'_, Part>) -> Text {
        self.name(parts(pair).expect(Part::date))
    }

    fn list(&self, pair: Pair<'_, Part>) -> ListDeclaration {
        let span = self.span(&pair);
        let mut inner = parts(pair);
        ListDeclaration {
            name: self.name(inner.expect(Part::name)),
            of: self.name(inner.expect(Part::name)),
            meaning: self.text(inner.expect(Part::text)),
            span,
        }
    }

    fn parameters(&self, pair: Pair<'_, Part>) -> Vec<Parameter> {
        let parameters = parts(pair).all(Part::parameter).map(|parameter| {
            let mut inner = parts(parameter);
            let name = self.name(inner.expect(Part::name));
            let kinds = inner.all(Part::name).map(|kind| self.name(kind)).collect();
            Parameter { name, kinds }
        });
        parameters.collect()
    }

    fn survey(&self, pair: Pair<'_, Part>) -> Survey {
        let span = self.span(&pair);
        let mut inner = parts(pair);
        Survey {
            name: self.name(inner.expect(Part::name)),
            parameters: self.parameters(inner.expect(Part::parameters)),
            gives: self.name(inner.expect(Part::name)),
            meaning: self.text(inner.expect(Part::text)),
            span,
        }
    }

    fn source_item(&self, pair: Pair<'_, Part>) -> SourceItem {
        let span = self.span(&pair);
        let mut inner = parts(pair);
        let name = self.name(inner.expect(Part::name));
        SourceItem {
            name,
            clauses: inner
                .all(Part::source_clause)
                .map(|clause| self.keyed(clause))
                .collect(),
            span,
        }
    }

    /// A clause of a key and what it says.
    fn keyed(&self, clause: Pair<'_, Part>) -> (Name, Text) {
        let mut pairs = clause.into_inner();
        let key = pairs.next().expect("a clause begins with its key");
        let says = pairs.next().expect("a clause says something");
        (self.name(key), self.plain(says))
    }

    /// A text without its quotes, or a name, a path or a date as it stands.
    fn plain(&self, pair: Pair<'_, Part>) -> Text {
        if pair.as_rule() == Part::text {
            self.text(pair)
        } else {
            self.mark(pair)
        }
    }

    fn topic(&self, pair: Pair<'_, Part>) -> Topic {
        let span = self.span(&pair);
        let mut inner = parts(pair);
        Topic {
            name: self.name(inner.expect(Part::name)),
            title: self.text(inner.expect(Part::text)),
            permit: self.name(inner.expect(Part::name)),
            span,
        }
    }

    fn limit(&self, pair: Pair<'_, Part>) -> Limit {
        let span = self.span(&pair);
        let mut inner = parts(pair);
        Limit {
            name: self.name(inner.expect(Part::name)),
            kind: self.name(inner.expect(Part::name)),
            values: inner
                .next(Part::marks)
                .map_or_else(Vec::new, |marks| self.marks(marks)),
            meaning: inner.next(Part::text).map(|text| self.text(text)),
            narrowing: self.narrowing(&mut inner),
            citations: self.citations(&inner),
            span,
        }
    }

    fn narrowing(&self, inner: &mut Parts<'_>) -> Option<Spanned<Narrowing>> {
        let pair = inner.next(Part::narrowing)?;
        let span = self.span(&pair);
        let narrowing = match parts(pair).has(Part::w_fixed) {
            true => Narrowing::Fixed,
            false => Narrowing::TightenOnly,
        };
        Some(Spanned::new(narrowing, span))
    }

    fn citations(&self, inner: &Parts<'_>) -> Vec<Citation> {
        let citations = inner.all(Part::citation);
        citations.map(|cite| self.citation(cite)).collect()
    }

    fn citation(&self, pair: Pair<'_, Part>) -> Citation {
        let span = self.span(&pair);
        let mut inner = parts(pair);
        Citation {
            document: self.name(inner.expect(Part::name)),
            section: self.text(inner.expect(Part::text)),
            from_memory: inner.has(Part::from_memory),
            span,
        }
    }

    fn table(&self, pair: Pair<'_, Part>) -> Table {
        let span = self.span(&pair);
        let mut inner = parts(pair);
        Table {
            name: self.name(inner.expect(Part::name)),
            parameters: self.parameters(inner.expect(Part::parameters)),
            gives: self.name(inner.expect(Part::name)),
            narrowing: self.narrowing(&mut inner),
            citations: self.citations(&inner),
            rows: inner.all(Part::row).map(|row| self.row(row)).collect(),
            span,
        }
    }

    fn row(&self, pair: Pair<'_, Part>) -> Row {
        let span = self.span(&pair);
        let mut inner = parts(pair);
        let keys = self.keys(inner.expect(Part::keys));
        let value = match inner.next(Part::mark) {
            Some(value) => Spanned::new(Some(tidied(value.as_str())), self.span(&value)),
            None => Spanned::new(None, self.span(&inner.expect(Part::no_value))),
        };
        Row { keys, value, span }
    }

    fn keys(&self, pair: Pair<'_, Part>) -> Vec<Spanned<Key>> {
        let keys = parts(pair).all(Part::key);
        keys.map(|key| Spanned::new(self.key(key.clone()), self.span(&key)))
            .collect()
    }

    fn key(&self, pair: Pair<'_, Part>) -> Key {
        let inner = parts(pair.clone());
        let mut marks = self.marks(pair);
        if inner.has(Part::w_any) {
            Key::Any
        } else if inner.has(Part::w_beyond) {
            Key::Beyond
        } else if inner.has(Part::w_below) {
            Key::Below
        } else if inner.has(Part::up_to) {
            Key::UpTo(marks.remove(0))
        } else if inner.has(Part::w_from) {
            Key::From(marks.remove(0))
        } else if inner.has(Part::and_over) {
            Key::AndOver(marks.remove(0))
        } else if inner.has(Part::w_to) {
            let last = marks.remove(1);
            Key::Between(marks.remove(0), last)
        } else {
            Key::Labels(marks)
        }
    }

    fn define(&self, pair: Pair<'_, Part>) -> Define {
        let span = self.span(&pair);
        let mut inner = parts(pair);
        Define {
            name: self.name(inner.expect(Part::name)),
            parameters: self.parameters(inner.expect(Part::parameters)),
            gives: self.name(inner.expect(Part::name)),
            body: self.expression(inner.expect(Part::expression)),
            citations: self.citations(&inner),
            span,
        }
    }

    fn rule(&self, name: Name, inner: Parts<'_>, span: Span) -> Rule {
        let clauses = inner.pairs.filter_map(|pair| self.clause(pair)).collect();
        Rule {
            name,
            clauses,
            span,
        }
    }

    /// Nothing for braces and for what stands before them.
    fn clause(&self, pair: Pair<'_, Part>) -> Option<Clause> {
        let clause = match pair.as_rule() {
            Part::title => Clause::Title(self.only_text(pair)),
            Part::each => {
                let mut inner = parts(pair);
                Clause::Each {
                    name: self.name(inner.expect(Part::name)),
                    list: self.path(inner.expect(Part::path)),
                }
            }
            Part::when => Clause::When(self.expression(parts(pair).expect(Part::expression))),
            Part::obligation => {
                let span = self.span(&pair);
                Clause::Obligation(Spanned::new(self.obligation(pair), span))
            }
            Part::citation => Clause::Cite(self.citation(pair)),
            Part::hold => Clause::Hold(self.only_name(pair)),
            Part::remedy => Clause::Remedy(self.only_text(pair)),
            Part::hazard => Clause::Hazard(self.only_name(pair)),
            _ => return None,
        };
        Some(clause)
    }

    fn obligation(&self, pair: Pair<'_, Part>) -> Obligation {
        let mut inner = parts(pair);
        if inner.has(Part::shall_record) {
            Obligation::Record(self.path(inner.expect(Part::path)))
        } else if inner.has(Part::w_refer) {
            Obligation::Refer(self.text(inner.expect(Part::text)))
        } else if inner.has(Part::w_shall) {
            Obligation::Shall(self.expression(inner.expect(Part::expression)))
        } else if inner.has(Part::w_should) {
            Obligation::Should(self.expression(inner.expect(Part::expression)))
        } else {
            Obligation::Precaution(self.expression(inner.expect(Part::expression)))
        }
    }

    fn place(&self, pair: Pair<'_, Part>) -> Place {
        let span = self.span(&pair);
        let mut inner = parts(pair);
        let title = self.text(inner.expect(Part::text));
        let authorities = inner.all(Part::authority).map(|authority| {
            let mut inner = parts(authority);
            let kind = self.name(inner.expect(Part::name));
            let who = self.text(inner.expect(Part::text));
            (kind, who, self.text(inner.expect(Part::text)))
        });
        Place {
            title,
            authorities: authorities.collect(),
            dates: self.name_pairs(&inner, Part::date_choice),
            decisions: self.name_pairs(&inner, Part::decision),
            span,
        }
    }

    fn name_pairs(&self, inner: &Parts<'_>, part: Part) -> Vec<(Name, Name)> {
        let pairs = inner.all(part).map(|pair| {
            let mut names = parts(pair);
            let first = self.name(names.expect(Part::name));
            (first, self.name(names.expect(Part::name)))
        });
        pairs.collect()
    }

    fn statement(&self, pair: Pair<'_, Part>) -> Statement {
        let span = self.span(&pair);
        let mut circumstances = parts(
            pair.clone()
                .into_inner()
                .find(|part| part.as_rule() == Part::circumstances)
                .expect("every statement has room for its circumstances"),
        );
        Statement {
            action: self.action(pair, span),
            from: circumstances.next(Part::date).map(|date| self.name(date)),
            until: circumstances
                .next(Part::until_date)
                .map(|until| self.only_date(until)),
            citations: self.citations(&circumstances),
            because: circumstances
                .next(Part::because)
                .map(|because| self.only_text(because)),
            narrowing: self.narrowing(&mut circumstances),
            span,
        }
    }

    fn action(&self, pair: Pair<'_, Part>, span: Span) -> Action {
        let part = pair.as_rule();
        let mut inner = parts(pair);
        match part {
            Part::adopt => Action::Adopt(self.name(inner.expect(Part::name))),
            Part::amend => Action::Amend {
                target: self.target(inner.expect(Part::target)),
                was: self.side(inner.expect(Part::side)),
                becomes: self.side(inner.expect(Part::side)),
            },
            Part::set => Action::Set {
                target: self.target(inner.expect(Part::target)),
                values: self.marks(inner.expect(Part::marks)),
            },
            Part::strike_topic => Action::StrikeTopic(self.name(inner.expect(Part::name))),
            Part::strike_rule => Action::StrikeRule(self.path(inner.expect(Part::path))),
            Part::restrict => self.restrict(inner),
            Part::add => {
                let name = self.name(inner.expect(Part::name));
                let topic = self.name(inner.expect(Part::name));
                let rule = self.rule(name, inner, span);
                Action::Add { topic, rule }
            }
            Part::replace => {
                let target = self.path(inner.expect(Part::path));
                let name = target.parts.last().expect("a path has a part").clone();
                let rule = self.rule(name, inner, span);
                Action::Replace { target, rule }
            }
            _ => unreachable!("every item of the grammar is read above"),
        }
    }

    fn restrict(&self, mut inner: Parts<'_>) -> Action {
        let rule = inner
            .next(Part::w_rule)
            .map(|_| self.path(inner.expect(Part::path)));
        let target = inner.next(Part::target).map(|target| self.target(target));
        let to = self
            .narrowing(&mut inner)
            .expect("the grammar has one here")
            .value;
        match (rule, target) {
            (Some(rule), _) => Action::RestrictRule { rule, to },
            (None, target) => Action::Restrict {
                target: target.expect("the grammar has one of the two"),
                to,
            },
        }
    }

    fn side(&self, pair: Pair<'_, Part>) -> Vec<Text> {
        let marks = parts(pair).next(Part::marks);
        marks.map_or_else(Vec::new, |marks| self.marks(marks))
    }

    fn target(&self, pair: Pair<'_, Part>) -> Target {
        let span = self.span(&pair);
        let mut inner = parts(pair);
        Target {
            path: self.path(inner.expect(Part::path)),
            keys: inner.next(Part::keys).map(|keys| self.keys(keys)),
            span,
        }
    }

    fn variance(&self, pair: Pair<'_, Part>) -> Variance {
        let span = self.span(&pair);
        let mut inner = parts(pair);
        let number = self.text(inner.expect(Part::text));
        Variance {
            number,
            clauses: inner
                .all(Part::variance_clause)
                .map(|clause| self.keyed(clause))
                .collect(),
            span,
        }
    }

    fn expression(&self, pair: Pair<'_, Part>) -> Expression {
        let pair = innermost(pair);
        let span = self.span(&pair);
        let part = pair.as_rule();
        let mut inner = parts(pair.clone());
        let kind = match part {
            // The parentheses belong to the place of what they hold.
            Part::group => self.expression(inner.expect(Part::expression)).kind,
            Part::conditional => ExpressionKind::If {
                condition: self.boxed(inner.expect(Part::expression)),
                then: self.boxed(inner.expect(Part::expression)),
                otherwise: self.boxed(inner.expect(Part::expression)),
            },
            Part::every => ExpressionKind::Every {
                name: self.name(inner.expect(Part::name)),
                list: self.path(inner.expect(Part::path)),
                condition: self.boxed(inner.expect(Part::expression)),
            },
            Part::some => ExpressionKind::Some {
                name: self.name(inner.expect(Part::name)),
                list: self.path(inner.expect(Part::path)),
                condition: self.boxed(inner.expect(Part::expression)),
            },
            Part::disjunction => {
                return self.joined(inner, Part::conjunction, span, ExpressionKind::Or);
            }
            Part::conjunction => {
                return self.joined(inner, Part::negation, span, ExpressionKind::And);
            }
            Part::negation => {
                return self.prefixed(pair, Part::w_not, ExpressionKind::Not);
            }
            Part::negative => {
                return self.prefixed(pair, Part::minus, ExpressionKind::Negate);
            }
            Part::comparison => return self.comparison(inner),
            Part::sum | Part::product => return self.arithmetic(pair),
            Part::conversion => {
                let value = self.expression(inner.expect(Part::negative));
                let Some(unit) = inner.next(Part::unit) else {
                    return value;
                };
                ExpressionKind::In {
                    value: Box::new(value),
                    unit: self.mark(unit),
                }
            }
            Part::power => {
                let base = self.expression(first(pair));
                let Some(exponent) = inner.next(Part::exponent) else {
                    return base;
                };
                ExpressionKind::Power {
                    base: Box::new(base),
                    exponent: self.mark(exponent),
                }
            }
            Part::count => ExpressionKind::Count {
                name: self.name(inner.expect(Part::name)),
                list: self.path(inner.expect(Part::path)),
                condition: inner.next(Part::expression).map(|inner| self.boxed(inner)),
            },
            Part::fold => ExpressionKind::Fold {
                fold: fold(inner.expect(Part::fold_of).as_str()),
                value: self.boxed(inner.expect(Part::expression)),
                name: self.name(inner.expect(Part::name)),
                list: self.path(inner.expect(Part::path)),
            },
            Part::lesser => {
                let lesser = inner.expect(Part::lesser_of).as_str().starts_with("lesser");
                let left = self.boxed(inner.expect(Part::sum));
                let right = self.boxed(inner.expect(Part::sum));
                match lesser {
                    true => ExpressionKind::Lesser(left, right),
                    false => ExpressionKind::Greater(left, right),
                }
            }
            Part::call => ExpressionKind::Call {
                function: self.path(inner.expect(Part::path)),
                arguments: inner
                    .all(Part::expression)
                    .map(|argument| self.expression(argument))
                    .collect(),
            },
            Part::date => ExpressionKind::Date(pair.as_str().to_string()),
            Part::quantity => ExpressionKind::Quantity(tidied(pair.as_str())),
            Part::text => ExpressionKind::Text(self.text(pair).value),
            Part::path => ExpressionKind::Path(self.path(pair)),
            _ => unreachable!("every part of an expression is read above"),
        };
        Expression { kind, span }
    }

    fn boxed(&self, pair: Pair<'_, Part>) -> Box<Expression> {
        Box::new(self.expression(pair))
    }

    fn joined(
        &self,
        inner: Parts<'_>,
        part: Part,
        span: Span,
        join: impl Fn(Vec<Expression>) -> ExpressionKind,
    ) -> Expression {
        let operands: Vec<Expression> = inner
            .all(part)
            .map(|operand| self.expression(operand))
            .collect();
        match <[Expression; 1]>::try_from(operands) {
            Ok([only]) => only,
            Err(operands) => Expression {
                kind: join(operands),
                span,
            },
        }
    }

    fn prefixed(
        &self,
        pair: Pair<'_, Part>,
        prefix: Part,
        wrap: impl Fn(Box<Expression>) -> ExpressionKind,
    ) -> Expression {
        let mut pairs: Vec<Pair<'_, Part>> = pair.into_inner().collect();
        let mut expression = self.expression(pairs.pop().expect("a prefix has its operand"));
        for before in pairs
            .into_iter()
            .rev()
            .filter(|pair| pair.as_rule() == prefix)
        {
            let span = self.span(&before).to(expression.span);
            expression = Expression {
                kind: wrap(Box::new(expression)),
                span,
            };
        }
        expression
    }

    fn comparison(&self, mut inner: Parts<'_>) -> Expression {
        let left = self.expression(inner.expect(Part::sum));
        let comparator = inner.next(Part::comparator).map(comparator);
        let mut others: Vec<Expression> = inner
            .all(Part::sum)
            .map(|sum| self.expression(sum))
            .collect();
        let Some(last) = others.last() else {
            return left;
        };
        let span = left.span.to(last.span);
        let kind = match comparator {
            Some(comparator) => ExpressionKind::Compare {
                comparator,
                left: Box::new(left),
                right: Box::new(others.remove(0)),
            },
            None => ExpressionKind::OneOf {
                value: Box::new(left),
                alternatives: others,
            },
        };
        Expression { kind, span }
    }

    /// Sums and products bind to the left: `a - b - c` is `(a - b) - c`.
    fn arithmetic(&self, pair: Pair<'_, Part>) -> Expression {
        let mut pairs = pair.into_inner();
        let mut left = self.expression(pairs.next().expect("a sum has its first term"));
        while let (Some(sign), Some(operand)) = (pairs.next(), pairs.next()) {
            let right = self.expression(operand);
            let span = left.span.to(right.span);
            left = Expression {
                kind: ExpressionKind::Arithmetic {
                    operator: operator(sign.as_rule()),
                    left: Box::new(left),
                    right: Box::new(right),
                },
                span,
            };
        }
        left
    }
}

/// Whether a part is a level of binding: at most of them, for most words, nothing is bound.
pub(super) fn is_level(part: Part) -> bool {
    matches!(
        part,
        Part::expression
            | Part::disjunction
            | Part::conjunction
            | Part::negation
            | Part::comparison
            | Part::sum
            | Part::product
            | Part::conversion
            | Part::negative
            | Part::power
    )
}

/// Steps over the levels at which nothing is bound.
fn innermost(mut pair: Pair<'_, Part>) -> Pair<'_, Part> {
    loop {
        let mut inner = pair.clone().into_inner();
        match (inner.next(), inner.next()) {
            (Some(only), None) if is_level(pair.as_rule()) => pair = only,
            _ => return pair,
        }
    }
}

fn first(pair: Pair<'_, Part>) -> Pair<'_, Part> {
    pair.into_inner()
        .next()
        .expect("the grammar has a part here")
}

fn fold(word: &str) -> Fold {
    if word.starts_with("least") {
        Fold::Least
    } else if word.starts_with("greatest") {
        Fold::Greatest
    } else {
        Fold::Total
    }
}

fn comparator(pair: Pair<'_, Part>) -> Comparator {
    match first(pair).as_rule() {
        Part::is_at_least => Comparator::AtLeast,
        Part::is_at_most => Comparator::AtMost,
        Part::is_more_than => Comparator::MoreThan,
        Part::is_less_than => Comparator::LessThan,
        _ => Comparator::Is,
    }
}

fn operator(sign: Part) -> Operator {
    match sign {
        Part::plus => Operator::Add,
        Part::minus => Operator::Subtract,
        Part::times => Operator::Multiply,
        _ => Operator::Divide,
    }
}

/// What a part of the grammar is called in a message.
fn described(part: Part) -> String {
    let name = match part {
        Part::EOI => "the end",
        Part::name => "a name",
        Part::word => "a name",
        Part::text | Part::inner => "a text in quotes",
        Part::date => "a date such as `2026-03-19`",
        Part::mark | Part::marks | Part::side => "a quantity or a label",
        Part::quantity | Part::number => "a quantity",
        Part::exponent => "a number",
        Part::unit | Part::unit_word => "a unit",
        Part::path | Part::target => "a name",
        Part::open => "`{`",
        Part::close => "`}`",
        Part::left => "`(`",
        Part::right => "`)`",
        Part::colon => "`:`",
        Part::comma => "`,`",
        Part::equals => "`=`",
        Part::plus | Part::minus | Part::times | Part::over | Part::caret => {
            "`+`, `-`, `×`, `/` or `^`"
        }
        Part::is_at_least
        | Part::is_at_most
        | Part::is_more_than
        | Part::is_less_than
        | Part::is_one_of
        | Part::comparator
        | Part::w_is => "a comparison such as `is at least`",
        Part::and_over => "`and over`",
        Part::up_to => "`up to`",
        Part::no_value => "`no value`",
        Part::no_end => "`no end`",
        Part::by_place => "`set by the place`",
        Part::tighten_only => "`tighten only`",
        Part::from_memory => "`from memory`",
        Part::shall_record => "`shall record`",
        Part::count_of => "`count of`",
        Part::fold_of | Part::fold => "`least of`",
        Part::lesser_of | Part::lesser => "`lesser of`",
        Part::key | Part::keys => "a key",
        Part::row => "a row",
        Part::parameters => "`(` and the parameters",
        Part::parameter => "a parameter",
        Part::citation => "`cite`",
        Part::origin => "`measured` or `stated`",
        Part::form => "`run`, `stretch` or `point`",
        Part::until_hold | Part::until_date => "`until`",
        Part::then_by => "`then`",
        Part::obligation => "`shall`, `should`, `refer` or `precaution`",
        Part::date_choice => "`date`",
        Part::strike_topic | Part::strike_rule => "`strike`",
        Part::circumstances => "`from`",
        Part::label | Part::alternative => "a label",
        Part::step => "a size",
        Part::narrowing => "`tighten only` or `fixed`",
        Part::fact | Part::list => "a fact or a `list`",
        Part::source_key | Part::source_clause => "a clause of a source",
        Part::place_clause => "`authority`, `date` or `decision`",
        Part::variance_text | Part::variance_clause => "a clause of a variance",
        Part::expression
        | Part::conditional
        | Part::every
        | Part::some
        | Part::disjunction
        | Part::conjunction
        | Part::negation
        | Part::comparison
        | Part::sum
        | Part::product
        | Part::conversion
        | Part::negative
        | Part::power
        | Part::primary
        | Part::group
        | Part::count
        | Part::call => "an expression",
        other => return format!("`{}`", format!("{other:?}").trim_start_matches("w_")),
    };
    name.to_string()
}
