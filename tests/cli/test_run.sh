#!/usr/bin/env bash
# run: a short good run, and everything that can keep a run from its files.
. "$(dirname "$0")/common.sh"
here=$PWD

# scenario NAME SECONDS [LINES]: a small scenario in $work
scenario() {
  cat >"$work/$1.cfg" <<END
title = "short";
engine = "${3:-$here/models/four-16.cfg}";
duration_s = $2;
record_s = 0.1;
seed = 1;
start = "idling";
initial = { film_um = ${4:-0.0}; };
timeline = ( { at_s = 1.0; note = "nothing happens"; } );
END
}
scenario short 20.0
scenario long 86400.0

# ---- good ----
good '^short$' run "$work/short.cfg" --out "$work/one" --format none
holds 'it wrote data and summary' test -s "$work/one/run.csv" -a -s "$work/one/summary.txt"
holds 'a row every 0.1 s, and the header' test "$(wc -l <"$work/one/run.csv")" -eq 202
holds 'the columns are the channels' test "$(head -n 1 "$work/one/run.csv" | tr ',' '\n' | tr -d '\r')" = \
  "$("$program" list channels --json | jq -r '.channels[].name')"
holds 'summary fits 100 columns' narrow "$work/one/summary.txt"
good . run "$work/short.cfg" --out "$work/two" --format none --json
cp "$work/.out" "$work/run.json"
holds 'the JSON has its parts' jq -e '.scenario and (.summary | type == "object") and (.codes | type == "array") and (.why | length > 0) and all(.why[]; .kind and .part and .text and (.values | type == "array") and (.holds | type == "array") and .from_s <= .to_s)' "$work/run.json"  >/dev/null
holds 'its files are there' test "$(jq -r '.files[]' "$work/run.json" | xargs ls 2>/dev/null | wc -l)" -eq "$(jq '.files | length' "$work/run.json")"
holds 'the same scenario gives the same bytes' cmp -s "$work/one/run.csv" "$work/two/run.csv"
run run "$work/short.cfg" --out "$work/quiet" --format none --quiet
holds '--quiet says nothing' test "$code" -eq 0 -a -z "$out$err"
run run "$work/short.cfg" --out "$work/seed" --format none --quiet --seed 2
holds 'another seed scatters otherwise' test "$code" -eq 0 -a "$(cmp -s "$work/one/run.csv" "$work/seed/run.csv"; echo $?)" -eq 1
good '^short$' run "$work/short.cfg" --out "$work/fixed" --format none --solver fixed
good . check "$work/one/run.csv"
run run "$work/short.cfg" --out "$work/pictures" --quiet
holds 'three PNG' test "$(head -qc 4 "$work"/pictures/{run,area,gap}.png | tr -d '\211')" = PNGPNGPNG
run run "$work/short.cfg" --out "$work/pictures" --quiet --format svg
holds 'three SVG' test "$(grep -l '</svg>' "$work"/pictures/{run,area,gap}.svg | wc -l)" -eq 3
good . run "$work/short.cfg" --out "$work/letters" --format dumb
holds 'dumb draws on stdout only' test -z "$(find "$work/letters" -name '*.png' -o -name '*.svg')"

# ---- US units: text and tables; data stays ----
good '^ +[0-9]+ ' run cold-start --set coolant_f=14 --format none --units us --stream-at 30 --all --out "$work/us"
holds 'F in a sentence' grep -q 'At 18 F the engine idles fast' <<<"$out" # -8 C
holds 'F of a limit' grep -q 'they wait for 158 F' <<<"$out" # 70 C
holds 'F in the title and the notes' grep -q 'Cold start at 14 F' <<<"$out"
holds 'inHg and F head their columns' grep -qE '^  steady .* inHg .* F *$' <<<"$out"
holds 'F from the scan tool, the bytes as ever' grep -qE '^  0F  intake air temperature +14\.000 +1E +14\.0 +F' <<<"$out"
holds 'no kPa, no C with a number' bash -c '! grep -qE "[0-9] (kPa|C)( |,|\.|$)" <<<"$1"' - "$out"
holds 'the summary is the same' grep -q 'At 18 F the engine idles fast' "$work/us/summary.txt"
good . run cold-start --set coolant_f=14 --format none --units us --json --out "$work/us2"
holds 'JSON and CSV keep their units' jq -e '.summary.last.coolant_c > 40 and .summary.last.coolant_c < 60' "$work/.out" >/dev/null
good . run cold-start --set coolant_f=14 --format none --quiet --json --out "$work/us3"
holds 'CSV: the same bytes' cmp -s "$work/us/run.csv" "$work/us3/run.csv"

