"""A shell in a station of the office: behind a terminal of its own, so that Ctrl-C and the like are the shell's alone."""

import fcntl
import os
import pty
import select
import signal
import subprocess
import termios
import tty
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from typing import Any

from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.trees import ENVIRONMENT, Tree

IN, OUT = 0, 1
SHELLS = ("/bin/bash", "/bin/sh")
QUIETLY: Mapping[str, tuple[str, ...]] = {"/bin/bash": ("--norc", "--noprofile", "-i"), "/bin/sh": ("-i",)}
LARGEST, END = 65536, b"\x04"


def visited(room: Room, tree: Tree | None, prompt: str) -> int:
    """Somebody is in a station until the shell ends; its exit code. Raises OSError where no shell can be started."""
    master, slave = pty.openpty()
    with ExitStack() as leaving:
        leaving.callback(os.close, master)
        leaving.enter_context(raw())
        leaving.enter_context(sized(master))  # before the shell begins, which would draw its prompt twice
        program = begun(room, tree, prompt, slave)
        leaving.callback(program.wait)
        os.close(slave)
        ended = os.pidfd_open(program.pid)
        leaving.callback(os.close, ended)
        joined(master, ended)
    return program.returncode


def begun(room: Room, tree: Tree | None, prompt: str, terminal: int) -> "subprocess.Popen[bytes]":
    """The shell, in a session of its own. Raises OSError."""
    shell = next(one for one in SHELLS if os.access(one, os.X_OK))
    how: dict[str, Any] = {
        "stdin": terminal, "stdout": terminal, "stderr": terminal, "start_new_session": True, "cwd": "/",
        "preexec_fn": lambda: fcntl.ioctl(IN, termios.TIOCSCTTY, 0),
        "env": {**ENVIRONMENT, "TERM": os.environ.get("TERM", "dumb"), "PS1": prompt, "HISTFILE": ""},
    }  # fmt: skip
    command = [shell, *QUIETLY[shell]]
    if tree is None:
        return room.started(command, **how)
    with tree.entered():
        return room.started(command, **how)


@contextmanager
def raw() -> Iterator[None]:
    """Every key goes to the shell as it is pressed, where there are keys."""
    if not os.isatty(IN):
        yield
        return
    before = termios.tcgetattr(IN)
    tty.setraw(IN)
    try:
        yield
    finally:
        termios.tcsetattr(IN, termios.TCSADRAIN, before)


@contextmanager
def sized(master: int) -> Iterator[None]:
    """The shell's terminal is as large as the person's, also when that changes."""

    def follow(*_: object) -> None:
        if os.isatty(IN):
            fcntl.ioctl(master, termios.TIOCSWINSZ, fcntl.ioctl(IN, termios.TIOCGWINSZ, bytes(8)))

    follow()
    before = signal.signal(signal.SIGWINCH, follow)
    try:
        yield
    finally:
        signal.signal(signal.SIGWINCH, before)


def joined(master: int, ended: int) -> None:
    """What is typed goes to the shell, what it says comes back, until it ends. `ended`: a descriptor that can be read from then on."""
    poll = select.poll()
    for descriptor in (master, ended, IN):
        poll.register(descriptor, select.POLLIN)
    while True:
        ready = {descriptor for descriptor, _ in poll.poll()}
        if master in ready and not passed_back(master):
            return
        if ended in ready and master not in ready:  # whatever it leaves running in there says no more here
            return
        if IN in ready:
            typed = os.read(IN, LARGEST)
            os.write(master, typed or END)
            if not typed:
                poll.unregister(IN)


def passed_back(master: int) -> bool:
    """Pass on what the shell says; False when nobody is at the other end any more."""
    try:
        said = os.read(master, LARGEST)
    except OSError:
        return False
    os.write(OUT, said)
    return bool(said)
