#!/usr/bin/env bash
# plot: a run's own data, a technician's log, and everything that can be wrong with one.
. "$(dirname "$0")/common.sh"

# told CODE PATTERN ARG ...: that exit code; stderr matches: notes are no errors, and results go to stdout beside them.
told() {
  local want=$1 pattern=$2 problem
  shift 2
  run "$@"
  problem=$(common_problem)
  [ -n "$problem" ] || [ "$code" -eq "$want" ] || problem="exit code should be $want"
  [ -n "$problem" ] || grep -qE -- "$pattern" <<<"$err" || problem="stderr should match '$pattern'"
  verdict "bladegap $*" "$problem"
}
is_png() { test "$(head -c 4 "$1" | tr -d '\211')" = PNG; }

# log NAME HEADER ROW ...: a file of lines in $work
log() {
  local name=$1
  shift
  printf '%s\n' "$@" >"$work/$name.csv"
}

# ---- a run's own data ----
cat >"$work/short.cfg" <<END_OF_SCENARIO
title = "short";
engine = "$PWD/models/four-16.cfg";
duration_s = 40.0;
record_s = 0.1;
seed = 1;
start = "idling";
initial = { film_um = 0.0; };
timeline = ( { at_s = 1.0; note = "nothing happens"; } );
END_OF_SCENARIO
run run "$work/short.cfg" --out "$work/run" --format none --quiet
rm -f "$work/run/events.csv"
good "a run's own data: [0-9]+ channels, 0 events" plot "$work/run/run.csv"
holds 'run.csv gives run.png' is_png "$work/run/run.png"
holds 'and nothing else without an engine' test ! -e "$work/run/area.png" -a ! -e "$work/run/gap.png"
good . plot "$work/run/run.csv" --engine models/four-16.cfg --out "$work/three" --title "it's a title"
holds 'with an engine three pictures' test "$(ls "$work/three")" = "$(printf 'area.png\ngap.png\nrun.png')"
good . plot "$work/run/run.csv" --engine models/four-16.cfg --out "$work/svg" --format svg --title "it's <a> title"
holds 'the title is in the picture' grep -qE "it(&#39;|&apos;|')s &lt;a(&gt;|>) title" "$work/svg/run.svg"
cp "$work/run/run.png" "$work/before.png"; rm "$work/run/run.png"
(cd "$work/run" && "$program" plot run.csv --quiet) >/dev/null
holds 'a file in this folder' is_png "$work/run/run.png"
holds 'and no file was made elsewhere' test "$(cd "$work/run" && ls -- *.png)" = run.png
run plot "$work/run/run.csv" --quiet
holds '--quiet says nothing' test "$code" -eq 0 -a -z "$out$err"
good . plot "$work/run/run.csv" --out "$work/letters" --format dumb
holds 'dumb draws on stdout only' test -z "$(ls "$work/letters")"
good . plot "$work/run/run.csv" --out "$work/none" --format none
holds 'none draws nothing' test -z "$(ls "$work/none")"

# events beside it
printf 'time_s,kind,code,value,text\n1.0,note,,,first note\n5,code,P0506,pending,P0506 pending\n8,engine,,stall,engine stalled\n' \
  >"$work/run/events.csv"
good '3 events' plot "$work/run/run.csv" --format svg
holds 'the note is in the picture' grep -q 'first note' "$work/run/run.svg"
holds 'the code is in the picture' grep -q 'P0506' "$work/run/run.svg"
holds 'the stall is in the picture' grep -q '>stall<\|stall' "$work/run/run.svg"
good 'good \(events\)' check "$work/run/events.csv"
printf 'Time (s),RPM\n0,800\n1,801\n' >"$work/run/car.csv"
good . plot "$work/run/car.csv" --format svg
holds "a car's log takes no events from a run in its folder" test "$(grep -c 'first note' "$work/run/car-run.svg")" -eq 0
printf 'time_s,kind,code,value,text\n1.0,nots,,,first note\nx,note,,,\n' >"$work/run/events.csv"
bad 65 "events\.csv:2: kind 'nots' is none of note, code, engine, controller" plot "$work/run/run.csv"
holds 'and the second fault' grep -q "events\.csv:3: time_s 'x'" <<<"$err"
bad 65 'events\.csv:2: ' check "$work/run/events.csv"

