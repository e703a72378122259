"""Conduits of the sewer networks that Python packages ship, with their slopes by those packages.

From each network's input file (the text format of the public-domain SWMM engine) come the
lengths, inverts and depths, as written there; from swmmio and from the engine itself the slopes.
Writes `networks.csv` (what was looked at), `conduits.csv`, and a record a network in `records/`.
"""

import ctypes
import hashlib
import logging
import sys
import tempfile
import warnings
from decimal import Decimal, Inexact, getcontext
from importlib.metadata import version
from importlib.util import find_spec
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))
import stored

HERE = Path(__file__).parent
# No decimal is rounded unnoticed.
getcontext().prec = 50
getcontext().traps[Inexact] = True
# Looked at in this order: of two networks with the same conduits the first is kept.
FOLDERS = [("swmmio", "tests/data"), ("pyswmm", "tests/data"), ("swmmanywhere", "defs")]
METRIC_FLOWS = {"CMS", "LPS", "MLD"}
# A run is unmeasured between shots farther apart than its greatest gap, 50 ft for a building sewer.
GREATEST_GAP = {"ft": Decimal(50), "m": Decimal("15.24")}
# The engine puts a least fall of 0.001 ft in the place of a smaller one, zero included.
ENGINE_LEAST_FALL = {"ft": Decimal("0.001"), "m": Decimal("0.001") * Decimal("0.3048")}
# Places of these values in the engine's public header, swmm5.h.
ENGINE_LINK, ENGINE_LINK_SLOPE = 3, 404

NETWORK_COLUMNS = [
    "network",
    "package",
    "version",
    "file",
    "sha256",
    "flow_units",
    "conduits",
    "kept",
    "swmmio_read",
    "engine_read",
]
TEXT_COLUMNS = [
    "id",
    "network",
    "conduit",
    "units",
    "length",
    "shape",
    "diameter",
    "from_node",
    "from_node_invert",
    "from_node_max_depth",
    "in_offset",
    "to_node",
    "to_node_invert",
    "to_node_max_depth",
    "out_offset",
    "upstream_invert",
    "downstream_invert",
    "upstream_ground",
    "downstream_ground",
    "fall",
]
SLOPE_COLUMNS = ["swmmio_fall_over_length", "engine_fall_over_plan", "engine_least_fall_applied"]


# The input file


def sections(path):
    """The lines of the file by section, each split into words, comments left out."""
    found, words = {}, None
    for line in path.read_text(encoding="latin-1").splitlines():
        line = line.split(";")[0].strip()
        if line.startswith("["):
            words = found.setdefault(line.strip("[]").upper(), [])
        elif line and words is not None:
            words.append(line.split())
    return found


def nodes(file):
    """Invert and greatest depth of each node as written; the depth is empty where the file gives none."""
    found = {}
    for name, invert, *rest in file.get("OUTFALLS", []):
        found[name] = (invert, "")
    for section in ("JUNCTIONS", "STORAGE"):
        for name, invert, *rest in file.get(section, []):
            depth = rest[0] if rest else "0"
            # A depth of zero means: up to the crown of the highest pipe. It says nothing about the ground.
            found[name] = (invert, depth if Decimal(depth) else "")
    for name, invert, _link, kind, *rest in file.get("DIVIDERS", []):
        depth = rest[{"OVERFLOW": 0, "CUTOFF": 1, "TABULAR": 1, "WEIR": 3}[kind.upper()] :][:1]
        found[name] = (invert, depth[0] if depth and Decimal(depth[0]) else "")
    return found


def plain(value):
    """A decimal without an exponent, with every digit it has."""
    return f"{value:f}"


def invert_and_ground(node_invert, depth, offset, offsets_are_elevations):
    """Invert and ground at one end of a conduit; the ground is empty where it is not known."""
    if offset == "*":
        invert = Decimal(node_invert)
    elif offsets_are_elevations:
        invert = Decimal(offset)
    else:
        invert = Decimal(node_invert) + Decimal(offset)
    ground = plain(Decimal(node_invert) + Decimal(depth)) if depth else ""
    return plain(invert), ground


