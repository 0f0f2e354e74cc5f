#!/usr/bin/env python3
"""Holds every sentence of estimates against the report they stand in, knowing nothing of how they came about.

    estimate_claims.py PROGRAM [--random N] [--seed N] [--lies]

Reads the shipped lists of readings, each by the command line that it gives itself, some codes and complaints, and N random ones: some of the readings of a shipped
list, moved by a few standard deviations, now and then by many. Of each report: every number in a sentence is a value that is named
with its source and found there, and rounds to what is printed; every best value lies inside its interval; probabilities sum to 1, with
what is not listed; what is told of the cause, of cleaning and of the next step agrees with the tables; expected costs are computed
again. --lies changes one number or word of each report, and counts how many of these lies are found. Ends with 1 if anything is false.
"""
import argparse
import csv
import glob
import json
import os
import random
import re
import subprocess
import sys
from decimal import Decimal

TOP = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
# a number that is no part of a name such as mm2, tps1_v or hold_2500
NUMBER = re.compile(r'(?<![\w.])-?\d+(?:\.\d+)?(?![\w])')
RULES = {'hundred': 100, 'fit_least_pct': 1, 'few': 4, 'relearn_most_min': 60}
TOLD, RIVAL, FEW, SMALL = 0.8, 0.1, 4, 15  # docs/estimate.md
LOOSE = ('rule:band_mm', 'rule:minutes')  # of the engine file, of the list of conditions: small whole numbers