# ---- the command line ----
bad 64 'run: SCENARIO \.\.\. is missing' run
bad 64 '--out needs a value' run "$work/short.cfg" --out
bad 64 "--out needs a value, and '--quiet' looks like an option" run "$work/short.cfg" --out --quiet
bad 64 '--out: DIR must not be empty' run "$work/short.cfg" --out ''
bad 64 "--out is given twice: 'a' and 'b'" run "$work/short.cfg" --out a --out b
bad 64 "--format: 'pgn' is none of .*did you mean png\?" run "$work/short.cfg" --format pgn
bad 64 "--solver: 'cvod' is none of .*did you mean cvode\?" run "$work/short.cfg" --solver cvod
for seed in x 1x '' ' 1' 0x10 nan inf; do
  bad 64 "--seed: '$seed' is not a whole number; allowed: 0 to 2147483647" run "$work/short.cfg" "--seed=$seed"
done
bad 64 "--seed: '1.5' is not a whole number" run "$work/short.cfg" --seed 1.5
bad 64 "--seed: -1 is out of range; allowed: 0 to 2147483647" run "$work/short.cfg" --seed=-1
bad 64 "--seed: 99999999999 is out of range" run "$work/short.cfg" --seed 99999999999

# ---- the files it reads ----
bad 66 'nowhere\.cfg.*No such file' run "$work/nowhere.cfg"
mkdir "$work/folder"
bad 66 'folder' run "$work/folder"
bad 78 'four-16\.cfg' run models/four-16.cfg --out "$work/x"
scenario no_engine 20.0 "$work/no-such-engine.cfg"
bad '66|78' 'no-such-engine\.cfg' run "$work/no_engine.cfg" --out "$work/x"
sed 's/closed_deg = [0-9.]*/closed_deg = 77.0/' models/four-16.cfg >"$work/wide.cfg"
scenario wide_engine 20.0 "$work/wide.cfg"
bad 78 'wide\.cfg:[0-9]+: .*closed_deg.*77' run "$work/wide_engine.cfg" --out "$work/x"
scenario thick 20.0 '' 400.0
bad 78 'thick\.cfg:[0-9]+: .*film_um.*400.*300' run "$work/thick.cfg" --out "$work/x"
holds 'nothing was written for any of them' test ! -e "$work/x"

# ---- an engine that cannot idle says so ----
sed 's/learned_most_pct = [0-9.]*/learned_most_pct = 0.0/; s/effort_most_pct = [0-9.]*/effort_most_pct = 0.0/;
  s/base_gps = [0-9.]*/base_gps = 0.3/' models/four-16.cfg >"$work/starved.cfg"
scenario cannot_idle 20.0 "$work/starved.cfg"
bad 78 'starved does not idle under the initial conditions of cannot_idle: it stalled [0-9.]+ s after the start\. Make the film thinner' \
  run "$work/cannot_idle.cfg" --out "$work/stall" --format none
holds 'and nothing stays behind' test -z "$(ls "$work/stall")"

# ---- an engine that stalls on the way does not: the run ends, and the summary says why ----
good 'the engine stalls' run scenarios/stall-faults.cfg --out "$work/faults" --format none --all
holds 'each fault is named' test "$(grep -c -e 'From 30 to 45 s: .*stuck open, 10 mm2' -e 'another fault: dragging accessory, 22 Nm' "$work/faults/summary.txt")" -eq 2
holds 'so is what was left' grep -q 'this is left' "$work/faults/summary.txt"
good 'At 48 s it is started again' run scenarios/restart.cfg --out "$work/restart" --format none --all
holds 'stalled once, started twice' test "$(grep -c 'engine stalled' "$work/restart/events.csv")$(grep -c 'engine started' "$work/restart/events.csv")" = 12

