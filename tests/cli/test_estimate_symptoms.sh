#!/usr/bin/env bash
# estimate: codes, freeze frame and complaint. Truth: the command's contract; what speaks for what: common practice, no source.
. "$(dirname "$0")/common.sh"
model=models/four-16.cfg
readings=scenarios/readings

# Without any reading: what is possible, nothing certain, and what to measure first.
good '^What codes and complaint imply' estimate "$model" --codes P0506 --complaint low-idle
holds "no reading is counted" grep -q 'It rests on what brought the car in alone, on no' "$work/.out"
holds "idle is to be read first" grep -q 'Next: data_stream@idle' "$work/.out"
holds "the code is told" grep -q 'P0506 is stored: it sets on' "$work/.out"
holds "100 columns" narrow "$work/.out"
good '^\{' estimate "$model" --codes P0506 --complaint low-idle --json
holds "nothing above nine tenths, film first, all of it told" jq -e '
  all(.causes[]; .probability < 0.9) and .causes[0].name == "film" and ([.causes[].probability] | add | . > 0.999 and . < 1.001)
  and .readings == [] and .symptoms.complaint.name == "low-idle" and .symptoms.codes_complete
  and any(.symptoms.codes[]; .name == "P0506" and .stored) and (.next | length > 2) and .fit.explained' "$work/.out" >/dev/null
good 'How much film' estimate "$model" --codes P0506 --all
good 'on no reading' estimate models/four-18-cable.cfg --codes none --complaint hunts
good 'What codes and complaint' estimate --car kind=cable,displacement_l=1.4 --codes P0507

if command -v gnuplot >/dev/null; then
  good 'estimate\.svg' estimate "$model" --codes P0506 --complaint low-idle --out "$work/out" --format svg
  holds "a picture without readings, and what is not listed is not called nothing wrong" bash -c \
    'grep -q "What codes and complaint imply" "$1" && grep -q "not listed" "$1" && [ "$(grep -o "nothing wrong" "$1" | wc -l)" = 1 ]' - "$work/out/estimate.svg"
fi

# Beside readings they move the odds, and never by more than they may.
share() { jq --arg name "$2" '[.causes[] | select(.name == $name) | .probability] | add' "$1"; }
good '^\{' estimate "$model" --reading speed_rpm=745@idle --json
cp "$work/.out" "$work/plain.json"
holds "nothing said where nothing was given" jq -e '.symptoms == null' "$work/plain.json" >/dev/null
good '^\{' estimate "$model" --reading speed_rpm=745@idle --codes none --json
cp "$work/.out" "$work/none.json"
good '^\{' estimate "$model" --reading speed_rpm=745@idle --codes P0506 --json
holds "a code that is not there speaks, and one that is" awk -v none="$(share "$work/none.json" film)" -v plain="$(share "$work/plain.json" film)" \
  -v there="$(share "$work/.out" film)" 'BEGIN {exit !(none < plain && plain < there)}'
good '^\{' estimate "$model" --reading speed_rpm=745@idle --codes P0506 --codes-unknown --json
holds "of an incomplete list no other code is missed" jq -e '.symptoms.codes_complete == false and all(.symptoms.codes[]; .stored)' "$work/.out" >/dev/null

# Freeze frames: on the line, in a file, of another moment.
good 'freeze frame is one of warm idle' estimate "$model" --freeze-frame speed_rpm=702,coolant_c=90,maf_gps=7.2kg/h
printf 'name,value,unit\nspeed_rpm,702,\ncoolant_c,194,F\nload_pct,24,\n' >"$work/frame.csv"
good 'freeze frame is one of warm idle' estimate "$model" --freeze-frame "$work/frame.csv" --complaint stalls
good 'left out: its coolant says that the engine was not warm' estimate "$model" --codes P0506 --freeze-frame speed_rpm=702,coolant_c=20
good 'left out: the car was moving' estimate "$model" --codes P0506 --freeze-frame speed_rpm=900,coolant_c=90,vehicle_speed_kph=30
bad 65 'nothing to estimate from.*its speed is not one of idling' estimate "$model" --freeze-frame speed_rpm=3000,coolant_c=90

# Codes that no monitor of this file sets are told and left out.
good 'U0100, P0174: no monitor' estimate "$model" --codes U0100,P0174,P0506
good 'P1234: no monitor' estimate "$model" --readings "$readings/film-full.csv" --codes P1234

# Bad input.
bad 64 "'P06' is no code" estimate "$model" --codes P06
bad 64 'P0506 is there already' estimate "$model" --codes P0506,p0506
bad 64 'P0506 is there already' estimate "$model" --codes P0506 --codes P0506
bad 64 'none says that no code is stored' estimate "$model" --codes P0506,none
bad 64 'a code is missing' estimate "$model" --codes P0506,
bad 64 'contradict each other' estimate "$model" --codes none --codes-unknown
bad 64 "no complaint 'low-idel'; did you mean 'low-idle'" estimate "$model" --complaint low-idel
bad 64 "no complaint 'x'; there are low-idle, high-idle" estimate "$model" --complaint x
bad 64 "'sped_rpm'; did you mean 'speed_rpm'" estimate "$model" --freeze-frame sped_rpm=702,coolant_c=90
bad 64 'speed_rpm at idle is there already' estimate "$model" --freeze-frame speed_rpm=702,speed_rpm=710,coolant_c=90
bad 64 'wants NAME=VALUE' estimate "$model" --freeze-frame speed_rpm=702,coolant_c
bad 64 'says itself at which condition' estimate "$model" --freeze-frame speed_rpm=702@idle
bad 64 'is no speed of a car' estimate "$model" --freeze-frame speed_rpm=702,vehicle_speed_kph=fast
bad 66 'nowhere' estimate "$model" --freeze-frame "$work/nowhere.csv"
printf 'name,wert\nspeed_rpm,702\n' >"$work/frame.csv"
bad 65 'has the columns name and value' estimate "$model" --freeze-frame "$work/frame.csv"
printf 'name,value\nspeed_rpm,x\n' >"$work/frame.csv"
bad 65 'frame\.csv:2' estimate "$model" --freeze-frame "$work/frame.csv"
run estimate "$model" --codes P06 --complaint x
holds "all faults in one go" bash -c '[ "$(grep -c "^bladegap" <<<"$1")" -ge 2 ] || [ "$(wc -l <<<"$1")" -ge 2 ]' - "$err"
finish
