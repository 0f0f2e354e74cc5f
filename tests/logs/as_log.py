#!/usr/bin/env python3
"""as_log.py PROGRAM: `run --as-log` held against run.csv, by readers that share no code with the program.

Truths: the scalings of docs/readings.md (SAE J1979 / ISO 15031-5), written down here once more; the rows of run.csv; statistics of
uniform rounding (variance step^2 / 12) by numpy."""
import csv
import io
import math
import re
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy

SHAPES = "wide rates polled held long times semicolon utf16 preamble clock iso samples ms us thousands ragged invalid".split()
# abbreviation: name, channel of run.csv and factor to the unit, step, offset, asked in every so-manieth round, noise
SIGNALS = {
    "RPM": ("Engine RPM", "speed_rpm", 1, 0.25, 0, 1, 1.0),
    "TP": ("Absolute Throttle Position", "tps1_v", 20, 100 / 255, 0, 1, 0.05),
    "MAF": ("Air Flow Rate from Mass Air Flow Sensor", "maf_gps", 1, 0.01, 0, 1, 0.02),
    "SPARKADV": ("Ignition Timing Advance for #1 Cylinder", "spark_deg", 1, 0.5, -64, 1, 0.2),
    "LOAD_PCT": ("Calculated LOAD Value", "load_pct", 1, 100 / 255, 0, 2, 0.0),
    "SHRTFT1": ("Short Term Fuel Trim - Bank 1", "stft_pct", 1, 100 / 128, -100, 2, 0.0),
    "LONGFT1": ("Long Term Fuel Trim - Bank 1", "ltft_pct", 1, 100 / 128, -100, 5, 0.0),
    "ECT": ("Engine Coolant Temperature", "coolant_c", 1, 1, -40, 10, 0.2),
    "IAT": ("Intake Air Temperature", "intake_c", 1, 1, -40, 10, 0.2),
    "VPWR": ("Control Module Voltage", "battery_v", 1, 0.001, 0, 5, 0.03),
}
NAMES = {row[0]: short for short, row in SIGNALS.items()}
# as written: unit: factor, offset back to the standard's; pound and inch of mercury: NIST SP 811
UNITS = {"F": (1 / 1.8, -32 / 1.8), "lb/min": (453.59237 / 60, 0), "kg/h": (1 / 3.6, 0), "mbar": (0.1, 0), "inHg": (3.38638, 0)}
failures = []


def check(what, good):
    if not good:
        failures.append(what)
        print("FAILED:", what)


def run(program, folder, scenario, shapes, *options):
    words = [program, "run", scenario, "--solver", "fast", "--format", "none", "--quiet", "--out", str(folder / "out")]
    for shape in shapes:
        words += ["--as-log", str(folder / f"{shape}.csv"), "--log-shape", shape]
    subprocess.run(words + list(options), check=True)
    with open(folder / "out" / "run.csv", newline="") as file:
        rows = list(csv.reader(file))
    return {name: numpy.array([float(row[i]) if row[i] else math.nan for row in rows[1:]]) for i, name in enumerate(rows[0])}


def text_of(path, shape):
    data = path.read_bytes()
    if shape == "utf16":
        assert data[:2] == b"\xff\xfe"
        return data.decode("utf-16")
    if shape == "thousands":
        assert data[:3] == b"\xef\xbb\xbf"
    return data.decode("latin-1" if shape == "semicolon" else "utf-8-sig")


def number(cell, shape):
    if cell == "":
        return math.nan
    if shape == "semicolon":
        cell = cell.replace(",", ".")
    if shape == "thousands":
        check(f"thousands: {cell}", ("," in cell) == (abs(float(cell.replace(",", ""))) >= 1000))
        cell = cell.replace(",", "")
    return float(cell)


def seconds(cell, shape):
    if shape in ("clock", "iso"):
        day, clock = (cell.split("T") if shape == "iso" else ("2024-12-31" if cell > "12" else "2025-01-01", cell))
        hour, minute, second = clock.split(":")
        return (24 if day.startswith("2025-01-01") else 0) * 3600 + 3600 * int(hour) + 60 * int(minute) + float(second) - 86380
    return number(cell, shape) / (1000 if shape == "ms" else 1)


