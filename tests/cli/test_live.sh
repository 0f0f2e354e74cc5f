#!/usr/bin/env bash
# live: keys as a text, on a terminal, with and without gnuplot. Truth: the same keys give the same record, byte by byte; what a record says, `run`
# replays to the numbers that were shown.
. "$(dirname "$0")/common.sh"

keys='++ ffff..... a.... m cy.. l.. =leak_mm2 12; ... 0 nn>.. k.. k s... d.. p..o. x q'
good '^four-16: [0-9.]+ s, actions: 18, marks: 1\.$' live four-16 --keys "$keys" --record "$work/a.txt" --scenario "$work/a.cfg" --every 1
cp "$work/.out" "$work/shown"
good 'good \(record\)' check "$work/a.txt"
good 'good \(scenario\)' check "$work/a.cfg"
same() { cmp -s "$work/a.txt" "$work/b.txt"; }
good '' live four-16 --keys "$keys" --record "$work/b.txt" --quiet
holds 'the same keys give the same record, whatever is shown' same
printf '%s' "$keys" | "$program" live four-16 --record "$work/b.txt" --json --every 0.1 >"$work/result.json"
holds 'and from stdin' same
holds 'the result as JSON' python3 -c '
import json, sys
result = json.load(open(sys.argv[1]))
assert result["engine"] == "four-16" and result["marks"] == 1 and result["files"] == [sys.argv[2]], result
assert any(event["text"] == "mark 1" for event in result["events"])' "$work/result.json" "$work/b.txt"
good '' live four-16 --keys "$keys" --record "$work/b.txt" --terminal dumb --every 20
holds 'a chart changes nothing' same
holds 'and is there' grep -q 'speed, rpm (#), target (\*)' "$work/.out"
holds 'lines to be read have no control sequences' bash -c '! grep -q "[[:cntrl:]]" "$1"' - "$work/shown"
holds 'cautions stand before the clean' bash -c 'tr "\n" " " <"$1" | grep -q "only then touch.*solvent is flammable.*Press y.*done"' - "$work/shown"

# What was shown is what a run of the record, and of the scenario, has in its rows.
good '' run "$work/a.txt" --rows-only --quiet --out "$work/record"
good '' run "$work/a.cfg" --rows-only --quiet --out "$work/scenario"
holds 'record and scenario give the same bytes' cmp "$work/record/run.csv" "$work/scenario/run.csv"
holds 'the numbers shown are those of the run' python3 -c '
import csv, re, sys
rows = {round(float(row["time_s"]), 2): row for row in csv.DictReader(open(sys.argv[1]))}
told = re.findall(r"^([\d.]+) s, x\d+: (\d+) rpm, target (\d+); blade ([-\d.]+) deg open; air ([-\d.]+) g/s", open(sys.argv[2]).read(), re.M)
assert len(told) > 20, len(told)
for time, *shown in told:
    row = rows[float(time)]
    for name, text, half in zip(("speed_rpm", "target_rpm", "blade_deg", "airflow_gps"), shown, (0.5, 0.5, 0.005, 0.005)):
        assert abs(float(row[name]) - float(text)) <= half + 0.06 * (half > 0.1) + 6e-4, (time, name, text, row[name])
' "$work/record/run.csv" "$work/shown"
# So are those of the chain of reasons, and its words say what they say: choked below the critical ratio of air, 0.528 (ISO 9300, from memory).
good '' live four-16 --keys "$(sed 's/\./.r/g' <<<"$keys")" --every 1
holds 'the numbers and words of the reasons are those of the run' python3 -c '
import csv, re, sys
rows = {round(float(row["time_s"]), 2): row for row in csv.DictReader(open(sys.argv[1]))}
lines, told = open(sys.argv[2]).read().splitlines(), 0
for line, before in zip(lines[1:], lines):
    at = re.match(r"([\d.]+) s, x\d+: ", before)
    if not at or not re.match("No film|A film", line):
        continue
    row, told = {name: float(value or "nan") for name, value in rows[float(at[1])].items()}, told + 1
    def near(name, text, step):
        assert abs(row[name] - float(text)) <= 0.51 * step + 6e-4, (before, line, name, row[name])
    if found := re.search(r"A film of ([\d.]+) um leaves ([\d.]+) of ([\d.]+) mm2 at this opening: (\d+) %", line):
        near("film_um", found[1], 0.1), near("area_mm2", found[2], 0.01), near("clean_area_mm2", found[3], 0.01)
        assert abs(100 - 100 * row["area_mm2"] / row["clean_area_mm2"] - float(found[4])) < 0.6, line
    else:
        assert row["film_um"] < 0.06 and line.startswith("No film"), line
    assert ("does not run" in line) == (row["speed_rpm"] <= 300), line
    if "does not run" in line:
        continue
    assert ("The pedal is pressed" in line) == (row["pedal_pct"] > 0.5), line
    if found := re.search(r"(adds|takes away) (\d+) % .* has learned (-?\d+) %", line):
        near("effort_pct", float(found[2]) * (1 if found[1] == "adds" else -1), 1), near("learned_pct", found[3], 1)
    found = re.search(r"([\d.]+) g/s of air come in; manifold ([\d.]+) kPa, ([\d.]+) .*: (below|above) 0.53, (choked|not choked)\.", line)
    near("airflow_gps", found[1], 0.01), near("manifold_kpa", found[2], 0.1)
    ratio = row["manifold_kpa"] / 101.325
    assert abs(ratio - float(found[3])) < 0.006 and (found[4] == "below") == (ratio < 0.5283) == (found[5] == "choked"), line
    found = re.search(r"They make ([\d.]+) Nm; more spark could add (\d+) %", line)
    near("torque_nm", found[1], 0.1), near("spark_reserve_pct", found[2], 1)
    if found := re.search(r"So it turns (\d+) rpm, (about|\d+ below|\d+ above)", line):
        off = row["speed_rpm"] - row["target_rpm"]
        near("speed_rpm", found[1], 1.2)
        assert abs(off) < 11.1 if found[2] == "about" else abs(off - float(found[2].split()[0]) * (1 if "above" in found[2] else -1)) < 1.2, line
