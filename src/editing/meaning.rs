//! A place of a text in, what the name there means and where it is declared out.

use std::ops::Range;

use super::declarations::{Kind, Label, LabelKind, Owned, SITE, Scale};
use super::expected::{expected_scales, topic_of_statement};
use super::scene::{Binding, Dotted, Scene};
use super::workspace::{Target, Tree, Workspace};
use crate::check::typed::{Library, LimitId, Owner, PlaceId, TableId};
use crate::judge;
use crate::language::Kind as Item;
use crate::language::syntax::{Fact, Labels, ListDeclaration, Name, Origin};
use crate::layers::{cell_standing, limit_standing};
use crate::quantity::Rational;
use crate::report::words::way_words;
use crate::source::Span;
use crate::vocabulary::Type;

/// So many lines of a declaration are shown.
const MOST_LINES: usize = 30;
/// So many cells of a table are told with their way.
const MOST_CELLS: usize = 12;

/// What a name means.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Meaning {
    /// The name, in bytes of its text.
    pub bytes: Range<usize>,
    /// What it means, in Markdown.
    pub words: String,
    /// Where it is declared; nothing for what is built in.
    pub declared: Option<Target>,
}

/// What the name at a byte of a file means. In a place's file, limits are told with their way
/// through the layers for permits of a date.
pub fn meaning(workspace: &Workspace, file: &str, byte: usize, date: Rational) -> Option<Meaning> {
    let text = &workspace.tree(file)?.text;
    let scene = Scene::at(text, byte);
    if scene.is_in_prose() {
        return None;
    }
    let name = scene.dotted()?;
    let before = scene.before(&name);
    let asked = Asked {
        workspace,
        file,
        date,
        scene: &scene,
        name: &name,
        before: &before,
    };
    let found = asked.found()?;
    Some(Meaning {
        bytes: name.bytes.clone(),
        words: found.words,
        declared: found.declared,
    })
}

struct Asked<'a> {
    workspace: &'a Workspace,
    file: &'a str,
    date: Rational,
    scene: &'a Scene<'a>,
    name: &'a Dotted,
    before: &'a [&'a str],
}

struct Found {
    words: String,
    declared: Option<Target>,
}

impl<'a> Asked<'a> {
    fn found(&self) -> Option<Found> {
        let last = self.name.parts.last()?.as_str();
        let kind = self.scene.kind()?;
        let own_name = self.before.len() == 1;
        match (self.before.last().copied()?, kind) {
            ("cite", _) => self.document(last),
            ("hold", _) | ("until", Item::Thing | Item::Extend) => {
                self.label(LabelKind::Hold, last)
            }
            ("hazard", _) => self.label(LabelKind::Hazard, last),
            ("for", Item::Thing | Item::Extend) => self.label(LabelKind::Person, last),
            ("permit", Item::Topic) | ("authority" | "date", Item::Place) => {
                self.label(LabelKind::Permit, last)
            }
            ("adopt", _) | ("topic", Item::Strike) | ("decision", _) => self.topic(last),
            ("in", Item::Add) if self.before.len() == 4 => self.topic(last),
            ("amend" | "set", _)
            | ("restrict", Item::Restrict)
            | ("rule", Item::Strike | Item::Restrict | Item::Replace | Item::Variance) => {
                self.target()
            }
            ("rule", Item::Add) if self.before.len() == 2 => self.owned(last),
            (_, Item::Limit | Item::Table | Item::Define | Item::Rule) if own_name => {
                self.owned(last)
            }
            (_, Item::Topic) if own_name => self.topic(last),
            (_, Item::Source) if own_name => self.document(last),
            (_, Item::Survey) if own_name => self.survey(last),
            (_, Item::Choice | Item::Size | Item::Thing | Item::Extend) if own_name => {
                self.kind(last)
            }
            (":" | "gives", _) | ("of", Item::List | Item::Thing | Item::Extend)
                if self.name.parts.len() == 1 =>
            {
                self.kind(last)
            }
            ("or", Item::Survey) => self.kind(last),
            (_, Item::Thing | Item::Extend) => {
                let thing = self.scene.second_word()?;
                let member = self.workspace.member_of(thing, last)?;
                self.leads_to(&member)
            }
            (_, Item::Choice) => self.label_of_scales(last, |scale| {
                Some(scale.name().value.as_str()) == self.scene.second_word()
            }),
            _ => self.in_expression(last),
        }
    }

    fn in_expression(&self, last: &str) -> Option<Found> {
        let parts = self.name.parts.as_slice();
        if let [only] = parts {
            if let Some(label) = self.compared_label(only) {
                return Some(label);
            }
            if let Some(found) = self.owned(only).or_else(|| self.survey(only)) {
                return Some(found);
            }
        }
        match self.workspace.resolve(self.scene, parts) {
            Some(kind) => self.leads_to(&kind),
            None => self.label_of_scales(last, |_| true),
        }
    }

