#!/usr/bin/env bash
# Holds the operator's sheet against a browser, an accessibility checker and a validator of HTML, and prints it.
# Pictures and PDFs stay in the folder it names last, to be looked at.
set -euo pipefail
here="$(cd "$(dirname "$0")" && pwd)"
root="$(cd "$here/../.." && pwd)"
target="${CARGO_TARGET_DIR:-$root/target}"
lastply="${LASTPLY:-$target/release/lastply}"
work="$target/page"

need() { # program, package
  command -v "$1" >/dev/null 2>&1 && return
  command -v apt-get >/dev/null 2>&1 || { echo "missing: $1" >&2; exit 1; }
  [ -n "${UPDATED:-}" ] || { apt-get update -qq; UPDATED=1; }
  apt-get install -y -qq "$2" >/dev/null
}
need chromium chromium
need npm npm
need pdftoppm poppler-utils

mkdir -p "$work"
cp "$here"/package.json "$here"/package-lock.json "$here"/look.mjs "$here"/.htmlvalidate.json "$work"
cd "$work"
rm -f ./*.html ./*.pdf ./*.png
[ node_modules/.package-lock.json -nt package-lock.json ] && [ package-lock.json -ot node_modules ] ||
  npm ci --no-audit --no-fund --ignore-scripts --silent

sheet() { # page, arguments: exit codes 1 and 3 are verdicts
  local page="$1" code=0
  shift
  "$lastply" sheet "$@" --out "$page.html" || code=$?
  case $code in 0 | 1 | 3) ;; *) echo "$page: exit code $code" >&2; exit 1 ;; esac
}
for program in "$root"/programs/*/*.nc; do
  sheet "$(basename "$program" .nc)" "$program"
done
plate="$root/programs/root_plate/root_plate_op20.nc"
sheet measured "$plate" --measured thickness=39.6mm --tool 11:stickout=61mm --date 2026-11-29
sheet letter "$root/programs/battery_lid/battery_lid_op10.nc" --paper letter
cp "$plate" alone.nc
sheet alone alone.nc --dialect shop
rm alone.nc

npx --no-install html-validate ./*.html
CHROMIUM="$(command -v chromium)" node look.mjs "$work" ./*.html

for page in *.pdf; do
  # Every page must read in black and white: a pixel with colour in it fails.
  pdftoppm -r 30 "$page" "${page%.pdf}"
  for picture in "${page%.pdf}"-*.ppm; do
    tail -c +16 "$picture" | od -An -v -tu1 -w3 |
      awk -v page="$page" '{ d = $1 > $2 ? $1 - $2 : $2 - $1; e = $2 > $3 ? $2 - $3 : $3 - $2
        if (NF == 3 && (d > 8 || e > 8)) { print page ": printed in colour"; exit 1 } }'
    rm "$picture"
  done
  size="$(pdfinfo "$page" | awk '/^Page size/ { print $3 " " $5 }')"
  case "$page $size" in
    "letter.pdf 612 792") ;;
    letter.pdf*) echo "$page: $size is not US Letter" >&2; exit 1 ;;
    *" 594.9"*" 841.9"* | *" 595"*" 842"*) ;;
    *) echo "$page: $size is not A4" >&2; exit 1 ;;
  esac
  pdftoppm -r 70 -png "$page" "${page%.pdf}-page"
done
echo "the sheets are in $work"
