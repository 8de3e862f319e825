"""Work in hand: long work as child processes, two at once, told as it goes, stopped when asked, its results kept."""

import pickle
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from hashlib import sha256
from itertools import count
from pathlib import Path
from threading import Condition, Timer
from time import monotonic

from scantling import UserError
from scantling.api.weighing import RECORD as WEIGHED, read_weighing
from scantling.figures.spelled import shown
from scantling.plan.weighing import Weighed
from scantling.web.errand import Errand, Outcome
from scantling.web.kinds import KINDS, WEIGHING, Kind, Place, came_to, chosen, command

AT_ONCE, MOST_KEPT = 2, 20
SELDOM = 0.4  # seconds between two tellings: every tab draws its sheet again at each
STOPPED_EARLY = 130  # as a shell tells an interrupt
WAITING, GOING, STOPPING, ENDED = "waiting", "going on", "stopping", "ended"


@dataclass(frozen=True)
class Job:
    """One piece of work as it is now. `seen` is the fingerprint of what it was made from; seconds count from its start."""

    id: str
    kind: Kind
    choices: Mapping[str, str]
    seen: str
    state: str = WAITING
    step: str = ""
    steps: int = 0
    asked_at: str = ""
    begun: float = 0.0
    ended: float = 0.0
    code: int | None = None
    stopped: bool = False
    words: tuple[str, ...] = ()

    @property
    def in_hand(self) -> bool:
        """Whether it has not ended."""
        return self.state != ENDED

    @property
    def well(self) -> bool:
        """Whether it came to an end that its kind knows."""
        return self.code in self.kind.ends

    @property
    def seconds(self) -> float:
        """How long it has taken so far, or took."""
        return (self.ended or monotonic()) - self.begun if self.begun else 0.0

    @property
    def share(self) -> float:
        """How much is done, by its steps, from 0 to 1; never quite all before it has ended."""
        return 1.0 if self.state == ENDED else min(max(self.steps - 1, 0) / self.kind.steps, 0.95)

    @property
    def says(self) -> str:
        """What it came to, or what it does now."""
        if self.state == ENDED:
            return came_to(self.kind, self.code, self.stopped, self.words)
        return {WAITING: "waits until other work has ended", STOPPING: "is being stopped"}.get(self.state, self.step)


