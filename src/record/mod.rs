//! Record text in, slots with the place of every value out.
//!
//! ```text
//! text ──▶ yaml (a tree with places) ──▶ read (driven by the vocabulary) ──▶ facts
//! ```
//!
//! `json` and `block` make the same tree as `yaml`, sooner, of texts that are plain.

mod block;
pub mod error;
pub mod facts;
mod head;
mod json;
mod names;
pub mod plan;
mod read;
mod reading;
pub(crate) mod sink;
pub mod slots;
pub mod table;
mod tolerances;
pub mod tree;
mod value;
pub mod yaml;

pub use error::RecordError;
pub use facts::Record;
pub use head::{HEAD_KEYS, Overrides, PERMIT_KEYS, PLAN_KEYS, RECORDED_KEYS, VARIANCE_KEYS};
pub(crate) use head::{plain_head, plain_tolerances};
pub use read::{read, read_fragment, read_tree, read_with};
pub use reading::{HOWS, READING_KEYS};
pub use tolerances::type_names as tolerance_names;
pub(crate) use value::fits;

#[cfg(test)]
pub(crate) mod tests;
