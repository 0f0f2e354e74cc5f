#!/usr/bin/env bash
# Every C file is laid out as .clang-format says. To mend: clang-format-14 -i $(git ls-files '*.c' '*.h')
set -u
files() { find src tests docs models \( -name '*.c' -o -name '*.h' \) -print0; }
wrong=$(files | xargs -0 clang-format-14 --dry-run --Werror 2>&1)
if [ -n "$wrong" ]; then
  printf '%s\n' "$wrong" | head -n 60
  exit 1
fi
echo "$(files | tr -dc '\0' | wc -c) files laid out alike"
