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
that intervals are held against is that share (for logs: the share lost where the filmed car idles, further open and so less).
Faults grow from nothing while the computer learns; slow learning runs ten times
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

ASKED = ("--json", "--quiet", "--threads", "1")  # the jobs are the cores

# Command lines of each class: words with {} filled in; a list of steps, the last one answers.
COMMANDS = {
    "fit": {
        "baseline": (["estimate", "--car", "{card}", "--readings", "{faulty}", "--baseline", "{own}", *ASKED],),
        "own": (["fit", "{card}", "--readings", "{own}", "--this-car", "--out", "{car}", "--json", "--quiet"],
                ["estimate", "{car}", "--readings", "{faulty}", *ASKED]),
        "other": (["fit", "{card}", "--readings", "{other}", "--out", "{car}", "--json", "--quiet"],
                  ["estimate", "{car}", "--readings", "{faulty}", *ASKED]),
        "none": (["estimate", "--car", "{card}", "--readings", "{faulty}", *ASKED],),
        "curve": (["curve", "{log}", "--baseline", "{log_clean}", "--displacement-cc", "{cc}", "--altitude", "{altitude_m}", "--json",
                   "--quiet"],),
    },
    # Before there is a fit: the shipped engine nearest in kind.
    "shipped": {
        "baseline": (["estimate", "{engine}", "--readings", "{faulty}", "--baseline", "{own}", *ASKED, "--trust"],),
        "none": (["estimate", "{engine}", "--readings", "{faulty}", *ASKED, "--trust"],),
    },
}
WEATHER = ("coolant_c", "intake_c", "barometer_kpa")  # tell of the day, not of the car
# Readings that a shipped engine has no name for, left out of the lists where there is no other engine.
UNKNOWN = {("shipped", "turbo"): ("map_kpa",), ("shipped", "pressure"): ("bypass_steps", "barometer_kpa")}
# What each class must reach (--check): share of detectable cases with the true cause first. For all classes: sure and wrong at most
# SURE_WRONG of cases; intervals of area lost hold in INTERVALS; stated odds within ODDS in bins of at least ODDS_PAIRS.
TRUE_FIRST = {"baseline": 0.90, "own": 0.80}
SURE_WRONG, INTERVALS, ODDS, ODDS_PAIRS = 0.02, (0.86, 0.97), 0.07, 100
FEW = 20  # films, fewer than which say nothing on intervals; the whole garage has 360 a class
CLASSES = ("baseline", "own", "other", "none")  # curve, of logs, where it is asked for


def nearest_engine(car):
    model = car["model"]
    name = "six-30" if model["cylinders"] > 4 else "four-16"
    if car["kind"] == "pressure":
        name = "three-10"
    return os.path.join(ROOT, "models", name + ".cfg")


def answer_of(output):
    """The program's JSON as what score.py needs."""
    data = json.loads(output)
    if "causes" not in data:  # a curve
        lost = data.get("idle_lost_pct")
        told = lost and lost.get("low") is not None
        return {"area": (lost["mean"], lost["low"], lost["high"])} if told else {"refused": "curve: " + data.get("verdict_text",
                                                                                                                 "no interval")}
    answer = {"causes": {row["name"]: {"p": row["probability"], "prior": row.get("prior", 0.0)} for row in data["causes"]},
              "explained": data.get("fit", {}).get("explained", True), "off": []}
    area = data.get("area_loss_pct")
    if area and area.get("low") is not None:
        answer["area"] = (area["best"], area["low"], area["high"])
    for row in data.get("readings", []):
        for expected in row.get("expected", []) if row["name"] not in WEATHER else []:
            if expected["cause"] == "nothing" and row.get("sd"):
                answer["off"].append((row["condition"], (row["value"] - expected["value"]) / row["sd"]))
    return answer


