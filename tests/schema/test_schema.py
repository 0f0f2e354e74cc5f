#!/usr/bin/python3
"""test_schema.py PROGRAM [all]: what each command prints as JSON has the shape that docs/schema promises (JSON Schema, draft 2020-12).

Truth: the schemas, which a reader writes programs against; validated by python3-jsonschema, which shares nothing with the program. Every
schema is used by some case. Would it notice? A key that nobody told of and a number made a word are put into each result, and must be refused.
"""
import copy
import json
import os
import subprocess
import sys
import tempfile

from jsonschema import Draft202012Validator

PROGRAM, WHOLE = os.path.abspath(sys.argv[1]), "all" in sys.argv[2:]
HERE = os.path.dirname(os.path.abspath(__file__))
FOLDER = os.path.join(HERE, "..", "..", "docs", "schema")


def schemas():
    found = {}
    for name in sorted(os.listdir(FOLDER)):
        if name.endswith(".json"):
            with open(os.path.join(FOLDER, name), encoding="utf-8") as file:
                schema = json.load(file)
            Draft202012Validator.check_schema(schema)
            found[name[:-5]] = Draft202012Validator(schema)
    return found


def cases():
    with open(os.path.join(HERE, "cases.txt"), encoding="utf-8") as file:
        for line in file:
            words = line.split()
            if not words or words[0] == "#":
                continue
            if words[0] == "+":
                if not WHOLE:
                    continue
                words.pop(0)
            yield words[0], words[1:]


def prepare(work):
    for part in ("1", "2"):
        subprocess.run([PROGRAM, "sweep", "four-16", "--vary", "film_um=0:80:20", "--shard", part + "/2", "--format", "none", "--quiet",
                        "--out", os.path.join(work, part)], check=True, stdout=subprocess.DEVNULL)
    with open(os.path.join(work, "broken.csv"), "w", encoding="utf-8") as file:
        file.write("Time (s),RPM\n0,x\n")
    for name in ("open", "answered"):  # practice cases
        subprocess.run([PROGRAM, "practice", "open", "--seed", "7", "--engine", "four-16", "--out", f"{work}/{name}.txt", "--quiet"], check=True)
    subprocess.run([PROGRAM, "practice", "measure", f"{work}/answered.txt", "data_stream@idle", "--careful"], check=True, capture_output=True)
    subprocess.run([PROGRAM, "practice", "answer", f"{work}/answered.txt", "film", "60", "clean_bore", "--careful"], check=True)


def first_number(value, path=()):
    """Path of the first number in it, or None."""
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in items:
        if isinstance(inner, (int, float)) and not isinstance(inner, bool):
            return path + (key,)
        found = first_number(inner, path + (key,))
        if found:
            return found
    return None


def lies(result):
    """The same result, each with something wrong."""
    extra = copy.deepcopy(result)
    extra["nobody_told_of_this"] = 1
    yield extra
    path = first_number(result)
    if path:
        wrong = copy.deepcopy(result)
        place = wrong
        for key in path[:-1]:
            place = place[key]
        place[path[-1]] = "a word"
        yield wrong


def main():
    known, used, wrong = schemas(), set(), 0
    with tempfile.TemporaryDirectory() as work:
        prepare(work)
        for name, words in cases():
            command = [word.replace("WORK", work) for word in words]
            ran = subprocess.run([PROGRAM, *command, "--json"], stdin=subprocess.DEVNULL, capture_output=True, check=False)
            used.add(name)
            if name not in known:
                print(f"docs/schema/{name}.json is missing: bladegap {' '.join(words)}")
                wrong += 1
                continue
            try:
                result = json.loads(ran.stdout)
            except ValueError as error:
                print(f"bladegap {' '.join(words)}: no JSON: {error}\n{ran.stderr.decode(errors='replace')[:500]}")
                wrong += 1
                continue
            faults = list(known[name].iter_errors(result))
            for fault in faults[:5]:
                print(f"bladegap {' '.join(words)}: {'/'.join(map(str, fault.absolute_path)) or 'top'}: {fault.message[:200]}")
            wrong += len(faults)
            for number, lie in enumerate(lies(result)):
                if known[name].is_valid(lie):
                    print(f"docs/schema/{name}.json lets lie {number} pass: bladegap {' '.join(words)}")
                    wrong += 1
    for name in sorted(set(known) - used):
        print(f"docs/schema/{name}.json: no case uses it")
        wrong += 1
    print(f"{len(used)} schemas, {wrong} wrong")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
