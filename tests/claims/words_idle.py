"""Words about an idle: steady, settled, hidden, at a limit; first and then; above and below; racing."""
import re

import figures
import rundata
from saying import holds, need, rows, value_windows, values_of, window

HIDDEN_RPM = 10.0      # as near as a needle shows: what is hidden does not show on the tachometer
RACING_RPM = 20.0      # above target by less nobody would call racing
SETTLED_PCT = 0.6      # learned offset still moving by more in a window has not settled
AT_LIMIT_PCT = 0.6


def settled(claim, word):
    need('steady', channel='speed_rpm')(claim, word)
    for hold in holds(claim, 'steady', channel='speed_rpm'):
        learned = rows(claim, 'learned_pct', hold.get('from_s'), hold.get('to_s'))
        if learned and abs(learned[-1] - learned[0]) > SETTLED_PCT:
            claim.say('"%s" while learned_pct still goes from %g to %g', word, learned[0], learned[-1])


def hidden(claim, word):
    """The film is there and the speed does not show it."""
    for value in values_of(claim, 'speed_rpm', 'mean'):
        from_s, to_s = value.get('from_s', window(claim)[0]), value.get('to_s', window(claim)[1])
        speed, target, film = (rows(claim, channel, from_s, to_s) for channel in ('speed_rpm', 'target_rpm', 'film_um'))
        if speed and target and film and rundata.mean(film) > 1.0 and 'hid' in value['name']:
            if abs(rundata.mean(speed) - rundata.mean(target)) > HIDDEN_RPM:
                claim.say('"%s", but the idle is %.1f rpm off', word, rundata.mean(speed) - rundata.mean(target))
    if not holds(claim, 'below', 'equal', 'above'):
        claim.say('"%s" needs a predicate on how near the speed is', word)


def at_limit(claim, word):
    """Learned offset or controller at one of its limits some time in the window."""
    engine = claim.run.engine
    for channel, stem in (('learned_pct', 'learned'), ('effort_pct', 'effort')):
        values = rows(claim, channel)
        most, least = engine.key('idle_air.%s_most_pct' % stem), engine.key('idle_air.%s_least_pct' % stem)
        if values and (max(values) > most - AT_LIMIT_PCT or min(values) < least + AT_LIMIT_PCT):
            return
    claim.say('"%s", but neither learned offset nor controller is at a limit from %g to %g s', word, *window(claim))


def ordered(claim, word):
    """Cause before effect: a predicate on two times, or on nothing else having changed."""
    if holds(claim, 'before', 'alone', 'alike', 'event'):
        return
    claim.say('"%s" needs a predicate: before, alone, alike or event', word)


def later(claim, word):
    if holds(claim, 'before', 'event'):
        return
    windows = [w for w in value_windows(claim) if None not in w]
    if any(one[1] <= two[0] + 1e-6 for one in windows for two in windows):
        return
    if [value for value in claim.claim.get('values', []) if value.get('is') in ('event', 'first')]:
        return
    claim.say('"%s" needs a predicate on the order of times', word)


def from_to(claim, word):
    """"from A to B" after a verb of direction: A and B the right way round, measured in that order."""
    text = claim.text
    for match in re.finditer(r'\b(r[aio]se[sn]?|rais\w+|climb\w*|grew|grows|went up|gained|opened|risen|fell|falls|fall|drop\w*|sank|sinks|lost'
                             r'|lowers|lowered|came down|slow\w*|closed|shr[aiu]nk\w*)\b[^.;]*?\bfrom (-?[\d.]+)[^.;\d]*? to (-?[\d.]+)', text):
        up = re.match(r'r|climb|gr|went up|gain|open', match.group(1))
        try:
            one, two = float(match.group(2)), float(match.group(3).rstrip('.'))
        except ValueError:
            continue
        if (two < one if up else two > one):
            claim.say('"%s" from %g to %g goes the other way', match.group(1), one, two)


def in_order_of_time(claim, word):
    """The numbers of "from A to B" or "A before, B after" are of windows in that order."""
    printed = [value for value in claim.claim.get('values', []) if value.get('printed') is not None]
    for match in re.finditer(r'\bfrom (-?[\d.]*\d)[^.;\d]{0,20}? to (-?[\d.]*\d)', claim.text):
        pair = [[value for value in printed if str(value['printed']) == word] for word in match.groups()]
        if not all(pair):
            continue
        best = [(one, two) for one in pair[0] for two in pair[1]
                if one.get('channel') and one.get('channel') == two.get('channel') and one is not two]
        if best and all(one.get('from_s', 0.0) > two.get('from_s', 0.0) + 1e-6 for one, two in best):
            if not re.search(r'\bclean\b|\bsound\b|\bwithout\b', claim.text):
                claim.say('"from %s to %s" goes back in time', *match.groups())


def comparison(claim, word):
    if holds(claim, 'below', 'above', 'before', 'nonzero'):
        return
    claim.say('"%s" needs a predicate: below or above', word)


def off_target(claim, word):
    """"N below its target", "N above target": the speed of the claim's window against its target."""
    for match in re.finditer(r'(-?[\d.]*\d)(?: rpm)? (below|above|under|over|short of) (?:its |the |their )?(?:idle )?target', claim.text):
        number, side = figures.parsed(match.group(1)), -1.0 if match.group(2) in ('below', 'under', 'short of') else 1.0
        values = [value for value in claim.claim.get('values', []) if str(value.get('printed')) == match.group(1)]
        if not any(off_matches(claim, value, side, number) for value in values):
            claim.say('"%s": speed and target of that time do not differ so', match.group(0))


def off_matches(claim, value, side, number):
    of = [claim.values.get(name, {}) for name in value.get('of', [])]
    if value.get('is') != 'difference' or len(of) != 2 or {part.get('channel') for part in of} != {'speed_rpm', 'target_rpm'}:
        return False
    speed = next(part for part in of if part['channel'] == 'speed_rpm')
    target = next(part for part in of if part['channel'] == 'target_rpm')
    if (speed.get('from_s'), speed.get('to_s')) != (target.get('from_s'), target.get('to_s')):
        return False
    one, two = claim.compute(speed['name']), claim.compute(target['name'])
    return bool(one and two) and abs(side * (one[0] - two[0]) - number[0]) <= number[1] + one[1] + two[1] + 1e-6


def races(claim, word):
    speed = [v for v in claim.claim.get('values', []) if v.get('channel') == 'speed_rpm']
    for value in speed:
        from_s, to_s = value.get('from_s', window(claim)[0]), value.get('to_s', window(claim)[1])
        found, target = rows(claim, 'speed_rpm', from_s, to_s), rows(claim, 'target_rpm', from_s, to_s)
        if found and target and rundata.mean(found) > rundata.mean(target) + RACING_RPM:
            return
    found, target = rows(claim, 'speed_rpm'), rows(claim, 'target_rpm')
    if not speed and found and target and max(found) > max(target) + RACING_RPM:
        return
    claim.say('"%s", but no speed of it stands %g rpm above target', word, RACING_RPM)


def exhausted(claim, word):
    """Spark's reserve is gone."""
    reserve = rows(claim, 'spark_reserve_pct')
    if reserve and min(reserve) > 1.5:
        claim.say('"%s", but at least %.1f %% are left', word, min(reserve))
