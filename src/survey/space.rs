//! Distances between runs that are both drawn in plan and levelled.
//!
//! A run's axis lies half a diameter below its top. At its nominal place it is a line in space
//! with a vertex at each vertex of the plan and at each shot. In truth no point of it lies
//! farther from there than R: the root of the squares of r, by which a vertex of the plan may
//! be off, and of h, by which a height may be off. The latter is half the widest band of any
//! shot, and the steepest slope times the most by which a count along the line may be off.
//! Distance = nominal ± (R_a + R_b), and never below 0.

use super::along::{greatest_stray, sum};
use super::cover::crown_tracks;
use super::plan::{Outline, at_end, halves, root, square};
use super::profile::{Height, Profile};
use super::slots::ThingSlots;
use super::value::{Both, chainage, fact};
use crate::quantity::{Interval, Rational, is_at_most, is_less_than};
use crate::record::facts::{Record, ThingRef};
use crate::truth::Truth;
use crate::vocabulary::RUN_LENGTH;

const ZERO: Interval = Interval::point(Rational::ZERO);
const ONE: Interval = Interval::point(Rational::ONE);

/// The middle of a run, levelled from end to end.
pub(super) struct Axis {
    length: Rational,
    heights: Vec<(Rational, Both)>,
    /// From the middle to the outside.
    pub radius: Both,
}

impl Axis {
    /// Reads it; none where a height is missing or excludes another.
    pub fn of(record: &Record, slots: &ThingSlots, run: ThingRef) -> Option<Axis> {
        let half = Both::exactly(Rational::new(1, 2)?);
        let radius = fact(record, run, slots.outside_diameter?)
            .ok()?
            .multiply(half);
        let length = chainage(record, run, RUN_LENGTH).ok()?;
        let top = Profile::of(crown_tracks(record, slots, run));
        if length <= Rational::ZERO || !top.lacks(Some(length)).is_empty() {
            return None;
        }
        let mut places: Vec<_> = top.places().collect();
        places.dedup();
        let heights = places.into_iter().map(|place| match top.at(place) {
            Height::Known(height) => Some((place, height.subtract(radius))),
            Height::Missing | Height::Apart => None,
        });
        Some(Axis {
            length,
            heights: heights.collect::<Option<_>>()?,
            radius,
        })
    }

    /// The axis in space, for one way of judging.
    pub fn line(&self, outline: &Outline, which: fn(Both) -> Interval) -> Option<Line> {
        let nodes: Vec<_> = self
            .heights
            .iter()
            .map(|(place, height)| (*place, halves(which(*height))))
            .collect();
        let stray = greatest_stray(outline, self.length);
        let steepest = self.steepest(which)?;
        let band = nodes
            .iter()
            .fold(ZERO, |most, (_, (_, half))| most.greater(*half));
        let upright = band.add(steepest.multiply(stray.greater(stray.negate())));
        let middles: Vec<_> = nodes
            .iter()
            .map(|(place, (middle, _))| (*place, *middle))
            .collect();
        Some(Line {
            points: points(outline, &middles),
            displacement: root(square(outline.displacement()).add(square(upright))),
        })
    }

    /// No stretch is steeper than this, either way.
    fn steepest(&self, which: fn(Both) -> Interval) -> Option<Interval> {
        let mut steepest = ZERO;
        for pair in self.heights.windows(2) {
            let width = Interval::point(pair[1].0).subtract(Interval::point(pair[0].0));
            let drop = which(pair[0].1).subtract(which(pair[1].1));
            let slope = drop.divide(width).ok()?;
            steepest = steepest.greater(slope).greater(slope.negate());
        }
        steepest.upper().map(at_end)
    }
}

/// A line in space at its nominal place.
pub(super) struct Line {
    points: Vec<Point>,
    displacement: Interval,
}

#[derive(Clone, Copy)]
struct Point([Interval; 3]);

impl Point {
    fn to(self, other: Point) -> Point {
        Point(std::array::from_fn(|axis| {
            other.0[axis].subtract(self.0[axis])
        }))
    }

    fn dot(self, other: Point) -> Interval {
        let products = (0..3).map(|axis| self.0[axis].multiply(other.0[axis]));
        products.fold(ZERO, Interval::add)
    }

    fn square(self) -> Interval {
        let squares = self.0.iter().map(|value| square(*value));
        squares.fold(ZERO, Interval::add)
    }

    /// The point so far along the way to another.
    fn part(self, other: Point, part: Interval) -> Point {
        let way = self.to(other);
        Point(std::array::from_fn(|axis| {
            self.0[axis].add(way.0[axis].multiply(part))
        }))
    }
}

