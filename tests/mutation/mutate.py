#!/usr/bin/env python3
"""Do the tests notice a wrong equation? One operator or constant of physics, plant or control is altered at a time, and the tests that ctest
runs by default are run against it until one fails. A mutant that no test notices is a survivor: either it is equivalent (it computes the
same: say so in equivalent.txt), or a test is missing.

    mutate.py --count 600 --table FILE     a seeded sample; goes on where the table ends
    mutate.py --table FILE --again --deep  the survivors of a table once more, after a test was added, before slower tests, too; then on to --count
    mutate.py --only src/physics/slot.c    mutants of one file alone
    mutate.py --list                       what would be altered

Nothing in the tree is altered but build/mutation. The files that may be altered are put into one shared object, and each test is linked against it once; a
mutant is one file compiled and that object linked anew. It takes what a build in build/ has made, which must be up to date:

    cmake --build build --target test_support validation_rows bladegap_commands bladegap_cvode

What a test does by itself is little, so it is not optimised. Tests go in the order in which they have killed most per second so far. Those left out, as they are slow and look at what others look
at, too, are in SLOW: a survivor may be killed by one of them.
"""
import argparse
import glob
import json
import os
import random
import re
import resource
import signal
import subprocess
import sys
import time

TOP = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
LAYERS = ('physics', 'plant', 'control')
# As the build does, less optimised; the arithmetic is the same.
FLAGS = ['-std=c11', '-D_GNU_SOURCE', '-O1', '-w', '-ffp-contract=off', '-fno-math-errno', '-fno-trapping-math', '-fno-lto', '-Isrc', '-Itests', '-Idocs']
SWAPS = ((r' \+ ', ' - '), (r' - ', ' + '), (r' \* ', ' / '), (r' / ', ' * '), (r' < ', ' <= '), (r' <= ', ' < '), (r' > ', ' >= '), (r' >= ', ' > '),
         (r' && ', ' || '), (r' \|\| ', ' && '), (r' == ', ' != '), (r' != ', ' == '), (r'\bfmin\(', 'fmax('), (r'\bfmax\(', 'fmin('),
         (r'\bbounds_larger\(', 'bounds_smaller('), (r'\bbounds_smaller\(', 'bounds_larger('), (r'\bsin\(', 'cos('), (r'\bcos\(', 'sin('),
         (r' < ', ' > '), (r' > ', ' < '), (r'(?<=[=(,] )!(?=\w)', ''), (r'\+= ', '-= '), (r'-= ', '+= '))
NUMBER = re.compile(r'(?<![\w.])(\d+\.\d+(?:e-?\d+)?)(?![\w.])')
CODE = re.compile(r'^\s*(//|/?\*|#include|#ifndef|#endif|static_assert|assert\()')
LIBRARIES = '-lconfig -ljansson -lcmark -ledit -lminizip -lz -lsundials_cvode -lsundials_nvecserial -lsundials_sunmatrixdense -lsundials_sunlinsoldense ' \
            '-lsundials_sunnonlinsolfixedpoint -lsundials_sunnonlinsolnewton -lcmocka -lpthread -lm'.split()
ARCHIVES = ('tests/libtest_support.a', 'tests/libvalidation_rows.a', 'libbladegap_commands.a', 'libbladegap_io.a', 'libbladegap_cvode.a', 'src/fmu/libbladegap_unit_parts.a')
OBJECTS = 'build/CMakeFiles/bladegap_core.dir/src/'
# Of tests/reference: they know nothing of the three layers, or take seconds to ask what a quicker one asks.
SLOW = ('estimate', 'fit', 'calibration', 'single_reading', 'survive', 'film_area', 'opening_made', 'probability', 'symptom', 'practice', 'decoder', 'settle_table',
        'curve', 'record', 'kinsol', 'forward_run', 'fast', 'settle')
# Seconds each: only with --deep.
ONE_FILE = {'unit/test_bore_table': 'src/physics/bore', 'unit/test_misfire': 'src/control/misfire'} # slow, and about this file only
NONE = ('same', 'no code') # is no mutant
DEEP = ('faults', 'story', 'fault_codes', 'engines', 'electrical_loads', 'tolerance', 'driving_cycles', 'opening_real')


