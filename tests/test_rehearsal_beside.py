"""Work beside the rehearsal: its outcome, its errors in a person's words, its end; the kernel says how it is scheduled."""

import os
import signal
import time
from collections.abc import Callable

import pytest

from scantling import UserError
from scantling.trials.rehearsal.beside import POLITE, Beside, Prepared
from scantling.trials.rehearsal.sandbox import RehearsalError

NAP = 1.0
"""Seconds; longer than a busy machine takes to fork."""


def test_what_comes_of_it_comes_back_as_often_as_it_is_asked_for() -> None:
    beside = Beside("the sum", lambda: (os.getpid(), 1 + 1))
    number, told = beside.result()
    assert (told, beside.result()) == (2, (number, 2))
    assert number != os.getpid()


def test_others_go_on_meanwhile() -> None:
    began = time.monotonic()
    beside = Beside("a nap", lambda: time.sleep(NAP))
    assert time.monotonic() - began < NAP
    beside.result()
    assert time.monotonic() - began >= NAP


def _fails(wrong: BaseException) -> None:
    raise wrong


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (RehearsalError("no cable"), "^no cable$"),
        (UserError("no such rule"), "^no such rule$"),
        (OSError(1, "not permitted"), "^the work: not permitted$"),
        (KeyError("zone"), "^the work couldn't be run: KeyError: 'zone'$"),
    ],
)
def test_errors_come_back_in_words(wrong: BaseException, words: str) -> None:
    beside = Beside("the work", lambda: _fails(wrong))
    for _ in range(2):
        with pytest.raises(RehearsalError, match=words):
            beside.result()


def test_one_that_is_ended_says_nothing() -> None:
    beside = Beside("the work", lambda: os.kill(os.getpid(), signal.SIGKILL))
    with pytest.raises(RehearsalError, match="the work ended without a word"):
        beside.result()


def test_the_polite_let_others_pass() -> None:
    mine = os.getpriority(os.PRIO_PROCESS, 0)
    assert Beside("manners", lambda: os.getpriority(os.PRIO_PROCESS, 0), polite=True).result() == mine + POLITE
    assert Beside("none", lambda: os.getpriority(os.PRIO_PROCESS, 0)).result() == mine


def test_what_can_be_prepared_is_done_before_the_rest_is_told() -> None:
    heard, saying = os.pipe()

    def work(rest: Callable[[], int]) -> int:
        os.write(saying, b"ready")
        return 40 + rest()

    prepared = Prepared("the sum", work)
    assert os.read(heard, 5) == b"ready"
    prepared.tell(2)
    assert prepared.result() == 42
    os.close(heard)
    os.close(saying)


def test_the_rest_is_told_to_one_that_has_failed_already() -> None:
    """Much is told, more than a pipe holds: whoever tells isn't kept."""
    prepared = Prepared[bytes, None]("the work", lambda _: _fails(RehearsalError("no cable")))
    time.sleep(NAP)
    prepared.tell(bytes(1 << 20))
    with pytest.raises(RehearsalError, match=r"^no cable$"):
        prepared.result()
