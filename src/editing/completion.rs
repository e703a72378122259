//! A place of a text in, what may be written there out.

use std::ops::Range;

use super::declarations::{Kind, LabelKind, Owned, SITE, parameters};
use super::expected::{expected_scales, topic_of_statement};
use super::scene::{Binding, Scene};
use super::workspace::Workspace;
use crate::language::syntax::Member;
use crate::language::{Kind as Item, words_that_may_follow};
use crate::vocabulary::Type;

/// What a candidate is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CandidateKind {
    /// A word of the language.
    Word,
    /// A fact of a thing.
    Fact,
    /// A list.
    List,
    /// A label of a choice or a size, a hold point, a permit, a hazard.
    Label,
    /// A limit.
    Limit,
    /// A table, a define or a survey function.
    Function,
    /// A name that the item binds.
    Element,
    /// A type.
    Type,
    /// A topic.
    Topic,
    /// A rule.
    Rule,
    /// A source.
    Document,
}

/// Something that may be written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Candidate {
    /// What is written.
    pub text: String,
    /// What it is.
    pub kind: CandidateKind,
    /// Its type or its like, in a few words.
    pub detail: String,
    /// What it means.
    pub meaning: String,
}

/// What may be written at a byte of a file, and the bytes that it takes the place of.
pub fn completions(
    workspace: &Workspace,
    file: &str,
    byte: usize,
) -> (Range<usize>, Vec<Candidate>) {
    let Some(tree) = workspace.tree(file) else {
        return (byte..byte, Vec::new());
    };
    let scene = Scene::at(&tree.text, byte);
    if scene.is_in_prose() {
        return (byte..byte, Vec::new());
    }
    let (bytes, before) = scene.being_written();
    let place = Place {
        workspace,
        file,
        scene: &scene,
        before: &before,
        found: Vec::new(),
    };
    let at_margin = scene.indent(bytes.start) == Some(0);
    let found = place.all(&tree.text, bytes.start, at_margin);
    (bytes, found)
}

struct Place<'a> {
    workspace: &'a Workspace,
    file: &'a str,
    scene: &'a Scene<'a>,
    before: &'a [&'a str],
    found: Vec<Candidate>,
}

