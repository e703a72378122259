//! A table and a mapping sheet in, a record for each row out.
//!
//! The sheet says what each column means; a row becomes the tree that YAML would have given, and
//! goes through the one reader. Every value keeps the place of its cell.
//!
//! ```text
//! sheet (YAML) ──▶ sheet ──┐
//!                          ├─▶ row (a tree with places) ──▶ read
//! table (CSV)  ──▶ rows ───┘
//! ```

pub mod error;
mod path;
mod row;
#[cfg(feature = "program")]
mod rows;
mod sheet;

pub use error::{SheetError, TableError};
pub use path::without_indices;
pub use row::{RowText, record};
#[cfg(feature = "program")]
pub use rows::Rows;
pub use sheet::{COLUMN_KEYS, SHEET_KEYS, Sheet, read};
