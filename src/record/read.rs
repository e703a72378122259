//! Text in, a [`Record`] out, driven by the vocabulary.
//!
//! Every mistake of the text is collected; a record with one is no record.

use std::collections::{BTreeMap, HashMap};

use super::error::{Mistakes, RecordError};
use super::facts::{List, Record, THE_SITE, TextId, Thing, ThingRef};
use super::head::{self, HEAD_KEYS, HeadOf, Overrides};
use super::names;
use super::slots::Slots;
use super::tolerances::{Tolerances, type_key};
use super::tree::{Entry, Node, NodeKind};
use super::yaml::{self, MOST_VALUES};
use crate::quantity::Rational;
use crate::source::{Located, SourceId, Sources, Span};
use crate::vocabulary::{self, FactId, ListId, Member, PointKind, SITE, ThingId, Type, Vocabulary};

/// Reads the record of a text.
///
/// # Errors
///
/// All mistakes of the text, in the order of their places.
pub fn read(
    vocabulary: &Vocabulary,
    sources: &Sources,
    id: SourceId,
) -> Result<Record, Vec<Located<RecordError>>> {
    read_with(vocabulary, sources, id, &Overrides::default())
}

/// Reads the record of a text, parts of whose head are given from outside.
///
/// # Errors
///
/// All mistakes of the text, in the order of their places.
pub fn read_with(
    vocabulary: &Vocabulary,
    sources: &Sources,
    id: SourceId,
    overrides: &Overrides,
) -> Result<Record, Vec<Located<RecordError>>> {
    let mut mistakes = Mistakes::default();
    let Some(root) = yaml::parse(sources, id, &mut mistakes) else {
        return Err(mistakes.told(sources));
    };
    assemble_tree(vocabulary, sources, &root, overrides, mistakes)
}

/// Reads the record of a tree that was made from another form than YAML, such as a table's row.
///
/// # Errors
///
/// All mistakes of the tree, in the order of their places.
pub fn read_tree(
    vocabulary: &Vocabulary,
    sources: &Sources,
    root: &Node,
    overrides: &Overrides,
) -> Result<Record, Vec<Located<RecordError>>> {
    assemble_tree(vocabulary, sources, root, overrides, Mistakes::default())
}

fn assemble_tree(
    vocabulary: &Vocabulary,
    sources: &Sources,
    root: &Node,
    overrides: &Overrides,
    mut mistakes: Mistakes,
) -> Result<Record, Vec<Located<RecordError>>> {
    let Some(entries) = root.entries() else {
        mistakes.add(root.span, not_a_record(root));
        return Err(mistakes.told(sources));
    };
    let mut head = Vec::with_capacity(HEAD_KEYS.len());
    let mut facts = Vec::with_capacity(entries.len());
    for entry in entries {
        match HEAD_KEYS.contains(&&*entry.key.value) {
            true => head.push(entry),
            false => facts.push(entry),
        }
    }
    let parts = Parts {
        head,
        facts,
        at: first_line(root),
        of: HeadOf::Record,
    };
    assemble(vocabulary, sources, overrides, parts, mistakes)
}

/// Reads a record in parts: a head, mappings that depart from it key by key, and a fragment with
/// the keys of a record without its head. The head of a fragment may leave out `record`, `lot` and `place`.
///
/// Mistakes of the YAML itself were told by [`yaml::parse`].
///
/// # Errors
///
/// All mistakes of the parts, in the order of their places.
pub fn read_fragment(
    vocabulary: &Vocabulary,
    sources: &Sources,
    head: &Node,
    departures: &[&Node],
    fragment: &Node,
) -> Result<Record, Vec<Located<RecordError>>> {
    let mut mistakes = Mistakes::default();
    let mut keys: Vec<&Entry> = Vec::new();
    for part in [&[head], departures].concat() {
        for entry in mapping(part, "the head", &mut mistakes) {
            keys.retain(|key| key.key.value != entry.key.value);
            keys.push(entry);
        }
    }
    let facts = mapping(fragment, "a fragment of a record", &mut mistakes);
    let parts = Parts {
        head: keys,
        facts: facts.iter().collect(),
        at: first_line(head),
        of: HeadOf::Fragment,
    };
    assemble(vocabulary, sources, &Overrides::default(), parts, mistakes)
}

