//! Which stretches of each run nobody measured.

use smallvec::SmallVec;

use crate::quantity::Rational;
use crate::record::facts::{Gap, Record};
use crate::vocabulary::{
    FactId, Form, POINT_AT, RUN_LENGTH, STRETCH_FROM, STRETCH_TO, ThingId, Vocabulary,
};

use super::value::chainage;

/// Finds the gaps in every list of stretches and in every list of levelled points of a run.
///
/// A list of stretches with a gap is open: what lies there may be anything. A profile with a gap
/// stays as it was, because what is between its shots is asked of the profile itself.
pub fn complete(vocabulary: &Vocabulary, mut record: Record) -> Record {
    for run in record.all_things() {
        let kind = vocabulary.thing(record.thing(run).kind);
        let Form::Run { gap } = kind.form else {
            continue;
        };
        let end = chainage(&record, run, RUN_LENGTH).ok();
        for number in kind.list_ids() {
            if record.list(run, number).items.is_empty() {
                continue;
            }
            let Some(covering) = Covering::of(vocabulary, kind.list(number).of, gap) else {
                continue;
            };
            let items = record.list(run, number).items.iter();
            let places = items.map(|item| {
                let [from, to] = covering.facts();
                [from, to].map(|fact| chainage(&record, *item, fact).ok())
            });
            let gaps = covering.gaps(end, places);
            let first = record.thing(run).first_list as usize;
            let list = &mut record.lists[first + usize::from(number.0)];
            list.open |= covering.opens_its_list() && !gaps.is_empty();
            list.gaps = gaps;
        }
    }
    record
}

/// How the elements of a list cover their run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Covering {
    /// Each from one chainage to another.
    Stretches,
    /// Each shot at its chainage, and so to the next where that is not too far.
    Shots {
        /// In metres.
        widest: Option<Rational>,
    },
}

impl Covering {
    /// Of things in a list of a run; none where they don't cover it.
    pub(crate) fn of(
        vocabulary: &Vocabulary,
        things: ThingId,
        gap: Option<Rational>,
    ) -> Option<Covering> {
        let of = vocabulary.thing(things);
        match of.form {
            Form::Stretch => Some(Covering::Stretches),
            Form::Point if of.has_elevation() => Some(Covering::Shots { widest: gap }),
            Form::Point | Form::Plain | Form::Run { .. } => None,
        }
    }

    /// The facts that tell where an element begins and ends.
    pub(crate) fn facts(self) -> [FactId; 2] {
        match self {
            Covering::Stretches => [STRETCH_FROM, STRETCH_TO],
            Covering::Shots { .. } => [POINT_AT, POINT_AT],
        }
    }

    /// Whether a list with a gap may hold more.
    pub(crate) fn opens_its_list(self) -> bool {
        match self {
            Covering::Stretches => true,
            Covering::Shots { .. } => false,
        }
    }

    /// The stretches of a run up to its end, where that is known, that its elements leave
    /// unmeasured: told of each are its two facts.
    pub(crate) fn gaps(
        self,
        end: Option<Rational>,
        elements: impl Iterator<Item = [Option<Rational>; 2]>,
    ) -> Vec<Gap> {
        match self {
            Covering::Stretches => uncovered(end, elements),
            Covering::Shots { widest } => too_far_apart(end, elements.map(|[at, _]| at), widest),
        }
    }
}

/// The stretches between 0 and the end of the run that no element covers. What lies beyond the
/// end is no gap: else a list would be surer of itself without the element that begins there.
fn uncovered(
    end: Option<Rational>,
    elements: impl Iterator<Item = [Option<Rational>; 2]>,
) -> Vec<Gap> {
    let stretches = elements.filter_map(|[from, to]| Some((from?, to?)));
    let mut stretches: SmallVec<[(Rational, Rational); 8]> = stretches.collect();
    stretches.sort();
    let mut gaps = Vec::new();
    let mut reached = Rational::ZERO;
    for (from, to) in stretches {
        note(&mut gaps, reached, from, end);
        reached = reached.max(to);
    }
    note_end(&mut gaps, reached, end);
    gaps
}

/// The stretches between neighbouring shots that are wider than the run allows, or that hold a
/// shot without a place, and those before the first shot and after the last.
fn too_far_apart(
    end: Option<Rational>,
    shots: impl Iterator<Item = Option<Rational>>,
    widest: Option<Rational>,
) -> Vec<Gap> {
    let mut gaps = Vec::new();
    let mut reached = Rational::ZERO;
    let mut is_broken = true;
    for shot in shots {
        let Some(at) = shot else {
            is_broken = true;
            continue;
        };
        let width = at.checked_subtract(reached);
        let is_wide = widest.is_some_and(|widest| width.is_none_or(|width| width > widest));
        if is_broken || is_wide {
            note(&mut gaps, reached, at, end);
        }
        reached = reached.max(at);
        is_broken = false;
    }
    note_end(&mut gaps, reached, end);
    gaps
}

/// Notes what lies between two places and on the run, unless it is nothing.
fn note(gaps: &mut Vec<Gap>, from: Rational, to: Rational, end: Option<Rational>) {
    let to = end.map_or(to, |end| to.min(end));
    if from < to {
        gaps.push(Gap {
            from: Some(from),
            to: Some(to),
        });
    }
}

fn note_end(gaps: &mut Vec<Gap>, reached: Rational, end: Option<Rational>) {
    match end {
        Some(end) => note(gaps, reached, end, None),
        None => gaps.push(Gap {
            from: Some(reached),
            to: None,
        }),
    }
}
