"""A lesson's file and its results, read and computed anew: shares no code with the program. The truth of every number is what `bladegap settle`,
`bladegap run` and `bladegap estimate` print for the same engine and settings."""
import csv
import json
import math
import os
import re
import subprocess

CODE = re.compile(r"P\d{4}$")


class Block:
    def __init__(self, kind, second, line):
        self.kind, self.second, self.line, self.fields = kind, second, line, []

    def all(self, key):
        return [value for name, value in self.fields if name == key]

    def one(self, key):
        values = self.all(key)
        return values[0] if values else None


def read(path):
    """Blocks, and the lines of text between them."""
    blocks, prose, block, other = [], [], None, False
    for number, line in enumerate(open(path, encoding="utf-8"), 1):
        line = line.rstrip("\n")
        if block is None and not other:
            match = re.match(r"```([a-z]+) ?([a-z0-9-]*)$", line)
            if match and match[1] != "text":
                block = Block(match[1], match[2], number)
            elif line.startswith("```"):
                other = True
            else:
                prose.append((number, line))
        elif line == "```":
            if block:
                blocks.append(block)
            block, other = None, False
        elif block and line.startswith(" ") and block.fields:
            key, value = block.fields[-1]
            block.fields[-1] = (key, value + " " + line.strip())
        elif block and line and not line.startswith("#"):
            key, value = line.split("=", 1)
            block.fields.append((key.strip(), value.strip()))
    return blocks, prose


class Columns(dict):
    """Columns of a CSV, turned into numbers when they are asked for."""

    def __init__(self, heads, rows):
        super().__init__()
        self.heads, self.all = heads, rows

    def __missing__(self, head):
        at = self.heads.index(head)
        self[head] = [math.nan if row[at] == "" else float(row[at]) for row in self.all]
        return self[head]


