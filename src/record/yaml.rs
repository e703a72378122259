//! YAML text in, a light tree out in which every value keeps its place.
//!
//! The only file that speaks `granit_parser`. A plain scalar stays the text that was written:
//! what `no`, `0.10` or `2026-03-02` means is for the vocabulary to say. Of YAML's many forms a
//! record takes one way to say each thing, so anchors, aliases, tags, merge keys and second
//! documents are mistakes.

use std::borrow::Cow;

use granit_parser::{ErrorKind, Event, Parser, ScalarStyle, ScanError};

use super::error::{Mistakes, RecordError};
use super::sink::{Planting, Sink};
use super::tree::{Entry, Keys, Node, NodeKind, Scalar, Style, span};
use super::{block, json};
use crate::source::{SourceId, Sources, Span, Spanned};

/// The most bytes a file may have.
pub const MOST_BYTES: usize = 8 * 1024 * 1024;
/// The most values a file may have, keys included.
pub const MOST_VALUES: usize = 500_000;
/// How deep lists and mappings may lie in each other.
pub const MOST_DEEP: usize = 32;

/// Reads the one document of a text. Mistakes are added to `mistakes`; where the text is not
/// well-formed there is no tree.
pub fn parse<'s>(
    sources: &'s Sources,
    source: SourceId,
    mistakes: &mut Mistakes,
) -> Option<Node<'s>> {
    let text = &*sources.get(source).text;
    if text.len() > MOST_BYTES {
        let at = span(source, 0, 0);
        let bytes = text.len();
        let most = MOST_BYTES;
        mistakes.add(at, RecordError::TooLarge { bytes, most, at });
        return None;
    }
    if let Some(root) = plain_tree(text, source) {
        return Some(root);
    }
    parse_events(text, source, mistakes)
}

/// The tree of a plain text; none of any other.
pub(super) fn plain_tree(text: &str, source: SourceId) -> Option<Node<'_>> {
    let mut tree = Planting::default();
    scan_plain(text, source, &mut tree)?;
    tree.take()
}

/// Puts the pieces of a plain text into a sink; none where it is not plain, or not wanted.
pub(crate) fn scan_plain<'t, S: Sink<'t>>(
    text: &'t str,
    source: SourceId,
    sink: &mut S,
) -> Option<()> {
    if text.len() > MOST_BYTES {
        return None;
    }
    match text.starts_with('{') {
        true => json::scan_into(text, source, sink),
        false => block::scan_into(text, source, sink),
    }
}

/// Reads the one document of a text from the events of the YAML parser.
pub(super) fn parse_events<'t>(
    text: &'t str,
    source: SourceId,
    mistakes: &mut Mistakes,
) -> Option<Node<'t>> {
    let mut builder = Builder {
        text,
        source,
        mistakes,
        open: Vec::new(),
        values: 0,
        documents: 0,
        root: None,
    };
    let whole = builder.run();
    let root = builder.root.take();
    if !whole {
        return None;
    }
    if root.is_none() {
        let at = span(source, 0, 0);
        mistakes.add(at, RecordError::Empty { at });
    }
    root
}

struct Builder<'t, 'm> {
    text: &'t str,
    source: SourceId,
    mistakes: &'m mut Mistakes,
    open: Vec<Open<'t>>,
    values: usize,
    documents: usize,
    root: Option<Node<'t>>,
}

/// A collection that is being read.
enum Open<'t> {
    Sequence {
        start: usize,
        elements: Vec<Node<'t>>,
    },
    Mapping {
        start: usize,
        entries: Vec<Entry<'t>>,
        keys: Keys<'t>,
        key: Key<'t>,
    },
}

/// Where a mapping stands between its keys and values.
enum Key<'t> {
    Awaited,
    Read(Spanned<Cow<'t, str>>),
    /// Its value is read and dropped.
    Refused,
}

