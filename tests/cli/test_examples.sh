#!/usr/bin/env bash
# Every example of every help text is run as it stands there, in a folder that has what they speak of: it must end with 0, and an
# estimate's readings must be explained. Truth: help shows nothing that does not work.
. "$(dirname "$0")/common.sh"
top=$PWD
mkdir "$work/bin" "$work/here"
ln -s "$program" "$work/bin/bladegap"
ln -s "$top/models" "$top/scenarios" "$top/docs" "$work/here"
cd "$work/here" || exit 1
export PATH=$work/bin:$PATH

# What examples take as given: the run that is drawn again, logs before and after, a sweep in four parts, a log.
"$program" run scenarios/film-droop.cfg --format none --quiet
cp out/film-droop/run.csv before.csv
cp out/film-droop/run.csv after.csv
cp scenarios/logs/opening-clean.csv drive.csv
cp scenarios/logs/opening-film.csv day.csv
for part in 1 2 3 4; do "$program" sweep models/four-16.cfg --vary film_um=0:110:10 --format none --shard "$part/4" --quiet; done

commands=$("$program" help --json | jq -r '.commands[].name' 2>/dev/null)
[ -n "$commands" ] || commands=$("$program" help | sed -nE 's/^  ([a-z]+)( [A-Z].*)?  +.*/\1/p' | sort -u)
count=0
for name in $commands; do
  case $name in run | plot | sweep | merge | testsheet) short && continue ;; esac
  "$program" help "$name" >"$work/help" 2>/dev/null || continue
  while read -r example; do
    count=$((count + 1))
    example=${example//\/tmp\//$work/}
    printf 'electronic\n\n\n\n1.4\n' >"$work/answers" # to what a card asks; all else is left open
    bash -c "$example" >"$work/.out" 2>"$work/.err" <"$work/answers"
    code=$?
    out=$(tr -d '\0' <"$work/.out") err=$(tr -d '\0' <"$work/.err")
    problem=
    [ "$code" -eq 0 ] || problem="an example of the help does not work"
    verdict "$example" "$problem"
    case $example in
      "bladegap estimate"*)
        bash -c "$example --json" >"$work/.out" 2>"$work/.err" </dev/null
        holds "its readings are explained: $example" jq -e '.fit.explained' "$work/.out" >/dev/null
        ;;
    esac
  done < <(sed -nE 's/^  ((\. <\()?bladegap .*)/\1/p' "$work/help" | grep -v '^bladegap [a-z]*:')
done
holds "every command has examples: $count" test "$count" -ge "$(short && echo 8 || echo 25)"
finish