class Results:
    """What the blocks of a lesson compute, by the program's other commands."""

    kept = {}  # by command line: lessons share runs

    def __init__(self, program, blocks, folder):
        self.program, self.folder, self.blocks = program, folder, {}
        for block in blocks:
            if block.kind in ("run", "settle", "sweep", "estimate"):
                self.blocks[block.second] = block

    def call(self, *words):
        if words not in self.kept:
            done = subprocess.run([self.program, *words], capture_output=True, text=True)
            assert done.returncode == 0, (words, done.stderr)
            self.kept[words] = json.loads(done.stdout)
        return self.kept[words]

    def options(self, block):
        words = []
        for key, value in block.fields:
            if key in ("set", "scale", "freeze", "seed", "stale-learned"):
                words += ["--" + key, value]
            if key == "engine-off":
                words += ["--engine-off"]
        return words

    def settled(self, name, *more):
        block = self.blocks[name]
        return self.call("settle", block.one("engine"), *self.options(block), *more, "--all", "--json", "--quiet")

    def swept(self, name):
        block = self.blocks[name]
        told = self.call("sweep", block.one("engine"), "--vary", block.one("vary"), *self.options(block), "--format", "none", "--out",
                         os.path.join(self.folder, "sweep-" + name), "--json", "--quiet")
        return Columns(told["columns"], [["" if cell is None else cell for cell in row] for row in told["rows"]])

    def run(self, name):
        block = self.blocks[name]
        words = ("run", block.one("scenario"), *self.options(block))
        if words not in self.kept:
            out = os.path.join(self.folder, "run%d" % len(self.kept))
            told = self.call(*words, "--solver", "fast", "--out", out, "--format", "none", "--json", "--quiet")
            with open(os.path.join(out, "run.csv"), encoding="utf-8") as file:
                rows = list(csv.reader(line for line in file if not line.startswith("#")))
            heads = [re.sub(r" ?\[.*\]$", "", head) for head in rows[0]]
            columns = Columns(heads, rows[1:])
            self.kept[words] = (told, columns)
        return self.kept[words]

    def estimated(self, name):
        block = self.blocks[name]
        words = ["estimate", block.one("engine"), *self.options(block)]
        for of in [block.one("of")] if block.one("of") else []:
            point = self.settled(of)
            for reading in block.one("read").replace(",", " ").split():
                words += ["--reading", "%s=%r@idle" % (reading, point[reading])]
        for reading in block.all("reading"):
            words += ["--reading", reading]
        assert not block.one("baseline"), "baselines are not computed anew yet"
        return self.call(*words, "--trust", "--json", "--quiet")

    # ---- what an expression asks for ----

    def rows(self, name, what):
        if self.blocks[name].kind == "run":
            columns = self.run(name)[1]
            return columns["time_s"], columns[what]
        columns = self.swept(name)
        return columns[columns.heads[0]], columns[what]

    def code(self, name, code, state=None):
        if self.blocks[name].kind == "settle":
            return 0.0 if code in [word for word in self.settled(name)["codes"]] else math.nan
        for one in self.run(name)[0]["codes"]:
            if one["code"] == code and (state is None or one["state"] == state):
                return one["time_s"]
        return math.nan

    def value(self, name, what, at=None):
        kind = self.blocks[name].kind
        if kind == "estimate":
            told = self.estimated(name)
            if what.startswith("film_"):
                return told["film_um"][what[5:]]
            cause = what[2:]
            return 100 * sum(one["probability"] for one in told["causes"] if one["name"] == cause or one["name"].startswith(cause + " and")
                             or one["name"].endswith(" and " + cause) or one["name"].startswith(cause + ", "))
        if CODE.match(what):
            return self.code(name, what)
        if kind == "settle":
            point = self.settled(name)
            return point[what] if what in point else self.of_engine(name, what)
        places, values = self.rows(name, what)
        if at is None:
            return values[-1]
        return [value for place, value in zip(places, values) if place <= at + 1e-6][-1]

    def of_engine(self, name, key):
        """A number of the engine's file."""
        block = self.blocks[name]
        with open(os.path.join("models", block.one("engine") + ".cfg"), encoding="utf-8") as file:
            return float(re.search(r"\b%s = ([-0-9.]+)" % key, file.read())[1])

    def part(self, how, name, what, low=-math.inf, high=math.inf):
        places, values = self.rows(name, what)
        inside = [value for place, value in zip(places, values) if low - 1e-6 <= place <= high + 1e-6 and not math.isnan(value)]
        return {"mean": sum(inside) / len(inside), "min": min(inside), "max": max(inside)}[how]

    def when(self, name, what, sign, level, since=-math.inf):
        places, values = self.rows(name, what)
        for place, value in zip(places, values):
            if place >= since and (value < level if sign == "<" else value > level):
                return place
        return math.nan

    def stalls(self, name):
        if self.blocks[name].kind == "settle":
            return float(self.settled(name)["outcome"] == "stalls")
        return float(any("stall" in json.dumps(one) for one in self.run(name)[0]["events"]))

    def evaluate(self, text):
        """An expression of a lesson, as Python would have it."""
        ref = r"([a-z][a-z0-9-]*)\.(\w+)"
        text = re.sub(r"when\(%s *([<>]) *(-?[\d.]+)(?:, *([\d.]+))?\)" % ref,
                      lambda m: "R.when(%r,%r,%r,%s%s)" % (m[1], m[2], m[3], m[4], "," + m[5] if m[5] else ""), text)
        text = re.sub(r"\b(mean|min|max)\(%s(?:@([\d.]+?)\.\.([\d.]+))?\)" % ref,
                      lambda m: "R.part(%r,%r,%r%s)" % (m[1], m[2], m[3], ",%s,%s" % (m[4], m[5]) if m[4] else ""), text)
        text = re.sub(r"\bset\(%s\)" % ref, lambda m: "float(R.code(%r,%r) == R.code(%r,%r))" % (m[1], m[2], m[1], m[2]), text)
        text = re.sub(r"\bconfirmed\(%s\)" % ref, lambda m: "float(not math.isnan(R.code(%r,%r,'confirmed')))" % (m[1], m[2]), text)
        text = re.sub(r"\bstalls\(([a-z0-9-]+)\)", lambda m: "R.stalls(%r)" % m[1], text)
        done = re.split(r"(R\.\w+\([^)]*\)|float\(.*?\)\)?)", text)
        for i in range(0, len(done), 2):
            done[i] = re.sub(ref + r"(?:@([\d.]+))?", lambda m: m[0] if m[1] == "math" else "R.value(%r,%r%s)" % (m[1], m[2], "," + m[3] if m[3] else ""), done[i])
        text = "".join(done).replace("true", "True").replace("false", "False")
        return eval(text, {"R": self, "math": math, "abs": abs, "float": float})  # our own lessons, no one else's
