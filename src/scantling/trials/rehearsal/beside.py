"""Work done in a process beside the rehearsal, which goes on meanwhile and asks for what came of it later."""

import os
import pickle
import signal
from collections.abc import Callable
from contextlib import suppress
from multiprocessing import Pipe
from typing import Generic, TypeVar, cast

from scantling import UserError
from scantling.trials.rehearsal.calls import DIES_WITH, prctl
from scantling.trials.rehearsal.sandbox import RehearsalError

T = TypeVar("T")
K = TypeVar("K")
POLITE = 5
"""A third of everybody else's claim on the machine: on one that others share, less is hardly anything."""


class Beside(Generic[T]):
    """Some work, begun. What it changes is changed in its own process alone; what comes of it must be picklable."""

    def __init__(self, what: str, work: Callable[[], T], *, polite: bool = False) -> None:
        """`what`: who works, in words, for errors. `polite`: everybody else comes first, since nobody waits for this."""
        self.what = what
        self._heard, saying = os.pipe()
        self._told: tuple[bool, object] | None = None
        parent = os.getpid()
        self._process = os.fork()
        if not self._process:
            _live(lambda: _outcome(what, work), saying, parent, POLITE if polite else 0)
        os.close(saying)

    def result(self) -> T:
        """What came of it, once it is done. Raises RehearsalError, the work's own too."""
        if self._told is None:
            with os.fdopen(self._heard, "rb") as stream:
                said = stream.read()
            os.waitpid(self._process, 0)
            wordless = (False, RehearsalError(f"{self.what} ended without a word"))
            self._told = pickle.loads(said) if said else wordless  # noqa: S301 - our own
        well, told = self._told
        if not well:
            raise cast("RehearsalError", told)
        return cast("T", told)


class Prepared(Beside[T], Generic[K, T]):
    """Work of which a part can be done before all is known that it needs; whoever began it then tells the rest."""

    def __init__(self, what: str, work: Callable[[Callable[[], K]], T]) -> None:
        """`work` is handed a function that waits for the rest."""
        hearing, self._telling = Pipe(duplex=False)
        super().__init__(what, lambda: work(hearing.recv))
        hearing.close()

    def tell(self, rest: K) -> None:
        """The rest, once. Whoever has ended before it was told says why with the result."""
        with self._telling, suppress(BrokenPipeError):
            self._telling.send(rest)


def _live(work: Callable[[], bytes], saying: int, parent: int, nice: int) -> None:
    """The process itself; it never returns."""
    try:
        prctl(DIES_WITH, signal.SIGKILL)
        os.nice(nice)
        if os.getppid() == parent:
            with os.fdopen(saying, "wb") as stream:
                stream.write(work())
    finally:
        os._exit(0)


def _outcome(what: str, work: Callable[[], object]) -> bytes:
    """What comes of it, or why nothing does, packed."""
    try:
        return pickle.dumps((True, work()))
    except UserError as sorry:
        return pickle.dumps((False, RehearsalError(str(sorry))))
    except OSError as refused:
        return pickle.dumps((False, RehearsalError(f"{what}: {refused.strerror or refused}")))
    except Exception as wrong:  # noqa: BLE001 - nothing may climb out into the copy of the rehearsal that this process is
        said = f"{what} couldn't be run: {type(wrong).__name__}: {wrong}"
        return pickle.dumps((False, RehearsalError(said)))