def residuals_of(output):
    """What a fit tells of a good car's readings against what it makes of them: (condition, standard deviations off)."""
    rows = json.loads(output)["cars"][0]["readings"]
    return [(row["condition"], (row["read"] - row["met"]) / row["sd"]) for row in rows if row["name"] not in WEATHER]


def ask(job):
    """Runs the steps of one class on one case; a refusal keeps the program's sentence."""
    program, steps, names, limit_s = job
    fitted = None
    for step in steps:
        words = [program] + [word.format(**names) for word in step]
        try:
            done = subprocess.run(words, capture_output=True, text=True, timeout=limit_s, check=False, cwd=names["folder"])
        except subprocess.TimeoutExpired:
            return {"refused": f"{step[0]}: over {limit_s} s"}
        if done.returncode != 0:
            line = (done.stderr.strip() or f"exit {done.returncode}").splitlines()[0]
            return {"refused": step[0] + ": " + line.replace(names["folder"] + "/", "")[:160]}
        if step[0] == "fit":
            fitted = residuals_of(done.stdout)
    answer = answer_of(done.stdout)
    if fitted is not None:
        answer["off"], answer["fitted"] = fitted, True
    return answer


def short_of(name, results):
    """Sentences on what this class does not reach; refused cases count as not found."""
    if name == "curve":
        row = score.curves(results)["filmed"]
        held = row["told"] < FEW or INTERVALS[0] * row["told"] <= row["held"]
        return [] if held else [f"MISSED curve: intervals of area lost hold in {score.share(row['held'], row['told'])}"]
    s, missed = score.summary(results), []
    if name in TRUE_FIRST and s["true_first"] < TRUE_FIRST[name] * s["detectable_all"]:
        missed.append(f"true cause first in {score.share(s['true_first'], s['detectable_all'])}, not {100 * TRUE_FIRST[name]:.0f} %")
    if s["sure_wrong"] > SURE_WRONG * s["singles"]:
        missed.append(f"sure and wrong in {score.share(s['sure_wrong'], s['singles'])}, more than {100 * SURE_WRONG:.0f} %")
    if s["films"] >= FEW and not INTERVALS[0] <= s["held"] / s["films"] <= INTERVALS[1]:
        missed.append(f"intervals of area lost hold in {score.share(s['held'], s['films'])}, not in {INTERVALS}")
    for low, high, pairs, stated, true in score.odds(results):
        if pairs >= ODDS_PAIRS and abs(stated - true) > ODDS:
            missed.append(f"stated {100 * low:.0f} to {100 * high:.0f} %: {100 * stated:.0f} % said, {100 * true:.0f} % so, of {pairs}")
    return [f"MISSED {name}: {sentence}" for sentence in missed]


def make_kind(kind, count, films, folder, unknown):
    """All cases of a simulator, written; in a process of its own."""
    start = time.process_time()
    cars, cases = garage_cases.make(kind, count, films)
    runs = [case for case in cases if case["runs"]]
    for case in runs:
        for readings in case["read"].values():
            for pair in [pair for pair in readings if pair[1] in unknown]:
                del readings[pair]
        garage_cases.write(case, os.path.join(folder, garage_cases.name_of(case)))
    return cars, cases, time.process_time() - start


def has_fit(program):
    return subprocess.run([program, "help", "fit"], capture_output=True, check=False).returncode == 0


def make_all(args, kinds, folder, way):
    """Simulators side by side; {kind: what make_kind returns}."""
    leave = tuple(args.without.split(","))
    with concurrent.futures.ProcessPoolExecutor(args.jobs) as pool:
        made = [pool.submit(make_kind, kind, args.cars, args.films, folder, leave + UNKNOWN.get((way, kind), ())) for kind in kinds]
        return {kind: future.result() for kind, future in zip(kinds, made)}


def run_curves(program, steps, cases, folder, jobs, limit_s):
    """Each film case twice: its filmed log, and a clean one of that day, against the clean log of another day."""
    twice = [{**case, "log": log} for case in cases for log in ("filmed", "again")]
    return run_class(program, steps, twice, folder, jobs, limit_s)


