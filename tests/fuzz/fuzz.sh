#!/usr/bin/env bash
# fuzz.sh TARGET|all [SECONDS [QUIET]]: builds a target of this folder with clang's fuzzer and lets it run for so many seconds, or until it has
# come to no new line of code for QUIET seconds: its plateau. What fails is left in TMPDIR, and the corpus in TMPDIR/fuzz-corpus if KEEP is set.
# To be called in the repository's top folder. What was found and mended goes into corpus/TARGET, which ctest runs through driver.c.
# The program's own build makes the libraries, in build-fuzz, so that a target may call any layer.
set -euo pipefail
target=$1 seconds=${2:-120}
quiet=${3:-$seconds}
flags='-g -O1 -fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all'
targets=("$target")
[ "$target" != all ] || mapfile -t targets < <(ls tests/fuzz/fuzz_*.c | sed 's/.*fuzz_//; s/\.c$//')
cmake -S . -B build-fuzz -DCMAKE_C_COMPILER=clang-14 -DBUILD_TESTING=ON -DBLADEGAP_FUZZ=ON -DCMAKE_C_FLAGS="$flags" >/dev/null
cmake --build build-fuzz -j "${JOBS:-$(nproc)}" --target "${targets[@]/#/fuzz_}" >/dev/null
work=$(mktemp -d) failed=0
trap 'rm -rf "$work"' EXIT

# Ends the fuzzer of this number when what it covers has not grown for so long.
watch() {
  local new='' since=$SECONDS now
  while kill -0 "$1" 2>/dev/null; do
    sleep 1
    now=$(grep -oE '\bcov: [0-9]+' "$work/log" | tail -n 1 || true)
    [ "$now" = "$new" ] || new=$now since=$SECONDS
    if [ $((SECONDS - since)) -ge "$quiet" ]; then
      kill -INT "$1" 2>/dev/null || true
      return
    fi
  done
}

for target in "${targets[@]}"; do
  case $target in # what is shipped begins the search
  engine) shipped=(models) ;;
  scenario) shipped=(scenarios) ;;
  readings) shipped=(scenarios/readings) ;;
  lesson) shipped=(docs/lessons) ;;
  *) shipped=() ;;
  esac
  longest=4096
  [ "$target" != lesson ] || longest=16384
  corpus=${KEEP:+${TMPDIR:-/tmp}/fuzz-corpus/$target}
  corpus=${corpus:-$work/corpus}
  rm -rf "$corpus" && mkdir -p "$corpus"
  began=$SECONDS code=0
  ASAN_OPTIONS=detect_leaks=$([ "$target" = log_text ] || [ "$target" = log_map ] && echo 1 || echo 0) \
    "build-fuzz/tests/fuzz_$target" -max_total_time="$seconds" -max_len=$longest -timeout=5 -print_final_stats=1 \
    -artifact_prefix="${TMPDIR:-/tmp}/$target-" "$corpus" "tests/fuzz/corpus/$target" "${shipped[@]}" >"$work/log" 2>&1 &
  fuzzer=$!
  watch $fuzzer
  wait $fuzzer || code=$?
  tried=$(sed -nE 's/^stat::number_of_executed_units: *//p' "$work/log")
  printf '%-13s %4d s  %9s tried  %s\n' "$target" $((SECONDS - began)) "$tried" "$(grep -oE 'cov: [0-9]+ ft: [0-9]+' "$work/log" | tail -n 1)"
  if [ $code != 0 ] && [ $code != 72 ]; then # 72: interrupted by watch
    grep -vE '^#[0-9]+.*(NEW|REDUCE|pulse)' "$work/log" | tail -n 70
    failed=1
  fi
done
exit $failed