    fn leads_to(&self, kind: &Kind<'_>) -> Option<Found> {
        let name = self.name.parts.join(".");
        match kind {
            Kind::Fact(tree, fact) => Some(Found {
                words: self.fact_words(&name, fact),
                declared: Some(tree.target(fact.name.span)),
            }),
            Kind::List(tree, list) => Some(list_found(tree, &name, list)),
            Kind::Implied(_, kind, meaning) => Some(Found {
                words: format!("**{name}** · `{kind}`, from its form\n\n{meaning}"),
                declared: None,
            }),
            Kind::Value(kind) => Some(Found {
                words: format!("**{name}** · `{kind}`, a parameter"),
                declared: self.kind(kind).and_then(|found| found.declared),
            }),
            Kind::Things(things) => self.element(&name, things),
        }
    }

    fn element(&self, name: &str, things: &[String]) -> Option<Found> {
        let of = match self.scene.binding(name) {
            Some(Binding::ElementOf(list)) => format!("each of `{}`", list.join(".")),
            Some(Binding::Parameter(_)) => "a parameter".to_owned(),
            None if name == SITE => "the lot itself".to_owned(),
            None => return None,
        };
        let (tree, thing) = match self.workspace.thing(things.first()?) {
            Some(found) => found,
            None => {
                return Some(Found {
                    words: format!("**{name}** · {of}"),
                    declared: None,
                });
            }
        };
        Some(Found {
            words: format!(
                "**{name}** · `{}`, {of}\n\n{}",
                things.join(" or "),
                thing.meaning.value
            ),
            declared: Some(tree.target(thing.name.span)),
        })
    }

    fn fact_words(&self, name: &str, fact: &Fact) -> String {
        let how = match fact.origin {
            Origin::Measured => "measured",
            Origin::Stated => "stated",
        };
        let mut words = format!(
            "**{name}** · {}, {how}\n\n{}",
            type_words(self.workspace, &fact.kind.value),
            fact.meaning.value
        );
        if let Some(by) = &fact.by {
            words.push_str(&format!("\n\n- by: {}", by.value));
        }
        if let Some(until) = &fact.until {
            words.push_str(&format!("\n- can be seen until `{}`", until.value));
        }
        if let Some(then) = &fact.then {
            words.push_str(&format!("\n- after that: {}", then.value));
        }
        if let Some((least, greatest)) = &fact.between {
            words.push_str(&format!(
                "\n- between {} and {}",
                least.value, greatest.value
            ));
        }
        words
    }

    fn document(&self, name: &str) -> Option<Found> {
        let (tree, item) = self
            .workspace
            .documents()
            .find(|(_, item)| item.name.value == name)?;
        Some(declaration(tree, &item.name, item.span, ""))
    }

    fn topic(&self, name: &str) -> Option<Found> {
        let (tree, topic) = self
            .workspace
            .topics()
            .find(|(_, topic)| topic.name.value == name)?;
        Some(Found {
            words: format!(
                "**topic {name}** · by the date of the `{}` permit\n\n{}",
                topic.permit.value, topic.title.value
            ),
            declared: Some(tree.target(topic.name.span)),
        })
    }

    fn survey(&self, name: &str) -> Option<Found> {
        let (tree, survey) = self
            .workspace
            .surveys()
            .find(|(_, survey)| survey.name.value == name)?;
        Some(declaration(tree, &survey.name, survey.span, ""))
    }

    fn label(&self, kind: LabelKind, name: &str) -> Option<Found> {
        let (tree, Labels { labels, .. }) = self.workspace.labels(kind)?;
        let (name, text) = labels.iter().find(|(known, _)| known.value == name)?;
        Some(Found {
            words: format!("**{}**\n\n{}", name.value, text.value),
            declared: Some(tree.target(name.span)),
        })
    }

    /// A type: a choice or a size, a thing, or one that is built in.
    fn kind(&self, name: &str) -> Option<Found> {
        if let Some((tree, scale)) = self.workspace.scale(name) {
            let span = match scale {
                Scale::Choice(choice) => choice.span,
                Scale::Size(size) => size.span,
            };
            return Some(declaration(tree, scale.name(), span, ""));
        }
        if let Some((tree, thing)) = self.workspace.thing(name) {
            return Some(Found {
                words: format!("**thing {name}**\n\n{}", thing.meaning.value),
                declared: Some(tree.target(thing.name.span)),
            });
        }
        Type::named(name)?;
        Some(Found {
            words: type_words(self.workspace, name),
            declared: None,
        })
    }

    /// A topic, or behind its dot what it declares.
    fn target(&self) -> Option<Found> {
        match self.name.parts.as_slice() {
            [topic] => self.topic(topic).or_else(|| self.owned(topic)),
            [topic, name] => {
                let found = self.workspace.owned_by_topic(topic);
                let (tree, owned) = found
                    .into_iter()
                    .find(|(_, owned)| owned.name().value == *name)?;
                Some(self.owned_found(tree, owned))
            }
            _ => None,
        }
    }

    /// What the file, its place or the topic of an added rule declares.
    fn owned(&self, name: &str) -> Option<Found> {
        let topic = topic_of_statement(self.scene);
        let found = self.workspace.in_sight(self.file, topic);
        let (tree, owned) = found
            .into_iter()
            .find(|(_, owned)| owned.name().value == name)?;
        Some(self.owned_found(tree, owned))
    }

