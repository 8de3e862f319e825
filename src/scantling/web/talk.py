"""The first meeting held in the drawing office: which question stands, what was said to the last answer, the price so far."""

from collections.abc import Callable, Mapping
from copy import copy
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from threading import RLock

from scantling import UserError
from scantling.api import stock_for
from scantling.api.interviewing import Meeting, Quick, Range, like, moved, price_of
from scantling.api.revisiting import Said, again, said
from scantling.brief.answers import Asking
from scantling.brief.interview import STOP, Put, told
from scantling.brief.supposing import Supposed
from scantling.figures.spelled import quoted
from scantling.plan.make import Plan
from scantling.web.aside import Aside

HOW_MUCH: Mapping[str, Asking] = {"quick": Asking.ROUGH, "whole": Asking.ALL, "like": Asking.PERSONAL}


TAKEN = "Taken here: "
ANY_WORDS = f"{TAKEN}words."
SEVERAL = frozenset({"services", "rough.services", "rough.place"})
"""Questions that several words answer, with commas."""


@dataclass(frozen=True)
class Question:
    """A question as the page puts it: how it is called, what may be picked, why it is asked, what an empty answer takes."""

    put: Put
    choices: tuple[str, ...]
    help: tuple[str, ...]
    leaving: str
    """What leaving it to the house means, in words; empty where an answer is needed."""
    several: bool
    """Whether more than one of the choices, or a choice and something more, makes the answer."""


@dataclass(frozen=True)
class Ending:
    """What the whole comes to: the price, its ends where ten answers were asked, and what stands in the way."""

    price: str
    range: Range | None
    provisional: bool
    stops: tuple[str, ...]


class Talk:
    """One meeting in one folder. Every method may be called from any thread."""

    def __init__(self, folder: Path, brief: Path, firm: Path | None, tell: Callable[[], None]) -> None:
        """Goes on with the answers that lie there. Raises UserError with what is wrong with them."""
        today = datetime.now().astimezone().date().isoformat()
        self.meeting = Meeting(folder, today, stock_for(brief, firm))
        self.begun = self.meeting.resumed
        self.says: tuple[str, ...] = ()
        self.typed = ""
        self.change = ""
        self._before = Quick()
        self._aside = Aside(tell)
        self._lock = RLock()

    # ------------------------------------------------------------------------------------------------------- how it goes

    def begin(self, how: str, office: str = "", people: str = "") -> None:
        """Ask so much from now on; with `like`, as in an office one knows. Raises UserError."""
        asking = HOW_MUCH.get(how)
        if asking is None:
            raise UserError(f"choose how much is asked: {', '.join(HOW_MUCH)}")
        with self._lock:
            similar = like(self.meeting, office, _heads(people)) if asking is Asking.PERSONAL else None
            self.meeting.begin(asking, similar)
            self.begun, self.says, self.typed = True, (), ""

    def put(self, typed: str) -> bool:
        """One typed answer; whether the person wants to stop. Raises UserError when it can't be kept."""
        with self._lock:
            turn = self.meeting.put(typed)
            self.says, self.typed = turn.says, "" if turn.taken else typed
            return turn.stop and typed.strip() == STOP

    def again(self, key: str) -> None:
        """Ask a question again, with what was answered to begin with. Raises UserError."""
        with self._lock:
            self.typed, self.says = again(self.meeting, key), ()

    def write(self) -> None:
        """Write the brief. Raises UserError, also where another's brief lies by now."""
        with self._lock:
            self.meeting.write(yes=False)

    # ------------------------------------------------------------------------------------------------------ what is shown

    @property
    def question(self) -> Question | None:
        """What is asked now; None at the end."""
        with self._lock:
            agenda, answers = self.meeting.agenda, self.meeting.answers
            step, put = agenda.current(answers), self.meeting.question()
            if step is None or put is None:
                return None
            offer = agenda.offer(step, answers)
            needless = TAKEN if put.choices else ANY_WORDS
            helped = tuple(line for line in told(agenda, step, answers) if not line.startswith(needless))
            return Question(
                put, tuple(agenda.choices(step, answers)), helped, _leaving(offer), step.spot.pattern in SEVERAL
            )

    @property
    def progress(self) -> tuple[int, int]:
        """Answered, and how many there are as far as one can see."""
        return self.meeting.progress

    @property
    def said(self) -> tuple[Said, ...]:
        """Everything that was answered, in order."""
        with self._lock:
            return said(self.meeting)

    @property
    def asking(self) -> str:
        """How much is asked, by its word."""
        return next(word for word, asking in HOW_MUCH.items() if asking is self.meeting.answers.asking)

    @property
    def enough(self) -> bool:
        """Whether a brief could be written now."""
        return self.meeting.enough

    def quick(self) -> Quick | None:
        """Price and memory so far; None while they are reckoned for the first time."""
        with self._lock:
            if not self.meeting.enough:
                return self.meeting.quick()
            still, key = copy(self.meeting), self.meeting.draft()
        found = self._aside.get("quick", (key,), lambda: self._reckoned(still))
        if found is not None:
            return found.value if isinstance(found.value, Quick) else Quick(lacking=found.wrong)
        last = self._aside.last("quick")
        return last.value if last is not None and isinstance(last.value, Quick) else None

    @property
    def reckoning(self) -> bool:
        """Whether the price shown is not yet that of the last answer."""
        last = self._aside.last("quick")
        return self.meeting.enough and (last is None or not last.fits((self.meeting.draft(),)))

    def _reckoned(self, still: Meeting) -> Quick:
        after = still.quick()
        with self._lock:
            self.change, self._before = moved(self._before, after) if self._before.price else "", after
        return after

    def ending(self) -> Ending | str | None:
        """What the whole comes to; a sentence where it can't be planned, None while it is reckoned."""
        with self._lock:
            still, key = copy(self.meeting), self.meeting.draft()
        found = self._aside.get("ending", (key,), lambda: _ending(still))
        if found is None:
            return None
        return found.value if isinstance(found.value, Ending) else found.wrong


def _ending(meeting: Meeting) -> Ending:
    made: Plan = meeting.plan()
    ends = meeting.range(made) if meeting.answers.asking is Asking.ROUGH else None
    return Ending(price_of(made), ends, made.provisional, tuple(stop.says for stop in made.stops))


def _leaving(offer: Supposed | None) -> str:
    if offer is None:
        return ""
    if not offer.text:
        return f"{offer.why[:1].upper()}{offer.why[1:]}"
    return f"{offer.text}: {'as said before' if offer.said else 'assumed, ask'}"


def _heads(people: str) -> int | None:
    """How many people, None where nothing is said. Raises UserError."""
    if not people.strip():
        return None
    if not people.strip().isascii() or not people.strip().isdigit():
        raise UserError(f"{quoted(people)}: write how many people there are as a whole number, such as 12")
    return int(people)
