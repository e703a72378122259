//! Whole libraries: topics, and places within places that change them over time.

use std::collections::BTreeSet;

use groundrule::library::Texts;

use super::choices::Choices;
use super::rules::{self, Rule, Target, Writer};
use super::vocabulary;

/// The places, each within the one before.
const PLACES: [&str; 3] = ["land", "land/shire", "land/shire/town"];

/// A file: its folder, what must stand first in it, its other items.
#[derive(Debug, Clone)]
pub struct File {
    pub folder: String,
    pub name: String,
    pub first: Option<String>,
    pub items: Vec<String>,
}

/// A library and where a record of it may lie.
#[derive(Debug, Clone)]
pub struct Library {
    pub files: Vec<File>,
    pub place: String,
    /// An amendment of the library, to be repeated with another value.
    pub amendment: Option<String>,
}

/// A library that asks every survey function of every place's records.
pub fn probes() -> Library {
    of_one_topic(rules::probes())
}

/// A library that asks each thing that can be asked of one list or one run, on both sides of
/// limits that readings meet.
pub fn dense() -> Library {
    of_one_topic(rules::dense())
}

/// A library with a rule for each condition, asked of each thing of a list.
pub fn asking(list: &str, conditions: &[&str]) -> Library {
    let head = format!("  each a in {list}\n");
    let rules = conditions.iter().enumerate();
    let rules = rules.map(|(at, condition)| rules::asking(&format!("asked{at}"), &head, condition));
    of_one_topic(rules.collect())
}

/// One topic, adopted everywhere.
fn of_one_topic(rules: Vec<String>) -> Library {
    let file = |folder: &str, first: Option<&str>, items| File {
        folder: folder.to_owned(),
        name: "probes".to_owned(),
        first: first.map(str::to_owned),
        items,
    };
    let mut files = vec![
        file("shared", None, vocabulary::items()),
        file(
            "rules",
            Some("topic probes \"Everything\" permit plumbing"),
            rules,
        ),
    ];
    for path in PLACES {
        let adoption = format!("adopt probes from 2000-01-01 {BECAUSE}");
        let first = format!(
            "place \"{path} (invented)\" {{ authority any \"The Office (invented)\" \"a door\" }}"
        );
        let items = if path == PLACES[0] {
            vec![adoption]
        } else {
            Vec::new()
        };
        files.push(file(&format!("jurisdictions/{path}"), Some(&first), items));
    }
    Library {
        files,
        place: PLACES[0].to_owned(),
        amendment: None,
    }
}

struct Topic {
    name: String,
    targets: Vec<Target>,
    rules: Vec<Rule>,
}

pub fn library(choices: &mut Choices) -> Library {
    let mut files = vec![File {
        folder: "shared".to_owned(),
        name: "words".to_owned(),
        first: None,
        items: vocabulary::items(),
    }];
    let mut topics = Vec::new();
    for number in 0..1 + choices.below(2) {
        topics.push(topic(choices, number, &mut files));
    }
    let depth = 1 + choices.below(PLACES.len());
    let mut amendment = None;
    let mut changed = BTreeSet::new();
    for (at, path) in PLACES[..depth].iter().enumerate() {
        let place = place(choices, at, path, &topics, &mut changed, &mut amendment);
        files.push(place);
    }
    Library {
        files,
        place: PLACES[depth - 1].to_owned(),
        amendment,
    }
}

fn topic(choices: &mut Choices, number: usize, files: &mut Vec<File>) -> Topic {
    let is_safety = number == 1 && choices.chance(1, 3);
    let permit = if is_safety {
        "none"
    } else {
        rules::permit(choices)
    };
    let name = format!("topic{number}");
    let count = 1 + choices.below(3);
    let mut writer = Writer::new(choices, &format!("t{number}"));
    let rules: Vec<_> = (0..count).map(|_| writer.rule(is_safety)).collect();
    let Writer { items, targets, .. } = writer;
    let written = rules
        .iter()
        .map(|rule| format!("rule {} {{\n{}}}", rule.name, rule.body));
    files.push(File {
        folder: "rules".to_owned(),
        name: name.clone(),
        first: Some(format!("topic {name} \"Topic {number}\" permit {permit}")),
        items: items.into_iter().chain(written).collect(),
    });
    Topic {
        name,
        // A precaution's limits are changed where they are adopted, and it needs no adopting.
        targets,
        rules,
    }
}

const BECAUSE: &str = "cite norm \"7\" because \"a town said so\"";

