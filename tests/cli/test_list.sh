#!/usr/bin/env bash
# list: every kind, as a table and as JSON.
. "$(dirname "$0")/common.sh"

for kind in engines scenarios keys channels faults codes parameters readings conditions causes costs solvers log-shapes log-signals exit-codes; do
  good . list "$kind"
  holds "list $kind fits 100 columns" narrow "$work/.out"
  run list "$kind" --json
  holds "list $kind --json" jq -e --arg kind "$kind" '.[$kind] | length > 0 and all(.[]; length > 1)' "$work/.out" >/dev/null
  run list "$kind" --quiet
  holds "list $kind --quiet says nothing" test -z "$out$err"
done
good '^film_um +fault +0 +[0-9]+ +0 +deposit' list faults
good '^bypass_film_um +fault +0 +1000 +0 +cable +deposit' list faults
good '^drive +load +0 +1 +0 +converter +in gear' list faults
good '^file +duration_s +number +0\.1 +86400 +\(required\) ' list keys
good '^step +action +choice' list keys
holds 'docs/scenarios.md lists the keys as they are' bash docs/make/keys.sh "$program" --check
good '^P0506 +Idle Control System RPM Lower' list codes
good '^78 ' list exit-codes
good '^cvode ' list solvers
good '^held +one line per answer' list log-shapes
good '^TP +Absolute Throttle Position +% +11 +1 +0.05 +yes' list log-signals
good '^speed_rpm +1 +instrument +engine speed' list channels
good '^maf_gps +idle, idle_ac, .*stream +0\.01 +air-flow' list readings
good '^drag +drag_nm +1\.5 +10 ' list causes
good '^minutes\.film +0 +1000000 +45 +minutes to clean bore' list costs
good '^hold_2500 +2 ' list conditions
good 'models/four-16\.cfg' list engines
good 'scenarios/film-droop\.cfg' list scenarios

# the data folder can be chosen
mkdir -p "$work/data/models"
cp models/four-16.cfg "$work/data/models/mine.cfg"
echo 'throttle = {' >"$work/data/models/broken.cfg"
export BLADEGAP_DATA=$work/data
good 'data/models/mine\.cfg' list engines
good 'cannot be read.*broken\.cfg' list engines
bad 66 "no folder 'scenarios'" list scenarios
export BLADEGAP_DATA=$work/nowhere
bad 66 'BLADEGAP_DATA is' list engines
finish
