//! The readings of a case's record, and what one of them may be changed to.

use super::mutant::{Change, Mutant};
use crate::check::typed::Constant;
use crate::quantity::print::{show, show_point};
use crate::quantity::{End, Interval, Rational, Unit, date, parse};
use crate::record::facts::{Record, Slot, State, ThingRef, Value};
use crate::source::Span;
use crate::survey;
use crate::vocabulary::{FactId, PointKind, ThingId, Type, Vocabulary};

/// A reading written otherwise.
#[derive(Debug, Clone)]
pub(super) struct Edit {
    /// Its slot.
    pub slot: usize,
    /// The fact's name.
    pub name: String,
    /// Where it is written.
    pub at: Span,
    /// What is written instead.
    pub text: String,
    value: Value,
}

/// A fact of a record with a single reading.
#[derive(Debug, Clone)]
pub(super) struct Reading {
    /// Its slot.
    pub slot: usize,
    /// The fact's type.
    pub kind: Type,
    name: String,
    at: Span,
    value: Value,
    unit: Option<Unit>,
    range: Option<Interval>,
    /// Whether a tolerance would stand behind it by default.
    is_banded: bool,
}

/// The readings of a record.
pub(super) struct Readings<'a> {
    /// Those with a single reading, in the order written.
    pub all: Vec<Reading>,
    record: &'a Record,
    vocabulary: &'a Vocabulary,
}

impl<'a> Readings<'a> {
    pub fn new(vocabulary: &'a Vocabulary, record: &'a Record) -> Self {
        let mut all = Vec::new();
        for (thing, fact) in record.all_facts(vocabulary) {
            let slot = slot_number(record, thing, fact);
            let known = vocabulary.thing(record.thing(thing).kind).fact(fact);
            if let [reading] = record.slots[slot].readings.as_slice() {
                all.push(Reading {
                    slot,
                    kind: known.kind,
                    name: known.name.clone(),
                    at: reading.span,
                    value: reading.value,
                    unit: reading.unit.clone(),
                    range: known.range,
                    is_banded: reading
                        .tolerance
                        .is_some_and(|tolerance| !tolerance.is_zero()),
                });
            }
        }
        Readings {
            all,
            record,
            vocabulary,
        }
    }

    /// The first thing of a kind.
    pub fn first_of(&self, kind: ThingId) -> Option<ThingRef> {
        self.record
            .all_things()
            .find(|thing| self.record.thing(*thing).kind == kind)
    }

    /// A fact written otherwise; none where it has no single reading, or can't be written so.
    pub fn edit(&self, thing: ThingRef, fact: FactId, text: &str) -> Option<Edit> {
        let slot = slot_number(self.record, thing, fact);
        let reading = self.all.iter().find(|reading| reading.slot == slot)?;
        reading.written(self.vocabulary, text.to_owned())
    }

    /// The record with some readings written otherwise, completed.
    pub fn edited(&self, edits: &[Edit]) -> Record {
        let mut record = self.record.clone();
        for edit in edits {
            let slot = Slot {
                state: State::Read,
                banded: edit.value,
                as_read: edit.value,
                readings: record.slots[edit.slot].readings.clone(),
            };
            record.slots.set(edit.slot, slot);
        }
        survey::complete(self.vocabulary, record)
    }
}

fn slot_number(record: &Record, thing: ThingRef, fact: FactId) -> usize {
    record.thing(thing).first_slot as usize + usize::from(fact.0)
}

/// How finely a number is looked for, of its unit.
const FINEST: i128 = 1_000_000;
/// How many decimals that are.
const DECIMALS: u32 = 6;

/// The verdicts of a rule as it is and as it is changed, where one reading is written otherwise;
/// none when enough was tried.
pub(super) type Both<'t, V> = &'t mut dyn FnMut(Edit) -> Option<(V, V)>;

