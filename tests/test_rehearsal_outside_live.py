"""The world outside as it lives: asked at any address by dnspython, chronyd and udhcpc; stopped, started and left alone."""

import os
import select
import signal
import socket
import time
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import dns.exception
import dns.message
import dns.query
import pytest

from scantling.figures import FIREWALL, OUTSIDE
from scantling.trials.rehearsal.outside import Outside
from scantling.trials.rehearsal.sandbox import RehearsalError
from served_offices import PATIENCE, Stood, data, lends, stood

FAR = ("192.0.2.77", "198.51.100.1", "203.0.113.200", "2001:db8:bad::77", "2001:db8:1:2:3::4")
AHEAD = 4321.5
SCRIPT_AT, LENT_AT = "/var/lib/script", "/var/lib/lent"


@cache
def lived() -> Mapping[str, Any]:
    """The world outside Brackwater's lines, asked from the firewall's room in every way."""

    def work(there: Stood) -> dict[str, Any]:
        name, hosts = there.office.outside_names[-1]
        found: dict[str, Any] = {"hosts": [str(one) for one in hosts if one.version == 4]}
        for at in FAR:
            found[f"udp {at}"], found[f"tcp {at}"] = by_udp(there, at, name), by_tcp(there, at, name)
        found["beside a half"] = beside_a_half(there, name)
        found["many"] = many(there, name)
        there.outside.stop_names()
        found["stopped"], found["stopped tcp"] = by_udp(there, FAR[0], name, 0.3), by_tcp(there, FAR[0], name)
        there.outside.start_names()
        there.outside.start_names()  # no harm
        found["again"] = by_udp(there, FAR[0], name)
        found["clock"] = chronyd(there, FAR[0])
        there.outside.clock_off(AHEAD)
        found["clock ahead"], found["clock ahead in IPv6"] = chronyd(there, FAR[0]), chronyd(there, FAR[3])
        found["lent"] = udhcpc(there)
        there.outside.stop_lending(there.office.ways[0].slug)
        found["lent no more"] = udhcpc(there)
        found["one beside"] = beside_one(there, name)
        found["gone with who started it"] = gone(there)
        found["taken"] = taken(there)
        return found

    return stood("brackwater", work)


def by_udp(there: Stood, at: str, name: str, patience: float = PATIENCE) -> list[str]:
    """Answers to a question at an address, which the answer must come from (dnspython looks at that)."""
    with there.room(FIREWALL).entered():
        try:
            said = dns.query.udp(dns.message.make_query(name, "A"), at, timeout=patience)
        except (OSError, dns.exception.Timeout) as wrong:
            return [type(wrong).__name__]
    return [one for _, _, one in data(said.answer)]


def by_tcp(there: Stood, at: str, name: str) -> list[str]:
    """The same over TCP."""
    with there.room(FIREWALL).entered():
        try:
            said = dns.query.tcp(dns.message.make_query(name, "A"), at, timeout=PATIENCE)
        except (OSError, EOFError, dns.exception.Timeout) as wrong:
            return [type(wrong).__name__]
    return [one for _, _, one in data(said.answer)]


def beside_a_half(there: Stood, name: str) -> list[Any]:
    """Somebody connects and says half a message; others are answered meanwhile, and he too when he has said the rest."""
    question = dns.message.make_query(name, "A").to_wire()
    with there.room(FIREWALL).socket(socket.AF_INET, socket.SOCK_STREAM) as slow:
        slow.settimeout(PATIENCE)
        slow.connect((FAR[1], 53))
        slow.send(len(question).to_bytes(2, "big") + question[:9])
        others = by_tcp(there, FAR[1], name) + by_udp(there, FAR[1], name)
        slow.send(question[9:] + len(question).to_bytes(2, "big") + question)  # and one more at once
        said = b""
        while len(said) < 4 or len(said) < 2 * (2 + int.from_bytes(said[:2], "big")):
            said += slow.recv(4096)
    return [others, len(said) == 2 * (2 + int.from_bytes(said[:2], "big"))]


def many(there: Stood, name: str) -> int:
    """How many of a hundred questions put at once are answered."""
    with there.room(FIREWALL).socket(socket.AF_INET6, socket.SOCK_DGRAM) as mine:
        for number in range(100):
            question = dns.message.make_query(name, "AAAA")
            question.id = number
            mine.sendto(question.to_wire(), (FAR[3], 53))
        numbers: set[bytes] = set()
        while select.select([mine], [], [], 1.0)[0] and len(numbers) < 100:
            numbers.add(mine.recv(4096)[:2])
    return len(numbers)


