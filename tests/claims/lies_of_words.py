"""Lies about words, codes, events and the whole summary; each takes (run, index of the claim, random source) and returns a run, or None."""
import copy
import re

from alter import altered

TURNED = (('below', 'above'), ('above', 'below'), ('rises', 'falls'), ('rose', 'fell'), ('fell', 'rose'), ('falls', 'rises'), ('raises', 'lowers'),
          ('raised', 'lowered'), ('lowers', 'raises'), ('drops', 'climbs'), ('dropped', 'climbed'), ('climbed', 'dropped'))


def word_turned(run, index, draw):
    """"below its target" becomes "above its target"; a rise a fall. Only where the sentence has the numbers that deny it."""
    claim = run.claims[index]
    for old, new in TURNED:
        target = re.search(r'\d(?: rpm)? %s (?:its |the )?target' % old, claim['text'])
        way = re.search(r'\b%s\b[^.;]*? from (-?[\d.]*\d)[^.;\d]*? to (-?[\d.]*\d)' % old, claim['text'])
        if target or (way and float(way.group(1)) != float(way.group(2))):
            spot = (target or way).start()
            at = claim['text'].index(old, spot)
            return altered(run, index, dict(claim, text=claim['text'][:at] + new + claim['text'][at + len(old):]))
    return None


OTHER_CAUSES = (('film', 'leak', ('leak_mm2', 'booster_leak_mm2', 'boot_leak_mm2')), ('leak', 'film', ('film_um', 'edge_film_um', 'bypass_film_um')),
                ('deposit', 'leak', ('leak_mm2', 'booster_leak_mm2', 'boot_leak_mm2')), ('compressor', 'steering', ('steering_pct', 'steering_pump_pct')),
                ('leak', 'weak pump', ('fuel_delivery_ratio',)), ('film', 'torn boot', ('boot_leak_mm2', 'leak_mm2', 'booster_leak_mm2')))


def wrong_cause(run, index, draw):
    """The sentence names what the scenario never has."""
    claim = run.claims[index]
    choices = [row for row in OTHER_CAUSES if re.search(r'(?<!no )(?<!not a )\b%s\b' % row[0], claim['text'])]
    draw.shuffle(choices)
    for old, new, names in choices:
        if any(run.scenario.initial[name] != run.scenario.faults[name]['start'] or run.scenario.changes(name) for name in names):
            continue
        text = re.sub(r'\b%s\b' % old, new, claim['text'], count=1)
        if not re.search(r"\b(?:no|not|without|never|like|unlike|or|of a)\b[^.;]{0,30}\b%s" % new, text):
            return altered(run, index, dict(claim, text=text))
    return None


PROMISED = (('steady', r'\b(?:steady|steadily|settle[sd]?)\b'), ('no_event', r'^Not set\b'), ('only_while', r'\bonly\b'),
            ('before', r'\bbecause\b|\btherefore\b'), ('below', r'\b(?:below target|below its target)\b'), ('above', r'\babove target\b'))
# Another of its kind carries a word as well.
STAND_IN = {'before': {'alone', 'alike', 'event'}, 'below': {'above', 'before', 'nonzero'}, 'above': {'below', 'before', 'nonzero'}}


def predicate_dropped(run, index, draw):
    """A word that promises something, without what it promises."""
    claim = run.claims[index]
    promised = list(PROMISED)
    draw.shuffle(promised)
    for kind, pattern in promised:
        has = [hold for hold in claim['holds'] if hold['is'] == kind]
        rest = {hold['is'] for hold in claim['holds']} - {kind}
        if has and re.search(pattern, claim['text']) and not rest & STAND_IN.get(kind, set()):
            return altered(run, index, dict(claim, holds=[hold for hold in claim['holds'] if hold['is'] != kind]))
    return None


def predicate_turned(run, index, draw):
    """Before, below and above the other way round."""
    claim = copy.deepcopy(run.claims[index])
    numbers = {value['name']: value['value'] for value in claim['values']}
    holds = [hold for hold in claim['holds'] if hold['is'] in ('before', 'below', 'above')
             and abs(numbers.get(hold['of'][0], 0.0) - numbers.get(hold['of'][1], 0.0)) > 1.0]
    if not holds:
        return None
    hold = draw.choice(holds)
    hold['of'] = hold['of'][::-1]
    return altered(run, index, claim)


def unsteady(run, index, draw):
    """The speed hunts by 80 rpm about the same mean where it is promised to be steady."""
    claim = run.claims[index]
    holds = [hold for hold in claim['holds'] if hold['is'] == 'steady' and hold['channel'] == 'speed_rpm']
    if not holds:
        return None
    first, last = run.rows.between(holds[0]['from_s'], holds[0]['to_s'])
    column = list(run.rows.channel('speed_rpm'))
    for i in range(first, last - (last - first) % 2):
        column[i] += 80.0 if i % 2 else -80.0
    return altered(run, columns={'speed_rpm': column})


def still_learning(run, index, draw):
    """The learned offset runs on where it is promised to rest."""
    claim = run.claims[index]
    holds = [hold for hold in claim['holds'] if hold['is'] == 'steady' and hold['channel'] == 'learned_pct' and hold.get('by', 0.0) < 1.0]
    if not holds:
        return None
    first, last = run.rows.between(holds[0]['from_s'], holds[0]['to_s'])
    column = list(run.rows.channel('learned_pct'))
    way = draw.choice((-6.0, 6.0))
    for i in range(first, last):
        column[i] += way * ((i - first) / (last - first) - 0.5)
    return altered(run, columns={'learned_pct': column})


