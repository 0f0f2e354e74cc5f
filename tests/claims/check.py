#!/usr/bin/env python3
"""Runs scenarios and holds every sentence about them against the rows that were written.

    check.py PROGRAM [--shipped] [--random N] [--seed N] [--solver NAME] [--lies N] [--show N] [--jobs N] [SCENARIO ...]

--shipped takes all of scenarios/, --random so many random ones of storm.py, --lies tries so many false changes and counts how many
are found, and how many changes that are no lies pass. Ends with 1 if a claim is false, if fewer than 95 % of the lies are found, or if
a harmless change is complained of.
"""
import argparse
import collections
import concurrent.futures
import glob
import os
import subprocess
import sys
import tempfile
import time

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import lies  # noqa: E402
import rundata  # noqa: E402
import storm  # noqa: E402
import wholes  # noqa: E402

LIES_FOUND_SHARE = 0.95
TOP = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))


def simulate(program, path, folder, solver):
    """(Run, None), or (None, what the program said of a scenario that it refuses)."""
    command = [program.path, 'run', path, '--format', 'none', '--json', '--all', '--solver', solver, '--out', folder]
    answer = subprocess.run(command, capture_output=True, text=True)
    if answer.returncode:
        return None, 'exit %d: %s' % (answer.returncode, answer.stderr.strip()[:300])
    return rundata.Run.of_folder(program, path, folder, answer.stdout), None


def scenarios_of(options, program, folder):
    """Paths of all that is to be run; the random ones are written."""
    paths = list(options.scenario)
    if options.shipped:
        paths += sorted(glob.glob(os.path.join(TOP, 'scenarios', '*.cfg')))
    engines = [(path, rundata.Engine(path)) for path in sorted(glob.glob(os.path.join(TOP, 'models', '*.cfg')))]
    for number in range(options.random):
        path = os.path.join(folder, 'storm-%d.cfg' % number)
        storm.write(path, options.seed, number, engines, program.faults)
        paths.append(path)
    return paths


def check_one(job):
    """One scenario run, checked, and lied about: what was counted, what is wrong, which lies were found."""
    program, path, folder, options, seed, lie_count = job
    run, refusal = simulate(program, path, os.path.join(folder, os.path.basename(path) + '.out'), options.solver)
    counts = collections.Counter()
    if refusal:
        # an engine that cannot idle like that is no fault of anybody's; asking it for what it lacks is one of storm.py
        counts['refused' if 'exit 78' in refusal and ' lacks ' not in refusal else 'failed'] = 1
        return path, counts, [('run', '', refusal)] if counts['failed'] else [], ([], [])
    counts.update(runs=1, claims=len(run.claims), values=sum(len(claim.get('values', [])) for claim in run.claims),
                  predicates=sum(len(claim.get('holds', [])) for claim in run.claims))
    told = (lies.tell(run, seed, lie_count), lies.spare(run, seed, lie_count)) if lie_count else ([], [])
    return path, counts, wholes.check_run(run), told


def jobs_of(options, program, folder):
    """With the lies spread evenly over the runs."""
    paths = scenarios_of(options, program, folder)
    per_run = -(-options.lies // max(1, len(paths)))
    return [(program, path, folder, options, options.seed * 1000 + i, per_run) for i, path in enumerate(paths)]


def run_all(options):
    """Checks, prints what is wrong, and says whether all is well."""
    started_s = time.time()
    program = rundata.Program(options.program)
    total, complaints, told, spared = collections.Counter(), [], [], []
    with tempfile.TemporaryDirectory() as folder, concurrent.futures.ProcessPoolExecutor(options.jobs) as pool:
        for path, counts, wrong, lied in pool.map(check_one, jobs_of(options, program, folder)):
            total += counts
            complaints += [(os.path.basename(path),) + complaint for complaint in wrong]
            told += lied[0]
            spared += lied[1]
    show(complaints, options.show)
    print('%d runs (%d scenarios refused, %d failed): %d claims, %d values, %d predicates checked; %d complaints; %.1f s' % (
        total['runs'], total['refused'], total['failed'], total['claims'], total['values'], total['predicates'], len(complaints),
        time.time() - started_s))
    return 1 if not lies_found(told) or not all_spared(spared) or complaints or total['runs'] == 0 else 0


def show(complaints, most):
    for scenario, kind, text, complaint in complaints[:most]:
        print('%s: %s: %s\n    "%s"' % (scenario, kind, complaint, text[:300]))
    if len(complaints) > most:
        print('... and %d more' % (len(complaints) - most))


def all_spared(spared):
    """Changes that leave the claims true must pass."""
    caught = [change for change in spared if not change[2]]
    for kind, text, _ in caught[:20]:
        print('true, and complained of: %s\n    "%s"' % (kind, text[:300]))
    if spared:
        print('%d of %d changes that are no lies passed' % (len(spared) - len(caught), len(spared)))
    return not caught


def lies_found(told):
    """Prints how many lies were found, and those that were not."""
    if not told:
        return True
    missed = [lie for lie in told if not lie[2]]
    for kind, text, _ in missed[:20]:
        print('a lie not found: %s\n    "%s"' % (kind, text[:300]))
    kinds = collections.Counter(lie[0] for lie in told)
    print('%d of %d lies found, of %d kinds' % (len(told) - len(missed), len(told), len(kinds)))
    return len(told) - len(missed) >= LIES_FOUND_SHARE * len(told)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument('program')
    parser.add_argument('scenario', nargs='*')
    parser.add_argument('--shipped', action='store_true')
    for name, default in (('random', 0), ('seed', 1), ('lies', 0), ('show', 40), ('jobs', 1)):
        parser.add_argument('--' + name, type=int, default=default)
    parser.add_argument('--solver', default='fast')
    options = parser.parse_args()
    return run_all(options)


if __name__ == '__main__':
    sys.exit(main())
