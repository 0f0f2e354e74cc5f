"""Sentences on fault codes: set when its events say so, not set for the reason that is given, by what the code watches.

What a code watches is written here from its definition (SAE J2012) and from the condition that `bladegap list codes` gives; when it does not
look, from docs/codes.md.
"""
import re
import figures
import measures


# Code: how which two channels are taken together.
MEASURES = {
    'P0171': ('plus', 'stft_pct', 'ltft_pct'), 'P0172': ('minus_both', 'stft_pct', 'ltft_pct'), 'P0174': ('plus', 'stft2_pct', 'ltft2_pct'),
    'P0505': ('apart', 'speed_rpm', 'target_rpm'), 'P0506': ('short_of', 'speed_rpm', 'target_rpm'), 'P0507': ('less', 'speed_rpm', 'target_rpm'),
}
WORDS = {'P0171': r'% of fuel trim\b', 'P0172': r'taken away', 'P0174': r'second bank', 'P0505': r'off target', 'P0506': r'below target|too slow',
         'P0507': r'above target|too fast'}
# Reason: words by which a sentence gives it.
REASONS = {'pedal': r'pedal pressed', 'recent': r'start or a change of load', 'cold': r'engine was below', 'limp': r'in limp-home',
           'left': r'could still add or take away', 'loop': r'oxygen sensor was not in use', 'standing': r'started or stopped'}
IDLE_REASONS = {'pedal', 'recent', 'cold', 'limp', 'standing'}
TRIM_REASONS = {'cold', 'loop', 'standing'}
ALLOWED = {'P0171': TRIM_REASONS, 'P0172': TRIM_REASONS, 'P0174': TRIM_REASONS, 'P0505': IDLE_REASONS | {'left'}, 'P0506': IDLE_REASONS,
           'P0507': IDLE_REASONS}
ONLY_S = 1.0  # what is only so is never otherwise for longer
PRESSED_PCT, HAIR_PCT = 1.0, 0.06


def stretches(run, begins, ends, from_start):
    """(from, to) between events of two sorts."""
    since, found = 0.0 if from_start else None, []
    for event in run.events:
        if event['value'] in begins and since is None:
            since = event['time_s']
        elif event['value'] in ends and since is not None:
            found.append((since, event['time_s']))
            since = None
    if since is not None:
        found.append((since, run.scenario.duration_s + 1.0))
    return found


def within(spans, time_s):
    return any(from_s <= time_s < to_s for from_s, to_s in spans)


class Look:
    """What keeps a code from looking, row by row."""

    def __init__(self, run):
        self.run, engine, scenario = run, run.engine, run.scenario
        self.running = stretches(run, ('started',), ('stall', 'key_off', 'standstill'), scenario.start != 'key_off')
        self.limping = stretches(run, ('limp',), ('started',), False)
        starts = [event['time_s'] for event in run.events if event['value'] == 'started']
        self.starts = starts
        loads = [name for name, row in scenario.faults.items() if row['kind'] == 'load']
        moved = [step.at_s for step in scenario.steps if set(step.sets) & set(loads)]
        self.disturbed = sorted(starts + moved)
        self.delay_s, self.warm_c = engine.key('supervision.monitor_delay_s'), engine.key('supervision.warm_c')
        self.loop_c, self.loop_s = engine.key('fuel.closed_loop_c'), engine.key('fuel.closed_loop_delay_s')
        self.limits = [engine.key('idle_air.%s_pct' % name) for name in ('effort_most', 'learned_most', 'effort_least', 'learned_least')]

    def holds(self, reason, i, pressed_s):
        rows = self.run.rows
        now, coolant = rows.time[i], rows.channel('coolant_c')[i]
        if reason == 'standing':
            return not within(self.running, now)
        if reason == 'pedal':
            return rows.channel('pedal_pct')[i] > PRESSED_PCT
        if reason == 'limp':
            return within(self.limping, now)
        if reason == 'cold':
            return coolant < self.warm_c + 0.05
        if reason == 'recent':
            return any(mark - 0.11 <= now < mark + self.delay_s + 0.11 for mark in self.disturbed) or now < pressed_s + self.delay_s + 0.11
        if reason == 'loop':
            return coolant < self.loop_c + 0.05 or any(mark <= now < mark + self.loop_s + 0.11 for mark in self.starts)
        if reason == 'left':
            effort, learned = rows.channel('effort_pct')[i], rows.channel('learned_pct')[i]
            most = effort >= self.limits[0] - HAIR_PCT and learned >= self.limits[1] - HAIR_PCT
            least = effort <= self.limits[2] + HAIR_PCT and learned <= self.limits[3] + HAIR_PCT
            return not most and not least
        raise KeyError(reason)


