#!/usr/bin/env bash
# Logs of many shapes through the commands that read them: maps, rates, and what cannot be read. What stands in the recording:
# tests/logs/test_shapes.py and tests/unit/analysis/test_log_text.c.
. "$(dirname "$0")/common.sh"
log() { # NAME LINE ...: a file of lines in $work
  local name=$1
  shift
  printf '%s\n' "$@" >"$work/$name.csv"
}
told() { # CODE PATTERN ARG ...: that exit code, and stderr matches
  local want=$1 pattern=$2
  shift 2
  run "$@"
  holds "bladegap $*: exit $want and '$pattern' is said" bash -c '[ "$1" -eq "$2" ] && grep -qE -- "$3" <<<"$4"' - "$code" "$want" "$pattern" "$err"
}

# ---- columns named by hand ----
log german 'Zeit;Drehzahl;Luftmasse [kg/h];Notiz' '0,0;850;10,8;1' '0,5;851;10,9;2' '1,0;852;11,0;3'
bad 65 "3 columns not understood and left out: 'Drehzahl', 'Luftmasse \[kg/h\]', 'Notiz'|no column of numbers has the time" plot "$work/german.csv" --format none
run plot "$work/german.csv" --format none --map Zeit=time_s --map 'Drehzahl=engine rpm' --map Luftmasse=maf_gps --save-map "$work/map.csv" --json --quiet
holds 'three columns are known by name' jq -e '[.columns[].channel] == ["time_s", "speed_rpm", "maf_gps", null] and .columns[2].unit == "kg/h" and .rows == 3' "$work/.out"
holds 'the map is saved as it was given, and what is not known is to be filled in' bash -c 'grep -v "^#" "$1" | diff - <(printf "%s\n" header,name Zeit,time_s "Drehzahl,engine rpm" "Luftmasse [kg/h],maf_gps" Notiz,)' - "$work/map.csv"
good 'Luftmasse \[kg/h\] +kg/h +maf_gps' plot "$work/german.csv" --format none --map "$work/map.csv"
good 'german\.csv: good' check "$work/german.csv" --map "$work/map.csv"
bad 64 "--map Luft=maf_gsp: 'maf_gsp' is not a reading; did you mean 'maf_gps'\?" plot "$work/german.csv" --map Luft=maf_gsp
bad 64 "--map none.csv: there is no such file; a pair is HEADER=name, as in" plot "$work/german.csv" --map none.csv
printf 'header,name\nZeit,tiem_s\n' >"$work/wrong.csv"
bad 65 "wrong\.csv:2: 'tiem_s' is not a reading; did you mean 'time_s'" plot "$work/german.csv" --map "$work/wrong.csv"
printf 'a,b\n1,2\n' >"$work/wrong.csv"
bad 65 'wrong\.csv:1: it does not have the columns header and name' plot "$work/german.csv" --map "$work/wrong.csv"
bad 73 'cannot' plot "$work/german.csv" --map "$work/map.csv" --save-map "$work/no/where.csv" --format none --quiet

# ---- rows that are only counted ----
{
  echo 'Sample,Engine RPM'
  seq 0 200 | awk '{print $1 "," 850 + $1 % 3}'
} >"$work/count.csv"
bad 65 "'Sample' counts the rows, and nothing says how many there are per second: give it with --rate HZ" plot "$work/count.csv"
told 0 "'Sample' counts the rows, 20 per second" plot "$work/count.csv" --rate 20 --format none
run phases "$work/count.csv" --rate 20 --json --quiet
holds 'ten seconds of idle at twenty rows a second' jq -e '.phases[0] | .to_s > 9.5 and .to_s < 10.1' "$work/.out"
bad 64 '--rate' plot "$work/count.csv" --rate 0

# ---- all that run --as-log writes, through the commands ----
shapes=$("$program" list log-shapes | awk 'NR > 1 {print $1}')
logs=()
for shape in $shapes; do logs+=(--as-log "$work/$shape.log.csv" --log-shape "$shape"); done
run run slow-opening --solver fast --format none --quiet --out "$work/out" "${logs[@]}"
short && shapes='wide held long times'
rows=$("$program" phases "$work/wide.log.csv" --json | jq '.phases | length')
for shape in $shapes; do
  run phases "$work/$shape.log.csv" --json --quiet
  holds "$shape: phases as of the wide one" jq -e --argjson rows "$rows" '(.phases | length) >= 1 and ((.phases | length) - $rows | . <= 2 and . >= -2)' "$work/.out"
  [ "$shape" = invalid ] || { run check "$work/$shape.log.csv" && holds "$shape: nothing to complain of" test "$code" -eq 0; }
done

# ---- what cannot be read ----
: >"$work/empty.csv"
bad 65 'empty\.csv:1: the file is empty' plot "$work/empty.csv"
head -c 3000 "$program" >"$work/binary.csv"
bad 65 'binary\.csv:1: this is not a text file' check "$work/binary.csv"
printf 'Time (s),Engine RPM\n0,800\n' >"$work/endless.csv"
truncate -s 2G "$work/endless.csv" # a hole of two gigabytes, without a line end
bad 65 'endless\.csv:' check "$work/endless.csv"
# A sanitizer reserves terabytes of addresses for itself.
short || holds 'two gigabytes are not read' bash -c 'ulimit -v 600000; "$1" check "$2"; test $? -eq 65' - "$program" "$work/endless.csv"
yes a | head -c 3000000 | tr -d '\n' >"$work/line.csv"
bad 65 'line\.csv:1: the line is longer than 1048576 bytes, so this is not a log' check "$work/line.csv"
finish
