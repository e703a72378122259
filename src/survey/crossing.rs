//! Whether two runs cross, and how far apart they are where they do.

use super::along::chainages;
use super::cause::{Cause, merge};
use super::clearance::{joins, lines};
use super::cover::{crown_tracks, underside_tracks};
use super::plan::{Meeting, Outline};
use super::profile::{Height, LEVELLED, Profile};
use super::slots::{CrossingSlots, Slots};
use super::value::{Both, Computed, Told, chainage, fact, spans, together};
use crate::quantity::{Interval, Rational};
use crate::record::facts::{Record, State, THE_SITE, ThingRef};
use crate::source::Span;
use crate::truth::Truth;
use crate::vocabulary::RUN_LENGTH;

/// A truth in both ways of judging, and why it is not decided.
#[derive(Debug, Clone)]
pub(super) struct Decided {
    pub banded: Truth,
    pub as_read: Truth,
    pub causes: Vec<Cause>,
}

impl Decided {
    /// Whether the list of crossings and the plan exclude each other.
    pub fn is_apart(&self) -> bool {
        let mut causes = self.causes.iter();
        causes.any(|cause| matches!(cause, Cause::Apart { .. }))
    }

    fn same(truth: Truth, causes: Vec<Cause>) -> Decided {
        Decided {
            banded: truth,
            as_read: truth,
            causes,
        }
    }
}

/// Whether two runs cross: by the recorded crossings, and by their lines in plan.
pub(super) fn crosses(record: &Record, slots: &Slots, one: ThingRef, two: ThingRef) -> Decided {
    let listed = listed(record, crossing_slots(slots), one, two);
    let Some(planned) = from_plan(record, slots, one, two) else {
        return listed;
    };
    match (listed.banded, planned.banded) {
        (Truth::True, Truth::False) | (Truth::False, Truth::True) => {
            let apart = Cause::Apart {
                thing: one,
                function: "crosses",
            };
            Decided::same(Truth::Unknown, vec![apart])
        }
        (Truth::True | Truth::False, _) => listed,
        (Truth::Unknown, Truth::True | Truth::False) => planned,
        (Truth::Unknown, Truth::Unknown) if planned.causes.is_empty() => planned,
        (Truth::Unknown, Truth::Unknown) => {
            let mut causes = listed.causes;
            merge(&mut causes, planned.causes);
            Decided::same(Truth::Unknown, causes)
        }
    }
}

fn crossing_slots(slots: &Slots) -> CrossingSlots {
    let slots = slots.crossings;
    slots.expect("a survey refuses crossings without a list of them")
}

/// By the list of crossings: an entry is one; a closed list without one says that there is none.
fn listed(record: &Record, slots: CrossingSlots, one: ThingRef, two: ThingRef) -> Decided {
    let list = record.list(THE_SITE, slots.list);
    if has_entry(record, slots, one, two) {
        return Decided::same(Truth::True, Vec::new());
    }
    let mut causes = may_be_others(record, slots);
    // A run without an id can be named by no entry.
    for run in [one, two] {
        if record.thing(run).id.is_none() && !list.items.is_empty() {
            causes.push(Cause::List {
                thing: THE_SITE,
                list: slots.list,
            });
        }
    }
    if causes.is_empty() {
        Decided::same(Truth::False, causes)
    } else {
        Decided::same(Truth::Unknown, causes)
    }
}

/// Whether the list of crossings names two runs.
pub(super) fn is_listed(record: &Record, slots: &Slots, one: ThingRef, two: ThingRef) -> bool {
    has_entry(record, crossing_slots(slots), one, two)
}

fn has_entry(record: &Record, slots: CrossingSlots, one: ThingRef, two: ThingRef) -> bool {
    let mut entries = record.list(THE_SITE, slots.list).items.iter();
    entries.any(|entry| joins(record, *entry, slots.upper, slots.lower, one, two))
}

/// Why there may be other crossings than those that are named in full.
fn may_be_others(record: &Record, slots: CrossingSlots) -> Vec<Cause> {
    let list = record.list(THE_SITE, slots.list);
    let mut causes = Vec::new();
    if list.open {
        causes.push(Cause::List {
            thing: THE_SITE,
            list: slots.list,
        });
    }
    for entry in &list.items {
        for fact in [slots.upper, slots.lower] {
            if record.slot(*entry, fact).state != State::Read {
                let thing = *entry;
                merge(&mut causes, [Cause::Fact { thing, fact }]);
            }
        }
    }
    causes
}

/// By the lines in plan; none where either has none.
fn from_plan(record: &Record, slots: &Slots, one: ThingRef, two: ThingRef) -> Option<Decided> {
    let (left, right) = match lines(record, slots, one, two)? {
        Ok(both) => both,
        Err(causes) => return Some(Decided::same(Truth::Unknown, causes)),
    };
    Some(Decided {
        banded: left.banded.crosses(&right.banded),
        as_read: left.as_read.crosses(&right.as_read),
        causes: Vec::new(),
    })
}