assert told > 10, told
' "$work/record/run.csv" "$work/.out"

# A scenario goes on by itself, and goes on after its end; a record too.
good 'mark 1' live worn-track --keys '+++ . m ...' --record "$work/b.txt" --every 1
holds 'its notes and its end are told' grep -qE '^The scenario ended at 30 s; the bench goes on\.$' "$work/.out"
good '' run "$work/b.txt" --rows-only --quiet --out "$work/worn"
holds 'and its record goes further' test "$(tail -n 1 "$work/worn/run.csv" | cut -d, -f1)" = 40.00
good '' live restart --keys '++++++ ,' --scenario "$work/b.cfg"
good 'good \(scenario\)' check "$work/b.cfg"
good 'mark 1' live "$work/a.txt" --keys '+++++ ..'

# Letters beyond ASCII, rubbed out as a whole; bytes that are none.
good 'done: note é' live four-16 --keys $'=note \xc3\xa9\xc3\xa4\x7f;=note \xff;' --record "$work/b.txt" --scenario "$work/b.cfg"
good 'good' check "$work/b.txt" "$work/b.cfg"

# Every key on every engine, twice: no crash, and a record that is good.
every='+ - . , f . F . g . g . cy. p . P . o . d . a . e . E . t . T . k . s . l . x . z . z . n > . < . 0 . N > . m r ? ; '
engines=$("$program" list engines --json | jq -r '.engines[].file' | sed 's/.*\///; s/\.cfg//')
short && engines='four-18-cable'
for engine in $engines; do
  good '' live "$engine" --keys "$every$every" --record "$work/b.txt" --scenario "$work/b.cfg"
  good 'good \(record\)' check "$work/b.txt" "$work/b.cfg"
done
short || long=$("$program" list faults --json | jq -r '[.faults[] | "n>."] | join("")')
short || good '' live four-15-turbo --keys "$long" --record "$work/b.txt" --quiet
good 'good' check "$work/b.txt"

# What cannot be is said, and nothing has happened.
good "did you mean 'leak_mm2'" live four-16 --keys '=leak_mm 3;' --record "$work/b.txt"
holds 'no action' bash -c '! grep -q "^[0-9.]* leak" "$1" && grep -q "end$" "$1"' - "$work/b.txt"
good 'allowed: 0 to 200' live four-16 --keys '=leak_mm2 900;'
good 'this engine does not have a gear' live four-15-turbo --keys d
good 'press the blade only if the maker allows it' live four-16 --keys '=hand_nm 1;'
good 'X does nothing' live four-16 --keys X
good 'ends with the key q' live four-16 --keys '=end;'
good 'x60' live four-16 --keys '+++++++++++++'

# Nobody at the keys, nowhere to write.
good '' live four-16 --record "$work/b.txt" --quiet # stdin is /dev/null
good 'good' check "$work/b.txt"
bad 66 "did you mean four-16" live four-17
bad 66 'film-droop' live film-drop
bad 73 'no-folder' live four-16 --keys . --record "$work/no-folder/r.txt"
bad 64 'needs a screen' live four-16 --terminal sixel --keys .
bad 64 'dumb' live four-16 --terminal dum
bad 64 'every' live four-16 --every 0 --keys .
"$program" live four-16 --keys "$keys" --record "$work/b.txt" >/dev/full 2>"$work/.err"
holds 'a full disk is told' test $? -eq 74
holds 'and what was done is kept' bash -c '"$1" check "$2" >"$3"' - "$program" "$work/b.txt" "$work/.out"

# gnuplot missing, dying, saying nonsense: a sentence, and the same record.
mkdir "$work/none" "$work/dies" "$work/talks"
printf '#!/bin/sh\necho broken >&2\nexit 3\n' >"$work/dies/gnuplot"
printf '#!/bin/sh\nyes nonsense\n' >"$work/talks/gnuplot"
chmod +x "$work"/*/gnuplot
for kind in none dies talks; do
  path=$work/$kind
  [ $kind = none ] || path=$path:/usr/bin:/bin
  (PATH=$path "$program" live four-16 --keys "$keys" --record "$work/b.txt" --terminal dumb >"$work/.out" 2>"$work/.err")
  holds "gnuplot $kind: it goes on" test $? -eq 0
  holds "gnuplot $kind: a sentence" grep -qE 'There is no chart: gnuplot (is not installed|has ended: broken|writes without end).* The bench goes on\.' "$work/.out"
  holds "gnuplot $kind: the same record" same
done

holds 'on a terminal' python3 "$(dirname "$0")/live_terminal.py" "$program" "$work"
finish
