"""Takes work into namespaces of its own, where an ordinary user is root, and ends everything there when it ends.

Processes: this one (the driver); a warden, that goes into the namespaces; the first process inside, that reaps; the work,
its child. Each dies with the one before it (prctl(2), PR_SET_PDEATHSIG), and when the first process inside dies the
kernel ends all others there (pid_namespaces(7)). The host's files are read-only inside; all that is written lies in
memory. What the work starts may outlive neither it nor the driver, however they end.

Only forks, no programs: whoever runs this may be kept from reading Python's own files once inside.
"""

import os
import pickle
import resource
import select
import signal
import sys
import tempfile
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing.connection import Connection, Pipe
from pathlib import Path
from typing import Any, NoReturn, TypeVar, cast

from scantling import UserError
from scantling.trials.rehearsal.limits import room_for_neighbours
from scantling.trials.rehearsal.reaper import bound_to, reaped, settled
from scantling.trials.rehearsal.refusals import Refused
from scantling.trials.rehearsal.ways import LABELS, ROOT, Way, enter, hold_back, way

T = TypeVar("T")
DEBUG = "SCANTLING_DEBUG"
EVENT, DONE, SORRY, FAILED, GONE = "event", "done", "sorry", "failed", "gone"
LAST_WORDS = 2000
PATIENCE = 5.0


class RehearsalError(UserError):
    """Something of the rehearsal that a person can put right; it comes out of the office as it is."""


class SandboxError(RehearsalError):
    """The office can't be entered, or it ended before its work was done."""


@dataclass(frozen=True, slots=True)
class Inside:
    """What the work is given."""

    way: Way
    files: Path
    """A folder in memory, gone with the office; also the working directory."""
    neighbours: int
    """How many more neighbours this kernel would remember, which can't be seen from inside; 0: it doesn't say."""
    _outward: Connection

    def tell(self, event: Any) -> None:
        """Say something to the driver; it must be picklable. Only from the work's own process, not from its children."""
        self._outward.send((EVENT, event))


@dataclass(frozen=True, slots=True)
class Errand:
    """What goes into the office with the warden."""

    work: Callable[[Inside], Any]
    way: Way
    neighbours: int


class Pipes:
    """What joins driver and office: results and last words come out; when the driver lets go of `held`, all ends."""

    def __init__(self) -> None:
        self.results, self.outward = Pipe(duplex=False)
        self.words, self.errors = Pipe(duplex=False)
        self.life, self.held = Pipe(duplex=False)

    def of_the_driver(self) -> None:
        """Close what only the office needs."""
        for one in (self.outward, self.errors, self.life):
            one.close()

    def of_the_office(self) -> None:
        """Close what only the driver may hold."""
        for one in (self.results, self.words, self.held):
            one.close()

    def close(self) -> None:
        """Close what the driver has left."""
        for one in (self.results, self.words):
            one.close()


def run(work: Callable[[Inside], T], heard: Callable[[Any], None], prefer: str | Way = "") -> T:
    """Do `work` inside, hand its events to `heard` as they come, and give back its result.

    `prefer`: range, one-id or root, or what `open_way` found; else the first of them that works. Ctrl-C ends everything
    inside, then KeyboardInterrupt goes on. To be called while this process has one thread.

    Raises:
        RehearsalError: the work itself raised it.
        SandboxError: no way in is open, or the office died; its text says why and what to do.

    """
    errand = Errand(work, prefer if isinstance(prefer, Way) else open_way(prefer), room_for_neighbours())
    sys.stdout.flush()
    sys.stderr.flush()
    pipes, driver = Pipes(), os.getpid()
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})  # until somebody is there to end it all
    warden = os.fork()
    if warden == 0:
        _guarded(lambda: _warden(errand, pipes, driver), pipes)
    pipes.of_the_driver()
    kind, value, status, words = "", None, 0, b""
    try:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
        kind, value = _listened(pipes, heard)
    finally:
        status, words = _ended(warden, pipes, by_itself=kind == GONE)
    return cast("T", _concluded(kind, value, status, words))


def open_way(prefer: str = "") -> Way:
    """The way in that `prefer` names, or the first that works. Raises SandboxError with the reason of each that doesn't."""
    if prefer and prefer not in LABELS:
        raise SandboxError(f"there is no way in called {prefer}; there are {', '.join(LABELS)}")
    tried: list[Way] = []
    for name in [prefer] if prefer else LABELS:
        tried.append(way(name))
        if tried[-1].works:
            return tried[-1]
    reasons = "".join(f"\n  {one.label}: {one.reason}" for one in tried)
    raise SandboxError(f"this machine lets nothing be stood up in namespaces:{reasons}")


def _listened(pipes: Pipes, heard: Callable[[Any], None]) -> tuple[str, Any]:
    """Hand on events until the result comes, or until nobody is left to send one."""
    while True:
        try:
            kind, value = pipes.results.recv()
        except EOFError:
            return GONE, None
        if kind != EVENT:
            return kind, value
        heard(value)


