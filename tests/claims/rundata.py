"""What a run left behind: its rows, its events, its scenario and engine; and the statistics of the rows."""
import bisect
import csv
import json
import math
import os
import re
import subprocess

import settings


TOP = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))


def read_debounce(path):
    """{code: seconds} from the table in docs/codes.md, at supervision.debounce_s = 10."""
    with open(path, encoding='utf-8') as file:
        rows = [[cell.strip() for cell in line.split('|')[1:]] for line in file if re.match(r'\| P\d{4} ', line)]
    return {row[0]: float(row[3]) for row in rows}


def read_kinds(path):
    """{kind of claim: predicates that each of that kind carries} from the table in docs/claims.md."""
    with open(path, encoding='utf-8') as file:
        table = file.read().split('| kind | says | carries |')[1]
    rows = re.findall(r'^\| `(\w+)` \|[^|]+\|([^|]*)\|', table, re.M)
    return {kind: set(re.findall(r'\w+', carries)) for kind, carries in rows}


class Program:
    """bladegap, and what it lists of itself."""

    def __init__(self, path):
        self.path = path
        self.faults = {row['name']: row for row in self.list('faults')}
        self.decimals = {row['name']: int(row['decimals']) for row in self.list('channels')}
        self.codes = {row['code']: row for row in self.list('codes')}
        self.debounce_s = read_debounce(os.path.join(TOP, 'docs', 'codes.md'))
        self.kinds = read_kinds(os.path.join(TOP, 'docs', 'claims.md'))

    def list(self, kind):
        answer = subprocess.run([self.path, 'list', kind, '--json'], capture_output=True, text=True, check=True)
        return json.loads(answer.stdout)[kind]


class Engine:
    """What an engine has, by its file."""

    def __init__(self, path):
        self.keys = settings.read(path)
        self.title = self.keys['title']
        self.cable = self.keys['throttle'].get('kind', 'electronic') == 'cable'
        self.air_flow = self.keys['fuel'].get('metering', 'air_flow') != 'pressure'
        self.charger = 'charger' in self.keys
        self.banks = int(self.keys['charge'].get('bank_count', 1))
        self.gear = self.keys['loads'].get('converter_nm', 0.0) > 0.0

    def key(self, dotted):
        """The number at group.key; KeyError if there is none."""
        value = self.keys
        for part in dotted.split('.'):
            value = value[part]
        return value


class Step:
    """A step of the timeline: when, how long, what."""

    def __init__(self, at_s, keys):
        self.at_s = at_s
        self.ramp_s = keys.get('ramp_s', 0.0)
        self.key = keys.get('key')
        self.action = keys.get('action')
        self.note = keys.get('note')
        self.sets = {name: value for name, value in keys.items() if isinstance(value, float) and name not in ('at_s', 'ramp_s')}


class Scenario:
    """A timeline, and what a condition was set to at a time."""

    def __init__(self, path, faults):
        keys = settings.read(path)
        self.title = keys.get('title', '')
        self.duration_s = keys['duration_s']
        self.record_s = keys.get('record_s', 0.1)
        self.start = keys.get('start', 'idling')
        self.engine_path = os.path.join(os.path.dirname(path), keys['engine'])
        self.initial = {name: row['start'] for name, row in faults.items()}
        self.initial.update(keys.get('initial', {}))
        steps = [Step(step['at_s'], step) for step in keys.get('timeline', [])]
        self.steps = sorted(steps, key=lambda step: step.at_s)
        self.faults = faults

    def condition(self, name, time_s):
        """What the condition was set to, ramps being straight lines."""
        value = self.initial[name]
        for step in self.steps:
            if step.at_s > time_s or name not in step.sets:
                continue
            done = 1.0 if step.ramp_s <= 0.0 else min(1.0, (time_s - step.at_s) / step.ramp_s)
            value += (step.sets[name] - value) * done
        return value

    def changes(self, name):
        """(time, value before, value after) of every step that moves the condition."""
        value, found = self.initial[name], []
        for step in self.steps:
            if name in step.sets and step.sets[name] != value:
                found.append((step.at_s, value, step.sets[name]))
                value = step.sets[name]
        return found

    def wrong(self, time_s):
        """Names of the faults that are not as on a sound engine then."""
        return [name for name, row in self.faults.items()
                if row['kind'] == 'fault' and abs(self.condition(name, time_s) - row['start']) > 1e-9]


