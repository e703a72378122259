//! Where the grammar stopped in, what the author most likely meant out.

use super::error::SyntaxError;
use super::layout::{ItemText, Kind, Layout, Token, TokenKind};
use crate::source::Span;

/// Where the grammar could not go on, and what it would have taken.
#[derive(Debug)]
pub struct Failure {
    /// The byte of the file.
    pub at: usize,
    /// What could have stood there, in words.
    pub expected: String,
    /// The same, one by one.
    pub wanted: Vec<String>,
}

/// What is known of a failure without asking the grammar.
pub fn before_reading(_layout: &Layout<'_>, _item: &ItemText) -> Option<SyntaxError> {
    None
}

/// What stands at the margin and begins no item.
pub fn of_outsider(layout: &Layout<'_>, token: Token) -> SyntaxError {
    SyntaxError::UnknownItem {
        word: layout.word(token).to_string(),
        at: layout.span(token),
    }
}

/// The mistake behind a failure.
pub fn of_failure(layout: &Layout<'_>, item: &ItemText, failure: &Failure) -> SyntaxError {
    let _ = (item.kind, TokenKind::Word, Kind::Rule);
    let token = layout.tokens[item.tokens.clone()]
        .iter()
        .find(|token| token.end > failure.at);
    let (found, at) = match token {
        Some(&token) => (format!("`{}`", layout.word(token)), layout.span(token)),
        None => (
            "the end".to_string(),
            Span {
                source: layout.source,
                start: item.end as u32,
                end: item.end as u32,
            },
        ),
    };
    SyntaxError::Unexpected {
        found,
        expected: failure.expected.clone(),
        at,
    }
}
