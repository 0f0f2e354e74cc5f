"""Words about causes: what the scenario did, whether all of it is named, what is compared with what, and what an engine has."""
import re

import figures
import predicates
import rundata
from saying import FILM_UM, holds, named, rows, values_of, window
from words_codes import codes_of
from words_idle import HIDDEN_RPM

# Words for what can be wrong, and the conditions they may stand for.
CAUSES = (
    (r'\bfilm(?:ed|s)?\b|\bdeposits?\b', ('film_um', 'edge_film_um', 'bypass_film_um')),
    (r'\bleak(?:s|ed|ing)?\b|\btorn\b|\bboot\b', ('leak_mm2', 'booster_leak_mm2', 'boot_leak_mm2', 'charge_leak_mm2')),
    (r'\bair cleaner\b|\bfilter\b', ('filter_ratio',)),
    (r'\bexhaust\b(?!-gas recirculation)', ('exhaust_ratio', 'cylinder_loss_exhaust_pct')),
    (r'\bweak pump\b|\bdirty injectors?\b|\bfuel (?:supply|pressure|delivery)\b|\bfuel that arrives\b', ('fuel_delivery_ratio',)),
    (r'\bpurge\b', ('purge_stuck_mm2', 'purge_vapour_pct')),
    (r'\bventilation\b', ('ventilation_stuck_mm2',)),
    (r'\brecirculation\b', ('egr_stuck_mm2',)),
    (r'\bbooster\b', ('booster_leak_mm2',)),
    (r'\bstick(?:s|ing|y)\b|\bblade_stick', ('blade_stick_deg', 'film_um')),
    (r'\bjammed\b', ('blade_jammed',)),
    (r'\bdrag(?:s|ging)?\b|\baccessory\b', ('drag_nm',)),
    (r'\bcompression\b', ('compression_loss_pct', 'cylinder_compression_loss_pct')),
    (r'\bworn\b', ('tps1_worn_v', 'tps2_worn_v', 'app1_worn_v', 'app2_worn_v')),
    (r'\bcompressor\b|\bair conditioning\b', ('air_conditioning',)),
    (r'\bin gear\b|\bgear (?:engaged|selected)\b|\bconverter\b', ('drive',)),
    (r'\bsteering\b(?!_pump)', ('steering_pct', 'steering_pump_pct')),
)
# A cause is only named, not claimed, after these.
ONLY_NAMED = re.compile(r"\b(?:no|not|without|never|unlike|like|mark of|or|would|could|can|instead of|rather than|look for|nothing of|test for)\b"
                        r"[^.;]{0,30}$", re.I)


def causes(claim, word):
    """A fault or load that a sentence speaks of was there, by the scenario, up to the end of its window."""
    _, end = window(claim)
    scenario = claim.run.scenario
    for pattern, names in CAUSES:
        for match in re.finditer(pattern, claim.text, re.I):
            if ONLY_NAMED.search(claim.text[:match.start()][-45:]) or re.match(r"'s would\b", claim.text[match.end():]):
                continue
            if not any(ever(scenario, name, end) for name in names if name in scenario.initial):
                claim.say('"%s", but the scenario has none up to %g s', match.group(0), end)
                break


def ever(scenario, name, until_s):
    start = scenario.faults[name]['start']
    return abs(scenario.initial[name] - start) > 1e-9 or any(at <= until_s + 1e-6 for at, _, _ in scenario.changes(name))


def cleaned(claim, word):
    """A repair: by the scenario something went back towards what a sound engine has."""
    _, end = window(claim)
    scenario = claim.run.scenario
    for name, row in scenario.faults.items():
        if row['kind'] != 'fault':
            continue
        for at, old, new in scenario.changes(name):
            if at <= end + 1e-6 and abs(new - row['start']) < abs(old - row['start']) - 1e-12:
                if 'clean' not in word.lower() or 'film' in name or name == 'filter_ratio':
                    return
    claim.say('"%s", but the scenario repairs nothing up to %g s', word, end)


