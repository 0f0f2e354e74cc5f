#!/usr/bin/env python3
"""Random valid scenarios over all that may be set: any engine, any fault over its whole range, loads, pedal, -40 to 50 C, 0 to 4000 m, steps,
ramps, keys, all solvers. Nobody says what such an engine does; what must hold whatever it does is looked for in the rows, by code that shares
nothing with the program. What fails is left as a scenario file that does it again.

    storm.py PROGRAM                            a few, the same ones every time
    storm.py PROGRAM --count 20000 --jobs 2     the whole storm
    storm.py PROGRAM --only 123                 one of them
    storm.py PROGRAM --again FILE ...           those that failed once; without it tests/storm/mended/*.cfg come first

What must hold, besides exit code 0 in time, and no nan or inf in rows and summary (sources: conservation of mass and energy; figures of the
trade are common practice, no source):
  range     pressures above 0 and below 400 kPa, speed from 0 to 1.3 times where the engine's limiter cuts, lambda above 0
  energy    indicated work is not above 45 % of what the air of that stretch can burn: 43 MJ/kg of petrol, 14.6 kg of air a kg (handbook
            figures). No spark-ignition engine turns more into work
  speed     the crank gains no more kinetic energy than its gas torque does work: what else acts on it takes, but for the starter
  friction  the crank loses at least 0.2 bar of mean effective pressure of its gas work: handbooks have 0.5 to 2 bar
  mass      the air that came in is no more than what the cylinders can swallow and the manifold take up: displacement, speed and the
            highest density seen, 20 % over for what ram and charge cooling add; and no less than a quarter of what is left of that
            at the lowest pressure when old gas at 1.2 times the air's pressure has expanded seven times (no engine compresses less), less what a manifold gives that warms up
Where work or air seem wrong, rows of 10 ms decide: a worn track may have the blade swing from one row to the next.
"""
import argparse
import concurrent.futures
import glob
import itertools
import math
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(os.path.dirname(HERE), 'claims'))
import rundata  # noqa: E402

ENGINES = ('four-16', 'four-18-cable', 'three-10', 'six-30', 'four-15-turbo')
HAS = {'cable': lambda e: e.cable, 'electronic': lambda e: not e.cable, 'air_flow': lambda e: e.air_flow, 'charger': lambda e: e.charger,
       'drive': lambda e: 'drive' in e.keys, 'manifold_sensor': lambda e: e.charger or not e.air_flow, 'converter': lambda e: e.gear,
       'two_tracks': lambda e: not e.cable}
SOLVERS = ('fast', 'fast', 'fast', 'cvode', 'cvode', 'fixed')
GAS_J_KG_K = 287.05
SEA_LEVEL_KPA, HOT_K = 101.3, 450.0
LIMIT_S = 120
ROW_S, CLOSE_ROW_S = 0.1, 0.01  # a row for each tick of the computer shows what swings or fires between two rows


