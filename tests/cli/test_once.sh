#!/usr/bin/env bash
# Each command whose own script is not run under the sanitizers, once, with the forms it can write. Truth: it ends as it should, and no sanitizer says
# anything; what it says is the business of its own script.
. "$(dirname "$0")/common.sh"
run testsheet three-10 --html "$work/sheet.html"
verdict testsheet "$(common_problem)"
run fit docs/examples/car-card.csv --readings docs/examples/car-clean.csv --out "$work/car.cfg"
verdict fit "$(common_problem)"
run compare scenarios/logs/film-before.csv scenarios/logs/film-cleaned.csv --html "$work/compare.html"
verdict compare "$(common_problem)"
run plot scenarios/logs/film-drive.csv --engine four-16 --out "$work/plot" --format svg
verdict plot "$(common_problem)"
run estimate four-16 --readings scenarios/readings/film-full.csv --html "$work/estimate.html" --format none
verdict estimate "$(common_problem)"
run estimate four-16 --reading speed_rpm=700@idle --json
verdict 'estimate --json' "$(common_problem)"
for file in sheet.html car.cfg compare.html estimate.html; do holds "$file is there" test -s "$work/$file"; done
finish
