"""Words about loads: what comes with one, and what the computer is told of it."""
import re

import figures
import predicates
from saying import named, rows, value_windows, window


def nothing_on(claim, word):
    for channel in ('air_conditioning', 'drive'):
        if any(rows(claim, channel)):
            claim.say('"%s", but %s is on', word, channel)
    scenario = claim.run.scenario
    for time_s in window(claim):
        if scenario.condition('electrical_load_w', time_s) > scenario.faults['electrical_load_w']['start'] + 1.0:
            claim.say('"%s", but %g W are drawn', word, scenario.condition('electrical_load_w', time_s))
        if scenario.condition('steering_pct', time_s) > 0.0:
            claim.say('"%s", but the wheel is turned', word)


EARLY_S = 60.0  # or before the first step, if that comes later


def early(claim, word):
    steps = [step.at_s for step in claim.run.scenario.steps]
    if claim.claim.get('from_s', 0.0) > max([EARLY_S] + steps[:1]):
        claim.say('"%s" of %g s', word, claim.claim['from_s'])


def runs_through(claim, word):
    """Some seconds after one thing, and nothing else has happened to the engine in between."""
    windows = [w for w in value_windows(claim) if None not in w]
    if not windows:
        return
    start, end = min(w[0] for w in windows), max(w[1] for w in windows)
    events = [event['text'] for event in claim.run.events if event['kind'] == 'engine' and start < event['time_s'] < end]
    if events:
        claim.say('"%s", but in between: %s', word, ', '.join(events))
    only_the_load(claim, word, start, end)


def only_the_load(claim, word, start, end):
    """Nothing but the load that the sentence names moves between two times, by the scenario, and no foot."""
    scenario = claim.run.scenario
    named = {name for pattern, name, _ in LOADS if re.search(pattern, claim.text)} | {'coolant_c', 'oil_c'}
    moved = {name for step in scenario.steps for name in step.sets if start < step.at_s < end - predicates.EDGE_S
             or start < step.at_s + step.ramp_s and step.at_s < end - predicates.EDGE_S and step.ramp_s > 0.0}
    moved = {name for name in moved - named if name not in SLOW or abs(scenario.condition(name, start) - scenario.condition(name, end)) > SLOW[name]}
    if moved:
        claim.say('"%s", but by the scenario there moves as well: %s', word, ', '.join(sorted(moved)))


# A ramp so slow that it does not count within a few seconds.
SLOW = {'film_um': 3.0}


def dips(claim, word):
    """"Compressor on at 15 s: from 848 rpm down to 803": within these seconds nothing else happens."""
    values = value_windows(claim)
    if values and claim.claim.get('kind') != 'load_series':
        only_the_load(claim, word, min(w[0] for w in values), max(w[1] for w in values))


# What a load is called, the condition that it is, and what the computer gives for it where it is told (docs/physics.md, idle air).
LOADS = (
    (r'[Cc]ompressor on\b', 'air_conditioning', 'compressor_gps'), (r'[Ii]nto gear\b', 'drive', 'drive_gps'),
    (r'[Ss]teering at its stop\b', 'steering_pct', 'steering_gps'), (r'[Ee]lectrical load on\b', 'electrical_load_w', 'electrical_gps_per_kw'),
    (r'[Pp]edal let go\b', 'hold_rpm', None),
)
TOLD = r'\b(?:is told|knows) of (?:this|the|that) load\b'
NOT_TOLD = r'\b(?:learns of|notices|sees) (?:this|the) load only\b|\b(?:is|was) not told of (?:this|the) load\b'


def loads(claim, word):
    """A load told with its time is a step of the scenario then; the computer is told of it where it has air to give for it."""
    scenario, engine = claim.run.scenario, claim.run.engine
    for pattern, name, key in LOADS:
        if not re.search(pattern, claim.text):
            continue
        at = re.search(pattern + r' at ([\d.]+) s', claim.text)
        if at:
            number = figures.parsed(at.group(1))
            changes = [time_s for time_s, old, new in scenario.changes(name) if (new < old if name == 'hold_rpm' else new > old)]
            if name == 'hold_rpm':
                changes += [time_s + part for time_s, old, new in scenario.changes('pedal_pct') if new < old for part in (0.0, 1.0)]
                changes += [step.at_s + step.ramp_s for step in scenario.steps if 'pedal_pct' in step.sets]
            released = rows(claim, 'pedal_pct', number[0] - 1.0, number[0] + 1.0) if name == 'hold_rpm' else []
            if released and max(released) > 1.0 > min(released):
                continue
            if not any(abs(time_s - number[0]) <= number[1] + 0.25 for time_s in changes):
                claim.say('"%s", but the scenario has no such step of %s then', at.group(0), name)
        told = bool(key) and engine.keys['idle_air'].get(key, 0.0) > 0.0
        if re.search(TOLD, claim.text) and not told:
            claim.say('the computer is not told of %s: idle_air has no %s', name, key or 'air for it')
        if re.search(NOT_TOLD, claim.text) and told:
            claim.say('the computer is told of %s: idle_air.%s is %g', name, key, engine.keys['idle_air'][key])
