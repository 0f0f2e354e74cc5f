"""One claim held against its run: every value computed anew, every predicate tried, every number of the text accounted for.

A complaint is a sentence that says what is wrong; no complaint means that the claim is true as far as its values and predicates
go. What its words promise beyond that is in words.py.
"""
import math
import re

import rundata

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

# A steady reading wanders less than this: standard deviation, and from the first half of its window to the second. As wide as the
# unevenness of a sound idle, several times what a gauge's needle shows; for other channels a fiftieth of their everyday size.
STEADY = {'speed_rpm': (30.0, 12.0), 'film_um': (1.0, 1.0), 'learned_pct': (0.5, 0.5), 'effort_pct': (2.0, 1.0),
          'manifold_kpa': (1.5, 0.7), 'airflow_gps': (0.15, 0.06), 'blade_deg': (0.1, 0.05), 'stft_pct': (2.0, 1.0),
          'ltft_pct': (1.0, 0.7), 'coolant_c': (1.0, 1.0), 'target_rpm': (2.0, 2.0)}
JSON_STEP = 1e-6  # numbers in the JSON have six decimals
# What may still pass for nought where a channel is said to be nought; 0.05 of others.
NOUGHT = {'speed_rpm': 1.0, 'stft_pct': 3.0, 'ltft_pct': 3.0, 'effort_pct': 0.5, 'learned_pct': 0.5, 'pedal_pct': 1.0, 'film_um': 0.5}
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


