//! A text in the plain YAML that records are mostly written in, in; the tree that the YAML parser
//! would make of it, out, a good deal sooner.
//!
//! Keys and values line by line, lists of them, collections in brackets on one line, texts on one
//! line. Whatever is written otherwise, or has a mistake to be told, is left to the parser, as in
//! [`json`](super::json).

use std::borrow::Cow;

use super::json::{LONGEST_KEY, Scanner, is_of_text};
use super::tree::{Entry, Keys, Node, NodeKind, Style, span};
use super::yaml::scalar;
use crate::source::{SourceId, Span, Spanned};

/// The tree of a text that is a mapping in plain YAML; none for any other.
pub(super) fn scan(text: &str, source: SourceId) -> Option<Node<'_>> {
    if !is_ordinary(text) {
        return None;
    }
    let mut lines = Lines {
        scanner: Scanner::new(text, source),
        line: 0,
        column: None,
    };
    lines.next_line();
    if lines.column != Some(0) {
        return None;
    }
    let root = lines.mapping(0, 1)?;
    lines.column.is_none().then_some(root)
}

/// Whether a text has only line feeds and signs that YAML takes for themselves.
fn is_ordinary(text: &str) -> bool {
    let is_usual = |byte: &u8| matches!(byte, b' '..=b'~' | b'\n');
    let mut at = 0;
    while at < text.len() {
        let next = text.as_bytes()[at..].first_chunk::<32>();
        // Looked at all together, as processors like it.
        if next.is_some_and(|next| next.iter().fold(true, |all, byte| all & is_usual(byte))) {
            at += 32;
            continue;
        }
        let after = text[at..].chars().take(32);
        for sign in after {
            if sign != '\n' && !is_of_text(sign) {
                return false;
            }
            at += sign.len_utf8();
        }
    }
    true
}

/// Stands at the first sign of a line that holds something, or within such a line.
struct Lines<'t> {
    scanner: Scanner<'t>,
    /// Where the line begins.
    line: usize,
    /// How far the line is indented; none at the end of the text.
    column: Option<usize>,
}

impl<'t> Lines<'t> {
    /// Goes from the beginning of a line to the next that holds something.
    fn next_line(&mut self) {
        loop {
            self.line = self.scanner.at;
            self.scanner.spaces();
            match self.scanner.peek() {
                None => {
                    self.column = None;
                    return;
                }
                Some(b'\n') => self.scanner.at += 1,
                Some(b'#') => self.comment(),
                Some(_) => {
                    self.column = Some(self.scanner.at - self.line);
                    return;
                }
            }
        }
    }

    /// Passes over the rest of a line.
    fn comment(&mut self) {
        let rest = &self.scanner.bytes[self.scanner.at..];
        let end = rest.iter().position(|byte| *byte == b'\n');
        self.scanner.at += end.map_or(rest.len(), |end| end + 1);
    }

    /// Goes on to the next line; none where the value is followed by something else.
    fn end_line(&mut self) -> Option<()> {
        let value = self.scanner.at;
        self.scanner.spaces();
        match self.scanner.peek() {
            None => {}
            Some(b'\n') => self.scanner.at += 1,
            Some(b'#') if self.scanner.at > value => self.comment(),
            Some(_) => return None,
        }
        self.next_line();
        Some(())
    }

