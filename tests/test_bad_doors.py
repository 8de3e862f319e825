"""Hostile input at the doors beside the brief: the firm's folder, price lists, pins, edits, long names, closed streams."""

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from offices import BRIEFS, ROOT, changed, fold
from pricelist_samples import KNOWN, listed, read, sheet
from scantling import UserError, api
from scantling.catalogue.pricelists.judging import Terms
from scantling.outputs import writing

ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT / "src")}
ROW = "ups:\n  unit-750: {price: 1.00 EUR}\n"


def office(place: Path) -> Path:
    """A folder with Fold & Fell's brief."""
    shutil.copyfile(BRIEFS["fold"], place / "brief.yaml")
    return place / "brief.yaml"


def contents(place: Path) -> dict[str, bytes]:
    """Every plain file below a folder."""
    return {str(path.relative_to(place)): path.read_bytes() for path in sorted(place.rglob("*")) if path.is_file()}


def program(place: Path, words: str, **more: str) -> subprocess.CompletedProcess[str]:
    """One command line of a shell, SCANTLING standing for the program."""
    line = words.replace("SCANTLING", f"'{sys.executable}' -m scantling")
    return subprocess.run(
        ["/bin/bash", "-c", line], cwd=place, env=ENVIRONMENT | more, capture_output=True, text=True, timeout=60, check=False
    )  # fmt: skip


# --------------------------------------------------------------------------------------------------- the firm's folder


def a_file(place: Path) -> None:
    """A file where the folder is wanted."""
    (place / "firm").write_text(ROW, encoding="utf-8")


def a_loop(place: Path) -> None:
    """A link to itself."""
    (place / "firm").symlink_to("firm")


def no_rules(place: Path) -> None:
    """A file where the folder of house rules is wanted."""
    (place / "firm").mkdir()
    (place / "firm/house").write_text("# rules\n", encoding="utf-8")


def a_pipe(place: Path) -> None:
    """A named pipe among the rows."""
    (place / "firm").mkdir()
    os.mkfifo(place / "firm/rows.yaml")


def a_lost_link(place: Path) -> None:
    """Rows that are not there any more."""
    (place / "firm").mkdir()
    (place / "firm/rows.yaml").symlink_to("gone.yaml")


@pytest.mark.parametrize("made", [a_file, a_loop, no_rules, a_pipe, a_lost_link])
def test_what_can_not_be_read_beside_a_brief_is_told_not_passed_over(
    tmp_path: Path, made: Callable[[Path], None]
) -> None:
    """Without a word the office would be priced as if the firm had said nothing."""
    brief = office(tmp_path)
    made(tmp_path)
    with pytest.raises(UserError, match=r"^firm(/house|/rows\.yaml)?:1:1: "):
        api.plan(brief)


def test_a_folder_that_may_not_be_listed_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    brief, firm = office(tmp_path), tmp_path / "firm"
    firm.mkdir()
    (firm / "rows.yaml").write_text(ROW, encoding="utf-8")
    real = Path.iterdir

    def refused(path: Path) -> object:
        if path.name == "firm":
            raise PermissionError(13, os.strerror(13))
        return real(path)

    monkeypatch.setattr(Path, "iterdir", refused)
    with pytest.raises(UserError, match=r"^firm:1:1: can't be read: Permission denied"):
        api.plan(brief)


def test_hidden_files_of_editors_and_systems_are_no_rows(tmp_path: Path) -> None:
    """An editor's lock is a link to nowhere, a system's own file is no text."""
    firm = tmp_path / "firm"
    firm.mkdir()
    (firm / "rows.yaml").write_text(ROW, encoding="utf-8")
    (firm / ".#rows.yaml").symlink_to("somebody@somewhere.1")
    (firm / "._rows.yaml").write_bytes(bytes(range(256)))
    assert api.stock(firm=firm).catalogue.rows["ups"]["unit-750"].values["price"] == 1


# --------------------------------------------------------------------------------------------------------- price lists


@pytest.mark.parametrize("day", ["0001-01-01", "1999-12-31", "2101-01-01", "9999-12-31"])
@pytest.mark.parametrize("name", ["priced_on", "valid_until", "confirmed_on"])
def test_a_day_that_the_firms_prices_could_not_hold_is_not_taken(tmp_path: Path, name: str, day: str) -> None:
    """Written down, it would spoil the firm's prices for every plan."""
    path = listed(tmp_path, ("A-12", "281.40"), heads=("Article no", "Net EUR"))
    given = Terms({name: date.fromisoformat(day)})
    with pytest.raises(UserError, match=f"--{name.replace('_', '-')}: {day} is out of range"):
        read(path, terms=given)
    assert not (tmp_path / "firm").exists()


def test_a_package_for_a_later_unpacker_is_refused(tmp_path: Path) -> None:
    """The version that is needed to unpack stands in the table of contents (ZIP application note, 4.3.12)."""
    path = sheet(tmp_path)
    raw = bytearray(path.read_bytes())
    at = raw.index(b"PK\x01\x02")
    raw[at + 6] = 90
    path.write_bytes(bytes(raw))
    with pytest.raises(UserError, match=r"acme\.xlsx: it is no whole spreadsheet file"):
        read(path)