/// The vertices of the plan and the shots, in order along the line.
fn points(outline: &Outline, heights: &[(Rational, Interval)]) -> Vec<Point> {
    let lengths = outline.segment_lengths();
    let mut points = Vec::new();
    for (index, [from, to]) in outline.segment_ends().enumerate() {
        let start = sum(&lengths[..index]);
        let end = start.add(lengths[index]);
        let from = Point([from.0, from.1, height_at(heights, start)]);
        let to = Point([to.0, to.1, height_at(heights, end)]);
        points.push(from);
        for (place, height) in heights {
            let at = Interval::point(*place);
            let is_inside =
                is_less_than(start, at) == Truth::True && is_less_than(at, end) == Truth::True;
            let part = at.subtract(start).divide(lengths[index]);
            if let (true, Ok(part)) = (is_inside, part) {
                let Point([north, east, _]) = from.part(to, part);
                points.push(Point([north, east, *height]));
            }
        }
        points.push(to);
    }
    points
}

/// The nominal height at a place that is known as an enclosure: linear between shots, and level
/// before the first and beyond the last.
fn height_at(heights: &[(Rational, Interval)], place: Interval) -> Interval {
    let mut found: Option<Interval> = None;
    let mut add = |height: Interval| {
        found = Some(found.map_or(height, |known| known.hull(height)));
    };
    let ends = heights.first().zip(heights.last());
    let Some((first, last)) = ends else {
        return Interval::WHOLE;
    };
    if is_at_most(place, Interval::point(first.0)) != Truth::False {
        add(first.1);
    }
    if is_at_most(Interval::point(last.0), place) != Truth::False {
        add(last.1);
    }
    for pair in heights.windows(2) {
        let (from, to) = (Interval::point(pair[0].0), Interval::point(pair[1].0));
        let Some(inside) = place.intersect(from.hull(to)) else {
            continue;
        };
        let part = inside.subtract(from).divide(to.subtract(from));
        match part {
            // Each end occurs once in the weighted mean.
            Ok(part) => add(pair[0]
                .1
                .multiply(ONE.subtract(part))
                .add(pair[1].1.multiply(part))
                .intersect(pair[0].1.hull(pair[1].1))
                .unwrap_or(pair[0].1.hull(pair[1].1))),
            Err(_) => add(pair[0].1.hull(pair[1].1)),
        }
    }
    found.unwrap_or(Interval::WHOLE)
}

impl Line {
    /// The straight distance between two axes, wherever they lie inside their tolerances.
    pub fn distance(&self, other: &Line) -> Interval {
        let slack = self.displacement.add(other.displacement);
        let slack = slack.upper().map_or(Interval::WHOLE, at_end);
        let pairs = self
            .segments()
            .flat_map(|left| other.segments().map(move |right| squared(left, right)));
        let nominal = root(pairs.reduce(Interval::lesser).unwrap_or(Interval::WHOLE));
        nominal.add(slack.hull(slack.negate())).greater(ZERO)
    }

    fn segments(&self) -> impl Iterator<Item = (Point, Point)> {
        self.points.windows(2).map(|pair| (pair[0], pair[1]))
    }
}

/// The square of the distance between two segments: the least at their ends and where the common
/// upright of their lines stands, if it stands on both.
fn squared(left: (Point, Point), right: (Point, Point)) -> Interval {
    let ends = [
        to_segment(left.0, right),
        to_segment(left.1, right),
        to_segment(right.0, left),
        to_segment(right.1, left),
    ];
    let nearest = ends.into_iter().fold(ends[0], Interval::lesser);
    nearest.lesser(inside(left, right).unwrap_or(nearest))
}

/// Where the common upright of both lines stands, moved onto both segments; none where they are
/// parallel.
fn inside(left: (Point, Point), right: (Point, Point)) -> Option<Interval> {
    let (along, other) = (left.0.to(left.1), right.0.to(right.1));
    let between = right.0.to(left.0);
    let (a, b, c) = (along.square(), along.dot(other), other.square());
    let (d, e) = (along.dot(between), other.dot(between));
    let turned = a.multiply(c).subtract(square(b));
    if turned == ZERO {
        return None;
    }
    let part = b.multiply(e).subtract(c.multiply(d)).divide(turned);
    let other_part = a.multiply(e).subtract(b.multiply(d)).divide(turned);
    let whole = ZERO.hull(ONE);
    // Where no direction can be told, anything on both.
    let onto = |part: Interval| part.greater(ZERO).lesser(ONE);
    let part = part.map_or(whole, onto);
    let other_part = other_part.map_or(whole, onto);
    let foot = left.0.part(left.1, part);
    Some(foot.to(right.0.part(right.1, other_part)).square())
}

fn to_segment(point: Point, (start, end): (Point, Point)) -> Interval {
    let along = start.to(end);
    let Ok(part) = along.dot(start.to(point)).divide(along.square()) else {
        return start.to(point).square().hull(end.to(point).square());
    };
    let foot = start.part(end, part.greater(ZERO).lesser(ONE));
    foot.to(point).square()
}
