#!/usr/bin/env python3
"""Do the tests notice a wrong equation? One operator or constant of physics or control is altered at a time, and the unit tests of physics, plant
and control, those of tests/reference that include something of physics or control, and those named with --also, are run against it. A mutant that no test notices is a survivor: either it is equivalent (it computes
the same: say so in equivalent.txt), or a test is missing.

    mutate.py --count 60 --seed 1          a sample; prints survivors with file, line and what was altered
    mutate.py --only src/physics/slot.c    mutants of one file alone

Nothing in the tree is altered: the one file is compiled aside and linked before the libraries of a build in build/, which must be up to date
(cmake --build build --target test_support validation_rows).
"""
import argparse
import glob
import os
import random
import re
import subprocess
import sys
import tempfile
import time

TOP = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
FLAGS = ['-std=c11', '-D_GNU_SOURCE', '-O1', '-w', '-ffp-contract=off', '-fno-math-errno', '-fno-trapping-math', '-fno-lto', '-Isrc', '-Itests']
SWAPS = ((r' \+ ', ' - '), (r' - ', ' + '), (r' \* ', ' / '), (r' / ', ' * '), (r' < ', ' <= '), (r' <= ', ' < '), (r' > ', ' >= '), (r' >= ', ' > '),
         (r' && ', ' || '), (r' \|\| ', ' && '), (r' == ', ' != '), (r' != ', ' == '), (r'\bfmin\(', 'fmax('), (r'\bfmax\(', 'fmin('),
         (r'\bbounds_larger\(', 'bounds_smaller('), (r'\bbounds_smaller\(', 'bounds_larger('), (r'\bsin\(', 'cos('), (r'\bcos\(', 'sin('),
         (r' < ', ' > '), (r' > ', ' < '), (r'(?<=[=(,] )!(?=\w)', ''), (r'\+= ', '-= '), (r'-= ', '+= '))
LIBRARIES = ['-fno-lto', '-Wl,--start-group'] + ['build/' + name for name in ('tests/libtest_support.a', 'tests/libvalidation_rows.a', 'libbladegap_io.a',
             'libbladegap_cvode.a', 'libbladegap_core.a')] + ['-Wl,--end-group', '-lconfig', '-ljansson', '-lsundials_cvode', '-lsundials_nvecserial', '-lcmocka', '-lpthread', '-lm']
NUMBER = re.compile(r'(?<![\w.])(\d+\.\d+(?:e-?\d+)?)(?![\w.])')
CODE = re.compile(r'^\s*(//|/?\*|#include|#ifndef|#endif|static_assert|assert\()')


def mutants_of(path):
    """[(path, line number, new line)] of one file, comments and asserts left out."""
    found = []
    with open(path, encoding='utf-8') as file:
        lines = file.read().split('\n')
    comment = False
    for number, line in enumerate(lines):
        inside, comment = comment, (comment or '/*' in line) and '*/' not in line
        code = line.split('//')[0]
        if inside or '/*' in line or CODE.match(line) or 'assert(' in code:
            continue
        for pattern, other in SWAPS:
            for match in re.finditer(pattern, code):
                if '"' not in code:
                    found.append((path, number, line[:match.start()] + other + line[match.end():]))
        for match in NUMBER.finditer(code):
            value = float(match.group(1))
            if '"' not in code:
                found.append((path, number, line[:match.start()] + repr(1.1 * value if value else 1.0) + line[match.end():]))
    return found, lines


