#!/usr/bin/env bash
# make.sh PROGRAM [FOLDER]: writes the logs of this folder, or the same into another, from runs of invented cars. What each is: README.md.
set -euo pipefail
program=$(realpath "$1")
here=$(cd "$(dirname "$0")" && pwd)
to=$(realpath "${2:-$here}")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# Two of an older make, for the opening curve: a row every half second, two values asked for anew in each, position in steps of 1/255.
for name in clean film; do
  film=0
  [ $name = film ] && film=45
  "$program" run "$here/../slow-opening.cfg" --set film_um=$film --out "$work/$name" --format none --quiet
  awk -F, '
    NR == 1 { for (i = 1; i <= NF; i++) at[$i] = i; print "Time (s),Engine RPM,Absolute Throttle Position (%),Mass Air Flow Rate (g/s),Intake Air Temperature (C)"; next }
    (NR - 2) % 5 == 0 {
      turn++
      if (turn == 1 || turn % 2) { rpm = $at["speed_rpm"]; position = $at["tp_pct"] }
      if (turn == 1 || turn % 2 == 0) { air = $at["maf_gps"]; intake = $at["intake_c"] }
      printf "%.1f,%.2f,%.1f,%.2f,%.0f\n", $at["time_s"], int(4 * rpm + 0.5) / 4, int(position * 2.55 + 0.5) / 2.55, air, intake
    }' "$work/$name/run.csv" >"$to/opening-$name.csv"
done

# scene NAME ENGINE START SECONDS STEP ...: a scenario of its own; $film is on the wall at its start.
film=0
scene() {
  local name=$1 engine=$2 start=$3 seconds=$4
  shift 4
  {
    printf 'title = "%s";\nengine = "%s";\nstart = "%s";\nduration_s = %s;\nrecord_s = 0.05;\n' "$name" "$engine" "$start" "$seconds"
    printf 'initial = { film_um = %s; };\ntimeline = (' "$film"
    local comma=
    for step in "$@"; do
      printf '%s\n  { %s }' "$comma" "$step"
      comma=,
    done
    printf '\n);\n'
  } >"$work/$name.cfg"
}

# log FILE SHAPE SCENE OPTION ...: one log of it.
log() {
  local file=$1 shape=$2 scene=$3
  shift 3
  "$program" run "$work/$scene.cfg" --solver fast --format none --quiet --out "$work/out" --as-log "$to/$file.csv" --log-shape "$shape" "$@"
}

# A visit: idle, compressor, idle, 2500 rpm without load, idle.
visit=('at_s = 45.0; air_conditioning = 1;' 'at_s = 80.0; air_conditioning = 0;' 'at_s = 105.0; hold_rpm = 2500.0;' 'at_s = 140.0; hold_rpm = 0.0;')
for engine in four-16 three-10 four-18-cable four-15-turbo; do scene "visit-$engine" "$engine" idling 170.0 "${visit[@]}"; done
# The clean with the key off; the log begins with the key on again.
film=55
scene cleaned four-16 idling 220.0 'at_s = 20.0; key = "off";' 'at_s = 25.0; film_um = 0.0;' 'at_s = 30.0; key = "on";' 'at_s = 34.0; key = "start";' \
  'at_s = 95.0; air_conditioning = 1;' 'at_s = 130.0; air_conditioning = 0;' 'at_s = 155.0; hold_rpm = 2500.0;' 'at_s = 190.0; hold_rpm = 0.0;'
film=0
scene drive four-16 idling 175.0 'at_s = 40.0; ramp_s = 95.0; pedal_pct = 15.0;' 'at_s = 150.0; ramp_s = 3.0; pedal_pct = 0.0;'
scene cold four-18-cable key_off 150.0 'at_s = 1.0; key = "on";' 'at_s = 5.0; key = "start";'

# The cars: how they differ from the engine of their file, and the day.
first=(--scale friction.constant_bar=1.06 --scale discharge_by_opening_deg=0.98 --set tps1_offset_v=0.015 --set maf_gain_ratio=1.015)
good=(--set electrical_load_w=320 --set intake_c=24 --set coolant_c=88)
ill=(--set electrical_load_w=390 --set intake_c=33 --set coolant_c=91)
small=(--scale friction.constant_bar=0.95 --set map_offset_kpa=0.4 --set intake_c=17 --set electrical_load_w=260 --set ambient_kpa=99.6)
cable=(--scale friction.constant_bar=1.04 --scale discharge_by_opening_deg=1.02 --set maf_gain_ratio=0.985 --set intake_c=28)
turbo=(--scale friction.constant_bar=1.03 --set maf_gain_ratio=1.01 --set tps1_offset_v=-0.01 --set intake_c=35 --set electrical_load_w=420)

log good wide visit-four-16 "${first[@]}" "${good[@]}" --seed 11
log film-before held visit-four-16 "${first[@]}" "${ill[@]}" --set film_um=55 --seed 12 --log-rate 16
log film-cleaned clock cleaned "${first[@]}" "${ill[@]}" --seed 13 --log-from 30
log film-relearned iso visit-four-16 "${first[@]}" "${ill[@]}" --seed 14
log film-drive times drive "${first[@]}" "${ill[@]}" --set film_um=55 --seed 15 --log-signals RPM,TP,MAF,IAT,ECT
log leak-three semicolon visit-three-10 "${small[@]}" --set leak_mm2=3 --seed 16
log film-cable preamble visit-four-18-cable "${cable[@]}" --set bypass_film_um=150 --seed 17 --log-signals RPM,IAC,MAF,TP,SPARKADV,SHRTFT1,LONGFT1,ECT,IAT,VPWR
log film-turbo us visit-four-15-turbo "${turbo[@]}" --set film_um=40 --seed 18
log cold-cable polled cold "${cable[@]}" --set warmth_held=0 --set coolant_c=12 --set oil_c=12 --seed 19
