"""The desk at which an office is planned: the brief on disk, the plan of it, what moved, and the way back."""

import asyncio
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from threading import RLock

from scantling import UserError, api
from scantling.figures.numbers import in_currency, text
from scantling.plan.make import Plan
from scantling.web.worker import Told, Worker

BRIEF = "brief.yaml"
PURCHASE, EVIDENCE = "purchase", "proof"
MOST_UNDONE = 200


@dataclass(frozen=True)
class Mistake:
    """What is wrong with the brief on disk, and where."""

    line: int
    column: int
    says: str


@dataclass(frozen=True)
class State:
    """The office at one moment. With `mistakes` the brief on disk can't be planned, and the plan is the last good one."""

    revision: int = 0
    text: str = ""
    seen: str = ""
    planned: api.Planned | None = None
    awaiting: tuple[str, ...] = ()
    mistakes: tuple[Mistake, ...] = ()
    initialled: Plan | None = None
    looked_at: int = 0
    """Sets that the search has looked at so far."""
    wrong: str = ""
    """Why the reckoning that should follow failed."""
    serial: int = 0
    """Counts every change of what is shown, also those that the worker brings."""

    @property
    def plan(self) -> Plan | None:
        """The plan that is shown."""
        return self.planned.plan if self.planned is not None else None

    @cached_property
    def moved(self) -> Mapping[str, tuple[str, str]]:
        """Figures whose words are others than when somebody last initialled: before and after."""
        return moved(self.initialled, self.plan)


def moved(old: Plan | None, new: Plan | None) -> Mapping[str, tuple[str, str]]:
    """Figures whose printed words differ between two plans; a figure that one of them lacks is a dash there."""
    if old is None or new is None or old is new:
        return {}
    found = {}
    for id_ in (*new.figures, *(id_ for id_ in old.figures if id_ not in new.figures)):
        before, after = _words(old, id_), _words(new, id_)
        if before != after:
            found[id_] = before, after
    return found


def _words(plan: Plan, id_: str) -> str:
    figure = plan.figures.get(id_)
    return in_currency(text(figure), plan.currency) if figure is not None else "–"


@dataclass
class Ways:
    """The texts to go back and forth to."""

    back: list[tuple[str, str]] = field(default_factory=list)
    forth: list[tuple[str, str]] = field(default_factory=list)


