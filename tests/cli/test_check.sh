#!/usr/bin/env bash
# check: every way a file can be wrong, each named with file:line, value and allowed range.
. "$(dirname "$0")/common.sh"
engine=models/four-16.cfg
scenario=scenarios/film-droop.cfg
here=$PWD

good 'four-16\.cfg: good' check models/*.cfg scenarios/*.cfg
run check models/*.cfg scenarios/*.cfg --json
holds 'check --json' jq -e '.files | length > 1 and all(.[]; .good and .faults == [])' "$work/.out" >/dev/null
run check "$engine" --quiet
holds 'check --quiet says nothing' test -z "$out$err"

# not there, not a file, not what it says
bad 66 'nowhere\.cfg.*No such file' check "$work/nowhere.cfg"
mkdir "$work/folder.cfg" "$work/folder.csv"
bad 66 'folder\.cfg' check "$work/folder.cfg"
bad 66 'folder\.csv' check "$work/folder.csv"
bad 66 'nowhere\.csv' check "$work/nowhere.csv"
echo >"$work/notes.txt"
bad 64 'notes\.txt.*\.cfg.*\.csv' check "$work/notes.txt"
: >"$work/empty.cfg"
bad 78 'empty\.cfg' check "$work/empty.cfg"
head -c 3000 /dev/urandom >"$work/noise.cfg"
bad 78 'noise\.cfg' check "$work/noise.cfg"

# changed NAME SED-EXPRESSION [FILE]: a copy of a file with one thing changed; the change must have been made.
changed() {
  sed -e "$2" "${3:-$engine}" | sed -e "s|\.\./models/|$here/models/|" >"$work/$1.cfg"
  cmp -s "$work/$1.cfg" "${3:-$engine}" && { code=- out= err=; verdict "$1" "the file has no line for '$2'"; }
  return 0
}
line_of() { grep -n -- "$1" "$work/$2.cfg" | head -n 1 | cut -d: -f1; }

changed syntax 's/^throttle = {/throttle = { {/'
bad 78 "syntax\.cfg:$(line_of 'throttle = { {' syntax): " check "$work/syntax.cfg"
changed unknown 's/bore_radius_mm/bore_radus_mm/'
bad 78 "unknown\.cfg:$(line_of bore_radus unknown): .*bore_radus_mm.*bore_radius_mm" check "$work/unknown.cfg"
holds 'the key that is now missing is named too' grep -q "missing" <<<"$err"
changed missing '/^ *closed_deg/d'
bad 78 'missing\.cfg.*closed_deg' check "$work/missing.cfg"
changed twice 's/^ *closed_deg.*/&\n  closed_deg = 8.0;/'
bad 78 'twice\.cfg:[0-9]+' check "$work/twice.cfg"
changed words 's/closed_deg = [0-9.]*/closed_deg = "seven"/'
bad 78 "words\.cfg:$(line_of seven words): .*closed_deg.*seven" check "$work/words.cfg"
changed group 's/closed_deg = [0-9.]*/closed_deg = { a = 1.0; }/'
bad 78 "group\.cfg:[0-9]+: .*closed_deg" check "$work/group.cfg"
changed range 's/closed_deg = [0-9.]*/closed_deg = 77.0/'
bad 78 "range\.cfg:$(line_of 77.0 range): .*closed_deg.*77.*2.*20" check "$work/range.cfg"
changed huge 's/closed_deg = [0-9.]*/closed_deg = 1e999/'
bad 78 'huge\.cfg:[0-9]+: .*closed_deg' check "$work/huge.cfg"
changed wraps 's/cylinder_count = [0-9]*/cylinder_count = 4294967300/'
bad 78 'wraps\.cfg:[0-9]+: .*cylinder_count' check "$work/wraps.cfg"
for word in nan inf -inf NaN; do
  changed "not_$word" "s/closed_deg = [0-9.]*/closed_deg = $word/"
  bad 78 "not_$word\.cfg:[0-9]+" check "$work/not_$word.cfg"