def chronyd(there: Stood, at: str) -> str:
    """What a real clock finds of its own when it asks that one and sets nothing (chronyd -Q)."""
    words = ["chronyd", "-Q", "-t", "8", f"server {at} iburst maxsamples 1", "cmdport 0", "pidfile /var/lib/asks.pid"]
    told_by = there.trees[FIREWALL].ran(there.room(FIREWALL), words)
    return (told_by.stdout + told_by.stderr).decode()


SCRIPT = b"""#!/bin/sh
[ "$1" = bound ] && echo "$ip $mask $router $lease" > /var/lib/lent
exit 0
"""


def udhcpc(there: Stood) -> str:
    """What a real client is lent on the first line."""
    tree = there.trees[FIREWALL]
    tree.put(SCRIPT_AT, SCRIPT, 0o755)
    tree.put(LENT_AT, b"")
    words = [
        "udhcpc",
        "-i",
        there.office.ways[0].interface,
        "-n",
        "-q",
        "-f",
        "-t",
        "2",
        "-T",
        "1",
        "-s",
        SCRIPT_AT,
    ]
    tree.ran(there.room(FIREWALL), words)
    return tree.place(LENT_AT).read_bytes().decode("ascii").strip()


def beside_one(there: Stood, name: str) -> list[list[str]]:
    """Somebody else stands at one address: he is asked there, the name server everywhere else."""
    with there.room(OUTSIDE).socket(socket.AF_INET, socket.SOCK_DGRAM) as other:
        other.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        other.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEPORT, 1)
        other.bind((FAR[0], 53))
        elsewhere, here = by_udp(there, FAR[1], name), by_udp(there, FAR[0], name, 0.3)
        return [elsewhere, here, [] if not select.select([other], [], [], 0)[0] else ["asked"]]


def gone(there: Stood) -> bool:
    """Whether a world outside ends when the process that started it is killed."""
    heard, saying = os.pipe()
    child = os.fork()
    if not child:
        mine = Outside(there.office, there.room("copies"), {})
        mine.start()
        assert mine.attendant is not None
        os.write(saying, str(mine.attendant.process).encode())
        signal.pause()
    process = Path("/proc", os.read(heard, 100).decode())
    there_before = process.exists()
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    end = time.monotonic() + PATIENCE
    while process.exists() and time.monotonic() < end:
        time.sleep(0.01)
    return there_before and not process.exists()


def taken(there: Stood) -> str:
    """What is said when a port is somebody else's."""
    with there.room("files").socket(socket.AF_INET, socket.SOCK_DGRAM) as other:
        other.bind(("", 123))
        with pytest.raises(RehearsalError) as wrong:
            Outside(there.office, there.room("files"), {}).start()
    return str(wrong.value)


@pytest.mark.parametrize("how", ["udp", "tcp"])
@pytest.mark.parametrize("at", FAR)
def test_every_address_outside_answers_for_names(at: str, how: str) -> None:
    assert lived()[f"{how} {at}"] == lived()["hosts"]


def test_names_outside_stop_and_start() -> None:
    found = lived()
    assert found["stopped"] == ["Timeout"]
    assert found["stopped tcp"] == ["ConnectionRefusedError"]
    assert found["again"] == found["hosts"]


def test_nobody_waits_for_somebody_slow() -> None:
    assert lived()["beside a half"] == [2 * lived()["hosts"], True]
    assert lived()["many"] == 100


def test_a_real_clock_finds_the_time_outside() -> None:
    """In its own words; the clock is the same machine's, so it is right within milliseconds, or wrong by just what was set."""
    assert abs(wrong_by(lived()["clock"])) < 0.05
    assert wrong_by(lived()["clock ahead"]) == pytest.approx(AHEAD, abs=0.05)
    assert wrong_by(lived()["clock ahead in IPv6"]) == pytest.approx(AHEAD, abs=0.05)


def wrong_by(said: str) -> float:
    """Seconds, from "System clock wrong by 1.5 seconds (ignored)"."""
    assert "System clock wrong by " in said, said
    return float(said.partition("System clock wrong by ")[2].split()[0])


def test_a_real_client_is_lent_the_lines_address() -> None:
    way, lent = lends()
    assert lived()["lent"].split() == [str(lent.lends), str(way.network4.prefixlen), str(way.gateway4), "3600"]
    assert lived()["lent no more"] == ""


def test_somebody_may_stand_at_one_address_beside() -> None:
    assert lived()["one beside"] == [lived()["hosts"], ["Timeout"], ["asked"]]


def test_it_ends_with_who_started_it() -> None:
    assert lived()["gone with who started it"]


def test_a_port_that_is_taken_is_told() -> None:
    assert lived()["taken"].startswith("the world outside can't answer: OSError: [Errno 98]")
