#!/usr/bin/env bash
# tidy.sh DEFINITION ... -- FILE ...: clang-tidy of the files, called by lint.sh; analyzer.h tells it what error_set() gives back.
defined=()
while [ "$1" != -- ]; do
  defined+=("$1")
  shift
done
shift
for file; do
  known=(-include tests/lint/analyzer.h)
  [ "$file" != src/base/error.c ] || known=()
  clang-tidy-14 --quiet "$file" -- -std=c11 -D_GNU_SOURCE -Isrc "${known[@]}" "${defined[@]}" 2>/dev/null
done