impl<'t> Builder<'t, '_> {
    /// Whether the text was read to its end.
    fn run(&mut self) -> bool {
        let options = granit_parser::options! {
            disallow_directives: true,
            emit_unresolved_aliases: true,
            emit_anchor_events: true,
            emit_comments: false,
        };
        let text = self.text;
        for next in Parser::new_from_str_with_options(text, options) {
            match next {
                Ok((event, place)) => {
                    if !self.event(event, &place) {
                        return false;
                    }
                }
                Err(error) => {
                    self.malformed(&error);
                    return false;
                }
            }
        }
        true
    }

    /// Takes one event; false to stop.
    fn event(&mut self, event: Event<'t>, place: &granit_parser::Span) -> bool {
        let range = place.byte_range().unwrap_or(0..0);
        let at = self.trimmed(range.start, range.end);
        if event.tag().is_some() {
            let tag = place.tag_span().and_then(|tag| tag.byte_range());
            let tag = tag.map_or(at, |tag| span(self.source, tag.start, tag.end));
            self.mistakes.add(tag, RecordError::Tag { at: tag });
        }
        match event {
            Event::StreamStart | Event::StreamEnd | Event::DocumentEnd => true,
            Event::DocumentStart(..) => self.document(at),
            Event::Alias(_) | Event::UnresolvedAlias(_) => {
                self.mistakes.add(at, RecordError::Alias { at });
                self.leaf(NodeKind::Unreadable, at)
            }
            Event::Anchor(..) => {
                self.mistakes.add(at, RecordError::Anchor { at });
                true
            }
            Event::Scalar(value, style, ..) => self.leaf(scalar(value, style_of(style)), at),
            Event::SequenceStart(..) => self.begin(
                at,
                Open::Sequence {
                    start: range.start,
                    elements: Vec::new(),
                },
            ),
            Event::MappingStart(..) => self.begin(
                at,
                Open::Mapping {
                    start: range.start,
                    entries: Vec::new(),
                    keys: Keys::default(),
                    key: Key::Awaited,
                },
            ),
            Event::SequenceEnd | Event::MappingEnd => self.end(range.end),
            // Comments are no values; the parser's feature for them may be on.
            #[allow(
                unreachable_patterns,
                reason = "only with the parser's comments feature"
            )]
            _ => true,
        }
    }

    fn document(&mut self, at: Span) -> bool {
        self.documents += 1;
        if self.documents == 2 {
            self.mistakes.add(at, RecordError::SeveralDocuments { at });
        }
        self.documents == 1
    }

    fn begin(&mut self, at: Span, open: Open<'t>) -> bool {
        if self.open.len() == MOST_DEEP {
            let most = MOST_DEEP;
            self.mistakes.add(at, RecordError::TooDeep { most, at });
            return false;
        }
        self.open.push(open);
        self.count(at)
    }

    fn count(&mut self, at: Span) -> bool {
        self.values += 1;
        if self.values > MOST_VALUES {
            let most = MOST_VALUES;
            self.mistakes
                .add(at, RecordError::TooManyValues { most, at });
            return false;
        }
        true
    }

    fn end(&mut self, end: usize) -> bool {
        let (kind, start) = match self.open.pop() {
            Some(Open::Sequence { start, elements }) => (NodeKind::Sequence(elements), start),
            Some(Open::Mapping { start, entries, .. }) => (NodeKind::Mapping(entries), start),
            None => return true,
        };
        let at = self.collection_span(&kind, start, end);
        self.place(Node { kind, span: at });
        true
    }

    /// A collection in brackets ends with them, any other with its last value.
    fn collection_span(&self, kind: &NodeKind<'t>, start: usize, end: usize) -> Span {
        let bracketed = matches!(self.text.as_bytes().get(start), Some(b'[' | b'{'));
        let last = match kind {
            NodeKind::Sequence(elements) => elements.last().map(|last| last.span.end),
            NodeKind::Mapping(entries) => entries.last().map(|last| {
                if last.value.is_empty() {
                    last.key.span.end.max(last.value.span.end)
                } else {
                    last.value.span.end
                }
            }),
            NodeKind::Empty | NodeKind::Scalar(_) | NodeKind::Unreadable => None,
        };
        match last {
            Some(last) if !bracketed => {
                let mut whole = self.trimmed(start, start);
                whole.end = last.max(whole.start);
                whole
            }
            Some(_) | None => self.trimmed(start, end),
        }
    }

    fn leaf(&mut self, kind: NodeKind<'t>, at: Span) -> bool {
        self.place(Node { kind, span: at });
        self.count(at)
    }

    /// Puts a finished value where it belongs.
    fn place(&mut self, node: Node<'t>) {
        match self.open.last_mut() {
            None => self.root = Some(node),
            Some(Open::Sequence { elements, .. }) => elements.push(node),
            Some(Open::Mapping {
                entries, keys, key, ..
            }) => match std::mem::replace(key, Key::Awaited) {
                Key::Awaited => *key = accept_key(node, entries, keys, self.mistakes),
                Key::Read(key) => entries.push(Entry { key, value: node }),
                Key::Refused => {}
            },
        }
    }

    /// A place without white space at its end, on the boundaries of characters.
    fn trimmed(&self, start: usize, end: usize) -> Span {
        let mut start = start.min(self.text.len());
        while !self.text.is_char_boundary(start) {
            start -= 1;
        }
        let mut end = end.clamp(start, self.text.len());
        while !self.text.is_char_boundary(end) {
            end -= 1;
        }
        let end = start + self.text[start..end].trim_end().len();
        span(self.source, start, end)
    }

    fn malformed(&mut self, error: &ScanError) {
        let offset = error.marker().byte_offset().unwrap_or(0);
        let start = self.trimmed(offset, offset).start as usize;
        let next = self.text[start..].chars().next();
        let width = next.filter(|next| *next != '\n').map_or(0, char::len_utf8);
        let at = span(self.source, start, start + width);
        let (what, mend) = in_words(error.kind());
        self.mistakes
            .add(at, RecordError::Malformed { what, mend, at });
    }
}

