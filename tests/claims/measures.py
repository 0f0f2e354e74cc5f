"""What a value of a claim is, computed anew from the rows of its run: one function a statistic."""
import math

import rundata
from figures import is_number, plain_unit, product, scaled
from sources import constant, event_time, find_events


def of_rows(statistic, spread=1.0):
    def compute(claim, name, value, _):
        rows = claim.rows_of(value, name)
        return None if rows is None else (statistic(rows), spread * claim.run.rows.half_step(value['channel']))
    return compute


def at_row(claim, name, value, _):
    window = claim.window_of(value, name)
    if not window or value.get('channel') not in claim.run.rows.columns:
        return None
    number = claim.run.rows.nearest(value['channel'], window[0])
    if number is None:
        claim.say('%s: %s is empty at %g s', name, value['channel'], window[0])
        return None
    return number, claim.run.rows.half_step(value['channel'])


# Two channels taken together, row by row.
PAIRINGS = {'less': lambda x, y: x - y, 'short_of': lambda x, y: y - x, 'apart': lambda x, y: abs(x - y), 'plus': lambda x, y: x + y,
            'minus_both': lambda x, y: -(x + y)}


def paired(claim, name, value):
    """(index of the first row, one number a row) of a pair of channels in the value's window."""
    window = claim.window_of(value, name)
    how, other = PAIRINGS.get(value.get('how', 'apart')), value.get('other')
    if not window or not how or other not in claim.run.rows.columns or value.get('channel') not in claim.run.rows.columns:
        claim.say('%s: a pair needs two channels, how, and a window', name)
        return None
    first, last = claim.run.rows.between(*window)
    pairs = zip(claim.run.rows.channel(value['channel'])[first:last], claim.run.rows.channel(other)[first:last])
    numbers = [how(x, y) if x is not None and y is not None else None for x, y in pairs]
    if not numbers or None in numbers:
        claim.say('%s: %s or %s is empty', name, value['channel'], other)
        return None
    return first, numbers


def pair_slack(claim, value):
    return claim.run.rows.half_step(value['channel']) + claim.run.rows.half_step(value['other'])


def pair_max(claim, name, value, _):
    found = paired(claim, name, value)
    return found and (max(found[1]), pair_slack(claim, value))


def longest_above(times, first, numbers, level):
    """The longest time without a break, row to row, above a level."""
    longest, since = 0.0, None
    for i, number in enumerate(numbers):
        if number is None or not number > level:
            since = None
        elif since is None:
            since = times[first + i]
        else:
            longest = max(longest, times[first + i] - since)
    return longest


def pair_longest(claim, name, value, _):
    """How a cell is rounded may move a stretch's ends: between the level a little lower and a little higher."""
    found = paired(claim, name, value)
    if not found or not is_number(value.get('level')):
        return None
    ends = [longest_above(claim.run.rows.time, found[0], found[1], value['level'] + slack)
            for slack in (-pair_slack(claim, value), pair_slack(claim, value))]
    told = value.get('value')
    if is_number(told) and min(ends) - 1e-6 <= told <= max(ends) + 1e-6:
        return told, 1e-6
    return sum(ends) / 2.0, 1e-6


def first_row(claim, name, value, _):
    """When the channel first passes a level on its way up or down."""
    window = claim.window_of(value, name)
    level, rising = value.get('level'), not value.get('falling', value.get('direction') == 'falling')
    if not window or not is_number(level):
        claim.say('%s: first needs channel and level', name)
        return None
    first, last = claim.run.rows.between(*window)
    channel = claim.run.rows.channel(value['channel'])
    slack = claim.run.rows.half_step(value['channel'])
    passed = []
    for edge in (-slack, slack):  # how a cell is rounded may move the row
        passed.append(next((claim.run.rows.time[i] for i in range(first, last) if channel[i] is not None
                            and (channel[i] >= level + edge if rising else channel[i] <= level - edge)), None))
    if passed[0] is None:
        claim.say('%s: %s never passes %g', name, value['channel'], level)
        return None
    late = passed[1] if passed[1] is not None else claim.run.rows.time[last - 1]
    return (passed[0] + late) / 2.0, abs(late - passed[0]) / 2.0 + 1e-6


def holding(claim, name, value):
    """(rows for which the value's condition holds, all rows)."""
    rows = claim.rows_of(value, name)
    if rows is None:
        return None
    for word, test in (('above', lambda x, y: x > y), ('below', lambda x, y: x < y), ('equal', lambda x, y: abs(x - y) < 1e-9)):
        if is_number(value.get(word)):
            return sum(test(row, value[word]) for row in rows), len(rows)
    claim.say('%s: share and count need above, below or equal', name)
    return None


def share(claim, name, value, _):
    found = holding(claim, name, value)
    if not found:
        return None
    scale = 100.0 if plain_unit(value.get('unit')) == '%' else 1.0
    return scale * found[0] / found[1], 1.5 * scale / found[1]


def count(claim, name, value, _):
    named = value.get('event', value.get('source'))
    if named:
        return float(len([event for event in find_events(claim, named)
                          if value.get('from_s', 0.0) - 1e-6 <= event['time_s'] <= value.get('to_s', math.inf) + 1e-6])), 0.0
    found = holding(claim, name, value)
    return found and (float(found[0]), 1.0)


def from_others(combine):
    def compute(claim, name, value, under):
        of = value.get('of', [])
        parts = [claim.compute(other, under) for other in of]
        if not parts or None in parts:
            return None
        try:
            middle = combine([part[0] for part in parts])
            # each part at the end of its range, one at a time: enough for ranges this small
            spread = sum(abs(combine([q[0] + (q[1] if i == j else 0.0) for j, q in enumerate(parts)]) - middle)
                         for i in range(len(parts)))
        except ZeroDivisionError:
            claim.say('%s divides by zero', name)
            return None
        units = [plain_unit(claim.values[other].get('unit')) for other in of]
        return scaled(value, units, middle, spread)
    return compute


STATISTICS = {
    'mean': of_rows(rundata.mean), 'min': of_rows(min), 'max': of_rows(max), 'sd': of_rows(rundata.deviation, 2.0),
    'range': of_rows(lambda rows: max(rows) - min(rows), 2.0), 'apart': pair_max, 'pair_max': pair_max, 'pair_longest': pair_longest, 'at': at_row, 'first': first_row, 'share': share, 'count': count, 'constant': constant, 'event': event_time,
    'difference': from_others(lambda x: x[0] - x[1]), 'ratio': from_others(lambda x: x[0] / x[1]),
    'quotient': from_others(lambda x: x[0] / x[1]), 'percent_change': from_others(lambda x: 100.0 * (x[1] / x[0] - 1.0)),
    'percent_less': from_others(lambda x: 100.0 * (1.0 - x[1] / x[0])), 'sum': from_others(sum), 'product': from_others(product),
}
