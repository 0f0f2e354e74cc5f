#!/usr/bin/env python3
"""roundtrip.py PROGRAM [--pairs N] [--seed S] [--jobs J] [--json FILE] [--bars all]: cars before and after, through logs of every shape and back.

Each pair is a car drawn from the spread of its model (widths of the table `scatter`), on two days some time apart (days()). Before: a film from nothing to beyond where the idle droops, or another fault. Then what was done: cleaned and relearned, cleaned
only, nothing, or the fault is still there. Both visits are logged, in all shapes in turn, half of the pairs by `run --as-log` and half
by instrument.py, which shares no line with it. `compare` then says what it makes of the two logs, and `estimate` of the first.

What is true is known from the runs: what was done, the film, and by how much each reading would have changed on one and the same day, without
an instrument between (means over the same stretches of run.csv).

Bars (the project's own): "repaired" of a car that is not, at most 2 %; a repair that is not called one, at most 5 %, of cars whose idle was
below its target; where the computer hid the film nothing was wrong by itself, and "improved" is as much as can be told (missed_hidden counts
those not even told that); of the 90 % intervals 84 to 96 % hold the truth in 200 pairs, 87 to 95 % in 2000. A share of failures fails where
it is above its bar and chance alone would give as many in less than 1 of 100 tries (binomial): a few dozen cars cannot tell 5 % from 6.
`--bars verdicts` leaves the intervals out, of which so few cars say nothing."""
import argparse
import concurrent.futures
import csv
import json
import math
import os
import subprocess
import sys
import tempfile
from collections import Counter, defaultdict
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy: the jobs are the cores
import numpy  # noqa: E402

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import instrument  # noqa: E402

# engine: film in um where its idle begins to droop (settle --set film_um: about where effort and learned offset are both at their limits)
ENGINES = {"four-16": 55, "three-10": 42, "four-15-turbo": 45, "six-30": 70}
TARGETS = {"four-16": 850, "three-10": 880, "four-15-turbo": 760, "six-30": 700}  # of the models: what a technician looks up
FATES = ("relearned", "stale", "untouched", "fault", "new_fault")
FATE_SHARES = (0.45, 0.15, 0.18, 0.12, 0.1)
FAULTS = {"leak_mm2": (2, 8), "drag_nm": (2, 6), "fuel_delivery_ratio": (0.8, 0.92), "coolant_bias_c": (-50, -30)}
STALE_S = 45.0  # the cleaned car is started again then, and its log begins
# stretch: from, to of a visit
STRETCHES = {"idle": (3.0, 29.0), "idle_ac": (40.0, 54.0), "hold_2500": (82.0, 94.0)}
LISTED = {"idle": ("speed_rpm", "tps1_v", "maf_gps", "map_kpa", "load_pct", "spark_deg", "stft_pct", "ltft_pct", "coolant_c", "intake_c"),
          "idle_ac": ("speed_rpm", "tps1_v", "maf_gps", "map_kpa", "spark_deg"), "hold_2500": ("tps1_v", "maf_gps", "map_kpa")}
VISIT = ("{{ at_s = {0}; air_conditioning = 1; }}, {{ at_s = {1}; air_conditioning = 0; }}, {{ at_s = {2}; hold_rpm = 2500.0; }}, "
         "{{ at_s = {3}; hold_rpm = 0.0; }}")
LITRES = {"four-16": 1.6, "three-10": 1.0, "four-15-turbo": 1.5, "six-30": 3.0}
PURGE_MM2_L = 0.4  # 30 % duty at 0.19 mm2 for each 10 % on 1.5 l, the same car
FELT_RPM = 50.0  # so far below its target the idle is felt, and complained of; P0505 of the shipped engines waits for as much
FILM_SHOWS = 0.3  # of the droop's film: less is no film that anybody would clean for, and not counted