def code_of(line):
    """The line with what stands in quotes and in comments blanked, of the same length."""
    line = re.sub(r'"(?:[^"\\]|\\.)*"', lambda match: '"' + ' ' * (len(match.group(0)) - 2) + '"', line)
    return line.split('//')[0]


def mutants_of(path):
    """[(path, line number, new line)] of one file, comments and asserts left out."""
    found = []
    with open(path, encoding='utf-8') as file:
        lines = file.read().split('\n')
    comment = False
    for number, line in enumerate(lines):
        inside, comment = comment, (comment or '/*' in line) and '*/' not in line
        code = code_of(line)
        if inside or '/*' in line or CODE.match(line) or 'assert(' in code:
            continue
        for pattern, other in SWAPS:
            for match in re.finditer(pattern, code):
                found.append((path, number, line[:match.start()] + other + line[match.end():]))
        for match in NUMBER.finditer(code):
            value = float(match.group(1))
            found.append((path, number, line[:match.start()] + repr(1.1 * value if value else 1.0) + line[match.end():]))
    return found, lines


def run(words, **options):
    return subprocess.run(words, capture_output=True, check=False, **options)


class Bench:
    """Programs and objects in a folder that is kept, so that only what has changed is built; mine: what one worker links."""

    def __init__(self, work, tests):
        os.makedirs(work, exist_ok=True)
        self.work = self.mine = os.path.abspath(work)
        self.files = sorted(path for layer in LAYERS for path in glob.glob('src/%s/*.c' % layer))
        self.object_of = {}
        for source in self.files:
            self.object_of[source] = self.path_of(source)
            self.compile(source, self.object_of[source], ['-fPIC'])
        self.base = sorted(glob.glob(OBJECTS + 'base/*.o'))
        self.rest = os.path.join(work, 'librest.a')
        rest = [path for path in glob.glob(OBJECTS + '**/*.o', recursive=True) if path[len(OBJECTS):].split('/', maxsplit=1)[0] not in LAYERS]
        if os.path.exists(self.rest):
            os.remove(self.rest)
        self.must(['ar', 'rcsTP', self.rest, *[os.path.abspath(path) for path in sorted(rest)]])
        self.link({})
        self.environment = dict(os.environ, LD_LIBRARY_PATH=work)
        self.programs, self.lasts_s, self.kills, self.kills_in = {}, {}, {}, {}
        times = os.path.join(self.work, 'times.json')
        if os.path.exists(times):
            with open(times, encoding='utf-8') as file:
                self.lasts_s = json.load(file)
        for name, source in tests:
            self.add(name, source)
        with open(times, 'w', encoding='utf-8') as file:
            json.dump(self.lasts_s, file)

    def be_worker(self, number):
        self.mine = os.path.join(self.work, 'worker-%d' % number)
        os.makedirs(self.mine, exist_ok=True)
        self.environment = dict(os.environ, LD_LIBRARY_PATH=self.mine)

    def path_of(self, source):
        return os.path.join(self.work, source.replace('/', '__') + '.o')

    @staticmethod
    def must(words):
        done = run(words)
        if done.returncode:
            sys.exit(' '.join(words[:6]) + ' ...\n' + done.stderr.decode()[:3000])

    def compile(self, source, target, more=()):
        self.must(['gcc', *FLAGS, *more, '-c', source, '-o', target])

    def link(self, other):
        """The shared object, with other objects in the place of some."""
        return run(['gcc', '-shared', '-fno-lto', '-o', self.mine + '/libaltered.so', *[other.get(path, made) for path, made in self.object_of.items()], *self.base, '-lm']).returncode == 0

    def add(self, name, sources):
        program = os.path.join(self.work, name.replace('/', '-'))
        self.programs[name] = [program] + (['--check', 'docs/validation.md'] if name == 'docs/validation' else [])
        self.kills[name] = 0.0
        needed = sources + ['build/' + path for path in ARCHIVES if 'commands' not in path]
        if name in self.lasts_s and os.path.exists(program) and os.path.getmtime(program) > max(map(os.path.getmtime, needed)):
            return
        objects = []
        for source in sources:
            if source.endswith('test_twin.c'): # the second implementation does not change: it is asked once
                with open(source, encoding='utf-8') as file:
                    text = file.read()
                asked = '/usr/bin/python3 tests/reference/twin.py " ENGINE'
                if asked not in text:
                    sys.exit('test_twin.c calls twin.py in another way now')
                with open(self.work + '/twin.txt', 'wb') as file:
                    file.write(run(['/usr/bin/python3', 'tests/reference/twin.py', 'models/four-16.cfg']).stdout)
                source = self.work + '/test_twin.c'
                with open(source, 'w', encoding='utf-8') as file:
                    file.write(text.replace(asked, 'cat %s/twin.txt"' % self.work))
            objects.append(self.path_of(source.lstrip('/')))
            self.compile(source, objects[-1], ['-O0'])
        self.must(['gcc', '-fno-lto', '-o', program, *objects, '-Wl,--start-group', *['build/' + path for path in ARCHIVES], self.rest, '-Wl,--end-group', '-L' + self.work,
                   '-laltered', *LIBRARIES])
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        if not self.passes(name, 300):
            print('left out, as it does not pass by itself: ' + name, flush=True)
            del self.programs[name]
            os.remove(program)
            return
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        self.lasts_s[name] = 0.01 + after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime

    def passes(self, name, limit_s=None):
        """The limit is on the processor's time, so that a busy machine kills no mutant."""
        limit_s = limit_s or int(5 + 4 * self.lasts_s[name])

        def limited():
            resource.setrlimit(resource.RLIMIT_CPU, (limit_s, limit_s))
            resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        return run(self.programs[name], env=self.environment, preexec_fn=limited, stdin=subprocess.DEVNULL).returncode == 0

    def killer(self, path, lines, number, line):
        """Name of the test that notices; 'survives'; 'same' if it compiles to the same code, 'no code' if it does not compile."""
        source, made = os.path.join(self.mine, 'mutant.c'), os.path.join(self.mine, 'mutant.o')
        with open(source, 'w', encoding='utf-8') as file:
            file.write('\n'.join(lines[:number] + [line] + lines[number + 1:]))
        if run(['gcc', *FLAGS, '-fPIC', '-c', source, '-o', made]).returncode:
            return 'no code'
        if self.text_of(made) == self.text_of(self.object_of[path]):
            return 'same'
        if not self.link({path: made}):
            return 'no code'
        stem = os.path.basename(path)[:-2]
        worth = {name: (0.2 + self.kills[name] + 10 * self.kills_in.get((path, name), 0) + 3 * (stem in name)) / self.lasts_s[name] for name in self.programs}
        for name in sorted(self.programs, key=worth.get, reverse=True):
            if not path.startswith(ONE_FILE.get(name, '')):
                continue
            if not self.passes(name):
                self.kills[name] += 1
                self.kills_in[(path, name)] = self.kills_in.get((path, name), 0) + 1
                return name
        return 'survives'

    @staticmethod
    def text_of(path):
        dump = run(['objdump', '-s', '-r', '-j', '.text', '-j', '.rodata', '-j', '.rodata.cst8', '-j', '.rodata.cst16', '-j', '.data.rel.ro.local', '-j', '.data.rel.ro', path])
        return dump.stdout.split(b'\n', 3)[-1]


