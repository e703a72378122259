//! A record as slots: every value with its place, nothing looked up by name.
//!
//! Things stand in one arena in the order written, parents before children; a thing's slots and
//! lists are found by adding a fact's or a list's number to the thing's first.

use smallvec::SmallVec;

use super::slots::Slots;
use crate::quantity::{Interval, Rational, Unit};
use crate::source::{SourceId, Span, Spanned};
use crate::vocabulary::{FactId, HoldId, ListId, PermitId, SITE, ThingId, Vocabulary};

/// A thing of a record, by its place in [`Record::things`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct ThingRef(pub u32);

/// The lot itself, in every record.
pub const THE_SITE: ThingRef = ThingRef(0);

/// A text of a record, by its place in [`Record::texts`]; equal texts have equal numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct TextId(pub u32);

/// A record that was read without an error.
#[derive(Debug, Clone)]
pub struct Record {
    /// What is not a fact.
    pub head: Head,
    /// All things; the site is the first.
    pub things: Vec<Thing>,
    /// The slots of all things.
    pub slots: Slots,
    /// The lists of all things.
    pub lists: Vec<List>,
    /// The texts and ids.
    pub texts: Vec<String>,
    /// Whether some value has more than one reading.
    pub has_several: bool,
}

/// The head of a record: no rule reads it.
#[derive(Debug, Clone)]
pub struct Head {
    /// The lot.
    pub lot: Spanned<String>,
    /// The places, as paths of `jurisdictions/`.
    pub places: Vec<Spanned<String>>,
    /// The permits, one a kind at the most.
    pub permits: Vec<Permit>,
    /// Who recorded it and in what role, where that is said.
    pub recorded_by: Option<Spanned<String>>,
    /// In what role.
    pub recorded_role: Option<Spanned<String>>,
    /// When, canonical in seconds.
    pub recorded_date: Spanned<Rational>,
    /// How far the work has come.
    pub stage: Spanned<HoldId>,
    /// What the elevations are above, where there are any.
    pub datum: Option<Spanned<String>>,
    /// The plan that gives the places of its things, where it names one.
    pub plan: Option<Plan>,
    /// The variances that the record claims.
    pub variances: Vec<ClaimedVariance>,
}

/// A GeoJSON file that a record names.
#[derive(Debug, Clone)]
pub struct Plan {
    /// Its name, from the record's folder, `/` between folders; neither absolute nor with `..`.
    pub file: Spanned<String>,
    /// How far a northing or an easting may be off, in metres.
    pub tolerance: Rational,
    /// Its text, once it is attached.
    pub source: Option<SourceId>,
}

/// A permit; dates are canonical in seconds.
#[derive(Debug, Clone)]
pub struct Permit {
    /// Its kind.
    pub kind: PermitId,
    /// Its number.
    pub number: Option<Spanned<String>>,
    /// When it was applied for.
    pub applied: Option<Spanned<Rational>>,
    /// When it was issued.
    pub issued: Option<Spanned<Rational>>,
    /// When the plan was approved.
    pub plan_approved: Option<Spanned<Rational>>,
    /// The last day on which it is valid.
    pub expires: Option<Spanned<Rational>>,
    /// The whole entry.
    pub span: Span,
}

/// A variance that only the record claims.
#[derive(Debug, Clone)]
pub struct ClaimedVariance {
    /// Its number.
    pub number: Spanned<String>,
    /// The rule it departs from.
    pub rule: Spanned<String>,
    /// The subject's id.
    pub subject: Spanned<String>,
    /// Who granted it.
    pub authority: Spanned<String>,
    /// When.
    pub date: Spanned<Rational>,
    /// The last day; none for `no end`.
    pub until: Option<Spanned<Rational>>,
    /// Why.
    pub because: Spanned<String>,
}

/// A thing of a record.
#[derive(Debug, Clone)]
pub struct Thing {
    /// What it is.
    pub kind: ThingId,
    /// The thing it belongs to; the site belongs to itself.
    pub parent: ThingRef,
    /// Which of its parent's lists it stands in.
    pub list: ListId,
    /// Where in that list, from 0.
    pub index: u32,
    /// Its id, where it has one.
    pub id: Option<TextId>,
    /// Its first slot in [`Record::slots`].
    pub first_slot: u32,
    /// Its first list in [`Record::lists`].
    pub first_list: u32,
    /// Where it is written.
    pub span: Span,
}

/// A fact or a list of some thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum FactOrList {
    /// A fact.
    Fact(FactId),
    /// A list.
    List(ListId),
}

/// A value that may be absent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Value {
    /// Nothing was recorded.
    Nothing,
    /// A quantity or a point, canonical.
    Quantity(Interval),
    /// A place of a choice or a size.
    Label(u16),
    /// Yes or no.
    Truth(bool),
    /// A text or a reference.
    Text(TextId),
}

/// Whether a slot's value counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    /// It was not written, or empty.
    Absent,
    /// It counts.
    Read,
    /// Only from the plan, or told: not a reading of the ground.
    NotRead,
    /// Several readings exclude each other.
    Disagree,
}

/// The value of one fact of one thing.
#[derive(Debug, Clone)]
pub struct Slot {
    /// Whether it counts. Invariant: both values are `Nothing` unless it is `Read`.
    pub state: State,
    /// With its tolerance.
    pub banded: Value,
    /// As read: without.
    pub as_read: Value,
    /// The readings as written, in order; none where it is absent.
    pub readings: SmallVec<[Reading; 1]>,
}

impl Slot {
    /// A slot in which nothing was recorded.
    pub const ABSENT: Slot = Slot {
        state: State::Absent,
        banded: Value::Nothing,
        as_read: Value::Nothing,
        readings: SmallVec::new_const(),
    };
}

