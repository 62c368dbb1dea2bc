#!/usr/bin/env bash
# Two packaged editors, without a screen, drive the language server: each opens, edits, sees a finding, takes its proved edit, saves.
# usage: run.sh LASTPLY
set -euo pipefail
lastply="$(realpath "$1")"
cd "$(dirname "$0")"

need() { # what is there with it, packages
  eval "$1" >/dev/null 2>&1 && return
  command -v apt-get >/dev/null 2>&1 || { echo "missing: ${*:2}" >&2; exit 1; }
  apt-get update -qq
  apt-get install -y -qq --no-install-recommends "${@:2}" >/dev/null
}
need "command -v nvim" neovim
need "emacs --batch --eval '(progn (package-initialize) (require (quote eglot)))'" emacs-nox elpa-eglot

folder="$(mktemp -d)"
trap 'rm -rf "$folder"' EXIT
cp ../../programs/root_plate/root_plate_op20.nc ../../programs/root_plate/root_plate_op20.job.toml "$folder"
program="$folder/root_plate_op20.nc"
cp "$program" "$folder/before"

saved() { # What was saved is the program as it was, but for the depth that the proved edit gives.
  sed 's/^N420 Z-43\.8 /N420 Z-43.78 /' "$folder/before" | cmp - "$program"
  "$lastply" check "$program" >/dev/null
  cp "$folder/before" "$program"
}

LASTPLY="$lastply" HOME="$folder" timeout 120 nvim --headless -u NONE -i NONE -n "$program" -c 'luafile drive.lua'
echo
saved

# The second is set up by the lines of the README.
mkdir "$folder/bin"
ln -s "$lastply" "$folder/bin/lastply"
awk '/^```$/ { inside = 0 } inside { print } /^```elisp$/ { inside = 1 }' ../../README.md >"$folder/init.el"
cp drive.el "$folder"
(cd "$folder" && PROGRAM="$program" PATH="$folder/bin:$PATH" HOME="$folder" timeout 120 emacs --batch -l drive.el 2>&1)
saved
echo "two editors opened, edited, saw the finding, took the proved edit and saved"
