"""Looks at the texts of SVG pictures as gnuplot 5.4 writes them: are they inside, apart from each other, from marks, from coloured
curves and black dashes, dark and large enough? Do numbers of two scales run into one, do numbered flags cover each other?

    picture_texts.py [--slide] [--as-png] [--list] PICTURE ...

Prints what is wrong and ends with status 1. Widths are estimates (0.52 of the letters' size each, DejaVu Sans), so texts count as
overlapping only if they share a sixth of the smaller one's box. A curve may touch a text's box; it counts if it goes through the
middle. Words on a ground of their own may stand over curves, but none over them. --slide: digits must be 2.5 % of the height. --as-png: of a picture for
paper or a screen, whose letters are a third larger as PNG. --list: tells only.
"""
import html
import re
import sys

DIGIT = 0.729  # height of a digit over the letters' size, DejaVu Sans
WIDE = 0.52
PLAIN = 18.0  # letters of no size of their own, the same in both
# Widths of letters over their size, DejaVu Sans 2.37; others are taken for 0.65.
WIDTHS = dict(zip('abcdefghijklmnopqrstuvwxyz', (
    .613, .635, .550, .635, .615, .352, .635, .634, .278, .278, .579, .278, .974, .634, .612, .635, .635, .411, .521, .392, .634, .592, .818, .592,
    .592, .525)), **dict.fromkeys('0123456789µ', .636), **dict.fromkeys(' ,.', .318), **{'%': .950, '-': .361, ':': .337, '/': .337, '_': .5, 'I': .295})
FLAG = re.compile(r"<polygon fill = 'rgb\(  0,   0,   0\)' points = '([^']*)'")
DASHES = re.compile(r"<path stroke='(?:black|rgb\(  0,   0,   0\))' stroke-dasharray='[^']*'\s*d='([^']*)'")
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


def flags_of(svg):
    """Discs: (centre, radius)."""
    for points in FLAG.findall(svg):
        places = [tuple(map(float, point.split(','))) for point in points.split()]
        left, right = min(x for x, _ in places), max(x for x, _ in places)
        top, bottom = min(y for _, y in places), max(y for _, y in places)
        if len(places) > 30 and abs((right - left) - (bottom - top)) < 0.1 * (right - left):
            yield 0.5 * (left + right), 0.5 * (top + bottom), 0.5 * (right - left)


def cut_at_side(text, x, size, anchor, width):
    wide = size * sum(WIDTHS.get(letter, .65) for letter in text)
    left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * wide
    return left < -1 or left + wide > width + 1


def run_together(one, other, size):
    """Numbers on one line, nearer than digits of two numbers may be."""
    gap = max(one[0], other[0]) - min(one[2], other[2])
    return abs(one[3] - other[3]) < 1 and gap < 0.3 * size


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


def drawn_over(svg):
    """Words with a ground of their own that a later line of black dashes crosses."""
    for found in GROUP.finditer(svg):
        if "filter:" not in found[7]:
            continue
        text, box, _, _ = next(texts_of(found[0].replace("filter:", "")))
        for line in DASHES.finditer(svg, found.end()):
            last = None
            for kind, x, y in POINT.findall(line[1]):
                now = float(x), float(y)
                if kind == "L" and last and goes_through((last, now), box):
                    yield f"dashes over '{text}'"
                last = now


def faults_of(path, slide, larger):
    svg = open(path, encoding="utf-8").read()
    yield from drawn_over(svg)
    flags = list(flags_of(svg))
    for i, (x, y, r) in enumerate(flags):
        if any((x - a) ** 2 + (y - b) ** 2 < (0.96 * (r + q)) ** 2 for a, b, q in flags[:i]):
            yield f"flags over each other at {x:.0f},{y:.0f}"
    width, height = (float(n) for n in re.search(r'viewBox="0 0 (\d+) (\d+)"', svg).groups())
    texts = list(texts_of(svg, larger))
    marks, pieces = list(marks_of(svg)), list(pieces_of(svg))
    grounds = {html.unescape(re.sub(r"<[^>]*>", "", g[7])).strip() for g in GROUP.findall(svg) if "filter:" in g[6]}
    if not texts:
        yield "no text at all"
    for x, y, turn, _, size, anchor, _, inner in GROUP.findall(svg):
        text = html.unescape(re.sub(r"<[^>]*>", "", inner)).strip()
        if not turn and cut_at_side(text, float(x), float(size) * (larger if float(size) != PLAIN else 1.0), anchor, width):
            yield f"cut at the side: '{text}'"
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
            elif text.isdigit() and other.isdigit() and run_together(box, theirs, size):
                yield f"read as one: '{other}' and '{text}'"
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
