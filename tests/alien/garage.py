#!/usr/bin/env python3
"""The alien garage: cars from three simulators that share no line, no equation and no table with the program, and what the
program makes of their readings.

    /usr/bin/python3 tests/alien/garage.py build/bladegap --cars 2
    /usr/bin/python3 tests/alien/garage.py build/bladegap --cars 30 --films 4 --classes baseline,own,other,none --jobs 2

The simulators: metered.py, pressure.py, turbo.py (what each is made of, and its sources, stand at its head). They differ among
each other, and were written without a look at the program's own equations: from reference figures of the trade, textbooks'
and papers' forms, and one real car's logs. Nothing was moved afterwards until an estimate came out well. A *model* draws dozens
of numbers; models that would not idle at 0.82 to 1.12 g/s a litre and 24 to 40 kPa are drawn again (published figures). A
*unit* is a car of that model, its own luck in every part; the computer keeps the model's tables. A *day* has its weather,
electrical load, fuel and normal purge.

Every case: the car with a cause of its simulator's list, or none, and four data sets (cases.py). Film: a share of idle air area
drawn evenly from 5 to 80 %, turned into thickness for that simulator's own profile at the blade's clean idle position; the truth
that intervals are held against is that share. Faults grow from nothing while the computer learns; slow learning runs ten times
faster than on the road. A car that stalls is drawn again with a smaller severity, and counted.

Detectable, fixed beforehand: the noise-free readings moved by more than 3.3 standard deviations (Mahalanobis; instrument
and the car's own day-to-day scatter) from those of the same car on the same day without the fault.

What readings mean differs from model to model, as on the road: calculated load (two definitions), relative position (above
the learned stop, or above a fixed number), the position with key on (stop, or unpowered rest).

Classes: baseline (fitted on, and compared with, the car's own good readings), own (fitted on them only), other (fitted on
another good car of the model), none (the card alone). How each calls the program stands in COMMANDS.

Seeds are the first digits of pi in blocks of four.
"""
import argparse
import concurrent.futures
import json
import os
import resource
import subprocess
import sys
import tempfile
import time

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy: the jobs are the cores
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import cases as garage_cases  # noqa: E402
import score  # noqa: E402

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))

# Command lines of each class: words with {} filled in; a list of steps, the last one answers.
COMMANDS = {
    "fit": {
        "baseline": (["fit", "{card}", "--readings", "{own}", "--out", "{car}"], ["estimate", "{car}", "--readings", "{faulty}", "--baseline", "{own}", "--json", "--quiet"]),
        "own": (["fit", "{card}", "--readings", "{own}", "--out", "{car}"], ["estimate", "{car}", "--readings", "{faulty}", "--json", "--quiet"]),
        "other": (["fit", "{card}", "--readings", "{other}", "--out", "{car}"], ["estimate", "{car}", "--readings", "{faulty}", "--json", "--quiet"]),
        "none": (["estimate", "--car", "{card}", "--readings", "{faulty}", "--json", "--quiet"],),
    },
    # Before there is a fit: the shipped engine nearest in kind.
    "shipped": {
        "baseline": (["estimate", "{engine}", "--readings", "{faulty}", "--baseline", "{own}", "--json", "--quiet"],),
        "none": (["estimate", "{engine}", "--readings", "{faulty}", "--json", "--quiet"],),
    },
}
CLASSES = ("baseline", "own", "other", "none")


def nearest_engine(car):
    model = car["model"]
    name = "six-30" if model["cylinders"] > 4 else "four-16"
    if car["kind"] == "pressure":
        name = "three-10"
    return os.path.join(ROOT, "models", name + ".cfg")


def answer_of(output):
    """The program's JSON as what score.py needs."""
    data = json.loads(output)
    answer = {"causes": {row["name"]: {"p": row["probability"], "prior": row.get("prior", 0.0)} for row in data["causes"]},
              "explained": data.get("fit", {}).get("explained", True), "off": []}
    area = data.get("area_loss_pct")
    if area and area.get("low") is not None:
        answer["area"] = (area["best"], area["low"], area["high"])
    for row in data.get("readings", []):
        for expected in row.get("expected", []):
            if expected["cause"] == "nothing" and row.get("sd"):
                answer["off"].append((row["condition"], (row["value"] - expected["value"]) / row["sd"]))
    return answer


def ask(job):
    """Runs the steps of one class on one case; a refusal keeps the program's sentence."""
    program, steps, names, limit_s = job
    for step in steps:
        words = [program] + [word.format(**names) for word in step]
        try:
            done = subprocess.run(words, capture_output=True, text=True, timeout=limit_s, check=False, cwd=names["folder"])
        except subprocess.TimeoutExpired:
            return {"refused": f"{step[0]}: over {limit_s} s"}
        if done.returncode != 0:
            line = (done.stderr.strip() or f"exit {done.returncode}").splitlines()[0]
            return {"refused": step[0] + ": " + line.replace(names["folder"] + "/", "")[:160]}
    return answer_of(done.stdout)


