"""What stands, written by somebody hostile or careless: a sentence at its place, or a plan; and words stay words everywhere."""

import json
import os
import shutil
import subprocess
from collections.abc import Callable
from itertools import cycle
from pathlib import Path
from shutil import which
from xml.etree import ElementTree as ET

import pytest
from ruamel.yaml import YAML

from hostile import HOSTILE
from hostile_briefs import quoted
from offices import BRIEFS, changed, fold
from scantling import UserError, api
from standing_samples import STANDS
from test_book_html import Reader

ZONE = "issued:\n  zones:\n    staff: {number: 10, network: 10.44.0.0/24, gateway: 10.44.0.1}\n"
REGISTERS = [  # what stands, the answer that is wrong, what is said; networks after RFC 6890, RFC 5771 and RFC 1918
    (changed(ZONE, "10.44.0.0/24", "0.0.0.0/0"), "0.0.0.0/0", "from /8 to /30 is accepted"),
    (changed(ZONE, "10.44.0.0/24", "0.0.0.0/1"), "0.0.0.0/1", "from /8 to /30 is accepted"),
    (changed(ZONE, "10.44.0.0/24", "10.44.0.0/31"), "10.44.0.0/31", "from /8 to /30 is accepted"),
    (ZONE.replace("10.44.0.", "127.0.0."), "127.0.0.0/24", "no device can have it"),
    (ZONE.replace("10.44.0.", "0.0.7."), "0.0.7.0/24", "no device can have it"),
    (ZONE.replace("10.44.0.", "224.0.0."), "224.0.0.0/24", "no device can have it"),
    (ZONE.replace("10.44.0.", "255.255.255."), "255.255.255.0/24", "no device can have it"),
    ("issued:\n  names:\n    a: {holder: x, name: Files.example}\n    b: {holder: y, name: files.EXAMPLE}\n", "files.EXAMPLE",
     "issued.names.b.name: a has it too"),
    ("issued:\n  ports:\n    a: {switch: s, number: 7, holder: x}\n    b: {switch: s, number: 07, holder: y}\n", "07",
     "issued.ports.b.number: a has it too"),
    ("issued:\n  prefixes:\n    a: {prefix: fd12::/999}\n", "fd12::/999", "is not an IPv6 network"),
    ("issued:\n  prefixes:\n    a: {prefix: fd12::1/64}\n", "fd12::1/64", "is an address inside a network"),
    ("issued:\n  prefixes:\n    a: {prefix: 1234/64}\n", "1234/64", "is not an IPv6 network"),
    ("issued:\n  prefixes:\n    a: {prefix: fd12::/48}\n    b: {prefix: fd12::/64}\n", "fd12::/64", "overlaps fd12::/48 of a"),
]  # fmt: skip


@pytest.mark.parametrize(("stands", "wrong", "says"), REGISTERS, ids=[wrong for _, wrong, _ in REGISTERS])
def test_what_no_register_can_hold_is_told_at_its_place(stands: str, wrong: str, says: str) -> None:
    lines = stands.splitlines()
    (line,) = [n for n, row in enumerate(lines, 1) if wrong in row]
    with pytest.raises(UserError) as told:
        api.plan_text(fold(), stands=stands)
    place = f"standing.yaml:{line}:{lines[line - 1].index(wrong) + 1}: issued."
    assert any(row.startswith(place) and says in row for row in str(told.value).splitlines()), str(told.value)


def test_one_holder_may_have_its_name_and_port_written_twice() -> None:
    """It is said twice, not given twice."""
    names = "issued:\n  names:\n    a: {holder: x, name: files}\n    b: {holder: x, name: files}\n"
    ports = "  ports:\n    a: {switch: s, number: 7, holder: x}\n    b: {switch: t, number: 7, holder: y}\n"
    assert api.plan_text(fold(), stands=names + ports).figures


def folder(place: Path) -> None:
    """A folder of that name."""
    place.mkdir()


def nowhere(place: Path) -> None:
    """A link to nothing."""
    place.symlink_to("gone.yaml")


def itself(place: Path) -> None:
    """A link to itself."""
    place.symlink_to(place.name)


