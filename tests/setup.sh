# Sourced by tests/run and scenarios/demo: installs what is missing, and builds. Expects `set -e` and $top, the
# repository's top folder.

say() { printf '== %s\n' "$*"; }

# The packages of tests/packages: "program" is what stands above its first [GROUP] line; "tests" is everything but [lint]; else that group.
package_names() {
  case $1 in
    program) sed '/^\[/,$d' "$top/tests/packages" ;;
    tests) awk '/^\[/ { lint = $0 == "[lint]" } !lint' "$top/tests/packages" ;;
    *) awk -v group="[$1]" '/^\[/ { inside = $0 == group } inside' "$top/tests/packages" ;;
  esac | sed -e '/^#/d' -e '/^\[/d' -e '/^$/d' | sort -u
}

as_root() {
  if [ "$(id -u)" -eq 0 ]; then "$@"; else sudo "$@"; fi
}

# One update, and only if something is missing.
install_missing() {
  local missing=() name
  for name in $(package_names "$1"); do
    [ "$(dpkg-query -W -f '${db:Status-Status}' "$name" 2>/dev/null)" = installed ] || missing+=("$name")
  done
  [ ${#missing[@]} -gt 0 ] || return 0
  say "installing ${missing[*]}"
  as_root apt-get -o DPkg::Lock::Timeout=300 update -qq
  as_root env DEBIAN_FRONTEND=noninteractive apt-get -o DPkg::Lock::Timeout=300 install -y -qq \
    --no-install-recommends "${missing[@]}" >/dev/null
}

# build FOLDER [CMAKE-SETTING ...]: builds what changed since the last time; what went wrong is shown, the rest is in build.log.
build() {
  local folder=$top/$1
  shift
  mkdir -p "$folder"
  { cmake -S "$top" -B "$folder" "$@" && cmake --build "$folder" -j "$(nproc)"; } >"$folder/build.log" 2>&1 || {
    grep -v '^\[ *[0-9]*%\]\|^-- ' "$folder/build.log" | tail -n 80
    return 1
  }
}