impl Place<'_> {
    fn all(mut self, text: &str, start: usize, at_margin: bool) -> Vec<Candidate> {
        if at_margin || self.before.is_empty() {
            for word in Item::WORDS {
                self.word(word);
            }
            return self.found;
        }
        if let [.., _, "."] = self.before {
            self.members();
            return self.found;
        }
        let item = &text[self.scene.item_start().min(start)..start];
        let words = words_that_may_follow(item);
        self.names();
        if let Some("is") = self.before.last().copied() {
            for word in ["at least", "at most", "more than", "less than", "one of"] {
                self.word(word);
            }
        }
        for word in &words {
            self.word(word);
        }
        self.found
    }

    /// Adds the names that may stand here.
    fn names(&mut self) {
        let Some(kind) = self.scene.kind() else {
            return;
        };
        let last = self.before.last().copied().unwrap_or_default();
        match (last, kind) {
            ("cite", _) => self.documents(),
            ("hold", _) | ("until", Item::Thing | Item::Extend) => self.labels(LabelKind::Hold),
            ("hazard", _) => self.labels(LabelKind::Hazard),
            ("for", Item::Thing | Item::Extend) => self.labels(LabelKind::Person),
            ("permit", Item::Topic) | ("authority" | "date", Item::Place) => {
                self.labels(LabelKind::Permit);
            }
            ("adopt", _)
            | ("topic", Item::Strike)
            | ("decision", Item::Place)
            | ("amend" | "set", _)
            | ("restrict", Item::Restrict)
            | ("rule", Item::Strike | Item::Restrict | Item::Replace | Item::Variance) => {
                self.topics();
            }
            ("in", Item::Add) if self.before.len() == 4 => self.topics(),
            (":" | "gives", Item::Limit | Item::Table | Item::Define | Item::Survey)
            | (":", Item::Thing | Item::Extend) => self.types(kind != Item::Limit),
            ("of", Item::List | Item::Thing | Item::Extend) | ("extend", _) => self.things(),
            ("or", Item::Survey) => self.things(),
            ("in", _) if binds(self.before) => self.lists(),
            (_, Item::Rule | Item::Add | Item::Replace | Item::Define) if self.takes_values() => {
                self.values(last);
            }
            (_, Item::Table | Item::Amend | Item::Restrict | Item::Set) if last != "{" => {
                self.expected_labels();
            }
            _ => {}
        }
    }

    /// Whether the last word of an expression asks for a value.
    fn takes_values(&self) -> bool {
        let last = self.before.last().copied().unwrap_or_default();
        matches!(
            last,
            "when"
                | "shall"
                | "should"
                | "precaution"
                | "record"
                | "if"
                | "then"
                | "else"
                | "not"
                | "and"
                | "or"
                | "has"
                | "where"
                | "is"
                | "of"
                | "least"
                | "most"
                | "than"
                | "("
                | ","
                | "+"
                | "-"
                | "−"
                | "×"
                | "*"
                | "/"
                | "="
        )
    }

    fn values(&mut self, last: &str) {
        if self.expected_labels() && last != "," {
            // A label stands against a choice; so may a limit of that type.
            self.owned();
            return;
        }
        self.elements();
        self.owned();
        for (_, survey) in self.workspace.surveys() {
            self.found.push(Candidate {
                text: survey.name.value.clone(),
                kind: CandidateKind::Function,
                detail: format!(
                    "{} gives {}",
                    parameters(&survey.parameters),
                    survey.gives.value
                ),
                meaning: survey.meaning.value.clone(),
            });
        }
        self.site_lists();
    }

    fn word(&mut self, word: &str) {
        self.found.push(Candidate {
            text: word.to_owned(),
            kind: CandidateKind::Word,
            detail: String::new(),
            meaning: String::new(),
        });
    }

    /// What stands behind a dot.
    fn members(&mut self) {
        let mut parts: Vec<String> = Vec::new();
        let mut words = self.before.iter().rev();
        while let (Some(&"."), Some(word)) = (words.next(), words.next()) {
            parts.insert(0, (*word).to_owned());
        }
        // A list may be called as a topic is; in a head, and in a variance, the topic is meant.
        let is_head = self.scene.kind() == Some(Item::Variance) || !self.before.contains(&"{");
        let of_topic = self
            .workspace
            .topics()
            .any(|(_, topic)| is_head && parts == [topic.name.value.as_str()]);
        if of_topic {
            self.owned_by(&parts[0]);
        } else if let Some(Kind::Things(things)) = self.workspace.resolve(self.scene, &parts) {
            for thing in &things {
                self.members_of(thing);
            }
        }
    }

    fn members_of(&mut self, thing: &str) {
        for (_, member) in self.workspace.members(thing) {
            self.found.push(match member {
                Member::Fact(fact) => Candidate {
                    text: fact.name.value.clone(),
                    kind: CandidateKind::Fact,
                    detail: fact.kind.value.clone(),
                    meaning: fact.meaning.value.clone(),
                },
                Member::List(list) => Candidate {
                    text: list.name.value.clone(),
                    kind: CandidateKind::List,
                    detail: format!("list of {}", list.of.value),
                    meaning: list.meaning.value.clone(),
                },
            });
        }
        for (name, kind, meaning) in self.workspace.implied(thing) {
            self.found.push(Candidate {
                text: name.to_owned(),
                kind: CandidateKind::Fact,
                detail: kind.to_owned(),
                meaning: meaning.to_owned(),
            });
        }
    }

    /// What a topic declares that the statement may speak of.
    fn owned_by(&mut self, topic: &str) {
        let rules = self.before.contains(&"rule");
        for (_, owned) in self.workspace.owned_by_topic(topic) {
            match owned {
                Owned::Rule(_) if rules => self.found.push(owned_candidate(owned)),
                Owned::Limit(_) | Owned::Table(_) if !rules => {
                    self.found.push(owned_candidate(owned));
                }
                Owned::Rule(_) | Owned::Limit(_) | Owned::Table(_) | Owned::Define(_) => {}
            }
        }
    }

    /// The limits, tables and defines that may be named.
    fn owned(&mut self) {
        let topic = topic_of_statement(self.scene);
        for (_, owned) in self.workspace.in_sight(self.file, topic) {
            match owned {
                Owned::Limit(_) | Owned::Table(_) | Owned::Define(_) => {
                    self.found.push(owned_candidate(owned));
                }
                Owned::Rule(_) => {}
            }
        }
    }

    fn elements(&mut self) {
        for (_, name, binding) in self.scene.bindings() {
            let detail = match binding {
                Binding::ElementOf(list) => format!("each of {}", list.join(".")),
                Binding::Parameter(kinds) => kinds.join(" or "),
            };
            if !self.found.iter().any(|known| known.text == name) {
                self.found.push(Candidate {
                    text: name,
                    kind: CandidateKind::Element,
                    detail,
                    meaning: String::new(),
                });
            }
        }
        self.found.push(Candidate {
            text: SITE.to_owned(),
            kind: CandidateKind::Element,
            detail: "the lot itself".to_owned(),
            meaning: String::new(),
        });
    }

    /// Lists of the lot, and elements that have lists of their own.
    fn lists(&mut self) {
        self.site_lists();
        self.elements();
    }

    fn site_lists(&mut self) {
        for (_, list) in self.workspace.site_lists() {
            self.found.push(Candidate {
                text: list.name.value.clone(),
                kind: CandidateKind::List,
                detail: format!("list of {}", list.of.value),
                meaning: list.meaning.value.clone(),
            });
        }
    }

    /// The labels of the choices and sizes that are asked for here, and whether any are.
    fn expected_labels(&mut self) -> bool {
        let scales = expected_scales(self.workspace, self.file, self.scene, self.before);
        let mut any = false;
        for (_, scale) in scales.iter().filter_map(|name| self.workspace.scale(name)) {
            any = true;
            for (label, meaning, _) in scale.labels() {
                self.found.push(Candidate {
                    text: label.to_owned(),
                    kind: CandidateKind::Label,
                    detail: scale.name().value.clone(),
                    meaning: meaning.unwrap_or_default().to_owned(),
                });
            }
        }
        any
    }

    fn labels(&mut self, kind: LabelKind) {
        let Some((_, labels)) = self.workspace.labels(kind) else {
            return;
        };
        for (name, text) in &labels.labels {
            self.found.push(Candidate {
                text: name.value.clone(),
                kind: CandidateKind::Label,
                detail: String::new(),
                meaning: text.value.clone(),
            });
        }
        match (kind, self.before.last()) {
            (LabelKind::Permit, Some(&"permit")) => self.word("none"),
            (LabelKind::Permit, Some(&"authority")) => self.word("any"),
            (LabelKind::Hold | LabelKind::Permit | LabelKind::Hazard | LabelKind::Person, _) => {}
        }
    }

    fn documents(&mut self) {
        for (_, source) in self.workspace.documents() {
            let said = |key: &str| {
                let clause = source.clauses.iter().find(|(known, _)| known.value == key);
                clause
                    .map_or("", |(_, text)| text.value.as_str())
                    .to_owned()
            };
            self.found.push(Candidate {
                text: source.name.value.clone(),
                kind: CandidateKind::Document,
                detail: said("edition"),
                meaning: said("title"),
            });
        }
    }

    fn topics(&mut self) {
        for (_, topic) in self.workspace.topics() {
            self.found.push(Candidate {
                text: topic.name.value.clone(),
                kind: CandidateKind::Topic,
                detail: format!("permit {}", topic.permit.value),
                meaning: topic.title.value.clone(),
            });
        }
    }

    fn types(&mut self, things_too: bool) {
        for name in Type::NAMES {
            self.found.push(Candidate {
                text: name.to_owned(),
                kind: CandidateKind::Type,
                detail: String::new(),
                meaning: String::new(),
            });
        }
        for (_, scale) in self.workspace.scales() {
            self.found.push(Candidate {
                text: scale.name().value.clone(),
                kind: CandidateKind::Type,
                detail: String::new(),
                meaning: scale.meaning().to_owned(),
            });
        }
        if things_too {
            self.things();
        }
    }

    fn things(&mut self) {
        for thing in self.workspace.things() {
            self.found.push(Candidate {
                text: thing.name.value.clone(),
                kind: CandidateKind::Type,
                detail: "thing".to_owned(),
                meaning: thing.meaning.value.clone(),
            });
        }
    }
}

