"""The whole of a rehearsal: in, stood up, tried, told; where nothing may be stood up, parsers and proof alone, and that is said."""

import errno
import shutil
import signal
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from multiprocessing import Pipe
from multiprocessing.connection import Connection
from typing import Any

from scantling.figures import text
from scantling.outputs.files import Written
from scantling.plan.make import Plan
from scantling.trials.proof.proving import Case, case
from scantling.trials.rehearsal.bare import BESIDE, PORTLESS, WITHOUT_PORTS, agreed, digests, parsed
from scantling.trials.rehearsal.beside import Beside
from scantling.trials.rehearsal.design import designed
from scantling.trials.rehearsal.office import Office
from scantling.trials.rehearsal.guiding import Guide
from scantling.trials.rehearsal.limitations import NEVER
from scantling.trials.rehearsal.performing import performed
from scantling.trials.rehearsal.papers import papers, run_from, together
from scantling.trials.rehearsal.person import Person
from scantling.trials.rehearsal.results import Checked, Rehearsed
from scantling.trials.rehearsal.services.running import digests as digests_of
from scantling.trials.rehearsal.sandbox import Inside, RehearsalError, SandboxError, open_way, run
from scantling.trials.rehearsal.session import Living, spared
from scantling.trials.rehearsal.wish import Wish

BARE = "parsers and proof only"
NEEDED = {"nft": "nftables", "sysctl": "procps", "sh": "a shell"}
"""Programs without which there is no firewall to try anything on, and what they come with."""


@contextmanager
def with_files_enough() -> Iterator[None]:
    """Where so few files may be open that not even the way in can be tried, that is said. Raises RehearsalError."""
    try:
        yield
    except OSError as wrong:
        if wrong.errno not in {errno.EMFILE, errno.ENFILE}:
            raise
        said = f"a rehearsal can't even be begun: {wrong.strerror}; raise the limit of open files (ulimit -n)"
        raise RehearsalError(said) from wrong


@with_files_enough()
def rehearsed(plan: Plan, wish: Wish, tell: Callable[[str], None], person: Person | None = None) -> Rehearsed:
    """Rehearse a plan. To be called while this process has one thread. Raises RehearsalError in a person's words.

    `person`: who is shown what was found and leads the office afterwards, where it is to be kept up.
    """
    one = case(plan)
    if one is None:
        raise RehearsalError(
            "this plan has no rules for a firewall, so there is nothing to rehearse; plan its zones and lines first"
        )
    files = run_from(plan)
    office = designed(plan, everyone=wish.everyone, year=wish.year)
    missing = lacking()
    if missing:
        return bare(plan, one, files, wish, missing)
    try:
        with undisturbed():
            way = open_way(wish.way_in)
    except SandboxError as shut:
        return bare(plan, one, files, wish, str(shut))
    orders, ordering = Pipe(duplex=False)
    guide = Guide(person, office, ordering) if person is not None and wish.live else None
    work = partial(inside, Brought(plan, one, files, office, wish), orders if guide is not None else None)
    try:
        return run(work, partial(heard, tell, guide), way)
    finally:
        orders.close()
        ordering.close()


def lacking() -> str:
    """Which programs this machine lacks without which nothing can be stood up, and what to do; nothing where it has them all."""
    missing = [name for name in NEEDED if shutil.which(name, path=BESIDE) is None]
    if not missing:
        return ""
    install = ", ".join(NEEDED[name] for name in missing)
    verb = "is" if len(missing) == 1 else "are"
    return f"{' and '.join(missing)} {verb} not installed here, without which there is no firewall to try: install {install}"


@contextmanager
def undisturbed() -> Iterator[None]:
    """Ctrl-C is heard afterwards: while Python forks, it would be told on standard error and forgotten."""
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def heard(tell: Callable[[str], None], guide: Guide | None, event: Any) -> None:
    """What the office says on its way, and what it says to whoever leads it."""
    if guide is None or not guide.heard(event):
        tell(str(event))


@dataclass(frozen=True, slots=True)
class Brought:
    """What goes into the sandbox."""

    plan: Plan
    case: Case
    files: Mapping[str, Written]
    office: Office
    wish: Wish


def inside(brought: Brought, orders: Connection | None, there: Inside) -> Rehearsed:
    """What is done inside the sandbox. Raises RehearsalError, with all that the files' own programs have against them."""
    wish, plan = brought.wish, brought.plan
    spared()
    writing = Beside("writing what only people read", lambda: digests_of(papers(plan)))
    living = Living(
        plan, brought.case, brought.office, there, brought.files, wish.families, wish.everyone, papers=writing, orders=orders,
    )  # fmt: skip
    try:
        return performed(living, wish)
    except RehearsalError as sorry:
        raise RehearsalError("\n".join([str(sorry), *refused(living)])) from sorry


def refused(living: Living) -> Iterator[str]:
    """Each file that its own program refused, and what that said; nothing where none has read them yet."""
    reading = getattr(living, "checking", None)
    try:
        checked = reading.result() if reading is not None else []
    except RehearsalError:  # told already, or of no weight beside what was
        return
    yield from (f"{one.path}: {one.parser} says: {one.says}" for one in checked if one.says)


def bare(plan: Plan, one: Case, files: Mapping[str, Written], wish: Wish, why: str) -> Rehearsed:
    """What is left where nothing may be stood up."""
    files = together(files, papers(plan))
    read = {file.path: file for file in parsed([*files.values()])}
    checked: tuple[Checked, ...] = tuple(read.get(file.path, file) for file in digests(files))
    return Rehearsed(
        text(plan.office.name), BARE, why, "everyone" if wish.everyone else "representative", wish.year, wish.families, 0,
        checked, agreement=agreed(one),
        notes=(PORTLESS,) if any(file.parser in WITHOUT_PORTS for file in checked) else (),
        not_rehearsed=("Everything that is done with packets: leases, names, flows, faults.", *NEVER),
    )  # fmt: skip
