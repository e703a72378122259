//! Quantities: exact numbers, units, intervals, and their text.
