//! What the files of a workspace declare, looked up by name.

use crate::language::syntax::{
    Action, Choice, Define, Fact, Form, Item, Labels, Limit, ListDeclaration, Member, Name,
    Parameter, Rule, Size, SourceItem, Survey, Table, Thing, Topic,
};
use crate::source::Span;

use super::scene::{Binding, Scene};
use super::workspace::{Tree, Workspace};

/// The name of the thing that is the lot itself.
pub const SITE: &str = "site";
/// So many bindings may lead from one to the next.
const MOST_BINDINGS: usize = 32;

/// What a topic or a place declares by name.
#[derive(Debug, Clone, Copy)]
pub enum Owned<'a> {
    /// A limit.
    Limit(&'a Limit),
    /// A table.
    Table(&'a Table),
    /// A define.
    Define(&'a Define),
    /// A rule, its own or one that a place adds.
    Rule(&'a Rule),
}

impl<'a> Owned<'a> {
    /// Its name.
    pub fn name(self) -> &'a Name {
        match self {
            Owned::Limit(limit) => &limit.name,
            Owned::Table(table) => &table.name,
            Owned::Define(define) => &define.name,
            Owned::Rule(rule) => &rule.name,
        }
    }
}

/// A choice or a size.
#[derive(Debug, Clone, Copy)]
pub enum Scale<'a> {
    /// Labels without order.
    Choice(&'a Choice),
    /// Ordered labels.
    Size(&'a Size),
}

/// A label of a choice or a size: as written, what it means, where it is declared.
pub type Label<'a> = (&'a str, Option<&'a str>, Span);

impl<'a> Scale<'a> {
    /// Its name.
    pub fn name(self) -> &'a Name {
        match self {
            Scale::Choice(choice) => &choice.name,
            Scale::Size(size) => &size.name,
        }
    }

    /// What it says.
    pub fn meaning(self) -> &'a str {
        match self {
            Scale::Choice(choice) => &choice.meaning.value,
            Scale::Size(size) => &size.meaning.value,
        }
    }

    /// Its labels in order.
    pub fn labels(self) -> Vec<Label<'a>> {
        match self {
            Scale::Choice(choice) => choice
                .labels
                .iter()
                .map(|(name, text)| {
                    let meaning = text.as_ref().map(|text| text.value.as_str());
                    (name.value.as_str(), meaning, name.span)
                })
                .collect(),
            Scale::Size(size) => size
                .places
                .iter()
                .flatten()
                .map(|label| (label.value.as_str(), None, label.span))
                .collect(),
        }
    }
}

/// What a name with dots leads to.
#[derive(Debug, Clone)]
pub enum Kind<'a> {
    /// One of these things.
    Things(Vec<String>),
    /// A list of this thing.
    List(&'a Tree, &'a ListDeclaration),
    /// A fact.
    Fact(&'a Tree, &'a Fact),
    /// A fact that a thing's form gives it: its name, its type, what it means.
    Implied(&'static str, &'static str, &'static str),
    /// A value of this type: a parameter.
    Value(String),
}

impl Workspace {
    /// Every item with its file.
    pub fn items(&self) -> impl Iterator<Item = (&Tree, &Item)> + Clone {
        self.trees()
            .flat_map(|tree| tree.file.items.iter().map(move |item| (tree, item)))
    }

    /// The things of a name.
    pub fn thing(&self, name: &str) -> Option<(&Tree, &Thing)> {
        self.items().find_map(|(tree, item)| match item {
            Item::Thing(thing) if thing.name.value == name => Some((tree, thing)),
            _ => None,
        })
    }

    /// Every thing.
    pub fn things(&self) -> impl Iterator<Item = &Thing> {
        self.items().filter_map(|(_, item)| match item {
            Item::Thing(thing) => Some(thing),
            _ => None,
        })
    }

    /// The members of a thing, those that other files add to it too.
    pub fn members(&self, thing: &str) -> Vec<(&Tree, &Member)> {
        self.items()
            .flat_map(|(tree, item)| {
                let members = members_of(item, thing).iter();
                members.map(move |member| (tree, member))
            })
            .collect()
    }

    /// The facts that a thing has by its form, and its `id`.
    pub fn implied(&self, thing: &str) -> Vec<(&'static str, &'static str, &'static str)> {
        let mut found = vec![("id", "reference", "by what the record calls it")];
        match self.thing(thing).map(|(_, thing)| &thing.form) {
            Some(Form::Run { .. }) => {
                found.push(("length", "length", "from one end of the run to the other"));
            }
            Some(Form::Stretch) => {
                found.push(("from", "chainage", "where it begins along its run"));
                found.push(("to", "chainage", "where it ends along its run"));
            }
            Some(Form::Point) => found.push(("at", "chainage", "where it lies along its run")),
            Some(Form::Plain) | None => {}
        }
        found
    }