done
changed half 's/cylinder_count = 4/cylinder_count = 4.5/'
bad 78 "half\.cfg:[0-9]+: .*cylinder_count.*4\.5" check "$work/half.cfg"
changed whole 's/bore_radius_mm = 26\.0/bore_radius_mm = 26/'
good 'whole\.cfg: good' check "$work/whole.cfg"
changed falling 's/efficiency_by_rpm = .*/efficiency_by_rpm = ((500.0, 0.31), (200.0, 0.25));/'
bad 78 'falling\.cfg:[0-9]+: .*efficiency_by_rpm' check "$work/falling.cfg"
changed include '1s/^/@include "\/etc\/passwd"\n/'
bad 78 'include\.cfg:1: ' check "$work/include.cfg"

# scenarios
changed s_unknown 's/film_um = 50/flim_um = 50/' "$scenario"
bad 78 's_unknown\.cfg:[0-9]+: .*flim_um.*film_um' check "$work/s_unknown.cfg"
changed s_range 's/film_um = 50\.0/film_um = 5000.0/' "$scenario"
bad 78 's_range\.cfg:[0-9]+: .*film_um.*5000.*300' check "$work/s_range.cfg"
changed s_engine 's/four-16/five-16/' "$scenario"
bad 66\|78 'five-16\.cfg' check "$work/s_engine.cfg"
changed s_key 's/key = "off"/key = "of"/' "$scenario"
bad 78 's_key\.cfg:[0-9]+: .*of.*off' check "$work/s_key.cfg"
changed s_duration 's/duration_s = .*/duration_s = -1.0;/' "$scenario"
bad 78 's_duration\.cfg:[0-9]+: .*duration_s.*-1' check "$work/s_duration.cfg"

# every fault of every file in one go; the exit code is that of the first
changed many 's/closed_deg = [0-9.]*/closed_deg = 77.0/; s/bore_radius_mm = [0-9.]*/bore_radius_mm = 1.0/; s/shaft_mm/shaft_m/'
bad 78 'closed_deg' check "$work/many.cfg" "$work/nowhere.cfg"
holds 'three faults and the next file' test "$(grep -cE 'closed_deg|bore_radius_mm|shaft_m |shaft_m'\''|nowhere' <<<"$err")" -ge 4
bad 66 'closed_deg' check "$work/nowhere.cfg" "$work/many.cfg"
run check "$engine" "$work/many.cfg" --json
holds 'faults in JSON' jq -e '.files[0].good and (.files[1].good | not) and (.files[1].faults | length >= 3)' "$work/.out" >/dev/null
holds 'and the exit code' test "$code" -eq 78

# logs
printf 'time_s,speed_rpm\n0,800\n1,801\n' >"$work/good.csv"
good 'good\.csv: good \(log\)' check "$work/good.csv"
printf 'time_s,speed_rpm\n0,800\n1,801,5\n2,x\n3,803\n' >"$work/rows.csv"
bad 65 'rows\.csv:3: ' check "$work/rows.csv"
holds 'both bad rows are named' grep -q 'rows\.csv:4: ' <<<"$err"
printf 'time_s,time_s\n0,800\n' >"$work/names.csv"
bad 65 'names\.csv.*time_s' check "$work/names.csv"
: >"$work/empty.csv"
bad 65 'empty\.csv' check "$work/empty.csv"
printf 'time_s,speed_rpm\n' >"$work/header.csv"
bad 65 'header\.csv' check "$work/header.csv"
head -c 3000 /dev/urandom >"$work/noise.csv"
bad 65 'noise\.csv' check "$work/noise.csv"
printf 'time_s,speed_rpm\n0,"800\n1,801\n' >"$work/quote.csv"
bad 65 'quote\.csv' check "$work/quote.csv"
finish
