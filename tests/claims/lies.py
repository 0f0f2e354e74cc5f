"""Seeded lies: a true run is altered so that one of its claims no longer holds, and the reader has to find it.

Every lie is one by construction: before a change is taken, arithmetic of its own, on the rows and on the claim, says that the sentence
is false or has lost what its words promise. Whether the reader finds it plays no part in that.
"""
import copy
import random
import re

import rundata
import wholes


def altered(run, index=None, claim=None, columns=None, events=None, summary=None):
    """The run with another claim at index, other columns, other events."""
    other = copy.copy(run)
    if claim is not None:
        other.claims = list(run.claims)
        other.claims[index] = claim
        other.summary = run.summary if summary is None else summary
    if columns:
        other.rows = copy.copy(run.rows)
        other.rows.numbers = dict(run.rows.numbers)
        other.rows.numbers.update(columns)
    if events is not None:
        other.events = events
    if summary is not None:
        other.summary = summary
    return other


def measured(claim, kinds=('mean', 'min', 'max', 'at')):
    return [value for value in claim['values'] if value.get('is') in kinds and value.get('printed') is not None and 'channel' in value]


def last_digit(value):
    word = str(value['printed'])
    return 10.0 ** -(len(word.split('.')[1]) if '.' in word else 0)


def unit_factor(value):
    """What a value is in its channel's unit per unit told."""
    return 1000.0 if value['channel'].endswith('_um') and value.get('unit') == 'mm' else 1.0


def shown(value, number):
    decimals = len(str(value['printed']).split('.')[1]) if '.' in str(value['printed']) else 0
    return '%.*f' % (decimals, number)


def replace_once(text, old, new):
    pattern = re.compile(r'(?<![\w.])' + re.escape(old) + r'(?![\w])(?!\.\d)')
    return pattern.sub(lambda _: new, text, count=1) if len(pattern.findall(text)) == 1 else None


def retell(claim, name, number):
    """A copy of the claim in which a value, what is printed of it and the text say another number; None if that is not clear-cut."""
    other = copy.deepcopy(claim)
    value = next(value for value in other['values'] if value['name'] == name)
    text = replace_once(other['text'], str(value['printed']), shown(value, number))
    if text is None or text == other['text']:
        return None
    other['text'], value['value'], value['printed'] = text, float(shown(value, number)), shown(value, number)
    return other


# ---- lies about numbers; each takes (run, index of the claim, random source) and returns a run, or None ----


def channel_shifted(run, index, draw):
    """The rows move, the sentence stays."""
    values = measured(run.claims[index])
    if not values:
        return None
    value = draw.choice(values)
    channel = value['channel']
    shift = draw.choice((-1.0, 1.0)) * (3.0 * last_digit(value) * unit_factor(value) + 4.0 * run.rows.half_step(channel))
    first, last = run.rows.between(value['from_s'], value.get('to_s', value['from_s']))
    column = list(run.rows.channel(channel))
    for i in range(max(0, first - 1), min(len(column), last + 1)):
        column[i] += shift
    return altered(run, columns={channel: column})


def window_moved(run, index, draw):
    """The numbers stay, the window is another one, where the mean is another."""
    claim = run.claims[index]
    values = measured(claim, ('mean',))
    draw.shuffle(values)
    for value in values:
        length = value['to_s'] - value['from_s']
        for _ in range(8):
            from_s = round(draw.uniform(0.0, max(0.0, run.scenario.duration_s - length)), 1)
            rows = run.rows.window(value['channel'], from_s, from_s + length)
            if not rows or abs(sum(rows) / len(rows) / unit_factor(value) - value['value']) < 2.0 * last_digit(value):
                continue
            other = copy.deepcopy(claim)
            moved = next(v for v in other['values'] if v['name'] == value['name'])
            moved['from_s'], moved['to_s'] = from_s, from_s + length
            return altered(run, index, other)
    return None


def other_channel(run, index, draw):
    """The number stays, its channel is another, which read something else."""
    claim = run.claims[index]
    values = measured(claim, ('mean',))
    draw.shuffle(values)
    for value in values:
        names = [name for name in run.rows.names if name not in ('time_s', value['channel']) and run.rows.has(name)]
        draw.shuffle(names)
        for name in names:
            rows = run.rows.window(name, value['from_s'], value['to_s'])
            if rows and abs(sum(rows) / len(rows) - value['value']) > 2.0 * last_digit(value) + 2.0 * run.rows.half_step(name):
                other = copy.deepcopy(claim)
                next(v for v in other['values'] if v['name'] == value['name'])['channel'] = name
                other['channels'] = sorted(set(other['channels']) | {name})
                return altered(run, index, other)
    return None


