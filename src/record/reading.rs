//! What stands behind a fact in, its slot out: one reading or several, short or long.

use smallvec::SmallVec;

use super::error::RecordError;
use super::facts::{How, Provenance, Reading, Slot, State, Value};
use super::head;
use super::names;
use super::read::Reader;
use super::tree::{Entry, Node, NodeKind};
use crate::language::syntax::Origin;
use crate::quantity::{Interval, Rational};
use crate::vocabulary::Fact;

/// The keys of a reading's long form.
pub const READING_KEYS: [&str; 8] = [
    "reads", "how", "by", "date", "with", "witness", "photo", "note",
];

/// The ways to read and their names.
pub const HOWS: [(&str, How); 8] = [
    ("measured", How::Measured),
    ("seen", How::Seen),
    ("from_plate", How::FromPlate),
    ("from_ticket", How::FromTicket),
    ("from_certificate", How::FromCertificate),
    ("computed", How::Computed),
    ("from_plan", How::FromPlan),
    ("told", How::Told),
];

/// A reading that was understood.
struct Understood {
    reading: Reading,
    nominal: Option<Rational>,
    counts: bool,
}

impl Reader<'_> {
    /// Reads what stands behind a fact into its slot.
    pub(super) fn slot(&mut self, slot: usize, fact: &Fact, node: &Node) {
        match &node.kind {
            NodeKind::Empty | NodeKind::Unreadable => {}
            NodeKind::Scalar(_) | NodeKind::Mapping(_) => {
                if let Some(only) = self.reading(fact, node) {
                    self.slots.set(slot, alone(only));
                }
            }
            NodeKind::Sequence(elements) => {
                if elements.is_empty() {
                    let (key, at) = (fact.name.clone(), node.span);
                    self.mistakes.add(at, RecordError::NoReadings { key, at });
                }
                let elements = elements.iter();
                let readings = elements.filter_map(|element| self.one_of_several(fact, element));
                let readings: Vec<_> = readings.collect();
                let counting = readings.iter().filter(|one| one.counts).count();
                self.has_several |= counting > 1;
                if !readings.is_empty() {
                    self.slots.set(slot, combine(readings));
                }
            }
        }
    }

    fn one_of_several(&mut self, fact: &Fact, node: &Node) -> Option<Understood> {
        match &node.kind {
            NodeKind::Scalar(_) | NodeKind::Mapping(_) => self.reading(fact, node),
            NodeKind::Unreadable => None,
            NodeKind::Empty | NodeKind::Sequence(_) => {
                let name = &fact.name;
                let error = RecordError::Shape {
                    found: node.called(),
                    expected: format!("one reading of `{name}`"),
                    mend: format!("write the readings one after the other, `{name}: [ …, … ]`"),
                    at: node.span,
                };
                self.mistakes.add(node.span, error);
                None
            }
        }
    }

    fn reading(&mut self, fact: &Fact, node: &Node) -> Option<Understood> {
        let (node, provenance) = match &node.kind {
            NodeKind::Mapping(entries) => {
                let provenance = self.provenance(entries);
                let Some(reads) = node.get("reads") else {
                    let (key, at) = (fact.name.clone(), node.span);
                    self.mistakes.add(at, RecordError::ReadsMissing { key, at });
                    return None;
                };
                (reads, Some(provenance))
            }
            NodeKind::Scalar(_)
            | NodeKind::Sequence(_)
            | NodeKind::Empty
            | NodeKind::Unreadable => (node, None),
        };
        let at = node.span;
        let scalar = match &node.kind {
            NodeKind::Scalar(scalar) => scalar,
            NodeKind::Empty | NodeKind::Unreadable => return None,
            NodeKind::Sequence(_) | NodeKind::Mapping(_) => {
                let error = RecordError::Shape {
                    found: node.called(),
                    expected: "one value for `reads`".into(),
                    mend: "write each reading with a `reads` of its own".into(),
                    at,
                };
                self.mistakes.add(at, error);
                return None;
            }
        };
        let read = self.value(fact, scalar, at)?;
        let how = provenance.as_ref().and_then(|provenance| provenance.how);
        Some(Understood {
            counts: counts(fact, how),
            nominal: read.nominal,
            reading: Reading {
                span: at,
                value: read.value,
                tolerance: read.tolerance,
                unit: read.unit,
                provenance: provenance.map(Box::new),
            },
        })
    }

    fn provenance(&mut self, entries: &[Entry]) -> Provenance {
        let mut provenance = Provenance::default();
        for entry in entries {
            let key = &*entry.key.value;
            match key {
                "reads" => {}
                "how" => provenance.how = self.how(&entry.value),
                "by" => provenance.by = self.said(entry),
                "date" => {
                    // Kept as written; that it is a day at all is asked here.
                    head::day(key, &entry.value, &mut self.mistakes);
                    provenance.date = entry.value.text().map(|text| text.trim().to_owned());
                }
                "with" => provenance.with = self.said(entry),
                "witness" => provenance.witness = self.said(entry),
                "photo" => provenance.photo = self.said(entry),
                "note" => provenance.note = self.said(entry),
                _ => self.unknown_part(entry),
            }
        }
        provenance
    }

    fn said(&mut self, entry: &Entry) -> Option<String> {
        let text = head::text(&entry.key.value, &entry.value, &mut self.mistakes)?;
        Some(text.value.to_owned())
    }

    fn how(&mut self, node: &Node) -> Option<How> {
        let text = head::text("how", node, &mut self.mistakes)?;
        let known = HOWS.iter().find(|(name, _)| *name == text.value);
        if known.is_none() {
            let error = RecordError::UnknownName {
                mend: names::suggest(text.value, HOWS.iter().map(|(name, _)| *name)),
                name: text.value.to_owned(),
                what: "a way to read",
                at: text.span,
            };
            self.mistakes.add(text.span, error);
        }
        known.map(|(_, how)| *how)
    }

    fn unknown_part(&mut self, entry: &Entry) {
        let key = &entry.key.value;
        let error = RecordError::UnknownKey {
            key: key.to_string(),
            owner: "the long form of a reading".into(),
            mend: names::suggest(key, READING_KEYS.into_iter()),
            at: entry.key.span,
        };
        self.mistakes.add(entry.key.span, error);
    }
}

