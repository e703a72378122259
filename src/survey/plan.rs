//! Distances between lines in plan.
//!
//! The tolerances of its coordinates move each vertex by at most r (the root of both squared).
//! Moving every vertex of two lines by r_a and r_b at most moves their distance by at most
//! r_a + r_b: distance = nominal ± (r_a + r_b), and never below 0.

use super::cause::{Cause, merge};
use super::slots::LineSlots;
use super::value::{Both, fact};
use crate::quantity::{Interval, Rational};
use crate::record::facts::{Record, ThingRef};
use crate::truth::Truth;

const ZERO: Interval = Interval::point(Rational::ZERO);
const ONE: Interval = Interval::point(Rational::ONE);

/// A point in plan. Coordinates are exact, or enclosures where exact numbers outgrew their type.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Vertex {
    north: Interval,
    east: Interval,
}

impl Vertex {
    fn to(self, other: Vertex) -> Vertex {
        Vertex {
            north: other.north.subtract(self.north),
            east: other.east.subtract(self.east),
        }
    }

    fn square(self) -> Interval {
        square(self.north).add(square(self.east))
    }

    /// Positive where `other` lies to one side, negative where it lies to the other.
    fn side(self, other: Vertex) -> Interval {
        let first = self.east.multiply(other.north);
        first.subtract(self.north.multiply(other.east))
    }

    fn dot(self, other: Vertex) -> Interval {
        let north = self.north.multiply(other.north);
        north.add(self.east.multiply(other.east))
    }
}

type Segment = (Vertex, Vertex);

/// Two segments that may meet.
#[derive(Debug, Clone, Copy)]
pub(super) struct Meeting {
    /// Which segment of the line, and which part of it.
    pub place: (usize, Interval),
    /// The same of the other line.
    pub other_place: (usize, Interval),
    /// Whether they cross wherever their vertices lie.
    pub is_sure: bool,
}

/// Where two lines are nearest.
#[derive(Debug, Clone, Copy)]
pub(super) struct Nearest {
    /// How far north the one lies of the other, and how far east.
    pub north: Interval,
    pub east: Interval,
    /// Which segment of the line, and which part of it.
    pub place: (usize, Interval),
    /// The same of the other line.
    pub other_place: (usize, Interval),
}

/// A line at its nominal place, and how far each vertex may lie from there.
#[derive(Debug, Clone)]
pub(super) struct Outline {
    vertices: Vec<Vertex>,
    displacement: Interval,
}

/// A line in plan as recorded, for both ways of judging.
pub(super) struct Recorded {
    pub banded: Outline,
    pub as_read: Outline,
}

impl Recorded {
    /// Reads a line; else why there is none. A vertex without coordinates leaves none, and so
    /// does one that was not written: where the line may turn aside between two known vertices,
    /// neither how near it comes nor whether it crosses can be told.
    pub fn read(
        record: &Record,
        thing: ThingRef,
        slots: LineSlots,
    ) -> Result<Recorded, Vec<Cause>> {
        let list = record.list(thing, slots.list);
        if list.items.is_empty() || list.open {
            return Err(vec![Cause::List {
                thing,
                list: slots.list,
            }]);
        }
        let mut causes = Vec::new();
        let mut read = Vec::new();
        for vertex in &list.items {
            let north = fact(record, *vertex, slots.northing);
            let east = fact(record, *vertex, slots.easting);
            match (north, east) {
                (Ok(north), Ok(east)) => read.push((north, east)),
                (north, east) => merge(&mut causes, north.err().into_iter().chain(east.err())),
            }
        }
        if !causes.is_empty() {
            return Err(causes);
        }
        let outline = |which: fn(&Both) -> Interval| {
            let vertices = read.iter();
            Outline::of(vertices.map(|(north, east)| (which(north), which(east))))
        };
        Ok(Recorded {
            banded: outline(|both| both.banded),
            as_read: outline(|both| both.as_read),
        })
    }
}

impl Outline {
    fn of(vertices: impl Iterator<Item = (Interval, Interval)>) -> Outline {
        let mut outline = Outline {
            vertices: Vec::new(),
            displacement: ZERO,
        };
        for (north, east) in vertices {
            let (north, north_half) = halves(north);
            let (east, east_half) = halves(east);
            let displacement = root(square(north_half).add(square(east_half)));
            outline.displacement = outline.displacement.greater(displacement);
            outline.vertices.push(Vertex { north, east });
        }
        outline
    }

    fn segments(&self) -> impl Iterator<Item = Segment> {
        let single = (self.vertices.len() == 1).then(|| (self.vertices[0], self.vertices[0]));
        let pairs = self.vertices.windows(2).map(|pair| (pair[0], pair[1]));
        pairs.chain(single)
    }

