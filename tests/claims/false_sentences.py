#!/usr/bin/env python3
"""Sentences that a summary once said and that were false by the run's own numbers, and their true twins.

    false_sentences.py PROGRAM

Each row is told of a run made here, with values measured on its rows, so that nothing but the sentence is wrong. The reader has to
complain of the false ones, for the reason that the row gives, and of none of the twins.
"""
import os
import re
import sys
import tempfile
import alter
import figures

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import check  # noqa: E402
import claims  # noqa: E402
import lies  # noqa: E402
import rundata  # noqa: E402
import wholes  # noqa: E402

FILM_AND_LEAK = '''title = "Film and leak"; engine = "%s/models/four-16.cfg"; duration_s = 120.0; record_s = 0.1; start = "idling";
timeline = ( { at_s = 5.0; ramp_s = 50.0; film_um = 50.0; leak_mm2 = 2.0; }, { at_s = 90.0; electrical_load_w = 1000.0; } );'''
MENDED = '''title = "Mended"; engine = "%s/models/four-16.cfg"; duration_s = 120.0; record_s = 0.1; start = "idling";
timeline = ( { at_s = 20.0; leak_mm2 = 3.0; }, { at_s = 70.0; leak_mm2 = 0.0; } );'''


class Telling:
    """A claim being made: values measured on the run, then a text."""

    def __init__(self, run, from_s, to_s):
        self.run, self.from_s, self.to_s = run, from_s, to_s
        self.values, self.holds = [], []

    def measure(self, name, channel, decimals=0, from_s=None, to_s=None, how='mean'):
        from_s, to_s = self.from_s if from_s is None else from_s, self.to_s if to_s is None else to_s
        rows = self.run.rows.window(channel, from_s, to_s)
        number = {'mean': rundata.mean, 'min': min, 'max': max, 'at': lambda r: r[0]}[how](rows)
        self.values.append({'name': name, 'printed': '%.*f' % (decimals, number), 'value': number, 'unit': figures.unit_of(channel), 'is': how,
                            'channel': channel, 'from_s': from_s, 'to_s': to_s})
        return self

    def derive(self, name, how, one, two, decimals=0):
        a, b = (next(value for value in self.values if value['name'] == other) for other in (one, two))
        number = {'difference': lambda: a['value'] - b['value'], 'percent_change': lambda: 100.0 * (b['value'] / a['value'] - 1.0)}[how]()
        unit = '%' if how == 'percent_change' else a['unit']
        self.values.append({'name': name, 'printed': '%.*f' % (decimals, number), 'value': number, 'unit': unit, 'is': how, 'of': [one, two]})
        return self

    def constant(self, name, printed, unit, source):
        self.values.append({'name': name, 'printed': printed, 'value': float(printed), 'unit': unit, 'is': 'constant', 'source': source})
        return self

    def hold(self, **predicate):
        self.holds.append(predicate)
        return self

    def say(self, template, part='more'):
        used = re.findall(r'\{(\w+)\}', template)
        printed = {value['name']: value['printed'] for value in self.values}
        for value in self.values:
            if value['name'] not in used:
                value['printed'] = None
        ordered = [next(value for value in self.values if value['name'] == name) for name in used]
        ordered += [value for value in self.values if value['name'] not in used]
        channels = sorted({part['channel'] for part in self.values + self.holds if part.get('channel')})
        return {'kind': 'stall', 'part': part, 'text': re.sub(r'\{(\w+)\}', lambda match: printed[match.group(1)], template),
                'from_s': self.from_s, 'to_s': self.to_s, 'channels': channels, 'values': ordered, 'holds': self.holds}


def steady(from_s, to_s):
    return {'is': 'steady', 'channel': 'speed_rpm', 'from_s': from_s, 'to_s': to_s}


# ---- the sentences: each takes a run and returns a claim ----


