#!/usr/bin/env bash
# run.sh [-k] [ROOM ...]: which lines and branches of src the default tests reach, as a table with a row for each room (tests/bench/results/coverage.md).
# Builds with clang in build-coverage, runs every test that ctest runs by default and that runs this program (not those that build something
# else: packages, WebAssembly, a page in a browser), and gives each test a profile of its own, so that one whose process is killed while
# it writes spoils no other. With -k what was measured before is kept, and only tests whose name matches a ROOM are run again. Half an hour
# on one core. Bars: 92 % of the lines, 80 % of the branches; ends with 1 below either.
set -euo pipefail
top=$(cd "$(dirname "${BASH_SOURCE[0]}")/../.." && pwd)
out=$top/build-coverage
. "$top/tests/setup.sh"
keep=0
if [ "${1:-}" = -k ]; then
  keep=1
  shift
fi
pattern=$(IFS='|' && echo "$*")
install_missing tests
flags="-fprofile-instr-generate=$out/profiles/stray/%8m.profraw -fcoverage-mapping"
build build-coverage -DCMAKE_C_COMPILER=clang-14 -DBUILD_TESTING=ON "-DCMAKE_C_FLAGS=$flags" ${COVERAGE_CMAKE:-}
[ $keep = 1 ] || rm -rf "$out/profiles"
mkdir -p "$out/profiles"

left_out='^(layers|format|clang|wasm_core|library_install|library_examples|install|release|alien/simulators)$'
ctest --test-dir "$out" -N ${pattern:+-R "$pattern"} -E "$left_out" | sed -n 's/^ *Test *#[0-9]*: //p' >"$out/tests.txt"
: >"$out/failed.txt"
while read -r name; do
  stem=$out/profiles/${name//\//-}
  rm -rf "$stem" "$stem.profdata"
  # Eight files to a program, so that processes of one test that end together do not wait for each other.
  LLVM_PROFILE_FILE=$stem/%8m.profraw ctest --test-dir "$out" -R "^$name\$" --output-on-failure >"$out/last.txt" 2>&1 </dev/null || {
    echo "$name" >>"$out/failed.txt"
    cp "$out/last.txt" "$out/failed-${name//\//-}.txt"
  }
  [ ! -d "$stem" ] || llvm-profdata-14 merge -sparse -failure-mode=all "$stem" -o "$stem.profdata" 2>/dev/null || true
  rm -rf "$stem"
done <"$out/tests.txt"
llvm-profdata-14 merge -sparse -failure-mode=all "$out"/profiles/*.profdata -o "$out/all.profdata" 2>/dev/null

# What is compiled from src stands in these three; the tests' own copies count through the profiles.
llvm-cov-14 export -format=lcov -instr-profile="$out/all.profdata" "$out/bladegap" -object "$out/libbladegap.so" -object "$out/src/fmu/bladegap.so" >"$out/all.info"
[ ! -s "$out/failed.txt" ] || printf 'failed in this build: %s\n' "$(tr '\n' ' ' <"$out/failed.txt")" >&2
python3 "$top/tests/coverage/table.py" "$out/all.info" --detail "$out/missed.txt"