def only_while(claim, predicate):
    """The pair is nowhere above its level for `by` seconds on end, but for rows at which a reason holds; and it is so with one."""
    value = claim.values.get((predicate.get('of') or [''])[0], {})
    reasons = str(predicate.get('reasons', '')).split()
    found = measures.paired(claim, value.get('name', 'only_while'), value) if value else None
    if not found or not reasons or set(reasons) - set(REASONS):
        claim.say('only_while needs a pair and reasons')
        return
    first, numbers = found
    level, by = value.get('level', 0.0) + measures.pair_slack(claim, value), predicate.get('by', 0.0)
    look, excused, pressed_s = Look(claim.run), list(numbers), -1e9
    for i in range(len(numbers)):
        if claim.run.rows.channel('pedal_pct')[first + i] > PRESSED_PCT:
            pressed_s = claim.run.rows.time[first + i]
        if any(look.holds(reason, first + i, pressed_s) for reason in reasons):
            excused[i] = None
    longest = measures.longest_above(claim.run.rows.time, first, excused, level)
    if longest > ONLY_S and not re.search(r'\bon end\b|\blong enough\b|\bfor (?:so |as )?long\b|\bfor [\d.]+ s\b', claim.text):
        claim.say('"only", but it lasts %.1f s at a time without %s', longest, ' and '.join(reasons))
    if longest >= by + 1e-6:
        claim.say('without %s it lasts %.1f s, and %g would do', ' and '.join(reasons), longest, by)
    if measures.longest_above(claim.run.rows.time, first, numbers, value.get('level', 0.0) - measures.pair_slack(claim, value)) < by - 1e-6:
        claim.say('it never lasts %g s, with or without %s', by, ' and '.join(reasons))


WHEN = re.compile(r'What sets (P\d{4}): (.*), for ([\d.]+) s\.')


def check(claim):
    """A claim that stands in the table of codes, or says what sets one; False if it is neither."""
    when = WHEN.fullmatch(claim.text)
    if when:
        check_when(claim, *when.groups())
        return True
    code = claim.claim.get('code')
    if not code:
        return False
    row = claim.run.program.codes.get(code)
    if not row:
        claim.say('%s is no code', code)
        return True
    if claim.claim.get('name') != row['definition']:
        claim.say('%s is called %s, the list has %s', code, claim.claim.get('name'), row['definition'])
    if re.match(r'not set\b', claim.text, re.I):
        check_quiet(claim, code)
    else:
        check_set(claim, code)
    return True


def check_when(claim, code, condition, seconds):
    """Word for word what the list of codes has, and as long as docs/codes.md says."""
    row = claim.run.program.codes.get(code)
    if not row or condition != row['condition']:
        claim.say('%s is not set by "%s"', code, condition)
    if not row or abs(debounce_s(claim, code) - float(seconds)) > figures.parsed(seconds)[1] * 1.01:
        claim.say('%s does not take %s s', code, seconds)


def debounce_s(claim, code):
    return claim.run.program.debounce_s[code] * claim.run.engine.key('supervision.debounce_s') / 10.0


# All that a row of the table may say of a code that was set.
SET = re.compile(r'(?:Pending at [\d.]+ s)?(?:,? ?[Cc]onfirmed at [\d.]+ s, lamp on)?(?:,? ?[Ee]rased at [\d.]+ s)?\.')


