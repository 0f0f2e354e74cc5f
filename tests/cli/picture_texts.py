"""Looks at the texts of SVG pictures as gnuplot 5.4 writes them: are they inside, apart from each other, dark and large enough?

    picture_texts.py [--slide] [--list] PICTURE ...

Prints what is wrong and ends with status 1. Widths are estimates (0.6 of the letters' size each, DejaVu Sans), so texts count as
overlapping only if they share a third of the smaller one's box. --slide: digits must be 2.5 % of the height. --list: tells only.
"""
import html
import re
import sys

DIGIT = 0.729  # height of a digit over the letters' size, DejaVu Sans
WIDE = 0.56
GROUP = re.compile(
    r'<g transform="translate\(([-\d.]+),([-\d.]+)\)(?: rotate\(([-\d.]+)\))?" stroke="none" fill="([^"]+)"[^>]*font-size="([\d.]+)"'
    r'[^>]*text-anchor="(\w+)"[^>]*>\s*<text>(.*?)</text>', re.S)


def luminance(colour):
    if colour == "black":
        rgb = (0, 0, 0)
    elif colour == "white":
        rgb = (255, 255, 255)
    else:
        rgb = [int(n) for n in re.findall(r"\d+", colour)]
    linear = [c / 255 / 12.92 if c / 255 <= 0.03928 else ((c / 255 + 0.055) / 1.055) ** 2.4 for c in rgb]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def texts_of(svg):
    for x, y, turn, fill, size, anchor, inner in GROUP.findall(svg):
        text = html.unescape(re.sub(r"<[^>]*>", "", inner)).strip()
        if not text:
            continue
        x, y, size = float(x), float(y), float(size)
        wide = WIDE * size * len(text)
        start = {"start": 0, "middle": -wide / 2, "end": -wide}[anchor]
        if turn and abs(float(turn)) > 45:
            box = (x - 0.75 * size, y - start - wide, x + 0.1 * size, y - start)
        else:
            box = (x + start, y - 0.75 * size, x + start + wide, y + 0.1 * size)
        yield text, box, fill, size


def shared(a, b):
    wide = min(a[2], b[2]) - max(a[0], b[0])
    high = min(a[3], b[3]) - max(a[1], b[1])
    area = min((box[2] - box[0]) * (box[3] - box[1]) for box in (a, b))
    return wide * high / area if wide > 0 and high > 0 else 0.0


def faults_of(path, slide):
    svg = open(path, encoding="utf-8").read()
    width, height = (float(n) for n in re.search(r'viewBox="0 0 (\d+) (\d+)"', svg).groups())
    texts = list(texts_of(svg))
    if not texts:
        yield "no text at all"
    for i, (text, box, fill, size) in enumerate(texts):
        if box[0] < -0.02 * width or box[2] > 1.04 * width or box[1] < -2 or box[3] > height + 2:
            yield f"cut: '{text}'"
        bright = luminance(fill)
        if bright < 0.9 and 1.05 / (bright + 0.05) < 4.5:  # white letters stand on dark marks
            yield f"too pale: '{text}' {fill}"
        if slide and DIGIT * size < 0.025 * height:
            yield f"too small: '{text}' {DIGIT * size / height:.4f} of the height"
        for other, theirs, _, _ in texts[:i]:
            if shared(box, theirs) > 0.34:
                yield f"overlap: '{text}' and '{other}'"


def main(words):
    slide, only_list = "--slide" in words, "--list" in words
    found = 0
    for path in (word for word in words if not word.startswith("--")):
        for fault in faults_of(path, slide):
            print(f"{path}: {fault}")
            found += 1
    return 0 if only_list else found > 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
