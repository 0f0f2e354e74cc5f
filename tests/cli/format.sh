#!/usr/bin/env bash
# Every C file is laid out as .clang-format says. To mend: clang-format-14 -i $(git ls-files '*.c' '*.h')
set -uo pipefail
find src tests docs models \( -name '*.c' -o -name '*.h' \) -print0 | xargs -0 clang-format-14 --dry-run --Werror 2>&1 | grep -m 20 -A 2 'error:' && exit 1
echo "$(find src tests docs models \( -name '*.c' -o -name '*.h' \) | wc -l) files laid out alike"
