"""What words promise: a table from the words of a sentence to what must then hold, written from what the words mean.

Each row is a pattern and a demand. A demand looks at the claim's predicates, and, where it can, at the rows, events and scenario
themselves, and complains to the claim. Nothing here is taken from the program's code.
"""
import math
import re

import claims
import codes
import rundata

NEGATION = re.compile(r"\b(?:not|no|never|nor|neither|cannot|can't|without|nothing|hardly|would|could|might|may|instead of|if|until|before"
                      r"|ever|until it)\b[^.;:]{0,40}$", re.I)
SENTENCE = re.compile(r'(?<=[.!?])\s+(?=[A-Z(])')

HIDDEN_RPM = 10.0      # as near as a needle shows: what is hidden does not show on the tachometer
RACING_RPM = 20.0      # above target by less nobody would call racing
CHOKED_RATIO = 0.53    # gas tables, air: (2 / 2.4)^3.5 = 0.528
COLD_C = 70.0          # a warm engine's coolant stands above: 80 to 100 usual
MIXTURE_PCT = 3.0      # trims of a sound engine wander by this much (common practice, no source)
SETTLED_PCT = 0.6      # learned offset still moving by more in a window has not settled
AFTER_START_S = 30.0   # "start too recent" cannot be said of a start longer ago
AT_LIMIT_PCT = 0.6
FILM_UM = 0.6          # less is no deposit worth speaking of


def said(text, pattern, flags=re.I):
    """Whether the text says it, not that it is not so."""
    return any(not NEGATION.search(text[:match.start()][-60:]) for match in re.finditer(pattern, text, flags))


def holds(claim, *kinds, channel=None):
    return [hold for hold in claim.claim.get('holds', []) if hold.get('is') in kinds
            and (channel is None or hold.get('channel') == channel)]


def need(*kinds, channel=None):
    def demand(claim, word):
        if not holds(claim, *kinds, channel=channel):
            claim.say('"%s" needs a predicate: %s%s', word, ' or '.join(kinds), ' of ' + channel if channel else '')
    return demand


def window(claim):
    return claim.claim.get('from_s', 0.0), claim.claim.get('to_s', 0.0)


def rows(claim, channel, from_s=None, to_s=None):
    if channel not in claim.run.rows.columns:
        return []
    start, end = window(claim)
    return claim.run.rows.window(channel, start if from_s is None else from_s, end if to_s is None else to_s)


def values_of(claim, channel, *kinds):
    return [value for value in claim.claim.get('values', []) if value.get('channel') == channel and (not kinds or value.get('is') in kinds)]


def value_windows(claim):
    """(from, to) of every measured value, in the order of the claim."""
    return [(value.get('from_s', claim.claim.get('from_s')), value.get('to_s', claim.claim.get('to_s')))
            for value in claim.claim.get('values', []) if value.get('channel')]


# ---- steady, settled, hidden ----


def settled(claim, word):
    need('steady', channel='speed_rpm')(claim, word)
    for hold in holds(claim, 'steady', channel='speed_rpm'):
        learned = rows(claim, 'learned_pct', hold.get('from_s'), hold.get('to_s'))
        if learned and abs(learned[-1] - learned[0]) > SETTLED_PCT:
            claim.say('"%s" while learned_pct still goes from %g to %g', word, learned[0], learned[-1])


def hidden(claim, word):
    """The film is there and the speed does not show it."""
    for value in values_of(claim, 'speed_rpm', 'mean'):
        from_s, to_s = value.get('from_s', window(claim)[0]), value.get('to_s', window(claim)[1])
        speed, target, film = (rows(claim, channel, from_s, to_s) for channel in ('speed_rpm', 'target_rpm', 'film_um'))
        if speed and target and film and rundata.mean(film) > 1.0 and 'hid' in value['name']:
            if abs(rundata.mean(speed) - rundata.mean(target)) > HIDDEN_RPM:
                claim.say('"%s", but the idle is %.1f rpm off', word, rundata.mean(speed) - rundata.mean(target))
    if not holds(claim, 'below', 'equal', 'above'):
        claim.say('"%s" needs a predicate on how near the speed is', word)


