"""Opens what a screening keeps as geographic programs do: with GDAL, through pyogrio and geopandas.

    check.py PROGRAM

Whatever GDAL finds to warn of is an error here. What it reads is held against what the same records
say as GeoJSON and as JSON.
"""

import json
import math
import subprocess
import sys
import tempfile
import warnings
from collections import Counter
from pathlib import Path

import geopandas
import pyogrio
from shapely.geometry import shape

ROOT = Path(__file__).parents[3]
RECORDS = ["demo/quern_landing", "demo/velder_mills/lot_07.yaml", "no_such_lot.yaml"]
SHARED = ["record", "lot", "rule", "title", "verdict", "due", "subject", "measured", "limit",
          "margin", "hazard", "hold", "caution", "line"]


def screened(program, *options):
    run = subprocess.run([program, "screen", *RECORDS, *options], cwd=ROOT, capture_output=True)
    assert run.returncode == 2, run.stderr.decode()
    return run.stdout.decode()


def plain(value):
    """A cell as JSON has it: nothing for what is missing, whole numbers for whole numbers."""
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return None
    return int(value) if isinstance(value, float) else value


def row(source):
    return tuple(plain(source.get(name)) for name in SHARED)


def main(program):
    warnings.simplefilter("error")
    folder = Path(tempfile.mkdtemp())
    file = folder / "kept.gpkg"
    # Twice, so that a second screening is in it.
    for _ in range(2):
        screened(program, "--keep", str(file), "--as", "json")
    layers = dict(pyogrio.list_layers(file))
    spatial = {name for name, kind in layers.items() if kind is not None}
    assert spatial == {"lots_on_map", "things_on_map", "findings_on_map"}, layers
    frames = {name: geopandas.read_file(file, layer=name) for name in layers}
    assert all(frames[name].crs == "EPSG:4326" for name in spatial)
    for name in spatial:
        info = pyogrio.read_info(file, layer=name, force_total_bounds=True)
        assert info["features"] == len(frames[name]) > 0, name
        least_x, least_y, most_x, most_y = info["total_bounds"]
        bounds = frames[name].total_bounds
        assert least_x <= bounds[0] and least_y <= bounds[1], name
        assert most_x >= bounds[2] and most_y >= bounds[3], name

    features = json.loads(screened(program, "--as", "geojson"))["features"]
    drawn = Counter(
        (row(feature["properties"]), shape(feature["geometry"]).wkt) for feature in features
    )
    held = Counter(
        (row(finding), finding["geometry"].wkt)
        for finding in frames["findings_on_map"].to_dict("records")
    )
    assert held == drawn, (held - drawn, drawn - held)

    reports = [json.loads(line) for line in screened(program, "--as", "json").splitlines()]
    said = Counter(
        (report["record"], finding["rule"], finding["verdict"], finding["measured"])
        for report in reports
        for finding in report.get("findings", [])
    )
    kept = Counter(
        (finding["record"], finding["rule"], finding["verdict"], plain(finding["measured"]))
        for finding in frames["findings"].to_dict("records")
    )
    assert kept == said, (kept - said, said - kept)
    lots = {lot["record"]: lot for lot in frames["lots"].to_dict("records")}
    assert len(lots) == len(reports)
    for report in reports:
        lot = lots[report["record"]]
        assert lot["status"] == report["exit_status"]
        assert all(lot[verdict] == count for verdict, count in report["counts"].items())
    assert len(frames["screenings"]) == 2
    assert len(frames["history"]) == 2 * len(reports)
    version = ".".join(str(part) for part in pyogrio.__gdal_version__)
    print(f"  GDAL {version}: {len(layers)} tables, {len(drawn)} findings on the map, no warning")


if __name__ == "__main__":
    main(str(Path(sys.argv[1]).resolve()))
