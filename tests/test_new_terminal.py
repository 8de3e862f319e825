"""The command new on a terminal of its own, its verbs by the api, and the page about it."""

import json
import os
import pty
import re
import select
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from interview_samples import BAKERY, DAY, ROUGH
from new_runs import ENVIRONMENT, PATIENCE, interviewed, new
from offices import BRIEFS, ROOT, millrace
from scantling import UserError, api
from scantling.api.interviewing import Meeting, Quick, like, moved, scenarios, wished
from scantling.brief.answers import Asking


# ------------------------------------------------------------------------------------------------------- on a terminal


class Terminal:
    """A person at a terminal: what the program prints is read until it waits, then a line is typed."""

    def __init__(self, *words: str, where: Path) -> None:
        self.leader, follower = pty.openpty()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "scantling", *words], stdin=follower, stdout=follower, stderr=follower, env=ENVIRONMENT,
            cwd=where, close_fds=True, start_new_session=True,
        )  # fmt: skip
        os.close(follower)
        self.seen, self.told = "", 0

    def until(self, words: str) -> str:
        """Everything printed from where the last words ended up to these."""
        while (found := self.seen.find(words, self.told)) < 0:
            ready, _, _ = select.select([self.leader], [], [], PATIENCE)
            chunk = self._chunk() if ready else ""
            assert chunk, f"waited for {words!r}, saw {self.seen[self.told :]!r}"
            self.seen += chunk
        begin, self.told = self.told, found + len(words)
        return self.seen[begin : self.told]

    def _chunk(self) -> str:
        try:
            return os.read(self.leader, 65536).decode()
        except OSError:  # Linux tells the end of a terminal so
            return ""

    def type(self, line: str) -> None:
        """One line and the return key."""
        os.write(self.leader, f"{line}\n".encode())

    def end(self) -> int:
        """Wait for the end; its exit code."""
        while chunk := self._chunk():
            self.seen += chunk
        os.close(self.leader)
        return self.process.wait(PATIENCE)


def test_a_terminal_is_asked_whether_it_is_like_an_office_one_knows(tmp_path: Path) -> None:
    screen = Terminal("new", "o", "--on", DAY, where=tmp_path)
    screen.until("> ")
    screen.type("like Milrace but 12 people")
    assert "did you mean millrace?" in screen.until("> ")
    screen.type("like Millrace but 12 people")
    assert "Like The Millrace Arts Centre" in screen.until("What is the client called?")
    for line in ("Mill Lane Players", "IE", "", "Nuala Byrne", "", "4 h", "26000 EUR", "23 %"):
        screen.until("] > ")
        screen.type(line)
    assert screen.end() == 0
    assert "Written: o/brief.yaml" in screen.seen


def test_an_interrupt_keeps_what_was_said(tmp_path: Path) -> None:
    """Control-C in the middle: the answers lie in the file, and the next start goes on behind them."""
    screen = Terminal("new", "o", "--on", DAY, where=tmp_path)
    screen.until("> ")
    screen.type("")
    for line in ("Barley Row Bakery", "IE"):
        screen.until("] > ")
        screen.type(line)
    screen.until("[EUR] > ")
    os.killpg(screen.process.pid, signal.SIGINT)
    assert screen.end() == 1
    assert "Kept in o/answers.yaml: 2 of about" in screen.seen
    screen = Terminal("new", "o", "--on", DAY, where=tmp_path)
    told = screen.until("[EUR] > ")
    assert "Going on: 2 of about" in told
    screen.type("\x04")
    assert screen.end() == 1


def test_a_terminal_is_asked_before_a_brief_is_written_anew(tmp_path: Path) -> None:
    brief = interviewed(tmp_path)
    brief.write_text(millrace(), encoding="utf-8")
    for answer, code in (("", 1), ("yes", 0)):
        screen = Terminal("new", "o", "--on", DAY, where=tmp_path)
        screen.until("Write it anew? [no] > ")
        screen.type(answer)
        assert screen.end() == code
        assert (brief.read_text(encoding="utf-8") == millrace()) is (answer == "")


# -------------------------------------------------------------------------------------------------------------- the api


def test_the_offices_that_come_with_the_program_are_found() -> None:
    assert {"millrace", "fold-and-fell"} <= set(scenarios())
    assert scenarios(Path("/nowhere/at/all")) == {}


@pytest.mark.parametrize(
    ("words", "office", "people"),
    [
        ("like Millrace but 12 people", "Millrace", 12),
        ("millrace but with 12", "millrace", 12),
        ("Like The Millrace Arts Centre", "The Millrace Arts Centre", None),
        ("fold-and-fell", "fold-and-fell", None),
        ("x.yaml but 7 people", "x.yaml", 7),
    ],
)
def test_a_wish_is_an_office_and_a_number(words: str, office: str, people: int | None) -> None:
    assert wished(words) == (office, people)


