#!/usr/bin/env python3
"""Follows job cards by machine, on cars of the alien garage (cases.py) or of the program's own world, and counts where they end.

    /usr/bin/python3 tests/alien/follow_card.py build/bladegap --cars 2
    /usr/bin/python3 tests/alien/follow_card.py build/bladegap --world own --cars 40

A car comes with a complaint where its idle is 50 rpm off its target, else with none; with --codes also with those that its computer would have
stored, or none: idle 100 rpm too low or 200 too high, trims together beyond 20 %, firings of a cylinder that fail in one of ten turns or more, half of a
cylinder's compression gone, 40 C of coolant missing. Common practice, no source. Each step does what the card decides: a set
of readings is read off the car's own list, a look says yes to a car that has one of its causes with 0.92 and else with 0.05, and
light through the gap tells a filmed bore from a clean one with 0.9: shares of our own choice, near those of the trade that the program
assumes. What cannot be read on the car is passed over (--skip). It ends with a decision, or after 24 steps.

Own world: the settled points of the shipped engines with one cause, friction and blade scaled by a few percent as cars differ,
rounded and flickering as an instrument does. Alien: the car's card alone (class none), or an engine fitted to its good readings (own).

Right: the work that mends the true cause; a sound car handed back. By hand ("search") is counted by itself: nothing is sold, nothing found.
Safety, on every card: a step that touches the blade, or cleans, has its cautions in front of it.
"""
import argparse
import collections
import json
import os
import random
import subprocess
import sys
import tempfile

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
STEPS = 24
SAYS_YES, FALSE_ALARM, TORCH = 0.92, 0.05, 0.9
RIGHT, SOLD = 0.90, 0.03
BLADE = ("closed_gap_mm2@key_on", "boot_off")
FLICKER = {"speed_rpm": 4.0, "maf_gps": 0.02, "tp_pct": 0.1, "trim_pct": 1.0, "load_pct": 0.3, "spark_deg": 0.5, "map_kpa": 0.3}
STEP = {"speed_rpm": 0.25, "target_rpm": 1.0, "tp_pct": 100 / 255, "blade_pct": 100 / 255, "maf_gps": 0.01, "map_kpa": 1.0,
        "load_pct": 100 / 255, "spark_deg": 0.5, "trim_pct": 100 / 128, "coolant_c": 1.0, "intake_c": 1.0}
OWN_CAUSES = {"film": ("film_um", 30, 100), "vacuum_leak": ("leak_mm2", 2, 15), "purge_stuck": ("purge_stuck_mm2", 1.5, 6),
              "ventilation_stuck": ("ventilation_stuck_mm2", 2, 10), "air_flow_low": ("maf_gain_ratio", 0.85, 0.7), "nothing": None}


def jobcard(program, words, folder):
    done = subprocess.run([program, "jobcard", *words, "--json", "--quiet", "--threads", "1"], capture_output=True, text=True,
                          check=False, cwd=folder)
    if done.returncode != 0:
        raise RuntimeError((done.stderr.strip() or f"exit {done.returncode}").splitlines()[0])
    return json.loads(done.stdout)


def unsafe(card):
    """Sentences on steps without the caution that protects them: keys stand in order in the JSON, cautions first."""
    faults = []
    electronic = card["electronic"]
    for step in [card["decision"], *card["boxes"]]:
        if list(step).index("cautions") > list(step).index("text"):
            faults.append(step["name"] + ": cautions stand behind the step")
        wants = {"stop_screw"} if step["name"] in BLADE or "clean_bore" in step.get("remedies", ()) else set()
        wants |= {"fingers"} if wants and electronic else set()
        wants |= {"solvent", "coating"} if "clean_bore" in step.get("remedies", ()) else set()
        if not wants <= set(step["cautions"]):
            faults.append(f"{step['name']}: without {', '.join(sorted(wants - set(step['cautions'])))}")
    return faults


