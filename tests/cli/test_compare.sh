#!/usr/bin/env bash
# compare: verdict, exit code, JSON, page, and a sentence for what cannot be compared. Truth: the readings of scenarios/readings, the same
# invented car filmed and good; runs whose film was taken away with and without a relearn.
. "$(dirname "$0")/common.sh"
filmed=scenarios/readings/film-full.csv
good_car=scenarios/readings/film-full-when-good.csv

good '^Repaired\.' compare $filmed $good_car
holds "it fits 100 columns" narrow "$work/.out"
holds "and forty lines" test "$(wc -l <"$work/.out")" -le 40
good '^Repaired\.' compare $filmed $good_car --car models/four-16.cfg
holds "what the film lets expect is held against it" grep -q 'Of that, [0-9]* % came back' "$work/.out"
holds "cautions stand before what is to be done" bash -c 'tr "\n" " " <"$1" | grep -qE "Caution +running: belts.*Next"' - "$work/.out"
good '^\{' compare $filmed $good_car --car kind=electronic,displacement_l=1.6 --json
holds "JSON" jq -e '.verdict == "repaired" and (.why | length) > 1 and .effects[0].name == "speed_rpm"
  and (.effects[] | select(.name == "tp_pct" and .condition == "idle") | .low < .change and .change < .high and .high < 0)
  and .expected.won_back_pct.low < 100 and .expected.won_back_pct.high > 100' "$work/.out" >/dev/null

# The other answers: exit code 1, and the report all the same.
answer() { # VERDICT ARG ...
  local want=$1
  shift
  run compare "$@" --json
  holds "$want: compare $*" test "$code-$(jq -r .verdict "$work/.out")" = "1-$want"
}
answer worse $good_car $filmed
run compare $filmed $filmed
holds "one list against itself is no repair" bash -c '[ "$1" = 1 ] && ! grep -qE "^(Repaired|Improved)" "$2"' - "$code" "$work/.out"
answer not_told $filmed scenarios/readings/bypass-film-cable.csv
holds "another car is recognised" jq -e '.other_car' "$work/.out" >/dev/null
sed 's/coolant_c,idle,.*/coolant_c,idle,41/' $good_car >"$work/cold.csv"
answer not_told $filmed "$work/cold.csv"
holds "and why" jq -e '.why[] | test("not warm after")' "$work/.out" >/dev/null

# Logs: filmed, then cleaned; the race before it has relearned is told as that.
"$program" run scenarios/clean-without-relearn.cfg --out "$work/run" --format none --quiet
log="$work/run/run.csv"
run compare "$log" "$log" --at before.idle=5:24 --at after.idle=40:100 --html "$work/sheet.html"
holds "the race is no harm" bash -c '[ "$1" = 0 ] && grep -q "^Improved, relearn still open" "$2"' - "$code" "$work/.out"
holds "the page has both traces and says them in words" bash -c '[ "$(grep -c "<polyline" "$1")" = 4 ] && grep -q "role=\"img\".*aria-label=\"speed_rpm at idle: mean" "$1"' - "$work/sheet.html"
holds "the page has no path of this machine" bash -c '! grep -q "$1" "$2"' - "$work/run" "$work/sheet.html"
good '^Repaired' compare "$log" "$log" --at before.idle=5:24 --at after.idle=270:330

# Phases that both logs have are compared, and by hand none is taken for another.
run compare scenarios/logs/film-before.csv scenarios/logs/film-relearned.csv --json
holds "all phases that both have" jq -e '[.effects[].condition] | unique | length > 1' "$work/.out"

# Where nobody says where the car stands, its altitude is an unknown; told, it is held against the readings.
run compare $filmed $good_car --car four-16 --set altitude_m=3000 --json
holds "readings of the sea's level are no car's at 3000 m" jq -e '.expected == null' "$work/.out"

# What cannot be taken.
bad 66 "cannot be opened" compare "$work/none.csv" $filmed
bad 64 'it needs NAME=FROM:TO' compare "$log" "$log" --at before.idle=5
bad 64 "there is no phase 'idel'" compare "$log" "$log" --at before.idel=5:24
bad 64 'must begin with before\. or after' compare "$log" "$log" --at now.idle=5:24
bad 64 'must begin with before\. or after' compare "$log" "$log" --at idle=5:24
bad 64 'load_step is not compared' compare "$log" "$log" --at before.load_step=5:24
bad 65 'has no row in idle=900:950; it goes from 0' compare "$log" "$log" --at before.idle=900:950
bad 64 'it needs --car' compare $filmed $good_car --set altitude_m=600
bad 64 'film_um' compare $filmed $good_car --car four-16 --set film_um=10
{ echo 'time_s,speed_rpm,tp_pct'; for i in $(seq 0 60); do echo "$i,0,13"; done; } >"$work/off.csv"
bad 65 'no idle of ten seconds or more was found' compare "$work/off.csv" "$work/off.csv"
bad 73 'cannot' compare $filmed $good_car --html "$work/no/such/sheet.html"

finish