def repair_told(run, index, draw):
    """A repair that the scenario has not."""
    scenario = run.scenario
    for name, row in scenario.faults.items():
        if row['kind'] == 'fault' and any(abs(new - row['start']) < abs(old - row['start']) for _, old, new in scenario.changes(name)):
            return None
    claim = run.claims[index]
    return altered(run, index, dict(claim, text=claim['text'] + draw.choice((' Then the bore was cleaned.', ' The hose was mended after that.'))))


def part_that_is_missing(run, index, draw):
    """Something is said of a part that the engine does not have."""
    engine = run.engine
    sayings = [' The throttle drive holds the blade there.', ' Its command_deg stands still.'] if engine.cable else [' The bypass valve makes up for it.']
    if not engine.charger:  # that has both
        sayings += [' The pressure sensor shows it.'] if engine.air_flow else [' The air-flow sensor shows it.']
    if engine.banks == 1:
        sayings.append(' Only bank 2 shows it.')
    if not engine.gear:
        sayings.append(' That is with the car in gear.')
    claim = run.claims[index]
    return altered(run, index, dict(claim, text=claim['text'] + draw.choice(sayings)))


def event_moved(run, index, draw):
    """An event whose time is told happened seven seconds later."""
    for value in run.claims[index]['values']:
        if value.get('is') == 'event' and value.get('printed') is not None:
            events = [dict(event) for event in run.events]
            near = [event for event in events if abs(event['time_s'] - value['value']) < 7.5]
            for event in near:
                event['time_s'] += 7.0 if event['time_s'] >= value['value'] - 0.01 else -7.0
            return altered(run, events=events) if near else None
    return None


def event_gone(run, index, draw):
    """An event that is told never happened."""
    for value in run.claims[index]['values']:
        if value.get('is') == 'event':
            events = [event for event in run.events if abs(event['time_s'] - value['value']) > 0.05]
            names = {event['value'] for event in run.events if abs(event['time_s'] - value['value']) <= 0.05}
            if not any(event['value'] in names and abs(event['time_s'] - value['value']) < 1.0 for event in events):
                return altered(run, events=events)
    return None


def code_swapped(run, index, draw):
    """A code told as set that never was."""
    claim = run.claims[index]
    if not claim.get('code') or not re.match(r'(?:Pending|Confirmed) at', claim['text']):
        return None
    never = draw.choice([code for code in run.program.codes if not run.events_of(kind='code', code=code)])
    return altered(run, index, dict(claim, code=never, name=run.program.codes[never]['definition']))


def code_confirmed(run, index, draw):
    """Pending told as confirmed."""
    claim = run.claims[index]
    if not re.fullmatch(r'Pending at [\d.]+ s\.', claim['text']) or run.events_of(kind='code', code=claim.get('code'), value='confirmed'):
        return None
    return altered(run, index, dict(claim, text=claim['text'].replace('Pending', 'Confirmed').replace(' s.', ' s, lamp on.')))


def quiet_code_set(run, index, draw):
    """A code told as not set was set in that very time."""
    claim = run.claims[index]
    if not claim.get('code') or not claim['text'].startswith('Not set'):
        return None
    time_s, code = draw.uniform(claim['from_s'], claim['to_s']), claim['code']
    event = {'time_s': time_s, 'kind': 'code', 'code': code, 'value': 'pending', 'text': code + ' pending'}
    return altered(run, events=sorted(run.events + [event], key=lambda event: event['time_s']))


def made_up_reason(run, index, draw):
    """A quiet code is put down to the pedal, which nobody touched."""
    claim = run.claims[index]
    if not claim['text'].startswith('Not set') or max(run.rows.channel('pedal_pct')) > 1.0 or 'pedal' in claim['text']:
        return None
    other = copy.deepcopy(claim)
    other['text'] = re.sub(r' only .*|;.*|\.$', '', claim['text']) + ' only with the pedal pressed.'
    for hold in other['holds']:
        if hold['is'] == 'only_while':
            hold['reasons'] = 'pedal'
    return altered(run, index, other)


def code_named_wrongly(run, index, draw):
    """A code by the name of another."""
    claim = run.claims[index]
    if not claim.get('code'):
        return None
    names = [row['definition'] for code, row in run.program.codes.items() if code != claim['code']]
    return altered(run, index, dict(claim, name=draw.choice(names)))


def said_without_claim(run, index, draw):
    """A sentence of the summary that no claim stands behind."""
    text = run.claims[index]['text']
    start = text.split()[:4]
    spot = re.search(r'\s+'.join(re.escape(word) for word in start), run.summary)
    if not spot:
        return None
    extra = draw.choice(('The idle stood at 777 rpm for a while. ', 'It took 13 s to come back. '))
    return altered(run, summary=run.summary[:spot.start()] + extra + run.summary[spot.start():])


def claim_left_out(run, index, draw):
    """The summary says a sentence that the JSON has no claim for any more."""
    other = copy.copy(run)
    other.claims = run.claims[:index] + run.claims[index + 1:]
    return other
