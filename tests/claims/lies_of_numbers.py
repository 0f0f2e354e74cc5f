"""Lies about numbers; each takes (run, index of the claim, random source) and returns a run, or None."""
import copy
import re

from alter import altered, last_digit, measured, replace_once, retell, shown, unit_factor


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