def two_causes(claim, word):
    """A sentence that says why, and names a fault, names every fault that stands in its window."""
    text = claim.text
    named_faults = {name for pattern, names in CAUSES for name in names if re.search(pattern, text, re.I)}
    named_faults |= {name for name in claim.run.scenario.initial if name in text}
    wrong = predicates.standing(claim.run.scenario, *window(claim))
    if not wrong & named_faults or codes_of(text):
        return
    excused = set().union(*[predicates.excepted(hold) for hold in holds(claim, 'alone', 'alike')] or [set()])
    left = wrong - named_faults - excused
    if left and not re.search(r'\b(?:together|both|beside|other|besides|as well|too|also)\b', text):
        claim.say('"%s" names %s and leaves out %s', word, ', '.join(sorted(wrong & named_faults)), ', '.join(sorted(left)))


def told_faults(claim):
    """Conditions that the text speaks of, by its words, by their keys, or by how the list calls them."""
    text = claim.text
    found = {name for pattern, names in CAUSES for name in names if re.search(pattern, text, re.I)}
    keys = {name for name in claim.run.scenario.faults if name in text}
    if keys:  # named by their keys: the words are of those
        found = keys
    for name, row in claim.run.scenario.faults.items():
        if not keys and re.split(r'[:;,(]', row['text'])[0].strip() in text:
            found.add(name)
    if re.search(r'\bclean', text):
        found |= {'film_um', 'edge_film_um', 'bypass_film_um'}
    for side, of in predicates.SIDES.items():
        if found & set(of):
            found.add(side)
    return found


def all_named(claim, word):
    """What an idle is put down to are all the faults that stand then."""
    keys = {name for name in claim.run.scenario.faults if name in claim.text and claim.run.scenario.faults[name]['kind'] == 'fault'
            and re.search(r'\(' + name + r'\)', claim.text)}
    speeds = values_of(claim, 'speed_rpm', 'mean')
    if not keys - {'film_um'} or not speeds or re.search(r'\bis repaired\b|\bstalls\b', claim.text):
        return
    last = max(speeds, key=lambda value: value['to_s'])
    left = predicates.standing(claim.run.scenario, last['from_s'], last['to_s']) - keys
    if max(rows(claim, 'film_um', last['from_s'], last['to_s']) or [0.0]) < FILM_UM:
        left -= {'film_um'}
    if left:
        claim.say('%s is told as the cause, and %s stands as well', ', '.join(sorted(keys)), ', '.join(sorted(left)))


def compares_alike(claim, word):
    """What a repair did, by a reading before and one after: nothing else has changed between them that the text does not name."""
    readings = [value for value in claim.claim.get('values', []) if value.get('channel') == 'speed_rpm' and value.get('is') == 'mean'
                and value.get('printed') is not None]
    if len(readings) < 2:
        return
    one, two = min(readings, key=lambda v: v['from_s']), max(readings, key=lambda v: v['from_s'])
    scenario, named = claim.run.scenario, told_faults(claim)
    changed = []
    for name in scenario.initial:
        at_one, at_two = (scenario.condition(name, v['to_s'] - predicates.EDGE_S) for v in (one, two))
        if abs(at_one - at_two) > 1e-9 * max(1.0, abs(at_one)) and name not in named:
            changed.append(name)
    if changed:
        claim.say('"%s", but between the readings of %g and %g s there changes as well: %s', word, one['from_s'], two['from_s'],
                  ', '.join(sorted(changed)))


ENGINE_WORDS = (
    ('cable', True, r'\bthrottle drive\b|\bcommand_deg\b|\bthrottle motor\b|\bmotor_[av]\b|\blimp(?:s|ed|ing)?\b|\bduty_pct\b|\bthe blade (?:had|has) (?:gone|opened)'
                    r'|\bblade must open|\bits drive\b|\bpedal (?:tracks?|sensors?)\b|\bapp[12]_v\b|\bthe drive (?:wakes|sleeps|falls)'),
    ('cable', False, r'\bbypass(?: valve|_steps)?\b|\bidle valve\b|\bstop screw\b|\brests on its screw\b|\bpintle\b'),
    ('air_flow', False, r'\bmaf_gps\b|\bair-flow (?:sensor|reading|meter)\b|\bweighs its air\b|\bmaf_v\b'),
    ('manifold_sensor', False, r'\bmap_kpa\b|\bpressure sensor\b'),
    ('charger', False, r'\bcharge[- ](?:pressure|hoses?)\b|\bcharge_kpa\b|\bcharger\b'),
    ('two_banks', False, r'\bbank 2\b|\bboth banks\b|\b(?:lambda2|stft2_pct|ltft2_pct)\b'),
    ('gear', False, r'\bin gear\b|\bgear engaged\b|\bconverter\b|\bgear lever\b'),
)


