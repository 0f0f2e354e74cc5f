# Sourced by the test scripts: runs the program and looks at exit code and messages. Each script is called with the
# program's path, in the repository's top folder. Truth of every expectation: the command's contract (exit codes of
# src/base/status.h; results on stdout, messages on stderr as "bladegap: text").
# TESTS_SHORT is set where everything is slow, under the sanitizers: smaller cases then, and fewer of the same kind.
set -uo pipefail
short() { [ -n "${TESTS_SHORT:-}" ]; }
program=$(realpath "$1")
[ -x "$program" ] || { echo "there is no program $program"; exit 1; }
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
passed=0
failed=0

# What the last run printed: $out, $err (texts) and $code.
run() {
  "$program" "$@" >"$work/.out" 2>"$work/.err" </dev/null
  code=$?
  out=$(tr -d '\0' <"$work/.out")
  err=$(tr -d '\0' <"$work/.err")
}

# verdict NAME PROBLEM: counts; an empty PROBLEM is a pass.
verdict() {
  if [ -z "$2" ]; then
    passed=$((passed + 1))
  else
    failed=$((failed + 1))
    printf 'FAILED: %s: %s\n  exit %s\n  stdout: %.600s\n  stderr: %.600s\n' "$1" "$2" "$code" "$out" "$err" >&2 # a caller may have silenced what its check prints
  fi
}

# What every run must obey, good or bad: no crash, no sanitizer report, messages prefixed.
common_problem() {
  [ "$code" -lt 126 ] || { echo "crashed"; return; }
  grep -qE 'Sanitizer|runtime error' "$work/.err" && { echo "sanitizer report"; return; }
  grep -qvE '^bladegap: ' "$work/.err" && { echo "a line on stderr does not begin with 'bladegap: '"; return; }
  return 0
}

# good PATTERN ARG ...: exit 0, nothing on stderr, stdout matches the extended regular expression.
good() {
  local pattern=$1 problem
  shift
  run "$@"
  problem=$(common_problem)
  [ -n "$problem" ] || [ "$code" -eq 0 ] || problem="exit code should be 0"
  [ -n "$problem" ] || [ -z "$err" ] || problem="stderr should be empty"
  [ -n "$problem" ] || grep -qE -- "$pattern" <<<"$out" || problem="stdout should match '$pattern'"
  verdict "bladegap $*" "$problem"
}

# bad CODE PATTERN ARG ...: that exit code (or one of several: 66|78), stderr matches, and stdout is empty.
bad() {
  local want=$1 pattern=$2 problem
  shift 2
  run "$@"
  problem=$(common_problem)
  [ -n "$problem" ] || grep -qxE "$want" <<<"$code" || problem="exit code should be $want"
  [ -n "$problem" ] || grep -qE -- "$pattern" <<<"$err" || problem="stderr should match '$pattern'"
  [ -n "$problem" ] || [ -z "$out" ] || problem="stdout should be empty"
  verdict "bladegap $*" "$problem"
}

# holds NAME COMMAND ...: the command succeeds.
holds() {
  local name=$1
  shift
  if "$@"; then verdict "$name" ''; else verdict "$name" "does not hold: $*"; fi
}

# narrow FILE: it has lines, and none is longer than 100 columns (but for the paths of files).
narrow() { awk 'length > 100 && !/\/.*\.cfg/ {print; bad = 1} END {exit bad || NR == 0}' "$1"; }

# Nothing half-written anywhere below a folder.
no_parts() { [ -z "$(find "$1" -name '*.part*' -print -quit)" ]; }

finish() {
  printf '%d passed, %d failed\n' "$passed" "$failed"
  [ "$failed" -eq 0 ] && [ "$passed" -gt 0 ]
  exit
}
