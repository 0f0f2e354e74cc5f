#!/usr/bin/env bash
# fuzz.sh TARGET|all [SECONDS]: builds a target of this folder with clang's fuzzer and lets it run; what it finds is left in TMPDIR.
# To be called in the repository's top folder. What was found and mended goes into corpus/TARGET, which ctest runs through driver.c.
# The program's own build makes the libraries, in build-fuzz, so that a target may call any layer.
set -euo pipefail
target=$1 seconds=${2:-120}
flags='-g -O1 -fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all'
targets=("$target")
[ "$target" != all ] || mapfile -t targets < <(ls tests/fuzz/fuzz_*.c | sed 's/.*fuzz_//; s/\.c$//')
cmake -S . -B build-fuzz -DCMAKE_C_COMPILER=clang-14 -DBUILD_TESTING=ON -DBLADEGAP_FUZZ=ON -DCMAKE_C_FLAGS="$flags" >/dev/null
cmake --build build-fuzz -j "$(nproc)" --target "${targets[@]/#/fuzz_}" >/dev/null
work=$(mktemp -d) failed=0
trap 'rm -rf "$work"' EXIT
for target in "${targets[@]}"; do
  case $target in # what is shipped begins the search
  engine) shipped=(models) ;;
  scenario) shipped=(scenarios) ;;
  readings) shipped=(scenarios/readings) ;;
  *) shipped=() ;;
  esac
  printf '== %s, %s s\n' "$target" "$seconds"
  rm -rf "$work/corpus" && mkdir "$work/corpus"
  ASAN_OPTIONS=detect_leaks=$([ "$target" = log_text ] || [ "$target" = log_map ] && echo 1 || echo 0) \
    "build-fuzz/tests/fuzz_$target" -max_total_time="$seconds" -max_len=4096 -timeout=5 -print_final_stats=1 -artifact_prefix="${TMPDIR:-/tmp}/$target-" "$work/corpus" \
    "tests/fuzz/corpus/$target" "${shipped[@]}" 2>&1 | grep -vE "^#[0-9]+.*(NEW|REDUCE|pulse)" | tail -70 || failed=1
done
exit $failed