class Jobs:
    """All work of one office. `tell` hears "work" when something moved and "redraw" when a result is there."""

    def __init__(self, place: Place, tell: Callable[[str], None]) -> None:
        self.place, self._tell = place, tell
        self.kept: dict[str, Weighed] = {}
        """Results that lie in no file, by kind of work."""
        self.kept_of: dict[str, str] = {}
        """The plans they are of, by their identity."""
        self.unread = ""
        """Why what an earlier office kept can't be used; empty where it can, or where there is none."""
        self._recalled = False
        self._jobs: dict[str, Job] = {}
        self._errands: dict[str, Errand] = {}
        self._moved, self._numbers = Condition(), count(1)
        self._told, self._closed = 0.0, False
        self._due: Timer | None = None

    # ------------------------------------------------------------------------------------------------ what is asked

    @property
    def every(self) -> tuple[Job, ...]:
        """All work, the newest first."""
        with self._moved:
            return tuple(reversed(self._jobs.values()))

    @property
    def in_hand(self) -> tuple[Job, ...]:
        """What has not ended, in the order in which it was asked for."""
        return tuple(job for job in reversed(self.every) if job.in_hand)

    def last(self, kind: str) -> Job | None:
        """The newest work of a kind."""
        return next((job for job in self.every if job.kind.key == kind), None)

    def outdated(self, job: Job) -> bool:
        """Whether the brief or what lies beside it is another than the work was made from."""
        return job.seen != fingerprint(self.place)

    def wait(self, id_: str, seconds: float) -> Job:
        """The work when it has ended, or as it is after so many seconds."""
        with self._moved:
            self._moved.wait_for(lambda: not self._jobs[id_].in_hand, seconds)
            return self._jobs[id_]

    def recall(self) -> None:
        """Take up the weighing that lies in the folder since an earlier office, once."""
        with self._moved:
            if self._recalled:
                return
            self._recalled = True
            path = self.place.folder / WEIGHING / WEIGHED
            if WEIGHING in self.kept or not path.exists():
                return
            try:
                self.kept[WEIGHING], self.kept_of[WEIGHING] = read_weighing(path)
            except UserError as wrong:
                self.unread = str(wrong)

    # ----------------------------------------------------------------------------------------------- what is ordered

    def start(self, key: str, given: Mapping[str, str] | None = None) -> Job:
        """Ask for work; it begins at once, or when other work has ended. Raises UserError."""
        kind = KINDS.get(key)
        if kind is None:
            raise UserError(f"there is no such work as {shown(key)}")
        choices = chosen(kind, given or {})
        with self._moved:
            if self._closed:
                raise UserError("the drawing office is closing; nothing more is begun")
            if any(job.kind is kind and job.in_hand for job in self._jobs.values()):
                raise UserError(f"{kind.title} is in hand already; wait for it, or stop it first")
            id_ = f"{key}-{next(self._numbers)}"
            now = datetime.now().astimezone().strftime("%H:%M")
            self._jobs[id_] = Job(id_, kind, choices, fingerprint(self.place), asked_at=now)
            self._forget()
            self._next()
        self._say()
        return self._jobs[id_]

    def stop(self, id_: str) -> Job:
        """Stop work, or take it out of the queue; what has ended stays as it is. Raises UserError."""
        with self._moved:
            job = self._jobs.get(id_)
            if job is None:
                raise UserError(f"there is no work {shown(id_)} any more")
            if job.state == WAITING:
                self._jobs[id_] = replace(job, state=ENDED, stopped=True)
                self._moved.notify_all()
            elif job.state == GOING:
                self._jobs[id_] = replace(job, state=STOPPING, stopped=True)
                self._errands[id_].stop()
        self._say()
        return self._jobs[id_]

    def close(self) -> None:
        """Stop everything and wait for its end: no work outlives the office."""
        with self._moved:
            self._closed = True
            errands = list(self._errands.values())
        for job in self.in_hand:
            self.stop(job.id)
        for errand in errands:
            errand.wait(10.0)

    # ---------------------------------------------------------------------------------------------------- how it goes

    def _next(self) -> None:
        """Begin what waits, as long as there is room."""
        for job in [one for one in self._jobs.values() if one.state == WAITING]:
            if sum(one.state in (GOING, STOPPING) for one in self._jobs.values()) >= AT_ONCE or self._closed:
                return
            self._begin(job)

    def _begin(self, job: Job) -> None:
        def heard(words: str, id_: str = job.id) -> None:
            self._heard(id_, words)

        def ended(outcome: Outcome, id_: str = job.id) -> None:
            self._over(id_, outcome)

        self._jobs[job.id] = replace(job, state=GOING, begun=monotonic(), step="begins", seen=fingerprint(self.place))
        try:
            self._errands[job.id] = Errand(command(job.kind, self.place, job.choices), heard, ended)
        except OSError as wrong:
            says = f"can't be started: {wrong.strerror or wrong}"
            self._jobs[job.id] = replace(job, state=ENDED, code=-1, words=(says,))

    def _heard(self, id_: str, words: str) -> None:
        with self._moved:
            job = self._jobs[id_]
            fresh = words.partition(":")[0] != job.step.partition(":")[0]
            self._jobs[id_] = replace(job, step=words, steps=job.steps + fresh)
        self._say()

    def _over(self, id_: str, outcome: Outcome) -> None:
        with self._moved:
            job = self._jobs[id_]
            code, words = outcome.code, outcome.words
            if (
                job.stopped and not job.steps
            ):  # stopped while the interpreter began: its code means nothing, its words are its own
                code, words = STOPPED_EARLY, ()
            self._jobs[id_] = replace(job, state=ENDED, ended=monotonic(), code=code, words=words)
            if job.kind.key == WEIGHING and outcome.code == 0:
                self._keep(outcome.output)
            del self._errands[id_]
            self._next()
            self._moved.notify_all()
        self._say()
        self._tell("redraw")

    def _keep(self, output: bytes) -> None:
        """The result of weighing, from our own child alone."""
        of, found = pickle.loads(output)  # noqa: S301 - our own child wrote it into a file that only we have
        assert isinstance(found, Weighed)
        self.kept[WEIGHING], self.kept_of[WEIGHING] = found, of
        self.unread = ""

    def _forget(self) -> None:
        """Only the newest stay in the list."""
        old = [id_ for id_, job in self._jobs.items() if not job.in_hand]
        for id_ in old[: max(len(self._jobs) - MOST_KEPT, 0)]:
            del self._jobs[id_]

    def _say(self) -> None:
        """Tell that something moved: now, or a moment later where it was told just now."""
        with self._moved:
            if self._due is not None:
                return
            soon = self._told + SELDOM - monotonic()
            if soon > 0:
                self._due = Timer(soon, self._say_now)
                self._due.daemon = True
                self._due.start()
                return
        self._say_now()

    def _say_now(self) -> None:
        with self._moved:
            self._due, self._told = None, monotonic()
        self._tell("work")


def fingerprint(place: Place) -> str:
    """What work is made from, known by its content: the brief, what stands beside it, the firm's own files."""
    firm = place.firm or place.folder / "firm"
    files = [place.brief, place.brief.with_name("standing.yaml"), *sorted(firm.glob("*") if firm.is_dir() else ())]
    whole = sha256()
    for path in files:
        whole.update(f"{path.name}\n".encode(errors="surrogateescape"))
        whole.update(sha256(_content(path)).digest())
    return whole.hexdigest()


def _content(path: Path) -> bytes:
    """The bytes of a file; of one that is not there or can't be read, none: the work itself says what is wrong."""
    try:
        return path.read_bytes()
    except OSError:
        return b""
