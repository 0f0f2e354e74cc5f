"""on_terminal.py SECONDS PROGRAM ARG ...: what the program prints on stderr in so many seconds if that is a terminal; then it is ended."""
import os
import pty
import select
import subprocess
import sys
import time

seconds = float(sys.argv[1])
ours, theirs = pty.openpty()
process = subprocess.Popen(sys.argv[2:], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=theirs)
os.close(theirs)
end = time.monotonic() + seconds
seen = b""
while time.monotonic() < end:
    ready, _, _ = select.select([ours], [], [], max(0.0, end - time.monotonic()))
    if not ready:
        break
    try:
        seen += os.read(ours, 4096)
    except OSError:  # it has ended and nothing is left
        break
process.kill()
process.wait()
sys.stdout.write(seen.decode(errors="replace").replace("\r", "\n"))
