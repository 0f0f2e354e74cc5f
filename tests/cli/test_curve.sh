#!/usr/bin/env bash
# curve: text, JSON, files, and a sentence for every log that cannot serve. Truth: the logs of scenarios/logs (a film of 45 um takes 28 % of
# all that lets air in at the opening at which that run idles, and 32 % of what passes the blade: area_mm2 over clean_area_mm2).
. "$(dirname "$0")/common.sh"
film=scenarios/logs/opening-film.csv
clean=scenarios/logs/opening-clean.csv
known=(--displacement-cc 1600 --altitude 0)

good '^Air area lost at idle: 2[0-9] % \([0-9]+ to 3[0-9]\), measured against' curve $film --baseline $clean "${known[@]}"
holds "it fits 100 columns" narrow "$work/.out"
good '^Air area lost at idle: none worth cleaning for' curve $clean --baseline $clean --displacement-cc 1600 --baro-kpa 101.3
good '^Air area lost at idle: not told by this log\.' curve $film "${known[@]}"
holds "a film is never claimed from one log" bash -c 'tr "\n" " " <"$1" | grep -q "a film of 0 to [0-9]* µm, or none"' - "$work/.out"
holds "cautions stand before what is to be done" bash -c 'tr "\n" " " <"$1" |
  grep -qE "First: out of gear.*wheels chocked.*exhaust gas is poisonous.*Then log the same car"' - "$work/.out"
good 'not told by this log' curve $film --engine four-16 --altitude 0
printf 'name,value\nkind,electronic\ndisplacement_l,1.6\nstop_pct,10.1\nkey_on_means,stop\naltitude_m,0\n' >"$work/card.csv"
good '^Air area lost at idle: 2[0-9] % \([0-9]+ to 3[0-9]\), measured against' curve $film --baseline $clean --car "$work/card.csv"
run curve $film --baseline $clean "${known[@]}" --stop-pct 10.1 --json
cp "$work/.out" "$work/options.json"
run curve $film --baseline $clean --car "$work/card.csv" --json
holds "a card says what the options say" cmp "$work/.out" "$work/options.json"
run curve $film --baseline $clean --car "$work/card.csv" --altitude 1500 --json
holds "an option overrules it" bash -c '! cmp -s "$1" "$2"' - "$work/.out" "$work/options.json"
good '^\{' curve $film --car kind=electronic,displacement_l=1.6 --json
bad 64 'give --engine FILE or --car CARD, not both' curve $film --engine four-16 --car "$work/card.csv"
bad 65 "did you mean 'displacement_l'" curve $film --car displacement=1.6
good '^\{' curve $film --baseline $clean "${known[@]}" --json
holds "JSON" jq -e '.verdict == "lost" and .idle_lost_pct.low < 28 and .idle_lost_pct.high > 28 and .fit.chi2 < 20
  and (.points | length) > 5 and .points[0].common_doubts.level_mm2 > 0 and .idle_clean_mm2 > .idle_open_mm2' "$work/.out" >/dev/null
cp "$work/.out" "$work/first.json"
run curve $film --baseline $clean "${known[@]}" --json
holds "the same answer again" cmp "$work/.out" "$work/first.json"
good '^\{' curve $film "${known[@]}" --json
holds "JSON without a baseline claims nothing" jq -e '.verdict == "not_told" and .idle_lost_pct == null and .baseline == null' "$work/.out" >/dev/null
good 'curve.csv' curve $film --baseline $clean "${known[@]}" --out "$work/out"
holds "three files, none half" bash -c 'ls "$1" | tr "\n" " " | grep -qx "curve.csv curve.json curve.png " && head -1 "$1/curve.csv" |
  grep -qx "position_pct,open_mm2,open_sd_mm2,clean_mm2,clean_sd_mm2,speed_rpm,stretches"' - "$work/out"
good 'this log' curve $film "${known[@]}" --format dumb
good 'positions from' curve $film "${known[@]}" --at opening=0:60
good 'positions from' curve $film "${known[@]}" --at opening=0:40 --at opening=60:

# The same car read from pressure, in words of another tool, one value a row.
awk -F, 'NR == 1 {print "time (s);rpm;TPS;MAP (kPa)"} NR > 1 {p = 18.5 + 3.2 * $4; s = $1 * 1
  printf "%.1f;%s;;\n%.1f;;%s;\n%.1f;;;%.0f\n", s, $2, s + 0.1, $3, s + 0.2, p}' $film >"$work/polled.csv"
run curve "$work/polled.csv" "${known[@]}"
holds "one value a row is read" grep -q 'positions from' "$work/.out"
holds "and how little pressure tells is said" bash -c 'tr "\n" " " <"$1" | grep -q "by a charge law that is good to 10 or 15 %"' - "$work/.out"

