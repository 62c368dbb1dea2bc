#!/usr/bin/env bash
# A packaged editor, without a screen, drives the language server: opens, edits, sees a finding, takes its proved edit, saves.
# usage: run.sh LASTPLY
set -euo pipefail
lastply="$(realpath "$1")"
cd "$(dirname "$0")"

if ! command -v nvim >/dev/null 2>&1; then
  command -v apt-get >/dev/null 2>&1 || { echo "missing: nvim" >&2; exit 1; }
  apt-get update -qq
  apt-get install -y -qq --no-install-recommends neovim >/dev/null
fi

folder="$(mktemp -d)"
trap 'rm -rf "$folder"' EXIT
cp ../../programs/root_plate/root_plate_op20.nc ../../programs/root_plate/root_plate_op20.job.toml "$folder"
program="$folder/root_plate_op20.nc"
cp "$program" "$folder/before"

LASTPLY="$lastply" HOME="$folder" timeout 120 nvim --headless -u NONE -i NONE -n "$program" -c 'luafile drive.lua'
echo

# What was saved is the program as it was, but for the depth that the proved edit gives.
sed 's/^N420 Z-43\.8 /N420 Z-43.78 /' "$folder/before" | cmp - "$program"
"$lastply" check "$program" >/dev/null
echo "an editor opened, edited, saw the finding, took the proved edit and saved"
