//! Findings in, text out: a file a format. A report decides nothing.

#[cfg(feature = "program")]
pub mod comparison;
#[cfg(feature = "program")]
pub mod csv;
#[cfg(feature = "program")]
pub mod geojson;
pub mod json;
#[cfg(feature = "program")]
pub mod kept;
#[cfg(feature = "program")]
pub mod mistakes;
#[cfg(feature = "program")]
pub mod prove;
#[cfg(feature = "program")]
pub mod ruleset_page;
#[cfg(feature = "program")]
pub mod sarif;
#[cfg(feature = "program")]
pub mod summary;
#[cfg(feature = "program")]
pub mod terminal;
pub mod words;
#[cfg(feature = "program")]
pub mod worksheet;
