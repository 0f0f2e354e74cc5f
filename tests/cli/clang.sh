#!/usr/bin/env bash
# clang.sh BUILD-FOLDER: clang finds nothing to warn of in any file that this build compiles, tests and benchmarks included. No code is
# made: what runs is gcc's, and what clang makes of the core runs in tests/cli/wasm_core.sh.
set -euo pipefail
# As the build compiles it, but for clang, for what gcc alone understands, and for the output.
jq -r '.[] | "cd \(.directory) && clang-14 \(.command | sub("^[^ ]+ "; "") | sub(" -o [^ ]+"; "") | sub(" -c "; " -fsyntax-only "))"' \
  "$1/compile_commands.json" | sed -E 's/ -flto(=[a-z0-9]+)?| -ffat-lto-objects//g' >"$1/clang.txt"
[ "$(grep -c -- '-fsyntax-only' "$1/clang.txt")" -gt 100 ] || { echo "only $(wc -l <"$1/clang.txt") files: nothing to check"; exit 1; }
xargs -d '\n' -P "$(nproc)" -n 8 bash -c 'for line; do bash -c "$line" || failed=1; done; exit ${failed:-0}' - <"$1/clang.txt"
echo "$(wc -l <"$1/clang.txt") files: clang warns of nothing"
