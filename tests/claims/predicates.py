"""What a claim promises, tried on the rows, events and timeline of its run: one function a predicate."""
import math
import re

import rundata
from figures import is_number, plain_unit
from sources import find_events

# A steady reading wanders less than this: standard deviation, and from the first half of its window to the second. As wide as the
# unevenness of a sound idle, several times what a gauge's needle shows; for other channels a fiftieth of their everyday size.
STEADY = {'speed_rpm': (30.0, 12.0), 'film_um': (1.0, 1.0), 'learned_pct': (0.5, 0.5), 'effort_pct': (2.0, 1.0),
          'manifold_kpa': (1.5, 0.7), 'airflow_gps': (0.15, 0.06), 'blade_deg': (0.1, 0.05), 'stft_pct': (2.0, 1.0),
          'ltft_pct': (1.0, 0.7), 'coolant_c': (1.0, 1.0), 'target_rpm': (2.0, 2.0)}
# What may still pass for zero where a channel is said to be zero; 0.05 of others.
NOUGHT = {'speed_rpm': 1.0, 'stft_pct': 3.0, 'ltft_pct': 3.0, 'effort_pct': 0.5, 'learned_pct': 0.5, 'pedal_pct': 1.0, 'film_um': 0.5}


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
            claim.say('%g is no zero of %s', within, predicate['channel'])
        if any((abs(row) > within + slack) if wanted else (abs(row) <= within) for row in rows):
            claim.say('%s is %s from %g to %g s', predicate['channel'], 'not zero' if wanted else 'zero somewhere',
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
