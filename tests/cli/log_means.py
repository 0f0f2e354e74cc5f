#!/usr/bin/env python3
"""log_means.py PROGRAM FOLDER: means of logs that numpy draws, as the program gives them and as numpy computes them.

Truth: numpy (mean, std, autocovariances) and scipy (Student's t); shares no code with the program. The series
are AR(1), held as a polled value is, and rounded as an instrument does; 90 % intervals must hold the mean that they were drawn with."""
import json, math, subprocess, sys

import numpy as np
from scipy.stats import norm, t

Z95 = norm.ppf(0.95)


def standard_error(x):
    """The formula at the top of log_mean.h, with numpy."""
    n, d = len(x), x - x.mean()
    c = np.correlate(d, d, "full")[n - 1:] / n
    pairs = (c[0:n - 1:2] + c[1:n:2])[: n // 2] / c[0]
    end = int(np.argmax(pairs <= 0)) if (pairs <= 0).any() else len(pairs)
    tau = min(max(2 * np.minimum.accumulate(pairs[:end]).sum() - 1, 1), n)
    effective = max(n / tau, 2)
    variance = c[0] * effective / (effective - 1)
    freedom = max(min(effective - 1, n / (2 * end - 1)), 1)
    steps = np.abs(np.diff(x))
    step = steps[steps > 1e-9 * abs(x[0])].min()
    left = step / math.sqrt(12)
    if np.ptp(x) >= 1.5 * step:
        left *= math.exp(-2 * math.pi**2 * max(x.var(ddof=1) - step**2 / 12, 0) / step**2)
    return math.hypot(math.sqrt(variance / effective) * t.ppf(0.95, freedom) / Z95, left)


def draw(random, length, phi, held, step):
    values, x = [], random.normal()
    middle = 850 + random.uniform(0, 4)
    for _ in range(length // held):
        x = phi * x + math.sqrt(1 - phi * phi) * random.normal()
        value = middle + 6 * x
        values += [round(value / step) * step if step else value] * held
    return middle, np.round(values, 6)


def main():
    program, folder = sys.argv[1:]
    random, held_truth, count = np.random.default_rng(14), 0, 0
    for phi, held, step in [(0, 1, 0), (0.9, 1, 0), (0.5, 9, 0), (0.9, 1, 4), (0.3, 18, 0.25)] * 12:
        middle, x = draw(random, 900, phi, held, step)
        path = f"{folder}/means.csv"
        with open(path, "w") as f:
            f.write("Time (s),Engine RPM\n" + "".join(f"{i / 10:.1f},{v:.6f}\n" for i, v in enumerate(x)))
        got = json.loads(subprocess.run([program, "phases", path, "--at", "idle=0:", "--json"], check=True,
                                        capture_output=True, text=True).stdout)
        got = next(p for p in got["phases"] if p["by_hand"])["means"]["speed_rpm"]
        assert abs(got["mean"] - x.mean()) < 1e-5, (got, x.mean())
        assert abs(got["sd"] - x.std(ddof=1)) < 1e-5, (got, x.std(ddof=1))
        assert abs(got["se"] / standard_error(x) - 1) < 0.02, (phi, held, step, got, standard_error(x))
        held_truth += abs(got["mean"] - middle) <= Z95 * got["se"]
        count += 1
    print(f"{held_truth} of {count} intervals of 90 % hold the truth")
    assert 48 <= held_truth <= 59  # 80 to 98.5 %: what 60 draws at 90 % give in 99 of 100 cases


main()
