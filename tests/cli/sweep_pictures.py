"""One sweep of every condition on every engine, settled: each has to give a whole picture, and gnuplot nothing to say.

    sweep_pictures.py PROGRAM FOLDER [--sample N SEED] [--pairs N SEED]

Without an option all conditions (`list faults`) on all engines of models/; --sample draws so many of them at random,
--pairs that many pairs of conditions as well. A sweep that the program refuses with a reason (exit 64, 65, 78: what the engine has not, or
what it will not settle) counts as refused, not as drawn. Truth: a flat line is a picture, so nothing that can be swept may be without one.
"""
import glob
import json
import os
import random
import subprocess
import sys

REFUSED = (64, 65, 78)


def run(program, *words):
    return subprocess.run([program, *words], capture_output=True, text=True)


def conditions_of(program):
    rows = json.loads(run(program, "list", "faults", "--json").stdout)["faults"]
    return {row["name"]: row for row in rows}


def span(row):
    return float(row["min"]), float(row["max"])


def draw(program, folder, engine, rows, points):
    words = ["sweep", engine, "--out", folder, "--quiet", "--threads", "1"]
    for row in rows:
        low, high = span(row)
        words += ["--vary", f"{row['name']}={low:g}:{high:g}:{(high - low) / points:g}"]
    picture = os.path.join(folder, "sweep.png" if len(rows) == 1 else "sweepmap.png")
    for name in os.listdir(folder):
        os.unlink(os.path.join(folder, name))
    done = run(program, *words)
    if done.returncode in REFUSED:
        return "refused", ""
    whole = os.path.exists(picture) and open(picture, "rb").read().endswith(b"IEND\xaeB`\x82")
    if done.returncode == 0 and whole and not done.stderr:
        return "drawn", ""
    return "failed", f"{' '.join(words)}: exit {done.returncode}, picture {whole}: {done.stderr.strip()[:300]}"


def main(words):
    program, folder = os.path.realpath(words[0]), words[1]
    os.makedirs(folder, exist_ok=True)
    rows = conditions_of(program)
    engines = sorted(glob.glob("models/*.cfg"))
    asked = {words[i]: (int(words[i + 1]), int(words[i + 2])) for i in range(2, len(words)) if words[i].startswith("--")}
    singles = [(engine, [row]) for engine in engines for row in rows.values()]
    if "--sample" in asked:
        count, seed = asked["--sample"]
        singles = random.Random(seed).sample(singles, count)
    count, seed = asked.get("--pairs", (0, 0))
    chance = random.Random(seed)
    pairs = [(chance.choice(engines), chance.sample(list(rows.values()), 2)) for _ in range(count)]
    told = {"drawn": 0, "refused": 0, "failed": 0}
    for todo, points in ((singles, 6), (pairs, 7)):
        for engine, chosen in todo:
            outcome, why = draw(program, folder, engine, chosen, points)
            told[outcome] += 1
            if why:
                print(why)
    print(f"{len(rows)} conditions, {len(engines)} engines: {told['drawn']} drawn, {told['refused']} refused, {told['failed']} failed")
    return told["failed"] > 0 or told["drawn"] == 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
