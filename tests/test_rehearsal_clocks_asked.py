"""A clock's answer is held against the time in which it can have been given, from the question to now, however long that was."""

import socket
import struct
import threading
import time
from ipaddress import ip_address

import pytest

from own_namespace import apart
from scantling.trials.rehearsal.inquiring import Patience, answered
from scantling.trials.rehearsal.netlink import Netlink
from scantling.trials.rehearsal.questions import Question
from scantling.trials.rehearsal.rooms import here

SINCE_1900 = 2_208_988_800
"""Seconds to the beginning of 1970: RFC 5905 figure 4."""
HERE = ip_address("127.0.0.1")


def told(ahead: float, late: float) -> str:
    """What is said against a clock that is ahead, and whose answer is late, both in seconds; nothing, if it is right."""

    def work() -> str:
        room = here("home")
        with Netlink(room) as link:
            link.up("lo")
        clock = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        clock.bind((str(HERE), 123))

        def answer() -> None:
            asked, who = clock.recvfrom(100)
            now = time.time() + SINCE_1900 + ahead
            time.sleep(late)
            # RFC 5905 figure 8: version 4, a server's answer, stratum 2; the last stamp is when it was sent
            head = bytes([0x24, 2]) + bytes(22) + asked[40:48] + bytes(8)
            clock.sendto(head + struct.pack("!II", int(now), int(now % 1 * 2**32)), who)

        threading.Thread(target=answer, daemon=True).start()
        (found,) = answered([Question("laptop", HERE, HERE)], lambda _: room, Patience(1, 20.0))
        return found.wrong

    said: str = apart(work)
    return said


@pytest.mark.parametrize("late", [0.0, 2.5])
def test_a_right_clock_is_right_however_late_its_answer_comes(late: float) -> None:
    assert told(0.0, late) == ""


def test_a_wrong_clock_is_wrong() -> None:
    assert told(3600.4, 0.0) == "its clock is 3600 s ahead"
    assert told(-3600.4, 0.0) == "its clock is 3600 s behind"
