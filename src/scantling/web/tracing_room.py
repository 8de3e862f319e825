"""Plans of the tracings beside a brief, reckoned one after the other in a process of their own, and kept while they hold."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from hashlib import blake2s
from pathlib import Path
from threading import Lock
from time import monotonic
from typing import Any
from weakref import WeakKeyDictionary, finalize, ref

from scantling import UserError, api
from scantling.api.planning import inputs_at
from scantling.api.tracing import Tracing, as_brief
from scantling.plan.comparing import Comparison
from scantling.web.desk import Desk
from scantling.web.worker import Told, Worker

KEPT = 12
TELLS_EVERY = 0.5


@dataclass(frozen=True)
class Reckoned:
    """How far the plan of a tracing is: a plan, or what is wrong, or how many sets were looked at so far."""

    planned: api.Planned | None = None
    wrong: str = ""
    looked_at: int = 0

    @property
    def waiting(self) -> bool:
        """Whether the plan still follows."""
        return self.planned is None and not self.wrong


@dataclass(frozen=True)
class _Wish:
    key: str
    name: Path
    text: str


class Room:
    """Reckons the tracings of one desk. Every method may be called from any thread."""

    def __init__(self, desk: Desk) -> None:
        self._desk = ref(desk)
        self._lock = Lock()
        self._known: dict[str, Reckoned] = {}
        self._queue: list[_Wish] = []
        self._now: tuple[int, _Wish] | None = None
        self._serial = 0
        self._told_at = 0.0
        self._compared: dict[tuple[int, str], tuple[Any, Comparison]] = {}
        self._worker = Worker(self._heard)
        finalize(desk, self._worker.close)

    def plans(self, tracings: Iterable[Tracing]) -> Mapping[str, Reckoned]:
        """What is known of each tracing by its short name; what is not is asked for."""
        desk = self._desk()
        if desk is None:
            return {}
        beside = surroundings(desk)
        with self._lock:
            wishes = {one.slug: _wish(desk, one, beside) for one in tracings if not one.wrong}
            wanted = {wish.key for wish in wishes.values()}
            self._queue = [wish for wish in wishes.values() if self._waits(wish)]
            if self._now is None or self._now[1].key not in wanted:
                self._next(desk)
            return {slug: self._known.get(wish.key, Reckoned()) for slug, wish in wishes.items()}

    def known(self, one: Tracing) -> Reckoned:
        """What is known of one tracing; nothing is asked for."""
        desk = self._desk()
        wish = _wish(desk, one, surroundings(desk)) if desk is not None else None
        return self._known.get(wish.key, Reckoned()) if wish is not None else Reckoned()

    def forget(self, one: Tracing) -> None:
        """Let a tracing be reckoned anew when it is next looked at."""
        desk = self._desk()
        if desk is not None:
            self._known.pop(_wish(desk, one, surroundings(desk)).key, None)

    def _waits(self, wish: _Wish) -> bool:
        """Whether it is still to be asked for."""
        now = self._now is not None and self._now[1].key == wish.key
        return not now and self._known.get(wish.key, Reckoned()).waiting

    def close(self) -> None:
        """End the process."""
        self._worker.close()

    def _next(self, desk: Desk) -> None:
        """Ask for the first that waits."""
        self._now = None
        if self._queue and not desk.closed:
            wish = self._queue.pop(0)
            self._serial += 1
            self._now = self._serial, wish
            self._known[wish.key] = Reckoned()
            self._worker.ask(self._serial, wish.name, desk.firm, wish.text)

    def _heard(self, told: Told) -> None:
        """What the worker says; a plan is taken, what follows it (second solver, proof) is of no use here."""
        desk = self._desk()
        if desk is None or desk.closed:
            return
        with self._lock:
            if self._now is None or self._now[0] != told.revision:
                return
            tell = self._taken(desk, self._now[1], told)
        if tell:
            desk.tell("redraw", str(desk.state.revision))

    def _taken(self, desk: Desk, wish: _Wish, told: Told) -> bool:
        """Keep what was said; whether the tabs should know."""
        if told.kind == "count":
            self._known[wish.key] = replace(self._known[wish.key], looked_at=told.count)
            late = monotonic() - self._told_at > TELLS_EVERY
            self._told_at = monotonic() if late else self._told_at
            return late
        self._known[wish.key] = _outcome(desk, wish, told)
        while len(self._known) > KEPT:
            del self._known[next(iter(self._known))]
        self._next(desk)
        return True

    def compared(self, old: api.Planned, new: api.Planned) -> Comparison:
        """What differs between the plan and a tracing's; made once for the two."""
        key = id(old.plan.figures), str(id(new.plan.figures))
        kept = self._compared.get(key)
        if kept is None or kept[0][0] is not old.plan.figures or kept[0][1] is not new.plan.figures:
            kept = (old.plan.figures, new.plan.figures), api.compare_planned(old, new)
            self._compared[key] = kept
            while len(self._compared) > KEPT:
                del self._compared[next(iter(self._compared))]
        return kept[1]


def _outcome(desk: Desk, wish: _Wish, told: Told) -> Reckoned:
    if told.plan is None:
        return Reckoned(wrong=told.says)
    try:
        return Reckoned(api.Planned(inputs_at(wish.name, desk.firm, wish.text), told.plan))
    except UserError as wrong:  # what lies beside the brief has changed just now; it is asked for anew
        return Reckoned(wrong=str(wrong))


def _wish(desk: Desk, one: Tracing, beside: str) -> _Wish:
    stamp = blake2s(f"{beside}\0{one.slug}\0{one.text}".encode(), digest_size=16).hexdigest()
    return _Wish(stamp, as_brief(desk.brief, one.slug), one.text)


def surroundings(desk: Desk) -> str:
    """What tells that what stands, or the firm's rows, have changed."""
    folder = desk.firm or desk.folder / "firm"
    files = (
        [desk.folder / "standing.yaml", *sorted(folder.glob("*"))]
        if folder.is_dir()
        else [desk.folder / "standing.yaml"]
    )
    told = [(str(path), path.stat().st_mtime_ns, path.stat().st_size) for path in files if path.is_file()]
    return repr(told)


_ROOMS: "WeakKeyDictionary[Desk, Room]" = WeakKeyDictionary()
_ROOMS_LOCK = Lock()


def room_of(desk: Desk) -> Room:
    """The room of a desk, one each."""
    with _ROOMS_LOCK:
        if desk not in _ROOMS:
            _ROOMS[desk] = Room(desk)
        return _ROOMS[desk]
