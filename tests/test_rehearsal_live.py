"""An office that is kept up: a whole session at a terminal, led by an ordinary user, and nothing left afterwards."""

import fcntl
import os
import pty
import re
import select
import struct
import sys
import tempfile
import termios
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import dns.rdata
import pytest

from offices import changed, example, fold, planned
from ordinary_user import Driver, become, driver
from scantling.cli import living as terminal
from scantling.outputs.files import written
from scantling.plan.make import Plan
from scantling.trials.rehearsal.capture import BEFORE, HEAD
from scantling.trials.rehearsal.person import Person
from scantling.trials.rehearsal.rehearsing import rehearsed
from scantling.trials.rehearsal.wish import Wish

PROMPT, PATIENCE = "office: ", 60.0
PASTING = re.compile(r"\x1b\[\?2004[hl]\n?|\r")
"""What a shell says to the terminal about pasting."""
RECORDS = {
    "A": "192.0.2.1",
    "AAAA": "2001:db8::1",
    "PTR": "a.example.",
    "SOA": "a.example. b.example. 1 2 3 4 5",
    "NS": "a.example.",
}
MORE = (
    "traffic:\n  allow:\n    copies-web: {from: staff, to: files, what: tcp 8443, why: a page of the file server}\n"
)


def widened() -> Plan:
    """Fold & Fell's plan with one more intent."""
    return planned(changed(fold(), "traffic:\n", MORE))


@dataclass
class Session:
    """An office led at a terminal."""

    master: int
    office: Driver
    left: str = ""

    def until(self, words: str) -> str:
        """What is said up to some words. Raises AssertionError when they don't come."""
        end = time.monotonic() + PATIENCE
        while words not in self.left and time.monotonic() < end:
            if select.select([self.master], [], [], 0.1)[0]:
                try:
                    self.left += os.read(self.master, 65536).decode("utf-8", "replace")
                    self.left = PASTING.sub("", self.left)
                except OSError:  # nobody is at the other end any more
                    break
        assert words in self.left, self.left
        said, _, self.left = self.left.partition(words)
        return said

    def typed(self, line: str, wait: str = PROMPT) -> str:
        """Type a line; what is said to it."""
        os.write(self.master, f"{line}\n".encode())
        return self.until(wait)


def session(plans: list[Plan], out: Path | None) -> Session:
    """Fold & Fell's office, led by an ordinary user at a terminal of their own; `plans`: what the brief gives when read again."""
    written(example("fold"))
    for kind, words in RECORDS.items():
        dns.rdata.from_text("IN", kind, words)
    import readline  # noqa: F401, PLC0415 - an ordinary user may not be able to read Python's own files

    master, slave = pty.openpty()
    fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 132, 0, 0))

    def work(_: str) -> None:
        fcntl.ioctl(slave, termios.TIOCSCTTY, 0)
        for descriptor in range(3):
            os.dup2(slave, descriptor)
        sys.stdin, sys.stdout, sys.stderr = (os.fdopen(number, mode) for number, mode in enumerate(("r", "w", "w")))
        become(os.geteuid())
        person = Person(
            lambda found: terminal.said([f"well: {found.well}"]),
            terminal.asked,
            terminal.said,
            lambda: plans.pop(0),
            out,
        )
        rehearsed(example("fold"), Wish(live=True, way_in="one-id"), lambda _: None, person)
        terminal.said(["the office has ended"])

    office = driver(work)
    os.close(slave)
    return Session(master, office)


@pytest.fixture
def anybodys() -> Iterator[Path]:
    """A folder in which an ordinary user may write: the runner's own are shut to others whenever another run begins."""
    with tempfile.TemporaryDirectory() as folder:
        Path(folder).chmod(0o777)
        yield Path(folder)