# ---- a technician's log ----
log small 'Time (s),Engine RPM,Absolute Throttle Position' '0,800,12.5' '0.5,810,12.9' '1.0,790,12.2'
good 'small-run\.png' plot "$work/small.csv"
holds 'log.csv gives log-run.png' is_png "$work/small-run.png"
holds 'of which gnuplot had nothing to complain' test -z "$err"
told 0 'no steady idle' plot "$work/small.csv" --engine models/four-16.cfg --out "$work/small"
holds 'the opening is computed' grep -q "blade_pct and blade_deg computed from 'Absolute Throttle Position'" <<<"$err"
holds 'three pictures of it' is_png "$work/small/small-run.png" -a -s "$work/small/small-area.png"
good '^\{' plot "$work/small.csv" --json --format none
cp "$work/.out" "$work/small.json"
holds 'the JSON has its parts' jq -e '.rows == 3 and .rows_left_out == 0 and .files == [] and
  .columns == [{name: "Time (s)", channel: "time_s", unit: "s"}, {name: "Engine RPM", channel: "speed_rpm", unit: "rpm"},
  {name: "Absolute Throttle Position", channel: "tp_pct", unit: "%"}]' "$work/small.json" >/dev/null
run plot "$work/small.csv" --json --out "$work/json"
holds 'the JSON names the files' test "$(jq -r '.files[]' "$work/.out")" = "$work/json/small-run.png"

# rows
log rows 'Time (s),Engine RPM' '0,800' '1,n/a' '2,802' '2,803' ',804' '3,805,1' '4,806' '1,807'
told 0 'rows\.csv:3: row left out: .*Engine RPM.*n/a' plot "$work/rows.csv"
holds 'equal time' grep -q 'rows\.csv:5: row left out: the time does not increase: 2 s, after 2 s in line 4' <<<"$err"
holds 'no time' grep -q "rows\.csv:6: row left out: nothing in column 'Time (s)'" <<<"$err"
holds 'a cell too many' grep -q 'rows\.csv:7: row left out: 3 cells, the header has 2' <<<"$err"
holds 'back in time' grep -q 'rows\.csv:9: row left out: the time does not increase: 1 s, after 4 s in line 8' <<<"$err"
holds 'in order of lines' sort -c -t: -k3n <(grep -E 'csv:[0-9]+: row' <<<"$err")
holds 'and counted' grep -q 'rows\.csv: 5 of 8 rows left out, first at line 3' <<<"$err"
run plot "$work/rows.csv" --format none --json --quiet
holds 'counted in JSON' jq -e '.rows == 3 and .rows_left_out == 5' "$work/.out" >/dev/null
holds '--quiet: no notes' test -z "$err"
bad 65 'rows\.csv:9: ' check "$work/rows.csv"
{
  echo 'Time (s),Engine RPM'
  for i in $(seq 1 60); do echo "$i,80$((i % 10))"; done
  for i in $(seq 1 30); do echo "$i,800"; done
} >"$work/again.csv"
told 0 'again\.csv: 30 of 90 rows left out, first at line 62' plot "$work/again.csv" --format none
holds 'not all of many are described' test "$(grep -c 'row left out' <<<"$err")" -eq 20
# values that are no readings: said with their line, not drawn, the rest of the row stays
log bad 'Time (s),Engine RPM (rpm),MAF (g/s)' '0,850,2.5' '1,"1,700",2.6' '2,1 700,2.7' '3,1,700,2.8' '4,65535,2.9' '5,1e308,3.0' '6,900,-1e308' \
  '7,16383.75,3.1' '8,12000,3.2' '1e308,850,3.3' '9,870,3.4'
told 0 "bad\.csv: column 'Engine RPM \(rpm\)': thousands are separated, 1,700 read as 1700" plot "$work/bad.csv" --out "$work/bad"
holds 'parted into two cells' grep -q 'bad\.csv:5: row left out: 4 cells, the header has 3; if 1,700 is one number, write 1700' <<<"$err"
for line in 6:65535 7:1e.308 8:-1e.308 9:16383.75; do
  holds "line $line is no reading" grep -qE "bad\\.csv:${line%%:*}: value left out: .*: ${line#*:} is not a reading" <<<"$err"