def at_limit(claim, word):
    """Learned offset or controller at one of its limits some time in the window."""
    engine = claim.run.engine
    for channel, stem in (('learned_pct', 'learned'), ('effort_pct', 'effort')):
        values = rows(claim, channel)
        most, least = engine.key('idle_air.%s_most_pct' % stem), engine.key('idle_air.%s_least_pct' % stem)
        if values and (max(values) > most - AT_LIMIT_PCT or min(values) < least + AT_LIMIT_PCT):
            return
    claim.say('"%s", but neither learned offset nor controller is at a limit from %g to %g s', word, *window(claim))


# ---- order ----


def ordered(claim, word):
    """Cause before effect: a predicate on two times, or on nothing else having changed."""
    if holds(claim, 'before', 'alone', 'alike', 'event'):
        return
    claim.say('"%s" needs a predicate: before, alone, alike or event', word)


def later(claim, word):
    if holds(claim, 'before', 'event'):
        return
    windows = [w for w in value_windows(claim) if None not in w]
    if any(one[1] <= two[0] + 1e-6 for one in windows for two in windows):
        return
    if [value for value in claim.claim.get('values', []) if value.get('is') in ('event', 'first')]:
        return
    claim.say('"%s" needs a predicate on the order of times', word)


def named(claim, name):
    return claim.values.get(name)


def from_to(claim, word):
    """"from A to B" after a verb of direction: A and B the right way round, measured in that order."""
    text = claim.text
    for match in re.finditer(r'\b(r[aio]se[sn]?|rais\w+|climb\w*|grew|grows|went up|gained|opened|risen|fell|falls|fall|drop\w*|sank|sinks|lost'
                             r'|lowers|lowered|came down|slow\w*|closed|shr[aiu]nk\w*)\b[^.;]*?\bfrom (-?[\d.]+)[^.;\d]*? to (-?[\d.]+)', text):
        up = re.match(r'r|climb|gr|went up|gain|open', match.group(1))
        try:
            one, two = float(match.group(2)), float(match.group(3).rstrip('.'))
        except ValueError:
            continue
        if (two < one if up else two > one):
            claim.say('"%s" from %g to %g goes the other way', match.group(1), one, two)


def in_order_of_time(claim, word):
    """The numbers of "from A to B" or "A before, B after" are of windows in that order."""
    printed = [value for value in claim.claim.get('values', []) if value.get('printed') is not None]
    for match in re.finditer(r'\bfrom (-?[\d.]*\d)[^.;\d]{0,20}? to (-?[\d.]*\d)', claim.text):
        pair = [[value for value in printed if str(value['printed']) == word] for word in match.groups()]
        if not all(pair):
            continue
        best = [(one, two) for one in pair[0] for two in pair[1]
                if one.get('channel') and one.get('channel') == two.get('channel') and one is not two]
        if best and all(one.get('from_s', 0.0) > two.get('from_s', 0.0) + 1e-6 for one, two in best):
            if not re.search(r'\bclean\b|\bsound\b|\bwithout\b', claim.text):
                claim.say('"from %s to %s" goes back in time', *match.groups())


# ---- more and less ----


def comparison(claim, word):
    if holds(claim, 'below', 'above', 'before', 'nonzero'):
        return
    claim.say('"%s" needs a predicate: below or above', word)


def off_target(claim, word):
    """"N below its target", "N above target": the speed of the claim's window against its target."""
    for match in re.finditer(r'(-?[\d.]*\d)(?: rpm)? (below|above|under|over|short of) (?:its |the |their )?(?:idle )?target', claim.text):
        number, side = claims.parsed(match.group(1)), -1.0 if match.group(2) in ('below', 'under', 'short of') else 1.0
        values = [value for value in claim.claim.get('values', []) if str(value.get('printed')) == match.group(1)]
        if not any(off_matches(claim, value, side, number) for value in values):
            claim.say('"%s": speed and target of that time do not differ so', match.group(0))


def off_matches(claim, value, side, number):
    of = [claim.values.get(name, {}) for name in value.get('of', [])]
    if value.get('is') != 'difference' or len(of) != 2 or {part.get('channel') for part in of} != {'speed_rpm', 'target_rpm'}:
        return False
    speed = next(part for part in of if part['channel'] == 'speed_rpm')
    target = next(part for part in of if part['channel'] == 'target_rpm')
    if (speed.get('from_s'), speed.get('to_s')) != (target.get('from_s'), target.get('to_s')):
        return False
    one, two = claim.compute(speed['name']), claim.compute(target['name'])
    return bool(one and two) and abs(side * (one[0] - two[0]) - number[0]) <= number[1] + one[1] + two[1] + 1e-6