def deviations(rng):
    """The unit: what `scatter` of the engine file lets vary, by the keys of --scale and --set. Its widths (scatter_params.h) as usual ones."""
    z = rng.standard_normal
    friction = 1 + 0.05 * z()
    scale = {"friction.constant_bar": friction, "friction.per_krpm_bar": friction, "friction.per_krpm2_bar": friction,
             "charge.pressure_slope_ratio": 1 + 0.02 * z(), "combustion.efficiency_by_rpm": 1 + 0.015 * z(),
             "throttle.discharge_by_opening_deg": 1 + 0.02 * z(), "intake.ventilation_mm2": max(1 + 0.15 * z(), 0.3),
             "throttle.clearance_um": max(1 + 0.1 * z(), 0.5), "loads.compressor_nm": 1 + 0.1 * z()}
    change = {"spark_offset_deg": 0.7 * z(), "fuel_delivery_ratio": 1 + 0.025 * z(), "maf_gain_ratio": 1 + 0.02 * z(),
              "map_offset_kpa": 0.6 * z(), "tps1_offset_v": 0.02 * z(), "drag_nm": abs(0.5 * z())}
    return scale, change


def days(rng, litres, kind):
    """The two visits. scatter: two days as far apart as the rows of a day in the table `scatter` have them (scatter_params.h), which is what
    the program's intervals are made for. car: as one real car's 24 days were, standing warm: intake air of 8 C and a barometer of 0.4 kPa standard
    deviation (its logs, an open data set); coolant and electrical load invented, so that its air differs by 3 % from day to day as that
    car's did. Both purge the canister at idle with nothing up to a tenth of the air, as that car did; what it holds is invented."""
    z = rng.standard_normal
    first = {"electrical_load_w": 300 + 100 * z(), "coolant_c": 90 + 3 * z(), "intake_c": 22 + 12 * z(), "ambient_kpa": 101.3 + z()}
    apart = {"electrical_load_w": 40, "coolant_c": 1.5, "intake_c": 8, "ambient_kpa": 0.4}
    if kind == "car":
        second = {name: value + math.sqrt(2) * apart[name] * z() for name, value in first.items()}
    else:
        second = {"electrical_load_w": 300 + 100 * z(), "coolant_c": 90 + 3 * z(), "intake_c": 22 + 12 * z(), "ambient_kpa": 101.3 + z()}
    return [value | {"electrical_load_w": max(value["electrical_load_w"], 120), "intake.purge_mm2": PURGE_MM2_L * litres * rng.random(),
                     "intake.purge_vapour_pct": rng.uniform(5, 8)} for value in (first, second)]


