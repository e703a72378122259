//! Levelled points along a run, and the heights between them.
//!
//! A profile is linear between neighbouring shots of one list and is never bridged: a shot that
//! lacks the reading or its chainage, and a gap wider than the run allows, leave their stretch
//! without a height. Several lists may give the same profile; where they overlap, they must
//! agree.

use super::cause::{Cause, merge};
use super::value::{Both, Told, chainage, fact, spans};
use crate::quantity::{Interval, Rational};
use crate::record::facts::{Record, ThingRef};
use crate::vocabulary::{FactId, ListId, POINT_AT, RUN_LENGTH};

/// One reading of a height.
#[derive(Debug, Clone, Copy)]
pub(super) struct Node {
    pub at: Rational,
    pub height: Both,
    pub shot: ThingRef,
    pub fact: FactId,
}

/// Two neighbouring shots with nothing missing between them.
// Invariant: `from.at` is less than `to.at`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Piece {
    pub from: Node,
    pub to: Node,
}

/// What one list says of one height.
#[derive(Debug, Clone, Default)]
pub(super) struct Track {
    pub nodes: Vec<Node>,
    pub pieces: Vec<Piece>,
    /// Neighbouring shots at one chainage: the height may step there.
    pub steps: Vec<(Node, Node)>,
    /// Why it does not reach from end to end without a break; none if it does.
    pub causes: Vec<Cause>,
    /// Where a shot without a height or a place stands: its place and that of its neighbour.
    pub lost: Vec<Lost>,
    /// Whether there may be more shots.
    pub is_open: bool,
}

/// Two neighbouring shots of which one lacks its height or its place, and their places.
pub(super) type Lost = (Option<Rational>, Option<Rational>);

/// How a height along a run is had: at a shot, and between two.
pub(super) const LEVELLED: [&str; 2] = ["levelled", "between shots"];

/// Which heights to take from which list of a run.
pub(super) struct Taken {
    pub run: ThingRef,
    pub list: ListId,
    pub fact: FactId,
    /// What to add to each reading.
    pub raised: Both,
    /// The widest gap that may be bridged.
    pub gap: Option<Rational>,
}

impl Track {
    /// Reads one height from the shots of a list, in the order written.
    pub fn read(record: &Record, taken: &Taken) -> Track {
        let list = record.list(taken.run, taken.list);
        let mut track = Track {
            is_open: list.open,
            ..Track::default()
        };
        if list.open {
            track.causes.push(Cause::List {
                thing: taken.run,
                list: taken.list,
            });
        }
        let mut previous = None;
        let mut place = None;
        for (index, shot) in list.items.iter().enumerate() {
            let node = track.node(record, taken, *shot);
            let here = chainage(record, *shot, POINT_AT).ok();
            if index > 0 && (previous.is_none() || node.is_none()) {
                track.lost.push((place, here));
            }
            place = here;
            match (previous, node) {
                (Some(from), Some(to)) => track.link(taken, from, to, list.open),
                (None, Some(first)) if index == 0 => {
                    track.reach(taken.run, Rational::ZERO, first.at);
                }
                (None, Some(_)) | (_, None) => {}
            }
            previous = node;
        }
        track.finish(record, taken.run, previous, list.items.is_empty());
        track
    }

    fn node(&mut self, record: &Record, taken: &Taken, shot: ThingRef) -> Option<Node> {
        let at = chainage(record, shot, POINT_AT);
        let height = fact(record, shot, taken.fact);
        merge(&mut self.causes, at.err().into_iter().chain(height.err()));
        let node = Node {
            at: at.ok()?,
            height: height.ok()?.add(taken.raised),
            shot,
            fact: taken.fact,
        };
        self.nodes.push(node);
        Some(node)
    }

    /// Joins neighbours, unless another shot may lie between them.
    fn link(&mut self, taken: &Taken, from: Node, to: Node, is_open: bool) {
        let is_bridged = match (taken.gap, to.at.checked_subtract(from.at)) {
            (Some(gap), Some(width)) => width <= gap,
            (Some(_), None) => false,
            (None, _) => true,
        };
        if from.at == to.at {
            self.steps.push((from, to));
        } else if from.at > to.at {
            self.reach(taken.run, to.at, from.at);
        } else if !is_bridged {
            self.reach(taken.run, from.at, to.at);
        } else if !is_open {
            self.pieces.push(Piece { from, to });
        }
    }

