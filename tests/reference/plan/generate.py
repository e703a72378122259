"""Distances between places in longitude and latitude, by geographiclib.

Each case is a lot anywhere between the latitudes of 75 degrees: a station and some wells within
half a kilometre of it. Coordinates are decimal strings, exact; a distance is that along the
geodesic on the WGS 84 ellipsoid, in metres.
"""

import random
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))
import stored

from geographiclib.geodesic import Geodesic

SEED = 7946
CASES = 200
WELLS = 3
FARTHEST = 500.0


def chosen_lots():
    """Lots at the edges: on the equator, the prime meridian, and near the limits of latitude."""
    return [(0.0, 0.0), (-0.0001, 0.0001), (75.0, 120.0), (-75.0, -179.0), (45.0, 179.9), (-33.9, 151.2)]


def random_lots(draw):
    for _ in range(CASES - len(chosen_lots())):
        yield draw.uniform(-75, 75), draw.uniform(-179.9, 179.9)


def place(draw, latitude, longitude):
    """A place near another, as decimal strings of longitude and latitude."""
    reach = draw.choice([1.0, 30.0, FARTHEST])
    there = Geodesic.WGS84.Direct(latitude, longitude, draw.uniform(0, 360), draw.uniform(0, reach))
    return [f"{there['lon2']:.9f}", f"{there['lat2']:.9f}"]


def distance(one, other):
    (lon1, lat1), (lon2, lat2) = (map(float, place) for place in (one, other))
    return Geodesic.WGS84.Inverse(lat1, lon1, lat2, lon2)["s12"]


def lot(draw, case, latitude, longitude):
    station = place(draw, latitude, longitude)
    wells = [place(draw, latitude, longitude) for _ in range(WELLS)]
    return {
        "case": case,
        "station": station,
        "wells": wells,
        "distances": [distance(station, well) for well in wells],
    }


def main():
    draw = random.Random(SEED)
    lots = chosen_lots() + list(random_lots(draw))
    cases = [lot(draw, case, *middle) for case, middle in enumerate(lots, start=1)]
    path = Path(__file__).parent / "plan.jsonl"
    stored.settle({path: (stored.json_lines(cases), stored.compare_json_lines)})


main()
