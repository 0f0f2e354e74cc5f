#!/usr/bin/env python3
"""test_lessons.py PROGRAM [--all] [LESSON ...]: every lesson of docs/lessons in the instructor's edition; the answers, claims and numbers of every third
computed anew, and the other editions of two; with --all of all.

Truth: the answers are computed anew (lesson_file.py) from what the program's other commands print; HTML Tidy says whether a page is valid; that the students'
edition holds no answer is shown by changing all the answers: not a byte of it may change."""
import glob
import html
import os
import re
import shutil
import subprocess
import sys
import tempfile

from lesson_file import Results, read

faults = []


def fault(path, text):
    faults.append("%s: %s" % (path, text))


def build(program, path, out, *options):
    done = subprocess.run([program, "lesson", path, "--out", out, "--without-live", "--quiet", *options], capture_output=True, text=True)
    if done.returncode or done.stderr:
        fault(path, "%s: exit %d, %s" % (" ".join(options), done.returncode, done.stderr.strip()))
        return ""
    with open(out, encoding="utf-8") as file:
        return file.read()


def plain(page):
    page = re.sub(r"<style>.*?</style>", "", page, flags=re.S)
    page = re.sub(r"<(?=/?(p|t[dhr]|li|text|h\d|div|figcaption))", " <", page)
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", "", page)))


def check_valid(path, out):
    """Warnings of tidy count; a missing tidy is told by the caller."""
    done = subprocess.run(["tidy", "-e", "-q", out], capture_output=True, text=True)
    if done.returncode or done.stderr:
        fault(path, "%s is not valid: %s" % (out, done.stderr.strip()[:300]))


def near(printed, value, decimals):
    return abs(printed - value) <= 0.5 * 10 ** -decimals * 1.02 + 1e-9 * abs(value)


def check_answers(path, blocks, results, key):
    questions = re.findall(r'<div class="question">\n(.*?)</div>', key, flags=re.S)
    asked = [block for block in blocks if block.kind == "question"]
    if len(asked) != len(questions):
        return fault(path, "%d questions, %d on the page" % (len(asked), len(questions)))
    for block, text in zip(asked, questions):
        options = [one.split("::") for one in block.all("option")]
        if options:
            right = [i for i, (_, condition) in enumerate(options) if results.evaluate(condition.strip())]
            marked = [i for i, one in enumerate(re.findall(r"<li>(.*?)</li>", text)) if 'class="right"' in one]
            if right != marked or len(right) != 1:
                fault(path, "line %d: option %s is right, %s is marked" % (block.line, right, marked))
        if block.second == "number":
            answer = results.evaluate(block.one("answer"))
            told = float(re.search(r'data-answer="([^"]+)"', text)[1])
            if abs(told - answer) > 1e-4 * max(1.0, abs(answer)):
                fault(path, "line %d: the answer is %.6g, the key has %.6g" % (block.line, answer, told))
            words = re.search(r'data-tolerance="[^"]*"><b>([^ ]+)', text)[1].replace("\u2212", "-")
            if not near(float(words), answer, int(block.one("decimals"))):
                fault(path, "line %d: the key prints %s for %.6g" % (block.line, words, answer))
    return None


def check_claims(path, blocks, results):
    for block in blocks:
        for claim in block.all("claim"):
            if not results.evaluate(claim.split("::")[0].strip()):
                fault(path, "line %d: this does not hold: %s" % (block.line, claim))


def is_printed(word, value):
    word = word.replace("\u2212", "-")
    return near(float(word), value, len(word.partition(".")[2]))


def check_row(path, line, text, results, key):
    """A row of a table: the row of the page that begins with its first cell."""
    cells, count = [cell.strip() for cell in text.split("|")], 0
    rows = [re.findall(r"<td>(.*?)</td>", row) for row in re.findall(r"<tr>(.*?)</tr>", key)]
    rows = [row for row in rows if row and html.unescape(row[0]) == cells[0] and len(row) == len(cells)]
    for i, cell in enumerate(cells):
        match = re.match(r"\{\{(.*?)(:\d)?\}\}$", cell)
        if not match or match[1].endswith((".codes", ".outcome")):
            continue
        value = results.evaluate(match[1].strip())
        if not any(is_printed(row[i], value) for row in rows):
            fault(path, "line %d: %s is %.6g, the table has %s" % (line, cell, value, [row[i] for row in rows]))
        count += 1
    return count


def check_numbers(path, texts, results, key):
    """Every number in {{ }} as it is printed behind the words before it."""
    page, count = plain(key), 0
    for line, text, name in texts:
        if name == "row":
            count += check_row(path, line, text, results, key)
            continue
        parts = re.split(r"\{\{(.*?)\}\}", text)
        for i in range(1, len(parts), 2):
            expression = parts[i].partition(":")[0].strip()
            if re.search(r"\.(codes|outcome|headline)\b", expression):
                continue
            value = results.evaluate(expression)
            before = re.sub(r"[*`]", "", parts[i - 1])[-14:]
            number = re.compile(re.sub(r"(\\ )+", r"\\s*", re.escape(before)) + r"\s*(\u2212?\d+(?:\.\d+)?)")
            printed = number.findall(page)
            if not any(is_printed(one, value) for one in printed):
                fault(path, "line %d: {{%s}} is %.6g, printed is %s after '%s'" % (line, parts[i], value, printed[:4], before))
            count += 1
    return count


