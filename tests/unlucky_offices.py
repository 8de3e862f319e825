"""Offices rehearsed by an ordinary user on a machine that lacks something, or from files that somebody has spoilt."""

import os
import pickle
import resource
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any, NamedTuple

import dns.rdata
from offices import BRIEFS, example
from ordinary_user import as_ordinary, outcome

from scantling import api, cli
from scantling.cli import rehearse as verb, rehearsed as page, rehearsed_tables
from scantling.outputs.files import Written, written
from scantling.plan.make import Plan
from scantling.trials.rehearsal import limits, rehearsing, report, sandbox, session
from scantling.trials.rehearsal.calls import BIND, mount
from scantling.trials.rehearsal.rehearsing import rehearsed
from scantling.trials.rehearsal.results import Rehearsed
from scantling.trials.rehearsal.sandbox import RehearsalError
from scantling.trials.rehearsal.trees import Tree
from scantling.trials.rehearsal.ways import Way
from scantling.trials.rehearsal.wish import Wish

ONE = "one-id"
AS_USUAL = Wish(way_in=ONE)
FOURTH = replace(AS_USUAL, families=(4,))
IN_STATIONS = 14
"""Stations of Fold & Fell, one of each row."""
SAMPLES = {"A": "192.0.2.1", "AAAA": "2001:db8::1", "PTR": "a.example.", "NS": "a.example.", "SOA": "a. b. 1 1 1 1 1"}
FOLDERS = ("usr/sbin", "usr/bin", "usr/local/sbin", "usr/local/bin")
LOADED = (verb, page, rehearsed_tables, report)
"""What the command fetches late, and an ordinary user may not be able to read."""
Luck = Callable[[], None]
"""What befalls the machine: done in a child of its own, before the rehearsal begins there."""


def office() -> Plan:
    """The smallest office."""
    return example("fold")


@cache
def usual() -> Rehearsed:
    """It, rehearsed with no bad luck."""
    return rehearse(office())


def assert_as_meant(found: Rehearsed) -> None:
    """Every flow was tried and went as meant, by intents, proof and packets."""
    assert [one.says for one in found.mismatches] == []
    assert [one.wrong for one in found.answers if one.wrong] == []
    assert found.agreement is not None
    assert found.agreement.agree == found.agreement.probes > 1000
    assert found.agreement.differences == ()
    assert found.well


def quiet(_: Any) -> None:
    """Hear nothing."""


def ready(plan: Plan) -> None:
    """Fetch what comes lazily, for the ordinary user may not be able to read it."""
    written(plan)
    for kind, sample in SAMPLES.items():
        dns.rdata.from_text("IN", kind, sample)


def unlucky(plan: Plan, luck: Sequence[Luck], wish: Wish, tell: Callable[[str], None] = quiet) -> Rehearsed:
    """A plan rehearsed with bad luck, in the process that calls."""
    for one in luck:
        one()
    return rehearsed(plan, wish, tell)


def rehearse(plan: Plan, *luck: Luck, wish: Wish = AS_USUAL) -> Rehearsed:
    """A plan rehearsed by an ordinary user who meets with some bad luck."""
    ready(plan)
    return as_ordinary(lambda: unlucky(plan, luck, wish))


def against(plan: Plan, *luck: Luck, wish: Wish = AS_USUAL) -> str:
    """Why nothing was stood up: what was raised, or what stands in the record of all that was left to do."""
    try:
        found = rehearse(plan, *luck, wish=wish)
    except RehearsalError as sorry:
        return str(sorry)
    assert not found.well
    assert found.stations == 0
    return found.why_not


def at_once(*works: Callable[[], Any]) -> list[tuple[str, Any]]:
    """Each in a child of its own, as an ordinary user, all at the same time: ("returned", it) or ("raised", it)."""
    begun = [_begun(work) for work in works]
    found = []
    for child, heard in begun:
        with os.fdopen(heard, "rb") as stream:
            found.append(pickle.loads(stream.read()))  # noqa: S301 - from a fork of this very process
        os.waitpid(child, 0)
    return found


def _begun(work: Callable[[], Any]) -> tuple[int, int]:
    heard, saying = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(heard)
            with os.fdopen(saying, "wb") as stream:
                stream.write(outcome(lambda: as_ordinary(work)))
        finally:
            os._exit(0)
    os.close(saying)
    return child, heard


# ----------------------------------------------------------------------------------------------------------- bad luck


def without(*programs: str) -> Luck:
    """Programs that no machine of the office has: what lies at their places can't be run."""
    return _in_trees(lambda made: _hidden(made, programs))


