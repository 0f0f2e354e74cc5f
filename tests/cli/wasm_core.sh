#!/usr/bin/env bash
# wasm_core.sh WORK-FOLDER: builds base to analysis as WebAssembly and links a program that calls them.
# Truth: these layers need libc and libm only, so any of their calls that is neither fails to compile or to link.
set -euo pipefail
work=$1
mkdir -p "$work/objects"
flags=(--target=wasm32-wasi -std=c11 -D_GNU_SOURCE -O2 -Wall -Wextra -Werror -ffp-contract=off -Isrc)

objects=()
for source in $(find src/{base,physics,plant,control,solver,car,sim,analysis} -name '*.c' | sort); do
  [ "$source" != src/solver/solver_cvode.c ] || continue
  object=$work/objects/$(basename "$(dirname "$source")")_$(basename "$source" .c).o
  objects+=("$object")
  # Headers count too: anything newer than the object compiles it anew.
  if [ ! -e "$object" ] || [ -n "$(find src -newer "$object" \( -path "$source" -o -name '*.h' \) -print -quit)" ]; then
    clang-14 "${flags[@]}" -c "$source" -o "$object"
  fi
done
rm -f "$work/libbladegap_core.a"
llvm-ar-14 rcs "$work/libbladegap_core.a" "${objects[@]}"

cat >"$work/main.c" <<'END'
#include "physics/atmosphere.h"
#include "car/conditions.h"
#include "solver/solver.h"

#include <math.h>

int main(void) {
  struct conditions conditions;
  conditions_init(&conditions);
  struct solver *solver = NULL;
  struct error error;
  error_clear(&error);
  const struct solver_options options = solver_options_default();
  const struct solver_problem problem = {0};
  (void)(solver_fixed.create(&problem, &options, &solver, &error));
  solver_destroy(solver);
  return fabs(conditions_ambient_pa(&conditions) - atmosphere_pressure_pa(0.0)) < 1e-9 ? 0 : 1;
}
END
# Every object goes in, so that a symbol that only the program has is noticed.
clang-14 "${flags[@]}" -fuse-ld=lld -Wl,--whole-archive "$work/main.c" "$work/libbladegap_core.a" -Wl,--no-whole-archive -lm \
  -o "$work/core.wasm"
[ "$(head -c 4 "$work/core.wasm" | od -An -tx1 | tr -d ' ')" = 0061736d ]
echo "${#objects[@]} objects, $(stat -c %s "$work/core.wasm") bytes of WebAssembly"
