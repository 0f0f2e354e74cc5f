#!/usr/bin/env bash
# sweep and merge: good and bad input; broken off and taken up; parts joined; a full disk. Truth: the command's contract, and
# the same bytes by every way.
. "$(dirname "$0")/common.sh"
model=models/four-16.cfg
altitudes=30 # a file of some MB
short && altitudes=9
points=$((100 * altitudes))
grid=(--vary film_um=0:99:1 --vary altitude_m=0:$((10 * (altitudes - 1))):10 --format none)

good "$points settled points over film_um and altitude_m" sweep "$model" "${grid[@]}" --out "$work/one" --threads 1
good . sweep "$model" "${grid[@]}" --out "$work/four" --threads 4
holds "one thread and four give the same bytes" cmp "$work/one/sweep.csv" "$work/four/sweep.csv"
holds "rows and header" awk -F, -v rows="$points" 'NR == 2 {ok = $1 == "film_um" && $2 == "altitude_m" && $3 == "outcome"} END {exit !(ok && NR == rows + 2)}' \
  "$work/one/sweep.csv"
good "$points of them were there already" sweep "$model" "${grid[@]}" --out "$work/one"

for i in 1 2 3; do good "part $i of 3" sweep "$model" "${grid[@]}" --out "$work/parts" --shard "$i/3"; done
good "$points rows of 3 files" merge "$work"/parts/sweep-{3,1,2}-of-3.csv --out "$work/merged.csv"
holds "merged parts are the whole" cmp "$work/merged.csv" "$work/one/sweep.csv"
good "\"rows\": $points" merge "$work"/parts/*.csv --out "$work/merged.csv" --json
bad 65 "rows $((points / 3 + 1)) to $((2 * points / 3)) are in none" merge "$work"/parts/sweep-{1,3}-of-3.csv --out "$work/gap.csv"
bad 65 'are in .* too' merge "$work"/parts/*.csv "$work/parts/sweep-2-of-3.csv" --out "$work/gap.csv"
head -n 100 "$work/parts/sweep-2-of-3.csv" >"$work/short.csv"
bad 65 "has 98 rows of $((points / 3))" merge "$work"/parts/sweep-{1,3}-of-3.csv "$work/short.csv" --out "$work/gap.csv"
bad 65 "not the file of a sweep" merge "$model" --out "$work/gap.csv"
bad 66 'nowhere' merge "$work/nowhere.csv" --out "$work/gap.csv"
bad 64 -- '--out' merge "$work"/parts/*.csv
bad 74 'full' merge "$work"/parts/*.csv --out /dev/full
holds "no gap.csv" test ! -e "$work/gap.csv"

# Broken off by a signal, taken up, the same bytes. Runs take long enough to be caught in the middle.
step=2
short && step=4
runs=(scenarios/stale-learned.cfg --vary "learned_pct=0:35:$step" --format none --quiet)
"$program" sweep "${runs[@]}" --out "$work/broken" --threads 1 & pid=$!
for _ in $(seq 200); do [ "$(cat "$work/broken/sweep.csv.partial" 2>/dev/null | wc -l)" -ge 4 ] && break; sleep 0.05; done
kill -TERM "$pid"
wait "$pid"
holds "SIGTERM ends it" test $? -eq 143
rows=$(wc -l <"$work/broken/sweep.csv.partial")
holds "whole rows stay, and no final file" test "$rows" -ge 4 -a "$rows" -lt "$((35 / step + 3))" -a ! -e "$work/broken/sweep.csv"
good '' sweep "${runs[@]}" --out "$work/broken"
good '' sweep "${runs[@]}" --out "$work/unbroken"
holds "taken up, it is as if never broken off" cmp "$work/broken/sweep.csv" "$work/unbroken/sweep.csv"
holds "nothing unfinished is left" test ! -e "$work/broken/sweep.csv.partial"

# A disk that fills in the middle: here a limit on the file's size.
(trap '' XFSZ; ulimit -f "$((points / 10))"; "$program" sweep "$model" "${grid[@]}" --out "$work/full" >"$work/.out" 2>"$work/.err")
code=$? out='' err=$(cat "$work/.err")
holds "a full disk is told with how to go on" test "$code" -eq 74
holds "and says so" grep -q 'give the same command again' "$work/.err"
good 'were there already' sweep "$model" "${grid[@]}" --out "$work/full"
holds "with room it is the whole" cmp "$work/full/sweep.csv" "$work/one/sweep.csv"

# Bad input.
bad 64 'give --vary' sweep "$model"
bad 64 "did you mean 'film_um'" sweep "$model" --vary film_mu=0:1:1 --out "$work/x"
bad 64 'empty' sweep "$model" --vary film_um=5:1:1 --out "$work/x"
bad 64 '1000001 points.*--yes' sweep "$model" --vary film_um=0:100:0.0001 --out "$work/x"
bad 64 'contradict' sweep "$model" --vary film_um=0:10:1 --set film_um=3 --out "$work/x"
bad 64 'given twice' sweep "$model" --vary film_um=0:10:1 --vary film_um=3,4 --out "$work/x"
bad 64 'contradict' sweep "$model" --vary learned_pct=0:10:1 --stale-learned 3 --out "$work/x"
bad 64 'once or twice' sweep "$model" --vary film_um=0,1 --vary altitude_m=0,1 --vary drag_nm=0,1 --out "$work/x"
bad 64 'out of range' sweep "$model" --vary film_um=0:1e5:1e4 --out "$work/x"
bad 64 'at throttle.closed_deg=8: pedal.opening_deg_by_pct point 5: y is 83; .*past 90' \
  sweep "$model" --vary throttle.closed_deg=6:9:1 --out "$work/x"
bad 64 'at film_um=0 crank.stall_rpm=450: .*below .supervision.running_rpm' \
  sweep "$model" --vary film_um=0:20:10 --vary crank.stall_rpm=350,450 --out "$work/x"
bad 64 'at crank.stall_rpm=450: ' sweep scenarios/load-steps.cfg --vary crank.stall_rpm=350,450 --out "$work/x"
bad 64 'bladegap: warmth.thermostat_opens_c is 86; it must be below' \
  sweep "$model" --vary film_um=0,1 --set warmth.thermostat_open_c=70 --out "$work/x"
good '' sweep "$model" --vary warmth.thermostat_open_c=72,80 --set warmth.thermostat_opens_c=71 --format none --out "$work/mended"
for shard in 0/3 4/3 1 1/3x a/b 4294967297/4294967298; do bad 64 'I/N' sweep "$model" --vary film_um=0,1 --shard "$shard" --out "$work/x"; done
bad 64 'threads' sweep "$model" --vary film_um=0,1 --threads 0
bad 66 'nowhere' sweep "$work/nowhere.cfg" --vary film_um=0,1
bad 73 'folder' sweep "$model" --vary film_um=0,1 --out /dev/null/x
holds "nothing was made for bad input" test ! -e "$work/x"
mkdir "$work/other" && cp "$work/one/sweep.csv" "$work/other/sweep.csv.partial"
bad 73 'other settings' sweep "$model" --vary film_um=0,1 --out "$work/other"
holds "and that is left alone" cmp "$work/other/sweep.csv.partial" "$work/one/sweep.csv"

good '^\{' sweep "$model" --vary film_um=0:100:25 --json --format none --out "$work/json"
holds "JSON: columns and rows" jq -e '.points == 5 and (.rows | length) == 5 and (.columns | index("speed_rpm")) as $s |
  .rows[0][$s] > .rows[4][$s]' "$work/.out" >/dev/null
# The text's numbers are the CSV's.
good 'The droop begins between film_um [0-9]+ and [0-9]+\.' sweep "$model" --vary film_um=0:200:5 --format none --out "$work/text"
cp "$work/.out" "$work/told"
holds "text: where each outcome begins, and the speeds there" awk -F, '
  FNR == NR {told = told "\n" $0; next}
  /^film_um/ {for (i = 1; i <= NF; i++) at[$i] = i; next}
  /^[0-9]/ {
    if (FNR > 3 && $3 >= 0 && $at["outcome"] != last) {
      what = $at["outcome"] == 1 ? "The droop" : "Stalling"
      if (!index(told, what " begins between film_um " film " and " $1 ".")) bad = 1
      changes++
    }
    last = $at["outcome"]; film = $1
    if ($at["outcome"] == 1) {if (first == "") first = sprintf("%.0f", $at["speed_rpm"]); slow = sprintf("%.0f", $at["speed_rpm"])}
    if ($at["P0506"] == 1 && code == "") code = $1
  }
  END {exit bad || changes != 2 || !index(told, first " to " slow) || !index(told, "P0506 would set at film_um " code " to ")}' \
  "$work/told" "$work/text/sweep.csv"
good 'droops from film_um' sweep "$model" --vary film_um=0:100:10 --vary altitude_m=0:3000:1500 --format none --out "$work/text2"
holds "text of two axes: none at 3000 m" grep -qE '^  3000 +- +- +-' "$work/.out"
good 'The first that stalls, or does not even start: film_um 150\.' sweep scenarios/air-conditioning.cfg --vary film_um=0,60,150 --format none --out "$work/text3"
holds "text of runs" grep -qE '^  0 +keeps running +[0-9]+ .* 850 +850$' "$work/.out"

# A file that was edited is refused, read or merged, and kept; the sum is FNV-1a, computed here by other code. An outcome that is none is told
# even where the sum was made to fit.
resum() { # FILE
  python3 - "$1" <<'PY'
import re, sys
first, rest = open(sys.argv[1], "rb").read().split(b"\n", 1)
total = 14695981039346656037
for byte in rest:
    total = (total ^ byte) * 1099511628211 % 2**64
open(sys.argv[1], "wb").write(re.sub(rb"sum [0-9a-f]{16}$", b"sum %016x" % total, first) + b"\n" + rest)
PY
}
small=("$model" --vary film_um=0:6:1 --format none)
good . sweep "${small[@]}" --out "$work/edited"
cp "$work/edited/sweep.csv" "$work/whole.csv"
resum "$work/edited/sweep.csv"
holds "the sum is FNV-1a over what follows the first line" cmp "$work/edited/sweep.csv" "$work/whole.csv"
sed -i '5s/8/9/' "$work/edited/sweep.csv"
cp "$work/edited/sweep.csv" "$work/changed.csv"
bad 65 'sweep\.csv: was changed since its sweep wrote it' sweep "${small[@]}" --out "$work/edited"
holds "and is left as it is" cmp "$work/edited/sweep.csv" "$work/changed.csv"
bad 65 'was changed since its sweep wrote it' merge "$work/edited/sweep.csv" --out "$work/gap.csv"
sed '$a1,2,3' "$work/whole.csv" >"$work/more.csv"
bad 65 'more\.csv:10: more rows than the first line says' merge "$work/more.csv" --out "$work/gap.csv"
sed '4s/^1,0,/1,123456789,/' "$work/whole.csv" >"$work/edited/sweep.csv"
resum "$work/edited/sweep.csv"
bad 65 'sweep\.csv:4: outcome 123456789; allowed: 0 to' sweep "${small[@]}" --out "$work/edited"
# an unfinished one: what its sum does not cover is computed anew
rm "$work/edited/sweep.csv" && sed '5s/8/9/' "$work/whole.csv" | head -n 8 >"$work/edited/sweep.csv.partial"
good . sweep "${small[@]}" --out "$work/edited"
holds "of an edited unfinished one no row is used" cmp "$work/edited/sweep.csv" "$work/whole.csv"

if command -v gnuplot >/dev/null; then
  good 'sweep\.png' sweep "$model" --vary film_um=0:100:5 --format both --out "$work/chart"
  holds "chart: codes are named" grep -q 'P0506' "$work/chart/sweep.svg"
  good 'sweep\.png' sweep "$model" --vary film_um=0:30:5 --out "$work/flat" # the lesson: still hidden
  holds "a flat line is a picture" test "$(head -c 4 "$work/flat/sweep.png" | tail -c 3)" = PNG
  good 'sweep-outcome\.svg' sweep "$model" --vary film_um=0:100:5 --format svg --for slide --out "$work/slides"
  holds "slides can be read" python3 tests/cli/picture_texts.py --slide "$work"/slides/*.svg
  good 'sweep-speed\.svg' sweep scenarios/stale-learned.cfg --vary learned_pct=0:40:20 --format svg --for slide --out "$work/few"
  holds "no slide without anything on it" test ! -e "$work/few/sweep-outcome.svg"
  holds "three points are not joined" env PYTHONPATH=tests/cli python3 -B -c '
import sys, picture_texts
svg = open(sys.argv[1], encoding="utf-8").read()
sys.exit(any(picture_texts.pieces_of(svg)) or len(list(picture_texts.marks_of(svg))) < 6)' "$work/few/sweep-speed.svg"
  good 'sweep-outcome\.svg' sweep scenarios/air-conditioning.cfg --vary film_um=0,60,150 --format svg --for slide --out "$work/notidle"
  holds "long names of states fit" python3 tests/cli/picture_texts.py --slide "$work/notidle/sweep-outcome.svg"
  good 'sweepmap\.svg' sweep "$model" --vary film_um=0:100:5 --vary altitude_m=0:3000:200 --format svg --for screen --out "$work/wide"
  holds "names of a map's axes stand clear of their numbers" python3 tests/cli/picture_texts.py --as-png "$work/wide/sweepmap.svg"
  holds "a sample of all conditions on all engines draws" python3 tests/cli/sweep_pictures.py "$program" "$work/sample" --sample 8 1 --pairs 4 7
  good 'sweepmap\.svg' sweep "$model" --vary film_um=0:100:5 --vary drag_nm=0:20:2 --format svg --out "$work/map"
  holds "map: lines are named" grep -q 'droops' "$work/map/sweepmap.svg"
  # The line of droop where the limit itself is varied: its film rises evenly with the limit. The field is column 4 of the script's grid.
  mkdir "$work/bin"
  printf '#!/bin/sh\ntee "%s" | "%s" "$@"\n' "$work/script" "$(command -v gnuplot)" >"$work/bin/gnuplot"
  chmod +x "$work/bin/gnuplot"
  PATH="$work/bin:$PATH" good 'sweepmap\.svg' sweep models/three-10.cfg --vary film_um=0:80:1 \
    --vary idle_air.learned_most_pct=10:60:1 --format svg --out "$work/limit"
  holds "map: the line of droop rises evenly with the limit" awk '
    /^\$grid/ {inside = 1; next}
    inside && NF < 4 && /[A-Z]/ {inside = 0}
    inside && NF >= 4 {if ($2 in film && field[$2] <= 0 && $4 > 0) at[$2] = film[$2] + ($1 - film[$2]) * field[$2] / (field[$2] - $4)
                       film[$2] = $1; field[$2] = $4}
    END {for (y = 11; y <= 60; y++) if (at[y] - at[y - 1] < 0.3 || at[y] - at[y - 1] > 1.5) bad++
         exit bad > 0 || !(60 in at)}' "$work/script"
fi
holds "nothing half-written" bash -c '[ -z "$(find "$1" -name "*.part-*" -print -quit)" ]' - "$work"
finish
