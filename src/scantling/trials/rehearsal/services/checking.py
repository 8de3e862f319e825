"""Has all files read by their own programs in a process beside the rehearsal, which goes on meanwhile and comes first."""

import os
import pickle
import signal
from collections.abc import Callable, Sequence

from scantling.trials.rehearsal.calls import DIES_WITH, prctl
from scantling.trials.rehearsal.results import Checked
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.sandbox import RehearsalError
from scantling.trials.rehearsal.services import checked
from scantling.trials.rehearsal.services.adapter import Job
from scantling.trials.rehearsal.services.running import lay
from scantling.trials.rehearsal.trees import Tree

POLITE = 19
"""The least of all claims on the machine, for nobody waits for this until the end."""


class Checking:
    """The reading of all files, begun. Every file lies in its place before anything else goes on."""

    def __init__(self, many: Sequence[Job], tree_of: Callable[[str], Tree], room_of: Callable[[str], Room]) -> None:
        for job in many:
            lay(job, tree_of(job.machine))
        self._heard, saying = os.pipe()
        parent = os.getpid()
        self._told: list[Checked] | BaseException | None = None
        self._process = os.fork()
        if not self._process:
            _live(lambda: checked(many, tree_of, room_of), saying, parent)
        os.close(saying)

    def result(self) -> list[Checked]:
        """What the parsers say, once they all have. Raises RehearsalError."""
        if self._told is None:
            with os.fdopen(self._heard, "rb") as stream:
                said = stream.read()
            os.waitpid(self._process, 0)
            wordless = RehearsalError("the files' parsers ended without a word")
            self._told = pickle.loads(said) if said else wordless  # noqa: S301 - our own
        if isinstance(self._told, BaseException):
            raise self._told
        return self._told or []


def _live(work: Callable[[], list[Checked]], saying: int, parent: int) -> None:
    """The process itself; it never returns."""
    try:
        prctl(DIES_WITH, signal.SIGKILL)
        os.nice(POLITE)
        if os.getppid() == parent:
            with os.fdopen(saying, "wb") as stream:
                stream.write(_outcome(work))
    finally:
        os._exit(0)


def _outcome(work: Callable[[], list[Checked]]) -> bytes:
    """What it says, or why it couldn't, packed."""
    try:
        return pickle.dumps(work())
    except RehearsalError as sorry:
        return pickle.dumps(RehearsalError(str(sorry)))
    except Exception as wrong:  # noqa: BLE001 - nothing may climb out into the copy of the rehearsal that this process is
        return pickle.dumps(RehearsalError(f"the files' parsers couldn't be run: {type(wrong).__name__}: {wrong}"))
