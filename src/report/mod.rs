//! Findings in, text out: a file a format. A report decides nothing.

#[cfg(feature = "program")]
pub mod csv;
#[cfg(feature = "program")]
pub mod geojson;
pub mod json;
#[cfg(feature = "program")]
pub mod mistakes;
#[cfg(feature = "program")]
pub mod sarif;
#[cfg(feature = "program")]
pub mod summary;
#[cfg(feature = "program")]
pub mod terminal;
#[cfg(feature = "program")]
pub mod worksheet;
