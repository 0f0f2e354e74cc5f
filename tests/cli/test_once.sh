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
run jobcard four-16 --complaint low-idle --codes P0506 --reading speed_rpm=702@idle --visit "$work/visit.cfg" --html "$work/card.html"
verdict jobcard "$(common_problem)"
run jobcard --resume "$work/visit.cfg" --reading tp_pct=14@idle --look smoke_test=no --customer "$work/customer.html"
verdict 'jobcard --resume' "$(common_problem)"
run estimate four-16 --codes P0506 --complaint low-idle --freeze-frame speed_rpm=702,coolant_c=90
verdict 'estimate --codes' "$(common_problem)"
run sweep four-16 --vary film_um=0:40:20 --out "$work/sweep" --format svg
verdict sweep "$(common_problem)"
run phases scenarios/logs/film-drive.csv --json
verdict phases "$(common_problem)"
run curve scenarios/logs/opening-film.csv --baseline scenarios/logs/opening-clean.csv --car displacement_l=1.6 --out "$work/curve" --format svg
verdict curve "$(common_problem)"
run practice open --seed 3 --level 1 --out "$work/case.txt"
verdict practice "$(common_problem)"
for file in sheet.html card.html customer.html visit.cfg car.cfg compare.html estimate.html; do holds "$file is there" test -s "$work/$file"; done
finish