class Claim:
    """A claim while it is being checked: its values by name, and what was found wrong."""

    def __init__(self, run, claim):
        self.run, self.claim = run, claim
        self.text = claim.get('text', '')
        self.values = {}
        self.known = {}  # name: (computed, how far off it may be)
        self.complaints = []
        for value in claim.get('values', []):
            if value.get('name') in self.values:
                self.say('two values are named %s', value.get('name'))
            self.values[value.get('name')] = value

    def say(self, reason, *rest):
        self.complaints.append(reason % rest if rest else reason)

    # ---- windows ----

    def window_of(self, part, what):
        """The window of a value or predicate, the claim's own by default; None if it is empty or outside the run."""
        from_s = part.get('from_s', self.claim.get('from_s'))
        to_s = part.get('to_s', self.claim.get('to_s'))
        if not is_number(from_s) or not is_number(to_s):
            self.say('%s has no window', what)
            return None
        first, last = self.run.rows.between(from_s, to_s)
        end_s = self.run.scenario.duration_s
        if to_s < from_s or first >= last or from_s < -1e-6 or to_s > end_s + 1e-3:
            self.say('%s: window %g to %g s is empty or outside the run', what, from_s, to_s)
            return None
        return from_s, to_s

    def rows_of(self, part, what, channel=None):
        channel = channel or part.get('channel')
        window = self.window_of(part, what)
        if not window:
            return None
        if channel not in self.run.rows.columns:
            self.say('%s: there is no channel %s', what, channel)
            return None
        values = self.run.rows.window(channel, *window)
        if not values:
            self.say('%s: %s is empty from %g to %g s', what, channel, *window)
            return None
        return values

    # ---- values ----

    def compute(self, name, under=()):
        """(value, tolerance) of a named value from the files of the run; None where it cannot be had."""
        if name in self.known:
            return self.known[name]
        value = self.values.get(name)
        if value is None or name in under:
            self.say('there is no value %s', name)
            return None
        how = STATISTICS.get(value.get('is'))
        if not how:
            self.say('%s: no statistic %s is known', name, value.get('is'))
            return None
        answer = how(self, name, value, under + (name,))
        if answer is not None and not math.isfinite(answer[0]):
            self.say('%s cannot be computed', name)
            answer = None
        if answer is not None and 'channel' in value and value.get('is') not in ('first', 'share', 'count', 'pair_longest'):
            answer = self.converted(name, value, answer)
        self.known[name] = answer
        return answer

    def converted(self, name, value, answer):
        have, want = unit_of(value['channel']), plain_unit(value.get('unit'))
        if have == want or (value['channel'] == 'time_s' and want == 's'):
            return answer
        factor = FACTORS.get((have, want))
        if factor is None:
            self.say('%s is told in %s, but %s is in %s', name, want, value['channel'], have)
            return answer
        return answer[0] * factor, answer[1] * factor

    def check_value(self, value):
        name = value.get('name')
        told = value.get('value')
        if not is_number(told):
            self.say('%s is no number', name)
            return
        answer = self.compute(name)
        if answer is not None and abs(told - answer[0]) > answer[1] + 2e-6 * max(abs(told), abs(answer[0])) + JSON_STEP:
            self.say('%s is told as %.8g, the run has %.8g', name, told, answer[0])
        if value.get('printed') is None:
            return
        number = parsed(value['printed'])
        if number is None:
            self.say('%s prints %s, no number', name, value['printed'])
        elif abs(number[0] - told) > number[1] * 1.001 + 1e-9:
            self.say('%s prints %s, its value is %.8g', name, value['printed'], told)
        elif re.fullmatch(r'-0(\.0+)?', str(value['printed'])):
            self.say('%s prints a nought with a sign', name)

    def check_numbers(self):
        wanted = numbers_of(self.text)
        printed = [str(value['printed']) for value in self.claim.get('values', []) if value.get('printed') is not None]
        if not in_step(wanted, printed) and not in_step(numbers_of(self.text, ordinals=True), printed):
            self.say('the text prints %s, its values are %s', ' '.join(wanted) or 'nothing', ' '.join(printed) or 'none')
        if re.search(r'\b-?(nan|inf)\b', self.text, re.I):
            self.say('nan or inf in the text')

    def check_units(self):
        """The unit that follows a number is that of its value."""
        at = 0
        for value in self.claim.get('values', []):
            if value.get('printed') is None:
                continue
            found = re.compile(r'(?<![\w.])' + re.escape(str(value['printed'])) + r'(?![\w])(?: (?:and|to|or|against) [-\d.]+)?'
                               r' ?(rpm|um|g/s|kPa|mm2|mm|degrees?|%|percent|seconds?|minutes?|s|V|A|C|Nm|W|steps?|deg)\b|'
                               + re.escape(str(value['printed'])) + r' ?(%)').search(self.text, at)
            start = self.text.find(str(value['printed']), at)
            if found and start == found.start() and start >= 0:
                unit = plain_unit(found.group(1) or found.group(2))
                have = plain_unit(value.get('unit'))
                if have != unit and value.get('unit') and not (unit == 'steps' and have in ('', 'steps')) and not (unit == 'C' and have == 'deg'):
                    self.say('%s is printed as %s %s, its unit is %s', value['name'], value['printed'], unit, have or 'none')
            if start >= 0:
                at = start + len(str(value['printed']))

    # ---- predicates ----

    def check_predicate(self, predicate):
        how = PREDICATES.get(predicate.get('is'))
        if how:
            how(self, predicate)
        else:
            self.say('no predicate %s is known', predicate.get('is'))

    def pair(self, predicate):
        of = predicate.get('of', [])
        if len(of) != 2:
            self.say('%s needs two values', predicate.get('is'))
            return None
        pair = [self.compute(name) if isinstance(name, str) else (float(name), 0.0) for name in of]
        return None if None in pair else pair

    def check(self):
        self.check_form()
        self.check_window()
        for value in self.claim.get('values', []):
            self.check_value(value)
        self.check_numbers()
        self.check_units()
        for predicate in self.claim.get('holds', []):
            self.check_predicate(predicate)
        return self.complaints

    def check_window(self):
        """A claim of nothing but events may speak of a moment; any other of rows."""
        from_s, to_s = self.claim.get('from_s'), self.claim.get('to_s')
        measured = any(part.get('channel') for part in self.claim.get('values', []) + self.claim.get('holds', []))
        if measured or not is_number(from_s) or from_s != to_s or not 0.0 <= from_s <= self.run.scenario.duration_s + 1e-3:
            self.window_of(self.claim, 'the claim')

    def check_form(self):
        for key in ('kind', 'part', 'text', 'from_s', 'to_s', 'channels', 'values', 'holds'):
            if key not in self.claim:
                self.say('the claim has no %s', key)
        if self.claim.get('part') not in ('headline', 'chain', 'surprise', 'code', 'more'):
            self.say('part %s is none', self.claim.get('part'))
        needs = self.run.program.kinds.get(self.claim.get('kind'))
        if needs is None:
            self.say('docs/claims.md has no kind %s', self.claim.get('kind'))
        elif needs - {hold.get('is') for hold in self.claim.get('holds', [])}:
            self.say('a claim of this kind promises %s', ', '.join(sorted(needs)))
        used = {part['channel'] for part in self.claim.get('values', []) + self.claim.get('holds', []) if part.get('channel')}
        missing = used - set(self.claim.get('channels', []))
        if missing:
            self.say('channels leaves out %s', ', '.join(sorted(missing)))


