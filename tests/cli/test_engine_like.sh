#!/usr/bin/env bash
# Engine files that say only what differs from another; --set and --scale on all that take an engine. Truth: docs/engine-files.md; an engine
# changed by options is the same as a file that says so.
. "$(dirname "$0")/common.sh"
cd "$work"
printf '%s\n' '// a comment' 'like = "four-16";' 'friction = { constant_bar = 0.52; }; // sd 0.03: an opinion' \
  'scale: { throttle: { discharge_by_opening_deg = 0.95; }; };' >mine.cfg
printf '%s\n' 'like = "mine"; title = "second";' 'idle_target = { drive_rpm = 720.0; };' >second.cfg
printf '%s\n' 'title = "short";' 'engine = "mine";' 'duration_s = 20.0;' 'initial = { film_um = 40.0; };' >short.cfg
printf '%s\n' 'title = "short";' 'engine = "four-16";' 'duration_s = 20.0;' 'initial = { film_um = 40.0; };' >plain.cfg
changed=(--set constant_bar=0.52 --scale discharge_by_opening_deg=0.95)

# ---- files ----
good 'mine.cfg: good \(engine file\)' check mine.cfg
good 'second.cfg: good \(engine file\)' check second.cfg
good '^mine, like four-16$' settle mine.cfg
good '^second$' settle ./second.cfg
settled() { jq -S 'del(.engine, .title, .file, .what_if)' <<<"$out"; }
run settle mine.cfg --json && of_file=$(settled)
run settle four-16 "${changed[@]}" --json && of_options=$(settled)
run settle four-16 --json && of_model=$(settled)
holds 'a file and options: the same point' test "$of_file" = "$of_options"
holds 'which is another than before' test "$of_file" != "$of_model"
good 'constant_bar=0.52; discharge_by_opening_deg times 0.95' settle four-16 "${changed[@]}"
printf 'like = "none-16";\n' >bad.cfg
bad 78 "bad.cfg:1: key 'like' names none-16, which is not a shipped engine" settle bad.cfg
printf '\nlike = "bad.cfg";\n' >bad.cfg
bad 78 'bad.cfg:2: .*names this file itself' check bad.cfg
printf 'like = "mine";\nscale: { frction: { constant_bar = 2.0; }; };\n' >bad.cfg
bad 78 "bad.cfg:2: key 'scale.frction' is unknown; did you mean 'friction'" estimate bad.cfg --reading speed_rpm=850@idle
printf 'like = "mine";\nscale: { friction: { constant_bar = 9.0; }; };\n' >bad.cfg
bad 78 "bad.cfg:2: key 'friction.constant_bar' times 9 is 4.68; allowed: 0.1 to 3" testsheet bad.cfg

# ---- runs, and their records ----
good . run short.cfg --format none --out a
good 'engine: friction.constant_bar is 0.52 and not 0.46' run plain.cfg "${changed[@]}" --record --format none --out b
holds 'a run of either is the same' cmp a/run.csv b/run.csv
holds 'the factor is told' grep -q 'throttle.discharge_by_opening_deg is .*, 0.95 times as much' <<<"$(tr -s '\n ' ' ' <b/summary.txt)"
holds 'the record names the changed engine' grep -q '^bladegap-record 1 engine.cfg$' b/record.txt
holds 'which names the shipped one' grep -q '^like = "four-16";$' b/engine.cfg
mkdir elsewhere && mv b/engine.cfg b/record.txt elsewhere
good . run elsewhere/record.txt --format none --out c
holds 'played from its record it is the same' cmp b/run.csv c/run.csv
good 'friction.constant_bar is 0.6 and not 0.52' run elsewhere/record.txt --set friction.constant_bar=0.6 --record --format none --out d
good . run d/record.txt --format none --out e
holds 'a record of a changed record, too' cmp d/run.csv e/run.csv
run run short.cfg --scale constant_bar=1.1 --rows-only --quiet
holds 'a folder of its own' test -s 'out/short-constant_bar=x1.1/run.csv'

# ---- sweeps ----
good 'over friction.constant_bar' sweep mine.cfg --vary constant_bar=0.5,0.6 --scale learned_most_pct=0.5 --out s --format none
holds 'the column has its full name' grep -q '^friction.constant_bar,' s/sweep.csv
good 'over friction.constant_bar' sweep short.cfg --vary constant_bar=0.5,0.6 --scale learned_most_pct=0.5 --out s2 --format none
bad 64 'contradict each other' sweep four-16 --vary constant_bar=0.5,0.6 --set friction.constant_bar=0.5 --out x
bad 64 'contradict each other' sweep four-16 --vary friction.constant_bar=0.5,0.6 --scale constant_bar=1.1 --out x
bad 64 'throttle.kind is a word, not a number' sweep four-16 --vary throttle.kind=0,1 --out x

# ---- estimate, testsheet ----
good 'constant_bar=0.52' estimate four-16 "${changed[@]}" --reading speed_rpm=850@idle --reading maf_gps=2.5@idle
bad 64 'it must be below' estimate four-16 --set thermostat_open_c=70 --reading speed_rpm=850@idle
bad 64 'film_um is a condition, and each test sets its own' testsheet four-16 --set film_um=3
bad 64 'times 1.5 is .* at point [0-9]; allowed: 0.3 to 1' testsheet four-16 --scale discharge_by_opening_deg=1.5
short || good 'closed_position_pct=12' testsheet four-16 --set closed_position_pct=12

# ---- bad ones ----
bad 64 "'rest_opening_deg' is in more than one group: write throttle.rest_opening_deg or drive.rest_opening_deg" settle four-16 --set rest_opening_deg=1
bad 64 "did you mean 'friction.constant_bar'" settle four-16 --scale constant_bra=1.1
bad 64 'the factor is 0; allowed: 0.01 to 100' settle four-16 --scale constant_bar=0
bad 64 'film_um is a condition' run plain.cfg --scale film_um=2 --out x
bad 64 "'pressur' is none of air_flow, pressure; did you mean pressure" settle four-16 --set metering=pressur
bad 64 'throttle.kind is "cable"; an engine without an idle bypass valve' settle four-16 --set throttle.kind=cable
bad 64 'leave out @T' run plain.cfg --set constant_bar@3=0.5 --out x
holds 'nothing was written for any of them' test ! -e x
finish
