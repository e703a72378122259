//! How fast Groundrule judges and reads, beside other engines and beside plain Rust.

pub mod agree;
pub mod answer;
pub mod archive;
pub mod base;
pub mod block;
pub mod cedar;
pub mod cel;
pub mod cores;
pub mod crew;
pub mod files;
pub mod judging;
pub mod lines;
pub mod machine;
pub mod measure;
pub mod native;
pub mod ours;
pub mod peer;
pub mod rego;
pub mod rhai;
pub mod schema;
pub mod screened;
pub mod table;
pub mod written;
pub mod yaml;
