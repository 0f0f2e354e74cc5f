#!/usr/bin/env bash
# settle: text, JSON, settings, and what it says to bad ones. Numbers of the engine: models/four-16.cfg (targets, limits).
. "$(dirname "$0")/common.sh"
model=models/four-16.cfg

good 'It idles at its target of 850 rpm' settle "$model"
holds "the table fits 100 columns" narrow "$work/.out"
good 'It droops: [0-9]+ rpm, [0-9]+ below its target' settle "$model" --set film_um=80
holds "it names the code" grep -qx '  P0506  Idle Control System RPM Lower Than Expected' "$work/.out"
holds "no word of stored codes beside those that would set" bash -c '! grep -q codes_pending "$1"' - "$work/.out"
holds "it fits a screen" test "$(wc -l <"$work/.out")" -lt 45
holds "readings stand in groups" grep -qE '^  (Speed and air|What idle control does|Throttle and film|Mixture) +value' "$work/.out"
good '^  motor_v ' settle "$model" --set film_um=80 --all
holds "--all has every channel but time, unsteadiness and stored codes" bash -c '
  diff <("$2" list channels --json | jq -r ".channels[].name" | grep -vxE "time_s|speed_sd_rpm|codes_.*|lambda2|.*2_pct|bypass_.*|map_kpa|charge_kpa" | sort) \
       <(grep -oE "^  [a-z0-9_]+ " "$1" | tr -d " " | sort)' - "$work/.out" "$program"
for setting in film_um=0 film_um=80 leak_mm2=3 hold_rpm=2500 sensor_supply_v=4.5; do
  run settle "$model" --set $setting --all
  holds "no -0.000 with $setting" bash -c '! grep -qE -- "-0\.?0* " "$1"' - "$work/.out"
done
good 'It races' settle "$model" --stale-learned 36
good 'It is held at 2500 rpm with [0-9.]+ % of pedal' settle "$model" --set hold_rpm=2500
good 'It is held at [0-9]+ rpm with 6\.0 % of pedal' settle "$model" --set pedal_pct=6
good 'it stalls\. At its target of 850 rpm, with all the air' settle "$model" --set film_um=260
holds "and how much is missing" bash -c 'tr "\n" " " <"$1" | grep -qE "it lacks [0-9.]+ Nm to keep itself turning\."' - "$work/.out"
holds "and says what does it" bash -c 'tr "\n" " " <"$1" | grep -q "Without film_um=260 it would idle at its target of 850 rpm\."' - "$work/.out"
good '^\{' settle "$model" --set film_um=260 --json
holds "JSON says it too" jq -e '.outcome == "stalls" and .stall.short_nm > 10 and .stall.without == [{condition: "film_um", value: 260,
  outcome: "idles", speed_rpm: 850}]' "$work/.out" >/dev/null
good 'it stalls' settle "$model" --set film_um=260 --set drag_nm=60
holds "two that each do it alone" bash -c 'tr "\n" " " <"$1" | grep -q "None of the 2 settings causes it alone: without any one of them it still stalls\."' - "$work/.out"
good 'it stalls' settle "$model" --set film_um=260 --set leak_mm2=1
holds "a harmless one is no cause" bash -c '! grep -q "Without leak_mm2" "$1" && grep -q "Without" "$1"' - "$work/.out"
good '^  coolant_f +194\.0 ' settle four-16 --all --units us
good '^  manifold_inhg +[0-9]\.[0-9]+ ' settle four-16 --units us
holds "the text in US units is 1 kPa to 0.2953 inHg" bash -c '
  awk -v us="$(awk "/manifold_inhg/ {print \$2}" "$1")" -v si="$("$2" settle four-16 | awk "/manifold_kpa/ {print \$2}")" \
    "BEGIN {d = us - si / 3.38638; exit !(d < 0.006 && d > -0.006)}"' - "$work/.out" "$program"
good 'It runs up to the rev limiter: fuel is cut at 6500 rpm and comes back at 6300' settle "$model" --set pedal_pct=50
good 'It races: 5[0-9]{3} rpm' settle models/three-10.cfg --set leak_mm2=100
good 'It limps home at 1[67][0-9]+ rpm' settle "$model" --set sensor_supply_v=4.5
good 'P2135' settle "$model" --set tps_ground_ohm=300
good 'Limp-home is in force: reduced power' settle "$model" --set tps1_offset_v=-2
good 'nothing controls its idle' settle models/four-18-cable.cfg --set tps1_offset_v=0.1
good 'Not settled: the position of a jammed blade depends' settle "$model" --set blade_jammed=1
good 'That speed cannot be held: even with far more pedal than usual it runs at [0-9]+ rpm' settle "$model" --set hold_rpm=6000 --set drag_nm=50 --set filter_ratio=300
good 'Key on, engine standing' settle "$model" --engine-off