class Report:
    def __init__(self, text):
        self.data = json.loads(text, parse_float=Decimal)
        self.faults = []

    def fault(self, text, *values):
        self.faults.append(text % values)

    # ---- sources ----

    def find(self, source):
        """The value that a source names, None if there is none."""
        at = self.data
        for name, key in re.findall(r'([a-z_0-9]+)(?:\[([^\]]*)\])?(?:\.|$)', source):
            if not isinstance(at, dict) or name not in at:
                return None
            at = at[name]
            if key:
                at = next((row for row in at if key in (
                    row.get('name'), row.get('measure'), row.get('cause'), '%s@%s' % (row.get('name'), row.get('condition')))), None)
        return at

    def share(self, name):
        """Of a cause, whatever the computer has learned or forgotten."""
        return sum(float(c['probability']) for c in self.data['causes'] if c['name'].split(',')[0] == name)

    def texts_of(self, name):
        chosen = (self.data.get('decision') or {}).get('chosen', {})
        return [row['text'] for row in self.data['next'] if row['measure'] == name] + [chosen.get('text', '')]

    def expected(self, value):
        """What the report has for a value of a sentence: (number, how far the report itself is rounded), None where it must not be."""
        source = value['source']
        if source.startswith('rule:'):
            rule = source[5:]
            if rule in RULES:
                return RULES[rule], 0
            return (float(value['value']), 0) if source in LOOSE and 0 < value['value'] < 30 else None
        if source.startswith('text:'):
            name = source[5:]
            found = name in ('torch', 'cause') or any(value['printed'] in NUMBER.findall(text) for text in self.texts_of(name))
            return (float(value['printed']), 0) if found else None
        if source.startswith('share:'):
            return 100 * self.share(source[6:]), 1e-3 * len(self.data['causes'])
        if source == 'count:readings':
            return len(self.data['readings']), 0
        minutes = source.endswith('/60')
        found = self.find(source[:-3] if minutes else source)
        if found is None or isinstance(found, (dict, list, str)):
            return None
        step = 0.5 * 10.0 ** (found.as_tuple().exponent if isinstance(found, Decimal) else 0)
        found = float(found)
        if minutes:
            return max(found / 60, 1), step / 60
        percent = source.endswith('probability') or source == 'fit.p_value'
        return (100 * found, 100 * step) if percent else (found, step)

    def check_value(self, claim, value):
        expected = self.expected(value)
        if expected is None:
            self.fault('%r: no %s', claim['text'], value['source'])
            return
        number, rounded = expected
        printed, given = value['printed'], float(value['value'])
        if abs(number - given) > rounded + 1e-5:
            self.fault('%r: %s is %g, the value %g', claim['text'], value['source'], number, given)
        if value['how'] == 'rounded':
            half = 0.5 * 10.0 ** -(len(printed.partition('.')[2]))
            if abs(float(printed) - given) > half * 1.000001 + 1e-6:
                self.fault('%r: %s printed for %g', claim['text'], printed, given)
        elif value['how'] == 'over' and not (given > float(printed) - 1e-6 and 'over ' + printed in claim['text']):
            self.fault('%r: over %s, and it is %g', claim['text'], printed, given)
        elif value['how'] == 'below' and not (given < float(printed) + 1e-6 and 'below ' + printed in claim['text']):
            self.fault('%r: below %s, and it is %g', claim['text'], printed, given)

    def check_claims(self):
        for claim in self.data['claims']:
            numbers = NUMBER.findall(claim['text'])
            printed = [value['printed'] for value in claim['values']]
            if numbers != printed:
                self.fault('%r: its numbers are %s, its values %s', claim['text'], numbers, printed)
            for value in claim['values']:
                self.check_value(claim, value)
        brief = self.data['brief']
        for claim in self.data['claims']:
            if claim['part'] != 'why' and brief[claim['part']] != claim['text']:
                self.fault('brief.%s and its claim differ', claim['part'])
        if self.data['why'] != [claim['text'] for claim in self.data['claims'] if claim['part'] == 'why']:
            self.fault('why and its claims differ')

    # ---- tables ----

    def check_intervals(self, at=None, path=''):
        at = self.data if at is None else at
        if isinstance(at, list):
            for i, row in enumerate(at):
                self.check_intervals(row, '%s[%d]' % (path, i))
        elif isinstance(at, dict):
            if {'best', 'low', 'high'} <= set(at) and None not in (at['best'], at['low'], at['high']):
                if not at['low'] <= at['best'] <= at['high']:
                    self.fault('%s: %s is outside %s to %s', path, at['best'], at['low'], at['high'])
            for key, row in at.items():
                if isinstance(row, (dict, list)):
                    self.check_intervals(row, '%s.%s' % (path, key))

    def check_probabilities(self):
        causes = self.data['causes']
        for kind in ('probability', 'prior'):  # pairs come on top of the rates, as products of them
            total = sum(float(cause[kind]) for cause in causes if kind == 'probability' or ' and ' not in cause['name'])
            if abs(total - 1) > 1e-5 * (len(causes) + 1):
                self.fault('%s sums to %g', kind, total)
        shares = [float(cause['probability']) for cause in causes]
        if shares != sorted(shares, reverse=True):
            self.fault('causes are not in order')
        film = sum(float(c['probability']) for c in causes if re.match(r'film\b', c['name']))
        if abs(film - float(self.data['film_um']['probability'])) > 1e-4:
            self.fault('film: %g among the causes, %s told', film, self.data['film_um']['probability'])

    # ---- words ----

    def is_told(self):
        causes, fit = self.data['causes'], self.data['fit']
        first = causes[0]['name'].split(',')[0]
        second = max([self.share(c['name'].split(',')[0]) for c in causes if c['name'].split(',')[0] != first][:1] or [0])
        baseline = fit['baseline_p_value']
        return (fit['explained'] and self.share(first) >= TOLD and second <= RIVAL and first != 'unlisted'
                and len(self.data['readings']) >= FEW and (baseline is None or float(baseline) >= 0.01))

    def check_brief(self):
        brief, first = self.data['brief'], self.data['causes'][0]
        explained = self.data['fit']['explained']
        border = abs(self.share(first['name'].split(',')[0]) - TOLD) < 1e-3
        told = not brief['what'].startswith('Not told')
        if told != self.is_told() and not border:
            self.fault('%r with %s at %s', brief['what'], first['name'], first['probability'])
        if told and first['name'] == 'nothing' and not brief['what'].startswith('Nothing wrong'):
            self.fault('%r of a good car', brief['what'])
        if told and re.match(r'film\b', first['name']) and 'deposit in the throttle bore' not in brief['what'].lower():
            self.fault('%r of a film', brief['what'])
        if told and not re.match(r'film\b', first['name']) and 'throttle bore' in brief['what']:
            self.fault('%r of %s', brief['what'], first['name'])
        if not told and (brief['after'] != 'Not told until the cause is.' or 'do not change parts' not in brief['how_sure'].lower()
                         and explained):
            self.fault('%r, and yet %r, %r', brief['what'], brief['how_sure'], brief['after'])
        if not explained:
            words = ' '.join([brief['what'], brief['how_sure'], brief['after']] + self.data['why'])
            if self.data['decision'] is not None or re.search(r'Likeliest|over \d+ %|Cleaned|cleaning will|For ', words):
                self.fault('nothing explains the readings, and yet something is told: %r', words)
            if not brief['next'].startswith('Read it all again') or 'warm' not in brief['next'] or 'neutral' not in brief['next']:
                self.fault('%r, where nothing explains the readings', brief['next'])

    def check_cleaning(self):
        words = ' '.join([self.data['brief']['after']] + self.data['why'])
        loss = self.data['area_loss_pct']['high']
        film = float(self.data['film_um']['probability'])
        if 'is there but small' in words and not (film > 0.89 and float(loss) < SMALL):
            self.fault('a film is called small: up to %s %%, at %g', loss, film)
        if re.search(r'No film is needed', words) and film >= 0.1:
            self.fault('no film is needed, at %g', film)
        if re.search(r'not the cure', words) and self.is_told() and self.data['causes'][0]['name'].split(',')[0] == 'film':
            self.fault('cleaning is not the cure of a film')
        after = self.data['after_clean']
        if 'Cleaned, it idles at' in words and after is None:
            self.fault('what is expected after a clean is not in the table')
        if 'Cleaned, it idles at' in words and not re.match(r'film\b', self.data['causes'][0]['name']):
            self.fault('a clean is told, and the cause is %s', self.data['causes'][0]['name'])

    def has(self, quantity, condition=None):
        return any(r['name'] == quantity and condition in (None, r['condition']) for r in self.data['readings'])

    def check_next(self):
        """Nothing is bought or cleaned before a look, and openings come with their stop."""
        step = self.data['brief']['next']
        if re.match(r'(Clean|Replace|Mend|Overhaul)\b(?! nothing)', step) and not self.has('closed_gap_mm2'):
            self.fault('%r without a look', step)
        if step.startswith('First what this car reads'):
            if 'tp_pct@key_on' in step and self.has('tp_pct', 'key_on') or 'target_rpm@idle' in step and self.has('target_rpm'):
                self.fault('%r, and it has been read', step)
        elif (self.data['fit']['explained'] and self.data['fit']['baseline_p_value'] is None and not self.limited
              and any(r['name'] == 'tp_pct' and r['condition'] != 'key_on' for r in self.data['readings'])
              and not self.has('tp_pct', 'key_on')):
            self.fault('%r, and the closed stop is not known', step)

    def check_costs(self):
        decision = self.data['decision']
        if decision is None:
            return
        costs, causes = decision['costs'], self.data['causes']
        search = float(costs['search']) * float(costs['minute'])
        missed = float(costs['comeback']) + search
        least = min(float(step['expected_cost']) for step in decision['steps'])
        if float(decision['steps'][0]['expected_cost']) != least:
            self.fault('steps are not in order of cost')
        for step in decision['steps']:
            if step['kind'] == 'look':
                continue
            done = set(step['step'].split('+')) if step['kind'] == 'mend' else set()
            total = 0
            for cause in causes:
                mending = float(cause.get('remedy_cost') or 0)
                cured = cause['remedies'] is not None and set(cause['remedies']) <= done
                if step['kind'] == 'search':
                    cost = search + mending
                else:
                    cost = float(step['own_cost']) + (0 if cured else missed + mending)
                total += float(cause['probability']) * cost
            if abs(total - float(step['expected_cost'])) > 0.02 + 1e-5 * len(causes) * (missed + 3000):
                self.fault('%s comes to %g, told %s', step['step'], total, step['expected_cost'])
        no_look = min(float(s['expected_cost']) for s in decision['steps'] if s['kind'] != 'look')
        for step in decision['steps']:  # knowing more never costs more than the look itself
            if step['kind'] == 'look' and float(step['expected_cost']) - float(step['own_cost']) > no_look * 1.05 + 0.05:
                self.fault('%s comes to %s, more than without it: %g', step['step'], step['expected_cost'], no_look)

    def check(self, limited=False):
        self.limited = limited
        self.faults = []
        for part in (self.check_claims, self.check_intervals, self.check_probabilities, self.check_brief, self.check_cleaning,
                     self.check_next, self.check_costs):
            part()
        return self.faults