def tests_of(more, deep):
    """[(name as ctest's, sources)]"""
    found = [('unit/' + os.path.basename(path)[:-2], [path]) for layer in LAYERS for path in sorted(glob.glob('tests/unit/%s/test_*.c' % layer))]
    for path in sorted(glob.glob('tests/reference/test_*.c')):
        name = os.path.basename(path)[5:-2]
        if not any(word in name for word in SLOW) and (deep or name not in DEEP):
            found.append(('reference/test_' + name, [path]))
    found.append(('docs/validation', ['docs/make/validation.c', 'docs/make/validation_words.c']))
    return found + [('also/' + os.path.basename(path)[:-2], [path]) for path in more]


def read_table(path):
    """{(file, line's text before, after): killer}, in order."""
    rows = {}
    if path and os.path.exists(path):
        with open(path, encoding='utf-8') as file:
            for row in file.read().split('\n'):
                if row and not row.startswith('#'):
                    source, _, was, altered, by = row.split('\t')
                    rows[(source, was, altered)] = by
    return rows


def write_row(table, path, number, was, altered, by):
    if table:
        with open(table, 'a', encoding='utf-8') as file:
            file.write('\t'.join((path, str(number + 1), was.strip(), altered.strip(), by)) + '\n')


def equivalents():
    with open('tests/mutation/equivalent.txt', encoding='utf-8') as file:
        return {tuple(row.split('\t')[:2]) for row in file.read().split('\n') if row and not row.startswith('#')}