fn style_of(style: ScalarStyle) -> Style {
    match style {
        ScalarStyle::Plain => Style::Plain,
        ScalarStyle::SingleQuoted
        | ScalarStyle::DoubleQuoted
        | ScalarStyle::Literal
        | ScalarStyle::Folded => Style::Quoted,
    }
}

/// YAML's words for nothing: they must not become texts that count as recorded.
pub(crate) fn is_nothing(plain: &str) -> bool {
    matches!(plain, "" | "~" | "null" | "Null" | "NULL")
}

/// What a text is, its escapes and folds undone.
pub(crate) fn scalar(value: Cow<'_, str>, style: Style) -> NodeKind<'_> {
    if style == Style::Plain && is_nothing(&value) {
        return NodeKind::Empty;
    }
    NodeKind::Scalar(Scalar { text: value, style })
}

fn accept_key<'t>(
    node: Node<'t>,
    entries: &[Entry<'t>],
    keys: &mut Keys<'t>,
    mistakes: &mut Mistakes,
) -> Key<'t> {
    let at = node.span;
    let text = match node.kind {
        NodeKind::Scalar(scalar) if scalar.text == "<<" && scalar.style == Style::Plain => {
            mistakes.add(at, RecordError::MergeKey { at });
            return Key::Refused;
        }
        NodeKind::Scalar(scalar) => scalar.text,
        NodeKind::Empty => return refuse_key("missing name", at, mistakes),
        NodeKind::Sequence(_) => return refuse_key("list", at, mistakes),
        NodeKind::Mapping(_) => return refuse_key("mapping", at, mistakes),
        NodeKind::Unreadable => return Key::Refused,
    };
    if let Some(first) = keys.find(entries, &text) {
        let duplicate = RecordError::DuplicateKey {
            key: text.into_owned(),
            first,
            again: at,
        };
        mistakes.add(at, duplicate);
        return Key::Refused;
    }
    Key::Read(Spanned::new(text, at))
}

fn refuse_key<'t>(found: &'static str, at: Span, mistakes: &mut Mistakes) -> Key<'t> {
    mistakes.add(at, RecordError::KeyNotAName { found, at });
    Key::Refused
}