def conduits(network, file):
    """The conduits in the order of the file; one that hangs on no node with an invert is left out."""
    options = {words[0].upper(): words[1].upper() for words in file.get("OPTIONS", []) if len(words) > 1}
    units = "m" if options.get("FLOW_UNITS") in METRIC_FLOWS else "ft"
    elevations = options.get("LINK_OFFSETS") == "ELEVATION"
    shapes = {words[0]: words[1:3] for words in file.get("XSECTIONS", [])}
    known = nodes(file)
    found = []
    for name, start, finish, length, _roughness, *offsets in file.get("CONDUITS", []):
        if start not in known or finish not in known:
            continue
        in_offset, out_offset = (offsets + ["0", "0"])[:2]
        upstream, upstream_ground = invert_and_ground(*known[start], in_offset, elevations)
        downstream, downstream_ground = invert_and_ground(*known[finish], out_offset, elevations)
        shape, size = shapes.get(name, ["", ""])
        found.append(
            {
                "network": network,
                "conduit": name,
                "units": units,
                "length": length,
                "shape": shape.upper(),
                "diameter": size if shape.upper() == "CIRCULAR" else "",
                "from_node": start,
                "from_node_invert": known[start][0],
                "from_node_max_depth": known[start][1],
                "in_offset": in_offset,
                "to_node": finish,
                "to_node_invert": known[finish][0],
                "to_node_max_depth": known[finish][1],
                "out_offset": out_offset,
                "upstream_invert": upstream,
                "downstream_invert": downstream,
                "upstream_ground": upstream_ground,
                "downstream_ground": downstream_ground,
                "fall": plain(Decimal(upstream) - Decimal(downstream)),
            }
        )
    return found


# Slopes by the packages


def swmmio_slopes(path):
    """swmmio's `SlopeFtPerFt` by conduit: fall over length along the pipe.

    Fewer, or none, where swmmio can't read the file.
    """
    import swmmio

    try:
        frame = swmmio.Model(str(path)).conduits()
    except (ValueError, KeyError):
        # It stops at files whose nodes have numbers for names, and at those with nothing in them.
        return {}
    frame = frame.set_index("Name") if "Name" in frame.columns else frame
    return {str(name): slope for name, slope in frame["SlopeFtPerFt"].items() if slope == slope}


def engine_slopes(path):
    """The engine's slope by conduit: fall over the plan length, the pipe's own length being the slanting side.

    Negative where the conduit falls towards its start: the engine then turns it round and says so in its
    direction. None where the engine refuses the file.
    """
    from swmm.toolkit import solver

    # The Python binding has no call for the slope, so the library beside it is asked. Both are one library.
    library = ctypes.CDLL(next(str(p) for p in Path(solver.__file__).parent.iterdir() if "swmm5" in p.name))
    library.swmm_getValue.restype = ctypes.c_double
    library.swmm_getValue.argtypes = [ctypes.c_int, ctypes.c_int]
    library.swmm_getCount.argtypes = [ctypes.c_int]
    library.swmm_getName.argtypes = [ctypes.c_int, ctypes.c_int, ctypes.c_char_p, ctypes.c_int]
    slopes = {}
    with tempfile.TemporaryDirectory() as folder:
        report, output = (str(Path(folder) / name).encode() for name in ("run.rpt", "run.out"))
        if library.swmm_open(str(path).encode(), report, output) == 0 and library.swmm_start(0) == 0:
            name = ctypes.create_string_buffer(256)
            for link in range(library.swmm_getCount(ENGINE_LINK)):
                library.swmm_getName(ENGINE_LINK, link, name, len(name))
                direction = solver.link_get_direction(link)
                slopes[name.value.decode("latin-1")] = library.swmm_getValue(ENGINE_LINK_SLOPE, link) * direction
            library.swmm_end()
        library.swmm_close()
    return slopes


