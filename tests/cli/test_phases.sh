#!/usr/bin/env bash
# phases, and logs as readings. Truth: the timelines of the shipped scenarios that the logs are runs of.
. "$(dirname "$0")/common.sh"

run run scenarios/in-gear.cfg --quiet --format none --out "$work/gear"
run run scenarios/air-conditioning.cfg --quiet --format none --out "$work/ac"
gear=$work/gear/run.csv ac=$work/ac/run.csv

# In gear from 30 to 50 s and from 420 to 440 s.
good '^\{' phases "$gear" --json
holds "in gear when the scenario says so" jq -e '[.phases[] | select(.phase == "drive") | .from_s, .to_s] as $t
  | ($t | length) == 4 and ([$t, [30, 50, 420, 440]] | transpose | all((.[0] - .[1] | fabs) < 0.6))' "$work/.out" >/dev/null
holds "load steps with cause and lowest speed" jq -e '[.phases[] | select(.phase == "load_step")] | length == 4 and
  all(.cause == "gear" and .lowest_rpm < .before_rpm + 1)' "$work/.out" >/dev/null
holds "means are those that jq makes of the same rows" bash -c 'want=$(awk -F, "NR > 1 && \$1 >= 40 && \$1 <= 50 {s += \$2; n++} END {print s / n}" "$1")
  jq -e --argjson want "$want" ".phases[] | select(.phase == \"drive\" and .from_s < 100) | .means.speed_rpm | (.mean - \$want | fabs) < 0.01 and .se > 0.2 and .se < 5" "$2"' \
  - "$gear" "$work/.out" >/dev/null

# The compressor from 30 to 50 s and from 420 to 440 s; without its column nobody knows.
cut -d, -f1,2,17 "$ac" >"$work/untold.csv"
good '^\{' phases "$work/untold.csv" --json
holds "a load without a column has no name" jq -e '([.phases[] | select(.phase == "idle_ac")] | length) == 0 and
  ([.phases[] | select(.phase == "idle_loaded") | .from_s, .to_s] as $t | ([$t, [30, 50, 420, 440]] | transpose | all((.[0] - .[1] | fabs) < 2)))
  and ([.phases[] | select(.phase == "load_step")] | all(.cause == "unknown"))' "$work/.out" >/dev/null
good 'whether it was warm is not known' phases "$work/untold.csv"
holds "what is not told is said" grep -q 'No column shows the compressor' "$work/.out"
holds "it fits 100 columns" narrow "$work/.out"
cut -d, -f1,2 "$ac" >"$work/speed.csv"
good 'No column shows the gear' phases "$work/speed.csv"
good 'hand\)' phases "$ac" --at idle=5:25
bad 64 "did you mean 'idle'" phases "$ac" --at idel=5:25
bad 64 'is not before' phases "$ac" --at idle=25:5
bad 64 'it needs NAME=FROM:TO' phases "$ac" --at idle
bad 65 'has no row in idle=900:910; it goes from 0 to 480 s' phases "$ac" --at idle=900:910

# Logs as readings: the first idle of both runs is of a clean bore, the last of one with 72 um.
run estimate four-16 --readings "$ac" --at idle=5:30 --at idle_ac=40:50
holds "a clean bore is a good car" bash -c 'tr "\n" " " <"$1" | grep -q "First among what is possible: nothing wrong"' - "$work/.out"
holds "what was taken from where is told" grep -q 'idle from 5.0 to 30.0 s: [0-9]* readings' "$work/.err"
run estimate four-16 --readings "$ac" --at idle=450:480 --at idle_ac=430:440 --json
holds "the film is found" jq -e '.brief.what | test("^Deposit in the throttle bore")' "$work/.out" >/dev/null
good 'What the readings imply' estimate four-16 --readings scenarios/readings/film-full.csv
run fit kind=electronic,displacement_l=1.6 --readings "$ac"
holds "a fit takes a log and tells so" grep -q 'idle_ac from .* readings' <<<"$err"
head -30 "$ac" >"$work/short.csv"
bad 65 'bladegap phases .*short.csv shows what is' estimate four-16 --readings "$work/short.csv"
holds "means and errors are those of numpy" /usr/bin/python3 "$(dirname "$0")/log_means.py" "$program" "$work"
finish
