"""What a server's adapter is: the records it deals in, and the functions that each file of this folder must have."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from subprocess import Popen
from typing import Protocol

from scantling.figures import Host
from scantling.outputs.files import Written
from scantling.plan.make import Plan
from scantling.trials.rehearsal.attending import Attendant
from scantling.trials.rehearsal.office import Office
from scantling.trials.rehearsal.results import Checked, Played
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.sandbox import RehearsalError
from scantling.trials.rehearsal.trees import Tree

GOES = re.compile(r" as (/\S+)\.$")


@dataclass(frozen=True, slots=True)
class Placed:
    """One file where it lies on its machine."""

    goes: str
    """The whole path there."""
    content: bytes
    path: str = ""
    """Among the plan's files, byte for byte; empty: none of them, but set by hand."""


@dataclass(frozen=True, slots=True)
class Job:
    """One server that the plan asks for: what it does, where, with which program and files."""

    service: str
    """What it does, in words."""
    machine: str
    """Slug of its station, or FIREWALL."""
    program: str
    files: tuple[Placed, ...]
    beside: tuple[Placed, ...] = ()
    """What it needs besides the plan's files."""
    why: str = ""
    """What is set besides the plan's files, in words."""
    folders: tuple[str, ...] = ()
    """What the program's package makes on a machine, and a file tree of ours lacks."""
    interface: str = ""
    """What the port of the machine's room must be called; empty: no matter."""
    hosts: tuple[Host, ...] = ()
    """Addresses at which it must answer; nothing: it answers nobody."""
    port: int = 0
    asked: tuple[str, ...] = ()
    """Zones of names that it must know before it is ready."""
    beyond: tuple[Placed, ...] = ()
    """Files of its kind for machines that aren't stood up: its parser reads them, nobody runs from them."""

    @property
    def paths(self) -> tuple[str, ...]:
        """The plan's files that it runs from."""
        return tuple(one.path for one in self.files)


@dataclass(slots=True)
class Running:
    """A server that was started, or what stands in for it."""

    job: Job
    tree: Tree
    room: Room
    played: Played
    process: "Popen[bytes] | None" = None
    log: str = ""
    attendant: Attendant | None = None
    """Of a stand-in that answers: who does."""

    @property
    def ended(self) -> bool:
        """Whether the program has ended by itself."""
        return self.process is not None and self.process.poll() is not None

    def said(self) -> str:
        """The last lines of its log."""
        return self.tree.said(self.log).strip() if self.log else ""


class Adapter(Protocol):
    """The functions of one adapter, a module of this folder. A module without SERVES is none."""

    SERVES: str
    """What it does, in words."""
    PROGRAM: str
    AFTER: tuple[str, ...]
    """Programs that must be ready before it is started."""
    wanted: Callable[[Office, Plan, Mapping[str, Written]], list[Job]]
    """The servers that a plan asks for; the files by their paths."""
    check: Callable[[Job, Tree, Room], list[Checked]]
    """What the real parsers say of its files, in the machine's own tree and room."""
    start: Callable[[Job, Tree, Room], Running]
    """Start the program. Raises RehearsalError."""
    ready: Callable[[Running], bool]
    """Ask it for real, once. Raises RehearsalError when it can never answer."""
    reconfigure: Callable[[Running, Job], Running]
    """Give it other files while it runs. Raises RehearsalError."""
    stop: Callable[[Running], None]
    """End it."""
    standin: Callable[[Job, Tree, Room], Running]
    """What stands in for it where the program isn't installed, labelled as such."""


def placed(written: Written) -> Placed:
    """A file where its own note says that it goes. Raises RehearsalError when the note doesn't."""
    found = GOES.search(written.goes)
    if found is None:
        raise RehearsalError(f"{written.path} doesn't say where on its machine it goes: {written.goes}")
    return Placed(found[1], written.content, written.path)


def those(files: Mapping[str, Written], paths: Sequence[str]) -> tuple[Placed, ...]:
    """Some of the plan's files. Raises RehearsalError when one isn't there."""
    missing = [path for path in paths if path not in files]
    if missing:
        raise RehearsalError(f"the plan has no file {missing[0]}, which a server of the office needs")
    return tuple(placed(files[path]) for path in paths)