# ---- the summary: short, and all of it ----
good 'A film of [0-9]+ um stays hidden' run scenarios/film-droop.cfg --out "$work/droop" --format none --solver fast
holds 'film-droop: under 250 words' test "$(wc -w <<<"$out")" -lt 250
holds 'the file says the same' test "$(wc -w <"$work/droop/summary.txt")" -lt 250
holds 'in its parts' test "$(grep -c -e '^How it went' -e '^What may surprise you' -e '^Fault codes' "$work/droop/summary.txt")" -eq 3
holds 'at most five links' test "$(grep -cE '^ +[0-9]\. ' "$work/droop/summary.txt")" -le 5
holds 'fits 100 columns' narrow "$work/droop/summary.txt"
good '^Events' run scenarios/load-steps.cfg --out "$work/loads" --format none --solver fast --all
holds 'a key turned while it runs is one line' test "$(grep -c ' s  key start' <<<"$out")" -lt 12
holds 'and the number of turns' grep -qE 'The key was turned to start [0-9]+ times while the engine ran' <<<"$out"
holds 'no heading says that nothing was on' test -z "$(grep 'nothing switched on' <<<"$out")"
holds 'no odd words' test -z "$(grep -E 'heeded|kept quiet|make it good|seen by nobody' <<<"$out")"
holds 'all fits 100 columns' narrow "$work/loads/summary.txt"
good . run scenarios/film-bypass.cfg --out "$work/bypass" --format none --solver fast --json
holds 'the JSON has what --all has' jq -e '[.why[].part] | index("more")' "$work/.out" >/dev/null
holds 'codes with their names' jq -e 'any(.why[]; .part == "code" and .code == "P0506" and (.name | startswith("Idle")))' "$work/.out" >/dev/null

# ---- several beside each other ----
sed 's/"short"/"another"/; s/seed = 1/seed = 2/' "$work/short.cfg" >"$work/other.cfg"
good 'side by side: .*/two-runs/beside\.png' run "$work/short.cfg" "$work/other.cfg" --out "$work/two-runs"
holds 'each has its folder' test -s "$work/two-runs/short/run.csv" -a -s "$work/two-runs/other/summary.txt"
holds 'and the picture is one' test "$(head -c 4 "$work/two-runs/beside.png" | tr -d '\211')" = PNG
holds 'the first is as it was alone' cmp -s "$work/one/run.csv" "$work/two-runs/short/run.csv"
good . run "$work/short.cfg" "$work/other.cfg" --out "$work/two-json" --format none --json
cp "$work/.out" "$work/two.json"
holds 'the JSON has both' jq -e '[.runs[].scenario] == ["short", "another"] and .files == []' "$work/two.json" >/dev/null
bad 64 'would both write to .*/same/short' run "$work/short.cfg" "$work/short.cfg" --out "$work/same"

# ---- the files it writes (as root permissions do not bind, so a file stands where a folder should be) ----
echo text >"$work/file"
bad 73 'file' run "$work/short.cfg" --out "$work/file"
bad 73 'file/below' run "$work/short.cfg" --out "$work/file/below"
holds 'the file in the way is unharmed' test "$(cat "$work/file")" = text
mkdir "$work/full"
ln -s /dev/full "$work/full/run.csv"
bad 74 'run\.csv.*No space left' run "$work/short.cfg" --out "$work/full" --format none

# limited KILOBYTES ARG ...: a disk that takes no more than so much, by the file size limit of the shell
limited() {
  (
    trap '' XFSZ
    ulimit -f "$1"
    shift
    exec "$program" "$@" >"$work/.limited_out" 2>"$work/.limited_err"
  )
  code=$?
  out=$(cat "$work/.limited_out")
  err=$(cat "$work/.limited_err")
}
limited 8 run "$work/short.cfg" --out "$work/small" --format none
holds 'full half-way: exit 74' test "$code" -eq 74
holds 'full half-way: says which file' grep -q 'run\.csv.*File too large' <<<"$err"
holds 'full half-way: nothing stays behind' test -z "$(ls "$work/small")"
cp -r "$work/one" "$work/kept"
limited 8 run "$work/short.cfg" --out "$work/kept" --format none --seed 3
holds 'full half-way: the earlier file is unharmed' cmp -s "$work/one/run.csv" "$work/kept/run.csv"