class Rows:
    """run.csv: channels as lists of floats, None where a cell is empty."""

    def __init__(self, text, decimals):
        lines = text.split('\n')
        self.names = lines[0].split(',')
        cells = [line.split(',') for line in lines[1:] if line]
        self.columns = dict(zip(self.names, zip(*cells))) if cells else {name: () for name in self.names}
        self.numbers = {}
        self.decimals = decimals
        self.time = [float(cell) for cell in self.columns['time_s']]

    def channel(self, name):
        if name not in self.numbers:
            self.numbers[name] = [float(cell) if cell else None for cell in self.columns[name]]
        return self.numbers[name]

    def has(self, name):
        return name in self.columns and bool(self.columns[name]) and self.columns[name][0] != ''

    def between(self, from_s, to_s):
        """Indices [first, last) of the rows with from_s <= time <= to_s."""
        return bisect.bisect_left(self.time, from_s - 1e-6), bisect.bisect_right(self.time, to_s + 1e-6)

    def window(self, name, from_s, to_s):
        first, last = self.between(from_s, to_s)
        return [value for value in self.channel(name)[first:last] if value is not None]

    def nearest(self, name, time_s):
        if not self.time:
            return None
        i = bisect.bisect_left(self.time, time_s)
        if i == len(self.time) or (i > 0 and time_s - self.time[i - 1] < self.time[i] - time_s):
            i -= 1
        return self.channel(name)[i]

    def half_step(self, name):
        """The most that a cell is off by rounding."""
        return 0.5 * 10.0 ** -self.decimals.get(name, 6)


class Run:
    """Everything there is of one run."""

    def __init__(self, program, scenario_path, document, csv_text, events_text, summary):
        self.program = program
        self.scenario = Scenario(scenario_path, program.faults)
        self.engine = Engine(self.scenario.engine_path)
        self.document = document
        self.claims = document.get('why', [])
        self.rows = Rows(csv_text, program.decimals)
        self.events = read_events(events_text)
        self.summary = summary

    @classmethod
    def of_folder(cls, program, scenario_path, folder, json_text):
        texts = []
        for name in ('run.csv', 'events.csv', 'summary.txt'):
            with open(os.path.join(folder, name), encoding='utf-8') as file:
                texts.append(file.read())
        return cls(program, scenario_path, json.loads(json_text, parse_constant=refuse), *texts)

    def events_of(self, text=None, kind=None, value=None, code=None):
        return [event for event in self.events
                if (text is None or event['text'] == text) and (kind is None or event['kind'] == kind)
                and (value is None or event['value'] == value) and (code is None or event['code'] == code)]


def refuse(word):
    raise ValueError('the JSON has %s for a number' % word)


def read_events(text):
    events = list(csv.DictReader(text.splitlines()))
    for event in events:
        event['time_s'] = float(event['time_s'])
    return events


def mean(values):
    return math.fsum(values) / len(values)


def deviation(values):
    """Standard deviation about the mean, over n - 1."""
    if len(values) < 2:
        return 0.0
    middle = mean(values)
    return math.sqrt(math.fsum((value - middle) ** 2 for value in values) / (len(values) - 1))


def drift(values):
    """How far the mean of the second half is from that of the first, which has the row in the middle."""
    middle = (len(values) + 1) // 2
    return mean(values[middle:]) - mean(values[:middle]) if len(values) > 1 else 0.0