/// A text taken apart at its top.
pub(super) struct Parts<'n> {
    pub(super) head: Vec<&'n Entry<'n>>,
    facts: Vec<&'n Entry<'n>>,
    /// Where the head begins.
    pub(super) at: Span,
    pub(super) of: HeadOf,
}

fn assemble(
    vocabulary: &Vocabulary,
    sources: &Sources,
    overrides: &Overrides,
    parts: Parts<'_>,
    mut mistakes: Mistakes,
) -> Result<Record, Vec<Located<RecordError>>> {
    let (head, tolerances) = head::read(vocabulary, &parts, overrides, &mut mistakes);
    let mut reader = Reader::new(vocabulary, tolerances, mistakes);
    reader.site(&parts);
    reader.references();
    reader.coverage(parts.at);
    if let Some(reading) = reader.elevation
        && !parts.head.iter().any(|entry| entry.key.value == "datum")
    {
        let at = parts.at;
        let error = RecordError::DatumMissing { at, reading };
        reader.mistakes.add(at, error);
    }
    match head {
        Some(head) if reader.mistakes.is_empty() => Ok(Record {
            head,
            things: reader.things,
            slots: reader.slots,
            lists: reader.lists,
            texts: reader.texts,
            has_several: reader.has_several,
        }),
        Some(_) | None => Err(reader.mistakes.told(sources)),
    }
}

fn not_a_record(root: &Node) -> RecordError {
    RecordError::Shape {
        found: root.called(),
        expected: "a record".into(),
        mend: "write keys and values, beginning with `record: 1`".into(),
        at: root.span,
    }
}

fn mapping<'n>(node: &'n Node<'n>, expected: &str, mistakes: &mut Mistakes) -> &'n [Entry<'n>] {
    match &node.kind {
        NodeKind::Mapping(entries) => entries,
        NodeKind::Empty | NodeKind::Unreadable => &[],
        NodeKind::Scalar(_) | NodeKind::Sequence(_) => {
            let error = RecordError::Shape {
                found: node.called(),
                expected: expected.into(),
                mend: "write keys and values, `key: value`".into(),
                at: node.span,
            };
            mistakes.add(node.span, error);
            &[]
        }
    }
}

/// The first key of a mapping, to show where it begins.
fn first_line(root: &Node) -> Span {
    let first = root.entries().and_then(<[Entry]>::first);
    first.map_or(root.span, |entry| entry.key.span)
}

/// What is kept while a record is read.
pub(super) struct Reader<'v> {
    pub(super) vocabulary: &'v Vocabulary,
    pub(super) mistakes: Mistakes,
    pub(super) tolerances: Tolerances,
    things: Vec<Thing>,
    pub(super) slots: Slots,
    lists: Vec<List>,
    texts: Vec<String>,
    /// The texts by themselves, once there are many.
    text_ids: HashMap<String, TextId>,
    /// Where the ids stand that things have, by their texts.
    ids: Vec<Option<Span>>,
    references: Vec<(TextId, Span)>,
    /// The first reading of each type for which the head gives no tolerance.
    uncovered: BTreeMap<&'static str, (Type, Span)>,
    elevation: Option<Span>,
    pub(super) has_several: bool,
    is_full: bool,
}

/// Up to so many texts are looked through one by one.
const FEW_TEXTS: usize = 24;

/// What a mapping may hold of its thing's members.
#[derive(Clone, Copy)]
enum Holds {
    /// `site:`
    Facts,
    /// The left margin.
    Lists,
    /// Any other thing.
    Both,
}

impl<'v> Reader<'v> {
    fn new(vocabulary: &'v Vocabulary, tolerances: Tolerances, mistakes: Mistakes) -> Self {
        Reader {
            vocabulary,
            mistakes,
            tolerances,
            things: Vec::with_capacity(16),
            slots: Slots::with_capacity(64),
            lists: Vec::with_capacity(64),
            texts: Vec::new(),
            text_ids: HashMap::new(),
            ids: Vec::new(),
            references: Vec::new(),
            uncovered: BTreeMap::new(),
            elevation: None,
            has_several: false,
            is_full: false,
        }
    }

    fn site(&mut self, parts: &Parts<'_>) {
        self.add_thing(SITE, THE_SITE, ListId(0), 0, parts.at);
        for entry in &parts.facts {
            if entry.key.value != "site" {
                self.member(THE_SITE, entry, Holds::Lists);
                continue;
            }
            for fact in mapping(&entry.value, "the facts of the site", &mut self.mistakes) {
                self.member(THE_SITE, fact, Holds::Facts);
            }
        }
    }

