#!/usr/bin/env bash
# run --as-log: options, what is refused, what the engine has not. What stands in the files: tests/logs/as_log.py.
. "$(dirname "$0")/common.sh"
quick=(run slow-opening --solver fast --format none --out "$work/out")

good . "${quick[@]}" --as-log "$work/a.csv" --as-log "$work/b.csv" --log-shape wide --log-shape long
holds 'each log has its shape' bash -c 'head -1 "$1" | grep -q "^Time (s),Engine RPM (rpm)," && head -1 "$2" | grep -qx "Time (s),Name,Value,Unit"' - "$work/a.csv" "$work/b.csv"
good . "${quick[@]}" --as-log "$work/c.csv" --log-shape polled --log-signals 'rpm,Absolute Throttle Position/4,a/c,RUNTM/8' --log-rate 5
holds 'signals in the order asked for, by either name' grep -qx \
  'Time (s),Engine RPM (rpm),Absolute Throttle Position (%),Air Conditioning Request,Time Since Engine Start (s)' "$work/c.csv"
holds 'every fourth' awk -F, '{rpm += $2 != ""; tp += $3 != ""} END {exit !(rpm > 4 * tp - 6 && rpm < 4 * tp + 6)}' "$work/c.csv"
holds 'five answers a second for 130 s' test "$(wc -l <"$work/c.csv")" -eq 652
good . "${quick[@]}" --as-log "$work/d.csv" --log-from 100 --json
holds 'it is among the files' jq -e --arg file "$work/d.csv" '.files | any(. == $file)' "$work/.out"
holds 'time counts from when it is plugged in, and the run goes on' awk -F, 'NR == 2 {first = $1} END {exit !(first < 0.1 && $1 > 29 && $1 < 30.1)}' "$work/d.csv"
good . run clean-without-relearn --solver fast --format none --out "$work/out" --as-log "$work/key.csv" --log-shape polled --log-signals RPM
holds 'nobody answers with the key off' awk -F, '$1 > 25.1 && $1 < 32.9 {bad = 1} $1 > 33.1 && $1 < 34.9 {on = 1} END {exit bad || !on}' "$work/key.csv"
good . run film-pressure --solver fast --format none --out "$work/out" --as-log "$work/p.csv"
holds 'an engine metered by pressure answers no air flow' bash -c 'head -1 "$1" | grep -q "Intake Manifold Absolute Pressure" && ! head -1 "$1" | grep -q "Air Flow"' - "$work/p.csv"

log=(--as-log "$work/x.csv")
bad 64 "--log-shape: 'widee' is none of those in bladegap list log-shapes; did you mean wide\?" "${quick[@]}" "${log[@]}" --log-shape widee
bad 64 "--log-signals: 'tpp' is none of those in bladegap list log-signals" "${quick[@]}" "${log[@]}" --log-signals rpm,tpp
bad 64 '--log-signals: tp/0: rounds are counted from 1 to 1000' "${quick[@]}" "${log[@]}" --log-signals tp/0
bad 64 "--log-signals: '' is not the name of a signal" "${quick[@]}" "${log[@]}" --log-signals rpm,
bad 64 '--log-signals: TP is given twice' "${quick[@]}" "${log[@]}" --log-signals TP,rpm,TP
bad 64 'does not answer MAP \(Intake Manifold Absolute Pressure\)' "${quick[@]}" "${log[@]}" --log-signals MAP
bad 64 '--log-rate needs --as-log FILE' "${quick[@]}" --log-rate 5
bad 64 '--log-rate' "${quick[@]}" "${log[@]}" --log-rate 0
bad 64 '--log-from: slow-opening ends at 130 s' "${quick[@]}" "${log[@]}" --log-from 130
bad 64 'once for all, or once for each' "${quick[@]}" "${log[@]}" --as-log "$work/y" --as-log "$work/z" --log-shape wide --log-shape long
bad 64 '--as-log is for one scenario, and there are 2' run slow-opening film-droop "${log[@]}"
bad 64 '--as-log needs the rows that --rows-only does not keep' "${quick[@]:0:4}" --out "$work/out" --rows-only "${log[@]}"
bad 65 'nothing is answered in this run' run slow-opening --solver fast --format none --out "$work/out" "${log[@]}" --set key@0=off --log-from 5
bad 73 'cannot create' "${quick[@]}" --as-log "$work/none/x.csv"
holds 'nothing is left half' no_parts "$work"
finish
