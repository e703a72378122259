//! Quantities: exact numbers, units, intervals, and their text.
//!
//! A reading becomes an exact rational in the canonical unit of its dimension once, in
//! [`parse`]; nothing after that knows the unit it was written in, so units cannot matter.
//! What cannot stay exact becomes an enclosure, rounded outward.

pub mod date;
mod dimension;
mod end;
mod interval;
mod near;
mod number;
pub mod parse;
pub mod print;
mod quick;
mod ratio;
mod unit;

pub use dimension::Dimension;
pub use end::{End, Finite};
pub use interval::{
    Interval, Undefined, is_at_least, is_at_most, is_equal, is_less_than, is_more_than,
};
pub use near::Near;
pub use number::Rational;
pub use parse::{Place, QuantityError, Written};
pub(crate) use quick::plain;
pub use ratio::Ratio;
pub use unit::{Definition, Unit, UnknownUnit};

#[cfg(test)]
mod tests;