    /// Gives a thing its slots and lists, all of them absent.
    fn add_thing(
        &mut self,
        kind: ThingId,
        parent: ThingRef,
        list: ListId,
        index: u32,
        span: Span,
    ) -> ThingRef {
        let declared = self.vocabulary.thing(kind);
        // The number of values bounds that of things, so that both fit.
        let this = ThingRef(narrow(self.things.len()));
        self.things.push(Thing {
            kind,
            parent,
            list,
            index,
            id: None,
            first_slot: narrow(self.slots.add_absent(declared.facts.len())),
            first_list: narrow(self.lists.len()),
            span,
        });
        let lists = declared.lists.iter().map(|_| List {
            open: true,
            ..List::default()
        });
        self.lists.extend(lists);
        this
    }

    fn member(&mut self, this: ThingRef, entry: &Entry, holds: Holds) {
        let kind = self.things[this.0 as usize].kind;
        let declared = self.vocabulary.thing(kind);
        let key = &entry.key.value;
        let at = entry.key.span;
        if key == "id" && !matches!(holds, Holds::Lists) {
            return self.id(this, entry);
        }
        match (declared.members.get(key), holds) {
            (Some(Member::Fact(fact)), Holds::Facts | Holds::Both) => {
                self.fact(this, *fact, &entry.value);
            }
            (Some(Member::List(list)), Holds::Lists | Holds::Both) => {
                self.list(this, *list, &entry.value);
            }
            (Some(Member::Fact(_)), Holds::Lists) => {
                let mend = format!("write it under `site:`, `site: {{ {key}: … }}`");
                self.misplaced(key, "the left margin", mend, at);
            }
            (Some(Member::List(_)), Holds::Facts) => {
                let mend = format!("write `{key}: …` at the left margin, not under `site:`");
                self.misplaced(key, "the facts of the site", mend, at);
            }
            (None, _) => self.unknown_key(kind, key, holds, at),
        }
    }

    fn misplaced(&mut self, key: &str, owner: &str, mend: String, at: Span) {
        let error = RecordError::MisplacedKey {
            key: key.into(),
            owner: owner.into(),
            mend,
            at,
        };
        self.mistakes.add(at, error);
    }

    /// A name of no member: it may belong elsewhere, or be misspelt.
    fn unknown_key(&mut self, kind: ThingId, key: &str, holds: Holds, at: Span) {
        let vocabulary = self.vocabulary;
        let declared = vocabulary.thing(kind);
        let owner = match holds {
            Holds::Facts => "the site".to_owned(),
            Holds::Lists => "the record".to_owned(),
            Holds::Both => format!("`{}`", declared.name),
        };
        if HEAD_KEYS.contains(&key) {
            let mend = format!("write `{key}: …` at the left margin, in the head");
            return self.misplaced(key, &owner, mend, at);
        }
        let known = known_keys(vocabulary, kind, holds);
        let near = names::nearest(key, known.iter().copied());
        if near.is_none()
            && let Some(mend) = elsewhere(vocabulary, key)
        {
            return self.misplaced(key, &owner, mend, at);
        }
        let mend = match elsewhere(vocabulary, key) {
            Some(elsewhere) => match near {
                Some(near) => format!("did you mean `{near}`? Else {elsewhere}"),
                None => elsewhere,
            },
            None => names::suggest(key, known.iter().copied()),
        };
        let error = RecordError::UnknownKey {
            key: key.into(),
            owner,
            mend,
            at,
        };
        self.mistakes.add(at, error);
    }

    fn id(&mut self, this: ThingRef, entry: &Entry) {
        let Some(text) = self.text("id", &entry.value) else {
            return;
        };
        let at = entry.value.span;
        let place = text.0 as usize;
        if self.ids.len() <= place {
            self.ids.resize(place + 1, None);
        }
        if let Some(first) = self.ids[place] {
            let error = RecordError::DuplicateId {
                id: self.texts[place].clone(),
                first,
                again: at,
            };
            self.mistakes.add(at, error);
        } else {
            self.ids[place] = Some(at);
        }
        self.things[this.0 as usize].id = Some(text);
    }

    fn fact(&mut self, this: ThingRef, fact: FactId, node: &Node) {
        let thing = &self.things[this.0 as usize];
        let slot = thing.first_slot as usize + usize::from(fact.0);
        let declared = self.vocabulary.thing(thing.kind).fact(fact);
        self.slot(slot, declared, node);
    }