def is_number(value):
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)


# ---- how a value is computed: (claim, name, value, names being computed) -> (number, tolerance) ----


def of_rows(statistic, spread=1.0):
    def compute(claim, name, value, _):
        rows = claim.rows_of(value, name)
        return None if rows is None else (statistic(rows), spread * claim.run.rows.half_step(value['channel']))
    return compute


def at_row(claim, name, value, _):
    window = claim.window_of(value, name)
    if not window or value.get('channel') not in claim.run.rows.columns:
        return None
    number = claim.run.rows.nearest(value['channel'], window[0])
    if number is None:
        claim.say('%s: %s is empty at %g s', name, value['channel'], window[0])
        return None
    return number, claim.run.rows.half_step(value['channel'])


# Two channels taken together, row by row.
PAIRINGS = {'less': lambda x, y: x - y, 'short_of': lambda x, y: y - x, 'apart': lambda x, y: abs(x - y), 'plus': lambda x, y: x + y,
            'minus_both': lambda x, y: -(x + y)}


def paired(claim, name, value):
    """(index of the first row, one number a row) of a pair of channels in the value's window."""
    window = claim.window_of(value, name)
    how, other = PAIRINGS.get(value.get('how', 'apart')), value.get('other')
    if not window or not how or other not in claim.run.rows.columns or value.get('channel') not in claim.run.rows.columns:
        claim.say('%s: a pair needs two channels, how, and a window', name)
        return None
    first, last = claim.run.rows.between(*window)
    pairs = zip(claim.run.rows.channel(value['channel'])[first:last], claim.run.rows.channel(other)[first:last])
    numbers = [how(x, y) if x is not None and y is not None else None for x, y in pairs]
    if not numbers or None in numbers:
        claim.say('%s: %s or %s is empty', name, value['channel'], other)
        return None
    return first, numbers


def pair_slack(claim, value):
    return claim.run.rows.half_step(value['channel']) + claim.run.rows.half_step(value['other'])


def pair_max(claim, name, value, _):
    found = paired(claim, name, value)
    return found and (max(found[1]), pair_slack(claim, value))


def longest_above(times, first, numbers, level):
    """The longest time without a break, row to row, above a level."""
    longest, since = 0.0, None
    for i, number in enumerate(numbers):
        if number is None or not number > level:
            since = None
        elif since is None:
            since = times[first + i]
        else:
            longest = max(longest, times[first + i] - since)
    return longest


def pair_longest(claim, name, value, _):
    """How a cell is rounded may move a stretch's ends: between the level a little lower and a little higher."""
    found = paired(claim, name, value)
    if not found or not is_number(value.get('level')):
        return None
    ends = [longest_above(claim.run.rows.time, found[0], found[1], value['level'] + slack)
            for slack in (-pair_slack(claim, value), pair_slack(claim, value))]
    told = value.get('value')
    if is_number(told) and min(ends) - 1e-6 <= told <= max(ends) + 1e-6:
        return told, 1e-6
    return sum(ends) / 2.0, 1e-6


def first_row(claim, name, value, _):
    """When the channel first passes a level on its way up or down."""
    window = claim.window_of(value, name)
    level, rising = value.get('level'), not value.get('falling', value.get('direction') == 'falling')
    if not window or not is_number(level):
        claim.say('%s: first needs channel and level', name)
        return None
    first, last = claim.run.rows.between(*window)
    channel = claim.run.rows.channel(value['channel'])
    slack = claim.run.rows.half_step(value['channel'])
    passed = []
    for edge in (-slack, slack):  # how a cell is rounded may move the row
        passed.append(next((claim.run.rows.time[i] for i in range(first, last) if channel[i] is not None
                            and (channel[i] >= level + edge if rising else channel[i] <= level - edge)), None))
    if passed[0] is None:
        claim.say('%s: %s never passes %g', name, value['channel'], level)
        return None
    late = passed[1] if passed[1] is not None else claim.run.rows.time[last - 1]
    return (passed[0] + late) / 2.0, abs(late - passed[0]) / 2.0 + 1e-6


