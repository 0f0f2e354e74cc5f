"""What a sentence says, and what its claim has to show for it: small questions that the tables of words ask."""
import re

NEGATION = re.compile(r"\b(?:not|no|never|nor|neither|cannot|can't|without|nothing|hardly|would|could|might|may|instead of|if|until|before"
                      r"|ever|until it)\b[^.;:]{0,40}$", re.I)
SENTENCE = re.compile(r'(?<=[.!?])\s+(?=[A-Z(])')
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


def named(claim, name):
    return claim.values.get(name)


NUMBER = r'-?\d(?:[\d.]*\d)?'
CHANNEL_BEFORE = re.compile(r'\b((?:[a-z0-9]+_)+(?:pct|rpm|deg|kpa|gps|um|mm2|v|a|c|nm|steps)) (?:of |at |is |was |stands at |stood at )?(' + NUMBER + ')')
