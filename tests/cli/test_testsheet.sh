#!/usr/bin/env bash
# testsheet: text, JSON and HTML, and what it says when it cannot. Numbers of the good unit: by hand from the file.
. "$(dirname "$0")/common.sh"
model=models/four-16.cfg

# The short sheet, on every engine: under a page, its cautions above its tests, and nothing of what the engine lacks.
for engine in models/*.cfg; do
  case $engine in *four-16* | *cable*) ;; *) short && continue ;; esac
  good 'It idles low, or stalls' testsheet "$engine"
  holds "$engine: under a page" test "$(wc -l <"$work/.out")" -le 60
  holds "$engine: 100 columns" narrow "$work/.out"
  holds "$engine: charging, 13.8 to 14.7" grep -qE 'Charging voltage, idle +14\.00 V \(13\.80 to 14\.70\) +12\.60 V' "$work/.out"
  holds "$engine: cautions first, their numbers before each test" awk '/^Cautions/ {c = NR} /^ +[0-9]+ [a-z]/ {n = $1} /^It idles/ {t = NR}
    /^  \[/ {line = $0; sub(/\].*/, "", line); gsub(/[^0-9,]/, "", line); if (line == "") bad = 1
      k = split(line, one, ","); for (i = 1; i <= k; i++) if (one[i] < 1 || one[i] > n) bad = 1}
    END {exit !(c && t > c && n > 3 && !bad)}' "$work/.out"
  cp "$work/.out" "$work/short.txt"
  good 'How to read it' testsheet "$engine" --all
  holds "$engine: a caution line before each 'when'" awk '/^    caution / {c = 1} /^    when / {if (!c) bad = 1; c = 0; n++} END {exit bad || n < 10}' "$work/.out"
  lacks='bypass valve|stop screw, as shut'
  grep -q '"cable"' "$engine" && lacks='drive sleeps|drive asleep|unpowered|throttle motor|[Pp]edal track|closes? on fingers'
  holds "$engine: nothing of what it lacks" bash -c '! grep -qE "$1" "$2" "$3"' - "$lacks" "$work/short.txt" "$work/.out"
  good '^\{' testsheet "$engine" --json
  holds "$engine: JSON: cautions before what they protect" jq -e '
    all(.tests[]; (keys_unsorted | index("cautions") < index("when") and index("cautions") < index("read")) and (.cautions | length > 0))
    and all(.tests[].departures[]; keys_unsorted | index("cautions") < index("meaning"))
    and (keys_unsorted | index("cautions") < index("tests") and index("cautions") < index("complaints"))
    and ([.tests[].cautions[], .complaints[].cautions[]] - (.cautions | keys) == [])
    and ([.complaints[].tests[]] - [.tests[].id] == []) and (.complaints | length > 3)' "$work/.out" >/dev/null
done

good 'Track 1, closed +0\.50 V +\(0\.35 to 0\.65\)' testsheet "$model" --all
holds "the sheet fits 100 columns" narrow "$work/.out"
holds "a torch is told as light" grep -qE 'Gap at the closed stop +light all round$' "$work/.out"
holds "and how the unpowered blade is shut first" grep -q 'so press it shut by its edge' <(tr -s ' \n' '  ' <"$work/.out")
holds "a departure's caution stands before what to do" grep -qE '\(caution [0-9,]+\) smoke into' <(tr -s ' \n' '  ' <"$work/.out")
for words in 'can close on fingers' 'wheels chocked' 'only if the maker allows' 'belts, pulleys and fans' 'solvent is flammable' \
  'must not be scraped' "maker's relearn steps" 'teaching model' "vehicle maker's service information" 'qualified technician'; do
  holds "it says: $words" grep -qF "$words" <(tr -s ' \n' '  ' <"$work/.out")
done
holds "a track that falls is named" grep -q 'falls as the blade opens: 4\.50 V closed, 0\.50 V open' "$work/.out"
holds "circuits, not pins" bash -c '! grep -qiE "\bpin [0-9]|terminal [0-9]" "$1"' - "$work/.out"

# 27.7 kPa is 8.18 inHg, before rounding between 8.165 and 8.195.
good 'Manifold pressure, idle +8\.1[6-9] inHg \(7\.[0-9]+ to 9\.[0-9]+\)' testsheet "$model" --units us
holds "no kPa left" bash -c '! grep -q kPa "$1"' - "$work/.out"
good 'with +[0-9.]+ inHg +600 W drawn' testsheet "$model" --all --units us
holds "no kPa left in the whole" bash -c '! grep -q kPa "$1"' - "$work/.out"