def holding(claim, name, value):
    """(rows for which the value's condition holds, all rows)."""
    rows = claim.rows_of(value, name)
    if rows is None:
        return None
    for word, test in (('above', lambda x, y: x > y), ('below', lambda x, y: x < y), ('equal', lambda x, y: abs(x - y) < 1e-9)):
        if is_number(value.get(word)):
            return sum(test(row, value[word]) for row in rows), len(rows)
    claim.say('%s: share and count need above, below or equal', name)
    return None


def share(claim, name, value, _):
    found = holding(claim, name, value)
    if not found:
        return None
    scale = 100.0 if plain_unit(value.get('unit')) == '%' else 1.0
    return scale * found[0] / found[1], 1.5 * scale / found[1]


def count(claim, name, value, _):
    named = value.get('event', value.get('source'))
    if named:
        return float(len([event for event in find_events(claim, named)
                          if value.get('from_s', 0.0) - 1e-6 <= event['time_s'] <= value.get('to_s', math.inf) + 1e-6])), 0.0
    found = holding(claim, name, value)
    return found and (float(found[0]), 1.0)


def from_others(combine):
    def compute(claim, name, value, under):
        of = value.get('of', [])
        parts = [claim.compute(other, under) for other in of]
        if not parts or None in parts:
            return None
        try:
            middle = combine([part[0] for part in parts])
            # each part at the end of its range, one at a time: enough for ranges this small
            spread = sum(abs(combine([q[0] + (q[1] if i == j else 0.0) for j, q in enumerate(parts)]) - middle)
                         for i in range(len(parts)))
        except ZeroDivisionError:
            claim.say('%s divides by nought', name)
            return None
        units = [plain_unit(claim.values[other].get('unit')) for other in of]
        return scaled(value, units, middle, spread)
    return compute


def scaled(value, units, middle, spread):
    """Sums and differences in another unit than their parts': minutes of seconds, mm of um."""
    want = plain_unit(value.get('unit'))
    if value['is'] in ('difference', 'sum') and len(set(units)) == 1 and (units[0], want) in FACTORS:
        factor = FACTORS[units[0], want]
        return middle * factor, spread * factor
    if value['is'] in ('ratio', 'quotient') and len(set(units)) == 1 and want == '%':
        return 100.0 * middle, 100.0 * spread
    return middle, spread


def constant(claim, name, value, _):
    """A rule's limit, a scenario's or an engine file's value: looked up where its source says."""
    source = str(value.get('source', ''))
    kind, _, rest = source.partition(':')
    rest = rest.strip()
    look = {'engine': engine_value, 'scenario': scenario_value, 'event': event_value, 'rule': rule_value}.get(kind)
    if not look or not is_number(value.get('value')):
        claim.say('%s: source %s is none', name, source or 'missing')
        return None
    try:
        return look(claim, value, rest)
    except (KeyError, IndexError, ValueError, TypeError):
        claim.say('%s: %g is not what %s says', name, value['value'], source)
        return None


def engine_value(claim, value, rest):
    """A key of the engine file, or a figure that follows from one."""
    engine = claim.run.engine
    figures = {
        'limit of the learned share': lambda: engine.key('idle_air.learned_%s_pct' % ('most' if value['value'] > 0.0 else 'least')),
        'throttle bore circumference': lambda: 2.0 * math.pi * engine.key('throttle.bore_radius_mm'),
        'intake.filter_drop, times the fault': lambda: 1e-4 * engine.key('intake.filter_drop_kpa_at_100gps') * fault('filter_ratio'),
        'intake.exhaust_drop, times the fault': lambda: 1e-4 * engine.key('intake.exhaust_drop_kpa_at_100gps') * fault('exhaust_ratio'),
    }

    def fault(condition):
        return claim.run.scenario.condition(condition, claim.claim['to_s'])

    found = figures[rest]() if rest in figures else engine.key(rest)
    return found, 1e-6 * abs(found)


