"""What those around a program may do to it: a gnuplot that dies, hangs or floods, a second run into the same folder, streams that are closed,
folders that are read-only, a disk that is full, calls that are interrupted. `world` is a World (world.py)."""
import os
import shutil
import signal
import subprocess
import time

GNUPLOTS = {
    'dies': 'exit 3',
    'is killed': 'kill -9 $$',
    'says nothing': 'cat >/dev/null',
    'does not listen': 'exec <&-; exit 0',
    'gives half a picture': "cat >/dev/null; echo '<?xml version=\"1.0\"?><svg><g>'",
    'gives no picture': "cat >/dev/null; echo 'out of paper'; exit 1",
    'floods': 'cat >/dev/null; exec yes "<svg>"',
    'floods with words': 'cat >/dev/null; exec yes out of paper >&2',
    'is no program': None,
}


def with_gnuplot(world, script):
    """The environment in which gnuplot is this script."""
    folder = world.fresh('bin')
    os.makedirs(folder)
    path = os.path.join(folder, 'gnuplot')
    with open(path, 'w', encoding='utf-8') as file:
        file.write('#!/bin/sh\n%s\n' % script if script is not None else '\x7fELF, not quite\n')
    os.chmod(path, 0o755)
    return dict(os.environ, PATH=folder + ':' + os.environ['PATH'])


def pictures_in(out):
    return [name for _, _, names in os.walk(out) for name in names if name.endswith(('.svg', '.png', '.pdf', '.html'))]


def gnuplots(world, names):
    """The numbers are there whatever gnuplot does, no picture is half there, and somebody says so."""
    command = ['run', world.scenario, '--format', 'svg', '--out', 'OUT']
    for name in names:
        out = world.fresh('out')
        code, _, words = world.run(command, out, env=with_gnuplot(world, GNUPLOTS[name]))
        problem = '' if code in (69, 70) and b'gnuplot' in words else 'exit %d: %r' % (code, words[:300])
        if not problem and pictures_in(out):
            problem = 'left %s' % pictures_in(out)
        if not problem and not os.path.exists(os.path.join(out, 'run.csv')):
            problem = 'no run.csv'
        world.say('gnuplot %s' % name, problem or world.parts(out))


def hanging(world):
    """It gives up after a minute, for all pictures together, with nothing left behind."""
    out = world.fresh('out')
    began = time.monotonic()
    code, _, words = world.run(['run', world.scenario, '--format', 'svg', '--out', 'OUT'], out, env=with_gnuplot(world, 'exec sleep 1000'), limit_s=200)
    took_s = time.monotonic() - began
    problem = '' if code == 70 and b'did not finish' in words and took_s < 90.0 else 'exit %d after %.0f s: %r' % (code, took_s, words[:300])
    world.say('gnuplot hangs', problem or world.parts(out))


def interrupted_hang(world):
    out = world.fresh('out')
    process = world.start(['run', world.scenario, '--format', 'svg', '--out', 'OUT'], out, env=with_gnuplot(world, 'exec sleep 30'), start_new_session=True)
    time.sleep(0.8)
    began = time.monotonic()
    process.send_signal(signal.SIGINT)
    process.wait(timeout=120)
    took_s = time.monotonic() - began
    try:
        os.killpg(process.pid, signal.SIGKILL)  # what does not read its input does not notice
    except ProcessLookupError:
        pass
    process.communicate()
    world.say('Ctrl-C while gnuplot hangs', ('' if process.returncode == -signal.SIGINT and took_s < 2.0 else
                                             'exit %d after %.0f s' % (process.returncode, took_s)) or world.parts(out))


def two_runs(world, count):
    """One has the folder, the other is told so or comes later; what is there is one run's."""
    other = os.path.join(world.work, 'other.cfg')
    with open(world.scenario, encoding='utf-8') as one, open(other, 'w', encoding='utf-8') as two:
        two.write(one.read().replace('film_um = 20', 'film_um = 40'))
    kinds = {'run': (['run', world.scenario, '--format', 'none', '--out', 'OUT'], ['run', other, '--format', 'none', '--out', 'OUT']),
             'sweep': tuple(['sweep', 'four-16', '--vary', 'film_um=0:%d:10' % end, '--format', 'none', '--threads', '1', '--out', 'OUT'] for end in (30, 40))}
    for kind, commands in kinds.items():
        wholes = [world.fresh('whole-%d' % i) for i in range(2)]
        for command, whole in zip(commands, wholes):
            world.run(command, whole)
        for number in range(count):
            out = world.fresh('out')
            began = [world.start(command, out) for command in commands]
            ends = [process.communicate(timeout=120) and process.returncode for process in began]
            problem = '' if 0 in ends and set(ends) <= {0, 73, 78} else 'exits %s' % ends
            halves = [world.half(out, whole) for whole in wholes]
            world.say('two of %s into one folder, try %d' % (kind, number), problem or (all(halves) and ' and '.join(halves)) or '')