def pipe(place: Path) -> None:
    """A named pipe that nobody writes into."""
    os.mkfifo(place)


def octets(place: Path) -> None:
    """Not text."""
    place.write_bytes(bytes(range(256)))


def wide(place: Path) -> None:
    """UTF-16."""
    place.write_bytes(STANDS.encode("utf-16"))


def large(place: Path) -> None:
    """Over a million letters."""
    place.write_text("#" * 1_000_001, encoding="utf-8")


@pytest.mark.parametrize("made", [folder, nowhere, itself, pipe, octets, wide, large])
@pytest.mark.parametrize("verb", ["plan", "keep"])
def test_what_is_no_standing_file_is_told_and_left(tmp_path: Path, made: Callable[[Path], None], verb: str) -> None:
    """Never taken for an office in which nothing stands: it would be planned, and bought, anew."""
    brief, place = tmp_path / "brief.yaml", tmp_path / "standing.yaml"
    shutil.copyfile(BRIEFS["fold"], brief)
    made(place)
    before = place.lstat()
    with pytest.raises(UserError, match=r"^standing\.yaml:1:1: "):
        api.plan(brief) if verb == "plan" else api.kept(brief)
    assert place.lstat() == before
    assert {path.name for path in tmp_path.iterdir()} == {"brief.yaml", "standing.yaml"}


FOUND = "kit:\n  a: {do: keep, article: switch-48, serves: switch"
BOUGHT = "bought:\n  a: {serves: switch, article: switch-48"
ABSURD = [
    f"{FOUND}, count: 1000}}\n",
    changed(f"{FOUND}, count: 1000}}\n", "serves: switch", "serves: ups"),
    "kit:\n  a: {do: keep, article: firewall, serves: files}\n",
    f"{FOUND}}}\n  b: {{do: reuse, article: switch-48, serves: switch}}\n{BOUGHT}}}\n",
    f"{BOUGHT}, stands_for: switch-24}}\n  b: {{serves: switch, article: switch-24, stands_for: switch-48}}\n",
    f"{BOUGHT}, stands_for: switch-48, built: no such build, on: 2100-12-31}}\n",
    f"{FOUND}, since: 2100-12-31, unit: 5}}\n  b: {{do: move, article: unit-2200, serves: ups, unit: 5}}\n",
    f"{ZONE}  addresses:\n" + "".join(
        f"    a{n}: {{zone: staff, holder: h{n}, address: 10.44.0.{n}}}\n" for n in range(2, 255)
    ),
    f"{ZONE}  ranges:\n    staff-lent: {{zone: staff, purpose: x, first: 10.44.0.2, last: 10.44.0.254}}\n",
    ZONE.replace("staff", "ghost"),
    "issued:\n  block: 255.255.255.252/30\n",
    "issued:\n  block: 0.0.0.0/0\n",
]  # fmt: skip


@pytest.mark.parametrize("stands", ABSURD, ids=range(len(ABSURD)))
def test_what_can_be_but_makes_no_sense_gives_a_plan_or_a_sentence(stands: str) -> None:
    """Never anything but UserError; and a plan can be told in full."""
    try:
        made = api.plan_text(fold(), stands=stands)
    except UserError as told:
        assert str(told).startswith("standing.yaml:")  # noqa: PT017 - either outcome is well
        return
    assert json.loads(json.dumps([told.says for told in made.findings])) is not None


def with_words(words: list[str]) -> str:
    """A standing file with the next of these words in each of its free texts, every one at least once."""
    word = cycle(map(quoted, words))
    kit = [
        f"  a-{n}: {{name: {next(word)}, kind: {next(word)}, do: {do}, serial: {next(word)}, place: {next(word)}, built: {next(word)}}}"
        for n, do in zip(range(len(words)), cycle(["keep", "retire"]), strict=False)
    ]
    parts = [
        f"  p-{n}: {{serves: switch, article: switch-8, serial: {next(word)}, place: {next(word)}, built: {next(word)}}}"
        for n in range(3)
    ]
    runs = [
        f"    staff-kept-{n}: {{zone: staff, purpose: {next(word)}, first: 10.44.0.{60 + n}, last: 10.44.0.{60 + n}}}"
        for n in range(len(words))
    ]
    held = [f"    h{n}: {{zone: staff, holder: {next(word)}, address: 10.44.0.{130 + n}}}" for n in range(len(words))]
    names = [f"    n{n}: {{holder: {next(word)}, name: {n}.example}}" for n in range(3)]
    return "\n".join(
        ["kit:", *kit, "bought:", *parts, ZONE.rstrip(), "  ranges:", *runs, "  addresses:", *held, "  names:", *names, ""]
    )  # fmt: skip