def draw(seed, number, shapes, kind):
    rng = numpy.random.default_rng([seed, number])
    engine = list(ENGINES)[rng.integers(len(ENGINES))]
    scale, unit = deviations(rng)
    unit.pop("map_offset_kpa" if engine in ("four-16", "six-30") else "maf_gain_ratio" if engine == "three-10" else "", None)
    pair = {"engine": engine, "scale": scale, "unit": unit, "days": days(rng, LITRES[engine], kind), "fate": str(rng.choice(FATES, p=FATE_SHARES)),
            "film_um": float(ENGINES[engine] * 1.7 * rng.random()), "fault": str(rng.choice(list(FAULTS))), "severity": float(rng.random()),
            "shapes": (shapes[number // 2 % len(shapes)], shapes[(number // 2 * 5 + 3) % len(shapes)]),
            "python": number % 2 == 1, "with_car": bool(rng.random() < 0.3), "number": number}
    return pair, rng


def fault_of(pair):
    least, most = FAULTS[pair["fault"]]
    return {pair["fault"]: least + pair["severity"] * (most - least)}


def merge(*parts):
    """Conditions set; of a ratio that two set, the product, of an amount the sum."""
    out = {}
    for part in parts:
        for name, value in part.items():
            out[name] = out[name] * value if name in out and name.endswith("_ratio") else out.get(name, 0) + value if name in out else value
    return out


def scenario(folder, name, engine, stale, film_um):
    start = STALE_S if stale else 0.0
    steps = VISIT.format(start + 30, start + 55, start + 70, start + 95)
    if stale:
        steps = ('{ at_s = 25.0; key = "off"; }, { at_s = 28.0; film_um = 0.0; }, { at_s = 30.0; key = "on"; }, { at_s = 32.0; key = "start"; }, ' + steps)
    path = folder / f"{name}.cfg"
    path.write_text(f'title = "{name}"; engine = "{engine}"; start = "idling"; duration_s = {start + 115.0}; record_s = 0.1;\n'
                    f'initial = {{ film_um = {film_um}; }};\ntimeline = ({steps});\n')
    return path


def run(program, folder, pair, name, conditions, stale, seed, logs):
    words = [program, "run", str(scenario(folder, name, pair["engine"], stale, conditions["film_um"])), "--solver", "fast", "--format", "none", "--quiet",
             "--out", str(folder / name), "--seed", str(seed)]
    for key, value in pair["scale"].items():
        words += ["--scale", f"{key}={value:.6g}"]
    for key, value in conditions.items():
        if not (stale and key == "film_um"):  # that one is cleaned off on the way
            words += ["--set", f"{key}={value:.6g}"]
    for path, shape in logs:
        words += ["--as-log", str(path), "--log-shape", shape, "--log-from", str(STALE_S if stale else 0)]
    done = subprocess.run(words, capture_output=True, text=True)
    if done.returncode != 0:
        return None, done.stderr
    with open(folder / name / "run.csv", newline="") as file:
        header = next(csv.reader([file.readline()]))
        wanted = [i for i, column in enumerate(header) if column == "time_s" or column in instrument.SIGNALS]
        table = numpy.genfromtxt(file, delimiter=",", usecols=wanted)
    return {header[i]: table[:, at] for at, i in enumerate(wanted)}, ""


def means(rows):
    out = {}
    for stretch, (start, end) in STRETCHES.items():
        inside = (rows["time_s"] >= start) & (rows["time_s"] < end)
        for name, short in (("speed_rpm", "speed_rpm"), ("tps1_v", "tp_pct"), ("maf_gps", "maf_gps"), ("map_kpa", "map_kpa"), ("load_pct", "load_pct"),
                            ("spark_deg", "spark_deg"), ("stft_pct", "stft_pct"), ("ltft_pct", "ltft_pct")):
            if not math.isnan(rows[name][0]):
                out[f"{short}@{stretch}"] = float(instrument.SIGNALS[name][8] * rows[name][inside].mean())
    return out


def write_list(path, rng, rows):
    """Readings as a technician would write them down from the log: means over the stretches, by numpy, where no log is taken."""
    answers, _, channels = instrument.poll(rng, rows, 0.0, 20.0)
    names = {"tps1_v": "tp_pct"}
    with open(path, "w", encoding="ascii") as file:
        file.write("name,condition,value\n")
        for stretch, (start, end) in STRETCHES.items():
            for channel in channels:
                if channel not in LISTED[stretch]:
                    continue
                values = [value for time, name, value in answers if name == channel and start <= time < end]
                if values:
                    file.write(f"{names.get(channel, channel)},{stretch},{numpy.mean(values):.6g}\n")


def answer(program, *words):
    done = subprocess.run([program, *map(str, words), "--json", "--quiet"], capture_output=True, text=True)
    try:
        return json.loads(done.stdout), done.returncode, done.stderr
    except json.JSONDecodeError:
        return None, done.returncode, done.stderr


def against_numpy(program, folder, asked):
    """Means of a stretch told by --at, ours and numpy's of what stands in the file: [(name, said, numpy's)]."""
    path, answers = asked
    found, _, _ = answer(program, "compare", path, path, "--threads", "1", "--at", "before.idle=4:26", "--at", "after.idle=4:26")
    out = []
    for name, channel in (("speed_rpm", "speed_rpm"), ("tp_pct", "tps1_v"), ("maf_gps", "maf_gps"), ("map_kpa", "map_kpa"), ("spark_deg", "spark_deg")):
        decimals = instrument.SIGNALS[channel][5]
        values = [round(value, decimals) for time, other, value in answers if other == channel and 4 <= round(time, 3) <= 26]
        said = [e["before"] for e in (found or {}).get("effects", []) if e["name"] == name and e["condition"] == "idle"]
        if values and said:
            out.append((name, said[0], float(numpy.mean(values))))
    return out


def one(program, seed, number, shapes, estimate_every, kind):
    pair, rng = draw(seed, number, shapes, kind)
    fate, kept = pair["fate"], fault_of(pair)
    film = 0.0 if fate == "fault" else pair["film_um"]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        paths = [folder / f"{side}.csv" for side in ("before", "after")]
        before = {"film_um": film} | (kept if fate == "fault" else {})
        after = {"film_um": film if fate == "untouched" else film if fate == "stale" else 0.0} | (kept if fate in ("fault", "new_fault") else {})
        rows, asked = [], None
        for at, (side, conditions) in enumerate((("before", before), ("after", after))):
            stale = at == 1 and fate == "stale"
            logs = [] if pair["python"] else [(paths[at], pair["shapes"][at])]
            got, why = run(program, folder, pair, side, merge(pair["unit"], pair["days"][at], conditions), stale, 2 * number + at + 1, logs)
            if got is None:
                return {"number": number, "fate": fate, "skipped": why.strip()[-120:]}
            if at == 0 and got["speed_rpm"][(got["time_s"] > 3) & (got["time_s"] < 29)].min() < 250:
                return {"number": number, "fate": fate, "skipped": "it stalls"}
            rows.append(got)
            if pair["python"]:
                polled = instrument.poll(rng, got, STALE_S if stale else 0.0, float(rng.uniform(12, 25)))
                instrument.write(paths[at], pair["shapes"][at], *polled)
                asked = asked or (paths[at], polled[0])
        off = TARGETS[pair["engine"]] - float(rows[0]["speed_rpm"][rows[0]["time_s"] < 29].mean())
        result = {key: pair[key] for key in ("number", "engine", "fate", "shapes", "python", "with_car")} | {"film_um": film, "felt": off > FELT_RPM}
        words = ["compare", *paths, "--threads", "1"] + (
            ["--car", pair["engine"]] if pair["with_car"] else ["--target-rpm", str(TARGETS[pair["engine"]])])
        found, code, message = answer(program, *words)
        result |= {"verdict": found and found.get("verdict"), "why": found and found.get("why"), "compare_code": code, "compare_error": message.strip()[-300:]}
        if found and pair["python"] and pair["shapes"][0] in ("polled", "clock", "long", "times"):
            result["numpy"] = against_numpy(program, folder, asked)
        if found and fate in ("relearned", "untouched", "new_fault"):
            same_day, _ = run(program, folder, pair, "same-day", merge(pair["unit"], pair["days"][0], after), False, 2 * number + 2, [])
            if same_day:
                now, then = means(same_day), means(rows[0])
                result["effects"] = [
                    (name, now[name] - then[name], e["low"], e["high"])
                    for e in found.get("effects", []) if (name := f"{e['name']}@{e['condition']}") in now]
        if fate != "fault" and number % estimate_every == 0:
            found, code, message = answer(program, "estimate", pair["engine"], "--readings", paths[0], "--threads", "1")
            result["film_from"] = "log"
            if code == 65 and "is a log" in message:
                write_list(folder / "list.csv", rng, rows[0])
                found, code, message = answer(program, "estimate", pair["engine"], "--readings", folder / "list.csv", "--threads", "1")
                result["film_from"] = "list"
            result |= {"estimate_code": code, "estimate_error": message.strip()[-300:]}
            if found and isinstance(found.get("film_um"), dict):
                result["film"] = (found["film_um"]["low"], found["film_um"]["high"], found["film_um"].get("best"))
                result["first"] = found["causes"][0]["name"], found["causes"][0]["probability"]
        return result


# ---- What it comes to ----

def chance(failures, count, share):
    """Probability of so many failures or more if each fails with that share."""
    from scipy import stats
    return float(stats.binom.sf(failures - 1, count, share)) if count else 1.0


def summary(results):
    out, done = {}, [r for r in results if "skipped" not in r]
    droop = {r["number"]: r["film_um"] / ENGINES[r["engine"]] for r in done}
    told = [r for r in done if r["verdict"]]
    # A cleaned car whose computer had little to unlearn is neither here nor there.
    broken = [r for r in told if r["fate"] in ("untouched", "fault", "new_fault") or r["fate"] == "stale" and droop[r["number"]] >= FILM_SHOWS]
    repaired = [r for r in told if r["fate"] == "relearned" and droop[r["number"]] >= FILM_SHOWS]
    false = [r for r in broken if r["verdict"] == "repaired"]
    felt = [r for r in repaired if r["felt"]]
    hidden = [r for r in repaired if not r["felt"]]
    missed = [r for r in felt if r["verdict"] != "repaired"]
    unseen = [r for r in hidden if r["verdict"] not in ("repaired", "improved")]
    out["pairs"], out["skipped"] = len(results), len(results) - len(done)
    out["unread"] = [(r["number"], r["shapes"], r["python"], r["compare_error"]) for r in done if not r["verdict"]]
    out["false_repaired"] = (len(false), len(broken), [r["number"] for r in false])
    out["missed_repair"] = (len(missed), len(felt), [r["number"] for r in missed])
    out["missed_hidden"] = (len(unseen), len(hidden), [r["number"] for r in unseen])
    for known in (True, False):
        out[f"missed_{'with' if known else 'without'}_engine"] = (sum(r["with_car"] == known for r in missed), sum(r["with_car"] == known for r in felt))
    out["said_of_felt"] = Counter(r["verdict"] for r in felt)
    out["said_of_hidden"] = Counter(r["verdict"] for r in hidden)
    out["verdicts"] = {fate: Counter(r["verdict"] for r in told if r["fate"] == fate) for fate in FATES}
    holds = defaultdict(list)
    for r in done:
        for name, truth, low, high in r.get("effects", []):
            holds[name].append(low <= truth <= high)
        if "film" in r:
            holds["film"].append(r["film"][0] <= r["film_um"] <= r["film"][1])
    effects = [held for name, every in holds.items() if name != "film" for held in every]
    out["effects_hold"] = (sum(effects), len(effects))
    out["film_holds"] = (sum(holds["film"]), len(holds["film"]))
    means = [row for r in done for row in r.get("numpy", [])]
    out["means_off"] = ([row for row in means if abs(row[1] - row[2]) > 1e-3 + 1e-5 * abs(row[2])], len(means))
    out["by_reading"] = {name: (sum(held), len(held)) for name, held in sorted(holds.items())}
    return out


def judge(out, pairs, bars):
    """Bars that are missed, in words."""
    bad = []
    if bars == "none":
        return bad
    for what, bar in (("false_repaired", 0.02), ("missed_repair", 0.05)):
        count, of, which = out[what]
        if of and count / of > bar and chance(count, of, bar) < 0.01:
            bad.append(f"{what}: {count} of {of}, bar {100 * bar:.0f} %; pairs {which[:12]}")
    least, most = (0.87, 0.95) if pairs >= 2000 else (0.84, 0.96)
    for what in ("effects_hold", "film_holds") if bars == "all" else ():
        held, of = out[what]
        if of >= 50 and not least <= held / of <= most:
            bad.append(f"{what}: {held} of {of}, wanted {100 * least:.0f} to {100 * most:.0f} %")
    if out["means_off"][0]:
        bad.append(f"means that are not numpy's: {out['means_off'][0][:4]}")
    if out["unread"]:
        bad.append(f"{len(out['unread'])} pairs could not be compared: {out['unread'][:3]}")
    return bad


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("program")
    parser.add_argument("--pairs", type=int, default=200)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--seed", type=int, default=20)
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--json")
    parser.add_argument("--bars", choices=("none", "verdicts", "all"), default="none")
    parser.add_argument("--estimate-every", type=int, default=4, help="of the pairs: an estimate takes longer than all the rest")
    parser.add_argument("--days", choices=("scatter", "car"), default="scatter")
    parser.add_argument("--shapes", default=",".join(instrument.SHAPES))
    asked = parser.parse_args()
    program = str(Path(asked.program).resolve())
    with concurrent.futures.ProcessPoolExecutor(asked.jobs) as pool:
        results = list(pool.map(one, *zip(*[(program, asked.seed, asked.first + i, asked.shapes.split(","), asked.estimate_every, asked.days) for i in range(asked.pairs)]), chunksize=4))
    if asked.json:
        Path(asked.json).write_text(json.dumps(results, indent=1))
    out = summary(results)
    for key, value in out.items():
        print(f"{key}: {dict(value) if isinstance(value, Counter) else value}")
    bad = judge(out, asked.pairs, asked.bars)
    for line in bad:
        print("FAILED:", line)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