def plain_copy(rows, path):
    """A file with the conduits alone, for a package that stops at something else in the network's own.

    Every node becomes a junction with a letter before its name, every pipe round: neither has a part
    in the slope. The engine wants an outlet and a routing that bears adverse falls.
    """
    inverts = {}
    for row in rows:
        inverts[row["from_node"]] = row["from_node_invert"]
        inverts[row["to_node"]] = row["to_node_invert"]
    flow_units = "CMS" if rows[0]["units"] == "m" else "CFS"
    path.write_text(
        f"[OPTIONS]\nFLOW_UNITS {flow_units}\nFLOW_ROUTING DYNWAVE\nLINK_OFFSETS DEPTH\n"
        "START_DATE 01/01/2026\nEND_DATE 01/02/2026\n"
        + "[JUNCTIONS]\n"
        + "".join(f"N{name} {invert} 0 0 0 0\n" for name, invert in inverts.items())
        + f"[OUTFALLS]\nOutlet {rows[0]['from_node_invert']} FREE NO\n"
        + "[CONDUITS]\n"
        + "".join(
            f"{row['conduit']} N{row['from_node']} N{row['to_node']} {row['length']} 0.01 "
            f"{depth_offset(row, 'upstream', 'from')} {depth_offset(row, 'downstream', 'to')} 0 0\n"
            for row in rows
        )
        + f"To-outlet N{rows[0]['from_node']} Outlet 100 0.01 0 0 0 0\n"
        + "[XSECTIONS]\n"
        + "".join(f"{name} CIRCULAR 1 0 0 0 1\n" for name in [r["conduit"] for r in rows] + ["To-outlet"])
        + "[COORDINATES]\n"
        + "".join(f"{name} 0 0\n" for name in [f"N{node}" for node in inverts] + ["Outlet"])
    )
    return path


def depth_offset(row, end_name, node):
    """How far above its node's invert a conduit ends, however the network's own file says it."""
    return plain(Decimal(row[f"{end_name}_invert"]) - Decimal(row[f"{node}_node_invert"]))


def slopes_and_source(slopes_of, rows, path):
    """A package's slopes for the rows, and whether it read the network's own file or the plain copy."""
    names = {row["conduit"] for row in rows}
    own = slopes_of(path)
    if names <= set(own):
        return own, "own file"
    with tempfile.TemporaryDirectory() as folder:
        copied = slopes_of(plain_copy(rows, Path(folder) / "plain.inp"))
    if not names <= set(copied):
        sys.exit(f"{path.name}: no slope for {sorted(names - set(copied))}")
    return copied, "plain copy"


def with_slopes(rows, path):
    """Adds identifiers and the packages' slopes to the rows; tells what each package read."""
    by_swmmio, swmmio_read = slopes_and_source(swmmio_slopes, rows, path)
    by_engine, engine_read = slopes_and_source(engine_slopes, rows, path)
    for row in rows:
        name = row["conduit"]
        row["id"] = f"C-{row['network']}-{name}".replace(":", "_")
        row["swmmio_fall_over_length"] = stored.number(by_swmmio[name])
        row["engine_fall_over_plan"] = stored.number(by_engine[name])
        least = ENGINE_LEAST_FALL[row["units"]]
        row["engine_least_fall_applied"] = "yes" if abs(Decimal(row["fall"])) < least else "no"
    return {"swmmio_read": swmmio_read, "engine_read": engine_read}


# Records


