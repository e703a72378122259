//! A text in the plain YAML that records are mostly written in, in; the pieces of it that the YAML
//! parser would find, out, a good deal sooner.
//!
//! Keys and values line by line, lists of them, collections in brackets on one line, texts on one
//! line. Whatever is written otherwise, or has a mistake to be told, is left to the parser, as in
//! [`json`](super::json).

use std::borrow::Cow;

use super::json::{Scanner, is_of_text};
use super::sink::{Collection, Sink};
use super::tree::{Style, span};
use crate::source::{SourceId, Spanned};

/// Puts the pieces of a text into a sink; none where it is not a mapping in plain YAML, or not wanted.
pub(super) fn scan_into<'t, S: Sink<'t>>(
    text: &'t str,
    source: SourceId,
    sink: &mut S,
) -> Option<()> {
    if !is_ordinary(text) {
        return None;
    }
    let mut lines = Lines {
        scanner: Scanner::new(text, source, sink),
        line: 0,
        column: None,
    };
    lines.next_line();
    if lines.column != Some(0) {
        return None;
    }
    lines.mapping(0, 1)?;
    lines.column.is_none().then_some(())
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
struct Lines<'t, 's, S> {
    scanner: Scanner<'t, 's, S>,
    /// Where the line begins.
    line: usize,
    /// How far the line is indented; none at the end of the text.
    column: Option<usize>,
}

impl<'t, S: Sink<'t>> Lines<'t, '_, S> {
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

    /// A mapping line by line; says where its last value ends, as all that follow do of theirs.
    fn mapping(&mut self, column: usize, depth: usize) -> Option<usize> {
        let start = self.scanner.begin(depth, Collection::Mapping)?;
        let mut end;
        loop {
            self.key()?;
            end = self.value(column, depth)?;
            match self.column {
                Some(next) if next == column => {}
                Some(next) if next > column => return None,
                Some(_) | None => break,
            }
        }
        self.end(start, end)
    }

    /// A list from the first of its dashes. To the parser one that stands no farther right than its
    /// key begins with its first element.
    fn sequence(&mut self, column: usize, depth: usize, is_indented: bool) -> Option<usize> {
        let mut start = self.scanner.begin(depth, Collection::List)?;
        let mut is_first = true;
        let mut end;
        loop {
            self.scanner.at += 1;
            self.scanner.spaces();
            if std::mem::take(&mut is_first) && !is_indented {
                start = self.scanner.at;
                // Where a bracket begins it, the parser has it end elsewhere.
                if matches!(self.scanner.peek(), Some(b'[' | b'{')) {
                    return None;
                }
            }
            end = match self.ident(self.scanner.at) {
                Some(_) => self.mapping(self.scanner.at - self.line, depth + 1)?,
                None => self.in_line(depth + 1)?,
            };
            match self.column {
                Some(next) if next == column && self.is_dash() => {}
                Some(next) if next > column => return None,
                Some(_) | None => break,
            }
        }
        self.end(start, end)
    }

    fn end(&mut self, start: usize, end: usize) -> Option<usize> {
        let span = span(self.scanner.source, start, end);
        self.scanner.sink.end(span)?;
        Some(end)
    }

    /// A key of a line, and its colon.
    fn key(&mut self) -> Option<()> {
        let start = self.scanner.at;
        let end = self.ident(start)?;
        self.scanner.at = end + 1;
        let text = &self.scanner.text[start..end];
        if matches!(text, "null" | "Null" | "NULL") {
            return None;
        }
        let at = span(self.scanner.source, start, end);
        self.scanner.key(Spanned::new(Cow::Borrowed(text), at))
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
    fn value(&mut self, column: usize, depth: usize) -> Option<usize> {
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
    fn below(&mut self, column: usize, depth: usize) -> Option<usize> {
        let next = self.column?;
        match self.is_dash() {
            true if next >= column => self.sequence(next, depth + 1, next > column),
            false if next > column => self.mapping(next, depth + 1),
            true | false => None,
        }
    }

    fn is_dash(&self) -> bool {
        self.scanner.bytes[self.scanner.at..].starts_with(b"- ")
    }

    /// A value that stands alone to the end of its line.
    fn in_line(&mut self, depth: usize) -> Option<usize> {
        match self.scanner.peek()? {
            b'{' => self.flow_mapping(depth)?,
            b'[' => self.flow_sequence(depth)?,
            b'"' | b'\'' => self.quoted()?,
            _ => self.plain()?,
        }
        let end = self.scanner.at;
        self.end_line()?;
        Some(end)
    }

    // Collections in brackets.

    fn flow_mapping(&mut self, depth: usize) -> Option<()> {
        let start = self.scanner.begin(depth, Collection::Mapping)?;
        self.scanner.at += 1;
        self.scanner.spaces();
        while self.scanner.peek()? != b'}' {
            self.key()?;
            self.scanner.spaces();
            self.flow(depth + 1)?;
            self.comma(b'}')?;
        }
        self.scanner.at += 1;
        self.end(start, self.scanner.at)?;
        Some(())
    }

    fn flow_sequence(&mut self, depth: usize) -> Option<()> {
        let start = self.scanner.begin(depth, Collection::List)?;
        self.scanner.at += 1;
        self.scanner.spaces();
        while self.scanner.peek()? != b']' {
            self.flow(depth + 1)?;
            self.comma(b']')?;
        }
        self.scanner.at += 1;
        self.end(start, self.scanner.at)?;
        Some(())
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

    fn flow(&mut self, depth: usize) -> Option<()> {
        match self.scanner.peek()? {
            b'{' => self.flow_mapping(depth),
            b'[' => self.flow_sequence(depth),
            b'"' | b'\'' => self.quoted(),
            _ => self.flow_plain(),
        }
    }

    // Texts.

    fn quoted(&mut self) -> Option<()> {
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
    fn plain(&mut self) -> Option<()> {
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
    fn flow_plain(&mut self) -> Option<()> {
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

    fn bare(&mut self, start: usize, end: usize) -> Option<()> {
        let text = self.scanner.text[start..end].trim_end_matches(' ');
        // Of other blanks at its end the parser keeps the text, but not the place.
        if text.ends_with(char::is_whitespace) {
            return None;
        }
        self.scanner.at = start + text.len();
        self.scanner.count()?;
        let text = Spanned::new(Cow::Borrowed(text), self.scanner.span(start));
        self.scanner.sink.text(text, Style::Plain)
    }
}