impl Reading {
    /// This reading as a text has it; none where the text can't be.
    fn written(&self, vocabulary: &Vocabulary, text: String) -> Option<Edit> {
        let value = match self.kind {
            Type::Label(scale) => Value::Label(vocabulary.scale(scale).place(&text)?),
            Type::YesNo => Value::Truth(text == "yes"),
            Type::Point(PointKind::Date) => Value::Quantity(Interval::point(date::parse(&text)?)),
            Type::Quantity(_) | Type::Slope | Type::Point(_) => {
                let written = parse::quantity(&text).ok()?;
                let value = match self.kind {
                    Type::Point(PointKind::Temperature) => written.point()?,
                    _ => written.nominal,
                };
                Value::Quantity(Interval::point(value))
            }
            Type::Text | Type::Reference => return None,
        };
        if let (Value::Quantity(value), Some(range)) = (value, self.range)
            && range.intersect(value).is_none()
        {
            return None;
        }
        let is_chainage = self.kind == Type::Point(PointKind::Chainage);
        if let (true, Value::Quantity(value)) = (is_chainage, value)
            && value.may_be_negative()
        {
            return None;
        }
        let text = match (&self.unit, self.is_banded) {
            (Some(unit), true) => format!("{text} ± 0 {unit}"),
            _ => text,
        };
        Some(Edit {
            slot: self.slot,
            name: self.name.clone(),
            at: self.at,
            text,
            value,
        })
    }

    /// What it may be changed to, the value that is changed first.
    pub fn texts(&self, vocabulary: &Vocabulary, mutant: &Mutant) -> Vec<Edit> {
        let texts: Vec<String> = match self.kind {
            Type::Label(scale) => {
                let places = u16::try_from(vocabulary.scale(scale).places.len()).unwrap_or(0);
                (0..places)
                    .filter(|place| self.value != Value::Label(*place))
                    .map(|place| vocabulary.scale(scale).label(place).to_owned())
                    .collect()
            }
            Type::YesNo if self.value == Value::Truth(true) => vec!["no".to_owned()],
            Type::YesNo => vec!["yes".to_owned()],
            Type::Quantity(_) | Type::Slope | Type::Point(_) => self.numbers(mutant),
            Type::Text | Type::Reference => Vec::new(),
        };
        texts
            .into_iter()
            .filter_map(|text| self.written(vocabulary, text))
            .collect()
    }

    /// The limit as it is and as it is changed, and between the two.
    fn numbers(&self, mutant: &Mutant) -> Vec<String> {
        let Some(Constant::Number {
            value: is,
            unit,
            written,
        }) = &mutant.was
        else {
            return Vec::new();
        };
        if mutant.kind != Some(self.kind) {
            return Vec::new();
        }
        let becomes = match mutant.change {
            Change::Number(becomes) => Some(becomes),
            Change::Label(_) | Change::Comparator(_) => None,
        };
        let half = Rational::new(1, 2);
        let between = becomes
            .and_then(|becomes| becomes.checked_add(*is))
            .zip(half)
            .and_then(|(sum, half)| sum.checked_multiply(half));
        let unit = unit.as_ref().or(self.unit.as_ref());
        std::iter::once(written.clone())
            .chain(
                between
                    .filter(|_| !self.is_count())
                    .into_iter()
                    .chain(becomes)
                    .map(|value| self.shown(value, unit)),
            )
            .collect()
    }

    fn shown(&self, value: Rational, unit: Option<&Unit>) -> String {
        match (self.kind, unit) {
            (Type::Point(PointKind::Date), _) => date::show(value),
            (Type::Point(PointKind::Temperature), Some(unit)) => show_point(value, unit),
            (_, Some(unit)) => show(value, unit),
            (_, None) => crate::quantity::print::show_number(value),
        }
    }

    /// Where a verdict turns between this reading and the ends of what it may be: just before and
    /// at the turning, and between that of the rule as it is and as it is changed.
    pub fn turning_points<V: PartialEq>(
        &self,
        vocabulary: &Vocabulary,
        both: Both<'_, V>,
    ) -> Vec<Edit> {
        self.turnings(vocabulary, both).unwrap_or_default()
    }

