#!/usr/bin/env python3
"""completion.py PROGRAM: completion as people use it: a shell on a terminal, words typed, the tab key pressed, and what then stands on the
line. Truth: the commands, options and names that the program lists. A shell that is not installed is left out, and said so."""
import os
import pty
import select
import shutil
import subprocess
import sys
import tempfile
import time

PROGRAM = os.path.abspath(sys.argv[1])
# What is typed before the tab key; what must then stand there, or be offered.
COMMON = [
    ("bladegap testsh", "bladegap testsheet "),
    ("bladegap run film-dr", "bladegap run film-droop "),
    ("bladegap settle four-18", "bladegap settle four-18-cable "),
    ("bladegap run --solver fix", "bladegap run --solver fixed "),
    ("bladegap list chan", "bladegap list channels "),
    ("bladegap help jobc", "bladegap help jobcard "),
    ("bladegap settle four-16 --set film_u", "bladegap settle four-16 --set film_um="),
    ("bladegap run --out some_fol", "bladegap run --out some_folder/"),
    ("bladegap check some_sc", "bladegap check some_scenario.cfg "),
]
CASES = {
    "bash": COMMON + [("bladegap run --solv", "bladegap run --solver "), ("bladegap run --solver=fix", "bladegap run --solver=fixed ")],
    "zsh": COMMON + [("bladegap run --solv", "bladegap run --solver=")],
}


class Shell:
    """A shell on a pseudo-terminal. Each line is typed, completed, shown by `echo` and so read back."""

    def __init__(self, name, folder):
        self.folder = folder
        environment = {"PATH": folder + "/bin:" + os.environ["PATH"], "HOME": folder, "TERM": "dumb", "LC_ALL": "C.UTF-8"}
        words = {"bash": ["bash", "--norc", "--noprofile", "-i"], "zsh": ["zsh", "-f", "-i"]}[name]
        self.pid, self.terminal = pty.fork()
        if self.pid == 0:
            os.chdir(folder)
            os.execvpe(words[0], words, environment)
        self.send("stty -echo cols 200\n")
        if name == "bash":
            self.send("bind 'set bell-style none' 2>/dev/null; PS1='' PS2=''\n")
            self.send(f". {folder}/bladegap.bash; echo ready >{folder}/ready\n")
        else:
            self.send("PS1='' PS2='' RPS1=''; setopt no_beep no_prompt_cr no_prompt_sp\n")
            self.send(f"fpath=({folder}/zsh $fpath); autoload -Uz compinit; compinit -u -d {folder}/dump; echo ready >{folder}/ready\n")
        self.wait("ready")

    def send(self, text):
        os.write(self.terminal, text.encode())
        self.drain(0.005)

    def drain(self, seconds):
        while select.select([self.terminal], [], [], seconds)[0]:
            try:
                if not os.read(self.terminal, 65536):
                    return
            except OSError:
                return

    def wait(self, name):
        path, end = os.path.join(self.folder, name), time.monotonic() + 20
        while not (os.path.exists(path) and os.path.getsize(path)):
            self.drain(0.01)
            if time.monotonic() > end:
                return ""
        with open(path, encoding="utf-8") as stream:
            text = stream.read()
        os.remove(path)
        return text

    def complete(self, typed):
        """What stands on the line after the tab key: the program is a stand-in that writes down what it is called with."""
        self.send(typed + "\t")
        self.drain(0.1)
        self.send("'|'\n")  # a mark: joined to the last word, unless a blank stands before it
        return self.wait("called").replace("|", "")

    def close(self):
        os.close(self.terminal)
        os.waitpid(self.pid, 0)


def prepare(folder):
    """The program as `bladegap` on the path; called for anything but its lists it writes its words down."""
    os.makedirs(folder + "/bin")
    os.makedirs(folder + "/zsh")
    os.makedirs(folder + "/some_folder")
    for shell, place in (("bash", "bladegap.bash"), ("zsh", "zsh/_bladegap")):
        with open(os.path.join(folder, place), "wb") as stream:
            stream.write(subprocess.run([PROGRAM, "help", "--completion", shell], check=True, stdout=subprocess.PIPE).stdout)
    open(folder + "/some_scenario.cfg", "w", encoding="utf-8").close()
    with open(folder + "/bin/bladegap", "w", encoding="utf-8") as stream:
        stream.write(f"""#!/bin/sh
case "$*" in
  "list "*" --json") exec {PROGRAM} "$@" ;;
esac
printf 'bladegap' >{folder}/calling
for word; do printf ' %s' "$word" >>{folder}/calling; done
mv {folder}/calling {folder}/called
""")
    os.chmod(folder + "/bin/bladegap", 0o755)


def main():
    failed = passed = 0
    for name, cases in CASES.items():
        if not shutil.which(name):
            print(f"{name} is not installed: left out")
            continue
        with tempfile.TemporaryDirectory() as folder:
            prepare(folder)
            shell = Shell(name, folder)
            for typed, wanted in cases:
                got = shell.complete(typed)
                if got == wanted:
                    passed += 1
                else:
                    failed += 1
                    print(f"{name}: '{typed}' became '{got}', not '{wanted}'")
            shell.close()
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or not passed else 0


if __name__ == "__main__":
    sys.exit(main())
