//! Which stretches of each run nobody measured.

use crate::quantity::Rational;
use crate::record::facts::{Gap, List, Record, ThingRef};
use crate::vocabulary::{Form, ListId, POINT_AT, RUN_LENGTH, STRETCH_FROM, STRETCH_TO, Vocabulary};

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
        for number in kind.list_ids() {
            if record.list(run, number).items.is_empty() {
                continue;
            }
            let of = vocabulary.thing(kind.list(number).of);
            match of.form {
                Form::Stretch => {
                    let gaps = uncovered(&record, run, number);
                    let list = list_mut(&mut record, run, number);
                    list.open |= !gaps.is_empty();
                    list.gaps = gaps;
                }
                Form::Point if of.has_elevation() => {
                    let gaps = too_far_apart(&record, run, number, gap);
                    list_mut(&mut record, run, number).gaps = gaps;
                }
                Form::Point | Form::Plain | Form::Run { .. } => {}
            }
        }
    }
    record
}

fn list_mut(record: &mut Record, run: ThingRef, list: ListId) -> &mut List {
    let first = record.thing(run).first_list as usize;
    &mut record.lists[first + usize::from(list.0)]
}

/// The stretches between 0 and the end of the run that no element covers. What lies beyond the
/// end is no gap: else a list would be surer of itself without the element that begins there.
fn uncovered(record: &Record, run: ThingRef, list: ListId) -> Vec<Gap> {
    let end = chainage(record, run, RUN_LENGTH).ok();
    let mut stretches: Vec<_> = record
        .list(run, list)
        .items
        .iter()
        .filter_map(|stretch| {
            let from = chainage(record, *stretch, STRETCH_FROM).ok()?;
            let to = chainage(record, *stretch, STRETCH_TO).ok()?;
            Some((from, to))
        })
        .collect();
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
    record: &Record,
    run: ThingRef,
    list: ListId,
    widest: Option<Rational>,
) -> Vec<Gap> {
    let end = chainage(record, run, RUN_LENGTH).ok();
    let mut gaps = Vec::new();
    let mut reached = Rational::ZERO;
    let mut is_broken = true;
    for shot in &record.list(run, list).items {
        let Ok(at) = chainage(record, *shot, POINT_AT) else {
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
