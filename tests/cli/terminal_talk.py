"""terminal_talk.py COLUMNS LINES PROGRAM ARG ...: types the lines of a file into the program on a terminal so wide, and prints what is seen
there; ends as the program does. A line is typed once something new has been shown; ^P in it stands for the key that brings the line before."""
import fcntl
import os
import pty
import select
import struct
import subprocess
import sys
import termios

ours, theirs = pty.openpty()
fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 30, int(sys.argv[1]), 0, 0))
with open(sys.argv[2], encoding="utf-8") as file:
    left = file.read().splitlines()
process = subprocess.Popen(sys.argv[3:], stdin=theirs, stdout=theirs, stderr=theirs, env=dict(os.environ, TERM="xterm"))
os.close(theirs)
seen = b""
while True:
    ready, _, _ = select.select([ours], [], [], 0.3 if left else 30.0)
    if ready:
        try:
            more = os.read(ours, 4096)
        except OSError:  # the program has ended
            break
        if not more:
            break
        seen += more
    elif left:
        os.write(ours, left.pop(0).replace("^P", "\x10").encode() + b"\n")
    else:
        process.kill()
        break
sys.stdout.write(seen.decode(errors="replace").replace("\r", ""))
sys.exit(process.wait())