done
holds 'a time that is none does not lose what follows' grep -q 'bad\.csv: 2 of 11 rows left out' <<<"$err"
holds 'and it is drawn' is_png "$work/bad/bad-run.png"
run plot "$work/bad.csv" --format svg --out "$work/bad" --quiet
holds 'the axis of speed ends where the readings do' bash -c 'grep -qE "> ?10000<" "$1" && ! grep -qE "> ?([2-9]0|[1-9][0-9]0)000<" "$1"' - "$work/bad/bad-run.svg"
run plot "$work/bad.csv" --format none --json --quiet
holds 'nothing else is lost' jq -e '.rows == 9 and .rows_left_out == 2 and .values_left_out == 5' "$work/.out"
bad 65 'bad\.csv:6: Engine RPM \(rpm\): 65535 is not a reading' check "$work/bad.csv"
log comma 'Time (s);Engine RPM (rpm);MAF (g/s)' '0;850;2,5' '1;1,700;2,6' '2;900;2,75'
told 0 'comma\.csv:3: value left out: Engine RPM \(rpm\): "1,700" may be 1700 or 1\.7' plot "$work/comma.csv" --format none
log decimals 'Time (s);Engine RPM (rpm);MAF (g/s)' '0;950,123;2,5' '1;970,250;2,6' '2;950,126;2,75'
run plot "$work/decimals.csv" --format none
holds 'three decimals in a file of decimal commas are decimals' test "$code" -eq 0 -a -z "$err"
log all 'Time (s);Engine RPM (rpm)' '0;1,650' '1;1,700'
bad 65 "column 'Engine RPM \(rpm\)' left out: 1,650 may be 1650 or 1\.65, and nothing shows which" plot "$work/all.csv"
log pascal 'Time (s),Manifold Absolute Pressure' '0,30000' '1,31000' '2,32000'
told 0 "taken as kPa, but its values from 3e\+04 to 3.2e\+04 make that unlikely" plot "$work/pascal.csv" --format none
log none 'Time (s),Engine RPM' 'x,800' '1,x'
bad 65 'none\.csv' plot "$work/none.csv"
log header 'Time (s),Engine RPM'
bad 65 'header\.csv: has a header and no row below it' plot "$work/header.csv"
log one 'Time (s),Engine RPM' '0,800'
good '1 rows' plot "$work/one.csv"
holds 'one row is a picture: a mark for each value' is_png "$work/one-run.png"
holds 'nothing was drawn of the others' test -z "$(find "$work" -name 'none-*' -o -name 'header-*')"

# columns
log units 'Time,MAP,ECT,RPM' '0,35,190,800' '1,36,191,801'
told 0 "units\.csv: column 'MAP' taken as kPa$" plot "$work/units.csv" --format none
holds 'a unit the values speak against' grep -q "column 'ECT' taken as C, but its values from 190 to 191 make that unlikely" <<<"$err"
holds 'no guess about rpm' test "$(grep -c RPM <<<"$err")" -eq 0
log inhg 'Time (ms),MAP (inHg),Coolant Temp (F)' '0,10,212' '100,11,212'
good 'MAP \(inHg\) +inHg +manifold_kpa' plot "$work/inhg.csv" --format none
log torr 'Time (s),Engine RPM,MAP (torr)' '0,800,260' '1,801,260'
told 0 "column 'MAP \(torr\)' left out: its unit 'torr' is not understood; understood: kPa" plot "$work/torr.csv" --format none
log twice 'Time (s),Engine RPM,RPM' '0,800,801' '1,801,801'
told 0 "column 'RPM' left out: 'Engine RPM' already gives speed_rpm" plot "$work/twice.csv" --format none
log more 'Time (s),Engine RPM,Vehicle Speed,Absolut Throttle Position' '0,800,0,12' '1,801,0,12'
told 0 "1 column not understood and left out: 'Absolut Throttle Position' \(did you mean 'absolute throttle position'\?\)" \
  plot "$work/more.csv" --format none