def shipped():
    for path in sorted(glob.glob(os.path.join(TOP, 'scenarios/readings/*.csv'))):
        with open(path) as file:
            line = file.readlines()[1]
        yield line.replace('# bladegap ', '').split()


def symptoms():
    """Codes, freeze frame and complaint, alone and beside a list."""
    said = [['--codes', 'P0506', '--complaint', 'low-idle'], ['--codes', 'none', '--freeze-frame', 'speed_rpm=702,coolant_c=90,load_pct=24'],
            ['--codes', 'P0171,U0100', '--codes-unknown', '--complaint', 'hunts'],
            ['--codes', 'P0507', '--complaint', 'slow-start', '--freeze-frame', 'speed_rpm=1300,coolant_c=20']]
    for words in said:
        yield ['estimate', 'models/four-16.cfg'] + words
    for words, command in zip(said, shipped()):
        yield command + words


def random_lists(count, seed):
    """Some readings of a shipped list, moved; few or many, with or without its baseline."""
    draw = random.Random(seed)
    files = list(shipped())
    for _ in range(count):
        words = draw.choice(files)
        engine, path = words[1], words[words.index('--readings') + 1]
        with open(os.path.join(TOP, path)) as file:
            rows = list(csv.DictReader(line for line in file if not line.startswith('#')))
        kept = draw.sample(rows, draw.randint(1, len(rows)))
        kept += [row for row in rows if row['condition'] == 'cold_idle' and row['name'] == 'coolant_c' and row not in kept]
        command = ['estimate', engine, '--trust']
        wild = draw.random() < 0.3
        for row in kept:
            value = float(row['value'])
            if row['condition'] != 'cold_idle':
                value *= 1 + (draw.gauss(0, 0.15) if wild and draw.random() < 0.3 else draw.gauss(0, 0.004))
            command += ['--reading', '%s=%.6g@%s' % (row['name'], value, row['condition'])]
        if '--baseline' in words and draw.random() < 0.5:
            command += ['--baseline', words[words.index('--baseline') + 1]]
        yield command