def table(path, shape):
    """Time column, and the columns by abbreviation, in the standard's units."""
    separator = {"semicolon": ";", "utf16": "\t"}.get(shape, ",")
    rows = list(csv.reader(io.StringIO(text_of(path, shape)), delimiter=separator))
    if shape in ("preamble", "samples"):
        check(f"{shape}: lines before the header", rows[2] == [] or rows[2] == [""])
        rows = rows[3:]
    header, units = rows[0], None
    if shape == "preamble":
        units, rows = rows[1], rows[1:]
    rows = [row + [""] * (len(header) - len(row)) for row in rows[1:] if row]
    columns = {}
    for at, cell in enumerate(header[1:], 1):
        name, unit = re.fullmatch(r"(.*?)(?: \(([^)]*)\))?", cell).groups()
        unit = (units[at] if units else unit) or ""
        short = NAMES.get(name, name)
        if short not in SIGNALS:
            check(f"{shape}: header {cell}", False)
            continue
        factor, offset = UNITS.get(unit, (1, 0))
        columns[short] = numpy.array([factor * number(row[at], shape) + offset for row in rows])
    return [row[0] for row in rows], columns


def answers_of(path, shape="polled"):
    """Of a shape with one answer a line: one list of (time, value) a signal, and all answers in order."""
    times, columns = table(path, shape)
    found, order = {short: [] for short in columns}, []
    for i, time in enumerate(times):
        there = [short for short in columns if not math.isnan(columns[short][i])]
        check(f"{shape}: line {i} has one answer", len(there) == 1)
        found[there[0]].append((seconds(time, shape), columns[there[0]][i]))
        order.append((seconds(time, shape), there[0], columns[there[0]][i]))
    return found, order


def same(a, b, within):
    a, b = numpy.asarray(a), numpy.asarray(b)
    return len(a) == len(b) and bool(numpy.all((numpy.abs(a - b) <= within) | (numpy.isnan(a) & numpy.isnan(b))))


def check_values(found, truth, noise):
    for short, (_, channel, factor, step, offset, _, sd) in SIGNALS.items():
        times, values = numpy.array(found[short]).T
        raw = (values - offset) / step
        decimals = {"RPM": 2, "MAF": 2, "VPWR": 3, "ECT": 0, "IAT": 0}.get(short, 1)
        check(f"{short} is in steps of its bytes", numpy.all(numpy.abs(raw - numpy.round(raw)) * step <= 0.5 * 10**-decimals + 1e-9))
        # the last row before it; times are written to the millisecond, so within one of a row either may be meant
        row = numpy.minimum(((times + 0.0011) / 0.1).astype(int), len(truth[channel]) - 1)
        sure = (times + 0.0011) % 0.1 > 0.0022
        plain = (values - factor * truth[channel][row])[sure]
        if noise == 0:
            most, within = numpy.abs(plain).max(), 0.5 * step + 0.5 * 10**-decimals + 0.051 * (short == "RPM") + 0.011 * (short == "TP")
            check(f"{short} without noise is within half a step: {most:.4f}", most <= within)
        else:
            want = math.sqrt((noise * sd) ** 2 + step**2 / 12)
            if short in ("RPM", "MAF", "VPWR"):  # steps well below the noise: the rest hangs on where the value stands between steps
                got = float(numpy.std(plain))
                check(f"{short}: spread {got:.4f} about the row, {want:.4f} expected", abs(got / want - 1) < 4 / math.sqrt(2 * len(plain)) + 0.02)


def check_rates(found):
    rounds = len(found["RPM"])
    for short, row in SIGNALS.items():
        check(f"{short} is asked in every {row[5]}. round", abs(len(found[short]) - rounds / row[5]) <= 2)
    gaps = numpy.diff(sorted(time for values in found.values() for time, _ in values))
    check("answers come at their rate", abs(gaps.mean() * 20 - 1) < 0.01 and gaps.min() > 0.01 and gaps.max() < 0.1)


