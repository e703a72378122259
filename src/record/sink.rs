//! Where the scanners of plain texts put what they find, piece by piece: into a tree, or straight
//! where it is wanted.

use std::borrow::Cow;

use smallvec::SmallVec;

use super::tree::{Entry, Keys, Node, NodeKind, Style};
use super::yaml::scalar;
use crate::source::{Span, Spanned};

/// Takes the pieces of a text in the order in which they are written. What it answers with none is
/// left, with the whole text, to the YAML parser.
pub(crate) trait Sink<'t> {
    /// A mapping or a list begins.
    fn begin(&mut self, collection: Collection) -> Option<()>;
    /// The key that is likely to come next, where one is.
    fn likely_key(&self) -> Option<&str> {
        None
    }
    /// That key did come; its value comes next.
    fn likely_key_came(&mut self) -> Option<()> {
        None
    }
    /// A key of the innermost mapping; its value comes next.
    fn key(&mut self, key: Spanned<Cow<'t, str>>) -> Option<()>;
    /// A text, its escapes undone.
    fn text(&mut self, text: Spanned<Cow<'t, str>>, style: Style) -> Option<()>;
    /// The innermost mapping or list ends. It is there from its first byte to its last.
    fn end(&mut self, span: Span) -> Option<()>;
}

/// What holds other values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Collection {
    Mapping,
    List,
}

/// Makes a tree of the pieces.
#[derive(Default)]
pub(crate) struct Planting<'t> {
    /// Those of the mappings that are open, the innermost last.
    entries: SmallVec<[Entry<'t>; 8]>,
    /// The same for lists.
    elements: SmallVec<[Node<'t>; 4]>,
    open: SmallVec<[Open<'t>; 4]>,
    root: Option<Node<'t>>,
}

/// A collection that is being read: where its own begin among all those that are open.
enum Open<'t> {
    Mapping {
        first: usize,
        keys: Keys<'t>,
        key: Option<Spanned<Cow<'t, str>>>,
    },
    List {
        first: usize,
    },
}

impl<'t> Planting<'t> {
    /// The tree, once it is whole.
    pub(crate) fn take(&mut self) -> Option<Node<'t>> {
        self.root.take()
    }

    fn place(&mut self, node: Node<'t>) -> Option<()> {
        match self.open.last_mut() {
            None => self.root = Some(node),
            Some(Open::List { .. }) => self.elements.push(node),
            Some(Open::Mapping { key, .. }) => self.entries.push(Entry {
                key: key.take()?,
                value: node,
            }),
        }
        Some(())
    }
}

impl<'t> Sink<'t> for Planting<'t> {
    fn begin(&mut self, collection: Collection) -> Option<()> {
        self.open.push(match collection {
            Collection::Mapping => Open::Mapping {
                first: self.entries.len(),
                keys: Keys::default(),
                key: None,
            },
            Collection::List => Open::List {
                first: self.elements.len(),
            },
        });
        Some(())
    }

    fn key(&mut self, name: Spanned<Cow<'t, str>>) -> Option<()> {
        let Some(Open::Mapping { first, keys, key }) = self.open.last_mut() else {
            return None;
        };
        if keys.find(&self.entries[*first..], &name.value).is_some() {
            return None;
        }
        *key = Some(name);
        Some(())
    }

    fn text(&mut self, text: Spanned<Cow<'t, str>>, style: Style) -> Option<()> {
        self.place(Node {
            kind: scalar(text.value, style),
            span: text.span,
        })
    }

    fn end(&mut self, span: Span) -> Option<()> {
        let kind = match self.open.pop()? {
            Open::Mapping { first, .. } => NodeKind::Mapping(self.entries.drain(first..).collect()),
            Open::List { first } => NodeKind::Sequence(self.elements.drain(first..).collect()),
        };
        self.place(Node { kind, span })
    }
}
