"""A log written from the rows of a run, sharing no line with `run --as-log`: polls, flickers, rounds to the bytes of SAE J1979 /
ISO 15031-5 service 01 (steps from the table of docs/readings.md) and writes one of the shapes in which instruments write.

The flicker is invented, of the size of one real car's standing logs. Times jitter; now and then an answer is lost."""
import csv
import io
import math

import numpy

# channel: name, short name, unit, step, origin, decimals, flicker, asked in every so-manieth round, factor from run.csv's channel
SIGNALS = {
    "speed_rpm": ("Engine RPM", "RPM", "rpm", 0.25, 0, 2, 1.5, 1, 1),
    "tps1_v": ("Absolute Throttle Position", "TP", "%", 100 / 255, 0, 1, 0.08, 1, 20),
    "maf_gps": ("Mass Air Flow Rate", "MAF", "g/s", 0.01, 0, 2, 0.02, 1, 1),
    "map_kpa": ("Intake Manifold Absolute Pressure", "MAP", "kPa", 1, 0, 0, 0.25, 1, 1),
    "spark_deg": ("Timing Advance", "SPARKADV", "deg", 0.5, -64, 1, 0.4, 2, 1),
    "load_pct": ("Calculated Load", "LOAD", "%", 100 / 255, 0, 1, 0.25, 2, 1),
    "stft_pct": ("Short Term Fuel Trim Bank 1", "SHRTFT1", "%", 100 / 128, -100, 1, 0.4, 2, 1),
    "ltft_pct": ("Long Term Fuel Trim Bank 1", "LONGFT1", "%", 100 / 128, -100, 1, 0.1, 4, 1),
    "coolant_c": ("Coolant Temperature", "ECT", "C", 1, -40, 0, 0.3, 6, 1),
    "intake_c": ("Intake Air Temperature", "IAT", "C", 1, -40, 0, 0.3, 6, 1),
    "battery_v": ("Control Module Voltage", "VPWR", "V", 0.001, 0, 3, 0.03, 6, 1),
}
SHAPES = "wide rates polled held long times semicolon utf16 preamble clock iso samples ms us thousands ragged invalid".split()
US = {"C": ("F", 1.8, 32, 0), "kPa": ("inHg", 1 / 3.38638, 0, 1), "g/s": ("lb/min", 60 / 453.59237, 0, 2)}
OTHER = {"kPa": ("hPa", 10, 0, 0), "g/s": ("kg/h", 3.6, 0, 1)}
LOST = 0.003  # share of requests that nobody answers


def poll(rng, rows, from_s, rate_hz):
    """[(time, channel, value)] of a run's columns, the rounds they belong to, and the channels."""
    time = rows["time_s"]
    channels = [name for name in SIGNALS if name in rows and not math.isnan(rows[name][0])]
    answers, rounds, request, number = [], [], 0, 0
    while True:
        for at, name in enumerate(channels):
            _, _, _, step, origin, _, flicker, every, factor = SIGNALS[name]
            if number and (number + at) % every:
                continue
            now = from_s + (request + 0.2 * rng.random()) / rate_hz
            request += 1
            if now > time[-1]:
                return answers, rounds, channels
            lost, draw = rng.random() < LOST, rng.standard_normal()
            if lost and number:
                continue
            row = int(numpy.searchsorted(time, now, "right")) - 1
            value = factor * rows[name][row] + flicker * draw
            answers.append((now - from_s, name, origin + step * max(round((value - origin) / step), 0)))
            rounds.append(number)
        number += 1


def convert(shape, unit, value, decimals):
    table = US if shape == "us" else OTHER if shape == "semicolon" else {}
    if unit not in table:
        return unit, value, decimals
    to, factor, offset, more = table[unit]
    return to, factor * value + offset, decimals + more


