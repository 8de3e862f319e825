"""The desk at which an office is planned: the brief on disk, the plan of it, what moved, and the way back."""

import asyncio
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import replace
from pathlib import Path
from threading import Event, RLock

from scantling import UserError, api
from scantling.web.stamps import BRIEF, Stamps, stamps
from scantling.web.state import EVIDENCE, PURCHASE, Mistake, State, mistakes_of
from scantling.web.ways import Ways
from scantling.web.worker import Told, Worker

MOST_UNDONE = 200


class Desk:
    """One folder's office. Every method may be called from any thread; `state` is replaced whole."""

    def __init__(self, folder: Path, firm: Path | None = None, worker: Worker | None = None) -> None:
        """`worker` is one that has begun with this office already."""
        self.folder, self.brief, self.firm = folder, folder / BRIEF, firm
        self._state = State()
        self.closed = False
        self._lock = RLock()
        self._ways = Ways()
        self._listeners: list[tuple[asyncio.AbstractEventLoop, asyncio.Queue[tuple[str, str]]]] = []
        self._disk: Stamps = ()
        self._settled = Event()  # not while a first plan is being made
        self._ready = worker is None
        self.worker = worker if worker is not None else Worker(self._heard)

    @property
    def state(self) -> State:
        """The office as it is now."""
        return self._state

    @state.setter
    def state(self, new: State) -> None:
        self._state = replace(new, serial=self._state.serial + 1)
        if new.first_awaited and not self.closed:
            self._settled.clear()
        else:
            self._settled.set()

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

    def leave(self) -> None:
        """End every tab's stream, and let nobody wait any longer."""
        self.closed = True
        self._settled.set()
        self.tell("closed")

    def close(self) -> None:
        """End the worker too."""
        self.worker.close()
        self.leave()

    # ---------------------------------------------------------------------------------------------------------- edits

    def set(self, edits: Mapping[str, str | None], because: str = "", seen: str | None = None) -> State:
        """Write answers into the brief, None to take one out. Raises UserError, and then nothing has changed.

        `seen` is the fingerprint that the tab saw. An edit of single lines is laid on whatever the brief says by now, so
        that two tabs lose nothing; only where `seen` is given must the brief be as it was.
        """
        with self._lock:
            there, before = api.text_of(self.brief), self.state.planned
            if before is None:
                before = api.planned_quickly(self.brief, self.firm, there.text, None)
            made = api.sketched(self.brief, there.text, before, edits, because, self.firm)
            return self._written(there, made.text_after, made.planned, there.seen if seen is None else seen)

    def rewrite(self, text_: str, seen: str) -> State:
        """Put a whole text in the brief's place. Raises UserError: for mistakes in it, and when the brief is no longer `seen`."""
        with self._lock:
            planned = api.planned_quickly(self.brief, self.firm, text_, self.state.planned)
            return self._written(api.text_of(self.brief), text_, planned, seen)

    def _written(self, there: api.Read, after: str, planned: api.Planned, seen: str) -> State:
        """The text written where the brief is as it was seen, and shown. Raises UserError."""
        now = api.rewritten(self.brief, after, seen) if after != there.text or seen != there.seen else there
        if after != there.text:
            self._ways.back = [*self._ways.back, (there.text, after)][-MOST_UNDONE:]
            self._ways.forth.clear()
        return self._begun(now, planned)

    def undo(self) -> State:
        """One edit back. Raises UserError when there is none, or when somebody else has changed the brief since."""
        with self._lock:
            return self._step(self._ways.back, self._ways.forth, "There is nothing to undo.")

    def redo(self) -> State:
        """One undone edit forth. Raises UserError as `undo` does."""
        with self._lock:
            return self._step(self._ways.forth, self._ways.back, "There is nothing to do again.")

    def _step(self, from_: list[tuple[str, str]], to: list[tuple[str, str]], none: str) -> State:
        if not from_:
            raise UserError(none)
        old, new = from_[-1]
        there = api.text_of(self.brief)
        if there.text != new:
            raise UserError(
                "The brief was changed by another program since, so this edit is not taken back; change the answer itself."
            )
        planned = api.planned_quickly(self.brief, self.firm, old, self.state.planned)
        now = api.rewritten(self.brief, old, there.seen)
        from_.pop()
        to.append((new, old))
        return self._begun(now, planned)

    @property
    def can_undo(self) -> bool:
        """Whether there is an edit to take back."""
        return bool(self._ways.back)

    @property
    def can_redo(self) -> bool:
        """Whether there is an edit to do again."""
        return bool(self._ways.forth)

    # ------------------------------------------------------------------------------------------------------ the plan

    def wait(self, seconds: float | None = None) -> None:
        """Wait, at most so long, while a first plan is being made."""
        self._settled.wait(seconds)

    def look_again(self, *, leaves: bool = False) -> State:
        """Read the disk; plan anew what was changed outside. With `leaves`, a first plan is left to the worker, and follows."""
        with self._lock:
            disk = stamps(self.folder, self.firm)
            if disk == self._disk:
                return self.state
            self._disk = disk
            if not self.brief.exists():
                self.state = State(self.state.revision + 1)
            else:
                self._read(leaves=leaves)
            self.worker.hear(self._heard)
            self.tell("redraw", str(self.state.serial))
            return self.state

    def _read(self, *, leaves: bool) -> None:
        """The brief as it stands on disk."""
        try:
            there = api.text_of(self.brief)
        except UserError as wrong:
            self._wrong((Mistake(1, 1, str(wrong)),))
            return
        if leaves and self.state.planned is None:
            self._left(there)
        else:
            self._planned(there)

    def _left(self, there: api.Read) -> None:
        """The first plan is left to the worker."""
        old = self.state
        self.state = State(
            old.revision + 1, there.text, there.seen, awaiting=(PURCHASE, EVIDENCE), edits=old.edits + (old.text not in ("", there.text)),
        )  # fmt: skip
        self.worker.ask_first(self.state.revision, self.folder, self.firm, there.text)

    def _planned(self, there: api.Read) -> None:
        """The brief planned here and now, or what is wrong with it."""
        try:
            planned = api.planned_quickly(self.brief, self.firm, there.text, self.state.planned)
        except UserError as wrong:
            self._wrong(mistakes_of(self.brief, there.text, self.firm, str(wrong)), there)
        else:
            self._begun(there, planned)

    def _wrong(self, mistakes: tuple[Mistake, ...], there: api.Read | None = None) -> None:
        """The last good plan stays in sight, with what is wrong now."""
        old = self.state
        there = there or api.Read(old.text, old.seen)
        self.state = replace(
            old, revision=old.revision + 1, text=there.text, seen=there.seen, mistakes=mistakes,
            awaiting=old.awaiting if old.planned is not None else (),
        )  # fmt: skip

    def _begun(self, there: api.Read, planned: api.Planned) -> State:
        """A new revision: shown at once, its heavy parts asked of the worker."""
        old = self.state
        self._disk = stamps(self.folder, self.firm)
        self.state = State(
            old.revision + 1, there.text, there.seen, planned, (PURCHASE, EVIDENCE) if planned.plan.sketched else (EVIDENCE,),
            initialled=old.initialled or (planned.plan if not planned.plan.sketched else None),
            edits=old.edits + (old.text not in ("", there.text)),
        )  # fmt: skip
        self.worker.ask(self.state.revision, self.brief, self.firm, there.text)
        self.tell("redraw", str(self.state.serial))
        return self.state

    def initial(self) -> State:
        """Somebody has seen what moved: from here on, what moves is told against this plan."""
        with self._lock:
            self.state = replace(self.state, revision=self.state.revision + 1, initialled=self.state.plan)
            self.worker.follow(self.state.revision)
            self.tell("redraw", str(self.state.serial))
            return self.state

    def stop_search(self) -> State:
        """Give up what still follows; the plan stays as it is shown."""
        with self._lock:
            if self.state.awaiting:
                self.worker.stop()
                self.state = replace(self.state, awaiting=(), stopped=True)
                self.tell("redraw", str(self.state.serial))
            return self.state

    def search_again(self) -> State:
        """Take up again what was stopped, or went wrong."""
        with self._lock:
            state, there = self.state, api.Read(self.state.text, self.state.seen)
            if state.planned is not None and not state.awaiting:
                self._begun(there, state.planned)
            elif state.stopped:
                self._left(there)
                self.tell("redraw", str(self.state.serial))
            return self.state

    def _heard(self, told: Told) -> None:
        """What the worker says of the newest revision; what it says of older ones is dropped."""
        with self._lock:
            first = self.state.first_awaited
            if told.revision != self.state.revision or (self.state.planned is None and not first):
                return
            if told.kind == "count":
                self.state = replace(self.state, looked_at=told.count)
                self.tell("count", f"{told.count:,}")
                return
            if first:
                self._heard_first(told)
            else:
                self.state = self._with(told)
            self.tell("redraw", str(self.state.serial))
        if told.kind == "proof" and not self._ready:
            self._ready = True
            self._made_ready()

    def _made_ready(self) -> None:
        """What plans an edit is loaded now, so that the first edit need not wait for it; from here on the inputs are our own."""
        there = self.state
        with suppress(UserError):  # whoever edits is told
            made = api.planned_quickly(self.brief, self.firm, there.text, there.planned)
            with self._lock:
                if self.state is there and there.planned is not None:
                    self._state = replace(there, planned=replace(there.planned, inputs=made.inputs))

    def _heard_first(self, told: Told) -> None:
        """The first plan, or why there is none; where the worker died it is made here."""
        there = api.Read(self.state.text, self.state.seen)
        if told.plan is not None and told.inputs is not None:
            planned = api.Planned(told.inputs, told.plan)
            self.state = replace(self.state, planned=planned, awaiting=(EVIDENCE,), initialled=told.plan)
        elif told.kind == "wrong":
            self._wrong(mistakes_of(self.brief, there.text, self.firm, told.says), there)
        else:
            self._planned(there)

    def _with(self, told: Told) -> State:
        state = self.state
        assert state.planned is not None
        if told.kind in ("wrong", "lost"):
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
