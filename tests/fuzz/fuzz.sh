#!/usr/bin/env bash
# fuzz.sh TARGET [SECONDS]: builds a target of this folder with clang's fuzzer and lets it run; what it finds is left in TMPDIR.
# To be called in the repository's top folder. What was found and mended goes into corpus/TARGET, which ctest runs through driver.c.
set -euo pipefail
target=$1 seconds=${2:-120}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
parts=(src/base src/physics src/plant src/control src/car src/sim src/analysis/log)
case $target in card | visit) parts=(src/base src/physics src/plant src/control src/car src/sim src/analysis src/io/config src/io/format) ;; esac
mapfile -t core < <(find "${parts[@]}" -name '*.c')
clang-14 -std=c11 -D_GNU_SOURCE -g -O1 -fsanitize=fuzzer,address,undefined -fno-sanitize-recover=all -ffp-contract=off -Isrc \
  "tests/fuzz/fuzz_$target.c" "${core[@]}" src/solver/solver_fast.c src/solver/solver_fixed.c -Itests -lconfig -ljansson -lm -o "$work/fuzz"
mkdir "$work/corpus"
"$work/fuzz" -max_total_time="$seconds" -max_len=4096 -timeout=5 -print_final_stats=1 -artifact_prefix="${TMPDIR:-/tmp}/" "$work/corpus" \
  "tests/fuzz/corpus/$target" 2>&1 | grep -vE "^#[0-9]+.*(NEW|REDUCE|pulse)" | tail -70