    fn turnings<V: PartialEq>(
        &self,
        vocabulary: &Vocabulary,
        both: Both<'_, V>,
    ) -> Option<Vec<Edit>> {
        let grid = Grid::of(self)?;
        let write =
            |at: i128| self.written(vocabulary, self.shown(grid.value(at)?, self.unit.as_ref()));
        let start = grid.nearest(self.number()?)?;
        let here = both(write(start)?)?;
        let (mut found, mut at_turnings) = (Vec::new(), Vec::new());
        for far_end in self.ends(&grid, start) {
            let Some(end) = write(far_end) else { continue };
            let there = both(end)?;
            let mut turns = [None, None];
            for (which, turn) in turns.iter_mut().enumerate() {
                let side = |verdicts: &(V, V), other: &(V, V)| match which {
                    0 => verdicts.0 == other.0,
                    _ => verdicts.1 == other.1,
                };
                if side(&here, &there) {
                    continue;
                }
                let (mut near, mut far) = (start, far_end);
                while (far - near).abs() > 1 {
                    let middle = near + (far - near) / 2;
                    if side(&here, &both(write(middle)?)?) {
                        near = middle;
                    } else {
                        far = middle;
                    }
                }
                *turn = Some(far);
                at_turnings.extend(write(far).into_iter().chain(write(near)));
            }
            if let [Some(is), Some(becomes)] = turns {
                found.extend(grid.shortest_between(is, becomes).and_then(write));
            }
        }
        found.extend(at_turnings);
        Some(found)
    }

    /// Whether it is a whole number of something.
    fn is_count(&self) -> bool {
        let whole = self.number().and_then(Rational::as_integer);
        self.unit.is_none() && whole.is_some()
    }

    fn number(&self) -> Option<Rational> {
        match self.value {
            Value::Quantity(interval) => interval.exact_point(),
            Value::Nothing | Value::Label(_) | Value::Truth(_) | Value::Text(_) => None,
        }
    }

    /// The ends of its range, and somewhat less and more than it is.
    fn ends(&self, grid: &Grid, start: i128) -> Vec<i128> {
        let declared = self
            .range
            .into_iter()
            .flat_map(|range| [range.lower(), range.upper()])
            .flatten()
            .filter_map(End::exact)
            .filter_map(|end| grid.nearest(end));
        let step = 100 * grid.fine;
        let mut ends = vec![start / 2, start * 2, start - step, start + step];
        ends.extend(declared);
        ends.retain(|end| *end != start);
        ends
    }
}

/// The numbers that a reading may be, as whole steps.
struct Grid {
    /// A unit's worth, canonical.
    factor: Rational,
    /// Its zero.
    zero: Rational,
    /// How many steps a unit has.
    fine: i128,
}

impl Grid {
    /// Of a number; counts are whole.
    fn of(reading: &Reading) -> Option<Grid> {
        match reading.kind {
            Type::Point(PointKind::Date) => None,
            Type::Quantity(_) | Type::Slope | Type::Point(_) => {
                let zero = match (reading.kind, &reading.unit) {
                    (Type::Point(PointKind::Temperature), Some(unit)) => unit.offset,
                    _ => None,
                };
                Some(Grid {
                    factor: reading
                        .unit
                        .as_ref()
                        .map_or(Rational::ONE, |unit| unit.factor),
                    zero: zero.unwrap_or(Rational::ZERO),
                    fine: if reading.is_count() { 1 } else { FINEST },
                })
            }
            Type::YesNo | Type::Text | Type::Reference | Type::Label(_) => None,
        }
    }

    fn value(&self, at: i128) -> Option<Rational> {
        Rational::new(at, self.fine)?
            .checked_multiply(self.factor)?
            .checked_add(self.zero)
    }

    fn nearest(&self, value: Rational) -> Option<i128> {
        let steps = value
            .checked_subtract(self.zero)?
            .checked_divide(self.factor)?
            .checked_multiply(Rational::new(self.fine, 1)?)?;
        Some(steps.numerator().div_euclid(steps.denominator()))
    }

    /// The number with the fewest decimals strictly between two.
    fn shortest_between(&self, one: i128, other: i128) -> Option<i128> {
        let (low, high) = (one.min(other), one.max(other));
        let middle = low + (high - low) / 2;
        (0..=DECIMALS)
            .rev()
            .map(|digits| 10i128.pow(digits))
            .map(|coarse| (middle + coarse / 2).div_euclid(coarse) * coarse)
            .find(|found| low < *found && *found < high)
    }
}