def record(network, rows):
    """The network as a record, each conduit a building sewer."""
    sewers = "".join(sewer(row) for row in rows)
    return (
        f"# Made by generate.py from the network {network}: see networks.csv. Lot, place and permit are invented.\n"
        "record: 1\n"
        f"lot: {network}\n"
        "place: reference/networks\n"
        "permits:\n"
        "  plumbing: { number: REF-1, issued: 2026-01-01 }\n"
        "recorded: { by: reference script, role: tester, date: 2026-01-02 }\n"
        "stage: later\n"
        "tolerances: exact\n"
        "datum: datum of the network\n"
        f"building_sewers:\n{sewers}"
    )


def sewer(row):
    unit = row["units"]
    shots = "".join(f"      - {{ {shot} }}\n" for shot in shots_along(row, unit))
    return f'  - id: "{row["id"]}"\n    length: {plain(Decimal(row["length"]))} {unit}\n    shots:\n{shots}'


def shots_along(row, unit):
    """Shots at both ends, and between them so that no gap is too wide.

    A conduit is straight, so the inverts between are on the line from end to end. Its length is
    halved until the gaps fit, because halves of decimals are decimals: the fall stays exact. The
    ground between is not in the network, and not in the record.
    """
    length, start, finish = (Decimal(row[k]) for k in ("length", "upstream_invert", "downstream_invert"))
    stretches = 1
    while length / stretches > GREATEST_GAP[unit]:
        stretches *= 2
    for part in range(stretches + 1):
        ground = {0: row["upstream_ground"], stretches: row["downstream_ground"]}.get(part, "")
        at = plain(trimmed(length * part / stretches))
        invert = plain(trimmed(start + (finish - start) * part / stretches))
        yield f"at: {at} {unit}, " + (f"ground: {ground} {unit}, " if ground else "") + f"invert: {invert} {unit}"


def trimmed(value):
    """Without the zeros that division leaves behind."""
    return value.normalize() if value else Decimal(0)


# All of it


def input_files():
    for package, folder in FOLDERS:
        # Found without importing: one of the packages is there for its files only.
        root = Path(find_spec(package).origin).parent
        for path in sorted((root / folder).glob("*.inp")):
            yield package, path, path.relative_to(root.parent).as_posix()


def main():
    warnings.simplefilter("ignore")
    logging.disable(logging.CRITICAL)
    networks, all_rows, seen, files = [], [], {}, {}
    for package, path, file_name in input_files():
        network = f"{package}-{path.stem}".lower().replace("_", "-")
        file = sections(path)
        rows = conduits(network, file)
        same = tuple(tuple(v for k, v in row.items() if k != "network") for row in rows)
        flow_units = next((w[1] for w in file.get("OPTIONS", []) if w[0].upper() == "FLOW_UNITS"), "")
        read = {"swmmio_read": "", "engine_read": ""}
        if not rows:
            kept = "no: nothing in it"
        elif same in seen:
            kept = f"no: same conduits as {seen[same]}"
        else:
            kept, seen[same] = "yes", network
            read = with_slopes(rows, path)
            all_rows += rows
            files[HERE / "records" / f"{network}.yaml"] = (record(network, rows), stored.compare_exactly)
        networks.append(
            {
                "network": network,
                "package": package,
                "version": version(package),
                "file": file_name,
                "sha256": hashlib.sha256(path.read_bytes()).hexdigest(),
                "flow_units": flow_units,
                "conduits": str(len(rows)),
                "kept": kept,
                **read,
            }
        )
    ids = [row["id"] for row in all_rows]
    if len(set(ids)) != len(ids):
        sys.exit(f"ids twice: {sorted(i for i in set(ids) if ids.count(i) > 1)}")
    files[HERE / "networks.csv"] = (stored.table(NETWORK_COLUMNS, networks), stored.compare_exactly)
    computed = {"swmmio_fall_over_length": stored.TOLERANCE, "engine_fall_over_plan": stored.TOLERANCE}
    files[HERE / "conduits.csv"] = (
        stored.table(TEXT_COLUMNS + SLOPE_COLUMNS, all_rows),
        stored.compare_tables(computed),
    )
    stored.settle(files, HERE / "records")


main()
