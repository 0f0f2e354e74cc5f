#!/usr/bin/env python3
"""Compares cars of the alien garage (cases.py) before and after, as lists of readings, without a card.

    /usr/bin/python3 tests/alien/compare_cars.py build/bladegap --cars 4

Each car that runs is compared three ways: its fault mended (before: with it; after: its own good readings), its fault come (the other way
round), and with itself. Truth: which of the two has the fault. Only the first may be called repaired, or improved with the relearn open:
of the others at most 2 % (exit status 1 if more are)."""
import argparse
import collections
import json
import os
import subprocess
import sys
import tempfile

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import cases  # noqa: E402

FALSE = 0.02
GOOD = ("repaired", "improved_relearn_open")


def write(path, read):
    with open(path, "w", encoding="ascii") as file:
        file.write("name,condition,value\n")
        file.writelines(f"{key},{condition},{value:.6g}\n" for (condition, key), value in read.items())


def verdict(program, before, after):
    done = subprocess.run([program, "compare", before, after, "--json", "--quiet"], capture_output=True, text=True, check=False)
    return json.loads(done.stdout)["verdict"]


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("program")
    parser.add_argument("--cars", type=int, default=4)
    args = parser.parse_args()
    program, counts = os.path.abspath(args.program), collections.defaultdict(collections.Counter)
    with tempfile.TemporaryDirectory() as folder:
        bad, good = os.path.join(folder, "bad.csv"), os.path.join(folder, "good.csv")
        for kind in cases.KINDS:
            for case in cases.make(kind, args.cars, 1)[1]:
                if not case["runs"]:
                    continue
                write(bad, case["read"]["faulty"])
                write(good, case["read"]["own"])
                group = case["cause"] if case["cause"] in ("film", "nothing") else "another fault"
                for what, before, after in (("mended", bad, good), ("come", good, bad), ("itself", bad, bad)):
                    counts[f"{group}, {what}"][verdict(program, before, after)] += 1
    wrong = total = 0
    for what, verdicts in sorted(counts.items()):
        print(f"{what}: {dict(verdicts)}")
        if what.endswith(("come", "itself")) or what.startswith("nothing"):
            wrong += sum(verdicts[name] for name in GOOD)
            total += sum(verdicts.values())
    print(f"called mended and not: {wrong} of {total}")
    return 1 if wrong > FALSE * total else 0


if __name__ == "__main__":
    sys.exit(main())
