#!/usr/bin/env python3
"""A table of the rooms of src: lines and branches that the tests reach, from what llvm-cov has exported in lcov's form.

    table.py INFO [--detail FILE]

A branch is one way out of one condition, so `a && b` has four. Left out: what stands inside assert(...), whose other way out is a mistake of
ours that must not happen. Nothing else is left out, failed allocations included. --detail writes the lines and ways that no test takes.
Ends with 1 if src as a whole is below a bar.
"""
import argparse
import os
import re
import sys

BAR_LINES, BAR_BRANCHES = 92.0, 80.0
TOP = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))


def assert_lines(lines):
    """Numbers of the lines that belong to an assert, from 1."""
    found, depth = set(), 0
    for number, line in enumerate(lines, 1):
        if depth == 0 and not re.match(r'\s*(static_)?assert\(', line):
            continue
        found.add(number)
        depth += line.count('(') - line.count(')')
    return found


def room_of(path):
    parts = path.split('/')[:-1]
    return '/'.join(parts[1:3]) if parts[1:2] and parts[1] in ('analysis', 'io') else (parts[1] if len(parts) > 1 else 'main.c')


def read(info):
    """{path: ({line: count}, {(line, n): taken})}"""
    files, path = {}, None
    with open(info, encoding='utf-8') as file:
        for row in file:
            kind, _, rest = row.rstrip('\n').partition(':')
            if kind == 'SF': # the build maps its own folders away, so that a path may begin anywhere
                path = 'src/' + ('/' + os.path.normpath(rest)).rpartition('/src/')[2]
                if '/src/' not in rest or not os.path.exists(os.path.join(TOP, path)):
                    path = None
                    continue
                with open(os.path.join(TOP, path), encoding='utf-8') as source:
                    text = source.read().split('\n')
                skipped = assert_lines(text)
                lines, branches = files.setdefault(path, ({}, {}))
            elif path is None:
                continue
            elif kind == 'DA':
                line, count = map(int, rest.split(',')[:2])
                if line not in skipped:
                    lines[line] = max(lines.get(line, 0), count)
            elif kind == 'BRDA':
                line, block, branch, taken = rest.split(',')
                if int(line) not in skipped:
                    key = (int(line), block, branch)
                    branches[key] = max(branches.get(key, 0), int(taken) if taken != '-' else 0)
    return files


def percent(part, whole):
    return '%5.1f' % (100.0 * part / whole) if whole else '    -'


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument('info')
    parser.add_argument('--detail')
    options = parser.parse_args()
    files = read(options.info)
    rooms = {}
    for path, (lines, branches) in files.items():
        row = rooms.setdefault(room_of(path), [0, 0, 0, 0])
        for at, part in enumerate((sum(map(bool, lines.values())), len(lines), sum(map(bool, branches.values())), len(branches))):
            row[at] += part
    whole = [sum(row[at] for row in rooms.values()) for at in range(4)]
    print('| room | lines | reached, % | branches | taken, % |\n|---|---:|---:|---:|---:|')
    order = ['base', 'physics', 'plant', 'control', 'solver', 'car', 'sim']
    for room in sorted(rooms, key=lambda name: (order.index(name) if name in order else len(order), name)):
        row = rooms[room]
        print('| %s | %d | %s | %d | %s |' % (room, row[1], percent(row[0], row[1]), row[3], percent(row[2], row[3])))
    print('| **all of src** | %d | %s | %d | %s |' % (whole[1], percent(whole[0], whole[1]), whole[3], percent(whole[2], whole[3])))
    if options.detail:
        with open(options.detail, 'w', encoding='utf-8') as out:
            for path, (lines, branches) in sorted(files.items()):
                out.write('%s lines %d of %d, branches %d of %d\n' % (path, sum(map(bool, lines.values())), len(lines), sum(map(bool, branches.values())), len(branches)))
                with open(os.path.join(TOP, path), encoding='utf-8') as source:
                    text = source.read().split('\n')
                missed = {}
                for line, count in lines.items():
                    if not count:
                        missed[line] = 'line'
                for (line, _, _), taken in branches.items():
                    if not taken and line not in missed:
                        missed[line] = 'way'
                for line in sorted(missed):
                    out.write('  %5d %s %s\n' % (line, missed[line], text[line - 1].strip()))
    enough = 100.0 * whole[0] >= BAR_LINES * whole[1] and 100.0 * whole[2] >= BAR_BRANCHES * whole[3]
    if not enough:
        print('below the bar of %g %% of lines and %g %% of branches' % (BAR_LINES, BAR_BRANCHES), file=sys.stderr)
    return 0 if enough else 1


if __name__ == '__main__':
    sys.exit(main())
