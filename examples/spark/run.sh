#!/bin/sh
# Screens a generated archive on a Spark cluster of two workers on this machine, and in one process,
# and compares the digests of the results: run.sh [RECORDS] [PARTITIONS]. Fails if they differ.
# Everything but Java lives in a folder that is gone afterwards. PYTHON names the interpreter (3.9
# or later), PROGRAM and GENERATOR what is run in place of a release build.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
records=${1:-20000}
partitions=${2:-8}
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT

if ! command -v java >/dev/null; then
    apt-get update -q
    apt-get install -qy --no-install-recommends openjdk-17-jre-headless
fi
"${PYTHON:-python3}" -m venv "$folder/venv"
python="$folder/venv/bin/python"
"$python" -m pip install --quiet --disable-pip-version-check --requirement "$here/requirements.txt"

manifest="$here/../../Cargo.toml"
if [ -z "${PROGRAM:-}" ] || [ -z "${GENERATOR:-}" ]; then
    cargo build --quiet --release --locked --manifest-path "$manifest" --bin groundrule --example generate_archive
fi
built="${CARGO_TARGET_DIR:-$here/../../target}/release"
program=$(realpath "${PROGRAM:-$built/groundrule}")
"${GENERATOR:-$built/examples/generate_archive}" "$records" >"$folder/archive.jsonl"

# A status from 0 to 3 says what was found.
"$program" screen - --as json <"$folder/archive.jsonl" >"$folder/one.jsonl" || [ $? -le 3 ]

PYSPARK_PYTHON="$python" SPARK_LOCAL_IP=127.0.0.1 SPARK_LOCAL_DIRS="$folder/spark" \
    "$python" "$here/screen_archive.py" "$program" "$folder/archive.jsonl" "$folder/many" "$partitions"

one=$(sha256sum <"$folder/one.jsonl")
many=$(cat "$folder"/many/part-* | sha256sum)
echo "one process: $one"
echo "the cluster: $many"
[ "$one" = "$many" ]
