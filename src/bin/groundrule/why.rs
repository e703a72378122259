//! stub
use crate::{args::Why, input::Failure};
pub fn run(_: &Why) -> Result<u8, Failure> { Ok(0) }