def scenario_value(claim, value, rest):
    """A time or a value of the timeline: "KEY@AT_S", a key of `initial`, or what is said in words."""
    scenario = claim.run.scenario
    told = value['value']
    if '@' in rest:
        key, at = rest.split('@')
        near = [scenario.condition(key, float(at) + shift) for shift in (-1e-3, 0.0, 1e-3)]
        return min(near, key=lambda number: abs(number - told)), 1e-6
    if rest in scenario.initial or rest == 'duration_s':
        return scenario.initial.get(rest, scenario.duration_s), 1e-9
    if rest == 'ambient pressure':
        return ambient_kpa(scenario, claim.claim['from_s']), 0.06
    starts = [step.at_s for step in scenario.steps]
    ends = [step.at_s + step.ramp_s for step in scenario.steps]
    cleans = [at for name in ('film_um', 'bypass_film_um', 'edge_film_um') for at, old, new in scenario.changes(name) if new < old]
    wanted = {'step': starts + ends + [0.0], 'end of the ramp': ends + [0.0], 'bore cleaned': cleans}.get(rest)
    if wanted is None:  # a value told in words: one that the timeline has, or part of how a condition is called
        wanted = [number for step in scenario.steps for number in step.sets.values()] + list(scenario.initial.values())
        wanted += [float(word) for row in scenario.faults.values() for word in NUMBER.findall(row['text'])]
    slack = scenario.record_s if rest == 'bore cleaned' else 1e-6  # seen in the rows
    return min(wanted, key=lambda number: abs(number - told)), max(slack, parsed(value['printed'])[1] if value.get('printed') else 0.0)


def ambient_kpa(scenario, time_s):
    """ISO 2533 up to 11 km, unless the scenario sets the pressure."""
    given = scenario.condition('ambient_kpa', time_s)
    return given if given > 0.0 else 101.325 * (1.0 - 2.25577e-5 * scenario.condition('altitude_m', time_s)) ** 5.25588


def event_value(claim, value, rest):
    """The time of an event called so, else a number in an event's text."""
    times = [event['time_s'] for event in claim.run.events if event['value'] == rest]
    if times:
        return min(times, key=lambda time_s: abs(time_s - value['value'])), 1e-4
    numbers = [float(word) for event in claim.run.events for word in NUMBER.findall(event['text'])]
    return min(numbers, key=lambda number: abs(number - value['value'])), 1e-9


# A rule's numbers that a sentence may print: definitions and gas tables, not taken from the program's code.
RULES = {'a millimetre': 1000.0, 'a minute': 60.0, 'lambda of a complete mixture': 1.0, 'nothing learned': 0.0,
         'the flare is over': 8.0, 'supply of the tracks': 5.0}
CRITICAL_RATIO = (2.0 / 2.4) ** 3.5  # air, isentropic


def rule_value(claim, value, rest):
    """Codes by the list of codes, other rules by the table; a number that is not printed only sets how strict a predicate is."""
    code = claim.claim.get('code', (re.findall(r'\bP\d{4}\b', claim.text) or [rest[:5]])[0])
    if rest in ('limit of the code', 'what the code watches') or re.match(r'P\d{4}\b', rest):
        numbers = [float(word) for word in numbers_of(claim.run.program.codes[code]['condition'], ordinals=True)]
        if rest == 'limit of the code':
            numbers = [abs(number) for number in numbers]
        return min(numbers, key=lambda number: abs(number - value['value'])), 1e-9
    if rest == 'how long it must last':
        import codes
        return codes.debounce_s(claim, code), 1e-9
    if rest == 'critical pressure ratio of air':
        return CRITICAL_RATIO, 0.002
    if rest in RULES:
        return RULES[rest], 1e-9
    if rest == 'time of the load step':
        steps = [step.at_s + part for step in claim.run.scenario.steps for part in (0.0, step.ramp_s)]
        return min(steps, key=lambda at_s: abs(at_s - value['value'])), 0.3
    if value.get('printed') is None:
        return value['value'], 0.0
    raise KeyError(rest)


def event_time(claim, name, value, _):
    found = find_events(claim, value.get('event', value.get('source')), value.get('from_s'), value.get('to_s'))
    if not found:
        claim.say('%s: there is no event "%s"', name, value.get('event'))
        return None
    told = value['value'] if is_number(value.get('value')) else 0.0
    best = min(found, key=lambda event: abs(event['time_s'] - told))
    return best['time_s'], 1e-5


def find_events(claim, text, from_s=None, to_s=None):
    slack = claim.run.scenario.record_s + 0.011
    return [event for event in claim.run.events
            if (event['text'] == text or (event['code'] and '%s %s' % (event['code'], event['value']) == text)
                or event['value'] == text or (event['kind'] == 'note' and text == 'note'))
            and (from_s is None or event['time_s'] >= from_s - slack) and (to_s is None or event['time_s'] <= to_s + slack)]


def product(parts):
    return math.prod(parts)