/// What the parser noticed, in the words of somebody who writes records, and the usual mend.
fn in_words(kind: &ErrorKind) -> (&'static str, &'static str) {
    const BRACKETS: &str = "look for a bracket that is not closed, or a comma that is missing";
    const INDENT: &str = "indent entries that belong together by the same number of spaces";
    const QUOTES: &str = "put a text with special characters in single quotes, '…', a single quote inside it doubled";
    const COLON: &str = "write `key: value` with a space after the colon, and put a value that contains `: ` in quotes";
    match kind {
        ErrorKind::TabInIndentation
        | ErrorKind::TabInBlockIndentation
        | ErrorKind::TabNotAllowed
        | ErrorKind::TabInPlainScalar
        | ErrorKind::TabAtBlockScalarStart => (
            "there is a tab where only spaces may stand",
            "indent with spaces, never with tabs",
        ),
        ErrorKind::UnexpectedEofFlowSequence
        | ErrorKind::UnexpectedEofFlowMapping
        | ErrorKind::UnexpectedEofImplicitFlowMapping
        | ErrorKind::UnclosedFlowCollection { .. } => ("the file ends inside a bracket", BRACKETS),
        ErrorKind::ExpectedFlowMappingSeparator => ("expected `,` or `}` here", BRACKETS),
        ErrorKind::ExpectedFlowSequenceSeparator => ("expected `,` or `]` here", BRACKETS),
        ErrorKind::MisplacedFlowCollectionEnd | ErrorKind::MismatchedFlowCollectionEnd { .. } => {
            ("this bracket closes nothing", BRACKETS)
        }
        ErrorKind::BlockEntryInFlowCollection | ErrorKind::BlockSequenceEntryNotAllowed => (
            "a `- ` can't begin an entry here",
            "begin each `- ` on a line of its own, and use commas inside brackets",
        ),
        ErrorKind::RecursionLimitExceeded => (
            "lists and mappings lie too deep in each other",
            "no thing of a record lies that deep: look for a bracket that is not closed",
        ),
        ErrorKind::UnexpectedEof
        | ErrorKind::UnexpectedEofBlockSequence
        | ErrorKind::UnexpectedEofBlockMapping => ("the file ends too early", BRACKETS),
        ErrorKind::UnclosedQuotedScalar => (
            "a quoted text is not closed",
            "close the quotes: inches in a value may be written `in`, or the whole value quoted",
        ),
        ErrorKind::InvalidTrailingSingleQuotedScalar
        | ErrorKind::InvalidTrailingDoubleQuotedScalar => (
            "something follows a quoted text",
            "put the whole value inside the quotes",
        ),
        ErrorKind::UnknownQuotedScalarEscape
        | ErrorKind::InvalidQuotedScalarHexEscape
        | ErrorKind::InvalidLowSurrogateHexEscape
        | ErrorKind::InvalidLowSurrogate
        | ErrorKind::MissingLowSurrogate
        | ErrorKind::UnpairedLowSurrogate
        | ErrorKind::InvalidUnicodeEscape => (
            "a backslash in double quotes is not followed by a known sign",
            "write `\\\\` for a backslash, or use single quotes",
        ),
        ErrorKind::InvalidQuotedScalarIndent
        | ErrorKind::InvalidIndentation
        | ErrorKind::InvalidFlowScalarIndent
        | ErrorKind::InvalidBlockScalarIndent
        | ErrorKind::ZeroBlockScalarIndent => ("the indentation does not fit", INDENT),
        ErrorKind::ExpectedBlockMappingKey => ("expected a key here", INDENT),
        ErrorKind::ExpectedBlockSequenceEntry => ("expected a `- ` here", INDENT),
        ErrorKind::MappingValueNotAllowed
        | ErrorKind::MappingKeyNotAllowed
        | ErrorKind::InvalidColonPlacement
        | ErrorKind::FlowMappingValueAdjacentCollection
        | ErrorKind::InvalidMappingValueWhitespace => ("a colon can't stand here", COLON),
        ErrorKind::SimpleKeyExpected | ErrorKind::InvalidSimpleKey => {
            ("a line has a name without a colon", COLON)
        }
        ErrorKind::DirectiveDisallowed
        | ErrorKind::DuplicateVersionDirective
        | ErrorKind::UnsupportedYamlMajorVersion
        | ErrorKind::MissingDocumentEndBeforeDirective => (
            "a line that begins with `%` is a directive",
            "take the line away, or put the text in quotes",
        ),
        ErrorKind::MissingAnchorOrAliasName => (
            "an `&` or `*` begins a value",
            "put a text that begins with `&` or `*` in quotes",
        ),
        ErrorKind::ExpectedTagBang
        | ErrorKind::UndeclaredTagHandle
        | ErrorKind::InvalidGlobalTagCharacter
        | ErrorKind::InvalidTagTerminator
        | ErrorKind::MissingTagUri
        | ErrorKind::UnclosedVerbatimTag
        | ErrorKind::InvalidTagEscape => (
            "a `!` begins a value",
            "put a text that begins with `!` in quotes",
        ),
        ErrorKind::CommentNotSeparated | ErrorKind::CommentInterceptedScalar => (
            "a comment stands in the middle of a text",
            "put a space before `#` at the end of a value, or put a text with `#` in quotes",
        ),
        ErrorKind::UnexpectedCharacter { .. } => ("this sign can't begin a value", QUOTES),
        ErrorKind::BomInsideDocument => (
            "an invisible byte-order mark stands inside the text",
            "delete it, or save the file as UTF-8 without a byte-order mark",
        ),
        ErrorKind::PlainScalarStartsWithDashFlowIndicator
        | ErrorKind::InvalidBlockEntryWhitespace
        | ErrorKind::ExpectedWhitespace => (
            "a space is missing here",
            "write a space after `-`, `:` and `,`",
        ),
        ErrorKind::ExpectedNodeContent => ("expected a value here", QUOTES),
        // The parser's list of kinds may grow; what is left concerns its rarer forms.
        _ => ("this can't be read", QUOTES),
    }
}
