//! The texts we were given, by name, and places in them.

use std::fmt;
use std::sync::Arc;

/// Which text of a [`Sources`] a place lies in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct SourceId(pub u32);

/// A stretch of one text, in bytes; `end` is the first byte after it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Span {
    /// The text.
    pub source: SourceId,
    /// The first byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Span {
    /// From the start of `self` to the end of `other`, in the text of `self`.
    pub fn to(self, other: Span) -> Span {
        Span {
            source: self.source,
            start: self.start,
            end: other.end.max(self.start),
        }
    }
}

impl From<Span> for miette::SourceSpan {
    fn from(span: Span) -> Self {
        let length = span.end.saturating_sub(span.start) as usize;
        (span.start as usize, length).into()
    }
}

/// A value and where it was written.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Spanned<T> {
    /// The value.
    pub value: T,
    /// Its place.
    pub span: Span,
}

impl<T> Spanned<T> {
    /// Puts a value at its place.
    pub fn new(value: T, span: Span) -> Self {
        Spanned { value, span }
    }
}

impl<T: fmt::Display> fmt::Display for Spanned<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.value.fmt(f)
    }
}

/// One text and its name, usually a path relative to its library.
#[derive(Debug, Clone)]
pub struct Source {
    /// The name shown in messages, with `/` between folders.
    pub name: Arc<str>,
    /// The whole text.
    pub text: Arc<str>,
    /// Whether its file holds others beside it: a line of a stream, a row of a table.
    pub is_part: bool,
    /// The line of its file on which it begins, from 1.
    pub first_line: usize,
    /// Its cells, where it is the row of a table.
    pub row: Option<Row>,
}

/// The row of a table, and what it is read by.
#[derive(Debug, Clone)]
pub struct Row {
    /// Its number as a spreadsheet counts, the header being row 1.
    pub number: usize,
    /// What stands above each cell.
    pub columns: Arc<[String]>,
    /// Where each cell begins in the text. Invariant: rising, one for each column.
    pub starts: Vec<u32>,
    /// The sheet that says what the columns mean.
    pub sheet: SourceId,
}

impl Row {
    /// `row 7, column "Cover (in)"`
    fn cell(&self, at: u32) -> String {
        let column = self.starts.partition_point(|start| *start <= at);
        match self.columns.get(column.saturating_sub(1)) {
            Some(column) => format!("row {}, column \"{column}\"", self.number),
            None => format!("row {}", self.number),
        }
    }
}

/// Line and column, both from 1; a column counts characters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Position {
    /// The line, from 1.
    pub line: usize,
    /// The character within the line, from 1.
    pub column: usize,
}

/// All texts of a run, in the order they were added.
#[derive(Debug, Clone, Default)]
pub struct Sources {
    texts: Vec<Source>,
}

impl Sources {
    /// Keeps a text and says what to call it from now on.
    pub fn add(&mut self, name: impl Into<Arc<str>>, text: impl Into<Arc<str>>) -> SourceId {
        self.add_source(Source {
            name: name.into(),
            text: text.into(),
            is_part: false,
            first_line: 1,
            row: None,
        })
    }

    /// Keeps a part of a file: a line of a stream, a row of a table.
    pub fn add_source(&mut self, source: Source) -> SourceId {
        let id = SourceId(u32::try_from(self.texts.len()).expect("fewer than four billion texts"));
        self.texts.push(source);
        id
    }

    /// The text behind an id that this set handed out.
    pub fn get(&self, id: SourceId) -> &Source {
        &self.texts[id.0 as usize]
    }

    /// Every text with its id.
    pub fn iter(&self) -> impl Iterator<Item = (SourceId, &Source)> {
        self.texts
            .iter()
            .enumerate()
            .map(|(index, source)| (SourceId(index as u32), source))
    }

    /// What stands at a place.
    pub fn slice(&self, span: Span) -> &str {
        &self.get(span.source).text[span.start as usize..span.end as usize]
    }

    /// A value of a record without the quotes that JSON has around it.
    pub fn unquoted(&self, span: Span) -> &str {
        let text = self.slice(span).trim();
        for quote in ['"', '\''] {
            let inner = text.strip_prefix(quote);
            if let Some(inner) = inner.and_then(|rest| rest.strip_suffix(quote)) {
                return inner;
            }
        }
        text
    }

    /// The line and column of its file at which a place begins. What a row has from its sheet is
    /// told at the beginning of the row.
    pub fn position(&self, span: Span) -> Position {
        match self.row_of_sheet(span.source) {
            Some(row) => Position {
                line: row.first_line,
                column: 1,
            },
            None => self.position_within(span),
        }
    }

    fn position_within(&self, span: Span) -> Position {
        let source = self.get(span.source);
        let before = &source.text[..span.start as usize];
        let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
        Position {
            line: source.first_line + before.bytes().filter(|byte| *byte == b'\n').count(),
            column: before[line_start..].chars().count() + 1,
        }
    }

    /// Where a place of a table's row is: its row and column, or the line of the sheet that says
    /// it for all rows. None where the record is no row of a table.
    pub fn cell(&self, span: Span) -> Option<String> {
        if let Some(row) = &self.get(span.source).row {
            return Some(row.cell(span.start));
        }
        let row = self.row_of_sheet(span.source)?.row.as_ref()?;
        let line = self.position_within(span).line;
        let sheet = &self.get(span.source).name;
        Some(format!("row {}, by line {line} of {sheet}", row.number))
    }

    /// The row that is read by a sheet, if the text is one.
    fn row_of_sheet(&self, sheet: SourceId) -> Option<&Source> {
        let by = |source: &&Source| source.row.as_ref().is_some_and(|row| row.sheet == sheet);
        self.texts.iter().find(by)
    }
}

/// Characters that a reader doesn't see, or that turn the order of those around them.
pub(crate) fn is_hidden(letter: char) -> bool {
    letter.is_control()
        || matches!(letter,
            '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2060}'..='\u{206F}' | '\u{FEFF}')
}

/// A mistake and the text it stands in; labels inside it are places of that text.
#[derive(Debug, Clone)]
pub struct Located<E> {
    /// The text.
    pub source: SourceId,
    /// The mistake.
    pub error: E,
}