class Desk:
    """One folder's office. Every method may be called from any thread; `state` is replaced whole."""

    def __init__(self, folder: Path, firm: Path | None = None) -> None:
        self.folder, self.brief, self.firm = folder, folder / BRIEF, firm
        self._state = State()
        self.closed = False
        self._lock = RLock()
        self._ways = Ways()
        self._listeners: list[tuple[asyncio.AbstractEventLoop, asyncio.Queue[tuple[str, str]]]] = []
        self._disk: tuple[object, ...] = ()
        self.worker = Worker(self._heard)

    @property
    def state(self) -> State:
        """The office as it is now."""
        return self._state

    @state.setter
    def state(self, new: State) -> None:
        self._state = replace(new, serial=self._state.serial + 1)

    # ---------------------------------------------------------------------------------------------------- what happens

    @contextmanager
    def listening(self) -> Iterator["asyncio.Queue[tuple[str, str]]"]:
        """A queue of what happens, for one tab."""
        entry = asyncio.get_running_loop(), asyncio.Queue[tuple[str, str]]()
        self._listeners.append(entry)
        try:
            yield entry[1]
        finally:
            self._listeners.remove(entry)

    def tell(self, event: str, told: str = "") -> None:
        """Tell every tab; callable from any thread."""
        for loop, queue in list(self._listeners):
            loop.call_soon_threadsafe(queue.put_nowait, (event, told))

    def close(self) -> None:
        """End the worker and every tab's stream."""
        self.closed = True
        self.worker.close()
        self.tell("closed")

    # ---------------------------------------------------------------------------------------------------------- edits

    def set(self, edits: Mapping[str, str | None], because: str = "", seen: str | None = None) -> State:
        """Write answers into the brief, None to take one out. Raises UserError, and then nothing has changed.

        `seen` is the fingerprint that the tab saw. An edit of single lines is laid on whatever the brief says by now, so
        that two tabs lose nothing; only where `seen` is given must the brief be as it was.
        """
        with self._lock:
            before = self.state.planned
            changed, planned = _changed(self, edits, because, seen, before)
            return self._new(changed.text_before, changed.text_after, planned)

    def rewrite(self, text_: str, seen: str) -> State:
        """Put a whole text in the brief's place. Raises UserError: for mistakes in it, and when the brief is no longer `seen`."""
        with self._lock:
            planned = api.planned_quickly(self.brief, self.firm, text_, self.state.planned)
            before = api.rewritten(self.brief, text_, seen)
            return self._new(before, text_, planned)

    def undo(self) -> State:
        """One edit back. Raises UserError when there is none, or when somebody else has changed the brief since."""
        return self._step(self._ways.back, self._ways.forth, "There is nothing to undo.")

    def redo(self) -> State:
        """One undone edit forth. Raises UserError as `undo` does."""
        return self._step(self._ways.forth, self._ways.back, "There is nothing to do again.")

    def _step(self, from_: list[tuple[str, str]], to: list[tuple[str, str]], none: str) -> State:
        with self._lock:
            if not from_:
                raise UserError(none)
            old, new = from_[-1]
            now = api.text_of(self.brief)
            if now != new:
                raise UserError(
                    "The brief was changed by another program since, so this edit is not taken back; change the answer itself."
                )
            planned = api.planned_quickly(self.brief, self.firm, old, self.state.planned)
            api.rewritten(self.brief, old, api.fingerprint(new.encode()))
            from_.pop()
            to.append((new, old))
            return self._begun(old, planned)

    @property
    def can_undo(self) -> bool:
        """Whether there is an edit to take back."""
        return bool(self._ways.back)

    @property
    def can_redo(self) -> bool:
        """Whether there is an edit to do again."""
        return bool(self._ways.forth)

    def _new(self, before: str, after: str, planned: api.Planned) -> State:
        if before != after:
            self._ways.back = [*self._ways.back, (before, after)][-MOST_UNDONE:]
            self._ways.forth.clear()
        return self._begun(after, planned)

    # ------------------------------------------------------------------------------------------------------ the plan

    def look_again(self) -> State:
        """Read the disk; plan anew what was changed outside."""
        with self._lock:
            disk = self._stamps()
            if disk == self._disk:
                return self.state
            self._disk = disk
            if not self.brief.exists():
                self.state = State(self.state.revision + 1)
            else:
                self._read()
            self.tell("redraw", str(self.state.serial))
            return self.state

    def _read(self) -> None:
        """The brief as it stands on disk."""
        try:
            text_ = api.text_of(self.brief)
            seen = api.fingerprint(text_.encode())
        except UserError as wrong:
            self.state = replace(self.state, revision=self.state.revision + 1, mistakes=(Mistake(1, 1, str(wrong)),))
            return
        try:
            planned = api.planned_quickly(self.brief, self.firm, text_, self.state.planned)
        except UserError as wrong:
            found = api.all_mistakes(self.brief, text_, self.firm) or ((1, 1, str(wrong)),)
            mistakes = tuple(Mistake(*one) for one in found)
            self.state = replace(
                self.state, revision=self.state.revision + 1, text=text_, seen=seen, mistakes=mistakes
            )
            return
        self._begun(text_, planned)

    def _begun(self, text_: str, planned: api.Planned) -> State:
        """A new revision: shown at once, its heavy parts asked of the worker."""
        old = self.state
        self._disk = self._stamps()
        self.state = State(
            old.revision + 1, text_, api.fingerprint(text_.encode()), planned, (PURCHASE, EVIDENCE) if planned.plan.sketched else (EVIDENCE,),
            initialled=old.initialled or (planned.plan if not planned.plan.sketched else None),
        )  # fmt: skip
        self.worker.ask(self.state.revision, self.brief, self.firm, text_)
        self.tell("redraw", str(self.state.serial))
        return self.state

    def initial(self) -> State:
        """Somebody has seen what moved: from here on, what moves is told against this plan."""
        with self._lock:
            self.state = replace(self.state, revision=self.state.revision + 1, initialled=self.state.plan)
            self.worker.follow(self.state.revision)
            self.tell("redraw", str(self.state.serial))
            return self.state

    def _heard(self, told: Told) -> None:
        """What the worker says of the newest revision; what it says of older ones is dropped."""
        with self._lock:
            if told.revision != self.state.revision or self.state.planned is None:
                return
            if told.kind == "count":
                self.state = replace(self.state, looked_at=told.count)
                self.tell("count", f"{told.count:,}")
                return
            self.state = self._with(told)
            self.tell("redraw", str(self.state.serial))

    def _with(self, told: Told) -> State:
        state = self.state
        assert state.planned is not None
        if told.kind == "wrong":
            return replace(state, awaiting=(), wrong=told.says)
        plan = told.plan if told.plan is not None else state.planned.plan
        if told.kind == "purchase":
            awaiting: tuple[str, ...] = (EVIDENCE,)
        else:
            plan = replace(state.planned.plan, confirmed=told.confirmed, proof=told.proof, pin_prices=told.pin_prices)
            awaiting = ()
        return replace(
            state,
            planned=api.Planned(state.planned.inputs, plan),
            awaiting=awaiting,
            initialled=state.initialled or plan,
            wrong="",
        )

    def _stamps(self) -> tuple[object, ...]:
        """What tells that a file of the office has changed."""
        names = [self.brief, self.folder / "standing.yaml", *sorted((self.firm or self.folder / "firm").glob("*"))]
        return tuple((str(path), *_stamp(path)) for path in names)


def _stamp(path: Path) -> tuple[int, int, int]:
    try:
        told = path.stat()
    except OSError:
        return 0, 0, 0
    return told.st_ino, told.st_mtime_ns, told.st_size


def _changed(
    desk: Desk, edits: Mapping[str, str | None], because: str, seen: str | None, before: api.Planned | None
) -> tuple[api.Changed, api.Planned]:
    """The edit written, and the plan of it. Raises UserError."""
    changed = api.set_values(desk.brief, edits, seen, because)
    return changed, api.planned_quickly(desk.brief, desk.firm, changed.text_after, before)


Listener = Callable[[Told], None]