def answer(name, finds, car, rng):
    """Words for what a step brings; None where it cannot be had on this car."""
    if name.startswith("data_stream@"):
        condition = name.split("@")[1]
        rows = [f"{key}={value}@{condition}" for (at, key), value in car["read"].items() if at == condition]
        return [word for row in rows for word in ("--reading", row)] or None
    if name == "closed_gap_mm2@key_on":
        dirty = (car["cause"] == "film") == (rng.random() < TORCH)
        return ["--reading", f"closed_gap_mm2={'none' if dirty else 'light'}@key_on"]
    if "@" in name:
        key, condition = name.split("@")
        value = car["read"].get((condition, key))
        return None if value is None else ["--reading", f"{key}={value}@{condition}"]
    yes = rng.random() < (SAYS_YES if car["cause"] in finds else FALSE_ALARM)
    return ["--look", f"{name}={'yes' if yes else 'no'}"]


def follow(program, car, folder, rng):
    visit = os.path.join(folder, "visit.cfg")
    words, asked = [*car["begin"], "--visit", visit], set()
    for _ in range(STEPS):
        card = jobcard(program, words, folder)
        card["electronic"] = car["electronic"]
        car["unsafe"] += unsafe(card)
        decision = card["decision"]
        if decision["kind"] == "read_again":  # nothing explains it, and this car reads the same again
            words = ["--resume", visit, "--stands"]
            continue
        if decision["kind"] in ("mend", "search", "hand_back"):
            return card
        box = next((box for box in card["boxes"] if box["name"] == decision["name"]), {"name": decision["name"], "finds": []})
        got = None if box["name"] in asked else answer(box["name"], box["finds"], car, rng)
        asked.add(box["name"])
        words = ["--resume", visit, *(got or ["--skip", box["name"]])]
    return card


def own_cars(program, count, rng):
    engines = [("four-16", True), ("six-30", True), ("four-18-cable", False)]
    for number in range(count):
        name, electronic = engines[number % len(engines)]
        cause = list(OWN_CAUSES)[number % len(OWN_CAUSES)]
        words = ["--scale", f"friction.constant_bar={rng.gauss(1, 0.04):.4f}", "--scale", f"discharge_by_opening_deg={rng.gauss(1, 0.01):.4f}",
                 "--set", f"intake_c={rng.uniform(5, 35):.1f}"]
        if OWN_CAUSES[cause]:
            key, least, most = OWN_CAUSES[cause]
            words += ["--set", f"{key}={rng.uniform(least, most):.4g}"]
        read = {}
        for condition, more in (("idle", []), ("key_on", ["--engine-off"]), ("hold_2500", ["--set", "hold_rpm=2500"])):
            done = subprocess.run([program, "settle", os.path.join(ROOT, "models", name + ".cfg"), *words, *more, "--json", "--quiet"],
                                  capture_output=True, text=True, check=False)
            if done.returncode != 0 or json.loads(done.stdout)["outcome"] == "stalls":
                continue
            values = json.loads(done.stdout)
            if values.get("stft_pct") is not None:
                values["trim_pct"] = values["stft_pct"] + values["ltft_pct"]
            names = ("tp_pct", "map_kpa") if condition == "key_on" else tuple(STEP)
            for key in names:
                if values.get(key) is None or (condition == "hold_2500" and key in ("speed_rpm", "target_rpm", "spark_deg")):
                    continue
                if condition == "idle" or key not in ("target_rpm",):
                    value = values[key] + rng.gauss(0, FLICKER.get(key, 0.0))
                    read[condition, key] = f"{round(value / STEP[key]) * STEP[key]:.4f}"
        yield {"cause": cause, "read": read, "electronic": electronic, "engine": os.path.join(ROOT, "models", name + ".cfg"), "sets": []}


def alien_cars(program, count, folder, kind_of_card, every):
    import cases
    number = 0
    for kind in cases.KINDS:
        for case in cases.make(kind, count, 1)[1]:
            if not case["runs"] or (case["cause"] != "nothing" and not case["detectable"]):
                continue
            number += 1
            if number % every:
                continue
            home = os.path.join(folder, cases.name_of(case))
            cases.write(case, home)
            engine, sets = os.path.join(home, "card.csv"), []
            if kind_of_card == "own":
                engine = os.path.join(home, "car.cfg")
                done = subprocess.run([program, "fit", os.path.join(home, "card.csv"), "--readings", os.path.join(home, "own.csv"),
                                       "--this-car", "--out", engine, "--json", "--quiet"], capture_output=True, check=False)
                if done.returncode != 0:
                    continue
                sets = ["--set", f"altitude_m={case['car']['card']['altitude_m']}"]
            read = {pair: f"{value:.6g}" for pair, value in case["read"]["faulty"].items()}
            yield {"cause": case["cause"], "severity": case["severity"], "target_rpm": case["car"]["card"].get("idle_rpm"), "read": read, "electronic": case["car"]["card"]["kind"] == "electronic", "engine": engine,
                   "sets": sets}