def write(path, shape, answers, rounds, channels, run_time_s=900.0):
    """Writes the file; the shapes are those of `bladegap list log-shapes`."""
    comma = {"semicolon": ";", "utf16": "\t"}.get(shape, ",")
    short = shape in ("ms", "samples")

    def head(name):
        text = SIGNALS[name][1 if short else 0]
        return text if short or shape == "preamble" else f"{text} ({convert(shape, SIGNALS[name][2], 0, 0)[0]})"

    def cell(name, value):
        if value is None:
            return ""
        _, value, decimals = convert(shape, SIGNALS[name][2], value, SIGNALS[name][5])
        text = f"{value:,.{decimals}f}" if shape == "thousands" else f"{value:.{decimals}f}"
        return text.replace(".", ",") if shape == "semicolon" else text

    def stamp(time, line):
        day = 86400 - 35 + time  # over midnight
        clock = f"{int(day // 3600) % 24:02d}:{int(day // 60) % 60:02d}:{int(day) % 60:02d}.{int(day * 1000) % 1000:03d}"
        if shape == "clock":
            return clock
        if shape == "iso":
            return f"2023-02-28T{clock}" if day < 86400 else f"2023-03-01T{clock}"
        if shape == "held":
            return str(int(run_time_s + time))
        if shape == "samples":
            return str(line)
        text = f"{1000 * time:.0f}" if shape == "ms" else f"{time:.3f}"
        return text.replace(".", ",") if shape == "semicolon" else text

    title = {"clock": "Time", "iso": "Time", "held": "Time Since Engine Start (s)", "samples": "Sample", "ms": "Time (ms)", "preamble": "Time"}.get(shape, "Time (s)")
    lines = []
    if shape in ("preamble", "samples"):
        lines.append(["Made for a test"])
        if shape == "samples":
            lines.append([f"Samples per second: {(rounds[-1] + 1) / answers[-1][0]:.4f}"])
        lines.append([])
    if shape == "long":
        lines.append([title, "Name", "Value", "Unit"])
        lines += [[stamp(t, 0), SIGNALS[name][0], cell(name, value), SIGNALS[name][2]] for t, name, value in answers]
    elif shape == "times":
        lines.append([text for name in channels for text in (title, head(name))])
        series = [[(t, value) for t, other, value in answers if other == name] for name in channels]
        for i in range(max(map(len, series))):
            lines.append([text for name, s in zip(channels, series)
                          for text in ((stamp(s[i][0], 0), cell(name, s[i][1])) if i < len(s) else ("", ""))])
    else:
        lines.append([title] + [head(name) for name in channels])
        if shape == "preamble":
            lines.append(["s"] + [SIGNALS[name][2] for name in channels])
        by_answer, keep = shape in ("polled", "held", "clock"), shape not in ("polled", "clock", "rates", "ragged")
        held, first, current, count = dict.fromkeys(channels), None, None, 0
        for i, (time, name, value) in enumerate(answers):
            group = i if by_answer else rounds[i]
            if group != current:
                if not keep:
                    held = dict.fromkeys(channels)
                first, current = time, group
            held[name] = value
            if i + 1 == len(answers) or by_answer or rounds[i + 1] != group:
                row = [stamp(first, count)] + [cell(other, held[other]) for other in channels]
                if shape == "invalid" and count % 41 == 40:
                    row[1 + channels.index("speed_rpm")] = "65535"
                lines.append(row)
                count += 1
                if shape == "ragged" and count % 37 == 0:
                    lines.append([])
    out = io.StringIO()
    writer = csv.writer(out, delimiter=comma, quoting=csv.QUOTE_ALL if shape == "us" else csv.QUOTE_MINIMAL,
                        lineterminator="\r\n" if shape in ("us", "utf16") else "\n")
    for row in lines:
        while shape == "ragged" and row and row[-1] == "":
            row = row[:-1]
        writer.writerow(row)
    encoding = {"utf16": "utf-16", "thousands": "utf-8-sig", "semicolon": "latin-1"}.get(shape, "utf-8")
    with open(path, "wb") as file:
        file.write(out.getvalue().encode(encoding))