    fn pairs(&self, other: &Outline) -> impl Iterator<Item = (Segment, Segment)> {
        let others: Vec<_> = other.segments().collect();
        self.segments()
            .flat_map(move |left| others.clone().into_iter().map(move |right| (left, right)))
    }

    fn nominal_distance(&self, other: &Outline) -> Interval {
        let distances = self.pairs(other).map(|(left, right)| squared(left, right));
        root(
            distances
                .reduce(Interval::lesser)
                .unwrap_or(Interval::WHOLE),
        )
    }

    /// The level distance between two lines, wherever their vertices lie.
    pub fn distance(&self, other: &Outline) -> Interval {
        let slack = self.slack(other);
        let around = slack.hull(slack.negate());
        self.nominal_distance(other).add(around).greater(ZERO)
    }

    /// The most by which the distance may differ from the nominal one.
    fn slack(&self, other: &Outline) -> Interval {
        let slack = self.displacement.add(other.displacement);
        slack.upper().map_or(Interval::WHOLE, at_end)
    }

    /// The pairs of segments that may meet, and which part of each may lie where they do.
    ///
    /// What lies within the slack of a segment lies within it of the line through that segment:
    /// no farther from where the two lines cross than slack × length / (cross product).
    pub fn meetings(&self, other: &Outline) -> Vec<Meeting> {
        let slack = self.slack(other);
        let mut found = Vec::new();
        for (index, left) in self.segments().enumerate() {
            for (other_index, right) in other.segments().enumerate() {
                let distance = root(squared(left, right));
                if crate::quantity::is_more_than(distance, slack) == Truth::True {
                    continue;
                }
                let parts = part_near(left, right, slack).zip(part_near(right, left, slack));
                found.extend(parts.map(|(part, other_part)| Meeting {
                    place: (index, part),
                    other_place: (other_index, other_part),
                    is_sure: surely_cross(left, right, slack),
                }));
            }
        }
        found
    }

    /// The nearest nominal places of two lines; the first of several that are equally near.
    pub fn nearest(&self, other: &Outline) -> Option<Nearest> {
        let mut found: Option<(Interval, Nearest)> = None;
        for (index, left) in self.segments().enumerate() {
            for (other_index, right) in other.segments().enumerate() {
                let (parts, way) = nearest_parts(left, right);
                let squared = way.square();
                let is_nearer = |(known, _): &(Interval, Nearest)| squared.upper() < known.upper();
                if found.as_ref().is_none_or(is_nearer) {
                    let nearest = Nearest {
                        north: way.north,
                        east: way.east,
                        place: (index, parts.0),
                        other_place: (other_index, parts.1),
                    };
                    found = Some((squared, nearest));
                }
            }
        }
        found.map(|(_, nearest)| nearest)
    }

    /// The length of each segment between its nominal ends.
    pub fn segment_lengths(&self) -> Vec<Interval> {
        let lengths = self.segments().map(|(from, to)| root(from.to(to).square()));
        lengths.collect()
    }

    /// How far a vertex may lie from its nominal place.
    pub fn displacement(&self) -> Interval {
        self.displacement.upper().map_or(Interval::WHOLE, at_end)
    }

    /// The nominal places of the ends of each segment, north and east.
    pub fn segment_ends(&self) -> impl Iterator<Item = [(Interval, Interval); 2]> {
        let place = |vertex: Vertex| (vertex.north, vertex.east);
        self.segments()
            .map(move |(from, to)| [place(from), place(to)])
    }

    /// Whether two lines cross, wherever their vertices lie.
    pub fn crosses(&self, other: &Outline) -> Truth {
        let slack = self.slack(other);
        let surely = |(left, right): (Segment, Segment)| surely_cross(left, right, slack);
        if self.pairs(other).any(surely) {
            return Truth::True;
        }
        let apart = crate::quantity::is_more_than(self.nominal_distance(other), slack);
        match apart {
            Truth::True => Truth::False,
            Truth::False | Truth::Unknown => Truth::Unknown,
        }
    }
}

/// The part of the first segment that lies within the slack of the second, from 0 at its start
/// to 1 at its end; none where no part does.
fn part_near(first: Segment, second: Segment, slack: Interval) -> Option<Interval> {
    let whole = ZERO.hull(ONE);
    let along = first.0.to(first.1);
    let other = second.0.to(second.1);
    let turned = along.side(other);
    let between = first.0.to(second.0);
    let (Ok(middle), Ok(reach)) = (
        between.side(other).divide(turned),
        slack.multiply(root(other.square())).divide(turned),
    ) else {
        // Parallel, or so nearly that it can't be told.
        return Some(whole);
    };
    middle.add(reach.hull(reach.negate())).intersect(whole)
}