def booked(place: Path, words: list[str]) -> Path:
    """The office's folder with brief, what stands, and the whole book."""
    place.mkdir()
    shutil.copyfile(BRIEFS["fold"], place / "brief.yaml")
    (place / "standing.yaml").write_text(with_words(words), encoding="utf-8")
    api.book(api.plan(place / "brief.yaml"), place / "out")
    return place


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """The book beside hostile words, and beside as many harmless ones."""
    room = tmp_path_factory.mktemp("books")
    return booked(room / "hostile", list(HOSTILE)), booked(
        room / "harmless", [f"word {n}" for n in range(len(HOSTILE))]
    )


def test_words_of_what_stands_add_nothing_to_the_page(both: tuple[Path, Path]) -> None:
    """Read by a parser of pages: the same elements with the same names of attributes, and the words as words."""
    pages = [Reader((place / "out/book.html").read_text(encoding="utf-8")) for place in both]
    shapes = [[(tag, sorted(given)) for tag, given in page.elements] for page in pages]
    assert shapes[0] == shapes[1]
    told = " ".join(pages[0].text.split())
    assert [one for one in HOSTILE if " ".join(one.split()) not in told] == []


def test_words_of_what_stands_add_nothing_to_drawings(both: tuple[Path, Path]) -> None:
    """Read by a parser of XML: no element of another kind than beside harmless words."""
    for drawing in sorted((both[0] / "out").glob("*.svg")):
        kinds = [{one.tag for one in ET.parse(place / "out" / drawing.name).iter()} for place in both]
        assert kinds[0] <= kinds[1], drawing.name


def test_words_of_what_stands_are_in_the_plan_and_the_print(both: tuple[Path, Path]) -> None:
    """The plan's JSON holds them letter by letter (spaces around an answer go); the print is read back by poppler."""
    whole = json.loads((both[0] / "out/plan.json").read_text(encoding="utf-8"))
    told: set[str] = set()
    waiting = [whole]
    while waiting:
        one = waiting.pop()
        waiting += list(one.values()) if isinstance(one, dict) else one if isinstance(one, list) else []
        told |= {one} if isinstance(one, str) else set()
    assert [one for one in HOSTILE if not any(one.strip() in text for text in told)] == []
    printed = subprocess.run(
        [str(which("pdftotext")), "-layout", both[0] / "out/book.pdf", "-"],
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    letters = "".join(printed.split())
    plain = [one for one in HOSTILE if one.isascii() and len(one) < 30]
    assert len(plain) > 15
    assert [one for one in plain if "".join(one.split()) not in letters] == []
    assert not any(word in (both[0] / "out/book.pdf").read_bytes() for word in (b"/JavaScript", b"/Launch"))


def test_keeping_beside_hostile_words_adds_lines_and_touches_none(tmp_path: Path) -> None:
    """Read back by ruamel.yaml: every answer that stood there stands there still."""
    brief, place = tmp_path / "brief.yaml", tmp_path / "standing.yaml"
    shutil.copyfile(BRIEFS["fold"], brief)
    place.write_text(with_words(list(HOSTILE)), encoding="utf-8")
    before = YAML(typ="safe", pure=True).load(place.read_text(encoding="utf-8"))
    api.keep(api.kept(brief, api.Wish(bought=True)))
    after = YAML(typ="safe", pure=True).load(place.read_text(encoding="utf-8"))
    for group, one in (
        ("kit", before),
        ("bought", before),
        ("ranges", before["issued"]),
        ("addresses", before["issued"]),
    ):
        there = after[group] if group in after else after["issued"][group]
        assert one[group].items() <= there.items(), group
    assert api.kept(brief, api.Wish(bought=True)).nothing
