"""Cases of the alien garage: cars, faults, readings, and the truth beside them.

A case is a car of a model with one cause (or none). It has four data sets: readings of that car when it was good (another day),
readings with the fault, readings of another good car of the model (a third day), and for film cases a log of a slow opening,
clean and filmed. Car number k of simulator i draws from block 3 k + i of pi's digits; each draw has its own path.
"""
import os

import numpy

import instruments
import metered
import pressure
import turbo
from seeds import stream
from simulator import NO_FAULT, QUANTITY, draw_day

KINDS = {"metered": (metered, metered.Metered), "pressure": (pressure, pressure.Pressure), "turbo": (turbo, turbo.Turbo)}
DISTANCE_DETECTABLE = 3.3  # instrument and day standard deviations from the same car's good readings, noise-free
CANDIDATES = 120           # draws of a model at most until one idles as published figures say
REDRAWS = 8                # of a severity, each time nearer to the least, until the car runs


def causes_of(kind, model):
    return pressure.CAUSES_CABLE if model.get("cable") else KINDS[kind][0].CAUSES


def with_nominal(model, unit):
    """A unit and, for its computer's tables, the model that its maker calibrated."""
    return {**unit, **{"nominal_" + key: value for key, value in model.items()}}


def draw_cars(kind, count):
    """The models, two units of each, and how many draws a model took."""
    module, simulator = KINDS[kind]
    index = list(KINDS).index(kind)
    cars = []
    for k in range(count):
        rng = stream(3 * k + index)
        candidates = [module.draw_model(rng) for _ in range(CANDIDATES)]
        runs = simulator([with_nominal(m, m) for m in candidates], [draw_day(stream(0))] * CANDIDATES,
                         [NO_FAULT] * CANDIDATES).plausible()
        assert runs.any(), f"no plausible {kind} in {CANDIDATES} draws"
        first = int(numpy.argmax(runs))
        model = candidates[first]
        units = [with_nominal(model, module.draw_unit(model, stream(3 * k + index, path))) for path in (1, 2)]
        cars.append({"kind": kind, "index": k, "block": 3 * k + index, "model": model, "units": units, "draws": first + 1,
                     "card": draw_card(kind, model, stream(3 * k + index, 3))})
    return cars


def draw_card(kind, model, rng):
    """What one knows of a car without an engine file: from the papers, a rule, and a look at the data stream."""
    bore = "" if rng.uniform() < 0.5 else f"{round(2000.0 * model['bore_m'] * (1.0 + rng.normal(0.0, 0.005))) / 2.0:g}"
    return {"kind": kind, "throttle": "cable" if model.get("cable") else "electronic",
            "metering": "pressure" if kind == "pressure" else "air_flow",
            "displacement_cc": f"{round(model['displacement_m3'] * 1e6):d}", "cylinders": f"{model['cylinders']:.0f}",
            "compression": f"{model['compression']:.1f}", "automatic": "yes" if model["automatic"] else "no", "bore_mm": bore,
            "idle_rpm": f"{model['target_rpm']:.0f}", "spark_idle_deg": f"{round(model['spark_idle']):d}", "spark_2500_deg": f"{round(model['spark_2500']):d}",
            "altitude_m": f"{round(model['altitude_m'], -1):.0f}", "intake_c": "25", "fuel": "petrol"}


def draw_severity(cause, least, most, rng):
    """Even between the ends, in logarithms where the ends are more than tenfold apart; the same draw for every attempt."""
    share = rng.uniform()
    if most / least > 10.0 and cause != "film":
        return least * (most / least) ** share
    return least + (most - least) * share


def film_thickness_m(sim, share, blade_deg, steps):
    """Thickness of this simulator's own film that takes `share` of what is open at these blade angles; capped at what it can."""
    sim.grown = 1.0

    def lost(thickness):
        sim.f.film_thickness_m = thickness
        if hasattr(sim, "filmed"):
            area = metered.area_rows(sim.u, thickness, blade_deg[:, None])[:, 0]
            clean = metered.area_rows(sim.u, 0.0 * thickness, blade_deg[:, None])[:, 0]
        else:
            area = sim.area_m2(blade_deg)
            sim.f.film_thickness_m = 0.0 * thickness
            clean = sim.area_m2(blade_deg)
        beside = sim.valve_m2(sim.u, steps) * sim.u.cable if steps is not None else 0.0
        return (clean - area) / (clean + beside)

    low, high = 0.0 * share, 0.0 * share + 1.5e-3
    share = numpy.minimum(share, 0.97 * lost(high))
    for _ in range(40):
        middle = 0.5 * (low + high)
        over = lost(middle) > share
        low, high = numpy.where(over, low, middle), numpy.where(over, middle, high)
    return 0.5 * (low + high), lost(0.5 * (low + high))


