#!/bin/bash
# All of the calibration, from the top of the source tree:  tests/bench/calibration/run.sh BUILD [CARS] > tests/bench/results/calibration.md
# Draws docs/estimate-calibration.png too. CARS: on four-16; a tenth of them on each of two other kinds. A car takes 3 s of CPU: some 17
# minutes for 300, two hours for 2000, on one core.
set -euo pipefail
build=$1 cars=${2:-2000}
bench=$build/tests/bench/bench_calibration
cmake --build "$build" --target bench_calibration >&2
commit=$(git rev-parse --short HEAD 2>/dev/null || echo unknown)
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT

for engine in four-16 three-10 four-18-cable; do
  count=$cars
  [ "$engine" = four-16 ] || count=$((cars / 10))
  "$bench" judge "$engine" 0 "$count" > "$folder/$engine.csv"
done
"$bench" data "$folder/four-16.csv" > "$folder/data"
gnuplot -e "data='$folder/data'; out='docs/estimate-calibration.png'; cars='$cars'" tests/bench/calibration/plot.gp

cat <<END
# Is an estimate right?

Written by \`tests/bench/calibration/run.sh\`: cars drawn from the priors of the engine file and driven by the model that runs, put before
\`estimate\`. How it is done: docs/estimate.md, "How it was checked". Do not edit it by hand.

END
for engine in four-16 three-10 four-18-cable; do
  printf '# %s\n\n' "$engine"
  "$bench" report "$folder/$engine.csv"
done
printf '# Readings of the run against the forward model, four-16\n\n'
"$bench" compare four-16 $((cars < 600 ? cars / 3 : 200))
