#!/usr/bin/env bash
# layers.sh BUILD-FOLDER: the rules of structure. Truth: the order of the layers below, and the objects just built.
set -uo pipefail
build=$1
layers=(base physics plant control sim analysis io commands)
failed=0
fault() {
  printf '%s\n' "$*"
  failed=1
}

# 1. A file includes only its own layer and those before it; includes carry the layer.
for at in "${!layers[@]}"; do
  allowed=$(IFS='|' && echo "${layers[*]:0:at+1}")
  for file in src/"${layers[at]}"/*.[ch]; do
    [ -e "$file" ] || continue
    while IFS= read -r line; do
      fault "$file: $line: layer ${layers[at]} may include ${allowed//|/, } only"
    done < <(grep -nE '^#include "' "$file" | grep -vE "#include \"($allowed)/[a-z0-9_]+\.h\"")
  done
done

# 2. base to analysis: libc and libm only, no files, no printing, no threads; solver_cvode.c is the exception.
for file in src/{base,physics,plant,control,sim,analysis}/*.[ch]; do
  [ -e "$file" ] && [ "$file" != src/sim/solver_cvode.c ] || continue
  while IFS= read -r line; do
    fault "$file: $line: not in the core"
  done < <(grep -nE '^#include <' "$file" |
    grep -vE '<(assert|complex|ctype|errno|float|inttypes|limits|math|stdalign|stdarg|stdbool|stddef|stdint|stdio|stdlib|string)\.h>')
  while IFS= read -r line; do
    fault "$file: $line: the core neither prints nor opens files nor exits"
  done < <(grep -nE '\b(printf|fprintf|puts|fputs|fopen|fwrite|exit|abort|getenv) *\(' "$file")
done

# 3. Each outside library is known to one file.
one_file() { # what, pattern, how many files know it
  local users
  users=$(grep -rlE "$2" src)
  [ "$(grep -c . <<<"$users")" -eq 1 ] || fault "$1 is included by: ${users:-nobody}"
  case $users in *.h) fault "$1 is included by a header: $users" ;; esac
}
one_file libconfig '#include <libconfig\.h>'
one_file SUNDIALS '#include <(cvode|nvector|sun[a-z]*)/'
one_file libcsv '#include <csv\.h>'
one_file jansson '#include <jansson\.h>'

# 4. What a file exports begins with its stem, with the layer before it where several layers have such a file
# (plant_state in plant/state.c). A plural stem also exports its singular (condition_find in conditions.c), a stem of
# several words what the header named by its first word declares (solver_options_default in solver_fixed.c), and a
# command's file its row.
objects=0
while IFS= read -r object; do
  stem=$(basename "$object" .c.o)
  folder=$(basename "$(dirname "$object")")
  [ "$stem" = main ] && continue
  [ -e "src/$folder/$stem.c" ] || continue # an object left over from a file that is gone
  objects=$((objects + 1))
  while IFS= read -r symbol; do
    case $symbol in
      "$stem" | "$stem"_* | "${stem%s}"_* | "${folder}_${stem%s}"_*) ;;
      "${stem%%_*}"_*) [ -e "src/$folder/${stem%%_*}.h" ] || fault "src/$folder/$stem.c exports $symbol" ;;
      command_*) [ "$folder" = commands ] || fault "src/$folder/$stem.c exports $symbol" ;;
      __asan* | __odr_asan* | __ubsan*) ;;
      *) fault "src/$folder/$stem.c exports $symbol: it should begin with ${stem}_" ;;
    esac
  done < <(nm -g --defined-only "$object" | awk 'NF == 3 {print $3}')
done < <(find "$build" -path '*/src/*.c.o')
[ "$objects" -gt 10 ] || fault "only $objects objects below $build: nothing to check"

# 5. No file is longer than 500 lines.
while read -r lines file; do
  [ "$file" = total ] || [ "$lines" -le 500 ] || fault "$file: $lines lines, 500 at most"
done < <(find src tests -name '*.[ch]' -exec wc -l {} +)

[ "$failed" -eq 0 ] && echo "$objects objects, $(find src -name '*.[ch]' | wc -l) files: good"
exit "$failed"