def lies(data):
    """The report with one thing changed so that a sentence is false, several times over."""
    for i, claim in enumerate(data['claims']):
        for k, value in enumerate(claim['values']):
            if value['source'].startswith(('rule:', 'text:')):
                continue
            number = float(value['printed'])
            false = '%.*f' % (len(value['printed'].partition('.')[2]), 1.5 * number + 3)
            lie = json.loads(json.dumps(data, default=float))
            lie['claims'][i]['values'][k]['printed'] = false
            lie['claims'][i]['text'] = claim['text'].replace(value['printed'], false, 1)
            yield lie
    for name in ('what', 'after'):
        lie = json.loads(json.dumps(data, default=float))
        lie['brief'][name] = next(c['text'] for c in data['claims'] if c['part'] == name)[::-1]
        yield lie


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument('program')
    parser.add_argument('--random', type=int, default=0)
    parser.add_argument('--seed', type=int, default=3)
    parser.add_argument('--lies', action='store_true')
    options = parser.parse_args()
    program = os.path.abspath(options.program)
    wrong = claims = reports = told = found = tried = 0
    for command in list(shipped()) + list(symptoms()) + list(random_lists(options.random, options.seed)):
        answer = subprocess.run([program] + command + ['--json'], capture_output=True, text=True, cwd=TOP)
        if answer.returncode == 65 and re.search('no cause lets|does not run|fit no good', answer.stderr):
            continue  # refused in words
        if answer.returncode:
            print('exit %d: %s: %s' % (answer.returncode, ' '.join(command), answer.stderr.strip()))
            wrong += 1
            continue
        report = Report(answer.stdout)
        faults = report.check()
        reports += 1
        claims += len(report.data['claims'])
        told += not report.data['brief']['what'].startswith('Not told')
        wrong += len(faults)
        for fault in faults:
            print('%s:\n  %s' % (' '.join(command), fault))
        for lie in lies(report.data) if options.lies else ():
            tried += 1
            found += bool(Report(json.dumps(lie)).check())
    print('%d reports, %d of them tell a cause; %d sentences, %d faults; %d of %d lies found' %
          (reports, told, claims, wrong, found, tried))
    return 1 if wrong or reports == 0 or told == 0 or found < 0.95 * tried else 0


sys.exit(main())
