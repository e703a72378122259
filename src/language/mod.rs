//! Rule text in, a tree with the place of every node out.

mod error;
mod layout;
mod mistake;
mod parse;
pub mod syntax;
mod tidy;

pub use error::SyntaxError;
pub use layout::{Kind, Layout, Token, TokenKind};
pub use parse::{parse, parse_what_reads, words_that_may_follow};
pub use tidy::tidy;
