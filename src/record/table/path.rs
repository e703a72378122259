//! A path such as `supply_cables.0.spans.1.cover` in, where it leads in a record out.
//!
//! Findings write places in lists in brackets, `supply_cables[0]`; in a sheet they stand between
//! dots, since a bracket would begin a list of YAML.

use crate::record::head::{HEAD_KEYS, PERMIT_KEYS, RECORDED_KEYS};
use crate::record::names;
use crate::vocabulary::{Fact, Member, SITE, Vocabulary};

/// The greatest index of an element.
const MOST_ELEMENTS: usize = 1000;

/// One step from a mapping inwards.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Step {
    /// To a key.
    Key(String),
    /// To an element of the list at a key.
    Element(String, usize),
}

/// Where a path leads.
#[derive(Debug, Clone)]
pub(super) struct Target {
    /// As written.
    pub path: String,
    pub steps: Vec<Step>,
    pub kind: Kind,
}

/// What stands at the end of a path.
#[derive(Debug, Clone)]
pub(super) enum Kind {
    /// A key of the head.
    Head,
    /// The id of a thing.
    Id,
    /// A fact of a thing.
    Fact(Fact),
    /// A whole list.
    List,
}

/// Where a path leads; else how it is mended.
pub(super) fn target(vocabulary: &Vocabulary, path: &str) -> Result<Target, String> {
    let steps = steps(path)?;
    let kind = match steps.first() {
        Some(Step::Key(key)) if HEAD_KEYS.contains(&key.as_str()) => head(vocabulary, &steps)?,
        Some(_) | None => end(vocabulary, &steps)?,
    };
    Ok(Target {
        path: path.to_owned(),
        steps,
        kind,
    })
}

fn steps(path: &str) -> Result<Vec<Step>, String> {
    if path.contains(['[', ']']) {
        let dotted = path.replace('[', ".").replace(']', "");
        return Err(format!("write places in lists between dots, `{dotted}`"));
    }
    let mut steps: Vec<Step> = Vec::new();
    for part in path.split('.') {
        let part = part.trim();
        let Ok(index) = part.parse::<usize>() else {
            steps.push(Step::Key(part.to_owned()));
            continue;
        };
        match steps.pop() {
            Some(Step::Key(list)) if index < MOST_ELEMENTS => {
                steps.push(Step::Element(list, index));
            }
            Some(_) | None => {
                return Err("a number counts from 0 along the list named before it".to_owned());
            }
        }
    }
    Ok(steps)
}

fn head(vocabulary: &Vocabulary, steps: &[Step]) -> Result<Kind, String> {
    let keys: Vec<&str> = steps
        .iter()
        .map(|step| match step {
            Step::Key(key) | Step::Element(key, _) => key.as_str(),
        })
        .collect();
    let kinds = || vocabulary.permits.iter().map(|kind| kind.name.as_str());
    match keys.as_slice() {
        ["lot" | "place" | "stage" | "datum"] => Ok(Kind::Head),
        ["permits", kind, key] if vocabulary.permit(kind).is_some() => {
            known(key, &PERMIT_KEYS, Kind::Head)
        }
        ["permits", kind, _] => Err(names::suggest(kind, kinds())),
        ["permits", ..] => Err("write `permits.KIND.issued`, with the kind of permit".to_owned()),
        ["recorded", key] => known(key, &RECORDED_KEYS, Kind::Head),
        ["recorded", ..] => Err("write `recorded.by`, `recorded.role` or `recorded.date`".into()),
        ["plan", "file"] => Ok(Kind::Head),
        _ => Err("say it under `constants`, for all rows".to_owned()),
    }
}

fn known(key: &str, keys: &[&str], kind: Kind) -> Result<Kind, String> {
    if keys.contains(&key) {
        return Ok(kind);
    }
    Err(names::suggest(key, keys.iter().copied()))
}

fn end(vocabulary: &Vocabulary, steps: &[Step]) -> Result<Kind, String> {
    let mut thing = SITE;
    let of_the_site = steps.first() == Some(&Step::Key("site".to_owned()));
    let steps = &steps[usize::from(of_the_site)..];
    for (at, step) in steps.iter().enumerate() {
        let declared = vocabulary.thing(thing);
        let is_last = at + 1 == steps.len();
        match step {
            Step::Key(key) if key == "id" && thing != SITE && is_last => return Ok(Kind::Id),
            Step::Key(key) => match declared.members.get(key) {
                Some(Member::Fact(fact)) if is_last && (thing != SITE || of_the_site) => {
                    return Ok(Kind::Fact(declared.fact(*fact).clone()));
                }
                Some(Member::Fact(_)) if is_last => return Err(format!("write `site.{key}`")),
                Some(Member::Fact(_)) => return Err(format!("`{key}` is a fact: end there")),
                Some(Member::List(_)) if is_last && !of_the_site => {
                    return Ok(Kind::List);
                }
                Some(Member::List(_)) => {
                    return Err(format!("say which of them, counted from 0: `{key}.0`"));
                }
                None => return Err(suggestion(vocabulary, declared, key)),
            },
            Step::Element(key, _) => match declared.members.get(key) {
                Some(Member::List(list)) if !is_last => thing = declared.list(*list).of,
                Some(Member::List(_)) => {
                    return Err("end with a fact of it, or with `id`".to_owned());
                }
                Some(Member::Fact(_)) => return Err(format!("`{key}` is no list: write `{key}`")),
                None => return Err(suggestion(vocabulary, declared, key)),
            },
        }
    }
    Err("write a path such as `lot`, `site.frost_depth` or `stations.0.finished_grade`".to_owned())
}

fn suggestion(vocabulary: &Vocabulary, of: &crate::vocabulary::Thing, key: &str) -> String {
    let is_site = of.name == vocabulary.thing(SITE).name;
    let own = of.members.names();
    let head = HEAD_KEYS.into_iter().filter(|_| is_site);
    names::suggest(key, own.chain(head).collect::<Vec<_>>().into_iter())
}

/// A path of a record without the places in its lists: `supply_cables.spans.cover`.
pub fn without_indices(path: &str) -> String {
    let dotted = path.replace('[', ".").replace(']', "");
    let is_name = |part: &&str| !part.bytes().all(|byte| byte.is_ascii_digit());
    let names: Vec<&str> = dotted.split('.').filter(is_name).collect();
    names.join(".")
}

/// Whether such a path names something that can be recorded.
pub(super) fn is_known(vocabulary: &Vocabulary, path: &str) -> Result<(), String> {
    let parts: Vec<&str> = path.split('.').collect();
    let indexed: Vec<String> = parts
        .iter()
        .enumerate()
        .map(|(at, part)| match at + 1 < parts.len() && *part != "site" {
            true => format!("{part}.0"),
            false => (*part).to_owned(),
        })
        .collect();
    target(vocabulary, &indexed.join(".")).map(|_| ())
}
