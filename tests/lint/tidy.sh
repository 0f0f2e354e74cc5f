#!/usr/bin/env bash
# tidy.sh DEFINITION ... -- FILE ...: clang-tidy of the files, called by lint.sh.
defined=()
while [ "$1" != -- ]; do
  defined+=("$1")
  shift
done
shift
exec clang-tidy-14 --quiet "$@" -- -std=c11 -D_GNU_SOURCE -Isrc "${defined[@]}" 2>/dev/null