/// They cross, and no end lies so near the other segment that they might not.
fn surely_cross(left: Segment, right: Segment, slack: Interval) -> bool {
    let is_far = |end: Vertex, segment: Segment| {
        let distance = root(to_segment(end, segment));
        crate::quantity::is_more_than(distance, slack) == Truth::True
    };
    cross(left, right) == Truth::True
        && is_far(left.0, right)
        && is_far(left.1, right)
        && is_far(right.0, left)
        && is_far(right.1, left)
}

fn cross(left: Segment, right: Segment) -> Truth {
    divides(left, right).and(divides(right, left))
}

/// Whether the ends of the second lie strictly on two sides of the first.
fn divides(first: Segment, second: Segment) -> Truth {
    let along = first.0.to(first.1);
    let one = along.side(first.0.to(second.0));
    let two = along.side(first.0.to(second.1));
    crate::quantity::is_less_than(one.multiply(two), ZERO)
}

/// The square of the distance between two segments.
fn squared(left: Segment, right: Segment) -> Interval {
    let ends = [
        to_segment(left.0, right),
        to_segment(left.1, right),
        to_segment(right.0, left),
        to_segment(right.1, left),
    ];
    let nearest = ends.into_iter().fold(ends[0], Interval::lesser);
    match cross(left, right) {
        Truth::True => ZERO,
        Truth::False => nearest,
        Truth::Unknown => nearest.hull(ZERO),
    }
}

/// The square of the distance from a point to a segment.
fn to_segment(point: Vertex, (start, end): Segment) -> Interval {
    let along = start.to(end);
    let to_point = start.to(point);
    let Ok(part) = along.dot(to_point).divide(along.square()) else {
        // Both ends are one point, or so near that no direction can be told.
        return to_point.square().hull(end.to(point).square());
    };
    let part = part.greater(ZERO).lesser(ONE);
    let foot = Vertex {
        north: along.north.multiply(part),
        east: along.east.multiply(part),
    };
    foot.to(to_point).square()
}

/// The nearest parts of two segments, and the way from the second to the first there.
fn nearest_parts(left: Segment, right: Segment) -> ((Interval, Interval), Vertex) {
    let crossing = part_near(left, right, ZERO).zip(part_near(right, left, ZERO));
    if let (Truth::True, Some(parts)) = (cross(left, right), crossing) {
        let nothing = Vertex {
            north: ZERO,
            east: ZERO,
        };
        return (parts, nothing);
    }
    let foot = |point: Vertex, segment: Segment| {
        let along = segment.0.to(segment.1);
        let part = along.dot(segment.0.to(point)).divide(along.square());
        let part = part.unwrap_or(ZERO).greater(ZERO).lesser(ONE);
        let foot = Vertex {
            north: along.north.multiply(part),
            east: along.east.multiply(part),
        };
        (part, foot.to(segment.0.to(point)))
    };
    let ends = [(ZERO, left.0), (ONE, left.1)].map(|(part, end)| {
        let (other, way) = foot(end, right);
        ((part, other), way)
    });
    let others = [(ZERO, right.0), (ONE, right.1)].map(|(other, end)| {
        let (part, way) = foot(end, left);
        (
            (part, other),
            way.to(Vertex {
                north: ZERO,
                east: ZERO,
            }),
        )
    });
    let all = ends.into_iter().chain(others);
    all.reduce(|known, found| {
        let is_nearer = found.1.square().upper() < known.1.square().upper();
        if is_nearer { found } else { known }
    })
    .expect("two segments have four ends")
}

/// The middle of an interval and half its width.
pub(super) fn halves(interval: Interval) -> (Interval, Interval) {
    let (Some(lower), Some(upper)) = (interval.lower(), interval.upper()) else {
        return (ZERO, Interval::WHOLE);
    };
    let half = Interval::point(Rational::new(1, 2).expect("one half is a number"));
    let (lower, upper) = (at_end(lower), at_end(upper));
    let middle = lower.add(upper).multiply(half);
    (middle, upper.subtract(lower).multiply(half))
}

pub(super) fn square(value: Interval) -> Interval {
    value.power_integer(2).unwrap_or(Interval::WHOLE)
}

pub(super) fn root(value: Interval) -> Interval {
    value.greater(ZERO).root().unwrap_or(Interval::WHOLE)
}

pub(super) fn at_end(end: crate::quantity::End) -> Interval {
    Interval::new(end, end).unwrap_or(Interval::WHOLE)
}
