//! Where water stands in a run: low points between higher ones.
//!
//! At a place, water can stand up to the lower of two heights: the highest invert before it and
//! the highest after it. Its depth is that less the invert there, and never below 0. Between
//! shots the invert is linear, so that the deepest place is a shot.

use super::fall::inverts;
use super::profile::Node;
use super::slots::ThingSlots;
use super::value::{Both, Computed, spans};
use crate::quantity::{Interval, Rational};
use crate::record::facts::{Record, ThingRef};

/// A shot below others on both sides.
pub(super) struct Low {
    pub node: Node,
    /// The highest invert before it and after it.
    pub before: Node,
    pub after: Node,
    pub depth: Both,
}

/// The greatest depth at which water stands anywhere in the run; 0 where it all drains.
pub(super) fn sag_depth(record: &Record, slots: &ThingSlots, run: ThingRef) -> Computed {
    let nothing = Both::exactly(Rational::ZERO);
    let track = inverts(record, slots, run);
    let lows = lows(&track.nodes);
    let causes = track.lacks_of(record, run);
    let known = lows
        .iter()
        .fold(nothing, |most, low| most.greater(low.depth));
    let deepest = lows
        .iter()
        .max_by_key(|low| low.depth.banded.lower())
        .filter(|low| low.depth.banded.lower() > Some(Rational::ZERO.into()));
    let readings = deepest.map_or_else(Vec::new, |low| {
        let nodes = [low.node, low.before, low.after];
        let readings = nodes.iter().map(|node| spans(record, node.shot, node.fact));
        readings.flatten().collect()
    });
    Computed {
        // Where nobody levelled there may be a deeper one.
        value: if causes.is_empty() {
            known
        } else {
            known.greater(Both::WHOLE)
        },
        readings,
        at: deepest.map(|low| (run, Interval::point(low.node.at))),
        ..Computed::missing(causes)
    }
}

/// Every shot that has others before and after it, in order along the run.
pub(super) fn lows(nodes: &[Node]) -> Vec<Low> {
    let mut nodes = nodes.to_vec();
    nodes.sort_by_key(|node| node.at);
    let mut found = Vec::new();
    for index in 1..nodes.len().saturating_sub(1) {
        let node = nodes[index];
        let (before, height_before) = highest(&nodes[..index]);
        let (after, height_after) = highest(&nodes[index + 1..]);
        let depth = height_before.lesser(height_after).subtract(node.height);
        found.push(Low {
            node,
            before,
            after,
            depth: depth.greater(Both::exactly(Rational::ZERO)),
        });
    }
    found
}

/// The highest of some shots, and how high any of them lies.
fn highest(nodes: &[Node]) -> (Node, Both) {
    let (first, others) = nodes
        .split_first()
        .expect("a low point has shots on both sides");
    others
        .iter()
        .fold((*first, first.height), |(known, height), node| {
            let is_higher = node.height.banded.upper() > known.height.banded.upper();
            (
                if is_higher { *node } else { known },
                height.greater(node.height),
            )
        })
}
