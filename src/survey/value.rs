//! Values judged in both ways at once, and facts as such values.

use super::cause::{Cause, merge};
use crate::quantity::{Interval, Rational};
use crate::record::facts::{Record, State, ThingRef, Value};
use crate::source::Span;
use crate::vocabulary::FactId;

/// A value with its tolerances, and as read. Whether two sources agree is asked of the first
/// also where the second is wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Both {
    pub banded: Interval,
    pub as_read: Interval,
}

impl Both {
    pub const WHOLE: Both = Both {
        banded: Interval::WHOLE,
        as_read: Interval::WHOLE,
    };

    pub fn exactly(value: Rational) -> Both {
        Both::same(Interval::point(value))
    }

    pub fn same(value: Interval) -> Both {
        Both {
            banded: value,
            as_read: value,
        }
    }

    pub fn map(self, operation: impl Fn(Interval) -> Interval) -> Both {
        Both {
            banded: operation(self.banded),
            as_read: operation(self.as_read),
        }
    }

    pub fn with(self, other: Both, operation: impl Fn(Interval, Interval) -> Interval) -> Both {
        Both {
            banded: operation(self.banded, other.banded),
            as_read: operation(self.as_read, other.as_read),
        }
    }

    pub fn add(self, other: Both) -> Both {
        self.with(other, Interval::add)
    }

    pub fn subtract(self, other: Both) -> Both {
        self.with(other, Interval::subtract)
    }

    pub fn multiply(self, other: Both) -> Both {
        self.with(other, Interval::multiply)
    }

    pub fn lesser(self, other: Both) -> Both {
        self.with(other, Interval::lesser)
    }

    pub fn greater(self, other: Both) -> Both {
        self.with(other, Interval::greater)
    }

    pub fn hull(self, other: Both) -> Both {
        self.with(other, Interval::hull)
    }

    /// The square root of a sum of squares, which is never negative.
    pub fn root(self) -> Both {
        self.map(|value| {
            let positive = value.greater(Interval::point(Rational::ZERO));
            positive.root().unwrap_or(Interval::WHOLE)
        })
    }

    /// What two sources for one value say together; none where they exclude each other.
    ///
    /// As read, two readings that agree within their tolerances span what lies between them.
    pub fn agreed(self, other: Both) -> Option<Both> {
        Some(Both {
            banded: self.banded.intersect(other.banded)?,
            as_read: self.as_read.hull(other.as_read),
        })
    }
}

/// A quantity or a point that was read; else why it is not known.
pub(super) fn fact(record: &Record, thing: ThingRef, fact: FactId) -> Result<Both, Cause> {
    let slot = record.slot(thing, fact);
    match slot.state {
        State::Absent => Err(Cause::Fact { thing, fact }),
        State::NotRead => Err(Cause::NotRead { thing, fact }),
        State::Disagree => Err(Cause::Disagree { thing, fact }),
        State::Read => match (slot.banded, slot.as_read) {
            (Value::Quantity(banded), Value::Quantity(as_read)) => Ok(Both { banded, as_read }),
            _ => Err(Cause::Fact { thing, fact }),
        },
    }
}

/// A chainage, which is exact; else why it is not known.
pub(super) fn chainage(record: &Record, thing: ThingRef, slot: FactId) -> Result<Rational, Cause> {
    let value = fact(record, thing, slot)?;
    let missing = Cause::Fact { thing, fact: slot };
    value.banded.exact_point().ok_or(missing)
}

/// Where the readings of a fact stand.
pub(super) fn spans(record: &Record, thing: ThingRef, fact: FactId) -> Vec<Span> {
    let readings = record.slot(thing, fact).readings.iter();
    readings.map(|reading| reading.span).collect()
}

