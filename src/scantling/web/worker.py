"""A process of its own for heavy reckoning, so that the pages stay quick: it plans a text, then confirms and proves the plan."""

import contextlib
import os
import pickle
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from threading import Lock, Thread
from typing import IO, Any

from scantling import UserError
from scantling.plan.evidence import Evidence
from scantling.plan.make import Plan
from scantling.plan.pinned import PinPrice
from scantling.plan.purchase import Confirmation

LOST = "the reckoning ended before it was done; change anything, or open the office again"
EVERY = 2000
"""So many sets are looked at between two signs of life."""


@dataclass(frozen=True)
class Asked:
    """A text to plan."""

    revision: int
    brief: Path
    firm: Path | None
    text: str


@dataclass(frozen=True)
class Told:
    """What the worker says of a revision: `kind` is count, purchase, proof or wrong."""

    revision: int
    kind: str
    count: int = 0
    plan: Plan | None = None
    confirmed: Confirmation | None = None
    proof: Evidence | None = None
    pin_prices: tuple[PinPrice, ...] = ()
    says: str = ""


class OvertakenError(Exception):
    """A newer text was asked for meanwhile."""


class Worker:
    """Asks a child process, and hands on what it says. The newest text overtakes older ones."""

    def __init__(self, heard: Callable[[Told], None]) -> None:
        self._heard = heard
        self._lock = Lock()
        self._child: subprocess.Popen[bytes] | None = None
        self._last: Asked | None = None
        self._alias: dict[int, int] = {}
        self._closed = False

    def ask(self, revision: int, brief: Path, firm: Path | None, text: str) -> None:
        """Plan this text whole; what is being planned is dropped."""
        with self._lock:
            self._last, self._alias = Asked(revision, brief, firm, text), {}
            child = self._running()
            assert child.stdin is not None
            try:
                pickle.dump(self._last, child.stdin)
                child.stdin.flush()
            except OSError:  # it died meanwhile: a new one is asked the same
                self._ended()
                child = self._running()
                assert child.stdin is not None
                pickle.dump(self._last, child.stdin)
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
            words = [sys.executable, "-c", "from scantling.web.worker import main; main()"]
            self._child = subprocess.Popen(  # noqa: S603 - this program itself
                words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, start_new_session=True
            )
            Thread(target=self._listen, args=[self._child], daemon=True).start()
        return self._child

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
            self._pass(
                Told(
                    lost.revision,
                    "wrong",
                    says=LOST,
                )
            )

    def _pass(self, told: Told) -> None:
        with self._lock:
            revision = self._alias.get(told.revision, told.revision)
        self._heard(Told(**{**told.__dict__, "revision": revision}))


class Inside:
    """The child's side: reads what is asked in a thread, so that a search can see that it was overtaken."""

    def __init__(self, asks: IO[bytes], says: IO[bytes]) -> None:
        self.asks, self.says = asks, says
        self.newest: Asked | None = None
        self.ended = False

    def read(self) -> None:
        """Take in what is asked until the parent is gone."""
        with contextlib.suppress(EOFError, OSError):
            while True:
                self.newest = pickle.load(self.asks)  # noqa: S301 - our own parent's words
        self.ended = True

    def say(self, told: Told) -> None:
        """To the parent."""
        pickle.dump(told, self.says)
        self.says.flush()

    def tell(self, asked: Asked) -> Callable[[int], None]:
        """Passes counts on; raises OvertakenError in a search that nobody waits for."""
        last = 0

        def told(count: int) -> None:
            nonlocal last
            if self.newest is not asked or self.ended:
                raise OvertakenError
            if count - last >= EVERY:
                last = count
                self.say(Told(asked.revision, "count", count))

        return told

    def work(self, asked: Asked) -> None:
        """Plan, then confirm and prove."""
        from scantling import api  # noqa: PLC0415 - heavy; loaded in the child, once

        tell = self.tell(asked)
        try:
            planned = api.planned(asked.brief, tell, asked.firm, asked.text)
            self.say(Told(asked.revision, "purchase", plan=planned.plan))
            tell(0)
            whole = api.proved_twice(planned, tell)
            self.say(
                Told(
                    asked.revision, "proof", confirmed=whole.confirmed, proof=whole.proof, pin_prices=whole.pin_prices
                )
            )
        except UserError as wrong:
            self.say(Told(asked.revision, "wrong", says=str(wrong)))
        except OvertakenError:
            return


def main() -> None:
    """Serve the parent until it is gone."""
    import time  # noqa: PLC0415 - only the child waits

    from scantling import api  # noqa: PLC0415 - warm before the first text comes

    inside = Inside(sys.stdin.buffer, sys.stdout.buffer)
    sys.stdout = sys.stderr  # whatever prints must not speak among the pickles
    api.known_sections()
    reading: Any = Thread(target=inside.read, daemon=True)
    reading.start()
    done: Asked | None = None
    while not inside.ended:
        asked = inside.newest
        if asked is None or asked is done:
            time.sleep(0.003)
            continue
        done = asked
        inside.work(asked)
    os._exit(0)  # the reading thread holds standard input to the end