def air_slower(run):
    return Telling(run, 440.0, 460.0).say('And the air comes slower through a filmed gap, for the step of the actuator buys less area there.')


def compressor_lowers(run):
    """The compressor raises a filmed idle: the numbers say so themselves."""
    told = Telling(run, 435.0, 456.0).measure('before', 'speed_rpm', 0, 435.0, 444.0).measure('with', 'speed_rpm', 0, 451.0, 456.0)
    return told.hold(**{'is': 'below', 'of': ['before', 'with']}).say('The compressor lowers the filmed idle from {before} to {with} rpm.')


def compressor_raises(run):
    told = Telling(run, 435.0, 456.0).measure('before', 'speed_rpm', 0, 435.0, 444.0).measure('with', 'speed_rpm', 0, 451.0, 456.0)
    return told.hold(**{'is': 'below', 'of': ['before', 'with']}).say('The compressor raises the filmed idle from {before} to {with} rpm.')


def held_window(run):
    """The last ten seconds of the pedal's first hold."""
    step = next(step for step in run.scenario.steps if step.sets.get('hold_rpm', 0.0) > 0.0)
    end = next(other.at_s for other in run.scenario.steps if other.at_s > step.at_s and other.sets.get('hold_rpm') == 0.0)
    return max(step.at_s, end - 10.0), end - 1.0


def edge_left(run):
    told = Telling(run, *held_window(run)).measure('blade', 'blade_deg', 2)
    return told.say('Held there the blade stands at {blade} degrees: the gap is wide and its edge has left the band.')


def settled_while_learning(from_s, to_s):
    def tell(run):
        told = Telling(run, from_s, to_s).measure('speed', 'speed_rpm').measure('target', 'target_rpm').derive('short', 'difference', 'target', 'speed')
        told.hold(**steady(from_s, to_s)).hold(**{'is': 'below', 'of': ['speed', 'target'], 'by': 5}).hold(**{'is': 'alone', 'except': 'film_um'})
        return told.say('So the idle settled at {speed} rpm, {short} below target.')
    return tell


def idle_stood(from_s, to_s):
    def tell(run):
        told = Telling(run, from_s, to_s).measure('speed', 'speed_rpm').measure('target', 'target_rpm').derive('short', 'difference', 'target', 'speed')
        return told.hold(**{'is': 'below', 'of': ['speed', 'target'], 'by': 5}).say('The idle stood at {speed} rpm, {short} below target.')
    return tell


def quiet_for_the_pedal(run):
    """film-droop after the clean: start too recent, and nobody touched the pedal."""
    told = Telling(run, 538.0, 560.0).constant('limit', '200', 'rpm', 'rule: P0507')
    return told.hold(**{'is': 'no_event', 'event': 'P0507'}).say('P0507 is not set: while its limit of {limit} rpm was passed, the pedal was pressed.')


def quiet_for_the_start(run):
    told = Telling(run, 538.0, 560.0).constant('limit', '200', 'rpm', 'rule: P0507')
    return told.hold(**{'is': 'no_event', 'event': 'P0507'}).say(
        'P0507 is not set: while its limit of {limit} rpm was passed, start or change of load too recent.')


def film_alone(run):
    """A leak fed the idle as well: two causes are told as two."""
    told = Telling(run, 60.0, 80.0).measure('film', 'film_um').measure('speed', 'speed_rpm')
    return told.hold(**{'is': 'alone', 'except': 'film_um'}).say(
        'With a film of {film} um the idle stands at {speed} rpm, because the film takes the air.')


def film_alone_unguarded(run):
    told = Telling(run, 60.0, 80.0).measure('film', 'film_um').measure('speed', 'speed_rpm')
    return told.hold(**{'is': 'event', 'event': 'note'}).say('With a film of {film} um the idle stands at {speed} rpm, because the film takes the air.')


