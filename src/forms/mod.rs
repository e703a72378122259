//! What a vocabulary and the rules in force can print without a record.

mod schema;

pub use schema::record_schema;

#[cfg(test)]
mod tests;
