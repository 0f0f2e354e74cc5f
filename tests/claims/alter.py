"""Changing a true run so that one claim of it is false."""
import copy
import re


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
