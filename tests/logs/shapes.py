"""A table of signals written in the shapes in which instruments and spreadsheets write logs. Shares no code with the program; the
standard library only. A shape is a dict of the choices below; what is not named is the first of its kind. None is any instrument's format.

write(path, signals, shape) takes {channel: [(time in s, value in the channel's unit), ...]} and returns what a perfect reader would find:
{channel: [(time, value, half a step of what was written), ...]}, the times' own uncertainty, and what must be told (map, rate)."""
import csv
import datetime
import io
import math

CHOICES = {
    "layout": ["wide", "rates", "polled", "held", "long", "long_by_name", "times", "times_behind", "unit_columns"],
    "clock": ["s", "ms", "min", "day", "day12", "iso", "iso_blank", "iso_zone", "epoch", "minutes", "local_date", "samples", "samples_told", "run"],
    "delimiter": [",", ";", "\t", "|"],
    "decimal": [".", ","],
    "thousands": ["", ",", ".", " ", "'", "\u00a0"],
    "encoding": ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "latin-1"],
    "header": ["brackets", "square", "comma", "row", "row_brackets", "short", "own", "mapped"],
    "units": ["standard", "us", "metric", "other"],
    "line_end": ["\n", "\r\n", "\r"],
    "quoted": [False, True],
    "preamble": [0, 1, 4],
    "ragged": [False, True],
    "blank_lines": [False, True],
    "trailing": [False, True],
    "invalid": [False, True],
}

# channel: J1979 name, short name, name to be mapped, unit, decimals, {units: (unit, factor, offset, decimals)}; factors of NIST SP 811
NAMES = {
    "speed_rpm": ("Engine RPM", "RPM", "Drehzahl", "rpm", 2, {"other": ("1/min", 1, 0, 0)}),
    "tp_pct": ("Absolute Throttle Position", "TP", "Drosselklappe", "%", 1, {}),
    "maf_gps": ("Air Flow Rate from Mass Air Flow Sensor", "MAF", "Luftmasse", "g/s", 2,
                {"us": ("lb/min", 60 / 453.59237, 0, 4), "metric": ("kg/h", 3.6, 0, 2), "other": ("kg/s", 1e-3, 0, 6)}),
    "manifold_kpa": ("Intake Manifold Absolute Pressure", "MAP", "Saugrohrdruck", "kPa", 1,
                     {"us": ("inHg", 1 / 3.38638, 0, 2), "metric": ("mbar", 10, 0, 0), "other": ("psi", 1 / 6.894757, 0, 3)}),
    "coolant_c": ("Engine Coolant Temperature", "ECT", "Kühlmittel", "\u00b0C", 0, {"us": ("\u00b0F", 1.8, 32, 1), "other": ("K", 1, 273.15, 2)}),
    "battery_v": ("Control Module Voltage", "VPWR", "Batterie", "V", 3, {"metric": ("mV", 1000, 0, 0)}),
    "stft_pct": ("Short Term Fuel Trim - Bank 1", "SHRTFT1", "Kurzzeittrimm", "%", 1, {}),
    "air_conditioning": ("Air Conditioning Request", "A/C", "Klima", "", 0, {}),
}
OWN = {"1/min": "rpm"}
SECONDS = {"s": 1, "ms": 1e-3, "min": 60, "epoch": 1, "run": 1}
DAY_START = datetime.datetime(2024, 12, 31, 23, 59, 40)  # so that midnight and new year are crossed


def settle(shape):
    """The choices all named, and such as contradict each other mended."""
    s = {name: values[0] for name, values in CHOICES.items()} | shape
    if s["thousands"] == s["decimal"]:
        s["thousands"] = ""
    if s["layout"] == "held":
        s["clock"] = "run"
    if s["clock"] == "run":
        s["layout"] = "held"
    if s["clock"] in ("samples", "samples_told") and s["layout"] not in ("wide", "rates"):
        s["clock"] = "s"
    if s["layout"] in ("long", "long_by_name") and s["header"] in ("row", "row_brackets"):
        s["header"] = "brackets"
    if s["layout"] == "unit_columns":
        s["header"] = "short"
    if s["header"] == "comma" and s["delimiter"] == ",":
        s["quoted"] = True
    if s["header"] == "own":
        s["units"] = "standard"
    if s["clock"] == "samples":
        s["preamble"] = max(s["preamble"], 1)
    if s["layout"] in ("times", "times_behind"):
        s["ragged"] = False
        if s["clock"] in ("day", "day12", "local_date"):
            s["clock"] = "iso"
    if s["layout"] == "long_by_name" and s["clock"] in ("day", "day12", "local_date"):
        s["clock"] = "iso"
    return s