def make_kind(kind, count, films, folder):
    """All cases of a simulator, written; in a process of its own."""
    start = time.process_time()
    cars, cases = garage_cases.make(kind, count, films)
    runs = [case for case in cases if case["runs"]]
    for case in runs:
        garage_cases.write(case, os.path.join(folder, garage_cases.name_of(case)))
    return cars, cases, time.process_time() - start


def has_fit(program):
    return subprocess.run([program, "help", "fit"], capture_output=True, check=False).returncode == 0


def make_all(kinds, count, films, folder, jobs):
    with concurrent.futures.ProcessPoolExecutor(jobs) as pool:
        return dict(zip(kinds, pool.map(make_kind, kinds, [count] * len(kinds), [films] * len(kinds), [folder] * len(kinds))))


def run_class(program, steps, cases, folder, jobs, limit_s):
    work = []
    for case in cases:
        home = os.path.join(folder, garage_cases.name_of(case))
        names = {key: os.path.join(home, key + ".csv") for key in ("own", "faulty", "other", "card")}
        names.update(folder=home, car=os.path.join(home, "car.cfg"), engine=nearest_engine(case["car"]))
        work.append((program, steps, names, limit_s))
    # Threads are enough here: each waits for a process.
    with concurrent.futures.ThreadPoolExecutor(jobs) as pool:
        return list(zip(cases, pool.map(ask, work)))


def arguments():
    parser = argparse.ArgumentParser(description="The alien garage: estimates of cars from other equations.")
    parser.add_argument("program")
    parser.add_argument("--cars", type=int, default=2, help="models of each simulator (30 for the whole)")
    parser.add_argument("--films", type=int, default=1, help="film cases of each car (4 for the whole)")
    parser.add_argument("--kinds", default=",".join(garage_cases.KINDS))
    parser.add_argument("--classes", default=",".join(CLASSES))
    parser.add_argument("--commands", choices=tuple(COMMANDS), help="how the program is called; by default what it can")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--limit", type=float, default=30.0, help="seconds for one call")
    parser.add_argument("--write", metavar="DIR", help="keep the cases there, with the logs of the film cases")
    parser.add_argument("--json", action="store_true")
    return parser.parse_args()


def main():
    args = arguments()
    program = os.path.abspath(args.program)
    way = args.commands or ("fit" if has_fit(program) else "shipped")
    kinds = args.kinds.split(",")
    out = {"commands": way, "kinds": {}}
    lines = [f"alien garage: {args.cars} cars of each of {', '.join(kinds)}; program called as '{way}'"]
    with tempfile.TemporaryDirectory() as scratch:
        folder = args.write or scratch
        made = make_all(kinds, args.cars, args.films, folder, args.jobs)
        pooled = {}
        for kind, (cars, cases, cpu_s) in made.items():
            runs = [case for case in cases if case["runs"]]
            redraws = sum(case["redraws"] > 0 for case in cases)
            lines.append(f"{kind}: {len(cases)} cases, {redraws} drawn smaller because the car stalled, {len(cases) - len(runs)} never ran; "
                         f"{sum(car['draws'] for car in cars)} models drawn for {len(cars)}; made in {cpu_s:.1f} s of CPU")
            if args.write:
                films = [case for case in runs if case["cause"] == "film" and case["first"]]
                garage_cases.write_logs(kind, films, lambda case: os.path.join(folder, garage_cases.name_of(case)))
            out["kinds"][kind] = {}
            for name in args.classes.split(","):
                if name not in COMMANDS[way]:
                    lines.append(f"{kind}, {name}: not before there is a fit")
                    continue
                before = resource.getrusage(resource.RUSAGE_CHILDREN)
                results = run_class(program, COMMANDS[way][name], runs, folder, args.jobs, args.limit)
                after = resource.getrusage(resource.RUSAGE_CHILDREN)
                used = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
                lines += score.text(kind, name, results) + [f"  CPU {used:.1f} s, {1000.0 * used / max(1, len(runs)):.0f} ms a case"]
                out["kinds"][kind][name] = {**score.summary(results), "odds": score.odds(results), "confusion": score.confusion(results)}
                pooled.setdefault(name, []).extend(results)
        if len(kinds) > 1:
            for name, results in pooled.items():
                lines += score.text("all", name, results)
                out.setdefault("all", {})[name] = {**score.summary(results), "odds": score.odds(results), "confusion": score.confusion(results)}
    print(json.dumps(out, indent=1) if args.json else "\n".join(lines))
    return 0


if __name__ == "__main__":
    sys.exit(main())
