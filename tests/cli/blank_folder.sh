#!/usr/bin/env bash
# blank_folder.sh: the sources in a folder whose name has blanks and an apostrophe are built, page and all, installed, and run. Takes minutes: tests/run long.
# Called in the top folder.
set -euo pipefail
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
top="$work/it's a folder"
mkdir "$top"
git ls-files -z | xargs -0 cp --parents -t "$top" 2>/dev/null || cp -r CMakeLists.txt README.md DEVELOPERS.md LICENSE src models scenarios tests plots docs "$top"
cd "$top"
cmake -S . -B 'build it' -DCMAKE_C_COMPILER=gcc -DBUILD_TESTING=OFF >/dev/null
cmake --build 'build it' -j "${JOBS:-$(nproc)}" >/dev/null
if cmake --build 'build it' --target page >"$work/said" 2>&1; then
  echo 'a build folder with blanks: the page was to be refused'
  exit 1
fi
grep -q 'choose a build folder' "$work/said" || { cat "$work/said"; exit 1; }
cmake -S . -B build -DCMAKE_C_COMPILER=gcc -DBUILD_TESTING=OFF >/dev/null
cmake --build build -j "${JOBS:-$(nproc)}" --target bladegap page >/dev/null
[ -s build/bladegap.html ] || { echo 'no page'; exit 1; }
cmake --install 'build it' --prefix "$work/in stalled" >/dev/null
cd "$work"
"$work/in stalled/bin/bladegap" run film-droop --format none --quiet --out "o u t"
[ -s 'o u t/run.csv' ] || { echo 'no run.csv'; exit 1; }
echo 'built, refused, installed and run in folders with blanks'