good '^\{' settle "$model" --json --set film_um=80
holds "JSON: every channel but time, outcome, limp-home, branches, codes" bash -c '
  diff <(jq -r "keys[]" "$1" | grep -vxE "outcome|limp_home|branches_rpm|codes" | sort) \
       <("$2" list channels --json | jq -r ".channels[].name" | grep -vx time_s | sort)' - "$work/.out" "$program"
holds "JSON: a droop" jq -e '.outcome == "droops" and .speed_rpm < .target_rpm - 100 and .learned_pct == 40 and .effort_pct == 15
  and (.branches_rpm[0] - .speed_rpm | fabs) < 0.001 and (.codes | index("P0506"))' "$work/.out"  >/dev/null
cp "$work/.out" "$work/droop.json"
run settle "$model" --json --set film_um=80
holds "the same answer again" cmp "$work/.out" "$work/droop.json"
good '^\{' settle "$model" --json --set idle_air.learned_most_pct=10 --set film_um=80
holds "an engine parameter counts" jq -e --slurpfile full "$work/droop.json" \
  '.learned_pct == 10 and .speed_rpm < $full[0].speed_rpm' "$work/.out" >/dev/null
good '^\{' settle "$model" --json --set film_um=10 --set film_um=80
holds "the last of two settings counts" cmp "$work/.out" "$work/droop.json"
good '^\{' settle "$model" --json --set blade_jammed=1
holds "JSON: a refusal has its reason and no numbers" jq -e '.outcome == "not settled" and (.reason | length > 0) and .speed_rpm == null' \
  "$work/.out" >/dev/null
good '^\{' settle "$model" --json --engine-off
holds "JSON: standing at ambient pressure" jq -e '.outcome == "stands" and .speed_rpm == 0 and .manifold_kpa == 101.325' "$work/.out" >/dev/null

bad 64 "did you mean 'film_um'" settle "$model" --set film_mu=40
bad 64 "did you mean 'idle_air.learned_most_pct'" settle "$model" --set idle_air.learned_most_pc=40
bad 64 'film_um=400 is out of range: 0 to 300' settle "$model" --set film_um=400
bad 64 'NAME=VALUE' settle "$model" --set film_um
bad 64 "'4o' is not a number" settle "$model" --set film_um=4o
bad 64 'is a switch' settle "$model" --set air_conditioning=0.5
bad 64 'contradict each other' settle "$model" --engine-off --set hold_rpm=2500
bad 64 "running_rpm is 800; it must be below 'idle_target.drive_rpm'" settle "$model" --set supervision.running_rpm=800
bad 64 'rest_opening_deg is for a cable throttle' settle "$model" --set throttle.rest_opening_deg=1
bad 64 'stale-learned' settle "$model" --stale-learned 1000
bad 64 'stale-learned' settle "$model" --stale-learned much
bad 64 'has no option --fast' settle "$model" --fast
bad 64 'ENGINE' settle
bad 66 'nowhere' settle "$work/nowhere.cfg"
bad 78 'key-on-sweep' settle scenarios/key-on-sweep.cfg
run settle "$model" --quiet
holds "--quiet says nothing" test "$code" -eq 0 -a -z "$out$err"
# Codes of the bypass valve's circuit and of a battery that nobody charges, where the engine has what they watch; meanings from
# memory of SAE J2012.
codes() { # ENGINE, codes that must be among those told, settings ...
  local engine=$1 want=$2 sets=() one
  shift 2
  for one in "$@"; do sets+=(--set "$one"); done
  run settle "models/$engine.cfg" "${sets[@]}" --json
  holds "$engine with $*: $want" jq -e --arg want "$want" '[.codes[]] as $codes | ($want | split(" ")) - $codes == []' "$work/.out" >/dev/null
}
codes four-18-cable P0511 bypass_open=1
codes four-18-cable P0508 bypass_grounded=1
codes four-18-cable 'P0509 P0507' bypass_shorted=1
codes four-16 P0562 charging_v=0 battery_rest_v=10.5
codes four-18-cable P0562 charging_v=0 battery_rest_v=10.5
run settle models/four-16.cfg --set charging_v=0 --json
holds "12.6 V is not low" jq -e '[.codes[]] - ["P0562"] == [.codes[]]' "$work/.out" >/dev/null
finish