def test_a_pipe_among_the_kept_readings_is_told(tmp_path: Path) -> None:
    path = listed(tmp_path)
    (tmp_path / "firm/lists").mkdir(parents=True)
    os.mkfifo(tmp_path / "firm/lists/other.yaml")
    with pytest.raises(UserError, match=r'"other\.yaml" can\'t be read: it is no plain file'):
        read(path)


def test_prices_that_came_in_after_reading_are_not_written_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another program writes at the last moment before ours: its prices stay."""
    found = read(listed(tmp_path), KNOWN)
    real = writing._unchanged

    def late(seen: dict[Path, bytes]) -> None:
        (tmp_path / "firm/prices.yaml").write_text(ROW, encoding="utf-8")
        real(seen)

    monkeypatch.setattr(writing, "_unchanged", late)
    with pytest.raises(UserError, match=r"prices\.yaml has changed since it was read; nothing was written"):
        api.take_prices(found)
    assert contents(tmp_path / "firm") == {"prices.yaml": ROW.encode()}


# ---------------------------------------------------------------------------------------------------- pins, edits, words


@pytest.mark.parametrize(
    ("id_", "value"),
    [("backup.near.rate", "0 MB/s"), ("addresses.staff.subnet", "255.255.255.255/32")],
)
def test_a_pin_that_nothing_can_be_reckoned_with_is_told(id_: str, value: str) -> None:
    text = f'{fold()}\npins:\n  {id_}: {{value: "{value}", because: x}}\n'
    with pytest.raises(UserError, match="nothing can be reckoned with what is pinned") as told:
        api.plan_text(text)
    assert f"{id_} = {value} (brief.yaml:{len(text.splitlines())})" in str(told.value)


@pytest.mark.parametrize("raw", [b"\0", b"\xff", bytes(range(256)), "office: {}\n".encode("utf-16")])
def test_an_edit_of_what_is_no_text_is_told(tmp_path: Path, raw: bytes) -> None:
    (tmp_path / "brief.yaml").write_bytes(raw)
    brief = tmp_path / "brief.yaml"
    with pytest.raises(UserError, match=r"^brief\.yaml:1:1: "):
        api.edited(brief, "office.name", "X")
    with pytest.raises(UserError, match=r"^brief\.yaml:1:1: "):
        api.set_value(brief, "office.name", "X")
    assert contents(tmp_path) == {"brief.yaml": raw}


LONG = "x" * 300
LONG_NAMES = [
    f"SCANTLING plan --firm {LONG}",
    f"SCANTLING plan {LONG}",
    f"SCANTLING new {LONG} --sheet",
    f"SCANTLING new here --like {LONG}",
    f"SCANTLING prices acme.csv --firm {LONG} --yes",
    f"SCANTLING compare brief.yaml {LONG}",
    f"SCANTLING set office.name X {LONG}",
]


@pytest.mark.parametrize("words", LONG_NAMES)
def test_a_name_too_long_for_any_file_is_told_as_that(tmp_path: Path, words: str) -> None:
    """Not as an answer that can't be written."""
    office(tmp_path)
    listed(tmp_path)
    before = contents(tmp_path)
    told = program(tmp_path, words)
    assert (told.returncode, told.stdout) == (2, "")
    assert "File name too long" in told.stderr
    assert "can't write the answer" not in told.stderr
    assert contents(tmp_path) == before


def test_nothing_fails_where_nobody_can_be_told(tmp_path: Path) -> None:
    """Standard error closed, or full: the exit codes stay."""
    office(tmp_path)
    assert program(tmp_path, "SCANTLING plan 2>&-").returncode == 0
    assert program(tmp_path, "SCANTLING plan nowhere.yaml 2>&-").returncode == 2
    assert program(tmp_path, "SCANTLING nonsense 2>/dev/full").returncode == 2
    assert program(tmp_path, "SCANTLING plan nowhere.yaml 2>/dev/full").returncode == 2
    assert program(tmp_path, "SCANTLING plan nowhere.yaml 2>/dev/full", PYTHONUNBUFFERED="").returncode == 2
    assert program(tmp_path, "SCANTLING nonsense 2>/dev/full", PYTHONUNBUFFERED="").returncode == 2


@pytest.mark.parametrize("day", ["1999-12-31", "9999-12-31", "2026-02-30"])
def test_a_first_meeting_on_no_day_writes_nothing(tmp_path: Path, day: str) -> None:
    told = program(tmp_path, f"SCANTLING new here --on {day} </dev/null")
    assert (told.returncode, told.stdout) == (2, "")
    assert day in told.stderr
    assert not (tmp_path / "here").exists()


def test_a_brief_at_either_end_of_the_calendar_is_planned(tmp_path: Path) -> None:
    """A brief dated before all prices, and one at the end of the calendar, are planned all the same."""
    for day in ("2000-01-01", "2100-12-31"):
        assert api.plan_text(changed(fold(), "as_of: 2026-11-25", f"as_of: {day}")).figures
