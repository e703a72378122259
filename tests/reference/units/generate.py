"""Writes units.csv: random conversions between the units that pint knows as well.

Seeded, so that the same version of pint (see requirements.txt) gives the same file; with
`--check` it is compared.

Our names differ from pint's where the trade's do; definitions that differ are left out, and said:
  - pint's `acre` and `survey_foot` go by the survey foot; we have neither.
  - pint's `kg` is a mass; ours is its weight, so `kg` stands for `kilogram_force`.
  - pint has several horsepowers; ours is 550 ft·lbf/s, its `horsepower` (mechanical).
  - pint's water column depends on a density; we have no unit of it.
  - pint's `inHg` is 13595.1 kg/m3 at standard gravity, the same as ours.
"""

import random
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))
import stored

import pint

SEED = 20260418
PER_PAIR = 3

# Our name for each unit, and pint's expression for it.
GROUPS = {
    "length": {"in": "inch", "ft": "foot", "yd": "yard", "mi": "mile", "kft": "1000 * foot",
               "mm": "mm", "cm": "cm", "m": "m", "km": "km"},
    "area": {"in2": "inch**2", "ft2": "foot**2", "m2": "m**2", "mm2": "mm**2"},
    "volume": {"ft3": "foot**3", "yd3": "yard**3", "m3": "m**3", "gal": "gallon", "L": "liter"},
    "flow": {"gpm": "gallon/minute", "gpd": "gallon/day", "gal/day": "gallon/day",
             "L/s": "liter/second", "L/min": "liter/minute", "m3/h": "m**3/hour",
             "ft3/s": "foot**3/second"},
    "pressure": {"psi": "psi", "psf": "force_pound/foot**2", "tsf": "2000*force_pound/foot**2",
                 "Pa": "pascal", "kPa": "kilopascal", "MPa": "megapascal", "bar": "bar",
                 "inHg": "inHg"},
    "force": {"lb": "force_pound", "kip": "1000*force_pound", "N": "newton", "kN": "kilonewton",
              "kg": "kilogram_force"},
    "unit_weight": {"lb/ft3": "force_pound/foot**3", "kN/m3": "kilonewton/m**3",
                    "kg/m3": "kilogram_force/m**3"},
    "time": {"s": "second", "min": "minute", "h": "hour", "d": "day", "day": "day"},
    "velocity": {"ft/s": "foot/second", "m/s": "m/second", "ft/min": "foot/minute"},
    "voltage": {"mV": "millivolt", "V": "volt", "kV": "kilovolt"},
    "current": {"mA": "milliampere", "A": "ampere"},
    "resistance": {"ohm": "ohm", "kohm": "kiloohm", "Mohm": "megaohm"},
    "ohms_along": {"ohm/kft": "ohm/(1000*foot)", "ohm/km": "ohm/km", "ohm/m": "ohm/m"},
    "power": {"W": "watt", "kW": "kilowatt", "hp": "horsepower",
              "ft·lb/s": "foot*force_pound/second"},
    "number": {"%": "0.01", "in/ft": "inch/foot", "mm/m": "mm/m", "ppm": "1e-6"},
    "temperature_difference": {"degF": "delta_degF", "degC": "delta_degC", "K": "kelvin"},
}


COLUMNS = ["kind", "number", "from", "to", "expected"]


def conversions():
    registry = pint.UnitRegistry()
    draw = random.Random(SEED)
    for units in GROUPS.values():
        for source, source_pint in units.items():
            for target, target_pint in units.items():
                if source == target:
                    continue
                for _ in range(PER_PAIR):
                    number = f"{draw.uniform(0.01, 5000):.{draw.randint(0, 4)}f}"
                    ratio = registry.Quantity(float(number), "") \
                        * registry.parse_expression(source_pint) \
                        / registry.parse_expression(target_pint)
                    value = ratio.to("dimensionless").magnitude
                    yield "difference", number, source, target, stored.number(value)
    for scale in ("degF", "degC"):
        for _ in range(30):
            number = f"{draw.uniform(-40, 250):.{draw.randint(0, 2)}f}"
            value = registry.Quantity(float(number), scale).to("kelvin").magnitude
            yield "point", number, scale, "K", stored.number(value)


def main():
    rows = [dict(zip(COLUMNS, conversion)) for conversion in conversions()]
    path = Path(__file__).parent / "units.csv"
    compare = stored.compare_tables({"expected": stored.TOLERANCE})
    stored.settle({path: (stored.table(COLUMNS, rows), compare)})


main()
