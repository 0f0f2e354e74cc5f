#!/usr/bin/env bash
# Progress: on stderr, on a terminal or with --progress, never with --quiet, and nothing of a job that is soon over. Truth: src/commands/progress.h.
. "$(dirname "$0")/common.sh"
scenario() { printf '%s\n' 'title = "long";' 'engine = "four-16";' "duration_s = $2;" 'record_s = 1.0;' >"$work/$1.cfg"; }
scenario short 300.0
scenario long 86400.0
on_terminal() { python3 tests/cli/on_terminal.py "$@" >"$work/seen"; }

good '^long$' run "$work/short.cfg" --format none --out "$work/a" # no terminal: nothing on stderr
run run "$work/short.cfg" --format none --out "$work/a" --progress
holds 'asked for, it is told in tenths' test "$(grep -cE '^bladegap: simulating: [0-9]+0? %$' <<<"$err")" -ge 10
holds 'up to the end' grep -q '^bladegap: simulating: 100 %$' <<<"$err"
run run "$work/short.cfg" --format none --out "$work/a" --progress --quiet
holds '--quiet is quiet' test -z "$out$err"
run sweep four-16 --vary film_um=0:40:1 --format none --out "$work/s" --progress
holds 'a sweep tells too' grep -q '^bladegap: settling: 100 %$' <<<"$err"
run estimate four-16 --reading maf_gps=2.5@idle --progress
holds 'an estimate tells its steps' grep -qE '^bladegap: estimating, step 3: [0-9]+ %$' <<<"$err"

on_terminal 2.5 "$program" run "$work/long.cfg" --rows-only --out "$work/b"
holds 'on a terminal a long run is told' grep -qE '^simulating: +[0-9]+ %' "$work/seen"
on_terminal 2.5 "$program" run "$work/long.cfg" --rows-only --out "$work/c" --quiet
holds 'but not with --quiet' test ! -s "$work/seen"
began=$(date +%s%N)
on_terminal 2.5 "$program" run "$work/short.cfg" --rows-only --out "$work/d"
# a machine that is busy makes a short run a long one
[ $(($(date +%s%N) - began)) -gt 900000000 ] || holds 'and nothing of a short one' test ! -s "$work/seen"
finish
