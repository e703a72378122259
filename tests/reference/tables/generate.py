"""Figures behind the model rules as general-purpose packages ship them: conductors, pipe, water.

electricalwiresizes sizes conductors by the Mexican standard NOM-001-SEDE-2012, which takes up the
tables of the NEC of its time; fluids has the dimension tables of the ASTM pipe standards; CoolProp
computes water by the IAPWS-95 formulation.
"""

import sys
from importlib import util
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))
import stored

from CoolProp.CoolProp import PropsSI
from fluids import piping

COLUMNS = ["table", "of", "size", "value", "unit", "package"]

# Places in a row of the package's table of copper conductors.
RESISTANCE_IN_PVC, AMPACITY_60 = 1, 7
GAUGES = ["14 AWG", "12 AWG", "10 AWG", "8 AWG", "6 AWG", "4 AWG"]

SIZES = {"1 1/4 in": 1.25, "1 1/2 in": 1.5, "2 in": 2.0}
# Our name for a pipe, and the package's suffixes of its diameters and walls, and of its sizes.
PIPES = {
    "pvc_40": ("40{}_D1785", "NPS_D1785"),
    "pvc_80": ("80{}_D1785", "NPS_D1785"),
    # Polyethylene by F2619 has the iron pipe diameters of D3035.
    "DR 7": ("DR7{}_F2619IPS", "NPSDR7_F2619"),
    "DR 9": ("DR9{}_F2619IPS", "NPSDR9_F2619"),
    "DR 11": ("DR11{}_F2619IPS", "NPSDR11_F2619"),
    "DR 13.5": ("DR135{}_D2241", "NPSDR135_D2241"),
    "DR 17": ("DR17{}_D2241", "NPSDR17_D2241"),
    "DR 21": ("DR21{}_D2241", "NPSDR21_D2241"),
    "DR 26": ("DR26{}_D2241", "NPSDR26_D2241"),
}

CELSIUS = 273.15
ATMOSPHERE = 101325


def conductor_tables():
    """The package's module of tables alone: the rest of it plots, and asks for what that takes."""
    folder = Path(util.find_spec("electricalwiresizes").origin).parent
    spec = util.spec_from_file_location("conductor_tables", folder / "bd.py")
    module = util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def conductors():
    package = "electricalwiresizes"
    bd = conductor_tables()
    rows = {row[0]: row for row in bd.dbConductorCu}
    for gauge in GAUGES:
        yield "ampacity_60", "copper", gauge, str(rows[gauge][AMPACITY_60]), "A", package
    for gauge in GAUGES:
        yield "resistance_in_pvc", "copper", gauge, str(rows[gauge][RESISTANCE_IN_PVC]), "ohm/km", package
    for rating in bd.SITM:
        if rating:
            yield "standard_rating", "breaker", "", str(rating), "A", package


def pipes():
    for pipe, (series, sizes) in PIPES.items():
        places = getattr(piping, sizes)
        for size, nominal in SIZES.items():
            place = places.index(nominal)
            for table, letter in (("outside_diameter", "o"), ("least_wall", "t")):
                value = getattr(piping, "S" + series.format(letter))[place]
                yield table, pipe, size, str(value), "mm", "fluids"


def water():
    for celsius in ("4", "10", "15", "20", "25"):
        density = PropsSI("D", "T", CELSIUS + float(celsius), "P", ATMOSPHERE, "Water")
        yield "density_of_water", f"{celsius} degC", "", stored.number(density), "kg/m3", "CoolProp"


def main():
    rows = [dict(zip(COLUMNS, row)) for part in (conductors, pipes, water) for row in part()]
    path = Path(__file__).parent / "tables.csv"
    compare = stored.compare_tables({"value": stored.TOLERANCE})
    stored.settle({path: (stored.table(COLUMNS, rows), compare)})


main()
