//! The words before a place in, the choices and sizes whose labels may stand there out.

use super::declarations::{Kind, Owned};
use super::scene::Scene;
use super::workspace::{Tree, Workspace};
use crate::language::Kind as Item;

/// The topic to which a statement adds a rule, or in which it replaces one.
pub fn topic_of_statement<'a>(scene: &Scene<'a>) -> Option<&'a str> {
    let words = scene.first_words(6);
    match words.as_slice() {
        ["add", "rule", _, "in", topic, ..] | ["replace", "rule", topic, ..] => Some(*topic),
        _ => None,
    }
}

/// The choices and sizes whose labels may stand behind some words of an expression.
pub fn expected_scales(
    workspace: &Workspace,
    file: &str,
    scene: &Scene<'_>,
    before: &[&str],
) -> Vec<String> {
    match (scene.kind(), compared_path(before)) {
        (Some(Item::Rule | Item::Add | Item::Replace | Item::Define), Some(path)) => {
            match workspace.resolve(scene, &path) {
                Some(Kind::Fact(_, fact)) => vec![fact.kind.value.clone()],
                Some(Kind::Value(kind)) => vec![kind],
                Some(Kind::Things(_) | Kind::List(..) | Kind::Implied(..)) | None => Vec::new(),
            }
        }
        (Some(Item::Table), _) => scene.parameter_kinds(),
        (Some(Item::Amend | Item::Restrict | Item::Set), _) => {
            let words = scene.first_words(4);
            let [_, topic, ".", table] = words.as_slice() else {
                return Vec::new();
            };
            let owned = workspace.owned_by_topic(topic);
            table_kinds(&owned, table)
        }
        (Some(Item::Rule | Item::Add | Item::Replace | Item::Define), None) => {
            let Some(table) = called(before) else {
                return Vec::new();
            };
            let owned = workspace.in_sight(file, topic_of_statement(scene));
            table_kinds(&owned, table)
        }
        _ => Vec::new(),
    }
}

fn table_kinds(owned: &[(&Tree, Owned<'_>)], name: &str) -> Vec<String> {
    owned
        .iter()
        .filter(|(_, owned)| owned.name().value == name)
        .find_map(|(_, owned)| match owned {
            Owned::Table(table) => Some(&table.parameters),
            Owned::Define(define) => Some(&define.parameters),
            Owned::Limit(_) | Owned::Rule(_) => None,
        })
        .map(|parameters| {
            let kinds = parameters.iter().flat_map(|parameter| &parameter.kinds);
            kinds.map(|kind| kind.value.clone()).collect()
        })
        .unwrap_or_default()
}

/// The name of what is called where an argument stands.
fn called<'a>(before: &[&'a str]) -> Option<&'a str> {
    let mut open = 0;
    for (at, word) in before.iter().enumerate().rev() {
        match *word {
            ")" => open += 1,
            "(" if open > 0 => open -= 1,
            "(" => return before.get(at.checked_sub(1)?).copied(),
            _ => {}
        }
    }
    None
}

/// The name with dots on the left of the `is` or `is one of` that these words end in.
fn compared_path(before: &[&str]) -> Option<Vec<String>> {
    let is_name = |word: &&&str| word.starts_with(|first: char| first.is_ascii_lowercase());
    let labels = before
        .iter()
        .rev()
        .take_while(|word| **word != "is" && (**word == "," || is_name(word)))
        .count();
    let is = before.len().checked_sub(labels + 1)?;
    if before[is] != "is" {
        return None;
    }
    let after = &before[is + 1..];
    // Behind the first label only `is one of` goes on.
    if !(after.is_empty() || after.starts_with(&["one", "of"])) {
        return None;
    }
    let mut parts = Vec::new();
    let mut words = before[..is].iter().rev();
    while let Some(word) = words.next().filter(is_name) {
        parts.insert(0, (*word).to_owned());
        if words.next() != Some(&".") {
            break;
        }
    }
    (!parts.is_empty()).then_some(parts)
}
