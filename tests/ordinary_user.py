"""Runs part of a test in a child that is an ordinary user and leads a session of its own, and finds what is left of it."""

import gc
import os
import pickle
import random
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar, cast

from scantling.trials.rehearsal import ways
from scantling.trials.rehearsal.calls import DUMPABLE, prctl
from scantling.trials.rehearsal.reaper import bound_to
from scantling.trials.rehearsal.sandbox import Inside, run

T = TypeVar("T")
NOBODY = 65534
IS_ROOT = os.geteuid() == 0
LOOKS = 200
OPEN = [ways.ONE, *((ways.RANGE, ways.ROOT) if IS_ROOT else ())]
"""Ways that must work for whoever runs the tests; as root, one id is tried as somebody else."""


def become(user: int) -> None:
    """Give up root for good; who isn't root stays who they are."""
    if os.geteuid() == 0:
        os.setgroups([])
        os.setgid(user)
        os.setuid(user)
        prctl(DUMPABLE, 1)


def as_ordinary(work: Callable[[], T]) -> T:
    """What `work` returns or raises, done by an ordinary user in a child."""

    def somebody_elses() -> T:
        become(NOBODY)
        return work()

    return in_child(somebody_elses)


def in_child(work: Callable[[], T]) -> T:
    """What `work` returns or raises, done in a child. Only forks: the ordinary user may not be able to read Python's files."""
    heard, saying = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(heard)
            os.write(saying, outcome(work))
        finally:
            os._exit(0)
    os.close(saying)
    with os.fdopen(heard, "rb") as stream:
        said = stream.read()
    os.waitpid(child, 0)
    kind, value = pickle.loads(said)  # noqa: S301 - from a fork of this very process
    if kind == "raised":
        raise value
    return cast("T", value)


def outcome(work: Callable[[], Any]) -> bytes:
    """What it returned or raised, packed."""
    try:
        return pickle.dumps(("returned", work()))
    except BaseException as wrong:  # noqa: BLE001 - a fork must not run on into its parent's code
        try:
            return pickle.dumps(("raised", wrong))
        except Exception:  # noqa: BLE001 - an error's own parts may be anything
            return pickle.dumps(("raised", AssertionError(f"{type(wrong).__name__}: {wrong}")))


def quiet(_event: Any) -> None:
    """Hear nothing."""


def by_way(name: str, work: Callable[[Inside], Any]) -> Any:
    """Do work inside by a way; with one id as an ordinary user, always."""
    if name == ways.ONE:
        return as_ordinary(lambda: run(work, quiet, name))
    return in_child(lambda: run(work, quiet, name))


@dataclass(frozen=True, slots=True)
class Driver:
    """A forked process that leads its own session, as a user of its own where root can choose one, and all that comes of it."""

    process: int
    user: int
    """0: it stayed who it was."""
    word: str
    """In the words of every program that it starts."""

    def left(self, namespaces: frozenset[str]) -> list[int]:
        """Processes of it that there are: by session, user, a word of their own, or family of processes."""
        return [one for one in processes() if one != os.getpid() and self._is_mine(one, namespaces)]

    def _is_mine(self, process: int, namespaces: frozenset[str]) -> bool:
        place = Path(f"/proc/{process}")
        try:
            after_name = (place / "stat").read_text("utf-8").rpartition(")")[2].split()
            if after_name[0] in {"Z", "X"}:
                return False  # dead, only not yet asked for
            words = (place / "cmdline").read_bytes().split(b"\0")
            return (
                int(after_name[3]) == self.process
                or bool(self.user and place.stat().st_uid == self.user)
                or self.word.encode() in words
                or family(process) in namespaces
            )
        except (FileNotFoundError, ProcessLookupError):
            return False

    def families(self) -> frozenset[str]:
        """The families of processes (process namespaces) that it has made so far."""
        own = family(os.getpid())
        found = {family(one) for one in self.left(frozenset())}
        return frozenset(found - {own, ""})

    def gone_within(self, seconds: float, namespaces: frozenset[str]) -> list[int]:
        """Look until nothing of it is left, for so long and a number of times: a busy machine looks seldom. Returns what is left."""
        end, looks = time.monotonic() + seconds, 0
        while self.left(namespaces) and (time.monotonic() < end or looks < LOOKS):
            looks += 1
            time.sleep(0.01)
        return self.left(namespaces)


def driver(work: Callable[[str], None], *, keep_root: bool = False) -> Driver:
    """Fork one that does `work`, given the word that its programs must bear."""
    word = f"9{random.SystemRandom().randrange(10**6, 10**7)}"
    user = 0 if keep_root or not IS_ROOT else 200_000 + int(word) % 1_000_000
    tests, process = os.getpid(), os.fork()
    if process == 0:
        try:
            os.setsid()
            gc.callbacks.clear()  # a test library's own would swallow an interrupt that comes while rubbish is collected
            gc.freeze()  # nor has it the whole run's rubbish to collect
            if user:
                become(user)
            bound_to(tests)
            work(word)
        finally:
            os._exit(0)
    return Driver(process, user, word)


def processes() -> Iterator[int]:
    """Numbers of all processes that can be seen."""
    return (int(place.name) for place in Path("/proc").iterdir() if place.name.isdigit())


def family(process: int) -> str:
    """The process namespace that a process is in; empty if that can't be seen."""
    try:
        return str(Path(f"/proc/{process}/ns/pid").readlink())
    except OSError:
        return ""