STATISTICS = {
    'mean': of_rows(rundata.mean), 'min': of_rows(min), 'max': of_rows(max), 'sd': of_rows(rundata.deviation, 2.0),
    'range': of_rows(lambda rows: max(rows) - min(rows), 2.0), 'apart': pair_max, 'pair_max': pair_max, 'pair_longest': pair_longest, 'at': at_row, 'first': first_row, 'share': share, 'count': count, 'constant': constant, 'event': event_time,
    'difference': from_others(lambda x: x[0] - x[1]), 'ratio': from_others(lambda x: x[0] / x[1]),
    'quotient': from_others(lambda x: x[0] / x[1]), 'percent_change': from_others(lambda x: 100.0 * (x[1] / x[0] - 1.0)),
    'percent_less': from_others(lambda x: 100.0 * (1.0 - x[1] / x[0])), 'sum': from_others(sum), 'product': from_others(product),
}

# ---- predicates: (claim, predicate) -> complaints ----


def compare(word, sign):
    def check(claim, predicate):
        pair = claim.pair(predicate)
        if not pair:
            return
        by = predicate.get('by', 0.0)
        gap = sign * (pair[0][0] - pair[1][0])
        if by < 0.0:
            claim.say('%s is not %s %s if it may be off by %g', predicate['of'][0], word, predicate['of'][1], -by)
        if gap + pair[0][1] + pair[1][1] < by or gap + 1e-9 < 0.0 or (by == 0.0 and gap <= 0.0):
            claim.say('%s (%.6g) is not %s %s (%.6g) by %g', predicate['of'][0], pair[0][0], word, predicate['of'][1], pair[1][0], by)
    return check


def equal(claim, predicate):
    pair = claim.pair(predicate)
    if not pair:
        return
    within = predicate.get('within', predicate.get('by', 0.0))
    if abs(pair[0][0] - pair[1][0]) > within + pair[0][1] + pair[1][1]:
        claim.say('%s (%.6g) is not %s (%.6g) within %g', predicate['of'][0], pair[0][0], predicate['of'][1], pair[1][0], within)


def steady(claim, predicate):
    channel = predicate.get('channel')
    rows = claim.rows_of(predicate, 'steady')
    if rows is None:
        return
    widest_sd, widest_drift = STEADY.get(channel, (math.inf, math.inf))
    if channel not in STEADY:
        claim.say('no measure of a steady %s is known', channel)
    if len(rows) < 5:
        claim.say('steady %s is said of %d rows', channel, len(rows))
        return
    sd, drift = rundata.deviation(rows), abs(rundata.drift(rows))
    if sd > widest_sd or drift > widest_drift:
        claim.say('%s is not steady from %g to %g s: sd %.4g, drift %.4g', channel, predicate.get('from_s', claim.claim.get('from_s')),
                  predicate.get('to_s', claim.claim.get('to_s')), sd, drift)
    limit = predicate.get('by', predicate.get('limit'))
    if is_number(limit) and drift > limit + claim.run.rows.half_step(channel):
        claim.say('%s is not steady within its own limit %g: sd %.4g, drift %.4g', channel, limit, sd, drift)


def before(claim, predicate):
    pair = claim.pair(predicate)
    if not pair:
        return
    for name in predicate['of']:
        value = claim.values.get(name)
        if value and not is_time(claim, value):
            claim.say('before compares %s, which is no time', name)
    if pair[0][0] > pair[1][0] + 1e-6 or predicate['of'][0] == predicate['of'][1]:
        claim.say('%s (%g s) is not before %s (%g s)', predicate['of'][0], pair[0][0], predicate['of'][1], pair[1][0])


def is_time(claim, value):
    return (value.get('is') in ('first', 'event') or plain_unit(value.get('unit')) in ('s', 'min')
            or value.get('channel') == 'time_s')


def zero(wanted):
    def check(claim, predicate):
        rows = claim.rows_of(predicate, 'zero' if wanted else 'nonzero')
        if rows is None:
            return
        slack = claim.run.rows.half_step(predicate['channel']) if wanted else 0.0
        within = predicate.get('within', predicate.get('by', 0.0))
        if wanted and within > NOUGHT.get(predicate['channel'], 0.05):
            claim.say('%g is no nought of %s', within, predicate['channel'])
        if any((abs(row) > within + slack) if wanted else (abs(row) <= within) for row in rows):
            claim.say('%s is %s from %g to %g s', predicate['channel'], 'not nought' if wanted else 'nought somewhere',
                      predicate.get('from_s', claim.claim.get('from_s')), predicate.get('to_s', claim.claim.get('to_s')))
    return check


