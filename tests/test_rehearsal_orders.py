"""What is asked of an office that is kept up, and how: words, lines, captures that others can read, plans that it can follow."""

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from offices import BRIEFS, ROOT, changed, example, fold, planned
from scantling import UserError
from scantling.cli import living as terminal
from scantling.plan.make import Plan
from scantling.trials.rehearsal.again import differences
from scantling.trials.rehearsal.capture import framed, head, packets
from scantling.trials.rehearsal.design import designed
from scantling.trials.rehearsal.guiding import Guide
from scantling.trials.rehearsal.live import NOTHING_WRITTEN
from scantling.trials.rehearsal.orders import (
    WORDS, Again, Enough, Go, Leave, Listen, OrderError, Ready, Said, Try, Who, read_order,
)  # fmt: skip
from scantling.trials.rehearsal.person import Person
from scantling.trials.rehearsal.results import Rehearsed

OFFICE = designed(example("fold"))
ENV = {"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT / "src"), "LC_ALL": "C.UTF-8"}
MORE = (
    "traffic:\n  allow:\n    copies-web: {from: staff, to: files, what: tcp 8443, why: a page of the file server}\n"
)


def widened() -> Plan:
    """Fold & Fell's plan with one more intent."""
    return planned(changed(fold(), "traffic:\n", MORE))


# -------------------------------------------------------------------------------------------------------------- words


@pytest.mark.parametrize(
    ("line", "order"),
    [
        ("go files", Go("files")), ("  go   firewall ", Go("firewall")), ("who", Who()), ("who staff", Who("staff")),
        ("try laptops-01 tcp files:445", Try("laptops-01 tcp files:445")), ('try "guests ping files"', Try("guests ping files")),
        ("listen staff", Listen("staff", "staff.pcap")), ("listen staff monday", Listen("staff", "monday.pcap")),
        ("listen staff a.pcap", Listen("staff", "a.pcap")), ("enough", Enough()), ("again", Again()), ("leave", Leave()),
        ("", None), ("   ", None), ("help", None),
    ],
)  # fmt: skip
def test_words_are_understood(line: str, order: object) -> None:
    """Each word with what belongs to it."""
    assert read_order(line, OFFICE) == order


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("goo files", "did you mean go?"), ("go", "write it as: go STATION"), ("go filse", "did you mean files?"),
        ("go files now", "write it as: go STATION"), ("who staf", "did you mean staff?"), ("again 2", "write it as: again"),
        ("leave it", "write it as: leave"), ("try", "write it as: try WORDS"), ("listen", "write it as: listen ZONE [FILE]"),
        ("rm -rf /", "type help"), ("listen staff ../../etc/passwd", "no folder"), ("listen staff a/b", "no folder"),
        ("listen staff .bashrc", "no folder"), (f"listen staff {'x' * 200}", "no folder"), ("listen nowhere", "there is no zone"),
        ("go ../files", "there is no station"), ("\x1b[31mgo", "is not understood"),
    ],
)  # fmt: skip
def test_what_is_not_understood_is_told_with_what_would_be(line: str, says: str) -> None:
    """No word is guessed, no file is named outside the folder, no odd letter reaches the terminal."""
    with pytest.raises(OrderError) as wrong:
        read_order(line, OFFICE)
    assert says in str(wrong.value)
    assert "\x1b" not in str(wrong.value)


def test_help_tells_every_word() -> None:
    """All that can be typed stands in the table that help shows, and each line of it can be typed."""
    examples = {
        "go STATION": "go files",
        "who [ZONE]": "who staff",
        "try WORDS": "try a tcp b:1",
        "listen ZONE [FILE]": "listen staff",
    }
    assert all(read_order(examples.get(word, word), OFFICE) is not None for word in WORDS)


# ------------------------------------------------------------------------------------------- one who leads, without an office


class Pipe:
    """Orders as they were sent."""

    def __init__(self) -> None:
        self.sent: list[object] = []

    def send(self, order: object) -> None:
        """Note it."""
        self.sent.append(order)