def other_channel_told(run, index, draw):
    """The idle's speed is told as what the target is, value and rows agreeing."""
    claim = run.claims[index]
    for value in measured(claim, ('mean',)):
        if value['channel'] != 'speed_rpm' or not re.search(r'(?:idle[sd]?|engine|speed|ran|raced|runs) [^.;]*?%s' % re.escape(str(value['printed'])),
                                                            claim['text']):
            continue
        rows = run.rows.window('target_rpm', value['from_s'], value['to_s'])
        if not rows or abs(sum(rows) / len(rows) - value['value']) < 5.0:
            continue
        other = retell(claim, value['name'], sum(rows) / len(rows))
        if other is None:
            continue
        changed = next(v for v in other['values'] if v['name'] == value['name'])
        changed['channel'], changed['value'] = 'target_rpm', sum(rows) / len(rows)
        other['channels'] = sorted(set(other['channels']) | {'target_rpm'})
        return altered(run, index, other)
    return None


def number_told(run, index, draw):
    """Text, printed and value all say a number that the rows do not have."""
    values = [value for value in run.claims[index]['values'] if value.get('printed') is not None and re.search(r'\d', str(value['printed']))]
    if not values:
        return None
    value = draw.choice(values)
    other = retell(run.claims[index], value['name'], value['value'] + draw.choice((-1.0, 1.0)) * draw.randrange(3, 9) * last_digit(value))
    return other and altered(run, index, other)


def number_in_text(run, index, draw):
    """Only the text says another number."""
    claim = run.claims[index]
    values = [value for value in claim['values'] if value.get('printed') is not None and re.search(r'\d', str(value['printed']))]
    if not values:
        return None
    value = draw.choice(values)
    text = replace_once(claim['text'], str(value['printed']), shown(value, value['value'] + 7.0 * last_digit(value)))
    return text and altered(run, index, dict(claim, text=text))


def order_swapped(run, index, draw):
    """"from A to B" becomes "from B to A" in the text."""
    claim = run.claims[index]
    match = re.search(r'\bfrom (-?\d[\d.]*\d|\d)\b([^.;\d]{0,20}?) to (-?\d[\d.]*\d|\d)\b', claim['text'])
    if not match or match.group(1) == match.group(3):
        return None
    swapped = 'from %s%s to %s' % (match.group(3), match.group(2), match.group(1))
    return altered(run, index, dict(claim, text=claim['text'].replace(match.group(0), swapped, 1)))


def values_swapped(run, index, draw):
    """Two values of one unit change places with their numbers: the run had them the other way round."""
    claim = run.claims[index]
    values = measured(claim)
    draw.shuffle(values)
    for one in values:
        for two in values:
            if one['channel'] != two['channel'] or abs(one['value'] - two['value']) < 3.0 * max(last_digit(one), last_digit(two)):
                continue
            if str(one['printed']) == str(two['printed']) or claim['text'].count(str(one['printed'])) + claim['text'].count(str(two['printed'])) != 2:
                continue
            other = copy.deepcopy(claim)
            a, b = (next(v for v in other['values'] if v['name'] == v0['name']) for v0 in (one, two))
            a['value'], b['value'], a['printed'], b['printed'] = b['value'], a['value'], b['printed'], a['printed']
            other['text'] = other['text'].replace(str(one['printed']), '\0').replace(str(two['printed']), str(one['printed'])).replace('\0', str(two['printed']))
            return altered(run, index, other)
    return None


def sign_changed(run, index, draw):
    """A number with its sign turned over."""
    values = [value for value in run.claims[index]['values'] if value.get('printed') is not None and re.search(r'[1-9]', str(value['printed']))
              and re.search(r'^-?\d', str(value['printed']))]
    if not values:
        return None
    value = draw.choice(values)
    other = retell(run.claims[index], value['name'], -value['value'])
    return other and altered(run, index, other)


def constant_told(run, index, draw):
    """A rule's or the engine's value that is another one in its source."""
    values = [value for value in run.claims[index]['values'] if value.get('is') == 'constant' and value.get('printed') is not None]
    if not values:
        return None
    value = draw.choice(values)
    other = retell(run.claims[index], value['name'], value['value'] * 1.5 + 3.0 * last_digit(value))
    return other and altered(run, index, other)


def number_without_value(run, index, draw):
    """A number that no value stands for."""
    claim = run.claims[index]
    other = claim['text'].rstrip('.') + ', %d rpm more than before.' % draw.randrange(100, 400)
    return altered(run, index, dict(claim, text=other))


def window_empty(run, index, draw):
    """A window without a row, or after the end."""
    claim = copy.deepcopy(run.claims[index])
    end_s = run.scenario.duration_s
    parts = [claim] + [value for value in claim['values'] if 'channel' in value and value.get('is') != 'first']
    part = draw.choice(parts)
    part['from_s'], part['to_s'] = draw.choice(((end_s + 10.0, end_s + 20.0), (5.03, 5.04), (30.0, 10.0)))
    return altered(run, index, claim)


