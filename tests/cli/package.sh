#!/usr/bin/env bash
# package.sh: makes the Debian packages in two copies of the sources, in folders of different names, and compares them byte by byte; asks
# lintian; unpacks and uses them; builds the C example against them. A long test: it builds everything twice. Truth: Debian's policy as lintian knows it.
# What is not in git is left out.
set -euo pipefail
top=$PWD
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
fault() {
  printf '%s\n' "$*"
  exit 1
}
for copy in one another-with-a-longer-name/inside; do
  mkdir -p "$work/$copy"
  git ls-files -z | xargs -0 cp --parents -t "$work/$copy"
  "$work/$copy/scenarios/package" >"$work/said" 2>&1 || fault "$(cat "$work/said")"
done
first=("$work"/one/build-package/*.deb)
[ ${#first[@]} -eq 3 ] || fault "there are ${#first[@]} packages, not 3"
for package in "${first[@]}"; do
  cmp "$package" "$work/another-with-a-longer-name/inside/build-package/${package##*/}" || fault "${package##*/}: other bytes from another folder"
done

for package in "${first[@]}"; do
  remarks=$(lintian --no-cfg --allow-root --fail-on none "$package" 2>&1 | grep -E '^[EW]:' || true)
  [ -z "$remarks" ] || fault "$remarks"
  dpkg-deb -x "$package" "$work/root"
done
man --warnings -E UTF-8 -l "$work/root/usr/share/man/man1/bladegap.1.gz" 2>&1 >/dev/null | grep . && fault 'man warns'
[ -s "$work/root/usr/share/bladegap/bladegap.html" ] || fault 'the page is not inside'
[ ! -d docs/lessons ] || diff -r docs/lessons "$work/root/usr/share/bladegap/lessons"
grep -q '^License: Expat$' "$work/root/usr/share/doc/bladegap/copyright" || fault 'the copyright file has no licence'
grep -q 'Permission is hereby granted' "$work/root/usr/share/doc/bladegap/copyright" || fault 'the copyright file has no text of the licence'
(cd / && HOME=$work "$work/root/usr/bin/bladegap" run film-droop --format none --quiet --out "$work/run")
[ -s "$work/run/run.csv" ] || fault 'the program of the package writes nothing'
(cd "$work" && "$work/root/usr/bin/bladegap" page --out page.html --quiet)
pc=$(find "$work/root" -name bladegap.pc)
lib=${pc%/pkgconfig/*}
# shellcheck disable=SC2046
cc -std=c11 "$top/docs/examples/film.c" $(PKG_CONFIG_PATH=${pc%/*} pkg-config --cflags --libs bladegap) -o "$work/film"
LD_LIBRARY_PATH=$lib "$work/film" >"$work/film.out"
sha256sum "${first[@]}" | sed 's|/.*/|  |'
echo '3 packages, the same bytes from two folders, nothing to remark for lintian: good'
