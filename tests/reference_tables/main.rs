//! Values of the model rules against what they can be worked out from, and against the tables
//! that general-purpose packages ship.
//!
//! `reference_values.rs` says what was published; here a published definition or an independent
//! list has to give the same. `reference/tables/tables.csv` is made by the script beside it.

mod conductors;
mod pipe;
mod water;

use std::sync::LazyLock;

use groundrule::check::typed::{Constant, Library};
use groundrule::library::{Opened, embedded, open};
use groundrule::quantity::parse;

const TABLES: &str = include_str!("../reference/tables/tables.csv");

static OPENED: LazyLock<Opened> =
    LazyLock::new(|| open(&embedded()).expect("the embedded library has no mistakes"));

fn library() -> &'static Library {
    &OPENED.library
}

/// A number and its unit, in the canonical one.
fn quantity(text: &str) -> f64 {
    let written = parse::quantity(text).unwrap_or_else(|error| panic!("`{text}`: {error:?}"));
    written.nominal.to_f64()
}

fn number(constant: &Constant) -> f64 {
    match constant {
        Constant::Number { value, .. } => value.to_f64(),
        Constant::Label { written, .. } => panic!("{written} is no number"),
    }
}

/// A limit, in a unit.
fn limit(name: &str, unit: &str) -> f64 {
    let library = library();
    let mut limits = library.limits.iter();
    let limit = limits
        .find(|limit| library.owned_name(limit.owner, &limit.name) == name)
        .unwrap_or_else(|| panic!("no limit {name}"));
    number(&limit.values[0]) / quantity(&format!("1 {unit}"))
}

/// The cells of a table that have a value, in a unit (a plain number where it is empty).
fn cells(name: &str, unit: &str) -> Vec<(String, f64)> {
    let library = library();
    let mut tables = library.tables.iter();
    let table = tables
        .find(|table| library.owned_name(table.owner, &table.name) == name)
        .unwrap_or_else(|| panic!("no table {name}"));
    let one = quantity(format!("1 {unit}").trim());
    let cells = table.cells.iter().enumerate();
    cells
        .filter_map(|(at, cell)| {
            let value = number(cell.value.as_ref()?) / one;
            Some((table.cell_name(&library.vocabulary, at), value))
        })
        .collect()
}

fn cell(name: &str, key: &str, unit: &str) -> f64 {
    let found = cells(name, unit).into_iter().find(|(cell, _)| cell == key);
    found.unwrap_or_else(|| panic!("{name} has no {key}")).1
}

/// The rows of a table of the packages: of what, its size, and the value in a unit.
fn packaged(table: &str, unit: &str) -> Vec<(&'static str, &'static str, f64)> {
    let one = quantity(&format!("1 {unit}"));
    let rows = TABLES.lines().skip(1).filter_map(|line| {
        let [name, of, size, value, written, _] =
            <[&str; 6]>::try_from(line.split(',').collect::<Vec<_>>()).expect("six columns");
        (name == table).then(|| (of, size, quantity(&format!("{value} {written}")) / one))
    });
    let rows: Vec<_> = rows.collect();
    assert!(!rows.is_empty(), "{table} is in the file");
    rows
}

/// To as many significant figures.
fn rounded(value: f64, figures: i32) -> f64 {
    let place = 10_f64.powi(figures - 1 - value.abs().log10().floor() as i32);
    (value * place).round() / place
}

fn near(what: &str, ours: f64, theirs: f64, within: f64) {
    assert!(
        (ours - theirs).abs() <= within,
        "{what}: {ours} against {theirs}"
    );
}
