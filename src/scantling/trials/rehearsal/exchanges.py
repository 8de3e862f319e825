"""Many exchanges of question and answer at a time, in one loop: a window of them under way, each asking again until it is over."""

import select
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from time import monotonic
from typing import Protocol

WINDOW, CLOSERS = 256, 48
PAUSE = 0.02
"""How often it is looked whose patience is over, seconds."""


class Exchange(Protocol):
    """One station's talk with a server."""

    over: bool
    due: float
    """When it must be asked again or given up, by the clock that never goes back."""

    def fileno(self) -> int:
        """The socket on which answers come; open once begun."""

    def begin(self, now: float) -> None:
        """Open the socket and ask for the first time."""

    def heard(self, now: float) -> None:
        """Something came in."""

    def close(self) -> None:
        """Let go of the socket."""

    def late(self, now: float) -> None:
        """The time is over: ask again, or give up."""


def quiet(_done: int, _all: int) -> None:
    """Tell nobody."""


def carried(exchanges: Sequence[Exchange], tell: Callable[[int, int], None] = quiet, window: int = WINDOW) -> None:
    """Carry them all to their end, a window of them at a time, and tell how many are over.

    Sockets are closed on the way, side by side: the kernel takes some milliseconds for each that hears a wire.
    """
    waiting, live = list(reversed(exchanges)), dict[int, Exchange]()
    done, looked = 0, 0.0
    with select.epoll() as poll, ThreadPoolExecutor(CLOSERS) as closers:
        while waiting or live:
            done += _begun(waiting, live, poll, window)
            touched = [at for at, _ in poll.poll(PAUSE)]
            now = monotonic()
            if now - looked >= PAUSE:
                looked, touched = now, list(live)
            _gone_on([live[at] for at in touched], now)
            over = [at for at in touched if live[at].over]
            for at in over:
                poll.unregister(at)
                closers.submit(live.pop(at).close)
            done += len(over)
            tell(done, len(exchanges))


def _begun(waiting: list[Exchange], live: dict[int, Exchange], poll: select.epoll, window: int) -> int:
    """Begin as many as the window lets; how many of them were over at once."""
    failed = 0
    while waiting and len(live) < window:
        one = waiting.pop()
        one.begin(monotonic())
        if one.over:
            one.close()
            failed += 1
            continue
        live[one.fileno()] = one
        poll.register(one.fileno(), select.EPOLLIN)
    return failed


def _gone_on(touched: Sequence[Exchange], now: float) -> None:
    """Each hears what came for it, and asks again or gives up when it is time."""
    for one in touched:
        one.heard(now)
        if not one.over and one.due <= now:
            one.late(now)
