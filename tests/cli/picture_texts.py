"""Looks at the texts of SVG pictures as gnuplot 5.4 writes them: are they inside, apart from each other, from marks and from coloured
curves, dark and large enough?

    picture_texts.py [--slide] [--as-png] [--list] PICTURE ...

Prints what is wrong and ends with status 1. Widths are estimates (0.52 of the letters' size each, DejaVu Sans), so texts count as
overlapping only if they share a sixth of the smaller one's box. A curve may touch a text's box; it counts if it goes through the
middle. Words on a ground of their own may stand over curves. --slide: digits must be 2.5 % of the height. --as-png: of a picture for
paper or a screen, whose letters are a third larger as PNG. --list: tells only.
"""
import html
import re
import sys

DIGIT = 0.729  # height of a digit over the letters' size, DejaVu Sans
WIDE = 0.52
PLAIN = 18.0  # letters of no size of their own, the same in both
GROUP = re.compile(
    r'<g transform="translate\(([-\d.]+),([-\d.]+)\)(?: rotate\(([-\d.]+)\))?" stroke="none" fill="([^"]+)"[^>]*font-size="([\d.]+)"'
    r'[^>]*text-anchor="(\w+)"([^>]*)>\s*<text>(.*?)</text>', re.S)


MARK = re.compile(r"<use xlink:href='#gpPt\d+' transform='translate\(([-\d.]+),([-\d.]+)\) scale\(([-\d.]+)\)")
CURVE = re.compile(r"<path stroke='rgb\(\s*(\d+),\s*(\d+),\s*(\d+)\)'[^>]*?\sd='([^']*)'")
POINT = re.compile(r"([ML])([-\d.]+),([-\d.]+)")


def luminance(colour):
    if colour == "black":
        rgb = (0, 0, 0)
    elif colour == "white":
        rgb = (255, 255, 255)
    else:
        rgb = [int(n) for n in re.findall(r"\d+", colour)]
    linear = [c / 255 / 12.92 if c / 255 <= 0.03928 else ((c / 255 + 0.055) / 1.055) ** 2.4 for c in rgb]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def texts_of(svg, larger=1.0):
    for x, y, turn, fill, size, anchor, boxed, inner in GROUP.findall(svg):
        text = html.unescape(re.sub(r"<[^>]*>", "", inner)).strip()
        if not text or "filter:" in boxed:  # written once more without its ground
            continue
        x, y, size = float(x), float(y), float(size)
        size *= larger if size != PLAIN else 1.0
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


def marks_of(svg):
    for x, y, size in MARK.findall(svg):
        yield float(x), float(y), 0.5 * float(size)


def pieces_of(svg):
    """Pieces of coloured lines; grey and black ones are axes, grids and frames."""
    for red, green, blue, path in CURVE.findall(svg):
        if red == green == blue:
            continue
        last = None
        for kind, x, y in POINT.findall(path):
            now = float(x), float(y)
            if kind == "L" and last:
                yield last, now
            last = now


def goes_through(piece, box):
    """Whether a piece of a line goes through the middle of a box: a third of its height, the ends left out."""
    (x1, y1), (x2, y2) = piece
    if max(x1, x2) < box[0] or min(x1, x2) > box[2] or max(y1, y2) < box[1] or min(y1, y2) > box[3]:
        return False
    high = box[3] - box[1]
    left, right, top, bottom = box[0] + 0.3 * high, box[2] - 0.3 * high, box[1] + high / 3, box[3] - high / 3
    enter, leave = 0.0, 1.0
    for start, way, low, most in ((x1, x2 - x1, left, right), (y1, y2 - y1, top, bottom)):
        if way == 0:
            if not low <= start <= most:
                return False
            continue
        one, other = sorted(((low - start) / way, (most - start) / way))
        enter, leave = max(enter, one), min(leave, other)
    return enter < leave


def faults_of(path, slide, larger):
    svg = open(path, encoding="utf-8").read()
    width, height = (float(n) for n in re.search(r'viewBox="0 0 (\d+) (\d+)"', svg).groups())
    texts = list(texts_of(svg, larger))
    marks, pieces = list(marks_of(svg)), list(pieces_of(svg))
    grounds = {html.unescape(re.sub(r"<[^>]*>", "", g[7])).strip() for g in GROUP.findall(svg) if "filter:" in g[6]}
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
            if shared(box, theirs) > 0.16:
                yield f"overlap: '{text}' and '{other}'"
        if luminance(fill) < 0.9 and any(box[0] - r < x < box[2] + r and box[1] - r < y < box[3] + r for x, y, r in marks):
            yield f"a mark under '{text}'"
        if text not in grounds and any(goes_through(piece, box) for piece in pieces):
            yield f"a curve through '{text}'"


def main(words):
    slide, only_list = "--slide" in words, "--list" in words
    larger = 4 / 3 if "--as-png" in words else 1.0
    found = 0
    for path in (word for word in words if not word.startswith("--")):
        for fault in faults_of(path, slide, larger):
            print(f"{path}: {fault}")
            found += 1
    return 0 if only_list else found > 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