@pytest.mark.slow
def test_a_session_at_a_terminal(anybodys: Path) -> None:
    """A shell in a machine and in a device, one packet, a capture, another plan, and nothing left afterwards."""
    one = session([example("fold"), widened(), example("millrace"), widened()], anybodys)
    assert "well: True" in one.until(PROMPT)
    families = one.office.families()

    assert re.search(r"laptops-01 +staff +10\.71\.30\.\d+", one.typed("who staff"))
    said = one.typed("try laptops-01 tcp files:445 v4")
    assert "intents: let it pass (Files)" in said
    assert "was let through; the sender heard an answer of files; as meant" in said
    said = one.typed("try spare-management tcp files:445 v4")
    assert "rules: keep it out" in said
    assert "was kept out; the sender heard nothing; as meant" in said
    assert "leave out the hour" in one.typed("try laptops-01 tcp files:445 at mon 09:00")

    in_a_machine(one)
    captured(one, anybodys)
    another_plan(one)

    os.write(one.master, b"\x04")
    one.until("the office has ended")
    assert os.waitpid(one.office.process, 0)[1] == 0
    assert one.office.gone_within(3.0, families) == []
    os.close(one.master)


def in_a_machine(one: Session) -> None:
    """The shell is in the machine's room and files; Ctrl-C is its own; its end comes back to the prompt."""
    one.typed("go files", "files / $ ")
    assert "\nfiles\n" in one.typed("cat /etc/hostname", "files / $ ")
    assert "10.71.20.23/26" in one.typed("ip -br address show up", "files / $ ")
    assert "40 132" in one.typed("stty size", "files / $ ")
    os.write(one.master, b"sleep 1000\n")
    one.until("sleep 1000\n")
    time.sleep(0.2)  # until it sleeps
    os.write(one.master, b"\x03")
    one.until("files / $ ")
    assert "back from files, whose shell ended with 3" in one.typed("exit 3")
    one.typed("go laptops-01", "laptops-01 / $ ")
    assert "Read-only" in one.typed("touch /etc/not-here", "laptops-01 / $ ")
    assert "back from laptops-01\n" in one.typed("exit 0")


def captured(one: Session, folder: Path) -> None:
    """What is sent while a zone is listened to stands in the file, packet for packet."""
    assert "listening to staff" in one.typed("listen staff")
    assert "listened to already" in one.typed("listen staff other")
    one.typed("try laptops-01 ping files v4")
    assert re.search(r"staff: \d+ packets heard\nwritten: .*staff\.pcap", one.typed("enough"))
    found = frames((folder / "staff.pcap").read_bytes())
    echoes = [frame for frame in found if frame[12:14] == b"\x08\x00" and frame[23] == 1]
    assert {frame[34] for frame in echoes} == {8, 0}  # RFC 792: an echo, and its reply
    assert {frame[30:34] for frame in echoes if frame[34] == 8} == {bytes([10, 71, 20, 23])}


def another_plan(one: Session) -> None:
    """The same plan changes nothing; one more intent is loaded, proved and tried; another office isn't taken for this one."""
    assert "nothing differs" in one.typed("again")
    assert "was kept out" in one.typed("try laptops-01 tcp files:8443 v4")
    said = one.typed("again")
    assert "firewall/rules.nft" in said
    assert re.search(r"proved: \d+ rules as the kernel lists them: every packet fares as is meant", said)
    assert re.search(r"tried: \d+ packets, all as meant", said)
    said = one.typed("try laptops-01 tcp files:8443 v4")
    assert "intents: let it pass" in said
    assert "was let through; the sender heard an answer of files; as meant" in said
    assert "leave, and rehearse it anew" in one.typed("again")
    assert "nothing differs" in one.typed("again")


def frames(content: bytes) -> list[bytes]:
    """The frames in a capture, read apart from the code that wrote it."""
    place, found = HEAD.size, []
    while place < len(content):
        length = struct.unpack_from("<I", content, place + 8)[0]
        found.append(content[place + BEFORE.size : place + BEFORE.size + length])
        place += BEFORE.size + length
    return found
