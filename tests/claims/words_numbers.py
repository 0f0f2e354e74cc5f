"""Words beside a number: of which channel it then may be, and how it is measured."""
import re

import figures
from saying import CHANNEL_BEFORE, NUMBER, window

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


WITH_KEY = re.compile(r'(?:, |of )(NUMBER)(?: [A-Za-z%/]+2?)? \((\w+)\)'.replace('NUMBER', NUMBER))


def value_of_key(claim, word):
    """A condition told with its key has that value in the claim's window."""
    scenario = claim.run.scenario
    start, end = window(claim)
    for match in WITH_KEY.finditer(claim.text):
        number, name = figures.parsed(match.group(1)), match.group(2)
        if name not in scenario.initial or scenario.faults[name]['kind'] != 'fault' or name in claim.run.rows.columns:
            continue
        if 'began' in claim.text:  # on its way to that
            end = max([end] + [step.at_s + step.ramp_s for step in scenario.steps if name in step.sets and step.at_s <= end])
        times = [start, end] + [t for step in scenario.steps for t in (step.at_s, step.at_s + step.ramp_s) if start - 0.1 <= t <= end + 0.1]
        if not any(abs(scenario.condition(name, t) - number[0]) <= number[1] + 5e-4 * abs(number[0]) for t in times):
            claim.say('%s is never %s from %g to %g s', name, match.group(1), start, end)
