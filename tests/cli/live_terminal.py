"""live_terminal.py PROGRAM FOLDER: `live` on a terminal of its own. Truth: POSIX's job control and signals, and the terminal's own settings before and after;
records are whole where `check` takes them. Prints what fails; ends with 1 if anything does."""
import fcntl
import os
import pty
import re
import select
import signal
import struct
import subprocess
import sys
import termios
import time

PROGRAM, FOLDER = sys.argv[1:3]
SLOW = 4 if os.environ.get("TESTS_SHORT") else 1
failed = 0


def check(name, good, seen=b""):
    global failed
    if not good:
        failed += 1
        print(f"FAILED: {name}: {seen[-600:]!r}")


class Session:
    """The program on a terminal; what it shows gathers in .shown."""

    def __init__(self, *words, rows=24, columns=80, **more):
        self.shown = b""
        self.record = os.path.join(FOLDER, f"pty-{time.monotonic_ns()}.txt")
        self.ours, self.theirs = pty.openpty()
        self.resize(rows, columns)
        self.before = termios.tcgetattr(self.theirs)
        self.child = os.fork()
        if self.child == 0:
            os.close(self.ours)
            os.login_tty(self.theirs)
            os.execve(PROGRAM, [PROGRAM, "live", *words, "--record", self.record], {**os.environ, "TERM": "xterm", **more})

    def resize(self, rows, columns):
        fcntl.ioctl(self.ours, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))

    def wait(self, pattern, seconds=10):
        """Until the pattern is shown; what comes after it stays."""
        end = time.monotonic() + seconds * SLOW
        while time.monotonic() < end:
            found = re.search(pattern, self.shown, re.S)
            if found:
                self.shown = self.shown[found.end():]
                return True
            self.read(0.1)
        return False

    def read(self, seconds):
        ready, _, _ = select.select([self.ours], [], [], seconds)
        if ready:
            try:
                self.shown += os.read(self.ours, 65536)
            except OSError:
                pass

    def press(self, keys):
        os.write(self.ours, keys)

    def end(self, options=0):
        """How it ended or stopped; None if it did neither."""
        until = time.monotonic() + 10 * SLOW
        while time.monotonic() < until:
            child, status = os.waitpid(self.child, os.WNOHANG | options)
            if child:
                self.read(0)
                return status
            self.read(0.02)
        os.kill(self.child, signal.SIGKILL)
        os.waitpid(self.child, 0)
        return None

    def as_before(self):
        return termios.tcgetattr(self.theirs) == self.before

    def recorded(self):
        return subprocess.run([PROGRAM, "check", self.record], capture_output=True).returncode == 0

    def close(self):
        os.close(self.ours)
        os.close(self.theirs)


def helper_of(pid):
    with open(f"/proc/{pid}/task/{pid}/children", encoding="ascii") as file:
        words = file.read().split()
    return int(words[0]) if words else None


# Begins, takes the terminal, acts, ends by its key.
s = Session("four-16", "--terminal", "none")
check("it shows speed and target", s.wait(rb"\d+ rpm, target 850"), s.shown)
check("keys come one by one, without echo", not termios.tcgetattr(s.theirs)[3] & (termios.ICANON | termios.ECHO))
s.press(b"f")
check("a key is answered", s.wait(rb"the film goes to 5 um"), s.shown)
s.press(b"\x1b[A\x1bOP")  # cursor up, F1
s.press(b"=leak_mm 3\r")
check("a slip is told with what was meant", s.wait(rb"did you mean 'leak_mm2'"), s.shown)
s.press(b"c")
check("cautions stand before the clean", s.wait(rb"closes on fingers.*then touch.*solvent is flammable.*Press y"), s.shown)
s.press(b"n")
check("and no is taken", s.wait(rb"left as it was"), s.shown)
s.press(b"?")
check("the keys are listed", s.wait(rb"Keys; any key goes back.*space"), s.shown)
s.press(b"q")  # goes back, and does no more
check("back again", s.wait(rb"\d+ rpm, target"), s.shown)
s.press(b"m")
check("a mark", s.wait(rb"mark 1 at"), s.shown)
s.press(b"q")
check("ends well", s.end() == 0, s.shown)
check("the terminal is as it was", s.as_before())
check("the page that was there comes back", b"\x1b[?1049l" in s.shown, s.shown)
with open(s.record, encoding="utf-8") as file:
    text = file.read()
check("what was done is recorded, and no more", [line.split(" ", 1)[1] for line in text.splitlines() if re.match(r"[\d.]+ ", line)] ==
      ["film_um 5 5", "note mark 1", "end"], text.encode())
