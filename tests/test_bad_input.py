"""Input that can't be used, through the program's own door: a clear sentence with its place, code 2, nothing lost."""

import errno
import os
import subprocess
import sys
from functools import cache
from pathlib import Path
from shutil import copytree
from tempfile import TemporaryDirectory

import pytest

from offices import BRIEFS, ROOT, changed, fold, millrace, planned
from scantling import UserError, api
from scantling.catalogue.reading import DATA, CatalogueFileError, read

PROGRAM = [sys.executable, "-m", "scantling"]
ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT / "src")}
BAD_BRIEFS = [
    ("heads: 12,", "heads: 0,", "people.roles.programme.heads", "0 is too little"),
    ("heads: 12,", "heads: 1000000000,", "people.roles.programme.heads", "too much"),
    ("heads: 12,", "heads: -3,", "people.roles.programme.heads", "-3 is too little"),
    ("heads: 12,", "heads: 1e3,", "people.roles.programme.heads", "not a whole number"),
    ("size: 9 TB,", "size: 1 ZB,", "data.sets.archive.size", "1 ZB is too much"),
    ("size: 9 TB,", "size: -9 TB,", "data.sets.archive.size", "too little"),
    ("size: 9 TB,", "size: NaN TB,", "data.sets.archive.size", "is not a number"),
    ("once: 42000 EUR", "once: -1 EUR", "budget.once", "-1 EUR is too little"),
    ("once: 42000 EUR", "once: 42,000 EUR", "budget.once", "42000 EUR"),
    ("monthly: 69.00 EUR", "monthly: -69.00 EUR", "lines.fibre.monthly", "too little"),
    ("profile: firewall,", "profile: firewal,", "services.firewall.profile", "firewall"),
    ("profile: business application,", "profile: no-such-thing,", "services.tickets.profile", "no-such-thing"),
    ("kind: payment terminal,", "kind: paymint terminal,", "devices.terminals.kind", "payment terminal"),
    ("kind: video,", "kind: vidio,", "data.sets.archive.kind", "video"),
    ("zone: stage}", "zone: stag}", "devices.stage-nodes.zone", "stage"),
    ("near: box", "near: bocks", "backup.near", "box"),
    ("as_of: 2026-11-25", "as_of: 2026-02-30", "office.as_of", "not a day of the calendar"),
    ("horizon: 5 year", "horizon: 500 year", "office.horizon", "too much"),
    ("block: 10.44.0.0/16", "block: 10.44.0.0/33", "network.block", "10.44.0.0/33"),
]


def program(*words: str, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    """One command as a person starts it."""
    return subprocess.run(
        [*PROGRAM, *words], capture_output=True, text=True, env=ENVIRONMENT, cwd=cwd, timeout=60, check=False
    )


@pytest.mark.parametrize(("old", "new", "path", "says"), BAD_BRIEFS, ids=[f"{b[2]}-{b[1]}" for b in BAD_BRIEFS])
def test_a_bad_answer_is_told_at_its_place(old: str, new: str, path: str, says: str) -> None:
    """file:line:column of the answer, the word of the brief, what is wrong; nothing else is complained of."""
    text = changed(millrace(), old, new)
    line = next(i for i, row in enumerate(text.splitlines(), 1) if new in row)
    with pytest.raises(UserError) as told:
        api.plan_text(text, "office.yaml")
    sentences = [row for row in str(told.value).splitlines() if row.startswith("office.yaml:")]
    assert any(row.startswith(f"office.yaml:{line}:") and path in row and says in row for row in sentences), sentences
    assert len(sentences) == 1, sentences


def test_a_currency_that_the_catalogue_has_no_prices_in_is_told() -> None:
    """The whole brief in another currency reads well; there is nothing to buy in it."""
    with pytest.raises(UserError, match=r"^brief\.yaml:\d+:?\d*: office\.currency: .*write EUR$"):
        api.plan_text(fold().replace("EUR", "USD"))


def test_all_mistakes_are_told_at_once(tmp_path: Path) -> None:
    """Through the program: code 2, every one in the order of the file, and nothing written."""
    alone = [bad for bad in BAD_BRIEFS if bad[3] in {"0 is too little", "1 ZB is too much", "-1 EUR is too little"}]
    text = millrace()
    for old, new, _, _ in alone:
        text = changed(text, old, new)
    (tmp_path / "brief.yaml").write_text(text, encoding="utf-8")
    told = program("book", "brief.yaml", "--out", "out", cwd=tmp_path)
    assert (told.returncode, told.stdout) == (2, "")
    assert "Traceback" not in told.stderr
    places = [told.stderr.index(path) for _, _, path, _ in alone]
    assert sorted(places) == sorted(set(places))
    assert len(places) == 3
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    "text", ["people: {}\n", "office: {}\n", "[]\n", "just words\n", "{", "\0", "a: &b c\n", "..."]
)
def test_what_is_no_brief_is_told(tmp_path: Path, text: str) -> None:
    (tmp_path / "brief.yaml").write_text(text, encoding="utf-8")
    told = program("plan", cwd=tmp_path)
    assert (told.returncode, told.stdout) == (2, "")
    assert told.stderr.startswith("brief.yaml:1:")
    assert "Traceback" not in told.stderr