class Draw:
    """One scenario, the same for the same seed and number."""

    def __init__(self, seed, number, engines, faults):
        chance = self.chance = random.Random(seed * 1000003 + number)
        self.number, self.faults = number, faults
        self.engine_name = ENGINES[number % len(ENGINES)]
        self.engine = engines[self.engine_name]
        self.solver = chance.choice(SOLVERS)
        self.duration_s = chance.choice((5.0, 12.0, 30.0, 60.0))
        self.start = chance.choice(('idling', 'settled', 'key_off'))
        self.initial, self.steps, self.ramp_ends = {}, [], {}
        self.places()
        self.timeline()
        self.scatter = chance.randrange(1, 1000)

    def fits(self, row):
        return HAS.get(row['needs'], lambda e: True)(self.engine)

    def value(self, row):
        if (row['min'], row['max']) == (0, 1) and row['name'] not in ('warmth_held',) and float(row['start']).is_integer():
            return self.chance.randint(0, 1)
        share = self.chance.choice((0.0, 1.0, self.chance.random(), self.chance.random() ** 3))
        return round(row['start'] + (self.chance.choice((row['min'], row['max'])) - row['start']) * share, 4)

    def places(self):
        if self.chance.random() < 0.6:
            cold = round(self.chance.uniform(-40.0, 50.0), 1)
            self.initial.update(intake_c=cold, warmth_held=self.chance.randint(0, 1))
            if self.chance.random() < 0.6:
                self.initial.update(coolant_c=cold, oil_c=cold)
        if self.chance.random() < 0.6:
            self.initial['altitude_m'] = round(self.chance.uniform(0.0, 4000.0))
        for row in self.some(self.chance.choice((0, 0, 1, 2))):
            self.initial[row['name']] = self.value(row)

    def some(self, count):
        return self.chance.sample([row for row in self.faults.values() if row['kind'] != 'world' and self.fits(row)], count)

    def timeline(self):
        if self.start == 'key_off':
            self.steps.append((0.5, {'key': '"start"'}))
        for row in self.some(self.chance.randint(1, 5)):
            at_s = round(self.chance.uniform(0.0, self.duration_s), 2)
            keys = {row['name']: self.value(row)}
            switch = (row['min'], row['max']) == (0, 1)
            if not switch and self.chance.random() < 0.4:
                keys['ramp_s'] = round(self.chance.uniform(0.0, self.duration_s), 2)
            self.steps.append((at_s, keys))
        if self.chance.random() < 0.3:
            at_s = round(self.chance.uniform(1.0, self.duration_s), 2)
            self.steps.append((at_s, {'key': '"off"'}))
            if at_s + 1.5 < self.duration_s:
                self.steps.append((round(at_s + 1.5, 2), {'key': '"start"'}))
        if self.chance.random() < 0.2:
            action = self.chance.choice(('clear_codes', 'reset_learned', 'lose_closed_stop'))
            self.steps.append((round(self.chance.uniform(0.0, self.duration_s), 2), {'action': '"%s"' % action}))
        self.steps.sort(key=lambda step: step[0])

    def stand(self):
        """As it cannot idle or settle like this, it begins with the key off and is started."""
        self.start = 'key_off'
        self.steps.insert(0, (0.5, {'key': '"start"'}))

    def text(self, engine=None, record_s=ROW_S):
        lines = ['# solver %s' % self.solver, 'title = "storm %d";' % self.number, 'engine = "%s";' % (engine or self.engine_name), 'duration_s = %.1f;' % self.duration_s,
                 'start = "%s";' % self.start, 'seed = %d;' % self.scatter]
        if record_s != ROW_S:
            lines.append('record_s = %g;' % record_s)
        said = lambda keys: ' '.join('%s = %s;' % pair for pair in keys.items())  # noqa: E731
        lines.append('initial = { %s };' % said(self.initial))
        lines.append('timeline = (\n  %s\n);' % ',\n  '.join('{ at_s = %s; %s }' % (at_s, said(keys)) for at_s, keys in self.steps))
        return '\n'.join(lines) + '\n'


class Again:
    """One scenario as its file says; the first line names its solver."""

    def __init__(self, path, engines):
        with open(path, encoding='utf-8') as file:
            self.written = file.read()
        found = lambda pattern: re.search(pattern, self.written, re.M).group(1)  # noqa: E731
        self.number, self.solver, self.engine_name = int(found(r'^title = "storm (\d+)')), found(r'^# solver (\w+)'), found(r'^engine = "([^"]*)"')
        self.engine, self.duration_s, self.start = engines[self.engine_name], float(found(r'^duration_s = ([\d.]+)')), found(r'^start = "(\w+)"')
        self.steps = [(float(at_s), {'key': '"start"'}) for at_s in re.findall(r'at_s = ([\d.]+);[^}]*key = "start"', self.written)]
        self.initial = {}

    def stand(self):
        raise ValueError('%s does not idle' % self.engine_name)

    def text(self, engine=None, record_s=ROW_S):
        written = self.written if record_s == ROW_S else 'record_s = %g;\n' % record_s + self.written
        return re.sub('^engine = .*$', lambda _: 'engine = "%s";' % engine, written, flags=re.M) if engine else written


class Rows:
    """run.csv as lists of numbers; an empty cell is None."""

    def __init__(self, path):
        with open(path, encoding='utf-8') as file:
            self.text = file.read()
        lines = self.text.split('\n')
        self.names = lines[0].rstrip('\r').split(',')
        self.rows = [[float(cell) if cell.strip() else None for cell in line.split(',')] for line in lines[1:] if line]

    def get(self, name):
        at = self.names.index(name)
        return [row[at] for row in self.rows]


def trapezium(times, values, first, last):
    return sum((times[i + 1] - times[i]) * 0.5 * (values[i] + values[i + 1]) for i in range(first, last))


def check_ranges(rows, engine, limiter_rpm):
    wrong = []
    for name, least, most in (('speed_rpm', 0.0, 1.3 * limiter_rpm), ('manifold_kpa', 0.1, 400.0), ('map_kpa', 0.1, 400.0),
                              ('charge_kpa', 0.1, 400.0), ('maf_gps', 0.0, 1000.0), ('area_mm2', 0.0, 6000.0), ('lambda', 0.0, 100.0)):
        seen = [value for value in rows.get(name) if value is not None]
        if any(not math.isfinite(value) for value in seen):
            wrong.append('%s is not finite' % name)
        elif seen and not least - 1e-9 <= min(seen) <= max(seen) <= most:
            wrong.append('range: %s from %g to %g, allowed %g to %g' % (name, min(seen), max(seen), least, most))
    return wrong


