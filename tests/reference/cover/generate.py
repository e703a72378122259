"""Cover over random pipes: ground and top of pipe with stations of their own, by numpy.

Both profiles are interpolated at the stations of both together; between two of these the cover is
linear, so that its extremes lie there. Stations and elevations are decimal strings, exact; what
numpy computed is a JSON number.
"""

import random
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))
import stored

import numpy

SEED = 704
CASES = 400
# Covers nearer to each other than this count as equal.
TIE = 1e-9


def hundredths(value):
    sign, digits = ("-" if value < 0 else ""), f"{abs(value):03}"
    return f"{sign}{digits[:-2]}.{digits[-2:]}"


def random_profile(draw, length, start, fall, waver):
    """Stations from 0 to the length, and an elevation at each, in hundredths: a fall with some waver."""
    stations = sorted({0, length, *(draw.randint(1, length - 1) for _ in range(draw.randint(0, 8)))})
    return [
        {"at": hundredths(at), "elevation": hundredths(start - fall * at // length + draw.randint(-waver, waver))}
        for at in stations
    ]


def random_cases():
    draw = random.Random(SEED)
    for case in range(1, CASES + 1):
        length = draw.randint(500, 40_000)
        start = draw.randint(-1_000, 90_000)
        # Every tenth pipe lies near the ground, and may come out of it.
        depth = draw.randint(0, 60) if case % 10 == 0 else draw.randint(150, 900)
        ground = random_profile(draw, length, start, draw.randint(-200, 800), draw.choice([0, 20, 100]))
        pipe = random_profile(draw, length, start - depth, draw.randint(-50, 800), draw.choice([0, 5, 30]))
        yield {"case": case, "length": hundredths(length), "ground": ground, "top_of_pipe": pipe}


def columns(profile):
    return (numpy.array([float(shot[key]) for shot in profile]) for key in ("at", "elevation"))


def with_cover(case):
    ground_at, ground = columns(case["ground"])
    pipe_at, pipe = columns(case["top_of_pipe"])
    stations = numpy.union1d(ground_at, pipe_at)
    cover = numpy.interp(stations, ground_at, ground) - numpy.interp(stations, pipe_at, pipe)
    falls = -numpy.diff(pipe) / numpy.diff(pipe_at)
    least, greatest = cover.min(), cover.max()
    return case | {
        "least_cover": float(least),
        # More than one station where the least is reached more than once.
        "least_cover_at": [float(at) for at in stations[cover <= least + TIE]],
        "greatest_cover": float(greatest),
        "greatest_cover_at": [float(at) for at in stations[cover >= greatest - TIE]],
        "least_fall": float(falls.min()),
        "greatest_fall": float(falls.max()),
    }


def main():
    cases = [with_cover(case) for case in random_cases()]
    path = Path(__file__).parent / "cover.jsonl"
    stored.settle({path: (stored.json_lines(cases), stored.compare_json_lines)})


main()