def plan(cars, films):
    """The cases before anything runs: nothing, each cause once, and more films, each with its days and severity's seed."""
    cases = []
    for car in cars:
        table = causes_of(car["kind"], car["model"])
        names = ["nothing"] + list(table) + ["film"] * (films - 1)
        for number, cause in enumerate(names):
            days = [draw_day(stream(car["block"], 10 + number, day)) for day in range(3)]
            severity = 0.0 if cause == "nothing" else draw_severity(cause, *table[cause], stream(car["block"], 10 + number, 3))
            cases.append({"car": car, "number": number, "cause": cause, "severity": severity, "days": days, "redraws": 0,
                          "area_lost": 0.0,
                          "first": cause != "film" or number <= len(table)})
    return cases


def stalled_lanes(readings):
    return numpy.any([readings[c]["stalled"] for c in ("idle_ac", "drive", "hold_2500")], axis=0)


def run_lanes(kind, units, days, faults):
    sim = KINDS[kind][1](units, days, faults)
    return sim, sim.readings()


def lane(readings, i, listed):
    return {(condition, name): float(readings[condition][name][i]) for condition, name in listed}


def make(kind, count, films):
    """All cases of one simulator, complete."""
    cars = draw_cars(kind, count)
    cases = plan(cars, films)
    n = len(cases)
    own = [case["car"]["units"][0] for case in cases]
    other = [case["car"]["units"][1] for case in cases]
    day = [[case["days"][j] for case in cases] for j in range(3)]
    _, good = run_lanes(kind, own + own + other, day[0] + day[1] + day[2], [NO_FAULT] * (3 * n))
    blade, steps = good["idle"]["blade_deg"][n:2 * n], good["idle"].get("bypass_steps")
    steps = None if steps is None else steps[n:2 * n]
    faulty = run_faulty(kind, cases, own, day[1], blade, steps)
    for i in numpy.flatnonzero(stalled_lanes(good).reshape(3, n).any(axis=0)):
        faulty[i] = None  # a good car that stalls is no car to read
    finish(cases, good, faulty)
    return cars, cases


def run_faulty(kind, cases, own, days, blade, steps):
    """The faulty cars; one that stalls gets a smaller severity, counted, and at last is left out."""
    result, waiting = [None] * len(cases), list(range(len(cases)))
    for attempt in range(REDRAWS):
        pick = lambda values: [values[i] for i in waiting]
        shares = numpy.array([cases[i]["severity"] if cases[i]["cause"] == "film" else 0.0 for i in waiting])
        sizing = KINDS[kind][1](pick(own), pick(days), [NO_FAULT] * len(waiting))
        thickness, lost = film_thickness_m(sizing, shares, blade[waiting], None if steps is None else steps[waiting])
        faults = []
        for place, i in enumerate(waiting):
            fault = dict(NO_FAULT)
            if cases[i]["cause"] == "film":
                fault["film_thickness_m"], cases[i]["severity"] = thickness[place], float(lost[place])
                cases[i]["area_lost"] = float(lost[place])
            elif cases[i]["cause"] != "nothing":
                fault[QUANTITY[cases[i]["cause"]]] = cases[i]["severity"]
            cases[i]["fault"] = fault
            faults.append(fault)
        _, readings = run_lanes(kind, pick(own), pick(days), faults)
        stalled = stalled_lanes(readings)
        again = []
        for place, i in enumerate(waiting):
            if not stalled[place]:
                result[i] = {c: {name: values[place] for name, values in channels.items()} for c, channels in readings.items()}
            elif attempt + 1 < REDRAWS:
                least = causes_of(kind, cases[i]["car"]["model"])[cases[i]["cause"]][0] if cases[i]["cause"] != "nothing" else 0.0
                cases[i]["severity"] = least + 0.65 * (cases[i]["severity"] - least)
                cases[i]["redraws"] += 1
                again.append(i)
        waiting = again
        if not waiting:
            break
    return result