@pytest.mark.parametrize(
    "wish",
    [
        "The Millrace Arts Centre",
        "Millrace",
        "fold and fell",
        "Fold & Fell Surveyors",
        str(BRIEFS["fold"]),
        str(BRIEFS["fold"].parent),
    ],
)
def test_an_office_is_found_by_name_folder_or_path(wish: str, tmp_path: Path) -> None:
    assert like(Meeting(tmp_path / "o", DAY), wish, 9).things["services"]


def test_no_price_is_shown_before_people_are_known(tmp_path: Path) -> None:
    meeting = Meeting(tmp_path / "o", DAY)
    assert "not yet known" in meeting.quick().lacking
    assert meeting.quick().price == ""


def test_what_moved_is_one_line_with_the_unit_once() -> None:
    before, after = Quick("31,200.00 EUR", "96 GiB"), Quick("33,900.00 EUR", "128 GiB")
    assert moved(before, after) == "rough price 31,200.00 -> 33,900.00 EUR; memory 96 -> 128 GiB"
    assert moved(after, after) == ""
    assert moved(Quick(), after) == "rough price 33,900.00 EUR; memory 128 GiB"


def test_each_answer_is_kept_as_soon_as_it_is_given(tmp_path: Path) -> None:
    meeting = Meeting(tmp_path / "o", DAY)
    for line in BAKERY[:12]:
        meeting.put(line)
        assert Meeting(tmp_path / "o", DAY).answers == meeting.answers


def test_what_stands_beside_the_brief_counts_in_the_price(tmp_path: Path) -> None:
    """The quick price reads standing.yaml as plan does; a broken one is told."""
    meeting = Meeting(tmp_path / "o", DAY)
    meeting.begin(Asking.ROUGH)
    for line in ROUGH:
        meeting.put(line)
    meeting.write(yes=False)
    (tmp_path / "o/standing.yaml").write_text("nonsense: {}\n", encoding="utf-8")
    with pytest.raises(UserError, match=r"standing\.yaml"):
        meeting.plan()
    assert "no price yet: standing.yaml" in meeting.quick().lacking


def test_the_brief_planned_by_the_api_is_the_brief_in_the_file(tmp_path: Path) -> None:
    meeting = Meeting(tmp_path / "o", DAY)
    meeting.begin(Asking.ROUGH)
    for line in ROUGH:
        meeting.put(line)
    meeting.write(yes=False)
    made, again = meeting.plan(), api.plan(tmp_path / "o/brief.yaml")
    assert json.dumps(sorted(made.figures)) == json.dumps(sorted(again.figures))
    assert made.figures["money.total"].value == again.figures["money.total"].value


# ------------------------------------------------------------------------------------------------------------- the page


PAGE = (ROOT / "docs/interview.md").read_text(encoding="utf-8")


def test_the_commands_of_the_page_run_as_they_stand(tmp_path: Path) -> None:
    """In their order, in an empty folder with the answers that the page shows."""
    script = PAGE.split("```yaml\n", 1)[1].split("```", 1)[0]
    (tmp_path / "answers.yaml").write_text(script, encoding="utf-8")
    commands = re.findall(r"^\$ (.+)$", PAGE, re.MULTILINE)
    assert len(commands) >= 5
    for command in commands:
        line = command.replace("scantling new", f"'{sys.executable}' -m scantling new", 1)
        line = line.replace("scantling plan", f"'{sys.executable}' -m scantling plan", 1)
        told = subprocess.run(
            ["/bin/bash", "-c", line], capture_output=True, text=True, env=ENVIRONMENT, cwd=tmp_path, check=False
        )
        assert told.returncode == 0, (command, told.stdout, told.stderr)
    for written in ("lane/brief.yaml", "rough/brief.yaml", "paper/interview.pdf", "larkfield/answers.yaml"):
        assert (tmp_path / "out" / written).is_file()


def test_the_talk_of_the_page_is_held_so(tmp_path: Path) -> None:
    """Every line of the page's talk is printed, in that order."""
    talk = PAGE.split("```text\n", 1)[1].split("```", 1)[0].splitlines()
    shown = [re.sub(r"(\] >) .*", r"\1", line) for line in talk if line != "..."]
    typed = ("Barley Row Bakery", "ireland", "IE", "", "", "?", "stop")
    said = new("new", "o", "--on", DAY, typed=typed, where=tmp_path).stderr.splitlines()
    lines = iter([line.rstrip() for line in said])
    for line in shown:
        assert line in lines, line
