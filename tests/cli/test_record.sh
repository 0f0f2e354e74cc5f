#!/usr/bin/env bash
# Records: a run writes one, run takes it and gives the same bytes; check, sweep; bad records. Truth: docs/records.md.
. "$(dirname "$0")/common.sh"

good . run scenarios/film-droop.cfg --out "$work/one" --format none --solver fast --seed 7 --record
holds 'the first line names format and engine' test "$(head -n 1 "$work/one/record.txt")" = 'bladegap-record 1 four-16'
good '\(record\)$' check "$work/one/record.txt"
good . run "$work/one/record.txt" --out "$work/two" --format none --record
holds 'replayed, the same rows' cmp "$work/one/run.csv" "$work/two/run.csv"
holds 'replayed, the same events' cmp "$work/one/events.csv" "$work/two/events.csv"
holds 'the record of a record is the same' cmp "$work/one/record.txt" "$work/two/record.txt"
scenarios=(scenarios/*.cfg)
short && scenarios=(scenarios/{film-droop,stale-learned,load-steps}.cfg)
for scenario in "${scenarios[@]}"; do
  name=$(basename "$scenario" .cfg)
  run run "$scenario" --out "$work/a" --rows-only --quiet --solver fast --record
  run run "$work/a/record.txt" --out "$work/b" --rows-only --quiet
  holds "$name replays from its record" cmp "$work/a/run.csv" "$work/b/run.csv"
  holds "$name: events too" cmp "$work/a/events.csv" "$work/b/events.csv"
done
good . run "$work/one/record.txt" --out "$work/json" --format none --json
good . sweep "$work/one/record.txt" --vary altitude_m=0:1000:500 --out "$work/sweep" --format none

# An engine of one's own, beside the record.
cp models/four-16.cfg "$work/own.cfg"
printf '%s\n' 'bladegap-record 1 own.cfg' 'start state settled' 'start solver fast' '1 film_um 10 2' '5 end' >"$work/own.txt"
good . run "$work/own.txt" --out "$work/own" --format none --record
holds 'its record names the whole path' test "$(head -n 1 "$work/own/record.txt")" = "bladegap-record 1 $(realpath "$work/own.cfg")"
good . run "$work/own/record.txt" --out "$work/own2" --format none
holds 'and replays' cmp "$work/own/run.csv" "$work/own2/run.csv"

# ---- bad ----
record() { printf '%s\n' "$@" >"$work/bad.txt"; }
record 'bladegap-record 1 four-61' '5 end'
bad 78 "bad.txt:1: no engine is called 'four-61'; did you mean 'four-16'\?" run "$work/bad.txt" --out "$work/bad"
bad 78 "did you mean 'four-16'" check "$work/bad.txt"
record 'bladegap-record 1 none.cfg' '5 end'
bad 78 'none.cfg cannot be read' run "$work/bad.txt" --out "$work/bad"
record 'bladegap-record 1 four-16' '1 flim_um 3' '2 film_um 900' '5 end'
bad 78 "bad.txt:2: 'flim_um' is unknown; did you mean 'film_um'" run "$work/bad.txt" --out "$work/bad"
bad 78 'bad.txt:3: film_um is 900; allowed: 0 to 300' check "$work/bad.txt"
record 'bladegap-record 1 four-16' '1 weak_cylinder_ratio 0.5' '5 end'
bad 78 "bad.txt:2: 'weak_cylinder_ratio' is no longer known; .*spark_missing_pct .*cylinder_compression_loss_pct" check "$work/bad.txt"
printf 'title = "x"; engine = "%s/models/four-16.cfg"; duration_s = 5.0;\ntimeline = ( { at_s = 1.0; weak_cylinder_ratio = 0.5; } );\n' "$PWD" >"$work/former.cfg"
bad 78 "former.cfg:[0-9]+: .*weak_cylinder_ratio' is no longer known; .*spark_missing_pct .*cylinder_compression_loss_pct" check "$work/former.cfg"
bad 64 "no quantity 'weak_cylinder_ratio' any more; .*spark_missing_pct .*cylinder_compression_loss_pct" settle models/four-16.cfg --set weak_cylinder_ratio=0.5
bad 64 "no cause 'weak_cylinder' any more; .*spark_missing .*cylinder_compression " estimate models/four-16.cfg --reading maf_gps=2.5@idle --rate weak_cylinder=3
bad 64 "no reading 'weak_cylinder_ratio', and no condition any more; .*spark_missing_pct " estimate models/four-16.cfg --reading weak_cylinder_ratio=0.5@idle
record 'bladegap-record 1 four-16' 'start state settled' 'start film_um 300' 'start drag_nm 150' '5 end'
bad 78 'has no settled point to start .* from \([a-z ]+ under its initial conditions\)\. Make' run "$work/bad.txt" --out "$work/bad"
record 'bladegap-record 9 four-16' '5 end'
bad 78 "format is '9'; this program reads format 1" run "$work/bad.txt" --out "$work/bad"
holds 'a bad record leaves nothing half-written' no_parts "$work"

# Six steps of six ramps at once.
{
  printf 'title = "ramps"; engine = "%s/models/four-16.cfg"; duration_s = 5.0;\ntimeline = (\n' "$PWD"
  echo '{ at_s = 1.0; note = "now"; }'
  for name in leak_mm2 booster_leak_mm2 boot_leak_mm2 ventilation_stuck_mm2 purge_stuck_mm2 egr_stuck_mm2 film_um edge_film_um \
    bypass_film_um leak_bank1_pct purge_vapour_pct filter_ratio exhaust_ratio maf_gain_ratio maf_offset_gps maf_lag_ratio map_offset_kpa \
    coolant_bias_c intake_bias_c fuel_delivery_ratio spark_missing_pct spark_offset_deg compression_loss_pct drag_nm blade_stick_deg \
    position_offset_deg motor_resistance_ratio spring_ratio tps1_offset_v tps1_gain_ratio tps2_offset_v tps2_gain_ratio \
    app1_offset_v app1_gain_ratio app2_offset_v app2_gain_ratio; do
    printf ', { at_s = 2.0; ramp_s = 100.0; %s = %s; }\n' "$name" "$(case $name in *_ratio) echo 1.0 ;; *) echo 0.0 ;; esac)"
  done
  echo ');'
} >"$work/ramps.cfg"
good . run "$work/ramps.cfg" --out "$work/ramps" --format none
finish
