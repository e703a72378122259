//! Vocabulary items in, slots out.
//!
//! Items may stand in any order and in any file: names are bound after all of them are known.
//! Things, choices and sizes, and survey functions are numbered by name, so that a number does not
//! depend on which file came first; members keep their order.

use std::collections::BTreeMap;

use super::error::nearest_or;
use super::{
    Fact, FactId, Form, HoldId, List, ListId, Member, Members, Named, POINT_AT, Parameter,
    ParameterType, PersonId, PointKind, RUN_LENGTH, SITE, STRETCH_FROM, STRETCH_TO, Scale, ScaleId,
    Survey, Thing, ThingId, Type, Vocabulary, VocabularyError,
};
use crate::language::syntax;
use crate::quantity::{Dimension, Interval, Rational, Unit, Written, parse};
use crate::source::{Located, SourceId, Span};

/// Binds the vocabulary items of all files; other items are left alone.
///
/// The result is the same whatever the order of `files`. Members that `extend` or a `list` at the
/// left margin adds come after the thing's own, by the number of their text and then by place. A
/// mistake that has no place, such as a missing `holds`, is located in the first text.
pub fn build(
    files: &[(SourceId, &syntax::File)],
) -> Result<Vocabulary, Vec<Located<VocabularyError>>> {
    let mut files: Vec<_> = files.to_vec();
    files.sort_by_key(|(source, _)| *source);
    let items = Items::of(&files);
    let mut builder = Builder {
        vocabulary: Vocabulary::default(),
        errors: Vec::new(),
        home: files.first().map_or(SourceId(0), |(source, _)| *source),
    };
    builder.name_lists(&items);
    builder.scales(&items);
    builder.things(&items);
    builder.members(&items);
    builder.circles();
    builder.surveys(&items);
    builder.sizes();
    builder.finish()
}

/// Words that open or join expressions: as a name they could not be told apart.
const KEYWORDS: [&str; 22] = [
    "and", "any", "count", "else", "every", "for", "greater", "greatest", "has", "if", "in", "is",
    "least", "lesser", "not", "of", "or", "root", "some", "then", "total", "where",
];

/// What stands at the left margin of a record beside the site's lists.
const HEAD_KEYS: [&str; 11] = [
    "datum",
    "lot",
    "permits",
    "place",
    "plan",
    "record",
    "recorded",
    "site",
    "stage",
    "tolerances",
    "variances",
];

/// The vocabulary items of all files by kind, each kind by text and place.
#[derive(Default)]
struct Items<'a> {
    holds: Vec<&'a syntax::Labels>,
    permits: Vec<&'a syntax::Labels>,
    hazards: Vec<&'a syntax::Labels>,
    people: Vec<&'a syntax::Labels>,
    choices: Vec<&'a syntax::Choice>,
    sizes: Vec<&'a syntax::Size>,
    things: Vec<&'a syntax::Thing>,
    additions: Vec<Addition<'a>>,
    surveys: Vec<&'a syntax::Survey>,
}