    /// Why it lacks a stretch of its run; nothing where it lacks none. A shot of which something
    /// is missing may have told of a step, or of a stretch beyond the run's end.
    pub fn lacks_of(&self, record: &Record, run: ThingRef) -> Vec<Cause> {
        if self.lost.is_empty() {
            Profile::of(vec![self.clone()]).lacks_of(record, run)
        } else {
            self.causes.clone()
        }
    }

    /// Notes a stretch without heights, unless it is no stretch.
    fn reach(&mut self, run: ThingRef, from: Rational, to: Rational) {
        if from < to {
            let cause = Cause::Stretch {
                thing: run,
                from: Some(from),
                to: Some(to),
            };
            merge(&mut self.causes, [cause]);
        }
    }

    fn finish(&mut self, record: &Record, run: ThingRef, last: Option<Node>, is_empty: bool) {
        let reached = match last {
            Some(last) => last.at,
            None if is_empty && self.causes.is_empty() => Rational::ZERO,
            None => return,
        };
        match chainage(record, run, RUN_LENGTH) {
            Ok(length) => self.reach(run, reached, length),
            Err(cause) => merge(&mut self.causes, [cause]),
        }
    }
}

/// The height at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Height {
    /// Nobody measured it.
    Missing,
    /// Two lists exclude each other.
    Apart,
    /// It is known.
    Known(Both),
}

/// One height along a run, from all lists that give it.
#[derive(Debug, Clone)]
pub(super) struct Profile {
    /// By their start.
    pieces: Vec<Piece>,
    /// How far any piece up to this one reaches.
    reach: Vec<Rational>,
    /// By chainage.
    nodes: Vec<Node>,
    causes: Vec<Cause>,
    lost: Vec<Lost>,
    /// Whether a list that tells of it may hold more.
    is_open: bool,
}

impl Profile {
    /// Puts the tracks of one height together.
    ///
    /// Where none has a single height, the first tells what is missing.
    pub fn of(tracks: Vec<Track>) -> Profile {
        let is_empty = tracks.iter().all(|track| track.nodes.is_empty());
        let mut profile = Profile {
            pieces: Vec::new(),
            reach: Vec::new(),
            nodes: Vec::new(),
            causes: Vec::new(),
            lost: Vec::new(),
            is_open: false,
        };
        for (index, track) in tracks.into_iter().enumerate() {
            if !track.nodes.is_empty() || (is_empty && index == 0) {
                merge(&mut profile.causes, track.causes);
                profile.is_open |= track.is_open;
            }
            profile.lost.extend(track.lost);
            profile.pieces.extend(track.pieces);
            profile.nodes.extend(track.nodes);
        }
        profile.pieces.sort_by_key(|piece| piece.from.at);
        profile.nodes.sort_by_key(|node| node.at);
        let mut furthest = None;
        for piece in &profile.pieces {
            let reach = furthest.map_or(piece.to.at, |far: Rational| far.max(piece.to.at));
            furthest = Some(reach);
            profile.reach.push(reach);
        }
        profile
    }

    /// The chainages of its readings, in order.
    pub fn places(&self) -> impl Iterator<Item = Rational> {
        self.nodes.iter().map(|node| node.at)
    }

    /// Why it lacks a stretch of a run of this length; nothing where it lacks none.
    pub fn lacks(&self, length: Option<Rational>) -> &[Cause] {
        let covered = length.is_some_and(|length| self.covers(length));
        if covered { &[] } else { &self.causes }
    }

    /// Why it lacks a stretch of its run; nothing where it lacks none.
    pub fn lacks_of(&self, record: &Record, run: ThingRef) -> Vec<Cause> {
        match chainage(record, run, RUN_LENGTH) {
            Ok(length) => self.lacks(Some(length)).to_vec(),
            Err(cause) => {
                let mut causes = self.causes.clone();
                merge(&mut causes, [cause]);
                causes
            }
        }
    }

    /// Whether heights reach from end to end, and wherever a shot lost its own.
    fn covers(&self, length: Rational) -> bool {
        !self.nodes.is_empty()
            && (length > Rational::ZERO || !self.is_open)
            && self.spans_over(Rational::ZERO, length)
            && self.lost.iter().all(|lost| match *lost {
                (Some(one), Some(two)) => {
                    let (from, to) = (one.min(two), one.max(two));
                    self.at(from) != Height::Missing && self.spans_over(from, to)
                }
                (None, _) | (_, None) => false,
            })
    }

