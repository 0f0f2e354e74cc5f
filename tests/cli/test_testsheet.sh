#!/usr/bin/env bash
# testsheet: text, JSON and HTML, and what it says when it cannot. Numbers of the good unit: by hand from the file.
. "$(dirname "$0")/common.sh"
model=models/four-16.cfg

good 'Track 1, closed +0\.50 V +\(0\.35 to 0\.65\)' testsheet "$model"
holds "the sheet fits 100 columns" narrow "$work/.out"
for words in 'can close on fingers' 'wheels chocked' 'only if the maker allows' 'belts, pulleys and fans' 'solvent is flammable' \
  'must not be scraped' "maker's relearn steps" 'teaching model' "vehicle maker's service information" 'qualified technician'; do
  holds "it says: $words" grep -qF "$words" <(tr -s ' \n' '  ' <"$work/.out")
done
holds "a track that falls is named" grep -q 'falls as the blade opens: 4\.50 V closed, 0\.50 V open' "$work/.out"
holds "circuits, not pins" bash -c '! grep -qiE "\bpin [0-9]|terminal [0-9]" "$1"' - "$work/.out"

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

good 'tests of four-16: ' testsheet "$model" --html "$work/sheet.html"
holds "HTML: one page that stands alone" bash -c '! grep -qiE "<script|src=|href=|url\(|@import|http" "$1"' - "$work/sheet.html"
holds "HTML: a box for each test" test "$(grep -c 'class="blank"' "$work/sheet.html")" -eq "$(jq '.tests | length' "$work/all-cores.json")"
holds "HTML: A4, cautions before the first test" awk '/size: A4/ {a4 = 1} /<b>Cautions<\/b>/ {c = NR} /<table>/ && !t {t = NR}
  END {exit !(a4 && c && c < t)}' "$work/sheet.html"
if command -v xmllint >/dev/null; then
  sed 1d "$work/sheet.html" >"$work/sheet.xml"
  holds "HTML: well formed" xmllint --noout "$work/sheet.xml"
fi
sed 's/^title = .*/title = "A <b> \& \\"C\\"";/' "$model" >"$work/odd.cfg"
good . testsheet "$work/odd.cfg" --html "$work/odd.html"
holds "HTML: a title's signs are escaped" grep -qF '<title>Bench test sheet: A &lt;b&gt; &amp; &quot;C&quot;</title>' "$work/odd.html"

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