def races(claim, word):
    speed = [v for v in claim.claim.get('values', []) if v.get('channel') == 'speed_rpm']
    for value in speed:
        from_s, to_s = value.get('from_s', window(claim)[0]), value.get('to_s', window(claim)[1])
        found, target = rows(claim, 'speed_rpm', from_s, to_s), rows(claim, 'target_rpm', from_s, to_s)
        if found and target and rundata.mean(found) > rundata.mean(target) + RACING_RPM:
            return
    found, target = rows(claim, 'speed_rpm'), rows(claim, 'target_rpm')
    if not speed and found and target and max(found) > max(target) + RACING_RPM:
        return
    claim.say('"%s", but no speed of it stands %g rpm above target', word, RACING_RPM)


# ---- codes and other events ----


def codes_of(text):
    return re.findall(r'\bP[0-3]\d{3}\b', text)


def code_states(claim, word):
    """Every code that a sentence calls pending, confirmed or set was; every one called quiet was not."""
    start, end = window(claim)
    for sentence in re.split(r'(?<=[.;])\s+', claim.text):
        codes = codes_of(sentence)
        if not codes:
            continue
        quiet = re.search(r'\bnot (?:be )?(?:set|stored)|did not|does not|\bnever\b|\bno code|\bquiet|\bsilent|\bstays? (?:away|out)|\bnot one', sentence)
        for code in codes:
            events = claim.run.events_of(kind='code', code=code)
            if quiet:
                if any(start - 1e-6 <= event['time_s'] <= end + 1e-6 for event in events):
                    claim.say('%s is told as not set, but it was', code)
                if not holds(claim, 'no_event'):
                    claim.say('%s not set needs a predicate: no_event', code)
                continue
            for state in ('pending', 'confirmed'):
                if re.search(r'\b%s\b' % state, sentence) and not any(event['value'] == state for event in events):
                    claim.say('%s is told as %s, but never was', code, state)
            if not events:
                claim.say('%s is told without "not", but was never set', code)
    check_code_times(claim)


def check_code_times(claim):
    """Times in a sentence on one code are those of its events."""
    codes = set(codes_of(claim.text))
    for value in claim.claim.get('values', []):
        if value.get('is') == 'event' and codes:
            name = str(value.get('event', value.get('source', '')))
            code = codes_of(name)
            if code and code[0] not in codes:
                claim.say('%s is a time of %s', value.get('name'), code[0])


REASONS = (
    (r'pedal (?:was|is|being)? ?(?:pressed|down|held)|foot', lambda c: max(rows(c, 'pedal_pct') or [0.0]) > 0.5, 'the pedal was never pressed'),
    (r'engine (?:was|is) (?:still )?cold', lambda c: min(rows(c, 'coolant_c') or [90.0]) < COLD_C, 'the engine was warm'),
    (r'engine (?:was|is) not running|engine (?:stood|stands)', lambda c: min(rows(c, 'speed_rpm') or [999.0]) < 300.0, 'the engine ran'),
    (r'too (?:recent|soon)|just (?:started|changed)', lambda c: changed_recently(c), 'nothing had changed shortly before'),
    (r'something left|not (?:yet )?at (?:its|their|the) limit', lambda c: something_left(c), 'both were at their limits'),
    (r'key (?:was|is) off', lambda c: c.run.events_of(value='key_off') or c.run.scenario.start == 'key_off', 'the key never was off'),
)


def changed_recently(claim):
    start, end = window(claim)
    marks = [step.at_s + part for step in claim.run.scenario.steps for part in (0.0, step.ramp_s)]
    marks += [event['time_s'] for event in claim.run.events if event['kind'] == 'engine']
    marks += [0.0]
    return any(start - AFTER_START_S <= mark <= end + 1e-6 for mark in marks)


def something_left(claim):
    engine = claim.run.engine
    effort, learned = rows(claim, 'effort_pct'), rows(claim, 'learned_pct')
    inside = [not (e > engine.key('idle_air.effort_most_pct') - 0.1 and l > engine.key('idle_air.learned_most_pct') - 0.1)
              and not (e < engine.key('idle_air.effort_least_pct') + 0.1 and l < engine.key('idle_air.learned_least_pct') + 0.1)
              for e, l in zip(effort, learned)]
    return any(inside)


