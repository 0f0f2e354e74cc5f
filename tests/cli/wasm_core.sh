#!/usr/bin/env bash
# wasm_core.sh PROGRAMS PACKED-ENGINES.C WORK-FOLDER: base to analysis as WebAssembly, run under Node: settled points, a run of 400 s with loads, faults, key
# off and on, and an estimate, of every engine. PROGRAMS is the folder of core_run and compare_runs.
# And the library with its example.
#
# Truth: the same program built natively with musl, the C library that WebAssembly's is made from: the same bits, all of them. And with
# this system's C library: what a last digit of exp or log explains, see tests/wasm/compare_runs.c. These layers need libc and libm only,
# so any of their calls that is neither fails to compile, to link, or to find a host.
set -euo pipefail
# make takes a blank for the end of a name
programs=$1 packed=$(realpath --relative-to=. "$2") work=$(realpath -m --relative-to=. "$3")
fault() {
  printf '%s\n' "$*"
  exit 1
}
node=$(command -v node || command -v nodejs) || fault 'Node is missing: apt-get install nodejs'
musl-gcc --version >/dev/null || fault 'musl-gcc is missing: apt-get install musl-tools'

mkdir -p "$work"
version=$(sed -nE 's/^project\(bladegap VERSION ([0-9.]+).*/\1/p' CMakeLists.txt)
build() { make -s -j "$(nproc)" -f tests/wasm/Makefile OUT="$work" PACKED="$packed" VERSION="$version" "$@"; }
build all

# A stack of 64 kB is what the linker gives a page that asks for nothing.
"$node" tests/wasm/host.js "$work/core_run.wasm" >"$work/wasm.txt" 2>"$work/wasm.log" || fault "$(tail -n 20 "$work/wasm.log")"
"$work/core_run_musl" >"$work/musl.txt"
"$programs/core_run" >"$work/native.txt"
cmp "$work/wasm.txt" "$work/musl.txt" || fault 'WebAssembly and the native build with musl give different bits'
"$programs/compare_runs" "$work/wasm.txt" "$work/native.txt" || fault 'further from this C library than its last digits explain'

# The library with its example, against musl too: while the blade sticks, another C library's last digits soon are whole rpm.
"$work/film_musl" >"$work/film.txt"
"$node" tests/wasm/host.js "$work/film.wasm" >"$work/film.wasm.txt" 2>"$work/film.log" || fault "$(tail -n 20 "$work/film.log")"
cmp "$work/film.txt" "$work/film.wasm.txt" || fault 'the example of the library says something else as WebAssembly'

# Would these checks notice? A speed that is off by some millionth, and a stack that is too small.
awk '/^ideal / && !done { $5 = substr($5, 1, 7) (substr($5, 8, 1) == "0" ? "8" : "0") substr($5, 9); done = 1 } 1' \
  "$work/wasm.txt" >"$work/changed.txt"
! cmp -s "$work/changed.txt" "$work/wasm.txt" || fault 'nothing was changed'
! "$programs/compare_runs" "$work/changed.txt" "$work/native.txt" 2>/dev/null || fault 'compare_runs does not notice a changed number'
! "$node" tests/wasm/host.js "$work/narrow.wasm" >"$work/narrow.txt" 2>&1 || fault 'a stack of 8 kB was enough: is it guarded?'
grep -q 'out of bounds' "$work/narrow.txt" || fault "a stack of 8 kB ended otherwise: $(tail -n 20 "$work/narrow.txt")"

echo "$("$node" --version), $(stat -c %s "$work/core_run.wasm") bytes of WebAssembly, $(grep -c . "$work/wasm.txt") lines: $(cat "$work/wasm.log")"