def run_class(program, steps, cases, folder, jobs, limit_s):
    work = []
    for case in cases:
        home = os.path.join(folder, garage_cases.name_of(case))
        names = {key: os.path.join(home, key + ".csv") for key in ("own", "faulty", "other", "card")}
        names.update(folder=home, car=os.path.join(home, "car.cfg"), engine=nearest_engine(case["car"]))
        names.update(cc=f"{1e6 * case['car']['model']['displacement_m3']:.0f}", altitude_m=case["car"]["card"]["altitude_m"],
                     log=os.path.join(home, f"log_{case.get('log')}.csv"), log_clean=os.path.join(home, "log_clean.csv"))
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
    parser.add_argument("--without", default="", help="readings to leave out of every list, as map_kpa,blade_pct")
    parser.add_argument("--write", metavar="DIR", help="keep the cases there, with the logs of the film cases")
    parser.add_argument("--check", action="store_true", help="end with 1 if a class misses what it must reach, all simulators pooled")
    parser.add_argument("--json", action="store_true")
    return parser.parse_args()


def story(kind, cars, cases, cpu_s):
    """One line on how these cases came about."""
    redrawn, never = sum(case["redraws"] > 0 for case in cases), sum(not case["runs"] for case in cases)
    return (f"{kind}: {len(cases)} cases, {redrawn} drawn smaller because the car stalled, {never} never ran; "
            f"{sum(car['draws'] for car in cars)} models drawn for {len(cars)}; made in {cpu_s:.1f} s of CPU")


def tell(out, lines, kind, name, results):
    if name == "curve":
        lines += score.curves_text(kind, results)
        out.setdefault(kind, {})[name] = score.curves(results)
        return
    lines += score.text(kind, name, results)
    table = {cause: dict(row) for cause, row in score.confusion(results).items()}
    out.setdefault(kind, {})[name] = {**score.summary(results), "odds": score.odds(results), "confusion": table,
                                      "alien": score.alienness(results)}


def main():
    args = arguments()
    program = os.path.abspath(args.program)
    way = args.commands or ("fit" if has_fit(program) else "shipped")
    kinds, classes = args.kinds.split(","), [name for name in args.classes.split(",") if name in COMMANDS[way]]
    lines = [f"alien garage: {args.cars} cars of each of {', '.join(kinds)}; program called as '{way}', classes {', '.join(classes)}"]
    out, pooled, missed = {}, {}, []
    with tempfile.TemporaryDirectory() as scratch:
        folder = args.write or scratch
        for kind, (cars, cases, cpu_s) in make_all(args, kinds, folder, way).items():
            lines.append(story(kind, cars, cases, cpu_s))
            runs = [case for case in cases if case["runs"]]
            films = [case for case in runs if case["cause"] == "film"]
            if args.write or "curve" in classes:
                garage_cases.write_logs(kind, films, lambda case: os.path.join(folder, garage_cases.name_of(case)))
            for name in classes:
                before = resource.getrusage(resource.RUSAGE_CHILDREN)
                if name == "curve":
                    results = run_curves(program, COMMANDS[way][name], films, folder, args.jobs, args.limit)
                else:
                    results = run_class(program, COMMANDS[way][name], runs, folder, args.jobs, args.limit)
                after = resource.getrusage(resource.RUSAGE_CHILDREN)
                used_s = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
                tell(out, lines, kind, name, results)
                lines.append(f"  CPU {used_s:.1f} s, {1000.0 * used_s / max(1, len(results)):.0f} ms a case")
                pooled.setdefault(name, []).extend(results)
    for name, results in pooled.items():
        if len(kinds) > 1:
            tell(out, lines, "all", name, results)
        missed += short_of(name, results)
    print(json.dumps(out, indent=1) if args.json else "\n".join(lines + missed))
    return 1 if args.check and missed else 0


if __name__ == "__main__":
    sys.exit(main())