    /// The lists of the lot itself.
    pub fn site_lists(&self) -> Vec<(&Tree, &ListDeclaration)> {
        self.items()
            .filter_map(|(tree, item)| match item {
                Item::List(list) => Some((tree, list)),
                _ => None,
            })
            .chain(
                self.members(SITE)
                    .into_iter()
                    .filter_map(|(tree, member)| match member {
                        Member::List(list) => Some((tree, list)),
                        Member::Fact(_) => None,
                    }),
            )
            .collect()
    }

    /// Every choice and size.
    pub fn scales(&self) -> impl Iterator<Item = (&Tree, Scale<'_>)> {
        self.items().filter_map(|(tree, item)| match item {
            Item::Choice(choice) => Some((tree, Scale::Choice(choice))),
            Item::Size(size) => Some((tree, Scale::Size(size))),
            _ => None,
        })
    }

    /// The choice or size of a name.
    pub fn scale(&self, name: &str) -> Option<(&Tree, Scale<'_>)> {
        self.scales().find(|(_, scale)| scale.name().value == name)
    }

    /// Every survey function.
    pub fn surveys(&self) -> impl Iterator<Item = (&Tree, &Survey)> {
        self.items().filter_map(|(tree, item)| match item {
            Item::Survey(survey) => Some((tree, survey)),
            _ => None,
        })
    }

    /// Every source.
    pub fn documents(&self) -> impl Iterator<Item = (&Tree, &SourceItem)> {
        self.items().filter_map(|(tree, item)| match item {
            Item::Source(source) => Some((tree, source)),
            _ => None,
        })
    }

    /// Every topic.
    pub fn topics(&self) -> impl Iterator<Item = (&Tree, &Topic)> {
        self.items().filter_map(|(tree, item)| match item {
            Item::Topic(topic) => Some((tree, topic)),
            _ => None,
        })
    }

    /// The hold points, the kinds of permit, the hazards or the people.
    pub fn labels(&self, kind: LabelKind) -> Option<(&Tree, &Labels)> {
        self.items().find_map(|(tree, item)| match (kind, item) {
            (LabelKind::Hold, Item::Holds(labels))
            | (LabelKind::Permit, Item::Permits(labels))
            | (LabelKind::Hazard, Item::Hazards(labels))
            | (LabelKind::Person, Item::People(labels)) => Some((tree, labels)),
            _ => None,
        })
    }

