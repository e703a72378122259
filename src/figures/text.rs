//! A record's text in, its figures out, where it is written plainly and without a mistake.
//!
//! Nothing here says what is wrong with a text: one with a mistake, or anything that is not written
//! in the plainest way, is left to [`record`](crate::record), which reads whatever this reads, and
//! to the same figures.

use std::borrow::Cow;
use std::cell::Cell;
use std::sync::Arc;

use smallvec::SmallVec;

use super::layout::{Covered, Kept};
use super::{Column, Exact, Figures, Items, Layout, MOST, Thing};
use crate::language::syntax::Origin;
use crate::quantity::{Near, Ratio, date, plain};
use crate::record::facts::{Head, ThingRef};
use crate::record::sink::{Collection, Planting, Sink};
use crate::record::tree::{Entry, Node, Style, trimmed};
use crate::record::yaml::{is_nothing, scalar, scan_plain};
use crate::record::{HEAD_KEYS, Overrides, fits, plain_head, plain_tolerances};
use crate::source::{SourceId, Span, Spanned};
use crate::vocabulary::{self, Member, PointKind, SITE, ScaleId, ThingId, Type, Vocabulary, same};

/// Reads the records of one vocabulary into figures of one layout.
#[derive(Debug)]
pub struct Plainly<'v> {
    vocabulary: &'v Vocabulary,
    layout: Arc<Layout>,
    kinds: Vec<Kind>,
    /// The types of quantities and points that facts have.
    types: Vec<Type>,
    defaults: Defaults,
}

/// The tolerances of a head by type. Those of an archive are mostly written the same way, and then
/// read once.
#[derive(Debug, Default)]
struct Defaults {
    /// How they were written.
    written: String,
    /// None where the head says nothing, or what does not fit.
    by_type: Vec<Option<Ratio>>,
}

/// How the things of a kind are read.
#[derive(Debug)]
struct Kind {
    id: ThingId,
    /// Facts, and behind them lists.
    members: Vec<Known>,
    first: Likely,
    /// Of a run, the lists that are kept and cover it.
    covered: Vec<Covered>,
}

/// A member of a thing and its name.
#[derive(Debug)]
struct Known {
    name: String,
    number: u16,
    is: Is,
    after: Likely,
}

/// The member that stood there last time: people and programs keep to an order.
type Likely = Cell<u16>;

#[derive(Debug, Clone, Copy)]
enum Is {
    /// Where it is kept, if it is, and how it is read.
    Fact(Option<Column>, Reads),
    /// Where it is kept, if it is, and what it lists.
    List(Option<Column>, ThingId),
}

/// How a fact is read.
#[derive(Debug, Clone, Copy)]
enum Reads {
    /// A quantity, or a point, of a type.
    Measured(Measured, Type),
    Day(Measured),
    YesNo,
    Label(ScaleId),
    Text,
    Reference,
    /// Never here.
    Otherwise,
}

/// What is read with a tolerance.
#[derive(Debug, Clone, Copy)]
struct Measured {
    tolerance: Tolerance,
    is_elevation: bool,
}

/// Where a tolerance comes from.
#[derive(Debug, Clone, Copy)]
enum Tolerance {
    /// There is none, and none may be written.
    None,
    /// The reading's own, else that of its type, by its place among the types.
    OfType(u8),
}

impl<'v> Plainly<'v> {
    /// For records of a vocabulary, and a layout of it.
    pub fn new(vocabulary: &'v Vocabulary, layout: &Arc<Layout>) -> Self {
        let mut types = Vec::new();
        let kinds = (0..).zip(&vocabulary.things);
        let kinds = kinds.map(|(number, kind)| {
            let id = ThingId(number);
            Kind::of(id, kind, layout.kind(id), &mut types)
        });
        Plainly {
            vocabulary,
            layout: Arc::clone(layout),
            kinds: kinds.collect(),
            types,
            defaults: Defaults::default(),
        }
    }

