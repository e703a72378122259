//! Records as trees that can be changed and written again.

use num_rational::Ratio;

use super::choices::Choices;
use super::vocabulary::{BORES, Exact, Fact, Kind, MATERIALS, TEXTS, day, thing, written};

/// Digits that a number may have, less some for what is written around them.
const MOST: i128 = 1_000_000_000_000_000;

/// A record: its head as written, the default tolerances by type, the site.
#[derive(Debug, Clone)]
pub struct Record {
    pub head: String,
    /// Canonical, by the name of the type.
    pub tolerances: Vec<(Kind, Exact)>,
    pub site: Thing,
}

#[derive(Debug, Clone)]
pub struct Thing {
    pub kind: &'static str,
    pub id: Option<String>,
    pub facts: Vec<(&'static Fact, Vec<Reading>)>,
    pub lists: Vec<(&'static str, List)>,
}

/// A list that is written: closed, or open.
#[derive(Debug, Clone)]
pub struct List {
    pub things: Vec<Thing>,
    pub more: bool,
}

#[derive(Debug, Clone)]
pub struct Reading {
    pub value: Value,
    /// Its own, canonical.
    pub tolerance: Option<Exact>,
    /// Which of its type's units it is written in.
    pub unit: usize,
    pub tolerance_unit: usize,
    pub how: Option<&'static str>,
}

#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// Canonical.
    Quantity(Exact),
    Day(i64),
    Word(String),
}

/// Which thing: the list and the place in it, from the site inwards.
pub type Path = Vec<(&'static str, usize)>;

/// A deletion, as SEMANTICS has it.
#[derive(Debug, Clone)]
pub enum Deletion {
    /// A slot is emptied.
    Fact(Path, usize),
    /// One of several readings of a slot goes.
    Reading(Path, usize, usize),
    /// An id goes, with the references to it.
    Id(Path),
    /// A list goes.
    List(Path, usize),
    /// Nothing of a thing is recorded any more.
    Thing(Path),
    /// An element is replaced by `more`.
    Element(Path),
}

/// How many entries of each list there are at the most, what else decides a record's manner.
struct Manner {
    /// Whether facts are left out often.
    is_sparse: bool,
    /// Whether a value may have two sources.
    has_two_sources: bool,
}

/// A record of random facts.
pub fn record(choices: &mut Choices, head: String) -> Record {
    let manner = Manner {
        is_sparse: choices.chance(1, 3),
        has_two_sources: choices.chance(1, 3),
    };
    let mut ids = Vec::new();
    let mut site = filled(choices, &manner, "site", 0, &mut ids);
    refer(choices, &mut site, &ids);
    let mut tolerances = Vec::new();
    for kind in [
        Kind::Length,
        Kind::Elevation,
        Kind::Slope,
        Kind::Temperature,
        Kind::Date,
        Kind::Angle,
        Kind::Flow,
    ] {
        let tolerance = match kind {
            Kind::Date => Ratio::from_integer(86_400 * choices.below(3) as i128),
            _ => tolerance(choices, kind),
        };
        tolerances.push((kind, tolerance));
    }
    Record {
        head,
        tolerances,
        site,
    }
}

fn tolerance(choices: &mut Choices, kind: Kind) -> Exact {
    let (numerator, denominator) = *choices.pick(kind.tolerances());
    kind.units()[0].canonical_difference(Ratio::new(numerator, denominator))
}

fn filled(
    choices: &mut Choices,
    manner: &Manner,
    kind: &'static str,
    depth: usize,
    ids: &mut Vec<String>,
) -> Thing {
    let declared = thing(kind);
    let mut made = Thing {
        kind,
        id: None,
        facts: Vec::new(),
        lists: Vec::new(),
    };
    if matches!(kind, "drain" | "well" | "tank") && !choices.chance(1, 6) {
        let id = format!("I-{}", ids.len() + 1);
        ids.push(id.clone());
        made.id = Some(id);
    }
    for fact in declared.all_facts() {
        if fact.kind == Kind::Reference || is_second_source(manner, kind, fact.name) {
            continue;
        }
        let left_out = if manner.is_sparse { 3 } else { 1 };
        if !choices.chance(left_out, 8) {
            made.facts.push((fact, readings(choices, manner, fact)));
        }
    }
    for (name, of) in declared.lists {
        if !manner.has_two_sources
            && matches!(*name, "ground_shots" | "clearances")
            && choices.chance(3, 4)
        {
            continue;
        }
        match choices.below(10) {
            0 => made.lists.push((
                name,
                List {
                    things: Vec::new(),
                    more: false,
                },
            )),
            1 if manner.is_sparse => {}
            how => {
                let count = if depth == 0 {
                    choices.below(3) + 1
                } else {
                    choices.below(4)
                };
                let more = how == 2;
                let things = (0..count)
                    .map(|_| filled(choices, manner, of, depth + 1, ids))
                    .collect();
                made.lists.push((name, List { things, more }));
            }
        }
    }
    along(choices, &mut made);
    made
}

/// What would give a value a second source.
fn is_second_source(manner: &Manner, kind: &str, fact: &str) -> bool {
    !manner.has_two_sources && matches!((kind, fact), ("drain", "cover"))
}

/// Lays what stands along a run in order, from its beginning to its end, most of the time.
fn along(choices: &mut Choices, run: &mut Thing) {
    if run.kind != "drain" || choices.chance(1, 8) {
        return;
    }
    let foot = Ratio::new(3_048, 10_000);
    let mut length = Ratio::from_integer(0);
    for (name, list) in &mut run.lists {
        let count = list.things.len();
        for (at, thing) in list.things.iter_mut().enumerate() {
            let mut place = |fact: &str, feet: usize| {
                let value = Value::Quantity(foot * Ratio::from_integer(feet as i128));
                let mut slots = thing.facts.iter_mut();
                if let Some((_, readings)) = slots.find(|(known, _)| known.name == fact) {
                    readings.truncate(1);
                    readings[0].value = value;
                }
            };
            match *name {
                "spans" => {
                    place("from", at * 12);
                    place("to", at * 12 + 12);
                    length = length.max(foot * Ratio::from_integer(at as i128 * 12 + 12));
                }
                "shots" | "ground_shots" | "bends" | "pull_points" => {
                    let last = count.max(2) - 1;
                    let feet = match (choices.below(6), at) {
                        // Two shots at one place, now and then.
                        (5, 1) => 0,
                        (_, at) => at * 12,
                    };
                    place("at", feet);
                    length = length.max(foot * Ratio::from_integer(last as i128 * 12));
                }
                _ => {}
            }
        }
    }
    let stretch = choices.below(6) == 5;
    if let Some((_, readings)) = run.facts.iter_mut().find(|(fact, _)| fact.name == "length") {
        let more = if stretch {
            foot
        } else {
            Ratio::from_integer(0)
        };
        readings.truncate(1);
        readings[0].value = Value::Quantity(length + more);
    }
}

fn readings(choices: &mut Choices, manner: &Manner, fact: &Fact) -> Vec<Reading> {
    let count = if manner.has_two_sources && choices.chance(1, 10) {
        2
    } else {
        1
    };
    (0..count).map(|_| reading(choices, fact)).collect()
}

fn reading(choices: &mut Choices, fact: &Fact) -> Reading {
    let kind = fact.kind;
    let value = match kind {
        Kind::YesNo => Value::Word((*choices.pick(&["yes", "no"])).to_owned()),
        Kind::Material => Value::Word((*choices.pick(&MATERIALS)).to_owned()),
        Kind::Bore => {
            let labels = *choices.pick(&BORES);
            Value::Word((*choices.pick(labels)).to_owned())
        }
        Kind::Text | Kind::Reference => Value::Word((*choices.pick(&TEXTS)).to_owned()),
        Kind::Date => Value::Day(choices.below(400) as i64),
        _ => {
            let (numerator, denominator) = *choices.pick(kind.pool());
            Value::Quantity(kind.units()[0].canonical(Ratio::new(numerator, denominator), kind))
        }
    };
    let has_units = !kind.units().is_empty();
    let own = has_units && fact.measured && choices.chance(1, 3);
    let unit = if has_units {
        choices.below(kind.units().len())
    } else {
        0
    };
    let provenance = choices.below(20);
    Reading {
        value,
        tolerance: own.then(|| tolerance(choices, kind)),
        unit,
        tolerance_unit: unit,
        how: match provenance {
            16 => Some("measured"),
            17 => Some("from_plan"),
            18 => Some("told"),
            19 => Some("from_plate"),
            _ => None,
        },
    }
}

/// Gives the references of a record things to refer to.
fn refer(choices: &mut Choices, site: &mut Thing, ids: &[String]) {
    if ids.is_empty() {
        return;
    }
    for (_, list) in &mut site.lists {
        for entry in &mut list.things {
            for fact in thing(entry.kind).facts {
                if fact.kind == Kind::Reference && !choices.chance(1, 10) {
                    let mut reading = reading(choices, fact);
                    reading.value = Value::Word(choices.pick(ids).clone());
                    reading.how = None;
                    entry.facts.push((fact, vec![reading]));
                }
            }
        }
    }
}

impl Record {
    /// Everything that can be deleted.
    pub fn deletions(&self) -> Vec<Deletion> {
        let mut found = Vec::new();
        self.site.deletions(&Vec::new(), &mut found);
        found
    }

    /// The record without something.
    pub fn without(&self, deletion: &Deletion) -> Record {
        let mut left = self.clone();
        match deletion {
            Deletion::Fact(path, at) => {
                left.site.at(path).facts.remove(*at);
            }
            Deletion::Reading(path, at, reading) => {
                left.site.at(path).facts[*at].1.remove(*reading);
            }
            Deletion::Id(path) => left.site.at(path).id = None,
            Deletion::List(path, at) => {
                left.site.at(path).lists.remove(*at);
            }
            Deletion::Thing(path) => {
                let thing = left.site.at(path);
                (thing.id, thing.facts, thing.lists) = (None, Vec::new(), Vec::new());
            }
            Deletion::Element(path) => {
                let (last, around) = path.split_last().expect("an element stands in a list");
                let (name, at) = *last;
                let mut lists = left.site.at(around).lists.iter_mut();
                let (_, list) = lists.find(|(known, _)| *known == name).expect("its list");
                list.things.remove(at);
                list.more = true;
            }
        }
        let mut ids = Vec::new();
        left.site.ids(&mut ids);
        left.site.forget_others(&ids);
        left
    }

    /// Whether some value can have two sources: two readings, a tape and a plan, two lists.
    pub fn may_have_two_sources(&self) -> bool {
        let mut several = false;
        let mut lists = Vec::new();
        self.site.each(&mut |thing| {
            several |= thing.facts.iter().any(|(_, readings)| readings.len() > 1);
            lists.extend(
                thing
                    .lists
                    .iter()
                    .filter(|(_, list)| !list.things.is_empty())
                    .map(|(name, _)| *name),
            );
            several |= thing.doubles_back();
            several |=
                thing.kind == "drain" && thing.facts.iter().any(|(fact, _)| fact.name == "cover");
        });
        let has = |name: &str| lists.contains(&name);
        // A span's taped cover beside levelled shots; a crossing beside plans or beside another.
        several
            || has("clearances")
            || has("crossings")
            || (has("spans") && has("shots"))
            || (has("shots") && has("ground_shots"))
    }

    /// Changes every reading.
    pub fn change_readings(&mut self, change: &mut impl FnMut(&Fact, &mut Vec<Reading>)) {
        self.site.change_readings(change);
    }

    /// The default tolerance of a type; exact where it is not named.
    pub fn tolerance(&self, kind: Kind) -> Exact {
        let named = self.tolerances.iter().find(|(known, _)| *known == kind);
        named.map_or(Ratio::from_integer(0), |(_, tolerance)| *tolerance)
    }

    /// As YAML.
    pub fn text(&self) -> String {
        let mut text = format!("{}tolerances: {{ ", self.head);
        for (kind, tolerance) in &self.tolerances {
            let unit = match kind {
                Kind::Date => &Kind::Time.units()[0],
                _ => &kind.units()[0],
            };
            let count = written(unit.count_difference(*tolerance));
            text += &format!("{}: {count} {}, ", kind.name(), unit.name);
        }
        text += "others: exact }\nsite: ";
        text += &mapping(&self.site.facts_written());
        text.push('\n');
        for (name, list) in &self.site.lists {
            text += &format!("{name}: {}\n", list.text());
        }
        text
    }
}

impl Thing {
    fn at(&mut self, path: &[(&'static str, usize)]) -> &mut Thing {
        let mut thing = self;
        for (name, at) in path {
            let mut lists = thing.lists.iter_mut();
            let (_, list) = lists
                .find(|(known, _)| known == name)
                .expect("a list of the path");
            thing = &mut list.things[*at];
        }
        thing
    }

    fn deletions(&self, path: &Path, found: &mut Vec<Deletion>) {
        for (at, (_, readings)) in self.facts.iter().enumerate() {
            found.push(Deletion::Fact(path.clone(), at));
            if readings.len() > 1 {
                found.extend(
                    (0..readings.len()).map(|one| Deletion::Reading(path.clone(), at, one)),
                );
            }
        }
        if self.id.is_some() {
            found.push(Deletion::Id(path.clone()));
        }
        for (at, (name, list)) in self.lists.iter().enumerate() {
            found.push(Deletion::List(path.clone(), at));
            for (index, thing) in list.things.iter().enumerate() {
                let mut inner = path.clone();
                inner.push((name, index));
                found.push(Deletion::Thing(inner.clone()));
                found.push(Deletion::Element(inner.clone()));
                thing.deletions(&inner, found);
            }
        }
    }

    fn each(&self, look: &mut impl FnMut(&Thing)) {
        look(self);
        for (_, list) in &self.lists {
            for thing in &list.things {
                thing.each(look);
            }
        }
    }

    /// Whether its pump's curve comes back to a flow, so that it says two heads of it.
    fn doubles_back(&self) -> bool {
        let points = self.lists.iter().filter(|(name, _)| *name == "pump_curve");
        let points = points.flat_map(|(_, list)| &list.things);
        let flows = points.flat_map(|point| {
            let facts = point.facts.iter();
            facts.filter(|(fact, _)| fact.name == "flow")
        });
        let flows: Vec<_> = flows
            .filter_map(|(_, readings)| match readings[0].value {
                Value::Quantity(flow) => Some(flow),
                Value::Day(_) | Value::Word(_) => None,
            })
            .collect();
        !flows.is_sorted_by(|one, two| one < two)
    }

    fn ids(&self, found: &mut Vec<String>) {
        self.each(&mut |thing| found.extend(thing.id.clone()));
    }

    fn forget_others(&mut self, ids: &[String]) {
        let is_known = |value: &Value| matches!(value, Value::Word(word) if ids.contains(word));
        for (fact, readings) in &mut self.facts {
            if fact.kind == Kind::Reference {
                readings.retain(|reading| is_known(&reading.value));
            }
        }
        self.facts.retain(|(_, readings)| !readings.is_empty());
        for (_, list) in &mut self.lists {
            for thing in &mut list.things {
                thing.forget_others(ids);
            }
        }
    }

    fn change_readings(&mut self, change: &mut impl FnMut(&Fact, &mut Vec<Reading>)) {
        for (fact, readings) in &mut self.facts {
            change(fact, readings);
        }
        for (_, list) in &mut self.lists {
            for thing in &mut list.things {
                thing.change_readings(change);
            }
        }
    }

    fn facts_written(&self) -> Vec<String> {
        let facts = self.facts.iter().map(|(fact, readings)| {
            let written: Vec<_> = readings
                .iter()
                .map(|reading| reading.text(fact.kind))
                .collect();
            match written.as_slice() {
                [one] => format!("{}: {one}", fact.name),
                several => format!("{}: [ {} ]", fact.name, several.join(", ")),
            }
        });
        let id = self.id.iter().map(|id| format!("id: {id}"));
        id.chain(facts).collect()
    }

    fn text(&self) -> String {
        let mut entries = self.facts_written();
        let lists = self
            .lists
            .iter()
            .map(|(name, list)| format!("{name}: {}", list.text()));
        entries.extend(lists);
        mapping(&entries)
    }
}

fn mapping(entries: &[String]) -> String {
    if entries.is_empty() {
        "{}".to_owned()
    } else {
        format!("{{ {} }}", entries.join(", "))
    }
}

impl List {
    fn text(&self) -> String {
        let mut elements: Vec<_> = self.things.iter().map(Thing::text).collect();
        if self.more {
            elements.push("more".to_owned());
        }
        if elements.is_empty() {
            "none".to_owned()
        } else {
            format!("[ {} ]", elements.join(", "))
        }
    }
}

impl Reading {
    fn text(&self, kind: Kind) -> String {
        let mut text = match &self.value {
            Value::Word(word) => word.clone(),
            Value::Day(number) => day(*number),
            Value::Quantity(value) => {
                let unit = kind.units()[self.unit];
                quantity(unit.count(*value, kind), unit.name)
            }
        };
        if let Some(tolerance) = self.tolerance {
            let unit = kind.units()[self.tolerance_unit];
            text += &format!(
                " ± {}",
                quantity(unit.count_difference(tolerance), unit.name)
            );
        }
        match self.how {
            Some(how) => format!("{{ reads: {text}, how: {how} }}"),
            None => text,
        }
    }

    /// The same reading in other units, where its numbers can be written in them.
    pub fn in_units(&mut self, kind: Kind, unit: usize, tolerance_unit: usize) {
        if let Value::Quantity(value) = self.value
            && is_short(kind.units()[unit].count(value, kind))
            // A share and its tolerance are both shares.
            && (kind != Kind::Number || self.tolerance.is_none())
        {
            self.unit = unit;
        }
        if let Some(tolerance) = self.tolerance
            && is_short(kind.units()[tolerance_unit].count_difference(tolerance))
            && kind != Kind::Number
        {
            self.tolerance_unit = tolerance_unit;
        }
    }
}

fn is_short(number: Exact) -> bool {
    number.numer().abs() < MOST && *number.denom() < MOST
}

/// Feet and inches where there are both, and a number with its unit else.
fn quantity(number: Exact, unit: &str) -> String {
    let twelve = Ratio::from_integer(12);
    if unit == "in" && number > twelve && *number.denom() <= 64 {
        let feet = (number / twelve).trunc();
        let inches = number - feet * twelve;
        if *inches.numer() != 0 && inches >= Ratio::from_integer(1) {
            return format!("{} ft {} in", written(feet), written(inches));
        }
    }
    super::rules::constant(number, unit)
}

/// The path of a subject after a deletion, as it was first written.
pub fn first_path(deletion: &Deletion, path: &str) -> String {
    let Deletion::Element(removed) = deletion else {
        return path.to_owned();
    };
    let (last, around) = removed.split_last().expect("an element stands in a list");
    let mut list: String = around
        .iter()
        .map(|(name, at)| format!("{name}[{at}]."))
        .collect();
    list += &format!("{}[", last.0);
    let Some((number, rest)) = path
        .strip_prefix(&list)
        .and_then(|rest| rest.split_once(']'))
    else {
        return path.to_owned();
    };
    let number: usize = number.parse().expect("a path numbers its elements");
    let shifted = if number >= last.1 { number + 1 } else { number };
    format!("{list}{shifted}]{rest}")
}