def not_a_number(run, index, draw):
    """A value that is null, as nan becomes in JSON."""
    claim = copy.deepcopy(run.claims[index])
    if not claim['values']:
        return None
    draw.choice(claim['values'])['value'] = None
    return altered(run, index, claim)


# ---- lies about words ----

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


# ---- lies about codes and events ----


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


# ---- lies of the whole summary ----


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


KINDS = (channel_shifted, window_moved, other_channel, other_channel_told, number_told, number_in_text, order_swapped, values_swapped,
         sign_changed, constant_told, number_without_value, window_empty, not_a_number, word_turned, wrong_cause, predicate_dropped,
         predicate_turned, unsteady, still_learning, repair_told, part_that_is_missing, event_moved, event_gone, code_swapped,
         code_confirmed, quiet_code_set, made_up_reason, code_named_wrongly, said_without_claim, claim_left_out)
RARE = (other_channel_told, order_swapped, values_swapped, word_turned, predicate_dropped, unsteady, still_learning, event_gone, code_confirmed,
        made_up_reason)
OF_THE_WHOLE = (said_without_claim, claim_left_out)


# ---- changes that leave every claim true ----


def rows_elsewhere(run, index, draw):
    """Rows that no window of the claim holds."""
    claim = run.claims[index]
    first, last = run.rows.between(claim['from_s'] - 0.01, claim['to_s'] + 0.01)
    name = draw.choice([name for name in ('speed_rpm', 'film_um', 'airflow_gps', 'spark_deg') if run.rows.has(name)])
    column = [value if first <= i < last else value + 50.0 for i, value in enumerate(run.rows.channel(name))]
    return altered(run, columns={name: column}) if ELSEWHERE_FREE.isdisjoint(claim['text'].lower().split()) else None


# Words that look beyond the claim's window.
ELSEWHERE_FREE = {'thickest'}


def predicates_shuffled(run, index, draw):
    claim = copy.deepcopy(run.claims[index])
    draw.shuffle(claim['holds'])
    return altered(run, index, claim)


def value_added(run, index, draw):
    """One more true value, not printed."""
    claim = copy.deepcopy(run.claims[index])
    windows = [(value['from_s'], value['to_s']) for value in claim['values'] if value.get('is') == 'mean']
    if not windows:
        return None
    rows = run.rows.window('coolant_c', *windows[0])
    claim['values'].append({'name': 'one_more', 'value': sum(rows) / len(rows), 'unit': 'C', 'is': 'mean', 'channel': 'coolant_c',
                            'from_s': windows[0][0], 'to_s': windows[0][1]})
    claim['channels'] = sorted(set(claim['channels']) | {'coolant_c'})
    return altered(run, index, claim)


def hair_moved(run, index, draw):
    """A channel moves by less than what its cells are rounded to."""
    name = draw.choice([name for name in run.rows.names if name != 'time_s' and run.rows.has(name)])
    column = [value + 0.2 * run.rows.half_step(name) for value in run.rows.channel(name)]
    return altered(run, columns={name: column})


HARMLESS = (rows_elsewhere, predicates_shuffled, value_added, hair_moved)


def spare(run, seed, count):
    """So many changes that are no lies: [(kind, text, whether the reader lets them pass)]."""
    draw = random.Random(seed)
    told = []
    for kind in HARMLESS:
        index = draw.randrange(len(run.claims)) if run.claims else 0
        same = kind(run, index, draw) if run.claims and len(told) < count else None
        if same is not None:
            told.append((kind.__name__, run.claims[index]['text'], not found(run, same, index, kind)))
    return told


def tell(run, seed, count):
    """So many lies about the run: [(kind, text of the claim, found)]. Complaints that the true run has do not count as finding."""
    draw = random.Random(seed)
    told = []
    kinds = list(KINDS)
    draw.shuffle(kinds)
    if seed % 2:
        kinds.sort(key=lambda kind: kind not in RARE)  # what few claims allow comes first, so that every kind has its share
    for kind in kinds * 3:
        if len(told) >= count or not run.claims:
            break
        order = list(range(len(run.claims)))
        draw.shuffle(order)
        for index in order:
            false = kind(run, index, draw)
            if false is not None:
                told.append((kind.__name__, run.claims[index]['text'], found(run, false, index, kind)))
                break
    return told


def found(run, false, index, kind):
    if kind in OF_THE_WHOLE:
        return bool(set(wholes.check_summary(false)) - set(wholes.check_summary(run)))
    return bool(set(wholes.check_claim(false, false.claims[index])) - set(wholes.check_claim(run, run.claims[index])))
