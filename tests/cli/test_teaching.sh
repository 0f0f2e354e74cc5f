#!/usr/bin/env bash
# docs/teaching.md: every run that is to be shown to a class says what stands in brackets behind it. Truth: the page, which an instructor trusts.
. "$(dirname "$0")/common.sh"
count=0
while IFS=$'\t' read -r command words; do
  count=$((count + 1))
  case $command in *run\ * | *estimate\ * | *testsheet*) short && continue ;; esac
  # shellcheck disable=SC2086 # words of a command
  case $command in *"bladegap run"*) command="$command --out $work/out" ;; *"bladegap sweep"*) command="$command --out $work/sweep" ;; esac
  "$program" ${command#bladegap } >"$work/.out" 2>"$work/.err" </dev/null
  code=$?
  out=$(tr -s ' \n' ' ' <"$work/.out") err=$(tr -d '\0' <"$work/.err")
  words=$(tr -s ' ' <<<"$words")
  problem=
  grep -qF -- "$words" <<<"$out" || problem="it does not say '$words'"
  [ "$code" -le 1 ] || problem="exit $code"
  verdict "$command" "$problem"
done < <(sed -nE 's/.*Show: `(bladegap [^`]*)` \((.*)\)$/\1\t\2/p' docs/teaching.md)
holds "fifty questions have their runs: $count" test "$count" -eq 50
finish