def sample(options):
    files = options.only or sorted(path for layer in LAYERS for path in glob.glob('src/%s/*.c' % layer))
    all_mutants, lines_of = [], {}
    for path in files:
        found, lines_of[path] = mutants_of(path)
        all_mutants += found
    random.Random(options.seed).shuffle(all_mutants)
    return all_mutants, lines_of


def work(bench, options, number, mutants, lines_of, done):
    """What one of several workers does: every so-many-th mutant."""
    mine = [(path, at, line, (path, lines_of[path][at].strip(), line.strip())) for path, at, line in mutants[number::options.jobs]]
    tried = sum(key in done and done[key] not in NONE for _, _, _, key in mine)
    todo = [mutant for mutant in mine if mutant[3] not in done]
    if options.again: # at the end, as they last
        todo += [mutant for mutant in mine if done.get(mutant[3]) == 'survives']
    for path, at, line, key in todo:
        if key not in done and tried >= options.count / options.jobs:
            continue
        by = bench.killer(path, lines_of[path], at, line)
        tried += key not in done and by not in NONE
        if by != done.get(key):
            write_row(options.table, path, at, key[1], key[2], by)
        done[key] = by
        if by == 'survives':
            print('survives %s:%d\n  was %s\n  is  %s' % (path, at + 1, key[1], key[2]), flush=True)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument('--count', type=int, default=60)
    parser.add_argument('--seed', type=int, default=1)
    parser.add_argument('--only', action='append')
    parser.add_argument('--also', action='append', default=[], help='the source of another test')
    parser.add_argument('--table', default='build/mutants.tsv', help='a row for each mutant: file, line, was, is, killer')
    parser.add_argument('--again', action='store_true')
    parser.add_argument('--deep', action='store_true', help='slower tests, too: for survivors')
    parser.add_argument('--jobs', type=int, default=1, help='workers, each with its share of the mutants')
    parser.add_argument('--list', action='store_true')
    options = parser.parse_args()
    os.chdir(TOP)
    all_mutants, lines_of = sample(options)
    if options.list:
        for path, number, line in all_mutants:
            print('%s:%d\n  was %s\n  is  %s' % (path, number + 1, lines_of[path][number].strip(), line.strip()))
        return 0
    equal, done = equivalents(), read_table(options.table)
    bench = Bench('build/mutation', tests_of(options.also, options.deep))
    print('%d mutants; %d tests, %.0f s of processor time' % (len(all_mutants), len(bench.programs), sum(map(bench.lasts_s.get, bench.programs))), flush=True)
    workers = []
    signal.signal(signal.SIGTERM, lambda *_: [os.kill(worker, signal.SIGKILL) for worker in workers] and os._exit(1))
    for number in range(options.jobs):
        workers.append(os.fork())
        if not workers[-1]:
            signal.signal(signal.SIGTERM, signal.SIG_DFL)
            bench.be_worker(number)
            work(bench, options, number, [mutant for mutant in all_mutants if (mutant[0], mutant[2].strip()) not in equal], lines_of, done)
            os._exit(0)
    for worker in workers:
        os.waitpid(worker, 0)
    done = read_table(options.table)
    print_summary(done, equal)
    return 0


def print_summary(done, equal):
    left = [by for key, by in done.items() if by not in NONE and (key[0], key[2]) not in equal]
    killed = sum(by != 'survives' for by in left)
    print('%d of %d killed, %.1f %%; %d more compile to the same code or not at all' % (
        killed, len(left), 100.0 * killed / max(len(left), 1), sum(by in NONE for by in done.values())))


if __name__ == '__main__':
    sys.exit(main())