    /// Lays out the figures of a text, in the place of those that are there, and gives its head;
    /// none, and figures that say nothing, where it is to be read otherwise.
    pub fn read(
        &mut self,
        text: &str,
        overrides: &Overrides,
        figures: &mut Figures,
    ) -> Option<Head> {
        figures.clear();
        if !Arc::ptr_eq(&figures.layout, &self.layout) {
            figures.layout = Arc::clone(&self.layout);
        }
        let mut reading = Reading {
            text,
            vocabulary: self.vocabulary,
            kinds: &self.kinds,
            types: &self.types,
            overrides,
            figures,
            tree: Planting::default(),
            head_entries: SmallVec::new(),
            head_seen: 0,
            head_next: 0,
            head_key: None,
            depth_in_head: 0,
            head: None,
            defaults: &mut self.defaults,
            frame: Frame::Nothing,
            around: SmallVec::new(),
            next: Next::Nothing,
            waiting: SmallVec::new(),
            things: 0,
            ids: SmallVec::new(),
            references: SmallVec::new(),
            has_site: false,
            needs_datum: false,
        };
        scan_plain(text, SourceId(0), &mut reading)?;
        reading.finish()
    }
}

impl Kind {
    fn of(id: ThingId, kind: &vocabulary::Thing, kept: &Kept, types: &mut Vec<Type>) -> Kind {
        let facts = kind.facts.iter().zip(kind.fact_ids());
        let facts =
            facts.map(|(fact, id)| (&fact.name, Is::Fact(kept.fact(id), reads(fact, types))));
        let lists = kind.lists.iter().zip(kind.list_ids());
        let lists = lists.map(|(list, id)| (&list.name, Is::List(kept.list(id), list.of)));
        // A vocabulary numbers its members in 16 bits.
        let members = (0..).zip(facts.chain(lists));
        let members = members.map(|(number, (name, is))| Known {
            name: name.clone(),
            number,
            is,
            after: Likely::default(),
        });
        Kind {
            id,
            members: members.collect(),
            first: Likely::default(),
            covered: kept.covered.clone(),
        }
    }

    /// The member of a name, by the one that is likely.
    #[inline(always)]
    fn member(&self, likely: &Likely, name: &str, of: &vocabulary::Thing) -> Option<&Known> {
        let is = |known: &&Known| same(known.name.as_bytes(), name.as_bytes());
        let next = self.members.get(usize::from(likely.get()));
        // One may be missing.
        let other = |known: &Known| self.members.get(usize::from(known.after.get()));
        let known = next.filter(is);
        let known = known.or_else(|| next.and_then(other).filter(is));
        known.or_else(|| self.look_up(likely, name, of))
    }

    #[inline(never)]
    fn look_up(&self, likely: &Likely, name: &str, of: &vocabulary::Thing) -> Option<&Known> {
        let number = match *of.members.get(name)? {
            Member::Fact(fact) => fact.0,
            Member::List(list) => u16::try_from(of.facts.len()).ok()? + list.0,
        };
        likely.set(number);
        self.members.get(usize::from(number))
    }
}

fn reads(fact: &vocabulary::Fact, types: &mut Vec<Type>) -> Reads {
    let kind = fact.kind;
    let mut measured = |is_elevation| {
        let tolerance = match fact.origin {
            _ if kind == Type::Point(PointKind::Chainage) => Tolerance::None,
            Origin::Stated => Tolerance::None,
            Origin::Measured => {
                let known = types.iter().position(|known| *known == kind);
                let place = known.unwrap_or_else(|| {
                    types.push(kind);
                    types.len() - 1
                });
                match u8::try_from(place) {
                    Ok(place) => Tolerance::OfType(place),
                    Err(_) => return None,
                }
            }
        };
        Some(Measured {
            tolerance,
            is_elevation,
        })
    };
    let of_type =
        |measured: Option<Measured>| measured.map(|measured| Reads::Measured(measured, kind));
    let read = match kind {
        Type::Quantity(_) | Type::Slope => of_type(measured(false)),
        Type::Point(PointKind::Date) => measured(false).map(Reads::Day),
        // Points on a scale with a zero of its own.
        Type::Point(PointKind::Temperature) => None,
        Type::Point(point) => of_type(measured(point == PointKind::Elevation)),
        Type::YesNo => Some(Reads::YesNo),
        Type::Label(scale) => Some(Reads::Label(scale)),
        Type::Text => Some(Reads::Text),
        Type::Reference => Some(Reads::Reference),
    };
    read.unwrap_or(Reads::Otherwise)
}