def without_answers(path, source):
    """The same lesson with every answer changed."""
    out, kind, options, skipping = [], "", [], ""
    for line in source.split("\n"):
        if line.startswith("```"):
            kind = line[3:].split(" ")[0] if len(line) > 3 else ""
            if options and not kind:  # the next option is right now
                conditions = [condition for _, condition in options]
                for (text, _), condition in zip(options, conditions[1:] + conditions[:1]):
                    out.append("option = %s :: %s" % (text, condition))
                options = []
        if kind in ("say", "check") and "=" in line and not line.startswith(" "):
            line = "point = other" if kind == "say" else "claim = true :: other"
        key = re.match(r"([a-z]+) *=", line)
        if not line.startswith(" "):
            skipping = ""
        if kind in ("say", "check") and line.startswith(" "):
            continue
        if kind == "question" and key and key[1] in ("why", "model", "point", "answer", "option"):
            skipping = key[1]
            if key[1] == "option":
                options.append([part.strip() for part in line.partition("=")[2].split("::")])
            else:
                out.append(key[0] + (" 4711.25" if key[1] == "answer" else " other words"))
            continue
        if skipping and line.startswith(" "):
            if skipping == "option":  # it goes on
                options[-1] = [part.strip() for part in (" :: ".join(options[-1]) + " " + line.strip()).split("::")]
            continue
        out.append(line)
    return "\n".join(out)


def check_students(program, path, folder, students):
    with open(path, encoding="utf-8") as file:
        changed = without_answers(path, file.read())
    other = os.path.join(folder, os.path.basename(path))
    with open(other, "w", encoding="utf-8") as file:
        file.write(changed)
    if build(program, other, other + ".html") != students:
        fault(path, "the students' edition changes with the answers: it holds some of them")
    for word in ("data-answer", 'class="right"', 'class="say"', 'class="why"'):
        if word in students.partition("</style>")[2]:
            fault(path, "the students' edition has %s" % word)


def check_notices(path, blocks, texts, results, key):
    """Would it notice? A key whose answers, marks and numbers are altered must be found wrong."""
    alter = {"answer": lambda page: re.sub(r'data-answer="([-\d.]+)"', lambda m: 'data-answer="%g"' % (float(m[1]) * 1.1 + 1), page),
             "mark": lambda page: re.sub('<li>(.*?)</li>\n<li><b class="right">(.*?) \u2713</b></li>',
                                         lambda m: '<li><b class="right">%s \u2713</b></li>\n<li>%s</li>' % (m[1], m[2]), page),
             "number": lambda page: re.sub(r"(\d)\.(\d)", lambda m: "%s.%d" % (m[1], (int(m[2]) + 5) % 10), page)}
    for what, function in alter.items():
        altered, before = function(key), len(faults)
        check_answers(path, blocks, results, altered)
        check_numbers(path, texts, results, altered)
        found = len(faults) - before
        del faults[before:]
        if altered == key or found == 0:
            fault(path, "an altered %s is not noticed" % what)


def check(program, path, folder, computed, whole):
    stem = os.path.join(folder, os.path.basename(path)[:-3])
    editions = [("-key", ("--key",))] + ([("", ()), ("-slides", ("--slides",))] if whole else [])
    pages = [build(program, path, stem + name + ".html", *options) for name, options in editions]
    if not all(pages):
        return
    for (name, _), page in zip(editions, pages):
        check_valid(path, stem + name + ".html")
        if re.search(r'(src|href)="(?!#)', page) or "@import" in page or "url(" in page:
            fault(path, "a page that needs something from outside")
        if "{{" in page or re.search(r"\bnan\b", page):
            fault(path, "a value that was not filled")
    if not computed:
        return
    blocks, prose = read(path)
    results = Results(program, blocks, folder)
    check_answers(path, blocks, results, pages[0])
    check_claims(path, blocks, results)
    texts = [(line, text, "") for line, text in prose]
    texts += [(block.line, value, key) for block in blocks if block.kind != "live" for key, value in block.fields
                     if key in ("ask", "why", "model", "point", "caption", "row")]
    if check_numbers(path, texts, results, pages[0]) < 3:
        fault(path, "hardly a number in it is computed")
    if path.endswith("02-choked-flow.md"):
        check_notices(path, blocks, texts, results, pages[0])
    if whole:
        check_students(program, path, folder, pages[1])


def main():
    program, words = os.path.realpath(sys.argv[1]), [word for word in sys.argv[2:] if word != "--all"]
    paths, every = words or sorted(glob.glob("docs/lessons/*.md")), "--all" in sys.argv or bool(words)
    if not shutil.which("tidy"):
        sys.exit("tidy is missing: apt-get install tidy")
    folder = tempfile.mkdtemp()
    try:
        for i, path in enumerate(paths):
            check(program, path, folder, every or i % 3 == 1, every or i % 6 == 1)
    finally:
        shutil.rmtree(folder)
    for line in faults:
        print(line)
    print("%d lessons, %d faults" % (len(paths), len(faults)))
    sys.exit(bool(faults) or (not words and len(paths) < 5))


if __name__ == "__main__":
    main()