good '^\{' testsheet "$model" --json
holds "JSON: tests, ranges, cautions" jq -e '
  .engine == "four-16" and (.disclaimer | test("technician")) and (.tests | length > 40)
  and all(.tests[]; .low <= .good and .good <= .high and .tolerance.all > 0 and (.when | length > 5) and (.read | length > 5))
  and ([.tests[].cautions[]] - (.cautions | keys) == [])' "$work/.out" >/dev/null
holds "JSON: departures are numbers or null" jq -e '
  [.tests[].departures[]] | length > 100 and all(.[]; (.value == null or (.value | type) == "number") and (.conditions | length > 0)
  and (.meaning | length > 5))' "$work/.out" >/dev/null
holds "JSON: a film closes the gap" jq -e '.tests[] | select(.id == "closed_gap") | .good > 2 and
  any(.departures[]; .conditions.film_um == 60 and .value == 0 and .seen)' "$work/.out" >/dev/null
cp "$work/.out" "$work/all-cores.json"
if ! short && command -v taskset >/dev/null; then
  taskset -c 0 "$program" testsheet "$model" --json >"$work/one-core.json"
  holds "one core gives the same sheet" cmp "$work/all-cores.json" "$work/one-core.json"
fi

good 'tests of four-16: ' testsheet "$model" --html "$work/short.html"
holds "HTML: the short sheet, cautions before the first table" awk '/<b>Cautions<\/b>/ {c = NR} /<table/ && !t {t = NR}
  END {exit !(c && c < t)}' "$work/short.html"
holds "HTML: a line to write on for each of its tests" test "$(grep -c 'class="line"' "$work/short.html")" -eq \
  "$(jq '[.complaints[].tests[]] | length' "$work/all-cores.json")"
good 'tests of four-16: ' testsheet "$model" --all --html "$work/sheet.html"
holds "HTML: one page that stands alone" bash -c '! grep -qiE "<script|src=|href=|url\(|@import|http" "$1"' - "$work/sheet.html"
holds "HTML: a box for each test" test "$(grep -c 'class="blank"' "$work/sheet.html")" -eq "$(jq '.tests | length' "$work/all-cores.json")"
holds "HTML: A4, cautions before the first test" awk '/size: A4/ {a4 = 1} /<b>Cautions<\/b>/ {c = NR} /<table/ && !t {t = NR}
  END {exit !(a4 && c && c < t)}' "$work/sheet.html"
if command -v xmllint >/dev/null; then
  sed 1d "$work/sheet.html" >"$work/sheet.xml"
  holds "HTML: well formed" xmllint --noout "$work/sheet.xml"
fi
sed 's/^title = .*/title = "A <b> \& \\"C\\"";/' "$model" >"$work/odd.cfg"
good . testsheet "$work/odd.cfg" --html "$work/odd.html"
holds "HTML: a title's signs are escaped" grep -qF '<title>Bench test sheet: A &lt;b&gt; &amp; &quot;C&quot;</title>' "$work/odd.html"

# The rule of the drive is told whole wherever fingers are spoken of: one paragraph, in that order.
for page in docs/scenarios.md docs/electrics.md docs/curve.md scenarios/key-on-sweep.cfg src/car/caution.h; do
  holds "$page: key off, wait, unplug, only then touch" bash -c 'sed "s@^ *//@@; s/\" *\\\\\$//; s/^ *\"//" "$1" | tr -s " \n" "  " |
    grep -qiE "fingers.{0,160}key off, wait until the drive sleeps.{0,60}, unplug it, and only then touch"' - "$page"
done
holds "and nowhere one of the two instead of both" bash -c '! grep -rniE "unplug(ged)?( it)?,? or (the )?key off|or unplug it" docs scenarios README.md src'

if ! short; then
  run testsheet "$model" --quiet
  holds "--quiet says nothing" test "$code" -eq 0 -a -z "$out$err"
  run testsheet "$model" --html /dev/stdout
  holds "HTML to stdout, and nothing else" test "$(head -c 15 <<<"$out")" = '<!DOCTYPE html>' -a "$(tail -n 1 <<<"$out")" = '</html>'
fi

bad 64 'ENGINE' testsheet
bad 64 'has no option --htm' testsheet "$model" --htm x
bad 66 'nowhere' testsheet "$work/nowhere.cfg"
sed 's/base_gps = [0-9.]*/base_gps = 0.5/' "$model" >"$work/starved.cfg"
bad 78 'does not idle as a good unit' testsheet "$work/starved.cfg"
bad 78 'does not idle' testsheet "$work/starved.cfg" --html "$work/starved.html"
holds "no sheet of an engine that does not idle" test ! -e "$work/starved.html"
bad 78 'scenarios/key-on-sweep' testsheet scenarios/key-on-sweep.cfg
bad 73 'no-folder' testsheet "$model" --html "$work/no-folder/sheet.html"
bad 74 'full' testsheet "$model" --html /dev/full
holds "nothing half-written" no_parts "$work"
finish
