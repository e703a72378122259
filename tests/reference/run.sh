#!/bin/sh
# Makes every reference again in a fresh environment and compares it with what is stored, and uses
# the language server as an editor does and a kept screening as a geographic program does. Fails if any differs. PYTHON names the interpreter (3.11 or
# later).
set -eu
here=$(cd "$(dirname "$0")" && pwd)
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT

"${PYTHON:-python3}" -m venv "$folder/venv"
python="$folder/venv/bin/python"
"$python" -m pip install --quiet --disable-pip-version-check --requirement "$here/requirements.txt"
"$python" -m pip install --quiet --disable-pip-version-check --no-deps --requirement "$here/requirements_data.txt"

failed=0
for reference in networks friction clearance cover plan units tables; do
    echo "$reference:"
    # The byte code stays out of the tree.
    PYTHONDONTWRITEBYTECODE=1 "$python" "$here/$reference/generate.py" --check || failed=1
done

echo "editor:"
cargo build --quiet --locked --manifest-path "$here/../../Cargo.toml"
program="${CARGO_TARGET_DIR:-$here/../../target}/debug/groundrule"
PYTHONDONTWRITEBYTECODE=1 "$python" "$here/editor/check.py" "$program" || failed=1

echo "kept:"
PYTHONDONTWRITEBYTECODE=1 "$python" "$here/kept/check.py" "$program" || failed=1

echo "signatures:"
sh "$here/signatures.sh" || failed=1
exit "$failed"