    fn mapping(&mut self, column: usize, depth: usize) -> Option<Node<'t>> {
        let start = self.scanner.begin(depth)?;
        let first = self.scanner.entries.len();
        let mut keys = Keys::default();
        loop {
            let key = self.key(first, &mut keys)?;
            let value = self.value(column, depth)?;
            self.scanner.entries.push(Entry { key, value });
            match self.column {
                Some(next) if next == column => {}
                Some(next) if next > column => return None,
                Some(_) | None => break,
            }
        }
        let entries = self.scanner.entries.split_off(first);
        let end = entries.last()?.value.span.end;
        Some(self.node(NodeKind::Mapping(entries), start, end))
    }

    fn sequence(&mut self, column: usize, depth: usize) -> Option<Node<'t>> {
        let start = self.scanner.begin(depth)?;
        let first = self.scanner.elements.len();
        loop {
            self.scanner.at += 1;
            self.scanner.spaces();
            let element = match self.ident(self.scanner.at) {
                Some(_) => self.mapping(self.scanner.at - self.line, depth + 1)?,
                None => self.in_line(depth + 1)?,
            };
            self.scanner.elements.push(element);
            match self.column {
                Some(next) if next == column && self.is_dash() => {}
                Some(next) if next > column => return None,
                Some(_) | None => break,
            }
        }
        let elements = self.scanner.elements.split_off(first);
        let end = elements.last()?.span.end;
        Some(self.node(NodeKind::Sequence(elements), start, end))
    }

    fn node(&self, kind: NodeKind<'t>, start: usize, end: u32) -> Node<'t> {
        let start = span(self.scanner.source, start, start);
        let span = Span { end, ..start };
        Node { kind, span }
    }

    /// A key of a line, and its colon.
    fn key(&mut self, first: usize, keys: &mut Keys<'t>) -> Option<Spanned<Cow<'t, str>>> {
        let start = self.scanner.at;
        let end = self.ident(start)?;
        self.scanner.at = end + 1;
        self.known(start, end, first, keys)
    }

    /// A key that has no other like it.
    fn known(
        &mut self,
        start: usize,
        end: usize,
        first: usize,
        keys: &mut Keys<'t>,
    ) -> Option<Spanned<Cow<'t, str>>> {
        let text = &self.scanner.text[start..end];
        let is_nothing = matches!(text, "null" | "Null" | "NULL");
        let entries = &self.scanner.entries[first..];
        if is_nothing || text.len() > LONGEST_KEY || keys.find(entries, text).is_some() {
            return None;
        }
        self.scanner.count()?;
        let at = span(self.scanner.source, start, end);
        Some(Spanned::new(Cow::Borrowed(text), at))
    }

    /// Where the name that begins here ends, if a colon follows and then a blank.
    fn ident(&self, start: usize) -> Option<usize> {
        let rest = &self.scanner.bytes[start..];
        let is_of_name = |byte: &u8| byte.is_ascii_alphanumeric() || *byte == b'_';
        let length = rest.iter().take_while(|byte| is_of_name(byte)).count();
        let is_key = length > 0
            && rest.get(length) == Some(&b':')
            && matches!(rest.get(length + 1), None | Some(b' ' | b'\n'));
        is_key.then_some(start + length)
    }

    /// What stands behind a colon: on its line, or below it.
    fn value(&mut self, column: usize, depth: usize) -> Option<Node<'t>> {
        let colon = self.scanner.at;
        self.scanner.spaces();
        match self.scanner.peek() {
            None | Some(b'\n' | b'#') => {
                self.scanner.at = colon;
                self.end_line()?;
                self.below(column, depth)
            }
            Some(_) => self.in_line(depth + 1),
        }
    }

    /// A list may stand as far left as the key it belongs to.
    fn below(&mut self, column: usize, depth: usize) -> Option<Node<'t>> {
        let next = self.column?;
        match self.is_dash() {
            true if next == column => self.unindented(next, depth + 1),
            true if next > column => self.sequence(next, depth + 1),
            false if next > column => self.mapping(next, depth + 1),
            true | false => None,
        }
    }

    /// To the parser such a list begins with its first element.
    fn unindented(&mut self, column: usize, depth: usize) -> Option<Node<'t>> {
        let mut list = self.sequence(column, depth)?;
        let start = list.elements()?.first()?.span.start;
        // Where a bracket begins it, the parser has it end elsewhere.
        if matches!(self.scanner.bytes[start as usize], b'[' | b'{') {
            return None;
        }
        list.span.start = start;
        Some(list)
    }

    fn is_dash(&self) -> bool {
        self.scanner.bytes[self.scanner.at..].starts_with(b"- ")
    }

    /// A value that stands alone to the end of its line.
    fn in_line(&mut self, depth: usize) -> Option<Node<'t>> {
        let node = match self.scanner.peek()? {
            b'{' => self.flow_mapping(depth)?,
            b'[' => self.flow_sequence(depth)?,
            b'"' | b'\'' => self.quoted()?,
            _ => self.plain()?,
        };
        self.end_line()?;
        Some(node)
    }

    // Collections in brackets.

    fn flow_mapping(&mut self, depth: usize) -> Option<Node<'t>> {
        let start = self.scanner.begin(depth)?;
        let first = self.scanner.entries.len();
        let mut keys = Keys::default();
        self.scanner.at += 1;
        self.scanner.spaces();
        while self.scanner.peek()? != b'}' {
            let key = self.key(first, &mut keys)?;
            self.scanner.spaces();
            let value = self.flow(depth + 1)?;
            self.scanner.entries.push(Entry { key, value });
            self.comma(b'}')?;
        }
        self.scanner.at += 1;
        let kind = NodeKind::Mapping(self.scanner.entries.split_off(first));
        let span = self.scanner.span(start);
        Some(Node { kind, span })
    }

    fn flow_sequence(&mut self, depth: usize) -> Option<Node<'t>> {
        let start = self.scanner.begin(depth)?;
        let first = self.scanner.elements.len();
        self.scanner.at += 1;
        self.scanner.spaces();
        while self.scanner.peek()? != b']' {
            let element = self.flow(depth + 1)?;
            self.scanner.elements.push(element);
            self.comma(b']')?;
        }
        self.scanner.at += 1;
        let kind = NodeKind::Sequence(self.scanner.elements.split_off(first));
        let span = self.scanner.span(start);
        Some(Node { kind, span })
    }

    /// Passes over a comma and the blanks around it; none where neither it nor the end follows.
    fn comma(&mut self, end: u8) -> Option<()> {
        self.scanner.spaces();
        if self.scanner.peek()? == end {
            return Some(());
        }
        self.scanner.take(b',')?;
        self.scanner.spaces();
        // A comma before the end is for the parser.
        (self.scanner.peek()? != end).then_some(())
    }

    fn flow(&mut self, depth: usize) -> Option<Node<'t>> {
        match self.scanner.peek()? {
            b'{' => self.flow_mapping(depth),
            b'[' => self.flow_sequence(depth),
            b'"' | b'\'' => self.quoted(),
            _ => self.flow_plain(),
        }
    }

    // Texts.

    fn quoted(&mut self) -> Option<Node<'t>> {
        let text = match self.scanner.peek()? {
            b'"' => self.scanner.string()?,
            _ => self.single_quoted()?,
        };
        self.scanner.quoted(text)
    }

    /// `'3'' 6"'`
    fn single_quoted(&mut self) -> Option<Spanned<Cow<'t, str>>> {
        let start = self.scanner.at;
        self.scanner.at += 1;
        let inner = self.scanner.at;
        loop {
            match self.scanner.peek()? {
                b'\n' => return None,
                b'\'' if self.scanner.bytes.get(self.scanner.at + 1) == Some(&b'\'') => {
                    self.scanner.at += 2;
                }
                b'\'' => break,
                _ => self.scanner.at += 1,
            }
        }
        let raw = &self.scanner.text[inner..self.scanner.at];
        let text = match raw.contains('\'') {
            true => Cow::Owned(raw.replace("''", "'")),
            false => Cow::Borrowed(raw),
        };
        self.scanner.at += 1;
        Some(Spanned::new(text, self.scanner.span(start)))
    }

    /// A bare text to the end of its line, or to a comment.
    fn plain(&mut self) -> Option<Node<'t>> {
        let start = self.plain_start()?;
        let rest = &self.scanner.bytes[start..];
        let mut length = 0;
        while let Some(byte) = rest.get(length) {
            match byte {
                b'\n' => break,
                b'#' if rest[length - 1] == b' ' => break,
                b':' if matches!(rest.get(length + 1), None | Some(b' ' | b'\n')) => return None,
                _ => length += 1,
            }
        }
        self.bare(start, start + length)
    }

    /// A bare text to the comma or bracket after it.
    fn flow_plain(&mut self) -> Option<Node<'t>> {
        let start = self.plain_start()?;
        let rest = &self.scanner.bytes[start..];
        let is_end =
            |byte: &u8| matches!(byte, b',' | b'}' | b']' | b'{' | b'[' | b':' | b'#' | b'\n');
        let length = rest.iter().position(is_end)?;
        match rest[length] {
            b',' | b'}' | b']' => self.bare(start, start + length),
            _ => None,
        }
    }

    /// Where a bare text begins, if it does so with a sign that means nothing else.
    fn plain_start(&self) -> Option<usize> {
        let start = self.scanner.at;
        let next = self.scanner.bytes.get(start + 1);
        let is_start = match self.scanner.peek()? {
            b'-' => next.is_some_and(u8::is_ascii_alphanumeric),
            b'(' | b'+' | b'/' | b'_' | b'$' | b'.' | b'~' => true,
            byte => byte.is_ascii_alphanumeric() || !byte.is_ascii(),
        };
        is_start.then_some(start)
    }

    fn bare(&mut self, start: usize, end: usize) -> Option<Node<'t>> {
        let text = self.scanner.text[start..end].trim_end_matches(' ');
        // Of other blanks at its end the parser keeps the text, but not the place.
        if text.ends_with(char::is_whitespace) {
            return None;
        }
        self.scanner.at = start + text.len();
        self.scanner.count()?;
        Some(Node {
            kind: scalar(Cow::Borrowed(text), Style::Plain),
            span: self.scanner.span(start),
        })
    }
}
