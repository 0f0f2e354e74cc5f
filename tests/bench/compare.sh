#!/usr/bin/env bash
# compare.sh PROGRAM [COMMIT]: how much faster PROGRAM is than the same jobs at COMMIT (e4f5389 by default), which is built beside in
# build-bench/COMMIT. Ratios of one run on one machine, medians of seven, the two programs taking turns; above 1 is faster now.
# It measures and never fails on a time.
set -euo pipefail
top=$(cd "$(dirname "${BASH_SOURCE[0]}")/../.." && pwd)
program=$(realpath "$1")
commit=${2:-e4f5389}
repeats=7
then_top=$top/build-bench/$commit
if [ ! -x "$then_top/build/bladegap" ]; then
  mkdir -p "$then_top"
  git -C "$top" archive "$commit" | tar -x -C "$then_top"
  cmake -S "$then_top" -B "$then_top/build" -DCMAKE_C_COMPILER=gcc -DBUILD_TESTING=OFF >/dev/null
  cmake --build "$then_top/build" --target bladegap -j "$(nproc)" >/dev/null
fi
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
for side in then now; do mkdir -p "$work/$side"; done

# A scenario of either side: four-16 idling for 600 s, and the same with a film that grows all the time.
scenario() { # side's top, file, timeline
  printf 'title = "bench"; engine = "%s/models/four-16.cfg"; duration_s = 600.0; record_s = 0.1; seed = 1; start = "idling";\ninitial = { film_um = 0.0; };\ntimeline = ( %s );\n' \
    "$1" "$3" >"$2"
}
for side in then now; do
  here=$top
  [ "$side" = then ] && here=$then_top
  scenario "$here" "$work/$side/idle.cfg" '{ at_s = 1.0; note = "nothing"; }'
  scenario "$here" "$work/$side/film.cfg" '{ at_s = 1.0; ramp_s = 590.0; film_um = 40.0; }'
done

seconds() { # seconds of processor time that a command takes
  local TIMEFORMAT=%U+%S
  { time "$@" >/dev/null 2>&1; } 2>&1 | awk -F+ '{print $1 + $2}'
}
median() { sort -g | sed -n "$((repeats / 2 + 1))p"; }

row() { # text, arguments of the program; @ stands for the side's folder, % for its top
  local text=$1 side here binary argument
  shift
  for ((i = 0; i < repeats; i++)); do
    for side in then now; do
      here=$top binary=$program
      [ "$side" = then ] && here=$then_top binary=$then_top/build/bladegap
      local arguments=()
      for argument in "$@"; do
        argument=${argument//@/$work/$side}
        arguments+=("${argument//%/$here}")
      done
      rm -rf "$work/$side/out"
      seconds "$binary" "${arguments[@]}" >>"$work/$side/times"
    done
  done
  local before after
  before=$(median <"$work/then/times")
  after=$(median <"$work/now/times")
  rm -f "$work"/*/times
  printf '| %s | %.3f s | %.3f s | %.2f |\n' "$text" "$before" "$after" "$(awk "BEGIN {print $before / $after}")"
}

printf 'Now %s against %s, %s processors, medians of %d.\n\n' "$(git -C "$top" log -1 --format=%h 2>/dev/null || echo '?')" "$commit" "$(nproc)" "$repeats"
printf '| what | then | now | times as fast |\n|---|---|---|---|\n'
row 'idle, 600 s, CVODE' run @/idle.cfg --format none --out @/out
row 'idle, 600 s, fast' run @/idle.cfg --solver fast --format none --out @/out
row 'growing film, 600 s, CVODE' run @/film.cfg --format none --out @/out
row 'growing film, 600 s, fast' run @/film.cfg --solver fast --format none --out @/out
row 'settled points, 10 000 films' sweep %/models/four-16.cfg --vary film_um=0:100:0.01 --threads 1 --format none --out @/out
row 'map, film and altitude, 31 000 points' sweep %/models/four-16.cfg --vary film_um=0:60:2 --vary altitude_m=0:3000:3 --threads 1 --format none --out @/out
row 'map, leak and load, 31 000 points' sweep %/models/four-16.cfg --vary leak_mm2=0:3:0.1 --vary electrical_load_w=0:500:0.5 --threads 1 --format none --out @/out
row 'estimate, full readings' estimate %/models/four-16.cfg --readings %/scenarios/readings/film-full.csv
row 'estimate, with a baseline' estimate %/models/four-16.cfg --readings %/scenarios/readings/film-full.csv --baseline %/scenarios/readings/film-full-when-good.csv
row 'test sheet' testsheet %/models/four-16.cfg