/// What is from the plan, or only told, is no reading of the ground.
fn counts(fact: &Fact, how: Option<How>) -> bool {
    match (fact.origin, how) {
        (Origin::Stated, _) | (Origin::Measured, None) => true,
        (Origin::Measured, Some(How::FromPlan | How::Told)) => false,
        (
            Origin::Measured,
            Some(
                How::Measured
                | How::Seen
                | How::FromPlate
                | How::FromTicket
                | How::FromCertificate
                | How::Computed,
            ),
        ) => true,
    }
}

/// A single reading.
#[inline]
fn alone(one: Understood) -> Slot {
    let (state, banded, as_read) = match (one.counts, intervals(&one)) {
        (false, _) => (State::NotRead, Value::Nothing, Value::Nothing),
        (true, None) => (State::Read, one.reading.value, one.reading.value),
        (true, Some((banded, as_read))) => (
            State::Read,
            Value::Quantity(banded),
            Value::Quantity(as_read),
        ),
    };
    Slot {
        state,
        banded,
        as_read,
        readings: SmallVec::from_buf([one.reading]),
    }
}

/// One reading at the least; several intersect; where they exclude each other, none of them counts.
fn combine(readings: Vec<Understood>) -> Slot {
    let counting: Vec<&Understood> = readings.iter().filter(|one| one.counts).collect();
    let (state, banded, as_read) = match counting.as_slice() {
        [] => (State::NotRead, Value::Nothing, Value::Nothing),
        [first, others @ ..] => match agree(first, others) {
            Some((banded, as_read)) => (State::Read, banded, as_read),
            None => (State::Disagree, Value::Nothing, Value::Nothing),
        },
    };
    Slot {
        state,
        banded,
        as_read,
        readings: readings.into_iter().map(|one| one.reading).collect(),
    }
}

/// The value with its tolerance, and that without; none where the readings exclude each other.
fn agree(first: &Understood, others: &[&Understood]) -> Option<(Value, Value)> {
    let Some((mut banded, mut as_read)) = intervals(first) else {
        let value = first.reading.value;
        let same = others.iter().all(|other| other.reading.value == value);
        return same.then_some((value, value));
    };
    for other in others {
        let (band, point) = intervals(other)?;
        banded = banded.intersect(band)?;
        as_read = as_read.hull(point);
    }
    Some((Value::Quantity(banded), Value::Quantity(as_read)))
}

/// The band and the point of a quantity.
fn intervals(understood: &Understood) -> Option<(Interval, Interval)> {
    let nominal = understood.nominal?;
    let point = Interval::point(nominal);
    let band = match understood.reading.tolerance {
        Some(tolerance) if !tolerance.is_zero() => Interval::band(nominal, tolerance),
        Some(_) | None => point,
    };
    Some((band, point))
}