    fn owned_found(&self, tree: &Tree, owned: Owned<'_>) -> Found {
        let (span, standing) = match owned {
            Owned::Limit(limit) => (limit.span, self.limit_way(tree, &limit.name)),
            Owned::Table(table) => (table.span, self.table_way(tree, &table.name)),
            Owned::Define(define) => (define.span, None),
            Owned::Rule(rule) => (rule.span, None),
        };
        declaration(tree, owned.name(), span, &standing.unwrap_or_default())
    }

    /// The library as last checked, and the place whose file this is.
    fn place(&self) -> Option<(&'a Library, PlaceId, &'a str)> {
        let library = &self.workspace.last_good()?.library;
        let path = self.file.strip_prefix("jurisdictions/")?;
        let folder = path.rsplit_once('/')?.0;
        Some((library, library.place_named(folder)?, folder))
    }

    fn limit_way(&self, tree: &Tree, name: &Name) -> Option<String> {
        let (library, place, path) = self.place()?;
        let known = library
            .limits
            .iter()
            .position(|limit| limit.name == name.value && is_of(library, limit.owner, tree))?;
        let way = library.way_in(place);
        let standing = limit_standing(library, LimitId::at(known), &way, self.date);
        let told = judge::limit(library, name.value.clone(), &standing);
        Some(format!("\n\nIn {path} today: {}", way_words(&told)))
    }

    fn table_way(&self, tree: &Tree, name: &Name) -> Option<String> {
        let (library, place, path) = self.place()?;
        let known = library
            .tables
            .iter()
            .position(|table| table.name == name.value && is_of(library, table.owner, tree))?;
        let (id, table) = (TableId::at(known), &library.tables[known]);
        let way = library.way_in(place);
        let mut told = Vec::new();
        for cell in 0..table.cells.len() {
            let standing = cell_standing(library, id, cell, &way, self.date);
            if standing.way.len() > 1 {
                let name = table.cell_name(&library.vocabulary, cell);
                told.push(way_words(&judge::limit(library, name, &standing)));
            }
        }
        if told.is_empty() {
            return None;
        }
        let more = told.len().saturating_sub(MOST_CELLS);
        told.truncate(MOST_CELLS);
        if more > 0 {
            told.push(format!("and {more} more"));
        }
        Some(format!("\n\nIn {path} today:\n\n- {}", told.join("\n- ")))
    }

    /// A label of what stands on the other side of `is`, or of a table's keys.
    fn compared_label(&self, name: &str) -> Option<Found> {
        let wanted = expected_scales(self.workspace, self.file, self.scene, self.before);
        self.label_of_scales(name, |scale| wanted.contains(&scale.name().value))
    }

    fn label_of_scales(&self, name: &str, wanted: impl Fn(Scale<'_>) -> bool) -> Option<Found> {
        self.workspace
            .scales()
            .filter(|(_, scale)| wanted(*scale))
            .find_map(|(tree, scale)| {
                let labels = scale.labels();
                let (label, meaning, span): &Label<'_> =
                    labels.iter().find(|(label, ..)| *label == name)?;
                let words = format!(
                    "**{label}** · label of `{}`: {}\n\n{}",
                    scale.name().value,
                    scale.meaning(),
                    meaning.unwrap_or_default()
                );
                Some(Found {
                    words: words.trim_end().to_owned(),
                    declared: Some(tree.target(*span)),
                })
            })
    }
}

fn is_of(library: &Library, owner: Owner, tree: &Tree) -> bool {
    match owner {
        Owner::Topic(topic) => {
            super::declarations::topic_of(tree) == Some(library.topics[topic.index()].name.as_str())
        }
        Owner::Place(place) => {
            let folder = format!("jurisdictions/{}/", library.places[place.index()].path);
            tree.name
                .strip_prefix(folder.as_str())
                .is_some_and(|file| !file.contains('/'))
        }
    }
}

fn list_found(tree: &Tree, name: &str, list: &ListDeclaration) -> Found {
    Found {
        words: format!(
            "**{name}** · list of `{}`\n\n{}",
            list.of.value, list.meaning.value
        ),
        declared: Some(tree.target(list.name.span)),
    }
}

/// What a type is called, and for a choice or a size what it says.
fn type_words(workspace: &Workspace, name: &str) -> String {
    match workspace.scale(name) {
        Some((_, scale)) => format!("`{name}` ({})", scale.meaning()),
        None => format!("`{name}`"),
    }
}

/// A declaration as it is written, and what is to be said of it.
fn declaration(tree: &Tree, name: &Name, span: Span, more: &str) -> Found {
    let written = &tree.text[span.start as usize..span.end as usize];
    let mut lines: Vec<&str> = written.lines().take(MOST_LINES).collect();
    if written.lines().count() > MOST_LINES {
        lines.push("…");
    }
    Found {
        words: format!("```groundrule\n{}\n```{more}", lines.join("\n")),
        declared: Some(tree.target(name.span)),
    }
}
