"""Random scenarios, the same ones for the same seed: films, leaks, faults, loads, repairs and key cycles on every engine."""
import os
import random

# Faults whose whole range is a matter of course; of others a part, so that most engines survive it.
GENTLE = {'film_um': 120.0, 'edge_film_um': 60.0, 'bypass_film_um': 250.0, 'leak_mm2': 15.0, 'booster_leak_mm2': 12.0, 'boot_leak_mm2': 60.0, 'charge_leak_mm2': 60.0,
          'drag_nm': 12.0, 'filter_ratio': 60.0, 'exhaust_ratio': 40.0, 'ventilation_stuck_mm2': 8.0, 'purge_stuck_mm2': 6.0,
          'egr_stuck_mm2': 6.0, 'compression_loss_pct': 25.0, 'blade_stick_deg': 2.5, 'motor_resistance_ratio': 4.0, 'pedal_stuck_pct': 8.0,
          'consumer_stuck_w': 600.0}
AIR = ('film_um', 'film_um', 'film_um', 'leak_mm2', 'leak_mm2', 'filter_ratio', 'fuel_delivery_ratio', 'drag_nm', 'boot_leak_mm2',
       'purge_stuck_mm2', 'blade_stick_deg', 'maf_gain_ratio', 'coolant_bias_c', 'exhaust_ratio', 'compression_loss_pct')
ONLY_CABLE = ('bypass_',)
ONLY_ELECTRONIC = ('blade_stick', 'motor_', 'app', 'pedal_stuck', 'position_offset', 'blade_jammed', 'spring_', 'tps2', 'hand_nm')
LOADS = ('air_conditioning', 'drive', 'steering_pct', 'electrical_load_w')


def is_switch(row):
    return row['min'] == 0 and row['max'] == 1


def fits(engine, name):
    if name.startswith(ONLY_CABLE):
        return engine.cable
    if name.startswith(ONLY_ELECTRONIC):
        return not engine.cable
    if name.startswith(('maf_', 'boot_')):
        return engine.air_flow
    if name.startswith('map_'):
        return engine.charger or not engine.air_flow
    if name.startswith('charge_'):
        return engine.charger
    if name == 'leak_bank1_pct':
        return engine.banks > 1
    return name != 'drive' or engine.gear


