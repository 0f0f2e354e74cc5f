#!/usr/bin/env bash
# Results that cannot reach stdout: full disk, closed stdout, a reader that goes away.
. "$(dirname "$0")/common.sh"

full_disk() { "$program" "$@" >/dev/full 2>"$work/.err"; }
closed() { "$program" "$@" >&- 2>"$work/.err"; }
reader_gone() { # the sleep lets the reader end first
  { sleep 0.1; "$program" "$@" 2>"$work/.err"; } | true
  return "${PIPESTATUS[0]}"
}

# lost HOW PATTERN ARG ...: exit 74 and the message; with an empty pattern, no message
lost() {
  local how=$1 pattern=$2 problem
  shift 2
  out=
  "$how" "$@"
  code=$?
  err=$(cat "$work/.err")
  problem=$(common_problem)
  [ -n "$problem" ] || [ "$code" -eq 74 ] || problem="exit code should be 74"
  [ -n "$problem" ] || [ -z "$pattern" ] || grep -qE "$pattern" <<<"$err" || problem="stderr should match '$pattern'"
  [ -n "$problem" ] || [ -n "$pattern" ] || [ -z "$err" ] || problem="stderr should be empty"
  verdict "$how: bladegap $*" "$problem"
}
for arguments in 'list channels' 'list parameters --json' 'help' 'help --man' 'help --completion bash' 'help --completion zsh' '--version' \
  'check models/four-16.cfg'; do
  # shellcheck disable=SC2086 # words on purpose
  for how in full_disk closed; do lost $how '^bladegap: stdout: cannot write' $arguments; done
  # shellcheck disable=SC2086
  lost reader_gone '' $arguments
done
lost full_disk 'No space left on device' list solvers
lost closed 'Bad file descriptor' list solvers

# nothing to say: closed stdout is no fault
code=0 out= err=
"$program" check models/four-16.cfg --quiet >&- || code=$?
holds 'a quiet check needs no stdout' test "$code" -eq 0
"$program" lst >&- 2>&- </dev/null || code=$?
holds 'all three closed: still the exit code' test "$code" -eq 64
finish
