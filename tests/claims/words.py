"""What words promise: a table from the words of a sentence to what must then hold, written from what the words mean.

Each row is a pattern and a demand. A demand looks at the claim's predicates, and, where it can, at the rows, events and scenario
themselves, and complains to the claim. Nothing here is taken from the program's code.
"""
import re

import codes
from saying import SENTENCE, need, said
from words_causes import all_named, back_in, came, causes, cleaned, compares_alike, engine_has, nothing_before, several_causes, two_causes
from words_codes import code_states, codes_of, happened, lamp, reason
from words_idle import at_limit, comparison, exhausted, from_to, hidden, in_order_of_time, later, off_target, ordered, races, settled
from words_loads import dips, early, loads, nothing_on, runs_through
from words_numbers import meant, measured_as, value_of_key
from words_physics import all_weighed, choked, flares, left_band, mixture_quiet, only_area, slower_air, thickest

DEMANDS = (
    # word, demand; a pattern that is only said (not denied) calls its demand
    (r'\bstead(?:y|ily)\b', need('steady')),
    (r'\b(?:settle[sd]?|came to rest|comes to rest)\b', settled),
    (r'\b(?:hid|hides?|hidden|hiding|invisible|conceal\w*)\b', hidden),
    (r'\b(?:at|reached|reaches|came to|on) (?:its|the|their) (?:upper |lower )?limit\b', at_limit),
    (r'\b(?:because|therefore|that is why|for that reason|caused? by|the cause)\b|(?:^|[.;:,] )so (?!much|little|far|many|that|as|slow|large)', ordered),
    (r'\b(?:then|afterwards|until|later|first .* then)\b', later),
    (r'\bat first\b', early),
    (r'\b(?:below|under|short of|lower|less(?! \(\w+\))|fewer|fell|falls|drop(?:s|ped)|sank|sinks|sagged|slower)\b'
     r'(?! (?:limit|than) )', comparison),
    (r'\b(?:above|higher|more than|raises|raised|rose|rises|climbs|climbed|faster|exceeds)\b', comparison),
    (r'\b(?:rac(?:es|ed|ing))\b', races),
    (r'\bP[0-3]\d{3}\b', code_states),
    (r'\bP[0-3]\d{3}\b', reason),
    (r'\b(?:stall(?:s|ed)|died|dies)\b', happened('stall', 'stall', 'standstill')),
    (r'\b(?:started|fired|restarted|starts again)\b', happened('start', 'started', 'key_start')),
    (r'\blimp(?:s|ed|-home)?\b', happened('limp-home', 'limp')),
    (r'\blamp (?:is )?(?:on|lit)\b|\blamp comes on\b', lamp),
    (r'\b(?:was|were|been|after|once|is|the) (?:\w+ )?(?:clean(?:ed|ing)|mend(?:ed|ing)|repair(?:ed)?|put right|replaced|renewed|fixed)\b'
     r'|\bafter the (?:clean|repair)\b', cleaned),
    (r'\bput right\b|\bis mended\b|\bis repaired\b|\bafter the (?:clean|repair)\b', compares_alike),
    (r'\bchok(?:ed|es)\b', choked),
    (r"\b(?:area|gap'?s? area) and nothing else\b|\bnothing but the (?:gap|area)\b", only_area),
    (r'\b(?:left|leaves|out of|outside) the (?:band|film)\b', left_band),
    (r'\bair comes (?:slower|later)\b', slower_air),
    (r'\b(?:mixture (?:never|did not|does not) notice\w*|trims (?:never|did not|do not) (?:move|notice)\w*|mixture stays? right)', mixture_quiet),
    (r'\b(?:holds|held) (?:at )?-?\d[\d.]* rpm', need('equal', 'steady', 'above', 'below')),
    (r'\b(?:stays?|stayed) (?:where|as|the same)|\bunchanged\b|\bsays? the same\b|\bdoes? not move\b|\bdo not move\b|\btrims stay\b', need('equal', 'steady')),
    (r'\bnothing (?:is |was )?(?:switched|changed) just before\b', nothing_before),
    (r'\bsome seconds later\b', runs_through),
    (r'\bon at [\d.]+ s: from\b|\b(?:stop|gear) at [\d.]+ s: from\b', dips),
    (r'\bon the air and fuel that a start is given\b', flares),
    (r'\b(?:takes|needs) [\d.]+ minutes (?:to come )?back\b', back_in),
    (r'\bthickest\b', thickest),
    (r'\b(?:second cause|two causes|both causes)\b', several_causes),
    (r'\bnothing (?:is |was )?switched on\b|\bno load\b|\bleft alone\b', nothing_on),
    (r'\bspark\b[^.]*\bused up\b', exhausted),
    (r'\breserve of air\b[^.]*\bused up\b|\ball it may add is in use\b', at_limit),
    (r'\ball (?:the |its )?air is (?:weighed|counted|metered)\b|\bpasses the air-flow sensor\b', all_weighed),
)
# Held of every sentence.
ALWAYS = (meant, all_named, value_of_key, loads, came, measured_as, from_to, in_order_of_time, off_target, engine_has, causes)
DENIABLE = re.compile(r'mixture|never|not|nothing')
ODD_WORDS = re.compile(r'\b(?:heeded|kept quiet|make it good|made good|seen by nobody|a sound engine|sound idle)\b')
RAW_OPENING = re.compile(r'^(?:[a-z0-9]+_)+(?:pct|rpm|deg|kpa|gps|um|mm2|v|a|c|s|nm|steps)\b')


def check_style(claim):
    for sentence in SENTENCE.split(claim.text):
        if RAW_OPENING.search(sentence.strip()):
            claim.say('a sentence opens with a channel name: %s', sentence.split()[0])
    odd = ODD_WORDS.search(claim.text)
    if odd:
        claim.say('odd word: %s', odd.group(0))
    if re.search(r'(?<![\w.])-0(?:\.0+)?(?![\d.])', claim.text):
        claim.say('a zero with a sign')


def without_names(claim):
    """The text without what a condition is called: "is so many times slower" is a name, not a comparison."""
    text = claim.text
    for row in claim.run.scenario.faults.values():
        for ends in (r'[;,(]', r'[:;,(]'):
            phrase = re.split(ends, row['text'])[0].strip()
            if len(phrase) > 12:
                text = re.sub(re.escape(phrase), 'fault', text, flags=re.I)
    return text


def check(claim):
    """All that the words of a claim promise; complaints go to the claim."""
    text = without_names(claim)
    if codes.check(claim):
        for demand in (engine_has, causes, check_style):
            demand(claim) if demand is check_style else demand(claim, '')
        return claim.complaints
    for pattern, demand in DEMANDS:
        match = re.search(pattern, text, re.I)
        if match and (DENIABLE.search(pattern) or codes_of(match.group(0)) or said(text, pattern)):
            demand(claim, match.group(0).strip(' .,;:'))
    for demand in ALWAYS:
        demand(claim, '')
    match = re.search(r'\b(?:because|therefore|caused? by)\b|(?:^|[.;:,] )so (?!much|little|far|many|that|as|slow|large)', claim.text, re.I)
    if match:
        two_causes(claim, match.group(0).strip(' .,;:'))
    check_style(claim)
    return claim.complaints