holds 'known, of no use' grep -q "more\.csv: 1 column known but not used here: 'Vehicle Speed'" <<<"$err"
run plot "$work/more.csv" --format none --json --quiet
holds 'null in JSON' jq -e '.columns[2] == {name: "Vehicle Speed", channel: null, unit: null}' "$work/.out" >/dev/null
log words 'Time (s),Engine RPM,A/C,TPS' '0,800,ON,shut' '1,801,OFF,shut'
told 0 "column 'TPS' left out: it has words instead of numbers" plot "$work/words.csv" --format none
log blank 'Time (s),Engine RPM,MAF' '0,800,' '1,801,'
told 0 "column 'MAF' left out: it is empty" plot "$work/blank.csv" --format none
printf '\xef\xbb\xbfTime (s);Engine RPM;MAP (kPa)\r\n0,0;800;35,5\r\n0,5;801;35,6\r\n' >"$work/comma.csv"
good '2 rows, 0\.00 to 0\.50 s' plot "$work/comma.csv"
log relative 'Time (s),Relative Throttle Position' '0,2' '1,2.4'
told 0 "column 'Relative Throttle Position' taken as blade_pct: .*--engine" plot "$work/relative.csv" --format none

# time
log no_time 'Engine RPM,MAP' '800,35' '801,36'
bad 65 "no_time\.csv:1: no column of numbers has the time; name it 'time', 'elapsed time'" plot "$work/no_time.csv"
bad 65 'no_time\.csv:1: no column of numbers has the time' check "$work/no_time.csv"
log clock 'Time,Engine RPM' '12:00:01,800' '12:00:02,801'
good '2 rows, 0\.00 to 1\.00 s' plot "$work/clock.csv" --format none
log short 'Time,Engine RPM' '12:01,800' '12:02,801'
bad 65 "column 'Time' left out: times such as 12:34 may be hours and minutes or minutes and seconds" plot "$work/short.csv"
log only 'Time (s),Vehicle Speed' '0,0' '1,0'
bad 65 "only\.csv:1: no column but the time is understood; .*'engine rpm'" plot "$work/only.csv"
holds 'and which are not is told' grep -q "'Vehicle Speed'" <<<"$err"
log epoch 'Time (s),Engine RPM' '1700000000.0,800' '1700000001.0,801' '1700000002.5,801'
told 0 'time counted from the first row, which is at 1700000000 s' plot "$work/epoch.csv"
holds 'the story ends' grep -q '0\.00 to 2\.50 s' <<<"$out"
log trigger 'Time (s),Engine RPM' '-5,800' '0,801' '5,801'
told 0 'time counted from the first row, which is at -5 s' plot "$work/trigger.csv"
log days 'Time,Engine RPM' '0,800' '9000000,801'
bad 65 "days\.csv: column 'Time' covers 9e\+06 s, which is 104 days; if it is not in s, name its unit" plot "$work/days.csv"

# ---- flat, scarce and lonely values: each is a picture, and gnuplot has nothing to say (good: stderr is empty) ----
# Truth: the list of channels; a log may have any of them alone.
channels=$("$program" list channels --json | jq -r '.. | .name? // empty' | grep -v '^time_s$')
holds 'the channels are listed' test "$(wc -l <<<"$channels")" -gt 40
missed=
for channel in $channels; do
  printf 'time_s,%s\n0,3\n1,3\n2,3\n3,3\n4,3\n' "$channel" >"$work/alone.csv"
  "$program" plot "$work/alone.csv" --out "$work/alone" --quiet 2>>"$work/alone.err" && is_png "$work/alone/alone-run.png" || missed="$missed $channel"
  rm -f "$work/alone/alone-run.png"
done
holds "each channel alone is drawn, though it does not move:$missed" test -z "$missed"
log zero 'Time (s),Engine RPM' '0,0' '1,0' '2,0' '3,0'
good . plot "$work/zero.csv" --format svg
holds 'a standing engine: no speed below zero' test "$(grep -c '>-[0-9]*</text>\|> *-[0-9]* *<' "$work/zero-run.svg")" -eq 0
log trim 'Time (s),Long Term Fuel Trim - Bank 1 (%)' '0,12.5' '1,12.5' '2,12.5' '3,12.5'
good 'ltft_pct' plot "$work/trim.csv" --format svg
holds 'a steady trim is drawn' grep -q 'ltft_pct' "$work/trim-run.svg"
{ # one value a row, as a scan tool asks for one after the other
  echo 'Time (s),Engine RPM,MAP (kPa),ECT (C)'
  for i in $(seq 0 3 300); do printf '%d,%d,,\n%d,,35,\n%d,,,90\n' "$i" $((800 + i % 7)) $((i + 1)) $((i + 2)); done
} >"$work/polled.csv"
good . plot "$work/polled.csv" --format svg
holds 'polled one after the other they are lines' test "$(grep -oE '[0-9.]+,[0-9.]+' "$work/polled-run.svg" | wc -l)" -gt 200

