"""However a rehearsal ends, nothing is left of it: killed, interrupted or done, at any moment, by every way in."""

import os
import random
import signal
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from conftest import Scale
from ordinary_user import OPEN, as_ordinary, driver, family, processes, quiet

from scantling.trials.rehearsal import ways
from scantling.trials.rehearsal.rooms import empty, here
from scantling.trials.rehearsal.sandbox import Inside, run
from scantling.trials.rehearsal.trees import tree

AT_BUSY = 8
"""Processes of a busy office that must be there by then: driver, warden, first, work, and four programs."""


def busy(word: str) -> Callable[[Inside], None]:
    """An office with rooms, programs in trees, a helper of its own and one that ran off; never done."""

    def work(inside: Inside) -> None:
        home = here("home")
        for name in ("files", "names"):
            room, made = empty(name, home.descriptor), tree(inside.files, name)
            made.started(room, ["sleep", word], "/var/log/sleep.log")
            made.started(room, ["sh", "-c", f"(sleep {word} & sleep {word} & wait)"], "/var/log/more.log")
        for _ in range(2):
            if os.fork() == 0:
                os.setsid()
                if os.fork() == 0:
                    time.sleep(int(word))
                os._exit(0)
        inside.tell("busy")
        time.sleep(int(word))

    return work


def endless(word: str, name: str, told: int) -> None:
    """Drive a busy office; what is heard of it goes into a pipe, and so does Ctrl-C."""

    def heard(event: str) -> None:
        os.write(told, f"{event}\n".encode())

    signal.signal(signal.SIGINT, signal.default_int_handler)
    os.write(told, b"ready\n")  # a spread run's own handler would have passed Ctrl-C over
    try:
        run(busy(word), heard, name)
    except KeyboardInterrupt:
        os.write(told, b"interrupted\n")
        os._exit(7)


def ended(name: str, after: float | None, number: int) -> tuple[list[int], int]:
    """Send a driver a signal after so long, or when its office is busy. Returns what is left 3 s later, and how it ended."""
    told, telling = os.pipe()
    mine = driver(lambda word: endless(word, name, telling), keep_root=name != ways.ONE)
    assert os.read(told, len(b"ready\n")) == b"ready\n"
    if after is None:
        heard, there = os.read(told, 100), len(mine.left(frozenset()))
    else:
        time.sleep(after)
        heard, there = b"busy\n", AT_BUSY
    families = mine.families()
    os.kill(mine.process, number)
    _, status = os.waitpid(mine.process, 0)
    assert heard == b"busy\n"
    assert there >= AT_BUSY
    left = mine.gone_within(3, families)
    os.close(told)
    os.close(telling)
    return left, os.waitstatus_to_exitcode(status)


@pytest.mark.parametrize("name", OPEN)
def test_killing_the_driver_of_a_busy_office_leaves_nothing(name: str) -> None:
    assert ended(name, None, signal.SIGKILL) == ([], -signal.SIGKILL)


@pytest.mark.parametrize("name", OPEN)
def test_killing_the_driver_at_any_moment_leaves_nothing(name: str, scale: Scale) -> None:
    chance = random.Random(4)
    for _ in range(scale(short=8, full=25)):
        after = chance.uniform(0, 0.12)
        assert ended(name, after, signal.SIGKILL) == ([], -signal.SIGKILL), f"after {after} s"


@pytest.mark.parametrize("name", OPEN)
def test_interrupting_the_driver_ends_everything(name: str) -> None:
    assert ended(name, None, signal.SIGINT) == ([], 7)


def test_interrupting_at_any_moment_leaves_nothing(scale: Scale) -> None:
    chance = random.Random(5)
    for _ in range(scale(short=8, full=25)):
        left, _ = ended(ways.ONE, chance.uniform(0.01, 0.12), signal.SIGINT)
        assert left == []


def test_nothing_is_left_after_a_result_either() -> None:
    def work(inside: Inside) -> int:
        busy_now = tree(inside.files, "files")
        busy_now.started(here("home"), ["sleep", "600"], "/var/log/sleep.log")
        return Path("/proc/self/ns/pid").stat().st_ino

    inside = as_ordinary(lambda: run(work, quiet))
    assert inside not in {int(name.strip("pid:[]")) for name in all_families() if name}


def all_families() -> set[str]:
    """Every family of processes that can be seen from here."""
    return {family(one) for one in processes()}
