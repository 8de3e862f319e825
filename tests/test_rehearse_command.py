"""The command rehearse and its page: what a client reads, in which order, for rehearsals that were invented; and bad input."""

import json
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from hostile import EVERYTHING
from offices import BRIEFS, ROOT
from rehearsal_samples import BARE, DRILL, EVERY, LARGE, MISMATCH, SMALL, WRONG, hostile
from scantling import api, cli
from scantling.cli.rehearsed import show_rehearsed
from scantling.cli.terminal import BAD_INPUT, FINE, STOPPED
from scantling.trials.rehearsal.report import LIMIT, evidence
from scantling.trials.rehearsal.results import Rehearsed
from scantling.trials.rehearsal.sandbox import RehearsalError
from scantling.trials.rehearsal.wish import Wish

FOLD = str(BRIEFS["fold"])
ENV = {"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT / "src"), "LC_ALL": "C.UTF-8"}
Page = Callable[[Rehearsed], str]
every = pytest.mark.parametrize("name", EVERY)


@pytest.fixture
def page(capsys: pytest.CaptureFixture[str]) -> Page:
    """What is printed of a rehearsal on a pipe."""

    def printed(found: Rehearsed) -> str:
        show_rehearsed(found)
        return capsys.readouterr().out

    return printed


def flat(text: str) -> str:
    """On one line, as if the page were as wide as it likes."""
    return " ".join(text.split())


# --------------------------------------------------------------------------------------------------------------- the page

ORDER = (
    "Rehearsal of Fold & Fell Surveyors: 7 things went otherwise than meant.", "How it was run", "way in", "What was stood up",
    "stations", "zones", "real", "stand-in", "Files, addresses, names", "files", "refused", "addresses", "names, time", "wrong",
    "What was tried, from column to row: let through + kept out", "Held against each other", "proof", "agreement", "differs",
    "sensitivity", "Planted errors that were missed", "Fault drill: 1 of 3 found where they were put, 2 healed",
    "The busiest day, with the real address server", "What went otherwise, one for each cause", "Done otherwise than on site:",
    "What can't be rehearsed here:", LIMIT,
)  # fmt: skip


def test_the_page_answers_in_the_order_in_which_a_client_asks(page: Page) -> None:
    text, place = page(WRONG), 0
    for words in ORDER:
        assert words in text[place:], words
        place = text.index(words, place)


@every
def test_the_last_word_is_how_far_it_goes(name: str, page: Page) -> None:
    text = page(EVERY[name])
    assert text.splitlines()[-2] == LIMIT
    assert text.startswith(f"Rehearsal of {EVERY[name].office}: ")


@pytest.mark.parametrize(
    ("found", "says"),
    [
        (SMALL, "everything went as meant."),
        (LARGE, "everything went as meant."),
        (WRONG, "7 things went otherwise than meant."),
        (BARE, "nothing could be stood up here; the files were read and the rules proved, no more."),
    ],
)
def test_the_headline_says_how_it_went(found: Rehearsed, says: str, page: Page) -> None:
    assert flat(page(found)).startswith(f"Rehearsal of {found.office}: {says}")


def test_the_smallest_office_is_told_with_its_counts(page: Page) -> None:
    text = flat(page(SMALL))
    for words in (
        "ordinary user with a range of ids", "one of each row of devices, as it is today", "IPv4 and IPv6", "14, each with a port",
        "2: servers, staff; the firewall between them", "office names: nsd on directory", "Files on files: nothing of its settings",
        "2, used byte for byte: read 1 by nsd-checkconf; 1 taken; firewall/rules.nft loaded by the kernel itself",
        "IPv4 1 of 1, IPv6 1 of 1 as planned", "1 of 1 question answered as planned", "330 of 330 tries",
    ):  # fmt: skip
        assert words in text, words


def test_the_largest_office_is_told_with_its_counts(page: Page) -> None:
    text = flat(page(LARGE))
    for words in (
        "every device and visitor there is, as grown by year 5", "1,312, each with a port", "IPv4 1,200 of 1,200 as planned",
        "58,476 of 58,476 tries; 4 of them depend on the hour", "170 errors planted in the rules",
        "161 of them make some packet fare otherwise", "the proof noticed 161 (100 %), real packets 161 (100 %)",
        "Fault drill: 22 of 22 found where they were put, 22 healed",
    ):  # fmt: skip
        assert words in text, words
    assert "Planted errors that were missed" not in text


def test_a_share_is_never_rounded_up_to_all(page: Page) -> None:
    assert "the proof noticed 9 (100 %), real packets 8 (88 %)" in flat(page(WRONG))


def test_every_pair_of_the_matrix_stands_in_one_table(page: Page) -> None:
    """Columns that have no room go on below; each source once, each target in every table."""
    text = page(LARGE)
    heads = re.findall(r"^ to +(.*)$", text, re.MULTILINE)
    sources = [word for head in heads for word in head.split()]
    assert sorted(sources) == sorted({one.source for one in LARGE.cells})
    assert text.count("\n   machine-7 ") == len(heads) > 1


def test_counts_of_the_matrix_are_those_that_were_tried(page: Page) -> None:
    text = page(WRONG)
    assert re.search(r"^   files +3 \+ 37 !3 +· +26 \+ 24", text, re.MULTILINE)
    passed = sum(int(word.replace(",", "")) for word in re.findall(r"([\d,]+) \+ [\d,]+", text))
    out = sum(int(word.replace(",", "")) for word in re.findall(r"[\d,·]+ \+ ([\d,]+)", text))
    assert (passed, out) == (sum(one.passed for one in WRONG.cells), sum(one.kept_out for one in WRONG.cells))


def test_a_mismatch_is_told_with_its_cause_line_rule_and_packet(page: Page) -> None:
    text = flat(page(WRONG))
    for words in (
        MISMATCH.says,
        "cause: oops",
        f"packet: {MISMATCH.packet}",
        "rule: oops",
        "brief: brief.yaml:88 domains.tickets",
    ):
        assert words in text, words
    assert "scantling prove --packet" in text


def test_the_drill_says_where_each_was_put_and_found(page: Page) -> None:
    text = page(WRONG)
    assert re.search(r"rogue address server +guests +NOT NOTICED +yes", text)
    assert re.search(r"cable out +port of files +relay on the firewall +NO +no offer", text)
    assert re.search(rf"{DRILL[0].what} +server 0 +server 0 +yes", text)


def test_both_leases_stand_side_by_side(page: Page) -> None:
    text = page(WRONG)
    for words in (
        r"lease 2 h +lease 8 h", r"turned away +0 +215", r"foreseen by counting +0 +214", r"loss formula +0\.0% +35\.9%",
        r"held at 19:00 +327 +388",
    ):  # fmt: skip
        assert re.search(words, text), words


def test_without_rights_it_says_so_and_why_and_claims_nothing_of_packets(page: Page) -> None:
    text = page(BARE)
    for line in BARE.why_not.splitlines():
        assert line.strip() in text
    assert "no packet was sent" in text
    for words in ("What was stood up", "What was tried", "as planned", "stations"):
        assert words not in text, words


@every
@pytest.mark.parametrize("width", [60, 80, 120, 200])
def test_no_line_is_wider_than_the_terminal(
    name: str, width: int, page: Page, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("scantling.cli.showing.PIPE_WIDTH", width)
    assert max(len(line.rstrip()) for line in page(EVERY[name]).splitlines()) <= width


@pytest.mark.parametrize("text", EVERYTHING, ids=range(len(EVERYTHING)))
def test_hostile_text_steers_no_terminal(text: str, page: Page) -> None:
    told = page(hostile(text))
    assert all(letter == "\n" or letter >= " " for letter in told)
    assert not re.search("[\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069]", told)
    assert told.splitlines()[-2] == LIMIT


# ------------------------------------------------------------------------------------------------------------ the command


class Asked:
    """Stands in for the verb: notes what is wished, and gives back what was invented."""

    def __init__(self, found: Rehearsed | BaseException) -> None:
        self.found, self.wish = found, Wish()

    def __call__(self, _made: Any, wish: Wish, tell: Callable[[str], None]) -> Rehearsed:
        """What was invented."""
        self.wish = wish
        tell("trying")
        if isinstance(self.found, BaseException):
            raise self.found
        return self.found


def run(monkeypatch: pytest.MonkeyPatch, found: Rehearsed | BaseException, *words: str) -> tuple[int, Asked]:
    """The command as its door opens it; exit code, and what was asked of the verb."""
    asked = Asked(found)
    monkeypatch.setattr(api, "rehearse", asked)
    monkeypatch.setattr(sys, "argv", ["scantling", "rehearse", FOLD, *words])
    with pytest.raises(SystemExit) as end:
        cli.main()
    assert isinstance(end.value.code, int)
    return end.value.code, asked


@pytest.mark.parametrize(("name", "code"), [("small", FINE), ("large", FINE), ("wrong", STOPPED), ("bare", STOPPED)])
def test_the_exit_code_says_whether_all_went_as_meant(name: str, code: int, monkeypatch: pytest.MonkeyPatch) -> None:
    assert run(monkeypatch, EVERY[name])[0] == code


def test_options_reach_the_verb(monkeypatch: pytest.MonkeyPatch) -> None:
    assert run(monkeypatch, SMALL)[1].wish == Wish()
    words = ("--everyone", "--year", "3", "--family", "6", "--drill", "--planted", "--busiest-day", "--live")
    wished = run(monkeypatch, SMALL, *words)[1].wish
    assert (wished.everyone, wished.year, wished.families) == (True, 3, (6,))
    assert (wished.drill, wished.planted, wished.busiest, wished.live) == (True, True, True, True)


def test_json_is_the_evidence_and_nothing_else(
    monkeypatch: pytest.MonkeyPatch, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    code, _ = run(monkeypatch, WRONG, "--json")
    assert code == STOPPED
    assert capfdbinary.readouterr() == (evidence(WRONG).encode("ascii"), b"")


def test_out_leaves_record_and_drawings(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, _ = run(monkeypatch, WRONG, "--out", str(tmp_path / "a"))
    assert code == STOPPED
    assert api.read_rehearsal(tmp_path / "a" / "rehearsal.json") == WRONG
    for name in ("T-1.svg", "T-2-night.svg", "T-3.svg"):
        assert name in capsys.readouterr().out or (tmp_path / "a" / name).is_file()
    assert run(monkeypatch, SMALL, "--out", str(tmp_path / "a"))[0] == FINE
    assert "Of an earlier rehearsal, and left there: T-2-night.svg" in flat(capsys.readouterr().out)


def test_a_folder_that_cannot_be_written_is_told_before_anything_is_stood_up(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "file").write_text("x", "utf-8")
    code, asked = run(monkeypatch, SMALL, "--out", str(tmp_path / "file"), "--drill")
    assert code == BAD_INPUT
    assert not asked.wish.drill
    assert "is a file; name a folder with --out" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (RehearsalError("the office died: kea-dhcp4 said: no such port"), "kea-dhcp4 said: no such port"),
        (KeyboardInterrupt(), "stopped; nothing was left half-written"),
    ],
)
def test_what_ends_a_rehearsal_is_one_sentence(
    wrong: BaseException, says: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    code, _ = run(monkeypatch, wrong)
    told = capsys.readouterr()
    assert (code, told.out) == (BAD_INPUT, "")
    assert says in told.err
    assert "Traceback" not in told.err


WRONG_WORDS = [
    (("--year", "9"), "0<=x<=5"), (("--year", "x"), "not a valid integer"), (("--family", "5"), "'5' is not one of '4', '6'"),
    (("--everone",), "--everyone"), (("there-is-none.yaml",), "there-is-none.yaml"),
]  # fmt: skip


@pytest.mark.parametrize(("words", "says"), WRONG_WORDS)
def test_bad_input_ends_with_two_and_a_sentence(words: tuple[str, ...], says: str) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "scantling", "rehearse", *words], env=ENV, capture_output=True, text=True, check=False
    )
    assert done.returncode == BAD_INPUT
    assert says in done.stderr
    assert not done.stdout
    assert "Traceback" not in done.stderr


def test_help_of_every_option_fits_one_line() -> None:
    """At 80 letters, as a terminal shows it; what all commands share is left out."""
    done = subprocess.run(
        [sys.executable, "-m", "scantling", "rehearse", "--help"],
        env={**ENV, "COLUMNS": "80"}, capture_output=True, text=True, check=True,
    )  # fmt: skip
    options = done.stdout.partition("Options:\n")[2].splitlines()
    shared = next(place for place, line in enumerate(options) if "--firm" in line)
    assert all(line.lstrip().startswith("-") for line in options[shared + 4 :]), options
    assert "not the box" in done.stdout


# ---------------------------------------------------------------------------------------------------------- for real, once


def test_it_is_really_stood_up_and_the_json_is_alike(tmp_path: Path) -> None:
    """The smallest example twice, as a person starts it: all as meant, the same bytes, nothing on standard error."""
    words = [sys.executable, "-m", "scantling", "rehearse", FOLD, "--json", "--out", str(tmp_path)]
    one, two = (subprocess.run(words, env=ENV, capture_output=True, check=False) for _ in range(2))
    assert (one.returncode, one.stderr) == (FINE, b"")
    assert one.stdout == two.stdout
    told = json.loads(one.stdout)
    assert told["compared"]["well"] is True
    assert told["compared"]["agreement"]["agree"] == told["compared"]["agreement"]["probes"] > 1000
    kept = api.read_rehearsal(tmp_path / "rehearsal.json")
    assert evidence(kept).encode("ascii") == two.stdout
    assert not api.of_another_plan(api.plan(BRIEFS["fold"]), kept)


def test_ctrl_c_ends_it_at_once() -> None:
    """When the office is being built, and a little later: the sentence, the exit code, within two seconds."""
    words = [sys.executable, "-m", "scantling", "rehearse", FOLD]
    for later in (0.0, 0.3):
        with subprocess.Popen(words, env=ENV, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as going:
            children = Path(f"/proc/{going.pid}/task/{going.pid}/children")
            end = time.monotonic() + 30
            while not children.read_text("ascii") and time.monotonic() < end:
                time.sleep(0.005)
            time.sleep(later)
            begun = time.monotonic()
            going.send_signal(signal.SIGINT)
            out, err = going.communicate(timeout=20)
            assert time.monotonic() - begun < 2
        assert (going.returncode, out) == (BAD_INPUT, "")
        assert err.strip() == "stopped; nothing was left half-written"