/// A value on its way to an answer.
#[derive(Debug, Clone)]
pub(super) struct Computed {
    pub value: Both,
    pub causes: Vec<Cause>,
    pub readings: Vec<Span>,
    /// The chainage of the place that decides, and the run along which it counts.
    pub at: Option<(ThingRef, Interval)>,
    /// In what way it was had, in words.
    pub how: &'static str,
    /// What its sources say where they exclude each other; none where they agree.
    pub apart: Vec<Told>,
}

/// What one source says of a value, with its tolerances.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Told {
    pub how: &'static str,
    pub value: Interval,
    pub readings: Vec<Span>,
}

impl Computed {
    pub fn missing(causes: Vec<Cause>) -> Computed {
        Computed {
            value: Both::WHOLE,
            causes,
            readings: Vec::new(),
            at: None,
            how: "as recorded",
            apart: Vec::new(),
        }
    }

    pub fn known(value: Both, readings: Vec<Span>) -> Computed {
        Computed {
            value,
            readings,
            ..Computed::missing(Vec::new())
        }
    }

    /// Nothing, because its sources exclude each other.
    pub fn apart(cause: Cause, told: Vec<Told>) -> Computed {
        let readings = told.iter().flat_map(|one| one.readings.clone());
        Computed {
            readings: readings.collect(),
            apart: told,
            ..Computed::missing(vec![cause])
        }
    }

    /// The same, had in a way that is said in words.
    pub fn had(self, how: &'static str) -> Computed {
        Computed { how, ..self }
    }

    fn told(&self) -> Vec<Told> {
        if !self.apart.is_empty() {
            return self.apart.clone();
        }
        let told = Told {
            how: self.how,
            value: self.value.banded,
            readings: self.readings.clone(),
        };
        if told.value.is_whole() {
            Vec::new()
        } else {
            vec![told]
        }
    }

    pub fn is_complete(&self) -> bool {
        self.causes.is_empty()
    }

    /// Whether its own parts exclude each other.
    pub fn is_apart(&self) -> bool {
        let mut causes = self.causes.iter();
        causes.any(|cause| matches!(cause, Cause::Apart { .. }))
    }
}

/// What several sources for one value say together.
///
/// A source from which nothing is missing is enough: what another lacks is then no cause.
pub(super) fn together(sources: Vec<Computed>, apart: Cause) -> Computed {
    let banded = sources.iter().try_fold(Interval::WHOLE, |known, source| {
        known.intersect(source.value.banded)
    });
    let is_apart = sources.iter().any(Computed::is_apart);
    let Some(banded) = banded.filter(|_| !is_apart) else {
        let inner = sources.iter().find(|source| source.is_apart());
        let told = match inner {
            Some(source) => source.told(),
            None => sources.iter().flat_map(Computed::told).collect(),
        };
        return Computed::apart(apart, told);
    };
    let complete: Vec<_> = sources.iter().filter(|one| one.is_complete()).collect();
    let mut causes = Vec::new();
    if complete.is_empty() {
        merge(
            &mut causes,
            sources.iter().flat_map(|one| one.causes.clone()),
        );
    }
    let as_read = match complete.split_first() {
        Some((first, others)) => others.iter().fold(first.value.as_read, |known, source| {
            known.hull(source.value.as_read)
        }),
        None => as_read_of_partial(&sources),
    };
    let deciding = complete
        .first()
        .copied()
        .or_else(|| sources.iter().find(|one| !one.value.banded.is_whole()));
    Computed {
        value: Both { banded, as_read },
        causes,
        readings: deciding.map_or_else(Vec::new, |one| one.readings.clone()),
        at: deciding.and_then(|one| one.at),
        ..Computed::missing(Vec::new())
    }
}

/// As read, half-lines that agree only by their tolerances span what lies between them.
fn as_read_of_partial(sources: &[Computed]) -> Interval {
    sources.iter().fold(Interval::WHOLE, |known, source| {
        let more = source.value.as_read;
        known.intersect(more).unwrap_or_else(|| known.hull(more))
    })
}
