//! Rule text in, a tree with the place of every node out.

mod error;
mod layout;
mod mistake;
mod parse;
pub mod syntax;
mod tidy;

pub use error::SyntaxError;
pub use parse::parse;
pub use tidy::tidy;
