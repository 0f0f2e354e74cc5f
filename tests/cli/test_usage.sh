#!/usr/bin/env bash
# The command line itself: help in all forms, unknown words, wrong options.
. "$(dirname "$0")/common.sh"

good '^usage: bladegap COMMAND'
good '^usage: bladegap COMMAND' help
good '^usage: bladegap COMMAND' --help
good '^bladegap [0-9]+\.[0-9]+\.[0-9]+$' --version

commands=$("$program" help --json | jq -r '.commands[].name')
holds 'help --json names the commands' test "$(wc -w <<<"$commands")" -ge 3
for command in $commands; do
  good "^usage: bladegap $command" help "$command"
  good "^usage: bladegap $command" "$command" --help
  holds "help $command fits 100 columns" narrow "$work/.out"
  good "^usage: bladegap $command" "$command" one two three --no-such-option -h
  good '"name": "'"$command"'"' help "$command" --json
  bad 64 "$command has no option --josn; did you mean --json\?" "$command" --josn
  bad 64 "$command has no option --js; did you mean --json\?" "$command" --js
  bad 64 "$command has no option -x" "$command" -x
  bad 64 "--quiet takes no value: '--quiet=yes'" "$command" --quiet=yes
done

bad 64 "there is no command 'lst'; did you mean list\?" lst
bad 64 "there is no command 'zzzzzzzz' \(" zzzzzzzz
bad 64 "there is no command ''" ''
bad 64 "there is no command 'lst'; did you mean list\?" help lst
bad 64 "'--quiet' before the command" --quiet list channels
bad 64 'list: KIND is missing' list
bad 64 "list: 'two' is one too many" list channels two
bad 64 "'chanels' is none of .*channels.*did you mean channels\?" list chanels
bad 64 'check: FILE ... is missing' check
bad 64 'only one of --man' help --man --completion bash
bad 64 "'fish' is none of bash, zsh" help --completion fish

# the manual page: roff must find no fault with it
run help --man
cp "$work/.out" "$work/bladegap.1"
holds 'manual page without a warning' test -z "$(groff -man -ww -Tutf8 -z "$work/bladegap.1" 2>&1)"
for command in $commands; do
  holds "manual page has $command" grep -q "^\.SS $command" "$work/bladegap.1"
done
holds 'manual page has every exit code' test "$(sed -n '/^\.SH EXIT STATUS/,/^\.SH ENV/p' "$work/bladegap.1" | grep -c '^\.B ')" \
  -eq "$("$program" list exit-codes --json | jq '."exit-codes" | length')"

# The manual page says of each command what its help says, word for word: options, ranges, choices, details.
if command -v mandoc >/dev/null; then
  holds 'manual page without a remark of mandoc' test -z "$(mandoc -T lint "$work/bladegap.1" 2>&1)"
fi
groff -K utf8 -man -Tascii -rLL=2000n -P-cbou "$work/bladegap.1" >"$work/page"
for command in $commands; do
  "$program" help "$command" --json | jq -r '.commands[0] | .text, (.options[] | "--" + .name + (if .argument then " " + .argument else "" end), .text)' |
    tr -s ' ' | tr -d '\047\140' >"$work/wanted"
  awk -v name="$command" '/^   [a-z]/ {inside = $1 == name} inside || /^OPTIONS/ {print} /^OPTIONS/ {inside = 1} /^EXIT/ {exit}' "$work/page" |
    tr -s ' ' | tr -d '\047\140' | tr '\n' ' ' >"$work/section"
  missing=$(while IFS= read -r line; do grep -qF -- "$line" "$work/section" || printf '%s; ' "$line"; done <"$work/wanted")
  holds "manual page says of $command what its help does" test -z "$missing"
done

# Completion: the functions as a shell calls them. On a terminal with the tab key: completion.py.
"$program" help --completion bash >"$work/completion"
holds 'completion is good bash' bash -n "$work/completion"
if command -v zsh >/dev/null; then
  "$program" help --completion zsh >"$work/_bladegap"
  holds 'completion is good zsh' zsh -n "$work/_bladegap"
fi
complete_words() { # the words so far; prints what is offered for the last
  bash -c '. "$1"; shift; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _bladegap; echo "${COMPREPLY[*]}"' _ "$work/completion" "$@"
}
holds 'completes a command' test "$(complete_words bladegap lis)" = list
holds 'completes a kind' test "$(complete_words bladegap list chan)" = channels
holds 'completes an option' test "$(complete_words bladegap check --js)" = --json
holds 'leaves file names to the shell' test -z "$(complete_words bladegap check mod)"
finish
