"""A process of its own for heavy reckoning, so that the pages stay quick: it plans a text, then confirms and proves the plan.

Light to load, so that the process can be started before anything else is.
"""

import contextlib
import pickle
import subprocess
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from threading import Lock, Thread
from typing import TYPE_CHECKING

from scantling.web.own_python import environment, python
from scantling.web.stamps import BRIEF, Stamps, stamps

if TYPE_CHECKING:  # all of them heavy
    from scantling.plan.evidence import Evidence
    from scantling.plan.make import Inputs, Plan
    from scantling.plan.pinned import PinPrice
    from scantling.plan.purchase import Confirmation

CHILD = "import gc; gc.disable(); from scantling.web.inside import main; main()"
LOST = "the reckoning ended before it was done; change anything, or open the office again"
FIRST = 1
"""The revision of an office whose brief is read for the first time."""


@dataclass(frozen=True)
class Asked:
    """A text to plan, None for the brief as it lies there; `whole` where the inputs are wanted too."""

    revision: int
    brief: Path
    firm: Path | None
    text: str | None
    whole: bool = False


@dataclass(frozen=True)
class Told:
    """What the worker says of a revision: `kind` is count, purchase, proof, wrong, or lost when it died."""

    revision: int
    kind: str
    count: int = 0
    plan: "Plan | None" = None
    inputs: "Inputs | None" = None
    confirmed: "Confirmation | None" = None
    proof: "Evidence | None" = None
    pin_prices: "tuple[PinPrice, ...]" = ()
    says: str = ""


class Worker:
    """Asks a child process, and hands on what it says. The newest text overtakes older ones."""

    def __init__(self, heard: Callable[[Told], None] | None = None) -> None:
        self._heard = heard
        self._lock = Lock()
        self._child: subprocess.Popen[bytes] | None = None
        self._last: Asked | None = None
        self._ahead: Stamps | None = None
        self._alias: dict[int, int] = {}
        self._closed = False

    def begin(self, folder: Path, firm: Path | None) -> None:
        """Start the process, and let it make an office's first plan, if there is a brief, before anybody hears of it."""
        seen = stamps(folder, firm)
        if not (folder / BRIEF).exists():
            self.warm()
            return
        self._ahead = seen
        self._ask(Asked(FIRST, folder / BRIEF, firm, None, whole=True))

    def hear(self, heard: Callable[[Told], None]) -> None:
        """From now on this is told what the process says, and has said."""
        with self._lock:
            deaf, self._heard = self._heard is None, heard
            if deaf and self._child is not None:
                self._listen_to(self._child)

    def ask(self, revision: int, brief: Path, firm: Path | None, text: str) -> None:
        """Plan this text whole; what is being planned is dropped."""
        self._ask(Asked(revision, brief, firm, text))

    def ask_first(self, revision: int, folder: Path, firm: Path | None, text: str) -> None:
        """The same for a first plan, with its inputs; what was begun of the same files counts as asked for."""
        with self._lock:
            begun, self._ahead = self._ahead, None
            same = revision == FIRST and begun is not None and self._last is not None
        if not same or begun != stamps(folder, firm):
            self._ask(Asked(revision, folder / BRIEF, firm, text, whole=True))

    def _ask(self, asked: Asked) -> None:
        with self._lock:
            self._last, self._alias = asked, {}
            try:
                self._send(asked)
            except OSError:  # it died meanwhile: a new one is asked the same
                self._ended()
                self._send(asked)

    def _send(self, asked: Asked) -> None:
        child = self._running()
        assert child.stdin is not None
        pickle.dump(asked, child.stdin)
        child.stdin.flush()

    def follow(self, revision: int) -> None:
        """What is being planned counts for this revision from now on: the text is the same."""
        with self._lock:
            if self._last is not None:
                self._alias[self._last.revision] = revision

    def stop(self) -> None:
        """Give up what is being reckoned; the next text gets a new process."""
        with self._lock:
            self._last = None
            self._ended()

    def close(self) -> None:
        """End for good."""
        with self._lock:
            self._closed = True
            self._ended()

    def _ended(self) -> None:
        child, self._child = self._child, None
        if child is not None:
            child.kill()
            child.wait()
            assert child.stdin is not None
            with contextlib.suppress(OSError):  # it may hold what the child never read
                child.stdin.close()

    def warm(self) -> None:
        """Start the process before it is needed."""
        with self._lock:
            self._running()

    def _running(self) -> "subprocess.Popen[bytes]":
        if self._child is None or self._child.poll() is not None:
            self._ended()
            self._child = subprocess.Popen(  # noqa: S603 - this program itself
                python("-c", CHILD), stdin=subprocess.PIPE, stdout=subprocess.PIPE, start_new_session=True, env=environment(),
            )  # fmt: skip
            if self._heard is not None:
                self._listen_to(self._child)
        return self._child

    def _listen_to(self, child: "subprocess.Popen[bytes]") -> None:
        Thread(target=self._listen, args=[child], daemon=True).start()

    def _listen(self, child: "subprocess.Popen[bytes]") -> None:
        assert child.stdout is not None
        while True:
            try:
                told = pickle.load(child.stdout)  # noqa: S301 - our own child's words
            except (EOFError, OSError, pickle.UnpicklingError, ValueError):
                break
            self._pass(told)
        child.stdout.close()
        with self._lock:
            lost = self._last if child is self._child and not self._closed else None
        if lost is not None:
            self._pass(Told(lost.revision, "lost", says=LOST))

    def _pass(self, told: Told) -> None:
        with self._lock:
            revision = self._alias.get(told.revision, told.revision)
            heard = self._heard
        assert heard is not None
        heard(Told(**{**told.__dict__, "revision": revision}))
