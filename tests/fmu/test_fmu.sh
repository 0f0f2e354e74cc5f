#!/usr/bin/env bash
# test_fmu.sh PROGRAM IMPORTER WORK-FOLDER [all]: units of both versions: descriptions by the standard's schemas (tests/fmu/schema, with their
# licence), names used once, the same bytes twice, and what tests/fmu/importer.c tries. `all`: every engine, and built again from the unit's own
# sources by what its description says.
set -euo pipefail
program=$(realpath "$1") importer=$(realpath "$2") work=$3 all=${4:-}
here=$(cd "$(dirname "$0")" && pwd)
fault() {
  printf '%s\n' "$*"
  exit 1
}
rm -rf "$work"
mkdir -p "$work"
work=$(realpath "$work")
engines='four-16 four-18-cable'
[ -n "$all" ] && engines=$(basename -s .cfg models/*.cfg)
for engine in $engines; do
  for version in 2 3; do
    folder=$work/$engine-$version
    "$program" fmu "$engine" --version "$version" --out "$folder.fmu" --quiet
    mkdir "$folder"
    (cd "$folder" && python3 -m zipfile -e "$folder.fmu" .)
    xmllint --noout --schema "$here/schema/$version/fmi${version}ModelDescription.xsd" "$folder/modelDescription.xml" 2>"$work/xml.txt" ||
      fault "$engine, FMI $version: $(cat "$work/xml.txt")"
    twice=$(grep -oE ' name="[^"]*" valueReference' "$folder/modelDescription.xml" | sort | uniq -d)
    [ -z "$twice" ] || fault "$engine: used twice: $twice"
    [ -s "$folder/documentation/index.html" ] || fault "$engine: no page"
    "$importer" "$version" "$folder" "$engine"
  done
  xmllint --noout --schema "$here/schema/3/fmi3BuildDescription.xsd" "$folder/sources/buildDescription.xml" 2>"$work/xml.txt" ||
    fault "$engine: $(cat "$work/xml.txt")"
done
"$program" fmu four-16 --out "$work/again.fmu" --quiet
cmp "$work/again.fmu" "$work/four-16-3.fmu" || fault 'the same unit has other bytes'

# Nothing is exported but the standard's calls; nothing is needed but libc and libm.
object=$work/four-16-3/binaries/x86_64-linux/bladegap.so
! nm -D --defined-only "$object" | awk '$2 == "T" { print $3 }' | grep -vE '^fmi[23][A-Z]' || fault 'more is exported'
! readelf -d "$object" | grep NEEDED | grep -vE 'lib[cm]\.so' || fault 'more libraries are needed'

# Bad input.
! "$program" fmu no-such-engine --out "$work/none.fmu" 2>"$work/none.txt" || fault 'an engine that is not there'
[ ! -e "$work/none.fmu" ] || fault 'half a unit was left'
! "$program" fmu four-16 --out "$work/no/folder.fmu" 2>"$work/none.txt" || fault 'a folder that is not there'

if [ -n "$all" ]; then
  folder=$work/four-16-3
  sources=$(grep -oE 'SourceFile name="[^"]*"' "$folder/sources/buildDescription.xml" | cut -d'"' -f2)
  options=$(grep -oE 'compilerOptions="[^"]*"' "$folder/sources/buildDescription.xml" | cut -d'"' -f2)
  # shellcheck disable=SC2086 # options and names are words
  (cd "$folder/sources" && gcc -std=c11 -O2 -D_GNU_SOURCE -I. $options -shared -o ../binaries/x86_64-linux/bladegap.so $sources -lm)
  "$importer" 3 "$folder" four-16
fi