def check_set(claim, code):
    """When it became pending, confirmed, erased, and nothing else."""
    head = claim.text
    if not SET.fullmatch(head):
        claim.say('%s: a row of the table says more than when', code)
    for state, value in (('pending', 'pending'), ('confirmed', 'confirmed'), ('erased', 'none')):
        match = re.search(r'\b%s at ([\d.]+) s' % state, head, re.I)
        times = [event['time_s'] for event in claim.run.events_of(kind='code', code=code) if event['value'] in (value, state)]
        if bool(match) != bool(times):
            claim.say('%s: %s is %s, but events.csv %s', code, state, 'told' if match else 'not told', 'has it' if times else 'has none')
        elif match and abs(times[0] - float(match.group(1))) > figures.parsed(match.group(1))[1] + 0.01:
            claim.say('%s is %s at %.2f s', code, state, times[0])
    if ('lamp on' in head) != bool(re.search(r'\bconfirmed\b', head, re.I)):
        claim.say('the lamp is on with a confirmed code')
    for value in claim.claim.get('values', []):
        if value.get('is') == 'event' and not str(value.get('event', '')).startswith(code):
            claim.say('%s is a time of %s', value.get('name'), value.get('event'))


# What it would take, where nothing of the run shows how near it came.
TAKES = re.compile(r'Not set: it takes over ([\d.]+) %.* for ([\d.]+) s on end\.')
# One sentence: how near it came, or when only it was beyond.
QUIET = re.compile(r'Not set: [^.;]*(?:\d\.\d[^.;]*)*(?:; (?:the limit is|it takes|it must last) [\d.]*\d)?\.')


def check_quiet(claim, code):
    """Nothing of it in events.csv, and the reason given is the one that was true."""
    if claim.run.events_of(kind='code', code=code, value='pending') or claim.run.events_of(kind='code', code=code, value='confirmed'):
        claim.say('%s is told as not set, but it was', code)
    kinds = {hold['is'] for hold in claim.claim.get('holds', [])}
    takes = TAKES.fullmatch(claim.text)
    if takes and code in MEASURES:
        claim.say('the rows show how near %s came', code)
    if takes and not (float(takes.group(1)) in limits(claim, code) and debounce_s(claim, code) == float(takes.group(2))):
        claim.say('%s takes something else', code)
    if 'no_event' not in kinds or not (takes or kinds & {'below', 'only_while'}):
        claim.say('not set needs predicates: no_event, and below or only_while')
    for hold in claim.claim.get('holds', []):
        if hold['is'] == 'no_event' and not str(hold.get('event', '')).startswith(code):
            claim.say('no_event is said of %s', hold.get('event'))
    if code in MEASURES:
        check_measure(claim, code)
    if not QUIET.fullmatch(claim.text):
        claim.say('%s: a row of the table says more than why not', code)
    named = {reason for reason, words in REASONS.items() if re.search(words, claim.text)}
    told = set(' '.join(str(hold.get('reasons', '')) for hold in claim.claim.get('holds', [])).split())
    if named != told:
        claim.say('the text gives the reasons %s, its predicate %s', ', '.join(sorted(named)) or 'none', ', '.join(sorted(told)) or 'none')
    if re.search(r'\b(?:because|pedal was|only)\b', claim.text) and not told:
        claim.say('a reason is given without a predicate')
    if code in ALLOWED and named - ALLOWED[code]:
        claim.say('%s looks at such times as well: %s', code, ', '.join(sorted(named - ALLOWED[code])))
    if re.search(r'\bmust last\b|\bseconds? at most\b| s at most', claim.text) and 'below' not in kinds:
        claim.say('too short needs a predicate: below')


def check_measure(claim, code):
    pairs = [value for value in claim.claim.get('values', []) if value.get('is') in ('pair_max', 'pair_longest')]
    if not pairs:
        claim.say('%s needs what it watches: %s', code, ' '.join(MEASURES[code]))
    for value in pairs:
        if (value.get('how'), value.get('channel'), value.get('other')) != MEASURES[code]:
            claim.say('%s does not watch %s %s %s', code, value.get('how'), value.get('channel'), value.get('other'))
        if value['is'] == 'pair_longest' and not any(abs(value.get('level', 0.0) - limit) < 1e-6 for limit in limits(claim, code)):
            claim.say('%g is not the limit of %s', value.get('level', 0.0), code)
        if value.get('from_s', 1.0) > 0.5 or value.get('to_s', 0.0) < claim.run.rows.time[-1] - 0.5:
            claim.say('%s is not set in all the run, but only a part of it is looked at', code)
    if not re.search(WORDS[code], claim.text):
        claim.say('%s is not told as "%s"', code, WORDS[code])


def limits(claim, code):
    return [abs(float(word)) for word in figures.numbers_of(claim.run.program.codes[code]['condition'])]
