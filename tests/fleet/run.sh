#!/usr/bin/env bash
# Reads the table of the sample programs back with another engine and holds it against the report in JSON Lines.
set -euo pipefail
cd "$(dirname "$0")/../.."
here="${CARGO_TARGET_DIR:-target}"

if ! "$here/fleet-venv/bin/python" -c 'import duckdb' 2>/dev/null; then
  python3 -m venv "$here/fleet-venv" 2>/dev/null || {
    command -v apt-get >/dev/null 2>&1 || { echo "missing: python3 with venv" >&2; exit 1; }
    apt-get update -qq && apt-get install -y -qq python3-venv >/dev/null
    python3 -m venv "$here/fleet-venv"
  }
  "$here/fleet-venv/bin/pip" install --quiet --disable-pip-version-check 'duckdb>=1.1,<2'
fi

out="$(mktemp -d)"
trap 'rm -rf "$out"' EXIT
cargo build --locked --quiet --features parquet
# The samples hold faulty programs, so the exit code is not what is looked at here.
"$here/debug/lastply" check programs --date 2026-11-02 --format jsonl --table "$out/all.parquet" --exit-zero \
  >"$out/all.jsonl" 2>/dev/null
"$here/fleet-venv/bin/python" tests/fleet/read_back.py "$out/all.parquet" "$out/all.jsonl"

# A table that cannot be put in place leaves the old one whole and nothing beside it.
mkdir "$out/dir" && mkdir -p "$out/dir/taken.parquet/inside"
if "$here/debug/lastply" check programs --table "$out/dir/taken.parquet" >/dev/null 2>&1; then
  echo "a folder was overwritten" >&2; exit 1
fi
[ "$(ls -A "$out/dir")" = taken.parquet ] || { echo "something was left beside the table" >&2; exit 1; }
