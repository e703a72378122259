//! A light tree in which every value keeps its place: what `yaml` and `json` read, and what a
//! table's row is made into.
//!
//! Texts are those of the source wherever it holds them as they are.

use std::borrow::Cow;
use std::collections::HashMap;

use crate::source::{SourceId, Span, Spanned};

/// A value and its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Node<'t> {
    /// What it is.
    pub kind: NodeKind<'t>,
    /// From its first byte to its last, without the white space after it.
    pub span: Span,
}

/// The forms of a value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NodeKind<'t> {
    /// Nothing was written, or YAML's null.
    Empty,
    /// A text.
    Scalar(Scalar<'t>),
    /// A list.
    Sequence(Vec<Node<'t>>),
    /// A mapping.
    Mapping(Vec<Entry<'t>>),
    /// What can't be read and has been told already.
    Unreadable,
}

/// A text as written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Scalar<'t> {
    /// The text, its escapes and folds undone.
    pub text: Cow<'t, str>,
    /// How it was written.
    pub style: Style,
}

/// How a scalar is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Style {
    /// Bare.
    Plain,
    /// In quotes, or as a block.
    Quoted,
}

/// A key and its value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry<'t> {
    /// The key.
    pub key: Spanned<Cow<'t, str>>,
    /// The value.
    pub value: Node<'t>,
}

impl<'t> Node<'t> {
    /// The entries of a mapping.
    pub fn entries(&self) -> Option<&[Entry<'t>]> {
        match &self.kind {
            NodeKind::Mapping(entries) => Some(entries),
            NodeKind::Empty
            | NodeKind::Scalar(_)
            | NodeKind::Sequence(_)
            | NodeKind::Unreadable => None,
        }
    }

    /// The elements of a list.
    pub fn elements(&self) -> Option<&[Node<'t>]> {
        match &self.kind {
            NodeKind::Sequence(elements) => Some(elements),
            NodeKind::Empty | NodeKind::Scalar(_) | NodeKind::Mapping(_) | NodeKind::Unreadable => {
                None
            }
        }
    }

    /// The text of a scalar.
    pub fn text(&self) -> Option<&str> {
        match &self.kind {
            NodeKind::Scalar(scalar) => Some(&scalar.text),
            NodeKind::Empty
            | NodeKind::Sequence(_)
            | NodeKind::Mapping(_)
            | NodeKind::Unreadable => None,
        }
    }

    /// The value of a key of a mapping.
    pub fn get(&self, key: &str) -> Option<&Node<'t>> {
        let entry = self
            .entries()?
            .iter()
            .find(|entry| entry.key.value == key)?;
        Some(&entry.value)
    }

    /// Whether nothing was written.
    pub fn is_empty(&self) -> bool {
        self.kind == NodeKind::Empty
    }

    /// Whether this is that word, `none` or `more`; JSON can only write it in quotes.
    pub fn is_word(&self, word: &str) -> bool {
        self.text() == Some(word)
    }

    /// What it is, in messages.
    pub fn called(&self) -> &'static str {
        match &self.kind {
            NodeKind::Empty => "nothing",
            NodeKind::Scalar(_) => "a single value",
            NodeKind::Sequence(_) => "a list",
            NodeKind::Mapping(_) => "a mapping",
            NodeKind::Unreadable => "something unreadable",
        }
    }

    /// The same tree for longer than its source.
    pub fn into_owned(self) -> Node<'static> {
        let kind = match self.kind {
            NodeKind::Empty => NodeKind::Empty,
            NodeKind::Scalar(scalar) => NodeKind::Scalar(Scalar {
                text: Cow::Owned(scalar.text.into_owned()),
                style: scalar.style,
            }),
            NodeKind::Sequence(elements) => {
                NodeKind::Sequence(elements.into_iter().map(Node::into_owned).collect())
            }
            NodeKind::Mapping(entries) => {
                NodeKind::Mapping(entries.into_iter().map(Entry::into_owned).collect())
            }
            NodeKind::Unreadable => NodeKind::Unreadable,
        };
        Node {
            kind,
            span: self.span,
        }
    }
}

impl Entry<'_> {
    /// The same entry for longer than its source.
    pub fn into_owned(self) -> Entry<'static> {
        Entry {
            key: Spanned::new(Cow::Owned(self.key.value.into_owned()), self.key.span),
            value: self.value.into_owned(),
        }
    }
}

/// Finds keys that a mapping has already.
#[derive(Default)]
pub(super) struct Keys<'t> {
    /// Those looked at so far; none while they are few.
    known: Option<HashMap<Cow<'t, str>, Span>>,
}

/// Up to so many keys are looked through one by one.
const FEW: usize = 24;

impl<'t> Keys<'t> {
    /// Where a key stands among the entries of its mapping. It is asked for the same mapping, to
    /// which entries were added.
    pub(super) fn find(&mut self, entries: &[Entry<'t>], key: &str) -> Option<Span> {
        if entries.len() <= FEW {
            let same = |entry: &&Entry| entry.key.value == key;
            return entries.iter().find(same).map(|entry| entry.key.span);
        }
        let known = self.known.get_or_insert_default();
        for entry in &entries[known.len()..] {
            known.insert(entry.key.value.clone(), entry.key.span);
        }
        known.get(key).copied()
    }
}

/// A place in a text of at most `yaml::MOST_BYTES`, so that it fits.
pub(super) fn span(source: SourceId, start: usize, end: usize) -> Span {
    Span {
        source,
        start: u32::try_from(start).unwrap_or(u32::MAX),
        end: u32::try_from(end).unwrap_or(u32::MAX),
    }
}

/// A text without the white space around it, as `trim` gives it: mostly there is none.
#[inline]
pub(crate) fn trimmed(text: &str) -> &str {
    match text.as_bytes() {
        [b'!'..=b'~', .., b'!'..=b'~'] => text,
        _ => text.trim(),
    }
}