# What cannot serve.
cut -d, -f1,2,4 $film >"$work/no-position.csv"
cut -d, -f1,2,3 $film >"$work/no-air.csv"
cut -d, -f1,3,4 $film >"$work/no-speed.csv"
bad 65 "no-position.csv:1: no column gives the throttle's position.*log 'Absolute Throttle Position'" curve "$work/no-position.csv" "${known[@]}"
bad 65 "no-air.csv:1: no column gives the air.*log one of them" curve "$work/no-air.csv" "${known[@]}"
bad 65 "no-speed.csv:1: no column gives engine speed; log 'Engine RPM'" curve "$work/no-speed.csv" "${known[@]}"
bad 64 'has no manifold pressure, so the displacement is needed: --displacement-cc' curve $film
{ head -1 $film; awk 'BEGIN {for (i = 0; i < 400; i++) printf "%.1f,%.0f,%.1f,%.2f,20\n", i / 2, 1500 + 900 * sin(i / 3), 20 + 8 * sin(i / 3), 6 + 4 * sin(i / 3)}'; } >"$work/drive.csv"
bad 65 'position, speed and air are nowhere steady.*this log tells nothing' curve "$work/drive.csv" "${known[@]}"
{ head -1 $film; awk 'BEGIN {for (i = 0; i < 200; i++) printf "%.1f,0,12.5,0.05,20\n", i / 2}'; } >"$work/off.csv"
bad 65 'the engine does not run in it' curve "$work/off.csv" "${known[@]}"
{ echo 'Time (s),Engine RPM,Throttle Position,MAP (kPa)'; awk 'BEGIN {for (i = 0; i < 200; i++) printf "%.1f,%.0f,83.1,%d\n", i / 2, 800 + i % 5, 100 + i % 2}'; } >"$work/diesel.csv"
bad 65 'this engine is not throttled at idle, and nothing here applies' curve "$work/diesel.csv" "${known[@]}"
{ echo 'Time (s),Engine RPM,Throttle Position,MAP (kPa),ECT (C)'; awk 'BEGIN {for (i = 0; i < 200; i++) printf "%.1f,%.0f,14.1,%d,25\n", i / 2, 1200 + i % 5, 30 + i % 2}'; } >"$work/cold.csv"
bad 65 'the coolant stays below 60 C.*warm it up first' curve "$work/cold.csv" "${known[@]}"
good 'It runs at 13.30 %' curve $film "${known[@]}" --stop-pct 17.6
holds "a curve that no blade fits is not read" bash -c 'tr "\n" " " <"$1" | grep -q "No blade in a round bore fits this curve" && ! grep -q "allows a film" "$1"' - "$work/.out"
bad 66 'no-such' curve "$work/no-such.csv" "${known[@]}"
bad 64 'it needs NAME=FROM:TO' curve $film "${known[@]}" --at 30-150
bad 64 "'idle' is neither opening" curve $film "${known[@]}" --at idle=0:20
bad 64 'is not before' curve $film "${known[@]}" --at opening=50:20
bad 65 'has no row in what --at opening= asks for; it reaches from 0 to 1' curve $film "${known[@]}" --at opening=500:600
bad 64 'give one' curve $film "${known[@]}" --baro-kpa 100
good 'not told by these logs' curve $film --baseline $clean "${known[@]}" --at clean=0:35
holds "and what is wanted of the clean log" bash -c 'tr "\n" " " <"$1" | grep -q "log the clean car opening through that place as well"' - "$work/.out"
good 'not told by these logs' curve $clean --baseline "$work/polled.csv" "${known[@]}"
awk -F, -v OFS=, 'NR > 1 {$4 = $4 * 1.3} {print}' $film >"$work/other.csv"
run curve "$work/other.csv" --baseline $clean "${known[@]}"
holds "another car is not compared" bash -c 'tr "\n" " " <"$1" | grep -q "They are not compared"' - "$work/.out"
awk -F, -v OFS=, 'NR > 1 {$4 = $4 * 0.9} {print}' $clean >"$work/low.csv"
good 'not told by these logs' curve "$work/low.csv" --baseline $clean "${known[@]}"
holds "a sensor that reads low is no film" bash -c 'tr "\n" " " <"$1" | grep -q "Check the air-flow sensor first"' - "$work/.out"
awk 'BEGIN {print "Time (s),Engine RPM,Throttle Position,MAF (g/s),IAT (C)"; for (i = 0; i < 300; i++) printf "%.1f,%.0f,%.1f,%.2f,20\n", i / 2, 1200 + i % 3, 11 + int(i / 20) * 0.4, (i < 160 ? 0.02 : 2 + (i - 160) / 40)}' >"$work/dead.csv"
good 'almost no air passes' curve "$work/dead.csv" "${known[@]}" --stop-pct 10