/// The upright distance where two runs cross, outside to outside: as taped, and by their plans and
/// profiles.
pub(super) fn clearance(record: &Record, slots: &Slots, one: ThingRef, two: ThingRef) -> Computed {
    let crossings = crossing_slots(slots);
    let nobody_taped = Cause::List {
        thing: THE_SITE,
        list: crossings.list,
    };
    let taped = taped(record, crossings, one, two);
    let mut sources = vec![taped.unwrap_or_else(|| Computed::missing(vec![nobody_taped]))];
    sources.extend(levelled(record, slots, one, two));
    together(sources, apart(one))
}

fn apart(thing: ThingRef) -> Cause {
    Cause::Apart {
        thing,
        function: "crossing_clearance",
    }
}

/// The least of what was taped; none where no entry names the two.
fn taped(
    record: &Record,
    crossings: CrossingSlots,
    one: ThingRef,
    two: ThingRef,
) -> Option<Computed> {
    let list = record.list(THE_SITE, crossings.list);
    let entries = list
        .items
        .iter()
        .filter(|entry| joins(record, **entry, crossings.upper, crossings.lower, one, two));
    let mut least = entries
        .map(|entry| match fact(record, *entry, crossings.vertical) {
            Ok(value) => Computed::known(value, spans(record, *entry, crossings.vertical)),
            Err(cause) => Computed::missing(vec![cause]),
        })
        .reduce(nearer)?;
    let others = may_be_others(record, crossings);
    if !others.is_empty() {
        least.value = least.value.lesser(Both::WHOLE);
        merge(&mut least.causes, others);
    }
    Some(least.had("taped"))
}

/// Two runs may cross more than once: the nearest crossing counts.
fn nearer(one: Computed, two: Computed) -> Computed {
    let value = one.value.lesser(two.value);
    let decides = value.banded.upper() == one.value.banded.upper();
    let (first, second) = if decides { (one, two) } else { (two, one) };
    let mut causes = first.causes;
    merge(&mut causes, second.causes);
    Computed {
        value,
        causes,
        readings: first.readings,
        at: first.at,
        ..Computed::missing(Vec::new())
    }
}

/// By plans and profiles; none where they do not cross for sure, or have no lines in plan.
fn levelled(record: &Record, slots: &Slots, one: ThingRef, two: ThingRef) -> Option<Computed> {
    let (left, right) = lines(record, slots, one, two)?.ok()?;
    let mut causes = Vec::new();
    let pipes = [Pipe::of(record, slots, one), Pipe::of(record, slots, two)];
    let banded = gap(&pipes, &left.banded, &right.banded, |both| both.banded);
    let as_read = gap(&pipes, &left.as_read, &right.as_read, |both| both.as_read);
    if banded.is_none() && as_read.is_none() {
        return None;
    }
    let (Ok(banded), Ok(as_read)) = (banded.transpose(), as_read.transpose()) else {
        let told = pipes.iter().find_map(|pipe| pipe.told(record));
        return Some(Computed::apart(apart(one), told.unwrap_or_default()));
    };
    let deciding = banded.as_ref().or(as_read.as_ref());
    let readings = deciding.map_or_else(Vec::new, |gap| {
        let mut readings = pipes[0].readings(record, gap.along[0]);
        readings.extend(pipes[1].readings(record, gap.along[1]));
        readings
    });
    let at = deciding.and_then(|gap| {
        let (from, to) = gap.along[0]?;
        Some((one, Interval::new(from, to)?))
    });
    if banded.iter().chain(&as_read).any(|gap| !gap.is_levelled) {
        for pipe in &pipes {
            merge(&mut causes, pipe.lacks(record));
        }
    }
    // Where they cross only as read, nothing is known of where they cross in truth.
    let value = Both {
        banded: banded.as_ref().map_or(Interval::WHOLE, |gap| gap.value),
        as_read: match (&as_read, &banded) {
            (Some(gap), _) | (None, Some(gap)) => gap.value,
            (None, None) => Interval::WHOLE,
        },
    };
    Some(Computed {
        // There may be a nearer crossing in what is not recorded.
        value: if causes.is_empty() {
            value
        } else {
            value.lesser(Both::WHOLE)
        },
        causes,
        readings,
        at,
        how: "from plan and profiles",
        ..Computed::missing(Vec::new())
    })
}

/// Top and underside of a run.
pub(super) struct Pipe {
    pub run: ThingRef,
    /// The chainage of its end, where it is known.
    pub length: Option<Rational>,
    top: Profile,
    underside: Profile,
}

