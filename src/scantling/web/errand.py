"""A command as a child process: started without a shell, its steps heard line by line, stopped when it is asked to."""

import os
import subprocess
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from signal import SIGKILL
from tempfile import TemporaryFile
from threading import Thread, Timer
from typing import IO

from scantling import STEP, STEPS
from scantling.web.own_python import environment, python

MOST_WORDS, MOST_LETTERS, MOST_BYTES = 40, 2_000, 64_000_000
LAST_RESORT = 6.0  # seconds after which a command is ended from here, should its minder hang


@dataclass(frozen=True)
class Outcome:
    """How a command ended: its exit code, its last words, and what it wrote to standard output."""

    code: int
    words: tuple[str, ...]
    output: bytes


class Errand:
    """One command going on. `heard` gets each step, `ended` the outcome, both from a thread of its own."""

    def __init__(self, words: Sequence[str], heard: Callable[[str], None], ended: Callable[[Outcome], None]) -> None:
        """Raises OSError when it can't be started."""
        self._heard, self._ended = heard, ended
        self._output: IO[bytes] = TemporaryFile()  # noqa: SIM115 - closed when the command has ended
        try:
            self._process = subprocess.Popen(  # noqa: S603 - a list of words, made by this program
                [*python("-m", "scantling.web.minder"), *words], stdin=subprocess.PIPE, stdout=self._output,
                stderr=subprocess.PIPE, start_new_session=True, env=environment(**{STEPS: "1"}, PYTHONIOENCODING="utf-8"),
            )  # fmt: skip
        except OSError:
            self._output.close()
            raise
        self._thread = Thread(target=self._follow, daemon=True)
        self._thread.start()

    @property
    def group(self) -> int:
        """The process group of the command and of all that it starts."""
        return self._process.pid

    def stop(self) -> None:
        """Ask it to stop; it is ended a few seconds later if it has not."""
        _closed(self._process.stdin)
        resort = Timer(LAST_RESORT, self._end)
        resort.daemon = True
        resort.start()

    def wait(self, seconds: float) -> bool:
        """Whether it has ended within so many seconds, its outcome told."""
        self._thread.join(seconds)
        return not self._thread.is_alive()

    def _end(self) -> None:
        if self._process.poll() is None:
            with suppress(ProcessLookupError):  # it ended just now
                os.killpg(self._process.pid, SIGKILL)

    def _follow(self) -> None:
        words: list[str] = []
        assert self._process.stderr is not None
        with self._process.stderr as lines:
            for raw in lines:
                line = raw.decode(errors="replace").rstrip()[:MOST_LETTERS]
                if line.startswith(STEP):
                    self._heard(line.removeprefix(STEP))
                elif line:
                    words = [*words, line][-MOST_WORDS:]
        code = self._process.wait()
        _closed(self._process.stdin)
        with self._output as output:
            output.seek(0)
            told = output.read(MOST_BYTES)
        self._ended(Outcome(code, tuple(words), told))


def _closed(pipe: IO[bytes] | None) -> None:
    """Close it; whoever read it may have gone."""
    if pipe is not None:
        with suppress(BrokenPipeError):
            pipe.close()
