#!/usr/bin/env python3
"""test_shapes.py LOG_DUMP [--count N] [--seed S]: true numbers in, numbers out, through logs of every shape.

Each choice of shapes.py alone, then N mixed ones. Truth: the numbers that were written; they must come back to half a step of what stands in
the file, at their times to a millisecond (the run time of an engine: to a second, in order, and no row lost)."""
import argparse
import math
import os
import random
import subprocess
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import shapes  # noqa: E402

STARTS = {"clock": 0.0}


def signals_of(rng, layout, clock):
    """Invented: an idle, then a rise. Rates differ where the layout has them."""
    span, step = 40.0, 0.25
    values = {
        "speed_rpm": lambda t: 850 + 400 * math.sin(t / 5) ** 2 + rng.uniform(-5, 5),
        "tp_pct": lambda t: 15 + rng.uniform(-1, 1),
        "maf_gps": lambda t: 3 + 2 * math.sin(t / 5) ** 2 + rng.uniform(0, 0.2),
        "manifold_kpa": lambda t: 33 + 8 * math.sin(t / 7) + rng.uniform(0, 0.3),
        "coolant_c": lambda t: 88 + t / 20,
        "battery_v": lambda t: 14.1 + rng.uniform(-0.2, 0.2),
        "stft_pct": lambda t: rng.uniform(-4, 4),
        "air_conditioning": lambda t: float(t > 20),
    }
    every = {"coolant_c": 4, "battery_v": 2, "air_conditioning": 2} if layout not in ("wide", "unit_columns") else {}
    apart = layout in ("polled", "held", "long", "long_by_name", "times", "times_behind")
    out = {}
    for i, (name, value) in enumerate(values.items()):
        start = round(i * step / 10, 3) if apart else 0.0
        times = [round(start + k * step, 3) for k in range(int(span / step)) if k % every.get(name, 1) == 0]
        out[name] = [(t, value(t)) for t in times]
    if clock == "run":  # in the order in which they are asked, one after the other
        series = sorted((t, n, v) for n, pairs in out.items() for t, v in pairs)
        out = {name: [] for name in values}
        for i, (_, name, value) in enumerate(series):
            out[name].append((round(0.04 * i, 3), value))
    return out


def rounded(channel, value, s):
    """What stands in the file, in the channel's unit, and half a step of it."""
    if channel == "air_conditioning":
        return value, 1e-9
    unit, factor, offset, decimals = shapes.unit_of(channel, s)
    return (round(factor * value + offset, decimals) - offset) / factor, 0.5 * 10**-decimals / factor * 1.000001 + 1e-9


def read(dump, path, needs, folder):
    words = [dump, str(path), "", ""]
    if needs["map"]:
        (folder / "map.csv").write_text("header,name\n" + needs["map"], encoding="utf-8")
        words[2] = str(folder / "map.csv")
    if needs["rate"]:
        words[3] = repr(needs["rate"])
    done = subprocess.run([word for word in words if word or words.index(word) == 2] if needs["rate"] else words[:3], capture_output=True, text=True)
    if done.returncode != 0:
        return None, done.stderr
    lines = done.stdout.splitlines()
    names = lines[0].split(",")
    series = {name: [] for name in names[1:]}
    times = []
    for line in lines[1:]:
        cells = line.split(",")
        times.append(float(cells[0]))
        for name, text in zip(names[1:], cells[1:]):
            if text:
                series[name].append((float(cells[0]), float(text)))
    return (times, series), done.stderr


def held(series, times):
    """A value a row, as it was held."""
    return [value for time, value in series if times]


def compare(signals, s, needs, found):
    times, series = found
    first = min(t for pairs in signals.values() for t, _ in pairs)
    problems = []
    begin = times[0]
    if set(series) != set(signals):
        return [f"channels {sorted(series)}"]
    if any(b <= a for a, b in zip(times, times[1:])):
        problems.append("times do not rise")
    if s["layout"] == "held":
        count = sum(map(len, signals.values()))
        if len(times) != count:
            problems.append(f"{len(times)} rows of {count}")
        order = sorted((t, name, v) for name, pairs in signals.items() for t, v in pairs)
        now = {}
        at = {name: 0 for name in signals}
        for (t, name, v), time in zip(order, times):
            now[name] = v
            if abs(time - t) > 1.0:
                problems.append(f"row at {t} read at {time}")
                break
            for other, value in now.items():
                got = series[other][at[other]][1]
                at[other] += 1
                want, half = rounded(other, value, s)
                if abs(got - want) > half * 1e-3 + 1e-6:
                    problems.append(f"{other} {got} for {want}")
                    return problems
        return problems
    clock = {"s": 0.0006, "ms": 0.0006, "min": 0.0001, "epoch": 0.0006}.get(s["clock"], 0.0006)
    shift = first if s["clock"] in ("day", "day12", "iso", "iso_blank", "iso_zone", "epoch", "minutes", "local_date") else 0.0
    if s["clock"].startswith("samples"):
        shift, clock = 0.0, 0.01
    for name, pairs in signals.items():
        want = list(pairs)
        if s["invalid"] and name == "speed_rpm" and s["layout"] in ("wide", "rates"):
            want = [pair for i, pair in enumerate(want) if i % 17 != 16]
        got = series[name]
        if len(got) != len(want):
            problems.append(f"{name}: {len(got)} values of {len(want)}")
            continue
        for (t, v), (time, value) in zip(want, got):
            true, half = rounded(name, v, s)
            if abs(value - true) > half * 1e-3 + 1e-6:
                problems.append(f"{name} at {t}: {value} for {true}")
                break
            if abs(value - v) > half + 1e-6:
                problems.append(f"{name} at {t}: {value} for {v}, half a step is {half}")
                break
            if abs(time - (t - shift)) > clock:
                problems.append(f"{name}: read at {time} for {t - shift}")
                break
    return problems


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("dump")
    parser.add_argument("--count", type=int, default=150)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    rng = random.Random(options.seed)
    wanted = [{name: value} for name, values in shapes.CHOICES.items() for value in values]
    for _ in range(options.count):
        wanted.append({name: rng.choice(values) for name, values in shapes.CHOICES.items() if rng.random() < 0.6})
    failed = 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for shape in wanted:
            s = shapes.settle(shape)
            signals = signals_of(rng, s["layout"], s["clock"])
            path = folder / "log.csv"
            try:
                s, needs = shapes.write(path, signals, shape)
            except UnicodeEncodeError:
                continue
            found, notes = read(options.dump, path, needs, folder)
            problems = compare(signals, s, needs, found) if found else ["not read"]
            if needs["invalid"] and notes.count("65535 is not a reading") == 0:
                problems.append("65535 rpm is not said")
            if problems:
                failed += 1
                kept = {k: v for k, v in s.items() if v != shapes.CHOICES[k][0]}
                print("FAILED:", kept, problems[:3], notes[:600])
                if os.environ.get("KEEP"):
                    Path(os.environ["KEEP"], f"failed{failed}.csv").write_bytes(path.read_bytes())
    print(f"{len(wanted)} logs, {failed} failed")
    return 1 if failed else 0


sys.exit(main())