class Plan:
    """A timeline being drawn up; a condition moves only when its last ramp is over."""

    def __init__(self, draw, engine, faults):
        self.draw, self.engine, self.faults = draw, engine, faults
        self.duration_s = float(draw.choice((8, 25, 45, 60, 90, 120, 150)))
        self.start = draw.choice(('idling', 'idling', 'idling', 'settled', 'key_off'))
        self.initial, self.steps, self.busy = {}, [], {}
        self.value = {name: row['start'] for name, row in faults.items()}

    def severity(self, name):
        row, start = self.faults[name], self.faults[name]['start']
        if is_switch(row):
            return 1
        most = min(row['max'], GENTLE.get(name, row['max']))
        low = start - 0.35 * (start - row['min']) if name not in GENTLE else start
        high = most if name in GENTLE else start + 0.35 * (most - start)
        return round(self.draw.uniform(low, high), 2)

    def step(self, at_s, **keys):
        if 0.0 <= at_s <= self.duration_s:
            self.steps.append(dict(at_s=round(at_s, 1), **keys))

    def move(self, at_s, name, value, ramp_s=0.0):
        if at_s < self.busy.get(name, -1.0) or value == self.value[name]:
            return
        ramp_s = 0.0 if is_switch(self.faults[name]) or at_s + ramp_s > self.duration_s else round(ramp_s, 1)
        keys = {name: value}
        if ramp_s:
            keys['ramp_s'] = ramp_s
        self.step(at_s, **keys)
        self.busy[name], self.value[name] = at_s + ramp_s + 0.2, value

    def pick_fault(self):
        names = [name for name in AIR if fits(self.engine, name)]
        if self.draw.random() < 0.35:
            names = [name for name, row in self.faults.items() if row['kind'] == 'fault' and fits(self.engine, name)]
        return self.draw.choice(names)

    def key_cycle(self, at_s, clean):
        self.step(at_s, key='off')
        if clean:
            for name in ('film_um', 'edge_film_um', 'bypass_film_um'):
                self.move(at_s + 2.0, name, 0.0)
        keys = {'key': 'on'}
        if self.draw.random() < 0.3:
            keys['action'] = self.draw.choice(('reset_learned', 'clear_codes'))
        self.step(at_s + 4.0, **keys)
        self.step(at_s + 6.0, key='start')
        return at_s + 8.0

    def act(self, at_s):
        """One thing at a time; returns when the next may come."""
        what = self.draw.random()
        if what < 0.35:
            name = self.pick_fault()
            self.move(at_s, name, self.severity(name), self.draw.choice((0.0, 0.0, 10.0, 30.0)))
        elif what < 0.5:
            wrong = [name for name, row in self.faults.items() if row['kind'] == 'fault' and self.value[name] != row['start']]
            if wrong:
                name = self.draw.choice(wrong)
                self.move(at_s, name, self.faults[name]['start'] if is_switch(self.faults[name]) else float(self.faults[name]['start']))
        elif what < 0.72:
            name = self.draw.choice([name for name in LOADS if fits(self.engine, name)])
            on, off = {'steering_pct': (100.0, 0.0), 'electrical_load_w': (900.0, 300.0)}.get(name, (1, 0))
            self.move(at_s, name, on if self.value[name] == off else off)
        elif what < 0.84:
            self.move(at_s, 'hold_rpm', float(self.draw.choice((1500, 2000, 2500))))
            self.move(at_s + 7.0, 'hold_rpm', 0.0)
        else:
            return self.key_cycle(at_s, self.draw.random() < 0.6)
        return at_s + self.draw.choice((0.5, 6.0, 12.0, 15.0, 25.0))

    def fill(self):
        if self.draw.random() < 0.4:
            name = self.pick_fault()
            value = self.severity(name)  # half as bad as later: it has to idle with it
            start = self.faults[name]['start']
            self.initial[name] = self.value[name] = value if is_switch(self.faults[name]) else round(start + 0.5 * (value - start), 2)
        if self.draw.random() < 0.15:
            cold = float(self.draw.choice((-10, 0, 20)))
            self.initial.update(coolant_c=cold, oil_c=cold, intake_c=cold, warmth_held=0)
        if self.draw.random() < 0.2:
            self.initial['altitude_m'] = float(self.draw.choice((500, 1500, 2500)))
        at_s = self.draw.choice((0.0, 3.0, 12.0, 20.0))
        if self.start == 'key_off':
            self.step(at_s, key='on')
            self.step(at_s + 2.0, key='start')
            at_s += 15.0
        while at_s < self.duration_s:
            at_s = self.act(round(at_s, 1))


def written(keys):
    return ' '.join('%s = %s;' % (name, '"%s"' % value if isinstance(value, str) else value) for name, value in keys.items())


def write(path, seed, number, engines, faults):
    """The scenario of this number of the seed's; engines: [(path, rundata.Engine)]."""
    draw = random.Random(seed * 100003 + number)
    engine_path, engine = engines[number % len(engines)]
    plan = Plan(draw, engine, faults)
    plan.fill()
    record_s = draw.choice((0.1, 0.1, 0.1, 0.2, 0.5))
    steps = ',\n  '.join('{ %s }' % written(step) for step in sorted(plan.steps, key=lambda step: step['at_s']))
    with open(path, 'w', encoding='utf-8') as file:
        file.write('title = "Storm %d of seed %d";\nengine = "%s";\nduration_s = %.1f;\nrecord_s = %.1f;\nseed = %d;\nstart = "%s";\n'
                   % (number, seed, os.path.abspath(engine_path), plan.duration_s, record_s, draw.randrange(1, 1000), plan.start))
        file.write('initial = { %s };\ntimeline = (\n  %s\n);\n' % (written(plan.initial), steps))
