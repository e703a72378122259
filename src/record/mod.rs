//! Record text in, slots with the place of every value out.

pub mod facts;
