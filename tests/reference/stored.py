"""What the reference scripts share: how numbers are written, and how stored files are compared.

An input is a decimal string, compared to the letter. A computed value is a float, compared
within a tolerance, because the last digits may differ between platforms.
"""

import argparse
import csv
import io
import json
import math
import sys
from pathlib import Path

TOLERANCE = 1e-9
DIFFERENCES_SHOWN = 10


def number(value):
    """A computed value as text: the shortest decimal that reads back as the same float."""
    return repr(float(value))


def table(columns, rows):
    """Rows (dictionaries of text) as CSV with `\\n` line ends."""
    text = io.StringIO()
    writer = csv.DictWriter(text, columns, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()


def json_lines(cases):
    """One case a line, keys in the order given."""
    return "".join(json.dumps(case) + "\n" for case in cases)


def compare_exactly(stored, made):
    """Differences between two texts, line by line."""
    differences = []
    for line, (old, new) in enumerate(_paired(stored.splitlines(), made.splitlines()), start=1):
        if old != new:
            differences.append(f"line {line}: stored {old!r}, made {new!r}")
    if not differences and stored != made:
        differences.append("the line ends differ")
    return differences


def compare_tables(computed):
    """A comparison of CSV texts; `computed` maps a column to its tolerance, other columns are exact."""

    def compare(stored, made):
        old_rows, new_rows = (list(csv.reader(io.StringIO(text))) for text in (stored, made))
        if not old_rows or old_rows[0] != new_rows[0]:
            return [f"the columns differ: made {new_rows[0]}"]
        differences = []
        for line, (old, new) in enumerate(_paired(old_rows[1:], new_rows[1:]), start=2):
            if old is None or new is None or len(old) != len(new):
                differences.append(f"line {line}: stored {old}, made {new}")
                continue
            for column, before, after in zip(new_rows[0], old, new):
                if not _same_cell(before, after, computed.get(column)):
                    differences.append(f"line {line}, {column}: stored {before!r}, made {after!r}")
        return differences

    return compare


def compare_json_lines(stored, made):
    """Differences between JSON lines: floats within the tolerance, all else exactly."""
    differences = []
    for line, (old, new) in enumerate(_paired(stored.splitlines(), made.splitlines()), start=1):
        if old is None or new is None:
            differences.append(f"line {line}: stored {old}, made {new}")
        else:
            differences += [f"line {line}{at}" for at in _json_differences(json.loads(old), json.loads(new))]
    return differences


def settle(files, folder=None):
    """Writes the files, or with `--check` compares them with those stored and exits 1 if any differs.

    `files` maps a path to its text and the comparison for it. What else lies in `folder` is left
    over from an earlier run: removed, or with `--check` a difference.
    """
    parser = argparse.ArgumentParser()
    parser.add_argument("--check", action="store_true", help="compare with the stored files, write nothing")
    check = parser.parse_args().check
    left_over = sorted(set(Path(folder).iterdir()) - set(files)) if folder and Path(folder).exists() else []
    if check:
        _check(files, left_over)
        return
    for path in left_over:
        path.unlink()
    for path, (text, _) in files.items():
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")
    print(f"wrote {len(files)} files")


def _check(files, left_over):
    failed = bool(left_over)
    for path in left_over:
        print(f"{path.name}: stored, but no longer made", file=sys.stderr)
    for path, (text, compare) in files.items():
        if not path.exists():
            differences = ["not stored"]
        else:
            differences = compare(path.read_bytes().decode("utf-8"), text)
        if differences:
            failed = True
            print(f"{path.name}: {len(differences)} differences", file=sys.stderr)
            for difference in differences[:DIFFERENCES_SHOWN]:
                print(f"  {difference}", file=sys.stderr)
    if failed:
        sys.exit(1)
    print(f"{len(files)} files are as stored")


def _paired(old, new):
    length = max(len(old), len(new))
    return zip(old + [None] * (length - len(old)), new + [None] * (length - len(new)))


def _same_cell(before, after, tolerance):
    if before == after:
        return True
    if tolerance is None or not before or not after:
        return False
    return _close(float(before), float(after), tolerance)


def _close(before, after, tolerance=TOLERANCE):
    return math.isclose(before, after, rel_tol=tolerance, abs_tol=TOLERANCE)


def _json_differences(old, new, at=""):
    if isinstance(old, float) and isinstance(new, float):
        return [] if _close(old, new) else [f"{at}: stored {old}, made {new}"]
    if isinstance(old, dict) and isinstance(new, dict) and list(old) == list(new):
        return [d for key in old for d in _json_differences(old[key], new[key], f"{at}, {key}")]
    if isinstance(old, list) and isinstance(new, list) and len(old) == len(new):
        return [d for i, pair in enumerate(zip(old, new)) for d in _json_differences(*pair, f"{at}[{i}]")]
    return [] if old == new and type(old) is type(new) else [f"{at}: stored {old!r}, made {new!r}"]
