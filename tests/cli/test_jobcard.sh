#!/usr/bin/env bash
# jobcard: a visit from complaint to proof. Truth: the readings of scenarios/readings (an invented car filmed, and good), and the rule that a
# hand goes to the blade after its caution only.
. "$(dirname "$0")/common.sh"
visit="$work/visit.cfg"
filmed=scenarios/readings/film-full.csv
good_car=scenarios/readings/film-full-when-good.csv
number=ZZ9AB1CD2EF345678 # of the form of ISO 3779, invented

good 'Begin with box 1: data_stream@idle' jobcard models/four-16.cfg --complaint low-idle --codes P0506 --vehicle "hatchback $number" \
  --date 2026-11-28 --visit "$visit" --html "$work/card.html" --customer "$work/form.html"
holds "it fits 100 columns" narrow "$work/.out"
holds "no identification number in visit, card, page or form" bash -c '! grep -l "$1" "$2" "$3" "$4" "$5"' - $number "$work/.out" "$visit" \
  "$work/card.html" "$work/form.html"
holds "the visit is readable and has its format" grep -q '^format = 1;' "$visit"

run jobcard --resume "$visit" --json
holds "cautions stand before every step" jq -e '[.decision, .boxes[]] | all((keys_unsorted | index("cautions")) < (keys_unsorted | index("text")))
  and all(.cautions | length > 0)' "$work/.out" >/dev/null
holds "the code is told of: stored, in SAE J2012 words, and a film sets it" jq -e '.codes[] | select(.code == "P0506") | .stored
  and (.text | test("Lower Than Expected")) and .film_um > 0 and (.causes | index("film"))' "$work/.out" >/dev/null
holds "branches are shares of one, and go on only" jq -e '.boxes[] | select(.branches | length > 1) | ([.branches[].probability] | add | . > 0.97 and . < 1.03)
  and (.box as $box | all(.branches[]; .go_to_box == null or .go_to_box > $box))' "$work/.out" >/dev/null

# Filled in, it goes on: the film is likely, and a look comes before the clean.
run jobcard --resume "$visit" --readings $filmed --json
holds "a look before the clean, with its cautions" jq -e '.decision.kind == "look" and .decision.name == "closed_gap_mm2@key_on"
  and (.decision.cautions | index("fingers") and index("stop_screw") and index("hand"))' "$work/.out" >/dev/null
good '1\. Key off' jobcard --resume "$visit" --reading closed_gap_mm2=none@key_on
holds "fingers before the blade, solvent before the cloth" bash -c 'tr "\n" " " <"$1" | grep -qE "closes on fingers.*Clean bore and blade.*solvent is flammable.*lint-free"' \
  - "$work/.out"
good 'Repaired' jobcard --resume "$visit" --after $good_car --html "$work/card.html"
holds "the visit keeps the verdict" grep -q 'verdict = "repaired"' "$visit"
run jobcard --resume "$visit" --after $filmed
holds "no effect is no success" test "$code" = 1

# A good car that nobody complains of is handed back when all is read, and not searched by hand; with a complaint it is searched.
sound() {
  run jobcard four-16 --readings $good_car --skip data_stream@idle_ac --look air_cleaner_out=no --skip battery_v@key_on "$@" --json
  jq -r .decision.kind "$work/.out"
}
holds "a good car is handed back" test "$(sound)" = hand_back
holds "and not where somebody complains" test "$(sound --complaint stalls)" = search

# Where nothing explains what was read, it is read again; if it stands, looks go on, and nothing is bought, or handed back, before one says yes.
odd=(--reading speed_rpm=1100@idle --reading target_rpm=850@idle --reading spark_deg=20@idle --reading idle_air_pct=30@idle --reading tp_pct=12@idle
  --reading tp_pct=10@key_on)
