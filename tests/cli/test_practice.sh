#!/usr/bin/env bash
# practice: minutes that were spent stay spent, cautions come first, an edited case is refused, a class comes back as one table. Truth: what was
# typed, and the sentences the command promises.
. "$(dirname "$0")/common.sh"
here=$PWD
case=$work/case.txt
good 'The driver:' practice open --level 1 --seed 3 --engine four-16 --out "$case"
run practice measure "$case" smoke_test
holds "cautions come first, and say no" bash -c '[ "$1" = 1 ] && grep -q "no flame or spark" "$2" && grep -q "read the cautions" "$3"' - "$code" \
  "$work/.out" "$work/.err"
holds "nothing was spent by reading a caution" bash -c '! grep -q "^test " "$1"' - "$case"
good 'spent so far: 20 min' practice measure "$case" smoke_test --careful
good 'spent so far: 40 min' practice measure "$case" smoke-test --careful
run practice measure "$case" data_stream@idle --careful --json
holds "readings are JSON" jq -e '.outcome == "read" and (.readings.speed_rpm | type) == "number" and .minutes == 3' "$work/.out" >/dev/null
bad 64 "did you mean 'smoke_test'" practice measure "$case" smok_test --careful
bad 64 'has not been answered' practice mark "$case"
bad 64 "did you mean 'film'" practice answer "$case" filn 60 clean_bore
bad 64 'a number for each cause' practice answer "$case" film thick clean_bore
bad 64 'has no --json' practice show "$case" --json
good '' practice note "$case" 'air at idle looks right'
good '' practice answer "$case" film 60 clean_bore --careful
bad 64 'has been answered' practice measure "$case" smoke_test --careful
good 'The best plan on this car' practice mark "$case"
holds "it fits 100 columns" narrow "$work/.out"
run practice mark "$case" --json
holds "the points add up" jq -e '([.points[]] | add) - .total | . < 0.3 and . > -0.3' "$work/.out" >/dev/null
sed 's/smoke_test/belt_off/' "$case" >"$work/edited.txt"
bad 78 'edited by hand' practice show "$work/edited.txt"
sed 's/^format 1/format 2/' "$case" >"$work/newer.txt"
bad 78 'newer program' practice show "$work/newer.txt"
bad 66 '' practice show "$work/none.txt"

# A terminal without a terminal: lines from stdin; what is refused is said, and it goes on.
"$program" practice open --level 2 --seed 9 --engine three-10 --out "$work/play.txt" --quiet
printf 'measur x\nmeasure smoke_test\nno\nmeasure smoke_test\nyes\nnote two  blanks\nquit\n' | "$program" practice play "$work/play.txt" >"$work/.play" 2>&1
holds "a session goes on after a slip" grep -q "did you mean 'measure'" "$work/.play"
holds "no is no, yes is yes" test "$(grep -c '^test smoke_test' "$work/play.txt")" = 1
holds "a note keeps its blanks" grep -q '^note two  blanks' "$work/play.txt"

printf 'help\ntests\nwork\n\nanswer film\nno-such\nquit\n' | "$program" practice play "$work/play.txt" >"$work/.play" 2>&1
holds "what may be done is listed" grep -q smoke_test "$work/.play"
holds "and what may be repaired" grep -q clean_bore "$work/.play"
holds "a word too few is told" grep -q 'answer: it needs' "$work/.play"
holds "nor is there what is not there" grep -q "there is no 'no-such' in practice" "$work/.play"

# The same with a terminal: a prompt, lines that can be brought back, a warning where tables will wrap.
"$program" practice open --level 2 --seed 9 --engine three-10 --out "$work/typed.txt" --quiet
printf 'note once\n^P\nmeasure smoke_test\nyes\nquit\n' >"$work/typed"
python3 "$here/tests/cli/terminal_talk.py" 50 "$work/typed" "$program" practice play "$work/typed.txt" >"$work/.seen"
holds "a session on a terminal ends well" test $? -eq 0
holds "it prompts" grep -q 'practice> ' "$work/.seen"
holds "a narrow window is told" grep -q 'has 50 columns' "$work/.seen"
holds "a line comes back" test "$(grep -c '^note once' "$work/typed.txt")" = 2
holds "the caution is asked and answered" test "$(grep -c '^test smoke_test' "$work/typed.txt")" = 1

good '6 cases' practice open --class 6 --level 1 --seed 2 --engine four-16 --out "$work/class"
for i in 1 2; do
  "$program" practice measure "$work/class/case-00$i.txt" compression_test --careful >/dev/null
  "$program" practice answer "$work/class/case-00$i.txt" film - clean_bore --careful
done
good '6 cases, 2 answered' practice class "$work/class" --csv "$work/class.csv" --picture "$work/class.svg"
holds "one row a case" test "$(wc -l <"$work/class.csv")" = 7
holds "the picture is there" grep -q compression_test "$work/class.svg"
bad 66 'no case-' practice class "$work"
finish