def check_shapes(folder, order):
    shorts = list(SIGNALS)
    held, lines, rounds, due = dict.fromkeys(shorts, math.nan), [], [], []
    for time, short, value in order:
        held[short] = value
        lines.append(dict(held))
        if short == "RPM":
            rounds.append([time, dict(held)])
            due.append([time, dict.fromkeys(shorts, math.nan)])
        rounds[-1][1][short] = due[-1][1][short] = value
        rounds[-1][1] = dict(held)
    coarse = {"us": {"MAF": 0.0038, "ECT": 0.3, "IAT": 0.3}, "semicolon": {"MAF": 0.0015}}
    for shape in SHAPES:
        path = folder / f"{shape}.csv"
        if shape in ("long", "times", "polled"):
            continue
        times, columns = table(path, shape)
        by_line = shape in ("held", "clock")
        expected = lines if by_line else [row for _, row in (due if shape in ("rates", "ragged") else rounds)]
        when = [time for time, _, _ in order] if by_line else [time for time, _ in rounds]
        if shape == "samples":
            check("samples are counted from 0", times == [str(i) for i in range(len(rounds))])
        elif shape == "held":
            check("run time is whole and repeats", all(cell.isdigit() for cell in times) and len(set(times)) < len(times) / 15)
        else:
            check(f"{shape}: times", same([seconds(cell, shape) for cell in times], when, 0.0061))
        for short in shorts:
            want = [row[short] for row in expected]
            if shape == "clock":
                want = [value if short == name else math.nan for _, name, value in order]
            got = columns[short]
            if shape == "invalid" and short == "RPM":
                wrong = numpy.arange(1, len(got) + 1) % 53 == 0
                check("invalid: every 53rd speed has all bits set", wrong.sum() >= 5 and numpy.all(got[wrong] == 16383.75))
                got = numpy.where(wrong, want, got)
            check(f"{shape}: {short}", same(got, want, coarse.get(shape, {}).get(short, 1e-9)))
    rows = list(csv.reader(open(folder / "long.csv", encoding="utf-8")))
    check("long: header", rows[0] == ["Time (s)", "Name", "Value", "Unit"])
    check("long: every answer", [(float(r[0]), NAMES[r[1]], float(r[2])) for r in rows[1:]] == order)
    rows = list(csv.reader(open(folder / "times.csv", encoding="utf-8")))
    for at, short in enumerate(shorts):
        pairs = [(float(r[2 * at]), float(r[2 * at + 1])) for r in rows[1:] if len(r) > 2 * at and r[2 * at]]
        check(f"times: {short}", rows[0][2 * at] == "Time (s)" and pairs == [(t, v) for t, name, v in order if name == short])


def main():
    program = str(Path(sys.argv[1]).resolve())
    top = Path(__file__).resolve().parents[2]
    scenario = str(top / "scenarios" / "slow-opening.cfg")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for sub in ("a", "b", "c", "d"):
            (folder / sub).mkdir()
        truth = run(program, folder / "a", scenario, SHAPES)
        check_values(answers_of(folder / "a" / "clock.csv", "clock")[0], truth, 1)
        found, order = answers_of(folder / "a" / "polled.csv")
        check_rates(found)
        check_shapes(folder / "a", order)
        truth = run(program, folder / "b", scenario, ["clock"], "--log-noise", "0", "--seed", "3")
        check_values(answers_of(folder / "b" / "clock.csv", "clock")[0], truth, 0)
        run(program, folder / "c", scenario, SHAPES)
        run(program, folder / "d", scenario, ["polled"], "--seed", "3")
        for shape in SHAPES:
            check(f"{shape}: the same bytes again", (folder / "a" / f"{shape}.csv").read_bytes() == (folder / "c" / f"{shape}.csv").read_bytes())
        check("another seed, other bytes", (folder / "a" / "polled.csv").read_bytes() != (folder / "d" / "polled.csv").read_bytes())
        listed = subprocess.run([program, "list", "log-shapes"], check=True, capture_output=True, text=True).stdout.splitlines()[1:]
        check("every shape of the list is tried here", [line.split()[0] for line in listed] == SHAPES)
    print(f"{len(failures)} failed")
    return 1 if failures else 0


sys.exit(main())
