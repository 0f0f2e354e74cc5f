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
    """What one knows of a car without an engine file: from the papers, a rule, and a look at the data stream. What a number
    means on it half of the people know, and where the springs hold the blade with the key on, the stop's reading is not known."""
    knows = {name: rng.uniform() < 0.5 for name in ("bore", "load", "relative", "key_on", "floor")}
    bore = 1000.0 * model["bore_m"] * (1.0 + rng.normal(0.0, 0.005))
    rest = model["rest_pct"] > 0.0
    card = {
        "kind": "cable" if model.get("cable") else "electronic", "metering": "pressure" if kind == "pressure" else "air_flow",
        "turbo": "yes" if kind == "turbo" else "no", "gearbox": "automatic" if model["automatic"] else "manual",
        "displacement_l": f"{round(model['displacement_m3'] * 1e6) / 1000:g}", "cylinders": f"{model['cylinders']:.0f}",
        "compression": f"{model['compression']:.1f}", "bore_mm": f"{round(2.0 * bore) / 2.0:g}" if knows["bore"] else "",
        "stop_pct": "" if rest else f"{model['position_offset'] + model['position_slope'] * model.get('stop_deg', 0.0):.1f}",
        "floor_pct": f"{min(99.6, model['position_offset'] + 84.0 * model['position_slope']):.1f}" if knows["floor"] else "",
        "idle_rpm": f"{model['target_rpm']:.0f}", "idle_ac_rpm": f"{model['target_rpm'] + model['target_ac']:.0f}",
        "idle_drive_rpm": f"{model['target_rpm'] + model['target_drive']:.0f}" if model["automatic"] else "",
        "spark_idle_deg": f"{round(model['spark_idle']):d}", "spark_2500_deg": f"{round(model['spark_2500']):d}",
        "altitude_m": f"{round(model['altitude_m'], -1):.0f}", "fuel": "petrol",
        "load_means": ("pressure_ratio" if model["load_kind"] else "standard") if knows["load"] else "",
        "relative_means": "above_stop" if knows["relative"] and not model["relative_fixed"] else "",
        "key_on_means": ("rest" if rest else "stop") if knows["key_on"] else "",
    }
    return {name: value for name, value in card.items() if value}


def draw_severity(cause, least, most, rng):
    """Even between the ends, in logarithms where the ends are more than tenfold apart; the same draw for every attempt."""
    share = rng.uniform()
    if most / least > 10.0 and cause != "film":
        return least * (most / least) ** share
    return least + (most - least) * share


def share_lost(sim, thickness_m, blade_deg, steps):
    """Share of what is open at these blade angles that a film of this thickness, by the simulator's own law, takes."""
    sim.grown = 1.0
    areas = []
    for film in (0.0 * thickness_m, thickness_m):
        sim.f.film_thickness_m = film
        if isinstance(sim, metered.Metered):  # its curves are made when it starts
            areas.append(metered.area_rows(sim.u, film, blade_deg[:, None])[:, 0])
        else:
            areas.append(sim.area_m2(blade_deg))
    beside = sim.valve_m2(sim.u, steps) * sim.u.cable if isinstance(sim, pressure.Pressure) else 0.0
    return (areas[0] - areas[1]) / (areas[0] + beside)


def film_thickness_m(sim, share, blade_deg, steps):
    """Thickness of this simulator's own film that takes `share` of what is open at these blade angles, capped at what it can, and
    the share that it takes."""
    low, high = 0.0 * share, 0.0 * share + 1.5e-3
    share = numpy.minimum(share, 0.97 * share_lost(sim, high, blade_deg, steps))
    for _ in range(40):
        middle = 0.5 * (low + high)
        over = share_lost(sim, middle, blade_deg, steps) > share
        low, high = numpy.where(over, low, middle), numpy.where(over, middle, high)
    thickness = 0.5 * (low + high)
    return thickness, share_lost(sim, thickness, blade_deg, steps)


def plan(cars, films):
    """The cases before anything runs: nothing, each cause once, and more films, each with its days and severity's seed."""
    cases = []
    for car in cars:
        table = causes_of(car["kind"], car["model"])
        names = ["nothing"] + list(table) + ["film"] * (films - 1)
        for number, cause in enumerate(names):
            days = [draw_day(stream(car["block"], 10 + number, day)) for day in range(3)]
            severity = 0.0 if cause == "nothing" else draw_severity(cause, *table[cause], stream(car["block"], 10 + number, 3))
            cases.append({"car": car, "number": number, "cause": cause, "severity": severity, "days": days,
                          "drawn": ("nothing", *table), "redraws": 0,
                          "area_lost": 0.0, "area_lost_there": 0.0,
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
        thinner = share_lost(sizing, thickness, readings["idle"]["blade_deg"], readings["idle"].get("bypass_steps"))
        again = []
        for place, i in enumerate(waiting):
            if not stalled[place]:
                cases[i]["area_lost_there"] = float(thinner[place])
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
        out.write("cause,severity,area_lost_pct,area_lost_there_pct,distance,detectable\n")
        lost = f"{100.0 * case['area_lost']:.2f},{100.0 * case['area_lost_there']:.2f}"
        out.write(f"{case['cause']},{case['severity']:.4g},{lost},{case['distance']:.2f},{int(case['detectable'])}\n")


def write_logs(kind, cases, folder_of):
    """log_clean.csv (a day when it was good), log_filmed.csv (the day of the film) and log_again.csv (that day, were it not for
    the film) of these film cases: a slow opening, five rounds a second, each value as its step shows it."""
    simulator = KINDS[kind][1]
    meter = "map_kpa" if kind == "pressure" else "maf_gps"
    polls = ["speed_rpm", "tp_pct", meter, "spark_deg", "stft_pct", "ltft_pct", "coolant_c", "intake_c"]
    units = [case["car"]["units"][0] for case in cases]
    sound, filmed = [NO_FAULT] * len(cases), [case["fault"] for case in cases]
    # A single row flickers more than what one reads off over seconds; temperatures do not flicker.
    roughness = {name: 0.0 if name.endswith("_c") else 2.0 for name in polls}
    for title, path, day, faults in (("clean", 5, 0, sound), ("filmed", 6, 1, filmed), ("again", 7, 1, sound)):
        sim = simulator(units, [case["days"][day] for case in cases], faults)
        sim.run("idle", sim.IDLE_S)
        rows = sim.slow_opening(polls)
        for i, case in enumerate(cases):
            rng = stream(case["car"]["block"], 10 + case["number"], path)
            with open(os.path.join(folder_of(case), f"log_{title}.csv"), "w", encoding="ascii") as out:
                out.write("time_s," + ",".join(polls) + "\n")
                for time_s, values in rows:
                    cells = (instruments.read(rng, name, float(values[name][i]), roughness[name]) for name in polls)
                    out.write(f"{time_s:.1f}," + ",".join(map(instruments.text, cells)) + "\n")