/// Members added to a thing from outside its own item.
enum Addition<'a> {
    Extend(&'a syntax::Extend),
    SiteList(&'a syntax::ListDeclaration),
}

impl<'a> Items<'a> {
    fn of(files: &[(SourceId, &'a syntax::File)]) -> Self {
        let mut items = Items::default();
        for item in files.iter().flat_map(|(_, file)| &file.items) {
            match item {
                syntax::Item::Holds(labels) => items.holds.push(labels),
                syntax::Item::Permits(labels) => items.permits.push(labels),
                syntax::Item::Hazards(labels) => items.hazards.push(labels),
                syntax::Item::People(labels) => items.people.push(labels),
                syntax::Item::Choice(choice) => items.choices.push(choice),
                syntax::Item::Size(size) => items.sizes.push(size),
                syntax::Item::Thing(thing) => items.things.push(thing),
                syntax::Item::Extend(extend) => items.additions.push(Addition::Extend(extend)),
                syntax::Item::List(list) => items.additions.push(Addition::SiteList(list)),
                syntax::Item::Survey(survey) => items.surveys.push(survey),
                syntax::Item::Source(_)
                | syntax::Item::Topic(_)
                | syntax::Item::Limit(_)
                | syntax::Item::Table(_)
                | syntax::Item::Define(_)
                | syntax::Item::Rule(_)
                | syntax::Item::Place(_)
                | syntax::Item::Statement(_)
                | syntax::Item::Variance(_) => {}
            }
        }
        items
    }
}

struct Builder {
    vocabulary: Vocabulary,
    errors: Vec<Located<VocabularyError>>,
    /// The text in which a mistake without a place is located.
    home: SourceId,
}

impl Builder {
    fn error(&mut self, at: Span, error: VocabularyError) {
        self.errors.push(Located {
            source: at.source,
            error,
        });
    }

    fn homeless(&mut self, error: VocabularyError) {
        self.errors.push(Located {
            source: self.home,
            error,
        });
    }

    fn declared_twice(&mut self, what: &'static str, name: &str, first: Span, again: Span) {
        let name = name.to_owned();
        if first.source == again.source {
            let error = VocabularyError::DeclaredTwice {
                what,
                name,
                again,
                first,
            };
            return self.error(again, error);
        }
        for at in [first, again] {
            let name = name.clone();
            self.error(at, VocabularyError::DeclaredInTwoFiles { what, name, at });
        }
    }

    fn reserved(&mut self, name: &syntax::Name, what: &'static str, reason: &'static str) {
        let error = VocabularyError::ReservedName {
            name: name.value.clone(),
            what,
            reason,
            at: name.span,
        };
        self.error(name.span, error);
    }

    /// Whether a name is free to be used; says so where it is not.
    fn is_free(&mut self, name: &syntax::Name, what: &'static str) -> bool {
        let taken = KEYWORDS.contains(&name.value.as_str());
        if taken {
            self.reserved(name, what, "it is a word of the rule language");
        }
        !taken
    }

    // Hold points, permits, hazards and people.

    fn name_lists(&mut self, items: &Items) {
        self.vocabulary.holds = self.name_list(&items.holds, "the list", "holds", "a hold point");
        self.vocabulary.permits =
            self.name_list(&items.permits, "the list", "permits", "a kind of permit");
        self.vocabulary.hazards = self.name_list(&items.hazards, "the list", "hazards", "a hazard");
        self.vocabulary.people = self.name_list(&items.people, "the list", "people", "a person");
        if items.holds.is_empty() {
            self.homeless(VocabularyError::NoHolds);
        }
        if items.permits.is_empty() {
            self.homeless(VocabularyError::NoPermits);
        }
    }

    /// One item holds them all: two would have no order between them.
    fn name_list(
        &mut self,
        items: &[&syntax::Labels],
        what: &'static str,
        name: &str,
        one: &'static str,
    ) -> Vec<Named> {
        let Some((first, others)) = items.split_first() else {
            return Vec::new();
        };
        for other in others {
            self.declared_twice(what, name, first.span, other.span);
        }
        let mut named: Vec<Named> = Vec::new();
        for (name, text) in &first.labels {
            if !self.is_free(name, one) {
                continue;
            }
            match named.iter().find(|known| known.name == name.value) {
                Some(known) => self.declared_twice(one, &name.value, known.span, name.span),
                None => named.push(Named {
                    name: name.value.clone(),
                    text: text.value.clone(),
                    span: name.span,
                }),
            }
        }
        named
    }

    // Types.

    /// The items with a name of their own, by name; says where a name is taken.
    fn by_name<'a, T>(
        &mut self,
        items: impl Iterator<Item = (&'a syntax::Name, T)>,
        what: &'static str,
        one: &'static str,
    ) -> BTreeMap<&'a str, (Span, T)> {
        let mut named: BTreeMap<&str, (Span, T)> = BTreeMap::new();
        for (name, item) in items {
            if !self.is_free(name, one) {
                continue;
            }
            match named.get(name.value.as_str()) {
                Some((first, _)) => self.declared_twice(what, &name.value, *first, name.span),
                None => {
                    named.insert(&name.value, (name.span, item));
                }
            }
        }
        named
    }

    fn is_free_type(&mut self, name: &syntax::Name, what: &'static str) -> bool {
        let taken = Type::named(&name.value).is_some();
        if taken {
            self.reserved(name, what, "a type of the rule language has it");
        }
        !taken
    }

    fn scales(&mut self, items: &Items) {
        let mut scales = Vec::new();
        for choice in &items.choices {
            if self.is_free_type(&choice.name, "a choice") {
                scales.push((&choice.name, self.choice(choice)));
            }
        }
        for size in &items.sizes {
            if self.is_free_type(&size.name, "a size") {
                scales.push((&size.name, self.size(size)));
            }
        }
        // Choices and sizes share their names, and the first in the files keeps one.
        scales.sort_by_key(|(name, _)| (name.span.source, name.span.start));
        let named = self.by_name(scales.into_iter(), "the type", "a type");
        for (index, (name, (_, scale))) in named.into_iter().enumerate() {
            let id = ScaleId(number(index));
            self.vocabulary.scale_names.insert(name.to_owned(), id);
            self.vocabulary.scales.push(scale);
        }
    }

    fn choice(&mut self, choice: &syntax::Choice) -> Scale {
        let mut seen: BTreeMap<&str, Span> = BTreeMap::new();
        let mut places = Vec::new();
        let mut meanings = Vec::new();
        for (label, meaning) in &choice.labels {
            if self.is_free(label, "a label") && self.is_new_label(&mut seen, label, &choice.name) {
                places.push(vec![label.value.clone()]);
                meanings.push(meaning.as_ref().map(|text| text.value.clone()));
            }
        }
        self.scale(&choice.name, &choice.meaning, false, places, meanings)
    }

    fn size(&mut self, size: &syntax::Size) -> Scale {
        let mut seen: BTreeMap<&str, Span> = BTreeMap::new();
        let mut places = Vec::new();
        for labels in &size.places {
            let mut place = Vec::new();
            for label in labels {
                if self.is_new_label(&mut seen, label, &size.name) {
                    place.push(label.value.clone());
                }
            }
            if !place.is_empty() {
                places.push(place);
            }
        }
        let meanings = vec![None; places.len()];
        self.scale(&size.name, &size.meaning, true, places, meanings)
    }

    fn is_new_label<'a>(
        &mut self,
        seen: &mut BTreeMap<&'a str, Span>,
        label: &'a syntax::Name,
        scale: &syntax::Name,
    ) -> bool {
        let Some(first) = seen.insert(&label.value, label.span) else {
            return true;
        };
        let error = VocabularyError::LabelTwice {
            label: label.value.clone(),
            scale: scale.value.clone(),
            again: label.span,
            first,
        };
        self.error(label.span, error);
        false
    }

    fn scale(
        &mut self,
        name: &syntax::Name,
        meaning: &syntax::Text,
        ordered: bool,
        places: Vec<Vec<String>>,
        meanings: Vec<Option<String>>,
    ) -> Scale {
        if places.len() > usize::from(u16::MAX) {
            self.homeless(VocabularyError::TooMany { what: "labels" });
        }
        Scale {
            name: name.value.clone(),
            meaning: meaning.value.clone(),
            ordered,
            places,
            meanings,
            span: name.span,
        }
    }

    // Things.

    fn things(&mut self, items: &Items) {
        let nowhere = Span {
            source: self.home,
            start: 0,
            end: 0,
        };
        self.add_thing("site", "the lot itself", Form::Plain, None, nowhere);
        let mut things = Vec::new();
        for thing in &items.things {
            if thing.name.value == "site" {
                let at = thing.name.span;
                self.error(at, VocabularyError::SiteDeclared { at });
            } else if self.is_free_type(&thing.name, "a thing") && self.is_no_scale(&thing.name) {
                things.push((&thing.name, *thing));
            }
        }
        let named = self.by_name(things.into_iter(), "the thing", "a thing");
        for (name, (span, thing)) in named {
            let form = self.form(&thing.form);
            let person = self.person(thing.person.as_ref());
            self.add_thing(name, &thing.meaning.value, form, person, span);
        }
    }

    fn is_no_scale(&mut self, name: &syntax::Name) -> bool {
        let Some(scale) = self.vocabulary.scale_names.get(&name.value) else {
            return true;
        };
        let first = self.vocabulary.scale(*scale).span;
        self.declared_twice("the type", &name.value, first, name.span);
        false
    }

    fn form(&mut self, form: &syntax::Form) -> Form {
        match form {
            syntax::Form::Plain => Form::Plain,
            syntax::Form::Run { gap } => Form::Run {
                gap: gap.as_ref().and_then(|gap| self.gap(gap)),
            },
            syntax::Form::Stretch => Form::Stretch,
            syntax::Form::Point => Form::Point,
        }
    }

    fn gap(&mut self, gap: &syntax::Text) -> Option<Rational> {
        let (value, _) = self.quantity(gap, Type::Quantity(Dimension::LENGTH))?;
        if value > Rational::ZERO {
            return Some(value);
        }
        let error = VocabularyError::GapNotPositive {
            text: gap.value.clone(),
            at: gap.span,
        };
        self.error(gap.span, error);
        None
    }

    fn add_thing(
        &mut self,
        name: &str,
        meaning: &str,
        form: Form,
        person: Option<PersonId>,
        span: Span,
    ) {
        let id = ThingId(number(self.vocabulary.things.len()));
        let mut thing = Thing {
            name: name.to_owned(),
            meaning: meaning.to_owned(),
            form,
            facts: Vec::new(),
            lists: Vec::new(),
            members: Members::default(),
            span,
        };
        for (name, meaning, slot) in implied(&thing.form) {
            thing
                .members
                .insert((*name).to_owned(), Member::Fact(*slot));
            thing.facts.push(chainage(name, meaning, person, span));
        }
        self.vocabulary.thing_names.insert(name.to_owned(), id);
        self.vocabulary.things.push(thing);
    }

    // Members.

    fn members(&mut self, items: &Items) {
        let own: BTreeMap<Span, &syntax::Thing> = items
            .things
            .iter()
            .map(|thing| (thing.name.span, *thing))
            .collect();
        for index in 1..self.vocabulary.things.len() {
            let thing = &self.vocabulary.things[index];
            let own = own[&thing.span];
            let named = own.person.as_ref();
            let person = named.and_then(|name| self.vocabulary.person(&name.value));
            for member in &own.members {
                let person = person.or_else(|| self.first_person());
                self.member(ThingId(number(index)), member, person);
            }
        }
        for addition in &items.additions {
            match addition {
                Addition::SiteList(list) => self.list(SITE, list),
                Addition::Extend(extend) => {
                    if let Some(thing) = self.thing_named(&extend.thing) {
                        let person = self.person(extend.person.as_ref());
                        for member in &extend.members {
                            self.member(thing, member, person);
                        }
                    }
                }
            }
        }
    }

    fn thing_named(&mut self, name: &syntax::Name) -> Option<ThingId> {
        if let Some(thing) = self.vocabulary.thing_names.get(&name.value) {
            return Some(*thing);
        }
        let names = self.vocabulary.thing_names.keys().map(String::as_str);
        let error = VocabularyError::UnknownThing {
            name: name.value.clone(),
            at: name.span,
            help: nearest_or(
                &name.value,
                names,
                "declare it, `thing NAME \"what it is\" { … }`",
            ),
        };
        self.error(name.span, error);
        None
    }

    /// Who reads the facts of a block: who is named, else the first of all people.
    fn person(&mut self, named: Option<&syntax::Name>) -> Option<PersonId> {
        let Some(name) = named else {
            return self.first_person();
        };
        let person = self.vocabulary.person(&name.value);
        if person.is_none() {
            let names = self.vocabulary.people.iter();
            let error = VocabularyError::UnknownPerson {
                name: name.value.clone(),
                at: name.span,
                help: nearest_or(
                    &name.value,
                    names.map(|person| person.name.as_str()),
                    "write one of those that `people` declares",
                ),
            };
            self.error(name.span, error);
        }
        person
    }

    fn first_person(&self) -> Option<PersonId> {
        (!self.vocabulary.people.is_empty()).then_some(PersonId(0))
    }

    fn member(&mut self, thing: ThingId, member: &syntax::Member, person: Option<PersonId>) {
        match member {
            syntax::Member::Fact(fact) => self.fact(thing, fact, person),
            syntax::Member::List(list) => self.list(thing, list),
        }
    }

    fn fact(&mut self, thing: ThingId, fact: &syntax::Fact, person: Option<PersonId>) {
        if !self.is_new_member(thing, &fact.name, "a fact") {
            return;
        }
        if let (Some(then), None) = (&fact.then, &fact.until) {
            let at = then.span;
            self.error(at, VocabularyError::ThenWithoutUntil { at });
        }
        let until = fact.until.as_ref().and_then(|hold| self.hold_named(hold));
        let person = match &fact.person {
            Some(name) => self.person(Some(name)),
            None => person,
        };
        let Some(kind) = self.fact_type(&fact.kind) else {
            return;
        };
        let range = fact
            .between
            .as_ref()
            .and_then(|(from, to)| self.range(kind, from, to));
        let (range, unit) = range.unzip();
        let declared = Fact {
            name: fact.name.value.clone(),
            kind,
            origin: fact.origin,
            meaning: fact.meaning.value.clone(),
            by: fact.by.as_ref().map(|text| text.value.clone()),
            until,
            then: fact.then.as_ref().map(|text| text.value.clone()),
            range,
            unit: unit.flatten(),
            person,
            span: fact.name.span,
        };
        let thing = &mut self.vocabulary.things[usize::from(thing.0)];
        let id = FactId(number(thing.facts.len()));
        thing
            .members
            .insert(declared.name.clone(), Member::Fact(id));
        thing.facts.push(declared);
    }

    fn list(&mut self, thing: ThingId, list: &syntax::ListDeclaration) {
        if thing == SITE && HEAD_KEYS.contains(&list.name.value.as_str()) {
            self.reserved(
                &list.name,
                "a list of the site",
                "it is a key of the record's own",
            );
            return;
        }
        if !self.is_new_member(thing, &list.name, "a list") {
            return;
        }
        let Some(of) = self.thing_named(&list.of) else {
            return;
        };
        let declared = List {
            name: list.name.value.clone(),
            of,
            meaning: list.meaning.value.clone(),
            span: list.name.span,
        };
        let thing = &mut self.vocabulary.things[usize::from(thing.0)];
        let id = ListId(number(thing.lists.len()));
        thing
            .members
            .insert(declared.name.clone(), Member::List(id));
        thing.lists.push(declared);
    }

    fn is_new_member(&mut self, thing: ThingId, name: &syntax::Name, what: &'static str) -> bool {
        if name.value == "id" {
            self.reserved(name, what, "each thing has an `id` without it");
            return false;
        }
        if !self.is_free(name, what) {
            return false;
        }
        let thing = self.vocabulary.thing(thing);
        let Some(known) = thing.members.get(&name.value) else {
            return true;
        };
        let implied = implied(&thing.form)
            .iter()
            .find(|(implied, ..)| *implied == name.value);
        if let Some((member, ..)) = implied {
            let error = VocabularyError::ImpliedMember {
                thing: thing.name.clone(),
                member,
                form: form_name(&thing.form),
                at: name.span,
            };
            self.error(name.span, error);
            return false;
        }
        let first = match known {
            Member::Fact(fact) => thing.fact(*fact).span,
            Member::List(list) => thing.list(*list).span,
        };
        let full = format!("{}.{}", thing.name, name.value);
        self.declared_twice("the member", &full, first, name.span);
        false
    }

    fn hold_named(&mut self, name: &syntax::Name) -> Option<HoldId> {
        let hold = self.vocabulary.hold(&name.value);
        // Without any hold point the one mistake is that there are none.
        if hold.is_none() && !self.vocabulary.holds.is_empty() {
            let names = self.vocabulary.holds.iter().map(|hold| hold.name.as_str());
            let error = VocabularyError::UnknownHold {
                name: name.value.clone(),
                at: name.span,
                help: nearest_or(
                    &name.value,
                    names,
                    "write one of those that `holds` declares",
                ),
            };
            self.error(name.span, error);
        }
        hold
    }

    fn fact_type(&mut self, name: &syntax::Name) -> Option<Type> {
        if self.vocabulary.thing_names.contains_key(&name.value) {
            let error = VocabularyError::ThingAsFact {
                name: name.value.clone(),
                at: name.span,
            };
            self.error(name.span, error);
            return None;
        }
        self.type_named(name)
    }

    fn type_named(&mut self, name: &syntax::Name) -> Option<Type> {
        let known = Type::named(&name.value).or_else(|| {
            let scale = self.vocabulary.scale_names.get(&name.value)?;
            Some(Type::Label(*scale))
        });
        if known.is_none() {
            let scales = self.vocabulary.scale_names.keys().map(String::as_str);
            let things = self.vocabulary.thing_names.keys().map(String::as_str);
            let error = VocabularyError::UnknownType {
                name: name.value.clone(),
                at: name.span,
                help: nearest_or(
                    &name.value,
                    Type::NAMES.into_iter().chain(scales).chain(things),
                    "declare it, `choice NAME \"what it is\" { … }`, or write one of the language's own types",
                ),
            };
            self.error(name.span, error);
        }
        known
    }

    // Quantities.

    fn range(
        &mut self,
        kind: Type,
        from: &syntax::Text,
        to: &syntax::Text,
    ) -> Option<(Interval, Option<Unit>)> {
        let at = from.span.to(to.span);
        let wanted = match kind {
            Type::Quantity(_) | Type::Slope => kind,
            Type::Point(PointKind::Chainage) => Type::Quantity(Dimension::LENGTH),
            Type::Point(
                PointKind::Elevation
                | PointKind::PublicElevation
                | PointKind::Temperature
                | PointKind::Date,
            )
            | Type::YesNo
            | Type::Text
            | Type::Reference
            | Type::Label(_) => {
                let kind = self.vocabulary.type_name(kind);
                self.error(at, VocabularyError::NoRange { kind, at });
                return None;
            }
        };
        let low = self.quantity(from, wanted);
        let high = self.quantity(to, wanted);
        let ((low, _), (high, unit)) = (low?, high?);
        if low <= high {
            return Interval::new(low, high).map(|range| (range, unit));
        }
        let error = VocabularyError::ReversedRange {
            from: from.value.clone(),
            to: to.value.clone(),
            at,
        };
        self.error(at, error);
        None
    }

    /// A quantity of the wanted type, canonical, and the unit it is written in.
    fn quantity(&mut self, text: &syntax::Text, wanted: Type) -> Option<(Rational, Option<Unit>)> {
        let written = match parse::quantity(&text.value) {
            Ok(written) => written,
            Err(error) => {
                let error = VocabularyError::UnreadableQuantity {
                    text: text.value.clone(),
                    reason: error.to_string(),
                    at: text.span,
                    help: error.mend(),
                };
                self.error(text.span, error);
                return None;
            }
        };
        if is_of(&written, wanted) {
            return Some((written.nominal, written.unit));
        }
        let error = VocabularyError::WrongDimension {
            text: text.value.clone(),
            found: kind_of(&written),
            wanted: match wanted {
                Type::Quantity(dimension) if dimension.is_number() => "a plain number".into(),
                Type::Slope => "a slope with its unit".into(),
                _ => format!("{} with its unit", self.vocabulary.type_name(wanted)),
            },
            at: text.span,
            help: format!("write it like `{}`", example(wanted)),
        };
        self.error(text.span, error);
        None
    }

    // Circles.

    /// Says which list makes a thing contain itself: a record of it could never be complete.
    fn circles(&mut self) {
        let mut state = vec![Visit::New; self.vocabulary.things.len()];
        for index in 0..state.len() {
            self.visit(ThingId(number(index)), &mut state, &mut Vec::new());
        }
    }

    fn visit(&mut self, thing: ThingId, state: &mut [Visit], way: &mut Vec<ThingId>) {
        if state[usize::from(thing.0)] == Visit::Done {
            return;
        }
        state[usize::from(thing.0)] = Visit::Open;
        way.push(thing);
        for index in 0..self.vocabulary.thing(thing).lists.len() {
            let list = &self.vocabulary.thing(thing).lists[index];
            let (of, at) = (list.of, list.span);
            match state[usize::from(of.0)] {
                Visit::Open => self.circle(of, way, at),
                Visit::New => self.visit(of, state, way),
                Visit::Done => {}
            }
        }
        way.pop();
        state[usize::from(thing.0)] = Visit::Done;
    }

    fn circle(&mut self, thing: ThingId, way: &[ThingId], at: Span) {
        let name = |id: &ThingId| self.vocabulary.thing(*id).name.clone();
        let round = way.iter().skip_while(|id| **id != thing).skip(1);
        let mut text = name(&thing);
        for next in round.chain([&thing]) {
            let joint = if text.contains(' ') {
                ", which contains "
            } else {
                " contains "
            };
            text = format!("{text}{joint}{}", name(next));
        }
        let error = VocabularyError::ContainsItself {
            thing: name(&thing),
            way: text,
            at,
        };
        self.error(at, error);
    }

    // Survey functions.

    fn surveys(&mut self, items: &Items) {
        let surveys = items.surveys.iter().map(|survey| (&survey.name, *survey));
        let named = self.by_name(surveys, "the survey function", "a survey function");
        for (name, (span, survey)) in named {
            let parameters: Vec<_> = survey
                .parameters
                .iter()
                .filter_map(|parameter| self.parameter(parameter))
                .collect();
            if let Some(gives) = self.fact_type(&survey.gives) {
                self.vocabulary.surveys.push(Survey {
                    name: name.to_owned(),
                    parameters,
                    gives,
                    meaning: survey.meaning.value.clone(),
                    span,
                });
            }
        }
    }

    fn parameter(&mut self, parameter: &syntax::Parameter) -> Option<Parameter> {
        if !self.is_free(&parameter.name, "a parameter") {
            return None;
        }
        let things: Vec<_> = parameter
            .kinds
            .iter()
            .filter_map(|kind| self.vocabulary.thing_names.get(&kind.value).copied())
            .collect();
        let kind = if things.len() == parameter.kinds.len() {
            ParameterType::Things(things)
        } else if let [kind] = parameter.kinds.as_slice() {
            ParameterType::Value(self.type_named(kind)?)
        } else {
            self.no_things(parameter);
            return None;
        };
        Some(Parameter {
            name: parameter.name.value.clone(),
            kind,
        })
    }

    /// Says what stands among the things of a parameter without being one.
    fn no_things(&mut self, parameter: &syntax::Parameter) {
        for kind in &parameter.kinds {
            let is_type = Type::named(&kind.value).is_some()
                || self.vocabulary.scale_names.contains_key(&kind.value);
            if is_type {
                let error = VocabularyError::MixedParameter {
                    parameter: parameter.name.value.clone(),
                    at: kind.span,
                };
                self.error(kind.span, error);
            } else {
                self.thing_named(kind);
            }
        }
    }

    // The end.

    fn sizes(&mut self) {
        let most = usize::from(u16::MAX);
        let vocabulary = &self.vocabulary;
        let members = vocabulary
            .things
            .iter()
            .map(|thing| thing.members.count())
            .max();
        let counts = [
            ("things", vocabulary.things.len()),
            ("choices and sizes", vocabulary.scales.len()),
            ("hold points", vocabulary.holds.len()),
            ("members of one thing", members.unwrap_or(0)),
        ];
        for (what, count) in counts {
            if count > most {
                self.homeless(VocabularyError::TooMany { what });
            }
        }
    }

    fn finish(self) -> Result<Vocabulary, Vec<Located<VocabularyError>>> {
        if self.errors.is_empty() {
            Ok(self.vocabulary)
        } else {
            Err(self.errors)
        }
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Visit {
    New,
    Open,
    Done,
}

/// Whether a quantity may stand for a type. A tolerance never may: what is declared is exact.
fn is_of(written: &Written, wanted: Type) -> bool {
    let is_kind = match wanted {
        Type::Slope => written.is_slope,
        Type::Quantity(dimension) => written.dimension == dimension,
        Type::Point(_) | Type::YesNo | Type::Text | Type::Reference | Type::Label(_) => false,
    };
    is_kind && written.tolerance.is_none()
}

fn kind_of(written: &Written) -> String {
    if written.tolerance.is_some() {
        "a quantity with a tolerance".into()
    } else if written.is_slope {
        "a slope".into()
    } else if written.dimension.is_number() {
        "a plain number".into()
    } else {
        format!("of the dimension {}", written.dimension)
    }
}

fn example(wanted: Type) -> String {
    match wanted {
        Type::Slope => "2 %".into(),
        Type::Quantity(dimension) => match dimension.example_unit() {
            Some(unit) => format!("20 {unit}"),
            None => "20".into(),
        },
        Type::Point(_) | Type::YesNo | Type::Text | Type::Reference | Type::Label(_) => {
            "20 ft".into()
        }
    }
}

/// A number as an id; `sizes` refuses a vocabulary in which one does not fit.
fn number(index: usize) -> u16 {
    u16::try_from(index).unwrap_or(u16::MAX)
}

/// The facts that a form brings with it, in the order of their slots.
fn implied(form: &Form) -> &'static [(&'static str, &'static str, FactId)] {
    match form {
        Form::Plain => &[],
        Form::Run { .. } => &[("length", "the chainage of its end", RUN_LENGTH)],
        Form::Stretch => &[
            ("from", "the chainage of its start", STRETCH_FROM),
            ("to", "the chainage of its end", STRETCH_TO),
        ],
        Form::Point => &[("at", "its chainage", POINT_AT)],
    }
}

fn form_name(form: &Form) -> &'static str {
    match form {
        Form::Plain => "thing",
        Form::Run { .. } => "run",
        Form::Stretch => "stretch",
        Form::Point => "point",
    }
}

fn chainage(name: &str, meaning: &str, person: Option<PersonId>, span: Span) -> Fact {
    Fact {
        name: name.to_owned(),
        kind: Type::Point(PointKind::Chainage),
        origin: syntax::Origin::Stated,
        meaning: meaning.to_owned(),
        by: None,
        until: None,
        then: None,
        range: None,
        unit: None,
        person,
        span,
    }
}