def closed_streams(world):
    """A file that is opened gets the lowest free number: closed streams must not turn a result into stdout's text."""
    whole = world.fresh('whole')
    world.run(world.commands['run'], whole)
    for closed in range(1, 8):
        out = world.fresh('out')
        words = [word.replace('OUT', out) for word in world.commands['run']]
        shut = ' '.join('%d%s&-' % (i, '<' if i == 0 else '>') for i in range(3) if closed & 1 << i)
        done = subprocess.run(['bash', '-c', 'exec "$@" ' + shut, 'bash', world.program] + words, cwd=world.work, timeout=120, check=False,
                              stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        allowed = (74,) if closed & 2 else (0,)  # what it had to say is lost
        problem = '' if done.returncode in allowed else 'exit %d' % done.returncode
        world.say('streams closed: ' + shut, problem or world.half(out, whole))


def as_nobody():
    os.setgid(65534)
    os.setuid(65534)


def read_only(world):
    """A folder that may not be written, as nobody, whom root's rights do not help."""
    if os.geteuid() != 0:
        print('read-only folders: only root can become nobody here; left out')
        return
    os.chmod(world.work, 0o755)
    for name, command in (('run', world.commands['run']), ('run-json', world.commands['run-json']), ('sweep', world.commands['sweep'])):
        out = world.fresh('locked')
        for there in (False, True):
            if there:
                os.makedirs(out)
            code, _, words = world.run(command, out, preexec_fn=as_nobody)
            problem = '' if code == 73 and out.encode() in words else 'exit %d: %r' % (code, words[:300])
            world.say('%s, folder %s and not ours' % (name, 'there' if there else 'to be made'), problem or (os.listdir(out) if there else ''))
        shutil.rmtree(out, ignore_errors=True)


def full_disk(world):
    """A file system of 16 kB, where mounting one is allowed."""
    out = world.fresh('small')
    os.makedirs(out)
    for size_k in (8, 16, 24):
        for name in ('run', 'run-json', 'sweep'):
            words = [word.replace('OUT', out) for word in world.commands[name]]
            script = 'mount -t tmpfs -o size=%dk,nr_inodes=20 none "$1" || exit 250; shift; "$@"; code=$?; cd "$0"; ls -A | grep part- && exit 251; exit $code' % size_k
            done = subprocess.run(['unshare', '-m', 'bash', '-c', script, out, out, world.program] + words, cwd=world.work, timeout=120, check=False,
                                  capture_output=True)
            if done.returncode == 250 or b'unshare' in done.stderr:
                print('full disk: mounting is not allowed here; left out')
                return
            problem = '' if done.returncode in (0, 73, 74) else 'exit %d: %r' % (done.returncode, done.stderr[:300])
            if not problem and done.returncode and b'No space left' not in done.stderr:
                problem = 'exit %d without the reason: %r' % (done.returncode, done.stderr[:300])
            world.say('%s, a disk of %d kB' % (name, size_k), problem)


def interrupts(world, library):
    """The same result while every call that waits is interrupted; readings come through a pipe, little by little."""
    env = dict(os.environ, LD_PRELOAD=library)
    for name in ('run', 'run-json', 'sweep', 'estimate'):
        whole, out = world.fresh('whole'), world.fresh('out')
        _, right, _ = world.run(world.commands[name], whole)
        code, text, words = world.run(world.commands[name], out, env=env)
        same = code == 0 and text.replace(out.encode(), whole.encode()) == right
        world.say('%s, interrupted' % name, ('' if same else 'exit %d, another result: %r' % (code, words[:300])) or world.half(out, whole))
    if shutil.which('gnuplot'):
        out = world.fresh('out')
        code, _, words = world.run(['run', world.scenario, '--format', 'svg', '--quiet', '--out', 'OUT'], out, env=env)
        world.say('pictures, interrupted', ('' if code == 0 and pictures_in(out) else 'exit %d: %r' % (code, words[:300])) or world.parts(out))
    slowly(world, env)


def slowly(world, env):
    """A log through a pipe whose other end writes a line at a time."""
    log = os.path.join(world.work, 'log.csv')
    world.run(['run', world.scenario, '--format', 'none', '--quiet', '--out', world.fresh('logged'), '--as-log', log], '')
    with open(log, encoding='utf-8') as file:
        lines = file.read().splitlines(True)
    pipe = os.path.join(world.work, 'pipe.csv')
    os.mkfifo(pipe)
    _, right, _ = world.run(['check', log], '')
    process = world.start(['check', pipe], '', env=env)
    with open(pipe, 'w', encoding='utf-8') as file:
        for i, line in enumerate(lines):
            file.write(line)
            file.flush()
            if i % 10 == 0:
                time.sleep(0.002)
    text, words = process.communicate(timeout=120)
    same = process.returncode == 0 and text.replace(pipe.encode(), log.encode()) == right
    world.say('a log through a slow pipe, interrupted', '' if same else 'exit %d, another answer: %r %r' % (process.returncode, text[:200], words[:300]))


def deep_paths(world):
    """Folders so deep that a path is as long as the system takes, and longer than we do: a result or a sentence."""
    for depth in (1, 4, 8, 15, 16, 20):
        out = os.path.join(world.fresh('deep'), *(['d' * 250] * depth))
        code, _, words = world.run(['run', world.scenario, '--format', 'none', '--quiet', '--out', out], '')
        problem = '' if code == 0 or (code == 73 and words.startswith(b'bladegap: ')) else 'exit %d: %r' % (code, words[:300])
        if not problem and code == 0 and not os.path.exists(os.path.join(out, 'run.csv')):
            problem = 'no run.csv'
        if depth == 1 and code:
            problem = 'exit %d: %r' % (code, words[:300])
        world.say('a path of %d characters' % len(out), problem)


def all_of(world, interrupt):
    gnuplots(world, GNUPLOTS if world.whole else ('dies', 'gives half a picture'))
    interrupted_hang(world)
    two_runs(world, 20 if world.whole else 2)
    closed_streams(world)
    read_only(world)
    interrupts(world, interrupt)
    deep_paths(world)
    if world.whole:
        full_disk(world)
        hanging(world)
