"""What a desk has beside it: its work in hand, what is worked out aside, and the talk of a first visit."""

from collections.abc import Callable
from threading import RLock
from typing import TYPE_CHECKING, TypeVar
from weakref import WeakKeyDictionary, ref

from scantling.web.aside import Aside
from scantling.web.desk import Desk
from scantling.web.jobs import Jobs
from scantling.web.kinds import Place

if TYPE_CHECKING:
    from scantling.web.talk import Talk

T = TypeVar("T")
_lock = RLock()
_jobs: "WeakKeyDictionary[Desk, Jobs]" = WeakKeyDictionary()
_asides: "WeakKeyDictionary[Desk, Aside]" = WeakKeyDictionary()
_talks: "WeakKeyDictionary[Desk, Talk]" = WeakKeyDictionary()


def jobs_of(desk: Desk) -> Jobs:
    """The work in hand of a desk."""
    return _made(_jobs, desk, lambda: Jobs(Place(desk.folder, desk.brief, desk.firm), _telling(desk)))


def aside_of(desk: Desk) -> Aside:
    """What is worked out aside for a desk."""
    tell = _telling(desk)
    return _made(_asides, desk, lambda: Aside(lambda: tell("redraw")))


def talk_of(desk: Desk) -> "Talk":
    """The talk of a desk's first visit. Raises UserError when the answers that lie in the folder can't be read."""
    from scantling.web.talk import Talk  # noqa: PLC0415 - loaded when needed, so that the first page is quick

    tell = _telling(desk)
    return _made(_talks, desk, lambda: Talk(desk.folder, desk.brief, desk.firm, lambda: tell("redraw")))


def forget_talk(desk: Desk) -> None:
    """The talk is over, or begins anew."""
    with _lock:
        _talks.pop(desk, None)


def close(desk: Desk) -> None:
    """Stop all work of a desk and wait for its end."""
    with _lock:
        jobs = _jobs.get(desk)
    if jobs is not None:
        jobs.close()


def _telling(desk: Desk) -> Callable[[str], None]:
    """Tells a desk's tabs, without keeping the desk alive."""
    held = ref(desk)

    def tell(event: str) -> None:
        there = held()
        if there is not None:
            there.tell(event)

    return tell


def _made(kept: "WeakKeyDictionary[Desk, T]", desk: Desk, make: Callable[[], T]) -> T:
    with _lock:
        if desk not in kept:
            kept[desk] = make()
        return kept[desk]
