#!/usr/bin/env bash
# make.sh PROGRAM: writes the logs of this folder from runs of scenarios/slow-opening.cfg, as a scan tool would have read them: a row every
# half second, two values asked for anew in each, position in steps of 1/255. They are of an invented engine, not of a car.
set -euo pipefail
program=$(realpath "$1")
here=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
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
    }' "$work/$name/run.csv" >"$here/opening-$name.csv"
done