s.close()

# Stopped and continued; resized; ended by control-C.
s = Session("four-16", "--terminal", "none")
s.wait(rb"rpm, target")
s.press(b"\x1a")
check("control-Z stops it", os.WIFSTOPPED(s.end(os.WUNTRACED) or 0), s.shown)
check("and the terminal is as it was meanwhile", s.as_before())
s.shown = b""
os.kill(s.child, signal.SIGCONT)
check("it goes on", s.wait(rb"\x1b\[\?1049h.*rpm, target"), s.shown)
check("without echo again", not termios.tcgetattr(s.theirs)[3] & termios.ECHO)
s.resize(5, 20)
check("a new size is seen", s.wait(rb"\x1b\[2J"), s.shown)
s.wait(rb"rpm, target")
s.shown = b""
s.read(0.5 * SLOW)
rows = re.findall(rb"\x1b\[(\d+);1H([^\x1b]*)", s.shown)
check("nothing beyond a terminal of 20 by 5", rows and all(int(row) <= 5 and len(line) <= 20 for row, line in rows), s.shown)
s.press(b"\x03")
check("control-C ends it well", s.end() == 0, s.shown)
check("the terminal is as it was", s.as_before())
check("what was done is whole", s.recorded())
s.close()

# Signals that end.
for number in (signal.SIGTERM, signal.SIGHUP, signal.SIGQUIT):
    s = Session("four-16", "--terminal", "none")
    s.wait(rb"rpm, target")
    os.kill(s.child, number)
    status = s.end()
    check(f"signal {number} ends it as signals do", status is not None and os.WIFSIGNALED(status) and os.WTERMSIG(status) == number, s.shown)
    check(f"signal {number}: the terminal is as it was", s.as_before())
    check(f"signal {number}: what was done is whole", s.recorded())
    s.close()
if not os.environ.get("TESTS_SHORT"):  # a sanitizer catches it itself
    s = Session("four-16", "--terminal", "none")
    s.wait(rb"rpm, target")
    os.kill(s.child, signal.SIGSEGV)
    check("a crash ends it as one", os.WTERMSIG(s.end() or 0) == signal.SIGSEGV)
    check("a crash: the terminal is as it was", s.as_before())
    s.close()

# The terminal goes.
s = Session("four-16", "--terminal", "none")
s.wait(rb"rpm, target")
s.close()
end = time.monotonic() + 10 * SLOW
while time.monotonic() < end and os.waitpid(s.child, os.WNOHANG)[0] == 0:
    time.sleep(0.02)
check("without its terminal it ends, and what was done is whole", s.recorded())

# The chart, and its end.
s = Session("four-16", "--terminal", "dumb", rows=40, columns=100)
check("a chart in letters", s.wait(rb"speed, rpm \(#\), target \(\*\).*blade, degrees open"), s.shown)
os.kill(helper_of(s.child), signal.SIGKILL)
check("gnuplot's end is told, what it drew last goes, and the bench goes on", s.wait(rb"\x1b\[2J.*There is no chart: gnuplot was ended by signal 9\. The bench goes on\.") and
      s.wait(rb"rpm, target"), s.shown)
s.press(b"q")
check("and ends well", s.end() == 0 and s.recorded(), s.shown)
s.close()
s = Session("four-16")
check("the terminal is asked what it shows", s.wait(rb"\x1b\[c"), s.shown)
s.press(b"\x1b[?62;4;22cm")
check("and where it says sixel gets that, and its key", s.wait(rb"\x1bP[^\x1b]+\x1b\\") and s.wait(rb"rpm, target"), s.shown)
s.press(b"q")
check("ends well", s.end() == 0)
check("the key that came with the answer counted", b"mark 1" in open(s.record, "rb").read())
s.close()

# For a screen reader.
for words, more in ((("--plain",), {}), ((), {"TERM": "dumb"})):
    s = Session("four-16", "--every", "0.3", *words, **more)
    check("a line", s.wait(rb"[\d.]+ s, x1: \d+ rpm, target 850; blade [\d.]+ deg open; air [\d.]+ g/s\. Codes: none\."), s.shown)
    s.press(b"f")
    check("a key is answered in a line", s.wait(rb"the film goes to 5 um, 1 um a second\r\n"), s.shown)
    check("another line", s.wait(rb"[\d.]+ s, x1: \d+ rpm"), s.shown)
    s.press(b"q")
    check("ends well", s.end() == 0 and s.as_before(), s.shown)
    check("no control sequence", b"\x1b" not in s.shown, s.shown)
    s.close()
sys.exit(failed > 0)
