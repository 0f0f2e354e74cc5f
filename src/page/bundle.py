#!/usr/bin/env python3
"""bundle.py OUT.html MODULE.wasm PROGRAM: the page in one file, from the sources beside this script.

What a source asks for is put in here, and a request that cannot be met ends the build:
  PHYSICS('words')   number, section and text of the line of docs/physics.md that has these words
  CAUTION(name)      the full caution of src/car/caution.h
PROGRAM is the program of this machine: it turns scenarios into records."""
import base64
import gzip
import json
import pathlib
import re
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parent
TOP = HERE.parent.parent
SCRIPTS = ["core.js", "inflate.js", "bench.js", "worker.js"]
PAGE_SCRIPTS = ["texts.js", "base.js", "begin.js", "sections.js", "gap.js", "charts.js", "reasons.js", "codes.js", "bench_tests.js", "sound.js", "controls.js", "readings.js", "files.js", "paper.js", "practice.js",
                "show.js", "keys.js", "page.js"]  # not in the worker
SIZE_MOST = 500_000


def physics_line(words):
    section = ""
    for number, line in enumerate((TOP / "docs/physics.md").read_text().splitlines(), 1):
        if line.startswith("#"):
            section = line.lstrip("# ")
        if words in line:
            return json.dumps({"number": number, "section": section, "text": line.strip()}, ensure_ascii=False)
    sys.exit(f"docs/physics.md has no line with: {words}")


def cautions():
    """The full text of each caution: the last text of its row."""
    source = (TOP / "src/car/caution.h").read_text().replace("\\\n", "\n")
    rows = {}
    for name, body in re.findall(r"\bCAUTION\((\w+),\s*(?:[\w| ]+),[^\"]*?((?:\"(?:[^\"\\]|\\.)*\"[\s,]*)+)\)", source):
        full = re.split(r"\"\s*,\s*\"", body.strip(), maxsplit=1)[1]
        rows[name] = re.sub(r"\"\s*\"", "", '"' + full).strip().strip('"')
    return rows


def script():
    known = cautions()
    parts = [(HERE / name).read_text().replace("'use strict';\n", "") for name in SCRIPTS]
    page = "\n".join((HERE / name).read_text().replace("'use strict';\n", "") for name in PAGE_SCRIPTS)
    page = re.sub(r"PHYSICS\('([^']*)'\)", lambda m: physics_line(m[1]), page)
    page = re.sub(r"CAUTION\((\w+)\)", lambda m: json.dumps(known[m[1]], ensure_ascii=False), page)
    # A worker is given the same text, and stops before the page begins.
    text = "'use strict';\n" + "\n".join(parts) + "\nif (typeof document !== 'undefined') (() => {\n" + page + "\n})();\n"
    return text.replace("</script", "<\\/script")


def records(program):
    """Every shipped scenario that is a record of a shipped engine, by name."""
    found = []
    with tempfile.TemporaryDirectory() as work:
        for path in sorted((TOP / "scenarios").glob("*.cfg")):
            out = pathlib.Path(work) / path.stem
            subprocess.run([program, "run", path, "--record", "--format", "none", "--quiet", "--out", out], check=True,
                           stdout=subprocess.DEVNULL)
            record = (out / "record.txt").read_text()
            record = re.sub(r"^(bladegap-record \d+) (?:.*/)?([^/\s]+?)(?:\.cfg)?$", r"\1 \2", record, count=1, flags=re.M)
            title = re.search(r"^start title (.*)$", record, re.M)
            found.append({"name": path.stem, "title": title[1] if title else path.stem, "record": record})
    return found


def main(out, module, program):
    data = json.dumps({"begin": "", "scenarios": records(program)}).replace("<", "\\u003c")
    packed = base64.b64encode(gzip.compress(pathlib.Path(module).read_bytes(), 9, mtime=0)).decode()
    page = (HERE / "page.html").read_text()
    embed = (HERE / "embed.js").read_text().replace("'use strict';\n", "")
    for mark, text in (("@@EMBED@@", embed), ("@@STYLE@@", (HERE / "page.css").read_text()), ("@@MODULE@@", packed), ("@@DATA@@", data), ("@@SCRIPT@@", script())):
        page = page.replace(mark, text)
    size = len(page.encode())
    if size > SIZE_MOST:
        sys.exit(f"the page has {size} bytes, more than {SIZE_MOST}")
    pathlib.Path(out).write_text(page)
    print(f"{out}: {size} bytes")


if __name__ == "__main__":
    if len(sys.argv) != 4:
        sys.exit(__doc__)
    main(*sys.argv[1:])
