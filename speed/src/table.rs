//! What was measured, as tables in markdown.

use std::fmt::Write as _;

use crate::measure::{Contestant, times};

/// What is to be reached.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Bound {
    /// Groundrule is at least this many times as quick as the other.
    AtLeast(f64),
    /// Groundrule takes at most this many times as long as the other.
    AtMost(f64),
}

/// A line of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    name: String,
    microseconds: f64,
    /// How many times as long it took as Groundrule.
    ratio: Option<f64>,
    note: String,
    bound: Option<Bound>,
}

impl Line {
    /// Groundrule itself.
    pub fn own(own: &Contestant<'_>, records: usize, note: &str) -> Line {
        Line {
            name: own.name.clone(),
            microseconds: microseconds(own, records),
            ratio: None,
            note: note.to_owned(),
            bound: None,
        }
    }

    /// Another beside it.
    pub fn beside(
        other: &Contestant<'_>,
        records: usize,
        own: &Contestant<'_>,
        bound: Option<Bound>,
    ) -> Line {
        Line {
            name: other.name.clone(),
            microseconds: microseconds(other, records),
            ratio: Some(times(other.least, own.least)),
            note: String::new(),
            bound,
        }
    }
}

fn microseconds(of: &Contestant<'_>, records: usize) -> f64 {
    of.least.as_secs_f64() * 1e6 / records as f64
}

/// A table with its title.
pub fn table(title: &str, lines: &[Line]) -> String {
    let mut out = format!(
        "\n## {title}\n\n| | µs a record | Groundrule is | to reach | reached |\n|---|--:|--:|---|---|\n"
    );
    for line in lines {
        let ratio = line.ratio.map_or(String::new(), shown);
        let (target, reached) = match (line.bound, line.ratio) {
            (Some(bound), Some(ratio)) => (target(bound), yes_no(bound, ratio)),
            (Some(_), None) | (None, _) => (line.note.clone(), ""),
        };
        let Line {
            name, microseconds, ..
        } = line;
        // Writing to a text can't fail.
        let _ = writeln!(
            out,
            "| {name} | {microseconds:.2} | {ratio} | {target} | {reached} |"
        );
    }
    out
}

fn shown(ratio: f64) -> String {
    match ratio < 1.0 {
        true => format!("{:.2} × slower", 1.0 / ratio),
        false => format!("{ratio:.1} × faster"),
    }
}

fn target(bound: Bound) -> String {
    match bound {
        Bound::AtLeast(factor) => format!("at least {factor} × faster"),
        Bound::AtMost(1.0) => "no slower".to_owned(),
        Bound::AtMost(factor) => format!("at most {factor} × slower"),
    }
}

fn yes_no(bound: Bound, ratio: f64) -> &'static str {
    let reached = match bound {
        Bound::AtLeast(factor) => ratio >= factor,
        Bound::AtMost(factor) => 1.0 / ratio <= factor,
    };
    if reached { "yes" } else { "no" }
}