def check_balances(rows, engine, cranked):
    """Energy, speed, friction and mass over stretches of two seconds; cranked: stretches of time when the starter may have helped."""
    times, rpm, torque, air, kpa = (rows.get(name) for name in ('time_s', 'speed_rpm', 'torque_nm', 'airflow_gps', 'manifold_kpa'))
    inertia = engine.key('crank.inertia_kg_m2')
    swept_m3, volume_m3 = 1e-3 * engine.key('charge.displacement_l'), 1e-3 * engine.key('intake.manifold_volume_l')
    cold_k = 233.15  # the coldest air there is
    omega = [value * math.pi / 30.0 for value in rpm]
    power = [torque[i] * omega[i] for i in range(len(times))]
    row_s = times[1] - times[0]
    wrong, step = [], round(2.0 / row_s)
    for first in range(0, len(times) - step, step):
        last = first + step
        if any(from_s <= times[last] and times[first] <= to_s for from_s, to_s in cranked):
            continue
        air_kg = 1e-3 * trapezium(times, air, first, last)
        work_j = trapezium(times, power, first, last)
        stored_kg = volume_m3 * 1e3 * (kpa[first] - kpa[last]) / (GAS_J_KG_K * cold_k)
        top_kg = volume_m3 * 1e3 * max(kpa[first:last + 1]) / (GAS_J_KG_K * cold_k)
        burnt_kg = max(air_kg + max(stored_kg, 0.0), 0.0) + 0.02 * top_kg  # warming up, a standing engine breathes out
        if work_j > 0.45 * 43e6 / 14.6 * burnt_kg + 20.0:
            wrong.append('energy: %.0f J of work from %.4f g of air at %.1f s' % (work_j, 1e3 * burnt_kg, times[first]))
        gained_j = 0.5 * inertia * (omega[last] ** 2 - omega[first] ** 2)
        swing_j = row_s * max(abs(value) for value in power[first:last + 1])  # between rows the torque is not known
        if gained_j > work_j + swing_j + 5.0:
            wrong.append('speed: the crank gained %.0f J of %.0f J of gas work at %.1f s' % (gained_j, work_j, times[first]))
        turned_rad = trapezium(times, omega, first, last)
        if work_j - gained_j < 0.2e5 * swept_m3 / (4.0 * math.pi) * turned_rad - swing_j - 5.0:
            wrong.append('friction: %.0f J of gas work, %.0f J gained over %.0f rad at %.1f s' % (work_j, gained_j, turned_rad, times[first]))
        fresh_kg = 0.25 * turned_rad / (4.0 * math.pi) * swept_m3 * 1e3 * (min(kpa[first:last + 1]) - 1.2 * SEA_LEVEL_KPA / 7.0) / (GAS_J_KG_K * HOT_K)
        given_kg = volume_m3 * 1e3 * abs(kpa[first] - kpa[last]) / (GAS_J_KG_K * cold_k) + (1.0 - cold_k / HOT_K) * top_kg
        if air_kg < fresh_kg - given_kg:
            wrong.append('mass: %.3f g of air came in and at least %.3f g went on at %.1f s' % (1e3 * air_kg, 1e3 * fresh_kg, times[first]))
        turns = trapezium(times, rpm, first, last) / 120.0 + 1.0
        swallowed_kg = 1.2 * turns * swept_m3 * 1e3 * max(kpa[first:last + 1]) / (GAS_J_KG_K * cold_k)
        if air_kg > swallowed_kg + max(-stored_kg, 0.0) + 1e-5:
            wrong.append('mass: %.3f g of air came in and %.3f g found room at %.1f s' % (1e3 * air_kg, 1e3 * (swallowed_kg - stored_kg), times[first]))
    return wrong


def check_run(folder, draw, record_s):
    """What is wrong with a run, and whether it is a balance, which closer rows may show to be right."""
    rows = Rows(os.path.join(folder, 'run.csv'))
    engine = draw.engine
    with open(os.path.join(folder, 'summary.txt'), encoding='utf-8') as file:
        wrong = ['%s in the summary' % word for word in set(re.findall(r'-?\b(?:nan|inf)\b|\(null\)', file.read()))]
    if re.search(r'nan|inf', rows.text.split('\n', 1)[1]):
        wrong.append('nan or inf in run.csv')
    if len(rows.rows) != round(draw.duration_s / record_s) + 1:
        wrong.append('%d rows of %g s' % (len(rows.rows), draw.duration_s))
    cranked = [(at_s - 0.5, at_s + 8.0) for at_s, keys in draw.steps if keys.get('key') == '"start"']
    wrong += check_ranges(rows, engine, engine.key('supervision.rev_limit_rpm'))
    balances = check_balances(rows, engine, cranked)
    return wrong + balances, bool(balances) and not wrong


