#!/usr/bin/env bash
# same_results.sh [FOLDER]: the program built by gcc and clang, with -O0 and -O3, says the same, byte for byte, on one thread and two: runs of every shipped
# scenario, points, sweeps, sheets, estimates. Builds into FOLDER, build-same by default. Called in the top folder; takes minutes, so tests/run long has it.
#
# Truth: IEC 60559 arithmetic without contraction gives one result (-ffp-contract=off), and exp, log and the like are one C library's.
set -euo pipefail
folder=${1:-build-same}
top=$PWD
mkdir -p "$folder"
folder=$(realpath "$folder")

# What is compared: results as text and files, in the folder where it is called; $1 the program, $2 threads.
results() {
  local program=$1 threads=$2 scenario solver engine readings
  for scenario in "$top"/scenarios/*.cfg; do
    "$program" run "$scenario" --solver fast --format none --json --out "run-$(basename "$scenario" .cfg)" >"$(basename "$scenario" .cfg).json"
  done
  for scenario in film-droop cold-start sticking-blade; do
    for solver in fixed cvode; do
      "$program" run "$top/scenarios/$scenario.cfg" --solver $solver --format none --quiet --record --as-log "$scenario-$solver.csv" --out "$scenario-$solver"
    done
  done
  for engine in "$top"/models/*.cfg; do
    engine=$(basename "$engine" .cfg)
    "$program" settle "$engine" --set film_um=40 --json >"settle-$engine.json" || [ $? = 78 ]
    "$program" testsheet "$engine" --json >"sheet-$engine.json"
    "$program" sweep "$engine" --vary film_um=0:60:5 --vary altitude_m=0:3000:1000 --format none --quiet --threads "$threads" --out "sweep-$engine"
  done
  for readings in film-full leak-idle-only; do
    "$program" estimate four-16 --readings "$top/scenarios/readings/$readings.csv" --json --threads "$threads" >"estimate-$readings.json"
  done
}

first='' differ=0
for compiler in gcc clang-14; do
  for level in -O0 -O3; do
    cmake -S . -B "$folder/$compiler$level" -DCMAKE_C_COMPILER=$compiler -DBUILD_TESTING=OFF -DBLADEGAP_OPTIMISATION=$level >/dev/null
    cmake --build "$folder/$compiler$level" -j "${JOBS:-$(nproc)}" --target bladegap >/dev/null
    for threads in 1 2; do
      [ $threads = 1 ] || [ $level = -O3 ] || continue
      made=$folder/made/$compiler$level-$threads
      rm -rf "$made" && mkdir -p "$made"
      (cd "$made" && results "$folder/$compiler$level/bladegap" $threads)
      first=${first:-$made}
      diff -rq "$first" "$made" || differ=1
      printf '%s %s, threads: %s: %s files\n' $compiler $level $threads "$(find "$made" -type f | wc -l)"
    done
  done
done
[ $differ = 0 ] && [ "$(find "$first" -type f | wc -l)" -gt 50 ]
