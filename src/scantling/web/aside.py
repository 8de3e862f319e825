"""Works out beside the pages what takes too long for them: the newest value is kept, and every tab is told when it is there."""

from collections.abc import Callable
from dataclasses import dataclass
from threading import Lock, Thread
from typing import Any

from scantling import UserError


@dataclass(frozen=True)
class Found:
    """A value, or why there is none; `of` is what it was worked out from."""

    of: tuple[Any, ...]
    value: Any = None
    wrong: str = ""

    def fits(self, of: tuple[Any, ...]) -> bool:
        """Whether it was worked out from these: the very same objects, or equal texts."""
        return len(of) == len(self.of) and all(
            one is other or (isinstance(one, str) and one == other) for one, other in zip(of, self.of, strict=True)
        )


class Aside:
    """One value a name. `tell` is called, from another thread, when a value is there."""

    def __init__(self, tell: Callable[[], None]) -> None:
        self._tell = tell
        self._lock = Lock()
        self._found: dict[str, Found] = {}
        self._wanted: dict[str, tuple[tuple[Any, ...], Callable[[], Any]]] = {}
        self._threads: dict[str, Thread] = {}

    def get(self, name: str, of: tuple[Any, ...], make: Callable[[], Any]) -> Found | None:
        """The value for `of`; None while it is worked out, which begins now. A UserError of `make` is told in its place."""
        with self._lock:
            found = self._found.get(name)
            if found is not None and found.fits(of):
                return found
            self._wanted[name] = of, make
            if name not in self._threads:
                self._threads[name] = Thread(target=self._work, args=(name,), daemon=True)
                self._threads[name].start()
        return None

    def last(self, name: str) -> Found | None:
        """The newest value there is, whatever it was worked out from."""
        with self._lock:
            return self._found.get(name)

    def wait(self, name: str, seconds: float) -> None:
        """Wait until nothing is worked out under this name."""
        with self._lock:
            thread = self._threads.get(name)
        if thread is not None:
            thread.join(seconds)

    def _work(self, name: str) -> None:
        """Work until nothing newer is wanted."""
        while True:
            with self._lock:
                wanted = self._wanted.pop(name, None)
                if wanted is None:
                    del self._threads[name]
                    return
            of, make = wanted
            try:
                found = Found(of, make())
            except UserError as wrong:
                found = Found(of, wrong=str(wrong))
            with self._lock:
                self._found[name] = found
            self._tell()