def run(path, draw, command, record_s=ROW_S):
    with open(path, 'w', encoding='utf-8') as file:
        file.write(draw.text(record_s=record_s))
    return subprocess.run(command, capture_output=True, text=True, timeout=LIMIT_S, check=False)


def check_claims(program, draw, path):
    """Every sentence about the run held against its rows (tests/claims), which wants the engine's file by its path."""
    with open(path, 'w', encoding='utf-8') as file:
        file.write(draw.text(os.path.join(rundata.TOP, 'models', draw.engine_name + '.cfg')))
    said = subprocess.run([sys.executable, '-B', os.path.join(os.path.dirname(HERE), 'claims', 'check.py'), program, path, '--solver', draw.solver],
                          capture_output=True, text=True, timeout=600, check=False)
    return ['claims: ' + (said.stdout + said.stderr).strip()[-400:]] if said.returncode else []


def play(task):
    """Problems of one scenario; it is kept if it has any."""
    program, draw, keep, claims = task
    work = tempfile.mkdtemp(prefix='storm-')
    try:
        path = os.path.join(work, 'storm-%d.cfg' % draw.number)
        command = [program, 'run', path, '--solver', draw.solver, '--format', 'none', '--quiet', '--out', os.path.join(work, 'out')]
        try:
            done = run(path, draw, command)
            if done.returncode == 78 and re.search('has no settled point|does not idle', done.stderr) and draw.start != 'key_off':
                draw.stand()
                done = run(path, draw, command)
            wrong = ['exit %d: %s' % (done.returncode, done.stderr.strip()[:200])]
            if not done.returncode:
                wrong, closer = check_run(os.path.join(work, 'out'), draw, ROW_S)
                if closer:
                    run(path, draw, command, CLOSE_ROW_S)
                    wrong = check_run(os.path.join(work, 'out'), draw, CLOSE_ROW_S)[0]
            if not done.returncode and done.stderr:
                wrong.append('stderr: ' + done.stderr[:200])
            if claims and not wrong:
                wrong = check_claims(program, draw, os.path.join(work, 'claims-%d.cfg' % draw.number))
        except subprocess.TimeoutExpired:
            wrong = ['does not end within %d s' % LIMIT_S]
        if wrong:
            os.makedirs(keep, exist_ok=True)
            with open(os.path.join(keep, os.path.basename(path)), 'w', encoding='utf-8') as file:
                file.write(draw.text() + ''.join('# %s\n' % problem.replace('\n', ' ') for problem in wrong[:3]))
        return draw.number, draw.solver, wrong
    finally:
        shutil.rmtree(work)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument('program')
    for name, default in (('count', 12), ('first', 0), ('seed', 1), ('jobs', 1), ('claims-every', 0), ('only', -1)):
        parser.add_argument('--' + name, type=int, default=default)
    parser.add_argument('--again', nargs='+', metavar='FILE', help='scenarios that failed once')
    parser.add_argument('--keep', default='storm-failed', help='folder for the scenarios that fail')
    options = parser.parse_args()
    program = rundata.Program(os.path.abspath(options.program))
    top = rundata.TOP
    engines = {name: rundata.Engine(os.path.join(top, 'models', name + '.cfg')) for name in ENGINES}
    numbers = [options.only] if options.only >= 0 else range(options.first, options.first + options.count)
    every = options.claims_every
    tasks = [] if options.only >= 0 else [(program.path, Again(path, engines), options.keep, False)
                                          for path in options.again or sorted(glob.glob(os.path.join(HERE, 'mended', '*.cfg')))]
    if options.again:
        numbers = ()
    tasks = itertools.chain(tasks, ((program.path, Draw(options.seed, number, engines, program.faults), options.keep, every and number % every == 0) for number in numbers))
    failed, played = 0, 0
    with concurrent.futures.ThreadPoolExecutor(options.jobs) as pool:
        for number, solver, wrong in (pool.map(play, tasks) if options.jobs > 1 else map(play, tasks)):
            played += 1
            failed += bool(wrong)
            for problem in wrong[:3]:
                print('storm %d (%s): %s' % (number, solver, problem), flush=True)
    print('%d scenarios, %d failed%s' % (played, failed, '; they are in ' + options.keep if failed else ''))
    return 1 if failed or not played else 0


if __name__ == '__main__':
    sys.exit(main())
