"""Numbers, units and number words, as a text prints them."""
import math
import re

# A channel's unit by the end of its name.
UNITS = (('_rpm', 'rpm'), ('_um', 'um'), ('_gps', 'g/s'), ('_kpa', 'kPa'), ('_mm2', 'mm2'), ('_deg', 'deg'), ('_pct', '%'),
         ('_v', 'V'), ('_a', 'A'), ('_c', 'C'), ('_s', 's'), ('_nm', 'Nm'), ('_steps', ''), ('_w', 'W'), ('_kg_s', 'kg/s'),
         ('_m', 'm'), ('_ohm', 'ohm'), ('_ratio', ''))
# How the same unit may be called, and what a value of the first is in the second.
NAMES = {'degrees': 'deg', 'degree': 'deg', 'percent': '%', 'pct': '%', 'seconds': 's', 'second': 's', 'minutes': 'min', 'minute': 'min',
         'gps': 'g/s', '1': '', None: '', 'ratio': '', 'volts': 'V', 'step': 'steps', 'celsius': 'C', 'degC': 'C'}
FACTORS = {('um', 'mm'): 1e-3, ('s', 'min'): 1.0 / 60.0, ('mm', 'um'): 1e3, ('', '%'): 100.0}
SMALL_WORDS = {word: number for number, word in enumerate(
    'zero one two three four five six seven eight nine ten eleven twelve'.split())}
SMALL_WORDS.update({'half': 0.5, 'twenty': 20, 'thirty': 30})
JSON_STEP = 1e-6  # numbers in the JSON have six decimals
NUMBER = re.compile(r'(?<![A-Za-z0-9_.])(?<![A-Za-z]-)[-\u2212]?\d+(?:[.,]\d+)*(?:e[-+]?\d+)?(?![A-Za-z0-9_])')
WORD_NUMBER = re.compile(r'\b(%s) (?=minutes?\b|seconds?\b|times\b|degrees?\b|percent\b|rpm\b)' % '|'.join(SMALL_WORDS), re.I)
ORDINAL = re.compile(r'\b(?:bank|banks|cylinder|track|tracks|sensor|circuit)s? \d(?: and \d)?\b|\b\d of \d\b|\(?[Bb]ank \d\)?', re.I)


def unit_of(channel):
    for end, unit in UNITS:
        if channel.endswith(end):
            return unit
    return ''


def plain_unit(unit):
    return NAMES.get(unit, unit)


def in_step(wanted, printed):
    """Whether two lists of numbers are the same, but for values that are printed twice."""
    told = 0
    for word in wanted:
        if told < len(printed) and word == printed[told]:
            told += 1
        elif word not in printed[:told]:
            return False
    return told == len(printed)


def numbers_of(text, ordinals=False):
    """The numbers that a text prints, in their order: digits, and words that count a unit; "bank 1" only if asked for."""
    found = [(match.start(), match.group().strip()) for match in WORD_NUMBER.finditer(text)]
    hidden = text if ordinals else ORDINAL.sub(lambda match: '#' * len(match.group()), text)
    found += [(match.start(), match.group()) for match in NUMBER.finditer(hidden)]
    return [word for _, word in sorted(found)]


def parsed(printed):
    """(number, half of its last digit), or None."""
    word = str(printed).strip().replace('\u2212', '-')
    if word.lower() in SMALL_WORDS:
        return float(SMALL_WORDS[word.lower()]), 0.5
    match = re.fullmatch(r'[-+]?\d+(?:\.(\d+))?(?:[eE]([-+]?\d+))?', word)
    if not match:
        return None
    return float(word), 0.5 * 10.0 ** (int(match.group(2) or 0) - len(match.group(1) or ''))


def is_number(value):
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)


def scaled(value, units, middle, spread):
    """Sums and differences in another unit than their parts': minutes of seconds, mm of um."""
    want = plain_unit(value.get('unit'))
    if value['is'] in ('difference', 'sum') and len(set(units)) == 1 and (units[0], want) in FACTORS:
        factor = FACTORS[units[0], want]
        return middle * factor, spread * factor
    if value['is'] in ('ratio', 'quotient') and len(set(units)) == 1 and want == '%':
        return 100.0 * middle, 100.0 * spread
    return middle, spread


def product(parts):
    return math.prod(parts)
