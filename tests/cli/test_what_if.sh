#!/usr/bin/env bash
# What if: --set and --freeze on a scenario, names instead of paths. Truth: docs/scenarios.md; a what-if is the same run as a scenario
# file that says so.
. "$(dirname "$0")/common.sh"
here=$PWD
column() { # FILE NAME: the values of one channel, a line each
  awk -F, -v name="$2" '{sub(/\r/, "")} NR == 1 {for (i = 1; i <= NF; i++) if ($i == name) at = i; next} {print $at}' "$1"
}
scenario() { # NAME FILM TIMELINE
  printf '%s\n' 'title = "short";' 'engine = "four-16";' 'duration_s = 60.0;' "initial = { film_um = $2; };" "timeline = ( $3 );" >"$work/$1.cfg"
}
cd "$work"
steps='{ at_s = 10.0; film_um = 70.0; ramp_s = 20.0; note = "a film grows"; }, { at_s = 40.0; film_um = 0.0; leak_mm2 = 3.0; note = "cleaned, a hose slips"; }'
scenario ramp 0.0 "$steps"
scenario film 60.0 '{ at_s = 40.0; leak_mm2 = 3.0; note = "cleaned, a hose slips"; }'
scenario added 60.0 '{ at_s = 30.0; film_um = 20.0; }, { at_s = 40.0; leak_mm2 = 3.0; }'
scenario mild 30.0 ''

# ---- a condition for the whole run ----
good 'replaced: at 10 s film_um to 70 over 20 s \(line 5\), and its note "a film grows"' run ramp.cfg --set film_um=60 --format none --out a
holds 'it says what holds instead' grep -q '^  film_um is 60 from the start and not 0' a/summary.txt
holds 'and the other step that it replaces, which does more' grep -q '^  replaced: at 40 s film_um to 0 (line 5)$' a/summary.txt
holds 'the title says it' grep -q '^short (film_um=60)$' a/summary.txt
good . run film.cfg --format none --out b
holds 'the same bytes as a file that says so' cmp a/run.csv b/run.csv
good . run ramp.cfg --set film_um=60 --format none --out c --json
holds 'JSON tells it' jq -e '.what_if | length == 3 and (.[1] | startswith("replaced: at 10 s"))' .out
run run ramp.cfg --set film_um=60 --format none --quiet
holds 'it has its own folder' test -s out/ramp-film_um=60/run.csv -a ! -e out/ramp
good 'replaced' run ramp.cfg --set film_um=60 --rows-only --out rows

# ---- steps ----
good 'added: at 30 s film_um to 20' run ramp.cfg --set film_um@30=20 --set film_um=60 --format none --out d
good . run added.cfg --format none --out e
holds 'a step is added, whatever the order of the options' cmp d/run.csv e/run.csv
good 'added: at 20 s key to off' run mild.cfg --set key@20=off --set action@10=reset_learned --format none --out f
holds 'the key was turned' grep -q 'key off' f/events.csv
holds 'the learned offset was reset' test "$(column f/run.csv learned_pct | sed -n 101p)" = 0.000

# ---- records say what was played ----
good . run ramp.cfg --set film_um@30=20 --set film_um=60 --freeze spark --record --format none --out g
good . run g/record.txt --format none --out h
holds 'played from its record it is the same' cmp g/run.csv h/run.csv
good 'replaced: at 0 s spark_frozen to 1' run g/record.txt --set spark_frozen=0 --set leak_mm2=0 --format none --out h2
holds 'a record can be asked what if, too' grep -q '^  replaced: at 40 s leak_mm2 to 3' h2/summary.txt
good . run ramp.cfg --set idle_air.learned_most_pct=10 --record --format none --out h3
good . run h3/record.txt --format none --out h4
holds 'and of a changed engine, which stands beside it' cmp h3/run.csv h4/run.csv

# ---- frozen ----
good . run ramp.cfg --format none --out free
for what in controller learned spark; do good "frozen from the first moment" run ramp.cfg --freeze $what --format none --out "$what"; done
differ() { test "$(column "$1/run.csv" "$2" | sort -u | wc -l)" -gt 1; }
holds 'learned stays' test "$(column learned/run.csv learned_pct | sort -u | wc -l)" -eq 1
holds 'effort goes on' differ learned effort_pct
holds 'trims go on' differ learned stft_pct
holds 'spark stays' test "$(column spark/run.csv spark_deg | sort -u | wc -l)" -eq 1
holds 'learning goes on without spark' differ spark learned_pct
for c in learned_pct effort_pct spark_deg stft_pct command_deg; do
  holds "controller: $c stays" test "$(column controller/run.csv $c | sort -u | wc -l)" -eq 1
  holds "free: $c moves" differ free $c
done
at_22_s() { column "$1/run.csv" speed_rpm | sed -n 221p | cut -d. -f1; } # 42 um, come within 12 s
holds 'a frozen controller lets the speed fall further' test "$(($(at_22_s controller) + 50))" -lt "$(at_22_s free)"
bad 64 "'learnt' is none of .*did you mean learned" run ramp.cfg --freeze learnt
good 'Not settled: a frozen learned offset' settle four-16 --set learned_frozen=1
bad 64 'freeze is for runs' sweep four-16 --vary film_um=0,1 --freeze spark --out x