def finish(cases, good, faulty):
    """Numbers on the screen, and how far the fault stands out of the same car's good days."""
    n = len(cases)
    rows = {}
    for i, case in enumerate(cases):
        rows.setdefault(case["car"]["block"], []).extend([i, n + i])
    for i, case in enumerate(cases):
        car = case["car"]
        listed = instruments.selection(stream(car["block"], 4), car["model"], good)
        case["runs"] = faulty[i] is not None
        if not case["runs"]:
            continue
        exact = {key: lane(good, row, listed) for key, row in (("own", i), ("twin", n + i), ("other", 2 * n + i))}
        exact["faulty"] = {(c, name): float(faulty[i][c][name]) for c, name in listed}
        days = numpy.array([[good[c][name][row] for c, name in listed] for row in rows[car["block"]]])
        errors = numpy.array([instruments.sd(name, exact["twin"][c, name]) for c, name in listed])
        moved = numpy.array([exact["faulty"][key] - exact["twin"][key] for key in listed])
        covariance = numpy.cov(days.T) + numpy.diag(errors ** 2)
        case["distance"] = float(numpy.sqrt(moved @ numpy.linalg.solve(covariance, moved)))
        case["detectable"] = case["cause"] != "nothing" and case["distance"] > DISTANCE_DETECTABLE
        rough = 1.0 + 3.0 * max(case["fault"]["spark_missing_pct"], case["fault"]["cylinder_compression_loss_pct"]) / 100.0
        rng = stream(car["block"], 10 + case["number"], 4)
        case["exact"] = exact
        case["read"] = {key: {pair: instruments.read(rng, pair[1], value, rough if key == "faulty" else 1.0) for pair,
                              value in exact[key].items()}
                        for key in ("own", "faulty", "other")}


def name_of(case):
    return f"{case['car']['kind']}-{case['car']['index']:02d}-{case['number']:02d}-{case['cause']}"


def write(case, folder):
    """Files of one case: own.csv, faulty.csv, other.csv, card.csv, truth.csv."""
    os.makedirs(folder, exist_ok=True)
    says = {"own": "the car when it was good", "faulty": "the car as it came", "other": "another car of the model, good"}
    for key, readings in case["read"].items():
        instruments.write_list(os.path.join(folder, key + ".csv"), readings, says[key])
    with open(os.path.join(folder, "card.csv"), "w", encoding="ascii") as out:
        out.write("name,value\n" + "".join(f"{key},{value}\n" for key, value in case["car"]["card"].items()))
    with open(os.path.join(folder, "truth.csv"), "w", encoding="ascii") as out:
        out.write("cause,severity,area_lost_pct,distance,detectable\n")
        out.write(f"{case['cause']},{case['severity']:.4g},{100.0 * case['area_lost']:.2f},{case['distance']:.2f},{int(case['detectable'])}\n")


def write_logs(kind, cases, folder_of):
    """log_clean.csv and log_filmed.csv of these film cases: a slow opening, five rounds a second, each value as its step shows it."""
    simulator = KINDS[kind][1]
    meter = "map_kpa" if kind == "pressure" else "maf_gps"
    polls = ["speed_rpm", "tp_pct", meter, "spark_deg", "stft_pct", "ltft_pct", "coolant_c", "intake_c"]
    units = [case["car"]["units"][0] for case in cases]
    # A single row flickers more than what one reads off over seconds; temperatures do not flicker.
    roughness = {name: 0.0 if name.endswith("_c") else 2.0 for name in polls}
    for title, path, faults in (("clean", 5, [NO_FAULT] * len(cases)), ("filmed", 6, [case["fault"] for case in cases])):
        sim = simulator(units, [case["days"][1] for case in cases], faults)
        sim.run("idle", sim.IDLE_S)
        rows = sim.slow_opening(polls)
        for i, case in enumerate(cases):
            rng = stream(case["car"]["block"], 10 + case["number"], path)
            with open(os.path.join(folder_of(case), f"log_{title}.csv"), "w", encoding="ascii") as out:
                out.write("time_s," + ",".join(polls) + "\n")
                for time_s, values in rows:
                    cells = (instruments.read(rng, name, float(values[name][i]), roughness[name]) for name in polls)
                    out.write(f"{time_s:.1f}," + ",".join(map(instruments.text, cells)) + "\n")
