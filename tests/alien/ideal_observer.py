#!/usr/bin/env python3
"""How much do the readings of the alien garage tell? An observer who knows the simulator's own equations, the unit, and how its days vary, and
who has the car's good readings, asks which cause explains a list best.

    /usr/bin/python3 tests/alien/ideal_observer.py --cars 3

For each cause of the simulator 21 severities are run; days are drawn 60 times; the change against the good readings is normal with twice the
days' and the instruments' covariance, and each effect may be off by a share that the observer does not know (--off). The severity is integrated
evenly over its range. What is left is what no estimate from such readings can do better, but for luck; an estimate knows less: neither the
equations nor that the causes are only these.
"""
import argparse
import collections
import os
import sys

import numpy as np

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import cases as garage  # noqa: E402
import instruments  # noqa: E402
from seeds import stream  # noqa: E402
from simulator import NO_FAULT, QUANTITY, draw_day  # noqa: E402

SEVERITIES, DAYS = 21, 60


def mean_day():
    days = [draw_day(stream(7, 7, i)) for i in range(400)]
    return {key: float(np.mean([day[key] for day in days])) for key in days[0]}


def thickness_m(kind, unit, day, good, share):
    """Thickness of a film that takes this share of the idle air area."""
    simulator = garage.KINDS[kind][1]([unit], [day], [NO_FAULT])
    steps = good["idle"].get("bypass_steps")
    thickness, _ = garage.film_thickness_m(simulator, np.array([share]), good["idle"]["blade_deg"][:1], None if steps is None else steps[:1])
    return thickness[0]


def effects(kind, car, listed):
    """Readings of the good car, their covariance from day to day, and (cause, readings) of every severity that runs."""
    unit, day = car["units"][0], mean_day()
    days = [draw_day(stream(9, car["block"], i)) for i in range(DAYS)]
    _, good = garage.run_lanes(kind, [unit] * (DAYS + 1), [day] + days, [NO_FAULT] * (DAYS + 1))
    faults, names = [], []
    for cause, (least, most) in garage.causes_of(kind, car["model"]).items():
        for share in np.linspace(0, 1, SEVERITIES):
            wide = cause != "film" and most / least > 10
            severity = least * (most / least) ** share if wide else least + (most - least) * share
            value = thickness_m(kind, unit, day, good, severity) if cause == "film" else severity
            faults.append({**NO_FAULT, QUANTITY[cause]: value})
            names.append(cause)
    _, read = garage.run_lanes(kind, [unit] * len(faults), [day] * len(faults), faults)
    stalled = garage.stalled_lanes(read)
    table = lambda source, count: np.array([[source[c][n][i] for c, n in listed] for i in range(count)])
    days = table(good, DAYS + 1)
    rows = table(read, len(faults))
    return days[0], np.cov(days[1:].T), [(name, row) for name, row, out in zip(names, rows, stalled) if not out]


def log_density(change, expected, covariance, off):
    whole = covariance + np.diag((off * expected) ** 2 + 1e-9)
    miss = change - expected
    return -0.5 * (float(miss @ np.linalg.solve(whole, miss)) + np.linalg.slogdet(whole)[1])


def judge(case, base, covariance, moved, listed, off):
    change = np.array([case["read"]["faulty"][key] - case["read"]["own"][key] for key in listed])
    scores = collections.defaultdict(list)
    for cause, row in moved:
        scores[cause].append(log_density(change, row - base, covariance, off))
    total = {cause: np.logaddexp.reduce(values) - np.log(SEVERITIES) for cause, values in scores.items()}
    total["nothing"] = log_density(change, 0.0 * base, covariance, off)
    return max(total, key=total.get)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--cars", type=int, default=2)
    parser.add_argument("--off", type=float, nargs="*", default=[0.0, 0.2, 0.4, 0.6])
    args = parser.parse_args()
    first, count = collections.Counter(), 0
    for kind in garage.KINDS:
        cars, cases = garage.make(kind, args.cars, 2)
        for car in cars:
            mine = [c for c in cases if c["car"] is car and c["runs"]]
            listed = list(mine[0]["read"]["faulty"])
            base, days, moved = effects(kind, car, listed)
            errors = np.diag([instruments.sd(name, value) ** 2 for (_, name), value in zip(listed, base)])
            for case in mine:
                if not case["first"] or not case["detectable"] or case["cause"] == "nothing":
                    continue
                count += 1
                for off in args.off:
                    first[off] += judge(case, base, 2.0 * (days + errors), moved, listed, off) == case["cause"]
    for off in args.off:
        print(f"effects off by {100 * off:.0f} %: true cause first in {first[off]} of {count} detectable cases ({100 * first[off] / count:.0f} %)")


if __name__ == "__main__":
    main()