    fn list(&mut self, this: ThingRef, list: ListId, node: &Node) {
        let thing = &self.things[this.0 as usize];
        let place = thing.first_list as usize + usize::from(list.0);
        let declared = self.vocabulary.thing(thing.kind).list(list);
        let span = Some(node.span);
        match &node.kind {
            NodeKind::Empty | NodeKind::Unreadable => {}
            NodeKind::Scalar(_) if node.is_word("none") => {
                self.lists[place] = List {
                    written: true,
                    span,
                    ..List::default()
                };
            }
            NodeKind::Sequence(elements) if elements.is_empty() => {
                let key = declared.name.clone();
                let at = node.span;
                self.mistakes.add(at, RecordError::EmptyList { key, at });
            }
            NodeKind::Sequence(elements) => {
                let (items, open) = self.elements(this, list, declared, elements);
                self.lists[place] = List {
                    items,
                    open,
                    written: true,
                    gaps: Vec::new(),
                    span,
                };
            }
            NodeKind::Scalar(_) | NodeKind::Mapping(_) => self.not_a_list(declared, node),
        }
    }

    fn not_a_list(&mut self, declared: &vocabulary::List, node: &Node) {
        let name = &declared.name;
        let mend = if node.is_word("more") {
            format!("write `{name}: [ more ]`, or leave `{name}` out")
        } else {
            format!(
                "write `{name}: [ {{ … }}, {{ … }} ]`, a line `- …` for each, or `{name}: none`"
            )
        };
        let error = RecordError::Shape {
            found: node.called(),
            expected: format!("a list for `{name}`"),
            mend,
            at: node.span,
        };
        self.mistakes.add(node.span, error);
    }

    /// The things of a list, and whether it is open.
    fn elements(
        &mut self,
        parent: ThingRef,
        list: ListId,
        declared: &vocabulary::List,
        elements: &[Node],
    ) -> (Vec<ThingRef>, bool) {
        let mut items = Vec::with_capacity(elements.len());
        let mut open = false;
        for (index, element) in elements.iter().enumerate() {
            let at = element.span;
            // Each thing takes a slot for all that could be recorded of it.
            if self.slots.count() > MOST_VALUES {
                self.too_many(at);
                break;
            }
            let key = || declared.name.clone();
            match &element.kind {
                NodeKind::Mapping(entries) => {
                    let index = narrow(items.len());
                    let this = self.add_thing(declared.of, parent, list, index, at);
                    items.push(this);
                    for entry in entries {
                        self.member(this, entry, Holds::Both);
                    }
                }
                NodeKind::Scalar(_) if element.is_word("more") => {
                    open = true;
                    if index + 1 < elements.len() {
                        self.mistakes
                            .add(at, RecordError::MoreNotLast { key: key(), at });
                    }
                }
                NodeKind::Scalar(_) if element.is_word("none") => {
                    self.mistakes
                        .add(at, RecordError::NoneInList { key: key(), at });
                }
                NodeKind::Unreadable => {}
                NodeKind::Empty | NodeKind::Scalar(_) | NodeKind::Sequence(_) => {
                    self.not_a_thing(declared, element);
                }
            }
        }
        (items, open)
    }

    /// Says once that there are too many things.
    fn too_many(&mut self, at: Span) {
        if !std::mem::replace(&mut self.is_full, true) {
            let most = MOST_VALUES;
            self.mistakes
                .add(at, RecordError::TooManyValues { most, at });
        }
    }

    fn not_a_thing(&mut self, declared: &vocabulary::List, element: &Node) {
        let thing = &self.vocabulary.thing(declared.of).name;
        let error = RecordError::Shape {
            found: element.called(),
            expected: format!("a `{thing}`, written as a mapping"),
            mend: "write its facts, `{ fact: value }`, or `{}` if none of them was recorded".into(),
            at: element.span,
        };
        self.mistakes.add(element.span, error);
    }

    /// A text with something in it.
    pub(super) fn text(&mut self, key: &str, node: &Node) -> Option<TextId> {
        let text = head::text(key, node, &mut self.mistakes)?;
        Some(self.intern(text.value))
    }

    pub(super) fn intern(&mut self, text: &str) -> TextId {
        if let Some(known) = self.known_text(text) {
            return known;
        }
        let id = TextId(narrow(self.texts.len()));
        self.texts.push(text.to_owned());
        id
    }