def engine_has(claim, word):
    engine = claim.run.engine
    has = {'cable': engine.cable, 'air_flow': engine.air_flow, 'manifold_sensor': engine.charger or not engine.air_flow, 'charger': engine.charger,
           'two_banks': engine.banks > 1, 'gear': engine.gear}
    for feature, when, pattern in ENGINE_WORDS:
        match = re.search(pattern, claim.text, re.I)
        if match and claim.claim.get('code') and match.group(0) == 'limp':
            continue  # what a monitor does not do then is true of any computer
        if match and has[feature] == when and not re.search(r'(?i)\b(?:has|have|there is|with) no\b|\bhas none\b|\bwithout\b|\bon an engine that\b', claim.text):
            claim.say('"%s" is said of an engine that has none', match.group(0))
    for channel in claim.claim.get('channels', []):
        if channel in claim.run.rows.columns and not claim.run.rows.has(channel):
            claim.say('channel %s is empty in this run', channel)


def several_causes(claim, word):
    wrong = predicates.standing(claim.run.scenario, *window(claim))
    if len(wrong) < 2:
        claim.say('"%s", but by the scenario there stands: %s', word, ', '.join(sorted(wrong)) or 'nothing')


CAME = re.compile(r'\b(?:At|From) ([\d.]+)(?: to ([\d.]+))? s\b')


def came(claim, word):
    """What comes or goes at a time is a step of the scenario then."""
    match = CAME.search(claim.text)
    keys = [name for name in re.findall(r'\((\w+)\)', claim.text) if name in claim.run.scenario.faults
            and claim.run.scenario.faults[name]['kind'] == 'fault' and name not in claim.run.rows.columns]
    if not match or not keys or not re.match(r'(?:At|From) ', claim.text) or 'stall' in claim.text:
        return
    number = figures.parsed(match.group(1))
    for name in keys:
        start = claim.run.scenario.faults[name]['start']
        goes = [at for at, old, new in claim.run.scenario.changes(name) if abs(new - start) < abs(old - start)]
        times = [t for step in claim.run.scenario.steps if name in step.sets for t in (step.at_s, step.at_s + step.ramp_s)
                 if step.at_s in goes or 'is repaired' not in claim.text]
        if re.search(r'\b(?:another|second) fault\b', claim.text) and abs(claim.run.scenario.condition(name, number[0] - number[1] - 0.01) - start) > 1e-9:
            claim.say('"another fault", but %s stood before', name)
        if not any(abs(time_s - number[0]) <= number[1] * 1.01 for time_s in times):
            claim.say('%s does not move at %s s', name, match.group(1))
        if match.group(2):
            end = figures.parsed(match.group(2))
            if not any(abs(time_s - end[0]) <= end[1] * 1.01 for time_s in times):
                claim.say('%s does not come to rest at %s s', name, match.group(2))


BACK_S, BACK_SLACK_S = 10.0, 6.0


def back_in(claim, word):
    """It takes so long back to target: no ten seconds of it were on target much earlier."""
    values = claim.values
    start, back = values.get('from_s'), values.get('back_s')
    fast = values.get('speed')
    if not start or not back or not fast or not fast.get('to_s'):
        return
    time_s = fast['to_s']
    while time_s + BACK_S < back['value'] - BACK_SLACK_S:
        speed, target = rows(claim, 'speed_rpm', time_s, time_s + BACK_S), rows(claim, 'target_rpm', time_s, time_s + BACK_S)
        if speed and abs(rundata.mean(speed) - rundata.mean(target)) < HIDDEN_RPM and rundata.deviation(speed) < 15.0:
            claim.say('"%s": it was on target at %g s already', word, time_s)
            return
        time_s += 1.0


JUST_BEFORE_S = 5.0


def nothing_before(claim, word):
    _, end = window(claim)
    steps = [step.at_s for step in claim.run.scenario.steps if step.sets and end - JUST_BEFORE_S < step.at_s <= end]
    if steps:
        claim.say('"%s", but there is a step at %g s', word, steps[-1])
