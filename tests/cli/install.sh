#!/usr/bin/env bash
# install.sh BUILD-FOLDER: installs what is built, moves it elsewhere, and uses it as a stranger would: from folders that cannot be written
# to, as a user who owns nothing. Truth: all files are there, and the same bytes come out as from the program in the build.
set -euo pipefail
build=$(realpath "$1")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
fault() {
  printf '%s\n' "$*"
  exit 1
}
chmod 755 "$work"
prefix=$(sed -n 's/^CMAKE_INSTALL_PREFIX:PATH=//p' "$build/CMakeCache.txt")
DESTDIR=$work/root cmake --install "$build" >"$work/install.log"
[ -z "$(find "$work/root" -path "$work/root$prefix" -prune -o -type f -print)" ] || fault 'something went outside of the prefix'
mv "$work/root$prefix" "$work/moved"

# Everything is there, and nothing knows the folders it was built in.
at=$work/moved
version=$(sed -nE 's/^project\(bladegap VERSION ([0-9.]+).*/\1/p' CMakeLists.txt)
for file in bin/bladegap share/man/man1/bladegap.1.gz share/bash-completion/completions/bladegap share/zsh/site-functions/_bladegap \
  share/bladegap/models/four-16.cfg share/bladegap/scenarios/film-droop.cfg share/doc/bladegap/licences.md share/doc/bladegap/CHANGELOG.md \
  share/doc/bladegap/LICENSE include/bladegap.h; do
  [ -s "$at/$file" ] || fault "$file is not installed"
done
[ ! -s "$build/bladegap.html" ] || cmp "$build/bladegap.html" "$at/share/bladegap/bladegap.html"
[ ! -d docs/lessons ] || diff -r docs/lessons "$at/share/bladegap/lessons"
for folder in models scenarios; do
  diff <(cd "$folder" && find . -name '*.cfg' | sort) <(cd "$at/share/bladegap/$folder" && find . -name '*.cfg' | sort)
done
known=$(grep -rlaF -e "$PWD" -e "$build" "$at" || true)
[ -z "$known" ] || fault "it knows where it was built: $known"

# As nobody, if we may become that.
as_nobody=()
[ "$(id -u)" -ne 0 ] || as_nobody=(setpriv --reuid 65534 --regid 65534 --clear-groups)
mkdir -m 777 "$work/home"
mkdir "$work/expected"
"$build/bladegap" run film-droop --format none --quiet --out "$work/expected"
outside() { # folder, arguments: the installed program, called there
  local folder=$1
  shift
  (cd "$folder" && env -u BLADEGAP_DATA HOME="$work/home" ${as_nobody[@]+"${as_nobody[@]}"} "$at/bin/bladegap" "$@" </dev/null)
}
[ "$(outside / --version)" = "bladegap $version" ] || fault "--version does not say $version"
for folder in / /usr/share "$at/share/bladegap/scenarios"; do
  rm -rf "$work/home/bladegap"
  outside "$folder" run film-droop --format none >"$work/said" || fault "run film-droop does not work in $folder"
  grep -qF "$work/home/bladegap/film-droop" "$work/said" || fault "in $folder: it does not say where the rows are"
  cmp "$work/home/bladegap/film-droop/run.csv" "$work/expected/run.csv"
done
mkdir -m 777 "$work/own"
outside "$work/own" run film-droop --format none --quiet
cmp "$work/own/out/film-droop/run.csv" "$work/expected/run.csv"
# Where nothing can be written, not even at home, it says what to do.
if HOME=/nowhere; (cd / && env -u BLADEGAP_DATA HOME=/nowhere ${as_nobody[@]+"${as_nobody[@]}"} "$at/bin/bladegap" run film-droop --format none \
  >"$work/said" 2>"$work/complaint"); then
  fault 'it claims to have written into /'
fi
grep -q '^bladegap: out.*: ' "$work/complaint" || fault "no reason given: $(cat "$work/complaint")"
outside / list engines --json | grep -qF "\"$at/share/bladegap/models/four-16.cfg\"" || fault 'its engines are not its own'
outside / settle four-16 --set film_um=60 >/dev/null
outside / sweep four-16 --vary film_um=0:10:5 --format none --quiet
[ -s "$work/home/bladegap/sweep-four-16/sweep.csv" ] || fault 'a sweep is not at home'

# Through a link on the path.
ln -s "$at/bin/bladegap" "$work/linked"
(cd / && env -u BLADEGAP_DATA "$work/linked" list scenarios) | grep -qF "$at/share/bladegap/scenarios/" || fault 'not through a link'
echo "installed, moved, used from three folders that cannot be written to: good"
