#!/usr/bin/env bash
# Runs that once broke what is told of them: an empty window, apostrophes, a dead supply. Truth: a number that is not known is not printed, a
# text is drawn as it stands.
. "$(dirname "$0")/common.sh"
cd "$work"
scenario() { # NAME LINES
  printf '%s\n' 'title = "odd";' 'engine = "four-16";' "$2" >"$1.cfg"
}
no_nan() { ! grep -qwiE -- '-?nan|-?inf' "$@"; }

# ---- a window that holds no row ----
scenario fault-at-0 'duration_s = 20.0; timeline = ( { at_s = 0; leak_mm2 = 60; } );'
scenario load-at-0 'duration_s = 20.0; timeline = ( { at_s = 0; steering_pct = 100; } );'
scenario short-start 'duration_s = 8.0; start = "key_off"; timeline = ( { at_s = 1; key = "start"; } );'
scenario row-a-second 'duration_s = 40.0; record_s = 1.0; start = "key_off"; timeline = ( { at_s = 1.5; key = "start"; },
  { at_s = 20; leak_mm2 = 80; }, { at_s = 25.5; leak_mm2 = 0; key = "off"; }, { at_s = 27.5; key = "start"; } );'
scenario dead-supply 'duration_s = 120.0; initial = { maf_lag_ratio = 100; };
  timeline = ( { at_s = 0; sensor_supply_v = 0; }, { at_s = 56; hand_nm = 3; } );'
scenario late-start 'duration_s = 40.0; start = "key_off"; initial = { tps1_open = 1; };
  timeline = ( { at_s = 21.07; hand_nm = 2.0872; }, { at_s = 31.07; tps2_offset_v = -0.2355; }, { at_s = 31.07; key = "start"; } );'
for name in fault-at-0 load-at-0 short-start row-a-second dead-supply late-start; do
  good '^Why|^[A-Z]' run $name.cfg --format none --out words
  holds "$name: no nan in the summary" no_nan words/summary.txt
  run run $name.cfg --format none --out words --json
  holds "$name: nor in the JSON" no_nan .out
done
# as many again, drawn: loads, faults and keys at any moment of a short run, a row every 0.1 to 1 s
python3 - <<'PY'
import random
chance = random.Random(12)
sets = ["leak_mm2 = 30", "film_um = 60", "steering_pct = 100", "air_conditioning = 1", "drag_nm = 3", "pedal_pct = 10", 'key = "off"', 'key = "start"',
        "sensor_supply_v = 0", "electrical_load_w = 1500", 'action = "reset_learned"']
for i in range(40):
    seconds = chance.choice([3, 8, 15, 30])
    steps = sorted((round(chance.uniform(0, seconds), 2), chance.choice(sets)) for _ in range(chance.randint(1, 4)))
    start = chance.choice(["idling", "key_off", "settled"])
    if start == "key_off":
        steps.insert(0, (0.5, 'key = "start"'))
    with open(f"drawn-{i}.cfg", "w") as file:
        file.write(f'title = "drawn"; engine = "{chance.choice(["four-16", "four-18-cable", "three-10", "six-30", "four-15-turbo"])}";\n'
                   f'duration_s = {seconds}.0; record_s = {chance.choice([0.1, 0.2, 0.5, 1.0])}; start = "{start}";\n'
                   "timeline = ( " + ",\n ".join(f"{{ at_s = {at}; {what}; }}" for at, what in steps) + " );\n")
PY
missed=
for i in $(seq 0 39); do
  "$program" run drawn-$i.cfg --solver fast --format none --out drawn --quiet 2>.err || missed="$missed $i:$(head -c 120 .err)"
  no_nan drawn/summary.txt || missed="$missed $i:nan"
done
holds "none of forty that were drawn tells of nan:$missed" test -z "$missed"

# ---- apostrophes: at the start of a text, two together ----
printf '%s\n' 'title = "'"'Clean'"' the bore";' 'engine = "four-16";' 'duration_s = 12.0;' \
  'timeline = ( { at_s = 2; film_um = 20; note = "the '"''learned''"' offset"; } );' >apostrophe.cfg
if command -v gnuplot >/dev/null; then
  good "^'Clean' the bore" run apostrophe.cfg --format svg --out apostrophe
  holds 'all pictures are there' test -s apostrophe/run.svg -a -s apostrophe/area.svg -a -s apostrophe/gap.svg
  holds 'the title stands as it is' grep -qE "('|&apos;|&#39;|’)Clean('|&apos;|&#39;|’) the bore" apostrophe/run.svg
  holds 'so does the note' grep -qE "the ('|&apos;|&#39;|’){2}learned('|&apos;|&#39;|’){2} offset" apostrophe/run.svg
  good . run dead-supply.cfg --out tracks
  holds 'tracks of a dead supply are drawn' test -s tracks/tracks.png -o -s tracks/run.png
fi

# ---- two runs into one folder: the second is told, the first is whole ----
printf '%s\n' 'title = "ten hours";' 'engine = "four-16";' 'duration_s = 36000.0;' >ten-hours.cfg
"$program" run ten-hours.cfg --rows-only --out shared >/dev/null 2>&1 &
first=$!
for _ in $(seq 100); do ls shared/run.csv.part-* >/dev/null 2>&1 && break; sleep 0.05; done
bad 73 'shared: another bladegap is writing into this folder' run apostrophe.cfg --format none --out shared
good . run apostrophe.cfg --format none --out not-shared
kill -KILL "$first"
wait "$first" 2>/dev/null
good . run apostrophe.cfg --format none --out shared # the lock of one that was killed does not stay

# ---- a file that is called by dots would have its results above the folder ----
cp apostrophe.cfg ...cfg
cp apostrophe.cfg ....cfg
for dots in ...cfg ....cfg; do bad 78 'leaves no name for its results' run $dots --format none; done
holds 'nothing was written' test ! -e run.csv -a ! -e out

# ---- readings that only set the scene ----
cd - >/dev/null
bad 65 'nothing to estimate from: these readings only describe the conditions' estimate three-10 --reading coolant_c=-40@cold_idle
cd "$work"

# ---- a limit on the size of files is met as a full disk, also where the signal of it is not ignored ----
(ulimit -f 8; exec "$program" run apostrophe.cfg --format none --out limited >.out 2>.err)
code=$? out= err=$(cat .err)
holds 'a limit on the size of files: exit 74' test "$code" -eq 74
holds 'it says which file' grep -q 'run\.csv.*File too large' .err
holds 'nothing stays behind' test -z "$(ls limited)"
finish
