//! What can be wrong with a text before anything in it is understood.

use miette::Diagnostic;
use thiserror::Error;

use crate::source::Span;

/// A text that cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, Error, Diagnostic)]
pub enum SyntaxError {
    /// More mistakes.
    #[error("{count} more")]
    MoreLeftOut {
        /// How many.
        count: usize,
    },
    /// Too large.
    #[error("{size}")]
    TooLarge {
        /// Bytes.
        size: usize,
        /// Start.
        #[label("here")]
        at: Span,
    },
    /// Indented.
    #[error("`{word}` indented")]
    IndentedItem {
        /// The word.
        word: String,
        /// Where.
        #[label("here")]
        at: Span,
    },
    /// Deep.
    #[error("over {deepest}")]
    TooDeep {
        /// The bound.
        deepest: usize,
        /// Where.
        #[label("here")]
        at: Span,
    },
    /// Unclosed.
    #[error("unclosed")]
    UnclosedText {
        /// Where.
        #[label("here")]
        at: Span,
    },
    /// Stray.
    #[error("{found}")]
    StrayCharacter {
        /// What.
        found: String,
        /// Where.
        #[label("here")]
        at: Span,
    },
    /// Unknown.
    #[error("{word}")]
    UnknownItem {
        /// What.
        word: String,
        /// Where.
        #[label("here")]
        at: Span,
    },
    /// Anything else.
    #[error("found {found}, expected {expected}")]
    Unexpected {
        /// What.
        found: String,
        /// What else.
        expected: String,
        /// Where.
        #[label("here")]
        at: Span,
    },
}