    /// Whether pieces reach from one place to another without a break.
    pub fn spans_over(&self, from: Rational, to: Rational) -> bool {
        let mut reached = from;
        for piece in &self.pieces {
            if piece.from.at > reached {
                break;
            }
            reached = reached.max(piece.to.at);
        }
        reached >= to
    }

    /// The height at a chainage.
    pub fn at(&self, place: Rational) -> Height {
        let heights = self.nodes_at(place).map(|node| node.height);
        let between = self
            .pieces_at(place)
            .map(|piece| interpolated(piece, place));
        heights
            .chain(between)
            .fold(Height::Missing, |known, height| match known {
                Height::Missing => Height::Known(height),
                Height::Apart => Height::Apart,
                Height::Known(known) => match known.agreed(height) {
                    Some(agreed) => Height::Known(agreed),
                    None => Height::Apart,
                },
            })
    }

    /// Every height between two places.
    pub fn range(&self, from: Rational, to: Rational) -> Height {
        if from < to && !self.spans_over(from, to) {
            return Height::Missing;
        }
        let inside = self.places().filter(|place| from < *place && *place < to);
        let mut heights = Height::Missing;
        for place in [from, to].into_iter().chain(inside) {
            heights = match (heights, self.at(place)) {
                (_, Height::Missing) => return Height::Missing,
                (_, Height::Apart) => return Height::Apart,
                (Height::Known(known), Height::Known(height)) => Height::Known(known.hull(height)),
                (Height::Missing | Height::Apart, height @ Height::Known(_)) => height,
            };
        }
        heights
    }

    /// The readings that give the height at a chainage.
    pub fn readings_at(&self, place: Rational) -> Vec<Node> {
        let between = self
            .pieces_at(place)
            .flat_map(|piece| [piece.from, piece.to]);
        self.nodes_at(place).copied().chain(between).collect()
    }

    /// What each list says of the height at a chainage, in words for a shot and for what lies
    /// between two.
    pub fn told_at(
        &self,
        record: &Record,
        place: Rational,
        [at_shot, between_shots]: [&'static str; 2],
    ) -> Vec<Told> {
        let shots = self.nodes_at(place).map(|node| Told {
            how: at_shot,
            value: node.height.banded,
            readings: spans(record, node.shot, node.fact),
        });
        let between = self.pieces_at(place).map(|piece| Told {
            how: between_shots,
            value: interpolated(piece, place).banded,
            readings: [piece.from, piece.to]
                .iter()
                .flat_map(|node| spans(record, node.shot, node.fact))
                .collect(),
        });
        shots.chain(between).collect()
    }

    /// A place between two, both included, where what the lists say excludes each other.
    pub fn disagreement(&self, from: Rational, to: Rational) -> Option<Rational> {
        let inside = self.places().filter(|place| from < *place && *place < to);
        let mut places = [from, to].into_iter().chain(inside);
        places.find(|place| self.at(*place) == Height::Apart)
    }

    fn nodes_at(&self, place: Rational) -> impl Iterator<Item = &Node> {
        let first = self.nodes.partition_point(|node| node.at < place);
        let here = self.nodes[first..].iter();
        here.take_while(move |node| node.at == place)
    }

    /// The pieces with this place strictly inside.
    fn pieces_at(&self, place: Rational) -> impl Iterator<Item = &Piece> {
        let end = self.pieces.partition_point(|piece| piece.from.at < place);
        let earlier = (0..end).rev();
        earlier
            .take_while(move |index| self.reach[*index] > place)
            .map(|index| &self.pieces[index])
            .filter(move |piece| piece.to.at > place)
    }
}

/// Between two shots: the mean of both, weighted by nearness. Each reading occurs once and no
/// weight is negative, so the interval is tight.
pub(super) fn interpolated(piece: &Piece, place: Rational) -> Both {
    let point = Interval::point;
    let width = point(piece.to.at).subtract(point(piece.from.at));
    let along = point(place).subtract(point(piece.from.at));
    let back = point(piece.to.at).subtract(point(place));
    let (Ok(later), Ok(earlier)) = (along.divide(width), back.divide(width)) else {
        return piece.from.height.hull(piece.to.height);
    };
    let from = piece.from.height.multiply(Both::same(earlier));
    from.add(piece.to.height.multiply(Both::same(later)))
}