# As a reading of estimate: the truth is the 28 % above, and the film of 45 um.
list=(estimate four-16 --set altitude_m=0)
for reading in speed_rpm=850 target_rpm=850 tp_pct=13.4 maf_gps=2.19 spark_deg=8; do list+=(--reading $reading@idle); done
curved=(--curve $film --curve-baseline $clean)
run "${list[@]}" --json
cp "$work/.out" "$work/list.json"
good '^\{' "${list[@]}" "${curved[@]}" --json
holds "what the curve tells is a reading" jq -e '.curve | .taken and .verdict == "lost" and .log == "scenarios/logs/opening-film.csv"
  and .idle_lost_pct.low < 28 and .idle_lost_pct.high > 28' "$work/.out" >/dev/null
holds "with its error" jq -e '(.readings[] | select(.name == "area_lost_pct")) as $r | .curve.idle_lost_pct | ($r.value - .mean | fabs) < 0.1
  and ($r.sd - .sd | fabs) < 0.01' "$work/.out" >/dev/null
holds "the film is likelier, and narrower, and 45 um among them" jq -e --slurpfile list "$work/list.json" '.film_um as $now | $list[0].film_um as $was |
  $now.probability > $was.probability and $now.high - $now.low < $was.high - $was.low and $now.low < 45 and $now.high > 45' "$work/.out" >/dev/null
good 'Opening curve: scenarios/logs/opening-film\.csv against' "${list[@]}" "${curved[@]}"
holds "it fits 100 columns" narrow "$work/.out"
good '^\{' "${list[@]}" --curve $film --json
holds "without the clean log nothing changes" jq -e --slurpfile list "$work/list.json" \
  '.curve.taken == false and .film_um == $list[0].film_um and .causes == $list[0].causes' "$work/.out" >/dev/null
holds "and that is said" jq -e '.curve.text | test("left out: there is no log of the same car clean")' "$work/.out" >/dev/null
good '^\{' "${list[@]}" --curve "$work/low.csv" --curve-baseline $clean --json
holds "nor with a sensor that reads low" jq -e --slurpfile list "$work/list.json" \
  '.causes == $list[0].causes and (.curve.text | test("a sensor that reads otherwise"))' "$work/.out" >/dev/null
good '^\{' "${list[@]}" --curve $clean --curve-baseline $clean --json
holds "a clean car's film goes down" jq -e --slurpfile list "$work/list.json" \
  '.curve.verdict == "none_lost" and .film_um.probability < 0.5 * $list[0].film_um.probability' "$work/.out" >/dev/null
good '^\{' estimate four-16 --set altitude_m=0 --reading tp_pct=17@idle "${curved[@]}" --json
holds "a log that idles elsewhere is of another car" jq -e '.curve.taken == false and
  (.curve.text | test("idles at 13\\.3 % there and at 17\\.0 % in the readings"))' "$work/.out" >/dev/null
good '^\{' "${list[@]}" --reading 'area_lost_pct=28 %+-4@idle' --json
holds "by hand too" jq -e '.curve == null and (.readings[] | select(.name == "area_lost_pct") | .value == 28 and .sd == 4)' "$work/.out" >/dev/null
bad 64 "did you mean 'area_lost_pct'" estimate four-16 --reading area_loss_pct=28@idle
bad 64 'it is read at idle' estimate four-16 --reading area_lost_pct=28@hold_2500
bad 64 'is there already' "${list[@]}" "${curved[@]}" --reading area_lost_pct=28@idle
bad 64 'go with --curve LOG' "${list[@]}" --curve-baseline $clean
bad 64 'curve-at opening=50:20: 50 s is not before' "${list[@]}" "${curved[@]}" --curve-at opening=50:20
bad 65 'nothing else was read' estimate four-16 --curve $film
bad 66 'no-such' "${list[@]}" --curve "$work/no-such.csv"

# An hour's log at ten rows a second in a second; twice that where the machine is slow.
if ! short; then
  { head -1 $film; awk -F, -v OFS=, 'NR > 1 {row[n++] = $0} END {for (i = 0; i < 36000; i++) {split(row[int(i / 5) % n], c, ","); print i / 10, c[2] + i % 3, c[3], c[4], c[5]}}' $film; } >"$work/hour.csv"
  begin=$(date +%s%N)
  run curve "$work/hour.csv" "${known[@]}"
  spent=$((($(date +%s%N) - begin) / 1000000))
  echo "an hour's log: $spent ms"
  holds "an hour's log is read" grep -q 'positions from' "$work/.out"
  holds "within 4 s on a busy machine" test "$spent" -lt 4000
fi
finish
