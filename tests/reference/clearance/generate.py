"""Clearances between random lines, points and areas, by shapely.

Most cases are random; a share is made so that the two touch, cross, run parallel or share a
stretch. Coordinates are decimal strings, exact; what shapely computed is a JSON number.
"""

import math
import random
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))
import stored

from shapely import LineString, Point, Polygon
from shapely.ops import nearest_points

SEED = 4326
CASES_EACH = 150
# Distances nearer to each other than this are a tie: which place is the nearest is left to rounding.
TIE = 1e-6
# So far from the nearest place the distance is greater by more than a tie, unless the two run parallel.
ASIDE = 0.1


def decimal(thousandths, places):
    """A whole number of thousandths as a decimal string with so many places, the rest cut off."""
    kept = thousandths // 10 ** (3 - places)
    sign, digits = ("-" if kept < 0 else ""), f"{abs(kept):0{places + 1}}"
    return f"{sign}{digits[:-places]}.{digits[-places:]}"


def random_point(draw, places):
    return [decimal(draw.randint(-20_000, 120_000), places) for _ in range(2)]


def random_line(draw, places):
    """Two to seven vertices, not crossing itself."""
    while True:
        line = [random_point(draw, places) for _ in range(draw.randint(2, 7))]
        if LineString(floats(line)).is_simple:
            return line


def random_area(draw, places):
    """The corners of an area about a centre, in order, not repeated at the end."""
    while True:
        x, y = (draw.randint(0, 100_000) for _ in range(2))
        turns = sorted(draw.uniform(0, 2 * math.pi) for _ in range(draw.randint(3, 8)))
        reach = [draw.randint(3_000, 25_000) for _ in turns]
        corners = [
            [decimal(x + round(r * math.cos(t)), places), decimal(y + round(r * math.sin(t)), places)]
            for t, r in zip(turns, reach)
        ]
        area = Polygon(floats(corners))
        if area.is_valid and area.area > 10:
            return corners


def chosen_pairs():
    """Pairs whose answer is known at sight, each with its kind."""
    flat = [["0.00", "0.00"], ["50.00", "0.00"], ["50.00", "30.00"]]
    square = [["10.00", "10.00"], ["20.00", "10.00"], ["20.00", "20.00"], ["10.00", "20.00"]]
    return [
        ("line", flat, [["10.00", "-5.00"], ["10.00", "5.00"]]),  # crosses square on
        ("line", flat, [["10.00", "0.00"], ["10.00", "5.00"]]),  # ends on it
        ("line", flat, [["50.00", "0.00"], ["80.00", "0.00"]]),  # starts at its vertex
        ("line", flat, [["50.00", "30.00"], ["50.00", "60.00"]]),  # goes on from its end
        ("line", flat, [["0.00", "0.00"], ["0.00", "-8.00"]]),  # both start at one point
        ("line", flat, [["5.00", "10.00"], ["45.00", "10.00"]]),  # parallel
        ("line", flat, [["20.00", "0.00"], ["30.00", "0.00"]]),  # lies on it
        ("line", flat, [["40.00", "10.00"], ["60.00", "10.00"], ["60.00", "20.00"], ["40.00", "20.00"]]),  # twice
        ("line", flat, flat),  # the same line
        ("line", flat, [["40.00", "-10.00"], ["60.00", "10.00"]]),  # through a vertex
        ("line", flat, [["70.00", "-10.00"], ["50.00", "-1.00"], ["30.00", "-10.00"]]),  # points at it
        ("point", flat, [["0.00", "0.00"]]),
        ("point", flat, [["25.00", "0.00"]]),
        ("point", flat, [["50.00", "0.00"]]),
        ("point", flat, [["-3.00", "-4.00"]]),  # 5 from the start
        ("point", flat, [["53.00", "34.00"]]),  # 5 from the end
        ("point", flat, [["25.00", "0.01"]]),
        ("area", flat, square),
        ("area", [["12.00", "12.00"], ["18.00", "18.00"]], square),  # inside
        ("area", [["0.00", "15.00"], ["30.00", "15.00"]], square),  # through
        ("area", [["0.00", "10.00"], ["30.00", "10.00"]], square),  # along a side
        ("area", [["0.00", "20.00"], ["20.00", "40.00"]], square),
        ("area", [["0.00", "0.00"], ["10.00", "10.00"]], square),  # to a corner
        ("area", [["0.00", "0.00"], ["6.00", "7.00"]], square),  # 5 from a corner
    ]


def random_pairs():
    draw = random.Random(SEED)
    makers = {"line": random_line, "point": lambda d, p: [random_point(d, p)], "area": random_area}
    for kind, make in makers.items():
        for case in range(CASES_EACH):
            places = 2 + case % 2
            yield kind, random_line(draw, places), make(draw, places)


def floats(vertices):
    return [(float(x), float(y)) for x, y in vertices]


def shape(kind, vertices):
    match kind:
        case "line":
            return LineString(floats(vertices))
        case "point":
            return Point(floats(vertices)[0])
        case "area":
            return Polygon(floats(vertices))


def nearest_chainage(line, other):
    """Where along the line the other is nearest; none where more than one place is."""
    distance = line.distance(other)
    if distance == 0:
        shared = line.intersection(other)
        return line.project(shared) if shared.geom_type == "Point" else None
    at = line.project(nearest_points(line, other)[0])
    places = [at + step for step in (-ASIDE, ASIDE) if 0 <= at + step <= line.length]
    corners = list(line.coords)
    for segment in map(LineString, zip(corners, corners[1:])):
        near = line.project(nearest_points(segment, other)[0])
        if abs(near - at) > ASIDE:
            places.append(near)
    tied = any(line.interpolate(place).distance(other) <= distance + TIE for place in places)
    return None if tied else at


def clearance(case, kind, first, second):
    line, other = shape("line", first), shape(kind, second)
    outline = other.exterior if kind == "area" else other
    return {
        "case": case,
        "first": first,
        "second_kind": kind,
        "second": second,
        "distance": line.distance(other),
        "distance_to_outline": line.distance(outline),
        "nearest_chainage": nearest_chainage(line, other),
        "length": line.length,
        "intersects": line.intersects(other),
        "crosses": line.crosses(other),
        "touches": line.touches(other),
    }


def main():
    pairs = chosen_pairs() + list(random_pairs())
    cases = [clearance(case, *pair) for case, pair in enumerate(pairs, start=1)]
    path = Path(__file__).parent / "clearance.jsonl"
    stored.settle({path: (stored.json_lines(cases), stored.compare_json_lines)})


main()
