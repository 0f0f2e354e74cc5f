#!/usr/bin/env bash
# lesson: what it writes, and what it refuses. Truth: docs/lessons.md; the lessons themselves are tests/lessons/test_lessons.py's.
. "$(dirname "$0")/common.sh"

# lesson_of NAME: a small lesson from stdin, behind a title and a head; line 7 is the first of what comes in.
lesson_of() {
  { printf '# Small\n\n```lesson\nminutes = 20\naim = see\nagainst = nothing\n```\n'; cat; } >"$work/$1.md"
}
lesson_bad() { # line of the fault, pattern, name
  bad 78 "$3.md:$1: .*$2" lesson "$work/$3.md" --out "$work/$3.html"
  holds "$3: nothing half-written" [ ! -e "$work/$3.html" ]
}
points='```settle clean
engine = four-16
```

```settle filmed
engine = four-16
set = film_um=60
label = 60 µm & <more>
```'

lesson_of good <<E2
$points

## Part
The idle is {{filmed.speed_rpm:1}} rpm, {{clean.speed_rpm - filmed.speed_rpm}} low: {{filmed.outcome}}. \`{{left alone}}\`

\`\`\`question number
ask = How low?
answer = clean.speed_rpm - filmed.speed_rpm
unit = rpm
decimals = 0
tolerance = 5 %
why = Secretword {{filmed.codes}}.
\`\`\`

\`\`\`picture
of = clean filmed
show = speed_rpm
\`\`\`
E2
good 'good.html: open it' lesson "$work/good.md" --out "$work/good.html"
run settle four-16 --set film_um=60 --json
want=$(jq '.speed_rpm * 10 | round / 10' "$work/.out")
holds "a number of the text is the settled point's" grep -q "The idle is $want rpm, .* low: droops. <code>{{left alone}}</code>" "$work/good.html"
holds "words are escaped" grep -q '60 µm &amp; &lt;more&gt;' "$work/good.html"
holds "the picture says its numbers" grep -qE 'aria-label="engine speed: clean 850 rpm, 60 µm' "$work/good.html"
holds "no answer for students" bash -c '! grep -qE "Secretword|data-answer" "$1"' - "$work/good.html"
good . lesson "$work/good.md" --key --out "$work/key.html"
holds "the key has it" grep -q 'Secretword P0505' "$work/key.html"
good . lesson "$work/good.md" --slides --out "$work/slides.html"
holds "a slide for each idea" [ "$(grep -c '<section class="slide">' "$work/slides.html")" -eq 4 ]
holds "slides have no answers" bash -c '! grep -qE "Secretword|data-answer" "$1"' - "$work/slides.html"
bad 64 'two files' lesson "$work/good.md" --key --slides
bad 66 'No such file' lesson "$work/nowhere.md"
bad 73 'cannot|No such' lesson "$work/good.md" --out "$work/no/such/x.html"

# Faults of the file, each with its line.
printf 'No title.\n' >"$work/untitled.md"
lesson_bad 1 'begins with its title' untitled
lesson_of open <<<'```settle clean
engine = four-16'
lesson_bad 8 'never closed' open
lesson_of kind <<<'```settel clean
engine = four-16
```'
lesson_bad 8 "did you mean 'settle'" kind
lesson_of badkey <<<'```settle clean
engin = four-16
```'
lesson_bad 9 "did you mean 'engine'" badkey
lesson_of lacking <<<'```run clean
set = film_um=60
```'
lesson_bad 8 "needs the key 'scenario'" lacking
lesson_of scenario <<<'```run clean
scenario = film-drop
```'
lesson_bad 9 'film-droop' scenario
lesson_of set <<<'```settle clean
engine = four-16
set = flim_um=60
```'
lesson_bad 10 "film_um" set
lesson_of range <<<'```settle clean
engine = four-16
set = film_um=9000
```'
lesson_bad 10 '300' range
lesson_of html <<<'<script>alert(1)</script>'
lesson_bad 8 'raw HTML' html
lesson_of image <<<'![x](http://x/y.png)'
lesson_bad 8 'a lesson cannot contain pictures from files' image
lesson_of nested <<<'* a

  ```settle clean
  engine = four-16
  ```'
lesson_bad 10 'at the margin' nested
lesson_of name <<<"$points

The idle is
{{cleen.speed_rpm}} rpm."
lesson_bad 19 "did you mean 'clean'" name
lesson_of channel <<<"$points

{{clean.sped_rpm}}"
lesson_bad 18 "did you mean 'speed_rpm'" channel
lesson_of unclosed <<<"$points

{{clean.speed_rpm"
lesson_bad 18 'without its }}' unclosed
lesson_of codeless <<<"$points

{{clean.P0506}}"
lesson_bad 18 'never set' codeless
lesson_of lie <<<"$points

\`\`\`check
claim = filmed.speed_rpm > clean.speed_rpm :: The film makes it faster.
\`\`\`"
lesson_bad 19 'The film makes it faster.* is not true' lie
lesson_of two <<<"$points

\`\`\`question choice
ask = Which?
option = one :: true
option = other :: filmed.speed_rpm < clean.speed_rpm
why = x
\`\`\`"
lesson_bad 18 'conditions of 2 hold' two
lesson_of deep <<<"$points

{{$(printf '(%.0s' $(seq 60))1}}"
lesson_bad 18 'too many brackets' deep
printf '# x\0y\n' >"$work/zero.md"
bad 78 'not text' lesson "$work/zero.md" --out "$work/zero.html"
head -c 2000000 /dev/zero | tr '\0' 'a' >"$work/long.md"
bad 78 'longer than' lesson "$work/long.md" --out "$work/long.html"

# An engine that stalls is shown and said.
lesson_of stall <<'E2'
```settle dead
engine = four-16
set = film_um=160
label = thick film
```

```picture
of = dead
show = speed_rpm
```
E2
good . lesson "$work/stall.md" --out "$work/stall.html"
holds "a stall is said" grep -q 'class="stall"><b>thick film</b>: the engine does not keep running' "$work/stall.html"

# A live bench: once in the page, however many there are; refused where it has not been built.
lesson_of live <<'E2'
```live
scenario = film-droop
at = 30
title = First
```

```live
scenario = film-droop
set = film_um=20
title = Second
```
E2
mkdir "$work/data"
ln -s "$PWD/models" "$PWD/scenarios" "$work/data"
printf '<html><script id="x">{"begin": ""}</script><script type="text/plain" id="embed">x</script></html>' >"$work/data/bladegap.html"
export BLADEGAP_DATA=$work/data
good . lesson "$work/live.md" --out "$work/live.html"
holds "two benches" [ "$(grep -o 'class="bladegap"' "$work/live.html" | wc -l)" -eq 2 ]
holds "each has its record" grep -q 'bladegap-record' "$work/live.html"
good . lesson "$work/live.md" --out "$work/without.html" --without-live
holds "none without" bash -c 'grep -q "a live bench belongs here" "$1" && ! grep -q bladegap-record "$1"' - "$work/without.html"
good "good.md: good .lesson." check "$work/good.md"
bad 78 "lie.md:19: .*is not true" check "$work/lie.md"
finish