/// One text that is being read.
struct Reading<'t, 'r> {
    text: &'t str,
    vocabulary: &'r Vocabulary,
    kinds: &'r [Kind],
    types: &'r [Type],
    overrides: &'r Overrides,
    figures: &'r mut Figures,
    /// What stands behind a key of the head.
    tree: Planting<'t>,
    head_entries: SmallVec<[Entry<'t>; HEAD_KEYS.len()]>,
    /// Which keys of the head were there, by their bits.
    head_seen: u16,
    /// The key of the head that is likely to come next.
    head_next: usize,
    /// That key; none outside the head.
    head_key: Option<Spanned<Cow<'t, str>>>,
    /// How many collections are open behind it.
    depth_in_head: usize,
    /// Once something else was met.
    head: Option<Head>,
    /// What counts for each type.
    defaults: &'r mut Defaults,
    frame: Frame<'r>,
    /// Those around it, the outermost first.
    around: SmallVec<[Frame<'r>; 8]>,
    next: Next<'r>,
    /// The elements of the lists that are open, the innermost last.
    waiting: SmallVec<[Thing; 16]>,
    /// How many there are so far.
    things: u32,
    ids: SmallVec<[&'t str; 16]>,
    references: SmallVec<[&'t str; 8]>,
    has_site: bool,
    needs_datum: bool,
}

/// What a key at the left margin is.
enum KeyOfRecord {
    Head,
    Site,
    Member,
}

/// What is being read.
#[derive(Clone, Copy)]
enum Frame<'r> {
    /// Before the record, and behind it.
    Nothing,
    Members(Members<'r>),
    List {
        /// Its place among all lists, where it is kept.
        place: Option<u16>,
        things: ThingId,
        /// Where its elements begin among those that wait.
        first: usize,
        is_open: bool,
    },
}

/// A mapping of members.
#[derive(Clone, Copy)]
struct Members<'r> {
    of: Of,
    this: Thing,
    kind: &'r Kind,
    has_id: bool,
    /// The member that is likely to come next.
    likely: &'r Likely,
    seen: Seen,
}

/// Whose members are read, and so which may come.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Of {
    /// The head, and the lists of the site.
    Record,
    /// The facts of the site.
    Site,
    /// Facts and lists.
    Element,
}

/// The members that were there already, by the bits of their numbers.
#[derive(Clone, Copy, Default)]
struct Seen([u64; 2]);

impl Seen {
    /// Adds one; none where it was there, and for those beyond, which are read otherwise.
    #[inline]
    fn add(&mut self, number: u16) -> Option<()> {
        let bits = self.0.get_mut(usize::from(number / 64))?;
        let bit = 1 << (number % 64);
        let is_new = *bits & bit == 0;
        *bits |= bit;
        is_new.then_some(())
    }
}

/// What stands behind the key that was read last.
#[derive(Clone, Copy)]
enum Next<'r> {
    Nothing,
    Site,
    Id,
    /// Into this place, where it is kept.
    Fact(Option<u16>, &'r Known),
    /// Into this place among all lists, where it is kept.
    List(Option<u16>, ThingId),
}

impl<'t> Sink<'t> for Reading<'t, '_> {
    #[inline(always)]
    fn begin(&mut self, collection: Collection) -> Option<()> {
        if self.head_key.is_some() {
            self.depth_in_head += 1;
            return self.tree.begin(collection);
        }
        let next = std::mem::replace(&mut self.next, Next::Nothing);
        let frame = match (collection, next, &mut self.frame) {
            (Collection::Mapping, Next::Nothing, Frame::Nothing) => {
                self.members(Of::Record, Thing::SITE, SITE)
            }
            (Collection::Mapping, Next::Site, _) => self.members(Of::Site, Thing::SITE, SITE),
            (Collection::List, Next::List(place, things), _) => Frame::List {
                place,
                things,
                first: self.waiting.len(),
                is_open: false,
            },
            (
                Collection::Mapping,
                Next::Nothing,
                Frame::List {
                    things, is_open, ..
                },
            ) if !*is_open => {
                let kind = *things;
                let this = self.add_thing(kind)?;
                self.waiting.push(this);
                self.members(Of::Element, this, kind)
            }
            _ => return None,
        };
        self.around.push(std::mem::replace(&mut self.frame, frame));
        Some(())
    }

    #[inline(always)]
    fn likely_key(&self) -> Option<&str> {
        match &self.frame {
            Frame::Members(members) if members.of == Of::Element => {
                let likely = members.likely.get();
                Some(&members.kind.members.get(usize::from(likely))?.name)
            }
            Frame::Members(_) | Frame::List { .. } | Frame::Nothing => None,
        }
    }

    #[inline(always)]
    fn likely_key_came(&mut self) -> Option<()> {
        let Frame::Members(members) = &self.frame else {
            return None;
        };
        let likely = members.likely.get();
        self.member(members.kind.members.get(usize::from(likely))?)
    }

    #[inline(always)]
    fn key(&mut self, key: Spanned<Cow<'t, str>>) -> Option<()> {
        if self.head_key.is_some() {
            return self.tree.key(key);
        }
        let Frame::Members(Members {
            of, kind, likely, ..
        }) = self.frame
        else {
            return None;
        };
        match of {
            Of::Element if key.value == "id" => return self.id_key(),
            Of::Element | Of::Site => {}
            Of::Record => match self.key_of_record(&key)? {
                KeyOfRecord::Member => {}
                KeyOfRecord::Head => {
                    self.head_key = Some(key);
                    return Some(());
                }
                KeyOfRecord::Site => return Some(()),
            },
        }
        let declared = self.vocabulary.thing(kind.id);
        self.member(kind.member(likely, &key.value, declared)?)
    }

    #[inline(always)]
    fn text(&mut self, text: Spanned<Cow<'t, str>>, style: Style) -> Option<()> {
        if self.head_key.is_some() {
            if self.depth_in_head > 0 {
                return self.tree.text(text, style);
            }
            let key = self.head_key.take()?;
            self.head_entries.push(Entry {
                key,
                value: Node {
                    kind: scalar(text.value, style),
                    span: text.span,
                },
            });
            return Some(());
        }
        if style == Style::Plain && is_nothing(&text.value) {
            return None;
        }
        match std::mem::replace(&mut self.next, Next::Nothing) {
            Next::Fact(at, known) => self.fact(at, known, text.value),
            Next::List(place, _) if text.value == "none" => {
                if let Some(place) = place {
                    self.figures.lists[usize::from(place)].is_open = false;
                }
                Some(())
            }
            Next::Nothing if text.value == "more" => match &mut self.frame {
                Frame::List { is_open, .. } => (!std::mem::replace(is_open, true)).then_some(()),
                Frame::Nothing | Frame::Members(_) => None,
            },
            Next::Id => {
                self.ids.push(words(text.value)?);
                Some(())
            }
            Next::Nothing | Next::Site | Next::List(..) => None,
        }
    }

    #[inline(always)]
    fn end(&mut self, span: Span) -> Option<()> {
        if self.head_key.is_some() {
            self.tree.end(span)?;
            self.depth_in_head -= 1;
            return self.end_of_head_value();
        }
        let outer = self.around.pop()?;
        match std::mem::replace(&mut self.frame, outer) {
            Frame::Nothing => None,
            Frame::Members(members) => {
                if members.of == Of::Element {
                    self.cover(members.this, members.kind);
                }
                Some(())
            }
            Frame::List {
                place,
                first,
                is_open,
                ..
            } => self.end_list(place, first, is_open),
        }
    }
}

impl<'t, 'r> Reading<'t, 'r> {
    fn members(&self, of: Of, this: Thing, kind: ThingId) -> Frame<'r> {
        let kind = &self.kinds[usize::from(kind.0)];
        Frame::Members(Members {
            of,
            this,
            kind,
            has_id: false,
            likely: &kind.first,
            seen: Seen::default(),
        })
    }

    /// A member of the innermost thing comes next.
    #[inline(always)]
    fn member(&mut self, known: &'r Known) -> Option<()> {
        let Frame::Members(members) = &mut self.frame else {
            return None;
        };
        members.seen.add(known.number)?;
        members.likely = &known.after;
        // Places fit: `add_thing` saw to it.
        self.next = match known.is {
            Is::Fact(column, _) if members.of != Of::Record => {
                let at = column.map(|column| members.this.of_fact(column) as u16);
                Next::Fact(at, known)
            }
            Is::List(column, things) if members.of != Of::Site => {
                let place = column.map(|column| members.this.of_list(column) as u16);
                Next::List(place, things)
            }
            Is::Fact(..) | Is::List(..) => return None,
        };
        Some(())
    }

    /// What a key at the left margin is; none where it was there before.
    fn key_of_record(&mut self, key: &Spanned<Cow<'t, str>>) -> Option<KeyOfRecord> {
        if self.head.is_none()
            && let Some(place) = self.head_place(&key.value)
        {
            let bit = 1 << place;
            let is_there = self.head_seen & bit != 0;
            self.head_seen |= bit;
            self.head_next = place + 1;
            return (!is_there).then_some(KeyOfRecord::Head);
        }
        self.end_head()?;
        if key.value != "site" {
            return Some(KeyOfRecord::Member);
        }
        self.next = Next::Site;
        (!std::mem::replace(&mut self.has_site, true)).then_some(KeyOfRecord::Site)
    }

    /// The place of a key among those of the head.
    fn head_place(&self, key: &str) -> Option<usize> {
        let is = |place: &usize| same(HEAD_KEYS[*place].as_bytes(), key.as_bytes());
        let next = self.head_next.min(HEAD_KEYS.len());
        (next..HEAD_KEYS.len()).chain(0..next).find(is)
    }

    fn id_key(&mut self) -> Option<()> {
        let Frame::Members(members) = &mut self.frame else {
            return None;
        };
        self.next = Next::Id;
        (!std::mem::replace(&mut members.has_id, true)).then_some(())
    }

    fn end_of_head_value(&mut self) -> Option<()> {
        if self.depth_in_head > 0 {
            return Some(());
        }
        let key = self.head_key.take()?;
        let value = self.tree.take()?;
        self.head_entries.push(Entry { key, value });
        Some(())
    }

    /// Reads the head, unless that is done, and makes room for the site. A head that goes on below
    /// is read otherwise.
    fn end_head(&mut self) -> Option<()> {
        if self.head.is_some() {
            return Some(());
        }
        let head = plain_head(self.vocabulary, &self.head_entries, self.overrides)?;
        self.read_defaults()?;
        self.head = Some(head);
        self.add_thing(SITE)?;
        Some(())
    }

    fn read_defaults(&mut self) -> Option<()> {
        let mut entries = self.head_entries.iter();
        let entry = entries.find(|entry| entry.key.value == "tolerances")?;
        let at = entry.value.span;
        let written = self.text.get(at.start as usize..at.end as usize)?;
        // What stands in braces means the same wherever it stands.
        let is_whole = written.starts_with('{');
        if is_whole && written == self.defaults.written {
            return Some(());
        }
        self.defaults.written.clear();
        let tolerances = plain_tolerances(&entry.value)?;
        let types = self.types.iter();
        let by_type = types.map(|kind| Ratio::of(tolerances.of(*kind)?));
        self.defaults.by_type.clear();
        self.defaults.by_type.extend(by_type);
        if is_whole {
            self.defaults.written.push_str(written);
        }
        Some(())
    }

    /// Gives a thing its room.
    #[inline]
    fn add_thing(&mut self, kind: ThingId) -> Option<Thing> {
        let this = ThingRef(self.things);
        self.things = self.things.checked_add(1)?;
        self.figures.add_thing(this, kind)
    }

    fn end_list(&mut self, place: Option<u16>, first: usize, is_open: bool) -> Option<()> {
        let elements = &self.waiting[first..];
        // One without an element is written `none`; `[more]` says that there are some.
        if elements.is_empty() && !is_open {
            return None;
        }
        if let Some(place) = place {
            let figures = &mut *self.figures;
            let begins = figures.items.len();
            figures.items.extend_from_slice(elements);
            let past = figures.items.len();
            if past > MOST {
                return None;
            }
            figures.lists[usize::from(place)] = Items {
                first: begins as u16,
                past: past as u16,
                is_open,
                has_gaps: false,
            };
        }
        self.waiting.truncate(first);
        Some(())
    }

    /// Finds the gaps in what covers a run, all of which was read.
    fn cover(&mut self, run: Thing, kind: &Kind) {
        let figures = &mut *self.figures;
        for covered in &kind.covered {
            let (items, _) = figures.list(run, covered.list);
            if items.is_empty() {
                continue;
            }
            let chainage = |thing: Thing, fact: Column| {
                let exact = figures.exact[figures.place(thing, fact)?]?;
                let is_point = exact.tolerance.is_zero();
                is_point.then(|| exact.nominal.rational())
            };
            let end = chainage(run, covered.length);
            let places = items.iter();
            let places = places.map(|item| covered.ends.map(|fact| chainage(*item, fact)));
            let has_gaps = !covered.covering.gaps(end, places).is_empty();
            let list = &mut figures.lists[run.of_list(covered.list)];
            list.is_open |= covered.covering.opens_its_list() && has_gaps;
            list.has_gaps = has_gaps;
        }
    }

    fn fact(&mut self, at: Option<u16>, known: &Known, text: Cow<'t, str>) -> Option<()> {
        let Is::Fact(_, reads) = known.is else {
            return None;
        };
        let exact = match reads {
            Reads::Measured(measured, kind) => {
                let read = plain(&text)?;
                fits(kind, read.dimension(), read.is_slope(), read.unit).then_some(())?;
                self.needs_datum |= measured.is_elevation;
                Exact {
                    nominal: read.nominal,
                    tolerance: self.tolerance(measured.tolerance, read.tolerance)?,
                }
            }
            Reads::Day(measured) => Exact {
                nominal: Ratio::of(date::parse(trimmed(&text))?)?,
                tolerance: self.tolerance(measured.tolerance, None)?,
            },
            Reads::YesNo => match &*text {
                "yes" => Exact::place(1),
                "no" => Exact::place(0),
                _ => return None,
            },
            Reads::Label(scale) => Exact::place(self.vocabulary.scale(scale).place(&text)?),
            Reads::Text => return self.put_text(at, &text),
            Reads::Reference => {
                self.put_text(at, &text)?;
                self.references.push(words(text)?);
                return Some(());
            }
            Reads::Otherwise => return None,
        };
        if let Some(at) = at {
            self.figures.put(usize::from(at), exact);
        }
        Some(())
    }

    /// The tolerance that counts: the reading's own, else that of the head.
    #[inline(always)]
    fn tolerance(&self, tolerance: Tolerance, written: Option<Ratio>) -> Option<Ratio> {
        match (tolerance, written) {
            (Tolerance::None, None) => Some(Ratio::ZERO),
            (Tolerance::None, Some(_)) => None,
            (Tolerance::OfType(_), Some(written)) => Some(written),
            (Tolerance::OfType(place), None) => self.defaults.by_type[usize::from(place)],
        }
    }

    /// A text is recorded, and no more is known of it.
    fn put_text(&mut self, at: Option<u16>, text: &str) -> Option<()> {
        (!trimmed(text).is_empty()).then_some(())?;
        if let Some(at) = at {
            let figures = &mut *self.figures;
            figures.put_inexact(usize::from(at), Near::WHOLE, Near::WHOLE);
        }
        Some(())
    }

    /// What can be asked only of the whole.
    fn finish(&mut self) -> Option<Head> {
        self.end_head()?;
        self.ids.sort_unstable();
        let is_twice = self.ids.windows(2).any(|two| two[0] == two[1]);
        let is_known = |reference: &&str| self.ids.binary_search(reference).is_ok();
        let datum = HEAD_KEYS.iter().position(|key| *key == "datum")?;
        let has_datum = self.head_seen & (1 << datum) != 0;
        let is_whole =
            !is_twice && self.references.iter().all(is_known) && (has_datum || !self.needs_datum);
        if is_whole {
            let layout = Arc::clone(&self.figures.layout);
            self.figures.find_stops(&layout);
        }
        self.figures.fits = is_whole;
        self.head.take().filter(|_| is_whole)
    }
}

/// A text without the blanks around it; none where nothing is left, or it is not as written.
fn words(text: Cow<'_, str>) -> Option<&str> {
    let Cow::Borrowed(text) = text else {
        return None;
    };
    Some(trimmed(text)).filter(|text| !text.is_empty())
}