run jobcard four-16 "${odd[@]}" --visit "$work/odd.cfg" --json
holds "nothing explains it: read again" jq -e '.decision.kind == "read_again" and (.decision.text | test("--stands"))' "$work/.out" >/dev/null
run jobcard --resume "$work/odd.cfg" --stands --json
holds "it stands: it goes on" jq -e '.decision.kind | . == "look" or . == "measure" or . == "search"' "$work/.out" >/dev/null
holds "and the visit keeps that" grep -qx 'stands = true;' "$work/odd.cfg"
run jobcard --resume "$work/odd.cfg" --json
holds "on the next day too" jq -e '.decision.kind != "read_again" and .decision.kind != "mend" and .decision.kind != "hand_back"' "$work/.out" >/dev/null

# Where nobody says where the car stands, no pressure of the air is expected as if it were known.
air() { run jobcard four-16 --complaint low-idle "$@" --json; jq '[.boxes[].values[]? | select(.name == "barometer_kpa")][0] | .good_high - .good_low' "$work/.out"; }
holds "an untold altitude is an unknown" bash -c 'awk -v a="$1" -v b="$2" "BEGIN { exit !(a > 15 && b < 6) }"' - "$(air)" "$(air --set altitude_m=100)"

# A log: identification and position columns stay outside.
"$program" run scenarios/clean-without-relearn.cfg --out "$work/run" --format none --quiet
awk -F, -v id=$number 'NR == 1 { print $0 ",latitude,longitude,VIN" } NR > 1 && $1 < 24 { print $0 ",48.858370,2.294481," id }' \
  "$work/run/run.csv" >"$work/log.csv"
run jobcard four-16 --readings "$work/log.csv" --visit "$work/log.cfg" --html "$work/log.html"
holds "a log is taken, its columns left out by name" bash -c '[ "$1" = 0 ] && grep -q "Begin with box 1" "$2" && grep -q "tp_pct" "$3"' - "$code" \
  "$work/.out" "$work/log.cfg"
holds "a log's number and place stay outside" bash -c '! grep -lE "$1|48\.85|2\.2944|latitude|longitude" "$2" "$3" "$4"' - $number "$work/.out" \
  "$work/log.cfg" "$work/log.html"

# A look's answer weighs the causes.
run jobcard four-16 --complaint high-idle --json
before=$(jq '.causes[] | select(.name == "vacuum_leak") | .probability' "$work/.out")
run jobcard four-16 --complaint high-idle --look smoke_test=yes --json
holds "smoke that comes out speaks for the leak" jq -e --argjson before "$before" '(.causes[] | select(.name == "vacuum_leak") | .probability) > 2 * $before' \
  "$work/.out" >/dev/null

# What cannot be taken is told.
bad 64 'give a CARD or ENGINE, or --resume' jobcard
bad 64 "no look 'smok_test'" jobcard four-16 --look smok_test=yes
bad 64 'LOOK=yes or LOOK=no' jobcard four-16 --look smoke_test=perhaps
sed 's/^format = 1/format = 2/' "$visit" >"$work/newer.cfg"
bad 78 'use the newer program' jobcard --resume "$work/newer.cfg"
echo 'engine = "four-16";' >"$work/none.cfg"
bad 78 "key 'format' is missing" jobcard --resume "$work/none.cfg"
sed 's/name = "speed_rpm"/name = "sped_rpm"/' "$visit" >"$work/slip.cfg"
bad 78 "no reading 'sped_rpm'" jobcard --resume "$work/slip.cfg"
bad 65 'speed_rpm' jobcard four-16 --reading speed_rpm=7000@idle # no engine of this kind idles there
run jobcard four-16 --skip data_stream@idle --visit "$work/skip.cfg" --json
holds "what cannot be done is not asked for" jq -e '[.boxes[].name] | index("data_stream@idle") == null' "$work/.out" >/dev/null
holds "and the visit keeps that" grep -q 'skipped = "data_stream@idle"' "$work/skip.cfg"
bad 65 'has no readings of before' jobcard four-16 --after $good_car
holds "a visit that cannot be written is no half one" bash -c '"$1" jobcard four-16 --visit "$2/no/where.cfg" >/dev/null 2>&1; [ $? = 73 ] && [ ! -e "$2/no" ]' \
  - "$program" "$work"

finish
