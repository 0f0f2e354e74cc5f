#!/usr/bin/env bash
# lint.sh [cppcheck|tidy|analyzer|valgrind|sanitizers ...]: what other tools say of src; all of them by default. Ends with 1 if any says something that is
# not suppressed, with its reason, in tests/lint/cppcheck.txt, .clang-tidy, tests/lint/valgrind.supp or beside the line (NOLINT).
# To be called in the repository's top folder, after tests/run or a build in build/. LINT_JOBS: how many at once. Takes some minutes; sanitizers, which builds all with clang, a quarter of an hour.
set -uo pipefail
tools=("$@")
[ $# -gt 0 ] || tools=(cppcheck tidy analyzer valgrind sanitizers)
failed=0
report=$(mktemp)
trap 'rm -f "$report"' EXIT
# What CMakeLists.txt defines.
defined=(-DBLADEGAP_VERSION='"1"' -DBLADEGAP_RELEASED='"2000-01-01"' -DBLADEGAP_PAGE_BUILT='""' -DBLADEGAP_DATA_BESIDE='""' -DBLADEGAP_DATA_INSTALLED='""' -DBLADEGAP_UNIT_FOLDER='""')
mapfile -t sources < <(find src -name '*.c' -not -path 'src/page/*' -not -path 'src/library/package/*' | sort)
for tool in "${tools[@]}"; do
  printf '== %s\n' "$tool"
  case $tool in
  cppcheck)
    cppcheck --enable=warning,performance,portability --std=c11 -Isrc -D_GNU_SOURCE --quiet --error-exitcode=1 -j "${LINT_JOBS:-$(nproc)}" \
      --suppressions-list=tests/lint/cppcheck.txt --template='{file}:{line}: {id}: {message}' "${sources[@]}" || failed=1
    ;;
  tidy)
    printf '%s\n' "${sources[@]}" | xargs -P "${LINT_JOBS:-$(nproc)}" -n 4 tests/lint/tidy.sh "${defined[@]}" -- | grep -E 'warning:|error:' && failed=1
    ;;
  analyzer) # only what stands in analyzer.txt with its reason is left out
    for source in "${sources[@]}"; do
      known=(-include tests/lint/analyzer.h)
      [ "$source" != src/base/error.c ] || known=() # it defines what the header wraps
      gcc -std=c11 -D_GNU_SOURCE -Isrc -O1 "${known[@]}" "${defined[@]}" -fanalyzer -c "$source" -o /dev/null 2>&1 | grep -E 'warning: .*-Wanalyzer|error:' |
        awk -v kinds="$(awk -F'\t' -v file="$source" '$1 == file { printf "%s ", $2 }' tests/lint/analyzer.txt)" '
          { kind = $NF; gsub(/^\[-Wanalyzer-|\]$/, "", kind); if (!index(" " kinds, " " kind " ")) print }'
    done | grep . && failed=1
    ;;
  valgrind)
    for words in 'list channels' 'settle four-16 --set film_um=60' 'run limp-home --solver fast --format none --quiet --out OUT' \
      'sweep four-16 --vary film_um=0,40 --format none --quiet --out OUT'; do
      out=$(mktemp -d)
      # shellcheck disable=SC2086 # words on purpose
      valgrind --quiet --leak-check=full --errors-for-leak-kinds=definite --error-exitcode=99 build/bladegap ${words//OUT/$out} >/dev/null || failed=1
      rm -rf "$out"
    done
    # The unit tests of the core below the simulation, but for those that integrate for seconds without valgrind.
    for source in tests/unit/{base,physics,plant,control,car}/test_*.c; do
      name=$(basename "$source" .c)
      case $name in test_bore_table | test_misfire | test_rev_limit | test_catalyst) continue ;; esac
      cmake --build build --target "unit_$name" >/dev/null || failed=1
      valgrind --quiet --leak-check=full --errors-for-leak-kinds=definite --error-exitcode=99 "build/tests/unit/unit_$name" >/dev/null 2>"$report" || {
        printf '%s\n' "$source" && cat "$report"
        failed=1
      }
    done
    ;;
  sanitizers) # tests/run has gcc's address and undefined-behaviour sanitizers with all unit and command-line tests; here are those of clang, which ask more of arithmetic
    cmake -S . -B build-clang-sanitizers -DCMAKE_C_COMPILER=clang-14 -DBUILD_TESTING=ON -DBLADEGAP_SANITIZE=address,undefined,float-cast-overflow,bounds >/dev/null &&
      cmake --build build-clang-sanitizers -j "${LINT_JOBS:-$(nproc)}" >"$report" 2>&1 || cat "$report"
    LSAN_OPTIONS="suppressions=$PWD/tests/leaks.supp:print_suppressions=0" UBSAN_OPTIONS=print_stacktrace=1 \
      ctest --test-dir build-clang-sanitizers -L unit -j "${LINT_JOBS:-$(nproc)}" --output-on-failure || failed=1
    ;;
  *)
    printf 'no tool %s\n' "$tool" >&2
    failed=64
    ;;
  esac
done
exit $failed
