//! Rule text in, a tree with the place of every node out.

pub mod syntax;