def _hidden(made: Tree, programs: Sequence[str]) -> None:
    for place in (made.path / folder / program for folder in FOLDERS for program in programs):
        if place.exists():
            mount("/dev/null", str(place), "", BIND)


def in_place_of(program: str, script: str) -> Luck:
    """Every machine of the office runs a script where a program should be."""

    def put(made: Tree) -> None:
        made.put(f"/tmp/{program}", script.encode(), 0o755)  # noqa: S108 - of the machine's own tree
        mount(str(made.path / "tmp" / program), str(made.path / "usr/sbin" / program), "", BIND)

    return _in_trees(put)


def _in_trees(change: Callable[[Tree], None]) -> Luck:
    def strike() -> None:
        def changed(make: Callable[[Path, str], Tree]) -> Callable[[Path, str], Tree]:
            def tree(files: Path, machine: str) -> Tree:
                made = make(files, machine)
                change(made)
                return made

            return tree

        replaced(session, "tree", changed)

    return strike


def replaced(module: ModuleType, name: str, by: Callable[[Any], Any]) -> None:
    """Put something else in the place of what a module has, made of what was there."""
    setattr(module, name, by(getattr(module, name)))


def spoilt(change: Mapping[str, Callable[[bytes], bytes]]) -> Luck:
    """Some of the files that the office runs from come out otherwise."""

    def otherwise(make: Callable[[Plan], Mapping[str, Written]]) -> Callable[[Plan], dict[str, Written]]:
        def made(plan: Plan) -> dict[str, Written]:
            files = dict(make(plan))
            return files | {
                path: replace(files[path], content=mar(files[path].content)) for path, mar in change.items()
            }

        return made

    return lambda: replaced(rehearsing, "run_from", otherwise)


def swapped(old: bytes, new: bytes) -> Callable[[bytes], bytes]:
    """One passage changed; it must be there."""

    def change(content: bytes) -> bytes:
        assert old in content
        return content.replace(old, new, 1)

    return change


def more(text: bytes) -> Callable[[bytes], bytes]:
    """Something added at the end."""
    return lambda content: content + text


def few_files(most: int) -> Luck:
    """The hard limit of open files is low."""
    return lambda: resource.setrlimit(resource.RLIMIT_NOFILE, (most, most))


def few_neighbours(most: int) -> Luck:
    """The kernel says that it remembers no more neighbours than so many."""

    def few(told: Callable[[str], str]) -> Callable[[str], str]:
        return lambda name: str(most) if name in limits.BOUNDS.values() else told(name)

    return lambda: replaced(limits, "setting", few)


def lacking(*parts: str) -> Luck:
    """Parts of the kernel that refuse, by the word that their names begin with."""

    def refuse(*_: object) -> None:
        raise OSError(95, "Operation not supported")

    def strike() -> None:
        mine = [name for name in limits.PARTS if name.startswith(parts)]
        assert len(mine) == len(parts)
        limits.PARTS.update(dict.fromkeys(mine, refuse))

    return strike


def shut() -> None:
    """Every way into namespaces is refused, as by a switch of the machine."""

    def refused(name: str) -> Way:
        return Way(name, works=False, reason=f"{name}: switched off for ordinary users on this machine")

    replaced(sandbox, "way", lambda _: refused)


# ----------------------------------------------------------------------------------------------------- the whole command


class Ended(NamedTuple):
    """A command that has ended."""

    code: int
    out: str
    err: str


def commanded(plan: Plan, words: Sequence[str], *luck: Luck) -> Ended:
    """The command as a person calls it, done by an ordinary user with bad luck; the plan is made already."""
    ready(plan)
    assert all(LOADED)

    def work() -> Ended:
        api.plan = lambda *_: plan
        for one in luck:
            one()
        sys.argv = ["scantling", "rehearse", str(BRIEFS["fold"]), *words]
        places = [os.memfd_create(name) for name in ("out", "err")]
        for descriptor, place in enumerate(places, 1):
            os.dup2(place, descriptor)
        sys.stdout, sys.stderr = os.fdopen(1, "w", encoding="utf-8"), os.fdopen(2, "w", encoding="utf-8")
        code = _code(cli.main)
        sys.stdout.flush()
        sys.stderr.flush()
        return Ended(code, *(os.pread(place, 1 << 24, 0).decode() for place in places))

    return as_ordinary(work)


def _code(main: Callable[[], object]) -> int:
    try:
        main()
    except SystemExit as end:
        return int(end.code or 0)
    return 0


def timed(plan: Plan) -> tuple[Rehearsed, float, float]:
    """A rehearsal, when it began and when it ended, seconds by a clock that all processes share."""
    begun = time.monotonic()
    return rehearsed(plan, AS_USUAL, quiet), begun, time.monotonic()