def test_a_brief_with_only_the_office_gives_an_answer_in_words(tmp_path: Path) -> None:
    """No people, nothing to serve: either a plan or a sentence, never a crash."""
    office = millrace().split("office:", 1)[1].split("support:", 1)[0]
    (tmp_path / "brief.yaml").write_text(f"office:{office}", encoding="utf-8")
    told = program("plan", cwd=tmp_path)
    assert "Traceback" not in told.stderr
    assert "defect" not in told.stderr
    assert told.returncode in {0, 1, 2}
    assert told.returncode != 2 or told.stderr.startswith("brief.yaml:")


def outcome(text: str) -> str:
    """`planned`, or the sentence that a person is told; anything else goes through."""
    try:
        return "planned" if api.plan_text(text).figures else "nothing"
    except UserError as told:
        return str(told)


SECTIONS = ["people", "devices", "visitors", "compliance", "premises", "lines", "services", "data", "network", "backup",
            "power", "budget", "lasting", "support"]  # fmt: skip


@pytest.mark.parametrize("section", SECTIONS)
@pytest.mark.parametrize("office", BRIEFS)
def test_a_section_left_out_gives_a_plan_or_a_sentence(office: str, section: str) -> None:
    """Each section in turn is not there: a plan, or UserError with a place; nothing else."""
    text = BRIEFS[office].read_text("utf-8")
    kept, skipping = [], False
    for row in text.splitlines(keepends=True):
        if row[:1].isalpha():
            skipping = row.startswith(f"{section}:")
        if not skipping:
            kept.append(row)
    assert outcome("".join(kept)).startswith(("planned", "brief.yaml:"))


def spoilt(folder: Path, file: str, old: str, new: str) -> Path:
    """The house's own catalogue with one passage changed."""
    place = folder / "stock"
    copytree(DATA, place)
    (place / file).write_text(changed((place / file).read_text(encoding="utf-8"), old, new), encoding="utf-8")
    return place


def test_a_catalogue_row_without_a_field_is_told(tmp_path: Path) -> None:
    text = (DATA / "disks.yaml").read_text(encoding="utf-8")
    field = next(word for word in text.replace(",", " ").split() if word == "bays_taken:")
    with pytest.raises(CatalogueFileError) as told:
        read(spoilt(tmp_path, "disks.yaml", f"{field} 1, ", ""))
    assert "disks.yaml:" in str(told.value)
    assert "bays_taken: this column is missing" in str(told.value)


def test_a_spoilt_catalogue_reaches_a_person_as_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(UserError, match=r"disks\.yaml:\d+:\d+: .*bays_taken"):
        api.stock(spoilt(tmp_path, "disks.yaml", "bays_taken: 1, ", ""))
    with pytest.raises(UserError, match=r"disks\.yaml:\d+:\d+: .*price.*too little"):
        api.stock(spoilt(tmp_path / "second", "disks.yaml", "price: ", "price: -"))


def test_an_empty_catalogue_is_told(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="no written files"):
        api.stock(tmp_path)


def test_an_output_folder_below_a_file_loses_nothing(tmp_path: Path) -> None:
    (tmp_path / "brief.yaml").write_text(fold(), encoding="utf-8")
    (tmp_path / "out").write_text("mine", encoding="utf-8")
    for where in ("out", "out/below"):
        told = program("book", "--no-weigh", "--out", where, cwd=tmp_path)
        assert (told.returncode, told.stdout) == (2, "")
        assert told.stderr.startswith("can't write in out")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["brief.yaml", "out"]
    assert (tmp_path / "out").read_text(encoding="utf-8") == "mine"


ANOTHER = changed(fold(), "name: Fold & Fell", "name: Another Fell")


@cache
def book_of_fold() -> dict[str, bytes]:
    """The files of a book, written once."""
    with TemporaryDirectory() as folder:
        api.book(planned(fold()), Path(folder))
        return {path.name: path.read_bytes() for path in Path(folder).iterdir()}


def last_book(folder: Path) -> dict[str, bytes]:
    """Lay a book that was written before into a folder; its files."""
    for name, content in book_of_fold().items():
        (folder / name).write_bytes(content)
    return book_of_fold()


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EROFS, errno.EACCES, errno.EDQUOT, errno.ENAMETOOLONG])
def test_a_disk_that_refuses_leaves_the_last_book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int) -> None:
    before = last_book(tmp_path)
    changed_plan = planned(ANOTHER)

    def refuse(*_: object) -> None:
        raise OSError(code, os.strerror(code))

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", refuse)
        with pytest.raises(UserError, match=f"{os.strerror(code)}; nothing was changed"):
            api.book(changed_plan, tmp_path)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before
    if code == errno.ENOSPC:  # when there is room again
        api.book(changed_plan, tmp_path)
        after = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
        assert after.keys() == before.keys()
        assert after["plan.json"] != before["plan.json"]


def test_an_interrupt_during_a_write_leaves_the_last_book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C while the fourth file is being moved into place."""
    before = last_book(tmp_path)
    real, moved = Path.replace, []

    def interrupted(path: Path, target: Path) -> Path:
        moved.append(target.name)
        if len(moved) == 4:
            raise KeyboardInterrupt
        return real(path, target)

    monkeypatch.setattr(Path, "replace", interrupted)
    with pytest.raises(KeyboardInterrupt):
        api.book(planned(ANOTHER), tmp_path)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before