impl Pipe {
    /// Reads both from the run's shots.
    pub fn of(record: &Record, slots: &Slots, run: ThingRef) -> Pipe {
        let slots = slots.thing(record.thing(run).kind);
        Pipe {
            run,
            length: chainage(record, run, RUN_LENGTH).ok(),
            top: Profile::of(crown_tracks(record, slots, run)),
            underside: Profile::of(underside_tracks(record, slots, run)),
        }
    }

    fn lacks(&self, record: &Record) -> Vec<Cause> {
        let mut causes = self.top.lacks_of(record, self.run);
        merge(&mut causes, self.underside.lacks_of(record, self.run));
        causes
    }

    /// What its lists of shots say where they exclude each other.
    fn told(&self, record: &Record) -> Option<Vec<Told>> {
        let length = self.length?;
        let told = |profile: &Profile| {
            let place = profile.disagreement(Rational::ZERO, length)?;
            Some(profile.told_at(record, place, LEVELLED))
        };
        told(&self.top).or_else(|| told(&self.underside))
    }

    /// Every height of top and underside along a stretch.
    pub fn heights(
        &self,
        along: Option<(Rational, Rational)>,
        which: fn(Both) -> Interval,
    ) -> Result<[Interval; 2], Disagree> {
        let height = |profile: &Profile| {
            let range = along.map_or(Height::Missing, |(from, to)| profile.range(from, to));
            match range {
                Height::Missing => Ok(Interval::WHOLE),
                Height::Known(height) => Ok(which(height)),
                Height::Apart => Err(Disagree),
            }
        };
        Ok([height(&self.top)?, height(&self.underside)?])
    }

    fn readings(&self, record: &Record, along: Option<(Rational, Rational)>) -> Vec<Span> {
        let mut found = Vec::new();
        let places = along.into_iter().flat_map(|(from, to)| [from, to]);
        for place in places {
            let nodes = self.top.readings_at(place).into_iter();
            for node in nodes.chain(self.underside.readings_at(place)) {
                for span in spans(record, node.shot, node.fact) {
                    if !found.contains(&span) {
                        found.push(span);
                    }
                }
            }
        }
        found
    }
}

/// Two lists of shots exclude each other where it matters.
pub(super) struct Disagree;

/// The least upright distance at any crossing.
struct Gap {
    value: Interval,
    /// Where along each run the crossing that decides may lie.
    along: [Option<(Rational, Rational)>; 2],
    /// Whether top and underside of both are known there.
    is_levelled: bool,
}

/// The least upright distance at any crossing; none where nothing crosses for sure.
///
/// Every crossing lies where two segments may meet, so that no distance is less than the least
/// of those; one lies where two cross for sure, so that the least is no more than that.
fn gap(
    pipes: &[Pipe; 2],
    left: &Outline,
    right: &Outline,
    which: fn(Both) -> Interval,
) -> Option<Result<Gap, Disagree>> {
    let meetings = left.meetings(right);
    if !meetings.iter().any(|meeting| meeting.is_sure) {
        return None;
    }
    let mut least: Option<Gap> = None;
    for meeting in meetings {
        let found = match gap_at(pipes, [left, right], meeting, which) {
            Ok(found) => found,
            Err(disagree) => return Some(Err(disagree)),
        };
        least = Some(match least {
            None => found,
            Some(known) => least_of(known, found),
        });
    }
    least.map(Ok)
}

fn gap_at(
    pipes: &[Pipe; 2],
    outlines: [&Outline; 2],
    meeting: Meeting,
    which: fn(Both) -> Interval,
) -> Result<Gap, Disagree> {
    let zero = Interval::point(Rational::ZERO);
    let along = [
        pipes[0]
            .length
            .and_then(|length| chainages(outlines[0], meeting.place, length)),
        pipes[1]
            .length
            .and_then(|length| chainages(outlines[1], meeting.other_place, length)),
    ];
    let [top, underside] = pipes[0].heights(along[0], which)?;
    let [other_top, other_underside] = pipes[1].heights(along[1], which)?;
    let heights = [top, underside, other_top, other_underside];
    // Whichever lies above; they can't lie in one another.
    let above = underside.subtract(other_top);
    let below = other_underside.subtract(top);
    let apart = above.greater(below).greater(zero);
    Ok(Gap {
        value: if meeting.is_sure {
            apart
        } else {
            apart.hull(Interval::at_least(
                apart.lower().unwrap_or(Rational::ZERO.into()),
            ))
        },
        along,
        is_levelled: heights.iter().all(|height| !height.is_whole()),
    })
}

fn least_of(one: Gap, two: Gap) -> Gap {
    let value = one.value.lesser(two.value);
    let is_levelled = one.is_levelled && two.is_levelled;
    let decides = value.upper() == one.value.upper();
    let deciding = if decides { one } else { two };
    Gap {
        value,
        is_levelled,
        ..deciding
    }
}
