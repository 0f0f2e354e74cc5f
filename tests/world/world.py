#!/usr/bin/env python3
"""What the world may do to a program: no memory at the n-th allocation, a signal at any moment, a disk that fills, odd names, another locale, no
home. Whatever happens: no crash, one of the documented exit codes with a message, the right result if the code is 0, and never half a file under a
final name.

    world.py PROGRAM FAIL_ALLOCATION.so INTERRUPT.so           a sample
    world.py PROGRAM FAIL_ALLOCATION.so INTERRUPT.so all       every allocation of every command, 60 signals each
"""
import filecmp
import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import tempfile

import neighbours

TOP = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
MODEL = os.path.join(TOP, 'models', 'four-16.cfg')
CODES = {64, 65, 66, 69, 70, 71, 73, 74, 75, 76, 77, 78}
SCENARIO = 'title = "short";\nengine = "four-16";\nduration_s = 5.0;\ntimeline = ( { at_s = 1; film_um = 20; } );\n'


class World:
    def __init__(self, program, library, whole):
        self.program, self.library, self.whole = os.path.abspath(program), os.path.abspath(library), whole
        self.work = tempfile.mkdtemp(prefix='world-')
        self.scenario = os.path.join(self.work, 'short.cfg')
        with open(self.scenario, 'w', encoding='utf-8') as file:
            file.write(SCENARIO)
        self.good = self.bad = 0
        self.chance = random.Random(17)
        self.commands = {
            'list': ['list', 'solvers', '--json'],
            'check': ['check', self.scenario],
            'settle': ['settle', 'four-16', '--set', 'film_um=40'],
            'run': ['run', self.scenario, '--format', 'none', '--out', 'OUT'],
            'run-json': ['run', self.scenario, '--format', 'none', '--json', '--record', '--as-log', 'OUT/log.csv', '--out', 'OUT', '--solver', 'fast'],
            'sweep': ['sweep', 'four-16', '--vary', 'film_um=0:30:10', '--format', 'none', '--threads', '1', '--out', 'OUT'],
            'testsheet': ['testsheet', 'four-16'],
            'estimate': ['estimate', 'four-16', '--readings', os.path.join(TOP, 'scenarios', 'readings', 'film-full.csv'), '--threads', '1',
                         '--json'],
        }

    def say(self, name, problem):
        self.good += not problem
        self.bad += bool(problem)
        if problem:
            print('FAILED: %s: %s' % (name, problem), flush=True)

    def start(self, command, out, **more):
        words = [word.replace('OUT', out) for word in command]
        return subprocess.Popen([self.program] + words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, stdin=subprocess.DEVNULL, cwd=self.work, **more)

    def run(self, command, out, limit_s=120, **more):
        process = self.start(command, out, **more)
        try:
            text, words = process.communicate(timeout=limit_s)
        except subprocess.TimeoutExpired:
            process.kill()
            process.communicate()
            return 999, b'', b'hangs'
        return process.returncode, text, words

    def fresh(self, name):
        path = os.path.join(self.work, name)
        shutil.rmtree(path, ignore_errors=True)
        return path

    def parts(self, out):
        """What a command has begun and neither finished nor taken away."""
        return ''.join('left %s behind' % name for _, _, names in os.walk(out) for name in names if '.part-' in name)

    def half(self, out, whole):
        """A file under a final name that is not the one of an undisturbed run."""
        for folder, _, names in os.walk(out):
            for name in names:
                path = os.path.join(folder, name)
                twin = os.path.join(whole, os.path.relpath(path, out))
                if name.endswith('.partial'):
                    continue
                if '.part-' in name:
                    return 'left %s behind' % name
                if name == 'summary.txt' or name == 'record.txt':  # the summary names its folder
                    with open(path, encoding='utf-8') as one, open(twin, encoding='utf-8') as two:
                        # an engine that is found by its path, where memory for its name is short, is the same engine
                        if one.read().replace(out, whole).replace(MODEL, 'four-16') != two.read():
                            return 'half a %s' % name
                elif not os.path.exists(twin) or not filecmp.cmp(path, twin, shallow=False):
                    return 'half a %s' % name
        return ''

    def memory(self, name, command):
        """No memory at the n-th allocation."""
        whole, out = self.fresh('whole'), self.fresh('out')
        count_file = os.path.join(self.work, 'count')
        code, right, _ = self.run(command, whole, env=dict(os.environ, LD_PRELOAD=self.library, COUNT_ALLOCATIONS=count_file))
        with open(count_file, encoding='utf-8') as file:
            count = int(file.read())
        if code != 0 or count == 0:
            self.say('%s, undisturbed' % name, 'exit %d, %d allocations' % (code, count))
            return
        numbers = list(range(1, count + 1))
        if not self.whole and count > 100:
            numbers = sorted(set(numbers[:2] + [int(count ** self.chance.random()) for _ in range(4)]))
        elif count > 400:
            numbers = sorted(set(numbers[:150] + self.chance.sample(numbers, 250)))
        for number in numbers:
            out = self.fresh('out')
            later = number % 2 == 0
            code, text, words = self.run(command, out, env=dict(os.environ, LD_PRELOAD=self.library, FAIL_ALLOCATION='%d%s' % (number, '+' * later)))
            problem = ''
            if code == 0:
                if text.replace(out.encode(), whole.encode()) != right:
                    problem = 'exit 0 with another result'
            elif code not in CODES:
                problem = 'exit %d: %s' % (code, words[:200].decode(errors='replace'))
            elif not words.startswith(b'bladegap: '):
                problem = 'exit %d without a message: %r' % (code, words[:200])
            self.say('%s, no memory at allocation %d of %d%s' % (name, number, count, ' and later' * later), problem or self.half(out, whole))

    def signals(self, name, command, count):
        """A signal at a random moment of the run; the next undisturbed run must succeed."""
        whole = self.fresh('whole')
        began = os.times().elapsed
        self.run(command, whole)
        lasts_s = os.times().elapsed - began
        for number in range(count):
            out = self.fresh('out')
            kind = self.chance.choice((signal.SIGTERM, signal.SIGINT, signal.SIGHUP, signal.SIGPIPE, signal.SIGKILL, signal.SIGSTOP))
            process = self.start(command, out)
            try:
                process.wait(self.chance.uniform(0.0, 1.1 * lasts_s))
            except subprocess.TimeoutExpired:
                process.send_signal(kind)
            if kind == signal.SIGSTOP:
                process.send_signal(signal.SIGCONT)
            _, words = process.communicate(timeout=120)
            code = process.returncode
            begun = os.path.exists(out)  # before that, a signal that is passed over later still ends it
            allowed = {0} if kind == signal.SIGSTOP or kind == signal.SIGPIPE and begun else {0, -kind}
            problem = '' if code in allowed else 'exit %d: %r' % (code, words[:200])
            if kind == signal.SIGKILL:  # nobody can clear up after that, but what has its name is whole
                for folder, _, names in os.walk(out):
                    for part in names:
                        if '.part-' in part:
                            os.unlink(os.path.join(folder, part))
            problem = problem or (os.path.isdir(out) and self.half(out, whole))
            if not problem and self.run(command, out)[0] != 0:
                problem = 'the next run fails'
            self.say('%s, %s, try %d' % (name, kind.name, number), problem)

    def disk(self, name, command, sizes):
        """Files may not grow beyond so many bytes."""
        whole = self.fresh('whole')
        self.run(command, whole)
        for size in sizes:
            out = self.fresh('out')
            code, _, words = self.run(command, out, preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (size, size)))
            problem = '' if code in (0, 74) else 'exit %d: %r' % (code, words[:200])
            self.say('%s, files of %d bytes at most' % (name, size), problem or (os.path.isdir(out) and self.half(out, whole)))

    def surroundings(self):
        whole = self.fresh('whole')
        code, right, _ = self.run(self.commands['run'], whole)
        for name, change in (('de_DE', {'LC_ALL': 'de_DE.UTF-8', 'LANG': 'de_DE.UTF-8'}), ('tr_TR', {'LC_ALL': 'tr_TR.UTF-8'}), ('C', {'LC_ALL': 'C'}),
                             ('no home', {'HOME': None}), ('a home that is not there', {'HOME': '/nonexistent'}), ('nothing at all', None),
                             ('no TMPDIR', {'TMPDIR': '/nonexistent'}), ('TZ', {'TZ': ':/nonsense'})):
            env = {} if change is None else {key: value for key, value in {**os.environ, **change}.items() if value is not None}
            out = self.fresh('out')
            now, text, words = self.run(self.commands['run'], out, env=env)
            same = now == code == 0 and text.replace(out.encode(), whole.encode()) == right
            self.say('surroundings: ' + name, ('' if same else 'exit %d, another result: %r' % (now, words[:200])) or self.half(out, whole))

    def names(self):
        """Scenarios and folders by any name that a file system takes."""
        for name in ('with space', "with 'quote'", 'with "both"', 'ümläut', '-dash', '--json', 'a;b|c&d', '$(touch x)', '`touch x`', 'new\nline', 'tab\there',
                     '%s%n', 'back\\slash', '*?[]', '#hash', '\u202eleft', 'x' * 195, b'\xff\xfe'.decode('utf-8', 'surrogateescape'), '{brace}', '@set'):
            path = os.path.join(self.work, name + '.cfg')
            with open(path, 'w', encoding='utf-8') as file:
                file.write(SCENARIO)
            out = os.path.join(self.work, 'out ' + name)
            code, _, words = self.run(['run', path, '--format', 'svg' if shutil.which('gnuplot') else 'none', '--quiet', '--out', out], '')
            problem = '' if code == 0 else 'exit %d: %r' % (code, words[:200])
            if not problem and not os.path.exists(os.path.join(out, 'run.csv')):
                problem = 'no run.csv in its folder'
            if os.path.exists(os.path.join(self.work, 'x')):
                problem = 'a shell has seen it'
            self.say('name %r' % name, problem)
        path = os.path.join(self.work, 'x' * 251 + '.cfg')  # the system takes it, we say how long it may be
        with open(path, 'w', encoding='utf-8') as file:
            file.write(SCENARIO)
        code, _, words = self.run(['run', path, '--format', 'none', '--quiet', '--out', os.path.join(self.work, 'long')], '')
        self.say('the longest name', '' if code == 78 and b'bytes long; allowed' in words else 'exit %d: %r' % (code, words[:200]))


def main():
    world = World(sys.argv[1], sys.argv[2], sys.argv[4:] == ['all'])
    interrupt = os.path.abspath(sys.argv[3])
    os.chdir(world.work)
    try:
        names = list(world.commands) if world.whole else ['list', 'settle', 'run-json', 'sweep']
        for name in names:
            world.memory(name, world.commands[name])
        for name in ('run', 'run-json', 'sweep') if world.whole else ('run-json',):
            world.signals(name, world.commands[name], 60 if world.whole else 6)
        for name in ('run', 'run-json', 'sweep') if world.whole else ('run-json',):
            world.disk(name, world.commands[name], [0, 1, 100, 1000, 4096, 5000, 10000, 20000, 50000] if world.whole else [0, 5000])
        world.surroundings()
        neighbours.all_of(world, interrupt)
        if world.whole:
            world.names()
    finally:
        shutil.rmtree(world.work)
    print('%d passed, %d failed' % (world.good, world.bad))
    return 1 if world.bad or not world.good else 0


if __name__ == '__main__':
    sys.exit(main())