class Bench:
    def __init__(self, work, tests, files, jobs):
        self.work = work
        self.object_of = {source: os.path.join(work, source.replace('/', '__') + '.o') for source in files + tests}
        left = list(self.object_of.items())
        while left:
            batch, left = left[:jobs], left[jobs:]
            for process in [subprocess.Popen(['gcc', *FLAGS, '-c', source, '-o', target]) for source, target in batch]:
                process.wait()
        self.tests, self.lasts_s = [], {}
        for test in tests:
            began = time.monotonic()
            if self.passes(test, None):
                self.lasts_s[test] = time.monotonic() - began
                self.tests.append(test)
            else:
                print('left out, as it does not pass by itself: ' + test, flush=True)
        self.tests.sort(key=self.lasts_s.get)

    def passes(self, test, mutant):
        program = os.path.join(self.work, 'test')
        linked = subprocess.run(['gcc', '-o', program, self.object_of[test], *([mutant] if mutant else []), *LIBRARIES],
                                capture_output=True, check=False)
        if linked.returncode:
            return False
        try:
            return subprocess.run([program], capture_output=True, timeout=20, check=False).returncode == 0
        except subprocess.TimeoutExpired:
            return False

    def killer(self, path, lines, number, line):
        """Name of the test that notices; '' for a survivor; None if it does not compile or compiles to the same code."""
        source, made = os.path.join(self.work, 'mutant.c'), os.path.join(self.work, 'mutant.o')
        with open(source, 'w', encoding='utf-8') as file:
            file.write('\n'.join(lines[:number] + [line] + lines[number + 1:]))
        if subprocess.run(['gcc', *FLAGS, '-I' + os.path.dirname(path), '-c', source, '-o', made], capture_output=True, check=False).returncode:
            return None
        if self.text_of(made) == self.text_of(self.object_of[path]):
            return None
        stem = os.path.basename(path)[:-2]
        for test in sorted(self.tests, key=lambda test: (stem not in test, self.lasts_s[test])):
            if not self.passes(test, made):
                return test
        return ''

    @staticmethod
    def text_of(path):
        dump = subprocess.run(['objdump', '-s', '-j', '.text', '-j', '.rodata', '-j', '.rodata.cst8', path], capture_output=True, check=False)
        return dump.stdout.split(b'\n', 3)[-1]


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument('--count', type=int, default=60)
    parser.add_argument('--seed', type=int, default=1)
    parser.add_argument('--jobs', type=int, default=1)
    parser.add_argument('--only', action='append')
    parser.add_argument('--also', action='append', default=[], help='another test, tests/reference/test_NAME.c')
    options = parser.parse_args()
    os.chdir(TOP)
    with open('tests/mutation/equivalent.txt', encoding='utf-8') as file:
        equivalent = {tuple(row.split('\t')[:2]) for row in file.read().split('\n') if row and not row.startswith('#')}
    files = options.only or sorted(glob.glob('src/physics/*.c') + glob.glob('src/control/*.c'))
    all_mutants, lines_of = [], {}
    for path in files:
        found, lines_of[path] = mutants_of(path)
        all_mutants += found
    random.Random(options.seed).shuffle(all_mutants)
    tests = sorted(glob.glob('tests/unit/physics/*.c') + glob.glob('tests/unit/control/*.c') + glob.glob('tests/unit/plant/*.c')) + options.also
    for path in sorted(glob.glob('tests/reference/test_*.c')):
        with open(path, encoding='utf-8') as file:
            if re.search(r'#include "(physics|control)/', file.read()):
                tests.append(path)
    killed = tried = same = 0
    with tempfile.TemporaryDirectory(prefix='mutate-') as work:
        bench = Bench(work, tests, files, options.jobs)
        print('%d mutants of %d files; %d tests' % (len(all_mutants), len(files), len(bench.tests)), flush=True)
        for path, number, line in all_mutants:
            if tried >= options.count:
                break
            if (path, line.strip()) in equivalent:
                continue
            by = bench.killer(path, lines_of[path], number, line)
            if by is None:
                same += 1
                continue
            tried += 1
            killed += bool(by)
            if not by:
                print('survives %s:%d\n  was %s\n  is  %s' % (path, number + 1, lines_of[path][number].strip(), line.strip()), flush=True)
    print('%d of %d killed, %.0f %%; %d others are the same code or none' % (killed, tried, 100.0 * killed / max(tried, 1), same))
    return 0


if __name__ == '__main__':
    sys.exit(main())
