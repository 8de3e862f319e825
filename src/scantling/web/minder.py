"""Starts one command and ends it when the pipe from whoever asked for it closes, by a stop or by a death: no work goes on alone."""

import os
import signal
import subprocess
import sys
from collections.abc import Sequence
from threading import Thread

PATIENCE = 3.0  # seconds that a command may take to tidy up before it is ended
ENDED_BY = 128
"""A command that a signal ended has this plus the signal's number as its exit code, as shells have it."""


def mind(words: Sequence[str]) -> int:
    """Run a command; its exit code. To be called in a session of its own, standard input being the pipe."""
    child = subprocess.Popen(words, stdin=subprocess.DEVNULL)  # noqa: S603 - a list of words, made by this program
    Thread(target=_end_with_the_pipe, args=(child,), daemon=True).start()
    code = child.wait()
    return code if code >= 0 else ENDED_BY - code


def _end_with_the_pipe(child: "subprocess.Popen[bytes]") -> None:
    """Wait for the end of the pipe; then ask the command to stop, and after a while end it with all that it started."""
    while os.read(0, 1):
        pass
    child.send_signal(signal.SIGINT)
    try:
        child.wait(PATIENCE)
    except subprocess.TimeoutExpired:
        os.killpg(0, signal.SIGKILL)


if __name__ == "__main__":
    sys.exit(mind(sys.argv[1:]))
