"""Words about codes and other events: when they came, and why they did not."""
import re

from saying import holds, rows, window
from words_physics import COLD_C

AFTER_START_S = 30.0   # "start too recent" cannot be said of a start longer ago


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