def film_and_leak(run):
    told = Telling(run, 60.0, 80.0).measure('film', 'film_um').measure('speed', 'speed_rpm')
    return told.hold(**{'is': 'alone', 'except': 'film_um leak_mm2'}).say(
        'With a film of {film} um and a leak the idle stands at {speed} rpm, because the leak feeds what the film takes.')


def sound_with_film(run):
    return Telling(run, 60.0, 80.0).measure('film', 'film_um').measure('speed', 'speed_rpm').say(
        'As a sound engine it has {film} um and {speed} rpm.')


def raced_before_clean(run):
    """The race is dated before the clean that makes it."""
    told = Telling(run, 500.0, 520.0).measure('speed', 'speed_rpm').measure('film', 'film_um')
    return told.hold(**{'is': 'nonzero', 'channel': 'speed_rpm'}).say('It raced at {speed} rpm with {film} um on the bore.')


def raced_after_clean(run):
    told = Telling(run, 550.0, 560.0).measure('speed', 'speed_rpm').measure('target', 'target_rpm')
    return told.hold(**{'is': 'above', 'of': ['speed', 'target'], 'by': 20}).say('After the bore was cleaned it raced at {speed} rpm.')


def nothing_on(run):
    return Telling(run, 100.0, 115.0).measure('speed', 'speed_rpm').say('With nothing switched on the idle stands at {speed} rpm.')


def nothing_on_early(run):
    return Telling(run, 60.0, 80.0).measure('speed', 'speed_rpm').say('With nothing switched on the idle stands at {speed} rpm.')


def area_alone(run):
    return Telling(run, 0.0, 20.0).say('Air follows the gap\'s area and nothing else.')


def blade_must_open(run):
    return Telling(run, 380.0, 400.0).constant('more', '1.52', 'deg', 'rule: geometry').say('The blade must open {more} degrees more.')


def drive_on_cable(run):
    return Telling(run, 380.0, 400.0).say('The throttle drive holds the blade where it is.')


def ran_at_zero(run):
    """Robustness 3: "ran at 0 rpm 8 s later"."""
    told = Telling(run, 475.9, 479.0).measure('speed', 'speed_rpm')
    return told.say('It fired and ran at {speed} rpm.')


def stalls(run):
    """Robustness 4: it is said to stall and races."""
    told = Telling(run, 550.0, 560.0).measure('speed', 'speed_rpm')
    return told.say('It stalled at {speed} rpm.')


def not_a_number(run):
    told = Telling(run, 20.0, 30.0).measure('speed', 'speed_rpm')
    claim = told.say('The idle stands at {speed} rpm.')
    claim['values'][0].update(value=float('nan'), printed='nan')
    return dict(claim, text='The idle stands at nan rpm.')


def caught_up_at_limit(run):
    """"Then learned_pct caught up": the offset stood at its limit all the time."""
    told = Telling(run, 340.0, 440.0).measure('before', 'learned_pct', 0, 340.0, 350.0).measure('after', 'learned_pct', 0, 430.0, 440.0)
    return told.hold(**{'is': 'below', 'of': ['before', 'after']}).say('Then the learned offset rose from {before} to {after} %.')


# scenario, sentence, what the reader has to complain of; None: nothing
ROWS = (
    ('film-droop', air_slower, 'needs a predicate'),
    ('film-droop', compressor_lowers, 'goes the other way'),
    ('film-droop', compressor_raises, None),
    ('no-load-2500', edge_left, 'the band reaches'),
    ('film-air-flow', settled_while_learning(60.0, 80.0), 'learned_pct still goes|not steady'),
    ('film-pressure', settled_while_learning(60.0, 80.0), 'learned_pct still goes|not steady'),
    ('film-air-flow', idle_stood(60.0, 80.0), None),
    ('film-droop', quiet_for_the_pedal, 'pedal was never pressed'),
    ('film-droop', quiet_for_the_start, None),
    ('film-and-leak', film_alone, 'leak_mm2'),
    ('film-and-leak', film_alone_unguarded, 'leaves out leak_mm2'),
    ('film-and-leak', film_and_leak, None),
    ('film-and-leak', sound_with_film, 'odd word'),
    ('film-droop', raced_before_clean, 'raced'),
    ('film-droop', raced_after_clean, None),
    ('film-and-leak', nothing_on, '1000 W'),
    ('film-and-leak', nothing_on_early, None),
    ('film-bypass', area_alone, 'passes a valve'),
    ('film-bypass', blade_must_open, 'has none'),
    ('film-bypass', drive_on_cable, 'has none'),
    ('film-droop', ran_at_zero, 'there is no start'),
    ('film-droop', stalls, 'there is no stall'),
    ('film-droop', not_a_number, 'nan'),
    ('film-droop', caught_up_at_limit, 'is not below'),
)


