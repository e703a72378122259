"""Hazen-Williams friction of random pipes, by the EPANET engine that wntr ships.

One reservoir feeds every pipe, and each pipe ends in a demand: the flow is given, so the
engine's head loss is its formula alone. The engine answers in single precision: about seven
digits are meaningful.
"""

import math
import random
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))
import stored

from wntr.epanet import toolkit
from wntr.epanet.util import EN

SEED = 1852
CASES = 400
SINGLE_PRECISION = 1e-6
FT3_PER_GAL = 231 / 1728
M_PER_FT = 0.3048
COLUMNS = {
    "case": None,
    "flow_gpm": None,
    "inside_diameter_in": None,
    "length_ft": None,
    "c": None,
    "epanet_head_loss_ft": SINGLE_PRECISION,
    "epanet_velocity_ft_per_s": SINGLE_PRECISION,
    "closed_4_871_head_loss_ft": stored.TOLERANCE,
    "closed_4_8704_head_loss_ft": stored.TOLERANCE,
    "velocity_ft_per_s": stored.TOLERANCE,
}


def random_pipes():
    draw = random.Random(SEED)
    # Flows keep the velocity of most pipes in a sewer's range, so that no loss is lost in rounding.
    for case in range(1, CASES + 1):
        diameter = draw.randint(1000, 4000)
        speed = draw.uniform(0.5, 10)
        gpm = speed * math.pi / 4 * (diameter / 12000) ** 2 / FT3_PER_GAL * 60
        yield {
            "case": str(case),
            "flow_gpm": f"{gpm:.1f}",
            "inside_diameter_in": f"{diameter // 1000}.{diameter % 1000:03}",
            "length_ft": f"{draw.randint(100, 30000) / 10:.1f}",
            "c": str(draw.randint(100, 155)),
        }


def network(pipes):
    """The pipes as an EPANET input file in gallons a minute, feet and inches."""
    junctions = "".join(f"J{p['case']} 0 {p['flow_gpm']}\n" for p in pipes)
    links = "".join(
        f"P{p['case']} R J{p['case']} {p['length_ft']} {p['inside_diameter_in']} {p['c']} 0 Open\n"
        for p in pipes
    )
    return (
        f"[JUNCTIONS]\n{junctions}[RESERVOIRS]\nR 10000\n[PIPES]\n{links}"
        "[OPTIONS]\nUnits GPM\nHeadloss H-W\nAccuracy 0.00001\nTrials 200\n"
        "[TIMES]\nDuration 0\n[END]\n"
    )


def solved(pipes):
    """Head loss and velocity of each pipe, by the engine."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "pipes.inp"
        path.write_text(network(pipes))
        engine = toolkit.ENepanet()
        engine.ENopen(str(path), str(path.with_suffix(".rpt")), str(path.with_suffix(".bin")))
        engine.ENopenH()
        engine.ENinitH(0)
        engine.ENrunH()
        links = [engine.ENgetlinkindex(f"P{p['case']}") for p in pipes]
        results = [
            (engine.ENgetlinkvalue(link, EN.HEADLOSS), engine.ENgetlinkvalue(link, EN.VELOCITY)) for link in links
        ]
        engine.ENcloseH()
        engine.ENclose()
    return results


def closed_forms(pipe):
    """The two usual published forms, and the velocity."""
    gpm, inches, feet, c = (float(pipe[k]) for k in ("flow_gpm", "inside_diameter_in", "length_ft", "c"))
    cfs = gpm * FT3_PER_GAL / 60
    # The form EPANET states in its manual: feet and cubic feet a second.
    us = 4.727 * feet * cfs**1.852 / c**1.852 / (inches / 12) ** 4.871
    # The form in metres and cubic metres a second with the constants 10.67 and 4.8704.
    si = 10.67 * feet * (cfs * M_PER_FT**3) ** 1.852 / c**1.852 / (inches / 12 * M_PER_FT) ** 4.8704
    return us, si, cfs / (math.pi / 4 * (inches / 12) ** 2)


def main():
    pipes = list(random_pipes())
    for pipe, (loss, velocity) in zip(pipes, solved(pipes)):
        us, si, speed = closed_forms(pipe)
        pipe["epanet_head_loss_ft"] = stored.number(loss)
        pipe["epanet_velocity_ft_per_s"] = stored.number(velocity)
        pipe["closed_4_871_head_loss_ft"] = stored.number(us)
        pipe["closed_4_8704_head_loss_ft"] = stored.number(si)
        pipe["velocity_ft_per_s"] = stored.number(speed)
    computed = {column: tolerance for column, tolerance in COLUMNS.items() if tolerance}
    path = Path(__file__).parent / "friction.csv"
    stored.settle({path: (stored.table(list(COLUMNS), pipes), stored.compare_tables(computed))})


main()