def codes(car):
    """What the car's computer would have stored: of its own readings, and of what a misfire monitor and a thermostat's see."""
    read, cause, severity = car["read"], car["cause"], car.get("severity", 0.0)
    number = lambda key: float(read["idle", key]) if ("idle", key) in read else None
    found = []
    speed, target = number("speed_rpm"), number("target_rpm") or car.get("target_rpm")
    if speed and target:
        found += ["P0506"] * (speed < target - 100.0) + ["P0507"] * (speed > target + 200.0)
    trim = number("trim_pct")
    if trim is None and number("stft_pct") is not None:
        trim = number("stft_pct") + number("ltft_pct")
    if trim is not None:
        found += ["P0171"] * (trim > 20.0) + ["P0172"] * (trim < -20.0)
    if (cause == "spark_missing" and severity > 10.0) or (cause == "cylinder_compression" and severity > 50.0):
        found.append("P0300")
    if cause == "coolant_low" and severity < -40.0:
        found.append("P0128")
    return ["--codes", ",".join(found) or "none"]


def complaint(read):
    if ("idle", "speed_rpm") not in read or ("idle", "target_rpm") not in read:
        return []
    off = float(read["idle", "speed_rpm"]) - float(read["idle", "target_rpm"])
    return ["--complaint", "low-idle"] if off < -50 else ["--complaint", "high-idle"] if off > 50 else []


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("program")
    parser.add_argument("--world", choices=("alien", "own"), default="alien")
    parser.add_argument("--card", choices=("none", "own"), default="own", help="alien: the card alone, or fitted to the good car")
    parser.add_argument("--cars", type=int, default=1)
    parser.add_argument("--every", type=int, default=1, help="alien: of the cases that can be found, every so many")
    parser.add_argument("--codes", action="store_true", help="the car also comes with the codes its computer would have stored")
    parser.add_argument("--check", action="store_true", help="exit 1 if a share is missed; safety is always checked")
    args = parser.parse_args()
    program, rng = os.path.abspath(args.program), random.Random(31415926)
    counts, refused, faults, wrong = collections.Counter(), collections.Counter(), [], collections.Counter()
    with tempfile.TemporaryDirectory() as folder:
        source = own_cars(program, args.cars, rng) if args.world == "own" else alien_cars(program, args.cars, folder, args.card, args.every)
        for car in source:
            car["begin"], car["unsafe"] = [car["engine"], *car["sets"], *complaint(car["read"]), *(codes(car) if args.codes else [])], []
            try:
                card = follow(program, car, folder, rng)
            except RuntimeError as error:
                refused[str(error)[:150]] += 1
                counts["refused"] += 1
                continue
            faults += car["unsafe"]
            kind, remedies = card["decision"]["kind"], set(card["decision"]["remedies"])
            mending = next((set(c["remedies"]) for c in card["causes"] if c["name"] == car["cause"]), set())
            right = kind == "hand_back" if car["cause"] == "nothing" else kind == "mend" and mending <= remedies and bool(mending)
            counts["cars"] += 1
            counts["right"] += right
            counts["by_hand"] += kind == "search"
            counts["sold"] += kind == "mend" and not right and card["decision"]["buys"]
            counts["cleaned"] += kind == "mend" and not right and not card["decision"]["buys"]
            counts["handed_back"] += kind == "hand_back" and not right
            counts["open"] += kind not in ("mend", "search", "hand_back")
            if not right:
                wrong[f"{car['cause']}: {kind} {card['decision']['name']}"] += 1
    print(json.dumps(dict(counts)))
    for sentence, times in [*wrong.most_common(12), *refused.most_common(4)]:
        print(f"  {times} x {sentence}")
    for sentence in sorted(set(faults)):
        print("UNSAFE", sentence)
    missed = counts["right"] < RIGHT * counts["cars"] or counts["sold"] > SOLD * counts["cars"]
    return 1 if faults or (args.check and missed) else 0


if __name__ == "__main__":
    sys.exit(main())