def number(value, decimals, s):
    text = f"{value:.{decimals}f}"
    sign, digits = ("-", text[1:]) if text[0] == "-" else ("", text)
    whole, _, rest = digits.partition(".")
    if s["thousands"]:
        groups = []
        while len(whole) > 3:
            groups.insert(0, whole[-3:])
            whole = whole[:-3]
        whole = s["thousands"].join([whole] + groups)
    return sign + whole + (s["decimal"] + rest if rest else "")


def unit_of(channel, s):
    """unit, factor, offset, decimals"""
    _, _, _, unit, decimals, others = NAMES[channel]
    return others.get(s["units"], (unit, 1, 0, decimals))


def title(channel, s):
    full, short, mapped, *_ = NAMES[channel]
    unit = unit_of(channel, s)[0]
    if s["header"] == "own":
        return channel
    name = {"short": short, "mapped": mapped}.get(s["header"], full)
    if not unit or s["header"] in ("row", "row_brackets"):
        return name
    if s["header"] == "short":  # as the standard has it, no unit; another one must be told
        return name if s["units"] == "standard" or s["layout"] == "unit_columns" else f"{name} ({unit})"
    return {"square": f"{name} [{unit}]", "comma": f"{name}, {unit}"}.get(s["header"], f"{name} ({unit})")


def time_title(s):
    clock = s["clock"]
    if clock in ("samples", "samples_told"):
        return "Sample"
    if clock == "run":
        return "Time Since Engine Start" + ("" if s["header"].startswith("row") else " (s)")
    if clock in ("ms", "min"):
        return f"Time ({clock})" if not s["header"].startswith("row") else "Time"
    if clock in ("s", "epoch") and not s["header"].startswith("row"):
        return "time_s" if s["header"] == "own" else "Time (s)"
    return "Time"


def stamp(time, index, s):
    """The cell, and how far the time in it may be from the true one."""
    clock = s["clock"]
    moment = DAY_START + datetime.timedelta(seconds=round(time, 3))
    ms = f"{moment.microsecond // 1000:03d}"
    if clock in ("samples", "samples_told"):
        return str(index)
    if clock == "run":
        return str(int(math.floor(time + 1e-9)))
    if clock == "min":
        return number(time / 60, 6, s)
    if clock == "ms":
        return number(time * 1000, 0, s)
    if clock == "epoch":
        return number(time + 1735689580, 3, s)
    if clock == "minutes":
        return f"{int(time // 60)}:{int(time % 60):02d}{s['decimal']}{round(time % 1 * 1000):03d}"
    if clock == "day":
        return f"{moment:%H:%M:%S}{s['decimal']}{ms}"
    if clock == "day12":
        return f"{moment:%I:%M:%S}.{ms} {moment:%p}"
    if clock == "local_date":
        return f"{moment:%d.%m.%Y %H:%M:%S}{s['decimal']}{ms}"
    if clock == "iso":
        return f"{moment:%Y-%m-%dT%H:%M:%S}.{ms}"
    if clock == "iso_blank":
        return f"{moment:%Y-%m-%d %H:%M:%S}.{ms}"
    if clock == "iso_zone":
        return f"{moment:%Y-%m-%dT%H:%M:%S}.{ms}+01:00"
    return number(time, 3, s)


def cell(channel, value, s):
    if channel == "air_conditioning":
        return str(int(value)) if s["header"] != "short" else ("ON" if value else "OFF")
    unit, factor, offset, decimals = unit_of(channel, s)
    return number(factor * value + offset, decimals, s)


