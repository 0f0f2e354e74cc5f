"""Seeded lies: a true run is altered so that one of its claims no longer holds, and the reader has to find it.

Every lie is one by construction: before a change is taken, arithmetic of its own, on the rows and on the claim, says that the sentence
is false or has lost what its words promise. Whether the reader finds it plays no part in that.
"""
import copy
import random

import wholes
from alter import altered
from lies_of_numbers import (channel_shifted, constant_told, not_a_number, number_in_text, number_told, number_without_value,
    order_swapped, other_channel, other_channel_told, sign_changed, values_swapped, window_empty, window_moved)
from lies_of_words import (claim_left_out, code_confirmed, code_named_wrongly, code_swapped, event_gone, event_moved, made_up_reason,
    part_that_is_missing, predicate_dropped, predicate_turned, quiet_code_set, repair_told, said_without_claim, still_learning, unsteady,
    word_turned, wrong_cause)

KINDS = (channel_shifted, window_moved, other_channel, other_channel_told, number_told, number_in_text, order_swapped, values_swapped,
         sign_changed, constant_told, number_without_value, window_empty, not_a_number, word_turned, wrong_cause, predicate_dropped,
         predicate_turned, unsteady, still_learning, repair_told, part_that_is_missing, event_moved, event_gone, code_swapped,
         code_confirmed, quiet_code_set, made_up_reason, code_named_wrongly, said_without_claim, claim_left_out)
RARE = (other_channel_told, order_swapped, values_swapped, word_turned, predicate_dropped, unsteady, still_learning, event_gone, code_confirmed,
        made_up_reason)
OF_THE_WHOLE = (said_without_claim, claim_left_out)


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