/// Whether the words end in `each x in` or its like.
fn binds(before: &[&str]) -> bool {
    matches!(
        before,
        [.., "each" | "every" | "some" | "of" | "for", _, "in"]
    )
}

fn owned_candidate(owned: Owned<'_>) -> Candidate {
    let (kind, detail, meaning) = match owned {
        Owned::Limit(limit) => {
            let values: Vec<&str> = limit
                .values
                .iter()
                .map(|value| value.value.as_str())
                .collect();
            let value = match values.as_slice() {
                [] => "set by the place".to_owned(),
                values => values.join(" or "),
            };
            let meaning = limit.meaning.as_ref().map(|text| text.value.clone());
            (
                CandidateKind::Limit,
                format!("{} = {value}", limit.kind.value),
                meaning.unwrap_or_default(),
            )
        }
        Owned::Table(table) => (
            CandidateKind::Function,
            format!(
                "{} gives {}",
                parameters(&table.parameters),
                table.gives.value
            ),
            String::new(),
        ),
        Owned::Define(define) => (
            CandidateKind::Function,
            format!(
                "{} gives {}",
                parameters(&define.parameters),
                define.gives.value
            ),
            String::new(),
        ),
        Owned::Rule(rule) => {
            let title = rule.clauses.iter().find_map(|clause| match clause {
                crate::language::syntax::Clause::Title(title) => Some(title.value.clone()),
                _ => None,
            });
            (
                CandidateKind::Rule,
                String::new(),
                title.unwrap_or_default(),
            )
        }
    };
    Candidate {
        text: owned.name().value.clone(),
        kind,
        detail,
        meaning,
    }
}
