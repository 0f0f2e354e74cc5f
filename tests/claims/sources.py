"""Values that are not read from the rows: of the engine file, the scenario, an event, or a rule. Looked up where their source says."""
import math
import re

from figures import NUMBER, is_number, numbers_of, parsed


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
        less = value.get('printed') and re.search(r'(?<![\d.-])%s \S+ less \(' % re.escape(value['printed']), claim.text)
        wanted = [-number for number in wanted] if less else wanted  # "reads 0.06 V less"
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