fn place(
    choices: &mut Choices,
    at: usize,
    path: &str,
    topics: &[Topic],
    changed: &mut BTreeSet<String>,
    amendment: &mut Option<String>,
) -> File {
    let mut clauses = String::from("authority any \"The Office (invented)\" \"a door\"");
    let mut items = Vec::new();
    if at == 0 {
        for topic in topics {
            items.push(format!("adopt {} from 2000-01-01 {BECAUSE}", topic.name));
        }
    }
    let mut writer = Writer::new(choices, &format!("p{at}"));
    for topic in topics {
        if writer.chance(1, 3) {
            clauses += &format!("\n  decision {} as_read", topic.name);
        }
        for target in &topic.targets {
            for statement in statements(&mut writer, topic, target) {
                if statement.starts_with("amend") {
                    *amendment = Some(statement.clone());
                }
                items.push(statement);
            }
        }
        for rule in &topic.rules {
            let full = format!("{}.{}", topic.name, rule.name);
            if rule.is_precaution || changed.contains(&full) {
                continue;
            }
            let how = writer.below(12);
            let from = writer.below(600) as i64;
            let from = vocabulary::day(from);
            match how {
                9 => items.push(format!("strike rule {full} from {from} {BECAUSE}")),
                10 => {
                    let other = writer.rule(false);
                    items.push(format!(
                        "replace rule {full} from {from} {BECAUSE}\n{{\n{}}}",
                        other.body
                    ));
                }
                11 => {
                    let other = writer.rule(false);
                    items.push(format!(
                        "add rule {} in {} from {from} {BECAUSE}\n{{\n{}}}",
                        other.name, topic.name, other.body
                    ));
                    continue;
                }
                8 => {
                    let how = writer.pick(&["tighten only", "fixed"]);
                    items.push(format!(
                        "restrict rule {full} to {how} from {from} {BECAUSE}"
                    ));
                    continue;
                }
                _ => continue,
            }
            changed.insert(full);
        }
    }
    let Writer { items: own, .. } = writer;
    items.extend(own);
    File {
        folder: format!("jurisdictions/{path}"),
        name: "place".to_owned(),
        first: Some(format!("place \"{path} (invented)\" {{\n  {clauses}\n}}")),
        items,
    }
}

/// What a place says of one limit or cell, from various dates.
fn statements(writer: &mut Writer<'_>, topic: &Topic, target: &Target) -> Vec<String> {
    let name = format!("{}.{}", topic.name, target.name);
    let mut said = Vec::new();
    let mut begins = BTreeSet::new();
    for _ in 0..writer.below(3) {
        let from = writer.below(500) as i64;
        if !begins.insert(from) {
            continue;
        }
        let mut when = format!("from {}", vocabulary::day(from));
        if writer.chance(1, 4) {
            when += &format!(
                " until {}",
                vocabulary::day(from + 1 + writer.below(300) as i64)
            );
        }
        let value = writer.pick(&target.others).clone();
        let statement = if target.unset && value == "no value" {
            continue;
        } else if target.unset {
            format!("set {name} = {value} {when} {BECAUSE}")
        } else {
            let narrowing = if writer.chance(1, 6) {
                " tighten only"
            } else {
                ""
            };
            format!(
                "amend {name} : {} becomes {value} {when} {BECAUSE}{narrowing}",
                target.values
            )
        };
        said.push(statement);
    }
    said
}

impl Library {
    pub fn texts(&self) -> Texts {
        let files = self.files.iter().map(|file| {
            let items: Vec<_> = file
                .first
                .iter()
                .chain(&file.items)
                .map(String::as_str)
                .collect();
            let name = format!("{}/{}.rules", file.folder, file.name);
            (name, format!("{}\n", items.join("\n\n")))
        });
        Texts(files.collect())
    }

    /// Its files under other names, the items of each in another order.
    pub fn in_another_order(&self, choices: &mut Choices) -> Library {
        let mut other = self.clone();
        for (at, file) in other.files.iter_mut().enumerate() {
            file.name = format!("n{}_{at}", choices.below(100));
            file.items = choices.shuffled(std::mem::take(&mut file.items));
        }
        other
    }
}

/// A record's head, with permits that may be missing or old.
pub fn head(choices: &mut Choices, place: &str) -> String {
    let mut permits = Vec::new();
    for permit in vocabulary::PERMITS {
        if choices.chance(1, 10) {
            continue;
        }
        let issued = vocabulary::day(choices.below(500) as i64);
        let expires = if choices.chance(1, 8) {
            ", expires: 2021-06-01"
        } else {
            ""
        };
        permits.push(format!(
            "{permit}: {{ number: N-1, issued: {issued}{expires} }}"
        ));
    }
    let permits = match permits.as_slice() {
        [] => "{}".to_owned(),
        permits => format!("{{ {} }}", permits.join(", ")),
    };
    let stage = choices.pick(&vocabulary::HOLDS);
    format!(
        "record: 1\nlot: L-1\nplace: {place}\npermits: {permits}\nrecorded: {{ by: R. Ames, date: 2022-01-01 }}\nstage: {stage}\ndatum: a nail in an oak\n"
    )
}

/// Two topics that one missing permit selects, in files of these names.
pub fn two_topics(names: [&str; 2]) -> Library {
    let rule = "rule frost {\n  title \"frost\"\n  shall record site.frost\n  cite norm \"1\"\n  hold late\n  remedy \"Read it.\"\n}";
    let topics = ["first", "second"]
        .into_iter()
        .zip(names)
        .map(|(topic, name)| File {
            folder: "rules".to_owned(),
            name: name.to_owned(),
            first: Some(format!("topic {topic} \"A topic\" permit plumbing")),
            items: vec![rule.to_owned()],
        });
    let mut library = probes();
    library.files.retain(|file| file.folder != "rules");
    library.files.extend(topics);
    for file in &mut library.files {
        if file.folder == "jurisdictions/land" {
            file.items = ["first", "second"]
                .iter()
                .map(|topic| format!("adopt {topic} from 2000-01-01 {BECAUSE}"))
                .collect();
        }
    }
    library
}
