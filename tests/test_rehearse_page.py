"""The page of a rehearsal: what a client reads, in which order, for rehearsals that were invented."""

import re
from collections.abc import Callable

import pytest

from hostile import EVERYTHING
from rehearsal_samples import BARE, DRILL, EVERY, LARGE, MISMATCH, SMALL, WRONG, hostile
from scantling.cli.rehearsed import show_rehearsed
from scantling.trials.rehearsal.report import LIMIT
from scantling.trials.rehearsal.results import Rehearsed

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


ORDER = (
    "Rehearsal of Fold & Fell Surveyors: 6 things went otherwise than meant.", "How it was run", "way in", "What was stood up",
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
        (WRONG, "6 things went otherwise than meant."),
        (BARE, "nothing could be stood up here; the files were read and the rules proved, no more."),
    ],
)
def test_the_headline_says_how_it_went(found: Rehearsed, says: str, page: Page) -> None:
    assert flat(page(found)).startswith(f"Rehearsal of {found.office}: {says}")


def test_the_smallest_office_is_told_with_its_counts(page: Page) -> None:
    text = flat(page(SMALL))
    for words in (
        "ordinary user with a range of ids", "one of each row of devices, as it is today", "IPv4 and IPv6", "14: the firewall, machines",
        "2: servers, staff; the firewall between them", "office names: nsd on directory", "Files on files: nothing of its settings",
        "2, used byte for byte: read 1 by nsd-checkconf; 1 taken; firewall/rules.nft loaded by the kernel itself",
        "IPv4 1 of 1, IPv6 1 of 1 as planned", "1 of 1 question answered as planned", "330 of 330 tries",
    ):  # fmt: skip
        assert words in text, words


def test_the_largest_office_is_told_with_its_counts(page: Page) -> None:
    text = flat(page(LARGE))
    for words in (
        "every device and visitor there is, as grown by year 5", "1,312: the firewall", "IPv4 1,200 of 1,200 as planned",
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
    assert re.search(rf"{DRILL[0].what} +server 0 +there +yes", text)


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