def _ended(warden: int, pipes: Pipes, *, by_itself: bool) -> tuple[int, bytes]:
    """End whatever still runs inside. Returns the exit status of the office, and its last words.

    `by_itself`: it is ending already, and its own exit status is wanted, not that of our hurry.
    """
    watched = os.pidfd_open(warden)
    try:
        if by_itself:
            select.select([watched], [], [], PATIENCE)
        pipes.held.close()
        if not select.select([watched], [], [], PATIENCE)[0]:
            os.kill(warden, signal.SIGKILL)
    finally:
        os.close(watched)
    _, status = os.waitpid(warden, 0)
    words = b""
    with os.fdopen(os.dup(pipes.words.fileno()), "rb", 0) as stream:
        os.set_blocking(stream.fileno(), False)
        words = stream.read() or b""
    pipes.close()
    return os.waitstatus_to_exitcode(status), words[-LAST_WORDS:]


def _concluded(kind: str, value: Any, status: int, words: bytes) -> Any:
    """The result, or what stood in its way. Raises RehearsalError, SandboxError."""
    if kind == DONE:
        return value
    if kind == SORRY:
        raise value
    if kind == FAILED:
        raise SandboxError(value)
    said = words.decode("utf-8", "replace").strip() or "nothing"
    raise SandboxError(f"the office ended before its work was done ({how(status)}); its last words: {said}")


def how(status: int) -> str:
    """How a process ended, in words, from the exit code that the warden hands on."""
    number = -status if status < 0 else status - 128
    if number in set(signal.Signals):
        return f"by signal {number}, {signal.strsignal(number)}"
    return f"with {status}"


def _guarded(work: Callable[[], None], pipes: Pipes) -> NoReturn:
    """Run the rest of a forked process; whatever happens, it goes no further than this."""
    try:
        work()
    except Refused as refused:
        pipes.outward.send((FAILED, f"this machine lets nothing be stood up in namespaces:\n  {refused}"))
    except BaseException as wrong:  # noqa: BLE001 - a fork must not run on into its parent's code
        pipes.outward.send((FAILED, stumbled(wrong)))
    finally:
        os._exit(1)


def stumbled(wrong: BaseException) -> str:
    """A mistake of the rehearsal's own, in a sentence; with everything that led to it only for who asks for that."""
    if os.environ.get(DEBUG):
        return "".join(traceback.format_exception(wrong))
    if isinstance(wrong, OSError):
        where = f" ({wrong.filename})" if wrong.filename else ""
        return f"the rehearsal broke off, for the kernel refused a step: {wrong.strerror or wrong}{where}"
    said = f"{type(wrong).__name__}: {wrong}"
    return f"the rehearsal stumbled over a mistake of its own ({said}); with {DEBUG}=1 it says where"


def _warden(errand: Errand, pipes: Pipes, driver: int) -> None:
    """Go in, start the first process inside, and end it when the driver lets go."""
    bound_to(driver)
    signal.signal(signal.SIGINT, _left_to_the_driver)
    signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})
    pipes.of_the_office()
    enter(errand.way.name)
    bound_to(driver)
    alive, held = os.pipe()
    first = os.fork()
    if first == 0:
        os.close(held)
        _guarded(lambda: _first(errand, pipes, alive), pipes)
    os.close(alive)
    pipes.outward.close()
    pipes.errors.close()
    watched = os.pidfd_open(first)
    if watched not in select.select([watched, pipes.life.fileno()], [], [])[0]:
        os.kill(first, signal.SIGKILL)
    _, status = os.waitpid(first, 0)  # comes back when all others inside are gone too
    code = os.waitstatus_to_exitcode(status)
    os._exit(code if code >= 0 else 128 - code)


def _left_to_the_driver(_number: int, _frame: object) -> None:
    """Ctrl-C reaches all processes of a terminal; the driver alone acts on it."""


def _first(errand: Errand, pipes: Pipes, alive: int) -> None:
    """Be the first process: mounts, then the work as a child, then reap until it ends."""
    bound_to(0)  # the warden is out of sight from here
    if select.select([alive], [], [], 0)[0]:
        return  # and has gone before the death signal was set
    pipes.life.close()
    files = settled()
    child = os.fork()
    if child == 0:
        inside = Inside(errand.way, files, errand.neighbours, pipes.outward)
        _guarded(lambda: _worked(errand.work, inside, pipes), pipes)
    pipes.outward.close()
    pipes.errors.close()
    code = reaped(child)
    os._exit(code if code >= 0 else 128 - code)


def _worked(work: Callable[[Inside], Any], inside: Inside, pipes: Pipes) -> None:
    """The work itself; its result or its error goes out."""
    bound_to(1)
    os.umask(0o022)
    if not os.environ.get(DEBUG):
        os.dup2(pipes.errors.fileno(), 2)
    if inside.way.name == ROOT:
        hold_back()
    _, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (hard, hard))
    tempfile.tempdir = os.environ["TMPDIR"] = str(inside.files / "tmp")
    try:
        inside._outward.send((DONE, work(inside)))  # noqa: SLF001 - this module's own
    except RehearsalError as sorry:
        inside._outward.send((SORRY, _portable(sorry)))  # noqa: SLF001
    os._exit(0)


def _portable(sorry: RehearsalError) -> RehearsalError:
    """The error, if it survives the way out; else its words."""
    try:
        pickle.loads(pickle.dumps(sorry))  # noqa: S301 - our own, a moment ago
    except Exception:  # noqa: BLE001 - an error's own constructor may do anything
        return RehearsalError(str(sorry))
    return sorry