def guide(
    lines: list[str], out: Path | None = None, replan: Callable[[], Plan] = widened
) -> tuple[Guide, Pipe, list[str]]:
    """A guide for a person who types some lines and then nothing more; orders sent and lines told."""
    told: list[str] = []
    person = Person(lambda _: None, lambda: lines.pop(0) if lines else None, told.extend, replan, out)
    pipe = Pipe()
    return Guide(person, OFFICE, pipe), pipe, told  # type: ignore[arg-type]


def test_a_mistake_in_the_brief_is_told_and_the_office_stays_up() -> None:
    """Planning again may fail: it is said, and the next line is asked for."""

    def fails() -> Plan:
        raise UserError("brief.yaml:3:1: what is wrong")

    one, pipe, told = guide(["again", "nonsense", "who"], replan=fails)
    one.heard(Ready(Rehearsed("x", "y")))
    assert pipe.sent == [Who()]
    assert "brief.yaml:3:1: what is wrong" in told
    assert any("not understood" in line for line in told)


def test_the_end_of_all_lines_leaves() -> None:
    """Ctrl-D is leaving; after that nothing more is asked."""
    one, pipe, _ = guide([])
    assert one.heard(Ready(Rehearsed("x", "y")))
    assert one.heard(Said(("the last word",)))
    assert pipe.sent == [Leave()]
    assert not one.heard("a step of the rehearsal")


def test_captures_are_written_only_where_a_folder_is_named(tmp_path: Path) -> None:
    """Without one it is said that nothing is written."""
    one, _, told = guide([])
    one.heard(Said(("staff: 1 packets heard",), (("staff.pcap", head()),)))
    assert told[-1] == NOTHING_WRITTEN
    assert list(tmp_path.iterdir()) == []
    one, _, told = guide([], tmp_path)
    one.heard(Said((), (("staff.pcap", head()),)))
    assert (tmp_path / "staff.pcap").read_bytes() == head()
    assert told[-1] == f"written: {tmp_path / 'staff.pcap'}"


def test_lines_are_read_one_by_one_where_there_is_no_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """Not an octet more than a line is taken: what follows may be meant for a shell."""
    heard, saying = os.pipe()
    os.write(saying, b"go files\nexit\nlast")
    os.close(saying)
    reads = os.read
    monkeypatch.setattr(os, "read", lambda _, many: reads(heard, many))
    assert terminal.plainly() == "go files"
    assert reads(heard, 5) == b"exit\n"
    assert terminal.plainly() == "last"
    assert terminal.plainly() is None
    os.close(heard)


# ----------------------------------------------------------------------------------------------------------- captures


def test_captures_are_as_libpcap_writes_them() -> None:
    """Head and packet as draft-ietf-opsawg-pcap lays them out, sections 4 and 5, octet by octet."""
    assert head() == bytes.fromhex("d4c3b2a1 0200 0400 00000000 00000000 ffff0000 01000000")
    assert framed(b"abc", 3, 1.5) == bytes.fromhex("01000000 20a10700 03000000 03000000") + b"abc"
    assert packets(head() + framed(b"abc", 3, 1.5) + framed(b"", 0, 0)) == 2
    with pytest.raises(ValueError, match="no capture"):
        packets(b"something else that is long enough")


# ------------------------------------------------------------------------------------------------------- another plan


def test_another_office_is_not_the_same_office() -> None:
    """A device more, or an address that is another, can't be followed by an office that lives; one more intent can."""
    assert [*differences(OFFICE, designed(widened()))] == []
    moved = designed(planned(changed(fold(), "10.71.0.0/16", "10.99.0.0/16")))
    assert "zones or lines differ" in differences(OFFICE, moved)
    assert next(differences(OFFICE, designed(example("brackwater")))).startswith("gone: ")


def test_the_office_is_not_kept_up_for_a_page_of_json() -> None:
    """--json writes JSON alone, so --live beside it is refused before anything is done."""
    words = [sys.executable, "-m", "scantling", "rehearse", str(BRIEFS["fold"]), "--live", "--json"]
    done = subprocess.run(
        words, capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL, timeout=60, env=ENV
    )
    assert done.returncode == 2
    assert "leave one of them out" in done.stderr
    assert done.stdout == ""