/// How a reading was had.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum How {
    /// With an instrument.
    Measured,
    /// By eye.
    Seen,
    /// From a nameplate or print line.
    FromPlate,
    /// From a delivery or batch ticket.
    FromTicket,
    /// From a certificate.
    FromCertificate,
    /// Worked out from other readings.
    Computed,
    /// From the plan: not a reading of the ground.
    FromPlan,
    /// By word of mouth: not a reading of the ground.
    Told,
}

/// One reading as written.
#[derive(Debug, Clone)]
pub struct Reading {
    /// Where its value stands.
    pub span: Span,
    /// The value without its tolerance.
    pub value: Value,
    /// The tolerance that counts for it, written or by default; canonical.
    pub tolerance: Option<Rational>,
    /// The unit it was written in.
    pub unit: Option<Unit>,
    /// Who, when, how, with what: only in the long form.
    pub provenance: Option<Box<Provenance>>,
}

/// The long form's other keys.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Provenance {
    /// How it was had.
    pub how: Option<How>,
    /// Who read it.
    pub by: Option<String>,
    /// When, as written.
    pub date: Option<String>,
    /// With which instrument.
    pub with: Option<String>,
    /// Who watched.
    pub witness: Option<String>,
    /// A photo.
    pub photo: Option<String>,
    /// Anything else.
    pub note: Option<String>,
}

/// A list of things and whether these are all.
#[derive(Debug, Clone, Default)]
pub struct List {
    /// Its elements in the order written.
    pub items: Vec<ThingRef>,
    /// Whether there may be more: it was not written, ends in `more`, or leaves a stretch of its
    /// run unmeasured.
    pub open: bool,
    /// Whether it was written at all; `none` is written.
    pub written: bool,
    /// The stretches of its run that nobody measured, in order. Filled by `survey`.
    pub gaps: Vec<Gap>,
    /// Where it is written.
    pub span: Option<Span>,
}

/// A stretch of a run that nobody measured, in metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gap {
    /// Its start; none where it is not known.
    pub from: Option<Rational>,
    /// Its end; none where it is not known.
    pub to: Option<Rational>,
}

impl Record {
    /// The thing behind a reference.
    pub fn thing(&self, thing: ThingRef) -> &Thing {
        &self.things[thing.0 as usize]
    }

    /// The slot of a fact of a thing.
    pub fn slot(&self, thing: ThingRef, fact: FactId) -> &Slot {
        &self.slots[self.thing(thing).first_slot as usize + usize::from(fact.0)]
    }

    /// A list of a thing.
    pub fn list(&self, thing: ThingRef, list: ListId) -> &List {
        &self.lists[self.thing(thing).first_list as usize + usize::from(list.0)]
    }

    /// The text behind a number.
    pub fn text(&self, text: TextId) -> &str {
        &self.texts[text.0 as usize]
    }

    /// Every thing, in the order written, parents before children.
    pub fn all_things(&self) -> impl Iterator<Item = ThingRef> + use<> {
        (0..u32::try_from(self.things.len()).expect("a record numbers its things in 32 bits"))
            .map(ThingRef)
    }

    /// Every fact of every thing, recorded or not.
    pub fn all_facts(&self, vocabulary: &Vocabulary) -> impl Iterator<Item = (ThingRef, FactId)> {
        self.all_things().flat_map(|thing| {
            let kind = vocabulary.thing(self.thing(thing).kind);
            kind.fact_ids().map(move |fact| (thing, fact))
        })
    }

    /// Every list of every thing, written or not.
    pub fn all_lists(&self, vocabulary: &Vocabulary) -> impl Iterator<Item = (ThingRef, ListId)> {
        self.all_things().flat_map(|thing| {
            let kind = vocabulary.thing(self.thing(thing).kind);
            kind.list_ids().map(move |list| (thing, list))
        })
    }

    /// The thing of an id.
    pub fn with_id(&self, id: TextId) -> Option<ThingRef> {
        let at = self.things.iter().position(|thing| thing.id == Some(id))?;
        u32::try_from(at).ok().map(ThingRef)
    }

    /// Where a thing stands in its record, `supply_cables[0].spans[1]`; empty for the site.
    pub fn path(&self, vocabulary: &Vocabulary, thing: ThingRef) -> String {
        if thing == THE_SITE {
            return String::new();
        }
        let this = self.thing(thing);
        let parent = self.thing(this.parent);
        let list = &vocabulary.thing(parent.kind).list(this.list).name;
        format!(
            "{}{list}[{}]",
            self.prefix(vocabulary, this.parent),
            this.index
        )
    }

    /// Where a fact stands in its record, `supply_cables[0].spans[1].cover`.
    pub fn fact_path(&self, vocabulary: &Vocabulary, thing: ThingRef, fact: FactId) -> String {
        let kind = self.thing(thing).kind;
        let prefix = if kind == SITE {
            "site.".into()
        } else {
            self.prefix(vocabulary, thing)
        };
        format!("{prefix}{}", vocabulary.thing(kind).fact(fact).name)
    }

    /// Where a list stands in its record, `supply_cables[0].spans`.
    pub fn list_path(&self, vocabulary: &Vocabulary, thing: ThingRef, list: ListId) -> String {
        let kind = self.thing(thing).kind;
        format!(
            "{}{}",
            self.prefix(vocabulary, thing),
            vocabulary.thing(kind).list(list).name
        )
    }

    fn prefix(&self, vocabulary: &Vocabulary, thing: ThingRef) -> String {
        match self.path(vocabulary, thing) {
            path if path.is_empty() => path,
            path => format!("{path}."),
        }
    }
}
