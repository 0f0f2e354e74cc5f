#!/usr/bin/env bash
# library_install.sh BUILD-FOLDER: installs into a folder of its own and builds the C example against what stands there, as others
# would: through pkg-config and through find_package(), shared and static. Truth: all print what the one in the build prints.
set -euo pipefail
build=$(realpath "$1")
work=$build/library
rm -rf "$work/installed" "$work/moved" "$work/packaged"
mkdir -p "$work"
cmake --install "$build" --prefix "$work/installed" >"$work/install.log"
mv "$work/installed" "$work/moved" # what is installed may be moved
pc=$(find "$work/moved" -name bladegap.pc)
export PKG_CONFIG_PATH=${pc%/*}
lib=$(pkg-config --variable=libdir bladegap)
pkg-config --exact-version="$(sed -nE 's/^project\(bladegap VERSION ([0-9.]+).*/\1/p' CMakeLists.txt)" bladegap

cc -std=c11 -Isrc/library docs/examples/film.c "$build/libbladegap.a" -lm -o "$work/here"
"$work/here" >"$work/here.out"
same() { # what, command: the same words
  shift
  "$@" >"$work/there.out"
  cmp "$work/here.out" "$work/there.out"
}

# shellcheck disable=SC2046
cc -std=c11 docs/examples/film.c $(pkg-config --cflags --libs bladegap) -o "$work/shared"
LD_LIBRARY_PATH=$lib same shared "$work/shared"
# shellcheck disable=SC2046
cc -std=c11 docs/examples/film.c $(pkg-config --cflags bladegap) "$lib/libbladegap.a" -lm -o "$work/static"
same static "$work/static"
LD_LIBRARY_PATH=$lib same python python3 docs/examples/film.py

mkdir -p "$work/packaged"
cat >"$work/packaged/CMakeLists.txt" <<END
cmake_minimum_required(VERSION 3.18)
project(user LANGUAGES C)
find_package(bladegap 1.0 REQUIRED)
add_executable(shared $PWD/docs/examples/film.c)
target_link_libraries(shared PRIVATE bladegap::bladegap)
add_executable(static $PWD/docs/examples/film.c)
target_link_libraries(static PRIVATE bladegap::static)
END
cmake -S "$work/packaged" -B "$work/packaged/build" -DCMAKE_PREFIX_PATH="$work/moved" >"$work/packaged.log"
cmake --build "$work/packaged/build" >>"$work/packaged.log"
same find_package "$work/packaged/build/shared"
same find_package "$work/packaged/build/static"
echo "pkg-config, find_package: good"