# ---- stdout ----
"$program" run "$work/short.cfg" --out "$work/s1" --format none >/dev/full 2>"$work/.err"
code=$? out= err=$(cat "$work/.err")
holds 'stdout on a full disk: exit 74' test "$code" -eq 74
holds 'stdout on a full disk: says so' grep -q 'stdout: cannot write: No space left' <<<"$err"
"$program" run "$work/short.cfg" --out "$work/s2" --format none >&- 2>"$work/.err"
code=$? out= err=$(cat "$work/.err")
holds 'stdout closed: exit 74' test "$code" -eq 74
holds 'stdout closed: no file was mixed with it' cmp -s "$work/one/run.csv" "$work/s2/run.csv"

# ---- the idle valve's film: a channel, and a panel where there is some ----
if command -v gnuplot >/dev/null; then
  good . run film-bypass --format svg --out "$work/valve"
  holds 'the film in the valve has its panel' grep -q 'film in the idle valve' "$work/valve/run.svg"
  holds 'and its channel' awk -F, '{sub(/\r/, "")} NR == 1 {for (i = 1; i <= NF; i++) if ($i == "bypass_film_um") at = i; next}
    $at > most {most = $at} END {exit !(most == 150)}' "$work/valve/run.csv"
  holds 'no such panel of a clean one' bash -c '! grep -q "film in the idle valve" "$1"' - "$work/pictures/run.svg"
fi
holds 'empty on an engine without a valve' awk -F, '{sub(/\r/, "")} NR == 1 {for (i = 1; i <= NF; i++) if ($i == "bypass_film_um") at = i; next}
  $at != "" {bad = 1} END {exit bad || !at}' "$work/one/run.csv"

# ---- gnuplot missing: the data and the words are still there ----
mkdir "$work/empty"
env PATH="$work/empty" "$program" run "$work/short.cfg" --out "$work/plain" >"$work/.out" 2>"$work/.err"
code=$? out=$(cat "$work/.out") err=$(cat "$work/.err")
holds 'no gnuplot: exit 69' test "$code" -eq 69
holds 'no gnuplot: says what to do' grep -q 'gnuplot' <<<"$err"
holds 'no gnuplot: data and summary are there' test -s "$work/plain/run.csv" -a -s "$work/plain/summary.txt"
holds 'no gnuplot: no picture' test -z "$(find "$work/plain" -name '*.png*')"
holds 'no gnuplot: nothing half-written' no_parts "$work/plain"

# ---- rows only: the same rows and events as they come, in memory that does not grow with the run ----
good '' run "$work/short.cfg" --solver fast --rows-only --out "$work/rows"
run run "$work/short.cfg" --solver fast --format none --quiet --out "$work/kept"
holds 'rows only: the same rows' cmp "$work/rows/run.csv" "$work/kept/run.csv"
holds 'rows only: the same events' cmp "$work/rows/events.csv" "$work/kept/events.csv"
holds 'rows only: nothing else' test ! -e "$work/rows/summary.txt"
bad 64 'rows-only keeps no rows' run "$work/short.cfg" --rows-only --json --out "$work/x"
bad 64 'rows-only keeps no rows' run "$work/short.cfg" --rows-only --format svg --out "$work/x"
bad 74 'run\.csv.*(No space left|cannot be written)' run "$work/short.cfg" --rows-only --out "$work/full"

# ---- killed half-way ----
killed() { # SIGNAL FOLDER
  "$program" run "$work/long.cfg" --out "$work/$2" --format none >/dev/null 2>&1 &
  local pid=$! tries=0
  until ls "$work/$2"/run.csv.part* >/dev/null 2>&1 || [ $((tries += 1)) -gt 100 ]; do sleep 0.05; done
  holds "$1: it was at work" kill -0 "$pid"
  kill -s "$1" "$pid"
  wait "$pid" 2>/dev/null
  code=$?
}
out= err=
killed TERM term
holds 'TERM: ends by the signal' test "$code" -eq 143
holds 'TERM: nothing stays behind' test -z "$(ls "$work/term")"
killed HUP hup
holds 'HUP: nothing stays behind' test -z "$(ls "$work/hup")"
killed KILL kill
holds 'KILL: nothing under a final name' test ! -e "$work/kill/run.csv"
finish