# ---- texts: every letter comes through ----
printf 'time_s,speed_rpm\n0,800\n1,801\n2,800\n3,801\n' >"$work/text.csv"
for title in "'Clean' the bore" "''" "'" "it''s" "ends with '" 'back\slash \' '`date` $(date) @x' "it's @x \`date\` \"@x\" 'n' @x" 'µm – “ß” 汽缸 😀' '# {a}_b^c %s %d'; do
  good . plot "$work/text.csv" --format svg --title "$title" --out "$work/text"
  holds "the title '$title' is in the picture" python3 -c '
import html, re, sys
text = html.unescape(open(sys.argv[1], encoding="utf-8").read())
sys.exit(sys.argv[2].strip() not in text)' "$work/text/text-run.svg" "$title"
done

# ---- forms, pages, windows, two runs ----
rm -f "$work/run/events.csv" # spoilt above
good . plot "$work/run/run.csv" --out "$work/pdf" --format pdf
holds 'a page is a PDF, whole' bash -c 'head -c 5 "$1" | grep -q "%PDF-" && tail -c 8 "$1" | grep -q "%%EOF"' - "$work/pdf/run.pdf"
good 'run-speed\.svg' plot "$work/run/run.csv" --engine models/four-16.cfg --out "$work/slides" --format svg --for slide
holds 'a slide has one idea' test -e "$work/slides/run-speed.svg" -a -e "$work/slides/run-air.svg" -a ! -e "$work/slides/run.svg"
# Truth: digits at least 2.5 % of the height (0.729 of the letters' size in DejaVu Sans), contrast 4.5 to 1 (WCAG 2.1, 1.4.3).
for slide in "$work"/slides/*.svg; do
  holds "the letters of $(basename "$slide") can be read" python3 tests/cli/picture_texts.py --slide "$slide"
done
# Nothing cut, overlapping, or written over marks and curves: the runs whose pictures once were.
crowded=(load-steps cold-start key-on-sweep charge-hose in-gear); short && crowded=(cold-start)
for name in "${crowded[@]}"; do
  for form in paper screen slide; do
    "$program" run "$name" --solver fast --format svg --for "$form" --out "$work/$form-$name" --quiet
    as=(--as-png); [ $form = slide ] && as=(--slide)
    holds "$name for $form: nothing cut or written over" python3 tests/cli/picture_texts.py "${as[@]}" "$work/$form-$name"/*.svg
  done
done
short || holds "a load's own idle target is drawn: 750 rpm in gear (models/four-16.cfg)" grep -q '>Into gear: idle target 750<' "$work/screen-in-gear/loads.svg"
short || holds "a slide of the codes is not empty: each of the three bars takes a sixth of the height" python3 -c '
import re, sys
svg = open(sys.argv[1], encoding="utf-8").read()
bars = [[float(y) for y in re.findall(r"[\d.]+,([\d.]+)", points)] for points in re.findall(r"fill = .rgb\(191, 224, 245\). points = .([^\x27]*)", svg)]
sys.exit(sum(max(bar) - min(bar) > 0.14 * 900 for bar in bars) < 3)' "$work/slide-load-steps/run-codes.svg"
holds "no tracks where the blade only jumps" test ! -e "$work/paper-load-steps/tracks.svg"
short || "$program" run leak-air-flow film-air-flow --solver fast --format svg --for slide --out "$work/beside" --quiet
short || holds "runs side by side can be read from the back" python3 tests/cli/picture_texts.py --slide "$work"/beside/beside-*.svg
good . plot "$work/run/run.csv" --out "$work/screen" --for screen
holds 'for a screen one picture, wider than a page' test "$(od -An -tu1 -j16 -N4 "$work/screen/run.png" | awk '{print $3 * 256 + $4}')" -gt 1800
bad 64 "--for: 'beamer' is none of" plot "$work/run/run.csv" --for beamer
good '101 rows, 10\.00 to 20\.00 s' plot "$work/run/run.csv" --from 10 --to 20 --out "$work/window"
bad 65 'has no row from 100 to 200 s; it goes from 0 to 40 s' plot "$work/run/run.csv" --from 100 --to 200
bad 64 'from 20 s is not before --to 10 s' plot "$work/run/run.csv" --from 20 --to 10
cp "$work/run/run.csv" "$work/later.csv"
good 'run-over-later-run\.svg' plot "$work/run/run.csv" "$work/later.csv" --format svg --out "$work/over"
holds 'both are named, and every curve' test "$(grep -c 'speed_rpm, [AB]\|[AB]: ' "$work/over/run-over-later-run.svg")" -ge 4
good 'small-over-text-run\.png' plot "$work/small.csv" "$work/text.csv" --out "$work/over"
run plot "$work/small.csv" "$work/text.csv" --json --format none
holds 'both in JSON' jq -e '(.logs | length) == 2 and .logs[1].rows == 4' "$work/.out" >/dev/null
bad 64 . plot "$work/small.csv" "$work/text.csv" "$work/one.csv"

# ---- gnuplot's words ----
mkdir "$work/chatty" "$work/broken"
printf '#!/bin/sh\necho "no writable cache directories" >&2\nexec %s "$@"\n' "$(command -v gnuplot)" >"$work/chatty/gnuplot"
printf '#!/bin/sh\n%s "$@" | head -c 5000\n' "$(command -v gnuplot)" >"$work/broken/gnuplot"
chmod +x "$work/chatty/gnuplot" "$work/broken/gnuplot"
PATH=$work/chatty:$PATH told 0 'the picture was drawn; gnuplot said: no writable cache directories' plot "$work/small.csv" --out "$work/chatted"
holds 'beside a whole picture they are a note' is_png "$work/chatted/small-run.png"
PATH=$work/broken:$PATH run plot "$work/small.csv" --out "$work/cut"
holds 'half a picture is a failure' test "$code" -eq 70 -a -z "$(ls "$work/cut")"
# a gnuplot that fails for one picture only: the others are drawn
mkdir "$work/picky"
printf '#!/bin/sh\ns=$(mktemp)\ncat >"$s"\nif grep -q "mm² of\\|curve_largest" "$s"; then echo "no" >&2; rm "$s"; exit 1; fi\n%s "$@" <"$s"; rm "$s"\n' \
  "$(command -v gnuplot)" >"$work/picky/gnuplot"
chmod +x "$work/picky/gnuplot"
PATH=$work/picky:$PATH run plot "$work/run/run.csv" --engine models/four-16.cfg --out "$work/two"
holds 'one failed picture does not drop the others' test "$code" -eq 70 -a "$(ls "$work/two")" = "$(printf 'gap.png\nrun.png')"

# ---- what is no log ----
bad 66 'nowhere\.csv.*No such file' plot "$work/nowhere.csv"
mkdir "$work/folder.csv"
bad 66 'folder\.csv' plot "$work/folder.csv"
: >"$work/empty.csv"
bad 65 'empty\.csv:1: the file is empty' plot "$work/empty.csv"
head -c 3000 /dev/urandom >"$work/noise.csv"
bad 65 'noise\.csv' plot "$work/noise.csv"
bad 65 'four-16\.cfg' plot models/four-16.cfg

# ---- the command line, what cannot be written, no gnuplot ----
bad 64 'plot: CSV \.\.\. is missing' plot
bad 64 "--format: 'pgn' is none of .*did you mean png\?" plot "$work/small.csv" --format pgn
bad 66 'no-engine\.cfg' plot "$work/small.csv" --engine "$work/no-engine.cfg"
bad 78 'short\.cfg' plot "$work/small.csv" --engine "$work/short.cfg"
bad 73 'small\.csv' plot "$work/small.csv" --out "$work/small.csv"
mkdir "$work/empty"
PATH=$work/empty "$program" plot "$work/small.csv" --out "$work/no-gnuplot" >"$work/.out" 2>"$work/.err"
code=$? out=$(cat "$work/.out") err=$(cat "$work/.err")
holds 'no gnuplot: exit 69' test "$code" -eq 69
holds 'no gnuplot: says so, and where the data is' grep -q 'gnuplot.*small\.csv' <<<"$err"
holds 'no picture' test -z "$(ls "$work/no-gnuplot")"
holds 'nothing half-written anywhere' no_parts "$work"
run help plot
holds 'help fits 100 columns' narrow "$work/.out"
finish