    /// A few texts are looked through one by one.
    fn known_text(&mut self, text: &str) -> Option<TextId> {
        if self.texts.len() <= FEW_TEXTS {
            let at = self.texts.iter().position(|known| known == text)?;
            return Some(TextId(narrow(at)));
        }
        for (at, known) in self.texts.iter().enumerate().skip(self.text_ids.len()) {
            self.text_ids.insert(known.clone(), TextId(narrow(at)));
        }
        self.text_ids.get(text).copied()
    }

    /// Keeps a reference to look for its thing when all things are known.
    pub(super) fn refer(&mut self, id: TextId, at: Span) {
        self.references.push((id, at));
    }

    /// The tolerance that the head gives for a type; remembers a reading without one.
    pub(super) fn default_tolerance(&mut self, kind: Type, at: Span) -> Option<Rational> {
        let tolerance = self.tolerances.of(kind);
        if tolerance.is_none()
            && let Some(key) = type_key(kind)
        {
            self.uncovered.entry(key).or_insert((kind, at));
        }
        tolerance
    }

    /// Remembers the first elevation: it needs a datum.
    pub(super) fn note_elevation(&mut self, kind: Type, at: Span) {
        if kind == Type::Point(PointKind::Elevation) {
            self.elevation.get_or_insert(at);
        }
    }

    fn references(&mut self) {
        for (id, at) in std::mem::take(&mut self.references) {
            let place = id.0 as usize;
            if self.ids.get(place).is_some_and(Option::is_some) {
                continue;
            }
            let mut known: Vec<_> = self
                .ids
                .iter()
                .zip(&self.texts)
                .filter(|(at, _)| at.is_some())
                .map(|(_, text)| text.as_str())
                .collect();
            known.sort_unstable();
            let id = &self.texts[place];
            let mend = if known.is_empty() {
                format!("give the thing that is meant its id, `id: {id}`")
            } else {
                names::suggest(id, known.iter().copied())
            };
            let error = RecordError::UnknownReference {
                id: id.clone(),
                mend,
                at,
            };
            self.mistakes.add(at, error);
        }
    }

    /// Says which types have readings without any tolerance.
    fn coverage(&mut self, head: Span) {
        let at = self.tolerances.span.unwrap_or(head);
        for (key, (kind, reading)) in std::mem::take(&mut self.uncovered) {
            let error = RecordError::ToleranceMissing {
                kind: key.into(),
                example: super::tolerances::example(kind),
                at,
                reading,
            };
            self.mistakes.add(at, error);
        }
    }
}

/// An index of the arena; the bound on a file's values keeps it small.
fn narrow(index: usize) -> u32 {
    u32::try_from(index).unwrap_or(u32::MAX)
}

/// What may be written in a mapping.
fn known_keys(vocabulary: &Vocabulary, kind: ThingId, holds: Holds) -> Vec<&str> {
    let declared = vocabulary.thing(kind);
    let facts = declared.facts.iter().map(|fact| fact.name.as_str());
    let lists = declared.lists.iter().map(|list| list.name.as_str());
    match holds {
        Holds::Facts => facts.collect(),
        Holds::Lists => HEAD_KEYS.into_iter().chain(["site"]).chain(lists).collect(),
        Holds::Both => ["id"].into_iter().chain(facts).chain(lists).collect(),
    }
}

/// Where a name belongs that is not known here.
fn elsewhere(vocabulary: &Vocabulary, key: &str) -> Option<String> {
    let site = vocabulary.thing(SITE);
    match site.members.get(key) {
        Some(Member::Fact(_)) => {
            return Some(format!("write it under `site:`, `site: {{ {key}: … }}`"));
        }
        Some(Member::List(_)) => return Some(format!("write `{key}: …` at the left margin")),
        None => {}
    }
    let owners: Vec<_> = vocabulary
        .things
        .iter()
        .filter(|thing| thing.members.contains(key))
        .map(|thing| format!("`{}`", thing.name))
        .collect();
    match owners.as_slice() {
        [] => None,
        [only] => Some(format!("it belongs to a {only}")),
        owners if owners.len() <= 4 => Some(format!("it belongs to one of {}", owners.join(", "))),
        owners => Some(format!(
            "it belongs to one of {} … ({} in all)",
            owners[..4].join(", "),
            owners.len()
        )),
    }
}
