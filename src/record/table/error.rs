//! What can be wrong with a mapping sheet, and with the table that it is for.

use miette::Diagnostic;
use thiserror::Error;

use crate::record::RecordError;
use crate::source::Span;

/// A mistake in a mapping sheet.
#[derive(Debug, Clone, PartialEq, Eq, Error, Diagnostic)]
pub enum SheetError {
    /// A text of a form that no record and no sheet may have, such as a key written twice.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Text(Box<RecordError>),

    /// `columns: [ Cover ]`
    #[error("found {found}, expected {expected}")]
    #[diagnostic(code(sheet::shape), help("{mend}"))]
    Shape {
        /// What stands there.
        found: String,
        /// What belongs there.
        expected: &'static str,
        /// How it is written.
        mend: &'static str,
        /// Its place.
        #[label("expected {expected}")]
        at: Span,
    },

    /// `colums: …`
    #[error("`{key}` is no key of {owner}")]
    #[diagnostic(code(sheet::unknown_key), help("{mend}"))]
    UnknownKey {
        /// The key.
        key: String,
        /// What it was written in.
        owner: &'static str,
        /// The nearest one.
        mend: String,
        /// The key.
        #[label("not known here")]
        at: Span,
    },

    /// `to: supply_cables.0.cove`
    #[error("`{path}` is no place of a record")]
    #[diagnostic(code(sheet::unknown_path), help("{mend}"))]
    UnknownPath {
        /// As written.
        path: String,
        /// How it is mended.
        mend: String,
        /// The path.
        #[label("leads nowhere")]
        at: Span,
    },

    /// Two columns to `lot`; a column to what `constants` says
    #[error("two places of the sheet say `{path}`")]
    #[diagnostic(
        code(sheet::said_twice),
        help(
            "keep one: a constant behind a column would fill its empty cells with what nobody wrote"
        )
    )]
    SaidTwice {
        /// The path.
        path: String,
        /// The first.
        #[label("first here")]
        first: Span,
        /// The second.
        #[label("and again here")]
        again: Span,
    },

    /// `{ to: supply_cables.0.spans.0.cover, unit: V }`
    #[error("`{unit}` is no unit for `{path}`: expected {expected}")]
    #[diagnostic(code(sheet::unit), help("{mend}"))]
    Unit {
        /// As written.
        unit: String,
        /// What it is for.
        path: String,
        /// What would fit.
        expected: String,
        /// How it is mended.
        mend: String,
        /// The unit.
        #[label("does not fit")]
        at: Span,
    },

    /// `{ to: lot, tolerance: 1 in }`
    #[error("`{path}` takes no {what}")]
    #[diagnostic(
        code(sheet::not_taken),
        help("take it away: only what is measured has a unit, a tolerance and a way to read it")
    )]
    NotTaken {
        /// What it is for.
        path: String,
        /// `unit`, `tolerance`, `how`
        what: &'static str,
        /// Its place.
        #[label("not taken here")]
        at: Span,
    },

    /// `texts: { direkt: [ DB ] }` of a column of wiring methods
    #[error("`{word}` is no word for `{path}`")]
    #[diagnostic(code(sheet::word), help("{mend}"))]
    Word {
        /// The word.
        word: String,
        /// What it is for.
        path: String,
        /// The words there are.
        mend: String,
        /// The word.
        #[label("not a word for it")]
        at: Span,
    },

    /// `texts: { yes: [ x ], no: [ x ] }`
    #[error("the text \"{text}\" has two meanings")]
    #[diagnostic(code(sheet::two_meanings), help("let each text mean one thing"))]
    TwoMeanings {
        /// The text.
        text: String,
        /// Its second place.
        #[label("means something else already")]
        at: Span,
    },
}

/// A mistake in a table, seen before its cells are read.
#[derive(Debug, Clone, PartialEq, Eq, Error, Diagnostic)]
pub enum TableError {
    /// An empty file.
    #[error("the table has no header")]
    #[diagnostic(
        code(table::no_header),
        help("its first row names the columns, as the mapping sheet does")
    )]
    NoHeader,

    /// A column of which the sheet says nothing.
    #[error("the mapping sheet says nothing of the column \"{column}\"")]
    #[diagnostic(code(table::unknown_column), help("{mend}"))]
    UnknownColumn {
        /// What stands above it.
        column: String,
        /// The nearest name, or how it is passed over.
        mend: String,
    },

    /// A column of the sheet that the table does not have.
    #[error("the table has no column \"{column}\"")]
    #[diagnostic(code(table::missing_column), help("{mend}"))]
    MissingColumn {
        /// What should stand above it.
        column: String,
        /// The nearest name.
        mend: String,
    },

    /// Two columns of one name.
    #[error("the table has two columns \"{column}\"")]
    #[diagnostic(code(table::column_twice), help("give each column a name of its own"))]
    ColumnTwice {
        /// What stands above both.
        column: String,
    },

    /// A row with a cell too many.
    #[error("row {row} has {found} cells, expected {expected} as in the header")]
    #[diagnostic(
        code(table::cell_count),
        help("look for a separator inside a cell, which then stands in double quotes")
    )]
    CellCount {
        /// The row, the header being row 1.
        row: usize,
        /// How many it has.
        found: usize,
        /// How many it should have.
        expected: usize,
    },

    /// A row with bytes that are no text.
    #[error("row {row} is not UTF-8 text")]
    #[diagnostic(
        code(table::not_utf8),
        help("save the table as CSV in UTF-8, which spreadsheets offer beside plain CSV")
    )]
    NotUtf8 {
        /// The row, the header being row 1.
        row: usize,
    },

    /// A row of more than eight million bytes.
    #[error("row {row} is longer than a record can be (8 MiB)")]
    #[diagnostic(
        code(table::row_too_long),
        help("look for a double quote that is not closed; what follows it was not read")
    )]
    TooLong {
        /// The row, the header being row 1.
        row: usize,
    },

    /// A disk that fails.
    #[error("the table can't be read on from row {row}: {reason}")]
    #[diagnostic(code(table::unreadable), help("what follows was not read"))]
    Unreadable {
        /// The row, the header being row 1.
        row: usize,
        /// Why.
        reason: String,
    },
}

impl SheetError {
    /// Where it stands.
    pub(super) fn at(&self) -> Option<Span> {
        match self {
            SheetError::Text(_) => None,
            SheetError::SaidTwice { again: at, .. }
            | SheetError::Shape { at, .. }
            | SheetError::UnknownKey { at, .. }
            | SheetError::UnknownPath { at, .. }
            | SheetError::Unit { at, .. }
            | SheetError::NotTaken { at, .. }
            | SheetError::Word { at, .. }
            | SheetError::TwoMeanings { at, .. } => Some(*at),
        }
    }
}
