#!/usr/bin/env bash
# keys.sh PROGRAM [--check]: writes the table of keys in docs/scenarios.md anew from `bladegap list keys`, or says whether it is so.
set -euo pipefail
page=docs/scenarios.md
fresh=$(mktemp)
trap 'rm -f "$fresh"' EXIT
{
  sed '/^| in | key | what it is/,$d' "$page"
  echo '| in | key | what it is | range | without it |'
  echo '|---|---|---|---|---|'
  "$1" list keys --json | jq -r '.keys[] |
    "| \(.place) | `\(.key)` | \(.text) | \(if .min == null then .kind else "\(.kind), \(.min) to \(.max)" end) | \(
      if .otherwise == "(required)" then "required" else .otherwise end) |"'
  sed '1,/^| in | key | what it is/d' "$page" | sed '1,/^$/{/^|/d}'
} >"$fresh"
if [ "${2:-}" = --check ]; then
  diff "$page" "$fresh" >&2 || { echo "$page: run docs/make/keys.sh $1" >&2; exit 1; }
else
  cp "$fresh" "$page"
fi
