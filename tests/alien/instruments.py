"""What a scan tool shows of an exact value: the flicker that is left when one looks for some seconds, then the standard's step.

Steps are those of SAE J1979; the flicker is invented, of the size of one real car's logs (speed 3 rpm, trims 1.7 %, spark 0.9 deg).
"""
import numpy

# name: (step, flicker sd of what is read off, share of the value added to it)
READINGS = {
    "speed_rpm": (0.25, 1.5, 0.0),
    "target_rpm": (1.0, 0.0, 0.0),
    "tp_pct": (100 / 255, 0.08, 0.0),
    "blade_pct": (100 / 255, 0.08, 0.0),
    "maf_gps": (0.01, 0.0, 0.008),
    "map_kpa": (1.0, 0.25, 0.0),
    "load_pct": (100 / 255, 0.25, 0.0),
    "spark_deg": (0.5, 0.5, 0.0),
    "stft_pct": (100 / 128, 0.9, 0.0),
    "ltft_pct": (100 / 128, 0.3, 0.0),
    "trim_pct": (100 / 128, 0.9, 0.0),
    "bypass_steps": (1.0, 0.5, 0.0),
    "coolant_c": (1.0, 0.4, 0.0),
    "intake_c": (1.0, 0.5, 0.0),
    "barometer_kpa": (1.0, 0.15, 0.0),
}

# What is listed at each condition, if the car has it and its scan tool shows it; a model keeps its own selection.
LISTED = {"key_on": ("tp_pct", "barometer_kpa", "map_kpa"),
          "idle": ("speed_rpm", "target_rpm", "tp_pct", "blade_pct", "maf_gps", "map_kpa", "load_pct", "spark_deg", "stft_pct", "ltft_pct",
                   "bypass_steps",
                   "coolant_c", "intake_c"),
          "idle_ac": ("speed_rpm", "tp_pct", "maf_gps", "map_kpa", "spark_deg", "bypass_steps"), "drive": ("speed_rpm", "tp_pct",
                                                                                                           "maf_gps", "map_kpa"),
          "hold_2500": ("tp_pct", "maf_gps", "map_kpa", "load_pct", "trim_pct")}
# Share of models whose tool or whose technician leaves the item out.
LEFT_OUT = {"target_rpm": 0.25, "blade_pct": 0.5, "load_pct": 0.3, "intake_c": 0.1, "barometer_kpa": 0.3}
CONDITION_LEFT_OUT = {"idle_ac": 0.2, "drive": 0.1, "hold_2500": 0.1, "key_on": 0.1}


def selection(rng, model, channels):
    """The (condition, name) pairs that are read of this model's cars; a draw is taken for each, had or not."""
    listed = []
    dropped = {name for name, share in LEFT_OUT.items() if rng.uniform() < share}
    for condition, names in LISTED.items():
        kept = rng.uniform() >= CONDITION_LEFT_OUT.get(condition, 0.0)
        if not kept or (condition == "drive" and not model["automatic"]):
            continue
        for name in names:
            if name in channels[condition] and name not in dropped and not (name == "bypass_steps" and not model.get("cable")):
                listed.append((condition, name))
    return listed


def sd(name, value):
    """Standard deviation of a reading about the exact value: flicker and step together."""
    step, flicker, share = READINGS[name]
    return float(numpy.sqrt((flicker + share * abs(value)) ** 2 + step ** 2 / 12.0))


def read(rng, name, value, roughness=1.0):
    """The number on the screen."""
    step, flicker, share = READINGS[name]
    seen = value + (flicker + share * abs(value)) * roughness * rng.standard_normal()
    origin = -100.0 if name in ("stft_pct", "ltft_pct", "trim_pct") else -64.0 if name == "spark_deg" else 0.0
    return float(origin + step * round((seen - origin) / step))


def text(value):
    return f"{value:.5g}"


def write_list(path, readings, comment):
    """A file in the form that the program reads: name, condition, value."""
    with open(path, "w", encoding="ascii") as out:
        out.write(f"# {comment}\nname,condition,value\n")
        for (condition, name), value in readings.items():
            out.write(f"{name},{condition},{text(value)}\n")
