#!/usr/bin/env bash
# library_examples.sh BUILD-FOLDER: what libbladegap shows of itself, and the examples of docs/examples against the one just built.
# Truth: the library's contract (bladegap.h), and that C and Python say the same.
set -uo pipefail
build=$1
work=$build/library
mkdir -p "$work"
major=$(sed -nE 's/^project\(bladegap VERSION ([0-9]+).*/\1/p' CMakeLists.txt)
failed=0
fault() {
  printf '%s\n' "$*"
  failed=1
}

# Nothing but bladegap_* is to be seen, and all of the header is there.
declared=$(grep -oE '\bbladegap_[a-z_]+\(' src/library/bladegap.h | tr -d '(' | sort -u |
  while read -r name; do grep -qE "BLADEGAP_API.*\b$name\(" src/library/bladegap.h && echo "$name"; done)
for library in libbladegap.so libbladegap.a; do
  flags=$([ "${library##*.}" = so ] && echo -D || echo -g)
  shown=$(nm "$flags" --defined-only "$build/$library" | awk 'NF == 3 {print $3}' | sort -u)
  [ "$shown" = "$declared" ] || fault "$library: $(diff <(echo "$declared") <(echo "$shown"))"
done

# It needs libc and libm only, and says nothing, opens nothing, ends nothing.
needed=$(objdump -p "$build/libbladegap.so" | awk '$1 == "NEEDED" {print $2}' | sort | tr '\n' ' ')
[ "$needed" = 'libc.so.6 libm.so.6 ' ] || fault "libbladegap.so needs $needed"
[ "$(objdump -p "$build/libbladegap.so" | awk '$1 == "SONAME" {print $2}')" = "libbladegap.so.$major" ] || fault 'the soname is another'
forbidden=$(nm -D --undefined-only "$build/libbladegap.so" | awk '{print $2}' | sed 's/@.*//' |
  grep -xE 'f?printf|f?puts|putchar|fopen|open|fwrite|write|exit|_exit|getenv|setlocale|rand|srand|strtok|localtime|pthread_create')
[ -z "$forbidden" ] || fault "libbladegap.so calls $forbidden"
writable=$(objdump -t "$build/libbladegap.so" | awk 'NF > 3 && $(NF - 2) ~ /^\.(data|bss)$/ && $NF !~ /^[._]/ && $NF !~ /^completed/ {print $NF}')
[ -z "$writable" ] || fault "libbladegap.so has variables: $writable"

# C, the header first and alone, as C11 without extensions and as C++ if there is a compiler; then Python.
for standard in c11 c99; do
  printf '#include <bladegap.h>\nint main(void) { return bladegap_version() == 0; }\n' |
    cc -std=$standard -Wall -Wextra -Wpedantic -Werror -Isrc/library -x c - -x none "$build/libbladegap.a" -lm -o "$work/alone" &&
    "$work/alone" || fault "the header alone does not do as $standard"
done
for example in film; do
  cc -std=c11 -Wall -Wextra -Wpedantic -Werror -Isrc/library "docs/examples/$example.c" -L"$build" -lbladegap -lm \
    -Wl,-rpath,"$(realpath "$build")" -o "$work/$example" || fault "$example.c does not build"
  "$work/$example" >"$work/$example.c.out" || fault "$example.c failed"
  python3 "docs/examples/$example.py" "$(realpath "$build")/libbladegap.so.$major" >"$work/$example.py.out" || fault "$example.py failed"
  diff "$work/$example.c.out" "$work/$example.py.out" || fault "$example: C and Python differ"
  grep -qE '^film 100 um: droops at [0-9]{3} rpm' "$work/$example.c.out" || fault "$example: no film in what it says"
  grep -qE '^at 160 s: film 100 um, [0-9]{3} rpm' "$work/$example.c.out" || fault "$example: no run in what it says"
  grep -qE 'deposit in the throttle bore' "$work/$example.c.out" || fault "$example: no cause in what it says"
done

[ "$failed" -eq 0 ] && echo "$(wc -w <<<"$declared") functions: good"
exit "$failed"