def reason(claim, word):
    """Why a code is quiet: the reason was true in the claim's window."""
    for pattern, test, complaint in REASONS:
        if re.search(pattern, claim.text, re.I) and codes_of(claim.text) and not test(claim):
            claim.say('a reason is given, but %s', complaint)


def happened(what, *values):
    def demand(claim, word):
        start, end = window(claim)
        slack = claim.run.scenario.record_s + 2.0
        found = [event for event in claim.run.events if event['value'] in values and start - slack <= event['time_s'] <= end + slack]
        if not found:
            claim.say('"%s", but there is no %s from %g to %g s', word, what, start, end)
    return demand


def lamp(claim, word):
    if not claim.run.events_of(kind='code', value='confirmed'):
        claim.say('"%s", but no code was confirmed', word)


# ---- causes: what the scenario did ----

# Words for what can be wrong, and the conditions they may stand for.
CAUSES = (
    (r'\bfilm(?:ed|s)?\b|\bdeposits?\b', ('film_um', 'edge_film_um', 'bypass_film_um')),
    (r'\bleak(?:s|ed|ing)?\b|\btorn\b|\bboot\b', ('leak_mm2', 'booster_leak_mm2', 'boot_leak_mm2', 'charge_leak_mm2')),
    (r'\bair cleaner\b|\bfilter\b', ('filter_ratio',)),
    (r'\bexhaust\b(?!-gas recirculation)', ('exhaust_ratio',)),
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
    wrong = claims.standing(claim.run.scenario, *window(claim))
    if not wrong & named_faults or codes_of(text):
        return
    excused = set().union(*[claims.excepted(hold) for hold in holds(claim, 'alone', 'alike')] or [set()])
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
    for side, of in claims.SIDES.items():
        if found & set(of):
            found.add(side)
    return found


def all_named(claim, word):
    """What an idle is put down to are all the faults that stand then."""
    keys = {name for name in claim.run.scenario.faults if name in claim.text and claim.run.scenario.faults[name]['kind'] == 'fault'
            and re.search(r'\(' + name + r'\)', claim.text)}
    speeds = values_of(claim, 'speed_rpm', 'mean')
    if not keys - {'film_um'} or not speeds or re.search(r'\bput right\b|\bstalls\b', claim.text):
        return
    last = max(speeds, key=lambda value: value['to_s'])
    left = claims.standing(claim.run.scenario, last['from_s'], last['to_s']) - keys
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
        at_one, at_two = (scenario.condition(name, v['to_s'] - claims.EDGE_S) for v in (one, two))
        if abs(at_one - at_two) > 1e-9 * max(1.0, abs(at_one)) and name not in named:
            changed.append(name)
    if changed:
        claim.say('"%s", but between the readings of %g and %g s there changes as well: %s', word, one['from_s'], two['from_s'],
                  ', '.join(sorted(changed)))


# ---- what an engine has ----

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


# ---- physics that a sentence promises ----


def choked(claim, word):
    ambient = claims.ambient_kpa(claim.run.scenario, window(claim)[0])
    manifold = rows(claim, 'manifold_kpa')
    if manifold and rundata.mean(manifold) / ambient > CHOKED_RATIO + 0.005:
        claim.say('"%s", but the pressure ratio is %.3f', word, rundata.mean(manifold) / ambient)


def only_area(claim, word):
    """Air follows the area and nothing else: only where all idle air passes the blade."""
    if claim.run.engine.cable:
        claim.say('"%s" of an engine whose idle air passes a valve as well', word)
    if any(name in claims.standing(claim.run.scenario, *window(claim)) for name in ('leak_mm2', 'boot_leak_mm2', 'booster_leak_mm2', 'charge_leak_mm2')):
        claim.say('"%s" while a leak feeds it', word)


def left_band(claim, word):
    """The edge has left the film's band: it travels R (sin b - sin a) along the bore, the band reaches band_mm from the closed line."""
    engine, throttle = claim.run.engine, claim.run.engine.keys['throttle']
    blade = rows(claim, 'blade_deg')
    if not blade:
        return
    closed = throttle['closed_deg']
    travel = throttle['bore_radius_mm'] * (math.sin(math.radians(closed + max(blade))) - math.sin(math.radians(closed)))
    if travel < engine.keys['film']['band_mm']:
        claim.say('"%s", but it moved %.1f mm and the band reaches %.1f mm', word, travel, engine.keys['film']['band_mm'])


def slower_air(claim, word):
    """A rate is compared with a rate: two predicates' worth of values, in the right order."""
    if not holds(claim, 'below', 'above'):
        claim.say('"%s" needs a predicate: below or above on the two rates', word)


def mixture_quiet(claim, word):
    """The mixture did not notice: the trims' sum in the last window that the claim measures is what it was in the first, or nought."""
    sums = []
    for from_s, to_s in sorted(w for w in set(value_windows(claim)) if None not in w):
        short, long_ = rows(claim, 'stft_pct', from_s, to_s), rows(claim, 'ltft_pct', from_s, to_s)
        running = rows(claim, 'speed_rpm', from_s, to_s)
        if short and long_ and running and min(running) > 300.0:
            sums.append((rundata.mean(short) + rundata.mean(long_), from_s, to_s))
    if len(sums) == 1:
        sums.insert(0, (0.0, 0.0, 0.0))
    if sums and abs(sums[-1][0] - sums[0][0]) > MIXTURE_PCT:
        claim.say('"%s", but the trims go from %.1f to %.1f %%', word, sums[0][0], sums[-1][0])


ALL_SHARE, NEARLY_SHARE = 0.01, 0.06  # what may pass the sensor by where all air, or nearly all, is said to be weighed


def all_weighed(claim, word):
    if not claim.run.engine.air_flow:
        claim.say('"%s" of an engine without an air-flow sensor', word)
    share = NEARLY_SHARE if re.search(r'\b(?:nearly|almost) ' + re.escape(word), claim.text, re.I) else ALL_SHARE
    for from_s, to_s in set(value_windows(claim)):
        air, unmetered = rows(claim, 'airflow_gps', from_s, to_s), rows(claim, 'unmetered_gps', from_s, to_s)
        if air and unmetered and rundata.mean(unmetered) > share * rundata.mean(air):
            claim.say('"%s", but %.2f of %.2f g/s are not from %g to %g s', word, rundata.mean(unmetered), rundata.mean(air), from_s, to_s)


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


def exhausted(claim, word):
    """Spark's reserve is gone."""
    reserve = rows(claim, 'spark_reserve_pct')
    if reserve and min(reserve) > 1.5:
        claim.say('"%s", but at least %.1f %% are left', word, min(reserve))


# Words before or after a number, and the channels that it may then be of.
SPEED, AIR = ('speed_rpm',), ('airflow_gps', 'maf_gps')
MEANT = (
    (r'\b(?:idles?|idled|idling|engine|speed|it|ran|runs|raced|races|racing|back|settle[sd]?)\b[^.;:,()\d]{0,40}?(NUMBER) rpm'
     r'(?! (?:above|below|under|over|short|off|lower|higher|more|less|either|of))', SPEED),
    (r'\btarget(?: of| was| is|_rpm)? (NUMBER)(?: rpm)?\b(?! (?:above|below))', ('target_rpm',)),
    (r'\bfilm of (NUMBER) ?(?:um|mm)\b|(NUMBER) um (?:of )?(?:film|deposit)\b', ('film_um', 'edge_film_um', 'bypass_film_um')),
    (r'\bleak of (NUMBER) mm2', ('leak_mm2',)),
    (r'(NUMBER) g/s of air\b|\bon (NUMBER) g/s\b', AIR),
    (r'\bmanifold (?:stands |stood )?at (NUMBER) kPa', ('manifold_kpa', 'map_kpa')),
    (r'\bcoolant (?:stands |stood |is |was )?at (NUMBER)', ('coolant_c',)),
)
NUMBER = r'-?\d(?:[\d.]*\d)?'
CHANNEL_BEFORE = re.compile(r'\b((?:[a-z0-9]+_)+(?:pct|rpm|deg|kpa|gps|um|mm2|v|a|c|nm|steps)) (?:of |at |is |was |stands at |stood at )?(' + NUMBER + ')')


def leaves(claim, value, depth=0):
    """Channels that a value comes from."""
    if value.get('channel'):
        return {value['channel']} if value.get('is') != 'first' else set()
    if depth > 6:
        return set()
    return set().union(*[leaves(claim, claim.values.get(name, {}), depth + 1) for name in value.get('of', [])] or [set()])


def meant(claim, word):
    """A number is of the channel that the words around it name."""
    found = [(match.group(2), (match.group(1),), match.group(0)) for match in CHANNEL_BEFORE.finditer(claim.text)]
    for pattern, channels in MEANT:
        for match in re.finditer(pattern.replace('NUMBER', NUMBER), claim.text):
            found.append((next(group for group in match.groups() if group), channels, match.group(0)))
    for value in claim.claim.get('values', []):  # a target is called one
        if value.get('printed') is None or value.get('channel') != 'target_rpm':
            continue
        if not re.search(r'target[^.;]{0,30}?(?<![\d.])' + re.escape(str(value['printed'])) + r'(?![\d.]*\d)', claim.text):
            claim.say('%s is a target, and the text does not say so', value['printed'])
    for number, channels, said_so in found:
        values = [value for value in claim.claim.get('values', []) if str(value.get('printed')) == number and leaves(claim, value)]
        if values and not any(leaves(claim, value) & set(channels) for value in values):
            claim.say('"%s" is a number of %s', said_so, ', '.join(sorted(leaves(claim, values[0]))))


# The number beside such a word is measured as the word says.
MEASURED_AS = (
    (r'\bbetween (NUMBER) and NUMBER\b', ('min', 'event', 'constant', 'first')),
    (r'\bbetween NUMBER and (NUMBER)\b', ('max', 'event', 'constant', 'first')),
    (r'(NUMBER)(?: [A-Za-z/%]+[0-9]?)?,? at most\b|\bat most (NUMBER)\b|\bup to (NUMBER)\b', ('max', 'apart', 'pair_max', 'pair_longest', 'range', 'constant', 'count')),
    (r'(NUMBER)(?: [A-Za-z/%]+[0-9]?)?,? at (?:the )?(?:least|lowest)\b|\bat least (NUMBER)\b|\b(?:down|falls|fell|dips|dipped|drops|dropped) to (NUMBER)\b',
     ('min', 'at', 'mean', 'constant')),
)


def measured_as(claim, word):
    for pattern, statistics in MEASURED_AS:
        for match in re.finditer(pattern.replace('NUMBER', NUMBER), claim.text):
            number = next(group for group in match.groups() if group)
            values = [value for value in claim.claim.get('values', []) if str(value.get('printed')) == number and value.get('channel')]
            if values and not any(value.get('is') in statistics for value in values):
                claim.say('"%s" is a %s', match.group(0), values[0].get('is'))


def thickest(claim, word):
    film = rows(claim, 'film_um')
    most = max(claim.run.rows.channel('film_um'))
    if film and max(film) < most - 1.0:
        claim.say('"%s", but the film reaches %.1f um elsewhere and %.1f um here', word, most, max(film))


def several_causes(claim, word):
    wrong = claims.standing(claim.run.scenario, *window(claim))
    if len(wrong) < 2:
        claim.say('"%s", but by the scenario there stands: %s', word, ', '.join(sorted(wrong)) or 'nothing')


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
    moved = {name for step in scenario.steps for name in step.sets if start < step.at_s < end - claims.EDGE_S
             or start < step.at_s + step.ramp_s and step.at_s < end - claims.EDGE_S and step.ramp_s > 0.0}
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


def flares(claim, word):
    pedal = rows(claim, 'pedal_pct')
    if pedal and max(pedal) > 1.0:
        claim.say('"%s", but the pedal is pressed to %.1f %%', word, max(pedal))


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
            number = claims.parsed(at.group(1))
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


CAME = re.compile(r'\b(?:At|From) ([\d.]+)(?: to ([\d.]+))? s\b')


def came(claim, word):
    """What comes or goes at a time is a step of the scenario then."""
    match = CAME.search(claim.text)
    keys = [name for name in re.findall(r'\((\w+)\)', claim.text) if name in claim.run.scenario.faults
            and claim.run.scenario.faults[name]['kind'] == 'fault' and name not in claim.run.rows.columns]
    if not match or not keys or not re.match(r'(?:At|From) ', claim.text) or 'stall' in claim.text:
        return
    number = claims.parsed(match.group(1))
    for name in keys:
        start = claim.run.scenario.faults[name]['start']
        goes = [at for at, old, new in claim.run.scenario.changes(name) if abs(new - start) < abs(old - start)]
        times = [t for step in claim.run.scenario.steps if name in step.sets for t in (step.at_s, step.at_s + step.ramp_s)
                 if step.at_s in goes or 'put right' not in claim.text]
        if re.search(r'\b(?:another|second) fault\b', claim.text) and abs(claim.run.scenario.condition(name, number[0] - number[1] - 0.01) - start) > 1e-9:
            claim.say('"another fault", but %s stood before', name)
        if not any(abs(time_s - number[0]) <= number[1] * 1.01 for time_s in times):
            claim.say('%s does not move at %s s', name, match.group(1))
        if match.group(2):
            end = claims.parsed(match.group(2))
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


WITH_KEY = re.compile(r'(?:, |of )(NUMBER)(?: [A-Za-z%/]+2?)? \((\w+)\)'.replace('NUMBER', NUMBER))


def value_of_key(claim, word):
    """A condition told with its key has that value in the claim's window."""
    scenario = claim.run.scenario
    start, end = window(claim)
    for match in WITH_KEY.finditer(claim.text):
        number, name = claims.parsed(match.group(1)), match.group(2)
        if name not in scenario.initial or scenario.faults[name]['kind'] != 'fault' or name in claim.run.rows.columns:
            continue
        if 'began' in claim.text:  # on its way to that
            end = max([end] + [step.at_s + step.ramp_s for step in scenario.steps if name in step.sets and step.at_s <= end])
        times = [start, end] + [t for step in scenario.steps for t in (step.at_s, step.at_s + step.ramp_s) if start - 0.1 <= t <= end + 0.1]
        if not any(abs(scenario.condition(name, t) - number[0]) <= number[1] + 5e-4 * abs(number[0]) for t in times):
            claim.say('%s is never %s from %g to %g s', name, match.group(1), start, end)


JUST_BEFORE_S = 5.0


def nothing_before(claim, word):
    _, end = window(claim)
    steps = [step.at_s for step in claim.run.scenario.steps if step.sets and end - JUST_BEFORE_S < step.at_s <= end]
    if steps:
        claim.say('"%s", but there is a step at %g s', word, steps[-1])


DEMANDS = (
    # word, demand; a pattern that is only said (not denied) calls its demand
    (r'\bstead(?:y|ily)\b', need('steady')),
    (r'\b(?:settle[sd]?|came to rest|comes to rest)\b', settled),
    (r'\b(?:hid|hides?|hidden|hiding|invisible|conceal\w*)\b', hidden),
    (r'\b(?:at|reached|reaches|came to|on) (?:its|the|their) (?:upper |lower )?limit\b', at_limit),
    (r'\b(?:because|therefore|that is why|for that reason|caused? by|the cause)\b|(?:^|[.;:,] )so (?!much|little|far|many|that|as|slow|large)', ordered),
    (r'\b(?:then|afterwards|until|later|first .* then)\b', later),
    (r'\bat first\b', early),
    (r'\b(?:below|under|short of|lower|less|fewer|fell|falls|drop(?:s|ped)|sank|sinks|sagged|slower)\b'
     r'(?! (?:limit|than) )', comparison),
    (r'\b(?:above|higher|more than|raises|raised|rose|rises|climbs|climbed|faster|exceeds)\b', comparison),
    (r'\b(?:rac(?:es|ed|ing))\b', races),
    (r'\bP[0-3]\d{3}\b', code_states),
    (r'\bP[0-3]\d{3}\b', reason),
    (r'\b(?:stall(?:s|ed)|died|dies)\b', happened('stall', 'stall', 'standstill')),
    (r'\b(?:started|fired|restarted|starts again)\b', happened('start', 'started', 'key_start')),
    (r'\blimp(?:s|ed|-home)?\b', happened('limp-home', 'limp')),
    (r'\blamp (?:is )?(?:on|lit)\b|\blamp comes on\b', lamp),
    (r'\b(?:was|were|been|after|once|is|the) (?:\w+ )?(?:clean(?:ed|ing)|mend(?:ed|ing)|repair(?:ed)?|put right|replaced|renewed|fixed)\b'
     r'|\bafter the (?:clean|repair)\b', cleaned),
    (r'\bput right\b|\bis mended\b|\bis repaired\b|\bafter the (?:clean|repair)\b', compares_alike),
    (r'\bchok(?:ed|es)\b', choked),
    (r"\b(?:area|gap'?s? area) and nothing else\b|\bnothing but the (?:gap|area)\b", only_area),
    (r'\b(?:left|leaves|out of|outside) the (?:band|film)\b', left_band),
    (r'\bair comes (?:slower|later)\b', slower_air),
    (r'\b(?:mixture (?:never|did not|does not) notice\w*|trims (?:never|did not|do not) (?:move|notice)\w*|mixture stays? right)', mixture_quiet),
    (r'\b(?:holds|held) (?:at )?-?\d[\d.]* rpm', need('equal', 'steady', 'above', 'below')),
    (r'\b(?:stays?|stayed) (?:where|as|the same)|\bunchanged\b|\bsays? the same\b|\bdoes? not move\b|\bdo not move\b|\btrims stay\b', need('equal', 'steady')),
    (r'\bnothing (?:is |was )?(?:switched|changed) just before\b', nothing_before),
    (r'\bsome seconds later\b', runs_through),
    (r'\bon at [\d.]+ s: from\b|\b(?:stop|gear) at [\d.]+ s: from\b', dips),
    (r'\bon the air and fuel that a start is given\b', flares),
    (r'\b(?:takes|needs) [\d.]+ minutes (?:to come )?back\b', back_in),
    (r'\bthickest\b', thickest),
    (r'\b(?:second cause|two causes|both causes)\b', several_causes),
    (r'\bnothing (?:is |was )?switched on\b|\bno load\b|\bleft alone\b', nothing_on),
    (r'\bspark\b[^.]*\bused up\b', exhausted),
    (r'\breserve of air\b[^.]*\bused up\b|\ball it may add is in use\b', at_limit),
    (r'\ball (?:the |its )?air is (?:weighed|counted|metered)\b|\bpasses the air-flow sensor\b', all_weighed),
)
# Held of every sentence.
ALWAYS = (meant, all_named, value_of_key, loads, came, measured_as, from_to, in_order_of_time, off_target, engine_has, causes)
DENIABLE = re.compile(r'mixture|never|not|nothing')

ODD_WORDS = re.compile(r'\b(?:heeded|kept quiet|make it good|made good|seen by nobody|a sound engine|sound idle)\b')
RAW_OPENING = re.compile(r'^(?:[a-z0-9]+_)+(?:pct|rpm|deg|kpa|gps|um|mm2|v|a|c|s|nm|steps)\b')


def check_style(claim):
    for sentence in SENTENCE.split(claim.text):
        if RAW_OPENING.search(sentence.strip()):
            claim.say('a sentence opens with a channel name: %s', sentence.split()[0])
    odd = ODD_WORDS.search(claim.text)
    if odd:
        claim.say('odd word: %s', odd.group(0))
    if re.search(r'(?<![\w.])-0(?:\.0+)?(?![\d.])', claim.text):
        claim.say('a nought with a sign')


def without_names(claim):
    """The text without what a condition is called: "is so many times slower" is a name, not a comparison."""
    text = claim.text
    for row in claim.run.scenario.faults.values():
        for ends in (r'[;,(]', r'[:;,(]'):
            phrase = re.split(ends, row['text'])[0].strip()
            if len(phrase) > 12:
                text = re.sub(re.escape(phrase), 'fault', text, flags=re.I)
    return text


def check(claim):
    """All that the words of a claim promise; complaints go to the claim."""
    text = without_names(claim)
    if codes.check(claim):
        for demand in (engine_has, causes, check_style):
            demand(claim) if demand is check_style else demand(claim, '')
        return claim.complaints
    for pattern, demand in DEMANDS:
        match = re.search(pattern, text, re.I)
        if match and (DENIABLE.search(pattern) or codes_of(match.group(0)) or said(text, pattern)):
            demand(claim, match.group(0).strip(' .,;:'))
    for demand in ALWAYS:
        demand(claim, '')
    match = re.search(r'\b(?:because|therefore|caused? by)\b|(?:^|[.;:,] )so (?!much|little|far|many|that|as|slow|large)', claim.text, re.I)
    if match:
        two_causes(claim, match.group(0).strip(' .,;:'))
    check_style(claim)
    return claim.complaints