def rows_of(signals, s):
    """Header rows and data rows, as lists of cells."""
    channels = list(signals)
    layout = s["layout"]
    events = sorted((time, i, channel, value) for i, channel in enumerate(channels) for time, value in signals[channel])
    if layout in ("long", "long_by_name"):
        if layout == "long_by_name":
            events.sort(key=lambda event: (event[1], event[0]))
        bare = s | {"header": {"mapped": "mapped", "short": "short"}.get(s["header"], "row"), "units": s["units"]}
        names = {channel: title(channel, bare | {"layout": "unit_columns"}) if s["header"] != "own" else channel for channel in channels}
        for channel in channels:
            names[channel] = names[channel].split(" (")[0]
        return [[time_title(s), "Name", "Value", "Unit"]], [
            [stamp(time, i, s), names[channel], cell(channel, value, s), unit_of(channel, s)[0] if s["header"] != "own" else ""]
            for i, (time, _, channel, value) in enumerate(events)]
    if layout in ("times", "times_behind"):
        before = layout == "times"
        head = [text for channel in channels for text in ([time_title(s), title(channel, s)] if before else [title(channel, s), time_title(s)])]
        units = [text for channel in channels for text in
                 (["s" if s["clock"] in ("s", "epoch") else s["clock"] if s["clock"] in ("ms", "min") else "", unit_of(channel, s)[0]][:: 1 if before else -1])]
        data = []
        for i in range(max(map(len, signals.values()))):
            row = []
            for channel in channels:
                pair = [stamp(signals[channel][i][0], i, s), cell(channel, signals[channel][i][1], s)] if i < len(signals[channel]) else ["", ""]
                row += pair if before else pair[::-1]
            data.append(row)
        return [head, units], data
    head = [time_title(s)]
    units = ["s" if s["clock"] in ("s", "epoch", "run") else s["clock"] if s["clock"] in ("ms", "min") else ""]
    for channel in channels:
        head += [title(channel, s)] + (["Unit"] if layout == "unit_columns" else [])
        units += [unit_of(channel, s)[0]]
    groups = [[event] for event in events]
    if layout not in ("polled", "held"):
        groups = []
        for event in events:
            if groups and groups[-1][0][0] == event[0]:
                groups[-1].append(event)
            else:
                groups.append([event])
    data, held = [], {}
    for i, group in enumerate(groups):
        now = {channel: value for _, _, channel, value in group}
        held |= now
        row = [stamp(group[0][0], i, s)]
        for channel in channels:
            shown = held if layout == "held" else now
            row.append(cell(channel, shown[channel], s) if channel in shown else "")
            if layout == "unit_columns":
                row.append(unit_of(channel, s)[0])
        data.append(row)
    return [head, units], data


def write(path, signals, shape):
    s = settle(shape)
    heads, data = rows_of(signals, s)
    lines = []
    step = None
    if s["clock"] in ("samples", "samples_told"):
        times = sorted({time for series in signals.values() for time, _ in series})
        step = (times[-1] - times[0]) / (len(times) - 1)
    for i in range(s["preamble"]):
        lines.append([f"Samples per second: {1 / step:.6f}"] if step and i == 0 and s["clock"] == "samples" else [f"Written for a test {chr(65 + i)}"])
    lines.append(heads[0])
    if s["header"] == "row":
        lines.append(heads[1])
    if s["header"] == "row_brackets":
        lines.append([f"[{unit}]" if unit else "" for unit in heads[1]])
    invalid = 0
    for i, row in enumerate(data):
        if s["invalid"] and s["layout"] in ("wide", "rates") and i % 17 == 16:
            row[1] = "65535"
            invalid += 1
        while s["ragged"] and len(row) > 1 and row[-1] == "":
            row = row[:-1]
        lines.append(row + ([""] if s["trailing"] else []))
        if s["blank_lines"] and i % 7 == 3:
            lines.append([])
    out = io.StringIO()
    writer = csv.writer(out, delimiter=s["delimiter"], quoting=csv.QUOTE_ALL if s["quoted"] else csv.QUOTE_MINIMAL, lineterminator=s["line_end"])
    for row in lines:
        writer.writerow(row) if row else out.write(s["line_end"])
    with open(path, "wb") as file:
        file.write(out.getvalue().encode(s["encoding"]))
    return s, {"map": "".join(f"{NAMES[channel][2]},{channel}\n" for channel in signals) if s["header"] == "mapped" else None,
               "rate": 1 / step if s["clock"] == "samples_told" else None, "invalid": invalid}
