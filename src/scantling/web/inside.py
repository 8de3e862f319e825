"""The child's side of the reckoning: plans a text, then confirms and proves the plan, and says what it found to its parent."""

import contextlib
import gc
import os
import pickle
import sys
import time
from collections.abc import Callable
from threading import Thread
from typing import IO

from scantling import UserError, api
from scantling.web.worker import Asked, Told

EVERY = 2000
"""So many sets are looked at between two signs of life."""
LOOKS = 0.003


class OvertakenError(Exception):
    """A newer text was asked for meanwhile."""


class Inside:
    """Reads what is asked in a thread, so that a search can see that it was overtaken."""

    def __init__(self, asks: IO[bytes], says: IO[bytes]) -> None:
        self.asks, self.says = asks, says
        self.newest: Asked | None = None

    def read(self) -> None:
        """Take in what is asked until the parent is gone; then nobody waits for anything any more."""
        with contextlib.suppress(EOFError, OSError, pickle.UnpicklingError):  # the parent may die within a word
            while True:
                self.newest = pickle.load(self.asks)  # noqa: S301 - our own parent's words
        os._exit(0)

    def say(self, told: Told) -> None:
        """To the parent."""
        pickle.dump(told, self.says, pickle.HIGHEST_PROTOCOL)
        self.says.flush()

    def tell(self, asked: Asked) -> Callable[[int], None]:
        """Passes counts on; raises OvertakenError in a search that nobody waits for."""
        last = 0

        def told(count: int) -> None:
            nonlocal last
            if self.newest is not asked:
                raise OvertakenError
            if count - last >= EVERY:
                last = count
                self.say(Told(asked.revision, "count", count))

        return told

    def work(self, asked: Asked) -> None:
        """Plan, then confirm and prove."""
        tell = self.tell(asked)
        try:
            text = asked.text if asked.text is not None else api.text_of(asked.brief).text
            planned = api.planned(asked.brief, tell, asked.firm, text)
            self.say(
                Told(asked.revision, "purchase", plan=planned.plan, inputs=planned.inputs if asked.whole else None)
            )
            gc.enable()
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
    inside = Inside(sys.stdin.buffer, sys.stdout.buffer)
    sys.stdout = sys.stderr  # whatever prints must not speak among the pickles
    Thread(target=inside.read, daemon=True).start()
    done: Asked | None = None
    try:
        while True:
            asked = inside.newest
            if asked is None or asked is done:
                time.sleep(LOOKS)
                continue
            done = asked
            inside.work(asked)
    except BrokenPipeError:
        os._exit(0)  # the parent is gone, and the reading thread holds standard input to the end
