"""A loop that runs in a process of its own beside the rehearsal: it can be paused, goes on, and dies with who started it."""

import os
import select
import signal
import sys
import traceback
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from typing import NoReturn

from scantling.trials.rehearsal.calls import DIES_WITH, prctl


def attend(work: Mapping[int, Callable[[], None]]) -> NoReturn:
    """Do for ever what is to be done when something comes to a socket (by descriptor).

    A packet that can't be sent is lost, as on any wire: whoever needs it asks again.
    """
    with select.epoll() as poll:
        for at in work:
            poll.register(at, select.EPOLLIN)
        while True:
            attended(work, [at for at, _ in poll.poll()])


def attended(work: Mapping[int, Callable[[], object]], touched: Iterable[int]) -> None:
    """Do it once for those to which something came."""
    for at in touched:
        with suppress(OSError):
            work[at]()


class Aside:
    """One such process."""

    def __init__(self, name: str, serve: Callable[[], None]) -> None:
        self.name, self._serve = name, serve
        self._process = 0
        self._paused = False

    def start(self) -> None:
        """Start it, once; the sockets that it serves are open already, so that nothing asked from now on is lost."""
        if self._process:
            return
        parent = os.getpid()
        sys.stdout.flush()
        sys.stderr.flush()
        self._process = os.fork()
        if not self._process:
            self._live(parent)

    def _live(self, parent: int) -> None:
        """The process itself; it never returns."""
        code = 1
        try:
            prctl(DIES_WITH, signal.SIGKILL)
            signal.signal(signal.SIGINT, signal.SIG_IGN)  # whoever started it ends it
            signal.signal(signal.SIGTERM, signal.SIG_DFL)
            if os.getppid() == parent:
                self._serve()
            code = 0
        except BaseException:  # noqa: BLE001 - nothing may climb out into the copy of the rehearsal that this process is
            sys.stderr.write(f"{self.name} ended:\n{traceback.format_exc()}")
            sys.stderr.flush()
        finally:
            os._exit(code)

    def pause(self) -> None:
        """It stands still until told to go on; what comes meanwhile waits in its sockets."""
        if self.running and not self._paused:
            os.kill(self._process, signal.SIGSTOP)
            self._paused = True

    def go_on(self) -> None:
        """It goes on."""
        if self.running and self._paused:
            os.kill(self._process, signal.SIGCONT)
            self._paused = False

    def stop(self) -> None:
        """End it, if it runs."""
        if self.running:
            os.kill(self._process, signal.SIGKILL)
            os.waitpid(self._process, 0)
        self._process, self._paused = 0, False

    def finish(self, patience: float) -> None:
        """Wait until it has ended by itself; after so many seconds it is ended."""
        if self.running:
            self.go_on()
            watched = os.pidfd_open(self._process)
            ended = select.poll()
            ended.register(watched, select.POLLIN)
            ended.poll(patience * 1000)
            os.close(watched)
            self.stop()

    @property
    def answers(self) -> bool:
        """Whether it runs and isn't paused."""
        return self.running and not self._paused

    @property
    def running(self) -> bool:
        """Whether it runs; paused is running too."""
        if not self._process:
            return False
        ended, _ = os.waitpid(self._process, os.WNOHANG)
        if ended:
            self._process, self._paused = 0, False
        return bool(self._process)