def event_there(claim, predicate):
    """event with name, and at_s, before_s, after_s or a window."""
    name = predicate.get('event', predicate.get('name'))
    found = find_events(claim, name, predicate.get('from_s'), predicate.get('to_s'))
    for key, test in (('at_s', lambda t, s: abs(t - s) < 0.06), ('before_s', lambda t, s: t <= s + 1e-6),
                      ('after_s', lambda t, s: t >= s - 1e-6)):
        if is_number(predicate.get(key)):
            found = [event for event in found if test(event['time_s'], predicate[key])]
    if not found:
        claim.say('there is no event "%s" when it is said to be', name)


def no_event(claim, predicate):
    name = predicate.get('event', predicate.get('name'))
    if not name:
        claim.say('no_event names none')
    from_s, to_s = predicate.get('from_s', 0.0), predicate.get('to_s', claim.run.scenario.duration_s)
    wanted = re.fullmatch(r'P\d{4}', str(name))
    found = [event for event in claim.run.events if from_s - 1e-6 <= event['time_s'] <= to_s + 1e-6
             and ((wanted and event['code'] == name) or name in (event['text'], event['value'], '%s %s' % (event['code'], event['value'])))]
    if found:
        claim.say('"%s" happened at %g s', name, found[0]['time_s'])


def alone(claim, predicate):
    """By the scenario no fault but those of `except` stands or changes in the window."""
    window = claim.window_of(predicate, 'alone')
    if not window:
        return
    others = standing(claim.run.scenario, *window) - excepted(predicate)
    if others:
        claim.say('not alone from %g to %g s: %s', window[0], window[1], ', '.join(sorted(others)))


# They say where or of what kind another fault is and do nothing by themselves; with the fault that each belongs to.
SIDES = {'leak_bank1_pct': ('leak_mm2',), 'tps_worn_at_deg': ('tps1_worn_v', 'tps2_worn_v'),
         'app_worn_at_pct': ('app1_worn_v', 'app2_worn_v')}


EDGE_S = 0.01  # what happens at the very end of a window comes after it


def standing(scenario, from_s, to_s):
    """Names of the faults that stand or change between two times."""
    found = set(scenario.wrong(from_s)) | set(scenario.wrong(to_s - EDGE_S))
    for step in scenario.steps:
        if from_s < step.at_s < to_s or from_s < step.at_s + step.ramp_s < to_s:
            found |= set(scenario.wrong(max(from_s, step.at_s))) | set(scenario.wrong(min(to_s - EDGE_S, step.at_s + step.ramp_s)))
    return {name for name in found if name not in SIDES}


def excepted(predicate):
    names = predicate.get('except', [])
    return set(names.split() if isinstance(names, str) else names)


def alike(claim, predicate):
    """By the scenario everything but `except` is the same at both ends of the window."""
    from_s, to_s = predicate.get('from_s', claim.claim.get('from_s')), predicate.get('to_s', claim.claim.get('to_s'))
    scenario = claim.run.scenario
    if from_s is None or to_s is None:
        claim.say('alike has no window')
        return
    for name in set(scenario.initial) - excepted(predicate):
        if scenario.faults[name]['kind'] == 'driver':
            continue  # the foot has its own channel
        one, two = scenario.condition(name, from_s), scenario.condition(name, to_s - EDGE_S)
        if name in SIDES and not any(whole in scenario.wrong(t) for whole in SIDES[name] for t in (from_s, to_s - EDGE_S)):
            continue  # a spot that is not worn
        if abs(one - two) > 1e-9 * max(1.0, abs(one)) and not set(SIDES.get(name, ())) & excepted(predicate):
            claim.say('not alike at %g and %g s: %s is %g and %g', from_s, to_s, name, one, two)


def only_while(claim, predicate):
    import codes
    codes.only_while(claim, predicate)


PREDICATES = {'below': compare('below', -1.0), 'above': compare('above', 1.0), 'equal': equal, 'steady': steady, 'before': before,
              'zero': zero(True), 'nonzero': zero(False), 'event': event_there, 'no_event': no_event, 'alone': alone,
              'alike': alike, 'only_while': only_while}
