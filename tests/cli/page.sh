#!/usr/bin/env bash
# page.sh BUILD-FOLDER PROGRAM PAGE_HOLD: the live bench (src/page): its module against a native build with the C library that it is made from, bit
# for bit, for 400 s of actions on every engine; then the page in a browser, from file://.
set -euo pipefail
build=$1 program=$2 hold=$3 work=$1/page
fault() {
  printf '%s\n' "$*"
  exit 1
}
node=$(command -v node || command -v nodejs) || fault 'Node is missing: apt-get install nodejs'
chromium=$(command -v chromium) || fault 'the browser is missing: apt-get install chromium'

mkdir -p "$work"
version=$(sed -nE 's/^project\(bladegap VERSION ([0-9.]+).*/\1/p' CMakeLists.txt)
seen=$(realpath --relative-to=. "$build") # make takes a blank for the end of a name
make -s -j "$(nproc)" -f src/page/Makefile OUT="$seen/page" PACKED="$seen/engines_packed.c" VERSION="$version"
make -s -j "$(nproc)" -f tests/wasm/Makefile OUT="$seen/wasm" PACKED="$seen/engines_packed.c" VERSION="$version" "$seen/wasm/play_musl"
for model in models/*.cfg; do
  engine=$(basename "$model" .cfg)
  printf '%s\n' "bladegap-record 1 $engine" 'start state settled' '2 film_um 45 60' '70 electrical_load_w 900' '90 electrical_load_w 300' \
    '100 pedal_pct 8 2' '110 pedal_pct 0 1' '130 leak_mm2 6' '180 leak_mm2 0' '200 key off' '212 key on' '214 key start' '260 film_um 0' \
    '300 action reset_learned' '340 controller_frozen 1' '350 altitude_m 1200 30' '400 end' >"$work/record.txt"
  "$build/wasm/play_musl" <"$work/record.txt" >"$work/musl.txt"
  "$node" tests/page/play.js "$work/bladegap.wasm" src/page/core.js <"$work/record.txt" >"$work/wasm.txt"
  [ "$(wc -l <"$work/musl.txt")" = 400 ] || fault "$engine: the record ended early"
  cmp "$work/musl.txt" "$work/wasm.txt" || fault "$engine: the page's module and a native build with musl give different bits"
done

/usr/bin/env PYTHONDONTWRITEBYTECODE=1 python3 src/page/bundle.py "$work/bladegap.html" "$work/bladegap.wasm" "$program"
BLADEGAP_DATA=$work "$hold" "$work/held.html"
"$node" tests/page/browser.js "$work/bladegap.html" "$work/held.html" "$chromium"
# What was done there, played by the program: the same engine speed except for another C library's last digits, which a sticking blade and the
# scatter from cycle to cycle make larger; 0.7 rpm was seen for this record.
"$program" run "$work/page-record.txt" --format none --quiet --out "$work/played"
awk -F, -v seen="$(cat "$work/page-speed.txt")" 'NR == 1 { for (i = 1; i <= NF; i++) at[$i] = i; next } { speed = $at["speed_rpm"]; time = $at["time_s"] }
  END { split(seen, s, " "); off = speed - s[1]; exit !(off * off < 1 && (time - s[2]) * (time - s[2]) < 0.02) }' "$work/played/run.csv" ||
  fault "the program plays the record otherwise: $(tail -n 1 "$work/played/run.csv" | cut -c 1-30), in the page $(cat "$work/page-speed.txt")"

# The case that was answered there, marked by the program.
marked=$("$program" practice mark "$work/page-case.txt" | sed -nE 's/^Mark: ([0-9]+) of 100$/\1/p')
[ "$marked" = "$(cat "$work/page-mark.txt")" ] || fault "the program marks the page's case with $marked, the page with $(cat "$work/page-mark.txt")"

# Another folder's copy, opening on a scenario; what cannot be told in a page, and no page at all.
mkdir -p "$work/data"
cp -r models scenarios "$work/bladegap.html" "$work/data"
BLADEGAP_DATA=$work/data "$program" page film-droop --out "$work/droop.html" >/dev/null
grep -q '"begin": "bladegap-record 1 four-16' "$work/droop.html" || fault 'page SCENARIO does not open on it'
code=0
"$program" page no-such-scenario --out "$work/none.html" 2>"$work/none.txt" || code=$?
[ "$code" = 66 ] || fault "a scenario that is not there: exit code $code, not 66"
[ ! -e "$work/none.html" ] || fault 'a page was left behind'
