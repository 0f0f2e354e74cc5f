"""One claim held against its run: every value computed anew, every predicate tried, every number of the text accounted for.

A complaint is a sentence that says what is wrong; no complaint means that the claim is true as far as its values and predicates
go. What its words promise beyond that is in words.py.
"""
import math
import re

from figures import FACTORS, JSON_STEP, in_step, is_number, numbers_of, parsed, plain_unit, unit_of
from measures import STATISTICS
from predicates import PREDICATES


class Claim:
    """A claim while it is being checked: its values by name, and what was found wrong."""

    def __init__(self, run, claim):
        self.run, self.claim = run, claim
        self.text = claim.get('text', '')
        self.values = {}
        self.known = {}  # name: (computed, how far off it may be)
        self.complaints = []
        for value in claim.get('values', []):
            if value.get('name') in self.values:
                self.say('two values are named %s', value.get('name'))
            self.values[value.get('name')] = value

    def say(self, reason, *rest):
        self.complaints.append(reason % rest if rest else reason)

    # ---- windows ----

    def window_of(self, part, what):
        """The window of a value or predicate, the claim's own by default; None if it is empty or outside the run."""
        from_s = part.get('from_s', self.claim.get('from_s'))
        to_s = part.get('to_s', self.claim.get('to_s'))
        if not is_number(from_s) or not is_number(to_s):
            self.say('%s has no window', what)
            return None
        first, last = self.run.rows.between(from_s, to_s)
        end_s = self.run.scenario.duration_s
        if to_s < from_s or first >= last or from_s < -1e-6 or to_s > end_s + 1e-3:
            self.say('%s: window %g to %g s is empty or outside the run', what, from_s, to_s)
            return None
        return from_s, to_s

    def rows_of(self, part, what, channel=None):
        channel = channel or part.get('channel')
        window = self.window_of(part, what)
        if not window:
            return None
        if channel not in self.run.rows.columns:
            self.say('%s: there is no channel %s', what, channel)
            return None
        values = self.run.rows.window(channel, *window)
        if not values:
            self.say('%s: %s is empty from %g to %g s', what, channel, *window)
            return None
        return values

    # ---- values ----

    def compute(self, name, under=()):
        """(value, tolerance) of a named value from the files of the run; None where it cannot be had."""
        if name in self.known:
            return self.known[name]
        value = self.values.get(name)
        if value is None or name in under:
            self.say('there is no value %s', name)
            return None
        how = STATISTICS.get(value.get('is'))
        if not how:
            self.say('%s: no statistic %s is known', name, value.get('is'))
            return None
        answer = how(self, name, value, under + (name,))
        if answer is not None and not math.isfinite(answer[0]):
            self.say('%s cannot be computed', name)
            answer = None
        if answer is not None and 'channel' in value and value.get('is') not in ('first', 'share', 'count', 'pair_longest'):
            answer = self.converted(name, value, answer)
        self.known[name] = answer
        return answer

    def converted(self, name, value, answer):
        have, want = unit_of(value['channel']), plain_unit(value.get('unit'))
        if have == want or (value['channel'] == 'time_s' and want == 's'):
            return answer
        factor = FACTORS.get((have, want))
        if factor is None:
            self.say('%s is told in %s, but %s is in %s', name, want, value['channel'], have)
            return answer
        return answer[0] * factor, answer[1] * factor

    def check_value(self, value):
        name = value.get('name')
        told = value.get('value')
        if not is_number(told):
            self.say('%s is no number', name)
            return
        answer = self.compute(name)
        if answer is not None and abs(told - answer[0]) > answer[1] + 2e-6 * max(abs(told), abs(answer[0])) + JSON_STEP:
            self.say('%s is told as %.8g, the run has %.8g', name, told, answer[0])
        if value.get('printed') is None:
            return
        number = parsed(value['printed'])
        if number is None:
            self.say('%s prints %s, no number', name, value['printed'])
        elif abs(number[0] - told) > number[1] * 1.001 + 1e-9:
            self.say('%s prints %s, its value is %.8g', name, value['printed'], told)
        elif re.fullmatch(r'-0(\.0+)?', str(value['printed'])):
            self.say('%s prints a zero with a sign', name)

    def check_numbers(self):
        wanted = numbers_of(self.text)
        printed = [str(value['printed']) for value in self.claim.get('values', []) if value.get('printed') is not None]
        if not in_step(wanted, printed) and not in_step(numbers_of(self.text, ordinals=True), printed):
            self.say('the text prints %s, its values are %s', ' '.join(wanted) or 'nothing', ' '.join(printed) or 'none')
        if re.search(r'\b-?(nan|inf)\b', self.text, re.I):
            self.say('nan or inf in the text')

    def check_units(self):
        """The unit that follows a number is that of its value."""
        at = 0
        for value in self.claim.get('values', []):
            if value.get('printed') is None:
                continue
            found = re.compile(r'(?<![\w.])' + re.escape(str(value['printed'])) + r'(?![\w])(?: (?:and|to|or|against) [-\d.]+)?'
                               r' ?(rpm|um|g/s|kPa|mm2|mm|degrees?|%|percent|seconds?|minutes?|s|V|A|C|Nm|W|steps?|deg)\b|'
                               + re.escape(str(value['printed'])) + r' ?(%)').search(self.text, at)
            start = self.text.find(str(value['printed']), at)
            if found and start == found.start() and start >= 0:
                unit = plain_unit(found.group(1) or found.group(2))
                have = plain_unit(value.get('unit'))
                if have != unit and value.get('unit') and not (unit == 'steps' and have in ('', 'steps')) and not (unit == 'C' and have == 'deg'):
                    self.say('%s is printed as %s %s, its unit is %s', value['name'], value['printed'], unit, have or 'none')
            if start >= 0:
                at = start + len(str(value['printed']))

    # ---- predicates ----

    def check_predicate(self, predicate):
        how = PREDICATES.get(predicate.get('is'))
        if how:
            how(self, predicate)
        else:
            self.say('no predicate %s is known', predicate.get('is'))

    def pair(self, predicate):
        of = predicate.get('of', [])
        if len(of) != 2:
            self.say('%s needs two values', predicate.get('is'))
            return None
        pair = [self.compute(name) if isinstance(name, str) else (float(name), 0.0) for name in of]
        return None if None in pair else pair

    def check(self):
        self.check_form()
        self.check_window()
        for value in self.claim.get('values', []):
            self.check_value(value)
        self.check_numbers()
        self.check_units()
        for predicate in self.claim.get('holds', []):
            self.check_predicate(predicate)
        return self.complaints

    def check_window(self):
        """A claim of nothing but events may speak of a moment; any other of rows."""
        from_s, to_s = self.claim.get('from_s'), self.claim.get('to_s')
        measured = any(part.get('channel') for part in self.claim.get('values', []) + self.claim.get('holds', []))
        if measured or not is_number(from_s) or from_s != to_s or not 0.0 <= from_s <= self.run.scenario.duration_s + 1e-3:
            self.window_of(self.claim, 'the claim')

    def check_form(self):
        for key in ('kind', 'part', 'text', 'from_s', 'to_s', 'channels', 'values', 'holds'):
            if key not in self.claim:
                self.say('the claim has no %s', key)
        if self.claim.get('part') not in ('headline', 'chain', 'surprise', 'code', 'more'):
            self.say('part %s is none', self.claim.get('part'))
        needs = self.run.program.kinds.get(self.claim.get('kind'))
        if needs is None:
            self.say('docs/claims.md has no kind %s', self.claim.get('kind'))
        elif needs - {hold.get('is') for hold in self.claim.get('holds', [])}:
            self.say('a claim of this kind promises %s', ', '.join(sorted(needs)))
        used = {part['channel'] for part in self.claim.get('values', []) + self.claim.get('holds', []) if part.get('channel')}
        missing = used - set(self.claim.get('channels', []))
        if missing:
            self.say('channels leaves out %s', ', '.join(sorted(missing)))