    /// What a topic declares: its own, and the rules that places add to it.
    pub fn owned_by_topic<'a>(&'a self, topic: &str) -> Vec<(&'a Tree, Owned<'a>)> {
        let home = self.topics().find(|(_, known)| known.name.value == topic);
        let own = home.into_iter().flat_map(|(tree, _)| owned(tree));
        let added = self.items().filter_map(|(tree, item)| match item {
            Item::Statement(statement) => match &statement.action {
                Action::Add { topic: to, rule } if to.value == topic => {
                    Some((tree, Owned::Rule(rule)))
                }
                _ => None,
            },
            _ => None,
        });
        own.chain(added).collect()
    }

    /// What can be named in a file without more: what it declares, what its place's other files
    /// without a topic declare, and in an added rule what the topic does.
    pub fn in_sight<'a>(&'a self, file: &str, topic: Option<&str>) -> Vec<(&'a Tree, Owned<'a>)> {
        let own = self.tree(file).into_iter().flat_map(owned);
        let folder = file.rsplit_once('/').map_or("", |(folder, _)| folder);
        let is_place = file.starts_with("jurisdictions/");
        let beside = self.trees().filter(move |tree| {
            let place = tree.name.rsplit_once('/').map_or("", |(folder, _)| folder);
            is_place && place == folder && *tree.name != *file && topic_of(tree).is_none()
        });
        let of_topic = topic
            .map(|topic| self.owned_by_topic(topic))
            .unwrap_or_default();
        own.chain(beside.flat_map(owned)).chain(of_topic).collect()
    }

    /// What a name with dots leads to, where its first part is bound or is the lot's.
    pub fn resolve(&self, scene: &Scene<'_>, parts: &[String]) -> Option<Kind<'_>> {
        self.resolve_within(scene, parts, MOST_BINDINGS)
    }

    /// A list may be one of an element of another list, and so on.
    fn resolve_within(&self, scene: &Scene<'_>, parts: &[String], left: usize) -> Option<Kind<'_>> {
        let (first, members) = parts.split_first()?;
        let left = left.checked_sub(1)?;
        let start = match scene.binding(first) {
            Some(Binding::ElementOf(list)) => match self.resolve_within(scene, &list, left)? {
                Kind::List(_, list) => Kind::Things(vec![list.of.value.clone()]),
                Kind::Things(_) | Kind::Fact(..) | Kind::Implied(..) | Kind::Value(_) => {
                    return None;
                }
            },
            Some(Binding::Parameter(kinds)) => self.parameter(kinds),
            None if first == SITE => Kind::Things(vec![SITE.to_owned()]),
            None => {
                let mut lists = self.site_lists().into_iter();
                let (tree, list) = lists.find(|(_, list)| list.name.value == *first)?;
                Kind::List(tree, list)
            }
        };
        members
            .iter()
            .try_fold(start, |kind, member| self.member(&kind, member))
    }

    fn parameter(&self, kinds: Vec<String>) -> Kind<'_> {
        let all_things = kinds.iter().all(|kind| self.thing(kind).is_some());
        match kinds.first() {
            Some(only) if !all_things => Kind::Value(only.clone()),
            Some(_) | None => Kind::Things(kinds),
        }
    }

    fn member(&self, of: &Kind<'_>, name: &str) -> Option<Kind<'_>> {
        let Kind::Things(things) = of else {
            return None;
        };
        things.iter().find_map(|thing| self.member_of(thing, name))
    }

    /// A member of a thing by name.
    pub fn member_of(&self, thing: &str, name: &str) -> Option<Kind<'_>> {
        let declared = self
            .members(thing)
            .into_iter()
            .find_map(|(tree, member)| match member {
                Member::Fact(fact) if fact.name.value == name => Some(Kind::Fact(tree, fact)),
                Member::List(list) if list.name.value == name => Some(Kind::List(tree, list)),
                Member::Fact(_) | Member::List(_) => None,
            });
        declared.or_else(|| {
            let implied = self
                .implied(thing)
                .into_iter()
                .find(|(known, ..)| *known == name)?;
            Some(Kind::Implied(implied.0, implied.1, implied.2))
        })
    }
}

fn members_of<'a>(item: &'a Item, thing: &str) -> &'a [Member] {
    match item {
        Item::Thing(known) if known.name.value == thing => &known.members,
        Item::Extend(more) if more.thing.value == thing => &more.members,
        _ => &[],
    }
}

/// Which list of names with texts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LabelKind {
    /// `holds`
    Hold,
    /// `permits`
    Permit,
    /// `hazards`
    Hazard,
    /// `people`
    Person,
}

/// The topic that a file is about.
pub fn topic_of(tree: &Tree) -> Option<&str> {
    tree.file.items.iter().find_map(|item| match item {
        Item::Topic(topic) => Some(topic.name.value.as_str()),
        _ => None,
    })
}

/// What a file declares by name for its topic or place.
pub fn owned(tree: &Tree) -> impl Iterator<Item = (&Tree, Owned<'_>)> {
    tree.file.items.iter().filter_map(move |item| {
        let owned = match item {
            Item::Limit(limit) => Owned::Limit(limit),
            Item::Table(table) => Owned::Table(table),
            Item::Define(define) => Owned::Define(define),
            Item::Rule(rule) => Owned::Rule(rule),
            Item::Holds(_)
            | Item::Permits(_)
            | Item::Hazards(_)
            | Item::People(_)
            | Item::Choice(_)
            | Item::Size(_)
            | Item::Thing(_)
            | Item::Extend(_)
            | Item::List(_)
            | Item::Survey(_)
            | Item::Source(_)
            | Item::Topic(_)
            | Item::Place(_)
            | Item::Statement(_)
            | Item::Variance(_) => return None,
        };
        Some((tree, owned))
    })
}

/// Parameters as they are written.
pub fn parameters(parameters: &[Parameter]) -> String {
    let each: Vec<String> = parameters
        .iter()
        .map(|parameter| {
            let kinds: Vec<&str> = parameter
                .kinds
                .iter()
                .map(|kind| kind.value.as_str())
                .collect();
            format!("{}: {}", parameter.name.value, kinds.join(" or "))
        })
        .collect();
    format!("({})", each.join(", "))
}