# ---- nothing passes that does nothing ----
good 'drive does nothing here: this engine lacks a gear' run ramp.cfg --set drive=1 --set loads.converter_nm=0 --format none --out k
good 'drive does nothing here' settle four-18-cable --set drive=1
# A fault of what the engine has not is refused, on the command line and in a file.
cannot='four-16 lacks a cable throttle with an idle bypass valve, so bypass_film_um cannot be; leave it out'
bad 64 "--set bypass_film_um=60: $cannot" run ramp.cfg --set bypass_film_um=60 --format none --out k
bad 64 "--set bypass_film_um@7: $cannot" run ramp.cfg --set bypass_film_um@7=60 --format none --out k
bad 64 "--set bypass_film_um=60: $cannot" settle four-16 --set bypass_film_um=60
bad 64 "--set bypass_film_um=60: $cannot" sweep four-16 --vary film_um=0,1 --set bypass_film_um=60 --format none --out k2
bad 64 'four-18-cable lacks a motor that moves the blade, so motor_open cannot be' settle four-18-cable --set motor_open=1
good 'idles at its target' settle four-16 --set bypass_film_um=0
scenario idle_step 0.0 '{ at_s = 5.0; bypass_film_um = 50.0; }'
bad 78 "idle_step\.cfg:$(grep -n bypass_film_um idle_step.cfg | cut -d: -f1): $cannot" run idle_step.cfg --format none --out k3

# ---- bad ones ----
bad 64 "did you mean 'film_um'" run ramp.cfg --set film=60
bad 64 'film_um=400 is out of range: 0 to 300' run ramp.cfg --set film_um=400
bad 64 'film_um=400 is out of range' run ramp.cfg --set film_um@3=400
bad 64 'outside the run, which lasts from 0 to 60 s' run ramp.cfg --set film_um@61=4
bad 64 "'x' is not a time in seconds" run ramp.cfg --set film_um@x=4
bad 64 'NAME@T=VALUE' run ramp.cfg --set @3=4
bad 64 'a step is written NAME@T=VALUE' run ramp.cfg --set film_um=4@3
bad 64 "'' is not a time in seconds" run ramp.cfg --set film_um@=4
bad 64 'leave out @T' run ramp.cfg --set idle_air.learned_most_pct@3=4
bad 64 "'of' is none of off, on, start; did you mean off" run ramp.cfg --set key@3=of
bad 64 'ambient_kpa is 5; allowed: 50 to 110, or 0' run ramp.cfg --set ambient_kpa=5
bad 64 'it must be below' run ramp.cfg --set warmth.thermostat_open_c=70
bad 64 'it is a switch, 0 or 1' run ramp.cfg --set air_conditioning@3=0.5
holds 'nothing was written for any of them' test ! -e x -a ! -e out/ramp

# ---- US names ----
good 'coolant_c is 20 from the start' run ramp.cfg --set coolant_f=68 --format none --out us
good 'intake_bias_c is 10 ' run ramp.cfg --set intake_bias_f=18 --format none --out us2
good 'ambient_kpa is 84\.6' run ramp.cfg --set ambient_inhg=25 --format none --out us3
good 'altitude_m is 1524 ' run ramp.cfg --set altitude_ft=5000 --format none --out us4

# ---- names ----
good '^It|idles' settle four-16
run run air-conditioning --set film_um=60 --rows-only --quiet
holds 'a shipped scenario by its name' test -s out/air-conditioning-film_um=60/run.csv
cp "$here/scenarios/air-conditioning.cfg" mine.cfg
good '^  the engine that mine.cfg names is missing; the shipped one of that name is used' run mine.cfg --rows-only
cp "$here/models/four-16.cfg" own.cfg
sed 's/"four-16"/"own"/' ramp.cfg >beside.cfg
good . run beside.cfg --format none --out own
holds 'an engine beside the scenario, by its name' test -s own/run.csv
sed 's/"four-16"/"for-16"/' ramp.cfg >typo.cfg
bad 78 "typo.cfg:2: key 'engine' names for-16, .*did you mean four-16\?" run typo.cfg
sed 's/"four-16"/"own-.cfg"/' ramp.cfg >typo2.cfg
bad 78 'did you mean own.cfg\?' run typo2.cfg
sed 's#"four-16"#"/nowhere/four-16.cfg"#' ramp.cfg >whole.cfg
bad 78 'names /nowhere/four-16.cfg, which cannot be read' run whole.cfg
bad 66 'did you mean own.cfg\?' settle onw.cfg
bad 66 'did you mean film-droop\?' run film-drop
bad 66 'did you mean ./ramp.cfg\?' run ./rampp.cfg
bad 66 'No such file' run quite-something-else
bad 66 'did you mean a/run.csv\?' plot a/rnu.csv
bad 66 'did you mean typo.cfg\?' check tyop.cfg
bad 66 'did you mean a/summary.txt\?' check a/sumary.txt
printf 'name,condition,value\nmaf_gps,idle,2.5\n' >mine.csv
bad 66 'did you mean mine.csv\?' estimate four-16 --readings mien.csv
bad 66 'did you mean own.cfg\?' plot a/run.csv --engine onw.cfg
mkdir film-droop
run run film-droop --rows-only --quiet --out fd
holds 'a folder of that name does not hide a shipped scenario' test -s fd/run.csv
bad 66 'nowhere' sweep nowhere.cfg --vary film_um=0,1
good 'idles' sweep four-16 --vary film_um=0,1 --format none --out s

# ---- sweeps over what a timeline says ----
good 'replaced: at 10 s film_um to 70 over 20 s' sweep ramp.cfg --vary film_um=0,40 --format none --out s2
holds 'a row each' test "$(grep -c '^[0-9]' s2/sweep.csv)" -eq 2
good 'replaced: at 10 s film_um' sweep ramp.cfg --vary drag_nm=0,2 --set film_um=3 --format none --out s3
bad 64 'contradict' sweep ramp.cfg --vary film_um=0,40 --set film_um@3=3 --out x
finish
