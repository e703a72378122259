//! Where along a run a place of its plan lies.
//!
//! Chainage counts in plan, from the first vertex of the line to the last. Each vertex may lie
//! by r from where it was read, so that a segment may be longer or shorter by 2 r. The line as
//! drawn may also be longer or shorter than the recorded length of its run: a place is counted
//! from both ends, and what lies between the two counts is kept.

use super::plan::Outline;
use super::pump::number;
use crate::quantity::{Interval, Rational};

const ZERO: Interval = Interval::point(Rational::ZERO);
const ONE: Interval = Interval::point(Rational::ONE);

/// The chainages at which a part of a segment may lie.
pub(super) fn chainages(
    outline: &Outline,
    (segment, part): (usize, Interval),
    length: Rational,
) -> Option<(Rational, Rational)> {
    let lengths = outline.segment_lengths();
    let own = lengths[segment];
    let before = sum(&lengths[..segment]).add(own.multiply(part));
    let after = sum(&lengths[segment + 1..]).add(own.multiply(ONE.subtract(part)));
    let end = Interval::point(length);
    let from_start = before.add(stray(outline, segment + 1));
    let from_end = end.subtract(after.add(stray(outline, lengths.len() - segment)));
    let along = from_start.hull(from_end).greater(ZERO).lesser(end);
    Some((number(along.lower()?)?, number(along.upper()?)?))
}

/// How far the count along a line may be off anywhere.
pub(super) fn greatest_stray(outline: &Outline, length: Rational) -> Interval {
    let lengths = outline.segment_lengths();
    let drawn = sum(&lengths);
    let unlike = Interval::point(length).subtract(drawn).hull(ZERO);
    stray(outline, lengths.len()).add(unlike.hull(unlike.negate()))
}

/// By how much a count over so many segments may be off to either side.
fn stray(outline: &Outline, segments: usize) -> Interval {
    let twice = i128::try_from(2 * segments).ok();
    let twice = twice.and_then(|twice| Rational::new(twice, 1));
    let most = match twice {
        Some(twice) => outline.displacement().multiply(Interval::point(twice)),
        None => Interval::WHOLE,
    };
    most.hull(most.negate())
}

pub(super) fn sum(lengths: &[Interval]) -> Interval {
    lengths.iter().copied().fold(ZERO, Interval::add)
}
