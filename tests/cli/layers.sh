#!/usr/bin/env bash
# layers.sh BUILD-FOLDER: the rules of structure. Truth: the order of the layers below, and the objects just built.
set -uo pipefail
build=$1
layers=(base physics plant control solver car sim analysis library fmu io commands)
# The rooms of the two large layers. The rooms of analysis in order, each including only itself and those before it; those of io
# may know each other.
analysis_rooms=(settle run live testsheet sweep log curve estimate fit compare visit practice unit lesson lists)
io_rooms=(format config log scantool picture terminal report unit lesson)
failed=0
fault() {
  printf '%s\n' "$*"
  failed=1
}
join() { (IFS='|' && echo "$*"); }
files_of() { find "$@" -name '*.[ch]' 2>/dev/null | sort; }

# refused PATTERN ALLOWED WHAT FOLDER ...: a fault for each line of the folders' files that matches the first and not the second.
refused() {
  local pattern=$1 allowed=$2 what=$3 line
  shift 3
  while IFS= read -r line; do fault "$line: $what"; done < <(grep -rnE --include='*.[ch]' "$pattern" "$@" | grep -vE "$allowed")
}

# 1. A file includes only its own layer and those before it; includes carry layer and room. The solvers need base only, and nobody
# inside needs the library.
for at in "${!layers[@]}"; do
  allowed=$(join "${layers[@]:0:at+1}")
  [ "${layers[at]}" = solver ] && allowed='base|solver'
  # The library is for others: files and commands work with what is behind it.
  case ${layers[at]} in io | commands) allowed=${allowed/library|/} ;; esac
  refused '^#include "' "#include \"($allowed)/([a-z]+/)?[a-z0-9_]+\.h\"" "layer ${layers[at]} may include ${allowed//|/, } only" \
    src/"${layers[at]}"
done
for at in "${!analysis_rooms[@]}"; do
  allowed=$(join "${analysis_rooms[@]:0:at+1}")
  refused '^#include "analysis/' "#include \"analysis/($allowed)/" "room analysis/${analysis_rooms[at]} may include ${allowed//|/, } only" \
    src/analysis/"${analysis_rooms[at]}"
done

# No circles: neither of headers, nor of files, a .c and its .h being one.
no_circles() { # what, files that may include, what to cut off a name
  local loop names
  loop=$(grep -rHE '^#include "' src --include="$2" | sed -E 's/^src\/([^:]*):#include "(.*)"$/\1 \2/' |
    sed -E "s/$3//g" | awk '$1 != $2' | sort -u | LC_ALL=C tsort 2>&1 >/dev/null)
  [ -z "$loop" ] && return
  while IFS= read -r names; do fault "a circle of $1: $names"; done < <(sed 's/^tsort: //; s/^-: input contains a loop:$/|/' <<<"$loop" | tr '\n|' ' \n' | grep .)
}
no_circles headers '*.h' '^$'
no_circles files '*.[ch]' '\.[ch]\>'

# Every file of a layer with rooms stands in one of them; tests/unit mirrors the layers.
in_rooms() { # layer, rooms
  local layer=$1 file
  shift
  for file in $(files_of src/"$layer"); do
    [[ $file =~ ^src/$layer/($(join "$@"))/[^/]+$ ]] || fault "$file: in none of the rooms of $layer: $*"
  done
}
in_rooms analysis "${analysis_rooms[@]}"
in_rooms io "${io_rooms[@]}"
for folder in tests/unit/*/; do
  name=$(basename "$folder")
  [ "$name" = data ] || [ -d "src/$name" ] || fault "tests/unit/$name mirrors no layer of src"
done
for file in tests/unit/test_*.c; do
  [ -e "$file" ] && fault "$file: belongs into the folder of its layer"
done

# 2. base to library: libc and libm only, no files, no printing, no threads; solver_cvode.c is the exception.
core=(src/{base,physics,plant,control,solver,car,sim,analysis,library})
refused '^#include <' '^src/solver/solver_cvode\.c:|<(assert|complex|ctype|errno|float|inttypes|limits|math|stdalign|stdarg|stdbool|stddef|stdint|stdio|stdlib|string)\.h>' \
  'not in the core' "${core[@]}"
refused '\b(printf|fprintf|puts|fputs|fopen|fwrite|exit|abort|getenv) *\(' '^src/solver/solver_cvode\.c:|^[^:]*:[0-9]+: \*' \
  'the core neither prints nor opens files nor exits' "${core[@]}"

# 3. Each outside library is known to one file.
one_file() { # what, pattern, how many files know it
  local users
  users=$(grep -rlE "$2" src)
  [ "$(grep -c . <<<"$users")" -eq 1 ] || fault "$1 is included by: ${users:-nobody}"
  case $users in *.h) fault "$1 is included by a header: $users" ;; esac
}
one_file libconfig '#include <libconfig\.h>'
one_file SUNDIALS '#include <(cvode|nvector|sun[a-z]*)/'
one_file jansson '#include <jansson\.h>'
one_file libcmark '#include <cmark\.h>'

# 4. What a file exports begins with its stem, with the layer before it where several layers have such a file
# (plant_state in plant/state.c). A plural stem also exports its singular (condition_find in conditions.c), a stem of
# several words what the header named by its first word declares (solver_options_default in solver_fixed.c), and a
# command's file its row.
declare -A objects
while IFS=: read -r object symbol; do
  stem=${object##*/} folder=${object%/*} symbol=${symbol##* }
  stem=${stem%.c.o} folder=${folder##*/src/}
  [ "$stem" = main ] && continue
  [ -e "src/$folder/$stem.c" ] || continue # an object left over from a file that is gone
  objects[$object]=1
  case $symbol in
    "$stem" | "$stem"_* | "${stem%s}"_* | "${folder%%/*}_${stem%s}"_*) ;;
    "${stem%%_*}"_*) [ -e "src/$folder/${stem%%_*}.h" ] || fault "src/$folder/$stem.c exports $symbol" ;;
    command_*) [ "$folder" = commands ] || fault "src/$folder/$stem.c exports $symbol" ;;
    __asan* | __odr_asan* | __ubsan*) ;;
    *) fault "src/$folder/$stem.c exports $symbol: it should begin with ${stem}_" ;;
  esac
done < <(find "$build" -path '*/src/*.c.o' -print0 | xargs -0 nm -gA --defined-only)
[ "${#objects[@]}" -gt 10 ] || fault "only ${#objects[@]} objects below $build: nothing to check"

# 5. No file is longer than 500 lines.
while read -r lines file; do
  [ "$file" = total ] || [ "$lines" -le 500 ] || fault "$file: $lines lines, 500 at most"
done < <(find src tests -name '*.[ch]' -exec wc -l {} +)

[ "$failed" -eq 0 ] && echo "${#objects[@]} objects, $(find src -name '*.[ch]' | wc -l) files: good"
exit "$failed"