def hides_twice(run):
    """Three films in one summary at which hiding ends."""
    one = Telling(run, 300.0, 310.0).measure('film', 'film_um').say('The computer hid it up to {film} um.')
    two = Telling(run, 330.0, 340.0).measure('film', 'film_um').say('At its limit: from {film} um film is speed.')
    return wholes.check_hidden(told_only(run, [one, two]))


def repair_mute(run):
    """A leak mended, and not one word of it."""
    one = Telling(run, 40.0, 60.0).measure('leak', 'leak_mm2').say('A leak of {leak} mm2 feeds the idle.')
    return wholes.check_told(told_only(run, [one]))


def second_cause_mute(run):
    one = Telling(run, 60.0, 80.0).measure('film', 'film_um').say('A film of {film} um is on the bore.')
    return wholes.check_told(told_only(run, [one]))


def told_only(run, told):
    return alter.altered(run, columns=None, summary='') if told is None else with_claims(run, told)


def with_claims(run, told):
    other = alter.altered(run)
    other.claims = told
    return other


WHOLE_ROWS = (
    ('film-droop', hides_twice, 'one criterion'),
    ('mended', repair_mute, 'is repaired at 70 s'),
    ('film-and-leak', second_cause_mute, 'leak_mm2 stands'),
)


def runs_of(program, folder):
    """The runs that the rows speak of, by name, each made once."""
    made, names = {}, sorted({row[0] for row in ROWS + WHOLE_ROWS})
    own = {'film-and-leak': FILM_AND_LEAK, 'mended': MENDED}
    for name in names:
        path = os.path.join(check.TOP, 'scenarios', name + '.cfg')
        if name in own:
            path = os.path.join(folder, name + '.cfg')
            with open(path, 'w', encoding='utf-8') as file:
                file.write(own[name] % check.TOP)
        run, refusal = check.simulate(program, path, os.path.join(folder, name), 'fast')
        if refusal:
            sys.exit('%s: %s' % (name, refusal))
        made[name] = run
    return made


def main():
    program = rundata.Program(sys.argv[1])
    wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        runs = runs_of(program, folder)
    for name, sentence, wanted in ROWS + WHOLE_ROWS:
        if (name, sentence, wanted) in WHOLE_ROWS:
            complaints, text = sentence(runs[name]), sentence.__doc__ or ''
        else:
            claim = sentence(runs[name])
            complaints, text = wholes.check_claim(runs[name], claim), claim['text']
        if (wanted is None and complaints) or (wanted and not any(re.search(wanted, complaint) for complaint in complaints)):
            wrong += 1
            print('%s: "%s": %s\n    the reader says: %s' % (name, text, 'is true' if wanted is None else 'is false: ' + wanted,
                                                           '; '.join(complaints) or 'nothing'))
    false = sum(1 for row in ROWS + WHOLE_ROWS if row[2])
    print('%d false sentences and %d true ones, %d told wrongly' % (false, len(ROWS) - false + len(WHOLE_ROWS), wrong))
    return 1 if wrong else 0


if __name__ == '__main__':
    sys.exit(main())
